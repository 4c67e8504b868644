//! 14 CFR 77.9, 77.17 and 77.21: heights of structures, and the surfaces of military airports.
//!
//! The numbers are those of the sections, read in copies of the CFR; 77.21(b)(2) and the 200 ft of
//! (b)(3) are from memory.

use eaves::aerodrome::{Aerodrome, AerodromeKind};
use eaves::answer::Assessment;
use eaves::assess::{Question, assess};
use eaves::field::Field;
use eaves::field::convex::Convex;
use eaves::frame::{LocalFrame, Xy, distance};
use eaves::report::{json, page};
use eaves::surfaces::answer::{Purpose, StandardAnswer, SurfaceKind};
use eaves::surfaces::of_aerodrome;
use eaves::surfaces::table::load;
use eaves::units::{Altitude, Height, Metres};
use geo::{LineString, MultiPolygon, Polygon};

use crate::site::{layers, origin, place, question, rectangle};
use crate::surface_answers::aerodrome;
use crate::surface_tables::part77;

const FT: f64 = 0.3048;
const NM: f64 = 1852.0;

#[test]
fn every_cell_of_77_9_77_17_and_77_21() {
    let table = part77();
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    let standards = &table.standards;
    near(standards.above_ground[0], 200.0 * FT);
    near(standards.above_ground[1], 499.0 * FT);
    for ((slope, run), (one_in, feet)) in
        standards
            .notice
            .iter()
            .zip([(100.0, 20_000.0), (50.0, 10_000.0), (25.0, 5_000.0)])
    {
        near(*slope, 1.0 / one_in);
        near(*run, feet * FT);
    }
    near(standards.notice_long_runway, 3200.0 * FT);
    near(standards.near_airport.longest_runway_above, 3200.0 * FT);
    let added: Vec<(&str, f64)> = standards
        .traverse_ways
        .iter()
        .map(|(kind, added)| (kind.as_str(), (added / FT).round()))
        .collect();
    assert_eq!(
        added,
        [
            ("interstate highway", 17.0),
            ("other public road", 15.0),
            ("private road", 10.0),
            ("railroad", 23.0)
        ]
    );
    let military = &table.military;
    for (found, feet) in [
        (military.inner_horizontal.0, 150.0),
        (military.inner_horizontal.1, 7500.0),
        (military.conical.1, 7000.0),
        (military.outer_horizontal.0, 500.0),
        (military.outer_horizontal.1, 30_000.0),
        (military.primary_width, 2000.0),
        (military.clear_zone, 1000.0),
        (military.approach_beyond_end, 200.0),
        (military.approach_length, 50_000.0),
        (military.approach_outer_width, 16_000.0),
        (1.0 / military.conical.0, 20.0 / FT),
        (1.0 / military.approach_slope, 50.0 / FT),
        (1.0 / military.transitional, 7.0 / FT),
    ] {
        near(found, feet * FT);
    }
    // 20:1 over 7 000 ft from 150 ft reaches the 500 ft of the outer horizontal surface.
    near(
        military.inner_horizontal.0 + military.conical.0 * military.conical.1,
        military.outer_horizontal.0,
    );
}

/// 77.17(a)(2): 200 ft to 3 NM, 300 ft at 4 NM, 400 ft at 5 NM, and at 6 NM no more than 499 ft, which
/// is then the height above any ground of (a)(1).
#[test]
fn heights_near_an_airport_rise_with_the_distance() {
    let near = &part77().standards.near_airport;
    let surface = near.about(&Convex::point(Xy::new(0.0, 0.0)), 0.0, 0.0);
    let feet = |miles: f64| surface.at(Xy::new(miles * NM, 0.0)) / FT;
    for (miles, expected) in [
        (0.0, 200.0),
        (3.0, 200.0),
        (4.0, 300.0),
        (5.0, 400.0),
        (5.989, 498.9),
    ] {
        assert!(
            (feet(miles) - expected).abs() < 0.01,
            "{miles}: {}",
            feet(miles)
        );
    }
    assert_eq!(feet(6.0), f64::INFINITY);
    let site = asked((6.0 * NM + 1000.0, 0.0), |_, _| ());
    let least = only(&site, Purpose::Obstruction, "77.17(a)(1)");
    assert!((least.height_m_agl.unwrap().m() - 499.0 * FT).abs() < 1e-9);
}

