//! Where an area lies to the runways of the aerodromes listed.
//!
//! Not here: the geometry (see [`crate::runway`]).

use serde::Serialize;

use crate::frame::LonLat;
use crate::units::{Altitude, Bearing, Metres};

/// Where the area lies to one runway.
#[derive(Clone, Debug, Serialize)]
pub struct RunwayAnswer {
    /// Title of its aerodrome.
    pub aerodrome: String,
    /// Designator of both ends.
    pub designator: String,
    /// Marked closed in the data.
    pub closed: bool,
    /// Geodesic distance between its ends; none when one is not given.
    pub length_m: Option<Metres>,
    /// Length as stated.
    pub stated_length_m: Option<Metres>,
    /// Width as stated.
    pub width_m: Option<Metres>,
    /// Mid-point between its ends.
    pub midpoint: Option<LonLat>,
    /// Distance from the centreline between its ends to the nearest point of the area, never more
    /// than the truth and less by at most 1 cm within 50 km.
    pub centreline_m: Option<Metres>,
    /// What lies beyond each end, in the order of the data.
    pub ends: Vec<RunwayEndAnswer>,
}

/// Where the area lies to the extended centreline beyond one runway end.
#[derive(Clone, Debug, Serialize)]
pub struct RunwayEndAnswer {
    /// Designator of the end.
    pub designator: Option<String>,
    /// The extended centreline; none when the end has no position or nothing gives its direction
    /// ("not given").
    pub outbound: Option<OutboundAnswer>,
}

/// An area beside an extended centreline, seen from the runway end looking outbound.
#[derive(Clone, Debug, Serialize)]
pub struct OutboundAnswer {
    /// The runway end.
    pub end: LonLat,
    /// Its elevation.
    pub elevation_m_amsl: Option<Altitude>,
    /// The threshold.
    pub threshold: LonLat,
    /// How far the threshold is displaced; 0 where the data state nothing.
    pub displaced_m: Metres,
    /// True bearing outbound.
    pub bearing_true_deg: Bearing,
    /// The same, magnetic; none where the variation is unknown.
    pub bearing_magnetic_deg: Option<Bearing>,
    /// Whether the bearing is one that the data state, as one end has no position.
    pub bearing_is_stated: bool,
    /// Least along-track distance of the area beyond the end; negative short of the end, abeam the
    /// runway.
    pub along_least_m: Metres,
    /// Greatest along-track distance.
    pub along_most_m: Metres,
    /// Least distance right of the extended centreline; negative left of it.
    pub right_least_m: Metres,
    /// Greatest distance right of it.
    pub right_most_m: Metres,
}
