//! A wished window: local times that recur, for some days from a date on.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use super::clock::{ClockNote, local_day, zone_name};
use super::spans::{Span, Spans};
use super::{Kind, Schedule};
use crate::frame::LonLat;

/// The most days that a window is laid out for: a year.
pub const MOST_DAYS: u16 = 366;

/// Local times that recur, in one time zone, and for how many days they are wished.
#[derive(Clone, Debug, PartialEq)]
pub struct WishedWindow {
    schedule: Schedule,
    zone: TimeZone,
    days: u16,
}

/// The wished windows of a period, and what clocks did to them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LaidOut {
    /// The windows in order; one that crosses midnight is whole, one longer than a day is cut at
    /// each midnight.
    pub windows: Vec<Span>,
    /// Times on the clock that a change of clocks skips or repeats.
    pub notes: Vec<ClockNote>,
    /// Why part of the wish could not be laid out, each reason once.
    pub reasons: Vec<String>,
}

impl WishedWindow {
    /// A window in the syntax of [`Schedule::parse`], its time zone by name, and its days, at most
    /// [`MOST_DAYS`].
    ///
    /// # Errors
    /// What is wrong, and how to write it.
    pub fn new(text: &str, zone: &str, days: u16) -> Result<Self, String> {
        if !(1..=MOST_DAYS).contains(&days) {
            return Err(format!("days must be from 1 to {MOST_DAYS}"));
        }
        let schedule = Schedule::parse(text, Some(zone))?;
        if matches!(schedule.kind, Kind::Unknown(_)) || schedule.has_holidays() {
            return Err(format!(
                "hours {text:?}: a wish needs times, not holidays, HO, HS or HX"
            ));
        }
        let Some(zone) = schedule.zone.clone() else {
            return Err("the time zone is not given".to_owned());
        };
        Ok(Self {
            schedule,
            zone,
            days,
        })
    }

    /// The window as written.
    #[must_use]
    pub fn text(&self) -> &str {
        self.schedule.text()
    }

    /// The time zone.
    #[must_use]
    pub const fn zone(&self) -> &TimeZone {
        &self.zone
    }

    /// The name of the time zone.
    #[must_use]
    pub fn zone_name(&self) -> String {
        zone_name(&self.zone)
    }

    /// How many local dates from the first on.
    #[must_use]
    pub const fn days(&self) -> u16 {
        self.days
    }

    /// From the first instant of the first date to the last of the last.
    #[must_use]
    pub fn period(&self, first: Date) -> Option<(Timestamp, Timestamp)> {
        let last = first.checked_add(i32::from(self.days - 1).days()).ok()?;
        Some((
            local_day(&self.zone, first)?.0,
            local_day(&self.zone, last)?.1,
        ))
    }

    /// The windows that begin in the period, and what is left on the first date of one that began
    /// before it.
    #[must_use]
    pub fn laid_out(&self, place: LonLat, first: Date) -> LaidOut {
        let Some((from, to)) = self.period(first) else {
            return LaidOut {
                reasons: vec!["the period lies outside the calendar".to_owned()],
                ..LaidOut::default()
            };
        };
        // A window that begins on the last date may end on the next.
        let end = to.checked_add(24.hours()).unwrap_or(to);
        let wished = self.schedule.activity(place, from, end);
        let windows = wished
            .active
            .union(&wished.undetermined)
            .iter()
            .filter(|window| window.from < to)
            .flat_map(|window| self.cut(window, first, to))
            .collect();
        LaidOut {
            windows,
            notes: wished.notes,
            reasons: wished.reasons,
        }
    }

    /// A window longer than a day, cut at each midnight of the period and at its end.
    fn cut(&self, window: Span, first: Date, to: Timestamp) -> Vec<Span> {
        if window.minutes() <= 24 * 60 {
            return vec![window];
        }
        let whole = Spans::one(window.from, window.to.min(to));
        first
            .series(1.day())
            .take(usize::from(self.days))
            .filter_map(|date| local_day(&self.zone, date))
            .flat_map(|(from, to)| {
                whole
                    .intersection(&Spans::one(from, to))
                    .iter()
                    .collect::<Vec<_>>()
            })
            .collect()
    }
}
