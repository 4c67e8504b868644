//! The mask of many windows: it never leaves out what a window keeps, and reading through it gives
//! the same records near the windows as reading all.

use eaves::read::feature::Bounds;
use eaves::read::{Mask, ReadOptions, Window, layers};
use proptest::prelude::*;

use crate::read_lines::folder;

fn window() -> impl Strategy<Value = Window> {
    let lon = prop_oneof![
        3 => -180.0..180.0f64,
        1 => 179.9..180.0f64,
        1 => -180.0..-179.9f64,
        1 => Just(180.0),
    ];
    let lat = prop_oneof![
        3 => -90.0..90.0f64,
        1 => 89.9..90.0f64,
        1 => -90.0..-89.9f64,
        1 => (-512..512_i32).prop_map(|at| f64::from(at) / 512.0),
    ];
    let size = prop_oneof![6 => 0.0..0.01f64, 3 => 0.0..0.5f64, 2 => Just(1.0 / 512.0)];
    let width = prop_oneof![20 => size.clone(), 1 => 170.0..190.0f64, 1 => Just(360.0)];
    (lon, lat, width, size).prop_map(|(west, south, width, height)| Window {
        west,
        south,
        east: if width >= 360.0 {
            west
        } else {
            (west + width + 180.0).rem_euclid(360.0) - 180.0
        },
        north: (south + height).min(90.0),
    })
}

fn bounds() -> impl Strategy<Value = Bounds> {
    (window(), -1..=1_i32).prop_map(|(window, turn)| {
        let turned = 360.0 * f64::from(turn);
        Bounds {
            west: window.west + turned,
            south: window.south,
            east: window.west + turned + window.width(),
            north: window.north,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn what_a_window_keeps_the_mask_keeps(
        windows in proptest::collection::vec(window(), 1..6),
        boxes in proptest::collection::vec(bounds(), 20),
    ) {
        let mask: Mask = windows.iter().copied().collect();
        for bounds in boxes {
            let kept = windows.iter().any(|window| window.touches(&bounds));
            prop_assert!(!kept || mask.touches(&bounds), "{bounds:?} in {windows:?}");
            prop_assert_eq!(
                Mask::from(windows[0]).touches(&bounds),
                windows[0].touches(&bounds)
            );
        }
    }

    /// A cell is 1/512 of a degree; with noise, nothing more than two cells away is kept.
    #[test]
    fn the_mask_is_not_much_larger_than_its_windows(
        windows in proptest::collection::vec(window(), 1..4),
        place in (-180.0..180.0f64, -90.0..90.0f64),
    ) {
        let mask: Mask = windows.iter().copied().collect();
        let about = |size: f64| Bounds {
            west: place.0 - size,
            south: place.1 - size,
            east: place.0 + size,
            north: place.1 + size,
        };
        let is_close = windows.iter().any(|window| window.touches(&about(2.0 / 512.0)));
        prop_assert!(is_close || !mask.touches(&about(0.0)));
    }
}

#[test]
fn nothing_touches_a_mask_of_nothing() {
    let world = Bounds {
        west: -180.0,
        south: -90.0,
        east: 180.0,
        north: 90.0,
    };
    assert!(!Mask::default().touches(&world));
    let spot = Window {
        west: 10.0,
        south: 10.0,
        east: 10.0,
        north: 10.0,
    };
    assert!(Mask::from_iter([spot]).touches(&world));
}

/// A little district on a grid of places, so that lines share vertices, supports stand on some of
/// them or a metre off, and some features are in the lines' own file.
fn district() -> impl Strategy<Value = [(&'static str, String); 4]> {
    let vertex = (0..12_u8, 0..12_u8);
    let line = (
        proptest::collection::vec(vertex.clone(), 1..7),
        prop_oneof![
            Just(""),
            Just(r#","height_m":31"#),
            Just(r#","height_m":40,"vertical_accuracy_m":4"#)
        ],
    );
    let support = (
        vertex.clone(),
        prop_oneof![
            Just(""),
            Just(r#","height_m":35,"vertical_accuracy_m":2"#),
            Just(r#","height":"tall""#)
        ],
        0..3_u8,
        any::<bool>(),
    );
    let structure = (vertex, 0..40_u8);
    (
        proptest::collection::vec(line, 1..8),
        proptest::collection::vec(support, 0..20),
        proptest::collection::vec(structure, 0..12),
    )
        .prop_map(|(lines, supports, structures)| {
            let lon = |x: u8| 150.0 + 0.005 * f64::from(x);
            let lat = |y: u8| -31.0 - 0.005 * f64::from(y);
            let feature = |properties: &str, kind: &str, coordinates: &str| {
                format!(
                    r#"{{"type":"Feature","properties":{{{properties}}},"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}"#
                )
            };
            let collection = |features: Vec<String>| {
                format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
            };
            let mut in_lines = Vec::new();
            let mut in_supports = Vec::new();
            for ((x, y), height, off, is_in_lines) in supports {
                let at = format!("[{},{}]", lon(x) + 1e-5 * f64::from(off), lat(y));
                let text = feature(&format!(r#""power":"tower"{height}"#), "Point", &at);
                if is_in_lines { in_lines.push(text) } else { in_supports.push(text) }
            }
            for (places, height) in lines {
                let places: Vec<String> =
                    places.iter().map(|&(x, y)| format!("[{},{}]", lon(x), lat(y))).collect();
                let at = format!("[{}]", places.join(","));
                in_lines.insert(
                    in_lines.len() / 2,
                    feature(&format!(r#""power":"line"{height}"#), "LineString", &at),
                );
            }
            let structures = structures.iter().map(|&((x, y), height)| {
                let at = format!("[{},{}]", lon(x) + 0.001, lat(y));
                feature(&format!(r#""man_made":"silo","height":{height}"#), "Point", &at)
            });
            [
                ("power-lines.geojson", collection(in_lines)),
                ("power-supports.geojson", collection(in_supports)),
                ("structures.geojson", collection(structures.collect())),
                (
                    "layers.toml",
                    "[power-lines]\nsag = { metres = 3 }\n[structures]\nvertical_accuracy_m = 1\n".to_owned(),
                ),
            ]
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    /// Lends, cuts, accuracies and indices near a window do not depend on what else was read.
    #[test]
    fn reading_less_changes_nothing_near(
        district in district(),
        windows in proptest::collection::vec((0.0..0.06f64, 0.0..0.06f64, 0.0..0.01f64), 1..4),
    ) {
        let files: Vec<(&str, &str)> =
            district.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let folder = folder(&files);
        let whole = layers(folder.path(), &ReadOptions::default()).unwrap();
        let windows: Vec<Window> = windows
            .iter()
            .map(|&(x, y, size)| Window {
                west: 150.0 + x,
                south: -31.0 - y,
                east: 150.0 + x + size,
                north: -31.0 - y + size,
            })
            .collect();
        let read = |mask: Mask| {
            let options = ReadOptions { near: Some(mask), ..ReadOptions::default() };
            layers(folder.path(), &options).unwrap()
        };
        let masked = read(windows.iter().copied().collect());
        for window in windows {
            let near = whole.obstacles.near(window);
            prop_assert_eq!(&masked.obstacles.near(window), &near);
            let alone = read(window.into());
            prop_assert_eq!(&alone.obstacles.near(window), &near);
        }
    }
}
