//! Changes of clocks on both hemispheres, repeated and skipped local times, times of a NOTAM.
//!
//! Instants and offsets are those that another library (zoneinfo of Python) reads in the IANA tz
//! database, tzdata 2026.6.

use eaves::hours::clock::{Edge, Matter, Moment, changes, instant, local_day, notam_utc, zone};
use jiff::Timestamp;
use jiff::civil::date;

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// Each change of 2025 and 2026, and the offsets before the first and after each.
#[test]
fn clocks_change_when_the_database_says() {
    let rows: [(&str, [&str; 4], [&str; 2]); 8] = [
        (
            "Australia/Sydney",
            [
                "2025-04-05T16:00Z",
                "2025-10-04T16:00Z",
                "2026-04-04T16:00Z",
                "2026-10-03T16:00Z",
            ],
            ["+10:00", "+11:00"],
        ),
        (
            "Australia/Adelaide",
            [
                "2025-04-05T16:30Z",
                "2025-10-04T16:30Z",
                "2026-04-04T16:30Z",
                "2026-10-03T16:30Z",
            ],
            ["+09:30", "+10:30"],
        ),
        // Half an hour.
        (
            "Australia/Lord_Howe",
            [
                "2025-04-05T15:00Z",
                "2025-10-04T15:30Z",
                "2026-04-04T15:00Z",
                "2026-10-03T15:30Z",
            ],
            ["+10:30", "+11:00"],
        ),
        (
            "Pacific/Auckland",
            [
                "2025-04-05T14:00Z",
                "2025-09-27T14:00Z",
                "2026-04-04T14:00Z",
                "2026-09-26T14:00Z",
            ],
            ["+12:00", "+13:00"],
        ),
        (
            "Pacific/Chatham",
            [
                "2025-04-05T14:00Z",
                "2025-09-27T14:00Z",
                "2026-04-04T14:00Z",
                "2026-09-26T14:00Z",
            ],
            ["+12:45", "+13:45"],
        ),
        (
            "America/Santiago",
            [
                "2025-04-06T03:00Z",
                "2025-09-07T04:00Z",
                "2026-04-05T03:00Z",
                "2026-09-06T04:00Z",
            ],
            ["-04:00", "-03:00"],
        ),
        (
            "Europe/London",
            [
                "2025-03-30T01:00Z",
                "2025-10-26T01:00Z",
                "2026-03-29T01:00Z",
                "2026-10-25T01:00Z",
            ],
            ["+01:00", "+00:00"],
        ),
        (
            "America/New_York",
            [
                "2025-03-09T07:00Z",
                "2025-11-02T06:00Z",
                "2026-03-08T07:00Z",
                "2026-11-01T06:00Z",
            ],
            ["-04:00", "-05:00"],
        ),
    ];
    for (name, instants, offsets) in rows {
        let found = changes(
            &zone(name).unwrap(),
            at("2025-01-01T00:00Z"),
            at("2027-01-01T00:00Z"),
        );
        let utc: Vec<Timestamp> = found.iter().map(|change| change.utc).collect();
        assert_eq!(utc, instants.map(at), "{name}");
        let after: Vec<&str> = found.iter().map(|it| it.offset_after.as_str()).collect();
        assert_eq!(after, [offsets, offsets].concat(), "{name}");
    }
    for (name, offset) in [
        ("Australia/Brisbane", "+10:00"),
        ("Australia/Eucla", "+08:45"),
    ] {
        let (from, to) = (at("2025-01-01T00:00Z"), at("2027-01-01T00:00Z"));
        let fixed = zone(name).unwrap();
        assert!(changes(&fixed, from, to).is_empty(), "{name}");
        assert!(Moment::of(&fixed, from).local.ends_with(offset), "{name}");
    }
}

#[test]
fn a_change_says_what_clocks_show() {
    let of = |name: &str, from: &str, to: &str| {
        let found = changes(&zone(name).unwrap(), at(from), at(to));
        (found[0].local_before.clone(), found[0].local_after.clone())
    };
    assert_eq!(
        of(
            "Australia/Lord_Howe",
            "2025-04-05T15:00Z",
            "2025-04-05T15:01Z"
        ),
        ("2025-04-06T02:00".into(), "2025-04-06T01:30".into())
    );
    assert_eq!(
        of(
            "Australia/Lord_Howe",
            "2025-10-04T00:00Z",
            "2025-10-05T00:00Z"
        ),
        ("2025-10-05T02:00".into(), "2025-10-05T02:30".into())
    );
    assert_eq!(
        of("America/Santiago", "2025-09-07T00:00Z", "2025-09-08T00:00Z"),
        ("2025-09-07T00:00".into(), "2025-09-07T01:00".into())
    );
}

