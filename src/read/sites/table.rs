//! Sites from tables of separated values: a column of longitudes and one of latitudes, or one of
//! well-known text.
//!
//! Read by the `csv` crate rather than by GDAL, whose reader takes a coordinate that is no number for
//! none or for 0 without a word. Not here: other formats.

use std::cell::Cell;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::rc::Rc;

use geojson::JsonObject;
use serde_json::Value;

use super::properties::{self, Named};
use super::{LONGEST_SITE_BYTES, RawSite, SiteOptions, Sites};
use crate::error::{Error, Result};
use crate::read::crs::Crs;
use crate::read::feature::Feature;
use crate::read::properties::Properties;
use crate::read::vector::{LATITUDE_COLUMNS, LONGITUDE_COLUMNS, WKT_COLUMNS};
use crate::read::{shape, vector};

/// The characters that may separate values.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// The columns of a table, and how its values are separated.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    names: Vec<String>,
    separator: u8,
    place: Place,
    id: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    LonLat(usize, usize),
    Wkt(usize),
}

impl Columns {
    /// From the first record of a table.
    ///
    /// # Errors
    /// A table without the columns that are needed, or without those that the user names.
    pub fn of(path: &Path, options: &SiteOptions) -> Result<Self> {
        let separator = separator(path)?;
        let mut reader = builder(separator).from_reader(open(path)?);
        let header = reader.headers().map_err(|why| {
            Error::new(
                format!("its first line cannot be read ({why})"),
                "save it as UTF-8 text with the names of the columns in its first line",
            )
        })?;
        let names: Vec<String> = header.iter().map(|name| name.trim().to_owned()).collect();
        let id = options.id.as_deref();
        if let Some(id) = id {
            exactly(&names, id, "--id")?;
        }
        let place = match (options.longitude.as_deref(), options.latitude.as_deref()) {
            (None, None) => guessed(&names)?,
            (longitude, latitude) => Place::LonLat(
                match longitude {
                    Some(name) => exactly(&names, name, "--longitude")?,
                    None => one_of(&names, LONGITUDE_COLUMNS).ok_or_else(|| missing(&names))?,
                },
                match latitude {
                    Some(name) => exactly(&names, name, "--latitude")?,
                    None => one_of(&names, LATITUDE_COLUMNS).ok_or_else(|| missing(&names))?,
                },
            ),
        };
        Ok(Self {
            names,
            separator,
            place,
            id: options.id.clone(),
        })
    }

    /// One site from a record.
    ///
    /// # Errors
    /// Its identifier, if it has one, and what is wrong with it, as a phrase.
    pub fn feature(
        &self,
        record: &csv::ByteRecord,
        crs: &Crs,
    ) -> std::result::Result<Named<'static>, (Option<String>, String)> {
        let mut properties = JsonObject::new();
        let id_name = self.id.as_deref();
        for (name, value) in self.names.iter().zip(record) {
            if properties::is_wanted(name, id_name) && !value.is_empty() {
                let value = std::str::from_utf8(value)
                    .map_err(|_| (None, format!("its column {name} is not UTF-8 text")))?;
                properties.insert(name.clone(), Value::String(value.to_owned()));
            }
        }
        let properties = Properties::from(properties);
        let id = properties::id(&properties, None, id_name);
        match self.geometry(record, crs) {
            Ok(geometry) => Ok(Named {
                id,
                feature: Feature::new("", properties, Some(geometry)),
            }),
            Err(why) => Err((id, why)),
        }
    }

    fn geometry(
        &self,
        record: &csv::ByteRecord,
        crs: &Crs,
    ) -> std::result::Result<geo::Geometry<f64>, String> {
        if record.len() != self.names.len() {
            return Err(format!(
                "has {} values where the table has {} columns",
                record.len(),
                self.names.len()
            ));
        }
        match self.place {
            Place::LonLat(longitude, latitude) => {
                let x = self.number(record, longitude)?;
                let y = self.number(record, latitude)?;
                shape::place(x, y, crs).map(|place| geo::Geometry::Point(geo::Point(place)))
            }
            Place::Wkt(column) => {
                let text = std::str::from_utf8(record.get(column).unwrap_or_default())
                    .map_err(|_| "its well-known text is not UTF-8".to_owned())?;
                if text.trim().is_empty() {
                    return Err("has no well-known text".to_owned());
                }
                shape::in_wgs84(&vector::from_wkt(text)?, crs)
            }
        }
    }

    /// A coordinate; where values are separated by semicolons or tabs it may have a decimal comma.
    fn number(&self, record: &csv::ByteRecord, column: usize) -> std::result::Result<f64, String> {
        let name = self.names.get(column).map_or("", String::as_str);
        let text = String::from_utf8_lossy(record.get(column).unwrap_or_default());
        let text = text.trim();
        if text.is_empty() {
            return Err(format!("its {name} is empty"));
        }
        let number = if self.separator == b',' {
            text.parse::<f64>()
        } else {
            text.replacen(',', ".", 1).parse::<f64>()
        };
        match number {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(format!(
                "its {name} \"{text}\" is not a number of degrees or metres"
            )),
        }
    }
}

