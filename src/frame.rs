//! Places on the WGS 84 ellipsoid, geodesics between them, and the local plane around a site.
//!
//! Geodesics are Karney's (C. F. F. Karney, "Algorithms for geodesics", J. Geodesy 87, 2013,
//! doi:10.1007/s00190-012-0578-z) through the `geographiclib-rs` crate; accurate to 15 nm by its
//! own account, tested here to 1 µm. Segments are straight in longitude and latitude, as
//! RFC 7946 section 3.1.1 has them; [`sagitta_bound`] bounds how far that is from the geodesic.
//!
//! Not here: what lies at a place (records), or what is allowed there (fields).

use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};
use serde::Serialize;

use crate::units::{Bearing, InvalidValue, Metres};

/// The smallest radius of curvature of the WGS 84 ellipsoid, metres: the meridian at the equator,
/// a(1 − e²) = 6 335 439.327 m (closed form).
const LEAST_CURVATURE_RADIUS_M: f64 = 6_335_439.327;

/// The closest to a pole, in degrees of latitude, that a site may lie: beyond it longitude says
/// too little for segments that are straight in longitude and latitude.
pub const HIGHEST_SITE_LATITUDE_DEG: f64 = 89.0;

/// A place in WGS 84 longitude and latitude, degrees; −180 ≤ longitude ≤ 180, −90 ≤ latitude ≤ 90.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LonLat {
    #[serde(rename = "lon_deg")]
    lon: f64,
    #[serde(rename = "lat_deg")]
    lat: f64,
}

impl LonLat {
    /// From degrees.
    ///
    /// # Errors
    /// [`InvalidValue`] when a value is not finite, or is outside its range.
    pub fn new(lon: f64, lat: f64) -> Result<Self, InvalidValue> {
        if !(-180.0..=180.0).contains(&lon) {
            return Err(InvalidValue {
                value: lon,
                reason: "is not a longitude from -180 to 180 degrees",
            });
        }
        if !(-90.0..=90.0).contains(&lat) {
            return Err(InvalidValue {
                value: lat,
                reason: "is not a latitude from -90 to 90 degrees",
            });
        }
        Ok(Self { lon, lat })
    }

    /// From finite degrees with any number of turns in the longitude; latitude clamped to the poles.
    #[must_use]
    pub fn wrapped(lon: f64, lat: f64) -> Self {
        Self {
            // A longitude in range is kept to the last digit.
            lon: if (-180.0..=180.0).contains(&lon) {
                lon
            } else {
                (lon + 180.0).rem_euclid(360.0) - 180.0
            },
            lat: lat.clamp(-90.0, 90.0),
        }
    }

    /// Longitude in degrees, east positive.
    #[must_use]
    pub const fn lon(self) -> f64 {
        self.lon
    }

    /// Latitude in degrees, north positive.
    #[must_use]
    pub const fn lat(self) -> f64 {
        self.lat
    }

    /// The place a `share` (0 to 1) of the way to `other` along the segment that is straight in
    /// longitude and latitude, taken the short way round across the antimeridian.
    #[must_use]
    pub fn towards(self, other: Self, share: f64) -> Self {
        let step = longitude_step(self.lon, other.lon);
        Self::wrapped(
            self.lon + share * step,
            self.lat + share * (other.lat - self.lat),
        )
    }
}

/// The change of longitude from one meridian to another, the short way round, degrees in −180..=180.
#[must_use]
pub fn longitude_step(from: f64, to: f64) -> f64 {
    // A turn is taken off the longitude itself, so that −180 and 180 give the same step to the last
    // digit.
    let step = to - from;
    if step.abs() <= 180.0 {
        step
    } else if step.abs() <= 360.0 {
        (to - 360f64.copysign(step)) - from
    } else {
        (step + 180.0).rem_euclid(360.0) - 180.0
    }
}

/// A geodesic between two places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GeodesicLine {
    /// Its length on the ellipsoid.
    pub distance: Metres,
    /// The true bearing at the first place, towards the second.
    pub bearing_from: Bearing,
    /// The true bearing at the second place, pointing away from the first.
    pub bearing_onward: Bearing,
}

/// The geodesic from one place to another (the inverse problem).
///
/// Accuracy: 1 µm in distance against the GeodTest set; the bearing is good to 1e-7 degrees beyond
/// 10 m, and is 0 for coincident places.
#[must_use]
pub fn geodesic(from: LonLat, to: LonLat) -> GeodesicLine {
    let (distance, from_azimuth, onward_azimuth, _arc): (f64, f64, f64, f64) =
        Geodesic::wgs84().inverse(from.lat, from.lon, to.lat, to.lon);
    GeodesicLine {
        distance: Metres::of(distance),
        bearing_from: Bearing::new(from_azimuth).unwrap_or(NORTH),
        bearing_onward: Bearing::new(onward_azimuth).unwrap_or(NORTH),
    }
}

