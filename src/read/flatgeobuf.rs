//! Prepared vector layers: FlatGeobuf with its packed R-tree, of which only what is wanted is read.
//!
//! Natively, for a search through GDAL knows one box and no mask. Not here: FlatGeobuf that eaves
//! did not write, which GDAL reads (see [`crate::read::vector`]).

use std::borrow::Cow;
use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::Path;

use flatgeobuf::{ColumnType, GeometryType};
use rayon::prelude::*;
use serde_json::Value;

use super::crs::Crs;
use super::feature::{Bounds, Feature};
use super::filter::{Choice, Filter};
use super::layer::Outcome;
use super::positions::{Kind, Positions};
use super::prepared::Vector;
use super::properties::{Member, Properties, Value as Named};
use super::shape;
use crate::error::{Error, Result, first_line};

/// The first bytes of a file: letters, version 3, patch level 0.
const MAGIC: [u8; 8] = *b"fgb\x03fgb\x00";
/// Bytes of a node of the tree: four doubles and an offset.
const NODE: usize = 40;
/// A header is no longer than this: 16 MB are hundreds of thousands of columns.
const LONGEST_HEADER: usize = 16 << 20;
/// A feature is no longer than this: 1 GB are tens of millions of positions.
const LONGEST_FEATURE: usize = 1 << 30;
/// Features that are decoded on one core at a time.
const FEATURES_AT_A_TIME: usize = 1024;
/// No more features than this are decoded where they are asked for: threads would take longer to start.
const FEW_FEATURES: usize = 4096;
/// Bytes read at once where features lie close to one another, and where they do not.
const NEAR_BYTES: usize = 64 << 10;
const FAR_BYTES: usize = 2 << 10;

/// A file opened at its header.
#[derive(Debug)]
struct Opened<'a> {
    file: File,
    vector: &'a Vector,
    columns: Vec<(String, ColumnType)>,
    count: usize,
    node_size: usize,
    /// Where the tree starts, and where the features do.
    tree: u64,
    features: u64,
}

/// A feature that is wanted: where its bytes start among the features.
#[derive(Clone, Copy, Debug)]
struct Hit {
    offset: u64,
    choice: Choice,
}

/// What was read of a file.
#[derive(Debug)]
pub struct Found<T> {
    /// What was made of the features wanted, each with its place in the file before.
    pub made: Vec<(usize, T)>,
    /// How many features the file holds.
    pub total: usize,
    /// Whether a feature that is not wanted may be something else than a line.
    pub leaves_out: bool,
}

