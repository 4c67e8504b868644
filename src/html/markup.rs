//! HTML text under construction: every piece of text is made harmless and escaped on its way in.
//!
//! Not here: what a page says (see [`super::tables`]).

use std::fmt::Write as _;

use crate::report::text::harmless;

/// A document under construction.
#[derive(Clone, Debug, Default)]
pub struct Markup(String);

/// A column of a table.
#[derive(Clone, Copy, Debug)]
pub enum Column {
    /// Words, set left.
    Words(&'static str),
    /// Numbers, set right.
    Number(&'static str),
}

impl Column {
    const fn name(self) -> &'static str {
        match self {
            Self::Words(name) | Self::Number(name) => name,
        }
    }

    const fn class(self) -> &'static str {
        match self {
            Self::Words(_) => "",
            Self::Number(_) => " class=\"n\"",
        }
    }
}

/// A row of a table.
#[derive(Clone, Debug)]
pub struct Row {
    /// The text of its cells.
    pub cells: Vec<String>,
    /// Whether it is a sum, set bold.
    pub is_sum: bool,
}

impl Row {
    /// A plain row.
    pub fn of<const N: usize>(cells: [String; N]) -> Self {
        Self {
            cells: cells.into(),
            is_sum: false,
        }
    }
}

impl Markup {
    /// Text that is markup already, written by eaves itself.
    pub fn raw(&mut self, markup: &str) {
        self.0.push_str(markup);
    }

    /// Text from anywhere.
    pub fn text(&mut self, text: &str) {
        self.0.push_str(&escaped(text));
    }

    /// An element that holds text.
    pub fn element(&mut self, tag: &str, text: &str) {
        let _ = writeln!(self.0, "<{tag}>{}</{tag}>", escaped(text));
    }

    /// A paragraph of a class.
    pub fn note(&mut self, class: &str, text: &str) {
        let _ = writeln!(self.0, "<p class=\"{class}\">{}</p>", escaped(text));
    }

    /// A list of texts; nothing when there is none.
    pub fn list(&mut self, items: impl IntoIterator<Item = String>) {
        let mut items = items.into_iter().peekable();
        if items.peek().is_none() {
            return;
        }
        self.raw("<ul>\n");
        for item in items {
            self.element("li", &item);
        }
        self.raw("</ul>\n");
    }

    /// A table with a caption; nothing without rows. It scrolls by itself where it is too wide.
    pub fn table(&mut self, caption: &str, columns: &[Column], rows: &[Row]) {
        if rows.is_empty() {
            return;
        }
        self.raw("<div class=\"scroll\"><table>\n");
        self.element("caption", caption);
        if columns.iter().any(|column| !column.name().is_empty()) {
            self.raw("<thead><tr>");
            for column in columns {
                let _ = write!(
                    self.0,
                    "<th scope=\"col\"{}>{}</th>",
                    column.class(),
                    escaped(column.name())
                );
            }
            self.raw("</tr></thead>\n");
        }
        self.raw("<tbody>\n");
        for row in rows {
            self.raw(if row.is_sum {
                "<tr class=\"sum\">"
            } else {
                "<tr>"
            });
            for (index, (cell, column)) in row.cells.iter().zip(columns).enumerate() {
                let text = escaped(cell);
                let _ = match index {
                    0 => write!(self.0, "<th scope=\"row\"{}>{text}</th>", column.class()),
                    _ => write!(self.0, "<td{}>{text}</td>", column.class()),
                };
            }
            self.raw("</tr>\n");
        }
        self.raw("</tbody></table></div>\n");
    }

    /// The document.
    pub fn into_text(self) -> String {
        self.0
    }
}

/// Text as the content of an element or a quoted attribute.
pub fn escaped(text: &str) -> String {
    let text = harmless(text);
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            c => out.push(c),
        }
    }
    out
}
