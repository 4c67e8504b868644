//! Convex sets of the plane (a point, a segment, a convex polygon) and the distance to them.
//!
//! The distance to a convex set is a convex function, so over a triangle it is greatest at a
//! corner: the bounds of the fields built on it are exact. On which side of a line a point lies is
//! decided exactly (adaptive predicates of J. R. Shewchuk, doi:10.1007/PL00009321, through `geo`):
//! by the sign of a rounded product, a triangle that is all but flat would hold far points of its
//! own line.

pub use geo::kernels::Orientation;
use geo::kernels::{Kernel, RobustKernel};
use smallvec::{SmallVec, smallvec};

use crate::field::Cell;
use crate::frame::Xy;

/// A convex set: one point, two ends of a segment, or the corners of a convex polygon, anticlockwise.
#[derive(Debug, PartialEq)]
pub struct Convex {
    corners: SmallVec<[Xy; 4]>,
    centre: Xy,
    radius: f64,
    is_flat: bool,
}

impl Clone for Convex {
    /// The corners are copied at once: a derived copy asks for room before each of them.
    fn clone(&self) -> Self {
        Self {
            corners: SmallVec::from_slice(&self.corners),
            ..*self
        }
    }
}

impl Convex {
    /// A single point.
    #[must_use]
    pub fn point(at: Xy) -> Self {
        Self::build(smallvec![at])
    }

    /// A segment.
    #[must_use]
    pub fn segment(from: Xy, to: Xy) -> Self {
        Self::build(smallvec![from, to])
    }

    /// A triangle, its corners in any order.
    #[must_use]
    pub fn triangle([a, b, c]: [Xy; 3]) -> Self {
        match side(a, b, c) {
            Orientation::Clockwise => Self::build(smallvec![a, c, b]),
            Orientation::CounterClockwise => Self::build(smallvec![a, b, c]),
            // Flat: the segments between its corners, none of which has an inside.
            Orientation::Collinear => Self {
                is_flat: true,
                ..Self::build(smallvec![a, b, c])
            },
        }
    }

    /// The convex hull of some points; one point or a segment where they span no more.
    ///
    /// Andrew's monotone chain (A. M. Andrew, "Another efficient algorithm for convex hulls in two
    /// dimensions", Information Processing Letters 9, 1979; from memory).
    #[must_use]
    pub fn hull(points: &[Xy]) -> Self {
        let mut sorted: Vec<Xy> = points.to_vec();
        sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        sorted.dedup();
        if sorted.len() < 3 {
            return Self::build(sorted.into());
        }
        let mut corners = half_hull(sorted.iter().copied());
        corners.pop();
        let mut upper = half_hull(sorted.iter().rev().copied());
        upper.pop();
        corners.append(&mut upper);
        Self::build(corners.into())
    }

    /// A convex polygon, its corners anticlockwise; a point or a segment for one or two.
    #[must_use]
    pub fn polygon(corners: &[Xy]) -> Self {
        Self::build(SmallVec::from_slice(corners))
    }

    fn build(corners: SmallVec<[Xy; 4]>) -> Self {
        let count = corners.len() as f64;
        let centre = Xy::new(
            corners.iter().map(|corner| corner.x).sum::<f64>() / count,
            corners.iter().map(|corner| corner.y).sum::<f64>() / count,
        );
        let radius = corners
            .iter()
            .map(|corner| corner.distance(centre))
            .fold(0.0, f64::max);
        Self {
            corners,
            centre,
            radius,
            is_flat: count < 3.0,
        }
    }

    /// Its corners.
    #[must_use]
    pub fn corners(&self) -> &[Xy] {
        &self.corners
    }

    /// A point in its middle, and how far the set spreads around that.
    #[must_use]
    #[inline]
    pub const fn circle(&self) -> (Xy, f64) {
        (self.centre, self.radius)
    }

    /// The point of the set nearest to `point`.
    #[must_use]
    #[inline]
    pub fn nearest(&self, point: Xy) -> Xy {
        match self.corners.as_slice() {
            [] => point,
            [only] => *only,
            [from, to] => nearest_on_segment(*from, *to, point),
            corners => self.nearest_of_polygon(corners, point),
        }
    }

