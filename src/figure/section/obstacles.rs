//! Wires, supports and structures of a section.
//!
//! What the cut meets is drawn heavy, what is projected onto it thin and dashed, with its distance.

use super::plot::Plot;
use super::words;
use crate::answer::{SectionAnswer, SectionObject, WireAnswer, WirePoint};
use crate::figure::palette as p;
use crate::figure::panel::Canvas;
use crate::figure::place::Wanted;
use crate::figure::scene::{Colour, Dash, Ink, MarkKind, Pen, Point};
use crate::obstacle::ObstacleKind;

/// How high a thing of unknown height is drawn, units.
const UNKNOWN_HEIGHT: f64 = 20.0;

/// A wire nearer to the cut than this is drawn as crossed, metres.
const CROSSED_WITHIN_M: f64 = 0.5;

/// A building is drawn no narrower than this, units.
const NARROWEST: f64 = 5.0;

/// Labels of what is projected are asked for up to this many, nearest to the cut first.
const MOST_PROJECTED_LABELS: usize = 14;

/// Draws them all.
pub fn add(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer, notes: &mut Vec<String>) {
    let mut aside: Vec<f64> = section
        .objects
        .iter()
        .filter(|object| !object.is_cut && !object.governs)
        .map(|object| object.offset_m.m().abs())
        .collect();
    aside.sort_by(f64::total_cmp);
    let farthest = aside
        .get(MOST_PROJECTED_LABELS)
        .copied()
        .unwrap_or(f64::INFINITY);
    for object in &section.objects {
        let is_named = object.is_cut || object.governs || object.offset_m.m().abs() < farthest;
        draw_object(canvas, plot, section, object, is_named);
    }
    if farthest.is_finite() {
        notes.push(format!(
            "names of what is projected from farther than {}",
            words::distance(crate::units::Metres::of(farthest))
        ));
    }
    for wire in &section.wires {
        draw_along(canvas, plot, wire);
        for point in &wire.points {
            draw_wire_point(canvas, plot, section, wire, point);
        }
    }
}

fn tone(can_shield: bool) -> Colour {
    if can_shield { p::LINE } else { p::NOT_SHIELD }
}

/// The level of the ground under something, or the bottom of the plot.
fn base(plot: &Plot, section: &SectionAnswer, at_m: f64) -> f64 {
    section
        .stations
        .iter()
        .min_by(|a, b| {
            (a.at_m.m() - at_m)
                .abs()
                .total_cmp(&(b.at_m.m() - at_m).abs())
        })
        .and_then(|station| station.ground_low_m)
        .unwrap_or(plot.low_m + plot.metres_up(46.0))
}

fn draw_object(
    canvas: &mut Canvas,
    plot: &Plot,
    section: &SectionAnswer,
    object: &SectionObject,
    is_named: bool,
) {
    let (from, to) = (object.from_m.m(), object.to_m.m());
    let middle = f64::midpoint(from, to);
    let foot_m = object
        .base_low_m
        .unwrap_or_else(|| base(plot, section, middle));
    let foot = plot.at(middle, foot_m);
    let colour = tone(object.can_shield);
    let kind = match (&object.kind, object.can_shield) {
        (_, false) => MarkKind::NotShield,
        (ObstacleKind::Support, true) => MarkKind::Support,
        (_, true) => MarkKind::Structure,
    };
    let pen = match (object.is_cut, object.is_estimate) {
        (true, _) => Pen::solid(colour, 2.4),
        (false, true) => Pen::dashed(colour, 1.8, Dash::Dots),
        (false, false) => Pen::dashed(colour, 1.4, Dash::Short),
    };
    let top = match (object.top_low_m, object.top_high_m) {
        (Some(low), Some(high)) => {
            let (low, high) = (plot.at(middle, low), plot.at(middle, high));
            if matches!(object.kind, ObstacleKind::Support) || to - from < plot.metres_along(2.0) {
                mast(canvas, kind, foot, low, pen);
            } else {
                let x = [plot.at(from, foot_m).x, plot.at(to, foot_m).x];
                block(canvas, kind, x, foot.y, low.y, pen, object.is_cut);
            }
            up_to(canvas, kind, low, high, colour);
            high
        }
        _ => {
            let top = foot.shifted(0.0, -UNKNOWN_HEIGHT);
            unknown(canvas, foot, top, colour);
            top
        }
    };
    canvas.avoid(crate::figure::scene::Rect::new(
        foot.x - 3.0,
        top.y,
        foot.x + 3.0,
        foot.y,
    ));
    if !is_named {
        return;
    }
    let mut lines = vec![object.title.clone()];
    lines.push(match (object.top_low_m, object.top_high_m) {
        (Some(low), Some(high)) => tops(section, low, high, object.is_estimate),
        _ => "height unknown".to_owned(),
    });
    if !object.is_cut {
        lines.push(format!("projected, {}", words::aside(object.offset_m)));
    }
    let priority = match (object.governs, object.is_cut) {
        (true, _) => 20,
        (false, true) => 36,
        (false, false) => 60,
    };
    let mut label = Wanted::new(kind, lines, vec![top, middle_of(top, foot)], priority);
    label.size = p::SMALL;
    label.colour = colour;
    label.clear = 4.0;
    canvas.want(label);
}

