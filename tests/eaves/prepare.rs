//! Prepared layers: the same answers to the last byte, and a folder that is written whole or not.

use std::fs;
use std::path::{Path, PathBuf};

use eaves::cli::parse;
use eaves::prepare::{How, prepare};
use eaves::read::{Mask, ReadOptions, Window, inspect, layers};
use eaves::request::Request;
use eaves::run::run;

use crate::read_lines::folder;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The page and the JSON of an assessment.
fn assessed(area: &Path, feature: &str, layers: &Path, more: &[&str]) -> (String, String) {
    let out = tempfile::tempdir().unwrap();
    let json = out.path().join("answer.json");
    let mut arguments = vec![
        "eaves",
        "assess",
        area.to_str().unwrap(),
        "--layers",
        layers.to_str().unwrap(),
        "--date",
        "2026-07-01",
        "--json",
        json.to_str().unwrap(),
    ];
    if !feature.is_empty() {
        arguments.extend(["--feature", feature]);
    }
    arguments.extend(more);
    let request =
        Request::resolve(parse(arguments).unwrap(), jiff::civil::date(2026, 7, 1)).unwrap();
    let mut page = Vec::new();
    run(&request, &mut page).unwrap();
    let page = String::from_utf8(page).unwrap();
    let page = page.replace(out.path().to_str().unwrap(), "OUT");
    (page, fs::read_to_string(&json).unwrap())
}

/// The same area from the layers as they are and prepared.
fn is_the_same(area: &Path, feature: &str, from: &Path, prepared: &Path, more: &[&str]) {
    let before = assessed(area, feature, from, more);
    let after = assessed(area, feature, prepared, more);
    assert!(before.0 == after.0, "{}\n---\n{}", before.0, after.0);
    assert!(
        before.1 == after.1,
        "JSON of {feature} from {}",
        from.display()
    );
}

/// Every name of a feature of a file of operating areas.
fn areas(path: &Path) -> Vec<String> {
    let text = fs::read_to_string(path).unwrap();
    let file: serde_json::Value = serde_json::from_str(&text).unwrap();
    match file["features"].as_array() {
        None => vec![String::new()],
        Some(features) => features
            .iter()
            .enumerate()
            .map(|(index, feature)| match &feature["id"] {
                serde_json::Value::String(id) => id.clone(),
                serde_json::Value::Number(id) => id.to_string(),
                _ => format!("#{}", index + 1),
            })
            .collect(),
    }
}

#[test]
fn the_demo_is_the_same_from_prepared_layers() {
    let from = root().join("demo-layers");
    let out = tempfile::tempdir().unwrap();
    let prepared = out.path().join("prepared");
    prepare(&from, &prepared).unwrap();
    let area = from.join("area.geojson");
    is_the_same(&area, "", &from, &prepared, &["--height", "40m"]);
    is_the_same(
        &area,
        "",
        &from,
        &prepared,
        &["--surfaces", "annex14-2018", "--qnh", "1013hPa"],
    );
}

#[test]
fn real_data_are_the_same_from_prepared_layers() {
    for name in crate::real_data::FOLDERS {
        let from = crate::real_data::folder(name);
        let out = tempfile::tempdir().unwrap();
        let prepared = out.path().join("prepared");
        prepare(&from, &prepared).unwrap();
        let area = from.join("operating_area.geojson");
        let areas = areas(&area);
        assert!(!areas.is_empty());
        for feature in areas {
            is_the_same(&area, &feature, &from, &prepared, &[]);
            is_the_same(
                &area,
                &feature,
                &from,
                &prepared,
                &["--estimate-line-heights"],
            );
        }
    }
}

/// Everything that a GeoJSON layer can have wrong or special about it.
const ODD: &str = r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:7855"}},"features":[
{"type":"Feature","id":"a","properties":{"man_made":"silo","height":20,"x":1,"y":"t","z":true,"w":1.5,"n":null},"geometry":{"type":"Point","coordinates":[273741.2966,5796489.7769,12]}},
{"type":"Feature","id":7,"properties":{"man_made":"silo","height":"20.50 m","x":2.0,"y":"","z":false,"w":2,"deep":{"a":[1,2.50,"\u00e9"]}},"geometry":{"type":"Point","coordinates":[273751.2966,5796489.7769]}},
{"type":"Feature","properties":{"@id":"node/3","building":"yes","Height":null,"height":9},"bbox":[1,2,3,4],"geometry":{"type":"Polygon","coordinates":[[[273741,5796489],[273781,5796489],[273781,5796519],[273741,5796489]]]}},
{"type":"Feature","properties":null,"geometry":null},
{"type":"Feature","properties":{"building":"yes"},"geometry":{"type":"Polygon","coordinates":[[[273741,5796489],[273781,5796489],[273781,5796519]]]}},
{"type":"Feature","properties":{"building":"yes"},"geometry":{"type":"Point","coordinates":[273741,null]}},
{"type":"Feature","properties":{"building":"yes"},"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[273741,5796489]}]}},
{"type":"Feature","properties":{"building":"yes","x":18446744073709551615},"geometry":{"type":"MultiPolygon","coordinates":[[[[273741,5796489],[273781,5796489],[273781,5796519],[273741,5796489]],[[273751,5796492],[273761,5796492],[273761,5796495],[273751,5796492]]],[[[273841,5796489],[273881,5796489],[273881,5796519],[273841,5796489]]]]}},
{"type":"Feature","properties":{"man_made":"wall","feature_number":4},"geometry":{"type":"MultiLineString","coordinates":[[[273741,5796489],[273781,5796489]]]}},
{"type":"Feature","properties":{"man_made":"mast","height":9},"geometry":{"type":"MultiPoint","coordinates":[[273741,5796489],[273781,5796489]]}},
{"type":"Feature","properties":{"man_made":"wall"},"geometry":{"type":"LineString","coordinates":[[273741,5796489],[273781,5796489]]}},
{"type":"Feature","properties":{"man_made":"mast","height":9},"geometry":{"type":"Point","coordinates":[333741,5896489]}}
]}"#;

