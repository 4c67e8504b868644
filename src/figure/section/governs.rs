//! The ceiling of a section, the place that governs it, and the dimensions that lead to it.

use super::dimension::Dimension;
use super::plot::Plot;
use super::words;
use crate::answer::{
    BudgetLine, BudgetStep, Extreme, GoverningAnswer, GoverningShield, SectionAnswer,
};
use crate::figure::palette as p;
use crate::figure::panel::{Canvas, along};
use crate::figure::place::Wanted;
use crate::figure::scene::{Ink, MarkKind, Pen, Point};
use crate::figure::symbol;
use crate::units::{Height, METRES_PER_FOOT};

/// How far a dimension line stands beside what it measures, units.
const BESIDE: f64 = 46.0;

/// How far from an edge of the area a dimension stands at least, units.
const OFF_EDGE: f64 = 24.0;

/// The ceiling: as it is along the cut, and the certified one of the area.
pub fn ceiling(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let parts: Vec<Vec<Point>> = section.ceiling.iter().map(|run| plot.run(run)).collect();
    canvas.lines(MarkKind::CeilingLine, &parts, p::CEILING_PEN);
    let Some(certified) = section.certified else {
        return;
    };
    let highest = section
        .ceiling
        .iter()
        .flatten()
        .map(|point| point.level_m)
        .fold(certified.level_m, f64::max);
    let is_level = plot.at(0.0, certified.level_m).y - plot.at(0.0, highest).y < 3.0;
    let lines: Vec<Vec<Point>> = section
        .in_area
        .iter()
        .map(|stretch| {
            [stretch.from_m, stretch.to_m]
                .map(|at| plot.at(at.m(), certified.level_m))
                .to_vec()
        })
        .collect();
    if !is_level {
        canvas.lines(MarkKind::CeilingLine, &lines, p::CERTIFIED_PEN);
        let text = vec!["ceiling at each place of the cut".to_owned()];
        let mut label = Wanted::new(
            MarkKind::CeilingLine,
            text,
            along(&parts, &[0.5, 0.3, 0.7, 0.15, 0.85]),
            46,
        );
        label.colour = p::GOVERNS;
        label.clear = 3.0;
        canvas.want(label);
    }
    let whole = if certified.is_of_whole_area {
        "ceiling of the area"
    } else {
        "ceiling where it is determined"
    };
    let text = vec![
        whole.to_owned(),
        words::level(section.datum, certified.level_m),
    ];
    let at = along(&lines, &[0.75, 0.25, 0.9, 0.1, 0.5, 0.6, 0.4]);
    let mut label = Wanted::new(MarkKind::CeilingLine, text, at, 8);
    label.strong = true;
    label.colour = p::GOVERNS;
    label.clear = 3.0;
    label.essential = true;
    canvas.want(label);
}

/// The place that governs, with the budget of its shield as a chain of dimensions.
pub fn add(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let (Some(governs), Some(certified)) = (&section.governs, section.certified) else {
        return;
    };
    let at = plot.at(governs.at_m.m(), certified.level_m);
    if let Some(shield) = &governs.shield {
        budget(canvas, plot, section, governs, shield);
    }
    canvas.symbol(MarkKind::Governs, at, symbol::governs_small(at), 8.0);
    if canvas.shows(at) {
        canvas.keep_clear(at, 8.0);
    }
    let mut lines = vec!["governs".to_owned()];
    if governs.offset_m.m().abs() >= 1.0 {
        lines.push(format!("projected, {}", words::aside(governs.offset_m)));
    }
    let mut label = Wanted::new(MarkKind::Governs, lines, vec![at], 6);
    label.strong = true;
    label.colour = p::GOVERNS;
    label.clear = 9.0;
    canvas.want(label);
}

/// The shield's trusted top as a level, and what leads from its support to the ceiling.
fn budget(
    canvas: &mut Canvas,
    plot: &Plot,
    section: &SectionAnswer,
    governs: &GoverningAnswer,
    shield: &GoverningShield,
) {
    let (here, there) = (governs.at_m.m(), shield.at_m.m());
    let trusted = [there, here].map(|at| plot.at(at, shield.trusted_top_m));
    canvas.lines(MarkKind::Reach, &[trusted.to_vec()], p::REACH_PEN);
    let estimate = if shield.is_estimate { ", ESTIMATE" } else { "" };
    let text = vec![
        "trusted top".to_owned(),
        format!(
            "{}{estimate}",
            words::level(section.datum, shield.trusted_top_m)
        ),
    ];
    let mut label = Wanted::new(
        MarkKind::Reach,
        text,
        along(&[trusted.to_vec()], &[0.3, 0.5, 0.15, 0.7]),
        12,
    );
    label.colour = p::SHIELD;
    label.essential = true;
    canvas.want(label);
    // The margin beside the place that governs, on the side away from the shield.
    let away = if here >= there { 1.0 } else { -1.0 };
    let beside = |at: f64, level: f64| plot.at(at, level).shifted(away * BESIDE, 0.0);
    let ceiling = shield.trusted_top_m - shield.margin_m.m();
    Dimension {
        from: beside(here, ceiling),
        to: beside(here, shield.trusted_top_m),
        measured: [plot.at(here, ceiling), plot.at(here, shield.trusted_top_m)],
        words: vec![format!("margin {}", words::amount(shield.margin_m.m()))],
        colour: p::SHIELD,
        priority: 14,
    }
    .draw(canvas);
    chain(canvas, plot, governs, shield, -away);
    if shield.distance_m.m() >= 1.0 {
        let y = trusted[0].y.min(trusted[1].y) - 22.0;
        Dimension {
            from: Point::new(trusted[1].x, y),
            to: Point::new(trusted[0].x, y),
            measured: [trusted[1], trusted[0]],
            words: vec![format!(
                "{} from its shield, reach {}",
                words::lowest(shield.distance_m.m()),
                words::distance(shield.reach_m)
            )],
            colour: p::SHIELD,
            priority: 11,
        }
        .draw(canvas);
    }
}

