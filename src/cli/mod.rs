//! Arguments as typed: the commands, their options, and what `--help` says of them.
//!
//! Not here: whether paths exist and options fit together (see [`crate::request`]). The only
//! module that uses clap.

pub mod ceiling_map;
pub mod clearance;
pub mod figure;
pub mod length;
pub mod pressure;
pub mod screen;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::error::ErrorKind;
use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use self::ceiling_map::CeilingMapArgs;
use self::figure::WantedFigure;
use crate::cut::SectionCut;
use crate::obstacle::Sag;
use crate::units::{Altitude, Height, Metres, Pressure};
use clearance::LineClearance;

/// The highest height above ground that can be wished for, metres: no rule on low flying reaches
/// it, so more is a slip of the unit.
const HIGHEST_WISH_M: f64 = 10_000.0;

/// The elevations a site can have, metres AMSL: the Dead Sea shore to Mount Everest, with room.
const SITE_ELEVATIONS_M: std::ops::RangeInclusive<f64> = -500.0..=9_000.0;

/// The tolerances a search can be asked for, metres: finer than 1 mm is below the accuracy of the
/// distances, coarser than 10 m is no answer.
const TOLERANCES_M: std::ops::RangeInclusive<f64> = 0.001..=10.0;

/// The widest search for aerodromes, metres.
const WIDEST_SEARCH_M: f64 = 500_000.0;

/// The widest corridor of a section to either side, metres.
const WIDEST_CORRIDOR_M: f64 = 1_000.0;

/// The greatest ground accuracy, metres; more is a slip of the unit.
const COARSEST_GROUND_M: f64 = 1_000.0;

/// The tables of obstacle limitation surfaces, as [`crate::surfaces::table::BUILT_IN`] has them.
pub const SURFACE_TABLES: [&str; 3] = ["annex14-2018", "annex14-2004", "cfr77"];

const EXAMPLES: &str = "\
Examples:
  eaves demo
  eaves assess area.geojson --layers layers
  eaves assess area.geojson --layers layers --profile australia --height 50m \\
        --figure site.png --figure location=location.pdf --json site.json
  eaves screen sites.csv --layers layers --out screened --radius 150m --height 40m
  eaves inspect layers
  eaves prepare layers --out prepared

Exit code: 0 every question answered, 1 answered with something undetermined or
conditional, 2 could not run. An exit code never says whether a flight is allowed.
An aid to planning, not an authority; not for navigation.";

/// The command line of eaves, as typed.
#[derive(Clone, Debug, PartialEq, Parser)]
#[command(
    name = "eaves",
    version,
    about = "Distances, shielding and allowed ceiling for a drone operating area near an aerodrome",
    after_help = EXAMPLES,
    max_term_width = 90
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What eaves can be asked to do.
#[derive(Clone, Debug, PartialEq, Subcommand)]
pub enum Command {
    /// Assess one operating area: aerodromes, shielding, allowed ceiling with its margin
    Assess(Box<AssessArgs>),
    /// Screen many candidate sites at once: one row each, a summary, a run that can be gone on with
    Screen(Box<screen::ScreenArgs>),
    /// Map the allowed ceiling over a whole region: a raster and its bands
    CeilingMap(Box<CeilingMapArgs>),
    /// List every layer of a folder and every defect in it
    Inspect(InspectArgs),
    /// Write a folder of layers once in an indexed form, so that one site is answered at once.
    Prepare(PrepareArgs),
    /// Run the whole job on the synthetic district that comes with eaves
    Demo(DemoArgs),
    /// List the built-in rule profiles with every value, its citation and how well it is known
    Profiles,
}

