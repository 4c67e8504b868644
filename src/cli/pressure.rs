//! A QNH as a person types it on the command line: a number with its unit, never one without.

use crate::units::Pressure;

/// Hectopascals in an inch of mercury at 0 °C (ICAO Annex 5; from memory).
const HPA_PER_INCH_OF_MERCURY: f64 = 33.863_89;

/// QNH that the Earth has: the records at sea level are about 870 and 1084 hPa (from memory).
const QNH_HPA: std::ops::RangeInclusive<f64> = 850.0..=1100.0;

/// A QNH from text such as `1013hPa`, `1013.25 hPa`, `29.92inHg`.
///
/// # Errors
/// A phrase that says what is wrong with the text and how to write it.
pub fn qnh(text: &str) -> Result<Pressure, String> {
    let how = "write a number with hPa or inHg, such as 1013hPa";
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let value: f64 = number
        .parse()
        .map_err(|_| format!("is not a pressure; {how}"))?;
    let hectopascals = match unit.trim() {
        "" => return Err(format!("has no unit; {how}")),
        unit if unit.eq_ignore_ascii_case("hpa") || unit.eq_ignore_ascii_case("mbar") => value,
        unit if unit.eq_ignore_ascii_case("inhg") => value * HPA_PER_INCH_OF_MERCURY,
        _ => return Err(format!("has a unit that is not understood; {how}")),
    };
    if !QNH_HPA.contains(&hectopascals) {
        return Err("is no QNH from 850 to 1100 hPa; check the number and its unit".into());
    }
    Pressure::new(hectopascals).map_err(|refused| refused.to_string())
}
