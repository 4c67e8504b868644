//! Hours of control: what texts mean, what is undetermined, and what changes of clocks do to them.
//!
//! The meaning of texts is that of the opening_hours specification of OpenStreetMap; H24, HJ, HN,
//! HO, HS and HX are of ICAO Doc 8400 (from memory).

use eaves::frame::LonLat;
use eaves::hours::clock::{Matter, zone};
use eaves::hours::spans::{Span, Spans};
use eaves::hours::window::WishedWindow;
use eaves::hours::{Activity, Schedule};
use jiff::Timestamp;
use jiff::civil::date;
use proptest::prelude::*;

const SYDNEY: &str = "Australia/Sydney";

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

fn site() -> LonLat {
    LonLat::new(151.2093, -33.8688).unwrap()
}

fn activity(text: &str, zone: &str, from: &str, to: &str) -> Activity {
    Schedule::parse(text, Some(zone))
        .unwrap()
        .activity(site(), at(from), at(to))
}

/// The spans as `MM-DDThh:mm/MM-DDThh:mm` on the clock of a zone.
fn told(spans: &Spans, zone_name: &str) -> Vec<String> {
    let zone = zone(zone_name).unwrap();
    let local = |at: Timestamp| zone.to_datetime(at).strftime("%m-%dT%H:%M").to_string();
    spans
        .iter()
        .map(|span| format!("{}/{}", local(span.from), local(span.to)))
        .collect()
}

/// Wednesday 2026-07-01 to the end of Sunday 2026-07-05 in Sydney.
fn week(text: &str) -> Activity {
    activity(text, SYDNEY, "2026-07-01T00:00+10", "2026-07-06T00:00+10")
}

#[test]
fn texts_mean_what_the_specification_says() {
    for (text, expected) in [
        ("24/7", vec!["07-01T00:00/07-06T00:00"]),
        (
            "Th-Fr 07:00-19:00",
            vec!["07-02T07:00/07-02T19:00", "07-03T07:00/07-03T19:00"],
        ),
        (
            "We,Su 09:00-12:00",
            vec!["07-01T09:00/07-01T12:00", "07-05T09:00/07-05T12:00"],
        ),
        (
            "Th 08:00-12:00,13:00-17:00",
            vec!["07-02T08:00/07-02T12:00", "07-02T13:00/07-02T17:00"],
        ),
        // A later rule takes the place of an earlier one on its days.
        (
            "Mo-Su 08:00-10:00; We-Sa 12:00-13:00; Th-Sa off",
            vec!["07-01T12:00/07-01T13:00", "07-05T08:00/07-05T10:00"],
        ),
        // Over midnight, and what is left of the evening before the period.
        (
            "Tu 22:00-02:00; Th 22:00-26:00",
            vec!["07-01T00:00/07-01T02:00", "07-02T22:00/07-03T02:00"],
        ),
        ("Jul 02-03", vec!["07-02T00:00/07-04T00:00"]),
        ("Jun", vec![]),
        ("2026 Jul 04 10:00-11:00", vec!["07-04T10:00/07-04T11:00"]),
        (
            "Su[1] 10:00-11:00; Su[2] 12:00-13:00",
            vec!["07-05T10:00/07-05T11:00"],
        ),
        ("week 27 Sa 10:00-11:00", vec!["07-04T10:00/07-04T11:00"]),
        ("off", vec![]),
        ("H24", vec!["07-01T00:00/07-06T00:00"]),
        ("h24", vec!["07-01T00:00/07-06T00:00"]),
    ] {
        let found = week(text);
        assert_eq!(told(&found.active, SYDNEY), expected, "{text}");
        assert!(found.undetermined.is_empty(), "{text}: {found:?}");
        assert!(found.reasons.is_empty(), "{text}");
    }
}

/// The same text on another clock is another time: 22:00 UTC is 08:00 in Sydney in winter.
#[test]
fn hours_are_on_their_own_clock() {
    let found = activity(
        "Th 22:00-24:00",
        "UTC",
        "2026-07-01T00:00+10",
        "2026-07-06T00:00+10",
    );
    assert_eq!(told(&found.active, SYDNEY), ["07-03T08:00/07-03T10:00"]);
    let why = Schedule::parse("Th 22:00-24:00", None).unwrap_err();
    assert!(why.contains("time zone is not given"), "{why}");
    let why = Schedule::parse("Th 22:00-24:00", Some("Sydney")).unwrap_err();
    assert!(why.contains("\"Sydney\""), "{why}");
    for text in ["H24", "24/7", "HJ", "HN", "HO"] {
        assert!(Schedule::parse(text, None).is_ok(), "{text}");
    }
}

