//! The JSON Schemas of the layers: valid by themselves, true of real and invented layers, and in
//! step with what is read.

use std::fs;
use std::path::{Path, PathBuf};

use eaves::read::{ReadOptions, layers};
use serde_json::{Value, json};

use crate::read_lines::folder;

const LAYERS: [&str; 7] = [
    "aerodromes",
    "runways",
    "power-lines",
    "power-supports",
    "structures",
    "airspace",
    "plan",
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn parsed(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

fn schema(layer: &str) -> Value {
    parsed(&root().join(format!("layers/schema/{layer}.schema.json")))
}

fn faults(layer: &str, document: &Value) -> Vec<String> {
    jsonschema::validator_for(&schema(layer))
        .unwrap()
        .iter_errors(document)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

/// Against the meta-schema of JSON Schema 2020-12, which the validating crate holds.
#[test]
fn schemas_are_schemas() {
    for layer in LAYERS {
        assert!(jsonschema::meta::is_valid(&schema(layer)), "{layer}");
    }
}

#[test]
fn real_layers_satisfy_their_schemas() {
    for (layer, file) in [
        ("aerodromes", "aerodromes.geojson"),
        ("runways", "runways.geojson"),
        ("power-lines", "power_lines.geojson"),
        ("power-supports", "power_supports.geojson"),
    ] {
        let document = parsed(&root().join("tests/data/krems").join(file));
        assert_eq!(faults(layer, &document), Vec::<String>::new(), "{layer}");
    }
}

fn collection(geometry: Value, properties: Value) -> Value {
    json!({"type": "FeatureCollection", "features": [
        {"type": "Feature", "id": "x", "properties": properties, "geometry": geometry}
    ]})
}

#[test]
fn schemas_refuse_what_they_should() {
    let point = json!({"type": "Point", "coordinates": [150, -31]});
    let good = collection(point.clone(), json!({"kind": "silo", "height": "20 m"}));
    assert_eq!(faults("structures", &good), Vec::<String>::new());
    for (layer, document) in [
        (
            "structures",
            collection(point.clone(), json!({"height_m": "20 m"})),
        ),
        (
            "structures",
            collection(point.clone(), json!({"height_m": -1})),
        ),
        (
            "structures",
            collection(point.clone(), json!({"permanence": "perhaps"})),
        ),
        (
            "structures",
            collection(
                json!({"type": "Point", "coordinates": ["150", -31]}),
                json!({}),
            ),
        ),
        ("structures", collection(Value::Null, json!({}))),
        (
            "power-lines",
            collection(point.clone(), json!({"sag_share_of_span": 3})),
        ),
        ("runways", collection(point.clone(), json!({}))),
        ("plan", collection(point.clone(), json!({}))),
        ("plan", collection(point.clone(), json!({"role": "a|b"}))),
        (
            "plan",
            collection(
                json!({"type": "LineString", "coordinates": [[150, -31], [151, -31]]}),
                json!({"role": "crew"}),
            ),
        ),
        (
            "power-lines",
            collection(point.clone(), json!({"clearance_m": -1})),
        ),
        ("aerodromes", json!({"type": "Feature"})),
        ("aerodromes", collection(point, json!({"part": "garden"}))),
    ] {
        assert!(!faults(layer, &document).is_empty(), "{layer}: {document}");
    }
}

/// Each numeric attribute of an obstacle that a schema names changes the record that is read.
#[test]
fn what_the_schema_names_is_read() {
    for (attribute, value) in [
        ("height", json!("20 m")),
        ("height_m", json!(20)),
        ("height_ft", json!(65)),
        ("top_m_amsl", json!(400)),
        ("top_ft_amsl", json!(1300)),
        ("horizontal_accuracy_m", json!(1)),
        ("vertical_accuracy_m", json!(1)),
        ("permanence", json!("permanent")),
        ("name", json!("North bin")),
        ("kind", json!("silo")),
        ("building", json!("yes")),
        ("man_made", json!("mast")),
        ("temporary", json!("yes")),
    ] {
        let named = &schema("structures")["properties"]["features"]["items"]["properties"]["properties"]
            ["properties"];
        assert!(
            named.get(attribute).is_some(),
            "{attribute} is not in the schema"
        );
        let point = json!({"type": "Point", "coordinates": [150, -31]});
        let read = |properties: Value| {
            let text = collection(point.clone(), properties).to_string();
            let folder = folder(&[("structures.geojson", &text)]);
            layers(folder.path(), &ReadOptions::default())
                .unwrap()
                .obstacles
                .get(0)
                .unwrap()
        };
        assert_ne!(
            read(json!({attribute: value})),
            read(json!({})),
            "{attribute}"
        );
    }
}

/// The data dictionary names every key of `layers.toml` and every layer.
#[test]
fn the_dictionary_names_every_key() {
    let dictionary = fs::read_to_string(root().join("layers/README.md")).unwrap();
    let message = eaves::read::mapping::Declarations::parse("[structures]\nnonsense = 1\n")
        .unwrap_err()
        .to_string();
    let keys: Vec<&str> = message.split('`').skip(3).step_by(2).collect();
    assert_eq!(keys.len(), 19, "{keys:?}");
    for key in keys.iter().chain(&LAYERS) {
        assert!(dictionary.contains(&format!("`{key}`")), "{key}");
    }
}
