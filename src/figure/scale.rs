//! Scale bars in metres and nautical miles, and the north arrow with the magnetic variation.
//!
//! Not here: where true north is up (everywhere: the plane is about the middle of the area).

use super::font::Font;
use super::palette as p;
use super::scene::{Anchor, Ink, MarkKind, Pen, Point, Rect, Scene, Text};
use super::view::View;
use super::{symbol, words};
use crate::answer::VariationAnswer;
use crate::units::METRES_PER_NAUTICAL_MILE;

const SIZE: f64 = p::SMALL;
/// The longest bar, units.
const LONGEST: f64 = 300.0;

/// The largest of 1, 2 and 5 times a power of ten that is at most `value`.
fn round_down(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    let lead = value / power;
    let digit = match lead {
        lead if lead >= 5.0 => 5.0,
        lead if lead >= 2.0 => 2.0,
        _ => 1.0,
    };
    digit * power
}

fn text(scene: &mut Scene, at: Point, text: String, anchor: Anchor, bold: bool) {
    scene.mark(
        MarkKind::Scale,
        None,
        Ink::Text(Text {
            at,
            text,
            size: SIZE,
            bold,
            colour: p::INK,
            anchor,
            upwards: false,
            halo: false,
        }),
    );
}

/// Adds the scale in words, a bar of metres and one of nautical miles in a strip.
pub fn bars(scene: &mut Scene, strip: Rect, view: &View) {
    let scale = view.scale;
    if !(scale.is_finite() && scale > 0.0) {
        return;
    }
    let ratio = format!(
        "1\u{A0}:\u{A0}{}",
        words::grouped(view.denominator().round())
    );
    text(
        scene,
        Point::new(strip.left, strip.top + 14.0),
        format!("Scale {ratio}"),
        Anchor::Start,
        true,
    );
    let metres = round_down(LONGEST / scale);
    let miles = round_down(LONGEST / scale / METRES_PER_NAUTICAL_MILE);
    let metric = if metres >= 1000.0 {
        words::round_length(metres / 1000.0, "km")
    } else {
        words::round_length(metres, "m")
    };
    let rows = [
        (metres, metric),
        (
            miles * METRES_PER_NAUTICAL_MILE,
            words::round_length(miles, "NM"),
        ),
    ];
    for (row, (length, label)) in rows.into_iter().enumerate() {
        let y = strip.top + 24.0 + 20.0 * row as f64;
        bar(scene, Point::new(strip.left, y), length * scale);
        let at = Point::new(strip.left + length * scale + 8.0, y + 7.5);
        text(scene, at, label, Anchor::Start, false);
    }
}

/// A bar of five parts, the first, third and fifth filled.
fn bar(scene: &mut Scene, at: Point, length: f64) {
    let frame = |from: f64, to: f64| {
        vec![
            at.shifted(from, 0.0),
            at.shifted(to, 0.0),
            at.shifted(to, 6.0),
            at.shifted(from, 6.0),
        ]
    };
    for part in [0.0, 2.0, 4.0] {
        let ring = frame(length * part / 5.0, length * (part + 1.0) / 5.0);
        scene.mark(MarkKind::Scale, None, Ink::Fill(vec![ring], p::INK, 1.0));
    }
    let mut outline = frame(0.0, length);
    outline.extend(outline.first().copied());
    scene.mark(
        MarkKind::Scale,
        None,
        Ink::Line(outline, Pen::solid(p::INK, 0.9)),
    );
}

/// Adds the north arrow in a strip: true north up, magnetic north beside it, the variation in words.
pub fn north(scene: &mut Scene, strip: Rect, variation: &VariationAnswer, font: &Font) {
    let foot = Point::new(strip.right - 40.0, strip.bottom - 2.0);
    let head = foot.shifted(0.0, -46.0);
    let mut inks = vec![Ink::Line(vec![foot, head], Pen::solid(p::INK, 1.6))];
    inks.extend(symbol::arrow_head(foot, head, 13.0, p::INK));
    let mut lines = Vec::new();
    match variation {
        VariationAnswer::Known {
            declination_deg,
            uncertainty_deg,
            model,
            date,
        } => {
            let turn = declination_deg.to_radians();
            let tip = foot.shifted(40.0 * turn.sin(), -40.0 * turn.cos());
            inks.push(Ink::Line(vec![foot, tip], Pen::solid(p::SHIELD, 1.3)));
            let barb = turn + 2.75 * declination_deg.signum();
            inks.push(Ink::Line(
                vec![tip, tip.shifted(10.0 * barb.sin(), -10.0 * barb.cos())],
                Pen::solid(p::SHIELD, 1.3),
            ));
            let side = if *declination_deg < 0.0 { -1.0 } else { 1.0 };
            let anchor = if side < 0.0 {
                Anchor::End
            } else {
                Anchor::Start
            };
            text(
                scene,
                tip.shifted(side * 6.0, 4.0),
                "MN".into(),
                anchor,
                false,
            );
            let letter = if *declination_deg < 0.0 { "W" } else { "E" };
            lines.push(format!("Variation {:.1}°{letter}", declination_deg.abs()));
            lines.push(format!("{model}, {date}, ±{uncertainty_deg:.1}°"));
        }
        VariationAnswer::Unknown { why } => {
            lines.push("Magnetic variation unknown".to_owned());
            lines.push(font.drawable(why));
        }
    }
    for ink in inks {
        scene.mark(MarkKind::Scale, None, ink);
    }
    let side = match variation {
        VariationAnswer::Known {
            declination_deg, ..
        } if *declination_deg < 0.0 => 1.0,
        _ => -1.0,
    };
    let anchor = if side < 0.0 {
        Anchor::End
    } else {
        Anchor::Start
    };
    text(
        scene,
        head.shifted(side * 7.0, 9.0),
        "TN".into(),
        anchor,
        true,
    );
    let room = (strip.width() - 520.0).max(120.0);
    for (row, line) in lines.iter().enumerate() {
        let line = font.cut(line, SIZE, row == 0, room);
        let at = Point::new(foot.x - 62.0, strip.top + 26.0 + 16.0 * row as f64);
        text(scene, at, line, Anchor::End, row == 0);
    }
}
