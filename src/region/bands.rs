//! Bands of a raster as polygons: cells of one class that share edges, joined.
//!
//! Rows are taken one at a time from the north, and a polygon is handed out as soon as no cell of the
//! last row belongs to it: what is held grows with the edges of the open polygons alone. Cells that
//! touch at a corner are not joined; rings may touch at a corner and never cross, as the simple
//! features of OGC 06-103r4 have it.

use std::collections::BTreeMap;

/// A corner of the grid: column and row of the cell south-east of it.
pub type Corner = (u32, u32);

/// A band's polygon.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Polygon {
    /// The class of its cells.
    pub class: i32,
    /// How many cells it has.
    pub cells: u64,
    /// Rings without their first corner repeated: the outer one anticlockwise with north up, then
    /// holes, clockwise.
    pub rings: Vec<Vec<Corner>>,
}

/// Where an edge of a cell leads; with the polygon on its left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Heading {
    East,
    North,
    West,
    South,
}

impl Heading {
    const fn end(self, (column, row): Corner) -> Corner {
        match self {
            Self::East => (column + 1, row),
            Self::North => (column, row.saturating_sub(1)),
            Self::West => (column.saturating_sub(1), row),
            Self::South => (column, row + 1),
        }
    }

    const fn right(self) -> Self {
        match self {
            Self::East => Self::South,
            Self::North => Self::East,
            Self::West => Self::North,
            Self::South => Self::West,
        }
    }
}

/// A polygon that may still grow.
#[derive(Default)]
struct Open {
    class: i32,
    cells: u64,
    edges: Vec<(Corner, Heading)>,
}

/// Joins the cells of rows to polygons.
pub struct Tracer {
    row: u32,
    /// Of each cell of the last row, the number of its polygon in `open`.
    last: Vec<Option<usize>>,
    open: Vec<Open>,
}

impl Tracer {
    /// For rows of so many cells.
    #[must_use]
    pub fn new(columns: usize) -> Self {
        Self {
            row: 0,
            last: vec![None; columns],
            open: Vec::new(),
        }
    }

    /// Takes the next row, a class or none for each cell, and gives the polygons that ended above it.
    pub fn row(&mut self, classes: &[Option<i32>]) -> Vec<Polygon> {
        let row = self.row;
        let mut groups = Groups::of(self.open.len());
        let mut labels: Vec<Option<usize>> = Vec::with_capacity(self.last.len());
        for (column, above) in self.last.iter().enumerate() {
            let class = classes.get(column).copied().flatten();
            let west = labels.last().copied().flatten();
            let same = |label: &Option<usize>| {
                label.filter(|label| {
                    class.is_some() && self.open.get(*label).map(|open| open.class) == class
                })
            };
            let (joined_above, joined_west) = (same(above), same(&west));
            let label = class.map(|class| match (joined_above, joined_west) {
                (Some(above), Some(west)) => groups.join(above, west),
                (Some(only), None) | (None, Some(only)) => only,
                (None, None) => {
                    self.open.push(Open {
                        class,
                        ..Open::default()
                    });
                    groups.add()
                }
            });
            let at = (column as u32, row);
            let mut edge = |label: Option<usize>, from: Corner, heading| {
                if let Some(open) = label.and_then(|label| self.open.get_mut(label)) {
                    open.edges.push((from, heading));
                }
            };
            if joined_above.is_none() {
                edge(*above, at, Heading::East);
                edge(label, Heading::East.end(at), Heading::West);
            }
            if joined_west.is_none() {
                edge(west, Heading::South.end(at), Heading::North);
                edge(label, at, Heading::South);
            }
            if let Some(open) = label.and_then(|label| self.open.get_mut(label)) {
                open.cells += 1;
            }
            labels.push(label);
        }
        if let Some(open) = labels
            .last()
            .copied()
            .flatten()
            .and_then(|label| self.open.get_mut(label))
        {
            let east = (self.last.len() as u32, row + 1);
            open.edges.push((east, Heading::North));
        }
        self.row += 1;
        self.settle(&mut groups, labels)
    }

