//! Extracts of real open data (tests/data/README.md has their sources and recipes).

use std::path::{Path, PathBuf};

use eaves::aerodrome::AerodromeKind;
use eaves::obstacle::ObstacleKind;
use eaves::read::{ReadOptions, Window, layers, operating_area};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

/// 44 spans: counted in Python by shared coordinates (see tests/data/README.md).
#[test]
fn krems_lines_are_cut_at_their_supports() {
    let read = layers(&data("krems"), &ReadOptions::default()).unwrap();
    let count = |kind: ObstacleKind| {
        read.obstacles
            .iter()
            .filter(|obstacle| obstacle.kind == kind)
            .count()
    };
    assert_eq!(count(ObstacleKind::Span), 44);
    assert_eq!(count(ObstacleKind::Support), 42);
    assert!(read.obstacles.iter().all(|obstacle| obstacle.top.is_none()));
    assert!(
        read.obstacles
            .iter()
            .filter_map(|o| o.span)
            .all(|span| { span.voltage_v == Some(110_000.0) })
    );
    assert!(read.cautions.as_slice().is_empty(), "{:?}", read.cautions);
    assert!(
        read.not_assessed
            .iter()
            .any(|entry| { entry.why == "not read: operating_area.geojson" })
    );
}

/// Elevations are those of the table: LOAK 647 ft, LOAG 1017 ft.
#[test]
fn krems_aerodromes_have_their_runways_and_elevations() {
    let read = layers(&data("krems"), &ReadOptions::default()).unwrap();
    assert_eq!(read.aerodromes.len(), 13);
    let with_ident = |ident: &str| {
        read.aerodromes
            .iter()
            .find(|aerodrome| aerodrome.ident.as_deref() == Some(ident))
            .unwrap()
    };
    let hospital = with_ident("LOAK");
    assert_eq!(hospital.kind, AerodromeKind::Heliport);
    assert!((hospital.elevation.unwrap().ft() - 647.0).abs() < 1e-9);
    let airfield = with_ident("LOAG");
    assert!((airfield.elevation.unwrap().ft() - 1017.0).abs() < 1e-9);
    let runway = airfield
        .runways
        .iter()
        .find(|runway| runway.designator == "10/28")
        .unwrap();
    assert!(runway.ends.iter().all(|end| end.position.is_some()));
    assert_eq!(
        read.aerodromes
            .iter()
            .map(|a| a.runways.len())
            .sum::<usize>(),
        6
    );
}

#[test]
fn krems_areas_are_valid_and_chosen_by_id() {
    let path = data("krems").join("operating_area.geojson");
    assert!(
        operating_area(&path, None)
            .unwrap_err()
            .to_string()
            .ends_with(
                "holds 4 features: way/85730409, way/25150525, way/25150526, way/25150534; choose \
                 one with --feature ID"
            )
    );
    for id in [
        "way/85730409",
        "way/25150525",
        "way/25150526",
        "way/25150534",
    ] {
        assert_eq!(
            operating_area(&path, Some(id)).unwrap().area.source.feature,
            id
        );
    }
}

/// What is near a window does not depend on whether the rest was read.
#[test]
fn a_window_changes_nothing_near_it() {
    let whole = layers(&data("krems"), &ReadOptions::default()).unwrap();
    let mut seen = 0;
    for step in 0..20 {
        let west = 15.58 + 0.006 * f64::from(step);
        for south in [48.39, 48.40, 48.41, 48.42] {
            let window = Window {
                west,
                south,
                east: west + 0.004,
                north: south + 0.008,
            };
            let options = ReadOptions {
                near: Some(window.into()),
                ..ReadOptions::default()
            };
            let part = layers(&data("krems"), &options).unwrap();
            let near = whole.obstacles.near(window);
            seen += near.len();
            assert_eq!(part.obstacles.near(window), near, "{window:?}");
        }
    }
    assert!(seen > 40, "{seen} obstacles seen");
}
