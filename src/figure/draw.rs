//! From a scene to SVG text, drawn by plotters.
//!
//! plotters counts in whole units, so the drawing is done at ten units to one of the sheet and the
//! view box brings it back. What plotters has no word for (dashes, clipping, halos) is inherited
//! from the groups that its elements are put into. Not here: any decision on what is shown.

use std::fmt::Write as _;

use plotters::coord::Shift;
use plotters::prelude::{
    Circle, Color, DrawingArea, FontDesc, FontFamily, FontStyle, FontTransform, IntoDrawingArea,
    PathElement, Polygon, RGBColor, SVGBackend, ShapeStyle, Text as TextElement, TextStyle,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::font;
use super::scene::{
    Anchor, Colour, Dash, Ink, Label, Mark, MarkKind, PanelName, Point, Scene, Text,
};
use super::{palette, scene};
use crate::error::{Error, Result};

/// Drawing units to a unit of the sheet.
const FINENESS: f64 = 10.0;
/// plotters writes a font size divided by this (its `draw_text` for SVG, version 0.3.7).
const FONT_SIZE_DIVISOR: f64 = 1.24;
/// plotters hangs a text `0.76em` below its point when told that the point is its top.
const TOP_TO_BASELINE: f64 = 0.76;

type Sheet<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// The scene as an SVG document.
///
/// # Errors
/// When the font cannot be registered, or plotters fails.
pub fn document(scene: &Scene, title: &str) -> Result<String> {
    register_font()?;
    let (width, height) = (scene.width * FINENESS, scene.height * FINENESS);
    let mut svg = String::with_capacity(400_000);
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.0}\" height=\"{:.0}\" \
         viewBox=\"0 0 {width:.0} {height:.0}\">\n<title>{}</title>\n<style>\n{}</style>\n<defs>\n",
        scene.width * scene.pixels_per_unit,
        scene.height * scene.pixels_per_unit,
        escaped(title),
        font::style_sheet(),
    );
    for (name, rect) in [
        (PanelName::Site, scene.site.rect),
        (PanelName::Location, scene.location.rect),
    ] {
        let _ = writeln!(
            svg,
            "<clipPath id=\"{name}\"><rect x=\"{:.0}\" y=\"{:.0}\" width=\"{:.0}\" \
             height=\"{:.0}\"/></clipPath>",
            rect.left * FINENESS,
            rect.top * FINENESS,
            rect.width() * FINENESS,
            rect.height() * FINENESS
        );
    }
    svg.push_str("</defs>\n");
    let mut rest = scene.marks.as_slice();
    while let Some(first) = rest.first() {
        let group = Group::of(first);
        let count = rest
            .iter()
            .take_while(|mark| Group::of(mark) == group)
            .count();
        let (now, later) = rest.split_at(count);
        rest = later;
        svg.push_str(&group.opening());
        svg.push_str(&drawn(scene, |sheet| {
            now.iter().try_for_each(|mark| ink(sheet, &mark.ink))
        })?);
        svg.push_str("</g>\n");
    }
    labels(scene, &mut svg)?;
    svg.push_str("</svg>\n");
    Ok(svg)
}

fn labels(scene: &Scene, svg: &mut String) -> Result<()> {
    let leaders = |label: &Label| {
        label
            .leader
            .map(|(from, to)| Ink::Line(vec![from, to], palette::LEADER_PEN))
    };
    svg.push_str("<g class=\"leaders\">\n");
    svg.push_str(&drawn(scene, |sheet| {
        scene
            .labels
            .iter()
            .filter_map(leaders)
            .try_for_each(|leader| ink(sheet, &leader))
    })?);
    svg.push_str("</g>\n");
    plates(svg, scene);
    svg.push_str(HALO);
    svg.push_str(&drawn(scene, |sheet| {
        scene
            .labels
            .iter()
            .flat_map(|label| &label.lines)
            .try_for_each(|line| text(sheet, line))
    })?);
    svg.push_str("</g>\n");
    Ok(())
}

/// White plates under the labels of the uncovered part, whose hatch an outline of the letters does
/// not keep back.
fn plates(svg: &mut String, scene: &Scene) {
    let plated = |label: &&Label| label.kind == MarkKind::Uncovered;
    for label in scene.labels.iter().filter(plated) {
        let _ = writeln!(
            svg,
            "<rect x=\"{:.0}\" y=\"{:.0}\" width=\"{:.0}\" height=\"{:.0}\" fill=\"#FFFFFF\" \
             fill-opacity=\"0.85\"/>",
            label.frame.left * FINENESS,
            label.frame.top * FINENESS,
            label.frame.width() * FINENESS,
            label.frame.height() * FINENESS,
        );
    }
}

/// The group whose texts have a white outline of 3 sheet units under them.
const HALO: &str = "<g stroke=\"#FFFFFF\" stroke-width=\"32\" stroke-linejoin=\"round\" \
                    paint-order=\"stroke\">\n";

/// What plotters cannot say of an element, and its group says instead.
#[derive(PartialEq)]
struct Group {
    panel: Option<PanelName>,
    dash: Dash,
    halo: bool,
}

impl Group {
    fn of(mark: &Mark) -> Self {
        let (dash, halo) = match &mark.ink {
            Ink::Line(_, pen) | Ink::Circle(_, _, pen) => (pen.dash, false),
            Ink::Text(text) => (Dash::Solid, text.halo),
            Ink::Fill(..) | Ink::Disc(..) => (Dash::Solid, false),
        };
        Self {
            panel: mark.panel,
            dash,
            halo,
        }
    }

