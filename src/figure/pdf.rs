//! From a scene to a PDF of the size of its paper: text as text, in a subset of the shipped font.
//!
//! There is no date and no random identifier in it, so the same scene gives the same bytes. Not
//! here: any decision on what is shown; the same scene as SVG and pixels (see [`super::draw`],
//! [`super::paint`]).

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use pdf_writer::types::{
    CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo, TextRenderingMode, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect as PdfRect, Ref, Str, TextStr};
use subsetter::GlyphRemapper;

use super::font::{self, Font};
use super::scene::{Anchor, Colour, Ink, PanelName, Pen, Picture, Point, Rect, Scene, Text};
use super::{HALO_WIDTH, palette};
use crate::error::{Error, Result};
use crate::sheet::UNIT_MM;

/// Points of 1 ⁄ 72 inch to a unit of the sheet.
const POINTS_PER_UNIT: f64 = UNIT_MM / 25.4 * 72.0;
/// A quarter of a circle by one Bézier curve: its handles, of the radius; off by 0.03 % of it.
const HANDLE: f64 = 0.552_284_75;
/// How hard streams are compressed, 0 to 10.
const EFFORT: u8 = 7;

const SYSTEM: SystemInfo = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// A scene as a PDF document: a page for each of its sheets.
///
/// # Errors
/// When the font compiled in cannot be cut down.
pub fn document(scene: &Scene) -> Result<Vec<u8>> {
    let font = Font::shipped()?;
    let mut page = Page {
        scene,
        font,
        content: Content::new(),
        drawn: Vec::new(),
        clip: None,
        used: [BTreeMap::new(), BTreeMap::new()],
        remappers: [GlyphRemapper::new(), GlyphRemapper::new()],
        opacities: BTreeSet::new(),
        pictures: Vec::new(),
    };
    for sheet in scene.sheets() {
        page.scene = sheet;
        page.draw();
        let drawn = std::mem::replace(&mut page.content, Content::new());
        page.drawn.push(packed(drawn.finish().as_slice()));
    }
    page.finish()
}

/// The sheet being drawn, and what all sheets share.
struct Page<'a> {
    scene: &'a Scene,
    font: &'static Font,
    content: Content,
    /// The sheets that are done.
    drawn: Vec<Vec<u8>>,
    /// The panel that clips what is drawn now.
    clip: Option<PanelName>,
    /// New glyph, its character and its width in thousandths of the em: regular and bold.
    used: [BTreeMap<u16, (char, f64)>; 2],
    remappers: [GlyphRemapper; 2],
    /// Opacities in use, percent.
    opacities: BTreeSet<u8>,
    pictures: Vec<Arc<Picture>>,
}

const FACES: [(&[u8], &[u8]); 2] = [(b"F0", font::REGULAR), (b"F1", font::BOLD)];

