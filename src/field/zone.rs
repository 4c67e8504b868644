//! Regions of the plane as a signed measure: negative inside, 0 on the edge, positive outside.
//!
//! A region is a leaf (all within a reach of convex sets, or one convex polygon) or the union,
//! difference or widening of others. The measure is right in its sign, changes by no more than
//! the way moved, and outside is never more than the true distance to the region. Boundary rule:
//! the edge belongs to the region, of a difference too. As a [`Field`] its minimum over an area says
//! how far the area reaches in, its maximum how far it stays out; as a [`Zone`] it confines a limit.
//!
//! Not here: what aerodrome or rule a region stands for (see [`crate::zone`]).

use crate::field::combine::{Side, Zone};
use crate::field::convex::Convex;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// Below this a cell is not called outside, metres: the rounding of a few square roots.
const SLACK_M: f64 = 1e-9;

/// A region of the plane.
#[derive(Clone, Debug, PartialEq)]
pub enum Region {
    /// All within `reach` metres of any of some convex sets; the measure is the distance to the
    /// nearest of them less the reach. Nothing where there is no set.
    Buffer {
        /// The sets.
        sets: Vec<Convex>,
        /// The reach, metres, its edge included.
        reach: f64,
    },
    /// A convex polygon; the measure is the signed distance from its edge. Of a set without area it
    /// is the distance.
    Polygon(Convex),
    /// All that is in any of some regions; nothing for none.
    Union(Vec<Region>),
    /// All of the first that is not inside the second; the edge of the second stays.
    Difference(Box<Region>, Box<Region>),
    /// The region and all that its measure puts within so many metres of it (narrowed when negative).
    Widened(Box<Region>, f64),
}

impl Region {
    /// The signed measure at a point, metres; `+∞` where there is nothing to measure from.
    #[must_use]
    pub fn signed(&self, point: Xy) -> f64 {
        match self {
            Self::Buffer { sets, reach } => {
                sets.iter()
                    .map(|set| set.distance(point))
                    .fold(f64::INFINITY, f64::min)
                    - reach
            }
            Self::Polygon(set) => set.signed_distance(point),
            Self::Union(parts) => parts
                .iter()
                .map(|part| part.signed(point))
                .fold(f64::INFINITY, f64::min),
            Self::Difference(of, less) => of.signed(point).max(-less.signed(point)),
            Self::Widened(region, by) => region.signed(point) - by,
        }
    }

    /// Bounds on the measure over a cell: least and greatest.
    fn bounds(&self, cell: &Cell) -> (f64, f64) {
        match self {
            Self::Buffer { sets, reach } => {
                let (least, most) =
                    sets.iter()
                        .fold((f64::INFINITY, f64::INFINITY), |(least, most), set| {
                            let farthest = greatest_at_corner(cell, |corner| set.distance(corner));
                            (least.min(set.separation(cell)), most.min(farthest))
                        });
                (least.min(most) - reach, most - reach)
            }
            // The signed distance from a convex set is convex, so it is greatest at a corner.
            Self::Polygon(set) => {
                let most = greatest_at_corner(cell, |corner| set.signed_distance(corner));
                (set.least_signed_distance(cell).min(most), most)
            }
            Self::Union(parts) => parts.iter().map(|part| part.bounds(cell)).fold(
                (f64::INFINITY, f64::INFINITY),
                |(least, most), (low, high)| (least.min(low), most.min(high)),
            ),
            Self::Difference(of, less) => {
                let ((of_low, of_high), (less_low, less_high)) =
                    (of.bounds(cell), less.bounds(cell));
                (of_low.max(-less_high), of_high.max(-less_low))
            }
            Self::Widened(region, by) => {
                let (low, high) = region.bounds(cell);
                (low - by, high - by)
            }
        }
    }

    /// No point of the region is farther than this from the origin of the plane, metres; −∞ where it
    /// is made from nothing.
    #[must_use]
    pub fn reach(&self) -> f64 {
        let farthest = |set: &Convex| {
            set.corners()
                .iter()
                .map(|corner| corner.distance(Xy::default()))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        match self {
            Self::Buffer { sets, reach } => {
                sets.iter().map(farthest).fold(f64::NEG_INFINITY, f64::max) + reach
            }
            Self::Polygon(set) => farthest(set),
            Self::Union(parts) => parts
                .iter()
                .map(Self::reach)
                .fold(f64::NEG_INFINITY, f64::max),
            Self::Difference(of, _) => of.reach(),
            Self::Widened(region, by) => region.reach() + by.max(0.0),
        }
    }

    /// The convex sets that the region is made from.
    #[must_use]
    pub fn sets(&self) -> Vec<&Convex> {
        match self {
            Self::Buffer { sets, .. } => sets.iter().collect(),
            Self::Polygon(set) => vec![set],
            Self::Union(parts) => parts.iter().flat_map(Self::sets).collect(),
            Self::Difference(of, less) => [of.sets(), less.sets()].concat(),
            Self::Widened(region, _) => region.sets(),
        }
    }
}

fn greatest_at_corner(cell: &Cell, value: impl Fn(Xy) -> f64) -> f64 {
    cell.corners()
        .iter()
        .map(|corner| value(*corner))
        .fold(f64::NEG_INFINITY, f64::max)
}

impl Field for Region {
    fn at(&self, point: Xy) -> f64 {
        self.signed(point)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let (low, high) = self.bounds(cell);
        Enclosure::between(low, high)
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: 0,
            member: None,
        }
    }
}

impl Zone for Region {
    fn holds(&self, point: Xy) -> bool {
        self.signed(point) <= 0.0
    }

    fn side(&self, cell: &Cell) -> Side {
        let (low, high) = self.bounds(cell);
        if high <= 0.0 {
            Side::Inside
        } else if low > SLACK_M {
            Side::Outside
        } else {
            Side::Unsure
        }
    }
}

/// The measure of a region turned round: positive inside. Its minimum over an area is minus the
/// greatest measure there, and the share at or above 0 is the share inside.
pub struct Turned<'a>(pub &'a Region);

impl Field for Turned<'_> {
    fn at(&self, point: Xy) -> f64 {
        -self.0.signed(point)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let (low, high) = self.0.bounds(cell);
        Enclosure::between(-high, -low)
    }

    fn governor(&self, point: Xy) -> Governor {
        self.0.governor(point)
    }
}