/// 2025-04-06 02:30 in Sydney occurs twice, at 15:30Z and 16:30Z; 2025-10-05 02:30 does not exist.
#[test]
fn repeated_and_skipped_times_are_told() {
    let sydney = zone("Australia/Sydney").unwrap();
    let twice = date(2025, 4, 6).at(2, 30, 0, 0);
    for (edge, expected) in [
        (Edge::Start, "2025-04-05T15:30Z"),
        (Edge::End, "2025-04-05T16:30Z"),
    ] {
        let (found, note) = instant(&sydney, twice, edge).unwrap();
        assert_eq!(found, at(expected));
        let note = note.unwrap();
        assert_eq!(note.local, "2025-04-06T02:30");
        assert_eq!(
            note.matter,
            Matter::OccursTwice {
                first: at("2025-04-05T15:30Z"),
                second: at("2025-04-05T16:30Z")
            }
        );
    }
    for minute in [0, 30, 59] {
        let skipped = date(2025, 10, 5).at(2, minute, 0, 0);
        let (found, note) = instant(&sydney, skipped, Edge::Start).unwrap();
        assert_eq!(found, at("2025-10-04T16:00Z"));
        assert!(matches!(note.unwrap().matter, Matter::DoesNotExist { .. }));
    }
    let plain = instant(&sydney, date(2025, 10, 5).at(3, 0, 0, 0), Edge::Start).unwrap();
    assert_eq!(plain, (at("2025-10-04T16:00Z"), None));
    // Half an hour: 01:45 occurs twice at Lord Howe, 02:15 is skipped.
    let lord_howe = zone("Australia/Lord_Howe").unwrap();
    let (late, _) = instant(&lord_howe, date(2025, 4, 6).at(1, 45, 0, 0), Edge::End).unwrap();
    assert_eq!(late, at("2025-04-05T15:15Z"));
    let (skipped, _) = instant(&lord_howe, date(2025, 10, 5).at(2, 15, 0, 0), Edge::End).unwrap();
    assert_eq!(skipped, at("2025-10-04T15:30Z"));
}

/// A day with a change is not of 24 hours: Sydney 25 and 23, Lord Howe 24.5; and the day that
/// Santiago begins at 01:00.
#[test]
fn local_days_are_as_long_as_the_clock_says() {
    let hours = |name: &str, day| {
        let (from, to) = local_day(&zone(name).unwrap(), day).unwrap();
        to.duration_since(from).as_mins() as f64 / 60.0
    };
    assert_eq!(hours("Australia/Sydney", date(2025, 4, 6)), 25.0);
    assert_eq!(hours("Australia/Sydney", date(2025, 10, 5)), 23.0);
    assert_eq!(hours("Australia/Lord_Howe", date(2025, 4, 6)), 24.5);
    assert_eq!(hours("America/Santiago", date(2025, 9, 7)), 23.0);
    assert_eq!(hours("America/Santiago", date(2025, 4, 5)), 25.0);
}

/// Item B) of a NOTAM: `YYMMDDhhmm` in UTC (ICAO Doc 10066 Appendix 3). Morning jobs in Australasia
/// carry the date of the day before.
#[test]
fn times_of_a_notam_are_utc() {
    let sydney = zone("Australia/Sydney").unwrap();
    for (day, expected) in [
        (date(2025, 10, 5), "2510042000"),
        (date(2025, 4, 6), "2504052100"),
    ] {
        let (found, _) = instant(&sydney, day.at(7, 0, 0, 0), Edge::Start).unwrap();
        assert_eq!(notam_utc(found), expected);
    }
    // A1484/02 as widely reprinted: B) 0208231540.
    assert_eq!(notam_utc(at("2002-08-23T15:40Z")), "0208231540");
}

#[test]
fn zones_are_known_by_name_only() {
    for name in ["UTC", "Pacific/Chatham", " australia/sydney "] {
        assert!(zone(name).is_ok(), "{name}");
    }
    for name in ["", "Sydney", "AEST", "+10:00", "Australia/Rafter"] {
        assert!(zone(name).is_err(), "{name}");
    }
}
