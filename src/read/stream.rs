//! A GeoJSON feature collection read in blocks, its features scanned and parsed on all cores.
//!
//! A block is cut into pieces where features seem to end; each piece is scanned from its start and
//! must end exactly where the next begins, or else the block is scanned again as one. What is not a
//! plain collection of features, or not JSON, is left to the full parser (see
//! [`crate::read::geojson`]), which says what is wrong. Not here: what is done with a feature.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use rayon::prelude::*;

use super::boxes;
use super::filter::{Choice, Filter};
use super::geojson;
use super::scan::{Glance, Kind, Positions, Scanner, Stop};
use crate::error::Result;

type Scan<T> = std::result::Result<T, Stop>;

/// Bytes read at a time; two blocks are held.
const BLOCK: usize = 8 << 20;
/// Room before a block for the feature that the block before it cut.
const ROOM: usize = 64 << 10;
/// Bytes of a piece of a block that is scanned on one core.
const PIECE: usize = 256 << 10;
/// Features that are parsed on one core at a time.
const FEATURES_AT_A_TIME: usize = 256;

/// One feature of a file: its text and its place, counted from 0.
#[derive(Clone, Copy, Debug)]
pub struct Raw<'a> {
    /// Its text.
    pub text: &'a str,
    /// Its place in the file.
    pub index: usize,
    /// What is done with it.
    pub choice: Choice,
}

/// What was taken from a file.
#[derive(Debug)]
pub struct Taken<A> {
    /// What was made of runs of features, in the order of the file.
    pub runs: Vec<A>,
    /// How many features the file holds.
    pub total: usize,
    /// Whether a feature that is not wanted may be something else than a line.
    pub leaves_out_points: bool,
    /// The coordinate reference system of the legacy `crs` member, wherever it stands.
    pub crs: Option<String>,
}

/// A collection opened at its first feature.
#[derive(Debug)]
pub struct Stream {
    file: File,
    block: Vec<u8>,
    first: usize,
    is_empty: bool,
    top: Top,
}

/// What the members beside the features say.
#[derive(Clone, Debug, Default)]
struct Top {
    kind: Option<String>,
    crs: Option<Option<String>>,
    has_features: bool,
}

impl Top {
    /// Takes members up to the features or to the end of the object; whether features come.
    fn take(&mut self, scanner: &mut Scanner<'_>, mut more: bool) -> Scan<bool> {
        while more {
            let key = scanner.key()?;
            match key {
                b"\"features\"" if !self.has_features => {
                    self.has_features = true;
                    return Ok(true);
                }
                b"\"type\"" if self.kind.is_none() => {
                    self.kind = Some(scanner.value()?.to_owned());
                }
                b"\"crs\"" if self.crs.is_none() => {
                    let system = geojson::legacy_crs(scanner.value()?);
                    self.crs = Some(system.map_err(|_| Stop::NotJson)?);
                }
                b"\"features\"" | b"\"type\"" | b"\"crs\"" => return Err(Stop::NotJson),
                _ if key.contains(&b'\\') => return Err(Stop::NotJson),
                _ => {
                    scanner.value()?;
                }
            }
            more = scanner.goes_on(b'}')?;
        }
        Ok(false)
    }

    fn crs(&self) -> Option<String> {
        self.crs.clone().flatten()
    }
}

impl Stream {
    /// Opens a file; none where it is not plainly a feature collection.
    #[must_use]
    pub fn open(path: &Path) -> Option<Self> {
        let mut file = File::open(path).ok()?;
        let mut block = Vec::new();
        fill(&mut file, &mut block).ok()?;
        let whole = valid(&block);
        let text = whole.strip_prefix('\u{FEFF}').unwrap_or(whole);
        let skipped = whole.len() - text.len();
        let mut scanner = Scanner::new(text, 0);
        let mut top = Top::default();
        let more = scanner.opens(b'{', b'}').ok()?;
        if !top.take(&mut scanner, more).ok()? {
            return None;
        }
        let is_empty = !scanner.opens(b'[', b']').ok()?;
        let first = skipped + scanner.at();
        Some(Self {
            file,
            block,
            first,
            is_empty,
            top,
        })
    }

    /// The coordinate reference system that is named before the features.
    #[must_use]
    pub fn crs(&self) -> Option<String> {
        self.top.crs()
    }

