//! The ground: one elevation, or a grid of elevations that is bilinear between its nodes.
//!
//! Elevations are metres AMSL. No-data is unknown and never 0: a point whose four nodes are not all
//! known, or that lies outside the outermost nodes, has no elevation. The bilinear surface over a
//! rectangle inside one grid cell has its extremes at the rectangle's corners, which makes the
//! bounds over small cells exact; larger cells are bounded by a pyramid of least and greatest nodes.

use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// Above this many grid cells a range is taken from the pyramid instead of cell by cell. Only the
/// speed depends on it: both are bounds.
const EXACT_GRID_CELLS: usize = 36;

/// The finest tiles of the pyramid hold 2ⁿ × 2ⁿ nodes for this n, so that the pyramid takes a
/// quarter of the memory of the nodes and not four times as much.
const FINEST_TILE: usize = 2;

/// How many squares about the origin have a placement of their own: one for the whole grid leaves
/// metres open about a site close to a pole.
const PLACEMENTS: i32 = 3;

/// How many times each is as wide as the next.
const PLACEMENT_STEP: f64 = 3.0;

/// The ground with its accuracy.
#[derive(Clone, Debug)]
pub struct Ground {
    surface: Surface,
    accuracy: f64,
}

#[derive(Clone, Debug)]
enum Surface {
    Unknown,
    Level(f64),
    Grid(Box<Grid>),
}

/// Bounds on the ground over a cell, metres, before its accuracy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundRange {
    /// No known ground in the cell is lower.
    pub low: f64,
    /// No known ground in the cell is higher.
    pub high: f64,
    /// Whether the ground may be unknown at some point of the cell.
    pub has_unknown: bool,
}

impl GroundRange {
    /// Level ground at an elevation.
    #[must_use]
    pub const fn level(elevation: f64) -> Self {
        Self {
            low: elevation,
            high: elevation,
            has_unknown: false,
        }
    }
}

impl Ground {
    /// Level ground at an elevation, known within `accuracy` metres.
    #[must_use]
    pub const fn level(elevation: f64, accuracy: f64) -> Self {
        Self {
            surface: Surface::Level(elevation),
            accuracy,
        }
    }

    /// Ground of which nothing is known: terrain was given and does not reach here.
    #[must_use]
    pub const fn unknown() -> Self {
        Self {
            surface: Surface::Unknown,
            accuracy: 0.0,
        }
    }

    /// Ground from a grid, known within `accuracy` metres.
    #[must_use]
    pub fn grid(grid: Grid, accuracy: f64) -> Self {
        Self {
            surface: Surface::Grid(Box::new(grid)),
            accuracy,
        }
    }

    /// The elevation of level ground, without its accuracy; none for any other ground.
    #[must_use]
    pub const fn level_elevation(&self) -> Option<f64> {
        match &self.surface {
            Surface::Level(elevation) => Some(*elevation),
            Surface::Unknown | Surface::Grid(_) => None,
        }
    }

    /// The highest that level ground can be, accuracy included; none for any other ground.
    #[must_use]
    pub fn highest_if_level(&self) -> Option<f64> {
        match &self.surface {
            Surface::Level(elevation) => Some(elevation + self.accuracy),
            Surface::Unknown | Surface::Grid(_) => None,
        }
    }

    /// How far the true ground may be from the stated one, metres.
    #[must_use]
    pub const fn accuracy(&self) -> f64 {
        self.accuracy
    }

    /// Bounds over a cell, without the accuracy; none when the ground is unknown all over it.
    #[must_use]
    pub fn over(&self, cell: &Cell) -> Option<GroundRange> {
        match &self.surface {
            Surface::Unknown => None,
            Surface::Level(elevation) => Some(GroundRange::level(*elevation)),
            Surface::Grid(grid) => grid.over(cell),
        }
    }

    /// The highest that the ground can be at a point, accuracy included.
    #[must_use]
    pub fn highest_at(&self, point: Xy) -> Option<f64> {
        self.known_at(point).map(|range| range.high + self.accuracy)
    }

    /// The lowest that the ground can be at a point, accuracy included.
    #[must_use]
    pub fn lowest_at(&self, point: Xy) -> Option<f64> {
        self.known_at(point).map(|range| range.low - self.accuracy)
    }

    /// The ground at a point without its accuracy; `low` and `high` differ by no more than the
    /// grid's own placement error makes of its slope.
    #[must_use]
    pub fn known_at(&self, point: Xy) -> Option<GroundRange> {
        self.over(&Cell::new([point; 3]))
            .filter(|range| !range.has_unknown)
    }
}

