//! Which position each label takes: greedy by priority, repaired, and numbers for the rest.
//!
//! Not here: the positions and their costs (see [`super::candidate`]).

use std::collections::{BTreeMap, VecDeque};

use rstar::RTree;

use super::candidate::{Candidate, Reach, anywhere, around, beside_number, spokes};
use super::{APART, Ground, Placed, Wanted, Weighted};
use crate::figure::font::Font;
use crate::figure::palette as p;
use crate::figure::scene::{Anchor, KeyEntry, Label, Point, Text};
use crate::figure::view::meets;

/// Height of a line of a label over its size.
const LINE_HEIGHT: f64 = 1.22;
/// So many others may be moved for one label.
const MOST_MOVED: usize = 2;
/// How often the labels without a place are gone through.
const ROUNDS: usize = 2;
/// Labels beyond this many become numbers without a search.
const MOST_SEARCHED: usize = 400;
/// Features closer together than this are at one place, sheet units.
const SAME_PLACE: f64 = 1.5;
/// Space between a number and its frame, sheet units.
const AROUND_NUMBER: f64 = 3.0;

/// A label and where it is.
struct Job<'a> {
    wanted: &'a Wanted,
    candidates: Vec<Candidate>,
    at: Option<Candidate>,
    is_number: bool,
}

/// The labels of a panel at work.
pub struct Work<'a> {
    ground: &'a Ground,
    lines: &'a RTree<Weighted>,
    font: &'a Font,
    jobs: Vec<Job<'a>>,
}

impl<'a> Work<'a> {
    /// The labels, most important first, each with its positions.
    pub fn new(
        ground: &'a Ground,
        lines: &'a RTree<Weighted>,
        wanted: &'a [Wanted],
        font: &'a Font,
    ) -> Self {
        let jobs = wanted
            .iter()
            .enumerate()
            .map(|(rank, label)| {
                let reach = if label.essential {
                    Reach::Far
                } else {
                    Reach::Near
                };
                let candidates = if rank < MOST_SEARCHED {
                    around(ground, lines, label, size(label, font), reach)
                } else {
                    Vec::new()
                };
                Job {
                    wanted: label,
                    candidates,
                    at: None,
                    is_number: false,
                }
            })
            .collect();
        Self {
            ground,
            lines,
            font,
            jobs,
        }
    }

    /// Gives every label a place, or a number after those in use.
    pub fn settled(mut self, used: usize) -> Placed {
        for job in 0..self.jobs.len() {
            let found = self.first_free(job, &[]).or_else(|| self.far_off(job));
            self.put(job, found);
        }
        for _ in 0..ROUNDS {
            for job in 0..self.jobs.len() {
                if self.jobs.get(job).is_some_and(|it| it.at.is_none()) {
                    self.make_room(job);
                }
            }
        }
        for job in 0..self.jobs.len() {
            self.improve(job);
        }
        let left_out = self.number_the_rest(used);
        self.finish(used, left_out)
    }

    fn put(&mut self, job: usize, at: Option<Candidate>) {
        if let Some(job) = self.jobs.get_mut(job) {
            job.at = at;
        }
    }

    /// The labels that a position is in conflict with.
    fn conflicts(&self, candidate: &Candidate, apart_from: &[usize], clash: Clash) -> Vec<usize> {
        self.jobs
            .iter()
            .enumerate()
            .filter(|(index, _)| !apart_from.contains(index))
            .filter(|(_, job)| job.at.is_some_and(|at| clash.is_between(candidate, &at)))
            .map(|(index, _)| index)
            .collect()
    }

    fn is_free(&self, candidate: &Candidate, apart_from: &[usize], clash: Clash) -> bool {
        !self.jobs.iter().enumerate().any(|(index, job)| {
            job.at.is_some_and(|at| clash.is_between(candidate, &at))
                && !apart_from.contains(&index)
        })
    }

    fn first_free(&self, job: usize, apart_from: &[usize]) -> Option<Candidate> {
        let candidates = &self.jobs.get(job)?.candidates;
        candidates
            .iter()
            .find(|it| self.is_free(it, apart_from, Clash::Any))
            .copied()
    }

    /// A free place anywhere, for a label that must be read.
    fn far_off(&self, job: usize) -> Option<Candidate> {
        let label = self.jobs.get(job)?.wanted;
        if !label.essential {
            return None;
        }
        anywhere(self.ground, self.lines, label, size(label, self.font))
            .into_iter()
            .find(|it| self.is_free(it, &[], Clash::Any))
    }

