//! Figures: one assessment as an annotated map, in SVG and PNG.
//!
//! Everything is resolved into a [`Scene`] first (projected marks, placed labels) and drawn after,
//! by plotters to SVG and from that by resvg to PNG, with a font that is shipped. The same
//! assessment gives the same bytes.
//!
//! What a figure does not do: it computes nothing of its own that an answer rests on, shows no
//! background map, and does not draw characters outside Latin, Greek and Cyrillic (a replacement
//! mark stands for them, and a note says so).
//!
//! Not here: any number that is not in the [`Assessment`].

mod airspace;
mod draw;
mod font;
mod governing;
mod graticule;
mod layout;
mod legend;
mod location_panel;
mod margin;
mod obstacles;
mod palette;
mod panel;
mod place;
mod raster;
mod reach;
mod rings;
mod scale;
pub mod scene;
mod site_panel;
mod surfaces;
mod symbol;
mod view;
mod words;
mod zones;

pub use raster::png;
pub use scene::Scene;

use crate::answer::Assessment;
use crate::error::{Error, Result};
use crate::frame::LocalFrame;
use font::Font;
use layout::{Layout, REFERENCE_HEIGHT, REFERENCE_WIDTH};
use scene::{Ink, MarkKind, PanelName, Point, Rect};

/// The largest width or height of a figure, pixels.
pub const LARGEST_SIDE_PX: u32 = 20_000;
/// The smallest width or height of a figure, pixels.
pub const SMALLEST_SIDE_PX: u32 = 200;
/// The most pixels of a figure: a picture in memory takes four bytes for each.
pub const MOST_PIXELS: u64 = 120_000_000;

/// What a figure may be told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FigureOptions {
    /// Width in pixels.
    pub width_px: u32,
    /// Height in pixels.
    pub height_px: u32,
    /// Title; the name of the area when none.
    pub title: Option<String>,
    /// Whether the zones of the profile are drawn.
    pub zones: bool,
    /// Whether the airspace volumes over and near the area are drawn.
    pub airspace: bool,
    /// Whether the obstacle limitation surfaces over the area are drawn.
    pub surfaces: bool,
}

impl Default for FigureOptions {
    /// 1600 by 1130 pixels: the proportions of an ISO 216 sheet on its side.
    fn default() -> Self {
        Self {
            width_px: 1600,
            height_px: 1130,
            title: None,
            zones: false,
            airspace: false,
            surfaces: false,
        }
    }
}

impl FigureOptions {
    fn checked(&self) -> Result<()> {
        let sides = [self.width_px, self.height_px];
        if sides.iter().any(|side| *side < SMALLEST_SIDE_PX) {
            return Err(Error::new(
                format!(
                    "a figure of {} by {} pixels is too small",
                    self.width_px, self.height_px
                ),
                format!("give at least {SMALLEST_SIDE_PX} pixels a side; 1600 by 1130 is usual"),
            ));
        }
        let pixels = u64::from(self.width_px) * u64::from(self.height_px);
        if sides.iter().any(|side| *side > LARGEST_SIDE_PX) || pixels > MOST_PIXELS {
            return Err(too_large(self.width_px, self.height_px));
        }
        Ok(())
    }
}

fn too_large(width: u32, height: u32) -> Error {
    Error::new(
        format!("a figure of {width} by {height} pixels is too large"),
        format!(
            "give at most {LARGEST_SIDE_PX} pixels a side and {} million in all, or write SVG",
            MOST_PIXELS / 1_000_000
        ),
    )
}

/// The figure of an assessment as an SVG document that carries its own font.
///
/// # Errors
/// When the size is below [`SMALLEST_SIDE_PX`], above [`LARGEST_SIDE_PX`] or [`MOST_PIXELS`].
pub fn svg(assessment: &Assessment, options: &FigureOptions) -> Result<String> {
    let scene = resolve(assessment, options)?;
    draw::document(&scene, title(assessment, options))
}

fn title<'a>(assessment: &'a Assessment, options: &'a FigureOptions) -> &'a str {
    options.title.as_deref().unwrap_or(&assessment.area.name)
}

/// The figure of an assessment resolved into marks and placed labels, before drawing.
///
/// # Errors
/// See [`svg`].
pub fn resolve(assessment: &Assessment, options: &FigureOptions) -> Result<Scene> {
    options.checked()?;
    let font = Font::shipped()?;
    let (width, height) = (f64::from(options.width_px), f64::from(options.height_px));
    let pixels_per_unit = (width / REFERENCE_WIDTH).min(height / REFERENCE_HEIGHT);
    let layout = Layout::of(width / pixels_per_unit, height / pixels_per_unit);
    let frame = LocalFrame::about(assessment.area.middle);
    let site = site_panel::view(assessment, frame, layout.site);
    let location = location_panel::view(assessment, frame, layout.location);
    let mut scene = Scene {
        width: width / pixels_per_unit,
        height: height / pixels_per_unit,
        pixels_per_unit,
        site: site.map(),
        location: location.map(),
        marks: Vec::new(),
        labels: Vec::new(),
        kept_clear: Vec::new(),
        legend: Vec::new(),
        notes: Vec::new(),
        labels_left_out: 0,
    };
    let sheet = Rect::new(0.0, 0.0, scene.width, scene.height);
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Fill(vec![outline(sheet)], palette::PAPER, 1.0),
    );
    graticule::add(&mut scene, PanelName::Site, &site, font);
    graticule::add(&mut scene, PanelName::Location, &location, font);
    let mut notes = Vec::new();
    let on_site = site_panel::add(&mut scene, assessment, site, options, font, &mut notes);
    let on_location = location_panel::add(
        &mut scene, assessment, location, &site, options, font, &mut notes,
    );
    for (name, count) in [("site", on_site), ("location", on_location)] {
        if count > 0 {
            let labels = if count == 1 { "label" } else { "labels" };
            notes.push(format!(
                "{count} {labels} of the {name} panel, for want of room"
            ));
        }
    }
    if names(assessment, options).any(|name| font.lacks_any(name)) {
        notes.push("Characters of names that its font lacks: \u{FFFD} stands for each".into());
    }
    scene.labels_left_out = on_site + on_location;
    scene.notes = notes;
    for panel in [layout.site, layout.location] {
        let frame = Ink::Line(outline(panel), palette::FRAME_PEN);
        scene.mark(MarkKind::Sheet, None, frame);
    }
    scale::bars(&mut scene, layout.site_strip, site.scale, 230.0);
    scale::north(&mut scene, layout.site_strip, &assessment.variation, font);
    scale::bars(&mut scene, layout.location_strip, location.scale, 190.0);
    margin::title(
        &mut scene,
        &layout,
        assessment,
        title(assessment, options),
        font,
    );
    let legend_end = legend::add(&mut scene, layout.side, assessment, font);
    let below = Rect {
        top: legend_end + 10.0,
        ..layout.side
    };
    margin::data(&mut scene, below, assessment, font);
    margin::caution(&mut scene, layout.caution, assessment, font);
    Ok(scene)
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
    aerodromes
        .chain(obstacles)
        .chain([title(assessment, options), assessment.area.name.as_str()])
        .chain([assessment.profile.title.as_str()])
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
