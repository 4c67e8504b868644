//! Positions for one label: around its anchors, or anywhere in the panel with a leader line.
//!
//! Not here: which of them is taken (see [`super::settle`]).

use std::collections::BTreeMap;

use rstar::{AABB, RTree};

use super::{Ground, Wanted, Weighted};
use crate::figure::scene::{Anchor, Point, Rect};
use crate::figure::view::{clip_segment, meets};

/// A label farther than this from its symbol gets a leader line, sheet units.
const LEADER_FROM: f64 = 11.0;
/// The gaps tried between a symbol and its label, sheet units, and what each costs.
const GAPS: [(f64, f64); 9] = [
    (3.0, 0.0),
    (7.0, 0.5),
    (11.0, 1.0),
    (19.0, 2.4),
    (30.0, 3.6),
    (46.0, 5.0),
    (66.0, 6.5),
    (95.0, 8.5),
    (130.0, 11.0),
];
/// The gaps tried between a symbol and its number, sheet units, and what each costs.
const RADII: [(f64, f64); 10] = [
    (2.0, 0.0),
    (7.0, 0.6),
    (14.0, 1.6),
    (24.0, 2.6),
    (38.0, 3.8),
    (56.0, 5.2),
    (80.0, 7.0),
    (110.0, 9.0),
    (150.0, 12.0),
    (200.0, 15.0),
];
/// The directions tried for a number.
const SPOKES: u32 = 40;
/// So much of a line under a label costs as much as crossing it, sheet units.
const LONG_OVERLAP: f64 = 60.0;
/// Gaps up to this are tried for labels that are not essential, sheet units.
const FARTHEST_GAP: f64 = 46.0;
/// Closer than this to the place that governs something else, a label would seem to name it.
const STRANGER: f64 = 18.0;
/// A label that is not essential and costs more than this becomes a number.
const MOST_COST: f64 = 13.0;
/// No more positions than this are kept for one label, cheapest first.
const MOST_POSITIONS: usize = 72;
/// Steps across and down the panel at which a label is tried anywhere.
const STEPS: u32 = 40;
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

/// A position for a label.
#[derive(Clone, Copy, Debug)]
pub struct Candidate {
    pub anchor: Point,
    pub frame: Rect,
    pub text: Anchor,
    pub leader: Option<(Point, Point)>,
    pub cost: f64,
}

impl Candidate {
    /// The box of label and leader line: what is clear of it is clear of both.
    pub fn reach(&self) -> Rect {
        let Some((a, b)) = self.leader else {
            return self.frame;
        };
        let frame = self.frame;
        Rect::new(
            frame.left.min(a.x).min(b.x),
            frame.top.min(a.y).min(b.y),
            frame.right.max(a.x).max(b.x),
            frame.bottom.max(a.y).max(b.y),
        )
    }
}

/// How far a label may go, and what it may cost.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Near its anchor, where it does not cost too much.
    Near,
    /// Farther out, at any cost.
    Far,
}

