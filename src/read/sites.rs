//! Files of many candidate sites, one after the other: GeoJSON, newline-delimited GeoJSON, tables of
//! comma-separated values, and what GDAL reads.
//!
//! Memory does not depend on how many sites a file holds: [`SiteFile::sites`] gives one at a time as
//! it stands in the file, in the order of the file, and [`SiteFile::site`] understands it, in any
//! thread. What is wrong with one site is a value ([`SiteDefect`]) and never the end of the file.
//! Not here: the area about a point or along a line (see [`crate::corridor`]), and what is asked of
//! a site (see [`crate::batch`]).

mod json;
mod properties;
mod split;
mod table;
mod vector;

use std::path::{Path, PathBuf};

use self::json::Framing;
use self::table::Columns;
use super::crs::Crs;
use super::feature::Feature;
use super::layer::file_name;
use crate::error::{Error, Result};
use crate::units::{Height, Metres};

pub use properties::Named;

/// The longest text of one site, bytes: more is no site but a fault of the file, and would not be
/// held in memory.
pub const LONGEST_SITE_BYTES: usize = 64 << 20;

/// What the user says about a file of sites.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SiteOptions {
    /// The property or column that holds the identifier.
    pub id: Option<String>,
    /// The column that holds the longitude, of a table.
    pub longitude: Option<String>,
    /// The column that holds the latitude, of a table.
    pub latitude: Option<String>,
    /// The coordinate reference system, in place of what the file says.
    pub crs: Option<String>,
    /// The table, of a file that holds several.
    pub table: Option<String>,
}

/// A file of sites, opened: its format and coordinate reference system are known.
#[derive(Debug)]
pub struct SiteFile {
    path: PathBuf,
    file: String,
    crs: Crs,
    options: SiteOptions,
    format: Format,
}

#[derive(Debug)]
enum Format {
    Json(Framing),
    Table(Columns),
    Vector { table: String },
}

/// One site as it stands in the file, not yet understood.
#[derive(Debug)]
pub enum RawSite {
    /// The text of a GeoJSON feature.
    Text(Vec<u8>),
    /// A record of a table.
    Record(csv::ByteRecord),
    /// A feature that GDAL read, its geometry in the coordinates of the file.
    Feature(Box<Feature<'static>>),
    /// Something that could not be read: its label, if it has one, and why.
    Broken(Option<String>, String),
}

impl RawSite {
    /// About how many bytes it holds.
    #[must_use]
    pub fn weight(&self) -> usize {
        match self {
            Self::Text(text) => text.len(),
            Self::Record(record) => record.as_slice().len(),
            Self::Feature(feature) => {
                use geo::CoordsIter;
                let corners = feature
                    .geometry
                    .as_ref()
                    .map_or(0, CoordsIter::coords_count);
                corners * size_of::<geo::Coord<f64>>()
            }
            Self::Broken(_, why) => why.len(),
        }
    }
}

/// One site, understood: a feature, and what the file says about it as a site.
#[derive(Clone, Debug)]
pub struct ReadSite {
    /// Its identifier: the one asked for, else `id`, else `#3` for the third of the file.
    pub id: String,
    /// Its name, if the file gives one.
    pub name: Option<String>,
    /// Its geometry in WGS 84, degrees.
    pub geometry: Option<geo::Geometry<f64>>,
    /// The radius about a point, if given.
    pub radius: Option<Metres>,
    /// The width along a line, if given.
    pub width: Option<Metres>,
    /// A height above ground wished for this site, if given.
    pub wish: Option<Height>,
}

/// Why a site could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteDefect {
    /// Its identifier, as far as one could be told.
    pub id: String,
    /// What is wrong, as a phrase.
    pub why: String,
}

/// The sites of a file, one at a time.
pub trait Sites {
    /// The next site; none at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read any further, which is never the fault of one site alone.
    fn next(&mut self) -> Result<Option<RawSite>>;

    /// A coordinate reference system that only came to light behind the sites.
    fn late_crs(&self) -> Option<&str> {
        None
    }
}

impl SiteFile {
    /// Opens a file of sites. The format is told by the extension: `.geojson` and `.json` hold a
    /// collection, one feature a line, or records after record separators (RFC 8142), told apart by
    /// their beginning; `.ndjson`, `.jsonl`, `.geojsonl`, `.geojsons`, `.ndgeojson` hold lines or
    /// records; `.csv`, `.tsv` and `.txt` are tables; `.gpkg`, `.fgb`, `.shp` and `.kml` go through
    /// GDAL.
    ///
    /// # Errors
    /// A file that is missing, empty, a folder or a pipe (sites are read twice); a format that is not
    /// read; an unknown coordinate reference system; a table without the columns that are needed.
    pub fn open(path: &Path, options: &SiteOptions) -> Result<Self> {
        Self::opened(path, options).map_err(|error| error.in_file(path))
    }

