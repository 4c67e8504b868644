//! Sections against wires, stations and cuts worked out without eaves (`tests/reference/section.json`:
//! scipy, pyproj, rasterio).

use std::path::PathBuf;

use eaves::answer::{Assessment, SectionAnswer, SectionDatum};
use eaves::assess::{DRAWN_AROUND, SectionWish, USUAL_CORRIDOR, assess};
use eaves::cut::SectionCut;
use eaves::frame::{LonLat, distance};
use eaves::obstacle::Sag;
use eaves::read::{self, ReadOptions, window_about};
use eaves::wire::{HangingWire, drop_below_lower_support};
use serde_json::Value;

use crate::site::question;

fn reference() -> Value {
    serde_json::from_str(include_str!("../reference/section.json")).unwrap()
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn place(value: &Value) -> LonLat {
    LonLat::new(number(&value[0]), number(&value[1])).unwrap()
}

/// Catenaries found by root finding (Brent), in 24 spans of 40 m to 1 400 m: among them the conductor
/// "Drake" on 600, 1 000 and 2 000 ft (from memory; sags 7.816, 21.720 and 87.044 ft) and example 5.2
/// of Chakrabarti, Soni, Gupta and Bhatnagar (printed low point 60.05 m, by the parabola).
#[test]
fn wires_hang_as_catenaries_solved_by_another_way() {
    let reference = reference();
    let wires = list(&reference["wires"]);
    assert_eq!(wires.len(), 24);
    let mut worst = 0f64;
    for case in wires {
        let span = number(&case["span_m"]);
        let (first, last) = (number(&case["first_m"]), number(&case["last_m"]));
        let sag = Sag::Metres(number(&case["sag_m"]));
        let wire = HangingWire::new(span, first, last, sag).unwrap();
        for (at, level) in list(&case["at_m"]).iter().zip(list(&case["level_m"])) {
            let apart = wire.at(number(at)) - number(level);
            worst = worst.max(apart.abs());
            assert!(apart.abs() < 1e-3, "{} at {at}: {apart}", case["id"]);
        }
        let drop = drop_below_lower_support(span, last - first, sag).unwrap();
        assert!(
            (first.min(last) - drop - wire.lowest()).abs() < 1e-9,
            "{}",
            case["id"]
        );
        if let (Some(weight), Some(tension)) =
            (case["weight_n_per_m"].as_f64(), case["tension_n"].as_f64())
        {
            let by_tension = Sag::Wire {
                weight_per_m: weight,
                horizontal_tension: tension,
            };
            let same = HangingWire::new(span, first, last, by_tension).unwrap();
            let sag_ft = (first - same.lowest()) / 0.3048;
            assert!(
                (sag_ft - number(&case["sag_ft"])).abs() < 6e-4,
                "{}",
                case["id"]
            );
        }
        if let Some(printed) = case["printed_low_point_m"].as_f64() {
            assert!((number(&case["parabola_low_point_m"]) - printed).abs() < 0.005);
            assert!((number(&case["lowest_from_first_m"]) - printed).abs() < 0.15);
        }
    }
    println!("worst wire: {worst:.2e} m");
}

#[test]
fn a_wire_without_sag_is_straight_and_one_of_included_sag_level() {
    let straight = HangingWire::new(200.0, 30.0, 50.0, Sag::Metres(0.0)).unwrap();
    assert_eq!(
        [0.0, 50.0, 200.0, 900.0].map(|at| straight.at(at)),
        [30.0, 35.0, 50.0, 50.0]
    );
    let level = HangingWire::new(200.0, 30.0, 50.0, Sag::Included).unwrap();
    assert_eq!([0.0, 100.0, 200.0].map(|at| level.at(at)), [30.0; 3]);
    assert!(HangingWire::new(200.0, 30.0, 50.0, Sag::ShareOfSpan(0.7)).is_err());
    assert!(
        HangingWire::new(0.0, 30.0, 50.0, Sag::Metres(0.0))
            .unwrap()
            .at(0.0)
            == 30.0
    );
}

fn demo_folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo-layers")
}

fn demo_section(cut: SectionCut) -> SectionAnswer {
    demo_assessment(cut).section.unwrap()
}

