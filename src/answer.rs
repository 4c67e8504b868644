//! The [`Assessment`]: everything eaves answers about one site, as data.
//!
//! Report, JSON and figures are all drawn from this one value, so they cannot disagree. Ceilings
//! and their budgets are whole centimetres, rounded to the safe side, so that the lines add up;
//! other numbers are unrounded and rounded to the safe side where they are printed
//! ([`crate::units`]).
//! Not here: how the answers are found (see [`crate::assess`]) or worded (see [`crate::report`]).

mod ceiling_grid;
mod ceiling_map;
mod clearance;
mod plan_points;
mod runways;
mod screening;
mod section;
mod wish;
mod zones;

pub use ceiling_grid::*;
pub use ceiling_map::*;
pub use clearance::*;
pub use plan_points::*;
pub use runways::*;
pub use screening::*;
pub use section::*;
pub use wish::*;
pub use zones::*;

use geo::MultiPolygon;
use serde::{Serialize, Serializer};

use crate::aerodrome::{Aerodrome, AerodromeKind};
use crate::airspace::answer::AirspaceAnswer;
use crate::error::Caution;
use crate::frame::LonLat;
use crate::hours::answer::HoursAnswer;
use crate::obstacle::{ObstacleKind, Shape};
use crate::profile::{Profile, Quantity, Reference};
use crate::schedule;
use crate::site::{FeatureRef, OperatingArea};
use crate::surfaces::answer::SurfacesAnswer;
use crate::units::{Altitude, Bearing, Height, Metres};

/// The version of the JSON form of [`Assessment`]; raised when a key changes its meaning.
pub const FORMAT: &str = "eaves-assessment/1";

/// The caution that every output carries.
pub const CAUTION: &str = "An aid to planning, not an authority: it decides nothing. Check every \
input and every figure against the current rules, charts and NOTAM; the aviation authority and \
licensed practice decide. Not for navigation.";

/// Everything eaves answers about one operating area.
#[derive(Clone, Debug, Serialize)]
pub struct Assessment {
    /// [`FORMAT`].
    pub format: &'static str,
    /// [`CAUTION`].
    pub caution: &'static str,
    /// Version of eaves.
    pub version: &'static str,
    /// The date the answers hold for (magnetic variation, editions), `YYYY-MM-DD`.
    pub date: String,
    /// The operating area.
    pub area: AreaAnswer,
    /// Its vertices, lettered.
    pub schedule: Vec<schedule::Ring>,
    /// The rule profile used.
    pub profile: ProfileAnswer,
    /// Magnetic variation at the middle of the area.
    pub variation: VariationAnswer,
    /// What the ground is taken to be.
    pub ground: GroundAnswer,
    /// Aerodromes whose nearest given reference is within this distance are listed.
    pub search_radius_m: Metres,
    /// A certified ceiling is no more than this below the true one, where the search reached it.
    pub tolerance_m: Metres,
    /// The aerodromes, nearest first.
    pub aerodromes: Vec<AerodromeAnswer>,
    /// Where the area lies to their runways.
    pub runways: Vec<RunwayAnswer>,
    /// The zones of the profile, aerodrome by aerodrome.
    pub zones: Vec<ZoneAnswer>,
    /// Shielding, one entry for each shield rule of the profile (usually one).
    pub shielding: Vec<ShieldingAnswer>,
    /// The allowed ceiling.
    pub ceiling: CeilingAnswer,
    /// The points of the plan near the area.
    pub plan: Vec<PlanPointAnswer>,
    /// The electrical clearance of power lines near the area.
    pub clearance: ClearanceAnswer,
    /// What is left of the area to use.
    pub usable: UsableAnswer,
    /// The ceiling sampled over the area, where that was asked for.
    #[serde(skip)]
    pub ceiling_grid: Option<CeilingGrid>,
    /// The answer to a wished height, if one was given.
    pub wish: Option<WishAnswer>,
    /// When control is active in a wished window, if one was given.
    pub hours: Option<HoursAnswer>,
    /// Airspace volumes; none when the folder has no airspace layer.
    pub airspace: Option<AirspaceAnswer>,
    /// The obstacle limitation surfaces over the area, if a table was chosen.
    pub surfaces: Option<SurfacesAnswer>,
    /// A vertical section, if one was wanted.
    pub section: Option<SectionAnswer>,
    /// What was not assessed, and why.
    pub not_assessed: Vec<NotAssessed>,
    /// Defects in the data and assumptions made, with their effect.
    pub cautions: Vec<Caution>,
    /// The layers that were read.
    pub layers: Vec<LayerAnswer>,
    /// Obstacles within reach of the area under the widest reach of the profile, nearest first.
    pub obstacles: Vec<ObstacleAnswer>,
    /// Names and places of the other aerodromes of the layers, nearest first by the straight way
    /// through the Earth, for the figure only.
    #[serde(skip)]
    pub farther_aerodromes: Vec<(String, LonLat)>,
    /// Obstacles farther out, for the figure only.
    #[serde(skip)]
    pub surroundings: Vec<ObstacleAnswer>,
}

