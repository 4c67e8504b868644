//! A map of the ceiling, resolved.

use std::path::PathBuf;

use jiff::civil::Date;

use super::{require_file, require_folder};
use crate::cli::ceiling_map::CeilingMapArgs;
use crate::error::{Error, Result};
use crate::obstacle::Sag;
use crate::units::{Altitude, Metres, Pressure};

/// A region to map the ceiling over.
#[derive(Clone, Debug, PartialEq)]
pub struct CeilingMapRequest {
    /// The region.
    pub region: Region,
    /// The folder of layers.
    pub layers: PathBuf,
    /// The folder that the map is left in.
    pub out: PathBuf,
    /// How wide and high a cell is.
    pub cell: Metres,
    /// How high a band is.
    pub step: Metres,
    /// Whether bands are written as FlatGeobuf too.
    pub flatgeobuf: bool,
    /// The name or path of the rule profile.
    pub profile: String,
    /// The date the map is for.
    pub date: Date,
    /// The elevation stated instead of terrain.
    pub site_elevation: Option<Altitude>,
    /// The accuracy of the ground, when stated here.
    pub ground_accuracy: Option<Metres>,
    /// The sag assumed where the layers state none.
    pub assumed_sag: Option<Sag>,
    /// Whether missing heights of power lines are estimated.
    pub estimate_line_heights: bool,
    /// How closely each cell is searched.
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with.
    pub qnh: Option<Pressure>,
    /// How many threads, when stated.
    pub threads: Option<usize>,
}

/// A region as asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Region {
    /// A feature of a file; its only one without an id.
    File(PathBuf, Option<String>),
    /// West, south, east and north, degrees; west is greater than east across the antimeridian.
    Box([f64; 4]),
}

/// Resolves `eaves ceiling-map`.
///
/// # Errors
/// A path that is missing or of the wrong kind, or a map that would be left among the layers.
pub fn resolve(typed: CeilingMapArgs, today: Date) -> Result<CeilingMapRequest> {
    require_folder(&typed.layers)?;
    let region = match (typed.region, typed.bbox) {
        (_, Some(bounds)) => Region::Box(bounds),
        (Some(file), None) => {
            require_file(&file, "give the GeoJSON file of the region")?;
            Region::File(file, typed.feature)
        }
        (None, None) => {
            return Err(Error::new(
                "no region was given",
                "name a file, or give --bbox W,S,E,N",
            ));
        }
    };
    if typed.out.exists() && !typed.out.is_dir() {
        return Err(Error::new("is a file", "--out needs a folder").in_file(&typed.out));
    }
    let is_among_layers = match (typed.out.canonicalize(), typed.layers.canonicalize()) {
        (Ok(out), Ok(layers)) => out == layers,
        _ => false,
    };
    if is_among_layers {
        return Err(Error::new(
            "is the folder of layers",
            "give --out a folder of its own, or the map would be taken for a layer",
        )
        .in_file(&typed.out));
    }
    Ok(CeilingMapRequest {
        region,
        layers: typed.layers,
        out: typed.out,
        cell: typed.cell,
        step: typed.step,
        flatgeobuf: typed.flatgeobuf,
        profile: typed.profile,
        date: typed.date.unwrap_or(today),
        site_elevation: typed.site_elevation,
        ground_accuracy: typed.ground_accuracy,
        assumed_sag: typed.sag,
        estimate_line_heights: typed.estimate_line_heights,
        tolerance: typed.tolerance,
        qnh: typed.qnh,
        threads: typed.threads.map(usize::from),
    })
}