/// Reads what the filter wants; `make` is given how many features that is and makes something of each on
/// the core that decoded it, so that many features are not held.
///
/// # Errors
/// A file that is damaged or is not what was prepared.
pub fn read<T: Send>(
    path: &Path,
    vector: &Vector,
    filter: &Filter<'_>,
    crs: &Crs,
    make: impl Fn(usize, Choice, Outcome<'static>) -> T + Sync,
) -> Result<Found<T>> {
    let opened = Opened::open(path, vector)?;
    let hits = opened.hits(filter)?;
    let count = hits.len();
    let make = |choice, outcome| make(count, choice, outcome);
    let made = if hits.len() <= FEW_FEATURES {
        opened.decode(&hits, crs, make)?
    } else {
        hits.par_chunks(FEATURES_AT_A_TIME)
            .map(|hits| opened.decode(hits, crs, make))
            .collect::<Result<Vec<_>>>()?
            .into_iter()
            .flatten()
            .collect()
    };
    Ok(Found {
        made,
        total: opened.count,
        leaves_out: hits.len() < opened.count,
    })
}

fn damaged(what: impl std::fmt::Display) -> Error {
    Error::new(
        format!("is damaged ({})", first_line(&what.to_string())),
        "prepare the layers again: eaves prepare",
    )
}

fn at(file: &File, offset: u64, length: usize) -> Result<Vec<u8>> {
    let mut bytes = vec![0; length];
    file.read_exact_at(&mut bytes, offset).map_err(damaged)?;
    Ok(bytes)
}

impl<'a> Opened<'a> {
    fn open(path: &Path, vector: &'a Vector) -> Result<Self> {
        let file = File::open(path).map_err(|error| {
            Error::new(
                format!("cannot be read ({error})"),
                "check that it may be read",
            )
        })?;
        let start = at(&file, 0, MAGIC.len() + 4)?;
        if !start.starts_with(&MAGIC) {
            return Err(damaged("it is not FlatGeobuf 3"));
        }
        let length = little_endian(start.get(MAGIC.len()..)).ok_or_else(|| damaged("cut"))?;
        if length > LONGEST_HEADER {
            return Err(damaged("its header is too long"));
        }
        let bytes = at(&file, MAGIC.len() as u64, 4 + length)?;
        let header = flatgeobuf::size_prefixed_root_as_header(&bytes).map_err(damaged)?;
        let columns = header.columns().map_or_else(Vec::new, |columns| {
            columns
                .iter()
                .map(|column| (column.name().to_owned(), column.type_()))
                .collect()
        });
        let count = usize::try_from(header.features_count()).map_err(damaged)?;
        let size = file.metadata().map_or(0, |about| about.len());
        if count as u64 > size / NODE as u64 {
            return Err(damaged("it ends too early"));
        }
        let node_size = usize::from(header.index_node_size());
        let tree = (start.len() + length) as u64;
        let nodes = levels(count, node_size)
            .first()
            .map_or(0, |leaves| leaves.1);
        if count > 0 && nodes == 0 {
            return Err(damaged("it has no tree"));
        }
        Ok(Self {
            columns,
            vector,
            count,
            node_size,
            tree,
            features: tree + (nodes * NODE) as u64,
            file,
        })
    }

    /// The features that the filter wants, in the order of their bytes.
    fn hits(&self, filter: &Filter<'_>) -> Result<Vec<Hit>> {
        let levels = levels(self.count, self.node_size);
        let mut hits = Vec::new();
        if filter.wants_all()
            && let Some((start, end)) = levels.first()
        {
            let bytes = at(
                &self.file,
                self.tree + (start * NODE) as u64,
                (end - start) * NODE,
            )?;
            hits.extend(bytes.chunks_exact(NODE).map(|node| Hit {
                offset: node_of(node).1,
                choice: Choice::Near,
            }));
            return Ok(hits);
        }
        let mut open = Vec::new();
        if let Some(top) = levels.len().checked_sub(1) {
            open.push((0, top));
        }
        while let Some((first, level)) = open.pop() {
            let &(start, end) = levels.get(level).ok_or_else(|| damaged("its tree"))?;
            if first < start || first >= end {
                return Err(damaged("its tree"));
            }
            let last = (first + self.node_size).min(end);
            let bytes = at(
                &self.file,
                self.tree + (first * NODE) as u64,
                (last - first) * NODE,
            )?;
            for node in bytes.chunks_exact(NODE) {
                let (bounds, offset) = node_of(node);
                let choice = filter.choice(&bounds);
                if choice == Choice::LeftOut {
                    continue;
                }
                match level.checked_sub(1) {
                    Some(below) => open.push((usize::try_from(offset).map_err(damaged)?, below)),
                    None => hits.push(Hit { offset, choice }),
                }
            }
        }
        hits.sort_unstable_by_key(|hit| hit.offset);
        Ok(hits)
    }

    fn decode<T>(
        &self,
        hits: &[Hit],
        crs: &Crs,
        make: impl Fn(Choice, Outcome<'static>) -> T,
    ) -> Result<Vec<(usize, T)>> {
        let mut bytes = Bytes::default();
        let mut positions = Positions::default();
        let mut made = Vec::with_capacity(hits.len());
        for (number, hit) in hits.iter().enumerate() {
            let next = hits.get(number + 1).map(|next| next.offset);
            let is_close =
                next.is_some_and(|next| next.saturating_sub(hit.offset) < NEAR_BYTES as u64);
            let ahead = if is_close { NEAR_BYTES } else { FAR_BYTES };
            let offset = self.features + hit.offset;
            let length = little_endian(Some(bytes.get(&self.file, offset, 4, ahead)?))
                .filter(|length| *length <= LONGEST_FEATURE)
                .ok_or_else(|| damaged("a feature is too long"))?;
            let text = bytes.get(&self.file, offset, 4 + length, ahead)?;
            let feature = flatgeobuf::size_prefixed_root_as_feature(text).map_err(damaged)?;
            let (index, outcome) = self.feature(&feature, &mut positions, crs)?;
            made.push((index, make(hit.choice, outcome)));
        }
        Ok(made)
    }

    fn feature(
        &self,
        feature: &flatgeobuf::Feature<'_>,
        positions: &mut Positions,
        crs: &Crs,
    ) -> Result<(usize, Outcome<'static>)> {
        let mut members = Vec::with_capacity(self.columns.len());
        let (mut number, mut id) = (None, None);
        let bytes = feature.properties().map_or(&[][..], |bytes| bytes.bytes());
        let mut rest = bytes;
        while !rest.is_empty() {
            let (column, after) = rest
                .split_first_chunk::<2>()
                .ok_or_else(|| damaged("a property is cut"))?;
            let (name, kind) = self
                .columns
                .get(usize::from(u16::from_le_bytes(*column)))
                .ok_or_else(|| damaged("a property has no column"))?;
            let (value, after) = value_of(*kind, after)?;
            rest = after;
            if *name == self.vector.number_column {
                number = value
                    .as_u64()
                    .and_then(|number| usize::try_from(number).ok());
            } else if *name == self.vector.id_column {
                id = value.as_str().map(str::to_owned);
            } else {
                members.push(Member::known(Cow::Owned(name.clone()), value));
            }
        }
        let index = number
            .and_then(|number| number.checked_sub(1))
            .ok_or_else(|| damaged("a feature has no number"))?;
        let id = id.map(geojson::feature::Id::String);
        let properties = Properties::from(members);
        let at_id = match properties.exactly("@id") {
            Some(Named::Text(text)) => Some(text),
            _ => None,
        };
        let label = super::feature::label(id.as_ref(), at_id.as_deref(), index);
        let geometry = feature
            .geometry()
            .ok_or_else(|| damaged("a feature has no geometry"))?;
        let kind = fill(&geometry, positions)?;
        Ok((
            index,
            match shape::from_positions(kind, positions, crs) {
                Ok(geometry) => Ok(Feature::new(label, properties, Some(geometry))),
                Err(defect) => Err((label, defect)),
            },
        ))
    }
}

/// A stretch of a file that was read ahead.
#[derive(Default)]
struct Bytes {
    start: u64,
    held: Vec<u8>,
}

impl Bytes {
    fn get(&mut self, file: &File, offset: u64, length: usize, ahead: usize) -> Result<&[u8]> {
        let from = offset.checked_sub(self.start).map(|from| from as usize);
        let is_held = from.is_some_and(|from| from + length <= self.held.len());
        if !is_held {
            self.start = offset;
            self.held.resize(length.max(ahead), 0);
            let mut filled = 0;
            while let Some(room) = self.held.get_mut(filled..)
                && !room.is_empty()
            {
                match file.read_at(room, offset + filled as u64) {
                    Ok(0) => break,
                    Ok(count) => filled += count,
                    Err(error) => return Err(damaged(error)),
                }
            }
            self.held.truncate(filled);
        }
        let from = (offset - self.start) as usize;
        self.held
            .get(from..from + length)
            .ok_or_else(|| damaged("it ends too early"))
    }
}

/// The nodes of each level of a tree over `count` features, leaves first: the first and the one after
/// the last, counted from the root.
fn levels(count: usize, node_size: usize) -> Vec<(usize, usize)> {
    if count == 0 || node_size < 2 {
        return Vec::new();
    }
    let mut sizes = vec![count];
    let mut size = count;
    // The writers make a level above a single feature too.
    loop {
        size = size.div_ceil(node_size);
        sizes.push(size);
        if size == 1 {
            break;
        }
    }
    let mut end: usize = sizes.iter().sum();
    sizes
        .into_iter()
        .map(|size| {
            let level = (end - size, end);
            end -= size;
            level
        })
        .collect()
}

/// The box of a node, and its offset.
fn node_of(node: &[u8]) -> (Bounds, u64) {
    let number = |slot: usize| {
        node.get(8 * slot..)
            .and_then(|bytes| bytes.first_chunk::<8>())
            .map_or(0, |bytes| u64::from_le_bytes(*bytes))
    };
    let bounds = Bounds {
        west: f64::from_bits(number(0)),
        south: f64::from_bits(number(1)),
        east: f64::from_bits(number(2)),
        north: f64::from_bits(number(3)),
    };
    (bounds, number(4))
}

fn little_endian(bytes: Option<&[u8]>) -> Option<usize> {
    let bytes = bytes?.first_chunk::<4>()?;
    usize::try_from(u32::from_le_bytes(*bytes)).ok()
}

/// The value of a property, and what follows it.
fn value_of(kind: ColumnType, bytes: &[u8]) -> Result<(Value, &[u8])> {
    let cut = || damaged("a property is cut");
    let eight = || bytes.split_first_chunk::<8>().ok_or_else(cut);
    let text = || -> Result<(&str, &[u8])> {
        let length = little_endian(Some(bytes)).ok_or_else(cut)?;
        let (text, rest) = bytes
            .get(4..)
            .and_then(|bytes| bytes.split_at_checked(length))
            .ok_or_else(cut)?;
        Ok((std::str::from_utf8(text).map_err(damaged)?, rest))
    };
    Ok(match kind {
        ColumnType::Bool => {
            let (byte, rest) = bytes.split_first().ok_or_else(cut)?;
            (Value::Bool(*byte != 0), rest)
        }
        ColumnType::Long => {
            let (eight, rest) = eight()?;
            (Value::from(i64::from_le_bytes(*eight)), rest)
        }
        ColumnType::Double => {
            let (eight, rest) = eight()?;
            (Value::from(f64::from_le_bytes(*eight)), rest)
        }
        ColumnType::String => {
            let (text, rest) = text()?;
            (Value::String(text.to_owned()), rest)
        }
        ColumnType::Json => {
            let (text, rest) = text()?;
            (serde_json::from_str(text).map_err(damaged)?, rest)
        }
        other => return Err(damaged(format!("a column has the type {other:?}"))),
    })
}

/// The positions of a geometry, and its type.
fn fill(geometry: &flatgeobuf::Geometry<'_>, positions: &mut Positions) -> Result<Kind> {
    positions.clear();
    let kind = match geometry.type_() {
        GeometryType::Point => Kind::Point,
        GeometryType::MultiPoint => Kind::MultiPoint,
        GeometryType::LineString => Kind::LineString,
        GeometryType::MultiLineString => Kind::MultiLineString,
        GeometryType::Polygon => Kind::Polygon,
        GeometryType::MultiPolygon => Kind::MultiPolygon,
        other => return Err(damaged(format!("a geometry has the type {other:?}"))),
    };
    let has_lines = matches!(
        kind,
        Kind::MultiLineString | Kind::Polygon | Kind::MultiPolygon
    );
    match geometry.parts() {
        Some(parts) if kind == Kind::MultiPolygon => {
            for part in parts {
                add(&part, positions, true);
                positions.polygons.push(positions.lines.len());
            }
        }
        _ => add(geometry, positions, has_lines),
    }
    Ok(kind)
}

/// Adds one part; a single line has no list of ends.
fn add(part: &flatgeobuf::Geometry<'_>, positions: &mut Positions, has_lines: bool) {
    let first = positions.flat.len();
    let numbers = part.xy().map_or_else(Vec::new, |xy| xy.iter().collect());
    positions.flat.extend(
        numbers
            .chunks_exact(2)
            .filter_map(|pair| pair.first_chunk()),
    );
    if has_lines {
        match part.ends() {
            Some(ends) if !ends.is_empty() => positions
                .lines
                .extend(ends.iter().map(|end| first + end as usize)),
            _ => positions.lines.push(positions.flat.len()),
        }
    }
}
