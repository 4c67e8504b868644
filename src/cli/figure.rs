//! Figures as typed: `[KIND=]FILE`, paper, resolution and title block.
//!
//! Not here: whether files can be written (see [`crate::request::outputs`]).

use std::ffi::OsString;
use std::path::PathBuf;

use clap::Args;
use clap::builder::{OsStringValueParser, PossibleValuesParser, TypedValueParser};

use crate::sheet::{FigureKind, Orientation, Paper, USUAL_DPI};

/// Resolutions of a PNG, dots per inch: a screen to a film recorder.
const RESOLUTIONS_DPI: std::ops::RangeInclusive<i64> = 50..=1200;

/// A figure and the file that it goes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WantedFigure {
    /// What it shows.
    pub kind: FigureKind,
    /// The file.
    pub path: PathBuf,
}

/// What figures are drawn on, as typed.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct SheetArgs {
    /// The paper of figures
    #[arg(long, value_name = "SIZE", default_value = Paper::A4.name(), value_parser = paper())]
    pub paper: Paper,
    /// Which way the paper of figures is turned
    #[arg(long, value_name = "WAY", default_value = Orientation::Landscape.name(), value_parser = orientation())]
    pub orientation: Orientation,
    /// The resolution of PNG figures, dots per inch, 50 to 1200
    #[arg(long, value_name = "COUNT", default_value_t = USUAL_DPI, value_parser = clap::value_parser!(u32).range(RESOLUTIONS_DPI))]
    pub dpi: u32,
    /// The title of figures [default: the name of the area]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// The number of the figure, for its title block
    #[arg(long, value_name = "TEXT")]
    pub figure_number: Option<String>,
    /// The version of the figure, for its title block
    #[arg(long, value_name = "TEXT")]
    pub figure_version: Option<String>,
    /// Who applies, for the title block of figures
    #[arg(long, value_name = "TEXT")]
    pub applicant: Option<String>,
    /// A georeferenced GeoTIFF, 8 or 16 bits a band, to draw faintly under maps
    #[arg(long, value_name = "FILE")]
    pub background: Option<PathBuf>,
    /// Whose the background is [default: as its file states]
    #[arg(long, value_name = "TEXT", requires = "background")]
    pub background_credit: Option<String>,
}

impl Default for SheetArgs {
    /// As when nothing is typed.
    fn default() -> Self {
        Self {
            paper: Paper::default(),
            orientation: Orientation::default(),
            dpi: USUAL_DPI,
            title: None,
            figure_number: None,
            figure_version: None,
            applicant: None,
            background: None,
            background_credit: None,
        }
    }
}

/// The parser of `[KIND=]FILE`.
pub(super) fn wanted() -> impl TypedValueParser<Value = WantedFigure> {
    OsStringValueParser::new().try_map(figure)
}

fn figure(typed: OsString) -> Result<WantedFigure, String> {
    let site = |path: OsString| {
        Ok(WantedFigure {
            kind: FigureKind::Site,
            path: path.into(),
        })
    };
    let Some((name, file)) = typed.to_str().and_then(|text| text.split_once('=')) else {
        return site(typed);
    };
    match FigureKind::named(name) {
        Some(_) if file.is_empty() => Err("no file is named; write such as site=site.png".into()),
        Some(kind) => Ok(WantedFigure {
            kind,
            path: file.into(),
        }),
        // A path that only happens to hold the sign.
        None if name.contains(['/', '\\']) => site(typed),
        None => Err(format!(
            "{name:?} is not a kind of figure; write location=FILE, site=FILE or section=FILE, or \
             ./{name}=... for a file of that name"
        )),
    }
}

fn paper() -> impl TypedValueParser<Value = Paper> {
    PossibleValuesParser::new(Paper::ALL.map(Paper::name))
        .try_map(|name| Paper::named(&name).ok_or("is not a size of paper"))
}

fn orientation() -> impl TypedValueParser<Value = Orientation> {
    PossibleValuesParser::new(Orientation::ALL.map(Orientation::name))
        .try_map(|name| Orientation::named(&name).ok_or("is not a way to turn paper"))
}
