//! Obstacle limitation surfaces of aerodromes: tables as data, and the fields they make about a site.
//!
//! A table ([`table`]) is one edition of one instrument; [`of_aerodrome`] lays its surfaces out in
//! the local plane as fields of [`crate::field::surface`]. What the data leave open (code number,
//! kind of approach, code letter) is bracketed: every choice is laid out, and the lowest counts.
//! Not here: how an area lies to them (see [`crate::assess`]).

pub mod annex14;
pub mod answer;
pub mod outline;
pub mod part77;
pub mod ribbon;
pub mod runway_line;
pub mod shielding_planes;
pub mod table;

use crate::aerodrome::{Aerodrome, AerodromeKind};
use crate::field::surface::{Patch, Surface};
use crate::frame::LocalFrame;
use crate::plan::LAYOUT_ERROR_M;
use crate::site::FeatureRef;
use crate::units::Metres;

use answer::SurfaceKind;
use runway_line::RunwayLine;
use table::{Cells, Table};

/// No surface of any table reaches farther than this from a runway end, metres: the precision
/// approach of 14 CFR 77.19, 200 + 50 000 ft along and 13 000 ft sideways, is 15 805 m. Nor do the
/// standards for structures: 77.17(a)(2) ends before 6 NM.
pub const FARTHEST_REACH: Metres = Metres::of(16_000.0);

/// One surface about a site.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteSurface {
    /// Which surface.
    pub kind: SurfaceKind,
    /// The runway end or runway it belongs to; none for a surface of the whole aerodrome.
    pub part: Option<String>,
    /// Where the record was read that it was made from.
    pub source: FeatureRef,
    /// The field, metres AMSL.
    pub surface: Surface,
    /// What was taken for want of data.
    pub assumed: Vec<String>,
}

/// The surfaces of one aerodrome, and why some are missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// The surfaces.
    pub surfaces: Vec<SiteSurface>,
    /// What could not be laid out, and why: `runway 09/27: ...`.
    pub missing: Vec<String>,
}

impl Laid {
    /// Adds a surface unless it has no patch.
    fn push(
        &mut self,
        kind: SurfaceKind,
        part: Option<&str>,
        source: &FeatureRef,
        patches: Vec<Patch>,
        assumed: &[String],
    ) {
        if !patches.is_empty() {
            self.surfaces.push(SiteSurface {
                kind,
                part: part.map(str::to_owned),
                source: source.clone(),
                surface: Surface { patches },
                assumed: assumed.to_vec(),
            });
        }
    }
}

/// The surfaces of an aerodrome in the plane about a site.
///
/// Closed aerodromes and closed runways have none. Elevations between the two ends of a runway are
/// taken as those of a straight line, and the strip beyond an end as level.
#[must_use]
pub fn of_aerodrome(table: &Table, aerodrome: &Aerodrome, frame: &LocalFrame) -> Laid {
    let mut laid = Laid::default();
    if aerodrome.kind == AerodromeKind::Closed {
        laid.missing
            .push("it is marked closed in the data".to_owned());
        return laid;
    }
    let mut lines = Vec::new();
    for runway in &aerodrome.runways {
        match RunwayLine::of(runway, aerodrome, frame) {
            Ok(line) => lines.push(line),
            Err(why) => laid
                .missing
                .push(format!("runway {}: {why}", runway.designator)),
        }
    }
    match &table.cells {
        Cells::Annex14(_) if aerodrome.kind == AerodromeKind::Heliport => laid
            .missing
            .push("surfaces of heliports are not in these tables".to_owned()),
        Cells::Annex14(cells) => annex14::lay_out(cells, aerodrome, &lines, frame, &mut laid),
        Cells::Part77(cells) if aerodrome.kind == AerodromeKind::Heliport => {
            part77::lay_out_heliport(cells, aerodrome, &lines, frame, &mut laid);
        }
        Cells::Part77(cells) => part77::lay_out(cells, aerodrome, &lines, frame, &mut laid),
    }
    laid
}

/// How far a place near the origin of the plane may be from where it belongs beside a runway
/// `away` metres from the origin: the layout of edges, and four times the stretch of the plane over
/// that distance (lengths and angles both change by the share of the stretch; tested against
/// geodesics).
#[must_use]
pub fn placing_slack(away: Metres) -> f64 {
    2.0 * LAYOUT_ERROR_M + 4.0 * away.m() * LocalFrame::stretch(away)
}
