//! Many sites asked the question of one: plain numbers and reason codes, a [`Row`] each.
//!
//! [`Common`] holds what all sites share, [`answer`] gives the row of one site. Every number of a row
//! is, bit for bit, the one that [`crate::assess::assess`] finds for that site alone, for both are
//! made by the same functions; words are made from a row when they are asked for. A row depends on
//! its site and the common part only, so sites may be answered in any order and by any number of
//! threads. Not here: files of sites, files of rows, progress (the command does these).

mod common;
mod from_assessment;
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

use crate::assess::Question;
use crate::error::{Cautions, Error};
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
    row(site, common).unwrap_or_else(|error| Row::unanswered(&site.id, &error))
}

fn row(site: &Site, common: &Common) -> Result<Row, Error> {
    let settings = common.settings();
    let mut whole: Option<Row> = None;
    for case in common.cases() {
        let question = Question {
            area: site.area.clone(),
            area_cautions: Cautions::default(),
            profile: case.profile(&settings.profile),
            date: settings.date,
            search_radius: settings.search_radius,
            wish: site.wish.or(case.wish),
            window: None,
            site_elevation: settings.site_elevation,
            ground_accuracy: settings.ground_accuracy,
            tolerance: settings.tolerance,
            qnh: settings.qnh,
            surfaces: None,
            line_clearance: None,
            sample_ceiling: false,
            shielding_planes: None,
            obstacle_accuracy: case.obstacle_accuracy,
            section: None,
        };
        let assessment = crate::assess::assess(&question, common.layers())?;
        from_assessment::add(&mut whole, site, common, &assessment);
    }
    whole.ok_or_else(|| Error::new("no case was asked", "report it: a case is always asked"))
}
