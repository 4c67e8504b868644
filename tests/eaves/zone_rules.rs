//! Zones of the national profiles at made-up aerodromes: the rows of the published rules, what stands
//! in for what is not given, the offer to cut the area, and the words and JSON made of them.

use eaves::aerodrome::{Aerodrome, AerodromeKind, Runway};
use eaves::answer::{Assessment, ZoneAnswer, ZoneApplies, ZoneBasis, ZoneState};
use eaves::assess::{Question, assess};
use eaves::frame::{LocalFrame, LonLat, Xy};
use eaves::profile::load;
use eaves::report::{json, page, profiles};
use eaves::runway::outbound;
use eaves::units::{Altitude, Height, Metres};
use geo::{CoordsIter, MultiPolygon, Polygon};

use crate::runway::runway;
use crate::site::{layers, origin, place, question, rectangle};
use crate::zone::{bare, quantity, with_shape};

/// An area of 20 m by 20 m with its south-west corner at a point of the plane about [`origin`].
fn small(x: f64, y: f64) -> Vec<Vec<(f64, f64)>> {
    vec![rectangle(x, y, 20.0, 20.0)]
}

fn answered(ask: &Question, aerodrome: Aerodrome) -> Assessment {
    assess(ask, &layers(vec![aerodrome], vec![])).unwrap()
}

pub fn zones(profile: &str, at: (f64, f64), aerodrome: &Aerodrome) -> Vec<ZoneAnswer> {
    answered(&question(&small(at.0, at.1), profile), aerodrome.clone()).zones
}

/// A square of the plane as polygons of longitude and latitude.
pub fn square(west: f64, south: f64, size: f64) -> MultiPolygon<f64> {
    let ring = rectangle(west, south, size, size)
        .into_iter()
        .map(|(x, y)| {
            let corner = place(x, y);
            (corner.lon(), corner.lat())
        })
        .collect::<Vec<_>>();
    MultiPolygon::new(vec![Polygon::new(ring.into(), vec![])])
}

/// A runway from west to east through the origin of the plane, of a stated length.
fn west_east(length: f64) -> Runway {
    let mut runway = runway(
        "09/27",
        Some(place(-length / 2.0, 0.0)),
        Some(place(length / 2.0, 0.0)),
    );
    runway.length = Some(Metres::of(length));
    runway
}

pub fn titled<'a>(zones: &'a [ZoneAnswer], title: &str) -> &'a ZoneAnswer {
    zones
        .iter()
        .find(|zone| zone.title == title)
        .unwrap_or_else(|| panic!("no zone {title}"))
}

/// The same site, different answers (Australia CASR 101.075: 3 NM of the movement area; New Zealand
/// 101.205: 4 km of the aerodrome): 5.4 km from the reference point, 4.2 km from the movement area.
#[test]
fn what_a_zone_is_measured_from_decides() {
    // The area's nearest point is 5 400 m east of the reference point; the movement area ends 1 200 m
    // east of it, the boundary 1 390 m or 1 410 m.
    let mut aerodrome = bare(Some(place(0.0, 10.0)), vec![]);
    aerodrome.controlled = Some(true);
    aerodrome.movement_area = Some(square(200.0, -490.0, 1_000.0));
    let australia = zones("australia", (5_400.0, 0.0), &aerodrome);
    let zone = titled(&australia, "3 NM of a controlled aerodrome");
    assert_eq!(
        (zone.state, &zone.basis),
        (ZoneState::Inside, &ZoneBasis::Stated)
    );
    assert_eq!(zone.applies, ZoneApplies::Yes);
    // 4 200 m less 5 556 m.
    assert!(
        (zone.margin_m.unwrap().m() + 1_356.0).abs() < 0.01,
        "{:?}",
        zone.margin_m
    );
    assert!(zone.is_decided());
    for (east_edge, state) in [(1_390.0, ZoneState::Outside), (1_410.0, ZoneState::Inside)] {
        aerodrome.boundary = Some(square(east_edge - 1_000.0, -490.0, 1_000.0));
        let zealand = zones("new-zealand", (5_400.0, 0.0), &aerodrome);
        let zone = titled(&zealand, "4 km of an aerodrome");
        let expected = if state == ZoneState::Outside {
            state
        } else {
            ZoneState::Straddles
        };
        assert_eq!((zone.state, &zone.basis), (expected, &ZoneBasis::Stated));
        assert!((zone.margin_m.unwrap().m() - (5_400.0 - east_edge - 4_000.0)).abs() < 0.01);
        assert!(zone.conditions[0].contains("physical barrier"));
    }
}

