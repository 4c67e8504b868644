//! The area of a polygon out of reach of convex sets, along its borders (Green's theorem).
//!
//! What is out of reach is bounded by those parts of the polygon's edges that no set reaches, and by
//! those parts of the rims of the reaches (arcs about corners, lines beside edges) that lie in the
//! polygon and within no other reach. Each edge and each part of a rim is cut where it crosses others,
//! and its pieces are judged by their middles. Arcs of one radius about a corner that sets share run
//! along one another: there that of the earlier set counts. The borders kept must close: if they do
//! not, nothing is found, and the caller has to do otherwise. Not here: which sets matter (see
//! [`crate::field::covered`]).

mod rim;
mod ways;

use smallvec::SmallVec;

use crate::field::convex::is_east_of;
use crate::field::shield::Piece;
use crate::frame::Xy;
use rim::{Part, Rim};
use ways::{Border, Cuts, Line, NEAR_M};

/// The borders kept close when their steps add up to no more than this, metres: where spans run on all
/// but straight, their rims cross at such an angle that so short a piece may be misjudged.
const OPEN_M: f64 = 1e-5;

/// Covers the rounding of an area of a few kilometres, square metres.
const SLACK_M2: f64 = 1e-7;

/// What is out of reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// Its area, square metres.
    pub area_m2: f64,
    /// By how much that may be off: what borders that close badly may have lost or won.
    pub slack_m2: f64,
    /// The length of its borders, metres.
    pub border_m: f64,
}

/// The area of a polygon out of reach of all pieces; none where its borders do not close. The polygon lies
/// on the left of each of its sides; pieces with a flat shape of three corners or more reach nothing.
#[must_use]
pub fn out_of_reach(sides: &[[Xy; 2]], pieces: &[&Piece]) -> Option<Left> {
    let rims: SmallVec<[Rim; 24]> = pieces
        .iter()
        .enumerate()
        .filter(|(number, piece)| {
            let is_flat = piece.shape.is_flat() && piece.shape.corners().len() > 2;
            let before = pieces.get(..*number).unwrap_or_default();
            !is_flat && !before.iter().any(|other| is_same(other, piece))
        })
        .map(|(number, piece)| Rim::of(number, piece))
        .collect();
    let all: Others = rims.iter().collect();
    let extent = Extent::of(sides)?;
    let mut sum = Sum::default();
    for [from, to] in sides {
        let line = Line {
            from: *from,
            to: *to,
        };
        sum.add_outside(&line, (0.0, 1.0), &all, None, 1.0);
    }
    for rim in &rims {
        let others: Others = (rims.iter())
            .filter(|other| !std::ptr::eq(*other, rim) && rim.may_meet(other))
            .collect();
        for part in rim.parts() {
            match part {
                Part::Line(line) if extent.may_touch_line(&line) => {
                    sum.subtract(&line, rim, &others, sides);
                }
                Part::Arc(arc) if extent.may_touch_circle(arc.centre, arc.radius) => {
                    sum.subtract(&arc, rim, &others, sides);
                }
                Part::Line(_) | Part::Arc(_) => {}
            }
        }
    }
    sum.closed(&extent)
}

/// Rims other than that of a border.
type Others<'a> = SmallVec<[&'a Rim<'a>; 32]>;

/// Whether two pieces reach the same.
fn is_same(one: &Piece, other: &Piece) -> bool {
    one.reach == other.reach
        && match (one.shape.corners(), other.shape.corners()) {
            ([a, b], [c, d]) => (a == c && b == d) || (a == d && b == c),
            (one, other) => one == other,
        }
}

/// The box of a polygon.
struct Extent {
    low: Xy,
    high: Xy,
}

impl Extent {
    fn of(sides: &[[Xy; 2]]) -> Option<Self> {
        let first = sides.first()?[0];
        let mut extent = Self {
            low: first,
            high: first,
        };
        for [corner, _] in sides {
            extent.low = Xy::new(extent.low.x.min(corner.x), extent.low.y.min(corner.y));
            extent.high = Xy::new(extent.high.x.max(corner.x), extent.high.y.max(corner.y));
        }
        Some(extent)
    }

    fn may_touch_line(&self, line: &Line) -> bool {
        line.from.x.min(line.to.x) <= self.high.x
            && line.from.x.max(line.to.x) >= self.low.x
            && line.from.y.min(line.to.y) <= self.high.y
            && line.from.y.max(line.to.y) >= self.low.y
    }

