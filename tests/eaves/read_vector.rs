//! Vector formats through GDAL; the fixtures are written here with GDAL's own drivers.

use std::path::Path;

use eaves::obstacle::{Obstacle, Shape};
use eaves::read::{ReadOptions, Window, layers};
use gdal::DriverManager;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::{
    FieldValue, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
};

use crate::read_lines::folder;

/// A file with two silos of 20 m at the given positions.
fn silos(driver: &str, path: &Path, crs: Option<u32>, positions: [(f64, f64); 2]) {
    let mut dataset = DriverManager::get_driver_by_name(driver)
        .unwrap()
        .create_vector_only(path)
        .unwrap();
    let reference = crs.map(|code| {
        let mut reference = SpatialRef::from_epsg(code).unwrap();
        reference.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        reference
    });
    let layer = dataset
        .create_layer(LayerOptions {
            name: "silos",
            srs: reference.as_ref(),
            ty: OGRwkbGeometryType::wkbPoint,
            ..LayerOptions::default()
        })
        .unwrap();
    layer
        .create_defn_fields(&[
            ("kind", OGRFieldType::OFTString),
            ("height", OGRFieldType::OFTReal),
        ])
        .unwrap();
    for (x, y) in positions {
        let mut feature = gdal::vector::Feature::new(layer.defn()).unwrap();
        feature
            .set_geometry(Geometry::from_wkt(&format!("POINT ({x} {y})")).unwrap())
            .unwrap();
        let index = |name: &str| feature.field_index(name).unwrap();
        let (kind, height) = (index("kind"), index("height"));
        feature
            .set_field(kind, &FieldValue::StringValue("silo".to_owned()))
            .unwrap();
        feature
            .set_field(height, &FieldValue::RealValue(20.0))
            .unwrap();
        feature.create(&layer).unwrap();
    }
    dataset.close().unwrap();
}

fn read(folder: &Path, window: Option<Window>) -> Vec<Obstacle> {
    let options = ReadOptions {
        near: window.map(Into::into),
        ..ReadOptions::default()
    };
    layers(folder, &options).unwrap().obstacles.iter().collect()
}

const PLACES: [(f64, f64); 2] = [(150.0, -31.0), (151.0, -32.0)];

#[test]
fn each_format_gives_the_same_records() {
    for (driver, name) in [
        ("ESRI Shapefile", "structures.shp"),
        ("GPKG", "structures.gpkg"),
        ("FlatGeobuf", "structures.fgb"),
        ("KML", "structures.kml"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        silos(driver, &folder.path().join(name), Some(4326), PLACES);
        let mut records = read(folder.path(), None);
        // FlatGeobuf orders its features for its index.
        records.sort_by(|a, b| position(a).0.total_cmp(&position(b).0));
        assert_eq!(records.len(), 2, "{driver}");
        for (record, place) in records.iter().zip(PLACES) {
            assert_eq!(position(record), place, "{driver}");
            assert_eq!(record.source.file, name);
            assert_eq!(record.top.unwrap().value_m, 20.0, "{driver}");
        }
        let window = Window {
            west: 149.9,
            south: -31.1,
            east: 150.1,
            north: -30.9,
        };
        assert_eq!(read(folder.path(), Some(window)).len(), 1, "{driver}");
    }
}

fn position(obstacle: &Obstacle) -> (f64, f64) {
    match &obstacle.shape {
        Shape::Point(place) => (place.lon(), place.lat()),
        other => panic!("{other:?} is no point"),
    }
}

/// Flinders Peak on MGA2020 zone 55 (GDA2020 Technical Manual through GeodePy).
#[test]
fn the_files_own_system_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let corner = (273_741.296_6, 5_796_489.776_9);
    silos(
        "GPKG",
        &folder.path().join("structures.gpkg"),
        Some(7855),
        [corner, (300_000.0, 5_800_000.0)],
    );
    let records = read(folder.path(), None);
    let (lon, lat) = position(&records[0]);
    assert!(
        (lon - 144.424_867_888_888_9).abs() < 1e-9 && (lat + 37.951_033_416_666_7).abs() < 1e-9
    );
    // GDA2020 as WGS 84 is accurate to 3 m (EPSG database).
    assert_eq!(records[0].horizontal_accuracy.m(), 3.0);
    let window = Window {
        west: 144.42,
        south: -37.96,
        east: 144.43,
        north: -37.94,
    };
    assert_eq!(read(folder.path(), Some(window)).len(), 1);
}

