//! How far an operating area is from a reference, and how much of it lies within a ring.
//!
//! Distances are Karney geodesics between the nearest points; edges are straight in longitude and
//! latitude (RFC 7946 section 3.1.1). The local plane proposes the nearest pair of edges, the
//! geodesic decides: accuracy 1 mm. Not here: which reference a rule uses.

use geo::{Area, BooleanOps, Contains, Coord, Intersects, LineString, MultiPolygon, Polygon};

use crate::field::convex::{Convex, nearest_on_segment};
use crate::field::proximity::Proximity;
use crate::frame::{LocalFrame, LonLat, Xy, distance};
use crate::plan::{
    LAYOUT_ERROR_M, Plan, cut_short, inner_points, lay_out_polygon, outline_pieces, xy,
};
use crate::search::{self, Limits, Scope};
use crate::site::OperatingArea;
use crate::units::Metres;

/// How close the least distance along an edge is found, metres.
const EDGE_SEARCH_M: f64 = 0.000_05;

/// How close the farthest distance from a set is found, metres; it is reported rounded up by this.
const FARTHEST_TOLERANCE_M: f64 = 0.001;

/// Something to measure the distance from: places, or polygons in longitude and latitude.
#[derive(Clone, Debug)]
pub enum Target {
    /// Any of these places, each with its own name if it has one.
    Places(Vec<(LonLat, Option<String>)>),
    /// Any point of these polygons.
    Polygons(MultiPolygon<f64>),
}

/// The shortest connection between a target and an area.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// Its length; 0 when they overlap.
    pub distance: Metres,
    /// The point of the target.
    pub from: LonLat,
    /// The point of the area.
    pub to: LonLat,
    /// The name of the target's place, if it has one.
    pub part: Option<String>,
}

/// An area made ready for many distance questions.
pub struct Measured<'a> {
    plan: &'a Plan,
    /// The vertices of every ring, cut short, closed.
    rings: Vec<Vec<LonLat>>,
    edges: Vec<Edge>,
}

/// A short edge, on the ellipsoid and in the plane.
#[derive(Clone, Copy)]
struct Edge {
    from: LonLat,
    to: LonLat,
    plane: (Xy, Xy),
}

impl<'a> Measured<'a> {
    /// Makes an area ready.
    #[must_use]
    pub fn new(area: &OperatingArea, plan: &'a Plan) -> Self {
        let rings: Vec<Vec<LonLat>> = area.rings().map(|ring| cut_short(&ring)).collect();
        let edges = edges_of(plan.frame(), &rings);
        Self { plan, rings, edges }
    }

    /// The shortest connection from a target to the area; none for a target without points.
    #[must_use]
    pub fn nearest(&self, target: &Target) -> Option<Nearest> {
        match target {
            Target::Places(places) => places
                .iter()
                .map(|(place, name)| {
                    let (distance, to) = self.nearest_to_place(*place);
                    Nearest {
                        distance,
                        from: *place,
                        to,
                        part: name.clone(),
                    }
                })
                .min_by(|a, b| a.distance.m().total_cmp(&b.distance.m())),
            Target::Polygons(polygons) => self.nearest_to_polygons(polygons),
        }
    }

    /// The farthest that a point of the area is from its nearest point of the target; never less
    /// than the truth. More by at most a millimetre, and for a target other than one place also by
    /// what the plane stretches it ([`LocalFrame::stretch`]: 0.04 m at 20 km). None for a target
    /// without points.
    #[must_use]
    pub fn farthest(&self, target: &Target) -> Option<Metres> {
        match target {
            Target::Places(places) => match places.as_slice() {
                [] => None,
                // The distance from one place is convex along an edge, so a vertex is farthest.
                [(only, _)] => Some(self.farthest_from_place(*only)),
                _ => self.farthest_from_sets(self.sets(target)),
            },
            Target::Polygons(_) => self.farthest_from_sets(self.sets(target)),
        }
    }

    /// A target as convex sets of the plane.
    fn sets(&self, target: &Target) -> Vec<Convex> {
        let frame = self.plan.frame();
        match target {
            Target::Places(places) => places
                .iter()
                .map(|(place, _)| Convex::point(frame.to_plane(*place)))
                .collect(),
            Target::Polygons(polygons) => polygons
                .iter()
                .flat_map(|polygon| outline_pieces(frame, polygon))
                .collect(),
        }
    }

