//! The obstacles of a layers folder with a packed R-tree over their pieces.
//!
//! Pieces are single segments, points and outlines, never whole lines, so that a long line does not
//! turn up everywhere. Not here: distances and reaches (see [`crate::field`]).

use smallvec::{SmallVec, smallvec};
use static_aabb2d_index::{StaticAABB2DIndex, StaticAABB2DIndexBuilder};

use super::Window;
use super::draft::Plan;
use super::feature::Bounds;
use super::packed::{Packed, Places};
use crate::frame::longitude_step;
use crate::obstacle::Obstacle;

/// All obstacles read, in the order of the files.
#[derive(Debug, Default)]
pub struct Obstacles {
    records: Packed,
    /// The record of each piece.
    owners: Vec<u32>,
    /// The boxes of the pieces in degrees; without one every record counts as near.
    pieces: Option<StaticAABB2DIndex<f64>>,
}

impl Obstacles {
    /// Indexes obstacles.
    #[must_use]
    pub fn new(records: impl IntoIterator<Item = Obstacle>) -> Self {
        Self::packed(records.into_iter().collect())
    }

    /// The same of records that are packed already.
    #[must_use]
    pub fn packed(records: Packed) -> Self {
        let mut count = 0;
        each_piece(&records, |_, _| count += 1);
        let mut owners = Vec::with_capacity(count);
        let mut builder = StaticAABB2DIndexBuilder::new(count);
        each_piece(&records, |number, piece| {
            owners.push(number);
            builder.add(piece.west, piece.south, piece.east, piece.north);
        });
        Self {
            owners,
            pieces: builder.build().ok(),
            records,
        }
    }

    /// How many obstacles there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// The obstacle of a number: its place in the order of the files.
    #[must_use]
    pub fn get(&self, number: usize) -> Option<Obstacle> {
        self.records.get(number)
    }

    /// Every obstacle, in the order of the files.
    pub fn iter(&self) -> impl Iterator<Item = Obstacle> + '_ {
        self.records.iter()
    }

    /// The obstacles with a piece whose box touches the window, each once, in the order of the files.
    #[must_use]
    pub fn near(&self, window: Window) -> Vec<Obstacle> {
        self.numbered_near(window)
            .map(|(_, record)| record)
            .collect()
    }

    /// The same, each with its number.
    pub fn numbered_near(&self, window: Window) -> impl Iterator<Item = (usize, Obstacle)> + '_ {
        let numbers = self.numbers_near(window);
        if let Some(numbers) = &numbers {
            self.records.fetch(numbers);
        }
        let count = numbers.as_ref().map_or(self.len(), Vec::len);
        let number = move |at: usize| match &numbers {
            Some(numbers) => numbers.get(at).map(|number| *number as usize),
            None => Some(at),
        };
        (0..count).filter_map(move |at| {
            let number = number(at)?;
            Some((number, self.records.get(number)?))
        })
    }

    /// Their numbers; none where there is no index, and all are near.
    fn numbers_near(&self, window: Window) -> Option<Vec<u32>> {
        let pieces = self.pieces.as_ref()?;
        let mut found: Vec<u32> = Vec::new();
        for (west, east) in window.longitudes() {
            let near = pieces.query(west, window.south, east, window.north);
            found.extend(
                near.into_iter()
                    .filter_map(|piece| self.owners.get(piece).copied()),
            );
        }
        found.sort_unstable();
        found.dedup();
        Some(found)
    }
}

/// Gives the boxes of the pieces of all records, each with the number of its record.
fn each_piece(records: &Packed, mut take: impl FnMut(u32, Bounds)) {
    // More than four thousand million obstacles do not fit in memory.
    for (number, places) in (0..u32::MAX).zip(records.all_places()) {
        let mut on_this_turn = |piece: Bounds| {
            take(number, piece);
            // What lies beyond ±180 lies on the other side too.
            let turn = match (piece.west <= -180.0, piece.east >= 180.0) {
                (false, false) => return,
                (true, _) => 360.0,
                (_, true) => -360.0,
            };
            let (west, east) = (piece.west + turn, piece.east + turn);
            take(
                number,
                Bounds {
                    west,
                    east,
                    ..piece
                },
            );
        };
        match places {
            Some(Places::Whole(shape)) => {
                boxes(Plan::from(shape)).into_iter().for_each(on_this_turn)
            }
            Some(Places::Point([lon, lat])) => on_this_turn(box_of_point(lon, lat)),
            Some(Places::Chain(places)) => places
                .windows(2)
                .filter_map(box_of_segment)
                .for_each(on_this_turn),
            Some(Places::Ring(corners)) => {
                let ring = box_of_ring(corners.iter().copied());
                ring.into_iter().for_each(on_this_turn);
            }
            None => {}
        }
    }
}

/// The boxes of the pieces of a shape; longitudes may run past ±180 where it crosses the antimeridian.
fn boxes(plan: Plan<'_>) -> SmallVec<[Bounds; 1]> {
    match plan {
        Plan::Point(place) => smallvec![box_of_point(place.lon(), place.lat())],
        Plan::Chain(places) => places
            .windows(2)
            .filter_map(|pair| match pair {
                [a, b] => box_of_segment(&[[a.lon(), a.lat()], [b.lon(), b.lat()]]),
                _ => None,
            })
            .collect(),
        Plan::Outline(outline) => {
            let corners = outline.exterior().coords();
            box_of_ring(corners.map(|corner| [corner.x, corner.y]))
                .into_iter()
                .collect()
        }
    }
}

const fn box_of_point(lon: f64, lat: f64) -> Bounds {
    Bounds {
        west: lon,
        south: lat,
        east: lon,
        north: lat,
    }
}

fn box_of_segment(ends: &[[f64; 2]]) -> Option<Bounds> {
    let [[west, south], [east, north]] = ends else {
        return None;
    };
    let step = longitude_step(*west, *east);
    Some(Bounds {
        west: west + step.min(0.0),
        south: south.min(*north),
        east: west + step.max(0.0),
        north: south.max(*north),
    })
}

fn box_of_ring(mut corners: impl Iterator<Item = [f64; 2]>) -> Option<Bounds> {
    let mut bounds = Bounds::EMPTY;
    let [lon, lat] = corners.next()?;
    bounds.add(lon, lat);
    for [x, y] in corners {
        bounds.add(lon + longitude_step(lon, x), y);
    }
    Some(bounds).filter(Bounds::is_finite)
}

/// The box of a whole shape; longitudes may run past ±180 where it crosses the antimeridian.
pub fn bounds(plan: Plan<'_>) -> Bounds {
    let mut all = Bounds::EMPTY;
    for piece in boxes(plan) {
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
