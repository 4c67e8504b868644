//! An obstacle record about to be packed: its texts and places are lent by the feature it comes from.
//!
//! Not here: how it is packed (see [`crate::read::packed`]).

use geo::Polygon;

use crate::frame::LonLat;
use crate::obstacle::{Obstacle, ObstacleKind, Permanence, Shape, SpanDetail, Top};
use crate::site::FeatureRef;
use crate::units::Metres;

/// A record about to be added, its texts and places lent.
#[derive(Clone, Copy, Debug)]
pub struct Draft<'a> {
    /// The file and the feature that it comes from.
    pub source: (&'a str, &'a str),
    /// See [`Obstacle::name`].
    pub name: Option<&'a str>,
    /// See [`Obstacle::kind`].
    pub kind: &'a ObstacleKind,
    /// See [`Obstacle::shape`].
    pub plan: Plan<'a>,
    /// See [`Obstacle::top`].
    pub top: Option<Top>,
    /// See [`Obstacle::permanence`].
    pub permanence: Permanence,
    /// See [`Obstacle::horizontal_accuracy`].
    pub horizontal_accuracy: Metres,
    /// See [`Obstacle::vertical_accuracy`].
    pub vertical_accuracy: Metres,
    /// See [`Obstacle::span`].
    pub span: Option<&'a SpanDetail>,
}

/// A shape that is lent.
#[derive(Clone, Copy, Debug)]
pub enum Plan<'a> {
    /// See [`Shape::Point`].
    Point(LonLat),
    /// See [`Shape::Chain`].
    Chain(&'a [LonLat]),
    /// See [`Shape::Outline`].
    Outline(&'a Polygon<f64>),
}

impl<'a> From<&'a Shape> for Plan<'a> {
    fn from(shape: &'a Shape) -> Self {
        match shape {
            Shape::Point(place) => Self::Point(*place),
            Shape::Chain(places) => Self::Chain(places),
            Shape::Outline(outline) => Self::Outline(outline),
        }
    }
}

impl<'a> Draft<'a> {
    /// Of a record.
    #[must_use]
    pub fn of(record: &'a Obstacle) -> Self {
        Self {
            source: (&record.source.file, &record.source.feature),
            name: record.name.as_deref(),
            kind: &record.kind,
            plan: Plan::from(&record.shape),
            top: record.top,
            permanence: record.permanence,
            horizontal_accuracy: record.horizontal_accuracy,
            vertical_accuracy: record.vertical_accuracy,
            span: record.span.as_deref(),
        }
    }

    /// The record itself.
    #[must_use]
    pub fn record(&self) -> Obstacle {
        let (file, feature) = self.source;
        Obstacle {
            source: FeatureRef {
                file: file.into(),
                feature: feature.into(),
            },
            name: self.name.map(str::to_owned),
            kind: self.kind.clone(),
            shape: match self.plan {
                Plan::Point(place) => Shape::Point(place),
                Plan::Chain(places) => Shape::Chain(places.to_vec()),
                Plan::Outline(outline) => Shape::Outline(outline.clone()),
            },
            top: self.top,
            permanence: self.permanence,
            horizontal_accuracy: self.horizontal_accuracy,
            vertical_accuracy: self.vertical_accuracy,
            span: self.span.map(|span| Box::new(span.clone())),
        }
    }
}

/// The kinds of obstacles without their words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// A span.
    Span,
    /// A support.
    Support,
    /// A building or another structure.
    Structure,
}

impl Class {
    /// Of a kind.
    #[must_use]
    pub const fn of(kind: &ObstacleKind) -> Self {
        match kind {
            ObstacleKind::Span => Self::Span,
            ObstacleKind::Support => Self::Support,
            ObstacleKind::Building | ObstacleKind::Structure(_) => Self::Structure,
        }
    }
}
