//! The zones of a profile from their TOML form.
//!
//! Not here: the rest of a profile.

use serde::Deserialize;

use super::{HIGHEST_M, NESTING, Range, RawQuantity, quantity, words, wrong};
use crate::aerodrome::AerodromeKind;
use crate::error::Result;
use crate::profile::zone::{CentrelineStart, DiscCentre, OnCentreline, ZoneRule, ZoneShape};
use crate::profile::{Quantity, Reference};

/// How many zones one profile may have. Our own limit.
pub const MOST_ZONES: usize = 32;

/// How many shapes one zone may be made of. Our own limit.
pub const MOST_SHAPES: usize = 64;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RawZone {
    title: String,
    #[serde(default)]
    kinds: Vec<AerodromeKind>,
    controlled: Option<bool>,
    longest_runway_at_most: Option<RawQuantity>,
    longest_runway_above: Option<RawQuantity>,
    shape: RawShape,
    top: Option<RawQuantity>,
    #[serde(default)]
    conditions: Vec<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum RawShape {
    Disc(RawDisc),
    Capsule(RawCapsule),
    Buffer(RawBuffer),
    Rectangle(RawRectangle),
    Splay(RawSplay),
    Union(Vec<Self>),
    Difference(RawDifference),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDisc {
    about: DiscCentre,
    radius: RawQuantity,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCapsule {
    radius: RawQuantity,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBuffer {
    of: Reference,
    distance: RawQuantity,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRectangle {
    from: CentrelineStart,
    gap: Option<RawQuantity>,
    length: RawQuantity,
    width: RawQuantity,
    rise: Option<RawQuantity>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSplay {
    from: CentrelineStart,
    gap: Option<RawQuantity>,
    length: RawQuantity,
    inner_width: RawQuantity,
    outer_width: RawQuantity,
    rise: Option<RawQuantity>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDifference {
    of: Box<RawShape>,
    less: Box<RawShape>,
}

/// Checks the zones of a profile.
pub fn zones(raw: Vec<RawZone>) -> Result<Vec<ZoneRule>> {
    if raw.len() > MOST_ZONES {
        return Err(wrong(
            "zones",
            format!("{} zones are too many", raw.len()),
            format!("state at most {MOST_ZONES}"),
        ));
    }
    raw.into_iter()
        .enumerate()
        .map(|(index, raw)| zone(&format!("zones[{index}]"), raw))
        .collect()
}

fn zone(key: &str, raw: RawZone) -> Result<ZoneRule> {
    Ok(ZoneRule {
        title: words(&format!("{key}.title"), raw.title)?,
        kinds: raw.kinds,
        controlled: raw.controlled,
        longest_runway_at_most: optional(
            key,
            "longest_runway_at_most",
            raw.longest_runway_at_most,
        )?,
        longest_runway_above: optional(key, "longest_runway_above", raw.longest_runway_above)?,
        shape: shape(&format!("{key}.shape"), raw.shape, 1, &mut 0)?,
        top: optional(key, "top", raw.top)?,
        conditions: raw
            .conditions
            .into_iter()
            .enumerate()
            .map(|(index, text)| words(&format!("{key}.conditions[{index}]"), text))
            .collect::<Result<_>>()?,
    })
}

fn positive(key: &str, field: &str, raw: RawQuantity) -> Result<Quantity> {
    quantity(
        &format!("{key}.{field}"),
        &format!("zone.{field}"),
        raw,
        Range::Above(HIGHEST_M),
    )
}

fn optional(key: &str, field: &str, raw: Option<RawQuantity>) -> Result<Option<Quantity>> {
    raw.map(|raw| positive(key, field, raw)).transpose()
}

fn shape(key: &str, raw: RawShape, depth: usize, count: &mut usize) -> Result<ZoneShape> {
    *count += 1;
    if depth > NESTING {
        return Err(wrong(
            key,
            "union and difference are nested too deep",
            format!("nest at most {NESTING} deep"),
        ));
    }
    if *count > MOST_SHAPES {
        return Err(wrong(
            key,
            "the zone has too many shapes",
            format!("state at most {MOST_SHAPES}"),
        ));
    }
    Ok(match raw {
        RawShape::Disc(raw) => ZoneShape::Disc {
            about: raw.about,
            radius: positive(&format!("{key}.disc"), "radius", raw.radius)?,
        },
        RawShape::Capsule(raw) => ZoneShape::Capsule {
            radius: positive(&format!("{key}.capsule"), "radius", raw.radius)?,
        },
        RawShape::Buffer(raw) => ZoneShape::Buffer {
            of: raw.of,
            distance: positive(&format!("{key}.buffer"), "distance", raw.distance)?,
        },
        RawShape::Rectangle(raw) => {
            let key = format!("{key}.rectangle");
            let width = positive(&key, "width", raw.width)?;
            ZoneShape::Rectangle(OnCentreline {
                from: raw.from,
                gap: optional(&key, "gap", raw.gap)?,
                length: positive(&key, "length", raw.length)?,
                inner_width: width.clone(),
                outer_width: width,
                rise: optional(&key, "rise", raw.rise)?,
            })
        }
        RawShape::Splay(raw) => {
            let key = format!("{key}.splay");
            ZoneShape::Splay(OnCentreline {
                from: raw.from,
                gap: optional(&key, "gap", raw.gap)?,
                length: positive(&key, "length", raw.length)?,
                inner_width: positive(&key, "inner_width", raw.inner_width)?,
                outer_width: positive(&key, "outer_width", raw.outer_width)?,
                rise: optional(&key, "rise", raw.rise)?,
            })
        }
        RawShape::Union(raw) => {
            let key = format!("{key}.union");
            if raw.is_empty() {
                return Err(wrong(&key, "is an empty list", "state at least one shape"));
            }
            ZoneShape::Union(
                raw.into_iter()
                    .enumerate()
                    .map(|(index, raw)| shape(&format!("{key}[{index}]"), raw, depth + 1, count))
                    .collect::<Result<_>>()?,
            )
        }
        RawShape::Difference(raw) => {
            let key = format!("{key}.difference");
            ZoneShape::Difference {
                of: Box::new(shape(&format!("{key}.of"), *raw.of, depth + 1, count)?),
                less: Box::new(shape(&format!("{key}.less"), *raw.less, depth + 1, count)?),
            }
        }
    })
}