    /// Moves up to [`MOST_MOVED`] others to free places of theirs, so that a label has one.
    fn make_room(&mut self, job: usize) {
        let candidates = self
            .jobs
            .get(job)
            .map(|it| it.candidates.clone())
            .unwrap_or_default();
        for candidate in candidates {
            let in_the_way = self.conflicts(&candidate, &[], Clash::Any);
            if in_the_way.len() > MOST_MOVED {
                continue;
            }
            let before: Vec<_> = in_the_way
                .iter()
                .map(|other| self.jobs.get(*other).and_then(|it| it.at))
                .collect();
            for other in &in_the_way {
                self.put(*other, None);
            }
            self.put(job, Some(candidate));
            let moved = in_the_way.iter().all(|other| {
                let found = self.first_free(*other, &[*other]);
                self.put(*other, found);
                found.is_some()
            });
            if moved {
                return;
            }
            for (other, at) in in_the_way.iter().zip(before) {
                self.put(*other, at);
            }
            self.put(job, None);
        }
    }

    /// Moves a label to a cheaper place that has become free.
    fn improve(&mut self, job: usize) {
        let Some(now) = self.jobs.get(job).and_then(|it| it.at) else {
            return;
        };
        if let Some(better) = self.first_free(job, &[job])
            && better.cost < now.cost
        {
            self.put(job, Some(better));
        }
    }

    /// Gives numbers to the labels without a place; other labels that are in the way of a number
    /// become numbers too. Returns how many found no room even for a number.
    fn number_the_rest(&mut self, used: usize) -> usize {
        let digits = (used + self.jobs.len()).to_string().len();
        let width = self.font.width(&"0".repeat(digits), p::SMALL, true) + 2.0 * AROUND_NUMBER;
        let size = (width, p::SMALL + 2.0 * AROUND_NUMBER);
        let mut open: VecDeque<usize> = self
            .jobs
            .iter()
            .enumerate()
            .filter(|(_, job)| job.at.is_none())
            .map(|(index, _)| index)
            .collect();
        let mut left_out = 0;
        while let Some(job) = open.pop_front() {
            let Some(label) = self.jobs.get_mut(job) else {
                continue;
            };
            label.is_number = true;
            let wanted = label.wanted;
            let near = spokes(self.ground, self.lines, wanted, size);
            let free = |candidates: &[Candidate], clash: Clash| {
                let mut candidates = candidates.iter();
                let found = candidates.find(|it| self.is_free(it, &[], clash));
                found.map(|it| (*it, Vec::new()))
            };
            let place = self
                .in_a_stack(wanted)
                .map(|it| (it, Vec::new()))
                .or_else(|| self.for_number(&near))
                .or_else(|| free(&near, Clash::UnlessLeadersCross))
                .or_else(|| {
                    let far = anywhere(self.ground, self.lines, wanted, size);
                    self.for_number(&far)
                        .or_else(|| free(&near, Clash::OfBoxes))
                        .or_else(|| free(&far, Clash::OfBoxes))
                });
            let Some((place, out)) = place else {
                left_out += 1;
                continue;
            };
            for other in &out {
                self.put(*other, None);
            }
            open.extend(out);
            self.put(job, Some(place));
        }
        left_out
    }

    /// A free position beside the number of another feature at the same place.
    fn in_a_stack(&self, wanted: &Wanted) -> Option<Candidate> {
        let same_place = |at: &Candidate| {
            let anchors = wanted.anchors.iter();
            anchors
                .take(1)
                .any(|it| it.distance(at.anchor) < SAME_PLACE)
        };
        self.jobs
            .iter()
            .filter(|job| job.is_number)
            .filter_map(|job| job.at)
            .filter(same_place)
            .flat_map(|at| beside_number(self.ground, self.lines, &at))
            .find(|it| self.is_free(it, &[], Clash::Any))
    }

    /// The first free position for a number, or else the one that puts the fewest and least
    /// important labels out, with those.
    fn for_number(&self, candidates: &[Candidate]) -> Option<(Candidate, Vec<usize>)> {
        let mut best: Option<(Candidate, Vec<usize>)> = None;
        for candidate in candidates {
            let out = self.conflicts(candidate, &[], Clash::Any);
            if out.is_empty() {
                return Some((*candidate, out));
            }
            let may_go = out.iter().all(|other| {
                self.jobs
                    .get(*other)
                    .is_some_and(|job| !job.is_number && !job.wanted.essential)
            });
            let rank = |out: &[usize]| (out.len(), std::cmp::Reverse(out.iter().min().copied()));
            if may_go
                && best
                    .as_ref()
                    .is_none_or(|(_, known)| rank(&out) < rank(known))
            {
                best = Some((*candidate, out));
            }
        }
        best
    }

