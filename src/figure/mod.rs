//! Figures: one assessment as annotated sheets, in SVG, PNG and PDF.
//!
//! Three kinds of figure ([`FigureKind`]): *location* (the aerodromes around the area), *site* (the
//! area and what stands around it) and *section* (a vertical cut). Each is resolved into a
//! [`Scene`] first (projected marks, placed labels) and drawn after, so that all formats show the
//! same; the same assessment gives the same bytes.
//!
//! How to use it: [`resolve`] an assessment into a scene, then [`svg`], [`png()`] or [`pdf()`] of that.
//!
//! How it is made:
//! - A sheet is measured in units of 0.2 mm ([`crate::sheet`]); no text is smaller than 7 pt,
//!   [`crate::sheet::LEAST_TEXT`].
//! - `layout::Layout` divides it. A kind of figure draws its panel and strip
//!   (`location_panel`, `site_panel`, `section`); everything around it is the same for
//!   all kinds (`margin`, `legend`).
//! - A panel under construction is a `panel::Canvas` (points of the sheet: ink, lines, symbols,
//!   `keep_clear`, `want` a label, `finish`), or a `panel::Panel` when it is a map: a canvas with
//!   a `view::View` that takes places and points of the plane to the sheet.
//! - What a mark stands for is its [`scene::MarkKind`]; the legend has an entry for each kind in
//!   use. Pens, colours and text sizes are in `palette`.
//!
//! What a figure does not do: it computes nothing of its own that an answer rests on, and does not
//! draw characters outside Latin, Greek and Cyrillic (a replacement mark stands for them, and a
//! note says so).
//!
//! Not here: any number that is not in the [`Assessment`].

mod airspace;
mod area;
mod backdrop;
mod blocks;
mod ceiling;
mod clearance;
mod draw;
mod font;
mod governing;
mod graticule;
mod layout;
mod legend;
mod location_panel;
mod margin;
mod obstacles;
mod options;
mod paint;
mod palette;
mod panel;
mod pdf;
mod place;
mod plan_points;
mod reach;
mod rings;
mod scale;
pub mod scene;
mod section;
mod site_panel;
mod surfaces;
mod symbol;
mod view;
mod words;
mod zones;

pub use crate::sheet::FigureKind;
pub use backdrop::window as background_window;
pub use draw::{FINENESS as SVG_UNITS, document as svg, inline as inline_svg};
pub use font::style_sheet;
pub use options::{FigureOptions, MOST_PIXELS};
pub use paint::{encoded, picture, png};
pub use pdf::document as pdf;
pub use scene::Scene;

use crate::answer::Assessment;
use crate::error::Result;
use crate::frame::LocalFrame;
use font::Font;
use layout::Layout;
use scene::{Ink, MarkKind, Point, Rect};
use view::View;

/// The width of the white outline under texts that lie on a panel, sheet units.
const HALO_WIDTH: f64 = 3.2;

/// One kind of figure of an assessment resolved into marks and placed labels, before drawing.
///
/// # Errors
/// When the figure cannot be drawn: there is no section to cut, or the font is damaged.
pub fn resolve(
    assessment: &Assessment,
    kind: FigureKind,
    options: &FigureOptions,
) -> Result<Scene> {
    let font = Font::shipped()?;
    // A key that does not fit beside the panel takes some of its height, a step at a time.
    let mut most_numbers = usize::MAX;
    for share in KEY_SHARES {
        let (scene, key_rows) = laid_out(assessment, kind, options, font, (share, usize::MAX))?;
        if key_rows >= scene.key.len() {
            return Ok(scene);
        }
        // Two rows for the note that says so.
        most_numbers = key_rows.saturating_sub(2);
    }
    loop {
        let last = (MOST_KEY_SHARE, most_numbers);
        let (scene, key_rows) = laid_out(assessment, kind, options, font, last)?;
        if key_rows >= scene.key.len() || most_numbers == 0 {
            return Ok(scene);
        }
        most_numbers = key_rows.min(most_numbers - 1);
    }
}

/// The shares of the height of the panel that are tried for a key, least first.
const KEY_SHARES: [f64; 4] = [0.0, 0.14, 0.26, MOST_KEY_SHARE];
/// The share taken when none of these is enough; the key is then cut to it, and a note says so.
const MOST_KEY_SHARE: f64 = 0.38;

