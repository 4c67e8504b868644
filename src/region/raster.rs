//! The raster file: bands written tile by tile, then kept as a Cloud Optimized GeoTIFF.
//!
//! A plain tiled GeoTIFF is filled first, for tiles come in any order; GDAL's COG driver copies it. The
//! overviews are not averages: a cell of one has the *least* ceiling of the cells that it stands for,
//! and none where one of them has none, so that no scale of the map is too high. Not here: what the
//! bands mean (see [`super`]).

use std::path::Path;

use gdal::raster::{Buffer, RasterBand, RasterCreationOptions};
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager, Metadata};

use super::grid::{Grid, Part};
use super::tile::{NO_DATA, UNDETERMINED};
use crate::error::{Error, Result};
use crate::read::messages::{reason, silence};

/// The side of a block of the file, pixels.
pub const BLOCK: usize = 512;

/// Overviews are added until the map is no wider and no higher than this, pixels.
const SMALLEST_OVERVIEW: usize = 512;

/// What GDAL may keep of files in memory, megabytes.
const GDAL_CACHE_MB: &str = "64";

/// A pair of bands: a ceiling, and the term that governs it.
pub struct Pair {
    /// What the ceiling is, such as `ceiling_m_amsl`.
    pub ceiling: String,
    /// What the term is.
    pub term: String,
}

/// A raster being filled.
pub struct Raster {
    dataset: Dataset,
    grid: Grid,
    pairs: usize,
}

impl Raster {
    /// Makes the file to fill, everything in it without data.
    ///
    /// # Errors
    /// When GDAL cannot make it.
    pub fn create(path: &Path, grid: &Grid, pairs: &[Pair]) -> Result<Self> {
        Self::made(path, grid, pairs).map_err(|why| failed(&why, path))
    }

    fn made(path: &Path, grid: &Grid, pairs: &[Pair]) -> gdal::errors::Result<Self> {
        silence();
        gdal::config::set_config_option("GDAL_CACHEMAX", GDAL_CACHE_MB)?;
        let block = BLOCK.to_string();
        let options = RasterCreationOptions::from_iter([
            "TILED=YES".to_owned(),
            format!("BLOCKXSIZE={block}"),
            format!("BLOCKYSIZE={block}"),
            "SPARSE_OK=TRUE".to_owned(),
            "BIGTIFF=IF_SAFER".to_owned(),
            "INTERLEAVE=BAND".to_owned(),
        ]);
        let mut dataset = DriverManager::get_driver_by_name("GTiff")?
            .create_with_band_type_with_options::<f32, _>(
                path,
                grid.columns,
                grid.rows,
                pairs.len() * 2,
                &options,
            )?;
        dataset.set_spatial_ref(&SpatialRef::from_epsg(4326)?)?;
        dataset.set_geo_transform(&[
            grid.west,
            grid.step_lon,
            0.0,
            grid.north,
            0.0,
            -grid.step_lat,
        ])?;
        let names = pairs.iter().flat_map(|pair| [&pair.ceiling, &pair.term]);
        for (number, name) in (1..).zip(names) {
            let mut band = dataset.rasterband(number)?;
            band.set_no_data_value(Some(f64::from(NO_DATA)))?;
            band.set_description(name)?;
        }
        Ok(Self {
            dataset,
            grid: *grid,
            pairs: pairs.len(),
        })
    }

    /// Says what the map is.
    ///
    /// # Errors
    /// When GDAL cannot write it.
    pub fn describe(&mut self, about: &[(&str, String)]) -> Result<()> {
        about
            .iter()
            .try_for_each(|(name, text)| self.dataset.set_metadata_item(name, text, ""))
            .map_err(|why| unwritten(&why))
    }

    /// Writes the values of one part, a ceiling and a term for each pair of bands.
    ///
    /// # Errors
    /// When GDAL cannot write them.
    pub fn write(&mut self, part: &Part, values: [&[f32]; 2], pair: usize) -> Result<()> {
        for (number, values) in (pair * 2 + 1..).zip(values) {
            // What is without data is so already; blocks that are not written take no room.
            if values.iter().all(|value| *value == NO_DATA) {
                continue;
            }
            self.dataset
                .rasterband(number)
                .and_then(|mut band| put(&mut band, part, values.to_vec()))
                .map_err(|why| unwritten(&why))?;
        }
        Ok(())
    }

    /// Some rows of the ceiling of a pair of bands, from the north.
    ///
    /// # Errors
    /// When GDAL cannot read them.
    pub fn rows(&self, pair: usize, row: usize, rows: usize) -> Result<Vec<f32>> {
        let part = Part {
            column: 0,
            row,
            columns: self.grid.columns,
            rows,
        };
        self.dataset
            .rasterband(pair * 2 + 1)
            .and_then(|band| get(&band, &part))
            .map_err(|why| unwritten(&why))
    }

