//! The operating area: every defect has its exact message.

use std::fs;
use std::path::PathBuf;

use eaves::read::operating_area;
use geo::Area;

struct Written {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

fn written(bytes: impl AsRef<[u8]>) -> Written {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("area.geojson");
    fs::write(&path, bytes).unwrap();
    Written {
        _folder: folder,
        path,
    }
}

/// The error without the path in front.
fn error(bytes: impl AsRef<[u8]>) -> String {
    let file = written(bytes);
    let message = operating_area(&file.path, None).unwrap_err().to_string();
    let prefix = format!("{}: ", file.path.display());
    message
        .strip_prefix(&prefix)
        .unwrap_or_else(|| panic!("{message} does not name the file"))
        .to_owned()
}

fn feature(geometry: &str) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","id":"site","properties":{{"name":"North field"}},"geometry":{geometry}}}]}}"#
    )
}

fn polygon(rings: &str) -> String {
    feature(&format!(r#"{{"type":"Polygon","coordinates":{rings}}}"#))
}

const SQUARE: &str = "[[[150,-31],[150.01,-31],[150.01,-30.99],[150,-30.99],[150,-31]]]";

#[test]
fn a_good_area_is_read_whatever_its_wrapping() {
    let geometry = format!(r#"{{"type":"Polygon","coordinates":{SQUARE}}}"#);
    for text in [
        polygon(SQUARE),
        format!("\u{FEFF}{}", polygon(SQUARE)),
        format!(
            r#"{{"type":"Feature","id":"site","properties":{{"name":"North field"}},"geometry":{geometry}}}"#
        ),
    ] {
        let file = written(text);
        let read = operating_area(&file.path, None).unwrap();
        assert_eq!(read.area.name, "North field");
        assert_eq!(read.area.source.feature, "site");
        assert_eq!(read.area.source.file, "area.geojson");
        assert_eq!(read.area.polygons.0.len(), 1);
        assert!(read.cautions.as_slice().is_empty());
    }
    let file = written(geometry);
    assert_eq!(
        operating_area(&file.path, None)
            .unwrap()
            .area
            .source
            .feature,
        "#1"
    );
}

/// RFC 7946 section 3.1.6: "parsers SHOULD NOT reject Polygons that do not follow the right-hand rule".
#[test]
fn winding_order_is_put_right() {
    let clockwise = "[[[150,-31],[150,-30.99],[150.01,-30.99],[150.01,-31],[150,-31]]]";
    let file = written(polygon(clockwise));
    let read = operating_area(&file.path, None).unwrap();
    assert!(read.area.polygons.signed_area() > 0.0);
}

#[test]
fn repeated_vertices_are_dropped() {
    let text =
        polygon("[[[150,-31],[150,-31],[150.01,-31],[150.01,-30.99],[150,-30.99],[150,-31]]]");
    let file = written(text);
    let read = operating_area(&file.path, None).unwrap();
    assert_eq!(read.area.polygons.0[0].exterior().0.len(), 5);
}

#[test]
fn a_thin_strip_is_an_area() {
    // 2 cm by 100 m.
    let text =
        polygon("[[[150,-31],[150.001,-31],[150.001,-30.9999998],[150,-30.9999998],[150,-31]]]");
    let file = written(text);
    operating_area(&file.path, None).unwrap();
}

#[test]
fn defects_of_the_outline_are_named_with_their_place() {
    for (rings, message) in [
        (
            "[[[-31,150],[-31,150.01],[-30.99,150.01],[-30.99,150],[-31,150]]]",
            "feature site: the latitude 150 is beyond 90 degrees: longitude and latitude seem \
             swapped; correct the outline and export it again",
        ),
        (
            "[[[273741,5796489],[273841,5796489],[273841,5796589],[273741,5796489]]]",
            "feature site: the latitude 5796489 is beyond 90 degrees: the coordinates are not \
             degrees; correct the outline and export it again",
        ),
        (
            "[[[1e300,-31],[150.01,-31],[150.01,-30.99],[1e300,-31]]]",
            "feature site: the longitude 1e300 is beyond 360 degrees: the coordinates are not \
             degrees; correct the outline and export it again",
        ),
        (
            "[[[150,-31],[150.01,-31],[150.01,-30.99],[150,-30.99]]]",
            "feature site: a ring is not closed: its last position is not its first; correct the \
             outline and export it again",
        ),
        (
            "[[[150,-31],[150.01,-31],[150,-31]]]",
            "feature site: a ring has 3 positions, not four or more; correct the outline and \
             export it again",
        ),
        (
            "[]",
            "feature site: a polygon has no ring; correct the outline and export it again",
        ),
        (
            "[[[150,-31],[150.01,-30.99],[150.01,-31],[150,-30.99],[150,-31]]]",
            "feature site: the outline crosses itself near 150.005000, -30.995000 (longitude, \
             latitude); draw its vertices in order around the area",
        ),
        (
            "[[[150,-31],[150.005,-31],[150.01,-31],[150,-31]]]",
            "feature site: a ring has no area; draw at least three vertices that are not on one line",
        ),
        (
            "[[[150,-31],[150.01,-31],[150.02,-31],[150.01,-31],[150.01,-30.99],[150,-31]]]",
            "feature site: the outline touches itself near 150.010000, -31.000000 (longitude, \
             latitude); remove the spike, or split the area there",
        ),
        (
            r#"[[["150","-31"],[150.01,-31],[150.01,-30.99],["150","-31"]]]"#,
            "feature site: a coordinate is text, not a number; correct the outline and export it \
             again",
        ),
        (
            "[[[null,-31],[150.01,-31],[150.01,-30.99],[null,-31]]]",
            "feature site: a coordinate is null, not a number; correct the outline and export it \
             again",
        ),
        (
            "[[[150],[150.01,-31],[150.01,-30.99],[150]]]",
            "feature site: a position has fewer than two numbers; correct the outline and export \
             it again",
        ),
        (
            "[[[150,89.5],[150.01,89.5],[150.01,89.51],[150,89.5]]]",
            "feature site: reaches the latitude 89.51, beyond 89 degrees; eaves does not answer so \
             near a pole",
        ),
        (
            "[[[150,-31],[151,-31],[151,-30],[150,-30],[150,-31]]]",
            "feature site: is 147 km across, more than 100 km; check its coordinates, or split it",
        ),
        (
            "[[[150,-31],[150.01,-31],[150.01,-30.99],[150,-30.99],[150,-31]],\
              [[150.02,-31],[150.03,-31],[150.03,-30.99],[150.02,-31]]]",
            "feature site: is not a valid area: polygon at index 0 is invalid: interior ring at \
             index 0 is not contained within the polygon's exterior; keep holes inside their outline and parts apart",
        ),
    ] {
        assert_eq!(error(polygon(rings)), message, "{rings}");
    }
}

#[test]
fn overlapping_parts_are_refused() {
    let text = feature(
        r#"{"type":"MultiPolygon","coordinates":[
            [[[150,-31],[150.01,-31],[150.01,-30.99],[150,-30.99],[150,-31]]],
            [[[150.005,-31],[150.02,-31],[150.02,-30.99],[150.005,-30.99],[150.005,-31]]]]}"#,
    );
    assert_eq!(
        error(text),
        "feature site: is not a valid area: polygons at indices 0 and 1 overlap; \
         keep holes inside their outline and parts apart"
    );
}

#[test]
fn wrong_geometries_are_named() {
    for (geometry, message) in [
        (
            r#"{"type":"LineString","coordinates":[[150,-31],[150.01,-31]]}"#,
            "feature site: is a LineString, not a Polygon or MultiPolygon; draw the operating area \
             as an outline",
        ),
        (
            r#"{"type":"Point","coordinates":[150,-31]}"#,
            "feature site: is a Point, not a Polygon or MultiPolygon; draw the operating area as \
             an outline",
        ),
        (
            "null",
            "feature site: has no geometry; draw the operating area",
        ),
        (
            r#"{"type":"MultiPolygon","coordinates":[]}"#,
            "feature site: has an empty geometry; draw the operating area",
        ),
        (
            r#"{"type":"Circle","coordinates":[150,-31]}"#,
            "feature site: \"Circle\" is not a GeoJSON geometry type; correct the outline and \
             export it again",
        ),
        (
            r#"{"type":"Polygon"}"#,
            "feature site: its geometry has no \"coordinates\"; correct the outline and export it \
             again",
        ),
    ] {
        assert_eq!(error(feature(geometry)), message, "{geometry}");
    }
}

#[test]
fn broken_files_are_named() {
    let truncated = &polygon(SQUARE)[..120];
    let deep = format!(
        r#"{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":{}{}}}}}"#,
        "[".repeat(100_000),
        "]".repeat(100_000)
    );
    let utf16: Vec<u8> = [0xFF, 0xFE]
        .into_iter()
        .chain(polygon(SQUARE).encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let utf16_plain: Vec<u8> = polygon(SQUARE)
        .encode_utf16()
        .flat_map(u16::to_be_bytes)
        .collect();
    let latin1: Vec<u8> = polygon(SQUARE)
        .replace("North", "N\u{e9}rth")
        .chars()
        .map(|c| c as u8)
        .collect();
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (Vec::new(), "is empty; export it again"),
        (b"  \n ".to_vec(), "is empty; export it again"),
        (utf16, "is UTF-16 text; save it as UTF-8"),
        (utf16_plain, "is UTF-16 text; save it as UTF-8"),
        (
            latin1,
            "is not UTF-8 text (byte 0xE9 at offset 93); save it as UTF-8",
        ),
        (
            truncated.into(),
            "ends too early (line 1, column 120): it is truncated; export or copy it again",
        ),
        (
            deep.into_bytes(),
            "feature #1: is nested too deeply (line 1, column 203); correct the outline and export \
             it again",
        ),
        (
            polygon("[[[NaN,-31],[150.01,-31],[150.01,-30.99],[NaN,-31]]]").into_bytes(),
            "has NaN or Infinity, which JSON does not allow (line 1, column 153); remove or repair \
             that feature",
        ),
        (
            b"type,lon,lat\n".to_vec(),
            "is not JSON: expected ident (line 1, column 2); export it as GeoJSON again",
        ),
        (
            b"<kml></kml>".to_vec(),
            "is not JSON: expected value (line 1, column 1); export it as GeoJSON again",
        ),
        (
            b"[1,2]".to_vec(),
            "is not GeoJSON: the top level is not an object; export it as a GeoJSON \
             FeatureCollection",
        ),
        (
            br#"{"features":[]}"#.to_vec(),
            "is not GeoJSON: the top level has no \"type\"; export it as a GeoJSON \
             FeatureCollection",
        ),
        (
            br#"{"type":"Topology"}"#.to_vec(),
            "is not GeoJSON: its type is \"Topology\"; export it as a GeoJSON FeatureCollection",
        ),
        (
            br#"{"type":"FeatureCollection"}"#.to_vec(),
            "is not GeoJSON: the FeatureCollection has no \"features\"; export it as a GeoJSON \
             FeatureCollection",
        ),
        (
            br#"{"type":"FeatureCollection","features":[]}"#.to_vec(),
            "holds no feature; export the area again",
        ),
        (
            br#"{"type":"FeatureCollection","features":[]} x"#.to_vec(),
            "is not JSON: trailing characters (line 1, column 44); export it as GeoJSON again",
        ),
    ];
    for (bytes, message) in cases {
        assert_eq!(error(bytes), message);
    }
}

#[test]
fn folders_and_missing_files_are_named() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(
        operating_area(folder.path(), None).unwrap_err().to_string(),
        format!(
            "{}: is a folder, not a file; name the file inside it",
            folder.path().display()
        )
    );
    let missing = folder.path().join("none.geojson");
    assert_eq!(
        operating_area(&missing, None).unwrap_err().to_string(),
        format!("{}: does not exist; check the path", missing.display())
    );
}