/// Sydney, 2025-06-21: sunrise 07:00:01, sunset 16:53:53, civil dawn 06:32:17, dusk 17:21:37 (Meeus,
/// as in the tests of the sun). To the whole minute, the longer way.
#[test]
fn sun_events_are_those_of_the_place() {
    for (text, expected) in [
        ("HJ", vec!["06-21T07:00/06-21T16:54"]),
        ("sunrise-sunset", vec!["06-21T07:00/06-21T16:54"]),
        ("dawn-dusk", vec!["06-21T06:32/06-21T17:22"]),
        ("08:00-sunset", vec!["06-21T08:00/06-21T16:54"]),
        (
            "(sunrise-00:30)-(sunset+00:30)",
            vec!["06-21T06:30/06-21T17:24"],
        ),
        (
            "HN",
            vec!["06-21T00:00/06-21T07:01", "06-21T16:53/06-22T00:00"],
        ),
        (
            "sunset-sunrise",
            vec!["06-21T00:00/06-21T07:01", "06-21T16:53/06-22T00:00"],
        ),
    ] {
        let (from, to) = ("2025-06-21T00:00+10", "2025-06-22T00:00+10");
        let found = activity(text, SYDNEY, from, to);
        assert_eq!(told(&found.active, SYDNEY), expected, "{text}");
        assert!(found.undetermined.is_empty(), "{text}");
    }
    // The sun of a place on a clock that is not its own: over midnight UTC, ends with the sunset
    // of the next UTC day.
    let found = activity(
        "sunrise-sunset",
        "UTC",
        "2025-06-21T00:00+10",
        "2025-06-22T00:00+10",
    );
    assert_eq!(told(&found.active, SYDNEY), ["06-21T07:00/06-21T16:54"]);
}

/// Where the sun does not rise the crate would guess a season (the northern one); eaves does not.
#[test]
fn polar_sun_events_are_undetermined() {
    let casey = LonLat::new(110.5, -70.0).unwrap();
    let (from, to) = (at("2025-12-20T00:00Z"), at("2025-12-22T00:00Z"));
    let rules = Schedule::parse("sunrise-sunset", Some("UTC")).unwrap();
    let found = rules.activity(casey, from, to);
    assert!(found.active.is_empty());
    assert_eq!(found.undetermined, Spans::one(from, to));
    let day = Schedule::parse("HJ", None).unwrap();
    assert_eq!(day.activity(casey, from, to).active, Spans::one(from, to));
    let night = Schedule::parse("HN", None).unwrap();
    assert!(night.activity(casey, from, to).active.is_empty());
}

/// A sunset that moves over midnight of a far clock, with offsets: the crate has no time after 48:00
/// and would stop the program; eaves does not ask it.
#[test]
fn offsets_that_lead_too_far_are_undetermined() {
    let text = "Jan 31-Feb 30 12:34-(sunset+05:00); (sunset+10:00)-26:00";
    let place = LonLat::new(20.0, -80.771_299_511_359_89).unwrap();
    let found = Schedule::parse(text, Some("Australia/Eucla"))
        .unwrap()
        .activity(place, at("2026-03-27T15:15Z"), at("2026-03-31T15:15Z"));
    assert!(!found.undetermined.is_empty());
    assert!(found.reasons[0].contains("sun event"), "{found:?}");
}

/// Never guessed: undetermined through and through, or in part.
#[test]
fn what_is_not_known_is_undetermined() {
    for (text, active, undetermined) in [
        ("HO", vec![], vec!["07-01T00:00/07-06T00:00"]),
        ("HS", vec![], vec!["07-01T00:00/07-06T00:00"]),
        ("HX", vec![], vec!["07-01T00:00/07-06T00:00"]),
        (
            "Th 08:00-10:00 unknown",
            vec![],
            vec!["07-02T08:00/07-02T10:00"],
        ),
        (
            "Th 08:00-10:00 \"by NOTAM\"",
            vec![],
            vec!["07-02T08:00/07-02T10:00"],
        ),
        (
            "Th 08:00-10:00 open \"by NOTAM\"",
            vec![],
            vec!["07-02T08:00/07-02T10:00"],
        ),
        ("\"by NOTAM\"", vec![], vec!["07-01T00:00/07-06T00:00"]),
        // Any day may be a holiday.
        (
            "Th-Fr 08:00-10:00; PH off",
            vec![],
            vec!["07-02T08:00/07-02T10:00", "07-03T08:00/07-03T10:00"],
        ),
        (
            "Th 08:00-10:00; PH,SH 09:00-11:00",
            vec!["07-02T09:00/07-02T10:00"],
            vec![
                "07-01T09:00/07-01T11:00",
                "07-02T08:00/07-02T09:00",
                "07-02T10:00/07-02T11:00",
                "07-03T09:00/07-03T11:00",
                "07-04T09:00/07-04T11:00",
                "07-05T09:00/07-05T11:00",
            ],
        ),
    ] {
        let found = week(text);
        assert_eq!(told(&found.active, SYDNEY), active, "{text}");
        assert_eq!(told(&found.undetermined, SYDNEY), undetermined, "{text}");
        assert!(!found.reasons.is_empty(), "{text}");
    }
}

