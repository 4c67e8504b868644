//! From a scene to pixels, by tiny-skia, and to PNG bytes.
//!
//! Not here: any decision on what is shown; the same scene as SVG and PDF (see [`super::draw`],
//! [`mod@super::pdf`]).

use std::sync::Arc;

use png::{BitDepth, ColorType, DeflateCompression, Encoder, Filter, PixelDimensions, Unit};
use tiny_skia::{
    Color, FillRule, FilterQuality, LineCap, LineJoin, Mask, Paint, Path, PathBuilder, Pixmap,
    PixmapPaint, Stroke, StrokeDash, Transform,
};
use ttf_parser::OutlineBuilder;

use super::font::Font;
use super::scene::{Anchor, Colour, Ink, PanelName, Pen, Picture, Piece, Point, Rect, Scene, Text};
use super::{HALO_WIDTH, palette};
use crate::error::{Error, Result};

/// How hard PNG files are compressed, 1 to 9: beyond, a tenth less costs twice the time.
const EFFORT: u8 = 3;

/// A scene as a PNG file at a resolution in dots per inch, which the file states.
///
/// # Errors
/// When there is no room for so many pixels.
pub fn png(scene: &Scene, dpi: u32) -> Result<Vec<u8>> {
    let size = scene.sheet.size_px(dpi);
    let picture = picture(scene, scene.outline(), size)?;
    encoded(&picture, Some(dpi))
}

/// A part of a scene as a picture of a size in pixels.
///
/// # Errors
/// When there is no room for so many pixels.
pub fn picture(scene: &Scene, part: Rect, (width, height): (u32, u32)) -> Result<Picture> {
    let pixmap = Pixmap::new(width, height).ok_or_else(|| no_room(width, height))?;
    let across = f64::from(width) / part.width();
    let down = f64::from(height) / part.height();
    let to_pixels = Transform::from_row(
        across as f32,
        0.0,
        0.0,
        down as f32,
        (-part.left * across) as f32,
        (-part.top * down) as f32,
    );
    let mut painter = Painter {
        pixmap,
        to_pixels,
        font: Font::shipped()?,
        clips: Vec::new(),
    };
    painter.pixmap.fill(colour(palette::PAPER, 1.0));
    let mut chains: Option<Chains> = None;
    for piece in scene.pieces() {
        if let Ink::Line(points, pen) = piece.ink.as_ref() {
            let same = |it: &Chains| it.pen == *pen && it.panel == piece.panel;
            if !chains.as_ref().is_some_and(same) {
                painter.chains(scene, chains.take());
            }
            chains
                .get_or_insert_with(|| Chains::new(*pen, piece.panel))
                .push(points);
        } else {
            painter.chains(scene, chains.take());
            painter.piece(scene, &piece);
        }
    }
    painter.chains(scene, chains);
    Ok(Picture {
        width_px: width,
        height_px: height,
        // The paper is opaque: nothing is multiplied by an opacity.
        rgba: painter.pixmap.take(),
    })
}

fn no_room(width: u32, height: u32) -> Error {
    Error::new(
        format!("there is no room for a figure of {width} by {height} pixels"),
        "give a smaller --dpi, or write SVG",
    )
}

/// A picture as a PNG file; an opaque one without its opacity.
///
/// # Errors
/// When it has not as many pixels as it says.
pub fn encoded(picture: &Picture, dpi: Option<u32>) -> Result<Vec<u8>> {
    let pixels = picture.rgba.chunks_exact(4);
    let is_opaque = pixels.clone().all(|pixel| pixel.last() == Some(&255));
    let mut rgb = Vec::new();
    let data = if is_opaque {
        rgb.reserve_exact(picture.rgba.len() / 4 * 3);
        for pixel in pixels {
            rgb.extend(pixel.iter().take(3));
        }
        &rgb
    } else {
        &picture.rgba
    };
    let mut file = Vec::with_capacity(data.len() / 16);
    let mut encoder = Encoder::new(&mut file, picture.width_px, picture.height_px);
    encoder.set_color(if is_opaque {
        ColorType::Rgb
    } else {
        ColorType::Rgba
    });
    encoder.set_depth(BitDepth::Eight);
    // Flat colours repeat better as they are than as differences, and a quick search finds that.
    encoder.set_filter(Filter::NoFilter);
    encoder.set_deflate_compression(DeflateCompression::Level(EFFORT));
    if let Some(dpi) = dpi {
        let per_metre = (f64::from(dpi) / 0.0254).round() as u32;
        encoder.set_pixel_dims(Some(PixelDimensions {
            xppu: per_metre,
            yppu: per_metre,
            unit: Unit::Meter,
        }));
    }
    encoder
        .write_header()
        .and_then(|mut writer| {
            writer.write_image_data(data)?;
            writer.finish()
        })
        .map_err(|cause| {
            Error::new(
                format!("the PNG cannot be encoded: {cause}"),
                "write the figure as SVG",
            )
        })?;
    Ok(file)
}

