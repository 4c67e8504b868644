//! The JSON form of an assessment: every key documented in `layers/schema/assessment.json`.
//!
//! Keys keep the order of [`Assessment`]; numbers are unrounded and finite. JSON has no infinity
//! and no NaN, and a `null` in their place could be read as "not given", so such a number stops
//! the output instead.

use geo::CoordsIter;
use serde::Serialize;
use serde_json::Value;

use crate::answer::{
    Assessment, CeilingPair, CeilingValue, HeightAbovePoint, Undetermined, UsableAnswer,
    VariationAnswer,
};
use crate::error::{Error, Result};

/// The greatest number that an answer can hold, metres or square metres: more than the surface of
/// the Earth (5.1e14 m²); beyond it lie only the clamped forms of infinity.
const GREATEST: f64 = 1e15;

/// The assessment as indented JSON, ended by a line end.
///
/// # Errors
/// An [`Error`] when a number is not finite, which names its key.
pub fn json(assessment: &Assessment) -> Result<String> {
    let unfit = |cause: String| Error::new(cause, "report this defect with the input files");
    if let Some((key, value)) = bare_numbers(assessment)
        .into_iter()
        .find(|(_, value)| !value.is_finite())
    {
        return Err(unfit(format!("{key} of the answer is {value}")));
    }
    let value = serde_json::to_value(assessment)
        .map_err(|why| unfit(format!("the answer does not become JSON ({why})")))?;
    if let Some(key) = clamped(&value, String::new()) {
        return Err(unfit(format!("{key} of the answer is not finite")));
    }
    indented(assessment)
}

/// Any answer as indented JSON, ended by a line end.
///
/// # Errors
/// An [`Error`] when it does not become JSON.
pub fn indented(answer: &impl Serialize) -> Result<String> {
    let mut text = serde_json::to_string_pretty(answer).map_err(|why| {
        Error::new(
            format!("the answer does not become JSON ({why})"),
            "report this defect with the input files",
        )
    })?;
    text.push('\n');
    Ok(escaped(&text))
}

/// JSON text with the characters that act on a terminal (other controls than the escaped ones,
/// marks of writing direction) as `\uXXXX`; they can only stand in its strings.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\u{7f}'..='\u{9f}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}' => {
                escaped.push_str(&format!("\\u{:04x}", u32::from(character)));
            }
            _ => escaped.push(character),
        }
    }
    escaped
}

/// The path of the first number beyond [`GREATEST`].
fn clamped(value: &Value, path: String) -> Option<String> {
    match value {
        Value::Number(number) => number
            .as_f64()
            .is_none_or(|number| number.abs() > GREATEST)
            .then_some(path),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .find_map(|(i, item)| clamped(item, format!("{path}/{i}"))),
        Value::Object(entries) => entries
            .iter()
            .find_map(|(key, item)| clamped(item, format!("{path}/{key}"))),
        Value::Null | Value::Bool(_) | Value::String(_) => None,
    }
}

/// The numbers of an assessment that their type does not keep finite, with their keys.
fn bare_numbers(assessment: &Assessment) -> Vec<(&'static str, f64)> {
    let mut numbers = vec![
        ("area.area_m2", assessment.area.area_m2),
        ("ground.unknown_share", assessment.ground.unknown_share),
    ];
    if let VariationAnswer::Known {
        declination_deg,
        uncertainty_deg,
        ..
    } = &assessment.variation
    {
        numbers.push(("variation.declination_deg", *declination_deg));
        numbers.push(("variation.uncertainty_deg", *uncertainty_deg));
    }
    for value in &assessment.profile.values {
        numbers.push(("profile.values.value", value.value));
    }
    for aerodrome in &assessment.aerodromes {
        for distance in aerodrome
            .references
            .iter()
            .filter_map(|it| it.distance.as_ref())
        {
            numbers.push((
                "aerodromes.references.distance.distance_nm",
                distance.distance_nm,
            ));
        }
        for share in aerodrome.rings.iter().filter_map(|ring| ring.share_inside) {
            numbers.push(("aerodromes.rings.share_inside", share));
        }
    }
    for zone in &assessment.zones {
        numbers.extend(zone.share_inside.map(|it| ("zones.share_inside", it)));
        numbers.push(("zones.outside_m2", zone.outside_m2));
        for place in zone.outside.coords_iter() {
            numbers.push(("zones.outside", place.x));
            numbers.push(("zones.outside", place.y));
        }
    }
    for rule in &assessment.shielding {
        numbers.push(("shielding.covered_share", rule.covered_share));
        numbers.push(("shielding.uncovered_m2", rule.uncovered_m2));
        for place in rule.uncovered.iter().flat_map(|part| {
            std::iter::once(part.exterior())
                .chain(part.interiors())
                .flat_map(|ring| ring.coords())
        }) {
            numbers.push(("shielding.uncovered", place.x));
            numbers.push(("shielding.uncovered", place.y));
        }
    }
    for pair in [
        &assessment.ceiling.whole,
        &assessment.ceiling.determined_part,
    ]
    .into_iter()
    .flatten()
    {
        ceiling_numbers(pair, &mut numbers);
    }
    for reason in &assessment.ceiling.undetermined {
        match reason {
            Undetermined::Uncovered {
                uncovered_m2,
                share,
            } => {
                numbers.push(("ceiling.undetermined.uncovered_m2", *uncovered_m2));
                numbers.push(("ceiling.undetermined.share", *share));
            }
            Undetermined::GroundUnknown { share } => {
                numbers.push(("ceiling.undetermined.share", *share));
            }
            Undetermined::NoShield
            | Undetermined::FloorUnknown { .. }
            | Undetermined::NotCertified => {}
        }
    }
    plan_numbers(assessment, &mut numbers);
    for volume in assessment.airspace.iter().flat_map(|it| &it.volumes) {
        numbers.push(("airspace.volumes.share_inside", volume.share_inside));
    }
    section_numbers(assessment, &mut numbers);
    if let Some(wish) = &assessment.wish {
        numbers.push(("wish.share_allowed", wish.share_allowed));
    }
    numbers
}