fn collection(ids: &[&str]) -> String {
    let features = ids
        .iter()
        .map(|id| {
            format!(
                r#"{{"type":"Feature","id":"{id}","properties":{{"name":"field {id}"}},"geometry":{{"type":"Polygon","coordinates":{SQUARE}}}}}"#
            )
        })
        .collect::<Vec<_>>()
        .join(",");
    format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#)
}

#[test]
fn one_of_several_features_has_to_be_chosen() {
    let file = written(collection(&["a", "b"]));
    let shown = |error: eaves::error::Error| {
        error
            .to_string()
            .replace(&format!("{}: ", file.path.display()), "")
    };
    assert_eq!(
        shown(operating_area(&file.path, None).unwrap_err()),
        "holds 2 features: a, b; choose one with --feature ID"
    );
    assert_eq!(
        shown(operating_area(&file.path, Some("c")).unwrap_err()),
        "has no feature \"c\" but a, b; choose one of these with --feature ID"
    );
    assert_eq!(
        operating_area(&file.path, Some("b")).unwrap().area.name,
        "field b"
    );
    assert_eq!(
        operating_area(&file.path, Some("field a"))
            .unwrap()
            .area
            .source
            .feature,
        "a"
    );
    let twins = written(collection(&["a", "a"]));
    assert!(
        operating_area(&twins.path, Some("a"))
            .unwrap_err()
            .to_string()
            .ends_with("has 2 features \"a\"; give each feature an id of its own")
    );
}

