//! A background picture from a georeferenced GeoTIFF, through GDAL.
//!
//! Not here: the picture itself (see [`mod@crate::read::background`]).

use std::path::Path;

use gdal::raster::{ColorInterpretation, GdalDataType, RasterBand, ResampleAlg};
use gdal::{Dataset, GdalOpenFlags, GeoTransform, GeoTransformEx, Metadata};

use super::background::{Background, BackgroundWindow};
use super::crs::Crs;
use super::layer::file_name;
use super::messages::reason;
use super::raster::definition_of;
use super::vector;
use crate::error::{Error, Result};
use crate::frame::Xy;

/// Places are converted exactly at every so many pixels, and linearly between: at 150 dots per inch
/// and 1 : 250 000 these are 2 km apart, over which a projection bends by less than a pixel.
const STEP_PX: usize = 48;
/// The share of the values of a 16-bit file that is cut off at either end (common practice, no source).
const CUT_OFF: f64 = 0.02;
/// The most pixels of a background.
const MOST_PIXELS: usize = 40_000_000;

/// Reads a GeoTIFF of one 8-bit band (grey or with a palette), or of three (red, green, blue),
/// each with or without opacity, into a window of a plane. Unsigned bands of 16 bits are stretched to
/// 8 ([`Background::stretch`]), all by the same two values, so that colours stay what they are.
///
/// # Errors
/// A file that GDAL cannot open, without position or coordinate reference system, or of other
/// bands.
pub fn background(path: &Path, window: &BackgroundWindow) -> Result<Background> {
    read(path, window).map_err(|error| error.in_file(path))
}

fn read(path: &Path, window: &BackgroundWindow) -> Result<Background> {
    let dataset = vector::open(
        path,
        GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_READONLY,
        &["GTiff"],
        &[],
    )?;
    let to_pixel = dataset
        .geo_transform()
        .and_then(|from_pixel| from_pixel.invert())
        .ok()
        .filter(|it| it.iter().all(|number| number.is_finite()))
        .ok_or_else(|| {
            Error::new(
                "has no position (geotransform)",
                "export the background as a georeferenced GeoTIFF",
            )
        })?;
    let reference = dataset.spatial_ref().map_err(|_| {
        Error::new(
            "does not say its coordinate reference system",
            "export the background with one",
        )
    })?;
    let crs = Crs::declared(&definition_of(&reference)?)?;
    let (width, height) = (window.width_px as usize, window.height_px as usize);
    if width.saturating_mul(height) > MOST_PIXELS {
        return Err(Error::new(
            format!("would be {width} by {height} pixels on the figure"),
            "use smaller paper",
        ));
    }
    let mut picture = Background {
        low: window.low,
        high: window.high,
        width_px: window.width_px,
        height_px: window.height_px,
        rgba: vec![0; width * height * 4],
        file: file_name(path),
        credit: dataset
            .metadata_item("TIFFTAG_COPYRIGHT", "")
            .filter(|text| !text.trim().is_empty()),
        stretch: None,
    };
    let middle = reference.is_geographic().then(|| {
        let (columns, rows) = dataset.raster_size();
        let from_pixel = to_pixel.invert().unwrap_or([0.0; 6]);
        from_pixel.apply(columns as f64 / 2.0, rows as f64 / 2.0).0
    });
    let nodes = Nodes::of(window, &crs, &to_pixel, middle);
    let Some(source) = Source::read(&dataset, &nodes, (width, height))? else {
        return Ok(picture);
    };
    picture.stretch = source.stretch;
    for (row, line) in picture.rgba.chunks_exact_mut(width.max(1) * 4).enumerate() {
        for (column, pixel) in line.chunks_exact_mut(4).enumerate() {
            if let Some(at) = nodes.at(column, row)
                && let Some(rgb) = source.at(at)
                && let [red, green, blue, opacity] = pixel
            {
                [*red, *green, *blue] = rgb;
                *opacity = 255;
            }
        }
    }
    Ok(picture)
}

/// Pixel coordinates in the file at every [`STEP_PX`] pixels of the window.
struct Nodes {
    columns: usize,
    places: Vec<Option<(f64, f64)>>,
}

