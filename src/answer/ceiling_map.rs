//! What came of mapping the ceiling over a region.

use std::path::PathBuf;

use serde::Serialize;

use super::NotAssessed;
use crate::error::Caution;
use crate::units::Metres;

/// A map of the ceiling over a region.
#[derive(Clone, Debug, Serialize)]
pub struct CeilingMapAnswer {
    /// The name of the region.
    pub region: String,
    /// The date it holds for.
    pub date: String,
    /// The title of the rule profile.
    pub profile: String,
    /// Its caution.
    pub profile_caution: String,
    /// Its conditions.
    pub conditions: Vec<String>,
    /// The titles of its terms, in the order of their numbers in the map, from 1.
    pub terms: Vec<String>,
    /// Columns of the raster.
    pub columns: usize,
    /// Rows of the raster.
    pub rows: usize,
    /// Width and height of a cell, degrees.
    pub cell_deg: [f64; 2],
    /// The width and height of a cell that was asked for.
    pub cell_m: Metres,
    /// How high a band is.
    pub step_m: Metres,
    /// A cell's ceiling is no more than this, and a centimetre, below the true one, where the search
    /// reached it.
    pub tolerance_m: Metres,
    /// Where the ground comes from.
    pub ground: String,
    /// Cells above ground.
    pub above_ground: Tally,
    /// Cells AMSL; none where the ground has no elevation.
    pub amsl: Option<Tally>,
    /// What was not assessed.
    pub not_assessed: Vec<NotAssessed>,
    /// Defects and assumptions.
    pub cautions: Vec<Caution>,
    /// The files.
    pub files: Vec<PathBuf>,
}

/// Cells of a map, counted.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tally {
    /// Cells with a ceiling.
    pub determined: u64,
    /// Cells without one.
    pub undetermined: u64,
    /// The lowest ceiling, metres.
    pub lowest_m: Option<f64>,
    /// The highest, metres.
    pub highest_m: Option<f64>,
}
