//! The operating area and shapes around it, laid out in the local plane.
//!
//! Edges are straight in longitude and latitude; here they are cut so short that each piece is
//! straight in the plane within [`LAYOUT_ERROR_M`]. Not here: what is allowed where.

use smallvec::{SmallVec, smallvec};

use geo::{
    Area, BooleanOps, BoundingRect, ConvexHull, Coord, InteriorPoint, LineString, MultiPoint,
    MultiPolygon, Point, Polygon, Rect, TriangulateEarcut,
};

use crate::error::{Error, Result};
use crate::field::Cell;
use crate::field::convex::{Convex, Orientation, nearest_on_segment, side};
use crate::field::shield::Piece;
use crate::frame::{
    LocalFrame, LonLat, Xy, distance, longest_segment, longitude_step, sagitta_bound,
};
use crate::obstacle::Shape;
use crate::site::OperatingArea;
use crate::units::Metres;

/// How far a laid-out edge may lie from the edge that is straight in longitude and latitude,
/// metres. It is taken off every reach, twice; distances to aerodromes do not depend on it, as they are
/// measured from the edge itself.
pub const LAYOUT_ERROR_M: f64 = 0.000_1;

/// No piece of a laid-out edge is longer, metres. A geodesic that passes the origin at a distance r is
/// not straight in the plane but bends by about L² r ⁄ 12 R² over a length L: 0.04 mm at 70 km, half
/// the widest area.
const LONGEST_PIECE_M: f64 = 500.0;

/// One edge is cut into no more pieces: enough for the stated error on edges of a hundred kilometres
/// (the widest area), and an end for those that a slip in a coordinate makes.
const MOST_PIECES: f64 = 2_000.0;

/// How far a polygon drawn for a reach may fall short of the true reach, metres.
pub const DRAWN_REACH_ERROR_M: f64 = 0.01;

/// Covers the rounding of bounds, metres; a point so near to an edge may be taken for either side.
const BOUND_SLACK_M: f64 = 1e-6;

/// How many reaches are taken off the uncovered part together. Only the speed depends on it.
const PIECES_AT_A_TIME: usize = 64;

/// How much the triangles of an area may differ from its area, as a share: rounding only.
const TRIANGULATION_TOLERANCE: f64 = 1e-9;