/// Air Navigation Order 2016 art. 5: 2 NM about the mid-point of a longest runway of up to 1 850 m,
/// 2.5 NM above that. The reference point lies elsewhere and does not matter.
#[test]
fn the_united_kingdom_takes_its_radius_from_the_longest_runway() {
    for (length, inside) in [(1_850.0, false), (1_851.0, true)] {
        let mut aerodrome = bare(Some(place(-1_500.0, 0.0)), vec![west_east(length)]);
        aerodrome.elevation = Some(Altitude::of(100.0));
        // 2.2 NM north of the mid-point.
        let found = zones("united-kingdom", (-10.0, 4_074.4), &aerodrome);
        let (small, large) = (
            titled(&found, "Aerodrome traffic zone, 2 NM"),
            titled(&found, "Aerodrome traffic zone, 2.5 NM"),
        );
        let (has, has_not) = if inside {
            (large, small)
        } else {
            (small, large)
        };
        assert_eq!(has.applies, ZoneApplies::Yes);
        assert!(matches!(has_not.applies, ZoneApplies::No { .. }) && has_not.margin_m.is_none());
        let expected = if inside {
            ZoneState::Inside
        } else {
            ZoneState::Outside
        };
        assert_eq!(has.state, expected, "{length}");
        let radius = if inside { 4_630.0 } else { 3_704.0 };
        assert!((has.margin_m.unwrap().m() - (4_074.4 - radius)).abs() < 0.05);
        // 100 m + 2 000 ft = 709.6 m.
        assert!((has.top_m_amsl.unwrap().m() - 709.6).abs() < 1e-9);
        assert_eq!(has.top.as_deref(), Some("2000 ft"));
    }
}

#[test]
fn a_longest_runway_that_is_not_known_leaves_both_zones_open() {
    let mut no_length = west_east(1_850.0);
    no_length.length = None;
    no_length.ends[0].position = None;
    let found = zones(
        "united-kingdom",
        (0.0, 3_000.0),
        &bare(None, vec![no_length]),
    );
    for title in [
        "Aerodrome traffic zone, 2 NM",
        "Aerodrome traffic zone, 2.5 NM",
    ] {
        let zone = titled(&found, title);
        assert!(matches!(&zone.applies, ZoneApplies::Unknown { why } if why.contains("length")));
        assert!(matches!(zone.basis, ZoneBasis::None { .. }));
        assert_eq!(
            (zone.state, zone.margin_m, zone.is_decided()),
            (ZoneState::Undetermined, None, false)
        );
    }
    // Stated and measured lengths on either side of the limit: both zones are answered.
    let mut contradicted = west_east(1_900.0);
    contradicted.length = Some(Metres::of(1_840.0));
    let found = zones(
        "united-kingdom",
        (0.0, 3_000.0),
        &bare(None, vec![contradicted]),
    );
    for title in [
        "Aerodrome traffic zone, 2 NM",
        "Aerodrome traffic zone, 2.5 NM",
    ] {
        let zone = titled(&found, title);
        assert!(matches!(zone.applies, ZoneApplies::Unknown { .. }));
        assert_eq!(zone.state, ZoneState::Inside);
    }
    // A longer runway that is marked closed does not count.
    let mut closed = west_east(2_400.0);
    closed.closed = true;
    let both = bare(None, vec![closed, west_east(1_200.0)]);
    let found = zones("united-kingdom", (0.0, 3_000.0), &both);
    assert_eq!(
        titled(&found, "Aerodrome traffic zone, 2 NM").applies,
        ZoneApplies::Yes
    );
}

