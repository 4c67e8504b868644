//! One vector layer to FlatGeobuf: geometries in their own system as they were written, properties
//! with their types, and the place and id of each feature.
//!
//! The crate `flatgeobuf` writes it, not GDAL, whose driver refuses features without geometry and
//! has no columns of JSON. Features without geometry, and those with a defect, stay GeoJSON beside
//! it, so that they are reported as before.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use flatgeobuf::geozero::error::Result as Geozero;
use flatgeobuf::geozero::{ColumnValue, GeomProcessor, GeozeroGeometry, PropertyProcessor};
use flatgeobuf::{ColumnType, FgbCrs, FgbWriter, FgbWriterOptions, GeometryType};
use geojson::JsonObject;
use serde_json::Value;

use super::columns::Columns;
use super::folder::{Target, not_written};
use crate::error::{Error, Result};
use crate::read::crs::Crs;
use crate::read::declaration::Declaration;
use crate::read::layer::{self, is_geojson};
use crate::read::positions::{Kind, Positions};
use crate::read::prepared::Vector;
use crate::read::properties::Member;
use crate::read::scan::{Glance, Scanner};
use crate::read::{geojson as text, stream, vector};

/// The names of what is written.
#[derive(Clone, Copy, Debug)]
pub struct Names<'a> {
    /// The layer: `power-lines`.
    pub layer: &'a str,
    /// The FlatGeobuf file.
    pub name: &'a str,
    /// The GeoJSON file of the rest.
    pub rest: &'a str,
}

/// Writes a layer; what the manifest says of it, and how many features are in the rest.
///
/// # Errors
/// A file that cannot be read, whose coordinate reference system is unknown, or that cannot be
/// written.
pub fn write(
    path: &Path,
    declaration: &Declaration,
    names: Names<'_>,
    target: &Target,
) -> Result<(Vector, usize)> {
    let in_path = |error: Error| error.in_file(path);
    if is_geojson(path) {
        let system = stream::each(path, false, |_, _| Ok(()))
            .map_err(in_path)?
            .crs;
        let said = (system, layer::GEOJSON_CRS);
        return convert(path, path, declaration, said, names, target);
    }
    // Other formats go through GeoJSON text, as they do when they are read.
    let whole = target.path(&format!("{}.whole", names.name));
    let mut file = BufWriter::new(File::create(&whole).map_err(|why| not_written(&whole, &why))?);
    let said = vector::to_geojson(path, declaration, &mut file).map_err(in_path)?;
    let written = convert(&whole, path, declaration, said, names, target)?;
    std::fs::remove_file(&whole).map_err(|why| not_written(&whole, &why))?;
    Ok(written)
}

/// A feature as it is written.
struct Plain {
    id: Option<String>,
    properties: JsonObject,
    kind: Kind,
}

