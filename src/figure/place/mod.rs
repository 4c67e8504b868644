//! Where labels go: no two overlap, none leaves its panel, none hides the place that governs or a
//! vertex of the area.
//!
//! Each label has candidate positions around the thing that it names, with a cost for distance and
//! for lines and symbols under it. They are taken greedily by priority; then a label that found
//! none has up to two others move out of its way ([`settle`]). What still has no place becomes a
//! number at the feature, whose text goes to a key. Nothing is random: the
//! same labels go to the same places. Not here: what labels say.

mod candidate;
mod settle;

use rstar::RTree;
use rstar::primitives::{GeomWithData, Line};

use super::font::Font;
use super::palette;
use super::scene::{Colour, KeyEntry, Label, MarkKind, PanelName, Point, Rect};
use settle::Work;

/// Free space between two labels, and between a label and the edge of its panel, sheet units.
const APART: f64 = 3.0;

/// The width that lines of labels are wrapped to unless their label says otherwise, sheet units.
const WIDEST: f64 = 235.0;

/// A label that is wanted.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// What it names.
    pub kind: MarkKind,
    /// Its lines.
    pub lines: Vec<String>,
    /// Size of its text.
    pub size: f64,
    /// Whether the first line is bold.
    pub strong: bool,
    /// How many lines that is once it is wrapped.
    pub bold_lines: usize,
    /// Lines are wrapped to this width.
    pub widest: f64,
    /// Its text in the key; its lines when empty.
    pub in_key: String,
    /// The colour of its text.
    pub colour: Colour,
    /// Points it may be put at, best first.
    pub anchors: Vec<Point>,
    /// What each further anchor costs over the one before.
    pub anchor_cost: f64,
    /// Radius of the symbol at the anchor.
    pub clear: f64,
    /// Smaller is placed earlier.
    pub priority: u32,
    /// Whether a place for its text is looked for over the whole panel before it becomes a number.
    pub essential: bool,
}

impl Wanted {
    /// A label of one size and colour about some points.
    pub fn new(kind: MarkKind, lines: Vec<String>, anchors: Vec<Point>, priority: u32) -> Self {
        Self {
            kind,
            lines,
            size: palette::LABEL,
            strong: false,
            bold_lines: 0,
            widest: WIDEST,
            in_key: String::new(),
            colour: palette::INK,
            anchors,
            anchor_cost: 0.4,
            clear: 3.0,
            priority,
            essential: false,
        }
    }
}

/// What labels must keep off in one panel.
pub struct Ground {
    panel: PanelName,
    /// The panel: anchors lie in it.
    rect: Rect,
    /// Where labels may lie.
    bounds: Rect,
    forbidden: Vec<Rect>,
    symbols: Vec<Rect>,
    lines: Vec<Weighted>,
    chains: usize,
}

/// A piece of a chain, with the number of the chain and what a label on it costs.
type Weighted = GeomWithData<Line<[f64; 2]>, (usize, f64)>;

/// What became of the labels of a panel.
pub struct Placed {
    /// Those that have a place, numbers among them.
    pub labels: Vec<Label>,
    /// The texts of the numbers.
    pub key: Vec<KeyEntry>,
    /// How many got not even a number.
    pub left_out: usize,
}

impl Ground {
    /// An empty panel.
    pub fn new(panel: PanelName, rect: Rect) -> Self {
        Self {
            panel,
            rect,
            bounds: rect.grown(-APART),
            forbidden: Vec::new(),
            symbols: Vec::new(),
            lines: Vec::new(),
            chains: 0,
        }
    }

    /// A box that no label may touch.
    pub fn forbid(&mut self, rect: Rect) {
        self.forbidden.push(rect);
    }

    /// A symbol that labels keep off where they can.
    pub fn symbol(&mut self, rect: Rect) {
        self.symbols.push(rect);
    }

    /// A chain that labels keep off where they can; a label across it costs `weight`, and more
    /// the more of it lies under the label.
    pub fn chain(&mut self, points: &[Point], weight: f64) {
        self.chains += 1;
        let data = (self.chains, weight);
        self.lines.extend(
            points
                .iter()
                .zip(points.iter().skip(1))
                .filter(|(a, b)| a.is_finite() && b.is_finite())
                .map(|(a, b)| GeomWithData::new(Line::new([a.x, a.y], [b.x, b.y]), data)),
        );
    }

    /// Places the labels, or a number after the `used` ones for each text that has no room.
    pub fn place(mut self, mut wanted: Vec<Wanted>, font: &Font, used: usize) -> Placed {
        wanted.sort_by_key(|label| label.priority);
        let lines = RTree::bulk_load(std::mem::take(&mut self.lines));
        Work::new(&self, &lines, &wanted, font).settled(used)
    }
}
