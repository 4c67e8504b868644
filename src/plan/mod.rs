//! The operating area in the local plane, and distances from it.
//!
//! It is laid out twice: closely for measuring, coarsely for what shields cover. Not here: how edges
//! are laid out (see `layout`), or what is allowed where.

mod apart;
mod layout;

use std::sync::OnceLock;

pub use layout::{
    COVER_ERROR_M, LAYOUT_ERROR_M, LaidOut, Laying, Sets, convex_pieces, cut_short, cut_within,
    lay_out_chain, lay_out_polygon, outline_pieces, parts_of_edge, xy,
};

use geo::{
    Area, BooleanOps, BoundingRect, ConvexHull, Coord, InteriorPoint, LineString, MultiPoint,
    MultiPolygon, Point, Polygon, Rect,
};

use crate::error::{Error, Result};
use crate::field::Cell;
use crate::field::convex::Convex;
use crate::field::shield::Piece;
use crate::frame::{LocalFrame, LonLat, Xy};
use crate::obstacle::Shape;
use crate::site::OperatingArea;
use crate::units::Metres;
use apart::{apart, place_within};
use layout::{coord, make_up, triangles};

/// How far a polygon drawn for a reach may fall short of the true reach, metres.
pub const DRAWN_REACH_ERROR_M: f64 = 0.01;

/// Covers the rounding of bounds, metres; a point so near to an edge may be taken for either side.
const BOUND_SLACK_M: f64 = 1e-6;

/// How many reaches are taken off the uncovered part together. Only the speed depends on it.
const PIECES_AT_A_TIME: usize = 64;

/// An operating area in the local plane.
#[derive(Clone, Debug)]
pub struct Plan {
    frame: LocalFrame,
    /// How obstacles are laid out for what they cover.
    laying: Laying,
    is_close: bool,
    polygons: MultiPolygon<f64>,
    rings: Vec<Vec<Corner>>,
    /// Once it was asked for.
    outline: OnceLock<Outline>,
    error_m: f64,
    astray_m2: f64,
    cover: Outline,
    radius: Metres,
    area_m2: f64,
}

/// An area laid out in the plane within some error.
#[derive(Clone, Debug)]
pub struct Outline {
    sides: Vec<[Xy; 2]>,
    cells: Vec<Cell>,
    error_m: f64,
    astray_m2: f64,
}

/// A corner of an area: its place, and where that lies in the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Its place.
    pub place: LonLat,
    /// The same in the plane.
    pub point: Xy,
}

impl Plan {
    /// Lays out an area about its own middle and cuts it into triangles.
    ///
    /// # Errors
    /// When the triangles do not make up the area, which a valid area never shows.
    pub fn of(area: &OperatingArea) -> Result<Self> {
        let frame = area.frame();
        let places: Vec<Vec<LonLat>> = area.rings().collect();
        let within = |error_m: f64| Rings::of(&places, &frame, Metres::of(error_m));
        let rings = within(LAYOUT_ERROR_M);
        let polygons = rings.polygons(area);
        let coarse = within(COVER_ERROR_M);
        let is_same = coarse
            .rings
            .iter()
            .map(Vec::len)
            .eq(rings.rings.iter().map(Vec::len));
        let area_m2 = polygons.unsigned_area();
        let cover = match is_same {
            true => Outline::of(&polygons, coarse.error_m, coarse.astray_m2),
            false => Outline::of(&coarse.polygons(area), coarse.error_m, coarse.astray_m2),
        };
        let Some(cover) = cover else {
            return Err(Error::new(
                format!("the area of {area_m2:.3} m2 could not be cut into triangles"),
                "simplify its outline: remove repeated vertices and needles",
            )
            .in_file(&area.source.file)
            .at_feature(area.source.feature.as_str()));
        };
        let radius = polygons
            .iter()
            .flat_map(|polygon| polygon.exterior().coords())
            .map(|corner| xy(*corner).distance(Xy::default()))
            .fold(0.0, f64::max);
        Ok(Self {
            frame,
            laying: Laying::about(&frame, Metres::of(COVER_ERROR_M)),
            is_close: false,
            outline: OnceLock::new(),
            error_m: rings.error_m,
            astray_m2: rings.astray_m2,
            cover,
            area_m2,
            polygons,
            rings: rings.rings,
            radius: Metres::of(radius),
        })
    }

    /// The plane.
    #[must_use]
    pub const fn frame(&self) -> &LocalFrame {
        &self.frame
    }

    /// The same area laid out for what shields cover as closely as for measuring.
    #[must_use]
    pub fn closely(&self) -> Self {
        Self {
            laying: Laying::about(&self.frame, Metres::of(LAYOUT_ERROR_M)),
            is_close: true,
            cover: self.outline().clone(),
            ..self.clone()
        }
    }

    /// Whether it is.
    #[must_use]
    pub const fn is_close(&self) -> bool {
        self.is_close
    }

    /// Lays out an obstacle for what it covers.
    #[must_use]
    pub fn lay_out_for_cover(&self, shape: &Shape) -> LaidOut {
        self.laying.shape(shape)
    }

