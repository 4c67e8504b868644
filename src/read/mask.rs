//! Where obstacles are wanted: one window, or the windows of many sites as cells of the globe.
//!
//! A feature that touches any of the windows touches the mask; cells are coarser than windows, so
//! some others do too. Not here: boxes in a file's own coordinates (see
//! [`crate::read::filter`]).

use std::borrow::Cow;

use super::Window;
use super::feature::Bounds;
use super::supports::MATCH_DISTANCE_M;
use crate::units::Metres;

/// Cells in a degree: one is 217 m from south to north, and as much or less from west to east. A
/// power of two, so that the edges of cells are exact numbers.
const CELLS_PER_DEGREE: i64 = 512;
/// Cells round the globe.
const COLUMNS: i64 = 360 * CELLS_PER_DEGREE;
/// Cells from pole to pole.
const ROWS: i64 = 180 * CELLS_PER_DEGREE;
/// Cells along each side of a tile: the bits of a word.
const TILE: i64 = 64;
/// Tiles round the globe.
const TILES_ROUND: usize = (COLUMNS / TILE) as usize;

/// Slack in degrees for floating-point noise: 0.1 mm on the ground.
const NOISE_DEG: f64 = 1e-9;

/// A set of places: one window as it is, or cells.
///
/// Holds 512 bytes for each tile of an eighth of a degree that any window touches (193 km² at the
/// equator), however many windows were added: 50 MB cover a continent.
#[derive(Clone, Debug, Default)]
pub struct Mask {
    window: Option<Window>,
    cells: Cells,
}

impl From<Window> for Mask {
    /// The window as it is, no coarser.
    fn from(window: Window) -> Self {
        Self {
            window: Some(window),
            cells: Cells::default(),
        }
    }
}

impl FromIterator<Window> for Mask {
    fn from_iter<T: IntoIterator<Item = Window>>(windows: T) -> Self {
        let mut mask = Self::default();
        for window in windows {
            mask.add(window);
        }
        mask
    }
}

impl Mask {
    /// Adds every cell within [`MATCH_DISTANCE_M`] of a window, so that a line that lends its height
    /// to a support in the window is read too.
    pub fn add(&mut self, window: Window) {
        for window in self.window.take().into_iter().chain([window]) {
            self.cells.add(window.grown(Metres::of(MATCH_DISTANCE_M)));
        }
    }

    /// Where lines are wanted for what is wanted here: with room for supports that are a vertex of
    /// theirs, unless the cells have it already.
    #[must_use]
    pub fn of_lines(&self) -> Cow<'_, Self> {
        match self.only_window() {
            Some(window) => Cow::Owned(window.grown(Metres::of(MATCH_DISTANCE_M)).into()),
            None => Cow::Borrowed(self),
        }
    }

    /// The only window, where nothing else was added.
    #[must_use]
    pub const fn only_window(&self) -> Option<Window> {
        self.window
    }

    /// Whether a box in degrees touches it, whatever turn its longitudes are on. True wherever a
    /// window of the mask says so (see [`Window::touches`]).
    #[must_use]
    pub fn touches(&self, bounds: &Bounds) -> bool {
        self.window.is_some_and(|window| window.touches(bounds)) || self.cells.touches(bounds)
    }
}

/// Cells in tiles of 64 x 64, each row of a tile a word; tiles are found through rows of numbers.
#[derive(Clone, Debug, Default)]
struct Cells {
    /// For each row of tiles from the south, the number of each tile from 180 degrees west, or 0
    /// for none; rows without tiles are empty.
    rows: Vec<Vec<u32>>,
    /// Tile number 1 first.
    tiles: Vec<[u64; TILE as usize]>,
}

/// Columns from the first to the last, counted from 180 degrees west.
type Columns = (i64, i64);

impl Cells {
    const fn is_empty(&self) -> bool {
        self.tiles.is_empty()
    }

    fn add(&mut self, window: Window) {
        let rows = rows_of(window.south - NOISE_DEG, window.north + NOISE_DEG);
        for (west, east) in window.longitudes() {
            let columns = columns_of(west - NOISE_DEG, east - west + 2.0 * NOISE_DEG);
            for columns in columns.into_iter().flatten() {
                self.fill(rows, columns);
            }
        }
    }