    fn nearest_of_polygon(&self, corners: &[Xy], point: Xy) -> Xy {
        let Some(last) = corners.last() else {
            return point;
        };
        let mut from = *last;
        let (mut best, mut least) = (point, f64::INFINITY);
        for &to in corners {
            // Only an edge that the point is beyond can hold the nearest; of one inside all, itself.
            if !self.is_flat && side(from, to, point) != Orientation::Clockwise {
                from = to;
                continue;
            }
            let near = nearest_on_segment(from, to, point);
            let (x, y) = (near.x - point.x, near.y - point.y);
            let squared = x * x + y * y;
            if squared < least {
                (best, least) = (near, squared);
            }
            from = to;
        }
        best
    }

    /// Distance of a point from the set, metres; 0 inside.
    #[must_use]
    #[inline]
    pub fn distance(&self, point: Xy) -> f64 {
        self.nearest(point).distance(point)
    }

    /// The signed distance of a point from the edge of the set, metres: negative inside, by the depth
    /// below the nearest edge; of a point or a segment, the distance.
    #[must_use]
    pub fn signed_distance(&self, point: Xy) -> f64 {
        match self.depth(point) {
            Some(depth) if depth >= 0.0 => -depth,
            _ => self.distance(point),
        }
    }

    /// A bound that no signed distance in the cell is below; exact where the cell is apart.
    #[must_use]
    pub fn least_signed_distance(&self, cell: &Cell) -> f64 {
        let apart = self.separation(cell);
        if apart > 0.0 || self.is_flat {
            return apart;
        }
        // Inside, the signed distance is the greatest of the distances above the edges' lines, each
        // of them least at a corner of the cell.
        self.edges()
            .filter_map(|(from, to)| {
                cell.corners()
                    .iter()
                    .filter_map(|corner| left_of(from, to, *corner))
                    .map(|left| -left)
                    .reduce(f64::min)
            })
            .fold(f64::NEG_INFINITY, f64::max)
            .min(0.0)
    }

    /// How far a point lies to the left of every edge, metres; none for a point or a segment.
    fn depth(&self, point: Xy) -> Option<f64> {
        if self.is_flat {
            return None;
        }
        self.edges()
            .filter_map(|(from, to)| left_of(from, to, point))
            .reduce(f64::min)
    }

    /// Whether every point of the cell is within `reach` of the set: [`Self::reaches`] where no more is
    /// asked. `centre` and `radius` are the cell's.
    #[must_use]
    #[inline]
    pub fn reaches_all(&self, cell: &Cell, centre: Xy, radius: f64, reach: f64) -> bool {
        let from_middle = self.centre.distance(centre);
        if from_middle - self.radius - SLACK_M > reach {
            return false;
        }
        if from_middle + radius + 2.0 * SLACK_M <= reach {
            return true;
        }
        let of_centre = self.distance(centre);
        of_centre + radius + SLACK_M <= reach
            || (of_centre <= reach
                && (cell.corners().iter()).all(|corner| self.is_within(*corner, reach)))
    }

    /// Whether any point of the cell may be within `reach` of the set: never false when one is.
    #[must_use]
    #[inline]
    pub fn may_reach(&self, cell: &Cell, centre: Xy, radius: f64, reach: f64) -> bool {
        self.reaches(cell, centre, radius, reach) != Reaches::Nothing
    }

    /// Whether a point is within `reach` of the set, the edge of the reach included.
    #[must_use]
    #[inline]
    pub fn is_within(&self, point: Xy, reach: f64) -> bool {
        // The middle is a point of the set, and no other is farther from it than the set spreads.
        let from_middle = self.centre.distance(point);
        from_middle + SLACK_M <= reach
            || (from_middle - self.radius - SLACK_M <= reach && self.distance(point) <= reach)
    }

