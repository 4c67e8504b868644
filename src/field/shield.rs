//! The shield field: the highest level among the shields within reach of a point.
//!
//! Level: the trusted top of a shield less the margin of the rule, in the reference of the
//! expression. The edge of the reach belongs to it ("within 100 m" includes 100 m). Out of every
//! reach the field is undetermined (`−∞`). Its minimum over an area is the *bottleneck cover*: the
//! greatest level h such that shields of level h or more cover the area.

use std::cmp::Reverse;

use smallvec::SmallVec;

use crate::field::convex::{Convex, Reaches};
use crate::field::ground::Ground;
use crate::field::tiles::{Extent, Tiles};
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// One convex piece of a shield.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its plan shape.
    pub shape: Convex,
    /// How far it reaches, metres, its edge included.
    pub reach: f64,
    /// What it allows, metres AMSL.
    pub level: f64,
    /// Which obstacle it is a piece of.
    pub member: usize,
}

/// The shields of one rule.
#[derive(Clone, Debug)]
pub struct Shields {
    leaf: usize,
    /// Highest level first; equal levels in the order given.
    pieces: Vec<Piece>,
    /// The box of each reach.
    boxes: Tiles,
    /// Of a point or a segment, whether each end is also an end of an earlier piece that reaches as far:
    /// spans of a line share their supports.
    repeated: Vec<[bool; 2]>,
}

/// Widens the boxes of reaches beyond the rounding of their corners, metres; the reaches
/// themselves are not widened.
const BOX_SLACK_M: f64 = 1e-6;

impl Shields {
    /// The shield field of leaf number `leaf` of an expression.
    ///
    /// Pieces whose level or reach is not finite, or whose reach is negative, are dropped: when
    /// unsure, a shield is dropped.
    #[must_use]
    pub fn new(leaf: usize, pieces: Vec<Piece>) -> Self {
        let mut pieces = pieces;
        pieces.retain(|piece| piece.level.is_finite() && (0.0..=f64::MAX).contains(&piece.reach));
        let is_higher = |one: &Piece, other: &Piece| one.level.total_cmp(&other.level).is_ge();
        if !pieces.is_sorted_by(is_higher) {
            // Pieces are large: their numbers are sorted, and each is moved once.
            pieces.sort_by_cached_key(|piece| Reverse(in_order(piece.level)));
        }
        Self {
            leaf,
            boxes: Tiles::of(pieces.iter().map(reach_box).collect()),
            repeated: repeated(&pieces),
            pieces,
        }
    }

    /// Its pieces, highest level first.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The piece that sets the level at a point.
    #[must_use]
    pub fn best_at(&self, point: Xy) -> Option<&Piece> {
        let mut best = None;
        self.among([point.x, point.y, point.x, point.y], |_, piece| {
            let serves = piece.shape.is_within(point, piece.reach);
            if serves {
                best = Some(piece);
            }
            serves
        });
        best
    }

    /// Shows the pieces that may reach into a box, highest level first, until one is enough.
    #[inline]
    fn among<'a>(&'a self, place: Extent, mut is_enough: impl FnMut(usize, &'a Piece) -> bool) {
        self.boxes.touching(place, |number| {
            (self.pieces.get(number)).is_some_and(|piece| is_enough(number, piece))
        });
    }

    /// Whether a piece reaches no point of a cell that an earlier one does not reach too, as all of the
    /// cell is nearest to an end that both have.
    fn is_doubled(&self, number: usize, piece: &Piece, cell: &Cell) -> bool {
        let Some([first, last]) = self.repeated.get(number) else {
            return false;
        };
        (*first || *last)
            && (piece.shape.nearest_corner(cell))
                .is_some_and(|at| (at == 0 && *first) || (at == 1 && *last))
    }
}

