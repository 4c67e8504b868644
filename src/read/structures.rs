//! Buildings and other structures, and the supports of power lines, to obstacle records.
//!
//! Not here: the spans between supports (see [`crate::read::lines`]).

use std::borrow::Cow;

use geo::{Geometry, LineString, Point, Polygon};
use smallvec::{SmallVec, smallvec};

use super::attributes::Attributes;
use super::draft::{Draft, Plan};
use super::feature::Feature;
use crate::error::Cautions;
use crate::frame::LonLat;
use crate::obstacle::{Obstacle, ObstacleKind, Permanence, Shape};
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

/// Takes the obstacle records of one feature of a structures layer; several for a multi-part geometry.
pub fn structures(
    feature: &Feature,
    attributes: &Attributes<'_>,
    cautions: &mut Cautions,
    take: impl FnMut(Draft<'_>),
) {
    let (kind, by_kind) = kind_of(feature, attributes);
    let permanence = match (by_kind, attributes.permanence(feature)) {
        (Permanence::Temporary, _) => Permanence::Temporary,
        (_, Some(stated)) => stated,
        (by_kind, None) => by_kind,
    };
    records(feature, attributes, (&kind, permanence), cautions, take);
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
    let mut found = Vec::new();
    let kind = (&ObstacleKind::Support, permanence);
    records(feature, attributes, kind, cautions, |draft| {
        found.push(draft.record());
    });
    found
}

/// Whether a feature is a support of a power line by its tags.
#[must_use]
pub fn is_support(feature: &Feature) -> bool {
    matches!(
        feature.words(&["power"]).as_deref(),
        Some("tower" | "pole" | "portal" | "terminal" | "catenary_mast")
    )
}

fn records(
    feature: &Feature,
    attributes: &Attributes<'_>,
    (kind, permanence): (&ObstacleKind, Permanence),
    cautions: &mut Cautions,
    mut take: impl FnMut(Draft<'_>),
) {
    let parts = match parts(feature) {
        Ok(parts) => parts,
        Err(defect) => {
            let effect = "the feature is left out";
            cautions.feature(attributes.file, &feature.label, defect, effect);
            return;
        }
    };
    let mut top = attributes.top(feature, cautions).top();
    let [horizontal_accuracy, vertical_accuracy] =
        attributes.accuracy(feature, cautions).unwrap_or_else(|| {
            top = None;
            [feature.datum_accuracy, Metres::ZERO]
        });
    let name = attributes.text(feature, "name", &["name"]);
    let several = parts.len() > 1;
    for (number, part) in parts.iter().enumerate() {
        let label = if several {
            Cow::Owned(format!("{} part {}", feature.label, number + 1))
        } else {
            Cow::Borrowed(&*feature.label)
        };
        take(Draft {
            source: (attributes.file, &label),
            name: name.as_deref(),
            kind,
            plan: match part {
                Part::Lent(plan) => *plan,
                Part::Made(shape) => Plan::from(shape),
            },
            top,
            permanence,
            horizontal_accuracy,
            vertical_accuracy,
            span: None,
        });
    }
}

fn kind_of(feature: &Feature, attributes: &Attributes<'_>) -> (ObstacleKind, Permanence) {
    if is_support(feature) {
        return (ObstacleKind::Support, Permanence::Permanent);
    }
    let words = attributes.text(feature, "kind", &["kind", "man_made"]);
    let building = feature.words(&["building"]).filter(|value| value != "no");
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
                (
                    ObstacleKind::Structure(key.replace('_', " ").into()),
                    permanence,
                )
            }
        }
        (_, Some(value)) if value == "construction" => {
            (ObstacleKind::Building, Permanence::Temporary)
        }
        (_, Some(value)) if UNSETTLED_BUILDINGS.contains(&&*value) => {
            (ObstacleKind::Building, Permanence::Unknown)
        }
        (_, Some(_)) => (ObstacleKind::Building, Permanence::Permanent),
        (_, None) => {
            let words = ["natural", "power", "aeroway", "type"]
                .iter()
                .find_map(|key| feature.words(&[key]))
                .unwrap_or(Cow::Borrowed("structure"));
            (
                ObstacleKind::Structure(words.replace('_', " ").into()),
                Permanence::Unknown,
            )
        }
    }
}

/// One part of a geometry.
enum Part<'a> {
    Lent(Plan<'a>),
    Made(Shape),
}

/// The parts of a feature's geometry.
fn parts<'a>(feature: &'a Feature<'_>) -> Result<SmallVec<[Part<'a>; 1]>, &'static str> {
    let Some(geometry) = &feature.geometry else {
        return Err("has no geometry");
    };
    let point = |point: &Point| Part::Lent(Plan::Point(LonLat::wrapped(point.x(), point.y())));
    let outline = |polygon: &'a Polygon| Part::Lent(Plan::Outline(polygon));
    let line = |line: &LineString| chain_or_outline(line).map(Part::Made);
    let parts: SmallVec<[Part<'_>; 1]> = match geometry {
        Geometry::Point(it) => smallvec![point(it)],
        Geometry::MultiPoint(points) => points.iter().map(point).collect(),
        Geometry::LineString(it) => line(it).into_iter().collect(),
        Geometry::MultiLineString(lines) => lines.iter().filter_map(line).collect(),
        Geometry::Polygon(it) => smallvec![outline(it)],
        Geometry::MultiPolygon(polygons) => polygons.iter().map(outline).collect(),
        _ => return Err("has a geometry collection"),
    };
    if parts.is_empty() {
        return Err("has an empty geometry");
    }
    Ok(parts)
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