/// The ground itself, without its accuracy, as a field: its lowest point is that of the field, and
/// upside down (negated) its highest.
#[derive(Clone, Debug)]
pub struct Elevation<'a> {
    /// The ground.
    pub ground: &'a Ground,
    /// Whether elevations are negated.
    pub upside_down: bool,
}

impl Field for Elevation<'_> {
    fn at(&self, point: Xy) -> f64 {
        match self.ground.known_at(point) {
            None => f64::NEG_INFINITY,
            Some(range) if self.upside_down => -range.high,
            Some(range) => range.low,
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let Some(range) = self.ground.over(cell) else {
            return Enclosure::UNDETERMINED;
        };
        let bounds = if self.upside_down {
            Enclosure::between(-range.high, -range.low)
        } else {
            Enclosure::between(range.low, range.high)
        };
        if range.has_unknown {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }

    fn governor(&self, _point: Xy) -> Governor {
        Governor {
            leaf: 0,
            member: None,
        }
    }
}

/// Nodes of elevation on a regular grid, and where the plane lies on them.
#[derive(Clone, Debug)]
pub struct Grid {
    levels: Vec<Level>,
    nodes: Vec<f32>,
    columns: usize,
    rows: usize,
    /// The narrowest first.
    placements: Vec<Placement>,
}

impl Grid {
    /// A grid of `columns` × `rows` nodes, row by row, not finite where unknown; node (c, r) lies
    /// at grid coordinates (c, r). `place` gives the grid coordinates of a point of the plane, none
    /// where it has none; it is asked at x and y from −`radius` to `radius` metres only and must be
    /// smooth there. Beyond, the ground is unknown.
    ///
    /// None when there are no nodes, when their number does not fit, or when `place` fails.
    #[must_use]
    pub fn new(
        columns: usize,
        rows: usize,
        nodes: Vec<f32>,
        radius: f64,
        place: impl Fn(Xy) -> Option<(f64, f64)>,
    ) -> Option<Self> {
        if columns < 2 || rows < 2 || columns.checked_mul(rows) != Some(nodes.len()) {
            return None;
        }
        let placements = (0..PLACEMENTS)
            .rev()
            .map(|k| Placement::fit(radius.max(1.0) / PLACEMENT_STEP.powi(k), &place))
            .collect::<Option<Vec<_>>>()?;
        let mut levels = vec![Level::of_nodes(columns, rows, &nodes)];
        while let Some(coarser) = levels.last().and_then(Level::coarser) {
            levels.push(coarser);
        }
        Some(Self {
            levels,
            nodes,
            columns,
            rows,
            placements,
        })
    }

    fn over(&self, cell: &Cell) -> Option<GroundRange> {
        let placement = self
            .placements
            .iter()
            .find(|placement| placement.holds(cell));
        // Part of the cell may lie where the grid was never asked for.
        let is_beyond = placement.is_none();
        let (west, north, east, south) = placement.or(self.placements.last())?.box_of(cell);
        let (last_column, last_row) = ((self.columns - 1) as f64, (self.rows - 1) as f64);
        let leaves = west < 0.0 || north < 0.0 || east > last_column || south > last_row;
        let (west, east) = (west.max(0.0), east.min(last_column));
        let (north, south) = (north.max(0.0), south.min(last_row));
        // Written so that a NaN anywhere ends here too.
        if !(west <= east && north <= south) {
            return None;
        }
        let (c0, c1) = (cell_of(west, self.columns), cell_of(east, self.columns));
        let (r0, r1) = (cell_of(north, self.rows), cell_of(south, self.rows));
        let mut range = if (c1 - c0 + 1) * (r1 - r0 + 1) <= EXACT_GRID_CELLS {
            let mut all = Tile::NOTHING;
            for row in r0..=r1 {
                for column in c0..=c1 {
                    all = all.with(self.patch(column, row, (west, north, east, south)));
                }
            }
            all
        } else {
            self.pyramid((c0, r0, c1 + 1, r1 + 1))
        };
        range.has_unknown |= leaves || is_beyond;
        (range.low <= range.high).then(|| GroundRange {
            low: f64::from(range.low),
            high: f64::from(range.high),
            has_unknown: range.has_unknown,
        })
    }

    /// The range of the bilinear patch of one grid cell over the part of it in a box.
    fn patch(&self, column: usize, row: usize, (west, north, east, south): Box4) -> Tile {
        let node = |c: usize, r: usize| f64::from(self.nodes[r * self.columns + c]);
        let (nw, ne) = (node(column, row), node(column + 1, row));
        let (sw, se) = (node(column, row + 1), node(column + 1, row + 1));
        if !(nw + ne + sw + se).is_finite() {
            return Tile::UNKNOWN;
        }
        let across = |c: f64| (c - column as f64).clamp(0.0, 1.0);
        let down = |r: f64| (r - row as f64).clamp(0.0, 1.0);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for u in [across(west), across(east)] {
            for v in [down(north), down(south)] {
                let value = (1.0 - v) * ((1.0 - u) * nw + u * ne) + v * ((1.0 - u) * sw + u * se);
                low = low.min(value);
                high = high.max(value);
            }
        }
        Tile {
            low: round_down(low),
            high: round_up(high),
            has_unknown: false,
        }
    }

    /// The range of all nodes of a block (both ends included), from the finest pyramid level that
    /// covers it with at most five tiles a side.
    fn pyramid(&self, (c0, r0, c1, r1): (usize, usize, usize, usize)) -> Tile {
        let mut shift = FINEST_TILE;
        while (c1 >> shift) - (c0 >> shift) > 4 || (r1 >> shift) - (r0 >> shift) > 4 {
            shift += 1;
        }
        let shift = shift.min(FINEST_TILE + self.levels.len() - 1);
        let level = &self.levels[shift - FINEST_TILE];
        let mut all = Tile::NOTHING;
        for row in (r0 >> shift)..=(r1 >> shift) {
            for column in (c0 >> shift)..=(c1 >> shift) {
                all = all.with(level.tiles[row * level.columns + column]);
            }
        }
        all
    }
}

type Box4 = (f64, f64, f64, f64);

/// The grid cell that holds a coordinate; the last cell for the last node.
fn cell_of(coordinate: f64, nodes: usize) -> usize {
    (coordinate.floor() as usize).min(nodes - 2)
}

/// The next single-precision number not above `value`.
fn round_down(value: f64) -> f32 {
    let near = value as f32;
    if f64::from(near) > value {
        near.next_down()
    } else {
        near
    }
}

/// The next single-precision number not below `value`.
fn round_up(value: f64) -> f32 {
    -round_down(-value)
}

/// Least and greatest of some nodes.
#[derive(Clone, Copy, Debug)]
struct Tile {
    low: f32,
    high: f32,
    has_unknown: bool,
}

impl Tile {
    const NOTHING: Self = Self {
        low: f32::INFINITY,
        high: f32::NEG_INFINITY,
        has_unknown: false,
    };
    const UNKNOWN: Self = Self {
        has_unknown: true,
        ..Self::NOTHING
    };

    fn with(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
            has_unknown: self.has_unknown | other.has_unknown,
        }
    }
}

