//! The section figure: the vertical cut in its panel.
//!
//! Not here: the sheet around it (see [`super::layout`]).

use super::font::Font;
use super::layout::Layout;
use super::scene::Scene;
use crate::answer::Assessment;
use crate::error::{Error, Result};

/// Draws the panel and the strip of a section figure, and adds what it leaves out to `notes`.
///
/// # Errors
/// Always, for now: the assessment holds no section to draw.
pub fn add(
    _scene: &mut Scene,
    _layout: &Layout,
    _assessment: &Assessment,
    _font: &Font,
    _notes: &mut [String],
) -> Result<()> {
    Err(Error::new(
        "the section figure cannot be drawn: this version computes no section",
        "ask for a location or a site figure",
    ))
}