/// A small area about a place; level ground at 300 m, the airport of `surface_answers` (a runway of
/// 2 000 m from the origin east, all at 330 m, its reference point at its middle), 40 m wide.
fn asked(at: (f64, f64), change: impl Fn(&mut Question, &mut Aerodrome)) -> Assessment {
    let mut question = question(&[rectangle(at.0, at.1, 1.0, 1.0)], "united-states");
    question.surfaces = Some(load("cfr77").unwrap());
    let mut airport = aerodrome();
    airport.runways[0].width = Some(Metres::of(40.0));
    change(&mut question, &mut airport);
    assess(&question, &layers(vec![airport], vec![])).unwrap()
}

fn standards(site: &Assessment, purpose: Purpose) -> Vec<&StandardAnswer> {
    let structures = site.surfaces.as_ref().unwrap().structures.as_ref().unwrap();
    structures
        .standards
        .iter()
        .filter(|it| it.purpose == purpose)
        .collect()
}

fn only<'a>(site: &'a Assessment, purpose: Purpose, section: &str) -> &'a StandardAnswer {
    let found: Vec<_> = standards(site, purpose)
        .into_iter()
        .filter(|it| it.source.contains(section))
        .collect();
    assert_eq!(found.len(), 1, "{section}: {found:?}");
    found[0]
}

/// 100:1 from the edge of the runway: at 3 020 m left of it, 30 m above the runway, which is 30 m
/// above the ground. A runway of 900 m has 50:1; one of unknown length the lower of both.
#[test]
fn notice_by_the_slope_from_the_nearest_runway() {
    let height = |change: fn(&mut Question, &mut Aerodrome)| {
        let site = asked((1000.0, 3020.0), change);
        let found = only(&site, Purpose::Notice, "77.9(b)");
        (found.height_m_agl.unwrap().m(), found.assumed.clone())
    };
    let (long, assumed) = height(|_, _| ());
    assert!(long <= 60.0 && long > 60.0 - 0.2, "{long}");
    assert!(assumed.is_empty(), "{assumed:?}");
    let (short, _) = height(|_, airport| {
        airport.runways[0].ends[1].position = Some(place(900.0, 0.0));
    });
    // From the end corner (900, 20): 100 m along and 3 000 m across.
    let expected = 30.0 + 3000f64.hypot(100.0) / 50.0;
    assert!(
        short <= expected && short > expected - 0.2,
        "{short} {expected}"
    );
    // A short runway beside one of which nothing is known: the long slope counts.
    let (unknown, assumed) = height(|_, airport| {
        let mut other = airport.runways[0].clone();
        airport.runways[0].ends[1].position = Some(place(900.0, 0.0));
        for end in &mut other.ends {
            end.position = None;
        }
        airport.runways.push(other);
    });
    assert!(
        unknown < 30.0 + 3002.0 / 100.0 && unknown > 59.0,
        "{unknown}"
    );
    assert!(assumed.iter().any(|it| it.contains("longest runway")));
    assert!(assumed.iter().any(|it| it.contains("left out")));
    // Without a width, that of the widest primary surface: 1 000 ft.
    let (wide, assumed) = height(|_, airport| airport.runways[0].width = None);
    let expected = 30.0 + (3020.0 - 500.0 * FT) / 100.0;
    assert!(wide <= expected && wide > expected - 0.2, "{wide}");
    assert!(assumed.iter().any(|it| it.contains("width")));
}

/// 77.17(a)(2) counts from the higher of ground and airport: 200 ft above the 330 m of the airport is
/// 90.96 m above ground at 300 m, and 60.96 m where the ground is at 400 m.
#[test]
fn obstruction_from_the_higher_of_ground_and_airport() {
    let height = |elevation: f64| {
        let site = asked((1000.0, 5000.0), |question, _| {
            question.site_elevation = Some(Altitude::of(elevation));
        });
        only(&site, Purpose::Obstruction, "77.17(a)(2)")
            .height_m_agl
            .unwrap()
            .m()
    };
    assert!((height(300.0) - 90.96).abs() < 1e-3);
    assert!((height(400.0) - 60.96).abs() < 1e-3);
}

