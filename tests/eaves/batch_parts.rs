//! The parts that make a screening fast, each against slower ones that share no code with them.

use eaves::distance::{Measured, Target, plane_area_m2};
use eaves::field::Cell;
use eaves::field::borders::out_of_reach;
use eaves::field::convex::Convex;
use eaves::field::covered::covered;
use eaves::field::shield::Piece;
use eaves::frame::{LocalFrame, LonLat, Xy, destination, distance, geodesic};
use eaves::plan::Plan;
use eaves::units::{Bearing, Metres};
use geo::Intersects;

use crate::cover::{Numbers, area};

/// The plane near its origin against Karney's direct problem (`geographiclib-rs`, itself tested against
/// GeodTest): 1 µm within 20 km, on all latitudes and across the antimeridian.
#[test]
fn the_plane_near_its_origin_is_karneys() {
    let mut numbers = Numbers(3);
    let mut worst = 0f64;
    for round in 0..20_000 {
        let lon = if round % 2 == 0 {
            179.99
        } else {
            numbers.between(-180.0, 180.0)
        };
        let origin = LonLat::wrapped(lon, numbers.between(-89.0, 89.0));
        let frame = LocalFrame::about(origin);
        let degrees = numbers.between(0.0, 360.0);
        let out = 10f64.powf(numbers.between(-1.0, 4.3));
        let place = destination(origin, Bearing::new(degrees).unwrap(), Metres::of(out));
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let off = frame
            .to_plane(place)
            .distance(Xy::new(out * sine, out * cosine));
        worst = worst.max(off);
        assert!(off < 1e-6, "{origin:?} {degrees} {out}: {off}");
    }
    assert!(worst > 1e-9, "nothing was compared");
}

/// The nearest point by the foot in the plane against a dense search by geodesics along the edges:
/// never nearer than the truth, and no more than 0.2 mm farther.
#[test]
fn the_foot_in_the_plane_is_the_nearest_point() {
    let mut numbers = Numbers(4);
    for round in 0..120 {
        let middle = LonLat::wrapped(numbers.between(-180.0, 180.0), numbers.between(-75.0, 75.0));
        let size = 10f64.powf(numbers.between(1.5, 3.7));
        let ring: Vec<(f64, f64)> = [0.1, 1.9, 3.5, 4.8, 0.1]
            .iter()
            .map(|turn: &f64| (size * turn.cos(), size * turn.sin()))
            .collect();
        let area = area(middle, &[ring]);
        let plan = Plan::of(&area).unwrap();
        let bearing = Bearing::new(numbers.between(0.0, 360.0)).unwrap();
        let out = size * 1.1 + 10f64.powf(numbers.between(0.0, 4.6));
        let place = destination(middle, bearing, Metres::of(out));
        let target = Target::Places(vec![(place, None)]);
        let found = Measured::new(&plan).nearest(&target).unwrap();
        let corners: Vec<LonLat> = area.rings().flatten().collect();
        let mut least = f64::INFINITY;
        for edge in corners.windows(2) {
            let at = |share: f64| distance(place, edge[0].towards(edge[1], share)).m();
            let coarse = (0..=200)
                .min_by(|a, b| at(f64::from(*a) / 200.0).total_cmp(&at(f64::from(*b) / 200.0)))
                .unwrap();
            for fine in -200..=200 {
                let share = f64::from(coarse) / 200.0 + f64::from(fine) / 40_000.0;
                least = least.min(at(share.clamp(0.0, 1.0)));
            }
        }
        let over = found.distance.m() - least;
        assert!((-1e-5..=2e-4).contains(&over), "{round}: {over}");
        let line = geodesic(found.from, found.to);
        assert_eq!(line.distance, found.distance);
        assert_eq!(Some(line.bearing_from), found.bearing);
    }
}

