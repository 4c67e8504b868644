//! The sampled ceiling: against a brute force that shares no code, and refused where a field is wrong.

use eaves::answer::{CeilingGrid, Square};
use eaves::assess::assess;
use eaves::assess::ceiling_grid::{Sampled, sample};
use eaves::field::{Cell, Enclosure, Field, Governor};
use eaves::frame::Xy;
use eaves::obstacle::Sag;
use eaves::plan::Plan;

use crate::cover::area;
use crate::site::{layers, mast, origin, question, rectangle, span};

/// Trusted tops above level ground, less the margin of 10 m, of a line along the x axis from −300 to
/// 300 and a mast at (20, 150), by hand: 60 − 5 − 2 − 10 and 45 − 10.
const LINE_M: f64 = 43.0;
const MAST_M: f64 = 35.0;

/// What the plain profile allows at a point, by plain distances; none out of reach.
pub fn allowed(x: f64, y: f64) -> Option<f64> {
    let line = (x - x.clamp(-300.0, 300.0)).hypot(y);
    let mast = (x - 20.0).hypot(y - 150.0);
    let near = |distance: f64, level: f64| (distance <= 100.0).then_some(level);
    near(line, LINE_M)
        .into_iter()
        .chain(near(mast, MAST_M))
        .reduce(f64::max)
}

fn grid(rings: &[Vec<(f64, f64)>]) -> (CeilingGrid, bool, Xy) {
    let mut ask = question(rings, "plain");
    ask.sample_ceiling = true;
    let line = span(
        (-300.0, 0.0),
        (300.0, 0.0),
        60.0,
        Some(Sag::Metres(5.0)),
        2.0,
    );
    let all = layers(vec![], vec![line, mast(20.0, 150.0, 45.0, 0.0)]);
    let assessment = assess(&ask, &all).unwrap();
    let middle = eaves::frame::LocalFrame::about(origin()).to_plane(assessment.area.middle);
    let is_whole = assessment.ceiling.whole.is_some();
    (assessment.ceiling_grid.unwrap(), is_whole, middle)
}

#[test]
fn no_square_promises_more_than_any_point_of_it_has() {
    let cases = [
        (vec![rectangle(-60.0, 10.0, 180.0, 80.0)], true),
        (vec![rectangle(-60.0, 40.0, 150.0, 180.0)], false),
        (
            vec![vec![
                (0.0, 20.0),
                (90.0, 60.0),
                (30.0, 200.0),
                (-40.0, 120.0),
                (0.0, 20.0),
            ]],
            true,
        ),
    ];
    for (rings, wholly) in cases {
        let (grid, is_whole, middle) = grid(&rings);
        assert_eq!(is_whole, wholly);
        let (mut known, mut exact, mut undetermined) = (0, 0, 0);
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let at = |share_x: f64, share_y: f64| {
                    let x = grid.west_m + grid.side_m * (column as f64 + share_x) + middle.x;
                    let y = grid.south_m + grid.side_m * (row as f64 + share_y) + middle.y;
                    allowed(x, y)
                };
                let points: Vec<Option<f64>> = (0..25)
                    .map(|k| at(f64::from(k % 5) / 4.0, f64::from(k / 5) / 4.0))
                    .collect();
                let least = points
                    .iter()
                    .map(|point| point.unwrap_or(f64::NEG_INFINITY))
                    .fold(f64::INFINITY, f64::min);
                match grid.square(column, row) {
                    Square::Known(square) => {
                        known += 1;
                        let told = f64::from(square.above_ground_cm) / 100.0;
                        // Where part of it is outside the area, that part does not count.
                        assert!(told <= least.max(MAST_M) + 1e-9, "{told} {least}");
                        exact += usize::from((told - least).abs() < 1e-9);
                        assert_eq!(square.amsl_cm, Some(square.above_ground_cm + 30_000));
                        assert_eq!(square.ground_cm, Some(30_000));
                        let name = &grid.governors[usize::from(square.governs.unwrap())].title;
                        assert!(name.contains("line") || name.contains("mast"), "{name}");
                    }
                    Square::Undetermined => {
                        undetermined += 1;
                        // None that is well within reach.
                        assert!(
                            least == f64::NEG_INFINITY
                                || !points.iter().all(Option::is_some)
                                || near_an_edge(&points),
                            "{points:?}"
                        );
                    }
                    Square::Outside => {}
                }
            }
        }
        assert_eq!(undetermined == 0, wholly, "{undetermined}");
        assert!(exact as f64 > 0.9 * f64::from(known), "{exact} of {known}");
    }
}

/// Whether the points of a square see more than one level: it lies on an edge of some reach.
fn near_an_edge(points: &[Option<f64>]) -> bool {
    points.windows(2).any(|pair| pair[0] != pair[1])
}

#[test]
fn squares_are_small_and_cover_the_area() {
    let (grid, _, _) = grid(&[rectangle(-60.0, 10.0, 180.0, 80.0)]);
    assert!((0.89..=1.01).contains(&grid.side_m), "{}", grid.side_m);
    assert!(grid.side_m * grid.columns as f64 >= 180.0 - 1e-6);
    assert!(grid.side_m * grid.rows as f64 >= 80.0 - 1e-6);
    assert_eq!(grid.square(grid.columns, 0), Square::Outside);
}

/// A field that claims 50 m over every cell, as a search would certify, and is 40 m in one place.
struct Wrong {
    hole: Xy,
    value: f64,
}

impl Field for Wrong {
    fn at(&self, point: Xy) -> f64 {
        if point.distance(self.hole) < 3.0 {
            self.value
        } else {
            50.0
        }
    }

    fn over(&self, _cell: &Cell) -> Enclosure {
        Enclosure::exactly(50.0)
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: 0,
            member: None,
        }
    }
}

#[test]
fn a_sample_below_the_certified_bound_stops_the_run() {
    let plan = Plan::of(&area(origin(), &[rectangle(0.0, 0.0, 100.0, 100.0)])).unwrap();
    let right = Wrong {
        hole: Xy::new(1_000.0, 0.0),
        value: 40.0,
    };
    let wrong = |value: f64| Wrong {
        hole: Xy::new(20.0, 10.0),
        value,
    };
    let asked = |above_ground: &dyn Field, amsl: Option<&dyn Field>, is_whole: bool| {
        let sampled = Sampled {
            above_ground,
            amsl,
            certified: Some((50.0, amsl.map(|_| 50.0))),
            is_whole,
        };
        sample(&sampled, &plan, &|_| None, &|_| None).map_err(|error| error.to_string())
    };
    assert!(asked(&right, Some(&right), true).is_ok());
    let refused = asked(&wrong(40.0), Some(&right), true).unwrap_err();
    assert!(refused.contains("above ground") && refused.contains("below the certified 50.00 m"));
    assert!(refused.contains("is 40.00 m"), "{refused}");
    let refused = asked(&right, Some(&wrong(49.99)), true).unwrap_err();
    assert!(refused.contains("AMSL"), "{refused}");
    // Undetermined in part is an answer where the whole is not certified, and a fault where it is.
    assert!(asked(&wrong(f64::NEG_INFINITY), None, false).is_ok());
    assert!(asked(&wrong(f64::NEG_INFINITY), None, true).is_err());
    assert!(asked(&wrong(49.0), None, false).is_err());
}
