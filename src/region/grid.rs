//! The raster of a region: cells of equal steps in longitude and latitude, and how one lies in a plane.
//!
//! Columns run east from the west edge, rows south from the north edge. Longitudes run on beyond 180
//! where the region crosses the antimeridian.

use geo::{BoundingRect, Coord, MapCoords, MultiPolygon, Rect, coord};

use crate::error::{Error, Result};
use crate::field::Cell;
use crate::frame::{LocalFrame, LonLat, destination, longitude_step};
use crate::plan::{cut_short, parts_of_edge};
use crate::units::{Bearing, Metres};

/// The most cells of one map: some hours of two cores where every one has shields.
pub const MOST_CELLS: usize = 1_000_000_000;

/// The steps are whole multiples of this, degrees: 0.1 mm on the ground.
const STEP_OF_STEPS_DEG: f64 = 1e-9;

/// The raster of a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// West edge, degrees.
    pub west: f64,
    /// North edge, degrees.
    pub north: f64,
    /// Width of a cell, degrees.
    pub step_lon: f64,
    /// Height of a cell, degrees.
    pub step_lat: f64,
    /// How many columns.
    pub columns: usize,
    /// How many rows.
    pub rows: usize,
}

/// A rectangle of cells of a grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Its first column.
    pub column: usize,
    /// Its first row.
    pub row: usize,
    /// How many columns.
    pub columns: usize,
    /// How many rows.
    pub rows: usize,
}

impl Grid {
    /// The cells that hold a region, each `cell` wide and high, or a little less, at its middle.
    ///
    /// `region` has its longitudes counted on (see [`counted_on`]).
    ///
    /// # Errors
    /// When it has no extent, or would have more than [`MOST_CELLS`] cells.
    pub fn over(region: &MultiPolygon<f64>, cell: Metres) -> Result<Self> {
        let extent = region
            .bounding_rect()
            .ok_or_else(|| Error::new("has no extent", "give an outline with an area"))?;
        let middle = LonLat::wrapped(extent.center().x, extent.center().y);
        let stepped = |bearing: f64| {
            let bearing = Bearing::new(bearing).unwrap_or(Bearing::NORTH);
            destination(middle, bearing, cell)
        };
        let whole =
            |degrees: f64| (degrees / STEP_OF_STEPS_DEG).floor().max(1.0) * STEP_OF_STEPS_DEG;
        let step_lon = whole(longitude_step(middle.lon(), stepped(90.0).lon()).abs());
        let step_lat = whole((stepped(0.0).lat() - middle.lat()).abs());
        let count = |length: f64, step: f64| (length / step).ceil().max(1.0);
        let (columns, rows) = (
            count(extent.width(), step_lon),
            count(extent.height(), step_lat),
        );
        if columns * rows > MOST_CELLS as f64 {
            return Err(Error::new(
                format!("would have {columns} x {rows} cells, more than a thousand million"),
                "choose larger cells with --cell, or map a part of it",
            ));
        }
        Ok(Self {
            west: extent.min().x,
            north: extent.max().y,
            step_lon,
            step_lat,
            columns: columns as usize,
            rows: rows as usize,
        })
    }

    /// The longitude and latitude of the north-west corner of a cell, longitudes counted on.
    #[must_use]
    pub fn corner(&self, column: usize, row: usize) -> Coord<f64> {
        coord! {
            x: self.west + column as f64 * self.step_lon,
            y: self.north - row as f64 * self.step_lat,
        }
    }

    fn place(&self, column: usize, row: usize) -> LonLat {
        let corner = self.corner(column, row);
        LonLat::wrapped(corner.x, corner.y)
    }

    /// A part as a rectangle of longitudes and latitudes.
    #[must_use]
    pub fn rectangle(&self, part: &Part) -> Rect<f64> {
        Rect::new(
            self.corner(part.column, part.row),
            self.corner(part.column + part.columns, part.row + part.rows),
        )
    }

    /// The grid cut into parts of at most `side` by `side` cells, row by row.
    pub fn parts(&self, side: usize) -> impl Iterator<Item = Part> + '_ {
        let side = side.max(1);
        (0..self.rows).step_by(side).flat_map(move |row| {
            (0..self.columns).step_by(side).map(move |column| Part {
                column,
                row,
                columns: side.min(self.columns - column),
                rows: side.min(self.rows - row),
            })
        })
    }

    /// A cell in a plane: triangles that make it up, within [`crate::plan::LAYOUT_ERROR_M`].
    #[must_use]
    pub fn triangles(&self, frame: &LocalFrame, column: usize, row: usize) -> Vec<Cell> {
        let [north_west, south_west, south_east, north_east] = [
            self.place(column, row),
            self.place(column, row + 1),
            self.place(column + 1, row + 1),
            self.place(column + 1, row),
        ];
        let ring = [north_west, south_west, south_east, north_east, north_west];
        if ring
            .windows(2)
            .all(|edge| parts_of_edge(edge[0], edge[1]) == 1)
        {
            let [nw, sw, se, ne] =
                [north_west, south_west, south_east, north_east].map(|place| frame.to_plane(place));
            return vec![Cell::new([nw, sw, se]), Cell::new([nw, se, ne])];
        }
        // A fan about the middle: the cell is all but a rectangle, and star-shaped about it.
        let middle = frame.to_plane(north_west.towards(south_east, 0.5));
        let around: Vec<_> = cut_short(&ring)
            .into_iter()
            .map(|place| frame.to_plane(place))
            .collect();
        around
            .windows(2)
            .map(|edge| Cell::new([middle, edge[0], edge[1]]))
            .collect()
    }
}

/// Polygons with their longitudes counted on from the first vertex, so that the antimeridian is not
/// in the way.
#[must_use]
pub fn counted_on(polygons: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let first = polygons
        .iter()
        .flat_map(|polygon| polygon.exterior().coords())
        .next()
        .copied()
        .unwrap_or_default();
    polygons.map_coords(|corner| Coord {
        x: first.x + longitude_step(first.x, corner.x),
        y: corner.y,
    })
}
