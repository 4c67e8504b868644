//! Boxes found by tiles beside all boxes looked through one after another.

use eaves::field::tiles::{Extent, Tiles};

use crate::cover::Numbers;

fn touching(tiles: &Tiles, place: Extent) -> Vec<usize> {
    let mut found = Vec::new();
    tiles.touching(place, |number| {
        found.push(number);
        false
    });
    found
}

/// The same boxes in the same order, for numbers of boxes below and above every step in the number of
/// tiles; boxes and places share edges and corners often, for all lie on a coarse lattice.
#[test]
fn tiles_find_what_a_look_at_every_box_finds() {
    let mut numbers = Numbers(2_611);
    let mut found_some = 0;
    for count in [0, 1, 2, 31, 32, 33, 64, 65, 511, 512, 513, 1_500] {
        let mut between = |low: f64, high: f64| numbers.between(low, high).round();
        let mut extent = |wide: f64| -> Extent {
            let (west, south) = (between(-500.0, 500.0), between(-90.0, 90.0));
            let (east, north) = (west + between(0.0, wide), south + between(0.0, wide));
            [west, south, east, north]
        };
        let boxes: Vec<Extent> = (0..count).map(|_| extent(120.0)).collect();
        let tiles = Tiles::of(boxes.clone());
        for wide in [0.0, 3.0, 200.0, 2_000.0] {
            for _ in 0..100 {
                let place = extent(wide);
                let [west, south, east, north] = place;
                let looked: Vec<usize> = (boxes.iter().enumerate())
                    .filter(|(_, it)| {
                        it[0] <= east && it[2] >= west && it[1] <= north && it[3] >= south
                    })
                    .map(|(number, _)| number)
                    .collect();
                found_some += usize::from(!looked.is_empty());
                assert_eq!(touching(&tiles, place), looked, "{count} boxes, {place:?}");
            }
        }
    }
    assert!(found_some > 3_000, "{found_some}");
}

/// Nothing more is shown after a box that is enough.
#[test]
fn looking_ends_at_the_first_that_is_enough() {
    let boxes = vec![[0.0, 0.0, 10.0, 10.0]; 700];
    let mut seen = Vec::new();
    Tiles::of(boxes).touching([5.0, 5.0, 5.0, 5.0], |number| {
        seen.push(number);
        number == 2
    });
    assert_eq!(seen, [0, 1, 2]);
}

/// Boxes and places that are no boxes find nothing and end.
#[test]
fn boxes_without_sense_are_borne() {
    let odd = [
        [
            f64::INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
        ],
        [f64::NAN; 4],
        [
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
            f64::INFINITY,
            f64::INFINITY,
        ],
        [0.0, 0.0, 1e308, 1e308],
    ];
    let tiles = Tiles::of(odd.iter().cycle().take(600).copied().collect());
    assert!(touching(&tiles, [f64::NAN; 4]).is_empty());
    // The boxes that hold every place, and those from 0 on.
    assert_eq!(touching(&tiles, [1.0; 4]).len(), 300);
}
