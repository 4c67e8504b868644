//! Blocks of rows in columns: title block, legend, key, data and notes, one below the other.
//!
//! Not here: what stands in them (see [`super::margin`] and [`super::legend`]).

use super::font::Font;
use super::palette as p;
use super::scene::{Anchor, Colour, Ink, MarkKind, Point, Rect, Scene, Text};

/// Height of a line of small text.
pub const LINE: f64 = 15.6;
/// Height of a heading with the space below it.
const HEADING_HEIGHT: f64 = 21.0;
/// Space between two blocks.
const BETWEEN: f64 = 13.0;

/// A row: marks below and right of its own top left corner, and its height.
#[derive(Clone, Debug, Default)]
pub struct Row {
    pub height: f64,
    pub inks: Vec<Ink>,
}

/// A block of rows under a heading.
#[derive(Clone, Debug)]
pub struct Block {
    pub heading: &'static str,
    pub kind: MarkKind,
    pub rows: Vec<Row>,
    /// What stands for its last rows where there is no room for all blocks; none when they stay.
    pub gives_way: Option<&'static str>,
    /// Whether it may go on in the next column however short it is.
    pub splits: bool,
}

impl Block {
    /// An empty block.
    pub const fn new(heading: &'static str, kind: MarkKind) -> Self {
        Self {
            heading,
            kind,
            rows: Vec::new(),
            gives_way: None,
            splits: false,
        }
    }

    /// Adds a paragraph, wrapped to a width; each line is a row.
    pub fn paragraph(&mut self, text: &str, width: f64, font: &Font) {
        for line in font.wrapped(&font.drawable(text), p::SMALL, false, width) {
            self.rows.push(Row {
                height: LINE,
                inks: vec![small(Point::new(0.0, BASELINE), line, false, p::INK)],
            });
        }
    }
}

/// How far below the top of a row the baseline of its first line is.
pub const BASELINE: f64 = 12.0;

/// A line of small text.
pub const fn small(at: Point, text: String, bold: bool, colour: Colour) -> Ink {
    Ink::Text(Text {
        at,
        text,
        size: p::SMALL,
        bold,
        colour,
        anchor: Anchor::Start,
        upwards: false,
        halo: false,
    })
}

/// What columns had room for.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// Whether for all blocks but the last, without any that gave way.
    pub holds_the_rest: bool,
    /// For how many rows of the last one.
    pub rows_of_last: usize,
}

/// Draws blocks into columns, each begun where the last ended. Where there is no room for all, the
/// last rows of those that give way do; returns what there was room for.
pub fn draw(scene: &mut Scene, columns: &[Rect], mut blocks: Vec<Block>) -> Room {
    // What gives way does so for the blocks before the last only.
    let rest = blocks.len().saturating_sub(1);
    let holds_the_rest = flow(columns, blocks.get(..rest).unwrap_or_default()).1;
    for index in 0..rest {
        let Some(instead) = blocks.get(index).and_then(|block| block.gives_way) else {
            continue;
        };
        let full = blocks
            .get(index)
            .map(|it| it.rows.clone())
            .unwrap_or_default();
        let mut kept = full.len();
        while kept > 1 && !flow(columns, blocks.get(..rest).unwrap_or_default()).1 {
            kept -= 1;
            if let Some(block) = blocks.get_mut(index) {
                block.rows = full.iter().take(kept - 1).cloned().collect();
                block.rows.push(more(instead));
            }
        }
    }
    let (places, _) = flow(columns, &blocks);
    let before: usize = blocks
        .iter()
        .rev()
        .skip(1)
        .filter(|block| !block.rows.is_empty())
        .map(|block| 1 + block.rows.len())
        .sum();
    let rows_of_last = places.len().saturating_sub(before + 1);
    let mut places = places.into_iter();
    for block in blocks.iter().filter(|block| !block.rows.is_empty()) {
        let Some(head) = places.next() else { break };
        let heading = Text {
            at: head.shifted(0.0, p::HEADING),
            text: block.heading.to_owned(),
            size: p::HEADING,
            bold: true,
            colour: p::INK,
            anchor: Anchor::Start,
            upwards: false,
            halo: false,
        };
        scene.mark(block.kind, None, Ink::Text(heading));
        for (row, at) in block.rows.iter().zip(&mut places) {
            for ink in &row.inks {
                scene.mark(block.kind, None, ink.moved(at.x, at.y));
            }
        }
    }
    Room {
        holds_the_rest,
        rows_of_last,
    }
}

/// The row that stands for those that gave way.
fn more(text: &str) -> Row {
    let at = Point::new(0.0, BASELINE);
    Row {
        height: LINE,
        inks: vec![small(at, text.to_owned(), false, p::SOFT_INK)],
    }
}

/// The place of each heading and row, in order, as far as the columns reach, and whether that is
/// all.
fn flow(columns: &[Rect], blocks: &[Block]) -> (Vec<Point>, bool) {
    let mut places = Vec::new();
    let mut rest = columns.iter();
    let Some(mut column) = rest.next() else {
        return (places, false);
    };
    let mut y = column.top;
    for block in blocks.iter().filter(|block| !block.rows.is_empty()) {
        if y > column.top {
            y += BETWEEN;
        }
        // A heading is never the last of a column, and a short block is kept together as a rule.
        let first = block.rows.first().map_or(0.0, |row| row.height);
        let all: f64 = block.rows.iter().map(|row| row.height).sum();
        let kept = if !block.splits && all <= column.height() / 2.0 {
            all
        } else {
            first
        };
        if y + HEADING_HEIGHT + kept > column.bottom
            && y > column.top
            && let Some(next) = rest.next()
        {
            (column, y) = (next, next.top);
        }
        if y + HEADING_HEIGHT + first > column.bottom {
            return (places, false);
        }
        places.push(Point::new(column.left, y));
        y += HEADING_HEIGHT;
        for row in &block.rows {
            if y + row.height > column.bottom + 1e-6 {
                let Some(next) = rest.next() else {
                    return (places, false);
                };
                (column, y) = (next, next.top);
            }
            places.push(Point::new(column.left, y));
            y += row.height;
        }
    }
    (places, true)
}