/// Sag and accuracies from the stated top down to the trusted one, beside the shield.
fn chain(
    canvas: &mut Canvas,
    plot: &Plot,
    governs: &GoverningAnswer,
    shield: &GoverningShield,
    side: f64,
) {
    let lines: Vec<&BudgetLine> = governs
        .budget
        .iter()
        .take_while(|line| line.step != BudgetStep::Gives)
        .collect();
    let Some((start, taken_off)) = lines.split_first() else {
        return;
    };
    if taken_off.iter().all(|line| line.value_m == 0.0) {
        return;
    }
    let at = shield.at_m.m();
    let beside = |level: f64| plot.at(at, level).shifted(side * BESIDE, 0.0);
    let mut level = start.value_m;
    let top = beside(level);
    let bar = vec![top.shifted(-14.0, 0.0), top.shifted(14.0, 0.0)];
    canvas.ink(
        MarkKind::Dimension,
        Ink::Line(bar, Pen::solid(p::SHIELD, 1.4)),
    );
    let text = vec![format!("{} {}", start.label, words::lowest(level))];
    let mut label = Wanted::new(MarkKind::Dimension, text, vec![top], 16);
    label.colour = p::SHIELD;
    label.clear = 4.0;
    canvas.want(label);
    // Accuracies are told together: each alone is a hair on paper.
    let of = |is_sag: bool| -> f64 {
        taken_off
            .iter()
            .filter(|line| (line.label == "sag") == is_sag)
            .map(|line| match line.step {
                BudgetStep::Less => line.value_m,
                BudgetStep::Plus => -line.value_m,
                BudgetStep::From | BudgetStep::Gives => 0.0,
            })
            .sum()
    };
    for (amount, what) in [(of(true), "sag"), (of(false), "accuracies")] {
        if amount <= 0.0 {
            continue;
        }
        let (from, to) = (beside(level), beside(level - amount));
        Dimension {
            from,
            to,
            measured: [from, plot.at(at, level - amount)],
            words: vec![format!("{what} {}", words::amount(amount))],
            colour: p::SHIELD,
            priority: 18,
        }
        .draw(canvas);
        level -= amount;
    }
}

/// How high the certified ceiling is above the highest and the lowest ground of the cut.
pub fn heights(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let Some(certified) = section.certified else {
        return;
    };
    let [highest, lowest] = section.heights.as_slice() else {
        return;
    };
    let is_level = highest.ground_m - lowest.ground_m < 0.05;
    for over in section.heights.iter().take(if is_level { 1 } else { 2 }) {
        let which = match over.ground {
            _ if is_level => "above ground",
            Extreme::Highest => "above highest ground",
            Extreme::Lowest => "above lowest ground",
        };
        let at = if is_level {
            // Level ground: where there is room, a third of the way into the area.
            section.in_area.first().map_or(over.at_m.m(), |stretch| {
                stretch.from_m.m() + (stretch.to_m.m() - stretch.from_m.m()) / 3.0
            })
        } else {
            over.at_m.m()
        };
        let height = Height::of(over.height_m_agl.m());
        let feet = (height.m() / METRES_PER_FOOT + 1e-9).floor();
        let measured = [plot.at(at, over.ground_m), plot.at(at, certified.level_m)];
        // Not on the edge of the area, whose line it would hide.
        let aside = from_edges(plot, section, measured[0].x);
        Dimension {
            from: measured[0].shifted(aside, 0.0),
            to: measured[1].shifted(aside, 0.0),
            measured,
            words: vec![
                format!("{} / {feet:.0}\u{A0}ft", words::lowest(height.m())),
                which.to_owned(),
            ],
            colour: p::AREA,
            priority: 15,
        }
        .draw(canvas);
    }
}

/// How far a dimension at some x is moved into the area, when it stands on an edge of it.
fn from_edges(plot: &Plot, section: &SectionAnswer, x: f64) -> f64 {
    let near = |at_m: f64| (plot.at(at_m, 0.0).x - x).abs() < OFF_EDGE;
    for stretch in &section.in_area {
        if near(stretch.from_m.m()) {
            return OFF_EDGE;
        }
        if near(stretch.to_m.m()) {
            return -OFF_EDGE;
        }
    }
    0.0
}
