//! A strip along a line of the plane that widens and rises: the shape of every surface along a
//! runway, and the transitional surfaces on its two sides.

use crate::field::surface::{Patch, Sheet};
use crate::frame::Xy;

/// One section of a strip, from its inner edge outward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ribbon {
    /// The middle of the inner edge.
    pub origin: Xy,
    /// The direction it runs in, of length 1.
    pub along: Xy,
    /// Its length, metres.
    pub length: f64,
    /// Half the width at the inner edge, metres.
    pub half_width: f64,
    /// How much each side moves out a metre.
    pub divergence: f64,
    /// Level at the inner edge, metres AMSL.
    pub level: f64,
    /// Rise a metre.
    pub slope: f64,
}

/// How far a transitional surface reaches sideways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Until {
    /// To where it has risen to a level, metres AMSL.
    Level(f64),
    /// So many metres from the edge it rises from.
    FromEdge(f64),
    /// So many metres from the centreline.
    FromCentreline(f64),
}

impl Ribbon {
    /// The point `s` metres along and `t` to the left.
    #[must_use]
    pub fn point(&self, s: f64, t: f64) -> Xy {
        Xy::new(
            self.origin.x + s * self.along.x - t * self.along.y,
            self.origin.y + s * self.along.y + t * self.along.x,
        )
    }

    /// Half the width `s` metres along.
    #[must_use]
    pub fn half_width_at(&self, s: f64) -> f64 {
        self.half_width + self.divergence * s
    }

    /// The level `s` metres along, metres AMSL.
    #[must_use]
    pub fn level_at(&self, s: f64) -> f64 {
        self.level + self.slope * s
    }

    /// The next section, from the outer edge of this one.
    #[must_use]
    pub fn then(&self, length: f64, divergence: f64, slope: f64) -> Self {
        Self {
            origin: self.point(self.length, 0.0),
            along: self.along,
            length,
            half_width: self.half_width_at(self.length),
            divergence,
            level: self.level_at(self.length),
            slope,
        }
    }

    /// The part of it between two distances along.
    #[must_use]
    pub fn between(&self, from: f64, to: f64) -> Self {
        Self {
            origin: self.point(from, 0.0),
            length: (to - from).max(0.0),
            half_width: self.half_width_at(from),
            level: self.level_at(from),
            ..*self
        }
    }

    /// How far along it reaches a level; none where it never does.
    #[must_use]
    pub fn reaches(&self, level: f64) -> Option<f64> {
        let along = (level - self.level) / self.slope;
        (along.is_finite() && (0.0..=self.length).contains(&along)).then_some(along)
    }

    /// Its own surface.
    #[must_use]
    pub fn deck(&self, slack: f64) -> Option<Patch> {
        let (near, far) = (self.half_width, self.half_width_at(self.length));
        let corners = vec![
            self.point(0.0, -near),
            self.point(self.length, -far),
            self.point(self.length, far),
            self.point(0.0, near),
        ];
        let gradient = Xy::new(self.slope * self.along.x, self.slope * self.along.y);
        Sheet::new(corners, self.origin, self.level, gradient, slack).map(Patch::Sheet)
    }

    /// The surfaces that rise by `slope` from its two sides, at right angles to its centreline.
    ///
    /// The level at a point is that of the side beside it plus the slope times the distance from
    /// that side: a plane.
    #[must_use]
    pub fn flanks(&self, slope: f64, until: Until, slack: f64) -> Vec<Patch> {
        // Where the side is already above the upper level there is no transitional surface.
        let (from, to) = match until {
            Until::Level(top) => {
                let turn = self.reaches(top);
                match (self.level <= top, self.level_at(self.length) <= top, turn) {
                    (true, true, _) => (0.0, self.length),
                    (true, false, Some(turn)) => (0.0, turn),
                    (false, true, Some(turn)) => (turn, self.length),
                    _ => return Vec::new(),
                }
            }
            Until::FromEdge(_) | Until::FromCentreline(_) => (0.0, self.length),
        };
        let outer = |s: f64| {
            let edge = self.half_width_at(s);
            match until {
                Until::Level(top) => edge + ((top - self.level_at(s)) / slope).max(0.0),
                Until::FromEdge(run) => edge + run,
                Until::FromCentreline(run) => run.max(edge),
            }
        };
        [1.0, -1.0]
            .into_iter()
            .filter_map(|side: f64| {
                let corners = vec![
                    self.point(from, side * self.half_width_at(from)),
                    self.point(from, side * outer(from)),
                    self.point(to, side * outer(to)),
                    self.point(to, side * self.half_width_at(to)),
                ];
                let forward = self.slope - slope * self.divergence;
                let gradient = Xy::new(
                    forward * self.along.x - side * slope * self.along.y,
                    forward * self.along.y + side * slope * self.along.x,
                );
                let anchor = self.point(0.0, side * self.half_width);
                Sheet::new(corners, anchor, self.level, gradient, slack).map(Patch::Sheet)
            })
            .collect()
    }
}
