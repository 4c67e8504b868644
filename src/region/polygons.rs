//! Bands as a GeoJSON file: polygons of longitude and latitude along the edges of cells, written as
//! they are found.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use gdal::raster::RasterCreationOptions;
use gdal::{Dataset, DriverManager};

use super::bands::{Polygon, Tracer};
use super::grid::Grid;
use super::raster::Raster;
use super::tile::NO_DATA;
use crate::error::{Error, Result};
use crate::read::messages::reason;

/// How many cells are read from the raster at a time.
const CELLS_AT_A_TIME: usize = 4_000_000;

/// Bands to be written.
pub struct Bands<'a> {
    /// Where the ceilings are.
    pub raster: &'a Raster,
    /// Where its cells lie.
    pub grid: &'a Grid,
    /// Which pair of bands of the raster.
    pub pair: usize,
    /// The end of the names of properties: `agl` or `amsl`.
    pub suffix: &'a str,
    /// How high a band is, metres.
    pub step: f64,
    /// What the file says of itself.
    pub about: &'a [(&'static str, String)],
}

impl Bands<'_> {
    /// Writes the file.
    ///
    /// # Errors
    /// When the raster cannot be read, or the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<()> {
        let unwritten = |why: std::io::Error| {
            Error::new(
                format!("cannot be written ({why})"),
                "check the folder, its permissions and the space left",
            )
        };
        let mut out = BufWriter::new(File::create(path).map_err(unwritten)?);
        self.begin(&mut out).map_err(unwritten)?;
        let mut tracer = Tracer::new(self.grid.columns);
        let mut is_first = true;
        let mut put = |polygons: Vec<Polygon>, out: &mut BufWriter<File>| {
            polygons.iter().try_for_each(|polygon| {
                out.write_all(if is_first { b"\n" } else { b",\n" })?;
                is_first = false;
                self.feature(polygon, out)
            })
        };
        let at_a_time = (CELLS_AT_A_TIME / self.grid.columns).max(1);
        for row in (0..self.grid.rows).step_by(at_a_time) {
            let rows = at_a_time.min(self.grid.rows - row);
            let values = self.raster.rows(self.pair, row, rows)?;
            for values in values.chunks(self.grid.columns) {
                let classes: Vec<Option<i32>> =
                    values.iter().map(|value| self.class(*value)).collect();
                put(tracer.row(&classes), &mut out).map_err(unwritten)?;
            }
        }
        put(tracer.finish(), &mut out).map_err(unwritten)?;
        out.write_all(b"\n]}\n")
            .and_then(|()| out.flush())
            .map_err(unwritten)
    }

    /// The band of a ceiling: how many steps its lower edge is above 0.
    fn class(&self, ceiling: f32) -> Option<i32> {
        (ceiling != NO_DATA).then(|| (f64::from(ceiling) / self.step).floor() as i32)
    }

    fn begin(&self, out: &mut impl Write) -> std::io::Result<()> {
        let about: serde_json::Map<String, serde_json::Value> = self
            .about
            .iter()
            .map(|(name, text)| (name.to_lowercase(), text.clone().into()))
            .collect();
        let about = serde_json::Value::Object(about);
        write!(
            out,
            "{{\"type\":\"FeatureCollection\",\"about\":{about},\"features\":["
        )
    }

    fn feature(&self, polygon: &Polygon, out: &mut impl Write) -> std::io::Result<()> {
        let suffix = self.suffix;
        let (low, high) = (
            f64::from(polygon.class) * self.step,
            (f64::from(polygon.class) + 1.0) * self.step,
        );
        write!(
            out,
            "{{\"type\":\"Feature\",\"properties\":{{\"ceiling_at_least_m_{suffix}\":{low},\
             \"ceiling_below_m_{suffix}\":{high},\"cells\":{}}},\
             \"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[",
            polygon.cells
        )?;
        for (number, ring) in polygon.rings.iter().enumerate() {
            out.write_all(if number == 0 { b"[" } else { b",[" })?;
            let closed = ring.iter().chain(ring.first());
            for (number, (column, row)) in closed.enumerate() {
                let corner = self.grid.corner(*column as usize, *row as usize);
                let comma = if number == 0 { "" } else { "," };
                write!(out, "{comma}[{:.9},{:.9}]", corner.x, corner.y)?;
            }
            out.write_all(b"]")?;
        }
        out.write_all(b"]}}")
    }
}

/// Copies a file of bands as FlatGeobuf.
///
/// # Errors
/// When GDAL cannot write it.
pub fn copy_as_flatgeobuf(from: &Path, to: &Path) -> Result<()> {
    Dataset::open(from)
        .and_then(|bands| {
            let driver = DriverManager::get_driver_by_name("FlatGeobuf")?;
            bands
                .create_copy(&driver, to, &RasterCreationOptions::new())?
                .close()
        })
        .map_err(|why| {
            Error::new(
                format!("cannot be written ({})", reason(&why)),
                "check the folder, its permissions and the space left",
            )
        })
}