/// 5 km by 1 km from the threshold along the extended centreline (SI 2019/261, secondary source).
#[test]
fn a_runway_protection_zone_lies_beyond_each_threshold() {
    let mut runway = west_east(1_000.0);
    let state = |runway: &Runway, x: f64, y: f64| -> Vec<ZoneState> {
        zones("united-kingdom", (x, y), &bare(None, vec![runway.clone()]))
            .iter()
            .filter(|zone| zone.title == "Runway protection zone")
            .map(|zone| zone.state)
            .collect()
    };
    let (inside, outside, straddles) =
        (ZoneState::Inside, ZoneState::Outside, ZoneState::Straddles);
    // Ends are 500 m from the origin; the area is 20 m square. First beyond 09 (west), then 27.
    assert_eq!(state(&runway, 5_470.0, 470.0), [outside, inside]);
    assert_eq!(state(&runway, -5_490.0, -490.0), [inside, outside]);
    assert_eq!(state(&runway, 5_490.0, 0.0), [outside, straddles]);
    assert_eq!(state(&runway, 5_501.0, 0.0), [outside, outside]);
    assert_eq!(state(&runway, 3_000.0, 501.0), [outside, outside]);
    assert_eq!(state(&runway, 0.0, 0.0), [outside, outside]);
    // A displaced threshold takes the zone with it.
    runway.ends[1].displaced_threshold = Some(Metres::of(300.0));
    assert_eq!(state(&runway, 5_470.0, 0.0), [outside, outside]);
    assert_eq!(state(&runway, 5_170.0, 0.0), [outside, inside]);
    assert_eq!(state(&runway, 210.0, 0.0), [outside, inside]);
    // Without ends there is nothing to place it by.
    runway.ends[0].position = None;
    assert_eq!(state(&runway, 3_000.0, 0.0), [ZoneState::Undetermined; 2]);
}

/// Canadian Aviation Regulations 901.47(2): 3 NM of an airport, 1 NM of a heliport.
#[test]
fn canada_goes_by_the_kind_of_aerodrome() {
    let mut aerodrome = bare(Some(place(0.0, 0.0)), vec![]);
    // 2 NM away.
    let found = |aerodrome: &Aerodrome| zones("canada", (3_704.0, 0.0), aerodrome);
    let airport = found(&aerodrome);
    assert_eq!(
        titled(&airport, "3 NM of an airport").state,
        ZoneState::Inside
    );
    assert!(matches!(
        titled(&airport, "1 NM of a heliport").applies,
        ZoneApplies::No { .. }
    ));
    aerodrome.kind = AerodromeKind::Heliport;
    let heliport = found(&aerodrome);
    assert_eq!(
        titled(&heliport, "1 NM of a heliport").state,
        ZoneState::Outside
    );
    assert!(matches!(
        titled(&heliport, "3 NM of an airport").applies,
        ZoneApplies::No { .. }
    ));
    // Where the data do not say, both may apply.
    for kind in [AerodromeKind::Other, AerodromeKind::Closed] {
        aerodrome.kind = kind;
        let unknown = found(&aerodrome);
        assert!(
            unknown
                .iter()
                .all(|zone| matches!(zone.applies, ZoneApplies::Unknown { .. }))
        );
        assert!(!titled(&unknown, "3 NM of an airport").is_decided());
        assert!(
            titled(&unknown, "1 NM of a heliport").is_decided(),
            "outside either way"
        );
    }
}

#[test]
fn control_that_is_not_stated_may_apply_both_ways() {
    let mut aerodrome = bare(Some(place(0.0, 0.0)), vec![]);
    aerodrome.movement_area = Some(square(-100.0, -100.0, 200.0));
    let found = zones("australia", (3_000.0, 0.0), &aerodrome);
    assert_eq!(found.len(), 2);
    assert!(
        found
            .iter()
            .all(|zone| matches!(zone.applies, ZoneApplies::Unknown { .. }))
    );
    aerodrome.controlled = Some(false);
    let found = zones("australia", (3_000.0, 0.0), &aerodrome);
    assert!(matches!(found[0].applies, ZoneApplies::No { .. }));
    assert_eq!(found[1].applies, ZoneApplies::Yes);
}

/// A reference that is not given is never guessed: what must contain it answers for outside, what it
/// must contain answers for inside.
#[test]
fn larger_and_smaller_zones_say_only_what_is_certain() {
    let mut aerodrome = bare(Some(place(0.0, 0.0)), vec![]);
    aerodrome.controlled = Some(true);
    let australia = |aerodrome: &Aerodrome, x: f64| {
        titled(
            &zones("australia", (x, 0.0), aerodrome),
            "3 NM of a controlled aerodrome",
        )
        .clone()
    };
    let nothing = australia(&aerodrome, 3_000.0);
    assert!(matches!(nothing.basis, ZoneBasis::None { .. }));
    assert_eq!(nothing.state, ZoneState::Undetermined);
    aerodrome.boundary = Some(square(-500.0, -500.0, 1_000.0));
    let far = australia(&aerodrome, 6_100.0);
    assert!(matches!(far.basis, ZoneBasis::Larger { .. }) && far.is_decided());
    assert_eq!(far.state, ZoneState::Outside);
    let near = australia(&aerodrome, 6_000.0);
    assert!(matches!(near.basis, ZoneBasis::Larger { .. }) && !near.is_decided());
    assert_eq!(near.state, ZoneState::Inside);
    aerodrome.boundary = None;
    aerodrome.runways = vec![west_east(1_000.0)];
    let near = australia(&aerodrome, 6_000.0);
    assert!(matches!(near.basis, ZoneBasis::Smaller { .. }) && near.is_decided());
    assert_eq!(near.state, ZoneState::Inside);
    let far = australia(&aerodrome, 6_100.0);
    assert_eq!((far.state, far.margin_m), (ZoneState::Undetermined, None));
    let across = australia(&aerodrome, 6_050.0);
    assert_eq!(
        (across.state, across.share_inside),
        (ZoneState::Straddles, None)
    );
    assert!(
        across.outside.0.is_empty(),
        "nothing is offered where nothing is certain"
    );
}