/// Whether each end of a point or a segment is an end of an earlier one that reaches as far.
fn repeated(pieces: &[Piece]) -> Vec<[bool; 2]> {
    let mut ends: Vec<([u64; 2], usize, usize)> = Vec::with_capacity(2 * pieces.len());
    for (number, piece) in pieces.iter().enumerate() {
        if let corners @ ([_] | [_, _]) = piece.shape.corners() {
            let key = |corner: &Xy| [corner.x.to_bits(), corner.y.to_bits()];
            let keys = corners.iter().map(key).enumerate();
            ends.extend(keys.map(|(end, key)| (key, number, end)));
        }
    }
    ends.sort_unstable();
    let mut repeated = vec![[false; 2]; pieces.len()];
    let reach = |number: usize| pieces.get(number).map_or(0.0, |piece| piece.reach);
    for same in ends.chunk_by(|one, other| one.0 == other.0) {
        let mut farthest = f64::NEG_INFINITY;
        for (_, number, end) in same {
            if let Some(slot) = repeated
                .get_mut(*number)
                .and_then(|ends| ends.get_mut(*end))
            {
                *slot = farthest >= reach(*number);
            }
            farthest = farthest.max(reach(*number));
        }
    }
    repeated
}

/// A whole number that is ordered as [`f64::total_cmp`] orders its value.
const fn in_order(value: f64) -> i64 {
    let bits = value.to_bits().cast_signed();
    bits ^ ((bits >> 63).cast_unsigned() >> 1).cast_signed()
}

fn reach_box(piece: &Piece) -> Extent {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    let out = piece.reach + BOX_SLACK_M;
    for corner in piece.shape.corners() {
        low = [low[0].min(corner.x - out), low[1].min(corner.y - out)];
        high = [high[0].max(corner.x + out), high[1].max(corner.y + out)];
    }
    [low[0], low[1], high[0], high[1]]
}

impl Field for Shields {
    fn at(&self, point: Xy) -> f64 {
        self.best_at(point)
            .map_or(f64::NEG_INFINITY, |piece| piece.level)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let (centre, radius) = (cell.centre(), cell.radius());
        let (mut highest, mut covering): (Option<f64>, Option<f64>) = (None, None);
        let mut near: SmallVec<[&Piece; 16]> = SmallVec::new();
        // No piece lower than the first that reaches all of the cell sets the value anywhere in it, and
        // that one is the lowest which does.
        let (west, south, east, north) = cell.extent();
        self.among([west, south, east, north], |number, piece| {
            if self.is_doubled(number, piece, cell) {
                return false;
            }
            if highest.is_none() {
                match piece.shape.reaches(cell, centre, radius, piece.reach) {
                    Reaches::Nothing => return false,
                    Reaches::Some => {}
                    Reaches::All => covering = Some(piece.level),
                }
                highest = Some(piece.level);
            } else if piece.shape.reaches_all(cell, centre, radius, piece.reach) {
                covering = Some(piece.level);
            }
            near.push(piece);
            covering.is_some()
        });
        let Some(highest) = highest else {
            return Enclosure::UNDETERMINED;
        };
        if let Some(level) = covering {
            return Enclosure::between(level, highest);
        }
        let lowest = (near.iter().rev())
            .find(|piece| piece.shape.may_reach(cell, centre, radius, piece.reach))
            .map_or(highest, |piece| piece.level);
        Enclosure::between(lowest, highest).or_undetermined()
    }

    fn governor(&self, point: Xy) -> Governor {
        Governor {
            leaf: self.leaf,
            member: self.best_at(point).map(|piece| piece.member),
        }
    }
}

/// A shield field brought above ground: level less the ground and its accuracy, at each point.
#[derive(Clone, Debug)]
pub struct ShieldsAboveGround<'a> {
    /// The shields, levels AMSL.
    pub shields: &'a Shields,
    /// The ground.
    pub ground: &'a Ground,
}

impl Field for ShieldsAboveGround<'_> {
    fn at(&self, point: Xy) -> f64 {
        match self.ground.highest_at(point) {
            Some(ground) => self.shields.at(point) - ground,
            None => f64::NEG_INFINITY,
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let level = self.shields.over(cell);
        if level.high == f64::NEG_INFINITY {
            return Enclosure::UNDETERMINED;
        }
        let Some(ground) = self.ground.over(cell) else {
            return Enclosure::UNDETERMINED;
        };
        let accuracy = self.ground.accuracy();
        let bounds = Enclosure {
            low: level.low - (ground.high + accuracy),
            determined_low: level.determined_low - (ground.high + accuracy),
            high: level.high - (ground.low + accuracy),
        };
        if ground.has_unknown {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.shields.governor(point)
    }
}
