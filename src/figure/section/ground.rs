//! The ground of a section, the operating area over it, and what is undetermined.

use super::plot::Plot;
use super::words;
use crate::answer::{LevelPoint, SectionAnswer, SectionDatum, StationAnswer, Stretch};
use crate::figure::palette as p;
use crate::figure::panel::Canvas;
use crate::figure::place::Wanted;
use crate::figure::scene::{Dash, Ink, MarkKind, Pen, Point};

/// The accuracy of the ground is drawn from this width on, units.
const LEAST_BAND: f64 = 3.0;

/// The ground, hatched below.
pub fn add(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let is_assumed = section.datum == SectionDatum::AssumedFlatGround;
    for run in known(section) {
        let line: Vec<Point> = run.iter().map(|it| plot.at(it.at_m, it.level_m)).collect();
        let (Some(first), Some(last)) = (line.first(), line.last()) else {
            continue;
        };
        let foot = plot.rect.bottom + 1.0;
        let mut ring = line.clone();
        ring.push(Point::new(last.x, foot));
        ring.push(Point::new(first.x, foot));
        let tint = if is_assumed { p::PAPER } else { p::GROUND_TINT };
        canvas.ink(MarkKind::Ground, Ink::Fill(vec![ring.clone()], tint, 1.0));
        let apart = if is_assumed { 16.0 } else { 8.0 };
        canvas.hatch(MarkKind::Ground, &[ring], 45.0, apart, p::GROUND_HATCH);
        let accuracy = section.ground_accuracy_m.m();
        if accuracy / plot.metres_up(1.0) >= LEAST_BAND {
            for off in [-accuracy, accuracy] {
                let edge: Vec<Point> = run
                    .iter()
                    .map(|it| plot.at(it.at_m, it.level_m + off))
                    .collect();
                canvas.ink(MarkKind::Ground, Ink::Line(edge, p::GROUND_ACCURACY_PEN));
            }
        }
        let pen = if is_assumed {
            Pen::dashed(p::GROUND, 2.6, Dash::Long)
        } else {
            p::GROUND_PEN
        };
        canvas.lines(MarkKind::Ground, &[line], pen);
    }
    if is_assumed {
        let at = [0.5, 0.3, 0.7].map(|share| {
            let at = plot.at(section.length_m.m() * share, 0.0);
            at.shifted(0.0, 20.0)
        });
        let words = vec!["flat ground ASSUMED: no elevation is known".to_owned()];
        let mut label = Wanted::new(MarkKind::Ground, words, at.to_vec(), 5);
        label.colour = p::GROUND;
        label.clear = 0.0;
        label.essential = true;
        canvas.want(label);
    }
    for gap in &section.ground_unknown {
        unknown(canvas, plot, gap);
    }
}

/// The ground between its gaps, as levels half way between its bounds.
fn known(section: &SectionAnswer) -> Vec<Vec<LevelPoint>> {
    let is_unknown = |from: f64, to: f64| {
        section
            .ground_unknown
            .iter()
            .any(|gap| gap.from_m.m() < to && gap.to_m.m() > from)
    };
    let level = |station: &StationAnswer| {
        let (low, high) = (station.ground_low_m?, station.ground_high_m?);
        Some(LevelPoint {
            at_m: station.at_m.m(),
            level_m: f64::midpoint(low, high),
        })
    };
    let mut runs: Vec<Vec<LevelPoint>> = Vec::new();
    let mut run: Vec<LevelPoint> = Vec::new();
    for station in &section.stations {
        let at = station.at_m.m();
        let is_cut_off = run.last().is_some_and(|last| is_unknown(last.at_m, at));
        let here = level(station);
        if is_cut_off || here.is_none() {
            runs.push(std::mem::take(&mut run));
        }
        run.extend(here);
    }
    runs.push(run);
    runs.retain(|run| run.len() > 1);
    runs
}

/// A stretch where the ground is not known: bounded, and nothing drawn in between.
fn unknown(canvas: &mut Canvas, plot: &Plot, gap: &Stretch) {
    let (from, to) = (plot.at(gap.from_m.m(), 0.0).x, plot.at(gap.to_m.m(), 0.0).x);
    let (top, foot) = (plot.rect.bottom - 46.0, plot.rect.bottom);
    for x in [from, to] {
        let edge = vec![Point::new(x, top), Point::new(x, foot)];
        canvas.ink(
            MarkKind::GroundUnknown,
            Ink::Line(edge, p::GROUND_UNKNOWN_PEN),
        );
    }
    let (from, to) = (from.max(plot.rect.left), to.min(plot.rect.right));
    let middle = Point::new(f64::midpoint(from, to), top + 23.0);
    let across = vec![Point::new(from, top), Point::new(to, top)];
    canvas.ink(
        MarkKind::GroundUnknown,
        Ink::Line(across, p::GROUND_UNKNOWN_PEN),
    );
    let words = vec!["ground not known".to_owned()];
    let mut label = Wanted::new(MarkKind::GroundUnknown, words, vec![middle], 60);
    label.colour = p::UNCOVERED;
    label.clear = 0.0;
    canvas.want(label);
}