    /// How much of the cell is within `reach` of the set. Bounding circles decide most cases, then the
    /// distance of the centre, then the line across the way from the centre to the set, which the set
    /// lies beyond, then the distances of the corners, and the exact separation the rest.
    #[must_use]
    pub fn reaches(&self, cell: &Cell, centre: Xy, radius: f64, reach: f64) -> Reaches {
        let from_middle = self.centre.distance(centre);
        if from_middle - self.radius - radius - SLACK_M > reach {
            return Reaches::Nothing;
        }
        if from_middle + radius + 2.0 * SLACK_M <= reach {
            return Reaches::All;
        }
        let nearest = self.nearest(centre);
        let of_centre = nearest.distance(centre);
        if of_centre + radius + SLACK_M <= reach {
            return Reaches::All;
        }
        if of_centre - radius - 2.0 * SLACK_M > reach {
            return Reaches::Nothing;
        }
        let corners = cell.corners();
        if of_centre <= reach {
            return match corners.iter().all(|corner| self.is_within(*corner, reach)) {
                true => Reaches::All,
                false => Reaches::Some,
            };
        }
        if of_centre > reach.max(STEADY_M) {
            let beyond = |corner: &Xy| {
                ((corner.x - nearest.x) * (centre.x - nearest.x)
                    + (corner.y - nearest.y) * (centre.y - nearest.y))
                    / of_centre
            };
            let least = corners.iter().map(beyond).fold(f64::INFINITY, f64::min);
            if least - ACROSS_SLACK_M > reach {
                return Reaches::Nothing;
            }
        }
        if (corners.iter()).any(|corner| self.is_within(*corner, reach + SLACK_M)) {
            return Reaches::Some;
        }
        // The corners are out of reach, so the nearest point of the cell is one of its edges', or the
        // cell holds a corner of the set.
        let triangle = Self::triangle(*corners);
        let comes_near = |corner: &Xy| triangle.is_within(*corner, reach + SLACK_M);
        if self.corners.iter().any(comes_near) || self.crosses(&triangle) {
            Reaches::Some
        } else {
            Reaches::Nothing
        }
    }

    /// A distance that no point of the set comes nearer to a disc than, metres; below 0 when they
    /// may overlap. Much quicker than the distance.
    #[must_use]
    #[inline]
    pub fn least_from(&self, centre: Xy, radius: f64) -> f64 {
        self.centre.distance(centre) - self.radius - radius - SLACK_M
    }

    /// The least distance of a point of the cell from the set, metres; 0 when they touch.
    #[must_use]
    pub fn separation(&self, cell: &Cell) -> f64 {
        let triangle = Self::triangle(*cell.corners());
        let of_cell = cell.corners().iter().map(|corner| self.distance(*corner));
        let mut least = of_cell.fold(f64::INFINITY, f64::min);
        for corner in &self.corners {
            if least == 0.0 {
                return 0.0;
            }
            least = least.min(triangle.distance(*corner));
        }
        if least > 0.0 && self.crosses(&triangle) {
            return 0.0;
        }
        least
    }

    /// The least distance of a point of a segment from the set, metres; 0 when they touch.
    #[must_use]
    pub fn distance_to_segment(&self, from: Xy, to: Xy) -> f64 {
        let of_corner = |corner: &Xy| nearest_on_segment(from, to, *corner).distance(*corner);
        let of_corners = self.corners.iter().map(of_corner);
        let least = of_corners.fold(self.distance(from).min(self.distance(to)), f64::min);
        if least > 0.0 && self.edges().any(|edge| properly_cross(edge, (from, to))) {
            return 0.0;
        }
        least
    }

    /// The number of its corner that is nearest to every point of a cell, if one is.
    #[must_use]
    pub fn nearest_corner(&self, cell: &Cell) -> Option<usize> {
        let corners = self.corners.as_slice();
        match corners {
            [] => None,
            [_] => Some(0),
            _ if self.is_flat && corners.len() > 2 => None,
            _ => {
                let count = corners.len();
                let at = |number: usize| corners.get(number % count).copied().unwrap_or_default();
                (0..count).find(|&number| {
                    let here = at(number);
                    let is_behind = |other: Xy| {
                        (cell.corners().iter()).all(|point| along(here, other, *point) <= 0.0)
                    };
                    is_behind(at(number + count - 1)) && is_behind(at(number + 1))
                })
            }
        }
    }

    /// Whether an edge crosses one of the other set at a point inside both.
    fn crosses(&self, other: &Self) -> bool {
        self.edges()
            .any(|one| other.edges().any(|other| properly_cross(one, other)))
    }

    /// Whether it has no inside: a point, a segment, or corners on one line.
    #[must_use]
    pub const fn is_flat(&self) -> bool {
        self.is_flat
    }

