//! Vector formats other than GeoJSON, through GDAL: Shapefile, GeoPackage, FlatGeobuf, KML, CSV.
//!
//! Not here: GeoJSON (see [`crate::read::geojson`]) and rasters (see [`crate::read::raster`]).

use std::io::Write;
use std::path::Path;

use gdal::vector::{FieldValue, LayerAccess, OwnedLayer};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use geojson::JsonObject;
use serde_json::Value;

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::{Bounds, Feature, label};
use super::filter::{Choice, Filter};
use super::layer::{Outcome, VectorLayer, Wanted};
use super::messages::{self, reason};
use super::shape;
use crate::error::{Error, Result, first_line};

/// Names of columns that hold a longitude in a table of comma-separated values.
pub const LONGITUDE_COLUMNS: &str = "longitude_deg,longitude,lon,long,lng,x,easting";
/// Names of columns that hold a latitude.
pub const LATITUDE_COLUMNS: &str = "latitude_deg,latitude,lat,y,northing";
/// Names of columns that hold a geometry as well-known text.
pub const WKT_COLUMNS: &str = "wkt,geom,geometry,the_geom";

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

/// A file opened at its table.
pub struct Opened {
    dataset: Dataset,
    table: String,
    is_csv: bool,
}

fn unreadable(error: &gdal::errors::GdalError) -> Error {
    Error::new(
        format!("cannot be read ({})", reason(error)),
        "export it again",
    )
}

/// What is said of tables of text that name no system.
const CSV_CRS: &str = "WGS 84 (CSV, none declared)";

