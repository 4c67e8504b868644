//! The search beside a slow twin on random combined expressions: the twin splits every cell
//! uniformly, looks at every one, and knows neither queue nor early stop.

use eaves::field::cap::{CapAboveGround, CapAmsl};
use eaves::field::combine::{Highest, Inside, Lowest, Side, Zone};
use eaves::field::convex::Convex;
use eaves::field::ground::{Grid, Ground};
use eaves::field::shield::{Piece, Shields, ShieldsAboveGround};
use eaves::field::{Cell, Enclosure, Field, Governor};
use eaves::frame::Xy;
use eaves::search::{Limits, Scope, Stop, lowest, share_at_or_above};

use crate::cover::Numbers;

/// The half-plane west of a meridian of the plane.
struct West(f64);

impl Zone for West {
    fn holds(&self, point: Xy) -> bool {
        point.x <= self.0
    }

    fn side(&self, cell: &Cell) -> Side {
        let (west, _, east, _) = cell.extent();
        if east <= self.0 {
            Side::Inside
        } else if west > self.0 {
            Side::Outside
        } else {
            Side::Unsure
        }
    }
}

fn pieces(numbers: &mut Numbers) -> Vec<Piece> {
    let count = 1 + (numbers.next() * 12.0) as usize;
    (0..count)
        .map(|member| {
            let mut at = || {
                Xy::new(
                    numbers.between(-220.0, 220.0),
                    numbers.between(-220.0, 220.0),
                )
            };
            let (a, b, c) = (at(), at(), at());
            let shape = match member % 3 {
                0 => Convex::point(a),
                1 => Convex::segment(a, a.towards(b, 0.4)),
                _ => Convex::triangle([a, a.towards(b, 0.1), a.towards(c, 0.1)]),
            };
            Piece {
                shape,
                reach: numbers.between(40.0, 220.0),
                level: numbers.between(110.0, 190.0).round(),
                member,
            }
        })
        .collect()
}

fn ground(numbers: &mut Numbers) -> Ground {
    let (east, north) = (numbers.between(-0.6, 0.6), numbers.between(-0.6, 0.6));
    let mut nodes: Vec<f32> = (0..40 * 40)
        .map(|k| {
            let (column, row) = (f64::from(k % 40), f64::from(k / 40));
            (100.0 + 25.0 * (east * column - north * row) / 4.0 + numbers.between(0.0, 4.0)) as f32
        })
        .collect();
    if numbers.next() < 0.4 {
        let hole = (numbers.next() * 1_600.0) as usize;
        nodes[hole.min(1_599)] = f32::NAN;
    }
    let grid = Grid::new(40, 40, nodes, 480.0, |p| {
        Some((19.5 + p.x / 25.0, 19.5 - p.y / 25.0))
    });
    Ground::grid(grid.expect("placed"), numbers.between(0.0, 2.0))
}

/// An expression of one of several forms over shields and ground.
fn expression<'a>(
    form: usize,
    shields: &'a [Shields],
    ground: &'a Ground,
    border: f64,
) -> Box<dyn Field + 'a> {
    let above = |number: usize| -> Box<dyn Field + 'a> {
        Box::new(ShieldsAboveGround {
            shields: &shields[number],
            ground,
        })
    };
    let amsl = |number: usize| -> Box<dyn Field + 'a> { Box::new(shields[number].clone()) };
    let cap = |height: f64| CapAboveGround { leaf: 7, height };
    let cap_amsl = |height: f64| -> Box<dyn Field + 'a> {
        Box::new(CapAmsl {
            cap: cap(height),
            ground,
        })
    };
    match form % 5 {
        0 => Box::new(Lowest(vec![above(0), Box::new(cap(60.0))])),
        1 => Box::new(Lowest(vec![amsl(0), cap_amsl(60.0)])),
        2 => Box::new(Highest(vec![cap_amsl(30.0), amsl(0), amsl(1)])),
        3 => Box::new(Highest(vec![
            Box::new(Lowest(vec![above(0), Box::new(cap(40.0))])),
            above(1),
        ])),
        _ => Box::new(Lowest(vec![
            Box::new(Highest(vec![amsl(0), amsl(1)])),
            Box::new(Inside {
                zone: Box::new(West(border)),
                field: cap_amsl(20.0),
            }),
        ])),
    }
}

