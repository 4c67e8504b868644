//! Obstacles as the data give them: spans of power lines, supports and structures.
//!
//! A record keeps what was stated and what was not; nothing is filled in. Turning a record into a
//! shield (trusted top, reach) needs ground, and happens in [`crate::assess`].

use geo::Polygon;
use serde::Serialize;
use smol_str::SmolStr;

use crate::frame::LonLat;
use crate::site::FeatureRef;
use crate::units::Metres;

/// Where a stated height is counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum VerticalReference {
    /// Above the ground at the object (AGL).
    AboveGround,
    /// Above mean sea level (AMSL).
    MeanSeaLevel,
}

/// How a height came about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HeightBasis {
    /// The data state it.
    Stated,
    /// Estimated from the voltage class because the user asked for it; marked ESTIMATE everywhere.
    Estimate,
}

/// The height of an object's top.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Top {
    /// The top in metres, counted from `reference`.
    pub value_m: f64,
    /// Where it is counted from.
    pub reference: VerticalReference,
    /// Stated or estimated.
    pub basis: HeightBasis,
}

/// What kind of thing an obstacle is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ObstacleKind {
    /// The wires between two supports of a power line.
    Span,
    /// A tower, pole or portal that carries a power line.
    Support,
    /// A building.
    Building,
    /// Another structure, in the words of the data: `silo`, `chimney`, `mast`, `crane`.
    Structure(SmolStr),
}

/// Whether an object stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Permanence {
    /// It stays; it may shield.
    Permanent,
    /// It may go (a crane, a construction): an obstacle to avoid, never a shield.
    Temporary,
    /// The data do not say and the kind does not tell; never a shield.
    Unknown,
}

/// How far the lowest point of a span's top wire hangs below its supports.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sag {
    /// The stated height is already that of the lowest point of the top wire.
    Included,
    /// Sag at mid-span of a level span, metres.
    Metres(f64),
    /// Sag as a share of the span's length (0.02 is 2 %).
    ShareOfSpan(f64),
    /// From the wire's weight per metre and its horizontal tension (same unit of force).
    Wire {
        /// Weight per metre of wire, e.g. N/m.
        weight_per_m: f64,
        /// Horizontal tension, e.g. N.
        horizontal_tension: f64,
    },
}

/// The plan shape of an obstacle in WGS 84 longitude and latitude.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A point: a mast, a support.
    Point(LonLat),
    /// A chain of two or more places, each segment straight in longitude and latitude: a span,
    /// which bends only where the line was digitised with a vertex that is not a support.
    Chain(Vec<LonLat>),
    /// An outline: a building. x is longitude, y latitude, degrees.
    Outline(Polygon<f64>),
}

/// One end of a span.
#[derive(Clone, Debug, PartialEq)]
pub struct SpanEnd {
    /// The top of the support at this end, if known.
    pub top: Option<Top>,
    /// The support's feature, if the data have one here.
    pub support: Option<FeatureRef>,
}

/// What only a span has.
#[derive(Clone, Debug, PartialEq)]
pub struct SpanDetail {
    /// The supports, at the first and the last place of the chain.
    pub ends: [SpanEnd; 2],
    /// The sag, if stated.
    pub sag: Option<Sag>,
    /// Length between the supports along the chain.
    pub length: Metres,
    /// The electrical clearance to keep from the wires, where the data state one.
    pub clearance: Option<Metres>,
    /// How far the outermost wire is from the line as drawn, where the data say so.
    pub wire_offset: Option<Metres>,
    /// Highest voltage of the line in volts, if given.
    pub voltage_v: Option<f64>,
    /// Place of this span in its line, counted from 0.
    pub index: usize,
}

/// One obstacle: a span, a support or a structure.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Where it was read. All spans of a line share its feature; see [`SpanDetail::index`].
    pub source: FeatureRef,
    /// The object's name in the data.
    pub name: Option<String>,
    /// What it is.
    pub kind: ObstacleKind,
    /// Where it is.
    pub shape: Shape,
    /// The stated top; for a span the lower of its two ends is what counts, see [`SpanDetail`].
    pub top: Option<Top>,
    /// Whether it may shield at all.
    pub permanence: Permanence,
    /// Horizontal accuracy: its position is within this of the stated one (0 when not stated,
    /// which the layer's cautions say).
    pub horizontal_accuracy: Metres,
    /// Vertical accuracy: its top is within this of the stated one (0 when not stated).
    pub vertical_accuracy: Metres,
    /// Set for spans only.
    pub span: Option<Box<SpanDetail>>,
}

impl Obstacle {
    /// The places of its shape, when that is a chain.
    #[must_use]
    pub fn chain(&self) -> Option<&[LonLat]> {
        match &self.shape {
            Shape::Chain(places) => Some(places),
            Shape::Point(_) | Shape::Outline(_) => None,
        }
    }

    /// A short title for reports: `span 3 of way/42`, `silo "North bin"`, `support node/7`.
    #[must_use]
    pub fn title(&self) -> String {
        let kind = match &self.kind {
            ObstacleKind::Span => match &self.span {
                Some(detail) => format!("span {} of line", detail.index + 1),
                None => "span of line".to_owned(),
            },
            ObstacleKind::Support => "support".to_owned(),
            ObstacleKind::Building => "building".to_owned(),
            ObstacleKind::Structure(words) => words.to_string(),
        };
        match &self.name {
            Some(name) => format!("{kind} \"{name}\""),
            None => format!("{kind} {}", self.source.feature),
        }
    }
}