/// Chains of one pen in one panel, drawn together.
struct Chains {
    pen: Pen,
    panel: Option<PanelName>,
    path: PathBuilder,
    bounds: Option<Rect>,
}

impl Chains {
    fn new(pen: Pen, panel: Option<PanelName>) -> Self {
        Self {
            pen,
            panel,
            path: PathBuilder::new(),
            bounds: None,
        }
    }

    fn push(&mut self, points: &[Point]) {
        chain(&mut self.path, points);
        self.bounds = super::panel::extent(
            points.iter().copied().chain(
                self.bounds
                    .into_iter()
                    .flat_map(|b| [b.corners()[0], b.corners()[2]]),
            ),
        );
    }
}

/// Adds a chain to a path, closed where it ends at its start.
fn chain(path: &mut PathBuilder, points: &[Point]) {
    let Some((first, rest)) = points.split_first() else {
        return;
    };
    path.move_to(first.x as f32, first.y as f32);
    let closes = rest.len() > 1 && rest.last() == Some(first);
    let open = rest.split_last().filter(|_| closes).map_or(rest, |it| it.1);
    for point in open {
        path.line_to(point.x as f32, point.y as f32);
    }
    if closes {
        path.close();
    }
}

struct Painter {
    pixmap: Pixmap,
    to_pixels: Transform,
    font: &'static Font,
    clips: Vec<(PanelName, Mask)>,
}

fn colour(colour: Colour, opacity: f64) -> Color {
    let opacity = (opacity.clamp(0.0, 1.0) * 255.0).round() as u8;
    Color::from_rgba8(colour.0, colour.1, colour.2, opacity)
}

fn paint(of: Colour, opacity: f64) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color(colour(of, opacity));
    paint
}

fn stroke(pen: &Pen) -> Stroke {
    let pattern = pen.dash.pattern();
    Stroke {
        width: pen.width as f32,
        line_cap: if pen.dash.is_round() {
            LineCap::Round
        } else {
            LineCap::Butt
        },
        line_join: LineJoin::Round,
        dash: StrokeDash::new(pattern.iter().map(|it| *it as f32).collect(), 0.0),
        ..Stroke::default()
    }
}

impl Painter {
    fn chains(&mut self, scene: &Scene, chains: Option<Chains>) {
        let Some(chains) = chains else { return };
        let reach = chains.bounds.map(|it| it.grown(chains.pen.width));
        if let Some(path) = chains.path.finish() {
            let clip = self.clip(scene, chains.panel, reach);
            self.stroked(&path, &chains.pen, clip);
        }
    }

    /// The clip of a panel, where it is needed: where the mark reaches beyond it.
    fn clip(
        &mut self,
        scene: &Scene,
        panel: Option<PanelName>,
        reach: Option<Rect>,
    ) -> Option<usize> {
        let panel = scene.panel(panel?)?;
        if reach.is_some_and(|reach| panel.rect.holds(&reach)) {
            return None;
        }
        let known = self.clips.iter().position(|(name, _)| *name == panel.name);
        known.or_else(|| {
            let mut mask = Mask::new(self.pixmap.width(), self.pixmap.height())?;
            let mut path = PathBuilder::new();
            let mut corners = panel.rect.corners().to_vec();
            corners.push(corners[0]);
            chain(&mut path, &corners);
            mask.fill_path(&path.finish()?, FillRule::Winding, true, self.to_pixels);
            self.clips.push((panel.name, mask));
            Some(self.clips.len() - 1)
        })
    }

    fn stroked(&mut self, path: &Path, pen: &Pen, clip: Option<usize>) {
        let mask = clip.and_then(|at| self.clips.get(at)).map(|it| &it.1);
        self.pixmap.stroke_path(
            path,
            &paint(pen.colour, 1.0),
            &stroke(pen),
            self.to_pixels,
            mask,
        );
    }

    fn filled(
        &mut self,
        path: &Path,
        (of, opacity): (Colour, f64),
        rule: FillRule,
        clip: Option<usize>,
    ) {
        let mask = clip.and_then(|at| self.clips.get(at)).map(|it| &it.1);
        self.pixmap
            .fill_path(path, &paint(of, opacity), rule, self.to_pixels, mask);
    }

