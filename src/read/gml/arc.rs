//! Circular arcs of GML outlines: by centre, radius and angles, or through three positions.
//!
//! A circle is one on the ellipsoid: every place at one geodesic distance from its centre. Through
//! three positions (`Arc`, `ArcString`, `Circle`) it is the circle that all three lie on, its centre
//! found until they agree to [`AGREES_M`] (aviation data take arcs on the Earth, not in the plane of
//! degrees: OGC 12-028r1; from memory). Positions that lie on no circle of a plausible radius are an
//! error.

use roxmltree::Node;

use super::{
    Axes, CHORD_ERROR, GREATEST_RADIUS_M, Piece, angle, axes, piece_count, positions, radius,
};
use crate::frame::{LocalFrame, LonLat, destination, distance, geodesic};
use crate::units::{Bearing, Metres};

/// How closely the distances of the three positions from the centre agree, metres.
const AGREES_M: f64 = 1e-5;

/// Steps to the centre; each squares what is left.
const MOST_STEPS: usize = 40;

/// Positions of an arc closer together than this give no circle, metres.
const LEAST_APART_M: f64 = 0.1;

/// An `ArcByCenterPoint` or `CircleByCenterPoint`.
pub fn by_centre(node: Node<'_, '_>, is_circle: bool) -> Result<Piece, String> {
    let axes = axes(node)?;
    let places = positions(node)?;
    let &[centre] = places.as_slice() else {
        return Err("has an arc without one centre".to_owned());
    };
    let radius_m = radius(node)?;
    let (start, end) = if is_circle {
        (0.0, 360.0)
    } else {
        (angle(node, "startAngle")?, angle(node, "endAngle")?)
    };
    let span = (end - start).abs();
    if span == 0.0 || span > 360.0 {
        return Err("has an arc whose angles do not make one".to_owned());
    }
    let (from, turn) = match axes {
        Axes::LatLon => (start, end - start),
        Axes::LonLat => (90.0 - start, start - end),
    };
    Ok(Piece {
        places: along(centre, radius_m, from, turn)?,
        radius_m: Some(radius_m),
        is_curved: true,
    })
}

/// An `Arc` or `ArcString`: arcs through three positions each, the last of one the first of the next.
pub fn through_positions(node: Node<'_, '_>) -> Result<Piece, String> {
    let stated = positions(node)?;
    if stated.len() < 3 || stated.len().is_multiple_of(2) {
        return Err("has an arc that is not given by three positions".to_owned());
    }
    let mut places: Vec<LonLat> = stated.first().copied().into_iter().collect();
    let mut greatest = 0f64;
    for three in stated.windows(3).step_by(2) {
        let &[first, middle, last] = three else {
            continue;
        };
        let (centre, radius_m) = circle(first, middle, last)?;
        let bearing = |place| geodesic(centre, place).bearing_from.degrees();
        let from = bearing(first);
        let to_middle = (bearing(middle) - from).rem_euclid(360.0);
        let to_last = (bearing(last) - from).rem_euclid(360.0);
        // Clockwise where the middle one comes before the last that way.
        let turn = if to_middle < to_last {
            to_last
        } else {
            to_last - 360.0
        };
        let mut drawn = along(centre, radius_m, from, turn)?;
        drawn.pop();
        places.extend(drawn.into_iter().skip(1));
        places.push(last);
        greatest = greatest.max(radius_m);
    }
    Ok(Piece {
        places,
        radius_m: Some(greatest),
        is_curved: true,
    })
}

/// A `Circle`: all of the circle through three positions.
pub fn circle_through_positions(node: Node<'_, '_>) -> Result<Piece, String> {
    let places = positions(node)?;
    let &[first, middle, last] = places.as_slice() else {
        return Err("has a circle that is not given by three positions".to_owned());
    };
    let (centre, radius_m) = circle(first, middle, last)?;
    let from = geodesic(centre, first).bearing_from.degrees();
    Ok(Piece {
        places: along(centre, radius_m, from, 360.0)?,
        radius_m: Some(radius_m),
        is_curved: true,
    })
}

/// Places along a circle from one bearing by a turn, degrees, clockwise positive.
fn along(centre: LonLat, radius_m: f64, from: f64, turn: f64) -> Result<Vec<LonLat>, String> {
    let span = turn.abs().to_radians();
    let half_angle = (1.0 - CHORD_ERROR.m() / radius_m.max(2.0 * CHORD_ERROR.m())).acos();
    let by_chord = (span / (2.0 * half_angle)).ceil().max(2.0) as usize;
    let highest = centre.lat().abs() + radius_m / 100_000.0;
    let by_edge = piece_count(span * radius_m, highest)?;
    let count = by_chord.max(by_edge).max(8);
    Ok((0..=count)
        .map(|k| {
            let bearing = Bearing::new(from + turn * (k as f64 / count as f64));
            destination(
                centre,
                bearing.unwrap_or(Bearing::NORTH),
                Metres::of(radius_m),
            )
        })
        .collect())
}

/// Whether a length can be a radius; NaN cannot.
fn is_radius(metres: f64) -> bool {
    (0.0..=GREATEST_RADIUS_M).contains(&metres)
}

/// The centre of the circle through three places, and its radius.
fn circle(a: LonLat, b: LonLat, c: LonLat) -> Result<(LonLat, f64), String> {
    let on_a_line = || "has an arc whose three positions lie on no circle".to_owned();
    let places = [a, b, c];
    let apart = [distance(a, b), distance(b, c), distance(c, a)];
    if apart.iter().any(|it| it.m() < LEAST_APART_M) {
        return Err(on_a_line());
    }
    let frame = LocalFrame::about(b);
    let [pa, pc] = [a, c].map(|place| frame.to_plane(place));
    // The middle place is the origin: the circle through it and two others.
    let doubled = 2.0 * (pa.x * pc.y - pa.y * pc.x);
    let (square_a, square_c) = (pa.x * pa.x + pa.y * pa.y, pc.x * pc.x + pc.y * pc.y);
    let x = (square_a * pc.y - square_c * pa.y) / doubled;
    let y = (square_c * pa.x - square_a * pc.x) / doubled;
    if !is_radius(x.hypot(y)) {
        return Err(on_a_line());
    }
    let mut centre = frame.to_place(crate::frame::Xy::new(x, y));
    for _ in 0..MOST_STEPS {
        let lines = places.map(|place| geodesic(centre, place));
        let [d0, d1, d2] = lines.map(|line| line.distance.m());
        let spread = d0.max(d1).max(d2) - d0.min(d1).min(d2);
        if !is_radius(d0) {
            break;
        }
        if spread <= AGREES_M {
            return Ok((centre, d0));
        }
        // Moving the centre by (east, north) shortens each distance by its part that way.
        let [(s0, c0), (s1, c1), (s2, c2)] =
            lines.map(|line| line.bearing_from.degrees().to_radians().sin_cos());
        let (a1, b1, r1) = (s0 - s1, c0 - c1, d0 - d1);
        let (a2, b2, r2) = (s0 - s2, c0 - c2, d0 - d2);
        let determinant = a1 * b2 - a2 * b1;
        let east = (r1 * b2 - r2 * b1) / determinant;
        let north = (a1 * r2 - a2 * r1) / determinant;
        let Ok(bearing) = Bearing::new(east.atan2(north).to_degrees()) else {
            break;
        };
        let step = east.hypot(north);
        if !is_radius(step) {
            break;
        }
        centre = destination(centre, bearing, Metres::of(step));
    }
    Err(on_a_line())
}
