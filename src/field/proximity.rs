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
        let nearest = self
            .0
            .iter()
            .map(|set| set.separation(cell))
            .fold(f64::INFINITY, f64::min);
        let farthest = self
            .0
            .iter()
            .map(|set| {
                cell.corners()
                    .iter()
                    .map(|corner| set.distance(*corner))
                    .fold(0.0, f64::max)
            })
            .fold(f64::INFINITY, f64::min);
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
