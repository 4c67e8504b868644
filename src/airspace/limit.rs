//! Vertical limits as the AIXM code lists have them, from columns or from one text.
//!
//! References: `SFC` (above the surface), `MSL`, `STD` (altimeter at 1013.25 hPa), `W84` (above the
//! WGS 84 ellipsoid). Units: `FT`, `M`, `FL` (hundreds of feet). Coded values `GND` and `UNL` stand
//! alone; a unit or reference beside them is ignored (AIXM 5.1.1, `ValDistanceVerticalType`,
//! `CodeVerticalReferenceType`). Pairs accepted: SFC, MSL and W84 with FT or M; STD with FL or FT.
//! Anything else is unclear, and an unclear limit is undetermined, never 0.
//! Not here: which altitude a limit comes to at a place (see [`crate::assess`]).

use serde::Serialize;

use crate::units::{Altitude, Height, METRES_PER_FOOT, Metres};

/// The limits that a volume can have, feet: no airspace begins below the deepest dry land or ends
/// above 100 km, so anything else is a slip.
const PLAUSIBLE_FT: std::ops::RangeInclusive<f64> = -2_000.0..=330_000.0;

/// Which limit of a volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The floor.
    Lower,
    /// The top.
    Upper,
}

/// A vertical limit: its words, and what they mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// As stated: `2000 FT MSL`, `FL100`, `GND`; `not given` when it is not.
    pub stated: String,
    /// What it means.
    pub level: Level,
}

/// What a vertical limit means.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "reference", rename_all = "snake_case")]
pub enum Level {
    /// The ground itself (`GND`, `SFC` without a value).
    Ground,
    /// No upper limit (`UNL`).
    Unlimited,
    /// A height above ground (`SFC`).
    AboveGround {
        /// The height.
        height_m: Height,
    },
    /// An altitude (`MSL`).
    Amsl {
        /// The altitude.
        altitude_m: Altitude,
    },
    /// A level of constant pressure (`STD`).
    Pressure {
        /// The altitude that an altimeter set to 1013.25 hPa shows there.
        altitude_at_1013_m: Metres,
    },
    /// A height above the WGS 84 ellipsoid (`W84`), where the separation of the geoid from it is
    /// not known.
    Ellipsoid {
        /// The height above the ellipsoid.
        height_m: Metres,
    },
    /// Not given, or not clear.
    Undetermined {
        /// Why, as a phrase.
        why: String,
    },
}

/// What a limit is made of, as columns of a table have it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stated<'a> {
    /// A number, a coded value, or a whole limit as text.
    pub value: Option<&'a str>,
    /// `FT`, `M`, `FL`.
    pub unit: Option<&'a str>,
    /// `SFC`, `MSL`, `STD`, `W84`.
    pub reference: Option<&'a str>,
    /// How far the geoid is above the ellipsoid here, for `W84`.
    pub geoid_separation: Option<Metres>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Foot,
    Metre,
    FlightLevel,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reference {
    Surface,
    SeaLevel,
    Standard,
    Ellipsoid,
}

impl Limit {
    /// Reads a limit: from `FT`, `MSL` beside a number, or from text such as `2000 ft AMSL`, `FL100`,
    /// `1500FT AGL`, `SFC`, `GND`, `UNL`. What is missing or unclear comes back undetermined, with
    /// the reason.
    #[must_use]
    pub fn read(end: End, stated: Stated<'_>) -> Self {
        let filled = |part: Option<&str>| -> Option<String> {
            part.map(str::trim)
                .filter(|text| !text.is_empty())
                .map(str::to_owned)
        };
        let (value, unit, reference) = (
            filled(stated.value),
            filled(stated.unit),
            filled(stated.reference),
        );
        let Some(value) = value else {
            return Self {
                stated: "not given".to_owned(),
                level: undetermined("is not given"),
            };
        };
        let words: Vec<&str> = [Some(&value), unit.as_ref(), reference.as_ref()]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect();
        let level = coded(end, &value).unwrap_or_else(|| {
            measured(
                &value,
                unit.as_deref(),
                reference.as_deref(),
                stated.geoid_separation,
            )
            .unwrap_or_else(|why| undetermined(&why))
        });
        Self {
            stated: match coded(end, &value) {
                Some(_) => value.to_uppercase(),
                None => words.join(" "),
            },
            level,
        }
    }

    /// Why the limit is undetermined; none when it is not.
    #[must_use]
    pub fn defect(&self) -> Option<&str> {
        match &self.level {
            Level::Undetermined { why } => Some(why),
            _ => None,
        }
    }
}

fn undetermined(why: &str) -> Level {
    Level::Undetermined {
        why: why.to_owned(),
    }
}

/// A value that stands alone, whatever unit and reference are beside it.
fn coded(end: End, value: &str) -> Option<Level> {
    Some(match (value.to_uppercase().as_str(), end) {
        ("GND" | "SFC" | "GROUND" | "SURFACE", End::Lower) => Level::Ground,
        ("UNL" | "UNLTD" | "UNLIM" | "UNLIMITED", End::Upper) => Level::Unlimited,
        ("GND" | "SFC" | "GROUND" | "SURFACE", End::Upper) => {
            undetermined("is the ground, which is no upper limit")
        }
        ("UNL" | "UNLTD" | "UNLIM" | "UNLIMITED", End::Lower) => {
            undetermined("is unlimited, which is no lower limit")
        }
        ("FLOOR" | "CEILING", _) => undetermined("refers to another volume, which is not followed"),
        _ => return None,
    })
}

