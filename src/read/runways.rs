//! Runways layer to records, joined to their aerodromes by identifier.
//!
//! Not here: aerodromes themselves (see [`crate::read::aerodromes`]).

use geo::Geometry;

use super::aerodromes::{Aerodromes, areas, extend, length};
use super::classification;
use super::declaration::Declaration;
use super::feature::Feature;
use super::layer::VectorLayer;
use crate::aerodrome::{EndClassification, Runway, RunwayEnd};
use crate::error::Cautions;
use crate::frame::{LonLat, geodesic};
use crate::site::FeatureRef;
use crate::units::{Altitude, Bearing};

/// A line that runs this much against the bearing of its low end is drawn from the high end: half
/// way between along (0) and against (180), with room for variation and rounding of designators.
const REVERSED_BEYOND_DEG: f64 = 120.0;

/// Adds the features of a runways layer to their aerodromes.
pub fn add(
    aerodromes: &mut Aerodromes,
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) {
    for feature in &layer.features {
        let ident = match declaration.attributes.get("aerodrome") {
            Some(theirs) => feature.text(&[theirs]),
            None => feature.text(&["airport_ident", "aerodrome", "aerodrome_ident"]),
        };
        let Some(ident) = ident else {
            cautions.feature(
                &layer.file,
                &feature.label,
                "does not name its aerodrome",
                "the runway is left out",
            );
            continue;
        };
        let Some(aerodrome) = aerodromes.with_ident(&ident) else {
            cautions.feature(
                &layer.file,
                &feature.label,
                "names an aerodrome that is not in the aerodromes layer",
                "the runway is left out",
            );
            continue;
        };
        if let Some(area) = areas(feature) {
            extend(&mut aerodrome.movement_area, area);
        }
        aerodrome
            .runways
            .push(runway(feature, layer, declaration, cautions));
    }
}

fn runway(
    feature: &Feature,
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) -> Runway {
    let mut ends = [
        end(feature, declaration, "le", &["le_ident"]),
        end(feature, declaration, "he", &["he_ident"]),
    ];
    let attributes = classification::Attributes {
        feature,
        declaration,
        file: &layer.file,
    };
    for (end, side) in ends.iter_mut().zip(["le", "he"]) {
        end.classification = attributes.end(side, cautions);
    }
    if let Some(Geometry::LineString(line)) = &feature.geometry {
        let places =
            [line.0.first(), line.0.last()].map(|place| place.map(|c| LonLat::wrapped(c.x, c.y)));
        let places = match (places, low_bearing(&ends[0])) {
            ([Some(first), Some(last)], Some(stated)) if is_reversed(first, last, stated) => {
                cautions.feature(
                    &layer.file,
                    &feature.label,
                    "is drawn from its high end",
                    "its ends are taken the other way round",
                );
                [Some(last), Some(first)]
            }
            (places, _) => places,
        };
        for (end, place) in ends.iter_mut().zip(places) {
            end.position = end.position.or(place);
        }
    } else if matches!(
        feature.geometry,
        Some(Geometry::MultiLineString(_) | Geometry::Point(_))
    ) {
        cautions.feature(
            &layer.file,
            &feature.label,
            "is not one line from end to end",
            "its ends are taken from its columns only",
        );
    }
    let designator = match (&ends[0].designator, &ends[1].designator) {
        (Some(low), Some(high)) => format!("{low}/{high}"),
        (Some(only), None) | (None, Some(only)) => only.clone(),
        (None, None) => feature
            .text(&["ref", "name"])
            .unwrap_or_else(|| feature.label.clone()),
    };
    let closed = declaration
        .attributes
        .get("closed")
        .map_or("closed", String::as_str);
    Runway {
        source: FeatureRef {
            file: layer.file.clone(),
            feature: feature.label.clone(),
        },
        designator,
        ends,
        length: length(feature, declaration, "length"),
        width: length(feature, declaration, "width"),
        closed: feature.flag(&[closed]).unwrap_or(false),
        classification: attributes.runway(cautions),
    }
}

fn end(feature: &Feature, declaration: &Declaration, side: &str, ident: &[&str]) -> RunwayEnd {
    let mapped = |ours: &str| {
        declaration
            .attributes
            .get(&format!("{side}_{ours}"))
            .cloned()
    };
    let column = |ours: &str| mapped(ours).unwrap_or_else(|| format!("{side}_{ours}"));
    let position = feature
        .number(&[&column("longitude_deg")])
        .zip(feature.number(&[&column("latitude_deg")]))
        .and_then(|(lon, lat)| LonLat::new(lon, lat).ok());
    let bearing = match mapped("bearing_deg") {
        Some(theirs) => feature.number(&[&theirs]),
        None => feature.number(&[
            &format!("{side}_bearing_deg"),
            &format!("{side}_heading_degT"),
        ]),
    };
    RunwayEnd {
        designator: match mapped("ident") {
            Some(theirs) => feature.text(&[&theirs]),
            None => feature.text(ident),
        },
        position,
        elevation: length(feature, declaration, &format!("{side}_elevation"))
            .map(|elevation| Altitude::of(elevation.m())),
        true_bearing: bearing.and_then(|degrees| Bearing::new(degrees).ok()),
        displaced_threshold: length(feature, declaration, &format!("{side}_displaced_threshold")),
        classification: EndClassification::default(),
    }
}

/// The rough direction of take-off from the low end: as stated, else from the designator.
fn low_bearing(end: &RunwayEnd) -> Option<f64> {
    if let Some(bearing) = end.true_bearing {
        return Some(bearing.degrees());
    }
    let designator = end.designator.as_ref()?;
    let digits: String = designator
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    let tens: f64 = digits.parse().ok()?;
    (1.0..=36.0).contains(&tens).then_some(tens * 10.0)
}

fn is_reversed(first: LonLat, last: LonLat, stated_deg: f64) -> bool {
    let drawn = geodesic(first, last).bearing_from.degrees();
    let apart = (drawn - stated_deg + 180.0).rem_euclid(360.0) - 180.0;
    apart.abs() > REVERSED_BEYOND_DEG
}
