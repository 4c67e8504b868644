//! Files of sites in every format: the same sites from each, one bad one no harm to the others.

use std::path::{Path, PathBuf};

use eaves::read::sites::{ReadSite, SiteDefect, SiteFile, SiteOptions};
use gdal::DriverManager;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path
    }
}

type Outcome = Result<ReadSite, SiteDefect>;

fn read_with(path: &Path, options: &SiteOptions) -> Result<Vec<Outcome>, String> {
    let mut file = SiteFile::open(path, options).map_err(|why| why.to_string())?;
    loop {
        let mut sites = file.sites().map_err(|why| why.to_string())?;
        let mut read = Vec::new();
        while let Some(raw) = sites.next().map_err(|why| why.to_string())? {
            read.push(file.site(read.len() as u64, raw));
        }
        match sites.late_crs().map(str::to_owned) {
            Some(crs) if file.crs().is_wgs84() => {
                file = file.with_crs(&crs).map_err(|why| why.to_string())?;
            }
            _ => return Ok(read),
        }
    }
}

fn read(path: &Path) -> Vec<Outcome> {
    read_with(path, &SiteOptions::default()).unwrap()
}

fn ids(read: &[Outcome]) -> Vec<&str> {
    read.iter()
        .map(|site| match site {
            Ok(site) => site.id.as_str(),
            Err(defect) => defect.id.as_str(),
        })
        .collect()
}

fn refusal(path: &Path) -> String {
    let why = read_with(path, &SiteOptions::default()).unwrap_err();
    why.replace(&format!("{}/", path.parent().unwrap().display()), "")
}

const POINT: &str = r#"{"type":"Feature","id":"a","properties":{"radius_m":120,"name":"Ä"},"geometry":{"type":"Point","coordinates":[149.5,-30.5]}}"#;
const LINE: &str = r#"{"type":"Feature","properties":{"id":7,"width_ft":"100"},"geometry":{"type":"LineString","coordinates":[[149.5,-30.5],[149.51,-30.5]]}}"#;
const PLAIN: &str = r#"{"type":"Feature","properties":{"wished_height_m_agl":"40 m"},"geometry":{"type":"Polygon","coordinates":[[[149.5,-30.5],[149.51,-30.5],[149.51,-30.49],[149.5,-30.5]]]}}"#;

fn check_three(read: &[Outcome]) {
    let [Ok(point), Ok(line), Ok(plain)] = read else {
        panic!("{read:?}");
    };
    assert_eq!(ids(read), ["a", "7", "#3"]);
    assert_eq!(point.radius.unwrap().m(), 120.0);
    assert_eq!(point.name.as_deref(), Some("Ä"));
    // 100 ft = 30.48 m exactly.
    assert!((line.width.unwrap().m() - 30.48).abs() < 1e-9);
    assert_eq!(plain.wish.unwrap().m(), 40.0);
    assert!(matches!(plain.geometry, Some(geo::Geometry::Polygon(_))));
}

#[test]
fn geojson_in_every_framing_gives_the_same_sites() {
    let folder = Folder::new();
    let collection = format!(
        "{{\"note\": {{\"features\": [1, \"]}}\\\"\"]}}, \"features\" : [\n{POINT} , {LINE},{PLAIN}\n], \"type\":\"FeatureCollection\"}}\n"
    );
    check_three(&read(&folder.write("a.geojson", &collection)));
    check_three(&read(
        &folder.write("bom.json", format!("\u{feff}{collection}")),
    ));
    let lines = format!("{POINT}\r\n\n{LINE}\n{PLAIN}");
    for name in ["a.ndjson", "a.jsonl", "a.geojsonl", "lines.geojson"] {
        check_three(&read(&folder.write(name, &lines)));
    }
    // RFC 8142 section 2: record separator, text, line feed.
    let records = format!("\u{1e}{POINT}\n\u{1e}{LINE}\n\u{1e}{PLAIN}\n");
    check_three(&read(&folder.write("seq.geojsons", &records)));
    check_three(&read(&folder.write("seq.json", &records)));
    // A record may go over several lines.
    let pretty = records.replace(",\"geometry\"", ",\n \"geometry\"");
    check_three(&read(&folder.write("pretty.geojsons", pretty)));
    assert_eq!(ids(&read(&folder.write("one.geojson", POINT))), ["a"]);
    let geometry = r#"{"type":"Point","coordinates":[1,2]}"#;
    assert_eq!(ids(&read(&folder.write("bare.geojson", geometry))), ["#1"]);
    let none = "{\"type\":\"FeatureCollection\",\"features\":[]}";
    assert!(read(&folder.write("none.geojson", none)).is_empty());
}

