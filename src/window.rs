//! The box of longitude and latitude about an operating area in which layers are read.
//!
//! Not here: reading them (see [`crate::read`]).

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

/// A box in WGS 84 degrees; it crosses the antimeridian when `west` is greater than `east`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Its western edge.
    pub west: f64,
    /// Its southern edge.
    pub south: f64,
    /// Its eastern edge.
    pub east: f64,
    /// Its northern edge.
    pub north: f64,
}

/// The box that holds every place within `distance` of the area.
///
/// Never too small: a geodesic of length d changes latitude by at most d ⁄ M and longitude by at
/// most d ⁄ (N cos φ), here with the least M and N of the ellipsoid and the highest latitude
/// reached. It is all longitudes when it reaches a pole or would go round. Edges of the area are
/// straight in longitude and latitude, so the box of its vertices holds it.
#[must_use]
pub fn window_about(area: &OperatingArea, distance: Metres) -> Window {
    let grow_m = distance.m().max(0.0);
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
    let grow_lat = (grow_m / LEAST_MERIDIAN_RADIUS_M).to_degrees() + NOISE_DEG;
    south -= grow_lat;
    north += grow_lat;
    let highest = south.abs().max(north.abs());
    let grow_lon = (grow_m / (LEAST_CROSS_RADIUS_M * highest.to_radians().cos())).to_degrees();
    let (west, east) = (west - grow_lon - NOISE_DEG, east + grow_lon + NOISE_DEG);
    let goes_round = highest >= 90.0 || east - west >= 360.0;
    let (west, east) = if goes_round {
        (-180.0, 180.0)
    } else {
        (turned(origin.lon() + west), turned(origin.lon() + east))
    };
    Window {
        west,
        south: south.max(-90.0),
        east,
        north: north.min(90.0),
    }
}

/// A longitude brought into −180..=180.
fn turned(lon: f64) -> f64 {
    if (-180.0..=180.0).contains(&lon) {
        lon
    } else {
        (lon + 180.0).rem_euclid(360.0) - 180.0
    }
}
