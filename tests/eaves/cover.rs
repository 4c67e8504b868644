//! The bottleneck cover found by the search, beside an independent brute force on random and
//! adversarial areas: zero optimistic answers.
//!
//! The brute force shares no code with the search: it takes the vertices of the area, points along
//! its edges, a net inside it, and the critical points of the arrangement (where reaches cross one
//! another or an edge) with points a hair's breadth around each, and asks every shield by plain
//! distance formulae.

use eaves::field::Field;
use eaves::field::convex::Convex;
use eaves::field::shield::{Piece, Shields};
use eaves::frame::{LocalFrame, LonLat, Xy};
use eaves::plan::Plan;
use eaves::search::{Limits, Scope, Stop, lowest};
use eaves::site::{FeatureRef, OperatingArea};
use geo::{Contains, Coord, LineString, MultiPolygon, Polygon};

/// A small generator of numbers (SplitMix64, public domain by Sebastiano Vigna), so that cases are
/// the same on every machine.
pub struct Numbers(pub u64);

impl Numbers {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.next() * (high - low)
    }
}

/// An area from rings of plane coordinates about a place, through longitude and latitude.
pub fn area(origin: LonLat, rings: &[Vec<(f64, f64)>]) -> OperatingArea {
    let frame = LocalFrame::about(origin);
    let ring = |points: &Vec<(f64, f64)>| -> LineString<f64> {
        points
            .iter()
            .map(|&(x, y)| {
                let place = frame.to_place(Xy::new(x, y));
                Coord {
                    x: place.lon(),
                    y: place.lat(),
                }
            })
            .collect()
    };
    OperatingArea {
        source: FeatureRef {
            file: "test".into(),
            feature: "#1".into(),
        },
        name: "test".into(),
        polygons: MultiPolygon::new(vec![Polygon::new(
            ring(&rings[0]),
            rings[1..].iter().map(ring).collect(),
        )]),
    }
}

/// A disc or the surroundings of a segment.
struct Reach {
    from: Xy,
    to: Xy,
    radius: f64,
    level: f64,
}

impl Reach {
    fn holds(&self, p: Xy) -> bool {
        let (dx, dy) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let square = dx * dx + dy * dy;
        let share = if square > 0.0 {
            (((p.x - self.from.x) * dx + (p.y - self.from.y) * dy) / square).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let (cx, cy) = (self.from.x + share * dx, self.from.y + share * dy);
        (p.x - cx).hypot(p.y - cy) <= self.radius
    }

    /// The outline as many short chords, for crossings.
    fn outline(&self) -> Vec<Xy> {
        let heading = (self.to.y - self.from.y).atan2(self.to.x - self.from.x);
        (0..=180)
            .map(|k| {
                let angle = heading + std::f64::consts::TAU * f64::from(k) / 180.0;
                let end = if (angle - heading).cos() >= 0.0 {
                    self.to
                } else {
                    self.from
                };
                Xy::new(
                    end.x + self.radius * angle.cos(),
                    end.y + self.radius * angle.sin(),
                )
            })
            .collect()
    }
}

fn level_at(reaches: &[Reach], p: Xy) -> f64 {
    reaches
        .iter()
        .filter(|reach| reach.holds(p))
        .map(|reach| reach.level)
        .fold(f64::NEG_INFINITY, f64::max)
}

fn crossing(a: Xy, b: Xy, c: Xy, d: Xy) -> Option<Xy> {
    let (rx, ry) = (b.x - a.x, b.y - a.y);
    let (sx, sy) = (d.x - c.x, d.y - c.y);
    let turn = rx * sy - ry * sx;
    if turn == 0.0 {
        return None;
    }
    let t = ((c.x - a.x) * sy - (c.y - a.y) * sx) / turn;
    let u = ((c.x - a.x) * ry - (c.y - a.y) * rx) / turn;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u))
        .then(|| Xy::new(a.x + t * rx, a.y + t * ry))
}

/// Points of the area that matter.
fn probes(plan: &Plan, reaches: &[Reach], numbers: &mut Numbers) -> Vec<Xy> {
    let mut probes = Vec::new();
    let mut near = |p: Xy| {
        probes.push(p);
        for size in [1e-5, 1e-3, 0.05] {
            for k in 0..8 {
                let angle = std::f64::consts::TAU * (f64::from(k) + 0.1) / 8.0;
                probes.push(Xy::new(p.x + size * angle.cos(), p.y + size * angle.sin()));
            }
        }
    };
    let edges: Vec<(Xy, Xy)> = plan.edges().collect();
    let outlines: Vec<Vec<Xy>> = reaches.iter().map(Reach::outline).collect();
    for (from, to) in &edges {
        near(*from);
        for k in 1..20 {
            near(from.towards(*to, f64::from(k) / 20.0));
        }
    }
    for (index, outline) in outlines.iter().enumerate() {
        for pair in outline.windows(2) {
            for (from, to) in &edges {
                if let Some(at) = crossing(pair[0], pair[1], *from, *to) {
                    near(at);
                }
            }
            for other in &outlines[index + 1..] {
                for second in other.windows(2) {
                    if let Some(at) = crossing(pair[0], pair[1], second[0], second[1]) {
                        near(at);
                    }
                }
            }
        }
    }
    for cell in plan.cells() {
        let [a, b, c] = *cell.corners();
        for _ in 0..200 {
            let (mut u, mut v) = (numbers.next(), numbers.next());
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            probes.push(Xy::new(
                a.x + u * (b.x - a.x) + v * (c.x - a.x),
                a.y + u * (b.y - a.y) + v * (c.y - a.y),
            ));
        }
    }
    probes.retain(|p| plan.polygons().contains(&Coord { x: p.x, y: p.y }));
    probes
}