impl Nodes {
    fn of(
        window: &BackgroundWindow,
        crs: &Crs,
        to_pixel: &GeoTransform,
        middle: Option<f64>,
    ) -> Self {
        let (width, height) = (window.width_px as usize, window.height_px as usize);
        let (columns, rows) = (width / STEP_PX + 2, height / STEP_PX + 2);
        let metres = Xy::new(
            (window.high.x - window.low.x) / width.max(1) as f64,
            (window.high.y - window.low.y) / height.max(1) as f64,
        );
        let places = (0..rows)
            .flat_map(|row| (0..columns).map(move |column| (column, row)))
            .map(|(column, row)| {
                let at = Xy::new(
                    window.low.x + ((column * STEP_PX) as f64 + 0.5) * metres.x,
                    window.high.y - ((row * STEP_PX) as f64 + 0.5) * metres.y,
                );
                let (mut x, y) = crs.from_lon_lat(window.frame.to_place(at))?;
                if let Some(middle) = middle {
                    x += 360.0 * ((middle - x) / 360.0).round();
                }
                let (column, row) = to_pixel.apply(x, y);
                (column.is_finite() && row.is_finite()).then_some((column, row))
            })
            .collect();
        Self { columns, places }
    }

    /// The pixel coordinates in the file of a pixel of the window.
    fn at(&self, column: usize, row: usize) -> Option<(f64, f64)> {
        let (c, r) = (column / STEP_PX, row / STEP_PX);
        let (u, v) = (
            (column % STEP_PX) as f64 / STEP_PX as f64,
            (row % STEP_PX) as f64 / STEP_PX as f64,
        );
        let node = |c: usize, r: usize| self.places.get(r * self.columns + c).copied().flatten();
        let (a, b, d, e) = (
            node(c, r)?,
            node(c + 1, r)?,
            node(c, r + 1)?,
            node(c + 1, r + 1)?,
        );
        let mix = |a: f64, b: f64, d: f64, e: f64| {
            (1.0 - v) * ((1.0 - u) * a + u * b) + v * ((1.0 - u) * d + u * e)
        };
        Some((mix(a.0, b.0, d.0, e.0), mix(a.1, b.1, d.1, e.1)))
    }
}

/// The part of the file that the window needs, at about the resolution that it needs.
struct Source {
    offset: (f64, f64),
    /// Pixels of the file to one that was read.
    step: (f64, f64),
    size: (usize, usize),
    bands: Vec<Vec<u8>>,
    palette: Option<Vec<[u8; 3]>>,
    mask: Vec<u8>,
    stretch: Option<(u16, u16)>,
}

