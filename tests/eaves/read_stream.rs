//! Reading GeoJSON in blocks, against the full parser that holds the document whole.

use eaves::error::Result;
use eaves::read::crs::Crs;
use eaves::read::filter::Filter;
use eaves::read::geojson;
use eaves::read::positions::Positions;
use eaves::read::scan::Scanner;
use eaves::read::stream::{self, Step, Stream};
use proptest::prelude::*;

use crate::read_lines::folder;

/// Features of a text through blocks; none where that leaves it to the full parser.
fn in_blocks(text: &[u8]) -> Option<(Vec<String>, Option<String>)> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    let each = |run: &mut Vec<_>, raw: stream::Raw<'_>| {
        assert!(raw.text.starts_with(|c: char| !c.is_whitespace()));
        let Some(index) = raw.index else {
            return Step::NeedsIndex;
        };
        run.push((index, raw.text.to_owned()));
        Step::Taken
    };
    let stream = Stream::open(file.path())?;
    let taken = stream.take(&Filter::all(), Vec::new, each, |_| {})?;
    let features: Vec<(usize, String)> = taken.runs.into_iter().flatten().collect();
    assert_eq!(features.len(), taken.total);
    assert!(
        features
            .iter()
            .enumerate()
            .all(|(at, (index, _))| at == *index)
    );
    Some((
        features.into_iter().map(|(_, text)| text).collect(),
        taken.crs,
    ))
}

fn whole(text: &[u8]) -> Result<(Vec<String>, Option<String>)> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    let text = geojson::text(file.path())?;
    let document = geojson::document(&text)?;
    let features = document
        .features
        .iter()
        .map(|raw| raw.to_string())
        .collect();
    Ok((features, document.crs))
}

const SEED: &str = r#" {"name":"x","type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:7844"}},"features":[{"type":"Feature","id":1,"properties":{"a":"\u00e9\\\"},{","b":[1,-2.5e3,true,null]},"geometry":{"type":"Point","coordinates":[150.5,-31]}} , {"type":"Feature","properties":null,"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]},{"type":"Point","coordinates":[3,4]}]}},{"type":"Feature","properties":{},"geometry":null}], "more":[{},{}] }
"#;

#[test]
fn the_seed_is_read_in_blocks() {
    assert_eq!(
        in_blocks(SEED.as_bytes()).unwrap(),
        whole(SEED.as_bytes()).unwrap()
    );
    let marked = format!("\u{FEFF}{SEED}");
    assert_eq!(in_blocks(marked.as_bytes()).unwrap().0.len(), 3);
    let none = br#"{"type":"FeatureCollection","features":[ ]}"#;
    assert_eq!(in_blocks(none).unwrap().0.len(), 0);
}

/// Longer than several blocks and pieces; one feature is longer than a block itself.
#[test]
fn blocks_and_pieces_join() {
    let mut features = Vec::new();
    for number in 0..130_000 {
        let text = "}, {".repeat(number % 7);
        features.push(format!(
            r#"{{"type":"Feature","id":{number},"properties":{{"note":"{text}"}},"geometry":{{"type":"Point","coordinates":[{}.5,-31.25]}}}}"#,
            number % 180
        ));
    }
    let long = format!(
        r#"{{"type":"Feature","properties":{{}},"geometry":{{"type":"LineString","coordinates":[{}]}}}}"#,
        vec!["[150.1234567,-31.1234567]"; 500_000].join(",")
    );
    features.insert(70_000, long);
    let collections = r#"{"type":"Feature","properties":{},"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]},{"type":"Point","coordinates":[3,4]}]}}"#;
    features.extend(vec![collections.to_owned(); 10_000]);
    let text = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",\n")
    );
    let (found, crs) = in_blocks(text.as_bytes()).unwrap();
    assert_eq!(crs, None);
    assert!(found == features, "{} features", found.len());
    let cut = &text.as_bytes()[..text.len() - 2];
    assert!(in_blocks(cut).is_none() && whole(cut).is_err());
}

