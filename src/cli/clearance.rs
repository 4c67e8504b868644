//! The electrical clearance as typed: a length, or the name of a table.

use super::length;
use crate::units::Metres;

/// The tables of electrical clearance, as [`crate::clearance::BUILT_IN`] has them.
pub const CLEARANCE_TABLES: [&str; 1] = ["cfr1926-1408"];

/// A greater clearance is a slip of the unit, metres.
const MOST_CLEARANCE_M: f64 = 100.0;

/// What `--line-clearance` was given.
#[derive(Clone, Debug, PartialEq)]
pub enum LineClearance {
    /// The least distance to keep from every power line.
    Distance(Metres),
    /// The name of a table by voltage.
    Table(String),
}

/// A length such as `15m`, or the name of a table.
///
/// # Errors
/// A phrase that says what is wrong with the text and how to write it.
pub fn line_clearance(text: &str) -> Result<LineClearance, String> {
    let text = text.trim();
    if CLEARANCE_TABLES.contains(&text) {
        return Ok(LineClearance::Table(text.to_owned()));
    }
    if !text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-')) {
        let tables = CLEARANCE_TABLES.join(", ");
        return Err(format!(
            "is neither a length such as 15m nor a table of clearances ({tables})"
        ));
    }
    let distance = length::positive(text)?;
    if distance.m() > MOST_CLEARANCE_M {
        return Err("is above 100 m; check the number and its unit".into());
    }
    Ok(LineClearance::Distance(distance))
}
