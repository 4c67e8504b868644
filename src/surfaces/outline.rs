//! Convex outlines about runways, and the parts of surfaces below a level as polygons.

use geo::{
    BooleanOps, ConvexHull, Coord, Densify, Euclidean, LineString, MultiPoint, MultiPolygon, Point,
    Polygon,
};

use crate::field::convex::Convex;
use crate::field::surface::{Patch, Surface};
use crate::frame::Xy;

/// How far a drawn arc may lie from the true one, metres, on the side that keeps a limit.
pub const ARC_ERROR_M: f64 = 0.05;

/// The same for a footprint that is only drawn, metres.
pub const DRAWN_ERROR_M: f64 = 1.0;

/// The longest edge of a drawn footprint, metres: straight in longitude and latitude it lies within
/// 0.3 m of its place in the plane at latitudes up to 80 degrees.
const DRAWN_EDGE_M: f64 = 1_000.0;

/// The least convex outline about some discs, as a convex set and the distance from it: arcs joined
/// by tangents. Discs inside the tangents of others do not show.
///
/// Exact where all radii are equal; else larger by at most [`ARC_ERROR_M`]. None without a disc.
#[must_use]
pub fn about_discs(discs: &[(Xy, f64)]) -> Option<(Convex, f64)> {
    let least = discs
        .iter()
        .map(|(_, radius)| *radius)
        .fold(f64::INFINITY, f64::min);
    if !(least.is_finite() && least >= 0.0) {
        return None;
    }
    let points: Vec<Xy> = discs
        .iter()
        .flat_map(|(centre, radius)| {
            arc_points(*centre, radius - least, Side::Outside, ARC_ERROR_M)
        })
        .collect();
    Some((hull(&points), least))
}

/// The convex hull of some points.
#[must_use]
pub fn hull(points: &[Xy]) -> Convex {
    match points {
        [] => Convex::polygon(&[]),
        [only] => Convex::point(*only),
        [from, to] => Convex::segment(*from, *to),
        many => Convex::polygon(&open(hull_polygon(many).exterior())),
    }
}

fn hull_polygon(points: &[Xy]) -> Polygon<f64> {
    let points: MultiPoint<f64> = points
        .iter()
        .map(|point| Point::new(point.x, point.y))
        .collect();
    points.convex_hull()
}

/// The corners of a ring, the first not repeated.
fn open(ring: &LineString<f64>) -> Vec<Xy> {
    let count = ring.0.len().saturating_sub(1);
    ring.coords()
        .take(count)
        .map(|corner| Xy::new(corner.x, corner.y))
        .collect()
}

/// On which side of a true arc its polygon lies.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Outside,
    Inside,
}

/// The corners of a polygon about a circle, outside it or inside it by at most `error`.
fn arc_points(centre: Xy, radius: f64, side: Side, error: f64) -> Vec<Xy> {
    if radius <= 0.0 {
        return vec![centre];
    }
    let half_angle = (1.0 - error / (radius + error)).acos();
    let count = (std::f64::consts::PI / half_angle).ceil().max(8.0);
    let reach = if side == Side::Outside {
        radius / (std::f64::consts::PI / count).cos()
    } else {
        radius
    };
    (0..count as usize)
        .map(|k| {
            let (sine, cosine) = (std::f64::consts::TAU * k as f64 / count).sin_cos();
            Xy::new(centre.x + reach * cosine, centre.y + reach * sine)
        })
        .collect()
}

/// The points within `radius` of a convex set as a polygon: outside that region, or inside it.
fn rounded(outline: &Convex, radius: f64, side: Side, error: f64) -> Polygon<f64> {
    let points: Vec<Xy> = outline
        .corners()
        .iter()
        .flat_map(|corner| arc_points(*corner, radius, side, error))
        .collect();
    hull_polygon(&points)
}

/// The part of the plane where a surface is below a level (`+∞` for its whole footprint), as
/// polygons: never less than the true part, and more by at most [`ARC_ERROR_M`] at an edge.
#[must_use]
pub fn part_below(surface: &Surface, level: f64) -> MultiPolygon<f64> {
    below(surface, level, ARC_ERROR_M)
}

/// The whole footprint of a surface, for drawing: never less than the true one, and more by at most
/// [`DRAWN_ERROR_M`] and the slack; its edges are cut short enough to be drawn straight.
#[must_use]
pub fn footprint(surface: &Surface) -> MultiPolygon<f64> {
    Euclidean.densify(&below(surface, f64::INFINITY, DRAWN_ERROR_M), DRAWN_EDGE_M)
}

fn below(surface: &Surface, level: f64, error: f64) -> MultiPolygon<f64> {
    let parts: Vec<MultiPolygon<f64>> = surface
        .patches
        .iter()
        .filter_map(|patch| patch_below(patch, level, error))
        .collect();
    geo::unary_union(parts.iter())
}

fn patch_below(patch: &Patch, level: f64, error: f64) -> Option<MultiPolygon<f64>> {
    match patch {
        Patch::Sheet(sheet) => {
            let corners = sheet.part_below(level);
            (corners.len() >= 3).then(|| {
                let ring: LineString<f64> = corners
                    .iter()
                    .map(|corner| Coord {
                        x: corner.x,
                        y: corner.y,
                    })
                    .collect();
                MultiPolygon(vec![Polygon::new(ring, Vec::new())])
            })
        }
        Patch::Bowl(bowl) => {
            let (inner, outer) = bowl.radii_below(level)?;
            let whole = rounded(bowl.outline(), outer, Side::Outside, error);
            if inner <= ARC_ERROR_M {
                return Some(MultiPolygon(vec![whole]));
            }
            let hole = rounded(bowl.outline(), inner, Side::Inside, error);
            Some(whole.difference(&hole))
        }
    }
}