    /// The area in the plane, metres.
    #[must_use]
    pub const fn polygons(&self) -> &MultiPolygon<f64> {
        &self.polygons
    }

    /// The triangles that make up the area.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.outline().cells
    }

    /// The greatest distance of a point of the area from the plane's origin.
    #[must_use]
    pub const fn radius(&self) -> Metres {
        self.radius
    }

    /// The area, square metres.
    #[must_use]
    pub const fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// The corners of every ring, edges cut short, closed: the first again at the end.
    #[must_use]
    pub fn rings(&self) -> &[Vec<Corner>] {
        &self.rings
    }

    /// How far a laid-out edge may lie from the edge itself, metres: no more than [`LAYOUT_ERROR_M`].
    #[must_use]
    pub const fn layout_error_m(&self) -> f64 {
        self.error_m
    }

    /// The area laid out for what shields cover.
    #[must_use]
    pub const fn for_cover(&self) -> &Outline {
        &self.cover
    }

    /// The area laid out for measuring; a valid area that could be cut into triangles for cover can be
    /// here, too, and if it cannot, that layout stands for this one.
    fn outline(&self) -> &Outline {
        self.outline.get_or_init(|| {
            Outline::of(&self.polygons, self.error_m, self.astray_m2)
                .unwrap_or_else(|| self.cover.clone())
        })
    }

    /// The perimeter, holes included.
    #[must_use]
    pub fn perimeter(&self) -> Metres {
        Metres::of(self.edges().map(|(from, to)| from.distance(to)).sum())
    }

    /// The edges of the area in the plane, holes included.
    pub fn edges(&self) -> impl Iterator<Item = (Xy, Xy)> + Clone + '_ {
        let pairs = self.rings.iter().flat_map(|ring| ring.windows(2));
        pairs.filter_map(|pair| match pair {
            [from, to] => Some((from.point, to.point)),
            _ => None,
        })
    }

    /// Least distance of a convex set from the area, metres; 0 when they touch.
    #[must_use]
    pub fn distance_to(&self, set: &Convex) -> f64 {
        apart(self.edges().map(|(from, to)| [from, to]), set)
    }

    /// Whether a disc lies in the area or apart from it; none where it may do neither.
    #[must_use]
    pub fn holds_disc(&self, centre: Xy, radius: f64) -> Option<bool> {
        let sides = self.edges().map(|(from, to)| [from, to]);
        let (is_inside, from_side) = place_within(sides, centre);
        (from_side > radius + BOUND_SLACK_M).then_some(is_inside)
    }

    /// A distance that a convex set is no nearer to the area than, metres; below 0 when they may
    /// overlap: by the circles about both. Much quicker than the bounds.
    #[must_use]
    pub fn least_to(&self, set: &Convex) -> f64 {
        set.least_from(Xy::default(), self.radius.m())
    }

    /// The part of the area out of reach of all pieces, in the plane. Never less than the true part:
    /// reaches are drawn as polygons inside them, short by at most [`DRAWN_REACH_ERROR_M`].
    #[must_use]
    pub fn uncovered(&self, pieces: &[Piece]) -> MultiPolygon<f64> {
        let mut left = self.polygons.clone();
        // Some at a time, for most pieces of a crowded site find their place covered already.
        for some in pieces.chunks(PIECES_AT_A_TIME) {
            let boxes: Vec<Rect<f64>> = left.iter().filter_map(Polygon::bounding_rect).collect();
            let reaches: Vec<Polygon<f64>> = some
                .iter()
                .filter(|piece| boxes.iter().any(|place| may_touch(piece, place)))
                .map(|piece| reach_polygon(&piece.shape, piece.reach))
                .collect();
            if !reaches.is_empty() {
                left = left.difference(&geo::unary_union(reaches.iter()));
            }
        }
        left
    }

    /// Polygons of the plane as longitudes and latitudes.
    #[must_use]
    pub fn to_places(&self, polygons: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        geo::MapCoords::map_coords(polygons, |corner| {
            let place = self.frame.to_place(xy(corner));
            Coord {
                x: place.lon(),
                y: place.lat(),
            }
        })
    }
}

impl Outline {
    /// None where the triangles do not make up the area.
    fn of(polygons: &MultiPolygon<f64>, error_m: f64, astray_m2: f64) -> Option<Self> {
        let cells: Vec<Cell> = polygons.iter().flat_map(triangles).collect();
        if !make_up(&cells, polygons.unsigned_area()) {
            return None;
        }
        let mut sides = Vec::new();
        for polygon in polygons {
            let exterior = std::iter::once((polygon.exterior(), false));
            let holes = polygon.interiors().iter().map(|hole| (hole, true));
            for (ring, is_hole) in exterior.chain(holes) {
                let twice: f64 = ring.lines().map(|edge| edge.determinant()).sum();
                let is_turned = (twice < 0.0) != is_hole;
                sides.extend(ring.lines().map(|edge| match is_turned {
                    false => [xy(edge.start), xy(edge.end)],
                    true => [xy(edge.end), xy(edge.start)],
                }));
            }
        }
        Some(Self {
            sides,
            cells,
            error_m,
            astray_m2,
        })
    }

