//! Regions of the plane as polygons, from outside or from inside.
//!
//! An outer polygon contains its region, an inner one is contained in it; both within
//! [`OUTLINE_EXCESS_M`]. Not here: whether a point is in a region (see [`crate::field::zone`]).

use geo::{BooleanOps, Coord, LineString, MultiPolygon, Polygon, unary_union};

use crate::field::convex::Convex;
use crate::field::zone::Region;
use crate::frame::Xy;

/// How far a polygon may lie from the edge of its region, metres.
pub const OUTLINE_EXCESS_M: f64 = 0.05;

/// How far the overlay of polygons may move their vertices, metres: it works on a grid of 2³¹ steps
/// across its input, 0.2 mm across 400 km.
const OVERLAY_ROUNDING_M: f64 = 0.002;

/// Polygons that contain all that the region's measure puts within `by` metres of it.
#[must_use]
pub fn outer(region: &Region, by: f64) -> MultiPolygon<f64> {
    match region {
        Region::Buffer { sets, reach } => union(
            sets.iter()
                .map(|set| around(set, reach + by + OVERLAY_ROUNDING_M, true)),
        ),
        Region::Polygon(set) => union(std::iter::once(around(set, by + OVERLAY_ROUNDING_M, true))),
        Region::Union(parts) => {
            let parts: Vec<Polygon<f64>> = parts.iter().flat_map(|part| outer(part, by)).collect();
            union(parts.into_iter())
        }
        Region::Difference(of, less) => outer(of, by).difference(&inner(less, by)),
        Region::Widened(region, more) => outer(region, by + more),
    }
}

/// Polygons that hold nothing but points more than `by` metres inside the region.
#[must_use]
pub fn inner(region: &Region, by: f64) -> MultiPolygon<f64> {
    let by = by + OVERLAY_ROUNDING_M;
    match region {
        Region::Buffer { sets, reach } => {
            let left = reach - by;
            if left > 0.0 {
                union(sets.iter().map(|set| around(set, left, false)))
            } else {
                MultiPolygon::new(Vec::new())
            }
        }
        Region::Polygon(set) => union(shrunk(set, by).into_iter()),
        Region::Union(parts) => {
            let parts: Vec<Polygon<f64>> = parts.iter().flat_map(|part| inner(part, by)).collect();
            union(parts.into_iter())
        }
        Region::Difference(of, less) => inner(of, by).difference(&outer(less, by)),
        Region::Widened(region, more) => inner(region, by - more),
    }
}

fn union(polygons: impl Iterator<Item = Polygon<f64>>) -> MultiPolygon<f64> {
    let all: Vec<Polygon<f64>> = polygons.collect();
    unary_union(all.iter())
}

/// All within `reach` of a convex set: a polygon about that, or inside it.
fn around(set: &Convex, reach: f64, is_outer: bool) -> Polygon<f64> {
    let excess = (OUTLINE_EXCESS_M / reach.max(1e-9)).clamp(1e-9, 0.25);
    let half_angle = (1.0 / (1.0 + excess)).acos();
    let count = (std::f64::consts::PI / half_angle).ceil().max(8.0);
    let radius = if is_outer {
        reach / (std::f64::consts::PI / count).cos()
    } else {
        reach
    };
    let points: Vec<Xy> = set
        .corners()
        .iter()
        .flat_map(|corner| {
            (0..count as usize).map(move |k| {
                let (sine, cosine) = (std::f64::consts::TAU * k as f64 / count).sin_cos();
                Xy::new(corner.x + radius * cosine, corner.y + radius * sine)
            })
        })
        .collect();
    polygon(Convex::hull(&points).corners())
}

/// A convex polygon with each edge moved in; none when nothing is left.
fn shrunk(set: &Convex, by: f64) -> Option<Polygon<f64>> {
    let edges = set.corners();
    let mut kept: Vec<Xy> = edges.to_vec();
    for (from, to) in edges.iter().zip(edges.iter().cycle().skip(1)) {
        let length = from.distance(*to);
        if length <= 0.0 {
            continue;
        }
        let inside = |p: Xy| {
            ((to.x - from.x) * (p.y - from.y) - (to.y - from.y) * (p.x - from.x)) / length - by
        };
        let mut cut = Vec::new();
        for (a, b) in kept.iter().zip(kept.iter().cycle().skip(1)) {
            let (at_a, at_b) = (inside(*a), inside(*b));
            if at_a >= 0.0 {
                cut.push(*a);
            }
            if (at_a >= 0.0) != (at_b >= 0.0) {
                cut.push(a.towards(*b, at_a / (at_a - at_b)));
            }
        }
        kept = cut;
    }
    (kept.len() >= 3).then(|| polygon(&kept))
}

fn polygon(corners: &[Xy]) -> Polygon<f64> {
    let ring: LineString<f64> = corners
        .iter()
        .map(|corner| Coord {
            x: corner.x,
            y: corner.y,
        })
        .collect();
    Polygon::new(ring, Vec::new())
}