    fn may_touch_circle(&self, centre: Xy, radius: f64) -> bool {
        let (west, east) = (self.low.x - centre.x, self.high.x - centre.x);
        let (south, north) = (self.low.y - centre.y, self.high.y - centre.y);
        let farthest = Xy::new(west.abs().max(east.abs()), south.abs().max(north.abs()));
        let nearest = Xy::new(
            west.max(0.0) + east.min(0.0),
            south.max(0.0) + north.min(0.0),
        );
        let squared = |way: Xy| way.x * way.x + way.y * way.y;
        let (inner, outer) = ((radius - NEAR_M).max(0.0), radius + NEAR_M);
        squared(nearest) <= outer * outer && squared(farthest) >= inner * inner
    }
}

/// Borders on their way to an area.
#[derive(Default)]
struct Sum {
    area: f64,
    x: f64,
    y: f64,
    border_m: f64,
}

impl Sum {
    /// Takes off what lies in the polygon of a part of a rim, and in no other reach.
    fn subtract(&mut self, part: &impl Border, own: &Rim, others: &[&Rim], sides: &[[Xy; 2]]) {
        let mut cuts = Cuts::new();
        for [from, to] in sides {
            let side = Line {
                from: *from,
                to: *to,
            };
            part.cut_by_line(&side, &mut cuts);
        }
        each_piece((0.0, 1.0), &mut cuts, |first, last| {
            if is_inside(part.at((first + last) / 2.0), sides) {
                self.add_outside(part, (first, last), others, Some(own), -1.0);
            }
        });
    }

    /// Adds what no rim holds of a piece of a border, which is a part of its own rim if it has one.
    fn add_outside(
        &mut self,
        part: &impl Border,
        (first, last): (f64, f64),
        others: &[&Rim],
        own: Option<&Rim>,
        sign: f64,
    ) {
        let (middle, spread) = part.circle(first, last);
        let mut near: SmallVec<[&Rim; 16]> = SmallVec::new();
        for rim in others {
            match rim.holds_disc(middle, spread) {
                Some(true) => return,
                Some(false) => {}
                None if part.lies_in(rim, first, last) => return,
                None => near.push(rim),
            }
        }
        let mut cuts = Cuts::new();
        for rim in &near {
            part.cut_by_rim(rim, &mut cuts);
        }
        each_piece((first, last), &mut cuts, |first, last| {
            let middle = part.at((first + last) / 2.0);
            let is_held = |rim: &&Rim| {
                part.lies_within(middle, rim, own.is_some_and(|own| rim.number < own.number))
            };
            if !near.iter().any(is_held) {
                self.take(part, first, last, sign);
            }
        });
    }

    fn take(&mut self, part: &impl Border, first: f64, last: f64, sign: f64) {
        let (from, to) = (part.at(first), part.at(last));
        self.x += sign * (to.x - from.x);
        self.y += sign * (to.y - from.y);
        self.area += sign * part.swept(first, last);
        self.border_m += (last - first) * part.length();
    }

    fn closed(&self, extent: &Extent) -> Option<Left> {
        let farthest = |low: f64, high: f64| low.abs().max(high.abs());
        let (x, y) = (
            farthest(extent.low.x, extent.high.x),
            farthest(extent.low.y, extent.high.y),
        );
        let slack_m2 = SLACK_M2 + self.x.abs() * y + self.y.abs() * x;
        // Written so that NaN fails.
        let is_closed = self.x.abs() <= OPEN_M && self.y.abs() <= OPEN_M;
        (is_closed && self.area >= -slack_m2).then(|| Left {
            area_m2: self.area.max(0.0),
            slack_m2,
            border_m: self.border_m,
        })
    }
}

/// Shows the pieces between cuts.
fn each_piece((first, last): (f64, f64), cuts: &mut Cuts, mut show: impl FnMut(f64, f64)) {
    cuts.retain(|cut| *cut > first && *cut < last);
    cuts.sort_unstable_by(f64::total_cmp);
    let mut before = first;
    for cut in cuts.iter().copied().chain([last]) {
        if cut > before {
            show(before, cut);
        }
        before = cut;
    }
}

/// Whether a point lies in a polygon: a ray to the east crosses its sides an odd number of times.
fn is_inside(point: Xy, sides: &[[Xy; 2]]) -> bool {
    let crossed = sides
        .iter()
        .filter(|[from, to]| is_east_of(*from, *to, point));
    crossed.count() % 2 == 1
}
