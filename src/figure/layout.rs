//! How the sheet is divided: title, site panel with its strip, side column, caution.
//!
//! Not here: what stands in the parts.

use super::scene::Rect;

/// Width of the sheet that the sizes below are meant for, sheet units.
pub const REFERENCE_WIDTH: f64 = 1600.0;
/// Its height.
pub const REFERENCE_HEIGHT: f64 = 1130.0;

const MARGIN: f64 = 26.0;
const TITLE_HEIGHT: f64 = 66.0;
const SIDE_WIDTH: f64 = 470.0;
/// Space between the site panel and the side column.
const GUTTER: f64 = 30.0;
/// Space left of and below the site panel for the labels of the graticule.
const TICK_SPACE: f64 = 17.0;
const SITE_STRIP_HEIGHT: f64 = 62.0;
const LOCATION_STRIP_HEIGHT: f64 = 34.0;
const LOCATION_HEIGHT: f64 = 400.0;
const CAUTION_HEIGHT: f64 = 42.0;

/// The parts of a sheet.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    pub title: Rect,
    pub site: Rect,
    pub site_strip: Rect,
    pub location: Rect,
    pub location_strip: Rect,
    /// Legend, data and notes, one below the other.
    pub side: Rect,
    pub caution: Rect,
}

impl Layout {
    /// The division of a sheet of this size, which is at least the reference size.
    pub fn of(width: f64, height: f64) -> Self {
        let (left, right) = (MARGIN, width - MARGIN);
        let title = Rect::new(left, 20.0, right, 20.0 + TITLE_HEIGHT);
        let caution = Rect::new(left, height - 18.0 - CAUTION_HEIGHT, right, height - 18.0);
        let top = title.bottom + 14.0;
        let bottom = caution.top - 14.0;
        let split = right - SIDE_WIDTH;
        let site = Rect::new(
            left + TICK_SPACE,
            top,
            split - GUTTER,
            bottom - SITE_STRIP_HEIGHT - TICK_SPACE - 4.0,
        );
        let location = Rect::new(split + TICK_SPACE, top, right, top + LOCATION_HEIGHT);
        let strip_top = location.bottom + TICK_SPACE + 2.0;
        let location_strip = Rect::new(
            location.left,
            strip_top,
            right,
            strip_top + LOCATION_STRIP_HEIGHT,
        );
        Self {
            title,
            site,
            site_strip: Rect::new(
                site.left,
                site.bottom + TICK_SPACE + 6.0,
                site.right,
                bottom,
            ),
            location,
            location_strip,
            side: Rect::new(split, location_strip.bottom + 10.0, right, bottom),
            caution,
        }
    }
}
