//! Files to records: a folder of layers, and the operating area.
//!
//! What is missing or unclear is never filled in; it becomes a caution or an entry of what was not
//! assessed, and both travel with the records. Not here: what the records mean for a flight
//! (see [`crate::assess`]).

pub mod aerodromes;
pub mod airspace;
pub mod aixm;
pub mod area;
pub mod attributes;
pub mod background;
pub mod boxes;
mod classification;
#[cfg(feature = "gdal")]
mod conversion;
pub mod crs;
pub mod declaration;
pub mod draft;
mod eight;
pub mod elsewhere;
pub mod estimates;
pub mod feature;
pub mod filter;
pub mod flatgeobuf;
pub mod folder;
pub mod geojson;
#[cfg(feature = "gdal")]
mod geotiff;
pub mod gml;
pub mod height;
mod index;
#[cfg(feature = "gdal")]
pub mod inspect;
pub mod layer;
pub mod lines;
pub mod mapping;
pub mod mask;
#[cfg(feature = "gdal")]
pub mod messages;
mod numbered;
pub mod packed;
pub mod plan_points;
pub mod positions;
pub mod prepared;
pub mod properties;
#[cfg(feature = "gdal")]
pub mod raster;
mod reading;
pub mod runways;
pub mod scan;
pub mod shape;
#[cfg(feature = "gdal")]
pub mod sites;
pub mod stream;
pub mod structures;
pub mod supports;
#[cfg(feature = "gdal")]
pub mod vector;
mod window;
#[cfg(not(feature = "gdal"))]
mod without_gdal;

pub use area::{AreaFile, operating_area, region};
pub use background::{Background, BackgroundWindow};
pub use geotiff::background;
pub use index::Obstacles;
#[cfg(feature = "gdal")]
pub use inspect::{Inspection, LayerInspection, inspect};
pub use mask::Mask;
pub use reading::layers;
pub use window::{Window, window_about};
#[cfg(not(feature = "gdal"))]
pub use without_gdal::raster;
#[cfg(not(feature = "gdal"))]
use without_gdal::{conversion, geotiff, vector};

use self::raster::TerrainFile;
use crate::aerodrome::Aerodrome;
use crate::airspace::Volume;
use crate::answer::{LayerAnswer, NotAssessed};
use crate::error::Cautions;
use crate::obstacle::Sag;
use crate::plan_point::PlanPoint;

/// What is wanted from a folder of layers.
#[derive(Clone, Debug, Default)]
pub struct ReadOptions {
    /// Obstacles that do not touch it may be left out; all are read without one. Aerodromes and
    /// airspace always are.
    pub near: Option<Mask>,
    /// The sag of spans for which the layers state none.
    pub assumed_sag: Option<Sag>,
    /// Whether to estimate the height of lines that state none from their voltage class.
    pub estimate_line_heights: bool,
}

/// All that the layers of a folder give.
#[derive(Debug)]
pub struct Layers {
    /// Every aerodrome, in the order of the files.
    pub aerodromes: Vec<Aerodrome>,
    /// The obstacles that are near.
    pub obstacles: Obstacles,
    /// Every airspace volume, in the order of the files; none without such a layer.
    pub airspace: Option<Vec<Volume>>,
    /// Every point of the plan, in the order of the files.
    pub plan: Vec<PlanPoint>,
    /// The terrain raster.
    pub terrain: Option<TerrainFile>,
    /// What was read.
    pub summaries: Vec<LayerAnswer>,
    /// Defects in the data and assumptions.
    pub cautions: Cautions,
    /// What is missing for an answer.
    pub not_assessed: Vec<NotAssessed>,
}
