//! The fields of the ceiling laid out about one patch of ground, for callers that ask them about many
//! parts of it.
//!
//! The same fields, in the same plane, with the same slack, as [`super::assess`] searches for an area
//! that is the patch. Not here: which parts are asked, and what is made of the answers.

use super::airspace::Overhead;
use super::{LaidOut, Question, expression_of};
use crate::answer::NotAssessed;
use crate::error::Result;
use crate::field::Field;
use crate::plan::Plan;
use crate::read::Layers;
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
    let LaidOut {
        plan,
        ground,
        nearby,
        not_assessed,
    } = LaidOut::of(question, layers, Metres::ZERO)?;
    let overhead = Overhead::of(question, layers.airspace.as_deref(), &plan, &ground);
    let expression = expression_of(question, &nearby, &plan, &overhead);
    let amsl = ground.is_amsl().then(|| expression.amsl(&ground.ground));
    let above_ground = expression.above_ground(&ground.ground);
    Ok(ask(&Patch {
        plan: &plan,
        amsl: amsl.as_deref(),
        above_ground: above_ground.as_ref(),
        not_assessed: not_assessed.into_iter().collect(),
    }))
}
