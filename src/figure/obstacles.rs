//! Obstacles on the site panel: spans with trusted tops, supports and structures with their tops,
//! and those of unknown height, faint and counted.
//!
//! Not here: which of them shields (the assessment says so).

use super::palette as p;
use super::panel::{Panel, along, extent};
use super::place::Wanted;
use super::scene::{Dash, Ink, MarkKind, Pen, Point};
use super::{governing, symbol, words};
use crate::answer::{Assessment, ObstacleAnswer, ShieldAnswer};
use crate::obstacle::{ObstacleKind, Shape};

/// Obstacles of unknown height in reach are named up to this many; more, and those farther out, are
/// only counted.
const MOST_NAMED_UNKNOWN: usize = 10;
/// Beyond this many supports in the panel their symbols are drawn smaller.
const MANY_SUPPORTS: usize = 30;
const LABEL_SIZE: f64 = p::SMALL;

/// Draws all obstacles and asks for their labels.
pub fn add(panel: &mut Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let lowest = governing::shielding(assessment).and_then(|a| a.lowest_shielding.as_ref());
    let all = || {
        let near = assessment.obstacles.iter().map(|o| (o, true));
        near.chain(assessment.surroundings.iter().map(|o| (o, false)))
    };
    let unknown = all()
        .filter(|(o, _)| is_unknown(o) && in_view(panel, o))
        .count();
    let near_unknown = all()
        .filter(|(o, near)| *near && is_unknown(o) && in_view(panel, o))
        .count();
    let named = near_unknown <= MOST_NAMED_UNKNOWN;
    let supports = all()
        .filter(|(o, _)| o.kind == ObstacleKind::Support && in_view(panel, o))
        .count();
    let support_size = if supports > MANY_SUPPORTS { 0.6 } else { 1.0 };
    if let Some(shield) = lowest {
        casing(panel, shield);
        if !all().any(|(o, _)| same(shield, o)) {
            name_lowest(panel, shield);
        }
    }
    for layer in [Layer::Structures, Layer::Spans, Layer::Points] {
        for (rank, (obstacle, near)) in all().enumerate() {
            if Layer::of(obstacle) != layer || !in_view(panel, obstacle) {
                continue;
            }
            let is_lowest = lowest.is_some_and(|shield| same(shield, obstacle));
            let (anchors, clear) = draw(panel, obstacle, near, support_size);
            let lines = label_lines(obstacle, is_lowest, named && near);
            let rank = u32::try_from(rank).unwrap_or(u32::MAX / 4).min(100_000);
            let mut label = Wanted::new(
                kind(obstacle),
                lines,
                anchors,
                priority(obstacle, near, is_lowest) + rank,
            );
            label.size = LABEL_SIZE;
            label.clear = clear;
            label.strong = is_lowest;
            label.essential = is_lowest;
            label.colour = colour(obstacle, is_lowest);
            panel.want(label);
        }
    }
    let unlabelled = if named {
        unknown - near_unknown
    } else {
        unknown
    };
    if unlabelled > 0 {
        notes.push(format!(
            "Labels of {} of unknown height, which {} drawn",
            match unlabelled {
                1 => "1 obstacle".to_owned(),
                count => format!("{} obstacles", words::grouped(count as f64)),
            },
            if unlabelled == 1 { "is" } else { "are" }
        ));
    }
}

/// Drawn one above the other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Layer {
    Structures,
    Spans,
    Points,
}

impl Layer {
    fn of(obstacle: &ObstacleAnswer) -> Self {
        match obstacle.shape {
            Shape::Outline(_) => Self::Structures,
            Shape::Chain(_) => Self::Spans,
            Shape::Point(_) => Self::Points,
        }
    }
}

fn is_unknown(obstacle: &ObstacleAnswer) -> bool {
    words::top(obstacle).is_none() && words::trusted_top(obstacle).is_none()
}

fn same(shield: &ShieldAnswer, obstacle: &ObstacleAnswer) -> bool {
    shield.source == obstacle.source
        && shield.span_index == obstacle.span_index
        && shield.kind == obstacle.kind
}

