//! Points of the plan in an answer.
//!
//! Not here: how they are found (see [`crate::assess`]).

use serde::Serialize;

use super::BudgetLine;
use crate::frame::LonLat;
use crate::plan_point::Role;
use crate::site::FeatureRef;
use crate::units::{Altitude, Bearing, Metres};

/// One point of the plan.
#[derive(Clone, Debug, Serialize)]
pub struct PlanPointAnswer {
    /// Its title: `take-off point "Gate"`.
    pub title: String,
    /// Its name in the data.
    pub name: Option<String>,
    /// What it is for.
    pub roles: Vec<Role>,
    /// Where it was read.
    pub source: FeatureRef,
    /// Where it is.
    pub position: LonLat,
    /// Whether it lies in the operating area, its edge included.
    pub is_in_area: bool,
    /// Distance from the nearest edge of the area; 0 when inside it.
    pub distance_m: Metres,
    /// Distance of the farthest point of the area, never less than the true one.
    pub farthest_m: Metres,
    /// Whether it lies in the electrical clearance band; none when that is not known.
    pub is_in_clearance_band: Option<bool>,
    /// Where it lies to the nearest aerodrome that has a reference point.
    pub from_aerodrome: Option<PointBearing>,
    /// The lowest and highest that the ground can be there, before its accuracy; none when unknown.
    pub ground: Option<GroundAtPoint>,
    /// The allowed height above the point; none for points that are not for take-off.
    pub above_take_off: Option<HeightAbovePoint>,
}

/// The ground at a point, over all places that the accuracy of its position leaves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GroundAtPoint {
    /// The lowest, AMSL.
    pub lowest_m_amsl: Altitude,
    /// The highest, AMSL.
    pub highest_m_amsl: Altitude,
}

/// A point as seen from an aerodrome reference point.
#[derive(Clone, Debug, Serialize)]
pub struct PointBearing {
    /// The aerodrome's title.
    pub aerodrome: String,
    /// Geodesic distance.
    pub distance_m: Metres,
    /// True bearing at the reference point; none where the two coincide.
    pub bearing_true_deg: Option<Bearing>,
    /// The same, magnetic; none where the variation is unknown.
    pub bearing_magnetic_deg: Option<Bearing>,
}

/// The allowed height above a take-off point: the ceiling AMSL less the ground there.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum HeightAbovePoint {
    /// Known.
    Known {
        /// Metres above the take-off point, in whole centimetres, rounded down. 0 or less where the
        /// point is no lower than the ceiling.
        height_m: f64,
        /// Whether it holds in the whole area; else only where the ceiling is determined.
        holds_in_whole_area: bool,
        /// How it comes about; the last line is `height_m`.
        budget: Vec<BudgetLine>,
    },
    /// Cannot be told.
    Undetermined {
        /// Why.
        why: String,
    },
}
