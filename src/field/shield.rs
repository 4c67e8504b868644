//! The shield field: the highest level among the shields within reach of a point.
//!
//! Level: the trusted top of a shield less the margin of the rule, in the reference of the
//! expression. The edge of the reach belongs to it ("within 100 m" includes 100 m). Out of every
//! reach the field is undetermined (`−∞`). Its minimum over an area is the *bottleneck cover*: the
//! greatest level h such that shields of level h or more cover the area.

use std::cmp::Reverse;

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use crate::field::convex::{Convex, Reaches};
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
    /// The box of each reach: west, south, east, north.
    boxes: Vec<[f64; 4]>,
    /// The boxes of many pieces, each with its number.
    tree: Option<RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>>,
}

/// Up to so many pieces are looked through one after another, best first, which ends at the first
/// that serves; of more, a tree finds those near. Only the speed depends on it.
const LOOKED_THROUGH: usize = 512;

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
        // Pieces are large: their numbers are sorted, and each is moved once.
        pieces.sort_by_cached_key(|piece| Reverse(in_order(piece.level)));
        let boxes: Vec<[f64; 4]> = pieces.iter().map(reach_box).collect();
        let tree = (pieces.len() > LOOKED_THROUGH).then(|| {
            let boxes = boxes.iter().enumerate().map(|(number, it)| {
                let [west, south, east, north] = *it;
                GeomWithData::new(
                    Rectangle::from_corners([west, south], [east, north]),
                    number,
                )
            });
            RTree::bulk_load(boxes.collect())
        });
        Self {
            leaf,
            pieces,
            boxes,
            tree,
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
        self.among((point.x, point.y, point.x, point.y), |piece| {
            let serves = piece.shape.distance(point) <= piece.reach;
            if serves {
                best = Some(piece);
            }
            serves
        });
        best
    }

    /// Shows the pieces that may reach into a box, highest level first, until one is enough.
    fn among<'a>(
        &'a self,
        (west, south, east, north): (f64, f64, f64, f64),
        mut is_enough: impl FnMut(&'a Piece) -> bool,
    ) {
        let Some(tree) = &self.tree else {
            for (piece, reach) in self.pieces.iter().zip(&self.boxes) {
                let touches =
                    reach[0] <= east && west <= reach[2] && reach[1] <= north && south <= reach[3];
                if touches && is_enough(piece) {
                    return;
                }
            }
            return;
        };
        let mut numbers: Vec<usize> = tree
            .locate_in_envelope_intersecting(&AABB::from_corners([west, south], [east, north]))
            .map(|found| found.data)
            .collect();
        numbers.sort_unstable();
        for piece in numbers
            .into_iter()
            .filter_map(|number| self.pieces.get(number))
        {
            if is_enough(piece) {
                return;
            }
        }
    }
}

/// A whole number that is ordered as [`f64::total_cmp`] orders its value.
const fn in_order(value: f64) -> i64 {
    let bits = value.to_bits().cast_signed();
    bits ^ ((bits >> 63).cast_unsigned() >> 1).cast_signed()
}

fn reach_box(piece: &Piece) -> [f64; 4] {
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
        let (mut highest, mut lowest): (Option<f64>, Option<f64>) = (None, None);
        let mut is_covered = false;
        // No piece lower than the first that reaches all of the cell sets the value anywhere in it.
        self.among(cell.extent(), |piece| {
            let reaches = piece.shape.reaches(cell, centre, radius, piece.reach);
            is_covered = reaches == Reaches::All;
            if reaches != Reaches::Nothing {
                highest = highest.or(Some(piece.level));
                lowest = Some(piece.level);
            }
            is_covered
        });
        let (Some(highest), Some(lowest)) = (highest, lowest) else {
            return Enclosure::UNDETERMINED;
        };
        let bounds = Enclosure::between(lowest, highest);
        if is_covered {
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
