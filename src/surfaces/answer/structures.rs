//! What an assessment says of heights of structures by the standards of a table, as data.

use serde::Serialize;

use crate::frame::LonLat;
use crate::units::{Height, Metres};

/// What a standard for structures decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Whether notice must be given (14 CFR 77.9).
    Notice,
    /// Whether it is an obstruction (14 CFR 77.17).
    Obstruction,
}

/// Heights of structures over an area by every standard that lies over some part of it.
#[derive(Clone, Debug, Serialize)]
pub struct StructuresAnswer {
    /// The standards, those of notice first, lowest height first.
    pub standards: Vec<StandardAnswer>,
    /// The greatest height above ground that needs no notice anywhere in the area; none where that
    /// is undetermined.
    pub notice_m_agl: Option<Height>,
    /// The greatest height above ground that is no obstruction anywhere in the area; none where that
    /// is undetermined.
    pub obstruction_m_agl: Option<Height>,
    /// The same of ways on which something moves.
    pub traverse_ways: Vec<TraverseWayAnswer>,
    /// Instrument and section of what is added for those.
    pub traverse_source: String,
}

/// One standard over some part of the area.
#[derive(Clone, Debug, Serialize)]
pub struct StandardAnswer {
    /// What it decides.
    pub purpose: Purpose,
    /// Section of the instrument, and where it was read.
    pub source: String,
    /// The aerodrome; none for a height above any ground.
    pub aerodrome: Option<String>,
    /// The greatest height above ground that it lets pass anywhere in the area, never above the true
    /// one; 0 where any height is too much; none where it is undetermined.
    pub height_m_agl: Option<Height>,
    /// Where it is least; none where it is the same everywhere or undetermined.
    pub at: Option<LonLat>,
    /// What was taken for want of data.
    pub assumed: Vec<String>,
}

/// A way on which something moves, whose height counts with what moves on it.
#[derive(Clone, Debug, Serialize)]
pub struct TraverseWayAnswer {
    /// Its kind.
    pub kind: String,
    /// What is added to its height.
    pub added_m: Metres,
    /// The greatest height of the way that needs no notice; none where undetermined.
    pub notice_m_agl: Option<Height>,
    /// The greatest height of the way that is no obstruction; none where undetermined.
    pub obstruction_m_agl: Option<Height>,
}
