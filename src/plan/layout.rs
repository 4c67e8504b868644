//! Shapes laid out in the local plane.
//!
//! Edges are straight in longitude and latitude; here they are cut so short that each piece is
//! straight in the plane within a stated error. Not here: the operating area itself.

use geo::{Area, Coord, LineString, Polygon, TriangulateEarcut};
use smallvec::{SmallVec, smallvec};

use crate::field::Cell;
use crate::field::convex::{Convex, Orientation, side};
use crate::frame::{LocalFrame, LonLat, Xy, longest_segment, longitude_step, sagitta_bound};
use crate::obstacle::Shape;
use crate::units::Metres;

/// How far a laid-out edge may lie from the edge that is straight in longitude and latitude,
/// metres. It is taken off every reach, twice; distances to aerodromes do not depend on it, as they are
/// measured from the edge itself.
pub const LAYOUT_ERROR_M: f64 = 0.000_1;

/// The same where edges are laid out for what shields cover, metres. What an edge really lies away is
/// taken off the reach: of the area's edges the most of any, of a shield's that of its own.
pub const COVER_ERROR_M: f64 = 0.001;

/// No piece of a laid-out edge is longer, metres. A geodesic that passes the origin at a distance r is
/// not straight in the plane but bends by about L² r ⁄ 12 R² over a length L: 0.04 mm at 70 km, half
/// the widest area.
const LONGEST_PIECE_M: f64 = 500.0;

/// One edge is cut into no more pieces: enough for the stated error on edges of a hundred kilometres
/// (the widest area), and an end for those that a slip in a coordinate makes.
const MOST_PIECES: f64 = 2_000.0;

/// How much the triangles of an area may differ from its area, as a share: rounding only.
const TRIANGULATION_TOLERANCE: f64 = 1e-9;

/// The convex sets of one obstacle; most have one.
pub type Sets = SmallVec<[Convex; 1]>;

/// A plan shape in the plane.
#[derive(Clone, Debug)]
pub struct LaidOut {
    /// Convex sets: of an outline itself where it is convex, else triangles that make it up, or its
    /// edges where they do not (an outline that crosses itself, or without area), for a triangle may
    /// then lie outside it.
    pub sets: Sets,
    /// Whether the sets make up the outline's area and no more, which those of an outline that crosses
    /// itself do not; of other shapes true.
    pub is_made_up: bool,
    /// How far an edge may lie from the one that is straight in longitude and latitude, metres.
    pub error_m: f64,
}

/// The plan shape of an obstacle or aerodrome reference as convex sets of the plane.
#[must_use]
pub fn convex_pieces(frame: &LocalFrame, shape: &Shape) -> Sets {
    Laying::about(frame, Metres::of(LAYOUT_ERROR_M))
        .shape(shape)
        .sets
}

/// The convex pieces of an outline; see [`LaidOut::sets`].
#[must_use]
pub fn outline_pieces(frame: &LocalFrame, polygon: &Polygon<f64>) -> Sets {
    Laying::about(frame, Metres::of(LAYOUT_ERROR_M))
        .outline(polygon)
        .sets
}

/// Lays shapes out in a plane within an error.
#[derive(Clone, Copy, Debug)]
pub struct Laying {
    frame: LocalFrame,
    error: Metres,
    /// How edges are cut whose places lie no more than [`NEAR_DEG`] north or south of the origin.
    near: Cutting,
}

/// Degrees of latitude: some 10 km.
const NEAR_DEG: f64 = 0.1;

impl Laying {
    /// In the plane of a frame.
    #[must_use]
    pub fn about(frame: &LocalFrame, error: Metres) -> Self {
        let latitude = frame.origin().lat();
        Self {
            frame: *frame,
            error,
            near: Cutting::between(latitude - NEAR_DEG, latitude + NEAR_DEG, error),
        }
    }

    fn cutting(&self, places: &[LonLat]) -> Cutting {
        let latitude = self.frame.origin().lat();
        let is_near = |place: &LonLat| (place.lat() - latitude).abs() <= NEAR_DEG;
        if places.iter().all(is_near) {
            self.near
        } else {
            Cutting::of(places, self.error)
        }
    }

    /// The places along a chain, so close together that straight lines between them stay within the
    /// error; how far they really may lie from it, metres, and how much may lie between, square metres.
    #[must_use]
    pub fn chain(&self, places: &[LonLat]) -> (Vec<LonLat>, f64, f64) {
        self.cutting(places).cut(places)
    }