/// Half of an area across the edge of a rectangle: the share, and the part offered, which holds no
/// point of the zone by the offsets of its corners.
#[test]
fn an_area_that_straddles_is_offered_the_part_outside() {
    let profile = with_shape(&format!(
        "[zones.shape.rectangle]\nfrom = \"threshold\"\n{}{}",
        quantity("length", 5.0, "km"),
        quantity("width", 1.0, "km")
    ));
    let mut ask = question(&[rectangle(3_000.0, 400.0, 300.0, 200.0)], "plain");
    ask.profile = profile;
    let strip = west_east(1_000.0);
    let line = outbound(&strip, 1).unwrap();
    let assessment = answered(&ask, bare(None, vec![strip]));
    let zone = &assessment.zones[1];
    assert_eq!(zone.part.as_deref(), Some("beyond end 27"));
    assert_eq!(zone.state, ZoneState::Straddles);
    let share = zone.share_inside.unwrap();
    assert!((0.5..0.501).contains(&share), "{share}");
    assert!((zone.margin_m.unwrap().m() + 100.0).abs() < 0.01);
    assert!((zone.farthest_margin_m.unwrap().m() - 100.0).abs() < 0.01);
    // 300 m by 100 m, short by at most 6 cm of depth.
    assert!(
        (29_980.0..=30_000.0).contains(&zone.outside_m2),
        "{}",
        zone.outside_m2
    );
    let mut corners = 0;
    for corner in zone.outside.coords_iter() {
        let offsets = line.offsets(LonLat::new(corner.x, corner.y).unwrap());
        assert!(offsets.across.m().abs() > 500.0, "{offsets:?}");
        corners += 1;
    }
    assert!(corners >= 4);
}

/// The lower limit of a zone that rises from a runway end: elevation 250 m, 120 m in 6 km is 2 %, so
/// 290 m at 2 000 m beyond the end.
#[test]
fn a_rising_zone_begins_no_lower_than_its_slope() {
    let mut strip = west_east(1_000.0);
    strip.ends[1].elevation = Some(Altitude::of(250.0));
    let found = zones("plain", (2_500.0, 0.0), &bare(None, vec![strip.clone()]));
    let beyond = found
        .iter()
        .find(|zone| zone.part.as_deref() == Some("beyond end 27"))
        .unwrap();
    assert_eq!(beyond.state, ZoneState::Inside);
    assert!(!beyond.from_surface);
    assert!((beyond.floor_m_amsl.unwrap().m() - 290.0).abs() < 1e-3);
    strip.ends[1].elevation = None;
    let found = zones("plain", (2_500.0, 0.0), &bare(None, vec![strip]));
    let beyond = found
        .iter()
        .find(|zone| zone.part.as_deref() == Some("beyond end 27"))
        .unwrap();
    assert_eq!(beyond.floor_m_amsl, None);
}