/// Converts GeoJSON text; errors of reading name the file that it came from.
fn convert(
    path: &Path,
    named: &Path,
    declaration: &Declaration,
    (system, words): (Option<String>, &str),
    names: Names<'_>,
    target: &Target,
) -> Result<(Vector, usize)> {
    let crs = match declaration.crs.as_ref().or(system.as_ref()) {
        Some(definition) => Crs::declared(definition).map_err(|error| error.in_file(named))?,
        None => Crs::wgs84(),
    };
    let mut columns = Columns::default();
    let counted = stream::each(path, false, |index, raw| {
        if let Some(plain) = plain(raw, index, &crs, &mut Positions::default()) {
            columns.note(&plain.properties);
        }
        Ok(())
    })
    .map_err(|error| error.in_file(named))?;
    let typed = columns.typed();
    let number_column = columns.free("feature_number");
    let id_column = columns.free("feature_id");
    let effective = declaration.crs.as_deref().or(system.as_deref());
    let code = code_of(effective);
    let mut writer = FgbWriter::create_with_options(
        names.layer,
        GeometryType::Unknown,
        FgbWriterOptions {
            detect_type: false,
            promote_to_multi: false,
            crs: FgbCrs {
                code,
                wkt: effective.filter(|_| code == 0),
                ..FgbCrs::default()
            },
            ..FgbWriterOptions::default()
        },
    )
    .map_err(|why| not_encoded(named, why))?;
    for (name, kind) in &typed {
        writer.add_column(name, *kind, |_, _| {});
    }
    writer.add_column(&number_column, ColumnType::Long, |_, _| {});
    writer.add_column(&id_column, ColumnType::String, |_, _| {});
    let mut rest = Vec::new();
    let mut positions = Positions::default();
    let again = stream::each(path, counted.is_whole, |index, raw| {
        let Some(plain) = plain(raw, index, &crs, &mut positions) else {
            rest.push((index, raw.to_owned()));
            return Ok(());
        };
        let mut outcome: Geozero<()> = Ok(());
        let geometry = Shape {
            kind: plain.kind,
            positions: &positions,
        };
        writer
            .add_feature_geom(geometry, |feature| {
                outcome = (|| {
                    for (number, (name, kind)) in typed.iter().enumerate() {
                        if let Some(value) = plain.properties.get(name) {
                            property(feature, number, name, *kind, value)?;
                        }
                    }
                    let number = i64::try_from(index + 1).unwrap_or(i64::MAX);
                    let count = typed.len();
                    feature.property(count, &number_column, &ColumnValue::Long(number))?;
                    if let Some(id) = &plain.id {
                        feature.property(count + 1, &id_column, &ColumnValue::String(id))?;
                    }
                    Ok(())
                })();
            })
            .map_err(|why| not_encoded(named, why))?;
        outcome.map_err(|why| not_encoded(named, why))
    })?;
    if again.is_whole != counted.is_whole || again.total != counted.total {
        return Err(
            Error::new("changed while it was read", "prepare the layers again").in_file(named),
        );
    }
    let file = target.path(names.name);
    let mut out = BufWriter::new(File::create(&file).map_err(|why| not_written(&file, &why))?);
    writer
        .write(&mut out)
        .map_err(|why| not_encoded(named, why))?;
    out.flush().map_err(|why| not_written(&file, &why))?;
    if !rest.is_empty() {
        target.write(names.rest, &collection(&rest))?;
    }
    Ok((
        Vector {
            features: counted.total,
            rest: (!rest.is_empty()).then(|| names.rest.to_owned()),
            number_column,
            id_column,
            crs: system,
            crs_words: (!words.is_empty()).then(|| words.to_owned()),
        },
        rest.len(),
    ))
}

/// What of a feature is written, its positions beside; none where it belongs to the rest.
fn plain(raw: &str, index: usize, crs: &Crs, positions: &mut Positions) -> Option<Plain> {
    let mut members = Vec::new();
    let glance = Scanner::new(raw, 0).feature(positions, &mut members).ok()?;
    if glance.is_odd {
        // Members that are of no matter here are left out; what is odd then is odd indeed.
        let parsed: geojson::Feature = serde_json::from_str(raw).ok()?;
        let bare = geojson::Feature {
            bbox: None,
            foreign_members: None,
            geometry: parsed
                .geometry
                .map(|geometry| geojson::Geometry::new(geometry.value)),
            ..parsed
        };
        let bare = serde_json::to_string(&bare).ok()?;
        let mut members = Vec::new();
        let glance = Scanner::new(&bare, 0)
            .feature(positions, &mut members)
            .ok()?;
        return of_glance(&glance, &members, index, crs, positions);
    }
    of_glance(&glance, &members, index, crs, positions)
}

fn of_glance<'a>(
    glance: &Glance<'a>,
    members: &'a [Member<'a>],
    index: usize,
    crs: &Crs,
    positions: &Positions,
) -> Option<Plain> {
    let kind = glance.kind?;
    let feature = text::scanned(glance, members, positions, Some(index), crs)?;
    feature.geometry.as_ref()?;
    Some(Plain {
        id: glance.id.map(|_| feature.label.into_owned()),
        properties: feature.properties.object(),
        kind,
    })
}