impl Assessment {
    /// Whether every question was answered without something undecided or conditional: the
    /// difference between exit codes 0 and 1.
    #[must_use]
    pub fn is_decided(&self) -> bool {
        self.ceiling.undetermined.is_empty()
            && self.zones.iter().all(ZoneAnswer::is_decided)
            && self.plan.iter().all(|point| {
                !matches!(
                    point.above_take_off,
                    Some(HeightAbovePoint::Undetermined { .. })
                )
            })
            && self.ceiling.conditions.is_empty()
            && self
                .wish
                .as_ref()
                .is_none_or(|wish| wish.state != WishState::Undetermined)
            && self.hours.as_ref().is_none_or(HoursAnswer::is_decided)
            && self
                .airspace
                .as_ref()
                .is_none_or(AirspaceAnswer::is_decided)
            && self.aerodromes.iter().all(|aerodrome| {
                aerodrome
                    .rings
                    .iter()
                    .all(|ring| ring.state != ZoneState::Undetermined && !ring.is_substitute)
            })
    }
}

/// The operating area in an answer.
#[derive(Clone, Debug, Serialize)]
pub struct AreaAnswer {
    /// Its name.
    pub name: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Middle of its bounding box; the origin of the local frame.
    pub middle: LonLat,
    /// Its area on the ellipsoid, square metres.
    pub area_m2: f64,
    /// Its perimeter, holes included.
    pub perimeter_m: Metres,
    /// Its outline as a GeoJSON MultiPolygon geometry.
    #[serde(serialize_with = "as_geojson")]
    pub outline: MultiPolygon<f64>,
    /// The record itself, for figures.
    #[serde(skip)]
    pub record: OperatingArea,
}

/// The rule profile in an answer.
#[derive(Clone, Debug, Serialize)]
pub struct ProfileAnswer {
    /// Its name, as given to `--profile`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What the profile is not.
    pub caution: String,
    /// Every value it uses, with citation, edition and mark.
    pub values: Vec<Quantity>,
    /// Conditions of the rule that eaves cannot check, in words.
    pub conditions: Vec<String>,
    /// The profile itself, for figures.
    #[serde(skip)]
    pub record: Profile,
}

/// Magnetic variation, or why there is none.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum VariationAnswer {
    /// Known at the middle of the area.
    Known {
        /// Declination in degrees, east positive: true = magnetic + declination.
        declination_deg: f64,
        /// One standard deviation of the model's declination, degrees.
        uncertainty_deg: f64,
        /// The model: `WMM2025`.
        model: &'static str,
        /// The date it was evaluated for, `YYYY-MM-DD`.
        date: String,
    },
    /// Refused: outside the years of the model, or too near a magnetic pole.
    Unknown {
        /// Why.
        why: String,
    },
}

/// What the ground is taken to be.
#[derive(Clone, Debug, Serialize)]
pub struct GroundAnswer {
    /// Where it comes from.
    pub source: GroundSource,
    /// What it is taken to be within (subtracted from the ceiling above ground), 0 when not stated.
    pub accuracy_m: Metres,
    /// Whether that accuracy was stated.
    pub accuracy_is_stated: bool,
    /// Certified bounds of the ground under the area, AMSL; none on assumed flat ground or where
    /// the terrain has no data.
    pub lowest_m_amsl: Option<Altitude>,
    /// See `lowest_m_amsl`.
    pub highest_m_amsl: Option<Altitude>,
    /// Share of the area for which the terrain has no data, rounded up by the method.
    pub unknown_share: f64,
}