/// `eaves assess`, as typed.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct AssessArgs {
    /// The operating area: a GeoJSON file with a polygon or multipolygon
    pub area: PathBuf,
    /// The folder of layers: aerodromes, runways, power-lines, structures, terrain, ...
    #[arg(long, value_name = "DIR")]
    pub layers: PathBuf,
    /// The rule profile: a built-in name (see `eaves profiles`) or a TOML file
    #[arg(long, value_name = "NAME|PATH", default_value = "plain")]
    pub profile: String,
    /// Obstacle limitation surfaces by this table [default: none, and they are not assessed]; cfr77 also
    /// gives the heights at which a structure would need notice or be an obstruction
    #[arg(long, value_name = "TABLE", value_parser = SURFACE_TABLES)]
    pub surfaces: Option<String>,
    /// Say how much of what penetrates a surface is below the shielding planes of permanent
    /// obstacles (from memory: confirm the rule before relying on it)
    #[arg(long, requires = "surfaces")]
    pub shielding_planes: bool,
    /// A wished height above ground, such as 50m or 164ft
    #[arg(long, value_name = "LENGTH", value_parser = wish, allow_hyphen_values = true)]
    pub height: Option<Height>,
    /// A wished window of local times that recurs, such as "Mo-Fr 07:00-11:00" or HJ (sunrise to
    /// sunset): lists when control is active and when not; needs --tz
    #[arg(long, value_name = "HOURS", requires = "tz")]
    pub window: Option<String>,
    /// The time zone of --window, such as Australia/Sydney
    #[arg(long, value_name = "ZONE", requires = "window")]
    pub tz: Option<String>,
    /// For how many days from the date on the window is laid out, 1 to 366
    #[arg(long, value_name = "COUNT", default_value_t = 14, value_parser = clap::value_parser!(u16).range(1..=366))]
    pub days: u16,
    /// Draw a figure into this file, .png, .svg or .pdf; KIND is location, site or section
    /// [default: site]; may be given more than once. A key to numbers that the sheet has no room for
    /// goes on to page 2 of a PDF, or to FILE with -2 before its ending
    #[arg(long, value_name = "[KIND=]FILE", value_parser = figure::wanted())]
    pub figure: Vec<WantedFigure>,
    /// Paper, resolution and title block of figures
    #[command(flatten)]
    pub sheet: figure::SheetArgs,
    /// Draw this in figures besides; several with commas, or given more than once
    #[arg(long, value_name = "WHAT", value_enum, value_delimiter = ',')]
    pub draw: Vec<Drawn>,
    /// Make a vertical section along a cut: governing (through the place that governs and its
    /// shield), aerodrome, aerodrome=NAME, along=FEATURE, or LAT,LON/LAT,LON [default with a
    /// section figure: governing]
    #[arg(long, value_name = "CUT", allow_hyphen_values = true)]
    pub section: Option<SectionCut>,
    /// Project onto the section what is no farther than this to either side [default: 50m]
    #[arg(long, value_name = "LENGTH", value_parser = corridor, allow_hyphen_values = true)]
    pub section_corridor: Option<Metres>,
    /// Write the whole answer as JSON into this file
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Write one HTML file that works offline: all drawings with pan, zoom and layer switches, the
    /// height budget at a point, and the tables
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// The feature of AREA to assess, by its id, when the file has several
    #[arg(long, value_name = "ID")]
    pub feature: Option<String>,
    /// The date the answer is for [default: today in UTC]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    pub date: Option<Date>,
    /// One elevation AMSL for the site and all obstacles near it, instead of terrain
    #[arg(long, value_name = "LENGTH", value_parser = site_elevation, allow_hyphen_values = true)]
    pub site_elevation: Option<Altitude>,
    /// How far the true ground may be from the terrain or the stated elevation
    /// [default: as the layers state; else 0m, with a caution]
    #[arg(long, value_name = "LENGTH", value_parser = ground_accuracy, allow_hyphen_values = true)]
    pub ground_accuracy: Option<Metres>,
    /// List aerodromes within this distance of the area
    #[arg(long, value_name = "LENGTH", value_parser = search_radius, default_value = "10NM", allow_hyphen_values = true)]
    pub search_radius: Metres,
    /// Assume this sag where the layers state none: a share of the span such as 2%, or a length
    /// such as 6.5m [default: none; such a span is not a shield, only its supports are]
    #[arg(long, value_name = "SHARE|LENGTH", value_parser = sag, allow_hyphen_values = true)]
    pub sag: Option<Sag>,
    /// Keep this from power lines: a length such as 15m, the least for every line; or by voltage
    /// from a table: cfr1926-1408 [default: what the layers state]
    #[arg(long, value_name = "LENGTH|TABLE", value_parser = clearance::line_clearance, allow_hyphen_values = true)]
    pub line_clearance: Option<LineClearance>,
    /// Estimate missing heights of power lines from their voltage; marked ESTIMATE everywhere
    #[arg(long)]
    pub estimate_line_heights: bool,
    /// How closely the ceiling is searched, 1 mm to 10 m; the lower end is what is printed
    #[arg(long, value_name = "LENGTH", value_parser = tolerance, default_value = "0.1m", allow_hyphen_values = true)]
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with, such as 1013hPa or 29.92inHg
    /// [default: all from 950hPa to 1050hPa]
    #[arg(long, value_name = "PRESSURE", value_parser = pressure::qnh, allow_hyphen_values = true)]
    pub qnh: Option<Pressure>,
}

/// What a figure can show besides what it always shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Drawn {
    /// The zones of the rule profile about each aerodrome
    Zones,
    /// The airspace volumes over and near the area
    Airspace,
    /// The obstacle limitation surfaces over the area, of the table given with --surfaces
    Surfaces,
    /// Bands of the allowed ceiling above ground
    Ceiling,
}

/// `eaves prepare`, as typed.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
#[command(after_help = "\
Vector layers become FlatGeobuf with a spatial index, terrain a tiled GeoTIFF with overviews;
layers.toml goes along. Answers from the prepared folder are the same to the last byte.
A folder that holds anything else is never overwritten.")]
pub struct PrepareArgs {
    /// The folder of layers
    pub layers: PathBuf,