    /// Lays out a plan shape.
    #[must_use]
    pub fn shape(&self, shape: &Shape) -> LaidOut {
        let of_sets = |sets, error_m| LaidOut {
            sets,
            is_made_up: true,
            error_m,
        };
        let frame = &self.frame;
        match shape {
            Shape::Point(place) => of_sets(smallvec![Convex::point(frame.to_plane(*place))], 0.0),
            Shape::Chain(places) => {
                let cutting = self.cutting(places);
                let mut sets = Sets::new();
                let mut longest = 0.0;
                let mut from = places.first().map(|place| frame.to_plane(*place));
                for ends in places.windows(2) {
                    let (parts, length) = cutting.pieces(ends[0], ends[1]);
                    longest = f64::max(longest, length);
                    for place in Cutting::along(ends[0], ends[1], parts) {
                        let to = frame.to_plane(place);
                        sets.extend(from.map(|from| Convex::segment(from, to)));
                        from = Some(to);
                    }
                }
                of_sets(sets, cutting.bow(longest))
            }
            Shape::Outline(polygon) => self.outline(polygon),
        }
    }

    /// Lays out an outline.
    #[must_use]
    pub fn outline(&self, polygon: &Polygon<f64>) -> LaidOut {
        if let Some((convex, error_m)) = self.convex(polygon) {
            return LaidOut {
                sets: smallvec![convex],
                is_made_up: true,
                error_m,
            };
        }
        let polygon = self.polygon(polygon);
        let cells = triangles(&polygon);
        let error_m = self.error.m();
        if make_up(&cells, polygon.unsigned_area()) {
            let pieces = cells.iter().map(|cell| Convex::triangle(*cell.corners()));
            return LaidOut {
                sets: pieces.collect(),
                is_made_up: true,
                error_m,
            };
        }
        let edges = std::iter::once(polygon.exterior())
            .chain(polygon.interiors())
            .flat_map(LineString::lines)
            .map(|edge| Convex::segment(xy(edge.start), xy(edge.end)));
        LaidOut {
            sets: edges.collect(),
            is_made_up: false,
            error_m,
        }
    }

    /// An outline of few corners without holes as one convex set, where it turns strictly one way and
    /// once round; and how far its edges may lie from the true ones.
    fn convex(&self, polygon: &Polygon<f64>) -> Option<(Convex, f64)> {
        let ring = &polygon.exterior().0;
        if !polygon.interiors().is_empty() || !(4..=MOST_CONVEX_CORNERS + 1).contains(&ring.len()) {
            return None;
        }
        let places: SmallVec<[LonLat; MOST_CONVEX_CORNERS + 1]> = ring
            .iter()
            .map(|corner| LonLat::wrapped(corner.x, corner.y))
            .collect();
        let cutting = self.cutting(&places);
        let mut corners = [Xy::default(); MOST_CONVEX_CORNERS];
        let (mut count, mut longest) = (0, 0.0);
        for ends in places.windows(2) {
            let (parts, length) = cutting.pieces(ends[0], ends[1]);
            longest = f64::max(longest, length);
            if count + parts > MOST_CONVEX_CORNERS {
                return None;
            }
            for place in Cutting::along(ends[0], ends[1], parts) {
                corners[count] = self.frame.to_plane(place);
                count += 1;
            }
        }
        // The first place came last.
        let corners = &mut corners[..count];
        corners.rotate_right(1);
        if side(corners[0], corners[1], corners[2]) == Orientation::Clockwise {
            corners.reverse();
        }
        let is_left = |a, b, c| side(a, b, c) == Orientation::CounterClockwise;
        let (first, last) = (corners[0], corners[count - 1]);
        let turns_left = corners.windows(3).all(|it| is_left(it[0], it[1], it[2]))
            && is_left(corners[count - 2], last, first)
            && is_left(last, first, corners[1]);
        // Seen from the first corner the others follow one another anticlockwise: it winds once.
        let winds_once = (corners[1..].windows(2)).all(|it| is_left(first, it[0], it[1]));
        (turns_left && winds_once).then(|| (Convex::polygon(corners), cutting.bow(longest)))
    }

    fn polygon(&self, polygon: &Polygon<f64>) -> Polygon<f64> {
        let ring = |ring: &LineString<f64>| -> LineString<f64> {
            let places: Vec<LonLat> = ring
                .coords()
                .map(|corner| LonLat::wrapped(corner.x, corner.y))
                .collect();
            let (places, ..) = self.chain(&places);
            let points = places.into_iter().map(|place| self.frame.to_plane(place));
            points.map(coord).collect()
        };
        Polygon::new(
            ring(polygon.exterior()),
            polygon.interiors().iter().map(ring).collect(),
        )
    }
}