struct Tally {
    cases: usize,
    covered: usize,
    by_resolution: usize,
    most_cells: usize,
}

fn compare(plan: &Plan, reaches: &[Reach], numbers: &mut Numbers, tally: &mut Tally) {
    let shields = Shields::new(
        0,
        reaches
            .iter()
            .enumerate()
            .map(|(member, reach)| Piece {
                shape: if reach.from == reach.to {
                    Convex::point(reach.from)
                } else {
                    Convex::segment(reach.from, reach.to)
                },
                reach: reach.radius,
                level: reach.level,
                member,
            })
            .collect(),
    );
    let limits = Limits::within(0.1);
    let all = lowest(&shields, plan.cells(), Scope::Everywhere, limits).expect("an area");
    let part = lowest(&shields, plan.cells(), Scope::WhereDetermined, limits);
    tally.cases += 1;
    tally.covered += usize::from(all.lower.is_finite());
    tally.by_resolution += usize::from(all.stop != Stop::Tolerance);
    tally.most_cells = tally.most_cells.max(all.cells);
    // The attained value is a value of the field, and the bounds are as near as said.
    assert_eq!(level_at(reaches, all.place), all.attained);
    if all.stop == Stop::Tolerance && all.attained.is_finite() {
        assert!(all.attained - all.lower <= 0.1);
    }
    for p in probes(plan, reaches, numbers) {
        let truth = level_at(reaches, p);
        assert!(
            all.lower <= truth,
            "optimistic: {} but {truth} at {p:?}",
            all.lower
        );
        if truth > f64::NEG_INFINITY {
            let part = part.expect("a determined point was found");
            assert!(
                part.lower <= truth,
                "optimistic for the covered part: {} but {truth} at {p:?}",
                part.lower
            );
        }
    }
    // What is drawn as uncovered is never less than what is uncovered.
    if all.attained == f64::NEG_INFINITY {
        assert!(
            plan.uncovered(shields.pieces()).contains(&Coord {
                x: all.place.x,
                y: all.place.y
            }) || plan.uncovered(shields.pieces()).iter().any(|polygon| {
                use geo::{Distance, Euclidean};
                Euclidean.distance(polygon, &geo::Point::new(all.place.x, all.place.y)) < 1e-6
            })
        );
    }
}

const ORIGIN: (f64, f64) = (149.9, -30.4);

fn laid_out(rings: &[Vec<(f64, f64)>]) -> Plan {
    let origin = LonLat::new(ORIGIN.0, ORIGIN.1).expect("a place");
    Plan::of(&area(origin, rings)).expect("a valid area")
}

