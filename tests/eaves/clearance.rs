//! Electrical clearance: the table against its instrument, bands and usable area against shapely.

use eaves::answer::{Assessment, ClearanceState, UsableAnswer};
use eaves::assess::{LineClearance, assess};
use eaves::clearance::ClearanceTable;
use eaves::obstacle::{Obstacle, ObstacleKind, SpanDetail, SpanEnd};
use eaves::profile::Term;
use eaves::read::ReadOptions;
use eaves::units::Metres;
use geo::{Area, BooleanOps, GeodesicArea};

use crate::differential::{area, cases, interval, number, obstacles};
use crate::read_lines::folder;
use crate::site::{layers, question, rectangle, span};

/// 29 CFR 1926.1408 Table A as published (law pages, seen): kV up to and including, feet.
const TABLE_A: [(f64, f64); 6] = [
    (50.0, 10.0),
    (200.0, 15.0),
    (350.0, 20.0),
    (500.0, 25.0),
    (750.0, 35.0),
    (1000.0, 45.0),
];

#[test]
fn the_table_is_that_of_its_instrument() {
    let table = ClearanceTable::load("cfr1926-1408").unwrap();
    assert_eq!(table.rows.len(), TABLE_A.len());
    let feet = |kilovolts: f64| {
        let row = table.row(kilovolts * 1000.0)?;
        Some(row.distance_m.ft())
    };
    let mut above = 0.0;
    for (up_to, distance) in TABLE_A {
        for kilovolts in [above + 0.001, (above + up_to) / 2.0, up_to] {
            let found = feet(kilovolts).unwrap();
            assert!((found - distance).abs() < 1e-9, "{kilovolts} kV: {found}");
        }
        above = up_to;
    }
    // Over 1 000 kV it is left to the owner of the line.
    assert_eq!(feet(1_000.001), None);
}

#[test]
fn tables_that_make_no_sense_are_refused() {
    let head = "title='t'\ncitation='c'\nedition='e'\nmark='seen'\ncaution='x'\n";
    for rows in [
        "rows=[]",
        "[[rows]]\nup_to_kv=0\ndistance=1\nunit='m'",
        "[[rows]]\nup_to_kv=1\ndistance=0\nunit='m'",
        "[[rows]]\nup_to_kv=1\ndistance=400\nunit='ft'",
        "[[rows]]\nup_to_kv=1\ndistance=4\nunit='km'",
        "[[rows]]\nup_to_kv=2\ndistance=4\nunit='m'\n[[rows]]\nup_to_kv=1\ndistance=5\nunit='m'",
        "[[rows]]\nup_to_kv=1\ndistance=4\nunit='m'\n[[rows]]\nup_to_kv=2\ndistance=3\nunit='m'",
    ] {
        assert!(
            ClearanceTable::parse("t", &format!("{head}{rows}")).is_err(),
            "{rows}"
        );
    }
    let good = "[[rows]]\nup_to_kv=1\ndistance=4\nunit='m'";
    assert!(ClearanceTable::parse("t", &format!("{head}{good}")).is_ok());
    assert!(ClearanceTable::load("nonsense").is_err());
}

/// The obstacles of a case of `reference/coverage.json` as lines that keep `clearance`.
fn as_lines(obstacles: Vec<Obstacle>, clearance: f64) -> Vec<Obstacle> {
    let end = || SpanEnd {
        top: None,
        support: None,
    };
    obstacles
        .into_iter()
        .map(|obstacle| Obstacle {
            kind: ObstacleKind::Span,
            span: Some(Box::new(SpanDetail {
                ends: [end(), end()],
                sag: None,
                length: Metres::of(100.0),
                clearance: Some(Metres::of(clearance)),
                wire_offset: None,
                voltage_v: None,
                index: 0,
            })),
            ..obstacle
        })
        .collect()
}

fn capped(ask: &mut eaves::assess::Question) {
    let height = ask.profile.quantities()[0].clone();
    ask.profile.expression = Term::Cap {
        title: "cap".into(),
        height,
    };
}

/// What shapely leaves uncovered by buffers of the same distance is what is left to use: never more
/// than the lower end of its interval, and less by no more than a centimetre's strip along the edges
/// of the bands.
#[test]
fn usable_areas_agree_with_shapely_and_are_never_too_large() {
    let mut most = 0.0f64;
    for case in &cases(include_str!("../reference/coverage.json")) {
        let id = &case["id"];
        let reach = number(&case["reach_m"]);
        let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
        ask.area = area(case);
        capped(&mut ask);
        let lines = as_lines(obstacles(case), reach.min(100.0));
        if reach > 100.0 {
            continue;
        }
        let assessment = assess(&ask, &layers(vec![], lines)).unwrap();
        let (least, _) = interval(&case["answer"]["uncovered_m2"]).unwrap();
        let UsableAnswer::Determined { area_m2, share, .. } = &assessment.usable else {
            panic!("{id}: {:?}", assessment.usable);
        };
        assert!(*area_m2 <= least + 1e-6, "{id}: {area_m2} above {least}");
        // Each piece gives away a ring of its reach, cut by the area; scraps below 1 m2 too.
        let edges: f64 = 7.0 * reach * assessment.clearance.lines.len().max(1) as f64
            + 2.0 * assessment.area.perimeter_m.m();
        assert!(
            *area_m2 >= least - 0.012 * edges - 2.0,
            "{id}: {area_m2} below {least}"
        );
        most = most.max(least - area_m2);
        assert!(
            (share * assessment.area.area_m2 - area_m2).abs() < 1e-6,
            "{id}"
        );
    }
    println!("most given away: {most:.3} m2");
}

