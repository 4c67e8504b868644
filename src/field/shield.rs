//! The shield field: the highest level among the shields within reach of a point.
//!
//! Level: the trusted top of a shield less the margin of the rule, in the reference of the
//! expression. The edge of the reach belongs to it ("within 100 m" includes 100 m). Out of every
//! reach the field is undetermined (`−∞`). Its minimum over an area is the *bottleneck cover*: the
//! greatest level h such that shields of level h or more cover the area.

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

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
#[derive(Clone, Debug)]
pub struct Shields {
    leaf: usize,
    /// Highest level first; equal levels in the order given.
    pieces: Vec<Piece>,
    /// The box of each reach, with the piece's number.
    reaches: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
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
        let mut pieces: Vec<Piece> = pieces
            .into_iter()
            .filter(|piece| piece.level.is_finite() && (0.0..=f64::MAX).contains(&piece.reach))
            .collect();
        pieces.sort_by(|a, b| b.level.total_cmp(&a.level));
        let boxes = pieces
            .iter()
            .enumerate()
            .map(|(number, piece)| GeomWithData::new(reach_box(piece), number))
            .collect();
        Self {
            leaf,
            pieces,
            reaches: RTree::bulk_load(boxes),
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
        self.among([point.x, point.y], [point.x, point.y])
            .into_iter()
            .find(|piece| piece.shape.distance(point) <= piece.reach)
    }

    /// The pieces that may reach into a box, highest level first.
    fn among(&self, low: [f64; 2], high: [f64; 2]) -> Vec<&Piece> {
        let mut numbers: Vec<usize> = self
            .reaches
            .locate_in_envelope_intersecting(&AABB::from_corners(low, high))
            .map(|found| found.data)
            .collect();
        numbers.sort_unstable();
        numbers
            .into_iter()
            .filter_map(|number| self.pieces.get(number))
            .collect()
    }
}

fn reach_box(piece: &Piece) -> Rectangle<[f64; 2]> {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    let out = piece.reach + BOX_SLACK_M;
    for corner in piece.shape.corners() {
        low = [low[0].min(corner.x - out), low[1].min(corner.y - out)];
        high = [high[0].max(corner.x + out), high[1].max(corner.y + out)];
    }
    Rectangle::from_corners(low, high)
}

impl Field for Shields {
    fn at(&self, point: Xy) -> f64 {
        self.best_at(point)
            .map_or(f64::NEG_INFINITY, |piece| piece.level)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let (centre, radius) = (cell.centre(), cell.radius());
        let (west, south, east, north) = cell.extent();
        let among = self.among([west, south], [east, north]);
        // No piece lower than the first that reaches all of the cell sets the value anywhere in it.
        let covering = among
            .iter()
            .position(|piece| piece.shape.reaches_all(cell, centre, piece.reach));
        let serving = &among[..covering.map_or(among.len(), |number| number + 1)];
        let may_reach = |piece: &&&Piece| piece.shape.may_reach(cell, centre, radius, piece.reach);
        let (Some(highest), Some(lowest)) = (
            serving.iter().find(may_reach),
            serving.iter().rfind(may_reach),
        ) else {
            return Enclosure::UNDETERMINED;
        };
        let bounds = Enclosure::between(lowest.level, highest.level);
        if covering.is_some() {
            bounds
        } else {
            bounds.or_undetermined()
        }
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
