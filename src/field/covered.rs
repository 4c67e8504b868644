//! How much of an area is within reach of convex sets, by closed forms.
//!
//! Where one set alone decides in a cell its share is exact: what lies within reach of a convex set is
//! the set itself, a strip along each edge and a sector about each corner. Where some meet, the borders
//! of what they leave are followed ([`crate::field::borders`]). Where they are many, or the borders do
//! not close, the cell is halved until it is small; there the best of them counts alone, which is
//! never too much. Not here: the uncovered part as polygons (see [`crate::plan::Plan::uncovered`]).

use smallvec::SmallVec;

use crate::field::Cell;
use crate::field::borders::{Left, out_of_reach};
use crate::field::convex::{Convex, Reaches, along};
use crate::field::shield::Piece;
use crate::frame::Xy;

/// A cell of less than this share of the area is not halved: what several sets leave open in it is
/// less than half of it.
const SMALLEST_SHARE: f64 = 1.0 / 16_384.0;

/// The borders of so many sets are followed at once.
const FOLLOWED: usize = 96;

/// How many cells may be looked at; those left over count by the best of their sets.
const MOST_CELLS: usize = 20_000;

/// Of so many sets that meet in a smallest cell the best is sought.
const SETS_COMPARED: usize = 4;

/// An area within reach, square metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Covered {
    /// Not more than the truth, but for rounding of its last digits.
    pub at_least_m2: f64,
    /// Not less than the truth, likewise.
    pub at_most_m2: f64,
    /// How many cells were looked at.
    pub cells: usize,
    /// What is out of reach, where its borders were followed all at once.
    pub left: Option<Left>,
}

/// The area within reach of those pieces that count: it lies on the left of each of its sides, and its
/// cells make it up.
#[must_use]
pub fn covered(
    sides: &[[Xy; 2]],
    cells: &[Cell],
    pieces: &[Piece],
    counts: impl Fn(&Piece) -> bool,
) -> Covered {
    let whole: f64 = cells.iter().map(Cell::area).sum();
    let some: SmallVec<[&Piece; 32]> = pieces.iter().filter(|piece| counts(piece)).collect();
    if some.is_empty() {
        return Covered::default();
    }
    if some.len() <= FOLLOWED
        && let Some(left) = out_of_reach(sides, &some)
    {
        return Covered::leaving(left, whole);
    }
    let mut sum = Summing {
        pieces,
        list: (0..pieces.len())
            .filter(|&number| pieces.get(number).is_some_and(&counts))
            .collect(),
        smallest: whole * SMALLEST_SHARE,
        found: Covered::default(),
    };
    let count = sum.list.len();
    for cell in cells {
        sum.add(cell, 0, count);
    }
    sum.found
}

impl Covered {
    /// Of an area of which the borders leave some.
    fn leaving(left: Left, whole: f64) -> Self {
        let within = whole - left.area_m2;
        Self {
            at_least_m2: (within - left.slack_m2).clamp(0.0, whole),
            at_most_m2: (within + left.slack_m2).clamp(0.0, whole),
            cells: 1,
            left: Some(left),
        }
    }
}

struct Summing<'a> {
    pieces: &'a [Piece],
    /// Numbers of pieces: those of the cell at hand behind those of the cells that it is part of.
    list: Vec<usize>,
    smallest: f64,
    found: Covered,
}

impl<'a> Summing<'a> {
    /// Adds a cell of which the pieces in a range of the list may reach some part.
    fn add(&mut self, cell: &Cell, first: usize, last: usize) {
        self.found.cells += 1;
        let (centre, radius) = (cell.centre(), cell.radius());
        let area = cell.area();
        let start = self.list.len();
        for position in first..last {
            let Some((number, piece)) = self.piece(position) else {
                continue;
            };
            match piece.shape.reaches(cell, centre, radius, piece.reach) {
                Reaches::All => {
                    self.both(area);
                    self.list.truncate(start);
                    return;
                }
                Reaches::Some => self.list.push(number),
                Reaches::Nothing => {}
            }
        }
        self.drop_repeated(cell, start);
        let end = self.list.len();
        match end - start {
            0 => {}
            1 => {
                let only = self.within(cell, start);
                self.both(only.min(area));
            }
            count if count <= FOLLOWED && self.follow(cell, start) => {}
            _ if area <= self.smallest || self.found.cells >= MOST_CELLS => {
                let best = (start..end.min(start + SETS_COMPARED))
                    .map(|position| self.within(cell, position))
                    .fold(0.0, f64::max);
                self.found.at_least_m2 += best.min(area);
                self.found.at_most_m2 += area;
            }
            _ => {
                for half in &cell.halves().0 {
                    self.add(half, start, end);
                }
            }
        }
        self.list.truncate(start);
    }

