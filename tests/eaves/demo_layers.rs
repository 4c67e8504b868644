//! The demo layers hold what their README says, read here with the geojson and gdal crates.

use std::path::{Path, PathBuf};

use eaves::frame::{LonLat, distance};
use geojson::{FeatureCollection, GeometryValue};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers")
}

const LAYERS: [&str; 8] = [
    "aerodromes.geojson",
    "airspace.geojson",
    "area.geojson",
    "plan.geojson",
    "power-lines.geojson",
    "power-supports.geojson",
    "runways.geojson",
    "structures.geojson",
];

/// The layers of the second site.
const RUNWAY_END: [&str; 6] = [
    "runway-end/aerodromes.geojson",
    "runway-end/area.geojson",
    "runway-end/power-lines.geojson",
    "runway-end/power-supports.geojson",
    "runway-end/runways.geojson",
    "runway-end/structures.geojson",
];

fn layer(name: &str) -> FeatureCollection {
    let text = std::fs::read_to_string(folder().join(name)).unwrap();
    text.parse().unwrap()
}

fn place(position: &[f64]) -> LonLat {
    LonLat::new(position[0], position[1]).unwrap()
}

#[test]
fn every_object_is_marked_synthetic() {
    let airspace = std::fs::read_to_string(folder().join("runway-end/airspace.xml")).unwrap();
    assert!(airspace.contains("<!-- Synthetic:"));
    for name in LAYERS.into_iter().chain(RUNWAY_END) {
        let layer = layer(name);
        assert!(!layer.features.is_empty());
        let note = &layer.foreign_members.as_ref().unwrap()["note"];
        assert!(note.as_str().unwrap().starts_with("Synthetic:"), "{name}");
        for feature in &layer.features {
            assert_eq!(
                feature.property("synthetic").unwrap(),
                true,
                "{name} {:?}",
                feature.id
            );
            assert!(feature.id.is_some() && feature.geometry.is_some(), "{name}");
        }
    }
}

/// 3 NM = 5 556 m exactly; 5 200.16 m and 5 827.10 m were measured with pyproj (README).
#[test]
fn the_area_straddles_the_ring_of_3_nm() {
    let aerodromes = layer("aerodromes.geojson");
    let GeometryValue::Point { coordinates } =
        &aerodromes.features[0].geometry.as_ref().unwrap().value
    else {
        panic!("the first feature is no point");
    };
    let reference_point = place(coordinates.as_slice());
    let area = layer("area.geojson");
    let GeometryValue::Polygon { coordinates } = &area.features[0].geometry.as_ref().unwrap().value
    else {
        panic!("the area is no polygon");
    };
    let ring = &coordinates[0];
    let (mut nearest, mut farthest) = (f64::MAX, 0f64);
    for edge in ring.windows(2) {
        for step in 0..=1000 {
            let share = f64::from(step) / 1000.0;
            let there = place(edge[0].as_slice()).towards(place(edge[1].as_slice()), share);
            let metres = distance(reference_point, there).m();
            (nearest, farthest) = (nearest.min(metres), farthest.max(metres));
        }
    }
    assert!((nearest - 5200.16).abs() < 0.01, "{nearest}");
    assert!((farthest - 5827.10).abs() < 0.01, "{farthest}");
}

/// README: spans of 365 to 440 m and of 115 m; each vertex of a line is a support.
#[test]
fn spans_are_as_long_as_stated_and_end_at_supports() {
    let supports: Vec<LonLat> = layer("power-supports.geojson")
        .features
        .iter()
        .map(|feature| match &feature.geometry.as_ref().unwrap().value {
            GeometryValue::Point { coordinates } => place(coordinates.as_slice()),
            _ => panic!("a support is no point"),
        })
        .collect();
    let mut lengths = Vec::new();
    for feature in layer("power-lines.geojson").features {
        let GeometryValue::LineString { coordinates } = feature.geometry.unwrap().value else {
            panic!("a line is no line string");
        };
        for vertex in &coordinates {
            assert!(supports.contains(&place(vertex.as_slice())));
        }
        for span in coordinates.windows(2) {
            lengths.push(distance(place(span[0].as_slice()), place(span[1].as_slice())).m());
        }
    }
    let stated = [
        430.0, 385.0, 410.0, 395.0, 440.0, 365.0, 115.0, 115.0, 115.0, 115.0, 115.0,
    ];
    assert_eq!(lengths.len(), stated.len());
    for (length, stated) in lengths.iter().zip(stated) {
        // Coordinates are rounded to about 1 cm.
        assert!((length - stated).abs() < 0.03, "{length} {stated}");
    }
}

#[test]
fn the_terrain_is_a_small_raster_with_some_cells_unknown() {
    let file = gdal::Dataset::open(folder().join("terrain.tif")).unwrap();
    assert_eq!(file.raster_size(), (80, 80));
    let band = file.rasterband(1).unwrap();
    assert_eq!(band.no_data_value(), Some(-9999.0));
    let cells = band
        .read_as::<f32>((0, 0), (80, 80), (80, 80), None)
        .unwrap();
    let (unknown, known): (Vec<f32>, Vec<f32>) =
        cells.data().iter().partition(|&&height| height == -9999.0);
    assert_eq!((unknown.len(), known.len()), (13, 6387));
    assert!(known.iter().all(|height| (300.0..360.0).contains(height)));
}