fn measured(
    value: &str,
    unit: Option<&str>,
    reference: Option<&str>,
    separation: Option<Metres>,
) -> Result<Level, String> {
    let (number, words) = number_and_words(value)?;
    let (mut stated_unit, mut stated_reference) = (None, None);
    for word in words {
        match (unit_of(&word), reference_of(&word)) {
            (Some(known), _) if stated_unit.is_none() => stated_unit = Some(known),
            (_, Some(known)) if stated_reference.is_none() => stated_reference = Some(known),
            _ => return Err(format!("has \"{word}\", which is not understood")),
        }
    }
    if let Some(word) = unit {
        let known = unit_of(&word.to_uppercase())
            .ok_or_else(|| format!("is in \"{word}\", which is none of FT, M, FL"))?;
        if stated_unit.is_some_and(|stated| stated != known) {
            return Err("states two units".to_owned());
        }
        stated_unit = Some(known);
    }
    if let Some(word) = reference {
        let known = reference_of(&word.to_uppercase())
            .ok_or_else(|| format!("refers to \"{word}\", which is none of SFC, MSL, STD, W84"))?;
        if stated_reference.is_some_and(|stated| stated != known) {
            return Err("states two references".to_owned());
        }
        stated_reference = Some(known);
    }
    let unit = stated_unit.ok_or("has no unit")?;
    // A flight level says its reference by itself.
    let reference = match (unit, stated_reference) {
        (Unit::FlightLevel, None) => Reference::Standard,
        (_, Some(reference)) => reference,
        (_, None) => return Err("has no reference (SFC, MSL, STD or W84)".to_owned()),
    };
    let feet = match unit {
        Unit::Foot => number,
        Unit::Metre => number / METRES_PER_FOOT,
        Unit::FlightLevel => number * 100.0,
    };
    if !PLAUSIBLE_FT.contains(&feet) {
        return Err("is no height of airspace; check the number and its unit".to_owned());
    }
    let metres = match unit {
        Unit::Metre => number,
        Unit::Foot | Unit::FlightLevel => feet * METRES_PER_FOOT,
    };
    match (reference, unit) {
        (Reference::Surface, Unit::Foot | Unit::Metre) if metres >= 0.0 => Ok(Level::AboveGround {
            height_m: Height::of(metres),
        }),
        (Reference::Surface, Unit::Foot | Unit::Metre) => Err("is below the ground".to_owned()),
        (Reference::SeaLevel, Unit::Foot | Unit::Metre) => Ok(Level::Amsl {
            altitude_m: Altitude::of(metres),
        }),
        (Reference::Standard, Unit::Foot | Unit::FlightLevel) => Ok(Level::Pressure {
            altitude_at_1013_m: Metres::of(metres),
        }),
        (Reference::Ellipsoid, Unit::Foot | Unit::Metre) => Ok(match separation {
            // h = H + N.
            Some(separation) => Level::Amsl {
                altitude_m: Altitude::of(metres - separation.m()),
            },
            None => Level::Ellipsoid {
                height_m: Metres::of(metres),
            },
        }),
        (Reference::Standard, Unit::Metre) => {
            Err("is STD in metres, which AIXM does not pair".into())
        }
        (_, Unit::FlightLevel) => Err("is a flight level with a reference other than STD".into()),
    }
}

/// The number of a limit and the words about it, in capitals: `FL 100`, `1500FT AGL`.
fn number_and_words(value: &str) -> Result<(f64, Vec<String>), String> {
    let unclear = || "is not one number with a unit and a reference".to_owned();
    let upper = value.to_uppercase();
    let (mut words, rest) = match upper.strip_prefix("FL") {
        Some(rest) => (vec!["FL".to_owned()], rest.trim_start()),
        None => (Vec::new(), upper.as_str()),
    };
    let end = rest
        .char_indices()
        .find(|(at, c)| !(c.is_ascii_digit() || *c == '.' || (*at == 0 && *c == '-')))
        .map_or(rest.len(), |(at, _)| at);
    let (digits, after) = rest.split_at_checked(end).ok_or_else(unclear)?;
    if !digits.contains(|c: char| c.is_ascii_digit()) || after.starts_with(',') {
        return Err(unclear());
    }
    let number: f64 = digits.parse().map_err(|_| unclear())?;
    if !number.is_finite() {
        return Err(unclear());
    }
    words.extend(after.split_whitespace().map(str::to_owned));
    Ok((number, words))
}

fn unit_of(word: &str) -> Option<Unit> {
    match word.trim_end_matches('.') {
        "FT" | "FEET" | "FOOT" => Some(Unit::Foot),
        "M" | "METRE" | "METRES" | "METER" | "METERS" => Some(Unit::Metre),
        "FL" => Some(Unit::FlightLevel),
        _ => None,
    }
}

fn reference_of(word: &str) -> Option<Reference> {
    match word {
        "SFC" | "AGL" | "GND" | "ASFC" => Some(Reference::Surface),
        "MSL" | "AMSL" => Some(Reference::SeaLevel),
        "STD" => Some(Reference::Standard),
        "W84" | "WGS84" => Some(Reference::Ellipsoid),
        _ => None,
    }
}
