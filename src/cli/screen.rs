//! `eaves screen`, as typed.
//!
//! Not here: the other commands (see [`super`]).

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::{
    Drawn, date, ground_accuracy, length, pressure, sag, search_radius, site_elevation, tolerance,
    wish,
};
use crate::obstacle::Sag;
use crate::units::{Altitude, Height, Metres, Pressure};

/// The longest reach that can be tried, metres: the longest that a profile may state.
const LONGEST_REACH_M: f64 = 5_000.0;

/// The greatest margin or accuracy that can be tried, metres; more is a slip of the unit.
const GREATEST_MARGIN_M: f64 = 1_000.0;

/// The widest radius or width, metres: what fits into the widest area that is answered.
const WIDEST_SIZE_M: f64 = 100_000.0;

/// `eaves screen`, as typed.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct ScreenArgs {
    /// The candidate sites: GeoJSON, newline-delimited GeoJSON, CSV, GeoPackage, FlatGeobuf,
    /// Shapefile or KML; points with a radius, lines with a width, outlines
    pub sites: PathBuf,
    /// The folder of layers: aerodromes, runways, power-lines, structures, terrain, ...
    #[arg(long, value_name = "DIR")]
    pub layers: PathBuf,
    /// Where rows, summary and figures go: a new folder, or the one to go on with
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// The rule profile: a built-in name (see `eaves profiles`) or a TOML file
    #[arg(long, value_name = "NAME|PATH", default_value = "plain")]
    pub profile: String,
    /// Write rows in these formats; several with commas (rows.csv is always written)
    #[arg(long, value_name = "FORMAT", value_enum, value_delimiter = ',')]
    pub format: Vec<RowFormat>,
    /// The radius about points that state none (radius_m), such as 150m
    #[arg(long, value_name = "LENGTH", value_parser = size, allow_hyphen_values = true)]
    pub radius: Option<Metres>,
    /// The width along lines that state none (width_m), such as 40m
    #[arg(long, value_name = "LENGTH", value_parser = size, allow_hyphen_values = true)]
    pub width: Option<Metres>,
    /// A wished height above ground; several with commas are all answered. A site's own
    /// wished_height_m_agl takes their place
    #[arg(long, value_name = "LENGTH", value_parser = wish, value_delimiter = ',', allow_hyphen_values = true)]
    pub height: Vec<Height>,
    /// Try these reaches of a shield in place of the profile's, such as 50m,100m
    #[arg(long, value_name = "LENGTH", value_parser = reach, value_delimiter = ',', allow_hyphen_values = true)]
    pub reach: Vec<Metres>,
    /// Try these margins in place of the profile's
    #[arg(long, value_name = "LENGTH", value_parser = margin, value_delimiter = ',', allow_hyphen_values = true)]
    pub margin: Vec<Metres>,
    /// Try these vertical accuracies of obstacles, where the layers state no worse
    #[arg(long, value_name = "LENGTH", value_parser = accuracy, value_delimiter = ',', allow_hyphen_values = true)]
    pub accuracy: Vec<Metres>,
    /// Rank the summary by this column, the highest first; COLUMN:lowest turns it round
    /// [default: ceiling_m_agl]
    #[arg(long, value_name = "COLUMN")]
    pub rank: Option<String>,
    /// How many rows the ranking names
    #[arg(long, value_name = "COUNT", default_value_t = 10, value_parser = clap::value_parser!(u16).range(1..=10_000))]
    pub top: u16,
    /// Draw the figures of so many sites that rank first
    #[arg(long, value_name = "COUNT", default_value_t = 0, value_parser = clap::value_parser!(u16).range(..=1_000))]
    pub figures: u16,
    /// Draw this in figures besides; several with commas
    #[arg(long, value_name = "WHAT", value_enum, value_delimiter = ',')]
    pub draw: Vec<Drawn>,
    /// Answer one part of the rows, such as 2/8 for the second of eight; needs --date
    #[arg(long, value_name = "I/N", value_parser = part, requires = "date")]
    pub part: Option<PartTyped>,
    /// Join the folders that --part runs wrote, in place of answering
    #[arg(long, value_name = "FOLDER", num_args = 1.., conflicts_with = "part")]
    pub join: Vec<PathBuf>,
    /// How many threads answer [default: one for each core]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=1_024))]
    pub threads: Option<u16>,
    /// Say nothing of the progress
    #[arg(long)]
    pub quiet: bool,
    /// The property or column of the identifier [default: id, else the number of the row]
    #[arg(long, value_name = "NAME")]
    pub id: Option<String>,
    /// The column of longitudes of a table [default: one of the usual names]
    #[arg(long, value_name = "NAME")]
    pub longitude: Option<String>,
    /// The column of latitudes of a table [default: one of the usual names]
    #[arg(long, value_name = "NAME")]
    pub latitude: Option<String>,
    /// The coordinate reference system of SITES, such as EPSG:7855 [default: as the file says]
    #[arg(long, value_name = "CODE")]
    pub crs: Option<String>,
    /// The table of SITES, when the file has several
    #[arg(long, value_name = "NAME")]
    pub table: Option<String>,
    /// The date the answers are for [default: today in UTC; that of a run that is gone on with]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    pub date: Option<Date>,
    /// One elevation AMSL for every site and all obstacles near it, instead of terrain
    #[arg(long, value_name = "LENGTH", value_parser = site_elevation, allow_hyphen_values = true)]
    pub site_elevation: Option<Altitude>,
    /// How far the true ground may be from the terrain or the stated elevation
    /// [default: as the layers state; else 0m, with a caution]
    #[arg(long, value_name = "LENGTH", value_parser = ground_accuracy, allow_hyphen_values = true)]
    pub ground_accuracy: Option<Metres>,
    /// Answer the nearest aerodrome within this distance
    #[arg(long, value_name = "LENGTH", value_parser = search_radius, default_value = "10NM", allow_hyphen_values = true)]
    pub search_radius: Metres,
    /// Assume this sag where the layers state none: a share of the span such as 2%, or a length
    #[arg(long, value_name = "SHARE|LENGTH", value_parser = sag, allow_hyphen_values = true)]
    pub sag: Option<Sag>,
    /// Estimate missing heights of power lines from their voltage
    #[arg(long)]
    pub estimate_line_heights: bool,
    /// How closely ceilings are searched, 1 mm to 10 m; the lower end is what is written
    #[arg(long, value_name = "LENGTH", value_parser = tolerance, default_value = "0.1m", allow_hyphen_values = true)]
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with, such as 1013hPa
    /// [default: all from 950hPa to 1050hPa]
    #[arg(long, value_name = "PRESSURE", value_parser = pressure::qnh, allow_hyphen_values = true)]
    pub qnh: Option<Pressure>,
}

