//! Nearness to a set of the plane as a field: minus the distance, so that its minimum over an area
//! is minus the farthest distance of the area from the set.

use crate::field::convex::Convex;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// Minus the distance to the nearest of several convex sets, metres; `−∞` for no set.
pub struct Proximity(pub Vec<Convex>);

impl Proximity {
    fn distance(&self, point: Xy) -> f64 {
        self.0
            .iter()
            .map(|set| set.distance(point))
            .fold(f64::INFINITY, f64::min)
    }
}

impl Field for Proximity {
    fn at(&self, point: Xy) -> f64 {
        -self.distance(point)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        if self.0.is_empty() {
            return Enclosure::UNDETERMINED;
        }
        let (centre, radius) = (cell.centre(), cell.radius());
        // No set farther off than this is the nearest of any point of the cell.
        let enough = self
            .0
            .iter()
            .map(|set| set.distance(centre))
            .fold(f64::INFINITY, f64::min)
            + 2.0 * radius;
        let (mut nearest, mut farthest) = (f64::INFINITY, f64::INFINITY);
        for set in &self.0 {
            if set.least_from(centre, 0.0) > enough {
                continue;
            }
            nearest = nearest.min(set.separation(cell));
            farthest = farthest.min(
                cell.corners()
                    .iter()
                    .map(|corner| set.distance(*corner))
                    .fold(0.0, f64::max),
            );
        }
        Enclosure::between(-farthest, -nearest.min(farthest))
    }

    fn governor(&self, point: Xy) -> Governor {
        let member = self
            .0
            .iter()
            .enumerate()
            .min_by(|(_, a), (_, b)| a.distance(point).total_cmp(&b.distance(point)))
            .map(|(index, _)| index);
        Governor { leaf: 0, member }
    }
}
