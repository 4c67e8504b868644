//! The rule of aerodrome shielding planes as cited data, and the planes of one obstacle by it.
//!
//! An optional rule: no answer uses it unless it is asked to. Its number is from memory, and says so.

use serde::Deserialize;

use super::runway_line::RunwayLine;
use crate::error::{Error, Result};
use crate::field::convex::nearest_on_segment;
use crate::field::shielding_plane::ShieldingPlanes;
use crate::frame::Xy;
use crate::profile::Mark;

const FILE: &str = "layers/surfaces/shielding-planes.toml";

/// The rule with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct ShieldingRule {
    /// Its title.
    pub title: String,
    /// Instrument and chapter.
    pub citation: String,
    /// Edition of the instrument.
    pub edition: String,
    /// How well the number is known.
    pub mark: Mark,
    /// What the rule is not.
    pub caution: String,
    /// Fall of the plane towards the runway, metres a metre.
    pub slope: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRule {
    title: String,
    citation: String,
    edition: String,
    mark: Mark,
    caution: String,
    slope_towards_runway: RawSlope,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSlope {
    value: f64,
    unit: Unit,
}

#[derive(Deserialize)]
enum Unit {
    #[serde(rename = "%")]
    Percent,
}

impl ShieldingRule {
    /// The built-in rule.
    ///
    /// # Errors
    /// As for [`Self::parse`].
    pub fn built_in() -> Result<Self> {
        Self::parse(include_str!("../../layers/surfaces/shielding-planes.toml"))
    }

    /// The rule from TOML text.
    ///
    /// # Errors
    /// TOML that cannot be parsed, an unknown or missing key, a slope that is not above 0 and at
    /// most 100 %.
    pub fn parse(text: &str) -> Result<Self> {
        let refused = |cause: String| Error::new(cause, "correct the rule").in_file(FILE);
        let raw: RawRule =
            toml::from_str(text).map_err(|why| refused(why.message().replace('\n', ", ")))?;
        let RawSlope {
            value,
            unit: Unit::Percent,
        } = raw.slope_towards_runway;
        if !(value > 0.0 && value <= 100.0) {
            return Err(refused(
                "key slope_towards_runway: is not above 0 and at most 100 %".to_owned(),
            ));
        }
        Ok(Self {
            title: raw.title,
            citation: raw.citation,
            edition: raw.edition,
            mark: raw.mark,
            caution: raw.caution,
            slope: value / 100.0,
        })
    }

    /// The planes of an obstacle with its trusted `top` (metres AMSL): level away from the nearest
    /// point of the runway and falling towards it, within `half_width` metres sideways and `length`
    /// metres along. None where the obstacle stands on the centreline.
    #[must_use]
    pub fn planes(
        &self,
        leaf: usize,
        obstacle: Xy,
        top: f64,
        runway: &RunwayLine,
        (half_width, length): (f64, f64),
    ) -> Option<ShieldingPlanes> {
        let [low, high] = &runway.ends;
        let nearest = nearest_on_segment(low.position, high.position, obstacle);
        ShieldingPlanes::new(
            leaf,
            obstacle,
            nearest,
            top,
            self.slope,
            (half_width, length),
        )
    }
}