/// The same zone begins at 290 m AMSL or higher over the site. On level ground at 300 m a cap of
/// 400 ft is 421.92 m AMSL, 131.92 m above that, and a wish of 40 m is 340 m; on level ground at
/// 100 m the wish stays 150 m below it.
#[test]
fn where_a_zone_begins_is_compared_with_the_ceiling_and_the_wish() {
    let mut strip = west_east(1_000.0);
    strip.ends[1].elevation = Some(Altitude::of(250.0));
    let gaps = |elevation: f64, change: fn(&mut Question)| {
        let mut ask = question(&[rectangle(2_500.0, 0.0, 1.0, 1.0)], "plain");
        ask.profile.expression = load("united-states").unwrap().expression;
        ask.site_elevation = Some(Altitude::of(elevation));
        ask.wish = Some(Height::of(40.0));
        change(&mut ask);
        let found = answered(&ask, bare(None, vec![strip.clone()]));
        let words = page::page(&found);
        let zone = found
            .zones
            .into_iter()
            .find(|zone| zone.part.as_deref() == Some("beyond end 27"))
            .unwrap();
        let gap = |it: Option<Metres>| it.map(Metres::m);
        (gap(zone.ceiling_gap_m), gap(zone.wish_gap_m), words)
    };
    let (ceiling, wish, words) = gaps(300.0, |_| ());
    assert!((ceiling.unwrap() + 131.92).abs() < 0.1, "{ceiling:?}");
    assert!((wish.unwrap() + 50.0).abs() < 0.1, "{wish:?}");
    assert!(words.contains("the wished height is up to"), "{words}");
    assert!(words.contains("MAY"), "{words}");
    let (_, wish, words) = gaps(100.0, |_| ());
    assert!((wish.unwrap() - 150.0).abs() < 0.1, "{wish:?}");
    assert!(
        words.contains("the wished height stays at least"),
        "{words}"
    );
    // On assumed flat ground nothing is known AMSL.
    let (ceiling, wish, words) = gaps(300.0, |ask| ask.site_elevation = None);
    assert_eq!((ceiling, wish), (None, None));
    assert!(words.contains("whether the ceiling stays below"), "{words}");
}

/// A bearing in whole degrees may be off by half of one, so a zone by it is wider by that.
#[test]
fn a_zone_by_a_stated_bearing_is_widened_for_its_rounding() {
    let mut one_end = west_east(1_000.0);
    one_end.ends[0].position = None;
    one_end.ends[1].true_bearing = Some(eaves::units::Bearing::new(270.0).unwrap());
    // 30 m to 50 m beside it, but half a degree is 44 m over 5 km.
    let found = zones(
        "united-kingdom",
        (5_400.0, 530.0),
        &bare(None, vec![one_end]),
    );
    let zone = found
        .iter()
        .find(|zone| zone.part.as_deref() == Some("beyond end 27"))
        .unwrap();
    assert_eq!(zone.state, ZoneState::Straddles);
    assert!(
        (43.6..46.0).contains(&zone.widened_m.m()),
        "{:?}",
        zone.widened_m
    );
}

#[test]
fn crossing_and_parallel_runways_are_answered_end_by_end() {
    let shifted = |designator, from: (f64, f64), to: (f64, f64)| {
        runway(
            designator,
            Some(place(from.0, from.1)),
            Some(place(to.0, to.1)),
        )
    };
    let aerodrome = bare(
        None,
        vec![
            shifted("09L/27R", (-500.0, 200.0), (500.0, 200.0)),
            shifted("09R/27L", (-500.0, -200.0), (500.0, -200.0)),
            shifted("18/36", (0.0, 600.0), (0.0, -600.0)),
        ],
    );
    let assessment = answered(&question(&small(3_000.0, 0.0), "plain"), aerodrome);
    assert_eq!(assessment.runways.len(), 3);
    let ends: Vec<_> = assessment
        .runways
        .iter()
        .flat_map(|runway| &runway.ends)
        .map(|end| {
            let out = end.outbound.as_ref().unwrap();
            (
                end.designator.clone().unwrap(),
                out.along_least_m.m().round(),
                out.right_least_m.m().round(),
                out.right_most_m.m().round(),
            )
        })
        .collect();
    let expected = [
        ("09L", -3_520.0, -200.0, -180.0),
        ("27R", 2_500.0, 180.0, 200.0),
        ("09R", -3_520.0, 200.0, 220.0),
        ("27L", 2_500.0, -220.0, -200.0),
        // Looking north, east is right; looking south, left.
        ("18", -600.0, 3_000.0, 3_020.0),
        ("36", -620.0, -3_020.0, -3_000.0),
    ];
    for (found, expected) in ends.iter().zip(expected) {
        assert_eq!((found.0.as_str(), found.1, found.2, found.3), expected);
    }
    let plain_zones = assessment
        .zones
        .iter()
        .filter(|zone| zone.part.is_some())
        .count();
    assert_eq!(plain_zones, 6 + 3);
}

