//! Where labels go: no two overlap, none leaves its panel, none hides the place that governs.
//!
//! Greedy by priority over candidate positions around the thing named, nearest first, with a cost
//! for lines and symbols under the text. What does not fit is left out and counted. Not here: what
//! labels say.

use std::collections::BTreeMap;

use rstar::primitives::{GeomWithData, Line};
use rstar::{AABB, RTree};

use super::font::Font;
use super::palette;
use super::scene::{Anchor, Colour, Label, MarkKind, PanelName, Point, Rect, Text};
use super::view::{clip_segment, meets};

/// Height of a line of a label over its size.
const LINE_HEIGHT: f64 = 1.22;
/// Free space between two labels, and between a label and the edge of its panel, sheet units.
const APART: f64 = 3.0;
/// A label farther than this from its symbol gets a leader line, sheet units.
const LEADER_FROM: f64 = 11.0;
/// The gaps tried between a symbol and its label, sheet units.
const GAPS: [f64; 9] = [3.0, 7.0, 11.0, 19.0, 30.0, 46.0, 66.0, 95.0, 130.0];
/// What each of those gaps costs.
const GAP_COSTS: [f64; 9] = [0.0, 0.5, 1.0, 2.4, 3.6, 5.0, 6.5, 8.5, 11.0];
/// So much of a line under a label costs as much as crossing it, sheet units.
const LONG_OVERLAP: f64 = 60.0;
/// Gaps up to this are tried for labels that are not essential, sheet units.
const FARTHEST_GAP: f64 = 46.0;
/// Closer than this to the place that governs something else, a label would seem to name it.
const STRANGER: f64 = 18.0;
/// A label that is not essential and costs more than this is left out.
const MOST_COST: f64 = 13.0;
/// The sides tried, best first: right and above, then around.
const SIDES: [(f64, f64); 12] = [
    (1.0, -1.0),
    (1.0, 0.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (-1.0, 0.0),
    (-1.0, 1.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, -2.2),
    (1.0, 2.2),
    (-1.0, -2.2),
    (-1.0, 2.2),
];

/// A label that is wanted.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// What it names.
    pub kind: MarkKind,
    /// Its lines; the first is bold when `strong`.
    pub lines: Vec<String>,
    /// Size of its text.
    pub size: f64,
    /// Whether the first line is bold.
    pub strong: bool,
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
    /// Whether a place is looked for over the whole panel before it is left out.
    pub essential: bool,
}

/// What labels must keep off in one panel.
pub struct Ground {
    panel: PanelName,
    bounds: Rect,
    forbidden: Vec<Rect>,
    symbols: Vec<Rect>,
    lines: Vec<Weighted>,
    chains: usize,
}

/// A piece of a chain, with the number of the chain and what a label on it costs.
type Weighted = GeomWithData<Line<[f64; 2]>, (usize, f64)>;

