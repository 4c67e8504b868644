//! Plan layer to records: points with one role or several.
//!
//! What has no place or no clear role is left out with a caution. Not here: whether a point lies in
//! the area (see [`crate::assess`]).

use geo::Geometry;

use super::declaration::Declaration;
use super::feature::Feature;
use super::height::{self, LengthUnit, Reading};
use super::layer::VectorLayer;
use crate::error::Cautions;
use crate::frame::LonLat;
use crate::plan_point::{PlanPoint, Role};
use crate::site::FeatureRef;
use crate::units::Metres;

/// The effect of a feature that is no point of a plan.
const LEFT_OUT: &str = "the point is left out";

/// No position is worse than this, metres; a larger number is a slip of the unit.
const MOST_ACCURACY_M: f64 = 1_000.0;

/// The points of a layer, in the order of the file.
pub fn points(
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) -> Vec<PlanPoint> {
    let mut points = Vec::new();
    for feature in &layer.features {
        let read = places(feature).and_then(|places| Ok((places, roles(feature, declaration)?)));
        let (places, roles) = match read {
            Ok(read) => read,
            Err(defect) => {
                cautions.feature(&layer.file, &feature.label, &defect, LEFT_OUT);
                continue;
            }
        };
        let accuracy = accuracy(feature, layer, declaration, cautions);
        points.extend(places.into_iter().map(|place| PlanPoint {
            source: FeatureRef {
                file: layer.file.as_str().into(),
                feature: feature.label.as_ref().into(),
            },
            name: text(feature, declaration, "name"),
            roles: roles.clone(),
            place,
            horizontal_accuracy: accuracy,
        }));
    }
    points
}

fn text(feature: &Feature, declaration: &Declaration, ours: &str) -> Option<String> {
    let theirs = declaration.attributes.get(ours);
    feature.text(&[theirs.map_or(ours, String::as_str)])
}

fn places(feature: &Feature) -> Result<Vec<LonLat>, String> {
    let place = |point: &geo::Point<f64>| LonLat::wrapped(point.x(), point.y());
    match &feature.geometry {
        Some(Geometry::Point(point)) => Ok(vec![place(point)]),
        Some(Geometry::MultiPoint(points)) if !points.0.is_empty() => {
            Ok(points.iter().map(place).collect())
        }
        Some(Geometry::MultiPoint(_)) | None => Err("has no position".to_owned()),
        Some(_) => Err("is not a point".to_owned()),
    }
}

/// The roles of a feature: one, or several apart by `;`, `,` or `+`.
fn roles(feature: &Feature, declaration: &Declaration) -> Result<Vec<Role>, String> {
    let Some(stated) = text(feature, declaration, "role") else {
        return Err(format!("states no role ({})", known()));
    };
    let mut roles = stated
        .split([';', ',', '+'])
        .map(|word| role(word).ok_or_else(|| format!("has a role that is not one of {}", known())))
        .collect::<Result<Vec<_>, _>>()?;
    roles.sort_unstable();
    roles.dedup();
    Ok(roles)
}

/// A role as people write it: `take_off`, `Take-off`, `takeoff`, `Emergency`.
fn role(word: &str) -> Option<Role> {
    let plain: String = word
        .trim()
        .to_lowercase()
        .chars()
        .filter(|c| !matches!(c, '_' | '-' | ' '))
        .collect();
    match plain.as_str() {
        "takeoff" => Some(Role::TakeOff),
        "landing" => Some(Role::Landing),
        "emergency" => Some(Role::Emergency),
        "crew" => Some(Role::Crew),
        _ => None,
    }
}

fn known() -> String {
    Role::ALL.map(Role::word).join(", ")
}

fn accuracy(
    feature: &Feature,
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) -> Metres {
    let declared = declaration.horizontal_accuracy().unwrap_or(Metres::ZERO);
    let theirs = declaration.attributes.get("horizontal_accuracy");
    let value = feature.property(&[theirs.map_or("horizontal_accuracy_m", String::as_str)]);
    let stated = match value.map(|value| height::reading(value, LengthUnit::Metre)) {
        None | Some(Reading::Missing) => declared,
        Some(Reading::Metres(metres)) if (0.0..=MOST_ACCURACY_M).contains(&metres) => {
            Metres::of(metres)
        }
        Some(_) => {
            cautions.feature(
                &layer.file,
                &feature.label,
                "has a horizontal accuracy that is unclear",
                "that of the layer is taken",
            );
            declared
        }
    };
    stated + feature.datum_accuracy
}
