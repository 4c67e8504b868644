//! The certified search on a usual site: an L-shaped area of a few hundred metres under a line of
//! twelve spans with their supports and a dozen buildings, and the same above sloping ground.

use criterion::{Criterion, criterion_group, criterion_main};
use eaves::field::cap::CapAboveGround;
use eaves::field::combine::Lowest;
use eaves::field::convex::Convex;
use eaves::field::ground::{Grid, Ground};
use eaves::field::shield::{Piece, Shields, ShieldsAboveGround};
use eaves::field::{Cell, Field};
use eaves::frame::Xy;
use eaves::search::{Limits, Scope, lowest};

fn area() -> Vec<Cell> {
    let at = Xy::new;
    [
        [at(-300.0, 10.0), at(300.0, 10.0), at(300.0, 70.0)],
        [at(-300.0, 10.0), at(300.0, 70.0), at(-300.0, 70.0)],
        [at(240.0, -60.0), at(300.0, -60.0), at(300.0, 10.0)],
        [at(240.0, -60.0), at(300.0, 10.0), at(240.0, 10.0)],
    ]
    .map(Cell::new)
    .to_vec()
}

fn shields() -> Shields {
    let mut pieces = Vec::new();
    let mut add = |shape, level| {
        let member = pieces.len();
        pieces.push(Piece {
            shape,
            reach: 100.0,
            level,
            member,
        });
    };
    for k in 0..12 {
        let x = -600.0 + 100.0 * f64::from(k);
        add(
            Convex::segment(Xy::new(x, 0.0), Xy::new(x + 100.0, 0.0)),
            333.0 + f64::from(k % 3),
        );
        add(Convex::point(Xy::new(x, 0.0)), 345.0 + f64::from(k % 4));
    }
    for k in 0..12 {
        let (x, y) = (-280.0 + 50.0 * f64::from(k), 40.0);
        add(
            Convex::triangle([Xy::new(x, y), Xy::new(x + 12.0, y), Xy::new(x, y + 9.0)]),
            306.0 + f64::from(k),
        );
    }
    Shields::new(0, pieces)
}

fn slope() -> Ground {
    let nodes = (0..60 * 60)
        .map(|k| 290.0 + (k % 60) as f32 * 0.8 + (k / 60) as f32 * 0.3)
        .collect();
    let grid = Grid::new(60, 60, nodes, 800.0, |p| {
        Some((29.5 + p.x / 30.0, 29.5 - p.y / 30.0))
    });
    grid.map_or(Ground::level(300.0, 1.0), |grid| Ground::grid(grid, 1.0))
}

fn benches(criterion: &mut Criterion) {
    let (area, shields, ground) = (area(), shields(), slope());
    let limits = Limits::within(0.1);
    criterion.bench_function("search: shields AMSL", |b| {
        b.iter(|| lowest(&shields, &area, Scope::Everywhere, limits));
    });
    let above: Box<dyn Field + '_> = Box::new(Lowest(vec![
        Box::new(ShieldsAboveGround {
            shields: &shields,
            ground: &ground,
        }),
        Box::new(CapAboveGround {
            leaf: 1,
            height: 120.0,
        }),
    ]));
    criterion.bench_function("search: above sloping ground", |b| {
        b.iter(|| lowest(above.as_ref(), &area, Scope::Everywhere, limits));
    });
}

criterion_group!(group, benches);
criterion_main!(group);
