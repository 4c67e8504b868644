//! A GeoJSON feature collection read in blocks, its features scanned and taken on all cores.
//!
//! A block is cut into pieces where features seem to end; each piece is scanned from its start and
//! must end exactly where the next begins, or else the block is scanned again as one. A feature is
//! taken as soon as it is scanned; one that needs its place in the file waits until those before it
//! are counted, and so do those behind it in its piece. What is not a plain collection of features, or
//! not JSON, is left to the full parser (see [`crate::read::geojson`]), which says what is wrong. Not
//! here: what is done with a feature.

use std::fs::File;
use std::io::{self, Read};
use std::ops::Range;
use std::path::Path;

use rayon::prelude::*;

use super::boxes;
use super::filter::{Choice, Filter};
use super::geojson;
use super::positions::{Kind, Positions};
use super::properties::Member;
use super::scan::{Glance, Scanner, Stop};
use crate::error::Result;

type Scan<T> = std::result::Result<T, Stop>;

/// Bytes read at a time; two blocks are held.
const BLOCK: usize = 2 << 20;
/// Room before a block for the feature that the block before it cut.
const ROOM: usize = 64 << 10;
/// Bytes of a piece of a block that is scanned on one core.
const PIECE: usize = 256 << 10;

/// One feature of a file, scanned.
#[derive(Clone, Debug)]
pub struct Raw<'a> {
    /// Its text.
    pub text: &'a str,
    /// Its place in the file, counted from 0, where that is known already.
    pub index: Option<usize>,
    /// What is done with it.
    pub choice: Choice,
    /// What its scan found.
    pub glance: Glance<'a>,
    /// Its properties, as far as the scan could tell.
    pub members: &'a [Member<'a>],
    /// The positions of its geometry, likewise.
    pub positions: &'a Positions,
    /// Where its text lies in the block.
    at: Range<usize>,
}

