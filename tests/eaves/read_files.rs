//! Which files of a folder are read, and what is said about the others.

use std::fs;

use eaves::read::{ReadOptions, inspect, layers};

use crate::read_lines::folder;

const EMPTY: &str = r#"{"type":"FeatureCollection","features":[]}"#;
const SILO: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","id":"s","properties":{"kind":"silo","height":20},"geometry":{"type":"Point","coordinates":[150,-31]}},{"type":"Feature","properties":{"building":"yes"},"geometry":{"type":"Point","coordinates":[150.1,-31.1]}}]}"#;

fn error(files: &[(&str, &str)]) -> String {
    let folder = folder(files);
    layers(folder.path(), &ReadOptions::default())
        .unwrap_err()
        .to_string()
        .replace(&folder.path().display().to_string(), "DIR")
}

#[test]
fn names_are_alike_whatever_the_dash_and_case() {
    for name in [
        "structures.geojson",
        "Structures.GeoJSON",
        "obstacles.json",
        "buildings.geojson",
    ] {
        let folder = folder(&[(name, SILO)]);
        let read = layers(folder.path(), &ReadOptions::default()).unwrap();
        assert_eq!(read.obstacles.len(), 2, "{name}");
        assert_eq!(read.summaries[0].layer, "structures");
        assert_eq!(read.summaries[0].file, name);
    }
    for name in ["power_lines.geojson", "Power-Lines.geojson"] {
        let folder = folder(&[(name, EMPTY)]);
        let read = layers(folder.path(), &ReadOptions::default()).unwrap();
        assert_eq!(read.summaries[0].layer, "power-lines");
    }
}

#[test]
fn several_files_of_one_layer_are_all_read() {
    let folder = folder(&[("structures.geojson", SILO), ("buildings.geojson", SILO)]);
    let read = layers(folder.path(), &ReadOptions::default()).unwrap();
    assert_eq!(read.obstacles.len(), 4);
}

#[test]
fn absent_layers_and_files_not_read_are_said() {
    let folder = folder(&[
        ("structures.geojson", SILO),
        ("airspace.geojson", EMPTY),
        ("power_lines_assumed.geojson", EMPTY),
        ("notes.md", "x"),
    ]);
    let read = layers(folder.path(), &ReadOptions::default()).unwrap();
    let said: Vec<_> = read
        .not_assessed
        .iter()
        .map(|entry| format!("{}: {}", entry.what, entry.why))
        .collect();
    assert_eq!(
        said,
        [
            "aerodromes: no such layer in the folder",
            "power-lines: no such layer in the folder",
            "plan: heights above take-off points: no such layer in the folder",
            "terrain: no such layer in the folder",
            "files that are no layer by name: not read: power_lines_assumed.geojson",
            "heights of structures: no height, or an unclear one; none of them is a shield",
        ]
    );
}

#[test]
fn a_file_can_be_named_in_layers_toml() {
    let folder = folder(&[
        ("things_2024.geojson", SILO),
        (
            "layers.toml",
            "[structures]\nfile = \"things_2024.geojson\"\ndate = \"2024\"\nsource = \"Survey\"\n",
        ),
    ]);
    let read = layers(folder.path(), &ReadOptions::default()).unwrap();
    assert_eq!(read.summaries[0].file, "things_2024.geojson");
    assert_eq!(read.summaries[0].date.as_deref(), Some("2024"));
    assert_eq!(read.summaries[0].source.as_deref(), Some("Survey"));
}

#[test]
fn folders_that_cannot_be_used_are_named() {
    assert_eq!(
        error(&[]),
        "DIR: holds no layer; put aerodromes, runways, power-lines, structures or terrain files there"
    );
    assert_eq!(
        error(&[("structures.geojson", EMPTY), ("structures.kml", "<kml/>")]),
        "DIR: structures.geojson and structures.kml are both the structures layer; remove one, or \
         name one in layers.toml: [structures] file = \"...\""
    );
    assert_eq!(
        error(&[("dem.tif", ""), ("terrain.tif", "")]),
        "DIR: dem.tif and terrain.tif are both the terrain layer; remove one, or name one in \
         layers.toml: [terrain] file = \"...\""
    );
    assert_eq!(
        error(&[("layers.toml", "[structures]\nfile = \"gone.geojson\"\n")]),
        "DIR/layers.toml: [structures] names \"gone.geojson\", which is not there; correct file, \
         or put the file beside layers.toml"
    );
    let file = folder(&[("structures.geojson", EMPTY)]);
    let path = file.path().join("structures.geojson");
    assert_eq!(
        layers(&path, &ReadOptions::default())
            .unwrap_err()
            .to_string(),
        format!(
            "{}: is a file, not a folder; give the folder that holds the layers",
            path.display()
        )
    );
    assert_eq!(
        layers(&file.path().join("none"), &ReadOptions::default())
            .unwrap_err()
            .to_string(),
        format!(
            "{}: does not exist; give the folder that holds the layers",
            file.path().join("none").display()
        )
    );
}

