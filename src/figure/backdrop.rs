//! A background picture under a map: how much of the plane it must cover, and how faint it is.
//!
//! Not here: reading it (see [`crate::read::Background`]).

use std::sync::Arc;

use super::layout::Layout;
use super::options::FigureOptions;
use super::palette;
use super::panel::Panel;
use super::scene::{Colour, Ink, MarkKind, Picture, Rect};
use super::view::Bounds;
use super::{KEY_SHARES, view_of};
use crate::answer::Assessment;
use crate::frame::LocalFrame;
use crate::read::{Background, BackgroundWindow};
use crate::sheet::{FigureKind, UNIT_MM};

/// The resolution of backgrounds, dots per inch: they are faint, and photographs have little more.
const DPI: f64 = 150.0;
/// How much of its contrast to the paper a background keeps.
const STRENGTH: f64 = 0.4;

/// What a background of a map must cover: the panel, however much of it the key takes. None for a
/// section.
#[must_use]
pub fn window(
    assessment: &Assessment,
    kind: FigureKind,
    options: &FigureOptions,
) -> Option<BackgroundWindow> {
    let frame = LocalFrame::about(assessment.area.middle);
    let views = KEY_SHARES.into_iter().filter_map(|share| {
        let rect = Layout::of(options.sheet, share).panel;
        view_of(assessment, kind, frame, rect)
    });
    let mut scale = 0f64;
    let corners = views.flat_map(|view| {
        scale = scale.max(view.scale);
        let window = view.window();
        [window.low, window.high]
    });
    let bounds = Bounds::of(corners.collect::<Vec<_>>())?;
    // Sheet units to a metre, pixels to a sheet unit.
    let px_per_metre = scale * UNIT_MM / 25.4 * DPI;
    let px = |metres: f64| (metres * px_per_metre).ceil().clamp(1.0, 1e5) as u32;
    Some(BackgroundWindow {
        frame,
        low: bounds.low,
        high: bounds.high,
        width_px: px(bounds.high.x - bounds.low.x),
        height_px: px(bounds.high.y - bounds.low.y),
    })
}

/// Draws a background in its place, faded towards the paper, or notes that it is elsewhere.
pub fn add(panel: &mut Panel, background: &Background, notes: &mut Vec<String>) {
    if !background.reaches() {
        notes.push(format!(
            "The background: {} does not reach this map",
            background.file
        ));
        return;
    }
    let Colour(red, green, blue) = palette::PAPER;
    let faded = |value: u8, paper: u8| {
        let paper = f64::from(paper);
        (paper + STRENGTH * (f64::from(value) - paper)).round() as u8
    };
    let rgba = background
        .rgba
        .chunks_exact(4)
        .flat_map(|pixel| match *pixel {
            [r, g, b, opacity] => [faded(r, red), faded(g, green), faded(b, blue), opacity],
            _ => [0; 4],
        })
        .collect();
    let (low, high) = (
        panel.view.on_sheet(background.low),
        panel.view.on_sheet(background.high),
    );
    let picture = Picture {
        width_px: background.width_px,
        height_px: background.height_px,
        rgba,
    };
    panel.ink(
        MarkKind::Background,
        Ink::Picture(Rect::new(low.x, high.y, high.x, low.y), Arc::new(picture)),
    );
}