/// Most corners of an outline that is looked at as one convex set.
const MOST_CONVEX_CORNERS: usize = 8;

/// Whether some triangles have the area of what they were cut from, which is above 0. Written so
/// that NaN fails.
pub fn make_up(cells: &[Cell], whole_m2: f64) -> bool {
    let parts: f64 = cells.iter().map(Cell::area).sum();
    whole_m2 > 0.0 && (parts - whole_m2).abs() <= whole_m2 * TRIANGULATION_TOLERANCE
}

/// Into how many equal parts an edge that is straight in longitude and latitude is cut, so that each
/// is straight in the plane within [`LAYOUT_ERROR_M`].
#[must_use]
pub fn parts_of_edge(from: LonLat, to: LonLat) -> usize {
    let cutting = Cutting::of(&[from, to], Metres::of(LAYOUT_ERROR_M));
    cutting.pieces(from, to).0
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
    Cutting::of(places, bow).cut(places).0
}

/// How edges are cut that lie between two latitudes.
#[derive(Clone, Copy, Debug)]
struct Cutting {
    /// No piece is longer, metres.
    longest_m: f64,
    /// The greatest cosine of a latitude.
    cosine: f64,
    /// How far a piece of 1 m may bow out, metres; one of a length by its square times that.
    bow_m: f64,
}

impl Cutting {
    /// So that no piece of an edge between those latitudes, degrees, bows out by more than `error`.
    fn between(south: f64, north: f64, error: Metres) -> Self {
        let highest = south.abs().max(north.abs());
        let least = if south <= 0.0 && north >= 0.0 {
            0.0
        } else {
            south.abs().min(north.abs())
        };
        Self {
            longest_m: longest_segment(error, highest).m().min(LONGEST_PIECE_M),
            cosine: least.to_radians().cos(),
            bow_m: sagitta_bound(Metres::of(1.0), highest).m(),
        }
    }

    fn of(places: &[LonLat], error: Metres) -> Self {
        let latitudes = places.iter().map(|place| place.lat());
        let (south, north) = latitudes.fold((f64::INFINITY, f64::NEG_INFINITY), |range, at| {
            (range.0.min(at), range.1.max(at))
        });
        Self::between(south, north, error)
    }

    /// The places at the ends of the pieces of a chain; how far these may bow out, metres; and how much
    /// may lie between them and the chain, square metres: of each no more than its bow times its length.
    fn cut(&self, places: &[LonLat]) -> (Vec<LonLat>, f64, f64) {
        let mut cut: Vec<LonLat> = Vec::with_capacity(places.len());
        cut.extend(places.first());
        let (mut longest, mut astray_m2) = (0.0, 0.0);
        for pair in places.windows(2) {
            let (parts, length) = self.pieces(pair[0], pair[1]);
            cut.extend(Self::along(pair[0], pair[1], parts));
            longest = f64::max(longest, length);
            astray_m2 += parts as f64 * self.bow(length) * length;
        }
        (cut, self.bow(longest), astray_m2)
    }

    /// How far a piece of a length may bow out, metres.
    fn bow(&self, length: f64) -> f64 {
        self.bow_m * length * length
    }

    /// Into how many equal parts an edge of the chain is cut, and their length, metres.
    fn pieces(&self, from: LonLat, to: LonLat) -> (usize, f64) {
        let apart = self.at_most_apart_m(from, to);
        if apart <= self.longest_m {
            return (1, apart);
        }
        let parts = (apart / self.longest_m).ceil().clamp(1.0, MOST_PIECES);
        (parts as usize, apart / parts)
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
    Laying::about(frame, Metres::of(LAYOUT_ERROR_M)).polygon(polygon)
}

/// None for a ring of fewer than three corners, which the triangulation would panic on.
pub fn triangles(polygon: &Polygon<f64>) -> Vec<Cell> {
    if polygon.exterior().0.len() < 4 {
        return Vec::new();
    }
    polygon
        .earcut_triangles_iter()
        .map(|triangle| Cell::new([xy(triangle.v1()), xy(triangle.v2()), xy(triangle.v3())]))
        .collect()
}

/// A plane point from a coordinate of the geometry crate.
#[must_use]
pub const fn xy(corner: Coord<f64>) -> Xy {
    Xy::new(corner.x, corner.y)
}

pub const fn coord(point: Xy) -> Coord<f64> {
    Coord {
        x: point.x,
        y: point.y,
    }
}