fn in_view(panel: &Panel, obstacle: &ObstacleAnswer) -> bool {
    match &obstacle.shape {
        Shape::Point(place) => panel.shows(panel.view.place(*place)),
        Shape::Chain(chain) => !panel.view.chain(chain).is_empty(),
        Shape::Outline(polygon) => panel
            .view
            .rings(polygon)
            .iter()
            .any(|ring| !ring.is_empty()),
    }
}

fn kind(obstacle: &ObstacleAnswer) -> MarkKind {
    if obstacle.is_estimate {
        return MarkKind::Estimate;
    }
    match obstacle.kind {
        ObstacleKind::Support => MarkKind::Support,
        _ if obstacle.not_a_shield.is_some() => MarkKind::NotShield,
        ObstacleKind::Span => MarkKind::Span,
        ObstacleKind::Building | ObstacleKind::Structure(_) => MarkKind::Structure,
    }
}

fn colour(obstacle: &ObstacleAnswer, is_lowest: bool) -> super::scene::Colour {
    match kind(obstacle) {
        _ if is_lowest => p::SHIELD,
        MarkKind::Structure => p::STRUCTURE,
        MarkKind::NotShield => p::SOFT_INK,
        _ => p::LINE,
    }
}

fn priority(obstacle: &ObstacleAnswer, near: bool, is_lowest: bool) -> u32 {
    let class = match kind(obstacle) {
        _ if is_lowest => return 20,
        _ if is_unknown(obstacle) => 800_000,
        MarkKind::Estimate => 1_000,
        MarkKind::Structure => 200_000,
        MarkKind::NotShield => 300_000,
        MarkKind::Span => 100_000,
        _ => 400_000,
    };
    if near { class } else { class + 1_000_000 }
}

/// The label of an obstacle: title and tops; nothing for one that is only counted.
fn label_lines(obstacle: &ObstacleAnswer, is_lowest: bool, unknown_named: bool) -> Vec<String> {
    let title = obstacle.title.clone();
    let mut lines = Vec::new();
    match (
        &obstacle.kind,
        words::trusted_top(obstacle),
        words::top(obstacle),
    ) {
        (ObstacleKind::Support, _, Some(top)) if !is_lowest => lines.push(top),
        (ObstacleKind::Support, None, None) => {}
        (ObstacleKind::Span, Some(trusted), _) => {
            if is_lowest {
                lines.push(title);
                lines.push("lowest shielding obstacle".to_owned());
            }
            lines.push(format!("trusted top {trusted}"));
        }
        (_, Some(trusted), _) => {
            lines.push(title);
            if is_lowest {
                lines.push("lowest shielding obstacle".to_owned());
            }
            lines.push(format!("trusted top {trusted}"));
        }
        (_, None, Some(top)) => {
            lines.push(title);
            lines.push(format!("{top}, not a shield"));
        }
        (_, None, None) if unknown_named => {
            lines.push(title);
            lines.push("height unknown".to_owned());
        }
        (_, None, None) => {}
    }
    if obstacle.is_estimate && !lines.is_empty() {
        lines.push("ESTIMATE".to_owned());
    }
    lines
}

/// The label of a lowest shielding obstacle that is not among the obstacles.
fn name_lowest(panel: &mut Panel, shield: &ShieldAnswer) {
    let mut lines = vec![
        shield.title.clone(),
        "lowest shielding obstacle".to_owned(),
        format!("trusted top {}", words::height(shield.trusted_top_m_agl)),
    ];
    if shield.is_estimate {
        lines.push("ESTIMATE".to_owned());
    }
    let at = panel.view.place(shield.position);
    let mut label = Wanted::new(MarkKind::LowestShield, lines, vec![at], 20);
    label.size = LABEL_SIZE;
    label.strong = true;
    label.colour = p::SHIELD;
    panel.want(label);
}