/// Where the ground comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum GroundSource {
    /// A terrain raster.
    Terrain {
        /// Its file.
        file: String,
    },
    /// One elevation stated by the user for the site and all obstacles near it.
    Stated {
        /// The elevation.
        elevation_m_amsl: Altitude,
    },
    /// Nothing is known: flat ground is assumed and only heights above ground are answered.
    AssumedFlat,
}

/// One aerodrome in an answer.
#[derive(Clone, Debug, Serialize)]
pub struct AerodromeAnswer {
    /// `IDENT Name`.
    pub title: String,
    /// Location indicator or other identifier.
    pub ident: Option<String>,
    /// What kind it is.
    pub kind: AerodromeKind,
    /// Where it was read.
    pub source: FeatureRef,
    /// The distance from each reference: always all four, in the order of [`Reference::ALL`].
    pub references: Vec<ReferenceAnswer>,
    /// The rings of the profile, smallest first.
    pub rings: Vec<RingAnswer>,
    /// The record itself, for figures.
    #[serde(skip)]
    pub record: Aerodrome,
}

impl AerodromeAnswer {
    /// The nearest of the distances that are given.
    #[must_use]
    pub fn nearest(&self) -> Option<&DistanceAnswer> {
        self.references
            .iter()
            .filter_map(|reference| reference.distance.as_ref())
            .min_by(|a, b| a.distance_m.m().total_cmp(&b.distance_m.m()))
    }

    /// The distance from one reference, if the data give that reference.
    #[must_use]
    pub fn from_reference(&self, reference: Reference) -> Option<&DistanceAnswer> {
        self.references
            .iter()
            .find(|answer| answer.reference == reference)
            .and_then(|answer| answer.distance.as_ref())
    }
}

/// The distance of the area from one reference of an aerodrome.
#[derive(Clone, Debug, Serialize)]
pub struct ReferenceAnswer {
    /// Which reference.
    pub reference: Reference,
    /// The distance; none when the data do not give the reference ("not given").
    pub distance: Option<DistanceAnswer>,
}

/// A distance with its witnesses.
#[derive(Clone, Debug, Serialize)]
pub struct DistanceAnswer {
    /// Geodesic distance from the reference to the nearest point of the area; 0 when they overlap.
    pub distance_m: Metres,
    /// The same in nautical miles.
    pub distance_nm: f64,
    /// Geodesic distance from the reference to the farthest point of the area.
    pub farthest_m: Metres,
    /// True bearing at the aerodrome's witness towards the area's; none when they coincide.
    pub bearing_true_deg: Option<Bearing>,
    /// The same, magnetic; none where the variation is unknown.
    pub bearing_magnetic_deg: Option<Bearing>,
    /// The point of the reference that is nearest.
    pub from: LonLat,
    /// The point of the area that is nearest.
    pub to: LonLat,
    /// Which part of the reference it is: the designator of the runway end, for example.
    pub part: Option<String>,
}

/// How an area lies to a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ZoneState {
    /// Every point of the area is in the zone (its edge included).
    Inside,
    /// Some points are in it, some are not.
    Straddles,
    /// No point of the area is in it.
    Outside,
    /// The data do not give the reference that the ring is about, nor a substitute.
    Undetermined,
}

/// One distance ring about one aerodrome.
#[derive(Clone, Debug, Serialize)]
pub struct RingAnswer {
    /// Its radius.
    pub radius_m: Metres,
    /// Its radius as the profile writes it: `3 NM`, `4 km`.
    pub label: String,
    /// The reference that the profile measures it from.
    pub about: Reference,
    /// The reference that it was measured from here.
    pub measured_from: Option<Reference>,
    /// True when `measured_from` is not `about`, because the data do not give `about`. The state is
    /// then that of the substitute, and does not answer the rule.
    pub is_substitute: bool,
    /// Inside, straddles or outside.
    pub state: ZoneState,
    /// Distance of the nearest point of the area less the radius: negative by how far the area
    /// reaches into the ring, positive by how far it stays outside.
    pub margin_m: Option<Metres>,
    /// Distance of the farthest point of the area less the radius: negative when all is inside.
    pub farthest_margin_m: Option<Metres>,
    /// Share of the area inside, 0 to 1, never below the true share; 0 and 1 only when outside and
    /// inside.
    pub share_inside: Option<f64>,
}

