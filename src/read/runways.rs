//! Runways layer to records, joined to their aerodromes by identifier.
//!
//! Not here: aerodromes themselves (see [`crate::read::aerodromes`]).

use geo::Geometry;

use super::aerodromes::{Aerodromes, areas, extend, is_too_wide, length};
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
        let area = areas(feature);
        if area.as_ref().is_some_and(is_too_wide) {
            cautions.feature(
                &layer.file,
                &feature.label,
                "is more than 60 km across, wider than any aerodrome",
                "its outline is left out",
            );
        } else if let Some(area) = area {
            extend(&mut aerodrome.movement_area, area);
        }
        if let Some(point) = end_point(feature, declaration) {
            add_end(
                &mut aerodrome.runways,
                point,
                feature,
                layer,
                declaration,
                cautions,
            );
            continue;
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
    if let Some(drawn) = drawn_ends(feature) {
        let places = drawn.map(Some);
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
        Some(Geometry::MultiLineString(_) | Geometry::MultiPoint(_) | Geometry::Point(_))
    ) {
        cautions.feature(
            &layer.file,
            &feature.label,
            "is not one line from end to end, nor two points",
            "its ends are taken from its columns only",
        );
    }
    let designator = match (&ends[0].designator, &ends[1].designator) {
        (Some(low), Some(high)) => format!("{low}/{high}"),
        (Some(only), None) | (None, Some(only)) => only.clone(),
        (None, None) => feature
            .text(&["ref", "name"])
            .unwrap_or_else(|| feature.label.to_string()),
    };
    let closed = closed_key(declaration);
    Runway {
        source: FeatureRef {
            file: layer.file.as_str().into(),
            feature: feature.label.as_ref().into(),
        },
        designator,
        ends,
        length: length(feature, declaration, "length"),
        width: length(feature, declaration, "width"),
        closed: feature.flag(&[closed]).unwrap_or(false),
        classification: attributes.runway(cautions),
    }
}

/// The two ends that a geometry gives: those of a line, or two points, low end first.
fn drawn_ends(feature: &Feature) -> Option<[LonLat; 2]> {
    let place = |c: geo::Coord<f64>| LonLat::wrapped(c.x, c.y);
    match &feature.geometry {
        Some(Geometry::LineString(line)) => Some([place(*line.0.first()?), place(*line.0.last()?)]),
        Some(Geometry::MultiPoint(points)) => match points.0.as_slice() {
            [low, high] => Some([place(low.0), place(high.0)]),
            _ => None,
        },
        _ => None,
    }
}

/// One runway end drawn as a point of its own.
struct EndPoint {
    place: LonLat,
    /// Designator of the end: `09`.
    end: String,
    /// Designator of its runway: `09/27`.
    runway: String,
}

/// A point that names its end and its runway.
fn end_point(feature: &Feature, declaration: &Declaration) -> Option<EndPoint> {
    let Some(Geometry::Point(point)) = &feature.geometry else {
        return None;
    };
    let text = |ours: &str| match declaration.attributes.get(ours) {
        Some(theirs) => feature.text(&[theirs]),
        None => feature.text(&[ours]),
    };
    Some(EndPoint {
        place: LonLat::wrapped(point.x(), point.y()),
        end: text("end")?,
        runway: text("runway")?,
    })
}

/// Adds an end drawn as a point to its runway, which is made if no feature before named it.
fn add_end(
    runways: &mut Vec<Runway>,
    point: EndPoint,
    feature: &Feature,
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) {
    let mut left_out = |defect: &str| {
        cautions.feature(
            &layer.file,
            &feature.label,
            defect,
            "the runway end is left out",
        );
    };
    let sides = point.runway.split_once('/');
    let number = match sides {
        Some((low, _)) if low.trim() == point.end => 0,
        Some((_, high)) if high.trim() == point.end => 1,
        _ => return left_out("names an end that its runway does not have"),
    };
    let known = runways
        .iter()
        .position(|runway| runway.designator == point.runway);
    let index = known.unwrap_or_else(|| {
        let blank = |designator: &str| RunwayEnd {
            classification: Default::default(),
            designator: Some(designator.trim().to_owned()),
            position: None,
            elevation: None,
            true_bearing: None,
            displaced_threshold: None,
        };
        let (low, high) = sides.unwrap_or_default();
        runways.push(Runway {
            classification: Default::default(),
            source: FeatureRef {
                file: layer.file.as_str().into(),
                feature: feature.label.as_ref().into(),
            },
            designator: point.runway.clone(),
            ends: [blank(low), blank(high)],
            length: None,
            width: None,
            closed: false,
        });
        runways.len() - 1
    });
    let Some(runway) = runways.get_mut(index) else {
        return;
    };
    runway.length = runway.length.or(length(feature, declaration, "length"));
    runway.width = runway.width.or(length(feature, declaration, "width"));
    runway.closed |= feature.flag(&[closed_key(declaration)]).unwrap_or(false);
    if let Some(end) = runway.ends.get_mut(number) {
        if end.position.is_some() {
            return left_out("is a second position of its runway end");
        }
        end.position = Some(point.place);
        let elevation = length(feature, declaration, "elevation");
        end.elevation = end
            .elevation
            .or(elevation.map(|elevation| Altitude::of(elevation.m())));
        end.true_bearing = end
            .true_bearing
            .or_else(|| Bearing::new(feature.number(&[bearing_key(declaration)])?).ok());
        end.displaced_threshold =
            end.displaced_threshold
                .or(length(feature, declaration, "displaced_threshold"));
    }
}

fn bearing_key(declaration: &Declaration) -> &str {
    declaration
        .attributes
        .get("bearing_deg")
        .map_or("bearing_deg", String::as_str)
}

fn closed_key(declaration: &Declaration) -> &str {
    declaration
        .attributes
        .get("closed")
        .map_or("closed", String::as_str)
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
