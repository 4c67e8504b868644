//! Twilight that a rule counts in minutes before sunrise and after sunset, instead of by the sun.

use serde::{Deserialize, Serialize};

use super::Mark;

/// The most minutes that a rule can count; more is a slip of the unit.
pub const MOST_TWILIGHT_MIN: u16 = 180;

/// Twilight by a rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleTwilight {
    /// Minutes before sunrise and after sunset, 1 to [`MOST_TWILIGHT_MIN`].
    pub minutes: u16,
    /// Instrument and clause.
    pub citation: String,
    /// Edition or date of the instrument as read.
    pub edition: String,
    /// How well it is known.
    pub mark: Mark,
}
