//! Coordinate reference systems against published worked examples.

use eaves::frame::{LonLat, geodesic};
use eaves::read::crs::Crs;

fn degrees(d: f64, m: f64, s: f64) -> f64 {
    d + m / 60.0 + s / 3600.0
}

fn place(crs: &str, x: f64, y: f64) -> LonLat {
    let (lon, lat) = Crs::declared(crs).unwrap().to_lon_lat(x, y).unwrap();
    LonLat::new(lon, lat).unwrap()
}

/// Flinders Peak and Buninyong on MGA2020: GDA2020 Technical Manual, through GeoscienceAustralia
/// GeodePy `tests/test_geodesy.py` (`test_vincinv_utm`); geographic coordinates from the same file.
#[test]
fn mga2020_coordinates_are_those_of_the_manual() {
    for (crs, lon, lat, easting, northing) in [
        (
            "EPSG:7855",
            144.424_867_888_888_88,
            -37.951_033_416_666_67,
            273_741.296_6,
            5_796_489.776_9,
        ),
        (
            "EPSG:7854",
            143.926_495_527_777_78,
            -37.652_821_138_888_89,
            758_173.797_3,
            5_828_674.340_2,
        ),
    ] {
        let (x, y) = Crs::declared(crs)
            .unwrap()
            .from_lon_lat(LonLat::new(lon, lat).unwrap())
            .unwrap();
        assert!((x - easting).abs() < 1e-4, "{crs}: easting {x}");
        assert!((y - northing).abs() < 1e-4, "{crs}: northing {y}");
        let back = place(crs, easting, northing);
        let off = geodesic(back, LonLat::new(lon, lat).unwrap()).distance.m();
        assert!(off < 2e-4, "{crs}: {off} m off on the way back");
    }
}

/// Station ALIC: GDA2020 Technical Manual v1.2 section 3.1.1 (through GeodePy `test_transform.py`):
/// GDA94 23 40 12.446019 S, 133 53 07.847844 E is GDA2020 23 40 12.39650 S, 133 53 07.87779 E.
#[test]
fn gda94_goes_through_gda2020_at_alice_springs() {
    let (lon, lat) = (
        degrees(133.0, 53.0, 7.847_844),
        -degrees(23.0, 40.0, 12.446_019),
    );
    let moved = place("EPSG:4283", lon, lat);
    let expected = LonLat::new(
        degrees(133.0, 53.0, 7.877_79),
        -degrees(23.0, 40.0, 12.396_50),
    )
    .unwrap();
    // The manual prints five decimals of a second: 0.3 mm.
    let off = geodesic(moved, expected).distance.m();
    assert!(off < 5e-4, "{off} m from the manual's place");
    let unmoved = place("EPSG:7844", lon, lat);
    let shift = geodesic(unmoved, moved);
    assert!(
        (shift.distance.m() - 1.743_8).abs() < 1e-3,
        "{:?}",
        shift.distance
    );
    assert!(
        (shift.bearing_from.degrees() - 29.12).abs() < 0.05,
        "{:?}",
        shift.bearing_from
    );
}

/// The same station on MGA94 zone 53, E 386352.3979 N 7381850.7689, is E 386353.2343 N 7381852.2986
/// on MGA2020 (same source).
#[test]
fn projected_gda94_is_shifted_too() {
    let through_94 = place("EPSG:28353", 386_352.397_9, 7_381_850.768_9);
    let through_2020 = place("EPSG:7853", 386_353.234_3, 7_381_852.298_6);
    let off = geodesic(through_94, through_2020).distance.m();
    assert!(off < 5e-4, "{off} m apart");
    let operation = Crs::declared("EPSG:28353")
        .unwrap()
        .operation_at(386_352.397_9, 7_381_850.768_9)
        .unwrap();
    assert_eq!(
        operation.description,
        "Inverse of Map Grid of Australia zone 53 + GDA94 to GDA2020 (1); GDA2020 taken as WGS 84"
    );
    // 0.01 m for the transformation and 3 m for GDA2020 as WGS 84 (EPSG database, PROJ 9.1).
    assert!((operation.accuracy.m() - 3.01).abs() < 1e-9);
    assert!(operation.is_null);
}