/// One level of the pyramid: tiles of 2ⁿ × 2ⁿ nodes, n from [`FINEST_TILE`] up.
#[derive(Clone, Debug)]
struct Level {
    columns: usize,
    rows: usize,
    tiles: Vec<Tile>,
}

impl Level {
    fn of_nodes(columns: usize, rows: usize, nodes: &[f32]) -> Self {
        let (across, down) = (
            ((columns - 1) >> FINEST_TILE) + 1,
            ((rows - 1) >> FINEST_TILE) + 1,
        );
        let mut tiles = vec![Tile::NOTHING; across * down];
        for (row, nodes) in nodes.chunks_exact(columns).enumerate() {
            for (column, &node) in nodes.iter().enumerate() {
                let tile = &mut tiles[(row >> FINEST_TILE) * across + (column >> FINEST_TILE)];
                *tile = tile.with(if node.is_finite() {
                    Tile {
                        low: node,
                        high: node,
                        has_unknown: false,
                    }
                } else {
                    Tile::UNKNOWN
                });
            }
        }
        Self {
            columns: across,
            rows: down,
            tiles,
        }
    }

    fn coarser(&self) -> Option<Self> {
        if self.columns == 1 && self.rows == 1 {
            return None;
        }
        let (columns, rows) = (self.columns.div_ceil(2), self.rows.div_ceil(2));
        let mut tiles = vec![Tile::NOTHING; columns * rows];
        for row in 0..self.rows {
            for column in 0..self.columns {
                let tile = &mut tiles[(row / 2) * columns + column / 2];
                *tile = tile.with(self.tiles[row * self.columns + column]);
            }
        }
        Some(Self {
            columns,
            rows,
            tiles,
        })
    }
}

