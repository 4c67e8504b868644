//! The section figure: a vertical cut through the site, exaggerated in height as it says.
//!
//! Not here: what the cut meets (see [`crate::answer::SectionAnswer`]) and the sheet around it (see
//! [`super::layout`]).

mod axes;
mod dimension;
mod governs;
mod ground;
pub mod legend;
mod obstacles;
pub mod on_site;
mod overhead;
mod plot;
mod words;

use super::font::Font;
use super::layout::Layout;
use super::options::FigureOptions;
use super::palette as p;
use super::panel::Canvas;
use super::place::Wanted;
use super::scene::{Ink, MarkKind, PanelFrame, PanelName, Plane, Point, Rect, Scene};
use crate::answer::{Assessment, SectionAnswer};
use crate::error::{Error, Result};
use plot::Plot;

/// Draws the panel and the strip of a section figure, and adds what it leaves out to `notes`.
///
/// # Errors
/// When the assessment holds no section.
pub fn add(
    scene: &mut Scene,
    layout: &Layout,
    assessment: &Assessment,
    options: &FigureOptions,
    font: &Font,
    notes: &mut Vec<String>,
) -> Result<()> {
    let section = assessment.section.as_ref().ok_or_else(|| {
        Error::new(
            "the section figure cannot be drawn: no section was cut",
            "add --section governing",
        )
    })?;
    let room = Rect::new(
        layout.panel.left + axes::BESIDE,
        layout.panel.top + axes::ABOVE,
        layout.panel.right - axes::BESIDE,
        layout.panel.bottom - axes::BELOW,
    );
    let plot = Plot::of(section, room).ok_or_else(|| {
        Error::new(
            "the section figure cannot be drawn: the cut has no length",
            "choose another cut with --section",
        )
    })?;
    let frame = PanelFrame {
        name: PanelName::Section,
        rect: plot.rect,
        plane: Plane::Section(plot.axes()),
    };
    let mut canvas = Canvas::new(frame, scene, font);
    ground::area(&mut canvas, &plot, section);
    ground::undetermined(&mut canvas, &plot, section);
    ground::add(&mut canvas, &plot, section);
    ground::area_bar(&mut canvas, &plot, section);
    overhead::add(&mut canvas, &plot, section, options, notes);
    bends(&mut canvas, &plot, section);
    obstacles::add(&mut canvas, &plot, section, notes);
    overhead::wish(&mut canvas, &plot, section);
    governs::ceiling(&mut canvas, &plot, section);
    governs::heights(&mut canvas, &plot, section);
    governs::add(&mut canvas, &plot, section);
    landmarks(&mut canvas, &plot, section);
    let left_out = canvas.finish();
    if left_out > 0 {
        let labels = if left_out == 1 { "label" } else { "labels" };
        notes.push(format!("{left_out} {labels}, for want of room"));
    }
    axes::add(scene, &plot, section);
    axes::scales(scene, layout.strip, &plot, section, font);
    Ok(())
}

/// Where the cut bends: a thin line up, with the bearing from there on.
fn bends(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    for leg in section.legs.iter().skip(1) {
        let x = plot.at(leg.at_m.m(), 0.0).x;
        let (top, foot) = (plot.rect.top, plot.rect.bottom);
        let line = vec![Point::new(x, top), Point::new(x, foot)];
        canvas.lines(MarkKind::SectionLine, &[line], p::BEND_PEN);
        let words = vec![format!("bends to {}", words::bearing(leg))];
        let at = vec![Point::new(x, top + 14.0), Point::new(x, top + 34.0)];
        let mut label = Wanted::new(MarkKind::SectionLine, words, at, 75);
        label.size = p::SMALL;
        label.clear = 2.0;
        canvas.want(label);
    }
}

/// What the cut leads to.
fn landmarks(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    for landmark in &section.landmarks {
        let at_m = landmark.at_m.m();
        let ground = section
            .stations
            .iter()
            .rfind(|station| station.at_m.m() <= at_m)
            .and_then(|station| station.ground_high_m);
        let level = ground.unwrap_or(plot.low_m + plot.metres_up(30.0));
        let foot = plot.at(at_m, level);
        let top = foot.shifted(0.0, -26.0);
        let pen = super::scene::Pen::solid(p::AERODROME, 2.0);
        canvas.ink(MarkKind::Aerodrome, Ink::Line(vec![foot, top], pen));
        canvas.symbol(
            MarkKind::Aerodrome,
            top,
            vec![Ink::Disc(top, 4.0, p::AERODROME)],
            6.0,
        );
        let mut words = vec![landmark.title.clone()];
        if landmark.offset_m.m().abs() >= 1.0 {
            words.push(words::aside(landmark.offset_m));
        }
        let mut label = Wanted::new(MarkKind::Aerodrome, words, vec![top], 34);
        label.colour = p::AERODROME;
        label.clear = 6.0;
        canvas.want(label);
    }
}
