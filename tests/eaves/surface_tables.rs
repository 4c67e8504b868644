//! Tables of obstacle limitation surfaces, every cell beside a transcription.

use std::path::Path;

use eaves::aerodrome::ApproachType;
use eaves::cli::SURFACE_TABLES;
use eaves::frame::Xy;
use eaves::surfaces::annex14::Annex14;
use eaves::surfaces::part77::Part77;
use eaves::surfaces::ribbon::Until;
use eaves::surfaces::table::{BUILT_IN, Cells, load, parse};

const FT: f64 = 0.3048;

pub fn annex14(name: &str) -> Annex14 {
    match load(name).unwrap().cells {
        Cells::Annex14(cells) => cells,
        Cells::Part77(_) => panic!("{name} is not Annex 14"),
    }
}

pub fn part77() -> Part77 {
    match load("cfr77").unwrap().cells {
        Cells::Part77(cells) => *cells,
        Cells::Annex14(_) => panic!("cfr77 is Annex 14"),
    }
}

fn file(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("layers/surfaces/{name}.toml"));
    std::fs::read_to_string(path).unwrap()
}

/// ICAO Annex 14 Volume I, Table 4-1, transcribed row by row in the order of its columns: the arrêté
/// du 7 juin 2007 (France, DEVA0755796A, annexe I) and a page of the Annex of 25 November 2004; in
/// brackets the inner edges of a public table of the 8th edition. Full widths.
const TABLE_4_1: &str = "
conical slope          | 5 | 5 | 5 | 5 | 5 | 5 | 5 | 5 | 5 | 5
conical height         | 35 | 55 | 75 | 100 | 60 | 75 | 100 | 60 | 100 | 100
inner horizontal height| 45 | 45 | 45 | 45 | 45 | 45 | 45 | 45 | 45 | 45
inner horizontal radius| 2000 | 2500 | 4000 | 4000 | 3500 | 4000 | 4000 | 3500 | 4000 | 4000
inner approach width   | - | - | - | - | - | - | - | 90 | 120 | 120
inner approach distance| - | - | - | - | - | - | - | 60 | 60 | 60
inner approach length  | - | - | - | - | - | - | - | 900 | 900 | 900
inner approach slope   | - | - | - | - | - | - | - | 2.5 | 2 | 2
inner edge             | 60 | 80 | 150 | 150 | 150 (140) | 300 (280) | 300 (280) | 150 (140) | 300 (280) | 300 (280)
distance               | 30 | 60 | 60 | 60 | 60 | 60 | 60 | 60 | 60 | 60
divergence             | 10 | 10 | 10 | 10 | 15 | 15 | 15 | 15 | 15 | 15
first length           | 1600 | 2500 | 3000 | 3000 | 2500 | 3000 | 3000 | 3000 | 3000 | 3000
first slope            | 5 | 4 | 3.33 | 2.5 | 3.33 | 2 | 2 | 2.5 | 2 | 2
second length          | - | - | - | - | - | 3600 | 3600 | 12000 | 3600 | 3600
second slope           | - | - | - | - | - | 2.5 | 2.5 | 3 | 2.5 | 2.5
horizontal length      | - | - | - | - | - | 8400 | 8400 | - | 8400 | 8400
total length           | 1600 | 2500 | 3000 | 3000 | 2500 | 15000 | 15000 | 15000 | 15000 | 15000
transitional slope     | 20 | 20 | 14.3 | 14.3 | 20 | 14.3 | 14.3 | 14.3 | 14.3 | 14.3
inner transitional     | - | - | - | - | - | - | - | 40 | 33.3 | 33.3
balked inner edge      | - | - | - | - | - | - | - | 90 | 120 | 120
balked distance        | - | - | - | - | - | - | - | end of strip | 1800 | 1800
balked divergence      | - | - | - | - | - | - | - | 10 | 10 | 10
balked slope           | - | - | - | - | - | - | - | 4 | 3.33 | 3.33
";

/// The number of a transcribed cell: the one in brackets for the 8th edition; none for a dash.
fn transcribed(row: &str, column: usize, is_eighth: bool) -> Option<f64> {
    let line = TABLE_4_1
        .lines()
        .find(|line| line.split('|').next().unwrap().trim() == row)
        .unwrap_or_else(|| panic!("{row}"));
    let cell = line.split('|').nth(column + 1).unwrap().trim();
    let (old, new) = match cell.split_once('(') {
        Some((old, new)) => (old, new.trim_end_matches(')')),
        None => (cell, cell),
    };
    let text = if is_eighth { new } else { old };
    (text.trim() != "-" && text != "end of strip").then(|| text.trim().parse().unwrap())
}

