//! Vector formats other than GeoJSON, through GDAL: Shapefile, GeoPackage, FlatGeobuf, KML, CSV.
//!
//! Not here: GeoJSON (see [`crate::read::geojson`]) and rasters (see [`crate::read::raster`]).

use std::path::Path;

use gdal::vector::{FieldValue, LayerAccess};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use geojson::JsonObject;
use serde_json::Value;

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::{Bounds, Feature, label};
use super::filter::{Choice, Filter};
use super::layer::{VectorLayer, Wanted};
use super::messages::{self, first_line, reason};
use super::shape;
use crate::error::{Error, Result};

/// Names of columns that hold a longitude in a table of comma-separated values.
const LONGITUDE_COLUMNS: &str = "longitude_deg,longitude,lon,long,lng,x,easting";
/// Names of columns that hold a latitude.
const LATITUDE_COLUMNS: &str = "latitude_deg,latitude,lat,y,northing";

/// Opens a file with GDAL, its own messages silenced.
///
/// # Errors
/// When GDAL cannot open it; GDAL's reason is the cause.
pub fn open(
    path: &Path,
    flags: GdalOpenFlags,
    drivers: &[&str],
    options: &[&str],
) -> Result<Dataset> {
    messages::silence();
    if path.is_dir() {
        return Err(Error::new(
            "is a folder, not a file",
            "name the file inside it",
        ));
    }
    match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(Error::new("does not exist", "check the path"));
        }
        Ok(metadata) if metadata.len() == 0 => {
            return Err(Error::new("is empty", "export it again"));
        }
        _ => {}
    }
    Dataset::open_ex(
        path,
        DatasetOptions {
            open_flags: flags,
            allowed_drivers: Some(drivers),
            open_options: Some(options),
            ..DatasetOptions::default()
        },
    )
    .map_err(|error| {
        Error::new(
            format!(
                "cannot be opened as its extension says ({})",
                reason(&error)
            ),
            "check that the file is whole and that its extension is right",
        )
    })
}

