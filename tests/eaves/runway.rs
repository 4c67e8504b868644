//! Runway geometry against closed forms, pyproj and measured sites.

use eaves::aerodrome::{Runway, RunwayEnd};
use eaves::frame::{LonLat, distance, geodesic};
use eaves::runway::{DirectionFrom, Offsets, centreline, length, midpoint, outbound};
use eaves::site::FeatureRef;
use eaves::units::{Bearing, Metres};
use serde_json::Value;

pub fn end(designator: &str, position: Option<LonLat>) -> RunwayEnd {
    RunwayEnd {
        classification: Default::default(),
        designator: Some(designator.into()),
        position,
        elevation: None,
        true_bearing: None,
        displaced_threshold: None,
    }
}

pub fn runway(designator: &str, low: Option<LonLat>, high: Option<LonLat>) -> Runway {
    let (first, second) = designator.split_once('/').unwrap();
    Runway {
        classification: Default::default(),
        source: FeatureRef {
            file: "runways.geojson".into(),
            feature: designator.into(),
        },
        designator: designator.into(),
        ends: [end(first, low), end(second, high)],
        length: None,
        width: None,
        closed: false,
    }
}

fn at(lon: f64, lat: f64) -> LonLat {
    LonLat::new(lon, lat).unwrap()
}

fn near(found: f64, expected: f64, within: f64, what: &str) {
    assert!(
        (found - expected).abs() <= within,
        "{what}: {found} instead of {expected}"
    );
}

/// On the equator, a geodesic, 1 degree of longitude is 111 319.490 79 m (2π a ⁄ 360, closed form); the
/// meridian is square to it, and 0.01 degrees of it are M · 0.01 · π ⁄ 180 = 1 105.742 8 m with
/// M = 6 335 439.327 m (its change over 0.01 degrees is below 1e-5 m).
#[test]
fn offsets_on_the_equator_are_those_of_the_closed_forms() {
    let degree = 111_319.490_79;
    let runway = runway("09/27", Some(at(10.0, 0.0)), Some(at(10.02, 0.0)));
    near(length(&runway).unwrap().m(), 0.02 * degree, 1e-3, "length");
    let middle = midpoint(&runway).unwrap();
    near(middle.lon(), 10.01, 1e-10, "middle");
    let east = outbound(&runway, 1).unwrap();
    let west = outbound(&runway, 0).unwrap();
    near(east.bearing.degrees(), 90.0, 1e-9, "outbound beyond 27");
    near(west.bearing.degrees(), 270.0, 1e-9, "outbound beyond 09");
    let place = at(10.05, 0.01);
    let from_east = east.offsets(place);
    near(
        from_east.along.m(),
        0.03 * degree,
        1e-3,
        "beyond the east end",
    );
    // Looking east, north is on the left.
    near(from_east.across.m(), -1_105.742_8, 1e-3, "left");
    let from_west = west.offsets(place);
    near(
        from_west.along.m(),
        -0.05 * degree,
        1e-3,
        "behind the west end",
    );
    near(
        from_west.across.m(),
        1_105.742_8,
        1e-3,
        "right, looking west",
    );
}

/// Along a meridian the runway runs true north whatever its designator says.
#[test]
fn the_designator_gives_no_bearing() {
    let meridian = runway("09/27", Some(at(20.0, -40.0)), Some(at(20.0, -39.99)));
    near(
        outbound(&meridian, 1).unwrap().bearing.degrees(),
        0.0,
        1e-9,
        "north",
    );
    assert!(outbound(&runway("09/27", Some(at(20.0, -40.0)), None), 0).is_none());
    assert!(outbound(&runway("09/27", None, Some(at(20.0, -40.0))), 0).is_none());
    assert!(length(&runway("09/27", None, None)).is_none());
    // Ends that coincide give no direction either.
    let dot = runway("09/27", Some(at(20.0, -40.0)), Some(at(20.0, -40.0)));
    assert!(outbound(&dot, 0).is_none() && midpoint(&dot).is_none());
    assert!(centreline(&dot, Metres::of(100.0)).is_none());
}