fn property(
    feature: &mut impl PropertyProcessor,
    number: usize,
    name: &str,
    kind: ColumnType,
    value: &Value,
) -> Geozero<()> {
    let json;
    let value = match (kind, value) {
        (ColumnType::Json, value) => {
            json = value.to_string();
            ColumnValue::Json(&json)
        }
        (_, Value::Bool(flag)) => ColumnValue::Bool(*flag),
        (_, Value::String(text)) => ColumnValue::String(text),
        (ColumnType::Long, Value::Number(number)) => {
            ColumnValue::Long(number.as_i64().unwrap_or_default())
        }
        (_, Value::Number(number)) => ColumnValue::Double(number.as_f64().unwrap_or_default()),
        // Null is as good as absent.
        _ => return Ok(()),
    };
    feature.property(number, name, &value).map(|_| ())
}

/// The GeoJSON of the rest, each feature as it was, with their places in the file before.
fn collection(rest: &[(usize, String)]) -> String {
    let numbers = rest
        .iter()
        .map(|(index, _)| (index + 1).to_string())
        .collect::<Vec<_>>()
        .join(",");
    let features = rest
        .iter()
        .map(|(_, raw)| raw.as_str())
        .collect::<Vec<_>>()
        .join(",\n");
    format!(
        "{{\"type\":\"FeatureCollection\",\"feature_numbers\":[{numbers}],\"features\":[\n{features}\n]}}\n"
    )
}

/// The EPSG code of a system; WGS 84 where none is said, and 0 where it has none.
fn code_of(system: Option<&str>) -> i32 {
    match system {
        None => 4326,
        Some(system) => system
            .rsplit_once(':')
            .filter(|(authority, _)| authority.to_uppercase().contains("EPSG"))
            .and_then(|(_, code)| code.parse().ok())
            .unwrap_or(0),
    }
}

fn not_encoded(path: &Path, why: impl std::fmt::Display) -> Error {
    Error::new(
        format!("cannot be written as FlatGeobuf ({why})"),
        "check the space left; else report it",
    )
    .in_file(path)
}

/// Positions as a geometry.
struct Shape<'a> {
    kind: Kind,
    positions: &'a Positions,
}

impl Shape<'_> {
    fn line<P: GeomProcessor>(&self, from: usize, to: usize, out: &mut P) -> Geozero<()> {
        let places = self.positions.flat.get(from..to).unwrap_or_default();
        places
            .iter()
            .enumerate()
            .try_for_each(|(index, [x, y])| out.xy(*x, *y, index))
    }

    /// Lines or rings from the first to the one before the last.
    fn lines<P: GeomProcessor>(&self, from: usize, to: usize, out: &mut P) -> Geozero<()> {
        let ends = &self.positions.lines;
        for (index, number) in (from..to).enumerate() {
            let before = number.checked_sub(1).and_then(|before| ends.get(before));
            let start = before.copied().unwrap_or(0);
            let end = ends.get(number).copied().unwrap_or(start);
            out.linestring_begin(false, end - start, index)?;
            self.line(start, end, out)?;
            out.linestring_end(false, index)?;
        }
        Ok(())
    }
}

impl GeozeroGeometry for Shape<'_> {
    fn process_geom<P: GeomProcessor>(&self, out: &mut P) -> Geozero<()> {
        let (count, lines) = (self.positions.flat.len(), self.positions.lines.len());
        match self.kind {
            Kind::Point => {
                out.point_begin(0)?;
                self.line(0, count, out)?;
                out.point_end(0)
            }
            Kind::MultiPoint => {
                out.multipoint_begin(count, 0)?;
                self.line(0, count, out)?;
                out.multipoint_end(0)
            }
            Kind::LineString => {
                out.linestring_begin(true, count, 0)?;
                self.line(0, count, out)?;
                out.linestring_end(true, 0)
            }
            Kind::MultiLineString => {
                out.multilinestring_begin(lines, 0)?;
                self.lines(0, lines, out)?;
                out.multilinestring_end(0)
            }
            Kind::Polygon => {
                out.polygon_begin(true, lines, 0)?;
                self.lines(0, lines, out)?;
                out.polygon_end(true, 0)
            }
            Kind::MultiPolygon => {
                let polygons = &self.positions.polygons;
                out.multipolygon_begin(polygons.len(), 0)?;
                let mut from = 0;
                for (index, &to) in polygons.iter().enumerate() {
                    out.polygon_begin(false, to - from, index)?;
                    self.lines(from, to, out)?;
                    out.polygon_end(false, index)?;
                    from = to;
                }
                out.multipolygon_end(0)
            }
        }
    }
}