    /// Takes what the filter wants: each run of features starts with `start`, and `each` adds one to
    /// it. None where the file is not plainly a feature collection to its end.
    pub fn take<A: Send>(
        self,
        filter: &Filter<'_>,
        start: impl Fn() -> A + Sync,
        each: impl Fn(&mut A, Raw<'_>) + Sync,
    ) -> Option<Taken<A>> {
        let mut runs = Vec::new();
        let taken = self.blocks(filter, |block, base, wanted| {
            runs.par_extend(wanted.par_chunks(FEATURES_AT_A_TIME).map(|features| {
                let mut run = start();
                features
                    .iter()
                    .for_each(|found| each(&mut run, found.raw(block, base)));
                run
            }));
        })?;
        Some(Taken {
            runs,
            total: taken.total,
            leaves_out_points: taken.leaves_out_points,
            crs: taken.crs,
        })
    }

    /// Scans block after block, the next being read meanwhile; `each` is given a block, the number
    /// of features before it, and those that are wanted.
    fn blocks(
        mut self,
        filter: &Filter<'_>,
        mut each: impl FnMut(&[u8], usize, &[Found]) + Send,
    ) -> Option<Taken<()>> {
        let mut taken = Taken {
            runs: Vec::new(),
            total: 0,
            leaves_out_points: false,
            crs: None,
        };
        let mut next = Vec::new();
        let mut from = self.first;
        loop {
            next.clear();
            next.resize(ROOM, 0);
            let block = self.block.get(from..)?;
            let file = &mut self.file;
            let base = taken.total;
            let is_empty = self.is_empty;
            let (scanned, filled) = rayon::join(
                || {
                    let scanned = if is_empty {
                        Scanned {
                            is_closed: true,
                            ..Scanned::default()
                        }
                    } else {
                        scan(block, filter)?
                    };
                    each(block, base, &scanned.wanted);
                    Ok::<_, Stop>(scanned)
                },
                || fill(file, &mut next),
            );
            let (scanned, filled) = (scanned.ok()?, filled.ok()?);
            taken.total += scanned.total;
            taken.leaves_out_points |= scanned.leaves_out_points;
            let rest = block.get(scanned.end..)?;
            if scanned.is_closed {
                let mut text = rest.to_vec();
                text.extend_from_slice(next.get(ROOM..)?);
                self.file.read_to_end(&mut text).ok()?;
                taken.crs = close(self.top, &text)?;
                return Some(taken);
            }
            if filled == 0 {
                return None;
            }
            // What is left of this block goes before the next.
            if let Some(room) = ROOM.checked_sub(rest.len()) {
                next.get_mut(room..ROOM)?.copy_from_slice(rest);
                from = room;
            } else {
                next.splice(..ROOM, rest.iter().copied());
                from = 0;
            }
            std::mem::swap(&mut self.block, &mut next);
        }
    }
}

/// What was gone through.
#[derive(Clone, Debug)]
pub struct Gone {
    /// How many features the file holds.
    pub total: usize,
    /// The coordinate reference system of the legacy `crs` member.
    pub crs: Option<String>,
    /// Whether the file had to be held whole.
    pub is_whole: bool,
}

/// Goes through the text of every feature of a file in order; `is_whole` where an earlier pass found
/// that it has to be held. A first pass may call `each` for some features twice.
///
/// # Errors
/// Those of `each`, and of a file that is not GeoJSON.
pub fn each(
    path: &Path,
    is_whole: bool,
    mut each: impl FnMut(usize, &str) -> Result<()> + Send,
) -> Result<Gone> {
    if !is_whole && let Some(stream) = Stream::open(path) {
        let mut outcome = Ok(());
        let gone = stream.blocks(&Filter::all(), |block, base, wanted| {
            for raw in wanted.iter().map(|found| found.raw(block, base)) {
                if outcome.is_ok() {
                    outcome = each(raw.index, raw.text);
                }
            }
        });
        outcome?;
        if let Some(gone) = gone {
            return Ok(Gone {
                total: gone.total,
                crs: gone.crs,
                is_whole: false,
            });
        }
    }
    let text = geojson::text(path)?;
    let document = geojson::document(&text)?;
    for (index, raw) in document.features.iter().enumerate() {
        each(index, raw)?;
    }
    Ok(Gone {
        total: document.features.len(),
        crs: document.crs,
        is_whole: true,
    })
}

/// Reads a block onto the end of a buffer; how many bytes there were.
fn fill(file: &mut File, buffer: &mut Vec<u8>) -> io::Result<usize> {
    file.take(BLOCK as u64).read_to_end(buffer)
}

/// The text at the start of some bytes: all, or what comes before an invalid or a cut character.
fn valid(bytes: &[u8]) -> &str {
    match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => bytes
            .get(..error.valid_up_to())
            .and_then(|start| std::str::from_utf8(start).ok())
            .unwrap_or_default(),
    }
}

/// What follows the features, to the end of the file; the system that the file names.
fn close(mut top: Top, text: &[u8]) -> Option<Option<String>> {
    let text = std::str::from_utf8(text).ok()?;
    let mut scanner = Scanner::new(text, 0);
    let more = scanner.goes_on(b'}').ok()?;
    let has_more_features = top.take(&mut scanner, more).ok()?;
    let is_at_end = scanner.ahead() == Err(Stop::End);
    let is_collection = top.kind.as_deref() == Some("\"FeatureCollection\"");
    (is_collection && is_at_end && !has_more_features).then(|| top.crs())
}

/// A feature that is wanted: where its text lies in the block, and its place among the features.
#[derive(Clone, Copy, Debug)]
struct Found {
    start: usize,
    end: usize,
    index: usize,
    choice: Choice,
}

impl Found {
    fn raw<'a>(&self, block: &'a [u8], base: usize) -> Raw<'a> {
        Raw {
            text: block
                .get(self.start..self.end)
                .map(valid)
                .unwrap_or_default(),
            index: base + self.index,
            choice: self.choice,
        }
    }
}