    fn fill(&mut self, (south, north): (i64, i64), columns: Columns) {
        if self.rows.is_empty() {
            self.rows = vec![Vec::new(); index(ROWS / TILE)];
        }
        for tile_row in south / TILE..=north / TILE {
            let Some(row) = self.rows.get_mut(index(tile_row)) else {
                continue;
            };
            if row.is_empty() {
                row.resize(TILES_ROUND, 0);
            }
            for tile_column in columns.0 / TILE..=columns.1 / TILE {
                let Some(number) = row.get_mut(index(tile_column)) else {
                    continue;
                };
                if *number == 0 {
                    self.tiles.push([0; TILE as usize]);
                    *number = u32::try_from(self.tiles.len()).unwrap_or(u32::MAX);
                }
                if let Some(tile) = tile_mut(&mut self.tiles, *number) {
                    let bits = bits_of(columns, tile_column);
                    for word in words(tile_row, (south, north)) {
                        if let Some(word) = tile.get_mut(word) {
                            *word |= bits;
                        }
                    }
                }
            }
        }
    }

    fn touches(&self, bounds: &Bounds) -> bool {
        if self.is_empty() {
            return false;
        }
        let width = bounds.east - bounds.west;
        let rows = rows_of(bounds.south, bounds.north);
        let columns = if width > 180.0 {
            [Some((0, COLUMNS - 1)), None]
        } else {
            columns_of(bounds.west, width)
        };
        columns
            .into_iter()
            .flatten()
            .any(|columns| self.any(rows, columns))
    }

    fn any(&self, (south, north): (i64, i64), columns: Columns) -> bool {
        (south / TILE..=north / TILE).any(|tile_row| {
            let row = self
                .rows
                .get(index(tile_row))
                .map_or(&[][..], Vec::as_slice);
            let numbers = row
                .get(index(columns.0 / TILE)..=index(columns.1 / TILE))
                .unwrap_or_default();
            (columns.0 / TILE..)
                .zip(numbers)
                .any(|(tile_column, number)| {
                    let Some(tile) = number
                        .checked_sub(1)
                        .and_then(|at| self.tiles.get(at as usize))
                    else {
                        return false;
                    };
                    let bits = bits_of(columns, tile_column);
                    tile.get(words(tile_row, (south, north)))
                        .is_some_and(|words| words.iter().any(|word| word & bits != 0))
                })
        })
    }
}

fn tile_mut(tiles: &mut [[u64; TILE as usize]], number: u32) -> Option<&mut [u64; TILE as usize]> {
    tiles.get_mut(number.checked_sub(1)? as usize)
}

/// Rows from the first to the last, counted from the south pole; beyond a pole is at it.
fn rows_of(south: f64, north: f64) -> (i64, i64) {
    let row = |lat: f64| cell(lat + 90.0).clamp(0, ROWS - 1);
    (row(south), row(north))
}

/// The columns of a range of longitudes, in two parts where it passes 180 degrees.
fn columns_of(west: f64, width: f64) -> [Option<Columns>; 2] {
    // Longitudes are turned by whole turns, which moves the cell of a place by whole turns only
    // where the sum is exact; so a range is one noise wider at both ends.
    let west = (west + 180.0).rem_euclid(360.0) - NOISE_DEG;
    let first = cell(west);
    let last = cell(west + width + 2.0 * NOISE_DEG);
    if last - first >= COLUMNS - 1 {
        return [Some((0, COLUMNS - 1)), None];
    }
    let (first, last) = if first < 0 {
        (first + COLUMNS, last + COLUMNS)
    } else {
        (first, last)
    };
    if last < COLUMNS {
        [Some((first, last)), None]
    } else {
        [Some((first, COLUMNS - 1)), Some((0, last - COLUMNS))]
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "degrees of the globe are few cells"
)]
fn cell(degrees: f64) -> i64 {
    (degrees * CELLS_PER_DEGREE as f64).floor() as i64
}

/// The bits of the columns within one tile.
fn bits_of(columns: Columns, tile_column: i64) -> u64 {
    let west = tile_column * TILE;
    let low = (columns.0 - west).max(0);
    let high = (columns.1 - west).min(TILE - 1);
    (u64::MAX << low) & (u64::MAX >> (TILE - 1 - high))
}

/// The words of the rows within one row of tiles.
fn words(tile_row: i64, (south, north): (i64, i64)) -> std::ops::RangeInclusive<usize> {
    let base = tile_row * TILE;
    index((south - base).max(0))..=index((north - base).min(TILE - 1))
}

/// A count that is never negative here, as an index.
fn index(count: i64) -> usize {
    usize::try_from(count).unwrap_or_default()
}