#[test]
fn texts_that_cannot_be_read_say_why() {
    for (text, why) in [
        ("", "empty"),
        ("on request", "opening_hours syntax"),
        ("0700-1900", "write times with colons"),
        ("Mo-Fr 2000-2200", "write times with colons"),
        ("2000 - 2200", "write times with colons"),
        ("Mo-Fr 08:00+", "open end"),
        ("10:00-16:00/01:30", "points in time"),
        ("PH +1 day off", "no calendar"),
        ("Mo-Fr 25:00-26:00", "opening_hours syntax"),
    ] {
        let found = Schedule::parse(text, Some("UTC")).unwrap_err();
        assert!(found.contains(why), "{text}: {found}");
    }
    let long = "Mo 08:00-09:00;".repeat(100);
    assert!(
        Schedule::parse(&long, Some("UTC"))
            .unwrap_err()
            .contains("longer")
    );
    // Years are still years where they cannot be times.
    assert!(Schedule::parse("2026-2028 Mo 08:00-09:00", Some("UTC")).is_err());
    assert!(Schedule::parse("2026 Mo 08:00-09:00", Some("UTC")).is_ok());
}

/// Sydney, 2025-04-06: 02:30 occurs twice (15:30Z and 16:30Z). Control that ends then ends at the
/// second, control that begins then begins at the first: the longer spell.
#[test]
fn repeated_times_make_control_longer() {
    let (from, to) = ("2025-04-05T00:00Z", "2025-04-07T00:00Z");
    let until = activity("Sa 20:00-26:30", SYDNEY, from, to);
    let span = |from: &str, to: &str| Spans::one(at(from), at(to));
    assert_eq!(until.active, span("2025-04-05T09:00Z", "2025-04-05T16:30Z"));
    let since = activity("Su 02:30-05:00", SYDNEY, from, to);
    assert_eq!(since.active, span("2025-04-05T15:30Z", "2025-04-05T19:00Z"));
    assert!(matches!(since.notes[0].matter, Matter::OccursTwice { .. }));
    assert_eq!(since.notes.len(), 1);
    // Before and after it the same local time is another UTC time.
    let daily = activity("07:00-08:00", SYDNEY, from, to);
    let utc: Vec<String> = daily.active.iter().map(|it| it.from.to_string()).collect();
    assert_eq!(utc, ["2025-04-05T21:00:00Z", "2025-04-06T21:00:00Z"]);
}

/// Sydney, 2025-10-05: 02:00 to 03:00 does not exist. Half of Lord Howe's: 02:00 to 02:30.
#[test]
fn skipped_times_begin_and_end_with_the_change() {
    let (from, to) = ("2025-10-04T00:00Z", "2025-10-06T00:00Z");
    let since = activity("Su 02:30-05:00", SYDNEY, from, to);
    let span = |from: &str, to: &str| Spans::one(at(from), at(to));
    assert_eq!(since.active, span("2025-10-04T16:00Z", "2025-10-04T18:00Z"));
    assert!(matches!(since.notes[0].matter, Matter::DoesNotExist { .. }));
    let within = activity("Su 02:10-02:50", SYDNEY, from, to);
    assert!(within.active.is_empty());
    assert!(!within.notes.is_empty());
    let lord_howe = activity("Su 01:00-02:15", "Australia/Lord_Howe", from, to);
    assert_eq!(
        lord_howe.active,
        span("2025-10-04T14:30Z", "2025-10-04T15:30Z")
    );
    // Santiago skips midnight itself: the day of 7 September begins at 01:00 (04:00Z).
    let santiago = activity(
        "Sa-Su",
        "America/Santiago",
        "2025-09-06T00:00Z",
        "2025-09-09T00:00Z",
    );
    assert_eq!(
        santiago.active,
        span("2025-09-06T04:00Z", "2025-09-08T03:00Z")
    );
}

