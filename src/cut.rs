//! What a vertical section is cut along, as asked for.
//!
//! Not here: where that lies (see [`crate::assess`]).

use std::str::FromStr;

use crate::frame::LonLat;

/// What a section is cut along.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum SectionCut {
    /// Through the place that governs the ceiling and the shield that governs there.
    #[default]
    Governing,
    /// Towards an aerodrome: the nearest one, or the one of this location indicator or name.
    Aerodrome(Option<String>),
    /// Along a power line or a runway, by the id of its feature.
    Along(String),
    /// The geodesic between two places.
    Between(LonLat, LonLat),
}

/// How a cut may be written.
pub const WAYS_TO_CUT: &str = "governing, aerodrome, aerodrome=NAME, along=FEATURE, or two \
places in degrees LAT,LON/LAT,LON";

impl FromStr for SectionCut {
    type Err = String;

    /// Reads `governing`, `aerodrome`, `aerodrome=SYN1`, `along=way/42` or
    /// `-30.21,150.79/-30.20,150.80` (latitude first, as places are printed).
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim();
        let named = |name: &str| match name.trim() {
            "" => Err(format!("names nothing after =; write {WAYS_TO_CUT}")),
            name => Ok(name.to_owned()),
        };
        match text.split_once('=') {
            None if text == "governing" => Ok(Self::Governing),
            None if text == "aerodrome" => Ok(Self::Aerodrome(None)),
            Some(("aerodrome", name)) => named(name).map(|name| Self::Aerodrome(Some(name))),
            Some(("along", feature)) => named(feature).map(Self::Along),
            _ => between(text),
        }
    }
}

fn between(text: &str) -> Result<SectionCut, String> {
    let Some((from, to)) = text.split_once('/') else {
        return Err(format!("is not a cut; write {WAYS_TO_CUT}"));
    };
    Ok(SectionCut::Between(place(from)?, place(to)?))
}

fn place(text: &str) -> Result<LonLat, String> {
    let degrees = |part: &str| {
        part.trim()
            .parse::<f64>()
            .map_err(|_| format!("{:?} is not a number of degrees", part.trim()))
    };
    let (lat, lon) = text
        .split_once(',')
        .ok_or_else(|| format!("{:?} is not a place; write LAT,LON", text.trim()))?;
    LonLat::new(degrees(lon)?, degrees(lat)?)
        .map_err(|why| format!("{why}; write latitude first, LAT,LON"))
}
