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
//! - `layout::Layout` divides it; a key that it has no room for goes on to sheets of its own
//!   ([`Scene::sheets`]). A kind of figure draws its panel and strip
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
mod inset;
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
use blocks::Room;
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
    // A key that does not fit beside the panel takes some of its height, a step at a time; where
    // that is not enough it has sheets of its own, and the panel its height again.
    for key_is_apart in [false, true] {
        for share in KEY_SHARES {
            let (scene, room) = laid_out(assessment, kind, options, font, (share, key_is_apart))?;
            let holds_key = key_is_apart || room.rows_of_last >= scene.key.len();
            if room.holds_the_rest && holds_key {
                return Ok(scene);
            }
        }
    }
    Ok(laid_out(assessment, kind, options, font, (MOST_KEY_SHARE, true))?.0)
}

/// The shares of the height of the panel that are tried for a key, least first.
const KEY_SHARES: [f64; 4] = [0.0, 0.14, 0.26, MOST_KEY_SHARE];
/// The greatest of them.
const MOST_KEY_SHARE: f64 = 0.38;

/// A scene on a sheet with a share of the panel given to its key, or with sheets for that, and what
/// there was room for.
fn laid_out(
    assessment: &Assessment,
    kind: FigureKind,
    options: &FigureOptions,
    font: &Font,
    (share, key_is_apart): (f64, bool),
) -> Result<(Scene, Room)> {
    let mut layout = Layout::of(options.sheet, share);
    if kind == FigureKind::Location {
        layout = layout.with_inset(options.sheet);
    }
    let mut scene = empty(assessment, kind, options);
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
    if key_is_apart {
        scene.key_sheets = key_sheets(&scene, assessment, options, font);
    }
    margin::head(&mut scene, layout.head, assessment, None, font);
    let room = margin::blocks(&mut scene, &layout.columns, assessment, options, font);
    margin::caution(&mut scene, layout.caution, assessment, font);
    Ok((scene, room))
}

/// Blank paper of a figure.
fn empty(assessment: &Assessment, kind: FigureKind, options: &FigureOptions) -> Scene {
    let title = options.title.as_deref().unwrap_or(&assessment.area.name);
    let mut scene = Scene::empty(kind, options.sheet, title.to_owned());
    let paper = Ink::Fill(vec![outline(scene.outline())], palette::PAPER, 1.0);
    scene.mark(MarkKind::Sheet, None, paper);
    scene
}

/// The key of a scene on as many sheets as it takes.
fn key_sheets(
    of: &Scene,
    assessment: &Assessment,
    options: &FigureOptions,
    font: &Font,
) -> Vec<Scene> {
    let layout = Layout::of(options.sheet, 0.0);
    let columns = layout::key_columns(options.sheet);
    let mut sheets = Vec::new();
    let mut rest = of.key.as_slice();
    while !rest.is_empty() {
        let mut sheet = empty(assessment, of.kind, options);
        sheet.key = rest.to_vec();
        let rows = margin::key_blocks(&mut sheet, &columns, assessment, options, font);
        // A sheet has room for a row, and the end is reached whatever its size.
        let (here, after) = rest.split_at(rows.clamp(1, rest.len()));
        sheet.key = here.to_vec();
        rest = after;
        sheets.push(sheet);
    }
    let count = sheets.len() + 1;
    for (index, sheet) in sheets.iter_mut().enumerate() {
        margin::head(
            sheet,
            layout.head,
            assessment,
            Some((index + 2, count)),
            font,
        );
        margin::caution(sheet, layout.caution, assessment, font);
    }
    sheets
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
        let left_out = location_panel::add(scene, assessment, view, &site, options, font, notes);
        let in_inset = layout
            .inset
            .map_or(0, |rect| inset::add(scene, rect, assessment, &view, font));
        left_out + in_inset
    };
    if left_out > 0 {
        let labels = if left_out == 1 { "label" } else { "labels" };
        notes.push(format!(
            "{left_out} {labels} without room even for a number: ask for a larger --paper, or see the report"
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
