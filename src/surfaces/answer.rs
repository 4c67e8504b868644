//! What an assessment says of obstacle limitation surfaces, as data.

mod structures;

pub use structures::*;

use geo::MultiPolygon;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::table::Unconfirmed;
use crate::frame::LonLat;
use crate::profile::Mark;
use crate::site::FeatureRef;
use crate::units::{Altitude, Height, Metres};

/// Which surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SurfaceKind {
    /// The strip of a runway, from whose sides the transitional surface rises.
    RunwayStrip,
    /// The primary surface of 14 CFR 77.19(c) or 77.23(a).
    Primary,
    /// Inner approach surface.
    InnerApproach,
    /// Approach surface, all sections.
    Approach,
    /// Inner transitional surface.
    InnerTransitional,
    /// Transitional surface.
    Transitional,
    /// Balked landing surface.
    BalkedLanding,
    /// Take-off climb surface.
    TakeOffClimb,
    /// Inner horizontal surface.
    InnerHorizontal,
    /// The horizontal surface of 14 CFR 77.19(a).
    Horizontal,
    /// Conical surface.
    Conical,
    /// Outer horizontal surface.
    OuterHorizontal,
}

impl SurfaceKind {
    /// The field's term: `inner horizontal`.
    #[must_use]
    pub const fn term(self) -> &'static str {
        match self {
            Self::RunwayStrip => "runway strip",
            Self::Primary => "primary",
            Self::InnerApproach => "inner approach",
            Self::Approach => "approach",
            Self::InnerTransitional => "inner transitional",
            Self::Transitional => "transitional",
            Self::BalkedLanding => "balked landing",
            Self::TakeOffClimb => "take-off climb",
            Self::InnerHorizontal => "inner horizontal",
            Self::Horizontal => "horizontal",
            Self::Conical => "conical",
            Self::OuterHorizontal => "outer horizontal",
        }
    }
}

/// The surfaces over an area under one table.
#[derive(Clone, Debug, Serialize)]
pub struct SurfacesAnswer {
    /// Name of the table, as given to `--surfaces`.
    pub table: String,
    /// The instrument.
    pub title: String,
    /// Its edition.
    pub edition: String,
    /// What the table is not.
    pub caution: String,
    /// Rows of the table that are from memory or common practice; those of military airports only
    /// where the data say that one is near.
    pub unconfirmed: Vec<Unconfirmed>,
    /// What gaps are counted from.
    pub from: GapFrom,
    /// The rule of shielding planes, if it was asked for.
    pub shielding_planes: Option<PlanesAnswer>,
    /// The surfaces over some part of the area, least gap first, else lowest first.
    pub surfaces: Vec<SurfaceAnswer>,
    /// Heights of structures by the table; none where it has no such standards.
    pub structures: Option<StructuresAnswer>,
}

/// What the gaps to surfaces are counted from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum GapFrom {
    /// The certified ceiling of the whole area AMSL.
    Ceiling {
        /// The ceiling.
        ceiling_m_amsl: Altitude,
    },
    /// The ceiling is undetermined: the wished height above ground.
    Wish {
        /// The wish.
        height_m_agl: Height,
    },
    /// Neither is known AMSL: gaps are undetermined.
    Nothing,
}

/// One surface over some part of the area.
#[derive(Clone, Debug, Serialize)]
pub struct SurfaceAnswer {
    /// The aerodrome: `IDENT Name`.
    pub aerodrome: String,
    /// Which surface.
    pub kind: SurfaceKind,
    /// The runway end or runway; none for a surface of the whole aerodrome.
    pub part: Option<String>,
    /// Where the record was read that it was made from.
    pub source: FeatureRef,
    /// Certified lower bound of the surface over the area; the true lowest point is not above
    /// `lowest_attained_m_amsl`.
    pub lowest_m_amsl: Altitude,
    /// The level of the surface at `lowest_at`.
    pub lowest_attained_m_amsl: Altitude,
    /// Where it is lowest.
    pub lowest_at: LonLat,
    /// Share of the area under it, 0 to 1, never below the true share.
    pub share_under: f64,
    /// The least vertical gap from the ceiling up to the surface (certified, never above the true
    /// one): negative where the ceiling is above the surface; none when undetermined.
    pub gap_m: Option<Metres>,
    /// Where the gap is least.
    pub gap_at: Option<LonLat>,
    /// Whether it is the surface that governs: no other comes nearer to the ceiling, nor as near and
    /// lower.
    pub governs: bool,
    /// The part of the area in which the ceiling is above the surface; none when the gap is nowhere
    /// negative or undetermined.
    pub penetration: Option<Penetration>,
    /// The whole footprint of the surface as a GeoJSON MultiPolygon geometry, drawn: never less than
    /// the true one, and more by at most a metre and a half.
    #[serde(serialize_with = "as_geojson")]
    pub footprint: Option<MultiPolygon<f64>>,
    /// What was taken for want of data.
    pub assumed: Vec<String>,
}

/// The part of an area in which its ceiling is above a surface.
#[derive(Clone, Debug, Serialize)]
pub struct Penetration {
    /// Its share of the area, 0 to 1, never below the true share.
    pub share: f64,
    /// The part as a GeoJSON MultiPolygon geometry, never less than the true one by more than the
    /// tenth of a millimetre that polygon arithmetic may move an edge. Where the gap is counted from
    /// a ceiling AMSL or over level ground it is the cut of the planes; over terrain it is made of
    /// the cells that are not certainly below the surface, and its edge is stepped.
    #[serde(serialize_with = "as_geojson")]
    pub part: Option<MultiPolygon<f64>>,
    /// How much of it is below shielding planes; none where they were not asked for, or a runway of
    /// the aerodrome has no known position.
    pub shielded: Option<ShieldedShare>,
}

/// How much of a penetration, as it is laid out, is below the shielding planes of permanent
/// obstacles, towards every runway of the aerodrome.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ShieldedShare {
    /// Share of the area that is penetrated and shielded, 0 to 1, never above the true share.
    pub share: f64,
    /// Share of the area that is penetrated and not shielded, 0 to 1, never below the true share.
    pub unshielded_share: f64,
}

/// The rule of shielding planes that an answer used.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanesAnswer {
    /// Its title.
    pub title: String,
    /// Instrument and chapter.
    pub citation: String,
    /// Edition of the instrument.
    pub edition: String,
    /// How well it is known.
    pub mark: Mark,
    /// What the rule is not.
    pub caution: String,
    /// Fall of the plane towards the runway, metres a metre.
    pub slope_towards_runway: f64,
    /// How far from an obstacle its planes reach.
    pub reach_along_m: Metres,
    /// Where that reach is from.
    pub reach_along_source: String,
    /// How many obstacles near the area have a trusted, stated top and may shield by it.
    pub obstacles: usize,
}

/// A GeoJSON MultiPolygon geometry (RFC 7946 section 3.1.7), or null.
fn as_geojson<S: Serializer>(
    polygons: &Option<MultiPolygon<f64>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let Some(polygons) = polygons else {
        return serializer.serialize_none();
    };
    let coordinates: Vec<Vec<Vec<[f64; 2]>>> = polygons
        .iter()
        .map(|polygon| {
            std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(|ring| ring.coords().map(|place| [place.x, place.y]).collect())
                .collect()
        })
        .collect();
    let mut geometry = serializer.serialize_map(Some(2))?;
    geometry.serialize_entry("type", "MultiPolygon")?;
    geometry.serialize_entry("coordinates", &coordinates)?;
    geometry.end()
}