/// Windows are laid out day by day, whole over midnight, cut at midnight when longer than a day.
#[test]
fn windows_are_laid_out() {
    let lay = |text: &str, zone: &str, days| {
        WishedWindow::new(text, zone, days)
            .unwrap()
            .laid_out(site(), date(2025, 10, 4))
    };
    let windows = lay("Sa-Su 07:00-11:00", SYDNEY, 2).windows;
    let span = |from: &str, to: &str| Span {
        from: at(from),
        to: at(to),
    };
    // 7 o'clock is 21:00Z before the change and 20:00Z after it.
    assert_eq!(
        windows,
        [
            span("2025-10-03T21:00Z", "2025-10-04T01:00Z"),
            span("2025-10-04T20:00Z", "2025-10-05T00:00Z"),
        ]
    );
    let night = lay("22:00-04:00", SYDNEY, 1).windows;
    assert_eq!(
        night,
        [
            span("2025-10-03T14:00Z", "2025-10-03T18:00Z"),
            span("2025-10-04T12:00Z", "2025-10-04T17:00Z"),
        ]
    );
    let all: Vec<i64> = lay("24/7", SYDNEY, 3)
        .windows
        .iter()
        .map(|window| window.minutes() / 60)
        .collect();
    assert_eq!(all, [24, 23, 24]);
    let skipped = lay("Su 02:10-02:50", SYDNEY, 2);
    assert!(skipped.windows.is_empty() && !skipped.notes.is_empty());
}

#[test]
fn wishes_that_are_none_are_refused() {
    for (text, zone, days) in [
        ("HO", SYDNEY, 14),
        ("Mo-Fr 07:00-11:00; PH off", SYDNEY, 14),
        ("mornings", SYDNEY, 14),
        ("07:00-11:00", "Sydney", 14),
        ("07:00-11:00", "", 14),
        ("07:00-11:00", SYDNEY, 0),
        ("07:00-11:00", SYDNEY, 367),
    ] {
        assert!(
            WishedWindow::new(text, zone, days).is_err(),
            "{text} {zone} {days}"
        );
    }
    assert!(WishedWindow::new("HJ", SYDNEY, 366).is_ok());
}

const ZONES: [&str; 9] = [
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "America/Santiago",
    "America/New_York",
    "Europe/London",
    "Australia/Eucla",
    "UTC",
];

const DAYS: [&str; 7] = ["Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"];

/// Pieces of texts as they stand in publications, and some that do not.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        proptest::sample::select(vec![
            "Mo",
            "Fr",
            "Su[-1]",
            "PH",
            "SH",
            "-",
            ",",
            ";",
            " ",
            "||",
            "\"x\"",
            "off",
            "open",
            "unknown",
            "24/7",
            "sunrise",
            "sunset",
            "dawn",
            "dusk",
            "(sunset+10:00)",
            "(sunset+05:30)",
            "(sunrise-07:00)",
            "+",
            "/",
            "week 1-53/2",
            "easter",
            "easter +3 days",
            "Jan 31-Feb 30",
            "Feb 29",
            "2026",
            "1900",
            "9999",
            "00:00",
            "24:00",
            "26:00",
            "48:00",
            "12:30",
            ":",
            "[5]",
            "Dec 31",
            "+2 days",
            "Mo-Fr 08:00-18:00",
            "(dusk-23:59)",
        ])
        .prop_map(str::to_owned),
        "\\PC{0,3}",
    ]
}

