//! Sites from the formats that GDAL reads: GeoPackage, FlatGeobuf, Shapefile, KML.
//!
//! Not here: layers (see [`crate::read::vector`]), which are read whole.

use std::path::Path;

use gdal::vector::LayerAccess;
use geojson::JsonObject;

use super::properties::{self, Named};
use super::{RawSite, SiteOptions, Sites};
use crate::error::{Error, Result, first_line};
use crate::read::crs::Crs;
use crate::read::feature::Feature;
use crate::read::messages;
use crate::read::properties::Properties;
use crate::read::shape;
use crate::read::vector::{self, Opened};

/// The table of sites of a file and its coordinate reference system.
///
/// # Errors
/// A file that GDAL cannot open, several tables and none chosen, no coordinate reference system.
pub fn table(path: &Path, wished: Option<&str>, declared: Option<Crs>) -> Result<(String, Crs)> {
    let opened = Opened::open(path, wished, "choose one with --table")?;
    let crs = match (declared, opened.system()?) {
        (Some(crs), _) => crs,
        (None, Some(definition)) => Crs::declared(&definition)?,
        (None, None) => {
            return Err(Error::new(
                "does not say its coordinate reference system",
                "say it with --crs",
            ));
        }
    };
    Ok((opened.table().to_owned(), crs))
}

/// The features of a table.
///
/// # Errors
/// A file that cannot be opened.
pub fn sites(path: &Path, table: &str, options: &SiteOptions) -> Result<Box<dyn Sites>> {
    let layer = Opened::open(path, Some(table), "choose one with --table")?.into_layer()?;
    let _before = messages::failure();
    Ok(Box::new(Features {
        stated: layer.try_feature_count(),
        features: layer.owned_features(),
        id: options.id.clone(),
        count: 0,
    }))
}

struct Features {
    features: gdal::vector::OwnedFeatureIterator,
    stated: Option<u64>,
    id: Option<String>,
    count: u64,
}

impl Sites for Features {
    fn next(&mut self) -> Result<Option<RawSite>> {
        let mut features = &mut self.features;
        if let Some(feature) = features.next() {
            self.count += 1;
            return Ok(Some(raw(&feature, self.id.as_deref())));
        }
        if let Some(why) = messages::failure() {
            return Err(Error::new(
                format!("cannot be read to its end ({})", first_line(&why)),
                "copy or export it again; it may be truncated",
            ));
        }
        match self.stated {
            Some(stated) if stated != self.count => Err(Error::new(
                format!("holds {} features and says it has {stated}", self.count),
                "copy or export it again; it may be truncated",
            )),
            _ => Ok(None),
        }
    }
}

fn raw(feature: &gdal::vector::Feature<'_>, id: Option<&str>) -> RawSite {
    let mut properties = JsonObject::new();
    for (name, value) in feature.fields() {
        if properties::is_wanted(&name, id)
            && let Some(value) = value.and_then(vector::to_json)
        {
            properties.insert(name, value);
        }
    }
    let geometry = match feature.geometry() {
        Some(geometry) if !geometry.is_empty() => match vector::to_geo(geometry) {
            Ok(geometry) => Some(geometry),
            Err(why) => return RawSite::Broken(properties::id(&properties.into(), None, id), why),
        },
        _ => None,
    };
    let properties = Properties::from(properties);
    let label = properties::id(&properties, None, id).unwrap_or_default();
    RawSite::Feature(Box::new(Feature::new(label, properties, geometry)))
}

/// A feature with its geometry brought to WGS 84.
///
/// # Errors
/// Its identifier, if it has one, and what is wrong with its geometry.
pub fn feature(
    mut feature: Feature<'static>,
    crs: &Crs,
) -> std::result::Result<Named<'static>, (Option<String>, String)> {
    let id = (!feature.label.is_empty()).then(|| feature.label.to_string());
    if let Some(geometry) = &feature.geometry {
        match shape::in_wgs84(geometry, crs) {
            Ok(geometry) => feature.geometry = Some(geometry),
            Err(why) => return Err((id, why)),
        }
    }
    Ok(Named { id, feature })
}
