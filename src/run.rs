//! A resolved request carried out: the page on standard output, files in place, the exit code.
//!
//! Not here: any computation; an [`Engine`] brings it. Everything that is written is prepared in
//! memory before the first byte leaves the process.

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use crate::answer::Assessment;
use crate::error::{Error, Result};
use crate::profile::Profile;
use crate::report;
use crate::request::outputs::{FigureFormat, Outputs, Prepared, put_in_place};
use crate::request::{AssessRequest, Request};
use crate::units::{Height, Metres};

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

/// What a run is made of: reading, assessing and drawing.
pub trait Engine {
    /// Assesses one operating area.
    ///
    /// # Errors
    /// Whatever stops the run.
    fn assess(&self, request: &AssessRequest) -> Result<Assessment>;

    /// Draws the figure of an assessment as SVG.
    ///
    /// # Errors
    /// Whatever stops the run.
    fn svg(&self, assessment: &Assessment) -> Result<String>;

    /// Turns a figure into PNG.
    ///
    /// # Errors
    /// Whatever stops the run.
    fn png(&self, svg: &str) -> Result<Vec<u8>>;

    /// Inspects a folder of layers, as text or as JSON, and says whether it holds no defect.
    ///
    /// # Errors
    /// Whatever stops the run.
    fn inspect(&self, layers: &Path, json: bool) -> Result<(String, bool)>;

    /// The built-in rule profiles.
    ///
    /// # Errors
    /// Whatever stops the run.
    fn profiles(&self) -> Result<Vec<Profile>>;

    /// The files of the demo: names and contents, [`DEMO_AREA`] among them.
    fn demo(&self) -> &'static [(&'static str, &'static [u8])];
}

/// The operating area among the files of the demo.
pub const DEMO_AREA: &str = "area.geojson";

/// The wished height of the demo, metres above ground.
const DEMO_WISH_M: f64 = 50.0;

/// The date of the demo, so that it prints the same on any day.
const DEMO_DATE: Date = jiff::civil::date(2026, 7, 1);

/// The search radius of the demo, nautical miles.
const DEMO_SEARCH_NM: f64 = 10.0;

/// The tolerance of the demo, metres.
const DEMO_TOLERANCE_M: f64 = 0.1;

/// Carries out a request and prints to `out`.
///
/// # Errors
/// Whatever stops the run; nothing has been written then, or what was is whole.
pub fn run(request: &Request, engine: &impl Engine, out: &mut dyn Write) -> Result<Exit> {
    match request {
        Request::Assess(request) => assess(request, None, engine, out),
        Request::Inspect { layers, json } => {
            let (text, is_free_of_defects) = engine.inspect(layers, *json)?;
            print(out, &text)?;
            Ok(if is_free_of_defects {
                Exit::Answered
            } else {
                Exit::Undecided
            })
        }
        Request::Demo { out: folder } => demo(folder.as_deref(), engine, out),
        Request::Profiles => {
            print(out, &report::profiles::listing(&engine.profiles()?))?;
            Ok(Exit::Answered)
        }
    }
}

fn assess(
    request: &AssessRequest,
    page_file: Option<PathBuf>,
    engine: &impl Engine,
    out: &mut dyn Write,
) -> Result<Exit> {
    let assessment = engine.assess(request)?;
    let mut page = report::page::page(&assessment);
    let mut files = Vec::new();
    if let Some(path) = page_file {
        let bytes = page.clone().into_bytes();
        files.push(Prepared { path, bytes });
    }
    files.extend(prepared(&request.outputs, &assessment, engine)?);
    put_in_place(&files)?;
    if !files.is_empty() {
        page.push('\n');
    }
    for file in &files {
        let path = report::text::harmless(&file.path.display().to_string());
        page.push_str(&format!("Wrote {path}\n"));
    }
    print(out, &page)?;
    Ok(if assessment.is_decided() {
        Exit::Answered
    } else {
        Exit::Undecided
    })
}

/// Every output of an assessment, in memory.
fn prepared(
    outputs: &Outputs,
    assessment: &Assessment,
    engine: &impl Engine,
) -> Result<Vec<Prepared>> {
    let mut files = Vec::new();
    if !outputs.figures.is_empty() {
        let svg = engine.svg(assessment)?;
        for (path, format) in &outputs.figures {
            let bytes = match format {
                FigureFormat::Svg => svg.clone().into_bytes(),
                FigureFormat::Png => engine.png(&svg)?,
            };
            files.push(Prepared {
                path: path.clone(),
                bytes,
            });
        }
    }
    if let Some(path) = &outputs.json {
        files.push(Prepared {
            path: path.clone(),
            bytes: report::json::json(assessment)?.into_bytes(),
        });
    }
    Ok(files)
}

/// Assesses the demo: its files are laid out in a temporary folder that goes when it is done.
fn demo(folder: Option<&Path>, engine: &impl Engine, out: &mut dyn Write) -> Result<Exit> {
    let temporary = tempfile::Builder::new()
        .prefix("eaves-demo-")
        .tempdir()
        .map_err(|why| no_room(&std::env::temp_dir(), &why))?;
    let layers = temporary.path().join("layers");
    std::fs::create_dir(&layers).map_err(|why| no_room(&layers, &why))?;
    for (name, bytes) in engine.demo() {
        let folder = if *name == DEMO_AREA {
            temporary.path()
        } else {
            &layers
        };
        let path = folder.join(name);
        std::fs::write(&path, bytes).map_err(|why| no_room(&path, &why))?;
    }
    if let Some(folder) = folder {
        std::fs::create_dir_all(folder).map_err(|why| no_room(folder, &why))?;
    }
    let outputs = match folder {
        Some(folder) => Outputs::resolve(
            &[folder.join("figure.png"), folder.join("figure.svg")],
            Some(&folder.join("assessment.json")),
        )?,
        None => Outputs::default(),
    };
    let request = AssessRequest {
        area: temporary.path().join(DEMO_AREA),
        feature: None,
        layers,
        profile: "plain".into(),
        date: DEMO_DATE,
        search_radius: Metres::from_nautical_miles(DEMO_SEARCH_NM),
        wish: Some(Height::of(DEMO_WISH_M)),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(DEMO_TOLERANCE_M),
        assumed_sag: None,
        estimate_line_heights: false,
        outputs,
    };
    let page_file = folder.map(|folder| folder.join("report.txt"));
    assess(&request, page_file, engine, out)
}

fn no_room(path: &Path, why: &std::io::Error) -> Error {
    Error::new(
        format!("cannot be written ({why})"),
        "check the folder, its permissions and the space left",
    )
    .in_file(path)
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
