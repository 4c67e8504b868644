//! `eaves ceiling-map`, as typed.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::{date, ground_accuracy, length, pressure, sag, site_elevation, tolerance};
use crate::obstacle::Sag;
use crate::units::{Altitude, Metres, Pressure};

/// The cells that a map can have, metres: finer than data are good to, up to a county.
const CELLS_M: std::ops::RangeInclusive<f64> = 0.5..=10_000.0;

/// The bands that a map can have, metres.
const STEPS_M: std::ops::RangeInclusive<f64> = 0.1..=1_000.0;

/// `eaves ceiling-map`, as typed.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct CeilingMapArgs {
    /// The region: a GeoJSON file with a polygon or multipolygon
    #[arg(required_unless_present = "bbox", conflicts_with = "bbox")]
    pub region: Option<PathBuf>,
    /// The region as a box, degrees: west, south, east, north
    #[arg(long, value_name = "W,S,E,N", value_parser = bounds, allow_hyphen_values = true)]
    pub bbox: Option<[f64; 4]>,
    /// The folder of layers
    #[arg(long, value_name = "DIR")]
    pub layers: PathBuf,
    /// The folder to leave the map in, made if need be: ceiling.tif (a Cloud Optimized GeoTIFF) and
    /// bands-agl.geojson, and bands-amsl.geojson where the ground has an elevation
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// How wide and high a cell is, 0.5 m to 10 km
    #[arg(long, value_name = "LENGTH", value_parser = cell, default_value = "10m", allow_hyphen_values = true)]
    pub cell: Metres,
    /// How high a band is
    #[arg(long, value_name = "LENGTH", value_parser = step, default_value = "10m", allow_hyphen_values = true)]
    pub step: Metres,
    /// Write the bands as FlatGeobuf too, beside the GeoJSON
    #[arg(long)]
    pub flatgeobuf: bool,
    /// The rule profile: a built-in name (see `eaves profiles`) or a TOML file
    #[arg(long, value_name = "NAME|PATH", default_value = "plain")]
    pub profile: String,
    /// The feature of the region's file, by its id, when the file has several
    #[arg(long, value_name = "ID", requires = "region")]
    pub feature: Option<String>,
    /// The date the map is for [default: today in UTC]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    pub date: Option<Date>,
    /// One elevation AMSL for the whole region, instead of terrain
    #[arg(long, value_name = "LENGTH", value_parser = site_elevation, allow_hyphen_values = true)]
    pub site_elevation: Option<Altitude>,
    /// How far the true ground may be from the terrain or the stated elevation
    /// [default: as the layers state; else 0m]
    #[arg(long, value_name = "LENGTH", value_parser = ground_accuracy, allow_hyphen_values = true)]
    pub ground_accuracy: Option<Metres>,
    /// Assume this sag where the layers state none: a share of the span such as 2%, or a length
    #[arg(long, value_name = "SHARE|LENGTH", value_parser = sag, allow_hyphen_values = true)]
    pub sag: Option<Sag>,
    /// Estimate missing heights of power lines from their voltage
    #[arg(long)]
    pub estimate_line_heights: bool,
    /// How closely each cell is searched, 1 mm to 10 m; the lower end is what the map holds
    #[arg(long, value_name = "LENGTH", value_parser = tolerance, default_value = "0.1m", allow_hyphen_values = true)]
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with [default: all from 950hPa to 1050hPa]
    #[arg(long, value_name = "PRESSURE", value_parser = pressure::qnh, allow_hyphen_values = true)]
    pub qnh: Option<Pressure>,
    /// How many threads to use [default: one for each core]; the files are the same with any number
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

fn cell(text: &str) -> Result<Metres, String> {
    within(text, CELLS_M, "is not from 0.5 m to 10 km")
}

fn step(text: &str) -> Result<Metres, String> {
    within(text, STEPS_M, "is not from 0.1 m to 1 000 m")
}

fn within(
    text: &str,
    range: std::ops::RangeInclusive<f64>,
    refusal: &str,
) -> Result<Metres, String> {
    let length = length::positive(text)?;
    if range.contains(&length.m()) {
        Ok(length)
    } else {
        Err(refusal.into())
    }
}

/// West, south, east and north, in degrees; west is greater than east across the antimeridian.
fn bounds(text: &str) -> Result<[f64; 4], String> {
    let numbers: Vec<f64> = text
        .split(',')
        .map(|number| number.trim().parse::<f64>())
        .collect::<Result<_, _>>()
        .map_err(|_| "is not four numbers; write west,south,east,north in degrees")?;
    let Ok([west, south, east, north]) = <[f64; 4]>::try_from(numbers) else {
        return Err("is not four numbers; write west,south,east,north in degrees".into());
    };
    let is_longitude = |lon: f64| (-180.0..=180.0).contains(&lon);
    if !is_longitude(west) || !is_longitude(east) {
        return Err(
            "has a longitude that is not from -180 to 180; write west,south,east,north".into(),
        );
    }
    if !(-90.0..=90.0).contains(&south) || !(-90.0..=90.0).contains(&north) {
        return Err(
            "has a latitude that is not from -90 to 90; write west,south,east,north".into(),
        );
    }
    if south >= north || west == east {
        return Err("has no extent; write west,south,east,north".into());
    }
    Ok([west, south, east, north])
}