#[test]
fn tables_of_text_are_read_by_their_column_names() {
    for table in [
        "kind,height,longitude_deg,latitude_deg\nsilo,20,150,-31\nsilo,,151,-32\n",
        "kind,height,lon,lat\nsilo,20,150,-31\nsilo,,151,-32\n",
        "kind,height,WKT\nsilo,20,POINT (150 -31)\nsilo,,POINT (151 -32)\n",
    ] {
        let folder = folder(&[("structures.csv", table)]);
        let records = read(folder.path(), None);
        assert_eq!(records.len(), 2, "{table}");
        assert_eq!(position(&records[0]), (150.0, -31.0));
        assert_eq!(records[0].top.unwrap().value_m, 20.0);
        assert_eq!(records[1].top, None);
    }
}

fn error(folder: &tempfile::TempDir) -> String {
    layers(folder.path(), &ReadOptions::default())
        .unwrap_err()
        .to_string()
        .replace(&folder.path().display().to_string(), "DIR")
}

#[test]
fn files_that_gdal_cannot_use_are_named() {
    let no_system = tempfile::tempdir().unwrap();
    silos(
        "ESRI Shapefile",
        &no_system.path().join("structures.shp"),
        None,
        PLACES,
    );
    assert_eq!(
        error(&no_system),
        "DIR/structures.shp: does not say its coordinate reference system; declare crs in layers.toml"
    );
    for name in [
        "structures.gpkg",
        "structures.shp",
        "structures.fgb",
        "structures.kml",
    ] {
        let broken = folder(&[(name, "this is something else")]);
        let message = error(&broken);
        assert!(
            message.starts_with(&format!(
                "DIR/{name}: cannot be opened as its extension says ("
            )),
            "{message}"
        );
        assert_eq!(message.lines().count(), 1);
        let empty = folder(&[(name, "")]);
        assert_eq!(
            error(&empty),
            format!("DIR/{name}: is empty; export it again")
        );
    }
}

#[test]
fn one_of_several_tables_has_to_be_chosen() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("structures.gpkg");
    silos("GPKG", &path, Some(4326), PLACES);
    let mut dataset = gdal::Dataset::open_ex(
        &path,
        gdal::DatasetOptions {
            open_flags: gdal::GdalOpenFlags::GDAL_OF_VECTOR | gdal::GdalOpenFlags::GDAL_OF_UPDATE,
            ..gdal::DatasetOptions::default()
        },
    )
    .unwrap();
    dataset
        .create_layer(LayerOptions {
            name: "other",
            ty: OGRwkbGeometryType::wkbPoint,
            ..LayerOptions::default()
        })
        .unwrap();
    dataset.close().unwrap();
    assert_eq!(
        error(&folder),
        "DIR/structures.gpkg: holds several tables: silos, other; choose one in layers.toml: table \
         = \"...\""
    );
    std::fs::write(
        folder.path().join("layers.toml"),
        "[structures]\ntable = \"silos\"\n",
    )
    .unwrap();
    assert_eq!(read(folder.path(), None).len(), 2);
    std::fs::write(
        folder.path().join("layers.toml"),
        "[structures]\ntable = \"none\"\n",
    )
    .unwrap();
    assert_eq!(
        error(&folder),
        "DIR/structures.gpkg: has no table \"none\" but silos, other; choose one in layers.toml: table = \"...\""
    );
}

#[test]
fn truncated_files_are_errors_and_not_shorter_layers() {
    for (driver, name) in [
        ("ESRI Shapefile", "structures.shp"),
        ("GPKG", "structures.gpkg"),
        ("FlatGeobuf", "structures.fgb"),
        ("KML", "structures.kml"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        silos(driver, &path, Some(4326), PLACES);
        let bytes = std::fs::read(&path).unwrap();
        let end = bytes.iter().rposition(|byte| *byte != 0).unwrap();
        for keep in [bytes.len() / 2, end - 20] {
            std::fs::write(&path, &bytes[..keep]).unwrap();
            let message = error(&folder);
            assert!(message.starts_with(&format!("DIR/{name}: ")), "{message}");
        }
    }
}