    /// The edges, the area on the left of each.
    #[must_use]
    pub fn sides(&self) -> &[[Xy; 2]] {
        &self.sides
    }

    /// The triangles that make up the area.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// How far an edge may lie from the one that is straight in longitude and latitude, metres.
    #[must_use]
    pub const fn error_m(&self) -> f64 {
        self.error_m
    }

    /// No more of the outline lies outside the area, and no more of the area outside the outline,
    /// square metres.
    #[must_use]
    pub const fn astray_m2(&self) -> f64 {
        self.astray_m2
    }

    /// Least distance of a convex set from the area, metres; 0 when they touch.
    #[must_use]
    pub fn distance_to(&self, set: &Convex) -> f64 {
        apart(self.sides.iter().copied(), set)
    }

    /// Bounds on the distance of a convex set from the area, metres: by the point in its middle and how
    /// far it spreads around it.
    #[must_use]
    pub fn bounds_to(&self, set: &Convex) -> (f64, f64) {
        let (middle, spread) = set.circle();
        let (low, high) = self.bounds_to_point(middle);
        (low - spread, high + spread)
    }

    /// Bounds on the distance of a point from the area, metres.
    #[must_use]
    pub fn bounds_to_point(&self, middle: Xy) -> (f64, f64) {
        let (is_inside, from_side) = place_within(self.sides.iter().copied(), middle);
        let distance = if is_inside { 0.0 } else { from_side };
        (distance - BOUND_SLACK_M, distance + BOUND_SLACK_M)
    }
}

/// The rings of an area laid out.
struct Rings {
    rings: Vec<Vec<Corner>>,
    /// How far their edges may lie from those that are straight in longitude and latitude, metres.
    error_m: f64,
    /// How much may lie between the two, square metres.
    astray_m2: f64,
}

impl Rings {
    fn of(places: &[Vec<LonLat>], frame: &LocalFrame, error: Metres) -> Self {
        let laying = Laying::about(frame, error);
        let mut found = Self {
            rings: Vec::with_capacity(places.len()),
            error_m: 0.0,
            astray_m2: 0.0,
        };
        for ring in places {
            let (ring, error_m, astray_m2) = laying.chain(ring);
            let corner = |place| Corner {
                place,
                point: frame.to_plane(place),
            };
            found.rings.push(ring.into_iter().map(corner).collect());
            found.error_m = found.error_m.max(error_m);
            found.astray_m2 += astray_m2;
        }
        found
    }

    fn polygons(&self, area: &OperatingArea) -> MultiPolygon<f64> {
        let mut rings = self.rings.iter().map(|ring| -> LineString<f64> {
            ring.iter().map(|corner| coord(corner.point)).collect()
        });
        let polygons = area.polygons.iter().filter_map(|polygon| {
            let exterior = rings.next()?;
            let holes = rings.by_ref().take(polygon.interiors().len()).collect();
            Some(Polygon::new(exterior, holes))
        });
        polygons.collect()
    }
}

/// Whether a reach may touch a box; never false when it does.
fn may_touch(piece: &Piece, place: &Rect<f64>) -> bool {
    let middle = place.center();
    let half = (place.width() / 2.0).hypot(place.height() / 2.0);
    piece.shape.least_from(xy(middle), half) <= piece.reach
}

/// A point well inside each polygon.
pub fn inner_points(polygons: &MultiPolygon<f64>) -> impl Iterator<Item = Xy> + '_ {
    polygons
        .iter()
        .filter_map(|polygon| polygon.interior_point().map(|point: Point| xy(point.0)))
}

/// The points within `distance` of a convex set, as a polygon that holds that region and exceeds it by
/// at most [`DRAWN_REACH_ERROR_M`].
#[must_use]
pub fn around(set: &Convex, distance: f64) -> Polygon<f64> {
    // The polygon inside the circle of R is at R cos(half angle) at its nearest, which is R less the
    // error at least.
    reach_polygon(set, distance + DRAWN_REACH_ERROR_M)
}

/// The points within `reach` of a convex set, as a polygon inside that region and short of it by at
/// most [`DRAWN_REACH_ERROR_M`].
fn reach_polygon(set: &Convex, reach: f64) -> Polygon<f64> {
    let half_angle = (1.0 - (DRAWN_REACH_ERROR_M / reach.max(DRAWN_REACH_ERROR_M * 2.0))).acos();
    let count = (std::f64::consts::PI / half_angle).ceil().max(8.0) as usize;
    let around: MultiPoint<f64> = set
        .corners()
        .iter()
        .flat_map(|corner| {
            (0..count).map(move |k| {
                let angle = std::f64::consts::TAU * k as f64 / count as f64;
                Point::new(
                    corner.x + reach * angle.cos(),
                    corner.y + reach * angle.sin(),
                )
            })
        })
        .collect();
    around.convex_hull()
}
