//! One vector file to features near a window, by whichever reader its extension asks for.
//!
//! Not here: which files a folder holds (see [`crate::read::folder`]) or what features mean.

use std::path::Path;

use geo::CoordsIter;
use rayon::prelude::*;

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::{Bounds, Feature};
use super::{Window, aixm, boxes, geojson, vector};
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
    /// Those whose box touches the window, and those without geometry; in the order of the file.
    pub features: Vec<Feature>,
    /// The places of all point features, near or not; only where asked for.
    pub points: Vec<LonLat>,
    /// The coordinate reference system and what was done about it, in words.
    pub crs: String,
    /// What the change of datum adds to the horizontal accuracy.
    pub datum_accuracy: Metres,
    /// Labels of features near the window that could not be read.
    pub unreadable: Vec<String>,
    /// Defects found while reading.
    pub cautions: Cautions,
}

/// What to take from a file.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// Only features whose box touches it; all without one.
    pub window: Option<Window>,
    /// Whether the places of all point features are wanted.
    pub points: bool,
}

impl VectorLayer {
    /// Reads a file: GeoJSON natively, AIXM as XML, other formats through GDAL.
    ///
    /// # Errors
    /// A file that cannot be read, is not what its extension says, or whose coordinate reference
    /// system is unknown.
    pub fn read(path: &Path, declaration: &Declaration, wanted: Wanted) -> Result<Self> {
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
            points: Vec::new(),
            datum_accuracy: Metres::ZERO,
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
        for place in self.features.iter().filter_map(first_place) {
            let Some((x, y)) = crs.from_lon_lat(place) else {
                continue;
            };
            let operation = crs.operation_at(x, y)?;
            accuracy = accuracy.max(operation.accuracy);
            is_null |= operation.is_null;
            if !words.contains(&operation.description) {
                words.push(operation.description);
            }
        }
        if words.is_empty() {
            return Ok(());
        }
        self.datum_accuracy = accuracy;
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

fn read_geojson(path: &Path, declaration: &Declaration, wanted: Wanted) -> Result<VectorLayer> {
    let text = geojson::text(path)?;
    let document = geojson::document(&text)?;
    let crs = match declaration.crs.as_ref().or(document.crs.as_ref()) {
        Some(definition) => Crs::declared(definition)?,
        None => Crs::wgs84(),
    };
    let filter = Filter::new(wanted.window, &crs);
    let total = document.features.len();
    let parsed = document
        .features
        .par_iter()
        .enumerate()
        .filter_map(|(index, raw)| {
            let near = match (&filter, boxes::bounds(raw)) {
                (Filter::All, _) | (_, None) => true,
                (filter, Some(bounds)) => filter.touches(&bounds),
            };
            near.then(|| geojson::feature(raw, index, &crs))
        })
        .collect();
    let mut layer = VectorLayer::gathered(path, total, &crs, parsed);
    // A file without the word has no point, and need not be gone through again.
    if wanted.points && text.contains("\"Point\"") {
        layer.points = document
            .features
            .par_iter()
            .filter_map(|raw| {
                let bounds = boxes::bounds(raw)?;
                let is_point = bounds.west == bounds.east && bounds.south == bounds.north;
                let (lon, lat) = crs.to_lon_lat(bounds.west, bounds.south)?;
                (is_point && lat.abs() <= 90.0).then(|| LonLat::wrapped(lon, lat))
            })
            .collect();
    }
    layer.note_operation(&crs)?;
    if declaration.crs.is_none() && crs.is_wgs84() && document.crs.is_none() {
        layer.crs = "WGS 84 (GeoJSON, none declared)".to_owned();
    }
    Ok(layer)
}

/// The window in the coordinates of a file.
#[derive(Clone, Copy, Debug)]
pub enum Filter {
    /// Everything is near.
    All,
    /// Longitudes turn: a box in degrees, west edge and width.
    Degrees(Window),
    /// A plain box in projected coordinates.
    Plane(Bounds),
}

impl Filter {
    /// How many points of each side of a window are converted to find its box in another system.
    const POINTS_A_SIDE: u32 = 32;
    /// How much wider than those points the box is made, as a share of its size, for what lies
    /// between them.
    const PADDING: f64 = 0.05;

    /// The window in the coordinates of `crs`; everything where it cannot be converted.
    #[must_use]
    pub fn new(window: Option<Window>, crs: &Crs) -> Self {
        let Some(window) = window else {
            return Self::All;
        };
        if crs.is_wgs84() {
            return Self::Degrees(window);
        }
        let width = window.width();
        let mut bounds = Bounds::EMPTY;
        for step in 0..=Self::POINTS_A_SIDE {
            let share = f64::from(step) / f64::from(Self::POINTS_A_SIDE);
            let lon = window.west + share * width;
            let lat = window.south + share * (window.north - window.south);
            for (lon, lat) in [
                (lon, window.south),
                (lon, window.north),
                (window.west, lat),
                (window.west + width, lat),
            ] {
                match crs.from_lon_lat(LonLat::wrapped(lon, lat)) {
                    Some((x, y)) => bounds.add(x, y),
                    None => return Self::All,
                }
            }
        }
        let padding = Self::PADDING * (bounds.east - bounds.west).max(bounds.north - bounds.south);
        Self::Plane(Bounds {
            west: bounds.west - padding,
            south: bounds.south - padding,
            east: bounds.east + padding,
            north: bounds.north + padding,
        })
    }

    /// Whether a box in the file's coordinates touches the window.
    #[must_use]
    pub fn touches(&self, bounds: &Bounds) -> bool {
        match self {
            Self::All => true,
            Self::Degrees(window) => window.touches(bounds),
            Self::Plane(plane) => {
                bounds.west <= plane.east
                    && bounds.east >= plane.west
                    && bounds.south <= plane.north
                    && bounds.north >= plane.south
            }
        }
    }
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