/// The length of the geodesic between two places.
#[must_use]
pub fn distance(from: LonLat, to: LonLat) -> Metres {
    let metres: f64 = Geodesic::wgs84().inverse(from.lat, from.lon, to.lat, to.lon);
    Metres::of(metres)
}

/// The place at a distance and true bearing (the direct problem).
#[must_use]
pub fn destination(from: LonLat, bearing: Bearing, distance: Metres) -> LonLat {
    let (lat, lon): (f64, f64) =
        Geodesic::wgs84().direct(from.lat, from.lon, bearing.degrees(), distance.m());
    LonLat::wrapped(lon, lat)
}

const NORTH: Bearing = Bearing::NORTH;

/// How far a segment of the given length, straight in longitude and latitude, can lie from the
/// geodesic between its ends.
///
/// To first order the segment has the curvature tan φ ⁄ R of a parallel (an east–west segment is
/// the worst case; on the meridian the two coincide), so its sagitta is L² tan φ ⁄ 8R. Doubled for
/// what the first order leaves out; valid below [`HIGHEST_SITE_LATITUDE_DEG`] and for lengths
/// small beside the distance to the pole. Tested against dense sampling with Karney geodesics.
#[must_use]
pub fn sagitta_bound(length: Metres, highest_latitude_deg: f64) -> Metres {
    let tangent = highest_latitude_deg
        .abs()
        .min(HIGHEST_SITE_LATITUDE_DEG)
        .to_radians()
        .tan();
    Metres::of(2.0 * length.m() * length.m() * tangent / (8.0 * LEAST_CURVATURE_RADIUS_M))
}

/// The longest segment whose [`sagitta_bound`] stays below `sagitta` at that latitude.
#[must_use]
pub fn longest_segment(sagitta: Metres, highest_latitude_deg: f64) -> Metres {
    let tangent = highest_latitude_deg
        .abs()
        .min(HIGHEST_SITE_LATITUDE_DEG)
        .to_radians()
        .tan()
        .max(1e-6);
    Metres::of((4.0 * LEAST_CURVATURE_RADIUS_M * sagitta.m() / tangent).sqrt())
}

/// A point of a [`LocalFrame`], metres east (x) and north (y) of its origin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Xy {
    /// Metres east of the origin.
    pub x: f64,
    /// Metres north of the origin.
    pub y: f64,
}

impl Xy {
    /// A point from its coordinates.
    #[must_use]
    #[inline]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The straight distance to another point, metres.
    #[must_use]
    #[inline]
    pub fn distance(self, other: Self) -> f64 {
        let (x, y) = (self.x - other.x, self.y - other.y);
        (x * x + y * y).sqrt()
    }

    /// The point a `share` (0 to 1) of the way to `other`.
    #[must_use]
    #[inline]
    pub fn towards(self, other: Self, share: f64) -> Self {
        Self::new(
            self.x + share * (other.x - self.x),
            self.y + share * (other.y - self.y),
        )
    }
}

/// The azimuthal equidistant plane about an origin: distance and bearing *from the origin* are exact
/// to a micrometre.
///
/// Between two other points it never shortens a distance (the ellipsoid is curved outwards
/// everywhere: Rauch's comparison theorem) and stretches it by no more than [`LocalFrame::stretch`]; on
/// the sites that eaves serves (a few kilometres) that is below a millimetre in a hundred metres,
/// and callers take it off the reach of a shield.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LocalFrame {
    origin: LonLat,
    tangent: Tangent,
}

impl LocalFrame {
    /// The plane about `origin`.
    #[must_use]
    pub fn about(origin: LonLat) -> Self {
        Self {
            origin,
            tangent: Tangent::at(origin),
        }
    }

    /// The place where x and y are 0.
    #[must_use]
    pub const fn origin(&self) -> LonLat {
        self.origin
    }

    /// The point of the plane for a place: within `NEAR_M` by the chord, beyond by Karney's inverse.
    #[must_use]
    pub fn to_plane(&self, place: LonLat) -> Xy {
        if let Some(near) = self.tangent.to_plane(self.origin, place) {
            return near;
        }
        let line = geodesic(self.origin, place);
        let (sine, cosine) = line.bearing_from.degrees().to_radians().sin_cos();
        Xy::new(line.distance.m() * sine, line.distance.m() * cosine)
    }