/// A band under the lowest shielding obstacle, drawn before the obstacle itself.
fn casing(panel: &mut Panel, shield: &ShieldAnswer) {
    let band = Pen::solid(super::scene::Colour(0x6f, 0xc2, 0xae), 8.0);
    match &shield.shape {
        Shape::Point(place) => {
            let at = panel.view.place(*place).shifted(0.0, -4.0);
            let inks = vec![
                Ink::Circle(at, 14.0, Pen::solid(p::PAPER, 5.0)),
                Ink::Circle(at, 14.0, Pen::solid(p::SHIELD, 2.4)),
            ];
            panel.symbol(MarkKind::LowestShield, at, inks, 15.0);
            panel.keep_clear(at, 14.0);
        }
        Shape::Chain(chain) => {
            panel.chain(MarkKind::LowestShield, chain, band);
        }
        Shape::Outline(polygon) => {
            for ring in super::view::rings(polygon) {
                panel.chain(MarkKind::LowestShield, &ring, band);
            }
        }
    }
}

/// Draws one obstacle; returns where its label may be put, and the radius to keep off.
fn draw(
    panel: &mut Panel,
    obstacle: &ObstacleAnswer,
    near: bool,
    support_size: f64,
) -> (Vec<Point>, f64) {
    let kind = kind(obstacle);
    let shields = obstacle.not_a_shield.is_none();
    let unknown = is_unknown(obstacle);
    let (tone, weight) = match (near, shields) {
        (true, true) => (1.0, 1.0),
        (true, false) => (1.0, 0.8),
        (false, _) => (0.0, 0.7),
    };
    let dash = if obstacle.is_estimate {
        Dash::Dots
    } else if shields {
        Dash::Solid
    } else {
        Dash::Short
    };
    let faint = tone == 0.0 || !shields;
    match &obstacle.shape {
        Shape::Point(place) => {
            let at = panel.view.place(*place);
            let colour = if faint && unknown {
                p::NOT_SHIELD
            } else {
                p::LINE
            };
            if obstacle.is_estimate && panel.shows(at) {
                let dots = Pen::dashed(p::LINE, 2.0, Dash::Dots);
                panel.ink(kind, Ink::Circle(at.shifted(0.0, -3.0), 11.0, dots));
            }
            if obstacle.kind == ObstacleKind::Support {
                panel.symbol(kind, at, symbol::support(at, colour, support_size), 6.0);
                (vec![at], 6.0)
            } else {
                panel.symbol(kind, at, symbol::obstacle(at, colour, shields), 9.0);
                (vec![at.shifted(0.0, -4.0)], 9.0)
            }
        }
        Shape::Chain(chain) => {
            let colour = if faint { p::NOT_SHIELD } else { p::LINE };
            let width = if obstacle.is_estimate {
                3.0
            } else {
                2.2 * weight
            };
            let parts = panel.chain(kind, chain, Pen::dashed(colour, width, dash));
            let anchors = along(&parts, &[0.5, 0.35, 0.65, 0.2, 0.8]);
            (anchors, 3.5)
        }
        Shape::Outline(polygon) => {
            let cut = panel.view.rings(polygon);
            let box_ = extent(cut.iter().flatten().copied());
            let (fill, line) = if unknown || faint {
                (p::RULE, p::NOT_SHIELD)
            } else {
                (p::STRUCTURE_TINT, p::STRUCTURE)
            };
            let opacity = if unknown { 0.3 } else { 0.9 };
            panel.ink(kind, Ink::Fill(cut, fill, opacity));
            let width = if unknown { 0.7 } else { 1.6 * weight };
            let dash = if unknown { Dash::Solid } else { dash };
            let pen = Pen::dashed(line, width, dash);
            for ring in super::view::rings(polygon) {
                let parts = panel.view.chain(&ring);
                if unknown {
                    for part in parts {
                        panel.ink(kind, Ink::Line(part, pen));
                    }
                } else {
                    panel.lines(kind, &parts, pen);
                }
            }
            match box_ {
                Some(b) => {
                    let half = (b.width().min(b.height()) / 2.0).min(26.0);
                    (vec![b.middle()], half.max(3.0))
                }
                None => (Vec::new(), 3.0),
            }
        }
    }
}
