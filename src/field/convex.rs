//! Convex sets of the plane (a point, a segment, a convex polygon) and the distance to them.
//!
//! The distance to a convex set is a convex function, so over a triangle it is greatest at a
//! corner: the bounds of the fields built on it are exact. On which side of a line a point lies is
//! decided exactly (adaptive predicates of J. R. Shewchuk, doi:10.1007/PL00009321, through `geo`):
//! by the sign of a rounded product, a triangle that is all but flat would hold far points of its
//! own line.

use geo::kernels::{Kernel, Orientation, RobustKernel};

use crate::field::Cell;
use crate::frame::Xy;

/// A convex set: one point, two ends of a segment, or the corners of a convex polygon, anticlockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Convex {
    corners: Vec<Xy>,
    centre: Xy,
    radius: f64,
    is_flat: bool,
}

impl Convex {
    /// A single point.
    #[must_use]
    pub fn point(at: Xy) -> Self {
        Self::build(vec![at])
    }

    /// A segment.
    #[must_use]
    pub fn segment(from: Xy, to: Xy) -> Self {
        Self::build(vec![from, to])
    }

    /// A triangle, its corners in any order.
    #[must_use]
    pub fn triangle([a, b, c]: [Xy; 3]) -> Self {
        match side(a, b, c) {
            Orientation::Clockwise => Self::build(vec![a, c, b]),
            Orientation::CounterClockwise => Self::build(vec![a, b, c]),
            // Flat: the segments between its corners, none of which has an inside.
            Orientation::Collinear => Self {
                is_flat: true,
                ..Self::build(vec![a, b, c])
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
            return Self::build(sorted);
        }
        let mut corners = half_hull(sorted.iter().copied());
        corners.pop();
        let mut upper = half_hull(sorted.iter().rev().copied());
        upper.pop();
        corners.append(&mut upper);
        Self::build(corners)
    }

    /// A convex polygon, its corners anticlockwise; a point or a segment for one or two.
    #[must_use]
    pub fn polygon(corners: Vec<Xy>) -> Self {
        Self::build(corners)
    }

    fn build(corners: Vec<Xy>) -> Self {
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

    /// The point of the set nearest to `point`.
    #[must_use]
    pub fn nearest(&self, point: Xy) -> Xy {
        match self.corners.as_slice() {
            [] => point,
            [only] => *only,
            [from, to] => nearest_on_segment(*from, *to, point),
            _ => {
                if !self.is_flat
                    && self
                        .edges()
                        .all(|(from, to)| side(from, to, point) != Orientation::Clockwise)
                {
                    return point;
                }
                self.edges()
                    .map(|(from, to)| nearest_on_segment(from, to, point))
                    .min_by(|a, b| a.distance(point).total_cmp(&b.distance(point)))
                    .unwrap_or(point)
            }
        }
    }

    /// Distance of a point from the set, metres; 0 inside.
    #[must_use]
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

    /// Whether every point of the cell is within `reach` of the set. `centre` is the cell's: where
    /// it is surely too far, nothing else is looked at.
    #[must_use]
    pub fn reaches_all(&self, cell: &Cell, centre: Xy, reach: f64) -> bool {
        self.least_from(centre, 0.0) <= reach
            && cell
                .corners()
                .iter()
                .all(|corner| self.distance(*corner) <= reach)
    }

    /// Whether any point of the cell may be within `reach` of the set: never false when one is.
    ///
    /// `centre` and `radius` are the cell's. The bounding circles decide most cases, the exact
    /// separation the rest.
    #[must_use]
    pub fn may_reach(&self, cell: &Cell, centre: Xy, radius: f64, reach: f64) -> bool {
        if self.least_from(centre, radius) > reach {
            return false;
        }
        self.distance(centre) <= reach || self.separation(cell) <= reach + SLACK_M
    }

    /// A distance that no point of the set comes nearer to a disc than, metres; below 0 when they
    /// may overlap. Much quicker than the distance.
    #[must_use]
    pub fn least_from(&self, centre: Xy, radius: f64) -> f64 {
        self.centre.distance(centre) - self.radius - radius - SLACK_M
    }

    /// The least distance of a point of the cell from the set, metres; 0 when they touch.
    #[must_use]
    pub fn separation(&self, cell: &Cell) -> f64 {
        let triangle = Self::triangle(*cell.corners());
        if cell
            .corners()
            .iter()
            .any(|&corner| self.distance(corner) == 0.0)
            || self
                .corners
                .iter()
                .any(|&corner| triangle.distance(corner) == 0.0)
            || self
                .edges()
                .any(|one| triangle.edges().any(|other| properly_cross(one, other)))
        {
            return 0.0;
        }
        let from_cell = cell.corners().iter().map(|&corner| self.distance(corner));
        let from_set = self.corners.iter().map(|&corner| triangle.distance(corner));
        from_cell.chain(from_set).fold(f64::INFINITY, f64::min)
    }

    /// Its edges: none for a point, one for a segment.
    fn edges(&self) -> impl Iterator<Item = (Xy, Xy)> + '_ {
        let count = match self.corners.len() {
            0 | 1 => 0,
            2 => 1,
            many => many,
        };
        self.corners
            .iter()
            .copied()
            .zip(self.corners.iter().copied().cycle().skip(1))
            .take(count)
    }
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

/// How far a point lies to the left of the line through two others, metres; none where they coincide.
fn left_of(from: Xy, to: Xy, point: Xy) -> Option<f64> {
    let length = from.distance(to);
    let twice_area = (to.x - from.x) * (point.y - from.y) - (to.y - from.y) * (point.x - from.x);
    (length > 0.0).then(|| twice_area / length)
}

/// Covers the rounding of the few square roots in a distance, metres: a nanometre.
const SLACK_M: f64 = 1e-9;

/// Whether two segments cross at a point inside both.
fn properly_cross((a, b): (Xy, Xy), (c, d): (Xy, Xy)) -> bool {
    let parts = |one: Orientation, other: Orientation| {
        one != other && one != Orientation::Collinear && other != Orientation::Collinear
    };
    parts(side(a, b, c), side(a, b, d)) && parts(side(c, d, a), side(c, d, b))
}

/// How `a`, `b`, `c` turn, exactly.
fn side(a: Xy, b: Xy, c: Xy) -> Orientation {
    let coord = |point: Xy| geo::Coord {
        x: point.x,
        y: point.y,
    };
    RobustKernel::orient2d(coord(a), coord(b), coord(c))
}

/// The point of a segment nearest to `point`.
#[must_use]
pub fn nearest_on_segment(from: Xy, to: Xy, point: Xy) -> Xy {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length_squared = dx * dx + dy * dy;
    if length_squared == 0.0 {
        return from;
    }
    let share = ((point.x - from.x) * dx + (point.y - from.y) * dy) / length_squared;
    from.towards(to, share.clamp(0.0, 1.0))
}