#[test]
fn a_bad_site_is_one_defect_among_good_ones() {
    let folder = Folder::new();
    let bad = [
        (
            r#"{"type":"Feature","id":"b","properties":{},"geometry":{"type":"Point","coordinates":[1,"x"]}}"#,
            "b",
            "a coordinate is text",
        ),
        (
            r#"{"type":"Feature","id":"c","properties":{},"geometry":{"type":"Blob","coordinates":[]}}"#,
            "c",
            "\"Blob\" is not",
        ),
        (
            r#"{"type":"Feature","id":"d","properties":{},"geometry":{"type":"Point","coordinates":[1,95]}}"#,
            "d",
            "beyond 90 degrees",
        ),
        (
            r#"{"type":"Feature","id":"e","properties":{"radius_m":"-5"},"geometry":null}"#,
            "e",
            "its radius_m \"-5\" is not above 0",
        ),
        (
            r#"{"type":"Feature","id":"f","properties":{"radius_m":"100-200"},"geometry":null}"#,
            "f",
            "its radius_m",
        ),
        ("17", "#6", "invalid type"),
        (r#"{"type":"Feature",,}"#, "#7", "is not JSON"),
    ];
    let texts: Vec<&str> = bad.iter().map(|(text, _, _)| *text).collect();
    let collection = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{},{POINT}]}}",
        texts.join(",")
    );
    let lines = format!("{}\n{POINT}", texts.join("\n"));
    for (name, text) in [("a.geojson", collection), ("a.ndjson", lines)] {
        let read = read(&folder.write(name, text));
        assert_eq!(read.len(), bad.len() + 1, "{name}");
        for (outcome, (_, id, why)) in read.iter().zip(&bad) {
            let defect = outcome.as_ref().unwrap_err();
            assert_eq!(&defect.id, id, "{name}");
            assert!(defect.why.contains(why), "{name}: {} not {why}", defect.why);
        }
        assert!(read.last().unwrap().is_ok());
    }
    // A line that is cut short takes no other with it.
    let cut = format!("{POINT}\n{}\n{LINE}\n\u{fffd}", &PLAIN[..60]);
    let read = read(&folder.write("cut.ndjson", cut));
    assert_eq!(ids(&read), ["a", "#2", "7", "#4"]);
    assert!(read[1].as_ref().unwrap_err().why.contains("truncated"));
    assert!(read[3].is_err());
}