/// `tests/reference/centrelines.json`: measured independently to 0.1 m; see its README for the 0.2 m.
#[test]
fn distances_from_centrelines_agree_with_measured_sites() {
    let file: serde_json::Value =
        serde_json::from_str(include_str!("../reference/centrelines.json")).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 12);
    for case in cases {
        let at = |it: &serde_json::Value| {
            LonLat::new(it[0].as_f64().unwrap(), it[1].as_f64().unwrap()).unwrap()
        };
        let ends: Vec<LonLat> = case["ends"].as_array().unwrap().iter().map(at).collect();
        let strip = runway("01/19", Some(ends[0]), Some(ends[1]));
        let mut ask = question(&small(0.0, 0.0), "plain");
        let ring: Vec<(f64, f64)> = case["ring"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| (it[0].as_f64().unwrap(), it[1].as_f64().unwrap()))
            .collect();
        ask.area.polygons = MultiPolygon::new(vec![Polygon::new(ring.into(), vec![])]);
        ask.search_radius = Metres::of(60_000.0);
        let assessment = answered(&ask, bare(None, vec![strip]));
        let found = assessment.runways[0].centreline_m.unwrap().m();
        let expected = case["centreline_m"].as_f64().unwrap();
        assert!(
            (found - expected).abs() < 0.25,
            "{}: {found}",
            case["runway"]
        );
    }
}

/// An aerodrome beyond the search radius is not listed, but its zone is answered where the area may
/// reach into it.
#[test]
fn a_zone_from_beyond_the_search_radius_is_not_lost() {
    let mut ask = question(&small(3_000.0, 0.0), "canada");
    ask.search_radius = Metres::of(1_000.0);
    let aerodrome = bare(Some(place(0.0, 0.0)), vec![]);
    let assessment = answered(&ask, aerodrome.clone());
    assert!(assessment.aerodromes.is_empty());
    assert_eq!(assessment.zones.len(), 1);
    assert_eq!(assessment.zones[0].state, ZoneState::Inside);
    let far = question(&small(6_000.0, 0.0), "canada");
    let far = Question {
        search_radius: Metres::of(1_000.0),
        ..far
    };
    assert!(answered(&far, aerodrome).zones.is_empty());
}

/// Union and difference in data: a disc of 2 km with the boundary's 1 km, without the boundary itself
/// shrunk to a disc of 500 m.
#[test]
fn shapes_combine_in_data() {
    let profile = with_shape(&format!(
        "[zones.shape.difference.less.disc]\nabout = \"reference_point\"\n{}\n\
         [[zones.shape.difference.of.union]]\n\
         [zones.shape.difference.of.union.disc]\nabout = \"reference_point\"\n{}\n\
         [[zones.shape.difference.of.union]]\n\
         [zones.shape.difference.of.union.buffer]\nof = \"boundary\"\n{}",
        quantity("radius", 500.0, "m"),
        quantity("radius", 2.0, "km"),
        quantity("distance", 1.0, "km"),
    ));
    let mut aerodrome = bare(Some(place(0.0, 0.0)), vec![]);
    aerodrome.boundary = Some(square(1_000.0, -500.0, 1_000.0));
    let mut ask = question(&small(0.0, 0.0), "plain");
    ask.profile = profile;
    for (x, y, expected, margin) in [
        (0.0, 0.0, ZoneState::Outside, 471.7),
        (490.0, 0.0, ZoneState::Straddles, -10.4),
        (600.0, 0.0, ZoneState::Inside, f64::NAN),
        (2_900.0, 0.0, ZoneState::Inside, f64::NAN),
        (3_100.0, 0.0, ZoneState::Outside, 100.0),
        (-1_900.0, 0.0, ZoneState::Inside, f64::NAN),
        (-2_200.0, 0.0, ZoneState::Outside, 180.0),
    ] {
        ask.area = question(&small(x, y), "plain").area;
        let zone = &answered(&ask, aerodrome.clone()).zones[0];
        assert_eq!(zone.state, expected, "{x} {y}");
        if !margin.is_nan() {
            let found = zone.margin_m.unwrap().m();
            // Never more than the truth, and a centimetre less at most.
            assert!(
                found <= margin + 0.05 && found > margin - 0.1,
                "{x}: {found}"
            );
        }
    }
    // Without the boundary the union is smaller.
    aerodrome.boundary = None;
    let zone = answered(&ask, aerodrome).zones.swap_remove(0);
    assert!(matches!(zone.basis, ZoneBasis::Smaller { .. }));
}