#[track_caller]
fn same(value: Option<f64>, expected: Option<f64>, what: &str) {
    match (value, expected) {
        (None, None) => {}
        (Some(value), Some(expected)) if (value - expected).abs() <= 1e-9 => {}
        other => panic!("{what}: {other:?}"),
    }
}

#[test]
fn every_cell_of_table_4_1_in_both_editions() {
    let names = [
        "NI-1", "NI-2", "NI-3", "NI-4", "NPA-1,2", "NPA-3", "NPA-4", "P1-1,2", "P1-3,4", "P23-3,4",
    ];
    use ApproachType::{NonInstrument, NonPrecision, Precision1, Precision23};
    let kinds = [
        NonInstrument,
        NonInstrument,
        NonInstrument,
        NonInstrument,
        NonPrecision,
        NonPrecision,
        NonPrecision,
        Precision1,
        Precision1,
        Precision23,
    ];
    let codes: [&[u8]; 10] = [
        &[1],
        &[2],
        &[3],
        &[4],
        &[1, 2],
        &[3],
        &[4],
        &[1, 2],
        &[3, 4],
        &[3, 4],
    ];
    for (name, is_eighth) in [("annex14-2004", false), ("annex14-2018", true)] {
        let table = annex14(name);
        assert_eq!(table.approach.len(), 10);
        for (i, column) in table.approach.iter().enumerate() {
            assert_eq!(column.name, names[i]);
            assert_eq!(column.approach, kinds[i]);
            assert_eq!(column.codes, codes[i]);
            let inner = column.inner_approach;
            let balked = column.balked_landing;
            let percent = |ratio: f64| ratio * 100.0;
            let horizontal = column.sections.iter().find(|(_, slope)| *slope == 0.0);
            let second = column.sections.get(1).filter(|(_, slope)| *slope > 0.0);
            let cells = [
                ("conical slope", Some(percent(column.conical.0))),
                ("conical height", Some(column.conical.1)),
                ("inner horizontal height", Some(column.inner_horizontal.0)),
                ("inner horizontal radius", Some(column.inner_horizontal.1)),
                ("inner approach width", inner.map(|it| it.width.0)),
                ("inner approach distance", inner.map(|it| it.distance)),
                ("inner approach length", inner.map(|it| it.length)),
                ("inner approach slope", inner.map(|it| percent(it.slope))),
                ("inner edge", Some(column.inner_edge)),
                ("distance", Some(column.distance)),
                ("divergence", Some(percent(column.divergence))),
                ("first length", Some(column.sections[0].0)),
                ("first slope", Some(percent(column.sections[0].1))),
                ("second length", second.map(|it| it.0)),
                ("second slope", second.map(|it| percent(it.1))),
                ("horizontal length", horizontal.map(|it| it.0)),
                (
                    "total length",
                    Some(column.sections.iter().map(|it| it.0).sum()),
                ),
                ("transitional slope", Some(percent(column.transitional))),
                (
                    "inner transitional",
                    inner.map(|it| percent(it.transitional)),
                ),
                ("balked inner edge", balked.map(|it| it.inner_edge.0)),
                ("balked distance", balked.and_then(|it| it.distance)),
                ("balked divergence", balked.map(|it| percent(it.divergence))),
                ("balked slope", balked.map(|it| percent(it.slope))),
            ];
            assert_eq!(cells.len(), TABLE_4_1.trim().lines().count());
            for (row, value) in cells {
                same(
                    value,
                    transcribed(row, i, is_eighth),
                    &format!("{name} {row} {}", names[i]),
                );
            }
            // "end of strip" is a balked landing surface without a distance.
            assert_eq!(balked.is_some(), i >= 7, "{name} {}", names[i]);
        }
        // Code letter F: 155 m (footnote of ECAR Part 139), 140 m in the 8th edition (from memory).
        let wide = Some(if is_eighth { 140.0 } else { 155.0 });
        let precision = &table.approach[8];
        assert_eq!(precision.inner_approach.unwrap().width.1, wide);
        assert_eq!(precision.balked_landing.unwrap().inner_edge.1, wide);
        // ICAO Doc 9137 Part 6 (training slides): 150 m within 15 000 m, code number 3 and 4.
        assert_eq!(table.outer_horizontal, (vec![3, 4], 15_000.0, 150.0));
    }
}

