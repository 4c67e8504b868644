//! A wished window against the aerodromes near a site: answer, page, JSON, exit code.

use eaves::aerodrome::{Aerodrome, AerodromeKind, PublishedHours};
use eaves::assess::{Question, assess};
use eaves::hours::answer::{ControlState, HoursAnswer, LightAnswer, SpellState};
use eaves::hours::window::WishedWindow;
use eaves::read::{ReadOptions, layers as read_layers};
use eaves::report::{json, page, text};

use crate::read_lines::folder;
use crate::report_fixture::decided;
use crate::request::Site;
use crate::site::{layers, question, rectangle};

const SYDNEY: &str = "Australia/Sydney";

fn aerodrome(ident: &str, controlled: Option<bool>, control: Option<&str>) -> Aerodrome {
    Aerodrome {
        source: crate::report_fixture::feature("aerodromes.geojson", ident),
        ident: Some(ident.into()),
        name: ident.into(),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(
            question(&[rectangle(0.0, 0.0, 100.0, 100.0)], "plain")
                .area
                .frame()
                .origin(),
        ),
        elevation: None,
        controlled,
        military: None,
        hours: PublishedHours {
            operation: None,
            control: control.map(str::to_owned),
            tower: None,
            zone: Some(SYDNEY.into()),
        },
        runways: Vec::new(),
        movement_area: None,
        boundary: None,
    }
}

fn asked(window: &str, days: u16, first: (i16, i8, i8)) -> Question {
    let mut asked = question(&[rectangle(0.0, 0.0, 100.0, 100.0)], "plain");
    asked.window = Some(WishedWindow::new(window, SYDNEY, days).unwrap());
    asked.date = jiff::civil::date(first.0, first.1, first.2);
    asked
}

fn answered(question: &Question, aerodromes: Vec<Aerodrome>) -> HoursAnswer {
    assess(question, &layers(aerodromes, vec![]))
        .unwrap()
        .hours
        .unwrap()
}

/// Window 06:30-10:00 against control from 07:00, by hand: 30 min outside on a weekday, all of
/// Sunday, and control until 08:00 on Saturday from another aerodrome.
#[test]
fn windows_are_cut_by_control() {
    let question = asked("Fr-Su 06:30-10:00", 3, (2026, 7, 3));
    let hours = answered(
        &question,
        vec![
            aerodrome("XAAA", Some(true), Some("Mo-Fr 07:00-19:00")),
            aerodrome("XBBB", None, Some("Sa 05:00-08:00")),
            aerodrome("XCCC", Some(false), None),
        ],
    );
    let told: Vec<Vec<String>> = hours
        .windows
        .iter()
        .map(|window| {
            window
                .spells
                .iter()
                .map(|spell| {
                    let (from, to) = (&spell.from.local[8..16], &spell.to.local[11..16]);
                    format!("{from}-{to} {:?} {}", spell.state, spell.by.join(","))
                })
                .collect()
        })
        .collect();
    assert_eq!(
        told,
        [
            vec![
                "03T06:30-07:00 OutsideControl ",
                "03T07:00-10:00 ControlActive XAAA"
            ],
            vec![
                "04T06:30-08:00 ControlActive XBBB",
                "04T08:00-10:00 OutsideControl "
            ],
            vec!["05T06:30-10:00 OutsideControl "],
        ]
    );
    let totals = hours.totals;
    assert_eq!(totals.window_min, 630);
    assert_eq!(totals.control_active_min, 180 + 90);
    assert_eq!(totals.outside_control_min, 30 + 120 + 210);
    assert_eq!(totals.undetermined_min, 0);
    assert!(hours.is_decided());
    assert_eq!(hours.controls[2].state, ControlState::NotControlled);
    assert_eq!(
        hours.days.iter().map(|day| day.weekday).collect::<Vec<_>>(),
        ["Fr", "Sa", "Su"]
    );
}