#[test]
fn zones_are_refused_with_the_key() {
    let text = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/profiles/canada.toml"),
    )
    .unwrap();
    let refused = |from: &str, to: &str| {
        assert!(text.contains(from));
        let changed = text.replace(from, to);
        eaves::profile::parse("own", "own.toml", &changed)
            .unwrap_err()
            .to_string()
    };
    assert!(
        refused("kinds = [\"heliport\"]", "kind = [\"heliport\"]").contains("unknown field `kind`")
    );
    assert!(
        refused("kinds = [\"heliport\"]", "kinds = [\"helipad\"]")
            .contains("unknown variant `helipad`")
    );
    assert!(
        refused(
            "[zones.shape.disc.radius]\nvalue = 1\n",
            "[zones.shape.disc.radius]\nvalue = -1\n"
        )
        .contains("key zones[1].shape.disc.radius.value: -1 NM is out of range")
    );
    assert!(refused("title = \"1 NM of a heliport\"", "title = \"\"").contains("zones[1].title"));
}

/// The JSON of answers with every state of a zone meets the schema, and the page its width.
#[test]
fn zones_and_runways_become_words_and_json() {
    let schema = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/schema/assessment.json"),
    )
    .unwrap();
    let validator = jsonschema::validator_for(&serde_json::from_str(&schema).unwrap()).unwrap();
    let mut aerodrome = bare(Some(place(0.0, 0.0)), vec![west_east(1_200.0)]);
    aerodrome.runways[0].ends[0].elevation = Some(Altitude::of(90.0));
    aerodrome.runways[0].ends[1].displaced_threshold = Some(Metres::of(120.0));
    aerodrome
        .runways
        .push(runway("18/36", None, Some(place(0.0, -500.0))));
    aerodrome.elevation = Some(Altitude::of(100.0));
    for (name, words) in [
        ("plain", "Runway surroundings, runway 09/27"),
        (
            "australia",
            "MAY APPLY: the data do not say whether the aerodrome is controlled",
        ),
        ("new-zealand", "physical barrier"),
        (
            "united-kingdom",
            "does not apply, the longest runway is 1200 m long",
        ),
        ("canada", "does not apply, it is an aerodrome with runways"),
    ] {
        for x in [700.0, 4_590.0, 5_590.0, 9_000.0] {
            let assessment = answered(&question(&small(x, 0.0), name), aerodrome.clone());
            let value = serde_json::from_str(&json::json(&assessment).unwrap()).unwrap();
            let errors: Vec<String> = validator
                .iter_errors(&value)
                .map(|error| format!("{}: {error}", error.instance_path()))
                .collect();
            assert!(errors.is_empty(), "{name}: {errors:#?}");
            let page = page::page(&assessment);
            assert!(
                page.lines().all(|line| line.chars().count() <= 72),
                "{page}"
            );
            assert!(page.contains("RUNWAYS: 2") && page.contains("ZONES of the profile"));
            assert!(page.contains("not given"), "the end without a position");
            if x < 1_000.0 || name != "new-zealand" {
                let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
                let wanted = if name == "united-kingdom" {
                    // The length of the other runway is not given, so neither zone is ruled out.
                    "MAY APPLY: the length of runway 18/36 is not given"
                } else {
                    words
                };
                assert!(flat.contains(wanted), "{name} {x}: {page}");
            }
        }
    }
    let profiles: Vec<_> = ["united-kingdom", "plain"]
        .map(|name| load(name).unwrap())
        .into();
    let listing = profiles::listing(&profiles)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(listing.contains("within 2.5 NM of the mid-point of the longest runway"));
    assert!(listing.contains(
        "rectangle on each extended centreline from the threshold, 5 km long, 1 km wide"
    ));
}

/// The same site about the antimeridian, where longitudes jump.
#[test]
fn a_zone_crosses_the_antimeridian() {
    let frame = LocalFrame::about(LonLat::new(179.9999, -17.0).unwrap());
    let at = |x: f64, y: f64| frame.to_place(Xy::new(x, y));
    let strip = runway("09/27", Some(at(-3_000.0, 0.0)), Some(at(-1_500.0, 0.0)));
    let mut ask = question(&small(0.0, 0.0), "united-kingdom");
    ask.area = crate::cover::area(frame.origin(), &[rectangle(-50.0, 480.0, 100.0, 40.0)]);
    let assessment = answered(&ask, bare(None, vec![strip]));
    let zone = assessment
        .zones
        .iter()
        .find(|zone| zone.part.as_deref() == Some("beyond end 27"))
        .unwrap();
    assert_eq!(zone.state, ZoneState::Straddles);
    let share = zone.share_inside.unwrap();
    assert!((share - 0.5).abs() < 0.001, "{share}");
    assert!(origin().lat() < 0.0);
}