/// ICAO Annex 14 Volume I, Table 4-2 (same order as above): full widths, both editions alike.
#[test]
fn every_cell_of_table_4_2() {
    let expected: [(&[u8], [f64; 7]); 3] = [
        (&[1], [60.0, 30.0, 10.0, 380.0, 380.0, 1600.0, 5.0]),
        (&[2], [80.0, 60.0, 10.0, 580.0, 580.0, 2500.0, 4.0]),
        (&[3, 4], [180.0, 60.0, 12.5, 1200.0, 1800.0, 15_000.0, 2.0]),
    ];
    for name in ["annex14-2004", "annex14-2018"] {
        let table = annex14(name);
        assert_eq!(table.take_off.len(), 3);
        for (column, (codes, cells)) in table.take_off.iter().zip(expected) {
            assert_eq!(column.codes, codes);
            let values = [
                column.inner_edge,
                column.distance,
                column.divergence * 100.0,
                column.final_width.0,
                column.final_width.1,
                column.length,
                column.slope * 100.0,
            ];
            for (value, cell) in values.into_iter().zip(cells) {
                same(Some(value), Some(cell), name);
            }
        }
    }
}

/// 14 CFR 77.19 (copies of 2014, 2019 and 2024) and the FAA sheet of dimensional standards, feet.
/// Utility visual is 1 250 ft wide, not the 1 200 ft of a statute of Michigan (MCL 259.482c), and
/// no radius is the 15,000 that the scan of 1998 prints for 5,000.
#[test]
fn every_cell_of_77_19_and_77_23() {
    let classes = [
        "utility_visual",
        "utility_non_precision",
        "visual",
        "non_precision_above_3_4_mile",
        "non_precision_to_3_4_mile",
        "precision",
    ];
    let primary = [250.0, 500.0, 500.0, 500.0, 1000.0, 1000.0];
    let radius = [5000.0, 5000.0, 5000.0, 10_000.0, 10_000.0, 10_000.0];
    let outer = [1250.0, 2000.0, 1500.0, 3500.0, 4000.0, 16_000.0];
    let sections: [&[(f64, f64)]; 6] = [
        &[(5000.0, 20.0)],
        &[(5000.0, 20.0)],
        &[(5000.0, 20.0)],
        &[(10_000.0, 34.0)],
        &[(10_000.0, 34.0)],
        &[(10_000.0, 50.0), (40_000.0, 40.0)],
    ];
    let table = part77();
    assert_eq!(table.airport.len(), 6);
    for (i, column) in table.airport.iter().enumerate() {
        assert_eq!(column.class, classes[i]);
        for (value, cell) in [
            (column.primary_width, primary[i] * FT),
            (column.beyond_end, 200.0 * FT),
            (column.horizontal.0, 150.0 * FT),
            (column.horizontal.1, radius[i] * FT),
            (column.conical.0, 1.0 / 20.0),
            (column.conical.1, 4000.0 * FT),
            (column.outer_width, outer[i] * FT),
            (column.transitional, 1.0 / 7.0),
        ] {
            same(Some(value), Some(cell), classes[i]);
        }
        assert_eq!(column.sections.len(), sections[i].len());
        for (section, (length, one_in)) in column.sections.iter().zip(sections[i]) {
            same(Some(section.0), Some(length * FT), classes[i]);
            same(Some(section.1), Some(1.0 / one_in), classes[i]);
        }
        let beyond = (i == 5).then_some(5000.0 * FT);
        same(column.beyond_conical, beyond, classes[i]);
    }
    // 14 CFR 77.23 (copy of 5 April 2026): civil, military.
    for (column, one_in) in table.heliport.iter().zip([8.0, 10.0]) {
        for (value, cell) in [
            (column.length, 4000.0 * FT),
            (column.outer_width, 500.0 * FT),
            (column.slope, 1.0 / one_in),
            (column.transitional, 0.5),
            (column.from_centreline, 250.0 * FT),
        ] {
            same(Some(value), Some(cell), "77.23");
        }
    }
    assert_eq!(table.heliport.len(), 2);
}

const O: Xy = Xy::new(0.0, 0.0);
const EAST: Xy = Xy::new(1.0, 0.0);

