//! A background picture in a local plane, and the part of the plane that is asked for.
//!
//! What its file has no data for, and what it does not reach, is transparent. Not here: reading it
//! (see `crate::read::geotiff`), how faint it is drawn, and what is drawn on it (see
//! [`crate::figure`]).

use crate::frame::{LocalFrame, Xy};

/// A part of a local plane, in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BackgroundWindow {
    /// The plane.
    pub frame: LocalFrame,
    /// Its south-western corner, metres.
    pub low: Xy,
    /// Its north-eastern corner, metres.
    pub high: Xy,
    /// Columns.
    pub width_px: u32,
    /// Rows.
    pub height_px: u32,
}

/// A picture of a part of a local plane, north up.
#[derive(Clone, Debug, PartialEq)]
pub struct Background {
    /// Its south-western corner, metres.
    pub low: Xy,
    /// Its north-eastern corner, metres.
    pub high: Xy,
    /// Columns.
    pub width_px: u32,
    /// Rows.
    pub height_px: u32,
    /// Red, green, blue and opacity (0 or 255) of each pixel, row by row from the north.
    pub rgba: Vec<u8>,
    /// The name of its file.
    pub file: String,
    /// The copyright that the file states.
    pub credit: Option<String>,
    /// The values of a 16-bit file that became 0 and 255, those between in proportion.
    pub stretch: Option<(u16, u16)>,
}

impl Background {
    /// Whether any of it is not transparent.
    #[must_use]
    pub fn reaches(&self) -> bool {
        self.rgba.chunks_exact(4).any(|it| it.last() != Some(&0))
    }
}
