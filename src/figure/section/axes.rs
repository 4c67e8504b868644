//! The axes of a section: levels in metres and feet, distances in metres and nautical miles, both ends
//! with their places, and the scales in words.

use super::plot::Plot;
use super::words::{self, BLANK};
use crate::answer::{SectionAnswer, SectionDatum};
use crate::figure::blocks::LINE;
use crate::figure::font::Font;
use crate::figure::palette as p;
use crate::figure::scene::{Anchor, Ink, MarkKind, Pen, Point, Rect, Scene, Text};
use crate::figure::words as usual;
use crate::units::{METRES_PER_FOOT, METRES_PER_NAUTICAL_MILE};

/// Room left of the plot for levels in metres, and right of it for feet.
pub const BESIDE: f64 = 62.0;
/// Room above it for its ends.
pub const ABOVE: f64 = 44.0;
/// Room below it for distances.
pub const BELOW: f64 = 56.0;

/// The letters of both ends, here and on the site figure; a plain A is a vertex of the area.
pub const ENDS: [&str; 2] = ["S", "S\u{2032}"];

/// The least space between two ticks up the side, units.
const APART_UP: f64 = 44.0;
/// The same along the bottom.
const APART_ALONG: f64 = 84.0;
/// More ticks than this are not drawn.
const MOST_TICKS: i64 = 200;

fn put(scene: &mut Scene, at: Point, text: String, anchor: Anchor, bold: bool) {
    write(scene, at, text, anchor, (p::SMALL, bold), false);
}

fn write(
    scene: &mut Scene,
    at: Point,
    text: String,
    anchor: Anchor,
    (size, bold): (f64, bool),
    upwards: bool,
) {
    let text = Text {
        at,
        text,
        size,
        bold,
        colour: p::INK,
        anchor,
        upwards,
        halo: false,
    };
    scene.mark(MarkKind::Sheet, None, Ink::Text(text));
}

fn line(scene: &mut Scene, from: Point, to: Point, pen: Pen) {
    scene.mark(MarkKind::Sheet, None, Ink::Line(vec![from, to], pen));
}

/// Round values from `low` to `high`, no nearer to one another than `least`.
fn ticks(low: f64, high: f64, least: f64) -> Vec<f64> {
    let power = 10f64.powf(least.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|step| *step >= least * (1.0 - 1e-9));
    let Some(step) = step.filter(|step| step.is_finite() && *step > 0.0) else {
        return Vec::new();
    };
    let first = (low / step - 1e-9).ceil() as i64;
    let last = ((high / step + 1e-9).floor() as i64).min(first + MOST_TICKS);
    (first..=last).map(|count| count as f64 * step).collect()
}

/// A round value without needless decimals.
fn round(value: f64) -> String {
    if (value - value.round()).abs() < 1e-9 {
        return usual::grouped(value.round());
    }
    let sign = if value < 0.0 { "-" } else { "" };
    let text = format!("{:.3}", value.abs());
    format!("{sign}{}", text.trim_end_matches('0'))
}

/// Draws the axes around a plot.
pub fn add(scene: &mut Scene, plot: &Plot, section: &SectionAnswer) {
    levels(scene, plot, section);
    distances(scene, plot, section);
    ends(scene, plot, section);
    let corners = plot.rect.corners();
    let mut ring = corners.to_vec();
    ring.extend(corners.first().copied());
    scene.mark(MarkKind::Sheet, None, Ink::Line(ring, p::FRAME_PEN));
}

fn levels(scene: &mut Scene, plot: &Plot, section: &SectionAnswer) {
    let rect = plot.rect;
    let least = plot.metres_up(APART_UP);
    for level in ticks(plot.low_m, plot.high_m, least) {
        let y = plot.at(0.0, level).y;
        let at = Point::new(rect.left, y);
        line(scene, at.shifted(-6.0, 0.0), at, Pen::solid(p::INK, 1.0));
        put(
            scene,
            at.shifted(-9.0, 4.4),
            round(level),
            Anchor::End,
            false,
        );
    }
    let feet = |metres: f64| metres / METRES_PER_FOOT;
    for level in ticks(feet(plot.low_m), feet(plot.high_m), feet(least)) {
        let y = plot.at(0.0, level * METRES_PER_FOOT).y;
        let at = Point::new(rect.right, y);
        line(scene, at.shifted(6.0, 0.0), at, Pen::solid(p::INK, 1.0));
        put(
            scene,
            at.shifted(9.0, 4.4),
            round(level),
            Anchor::Start,
            false,
        );
    }
    let counted = match section.datum {
        SectionDatum::MeanSeaLevel => "AMSL",
        SectionDatum::AssumedFlatGround => "above assumed flat ground",
    };
    let middle = rect.middle().y;
    for (x, unit) in [
        (rect.left - BESIDE + 12.0, "m"),
        (rect.right + BESIDE - 2.0, "ft"),
    ] {
        let text = format!("{unit} {counted}");
        write(
            scene,
            Point::new(x, middle),
            text,
            Anchor::Middle,
            (p::SMALL, true),
            true,
        );
    }
}