    /// Bounds on the distance of a place from the origin, metres, without a geodesic; from above only as
    /// far as the chord is no longer than the least radius of curvature. At 500 km they are a metre off.
    ///
    /// The chord is not longer. No curve on the ellipsoid bends more than a circle of the least radius of
    /// curvature R, so a geodesic is no longer than the arc of that circle over the same chord,
    /// 2 R asin(c ⁄ 2R) (A. Schur's comparison theorem; for arcs below a half circle).
    #[must_use]
    pub fn rough_distance(&self, place: LonLat) -> (f64, f64) {
        let chord = self.tangent.chord(self.origin, place);
        let most = if chord <= LEAST_CURVATURE_RADIUS_M {
            let twice = 2.0 * LEAST_CURVATURE_RADIUS_M;
            twice * (chord / twice).asin() * (1.0 + ROUNDING)
        } else {
            f64::INFINITY
        };
        (chord * (1.0 - ROUNDING), most)
    }

    /// Whether a place is no farther from the origin than `radius`; a geodesic is measured only where
    /// [`Self::rough_distance`] leaves that open.
    #[must_use]
    pub fn is_within(&self, place: LonLat, radius: Metres) -> bool {
        let (least, most) = self.rough_distance(place);
        least <= radius.m() && (most <= radius.m() || distance(self.origin, place) <= radius)
    }

    /// The place for a point of the plane.
    #[must_use]
    pub fn to_place(&self, point: Xy) -> LonLat {
        let bearing = Bearing::new(point.x.atan2(point.y).to_degrees()).unwrap_or(NORTH);
        destination(self.origin, bearing, Metres::of(point.x.hypot(point.y)))
    }

    /// The most by which the plane changes a distance between two points within `radius` of the
    /// origin, as a share of that distance.
    ///
    /// In the azimuthal equidistant projection of a sphere the scale across the radius is
    /// (r ⁄ R) ⁄ sin(r ⁄ R) = 1 + r² ⁄ 6R² + …; the ellipsoid changes R by less than 1 %. Taken here
    /// as r² ⁄ 5R² with the smallest R. Tested against Karney distances at every latitude.
    #[must_use]
    pub fn stretch(radius: Metres) -> f64 {
        (radius.m() / LEAST_CURVATURE_RADIUS_M).powi(2) / 5.0
    }
}

/// How far from the origin a plane point is found by the chord, metres.
const NEAR_M: f64 = 20_000.0;

/// Covers the rounding of a chord and of its arc, as a share.
const ROUNDING: f64 = 1e-12;

/// The semi-major axis of WGS 84, metres (NIMA TR8350.2).
const SEMI_MAJOR_M: f64 = 6_378_137.0;

/// The square of its first eccentricity: f (2 − f) with f = 1 ⁄ 298.257 223 563 (NIMA TR8350.2).
const ECCENTRICITY_SQUARED: f64 = (2.0 - 1.0 / 298.257_223_563) / 298.257_223_563;

/// The horizon of an origin, and how the ellipsoid curves there.
///
/// Within [`NEAR_M`] a geodesic follows its normal section: from the chord c and the curvature κ of
/// the section at the origin its length is c + κ² c³ ⁄ 24, and its azimuth is less by
/// e′² cos² φ sin 2α c² ⁄ 12 N² (both to first order, as in W. Torge, Geodesy, on normal sections; from
/// memory). What that leaves out was measured against Karney's algorithm: 7 nm within a kilometre,
/// 0.5 µm at 20 km.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Tangent {
    latitude: f64,
    sine: f64,
    cosine: f64,
    /// The origin about the centre of the Earth, metres: towards its meridian, and north.
    out: f64,
    up: f64,
    /// Curvature along the meridian and across it, 1 ⁄ m.
    along: f64,
    across: f64,
    /// e′² cos² φ ⁄ 6 N², by which azimuths are turned.
    turn: f64,
}

impl Tangent {
    fn at(origin: LonLat) -> Self {
        let latitude = origin.lat.to_radians();
        let (sine, cosine) = latitude.sin_cos();
        let squared = 1.0 - ECCENTRICITY_SQUARED * sine * sine;
        let normal = SEMI_MAJOR_M / squared.sqrt();
        let across = 1.0 / normal;
        let second = ECCENTRICITY_SQUARED / (1.0 - ECCENTRICITY_SQUARED);
        Self {
            latitude,
            sine,
            cosine,
            out: normal * cosine,
            up: normal * (1.0 - ECCENTRICITY_SQUARED) * sine,
            along: across * squared / (1.0 - ECCENTRICITY_SQUARED),
            across,
            turn: second * cosine * cosine * across * across / 6.0,
        }
    }