fn closed(mut ring: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    ring.push(ring[0]);
    ring
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Vec<(f64, f64)> {
    closed(vec![
        (x, y),
        (x + width, y),
        (x + width, y + height),
        (x, y + height),
    ])
}

fn random_reaches(numbers: &mut Numbers, around: f64) -> Vec<Reach> {
    let count = 1 + (numbers.next() * 9.0) as usize;
    (0..count)
        .map(|_| {
            let from = Xy::new(
                numbers.between(-around, around),
                numbers.between(-around, around),
            );
            let to = if numbers.next() < 0.5 {
                from
            } else {
                Xy::new(
                    from.x + numbers.between(-300.0, 300.0),
                    from.y + numbers.between(-300.0, 300.0),
                )
            };
            Reach {
                from,
                to,
                radius: 100.0,
                level: numbers.between(10.0, 60.0).round(),
            }
        })
        .collect()
}

#[test]
fn random_areas_are_never_answered_above_the_brute_force() {
    let mut numbers = Numbers(20_261_125);
    let mut tally = Tally {
        cases: 0,
        covered: 0,
        by_resolution: 0,
        most_cells: 0,
    };
    for case in 0..300 {
        let size = numbers.between(20.0, 260.0);
        let rings = match case % 4 {
            0 => vec![rectangle(-size / 2.0, -size / 3.0, size, size * 0.6)],
            1 => vec![closed(vec![
                (0.0, 0.0),
                (size, 0.0),
                (size, size * 0.3),
                (size * 0.3, size * 0.3),
                (size * 0.3, size),
                (0.0, size),
            ])],
            2 => {
                let mut hole = rectangle(-size / 6.0, -size / 6.0, size / 3.0, size / 3.0);
                hole.reverse();
                vec![rectangle(-size / 2.0, -size / 2.0, size, size), hole]
            }
            _ => vec![closed(vec![
                (0.0, 0.0),
                (size, numbers.between(-5.0, 5.0)),
                (numbers.between(0.0, size), numbers.between(0.2, 30.0)),
            ])],
        };
        let plan = laid_out(&rings);
        let reaches = random_reaches(&mut numbers, 150.0);
        compare(&plan, &reaches, &mut numbers, &mut tally);
    }
    assert!(tally.covered > 20 && tally.covered < 280, "a mix of cases");
    println!(
        "{} cases, {} covered, {} stopped short of the tolerance, at most {} cells",
        tally.cases, tally.covered, tally.by_resolution, tally.most_cells
    );
}

#[test]
fn thin_strips_tangent_reaches_and_slivers_are_never_optimistic() {
    let mut numbers = Numbers(7);
    let mut tally = Tally {
        cases: 0,
        covered: 0,
        by_resolution: 0,
        most_cells: 0,
    };
    let disc = |x: f64, y: f64, level: f64| Reach {
        from: Xy::new(x, y),
        to: Xy::new(x, y),
        radius: 100.0,
        level,
    };
    for width in [0.02, 0.05, 0.1, 0.3, 1.0] {
        // A strip across the place where two discs touch, overlap a little, or leave a little gap.
        for gap in [-0.05, -0.002, 0.0, 0.002, 0.05] {
            let plan = laid_out(&[rectangle(-60.0, -width / 2.0, 120.0, width)]);
            let pair = [disc(-100.0 - gap, 0.0, 50.0), disc(100.0 + gap, 0.0, 40.0)];
            compare(&plan, &pair, &mut numbers, &mut tally);
        }
        // A strip along the edge of a reach, just in and just out.
        for off in [-0.01, 0.0, 0.01] {
            let plan = laid_out(&[rectangle(-40.0, -width, 80.0, width)]);
            let line = [Reach {
                from: Xy::new(-300.0, 100.0 - width / 2.0 + off),
                to: Xy::new(300.0, 100.0 - width / 2.0 + off),
                radius: 100.0,
                level: 45.0,
            }];
            compare(&plan, &line, &mut numbers, &mut tally);
        }
    }
    // Two parallel lines whose reaches touch along a whole line: undecidable by splitting.
    let plan = laid_out(&[rectangle(-50.0, -20.0, 100.0, 40.0)]);
    let rails = |gap: f64| {
        [100.0 + gap, -100.0 - gap].map(|y| Reach {
            from: Xy::new(-300.0, y),
            to: Xy::new(300.0, y),
            radius: 100.0,
            level: 30.0,
        })
    };
    for gap in [-0.01, 0.0, 0.01] {
        compare(&plan, &rails(gap), &mut numbers, &mut tally);
    }
    // A low disc that only just looks out from under a high one.
    for out in [0.0, 0.001, 0.01, 1.0] {
        let pair = [
            disc(0.0, 0.0, 60.0),
            Reach {
                radius: 40.0,
                ..disc(60.0 + out, 0.0, 20.0)
            },
        ];
        let plan = laid_out(&[rectangle(-30.0, -30.0, 200.0, 60.0)]);
        compare(&plan, &pair, &mut numbers, &mut tally);
    }
    // Needles.
    for thickness in [0.02, 0.2] {
        let plan = laid_out(&[closed(vec![(0.0, 0.0), (250.0, 0.0), (125.0, thickness)])]);
        let chain = [
            disc(30.0, 90.0, 35.0),
            disc(150.0, 80.0, 55.0),
            disc(240.0, 10.0, 25.0),
        ];
        compare(&plan, &chain, &mut numbers, &mut tally);
    }
    println!(
        "{} cases, {} covered, {} stopped short of the tolerance, at most {} cells",
        tally.cases, tally.covered, tally.by_resolution, tally.most_cells
    );
}

/// The lowest shielding obstacle is not the minimum over all objects (a 5 m pole would set it) and
/// not the maximum (one corner tower would set it): worked by hand on a strip 200 m long.
#[test]
fn the_bottleneck_is_neither_the_lowest_nor_the_highest_object() {
    let plan = laid_out(&[rectangle(-100.0, -5.0, 200.0, 10.0)]);
    let at = |x: f64, level: f64, member: usize| Piece {
        shape: Convex::point(Xy::new(x, 0.0)),
        reach: 100.0,
        level,
        member,
    };
    // Towers of 40 m cover each end; a 5 m pole stands in the middle; one tower of 60 m at an end.
    let shields = Shields::new(
        0,
        vec![
            at(-60.0, 40.0, 0),
            at(30.0, 38.0, 1),
            at(0.0, 5.0, 2),
            at(95.0, 60.0, 3),
        ],
    );
    let found = lowest(
        &shields,
        plan.cells(),
        Scope::Everywhere,
        Limits::within(0.1),
    )
    .expect("an area");
    // x in -100..40 has 40 m, from 40 on the 38 m tower serves until the 60 m one does at -5: the
    // 60 m tower reaches back to x = -5, so all east of it has 60 m and the west has 40 m.
    assert!(found.lower >= 39.9 && found.lower <= 40.0);
    assert_eq!(shields.governor(found.place).member, Some(0));
}
