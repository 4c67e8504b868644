//! One site of many: the numbers of an assessment, and nothing that is only words.

use crate::answer::Undetermined;
use crate::assess::airspace::Overhead;
use crate::assess::ceiling::{Asked, FoundCeiling, FoundPair, FoundValue};
use crate::assess::cover::{Cover, covers};
use crate::assess::expression::Expression;
use crate::assess::ground::SiteGround;
use crate::assess::obstacles::Nearby;
use crate::assess::{placing_slack, wish};
use crate::distance::Measured;
use crate::error::Result;
use crate::plan::Plan;
use crate::read::window_about;
use crate::search::{Limits, Stop};
use crate::units::{Height, Metres};
use crate::variation::variation;

use super::Site;
use super::common::Common;
use super::proximity;
use super::reason::{Reason, Reasons};
use super::row::{CaseAnswer, Ceiling, CeilingOf, CeilingPart, Row, Wish};
use super::settings::Case;

/// The row of a site.
pub fn row(site: &Site, common: &Common) -> Result<Row> {
    let plan = Plan::of(&site.area)?;
    let mut reasons = common.reasons();
    reasons.add_if(site.has_cautions, Reason::SiteCaution);
    let mut asking = Asking::new(site, common, &plan)?;
    let declination = variation(
        plan.frame().origin(),
        asking.ground.middle_elevation(),
        common.settings().date,
    )
    .ok()
    .map(|found| found.declination_deg);
    reasons.add_if(declination.is_none(), Reason::VariationUnknown);
    let measured = Measured::new(&plan);
    let near = proximity::of(site, common, &plan, measured, declination);
    let mut cases = Vec::with_capacity(common.cases().len());
    for number in 0..common.cases().len() {
        cases.extend(asking.case(number)?);
    }
    Ok(Row {
        id: site.id.clone(),
        error: None,
        middle: Some(plan.frame().origin()),
        area_m2: Some(plan.area_m2()),
        aerodrome: near.aerodrome,
        proximity: near.worst,
        cases,
        reasons: reasons.and(near.reasons),
    })
}

/// A site on its way through the cases; what two cases share is not done again.
struct Asking<'a> {
    site: &'a Site,
    common: &'a Common,
    plan: &'a Plan,
    nearby: Nearby,
    ground: SiteGround,
    /// The reach that the ground was laid out for.
    reach: Metres,
    /// The accuracy that the obstacles are trusted with.
    trusted_with: Option<Option<Metres>>,
    last: Option<(Case, CaseAnswer)>,
}

impl<'a> Asking<'a> {
    fn new(site: &'a Site, common: &'a Common, plan: &'a Plan) -> Result<Self> {
        let window = window_about(&site.area, common.obstacle_reach());
        let nearby = Nearby::laid_out(common.layers().obstacles.numbered_near(window), plan);
        let reach = common.profile_of(0).widest_reach();
        Ok(Self {
            site,
            common,
            plan,
            nearby,
            ground: ground(common, plan, reach)?,
            reach,
            trusted_with: None,
            last: None,
        })
    }

    fn case(&mut self, number: usize) -> Result<Option<CaseAnswer>> {
        let Some(case) = self.common.cases().get(number).copied() else {
            return Ok(None);
        };
        let profile = self.common.profile_of(number);
        let reach = profile.widest_reach();
        if reach != self.reach && self.common.has_terrain() {
            self.ground = ground(self.common, self.plan, reach)?;
            self.trusted_with = None;
        }
        self.reach = reach;
        if self.trusted_with != Some(case.obstacle_accuracy) {
            let least = case.obstacle_accuracy.unwrap_or(Metres::ZERO);
            self.nearby.trust(self.plan, &self.ground, least);
            self.trusted_with = Some(case.obstacle_accuracy);
        }
        let wish = self.site.wish.or(case.wish);
        let same = self.last.filter(|(last, answer)| {
            Case {
                wish: None,
                ..*last
            } == Case { wish: None, ..case }
                && answer.wish.map(|wish| wish.height_m_agl) == wish
        });
        let answer = match same {
            Some((_, answer)) => Some(answer),
            None => match self.answer(number, wish) {
                Some(answer) => Some(answer),
                None => Asking::new(self.site, self.common, &self.plan.closely())?.case(number)?,
            },
        };
        let Some(answer) = answer else {
            return Ok(None);
        };
        self.last = Some((case, answer));
        Ok(Some(answer))
    }