#[test]
fn files_that_are_no_files_of_sites_are_refused_in_one_line() {
    let folder = Folder::new();
    let cases = [
        (
            "empty.geojson",
            "",
            "empty.geojson: is empty; export it again",
        ),
        (
            "blank.geojson",
            " \n",
            "blank.geojson: is empty; export it again",
        ),
        (
            "array.json",
            "[1]",
            "array.json: is not GeoJSON: the top level is not an object; export it as a GeoJSON FeatureCollection, or one feature a line",
        ),
        (
            "topo.json",
            "{\"type\":\"Topology\"}",
            "topo.json: is not GeoJSON: its type is \"Topology\"; export it as a GeoJSON FeatureCollection, or one feature a line",
        ),
        (
            "late.json",
            "{\"features\":[],\"type\":\"Topology\"}",
            "late.json: is not GeoJSON: its type is \"Topology\"; export it as a GeoJSON FeatureCollection, or one feature a line",
        ),
        (
            "cut.json",
            "{\"type\":\"FeatureCollection\",\"features\":[{\"a\":1",
            "cut.json: ends too early (byte 46): it is truncated; export or copy it again",
        ),
        (
            "comma.json",
            "{\"type\":\"FeatureCollection\",\"features\":[{} {}]}",
            "comma.json: is not JSON: '{' at byte 43 where ',' is expected; export it as GeoJSON again",
        ),
        (
            "more.json",
            "{\"type\":\"FeatureCollection\",\"features\":[]} x",
            "more.json: goes on behind its last brace (byte 43); export it as one FeatureCollection",
        ),
        (
            "sites.doc",
            "x",
            "sites.doc: its extension \".doc\" is not one of a file of sites; use geojson, ndjson, csv, gpkg, fgb, shp or kml",
        ),
        (
            "names.csv",
            "name,breadth\na,1\n",
            "names.csv: has no columns for longitude and latitude, nor one of well-known text, but name, breadth; name them with --longitude and --latitude",
        ),
    ];
    for (name, text, words) in cases {
        let path = folder.write(name, text);
        let said = match SiteFile::open(&path, &SiteOptions::default()) {
            Err(why) => why.to_string(),
            Ok(file) => {
                let mut sites = file.sites().unwrap();
                loop {
                    match sites.next() {
                        Ok(Some(_)) => {}
                        Ok(None) => panic!("{name} was read"),
                        Err(why) => break format!("{}: {why}", path.display()),
                    }
                }
            }
        };
        let said = said.replace(&format!("{}/", folder.0.path().display()), "");
        assert_eq!(said, words);
    }
    assert_eq!(
        refusal(&folder.path("none.csv")),
        "none.csv: does not exist; check the path"
    );
    std::fs::create_dir(folder.path("folder.csv")).unwrap();
    assert!(refusal(&folder.path("folder.csv")).contains("is a folder, not a file"));
    let utf16: Vec<u8> = POINT.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(refusal(&folder.write("wide.geojson", utf16)).contains("is UTF-16 text"));
}

#[test]
fn tables_with_every_separator_and_any_names() {
    let folder = Folder::new();
    let comma =
        "id,name,lon,lat,radius_m\na,\"x, y\",149.5,-30.5,120\nb,\"two\nlines\",149.6,-30.6,\n";
    let semicolon = "\u{feff}id;name;Longitude;Latitude;radius_m\r\na;x, y;149,5;-30,5;120\r\nb;\"two\nlines\";149,6;-30,6;\r\n";
    let tab =
        "id\tname\tx\ty\tradius_m\na\tx, y\t149.5\t-30.5\t120\nb\t\"two\nlines\"\t149.6\t-30.6\t\n";
    for (name, text) in [("a.csv", comma), ("b.csv", semicolon), ("c.tsv", tab)] {
        let read = read(&folder.write(name, text));
        assert_eq!(ids(&read), ["a", "b"], "{name}");
        let first = read[0].as_ref().unwrap();
        assert_eq!(first.radius.unwrap().m(), 120.0);
        assert_eq!(first.name.as_deref(), Some("x, y"));
        let place = geo::Geometry::Point(geo::Point::new(149.5, -30.5));
        assert_eq!(first.geometry, Some(place), "{name}");
        assert!(read[1].as_ref().unwrap().radius.is_none());
    }
    let odd = folder.write("odd.csv", "Key,E,N\nk1,500000,6600000\n");
    let options = SiteOptions {
        id: Some("Key".into()),
        longitude: Some("E".into()),
        latitude: Some("N".into()),
        crs: Some("EPSG:32755".into()),
        table: None,
    };
    let read = read_with(&odd, &options).unwrap();
    let site = read[0].as_ref().unwrap();
    assert_eq!(site.id, "k1");
    // The central meridian of UTM zone 55 is 147 degrees east.
    let Some(geo::Geometry::Point(point)) = site.geometry else {
        panic!("{site:?}");
    };
    assert!((point.x() - 147.0).abs() < 1e-9 && point.y() < -30.0);
    let wrong = SiteOptions {
        longitude: Some("Easting".into()),
        ..options
    };
    let said = read_with(&odd, &wrong).unwrap_err();
    assert!(
        said.ends_with("has no column \"Easting\" but Key, E, N; give --longitude one of these")
    );
    let wkt = "id,wkt\np,\"POLYGON ((149 -30, 149.1 -30, 149.1 -29.9, 149 -30))\"\nq,POLYGO\nr,\n";
    let read = read_with(&folder.write("w.csv", wkt), &SiteOptions::default()).unwrap();
    assert!(matches!(
        read[0].as_ref().unwrap().geometry,
        Some(geo::Geometry::Polygon(_))
    ));
    assert_eq!(
        read[1].as_ref().unwrap_err().why,
        "its well-known text cannot be read"
    );
    assert_eq!(read[2].as_ref().unwrap_err().why, "has no well-known text");
}

