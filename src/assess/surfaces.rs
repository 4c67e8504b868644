//! Which obstacle limitation surfaces lie over an area, and how far its ceiling is below them.

use geo::{Area, BooleanOps, MultiPolygon};

use super::Question;
use super::aerodromes::some_place;
use super::ground::SiteGround;
use crate::aerodrome::Aerodrome;
use crate::answer::{CeilingAnswer, NotAssessed};
use crate::field::Field;
use crate::field::surface::SurfaceAboveGround;
use crate::frame::distance;
use crate::plan::Plan;
use crate::search::{self, Limits, Scope};
use crate::surfaces::answer::{GapFrom, Penetration, SurfaceAnswer, SurfacesAnswer};
use crate::surfaces::outline::part_below;
use crate::surfaces::{FARTHEST_REACH, SiteSurface, of_aerodrome};
use crate::units::{Altitude, Height, Metres};

/// No runway end is farther than this from the place that an aerodrome is looked for at: larger
/// than any aerodrome, it only decides which are looked at closely.
const AERODROME_EXTENT_M: f64 = 10_000.0;

/// A share of an area nearer to all of it than this is all of it: rounding of polygon areas.
const WHOLE: f64 = 1.0 - 1e-9;

/// How closely the share above a surface is found where the gap is counted from a height above
/// ground, and how many cells that may take.
const SHARE_SEARCH: (f64, usize) = (1e-3, 20_000);

/// What [`NotAssessed`] calls this part of an answer.
const WHAT: &str = "obstacle limitation surfaces";

pub fn answer(
    question: &Question,
    aerodromes: &[Aerodrome],
    plan: &Plan,
    ground: &SiteGround,
    ceiling: &CeilingAnswer,
    not_assessed: &mut Vec<NotAssessed>,
) -> Option<SurfacesAnswer> {
    let mut missing = |what: String, why: String| {
        not_assessed.push(NotAssessed {
            what,
            why,
            count: 0,
            features: Vec::new(),
        });
    };
    let Some(table) = &question.surfaces else {
        missing(
            WHAT.to_owned(),
            "no table was chosen (--surfaces)".to_owned(),
        );
        return None;
    };
    let asked = Asked {
        plan,
        ground,
        from: gap_from(question, ground, ceiling),
        limits: Limits::within(question.tolerance.m()),
    };
    let within = FARTHEST_REACH.m() + plan.radius().m() + AERODROME_EXTENT_M;
    let mut surfaces = Vec::new();
    for aerodrome in aerodromes {
        let is_near = some_place(aerodrome)
            .is_some_and(|place| distance(plan.frame().origin(), place).m() <= within);
        if !is_near {
            continue;
        }
        let laid = of_aerodrome(table, aerodrome, plan.frame());
        for why in laid.missing {
            missing(format!("{WHAT} of {}", aerodrome.title()), why);
        }
        let over = laid
            .surfaces
            .iter()
            .filter_map(|surface| asked.one(&aerodrome.title(), surface));
        surfaces.extend(over);
    }
    // The governing one first: least gap, then lowest, then in the order of the tables.
    let rank = |it: &SurfaceAnswer| {
        let gap = it.gap_m.map_or(f64::INFINITY, Metres::m);
        (gap, it.lowest_m_amsl.m())
    };
    surfaces.sort_by(|a, b| {
        let (a_rank, b_rank) = (rank(a), rank(b));
        a_rank
            .0
            .total_cmp(&b_rank.0)
            .then(a_rank.1.total_cmp(&b_rank.1))
            .then(a.kind.cmp(&b.kind))
    });
    Some(SurfacesAnswer {
        table: table.name.clone(),
        title: table.title.clone(),
        edition: table.edition.clone(),
        caution: table.caution.clone(),
        unconfirmed: table.unconfirmed.clone(),
        from: asked.from,
        surfaces,
    })
}

