//! A resolved request carried out: the page on standard output, files in place, the exit code.
//!
//! Not here: any computation. Everything that is written is prepared in memory before the first byte
//! leaves the process.

#[cfg(feature = "gdal")]
mod ceiling_map;
#[cfg(feature = "gdal")]
mod commands;
#[cfg(feature = "gdal")]
mod demo;

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::answer::Assessment;
use crate::assess::{self, DRAWN_AROUND, LineClearance, Question, SectionWish, USUAL_CORRIDOR};
use crate::clearance::ClearanceTable;
use crate::cli::{self, Drawn};
use crate::error::{Error, Result};
use crate::figure::{self, FigureOptions, Scene};
use crate::html::{self, Drawing};
use crate::profile::{built_in, load};
use crate::read::elsewhere::{REFUSED, Refused};
use crate::read::{self, ReadOptions, window_about};
use crate::report;
use crate::request::AssessRequest;
use crate::request::outputs::{FigureFormat, FigureOutput, Outputs, Prepared, put_in_place};
use crate::sheet::{FigureKind, Sheet};
use crate::surfaces::shielding_planes::ShieldingRule;
use crate::surfaces::table;
use crate::units::Metres;

#[cfg(feature = "gdal")]
pub use commands::run;

/// How a run ended, as an exit code. Whether a flight is allowed is never an exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// 0: every question was answered.
    Answered,
    /// 1: answered with something undetermined or conditional.
    Undecided,
    /// 2: could not run.
    CouldNotRun,
}

impl Exit {
    /// The code.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Answered => 0,
            Self::Undecided => 1,
            Self::CouldNotRun => 2,
        }
    }
}

/// Assesses one operating area: its outputs in place, its page on `out`.
///
/// # Errors
/// Whatever stops it; nothing has been written then.
pub fn assessed(request: &AssessRequest, out: &mut dyn Write) -> Result<Exit> {
    deliver(
        &answered(request)?,
        &request.outputs,
        &figure_options(request),
        request.sheet.background.as_deref(),
        None,
        out,
    )
}

/// Lists the built-in rule profiles.
///
/// # Errors
/// Standard output that cannot be written.
pub fn profiles(out: &mut dyn Write) -> Result<Exit> {
    let profiles = built_in()
        .iter()
        .map(|(name, _)| load(name))
        .collect::<Result<Vec<_>>>()?;
    print(out, &report::profiles::listing(&profiles))?;
    Ok(Exit::Answered)
}

/// Reads what a request needs and answers it.
fn answered(request: &AssessRequest) -> Result<Assessment> {
    let profile = load(&request.profile)?;
    let area_file = read::operating_area(&request.area, request.feature.as_deref())?;
    let section = request.section.clone().map(|cut| SectionWish {
        cut,
        corridor: request.section_corridor.unwrap_or(USUAL_CORRIDOR),
    });
    let along_section = section.as_ref().map_or(Metres::ZERO, |wish| {
        wish.reads_around(&area_file.area, request.search_radius)
    });
    let around = (profile.widest_reach() + DRAWN_AROUND).max(along_section);
    let layers = read::layers(
        &request.layers,
        &ReadOptions {
            near: Some(window_about(&area_file.area, around).into()),
            assumed_sag: request.assumed_sag,
            estimate_line_heights: request.estimate_line_heights,
        },
    )?;
    let question = Question {
        area: area_file.area,
        area_cautions: area_file.cautions,
        profile,
        date: request.date,
        search_radius: request.search_radius,
        wish: request.wish,
        window: request.window.clone(),
        site_elevation: request.site_elevation,
        ground_accuracy: request.ground_accuracy,
        tolerance: request.tolerance,
        qnh: request.qnh,
        obstacle_accuracy: None,
        surfaces: request.surfaces.as_deref().map(table::load).transpose()?,
        sample_ceiling: request.draw.contains(&Drawn::Ceiling) || request.outputs.html.is_some(),
        line_clearance: line_clearance(request.line_clearance.as_ref())?,
        shielding_planes: request
            .shielding_planes
            .then(ShieldingRule::built_in)
            .transpose()?,
        section,
    };
    assess::assess(&question, &layers)
}