#[test]
fn broken_layers_stop_the_run_with_their_name() {
    for (text, message) in [
        ("", "DIR/structures.geojson: is empty; export it again"),
        (
            &SILO[..150],
            "DIR/structures.geojson: ends too early (line 1, column 150): it is truncated; export \
             or copy it again",
        ),
        (
            r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:999999"}},"features":[]}"#,
            "DIR/structures.geojson: \"EPSG:999999\" is not a coordinate reference system that \
             PROJ knows; give an EPSG code such as EPSG:7844, or convert the file to WGS 84",
        ),
        (
            r#"{"type":"FeatureCollection","crs":{"type":"link"},"features":[]}"#,
            "DIR/structures.geojson: its \"crs\" member has no name; name the system as EPSG:..., \
             or declare crs in layers.toml",
        ),
    ] {
        assert_eq!(error(&[("structures.geojson", text)]), message);
    }
    let truncated_far_away = error(&[("structures.geojson", &SILO[..SILO.len() - 1])]);
    assert!(
        truncated_far_away.contains("it is truncated"),
        "{truncated_far_away}"
    );
}

#[test]
fn inspection_lists_every_layer_and_defect() {
    let folder = folder(&[
        ("structures.geojson", SILO),
        ("other.geojson", EMPTY),
        (
            "layers.toml",
            "[structures]\nhorizontal_accuracy_m = 1\nvertical_accuracy_m = 1\n",
        ),
    ]);
    let inspection = inspect(folder.path()).unwrap();
    assert!(inspection.has_declarations);
    assert_eq!(inspection.not_recognised, ["other.geojson"]);
    let layer = &inspection.layers[0];
    assert_eq!((layer.layer.as_str(), layer.features), ("structures", 2));
    assert_eq!(layer.geometries["Point"], 2);
    assert_eq!((layer.kinds["silo"], layer.kinds["building"]), (1, 1));
    assert_eq!(layer.with_height, Some(1));
    assert_eq!(layer.height_unit, "m");
    let extent = layer.extent.unwrap();
    assert_eq!((extent.south_deg, extent.north_deg), (-31.1, -31.0));
    assert!((extent.west_deg - 150.0).abs() < 1e-9 && (extent.east_deg - 150.1).abs() < 1e-9);
    assert_eq!(inspection.defects.len(), 1);
    assert_eq!(inspection.defects[0].features, ["#2"]);
    assert_eq!(inspection.defects[0].defect, "has no usable height");
    let json = serde_json::to_value(&inspection).unwrap();
    assert_eq!(json["layers"][0]["kinds"]["silo"], 1);
}

#[test]
fn inspection_goes_on_after_a_file_that_cannot_be_read() {
    let folder = folder(&[("structures.geojson", "{"), ("power_lines.geojson", EMPTY)]);
    let inspection = inspect(folder.path()).unwrap();
    assert_eq!(inspection.layers.len(), 1);
    assert_eq!(inspection.errors.len(), 1);
    assert!(inspection.errors[0].contains("structures.geojson: ends too early"));
}

#[test]
fn a_folder_in_place_of_a_layer_is_refused() {
    let folder = folder(&[("structures.geojson", SILO)]);
    fs::create_dir(folder.path().join("power_lines.geojson")).unwrap();
    let error = layers(folder.path(), &ReadOptions::default())
        .map(|_| ())
        .unwrap_err();
    assert!(error.to_string().ends_with(
        "power_lines.geojson: has the name of the power-lines layer but is not a file; put the \
         file there, or rename what is"
    ));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(150))]
    /// A layer or declaration with one byte changed, or cut, is answered without panic.
    #[test]
    fn damaged_layers_are_answered(
        which in 0_usize..3,
        at in 0_usize..400,
        byte in proptest::num::u8::ANY,
        cut in proptest::bool::ANY,
    ) {
        let line = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"power":"line","voltage":"110000;20000","height":"40 m","sag_m":3},"geometry":{"type":"MultiLineString","coordinates":[[[150,-31],[150.004,-31]],[[150.004,-31],[150.008,-31]]]}}]}"#;
        let toml = "[power-lines]\nsag = { share_of_span = 0.03 }\ncrs = \"EPSG:7844\"\n[structures.attributes]\nheight = \"height\"\n";
        let mut files = [
            ("power_lines.geojson", line.as_bytes().to_vec()),
            ("structures.geojson", SILO.as_bytes().to_vec()),
            ("layers.toml", toml.as_bytes().to_vec()),
        ];
        let bytes = &mut files[which].1;
        let at = at.min(bytes.len() - 1);
        if cut {
            bytes.truncate(at);
        } else {
            bytes[at] = byte;
        }
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in &files {
            fs::write(folder.path().join(name), bytes).unwrap();
        }
        let message = layers(folder.path(), &ReadOptions::default()).err().map(|e| e.to_string());
        proptest::prop_assert!(message.is_none_or(|m| m.lines().count() == 1));
        let _inspected = inspect(folder.path()).is_ok();
    }
}