/// A stated bearing serves where an end is missing, and only there.
#[test]
fn a_stated_bearing_serves_only_where_an_end_is_missing() {
    let mut one = runway("09/27", Some(at(20.0, -40.0)), None);
    one.ends[0].true_bearing = Some(Bearing::new(92.5).unwrap());
    let line = outbound(&one, 0).unwrap();
    assert_eq!(line.direction_from, DirectionFrom::StatedBearing);
    near(line.bearing.degrees(), 272.5, 1e-9, "outbound");
    assert!(outbound(&one, 1).is_none());
    one.ends[0].true_bearing = None;
    one.ends[1].true_bearing = Some(Bearing::new(272.5).unwrap());
    near(
        outbound(&one, 0).unwrap().bearing.degrees(),
        272.5,
        1e-9,
        "from the other end",
    );
    one.ends[1].position = Some(at(20.02, -40.0));
    let line = outbound(&one, 0).unwrap();
    assert_eq!(line.direction_from, DirectionFrom::Ends);
    assert!((line.bearing.degrees() - 272.5).abs() > 2.0);
}

#[test]
fn a_displaced_threshold_lies_inward_of_its_end() {
    let mut shifted = runway("18/36", Some(at(5.0, 50.02)), Some(at(5.0, 50.0)));
    shifted.ends[1].displaced_threshold = Some(Metres::of(300.0));
    let line = outbound(&shifted, 1).unwrap();
    near(line.bearing.degrees(), 180.0, 1e-9, "outbound beyond 36");
    near(
        distance(line.end, line.threshold).m(),
        300.0,
        1e-6,
        "displaced",
    );
    assert!(line.threshold.lat() > line.end.lat());
    near(
        line.offsets(line.threshold).along.m(),
        -300.0,
        1e-6,
        "short of the end",
    );
}

fn place(value: &Value) -> LonLat {
    at(value[0].as_f64().unwrap(), value[1].as_f64().unwrap())
}

/// `tests/reference/runways.json`: laid out with PROJ's geodesics; 1 mm is claimed within 100 km.
#[test]
fn offsets_agree_with_pyproj_at_every_latitude() {
    let file: Value = serde_json::from_str(include_str!("../reference/runways.json")).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 27);
    for case in cases {
        let id = case["id"].as_str().unwrap();
        let runway = runway(
            "01/19",
            Some(place(&case["other"])),
            Some(place(&case["end"])),
        );
        let line = outbound(&runway, 1).unwrap();
        let apart = line.bearing.degrees() - case["bearing_deg"].as_f64().unwrap();
        near(apart.sin(), 0.0, 1e-7, id);
        near(
            length(&runway).unwrap().m(),
            case["length_m"].as_f64().unwrap(),
            1e-5,
            id,
        );
        near(
            distance(midpoint(&runway).unwrap(), place(&case["middle"])).m(),
            0.0,
            1e-5,
            id,
        );
        for it in case["places"].as_array().unwrap() {
            let (along, right) = (
                it["along_m"].as_f64().unwrap(),
                it["right_m"].as_f64().unwrap(),
            );
            let found = line.offsets(place(&it["place"]));
            near(found.along.m(), along, 1e-3, id);
            near(found.across.m(), right, 1e-3, id);
            let offsets = Offsets {
                along: Metres::of(along),
                across: Metres::of(right),
            };
            near(
                distance(line.place(offsets), place(&it["place"])).m(),
                0.0,
                1e-3,
                id,
            );
        }
    }
}

/// The pieces of a centreline lie on the geodesic between the ends.
#[test]
fn a_centreline_is_a_geodesic() {
    let (low, high) = (at(15.0, 60.0), at(15.07, 60.01));
    let whole = geodesic(low, high).distance.m();
    let places = centreline(&runway("07/25", Some(low), Some(high)), Metres::of(500.0)).unwrap();
    assert!(
        places
            .windows(2)
            .all(|pair| distance(pair[0], pair[1]).m() <= 500.0 + 1e-6)
    );
    for place in &places {
        let detour = distance(low, *place).m() + distance(*place, high).m() - whole;
        near(detour, 0.0, 1e-6, "detour");
    }
}