impl Opened {
    /// Opens a file at the table that is wished for, or at its only one; `remedy` says how to choose.
    ///
    /// # Errors
    /// See [`open`]; no such table, none at all, or several and none wished for.
    pub fn open(path: &Path, wished: Option<&str>, remedy: &str) -> Result<Self> {
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
        let texts = format!("GEOM_POSSIBLE_NAMES={WKT_COLUMNS}");
        let options: &[&str] = if is_csv {
            &[
                &longitudes,
                &latitudes,
                &texts,
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
        let table = match (wished, tables.as_slice()) {
            (Some(wished), _) if tables.iter().any(|table| table == wished) => wished.to_owned(),
            (Some(wished), _) => {
                return Err(Error::new(
                    format!("has no table \"{wished}\" but {}", tables.join(", ")),
                    remedy,
                ));
            }
            (None, [only]) => only.clone(),
            (None, []) => {
                return Err(Error::new("holds no table", "export it again"));
            }
            (None, _) => {
                return Err(Error::new(
                    format!("holds several tables: {}", tables.join(", ")),
                    remedy,
                ));
            }
        };
        Ok(Self {
            dataset,
            table,
            is_csv,
        })
    }

    fn of_layer(path: &Path, declaration: &Declaration) -> Result<Self> {
        let remedy = "choose one in layers.toml: table = \"...\"";
        Self::open(path, declaration.table.as_deref(), remedy)
    }

    /// The definition of the system that the file says, if it says one.
    ///
    /// # Errors
    /// A table that cannot be read.
    pub fn system(&self) -> Result<Option<String>> {
        let layer = self
            .dataset
            .layer_by_name(&self.table)
            .map_err(|error| unreadable(&error))?;
        let Some(reference) = layer.spatial_ref() else {
            return Ok(None);
        };
        Ok(Some(match (reference.auth_name(), reference.auth_code()) {
            (Some(authority), Ok(code)) => format!("{authority}:{code}"),
            _ => reference.to_wkt().map_err(|error| unreadable(&error))?,
        }))
    }

    /// The definition of the system that the file says; none is WGS 84.
    fn crs(&self, declaration: &Declaration) -> Result<Option<String>> {
        match self.system()? {
            None if !self.is_csv && declaration.crs.is_none() => Err(Error::new(
                "does not say its coordinate reference system",
                "declare crs in layers.toml",
            )),
            said => Ok(said),
        }
    }

    /// The name of the table.
    #[must_use]
    pub fn table(&self) -> &str {
        &self.table
    }

    /// The table, for those who go through it one feature at a time.
    ///
    /// # Errors
    /// A table that cannot be read.
    pub fn into_layer(self) -> Result<OwnedLayer> {
        self.dataset
            .into_layer_by_name(&self.table)
            .map_err(|error| unreadable(&error))
    }

    /// Goes through the features in order; how many there are.
    fn each(
        &self,
        mut each: impl FnMut(usize, &gdal::vector::Feature<'_>) -> Result<()>,
    ) -> Result<usize> {
        let mut layer = self
            .dataset
            .layer_by_name(&self.table)
            .map_err(|error| unreadable(&error))?;
        let mut total = 0;
        let stated = layer.try_feature_count();
        let _before = messages::failure();
        for feature in layer.features() {
            each(total, &feature)?;
            total += 1;
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
        Ok(total)
    }
}

/// A geometry of GDAL as one of ours, in the coordinates of the file.
///
/// # Errors
/// A kind that GeoJSON does not have, such as a curve.
pub fn to_geo(
    geometry: &gdal::vector::Geometry,
) -> std::result::Result<geo::Geometry<f64>, String> {
    // Its own conversion knows flat geometries only; the way through GeoJSON leaves heights out.
    geometry
        .to_geo()
        .ok()
        .or_else(|| geo::Geometry::try_from(geojson_of(geometry).ok()?).ok())
        .ok_or_else(|| {
            "its geometry is empty in part, or of a kind that GeoJSON does not have".to_owned()
        })
}

/// A geometry from well-known text.
///
/// # Errors
/// Text that is not well-known text.
pub fn from_wkt(text: &str) -> std::result::Result<geo::Geometry<f64>, String> {
    messages::silence();
    gdal::vector::Geometry::from_wkt(text)
        .map_err(|_| "its well-known text cannot be read".to_owned())
        .and_then(|geometry| to_geo(&geometry))
}

/// Reads a vector file through GDAL.
///
/// # Errors
/// When GDAL cannot open or read it, it holds several tables and none is chosen, or its coordinate
/// reference system is unknown.
pub fn read(path: &Path, declaration: &Declaration, wanted: Wanted<'_>) -> Result<VectorLayer> {
    let opened = Opened::of_layer(path, declaration)?;
    let said = opened.crs(declaration)?;
    let crs = match declaration.crs.as_ref().or(said.as_ref()) {
        Some(definition) => Crs::declared(definition)?,
        None => Crs::wgs84(),
    };
    let filter = Filter::new(wanted, &crs);
    let mut parsed = Vec::new();
    let mut leaves_out_points = false;
    let total = opened.each(|index, feature| {
        let (choice, outcome) = to_feature(feature, index, &crs, &filter);
        leaves_out_points |= choice == Choice::LeftOut;
        parsed.extend(outcome);
        Ok(())
    })?;
    let mut read = VectorLayer::gathered(path, total, &crs, parsed)?;
    read.leaves_out_points = leaves_out_points;
    if opened.is_csv && declaration.crs.is_none() {
        read.crs = CSV_CRS.to_owned();
    }
    Ok(read)
}

/// Writes a vector file as GeoJSON in its own system, each feature under the label that it has here;
/// the system, and what is said of it where there is none.
///
/// # Errors
/// As for [`read`]; a geometry that GeoJSON does not have; an output that cannot be written.
pub fn to_geojson(
    path: &Path,
    declaration: &Declaration,
    out: &mut impl Write,
) -> Result<(Option<String>, &'static str)> {
    let not_written = |error: std::io::Error| {
        Error::new(
            format!("cannot be converted ({error})"),
            "check the space left",
        )
    };
    let opened = Opened::of_layer(path, declaration)?;
    let said = opened.crs(declaration)?;
    write!(out, "{{\"type\":\"FeatureCollection\",\"features\":[").map_err(not_written)?;
    opened.each(|index, feature| {
        let (properties, label) = described(feature, index);
        let mut members = JsonObject::new();
        members.insert("type".to_owned(), Value::from("Feature"));
        if label != super::feature::label(None, at_id(&properties), index) {
            members.insert("id".to_owned(), Value::from(label.clone()));
        }
        members.insert("properties".to_owned(), Value::Object(properties));
        let geometry = match feature.geometry().filter(|geometry| !geometry.is_empty()) {
            None => Value::Null,
            Some(geometry) => geojson_of(geometry)
                .map(|geometry| Value::from(&geometry.value))
                .map_err(|defect| {
                    Error::new(
                        format!("cannot be prepared: {defect}"),
                        "correct the feature, or take it out of the layer",
                    )
                    .at_feature(label)
                })?,
        };
        members.insert("geometry".to_owned(), geometry);
        let comma = if index == 0 { "" } else { "," };
        write!(out, "{comma}\n{}", Value::Object(members)).map_err(not_written)
    })?;
    write!(out, "\n]}}\n").map_err(not_written)?;
    out.flush().map_err(not_written)?;
    let words = if opened.is_csv { CSV_CRS } else { "" };
    Ok((said, words))
}

/// The tables of a dataset with geometry or without.
fn tables(dataset: &Dataset) -> Vec<String> {
    dataset.layers().map(|layer| layer.name()).collect()
}

/// What is done with a feature, and the feature where it is wanted.
fn to_feature(
    feature: &gdal::vector::Feature<'_>,
    index: usize,
    crs: &Crs,
    filter: &Filter,
) -> (Choice, Option<Outcome<'static>>) {
    let (properties, label) = described(feature, index);
    let Some(geometry) = feature.geometry().filter(|geometry| !geometry.is_empty()) else {
        let feature = Feature::new(label, properties, None);
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
    let outcome = geojson_of(geometry).and_then(|geometry| shape::to_geo(&geometry.value, crs));
    let outcome = match outcome {
        Ok(geometry) => Ok(Feature::new(label, properties, Some(geometry))),
        Err(defect) => Err((label, defect)),
    };
    (choice, choice.of(outcome))
}

/// The properties of a feature, and its label.
fn described(feature: &gdal::vector::Feature<'_>, index: usize) -> (JsonObject, String) {
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
    let label = label(id.as_ref(), at_id(&properties), index);
    (properties, label)
}

fn at_id(properties: &JsonObject) -> Option<&str> {
    properties.get("@id")?.as_str()
}

/// A geometry as GeoJSON, through text, so that every position passes the same checks as native
/// GeoJSON.
fn geojson_of(geometry: &gdal::vector::Geometry) -> std::result::Result<geojson::Geometry, String> {
    let text = geometry.json().map_err(|error| reason(&error))?;
    serde_json::from_str(&text)
        .map_err(|_| "its geometry is of a kind that GeoJSON does not have".to_owned())
}

/// A value of a field as JSON; none for a number that is not finite.
pub fn to_json(value: FieldValue) -> Option<Value> {
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