/// Grid coordinates as quadratic functions of a square of the plane, with a bound on what that
/// leaves out.
///
/// The map from the plane through longitude and latitude (and a projection) to the grid is smooth;
/// what quadratics leave out grows with the cube of the square's size. It is measured on a 17 × 17
/// net of the square, corners included, and doubled.
#[derive(Clone, Copy, Debug)]
struct Placement {
    /// Half the side of the square, metres.
    radius: f64,
    column: Quadratic,
    row: Quadratic,
    /// How far a point may lie from where the quadratics put it, grid cells.
    error: f64,
}

#[derive(Clone, Copy, Debug)]
struct Quadratic {
    constant: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Quadratic {
    /// From values on the net of −h, 0, h: `values[3 * j + i]` at x = (i − 1) h, y = (j − 1) h.
    fn through(values: &[f64; 9], h: f64) -> Self {
        let [sw, s, se, w, o, e, nw, n, ne] = *values;
        Self {
            constant: o,
            x: (e - w) / (2.0 * h),
            y: (n - s) / (2.0 * h),
            xx: (e - 2.0 * o + w) / (2.0 * h * h),
            yy: (n - 2.0 * o + s) / (2.0 * h * h),
            xy: (ne - nw - se + sw) / (4.0 * h * h),
        }
    }

    fn at(&self, point: Xy) -> f64 {
        self.constant
            + point.x * (self.x + self.xx * point.x + self.xy * point.y)
            + point.y * (self.y + self.yy * point.y)
    }

    /// Bounds over a cell: the linear part at its corners, the quadratic part by interval arithmetic
    /// over its box. Both only shrink when the cell does.
    fn range(&self, cell: &Cell) -> (f64, f64) {
        let [a, b, c] = cell
            .corners()
            .map(|corner| self.constant + self.x * corner.x + self.y * corner.y);
        let (west, south, east, north) = cell.extent();
        let (x, y) = ((west, east), (south, north));
        let parts = [
            scaled(self.xx, square(x)),
            scaled(self.xy, product(x, y)),
            scaled(self.yy, square(y)),
        ];
        let (low, high) = parts.iter().fold((0.0, 0.0), |sum: Range, part| {
            (sum.0 + part.0, sum.1 + part.1)
        });
        (a.min(b).min(c) + low, a.max(b).max(c) + high)
    }
}

/// Least and greatest of something.
type Range = (f64, f64);

fn product(x: Range, y: Range) -> Range {
    let corners = [x.0 * y.0, x.0 * y.1, x.1 * y.0, x.1 * y.1];
    corners
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |range, value| {
            (range.0.min(*value), range.1.max(*value))
        })
}

fn square(x: Range) -> Range {
    let (low, high) = (x.0 * x.0, x.1 * x.1);
    if x.0 <= 0.0 && x.1 >= 0.0 {
        (0.0, low.max(high))
    } else {
        (low.min(high), low.max(high))
    }
}

fn scaled(factor: f64, range: Range) -> Range {
    if factor < 0.0 {
        (factor * range.1, factor * range.0)
    } else {
        (factor * range.0, factor * range.1)
    }
}

impl Placement {
    fn fit(radius: f64, place: impl Fn(Xy) -> Option<(f64, f64)>) -> Option<Self> {
        let h = 0.75 * radius;
        let (mut columns, mut rows) = ([0.0; 9], [0.0; 9]);
        for j in 0..3 {
            for i in 0..3 {
                let at = Xy::new((i as f64 - 1.0) * h, (j as f64 - 1.0) * h);
                (columns[3 * j + i], rows[3 * j + i]) = place(at)?;
            }
        }
        let (column, row) = (
            Quadratic::through(&columns, h),
            Quadratic::through(&rows, h),
        );
        let mut error = 0f64;
        for j in 0..17 {
            for i in 0..17 {
                let at = Xy::new(
                    (i as f64 / 8.0 - 1.0) * radius,
                    (j as f64 / 8.0 - 1.0) * radius,
                );
                let (c, r) = place(at)?;
                error = error
                    .max((c - column.at(at)).abs())
                    .max((r - row.at(at)).abs());
            }
        }
        error.is_finite().then_some(Self {
            radius,
            column,
            row,
            error: 2.0 * error + 1e-9,
        })
    }

    /// Whether all of a cell lies in the square.
    fn holds(&self, cell: &Cell) -> bool {
        cell.corners()
            .iter()
            .all(|corner| corner.x.abs() <= self.radius && corner.y.abs() <= self.radius)
    }

    /// The box of grid coordinates that contains a cell: west, north, east, south.
    fn box_of(&self, cell: &Cell) -> Box4 {
        let (west, east) = self.column.range(cell);
        let (north, south) = self.row.range(cell);
        (
            west - self.error,
            north - self.error,
            east + self.error,
            south + self.error,
        )
    }
}
