//! The resolved request: arguments checked against the file system, with every default filled in.
//!
//! Not here: what arguments look like (see [`crate::cli`]) or doing what they ask
//! (see [`crate::run`]).

pub mod ceiling_map;
pub mod outputs;
pub mod screen;

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use crate::cli::clearance::LineClearance;
use crate::cli::figure::SheetArgs;
use crate::cli::{AssessArgs, Cli, Command, Drawn};
use crate::cut::SectionCut;
use crate::error::{Error, Result};
use crate::hours::window::WishedWindow;
use crate::obstacle::Sag;
use crate::sheet::FigureKind;
use crate::units::{Altitude, Height, Metres, Pressure};

use ceiling_map::CeilingMapRequest;
use outputs::Outputs;
use screen::ScreenRequest;

/// How far beyond the widest reach of the profile layers are read, for the surroundings that a
/// figure shows.
pub const FIGURE_SURROUNDINGS_M: f64 = 2_500.0;

/// What eaves is asked to do, ready to be done.
#[derive(Clone, Debug, PartialEq)]
pub enum Request {
    /// Assess one operating area.
    Assess(Box<AssessRequest>),
    /// Screen many candidate sites.
    Screen(Box<ScreenRequest>),
    /// Map the ceiling over a region.
    CeilingMap(Box<CeilingMapRequest>),
    /// Inspect a folder of layers.
    Inspect {
        /// The folder.
        layers: PathBuf,
        /// JSON instead of text.
        json: bool,
    },
    /// Prepare a folder of layers.
    Prepare {
        /// The folder.
        layers: PathBuf,
        /// The folder to write.
        out: PathBuf,
    },
    /// Assess the demo.
    Demo {
        /// Where to leave what it makes; the page alone is printed without it.
        out: Option<PathBuf>,
    },
    /// List the built-in rule profiles.
    Profiles,
}

/// One operating area to assess.
#[derive(Clone, Debug, PartialEq)]
pub struct AssessRequest {
    /// The file of the operating area.
    pub area: PathBuf,
    /// The feature of that file, when it has several.
    pub feature: Option<String>,
    /// The folder of layers.
    pub layers: PathBuf,
    /// The name or path of the rule profile.
    pub profile: String,
    /// The date the answer is for.
    pub date: Date,
    /// Aerodromes within this are listed.
    pub search_radius: Metres,
    /// The name of the table of obstacle limitation surfaces.
    pub surfaces: Option<String>,
    /// Whether shielding planes are asked of what penetrates a surface.
    pub shielding_planes: bool,
    /// The wished height above ground.
    pub wish: Option<Height>,
    /// The wished window of local times.
    pub window: Option<WishedWindow>,
    /// The elevation stated instead of terrain.
    pub site_elevation: Option<Altitude>,
    /// The accuracy of the ground, when stated here.
    pub ground_accuracy: Option<Metres>,
    /// How closely the ceiling is searched.
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with.
    pub qnh: Option<Pressure>,
    /// The sag assumed where the layers state none.
    pub assumed_sag: Option<Sag>,
    /// What is kept from power lines beside what the layers state.
    pub line_clearance: Option<LineClearance>,
    /// Whether missing heights of power lines are estimated.
    pub estimate_line_heights: bool,
    /// What a vertical section is cut along; none is made without it.
    pub section: Option<SectionCut>,
    /// The corridor of the section to either side, when stated.
    pub section_corridor: Option<Metres>,
    /// What figures show besides what they always show.
    pub draw: Vec<Drawn>,
    /// Paper, resolution and title block of figures.
    pub sheet: SheetArgs,
    /// What is written beside the page.
    pub outputs: Outputs,
}

impl Request {
    /// Resolves a command line; `today` is the date used where none was given.
    ///
    /// # Errors
    /// An [`Error`] for a path that is missing, of the wrong kind, or given for two purposes.
    pub fn resolve(cli: Cli, today: Date) -> Result<Self> {
        match cli.command {
            Command::Assess(typed) => assess(*typed, today).map(|it| Self::Assess(Box::new(it))),
            Command::Screen(typed) => {
                screen::screen(*typed, today).map(|it| Self::Screen(Box::new(it)))
            }
            Command::CeilingMap(typed) => {
                ceiling_map::resolve(*typed, today).map(|it| Self::CeilingMap(Box::new(it)))
            }
            Command::Inspect(typed) => {
                require_folder(&typed.layers)?;
                Ok(Self::Inspect {
                    layers: typed.layers,
                    json: typed.json,
                })
            }
            Command::Prepare(typed) => {
                require_folder(&typed.layers)?;
                Ok(Self::Prepare {
                    layers: typed.layers,
                    out: typed.out,
                })
            }
            Command::Demo(typed) => {
                if let Some(out) = &typed.out
                    && out.exists()
                    && !out.is_dir()
                {
                    return Err(Error::new("is a file", "--out needs a folder").in_file(out));
                }
                Ok(Self::Demo { out: typed.out })
            }
            Command::Profiles => Ok(Self::Profiles),
        }
    }
}

