//! Rows as GeoJSON: a collection with one feature a line.
//!
//! Not here: other formats.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use geo::{LineString, MultiPolygon};
use serde_json::{Map, Number, Value};

use super::{Cell, Fill, Sink, Source, unwritable};
use crate::answer::CAUTION;
use crate::error::Result;

struct Features {
    file: BufWriter<File>,
    names: Vec<String>,
    is_first: bool,
}

/// Lets `fill` write into a new file.
///
/// # Errors
/// A file that cannot be written, and whatever `fill` fails with.
pub fn with(path: &Path, source: &Source<'_>, fill: Fill<'_>) -> Result<bool> {
    let mut file = BufWriter::new(File::create(path).map_err(|why| unwritable(&why))?);
    // The caution is a foreign member (RFC 7946 section 6.1).
    let caution = Value::from(CAUTION);
    write!(
        file,
        "{{\"type\":\"FeatureCollection\",\n\"caution\":{caution},\n\"features\":["
    )
    .map_err(|why| unwritable(&why))?;
    let mut features = Features {
        file,
        names: source
            .columns
            .iter()
            .map(|column| column.name.clone())
            .collect(),
        is_first: true,
    };
    let is_whole = fill(&mut features)?;
    writeln!(features.file, "\n]}}")
        .and_then(|()| features.file.flush())
        .map_err(|why| unwritable(&why))?;
    Ok(is_whole)
}

impl Sink for Features {
    fn row(&mut self, cells: &[Cell<'_>], outline: Option<&MultiPolygon<f64>>) -> Result<()> {
        let mut properties = Map::new();
        for (name, cell) in self.names.iter().zip(cells) {
            properties.insert(name.clone(), json(cell));
        }
        let mut feature = Map::new();
        feature.insert("type".to_owned(), Value::from("Feature"));
        feature.insert("properties".to_owned(), Value::Object(properties));
        feature.insert("geometry".to_owned(), outline.map_or(Value::Null, geometry));
        let line = if self.is_first { "\n" } else { ",\n" };
        self.is_first = false;
        write!(self.file, "{line}{}", Value::Object(feature)).map_err(|why| unwritable(&why))
    }
}

fn json(cell: &Cell<'_>) -> Value {
    match cell {
        Cell::None => Value::Null,
        Cell::Text(text) => Value::from(text.as_ref()),
        Cell::Integer(number) => Value::from(*number),
        Cell::Number(number) => Number::from_f64(*number).map_or(Value::Null, Value::Number),
    }
}

/// A polygon where there is one, else several.
fn geometry(outline: &MultiPolygon<f64>) -> Value {
    let mut polygons: Vec<Value> = outline
        .iter()
        .map(|polygon| {
            std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(ring)
                .collect()
        })
        .collect();
    let (kind, coordinates) = match polygons.len() {
        1 => ("Polygon", polygons.swap_remove(0)),
        _ => ("MultiPolygon", Value::Array(polygons)),
    };
    let mut geometry = Map::new();
    geometry.insert("type".to_owned(), Value::from(kind));
    geometry.insert("coordinates".to_owned(), coordinates);
    Value::Object(geometry)
}

fn ring(ring: &LineString<f64>) -> Value {
    ring.coords()
        .map(|corner| Value::from(vec![corner.x, corner.y]))
        .collect()
}
