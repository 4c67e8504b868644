//! Aerodromes and runways, joined.

use eaves::aerodrome::{Aerodrome, AerodromeKind};
use eaves::read::{Layers, ReadOptions, layers};
use geo::Area;

use crate::read_lines::folder;

fn collection(features: &[&str]) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

fn read(aerodromes: &[&str], runways: &[&str]) -> Layers {
    let folder = folder(&[
        ("aerodromes.geojson", &collection(aerodromes)),
        ("runways.geojson", &collection(runways)),
    ]);
    layers(folder.path(), &ReadOptions::default()).unwrap()
}

fn defects(layers: &Layers) -> Vec<String> {
    layers
        .cautions
        .as_slice()
        .iter()
        .map(|c| format!("{} {}; {}", c.features.join(","), c.defect, c.effect))
        .collect()
}

const FIELD: &str = r#"{"type":"Feature","id":"f","properties":{"ident":"YXXX","type":"small_airport","name":"Invented Field","elevation_ft":1000,"controlled":false},"geometry":{"type":"Point","coordinates":[150,-31]}}"#;

fn area(id: &str, properties: &str, west: f64, size: f64) -> String {
    let (south, east, north) = (-31.0 - size / 2.0, west + size, -31.0 + size / 2.0);
    format!(
        r#"{{"type":"Feature","id":"{id}","properties":{properties},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
    )
}

fn only(layers: &Layers) -> &Aerodrome {
    assert_eq!(layers.aerodromes.len(), 1, "{:?}", defects(layers));
    &layers.aerodromes[0]
}

/// Column names and values are those of OurAirports' `airports.csv` (from memory, and in tests/data).
#[test]
fn columns_of_open_aerodrome_tables_are_understood() {
    let layers = read(&[FIELD], &[]);
    let field = only(&layers);
    assert_eq!(field.title(), "YXXX Invented Field");
    assert_eq!(field.kind, AerodromeKind::Aerodrome);
    assert_eq!(field.controlled, Some(false));
    assert!((field.elevation.unwrap().m() - 304.8).abs() < 1e-9);
    for (kind, expected) in [
        ("heliport", AerodromeKind::Heliport),
        ("seaplane_base", AerodromeKind::WaterAerodrome),
        ("closed", AerodromeKind::Closed),
        ("balloonport", AerodromeKind::Other),
        ("large_airport", AerodromeKind::Aerodrome),
        ("civil", AerodromeKind::Other),
    ] {
        assert_eq!(
            only(&read(&[&FIELD.replace("small_airport", kind)], &[])).kind,
            expected
        );
    }
}