fn ring(numbers: &mut Numbers, size: f64) -> Vec<(f64, f64)> {
    let corners = 4 + (numbers.next() * 7.0) as usize;
    let mut ring: Vec<(f64, f64)> = (0..corners)
        .map(|corner| {
            let turn = std::f64::consts::TAU * corner as f64 / corners as f64;
            let out = size * numbers.between(0.5, 1.0);
            (out * turn.cos(), out * turn.sin())
        })
        .collect();
    ring.extend(ring.first().copied());
    ring
}

/// An area with such a ring, laid out.
fn random_plan(numbers: &mut Numbers, size: f64) -> Plan {
    Plan::of(&area(LonLat::wrapped(15.0, 48.0), &[ring(numbers, size)])).unwrap()
}

/// Points, spans that share their ends, and buildings; reaches from a few metres to the whole site.
fn pieces(numbers: &mut Numbers, count: usize, size: f64) -> Vec<Piece> {
    let mut at = Xy::new(-size, 0.0);
    (0..count)
        .map(|member| {
            let free = Xy::new(numbers.between(-size, size), numbers.between(-size, size));
            let shape = match member % 4 {
                0 => Convex::point(free),
                1 | 2 => {
                    let from = at;
                    at = Xy::new(
                        from.x + size * numbers.between(0.1, 0.5),
                        from.y + size * numbers.between(-0.3, 0.3),
                    );
                    Convex::segment(from, at)
                }
                _ => {
                    let (across, along) = (numbers.between(3.0, 30.0), numbers.between(3.0, 20.0));
                    Convex::polygon(&[
                        free,
                        Xy::new(free.x + across, free.y + 2.0),
                        Xy::new(free.x + across - 2.0, free.y + along),
                    ])
                }
            };
            Piece {
                shape,
                reach: size * numbers.between(0.05, 0.8),
                level: numbers.between(0.0, 30.0),
                member,
            }
        })
        .collect()
}

/// The covered area by closed forms against the overlay of polygons (`i_overlay`, through `geo`), whose
/// reaches fall short by up to 1 cm; and few cells are looked at.
#[test]
fn the_covered_area_is_that_of_the_overlay() {
    let mut numbers = Numbers(9);
    let (mut cells, mut partly) = (0, 0);
    for round in 0..300 {
        let size = 10f64.powf(numbers.between(1.3, 3.0));
        let plan = random_plan(&mut numbers, size);
        let pieces = pieces(&mut numbers, round % 12, size);
        let area = plan.for_cover();
        let found = covered(area.sides(), area.cells(), &pieces, |_| true);
        let uncovered = plane_area_m2(&plan.uncovered(&pieces));
        let drawn = plan.area_m2() - uncovered;
        // What the drawn reaches fall short by, along no more than the edge of every reach.
        let edge: f64 = pieces
            .iter()
            .map(|piece| 7.0 * piece.reach + 8.0 * size)
            .sum();
        let (short, rounding) = (0.01 * edge, 1e-6 * plan.area_m2());
        assert!(
            found.at_least_m2 <= drawn + short + rounding,
            "{round}: {found:?} {drawn}"
        );
        assert!(
            found.at_most_m2 >= drawn - rounding,
            "{round}: {found:?} {drawn}"
        );
        assert!(found.at_most_m2 - found.at_least_m2 <= 0.005 * plan.area_m2());
        cells += found.cells;
        partly += usize::from(uncovered > 0.0 && drawn > 0.0);
    }
    assert!(partly > 150, "{partly}");
    // Held by count, not by time.
    assert!(cells < 300 * 200, "{cells} cells");
}