    fn piece(&mut self, scene: &Scene, piece: &Piece) {
        match piece.ink.as_ref() {
            // Drawn with its like.
            Ink::Line(..) => {}
            Ink::Fill(rings, of, opacity) => {
                let mut path = PathBuilder::new();
                for ring in rings {
                    let mut closed = ring.clone();
                    closed.extend(ring.first().copied());
                    chain(&mut path, &closed);
                }
                let reach = super::panel::extent(rings.iter().flatten().copied());
                if let Some(path) = path.finish() {
                    let clip = self.clip(scene, piece.panel, reach);
                    self.filled(&path, (*of, *opacity), FillRule::EvenOdd, clip);
                }
            }
            Ink::Disc(centre, radius, of) => {
                if let Some(path) = circle(*centre, *radius) {
                    let clip = self.clip(scene, piece.panel, Some(Rect::around(*centre, *radius)));
                    self.filled(&path, (*of, 1.0), FillRule::Winding, clip);
                }
            }
            Ink::Circle(centre, radius, pen) => {
                if let Some(path) = circle(*centre, *radius) {
                    let reach = Rect::around(*centre, radius + pen.width);
                    let clip = self.clip(scene, piece.panel, Some(reach));
                    self.stroked(&path, pen, clip);
                }
            }
            Ink::Text(text) => self.text(text),
            Ink::Picture(rect, picture) => {
                let clip = self.clip(scene, piece.panel, Some(*rect));
                self.laid(rect, picture, clip);
            }
        }
    }

    fn text(&mut self, text: &Text) {
        let Some(path) = outline(self.font, text) else {
            return;
        };
        if text.halo {
            let halo = Pen::solid(palette::PAPER, HALO_WIDTH);
            self.stroked(&path, &halo, None);
        }
        self.filled(&path, (text.colour, 1.0), FillRule::Winding, None);
    }

    fn laid(&mut self, rect: &Rect, picture: &Arc<Picture>, clip: Option<usize>) {
        let Some(mut source) = Pixmap::new(picture.width_px, picture.height_px) else {
            return;
        };
        for (pixel, rgba) in source
            .pixels_mut()
            .iter_mut()
            .zip(picture.rgba.chunks_exact(4))
        {
            if let [red, green, blue, opacity] = *rgba {
                *pixel = tiny_skia::ColorU8::from_rgba(red, green, blue, opacity).premultiply();
            }
        }
        let place = Transform::from_row(
            (rect.width() / f64::from(picture.width_px)) as f32,
            0.0,
            0.0,
            (rect.height() / f64::from(picture.height_px)) as f32,
            rect.left as f32,
            rect.top as f32,
        );
        let how = PixmapPaint {
            quality: FilterQuality::Bilinear,
            ..PixmapPaint::default()
        };
        let place = place.post_concat(self.to_pixels);
        let mask = clip.and_then(|at| self.clips.get(at)).map(|it| &it.1);
        self.pixmap
            .draw_pixmap(0, 0, source.as_ref(), &how, place, mask);
    }
}

fn circle(centre: Point, radius: f64) -> Option<Path> {
    PathBuilder::from_circle(centre.x as f32, centre.y as f32, radius as f32)
}

/// The outline of a line of text on the sheet.
fn outline(font: &Font, text: &Text) -> Option<Path> {
    let face = font.face(text.bold);
    let scale = text.size / f64::from(face.units_per_em().max(1));
    let mut along = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -font.width(&text.text, text.size, text.bold) / 2.0,
        Anchor::End => -font.width(&text.text, text.size, text.bold),
    };
    let mut glyphs = Glyphs {
        path: PathBuilder::new(),
        origin: text.at,
        scale,
        upwards: text.upwards,
    };
    for (glyph, advance) in font.glyphs(&text.text, text.bold) {
        glyphs.origin = if text.upwards {
            text.at.shifted(0.0, -along)
        } else {
            text.at.shifted(along, 0.0)
        };
        face.outline_glyph(glyph, &mut glyphs);
        along += f64::from(advance) * scale;
    }
    glyphs.path.finish()
}

/// Collects outlines of glyphs from units of the font to those of the sheet.
struct Glyphs {
    path: PathBuilder,
    origin: Point,
    scale: f64,
    upwards: bool,
}

impl Glyphs {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        let (right, up) = (f64::from(x) * self.scale, f64::from(y) * self.scale);
        let at = if self.upwards {
            self.origin.shifted(-up, -right)
        } else {
            self.origin.shifted(right, -up)
        };
        (at.x as f32, at.y as f32)
    }
}

impl OutlineBuilder for Glyphs {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.path.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}
