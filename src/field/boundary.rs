//! The signed distance to the outline of a region, and the region as a zone.
//!
//! Negative inside, positive outside, 0 on the outline; the outline belongs to the region. Rings may
//! cross themselves or one another: a point is inside a part when the exterior winds around it at
//! all (nonzero) and no hole holds it (even-odd), the larger reading of both. The region is grown by
//! a fixed slack, so that it may be larger than the true one and never smaller. Edges between parts
//! that touch or overlap count as outline: a distance from there is never too great, and a set across
//! two parts that touch is not found to be wholly inside.

use crate::field::combine::{Side, Zone};
use crate::field::convex::{Convex, nearest_on_segment};
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// A closed ring: its edges in order, and whether each is part of the outline.
///
/// Edges that are not part of the outline close a ring that was cut off outside the cells that are
/// asked about; they decide what is inside and are no outline to keep a distance from.
#[derive(Clone, Debug, Default)]
pub struct Ring {
    /// From, to, and whether it is part of the outline.
    pub edges: Vec<(Xy, Xy, bool)>,
}

/// One exterior with its holes.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// The exterior.
    pub exterior: Ring,
    /// The holes.
    pub holes: Vec<Ring>,
}

/// A region of the plane by its outline.
#[derive(Clone, Debug)]
pub struct Boundary {
    parts: Vec<Part>,
    outline: Vec<Convex>,
    grown: f64,
    beyond: f64,
}

impl Boundary {
    /// The region of these parts, grown by `grown` metres. Distances are not told beyond `beyond`
    /// metres, which is no more than what edges that are no outline keep from every cell asked.
    #[must_use]
    pub fn new(parts: Vec<Part>, grown: f64, beyond: f64) -> Self {
        let outline = parts
            .iter()
            .flat_map(|part| std::iter::once(&part.exterior).chain(&part.holes))
            .flat_map(|ring| &ring.edges)
            .filter(|(_, _, is_outline)| *is_outline)
            .map(|(from, to, _)| Convex::segment(*from, *to))
            .collect();
        Self {
            parts,
            outline,
            grown,
            beyond,
        }
    }

    /// The greatest distance that is told, before growing.
    #[must_use]
    pub const fn beyond(&self) -> f64 {
        self.beyond
    }

    /// By how much the region is grown.
    #[must_use]
    pub const fn grown(&self) -> f64 {
        self.grown
    }

    fn holds_before_growing(&self, point: Xy) -> bool {
        self.parts.iter().any(|part| {
            winding(&part.exterior, point) != 0
                && part.holes.iter().all(|hole| winding(hole, point) % 2 == 0)
        })
    }

    /// Signed distance of a point, metres.
    #[must_use]
    pub fn signed_distance(&self, point: Xy) -> f64 {
        let distance = self
            .outline
            .iter()
            .map(|edge| distance(edge, point))
            .fold(self.beyond, f64::min);
        let signed = if self.holds_before_growing(point) {
            -distance
        } else {
            distance
        };
        signed - self.grown
    }

    /// Bounds on the signed distance over a cell.
    #[must_use]
    pub fn over(&self, cell: &Cell) -> Enclosure {
        let (centre, radius) = (cell.centre(), cell.radius());
        let from_centre: Vec<f64> = self
            .outline
            .iter()
            .map(|edge| distance(edge, centre))
            .collect();
        let nearest = from_centre.iter().copied().fold(f64::INFINITY, f64::min);
        let (mut least, mut most) = (self.beyond, self.beyond);
        for (edge, from_centre) in self.outline.iter().zip(from_centre) {
            // An edge farther than this from the centre is nearest to no point of the cell.
            if from_centre <= nearest + 2.0 * radius + SLACK_M
                && from_centre - radius <= self.beyond
            {
                least = least.min(edge.separation(cell));
                let farthest = cell
                    .corners()
                    .iter()
                    .map(|corner| distance(edge, *corner))
                    .fold(0.0, f64::max);
                most = most.min(farthest);
            }
        }
        let most = most.max(least);
        let (low, high) = if least <= SLACK_M {
            (-most, most)
        } else if self.holds_before_growing(centre) {
            (-most, -least)
        } else {
            (least, most)
        };
        Enclosure::between(low - self.grown, high - self.grown)
    }
}

/// Covers the rounding of distances, metres: a nanometre.
const SLACK_M: f64 = 1e-9;

fn distance(edge: &Convex, point: Xy) -> f64 {
    match edge.corners() {
        [from, to] => nearest_on_segment(*from, *to, point).distance(point),
        _ => edge.distance(point),
    }
}

/// How often a ring winds around a point, anticlockwise positive (D. Sunday, "Inclusion of a point
/// in a polygon", 2001; the half-open rule counts a vertex once).
fn winding(ring: &Ring, point: Xy) -> i32 {
    let mut winding = 0;
    for (from, to, _) in &ring.edges {
        let side = (to.x - from.x) * (point.y - from.y) - (point.x - from.x) * (to.y - from.y);
        if from.y <= point.y {
            if to.y > point.y && side > 0.0 {
                winding += 1;
            }
        } else if to.y <= point.y && side < 0.0 {
            winding -= 1;
        }
    }
    winding
}

/// The signed distance as a field, or upside down (negated): its minimum then is minus the greatest.
#[derive(Clone, Copy, Debug)]
pub struct SignedDistance<'a> {
    /// The region.
    pub boundary: &'a Boundary,
    /// Whether distances are negated.
    pub upside_down: bool,
}

impl Field for SignedDistance<'_> {
    fn at(&self, point: Xy) -> f64 {
        let distance = self.boundary.signed_distance(point);
        if self.upside_down {
            -distance
        } else {
            distance
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let bounds = self.boundary.over(cell);
        if self.upside_down {
            Enclosure::between(-bounds.high, -bounds.low)
        } else {
            bounds
        }
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: 0,
            member: None,
        }
    }
}

impl Zone for &Boundary {
    fn holds(&self, point: Xy) -> bool {
        self.signed_distance(point) <= 0.0
    }

    fn side(&self, cell: &Cell) -> Side {
        let bounds = self.over(cell);
        if bounds.high <= 0.0 {
            Side::Inside
        } else if bounds.low > 0.0 {
            Side::Outside
        } else {
            Side::Unsure
        }
    }
}