/// The certified ceiling of the whole area AMSL; where it is undetermined, the wish.
fn gap_from(question: &Question, ground: &SiteGround, ceiling: &CeilingAnswer) -> GapFrom {
    let amsl = ceiling.whole.as_ref().and_then(|pair| pair.amsl.as_ref());
    match (amsl, question.wish) {
        (Some(value), _) => GapFrom::Ceiling {
            ceiling_m_amsl: Altitude::of(value.value_m),
        },
        (None, Some(height_m_agl)) if ground.is_amsl() => GapFrom::Wish { height_m_agl },
        _ => GapFrom::Nothing,
    }
}

struct Asked<'a> {
    plan: &'a Plan,
    ground: &'a SiteGround,
    from: GapFrom,
    limits: Limits,
}

impl Asked<'_> {
    /// The answer about one surface; none when it lies over no part of the area.
    fn one(&self, aerodrome: &str, site: &SiteSurface) -> Option<SurfaceAnswer> {
        let surface = &site.surface;
        let cells = self.plan.cells();
        let lowest = search::lowest(surface, cells, Scope::Everywhere, self.limits)?;
        if !lowest.lower.is_finite() {
            return None;
        }
        let attained = if lowest.attained.is_finite() {
            lowest.attained
        } else {
            lowest.lower
        };
        let is_wholly_under = cells.iter().all(|cell| surface.over(cell).high.is_finite());
        let share_under = if is_wholly_under {
            1.0
        } else {
            self.share(&self.under(&part_below(surface, f64::INFINITY)))
        };
        let (gap, gap_at) = match self.from {
            GapFrom::Ceiling { ceiling_m_amsl } => {
                (Some(lowest.lower - ceiling_m_amsl.m()), Some(lowest.place))
            }
            GapFrom::Wish { height_m_agl } => self.above_ground(site, height_m_agl),
            GapFrom::Nothing => (None, None),
        };
        let penetration = match (self.from, gap) {
            (GapFrom::Ceiling { ceiling_m_amsl }, Some(gap)) if gap < 0.0 => {
                let part = self.under(&part_below(surface, ceiling_m_amsl.m()));
                (part.unsigned_area() > 0.0).then(|| Penetration {
                    share: self.share(&part),
                    part: Some(self.plan.to_places(&part)),
                })
            }
            (GapFrom::Wish { height_m_agl }, Some(gap)) if gap < 0.0 => Some(Penetration {
                share: self.share_above(site, height_m_agl),
                part: None,
            }),
            _ => None,
        };
        Some(SurfaceAnswer {
            aerodrome: aerodrome.to_owned(),
            kind: site.kind,
            part: site.part.clone(),
            source: site.source.clone(),
            lowest_m_amsl: Altitude::of(lowest.lower),
            lowest_attained_m_amsl: Altitude::of(attained),
            lowest_at: self.plan.frame().to_place(lowest.place),
            share_under,
            gap_m: gap.map(Metres::of),
            gap_at: gap_at.map(|place| self.plan.frame().to_place(place)),
            penetration,
            assumed: site.assumed.clone(),
        })
    }

    /// The part of the area in some polygons of the plane.
    fn under(&self, polygons: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        self.plan.polygons().intersection(polygons)
    }

    fn share(&self, part: &MultiPolygon<f64>) -> f64 {
        let share = part.unsigned_area() / self.plan.area_m2();
        if share >= WHOLE { 1.0 } else { share.max(0.0) }
    }

    /// The least gap above a wished height above ground; none where the ground is unknown.
    fn above_ground(
        &self,
        site: &SiteSurface,
        wish: Height,
    ) -> (Option<f64>, Option<crate::frame::Xy>) {
        let field = SurfaceAboveGround {
            surface: &site.surface,
            ground: &self.ground.ground,
        };
        let cells = self.plan.cells();
        match search::lowest(&field, cells, Scope::Everywhere, self.limits) {
            Some(found) if found.lower.is_finite() => {
                (Some(found.lower - wish.m()), Some(found.place))
            }
            _ => (None, None),
        }
    }

    fn share_above(&self, site: &SiteSurface, wish: Height) -> f64 {
        let field = SurfaceAboveGround {
            surface: &site.surface,
            ground: &self.ground.ground,
        };
        let (tolerance, budget) = SHARE_SEARCH;
        let below =
            search::share_at_or_above(&field, self.plan.cells(), wish.m(), tolerance, budget);
        1.0 - below.at_least
    }
}