/// The least height of all is that of the surface of 77.19 (inside the horizontal surface 150 ft
/// above 330 m: 75.72 m above ground); ways on which something moves have less.
#[test]
fn the_lowest_standard_counts_and_traverse_ways_less() {
    let site = asked((1000.0, 2500.0), |_, _| ());
    let structures = site.surfaces.as_ref().unwrap().structures.as_ref().unwrap();
    let obstruction = structures.obstruction_m_agl.unwrap().m();
    assert!(
        (obstruction - (30.0 + 150.0 * FT)).abs() < 1e-3,
        "{obstruction}"
    );
    let notice = structures.notice_m_agl.unwrap().m();
    assert!((notice - (30.0 + 24.8)).abs() < 0.2, "{notice}");
    let railroad = &structures.traverse_ways[3];
    assert!((railroad.notice_m_agl.unwrap().m() - (notice - 23.0 * FT)).abs() < 1e-9);
    assert!((railroad.obstruction_m_agl.unwrap().m() - (obstruction - 23.0 * FT)).abs() < 1e-9);
    // Ground above the slope: no height passes without notice, and never a negative one.
    let above = asked((1000.0, 500.0), |question, _| {
        question.site_elevation = Some(Altitude::of(500.0));
    });
    assert_eq!(
        only(&above, Purpose::Notice, "77.9(b)").height_m_agl,
        Some(Height::of(0.0))
    );
    assert!(page::page(&above).contains("no height at all"));
    let text = page::page(&site);
    assert!(text.contains("STRUCTURES in the area"), "{text}");
    assert!(text.contains("interstate highway: 5.2"), "{text}");
    // The JSON meets its schema.
    let schema = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/schema/assessment.json"),
    )
    .unwrap();
    let validator = jsonschema::validator_for(&serde_json::from_str(&schema).unwrap()).unwrap();
    let value: serde_json::Value = serde_json::from_str(&json::json(&site).unwrap()).unwrap();
    let errors: Vec<String> = validator
        .iter_errors(&value)
        .map(|it| it.to_string())
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

/// On assumed flat ground slopes AMSL are undetermined, and so is the least; heights above ground are
/// answered.
#[test]
fn without_an_elevation_only_heights_above_ground_are_answered() {
    let site = asked((1000.0, 2500.0), |question, _| {
        question.site_elevation = None
    });
    assert_eq!(only(&site, Purpose::Notice, "77.9(b)").height_m_agl, None);
    let structures = site.surfaces.as_ref().unwrap().structures.as_ref().unwrap();
    assert_eq!(
        (structures.notice_m_agl, structures.obstruction_m_agl),
        (None, None)
    );
    let near = only(&site, Purpose::Obstruction, "77.17(a)(2)");
    assert!((near.height_m_agl.unwrap().m() - 60.96).abs() < 1e-9);
    assert!(page::page(&site).contains("UNDETERMINED"));
    // An Annex 14 table has no such standards.
    let annex = asked((1000.0, 2500.0), |question, _| {
        question.surfaces = Some(load("annex14-2018").unwrap());
    });
    assert!(annex.surfaces.unwrap().structures.is_none());
}

