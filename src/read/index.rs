//! The obstacles of a layers folder with a packed R-tree over their pieces.
//!
//! Pieces are single segments, points and outlines, never whole lines, so that a long line does not
//! turn up everywhere. Not here: distances and reaches (see [`crate::field`]).

use static_aabb2d_index::{StaticAABB2DIndex, StaticAABB2DIndexBuilder};

use super::Window;
use super::feature::Bounds;
use crate::frame::longitude_step;
use crate::obstacle::{Obstacle, Shape};

/// All obstacles read, in the order of the files.
#[derive(Debug, Default)]
pub struct Obstacles {
    records: Vec<Obstacle>,
    /// The record of each piece.
    owners: Vec<u32>,
    /// The boxes of the pieces in degrees; without one every record counts as near.
    pieces: Option<StaticAABB2DIndex<f64>>,
}

impl Obstacles {
    /// Indexes obstacles.
    #[must_use]
    pub fn new(records: Vec<Obstacle>) -> Self {
        let mut owners = Vec::with_capacity(records.len());
        let mut pieces = Vec::with_capacity(records.len());
        for (index, obstacle) in records.iter().enumerate() {
            let Ok(record) = u32::try_from(index) else {
                break; // more than four thousand million obstacles do not fit in memory
            };
            for piece in boxes(&obstacle.shape) {
                pieces.extend(on_this_turn(piece));
                owners.resize(pieces.len(), record);
            }
        }
        let mut builder = StaticAABB2DIndexBuilder::new(pieces.len());
        for piece in &pieces {
            builder.add(piece.west, piece.south, piece.east, piece.north);
        }
        Self {
            records,
            owners,
            pieces: builder.build().ok(),
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
        let Some(pieces) = &self.pieces else {
            return self.records.iter().collect();
        };
        let mut found: Vec<u32> = Vec::new();
        for (west, east) in window.longitudes() {
            let near = pieces.query(west, window.south, east, window.north);
            found.extend(near.into_iter().filter_map(|piece| self.owners.get(piece).copied()));
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

/// A box whose longitudes may run past ±180, and the part beyond on the other side.
fn on_this_turn(bounds: Bounds) -> impl Iterator<Item = Bounds> {
    let turns: &'static [f64] = match (bounds.west <= -180.0, bounds.east >= 180.0) {
        (false, false) => &[0.0],
        (true, _) => &[0.0, 360.0],
        (_, true) => &[0.0, -360.0],
    };
    turns.iter().map(move |turn| Bounds {
        west: bounds.west + turn,
        east: bounds.east + turn,
        ..bounds
    })
}
