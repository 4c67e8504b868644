//! Rows as Parquet, in groups of bounded size; outlines as GeoParquet 1.1 has them (well-known
//! binary, longitude and latitude of WGS 84).
//!
//! Not here: other formats.

use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use gdal::vector::ToGdal;
use geo::MultiPolygon;
use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::{Type, TypePtr};

use super::{Cell, Column, Fill, Kind, Sink, Source, unwritable};
use crate::answer::CAUTION;
use crate::error::Result;

/// How many rows a group holds; all of them are in memory at a time.
const ROWS_A_GROUP: usize = 32_768;

/// The name of the column of outlines.
const GEOMETRY: &str = "geometry";

/// What GeoParquet 1.1.0 says of that column; without a `crs` it is OGC:CRS84.
const GEO: &str = r#"{"version":"1.1.0","primary_column":"geometry","columns":{"geometry":{"encoding":"WKB","geometry_types":["MultiPolygon"]}}}"#;

enum Values {
    Text(Vec<ByteArray>),
    Integers(Vec<i64>),
    Numbers(Vec<f64>),
}

/// The values of one column, and for each row whether it has one.
struct Gathered {
    values: Values,
    is_there: Vec<i16>,
}

struct Rows {
    writer: SerializedFileWriter<File>,
    columns: Vec<Gathered>,
    count: usize,
}

/// Lets `fill` write into a new file.
///
/// # Errors
/// A file that cannot be written, and whatever `fill` fails with.
pub fn with(path: &Path, source: &Source<'_>, fill: Fill<'_>) -> Result<bool> {
    let file = File::create(path).map_err(|why| unwritable(&why))?;
    let pair = |key: &str, value: &str| KeyValue::new(key.to_owned(), value.to_owned());
    let properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by(format!("eaves {}", env!("CARGO_PKG_VERSION")))
        .set_key_value_metadata(Some(vec![pair("geo", GEO), pair("caution", CAUTION)]))
        .build();
    let schema = schema(source.columns).map_err(|why| unwritable(&why))?;
    let writer = SerializedFileWriter::new(file, schema, Arc::new(properties))
        .map_err(|why| unwritable(&why))?;
    let columns = source
        .columns
        .iter()
        .map(|column| Gathered::of(column.kind))
        .chain([Gathered::of(Kind::Text)])
        .collect();
    let mut rows = Rows {
        writer,
        columns,
        count: 0,
    };
    let is_whole = fill(&mut rows)?;
    rows.group()
        .and_then(|()| rows.writer.close())
        .map_err(|why| unwritable(&why))?;
    Ok(is_whole)
}

fn schema(columns: &[Column]) -> std::result::Result<TypePtr, ParquetError> {
    let mut fields = Vec::new();
    for column in columns {
        let (physical, logical) = match column.kind {
            Kind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            Kind::Integer => (Physical::INT64, None),
            Kind::Number(_) => (Physical::DOUBLE, None),
        };
        fields.push(field(&column.name, physical, logical)?);
    }
    fields.push(field(GEOMETRY, Physical::BYTE_ARRAY, None)?);
    Type::group_type_builder("rows")
        .with_fields(fields)
        .build()
        .map(Arc::new)
}

fn field(
    name: &str,
    physical: Physical,
    logical: Option<LogicalType>,
) -> std::result::Result<TypePtr, ParquetError> {
    Type::primitive_type_builder(name, physical)
        .with_repetition(Repetition::OPTIONAL)
        .with_logical_type(logical)
        .build()
        .map(Arc::new)
}

impl Gathered {
    const fn of(kind: Kind) -> Self {
        Self {
            values: match kind {
                Kind::Text => Values::Text(Vec::new()),
                Kind::Integer => Values::Integers(Vec::new()),
                Kind::Number(_) => Values::Numbers(Vec::new()),
            },
            is_there: Vec::new(),
        }
    }

    fn add(&mut self, cell: &Cell<'_>) {
        let is_there = match (&mut self.values, cell) {
            (Values::Text(values), Cell::Text(text)) => {
                values.push(ByteArray::from(text.as_bytes().to_vec()));
                true
            }
            (Values::Integers(values), Cell::Integer(number)) => {
                values.push(i64::try_from(*number).unwrap_or(i64::MAX));
                true
            }
            (Values::Numbers(values), Cell::Number(number)) => {
                values.push(*number);
                true
            }
            _ => false,
        };
        self.is_there.push(i16::from(is_there));
    }

    fn clear(&mut self) {
        self.is_there.clear();
        match &mut self.values {
            Values::Text(values) => values.clear(),
            Values::Integers(values) => values.clear(),
            Values::Numbers(values) => values.clear(),
        }
    }
}

impl Rows {
    /// Writes the rows that were gathered as a group.
    fn group(&mut self) -> std::result::Result<(), ParquetError> {
        if self.count == 0 {
            return Ok(());
        }
        let mut group = self.writer.next_row_group()?;
        for column in &mut self.columns {
            let Some(mut writer) = group.next_column()? else {
                break;
            };
            let levels = Some(column.is_there.as_slice());
            match &column.values {
                Values::Text(values) => writer
                    .typed::<ByteArrayType>()
                    .write_batch(values, levels, None)?,
                Values::Integers(values) => writer
                    .typed::<Int64Type>()
                    .write_batch(values, levels, None)?,
                Values::Numbers(values) => writer
                    .typed::<DoubleType>()
                    .write_batch(values, levels, None)?,
            };
            writer.close()?;
            column.clear();
        }
        group.close()?;
        self.count = 0;
        Ok(())
    }
}

impl Sink for Rows {
    fn row(&mut self, cells: &[Cell<'_>], outline: Option<&MultiPolygon<f64>>) -> Result<()> {
        for (column, cell) in self.columns.iter_mut().zip(cells) {
            column.add(cell);
        }
        let binary = outline
            .map(|outline| outline.to_gdal().and_then(|geometry| geometry.wkb()))
            .transpose()
            .map_err(|why| unwritable(&why))?;
        if let Some(column) = self.columns.last_mut() {
            column.is_there.push(i16::from(binary.is_some()));
            if let (Values::Text(values), Some(binary)) = (&mut column.values, binary) {
                values.push(ByteArray::from(binary));
            }
        }
        self.count += 1;
        if self.count >= ROWS_A_GROUP {
            self.group().map_err(|why| unwritable(&why))?;
        }
        Ok(())
    }
}
