//! ICAO Annex 14 Volume I, Tables 4-1 and 4-2: their cells, and the surfaces they make of runways.
//!
//! Where the Annex leaves something to the authority the lowest is taken: the elevation datum of
//! the inner horizontal surface is the lowest of the aerodrome and the runway ends; its outline and
//! that of the conical surface are arcs about the ends of all strips, joined by tangents; the
//! departure track may turn. The strip itself (paragraph 3.4; from memory) is kept as a surface at
//! the level of the centreline, so that an area on it is not left without one.

mod lay_out;

pub(super) use lay_out::lay_out;

use super::ribbon::Ribbon;
use super::table::Grid;
use crate::aerodrome::ApproachType;
use crate::error::Result;
use crate::frame::Xy;

/// How much the sections of an approach may differ from its total length, metres: rounding only.
const SUM_TOLERANCE_M: f64 = 1e-6;

/// The cells of both tables and of the outer horizontal surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Annex14 {
    /// Table 4-1, column by column.
    pub approach: Vec<ApproachColumn>,
    /// Table 4-2, column by column.
    pub take_off: Vec<TakeOffColumn>,
    /// Code numbers, radius and height (metres) of the outer horizontal surface.
    pub outer_horizontal: (Vec<u8>, f64, f64),
}

/// One column of Table 4-1; lengths and full widths in metres, slopes in metres a metre.
#[derive(Clone, Debug, PartialEq)]
pub struct ApproachColumn {
    /// Its name: `NPA-3`.
    pub name: String,
    /// Kind of approach.
    pub approach: ApproachType,
    /// Code numbers.
    pub codes: Vec<u8>,
    /// Slope and height of the conical surface.
    pub conical: (f64, f64),
    /// Height and radius of the inner horizontal surface.
    pub inner_horizontal: (f64, f64),
    /// The inner approach surface.
    pub inner_approach: Option<InnerApproach>,
    /// Full length of the inner edge.
    pub inner_edge: f64,
    /// Distance of the inner edge from the threshold.
    pub distance: f64,
    /// Divergence of each side.
    pub divergence: f64,
    /// Length and slope of each section.
    pub sections: Vec<(f64, f64)>,
    /// Slope of the transitional surface.
    pub transitional: f64,
    /// The balked landing surface.
    pub balked_landing: Option<BalkedLanding>,
}

/// An inner approach surface with the slope of its inner transitional surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InnerApproach {
    /// Full width, and the full width for code letter F.
    pub width: (f64, Option<f64>),
    /// Distance from the threshold.
    pub distance: f64,
    /// Length.
    pub length: f64,
    /// Slope.
    pub slope: f64,
    /// Slope of the inner transitional surface.
    pub transitional: f64,
}

/// A balked landing surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BalkedLanding {
    /// Full length of the inner edge, and that for code letter F.
    pub inner_edge: (f64, Option<f64>),
    /// Distance from the threshold, the runway end where that is nearer; none: the end of the strip.
    pub distance: Option<f64>,
    /// Divergence of each side.
    pub divergence: f64,
    /// Slope.
    pub slope: f64,
}

/// One column of Table 4-2.
#[derive(Clone, Debug, PartialEq)]
pub struct TakeOffColumn {
    /// Code numbers.
    pub codes: Vec<u8>,
    /// Full length of the inner edge.
    pub inner_edge: f64,
    /// Distance from the runway end.
    pub distance: f64,
    /// Divergence of each side.
    pub divergence: f64,
    /// Final full width, and that where the track turns by more than 15 degrees.
    pub final_width: (f64, f64),
    /// Length.
    pub length: f64,
    /// Slope.
    pub slope: f64,
}

impl Annex14 {
    /// From the parts of a table file.
    ///
    /// # Errors
    /// A missing or misfit row or cell, or sections that do not add up to the total length.
    pub(super) fn read(approach: &Grid, take_off: &Grid, outer: &Grid) -> Result<Self> {
        Ok(Self {
            approach: (0..approach.columns().len())
                .map(|column| approach_column(approach, column))
                .collect::<Result<_>>()?,
            take_off: (0..take_off.columns().len())
                .map(|column| take_off_column(take_off, column))
                .collect::<Result<_>>()?,
            outer_horizontal: (
                outer
                    .columns()
                    .first()
                    .map(|head| head.code_numbers.clone())
                    .unwrap_or_default(),
                outer.length("radius", 0)?,
                outer.length("height", 0)?,
            ),
        })
    }

    /// Whether Table 4-1 has a column for a code number and kind of approach.
    #[must_use]
    pub fn has_column(&self, code: u8, approach: ApproachType) -> bool {
        self.approach
            .iter()
            .any(|column| column.approach == approach && column.codes.contains(&code))
    }

