//! A page of text for a terminal: headings, wrapped lines, aligned columns, names made harmless.
//!
//! Not here: what the page says (see [`super::page`]).

use super::number::NO_BREAK;

/// Columns of a page: what a terminal, a mail and a printed page all hold.
pub const WIDTH: usize = 72;

/// A page under construction.
#[derive(Clone, Debug, Default)]
pub struct Page {
    text: String,
}

impl Page {
    /// An empty line, unless the page has just begun.
    pub fn gap(&mut self) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
    }

    /// Starts a section: an empty line, then its heading.
    pub fn section(&mut self, heading: &str) {
        self.gap();
        self.line(0, heading);
    }

    /// A paragraph from column `indent`, its further lines two columns deeper.
    pub fn line(&mut self, indent: usize, text: &str) {
        self.hanging(&" ".repeat(indent), indent + 2, text);
    }

    /// A paragraph whose lines all begin in column `indent`.
    pub fn prose(&mut self, indent: usize, text: &str) {
        self.hanging(&" ".repeat(indent), indent, text);
    }

    /// A point of a list.
    pub fn point(&mut self, indent: usize, text: &str) {
        self.hanging(&format!("{}- ", " ".repeat(indent)), indent + 2, text);
    }

    /// A line of columns, as it is: no wider than [`WIDTH`].
    pub fn columns(&mut self, line: &str) {
        self.finish(line);
    }

    /// A label padded to `column`, then text that stays in its column.
    pub fn labelled(&mut self, indent: usize, label: &str, column: usize, text: &str) {
        let room = column.saturating_sub(indent + 1);
        if label.chars().count() > room {
            self.line(indent, label);
            self.hanging(&" ".repeat(column), column, text);
        } else {
            let start = format!("{}{label:room$} ", " ".repeat(indent));
            self.hanging(&start, column, text);
        }
    }

    /// Text after `start`, wrapped at [`WIDTH`], its further lines from column `hang`.
    fn hanging(&mut self, start: &str, hang: usize, text: &str) {
        let mut line = start.to_owned();
        let mut column = start.chars().count();
        let mut is_fresh = true;
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            for (i, piece) in broken(word, WIDTH.saturating_sub(hang).max(16))
                .into_iter()
                .enumerate()
            {
                let length = piece.chars().count();
                let gap = usize::from(!is_fresh && i == 0);
                if !is_fresh && column + gap + length > WIDTH {
                    self.finish(&line);
                    line = " ".repeat(hang);
                    column = hang;
                } else if gap == 1 {
                    line.push(' ');
                    column += 1;
                }
                line.push_str(&piece);
                column += length;
                is_fresh = false;
            }
        }
        self.finish(&line);
    }

    fn finish(&mut self, line: &str) {
        self.text.extend(
            line.trim_end()
                .chars()
                .map(|c| if c == NO_BREAK { ' ' } else { c }),
        );
        self.text.push('\n');
    }

    /// The finished page, each line ended.
    #[must_use]
    pub fn into_text(self) -> String {
        self.text
    }
}

/// A word cut into pieces of at most `room` characters.
fn broken(word: &str, room: usize) -> Vec<String> {
    let characters: Vec<char> = word.chars().collect();
    characters
        .chunks(room)
        .map(|piece| piece.iter().collect())
        .collect()
}

/// Text from outside, made harmless: control characters, line separators and marks that turn the
/// direction of text or hide in it are shown as escapes (`\u{1b}`), so that no name can move the
/// cursor, recolour the terminal or start a line of its own.
#[must_use]
pub fn harmless(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) {
            shown.extend(c.escape_default());
        } else {
            shown.push(c);
        }
    }
    shown
}

/// Controls (Unicode category Cc), line and paragraph separators, and the format characters that
/// reorder or hide text (Unicode Technical Report 36, section 2.3, and UAX 9; from memory). Joiners
/// that some scripts need (U+200C, U+200D) stay.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}'
            | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}
