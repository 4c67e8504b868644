//! The demo carried out: two invented sites, one after the other.
//!
//! The files are laid out in a temporary folder that goes when it is done. Not here: what they hold
//! (see [`crate::demo`]).

use std::io::Write;
use std::path::{Path, PathBuf};

use jiff::civil::date;

use super::commands::no_room;
use super::{Exit, answered, deliver, figure_options, print};
use crate::cli::Drawn;
use crate::cli::clearance::LineClearance;
use crate::cli::figure::{SheetArgs, WantedFigure};
use crate::cut::SectionCut;
use crate::demo::{DemoSite, RUNWAY_END, UNDER_THE_LINE};
use crate::error::{Error, Result};
use crate::hours::window::WishedWindow;
use crate::request::AssessRequest;
use crate::request::outputs::Outputs;
use crate::sheet::FigureKind;
use crate::units::{Altitude, Height, Metres};

/// The search radius, nautical miles.
const SEARCH_NM: f64 = 10.0;

/// The tolerance, metres.
const TOLERANCE_M: f64 = 0.1;

/// The elevation and the accuracy that are stated of the ground at the second site, metres.
const STATED_GROUND_M: (f64, f64) = (1402.0, 1.0);

/// What the file names of the second site begin with; the kind of figure, or what a file is, follows.
const SECOND: &str = "runway-end-";

/// Assesses both sites of the demo and prints their pages; dates are fixed, so that it prints the same
/// on any day.
pub(super) fn run(folder: Option<&Path>, out: &mut dyn Write) -> Result<Exit> {
    let temporary = tempfile::Builder::new()
        .prefix("eaves-demo-")
        .tempdir()
        .map_err(|why| no_room(&std::env::temp_dir(), &why))?;
    if let Some(folder) = folder {
        std::fs::create_dir_all(folder).map_err(|why| no_room(folder, &why))?;
    }
    let line = Left { folder, prefix: "" };
    let first = under_the_line(&laid_out(temporary.path(), &UNDER_THE_LINE)?, line)?;
    let end = Left {
        folder,
        prefix: SECOND,
    };
    let second = beyond_the_runway(&first, &laid_out(temporary.path(), &RUNWAY_END)?, end)?;
    // Both are answered before anything is written.
    let answers = [(&first, line), (&second, end)]
        .into_iter()
        .map(|(request, left)| Ok((request, left, answered(request)?)))
        .collect::<Result<Vec<_>>>()?;
    let mut ended = Exit::Answered;
    for (index, (request, left, assessment)) in answers.iter().enumerate() {
        if index > 0 {
            print(out, "\n")?;
        }
        let page = left.path("report.txt");
        let options = figure_options(request);
        let exit = deliver(assessment, &request.outputs, &options, None, page, out)?;
        if exit != Exit::Answered {
            ended = exit;
        }
    }
    Ok(ended)
}

/// A site with its files in place.
struct Files {
    area: PathBuf,
    layers: PathBuf,
}

/// Writes the files of a site into a folder of its own.
fn laid_out(temporary: &Path, site: &DemoSite) -> Result<Files> {
    let folder = temporary.join(site.name);
    let layers = folder.join("layers");
    std::fs::create_dir_all(&layers).map_err(|why| no_room(&layers, &why))?;
    let write = |path: PathBuf, bytes: &[u8]| {
        std::fs::write(&path, bytes).map_err(|why| no_room(&path, &why))?;
        Ok(path)
    };
    for (name, bytes) in site.layers {
        write(layers.join(name), bytes)?;
    }
    let area = write(folder.join(site.area.0), site.area.1)?;
    Ok(Files { area, layers })
}

/// Where the files of a site are left, if anywhere.
#[derive(Clone, Copy)]
struct Left<'a> {
    folder: Option<&'a Path>,
    prefix: &'static str,
}

impl Left<'_> {
    fn path(self, name: &str) -> Option<PathBuf> {
        Some(self.folder?.join(format!("{}{name}", self.prefix)))
    }

    /// Figures of these kinds in each format, the JSON, and the HTML file where it is wanted.
    fn outputs(self, kinds: &[FigureKind], html: bool) -> Result<Outputs> {
        let figures: Vec<WantedFigure> = kinds
            .iter()
            .flat_map(|kind| ["png", "svg", "pdf"].map(|format| (*kind, format)))
            .filter_map(|(kind, format)| {
                let path = self.path(&format!("{}.{format}", kind.name()))?;
                Some(WantedFigure { kind, path })
            })
            .collect();
        let html = self.path("assessment.html").filter(|_| html);
        Outputs::resolve(
            &figures,
            self.path("assessment.json").as_deref(),
            html.as_deref(),
        )
    }
}

fn window(hours: &str, zone: &str, days: u16) -> Result<Option<WishedWindow>> {
    WishedWindow::new(hours, zone, days)
        .map(Some)
        .map_err(|why| Error::new(why, "report it: the windows of the demo are built in"))
}

/// The first site: an area along a power line that turns, part of it out of reach.
fn under_the_line(files: &Files, left: Left) -> Result<AssessRequest> {
    Ok(AssessRequest {
        area: files.area.clone(),
        feature: None,
        layers: files.layers.clone(),
        profile: "plain".into(),
        date: date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(SEARCH_NM),
        surfaces: Some("annex14-2018".into()),
        shielding_planes: false,
        wish: Some(Height::of(40.0)),
        window: window("Mo,We,Sa 06:30-10:00", "Australia/Sydney", 14)?,
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(TOLERANCE_M),
        qnh: None,
        assumed_sag: None,
        line_clearance: Some(LineClearance::Table("cfr1926-1408".into())),
        estimate_line_heights: false,
        section: Some(SectionCut::Governing),
        section_corridor: None,
        draw: vec![Drawn::Zones, Drawn::Airspace, Drawn::Surfaces],
        sheet: SheetArgs::default(),
        outputs: left.outputs(&FigureKind::ALL, true)?,
    })
}

/// The second site: an area on the extended centreline of a runway, on ground of a stated elevation,
/// by 14 CFR Part 77 and with shielding planes. Clocks change in its window.
fn beyond_the_runway(first: &AssessRequest, files: &Files, left: Left) -> Result<AssessRequest> {
    let (elevation, accuracy) = STATED_GROUND_M;
    Ok(AssessRequest {
        area: files.area.clone(),
        layers: files.layers.clone(),
        date: date(2026, 10, 30),
        surfaces: Some("cfr77".into()),
        shielding_planes: true,
        wish: Some(Height::of(30.0)),
        window: window("Fr-Su 06:00-10:00", "America/Los_Angeles", 4)?,
        site_elevation: Some(Altitude::of(elevation)),
        ground_accuracy: Some(Metres::of(accuracy)),
        section: None,
        outputs: left.outputs(&[FigureKind::Location], false)?,
        ..first.clone()
    })
}
