//! A vertical section through the site: what a cut along a line meets, as plain data.
//!
//! Levels are metres in the datum of the section ([`SectionAnswer::datum`]); distances along the
//! cut are geodesic metres from its first end. Nothing is filled in: where the ground or a height is
//! not known, there is a gap or none. Not here: how it is found (see [`crate::assess`]) or drawn.

use serde::Serialize;

use crate::frame::LonLat;
use crate::obstacle::ObstacleKind;
use crate::site::FeatureRef;
use crate::surfaces::answer::SurfaceKind;
use crate::units::{Bearing, Height, Metres};

use super::BudgetLine;

/// What a vertical cut meets.
#[derive(Clone, Debug, Serialize)]
pub struct SectionAnswer {
    /// What it is cut along, in words.
    pub cut: String,
    /// Why it is not cut as asked for, and what it leaves out.
    pub notes: Vec<String>,
    /// What levels are counted from.
    pub datum: SectionDatum,
    /// The first end.
    pub from: LonLat,
    /// The last end.
    pub to: LonLat,
    /// Geodesic length, leg by leg.
    pub length_m: Metres,
    /// Its straight legs: one, unless it follows a line that bends.
    pub legs: Vec<LegAnswer>,
    /// What is no farther than this to either side is projected onto the cut, square to it.
    pub corridor_m: Metres,
    /// Stations are no farther apart than this.
    pub step_m: Metres,
    /// The ground along the cut.
    pub stations: Vec<StationAnswer>,
    /// Where the ground may be unknown: never shorter than it is.
    pub ground_unknown: Vec<Stretch>,
    /// What the ground is known within; levels of the ground are without it.
    pub ground_accuracy_m: Metres,
    /// Where the cut runs in the operating area.
    pub in_area: Vec<Stretch>,
    /// The allowed ceiling where the cut runs in the area and it is determined.
    pub ceiling: Vec<LevelRun>,
    /// Where the cut runs in the area and the ceiling is undetermined.
    pub undetermined: Vec<Stretch>,
    /// The certified ceiling of the whole area, or of the part where it is determined; no point of
    /// `ceiling` is below it.
    pub certified: Option<CertifiedLevel>,
    /// The place that governs it, and the shield there.
    pub governs: Option<GoverningAnswer>,
    /// How high the certified ceiling is above the highest and the lowest ground of the cut within
    /// the area, in this order; none where the ground is not known.
    pub heights: Vec<HeightOverGround>,
    /// A wished height above ground.
    pub wish_m_agl: Option<Height>,
    /// Wires that the cut crosses or that come within the corridor, in the order of the cut.
    pub wires: Vec<WireAnswer>,
    /// Supports and structures that the cut meets or that stand within the corridor.
    pub objects: Vec<SectionObject>,
    /// Obstacle limitation surfaces over the cut, if a table was chosen.
    pub surfaces: Vec<SectionSurface>,
    /// Floors of airspace volumes over the cut.
    pub floors: Vec<SectionFloor>,
    /// Reference points and runway ends that the cut leads to.
    pub landmarks: Vec<SectionLandmark>,
}

/// What levels of a section are counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SectionDatum {
    /// Mean sea level: levels are AMSL.
    MeanSeaLevel,
    /// The assumed flat ground: levels are heights above it, and nothing is AMSL.
    AssumedFlatGround,
}

/// One straight leg of a cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LegAnswer {
    /// Where it begins, from the first end.
    pub at_m: Metres,
    /// Where it begins.
    pub from: LonLat,
    /// True bearing at its beginning.
    pub bearing_true_deg: Bearing,
    /// The same, magnetic; none where the variation is unknown.
    pub bearing_magnetic_deg: Option<Bearing>,
    /// True bearing at its end, onwards.
    pub bearing_onward_true_deg: Bearing,
}

/// A station of the cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StationAnswer {
    /// Distance from the first end.
    pub at_m: Metres,
    /// Where it is; not in the JSON form, for the legs tell it.
    #[serde(skip)]
    pub place: LonLat,
    /// The least that the ground can be there by the terrain; none where it is unknown.
    pub ground_low_m: Option<f64>,
    /// The most that it can be.
    pub ground_high_m: Option<f64>,
}

/// A stretch of the cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stretch {
    /// Where it begins, from the first end.
    pub from_m: Metres,
    /// Where it ends.
    pub to_m: Metres,
}

/// Levels along a stretch of the cut, straight between its points; two points at one place are a
/// step.
pub type LevelRun = Vec<LevelPoint>;

/// A level at a place of the cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LevelPoint {
    /// Distance from the first end.
    pub at_m: f64,
    /// The level.
    pub level_m: f64,
}

/// A certified ceiling as a level.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CertifiedLevel {
    /// The level, rounded down to the centimetre.
    pub level_m: f64,
    /// Whether it is that of the whole area.
    pub is_of_whole_area: bool,
}

/// The place that governs the certified ceiling, seen from the cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoverningAnswer {
    /// Where it is.
    pub place: LonLat,
    /// Where along the cut it is, or is nearest.
    pub at_m: Metres,
    /// How far to the right of the cut it lies; negative to the left.
    pub offset_m: Metres,
    /// The term that governs.
    pub term: String,
    /// The shield that governs, when the term is a shield.
    pub shield: Option<GoverningShield>,
    /// The height budget of the certified ceiling in the datum of the section.
    pub budget: Vec<BudgetLine>,
}