/// A tower that keeps other hours than control counts beside it, by hand: control from 07:00 to 19:00,
/// the tower from 06:45 to 08:00 and on Saturdays. Hours of a tower alone do not say when control is off.
#[test]
fn hours_of_a_tower_count_beside_those_of_control() {
    let spells = |controlled: Option<bool>, control: Option<&str>| {
        let mut towered = aerodrome("XAAA", controlled, control);
        towered.hours.tower = Some("Mo-Fr 06:45-08:00; Sa 09:00-10:00".into());
        let question = asked("Fr-Sa 06:30-10:00", 2, (2026, 7, 3));
        let assessment = assess(&question, &layers(vec![towered], vec![])).unwrap();
        let words = page::page(&assessment);
        assert!(words.contains("XAAA, tower\n"), "{words}");
        assert!(
            words.contains("control   \"Mo-Fr 06:45-08:00; Sa 09:00-10:00\""),
            "{words}"
        );
        let hours = assessment.hours.unwrap();
        assert_eq!(hours.controls.len(), 2);
        hours
            .windows
            .iter()
            .flat_map(|window| &window.spells)
            .map(|spell| {
                let (from, to) = (&spell.from.local[8..16], &spell.to.local[11..16]);
                format!("{from}-{to} {:?} {}", spell.state, spell.by.join(" and "))
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(
        spells(Some(true), Some("Mo-Fr 07:00-19:00")),
        [
            "03T06:30-06:45 OutsideControl ",
            "03T06:45-07:00 ControlActive XAAA, tower",
            "03T07:00-08:00 ControlActive XAAA and XAAA, tower",
            "03T08:00-10:00 ControlActive XAAA",
            "04T06:30-09:00 OutsideControl ",
            "04T09:00-10:00 ControlActive XAAA, tower",
        ]
    );
    for controlled in [None, Some(true)] {
        let found = spells(controlled, None);
        assert_eq!(found[0], "03T06:30-06:45 Undetermined XAAA");
        assert_eq!(found[1], "03T06:45-08:00 ControlActive XAAA, tower");
    }
    assert_eq!(
        spells(Some(false), None)[0],
        "03T06:30-06:45 OutsideControl "
    );
}

/// Not known is not off: each of these leaves the window undetermined.
#[test]
fn unknown_control_is_never_off() {
    let question = asked("Sa 06:30-10:00", 7, (2026, 7, 1));
    for (controlled, control) in [
        (Some(true), None),
        (None, None),
        (Some(true), Some("HO")),
        (Some(false), Some("HX")),
        (Some(true), Some("0700-1900")),
        (Some(true), Some("by arrangement")),
    ] {
        let hours = answered(&question, vec![aerodrome("XAAA", controlled, control)]);
        assert_eq!(
            hours.totals.undetermined_min, 210,
            "{controlled:?} {control:?}"
        );
        assert_eq!(hours.totals.outside_control_min, 0);
        assert!(!hours.is_decided());
        assert!(matches!(
            hours.controls[0].state,
            ControlState::Undetermined { .. }
        ));
    }
    // Somebody known to be active decides it, whoever else is unknown.
    let hours = answered(
        &question,
        vec![
            aerodrome("XAAA", None, None),
            aerodrome("XBBB", Some(true), Some("H24")),
        ],
    );
    assert_eq!(hours.totals.control_active_min, 210);
    // Nobody in the layers is nobody known to be off.
    let hours = answered(&question, vec![]);
    assert_eq!(hours.windows[0].spells[0].state, SpellState::Undetermined);
    assert!(!hours.is_decided());
}

/// Sydney, 2025-04-06: the window 02:30-04:00 begins at the first 02:30 (15:30Z) and lasts 2.5 h.
#[test]
fn a_change_of_clocks_is_told() {
    let question = asked("Su 02:30-04:00", 7, (2025, 4, 1));
    let aerodromes = vec![aerodrome("XAAA", Some(true), Some("Mo-Fr 07:00-19:00"))];
    let assessment = assess(&question, &layers(aerodromes, vec![])).unwrap();
    let hours = assessment.hours.clone().unwrap();
    assert_eq!(hours.totals.outside_control_min, 150);
    assert_eq!(hours.clock_changes.len(), 1);
    assert_eq!(hours.clock_notes.len(), 1);
    let page = page::page(&assessment);
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(
        "Clocks go back in Australia/Sydney: at 2025-04-06 03:00 to 2025-04-06 02:00, then \
         UTC+10:00 (UTC 2504051600)"
    ));
    assert!(words.contains(
        "2025-04-06 02:30 in Australia/Sydney occurs twice, UTC 2504051530 and 2504051630"
    ));
}

/// The page stays in its columns and the JSON in its schema, whatever the answer.
#[test]
fn page_and_json_hold_every_kind_of_answer() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let schema = std::fs::read_to_string(root.join("layers/schema/assessment.json")).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let aerodromes = || {
        vec![
            aerodrome(
                "XAAA",
                Some(true),
                Some("Mo-Fr 07:00-19:00; Sa 02:15-03:15"),
            ),
            aerodrome("XB\u{1b}[31m", None, Some("HO")),
            aerodrome("XCCC", Some(false), None),
        ]
    };
    for (profile, window, days, first) in [
        ("plain", "Su 02:30-04:00", 7, (2025, 4, 1)),
        ("plain", "Su 02:10-02:50, 07:00-08:00", 7, (2025, 10, 1)),
        ("plain", "24/7", 100, (2026, 7, 1)),
        ("plain", "22:00-03:00", 2, (2026, 7, 1)),
        ("plain", "2030 10:00-11:00", 2, (2026, 7, 1)),
        ("united-states", "HJ", 5, (2026, 12, 1)),
    ] {
        let mut assessment = decided();
        assert!(assessment.is_decided());
        let mut question = asked(window, days, first);
        question.profile = eaves::profile::load(profile).unwrap();
        let hours = answered(&question, aerodromes());
        let is_decided = hours.is_decided();
        assessment.hours = Some(hours);
        assert_eq!(assessment.is_decided(), is_decided);
        let value: serde_json::Value =
            serde_json::from_str(&json::json(&assessment).unwrap()).unwrap();
        let faults: Vec<String> = validator
            .iter_errors(&value)
            .map(|fault| format!("{}: {fault}", fault.instance_path()))
            .collect();
        assert_eq!(faults, Vec::<String>::new(), "{window}");
        let page = page::page(&assessment);
        assert!(!page.contains('\u{1b}'));
        for line in page.lines() {
            assert!(line.chars().count() <= text::WIDTH, "{line}");
        }
        assert_eq!(
            page.contains("more windows in the JSON"),
            days == 100,
            "{page}"
        );
        let mut broken = value.clone();
        broken["hours"]["totals"]["outside_control_min"] = "30".into();
        assert!(!validator.is_valid(&broken));
    }
}

/// Hours are read from the layer under their own names and under mapped ones.
#[test]
fn hours_are_read_from_the_layer() {
    let feature = |properties: &str| {
        format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","id":"a","properties":{{{properties}}},"geometry":{{"type":"Point","coordinates":[150,-31]}}}}]}}"#
        )
    };
    let read = |properties: &str, declared: &str| {
        let folder = folder(&[
            ("aerodromes.geojson", &feature(properties)),
            ("layers.toml", declared),
        ]);
        read_layers(folder.path(), &ReadOptions::default())
            .unwrap()
            .aerodromes[0]
            .hours
            .clone()
    };
    let expected = PublishedHours {
        operation: Some("24/7".into()),
        control: Some("HJ".into()),
        tower: Some("HN".into()),
        zone: Some("UTC".into()),
    };
    let own = r#""hours":"24/7","control_hours":"HJ","tower_hours":"HN","tz":"UTC""#;
    assert_eq!(read(own, ""), expected);
    let open = r#""opening_hours":"24/7","control_hours":"HJ","tower_hours":"HN","timezone":"UTC""#;
    assert_eq!(read(open, ""), expected);
    let mapped = "[aerodromes.attributes]\nhours = \"OPS\"\ncontrol_hours = \"ATC\"\n\
                  tower_hours = \"TWR\"\ntz = \"TZ\"\n";
    assert_eq!(
        read(r#""OPS":"24/7","ATC":"HJ","TWR":"HN","TZ":"UTC""#, mapped),
        expected
    );
    assert_eq!(read(r#""name":"x""#, ""), PublishedHours::default());
}

#[test]
fn the_command_line_takes_a_window() {
    let site = Site::new();
    let base = ["@area.geojson", "--layers", "@layers"];
    let with = |more: &[&str]| site.resolve(&[&base, more].concat());
    let window = with(&[
        "--window",
        "Mo-Fr 07:00-11:00",
        "--tz",
        SYDNEY,
        "--days",
        "7",
    ])
    .unwrap()
    .window
    .unwrap();
    assert_eq!(
        (window.text(), window.zone_name().as_str(), window.days()),
        ("Mo-Fr 07:00-11:00", SYDNEY, 7)
    );
    let by_default = with(&["--window", "HJ", "--tz", "UTC"]).unwrap().window;
    assert_eq!(by_default.unwrap().days(), 14);
    assert_eq!(with(&[]).unwrap().window, None);
    let why = with(&["--window", "mornings", "--tz", SYDNEY]).unwrap_err();
    assert!(why.to_string().contains("opening_hours syntax"), "{why}");
    let why = with(&["--window", "HJ", "--tz", "Sydney"]).unwrap_err();
    assert!(why.to_string().contains("IANA"), "{why}");
    let alone = |arguments: &[&str]| {
        let start = ["eaves", "assess", "a", "--layers", "l"];
        eaves::cli::parse([&start, arguments].concat()).is_err()
    };
    assert!(alone(&["--window", "HJ"]));
    assert!(alone(&["--tz", "UTC"]));
    assert!(alone(&["--window", "HJ", "--tz", "UTC", "--days", "0"]));
}

/// 14 CFR 107.29 counts 30 minutes before sunrise to 30 minutes after sunset, not 6 degrees (from
/// memory; the 30 minutes seen on a training page).
#[test]
fn a_rule_may_count_twilight_in_minutes() {
    let mut question = asked("HJ", 1, (2025, 12, 21));
    question.profile = eaves::profile::load("united-states").unwrap();
    let assessment = assess(&question, &layers(vec![], vec![])).unwrap();
    let hours = assessment.hours.as_ref().unwrap();
    assert_eq!(hours.rule_twilight.as_ref().unwrap().minutes, 30);
    let day = &hours.days[0];
    let LightAnswer::Crosses {
        rise: Some(rise),
        set: Some(set),
        ..
    } = day.sun
    else {
        panic!("{:?}", day.sun)
    };
    let Some(LightAnswer::Crosses {
        rise: Some(begin),
        set: Some(end),
        ..
    }) = day.rule_twilight
    else {
        panic!("{:?}", day.rule_twilight)
    };
    assert_eq!(rise.duration_since(begin).as_mins(), 30);
    assert_eq!(end.duration_since(set).as_mins(), 30);
    assert_ne!(day.rule_twilight.as_ref(), Some(&day.civil_twilight));
    let page = page::page(&assessment);
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("by the rule"), "{page}");
    // A profile that counts by the sun has none.
    question.profile = eaves::profile::load("plain").unwrap();
    let hours = assess(&question, &layers(vec![], vec![])).unwrap().hours;
    assert_eq!(hours.unwrap().days[0].rule_twilight, None);
}
