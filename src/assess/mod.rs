//! One site asked everything: an operating area, a rule profile and layers in, an [`Assessment`] out.
//!
//! Joins the rule profile with the fields and the search. Not here: reading files, and wording.

pub(crate) mod aerodromes;
pub(crate) mod airspace;
mod budget;
pub(crate) mod ceiling;
pub mod ceiling_grid;
mod clearance;
pub(crate) mod cover;
pub(crate) mod expression;
pub(crate) mod ground;
mod hours;
pub(crate) mod obstacles;
mod outline;
pub mod patch;
mod plan_points;
mod runways;
mod section;
mod shielding;
mod shielding_planes;
mod structures;
mod surfaces;
pub(crate) mod wish;
pub(crate) mod zones;

pub use section::{SectionWish, USUAL_CORRIDOR};

use jiff::civil::Date;

use crate::answer::{
    AreaAnswer, Assessment, CAUTION, FORMAT, GroundSource, NotAssessed, ObstacleAnswer,
    ProfileAnswer, VariationAnswer,
};
use crate::distance::Measured;
use crate::error::{Caution, Cautions, Result};
use crate::frame::LocalFrame;
use crate::hours::window::WishedWindow;
use crate::plan::Plan;
use crate::profile::Profile;
use crate::read::{Layers, window_about};
use crate::schedule;
use crate::search::Limits;
use crate::site::OperatingArea;
use crate::surfaces::shielding_planes::ShieldingRule;
use crate::surfaces::table::Table;
use crate::units::{Altitude, Height, Metres, Pressure};
use crate::variation::variation;

pub use clearance::LineClearance;
use expression::Expression;
use ground::SiteGround;
use obstacles::Nearby;

/// What is asked about one site.
#[derive(Clone, Debug)]
pub struct Question {
    /// The operating area.
    pub area: OperatingArea,
    /// Cautions from reading it.
    pub area_cautions: Cautions,
    /// The rule profile.
    pub profile: Profile,
    /// The date the answers hold for.
    pub date: Date,
    /// Aerodromes within this distance are answered.
    pub search_radius: Metres,
    /// A wished height above ground.
    pub wish: Option<Height>,
    /// A wished window of local times.
    pub window: Option<WishedWindow>,
    /// One elevation for the site and the obstacles near it, instead of terrain.
    pub site_elevation: Option<Altitude>,
    /// What the ground is known within, instead of what the terrain layer states.
    pub ground_accuracy: Option<Metres>,
    /// How near the certified ceiling must come to the true one.
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with; a plausible range without one.
    pub qnh: Option<Pressure>,
    /// The table of obstacle limitation surfaces; they are not assessed without one.
    pub surfaces: Option<Table>,
    /// What is kept from power lines beside what the layers state.
    pub line_clearance: Option<LineClearance>,
    /// Whether the ceiling is sampled over the area, for figures that show it.
    pub sample_ceiling: bool,
    /// The rule of shielding planes, asked of what penetrates a surface; not without it.
    pub shielding_planes: Option<ShieldingRule>,
    /// No obstacle is known better than this vertically, whatever the layers state.
    pub obstacle_accuracy: Option<Metres>,
    /// The vertical section, if one is wanted.
    pub section: Option<SectionWish>,
}

/// How far around the area obstacles are drawn.
pub const DRAWN_AROUND: Metres = Metres::of(2_500.0);