fn read(folder: &Path, near: Option<Mask>) -> String {
    let options = ReadOptions {
        near,
        ..ReadOptions::default()
    };
    let read = layers(folder, &options).unwrap();
    format!(
        "{:#?}\n{:#?}\n{:#?}\n{:#?}\n{:#?}",
        read.obstacles.iter().collect::<Vec<_>>(),
        read.summaries,
        read.cautions.as_slice(),
        read.not_assessed,
        read.aerodromes
    )
}

#[test]
fn defects_types_and_systems_come_back_as_they_were() {
    let table =
        "kind,height,lon,lat\nsilo,20,144.42,-37.95\nmast,,144.43,-37.95\nsilo,7.50,144.5,-37.9\n";
    let from = folder(&[
        ("structures.geojson", ODD),
        ("obstacles.csv", table),
        ("extra.geojson", "{}"),
        (
            "power_lines.geojson",
            r#"{"type":"FeatureCollection","features":[]}"#,
        ),
    ]);
    let out = tempfile::tempdir().unwrap();
    let prepared = out.path().join("prepared");
    let done = prepare(from.path(), &prepared).unwrap();
    let rests: Vec<_> = done
        .iter()
        .map(|one| (one.entry.original.as_str(), one.how))
        .collect();
    assert_eq!(
        rests,
        [
            ("power_lines.geojson", How::FlatGeobuf { rest: 0 }),
            ("obstacles.csv", How::FlatGeobuf { rest: 0 }),
            ("structures.geojson", How::FlatGeobuf { rest: 4 }),
        ]
    );
    let window = Window {
        west: 144.42,
        south: -37.96,
        east: 144.43,
        north: -37.94,
    };
    let mask: Mask = [
        window,
        Window {
            west: 145.1,
            south: -37.1,
            east: 145.2,
            north: -37.0,
        },
    ]
    .into_iter()
    .collect();
    for near in [
        None,
        Some(Mask::from(window)),
        Some(mask),
        Some(Mask::default()),
    ] {
        let (before, after) = (read(from.path(), near.clone()), read(&prepared, near));
        assert!(before == after, "{before}\n---\n{after}");
    }
    let inspected = |folder: &Path| {
        let mut inspection = serde_json::to_value(inspect(folder).unwrap()).unwrap();
        inspection["folder"] = "".into();
        inspection
    };
    assert_eq!(inspected(from.path()), inspected(&prepared));
}

#[test]
fn a_folder_is_replaced_only_where_it_was_prepared() {
    let from = folder(&[("structures.geojson", ODD), ("layers.toml", "")]);
    let out = tempfile::tempdir().unwrap();
    let place = out.path().join("prepared");
    prepare(from.path(), &place).unwrap();
    prepare(from.path(), &place).unwrap();
    let listed = |folder: &Path| {
        let mut names: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    let ours = [
        "layers.toml",
        "prepared.toml",
        "structures.fgb",
        "structures.rest.geojson",
    ];
    assert_eq!(listed(&place), ours);
    fs::write(place.join("notes.md"), "mine").unwrap();
    let refused = |from: &Path, place: &Path| prepare(from, place).unwrap_err().to_string();
    assert!(
        refused(from.path(), &place).contains("holds notes.md, which eaves prepare did not write")
    );
    assert_eq!(listed(&place).len(), 5);
    assert!(refused(from.path(), &from.path().join("in")).contains("lies within the layers"));
    assert!(refused(from.path(), from.path()).contains("lies within the layers"));
    assert!(refused(&place, &out.path().join("twice")).contains("is prepared already"));
    fs::write(from.path().join("structures.geojson"), &ODD[..900]).unwrap();
    let other = out.path().join("other");
    assert!(refused(from.path(), &other).contains("it is truncated"));
    assert_eq!(listed(out.path()), ["prepared"]);
}

#[test]
fn damaged_prepared_layers_are_refused() {
    let from = folder(&[("structures.geojson", ODD)]);
    let out = tempfile::tempdir().unwrap();
    let place = out.path().join("prepared");
    prepare(from.path(), &place).unwrap();
    let file = place.join("structures.fgb");
    let bytes = fs::read(&file).unwrap();
    let options = ReadOptions::default();
    for at in (0..bytes.len()).step_by(7) {
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x55;
        fs::write(&file, &damaged).unwrap();
        // Any answer or one clear error, and no panic.
        if let Err(error) = layers(&place, &options) {
            assert_eq!(error.to_string().lines().count(), 1);
        }
    }
    for keep in [0, 5, 11, 40, bytes.len() / 2, bytes.len() - 1] {
        fs::write(&file, &bytes[..keep]).unwrap();
        let error = layers(&place, &options).unwrap_err().to_string();
        assert!(error.contains("structures.fgb: is damaged ("), "{error}");
    }
}
