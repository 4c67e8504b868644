//! The electrical clearance of power lines, and the usable area, in an answer.
//!
//! Not here: how they are found (see [`crate::assess`]).

use geo::MultiPolygon;
use serde::Serialize;

use super::as_geojson;
use crate::clearance::ClearanceTable;
use crate::site::FeatureRef;
use crate::units::Metres;

/// The electrical clearance bands near the area.
#[derive(Clone, Debug, Serialize)]
pub struct ClearanceAnswer {
    /// Whether the band is known, and if not, why.
    pub state: ClearanceState,
    /// The table that distances were taken from, if one was asked for.
    pub table: Option<ClearanceTable>,
    /// The lines that were asked, nearest first.
    pub lines: Vec<LineClearanceAnswer>,
    /// All bands together, as a GeoJSON MultiPolygon geometry; never less than the true band.
    #[serde(serialize_with = "as_geojson")]
    pub band: MultiPolygon<f64>,
    /// How much of the area the band takes, square metres; never less than it does.
    pub band_m2: f64,
}

/// How much is known of the electrical clearance.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "known", rename_all = "snake_case")]
pub enum ClearanceState {
    /// Of every line near the area.
    Everywhere,
    /// There is no line near the area.
    NoLine,
    /// Not of all lines, or of none.
    Undetermined {
        /// Why.
        why: String,
    },
}

/// One power line near the area.
#[derive(Clone, Debug, Serialize)]
pub struct LineClearanceAnswer {
    /// Its name, or its feature.
    pub title: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// How many of its spans are near.
    pub spans: usize,
    /// Its highest voltage in volts, if given.
    pub voltage_v: Option<f64>,
    /// Distance of its nearest span from the area, as drawn; 0 when it crosses.
    pub distance_m: Metres,
    /// The distance to keep from its wires; none when nothing states one.
    pub clearance_m: Option<Metres>,
    /// Where that comes from, in words.
    pub from: String,
    /// How far the outermost wire is from the line as drawn; none when not stated, and then 0 is
    /// taken.
    pub wire_offset_m: Option<Metres>,
    /// How far the line may be from where it is drawn.
    pub horizontal_accuracy_m: Metres,
    /// Half the width of the band: the sum of the three.
    pub half_width_m: Option<Metres>,
}

/// The part of the area that is left to use.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum UsableAnswer {
    /// The area less the electrical clearance band and less the part where the ceiling is
    /// undetermined or not above ground.
    Determined {
        /// As a GeoJSON MultiPolygon geometry; never more than the true one.
        #[serde(serialize_with = "as_geojson")]
        polygons: MultiPolygon<f64>,
        /// Its area, square metres.
        area_m2: f64,
        /// Its share of the area, 0 to 1.
        share: f64,
        /// Parts that were left out because they are smaller than a square metre.
        scraps: usize,
    },
    /// Cannot be told.
    Undetermined {
        /// Why, each reason apart.
        why: Vec<String>,
    },
}
