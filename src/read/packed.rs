//! Obstacle records packed: millions of them stay in memory, and what many share is held once.
//!
//! A record comes out as it went in, to the bit. Places and texts lie one after another; files, kinds
//! and accuracies are numbered. A record that does not fit that form (an outline with holes, a chain
//! that is no span's) is kept whole. Not here: which records are near (see [`crate::read::Obstacles`]).

use std::collections::BTreeMap;
use std::hint::black_box;

use geo::{Coord, LineString, Polygon};
use smol_str::SmolStr;

use super::draft::{Class, Draft, Plan};
use super::numbered::Numbered;
use crate::frame::LonLat;
use crate::obstacle::{
    HeightBasis, Obstacle, ObstacleKind, Permanence, Sag, Shape, SpanDetail, SpanEnd, Top,
    VerticalReference,
};
use crate::site::FeatureRef;
use crate::units::Metres;

/// How many records lie in one piece: no list grows beyond it, so none is ever copied to grow.
const RECORDS_A_CHUNK: usize = 1 << 15;

/// Obstacle records in the order in which they were added.
#[derive(Clone, Debug, Default)]
pub struct Packed {
    chunks: Vec<Chunk>,
    /// The number of the first record of each chunk.
    starts: Vec<usize>,
    count: usize,
}

/// The plan shape of a record, as its places lie in memory: longitude and latitude, degrees.
#[derive(Clone, Copy, Debug)]
pub enum Places<'a> {
    /// A point.
    Point([f64; 2]),
    /// A chain.
    Chain(&'a [[f64; 2]]),
    /// The outer ring of an outline, closed.
    Ring(&'a [[f64; 2]]),
    /// A shape that is kept whole.
    Whole(&'a Shape),
}

impl Packed {
    /// How many records there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.count
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Adds a record behind the others.
    pub fn push(&mut self, record: &Draft<'_>) {
        let is_full = (self.chunks.last()).is_none_or(|chunk| chunk.rows.len() >= RECORDS_A_CHUNK);
        if is_full {
            if let Some(full) = self.chunks.last_mut() {
                full.shrink();
            }
            self.starts.push(self.count);
            self.chunks.push(Chunk::default());
        }
        if let Some(chunk) = self.chunks.last_mut() {
            chunk.push(record);
            self.count += 1;
        }
    }

    /// Gives back the room that was meant for more.
    pub fn shrink(&mut self) {
        if let Some(last) = self.chunks.last_mut() {
            last.shrink();
        }
    }

    /// Adds the records of another list behind the others.
    pub fn append(&mut self, mut other: Self) {
        other.shrink();
        for chunk in other.chunks {
            self.starts.push(self.count);
            self.count += chunk.rows.len();
            self.chunks.push(chunk);
        }
    }

    /// The record of a number.
    #[must_use]
    pub fn get(&self, number: usize) -> Option<Obstacle> {
        let (chunk, row) = self.place_of(number)?;
        chunk.get(row)
    }

    /// The places of every record, in order.
    pub fn all_places(&self) -> impl Iterator<Item = Option<Places<'_>>> {
        self.chunks
            .iter()
            .flat_map(|chunk| (0..chunk.rows.len()).map(|row| chunk.places(row)))
    }

    /// Every record in order.
    pub fn iter(&self) -> impl Iterator<Item = Obstacle> + '_ {
        self.chunks
            .iter()
            .flat_map(|chunk| (0..chunk.rows.len()).filter_map(|row| chunk.get(row)))
    }

    /// The stated top of every record, in order, and what kind of thing it is.
    pub fn tops(&self) -> impl Iterator<Item = (Option<Top>, Class)> + '_ {
        self.chunks.iter().flat_map(|chunk| {
            let rows = chunk.rows.iter().enumerate();
            rows.map(|(row, it)| chunk.top(row, it))
        })
    }

    /// Looks at all that the records of some numbers are made of, without making them; the numbers never
    /// fall. What lies far apart in memory is then fetched at once, and not piece by piece while each
    /// record is made.
    pub fn fetch(&self, numbers: &[u32]) {
        self.each(numbers, |chunk, row| {
            chunk.rows.get(row).map_or(0, |it| u64::from(it.text_end))
        });
        self.each(numbers, Chunk::first_bytes);
    }

    fn each(&self, numbers: &[u32], look: impl Fn(&Chunk, usize) -> u64) {
        let mut at = 0;
        let start = |at: usize| self.starts.get(at).copied().unwrap_or(usize::MAX);
        let mut seen = 0;
        for number in numbers.iter().map(|number| *number as usize) {
            while start(at + 1) <= number {
                at += 1;
            }
            if let Some(chunk) = self.chunks.get(at) {
                seen ^= look(chunk, number.saturating_sub(start(at)));
            }
        }
        black_box(seen);
    }

    fn place_of(&self, number: usize) -> Option<(&Chunk, usize)> {
        let at = self.starts.partition_point(|start| *start <= number);
        let chunk = at.checked_sub(1)?;
        let start = self.starts.get(chunk)?;
        Some((self.chunks.get(chunk)?, number - start))
    }
}

