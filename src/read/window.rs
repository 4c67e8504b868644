//! A box of longitudes and latitudes that may cross the antimeridian.
//!
//! Not here: boxes in a file's own coordinates (see [`crate::read::filter`]).

use super::feature::Bounds;
use crate::frame::longitude_step;
use crate::site::OperatingArea;
use crate::units::Metres;

/// The smallest radius of curvature of the WGS 84 ellipsoid, metres: the meridian at the equator,
/// a(1 − e²) (closed form); a metre is nowhere more degrees of latitude than with it.
const LEAST_MERIDIAN_RADIUS_M: f64 = 6_335_439.327;

/// The smallest radius of curvature across the meridian, metres: the semi-major axis of WGS 84
/// (NIMA TR8350.2), reached at the equator.
const LEAST_CROSS_RADIUS_M: f64 = 6_378_137.0;

/// Slack in degrees for floating-point noise: 0.1 mm on the ground.
const NOISE_DEG: f64 = 1e-9;

/// A box of longitudes and latitudes in degrees; it crosses the antimeridian when west > east.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Western longitude.
    pub west: f64,
    /// Southern latitude.
    pub south: f64,
    /// Eastern longitude.
    pub east: f64,
    /// Northern latitude.
    pub north: f64,
}

impl Window {
    /// Its width in degrees of longitude, eastwards from its west edge.
    #[must_use]
    pub fn width(&self) -> f64 {
        if self.west <= self.east {
            (self.east - self.west).min(360.0)
        } else {
            (self.east - self.west).rem_euclid(360.0)
        }
    }

    /// Its ranges of longitude within −180..=180, west first: two when it crosses the antimeridian.
    #[must_use]
    pub fn longitudes(&self) -> Vec<(f64, f64)> {
        let width = self.width();
        if width >= 360.0 {
            return vec![(-180.0, 180.0)];
        }
        let west = (self.west + 180.0).rem_euclid(360.0) - 180.0;
        let east = west + width;
        if east <= 180.0 {
            vec![(west, east)]
        } else {
            vec![(west, 180.0), (-180.0, east - 360.0)]
        }
    }

    /// Whether a box in degrees touches it, whatever turn its longitudes are on. A box wider than
    /// half a turn is taken for one that crosses the antimeridian, and touches every longitude.
    #[must_use]
    pub fn touches(&self, bounds: &Bounds) -> bool {
        if bounds.south > self.north || bounds.north < self.south {
            return false;
        }
        let width = bounds.east - bounds.west;
        if width > 180.0 {
            return true;
        }
        let ahead = (bounds.west - self.west).rem_euclid(360.0);
        ahead <= self.width() || ahead + width >= 360.0
    }

    /// The same window, wider on each side by degrees.
    #[must_use]
    pub fn widened(&self, degrees: f64) -> Self {
        self.wider(degrees, degrees)
    }

    /// The window that holds every place within `distance` of this one.
    ///
    /// Never too small: a geodesic of length d changes latitude by at most d ⁄ M and longitude by at
    /// most d ⁄ (N cos φ), here with the least M and N of the ellipsoid and the highest latitude
    /// reached. It is all longitudes when it reaches a pole or would go round.
    #[must_use]
    pub fn grown(&self, distance: Metres) -> Self {
        let metres = distance.m().max(0.0);
        let lat = (metres / LEAST_MERIDIAN_RADIUS_M).to_degrees() + NOISE_DEG;
        let highest = (self.south - lat).abs().max((self.north + lat).abs());
        let lon = if highest >= 90.0 {
            360.0
        } else {
            let radius_m = LEAST_CROSS_RADIUS_M * highest.to_radians().cos();
            (metres / radius_m).to_degrees() + NOISE_DEG
        };
        let grown = self.wider(lon, lat);
        Self {
            south: grown.south.max(-90.0),
            north: grown.north.min(90.0),
            ..grown
        }
    }

    fn wider(&self, lon: f64, lat: f64) -> Self {
        let is_all_round = self.width() + 2.0 * lon >= 360.0;
        let (west, east) = if is_all_round {
            (-180.0, 180.0)
        } else {
            (turned(self.west - lon), turned(self.east + lon))
        };
        Self {
            west,
            south: self.south - lat,
            east,
            north: self.north + lat,
        }
    }
}

/// The box that holds every place within `distance` of the area: that of its vertices, for its edges
/// are straight in longitude and latitude, [grown](Window::grown).
#[must_use]
pub fn window_about(area: &OperatingArea, distance: Metres) -> Window {
    let origin = area.frame().origin();
    let (mut west, mut east) = (0f64, 0f64);
    let (mut south, mut north) = (origin.lat(), origin.lat());
    for place in area.rings().flatten() {
        let step = longitude_step(origin.lon(), place.lon());
        west = west.min(step);
        east = east.max(step);
        south = south.min(place.lat());
        north = north.max(place.lat());
    }
    let window = Window {
        west: turned(origin.lon() + west),
        south,
        east: turned(origin.lon() + east),
        north,
    };
    window.grown(distance)
}

/// A longitude brought into −180..=180.
fn turned(lon: f64) -> f64 {
    if (-180.0..=180.0).contains(&lon) {
        lon
    } else {
        (lon + 180.0).rem_euclid(360.0) - 180.0
    }
}