    /// The columns of Table 4-1 that a runway end can be in. A precision approach of category II or
    /// III on a runway of code number 1 or 2 has no column; those of its kind are taken.
    fn candidates(&self, code: Option<u8>, approach: Option<ApproachType>) -> Vec<&ApproachColumn> {
        let of_kind =
            |column: &&ApproachColumn| approach.is_none_or(|approach| column.approach == approach);
        let both: Vec<&ApproachColumn> = self
            .approach
            .iter()
            .filter(of_kind)
            .filter(|column| code.is_none_or(|code| column.codes.contains(&code)))
            .collect();
        if both.is_empty() {
            self.approach.iter().filter(of_kind).collect()
        } else {
            both
        }
    }
}

fn approach_column(grid: &Grid, column: usize) -> Result<ApproachColumn> {
    let head = grid.columns().get(column).cloned();
    let head = head.ok_or_else(|| grid.wrong("columns", "is empty"))?;
    let approach = head
        .approach
        .ok_or_else(|| grid.wrong("columns", "has a column without a kind of approach"))?;
    let length = |row: &str| grid.length(row, column);
    let ratio = |row: &str| grid.ratio(row, column);
    let mut sections = vec![(
        length("approach_first_length")?,
        ratio("approach_first_slope")?,
    )];
    if let Some(second) = grid.length_if_any("approach_second_length", column)? {
        sections.push((second, ratio("approach_second_slope")?));
    }
    if let Some(horizontal) = grid.length_if_any("approach_horizontal_length", column)? {
        sections.push((horizontal, 0.0));
    }
    let sum: f64 = sections.iter().map(|(length, _)| length).sum();
    if (sum - length("approach_total_length")?).abs() > SUM_TOLERANCE_M {
        return Err(grid.wrong("approach_total_length", "is not the sum of its sections"));
    }
    let inner_approach = match grid.length_if_any("inner_approach_width", column)? {
        None => None,
        Some(width) => Some(InnerApproach {
            width: (
                width,
                grid.length_if_any("inner_approach_width_code_f", column)?,
            ),
            distance: length("inner_approach_distance")?,
            length: length("inner_approach_length")?,
            slope: ratio("inner_approach_slope")?,
            transitional: ratio("inner_transitional_slope")?,
        }),
    };
    let balked_landing = match grid.length_if_any("balked_landing_inner_edge", column)? {
        None => None,
        Some(inner_edge) => Some(BalkedLanding {
            inner_edge: (
                inner_edge,
                grid.length_if_any("balked_landing_inner_edge_code_f", column)?,
            ),
            distance: if grid.is_end_of_strip("balked_landing_distance", column)? {
                None
            } else {
                Some(length("balked_landing_distance")?)
            },
            divergence: ratio("balked_landing_divergence")?,
            slope: ratio("balked_landing_slope")?,
        }),
    };
    Ok(ApproachColumn {
        name: head.name,
        approach,
        codes: head.code_numbers,
        conical: (ratio("conical_slope")?, length("conical_height")?),
        inner_horizontal: (
            length("inner_horizontal_height")?,
            length("inner_horizontal_radius")?,
        ),
        inner_approach,
        inner_edge: length("approach_inner_edge")?,
        distance: length("approach_distance")?,
        divergence: ratio("approach_divergence")?,
        sections,
        transitional: ratio("transitional_slope")?,
        balked_landing,
    })
}

fn take_off_column(grid: &Grid, column: usize) -> Result<TakeOffColumn> {
    let length = |row: &str| grid.length(row, column);
    Ok(TakeOffColumn {
        codes: grid
            .columns()
            .get(column)
            .map(|head| head.code_numbers.clone())
            .unwrap_or_default(),
        inner_edge: length("inner_edge")?,
        distance: length("distance")?,
        divergence: grid.ratio("divergence", column)?,
        final_width: (length("final_width")?, length("final_width_turning")?),
        length: length("length")?,
        slope: grid.ratio("slope", column)?,
    })
}

impl ApproachColumn {
    /// The sections of an approach surface from its inner edge outward.
    #[must_use]
    pub fn ribbons(&self, origin: Xy, along: Xy, level: f64) -> Vec<Ribbon> {
        let mut next = Ribbon {
            origin,
            along,
            length: 0.0,
            half_width: self.inner_edge / 2.0,
            divergence: self.divergence,
            level,
            slope: 0.0,
        };
        self.sections
            .iter()
            .map(|(length, slope)| {
                next = next.then(*length, self.divergence, *slope);
                next
            })
            .collect()
    }
}

impl TakeOffColumn {
    /// The widening part of a take-off climb surface, and the part of full width.
    #[must_use]
    pub fn ribbons(&self, origin: Xy, along: Xy, level: f64, turns: bool) -> [Ribbon; 2] {
        let (straight, turning) = self.final_width;
        let full = if turns { turning } else { straight };
        let widening = ((full - self.inner_edge) / 2.0 / self.divergence).clamp(0.0, self.length);
        let first = Ribbon {
            origin,
            along,
            length: widening,
            half_width: self.inner_edge / 2.0,
            divergence: self.divergence,
            level,
            slope: self.slope,
        };
        [first, first.then(self.length - widening, 0.0, self.slope)]
    }
}
