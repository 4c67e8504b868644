//! The graticule of a panel: crosses where meridians and parallels meet, ticks on the frame, and
//! labels in degrees, minutes and seconds outside it.
//!
//! Not here: the frame itself.

use super::font::Font;
use super::palette as p;
use super::scene::{Anchor, Ink, MarkKind, PanelName, Pen, Point, Scene, Text};
use super::view::View;
use super::words;
use crate::frame::{LonLat, longitude_step};

/// The steps tried, arc seconds, from 30 degrees to a hundredth of a second.
const STEPS_ARCSEC: [f64; 29] = [
    108_000.0, 72_000.0, 36_000.0, 18_000.0, 7_200.0, 3_600.0, 1_800.0, 1_200.0, 600.0, 300.0,
    120.0, 60.0, 30.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002,
    0.001, 0.000_5, 0.000_2,
];
const LABEL_SIZE: f64 = p::SMALL;
/// The least space between two labels along the frame, sheet units.
const BETWEEN_LABELS: f64 = 26.0;
/// More ticks than this on one side means that the panel is not one where ticks make sense.
const MOST_TICKS: usize = 40;

/// One of the two angles of a place.
#[derive(Clone, Copy)]
enum Angle {
    Longitude,
    Latitude,
}

impl Angle {
    /// The angle of a place in degrees, longitudes as a step from `origin`.
    fn of(self, place: LonLat, origin: LonLat) -> f64 {
        match self {
            Self::Longitude => origin.lon() + longitude_step(origin.lon(), place.lon()),
            Self::Latitude => place.lat(),
        }
    }

    fn words(self, degrees: f64, step: f64) -> String {
        match self {
            Self::Longitude => words::longitude(degrees, step),
            Self::Latitude => words::latitude(degrees, step),
        }
    }
}

/// Adds the graticule of a panel.
pub fn add(scene: &mut Scene, panel: PanelName, view: &View, font: &Font) {
    let rect = view.rect;
    let corners = [
        (
            Point::new(rect.left, rect.bottom),
            Point::new(rect.right, rect.bottom),
        ),
        (
            Point::new(rect.left, rect.top),
            Point::new(rect.right, rect.top),
        ),
        (
            Point::new(rect.left, rect.bottom),
            Point::new(rect.left, rect.top),
        ),
        (
            Point::new(rect.right, rect.bottom),
            Point::new(rect.right, rect.top),
        ),
    ];
    let [bottom, top, left, right] = corners;
    let (meridians, east_step) = ticks(view, bottom, Angle::Longitude, font);
    let (parallels, north_step) = ticks(view, left, Angle::Latitude, font);
    for (degrees, at) in &meridians {
        tick(scene, *at, (0.0, -7.0));
        let text = Angle::Longitude.words(*degrees, east_step);
        let half = font.width(&text, LABEL_SIZE, false) / 2.0;
        let x =
            at.x.clamp(rect.left + half, (rect.right - half).max(rect.left + half));
        label(scene, Point::new(x, rect.bottom + 15.0), text, false);
    }
    for (degrees, at) in &parallels {
        tick(scene, *at, (7.0, 0.0));
        let text = Angle::Latitude.words(*degrees, north_step);
        let half = font.width(&text, LABEL_SIZE, false) / 2.0;
        let y =
            at.y.clamp(rect.top + half, (rect.bottom - half).max(rect.top + half));
        label(scene, Point::new(rect.left - 5.0, y), text, true);
    }
    for (side, angle, inward, wanted) in [
        (top, Angle::Longitude, (0.0, 7.0), &meridians),
        (right, Angle::Latitude, (-7.0, 0.0), &parallels),
    ] {
        for (degrees, _) in wanted {
            if let Some(at) = crossing(view, side, angle, *degrees) {
                tick(scene, at, inward);
            }
        }
    }
    for (longitude, _) in &meridians {
        for (latitude, _) in &parallels {
            let at = view.place(LonLat::wrapped(*longitude, *latitude));
            if rect.grown(-8.0).contains(at) {
                cross(scene, panel, at);
            }
        }
    }
}

fn tick(scene: &mut Scene, at: Point, (x, y): (f64, f64)) {
    let ink = Ink::Line(vec![at, at.shifted(x, y)], Pen::solid(p::INK, 1.0));
    scene.mark(MarkKind::Sheet, None, ink);
}

fn cross(scene: &mut Scene, panel: PanelName, at: Point) {
    for (x, y) in [(5.0, 0.0), (0.0, 5.0)] {
        let ink = Ink::Line(vec![at.shifted(-x, -y), at.shifted(x, y)], p::RULE_PEN);
        scene.mark(MarkKind::Graticule, Some(panel), ink);
    }
}

fn label(scene: &mut Scene, at: Point, text: String, upwards: bool) {
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Text(Text {
            at,
            text,
            size: LABEL_SIZE,
            bold: false,
            colour: p::SOFT_INK,
            anchor: Anchor::Middle,
            upwards,
            halo: false,
        }),
    );
}

/// The ticks along one side of a panel and their step: the finest whose labels stay apart.
fn ticks(view: &View, side: (Point, Point), angle: Angle, font: &Font) -> (Vec<(f64, Point)>, f64) {
    let origin = view.frame.origin();
    let low = angle.of(view.place_at(side.0), origin);
    let high = angle.of(view.place_at(side.1), origin);
    let length = side.0.distance(side.1);
    if !(low.is_finite() && high.is_finite()) || high <= low {
        return (Vec::new(), 1.0);
    }
    let fits = |step: &f64| {
        let apart = length * step / 3600.0 / (high - low);
        let width = font.width(&angle.words(high, *step), LABEL_SIZE, false);
        apart >= width + BETWEEN_LABELS && (high - low) * 3600.0 / step >= 1.0
    };
    let Some(step) = STEPS_ARCSEC.iter().rev().copied().find(|step| fits(step)) else {
        return (Vec::new(), 1.0);
    };
    let first = (low * 3600.0 / step).ceil() as i64;
    let last = (high * 3600.0 / step).floor() as i64;
    let ticks = (first..=last)
        .take(MOST_TICKS)
        .map(|count| count as f64 * step / 3600.0)
        .filter_map(|degrees| Some((degrees, crossing(view, side, angle, degrees)?)))
        .collect();
    (ticks, step)
}

/// Where an angle is met along a side, by halving: the angle grows along every side of a panel
/// that holds no pole.
fn crossing(view: &View, (from, to): (Point, Point), angle: Angle, degrees: f64) -> Option<Point> {
    let origin = view.frame.origin();
    let at = |share: f64| {
        Point::new(
            from.x + share * (to.x - from.x),
            from.y + share * (to.y - from.y),
        )
    };
    let value = |share: f64| angle.of(view.place_at(at(share)), origin);
    let (mut low, mut high) = (0.0, 1.0);
    if !(value(low) <= degrees && degrees <= value(high)) {
        return None;
    }
    for _ in 0..24 {
        let middle = f64::midpoint(low, high);
        if value(middle) <= degrees {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(at(low))
}
