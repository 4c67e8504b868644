//! Samples of a level along a cut, with its steps and ends found to a centimetre.

use crate::answer::{LevelPoint, LevelRun, Stretch};
use crate::units::Metres;

/// How closely a step or an end is found, metres.
const STEP_FOUND_WITHIN_M: f64 = 0.01;

/// Levels that differ by less between two positions are joined without looking for a step, metres.
const LEAST_STEP_M: f64 = 0.02;

/// A point that is off the straight line between its neighbours by less is left out, metres.
const STRAIGHT_WITHIN_M: f64 = 0.001;

/// Levels along a cut.
#[derive(Debug, Default)]
pub struct Sampled {
    /// Where the level is finite.
    pub runs: Vec<LevelRun>,
    /// Where it is `−∞`: not known.
    pub unknown: Vec<Stretch>,
}

/// How a value is to be read, as in [`crate::field`].
#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Level,
    Unknown,
    Absent,
}

fn class(value: f64) -> Class {
    if value.is_finite() {
        Class::Level
    } else if value == f64::INFINITY {
        Class::Absent
    } else {
        Class::Unknown
    }
}

impl Sampled {
    /// The levels of a field (`+∞`: none here, `−∞`: not known) at ascending positions, and where
    /// between them it steps, begins or ends. An unknown stretch is never found shorter than from
    /// the last known to the next known place.
    pub fn add(&mut self, positions: &[f64], value: &dyn Fn(f64) -> f64) {
        let mut walk = Walk {
            sampled: self,
            run: Vec::new(),
            unknown_from: None,
        };
        let mut last: Option<(f64, f64)> = None;
        for &at in positions {
            let here = value(at);
            if let Some(before) = last {
                walk.between(before, (at, here), value);
            } else if class(here) == Class::Unknown {
                walk.unknown_from = Some(at);
            }
            walk.point(at, here);
            last = Some((at, here));
        }
        if let Some((at, here)) = last {
            walk.end_run();
            if class(here) == Class::Unknown {
                walk.end_unknown(at);
            }
        }
    }
}

struct Walk<'a> {
    sampled: &'a mut Sampled,
    run: LevelRun,
    unknown_from: Option<f64>,
}

impl Walk<'_> {
    fn point(&mut self, at_m: f64, level_m: f64) {
        if class(level_m) == Class::Level {
            self.run.push(LevelPoint { at_m, level_m });
        }
    }

    /// What lies between two samples that follow each other.
    fn between(&mut self, mut from: (f64, f64), to: (f64, f64), value: &dyn Fn(f64) -> f64) {
        while class(from.1) != class(to.1) {
            let (last, next) = closer(from, to, value, &|middle| class(middle) == class(from.1));
            self.point(last.0, last.1);
            match class(from.1) {
                Class::Level => self.end_run(),
                Class::Unknown => self.end_unknown(next.0),
                Class::Absent => {}
            }
            if class(next.1) == Class::Unknown {
                self.unknown_from = Some(last.0);
            }
            self.point(next.0, next.1);
            from = next;
        }
        let rise = to.1 - from.1;
        if class(to.1) != Class::Level || rise.abs() <= LEAST_STEP_M {
            return;
        }
        let (last, next) = closer(from, to, value, &|middle| {
            (middle - from.1).abs() <= (middle - to.1).abs()
        });
        // A slope has no step: what is left of the rise over a centimetre is little.
        if (next.1 - last.1).abs() > rise.abs() / 2.0 {
            self.point(last.0, last.1);
            self.point(next.0, next.1);
        }
    }

    fn end_run(&mut self) {
        let run = straightened(std::mem::take(&mut self.run));
        if !run.is_empty() {
            self.sampled.runs.push(run);
        }
    }

    fn end_unknown(&mut self, to: f64) {
        if let Some(from) = self.unknown_from.take() {
            self.sampled.unknown.push(Stretch {
                from_m: Metres::of(from),
                to_m: Metres::of(to),
            });
        }
    }
}

/// Two samples closer than [`STEP_FOUND_WITHIN_M`] between two others, the first of which still
/// `is_like_first` and the second is not.
fn closer(
    mut from: (f64, f64),
    mut to: (f64, f64),
    value: &dyn Fn(f64) -> f64,
    is_like_first: &dyn Fn(f64) -> bool,
) -> ((f64, f64), (f64, f64)) {
    while to.0 - from.0 > STEP_FOUND_WITHIN_M {
        let at = f64::midpoint(from.0, to.0);
        let middle = (at, value(at));
        if is_like_first(middle.1) {
            from = middle;
        } else {
            to = middle;
        }
    }
    (from, to)
}

/// A run without the points that lie on the straight line between those that are kept.
fn straightened(run: LevelRun) -> LevelRun {
    let mut kept: LevelRun = Vec::with_capacity(run.len());
    let mut skipped: Vec<LevelPoint> = Vec::new();
    for point in run {
        let is_straight = kept.last().is_some_and(|last| {
            skipped.iter().all(|between| {
                let share = (between.at_m - last.at_m) / (point.at_m - last.at_m);
                let level = last.level_m + share * (point.level_m - last.level_m);
                (between.level_m - level).abs() <= STRAIGHT_WITHIN_M
            })
        });
        if !is_straight {
            kept.extend(skipped.last().copied());
            skipped.clear();
        }
        if kept.is_empty() {
            kept.push(point);
        } else {
            skipped.push(point);
        }
    }
    kept.extend(skipped.last().copied());
    kept
}