/// The positions of a box of a size about the anchors of a label, cheapest first.
pub fn around(
    ground: &Ground,
    lines: &RTree<Weighted>,
    label: &Wanted,
    size: (f64, f64),
    reach: Reach,
) -> Vec<Candidate> {
    let mut found = Vec::new();
    for (rank, anchor) in label.anchors.iter().enumerate() {
        if !ground.rect.contains(*anchor) {
            continue;
        }
        for (gap, gap_cost) in GAPS {
            if gap > FARTHEST_GAP && reach == Reach::Near {
                break;
            }
            for (turn, side) in SIDES.iter().enumerate() {
                let cost = rank as f64 * label.anchor_cost + gap_cost + turn as f64 * 0.12;
                found.extend(judged(
                    ground,
                    lines,
                    beside(*anchor, *side, label.clear, gap, size, cost),
                ));
            }
        }
    }
    if reach == Reach::Near {
        found.retain(|candidate| candidate.cost <= MOST_COST);
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    found.truncate(MOST_POSITIONS);
    found
}

/// The positions of a number about the anchors of a label, cheapest first: on circles, in more
/// directions than a text, so that many numbers of one place can stand around it.
pub fn spokes(
    ground: &Ground,
    lines: &RTree<Weighted>,
    label: &Wanted,
    size: (f64, f64),
) -> Vec<Candidate> {
    let mut found = Vec::new();
    for (rank, anchor) in label.anchors.iter().enumerate() {
        if !ground.rect.contains(*anchor) {
            continue;
        }
        for (gap, gap_cost) in RADII {
            for spoke in 0..SPOKES {
                // From the upper right, clockwise.
                let angle = f64::from(spoke) / f64::from(SPOKES) * std::f64::consts::TAU
                    - std::f64::consts::FRAC_PI_4;
                let away = (angle.cos(), angle.sin());
                let reach = label.clear + gap;
                // The middle of the box, for its edge to be that far from the anchor.
                let half = (size.0 / 2.0 * away.0).hypot(size.1 / 2.0 * away.1);
                let middle = anchor.shifted(away.0 * (reach + half), away.1 * (reach + half));
                let frame = Rect::new(
                    middle.x - size.0 / 2.0,
                    middle.y - size.1 / 2.0,
                    middle.x + size.0 / 2.0,
                    middle.y + size.1 / 2.0,
                );
                let cost = rank as f64 * label.anchor_cost + gap_cost + f64::from(spoke) * 0.02;
                let candidate = Candidate {
                    anchor: *anchor,
                    frame,
                    text: Anchor::Middle,
                    leader: leader(*anchor, label.clear, &frame),
                    cost,
                };
                found.extend(judged(ground, lines, candidate));
            }
        }
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    found
}

/// The positions next to the number of another feature at the same place, so that they stand in
/// one stack with one leader line.
pub fn beside_number(
    ground: &Ground,
    lines: &RTree<Weighted>,
    other: &Candidate,
) -> Vec<Candidate> {
    let (across, down) = (
        other.frame.width() + super::APART,
        other.frame.height() + super::APART,
    );
    [(0.0, down), (0.0, -down), (across, 0.0), (-across, 0.0)]
        .into_iter()
        .filter_map(|(dx, dy)| {
            let frame = other.frame;
            let next = Candidate {
                frame: Rect::new(
                    frame.left + dx,
                    frame.top + dy,
                    frame.right + dx,
                    frame.bottom + dy,
                ),
                leader: None,
                ..*other
            };
            judged(ground, lines, next)
        })
        .collect()
}

/// Positions of a box of a size all over the panel, cheapest first.
pub fn anywhere(
    ground: &Ground,
    lines: &RTree<Weighted>,
    label: &Wanted,
    (width, height): (f64, f64),
) -> Vec<Candidate> {
    let bounds = ground.bounds;
    let mut found = Vec::new();
    let anchors = label.anchors.iter().filter(|at| ground.rect.contains(**at));
    for anchor in anchors.take(3) {
        for (i, j) in (0..STEPS).flat_map(|i| (0..STEPS).map(move |j| (i, j))) {
            let share = |step: u32| f64::from(step) / f64::from(STEPS - 1);
            let left = bounds.left + (bounds.width() - width) * share(i);
            let top = bounds.top + (bounds.height() - height) * share(j);
            let frame = Rect::new(left, top, left + width, top + height);
            let leader = leader(*anchor, label.clear, &frame);
            let length = leader.map_or(0.0, |(a, b)| a.distance(b));
            found.extend(judged(
                ground,
                lines,
                Candidate {
                    anchor: *anchor,
                    frame,
                    text: Anchor::Start,
                    leader,
                    cost: 20.0 + length / 20.0,
                },
            ));
        }
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    found
}

/// The candidate with what lies under it added to its cost; none where it may not be.
fn judged(ground: &Ground, lines: &RTree<Weighted>, candidate: Candidate) -> Option<Candidate> {
    let room = candidate.frame.grown(super::APART / 2.0);
    let is_free = ground.bounds.holds(&candidate.frame)
        && !ground.forbidden.iter().any(|rect| {
            room.overlaps(rect)
                || candidate
                    .leader
                    .is_some_and(|(a, b)| !rect.contains(candidate.anchor) && meets(a, b, rect))
        });
    is_free.then(|| Candidate {
        cost: candidate.cost + clutter(ground, lines, &candidate),
        ..candidate
    })
}

fn clutter(ground: &Ground, lines: &RTree<Weighted>, candidate: &Candidate) -> f64 {
    let room = candidate.frame.grown(1.0);
    let symbols = ground
        .symbols
        .iter()
        .filter(|rect| room.overlaps(rect))
        .count();
    let envelope = AABB::from_corners([room.left, room.top], [room.right, room.bottom]);
    let mut chains: BTreeMap<usize, f64> = BTreeMap::new();
    for piece in lines.locate_in_envelope_intersecting(&envelope) {
        let line = piece.geom();
        let [a, b] = [line.from, line.to].map(|[x, y]| Point::new(x, y));
        let (chain, weight) = piece.data;
        if let Some((a, b)) = clip_segment(a, b, &room) {
            *chains.entry(chain).or_insert(weight) += weight * a.distance(b) / LONG_OVERLAP;
        }
    }
    let under: f64 = chains.values().sum();
    let strangers = ground
        .forbidden
        .iter()
        .filter(|rect| room.grown(STRANGER).overlaps(rect) && !rect.contains(candidate.anchor))
        .count();
    symbols as f64 * 14.0 + under + strangers.min(2) as f64 * 4.5
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
