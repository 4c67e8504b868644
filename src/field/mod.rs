//! What a field is: a limit on height at every point, and an enclosure of it over every cell.
//!
//! A field is a function on the local plane with values in metres, in one vertical reference
//! (AMSL or above ground; the caller keeps them apart). `+∞`: no limit here. `−∞`: nothing is
//! known to be allowed here (uncovered, or the ground is unknown). NaN cannot be built.
//!
//! Every field keeps four laws, and one generic test asks them of each implementation:
//! - **enclosure**: `at(p)` lies in `over(cell)` for every point `p` of `cell`;
//! - **nesting**: the enclosure of a part of a cell lies in that of the cell;
//! - **shrinking**: away from jumps, the width of an enclosure goes to 0 with the size of its cell;
//! - **doubt**: when unsure, a limit is kept and a shield is dropped.
//!
//! A field never knows what a rule, a runway or a file is.

pub mod borders;
pub mod boundary;
pub mod cap;
pub mod combine;
pub mod convex;
pub mod covered;
pub mod floor;
pub mod ground;
pub mod level;
pub mod proximity;
pub mod shield;
pub mod shielding_plane;
pub mod surface;
pub mod tiles;
pub mod zone;

use crate::frame::Xy;

/// A triangle of the local plane: the region that a field is bounded over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    corners: [Xy; 3],
}

impl Cell {
    /// The triangle with these corners, in any order; it may be a sliver or a point.
    #[must_use]
    #[inline]
    pub const fn new(corners: [Xy; 3]) -> Self {
        Self { corners }
    }

    /// Its corners.
    #[must_use]
    #[inline]
    pub const fn corners(&self) -> &[Xy; 3] {
        &self.corners
    }

    /// Its centroid, a point of the cell.
    #[must_use]
    #[inline]
    pub fn centre(&self) -> Xy {
        let [a, b, c] = self.corners;
        Xy::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
    }

    /// The greatest distance of a point of the cell from its centroid, metres.
    #[must_use]
    #[inline]
    pub fn radius(&self) -> f64 {
        let centre = self.centre();
        self.corners
            .iter()
            .map(|corner| corner.distance(centre))
            .fold(0.0, f64::max)
    }

    /// Its longest edge, metres; no two points of the cell are farther apart.
    #[must_use]
    #[inline]
    pub fn diameter(&self) -> f64 {
        let [a, b, c] = self.corners;
        a.distance(b).max(b.distance(c)).max(c.distance(a))
    }

    /// Its area, square metres.
    #[must_use]
    #[inline]
    pub fn area(&self) -> f64 {
        let [a, b, c] = self.corners;
        ((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)).abs() / 2.0
    }

    /// The smallest and greatest x and y of the cell: `(west, south, east, north)`.
    #[must_use]
    #[inline]
    pub fn extent(&self) -> (f64, f64, f64, f64) {
        let [a, b, c] = self.corners;
        (
            a.x.min(b.x).min(c.x),
            a.y.min(b.y).min(c.y),
            a.x.max(b.x).max(c.x),
            a.y.max(b.y).max(c.y),
        )
    }

    /// The two halves of the cell, cut from the middle of its longest edge to the corner opposite,
    /// and that middle. The cut is deterministic: of equal edges the first is taken.
    #[must_use]
    #[inline]
    pub fn halves(&self) -> ([Self; 2], Xy) {
        let [a, b, c] = self.corners;
        let (ab, bc, ca) = (a.distance(b), b.distance(c), c.distance(a));
        let (from, to, apex) = if ab >= bc && ab >= ca {
            (a, b, c)
        } else if bc >= ca {
            (b, c, a)
        } else {
            (c, a, b)
        };
        let middle = from.towards(to, 0.5);
        (
            [
                Self::new([from, middle, apex]),
                Self::new([middle, to, apex]),
            ],
            middle,
        )
    }
}

/// Bounds on a field over a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Enclosure {
    /// No value in the cell is below this; `−∞` when some point may be undetermined.
    pub low: f64,
    /// No *determined* value (one above `−∞`) in the cell is below this; `+∞` when every point of
    /// the cell is undetermined.
    pub determined_low: f64,
    /// No value in the cell is above this.
    pub high: f64,
}

impl Enclosure {
    /// Of a field that has the one value `value` all over the cell.
    #[must_use]
    pub const fn exactly(value: f64) -> Self {
        Self::between(value, value)
    }

    /// Of a field with determined values from `low` to `high`.
    #[must_use]
    pub const fn between(low: f64, high: f64) -> Self {
        Self {
            low,
            determined_low: low,
            high,
        }
    }

    /// Of a field that is undetermined all over the cell.
    pub const UNDETERMINED: Self = Self {
        low: f64::NEG_INFINITY,
        determined_low: f64::INFINITY,
        high: f64::NEG_INFINITY,
    };

    /// The same, where some points of the cell may be undetermined besides.
    #[must_use]
    pub const fn or_undetermined(self) -> Self {
        Self {
            low: f64::NEG_INFINITY,
            ..self
        }
    }
}

/// Who sets the value of a field at a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Governor {
    /// The leaf of the expression, by the number it was built with.
    pub leaf: usize,
    /// The member of that leaf (which shield), if it has members and one governs.
    pub member: Option<usize>,
}

/// A limit on height over the plane. Implementers keep the four laws of this module.
pub trait Field: Send + Sync {
    /// The value at a point.
    fn at(&self, point: Xy) -> f64;

    /// Bounds on the value over a cell.
    fn over(&self, cell: &Cell) -> Enclosure;

    /// Who sets the value at a point.
    fn governor(&self, point: Xy) -> Governor;
}