fn asked(lines: Vec<Obstacle>, ask: Option<LineClearance>) -> Assessment {
    let mut question = question(&[rectangle(0.0, 0.0, 100.0, 60.0)], "plain");
    question.line_clearance = ask;
    capped(&mut question);
    assess(&question, &layers(vec![], lines)).unwrap()
}

fn stated(
    clearance: Option<f64>,
    offset: Option<f64>,
    accuracy: f64,
    volts: Option<f64>,
) -> Obstacle {
    let mut line = span((-50.0, 30.0), (150.0, 30.0), 30.0, None, 0.0);
    line.horizontal_accuracy = Metres::of(accuracy);
    let detail = line.span.as_mut().unwrap();
    detail.clearance = clearance.map(Metres::of);
    detail.wire_offset = offset.map(Metres::of);
    detail.voltage_v = volts;
    line
}

/// A line across the middle of 100 m by 60 m: the band takes 100 m times twice its half width, and
/// leaves two parts.
#[test]
fn the_widest_of_what_is_given_holds() {
    let table = || {
        Some(LineClearance::Table(
            ClearanceTable::load("cfr1926-1408").unwrap(),
        ))
    };
    let option = |metres: f64| Some(LineClearance::Distance(Metres::of(metres)));
    let foot = 0.3048;
    for (line, ask, half_width) in [
        (stated(Some(6.0), None, 0.0, None), None, 6.0),
        (stated(Some(6.0), Some(4.0), 2.0, None), None, 12.0),
        (stated(Some(6.0), None, 0.0, None), option(4.0), 6.0),
        (stated(Some(6.0), None, 0.0, None), option(9.0), 9.0),
        (stated(None, None, 1.0, None), option(9.0), 10.0),
        (stated(None, None, 0.0, Some(330e3)), table(), 20.0 * foot),
        (stated(None, None, 0.0, Some(350e3)), table(), 20.0 * foot),
        (stated(None, None, 0.0, None), table(), 45.0 * foot),
        (stated(Some(7.0), None, 0.0, Some(330e3)), table(), 7.0),
    ] {
        let assessment = asked(vec![line], ask);
        assert_eq!(assessment.clearance.state, ClearanceState::Everywhere);
        let told = assessment.clearance.lines[0].half_width_m.unwrap().m();
        assert!((told - half_width).abs() < 1e-9, "{told}");
        let band = assessment.clearance.band_m2;
        let true_band = 200.0 * half_width;
        assert!(
            band >= true_band && band <= true_band + 2.5,
            "{band} {true_band}"
        );
        let UsableAnswer::Determined {
            area_m2, polygons, ..
        } = &assessment.usable
        else {
            panic!("{half_width}");
        };
        assert!(*area_m2 <= 6_000.0 - true_band && *area_m2 >= 6_000.0 - true_band - 2.5);
        assert_eq!(polygons.0.len(), 2);
        // The polygons are what the number says, and do not touch the band.
        assert!((polygons.geodesic_area_unsigned() - area_m2).abs() < 0.01);
        let shared = polygons.intersection(&assessment.clearance.band);
        assert!(shared.unsigned_area() < 1e-13, "square degrees: 1e-3 m2");
    }
}

/// Nothing is taken for granted: a line without a distance leaves the usable area undetermined,
/// unless it is too far away for any.
#[test]
fn a_line_without_a_distance_is_undetermined() {
    let volts = stated(None, None, 0.0, Some(1_150e3));
    let table = ClearanceTable::load("cfr1926-1408").unwrap();
    for (line, ask) in [
        (stated(None, None, 0.0, Some(330e3)), None),
        (volts, Some(LineClearance::Table(table))),
    ] {
        let assessment = asked(vec![line, stated(Some(6.0), None, 0.0, None)], ask);
        assert!(matches!(
            assessment.clearance.state,
            ClearanceState::Undetermined { .. }
        ));
        assert!(matches!(
            assessment.usable,
            UsableAnswer::Undetermined { .. }
        ));
    }
    let far = span((-50.0, 161.0), (150.0, 161.0), 30.0, None, 0.0);
    assert_eq!(
        asked(vec![far], None).clearance.state,
        ClearanceState::NoLine
    );
    let near = span((-50.0, 159.0), (150.0, 159.0), 30.0, None, 0.0);
    assert_ne!(
        asked(vec![near], None).clearance.state,
        ClearanceState::NoLine
    );
    // No layer of lines at all is not the same as no line.
    let without = asked(vec![], None);
    assert!(matches!(without.usable, UsableAnswer::Undetermined { .. }));
}