fn line_clearance(typed: Option<&cli::clearance::LineClearance>) -> Result<Option<LineClearance>> {
    typed
        .map(|typed| {
            Ok(match typed {
                cli::clearance::LineClearance::Distance(distance) => {
                    LineClearance::Distance(*distance)
                }
                cli::clearance::LineClearance::Table(name) => {
                    LineClearance::Table(ClearanceTable::load(name)?)
                }
            })
        })
        .transpose()
}

/// What the figures of a request show.
fn figure_options(request: &AssessRequest) -> FigureOptions {
    let sheet = &request.sheet;
    FigureOptions {
        sheet: Sheet {
            paper: sheet.paper,
            orientation: sheet.orientation,
        },
        dpi: sheet.dpi,
        title: sheet.title.clone(),
        number: sheet.figure_number.clone(),
        version: sheet.figure_version.clone(),
        applicant: sheet.applicant.clone(),
        background: None,
        background_credit: sheet.background_credit.clone(),
        ceiling: request.draw.contains(&Drawn::Ceiling),
        zones: request.draw.contains(&Drawn::Zones),
        airspace: request.draw.contains(&Drawn::Airspace),
        surfaces: request.draw.contains(&Drawn::Surfaces),
    }
}

/// Puts every output of an assessment in place and prints its page.
///
/// # Errors
/// When an output cannot be drawn or written; none has been put in place then.
pub fn deliver(
    assessment: &Assessment,
    outputs: &Outputs,
    figures: &FigureOptions,
    background: Option<&Path>,
    page_file: Option<PathBuf>,
    out: &mut dyn Write,
) -> Result<Exit> {
    let page = report::page::page(assessment);
    let mut files = Vec::new();
    if let Some(path) = page_file {
        let bytes = page.clone().into_bytes();
        files.push(Prepared { path, bytes });
    }
    files.extend(prepared(outputs, figures, background, assessment)?);
    leave(&files, page, &REFUSED, out)?;
    Ok(if assessment.is_decided() {
        Exit::Answered
    } else {
        Exit::Undecided
    })
}

/// Puts files in place and prints a page that ends with their names.
///
/// # Errors
/// What was refused on the way here, whatever became of that error: nothing is written or printed then.
/// A file or standard output that cannot be written.
pub fn leave(
    files: &[Prepared],
    mut page: String,
    refused: &Refused,
    out: &mut dyn Write,
) -> Result<()> {
    refused.none()?;
    put_in_place(files)?;
    if !files.is_empty() {
        page.push('\n');
    }
    for file in files {
        let path = report::text::harmless(&file.path.display().to_string());
        page.push_str(&format!("Wrote {path}\n"));
    }
    print(out, &page)
}

/// Every output of an assessment, in memory.
fn prepared(
    outputs: &Outputs,
    options: &FigureOptions,
    background: Option<&Path>,
    assessment: &Assessment,
) -> Result<Vec<Prepared>> {
    let mut scenes = Scenes {
        assessment,
        background,
        drawn: Vec::new(),
    };
    let mut files = figures(&outputs.figures, options, &mut scenes)?;
    if let Some(path) = &outputs.json {
        files.push(Prepared {
            path: path.clone(),
            bytes: report::json::json(assessment)?.into_bytes(),
        });
    }
    if let Some(path) = &outputs.html {
        files.push(Prepared {
            path: path.clone(),
            bytes: html(options, &mut scenes)?.into_bytes(),
        });
    }
    for (index, file) in files.iter().enumerate() {
        if files.iter().take(index).any(|it| it.path == file.path) {
            let cause = "would be both an output and a further sheet of a figure";
            return Err(Error::new(cause, "give another name").in_file(&file.path));
        }
    }
    Ok(files)
}

