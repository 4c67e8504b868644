//! The committed reference cases are whole, and their witnesses agree with another library.
//!
//! `tests/reference/` was made with pyproj (PROJ's geodesics) and shapely; here it meets
//! `geographiclib-rs`. What eaves answers to the cases is tested where the answers are made.

use eaves::frame::{LonLat, geodesic};
use serde_json::Value;

fn cases(text: &str) -> Vec<Value> {
    let file: Value = serde_json::from_str(text).unwrap();
    assert!(file["versions"]["PROJ"].is_string() && file["seed"].is_u64());
    file["cases"].as_array().unwrap().clone()
}

fn place(value: &Value) -> LonLat {
    LonLat::new(value[0].as_f64().unwrap(), value[1].as_f64().unwrap()).unwrap()
}

#[test]
fn witnesses_of_the_distances_are_as_far_apart_as_stated() {
    let cases = cases(include_str!("../reference/distances.json"));
    assert_eq!(cases.len(), 62);
    let (mut overlapping, mut bearings) = (0, 0);
    for case in &cases {
        let (id, answer) = (&case["id"], &case["answer"]);
        let nearest = answer["nearest_m"].as_f64().unwrap();
        if answer["overlap"].as_bool().unwrap() {
            overlapping += 1;
            assert_eq!(nearest, 0.0, "{id}");
            continue;
        }
        // Ten decimals of a degree are 0.01 mm on the ground.
        let line = geodesic(place(&answer["from"]), place(&answer["to"]));
        assert!((line.distance.m() - nearest).abs() < 5e-5, "{id}");
        if let Some(bearing) = answer["bearing_deg"].as_f64() {
            bearings += 1;
            let apart = (line.bearing_from.degrees() - bearing).abs();
            assert!(apart.min(360.0 - apart) < 1e-2 / nearest + 1e-6, "{id}");
        }
        if let Some(farthest) = answer["farthest_m"].as_f64() {
            assert!(farthest >= nearest, "{id}");
        }
    }
    assert!(overlapping >= 3 && bearings >= 18);
}

#[test]
fn intervals_of_the_coverage_are_in_order() {
    let cases = cases(include_str!("../reference/coverage.json"));
    assert_eq!(cases.len(), 65);
    let mut states = [0; 3];
    for case in &cases {
        let (id, answer) = (&case["id"], &case["answer"]);
        let pair = |key: &str| -> Option<[f64; 2]> {
            let list = answer[key].as_array()?;
            Some([list.first()?.as_f64()?, list.get(1)?.as_f64()?])
        };
        let [least, most] = pair("covered_share").unwrap();
        assert!(0.0 <= least && least <= most && most <= 1.0 + 1e-12, "{id}");
        let state = answer["is_wholly_covered"].as_bool();
        states[state.map_or(2, usize::from)] += 1;
        match state {
            Some(true) => assert!(least > 1.0 - 1e-9, "{id}"),
            Some(false) => assert!(most < 1.0, "{id}"),
            None => assert!(most > 1.0 - 1e-9, "{id}"),
        }
        let tops: Vec<f64> = case["shields"]
            .as_array()
            .unwrap()
            .iter()
            .map(|shield| shield["top_m"].as_f64().unwrap())
            .collect();
        if let Some([low, high]) = pair("lowest_shielding_top_m") {
            assert!(
                low <= high && tops.contains(&low) && tops.contains(&high),
                "{id}"
            );
        } else {
            assert!(most < 1e-9, "{id}");
        }
    }
    // Both answers and the undecidable one occur.
    assert!(states.iter().all(|&count| count >= 3), "{states:?}");
}