    /// Adds a cell by the borders of what its pieces leave; false where these do not close.
    fn follow(&mut self, cell: &Cell, start: usize) -> bool {
        let some: SmallVec<[&Piece; 32]> = (start..self.list.len())
            .filter_map(|position| Some(self.piece(position)?.1))
            .collect();
        let [a, b, c] = *cell.corners();
        let sides = match across(a, b, c) < 0.0 {
            true => [[a, c], [c, b], [b, a]],
            false => [[a, b], [b, c], [c, a]],
        };
        let area = cell.area();
        let Some(left) = out_of_reach(&sides, &some) else {
            return false;
        };
        let found = Covered::leaving(left, area);
        self.found.at_least_m2 += found.at_least_m2;
        self.found.at_most_m2 += found.at_most_m2;
        true
    }

    fn piece(&self, position: usize) -> Option<(usize, &'a Piece)> {
        let number = *self.list.get(position)?;
        Some((number, self.pieces.get(number)?))
    }

    fn both(&mut self, area: f64) {
        self.found.at_least_m2 += area;
        self.found.at_most_m2 += area;
    }

    fn within(&self, cell: &Cell, position: usize) -> f64 {
        self.piece(position)
            .map_or(0.0, |(_, piece)| within(cell, &piece.shape, piece.reach))
    }

    /// Takes out of the list behind `start` every piece that in this cell is no more than a disc about
    /// one of its corners which another piece has too: spans of a line share their supports.
    fn drop_repeated(&mut self, cell: &Cell, start: usize) {
        let mut position = start;
        while position < self.list.len() && self.list.len() - start > 1 {
            let is_repeated = self.piece(position).is_some_and(|(_, piece)| {
                piece.shape.nearest_corner(cell).is_some_and(|at| {
                    let corner = piece.shape.corners().get(at).copied().unwrap_or_default();
                    (start..self.list.len())
                        .filter(|other| *other != position)
                        .filter_map(|other| self.piece(other))
                        .any(|(_, other)| {
                            other.reach >= piece.reach && other.shape.corners().contains(&corner)
                        })
                })
            });
            if is_repeated {
                self.list.remove(position);
            } else {
                position += 1;
            }
        }
    }
}

/// A convex polygon on its way through cuts.
type Ring = SmallVec<[Xy; 16]>;

/// The area of a cell within reach of a convex set; 0 for three or more corners on one line.
#[must_use]
pub fn within(cell: &Cell, set: &Convex, reach: f64) -> f64 {
    let corners = set.corners();
    let ring: Ring = cell.corners().iter().copied().collect();
    match corners {
        [] => 0.0,
        [only] => disc(&ring, *only, reach),
        [from, to] => {
            let length = from.distance(*to);
            if length <= 0.0 {
                return disc(&ring, *from, reach);
            }
            let at = |point: Xy| along(*from, *to, point) / length;
            let beside = |point: Xy| across(*from, *to, point) / length;
            let strip = cut(&ring, at);
            let strip = cut(&strip, |point| length - at(point));
            let strip = cut(&strip, |point| reach - beside(point));
            let strip = cut(&strip, |point| reach + beside(point));
            area(&strip)
                + disc(&cut(&ring, |point| -at(point)), *from, reach)
                + disc(&cut(&ring, |point| at(point) - length), *to, reach)
        }
        _ if set.is_flat() => 0.0,
        _ => {
            let count = corners.len();
            let mut inside = ring.clone();
            let mut sum = 0.0;
            for number in 0..count {
                let [before, here, after] = [number + count - 1, number, number + 1]
                    .map(|number| corners.get(number % count).copied().unwrap_or_default());
                let length = here.distance(after);
                inside = cut(&inside, |point| across(here, after, point));
                if length <= 0.0 {
                    continue;
                }
                let at = |point: Xy| along(here, after, point) / length;
                let beside = |point: Xy| across(here, after, point) / length;
                let strip = cut(&ring, |point| -beside(point));
                if !strip.is_empty() {
                    let strip = cut(&strip, |point| reach + beside(point));
                    let strip = cut(&strip, at);
                    sum += area(&cut(&strip, |point| length - at(point)));
                }
                let sector = cut(&ring, |point| -along(here, after, point));
                if !sector.is_empty() {
                    let sector = cut(&sector, |point| -along(here, before, point));
                    sum += disc(&sector, here, reach);
                }
            }
            sum + area(&inside)
        }
    }
}

