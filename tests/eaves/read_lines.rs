//! Power lines cut at their supports, through a folder of layers.

use std::fs;
use std::path::Path;

use eaves::obstacle::{HeightBasis, Obstacle, ObstacleKind, Sag, Shape};
use eaves::read::{Layers, ReadOptions, Window, layers};

pub fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn collection(features: &[String]) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

fn line(id: &str, properties: &str, coordinates: &str) -> String {
    format!(
        r#"{{"type":"Feature","id":"{id}","properties":{{"power":"line"{properties}}},"geometry":{{"type":"LineString","coordinates":{coordinates}}}}}"#
    )
}

fn support(id: &str, properties: &str, at: &str) -> String {
    format!(
        r#"{{"type":"Feature","id":"{id}","properties":{{"power":"tower"{properties}}},"geometry":{{"type":"Point","coordinates":{at}}}}}"#
    )
}

fn read(folder: &Path) -> Layers {
    layers(folder, &ReadOptions::default()).unwrap()
}

fn spans(layers: &Layers) -> Vec<Obstacle> {
    layers
        .obstacles
        .iter()
        .filter(|obstacle| obstacle.kind == ObstacleKind::Span)
        .collect()
}

fn supports(layers: &Layers) -> Vec<Obstacle> {
    layers
        .obstacles
        .iter()
        .filter(|obstacle| obstacle.kind == ObstacleKind::Support)
        .collect()
}

fn effects(layers: &Layers) -> Vec<String> {
    layers
        .cautions
        .as_slice()
        .iter()
        .map(|caution| {
            format!(
                "{} {}; {}",
                caution.features.join(","),
                caution.defect,
                caution.effect
            )
        })
        .collect()
}

const FOUR: &str = "[[150,-31],[150.004,-31],[150.006,-31.0005],[150.008,-31]]";

