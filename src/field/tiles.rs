//! Which of many boxes may touch a place: a grid of tiles, each with its boxes as a set of bits.
//!
//! Not here: what is in the boxes.

use std::ops::Range;

/// A box of the plane: west, south, east, north, metres.
pub type Extent = [f64; 4];

/// How many tiles a side are worth their while for up to so many boxes, and for more. Only the speed
/// depends on it.
const SIDES: [(usize, usize); 2] = [(32, 1), (512, 8)];
const MOST_TILES: usize = 32;

/// Numbered boxes, found by place.
#[derive(Clone, Debug)]
pub struct Tiles {
    boxes: Vec<Extent>,
    low: [f64; 2],
    /// Tiles a metre, to the east and to the north.
    scale: [f64; 2],
    /// Tiles a side.
    side: usize,
    /// Words of 64 boxes a tile.
    words: usize,
    /// Tile by tile, from west to east and then from south to north.
    bits: Vec<u64>,
}

impl Tiles {
    /// Of boxes with finite corners.
    #[must_use]
    pub fn of(boxes: Vec<Extent>) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for [west, south, east, north] in &boxes {
            low = [low[0].min(*west), low[1].min(*south)];
            high = [high[0].max(*east), high[1].max(*north)];
        }
        let side = (SIDES.iter())
            .find(|(most, _)| boxes.len() <= *most)
            .map_or(MOST_TILES, |(_, side)| *side);
        let scale = [0, 1].map(|axis: usize| {
            let wide = high[axis] - low[axis];
            if wide > 0.0 { side as f64 / wide } else { 0.0 }
        });
        let words = boxes.len().div_ceil(64);
        let mut tiles = Self {
            low,
            scale,
            side,
            words,
            bits: vec![0; side * side * words],
            boxes,
        };
        for number in 0..tiles.boxes.len() {
            let (word, bit) = (number / 64, 1 << (number % 64));
            let [columns, rows] = tiles.touched(tiles.boxes[number]);
            for row in rows {
                let (from, to) = (row * side + columns.start, row * side + columns.end);
                for tile in from..to {
                    tiles.bits[tile * words + word] |= bit;
                }
            }
        }
        tiles
    }

    /// Shows the numbers of the boxes that touch a place, least first, until one is enough.
    #[inline]
    pub fn touching(&self, place: Extent, mut is_enough: impl FnMut(usize) -> bool) {
        let [columns, rows] = self.touched(place);
        let [west, south, east, north] = place;
        for word in 0..self.words {
            let mut bits = 0;
            for row in rows.clone() {
                let start = row * self.side;
                for tile in start + columns.start..start + columns.end {
                    bits |= self.bits[tile * self.words + word];
                }
            }
            while bits != 0 {
                let number = word * 64 + bits.trailing_zeros() as usize;
                bits &= bits - 1;
                let it = &self.boxes[number];
                let touches = it[0] <= east && west <= it[2] && it[1] <= north && south <= it[3];
                if touches && is_enough(number) {
                    return;
                }
            }
        }
    }

    /// The columns and the rows of a box. They never fall from west to east and from south to north, so
    /// two boxes that touch have a tile in common.
    #[inline]
    fn touched(&self, [west, south, east, north]: Extent) -> [Range<usize>; 2] {
        let last = self.side - 1;
        let tile = |at: f64, axis: usize| {
            // Below 0 it is 0, and so it is for NaN.
            (((at - self.low[axis]) * self.scale[axis]) as usize).min(last)
        };
        [
            tile(west, 0)..tile(east, 0) + 1,
            tile(south, 1)..tile(north, 1) + 1,
        ]
    }
}