/// Those of the plan, the electrical clearance and the usable area.
fn plan_numbers(assessment: &Assessment, numbers: &mut Vec<(&'static str, f64)>) {
    for point in &assessment.plan {
        if let Some(HeightAbovePoint::Known {
            height_m, budget, ..
        }) = &point.above_take_off
        {
            numbers.push(("plan.above_take_off.height_m", *height_m));
            numbers.extend(
                budget
                    .iter()
                    .map(|line| ("plan.above_take_off.budget.value_m", line.value_m)),
            );
        }
    }
    let clearance = &assessment.clearance;
    numbers.push(("clearance.band_m2", clearance.band_m2));
    for place in clearance.band.coords_iter() {
        numbers.push(("clearance.band", place.x));
        numbers.push(("clearance.band", place.y));
    }
    for volts in clearance.lines.iter().filter_map(|line| line.voltage_v) {
        numbers.push(("clearance.lines.voltage_v", volts));
    }
    if let UsableAnswer::Determined {
        polygons,
        area_m2,
        share,
        ..
    } = &assessment.usable
    {
        numbers.push(("usable.area_m2", *area_m2));
        numbers.push(("usable.share", *share));
        for place in polygons.coords_iter() {
            numbers.push(("usable.polygons", place.x));
            numbers.push(("usable.polygons", place.y));
        }
    }
}

fn section_numbers(assessment: &Assessment, numbers: &mut Vec<(&'static str, f64)>) {
    let Some(section) = &assessment.section else {
        return;
    };
    for station in &section.stations {
        let ground = [station.ground_low_m, station.ground_high_m];
        numbers.extend(
            ground
                .into_iter()
                .flatten()
                .map(|it| ("section.stations", it)),
        );
    }
    let surfaces = section.surfaces.iter().flat_map(|it| &it.runs);
    let floors = section.floors.iter().flat_map(|it| &it.runs);
    for point in section
        .ceiling
        .iter()
        .chain(surfaces)
        .chain(floors)
        .flatten()
    {
        numbers.extend([
            ("section.at_m", point.at_m),
            ("section.level_m", point.level_m),
        ]);
    }
    for wire in &section.wires {
        for point in wire.points.iter().chain(&wire.along) {
            let levels = [point.low_m, point.high_m];
            numbers.extend(levels.into_iter().flatten().map(|it| ("section.wires", it)));
        }
    }
    for object in &section.objects {
        let levels = [object.base_low_m, object.top_low_m, object.top_high_m];
        numbers.extend(
            levels
                .into_iter()
                .flatten()
                .map(|it| ("section.objects", it)),
        );
    }
    numbers.extend(
        section
            .heights
            .iter()
            .map(|it| ("section.heights.ground_m", it.ground_m)),
    );
    numbers.extend(
        section
            .certified
            .iter()
            .map(|it| ("section.certified.level_m", it.level_m)),
    );
    if let Some(governs) = &section.governs {
        numbers.extend(
            governs
                .budget
                .iter()
                .map(|it| ("section.governs.budget", it.value_m)),
        );
        let top = governs.shield.iter().map(|it| it.trusted_top_m);
        numbers.extend(top.map(|it| ("section.governs.shield.trusted_top_m", it)));
    }
}

fn ceiling_numbers(pair: &CeilingPair, numbers: &mut Vec<(&'static str, f64)>) {
    let mut add = |value: &CeilingValue| {
        numbers.push(("ceiling.value_m", value.value_m));
        numbers.push(("ceiling.attained_m", value.attained_m));
        for line in &value.budget {
            numbers.push(("ceiling.budget.value_m", line.value_m));
        }
    };
    add(&pair.above_ground);
    pair.amsl.iter().for_each(&mut add);
}
