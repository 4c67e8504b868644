//! One best-first search over cells: what is the minimum of a field over an area, where, and how
//! surely.
//!
//! The answer is a [`Certificate`]. Its lower end is what is reported: the true minimum is never
//! below it. The search keeps a queue of cells ordered by the lower end of their enclosures and
//! splits the least until the best value found at a point is within the tolerance, the cell in
//! doubt is smaller than the resolution, or the budget is spent. Ties go to the smaller cell, then
//! to the older, so that equal input gives equal output on every run.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::field::{Cell, Field};
use crate::frame::Xy;

/// Cells smaller than this are not split: 1 mm, the accuracy that distances are stated to.
pub const RESOLUTION_M: f64 = 0.001;

/// How many cells a search may look at before it stops with what it has.
pub const CELL_BUDGET: usize = 400_000;

/// How far to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Stop when the bounds are this close, metres.
    pub tolerance: f64,
    /// Do not split cells of a smaller diameter, metres.
    pub resolution: f64,
    /// Look at no more cells than this.
    pub cells: usize,
}

impl Limits {
    /// The usual limits at a tolerance in metres.
    #[must_use]
    pub const fn within(tolerance: f64) -> Self {
        Self {
            tolerance,
            resolution: RESOLUTION_M,
            cells: CELL_BUDGET,
        }
    }
}

/// Which points of the area are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// All of them: one undetermined point makes the minimum `−∞`.
    Everywhere,
    /// Those where the field is determined.
    WhereDetermined,
}

/// Why a search stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The bounds are within the tolerance.
    Tolerance,
    /// The cell in doubt is smaller than the resolution.
    Resolution,
    /// The budget of cells is spent.
    Budget,
}

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Certificate {
    /// The minimum is not below this. Report this.
    pub lower: f64,
    /// The value at `place`: the minimum is not above this.
    pub attained: f64,
    /// Where the least value was found.
    pub place: Xy,
    /// The cell that could not be decided, when the search stopped short of the tolerance.
    pub in_doubt: Option<Cell>,
    /// Why it stopped.
    pub stop: Stop,
    /// How many cells were looked at.
    pub cells: usize,
}

struct Entry {
    low: f64,
    diameter: f64,
    age: usize,
    cell: Cell,
}

impl Ord for Entry {
    /// Greatest = next to be taken: least low end, then smallest, then oldest.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .low
            .total_cmp(&self.low)
            .then(other.diameter.total_cmp(&self.diameter))
            .then(other.age.cmp(&self.age))
    }
}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Entry {}

struct Search<'a> {
    field: &'a dyn Field,
    scope: Scope,
    queue: BinaryHeap<Entry>,
    best: Option<(f64, Xy)>,
    cells: usize,
}

impl Search<'_> {
    fn look_at(&mut self, cell: Cell, fresh_points: &[Xy]) {
        self.cells += 1;
        for &point in fresh_points {
            self.sample(point);
        }
        if self.is_lowest_possible() {
            return;
        }
        let bounds = self.field.over(&cell);
        let low = match self.scope {
            Scope::Everywhere => bounds.low,
            Scope::WhereDetermined => bounds.determined_low,
        };
        if self.scope == Scope::WhereDetermined && low == f64::INFINITY {
            return;
        }
        self.queue.push(Entry {
            low,
            diameter: cell.diameter(),
            age: self.cells,
            cell,
        });
    }

    /// Whether a point was met that no other can be below: an undetermined one, where they count.
    fn is_lowest_possible(&self) -> bool {
        self.best
            .is_some_and(|(value, _)| value == f64::NEG_INFINITY)
    }

    /// The best value as it stands, which nothing is below.
    fn settled(&self) -> Option<Certificate> {
        self.best.map(|(value, place)| Certificate {
            lower: value,
            attained: value,
            place,
            in_doubt: None,
            stop: Stop::Tolerance,
            cells: self.cells,
        })
    }

    fn sample(&mut self, point: Xy) {
        let value = self.field.at(point);
        if self.scope == Scope::WhereDetermined && value == f64::NEG_INFINITY {
            return;
        }
        if self.best.is_none_or(|(best, _)| value < best) {
            self.best = Some((value, point));
        }
    }
}