/// A disc about the middle of a square, and a square wholly inside: formulas of the circle.
#[test]
fn discs_and_strips_have_their_areas() {
    let square = [
        (-50.0, -50.0),
        (50.0, -50.0),
        (50.0, 50.0),
        (-50.0, 50.0),
        (-50.0, -50.0),
    ];
    let plan = Plan::of(&area(LonLat::wrapped(0.0, 0.0), &[square.to_vec()])).unwrap();
    let one = |shape: Convex, reach: f64| {
        let piece = Piece {
            shape,
            reach,
            level: 10.0,
            member: 0,
        };
        let area = plan.for_cover();
        covered(area.sides(), area.cells(), &[piece], |_| true).at_least_m2
    };
    let disc = one(Convex::point(Xy::default()), 30.0);
    assert!((disc - std::f64::consts::PI * 900.0).abs() < 1e-6, "{disc}");
    // A strip of 20 m with a half disc at either end.
    let strip = one(
        Convex::segment(Xy::new(-20.0, 0.0), Xy::new(20.0, 0.0)),
        10.0,
    );
    let expected = 40.0 * 20.0 + std::f64::consts::PI * 100.0;
    assert!((strip - expected).abs() < 1e-6, "{strip}");
    let corners = [(-10.0, -5.0), (10.0, -5.0), (10.0, 5.0), (-10.0, 5.0)];
    let house = Convex::polygon(&corners.map(|(x, y)| Xy::new(x, y)));
    let expected = 200.0 + 60.0 * 8.0 + std::f64::consts::PI * 64.0;
    assert!((one(house, 8.0) - expected).abs() < 1e-6);
    assert!((one(Convex::point(Xy::default()), 80.0) - plan.area_m2()).abs() < 1e-6);
    assert_eq!(one(Convex::point(Xy::new(500.0, 0.0)), 80.0), 0.0);
}

/// The sides of a square about the origin, anticlockwise.
fn square(half: f64) -> Vec<[Xy; 2]> {
    let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
    let at = |number: usize| {
        let (x, y) = corners[number % 4];
        Xy::new(x, y)
    };
    (0..4).map(|k| [at(k), at(k + 1)]).collect()
}

