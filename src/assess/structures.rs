//! How high a structure may stand in the area before it needs notice or is an obstruction.

use super::ground::SiteGround;
use crate::field::Field;
use crate::field::surface::{Surface, SurfaceAboveGround};
use crate::plan::Plan;
use crate::search::{self, Limits, Scope};
use crate::surfaces::SiteSurface;
use crate::surfaces::answer::{Purpose, StandardAnswer, StructuresAnswer, TraverseWayAnswer};
use crate::surfaces::part77::standards::{Standard, Standards, StructureLimit, higher_of};
use crate::units::{Height, Metres};

/// What heights of structures are found with.
pub struct Heights<'a> {
    pub plan: &'a Plan,
    pub ground: &'a SiteGround,
    pub limits: Limits,
}

/// Where a standard stands over the area.
enum Found {
    /// Over no part of it.
    Nowhere,
    /// Over some part, but the ground is not known there.
    Undetermined,
    /// The least height, and where.
    Least(f64, Option<crate::frame::LonLat>),
}

impl Heights<'_> {
    /// All standards over the area, the surfaces of the aerodromes among them.
    pub fn answer(
        &self,
        cells: &Standards,
        mut standards: Vec<Standard>,
        surfaces: &[(String, SiteSurface)],
        surfaces_source: &str,
    ) -> StructuresAnswer {
        standards.splice(0..0, cells.anywhere());
        let mut answers: Vec<StandardAnswer> = standards
            .into_iter()
            .filter_map(|standard| {
                let found = self.of(&standard.limit);
                answered(standard.purpose, found, standard.aerodrome, |answer| {
                    answer.source = standard.source;
                    answer.assumed = standard.assumed;
                })
            })
            .collect();
        answers.extend(surfaces.iter().filter_map(|(aerodrome, site)| {
            let found = self.below(&site.surface);
            answered(
                Purpose::Obstruction,
                found,
                Some(aerodrome.clone()),
                |answer| {
                    let part = site
                        .part
                        .as_ref()
                        .map_or(String::new(), |it| format!(" {it}"));
                    answer.source = format!("{surfaces_source}: {}{part}", site.kind.term());
                    answer.assumed.clone_from(&site.assumed);
                },
            )
        }));
        let rank = |it: &StandardAnswer| it.height_m_agl.map_or(f64::NEG_INFINITY, Height::m);
        answers.sort_by(|a, b| a.purpose.cmp(&b.purpose).then(rank(a).total_cmp(&rank(b))));
        let least = |purpose: Purpose| {
            // The first is the lowest; one that is undetermined comes before all.
            answers
                .iter()
                .find(|it| it.purpose == purpose)
                .and_then(|it| it.height_m_agl)
        };
        let (notice, obstruction) = (least(Purpose::Notice), least(Purpose::Obstruction));
        let way = |height: Option<Height>, added: f64| {
            height.map(|height| Height::of((height.m() - added).max(0.0)))
        };
        StructuresAnswer {
            traverse_ways: cells
                .traverse_ways
                .iter()
                .map(|(kind, added)| TraverseWayAnswer {
                    kind: kind.clone(),
                    added_m: Metres::of(*added),
                    notice_m_agl: way(notice, *added),
                    obstruction_m_agl: way(obstruction, *added),
                })
                .collect(),
            traverse_source: cells.traverse_source.clone(),
            standards: answers,
            notice_m_agl: notice,
            obstruction_m_agl: obstruction,
        }
    }

    fn of(&self, limit: &StructureLimit) -> Found {
        match limit {
            StructureLimit::AboveGround(height) => Found::Least(*height, None),
            StructureLimit::Surface(surface) => self.below(surface),
            StructureLimit::HigherOf { above_ground, amsl } => {
                if amsl.patches.is_empty() || !self.ground.is_amsl() {
                    return self.least(above_ground);
                }
                self.least(&higher_of(above_ground, amsl, &self.ground.ground))
            }
        }
    }

    /// The least height of a surface above ground.
    fn below(&self, surface: &Surface) -> Found {
        if !self.ground.is_amsl() {
            return match self.least(surface) {
                Found::Nowhere => Found::Nowhere,
                _ => Found::Undetermined,
            };
        }
        self.least(&SurfaceAboveGround {
            surface,
            ground: &self.ground.ground,
        })
    }

    fn least(&self, field: &dyn Field) -> Found {
        match search::lowest(field, self.plan.cells(), Scope::Everywhere, self.limits) {
            Some(found) if found.lower.is_finite() => Found::Least(
                found.lower.max(0.0),
                Some(self.plan.frame().to_place(found.place)),
            ),
            Some(found) if found.lower == f64::INFINITY => Found::Nowhere,
            _ => Found::Undetermined,
        }
    }
}

/// The answer of one standard; none where it stands over no part of the area.
fn answered(
    purpose: Purpose,
    found: Found,
    aerodrome: Option<String>,
    fill: impl FnOnce(&mut StandardAnswer),
) -> Option<StandardAnswer> {
    let (height_m_agl, at) = match found {
        Found::Nowhere => return None,
        Found::Undetermined => (None, None),
        Found::Least(height, at) => (Some(Height::of(height)), at),
    };
    let mut answer = StandardAnswer {
        purpose,
        source: String::new(),
        aerodrome,
        height_m_agl,
        at,
        assumed: Vec::new(),
    };
    fill(&mut answer);
    Some(answer)
}
