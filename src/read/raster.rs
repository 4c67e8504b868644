//! Terrain rasters through GDAL: which elevations lie around a site.
//!
//! Cells without data are NaN, never 0; so are cells with an elevation that no land has. Not here: the elevation between cell centres and its bounds
//! (see [`crate::field`]).

use std::path::{Path, PathBuf};

use gdal::raster::{Buffer, RasterCreationOptions};
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager, GdalOpenFlags, GeoTransform, GeoTransformEx};

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::Bounds;
use super::inspect::Extent;
use super::layer::file_name;
use super::messages::reason;
use super::prepared::Source;
use super::vector;
use crate::answer::LayerAnswer;
use crate::error::{Error, Result};
use crate::frame::{LocalFrame, LonLat, destination};
use crate::obstacle::VerticalReference;
use crate::units::{Bearing, METRES_PER_FOOT, Metres};

/// The US survey foot in metres: 1200/3937 (withdrawn at the end of 2022; from memory).
const METRES_PER_US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;

/// How many cells a window may hold: 32 million take 128 MB, half of what eaves means to use at most.
const MOST_CELLS: usize = 32_000_000;

/// How many cells are read at a time, so that little more than the window is held.
const CELLS_AT_A_TIME: usize = 1_000_000;

/// Elevations that land can have, metres AMSL: the shore of the Dead Sea lies at about −430 m and
/// the top of Everest at 8 849 m (from memory). Beyond, a value is a filling that was not declared,
/// or the floor of the sea.
const ELEVATIONS_OF_LAND_M: std::ops::RangeInclusive<f64> = -500.0..=9_000.0;

/// Cells read beyond the outermost that the circle touches: one for the interpolation, one for
/// rounding, and two for the bulge of the circle between the points that were converted.
const PADDING_CELLS: f64 = 4.0;

/// On how many bearings the circle around a site is converted to the raster's system.
const CIRCLE_POINTS: u32 = 72;

/// A single-band terrain raster, checked but not read.
#[derive(Clone, Debug)]
pub struct TerrainFile {
    path: PathBuf,
    file: String,
    crs: Crs,
    to_pixel: GeoTransform,
    size: (usize, usize),
    is_geographic: bool,
    accuracy: Option<Metres>,
    metres_per_unit: f64,
    answer: LayerAnswer,
}

/// Elevations around a site.
///
/// Nodes are cell centres: node (c, r) of the window is at pixel coordinates (c, r).
#[derive(Clone, Debug)]
pub struct TerrainWindow {
    /// How many columns of nodes.
    pub columns: usize,
    /// How many rows of nodes.
    pub rows: usize,
    /// Elevations AMSL in metres, row by row; NaN where the raster has no data
    /// or a value that no land has (below −500 m or above 9 000 m).
    pub elevation_m: Vec<f32>,
    crs: Crs,
    to_pixel: GeoTransform,
    offset: (f64, f64),
    /// The middle longitude of a raster in degrees, to which longitudes are turned.
    middle_lon: Option<f64>,
}

impl TerrainFile {
    /// Opens a raster with nothing declared about it.
    ///
    /// # Errors
    /// See [`Self::open_declared`].
    pub fn open(path: &Path) -> Result<Self> {
        Self::open_declared(path, &Declaration::default())
    }

    /// Opens a raster as its table in `layers.toml` declares it.
    ///
    /// # Errors
    /// A file that GDAL cannot open, more than one band, no position or no coordinate reference
    /// system, a unit other than metres and feet, or heights above the ellipsoid: those differ from
    /// AMSL by up to 100 m, and eaves has no geoid to convert them.
    pub fn open_declared(path: &Path, declaration: &Declaration) -> Result<Self> {
        Self::inspect(path, declaration).map_err(|error| error.in_file(path))
    }

    /// The same, under the name that answers give it.
    ///
    /// # Errors
    /// See [`Self::open_declared`].
    pub fn open_source(source: &Source, declaration: &Declaration) -> Result<Self> {
        let mut terrain = Self::open_declared(&source.path, declaration)?;
        terrain.file = source.name();
        terrain.answer.file = source.name();
        Ok(terrain)
    }