/// Answers one site.
///
/// Layers may have been read through a window; it must hold the area grown by the widest reach of
/// the profile ([`window_about`]).
///
/// # Errors
/// When the area cannot be laid out, or the terrain cannot be read; when a sampled ceiling lies below
/// the certified one.
pub fn assess(question: &Question, layers: &Layers) -> Result<Assessment> {
    let LaidOut {
        plan,
        ground,
        nearby,
        not_assessed: missing,
    } = LaidOut::for_cover(question, layers, DRAWN_AROUND)?;
    let mut cautions = Cautions::default();
    cautions.extend(question.area_cautions.clone());
    cautions.extend(layers.cautions.clone());
    let mut not_assessed = layers.not_assessed.clone();

    not_assessed.extend(missing);
    let overhead = airspace::Overhead::of(question, layers.airspace.as_deref(), &plan, &ground);
    let expression = expression_of(question, &nearby, &plan, &overhead);

    let variation = match variation(
        question.area.frame().origin(),
        ground.middle_elevation(),
        question.date,
    ) {
        Ok(found) => VariationAnswer::Known {
            declination_deg: found.declination_deg,
            uncertainty_deg: found.uncertainty_deg,
            model: found.model,
            date: question.date.to_string(),
        },
        Err(why) => VariationAnswer::Unknown {
            why: why.to_string(),
        },
    };
    let declination = match &variation {
        VariationAnswer::Known {
            declination_deg, ..
        } => Some(*declination_deg),
        VariationAnswer::Unknown { .. } => None,
    };

    let measured = Measured::new(&plan);
    let aerodromes =
        aerodromes::answer(question, &layers.aerodromes, &measured, &plan, declination);
    let farther_aerodromes = aerodromes::farther(&layers.aerodromes, &aerodromes, &plan);
    let corners = runways::corners(&question.area, &plan);
    let runways = runways::answer(&aerodromes, &corners, &plan, declination);
    let asked = zones::Asked {
        question,
        measured: &measured,
        plan: &plan,
        corners: &corners,
    };
    let mut zones = zones::answer(&asked, &aerodromes, &layers.aerodromes);
    let covers = cover::covers(&expression, &nearby, &plan);
    let asked = ceiling::Asked {
        expression: &expression,
        nearby: &nearby,
        plan: &plan,
        ground: &ground,
        limits: Limits::within(question.tolerance.m()),
    };
    let found = asked.find(&covers);
    let shielding = shielding::answer(&covers, &found, &expression, &nearby, &plan, &ground);
    let has_airspace = layers.airspace.is_some();
    let ceiling = ceiling::answer(question, &asked, &found, &covers, has_airspace);
    let surfaces = surfaces::answer(
        question,
        &layers.aerodromes,
        &plan,
        &ground,
        &ceiling,
        &nearby,
        &mut not_assessed,
    );
    let has_lines = layers
        .summaries
        .iter()
        .any(|layer| layer.layer == "power-lines");
    let band = clearance::band(
        question.line_clearance.as_ref(),
        &nearby,
        &plan,
        has_lines || nearby.placed.iter().any(|it| it.record.span.is_some()),
    );
    let sampled = || ceiling_grid::answer(&expression, &nearby, &plan, &ground, &ceiling);
    let usable = clearance::usable(&band, &plan, &ceiling, &shielding, sampled)?;
    let plan_points = plan_points::answer(
        &plan_points::Asked {
            plan: &plan,
            measured: &measured,
            ground: &ground,
            ceiling: &ceiling,
            aerodromes: &aerodromes,
            declination,
            band: band.plane.as_ref(),
        },
        &layers.plan,
        &mut cautions,
        &mut not_assessed,
    );
    let ceiling_grid = question.sample_ceiling.then(sampled).transpose()?;
    let section = question
        .section
        .as_ref()
        .map(|wish| {
            let asked = section::Asked {
                question,
                layers,
                plan: &plan,
                ground: &ground,
                nearby: &nearby,
                expression: &expression,
                overhead: &overhead,
                ceiling: &ceiling,
                aerodromes: &aerodromes,
                declination,
            };
            section::answer(&asked, wish)
        })
        .transpose()?;
    let wish = question
        .wish
        .map(|height| wish::answer(height, wish::find(height, &found, &asked), &ceiling));
    let ground_answer = ground.answer(&plan, question.tolerance);
    zones::compare_heights(&mut zones, &ceiling, question.wish, &ground_answer);
    let airspace = overhead.answer(&ceiling);
    let hours = hours::answer(
        question,
        plan.frame().origin(),
        &aerodromes,
        airspace.as_ref(),
    );
    if hours.is_none() {
        not_assessed.push(NotAssessed {
            what: "hours of control".to_owned(),
            why: "no window was wished (--window)".to_owned(),
            count: 0,
            features: Vec::new(),
        });
    }
    let (within_reach, surroundings) =
        nearby.answers(&plan, &ground, question.profile.widest_reach());
    note_unusable(&within_reach, &mut not_assessed);
    not_assessed.push(never_assessed());
    if ground.source == GroundSource::AssumedFlat {
        cautions.add(flat_ground());
    }

    Ok(Assessment {
        format: FORMAT,
        caution: CAUTION,
        version: env!("CARGO_PKG_VERSION"),
        date: question.date.to_string(),
        area: AreaAnswer {
            name: question.area.name.clone(),
            source: question.area.source.clone(),
            middle: plan.frame().origin(),
            area_m2: plan.area_m2(),
            perimeter_m: plan.perimeter(),
            outline: question.area.polygons.clone(),
            record: question.area.clone(),
        },
        schedule: schedule::of(&question.area),
        profile: ProfileAnswer {
            name: question.profile.name.clone(),
            title: question.profile.title.clone(),
            caution: question.profile.caution.clone(),
            values: question.profile.quantities().into_iter().cloned().collect(),
            conditions: question.profile.conditions.clone(),
            record: question.profile.clone(),
        },
        variation,
        ground: ground_answer,
        search_radius_m: question.search_radius,
        tolerance_m: question.tolerance,
        aerodromes,
        runways,
        zones,
        shielding,
        ceiling,
        plan: plan_points,
        clearance: band.answer,
        usable,
        ceiling_grid,
        wish,
        hours,
        airspace,
        surfaces,
        section,
        not_assessed,
        cautions: cautions.into_vec(),
        layers: layers.summaries.clone(),
        farther_aerodromes,
        obstacles: within_reach,
        surroundings,
    })
}