fn area(numbers: &mut Numbers) -> Vec<Cell> {
    let size = numbers.between(20.0, 200.0);
    let at = |x: f64, y: f64| Xy::new(x * size, y * size);
    vec![
        Cell::new([at(-1.0, -0.5), at(1.0, -0.5), at(1.0, 0.5)]),
        Cell::new([at(-1.0, -0.5), at(1.0, 0.5), at(-1.0, 0.5)]),
    ]
}

/// Every cell of a uniform splitting, halved `depth` times.
fn uniform(area: &[Cell], depth: u32) -> Vec<Cell> {
    (0..depth).fold(area.to_vec(), |cells, _| {
        cells.iter().flat_map(|cell| cell.halves().0).collect()
    })
}

/// The least bound and the least value at a point of all cells.
fn twin(field: &dyn Field, cells: &[Cell], scope: Scope) -> (f64, f64) {
    let low = |bounds: Enclosure| match scope {
        Scope::Everywhere => bounds.low,
        Scope::WhereDetermined => bounds.determined_low,
    };
    let bound = cells
        .iter()
        .map(|cell| low(field.over(cell)))
        .fold(f64::INFINITY, f64::min);
    let value = cells
        .iter()
        .flat_map(|cell| cell.corners().iter().copied().chain([cell.centre()]))
        .map(|point| field.at(point))
        .filter(|value| scope == Scope::Everywhere || *value > f64::NEG_INFINITY)
        .fold(f64::INFINITY, f64::min);
    (bound, value)
}

/// Rounding of sums of values below a thousand.
const ROUNDING: f64 = 1e-9;

#[test]
fn the_search_agrees_with_uniform_splitting() {
    let mut numbers = Numbers(404);
    let (mut finite, mut parts) = (0, 0);
    for case in 0..150 {
        let ground = ground(&mut numbers);
        let shields = [
            Shields::new(0, pieces(&mut numbers)),
            Shields::new(1, pieces(&mut numbers)),
        ];
        let field = expression(case, &shields, &ground, numbers.between(-150.0, 150.0));
        let area = area(&mut numbers);
        let cells = uniform(&area, 11);
        for scope in [Scope::Everywhere, Scope::WhereDetermined] {
            let found = lowest(field.as_ref(), &area, scope, Limits::within(0.1));
            let (bound, value) = twin(field.as_ref(), &cells, scope);
            let Some(found) = found else {
                assert_eq!(value, f64::INFINITY, "case {case}: no answer");
                continue;
            };
            // No value of the field lies below the bound, and no bound of the twin above a value.
            assert!(
                found.lower <= value + ROUNDING,
                "case {case} {scope:?}: {found:?}, {value}"
            );
            assert!(
                bound <= found.attained + ROUNDING,
                "case {case} {scope:?}: {found:?}, {bound}"
            );
            if found.attained.is_finite() {
                assert_eq!(field.at(found.place), found.attained);
                finite += 1;
            }
            if found.stop == Stop::Tolerance && found.attained > found.lower {
                assert!(found.attained - found.lower <= 0.1);
            }
            assert_eq!(found.in_doubt.is_some(), found.stop != Stop::Tolerance);
        }

        let level = numbers.between(20.0, 160.0);
        let share = share_at_or_above(field.as_ref(), &area, level, 1e-3, 100_000);
        let total: f64 = area.iter().map(Cell::area).sum();
        let of = |test: &dyn Fn(&Enclosure) -> bool| {
            cells
                .iter()
                .filter(|cell| test(&field.over(cell)))
                .map(Cell::area)
                .sum::<f64>()
                / total
        };
        let surely = of(&|bounds| bounds.low >= level);
        let perhaps = of(&|bounds| bounds.high >= level);
        assert!(share.at_least <= share.at_most);
        assert!(
            share.at_least <= perhaps + ROUNDING,
            "case {case}: {share:?} {perhaps}"
        );
        assert!(
            share.at_most >= surely - ROUNDING,
            "case {case}: {share:?} {surely}"
        );
        // The budget may end first, close to the share asked for.
        assert!(
            share.at_most - share.at_least <= 2e-3,
            "case {case}: {share:?}"
        );
        parts += usize::from(share.at_least > 0.0 && share.at_most < 1.0);
    }
    assert!(
        finite > 100 && parts > 30,
        "a mix of cases: {finite}, {parts}"
    );
}