#[test]
fn a_bad_record_of_a_table_is_one_defect() {
    let folder = Folder::new();
    let text =
        b"id,lon,lat\na,x,1\nb,1\nc,,2\nd,1,2,3\n\ne,nan,1\nf,1e999,1\n\xff,1,2\ng,10,20\nh,1,95\n";
    let read = read(&folder.write("a.csv", text));
    let why = |index: usize| read[index].as_ref().unwrap_err().why.clone();
    assert_eq!(why(0), "its lon \"x\" is not a number of degrees or metres");
    assert_eq!(why(1), "has 2 values where the table has 3 columns");
    assert_eq!(why(2), "its lon is empty");
    assert_eq!(why(3), "has 4 values where the table has 3 columns");
    assert!(why(4).contains("\"nan\"") && why(5).contains("\"1e999\""));
    assert_eq!(why(6), "its column id is not UTF-8 text");
    assert!(read[7].is_ok());
    assert!(why(8).contains("beyond 90 degrees"));
    assert_eq!(ids(&read), ["a", "b", "c", "d", "e", "f", "#7", "g", "h"]);
}

/// A coordinate reference system may stand behind the features that it is for (GeoJSON 2008).
#[test]
fn a_crs_behind_the_sites_counts() {
    let folder = Folder::new();
    let feature = r#"{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[500000,6600000]}}"#;
    let crs = r#""crs":{"type":"name","properties":{"name":"EPSG:32755"}}"#;
    let before = format!("{{\"type\":\"FeatureCollection\",{crs},\"features\":[{feature}]}}");
    let behind = format!("{{\"type\":\"FeatureCollection\",\"features\":[{feature}],{crs}}}");
    let place = |read: Vec<Outcome>| read[0].as_ref().unwrap().geometry.clone().unwrap();
    let a = place(read(&folder.write("before.geojson", before)));
    let b = place(read(&folder.write("behind.geojson", behind)));
    assert_eq!(a, b);
}