    /// The labels as they are drawn; numbers run from the top left of the panel, row by row, and
    /// equal texts share one.
    fn finish(self, used: usize, left_out: usize) -> Placed {
        let bounds = self.ground.bounds;
        let row = |at: Point| ((at.y - bounds.top) / bounds.height() * 8.0).floor() as i64;
        let mut numbered: Vec<(Point, String)> = self
            .jobs
            .iter()
            .filter(|job| job.is_number)
            .filter_map(|job| Some((job.at?.anchor, job.wanted.in_key.clone())))
            .collect();
        numbered.sort_by(|(a, _), (b, _)| row(*a).cmp(&row(*b)).then(a.x.total_cmp(&b.x)));
        let mut number_of: BTreeMap<String, usize> = BTreeMap::new();
        let mut key = Vec::new();
        for (_, text) in numbered {
            let next = used + key.len() + 1;
            number_of.entry(text.clone()).or_insert_with(|| {
                key.push(KeyEntry { number: next, text });
                next
            });
        }
        let labels = self
            .jobs
            .iter()
            .filter_map(|job| {
                let at = job.at?;
                let number = if job.is_number {
                    Some(*number_of.get(&job.wanted.in_key)?)
                } else {
                    None
                };
                Some(self.label(job.wanted, &at, number))
            })
            .collect();
        Placed {
            labels,
            key,
            left_out,
        }
    }

    fn label(&self, wanted: &Wanted, candidate: &Candidate, number: Option<usize>) -> Label {
        let frame = candidate.frame;
        let lines = if let Some(number) = number {
            vec![Text {
                at: Point::new(frame.middle().x, frame.middle().y + p::SMALL * 0.36),
                text: number.to_string(),
                size: p::SMALL,
                bold: true,
                colour: wanted.colour,
                anchor: Anchor::Middle,
                upwards: false,
                halo: false,
            }]
        } else {
            let x = match candidate.text {
                Anchor::Start => frame.left + 1.0,
                Anchor::Middle => frame.middle().x,
                Anchor::End => frame.right - 1.0,
            };
            let line = |(index, line): (usize, &String)| Text {
                at: Point::new(
                    x,
                    frame.top + 1.0 + wanted.size * (LINE_HEIGHT * index as f64 + 0.95),
                ),
                text: line.clone(),
                size: wanted.size,
                bold: index < wanted.bold_lines,
                colour: wanted.colour,
                anchor: candidate.text,
                upwards: false,
                halo: true,
            };
            wanted.lines.iter().enumerate().map(line).collect()
        };
        Label {
            panel: self.ground.panel,
            kind: wanted.kind,
            lines,
            frame,
            leader: candidate.leader,
            number,
            on_hatch: false,
        }
    }
}

/// The size of the box of a label.
fn size(label: &Wanted, font: &Font) -> (f64, f64) {
    let width = label
        .lines
        .iter()
        .enumerate()
        .map(|(index, line)| font.width(line, label.size, index < label.bold_lines))
        .fold(0.0, f64::max);
    let height = label.size * LINE_HEIGHT * label.lines.len() as f64;
    (width + 2.0, height + 2.0)
}

/// When two labels cannot both be where they are.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Clash {
    /// Boxes overlap, a leader line runs through the other box, or the leader lines cross.
    Any,
    /// As [`Clash::Any`], but leader lines may cross: for numbers that have no other place.
    UnlessLeadersCross,
    /// Boxes overlap: for numbers that have no other place still; a box hides a line below it.
    OfBoxes,
}

impl Clash {
    fn is_between(self, one: &Candidate, other: &Candidate) -> bool {
        if !one.reach().grown(APART).overlaps(&other.reach()) {
            return false;
        }
        let room = one.frame.grown(APART / 2.0);
        let other_room = other.frame.grown(APART / 2.0);
        let runs_through = || {
            other.leader.is_some_and(|(a, b)| meets(a, b, &room))
                || one.leader.is_some_and(|(a, b)| meets(a, b, &other_room))
        };
        let lines_cross = || {
            one.leader
                .zip(other.leader)
                .is_some_and(|((a, b), (c, d))| cross(a, b, c, d))
        };
        room.overlaps(&other_room)
            || (self != Self::OfBoxes && runs_through())
            || (self == Self::Any && lines_cross())
    }
}

/// Whether two segments cross.
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    (side(a, b, c) > 0.0) != (side(a, b, d) > 0.0) && (side(c, d, a) > 0.0) != (side(c, d, b) > 0.0)
}
