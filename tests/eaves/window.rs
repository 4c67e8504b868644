//! The reading window holds every place within its distance, wherever the area lies.

use eaves::frame::{LonLat, destination, longitude_step};
use eaves::read::{Window, window_about};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::{Bearing, Metres};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;

fn area(corners: &[(f64, f64)]) -> OperatingArea {
    let ring: Vec<Coord<f64>> = corners.iter().map(|&(x, y)| Coord { x, y }).collect();
    OperatingArea {
        source: FeatureRef {
            file: "area.geojson".into(),
            feature: "#1".into(),
        },
        name: "area".into(),
        polygons: MultiPolygon::new(vec![Polygon::new(LineString(ring), Vec::new())]),
    }
}

fn holds(window: Window, place: LonLat) -> bool {
    let lon = if window.west <= window.east {
        (window.west..=window.east).contains(&place.lon())
    } else {
        place.lon() >= window.west || place.lon() <= window.east
    };
    lon && (window.south..=window.north).contains(&place.lat())
}

proptest! {
    // Karney's direct geodesic (crate geographiclib-rs) says where the places are.
    #[test]
    fn every_place_within_the_distance_is_inside(
        lon in -180.0..180.0f64,
        lat in -88.9..88.9f64,
        wide in 0.0001..0.5f64,
        high in 0.0001..0.05f64,
        metres in 0.0..60_000.0f64,
        share in 0.0..=1.0f64,
        bearing in 0.0..360.0f64,
        along in 0.0..=1.0f64,
    ) {
        let east = LonLat::wrapped(lon + wide, lat).lon();
        let site = area(&[(lon, lat), (east, lat), (east, lat + high), (lon, lat + high), (lon, lat)]);
        let window = window_about(&site, Metres::of(metres));
        for ring in site.rings() {
            for edge in ring.windows(2) {
                let from = edge[0].towards(edge[1], along);
                let to = destination(from, Bearing::new(bearing).unwrap(), Metres::of(metres * share));
                prop_assert!(holds(window, to), "{to:?} outside {window:?}");
            }
        }
    }
}

// One degree of longitude on the equator is 111 319.491 m, one of latitude there 110 574.276 m
// (WGS 84, closed form).
#[test]
fn the_window_is_not_much_wider_than_it_must_be() {
    let site = area(&[(10.0, 0.0), (10.01, 0.0), (10.01, 0.01), (10.0, 0.0)]);
    let window = window_about(&site, Metres::of(11_131.95));
    assert!(
        (window.west - 9.9).abs() < 1e-5 && (window.east - 10.11).abs() < 1e-5,
        "{window:?}"
    );
    assert!(
        (window.south + 0.1).abs() < 1e-3 && (window.north - 0.11).abs() < 1e-3,
        "{window:?}"
    );
}

#[test]
fn a_window_over_the_antimeridian_has_its_west_east_of_its_east() {
    let site = area(&[
        (179.99, -17.0),
        (-179.99, -17.0),
        (-179.99, -16.9),
        (179.99, -17.0),
    ]);
    let window = window_about(&site, Metres::of(2_600.0));
    assert!(window.west > 179.9 && window.east < -179.9, "{window:?}");
    assert!(
        (longitude_step(window.west, window.east) - 0.07).abs() < 0.01,
        "{window:?}"
    );
}

#[test]
fn a_window_that_reaches_a_pole_is_all_longitudes() {
    let site = area(&[(10.0, 88.9), (10.1, 88.9), (10.1, 88.95), (10.0, 88.9)]);
    let window = window_about(&site, Metres::of(200_000.0));
    assert_eq!(
        (window.west, window.east, window.north),
        (-180.0, 180.0, 90.0)
    );
}

#[test]
fn an_empty_area_gives_a_window_and_no_panic() {
    let window = window_about(&area(&[]), Metres::of(100.0));
    assert!(window.west < 0.0 && window.east > 0.0);
}