#[test]
fn geopackage_flatgeobuf_and_shapefile_through_gdal() {
    let folder = Folder::new();
    for (driver, name, id) in [
        ("GPKG", "a.gpkg", "site_id"),
        ("FlatGeobuf", "a.fgb", "id"),
        ("ESRI Shapefile", "a.shp", "id"),
    ] {
        let path = folder.path(name);
        let driver = DriverManager::get_driver_by_name(driver).unwrap();
        let mut dataset = driver.create_vector_only(&path).unwrap();
        let reference = SpatialRef::from_epsg(4326).unwrap();
        let layer = dataset
            .create_layer(LayerOptions {
                name: "a",
                srs: Some(&reference),
                ty: OGRwkbGeometryType::wkbPolygon25D,
                options: None,
            })
            .unwrap();
        layer
            .create_defn_fields(&[
                (id, OGRFieldType::OFTString),
                ("radius_m", OGRFieldType::OFTReal),
            ])
            .unwrap();
        let definition = layer.defn();
        for (key, text) in [
            (
                "first",
                "POLYGON Z ((149 -30 5, 149.01 -30 5, 149.01 -29.99 5, 149 -30 5))",
            ),
            (
                "second",
                "POLYGON Z ((148 -30 5, 148.01 -30 5, 148.01 -29.99 5, 148 -30 5))",
            ),
        ] {
            let mut feature = gdal::vector::Feature::new(definition).unwrap();
            let index = feature.field_index(id).unwrap();
            feature.set_field_string(index, key).unwrap();
            feature
                .set_geometry(Geometry::from_wkt(text).unwrap())
                .unwrap();
            feature.create(&layer).unwrap();
        }
        dataset.close().unwrap();
        let read = read(&path);
        let mut found = ids(&read);
        // A FlatGeobuf with an index is in the order of its index.
        found.sort_unstable();
        assert_eq!(found, ["first", "second"], "{name}");
        for site in read {
            assert!(matches!(
                site.unwrap().geometry,
                Some(geo::Geometry::Polygon(_))
            ));
        }
    }
}

/// A member `bbox` leaves a site to the plain parser: what is read must not depend on it. The file is
/// longer than what is held of it at a time.
#[test]
fn quick_and_plain_readings_of_sites_are_the_same() {
    let ids = [
        "",
        r#""id":7,"#,
        r#""id":" ","#,
        r#""id":"s\u00e9","#,
        r#""id":null,"#,
    ];
    let properties = [
        r#"{"name":"a \"}]{[\\","radius_m":12,"radius_m":13}"#,
        r#"{"ID":"B","id":"A","Width":"200 ft"}"#,
        r#"{"radius_ft":1e3,"wished_height_m_agl":{"a":[1.50]}}"#,
        r#"{"site_id":3.0,"radius_m":-1e9,"width_m":"?"}"#,
        "null",
        r#"{"name":"\ud800"}"#,
    ];
    let geometries = [
        r#"{"type":"Point","coordinates":[149.5,-30.5,12.5]}"#,
        r#"{"type":"Polygon","coordinates":[[[149.5,-30.5],[149.51,-30.5],[149.51,-30.49],[149.5,-30.5]]]}"#,
        "{\"coordinates\" :[ [149.5, -3.05e1],\r\n[149.51,-30.5] ],\"type\":\"LineString\"}",
        r#"{"type":"Polygon","coordinates":[[[149.5,-30.5],[149.51,-30.5]]]}"#,
        r#"{"type":"GeometryCollection","geometries":[]}"#,
        "null",
    ];
    let sites = |more: &str| {
        let folder = Folder::new();
        let mut features = Vec::new();
        for number in 0..6_000 {
            let (id, rest) = (ids[number % 5], number / 5);
            let (properties, geometry) = (properties[rest % 6], geometries[rest / 6 % 6]);
            features.push(format!(
                r#"{{"type":"Feature",{id}"properties":{properties},"geometry":{geometry}{more}}}"#
            ));
        }
        let text = features.join(", \n");
        let path = folder.write(
            "sites.geojson",
            format!(r#"{{"type":"FeatureCollection","features":[{text}]}}"#),
        );
        let lines = folder.write(
            "sites.ndjson",
            features
                .join("\u{1}")
                .replace(['\r', '\n'], " ")
                .replace('\u{1}', "\r\n"),
        );
        let read = read(&path);
        let of_lines = self::read(&lines);
        assert_eq!(format!("{read:?}"), format!("{of_lines:?}"));
        read
    };
    let quick = sites("");
    let plain = sites(r#","bbox":[1,2,3,4]"#);
    assert_eq!(quick.len(), 6_000);
    assert!(quick.iter().filter(|site| site.is_ok()).count() > 1_000);
    assert!(quick.iter().filter(|site| site.is_err()).count() > 1_000);
    for (quick, plain) in quick.iter().zip(&plain) {
        assert_eq!(format!("{quick:?}"), format!("{plain:?}"));
    }
}
