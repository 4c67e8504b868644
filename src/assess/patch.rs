//! The fields of the ceiling laid out about one patch of ground, for callers that ask them about many
//! parts of it.
//!
//! The same fields, in the same plane, with the same slack, as [`super::assess`] searches for an area
//! that is the patch. Not here: which parts are asked, and what is made of the answers.

use super::airspace::Overhead;
use super::expression::Expression;
use super::ground::SiteGround;
use super::obstacles::Nearby;
use super::{Question, placing_slack};
use crate::answer::NotAssessed;
use crate::error::Result;
use crate::field::Field;
use crate::plan::Plan;
use crate::read::{Layers, window_about};
use crate::units::Metres;

/// The ceiling as fields about a patch.
pub struct Patch<'a> {
    /// The patch in its own plane.
    pub plan: &'a Plan,
    /// The ceiling AMSL, metres; none where the ground has no elevation.
    pub amsl: Option<&'a dyn Field>,
    /// The ceiling above ground, metres.
    pub above_ground: &'a dyn Field,
    /// What could not be assessed about the ground here.
    pub not_assessed: Vec<NotAssessed>,
}

/// Lays the ceiling out about the area of a question and hands it to `ask`. A
/// [`crate::field::Governor`] names a term by its place in [`crate::profile::Term::leaves`].
///
/// # Errors
/// When the patch cannot be laid out, or the terrain cannot be read.
pub fn over_patch<R>(
    question: &Question,
    layers: &Layers,
    ask: impl FnOnce(&Patch) -> R,
) -> Result<R> {
    let plan = Plan::of(&question.area)?;
    let widest_reach = question.profile.widest_reach();
    let (ground, missing) = SiteGround::of(
        question.site_elevation,
        question.ground_accuracy,
        layers.terrain.as_ref(),
        &plan,
        widest_reach,
    )?;
    let not_assessed = missing.and_then(|missing| missing.note(layers));
    let near = layers
        .obstacles
        .numbered_near(window_about(&question.area, widest_reach));
    let least_accuracy = question.obstacle_accuracy.unwrap_or(Metres::ZERO);
    let nearby = Nearby::of(near, &plan, &ground, least_accuracy);
    let overhead = Overhead::of(question, layers.airspace.as_deref(), &plan, &ground);
    let expression = Expression::compile(
        &question.profile.expression,
        &nearby,
        &plan,
        placing_slack(&plan, widest_reach),
        Some(&overhead),
    );
    let amsl = ground.is_amsl().then(|| expression.amsl(&ground.ground));
    let above_ground = expression.above_ground(&ground.ground);
    Ok(ask(&Patch {
        plan: &plan,
        amsl: amsl.as_deref(),
        above_ground: above_ground.as_ref(),
        not_assessed: not_assessed.into_iter().collect(),
    }))
}