/// Arithmetic on Table 4-1: heights and widths at the ends of sections.
#[test]
fn heights_and_widths_of_approach_surfaces() {
    let old = annex14("annex14-2004");
    let precision = old.approach[8].ribbons(O, EAST, 0.0);
    let ends: Vec<f64> = precision.iter().map(|it| it.level_at(it.length)).collect();
    for (end, expected) in ends.iter().zip([60.0, 150.0, 150.0]) {
        assert!((end - expected).abs() < 1e-9);
    }
    // Full width 2 280 m at 6 600 m and 4 800 m at 15 000 m from an inner edge of 300 m.
    assert!((2.0 * precision[1].half_width_at(3600.0) - 2280.0).abs() < 1e-9);
    assert!((2.0 * precision[2].half_width_at(8400.0) - 4800.0).abs() < 1e-9);
    // The 8th edition starts 20 m narrower: the full width, not the half width, shrinks by 20 m.
    let new = annex14("annex14-2018").approach[8].ribbons(O, EAST, 0.0);
    assert!((2.0 * new[2].half_width_at(8400.0) - 4780.0).abs() < 1e-9);
    // Category I, code number 1 and 2: 75 m, then 435 m (ICAO keeps 3 % to 15 000 m).
    let short = old.approach[7].ribbons(O, EAST, 0.0);
    assert!((short[0].level_at(3000.0) - 75.0).abs() < 1e-9);
    assert!((short[1].level_at(12_000.0) - 435.0).abs() < 1e-9);
    // 3.33 % is not 1 in 30: 99.9 m after 3 000 m.
    let visual = old.approach[2].ribbons(O, EAST, 0.0);
    assert!((visual[0].level_at(3000.0) - 99.9).abs() < 1e-9);
}

/// Arithmetic on the conical, transitional and balked landing surfaces.
#[test]
fn runs_of_slopes() {
    let table = annex14("annex14-2018");
    for (column, width, radius) in [
        (0, 700.0, 2700.0),
        (1, 1100.0, 3600.0),
        (2, 1500.0, 5500.0),
        (3, 2000.0, 6000.0),
        (4, 1200.0, 4700.0),
        (5, 1500.0, 5500.0),
        (6, 2000.0, 6000.0),
        (7, 1200.0, 4700.0),
        (8, 2000.0, 6000.0),
        (9, 2000.0, 6000.0),
    ] {
        let column = &table.approach[column];
        let run = column.conical.1 / column.conical.0;
        assert!((run - width).abs() < 1e-9);
        assert!((column.inner_horizontal.1 + run - radius).abs() < 1e-9);
    }
    // 45 m at 14.3 % is 314.69 m, at 1 in 7 it would be 315 m: they differ by 0.3 m.
    let run = |column: usize| 45.0 / table.approach[column].transitional;
    assert!((run(3) - 314.685_3).abs() < 1e-3 && (run(3) - 315.0).abs() > 0.3);
    assert!((run(0) - 225.0).abs() < 1e-9);
    // Category I of code number 1 and 2 has 14.3 %, not the 20 % of a public table.
    assert!((run(7) - 314.685_3).abs() < 1e-3);
    let balked = |column: usize| 45.0 / table.approach[column].balked_landing.unwrap().slope;
    assert!((balked(8) - 1_351.351_4).abs() < 1e-3);
    assert!((balked(7) - 1125.0).abs() < 1e-9);
}

/// Arithmetic on Table 4-2: the final width is reached exactly at the end for code 1 and 2, and
/// after 4 080 m for code 3 and 4; ends at 80, 100 and 300 m.
#[test]
fn take_off_climb_widths_and_heights() {
    let table = annex14("annex14-2018");
    for (column, widens, top) in [(0, 1600.0, 80.0), (1, 2500.0, 100.0), (2, 4080.0, 300.0)] {
        let column = &table.take_off[column];
        let [first, second] = column.ribbons(O, EAST, 0.0, false);
        assert!((first.length - widens).abs() < 1e-9);
        assert!((2.0 * second.half_width - column.final_width.0).abs() < 1e-9);
        assert!((second.level_at(second.length) - top).abs() < 1e-9);
        assert!((first.length + second.length - column.length).abs() < 1e-9);
    }
    // A turning track: 1 800 m, after 6 480 m.
    let [first, second] = table.take_off[2].ribbons(O, EAST, 0.0, true);
    assert!(
        (first.length - 6480.0).abs() < 1e-9 && (2.0 * second.half_width - 1800.0).abs() < 1e-9
    );
}

