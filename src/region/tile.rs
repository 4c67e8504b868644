//! The ceiling of every cell of one part of a grid, laid out in a plane of its own.
//!
//! The value of a cell is the certified lower end of the minimum over the *whole* cell, so it is
//! nowhere in the cell too high, and neighbours from different planes need no agreement to be right.

use geo::{Area, BooleanOps, Intersects, MultiPolygon, Polygon, Rect};

use super::grid::{Grid, Part};
use crate::answer::NotAssessed;
use crate::assess::Question;
use crate::assess::patch::{Patch, over_patch};
use crate::error::Result;
use crate::field::{Cell, Field};
use crate::read::Layers;
use crate::search::{self, Limits, RESOLUTION_M, Scope};
use crate::site::{FeatureRef, OperatingArea};
use crate::units::Metres;

/// The value of a cell of which nothing is said: no ceiling and no height above ground is so low.
pub const NO_DATA: f32 = -9_999.0;

/// The number that stands for no term: the ceiling of the cell is undetermined.
pub const UNDETERMINED: f32 = 0.0;

/// How many pieces of one cell a search may look at: enough for a reach that crosses it, far below
/// what one site is given. What stays in doubt is undetermined.
const PIECES_OF_CELL: usize = 20_000;

/// One vertical reference: the ceiling of each cell, row by row, and the number of the term that
/// governs it (1 for the first of the profile).
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    /// Ceilings, metres; [`NO_DATA`] where undetermined or not asked.
    pub ceiling: Vec<f32>,
    /// Terms; [`UNDETERMINED`], or [`NO_DATA`] where not asked.
    pub term: Vec<f32>,
}

/// The answers about one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Tile {
    /// Which part.
    pub part: Part,
    /// Above ground.
    pub above_ground: Values,
    /// AMSL; undetermined everywhere where the ground has no elevation.
    pub amsl: Values,
    /// What could not be assessed about the ground here.
    pub not_assessed: Vec<NotAssessed>,
}

/// Answers the cells of a part that touch the region.
///
/// # Errors
/// When the terrain cannot be read.
pub fn answer(
    question: &Question,
    layers: &Layers,
    grid: &Grid,
    region: &MultiPolygon<f64>,
    part: Part,
) -> Result<Tile> {
    let rectangle = grid.rectangle(&part);
    let asked = Asked::of(region, &rectangle);
    let mut tile = Tile {
        part,
        above_ground: Values::none(&part),
        amsl: Values::none(&part),
        not_assessed: Vec::new(),
    };
    if matches!(asked, Asked::Nothing) {
        return Ok(tile);
    }
    let question = Question {
        area: patch_of(&rectangle),
        ..question.clone()
    };
    tile.not_assessed = over_patch(&question, layers, |patch| {
        let limits = Limits {
            tolerance: question.tolerance.m(),
            resolution: RESOLUTION_M,
            cells: PIECES_OF_CELL,
        };
        let is_bare = !may_be_determined(patch);
        for row in 0..part.rows {
            for column in 0..part.columns {
                let one = Part {
                    column: part.column + column,
                    row: part.row + row,
                    columns: 1,
                    rows: 1,
                };
                if !asked.holds(&grid.rectangle(&one)) {
                    continue;
                }
                let triangles = if is_bare {
                    Vec::new()
                } else {
                    grid.triangles(patch.plan.frame(), one.column, one.row)
                };
                let index = row * part.columns + column;
                let found = ceiling(patch.above_ground, &triangles, limits);
                tile.above_ground.set(index, found);
                let found = patch
                    .amsl
                    .and_then(|field| ceiling(field, &triangles, limits));
                tile.amsl.set(index, found);
            }
        }
        patch.not_assessed.clone()
    })?;
    Ok(tile)
}

/// Whether any point of a patch may have a ceiling. The field AMSL is undetermined where the one
/// above ground is.
fn may_be_determined(patch: &Patch) -> bool {
    patch
        .plan
        .cells()
        .iter()
        .any(|cell| patch.above_ground.over(cell).high > f64::NEG_INFINITY)
}

/// The certified ceiling over some cells and the number of the term that governs it.
fn ceiling(field: &dyn Field, cells: &[Cell], limits: Limits) -> Option<(f32, f32)> {
    if cells
        .iter()
        .any(|cell| field.over(cell).high == f64::NEG_INFINITY)
    {
        return None;
    }
    let found = search::lowest(field, cells, Scope::Everywhere, limits)?;
    if !found.lower.is_finite() || !found.attained.is_finite() {
        return None;
    }
    let term = field.governor(found.place).leaf.saturating_add(1);
    Some((rounded_down(found.lower), term as f32))
}

/// A value rounded down to a centimetre, in single precision and not above the value.
fn rounded_down(metres: f64) -> f32 {
    let nearest = Metres::of(metres).m_down(2) as f32;
    if f64::from(nearest) > metres {
        nearest.next_down()
    } else {
        nearest
    }
}

impl Values {
    fn none(part: &Part) -> Self {
        let cells = part.columns * part.rows;
        Self {
            ceiling: vec![NO_DATA; cells],
            term: vec![NO_DATA; cells],
        }
    }

    fn set(&mut self, index: usize, found: Option<(f32, f32)>) {
        let (ceiling, term) = found.unwrap_or((NO_DATA, UNDETERMINED));
        if let (Some(kept_ceiling), Some(kept_term)) =
            (self.ceiling.get_mut(index), self.term.get_mut(index))
        {
            (*kept_ceiling, *kept_term) = (ceiling, term);
        }
    }
}

/// Which cells of a part touch the region.
enum Asked {
    Nothing,
    Everything,
    Within(MultiPolygon<f64>),
}

impl Asked {
    fn of(region: &MultiPolygon<f64>, rectangle: &Rect<f64>) -> Self {
        if !region.intersects(rectangle) {
            return Self::Nothing;
        }
        let shared = region.intersection(&MultiPolygon::from(rectangle.to_polygon()));
        // Rounding of an intersection only: a share of the rectangle.
        if shared.unsigned_area() >= rectangle.unsigned_area() * (1.0 - 1e-9) {
            Self::Everything
        } else {
            Self::Within(shared)
        }
    }

    fn holds(&self, cell: &Rect<f64>) -> bool {
        match self {
            Self::Nothing => false,
            Self::Everything => true,
            Self::Within(region) => region.intersects(cell),
        }
    }
}

fn patch_of(rectangle: &Rect<f64>) -> OperatingArea {
    let (low, high) = (rectangle.min(), rectangle.max());
    let place = |x, y| {
        let place = crate::frame::LonLat::wrapped(x, y);
        (place.lon(), place.lat())
    };
    let ring: geo::LineString<f64> = [
        place(low.x, low.y),
        place(high.x, low.y),
        place(high.x, high.y),
        place(low.x, high.y),
        place(low.x, low.y),
    ]
    .into_iter()
    .collect();
    OperatingArea {
        source: FeatureRef {
            file: "a tile of the map".into(),
            feature: format!("{:.6}, {:.6}", low.x, high.y).into(),
        },
        name: "a tile of the map".to_owned(),
        polygons: MultiPolygon::new(vec![Polygon::new(ring, Vec::new())]),
    }
}
