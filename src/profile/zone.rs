//! Zones about an aerodrome as a rule states them: shapes with cited measures, and to which
//! aerodromes they apply.
//!
//! Not here: where such a zone lies (see [`crate::zone`]) or its text form (see [`super::parse`]).

use serde::Serialize;

use super::{Quantity, Reference};
use crate::aerodrome::AerodromeKind;

/// A zone of a rule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneRule {
    /// Its title in reports.
    pub title: String,
    /// The kinds of aerodrome that have it; all kinds when empty.
    pub kinds: Vec<AerodromeKind>,
    /// Only aerodromes that are controlled, or only those that are not, if the rule says so.
    pub controlled: Option<bool>,
    /// Only aerodromes whose longest runway is no longer than this.
    pub longest_runway_at_most: Option<Quantity>,
    /// Only aerodromes whose longest runway is longer than this.
    pub longest_runway_above: Option<Quantity>,
    /// Its plan shape.
    pub shape: ZoneShape,
    /// Its top, above aerodrome elevation; it starts at the surface, or at the slope of its shape.
    pub top: Option<Quantity>,
    /// Conditions of the rule that eaves cannot check, in words.
    pub conditions: Vec<String>,
}

/// The point that a disc is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DiscCentre {
    /// Aerodrome reference point.
    ReferencePoint,
    /// Mid-point of the longest runway; of each of several of equal length.
    LongestRunwayMidpoint,
}

/// Where a shape on the extended centreline begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CentrelineStart {
    /// The threshold, displaced or not.
    Threshold,
    /// The runway end.
    RunwayEnd,
}

/// A shape that lies outbound on each extended centreline, symmetric about it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnCentreline {
    /// What its distances count from.
    pub from: CentrelineStart,
    /// How far beyond that it begins, if not right there.
    pub gap: Option<Quantity>,
    /// How long it is.
    pub length: Quantity,
    /// Its whole width where it begins.
    pub inner_width: Quantity,
    /// Its whole width where it ends.
    pub outer_width: Quantity,
    /// By how much its lower limit rises from where it begins, at the elevation of the runway end, to
    /// where it ends; it starts at the surface when none.
    pub rise: Option<Quantity>,
}

/// The plan shape of a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ZoneShape {
    /// All within a radius of a point.
    Disc {
        /// The point.
        about: DiscCentre,
        /// The radius, its edge included.
        radius: Quantity,
    },
    /// All within a radius of the centreline of a runway, from end to end; of each runway.
    Capsule {
        /// The radius, its edge included.
        radius: Quantity,
    },
    /// All within a distance of a reference of the aerodrome.
    Buffer {
        /// The reference.
        of: Reference,
        /// The distance, its edge included.
        distance: Quantity,
    },
    /// A rectangle on each extended centreline.
    Rectangle(OnCentreline),
    /// A trapezium on each extended centreline.
    Splay(OnCentreline),
    /// All of several shapes.
    Union(Vec<Self>),
    /// One shape without another.
    Difference {
        /// What remains of this.
        of: Box<Self>,
        /// What is taken away.
        less: Box<Self>,
    },
}

impl ZoneShape {
    /// Its cited values.
    fn quantities(&self) -> Vec<&Quantity> {
        match self {
            Self::Disc { radius, .. } | Self::Capsule { radius } => vec![radius],
            Self::Buffer { distance, .. } => vec![distance],
            Self::Rectangle(shape) => [
                shape.gap.as_ref(),
                Some(&shape.length),
                Some(&shape.inner_width),
                shape.rise.as_ref(),
            ]
            .into_iter()
            .flatten()
            .collect(),
            Self::Splay(shape) => [
                shape.gap.as_ref(),
                Some(&shape.length),
                Some(&shape.inner_width),
                Some(&shape.outer_width),
                shape.rise.as_ref(),
            ]
            .into_iter()
            .flatten()
            .collect(),
            Self::Union(parts) => parts.iter().flat_map(Self::quantities).collect(),
            Self::Difference { of, less } => [of.quantities(), less.quantities()].concat(),
        }
    }

    /// No point of it is farther than this from some part of its aerodrome, metres.
    #[must_use]
    pub fn extent_m(&self) -> f64 {
        self.quantities()
            .into_iter()
            .map(|quantity| quantity.value_m.m())
            .sum()
    }
}

impl ZoneRule {
    /// Its cited values: those of its shape, then those that say where it applies, then its top.
    #[must_use]
    pub fn quantities(&self) -> Vec<&Quantity> {
        let mut all = self.shape.quantities();
        all.extend(&self.longest_runway_at_most);
        all.extend(&self.longest_runway_above);
        all.extend(&self.top);
        all
    }
}
