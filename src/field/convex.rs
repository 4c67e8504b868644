//! Convex sets of the plane (a point, a segment, a convex polygon) and the distance to them.
//!
//! The distance to a convex set is a convex function, so over a triangle it is greatest at a
//! corner: the bounds of the fields built on it are exact.

use crate::field::Cell;
use crate::frame::Xy;

/// A convex set: one point, two ends of a segment, or the corners of a convex polygon,
/// anticlockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Convex {
    corners: Vec<Xy>,
    centre: Xy,
    radius: f64,
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
        if cross(a, b, c) < 0.0 {
            Self::build(vec![a, c, b])
        } else {
            Self::build(vec![a, b, c])
        }
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
            corners => {
                let double_area: f64 = corners
                    .windows(2)
                    .map(|pair| cross(corners[0], pair[0], pair[1]))
                    .sum();
                if double_area > 0.0 && self.edges().all(|(from, to)| cross(from, to, point) >= 0.0)
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

    /// Whether every point of the cell is within `reach` of the set.
    #[must_use]
    pub fn reaches_all(&self, cell: &Cell, reach: f64) -> bool {
        cell.corners()
            .iter()
            .all(|corner| self.distance(*corner) <= reach)
    }

    /// Whether any point of the cell may be within `reach` of the set: never false when one is.
    ///
    /// `centre` and `radius` are the cell's. The bounding circles decide most cases, the exact
    /// separation the rest.
    #[must_use]
    pub fn may_reach(&self, cell: &Cell, centre: Xy, radius: f64, reach: f64) -> bool {
        if self.centre.distance(centre) - self.radius > reach + radius + SLACK_M {
            return false;
        }
        self.distance(centre) <= reach || self.separation(cell) <= reach + SLACK_M
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

/// Covers the rounding of the few square roots in a distance, metres: a nanometre.
const SLACK_M: f64 = 1e-9;

/// Whether two segments cross at a point inside both.
fn properly_cross((a, b): (Xy, Xy), (c, d): (Xy, Xy)) -> bool {
    cross(a, b, c) * cross(a, b, d) < 0.0 && cross(c, d, a) * cross(c, d, b) < 0.0
}

/// Twice the signed area of the triangle `a`, `b`, `c`: positive when anticlockwise.
fn cross(a: Xy, b: Xy, c: Xy) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)
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