    /// The folder to write: new, empty, or written by `eaves prepare` before
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
}

/// `eaves inspect`, as typed.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct InspectArgs {
    /// The folder of layers
    pub layers: PathBuf,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

/// `eaves demo`, as typed.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct DemoArgs {
    /// Leave the reports, the figures (PNG, SVG and PDF) and the JSON in this folder, made if need be
    /// [default: print the reports only]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// What came of parsing the arguments, when it was not a command.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoCommand {
    /// `--help` or `--version`: text for standard output; not a failure.
    Told(String),
    /// A usage error in one or two lines, without the `eaves:` in front.
    Refused(String),
}

/// Parses the arguments of a process, the program's own name first.
///
/// # Errors
/// [`NoCommand`]: help that was asked for, or what is wrong with the arguments.
pub fn parse<I>(arguments: I) -> Result<Cli, NoCommand>
where
    I: IntoIterator,
    I::Item: Into<OsString> + Clone,
{
    Cli::try_parse_from(arguments).map_err(|stopped| {
        let text = stopped.render().to_string();
        match stopped.kind() {
            ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => NoCommand::Told(text),
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => NoCommand::Refused(
                "no command was given; use assess, screen, inspect, demo or profiles, or see `eaves --help`"
                    .into(),
            ),
            _ => NoCommand::Refused(one_line(&text)),
        }
    })
}

/// A clap message on one line: what is wrong and the tip, without usage.
fn one_line(text: &str) -> String {
    let parts: Vec<&str> = text
        .lines()
        .map(str::trim)
        .take_while(|line| !line.starts_with("Usage:") && !line.starts_with("For more information"))
        .filter(|line| !line.is_empty())
        .collect();
    let joined = parts.join(" ").replace(" tip: ", "; tip: ");
    let cause = joined.strip_prefix("error: ").unwrap_or(&joined);
    format!("{cause}; see `eaves --help`")
}

fn wish(text: &str) -> Result<Height, String> {
    let height = length::positive(text)?;
    if height.m() > HIGHEST_WISH_M {
        return Err("is above 10 000 m; check the number and its unit".into());
    }
    Ok(Height::of(height.m()))
}

fn site_elevation(text: &str) -> Result<Altitude, String> {
    let elevation = length::signed(text)?;
    if !SITE_ELEVATIONS_M.contains(&elevation.m()) {
        return Err(
            "is not an elevation from -500 m to 9 000 m; check the number and its unit".into(),
        );
    }
    Ok(Altitude::of(elevation.m()))
}

fn ground_accuracy(text: &str) -> Result<Metres, String> {
    let accuracy = length::not_negative(text)?;
    if accuracy.m() > COARSEST_GROUND_M {
        return Err("is above 1 000 m; check the number and its unit".into());
    }
    Ok(accuracy)
}

fn corridor(text: &str) -> Result<Metres, String> {
    let corridor = length::positive(text)?;
    if corridor.m() > WIDEST_CORRIDOR_M {
        return Err("is above 1 000 m; what is so far aside does not belong on a section".into());
    }
    Ok(corridor)
}

fn search_radius(text: &str) -> Result<Metres, String> {
    let radius = length::positive(text)?;
    if radius.m() > WIDEST_SEARCH_M {
        return Err("is above 500 km; check the number and its unit".into());
    }
    Ok(radius)
}

fn tolerance(text: &str) -> Result<Metres, String> {
    let tolerance = length::positive(text)?;
    if !TOLERANCES_M.contains(&tolerance.m()) {
        return Err("is not from 0.001m to 10m".into());
    }
    Ok(tolerance)
}

fn sag(text: &str) -> Result<Sag, String> {
    let text = text.trim();
    let Some(number) = text.strip_suffix('%') else {
        return length::positive(text)
            .map(|metres| Sag::Metres(metres.m()))
            .map_err(|why| format!("{why}; or a share of the span such as 2%"));
    };
    let number = number.trim();
    let is_decimal = number.chars().all(|c| c.is_ascii_digit() || c == '.');
    let share = number.parse::<f64>().ok().filter(|_| is_decimal);
    match share.map(|percent| percent / 100.0) {
        Some(share) if share > 0.0 && share < 1.0 => Ok(Sag::ShareOfSpan(share)),
        _ => Err("is not a share of the span above 0% and below 100%; write such as 2%".into()),
    }
}

/// A date written `YYYY-MM-DD`.
fn date(text: &str) -> Result<Date, String> {
    let is_plain = text.len() == 10
        && text.char_indices().all(|(i, c)| {
            if i == 4 || i == 7 {
                c == '-'
            } else {
                c.is_ascii_digit()
            }
        });
    if !is_plain {
        return Err("is not a date; write it as YYYY-MM-DD, such as 2026-03-31".into());
    }
    text.parse()
        .map_err(|_| "is not a day of the calendar; check the month and the day".into())
}
