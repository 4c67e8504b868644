//! The symbols of a figure, each drawn from lines, circles and fills.
//!
//! Aerodrome and obstacle symbols follow the chart symbols of ICAO Annex 4, Appendix 2 (from
//! memory); the others are our own. Not here: where they are put.

use super::palette as p;
use super::scene::{Colour, Ink, Pen, Point};
use crate::aerodrome::AerodromeKind;
use crate::plan_point::Role;

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

/// The same for a section, where lines run through it: a ring with a dot.
pub fn governs_small(at: Point) -> Vec<Ink> {
    let pen = Pen::solid(p::GOVERNS, 2.0);
    vec![
        Ink::Disc(at, 7.0, p::PAPER),
        Ink::Circle(at, 6.0, pen),
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

/// A point of the plan in a white disc: a wedge up for take-off, down for landing, both for both; a
/// diagonal cross in a square for an emergency; a head and shoulders for the crew. Of other pairs of
/// roles the first is shown.
pub fn plan_point(at: Point, roles: &[Role]) -> Vec<Ink> {
    let pen = Pen::solid(p::PLAN, 1.8);
    let fill = |corners: &[(f64, f64)]| Ink::Fill(vec![ring(at, corners)], p::PLAN, 1.0);
    let is = |role: Role| roles.contains(&role);
    let mut inks = vec![Ink::Disc(at, 9.6, p::PAPER)];
    if is(Role::TakeOff) || is(Role::Landing) {
        inks.push(Ink::Circle(at, 8.0, pen));
        if is(Role::TakeOff) {
            inks.push(fill(&[(-4.6, -0.8), (0.0, -6.2), (4.6, -0.8)]));
        }
        if is(Role::Landing) {
            inks.push(fill(&[(-4.6, 0.8), (0.0, 6.2), (4.6, 0.8)]));
        }
    } else if is(Role::Emergency) {
        let half = 6.6;
        let square = [(-half, -half), (half, -half), (half, half), (-half, half)];
        inks.push(Ink::Line(ring(at, &square), pen));
        inks.push(stroke(at, &[(-half, -half), (half, half)], pen));
        inks.push(stroke(at, &[(-half, half), (half, -half)], pen));
    } else {
        inks.push(Ink::Circle(at, 8.0, pen));
        inks.push(Ink::Disc(at.shifted(0.0, -2.6), 2.5, p::PLAN));
        inks.push(fill(&[(-4.6, 5.2), (-3.4, 1.6), (3.4, 1.6), (4.6, 5.2)]));
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