/// What became of a feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// It was taken.
    Taken,
    /// Nothing was done, for its place in the file is needed.
    NeedsIndex,
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
                "\"features\"" if !self.has_features => {
                    self.has_features = true;
                    return Ok(true);
                }
                "\"type\"" if self.kind.is_none() => {
                    self.kind = Some(scanner.value()?.to_owned());
                }
                "\"crs\"" if self.crs.is_none() => {
                    let system = geojson::legacy_crs(scanner.value()?);
                    self.crs = Some(system.map_err(|_| Stop::NotJson)?);
                }
                "\"features\"" | "\"type\"" | "\"crs\"" => return Err(Stop::NotJson),
                _ if key.contains('\\') => return Err(Stop::NotJson),
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

    /// Takes what the filter wants: each run of features starts with `start`, `each` adds one to it,
    /// and `end` is given it when it is whole. None where the file is not plainly a feature collection to its end.
    pub fn take<A: Send>(
        self,
        filter: &Filter<'_>,
        start: impl Fn() -> A + Sync,
        each: impl Fn(&mut A, Raw<'_>) -> Step + Sync,
        end: impl Fn(&mut A) + Sync,
    ) -> Option<Taken<A>> {
        let mut runs = Vec::new();
        let work = Work {
            filter,
            start,
            each,
            end,
        };
        let taken = self.blocks(&work, |_, _, made| runs.extend(made))?;
        Some(Taken { runs, ..taken })
    }

    /// Takes block after block, the next being read meanwhile; `done` is given a block, the number of
    /// features before it, and what was made of it.
    fn blocks<A: Send>(
        mut self,
        work: &Work<
            '_,
            impl Fn() -> A + Sync,
            impl Fn(&mut A, Raw<'_>) -> Step + Sync,
            impl Fn(&mut A) + Sync,
        >,
        mut done: impl FnMut(&[u8], usize, Vec<A>) + Send,
    ) -> Option<Taken<A>> {
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
                    let mut scanned = if is_empty {
                        Scanned::closed()
                    } else {
                        work.block(block, base)?
                    };
                    done(block, base, std::mem::take(&mut scanned.runs));
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
        let work = Work {
            filter: &Filter::all(),
            start: Vec::new,
            each: |run: &mut Vec<Range<usize>>, raw: Raw<'_>| {
                run.push(raw.at);
                Step::Taken
            },
            end: |_: &mut Vec<_>| {},
        };
        let gone = stream.blocks(&work, |block, base, runs| {
            for (number, at) in runs.into_iter().flatten().enumerate() {
                if outcome.is_ok() {
                    let text = block.get(at).map(valid).unwrap_or_default();
                    outcome = each(base + number, text);
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

/// What a block holds.
struct Scanned<A> {
    runs: Vec<A>,
    total: usize,
    leaves_out_points: bool,
    /// Where the first feature starts that is not whole, or what follows the features.
    end: usize,
    /// Whether the array of features is closed there.
    is_closed: bool,
}

impl<A> Scanned<A> {
    const fn closed() -> Self {
        Self {
            runs: Vec::new(),
            total: 0,
            leaves_out_points: false,
            end: 0,
            is_closed: true,
        }
    }
}

/// What a piece of a block holds, as far as it was scanned.
struct Piece<A> {
    run: A,
    /// How many features were scanned.
    total: usize,
    leaves_out_points: bool,
    /// Where the next feature starts, or what follows the features.
    end: usize,
    is_closed: bool,
    /// Whether the next feature needs its place in the file.
    waits: bool,
    /// How many features seem to follow the one that waits, and itself.
    waiting: usize,
    /// Where the next piece starts; none of the last.
    next: Option<usize>,
}

impl<A> Piece<A> {
    /// Whether it ends where the next begins.
    fn fits(&self) -> bool {
        self.next
            .is_none_or(|next| self.end == next && !self.is_closed)
    }
}

/// What is taken, and what is made of it.
struct Work<'f, S, E, D> {
    filter: &'f Filter<'f>,
    start: S,
    each: E,
    end: D,
}

impl<A, S, E, D> Work<'_, S, E, D>
where
    A: Send,
    S: Fn() -> A + Sync,
    E: Fn(&mut A, Raw<'_>) -> Step + Sync,
    D: Fn(&mut A) + Sync,
{
    /// A block that starts before a feature, of which `base` lie before it: its pieces at once, or all
    /// of it where they do not fit together.
    fn block(&self, block: &[u8], base: usize) -> Scan<Scanned<A>> {
        let starts = piece_starts(block);
        match self.pieces(block, base, &starts) {
            Err(_) if starts.len() > 1 => self.pieces(block, base, &[0]),
            result => result,
        }
    }

    fn pieces(&self, block: &[u8], base: usize, starts: &[usize]) -> Scan<Scanned<A>> {
        let first = |number| (number == 0).then_some(base);
        let mut pieces = starts
            .par_iter()
            .enumerate()
            .map(|(number, &start)| {
                let mut piece = Piece {
                    run: (self.start)(),
                    total: 0,
                    leaves_out_points: false,
                    end: start,
                    is_closed: false,
                    waits: false,
                    waiting: 0,
                    next: starts.get(number + 1).copied(),
                };
                self.go_on(block, &mut piece, first(number))?;
                if let Some(next) = piece.next.filter(|_| piece.waits) {
                    piece.waiting = objects(block.get(piece.end..next).unwrap_or_default());
                } else if !piece.fits() {
                    return Err(Stop::NotJson);
                }
                if !piece.waits {
                    (self.end)(&mut piece.run);
                }
                Ok(piece)
            })
            .collect::<Scan<Vec<_>>>()?;
        let mut before = base;
        let mut waiting = Vec::new();
        for piece in &mut pieces {
            let first = before;
            before += piece.total + piece.waiting;
            if piece.waits {
                waiting.push((first, piece));
            }
        }
        waiting.into_par_iter().try_for_each(|(first, piece)| {
            let seemed = piece.total + piece.waiting;
            self.go_on(block, piece, Some(first))?;
            (self.end)(&mut piece.run);
            let is_counted = piece.next.is_none() || piece.total == seemed;
            (is_counted && piece.fits())
                .then_some(())
                .ok_or(Stop::NotJson)
        })?;
        let mut all = Scanned::closed();
        for piece in pieces {
            all.total += piece.total;
            all.leaves_out_points |= piece.leaves_out_points;
            all.end = piece.end;
            all.is_closed = piece.is_closed;
            all.runs.push(piece.run);
        }
        Ok(all)
    }

    /// Takes the features of a piece from where it ends so far; `first` is the place in the file of
    /// its first.
    fn go_on(&self, block: &[u8], piece: &mut Piece<A>, first: Option<usize>) -> Scan<()> {
        let base = piece.end;
        let to = piece.next.unwrap_or(block.len());
        let text = valid(block.get(base..to).unwrap_or_default());
        let mut scanner = Scanner::new(text, 0);
        let mut positions = Positions::default();
        let mut members = Vec::new();
        piece.waits = false;
        loop {
            let found = feature(&mut scanner, &mut positions, &mut members);
            let (start, glance) = match found {
                Err(Stop::End) => return Ok(()),
                found => found?,
            };
            let end = scanner.at();
            // A feature counts once what follows it is there.
            let goes_on = match scanner.goes_on(b']') {
                Err(Stop::End) => return Ok(()),
                goes_on => goes_on?,
            };
            let raw = text.get(start..end).unwrap_or_default();
            let (choice, is_line) = judged(raw, &glance, self.filter);
            if choice == Choice::LeftOut {
                piece.leaves_out_points |= !is_line;
            } else {
                let raw = Raw {
                    text: raw,
                    index: first.map(|first| first + piece.total),
                    choice,
                    glance,
                    members: &members,
                    positions: &positions,
                    at: base + start..base + end,
                };
                if (self.each)(&mut piece.run, raw) == Step::NeedsIndex {
                    piece.waits = true;
                    return Ok(());
                }
            }
            piece.total += 1;
            piece.is_closed = !goes_on;
            // White space before the next feature belongs to the piece.
            let is_at_end = goes_on && scanner.ahead() == Err(Stop::End);
            piece.end = base + scanner.at();
            if !goes_on || is_at_end {
                return Ok(());
            }
        }
    }
}

fn feature<'a>(
    scanner: &mut Scanner<'a>,
    positions: &mut Positions,
    members: &mut Vec<Member<'a>>,
) -> Scan<(usize, Glance<'a>)> {
    scanner.ahead()?;
    let start = scanner.at();
    Ok((start, scanner.feature(positions, members)?))
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

/// How many objects a text seems to hold, not counting those within others.
fn objects(text: &[u8]) -> usize {
    let (mut count, mut depth) = (0, 0_usize);
    let (mut in_string, mut is_escaped) = (false, false);
    for byte in text {
        match byte {
            _ if is_escaped => is_escaped = false,
            b'\\' => is_escaped = in_string,
            b'"' => in_string = !in_string,
            _ if in_string => {}
            b'{' => {
                count += usize::from(depth == 0);
                depth += 1;
            }
            b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    count
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