/// A scene on a sheet with a share of the panel given to a key of some numbers, and for how many
/// entries of it there is room.
fn laid_out(
    assessment: &Assessment,
    kind: FigureKind,
    options: &FigureOptions,
    font: &Font,
    (share, most_numbers): (f64, usize),
) -> Result<(Scene, usize)> {
    let layout = Layout::of(options.sheet, share);
    let title = options.title.as_deref().unwrap_or(&assessment.area.name);
    let mut scene = Scene::empty(kind, options.sheet, title.to_owned());
    scene.most_numbers = most_numbers;
    let paper = Ink::Fill(vec![outline(scene.outline())], palette::PAPER, 1.0);
    scene.mark(MarkKind::Sheet, None, paper);
    let mut notes = Vec::new();
    match kind {
        FigureKind::Section => {
            section::add(&mut scene, &layout, assessment, options, font, &mut notes)?;
        }
        FigureKind::Location | FigureKind::Site => {
            map(&mut scene, &layout, assessment, options, font, &mut notes);
        }
    }
    if names(assessment, options).any(|name| font.lacks_any(name)) {
        notes.push("Characters of names that its font lacks: \u{FFFD} stands for each".into());
    }
    scene.notes = notes;
    if kind != FigureKind::Section {
        // The axes of a section are its frame.
        let frame = Ink::Line(outline(layout.panel), palette::FRAME_PEN);
        scene.mark(MarkKind::Sheet, None, frame);
    }
    margin::head(&mut scene, layout.head, assessment, font);
    let key_rows = margin::blocks(&mut scene, &layout.columns, assessment, options, font);
    margin::caution(&mut scene, layout.caution, assessment, font);
    Ok((scene, key_rows))
}

/// Draws a map with its strip.
fn map(
    scene: &mut Scene,
    layout: &Layout,
    assessment: &Assessment,
    options: &FigureOptions,
    font: &Font,
    notes: &mut Vec<String>,
) {
    let frame = LocalFrame::about(assessment.area.middle);
    let Some(view) = view_of(assessment, scene.kind, frame, layout.panel) else {
        return;
    };
    let left_out = if scene.kind == FigureKind::Site {
        site_panel::add(scene, assessment, view, options, font, notes)
    } else {
        let site = site_panel::view(assessment, frame, layout.panel);
        location_panel::add(scene, assessment, view, &site, options, font, notes)
    };
    if left_out > 0 {
        let labels = if left_out == 1 { "label" } else { "labels" };
        notes.push(format!(
            "{left_out} {labels}, too many for this paper: ask for a larger --paper, or see the report"
        ));
    }
    scale::bars(scene, layout.strip, &view);
    scale::north(scene, layout.strip, &assessment.variation, font);
}

/// The view of a map in its panel; none for a section.
fn view_of(
    assessment: &Assessment,
    kind: FigureKind,
    frame: LocalFrame,
    panel: Rect,
) -> Option<View> {
    match kind {
        FigureKind::Site => Some(site_panel::view(assessment, frame, panel)),
        FigureKind::Location => Some(location_panel::view(assessment, frame, panel)),
        FigureKind::Section => None,
    }
}

/// All names that data or options bring into a figure.
fn names<'a>(
    assessment: &'a Assessment,
    options: &'a FigureOptions,
) -> impl Iterator<Item = &'a str> {
    let aerodromes = assessment.aerodromes.iter().map(|a| a.title.as_str());
    let obstacles = assessment
        .obstacles
        .iter()
        .chain(&assessment.surroundings)
        .map(|o| o.title.as_str());
    let typed = [
        &options.title,
        &options.number,
        &options.version,
        &options.applicant,
    ];
    aerodromes
        .chain(obstacles)
        .chain(typed.into_iter().flatten().map(String::as_str))
        .chain([
            assessment.area.name.as_str(),
            assessment.profile.title.as_str(),
        ])
}

/// The corners of a rectangle, the first again at the end.
fn outline(rect: Rect) -> Vec<Point> {
    vec![
        Point::new(rect.left, rect.top),
        Point::new(rect.right, rect.top),
        Point::new(rect.right, rect.bottom),
        Point::new(rect.left, rect.bottom),
        Point::new(rect.left, rect.top),
    ]
}