    /// The straight way through the Earth from the origin to a place, metres.
    fn chord(self, origin: LonLat, place: LonLat) -> f64 {
        let (sine, cosine) = place.lat.to_radians().sin_cos();
        let (east_sine, east_cosine) = (place.lon - origin.lon).to_radians().sin_cos();
        let normal = SEMI_MAJOR_M / (1.0 - ECCENTRICITY_SQUARED * sine * sine).sqrt();
        let out = normal * cosine * east_cosine - self.out;
        let up = normal * (1.0 - ECCENTRICITY_SQUARED) * sine - self.up;
        let across = normal * cosine * east_sine;
        (out * out + up * up + across * across).sqrt()
    }

    /// The plane point of a place; none beyond [`NEAR_M`].
    fn to_plane(self, origin: LonLat, place: LonLat) -> Option<Xy> {
        let north = place.lat.to_radians() - self.latitude;
        if north.abs() * LEAST_CURVATURE_RADIUS_M > NEAR_M * 1.01 {
            return None;
        }
        let east = longitude_step(origin.lon, place.lon).to_radians();
        let (north_sine, north_cosine) = small_sin_cos(north);
        let (east_sine, east_cosine) = small_sin_cos(east);
        let sine = self.sine * north_cosine + self.cosine * north_sine;
        let cosine = self.cosine * north_cosine - self.sine * north_sine;
        let normal = SEMI_MAJOR_M / (1.0 - ECCENTRICITY_SQUARED * sine * sine).sqrt();
        let out = normal * cosine * east_cosine - self.out;
        let up = normal * (1.0 - ECCENTRICITY_SQUARED) * sine - self.up;
        let x = normal * cosine * east_sine;
        let y = self.cosine * up - self.sine * out;
        let below = self.cosine * out + self.sine * up;
        let level = x * x + y * y;
        if level > NEAR_M * NEAR_M {
            return None;
        }
        if level == 0.0 {
            return Some(Xy::default());
        }
        let curvature = (y * y * self.along + x * x * self.across) / level;
        let chord = level + below * below;
        let scale = (chord / level).sqrt() * (1.0 + chord * curvature * curvature / 24.0);
        let turn = self.turn * chord * x * y / level;
        Some(Xy::new((x - turn * y) * scale, (y + turn * x) * scale))
    }
}

/// Sine and cosine; of a small angle by their series, to the last digit or two.
fn small_sin_cos(angle: f64) -> (f64, f64) {
    if angle.abs() > 0.01 {
        return angle.sin_cos();
    }
    let square = angle * angle;
    (
        angle * (1.0 - square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0))),
        1.0 - square / 2.0 * (1.0 - square / 12.0 * (1.0 - square / 30.0)),
    )
}

/// The least excess of a ring, metres: a finer one is not worth its corners, and none at all would
/// need infinitely many.
const LEAST_RING_EXCESS_M: f64 = 0.001;

/// The ring of places at `radius` from `centre`, as the vertices of a polygon that contains the
/// geodesic circle and exceeds it by at most `excess` anywhere (anticlockwise, not closed).
///
/// An excess below 1 mm is taken as 1 mm. Holds for rings that stay below
/// [`HIGHEST_SITE_LATITUDE_DEG`]; tested with radii of 50 m to 10 NM.
#[must_use]
pub fn circumscribed_ring(centre: LonLat, radius: Metres, excess: Metres) -> Vec<LonLat> {
    let excess = excess.max(Metres::of(LEAST_RING_EXCESS_M));
    let excess_share = (excess.m() / 2.0 / radius.m().max(1e-9)).clamp(1e-12, 0.5);
    let half_angle = (1.0 / (1.0 + excess_share)).acos();
    // Half of the excess is spent on the corners, the rest covers the difference between an edge
    // that is straight in longitude and latitude and the geodesic.
    let corners = (std::f64::consts::PI / half_angle).ceil().max(8.0);
    let edge = 2.0 * radius.m() * (std::f64::consts::PI / corners).tan();
    let highest = (centre.lat.abs() + radius.m() / 100_000.0).min(HIGHEST_SITE_LATITUDE_DEG);
    let bulge = sagitta_bound(Metres::of(edge), highest).m();
    let count = if bulge > excess.m() / 4.0 {
        (corners * (bulge * 4.0 / excess.m()).sqrt()).ceil()
    } else {
        corners
    };
    let edge = 2.0 * radius.m() * (std::f64::consts::PI / count).tan();
    let bulge = sagitta_bound(Metres::of(edge), highest).m();
    let corner_radius = Metres::of((radius.m() + bulge) / (std::f64::consts::PI / count).cos());
    (0..count as usize)
        .map(|k| {
            let degrees = 360.0 - 360.0 * k as f64 / count;
            destination(
                centre,
                Bearing::new(degrees).unwrap_or(NORTH),
                corner_radius,
            )
        })
        .collect()
}