    /// Its edges: none for a point, one for a segment.
    #[inline]
    pub fn edges(&self) -> impl Iterator<Item = (Xy, Xy)> + '_ {
        let corners = self.corners.as_slice();
        let closing = match corners {
            [first, .., last] if corners.len() > 2 => Some((*last, *first)),
            _ => None,
        };
        corners
            .windows(2)
            .filter_map(|pair| match pair {
                [from, to] => Some((*from, *to)),
                _ => None,
            })
            .chain(closing)
    }
}

/// How much of a cell something reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reaches {
    /// Every point of it.
    All,
    /// Some points, or perhaps none.
    Some,
    /// No point.
    Nothing,
}

/// The corners of the hull of sorted points that are passed turning left.
fn half_hull(points: impl Iterator<Item = Xy>) -> Vec<Xy> {
    let mut chain: Vec<Xy> = Vec::new();
    for point in points {
        while let [.., before, last] = chain.as_slice()
            && side(*before, *last, point) != Orientation::CounterClockwise
        {
            chain.pop();
        }
        chain.push(point);
    }
    chain
}

/// How far a point lies along the direction from one point to another, times their distance.
#[must_use]
#[inline]
pub fn along(from: Xy, to: Xy, point: Xy) -> f64 {
    (point.x - from.x) * (to.x - from.x) + (point.y - from.y) * (to.y - from.y)
}

/// How far a point lies to the left of the line through two others, metres; none where they coincide.
fn left_of(from: Xy, to: Xy, point: Xy) -> Option<f64> {
    let length = from.distance(to);
    let twice_area = (to.x - from.x) * (point.y - from.y) - (to.y - from.y) * (point.x - from.x);
    (length > 0.0).then(|| twice_area / length)
}

/// Covers the rounding of the few square roots in a distance, metres: a nanometre.
const SLACK_M: f64 = 1e-9;

/// From no nearer than this the way to the set, metres, has a direction that rounding does not turn by
/// more than [`ACROSS_SLACK_M`] over the widest area.
const STEADY_M: f64 = 1.0;

/// Covers the rounding of that direction, metres.
const ACROSS_SLACK_M: f64 = 1e-6;

/// Whether two segments cross at a point inside both.
fn properly_cross((a, b): (Xy, Xy), (c, d): (Xy, Xy)) -> bool {
    let parts = |one: Orientation, other: Orientation| {
        one != other && one != Orientation::Collinear && other != Orientation::Collinear
    };
    parts(side(a, b, c), side(a, b, d)) && parts(side(c, d, a), side(c, d, b))
}

/// How `a`, `b`, `c` turn, exactly.
#[must_use]
#[inline]
pub fn side(a: Xy, b: Xy, c: Xy) -> Orientation {
    let (left, right) = ((a.x - c.x) * (b.y - c.y), (a.y - c.y) * (b.x - c.x));
    let turn = left - right;
    if turn.abs() > CERTAIN_TURN * (left.abs() + right.abs()) {
        return if turn > 0.0 {
            Orientation::CounterClockwise
        } else {
            Orientation::Clockwise
        };
    }
    exact_side(a, b, c)
}

/// A turn of more than this share of its two products has the right sign: (3 + 16 ε) ε with ε = 2⁻⁵³
/// (Shewchuk, as above), rounded up.
const CERTAIN_TURN: f64 = 3.4e-16;

fn exact_side(a: Xy, b: Xy, c: Xy) -> Orientation {
    let coord = |point: Xy| geo::Coord {
        x: point.x,
        y: point.y,
    };
    RobustKernel::orient2d(coord(a), coord(b), coord(c))
}

/// Whether a ray from a point to the east crosses a segment, its higher end left out.
#[must_use]
#[inline]
pub fn is_east_of(from: Xy, to: Xy, point: Xy) -> bool {
    (from.y > point.y) != (to.y > point.y)
        && point.x < from.x + (to.x - from.x) * (point.y - from.y) / (to.y - from.y)
}

/// The point of a segment nearest to `point`.
#[must_use]
#[inline]
pub fn nearest_on_segment(from: Xy, to: Xy, point: Xy) -> Xy {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length_squared = dx * dx + dy * dy;
    if length_squared == 0.0 {
        return from;
    }
    let share = ((point.x - from.x) * dx + (point.y - from.y) * dy) / length_squared;
    from.towards(to, share.clamp(0.0, 1.0))
}