/// Borders that run along one another or touch: what is left beside a count of points on a lattice, and
/// beside closed forms of the circle.
#[test]
fn borders_that_coincide_leave_what_they_should() {
    let piece = |shape: Convex, reach: f64| Piece {
        shape,
        reach,
        level: 10.0,
        member: 0,
    };
    let line = |a: (f64, f64), b: (f64, f64)| Convex::segment(Xy::new(a.0, a.1), Xy::new(b.0, b.1));
    let point = |x: f64, y: f64| Convex::point(Xy::new(x, y));
    let house = |x: f64, y: f64| {
        Convex::polygon(
            &[(0.0, 0.0), (9.0, 1.0), (8.0, 7.0), (-1.0, 6.0)].map(|(a, b)| Xy::new(x + a, y + b)),
        )
    };
    let pi = std::f64::consts::PI;
    let cases: Vec<(&str, Vec<Piece>, Option<f64>)> = vec![
        (
            "the same disc twice",
            vec![piece(point(3.0, 4.0), 30.0), piece(point(3.0, 4.0), 30.0)],
            Some(pi * 900.0),
        ),
        (
            "a disc in a larger one about the same place",
            vec![piece(point(3.0, 4.0), 20.0), piece(point(3.0, 4.0), 30.0)],
            Some(pi * 900.0),
        ),
        (
            "a support at the end of its span",
            vec![
                piece(line((-20.0, 0.0), (20.0, 0.0)), 15.0),
                piece(point(20.0, 0.0), 15.0),
            ],
            Some(40.0 * 30.0 + pi * 225.0),
        ),
        (
            "a straight line of three spans, one drawn twice and turned",
            vec![
                piece(line((-40.0, 5.0), (-10.0, 5.0)), 12.0),
                piece(line((-10.0, 5.0), (10.0, 5.0)), 12.0),
                piece(line((10.0, 5.0), (40.0, 5.0)), 12.0),
                piece(line((10.0, 5.0), (-10.0, 5.0)), 12.0),
            ],
            Some(80.0 * 24.0 + pi * 144.0),
        ),
        (
            "a line that bends by a hair's breadth",
            vec![
                piece(line((-40.0, 5.0), (0.0, 5.0)), 12.0),
                piece(line((0.0, 5.0), (40.0, 5.000_01)), 12.0),
            ],
            Some(80.0 * 24.0 + pi * 144.0),
        ),
        (
            "discs that touch",
            vec![
                piece(point(-20.0, 0.0), 20.0),
                piece(point(20.0, 0.0), 20.0),
            ],
            Some(2.0 * pi * 400.0),
        ),
        (
            "a disc that touches two sides from inside",
            vec![
                piece(point(60.0, 60.0), 40.0),
                piece(point(-50.0, 0.0), 20.0),
            ],
            Some(pi * 1600.0 + pi * 400.0),
        ),
        (
            "a bend, a support and a house beside it",
            vec![
                piece(line((-70.0, -60.0), (0.0, 0.0)), 25.0),
                piece(line((0.0, 0.0), (10.0, 90.0)), 25.0),
                piece(point(0.0, 0.0), 25.0),
                piece(house(20.0, 10.0), 30.0),
            ],
            None,
        ),
        (
            "a ring of discs about a hole",
            (0..9)
                .map(|k| {
                    let turn = std::f64::consts::TAU * f64::from(k) / 9.0;
                    piece(point(50.0 * turn.cos(), 50.0 * turn.sin()), 30.0)
                })
                .collect(),
            None,
        ),
    ];
    let half = 100.0;
    for (name, pieces, area_m2) in cases {
        let some: Vec<&Piece> = pieces.iter().collect();
        let left = out_of_reach(&square(half), &some)
            .unwrap_or_else(|| panic!("{name}: the borders do not close"));
        assert!(left.slack_m2 < 0.01, "{name}: {left:?}");
        if let Some(area) = area_m2 {
            // A hair's breadth more where the line bends.
            let expected = 4.0 * half * half - area;
            assert!(
                (left.area_m2 - expected).abs() < 1e-3,
                "{name}: {left:?} {expected}"
            );
        }
        let steps = 1_000;
        let step = 2.0 * half / f64::from(steps);
        let mut count = 0u32;
        for column in 0..steps {
            for row in 0..steps {
                let at = |k: i32| -half + (f64::from(k) + 0.5) * step;
                let place = Xy::new(at(column), at(row));
                let is_held = |it: &&Piece| it.shape.distance(place) <= it.reach;
                count += u32::from(!some.iter().any(is_held));
            }
        }
        let counted = f64::from(count) * step * step;
        assert!(
            (left.area_m2 - counted).abs() < 40.0,
            "{name}: {left:?} {counted}"
        );
    }
}

/// The length of what bounds the rest, by closed forms: a disc inside, one on a side, one on a corner.
#[test]
fn borders_have_the_length_of_the_figure() {
    use std::f64::consts::PI;
    let half = 100.0;
    let cases = [
        ([0.0, 0.0], 800.0 + 60.0 * PI),
        ([100.0, 0.0], 800.0 - 60.0 + 30.0 * PI),
        ([-100.0, 100.0], 800.0 - 60.0 + 15.0 * PI),
        ([300.0, 0.0], 800.0),
    ];
    for ([x, y], expected) in cases {
        let disc = Piece {
            shape: Convex::point(Xy::new(x, y)),
            reach: 30.0,
            level: 1.0,
            member: 0,
        };
        let left = out_of_reach(&square(half), &[&disc]).unwrap();
        assert!(
            (left.border_m - expected).abs() < 1e-6,
            "{x} {y}: {left:?} {expected}"
        );
    }
}