/// With a shield rule the uncovered part is taken off too.
#[test]
fn the_uncovered_part_is_not_usable() {
    let mut question = question(&[rectangle(0.0, 0.0, 100.0, 160.0)], "plain");
    question.line_clearance = Some(LineClearance::Distance(Metres::of(10.0)));
    let line = span(
        (-200.0, 0.0),
        (300.0, 0.0),
        60.0,
        Some(eaves::obstacle::Sag::Included),
        0.0,
    );
    let assessment = assess(&question, &layers(vec![], vec![line])).unwrap();
    let UsableAnswer::Determined {
        area_m2, polygons, ..
    } = &assessment.usable
    else {
        panic!("{:?}", assessment.usable);
    };
    // From 10 m to 100 m off the line, which is the edge of its reach.
    assert!(*area_m2 <= 9_000.0 && *area_m2 > 8_995.0, "{area_m2}");
    assert_eq!(polygons.0.len(), 1);
}

/// Attributes of a line and `layers.toml`; what is unclear is a caution and not taken.
#[test]
fn distances_are_read() {
    let read = |properties: &str, toml: &str| {
        let text = format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{properties},"geometry":{{"type":"LineString","coordinates":[[150.0,-31.0],[150.001,-31.0]]}}}}]}}"#
        );
        let folder = folder(&[("power-lines.geojson", &text), ("layers.toml", toml)]);
        let layers = eaves::read::layers(folder.path(), &ReadOptions::default()).unwrap();
        let detail = layers.obstacles.get(0).unwrap().span.unwrap();
        let unclear = layers
            .cautions
            .as_slice()
            .iter()
            .filter(|it| it.defect.contains("clearance") || it.defect.contains("wire offset"))
            .count();
        (
            detail.clearance.map(Metres::m),
            detail.wire_offset.map(Metres::m),
            unclear,
        )
    };
    let declared = "[power-lines]\nclearance_m = 8\nwire_offset_m = 3\n";
    assert_eq!(read("{}", ""), (None, None, 0));
    assert_eq!(read("{}", declared), (Some(8.0), Some(3.0), 0));
    assert_eq!(
        read(r#"{"clearance_m":"20 ft","wire_offset_m":5}"#, declared),
        (Some(20.0 * 0.3048), Some(5.0), 0)
    );
    let mapped = "[power-lines.attributes]\nclearance = \"SAFE_D\"\n";
    assert_eq!(read(r#"{"SAFE_D":4}"#, mapped), (Some(4.0), None, 0));
    for nonsense in ["-1", "\"wide\"", "101", "[1]"] {
        let properties = format!(r#"{{"clearance_m":{nonsense},"wire_offset_m":{nonsense}}}"#);
        assert_eq!(
            read(&properties, declared),
            (Some(8.0), Some(3.0), 2),
            "{nonsense}"
        );
    }
    for toml in [
        "clearance_m = -1",
        "clearance_m = 101",
        "wire_offset_m = 51",
    ] {
        let toml = format!("[power-lines]\n{toml}\n");
        assert!(
            eaves::read::mapping::Declarations::parse(&toml).is_err(),
            "{toml}"
        );
    }
}

/// Where the ceiling is not above ground nothing is usable, however well it is covered: a mast of 8 m
/// under the margin of 10 m, beside one of 40 m.
#[test]
fn what_leaves_no_height_is_not_usable() {
    let mut question = question(&[rectangle(0.0, 0.0, 300.0, 40.0)], "plain");
    question.line_clearance = Some(LineClearance::Distance(Metres::of(10.0)));
    let far = span((-400.0, 500.0), (-300.0, 500.0), 30.0, None, 0.0);
    let shields = |low: f64| {
        vec![
            far.clone(),
            crate::site::mast(60.0, 20.0, 40.0, 0.0),
            crate::site::mast(225.0, 20.0, low, 0.0),
        ]
    };
    let usable = |low: f64| {
        let assessment = assess(&question, &layers(vec![], shields(low))).unwrap();
        let UsableAnswer::Determined { area_m2, .. } = assessment.usable else {
            panic!("{:?}", assessment.usable);
        };
        area_m2
    };
    // Within 100 m of the first mast: x up to 60 + √(100² − 20²) at the corners, 60 + 100 in the
    // middle; squares on its edge give away 2 m of 40 m.
    let first = (0..40_000)
        .map(|k| {
            let y = (f64::from(k) + 0.5) / 1_000.0 - 20.0;
            (60.0 + (100.0f64 * 100.0 - y * y).sqrt()) / 1_000.0
        })
        .sum::<f64>();
    let both = usable(30.0);
    assert!(both <= 12_000.0 && both > 11_990.0, "{both}");
    let one = usable(8.0);
    assert!(one <= first && one > first - 150.0, "{one} {first}");
}