/// 77.21 beside its numbers, by hand: a level runway of 2 000 m at 330 m.
#[test]
fn surfaces_of_a_military_airport() {
    let mut airport = aerodrome();
    airport.military = Some(true);
    let frame = LocalFrame::about(origin());
    let laid = of_aerodrome(&load("cfr77").unwrap(), &airport, &frame);
    assert!(laid.missing.is_empty(), "{:?}", laid.missing);
    let feet = |kind: SurfaceKind, part: Option<&str>, x: f64, y: f64| {
        let site = laid
            .surfaces
            .iter()
            .find(|it| it.kind == kind && it.part.as_deref() == part)
            .unwrap_or_else(|| panic!("{kind:?}"));
        (site.surface.at(Xy::new(x, y)) - 330.0) / FT
    };
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 0.1, "{found} {expected}");
    let y = |feet: f64| feet * FT;
    near(
        feet(SurfaceKind::InnerHorizontal, None, 1000.0, y(7490.0)),
        150.0,
    );
    assert!(feet(SurfaceKind::InnerHorizontal, None, 1000.0, y(7510.0)).is_infinite());
    near(
        feet(SurfaceKind::Conical, None, 1000.0, y(7500.0 + 2000.0)),
        250.0,
    );
    near(
        feet(SurfaceKind::OuterHorizontal, None, 1000.0, y(14_510.0)),
        500.0,
    );
    near(
        feet(SurfaceKind::OuterHorizontal, None, 1000.0, y(44_480.0)),
        500.0,
    );
    assert!(feet(SurfaceKind::OuterHorizontal, None, 1000.0, y(44_520.0)).is_infinite());
    // The primary surface, 2 000 ft wide, and the clear zone of 1 000 ft beyond the end.
    near(
        feet(SurfaceKind::Primary, Some("09/27"), 1000.0, y(990.0)),
        0.0,
    );
    near(
        feet(SurfaceKind::Primary, Some("09/27"), -990.0 * FT, 0.0),
        0.0,
    );
    assert!(feet(SurfaceKind::Primary, Some("09/27"), 1000.0, y(1010.0)).is_infinite());
    assert!(feet(SurfaceKind::Primary, Some("09/27"), -1010.0 * FT, 0.0).is_infinite());
    // The approach beyond end 09: 50:1 from 200 ft beyond, 500 ft after 25 000 ft, then level.
    let approach = |along: f64, across: f64| {
        feet(
            SurfaceKind::Approach,
            Some("09"),
            -(200.0 + along) * FT,
            across * FT,
        )
    };
    near(approach(5000.0, 0.0), 100.0);
    near(approach(25_000.0, 0.0), 500.0);
    near(approach(49_900.0, 7900.0), 500.0);
    assert!(approach(50_100.0, 0.0).is_infinite() && approach(49_900.0, 8100.0).is_infinite());
    // 7:1 beside the primary surface: 70 ft above it reaches 10 ft.
    near(
        feet(SurfaceKind::Transitional, Some("09/27"), 1000.0, y(1070.0)),
        10.0,
    );
    // Where the data do not say, those of a civil airport, and it is said.
    airport.military = None;
    let laid = of_aerodrome(&load("cfr77").unwrap(), &airport, &frame);
    assert!(
        laid.missing.iter().any(|it| it.contains("77.21")),
        "{:?}",
        laid.missing
    );
    assert!(
        laid.surfaces
            .iter()
            .all(|it| it.kind != SurfaceKind::OuterHorizontal)
    );
    airport.military = Some(false);
    let laid = of_aerodrome(&load("cfr77").unwrap(), &airport, &frame);
    assert!(laid.missing.is_empty(), "{:?}", laid.missing);
}

/// 77.23: 8:1 where the data say civil, 10:1 where they say military, and the lower, 10:1, where
/// they say neither; a heliport of a movement area, without a runway record. 77.9(b)(3): 25:1 about it.
#[test]
fn a_heliport_is_civil_or_military_by_the_data() {
    let mut heliport = aerodrome();
    heliport.kind = AerodromeKind::Heliport;
    heliport.runways.clear();
    let ring: LineString<f64> = [(-15.0, -15.0), (15.0, -15.0), (15.0, 15.0), (-15.0, 15.0)]
        .into_iter()
        .map(|(x, y)| (place(x, y).lon(), place(x, y).lat()))
        .collect();
    heliport.movement_area = Some(MultiPolygon(vec![Polygon::new(ring, vec![])]));
    for (military, one_in) in [(Some(false), 8.0), (Some(true), 10.0), (None, 10.0)] {
        heliport.military = military;
        let frame = LocalFrame::about(origin());
        let laid = of_aerodrome(&load("cfr77").unwrap(), &heliport, &frame);
        let approach = laid
            .surfaces
            .iter()
            .find(|it| it.kind == SurfaceKind::Approach)
            .unwrap();
        let reached = approach.surface.at(Xy::new(15.0 + 800.0, 0.0)) - 330.0;
        assert!((reached - 800.0 / one_in).abs() < 0.02, "{reached}");
        let says_so = approach
            .assumed
            .iter()
            .any(|it| it.contains("civil or military"));
        assert_eq!(says_so, military.is_none());
    }
    let mut ask = question(&[rectangle(515.0, 0.0, 1.0, 1.0)], "united-states");
    ask.surfaces = Some(load("cfr77").unwrap());
    let site = assess(&ask, &layers(vec![heliport.clone()], vec![])).unwrap();
    let notice = only(&site, Purpose::Notice, "77.9(b)")
        .height_m_agl
        .unwrap()
        .m();
    assert!(notice <= 30.0 + 500.0 / 25.0 && notice > 49.9, "{notice}");
    // 77.17(a)(2) is not of heliports; without an area nothing is placed, and that is said.
    assert!(
        !standards(&site, Purpose::Obstruction)
            .iter()
            .any(|it| it.source.contains("(a)(2)"))
    );
    heliport.movement_area = None;
    let site = assess(&ask, &layers(vec![heliport], vec![])).unwrap();
    assert!(
        site.not_assessed
            .iter()
            .any(|it| it.what.contains("heights of structures near XTST")),
        "{:?}",
        site.not_assessed
    );
}