    fn opening(&self) -> String {
        if self.halo {
            return HALO.to_owned();
        }
        let mut tag = "<g fill-rule=\"evenodd\" stroke-linejoin=\"round\"".to_owned();
        if let Some(panel) = self.panel {
            let _ = write!(tag, " clip-path=\"url(#{panel})\"");
        }
        tag.push_str(match self.dash {
            Dash::Solid => " stroke-linecap=\"round\"",
            Dash::Long => " stroke-dasharray=\"130 50\"",
            Dash::Short => " stroke-dasharray=\"60 35\"",
            Dash::Dots => " stroke-linecap=\"round\" stroke-dasharray=\"1 40\"",
            Dash::DashDot => " stroke-dasharray=\"110 40 20 40\"",
            Dash::DashDotDot => " stroke-dasharray=\"150 35 15 35 15 35\"",
            Dash::LongShort => " stroke-dasharray=\"300 40 70 40\"",
        });
        tag.push_str(">\n");
        tag
    }
}

/// What plotters draws, without the root element it is wrapped in.
fn drawn(scene: &Scene, draw: impl FnOnce(&Sheet) -> Result<()>) -> Result<String> {
    let mut text = String::new();
    let size = (
        (scene.width * FINENESS) as u32,
        (scene.height * FINENESS) as u32,
    );
    {
        let sheet = SVGBackend::with_string(&mut text, size).into_drawing_area();
        draw(&sheet)?;
        sheet.present().map_err(|cause| failed(&cause))?;
    }
    let inner = text
        .split_once(">\n")
        .and_then(|(_root, rest)| rest.strip_suffix("</svg>\n"))
        .ok_or_else(|| failed(&"its SVG is not one root element"))?;
    Ok(inner.to_owned())
}

fn failed(cause: &dyn std::fmt::Display) -> Error {
    Error::new(
        format!("the figure cannot be drawn: {cause}"),
        "leave the figure out and report the input",
    )
}

fn rgb(colour: Colour) -> RGBColor {
    RGBColor(colour.0, colour.1, colour.2)
}

/// Whole drawing units, within what an SVG renderer can keep exactly.
fn units(value: f64) -> i32 {
    (value * FINENESS).round().clamp(-1e6, 1e6) as i32
}

fn at(point: Point) -> (i32, i32) {
    (units(point.x), units(point.y))
}

fn stroke(pen: &scene::Pen) -> ShapeStyle {
    rgb(pen.colour).stroke_width((pen.width * FINENESS).round().max(1.0) as u32)
}

fn ink(sheet: &Sheet, ink: &Ink) -> Result<()> {
    let outcome = match ink {
        Ink::Line(points, pen) => {
            let points: Vec<_> = points.iter().copied().map(at).collect();
            sheet.draw(&PathElement::new(points, stroke(pen)))
        }
        Ink::Fill(rings, colour, opacity) => {
            let style = rgb(*colour).mix(*opacity).filled();
            sheet.draw(&Polygon::new(keyhole(rings), style))
        }
        Ink::Disc(centre, radius, colour) => sheet.draw(&Circle::new(
            at(*centre),
            units(*radius).max(1),
            rgb(*colour).filled(),
        )),
        Ink::Circle(centre, radius, pen) => sheet.draw(&Circle::new(
            at(*centre),
            units(*radius).max(1),
            stroke(pen),
        )),
        Ink::Text(line) => return text(sheet, line),
    };
    outcome.map_err(|cause| failed(&cause))
}

/// All rings as one chain that returns to its first point after each: the ways there and back have
/// no inside by the even–odd rule.
fn keyhole(rings: &[Vec<Point>]) -> Vec<(i32, i32)> {
    let mut chain = Vec::new();
    let start = rings.first().and_then(|ring| ring.first()).copied();
    for ring in rings {
        chain.extend(ring.iter().copied().map(at));
        chain.extend(ring.first().copied().map(at));
        chain.extend(start.map(at));
    }
    chain
}

fn text(sheet: &Sheet, line: &Text) -> Result<()> {
    let drop = TOP_TO_BASELINE * line.size;
    let (place, transform) = if line.upwards {
        (line.at.shifted(-drop, 0.0), FontTransform::Rotate270)
    } else {
        (line.at.shifted(0.0, -drop), FontTransform::None)
    };
    let weight = if line.bold {
        FontStyle::Bold
    } else {
        FontStyle::Normal
    };
    let h_pos = match line.anchor {
        Anchor::Start => HPos::Left,
        Anchor::Middle => HPos::Center,
        Anchor::End => HPos::Right,
    };
    let size = line.size * FINENESS * FONT_SIZE_DIVISOR;
    let colour = rgb(line.colour);
    let style = TextStyle::from(
        FontDesc::new(FontFamily::Name(font::FAMILY), size, weight).transform(transform),
    )
    .color(&colour)
    .pos(Pos::new(h_pos, VPos::Top));
    sheet
        .draw(&TextElement::new(line.text.as_str(), at(place), style))
        .map_err(|cause| failed(&cause))
}

/// Makes the shipped font known to plotters, so that it never looks for one of the system.
fn register_font() -> Result<()> {
    for (style, bytes) in [
        (FontStyle::Normal, font::REGULAR),
        (FontStyle::Bold, font::BOLD),
    ] {
        plotters::style::register_font(font::FAMILY, style, bytes)
            .map_err(|_invalid| font::broken("plotters refuses it"))?;
    }
    Ok(())
}

fn escaped(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control() && !is_invisible(*c))
        .fold(String::with_capacity(text.len()), |mut out, c| {
            match c {
                '<' => out.push_str("&lt;"),
                '>' => out.push_str("&gt;"),
                '&' => out.push_str("&amp;"),
                c => out.push(c),
            }
            out
        })
}

/// No characters of XML, and those that turn the direction of text or hide in it (Unicode Technical
/// Report 36, section 2.3; from memory).
fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{61C}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{FFFE}' | '\u{FFFF}')
}