#[test]
fn a_system_named_after_the_features_is_used() {
    let silo = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"man_made":"silo","height":20},"geometry":{"type":"Point","coordinates":[273741.2966,5796489.7769]}}],"crs":{"type":"name","properties":{"name":"EPSG:7855"}}}"#;
    let folder = folder(&[("structures.geojson", silo)]);
    let read = eaves::read::layers(folder.path(), &eaves::read::ReadOptions::default()).unwrap();
    assert!(
        read.summaries[0].crs.contains("EPSG:7855"),
        "{}",
        read.summaries[0].crs
    );
    // Flinders Peak on MGA2020 zone 55 (GDA2020 Technical Manual through GeodePy).
    match &read.obstacles.get(0).unwrap().shape {
        eaves::obstacle::Shape::Point(place) => {
            assert!((place.lon() - 144.424_867_888_888_9).abs() < 1e-8);
        }
        other => panic!("{other:?}"),
    }
}

/// Pieces of text that parsers disagree about.
fn piece() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "{",
        "}",
        "[",
        "]",
        ",",
        ":",
        "\"",
        "\\",
        "\\u12",
        "\\u00e9",
        "\\ud800",
        "\u{e9}",
        "\t",
        "\u{1}",
        " ",
        "0",
        "-",
        "-0",
        "01",
        "1.",
        ".5",
        "1e5",
        "1E+",
        "1e999",
        "9007199254740993",
        "NaN",
        "null",
        "true",
        "tru",
        "\"type\"",
        "\"Feature\"",
        "\"features\":[",
        "\"bbox\":[1]",
        "\"geometry\":null",
        "},{",
        "\n",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]
    /// What is read in blocks the full parser reads too, with the same features: nothing that is not
    /// JSON passes.
    #[test]
    fn damage_never_passes(
        at in 0..SEED.len(),
        cut in 0..4_usize,
        piece in piece(),
        byte in prop::option::of(any::<u8>()),
    ) {
        let mut bytes = SEED.as_bytes().to_vec();
        let end = (at + cut).min(bytes.len());
        match byte {
            Some(byte) => bytes[at] = byte,
            None => { bytes.splice(at..end, piece.bytes()); }
        }
        if let Some(found) = in_blocks(&bytes) {
            let full = whole(&bytes);
            prop_assert!(full.is_ok(), "{:?}", String::from_utf8_lossy(&bytes));
            prop_assert_eq!(found, full.unwrap());
        }
    }

    /// A feature that is parsed from its scan is the feature that the full parser makes of it.
    #[test]
    fn scans_and_full_parses_are_the_same(
        kind in prop::sample::select(vec![
            "Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "Circle",
        ]),
        depth in 0..5_usize,
        shape in prop::collection::vec(1..5_usize, 4),
        numbers in prop::collection::vec(
            prop_oneof![
                (-180.0..180.0f64).prop_map(|n| n.to_string()),
                (-180.0..180.0f64).prop_map(|n| format!("{n:.7}")),
                (-180.0..180.0f64).prop_map(|n| format!("{n:e}")),
                (0..1_000_000_000_u64, 0..10_000_000_000_u64, 1..11_usize)
                    .prop_map(|(whole, behind, width)| format!("-{whole}.{behind:0width$}")),
                (0..1_000_000_000_u64).prop_map(|n| n.to_string()),
                (-1_800_000_000_i64..1_800_000_000).prop_map(|n| format!("{}.{:07}", n / 10_000_000, n.abs() % 10_000_000)),
                Just("0".to_owned()), Just("-0.0".to_owned()), Just("1e400".to_owned()), Just("null".to_owned()),
                Just("12345678901234567890".to_owned()), Just("0.1234567890123456789012345".to_owned()),
            ],
            1..9,
        ),
        wide in 1..4_usize,
        closes in any::<bool>(),
        id in prop::sample::select(vec!["", r#""id":7,"#, r#""id":"a\"b","#, r#""id":null,"#, r#""id":[1],"#, r#""id":"\u00e9","#, r#""id":1.50,"#, r#""id":-0,"#, r#""id":"","#, r#""bbox":[1,2,3,4],"#]),
        properties in prop::sample::select(vec!["null", "{}", r#"{"@id":"node/1","h":20.50,"H":null}"#, "[]", "3", r#"{"a":1,"a":2}"#,
            r#"{"\u0040id":"node/2"}"#, r#"{"@id":"\u00e9"}"#, r#"{"@id":7}"#, "{ \"a\" :\r\n1.0 ,\t\"b\":[ ] }",
            r#"{"h":1e3,"i":-0,"j":1E400,"k":123456789012345678901234567890,"l":-0.0,"m":1e-400}"#,
            r#"{"s":"\ud800"}"#, r#"{"n":{"x":[1e999]}}"#, r#"{"n":{"x":[1,{"y":"\"}]"}],"x":2.50},"t":true,"f":false,"e":""}"#,
            r#"{"Height":"3 m","height":null,"HEIGHT":4,"height_ft":"5'"}"#,
        ]),
    ) {
        let mut next = numbers.iter().cycle();
        let mut position = |width: usize| {
            let numbers: Vec<&str> = (0..width).map(|_| next.next().unwrap().as_str()).collect();
            format!("[{}]", numbers.join(","))
        };
        let mut parts: Vec<String> = (0..shape[0] * 3).map(|_| position(wide)).collect();
        if closes { parts.push(parts[0].clone()); }
        let mut text = if depth == 0 { parts[0].clone() } else { format!("[{}]", parts.join(",")) };
        for level in 1..depth {
            text = format!("[{}]", vec![text; shape[level.min(3)].min(3)].join(","));
        }
        let raw = format!(
            r#"{{"type":"Feature",{id}"properties":{properties},"geometry":{{"type":"{kind}","coordinates":{text}}}}}"#
        );
        let crs = Crs::wgs84();
        let mut positions = Positions::default();
        let mut members = Vec::new();
        let glance = Scanner::new(&raw, 0).feature(&mut positions, &mut members).unwrap();
        if let Some(bounds) = glance.bounds {
            prop_assert_eq!(Some(bounds), eaves::read::boxes::bounds(&raw).map(|found| found.bounds));
        }
        if let Some(scanned) = geojson::scanned(&glance, &members, &positions, Some(6), &crs) {
            let full = geojson::feature(&raw, 6, &crs).unwrap();
            prop_assert_eq!(format!("{scanned:?}"), format!("{full:?}"));
            for name in ["h", "H", "a", "height", "HEIGHT", "k", "n", "t", "e", "@ID", "l", "nothing"] {
                prop_assert_eq!(scanned.property(&[name]), full.property(&[name]));
                prop_assert_eq!(scanned.text(&[name, "i"]), full.text(&[name, "i"]));
            }
        }
    }
}

#[test]
fn every_feature_is_gone_through_in_order() {
    let folder = folder(&[
        ("a.geojson", SEED),
        ("b.json", r#"{"type":"Point","coordinates":[1,2]}"#),
    ]);
    for (name, count, is_whole) in [("a.geojson", 3, false), ("b.json", 1, true)] {
        let mut seen = Vec::new();
        let gone = stream::each(&folder.path().join(name), false, |index, _| {
            seen.push(index);
            Ok(())
        })
        .unwrap();
        assert_eq!(seen, (0..count).collect::<Vec<_>>());
        assert_eq!((gone.total, gone.is_whole), (count, is_whole));
    }
}

/// Structures of every kind that a reader may trip over; `more` is put into each feature.
fn odd_structures(count: usize, more: &str) -> String {
    const ODD: [(&str, &str); 12] = [
        ("", r#"{"man_made":"silo","height":"12,5 m","height":"13"}"#),
        (r#""id":"way/\u00e9","#, r#"{"building":"yes","HEIGHT":9}"#),
        ("", r#"{"@id":"node/1","man_made":"mast","height_ft":1e2}"#),
        (
            r#""id":17,"#,
            r#"{"name":"a \"}, {\" b","building":"no","height_m":-0}"#,
        ),
        (
            "",
            r#"{"\u0040id":"node/2","kind":"Crane","height":"20-30"}"#,
        ),
        ("", "null"),
        (r#""id":"x","#, r#"{"height":{"m":[1,2]},"est_height":4}"#),
        ("", r#"{"name":"\ud800","height":4}"#),
        (r#""id":null,"#, "[]"),
        (
            "",
            "{ \"height\" :\r\n\t4.0 , \"Height\":5, \"horizontal_accuracy_m\":\"?\" }",
        ),
        (r#""id":"y","#, r#"{"height":1e999}"#),
        ("", r#"{"power":"tower","top_m_amsl":"301,5","height":"-"}"#),
    ];
    const GEOMETRIES: [&str; 7] = [
        r#"{"type":"Point","coordinates":[150.5,-31.25]}"#,
        r#"{"coordinates":[[[150.1,-31],[150.2,-31],[150.2,-30.9],[150.1,-31]]],"type":"Polygon"}"#,
        r#"{"type":"MultiPolygon","coordinates":[[[[1,2],[3,2],[3,4],[1,2]],[[1.5,2.5],[2,2.5],[2,3],[1.5,2.5]]],[[[5,6],[7,6],[7,8],[5,6]]]]}"#,
        "{\"type\": \"LineString\",\r\n\"coordinates\": [ [150, -31] , [1.501e2, -31.0] ]}",
        r#"{"type":"Polygon","coordinates":[[[150.1,-31],[150.2,-31],[150.2,-30.9]]]}"#,
        "null",
        r#"{"type":"Point","coordinates":[150.5,-95.25]}"#,
    ];
    let features: Vec<String> = (0..count)
        .map(|number| {
            let (id, properties) = ODD[number % ODD.len()];
            let geometry = GEOMETRIES[number / 5 % GEOMETRIES.len()];
            let note = "}, {\"".repeat(number % 3).replace('"', "'");
            format!(
                r#"{{"type":"Feature",{id}"properties":{properties},"geometry":{geometry},"note":"{note}"{more}}}"#
            )
        })
        .collect();
    format!(
        "\u{FEFF}{{\"type\":\"FeatureCollection\",\"features\":[\r\n{}\r\n]}}\r\n",
        features.join(",\r\n")
    )
}

/// A member `bbox` leaves every feature to the full parser: what is read must not depend on it. The
/// file is longer than a block, its features are cut at the borders of blocks and pieces.
#[test]
fn quick_and_full_readings_of_a_layer_are_the_same() {
    let read = |more: &str| {
        let text = odd_structures(60_000, more);
        let folder = folder(&[("structures.geojson", &text)]);
        let options = eaves::read::ReadOptions::default();
        let read = eaves::read::layers(folder.path(), &options).unwrap();
        let obstacles: Vec<_> = read.obstacles.iter().collect();
        (
            obstacles,
            format!("{:?}", read.cautions),
            format!("{:?} {:?}", read.not_assessed, read.summaries),
        )
    };
    let (obstacles, cautions, rest) = read("");
    let (same_obstacles, same_cautions, same_rest) = read(r#","bbox":[1,2,3,4]"#);
    assert!(obstacles.len() > 20_000, "{}", obstacles.len());
    // A feature without an id has its place in the file for a label, in every piece.
    let number = |label: &str| label.strip_prefix('#')?.parse::<usize>().ok();
    let last = obstacles
        .iter()
        .filter_map(|it| number(&it.source.feature))
        .max();
    assert!(last > Some(59_900), "{last:?}");
    assert!(cautions.contains("\"#8\""), "{cautions}");
    assert!(obstacles == same_obstacles);
    assert_eq!(cautions, same_cautions);
    assert_eq!(rest, same_rest);
}
