//! Cells as text: separated values (RFC 4180, lines ended by a line feed), harmless in a spreadsheet.
//!
//! Spreadsheets take a cell that begins with `=`, `+`, `-`, `@` or a control for a formula, whoever
//! wrote it. Such a text gets an apostrophe in front, which [`plain`] takes off again without loss; a
//! number is left alone. Not here: what the cells are (see [`super::columns`]).

use smallvec::SmallVec;

use super::columns::{Cell, Column, Kind};
use crate::error::{Error, Result};

/// Writes records of separated values into memory.
pub struct Writer {
    inner: csv::Writer<Vec<u8>>,
    scratch: Vec<u8>,
}

impl Default for Writer {
    fn default() -> Self {
        Self {
            inner: csv::WriterBuilder::new().from_writer(Vec::new()),
            scratch: Vec::new(),
        }
    }
}

impl Writer {
    /// Writes the names of columns.
    ///
    /// # Errors
    /// See [`Self::row`].
    pub fn header(&mut self, columns: &[Column]) -> Result<()> {
        for column in columns {
            self.inner
                .write_field(&column.name)
                .map_err(|why| unwritten(&why))?;
        }
        self.end()
    }

    /// Writes one row.
    ///
    /// # Errors
    /// None that memory does not give.
    pub fn row(&mut self, columns: &[Column], cells: &[Cell<'_>]) -> Result<()> {
        for (column, cell) in columns.iter().zip(cells) {
            self.scratch.clear();
            match cell {
                Cell::None => {}
                Cell::Text(text) => {
                    if is_formula(text) {
                        self.scratch.push(b'\'');
                    }
                    self.scratch.extend_from_slice(text.as_bytes());
                }
                Cell::Integer(number) => digits(&mut self.scratch, *number, 1),
                Cell::Number(number) => {
                    let decimals = match column.kind {
                        Kind::Number(decimals) => decimals,
                        Kind::Text | Kind::Integer => 0,
                    };
                    fixed(&mut self.scratch, *number, decimals);
                }
            }
            self.inner
                .write_field(&self.scratch)
                .map_err(|why| unwritten(&why))?;
        }
        self.end()
    }

    fn end(&mut self) -> Result<()> {
        self.inner
            .write_record(None::<&[u8]>)
            .map_err(|why| unwritten(&why))
    }

    /// What was written.
    ///
    /// # Errors
    /// None that memory does not give.
    pub fn into_bytes(self) -> Result<Vec<u8>> {
        self.inner.into_inner().map_err(|why| {
            Error::new(
                format!("a row cannot be written ({why})"),
                "report this defect with the input files",
            )
        })
    }
}

fn unwritten(why: &csv::Error) -> Error {
    Error::new(
        format!("a row cannot be written ({why})"),
        "report this defect with the input files",
    )
}

/// A number with fixed decimals; to the nearest where it has more, which a rounded one has not.
fn fixed(text: &mut Vec<u8>, number: f64, decimals: u8) {
    let scale = 10u64.pow(u32::from(decimals));
    let scaled = (number * scale as f64).round();
    // Beyond it whole numbers are not exact.
    if scaled.abs() >= 9e15 {
        text.extend_from_slice(format!("{number:.*}", usize::from(decimals)).as_bytes());
        return;
    }
    if scaled < 0.0 {
        text.push(b'-');
    }
    let scaled = scaled.abs() as u64;
    digits(text, scaled / scale, 1);
    if decimals > 0 {
        text.push(b'.');
        digits(text, scaled % scale, usize::from(decimals));
    }
}

/// A number in digits, `least` of them or more.
fn digits(text: &mut Vec<u8>, number: u64, least: usize) {
    let mut rest = number;
    let mut digits: SmallVec<[u8; 20]> = SmallVec::new();
    while rest > 0 || digits.len() < least {
        digits.push(b'0' + (rest % 10) as u8);
        rest /= 10;
    }
    text.extend(digits.iter().rev());
}

/// Whether a spreadsheet may take a text for a formula, apostrophes in front left out.
fn is_formula(text: &str) -> bool {
    let text = text.trim_start_matches('\'');
    let begins = text.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]);
    begins && text.parse::<f64>().is_err()
}

/// A text as it was before it was made harmless.
#[must_use]
pub fn plain(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if is_formula(text) => rest,
        _ => text,
    }
}