impl Page<'_> {
    fn draw(&mut self) {
        let (_, height) = self.scene.sheet.size_units();
        let scale = POINTS_PER_UNIT as f32;
        self.content.transform([
            scale,
            0.0,
            0.0,
            -scale,
            0.0,
            (height * POINTS_PER_UNIT) as f32,
        ]);
        self.content.set_line_join(LineJoinStyle::RoundJoin);
        let scene = self.scene;
        for piece in scene.pieces() {
            self.clip_to(if piece.is_label { None } else { piece.panel });
            match piece.ink.as_ref() {
                Ink::Line(points, pen) => {
                    self.pen(pen);
                    self.chain(points);
                    self.content.stroke();
                }
                Ink::Fill(rings, colour, opacity) => {
                    self.fill_colour(*colour);
                    let percent = self.opacity(*opacity);
                    for ring in rings {
                        self.chain(ring);
                        self.content.close_path();
                    }
                    self.content.fill_even_odd();
                    self.opaque_again(percent);
                }
                Ink::Disc(centre, radius, colour) => {
                    self.fill_colour(*colour);
                    self.circle(*centre, *radius);
                    self.content.fill_nonzero();
                }
                Ink::Circle(centre, radius, pen) => {
                    self.pen(pen);
                    self.circle(*centre, *radius);
                    self.content.stroke();
                }
                Ink::Text(text) => self.text(text),
                Ink::Picture(rect, picture) => self.picture(rect, picture),
            }
        }
        self.clip_to(None);
    }

    fn clip_to(&mut self, panel: Option<PanelName>) {
        if self.clip == panel {
            return;
        }
        if self.clip.take().is_some() {
            self.content.restore_state();
        }
        if let Some(frame) = panel.and_then(|name| self.scene.panel(name)) {
            let rect = frame.rect;
            self.content.save_state();
            self.content.rect(
                rect.left as f32,
                rect.top as f32,
                rect.width() as f32,
                rect.height() as f32,
            );
            self.content.clip_nonzero().end_path();
            self.clip = panel;
        }
    }

    fn pen(&mut self, pen: &Pen) {
        let [red, green, blue] = parts(pen.colour);
        self.content.set_stroke_rgb(red, green, blue);
        self.content.set_line_width(pen.width as f32);
        self.content.set_line_cap(if pen.dash.is_round() {
            LineCapStyle::RoundCap
        } else {
            LineCapStyle::ButtCap
        });
        let pattern = pen.dash.pattern().iter().map(|length| *length as f32);
        self.content.set_dash_pattern(pattern, 0.0);
    }

    fn fill_colour(&mut self, colour: Colour) {
        let [red, green, blue] = parts(colour);
        self.content.set_fill_rgb(red, green, blue);
    }

    /// Sets an opacity for what follows; returns it in percent.
    fn opacity(&mut self, opacity: f64) -> u8 {
        let percent = (opacity.clamp(0.0, 1.0) * 100.0).round() as u8;
        if percent < 100 {
            self.opacities.insert(percent);
            self.content
                .set_parameters(Name(format!("O{percent}").as_bytes()));
        }
        percent
    }

    fn opaque_again(&mut self, percent: u8) {
        if percent < 100 {
            self.opacities.insert(100);
            self.content.set_parameters(Name(b"O100"));
        }
    }

    fn chain(&mut self, points: &[Point]) {
        let Some((first, rest)) = points.split_first() else {
            return;
        };
        self.content.move_to(first.x as f32, first.y as f32);
        for point in rest {
            self.content.line_to(point.x as f32, point.y as f32);
        }
    }

    fn circle(&mut self, centre: Point, radius: f64) {
        let at = |x: f64, y: f64| {
            let point = centre.shifted(x * radius, y * radius);
            (point.x as f32, point.y as f32)
        };
        let (x, y) = at(1.0, 0.0);
        self.content.move_to(x, y);
        // A quarter turn each.
        for (cos, sin) in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
            let turned = |x: f64, y: f64| at(x * cos - y * sin, x * sin + y * cos);
            let ((x1, y1), (x2, y2), (x3, y3)) =
                (turned(1.0, HANDLE), turned(HANDLE, 1.0), turned(0.0, 1.0));
            self.content.cubic_to(x1, y1, x2, y2, x3, y3);
        }
        self.content.close_path();
    }

    fn text(&mut self, text: &Text) {
        let face = usize::from(text.bold);
        let per_em = f64::from(self.font.face(text.bold).units_per_em().max(1));
        let (Some((name, _)), Some(used), Some(remapper)) = (
            FACES.get(face),
            self.used.get_mut(face),
            self.remappers.get_mut(face),
        ) else {
            return;
        };
        let mut codes = Vec::with_capacity(text.text.len() * 2);
        let mut width = 0.0;
        for (c, (glyph, advance)) in text
            .text
            .chars()
            .zip(self.font.glyphs(&text.text, text.bold))
        {
            let new = remapper.remap(glyph.0);
            let advance = f64::from(advance) / per_em;
            used.entry(new).or_insert((c, advance * 1000.0));
            codes.extend(new.to_be_bytes());
            width += advance * text.size;
        }
        let back = match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        let matrix = if text.upwards {
            let at = text.at.shifted(0.0, back);
            [0.0, -1.0, -1.0, 0.0, at.x as f32, at.y as f32]
        } else {
            let at = text.at.shifted(-back, 0.0);
            [1.0, 0.0, 0.0, -1.0, at.x as f32, at.y as f32]
        };
        if text.halo {
            self.pen(&Pen::solid(palette::PAPER, HALO_WIDTH));
        }
        self.fill_colour(text.colour);
        let modes: &[TextRenderingMode] = if text.halo {
            &[TextRenderingMode::Stroke, TextRenderingMode::Fill]
        } else {
            &[TextRenderingMode::Fill]
        };
        for mode in modes {
            self.content.begin_text();
            self.content.set_font(Name(name), text.size as f32);
            self.content.set_text_rendering_mode(*mode);
            self.content.set_text_matrix(matrix);
            self.content.show(Str(&codes));
            self.content.end_text();
        }
    }

    fn picture(&mut self, rect: &Rect, picture: &Arc<Picture>) {
        let name = format!("P{}", self.pictures.len());
        self.pictures.push(Arc::clone(picture));
        self.content.save_state();
        // The unit square, its first row on top.
        self.content.transform([
            rect.width() as f32,
            0.0,
            0.0,
            -rect.height() as f32,
            rect.left as f32,
            rect.bottom as f32,
        ]);
        self.content.x_object(Name(name.as_bytes()));
        self.content.restore_state();
    }

    /// Writes a page with all that any of them uses.
    fn page(
        &self,
        pdf: &mut Pdf,
        (id, pages, contents): (Ref, Ref, Ref),
        fonts: &[(&[u8], Ref, usize)],
        pictures: &[(String, Ref, Ref)],
    ) {
        let (width, height) = self.scene.sheet.size_units();
        let mut page = pdf.page(id);
        page.media_box(PdfRect::new(
            0.0,
            0.0,
            (width * POINTS_PER_UNIT) as f32,
            (height * POINTS_PER_UNIT) as f32,
        ));
        page.parent(pages).contents(contents);
        let mut resources = page.resources();
        let mut named = resources.fonts();
        for (name, id, _) in fonts {
            named.pair(Name(name), *id);
        }
        named.finish();
        let mut named = resources.x_objects();
        for (name, id, _) in pictures {
            named.pair(Name(name.as_bytes()), *id);
        }
        named.finish();
        let mut states = resources.ext_g_states();
        for percent in &self.opacities {
            let share = f32::from(*percent) / 100.0;
            states
                .insert(Name(format!("O{percent}").as_bytes()))
                .start::<pdf_writer::writers::ExtGraphicsState>()
                .non_stroking_alpha(share);
        }
        states.finish();
        resources.finish();
        page.finish();
    }

    fn finish(self) -> Result<Vec<u8>> {
        let mut next = 0;
        let mut fresh = || {
            next += 1;
            Ref::new(next)
        };
        let (catalog, pages, info) = (fresh(), fresh(), fresh());
        let sheets: Vec<(Ref, Ref)> = self.drawn.iter().map(|_| (fresh(), fresh())).collect();
        let mut pdf = Pdf::new();
        pdf.catalog(catalog).pages(pages);
        pdf.pages(pages)
            .kids(sheets.iter().map(|(page, _)| *page))
            .count(i32::try_from(sheets.len()).unwrap_or(i32::MAX));
        pdf.document_info(info)
            .title(TextStr(&font_free(&self.scene.title)))
            .creator(TextStr(concat!("eaves ", env!("CARGO_PKG_VERSION"))));
        let fonts: Vec<(&[u8], Ref, usize)> = (0..FACES.len())
            .filter(|face| self.used.get(*face).is_some_and(|used| !used.is_empty()))
            .filter_map(|face| Some((FACES.get(face)?.0, fresh(), face)))
            .collect();
        let pictures: Vec<(String, Ref, Ref)> = (0..self.pictures.len())
            .map(|at| (format!("P{at}"), fresh(), fresh()))
            .collect();
        for ((id, contents), drawn) in sheets.into_iter().zip(&self.drawn) {
            self.page(&mut pdf, (id, pages, contents), &fonts, &pictures);
            pdf.stream(contents, drawn).filter(Filter::FlateDecode);
        }
        for (_, id, face) in fonts {
            let ids = [fresh(), fresh(), fresh(), fresh()];
            let (Some(used), Some(remapper), Some((_, bytes))) = (
                self.used.get(face),
                self.remappers.get(face),
                FACES.get(face),
            ) else {
                continue;
            };
            let subset = subsetter::subset(bytes, 0, remapper)
                .map_err(|cause| font::broken(&cause.to_string()))?;
            embedded(&mut pdf, id, ids, (self.font, face == 1), used, &subset);
        }
        for ((_, id, mask), picture) in pictures.into_iter().zip(&self.pictures) {
            pixels(&mut pdf, (id, mask), picture)?;
        }
        Ok(pdf.finish())
    }
}