/// Texts by the grammar, with every kind of day, time and modifier.
fn rule() -> impl Strategy<Value = String> {
    let pick = |from: Vec<&'static str>| proptest::sample::select(from);
    (
        pick(vec![
            "",
            "Mo ",
            "Sa,Su ",
            "Fr-Tu ",
            "Su[-1] ",
            "Mo[1,3-5] ",
            "PH ",
            "SH ",
            "PH,Mo ",
            "Jan 31-Feb 30 ",
            "Feb 29 ",
            "easter -2 days-easter +1 day ",
            "week 53 ",
            "week 1-53/2 Mo ",
            "2026 ",
            "1900-9999/7 ",
            "Dec 25+ ",
            "2025 Dec 24-2026 Jan 2 ",
            "Su[1] +2 days ",
        ]),
        proptest::collection::vec(
            (
                pick(vec![
                    "00:00",
                    "12:34",
                    "24:00",
                    "sunrise",
                    "dusk",
                    "(sunset+10:00)",
                    "(dawn-07:00)",
                    "(dusk+23:59)",
                    "(sunset+05:30)",
                ]),
                pick(vec![
                    "00:00",
                    "12:34",
                    "24:00",
                    "26:00",
                    "48:00",
                    "sunset",
                    "dawn",
                    "(sunrise+05:00)",
                    "(sunset+05:00)",
                    "(dawn-23:59)",
                ]),
            ),
            0..4,
        ),
        pick(vec![
            "",
            " off",
            " open",
            " unknown",
            " \"by NOTAM\"",
            " closed \"x\"",
        ]),
        pick(vec!["; ", ", ", " || "]),
    )
        .prop_map(|(days, times, modifier, separator)| {
            let times: Vec<String> = times
                .iter()
                .map(|(from, to)| format!("{from}-{to}"))
                .collect();
            format!("{days}{}{modifier}{separator}", times.join(","))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// No text stops the program, and active and undetermined time stay apart and in the period.
    #[test]
    fn any_text_is_answered(
        pieces in prop_oneof![
            proptest::collection::vec(piece(), 0..10),
            proptest::collection::vec(rule(), 1..4),
        ],
        lat in -90.0..90.0,
        zone in proptest::sample::select(ZONES.to_vec()),
        from in -30_000_000_000_i64..60_000_000_000,
        length in 0_i64..700_000,
    ) {
        let text = pieces.concat();
        let text = text.trim_end_matches([' ', ';', ',', '|']);
        let Ok(schedule) = Schedule::parse(text, Some(zone)) else { return Ok(()) };
        let place = LonLat::new(20.0, lat).unwrap();
        let from = Timestamp::from_second(from).unwrap();
        let to = Timestamp::from_second(from.as_second() + length).unwrap();
        let found = schedule.activity(place, from, to);
        prop_assert!(found.active.intersection(&found.undetermined).is_empty());
        let both = found.active.union(&found.undetermined);
        prop_assert!(both.minus(&Spans::one(from, to)).is_empty());
        prop_assert_eq!(found.undetermined.is_empty(), found.reasons.is_empty());
        let _ = WishedWindow::new(text, zone, 3).map(|wish| wish.laid_out(place, date(2026, 3, 28)));
    }

    /// Control is active whenever the clock on the wall says so, and otherwise only within the
    /// hours that a clock shows twice. The wall clock is read the other way round, from UTC.
    #[test]
    fn control_is_never_missed(
        spells in proptest::collection::vec((0_usize..7, 0_i32..1440, 1_i32..1440), 1..4),
        zone_name in proptest::sample::select(ZONES.to_vec()),
        week in 0_i64..52,
    ) {
        let rules: Vec<String> = spells.iter().map(|(day, start, length)| {
            let end = start + length;
            format!("{} {:02}:{:02}-{:02}:{:02}", DAYS[*day], start / 60, start % 60, end / 60, end % 60)
        }).collect();
        let schedule = Schedule::parse(&rules.join(", "), Some(zone_name)).unwrap();
        let zone = zone(zone_name).unwrap();
        let start = at("2025-01-01T00:00Z").as_second() + week * 7 * 86_400;
        let moment = |second| Timestamp::from_second(second).unwrap();
        let found = schedule.activity(site(), moment(start), moment(start + 8 * 86_400));
        for second in (start..start + 8 * 86_400).step_by(420) {
            let wall = zone.to_datetime(moment(second));
            let minute = i32::from(wall.hour()) * 60 + i32::from(wall.minute());
            let day = wall.weekday().to_monday_zero_offset();
            let is_on = spells.iter().any(|(on, start, length)| {
                let since = minute - start + if i32::from(day) == *on as i32 { 0 } else { 1440 };
                let is_its_day = i32::from(day) == *on as i32
                    || i32::from(day) == (*on as i32 + 1) % 7;
                is_its_day && (0..*length).contains(&since)
            });
            let is_active = found.active.contains(moment(second));
            if is_active != is_on {
                let is_repeated = zone.to_ambiguous_timestamp(wall).is_ambiguous();
                prop_assert!(is_active && is_repeated, "{wall} in {zone_name}: {rules:?}");
            }
        }
    }
}