impl Ground {
    /// An empty panel.
    pub fn new(panel: PanelName, bounds: Rect) -> Self {
        Self {
            panel,
            bounds: bounds.grown(-APART),
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

    /// A chain that labels keep off where they can; a label across it costs `weight`, and as much
    /// again for each [`LONG_OVERLAP`] of it under the label.
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

    /// Places what fits; returns the labels and how many were left out.
    pub fn place(self, mut wanted: Vec<Wanted>, font: &Font) -> (Vec<Label>, usize) {
        wanted.sort_by_key(|label| label.priority);
        let mut work = Work {
            lines: RTree::bulk_load(self.lines.clone()),
            ground: self,
            placed: Vec::new(),
        };
        let mut left_out = 0;
        for label in wanted {
            match work.best(&label, font) {
                Some(placed) => work.placed.push(placed),
                None => left_out += 1,
            }
        }
        (work.placed, left_out)
    }
}

struct Work {
    ground: Ground,
    lines: RTree<Weighted>,
    placed: Vec<Label>,
}

#[derive(Clone, Copy)]
struct Candidate {
    anchor: Point,
    frame: Rect,
    text: Anchor,
    leader: Option<(Point, Point)>,
    cost: f64,
}

impl Work {
    fn best(&self, label: &Wanted, font: &Font) -> Option<Label> {
        let width = label
            .lines
            .iter()
            .enumerate()
            .map(|(index, line)| font.width(line, label.size, label.strong && index == 0))
            .fold(0.0, f64::max)
            + 2.0;
        let height = label.size * LINE_HEIGHT * label.lines.len() as f64 + 2.0;
        let most = if label.essential {
            f64::INFINITY
        } else {
            MOST_COST
        };
        let mut best: Option<Candidate> = None;
        let consider = |candidate: Candidate, best: &mut Option<Candidate>| {
            let bar = best.map_or(most, |b| b.cost);
            if candidate.cost < bar && self.is_free(&candidate) {
                let cost = candidate.cost + self.clutter(&candidate);
                if cost < bar {
                    *best = Some(Candidate { cost, ..candidate });
                }
            }
        };
        for (rank, anchor) in label.anchors.iter().enumerate() {
            if !self.ground.bounds.contains(*anchor) {
                continue;
            }
            for (gap, gap_cost) in GAPS.iter().zip(GAP_COSTS) {
                if *gap > FARTHEST_GAP && !label.essential {
                    continue;
                }
                for (turn, side) in SIDES.iter().enumerate() {
                    let base = rank as f64 * label.anchor_cost + gap_cost + turn as f64 * 0.12;
                    let candidate =
                        beside(*anchor, *side, label.clear, *gap, (width, height), base);
                    consider(candidate, &mut best);
                }
            }
        }
        if best.is_none() && label.essential {
            for anchor in &label.anchors {
                for candidate in self.anywhere(*anchor, label.clear, (width, height)) {
                    consider(candidate, &mut best);
                }
            }
        }
        best.map(|candidate| self.label(label, &candidate))
    }

    /// Positions all over the panel, for a label that must not be lost.
    fn anywhere(
        &self,
        anchor: Point,
        clear: f64,
        (width, height): (f64, f64),
    ) -> impl Iterator<Item = Candidate> + '_ {
        let bounds = self.ground.bounds;
        let across =
            (0..40).map(move |i| bounds.left + (bounds.width() - width) * f64::from(i) / 39.0);
        across.flat_map(move |left| {
            (0..40).map(move |j| {
                let top = bounds.top + (bounds.height() - height) * f64::from(j) / 39.0;
                let frame = Rect::new(left, top, left + width, top + height);
                let leader = leader(anchor, clear, &frame);
                let length = leader.map_or(0.0, |(a, b)| a.distance(b));
                Candidate {
                    anchor,
                    frame,
                    text: Anchor::Start,
                    leader,
                    cost: 20.0 + length / 20.0,
                }
            })
        })
    }

    fn is_free(&self, candidate: &Candidate) -> bool {
        let room = candidate.frame.grown(APART / 2.0);
        let crosses = |label: &Label| {
            let other = label.frame.grown(APART / 2.0);
            room.overlaps(&other)
                || label.leader.is_some_and(|(a, b)| meets(a, b, &room))
                || candidate.leader.is_some_and(|(a, b)| meets(a, b, &other))
        };
        self.ground.bounds.holds(&candidate.frame)
            && !self.ground.forbidden.iter().any(|rect| {
                room.overlaps(rect)
                    || candidate
                        .leader
                        .is_some_and(|(a, b)| !rect.contains(a) && meets(a, b, rect))
            })
            && !self.placed.iter().any(crosses)
    }

    fn clutter(&self, candidate: &Candidate) -> f64 {
        let room = candidate.frame.grown(1.0);
        let symbols = self
            .ground
            .symbols
            .iter()
            .filter(|rect| room.overlaps(rect))
            .count();
        let envelope = AABB::from_corners([room.left, room.top], [room.right, room.bottom]);
        let mut chains: BTreeMap<usize, f64> = BTreeMap::new();
        for piece in self.lines.locate_in_envelope_intersecting(&envelope) {
            let line = piece.geom();
            let [a, b] = [line.from, line.to].map(|[x, y]| Point::new(x, y));
            let (chain, weight) = piece.data;
            if let Some((a, b)) = clip_segment(a, b, &room) {
                *chains.entry(chain).or_insert(weight) += weight * a.distance(b) / LONG_OVERLAP;
            }
        }
        let lines: f64 = chains.values().sum();
        let strangers = self
            .ground
            .forbidden
            .iter()
            .filter(|rect| room.grown(STRANGER).overlaps(rect) && !rect.contains(candidate.anchor))
            .count();
        let leaders = candidate.leader.map_or(0, |(a, b)| {
            self.placed
                .iter()
                .filter_map(|label| label.leader)
                .filter(|(c, d)| cross(a, b, *c, *d))
                .count()
        });
        symbols as f64 * 14.0 + lines + leaders as f64 * 6.0 + strangers as f64 * 9.0
    }

    fn label(&self, wanted: &Wanted, candidate: &Candidate) -> Label {
        let frame = candidate.frame;
        let x = match candidate.text {
            Anchor::Start => frame.left + 1.0,
            Anchor::Middle => frame.middle().x,
            Anchor::End => frame.right - 1.0,
        };
        let lines = wanted
            .lines
            .iter()
            .enumerate()
            .map(|(index, line)| Text {
                at: Point::new(
                    x,
                    frame.top + 1.0 + wanted.size * (LINE_HEIGHT * index as f64 + 0.95),
                ),
                text: line.clone(),
                size: wanted.size,
                bold: wanted.strong && index == 0,
                colour: wanted.colour,
                anchor: candidate.text,
                upwards: false,
                halo: true,
            })
            .collect();
        Label {
            panel: self.ground.panel,
            kind: wanted.kind,
            lines,
            frame,
            leader: candidate.leader,
        }
    }
}

/// The label on one side of its anchor; the gap is between the symbol and the box.
fn beside(
    anchor: Point,
    (right, down): (f64, f64),
    clear: f64,
    gap: f64,
    (width, height): (f64, f64),
    cost: f64,
) -> Candidate {
    let reach = clear + gap;
    let reach = if right != 0.0 && down != 0.0 {
        reach * 0.75
    } else {
        reach
    };
    let (left, text) = if right > 0.0 {
        (anchor.x + reach, Anchor::Start)
    } else if right < 0.0 {
        (anchor.x - reach - width, Anchor::End)
    } else {
        (anchor.x - width / 2.0, Anchor::Middle)
    };
    let top = if down > 0.0 {
        anchor.y + reach * down
    } else if down < 0.0 {
        anchor.y + reach * down - height
    } else {
        anchor.y - height / 2.0
    };
    let frame = Rect::new(left, top, left + width, top + height);
    Candidate {
        anchor,
        frame,
        text,
        leader: leader(anchor, clear, &frame),
        cost,
    }
}

fn leader(anchor: Point, clear: f64, frame: &Rect) -> Option<(Point, Point)> {
    let to = frame.nearest(anchor);
    let length = anchor.distance(to);
    (length - clear > LEADER_FROM).then(|| {
        let share = clear / length;
        let from = Point::new(
            anchor.x + (to.x - anchor.x) * share,
            anchor.y + (to.y - anchor.y) * share,
        );
        (from, to)
    })
}

/// Whether two segments cross.
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    (side(a, b, c) > 0.0) != (side(a, b, d) > 0.0) && (side(c, d, a) > 0.0) != (side(c, d, b) > 0.0)
}

impl Wanted {
    /// A label of one size and colour about some points.
    pub fn new(kind: MarkKind, lines: Vec<String>, anchors: Vec<Point>, priority: u32) -> Self {
        Self {
            kind,
            lines,
            size: 12.0,
            strong: false,
            colour: palette::INK,
            anchors,
            anchor_cost: 0.4,
            clear: 3.0,
            priority,
            essential: false,
        }
    }
}
