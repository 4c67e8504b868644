//! Structures: kinds, permanence, heights and accuracies.

use eaves::obstacle::{Obstacle, ObstacleKind, Permanence, Shape, VerticalReference};
use eaves::read::{Layers, Obstacles, ReadOptions, Window, layers};

use crate::read_lines::folder;

fn point(properties: &str) -> String {
    feature(properties, r#"{"type":"Point","coordinates":[150,-31]}"#)
}

fn feature(properties: &str, geometry: &str) -> String {
    format!(r#"{{"type":"Feature","id":"s","properties":{properties},"geometry":{geometry}}}"#)
}

fn read_with(features: &[String], toml: &str) -> Layers {
    let text = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    );
    let folder = folder(&[("structures.geojson", &text), ("layers.toml", toml)]);
    layers(folder.path(), &ReadOptions::default()).unwrap()
}

fn only(properties: &str, toml: &str) -> Obstacle {
    let layers = read_with(&[point(properties)], toml);
    assert_eq!(layers.obstacles.len(), 1);
    layers.obstacles.get(0).unwrap()
}

/// Keys and values as in OpenStreetMap's "Key:building", "Key:man_made", "Key:power" (from memory).
#[test]
fn kind_and_permanence_come_from_the_tags() {
    use ObstacleKind::{Building, Structure, Support};
    use Permanence::{Permanent, Temporary, Unknown};
    for (properties, kind, permanence) in [
        (r#"{"building":"yes"}"#, Building, Permanent),
        (r#"{"building":"church"}"#, Building, Permanent),
        (r#"{"building":"construction"}"#, Building, Temporary),
        (
            r#"{"building":"yes","construction":"minor"}"#,
            Building,
            Temporary,
        ),
        (r#"{"building":"ruins"}"#, Building, Unknown),
        (
            r#"{"man_made":"crane"}"#,
            Structure("crane".into()),
            Temporary,
        ),
        (
            r#"{"man_made":"crane","permanence":"permanent"}"#,
            Structure("crane".into()),
            Temporary,
        ),
        (
            r#"{"man_made":"water_tower"}"#,
            Structure("water tower".into()),
            Permanent,
        ),
        (
            r#"{"man_made":"silo"}"#,
            Structure("silo".into()),
            Permanent,
        ),
        (r#"{"kind":"silo"}"#, Structure("silo".into()), Permanent),
        (
            r#"{"kind":"Tower crane"}"#,
            Structure("tower crane".into()),
            Temporary,
        ),
        (r#"{"kind":"building"}"#, Building, Permanent),
        (
            r#"{"man_made":"works"}"#,
            Structure("works".into()),
            Unknown,
        ),
        (r#"{"natural":"tree"}"#, Structure("tree".into()), Unknown),
        (r#"{"power":"tower"}"#, Support, Permanent),
        (r#"{}"#, Structure("structure".into()), Unknown),
        (
            r#"{"permanence":"permanent"}"#,
            Structure("structure".into()),
            Permanent,
        ),
        (
            r#"{"building":"yes","temporary":"yes"}"#,
            Building,
            Temporary,
        ),
        (
            r#"{"building":"yes","man_made":"silo"}"#,
            Structure("silo".into()),
            Permanent,
        ),
    ] {
        let obstacle = only(properties, "");
        assert_eq!(
            (obstacle.kind, obstacle.permanence),
            (kind, permanence),
            "{properties}"
        );
    }
    assert_eq!(
        only("{}", "[structures]\npermanence = \"permanent\"\n").permanence,
        Permanent
    );
    assert_eq!(
        only(
            r#"{"man_made":"crane"}"#,
            "[structures]\npermanence = \"permanent\"\n"
        )
        .permanence,
        Temporary
    );
}

#[test]
fn heights_follow_the_declaration() {
    use VerticalReference::{AboveGround, MeanSeaLevel};
    for (properties, toml, expected) in [
        (r#"{"height":"20 m"}"#, "", Some((20.0, AboveGround))),
        (
            r#"{"height":20}"#,
            "[structures]\nheight_unit = \"ft\"",
            Some((6.096, AboveGround)),
        ),
        (
            r#"{"height_m":20}"#,
            "[structures]\nheight_unit = \"ft\"",
            Some((20.0, AboveGround)),
        ),
        (r#"{"height_ft":100}"#, "", Some((30.48, AboveGround))),
        (r#"{"HEIGHT":20}"#, "", Some((20.0, AboveGround))),
        (r#"{"top_m_amsl":420}"#, "", Some((420.0, MeanSeaLevel))),
        (
            r#"{"height":420}"#,
            "[structures]\nvertical_reference = \"mean_sea_level\"",
            Some((420.0, MeanSeaLevel)),
        ),
        (
            r#"{"TOP":"100 ft","height":3}"#,
            "[structures.attributes]\nheight = \"TOP\"",
            Some((30.48, AboveGround)),
        ),
        // Of two that agree the lower is trusted; two that do not agree are unclear.
        (
            r#"{"height_m":30.48,"height_ft":99}"#,
            "",
            Some((30.1752, AboveGround)),
        ),
        (r#"{"height_m":20,"height_ft":20}"#, "", None),
        (r#"{"est_height":20}"#, "", None),
        (r#"{"building:levels":5}"#, "", None),
        (r#"{"min_height":5}"#, "", None),
        (r#"{"height":0}"#, "", None),
        (r#"{"height":-3}"#, "", None),
        (r#"{"height":1001}"#, "", None),
        (r#"{"height":"20-30"}"#, "", None),
        (r#"{"height":null}"#, "", None),
        (r#"{"height":20,"vertical_accuracy_m":"good"}"#, "", None),
    ] {
        let top = only(properties, toml)
            .top
            .map(|top| (top.value_m, top.reference));
        match (top, expected) {
            (Some((found, reference)), Some((wanted, wanted_reference))) => {
                assert!((found - wanted).abs() < 1e-9, "{properties}: {found}");
                assert_eq!(reference, wanted_reference, "{properties}");
            }
            (found, wanted) => assert_eq!(found, wanted, "{properties}"),
        }
    }
}

#[test]
fn what_is_unclear_is_a_caution_and_what_is_missing_is_counted() {
    let layers = read_with(
        &[
            point(r#"{"building":"yes","height":"20;30"}"#),
            point(r#"{"building":"yes","height":0}"#),
            point(r#"{"building":"yes","height_m":20,"height_ft":20}"#),
            point(r#"{"building":"yes","est_height":20}"#),
            point(r#"{"building":"yes"}"#),
        ],
        "",
    );
    let defects: Vec<_> = layers
        .cautions
        .as_slice()
        .iter()
        .map(|caution| (caution.defect.as_str(), caution.count))
        .collect();
    assert_eq!(
        defects,
        [
            ("has a height that is not one number with a known unit", 1),
            ("has a height that is not above 0", 1),
            ("has two heights that contradict one another", 1),
            ("has an estimated height only (est_height)", 1),
        ]
    );
    for caution in layers.cautions.as_slice() {
        assert_eq!(
            caution.effect,
            "not a shield; counted as an obstacle of unknown height"
        );
    }
    let heights = layers
        .not_assessed
        .iter()
        .find(|entry| entry.what == "heights of structures")
        .unwrap();
    assert_eq!(heights.count, 5);
    assert_eq!(
        heights.why,
        "no height, or an unclear one; none of them is a shield"
    );
}

#[test]
fn accuracies_are_the_features_then_the_layers_plus_the_datum() {
    let declared = "[structures]\nhorizontal_accuracy_m = 2\nvertical_accuracy_m = 3\n";
    let obstacle = only(r#"{"height":20}"#, declared);
    assert_eq!(
        (
            obstacle.horizontal_accuracy.m(),
            obstacle.vertical_accuracy.m()
        ),
        (2.0, 3.0)
    );
    let own = only(
        r#"{"height":20,"horizontal_accuracy_m":0.5,"vertical_accuracy_m":"1 m"}"#,
        declared,
    );
    assert_eq!(
        (own.horizontal_accuracy.m(), own.vertical_accuracy.m()),
        (0.5, 1.0)
    );
    // GDA2020 taken as WGS 84 is accurate to 3 m (EPSG database).
    let shifted = only(
        r#"{"height":20}"#,
        &format!("{declared}crs = \"EPSG:7844\"\n"),
    );
    assert_eq!(shifted.horizontal_accuracy.m(), 5.0);
    let layers = read_with(&[point(r#"{"height":20}"#)], "");
    assert_eq!(
        layers.cautions.as_slice()[0].defect,
        "does not state its horizontal and vertical accuracy"
    );
}

#[test]
fn the_datum_is_said_in_the_summary_and_a_caution() {
    let layers = read_with(
        &[point(r#"{"height":20}"#)],
        "[structures]\ncrs = \"EPSG:7844\"\nhorizontal_accuracy_m = 0\nvertical_accuracy_m = 0\n",
    );
    assert_eq!(
        layers.summaries[0].crs,
        "GDA2020 (EPSG:7844): GDA2020 to WGS 84 (2), accurate to 3 m, which is added to the \
         horizontal accuracy of obstacles"
    );
    let caution = &layers.cautions.as_slice()[0];
    assert_eq!(
        caution.defect,
        "is in GDA2020 (EPSG:7844), which is taken as WGS 84 unchanged"
    );
    assert_eq!(
        caution.effect,
        "its positions are within 3 m, which is added to the horizontal accuracy of obstacles"
    );
}

#[test]
fn parts_become_records_and_bad_geometry_a_caution() {
    let layers = read_with(
        &[
            feature(
                r#"{"building":"yes"}"#,
                r#"{"type":"MultiPolygon","coordinates":[[[[150,-31],[150.001,-31],[150,-30.999],[150,-31]]],[[[150.01,-31],[150.011,-31],[150.01,-30.999],[150.01,-31]]]]}"#,
            ),
            feature(
                r#"{"barrier":"wall"}"#,
                r#"{"type":"LineString","coordinates":[[150,-31],[150.001,-31]]}"#,
            ),
            feature(r#"{"building":"yes"}"#, "null"),
            feature(
                r#"{"building":"yes"}"#,
                r#"{"type":"Point","coordinates":["150","-31"]}"#,
            ),
            feature(
                r#"{"building":"yes"}"#,
                r#"{"type":"Point","coordinates":[150,-91]}"#,
            ),
        ],
        "",
    );
    let records: Vec<Obstacle> = layers.obstacles.iter().collect();
    assert_eq!(records.len(), 3);
    assert_eq!(records[1].source.feature, "s part 2");
    assert!(matches!(records[2].shape, Shape::Chain(_)));
    let defects: Vec<_> = layers
        .cautions
        .as_slice()
        .iter()
        .map(|c| c.defect.as_str())
        .collect();
    assert_eq!(
        defects,
        [
            "a coordinate is text, not a number",
            "the latitude -91 is beyond 90 degrees: the coordinates are not degrees",
            "has no geometry",
        ]
    );
    let unread = &layers.not_assessed[0];
    assert_eq!(unread.what, "features of structures");
    assert_eq!(unread.count, 2);
    assert_eq!(layers.summaries[0].features, 5);
}

fn at(lon: f64, lat: f64, index: usize) -> Obstacle {
    let mut obstacle = only(r#"{"height":20}"#, "");
    obstacle.source.feature = index.to_string().into();
    obstacle.shape = Shape::Point(eaves::frame::LonLat::wrapped(lon, lat));
    obstacle
}

#[test]
fn near_finds_across_the_antimeridian_each_once_and_in_order() {
    use eaves::frame::LonLat;
    let mut records: Vec<Obstacle> = [
        (179.99, 0.0),
        (-179.99, 0.0),
        (0.0, 0.0),
        (180.0, 0.0),
        (-180.0, 0.0),
    ]
    .iter()
    .enumerate()
    .map(|(i, (lon, lat))| at(*lon, *lat, i))
    .collect();
    let mut crossing = at(0.0, 0.0, 5);
    crossing.shape = Shape::Chain(vec![
        LonLat::wrapped(179.9, 0.5),
        LonLat::wrapped(-179.9, 0.5),
        LonLat::wrapped(-179.8, 0.5),
    ]);
    records.push(crossing);
    let obstacles = Obstacles::new(records);
    let found = |west: f64, east: f64, south: f64, north: f64| -> Vec<String> {
        obstacles
            .near(Window {
                west,
                south,
                east,
                north,
            })
            .iter()
            .map(|obstacle| obstacle.source.feature.to_string())
            .collect()
    };
    assert_eq!(found(179.98, -179.98, -0.1, 0.1), ["0", "1", "3", "4"]);
    assert_eq!(found(179.995, 180.0, -0.1, 0.1), ["3", "4"]);
    assert_eq!(found(-179.95, -179.94, 0.4, 0.6), ["5"]);
    assert_eq!(found(179.95, 179.96, 0.4, 0.6), ["5"]);
    assert_eq!(found(0.0, 1.0, 0.4, 0.6), Vec::<String>::new());
    assert_eq!(found(-180.0, 180.0, -90.0, 90.0).len(), 6);
}