/// Accuracies are those of the EPSG database as PROJ 9.1 ships it.
#[test]
fn null_operations_say_so_with_their_accuracy() {
    for (crs, x, y, accuracy_m, words) in [
        ("EPSG:7844", 133.0, -23.0, 3.0, "GDA2020 to WGS 84 (2)"),
        ("EPSG:4167", 174.0, -41.0, 1.0, "NZGD2000 to WGS 84 (1)"),
        ("EPSG:4258", 15.0, 48.0, 1.0, "ETRS89 to WGS 84 (1)"),
        ("EPSG:6318", -100.0, 40.0, 2.0, "NAD83(2011) to WGS 84 (1)"),
        (
            "EPSG:2193",
            1_748_735.0,
            5_427_916.0,
            1.0,
            "Inverse of New Zealand Transverse Mercator 2000 + NZGD2000 to WGS 84 (1)",
        ),
    ] {
        let operation = Crs::declared(crs).unwrap().operation_at(x, y).unwrap();
        assert_eq!(operation.description, words);
        assert!((operation.accuracy.m() - accuracy_m).abs() < 1e-9, "{crs}");
        assert!(operation.is_null, "{crs}");
    }
    let exact = Crs::declared("EPSG:32755")
        .unwrap()
        .operation_at(273_741.0, 5_796_489.0)
        .unwrap();
    assert!(!exact.is_null);
    assert_eq!(exact.accuracy.m(), 0.0);
}

#[test]
fn axis_order_is_longitude_first_whatever_the_authority_says() {
    for name in [
        "EPSG:4326",
        "urn:ogc:def:crs:OGC:1.3:CRS84",
        "urn:ogc:def:crs:EPSG::4326",
        "OGC:CRS84",
    ] {
        let crs = Crs::declared(name).unwrap();
        assert!(crs.is_wgs84(), "{name}");
        assert_eq!(crs.to_lon_lat(150.0, -31.0), Some((150.0, -31.0)));
    }
    let (lon, lat) = Crs::declared("urn:ogc:def:crs:EPSG::7844")
        .unwrap()
        .to_lon_lat(150.0, -31.0)
        .unwrap();
    assert!((lon - 150.0).abs() < 1e-9 && (lat + 31.0).abs() < 1e-9);
}

#[test]
fn what_cannot_be_converted_is_refused() {
    for (definition, message) in [
        (
            "EPSG:999999",
            "\"EPSG:999999\" is not a coordinate reference system that PROJ knows; give an EPSG \
             code such as EPSG:7844, or convert the file to WGS 84",
        ),
        (
            "nonsense",
            "\"nonsense\" is not a coordinate reference system that PROJ knows; give an EPSG code \
             such as EPSG:7844, or convert the file to WGS 84",
        ),
        (
            "EPSG:5711",
            "\"EPSG:5711\" has no longitude and latitude or easting and northing; declare the \
             horizontal coordinate reference system of the file",
        ),
        (
            "+proj=longlat +ellps=bessel +no_defs",
            "unknown has no known transformation to WGS 84, only a ballpark one; convert the file \
             to WGS 84 with a known transformation",
        ),
    ] {
        assert_eq!(Crs::declared(definition).unwrap_err().to_string(), message);
    }
}

/// A Lambert system on GDA94 as a Shapefile's `.prj` writes it (names and parameters of VicGrid94,
/// EPSG:3111): the datum is recognised without an EPSG code.
#[test]
fn gda94_is_recognised_in_well_known_text() {
    let text = r#"PROJCS["Own_Lambert",GEOGCS["GCS_GDA_1994",DATUM["D_GDA_1994",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",2500000.0],PARAMETER["False_Northing",2500000.0],PARAMETER["Central_Meridian",145.0],PARAMETER["Standard_Parallel_1",-36.0],PARAMETER["Standard_Parallel_2",-38.0],PARAMETER["Latitude_Of_Origin",-37.0],UNIT["Meter",1.0]]"#;
    let own = Crs::declared(text)
        .unwrap()
        .to_lon_lat(2_500_100.0, 2_500_200.0)
        .unwrap();
    let vicgrid = Crs::declared("EPSG:3111")
        .unwrap()
        .to_lon_lat(2_500_100.0, 2_500_200.0)
        .unwrap();
    assert!(
        (own.0 - vicgrid.0).abs() < 1e-10 && (own.1 - vicgrid.1).abs() < 1e-10,
        "{own:?} {vicgrid:?}"
    );
    let unshifted = (145.0, -37.0);
    let origin = Crs::declared("EPSG:3111")
        .unwrap()
        .to_lon_lat(2_500_000.0, 2_500_000.0)
        .unwrap();
    let shift = geodesic(
        LonLat::new(unshifted.0, unshifted.1).unwrap(),
        LonLat::new(origin.0, origin.1).unwrap(),
    );
    // "About 1.8 m to the north-east" (GDA2020 Technical Manual).
    assert!((1.5..2.0).contains(&shift.distance.m()), "{shift:?}");
    assert!((0.0..60.0).contains(&shift.bearing_from.degrees()));
}
