//! How far an operating area is from a reference, and how much of it lies within a ring.
//!
//! Distances are Karney geodesics between the nearest points; edges are straight in longitude and
//! latitude (RFC 7946 section 3.1.1). The local plane proposes the nearest points of edges, the
//! geodesic decides: accuracy 1 mm. Not here: which reference a rule uses.

use geo::{Area, BooleanOps, Contains, Coord, Intersects, LineString, MultiPolygon, Polygon};

use crate::field::convex::{Convex, nearest_on_segment};
use crate::field::proximity::Proximity;
use crate::frame::{LocalFrame, LonLat, Xy, distance, geodesic};
use crate::plan::{
    Corner, LAYOUT_ERROR_M, Plan, cut_short, inner_points, lay_out_polygon, outline_pieces, xy,
};
use crate::search::{self, Limits, Scope};
use crate::units::{Bearing, Metres};

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

impl Target {
    /// Its places, or the corners of its polygons: no point of it lies outside their box.
    pub fn corners(&self) -> Box<dyn Iterator<Item = LonLat> + '_> {
        match self {
            Self::Places(places) => Box::new(places.iter().map(|(place, _)| *place)),
            Self::Polygons(polygons) => Box::new(
                polygons
                    .iter()
                    .flat_map(|polygon| polygon.exterior().coords())
                    .map(|corner| LonLat::wrapped(corner.x, corner.y)),
            ),
        }
    }
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
    /// The true bearing at `from` towards `to`; none when they overlap.
    pub bearing: Option<Bearing>,
    /// Which of a target's places it is.
    pub place: Option<usize>,
}

/// An area asked for distances.
#[derive(Clone, Copy)]
pub struct Measured<'a> {
    plan: &'a Plan,
}

/// The nearest point of an edge to a place, as the plane has it.
#[derive(Clone, Copy)]
struct Foot {
    from: Corner,
    to: Corner,
    share: f64,
    distance: f64,
}

impl Foot {
    fn of(place: Xy, from: Corner, to: Corner) -> Self {
        let share = share_of_nearest(from.point, to.point, place);
        Self {
            from,
            to,
            share,
            distance: from.point.towards(to.point, share).distance(place),
        }
    }

    /// Where it is on the edge itself.
    fn place(&self) -> LonLat {
        if self.share <= 0.0 {
            self.from.place
        } else if self.share >= 1.0 {
            self.to.place
        } else {
            self.from.place.towards(self.to.place, self.share)
        }
    }
}

impl<'a> Measured<'a> {
    /// Makes an area ready.
    #[must_use]
    pub const fn new(plan: &'a Plan) -> Self {
        Self { plan }
    }

    /// The shortest connection from a target to the area; none for a target without points.
    #[must_use]
    pub fn nearest(&self, target: &Target) -> Option<Nearest> {
        match target {
            Target::Places(places) => places
                .iter()
                .enumerate()
                .map(|(number, (place, _))| Nearest {
                    place: Some(number),
                    ..self.nearest_to_place(*place)
                })
                .min_by(|a, b| a.distance.m().total_cmp(&b.distance.m())),
            Target::Polygons(polygons) => self.nearest_to_polygons(polygons),
        }
    }

    /// Bounds on the distance of the nearest of some places, metres, without a geodesic where the
    /// places are near; never wrong, and closer than two metres within 50 km of small areas.
    #[must_use]
    pub fn bounds(&self, places: impl IntoIterator<Item = LonLat>) -> (f64, f64) {
        let frame = self.plan.frame();
        let mut bounds = (f64::INFINITY, f64::INFINITY);
        for place in places {
            let point = frame.to_plane(place);
            let out = point.distance(Xy::default());
            let radius = self.plan.radius().m();
            let slack = plane_slack(out.max(radius));
            let least = if out <= radius {
                0.0
            } else {
                least_in_plane(point, edges(self.plan.rings()))
            };
            let most = if out <= radius { out + radius } else { least };
            bounds.0 = bounds.0.min(least - slack);
            bounds.1 = bounds.1.min(most + slack);
        }
        bounds
    }

