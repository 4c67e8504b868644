//! The symbols of a figure, each drawn from lines, circles and fills.
//!
//! Aerodrome and obstacle symbols follow the chart symbols of ICAO Annex 4, Appendix 2 (from
//! memory); the others are our own. Not here: where they are put.

use super::palette as p;
use super::scene::{Colour, Ink, Pen, Point};
use crate::aerodrome::AerodromeKind;

fn ring(centre: Point, corners: &[(f64, f64)]) -> Vec<Point> {
    corners
        .iter()
        .chain(corners.first())
        .map(|(x, y)| centre.shifted(*x, *y))
        .collect()
}

fn stroke(centre: Point, corners: &[(f64, f64)], pen: Pen) -> Ink {
    let points = corners.iter().map(|(x, y)| centre.shifted(*x, *y));
    Ink::Line(points.collect(), pen)
}

/// The place that governs: a cross in a ring in a white disc.
pub fn governs(at: Point) -> Vec<Ink> {
    let pen = Pen::solid(p::GOVERNS, 2.2);
    vec![
        Ink::Disc(at, 10.5, p::PAPER),
        Ink::Circle(at, 8.0, pen),
        stroke(at, &[(-13.0, 0.0), (-4.0, 0.0)], pen),
        stroke(at, &[(4.0, 0.0), (13.0, 0.0)], pen),
        stroke(at, &[(0.0, -13.0), (0.0, -4.0)], pen),
        stroke(at, &[(0.0, 4.0), (0.0, 13.0)], pen),
        Ink::Disc(at, 2.2, p::GOVERNS),
    ]
}

/// The last place to be covered, where it is not the place that governs: a small open diamond.
pub fn last_covered(at: Point) -> Vec<Ink> {
    let corners = [(0.0, -6.0), (6.0, 0.0), (0.0, 6.0), (-6.0, 0.0)];
    vec![
        Ink::Fill(vec![ring(at, &corners)], p::PAPER, 1.0),
        Ink::Line(ring(at, &corners), Pen::solid(p::GOVERNS, 1.6)),
    ]
}

/// A support of a power line: a small tower, `size` times its usual 10 units of height.
pub fn support(at: Point, colour: Colour, size: f64) -> Vec<Ink> {
    let corners = [(-4.5, 4.5), (0.0, -6.0), (4.5, 4.5)].map(|(x, y)| (x * size, y * size));
    vec![
        Ink::Fill(vec![ring(at, &corners)], p::PAPER, 1.0),
        Ink::Line(ring(at, &corners), Pen::solid(colour, 1.5)),
    ]
}

/// An obstacle with a point for a plan: an open wedge over a dot; thinner, over a small circle,
/// when it is not a shield.
pub fn obstacle(at: Point, colour: Colour, shields: bool) -> Vec<Ink> {
    let wedge = [(-5.0, 2.0), (0.0, -12.0), (5.0, 2.0)];
    if shields {
        vec![
            stroke(at, &wedge, Pen::solid(colour, 2.2)),
            Ink::Disc(at, 2.2, colour),
        ]
    } else {
        vec![
            stroke(at, &wedge, Pen::solid(colour, 1.2)),
            Ink::Disc(at, 2.6, p::PAPER),
            Ink::Circle(at, 2.6, Pen::solid(colour, 1.2)),
        ]
    }
}

/// An aerodrome by kind: a circle with four bars, or with the letter strokes of a heliport.
pub fn aerodrome(at: Point, kind: AerodromeKind) -> Vec<Ink> {
    let pen = Pen::solid(p::AERODROME, 1.7);
    let mut inks = vec![Ink::Disc(at, 6.5, p::PAPER), Ink::Circle(at, 6.0, pen)];
    match kind {
        AerodromeKind::Heliport => inks.extend([
            stroke(at, &[(-2.2, -3.2), (-2.2, 3.2)], pen),
            stroke(at, &[(2.2, -3.2), (2.2, 3.2)], pen),
            stroke(at, &[(-2.2, 0.0), (2.2, 0.0)], pen),
        ]),
        AerodromeKind::Closed => inks.extend([
            stroke(at, &[(-4.2, -4.2), (4.2, 4.2)], pen),
            stroke(at, &[(-4.2, 4.2), (4.2, -4.2)], pen),
        ]),
        AerodromeKind::Aerodrome | AerodromeKind::WaterAerodrome | AerodromeKind::Other => {
            for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                inks.push(stroke(at, &[(x * 6.0, y * 6.0), (x * 10.0, y * 10.0)], pen));
            }
        }
    }
    inks
}

/// The point of an arrow at the end of a line.
pub fn arrow_head(from: Point, to: Point, size: f64, colour: Colour) -> Option<Ink> {
    let length = from.distance(to);
    if length < 1e-6 || !length.is_finite() {
        return None;
    }
    let (x, y) = ((to.x - from.x) / length, (to.y - from.y) / length);
    let back = to.shifted(-x * size, -y * size);
    let half = size * 0.38;
    Some(Ink::Fill(
        vec![vec![
            to,
            back.shifted(-y * half, x * half),
            back.shifted(y * half, -x * half),
        ]],
        colour,
        1.0,
    ))
}
