//! The request of a screening: arguments checked, nothing read yet.
//!
//! Not here: what is done about it (see [`crate::screen`]).

use std::fmt;
use std::path::PathBuf;

use jiff::civil::Date;

use super::{require_file, require_folder};
use crate::cli::Drawn;
use crate::cli::screen::{RowFormat, ScreenArgs};
use crate::error::{Error, Result};
use crate::obstacle::Sag;
use crate::units::{Altitude, Height, Metres, Pressure};

/// Many candidate sites to screen.
#[derive(Clone, Debug, PartialEq)]
pub struct ScreenRequest {
    /// The file of sites.
    pub sites: PathBuf,
    /// The folder of layers.
    pub layers: PathBuf,
    /// The folder that everything is written into.
    pub out: PathBuf,
    /// The name or path of the rule profile.
    pub profile: String,
    /// The date the answers are for, where one was given.
    pub date: Option<Date>,
    /// The date where none was given and none is found in the folder.
    pub today: Date,
    /// Formats of rows besides comma-separated values.
    pub formats: Vec<RowFormat>,
    /// The radius about points that state none.
    pub radius: Option<Metres>,
    /// The width along lines that state none.
    pub width: Option<Metres>,
    /// Wished heights above ground.
    pub wishes: Vec<Height>,
    /// Reaches to try.
    pub reaches: Vec<Metres>,
    /// Margins to try.
    pub margins: Vec<Metres>,
    /// Vertical accuracies of obstacles to try.
    pub obstacle_accuracies: Vec<Metres>,
    /// The column that the summary ranks by, as typed.
    pub rank: Option<String>,
    /// How many rows the ranking names.
    pub top: usize,
    /// How many figures are drawn.
    pub figures: usize,
    /// What figures show besides what they always show.
    pub draw: Vec<Drawn>,
    /// The part of the rows that is answered.
    pub part: Option<Part>,
    /// The folders of parts to join.
    pub join: Vec<PathBuf>,
    /// How many threads answer.
    pub threads: Option<usize>,
    /// Whether nothing is said of the progress.
    pub quiet: bool,
    /// The property or column of the identifier.
    pub id: Option<String>,
    /// The column of longitudes.
    pub longitude: Option<String>,
    /// The column of latitudes.
    pub latitude: Option<String>,
    /// The coordinate reference system of the sites.
    pub crs: Option<String>,
    /// The table of the sites.
    pub table: Option<String>,
    /// The elevation stated instead of terrain.
    pub site_elevation: Option<Altitude>,
    /// The accuracy of the ground, when stated here.
    pub ground_accuracy: Option<Metres>,
    /// The nearest aerodrome within this is answered.
    pub search_radius: Metres,
    /// The sag assumed where the layers state none.
    pub assumed_sag: Option<Sag>,
    /// Whether missing heights of power lines are estimated.
    pub estimate_line_heights: bool,
    /// How closely ceilings are searched.
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with.
    pub qnh: Option<Pressure>,
}

/// A part of the rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Which, counted from 1.
    pub index: u64,
    /// Of how many.
    pub of: u64,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.index, self.of)
    }
}

/// Resolves `eaves screen`.
///
/// # Errors
/// A path that is missing or of the wrong kind; a value given twice in a list.
pub fn screen(typed: ScreenArgs, today: Date) -> Result<ScreenRequest> {
    require_file(&typed.sites, "give the file of the sites")?;
    require_folder(&typed.layers)?;
    for part in &typed.join {
        require_folder(part)?;
    }
    once("--height", &typed.height)?;
    once("--reach", &typed.reach)?;
    once("--margin", &typed.margin)?;
    once("--accuracy", &typed.accuracy)?;
    let mut formats = typed.format;
    let mut seen = Vec::new();
    formats.retain(|format| {
        let is_new = !seen.contains(format);
        seen.push(*format);
        is_new
    });
    Ok(ScreenRequest {
        sites: typed.sites,
        layers: typed.layers,
        out: typed.out,
        profile: typed.profile,
        date: typed.date,
        today,
        formats,
        radius: typed.radius,
        width: typed.width,
        wishes: typed.height,
        reaches: typed.reach,
        margins: typed.margin,
        obstacle_accuracies: typed.accuracy,
        rank: typed.rank,
        top: usize::from(typed.top),
        figures: usize::from(typed.figures),
        draw: typed.draw,
        part: typed.part.map(|part| Part {
            index: part.index,
            of: part.of,
        }),
        join: typed.join,
        threads: typed.threads.map(usize::from),
        quiet: typed.quiet,
        id: typed.id,
        longitude: typed.longitude,
        latitude: typed.latitude,
        crs: typed.crs,
        table: typed.table,
        site_elevation: typed.site_elevation,
        ground_accuracy: typed.ground_accuracy,
        search_radius: typed.search_radius,
        assumed_sag: typed.sag,
        estimate_line_heights: typed.estimate_line_heights,
        tolerance: typed.tolerance,
        qnh: typed.qnh,
    })
}

/// A value twice in a list would be two columns of one name.
fn once<T: PartialEq>(option: &str, values: &[T]) -> Result<()> {
    let is_twice = values
        .iter()
        .enumerate()
        .any(|(index, value)| values.iter().take(index).any(|before| before == value));
    if is_twice {
        return Err(Error::new(
            format!("{option} has a value twice"),
            "give each value once",
        ));
    }
    Ok(())
}
