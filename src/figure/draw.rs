//! From a scene to SVG text, drawn by plotters.
//!
//! plotters counts in whole units, so the drawing is done at ten units to one of the sheet and the
//! view box brings it back. What plotters has no word for (dashes, clipping, halos) is inherited
//! from the groups that its elements are put into. Not here: any decision on what is shown.

use std::fmt::Write as _;

use base64::Engine as _;
use plotters::coord::Shift;
use plotters::prelude::{
    Circle, Color, DrawingArea, FontDesc, FontFamily, FontStyle, FontTransform, IntoDrawingArea,
    PathElement, Polygon, RGBColor, SVGBackend, ShapeStyle, Text as TextElement, TextStyle,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::paint::encoded;
use super::scene::{self, Anchor, Colour, Dash, Ink, MarkKind, Piece, Point, Scene, Text};
use super::{HALO_WIDTH, font};
use crate::error::{Error, Result};

/// Drawing units to a unit of the sheet.
pub const FINENESS: f64 = 10.0;
/// plotters writes a font size divided by this (its `draw_text` for SVG, version 0.3.7).
const FONT_SIZE_DIVISOR: f64 = 1.24;
/// plotters hangs a text `0.76em` below its point when told that the point is its top.
const TOP_TO_BASELINE: f64 = 0.76;

type Sheet<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// A scene as an SVG document of the size of its paper, which carries its own font.
///
/// # Errors
/// When the font cannot be registered, or plotters fails.
pub fn document(scene: &Scene) -> Result<String> {
    let (width_mm, height_mm) = scene.sheet.size_mm();
    element(
        scene,
        &format!(" width=\"{width_mm}mm\" height=\"{height_mm}mm\""),
        font::style_sheet(),
        "",
    )
}

/// A scene as an SVG element for a page that carries the font ([`font::style_sheet`]) and other
/// drawings: it has no size of its own, and the ids in it begin with `prefix` and a hyphen.
///
/// # Errors
/// See [`document`].
pub fn inline(scene: &Scene, prefix: &str) -> Result<String> {
    element(scene, "", "", &format!("{prefix}-"))
}

fn element(scene: &Scene, size: &str, style: &str, prefix: &str) -> Result<String> {
    register_font()?;
    let (width, height) = scene.sheet.size_units();
    let (width, height) = (width * FINENESS, height * FINENESS);
    let mut svg = String::with_capacity(400_000);
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {width:.0} {height:.0}\">\n\
         <title>{}</title>\n",
        escaped(&scene.title),
    );
    if !style.is_empty() {
        let _ = write!(svg, "<style>\n{style}</style>\n");
    }
    svg.push_str("<defs>\n");
    for panel in &scene.panels {
        let (name, rect) = (panel.name, panel.rect);
        let _ = writeln!(
            svg,
            "<clipPath id=\"{prefix}{name}\"><rect x=\"{:.0}\" y=\"{:.0}\" width=\"{:.0}\" \
             height=\"{:.0}\"/></clipPath>",
            rect.left * FINENESS,
            rect.top * FINENESS,
            rect.width() * FINENESS,
            rect.height() * FINENESS
        );
    }
    svg.push_str("</defs>\n");
    let pieces: Vec<Piece> = scene.pieces().collect();
    for in_panel in pieces.chunk_by(|a, b| a.panel == b.panel && a.is_label == b.is_label) {
        match in_panel.first() {
            // Labels lie in their panel; a clip would only cost.
            Some(Piece {
                panel: Some(panel),
                is_label: false,
                ..
            }) => {
                let _ = writeln!(svg, "<g clip-path=\"url(#{prefix}{panel})\">");
            }
            _ => svg.push_str("<g>\n"),
        }
        for alike in in_panel.chunk_by(|a, b| Group::of(a) == Group::of(b)) {
            if let Some(first) = alike.first() {
                group(scene, &Group::of(first), alike, &mut svg)?;
            }
        }
        svg.push_str("</g>\n");
    }
    svg.push_str("</svg>\n");
    Ok(svg)
}

fn group(scene: &Scene, group: &Group, pieces: &[Piece], svg: &mut String) -> Result<()> {
    svg.push_str(&group.opening());
    if group.is_picture {
        for piece in pieces {
            picture(&piece.ink, svg)?;
        }
    } else {
        svg.push_str(&drawn(scene, |sheet| {
            pieces.iter().try_for_each(|piece| ink(sheet, &piece.ink))
        })?);
    }
    svg.push_str("</g>\n");
    Ok(())
}

/// A picture carried inside the document.
fn picture(ink: &Ink, svg: &mut String) -> Result<()> {
    if let Ink::Picture(rect, picture) = ink {
        let data = base64::engine::general_purpose::STANDARD.encode(encoded(picture, None)?);
        let _ = writeln!(
            svg,
            "<image x=\"{:.0}\" y=\"{:.0}\" width=\"{:.0}\" height=\"{:.0}\" \
             preserveAspectRatio=\"none\" href=\"data:image/png;base64,{data}\"/>",
            rect.left * FINENESS,
            rect.top * FINENESS,
            rect.width() * FINENESS,
            rect.height() * FINENESS,
        );
    }
    Ok(())
}

/// What plotters cannot say of an element, and its group says instead.
#[derive(PartialEq)]
struct Group {
    kind: MarkKind,
    dash: Dash,
    halo: bool,
    is_label: bool,
    is_picture: bool,
}

impl Group {
    fn of(piece: &Piece) -> Self {
        let (dash, halo) = match piece.ink.as_ref() {
            Ink::Line(_, pen) | Ink::Circle(_, _, pen) => (pen.dash, false),
            Ink::Text(text) => (Dash::Solid, text.halo),
            Ink::Fill(..) | Ink::Disc(..) | Ink::Picture(..) => (Dash::Solid, false),
        };
        Self {
            kind: piece.kind,
            dash,
            halo,
            is_label: piece.is_label,
            is_picture: matches!(*piece.ink, Ink::Picture(..)),
        }
    }

    /// The opening tag: the kind as its class, the dash, the white outline of texts.
    fn opening(&self) -> String {
        let mut tag = format!("<g class=\"{}", self.kind.name());
        if self.is_label {
            tag.push_str(" label");
        }
        tag.push('"');
        if self.halo {
            let _ = write!(
                tag,
                " stroke=\"#FFFFFF\" stroke-width=\"{:.0}\" stroke-linejoin=\"round\" \
                 paint-order=\"stroke\"",
                HALO_WIDTH * FINENESS
            );
        } else {
            tag.push_str(" fill-rule=\"evenodd\" stroke-linejoin=\"round\"");
        }
        if self.dash.is_round() && !self.halo {
            tag.push_str(" stroke-linecap=\"round\"");
        }
        let pattern: Vec<String> = self
            .dash
            .pattern()
            .iter()
            .map(|length| format!("{:.0}", length * FINENESS))
            .collect();
        if !pattern.is_empty() {
            let _ = write!(tag, " stroke-dasharray=\"{}\"", pattern.join(" "));
        }
        tag.push_str(">\n");
        tag
    }
}

/// What plotters draws, without the root element it is wrapped in.
fn drawn(scene: &Scene, draw: impl FnOnce(&Sheet) -> Result<()>) -> Result<String> {
    let mut text = String::new();
    let (width, height) = scene.sheet.size_units();
    let size = ((width * FINENESS) as u32, (height * FINENESS) as u32);
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
        // Not drawn by plotters.
        Ink::Picture(..) => return Ok(()),
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
