//! Airspace layers from files: GeoJSON attributes, AIXM outlines, and damaged files.

use eaves::airspace::{Level, Volume};
use eaves::frame::{LonLat, distance, geodesic};
use eaves::read::{Layers, ReadOptions, aixm, layers};
use geo::{Contains, GeodesicArea, Point};
use proptest::prelude::*;

use crate::read_lines::folder;

pub fn read(name: &str, text: &str, toml: &str) -> Layers {
    let folder = folder(&[(name, text), ("layers.toml", toml)]);
    layers(folder.path(), &ReadOptions::default()).unwrap()
}

fn geojson(features: &[(&str, &str)]) -> String {
    let features: Vec<String> = features
        .iter()
        .map(|(properties, geometry)| {
            format!(r#"{{"type":"Feature","properties":{properties},"geometry":{geometry}}}"#)
        })
        .collect();
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

const SQUARE: &str = r#"{"type":"Polygon","coordinates":[[[150,-31],[150.1,-31],[150.1,-30.9],[150,-30.9],[150,-31]]]}"#;

#[test]
fn attributes_of_a_geojson_layer() {
    let text = geojson(&[
        (
            r#"{"ident":"ZZ1","name":"Zone","class":"D","type":"CTR","authority":"Tower","hours":"H24",
                "lower_limit":"SFC","upper_limit":2500,"upper_uom":"FT","upper_ref":"MSL"}"#,
            SQUARE,
        ),
        (r#"{"name":"no limits"}"#, SQUARE),
        (
            r#"{"lower_limit":"GND"}"#,
            r#"{"type":"Point","coordinates":[150,-31]}"#,
        ),
        (
            r#"{"lower_limit":"1000 ft AGL"}"#,
            r#"{"type":"Polygon","coordinates":[[[0,-80],[120,-80],[-120,-80],[0,-80]]]}"#,
        ),
    ]);
    let layers = read(
        "airspace.geojson",
        &text,
        "[airspace]\nhorizontal_accuracy_m = 20.0\n",
    );
    let volumes = layers.airspace.as_ref().unwrap();
    assert_eq!(volumes.len(), 2);
    let zone = &volumes[0];
    assert_eq!(zone.title(), "ZZ1 Zone");
    assert_eq!(zone.class.as_deref(), Some("D"));
    assert_eq!(zone.kind.as_deref(), Some("CTR"));
    assert_eq!(zone.hours.as_deref(), Some("H24"));
    assert_eq!(zone.lower.level, Level::Ground);
    assert_eq!(zone.upper.stated, "2500 FT MSL");
    assert_eq!(zone.horizontal_accuracy.m(), 20.0);
    let cautions: Vec<String> = layers
        .cautions
        .as_slice()
        .iter()
        .map(|caution| format!("{} {:?}", caution.defect, caution.features))
        .collect();
    for expected in [
        r##"has a lower limit that is not given ["#2"]"##,
        r##"has an upper limit that is not given ["#2"]"##,
        r##"is no polygon ["#3"]"##,
        r##"has an outline that goes round a pole ["#4"]"##,
    ] {
        assert!(
            cautions.iter().any(|it| it == expected),
            "{expected} not in {cautions:#?}"
        );
    }
    assert!(
        layers
            .not_assessed
            .iter()
            .any(|it| it.what == "airspace volumes" && it.count == 2),
        "{:?}",
        layers.not_assessed
    );
}

#[test]
fn attributes_are_mapped() {
    let text = geojson(&[(r#"{"BASE":1000,"TOP":"UNL","WHO":"Centre"}"#, SQUARE)]);
    let toml = "[airspace]\nheight_unit = \"ft\"\n[airspace.attributes]\nlower_limit = \"BASE\"\n\
                upper_limit = \"TOP\"\nauthority = \"WHO\"\nlower_reference = \"none\"\n";
    let layers = read("airspace.geojson", &text, toml);
    let volume = &layers.airspace.as_ref().unwrap()[0];
    assert_eq!(volume.authority.as_deref(), Some("Centre"));
    assert_eq!(volume.upper.level, Level::Unlimited);
    // A unit is declared, a reference is not.
    assert_eq!(
        volume.lower.defect(),
        Some("has no reference (SFC, MSL, STD or W84)")
    );
}

#[test]
fn no_layer_is_not_assessed() {
    let layers = read("structures.geojson", &geojson(&[]), "");
    assert!(layers.airspace.is_none());
    assert!(layers.not_assessed.iter().any(|it| it.what == "airspace"));
}

/// One airspace of an AIXM 5.1.1 message; the layout of the elements is that of the message schema
/// (from memory), all contents are invented.
pub fn airspace(id: &str, limits: &str, projection: &str) -> String {
    format!(
        r#"<message:hasMember><aixm:Airspace gml:id="{id}"><aixm:timeSlice>
        <aixm:AirspaceTimeSlice gml:id="{id}-t">
        <aixm:interpretation>BASELINE</aixm:interpretation>
        <aixm:type>CTR</aixm:type><aixm:designator>ZZ {id}</aixm:designator>
        <aixm:name>Invented</aixm:name>
        <aixm:class><aixm:AirspaceLayerClass><aixm:classification>D</aixm:classification>
        </aixm:AirspaceLayerClass></aixm:class>
        <aixm:geometryComponent><aixm:AirspaceGeometryComponent>
        <aixm:theAirspaceVolume><aixm:AirspaceVolume gml:id="{id}-v">{limits}
        <aixm:horizontalProjection>{projection}</aixm:horizontalProjection>
        </aixm:AirspaceVolume></aixm:theAirspaceVolume>
        </aixm:AirspaceGeometryComponent></aixm:geometryComponent>
        </aixm:AirspaceTimeSlice></aixm:timeSlice></aixm:Airspace></message:hasMember>"#
    )
}

pub fn message(members: &[String]) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
        <message:AIXMBasicMessage xmlns:message="http://www.aixm.aero/schema/5.1.1/message"
        xmlns:aixm="http://www.aixm.aero/schema/5.1.1" xmlns:gml="http://www.opengis.net/gml/3.2"
        xmlns:xlink="http://www.w3.org/1999/xlink" gml:id="m">{}</message:AIXMBasicMessage>"#,
        members.join("\n")
    )
}

pub const LIMITS: &str = r#"<aixm:upperLimit uom="FL">100</aixm:upperLimit>
    <aixm:upperLimitReference>STD</aixm:upperLimitReference>
    <aixm:lowerLimit uom="FT">GND</aixm:lowerLimit>
    <aixm:lowerLimitReference>MSL</aixm:lowerLimitReference>"#;

pub const LAT_LON: &str = "urn:ogc:def:crs:EPSG::4326";
pub const LON_LAT: &str = "urn:ogc:def:crs:OGC:1.3:CRS84";

pub fn surface(srs: &str, ring: &str) -> String {
    format!(
        r#"<aixm:Surface gml:id="s" srsName="{srs}"><gml:patches><gml:PolygonPatch><gml:exterior>
        {ring}</gml:exterior></gml:PolygonPatch></gml:patches></aixm:Surface>"#
    )
}

pub fn curve(segments: &str) -> String {
    format!(
        r#"<gml:Ring><gml:curveMember><gml:Curve gml:id="c"><gml:segments>{segments}</gml:segments>
        </gml:Curve></gml:curveMember></gml:Ring>"#
    )
}

fn linear(positions: &str) -> String {
    format!("<gml:LinearRing><gml:posList>{positions}</gml:posList></gml:LinearRing>")
}

pub fn volumes(text: &str) -> Vec<Volume> {
    read("airspace.xml", text, "").airspace.unwrap()
}

pub fn one(srs: &str, ring: &str) -> Volume {
    let text = message(&[airspace("A", LIMITS, &surface(srs, ring))]);
    let mut found = volumes(&text);
    assert_eq!(
        found.len(),
        1,
        "{:?}",
        aixm::features(&text).unwrap().defects
    );
    found.remove(0)
}

pub fn reason(srs: &str, ring: &str) -> String {
    let text = message(&[airspace("A", LIMITS, &surface(srs, ring))]);
    let parsed = aixm::features(&text).unwrap();
    assert!(parsed.features.is_empty());
    parsed.defects[0].1.clone()
}

#[test]
fn a_plain_aixm_polygon_in_either_order_of_axes() {
    for (srs, positions) in [
        (LAT_LON, "-31 150 -31 150.1 -30.9 150.1 -30.9 150 -31 150"),
        (LON_LAT, "150 -31 150.1 -31 150.1 -30.9 150 -30.9 150 -31"),
    ] {
        let volume = one(srs, &linear(positions));
        assert_eq!(volume.title(), "ZZ A Invented");
        assert_eq!(volume.kind.as_deref(), Some("CTR"));
        assert_eq!(volume.class.as_deref(), Some("D"));
        // GND ignores the MSL beside it.
        assert_eq!(volume.lower.level, Level::Ground);
        assert_eq!(volume.upper.stated, "100 FL STD");
        assert_eq!(volume.horizontal_accuracy.m(), 0.0);
        assert!(volume.polygons.contains(&Point::new(150.05, -30.95)));
        assert!(!volume.polygons.contains(&Point::new(150.05, -30.85)));
    }
}

/// The accuracy of the layer stays where AIXM states none, and what arcs are drawn within is added.
#[test]
fn accuracies_of_an_outline_add_up() {
    let circle = curve(
        r#"<gml:CircleByCenterPoint><gml:pos>-35 149</gml:pos><gml:radius uom="km">3</gml:radius>
        </gml:CircleByCenterPoint>"#,
    );
    let toml = "[airspace]\nhorizontal_accuracy_m = 20.0\n";
    let within = |surface: &str| {
        let text = message(&[airspace("A", LIMITS, surface)]);
        let layers = read("airspace.xml", &text, toml);
        layers.airspace.unwrap()[0].horizontal_accuracy.m()
    };
    let plain = surface(LAT_LON, &circle);
    assert_eq!(within(&plain), 20.5);
    let stated = |unit: &str| {
        let accuracy =
            format!(r#"<aixm:horizontalAccuracy uom="{unit}">50</aixm:horizontalAccuracy>"#);
        plain.replace("</aixm:Surface>", &format!("{accuracy}</aixm:Surface>"))
    };
    assert_eq!(within(&stated("M")), 50.5);
    assert!((within(&stated("FT")) - 15.74).abs() < 1e-9);
    assert_eq!(within(&stated("CM")), 1.0);
    // A unit that is not understood, and one that makes 92.6 km of it, leave that of the layer.
    assert_eq!(within(&stated("FURLONG")), 20.5);
    assert_eq!(within(&stated("NM")), 20.5);
    let two = stated("KM").replace(">50<", ">2.0<");
    assert_eq!(within(&two), 2000.5);
    let mixed = plain.replace("<gml:pos>", &format!(r#"<gml:pos srsName="{LON_LAT}">"#));
    let of_circle = mixed.replace(
        "<gml:radius",
        &format!(r#"<gml:x srsName="{LAT_LON}"/><gml:radius"#),
    );
    let parsed = aixm::features(&message(&[airspace("A", LIMITS, &of_circle)])).unwrap();
    assert!(parsed.defects[0].1.contains("mixes"));
}

/// The circle of 3 NM about 35 S 149 E has 96 978 250.9 m² on the ellipsoid (geographiclib, as a
/// plane circle; 3600-gon 96 978 195.5 m²). Chords stay within 0.2 m of it.
#[test]
fn a_circle_by_its_centre() {
    let ring = curve(
        r#"<gml:CircleByCenterPoint numArc="1"><gml:pointProperty><gml:Point gml:id="p">
        <gml:pos>-35 149</gml:pos></gml:Point></gml:pointProperty>
        <gml:radius uom="[nmi_i]">3</gml:radius></gml:CircleByCenterPoint>"#,
    );
    let volume = one(LAT_LON, &ring);
    let centre = LonLat::new(149.0, -35.0).unwrap();
    for corner in volume.polygons.0[0].exterior().coords() {
        let radius = distance(centre, LonLat::new(corner.x, corner.y).unwrap()).m();
        assert!((radius - 5556.0).abs() < 1e-6, "{radius}");
    }
    // Clockwise, as angles run in EPSG 4326.
    let area = -volume.polygons.geodesic_area_signed();
    let perimeter = 34_909.37;
    assert!(
        area < 96_978_250.9 + 100.0 && area > 96_978_250.9 - 0.4 * perimeter,
        "{area}"
    );
    assert_eq!(volume.horizontal_accuracy.m(), 0.5);
}

/// The worked example of the EUROCONTROL AIXM coding guidelines, "Arc by Centre Point" (seen): an
/// arc of 23 NM about 44.82694444445, -0.72111111111 from -39.056642° to 96.278174°, whose ends are
/// the last and the first position of the GeodesicString that follows.
#[test]
fn the_published_arc_starts_and_ends_where_it_is_said_to() {
    let ring = curve(
        r#"<gml:ArcByCenterPoint numArc="1"><gml:pos>44.82694444445 -0.72111111111</gml:pos>
        <gml:radius uom="[nmi_i]">23.0</gml:radius>
        <gml:startAngle uom="deg">-39.056642</gml:startAngle>
        <gml:endAngle uom="deg">96.278174</gml:endAngle></gml:ArcByCenterPoint>
        <gml:GeodesicString><gml:posList>44.78388889 -0.18750000 44.69055556 -0.29527778
        44.63083333 -0.36416667 44.55222222 -0.45444444 44.56000000 -0.60305556
        44.56166667 -0.63277778 44.57194444 -0.83333333 44.66666667 -0.83333333
        44.82527778 -1.00000000 44.90000000 -1.00000000 45.12333333 -1.06138889</gml:posList>
        </gml:GeodesicString>"#,
    );
    let volume = one(LAT_LON, &ring);
    let place = |lat, lon| LonLat::new(lon, lat).unwrap();
    let coordinates: Vec<LonLat> = volume.polygons.0[0]
        .exterior()
        .coords()
        .map(|c| place(c.y, c.x))
        .collect();
    let centre = place(44.826_944_444_45, -0.721_111_111_11);
    let start = distance(coordinates[0], place(45.123_333_33, -1.061_388_89)).m();
    assert!(start < 200.0, "starts {start} m off");
    let end = coordinates
        .iter()
        .position(|it| *it == place(44.783_888_89, -0.1875))
        .unwrap();
    let gap = distance(coordinates[end - 1], coordinates[end]).m();
    assert!(gap < 200.0, "ends {gap} m off");
    // The gaps are within what the outline is known within.
    assert!(volume.horizontal_accuracy.m() >= 0.5 + start.max(gap));
    // Through north and north-east, not the other way round.
    for bearing in [0.0, 45.0, 90.0] {
        let nearest = coordinates[..end]
            .iter()
            .map(|it| {
                let line = geodesic(centre, *it);
                ((line.bearing_from.degrees() - bearing + 180.0).rem_euclid(360.0) - 180.0).abs()
            })
            .fold(f64::INFINITY, f64::min);
        assert!(nearest < 1.0, "no point of the arc at {bearing}°");
    }
    assert!(volume.polygons.contains(&Point::new(-0.5, 45.0)));
    assert!(!volume.polygons.contains(&Point::new(-0.9, 44.6)));
}

/// From east of the centre to north of it: anticlockwise in CRS84 from 0° to 90°, and in EPSG 4326
/// from 90° back to 0° (the same guidelines, examples A and B).
#[test]
fn angles_follow_the_order_of_axes() {
    let quarter = |start: f64, end: f64, centre: &str, corners: &str| {
        curve(&format!(
            r#"<gml:ArcByCenterPoint numArc="1"><gml:pos>{centre}</gml:pos>
            <gml:radius uom="km">10</gml:radius><gml:startAngle uom="deg">{start}</gml:startAngle>
            <gml:endAngle uom="deg">{end}</gml:endAngle></gml:ArcByCenterPoint>
            <gml:LineStringSegment><gml:posList>{corners}</gml:posList></gml:LineStringSegment>"#
        ))
    };
    // 10 km are 0.08983 degrees of longitude and 0.09044 of latitude here (closed form).
    let crs84 = quarter(0.0, 90.0, "10 0", "10 0.09044 10 0 10.08983 0");
    let epsg = quarter(90.0, 0.0, "0 10", "0.09044 10 0 10 0 10.08983");
    for (srs, ring) in [(LON_LAT, crs84), (LAT_LON, epsg)] {
        let volume = one(srs, &ring);
        // Bulges to the north-east.
        assert!(volume.polygons.contains(&Point::new(10.06, 0.06)));
        assert!(!volume.polygons.contains(&Point::new(9.99, 0.01)));
        let area = volume.polygons.geodesic_area_unsigned();
        let quarter_disc = std::f64::consts::PI * 1e8 / 4.0;
        assert!((area / quarter_disc - 1.0).abs() < 1e-3, "{area}");
    }
}

/// A geodesic of 5 degrees of longitude at 50 N bulges north of the parallel: its middle, by the
/// spherical triangle tan φ = tan 50° ⁄ cos 2.5° (closed form; the ellipsoid changes the bulge by
/// less than 1 %).
#[test]
fn geodesics_are_not_parallels() {
    let volume = one(
        LAT_LON,
        &curve(
            "<gml:GeodesicString><gml:posList>50 0 49 0 49 5 50 5 50 0</gml:posList></gml:GeodesicString>",
        ),
    );
    let north = volume.polygons.0[0]
        .exterior()
        .coords()
        .map(|c| c.y)
        .fold(0.0, f64::max);
    let sphere = (50f64.to_radians().tan() / 2.5f64.to_radians().cos())
        .atan()
        .to_degrees();
    assert!(
        ((north - 50.0) / (sphere - 50.0) - 1.0).abs() < 0.01,
        "{north}"
    );
}

#[test]
fn what_is_not_read_is_named() {
    let square = "-31 150 -31 150.1 -30.9 150.1 -30.9 150 -31 150";
    for (srs, ring, expected) in [
        ("EPSG:4326", linear(square), "axes are not known"),
        (
            "urn:ogc:def:crs:EPSG::4979",
            linear(square),
            "axes are not known",
        ),
        (
            LAT_LON,
            linear("-31 150 -31 150.1 -30.9"),
            "other than two numbers",
        ),
        (
            LAT_LON,
            linear("-31 150 -31 150.1 -30.9 150.1 -30.5 150"),
            "gap",
        ),
        (
            LAT_LON,
            linear("-31 150 -31 x -30.9 150.1 -31 150"),
            "where a number is due",
        ),
        (
            LAT_LON,
            linear("150 -31 150.1 -31 150.1 -30.9 150 -31"),
            "latitude",
        ),
        (
            LAT_LON,
            linear("-31 150 -31 150"),
            "fewer than three corners",
        ),
        (
            LAT_LON,
            curve("<gml:ArcString><gml:posList>0 0 1 1</gml:posList></gml:ArcString>"),
            "three positions",
        ),
        (
            LAT_LON,
            curve("<gml:Arc><gml:posList>0 0 0 0 0 1</gml:posList></gml:Arc>"),
            "lie on no circle",
        ),
        (
            LAT_LON,
            curve("<gml:Arc><gml:posList>0 0 0 1 0 2</gml:posList></gml:Arc>"),
            "lie on no circle",
        ),
        (LAT_LON, curve("<gml:Circle/>"), "three positions"),
        (LAT_LON, curve("<gml:Bezier/>"), "Bezier"),
        (
            LAT_LON,
            r##"<gml:Ring><gml:curveMember xlink:href="#b"/></gml:Ring>"##.to_owned(),
            "borrows a curve",
        ),
        (
            LAT_LON,
            curve(
                r#"<gml:CircleByCenterPoint><gml:pos>0 0</gml:pos><gml:radius uom="furlong">1</gml:radius></gml:CircleByCenterPoint>"#,
            ),
            "furlong",
        ),
        (
            LAT_LON,
            curve(
                r#"<gml:CircleByCenterPoint><gml:pos>89 0</gml:pos><gml:radius uom="km">50</gml:radius></gml:CircleByCenterPoint>"#,
            ),
            "pole",
        ),
    ] {
        let found = reason(srs, &ring);
        assert!(found.contains(expected), "{found:?} for {expected:?}");
    }
    let corridor = message(&[airspace("A", "<aixm:centreline/>", "")]);
    assert!(
        aixm::features(&corridor).unwrap().defects[0]
            .1
            .contains("corridor")
    );
    // The defect reaches what was not assessed.
    let layers = read("airspace.xml", &corridor, "");
    assert!(
        layers
            .not_assessed
            .iter()
            .any(|it| it.what == "features of airspace" && it.count == 1)
    );
}

/// What is taken away from a base is left out, which is larger; a delta is no baseline.
#[test]
fn components_and_time_slices() {
    let square = surface(
        LAT_LON,
        &linear("-31 150 -31 150.1 -30.9 150.1 -30.9 150 -31 150"),
    );
    let base = airspace("A", LIMITS, &square);
    let component = |operation: &str| {
        format!(
            r#"<aixm:geometryComponent><aixm:AirspaceGeometryComponent>
            <aixm:operation>{operation}</aixm:operation><aixm:theAirspaceVolume>
            <aixm:AirspaceVolume>{LIMITS}<aixm:horizontalProjection>{square}</aixm:horizontalProjection>
            </aixm:AirspaceVolume></aixm:theAirspaceVolume></aixm:AirspaceGeometryComponent>
            </aixm:geometryComponent></aixm:AirspaceTimeSlice>"#
        )
    };
    let with = |operation: &str| {
        let text = message(&[base.replace("</aixm:AirspaceTimeSlice>", &component(operation))]);
        aixm::features(&text).unwrap()
    };
    assert_eq!(with("UNION").features.len(), 2);
    let less = with("SUBTR");
    assert_eq!((less.features.len(), less.notes.len()), (1, 1));
    assert_eq!(with("OTHER").defects.len(), 1);
    let delta = aixm::features(&message(&[base.replace("BASELINE", "TEMPDELTA")])).unwrap();
    assert!(delta.features.is_empty() && delta.defects.len() == 1);
    // A second lower limit leaves the first undetermined.
    let second = LIMITS.replace(
        "<aixm:lowerLimit uom=\"FT\">GND",
        "<aixm:minimumLimit uom=\"FT\">500</aixm:minimumLimit><aixm:lowerLimit uom=\"FT\">1000",
    );
    let found = volumes(&message(&[airspace("A", &second, &square)]));
    assert!(found[0].lower.defect().is_some());
}

#[test]
fn damaged_or_hostile_xml_is_one_clear_error() {
    let deep = format!("{}{}", "<a>".repeat(100_000), "</a>".repeat(100_000));
    for (text, expected) in [
        ("", "is not XML"),
        ("{}", "is not XML"),
        ("<a>", "is not XML"),
        ("<a/>", "holds no AIXM 5.1 airspace"),
        (
            r#"<Airspace xmlns="http://www.aixm.aero/schema/4.5"/>"#,
            "holds no AIXM 5.1 airspace",
        ),
        (r#"<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>"#, "is not XML"),
        (&deep, "nests elements deeper"),
    ] {
        let error = aixm::features(text).unwrap_err().to_string();
        assert!(error.contains(expected), "{error}");
    }
}

proptest! {
    /// A message with bytes changed, doubled or lost is read or refused, and never panics.
    #[test]
    fn no_mutation_of_a_message_panics(
        edits in prop::collection::vec((0usize..6000, 0u8..4, prop::sample::select(b"0189.-<>/\"&; aAeNMx".to_vec())), 1..12)
    ) {
        let ring = curve(r#"<gml:ArcByCenterPoint numArc="1"><gml:pos>44.827 -0.721</gml:pos>
            <gml:radius uom="[nmi_i]">23.0</gml:radius><gml:startAngle uom="deg">-39</gml:startAngle>
            <gml:endAngle uom="deg">96</gml:endAngle></gml:ArcByCenterPoint>
            <gml:GeodesicString><gml:posList>44.784 -0.1875 44.69 -0.295 45.123 -1.061</gml:posList>
            </gml:GeodesicString>"#);
        let mut bytes = message(&[airspace("A", LIMITS, &surface(LAT_LON, &ring))]).into_bytes();
        for (at, what, with) in edits {
            let at = at % bytes.len();
            match what {
                0 => bytes[at] = with,
                1 => bytes.insert(at, with),
                2 => { bytes.remove(at); }
                _ => { let part: Vec<u8> = bytes[at..(at + 20).min(bytes.len())].to_vec(); bytes.extend(part); }
            }
        }
        if let Ok(text) = String::from_utf8(bytes) {
            let _ = aixm::features(&text);
        }
    }
}