/// What one shield rule says about the area.
#[derive(Clone, Debug, Serialize)]
pub struct ShieldingAnswer {
    /// The rule's title in the profile.
    pub rule: String,
    /// Index of the rule in the profile's expression, in the order of its shield terms.
    pub term: usize,
    /// The horizontal reach of a shield.
    pub reach_m: Metres,
    /// What is taken off the trusted top (negative where the rule adds to it).
    pub margin_m: Metres,
    /// How many obstacles in reach can shield.
    pub shields_in_reach: usize,
    /// How many obstacles in reach cannot, for whatever reason.
    pub not_shields_in_reach: usize,
    /// The lowest shielding obstacle: the one that completes the cover of all that is covered.
    pub lowest_shielding: Option<ShieldAnswer>,
    /// Where it governs: the last place to be covered.
    pub governs_at: Option<LonLat>,
    /// The plain lowest object in reach; a different question, answered so that the two are not
    /// confused.
    pub lowest_in_reach: Option<ShieldAnswer>,
    /// Share of the area within reach of a shield, 0 to 1, never above the true share; 1 only when
    /// coverage is certified.
    pub covered_share: f64,
    /// Whether every point of the area is certified to be within reach of a shield.
    pub is_wholly_covered: bool,
    /// The uncovered part (never less than the true one) as a GeoJSON MultiPolygon geometry.
    #[serde(serialize_with = "as_geojson")]
    pub uncovered: MultiPolygon<f64>,
    /// Its area, square metres.
    pub uncovered_m2: f64,
}

/// One obstacle in the role of a shield.
#[derive(Clone, Debug, Serialize)]
pub struct ShieldAnswer {
    /// Its title: `span 3 of line "Ridge 330 kV"`.
    pub title: String,
    /// What it is.
    pub kind: ObstacleKind,
    /// Where it was read.
    pub source: FeatureRef,
    /// Index of the span in its line, counted from 0; none for other obstacles.
    pub span_index: Option<usize>,
    /// The point of the obstacle nearest to where it governs (for the plain lowest: to the area).
    pub position: LonLat,
    /// Distance from the nearest edge of the area, 0 when inside it.
    pub distance_m: Metres,
    /// Trusted top AMSL; none on assumed flat ground.
    pub trusted_top_m_amsl: Option<Altitude>,
    /// Trusted top above the ground at the obstacle's own base.
    pub trusted_top_m_agl: Height,
    /// Whether its height is an estimate.
    pub is_estimate: bool,
    /// Its shape, for figures.
    #[serde(skip)]
    pub shape: Shape,
}

/// The allowed ceiling.
#[derive(Clone, Debug, Serialize)]
pub struct CeilingAnswer {
    /// The ceiling of the whole area; none when it is undetermined in some part.
    pub whole: Option<CeilingPair>,
    /// The ceiling of the part where it is determined, when that is not the whole area.
    pub determined_part: Option<CeilingPair>,
    /// Why the ceiling of the whole area is undetermined; empty when it is determined.
    pub undetermined: Vec<Undetermined>,
    /// What the ceiling depends on that eaves cannot check (in words, from the profile).
    pub conditions: Vec<String>,
}

/// A ceiling in both vertical references.
#[derive(Clone, Debug, Serialize)]
pub struct CeilingPair {
    /// AMSL; none on assumed flat ground.
    pub amsl: Option<CeilingValue>,
    /// Above ground: the height that holds everywhere, found by its own search.
    pub above_ground: CeilingValue,
}

