//! Many sites asked the question of one: plain numbers and reason codes, a [`Row`] each.
//!
//! [`Common`] holds what all sites share, [`answer`] gives the row of one site. Every number of a row
//! is, bit for bit, the one that [`crate::assess::assess`] finds for that site alone, for both are
//! made by the same functions; words are made from a row when they are asked for. A row depends on
//! its site and the common part only, so sites may be answered in any order and by any number of
//! threads. Not here: files of sites, files of rows, progress (the command does these).

mod aerodromes;
mod common;
mod engine;
mod proximity;
mod reason;
mod row;
mod settings;

pub use common::Common;
pub use reason::{NotScreened, Reason, Reasons};
pub use row::{
    CaseAnswer, Ceiling, CeilingOf, CeilingPart, NearestAerodrome, Proximity, ProximityOf, Row,
    Wish,
};
pub use settings::{Case, Sensitivity, Settings};

use crate::site::OperatingArea;
use crate::units::Height;

/// One site to be screened.
#[derive(Clone, Debug)]
pub struct Site {
    /// Its identifier, unchanged in its row.
    pub id: String,
    /// The operating area.
    pub area: OperatingArea,
    /// Whether reading it left cautions.
    pub has_cautions: bool,
    /// A height above ground wished for this site; it takes the place of those in the settings.
    pub wish: Option<Height>,
}

/// The row of one site; of a site that cannot be answered, a row with the cause.
#[must_use]
pub fn answer(site: &Site, common: &Common) -> Row {
    engine::row(site, common).unwrap_or_else(|error| Row::unanswered(&site.id, &error))
}