#[test]
fn openstreetmap_aerodromes_are_understood() {
    let layers = read(
        &[
            r#"{"type":"Feature","id":"node/1","properties":{"aeroway":"helipad","icao":"----","ele":"300 m"},"geometry":{"type":"Point","coordinates":[150,-31]}}"#,
            &area(
                "way/2",
                r#"{"aeroway":"aerodrome","name":"Grass strip"}"#,
                151.0,
                0.01,
            ),
            &area("way/3", r#"{"aeroway":"runway"}"#, 151.001, 0.002),
            &area("way/4", r#"{"aeroway":"helipad"}"#, 152.0, 0.0002),
        ],
        &[],
    );
    assert_eq!(layers.aerodromes.len(), 3, "{:?}", defects(&layers));
    let pad = &layers.aerodromes[0];
    assert_eq!(
        (pad.kind, pad.ident.as_ref()),
        (AerodromeKind::Heliport, None)
    );
    assert_eq!(pad.elevation.unwrap().m(), 300.0);
    let strip = &layers.aerodromes[1];
    assert_eq!(strip.reference_point, None);
    assert!(strip.boundary.is_some() && strip.movement_area.is_some());
    assert_eq!(layers.aerodromes[2].kind, AerodromeKind::Heliport);
    assert!(layers.aerodromes[2].movement_area.is_some());
}

#[test]
fn areas_are_joined_by_identifier_or_by_what_contains_what() {
    let layers = read(
        &[
            &area("b", r#"{"part":"boundary"}"#, 149.99, 0.02),
            &area(
                "m1",
                r#"{"part":"movement_area","ident":"YXXX"}"#,
                150.0,
                0.001,
            ),
            &area("m2", r#"{"aeroway":"apron"}"#, 150.002, 0.001),
            FIELD,
            &area("far", r#"{"part":"movement_area"}"#, 170.0, 0.001),
            &area(
                "lost",
                r#"{"part":"boundary","ident":"NONE"}"#,
                170.0,
                0.001,
            ),
        ],
        &[],
    );
    let field = only(&layers);
    // The square is 0.02 by 0.02 degrees, the movement areas 0.001 by 0.001 each.
    assert!((field.boundary.as_ref().unwrap().unsigned_area() - 4e-4).abs() < 1e-12);
    assert!((field.movement_area.as_ref().unwrap().unsigned_area() - 2e-6).abs() < 1e-12);
    assert_eq!(
        defects(&layers),
        [
            "lost is a boundary of no aerodrome in the layer; the feature is left out",
            "far is a movement area of no aerodrome in the layer; the feature is left out",
        ]
    );
}

const RUNWAY: &str = r#"{"type":"Feature","id":"r","properties":{"airport_ident":"YXXX","length_ft":3937,"width_ft":98,"closed":0,"le_ident":"09","le_elevation_ft":1000,"le_heading_degT":90.5,"le_displaced_threshold_ft":100,"he_ident":"27"},"geometry":{"type":"LineString","coordinates":[[149.99,-31],[150.002,-31]]}}"#;

#[test]
fn runways_are_joined_with_ends_lengths_and_thresholds() {
    let layers = read(&[FIELD], &[RUNWAY]);
    let runway = &only(&layers).runways[0];
    assert_eq!(runway.designator, "09/27");
    assert_eq!(runway.ends[0].position.unwrap().lon(), 149.99);
    assert_eq!(runway.ends[1].position.unwrap().lon(), 150.002);
    // 3937 ft are 1199.9976 m, 98 ft are 29.8704 m, 100 ft are 30.48 m (exact foot).
    assert!((runway.length.unwrap().m() - 1_199.997_6).abs() < 1e-9);
    assert!((runway.width.unwrap().m() - 29.870_4).abs() < 1e-9);
    assert!((runway.ends[0].displaced_threshold.unwrap().m() - 30.48).abs() < 1e-9);
    assert!((runway.ends[0].elevation.unwrap().m() - 304.8).abs() < 1e-9);
    assert_eq!(runway.ends[0].true_bearing.unwrap().degrees(), 90.5);
    assert_eq!(runway.ends[1].true_bearing, None);
    assert!(!runway.closed);
    assert!(defects(&layers).is_empty());
}

#[test]
fn a_runway_without_geometry_keeps_its_ends_without_position() {
    let start = RUNWAY.find(r#""geometry""#).unwrap();
    let null = format!(r#"{}"geometry":null}}"#, &RUNWAY[..start])
        .replace(r#""closed":0"#, r#""closed":1"#);
    let layers = read(&[FIELD], &[&null]);
    let runway = &only(&layers).runways[0];
    assert!(runway.closed);
    assert_eq!(runway.ends[0].position, None);
    assert_eq!(runway.ends[0].designator.as_deref(), Some("09"));
    let columns = null.replace(
        r#""le_ident""#,
        r#""le_latitude_deg":-31,"le_longitude_deg":149.99,"le_ident""#,
    );
    let layers = read(&[FIELD], &[&columns]);
    assert_eq!(
        only(&layers).runways[0].ends[0].position.unwrap().lon(),
        149.99
    );
}

#[test]
fn a_runway_drawn_from_its_high_end_is_turned() {
    let layers = read(
        &[FIELD],
        &[&RUNWAY.replace(
            "[[149.99,-31],[150.002,-31]]",
            "[[150.002,-31],[149.99,-31]]",
        )],
    );
    assert_eq!(
        only(&layers).runways[0].ends[0].position.unwrap().lon(),
        149.99
    );
    assert_eq!(
        defects(&layers),
        ["r is drawn from its high end; its ends are taken the other way round"]
    );
}

#[test]
fn what_cannot_be_joined_is_a_caution() {
    let layers = read(
        &[FIELD, &FIELD.replace(r#""id":"f""#, r#""id":"g""#)],
        &[
            &RUNWAY.replace("YXXX", "YYYY"),
            r#"{"type":"Feature","id":"q","properties":{},"geometry":null}"#,
        ],
    );
    assert_eq!(layers.aerodromes.len(), 2);
    assert_eq!(
        defects(&layers),
        [
            "g has the identifier YXXX, which another aerodrome has too; both are kept; runways \
             and areas are joined to the first",
            "r names an aerodrome that is not in the aerodromes layer; the runway is left out",
            "q does not name its aerodrome; the runway is left out",
        ]
    );
}