impl Extend<Obstacle> for Packed {
    fn extend<T: IntoIterator<Item = Obstacle>>(&mut self, records: T) {
        for record in records {
            self.push(&Draft::of(&record));
        }
    }
}

impl FromIterator<Obstacle> for Packed {
    fn from_iter<T: IntoIterator<Item = Obstacle>>(records: T) -> Self {
        let mut packed = Self::default();
        packed.extend(records);
        packed
    }
}

/// A piece of the list.
#[derive(Clone, Debug, Default)]
struct Chunk {
    rows: Vec<Row>,
    text: String,
    places: Vec<[f64; 2]>,
    /// Spans, in the order of their rows.
    spans: Vec<Span>,
    /// What spans of one line share.
    lines: Vec<Line>,
    /// Names, by their row.
    names: Vec<(u32, Box<str>)>,
    /// Records kept whole, by their row.
    whole: BTreeMap<u32, Box<Obstacle>>,
    files: Numbered<SmolStr>,
    kinds: Numbered<SmolStr>,
    accuracies: Numbered<[u64; 2]>,
}

/// What is kept of every record, in 32 bytes; its text and its places begin where those of the row
/// before end.
#[derive(Clone, Copy, Debug)]
struct Row {
    top_m: f64,
    text_end: u32,
    places_end: u32,
    /// The place of its detail among the spans; of no meaning for what is no span.
    span: u32,
    file: u16,
    kind: u16,
    accuracies: u16,
    top: TopKind,
    permanence: Permanence,
    form: Form,
    has_name: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Point,
    Chain,
    Ring,
    Whole,
}

/// A top without the room that an option takes.
#[derive(Clone, Copy, Debug)]
struct SmallTop {
    value_m: f64,
    kind: TopKind,
}

/// What is known of a top besides its value.
#[derive(Clone, Copy, Debug)]
struct TopKind {
    is_known: bool,
    reference: VerticalReference,
    basis: HeightBasis,
}

#[derive(Clone, Debug)]
struct Span {
    line: u32,
    index: usize,
    length: Metres,
    tops: [SmallTop; 2],
    /// The file of each end's support, and where its feature lies in the text.
    supports: [Option<(u16, u32, u32)>; 2],
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Line {
    sag: Option<Sag>,
    clearance: Option<Metres>,
    wire_offset: Option<Metres>,
    voltage_v: Option<f64>,
}

/// The numbers of kinds that have no words.
const SPAN: u16 = 0;
const SUPPORT: u16 = 1;
const BUILDING: u16 = 2;
/// The number of the first kind in words.
const IN_WORDS: u16 = 3;

impl Chunk {
    fn push(&mut self, record: &Draft<'_>) {
        let Ok(row) = u32::try_from(self.rows.len()) else {
            return;
        };
        match self.small(row, record) {
            Some(small) => self.rows.push(small),
            None => {
                self.rows.push(Row {
                    top_m: 0.0,
                    text_end: self.text_len(),
                    places_end: self.places_len(),
                    span: 0,
                    file: 0,
                    kind: 0,
                    accuracies: 0,
                    top: TopKind::UNKNOWN,
                    permanence: Permanence::Unknown,
                    form: Form::Whole,
                    has_name: false,
                });
                self.whole.insert(row, Box::new(record.record()));
            }
        }
    }

