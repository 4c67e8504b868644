//! The four laws of a field, asked of every implementation on random and adversarial cells.

use eaves::field::cap::{CapAboveGround, CapAmsl};
use eaves::field::combine::{Highest, Inside, Lowest, Side, Zone};
use eaves::field::convex::Convex;
use eaves::field::ground::{Elevation, Grid, Ground};
use eaves::field::proximity::Proximity;
use eaves::field::shield::{Piece, Shields, ShieldsAboveGround};
use eaves::field::{Cell, Field};
use eaves::frame::Xy;
use proptest::prelude::*;

/// Rounding of a handful of double-precision operations on values below 1e5, far below the
/// centimetre that ceilings are stated to.
const ROUNDING: f64 = 1e-9;

/// Enclosure at many points, nesting in both halves down to a depth, and shrinking where the field
/// is continuous along the way.
pub fn keeps_the_laws(field: &dyn Field, cell: Cell, depth: u32) {
    let bounds = field.over(&cell);
    assert!(!bounds.low.is_nan() && !bounds.high.is_nan() && !bounds.determined_low.is_nan());
    assert!(
        bounds.low <= bounds.determined_low,
        "doubt: {bounds:?} in {cell:?}"
    );
    let [a, b, c] = *cell.corners();
    let centre = cell.centre();
    for point in [a, b, c, centre, a.towards(b, 0.3), centre.towards(c, 0.7)] {
        let value = field.at(point);
        assert!(!value.is_nan());
        assert!(
            value >= bounds.low - ROUNDING && value <= bounds.high + ROUNDING,
            "enclosure: {value} at {point:?} not in {bounds:?}"
        );
        if value > f64::NEG_INFINITY {
            assert!(
                value >= bounds.determined_low - ROUNDING,
                "determined value {value} at {point:?} below {bounds:?}"
            );
        }
    }
    if depth == 0 {
        return;
    }
    for half in cell.halves().0 {
        let inner = field.over(&half);
        assert!(
            inner.low >= bounds.low - ROUNDING && inner.high <= bounds.high + ROUNDING,
            "nesting: {inner:?} not in {bounds:?}"
        );
        keeps_the_laws(field, half, depth - 1);
    }
}

/// The width of the enclosure over ever smaller cells about a point goes to 0.
pub fn shrinks_at(field: &dyn Field, point: Xy) {
    let cell = |size: f64| {
        Cell::new([
            Xy::new(point.x - size, point.y - size),
            Xy::new(point.x + size, point.y - size),
            Xy::new(point.x, point.y + size),
        ])
    };
    let width = |size: f64| {
        let bounds = field.over(&cell(size));
        bounds.high - bounds.low
    };
    let last = width(1e-6);
    assert!(last <= 1e-4, "shrinking: still {last} wide at 1e-6 m");
}

pub fn point() -> impl Strategy<Value = Xy> {
    (-400.0..400.0f64, -400.0..400.0f64).prop_map(|(x, y)| Xy::new(x, y))
}

pub fn cell() -> impl Strategy<Value = Cell> {
    prop_oneof![
        (point(), point(), point()).prop_map(|(a, b, c)| Cell::new([a, b, c])),
        // Slivers and points.
        (point(), point(), 0.0..1.0f64, -0.02..0.02f64).prop_map(|(a, b, share, off)| {
            let on = a.towards(b, share);
            Cell::new([a, b, Xy::new(on.x + off, on.y)])
        }),
        point().prop_map(|a| Cell::new([a, a, a])),
    ]
}

pub fn convex() -> impl Strategy<Value = Convex> {
    prop_oneof![
        point().prop_map(Convex::point),
        (point(), point()).prop_map(|(a, b)| Convex::segment(a, b)),
        (point(), point(), point()).prop_map(|(a, b, c)| Convex::triangle([a, b, c])),
    ]
}

fn shields() -> impl Strategy<Value = Shields> {
    prop::collection::vec((convex(), 1.0..250.0f64, 10.0..90.0f64), 0..8).prop_map(|list| {
        Shields::new(
            0,
            list.into_iter()
                .enumerate()
                .map(|(member, (shape, reach, level))| Piece {
                    shape,
                    reach,
                    level: level.round(),
                    member,
                })
                .collect(),
        )
    })
}