    fn opened(path: &Path, options: &SiteOptions) -> Result<Self> {
        check_file(path)?;
        let extension = path
            .extension()
            .map(|extension| extension.to_string_lossy().to_lowercase())
            .unwrap_or_default();
        let declared = options.crs.as_deref().map(Crs::declared).transpose()?;
        let (format, crs) = match extension.as_str() {
            "geojson" | "json" | "ndjson" | "jsonl" | "geojsonl" | "geojsons" | "geojsonseq"
            | "ndgeojson" => {
                let (framing, crs) = json::framing(path, &extension)?;
                let crs = match (declared, crs) {
                    (Some(declared), _) => declared,
                    (None, Some(definition)) => Crs::declared(&definition)?,
                    (None, None) => Crs::wgs84(),
                };
                (Format::Json(framing), crs)
            }
            "csv" | "tsv" | "txt" => (
                Format::Table(Columns::of(path, options)?),
                declared.unwrap_or_else(Crs::wgs84),
            ),
            "gpkg" | "fgb" | "shp" | "kml" => {
                let (table, crs) = vector::table(path, options.table.as_deref(), declared)?;
                (Format::Vector { table }, crs)
            }
            _ => {
                return Err(Error::new(
                    format!("its extension \".{extension}\" is not one of a file of sites"),
                    "use geojson, ndjson, csv, gpkg, fgb, shp or kml",
                ));
            }
        };
        Ok(Self {
            path: path.to_path_buf(),
            file: file_name(path),
            crs,
            options: options.clone(),
            format,
        })
    }

    /// The path of the file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The name of the file.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its coordinate reference system.
    #[must_use]
    pub const fn crs(&self) -> &Crs {
        &self.crs
    }

    /// Takes another coordinate reference system, one that [`Sites::late_crs`] gave.
    ///
    /// # Errors
    /// An unknown system.
    pub fn with_crs(mut self, definition: &str) -> Result<Self> {
        self.crs = Crs::declared(definition).map_err(|error| error.in_file(&self.path))?;
        Ok(self)
    }

    /// The sites, from the first.
    ///
    /// # Errors
    /// A file that cannot be opened any more.
    pub fn sites(&self) -> Result<Box<dyn Sites>> {
        match &self.format {
            Format::Json(framing) => json::sites(&self.path, *framing),
            Format::Table(columns) => table::sites(&self.path, columns),
            Format::Vector { table } => vector::sites(&self.path, table, &self.options),
        }
        .map_err(|error| error.in_file(&self.path))
    }

    /// Understands one site; `index` is its place in the file, counted from 0.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn site(&self, index: u64, raw: RawSite) -> std::result::Result<ReadSite, SiteDefect> {
        let numbered = || format!("#{}", index.saturating_add(1));
        let mut members = Vec::new();
        let text;
        let read = match (raw, &self.format) {
            (RawSite::Text(bytes), _) => {
                text = bytes;
                json::feature(&text, &mut members, &self.crs, &self.options)
            }
            (RawSite::Record(record), Format::Table(columns)) => {
                columns.feature(&record, &self.crs)
            }
            (RawSite::Feature(feature), _) => vector::feature(*feature, &self.crs),
            (RawSite::Broken(id, why), _) => Err((id, why)),
            (RawSite::Record(_), _) => Err((None, "is a record of another file".to_owned())),
        };
        let defect = |(id, why): (Option<String>, String)| SiteDefect {
            id: id.unwrap_or_else(numbered),
            why,
        };
        let Named { id, feature } = read.map_err(defect)?;
        properties::site(id.unwrap_or_else(numbered), feature)
    }
}

fn check_file(path: &Path) -> Result<()> {
    let remedy = "give the file of the sites";
    match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Err(Error::new("does not exist", "check the path"))
        }
        Err(error) => Err(Error::new(format!("cannot be read ({error})"), remedy)),
        Ok(found) if found.is_dir() => Err(Error::new("is a folder, not a file", remedy)),
        Ok(found) if !found.is_file() => Err(Error::new(
            "is a pipe or a device, and sites are read more than once",
            "save the sites to a file first",
        )),
        Ok(found) if found.len() == 0 => Err(Error::new("is empty", "export it again")),
        Ok(_) => Ok(()),
    }
}