#[test]
fn a_line_is_cut_at_its_supports_and_bends_between() {
    let lines = collection(&[line(
        "way/1",
        r#","height":"40 m","voltage":"110000;20000""#,
        FOUR,
    )]);
    let towers = collection(&[
        support("node/1", r#","height":45"#, "[150,-31]"),
        support("node/2", "", "[150.004,-31]"),
        support("node/3", r#","height":"about 38""#, "[150.008,-31]"),
    ]);
    let folder = folder(&[
        ("power_lines.geojson", &lines),
        ("power-supports.geojson", &towers),
    ]);
    let layers = read(folder.path());
    let spans = spans(&layers);
    assert_eq!(spans.len(), 2);
    let details: Vec<_> = spans
        .iter()
        .map(|span| span.span.clone().unwrap())
        .collect();
    assert_eq!(details[0].index, 0);
    assert_eq!(details[1].index, 1);
    assert_eq!(details[0].voltage_v, Some(110_000.0));
    assert_eq!(details[0].sag, None);
    // The support's own height, then the line's; the lower of the two counts.
    assert_eq!(details[0].ends[0].top.unwrap().value_m, 45.0);
    assert_eq!(details[0].ends[1].top.unwrap().value_m, 40.0);
    assert_eq!(spans[0].top.unwrap().value_m, 40.0);
    assert_eq!(
        details[0].ends[0].support.as_ref().unwrap().feature,
        "node/1"
    );
    // A support with an unclear height lends nothing, and takes nothing from the line.
    assert_eq!(details[1].ends[1].top, None);
    assert_eq!(spans[1].top, None);
    assert!(matches!(&spans[1].shape, Shape::Chain(places) if places.len() == 3));
    // 0.004 degrees of longitude at 31 S are 382 m on the ellipsoid: a cos(31) pi/180 0.004 / sqrt(1 - e2 sin2(31)).
    assert!(
        (details[0].length.m() - 382.02).abs() < 0.05,
        "{:?}",
        details[0].length
    );
    let tops: Vec<_> = supports(&layers)
        .iter()
        .map(|support| support.top.map(|top| top.value_m))
        .collect();
    assert_eq!(tops, [Some(45.0), Some(40.0), None]);
    assert!(effects(&layers).contains(
        &"node/3 has a height that is not one number with a known unit; not a shield; counted as an obstacle of unknown height".to_owned()
    ));
}

#[test]
fn without_supports_each_vertex_is_one_and_that_is_said() {
    let lines = collection(&[line("way/1", r#","height":40"#, FOUR)]);
    let folder = folder(&[("power_lines.geojson", &lines)]);
    let layers = read(folder.path());
    assert_eq!(spans(&layers).len(), 3);
    let supports = supports(&layers);
    assert_eq!(supports.len(), 4);
    assert_eq!(supports[2].source.feature, "way/1 vertex 3");
    assert_eq!(supports[2].top.unwrap().value_m, 40.0);
    assert!(effects(&layers).contains(
        &"way/1 has no support on any of its vertices; each vertex is taken for a support; declare vertices_are_supports in layers.toml".to_owned()
    ));
}

#[test]
fn vertices_are_supports_can_be_declared_either_way() {
    let lines = collection(&[line("way/1", r#","height":40"#, FOUR)]);
    for (declared, count) in [("true", 3), ("false", 1)] {
        let folder = folder(&[
            ("power_lines.geojson", &lines),
            (
                "layers.toml",
                &format!("[power-lines]\nvertices_are_supports = {declared}\n"),
            ),
        ]);
        let layers = read(folder.path());
        assert_eq!(spans(&layers).len(), count);
        assert!(
            effects(&layers)
                .iter()
                .all(|effect| !effect.contains("each vertex"))
        );
        // One chain from end to end: nothing is known to hold the wire up there.
        assert_eq!(spans(&layers)[0].top.is_some(), declared == "true");
    }
}

#[test]
fn a_line_that_ends_without_a_support_does_not_shield_there() {
    let lines = collection(&[line(
        "way/1",
        r#","height":40"#,
        "[[150,-31],[150.004,-31],[150.008,-31]]",
    )]);
    let towers = collection(&[
        support("node/1", "", "[150,-31]"),
        support("node/2", "", "[150.004,-31]"),
    ]);
    let folder = folder(&[
        ("power_lines.geojson", &lines),
        ("supports.geojson", &towers),
    ]);
    let layers = read(folder.path());
    let tops: Vec<_> = spans(&layers)
        .iter()
        .map(|span| span.top.is_some())
        .collect();
    assert_eq!(tops, [true, false]);
    assert!(effects(&layers).contains(
        &"way/1 ends where no support is given; its span there is not a shield".to_owned()
    ));
}

#[test]
fn a_support_two_metres_off_matches_and_three_metres_off_does_not() {
    // One degree of latitude at 31 S is 110 861 m (closed form), so 1.9 m and 3 m are:
    for (offset_deg, matches) in [(1.9 / 110_861.0, true), (3.0 / 110_861.0, false)] {
        let lines = collection(&[line(
            "way/1",
            r#","height":40"#,
            "[[150,-31],[150.004,-31],[150.008,-31]]",
        )]);
        let towers = collection(&[
            support("node/1", "", "[150,-31]"),
            support("node/2", "", &format!("[150.004,{}]", -31.0 + offset_deg)),
            support("node/3", "", "[150.008,-31]"),
        ]);
        let folder = folder(&[
            ("power_lines.geojson", &lines),
            ("supports.geojson", &towers),
        ]);
        let layers = read(folder.path());
        assert_eq!(spans(&layers).len(), if matches { 2 } else { 1 });
    }
}

#[test]
fn an_implausible_span_is_kept_without_a_top() {
    // 0.0156 degrees of longitude at 31 S are 1490 m, 0.0160 are 1528 m.
    for (east, keeps) in [("150.0156", true), ("150.0160", false)] {
        let lines = collection(&[line(
            "way/1",
            r#","height":40"#,
            &format!("[[150,-31],[{east},-31]]"),
        )]);
        let folder = folder(&[("power_lines.geojson", &lines)]);
        let layers = read(folder.path());
        assert_eq!(spans(&layers)[0].top.is_some(), keeps);
        assert_eq!(
            effects(&layers).contains(
                &"way/1 has a span longer than 1500 m, so supports are missing from the data; that span is not a shield".to_owned()
            ),
            !keeps
        );
    }
}

#[test]
fn sag_is_the_features_then_the_layers_then_the_assumed() {
    let lines = collection(&[
        line(
            "way/1",
            r#","height":40,"sag_m":6.5"#,
            "[[150,-31],[150.004,-31]]",
        ),
        line("way/2", r#","height":40"#, "[[150,-31.1],[150.004,-31.1]]"),
    ]);
    let declared = folder(&[
        ("power_lines.geojson", &lines),
        (
            "layers.toml",
            "[power-lines]\nsag = { share_of_span = 0.03 }\n",
        ),
    ]);
    let sags = |layers: &Layers| -> Vec<Option<Sag>> {
        spans(layers)
            .iter()
            .map(|span| span.span.as_ref().unwrap().sag)
            .collect()
    };
    assert_eq!(
        sags(&read(declared.path())),
        [Some(Sag::Metres(6.5)), Some(Sag::ShareOfSpan(0.03))]
    );
    let undeclared = folder(&[("power_lines.geojson", &lines)]);
    assert_eq!(
        sags(&read(undeclared.path())),
        [Some(Sag::Metres(6.5)), None]
    );
    let options = ReadOptions {
        assumed_sag: Some(Sag::Metres(9.0)),
        ..ReadOptions::default()
    };
    assert_eq!(
        sags(&layers(undeclared.path(), &options).unwrap()),
        [Some(Sag::Metres(6.5)), Some(Sag::Metres(9.0))]
    );
    let assumed = layers(undeclared.path(), &options).unwrap();
    assert!(effects(&assumed).contains(
        &"way/2 does not state its sag; the sag that was asked for is assumed; declare sag in layers.toml".to_owned()
    ));
    let lowest = folder(&[
        ("power_lines.geojson", &lines),
        (
            "layers.toml",
            "[power-lines]\nline_height_is = \"lowest_wire\"\n",
        ),
    ]);
    assert_eq!(sags(&read(lowest.path()))[1], Some(Sag::Included));
}

#[test]
fn heights_are_estimated_only_on_demand_and_marked() {
    let lines = collection(&[line("way/1", r#","voltage":"132000""#, FOUR)]);
    let folder = folder(&[("power_lines.geojson", &lines)]);
    assert_eq!(spans(&read(folder.path()))[0].top, None);
    let options = ReadOptions {
        estimate_line_heights: true,
        ..ReadOptions::default()
    };
    let layers = layers(folder.path(), &options).unwrap();
    let top = spans(&layers)[0].top.unwrap();
    assert_eq!(top.basis, HeightBasis::Estimate);
    // Below the 15 m that transmission towers reach at the least (checks of structure heights).
    assert!(top.value_m <= 15.0);
    let caution = layers
        .cautions
        .as_slice()
        .iter()
        .find(|caution| caution.defect.contains("ESTIMATE"))
        .unwrap();
    assert_eq!(caution.features, ["way/1"]);
}

#[test]
fn cables_in_the_ground_are_no_obstacles() {
    let lines = collection(&[
        r#"{"type":"Feature","id":"way/9","properties":{"power":"cable"},"geometry":{"type":"LineString","coordinates":[[150,-31],[150.01,-31]]}}"#.to_owned(),
        line("way/1", r#","location":"underground""#, FOUR),
    ]);
    let folder = folder(&[("power_lines.geojson", &lines)]);
    let layers = read(folder.path());
    assert!(layers.obstacles.is_empty());
    assert!(
        effects(&layers)
            .contains(&"way/9,way/1 is a cable below ground or water; not an obstacle".to_owned())
    );
}

#[test]
fn a_window_keeps_what_touches_it_with_the_same_supports() {
    // Twelve spans of 382 m; the window touches the middle only, but the cuts stay the same.
    let places: Vec<String> = (0..13)
        .map(|i| format!("[{:.4},-31]", 150.0 + 0.004 * f64::from(i)))
        .collect();
    let lines = collection(&[line(
        "way/1",
        r#","height":40"#,
        &format!("[{}]", places.join(",")),
    )]);
    let towers: Vec<String> = places
        .iter()
        .enumerate()
        .filter(|(i, _)| i % 2 == 0)
        .map(|(i, at)| support(&format!("node/{i}"), "", at))
        .collect();
    let folder = folder(&[
        ("power_lines.geojson", &lines),
        ("supports.geojson", &collection(&towers)),
    ]);
    let whole = read(folder.path());
    assert_eq!(spans(&whole).len(), 6);
    let window = Window {
        west: 150.021,
        south: -31.001,
        east: 150.022,
        north: -30.999,
    };
    let options = ReadOptions {
        near: Some(window.into()),
        ..ReadOptions::default()
    };
    let near = layers(folder.path(), &options).unwrap();
    let near: Vec<Obstacle> = near.obstacles.iter().collect();
    assert_eq!(near.len(), 1);
    assert_eq!(near[0], whole.obstacles.near(window)[0]);
    assert_eq!(near[0].span.as_ref().unwrap().index, 2);
}

#[test]
fn voltages_below_a_thousand_need_their_unit() {
    for (property, declared, volts) in [
        (r#","voltage":"220""#, "", None),
        (
            r#","voltage":220"#,
            "voltage_unit = \"kV\"",
            Some(220_000.0),
        ),
        (r#","voltage":"400""#, "voltage_unit = \"V\"", Some(400.0)),
        (r#","voltage_kv":66"#, "", Some(66_000.0)),
        (r#","voltage":"110 kV""#, "", Some(110_000.0)),
        (r#","voltage":"110000;x""#, "", Some(110_000.0)),
        (r#","voltage":"high""#, "", None),
    ] {
        let lines = collection(&[line("way/1", property, FOUR)]);
        let folder = folder(&[
            ("power_lines.geojson", &lines),
            ("layers.toml", &format!("[power-lines]\n{declared}\n")),
        ]);
        let layers = read(folder.path());
        assert_eq!(
            spans(&layers)[0].span.as_ref().unwrap().voltage_v,
            volts,
            "{property}"
        );
        assert_eq!(
            effects(&layers)
                .iter()
                .any(|effect| effect.contains("voltage that is unclear")),
            volts.is_none()
        );
    }
}

#[test]
fn a_span_is_no_better_known_than_its_supports_nor_than_its_line() {
    let lines = collection(&[line(
        "way/1",
        r#","height":40,"vertical_accuracy_m":1"#,
        "[[150,-31],[150.004,-31],[150.008,-31]]",
    )]);
    let towers = collection(&[
        support(
            "node/1",
            r#","height":45,"vertical_accuracy_m":3"#,
            "[150,-31]",
        ),
        support(
            "node/2",
            r#","height":45,"horizontal_accuracy_m":2"#,
            "[150.004,-31]",
        ),
        support("node/3", "", "[150.008,-31]"),
    ]);
    let folder = folder(&[
        ("power_lines.geojson", &lines),
        ("supports.geojson", &towers),
    ]);
    let layers = read(folder.path());
    let accuracies = |obstacles: Vec<Obstacle>| -> Vec<(f64, f64)> {
        obstacles
            .iter()
            .map(|o| (o.horizontal_accuracy.m(), o.vertical_accuracy.m()))
            .collect()
    };
    assert_eq!(accuracies(spans(&layers)), [(2.0, 3.0), (2.0, 1.0)]);
    // The third support has its height from the line, so the line's accuracy too.
    assert_eq!(
        accuracies(supports(&layers)),
        [(0.0, 3.0), (2.0, 0.0), (0.0, 1.0)]
    );
}