    /// The row of a record, whose text and places are added; none, and nothing added, where it does not
    /// fit the form.
    fn small(&mut self, row: u32, record: &Draft<'_>) -> Option<Row> {
        let form = match (&record.plan, &record.span) {
            (Plan::Point(_), None) => Form::Point,
            (Plan::Chain(_), Some(_)) => Form::Chain,
            (Plan::Outline(outline), None) if outline.interiors().is_empty() => Form::Ring,
            _ => return None,
        };
        let (source_file, source_feature) = record.source;
        if (*record.kind == ObstacleKind::Span) != record.span.is_some() {
            return None;
        }
        let supports = record.span.iter().flat_map(|span| &span.ends);
        let text: usize = source_feature.len()
            + supports
                .filter_map(|end| end.support.as_ref())
                .map(|support| support.feature.len())
                .sum::<usize>();
        let places = match record.plan {
            Plan::Point(_) => 1,
            Plan::Chain(places) => places.len(),
            Plan::Outline(outline) => outline.exterior().0.len(),
        };
        u32::try_from(self.text.len() + text).ok()?;
        u32::try_from(self.places.len() + places).ok()?;
        let file = self.files.number(source_file, |text: &str| text.into())?;
        let kind = match record.kind {
            ObstacleKind::Span => SPAN,
            ObstacleKind::Support => SUPPORT,
            ObstacleKind::Building => BUILDING,
            ObstacleKind::Structure(words) => self
                .kinds
                .number(words.as_str(), |text: &str| text.into())?
                .checked_add(IN_WORDS)?,
        };
        let bits =
            [record.horizontal_accuracy, record.vertical_accuracy].map(|it| it.m().to_bits());
        let accuracies = self.accuracies.number(&bits, |bits| *bits)?;
        // Spans are no more than rows, whose numbers fit.
        let span = u32::try_from(self.spans.len()).ok()?;
        if let Some(detail) = record.span {
            let span = self.span(detail)?;
            self.spans.push(span);
        }
        match record.plan {
            Plan::Point(place) => self.places.push([place.lon(), place.lat()]),
            Plan::Chain(places) => {
                let places = places.iter().map(|place| [place.lon(), place.lat()]);
                self.places.extend(places);
            }
            Plan::Outline(outline) => {
                let corners = outline.exterior().coords();
                self.places
                    .extend(corners.map(|corner| [corner.x, corner.y]));
            }
        }
        self.text.push_str(source_feature);
        if let Some(name) = record.name {
            self.names.push((row, name.into()));
        }
        let top = SmallTop::of(record.top);
        Some(Row {
            top_m: top.value_m,
            text_end: self.text_len(),
            places_end: self.places_len(),
            span,
            file,
            kind,
            accuracies,
            top: top.kind,
            permanence: record.permanence,
            form,
            has_name: record.name.is_some(),
        })
    }

    /// The detail of a span. The features of its supports are added to the text.
    fn span(&mut self, detail: &SpanDetail) -> Option<Span> {
        let mut files = [None; 2];
        for (file, end) in files.iter_mut().zip(&detail.ends) {
            if let Some(support) = &end.support {
                *file = Some(
                    self.files
                        .number(support.file.as_str(), |text: &str| text.into())?,
                );
            }
        }
        let line = Line {
            sag: detail.sag,
            clearance: detail.clearance,
            wire_offset: detail.wire_offset,
            voltage_v: detail.voltage_v,
        };
        if self.lines.last() != Some(&line) {
            self.lines.push(line);
        }
        let line = u32::try_from(self.lines.len()).ok()?.checked_sub(1)?;
        let mut supports = [None; 2];
        for ((support, file), end) in supports.iter_mut().zip(files).zip(&detail.ends) {
            if let (Some(file), Some(source)) = (file, &end.support) {
                let from = self.text_len();
                self.text.push_str(&source.feature);
                *support = Some((file, from, self.text_len()));
            }
        }
        Some(Span {
            line,
            index: detail.index,
            length: detail.length,
            tops: [&detail.ends[0], &detail.ends[1]].map(|end| SmallTop::of(end.top)),
            supports,
        })
    }

    /// Texts that would not fit are refused before they are added.
    fn text_len(&self) -> u32 {
        u32::try_from(self.text.len()).unwrap_or(u32::MAX)
    }

    fn places_len(&self) -> u32 {
        u32::try_from(self.places.len()).unwrap_or(u32::MAX)
    }

    fn shrink(&mut self) {
        self.rows.shrink_to_fit();
        self.text.shrink_to_fit();
        self.places.shrink_to_fit();
        self.spans.shrink_to_fit();
        self.lines.shrink_to_fit();
        self.names.shrink_to_fit();
    }

    fn row(&self, row: usize) -> Option<(&Row, &[[f64; 2]])> {
        let it = self.rows.get(row)?;
        let start = match row.checked_sub(1) {
            Some(before) => self.rows.get(before)?.places_end,
            None => 0,
        };
        let places = self.places.get(start as usize..it.places_end as usize)?;
        Some((it, places))
    }

    /// Something of the places, the text and the detail of a row.
    fn first_bytes(&self, row: usize) -> u64 {
        let Some((it, places)) = self.row(row) else {
            return 0;
        };
        let place = places.first().map_or(0, |[lon, _]| lon.to_bits());
        let last = (it.text_end as usize).saturating_sub(1);
        let letter = self.text.as_bytes().get(last).copied().map_or(0, u64::from);
        let span = match it.form {
            Form::Chain => self.spans.get(it.span as usize),
            _ => None,
        };
        place ^ letter ^ span.map_or(0, |span| u64::from(span.line))
    }

    fn top(&self, row: usize, it: &Row) -> (Option<Top>, Class) {
        let whole = u32::try_from(row).ok().filter(|_| it.form == Form::Whole);
        if let Some(record) = whole.and_then(|row| self.whole.get(&row)) {
            return (record.top, Class::of(&record.kind));
        }
        let class = match it.kind {
            SPAN => Class::Span,
            SUPPORT => Class::Support,
            _ => Class::Structure,
        };
        (it.top(), class)
    }