    /// Fills the overviews and writes the whole as a Cloud Optimized GeoTIFF.
    ///
    /// # Errors
    /// When GDAL cannot write it.
    pub fn finish(mut self, path: &Path) -> Result<()> {
        self.finished(path).map_err(|why| failed(&why, path))
    }

    fn finished(&mut self, path: &Path) -> gdal::errors::Result<()> {
        let mut factors = Vec::new();
        let mut factor = 2;
        while self.grid.columns.max(self.grid.rows) * 2 / factor > SMALLEST_OVERVIEW {
            factors.push(i32::try_from(factor)?);
            factor *= 2;
        }
        if !factors.is_empty() {
            self.dataset.build_overviews("NONE", &factors, &[])?;
        }
        for pair in 0..self.pairs {
            for level in 0..factors.len() {
                self.fill_overview(pair, level)?;
            }
        }
        self.dataset.flush_cache()?;
        let options = RasterCreationOptions::from_iter([
            "COMPRESS=DEFLATE",
            "PREDICTOR=YES",
            "BIGTIFF=IF_SAFER",
            "OVERVIEWS=FORCE_USE_EXISTING",
        ]);
        let driver = DriverManager::get_driver_by_name("COG")?;
        self.dataset.create_copy(&driver, path, &options)?.close()
    }

    /// Fills one overview of a pair of bands from the one below it.
    fn fill_overview(&self, pair: usize, level: usize) -> gdal::errors::Result<()> {
        let band = |number: usize, level: Option<usize>| -> gdal::errors::Result<RasterBand<'_>> {
            let band = self.dataset.rasterband(number)?;
            level.map_or(Ok(band), |level| {
                self.dataset.rasterband(number)?.overview(level)
            })
        };
        let numbers = [pair * 2 + 1, pair * 2 + 2];
        let below = level.checked_sub(1);
        let (ceilings, terms) = (band(numbers[0], below)?, band(numbers[1], below)?);
        let mut to_ceilings = band(numbers[0], Some(level))?;
        let mut to_terms = band(numbers[1], Some(level))?;
        let (columns, rows) = to_ceilings.size();
        let (columns_below, rows_below) = ceilings.size();
        for row in (0..rows).step_by(BLOCK) {
            for column in (0..columns).step_by(BLOCK) {
                let part = Part {
                    column,
                    row,
                    columns: BLOCK.min(columns - column),
                    rows: BLOCK.min(rows - row),
                };
                let from = Part {
                    column: column * 2,
                    row: row * 2,
                    columns: (part.columns * 2).min(columns_below - column * 2),
                    rows: (part.rows * 2).min(rows_below - row * 2),
                };
                let lowest = lowest(&part, &from, &get(&ceilings, &from)?, &get(&terms, &from)?);
                put(&mut to_ceilings, &part, lowest.0)?;
                put(&mut to_terms, &part, lowest.1)?;
            }
        }
        Ok(())
    }
}

/// Of each two by two cells the least ceiling with its term; undetermined where one of them is.
fn lowest(to: &Part, from: &Part, ceilings: &[f32], terms: &[f32]) -> (Vec<f32>, Vec<f32>) {
    let mut found = (Vec::new(), Vec::new());
    for row in 0..to.rows {
        for column in 0..to.columns {
            let (mut ceiling, mut term) = (NO_DATA, NO_DATA);
            let four = [(0, 0), (1, 0), (0, 1), (1, 1)];
            for (east, south) in four {
                let (column, row) = (column * 2 + east, row * 2 + south);
                if column >= from.columns || row >= from.rows {
                    continue;
                }
                let at = row * from.columns + column;
                let (Some(&one), Some(&its_term)) = (ceilings.get(at), terms.get(at)) else {
                    continue;
                };
                let is_asked = its_term != NO_DATA;
                let is_lower = term == NO_DATA || its_term == UNDETERMINED || one < ceiling;
                if is_asked && term != UNDETERMINED && is_lower {
                    (ceiling, term) = (one, its_term);
                }
            }
            found.0.push(ceiling);
            found.1.push(term);
        }
    }
    found
}

fn put(band: &mut RasterBand, part: &Part, values: Vec<f32>) -> gdal::errors::Result<()> {
    let size = (part.columns, part.rows);
    let at = (isize::try_from(part.column)?, isize::try_from(part.row)?);
    band.write(at, size, &mut Buffer::new(size, values))
}

fn get(band: &RasterBand, part: &Part) -> gdal::errors::Result<Vec<f32>> {
    let size = (part.columns, part.rows);
    let at = (isize::try_from(part.column)?, isize::try_from(part.row)?);
    band.read_as::<f32>(at, size, size, None)
        .map(|buffer| buffer.data().to_vec())
}

fn failed(why: &gdal::errors::GdalError, path: &Path) -> Error {
    unwritten(why).in_file(path)
}

fn unwritten(why: &gdal::errors::GdalError) -> Error {
    Error::new(
        format!("the map cannot be written ({})", reason(why)),
        "check the folder, its permissions and the space left",
    )
}