/// The area of a question in the plane, the ground there, and the obstacles near it.
struct LaidOut {
    plan: Plan,
    ground: SiteGround,
    nearby: Nearby,
    /// What of the ground could not be assessed.
    not_assessed: Option<NotAssessed>,
}

impl LaidOut {
    /// Closely where only that can tell whether all of the area is covered.
    fn for_cover(question: &Question, layers: &Layers, beyond: Metres) -> Result<Self> {
        let mut laid_out = Self::of(question, layers, beyond)?;
        let Self {
            plan,
            ground,
            nearby,
            ..
        } = &laid_out;
        let overhead = airspace::Overhead::of(question, layers.airspace.as_deref(), plan, ground);
        let expression = expression_of(question, nearby, plan, &overhead);
        let covers = cover::covers(&expression, nearby, plan);
        if covers.iter().any(|cover| cover.is_tight) {
            laid_out.plan = laid_out.plan.closely();
            laid_out.nearby = near(question, layers, beyond, &laid_out.plan, &laid_out.ground);
        }
        Ok(laid_out)
    }

    /// With the obstacles within the widest reach of the profile and `beyond`.
    fn of(question: &Question, layers: &Layers, beyond: Metres) -> Result<Self> {
        let plan = Plan::of(&question.area)?;
        let widest_reach = question.profile.widest_reach();
        let (ground, missing) = SiteGround::of(
            question.site_elevation,
            question.ground_accuracy,
            layers.terrain.as_ref(),
            &plan,
            widest_reach,
        )?;
        Ok(Self {
            nearby: near(question, layers, beyond, &plan, &ground),
            not_assessed: missing.and_then(|missing| missing.note(layers)),
            plan,
            ground,
        })
    }
}

/// The obstacles within the widest reach of the profile and `beyond`.
fn near(
    question: &Question,
    layers: &Layers,
    beyond: Metres,
    plan: &Plan,
    ground: &SiteGround,
) -> Nearby {
    let around = window_about(&question.area, question.profile.widest_reach() + beyond);
    let near = layers.obstacles.numbered_near(around);
    let least_accuracy = question.obstacle_accuracy.unwrap_or(Metres::ZERO);
    Nearby::of(near, plan, ground, least_accuracy)
}

/// The expression of a question's profile over what was laid out.
fn expression_of<'a>(
    question: &'a Question,
    nearby: &Nearby,
    plan: &Plan,
    overhead: &airspace::Overhead<'_>,
) -> Expression<'a> {
    let slack = placing_slack(plan, question.profile.widest_reach());
    Expression::compile(
        &question.profile.expression,
        nearby,
        plan,
        slack,
        Some(overhead),
    )
}

/// What eaves never assesses.
#[must_use]
pub fn never_assessed() -> NotAssessed {
    NotAssessed {
        what: "NOTAM, temporary restrictions, weather, people and property on the ground"
            .to_owned(),
        why: "eaves has no data on them".to_owned(),
        count: 0,
        features: Vec::new(),
    }
}

/// The caution of an answer about flat ground.
#[must_use]
pub fn flat_ground() -> Caution {
    Caution::about(
        "",
        "no terrain and no site elevation: flat ground is assumed",
        "heights above ground hold only where the ground is no higher than at the base of the \
         governing obstacle; nothing is answered AMSL",
    )
}

/// What is taken off every reach for the ways in which the plane is not the ellipsoid: the layout
/// of the area's edges, and the stretch of the plane. That of a shield's edges is taken off its own.
pub(crate) fn placing_slack(plan: &Plan, reach: Metres) -> f64 {
    let out = plan.radius() + reach;
    plan.for_cover().error_m() + reach.m() * LocalFrame::stretch(out)
}

/// Counts the obstacles in reach that could not serve as a shield, by reason.
fn note_unusable(within_reach: &[ObstacleAnswer], not_assessed: &mut Vec<NotAssessed>) {
    for obstacle in within_reach {
        let Some(why) = &obstacle.not_a_shield else {
            continue;
        };
        let known = not_assessed
            .iter_mut()
            .find(|entry| entry.what == UNUSABLE && entry.why == *why);
        let feature = obstacle.source.feature.to_string();
        match known {
            Some(entry) => {
                entry.count += 1;
                if entry.features.len() < Caution::NAMED_FEATURES
                    && !entry.features.contains(&feature)
                {
                    entry.features.push(feature);
                }
            }
            None => not_assessed.push(NotAssessed {
                what: UNUSABLE.to_owned(),
                why: why.clone(),
                count: 1,
                features: vec![feature],
            }),
        }
    }
}

/// What [`note_unusable`] calls its entries.
const UNUSABLE: &str = "obstacles in reach as shields";