/// A title without characters that turn or hide text.
fn font_free(title: &str) -> String {
    title.chars().filter(|c| !c.is_control()).collect()
}

fn parts(colour: Colour) -> [f32; 3] {
    [colour.0, colour.1, colour.2].map(|part| f32::from(part) / 255.0)
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, EFFORT)
}

/// Writes one face as a composite font with its glyphs by number (ISO 32000-1, 9.7; from memory).
fn embedded(
    pdf: &mut Pdf,
    id: Ref,
    [cid, descriptor, file, cmap]: [Ref; 4],
    (font, bold): (&Font, bool),
    used: &BTreeMap<u16, (char, f64)>,
    subset: &[u8],
) {
    let face = font.face(bold);
    let per_mille = |units: i16| f32::from(units) * 1000.0 / f32::from(face.units_per_em().max(1));
    let name: &[u8] = if bold {
        b"EAVESB+NotoSans-Bold"
    } else {
        b"EAVESA+NotoSans-Regular"
    };
    pdf.type0_font(id)
        .base_font(Name(name))
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(cmap);
    let mut written = pdf.cid_font(cid);
    written
        .subtype(CidFontType::Type2)
        .base_font(Name(name))
        .system_info(SYSTEM)
        .font_descriptor(descriptor)
        .default_width(0.0)
        .cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = written.widths();
    for (glyph, (_, width)) in used {
        widths.consecutive(*glyph, [*width as f32]);
    }
    widths.finish();
    written.finish();
    let bounds = face.global_bounding_box();
    pdf.font_descriptor(descriptor)
        .name(Name(name))
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(PdfRect::new(
            per_mille(bounds.x_min),
            per_mille(bounds.y_min),
            per_mille(bounds.x_max),
            per_mille(bounds.y_max),
        ))
        .italic_angle(0.0)
        .ascent(per_mille(face.ascender()))
        .descent(per_mille(face.descender()))
        .cap_height(per_mille(face.capital_height().unwrap_or(face.ascender())))
        // Not in the font; common practice for a regular and a bold face.
        .stem_v(if bold { 140.0 } else { 80.0 })
        .font_file2(file);
    let mut written = UnicodeCmap::<u16>::new(Name(b"Eaves"), SYSTEM);
    for (glyph, (c, _)) in used {
        written.pair(*glyph, *c);
    }
    let written = packed(written.finish().as_slice());
    pdf.cmap(cmap, &written).filter(Filter::FlateDecode);
    let length = i32::try_from(subset.len()).unwrap_or(i32::MAX);
    let subset = packed(subset);
    let mut stream = pdf.stream(file, &subset);
    stream.filter(Filter::FlateDecode);
    stream.pair(Name(b"Length1"), length);
}

/// Writes a picture, its opacity apart.
fn pixels(pdf: &mut Pdf, (id, mask): (Ref, Ref), picture: &Picture) -> Result<()> {
    let (Ok(width), Ok(height)) = (
        i32::try_from(picture.width_px),
        i32::try_from(picture.height_px),
    ) else {
        return Err(Error::new(
            "the background is too large for a PDF",
            "write the figure as PNG",
        ));
    };
    let pixels = picture.rgba.chunks_exact(4);
    let colours: Vec<u8> = pixels
        .clone()
        .flat_map(|p| p.iter().take(3))
        .copied()
        .collect();
    let opacities: Vec<u8> = pixels.filter_map(|p| p.last()).copied().collect();
    let colours = packed(&colours);
    let mut image = pdf.image_xobject(id, &colours);
    image.filter(Filter::FlateDecode);
    image.width(width).height(height).bits_per_component(8);
    image.color_space().device_rgb();
    image.s_mask(mask);
    image.finish();
    let opacities = packed(&opacities);
    let mut image = pdf.image_xobject(mask, &opacities);
    image.filter(Filter::FlateDecode);
    image.width(width).height(height).bits_per_component(8);
    image.color_space().device_gray();
    Ok(())
}
