//! Runway ends as points, lines and attributes: the same runway however its ends are drawn.

use std::path::Path;

use eaves::aerodrome::Runway;
use eaves::read::{Layers, ReadOptions, layers};
use eaves::runway::{length, outbound};

const AERODROME: &str = r#"{"type": "FeatureCollection", "features": [{"type": "Feature",
"properties": {"ident": "ZZZZ", "name": "Made up", "type": "small_airport"},
"geometry": {"type": "Point", "coordinates": [20.0, -40.0]}}]}"#;

/// What a runways layer with these features gives.
fn read(features: &str) -> Layers {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("aerodromes.geojson", AERODROME);
    let text = format!(r#"{{"type": "FeatureCollection", "features": [{features}]}}"#);
    write("runways.geojson", &text);
    layers(Path::new(folder.path()), &ReadOptions::default()).unwrap()
}

fn feature(properties: &str, geometry: &str) -> String {
    format!(
        r#"{{"type": "Feature", "properties": {{"airport_ident": "ZZZZ", {properties}}},
        "geometry": {geometry}}}"#
    )
}

fn point(properties: &str, lon: f64) -> String {
    let geometry = format!(r#"{{"type": "Point", "coordinates": [{lon}, -40.0]}}"#);
    feature(properties, &geometry)
}

fn only(layers: &Layers) -> &Runway {
    let runways = &layers.aerodromes[0].runways;
    assert_eq!(runways.len(), 1);
    &runways[0]
}

#[test]
fn ends_as_points_lines_and_attributes_make_the_same_runway() {
    let idents = r#""le_ident": "09", "he_ident": "27""#;
    let as_line = feature(
        idents,
        r#"{"type": "LineString", "coordinates": [[20.0, -40.0], [20.02, -40.0]]}"#,
    );
    let as_two_points = feature(
        idents,
        r#"{"type": "MultiPoint", "coordinates": [[20.0, -40.0], [20.02, -40.0]]}"#,
    );
    let as_attributes = feature(
        r#""le_ident": "09", "he_ident": "27", "le_longitude_deg": 20.0, "le_latitude_deg": -40.0,
        "he_longitude_deg": 20.02, "he_latitude_deg": -40.0"#,
        "null",
    );
    let low = point(r#""runway": "09/27", "end": "09""#, 20.0);
    let high = point(
        r#""runway": "09/27", "end": "27", "displaced_threshold_m": 90"#,
        20.02,
    );
    let as_ends = format!("{high},{low}");
    for features in [as_line, as_two_points, as_attributes, as_ends.clone()] {
        let found = read(&features);
        let runway = only(&found);
        assert_eq!(runway.designator, "09/27");
        assert_eq!(runway.ends[1].designator.as_deref(), Some("27"));
        // 0.02 degrees along the parallel of 40 degrees; pyproj 3.7.2: 1 707.877 m.
        let length = length(runway).unwrap().m();
        assert!((length - 1_707.877).abs() < 0.01, "{length}");
        assert!(outbound(runway, 1).unwrap().bearing.degrees() - 90.0 < 0.02);
    }
    let found = read(&as_ends);
    assert_eq!(only(&found).ends[1].displaced_threshold.unwrap().m(), 90.0);
    assert!(found.cautions.into_vec().is_empty());
}

#[test]
fn ends_that_do_not_fit_are_left_out_and_said() {
    let low = point(r#""runway": "09/27", "end": "09""#, 20.0);
    for (bad, defect) in [
        (
            point(r#""runway": "09/27", "end": "18""#, 20.02),
            "names an end that its runway does not have",
        ),
        (
            point(r#""runway": "09/27", "end": "09""#, 20.02),
            "is a second position of its runway end",
        ),
        (
            point(r#""le_ident": "18""#, 20.02),
            "is not one line from end to end, nor two points",
        ),
    ] {
        let found = read(&format!("{low},{bad}"));
        let runway = &found.aerodromes[0].runways[0];
        assert!(runway.ends[0].position.is_some() && runway.ends[1].position.is_none());
        assert!(outbound(runway, 0).is_none(), "one end gives no direction");
        let cautions = found.cautions.into_vec();
        assert!(
            cautions.iter().any(|it| it.defect == defect),
            "{cautions:#?}"
        );
    }
}
