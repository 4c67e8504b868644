//! The rule of aerodrome shielding planes as cited data, and the planes of one obstacle by it.
//!
//! An optional rule: no answer uses it unless it is asked to. Its number is from memory, and says so.

use serde::Deserialize;

use super::runway_line::RunwayLine;
use crate::error::{Error, Result};
use crate::field::convex::{Convex, nearest_on_segment};
use crate::field::shielding_plane::ShieldingPlanes;
use crate::frame::Xy;
use crate::profile::Mark;
use crate::units::Metres;

/// A longer reach is a slip.
const LONGEST_REACH_M: f64 = 1_000.0;

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
    /// How far from an obstacle its planes reach, away from the runway and towards it; chosen for
    /// caution, without a source.
    pub reach: Metres,
    /// Where that is from.
    pub reach_source: String,
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
    reach_along: RawLength,
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLength {
    value: f64,
    unit: LengthUnit,
    source: String,
}

#[derive(Deserialize)]
enum LengthUnit {
    #[serde(rename = "m")]
    Metre,
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
    /// most 100 %, a reach that is not above 0 and at most 1 km.
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
        let RawLength {
            value: reach,
            unit: LengthUnit::Metre,
            source: reach_source,
        } = raw.reach_along;
        if !(reach > 0.0 && reach <= LONGEST_REACH_M) {
            return Err(refused(
                "key reach_along: is not above 0 and at most 1 km".to_owned(),
            ));
        }
        Ok(Self {
            title: raw.title,
            citation: raw.citation,
            edition: raw.edition,
            mark: raw.mark,
            caution: raw.caution,
            slope: value / 100.0,
            reach: Metres::of(reach),
            reach_source,
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

    /// The planes of one convex piece, or the convex hull, of a connected obstacle whose lowest trusted top is `top` (metres
    /// AMSL) and which stands within `spread` metres of where it is stated.
    ///
    /// Never more than what the piece shields with its middle's direction to the nearest point of
    /// the runway: the fall is counted from its side away from the runway, the reach from the side
    /// that makes it shorter, and the width is less by the spread. None where the piece reaches the
    /// centreline or nothing is left.
    #[must_use]
    pub fn planes_of_piece(
        &self,
        leaf: usize,
        piece: &Convex,
        top: f64,
        spread: f64,
        runway: &RunwayLine,
    ) -> Option<ShieldingPlanes> {
        let corners = piece.corners();
        let count = corners.len() as f64;
        let sum = corners
            .iter()
            .fold(Xy::default(), |sum, it| Xy::new(sum.x + it.x, sum.y + it.y));
        let middle = Xy::new(sum.x / count, sum.y / count);
        let [low, high] = &runway.ends;
        let nearest = nearest_on_segment(low.position, high.position, middle);
        let apart = middle.distance(nearest);
        let unit = Xy::new(
            (nearest.x - middle.x) / apart,
            (nearest.y - middle.y) / apart,
        );
        let extent = |direction: Xy| {
            corners
                .iter()
                .map(|it| (it.x - middle.x) * direction.x + (it.y - middle.y) * direction.y)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), it| {
                    (least.min(it), most.max(it))
                })
        };
        let across = Xy::new(-unit.y, unit.x);
        let (back, front) = extent(unit);
        let (right, left) = extent(across);
        // False for NaN.
        let is_aside = apart > front + spread;
        if !is_aside {
            return None;
        }
        let (along, aside) = (back - spread, (right + left) / 2.0);
        let length = (self.reach.m() - (front - back) - 2.0 * spread).min(apart - along);
        let position = Xy::new(
            middle.x + along * unit.x + aside * across.x,
            middle.y + along * unit.y + aside * across.y,
        );
        let towards = Xy::new(position.x + apart * unit.x, position.y + apart * unit.y);
        let half_width = (left - right) / 2.0 - spread;
        ShieldingPlanes::new(
            leaf,
            position,
            towards,
            top,
            self.slope,
            (half_width, length),
        )
    }
}