fn open(path: &Path) -> Result<File> {
    File::open(path).map_err(|why| {
        Error::new(
            format!("cannot be read ({why})"),
            "check that it may be read",
        )
    })
}

fn builder(separator: u8) -> csv::ReaderBuilder {
    let mut builder = csv::ReaderBuilder::new();
    builder.flexible(true).delimiter(separator);
    builder
}

/// The separator that the first line has most of.
fn separator(path: &Path) -> Result<u8> {
    let mut line = Vec::new();
    BufReader::new(open(path)?)
        .take(LONGEST_SITE_BYTES as u64)
        .read_until(b'\n', &mut line)
        .map_err(|why| {
            Error::new(
                format!("cannot be read ({why})"),
                "check that it may be read",
            )
        })?;
    if matches!(line.get(..2), Some([0xFF, 0xFE] | [0xFE, 0xFF])) {
        return Err(Error::new("is UTF-16 text", "save it as UTF-8"));
    }
    let count = |separator: &u8| line.iter().filter(|byte| *byte == separator).count();
    Ok(SEPARATORS
        .into_iter()
        .rev()
        .max_by_key(count)
        .unwrap_or(b','))
}

fn guessed(names: &[String]) -> Result<Place> {
    let longitude = one_of(names, LONGITUDE_COLUMNS);
    let latitude = one_of(names, LATITUDE_COLUMNS);
    match (longitude, latitude, one_of(names, WKT_COLUMNS)) {
        (Some(longitude), Some(latitude), _) => Ok(Place::LonLat(longitude, latitude)),
        (_, _, Some(wkt)) => Ok(Place::Wkt(wkt)),
        _ => Err(missing(names)),
    }
}

fn one_of(names: &[String], wanted: &str) -> Option<usize> {
    wanted.split(',').find_map(|wanted| {
        names
            .iter()
            .position(|name| name.eq_ignore_ascii_case(wanted))
    })
}

fn exactly(names: &[String], wanted: &str, option: &str) -> Result<usize> {
    names.iter().position(|name| name == wanted).ok_or_else(|| {
        Error::new(
            format!("has no column \"{wanted}\" but {}", names.join(", ")),
            format!("give {option} one of these"),
        )
    })
}

fn missing(names: &[String]) -> Error {
    Error::new(
        format!(
            "has no columns for longitude and latitude, nor one of well-known text, but {}",
            names.join(", ")
        ),
        "name them with --longitude and --latitude",
    )
}

/// The records of a table.
///
/// # Errors
/// A file that cannot be opened.
pub fn sites(path: &Path, columns: &Columns) -> Result<Box<dyn Sites>> {
    let since = Rc::new(Cell::new(0));
    let input = Limited {
        file: open(path)?,
        since: Rc::clone(&since),
    };
    let reader = builder(columns.separator)
        .buffer_capacity(BUFFER_BYTES)
        .from_reader(input);
    Ok(Box::new(Records { reader, since }))
}

/// How much of a file is held at a time, bytes.
const BUFFER_BYTES: usize = 1 << 18;

/// A file that refuses to be read for ever for one record, as it is when a quote is not closed.
struct Limited {
    file: File,
    since: Rc<Cell<usize>>,
}

impl Read for Limited {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.since.get() > LONGEST_SITE_BYTES {
            return Err(std::io::Error::other(
                "one record is longer than 64 MiB: is a quote not closed?",
            ));
        }
        let count = self.file.read(buffer)?;
        self.since.set(self.since.get() + count);
        Ok(count)
    }
}

struct Records {
    reader: csv::Reader<Limited>,
    since: Rc<Cell<usize>>,
}

impl Sites for Records {
    fn next(&mut self) -> Result<Option<RawSite>> {
        let mut record = csv::ByteRecord::new();
        self.since.set(0);
        match self.reader.read_byte_record(&mut record) {
            Ok(true) => Ok(Some(RawSite::Record(record))),
            Ok(false) => Ok(None),
            Err(why) => Err(Error::new(
                format!("cannot be read to its end ({why})"),
                "check its quotes, or export it again",
            )),
        }
    }
}
