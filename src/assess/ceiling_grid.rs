//! The ceiling sampled over the area: the same compiled fields that were searched, asked square by
//! square.
//!
//! What a square is said to allow is the lower end of the field's own enclosure over it, so that no
//! point of it is promised too much; besides, the field is asked at a point of each square, and a
//! value below the certified bound stops the run: the search and the field then disagree, and neither
//! can be drawn.

use geo::{Coord, Intersects, Rect};
use rayon::prelude::*;

use super::ceiling;
use super::expression::Expression;
use super::ground::SiteGround;
use super::obstacles::Nearby;
use crate::answer::{CeilingAnswer, CeilingGrid, GridGovernor, KnownSquare, Square};
use crate::error::{Error, Result};
use crate::field::{Cell, Field, Governor};
use crate::frame::Xy;
use crate::plan::Plan;

/// Squares along the longer side of the area: below half a millimetre each on a printed sheet.
const SQUARES_ALONG: f64 = 200.0;

/// No square is smaller, metres: the steps in which sides are chosen.
const SIDE_STEP_M: f64 = 0.1;

/// A sample may be below the certified bound by the rounding of a few sums, metres.
const NOISE_M: f64 = 1e-6;

/// The fields to sample and what was certified of them.
pub struct Sampled<'a> {
    /// The ceiling above ground.
    pub above_ground: &'a dyn Field,
    /// The ceiling AMSL; none on assumed flat ground.
    pub amsl: Option<&'a dyn Field>,
    /// Certified bounds above ground and AMSL; none where nothing is determined.
    pub certified: Option<(f64, Option<f64>)>,
    /// Whether the bounds are of the whole area, so that no point of it may be undetermined.
    pub is_whole: bool,
}

/// The fields of an expression with what was certified of them.
pub fn answer(
    expression: &Expression,
    nearby: &Nearby,
    plan: &Plan,
    ground: &SiteGround,
    ceiling: &CeilingAnswer,
) -> Result<CeilingGrid> {
    let above_ground = expression.above_ground(&ground.ground);
    let amsl = ground.is_amsl().then(|| expression.amsl(&ground.ground));
    let pair = ceiling.whole.as_ref().or(ceiling.determined_part.as_ref());
    let sampled = Sampled {
        above_ground: above_ground.as_ref(),
        amsl: amsl.as_deref(),
        certified: pair.map(|pair| {
            let amsl = pair.amsl.as_ref().map(|value| value.value_m);
            (pair.above_ground.value_m, amsl)
        }),
        is_whole: ceiling.whole.is_some(),
    };
    let name = |governor: Governor| ceiling::governor(governor, expression, nearby, ground);
    let highest = |cell: &Cell| {
        let range = ground.ground.over(cell).filter(|_| ground.is_amsl())?;
        Some(range.high)
    };
    sample(&sampled, plan, &name, &highest)
}

/// Samples fields over the area of a plan.
///
/// # Errors
/// When the field is somewhere below what was certified of it.
pub fn sample(
    sampled: &Sampled,
    plan: &Plan,
    name: &dyn Fn(Governor) -> Option<GridGovernor>,
    highest_ground: &(dyn Fn(&Cell) -> Option<f64> + Sync),
) -> Result<CeilingGrid> {
    let layout = Layout::over(plan);
    let held = layout.held(plan);
    let squares: Vec<Asked> = held
        .par_iter()
        .enumerate()
        .map(|(number, held)| {
            let place = (number % layout.columns, number / layout.columns);
            layout.ask(place, *held, sampled, plan, highest_ground)
        })
        .collect::<Result<_>>()?;
    let mut governors: Vec<(Governor, GridGovernor)> = Vec::new();
    let squares = squares
        .into_iter()
        .map(|(square, governor)| match square {
            Square::Known(known) => Square::Known(KnownSquare {
                governs: governor.and_then(|governor| number(&mut governors, governor, name)),
                ..known
            }),
            other => other,
        })
        .collect();
    Ok(CeilingGrid {
        side_m: layout.side,
        west_m: layout.west,
        south_m: layout.south,
        columns: layout.columns,
        rows: layout.rows,
        squares,
        governors: governors.into_iter().map(|(_, name)| name).collect(),
    })
}

/// A square with who governs in it.
type Asked = (Square, Option<Governor>);

/// The number of a governor in the list, which grows as they are met.
fn number(
    governors: &mut Vec<(Governor, GridGovernor)>,
    governor: Governor,
    name: &dyn Fn(Governor) -> Option<GridGovernor>,
) -> Option<u16> {
    let known = governors.iter().position(|(known, _)| *known == governor);
    let at = match known {
        Some(at) => at,
        None => {
            governors.push((governor, name(governor)?));
            governors.len() - 1
        }
    };
    u16::try_from(at).ok()
}

/// Where the squares lie.
struct Layout {
    side: f64,
    west: f64,
    south: f64,
    columns: usize,
    rows: usize,
}

impl Layout {
    fn over(plan: &Plan) -> Self {
        let (mut low, mut high) = (Xy::default(), Xy::default());
        for (corner, _) in plan.edges() {
            low = Xy::new(low.x.min(corner.x), low.y.min(corner.y));
            high = Xy::new(high.x.max(corner.x), high.y.max(corner.y));
        }
        let (width, height) = (high.x - low.x, high.y - low.y);
        let side = (width.max(height) / SQUARES_ALONG / SIDE_STEP_M)
            .ceil()
            .max(1.0)
            * SIDE_STEP_M;
        Self {
            side,
            west: low.x,
            south: low.y,
            columns: (width / side).ceil().max(1.0) as usize,
            rows: (height / side).ceil().max(1.0) as usize,
        }
    }

