//! Heights as people write them: numbers or text, metres or feet, to metres.
//!
//! Anything that can be read in more than one way is unclear, and an unclear height never makes a
//! shield. Not here: what a height is counted from, and which attribute holds it
//! (see [`crate::read`]).

use super::properties::Value;
use crate::units::METRES_PER_FOOT;

/// The unit of a number that is written without one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Deserialize)]
pub enum LengthUnit {
    /// Metres.
    #[default]
    #[serde(rename = "m")]
    Metre,
    /// International feet.
    #[serde(rename = "ft")]
    Foot,
}

impl LengthUnit {
    /// How many metres one of it is.
    #[must_use]
    pub const fn metres(self) -> f64 {
        match self {
            Self::Metre => 1.0,
            Self::Foot => METRES_PER_FOOT,
        }
    }
}

/// What an attribute says about a height.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// Nothing: no attribute, null, or empty text.
    Missing,
    /// Something that cannot be taken for one height, with the reason.
    Unclear(&'static str),
    /// A height in metres.
    Metres(f64),
}

/// Reads a height from an attribute's value; a number without a unit is in `unit`.
///
/// Understood: `60`, `60.5`, `60,5`, `60 m`, `200ft`, `200'`, `196' 10"`, `60 metres`, in any case.
/// Unclear: ranges, lists, `~20`, `1,234` (thousands or decimals?), other units, NaN.
#[must_use]
pub fn reading<'a>(value: impl Into<Value<'a>>, unit: LengthUnit) -> Reading {
    match value.into() {
        Value::Null => Reading::Missing,
        Value::Number(number) => match number.as_f64() {
            Some(number) if number.is_finite() => Reading::Metres(number * unit.metres()),
            _ => Reading::Unclear("is not a finite number"),
        },
        Value::Text(text) => text_reading(&text, unit),
        Value::Flag(_) | Value::Compound(_) => Reading::Unclear("is neither a number nor text"),
    }
}

fn text_reading(text: &str, unit: LengthUnit) -> Reading {
    let text = text.trim();
    if text.is_empty() {
        return Reading::Missing;
    }
    let (number, rest) = match leading_number(text) {
        Ok(parts) => parts,
        Err(why) => return Reading::Unclear(why),
    };
    let rest = rest.trim();
    if rest.is_empty() {
        return Reading::Metres(number * unit.metres());
    }
    let lower = rest.to_lowercase();
    match lower.as_str() {
        "m" | "metre" | "metres" | "meter" | "meters" => Reading::Metres(number),
        _ => match feet_and_inches(&lower) {
            Some(inches) => Reading::Metres((number + inches / 12.0) * METRES_PER_FOOT),
            None => Reading::Unclear("is not one number with a known unit"),
        },
    }
}

/// The inches after a number of feet (0 when there are none), or none when the text is something else.
fn feet_and_inches(text: &str) -> Option<f64> {
    let after = ["feet", "foot", "ft", "'", "\u{2032}", "\u{2019}"]
        .iter()
        .find_map(|mark| text.strip_prefix(mark))?
        .trim();
    if after.is_empty() {
        return Some(0.0);
    }
    let (inches, mark) = leading_number(after).ok()?;
    let known = ["\"", "\u{2033}", "\u{201d}", "''", "in", "inch", "inches"];
    (known.contains(&mark.trim()) && inches < 12.0).then_some(inches)
}

/// A decimal number at the start of a text and what follows it.
fn leading_number(text: &str) -> std::result::Result<(f64, &str), &'static str> {
    const NOT_ONE: &str = "is not one number with a known unit";
    let is_negative = text.as_bytes().first() == Some(&b'-');
    let unsigned = text.get(usize::from(is_negative)..).unwrap_or_default();
    let end = unsigned
        .bytes()
        .position(|byte| !(byte.is_ascii_digit() || byte == b'.' || byte == b','))
        .unwrap_or(unsigned.len());
    let (digits, rest) = unsigned.split_at_checked(end).unwrap_or((unsigned, ""));
    let is_digit = |byte: &u8| byte.is_ascii_digit();
    let (whole, decimals) = match digits.split_once(['.', ',']) {
        Some((whole, decimals)) => (whole, Some(decimals)),
        None => (digits, None),
    };
    let is_one = |part: &str| !part.is_empty() && part.as_bytes().iter().all(is_digit);
    if !is_one(whole) || !decimals.is_none_or(is_one) {
        return Err(NOT_ONE);
    }
    let has_comma = digits.as_bytes().get(whole.len()) == Some(&b',');
    if has_comma && decimals.is_some_and(|decimals| decimals.len() == 3) {
        return Err("has a comma that may mark thousands or decimals");
    }
    let magnitude: f64 = if has_comma {
        digits.replace(',', ".").parse()
    } else {
        digits.parse()
    }
    .map_err(|_| NOT_ONE)?;
    let sign = if is_negative { -1.0 } else { 1.0 };
    if magnitude.is_finite() {
        Ok((sign * magnitude, rest))
    } else {
        Err("is not a finite number")
    }
}