#[test]
fn the_antimeridian_is_crossed_the_short_way_with_a_caution() {
    for west in ["179.99", "-180.01"] {
        let rings =
            format!("[[[{west},-33],[-179.99,-33],[-179.99,-32.99],[{west},-32.99],[{west},-33]]]");
        let file = written(polygon(&rings));
        let read = operating_area(&file.path, None).unwrap();
        let caution = &read.cautions.as_slice()[0];
        assert_eq!(
            caution.defect,
            "has an edge that changes longitude by more than 180 degrees"
        );
        assert_eq!(
            caution.effect,
            "it is taken the short way round, across the antimeridian"
        );
        let middle = read.area.frame().origin();
        assert!(middle.lon().abs() > 179.999, "{middle:?}");
        // Anticlockwise when its longitudes are counted from the first vertex.
        let counted: Vec<(f64, f64)> = read.area.polygons.0[0]
            .exterior()
            .coords()
            .map(|c| (c.x.rem_euclid(360.0), c.y))
            .collect();
        let twice: f64 = counted
            .windows(2)
            .map(|pair| pair[0].0 * pair[1].1 - pair[1].0 * pair[0].1)
            .sum();
        assert!(twice > 0.0);
    }
}

#[test]
fn a_declared_system_is_converted_and_said() {
    // Flinders Peak on MGA2020 zone 55 (GDA2020 Technical Manual through GeodePy).
    let text = polygon(
        "[[[273741.2966,5796489.7769],[273841,5796489],[273841,5796589],[273741.2966,5796489.7769]]]",
    )
    .replacen(
        r#""features""#,
        r#""crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::7855"}},"features""#,
        1,
    );
    let file = written(text);
    let read = operating_area(&file.path, None).unwrap();
    let corner = read.area.polygons.0[0]
        .exterior()
        .coords()
        .find(|c| (c.x - 144.424_867_888_9).abs() < 1e-8 && (c.y + 37.951_033_416_7).abs() < 1e-8);
    assert!(corner.is_some());
    let caution = &read.cautions.as_slice()[0];
    assert_eq!(caution.defect, "is in GDA2020 / MGA zone 55 (EPSG:7855)");
    assert_eq!(
        caution.effect,
        "converted to WGS 84 (Inverse of Map Grid of Australia zone 55 + GDA2020 to WGS 84 (2)), \
         accurate to 3 m, which nothing is taken off for"
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(200))]
    /// Whatever the ring, it is an area or an error, never a panic.
    #[test]
    fn any_ring_is_answered(
        mut ring in proptest::collection::vec((-4_i32..4, -4_i32..4), 3..9),
        hole in proptest::collection::vec((-4_i32..4, -4_i32..4), 0..6),
    ) {
        ring.push(ring[0]);
        let shown = |ring: &[(i32, i32)]| {
            let places = ring
                .iter()
                .map(|(x, y)| format!("[{},{}]", f64::from(*x) / 100.0, f64::from(*y) / 100.0))
                .collect::<Vec<_>>();
            format!("[{}]", places.join(","))
        };
        let mut rings = vec![shown(&ring)];
        if let Some(first) = hole.first().copied() {
            let mut hole = hole;
            hole.push(first);
            rings.push(shown(&hole));
        }
        let file = written(polygon(&format!("[{}]", rings.join(","))));
        if let Ok(read) = operating_area(&file.path, None) {
            proptest::prop_assert!(read.area.polygons.signed_area() > 0.0);
        }
    }

    /// Whatever the bytes, they are answered without panic.
    #[test]
    fn any_bytes_are_answered(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..200)) {
        let file = written(bytes);
        proptest::prop_assert!(operating_area(&file.path, None).is_err());
    }

    /// A good file with one byte changed, or cut, is answered without panic.
    #[test]
    fn damaged_files_are_answered(at in 0_usize..200, byte in proptest::num::u8::ANY, cut in proptest::bool::ANY) {
        let mut bytes = polygon(SQUARE).into_bytes();
        let at = at.min(bytes.len() - 1);
        if cut {
            bytes.truncate(at);
        } else {
            bytes[at] = byte;
        }
        let file = written(bytes);
        let _answered = operating_area(&file.path, None).is_ok();
    }
}
