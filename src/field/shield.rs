//! The shield field: the highest level among the shields within reach of a point.
//!
//! Level: the trusted top of a shield less the margin of the rule, in the reference of the
//! expression. The edge of the reach belongs to it ("within 100 m" includes 100 m). Out of every
//! reach the field is undetermined (`−∞`). Its minimum over an area is the *bottleneck cover*: the
//! greatest level h such that shields of level h or more cover the area.

use crate::field::convex::Convex;
use crate::field::ground::Ground;
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
#[derive(Clone, Debug, PartialEq)]
pub struct Shields {
    leaf: usize,
    /// Highest level first; equal levels in the order given.
    pieces: Vec<Piece>,
}

impl Shields {
    /// The shield field of leaf number `leaf` of an expression.
    ///
    /// Pieces whose level or reach is NaN or negative reach are dropped: when unsure, a shield
    /// is dropped.
    #[must_use]
    pub fn new(leaf: usize, pieces: Vec<Piece>) -> Self {
        let mut pieces: Vec<Piece> = pieces
            .into_iter()
            .filter(|piece| piece.level.is_finite() && piece.reach >= 0.0)
            .collect();
        pieces.sort_by(|a, b| b.level.total_cmp(&a.level));
        Self { leaf, pieces }
    }

    /// Its pieces, highest level first.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The piece that sets the level at a point.
    #[must_use]
    pub fn best_at(&self, point: Xy) -> Option<&Piece> {
        self.pieces
            .iter()
            .find(|piece| piece.shape.distance(point) <= piece.reach)
    }
}

impl Field for Shields {
    fn at(&self, point: Xy) -> f64 {
        self.best_at(point)
            .map_or(f64::NEG_INFINITY, |piece| piece.level)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let centre = cell.centre();
        let radius = cell.radius();
        let mut enclosure = Enclosure::UNDETERMINED;
        // Highest first: the first that reaches all of the cell is the low bound, for no lower
        // one can set the value anywhere in it.
        for piece in &self.pieces {
            if !piece.shape.may_reach(cell, centre, radius, piece.reach) {
                continue;
            }
            enclosure.high = enclosure.high.max(piece.level);
            enclosure.determined_low = piece.level;
            if piece.shape.reaches_all(cell, piece.reach) {
                enclosure.low = piece.level;
                break;
            }
        }
        enclosure
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
