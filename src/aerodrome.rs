//! Aerodromes, heliports and runways as the data give them.
//!
//! Not here: distances to them (see [`crate::distance`]) or which reference a rule uses
//! (see [`crate::profile`]).

use geo::MultiPolygon;
use serde::{Deserialize, Serialize};

use crate::frame::LonLat;
use crate::site::FeatureRef;
use crate::units::{Altitude, Bearing, Metres};

/// What kind of aerodrome.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AerodromeKind {
    /// Runways for aeroplanes.
    Aerodrome,
    /// Helicopters only.
    Heliport,
    /// A water aerodrome.
    WaterAerodrome,
    /// Another place of departure (balloons, gliders), or the data do not say.
    Other,
    /// Marked closed in the data; still reported.
    Closed,
}

/// The kind of approach to a runway end (ICAO Annex 14 Volume I, definitions; from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ApproachType {
    /// Visual approaches only.
    NonInstrument,
    /// Instrument approach without a glide path.
    NonPrecision,
    /// Precision approach, category I.
    #[serde(rename = "precision_1")]
    Precision1,
    /// Precision approach, category II or III.
    #[serde(rename = "precision_2_3")]
    Precision23,
}

impl ApproachType {
    /// All types, least demanding first.
    pub const ALL: [Self; 4] = [
        Self::NonInstrument,
        Self::NonPrecision,
        Self::Precision1,
        Self::Precision23,
    ];

    /// The word for it in layers: `non_precision`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NonInstrument => "non_instrument",
            Self::NonPrecision => "non_precision",
            Self::Precision1 => "precision_1",
            Self::Precision23 => "precision_2_3",
        }
    }
}

/// What decides the obstacle limitation surfaces of one runway end; none where not given.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EndClassification {
    /// The kind of approach to this end.
    pub approach: Option<ApproachType>,
    /// Length of the clearway beyond this end.
    pub clearway: Option<Metres>,
}

/// What decides the obstacle limitation surfaces of a runway; none where not given.
///
/// The code number is that of the aeroplane *reference field length* (ICAO Annex 14 Volume I,
/// Table 1-1), so it is never taken from the length of the runway.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RunwayClassification {
    /// Code number, 1 to 4.
    pub code_number: Option<u8>,
    /// Code letter, `A` to `F`.
    pub code_letter: Option<char>,
    /// Whether it serves propeller aircraft of 12 500 pounds and less only (14 CFR 77.3).
    pub is_utility: Option<bool>,
    /// Whether it has a specially prepared hard surface (14 CFR 77.19(c)).
    pub is_paved: Option<bool>,
}

/// One end of a runway.
#[derive(Clone, Debug, PartialEq)]
pub struct RunwayEnd {
    /// Designator of this end: `09L`.
    pub designator: Option<String>,
    /// Where the runway ends.
    pub position: Option<LonLat>,
    /// Elevation of this end.
    pub elevation: Option<Altitude>,
    /// True bearing of take-off from this end, as stated (never from the designator).
    pub true_bearing: Option<Bearing>,
    /// How far the threshold is displaced from this end.
    pub displaced_threshold: Option<Metres>,
    /// Kind of approach and clearway.
    pub classification: EndClassification,
}

/// One runway.
#[derive(Clone, Debug, PartialEq)]
pub struct Runway {
    /// Where it was read.
    pub source: FeatureRef,
    /// Designator of both ends: `09/27`, or the feature id.
    pub designator: String,
    /// Its two ends, low designator first.
    pub ends: [RunwayEnd; 2],
    /// Length as stated.
    pub length: Option<Metres>,
    /// Width as stated.
    pub width: Option<Metres>,
    /// Marked closed in the data; still reported.
    pub closed: bool,
    /// Code number and letter, and what 14 CFR Part 77 asks.
    pub classification: RunwayClassification,
}

/// Hours as written in the data, not read yet (see [`crate::hours`]).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PublishedHours {
    /// Hours of the aerodrome or the volume itself.
    pub operation: Option<String>,
    /// Hours in which control is active.
    pub control: Option<String>,
    /// Hours of the tower, where they are stated apart.
    pub tower: Option<String>,
    /// Time zone of all of them: a name of the IANA tz database.
    pub zone: Option<String>,
}

/// One aerodrome with all that the layers give of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Aerodrome {
    /// Where it was read.
    pub source: FeatureRef,
    /// Location indicator or other identifier.
    pub ident: Option<String>,
    /// Its name.
    pub name: String,
    /// What kind it is.
    pub kind: AerodromeKind,
    /// Aerodrome reference point.
    pub reference_point: Option<LonLat>,
    /// Aerodrome elevation.
    pub elevation: Option<Altitude>,
    /// Whether air traffic control serves it, if the data say.
    pub controlled: Option<bool>,
    /// Whether it is a military aerodrome (14 CFR 77.21), if the data say.
    pub military: Option<bool>,
    /// Its hours and those of its control.
    pub hours: PublishedHours,
    /// Its runways.
    pub runways: Vec<Runway>,
    /// Movement area: the parts used for take-off, landing and taxiing, and the aprons.
    /// x is longitude, y latitude, degrees.
    pub movement_area: Option<MultiPolygon<f64>>,
    /// Aerodrome boundary. x is longitude, y latitude, degrees.
    pub boundary: Option<MultiPolygon<f64>>,
}

impl Aerodrome {
    /// `IDENT Name`, or the name alone.
    #[must_use]
    pub fn title(&self) -> String {
        match &self.ident {
            Some(ident) if *ident != self.name => format!("{ident} {}", self.name),
            _ => self.name.clone(),
        }
    }
}