/// The least value of a field over the union of some cells, with its certificate.
///
/// None when there is no cell, or, where only determined points are asked, when no cell has any.
/// With [`Scope::WhereDetermined`] the attained value is `+∞` if no determined point was met.
#[must_use]
pub fn lowest(
    field: &dyn Field,
    area: &[Cell],
    scope: Scope,
    limits: Limits,
) -> Option<Certificate> {
    let mut search = Search {
        field,
        scope,
        queue: BinaryHeap::new(),
        best: None,
        cells: 0,
    };
    for cell in area {
        let [a, b, c] = *cell.corners();
        // Of points of one value the first met is named: one well inside the area rather than a corner.
        search.look_at(*cell, &[cell.centre(), a, b, c]);
        if search.is_lowest_possible() {
            return search.settled();
        }
    }
    loop {
        if search.is_lowest_possible() {
            return search.settled();
        }
        let Some(entry) = search.queue.pop() else {
            // No cell is left that may hold a determined point; one was met on the seam of two.
            return search.settled();
        };
        let (attained, place) = search.best.unwrap_or((f64::INFINITY, entry.cell.centre()));
        let certificate = |stop, in_doubt| {
            Some(Certificate {
                // A bound above an attained value is the same number up to rounding.
                lower: entry.low.min(attained),
                attained,
                place,
                in_doubt,
                stop,
                cells: search.cells,
            })
        };
        if entry.low >= attained || attained - entry.low <= limits.tolerance {
            return certificate(Stop::Tolerance, None);
        }
        if entry.diameter <= limits.resolution {
            return certificate(Stop::Resolution, Some(entry.cell));
        }
        if search.cells >= limits.cells {
            return certificate(Stop::Budget, Some(entry.cell));
        }
        let (halves, middle) = entry.cell.halves();
        search.sample(middle);
        for half in halves {
            search.look_at(half, &[half.centre()]);
        }
    }
}

/// A share of the area in which a field is certainly at or above a level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Certified: no more than the true share, 0 to 1.
    pub at_least: f64,
    /// No less than the true share, 0 to 1.
    pub at_most: f64,
}

/// An area parted into cells by a level.
struct Parting {
    total: f64,
    /// The size of the cells in which the field is certainly at or above the level.
    above: f64,
    /// Those in which it is certainly below.
    below: Vec<Cell>,
    /// Those that could not be decided.
    doubtful: Vec<Cell>,
}

fn parting(field: &dyn Field, area: &[Cell], level: f64, tolerance: f64, budget: usize) -> Parting {
    let total: f64 = area.iter().map(Cell::area).sum();
    let mut above = 0.0;
    let mut below = Vec::new();
    // The queue takes the least `low`: minus the area.
    let mut queue: BinaryHeap<Entry> = BinaryHeap::new();
    let mut cells = 0;
    let mut doubtful = 0.0;
    let mut look_at = |cell: Cell, queue: &mut BinaryHeap<Entry>, doubtful: &mut f64| {
        cells += 1;
        let bounds = field.over(&cell);
        let size = cell.area();
        if bounds.low >= level {
            above += size;
        } else if bounds.high < level {
            below.push(cell);
        } else {
            *doubtful += size;
            queue.push(Entry {
                low: -size,
                diameter: cell.diameter(),
                age: cells,
                cell,
            });
        }
        cells
    };
    let mut seen = 0;
    for cell in area {
        seen = look_at(*cell, &mut queue, &mut doubtful);
    }
    while doubtful > tolerance * total && seen < budget {
        let Some(entry) = queue.pop() else { break };
        doubtful += entry.low;
        for half in entry.cell.halves().0 {
            seen = look_at(half, &mut queue, &mut doubtful);
        }
    }
    Parting {
        total,
        above,
        below,
        doubtful: queue.into_iter().map(|entry| entry.cell).collect(),
    }
}

/// The share of an area in which a field is at or above a level, to `tolerance` (a share) or as
/// near as the budget allows. Cells are split largest first.
#[must_use]
pub fn share_at_or_above(
    field: &dyn Field,
    area: &[Cell],
    level: f64,
    tolerance: f64,
    budget: usize,
) -> Share {
    let found = parting(field, area, level, tolerance, budget);
    if found.total <= 0.0 {
        return Share {
            at_least: 0.0,
            at_most: 1.0,
        };
    }
    let below: f64 = found.below.iter().map(Cell::area).sum();
    Share {
        at_least: (found.above / found.total).clamp(0.0, 1.0),
        at_most: (1.0 - below / found.total).clamp(0.0, 1.0),
    }
}

/// Cells that together hold every point of an area at which a field may be below a level: those
/// certainly below, then those undecided, of which `tolerance` (a share of the area) or what the
/// budget leaves is too much.
#[must_use]
pub fn cells_below(
    field: &dyn Field,
    area: &[Cell],
    level: f64,
    tolerance: f64,
    budget: usize,
) -> Vec<Cell> {
    let mut found = parting(field, area, level, tolerance, budget);
    found.below.append(&mut found.doubtful);
    found.below
}
