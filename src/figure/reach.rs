//! The outline of everything within a distance of a shape, in a local plane.
//!
//! Not here: whether a place is in reach (see [`crate::field`]); this is its drawing.

use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{Coord, LineString, MultiPoint, MultiPolygon, Point, Polygon};

use super::view::{pieces, rings};
use crate::frame::{LocalFrame, LonLat, Xy};
use crate::obstacle::Shape;
use crate::units::Metres;

/// Chords of arcs, radians: their middles lie 0.013 % of the radius inside the arc, which the
/// radius is enlarged by (the least step that the buffer of `geo` 0.33 takes is π ⁄ 100).
const ARC_STEP: f64 = 0.0315;

/// Larger distances are not drawn about shapes, metres.
const LARGEST_M: f64 = 500_000.0;

/// Everything within `distance` of a shape as polygons in metres of the plane; it contains the
/// true outline and exceeds it by at most 0.013 % of the distance.
///
/// Empty for distances that are not positive, or beyond 500 km.
pub fn around_shape(frame: &LocalFrame, shape: &Shape, distance: Metres) -> MultiPolygon<f64> {
    let Some(style) = style(distance) else {
        return MultiPolygon::new(Vec::new());
    };
    match shape {
        Shape::Point(place) => point(frame.to_plane(*place)).buffer_with_style(style),
        Shape::Chain(chain) => line(frame, chain).buffer_with_style(style),
        Shape::Outline(polygon) => on_plane(frame, polygon).buffer_with_style(style),
    }
}

/// Everything within `distance` of any of some places.
pub fn around_places(frame: &LocalFrame, places: &[LonLat], distance: Metres) -> MultiPolygon<f64> {
    let Some(style) = style(distance) else {
        return MultiPolygon::new(Vec::new());
    };
    let points = places.iter().map(|p| point(frame.to_plane(*p))).collect();
    MultiPoint::new(points).buffer_with_style(style)
}

/// Everything within `distance` of some polygons.
pub fn around_polygons(
    frame: &LocalFrame,
    polygons: &MultiPolygon<f64>,
    distance: Metres,
) -> MultiPolygon<f64> {
    let Some(style) = style(distance) else {
        return MultiPolygon::new(Vec::new());
    };
    let plane = polygons.iter().map(|p| on_plane(frame, p)).collect();
    MultiPolygon::new(plane).buffer_with_style(style)
}

/// The rings of polygons in the plane, as points of it.
pub fn plane_rings(polygons: &MultiPolygon<f64>) -> impl Iterator<Item = Vec<Xy>> + '_ {
    polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| ring.coords().map(|c| Xy::new(c.x, c.y)).collect())
}

fn style(distance: Metres) -> Option<BufferStyle<f64>> {
    let metres = distance.m();
    (metres > 0.0 && metres <= LARGEST_M).then(|| {
        BufferStyle::new(metres / (ARC_STEP / 2.0).cos())
            .line_cap(LineCap::Round(ARC_STEP))
            .line_join(LineJoin::Round(ARC_STEP))
    })
}

fn point(at: Xy) -> Point<f64> {
    Point::new(at.x, at.y)
}

fn line(frame: &LocalFrame, chain: &[LonLat]) -> LineString<f64> {
    pieces(chain)
        .into_iter()
        .map(|place| frame.to_plane(place))
        .map(|p| Coord { x: p.x, y: p.y })
        .collect()
}

/// A polygon of longitudes and latitudes laid out in a plane.
pub fn on_plane(frame: &LocalFrame, polygon: &Polygon<f64>) -> Polygon<f64> {
    let mut all = rings(polygon).map(|ring| line(frame, &ring));
    let exterior = all.next().unwrap_or_else(|| LineString::new(Vec::new()));
    Polygon::new(exterior, all.collect())
}