/// Equal input gives equal output, and the order of shields matters to no bound.
#[test]
fn the_same_question_gets_the_same_answer() {
    let mut numbers = Numbers(11);
    for case in 0..60 {
        let ground = ground(&mut numbers);
        let list = pieces(&mut numbers);
        let mut shuffled = list.clone();
        for k in (1..shuffled.len()).rev() {
            shuffled.swap(k, (numbers.next() * (k + 1) as f64) as usize);
        }
        let area = area(&mut numbers);
        let ask = |list: &[Piece]| {
            let shields = [Shields::new(0, list.to_vec()), Shields::new(1, Vec::new())];
            let field = expression(case, &shields, &ground, 0.0);
            [Scope::Everywhere, Scope::WhereDetermined]
                .map(|scope| lowest(field.as_ref(), &area, scope, Limits::within(0.1)))
        };
        assert_eq!(ask(&list), ask(&list));
        assert_eq!(ask(&list), ask(&shuffled));
    }
}

/// A field that is determined in one point only, which no cell but those about it can know of.
struct OnlyAt(Xy);

impl Field for OnlyAt {
    fn at(&self, point: Xy) -> f64 {
        if point == self.0 {
            5.0
        } else {
            f64::NEG_INFINITY
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        if cell.centre() == self.0 {
            Enclosure::between(3.0, 5.0).or_undetermined()
        } else {
            Enclosure::UNDETERMINED
        }
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: 0,
            member: None,
        }
    }
}

/// The tolerances that a command line may not ask for, but a program may; and a determined point
/// on the seam of two cells, which rounding may put in neither.
#[test]
fn odd_limits_and_seams_end() {
    let mut numbers = Numbers(9);
    let ground = ground(&mut numbers);
    let shields = [
        Shields::new(0, pieces(&mut numbers)),
        Shields::new(1, pieces(&mut numbers)),
    ];
    let area = area(&mut numbers);
    for form in 0..5 {
        let field = expression(form, &shields, &ground, 10.0);
        for tolerance in [0.0, 1e-9, f64::NAN, f64::INFINITY, -1.0] {
            let limits = Limits {
                cells: 20_000,
                ..Limits::within(tolerance)
            };
            for scope in [Scope::Everywhere, Scope::WhereDetermined] {
                let Some(found) = lowest(field.as_ref(), &area, scope, limits) else {
                    continue;
                };
                assert!(!found.lower.is_nan() && found.lower <= found.attained);
                assert!(found.cells <= limits.cells + 2);
            }
        }
    }
    let cell = Cell::new([Xy::new(0.0, 0.0), Xy::new(9.0, 0.0), Xy::new(0.0, 9.0)]);
    let seam = OnlyAt(cell.centre());
    let found = lowest(&seam, &[cell], Scope::WhereDetermined, Limits::within(0.1)).unwrap();
    assert_eq!((found.lower, found.attained), (5.0, 5.0));
    assert_eq!(
        lowest(&seam, &[], Scope::Everywhere, Limits::within(0.1)),
        None
    );
}