    /// The farthest that a point of the area is from its nearest point of the target; never less
    /// than the truth. More for a target other than one place: by at most a millimetre, what edges bend
    /// in the plane ([`LAYOUT_ERROR_M`] each) and what the plane stretches it ([`LocalFrame::stretch`]:
    /// 0.04 m at 20 km). None for a target without points.
    #[must_use]
    pub fn farthest(&self, target: &Target) -> Option<Metres> {
        match target {
            Target::Places(places) => match places.as_slice() {
                [] => None,
                // The distance from one place is convex along an edge, so a vertex is farthest.
                [(only, _)] => Some(self.farthest_from_place(*only)),
                _ => self.farthest_from_sets(self.sets(target), 0.0),
            },
            Target::Polygons(_) => self.farthest_from_sets(self.sets(target), LAYOUT_ERROR_M),
        }
    }

    /// Whether [`Self::farthest`] is no farther than `radius`, given the distance of the nearest point;
    /// where the plane leaves no doubt nothing is measured.
    #[must_use]
    pub fn is_all_within(&self, target: &Target, nearest: Metres, radius: Metres) -> bool {
        let most = nearest.m() + 2.0 * self.plan.radius().m();
        let slack = plane_slack(most) + FARTHEST_TOLERANCE_M + 2.0 * LAYOUT_ERROR_M;
        if most + slack <= radius.m() {
            return true;
        }
        if let Target::Places(places) = target
            && let [(only, _)] = places.as_slice()
        {
            let point = self.plan.frame().to_plane(*only);
            let corners = self.plan.rings().iter().flatten();
            let farthest = corners
                .map(|corner| corner.point.distance(point))
                .fold(0.0, f64::max);
            if farthest + slack <= radius.m() {
                return true;
            }
            if farthest - slack > radius.m() {
                return false;
            }
        }
        self.farthest(target)
            .is_some_and(|farthest| farthest <= radius)
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

    fn nearest_to_place(&self, place: LonLat) -> Nearest {
        let point = self.plan.frame().to_plane(place);
        let may_hold = point.distance(Xy::default()) <= self.plan.radius().m() + LAYOUT_ERROR_M;
        let overlap = Nearest {
            distance: Metres::ZERO,
            from: place,
            to: place,
            bearing: None,
            place: None,
        };
        if may_hold
            && self.plan.polygons().intersects(&Coord {
                x: point.x,
                y: point.y,
            })
        {
            return overlap;
        }
        nearest_on_edges(place, point, edges(self.plan.rings())).unwrap_or(overlap)
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
                bearing: None,
                place: None,
            });
        }
        let rings: Vec<Vec<Corner>> = polygons
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .map(|ring| {
                let corner = |place| Corner {
                    place,
                    point: frame.to_plane(place),
                };
                cut_short(&places_of(ring))
                    .into_iter()
                    .map(corner)
                    .collect()
            })
            .collect();
        // Between two short edges apart, the nearest pair has a vertex of one of them.
        let from_target = nearest_pair(&rings, self.plan.rings());
        let from_area = nearest_pair(self.plan.rings(), &rings).map(|found| {
            let line = geodesic(found.to, found.from);
            Nearest {
                from: found.to,
                to: found.from,
                bearing: found.bearing.map(|_| line.bearing_from),
                ..found
            }
        });
        from_target
            .into_iter()
            .chain(from_area)
            .min_by(|a, b| a.distance.m().total_cmp(&b.distance.m()))
    }

    fn farthest_from_place(&self, place: LonLat) -> Metres {
        self.plan
            .rings()
            .iter()
            .flatten()
            .map(|corner| distance(place, corner.place))
            .fold(Metres::ZERO, Metres::max)
    }

    /// The farthest distance from the union of some sets, by search in the plane, which only ever
    /// stretches distances (the ellipsoid is curved outwards everywhere).
    fn farthest_from_sets(&self, sets: Vec<Convex>, layout_error_m: f64) -> Option<Metres> {
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
            .then(|| Metres::of(farthest + self.plan.layout_error_m() + layout_error_m))
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

fn edges(rings: &[Vec<Corner>]) -> impl Iterator<Item = (Corner, Corner)> + Clone + '_ {
    rings
        .iter()
        .flat_map(|ring| ring.windows(2))
        .filter_map(|pair| match pair {
            [from, to] => Some((*from, *to)),
            _ => None,
        })
}

/// The nearest of the corners of some rings to the edges of others.
fn nearest_pair(rings: &[Vec<Corner>], others: &[Vec<Corner>]) -> Option<Nearest> {
    let corners = || rings.iter().flatten();
    let least: Vec<f64> = corners()
        .map(|corner| least_in_plane(corner.point, edges(others)))
        .collect();
    let best = least.iter().copied().fold(f64::INFINITY, f64::min);
    let farthest_out = corners()
        .map(|corner| corner.point.distance(Xy::default()))
        .fold(0.0, f64::max);
    let slack = plane_slack(farthest_out);
    corners()
        .zip(&least)
        .filter(|(_, least)| **least <= best + 2.0 * slack)
        .filter_map(|(corner, _)| nearest_on_edges(corner.place, corner.point, edges(others)))
        .min_by(|a, b| a.distance.m().total_cmp(&b.distance.m()))
}