/// Arithmetic on 14 CFR 77.19 and 77.23, feet.
#[test]
fn heights_and_runs_of_part_77() {
    let table = part77();
    let top = |class: usize, width: f64| {
        let ribbons = table.airport[class].ribbons(O, EAST, 0.0, width * FT);
        let last = ribbons.last().unwrap();
        (
            last.level_at(last.length) / FT,
            2.0 * last.half_width_at(last.length) / FT,
        )
    };
    for (class, width, height, outer) in [
        (5, 1000.0, 1200.0, 16_000.0),
        (3, 500.0, 294.117_647, 3500.0),
        (0, 250.0, 250.0, 1250.0),
    ] {
        let (reached, wide) = top(class, width);
        assert!((reached - height).abs() < 1e-5, "{reached}");
        assert!((wide - outer).abs() < 1e-6, "{wide}");
    }
    // A utility runway with a precision approach at its other end: inner edge 1 000 ft, outer 1 250.
    assert!((top(0, 1000.0).1 - 1250.0).abs() < 1e-6);
    let visual = &table.airport[0];
    // The conical surface tops out at 350 ft; 7:1 reaches 150 ft after 1 050 ft.
    let conical = visual.horizontal.0 + visual.conical.0 * visual.conical.1;
    assert!((conical / FT - 350.0).abs() < 1e-9);
    assert!((visual.horizontal.0 / visual.transitional / FT - 1050.0).abs() < 1e-9);
    // A civil heliport: 500 ft after 4 000 ft, 500 ft wide there.
    let approach = table.heliport[0].ribbon(O, EAST, 0.0, 100.0 * FT);
    assert!((approach.level_at(approach.length) / FT - 500.0).abs() < 1e-9);
    assert!((2.0 * approach.half_width_at(approach.length) / FT - 500.0).abs() < 1e-9);
    // 2:1 over 250 ft from the centreline: 100 ft above the edge of a primary surface 100 ft wide.
    let flanks = approach.flanks(0.5, Until::FromCentreline(250.0 * FT), 0.0);
    assert_eq!(flanks.len(), 2);
}

#[test]
fn tables_meet_their_schema_and_the_command_line_names_them() {
    assert_eq!(BUILT_IN, SURFACE_TABLES);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/schema/surfaces.json");
    let schema: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    let schema = jsonschema::validator_for(&schema).unwrap();
    let as_json = |text: &str| -> serde_json::Value {
        serde_json::to_value(toml::from_str::<toml::Value>(text).unwrap()).unwrap()
    };
    for name in BUILT_IN {
        let text = file(name);
        if let Err(why) = schema.validate(&as_json(&text)) {
            panic!("{name}: {why}");
        }
        for (from, to) in [("\"m\"", "\"yd\""), ("mark = \"seen\"", "mark = \"sure\"")] {
            let changed = text.replacen(from, to, 1);
            assert!(
                changed == text || !schema.is_valid(&as_json(&changed)),
                "{name} {to}"
            );
        }
    }
}

#[test]
fn a_damaged_table_is_refused_with_its_row() {
    let text = file("annex14-2018");
    for (from, to, said) in [
        (
            "[5, 5, 5, 5, 5, 5, 5, 5, 5, 5]",
            "[5, 5]",
            "approach.conical_slope",
        ),
        ("[35, 55,", "[-35, 55,", "approach.conical_height"),
        ("[1600, 2500,", "[1601, 2500,", "approach_total_length"),
        (
            "[approach.rows.conical_height]",
            "[approach.rows.conical_hight]",
            "conical_height",
        ),
        (
            "[60, 80, 180]",
            "[\"-\", 80, 180]",
            "take_off.inner_edge: has no value for 1",
        ),
        ("unit = \"%\"", "unit = \"m\"", "is a slope"),
        ("kind = \"annex_14\"", "kind = \"part_77\"", "airport"),
        ("kind = \"annex_14\"", "kind = \"annex_15\"", "annex_15"),
    ] {
        let changed = text.replacen(from, to, 1);
        assert_ne!(changed, text, "{from}");
        let error = parse("annex14-2018", &changed).unwrap_err().to_string();
        assert!(
            error.starts_with("layers/surfaces/annex14-2018.toml: "),
            "{error}"
        );
        assert!(error.contains(said), "{error}");
    }
    let error = load("annex15").unwrap_err().to_string();
    assert!(
        error.contains("annex14-2018, annex14-2004, cfr77"),
        "{error}"
    );
}
