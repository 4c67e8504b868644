//! JSON text cut into the texts of its features as it is read, without holding or parsing it.
//!
//! Not here: what a feature says; only brackets and strings are looked at.

use std::io::BufRead;

use super::LONGEST_SITE_BYTES;
use crate::error::{Error, Result};
use crate::read::eight;

/// What stands for itself in a stream of JSON texts (RFC 8142 section 2).
pub const RECORD_SEPARATOR: u8 = 0x1E;

/// A reader of bytes that knows where it is.
pub struct Source<R> {
    reader: R,
    offset: u64,
}

/// What [`Source::value`] found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// A value, its text whole.
    Whole,
    /// A value longer than [`LONGEST_SITE_BYTES`]; its text was thrown away.
    TooLong,
}

impl<R: BufRead> Source<R> {
    /// From the beginning of a text, a byte order mark left out.
    ///
    /// # Errors
    /// UTF-16 text, or a file that cannot be read.
    pub fn new(mut reader: R) -> Result<Self> {
        let start = reader.fill_buf().map_err(|why| unreadable(&why))?;
        let looks_like_utf16 = matches!(
            start.get(..2),
            Some([0xFF, 0xFE] | [0xFE, 0xFF] | [0, 1..=255] | [1..=255, 0])
        );
        if looks_like_utf16 {
            return Err(Error::new("is UTF-16 text", "save it as UTF-8"));
        }
        let mark = if start.starts_with(&[0xEF, 0xBB, 0xBF]) {
            3
        } else {
            0
        };
        reader.consume(mark);
        Ok(Self {
            reader,
            offset: mark as u64,
        })
    }

    /// How many bytes were read so far.
    pub const fn offset(&self) -> u64 {
        self.offset
    }

    /// The next byte, which stays.
    pub fn peek(&mut self) -> Result<Option<u8>> {
        let buffer = self.reader.fill_buf().map_err(|why| unreadable(&why))?;
        Ok(buffer.first().copied())
    }

    /// The next byte that is no white space, which stays.
    pub fn peek_past_space(&mut self) -> Result<Option<u8>> {
        loop {
            let buffer = self.reader.fill_buf().map_err(|why| unreadable(&why))?;
            if buffer.is_empty() {
                return Ok(None);
            }
            let space = buffer
                .iter()
                .take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n'))
                .count();
            let next = buffer.get(space).copied();
            self.consume(space);
            if next.is_some() {
                return Ok(next);
            }
        }
    }

    /// Passes over bytes that were looked at.
    pub fn consume(&mut self, count: usize) {
        self.reader.consume(count);
        self.offset += count as u64;
    }

    /// Passes over one byte behind white space, which must be `wanted`.
    pub fn expect(&mut self, wanted: u8) -> Result<()> {
        match self.peek_past_space()? {
            Some(byte) if byte == wanted => {
                self.consume(1);
                Ok(())
            }
            found => Err(self.unexpected(found, char::from(wanted))),
        }
    }

    /// That something else stands where `wanted` is needed.
    pub fn unexpected(&self, found: Option<u8>, wanted: char) -> Error {
        match found {
            None => Error::new(
                format!("ends too early (byte {}): it is truncated", self.offset),
                "export or copy it again",
            ),
            Some(byte) => Error::new(
                format!(
                    "is not JSON: '{}' at byte {} where '{wanted}' is expected",
                    char::from(byte).escape_default(),
                    self.offset
                ),
                "export it as GeoJSON again",
            ),
        }
    }

    /// Copies the JSON value that begins here: to its closing bracket or quote, or as far as a
    /// number or word goes.
    pub fn value(&mut self, text: &mut Vec<u8>) -> Result<Found> {
        text.clear();
        let mut depth = 0usize;
        let mut in_string = false;
        let mut is_escaped = false;
        let mut is_too_long = false;
        loop {
            let buffer = self.reader.fill_buf().map_err(|why| unreadable(&why))?;
            if buffer.is_empty() {
                return Err(self.unexpected(None, ' '));
            }
            let mut end = None;
            let mut next = 0;
            loop {
                if !is_escaped && (in_string || depth > 0) {
                    let rest = buffer.get(next..).unwrap_or_default();
                    next += if in_string {
                        eight::plain_length(rest)
                    } else {
                        within_brackets(rest)
                    };
                }
                let Some(byte) = buffer.get(next) else {
                    break;
                };
                let at = next;
                next += 1;
                if in_string {
                    if is_escaped {
                        is_escaped = false;
                    } else if *byte == b'\\' {
                        is_escaped = true;
                    } else if *byte == b'"' {
                        in_string = false;
                        if depth == 0 {
                            end = Some(at + 1);
                            break;
                        }
                    }
                    continue;
                }
                match byte {
                    b'"' => in_string = true,
                    b'{' | b'[' => depth += 1,
                    b'}' | b']' if depth == 0 => {
                        end = Some(at);
                        break;
                    }
                    b'}' | b']' => {
                        depth -= 1;
                        if depth == 0 {
                            end = Some(at + 1);
                            break;
                        }
                    }
                    b',' | b' ' | b'\t' | b'\r' | b'\n' if depth == 0 => {
                        end = Some(at);
                        break;
                    }
                    _ => {}
                }
            }
            let taken = end.unwrap_or(buffer.len());
            is_too_long |= text.len() + taken > LONGEST_SITE_BYTES;
            if is_too_long {
                text.clear();
            } else {
                text.extend_from_slice(buffer.get(..taken).unwrap_or_default());
            }
            self.consume(taken);
            if end.is_some() {
                return Ok(if is_too_long {
                    Found::TooLong
                } else {
                    Found::Whole
                });
            }
        }
    }

    /// Copies up to a byte and passes over it, or up to the end of the text; none at its end.
    pub fn up_to(&mut self, stop: u8, text: &mut Vec<u8>) -> Result<Option<Found>> {
        text.clear();
        let mut is_too_long = false;
        let mut is_end = true;
        loop {
            let buffer = self.reader.fill_buf().map_err(|why| unreadable(&why))?;
            if buffer.is_empty() {
                return Ok((!is_end).then_some(if is_too_long {
                    Found::TooLong
                } else {
                    Found::Whole
                }));
            }
            is_end = false;
            let stop = buffer.iter().position(|byte| *byte == stop);
            let taken = stop.unwrap_or(buffer.len());
            is_too_long |= text.len() + taken > LONGEST_SITE_BYTES;
            if is_too_long {
                text.clear();
            } else {
                text.extend_from_slice(buffer.get(..taken).unwrap_or_default());
            }
            self.consume(taken + usize::from(stop.is_some()));
            if stop.is_some() {
                return Ok(Some(if is_too_long {
                    Found::TooLong
                } else {
                    Found::Whole
                }));
            }
        }
    }
}

/// How many bytes come before the next quote or bracket.
fn within_brackets(text: &[u8]) -> usize {
    text.iter()
        .position(|byte| matches!(byte, b'"' | b'{' | b'}' | b'[' | b']'))
        .unwrap_or(text.len())
}

fn unreadable(why: &std::io::Error) -> Error {
    Error::new(
        format!("cannot be read ({why})"),
        "check that it may be read",
    )
}
