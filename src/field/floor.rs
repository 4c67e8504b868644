//! The floors of airspace volumes as one limit: inside the outline of a volume nothing is allowed
//! above its floor, and where a floor is not known, nothing is known to be allowed.
//!
//! The outline belongs to the volume. A floor above ground follows the ground, which is taken at its
//! lowest for an altitude; an altitude is taken above the ground at its highest.

use crate::field::boundary::Boundary;
use crate::field::combine::{Side, Zone};
use crate::field::ground::Ground;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// A volume from its floor up.
#[derive(Clone, Debug)]
pub struct FloorVolume {
    /// Its outline.
    pub boundary: Boundary,
    /// Its floor.
    pub floor: Floor,
}

/// A floor, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Floor {
    /// A height above ground.
    AboveGround(f64),
    /// An altitude AMSL.
    Amsl(f64),
    /// Not known.
    Undetermined,
}

/// What heights of a field are counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Vertical {
    /// Mean sea level.
    Amsl,
    /// The ground.
    AboveGround,
}

/// The floors of several volumes; members are their indices. `+∞` outside all of them.
#[derive(Clone, Debug)]
pub struct Floors<'a> {
    /// Number of the leaf in its expression.
    pub leaf: usize,
    /// The volumes.
    pub volumes: &'a [FloorVolume],
    /// The ground.
    pub ground: &'a Ground,
    /// What the values are counted from.
    pub vertical: Vertical,
}

impl Floors<'_> {
    /// A floor in the reference of the field, for ground between two elevations.
    fn range(&self, floor: Floor, ground: Option<(f64, f64)>) -> Option<(f64, f64)> {
        let accuracy = self.ground.accuracy();
        match (floor, self.vertical) {
            (Floor::AboveGround(height), Vertical::AboveGround) => Some((height, height)),
            (Floor::Amsl(altitude), Vertical::Amsl) => Some((altitude, altitude)),
            (Floor::AboveGround(height), Vertical::Amsl) => {
                ground.map(|(low, high)| (low - accuracy + height, high - accuracy + height))
            }
            (Floor::Amsl(altitude), Vertical::AboveGround) => {
                let top = altitude - accuracy;
                ground.map(|(low, high)| (top - high, top - low))
            }
            (Floor::Undetermined, _) => None,
        }
    }

    fn needs_ground(&self, floor: Floor) -> bool {
        matches!(
            (floor, self.vertical),
            (Floor::AboveGround(_), Vertical::Amsl) | (Floor::Amsl(_), Vertical::AboveGround)
        )
    }

    fn value(&self, floor: Floor, point: Xy) -> f64 {
        let ground = self
            .ground
            .known_at(point)
            .map(|range| (range.low, range.high));
        self.range(floor, ground)
            .map_or(f64::NEG_INFINITY, |(low, _)| low)
    }

    fn bounds(&self, floor: Floor, cell: &Cell) -> Enclosure {
        let ground = self.ground.over(cell);
        let Some((low, high)) = self.range(floor, ground.map(|range| (range.low, range.high)))
        else {
            return Enclosure::UNDETERMINED;
        };
        let bounds = Enclosure::between(low, high);
        if self.needs_ground(floor) && ground.is_some_and(|range| range.has_unknown) {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }
}

impl Field for Floors<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.volumes
            .iter()
            .filter(|volume| (&volume.boundary).holds(point))
            .map(|volume| self.value(volume.floor, point))
            .fold(f64::INFINITY, f64::min)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let mut all = Enclosure::exactly(f64::INFINITY);
        for volume in self.volumes {
            let side = (&volume.boundary).side(cell);
            if side == Side::Outside {
                continue;
            }
            let mut one = self.bounds(volume.floor, cell);
            if side == Side::Unsure {
                one.high = f64::INFINITY;
            }
            all.low = all.low.min(one.low);
            all.determined_low = all.determined_low.min(one.determined_low);
            all.high = all.high.min(one.high);
        }
        if all.high == f64::NEG_INFINITY {
            Enclosure::UNDETERMINED
        } else {
            all
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        let member = self
            .volumes
            .iter()
            .enumerate()
            .filter(|(_, volume)| (&volume.boundary).holds(point))
            .map(|(member, volume)| (member, self.value(volume.floor, point)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(member, _)| member);
        Governor {
            leaf: self.leaf,
            member,
        }
    }
}
