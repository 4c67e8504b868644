//! One vector file to features near a window, by whichever reader its extension asks for.
//!
//! Not here: which files a folder holds (see [`crate::read::folder`]) or what features mean.

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use geo::CoordsIter;
use rayon::prelude::*;

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::Feature;
use super::filter::{Choice, Filter};
use super::{Mask, aixm, boxes, geojson, vector};
use crate::answer::LayerAnswer;
use crate::error::{Cautions, Result};
use crate::frame::LonLat;
use crate::units::Metres;

/// The features of one file that are near the window.
#[derive(Debug)]
pub struct VectorLayer {
    /// The file name.
    pub file: String,
    /// How many features the file holds.
    pub total: usize,
    /// Those that are wanted, and those without geometry; in the order of the file.
    pub features: Vec<Feature>,
    /// Whether any that is not wanted may be something else than a line.
    pub leaves_out_points: bool,
    /// The coordinate reference system and what was done about it, in words.
    pub crs: String,
    /// Labels of features near the window that could not be read.
    pub unreadable: Vec<String>,
    /// Defects found while reading.
    pub cautions: Cautions,
}

/// What to take from a file.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wanted<'a> {
    /// Only features whose box touches it; all without one.
    pub near: Option<&'a Mask>,
    /// Features that touch this are taken as well, and marked as not near.
    pub besides: Option<&'a Mask>,
}

impl VectorLayer {
    /// Reads a file: GeoJSON natively, AIXM as XML, other formats through GDAL.
    ///
    /// # Errors
    /// A file that cannot be read, is not what its extension says, or whose coordinate reference
    /// system is unknown.
    pub fn read(path: &Path, declaration: &Declaration, wanted: Wanted<'_>) -> Result<Self> {
        if is_geojson(path) {
            read_geojson(path, declaration, wanted).map_err(|error| error.in_file(path))
        } else if aixm::is_aixm(path) {
            aixm::read(path, declaration).map_err(|error| error.in_file(path))
        } else {
            vector::read(path, declaration, wanted).map_err(|error| error.in_file(path))
        }
    }

    /// Gathers parsed features and the defects of the others.
    #[must_use]
    pub fn gathered(
        path: &Path,
        total: usize,
        crs: &Crs,
        parsed: Vec<std::result::Result<Feature, (String, String)>>,
    ) -> Self {
        let file = file_name(path);
        let mut layer = Self {
            crs: crs.name().to_owned(),
            file,
            total,
            features: Vec::with_capacity(parsed.len()),
            leaves_out_points: false,
            unreadable: Vec::new(),
            cautions: Cautions::default(),
        };
        for outcome in parsed {
            match outcome {
                Ok(feature) => layer.features.push(feature),
                Err((label, defect)) => {
                    layer
                        .cautions
                        .feature(&layer.file, &label, &defect, "the feature is left out");
                    layer.unreadable.push(label);
                }
            }
        }
        layer
    }

    /// What the layer is in an answer.
    #[must_use]
    pub fn answer(&self, layer: &str, declaration: &Declaration) -> LayerAnswer {
        LayerAnswer {
            layer: layer.to_owned(),
            file: self.file.clone(),
            features: self.total,
            crs: self.crs.clone(),
            date: declaration.date(),
            source: declaration.source(),
        }
    }

    /// Notes what PROJ does at every kept feature, and refuses ballpark operations.
    ///
    /// # Errors
    /// See [`Crs::operation_at`].
    pub fn note_operation(&mut self, crs: &Crs) -> Result<()> {
        if crs.is_wgs84() {
            return Ok(());
        }
        let mut words: Vec<String> = Vec::new();
        let mut is_null = false;
        let mut accuracy = Metres::ZERO;
        for feature in &mut self.features {
            let Some((x, y)) = first_place(feature).and_then(|place| crs.from_lon_lat(place))
            else {
                continue;
            };
            let operation = crs.operation_at(x, y)?;
            feature.datum_accuracy = operation.accuracy;
            accuracy = accuracy.max(operation.accuracy);
            is_null |= operation.is_null;
            if !words.contains(&operation.description) {
                words.push(operation.description);
            }
        }
        if words.is_empty() {
            return Ok(());
        }
        self.crs = format!(
            "{}: {}, accurate to {} m",
            crs.name(),
            words.join(" or "),
            accuracy.m_up(2)
        );
        if accuracy > Metres::ZERO {
            self.crs
                .push_str(", which is added to the horizontal accuracy of obstacles");
        }
        if is_null {
            self.cautions.add(crate::error::Caution::about(
                &self.file,
                format!("is in {}, which is taken as WGS 84 unchanged", crs.name()),
                format!(
                    "its positions are within {} m, which is added to the horizontal accuracy of \
                     obstacles",
                    accuracy.m_up(2)
                ),
            ));
        }
        Ok(())
    }
}

fn read_geojson(path: &Path, declaration: &Declaration, wanted: Wanted<'_>) -> Result<VectorLayer> {
    let text = geojson::text(path)?;
    let document = geojson::document(&text)?;
    let crs = match declaration.crs.as_ref().or(document.crs.as_ref()) {
        Some(definition) => Crs::declared(definition)?,
        None => Crs::wgs84(),
    };
    let filter = Filter::new(wanted, &crs);
    let total = document.features.len();
    let leaves_out_points = AtomicBool::new(false);
    let parsed = document
        .features
        .par_iter()
        .enumerate()
        .filter_map(|(index, raw)| {
            let found = boxes::bounds(raw);
            let choice = found.map_or(Choice::Near, |found| filter.choice(&found.bounds));
            if choice == Choice::LeftOut {
                if found.is_some_and(|found| !found.is_line) {
                    leaves_out_points.store(true, Ordering::Relaxed);
                }
                return None;
            }
            choice.of(geojson::feature(raw, index, &crs))
        })
        .collect();
    let mut layer = VectorLayer::gathered(path, total, &crs, parsed);
    layer.leaves_out_points = leaves_out_points.into_inner();
    layer.note_operation(&crs)?;
    if declaration.crs.is_none() && crs.is_wgs84() && document.crs.is_none() {
        layer.crs = "WGS 84 (GeoJSON, none declared)".to_owned();
    }
    Ok(layer)
}

/// Whether the extension is one of GeoJSON's.
#[must_use]
pub fn is_geojson(path: &Path) -> bool {
    path.extension().is_some_and(|extension| {
        extension.eq_ignore_ascii_case("geojson") || extension.eq_ignore_ascii_case("json")
    })
}

/// The name of a file without its folder.
#[must_use]
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

fn first_place(feature: &Feature) -> Option<LonLat> {
    let coordinate = feature.geometry.as_ref()?.coords_iter().next()?;
    Some(LonLat::wrapped(coordinate.x, coordinate.y))
}