    fn inspect(path: &Path, declaration: &Declaration) -> Result<Self> {
        if declaration.vertical_reference() == Some(VerticalReference::AboveGround) {
            return Err(Error::new(
                "is declared to be above ground",
                "a terrain raster is the ground: its elevations must be above mean sea level",
            ));
        }
        let dataset = open(path)?;
        if dataset.raster_count() != 1 {
            return Err(Error::new(
                format!("has {} bands", dataset.raster_count()),
                "export one band of elevations",
            ));
        }
        let from_pixel = dataset
            .geo_transform()
            .map_err(|_| Error::new("has no position (geotransform)", "export it as a GeoTIFF"))?;
        let to_pixel = from_pixel
            .invert()
            .map_err(|_| Error::new("has cells without size", "export it again"))?;
        if !to_pixel
            .iter()
            .chain(&from_pixel)
            .all(|number| number.is_finite())
        {
            return Err(Error::new("has cells without size", "export it again"));
        }
        let reference = dataset.spatial_ref().ok();
        if let Some(reference) = &reference {
            refuse_ellipsoidal(reference)?;
        }
        let crs = match (&declaration.crs, &reference) {
            (Some(definition), _) => Crs::declared(definition)?,
            (None, Some(reference)) => Crs::declared(&definition_of(reference)?)?,
            (None, None) => {
                return Err(Error::new(
                    "does not say its coordinate reference system",
                    "declare crs in layers.toml",
                ));
            }
        };
        let band = dataset.rasterband(1).map_err(|error| unreadable(&error))?;
        let metres_per_unit = match declaration.height_unit {
            Some(unit) => unit.metres(),
            None => unit_of(&band.unit(), reference.as_ref())?,
        };
        let operation = centre(&from_pixel, dataset.raster_size())
            .map(|(x, y)| crs.operation_at(x, y))
            .transpose()?;
        let words = match operation {
            Some(operation) if !crs.is_wgs84() => format!(
                "{}: {}, accurate to {} m",
                crs.name(),
                operation.description,
                operation.accuracy.m_up(2)
            ),
            _ => crs.name().to_owned(),
        };
        Ok(Self {
            file: file_name(path),
            path: path.to_path_buf(),
            is_geographic: is_in_degrees(declaration, reference.as_ref()),
            answer: LayerAnswer {
                layer: "terrain".to_owned(),
                file: file_name(path),
                features: 0,
                crs: words,
                date: declaration.date(),
                source: declaration.source(),
            },
            crs,
            to_pixel,
            size: dataset.raster_size(),
            accuracy: declaration.vertical_accuracy(),
            metres_per_unit,
        })
    }

    /// The file name.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its elevations are within this, if declared.
    #[must_use]
    pub const fn accuracy(&self) -> Option<Metres> {
        self.accuracy
    }

    /// Columns and rows of the whole raster.
    #[must_use]
    pub const fn size(&self) -> (usize, usize) {
        self.size
    }