fn assess(typed: AssessArgs, today: Date) -> Result<AssessRequest> {
    require_file(&typed.area, "give the GeoJSON file of the operating area")?;
    require_folder(&typed.layers)?;
    let outputs = Outputs::resolve(&typed.figure, typed.json.as_deref(), typed.html.as_deref())?;
    let mut inputs = vec![typed.area.as_path(), Path::new(&typed.profile)];
    if let Some(background) = &typed.sheet.background {
        require_background(background)?;
        inputs.push(background);
    }
    outputs.spare_inputs(&inputs, &typed.layers)?;
    Ok(AssessRequest {
        area: typed.area,
        feature: typed.feature,
        layers: typed.layers,
        profile: typed.profile,
        date: typed.date.unwrap_or(today),
        search_radius: typed.search_radius,
        surfaces: typed.surfaces,
        wish: typed.height,
        window: window(typed.window.as_deref(), typed.tz.as_deref(), typed.days)?,
        site_elevation: typed.site_elevation,
        ground_accuracy: typed.ground_accuracy,
        tolerance: typed.tolerance,
        qnh: typed.qnh,
        assumed_sag: typed.sag,
        line_clearance: typed.line_clearance,
        estimate_line_heights: typed.estimate_line_heights,
        shielding_planes: typed.shielding_planes,
        section: section(typed.section, typed.section_corridor, &outputs)?,
        section_corridor: typed.section_corridor,
        draw: typed.draw,
        sheet: typed.sheet,
        outputs,
    })
}

/// The cut of the section that is made.
fn section(
    cut: Option<SectionCut>,
    corridor: Option<Metres>,
    outputs: &Outputs,
) -> Result<Option<SectionCut>> {
    let has_figure = (outputs.figures.iter()).any(|figure| figure.kind == FigureKind::Section);
    let cut = cut.or_else(|| has_figure.then(SectionCut::default));
    if cut.is_none() && corridor.is_some() {
        return Err(Error::new(
            "--section-corridor: no section is made",
            "add --section governing or --figure section=FILE",
        ));
    }
    Ok(cut)
}

fn window(text: Option<&str>, zone: Option<&str>, days: u16) -> Result<Option<WishedWindow>> {
    text.zip(zone)
        .map(|(text, zone)| {
            WishedWindow::new(text, zone, days).map_err(|why| {
                Error::new(
                    format!("--window or --tz: {why}"),
                    "write such as --window \"Mo-Fr 07:00-11:00\" --tz Australia/Sydney",
                )
            })
        })
        .transpose()
}

/// An input must be something that can be read; a pipe is fine, a folder is not.
fn require_file(path: &Path, remedy: &str) -> Result<()> {
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => Err(Error::new("is a folder", remedy).in_file(path)),
        Ok(_) => Ok(()),
        Err(why) => Err(unreadable(path, &why, remedy)),
    }
}

fn require_background(path: &Path) -> Result<()> {
    let remedy = "give a georeferenced GeoTIFF for --background";
    match std::fs::metadata(path) {
        Ok(found) if found.is_file() => Ok(()),
        Ok(_) => Err(Error::new("is not a file", remedy).in_file(path)),
        Err(why) => Err(unreadable(path, &why, remedy)),
    }
}

fn require_folder(path: &Path) -> Result<()> {
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => Ok(()),
        Ok(_) => Err(
            Error::new("is not a folder", "give the folder that holds the layers").in_file(path),
        ),
        Err(why) => Err(unreadable(
            path,
            &why,
            "give the folder that holds the layers",
        )),
    }
}

fn unreadable(path: &Path, why: &std::io::Error, remedy: &str) -> Error {
    let cause = match why.kind() {
        std::io::ErrorKind::NotFound => "does not exist".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        _ => format!("cannot be read ({why})"),
    };
    Error::new(cause, remedy).in_file(path)
}