/// Where the cut runs in the area: a tint from the ground to the ceiling, and its edges.
pub fn area(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let runs = known(section);
    for ceiling in &section.ceiling {
        let (Some(first), Some(last)) = (ceiling.first(), ceiling.last()) else {
            continue;
        };
        for run in &runs {
            let ground = between(run, first.at_m, last.at_m);
            let (Some(from), Some(to)) = (ground.first(), ground.last()) else {
                continue;
            };
            let mut ring: Vec<Point> = between(ceiling, from.at_m, to.at_m)
                .iter()
                .map(|it| plot.at(it.at_m, it.level_m))
                .collect();
            ring.extend(ground.iter().rev().map(|it| plot.at(it.at_m, it.level_m)));
            canvas.ink(MarkKind::Area, Ink::Fill(vec![ring], p::AREA_TINT, 0.75));
        }
    }
    for stretch in &section.in_area {
        let (from, to) = (stretch.from_m.m(), stretch.to_m.m());
        for at in [from, to] {
            let x = plot.at(at, 0.0).x;
            let edge = vec![
                Point::new(x, plot.rect.top + 26.0),
                Point::new(x, plot.rect.bottom),
            ];
            canvas.lines(MarkKind::Area, &[edge], p::AREA_EDGE_PEN);
        }
    }
}

/// Where the cut runs in the area, as a bar along the foot of the plot.
pub fn area_bar(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    for stretch in &section.in_area {
        let (from, to) = (stretch.from_m.m(), stretch.to_m.m());
        let y = plot.rect.bottom - 7.0;
        let bar = vec![
            Point::new(plot.at(from, 0.0).x, y),
            Point::new(plot.at(to, 0.0).x, y),
        ];
        canvas.lines(
            MarkKind::Area,
            std::slice::from_ref(&bar),
            Pen::solid(p::AREA, 5.0),
        );
        let middle = [0.5, 0.25, 0.75].map(|share| {
            let x = bar[0].x + share * (bar[1].x - bar[0].x);
            Point::new(x, y)
        });
        let words = vec![format!(
            "in the area {}",
            words::distance(crate::units::Metres::of(to - from))
        )];
        let mut label = Wanted::new(MarkKind::Area, words, middle.to_vec(), 70);
        label.colour = p::AREA;
        label.clear = 5.0;
        canvas.want(label);
    }
}

/// The part of a run from one place to another, its ends interpolated.
fn between(run: &[LevelPoint], from: f64, to: f64) -> Vec<LevelPoint> {
    let level_at = |at: f64| {
        run.windows(2).find_map(|pair| match pair {
            &[a, b] if (a.at_m..=b.at_m).contains(&at) && b.at_m > a.at_m => {
                let share = (at - a.at_m) / (b.at_m - a.at_m);
                Some(a.level_m + share * (b.level_m - a.level_m))
            }
            _ => None,
        })
    };
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return Vec::new();
    };
    let (from, to) = (from.max(first.at_m), to.min(last.at_m));
    if from >= to {
        return Vec::new();
    }
    let end = |at_m: f64| level_at(at_m).map(|level_m| LevelPoint { at_m, level_m });
    let inner = run.iter().filter(|it| it.at_m > from && it.at_m < to);
    end(from)
        .into_iter()
        .chain(inner.copied())
        .chain(end(to))
        .collect()
}

/// Where the ceiling is undetermined: hatched over the whole height.
pub fn undetermined(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    for stretch in &section.undetermined {
        let (from, to) = (
            plot.at(stretch.from_m.m(), 0.0).x,
            plot.at(stretch.to_m.m(), 0.0).x,
        );
        let (top, foot) = (plot.rect.top + 26.0, plot.rect.bottom - 12.0);
        let ring = vec![
            Point::new(from, top),
            Point::new(to, top),
            Point::new(to, foot),
            Point::new(from, foot),
        ];
        canvas.ink(
            MarkKind::Uncovered,
            Ink::Fill(vec![ring.clone()], p::UNCOVERED_TINT, 0.8),
        );
        for angle in [20.0, 110.0] {
            canvas.hatch(
                MarkKind::Uncovered,
                std::slice::from_ref(&ring),
                angle,
                20.0,
                p::UNDETERMINED_HATCH,
            );
        }
        canvas.hatched_inside(std::slice::from_ref(&ring));
        let mut closed = ring.clone();
        closed.extend(ring.first().copied());
        canvas.lines(MarkKind::Uncovered, &[closed], p::UNCOVERED_PEN);
        let words = vec![
            "UNDETERMINED".to_owned(),
            format!(
                "no ceiling for {}",
                words::distance(crate::units::Metres::of(
                    stretch.to_m.m() - stretch.from_m.m()
                ))
            ),
        ];
        let x = f64::midpoint(from, to);
        let at = [0.5, 0.35, 0.65, 0.2]
            .map(|share| Point::new(x, top + share * (foot - top)))
            .to_vec();
        let mut label = Wanted::new(MarkKind::Uncovered, words, at, 10);
        label.strong = true;
        label.clear = 0.0;
        label.colour = p::UNCOVERED;
        label.essential = true;
        canvas.want(label);
    }
}