/// Zones are drawn when asked for, those reached into heavier and named, and no label lies on another.
#[test]
fn a_figure_draws_zones_when_asked() {
    use eaves::figure::FigureOptions;
    use eaves::figure::scene::{Dash, Ink, MarkKind};
    let aerodrome = bare(Some(place(0.0, 0.0)), vec![west_east(1_200.0)]);
    let area = [rectangle(5_500.0, 400.0, 300.0, 200.0)];
    let assessment = answered(&question(&area, "plain"), aerodrome);
    let with = |zones| {
        let options = FigureOptions {
            zones,
            ..FigureOptions::default()
        };
        crate::figure::maps(&assessment, &options)
    };
    for (without, scene) in with(false).iter().zip(&with(true)) {
        assert!(!without.shows(MarkKind::Zone));
        let pens: Vec<_> = scene
            .marks
            .iter()
            .filter(|mark| mark.kind == MarkKind::Zone && mark.panel.is_some())
            .filter_map(|mark| match &mark.ink {
                Ink::Line(_, pen) => Some(*pen),
                _ => None,
            })
            .collect();
        assert!(
            pens.iter().any(|pen| pen.width > 2.0),
            "one that the area reaches into"
        );
        assert!(pens.iter().all(|pen| pen.dash == Dash::DashDotDot));
        let straddled = scene.labels.iter().any(|label| {
            label.kind == MarkKind::Zone
                && label
                    .lines
                    .iter()
                    .any(|line| line.text == "the area straddles it")
        });
        assert!(straddled, "{:?}", scene.labels);
        crate::figure::assert_labels_are_placed_well("zones", scene);
        assert_eq!(scene.legend.len(), without.legend.len() + 1);
        assert!(scene.legend.len() <= 10);
    }
}

/// The demo beside what `demo-layers/make.py` measures of it with pyproj and shapely: offsets from the
/// extended centrelines to a centimetre, shares within 5 km of each runway.
#[test]
fn the_demo_lies_where_pyproj_says() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let area = eaves::read::operating_area(&folder.join("area.geojson"), None).unwrap();
    let found = eaves::read::layers(&folder, &eaves::read::ReadOptions::default()).unwrap();
    let mut ask = question(&small(0.0, 0.0), "plain");
    ask.area = area.area;
    let assessment = assess(&ask, &found).unwrap();
    let expected = [
        ("10", -4_384.58, -3_891.42, 4_064.67, 4_595.54),
        ("28", 2_491.41, 2_984.57, -4_595.54, -4_064.67),
        ("02", -5_317.75, -4_754.34, -3_167.24, -2_672.20),
        ("20", 3_854.34, 4_417.76, 2_672.20, 3_167.24),
    ];
    let ends: Vec<_> = assessment
        .runways
        .iter()
        .flat_map(|runway| &runway.ends)
        .collect();
    assert_eq!(ends.len(), expected.len());
    for (end, (name, near, far, left, right)) in ends.into_iter().zip(expected) {
        assert_eq!(end.designator.as_deref(), Some(name));
        let out = end.outbound.as_ref().unwrap();
        let offsets = [
            out.along_least_m,
            out.along_most_m,
            out.right_least_m,
            out.right_most_m,
        ];
        for (found, expected) in offsets.into_iter().zip([near, far, left, right]) {
            assert!(
                (found.m() - expected).abs() < 0.011,
                "{name}: {found:?}, {expected}"
            );
        }
    }
    let shares: Vec<f64> = assessment
        .zones
        .iter()
        .filter(|zone| zone.state == ZoneState::Straddles)
        .map(|zone| zone.share_inside.unwrap())
        .collect();
    assert_eq!(shares.len(), 2);
    for (share, expected) in shares.into_iter().zip([0.2857, 0.3786]) {
        assert!(
            share >= expected - 5e-5 && share < expected + 4e-4,
            "{share}, {expected}"
        );
    }
    for (runway, expected) in assessment.runways.iter().zip([4_790.60, 4_725.04]) {
        let away = runway.centreline_m.unwrap().m();
        assert!(
            away <= expected + 0.005 && away > expected - 0.02,
            "{away}, {expected}"
        );
    }
}
