//! The rule cap: a height above ground that a rule allows, in either vertical reference.

use crate::field::ground::Ground;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// A cap above ground: the same value everywhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapAboveGround {
    /// Number of the leaf in its expression.
    pub leaf: usize,
    /// The height allowed above ground, metres.
    pub height: f64,
}

impl Field for CapAboveGround {
    fn at(&self, _point: Xy) -> f64 {
        self.height
    }

    fn over(&self, _cell: &Cell) -> Enclosure {
        Enclosure::exactly(self.height)
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: self.leaf,
            member: None,
        }
    }
}

/// The same cap AMSL: the ground, less its accuracy, plus the height; undetermined where the
/// ground is unknown.
#[derive(Clone, Debug)]
pub struct CapAmsl<'a> {
    /// The cap.
    pub cap: CapAboveGround,
    /// The ground.
    pub ground: &'a Ground,
}

impl Field for CapAmsl<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.ground
            .lowest_at(point)
            .map_or(f64::NEG_INFINITY, |ground| ground + self.cap.height)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let Some(ground) = self.ground.over(cell) else {
            return Enclosure::UNDETERMINED;
        };
        let raise = self.cap.height - self.ground.accuracy();
        let bounds = Enclosure::between(ground.low + raise, ground.high + raise);
        if ground.has_unknown {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.cap.governor(point)
    }
}