/// What a block or a piece of it holds.
#[derive(Debug, Default)]
struct Scanned {
    wanted: Vec<Found>,
    total: usize,
    leaves_out_points: bool,
    /// Where the first feature starts that is not whole, or what follows the features.
    end: usize,
    /// Whether the array of features is closed there.
    is_closed: bool,
}

/// Scans a block that starts before a feature: its pieces at once, or all of it where they do not
/// fit together.
fn scan(block: &[u8], filter: &Filter<'_>) -> Scan<Scanned> {
    let starts = piece_starts(block);
    let pieces: Vec<_> = starts
        .par_iter()
        .enumerate()
        .map(|(number, &start)| {
            let end = starts.get(number + 1).copied().unwrap_or(block.len());
            (start, end, scan_piece(block, start..end, filter))
        })
        .collect();
    let mut all = Scanned::default();
    let count = pieces.len();
    for (number, (_, end, piece)) in pieces.into_iter().enumerate() {
        let is_last = number + 1 == count;
        match piece {
            Ok(piece) if is_last || (piece.end == end && !piece.is_closed) => {
                let base = all.total;
                all.total += piece.total;
                all.wanted
                    .extend(piece.wanted.into_iter().map(|found| Found {
                        index: base + found.index,
                        ..found
                    }));
                all.leaves_out_points |= piece.leaves_out_points;
                all.end = piece.end;
                all.is_closed = piece.is_closed;
            }
            _ if count > 1 => return scan_piece(block, 0..block.len(), filter),
            Ok(_) => return Err(Stop::NotJson),
            Err(stop) => return Err(stop),
        }
    }
    Ok(all)
}

/// Where pieces of a block may start: at the block's start, and at an object that follows another
/// about every [`PIECE`] bytes.
fn piece_starts(block: &[u8]) -> Vec<usize> {
    let mut starts = vec![0];
    let mut from = PIECE;
    while let Some(start) = object_after_object(block, from) {
        starts.push(start);
        from = start + PIECE;
    }
    starts
}

/// The first `{` after a `}` and a comma.
fn object_after_object(block: &[u8], from: usize) -> Option<usize> {
    let mut seen = 0;
    for (offset, byte) in block.get(from..)?.iter().enumerate() {
        seen = match (seen, byte) {
            (_, b'}') => 1,
            (1, b',') => 2,
            (2, b'{') => return Some(from + offset),
            (seen, b' ' | b'\n' | b'\r' | b'\t') => seen,
            _ => 0,
        };
    }
    None
}

/// Scans the features of a piece that starts before one.
fn scan_piece(block: &[u8], range: std::ops::Range<usize>, filter: &Filter<'_>) -> Scan<Scanned> {
    let base = range.start;
    let text = valid(block.get(range).unwrap_or_default());
    let mut scanner = Scanner::new(text, 0);
    let mut positions = Positions::default();
    let mut scanned = Scanned {
        end: base,
        ..Scanned::default()
    };
    loop {
        let (start, glance) = match feature(&mut scanner, &mut positions) {
            Ok(found) => found,
            Err(Stop::End) => return Ok(scanned),
            Err(stop) => return Err(stop),
        };
        let end = scanner.at();
        // A feature counts once what follows it is there.
        let goes_on = match scanner.goes_on(b']') {
            Ok(goes_on) => goes_on,
            Err(Stop::End) => return Ok(scanned),
            Err(stop) => return Err(stop),
        };
        let raw = text.get(start..end).unwrap_or_default();
        let (choice, is_line) = judged(raw, &glance, filter);
        if choice == Choice::LeftOut {
            scanned.leaves_out_points |= !is_line;
        } else {
            scanned.wanted.push(Found {
                start: base + start,
                end: base + end,
                index: scanned.total,
                choice,
            });
        }
        scanned.total += 1;
        if !goes_on {
            scanned.end = base + scanner.at();
            scanned.is_closed = true;
            return Ok(scanned);
        }
        // White space before the next feature belongs to the piece.
        let is_at_end = scanner.ahead() == Err(Stop::End);
        scanned.end = base + scanner.at();
        if is_at_end {
            return Ok(scanned);
        }
    }
}

fn feature<'a>(scanner: &mut Scanner<'a>, positions: &mut Positions) -> Scan<(usize, Glance<'a>)> {
    scanner.ahead()?;
    let start = scanner.at();
    Ok((start, scanner.feature(positions)?))
}

/// What is done with a feature, and whether it is surely a line.
fn judged(raw: &str, glance: &Glance<'_>, filter: &Filter<'_>) -> (Choice, bool) {
    if filter.wants_all() {
        return (Choice::Near, false);
    }
    if let Some(bounds) = glance.bounds {
        let is_line = matches!(glance.kind, Some(Kind::LineString | Kind::MultiLineString));
        return (filter.choice(&bounds), is_line);
    }
    match boxes::bounds(raw) {
        Some(found) => (filter.choice(&found.bounds), found.is_line),
        None => (Choice::Near, false),
    }
}