fn distances(scene: &mut Scene, plot: &Plot, section: &SectionAnswer) {
    let rect = plot.rect;
    let length = section.length_m.m();
    let least = plot.metres_along(APART_ALONG);
    for at_m in ticks(0.0, length, least) {
        let at = Point::new(plot.at(at_m, 0.0).x, rect.bottom);
        line(scene, at, at.shifted(0.0, 6.0), Pen::solid(p::INK, 1.0));
        put(
            scene,
            at.shifted(0.0, 19.0),
            round(at_m),
            Anchor::Middle,
            false,
        );
    }
    // Nautical miles on an axis of their own.
    let y = rect.bottom + 28.0;
    let (from, to) = (Point::new(rect.left, y), Point::new(rect.right, y));
    line(scene, from, to, p::RULE_PEN);
    let miles = |metres: f64| metres / METRES_PER_NAUTICAL_MILE;
    for at_nm in ticks(0.0, miles(length), miles(least)) {
        let at = Point::new(plot.at(at_nm * METRES_PER_NAUTICAL_MILE, 0.0).x, y);
        line(
            scene,
            at,
            at.shifted(0.0, 5.0),
            Pen::solid(p::SOFT_INK, 0.9),
        );
        put(
            scene,
            at.shifted(0.0, 18.0),
            round(at_nm),
            Anchor::Middle,
            false,
        );
    }
    let left = rect.left - 9.0;
    put(
        scene,
        Point::new(left, rect.bottom + 19.0),
        "m".into(),
        Anchor::End,
        true,
    );
    put(
        scene,
        Point::new(left, y + 18.0),
        "NM".into(),
        Anchor::End,
        true,
    );
}

/// Both ends: a letter in a circle with the place, and between them the bearing.
fn ends(scene: &mut Scene, plot: &Plot, section: &SectionAnswer) {
    let top = plot.rect.top;
    let letters = [
        (ENDS[0], plot.rect.left, section.from, Anchor::Start, 1.0),
        (ENDS[1], plot.rect.right, section.to, Anchor::End, -1.0),
    ];
    for (letter, x, place, anchor, inwards) in letters {
        let at = Point::new(x + inwards * 13.0, top - 20.0);
        for ink in lettered(at, letter) {
            scene.mark(MarkKind::SectionLine, None, ink);
        }
        let text = Point::new(at.x + inwards * 19.0, at.y + 4.6);
        put(scene, text, usual::place(place), anchor, false);
    }
    if let [leg] = section.legs.as_slice() {
        let text = format!("{} to {}: {}", ENDS[0], ENDS[1], words::bearing(leg));
        let at = Point::new(plot.rect.middle().x, top - 15.4);
        put(scene, at, text, Anchor::Middle, true);
    }
}

/// The letter of an end of the cut, in a circle, here and on the site figure.
pub fn lettered(at: Point, letter: &str) -> Vec<Ink> {
    vec![
        Ink::Disc(at, 12.5, p::PAPER),
        Ink::Circle(at, 12.0, Pen::solid(p::INK, 1.6)),
        Ink::Text(Text {
            at: at.shifted(0.0, 5.2),
            text: letter.to_owned(),
            size: 14.4,
            bold: true,
            colour: p::INK,
            anchor: Anchor::Middle,
            upwards: false,
            halo: false,
        }),
    ]
}

/// The scales and the exaggeration in words, and a bar each for metres along and metres up.
pub fn scales(scene: &mut Scene, strip: Rect, plot: &Plot, section: &SectionAnswer, font: &Font) {
    let ratio = |denominator: f64| format!("1{BLANK}:{BLANK}{}", round(rounded(denominator)));
    let first = if plot.exaggeration > 1.0 {
        format!(
            "Vertical exaggeration {}{BLANK}×   ·   horizontal {}   ·   vertical {}",
            round(plot.exaggeration),
            ratio(plot.denominator),
            ratio(plot.vertical_denominator())
        )
    } else {
        format!(
            "No vertical exaggeration   ·   scale {}",
            ratio(plot.denominator)
        )
    };
    let left = strip.left;
    put(
        scene,
        Point::new(left, strip.top + 14.0),
        first,
        Anchor::Start,
        true,
    );
    let second = format!(
        "Projected onto it: what stands within {} to either side (dashed, with its distance). Length {}.",
        words::distance(section.corridor_m),
        words::distance(section.length_m)
    );
    put(
        scene,
        Point::new(left, strip.top + 32.0),
        second,
        Anchor::Start,
        false,
    );
    let mut third = format!("Section {}", section.cut);
    for note in &section.notes {
        third.push_str("; ");
        third.push_str(note);
    }
    let third = font.drawable(&third);
    let lines = font.wrapped(&third, p::SMALL, false, strip.width());
    for (row, line) in lines.into_iter().enumerate() {
        let at = Point::new(left, strip.top + 48.0 + LINE * row as f64);
        put(scene, at, line, Anchor::Start, false);
    }
}

/// A scale without the noise of a division.
fn rounded(denominator: f64) -> f64 {
    (denominator * 10.0).round() / 10.0
}