/// A format of rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RowFormat {
    /// Comma-separated values (always written)
    Csv,
    /// GeoJSON with the outlines
    Geojson,
    /// GeoPackage with the outlines
    Gpkg,
    /// FlatGeobuf with the outlines
    Fgb,
    /// Parquet with the outlines (GeoParquet)
    Parquet,
}

/// A part as typed: the second of eight is `2/8`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PartTyped {
    /// Which, counted from 1.
    pub index: u64,
    /// Of how many.
    pub of: u64,
}

fn part(text: &str) -> Result<PartTyped, String> {
    let how = "write such as 2/8 for the second of eight parts";
    let number = |text: &str| text.parse::<u64>().ok().filter(|_| !text.starts_with('+'));
    let both = text
        .split_once('/')
        .and_then(|(index, of)| Some((number(index)?, number(of)?)));
    match both {
        Some((index, of)) if (1..=of).contains(&index) && of <= 1_000_000 => {
            Ok(PartTyped { index, of })
        }
        Some(_) => Err(format!(
            "is not one of 1 to N of at most 1000000 parts; {how}"
        )),
        None => Err(format!("is not a part; {how}")),
    }
}

fn size(text: &str) -> Result<Metres, String> {
    let size = length::positive(text)?;
    if size.m() > WIDEST_SIZE_M {
        return Err("is above 100 km; check the number and its unit".into());
    }
    Ok(size)
}

fn reach(text: &str) -> Result<Metres, String> {
    let reach = length::positive(text)?;
    if reach.m() > LONGEST_REACH_M {
        return Err("is above 5 000 m; check the number and its unit".into());
    }
    Ok(reach)
}

fn margin(text: &str) -> Result<Metres, String> {
    let margin = length::signed(text)?;
    if margin.m().abs() > GREATEST_MARGIN_M {
        return Err("is beyond 1 000 m; check the number and its unit".into());
    }
    Ok(margin)
}

fn accuracy(text: &str) -> Result<Metres, String> {
    let accuracy = length::not_negative(text)?;
    if accuracy.m() > GREATEST_MARGIN_M {
        return Err("is above 1 000 m; check the number and its unit".into());
    }
    Ok(accuracy)
}