/// An operating area in the local plane.
#[derive(Clone, Debug)]
pub struct Plan {
    frame: LocalFrame,
    polygons: MultiPolygon<f64>,
    rings: Vec<Vec<Corner>>,
    /// The edges of the rings.
    sides: Vec<[Xy; 2]>,
    cells: Vec<Cell>,
    /// Centre and radius of a circle about each cell.
    circles: Vec<(Xy, f64)>,
    radius: Metres,
    area_m2: f64,
    layout_error_m: f64,
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
        let rings: Vec<Vec<Corner>> = area
            .rings()
            .map(|ring| {
                let corner = |place| Corner {
                    place,
                    point: frame.to_plane(place),
                };
                cut_short(&ring).into_iter().map(corner).collect()
            })
            .collect();
        let mut laid_out = rings.iter().map(|ring| -> LineString<f64> {
            ring.iter().map(|corner| coord(corner.point)).collect()
        });
        let polygons: MultiPolygon<f64> = area
            .polygons
            .iter()
            .filter_map(|polygon| {
                let exterior = laid_out.next()?;
                let holes = laid_out.by_ref().take(polygon.interiors().len()).collect();
                Some(Polygon::new(exterior, holes))
            })
            .collect();
        drop(laid_out);
        let cells: Vec<Cell> = polygons.iter().flat_map(triangles).collect();
        let whole = polygons.unsigned_area();
        if !make_up(&cells, whole) {
            return Err(Error::new(
                format!("the area of {whole:.3} m2 could not be cut into triangles"),
                "simplify its outline: remove repeated vertices and needles",
            )
            .in_file(&area.source.file)
            .at_feature(&area.source.feature));
        }
        let radius = polygons
            .iter()
            .flat_map(|polygon| polygon.exterior().coords())
            .map(|corner| xy(*corner).distance(Xy::default()))
            .fold(0.0, f64::max);
        let sagitta = |pair: &[Corner]| match pair {
            [from, to] => sagitta_bound(
                Metres::of(from.point.distance(to.point)),
                from.place.lat().abs().max(to.place.lat().abs()),
            )
            .m(),
            _ => 0.0,
        };
        Ok(Self {
            frame,
            polygons,
            layout_error_m: rings
                .iter()
                .flat_map(|ring| ring.windows(2))
                .map(sagitta)
                .fold(0.0, f64::max),
            sides: rings
                .iter()
                .flat_map(|ring| ring.windows(2))
                .filter_map(|pair| match pair {
                    [from, to] => Some([from.point, to.point]),
                    _ => None,
                })
                .collect(),
            rings,
            area_m2: whole,
            circles: cells
                .iter()
                .map(|cell| (cell.centre(), cell.radius()))
                .collect(),
            cells,
            radius: Metres::of(radius),
        })
    }

    /// The plane.
    #[must_use]
    pub const fn frame(&self) -> &LocalFrame {
        &self.frame
    }

    /// The area in the plane, metres.
    #[must_use]
    pub const fn polygons(&self) -> &MultiPolygon<f64> {
        &self.polygons
    }

    /// The triangles that make up the area.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.cells
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
        self.layout_error_m
    }

    /// The perimeter, holes included.
    #[must_use]
    pub fn perimeter(&self) -> Metres {
        Metres::of(self.edges().map(|(from, to)| from.distance(to)).sum())
    }

    /// The edges of the area in the plane, holes included.
    pub fn edges(&self) -> impl Iterator<Item = (Xy, Xy)> + '_ {
        self.sides.iter().map(|[from, to]| (*from, *to))
    }

    /// Least distance of a convex set from the area, metres; 0 when they touch.
    #[must_use]
    pub fn distance_to(&self, set: &Convex) -> f64 {
        let bound = |(centre, radius): &(Xy, f64)| set.least_from(*centre, *radius);
        let likely = self
            .cells
            .iter()
            .zip(&self.circles)
            .min_by(|(_, a), (_, b)| bound(a).total_cmp(&bound(b)));
        let mut least = likely.map_or(f64::INFINITY, |(cell, _)| set.separation(cell));
        for (cell, circle) in self.cells.iter().zip(&self.circles) {
            if least <= 0.0 {
                break;
            }
            if bound(circle) < least {
                least = least.min(set.separation(cell));
            }
        }
        least
    }

    /// Bounds on the distance of a convex set from the area, metres: by the point in its middle and how
    /// far it spreads around it.
    #[must_use]
    pub fn bounds_to(&self, set: &Convex) -> (f64, f64) {
        let (middle, spread) = set.circle();
        let (low, high) = self.bounds_to_point(middle);
        (low - spread, high + spread)
    }

    /// A distance that a convex set is no nearer to the area than, metres; below 0 when they may
    /// overlap: by the circles about both. Much quicker than the bounds.
    #[must_use]
    pub fn least_to(&self, set: &Convex) -> f64 {
        set.least_from(Xy::default(), self.radius.m())
    }

    /// Bounds on the distance of a point from the area, metres.
    #[must_use]
    pub fn bounds_to_point(&self, middle: Xy) -> (f64, f64) {
        let (mut is_inside, mut least) = (false, f64::INFINITY);
        for &[from, to] in &self.sides {
            let near = nearest_on_segment(from, to, middle);
            let (x, y) = (near.x - middle.x, near.y - middle.y);
            least = least.min(x * x + y * y);
            // A ray to the east: holes and parts of the area alike change the side.
            if (from.y > middle.y) != (to.y > middle.y) {
                let across = (to.x - from.x) * (middle.y - from.y) / (to.y - from.y);
                is_inside ^= middle.x < from.x + across;
            }
        }
        let distance = if is_inside { 0.0 } else { least.sqrt() };
        (distance - BOUND_SLACK_M, distance + BOUND_SLACK_M)
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

/// The convex sets of one obstacle; most have one.
pub type Sets = SmallVec<[Convex; 1]>;

/// The plan shape of an obstacle or aerodrome reference as convex sets of the plane.
#[must_use]
pub fn convex_pieces(frame: &LocalFrame, shape: &Shape) -> Sets {
    match shape {
        Shape::Point(place) => smallvec![Convex::point(frame.to_plane(*place))],
        Shape::Chain(places) => lay_out_chain(frame, places)
            .windows(2)
            .map(|pair| Convex::segment(pair[0], pair[1]))
            .collect(),
        Shape::Outline(polygon) => lay_out_outline(frame, polygon).0,
    }
}

/// The convex pieces of an outline: itself where it is convex, else triangles that make it up, or its
/// edges where they do not (an outline that crosses itself, or without area), for a triangle may
/// then lie outside it.
#[must_use]
pub fn outline_pieces(frame: &LocalFrame, polygon: &Polygon<f64>) -> Sets {
    lay_out_outline(frame, polygon).0
}

/// The same, and whether the pieces make up the outline's area and no more, which those of an outline
/// that crosses itself do not.
#[must_use]
pub fn lay_out_outline(frame: &LocalFrame, polygon: &Polygon<f64>) -> (Sets, bool) {
    if let Some(convex) = lay_out_convex(frame, polygon) {
        return (smallvec![convex], true);
    }
    let polygon = lay_out_polygon(frame, polygon);
    let cells = triangles(&polygon);
    if make_up(&cells, polygon.unsigned_area()) {
        let pieces = cells.iter().map(|cell| Convex::triangle(*cell.corners()));
        return (pieces.collect(), true);
    }
    let edges = std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .flat_map(LineString::lines)
        .map(|edge| Convex::segment(xy(edge.start), xy(edge.end)));
    (edges.collect(), false)
}

/// Most corners of an outline that is looked at as one convex set.
const MOST_CONVEX_CORNERS: usize = 8;

/// An outline of few corners without holes as one convex set, where it turns strictly one way and once
/// round.
fn lay_out_convex(frame: &LocalFrame, polygon: &Polygon<f64>) -> Option<Convex> {
    let ring = &polygon.exterior().0;
    if !polygon.interiors().is_empty() || !(4..=MOST_CONVEX_CORNERS + 1).contains(&ring.len()) {
        return None;
    }
    let places: SmallVec<[LonLat; MOST_CONVEX_CORNERS + 1]> = ring
        .iter()
        .map(|corner| LonLat::wrapped(corner.x, corner.y))
        .collect();
    let mut corners: SmallVec<[Xy; MOST_CONVEX_CORNERS + 1]> = SmallVec::new();
    let cutting = Cutting::of(&places, Metres::of(LAYOUT_ERROR_M));
    for ends in places.windows(2) {
        let parts = cutting.parts(ends[0], ends[1]);
        if corners.len() + parts > MOST_CONVEX_CORNERS {
            return None;
        }
        let along = Cutting::along(ends[0], ends[1], parts);
        corners.extend(along.map(|place| frame.to_plane(place)));
    }
    // The first place came last.
    corners.rotate_right(1);
    if side(corners[0], corners[1], corners[2]) == Orientation::Clockwise {
        corners.reverse();
    }
    let count = corners.len();
    let at = |number: usize| corners[number % count];
    let turns_left = (0..count).all(|number| {
        side(at(number), at(number + 1), at(number + 2)) == Orientation::CounterClockwise
    });
    // Seen from the first corner the others follow one another anticlockwise: it winds once.
    let winds_once = (1..count - 1)
        .all(|number| side(at(0), at(number), at(number + 1)) == Orientation::CounterClockwise);
    (turns_left && winds_once).then(|| Convex::polygon(corners.to_vec()))
}

/// Whether some triangles have the area of what they were cut from, which is above 0. Written so
/// that NaN fails.
fn make_up(cells: &[Cell], whole_m2: f64) -> bool {
    let parts: f64 = cells.iter().map(Cell::area).sum();
    whole_m2 > 0.0 && (parts - whole_m2).abs() <= whole_m2 * TRIANGULATION_TOLERANCE
}

/// Into how many equal parts an edge that is straight in longitude and latitude is cut, so that each
/// is straight in the plane within [`LAYOUT_ERROR_M`].
#[must_use]
pub fn parts_of_edge(from: LonLat, to: LonLat) -> usize {
    Cutting::of(&[from, to], Metres::of(LAYOUT_ERROR_M)).parts(from, to)
}

/// The places along a chain, close enough together to be joined by straight lines of the plane.
#[must_use]
pub fn cut_short(places: &[LonLat]) -> Vec<LonLat> {
    cut_within(places, Metres::of(LAYOUT_ERROR_M))
}

/// The places along a chain, so close together that straight lines of the plane between them stay
/// within `bow` of the chain.
#[must_use]
pub fn cut_within(places: &[LonLat], bow: Metres) -> Vec<LonLat> {
    let cutting = Cutting::of(places, bow);
    let mut cut: Vec<LonLat> = Vec::with_capacity(places.len());
    cut.extend(places.first());
    for pair in places.windows(2) {
        cut.extend(Cutting::along(
            pair[0],
            pair[1],
            cutting.parts(pair[0], pair[1]),
        ));
    }
    cut
}

/// How the edges of a chain are cut.
struct Cutting {
    /// No piece is longer, metres: that of the chain's highest latitude.
    longest_m: f64,
    /// The greatest cosine of a latitude that the chain passes.
    cosine: f64,
}

impl Cutting {
    /// So that no piece bows out by more than `bow`.
    fn of(places: &[LonLat], bow: Metres) -> Self {
        let mut highest: f64 = 0.0;
        let (mut south, mut north) = (f64::INFINITY, f64::NEG_INFINITY);
        for latitude in places.iter().map(|place| place.lat()) {
            highest = highest.max(latitude.abs());
            (south, north) = (south.min(latitude), north.max(latitude));
        }
        let least = if south <= 0.0 && north >= 0.0 {
            0.0
        } else {
            south.abs().min(north.abs())
        };
        Self {
            longest_m: longest_segment(bow, highest).m().min(LONGEST_PIECE_M),
            cosine: least.to_radians().cos(),
        }
    }

    /// Into how many equal parts an edge of the chain is cut.
    fn parts(&self, from: LonLat, to: LonLat) -> usize {
        if self.at_most_apart_m(from, to) <= self.longest_m {
            return 1;
        }
        (distance(from, to).m() / self.longest_m)
            .ceil()
            .clamp(1.0, MOST_PIECES) as usize
    }

    /// The places at the ends of those parts, from the first part's to the edge's own.
    fn along(from: LonLat, to: LonLat, parts: usize) -> impl Iterator<Item = LonLat> + use<> {
        (1..parts)
            .map(move |k| from.towards(to, k as f64 / parts as f64))
            .chain([to])
    }

    /// A distance that two places of the chain are no farther apart than, metres: the segment between
    /// them, straight in longitude and latitude, is no longer, with the greatest radii of curvature of
    /// the ellipsoid (a ⁄ √(1 − e²), NIMA TR8350.2) and the greatest cosine.
    fn at_most_apart_m(&self, from: LonLat, to: LonLat) -> f64 {
        const GREATEST_RADIUS_M: f64 = 6_399_594.0;
        let north = (to.lat() - from.lat()).to_radians();
        let east = longitude_step(from.lon(), to.lon()).to_radians() * self.cosine;
        GREATEST_RADIUS_M * (north * north + east * east).sqrt()
    }
}

/// A chain of places laid out in the plane.
#[must_use]
pub fn lay_out_chain(frame: &LocalFrame, places: &[LonLat]) -> Vec<Xy> {
    cut_short(places)
        .into_iter()
        .map(|place| frame.to_plane(place))
        .collect()
}

/// A polygon of longitudes and latitudes laid out in the plane.
#[must_use]
pub fn lay_out_polygon(frame: &LocalFrame, polygon: &Polygon<f64>) -> Polygon<f64> {
    let ring = |ring: &LineString<f64>| -> LineString<f64> {
        let places: Vec<LonLat> = ring
            .coords()
            .map(|corner| LonLat::wrapped(corner.x, corner.y))
            .collect();
        lay_out_chain(frame, &places)
            .into_iter()
            .map(coord)
            .collect()
    };
    Polygon::new(
        ring(polygon.exterior()),
        polygon.interiors().iter().map(ring).collect(),
    )
}

/// None for a ring of fewer than three corners, which the triangulation would panic on.
fn triangles(polygon: &Polygon<f64>) -> Vec<Cell> {
    if polygon.exterior().0.len() < 4 {
        return Vec::new();
    }
    polygon
        .earcut_triangles_iter()
        .map(|triangle| Cell::new([xy(triangle.v1()), xy(triangle.v2()), xy(triangle.v3())]))
        .collect()
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

/// A plane point from a coordinate of the geometry crate.
#[must_use]
pub const fn xy(corner: Coord<f64>) -> Xy {
    Xy::new(corner.x, corner.y)
}

const fn coord(point: Xy) -> Coord<f64> {
    Coord {
        x: point.x,
        y: point.y,
    }
}