/// The HTML file of an assessment: every kind of figure, with all that can be switched in it.
fn html(options: &FigureOptions, scenes: &mut Scenes) -> Result<String> {
    let options = FigureOptions {
        zones: true,
        airspace: true,
        surfaces: true,
        ceiling: true,
        ..options.clone()
    };
    let drawings = FigureKind::ALL.map(|kind| Drawing {
        kind,
        scene: scenes.scene(kind, &options).cloned(),
    });
    html::document(scenes.assessment, &drawings)
}

/// The scenes of an assessment, each resolved once with its background picture.
struct Scenes<'a> {
    assessment: &'a Assessment,
    background: Option<&'a Path>,
    drawn: Vec<(FigureKind, FigureOptions, Scene)>,
}

impl Scenes<'_> {
    fn scene(&mut self, kind: FigureKind, options: &FigureOptions) -> Result<&Scene> {
        let wanted = options.of_kind(kind);
        let is_it = |it: &(FigureKind, FigureOptions, Scene)| it.0 == kind && it.1 == wanted;
        let at = match self.drawn.iter().position(is_it) {
            Some(at) => at,
            None => {
                let window = figure::background_window(self.assessment, kind, &wanted);
                let with_background = FigureOptions {
                    background: self
                        .background
                        .zip(window)
                        .map(|(path, window)| read::background(path, &window).map(Arc::new))
                        .transpose()?,
                    ..wanted.clone()
                };
                let scene = figure::resolve(self.assessment, kind, &with_background)?;
                self.drawn.push((kind, wanted, scene));
                self.drawn.len() - 1
            }
        };
        self.drawn
            .get(at)
            .map(|(_, _, scene)| scene)
            .ok_or_else(|| Error::new("a figure was lost", "report it with the request"))
    }
}

/// The figures of an assessment, in memory: a PDF has all sheets of one, of another format each sheet
/// is a file.
fn figures(
    wanted: &[FigureOutput],
    options: &FigureOptions,
    scenes: &mut Scenes,
) -> Result<Vec<Prepared>> {
    let mut files = Vec::new();
    for kind in FigureKind::ALL {
        for output in wanted.iter().filter(|figure| figure.kind == kind) {
            let scene = scenes.scene(kind, options)?;
            if output.format == FigureFormat::Pdf {
                files.push(Prepared {
                    path: output.path.clone(),
                    bytes: figure::pdf(scene)?,
                });
                continue;
            }
            for (index, sheet) in scene.sheets().enumerate() {
                let bytes = match output.format {
                    FigureFormat::Png => figure::png(sheet, options.checked_dpi()?)?,
                    FigureFormat::Svg | FigureFormat::Pdf => figure::svg(sheet)?.into_bytes(),
                };
                files.push(Prepared {
                    path: output.sheet(index + 1),
                    bytes,
                });
            }
        }
    }
    Ok(files)
}

/// Prints text. A reader that has gone away, such as `head`, is no failure.
///
/// # Errors
/// An [`Error`] when the text cannot be written for any other reason.
pub fn print(out: &mut dyn Write, text: &str) -> Result<()> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(why) if why.kind() != ErrorKind::BrokenPipe => Err(Error::new(
            format!("standard output cannot be written ({why})"),
            "check where it goes to and the space left there",
        )),
        _ => Ok(()),
    }
}

/// Says on standard error why nothing could run.
pub fn refuse(why: &str) -> Exit {
    // With no standard error left there is nobody to tell; the exit code still tells.
    let _ = writeln!(std::io::stderr(), "eaves: {}", report::text::harmless(why));
    Exit::CouldNotRun
}

/// Prints text that was asked for in place of a run.
pub fn told(text: &str, out: &mut dyn Write) -> Exit {
    match print(out, text) {
        Ok(()) => Exit::Answered,
        Err(error) => refuse(&error.to_string()),
    }
}

/// The date of today in UTC.
#[must_use]
pub fn today() -> Date {
    TimeZone::UTC.to_datetime(Timestamp::now()).date()
}