pub fn ground() -> impl Strategy<Value = Ground> {
    let grid = (
        prop::collection::vec(-50f32..300.0, 30 * 30),
        0.0..360.0f64,
        prop::collection::vec(0usize..900, 0..6),
        0.0..3.0f64,
        5.0..60.0f64,
    )
        .prop_map(|(mut nodes, turn, holes, accuracy, size)| {
            for hole in holes {
                nodes[hole] = f32::NAN;
            }
            let (sine, cosine) = turn.to_radians().sin_cos();
            let grid = Grid::new(30, 30, nodes, 700.0, |p| {
                // A turned, slightly curved placement.
                let (u, v) = (
                    (p.x * cosine - p.y * sine) / size,
                    (p.x * sine + p.y * cosine) / size,
                );
                Some((14.5 + u + 1e-3 * u * v, 14.5 - v + 5e-4 * u * u))
            });
            Ground::grid(grid.expect("placed"), accuracy)
        });
    prop_oneof![
        1 => (-20.0..500.0f64, 0.0..3.0f64).prop_map(|(elevation, accuracy)| Ground::level(elevation, accuracy)),
        4 => grid,
    ]
}

struct Disc(Xy, f64);

impl Zone for Disc {
    fn holds(&self, point: Xy) -> bool {
        self.0.distance(point) <= self.1
    }
    fn side(&self, cell: &Cell) -> Side {
        let farthest = cell
            .corners()
            .iter()
            .map(|corner| corner.distance(self.0))
            .fold(0.0, f64::max);
        if farthest <= self.1 {
            Side::Inside
        } else if Convex::point(self.0).separation(cell) > self.1 {
            Side::Outside
        } else {
            Side::Unsure
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn shields_keep_the_laws(shields in shields(), cell in cell()) {
        keeps_the_laws(&shields, cell, 7);
    }

    #[test]
    fn shields_above_ground_keep_the_laws(shields in shields(), ground in ground(), cell in cell()) {
        keeps_the_laws(&ShieldsAboveGround { shields: &shields, ground: &ground }, cell, 7);
    }

    #[test]
    fn caps_and_ground_keep_the_laws(ground in ground(), cell in cell(), at in point()) {
        let cap = CapAboveGround { leaf: 0, height: 120.0 };
        keeps_the_laws(&cap, cell, 3);
        keeps_the_laws(&CapAmsl { cap, ground: &ground }, cell, 7);
        keeps_the_laws(&Elevation { ground: &ground, upside_down: true }, cell, 7);
        if ground.known_at(at).is_some() {
            shrinks_at(&cap, at);
        }
    }

    #[test]
    fn known_ground_shrinks(at in point(), slope in -2.0..2.0f64) {
        let nodes = (0..900).map(|k| (k % 30) as f32 * 3.0 * slope as f32 + (k / 30) as f32).collect();
        let grid = Grid::new(30, 30, nodes, 700.0, |p| Some((14.5 + p.x / 30.0, 14.5 - p.y / 30.0))).expect("placed");
        let ground = Ground::grid(grid, 1.0);
        shrinks_at(&CapAmsl { cap: CapAboveGround { leaf: 0, height: 120.0 }, ground: &ground }, at);
    }

    #[test]
    fn proximity_keeps_the_laws(sets in prop::collection::vec(convex(), 1..6), cell in cell(), at in point()) {
        let field = Proximity(sets);
        keeps_the_laws(&field, cell, 7);
        shrinks_at(&field, at);
    }

    #[test]
    fn combinations_keep_the_laws(one in shields(), two in shields(), ground in ground(), centre in point(), cell in cell()) {
        let cap = || -> Box<dyn Field + '_> { Box::new(CapAmsl { cap: CapAboveGround { leaf: 9, height: 30.0 }, ground: &ground }) };
        let shield = |shields: &Shields| -> Box<dyn Field> { Box::new(shields.clone()) };
        keeps_the_laws(&Lowest(vec![shield(&one), cap()]), cell, 6);
        keeps_the_laws(&Highest(vec![shield(&one), shield(&two), cap()]), cell, 6);
        let nested = Lowest(vec![
            Box::new(Highest(vec![shield(&one), shield(&two)])),
            Box::new(Inside { zone: Box::new(Disc(centre, 150.0)), field: cap() }),
        ]);
        keeps_the_laws(&nested, cell, 6);
    }

    /// The exact distance between a triangle and a convex set, beside dense sampling of both.
    #[test]
    fn separation_is_the_least_distance(set in convex(), cell in cell()) {
        let [a, b, c] = *cell.corners();
        let mut sampled = f64::INFINITY;
        for i in 0..=40 {
            for j in 0..=40 - i {
                let (u, v) = (f64::from(i) / 40.0, f64::from(j) / 40.0);
                let p = Xy::new(
                    a.x + u * (b.x - a.x) + v * (c.x - a.x),
                    a.y + u * (b.y - a.y) + v * (c.y - a.y),
                );
                sampled = sampled.min(set.distance(p));
            }
        }
        let exact = set.separation(&cell);
        prop_assert!(exact <= sampled + 1e-9);
        prop_assert!(sampled - exact <= cell.diameter() / 20.0 + 1e-9, "{exact} {sampled}");
    }
}

/// A shield of 42.0 m and a reach of 100 m: "within 100 m" includes 100.0 m (New Zealand CAR Part
/// 101, definition of shielded operation, 101.7; design: boundary included).
#[test]
fn the_edge_of_a_reach_belongs_to_it() {
    let shields = Shields::new(
        0,
        vec![Piece {
            shape: Convex::point(Xy::new(0.0, 0.0)),
            reach: 100.0,
            level: 42.0,
            member: 0,
        }],
    );
    assert_eq!(shields.at(Xy::new(99.9, 0.0)), 42.0);
    assert_eq!(shields.at(Xy::new(0.0, 100.0)), 42.0);
    assert_eq!(shields.at(Xy::new(100.1, 0.0)), f64::NEG_INFINITY);
}

/// 14 CFR 107.51(b): a structure on sloping ground raises the limit to its top + 400 ft, not to the
/// ground at the aircraft + structure + 400 ft; and only within a 400 ft radius. The example quoted
/// with the rule: a 275-ft crane gives 675 ft inside a cylinder of 800 ft diameter.
#[test]
fn a_structure_raises_a_cap_by_its_own_top() {
    const FT: f64 = 0.3048;
    let nodes = (0..400).map(|k| (k % 20) as f32 * 10.0).collect();
    let slope = Grid::new(20, 20, nodes, 200.0, |p| {
        Some((9.5 + p.x / 50.0, 9.5 - p.y / 50.0))
    });
    let ground = Ground::grid(slope.expect("placed"), 0.0);
    let base = ground.known_at(Xy::new(0.0, 0.0)).expect("known").low;
    let shields = Shields::new(
        1,
        vec![Piece {
            shape: Convex::point(Xy::new(0.0, 0.0)),
            reach: 400.0 * FT,
            level: base + 275.0 * FT + 400.0 * FT,
            member: 0,
        }],
    );
    let limit = Highest(vec![
        Box::new(CapAmsl {
            cap: CapAboveGround {
                leaf: 0,
                height: 400.0 * FT,
            },
            ground: &ground,
        }),
        Box::new(shields),
    ]);
    let near = Xy::new(100.0, 0.0);
    assert!((limit.at(near) - (base + 675.0 * FT)).abs() < 1e-9);
    assert_eq!(limit.governor(near).leaf, 1);
    let far = Xy::new(400.0 * FT + 0.1, 0.0);
    assert_eq!(limit.governor(far).leaf, 0);
}

/// A triangle that rounding leaves between flat and thin, such as one cut from a wall with a vertex
/// too many, holds no far point of its own line: the sign of the rounding must not decide.
#[test]
fn a_flat_triangle_does_not_reach_along_its_line() {
    let mut numbers = crate::cover::Numbers(3);
    for _ in 0..20_000 {
        let from = Xy::new(
            numbers.between(-900.0, 900.0),
            numbers.between(-900.0, 900.0),
        );
        let to = Xy::new(
            from.x + numbers.between(-20.0, 20.0),
            from.y + numbers.between(-20.0, 20.0),
        );
        let on = |share: f64| from.towards(to, share);
        let wall = Convex::triangle([from, on(numbers.next()), to]);
        let length = from.distance(to);
        for share in [numbers.between(2.0, 40.0), numbers.between(-40.0, -1.0)] {
            let beyond = if share > 0.0 { share - 1.0 } else { -share };
            let found = wall.distance(on(share));
            assert!(
                (found - beyond * length).abs() < 1e-6,
                "{found} instead of {}",
                beyond * length
            );
        }
    }
}
