//! The shipped font: its files, the widths of its text, and which characters it draws.
//!
//! Not here: drawing text (see [`super::draw`]) or placing it (see [`super::place`]).

use std::sync::OnceLock;

use base64::Engine as _;
use ttf_parser::{Face, GlyphId};

use crate::error::{Error, Result};

/// The family name in the font files.
pub const FAMILY: &str = "Noto Sans";
/// Noto Sans Regular, cut down as `font/README.md` says; SIL Open Font License 1.1.
pub const REGULAR: &[u8] = include_bytes!("font/NotoSans-Regular.ttf");
/// Noto Sans Bold, cut down the same way.
pub const BOLD: &[u8] = include_bytes!("font/NotoSans-Bold.ttf");
const REGULAR_WEB: &[u8] = include_bytes!("font/NotoSans-Regular.woff2");
const BOLD_WEB: &[u8] = include_bytes!("font/NotoSans-Bold.woff2");

/// How many widths are tried for lines of about equal length.
const BALANCE_STEPS: u32 = 16;

/// Stands for a character that the shipped font does not draw.
const REPLACEMENT: char = '\u{FFFD}';

/// Widths of text set in the shipped font.
pub struct Font {
    regular: Face<'static>,
    bold: Face<'static>,
}

impl Font {
    /// The shipped font.
    ///
    /// # Errors
    /// When the files compiled in are not a font.
    pub fn shipped() -> Result<&'static Self> {
        static FONT: OnceLock<Option<Font>> = OnceLock::new();
        FONT.get_or_init(|| {
            Some(Self {
                regular: Face::parse(REGULAR, 0).ok()?,
                bold: Face::parse(BOLD, 0).ok()?,
            })
        })
        .as_ref()
        .ok_or_else(|| broken("its tables cannot be read"))
    }

    /// The width of a text at a size (of the em), in the unit of the size: the sum of its advances.
    ///
    /// The shipped files have no kerning, so that this is what every renderer draws; tested
    /// against the boxes that usvg lays out.
    #[must_use]
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        let units: u32 = self
            .glyphs(text, bold)
            .map(|(_, advance)| u32::from(advance))
            .sum();
        f64::from(units) * size / f64::from(self.face(bold).units_per_em().max(1))
    }

    /// One of its two faces.
    #[must_use]
    pub const fn face(&self, bold: bool) -> &Face<'static> {
        if bold { &self.bold } else { &self.regular }
    }

    /// The glyphs of a text with their advances in units of the face.
    pub fn glyphs(&self, text: &str, bold: bool) -> impl Iterator<Item = (GlyphId, u16)> {
        let face = self.face(bold);
        text.chars().map(|c| {
            let glyph = face.glyph_index(c).unwrap_or(GlyphId(0));
            (glyph, face.glyph_hor_advance(glyph).unwrap_or(0))
        })
    }

    /// The text as it can be drawn: control characters and runs of blanks become one blank, marks
    /// that turn the reading direction are left out, and each character that the font lacks becomes
    /// a replacement mark.
    #[must_use]
    pub fn drawable(&self, text: &str) -> String {
        let mut drawn = String::with_capacity(text.len());
        for c in text.chars() {
            if c.is_control() || (c.is_whitespace() && c != '\u{A0}' && c != '\u{202F}') {
                if !drawn.is_empty() && !drawn.ends_with(' ') {
                    drawn.push(' ');
                }
            } else if is_direction_mark(c) {
            } else if self.draws(c) {
                drawn.push(c);
            } else {
                drawn.push(REPLACEMENT);
            }
        }
        drawn.truncate(drawn.trim_end().len());
        drawn
    }

    /// Whether [`Font::drawable`] puts a replacement mark for a character of this text.
    #[must_use]
    pub fn lacks_any(&self, text: &str) -> bool {
        self.drawable(text).contains(REPLACEMENT)
    }

    /// The text cut to a width, with an ellipsis when it was cut.
    #[must_use]
    pub fn cut(&self, text: &str, size: f64, bold: bool, width: f64) -> String {
        let room = width - self.width("…", size, bold);
        let mut used = 0.0;
        let mut kept = 0;
        for (at, c) in text.char_indices() {
            used += self.width(c.encode_utf8(&mut [0; 4]), size, bold);
            if used <= room {
                kept = at + c.len_utf8();
            } else if used > width {
                let short = text.get(..kept).unwrap_or_default();
                return format!("{}…", short.trim_end());
            }
        }
        text.to_owned()
    }

    /// The text in lines no wider than a width, broken at blanks; a longer word is cut.
    #[must_use]
    pub fn wrapped(&self, text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            if let Some(line) = lines.last_mut() {
                let longer = format!("{line} {word}");
                if self.width(&longer, size, bold) <= width {
                    *line = longer;
                    continue;
                }
            }
            lines.push(self.cut(word, size, bold, width));
        }
        lines
    }

    /// The text in as few lines no wider than a width as [`Font::wrapped`] needs, but about equally
    /// long.
    #[must_use]
    pub fn balanced(&self, text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
        let lines = self.wrapped(text, size, bold, width);
        if lines.len() < 2 {
            return lines;
        }
        let even = self.width(text, size, bold) / lines.len() as f64;
        (0..BALANCE_STEPS)
            .map(|step| {
                let share = f64::from(step) / f64::from(BALANCE_STEPS);
                self.wrapped(text, size, bold, even + share * (width - even).max(0.0))
            })
            .find(|narrower| {
                // A narrower line must not have cut a word.
                narrower.len() == lines.len() && !narrower.iter().any(|line| line.ends_with('…'))
            })
            .unwrap_or(lines)
    }

    fn draws(&self, c: char) -> bool {
        // Glyph 0 is the box for what a font lacks.
        let draws = |face: &Face| face.glyph_index(c).is_some_and(|glyph| glyph.0 != 0);
        draws(&self.regular) && draws(&self.bold)
    }
}

fn is_direction_mark(c: char) -> bool {
    matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

/// An error about the font compiled in.
pub fn broken(why: &str) -> Error {
    Error::new(
        format!("the font of the figures is damaged: {why}"),
        "build eaves again from unchanged sources",
    )
}

/// The style sheet that carries the font inside an SVG file.
#[must_use]
pub fn style_sheet() -> &'static str {
    static SHEET: OnceLock<String> = OnceLock::new();
    SHEET.get_or_init(|| {
        [("normal", REGULAR_WEB), ("bold", BOLD_WEB)]
            .map(|(weight, bytes)| {
                let data = base64::engine::general_purpose::STANDARD.encode(bytes);
                format!(
                    "@font-face{{font-family:\"{FAMILY}\";font-weight:{weight};\
                     src:url(data:font/woff2;base64,{data}) format(\"woff2\")}}\n"
                )
            })
            .concat()
    })
}