impl Source {
    fn read(dataset: &Dataset, nodes: &Nodes, wanted: (usize, usize)) -> Result<Option<Self>> {
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (0f64, 0f64));
        for (column, row) in nodes.places.iter().flatten() {
            low = (low.0.min(*column), low.1.min(*row));
            high = (high.0.max(*column), high.1.max(*row));
        }
        let (columns, rows) = dataset.raster_size();
        let range = |low: f64, high: f64, count: usize| {
            let first = (low - 2.0).floor().max(0.0);
            let last = (high + 2.0).ceil().min(count as f64);
            (first < last).then_some((first as usize, (last - first) as usize))
        };
        let (Some((left, width)), Some((top, height))) =
            (range(low.0, high.0, columns), range(low.1, high.1, rows))
        else {
            return Ok(None);
        };
        let kinds = dataset.raster_count();
        if !(1..=4).contains(&kinds) {
            return Err(Error::new(
                format!("has {kinds} bands"),
                "export the background as grey or red, green, blue",
            ));
        }
        let first = dataset.rasterband(1).map_err(|error| unreadable(&error))?;
        let is_wide = first.band_type() == GdalDataType::UInt16;
        if !is_wide && first.band_type() != GdalDataType::UInt8 {
            return Err(Error::new(
                format!("has pixels of type {}", first.band_type()),
                "export the background with 8 or 16 bits a band, unsigned",
            ));
        }
        let palette = (first.color_interpretation() == ColorInterpretation::PaletteIndex)
            .then(|| palette(&first));
        let read = |count: usize, wanted: usize| count.min(wanted.max(1) * 2).max(1);
        let size = (read(width, wanted.0), read(height, wanted.1));
        let too_far = |_| Error::new("is too large for GDAL", "clip it");
        let corner = (
            isize::try_from(left).map_err(too_far)?,
            isize::try_from(top).map_err(too_far)?,
        );
        let band = |band: &RasterBand, how: ResampleAlg| {
            band.read_as::<u8>(corner, (width, height), size, Some(how))
                .map(|buffer| buffer.data().to_vec())
                .map_err(|error| unreadable(&error))
        };
        let how = if palette.is_some() {
            ResampleAlg::NearestNeighbour
        } else {
            ResampleAlg::Average
        };
        let used = if kinds >= 3 { 3 } else { 1 };
        let found = (1..=used)
            .map(|number| dataset.rasterband(number))
            .collect::<std::result::Result<Vec<_>, _>>()
            .map_err(|error| unreadable(&error))?;
        let mask = first.open_mask_band().map_err(|error| unreadable(&error))?;
        let mask = band(&mask, ResampleAlg::NearestNeighbour)?;
        let (bands, stretch) = if is_wide {
            let wide = found
                .iter()
                .map(|band| {
                    band.read_as::<u16>(corner, (width, height), size, Some(how))
                        .map(|buffer| buffer.data().to_vec())
                        .map_err(|error| unreadable(&error))
                })
                .collect::<Result<Vec<_>>>()?;
            let ends = ends(&wide, &mask);
            let bands = wide.iter().map(|band| stretched(band, ends)).collect();
            (bands, Some(ends))
        } else {
            let bands = found.iter().map(|it| band(it, how));
            (bands.collect::<Result<Vec<_>>>()?, None)
        };
        Ok(Some(Self {
            stretch,
            offset: (left as f64, top as f64),
            step: (width as f64 / size.0 as f64, height as f64 / size.1 as f64),
            size,
            bands,
            palette,
            mask,
        }))
    }

    /// The colour at pixel coordinates of the file; none beyond it or where it has no data.
    fn at(&self, (column, row): (f64, f64)) -> Option<[u8; 3]> {
        let x = (column - self.offset.0) / self.step.0;
        let y = (row - self.offset.1) / self.step.1;
        let (width, height) = self.size;
        let is_inside = x >= 0.0 && y >= 0.0 && x < width as f64 && y < height as f64;
        let nearest = (y as usize).min(height - 1) * width + (x as usize).min(width - 1);
        if !is_inside || self.mask.get(nearest).is_none_or(|it| *it < 128) {
            return None;
        }
        if let Some(palette) = &self.palette {
            let index = self.bands.first()?.get(nearest)?;
            return palette.get(usize::from(*index)).copied();
        }
        // Nodes are centres of pixels; between them the colour is linear.
        let (x, y) = ((x - 0.5).max(0.0), (y - 0.5).max(0.0));
        let (c, r) = (x as usize, y as usize);
        let (u, v) = (x - c as f64, y - r as f64);
        let value = |band: &Vec<u8>| {
            let at = |c: usize, r: usize| {
                let index = r.min(height - 1) * width + c.min(width - 1);
                // A neighbour without data does not count.
                if self.mask.get(index).is_none_or(|it| *it < 128) {
                    return band.get(nearest).copied().map(f64::from);
                }
                band.get(index).copied().map(f64::from)
            };
            let top = (1.0 - u) * at(c, r)? + u * at(c + 1, r)?;
            let bottom = (1.0 - u) * at(c, r + 1)? + u * at(c + 1, r + 1)?;
            Some(((1.0 - v) * top + v * bottom).round() as u8)
        };
        match self.bands.as_slice() {
            [red, green, blue] => Some([value(red)?, value(green)?, value(blue)?]),
            [grey] => value(grey).map(|grey| [grey; 3]),
            _ => None,
        }
    }
}

/// The values that a share of [`CUT_OFF`] of what has data lies below and above, over all bands.
fn ends(bands: &[Vec<u16>], mask: &[u8]) -> (u16, u16) {
    let mut values: Vec<u16> = bands
        .iter()
        .flat_map(|band| band.iter().zip(mask))
        .filter(|(_, mask)| **mask >= 128)
        .map(|(value, _)| *value)
        .collect();
    values.sort_unstable();
    let at = |share: f64| {
        let index = (share * values.len().saturating_sub(1) as f64).round() as usize;
        values.get(index).copied().unwrap_or_default()
    };
    (at(CUT_OFF), at(1.0 - CUT_OFF))
}

/// Values from the low end to the high end as 0 to 255.
fn stretched(band: &[u16], (low, high): (u16, u16)) -> Vec<u8> {
    let range = f64::from(high.saturating_sub(low)).max(1.0);
    band.iter()
        .map(|value| {
            let share = f64::from(value.saturating_sub(low)) / range;
            (share.min(1.0) * 255.0).round() as u8
        })
        .collect()
}

fn palette(band: &RasterBand) -> Vec<[u8; 3]> {
    let Some(table) = band.color_table() else {
        return Vec::new();
    };
    (0..table.entry_count())
        .map(|index| {
            table.entry_as_rgb(index).map_or([255; 3], |entry| {
                [entry.r, entry.g, entry.b].map(|part| part.clamp(0, 255) as u8)
            })
        })
        .collect()
}

fn unreadable(error: &gdal::errors::GdalError) -> Error {
    Error::new(
        format!("cannot be read ({})", reason(error)),
        "copy or export it again; it may be truncated",
    )
}
