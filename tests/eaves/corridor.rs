//! Discs and corridors hold what they stand for and little more: random places at known distances,
//! found with geographiclib, against polygons looked at in longitude and latitude.

use eaves::corridor::{corridor, disc, excess};
use eaves::frame::LonLat;
use eaves::units::Metres;
use geo::{Contains, MultiPolygon, Point};
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};
use proptest::prelude::*;

fn away(from: (f64, f64), bearing: f64, metres: f64) -> (f64, f64) {
    let (lat, lon): (f64, f64) = Geodesic::wgs84().direct(from.1, from.0, bearing, metres);
    (lon, lat)
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    Geodesic::wgs84().inverse(a.1, a.0, b.1, b.0)
}

fn lonlat(place: (f64, f64)) -> LonLat {
    LonLat::wrapped(place.0, place.1)
}

/// Whether a place is inside, longitudes counted from the first corner.
fn holds(area: &MultiPolygon<f64>, place: (f64, f64)) -> bool {
    use geo::MapCoords;
    let first = area.0[0].exterior().0[0].x;
    let turned = |lon: f64| (lon - first + 540.0).rem_euclid(360.0) - 180.0;
    let counted = area.map_coords(|c| geo::Coord {
        x: turned(c.x),
        y: c.y,
    });
    counted.contains(&Point::new(turned(place.0), place.1))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_disc_holds_the_true_disc_and_exceeds_it_by_little(
        lon in -180.0..180.0f64, lat in -85.0..85.0f64, radius in 0.5..20_000.0f64,
        bearing in 0.0..360.0f64,
    ) {
        let centre = (lon, lat);
        let area = disc(lonlat(centre), Metres::of(radius));
        prop_assert!(holds(&area, away(centre, bearing, radius)), "the edge");
        prop_assert!(holds(&area, away(centre, bearing, radius * 0.5)));
        let beyond = radius + excess(Metres::of(radius)).m() + 0.002;
        prop_assert!(!holds(&area, away(centre, bearing, beyond)), "beyond");
    }

    #[test]
    fn a_corridor_holds_all_that_is_near_its_line(
        lon in -180.0..180.0f64, lat in -80.0..80.0f64, width in 2.0..2_000.0f64,
        legs in prop::collection::vec((0.0..360.0f64, 1.0..8_000.0f64), 1..6),
        share in 0.0..1.0f64, leg in 0usize..6, bearing in 0.0..360.0f64,
    ) {
        let mut line = vec![(lon, lat)];
        for (direction, length) in &legs {
            let last = *line.last().unwrap();
            line.push(away(last, *direction, *length));
        }
        let places: Vec<LonLat> = line.iter().map(|it| lonlat(*it)).collect();
        let area = corridor(std::slice::from_ref(&places), Metres::of(width));
        // A point of the line, straight in longitude and latitude, and one at half the width from it.
        let leg = leg % legs.len();
        let (a, b) = (line[leg], line[leg + 1]);
        let step = (b.0 - a.0 + 540.0).rem_euclid(360.0) - 180.0;
        let on = (a.0 + share * step, a.1 + share * (b.1 - a.1));
        let half = width / 2.0;
        prop_assert!(holds(&area, away(on, bearing, half - 1e-6)), "the edge");
        // The nearest of many points of the line is never nearer than the corridor is wide, as seen
        // from a place outside of it.
        let probe = away(on, bearing, half + excess(Metres::of(half)).m() + 0.05);
        let near = line.windows(2).flat_map(|pair| {
            let step = (pair[1].0 - pair[0].0 + 540.0).rem_euclid(360.0) - 180.0;
            (0..=2_000).map(move |k| {
                let share = f64::from(k) / 2_000.0;
                (pair[0].0 + share * step, pair[0].1 + share * (pair[1].1 - pair[0].1))
            })
        }).map(|place| apart(place, probe)).fold(f64::INFINITY, f64::min);
        // 2 000 points a leg of 8 km leave a gap of 2 m on each side of one, at a right angle to it.
        let seen = (near * near - 4.0).max(0.0).sqrt();
        if seen > half + excess(Metres::of(half)).m() + 0.04 {
            prop_assert!(!holds(&area, probe), "beyond: {near} of {half}");
        }
    }
}

#[test]
fn a_line_of_one_place_is_a_disc_and_two_far_ones_are_two() {
    let place = LonLat::new(10.0, 50.0).unwrap();
    let one = corridor(&[vec![place, place]], Metres::of(100.0));
    assert!(holds(&one, away((10.0, 50.0), 123.0, 49.999)));
    assert!(!holds(&one, away((10.0, 50.0), 123.0, 50.4)));
    let other = LonLat::new(10.01, 50.0).unwrap();
    let two = corridor(&[vec![place], vec![other]], Metres::of(100.0));
    assert_eq!(two.0.len(), 2);
    assert_eq!(corridor(&[], Metres::of(5.0)).0.len(), 0);
}

#[test]
fn a_corridor_round_a_block_has_a_hole() {
    let corner = |x: f64, y: f64| LonLat::new(10.0 + x, 50.0 + y).unwrap();
    let round = vec![
        corner(0.0, 0.0),
        corner(0.01, 0.0),
        corner(0.01, 0.01),
        corner(0.0, 0.01),
        corner(0.0, 0.0),
    ];
    let area = corridor(&[round], Metres::of(50.0));
    assert_eq!(area.0.len(), 1);
    assert_eq!(area.0[0].interiors().len(), 1);
    assert!(!holds(&area, (10.005, 50.005)));
}