fn middle_of(a: Point, b: Point) -> Point {
    Point::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y))
}

/// `top 381.7 to 385.7 m AMSL`.
fn tops(section: &SectionAnswer, low: f64, high: f64, is_estimate: bool) -> String {
    let estimate = if is_estimate { "ESTIMATE " } else { "" };
    let counted = counted_from(section);
    format!("{estimate}top {}{counted}", words::between(low, high))
}

fn counted_from(section: &SectionAnswer) -> &'static str {
    match section.datum {
        crate::answer::SectionDatum::MeanSeaLevel => "\u{A0}AMSL",
        crate::answer::SectionDatum::AssumedFlatGround => "\u{A0}AGL",
    }
}

/// A support or a slim structure: a line with a short bar at its lowest credible top.
fn mast(canvas: &mut Canvas, kind: MarkKind, foot: Point, top: Point, pen: Pen) {
    canvas.ink(kind, Ink::Line(vec![foot, top], pen));
    let bar = vec![top.shifted(-6.0, 0.0), top.shifted(6.0, 0.0)];
    let solid = Pen {
        dash: Dash::Solid,
        ..pen
    };
    canvas.ink(kind, Ink::Line(bar, solid));
}

/// A structure with some width.
fn block(
    canvas: &mut Canvas,
    kind: MarkKind,
    [left, right]: [f64; 2],
    foot: f64,
    top: f64,
    pen: Pen,
    is_cut: bool,
) {
    let spare = ((NARROWEST - (right - left)) / 2.0).max(0.0);
    let (left, right) = (left - spare, right + spare);
    let ring = vec![
        Point::new(left, foot),
        Point::new(left, top),
        Point::new(right, top),
        Point::new(right, foot),
    ];
    if is_cut {
        canvas.ink(kind, Ink::Fill(vec![ring.clone()], p::STRUCTURE_TINT, 1.0));
        canvas.hatch(
            kind,
            std::slice::from_ref(&ring),
            135.0,
            5.0,
            Pen::solid(pen.colour, 0.7),
        );
    }
    let mut closed = ring;
    closed.extend(closed.first().copied());
    canvas.lines(kind, &[closed], pen);
}

/// From the lowest to the highest credible top: a thin line with a cross bar.
fn up_to(canvas: &mut Canvas, kind: MarkKind, low: Point, high: Point, colour: Colour) {
    let pen = Pen::solid(colour, 0.9);
    canvas.ink(kind, Ink::Line(vec![low, high], pen));
    let bar = vec![high.shifted(-3.5, 0.0), high.shifted(3.5, 0.0)];
    canvas.ink(kind, Ink::Line(bar, pen));
}

/// A thing of unknown height: an open wedge over its place, and no top.
fn unknown(canvas: &mut Canvas, foot: Point, top: Point, colour: Colour) {
    let pen = Pen::dashed(colour, 1.4, Dash::Short);
    canvas.ink(
        MarkKind::NotShield,
        Ink::Line(vec![foot, top.shifted(0.0, 5.0)], pen),
    );
    canvas.ink(
        MarkKind::NotShield,
        Ink::Text(crate::figure::scene::Text {
            at: top.shifted(0.0, 2.0),
            text: "?".to_owned(),
            size: p::LABEL,
            bold: true,
            colour,
            anchor: crate::figure::scene::Anchor::Middle,
            upwards: false,
            halo: true,
        }),
    );
}