    /// The share of the area, 0 to 1, within `radius` of the target: never less than the truth, and
    /// more by at most a fiftieth of a percent of the area where the search is not cut short.
    #[must_use]
    pub fn share_within(&self, target: &Target, radius: Metres) -> f64 {
        let within = Proximity(self.sets(target));
        search::share_at_or_above(&within, self.plan.cells(), -radius.m(), 2e-4, 40_000).at_most
    }

    fn nearest_to_place(&self, place: LonLat) -> (Metres, LonLat) {
        let point = self.plan.frame().to_plane(place);
        if self.plan.polygons().intersects(&Coord {
            x: point.x,
            y: point.y,
        }) {
            return (Metres::ZERO, place);
        }
        nearest_on_edges(place, point, &self.edges).unwrap_or((Metres::ZERO, place))
    }

    fn nearest_to_polygons(&self, polygons: &MultiPolygon<f64>) -> Option<Nearest> {
        let frame = self.plan.frame();
        let laid_out: MultiPolygon<f64> = polygons
            .iter()
            .map(|polygon| lay_out_polygon(frame, polygon))
            .collect();
        if laid_out.intersects(self.plan.polygons()) {
            let shared = laid_out.intersection(self.plan.polygons());
            let point = inner_points(&shared).next().or_else(|| {
                let corners = |set: &MultiPolygon<f64>| -> Vec<Coord<f64>> {
                    set.iter()
                        .flat_map(|polygon| polygon.exterior().coords().copied())
                        .collect()
                };
                corners(&laid_out)
                    .into_iter()
                    .find(|corner| self.plan.polygons().intersects(corner))
                    .or_else(|| {
                        corners(self.plan.polygons())
                            .into_iter()
                            .find(|corner| laid_out.intersects(corner))
                    })
                    .map(xy)
            });
            let place = frame.to_place(point.unwrap_or_default());
            return Some(Nearest {
                distance: Metres::ZERO,
                from: place,
                to: place,
                part: None,
            });
        }
        let rings: Vec<Vec<LonLat>> = polygons
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .map(|ring| cut_short(&places_of(ring)))
            .collect();
        let target_edges = edges_of(frame, &rings);
        // Between two short edges apart, the nearest pair has a vertex of one of them.
        let vertices = |rings: &[Vec<LonLat>]| -> Vec<LonLat> { rings.concat() };
        let from_target =
            nearest_pair(frame, &vertices(&rings), &self.edges).map(|(distance, vertex, other)| {
                Nearest {
                    distance,
                    from: vertex,
                    to: other,
                    part: None,
                }
            });
        let from_area = nearest_pair(frame, &vertices(&self.rings), &target_edges).map(
            |(distance, vertex, other)| Nearest {
                distance,
                from: other,
                to: vertex,
                part: None,
            },
        );
        from_target
            .into_iter()
            .chain(from_area)
            .min_by(|a, b| a.distance.m().total_cmp(&b.distance.m()))
    }

    fn farthest_from_place(&self, place: LonLat) -> Metres {
        self.rings
            .iter()
            .flatten()
            .map(|vertex| distance(place, *vertex))
            .fold(Metres::ZERO, Metres::max)
    }

    /// The farthest distance from the union of some sets, by search in the plane, which only ever
    /// stretches distances (the ellipsoid is curved outwards everywhere).
    fn farthest_from_sets(&self, sets: Vec<Convex>) -> Option<Metres> {
        let field = Proximity(sets);
        let certificate = search::lowest(
            &field,
            self.plan.cells(),
            Scope::Everywhere,
            Limits::within(FARTHEST_TOLERANCE_M),
        )?;
        let farthest = -certificate.lower;
        farthest
            .is_finite()
            .then(|| Metres::of(farthest + 2.0 * LAYOUT_ERROR_M))
    }
}

/// Whether a place lies in some polygons of longitude and latitude, edges not included.
#[must_use]
pub fn contains(polygons: &MultiPolygon<f64>, place: LonLat) -> bool {
    polygons.contains(&Coord {
        x: place.lon(),
        y: place.lat(),
    })
}