    fn places(&self, row: usize) -> Option<Places<'_>> {
        let (it, places) = self.row(row)?;
        Some(match it.form {
            Form::Point => Places::Point(*places.first()?),
            Form::Chain => Places::Chain(places),
            Form::Ring => Places::Ring(places),
            Form::Whole => Places::Whole(&self.whole.get(&u32::try_from(row).ok()?)?.shape),
        })
    }

    fn get(&self, row: usize) -> Option<Obstacle> {
        let key = u32::try_from(row).ok()?;
        let (it, places) = self.row(row)?;
        if it.form == Form::Whole {
            return self.whole.get(&key).map(|record| record.as_ref().clone());
        }
        let place = |[lon, lat]: &[f64; 2]| LonLat::wrapped(*lon, *lat);
        let shape = match it.form {
            Form::Point => Shape::Point(place(places.first()?)),
            Form::Chain => Shape::Chain(places.iter().map(place).collect()),
            Form::Ring | Form::Whole => Shape::Outline(Polygon::new(
                LineString::new(places.iter().map(|[x, y]| Coord { x: *x, y: *y }).collect()),
                Vec::new(),
            )),
        };
        let span = (it.form == Form::Chain)
            .then(|| self.detail(it.span))
            .flatten();
        // The features of a span's supports lie before its own.
        let text_start = match (&span, row.checked_sub(1)) {
            (Some((_, Some(behind_supports))), _) => *behind_supports,
            (_, Some(before)) => self.rows.get(before)?.text_end,
            (_, None) => 0,
        };
        let [horizontal_accuracy, vertical_accuracy] = self
            .accuracies
            .value(it.accuracies)?
            .map(|bits| Metres::of(f64::from_bits(bits)));
        let name = (it.has_name)
            .then(|| self.names.binary_search_by_key(&key, |(row, _)| *row))
            .and_then(Result::ok);
        Some(Obstacle {
            source: FeatureRef {
                file: self.files.value(it.file)?.clone(),
                feature: self
                    .text
                    .get(text_start as usize..it.text_end as usize)?
                    .into(),
            },
            name: name
                .and_then(|at| self.names.get(at))
                .map(|(_, name)| name.to_string()),
            kind: match it.kind {
                SPAN => ObstacleKind::Span,
                SUPPORT => ObstacleKind::Support,
                BUILDING => ObstacleKind::Building,
                words => ObstacleKind::Structure(self.kinds.value(words - IN_WORDS)?.clone()),
            },
            shape,
            top: it.top(),
            permanence: it.permanence,
            horizontal_accuracy,
            vertical_accuracy,
            span: span.map(|(detail, _)| Box::new(detail)),
        })
    }

    /// The detail of a span, and where the text of its supports ends, if it has any.
    fn detail(&self, span: u32) -> Option<(SpanDetail, Option<u32>)> {
        let span = self.spans.get(span as usize)?;
        let line = self.lines.get(span.line as usize)?;
        let support = |(file, from, to): (u16, u32, u32)| {
            Some(FeatureRef {
                file: self.files.value(file)?.clone(),
                feature: self.text.get(from as usize..to as usize)?.into(),
            })
        };
        let end = |number: usize| SpanEnd {
            top: span.tops[number].top(),
            support: span.supports[number].and_then(support),
        };
        let detail = SpanDetail {
            ends: [end(0), end(1)],
            sag: line.sag,
            length: span.length,
            clearance: line.clearance,
            wire_offset: line.wire_offset,
            voltage_v: line.voltage_v,
            index: span.index,
        };
        let behind = span.supports.iter().flatten().map(|(_, _, to)| *to).max();
        Some((detail, behind))
    }
}

impl Row {
    fn top(&self) -> Option<Top> {
        self.top.with(self.top_m)
    }
}

impl SmallTop {
    fn of(top: Option<Top>) -> Self {
        Self {
            value_m: top.map_or(0.0, |top| top.value_m),
            kind: top.map_or(TopKind::UNKNOWN, |top| TopKind {
                is_known: true,
                reference: top.reference,
                basis: top.basis,
            }),
        }
    }

    fn top(self) -> Option<Top> {
        self.kind.with(self.value_m)
    }
}

impl TopKind {
    /// Of a record without a top.
    const UNKNOWN: Self = Self {
        is_known: false,
        reference: VerticalReference::AboveGround,
        basis: HeightBasis::Stated,
    };

    fn with(self, value_m: f64) -> Option<Top> {
        self.is_known.then_some(Top {
            value_m,
            reference: self.reference,
            basis: self.basis,
        })
    }
}