/// Reads a vector file through GDAL.
///
/// # Errors
/// When GDAL cannot open or read it, it holds several tables and none is chosen, or its coordinate
/// reference system is unknown.
pub fn read(path: &Path, declaration: &Declaration, wanted: Wanted<'_>) -> Result<VectorLayer> {
    let extension = path
        .extension()
        .map(|extension| extension.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    let drivers: &[&str] = match extension.as_str() {
        "shp" => &["ESRI Shapefile"],
        "gpkg" => &["GPKG"],
        "fgb" => &["FlatGeobuf"],
        // The second knows names and descriptions only; the first may not be built in.
        "kml" => &["LIBKML", "KML"],
        "csv" => &["CSV"],
        other => {
            return Err(Error::new(
                format!("its extension \".{other}\" is not one that eaves reads"),
                "use geojson, shp, gpkg, fgb, kml or csv",
            ));
        }
    };
    let is_csv = extension == "csv";
    let longitudes = format!("X_POSSIBLE_NAMES={LONGITUDE_COLUMNS}");
    let latitudes = format!("Y_POSSIBLE_NAMES={LATITUDE_COLUMNS}");
    let options: &[&str] = if is_csv {
        &[
            &longitudes,
            &latitudes,
            "GEOM_POSSIBLE_NAMES=wkt,geom,geometry,the_geom",
            "KEEP_GEOM_COLUMNS=YES",
            "AUTODETECT_TYPE=YES",
        ]
    } else {
        &[]
    };
    let dataset = open(
        path,
        GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_READONLY,
        drivers,
        options,
    )?;
    let tables = tables(&dataset);
    let table = match (&declaration.table, tables.as_slice()) {
        (Some(wished), _) if tables.contains(wished) => wished.clone(),
        (Some(wished), _) => {
            return Err(Error::new(
                format!("has no table \"{wished}\" but {}", tables.join(", ")),
                "correct table in layers.toml",
            ));
        }
        (None, [only]) => only.clone(),
        (None, []) => {
            return Err(Error::new("holds no table", "export it again"));
        }
        (None, _) => {
            return Err(Error::new(
                format!("holds several tables: {}", tables.join(", ")),
                "choose one in layers.toml: table = \"...\"",
            ));
        }
    };
    let unreadable = |error: gdal::errors::GdalError| {
        Error::new(
            format!("cannot be read ({})", reason(&error)),
            "export it again",
        )
    };
    let mut layer = dataset.layer_by_name(&table).map_err(unreadable)?;
    let crs = match (&declaration.crs, layer.spatial_ref()) {
        (Some(definition), _) => Crs::declared(definition)?,
        (None, Some(reference)) => {
            let definition = match (reference.auth_name(), reference.auth_code()) {
                (Some(authority), Ok(code)) => format!("{authority}:{code}"),
                _ => reference.to_wkt().map_err(unreadable)?,
            };
            Crs::declared(&definition)?
        }
        (None, None) if is_csv => Crs::wgs84(),
        (None, None) => {
            return Err(Error::new(
                "does not say its coordinate reference system",
                "declare crs in layers.toml",
            ));
        }
    };
    let filter = Filter::new(wanted, &crs);
    let mut total = 0;
    let mut parsed = Vec::new();
    let mut leaves_out_points = false;
    let stated = layer.try_feature_count();
    let _before = messages::failure();
    for feature in layer.features() {
        let index = total;
        total += 1;
        let (choice, outcome) = to_feature(&feature, index, &crs, &filter);
        leaves_out_points |= choice == Choice::LeftOut;
        parsed.extend(outcome);
    }
    if let Some(why) = messages::failure() {
        return Err(Error::new(
            format!("cannot be read to its end ({})", first_line(&why)),
            "copy or export it again; it may be truncated",
        ));
    }
    if let Some(stated) = stated
        && usize::try_from(stated) != Ok(total)
    {
        return Err(Error::new(
            format!("holds {total} features and says it has {stated}"),
            "copy or export it again; it may be truncated",
        ));
    }
    let mut read = VectorLayer::gathered(path, total, &crs, parsed);
    read.leaves_out_points = leaves_out_points;
    read.note_operation(&crs)?;
    if is_csv && declaration.crs.is_none() {
        read.crs = "WGS 84 (CSV, none declared)".to_owned();
    }
    Ok(read)
}

/// The tables of a dataset with geometry or without.
fn tables(dataset: &Dataset) -> Vec<String> {
    dataset.layers().map(|layer| layer.name()).collect()
}

type Outcome = std::result::Result<Feature, (String, String)>;

/// What is done with a feature, and the feature where it is wanted.
fn to_feature(
    feature: &gdal::vector::Feature<'_>,
    index: usize,
    crs: &Crs,
    filter: &Filter,
) -> (Choice, Option<Outcome>) {
    let mut properties = JsonObject::new();
    for (name, value) in feature.fields() {
        if let Some(value) = value.and_then(to_json) {
            properties.insert(name, value);
        }
    }
    let id = properties
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case("id") || name.eq_ignore_ascii_case("osm_id"))
        .and_then(|(_, value)| match value {
            Value::String(text) if !text.is_empty() => {
                Some(geojson::feature::Id::String(text.clone()))
            }
            Value::Number(number) => Some(geojson::feature::Id::Number(number.clone())),
            _ => None,
        });
    let label = label(id.as_ref(), &properties, index);
    let Some(geometry) = feature.geometry().filter(|geometry| !geometry.is_empty()) else {
        let feature = Feature::new(label, index, properties, None);
        return (Choice::Near, Some(Ok(feature)));
    };
    let envelope = geometry.envelope();
    let choice = filter.choice(&Bounds {
        west: envelope.MinX,
        south: envelope.MinY,
        east: envelope.MaxX,
        north: envelope.MaxY,
    });
    if choice == Choice::LeftOut {
        return (choice, None);
    }
    // Through GeoJSON text, so that every position passes the same checks as native GeoJSON.
    let outcome = geometry
        .json()
        .map_err(|error| reason(&error))
        .and_then(|text| {
            serde_json::from_str::<geojson::Geometry>(&text)
                .map_err(|_| "its geometry is of a kind that GeoJSON does not have".to_owned())
        })
        .and_then(|geometry| shape::to_geo(&geometry.value, crs));
    let outcome = match outcome {
        Ok(geometry) => Ok(Feature::new(label, index, properties, Some(geometry))),
        Err(defect) => Err((label, defect)),
    };
    (choice, choice.of(outcome))
}

fn to_json(value: FieldValue) -> Option<Value> {
    match value {
        FieldValue::IntegerValue(number) => Some(Value::from(number)),
        FieldValue::Integer64Value(number) => Some(Value::from(number)),
        FieldValue::RealValue(number) => serde_json::Number::from_f64(number).map(Value::Number),
        FieldValue::StringValue(text) => Some(Value::String(text)),
        FieldValue::DateValue(date) => Some(Value::String(date.to_string())),
        FieldValue::DateTimeValue(date) => Some(Value::String(date.to_string())),
        FieldValue::IntegerListValue(list) => Some(Value::from(list)),
        FieldValue::Integer64ListValue(list) => Some(Value::from(list)),
        FieldValue::StringListValue(list) => Some(Value::from(list)),
        FieldValue::RealListValue(list) => Some(Value::from(list)),
    }
}
