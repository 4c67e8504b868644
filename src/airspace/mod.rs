//! Airspace volumes as records: outlines with a lower and an upper limit, as the data state them.
//!
//! Not here: how a volume lies to an operating area (see [`crate::assess`]), or evaluating its
//! hours, which stay text.

pub mod answer;
pub mod isa;
pub mod limit;

use geo::MultiPolygon;

use crate::site::FeatureRef;
use crate::units::Metres;
pub use limit::{End, Level, Limit};

/// An airspace volume. What the data do not state is none, never a guess.
#[derive(Clone, Debug, PartialEq)]
pub struct Volume {
    /// Where it was read.
    pub source: FeatureRef,
    /// Its designator.
    pub ident: Option<String>,
    /// Its name.
    pub name: Option<String>,
    /// Its class: `C`, `D`.
    pub class: Option<String>,
    /// What kind of airspace it is: `CTR`, `R`, `restricted area`.
    pub kind: Option<String>,
    /// Who controls it.
    pub authority: Option<String>,
    /// When it is active, as text.
    pub hours: Option<String>,
    /// Its outline in WGS 84 longitude and latitude; edges are straight in them (RFC 7946).
    pub polygons: MultiPolygon<f64>,
    /// The true outline is within this of `polygons`: positions, datum, and arcs drawn as lines.
    pub horizontal_accuracy: Metres,
    /// Its floor.
    pub lower: Limit,
    /// Its top.
    pub upper: Limit,
}

impl Volume {
    /// Its designator and name, or else its feature: `R271 Eave Range`.
    #[must_use]
    pub fn title(&self) -> String {
        match (&self.ident, &self.name) {
            (Some(ident), Some(name)) if name != ident => format!("{ident} {name}"),
            (Some(only), _) | (None, Some(only)) => only.clone(),
            (None, None) => format!("volume {}", self.source.feature),
        }
    }
}