    /// Of each square, row by row from the south, whether it lies in the area or apart from it; none where
    /// it may do neither. Blocks of squares that lie on one side are not looked at one by one.
    fn held(&self, plan: &Plan) -> Vec<Option<bool>> {
        let mut held = vec![None; self.columns * self.rows];
        let mut open = vec![(0..self.columns, 0..self.rows)];
        while let Some((columns, rows)) = open.pop() {
            let (wide, high) = (columns.len(), rows.len());
            let middle = self.at(
                (columns.start + columns.end) as f64 / 2.0,
                (rows.start + rows.end) as f64 / 2.0,
            );
            let radius = self.side * (wide as f64).hypot(high as f64) / 2.0;
            let found = plan.holds_disc(middle, radius);
            if found.is_some() || wide.max(high) <= 1 {
                for row in rows {
                    let start = row * self.columns;
                    held[start + columns.start..start + columns.end].fill(found);
                }
            } else if wide >= high {
                let half = columns.start + wide / 2;
                open.push((columns.start..half, rows.clone()));
                open.push((half..columns.end, rows));
            } else {
                let half = rows.start + high / 2;
                open.push((columns.clone(), rows.start..half));
                open.push((columns, half..rows.end));
            }
        }
        held
    }

    /// A corner of squares, counted from the south-west one.
    fn at(&self, column: f64, row: f64) -> Xy {
        Xy::new(self.west + self.side * column, self.south + self.side * row)
    }

    fn ask(
        &self,
        (column, row): (usize, usize),
        held: Option<bool>,
        sampled: &Sampled,
        plan: &Plan,
        highest_ground: &dyn Fn(&Cell) -> Option<f64>,
    ) -> Result<Asked> {
        let (c, r) = (column as f64, row as f64);
        let corners = [
            self.at(c, r),
            self.at(c + 1.0, r),
            self.at(c + 1.0, r + 1.0),
            self.at(c, r + 1.0),
        ];
        let [sw, se, ne, nw] = corners;
        let middle = self.at(c + 0.5, r + 0.5);
        let area = plan.polygons();
        // A point of the area in the square: its middle, or else a corner that is.
        let inside = match held {
            Some(true) => Some(middle),
            Some(false) => return Ok((Square::Outside, None)),
            None if !area.intersects(&Rect::new(coord(sw), coord(ne))) => {
                return Ok((Square::Outside, None));
            }
            None => std::iter::once(middle)
                .chain(corners)
                .find(|point| area.intersects(&coord(*point))),
        };
        if let Some(point) = inside {
            sampled.check(point, plan)?;
        }
        let cells = [Cell::new([sw, se, ne]), Cell::new([sw, ne, nw])];
        let low = |field: &dyn Field| {
            cells
                .iter()
                .map(|cell| field.over(cell).low)
                .fold(f64::INFINITY, f64::min)
        };
        let above_ground = low(sampled.above_ground);
        let amsl = sampled.amsl.map(low);
        let is_known = above_ground.is_finite() && amsl.is_none_or(f64::is_finite);
        let Some((least, least_amsl)) = sampled.certified.filter(|_| is_known) else {
            return Ok((Square::Undetermined, None));
        };
        // The part of a square outside the area may allow less than any point of the area.
        let known = KnownSquare {
            above_ground_cm: centimetres(above_ground.max(least)),
            amsl_cm: amsl.map(|amsl| centimetres(least_amsl.map_or(amsl, |least| amsl.max(least)))),
            ground_cm: cells
                .iter()
                .map(highest_ground)
                .try_fold(f64::NEG_INFINITY, |high, ground| Some(high.max(ground?)))
                .map(|high| -centimetres(-high)),
            governs: None,
        };
        let governor = sampled.above_ground.governor(inside.unwrap_or(middle));
        Ok((Square::Known(known), Some(governor)))
    }
}

impl Sampled<'_> {
    /// Whether the fields at a point of the area are what was certified of them.
    fn check(&self, point: Xy, plan: &Plan) -> Result<()> {
        let bounds = [
            (
                Some(self.above_ground),
                self.certified.map(|it| it.0),
                "above ground",
            ),
            (self.amsl, self.certified.and_then(|it| it.1), "AMSL"),
        ];
        for (field, certified, reference) in bounds {
            let Some(value) = field.map(|field| field.at(point)) else {
                continue;
            };
            let Some(certified) = certified else {
                continue;
            };
            let may_be_undetermined = !self.is_whole && value == f64::NEG_INFINITY;
            if value < certified - NOISE_M && !may_be_undetermined {
                let place = plan.frame().to_place(point);
                return Err(Error::new(
                    format!(
                        "the ceiling {reference} at {:.7}, {:.7} is {value:.2} m, below the certified \
                         {certified:.2} m",
                        place.lat(),
                        place.lon()
                    ),
                    "report this defect with the input files; no figure is drawn from it",
                ));
            }
        }
        Ok(())
    }
}

/// Whole centimetres, rounded down.
fn centimetres(metres: f64) -> i32 {
    (metres * 100.0 + 1e-7).floor() as i32
}

const fn coord(point: Xy) -> Coord<f64> {
    Coord {
        x: point.x,
        y: point.y,
    }
}
