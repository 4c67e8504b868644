//! A runway laid out in the plane: its two ends, their elevations, and what was taken for them.

use super::placing_slack;
use super::ribbon::Ribbon;
use crate::aerodrome::{Aerodrome, EndClassification, Runway, RunwayClassification};
use crate::frame::{LocalFrame, Xy};
use crate::site::FeatureRef;
use crate::units::Metres;

/// The shortest runway that surfaces are laid out for, metres: a shorter one is a slip.
const SHORTEST_M: f64 = 10.0;

/// One end of a laid-out runway.
#[derive(Clone, Debug, PartialEq)]
pub struct LineEnd {
    /// Its designator, or `low end`, `high end`.
    pub designator: String,
    /// Where the runway ends.
    pub position: Xy,
    /// Elevation, metres AMSL.
    pub elevation: f64,
    /// How far the threshold is displaced, metres.
    pub displaced: f64,
    /// Kind of approach and clearway.
    pub classification: EndClassification,
}

/// A runway in the plane.
#[derive(Clone, Debug, PartialEq)]
pub struct RunwayLine {
    /// Designator of both ends.
    pub designator: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Its ends, low designator first.
    pub ends: [LineEnd; 2],
    /// Its length, metres.
    pub length: f64,
    /// The direction from the low end to the high end, of length 1.
    pub along: Xy,
    /// Code number and letter, and what 14 CFR Part 77 asks.
    pub classification: RunwayClassification,
    /// See [`placing_slack`].
    pub slack: f64,
    /// What was taken for want of data.
    pub assumed: Vec<String>,
}

impl RunwayLine {
    /// Lays out a runway.
    ///
    /// # Errors
    /// A phrase when it is closed, an end has no position, the ends are too near each other, or
    /// neither end nor the aerodrome has an elevation.
    pub fn of(runway: &Runway, aerodrome: &Aerodrome, frame: &LocalFrame) -> Result<Self, String> {
        if runway.closed {
            return Err("it is marked closed in the data".to_owned());
        }
        let [low, high] = &runway.ends;
        let (Some(from), Some(to)) = (low.position, high.position) else {
            return Err("the positions of its two ends are not given".to_owned());
        };
        let (from, to) = (frame.to_plane(from), frame.to_plane(to));
        let length = from.distance(to);
        if length.is_nan() || length < SHORTEST_M {
            return Err("its two ends are at one place".to_owned());
        }
        let mut assumed = Vec::new();
        let known = [low.elevation, high.elevation, aerodrome.elevation];
        let lowest = known
            .iter()
            .flatten()
            .map(|elevation| elevation.m())
            .fold(f64::INFINITY, f64::min);
        if !lowest.is_finite() {
            return Err("neither its ends nor the aerodrome have an elevation".to_owned());
        }
        let mut ends = Vec::new();
        for (end, (position, fallback)) in runway
            .ends
            .iter()
            .zip([(from, "low end"), (to, "high end")])
        {
            let designator = end
                .designator
                .clone()
                .unwrap_or_else(|| fallback.to_owned());
            if end.elevation.is_none() {
                assumed.push(format!(
                    "elevation of runway end {designator} not given: the lowest known at the \
                     aerodrome is taken"
                ));
            }
            ends.push(LineEnd {
                designator,
                position,
                elevation: end.elevation.map_or(lowest, |elevation| elevation.m()),
                displaced: end
                    .displaced_threshold
                    .map_or(0.0, |displaced| displaced.m().clamp(0.0, length)),
                classification: end.classification,
            });
        }
        let away = Metres::of(from.x.hypot(from.y).max(to.x.hypot(to.y)));
        let [first, second] =
            <[LineEnd; 2]>::try_from(ends).map_err(|_| "it has no two ends".to_owned())?;
        Ok(Self {
            designator: runway.designator.clone(),
            source: runway.source.clone(),
            ends: [first, second],
            length,
            along: Xy::new((to.x - from.x) / length, (to.y - from.y) / length),
            classification: runway.classification,
            slack: placing_slack(away),
            assumed,
        })
    }

    /// The ends with the direction that points away from the runway there, low end first.
    #[must_use]
    pub fn ends_outward(&self) -> [(&LineEnd, Xy); 2] {
        let back = Xy::new(-self.along.x, -self.along.y);
        let [low, high] = &self.ends;
        [(low, back), (high, self.along)]
    }

    /// The point so many metres from the low end towards the high end.
    #[must_use]
    pub fn point(&self, from_low: f64) -> Xy {
        let [low, _] = &self.ends;
        Xy::new(
            low.position.x + from_low * self.along.x,
            low.position.y + from_low * self.along.y,
        )
    }

    /// The elevation of the centreline there; beyond an end, that of the end.
    #[must_use]
    pub fn elevation(&self, from_low: f64) -> f64 {
        let [low, high] = &self.ends;
        let share = (from_low / self.length).clamp(0.0, 1.0);
        low.elevation + share * (high.elevation - low.elevation)
    }

    /// Metres from the low end of a place so many metres inside (positive) or outside (negative)
    /// the runway, counted from one of the ends.
    #[must_use]
    pub fn from_low(&self, end: usize, inside: f64) -> f64 {
        if end == 0 {
            inside
        } else {
            self.length - inside
        }
    }

    /// The strip from one place of the centreline to another, following its elevation: up to three
    /// sections, as it is level beyond the ends.
    #[must_use]
    pub fn strip(&self, from: f64, to: f64, half_width: f64) -> Vec<Ribbon> {
        let (from, to) = (from.min(to), from.max(to));
        let turns = [
            from,
            0.0_f64.clamp(from, to),
            self.length.clamp(from, to),
            to,
        ];
        turns
            .windows(2)
            .filter_map(|pair| match pair {
                [start, end] if end > start => Some(Ribbon {
                    origin: self.point(*start),
                    along: self.along,
                    length: end - start,
                    half_width,
                    divergence: 0.0,
                    level: self.elevation(*start),
                    slope: (self.elevation(*end) - self.elevation(*start)) / (end - start),
                }),
                _ => None,
            })
            .collect()
    }
}
