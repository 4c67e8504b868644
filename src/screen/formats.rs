//! Finished rows in other formats, each made in one pass of bounded memory beside its place and then
//! put there whole.
//!
//! Rows come from the file of rows, so that no format can disagree with it; outlines come from the
//! file of sites again. Not here: the file of rows itself (see [`super::log`]).

mod features;
mod parquet;
mod vector;

use std::path::{Path, PathBuf};

use geo::MultiPolygon;

use super::columns::{Cell, Column, Kind};
use super::log::unwritten;
use super::site::{Sizes, site};
use super::summary::{records, unreadable};
use super::table::plain;
use super::work::{Go, Numbered, in_order};
use crate::error::{Error, Result};
use crate::read::sites::SiteFile;

/// A format that rows are written in besides separated values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// GeoJSON (RFC 7946), one feature a line.
    GeoJson,
    /// GeoPackage.
    GeoPackage,
    /// FlatGeobuf.
    FlatGeobuf,
    /// Parquet, with outlines as GeoParquet 1.1 has them.
    Parquet,
}

impl Format {
    /// The name of the file.
    #[must_use]
    pub const fn file_name(self) -> &'static str {
        match self {
            Self::GeoJson => "rows.geojson",
            Self::GeoPackage => "rows.gpkg",
            Self::FlatGeobuf => "rows.fgb",
            Self::Parquet => "rows.parquet",
        }
    }
}

/// Takes rows one after the other.
trait Sink {
    /// Takes one row with the outline of its site, if it has one.
    ///
    /// # Errors
    /// No room.
    fn row(&mut self, cells: &[Cell<'_>], outline: Option<&MultiPolygon<f64>>) -> Result<()>;
}

/// Gives all rows to a sink; false when it was stopped before the last.
type Fill<'a> = &'a mut dyn FnMut(&mut dyn Sink) -> Result<bool>;

/// What a format is made from.
pub struct Source<'a> {
    /// The finished file of all rows.
    pub rows: &'a Path,
    /// Its columns.
    pub columns: &'a [Column],
    /// The file of sites.
    pub sites: &'a SiteFile,
    /// What stands in where a site states no size.
    pub sizes: Sizes,
    /// The date of the answers, for formats that note one.
    pub date: String,
}

/// Writes rows in a format into a folder; none when it was stopped.
///
/// # Errors
/// A file that cannot be read or written.
pub fn write(
    format: Format,
    folder: &Path,
    source: &Source<'_>,
    seen: &dyn Fn(u64) -> Go,
) -> Result<Option<PathBuf>> {
    let place = folder.join(format.file_name());
    // Under its own extension, which decides how GDAL writes it.
    let unfinished = folder.join(format!(".eaves-unfinished-{}", format.file_name()));
    let failed = |why: &std::io::Error| unwritten(&place, why);
    for left_over in [
        unfinished.clone(),
        unfinished.with_extension("gpkg-journal"),
    ] {
        match std::fs::remove_file(&left_over) {
            Err(why) if why.kind() != std::io::ErrorKind::NotFound => return Err(failed(&why)),
            _ => {}
        }
    }
    let is_whole = fill(format, &unfinished, source, seen)
        .map_err(|error| error.or_in_file(&place))
        .inspect_err(|_| {
            // What stopped it is what matters.
            let _ = std::fs::remove_file(&unfinished);
        })?;
    if !is_whole {
        std::fs::remove_file(&unfinished).map_err(|why| failed(&why))?;
        return Ok(None);
    }
    std::fs::File::open(&unfinished)
        .and_then(|file| file.sync_all())
        .and_then(|()| std::fs::rename(&unfinished, &place))
        .map_err(|why| failed(&why))?;
    Ok(Some(place))
}

fn fill(
    format: Format,
    unfinished: &Path,
    source: &Source<'_>,
    seen: &dyn Fn(u64) -> Go,
) -> Result<bool> {
    let fill: Fill<'_> = &mut |sink| rows(source, sink, seen);
    match format {
        Format::GeoJson => features::with(unfinished, source, fill),
        Format::GeoPackage | Format::FlatGeobuf => vector::with(format, unfinished, source, fill),
        Format::Parquet => parquet::with(unfinished, source, fill),
    }
}

/// Gives all rows with their outlines to a sink.
fn rows(source: &Source<'_>, sink: &mut dyn Sink, seen: &dyn Fn(u64) -> Go) -> Result<bool> {
    let mut rows = records(source.rows, true)?;
    let mut record = csv::StringRecord::new();
    let outlines = |sites: Vec<Numbered>| -> Vec<Option<MultiPolygon<f64>>> {
        sites
            .into_iter()
            .map(|(index, raw)| {
                site(source.sites, index, raw, source.sizes)
                    .ok()
                    .map(|named| named.site.area.polygons)
            })
            .collect()
    };
    let mut count = 0;
    let done = in_order(source.sites, 0..u64::MAX, outlines, |_, found| {
        for outline in found.into_iter().flatten() {
            let is_there = rows
                .read_record(&mut record)
                .map_err(|why| unreadable(source.rows, &why))?;
            if !is_there {
                let why = "it has fewer rows than there are sites";
                return Err(unreadable(source.rows, &why));
            }
            let cells: Vec<Cell<'_>> = source
                .columns
                .iter()
                .zip(&record)
                .map(|(column, text)| cell(column, text))
                .collect::<Option<_>>()
                .ok_or_else(|| unreadable(source.rows, &"a number is no number"))?;
            sink.row(&cells, outline.as_ref())?;
            count += 1;
        }
        Ok(seen(count))
    })?;
    Ok(done.is_some())
}

/// A cell from its text; none for a number that is none.
fn cell<'a>(column: &Column, text: &'a str) -> Option<Cell<'a>> {
    if text.is_empty() {
        return Some(Cell::None);
    }
    match column.kind {
        Kind::Text => Some(Cell::Text(plain(text).into())),
        Kind::Integer => text.parse().ok().map(Cell::Integer),
        Kind::Number(_) => text.parse().ok().map(Cell::Number),
    }
}

fn unwritable(why: &impl std::fmt::Display) -> Error {
    Error::new(
        format!("cannot be written ({why})"),
        "check the folder, its permissions and the space left",
    )
}