/// The distance by the sides of an area is the least of those from the triangles that make it up, for
/// random areas and sets, near, apart and overlapping.
#[test]
fn distances_by_sides_are_those_from_the_triangles() {
    let mut numbers = Numbers(4_711);
    let (mut apart, mut touching) = (0, 0);
    for round in 0..300 {
        let size = 10f64.powf(numbers.between(1.3, 3.3));
        let plan = random_plan(&mut numbers, size);
        let wide = size * numbers.between(0.2, 4.0);
        for piece in pieces(&mut numbers, 12, wide) {
            let of_cells = |cells: &[Cell]| {
                let each = cells.iter().map(|cell| piece.shape.separation(cell));
                each.fold(f64::INFINITY, f64::min)
            };
            for (by_sides, by_cells) in [
                (plan.distance_to(&piece.shape), of_cells(plan.cells())),
                (
                    plan.for_cover().distance_to(&piece.shape),
                    of_cells(plan.for_cover().cells()),
                ),
            ] {
                assert!(
                    (by_sides - by_cells).abs() < 1e-9,
                    "{round}: {by_sides} {by_cells} {piece:?}"
                );
                apart += usize::from(by_cells > 0.0);
                touching += usize::from(by_cells == 0.0);
            }
        }
    }
    assert!(apart > 1_000 && touching > 1_000, "{apart} {touching}");
}

/// A disc is held, or is not, only where that is so of points all over it.
#[test]
fn discs_are_in_the_area_or_apart_from_it() {
    let mut numbers = Numbers(90);
    let mut seen = [0; 3];
    for _ in 0..100 {
        let plan = random_plan(&mut numbers, 100.0);
        for _ in 0..30 {
            let centre = Xy::new(
                numbers.between(-150.0, 150.0),
                numbers.between(-150.0, 150.0),
            );
            let radius = numbers.between(1.0, 60.0);
            let held = plan.holds_disc(centre, radius);
            seen[held.map_or(2, usize::from)] += 1;
            let Some(is_held) = held else { continue };
            for step in 0..40 {
                let (sine, cosine) = (f64::from(step) * 2.4).sin_cos();
                let out = radius * f64::from(step) / 39.0;
                let point = geo::Point::new(centre.x + out * cosine, centre.y + out * sine);
                assert_eq!(plan.polygons().intersects(&point), is_held);
            }
        }
    }
    assert!(seen.iter().all(|count| *count > 100), "{seen:?}");
}

/// Where a rim runs along a side of the area the borders do not close; the cells then find what is covered.
#[test]
fn rims_along_the_sides_are_left_to_the_cells() {
    let ring = [
        (-100.0, -100.0),
        (100.0, -100.0),
        (100.0, 100.0),
        (-100.0, 100.0),
        (-100.0, -100.0),
    ];
    let plan = Plan::of(&area(LonLat::wrapped(0.0, 0.0), &[ring.to_vec()])).unwrap();
    let piece = |y: f64| Piece {
        shape: Convex::segment(Xy::new(-100.0, y), Xy::new(100.0, y)),
        reach: 20.0,
        level: 10.0,
        member: 0,
    };
    let outline = plan.for_cover();
    let pieces = [piece(80.0), piece(-80.0)];
    let found = covered(outline.sides(), outline.cells(), &pieces, |_| true);
    assert!(
        (found.at_least_m2 - 2.0 * 40.0 * 200.0).abs() < 1.0,
        "{found:?}"
    );
}

/// Random sets, many of them sharing corners: the borders close, and leave what the overlay leaves.
#[test]
fn borders_of_random_reaches_close() {
    let mut numbers = Numbers(77);
    let mut followed = 0;
    for round in 0..400 {
        let size = 10f64.powf(numbers.between(1.3, 3.0));
        let plan = random_plan(&mut numbers, size);
        let pieces = pieces(&mut numbers, 2 + round % 20, size);
        let some: Vec<&Piece> = pieces.iter().collect();
        let outline = plan.closely();
        let Some(left) = out_of_reach(outline.for_cover().sides(), &some) else {
            continue;
        };
        followed += 1;
        let drawn = plane_area_m2(&plan.uncovered(&pieces));
        let edge: f64 = pieces
            .iter()
            .map(|piece| 7.0 * piece.reach + 8.0 * size)
            .sum();
        let rounding = 1e-6 * plan.area_m2();
        assert!(
            left.area_m2 <= drawn + rounding && left.area_m2 >= drawn - 0.01 * edge - rounding,
            "{round}: {left:?} {drawn}"
        );
    }
    assert!(followed >= 396, "{followed}");
}
