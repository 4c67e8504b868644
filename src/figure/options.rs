//! What a figure may be told: paper, resolution, title block, and what it shows on request.
//!
//! Not here: the words of the command line (see [`crate::cli`]).

use std::sync::Arc;

use crate::error::{Error, Result};
use crate::read::Background;
use crate::sheet::{FigureKind, Sheet, USUAL_DPI};

/// The most pixels of a PNG: a picture in memory takes four bytes for each.
pub const MOST_PIXELS: u64 = 120_000_000;

/// What a figure may be told.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureOptions {
    /// The paper.
    pub sheet: Sheet,
    /// Resolution of a PNG, dots per inch.
    pub dpi: u32,
    /// Title; the name of the area when none.
    pub title: Option<String>,
    /// The number of the figure in the document that it is for.
    pub number: Option<String>,
    /// Its version.
    pub version: Option<String>,
    /// Who applies, in any words.
    pub applicant: Option<String>,
    /// A picture under the map.
    pub background: Option<Arc<Background>>,
    /// Whose the background is, where that is not in its file.
    pub background_credit: Option<String>,
    /// Whether bands of the ceiling are drawn, where it was sampled.
    pub ceiling: bool,
    /// Whether the zones of the profile are drawn.
    pub zones: bool,
    /// Whether the airspace volumes over and near the area are drawn.
    pub airspace: bool,
    /// Whether the obstacle limitation surfaces over the area are drawn.
    pub surfaces: bool,
}

impl Default for FigureOptions {
    /// A4 on its side at 300 dots per inch.
    fn default() -> Self {
        Self {
            sheet: Sheet::default(),
            dpi: USUAL_DPI,
            title: None,
            number: None,
            version: None,
            applicant: None,
            background: None,
            background_credit: None,
            ceiling: false,
            zones: false,
            airspace: false,
            surfaces: false,
        }
    }
}

impl FigureOptions {
    /// The same with what makes no difference to a kind of figure turned off.
    #[must_use]
    pub fn of_kind(&self, kind: FigureKind) -> Self {
        Self {
            ceiling: self.ceiling && kind == FigureKind::Site,
            ..self.clone()
        }
    }

    /// The resolution, when a PNG of it can be drawn.
    ///
    /// # Errors
    /// When that would have no pixels, or more than [`MOST_PIXELS`].
    pub fn checked_dpi(&self) -> Result<u32> {
        let (width, height) = self.sheet.size_px(self.dpi);
        let pixels = u64::from(width) * u64::from(height);
        if pixels == 0 || pixels > MOST_PIXELS {
            return Err(Error::new(
                format!(
                    "a figure of {width} by {height} pixels, {} at {} dots per inch, cannot be drawn",
                    self.sheet.paper.name(),
                    self.dpi
                ),
                "give a --dpi near 300, or write PDF or SVG",
            ));
        }
        Ok(self.dpi)
    }
}