/// The demo cut as wished.
pub fn demo_assessment(cut: SectionCut) -> Assessment {
    let area = read::operating_area(&demo_folder().join("area.geojson"), None).unwrap();
    let mut ask = question(&[crate::site::rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    ask.site_elevation = None;
    ask.area = area.area;
    ask.surfaces = Some(eaves::surfaces::table::load("annex14-2018").unwrap());
    let wish = SectionWish {
        cut,
        corridor: USUAL_CORRIDOR,
    };
    let around = (ask.profile.widest_reach() + DRAWN_AROUND)
        .max(wish.reads_around(&ask.area, ask.search_radius));
    let layers = read::layers(
        &demo_folder(),
        &ReadOptions {
            near: Some(window_about(&ask.area, around).into()),
            assumed_sag: None,
            estimate_line_heights: false,
        },
    )
    .unwrap();
    ask.section = Some(wish);
    assess(&ask, &layers).unwrap()
}

/// Ground by rasterio (bilinear between the middles of cells) every 7 m of three cuts, one of them
/// over cells without data and off the terrain; crossings of wires by shapely, their levels from
/// catenaries between tops on that ground.
#[test]
fn cuts_through_the_demo_meet_ground_and_wires_where_other_tools_do() {
    let reference = reference();
    let (mut grounds, mut gaps, mut crossed) = (0, 0, 0);
    for case in list(&reference["demo"]) {
        let id = &case["id"];
        let (from, to) = (place(&case["from"]), place(&case["to"]));
        let section = demo_section(SectionCut::Between(from, to));
        assert_eq!(section.datum, SectionDatum::MeanSeaLevel);
        assert!(
            (section.length_m.m() - number(&case["length_m"])).abs() < 1e-5,
            "{id}"
        );
        for (at, ground) in list(&case["at_m"]).iter().zip(list(&case["ground_m_amsl"])) {
            let at = number(at);
            let is_gap = section
                .ground_unknown
                .iter()
                .any(|gap| (gap.from_m.m()..=gap.to_m.m()).contains(&at));
            let Some(ground) = ground.as_f64() else {
                assert!(is_gap, "{id} at {at}: unknown ground is no gap");
                gaps += 1;
                continue;
            };
            // Between two stations the ground is straight but for a bend at the edge of a cell.
            let next = section
                .stations
                .iter()
                .position(|it| it.at_m.m() >= at)
                .unwrap();
            let (a, b) = (
                section.stations[next.max(1) - 1],
                section.stations[next.max(1)],
            );
            let (Some(low), Some(high)) = (a.ground_low_m, b.ground_high_m) else {
                assert!(
                    is_gap,
                    "{id} at {at}: known ground is neither shown nor in a gap"
                );
                continue;
            };
            let share = (at - a.at_m.m()) / (b.at_m.m() - a.at_m.m());
            let shown = low + share * (high - low);
            assert!(
                (shown - ground).abs() < 0.06,
                "{id} at {at}: {shown} for {ground}"
            );
            grounds += 1;
        }
        let found: Vec<_> = section
            .wires
            .iter()
            .flat_map(|wire| wire.points.iter().map(move |point| (wire, point)))
            .filter(|(_, point)| point.offset_m.m() == 0.0)
            .collect();
        let expected = list(&case["crossings"]);
        assert_eq!(found.len(), expected.len(), "{id}");
        for ((wire, point), expected) in found.iter().zip(expected) {
            assert_eq!(
                wire.source.feature,
                expected["line"].as_str().unwrap(),
                "{id}"
            );
            assert_eq!(
                wire.span_index as u64,
                expected["span_index"].as_u64().unwrap(),
                "{id}"
            );
            let near = |found: f64, key: &str, within: f64| {
                let expected = number(&expected[key]);
                assert!(
                    (found - expected).abs() < within,
                    "{id} {key}: {found} for {expected}"
                );
            };
            near(point.at_m.m(), "at_m", 0.002);
            near(point.from_support_m.m(), "from_support_m", 0.002);
            near(point.low_m.unwrap(), "low_m_amsl", 0.02);
            near(point.high_m.unwrap(), "high_m_amsl", 0.02);
            // Never optimistic: lowest not above, highest not below, but for the rounding of files.
            assert!(
                point.low_m.unwrap() <= number(&expected["low_m_amsl"]) + 1e-3,
                "{id}"
            );
            assert!(
                point.high_m.unwrap() >= number(&expected["high_m_amsl"]) - 1e-3,
                "{id}"
            );
            crossed += 1;
        }
    }
    println!("{grounds} grounds, {gaps} gaps, {crossed} crossings");
    assert!(grounds > 500 && gaps > 150 && crossed >= 6);
}

/// Stations of cuts at nine origins (across the antimeridian, 85 degrees north, the equator) against
/// pyproj: length to 0.01 mm, places to 0.1 mm.
#[test]
fn stations_lie_on_the_geodesic() {
    let reference = reference();
    for case in list(&reference["stations"]) {
        let origin = place(&case["origin"]);
        let frame = eaves::frame::LocalFrame::about(origin);
        let mut ask = question(&[crate::site::rectangle(-20.0, -20.0, 40.0, 40.0)], "plain");
        let ring = [
            (-20.0, -20.0),
            (20.0, -20.0),
            (20.0, 20.0),
            (-20.0, 20.0),
            (-20.0, -20.0),
        ];
        ask.area.polygons = geo::MultiPolygon(vec![geo::Polygon::new(
            ring.iter()
                .map(|(x, y)| {
                    let at = frame.to_place(eaves::frame::Xy::new(*x, *y));
                    geo::Coord {
                        x: at.lon(),
                        y: at.lat(),
                    }
                })
                .collect(),
            vec![],
        )]);
        ask.section = Some(SectionWish {
            cut: SectionCut::Between(place(&case["from"]), place(&case["to"])),
            corridor: USUAL_CORRIDOR,
        });
        let layers = crate::site::layers(vec![], vec![]);
        let section = assess(&ask, &layers).unwrap().section.unwrap();
        assert!(
            (section.length_m.m() - number(&case["length_m"])).abs() < 1e-5,
            "{origin:?}"
        );
        let bearing = section.legs[0].bearing_true_deg.degrees();
        assert!(
            (bearing - number(&case["bearing_deg"])).abs() < 1e-6,
            "{origin:?}"
        );
        let (start, mut compared) = (place(&case["from"]), 0);
        for (at, expected) in list(&case["at_m"]).iter().zip(list(&case["places"])) {
            // From the nearest station on, along the leg.
            let at = number(at);
            let station = section
                .stations
                .iter()
                .min_by(|a, b| (a.at_m.m() - at).abs().total_cmp(&(b.at_m.m() - at).abs()))
                .unwrap();
            let away = distance(station.place, place(expected)).m();
            assert!(
                (away - (station.at_m.m() - at).abs()).abs() < 1e-4,
                "{origin:?} at {at}"
            );
            let out = distance(start, station.place).m();
            assert!((out - station.at_m.m()).abs() < 1e-6, "{origin:?}");
            compared += 1;
        }
        assert_eq!(compared, 13);
        assert!(
            !section.in_area.is_empty(),
            "{origin:?}: it goes through the middle"
        );
    }
}