/// How far a point lies left of the direction from one point to another, times their distance.
fn across(from: Xy, to: Xy, point: Xy) -> f64 {
    (to.x - from.x) * (point.y - from.y) - (to.y - from.y) * (point.x - from.x)
}

/// The part of a convex polygon where a linear function is not below 0.
fn cut(ring: &Ring, value: impl Fn(Xy) -> f64) -> Ring {
    let mut kept = Ring::new();
    let Some(last) = ring.last() else {
        return kept;
    };
    let (mut before, mut at_before) = (*last, value(*last));
    for &here in ring {
        let at_here = value(here);
        if (at_before < 0.0) != (at_here < 0.0) {
            kept.push(before.towards(here, at_before / (at_before - at_here)));
        }
        if at_here >= 0.0 {
            kept.push(here);
        }
        (before, at_before) = (here, at_here);
    }
    kept
}

fn area(ring: &Ring) -> f64 {
    let Some(first) = ring.first() else {
        return 0.0;
    };
    let twice: f64 = ring
        .windows(2)
        .map(|pair| match pair {
            [from, to] => across(*first, *from, *to),
            _ => 0.0,
        })
        .sum();
    twice.abs() / 2.0
}

/// The area of a convex polygon within a radius of a point: for each edge the triangle and the sectors
/// that it spans with the point.
fn disc(ring: &Ring, centre: Xy, radius: f64) -> f64 {
    let Some(last) = ring.last() else {
        return 0.0;
    };
    let about = |point: &Xy| Xy::new(point.x - centre.x, point.y - centre.y);
    let mut from = about(last);
    let mut sum = 0.0;
    for to in ring.iter().map(about) {
        sum += beneath(from, to, radius);
        from = to;
    }
    sum.abs()
}

/// The signed area within a radius of the origin of the triangle that an edge spans with it.
fn beneath(from: Xy, to: Xy, radius: f64) -> f64 {
    let dot = |a: Xy, b: Xy| a.x * b.x + a.y * b.y;
    let cross = |a: Xy, b: Xy| a.x * b.y - a.y * b.x;
    let sector = |a: Xy, b: Xy| radius * radius / 2.0 * cross(a, b).atan2(dot(a, b));
    let squared = radius * radius;
    if dot(from, from) <= squared && dot(to, to) <= squared {
        return cross(from, to) / 2.0;
    }
    let step = Xy::new(to.x - from.x, to.y - from.y);
    let (length, half) = (dot(step, step), dot(from, step));
    let root = half * half - length * (dot(from, from) - squared);
    if length <= 0.0 || root <= 0.0 {
        return sector(from, to);
    }
    let (enters, leaves) = (
        (-half - root.sqrt()) / length,
        (-half + root.sqrt()) / length,
    );
    if enters >= 1.0 || leaves <= 0.0 {
        return sector(from, to);
    }
    let mut sum = 0.0;
    let (mut first, mut last) = (from, to);
    if enters > 0.0 {
        first = from.towards(to, enters);
        sum += sector(from, first);
    }
    if leaves < 1.0 {
        last = from.towards(to, leaves);
        sum += sector(last, to);
    }
    sum + cross(first, last) / 2.0
}
