//! Rows as GeoPackage and FlatGeobuf, through GDAL.
//!
//! Not here: other formats.

use std::path::Path;

use gdal::errors::GdalError;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{
    Defn, Feature, FieldDefn, Layer, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
    ToGdal,
};
use gdal::{Dataset, DriverManager};
use geo::MultiPolygon;

use super::{Cell, Column, Fill, Format, Kind, Sink, Source, unwritable};
use crate::answer::CAUTION;
use crate::error::{Result, first_line};
use crate::read::messages;

/// The name of the table.
const TABLE: &str = "rows";

struct Rows<'a> {
    layer: Layer<'a>,
    places: Vec<usize>,
}

/// Lets `fill` write into a new file.
///
/// # Errors
/// A file that cannot be written, and whatever `fill` fails with.
pub fn with(format: Format, path: &Path, source: &Source<'_>, fill: Fill<'_>) -> Result<bool> {
    messages::silence();
    let _before = messages::failure();
    let failed = |why: GdalError| unwritable(&messages::reason(&why));
    // GeoPackage notes when it was last changed; the date of the answers keeps bytes the same.
    let date = format!("{}T00:00:00.000Z", source.date);
    gdal::config::set_thread_local_config_option("OGR_CURRENT_DATE", &date).map_err(failed)?;
    let mut dataset = create(format, path, source.columns).map_err(failed)?;
    let is_whole = if format == Format::GeoPackage {
        // One transaction: each row would otherwise wait for the disk.
        let mut transaction = dataset.start_transaction().map_err(failed)?;
        let is_whole = rows(&mut transaction, source.columns, fill)?;
        transaction.commit().map_err(failed)?;
        is_whole
    } else {
        rows(&mut dataset, source.columns, fill)?
    };
    dataset.close().map_err(failed)?;
    // A driver may write at the end and say what went wrong in a message only.
    match messages::failure() {
        Some(why) => Err(unwritable(&first_line(&why))),
        None => Ok(is_whole),
    }
}

fn create(
    format: Format,
    path: &Path,
    columns: &[Column],
) -> std::result::Result<Dataset, GdalError> {
    let driver = match format {
        Format::FlatGeobuf => "FlatGeobuf",
        _ => "GPKG",
    };
    let mut dataset = DriverManager::get_driver_by_name(driver)?.create_vector_only(path)?;
    let reference = SpatialRef::from_epsg(4326)?;
    let description = format!("DESCRIPTION={CAUTION}");
    let options = ["SPATIAL_INDEX=YES", description.as_str()];
    let layer = dataset.create_layer(LayerOptions {
        name: TABLE,
        srs: Some(&reference),
        ty: OGRwkbGeometryType::wkbMultiPolygon,
        options: Some(match format {
            Format::FlatGeobuf => options.get(..1).unwrap_or_default(),
            _ => &options,
        }),
    })?;
    for column in columns {
        FieldDefn::new(&column.name, kind(column))?.add_to_layer(&layer)?;
    }
    Ok(dataset)
}

fn rows(dataset: &mut Dataset, columns: &[Column], fill: Fill<'_>) -> Result<bool> {
    let failed = |why: GdalError| unwritable(&messages::reason(&why));
    let layer = dataset.layer(0).map_err(failed)?;
    let places = columns
        .iter()
        .map(|column| layer.defn().field_index(&column.name))
        .collect::<std::result::Result<_, _>>()
        .map_err(failed)?;
    fill(&mut Rows { layer, places })
}

const fn kind(column: &Column) -> OGRFieldType::Type {
    match column.kind {
        Kind::Text => OGRFieldType::OFTString,
        Kind::Integer => OGRFieldType::OFTInteger64,
        Kind::Number(_) => OGRFieldType::OFTReal,
    }
}

impl Rows<'_> {
    fn feature<'d>(
        &self,
        defn: &'d Defn,
        cells: &[Cell<'_>],
        outline: Option<&MultiPolygon<f64>>,
    ) -> std::result::Result<Feature<'d>, GdalError> {
        let mut feature = Feature::new(defn)?;
        for (place, cell) in self.places.iter().zip(cells) {
            match cell {
                Cell::None => feature.set_field_null(*place)?,
                // The interface of GDAL ends a text at a zero byte.
                Cell::Text(text) => {
                    feature.set_field_string(*place, &text.replace('\0', "\u{fffd}"))?;
                }
                Cell::Integer(number) => {
                    let number = i64::try_from(*number).unwrap_or(i64::MAX);
                    feature.set_field_integer64(*place, number)?;
                }
                Cell::Number(number) => feature.set_field_double(*place, *number)?,
            }
        }
        if let Some(outline) = outline {
            feature.set_geometry(outline.to_gdal()?)?;
        }
        Ok(feature)
    }
}

impl Sink for Rows<'_> {
    fn row(&mut self, cells: &[Cell<'_>], outline: Option<&MultiPolygon<f64>>) -> Result<()> {
        self.feature(self.layer.defn(), cells, outline)
            .and_then(|feature| feature.create(&self.layer))
            .map_err(|why| unwritable(&messages::reason(&why)))
    }
}