/// The part of a span that runs along the cut: its lowest wire and the line of its highest.
fn draw_along(canvas: &mut Canvas, plot: &Plot, wire: &WireAnswer) {
    let curve = |level: fn(&WirePoint) -> Option<f64>| -> Vec<Point> {
        wire.along
            .iter()
            .filter_map(|point| Some(plot.at(point.at_m.m(), level(point)?)))
            .collect()
    };
    let (low, high) = (curve(|point| point.low_m), curve(|point| point.high_m));
    let pen = if wire.is_estimate {
        Pen::dashed(p::LINE, 3.0, Dash::Dots)
    } else {
        Pen::solid(p::LINE, 2.2)
    };
    if high.len() > 1 {
        canvas.lines(
            MarkKind::Span,
            &[high],
            Pen::dashed(p::LINE, 0.9, Dash::Short),
        );
    }
    if low.len() > 1 {
        canvas.lines(MarkKind::Span, &[low], pen);
    }
}

/// A wire where the cut crosses it, or its nearest place.
fn draw_wire_point(
    canvas: &mut Canvas,
    plot: &Plot,
    section: &SectionAnswer,
    wire: &WireAnswer,
    point: &WirePoint,
) {
    let is_crossed = point.offset_m.m().abs() < CROSSED_WITHIN_M;
    let at = |level: f64| plot.at(point.at_m.m(), level);
    let colour = if wire.governs { p::SHIELD } else { p::LINE };
    let anchor = match (point.low_m, point.high_m) {
        (Some(low), high) => {
            let low = at(low);
            if let Some(high) = high {
                up_to(canvas, MarkKind::Span, low, at(high), colour);
            }
            low
        }
        (None, Some(high)) => at(high),
        (None, None) => {
            let foot = at(base(plot, section, point.at_m.m()));
            unknown(
                canvas,
                foot,
                foot.shifted(0.0, -UNKNOWN_HEIGHT),
                p::NOT_SHIELD,
            );
            foot.shifted(0.0, -UNKNOWN_HEIGHT)
        }
    };
    let mut inks = Vec::new();
    if point.low_m.is_some() {
        if is_crossed {
            inks.push(Ink::Disc(anchor, 5.0, colour));
        } else {
            inks.push(Ink::Disc(anchor, 4.4, p::PAPER));
            inks.push(Ink::Circle(anchor, 4.4, Pen::solid(colour, 1.4)));
        }
    } else if point.high_m.is_some() {
        inks.push(Ink::Circle(
            anchor,
            4.4,
            Pen::dashed(colour, 1.2, Dash::Short),
        ));
    }
    let kind = if wire.governs {
        MarkKind::LowestShield
    } else {
        MarkKind::Span
    };
    canvas.symbol(kind, anchor, inks, 6.0);
    // What runs along the cut is named where it is nearest, and only once.
    let mut lines = vec![wire.title.clone()];
    let counted = counted_from(section);
    let estimate = if wire.is_estimate { "ESTIMATE " } else { "" };
    lines.push(match (point.low_m, point.high_m) {
        (Some(low), Some(high)) => {
            format!("{estimate}wire {}{counted}", words::between(low, high))
        }
        (Some(low), None) => format!("{estimate}wire not below {}{counted}", words::lowest(low)),
        (None, Some(high)) => format!(
            "{estimate}wire not above {}{counted}, lowest unknown",
            words::highest(high)
        ),
        (None, None) => format!("height unknown: {}", wire.not_known),
    });
    if !is_crossed {
        lines.push(format!("projected, {}", words::aside(point.offset_m)));
    }
    let priority = match (wire.governs, is_crossed) {
        (true, _) => 22,
        (false, true) => 30,
        (false, false) => 50,
    };
    let mut label = Wanted::new(kind, lines, vec![anchor], priority);
    label.size = p::SMALL;
    label.colour = colour;
    label.clear = 6.0;
    label.essential = is_crossed;
    canvas.want(label);
}