fn least_in_plane(point: Xy, edges: impl Iterator<Item = (Corner, Corner)>) -> f64 {
    edges
        .map(|(from, to)| nearest_on_segment(from.point, to.point, point).distance(point))
        .fold(f64::INFINITY, f64::min)
}

/// By how much a plane distance over points within `radius` of the origin can be off, metres.
fn plane_slack(radius: f64) -> f64 {
    radius * LocalFrame::stretch(Metres::of(radius)) + 0.001
}

/// The point of some short edges nearest to a place, by geodesic.
fn nearest_on_edges(
    place: LonLat,
    point: Xy,
    edges: impl Iterator<Item = (Corner, Corner)> + Clone,
) -> Option<Nearest> {
    let (mut least, mut radius) = (f64::INFINITY, 0f64);
    for (from, to) in edges.clone() {
        least = least.min(Foot::of(point, from, to).distance);
        radius = radius.max(from.point.distance(Xy::default()));
    }
    let away = point.distance(Xy::default());
    let limit = least + 2.0 * plane_slack(radius.max(away));
    let by_plane = is_foot_good(least, radius);
    let mut best: Option<Nearest> = None;
    let mut last = None;
    for (from, to) in edges {
        let foot = Foot::of(point, from, to);
        if foot.distance > limit {
            continue;
        }
        let to = if by_plane {
            foot.place()
        } else {
            nearest_on_edge(place, &foot)
        };
        // Two edges share the corner between them.
        if last.replace(to) == Some(to) {
            continue;
        }
        let line = geodesic(place, to);
        if best
            .as_ref()
            .is_none_or(|best| line.distance < best.distance)
        {
            best = Some(Nearest {
                distance: line.distance,
                from: place,
                to,
                bearing: (line.distance.m() > 0.0).then_some(line.bearing_from),
                place: None,
            });
        }
    }
    best
}

/// The farthest that the foot found in the plane is taken for the nearest point, metres.
const FOOT_BY_PLANE_M: f64 = 50_000.0;

/// See [`is_foot_good`]: 10 µm times twice the fourth power of the least radius of the Earth.
const FOOT_LIMIT_M5: f64 = 1e-5 * 2.0 * 1.6e27;

/// Whether the foot of a perpendicular in the plane is as good as the nearest point by geodesic.
///
/// The plane turns a geodesic of length s that passes within r of its origin by no more than about
/// s r ⁄ R² at its end, so the foot lies s² r ⁄ R² beside the nearest point, and is farther by the
/// square of that over 2 s: s³ r² ⁄ 2 R⁴, here kept below 10 µm. Edges bend less than 1 mm from a
/// straight line over their length ([`LAYOUT_ERROR_M`]), which adds less than 0.1 mm within
/// [`FOOT_BY_PLANE_M`] below 80 degrees of latitude. Tested against a search by geodesics.
fn is_foot_good(distance: f64, radius: f64) -> bool {
    distance <= FOOT_BY_PLANE_M && distance.powi(3) * radius.powi(2) <= FOOT_LIMIT_M5
}

/// Where along a segment, 0 to 1, the point nearest to another lies.
fn share_of_nearest(from: Xy, to: Xy, point: Xy) -> f64 {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length_squared = dx * dx + dy * dy;
    if length_squared == 0.0 {
        return 0.0;
    }
    (((point.x - from.x) * dx + (point.y - from.y) * dy) / length_squared).clamp(0.0, 1.0)
}

/// The point of one edge nearest to a place by golden section: on a short edge the distance is convex.
fn nearest_on_edge(place: LonLat, foot: &Foot) -> LonLat {
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    let edge = |share: f64| foot.from.place.towards(foot.to.place, share);
    let at = |share: f64| distance(place, edge(share)).m();
    let length = (foot.from.point.distance(foot.to.point)).max(EDGE_SEARCH_M);
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
    [0.0, f64::midpoint(low, high), 1.0]
        .into_iter()
        .min_by(|a, b| at(*a).total_cmp(&at(*b)))
        .map_or(foot.from.place, edge)
}
