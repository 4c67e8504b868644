//! A level AMSL, the same everywhere, in either vertical reference: the floor of a volume.

use crate::field::ground::Ground;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// One altitude everywhere, metres AMSL.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Number of the leaf in its expression.
    pub leaf: usize,
    /// The altitude, metres AMSL.
    pub altitude: f64,
}

impl Field for Level {
    fn at(&self, _point: Xy) -> f64 {
        self.altitude
    }

    fn over(&self, _cell: &Cell) -> Enclosure {
        Enclosure::exactly(self.altitude)
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: self.leaf,
            member: None,
        }
    }
}

/// The same level above ground: less the ground and its accuracy; undetermined where the ground is
/// unknown, below 0 where the level is under the ground.
#[derive(Clone, Debug)]
pub struct LevelAboveGround<'a> {
    /// The level.
    pub level: Level,
    /// The ground.
    pub ground: &'a Ground,
}

impl Field for LevelAboveGround<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.ground
            .highest_at(point)
            .map_or(f64::NEG_INFINITY, |ground| self.level.altitude - ground)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let Some(ground) = self.ground.over(cell) else {
            return Enclosure::UNDETERMINED;
        };
        let top = self.level.altitude - self.ground.accuracy();
        let bounds = Enclosure::between(top - ground.high, top - ground.low);
        if ground.has_unknown {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.level.governor(point)
    }
}