    /// None where only a closer layout can tell whether all of the area is covered.
    fn answer(&self, number: usize, wished: Option<Height>) -> Option<CaseAnswer> {
        let (common, plan, ground) = (self.common, self.plan, &self.ground);
        let profile = common.profile_of(number);
        let question = common.question_of_airspace(self.site, number);
        let overhead = question.as_ref().map(|question| {
            Overhead::of(question, common.layers().airspace.as_deref(), plan, ground)
        });
        let slack = placing_slack(plan, self.reach);
        let expression = Expression::compile(
            &profile.expression,
            &self.nearby,
            plan,
            slack,
            overhead.as_ref(),
        );
        let covers = covers(&expression, &self.nearby, plan);
        if covers.iter().any(|cover| cover.is_tight) {
            return None;
        }
        let asked = Asked {
            expression: &expression,
            nearby: &self.nearby,
            plan,
            ground,
            limits: Limits::within(common.settings().tolerance.m()),
        };
        let found = asked.find(&covers);
        let ceiling = self.ceiling(&found);
        let mut reasons = self.about_obstacles();
        if found.whole.is_none() {
            for why in asked.reasons(&covers) {
                reasons.add(undetermined(&why));
            }
        }
        for pair in [found.whole, found.determined_part].into_iter().flatten() {
            let stops_short = |value: FoundValue| value.found.stop != Stop::Tolerance;
            reasons.add_if(
                stops_short(pair.above_ground) || pair.amsl.is_some_and(stops_short),
                Reason::StoppedShort,
            );
        }
        reasons.add_if(
            ceiling.is_some_and(|part| part.above_ground.value_m <= 0.0),
            Reason::CeilingNotAboveGround,
        );
        let first: Option<&Cover> = covers.first();
        Some(CaseAnswer {
            shields_in_reach: first.map_or(0, |cover| cover.shields_in_reach),
            not_shields_in_reach: first.map_or(0, |cover| cover.not_shields_in_reach),
            covered_share: covers
                .iter()
                .map(|cover| cover.covered_share)
                .reduce(f64::min),
            is_undetermined: found.whole.is_none(),
            ceiling,
            wish: wished.map(|height| {
                let found = wish::find(height, &found, &asked);
                Wish {
                    height_m_agl: height,
                    state: found.state,
                    share_allowed: found.share_allowed,
                }
            }),
            reasons,
        })
    }

    fn about_obstacles(&self) -> Reasons {
        let mut reasons = Reasons::NONE;
        for placed in &self.nearby.placed {
            if placed.is_within(self.reach.m(), self.plan) {
                match &placed.trusted {
                    Ok(trusted) => reasons.add_if(trusted.is_estimate, Reason::EstimatedHeight),
                    Err(_) => reasons.add(Reason::UnusableObstacles),
                }
            }
        }
        reasons
    }

    fn ceiling(&self, found: &FoundCeiling) -> Option<CeilingPart> {
        let part = |of: CeilingOf, pair: &FoundPair| CeilingPart {
            of,
            above_ground: self.value(&pair.above_ground),
            amsl: pair.amsl.as_ref().map(|value| self.value(value)),
        };
        match (&found.whole, &found.determined_part) {
            (Some(pair), _) => Some(part(CeilingOf::Whole, pair)),
            (None, Some(pair)) => Some(part(CeilingOf::DeterminedPart, pair)),
            (None, None) => None,
        }
    }

    fn value(&self, value: &FoundValue) -> Ceiling {
        let is_shield = self.common.is_shield(value.leaf);
        let member = value.member.filter(|_| is_shield);
        let placed = member.and_then(|member| self.nearby.placed.get(member));
        Ceiling {
            value_m: value.value_m,
            term: value.leaf,
            shield: placed.map(|placed| placed.number),
            governs_at: self.plan.frame().to_place(value.found.place),
        }
    }
}

fn ground(common: &Common, plan: &Plan, reach: Metres) -> Result<SiteGround> {
    let settings = common.settings();
    let (ground, _) = SiteGround::of(
        settings.site_elevation,
        settings.ground_accuracy,
        common.layers().terrain.as_ref(),
        plan,
        reach,
    )?;
    Ok(ground)
}

const fn undetermined(why: &Undetermined) -> Reason {
    match why {
        Undetermined::Uncovered { .. } => Reason::Uncovered,
        Undetermined::NoShield => Reason::NoShield,
        Undetermined::GroundUnknown { .. } => Reason::GroundUnknown,
        Undetermined::FloorUnknown { .. } => Reason::FloorUnknown,
        Undetermined::NotCertified => Reason::NotCertified,
    }
}
