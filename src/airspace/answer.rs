//! What is answered about airspace volumes: in plan, in height, and their floor over the area.
//!
//! Not here: how the answers are found (see [`crate::assess`]) or worded (see [`crate::report`]).

use serde::Serialize;

use super::{Limit, Volume};
use crate::frame::LonLat;
use crate::site::FeatureRef;
use crate::units::{Altitude, Height, Metres, Pressure};

/// What is answered about all volumes of the layers.
#[derive(Clone, Debug, Serialize)]
pub struct AirspaceAnswer {
    /// Volumes whose outline is within this distance of the area are listed.
    pub search_radius_m: Metres,
    /// The QNH that flight levels were converted with; none when a range was used.
    pub qnh_hpa: Option<Pressure>,
    /// The lowest and the highest QNH that flight levels were converted with; equal when one was
    /// stated.
    pub qnh_range_hpa: [Pressure; 2],
    /// Up to where the operating volume reaches from the ground.
    pub top: OperatingTop,
    /// Volumes within the search radius: those over the area first, then nearest first.
    pub volumes: Vec<VolumeAnswer>,
    /// How many volumes of the layers are farther away.
    pub farther: usize,
}

/// Up to where the operating volume reaches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum OperatingTop {
    /// The wished height.
    Wish {
        /// Above ground.
        height_m_agl: Height,
    },
    /// The certified ceiling, of the whole area or of the part where it is determined.
    Ceiling {
        /// Above ground.
        height_m_agl: Height,
        /// The ceiling AMSL, which may be flown instead; none on assumed flat ground.
        altitude_m_amsl: Option<Altitude>,
    },
    /// The ceiling is undetermined and no height was wished for.
    Undetermined,
}

/// How the area lies to the outline of a volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InPlan {
    /// Every point of the area is in it, its edge included.
    Inside,
    /// Some points are in it, some may not be.
    Straddles,
    /// No point of the area is in it.
    Outside,
}

/// Whether the operating volume reaches a volume in height, where it does in plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InHeight {
    /// It does.
    Yes,
    /// It stays below its floor, or the volume ends below the ground.
    No,
    /// Cannot be told.
    Undetermined,
}

/// One volume in an answer.
#[derive(Clone, Debug, Serialize)]
pub struct VolumeAnswer {
    /// Designator and name.
    pub title: String,
    /// Designator.
    pub ident: Option<String>,
    /// Class.
    pub class: Option<String>,
    /// Kind.
    pub kind: Option<String>,
    /// Who controls it.
    pub authority: Option<String>,
    /// When it is active, as stated; it is taken as active at all times.
    pub hours: Option<String>,
    /// Where it was read.
    pub source: FeatureRef,
    /// Its lower limit.
    pub lower: Limit,
    /// Its upper limit.
    pub upper: Limit,
    /// How the area lies to its outline.
    pub in_plan: InPlan,
    /// Signed distance of the area's most exposed point from the outline: negative by how far the
    /// area reaches in, positive by how far it stays outside; never more than the true one.
    pub margin_m: Metres,
    /// Signed distance of the area's least exposed point from the outline: negative by how far all
    /// of the area stays inside, positive by how far a part lies outside.
    pub farthest_margin_m: Metres,
    /// Whether a margin is the limit of the search: the outline is farther from there than this.
    pub margin_is_at_least: bool,
    /// Share of the area inside the outline, 0 to 1, never below the true share.
    pub share_inside: f64,
    /// Whether the operating volume reaches it in height; none when it is outside in plan.
    pub in_height: Option<InHeight>,
    /// Why, in words; empty when it is outside in plan.
    pub why: String,
    /// Its floor over the area; none when it is outside in plan, or its lower limit is
    /// undetermined.
    pub floor: Option<FloorAnswer>,
    /// Whether the operating volume reaches it and no volume that it reaches has a lower floor.
    pub governs: bool,
    /// The record itself, for figures.
    #[serde(skip)]
    pub record: Volume,
}

/// The floor of a volume over the part of the area inside its outline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FloorAnswer {
    /// The lowest that it is AMSL, at the lowest QNH of the range; none where the ground is needed
    /// and not known.
    pub lowest_m_amsl: Option<Altitude>,
    /// The lowest that it is AMSL at the highest QNH of the range; none unless it is a level of
    /// constant pressure and no QNH was stated.
    pub lowest_at_highest_qnh_m_amsl: Option<Altitude>,
    /// The lowest that it is above ground, the accuracy of the ground taken off; below 0 where it is
    /// under the ground. None where the ground is needed and not known.
    pub lowest_m_agl: Option<Height>,
    /// Where it is lowest above ground, or else AMSL.
    pub lowest_at: LonLat,
}

impl AirspaceAnswer {
    /// Whether every volume over the area is answered in height.
    #[must_use]
    pub fn is_decided(&self) -> bool {
        self.volumes
            .iter()
            .all(|volume| volume.in_height != Some(InHeight::Undetermined))
    }
}

/// Marks the volumes that govern: of those that the operating volume reaches in height, those with the
/// lowest floor. None where some floor is not known.
pub fn mark_governing(volumes: &mut [VolumeAnswer]) {
    let is_reached = |volume: &VolumeAnswer| volume.in_height == Some(InHeight::Yes);
    let reached: Vec<&VolumeAnswer> = volumes.iter().filter(|it| is_reached(it)).collect();
    let Some((level, lowest)) = lowest_floor(&reached) else {
        return;
    };
    for volume in volumes {
        volume.governs =
            is_reached(volume) && volume.floor.as_ref().and_then(level) == Some(lowest);
    }
}

/// A level of a floor, metres, where it is known.
type LevelOf = fn(&FloorAnswer) -> Option<f64>;

/// The lowest floor of volumes above ground, or else AMSL; none where no one level is known of all.
fn lowest_floor(volumes: &[&VolumeAnswer]) -> Option<(LevelOf, f64)> {
    let above_ground: LevelOf = |floor| floor.lowest_m_agl.map(|it| it.m());
    let amsl: LevelOf = |floor| floor.lowest_m_amsl.map(|it| it.m());
    [above_ground, amsl].into_iter().find_map(|level| {
        let known: Option<Vec<f64>> = volumes
            .iter()
            .map(|volume| volume.floor.as_ref().and_then(level))
            .collect();
        Some((level, known?.into_iter().min_by(f64::total_cmp)?))
    })
}