    /// The unit of its elevations: `m`, or `ft` for either foot.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        if self.metres_per_unit < 1.0 {
            "ft"
        } else {
            "m"
        }
    }

    /// Its box in WGS 84 degrees, from its four corners; none where they cannot be converted.
    #[must_use]
    pub fn extent(&self) -> Option<Extent> {
        let from_pixel = self.to_pixel.invert().ok()?;
        let (columns, rows) = (self.size.0 as f64, self.size.1 as f64);
        let mut bounds = Bounds::EMPTY;
        for (column, row) in [(0.0, 0.0), (columns, 0.0), (0.0, rows), (columns, rows)] {
            let (x, y) = from_pixel.apply(column, row);
            let (lon, lat) = self.crs.to_lon_lat(x, y)?;
            bounds.add(lon, lat);
        }
        Some(Extent {
            west_deg: bounds.west,
            south_deg: bounds.south,
            east_deg: bounds.east,
            north_deg: bounds.north,
        })
    }

    /// What it is in an answer.
    #[must_use]
    pub fn answer(&self) -> LayerAnswer {
        self.answer.clone()
    }

    /// The elevations within `radius` of the origin of a local frame, and a few cells more; an
    /// empty window where the raster does not reach there.
    ///
    /// # Errors
    /// When the raster cannot be read, or the window holds more than 32 million cells.
    pub fn window(&self, frame: &LocalFrame, radius: Metres) -> Result<TerrainWindow> {
        self.read_window(frame, radius)
            .map_err(|error| error.in_file(&self.path))
    }

    fn read_window(&self, frame: &LocalFrame, radius: Metres) -> Result<TerrainWindow> {
        let mut window = TerrainWindow {
            columns: 0,
            rows: 0,
            elevation_m: Vec::new(),
            crs: self.crs.clone(),
            to_pixel: self.to_pixel,
            offset: (0.0, 0.0),
            middle_lon: self.middle_lon(),
        };
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for step in 0..CIRCLE_POINTS {
            let bearing = Bearing::new(f64::from(step) * 360.0 / f64::from(CIRCLE_POINTS))
                .unwrap_or(Bearing::NORTH);
            let place = destination(frame.origin(), bearing, radius);
            let Some((column, row)) = window.raw_pixel_of(place) else {
                continue;
            };
            low = [low[0].min(column), low[1].min(row)];
            high = [high[0].max(column), high[1].max(row)];
        }
        let (columns, rows) = self.size;
        // A point of the circle may bulge beyond the chord between two converted ones by
        // 1 - cos(2.5 degrees) of the radius, which is below 0.1 % of the width.
        let margin = |low: f64, high: f64| PADDING_CELLS + 0.001 * (high - low);
        let range = |axis: usize, count: usize| {
            let (low, high) = (low.get(axis).copied()?, high.get(axis).copied()?);
            let pad = margin(low, high);
            let first = (low - pad).floor().max(0.0);
            let last = (high + pad).ceil().min(count as f64 - 1.0);
            (first <= last).then_some((first as usize, last as usize))
        };
        let (Some((left, right)), Some((top, bottom))) = (range(0, columns), range(1, rows)) else {
            return Ok(window);
        };
        let (width, height) = (right - left + 1, bottom - top + 1);
        if width.saturating_mul(height) > MOST_CELLS {
            return Err(Error::new(
                format!("has {width} x {height} cells around the site, more than 32 million"),
                "resample it to larger cells, or ask for a smaller radius",
            ));
        }
        window.offset = (left as f64, top as f64);
        window.columns = width;
        window.rows = height;
        window.elevation_m = self.elevations((left, top), (width, height))?;
        Ok(window)
    }

    fn elevations(&self, corner: (usize, usize), size: (usize, usize)) -> Result<Vec<f32>> {
        let too_far = |_| Error::new("is too large for GDAL", "clip it");
        let left = isize::try_from(corner.0).map_err(too_far)?;
        let (width, height) = size;
        let dataset = open(&self.path)?;
        let band = dataset.rasterband(1).map_err(|error| unreadable(&error))?;
        let mask = band.open_mask_band().map_err(|error| unreadable(&error))?;
        let no_data = band.no_data_value();
        let scale = band.scale().unwrap_or(1.0) * self.metres_per_unit;
        let offset = band.offset().unwrap_or(0.0) * self.metres_per_unit;
        let mut elevations = Vec::with_capacity(width * height);
        let rows_at_a_time = (CELLS_AT_A_TIME / width.max(1)).max(1);
        let mut row = 0;
        while row < height {
            let strip = (width, rows_at_a_time.min(height - row));
            let at = (left, isize::try_from(corner.1 + row).map_err(too_far)?);
            let values: Buffer<f64> = band
                .read_as(at, strip, strip, None)
                .map_err(|error| unreadable(&error))?;
            let known: Buffer<u8> = mask
                .read_as(at, strip, strip, None)
                .map_err(|error| unreadable(&error))?;
            #[expect(
                clippy::cast_possible_truncation,
                reason = "f32 holds an elevation to 0.5 mm"
            )]
            elevations.extend(
                values
                    .data()
                    .iter()
                    .zip(known.data())
                    .map(|(value, known)| {
                        let metres = value * scale + offset;
                        if *known == 0
                            || Some(*value) == no_data
                            || !ELEVATIONS_OF_LAND_M.contains(&metres)
                        {
                            f32::NAN
                        } else {
                            metres as f32
                        }
                    }),
            );
            row += strip.1;
        }
        Ok(elevations)
    }

    fn middle_lon(&self) -> Option<f64> {
        if !self.is_geographic {
            return None;
        }
        let from_pixel = self.to_pixel.invert().ok()?;
        let (columns, rows) = (self.size.0 as f64, self.size.1 as f64);
        Some(from_pixel.apply(columns / 2.0, rows / 2.0).0)
    }
}

