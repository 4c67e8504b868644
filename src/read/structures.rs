//! Buildings and other structures, and the supports of power lines, to obstacle records.
//!
//! Not here: the spans between supports (see [`crate::read::lines`]).

use geo::{Geometry, LineString, Polygon};

use super::attributes::Attributes;
use super::feature::Feature;
use crate::error::Cautions;
use crate::frame::LonLat;
use crate::obstacle::{Obstacle, ObstacleKind, Permanence, Shape};
use crate::site::FeatureRef;
use crate::units::Metres;

/// Kinds of `man_made` (OpenStreetMap) and of our `kind` that stay where they are.
const PERMANENT_KINDS: [&str; 20] = [
    "tower",
    "mast",
    "chimney",
    "silo",
    "water_tower",
    "storage_tank",
    "communications_tower",
    "cooling_tower",
    "lighthouse",
    "gasometer",
    "grain_elevator",
    "headframe",
    "kiln",
    "obelisk",
    "observatory",
    "campanile",
    "minaret",
    "bell_tower",
    "stack",
    "tank",
];

/// Kinds that go: obstacles to avoid, never shields.
const TEMPORARY_KINDS: [&str; 5] = [
    "crane",
    "tower_crane",
    "mobile_crane",
    "scaffolding",
    "drilling_rig",
];

/// Values of `building` that need not stay, or are no building at all.
const UNSETTLED_BUILDINGS: [&str; 10] = [
    "ruins",
    "tent",
    "marquee",
    "container",
    "static_caravan",
    "houseboat",
    "ship",
    "collapsed",
    "demolished",
    "proposed",
];

/// The obstacle records of one feature of a structures layer; several for a multi-part geometry.
pub fn structures(
    feature: &Feature,
    attributes: &Attributes<'_>,
    cautions: &mut Cautions,
) -> Vec<Obstacle> {
    let (kind, by_kind) = kind_of(feature, attributes);
    let permanence = match (by_kind, attributes.permanence(feature)) {
        (Permanence::Temporary, _) => Permanence::Temporary,
        (_, Some(stated)) => stated,
        (by_kind, None) => by_kind,
    };
    records(feature, attributes, kind, permanence, cautions)
}

/// The obstacle records of one support of a power line.
pub fn supports(
    feature: &Feature,
    attributes: &Attributes<'_>,
    cautions: &mut Cautions,
) -> Vec<Obstacle> {
    let permanence = attributes
        .permanence(feature)
        .unwrap_or(Permanence::Permanent);
    records(
        feature,
        attributes,
        ObstacleKind::Support,
        permanence,
        cautions,
    )
}

/// Whether a feature is a support of a power line by its tags.
#[must_use]
pub fn is_support(feature: &Feature) -> bool {
    matches!(
        feature.text(&["power"]).as_deref(),
        Some("tower" | "pole" | "portal" | "terminal" | "catenary_mast")
    )
}

fn records(
    feature: &Feature,
    attributes: &Attributes<'_>,
    kind: ObstacleKind,
    permanence: Permanence,
    cautions: &mut Cautions,
) -> Vec<Obstacle> {
    let shapes = match shapes(feature) {
        Ok(shapes) => shapes,
        Err(defect) => {
            cautions.feature(
                attributes.file,
                &feature.label,
                &defect,
                "the feature is left out",
            );
            return Vec::new();
        }
    };
    let mut top = attributes.top(feature, cautions).top();
    let [horizontal_accuracy, vertical_accuracy] =
        attributes.accuracy(feature, cautions).unwrap_or_else(|| {
            top = None;
            [feature.datum_accuracy, Metres::ZERO]
        });
    let several = shapes.len() > 1;
    shapes
        .into_iter()
        .enumerate()
        .map(|(part, shape)| Obstacle {
            source: FeatureRef {
                file: attributes.file.to_owned(),
                feature: if several {
                    format!("{} part {}", feature.label, part + 1)
                } else {
                    feature.label.clone()
                },
            },
            name: attributes.text(feature, "name", &["name"]),
            kind: kind.clone(),
            shape,
            top,
            permanence,
            horizontal_accuracy,
            vertical_accuracy,
            span: None,
        })
        .collect()
}

fn kind_of(feature: &Feature, attributes: &Attributes<'_>) -> (ObstacleKind, Permanence) {
    if is_support(feature) {
        return (ObstacleKind::Support, Permanence::Permanent);
    }
    let words = attributes.text(feature, "kind", &["kind", "man_made"]);
    let building = feature.text(&["building"]).filter(|value| value != "no");
    match (words, building) {
        (Some(words), building) if words != "building" || building.is_none() => {
            let key = words.to_lowercase().replace([' ', '-'], "_");
            let permanence = if TEMPORARY_KINDS.contains(&key.as_str()) {
                Permanence::Temporary
            } else if PERMANENT_KINDS.contains(&key.as_str())
                || key == "building"
                || building.is_some()
            {
                Permanence::Permanent
            } else {
                Permanence::Unknown
            };
            if key == "building" {
                (ObstacleKind::Building, permanence)
            } else {
                (ObstacleKind::Structure(key.replace('_', " ")), permanence)
            }
        }
        (_, Some(value)) if value == "construction" => {
            (ObstacleKind::Building, Permanence::Temporary)
        }
        (_, Some(value)) if UNSETTLED_BUILDINGS.contains(&value.as_str()) => {
            (ObstacleKind::Building, Permanence::Unknown)
        }
        (_, Some(_)) => (ObstacleKind::Building, Permanence::Permanent),
        (_, None) => {
            let words = ["natural", "power", "aeroway", "type"]
                .iter()
                .find_map(|key| feature.text(&[key]))
                .unwrap_or_else(|| "structure".to_owned());
            (
                ObstacleKind::Structure(words.replace('_', " ")),
                Permanence::Unknown,
            )
        }
    }
}

/// The shapes of a feature's geometry, one for each part.
fn shapes(feature: &Feature) -> Result<Vec<Shape>, String> {
    let Some(geometry) = &feature.geometry else {
        return Err("has no geometry".to_owned());
    };
    let shapes = match geometry {
        Geometry::Point(point) => vec![Shape::Point(LonLat::wrapped(point.x(), point.y()))],
        Geometry::MultiPoint(points) => points
            .iter()
            .map(|point| Shape::Point(LonLat::wrapped(point.x(), point.y())))
            .collect(),
        Geometry::LineString(line) => chain_or_outline(line).into_iter().collect(),
        Geometry::MultiLineString(lines) => lines.iter().filter_map(chain_or_outline).collect(),
        Geometry::Polygon(polygon) => vec![Shape::Outline(polygon.clone())],
        Geometry::MultiPolygon(polygons) => polygons.iter().cloned().map(Shape::Outline).collect(),
        _ => return Err("has a geometry collection".to_owned()),
    };
    if shapes.is_empty() {
        return Err("has an empty geometry".to_owned());
    }
    Ok(shapes)
}

/// A closed line is the outline of a building; an open one is a wall or the like.
fn chain_or_outline(line: &LineString<f64>) -> Option<Shape> {
    if line.0.len() >= 4 && line.is_closed() {
        return Some(Shape::Outline(Polygon::new(line.clone(), Vec::new())));
    }
    let places = line
        .coords()
        .map(|c| LonLat::wrapped(c.x, c.y))
        .collect::<Vec<_>>();
    (places.len() >= 2).then_some(Shape::Chain(places))
}
