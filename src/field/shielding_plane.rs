//! The shielding planes of aerodrome practice: level behind an obstacle, falling towards the runway.
//!
//! From the top of a permanent obstacle a level plane runs away from the runway and a plane falls
//! towards it (ICAO Doc 9137 Part 6, chapter 2: 10 %; from memory). Sideways the planes reach no
//! farther than the obstacle is wide: lateral shielding is uncertain and taken as not given. Edges
//! belong to the planes; beside and beyond them nothing is shielded (`−∞`).

use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// An obstacle nearer to the runway's centreline than this has no direction to it, metres: the
/// accuracy of distances.
const LEAST_APART_M: f64 = 0.001;

/// The shielding planes of one obstacle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShieldingPlanes {
    leaf: usize,
    position: Xy,
    towards_runway: Xy,
    top: f64,
    slope: f64,
    half_width: f64,
    length: f64,
}

impl ShieldingPlanes {
    /// The planes of an obstacle at `position` with its trusted `top` (metres AMSL), falling by
    /// `slope` towards `runway`, within `half_width` metres sideways and `length` metres along.
    ///
    /// None where the obstacle stands within a millimetre of `runway`, or a number is not finite or is negative.
    #[must_use]
    pub fn new(
        leaf: usize,
        position: Xy,
        runway: Xy,
        top: f64,
        slope: f64,
        (half_width, length): (f64, f64),
    ) -> Option<Self> {
        let apart = position.distance(runway);
        let is_usable = apart >= LEAST_APART_M
            && [apart, top, slope, half_width, length]
                .iter()
                .all(|number| number.is_finite())
            && slope >= 0.0
            && half_width >= 0.0
            && length >= 0.0;
        is_usable.then(|| Self {
            leaf,
            position,
            towards_runway: Xy::new(
                (runway.x - position.x) / apart,
                (runway.y - position.y) / apart,
            ),
            top,
            slope,
            half_width,
            length,
        })
    }

    /// Metres towards the runway and to the left of that direction, from the obstacle.
    fn along_and_across(&self, point: Xy) -> (f64, f64) {
        let (dx, dy) = (point.x - self.position.x, point.y - self.position.y);
        let unit = self.towards_runway;
        (dx * unit.x + dy * unit.y, dy * unit.x - dx * unit.y)
    }

    fn level(&self, along: f64) -> f64 {
        self.top - self.slope * along.max(0.0)
    }
}

impl Field for ShieldingPlanes {
    fn at(&self, point: Xy) -> f64 {
        let (along, across) = self.along_and_across(point);
        if across.abs() <= self.half_width && along.abs() <= self.length {
            self.level(along)
        } else {
            f64::NEG_INFINITY
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let corners = cell.corners().map(|corner| self.along_and_across(corner));
        let least =
            |pick: fn(&(f64, f64)) -> f64| corners.iter().map(pick).fold(f64::INFINITY, f64::min);
        let greatest = |pick: fn(&(f64, f64)) -> f64| {
            corners.iter().map(pick).fold(f64::NEG_INFINITY, f64::max)
        };
        let (near, far) = (least(|c| c.0), greatest(|c| c.0));
        let (right, left) = (least(|c| c.1), greatest(|c| c.1));
        // A nanometre of doubt where an edge of the planes passes through a corner.
        let doubt = 1e-9;
        if near > self.length + doubt
            || far < -self.length - doubt
            || right > self.half_width + doubt
            || left < -self.half_width - doubt
        {
            return Enclosure::UNDETERMINED;
        }
        let bounds = Enclosure::between(
            self.level(far.min(self.length + doubt)),
            self.level(near.max(-self.length)),
        );
        let is_inside = far <= self.length - doubt
            && near >= -self.length + doubt
            && left <= self.half_width - doubt
            && right >= -self.half_width + doubt;
        if is_inside {
            bounds
        } else {
            bounds.or_undetermined()
        }
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: self.leaf,
            member: None,
        }
    }
}