impl TerrainWindow {
    /// Whether the raster does not reach the site at all.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.columns == 0 || self.rows == 0
    }

    /// The pixel coordinates (column, row) of a place in this window, through the raster's
    /// coordinate reference system; they lie outside 0..=columns−1 or 0..=rows−1 for a place beyond
    /// the window. None where the place cannot be converted, or the window is empty.
    #[must_use]
    pub fn pixel_of(&self, place: LonLat) -> Option<(f64, f64)> {
        if self.is_empty() {
            return None;
        }
        self.raw_pixel_of(place)
    }

    fn raw_pixel_of(&self, place: LonLat) -> Option<(f64, f64)> {
        let (mut x, y) = self.crs.from_lon_lat(place)?;
        if let Some(middle) = self.middle_lon {
            // The turn of the longitude that is nearest to the middle of the raster.
            x += 360.0 * ((middle - x) / 360.0).round();
        }
        let (column, row) = self.to_pixel.apply(x, y);
        // GDAL counts from the corner of the first cell, nodes are centres.
        let (column, row) = (column - 0.5 - self.offset.0, row - 0.5 - self.offset.1);
        (column.is_finite() && row.is_finite()).then_some((column, row))
    }
}

/// Copies a raster with every value as it is, in compressed tiles with overviews.
///
/// # Errors
/// When it cannot be read or written.
pub fn copy_tiled(path: &Path, out: &Path) -> Result<()> {
    let not_written = |error: gdal::errors::GdalError| {
        Error::new(
            format!("cannot be written as a tiled GeoTIFF ({})", reason(&error)),
            "check the space left",
        )
    };
    let source = open(path)?;
    let driver = DriverManager::get_driver_by_name("COG").map_err(not_written)?;
    let options = RasterCreationOptions::from_iter([
        "COMPRESS=DEFLATE",
        "PREDICTOR=YES",
        "BLOCKSIZE=256",
        "OVERVIEW_RESAMPLING=NEAREST",
        "BIGTIFF=IF_SAFER",
    ]);
    let mut copy = source
        .create_copy(&driver, out, &options)
        .map_err(not_written)?;
    copy.flush_cache().map_err(not_written)?;
    copy.close().map_err(not_written)
}

fn open(path: &Path) -> Result<Dataset> {
    vector::open(
        path,
        GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_READONLY,
        &["GTiff"],
        &[],
    )
}

fn unreadable(error: &gdal::errors::GdalError) -> Error {
    Error::new(
        format!("cannot be read ({})", reason(error)),
        "copy or export it again; it may be truncated",
    )
}

pub(super) fn definition_of(reference: &SpatialRef) -> Result<String> {
    match (reference.auth_name(), reference.auth_code()) {
        (Some(authority), Ok(code)) => Ok(format!("{authority}:{code}")),
        _ => reference.to_wkt().map_err(|error| unreadable(&error)),
    }
}

/// Refuses systems whose height is above the ellipsoid: three axes without a vertical system.
fn refuse_ellipsoidal(reference: &SpatialRef) -> Result<()> {
    if reference.axes_count() == 3 && !reference.is_compound() {
        return Err(Error::new(
            format!(
                "has heights above the ellipsoid ({}), not above mean sea level",
                reference.name().unwrap_or_default()
            ),
            "convert them with a geoid model",
        ));
    }
    Ok(())
}

fn is_in_degrees(declaration: &Declaration, reference: Option<&SpatialRef>) -> bool {
    let declared = declaration
        .crs
        .as_ref()
        .and_then(|definition| SpatialRef::from_definition(definition).ok());
    declared
        .as_ref()
        .or(reference)
        .is_some_and(SpatialRef::is_geographic)
}

fn unit_of(band_unit: &str, reference: Option<&SpatialRef>) -> Result<f64> {
    let vertical = reference
        .filter(|reference| reference.is_compound())
        .and_then(|reference| reference.get_attr_value("COMPD_CS|VERT_CS|UNIT", 0).ok())
        .flatten();
    let unit = if band_unit.trim().is_empty() {
        vertical.unwrap_or_default()
    } else {
        band_unit.to_owned()
    };
    match unit.trim().to_lowercase().as_str() {
        "" | "m" | "metre" | "metres" | "meter" | "meters" => Ok(1.0),
        "ft" | "foot" | "feet" | "international foot" => Ok(METRES_PER_FOOT),
        "us-ft" | "sft" | "us survey foot" | "us_survey_foot" | "foot_us" => {
            Ok(METRES_PER_US_SURVEY_FOOT)
        }
        other => Err(Error::new(
            format!("has elevations in \"{other}\""),
            "declare height_unit = \"m\" or \"ft\" in layers.toml",
        )),
    }
}

fn centre(from_pixel: &GeoTransform, size: (usize, usize)) -> Option<(f64, f64)> {
    let (x, y) = from_pixel.apply(size.0 as f64 / 2.0, size.1 as f64 / 2.0);
    (x.is_finite() && y.is_finite()).then_some((x, y))
}
