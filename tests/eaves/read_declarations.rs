//! `layers.toml`: what it may hold, and the exact messages about what it may not.

use eaves::read::mapping::Declarations;
use eaves::read::{ReadOptions, layers};

use crate::read_lines::folder;

fn error(toml: &str) -> String {
    Declarations::parse(toml).unwrap_err().to_string()
}

#[test]
fn every_documented_key_is_understood() {
    let declarations = Declarations::parse(
        r#"
[power-lines]
file = "lines.shp"
table = "lines"
crs = "EPSG:7855"
height_unit = "ft"
voltage_unit = "kV"
vertical_reference = "above_ground"
line_height_is = "support_top"
horizontal_accuracy_m = 2
vertical_accuracy_m = 1.5
date = 2025-03-01
source = "Invented survey"
licence = "CC BY 4.0"
attribution = "Invented Grid"
permanence = "permanent"
vertices_are_supports = true
sag = { weight_per_m = 16.0, horizontal_tension = 28000.0 }
[power-lines.attributes]
height = "HT"
name = "LINE"
[power_supports]
date = "about 2019"
"#,
    )
    .unwrap();
    let lines = &declarations.power_lines;
    assert_eq!(lines.date().as_deref(), Some("2025-03-01"));
    assert_eq!(
        lines.source().as_deref(),
        Some("Invented survey; Invented Grid; CC BY 4.0")
    );
    assert_eq!(lines.horizontal_accuracy().unwrap().m(), 2.0);
    assert_eq!(
        declarations.power_supports.date().as_deref(),
        Some("about 2019")
    );
}

#[test]
fn faults_are_named_with_line_and_allowed_keys() {
    for (toml, message) in [
        (
            "[structures]\nheigth_unit = \"m\"\n",
            "line 2: unknown field `heigth_unit`, expected one of `file`, `table`, `crs`, \
             `height_unit`, `voltage_unit`, `vertical_reference`, `line_height_is`, \
             `horizontal_accuracy_m`, `vertical_accuracy_m`, `clearance_m`, `wire_offset_m`, `date`, `source`, `licence`, \
             `attribution`, `permanence`, `vertices_are_supports`, `sag`, `attributes`; see \
             layers/README.md for the keys",
        ),
        (
            "[buildings]\n",
            "line 1: unknown field `buildings`, expected one of `aerodromes`, `runways`, \
             `power-lines`, `power_lines`, `power-supports`, `power_supports`, `structures`, \
             `airspace`, `plan`, `terrain`; see layers/README.md for the keys",
        ),
        (
            "[structures]\nheight_unit = \"cm\"\n",
            "line 2: unknown variant `cm`, expected `m` or `ft`; see layers/README.md for the keys",
        ),
        (
            "[structures]\nhorizontal_accuracy_m = -1\n",
            "feature [structures] horizontal_accuracy_m: is not between 0 and 1000 metres; give it \
             in metres",
        ),
        (
            "[structures]\nvertical_accuracy_m = nan\n",
            "feature [structures] vertical_accuracy_m: is not between 0 and 1000 metres; give it \
             in metres",
        ),
        (
            "[structures.attributes]\nhieght = \"H\"\n",
            "feature [structures] attributes: \"hieght\" is not an attribute of this layer; use \
             one of name, kind, height, voltage, permanence, horizontal_accuracy, \
             vertical_accuracy, sag, clearance, wire_offset",
        ),
        (
            "[power-lines]\nsag = { metres = 3, share_of_span = 0.02 }\n",
            "feature [power-lines] sag: does not say one thing; give metres, or share_of_span, or \
             weight_per_m with horizontal_tension",
        ),
        (
            "[power-lines]\nsag = { weight_per_m = 3 }\n",
            "feature [power-lines] sag: does not say one thing; give metres, or share_of_span, or \
             weight_per_m with horizontal_tension",
        ),
        (
            "[power-lines]\nsag = { share_of_span = 3 }\n",
            "feature [power-lines] sag: is out of range; give positive numbers, a share of span as \
             0.03 for 3 %",
        ),
        (
            "[power-lines]\nline_height_is = \"lowest_wire\"\nsag = { metres = 3 }\n",
            "feature [power-lines] sag: contradicts line_height_is = \"lowest_wire\"; leave one of \
             the two out",
        ),
    ] {
        assert_eq!(error(toml), message);
    }
    assert!(error("[structures\n").starts_with("line 1: "));
}

#[test]
fn the_file_is_named_in_the_error() {
    let folder = folder(&[("layers.toml", "[nonsense]\n")]);
    let message = layers(folder.path(), &ReadOptions::default())
        .unwrap_err()
        .to_string();
    let path = folder.path().join("layers.toml");
    assert!(message.starts_with(&format!("{}: line 1: ", path.display())));
}