/// The shield that governs, seen from the cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoverningShield {
    /// Its title.
    pub title: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Index of the span in its line; none for other obstacles.
    pub span_index: Option<usize>,
    /// The point of it that is nearest to the place that governs.
    pub place: LonLat,
    /// Where along the cut that is, or is nearest.
    pub at_m: Metres,
    /// How far to the right of the cut it lies; negative to the left.
    pub offset_m: Metres,
    /// Horizontal distance from the place that governs.
    pub distance_m: Metres,
    /// Within what distance the rule lets it shield.
    pub reach_m: Metres,
    /// Its trusted top.
    pub trusted_top_m: f64,
    /// What the rule takes off it.
    pub margin_m: Metres,
    /// Whether its height is an estimate.
    pub is_estimate: bool,
}

/// Which ground a height is above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Extreme {
    /// The highest ground of the cut within the area.
    Highest,
    /// The lowest.
    Lowest,
}

/// How high the certified ceiling is above some ground.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeightOverGround {
    /// Which ground.
    pub ground: Extreme,
    /// Where along the cut.
    pub at_m: Metres,
    /// The level of the ground there: the most that it can be, its accuracy added.
    pub ground_m: f64,
    /// The ceiling less that ground; negative where the ceiling is below it.
    pub height_m_agl: Height,
}

/// A span of a power line, seen from the cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireAnswer {
    /// Its title.
    pub title: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Index of the span in its line.
    pub span_index: usize,
    /// Whether its heights are estimates.
    pub is_estimate: bool,
    /// Whether it is the shield that governs.
    pub governs: bool,
    /// Why its lowest or its highest level is not known; empty when both are.
    pub not_known: String,
    /// Where the cut crosses it or, where it nowhere does, the place of the span that is nearest to
    /// the cut.
    pub points: Vec<WirePoint>,
    /// Its part in the corridor in projection, where it runs along the cut
    /// ([`ALONG_WITHIN_DEG`]); empty otherwise.
    pub along: Vec<WirePoint>,
    /// How far the lowest point of the wire is below the lower of its supports, if known.
    pub sag_m: Option<Metres>,
}

/// A span whose direction is within this many degrees of that of the cut runs along it.
pub const ALONG_WITHIN_DEG: f64 = 30.0;

/// A place of the top wire of a span.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WirePoint {
    /// Where along the cut it is.
    pub at_m: Metres,
    /// How far to the right of the cut; negative to the left, 0 where the cut crosses it.
    pub offset_m: Metres,
    /// Distance along the span from its first support.
    pub from_support_m: Metres,
    /// The lowest credible level of the top wire: from the lowest credible tops of both supports, by
    /// the stated sag.
    pub low_m: Option<f64>,
    /// The highest credible level: the straight line between the highest credible tops, for sag is
    /// not known to its least.
    pub high_m: Option<f64>,
}

/// A support or a structure, seen from the cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionObject {
    /// Its title.
    pub title: String,
    /// What it is.
    pub kind: ObstacleKind,
    /// Where it was read.
    pub source: FeatureRef,
    /// Where along the cut it begins: where the cut enters it or, in projection, its near end.
    pub from_m: Metres,
    /// Where it ends; the same for a point.
    pub to_m: Metres,
    /// How far to the right of the cut its nearest point lies; negative to the left, 0 when the cut
    /// goes through it.
    pub offset_m: Metres,
    /// Whether the cut goes through it; it is projected onto the cut otherwise.
    pub is_cut: bool,
    /// The lowest ground at its base, if known.
    pub base_low_m: Option<f64>,
    /// Its lowest credible top, or why there is none.
    pub top_low_m: Option<f64>,
    /// Its highest credible top.
    pub top_high_m: Option<f64>,
    /// Why its top is not known; empty when it is.
    pub not_known: String,
    /// Whether its height is an estimate.
    pub is_estimate: bool,
    /// Whether it can be a shield.
    pub can_shield: bool,
    /// Whether it is the shield that governs.
    pub governs: bool,
}

/// An obstacle limitation surface over the cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionSurface {
    /// The aerodrome.
    pub aerodrome: String,
    /// Which surface.
    pub kind: SurfaceKind,
    /// The runway end or runway; none for a surface of the whole aerodrome.
    pub part: Option<String>,
    /// Its levels, where it lies over the cut.
    pub runs: Vec<LevelRun>,
}

/// The floor of an airspace volume over the cut, at its lowest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionFloor {
    /// The volume.
    pub title: String,
    /// Its lower limit as stated.
    pub lower: String,
    /// The levels of its floor, where they are known.
    pub runs: Vec<LevelRun>,
    /// Where the cut is in the volume and the level of its floor is not known.
    pub not_known: Vec<Stretch>,
}

/// A place that the cut leads to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionLandmark {
    /// What it is.
    pub title: String,
    /// Where along the cut.
    pub at_m: Metres,
    /// How far to the right of the cut; negative to the left.
    pub offset_m: Metres,
}