/// One certified ceiling.
#[derive(Clone, Debug, Serialize)]
pub struct CeilingValue {
    /// The certified lower bound, metres AMSL or above ground as the field says, rounded down to the
    /// centimetre. Print this.
    pub value_m: f64,
    /// The value attained at `governs_at`: the true minimum is in `value_m ..= attained_m`.
    pub attained_m: f64,
    /// Why the search stopped.
    pub stopped: Stopped,
    /// Cells looked at.
    pub cells: usize,
    /// Where it governs.
    pub governs_at: LonLat,
    /// The term that governs: the title of a leaf of the profile.
    pub governs: String,
    /// The obstacle that governs, when the term is a shield.
    pub shield: Option<String>,
    /// The height budget; its last line is `value_m`.
    pub budget: Vec<BudgetLine>,
}

/// Why a search stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stopped {
    /// The bounds came within the tolerance.
    Tolerance,
    /// The cells in doubt are smaller than the resolution; the lower bound stands.
    Resolution,
    /// The budget of cells was spent; the lower bound stands.
    Budget,
}

/// One line of a height budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BudgetLine {
    /// What it is: `support top`, `sag`, `obstacle accuracy`, `margin`.
    pub label: String,
    /// What it does to the sum.
    pub step: BudgetStep,
    /// The amount in metres: what is started from, taken off, or left.
    pub value_m: f64,
    /// Where the amount comes from: a file and feature, a citation, "not stated".
    pub note: String,
}

/// What a line of a height budget does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BudgetStep {
    /// The value that the sum starts from.
    From,
    /// Taken off.
    Less,
    /// Added.
    Plus,
    /// The sum so far.
    Gives,
}

/// A reason for an undetermined ceiling.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "reason", rename_all = "snake_case")]
pub enum Undetermined {
    /// Part of the area is out of reach of every shield.
    Uncovered {
        /// Its area in square metres.
        uncovered_m2: f64,
        /// Its share of the area, 0 to 1.
        share: f64,
    },
    /// No obstacle within reach can shield.
    NoShield,
    /// The terrain has no data under part of the area.
    GroundUnknown {
        /// Share of the area, 0 to 1, rounded up by the method.
        share: f64,
    },
    /// The floor of airspace over part of the area is not known, and the profile limits by it.
    FloorUnknown {
        /// The volumes with their lower limits.
        volumes: Vec<String>,
    },
    /// The search stopped before it could certify a bound that is of use.
    NotCertified,
}

/// Something that was not assessed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NotAssessed {
    /// What: `airspace`, `heights of structures`.
    pub what: String,
    /// Why: `no airspace layer in the folder`.
    pub why: String,
    /// How many features are concerned; 0 when it is not about features.
    pub count: usize,
    /// Some of them by id.
    pub features: Vec<String>,
}

/// One layer that was read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LayerAnswer {
    /// Which layer: `aerodromes`, `power-lines`, ...
    pub layer: String,
    /// Its file name.
    pub file: String,
    /// How many features the file holds.
    pub features: usize,
    /// Its coordinate reference system as declared, and what was done about it.
    pub crs: String,
    /// Date of the data, if declared.
    pub date: Option<String>,
    /// Source and licence of the data, if declared.
    pub source: Option<String>,
}

/// One obstacle near the area.
#[derive(Clone, Debug, Serialize)]
pub struct ObstacleAnswer {
    /// Its title.
    pub title: String,
    /// What it is.
    pub kind: ObstacleKind,
    /// Where it was read.
    pub source: FeatureRef,
    /// Index of the span in its line, counted from 0; none for other obstacles.
    pub span_index: Option<usize>,
    /// Distance from the nearest edge of the area, 0 when inside it.
    pub distance_m: Metres,
    /// The stated top above ground, before sag and accuracy, if known.
    pub top_m_agl: Option<Height>,
    /// The stated top AMSL, before sag and accuracy, if known.
    pub top_m_amsl: Option<Altitude>,
    /// Trusted top AMSL, when it can shield and its base is known AMSL.
    pub trusted_top_m_amsl: Option<Altitude>,
    /// Trusted top above its own base, when it can shield.
    pub trusted_top_m_agl: Option<Height>,
    /// Why it cannot shield; none when it can.
    pub not_a_shield: Option<String>,
    /// Whether its height is an estimate.
    pub is_estimate: bool,
    /// Its shape, for figures.
    #[serde(skip)]
    pub shape: Shape,
}

fn as_geojson<S: Serializer>(
    polygons: &MultiPolygon<f64>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    geojson::Geometry::from(polygons).serialize(serializer)
}
