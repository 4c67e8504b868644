//! How a sheet is divided: head, panel with its strip, columns of blocks, caution.
//!
//! On a landscape sheet one column of blocks stands right of the panel; on a portrait sheet two
//! stand below it; an inset takes the foot of a column. Where a long key needs it, columns below the panel take a share of its height.
//! Not here: what stands in the parts.

use super::scene::Rect;
use crate::sheet::{Orientation, Paper, Sheet};

/// Blank edge of the paper, units; printers need some of it.
const MARGIN: f64 = 40.0;
const HEAD_HEIGHT: f64 = 60.0;
/// Space between two parts.
const GUTTER: f64 = 22.0;
/// Space left of and below the panel for the labels of its graticule.
const TICK_SPACE: f64 = 20.0;
/// Height of scale bars and north arrow.
const STRIP_HEIGHT: f64 = 66.0;
const CAUTION_HEIGHT: f64 = 48.0;
/// Height of the columns below the panel of a portrait sheet, of its height.
const PORTRAIT_BLOCKS: f64 = 0.3;

/// Height of an inset with its heading and the labels of its graticule.
const INSET_HEIGHT: f64 = 210.0;

/// Columns below the panel are no narrower than this.
const NARROWEST: f64 = 300.0;

/// The parts of a sheet.
#[derive(Clone, Debug)]
pub struct Layout {
    /// Title on the left, what the figure says on the right.
    pub head: Rect,
    /// The map or the section.
    pub panel: Rect,
    /// Scale bars and north arrow.
    pub strip: Rect,
    /// Title block, legend, data, notes and key, one below the other, column by column.
    pub columns: Vec<Rect>,
    /// The caution.
    pub caution: Rect,
    /// A small map with its heading and the labels of its graticule, if there is one.
    pub inset: Option<Rect>,
}

impl Layout {
    /// The division of a sheet; `share` of the height of its body is taken from the panel for more
    /// columns.
    pub fn of(sheet: Sheet, share: f64) -> Self {
        let (width, height) = sheet.size_units();
        let (left, right) = (MARGIN, width - MARGIN);
        let head = Rect::new(left, MARGIN, right, MARGIN + HEAD_HEIGHT);
        let caution = Rect::new(
            left,
            height - MARGIN - CAUTION_HEIGHT,
            right,
            height - MARGIN,
        );
        let (top, bottom) = (head.bottom + 16.0, caution.top - 14.0);
        let (body, columns) = match sheet.orientation {
            Orientation::Landscape => {
                let column = match sheet.paper {
                    Paper::A3 => 430.0,
                    Paper::A4 | Paper::Letter => 365.0,
                };
                let split = right - column;
                let body = Rect::new(left, top, split - GUTTER, bottom);
                let below = bottom - share * (bottom - top);
                let mut columns = vec![Rect::new(split, top, right, bottom)];
                if share > 0.0 {
                    let part = Rect::new(left, below, body.right, bottom);
                    columns.extend(beside_one_another(part));
                }
                let end = if share > 0.0 { below - GUTTER } else { bottom };
                (
                    Rect {
                        bottom: end,
                        ..body
                    },
                    columns,
                )
            }
            Orientation::Portrait => {
                let split = bottom - height * PORTRAIT_BLOCKS - share * (bottom - top);
                let below = Rect::new(left, split, right, bottom);
                (
                    Rect::new(left, top, right, split - GUTTER),
                    if share > 0.0 {
                        beside_one_another(below)
                    } else {
                        columns(below, 2.0)
                    },
                )
            }
        };
        let strip = Rect::new(
            body.left + TICK_SPACE,
            body.bottom - STRIP_HEIGHT,
            body.right,
            body.bottom,
        );
        let panel = Rect::new(
            body.left + TICK_SPACE,
            body.top,
            body.right,
            strip.top - TICK_SPACE - 6.0,
        );
        Self {
            head,
            panel,
            strip,
            columns,
            caution,
            inset: None,
        }
    }

    /// The same with room for an inset, at the foot of a column: it hides nothing of the map.
    pub fn with_inset(mut self, sheet: Sheet) -> Self {
        let column = match sheet.orientation {
            Orientation::Landscape => self.columns.first_mut(),
            Orientation::Portrait => self.columns.last_mut(),
        };
        if let Some(column) = column {
            let top = column.bottom - INSET_HEIGHT;
            self.inset = Some(Rect { top, ..*column });
            column.bottom = top - GUTTER;
        }
        self
    }
}

/// The columns of a sheet with nothing but a key.
pub fn key_columns(sheet: Sheet) -> Vec<Rect> {
    let layout = Layout::of(sheet, 0.0);
    let (head, caution) = (layout.head, layout.caution);
    beside_one_another(Rect::new(
        head.left,
        layout.panel.top,
        head.right,
        caution.top - 14.0,
    ))
}

/// A part of the sheet in columns of at least [`NARROWEST`].
fn beside_one_another(part: Rect) -> Vec<Rect> {
    let count = ((part.width() + GUTTER) / (NARROWEST + GUTTER)).floor();
    columns(part, count.max(1.0))
}

/// A part of the sheet in so many columns.
fn columns(part: Rect, count: f64) -> Vec<Rect> {
    let step = (part.width() + GUTTER) / count;
    (0..count as u32)
        .map(|index| {
            let left = part.left + f64::from(index) * step;
            Rect::new(left, part.top, left + step - GUTTER, part.bottom)
        })
        .collect()
}
