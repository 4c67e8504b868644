//! The obstacles of a layers folder with an R-tree over their pieces.
//!
//! Pieces are single segments, points and outlines, never whole lines, so that a long line does not
//! turn up everywhere. Not here: distances and reaches (see [`crate::field`]).

use rstar::{AABB, RTree, RTreeObject};

use super::Window;
use super::feature::Bounds;
use crate::frame::longitude_step;
use crate::obstacle::{Obstacle, Shape};

/// One piece of one obstacle: its box in degrees.
#[derive(Clone, Copy, Debug)]
pub struct Piece {
    record: u32,
    low: [f64; 2],
    high: [f64; 2],
}

impl RTreeObject for Piece {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners(self.low, self.high)
    }
}

/// All obstacles read, in the order of the files.
#[derive(Debug, Default)]
pub struct Obstacles {
    records: Vec<Obstacle>,
    pieces: RTree<Piece>,
}

impl Obstacles {
    /// Indexes obstacles.
    #[must_use]
    pub fn new(records: Vec<Obstacle>) -> Self {
        let mut pieces = Vec::with_capacity(records.len());
        for (index, obstacle) in records.iter().enumerate() {
            let Ok(record) = u32::try_from(index) else {
                break; // more than four thousand million obstacles do not fit in memory
            };
            for piece in boxes(&obstacle.shape) {
                add_box(&mut pieces, record, piece);
            }
        }
        Self {
            records,
            pieces: RTree::bulk_load(pieces),
        }
    }

    /// Every obstacle, in the order of the files.
    #[must_use]
    pub fn records(&self) -> &[Obstacle] {
        &self.records
    }

    /// The obstacles with a piece whose box touches the window, each once, in the order of
    /// [`Self::records`].
    #[must_use]
    pub fn near(&self, window: Window) -> Vec<&Obstacle> {
        let mut found = Vec::new();
        for (west, east) in window.longitudes() {
            let envelope = AABB::from_corners([west, window.south], [east, window.north]);
            found.extend(
                self.pieces
                    .locate_in_envelope_intersecting(&envelope)
                    .map(|piece| piece.record),
            );
        }
        found.sort_unstable();
        found.dedup();
        found
            .into_iter()
            .filter_map(|record| self.records.get(record as usize))
            .collect()
    }
}

/// The boxes of the pieces of a shape; longitudes may run past ±180 where it crosses the antimeridian.
fn boxes(shape: &Shape) -> Vec<Bounds> {
    match shape {
        Shape::Point(place) => vec![Bounds {
            west: place.lon(),
            south: place.lat(),
            east: place.lon(),
            north: place.lat(),
        }],
        Shape::Chain(places) => places
            .windows(2)
            .filter_map(|ends| match ends {
                [a, b] => {
                    let step = longitude_step(a.lon(), b.lon());
                    Some(Bounds {
                        west: a.lon() + step.min(0.0),
                        south: a.lat().min(b.lat()),
                        east: a.lon() + step.max(0.0),
                        north: a.lat().max(b.lat()),
                    })
                }
                _ => None,
            })
            .collect(),
        Shape::Outline(outline) => {
            let mut bounds = Bounds::EMPTY;
            let mut corners = outline.exterior().coords();
            if let Some(first) = corners.next() {
                bounds.add(first.x, first.y);
                for corner in corners {
                    bounds.add(first.x + longitude_step(first.x, corner.x), corner.y);
                }
            }
            Some(bounds).filter(Bounds::is_finite).into_iter().collect()
        }
    }
}

/// The box of a whole shape; longitudes may run past ±180 where it crosses the antimeridian.
pub fn bounds(shape: &Shape) -> Bounds {
    let mut all = Bounds::EMPTY;
    for piece in boxes(shape) {
        // The pieces of a chain follow one another, so each is counted from the one before.
        let turn = if all.is_finite() {
            let middle = (all.west + all.east) / 2.0;
            360.0 * ((middle - (piece.west + piece.east) / 2.0) / 360.0).round()
        } else {
            0.0
        };
        all.add(piece.west + turn, piece.south);
        all.add(piece.east + turn, piece.north);
    }
    all
}

/// Adds a box whose longitudes may run past ±180; the part beyond is added again on the other side.
fn add_box(pieces: &mut Vec<Piece>, record: u32, bounds: Bounds) {
    let Bounds {
        west,
        south,
        east,
        north,
    } = bounds;
    let turns: &[f64] = match (west <= -180.0, east >= 180.0) {
        (false, false) => &[0.0],
        (true, _) => &[0.0, 360.0],
        (_, true) => &[0.0, -360.0],
    };
    pieces.extend(turns.iter().map(|turn| Piece {
        record,
        low: [west + turn, south],
        high: [east + turn, north],
    }));
}