/// The same beside a brute force on the ellipsoid: areas across every part of the standard, level ground
/// below, at and above the airport, feet by geodesic distance written out.
#[test]
fn heights_near_an_airport_are_those_of_a_net_of_geodesics() {
    let airport = place(1000.0, 0.0);
    for (x, y) in [
        (0.0, 5000.0),
        (3000.0, -6000.0),
        (-7000.0, 1000.0),
        (2000.0, 9500.0),
        (9000.0, -7000.0),
    ] {
        for elevation in [250.0, 329.0, 331.0, 400.0] {
            let mut ask = question(&[rectangle(x, y, 1500.0, 900.0)], "united-states");
            ask.surfaces = Some(load("cfr77").unwrap());
            ask.site_elevation = Some(Altitude::of(elevation));
            let site = assess(&ask, &layers(vec![aerodrome()], vec![])).unwrap();
            let found = only(&site, Purpose::Obstruction, "77.17(a)(2)")
                .height_m_agl
                .unwrap()
                .m();
            let mut least = f64::INFINITY;
            for k in 0..=150 {
                for m in 0..=90 {
                    let there = place(x + 10.0 * f64::from(k), y + 10.0 * f64::from(m));
                    let feet = 200.0 + 100.0 * (distance(airport, there).m() / NM - 3.0).max(0.0);
                    if feet <= 499.0 {
                        least = least.min((feet * FT).max(330.0 + feet * FT - elevation));
                    }
                }
            }
            // A net of 10 m, 100 ft in a nautical mile, and the tolerance of the question.
            assert!(
                found <= least + 1e-3,
                "{x} {y} {elevation}: {found} {least}"
            );
            assert!(
                found >= least - 7.1 * 100.0 * FT / NM - ask.tolerance.m(),
                "{x} {y} {elevation}: {found} {least}"
            );
        }
    }
}

/// Longest runways of 3 200 ft and less have 50:1 for 10 000 ft and no 77.17(a)(2); longer ones have 100:1
/// for 20 000 ft and it (14 CFR 77.9(b)(1) and (2), 77.17(a)(2)).
#[test]
fn a_longest_runway_of_3200_ft_is_not_a_long_one() {
    let at = |feet: f64| {
        asked((feet * FT / 2.0, 2520.0), |_, airport| {
            airport.runways[0].ends[1].position = Some(place(feet * FT, 0.0));
        })
    };
    for (feet, one_in, is_long) in [(3199.9, 50.0, false), (3200.1, 100.0, true)] {
        let site = at(feet);
        let notice = only(&site, Purpose::Notice, "77.9(b)")
            .height_m_agl
            .unwrap()
            .m();
        let expected = 30.0 + 2500.0 / one_in;
        assert!(
            notice <= expected && notice > expected - 0.2,
            "{feet}: {notice}"
        );
        let near = standards(&site, Purpose::Obstruction)
            .iter()
            .any(|it| it.source.contains("77.17(a)(2)"));
        assert_eq!(near, is_long, "{feet}");
    }
    // 10 000 ft from the edge of the runway at (.., 20): nothing just beyond, the whole run just before.
    let far = |y: f64| {
        let site = asked((400.0, 20.0 + y), |_, airport| {
            airport.runways[0].ends[1].position = Some(place(900.0, 0.0));
        });
        !standards(&site, Purpose::Notice)
            .iter()
            .all(|it| !it.source.contains("77.9(b)"))
    };
    assert!(far(10_000.0 * FT - 2.0) && !far(10_000.0 * FT + 1.0));
}

/// Rows of 77.21 from memory are named where the data say that a military airport is near, and only
/// there; where they do not say, what is not laid out is named instead.
#[test]
fn rows_of_military_airports_are_named_where_one_is_near() {
    for (military, kind, named) in [
        (Some(true), AerodromeKind::Aerodrome, true),
        (Some(true), AerodromeKind::Heliport, false),
        (Some(false), AerodromeKind::Aerodrome, false),
        (None, AerodromeKind::Aerodrome, false),
    ] {
        let site = asked((1000.0, 2500.0), |_, airport| {
            (airport.military, airport.kind) = (military, kind);
        });
        let words = page::page(&site);
        assert_eq!(
            words.contains("FROM MEMORY: military.clear_zone_length"),
            named,
            "{words}"
        );
        let not_laid_out = site.not_assessed.iter().any(|it| it.why.contains("77.21"));
        assert_eq!(not_laid_out, military.is_none(), "{:?}", site.not_assessed);
    }
}