    /// The polygons that reach the last row.
    #[must_use]
    pub fn finish(mut self) -> Vec<Polygon> {
        let nothing = vec![None; self.last.len()];
        self.row(&nothing)
    }

    /// Joins what was found to be one, hands out what has no cell in the row and numbers the rest anew.
    fn settle(&mut self, groups: &mut Groups, labels: Vec<Option<usize>>) -> Vec<Polygon> {
        let mut joined: BTreeMap<usize, Open> = BTreeMap::new();
        for (label, open) in std::mem::take(&mut self.open).into_iter().enumerate() {
            let one = joined.entry(groups.first(label)).or_default();
            one.class = open.class;
            one.cells += open.cells;
            if one.edges.len() < open.edges.len() {
                let fewer = std::mem::replace(&mut one.edges, open.edges);
                one.edges.extend(fewer);
            } else {
                one.edges.extend(open.edges);
            }
        }
        let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
        let mut kept = Vec::new();
        self.last = labels
            .into_iter()
            .map(|label| {
                let first = groups.first(label?);
                if let Some(open) = joined.remove(&first) {
                    numbers.insert(first, kept.len());
                    kept.push(open);
                }
                numbers.get(&first).copied()
            })
            .collect();
        self.open = kept;
        joined.into_values().map(polygon).collect()
    }
}

/// Which labels are one polygon: the least of them stands for all.
struct Groups(Vec<usize>);

impl Groups {
    fn of(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn add(&mut self) -> usize {
        self.0.push(self.0.len());
        self.0.len() - 1
    }

    fn first(&mut self, label: usize) -> usize {
        let mut at = label;
        while let Some(&next) = self.0.get(at)
            && next != at
        {
            at = next;
        }
        if let Some(kept) = self.0.get_mut(label) {
            *kept = at;
        }
        at
    }

    fn join(&mut self, one: usize, other: usize) -> usize {
        let (one, other) = (self.first(one), self.first(other));
        let (least, greater) = (one.min(other), one.max(other));
        if let Some(kept) = self.0.get_mut(greater) {
            *kept = least;
        }
        least
    }
}

/// Follows the edges of a whole polygon round its rings.
fn polygon(open: Open) -> Polygon {
    let mut leaving: BTreeMap<Corner, Vec<Heading>> = BTreeMap::new();
    for (from, heading) in open.edges {
        leaving.entry(from).or_default().push(heading);
    }
    let mut rings: Vec<Vec<Corner>> = Vec::new();
    while let Some((&start, _)) = leaving.first_key_value() {
        rings.push(ring(&mut leaving, start));
    }
    // The outer ring is the only one that winds anticlockwise.
    rings.sort_by_key(|ring| twice_area(ring) < 0);
    Polygon {
        class: open.class,
        cells: open.cells,
        rings,
    }
}

/// Takes one ring out of the edges: where four meet it turns right, so that rings touch and do not
/// cross.
fn ring(leaving: &mut BTreeMap<Corner, Vec<Heading>>, start: Corner) -> Vec<Corner> {
    let mut corners = Vec::new();
    let mut at = start;
    let mut coming: Option<Heading> = None;
    while let Some(headings) = leaving.get_mut(&at) {
        let right = coming.map(Heading::right);
        let chosen = headings
            .iter()
            .position(|heading| Some(*heading) == right)
            .unwrap_or(0);
        let heading = headings.swap_remove(chosen);
        if headings.is_empty() {
            leaving.remove(&at);
        }
        if coming != Some(heading) {
            corners.push(at);
        }
        coming = Some(heading);
        at = heading.end(at);
        if at == start {
            break;
        }
    }
    corners
}

/// Twice the area that a ring winds anticlockwise, north up, in cells.
fn twice_area(ring: &[Corner]) -> i64 {
    let signed = |(column, row): &Corner| (i64::from(*column), -i64::from(*row));
    ring.iter()
        .zip(ring.iter().cycle().skip(1))
        .map(|(a, b)| {
            let ((ax, ay), (bx, by)) = (signed(a), signed(b));
            ax * by - bx * ay
        })
        .sum()
}
