//! Lengths as a person types them on the command line: a number with its unit, never one without.
//!
//! Not here: heights as text in data files, which have a default unit and are read by
//! [`crate::read`].

use crate::units::{METRES_PER_NAUTICAL_MILE, Metres};

/// The units understood, as messages name them.
pub const UNITS: &str = "m, km, ft or NM";

/// The longest length accepted, metres: half the circumference of the Earth, rounded up; beyond
/// it no distance on the ellipsoid exists.
const LONGEST_M: f64 = 20_100_000.0;

/// A length from text such as `50m`, `164 ft`, `10NM`, `1.5km`; of either sign.
///
/// Units are `m`, `km`, `ft` and `NM`, in any case but `M` alone, which some use for the nautical
/// mile. The number is decimal with a point; a comma is refused because it may mean either.
///
/// # Errors
/// A phrase that says what is wrong with the text and how to write it.
pub fn signed(text: &str) -> Result<Metres, String> {
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let unit = unit.trim();
    if number.is_empty() {
        return Err(format!("is not a number with a unit; {HOW}"));
    }
    if number.contains(',') {
        return Err(format!(
            "has a comma in its number; write a decimal point: {HOW}"
        ));
    }
    let value: f64 = number
        .parse()
        .map_err(|_| format!("does not begin with a number; {HOW}"))?;
    let metres = match unit {
        "" => return Err(format!("has no unit; {HOW}")),
        "m" => value,
        _ if unit.eq_ignore_ascii_case("km") => value * 1_000.0,
        _ if unit.eq_ignore_ascii_case("ft") => Metres::from_feet(value).m(),
        _ if unit.eq_ignore_ascii_case("nm") => value * METRES_PER_NAUTICAL_MILE,
        _ => return Err(format!("has a unit that is not understood; {HOW}")),
    };
    if metres.abs() > LONGEST_M {
        return Err("is longer than any distance on Earth; check the number and its unit".into());
    }
    Metres::new(metres).map_err(|refused| refused.to_string())
}

const HOW: &str = "write a number with m, km, ft or NM, such as 50m or 164ft";

/// A length from text as in [`signed`], 0 or more.
///
/// # Errors
/// A phrase, as in [`signed`]; a negative length is refused.
pub fn not_negative(text: &str) -> Result<Metres, String> {
    let length = signed(text)?;
    if length.m() < 0.0 || (length.m() == 0.0 && text.trim_start().starts_with('-')) {
        return Err("is negative; write 0m or more".into());
    }
    Ok(length)
}

/// A length from text as in [`signed`], more than 0.
///
/// # Errors
/// A phrase, as in [`signed`]; 0 and negative lengths are refused.
pub fn positive(text: &str) -> Result<Metres, String> {
    let length = not_negative(text)?;
    if length.m() == 0.0 {
        return Err("is 0; write a length greater than 0".into());
    }
    Ok(length)
}