/// The area of polygons of the plane, square metres.
#[must_use]
pub fn plane_area_m2(polygons: &MultiPolygon<f64>) -> f64 {
    polygons.iter().map(Polygon::unsigned_area).sum()
}

fn places_of(ring: &LineString<f64>) -> Vec<LonLat> {
    ring.coords()
        .map(|corner| LonLat::wrapped(corner.x, corner.y))
        .collect()
}

fn edges_of(frame: &LocalFrame, rings: &[Vec<LonLat>]) -> Vec<Edge> {
    rings
        .iter()
        .flat_map(|ring| ring.windows(2))
        .map(|pair| Edge {
            from: pair[0],
            to: pair[1],
            plane: (frame.to_plane(pair[0]), frame.to_plane(pair[1])),
        })
        .collect()
}

/// The nearest of some vertices to some edges: distance, vertex, point on the edge.
fn nearest_pair(
    frame: &LocalFrame,
    vertices: &[LonLat],
    edges: &[Edge],
) -> Option<(Metres, LonLat, LonLat)> {
    let points: Vec<Xy> = vertices
        .iter()
        .map(|place| frame.to_plane(*place))
        .collect();
    let least: Vec<f64> = points
        .iter()
        .map(|point| least_in_plane(*point, edges))
        .collect();
    let best = least.iter().copied().fold(f64::INFINITY, f64::min);
    let farthest_out = points
        .iter()
        .map(|point| point.x.hypot(point.y))
        .fold(0.0, f64::max);
    let slack = plane_slack(farthest_out);
    vertices
        .iter()
        .zip(&points)
        .zip(&least)
        .filter(|(_, least)| **least <= best + 2.0 * slack)
        .filter_map(|((vertex, point), _)| {
            nearest_on_edges(*vertex, *point, edges)
                .map(|(distance, other)| (distance, *vertex, other))
        })
        .min_by(|a, b| a.0.m().total_cmp(&b.0.m()))
}

fn least_in_plane(point: Xy, edges: &[Edge]) -> f64 {
    edges
        .iter()
        .map(|edge| nearest_on_segment(edge.plane.0, edge.plane.1, point).distance(point))
        .fold(f64::INFINITY, f64::min)
}

/// By how much a plane distance over points within `radius` of the origin can be off, metres.
fn plane_slack(radius: f64) -> f64 {
    radius * LocalFrame::stretch(Metres::of(radius)) + 0.001
}

/// The point of some short edges nearest to a place, by geodesic.
fn nearest_on_edges(place: LonLat, point: Xy, edges: &[Edge]) -> Option<(Metres, LonLat)> {
    let slack = edges
        .iter()
        .map(|edge| edge.plane.0.x.hypot(edge.plane.0.y))
        .fold(point.x.hypot(point.y), f64::max);
    let limit = least_in_plane(point, edges) + 2.0 * plane_slack(slack);
    edges
        .iter()
        .filter(|edge| {
            nearest_on_segment(edge.plane.0, edge.plane.1, point).distance(point) <= limit
        })
        .map(|edge| nearest_on_edge(place, edge))
        .min_by(|a, b| a.0.m().total_cmp(&b.0.m()))
}

/// The least geodesic distance along one edge by golden section: on a short edge it is convex.
fn nearest_on_edge(place: LonLat, edge: &Edge) -> (Metres, LonLat) {
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    let at = |share: f64| distance(place, edge.from.towards(edge.to, share)).m();
    let length = edge.plane.0.distance(edge.plane.1).max(EDGE_SEARCH_M);
    let (mut low, mut high) = (0.0, 1.0);
    let (mut left, mut right) = (1.0 - golden, golden);
    let (mut at_left, mut at_right) = (at(left), at(right));
    while (high - low) * length > EDGE_SEARCH_M {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = at(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = at(right);
        }
    }
    [0.0, (low + high) / 2.0, 1.0]
        .into_iter()
        .map(|share| (Metres::of(at(share)), edge.from.towards(edge.to, share)))
        .min_by(|a, b| a.0.m().total_cmp(&b.0.m()))
        .unwrap_or((distance(place, edge.from), edge.from))
}
