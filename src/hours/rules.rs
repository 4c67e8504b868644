//! Texts in the open `opening_hours` syntax, read and evaluated by the crate `opening-hours`.
//!
//! The crate answers what a clock shows; which instants these are is ours ([`super::clock`]). Where
//! it would fall back on a guess the answer is undetermined instead: public and school holidays (no
//! calendar of them is kept), comments (they may be conditions), sun events that do not happen or
//! that an offset moves out of their day. Refused: open ends (`08:00+`), repeated points in time
//! (`10:00-16:00/02:00`), and `2000-2200`, which the syntax takes for years.
//! The only module that uses the crate and its family.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};
use compact_calendar::CompactCalendar;
use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;
use opening_hours::localization::Localize;
use opening_hours::{Context, ContextHolidays, OpeningHours, RuleKind};
use opening_hours_syntax::rules::day::{HolidayKind, WeekDayRange};
use opening_hours_syntax::rules::time::{Time as RuleTime, TimeEvent, VariableTime};

use super::Activity;
use super::clock::{ClockNote, Edge, instant, local_day};
use super::spans::{Span, Spans};
use crate::frame::LonLat;
use crate::sun::{Horizon, course};

/// The longest text that is read, characters: hours in publications are far shorter.
const LONGEST_TEXT: usize = 1_000;

/// Days beyond the asked ones that holidays are set on, more than any rule looks around.
const HOLIDAY_DAYS_AROUND: i64 = 10;

/// A text that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    expression: OpeningHours,
    /// Sun events in it.
    events: Vec<VariableTime>,
    /// Spans that end with a sun event.
    to_events: Vec<(RuleTime, VariableTime)>,
    has_public_holidays: bool,
    has_school_holidays: bool,
}

impl Rules {
    /// Reads a text.
    ///
    /// # Errors
    /// Why it cannot be read, or not without a guess.
    pub fn read(text: &str) -> Result<Self, String> {
        if text.chars().count() > LONGEST_TEXT {
            return Err(format!("is longer than {LONGEST_TEXT} characters"));
        }
        if has_times_without_colon(text) {
            return Err(
                "has four digits, a hyphen and four digits, which may be years or times; \
                        write times with colons, such as 20:00-22:00"
                    .to_owned(),
            );
        }
        let expression: OpeningHours = text.parse().map_err(|_| {
            "is not in the opening_hours syntax, such as Mo-Fr 07:00-19:00".to_owned()
        })?;
        let mut rules = Self {
            events: Vec::new(),
            to_events: Vec::new(),
            has_public_holidays: false,
            has_school_holidays: false,
            expression,
        };
        for rule in &rules.expression.get_expression().rules {
            for span in &rule.time_selector.spans {
                if span.open_end {
                    return Err("has an open end (+), so its end is not known".to_owned());
                }
                if span.repeats.is_some() {
                    return Err("names points in time (/), not a span".to_owned());
                }
                if let RuleTime::Variable(end) = span.range.end {
                    rules.to_events.push((span.range.start, end));
                }
                rules
                    .events
                    .extend(
                        [span.range.start, span.range.end].into_iter().filter_map(
                            |time| match time {
                                RuleTime::Variable(event) => Some(event),
                                RuleTime::Fixed(_) => None,
                            },
                        ),
                    );
            }
            for days in &rule.day_selector.weekday {
                if let WeekDayRange::Holiday { kind, offset } = days {
                    if *offset != 0 {
                        return Err(
                            "counts days from a holiday, and no calendar of holidays is \
                                    kept"
                                .to_owned(),
                        );
                    }
                    match kind {
                        HolidayKind::Public => rules.has_public_holidays = true,
                        HolidayKind::School => rules.has_school_holidays = true,
                    }
                }
            }
        }
        Ok(rules)
    }

    /// Whether the text needs to know which days are holidays.
    #[must_use]
    pub const fn has_holidays(&self) -> bool {
        self.has_public_holidays || self.has_school_holidays
    }

    /// When they are active on the clock of a zone, from one instant to another.
    ///
    /// Sun events are those of `place`, to the minute: taken earlier at the start of a span, later
    /// at its end.
    #[must_use]
    pub fn activity(
        &self,
        place: LonLat,
        zone: &TimeZone,
        from: Timestamp,
        to: Timestamp,
    ) -> Activity {
        let whole = Spans::one(from, to);
        let (Some(dates), false) = (dates_around(zone, from, to), whole.is_empty()) else {
            return Activity::undetermined(whole, "lies outside the calendar");
        };
        let mut notes = Vec::new();
        let mut reasons = Vec::new();
        let (events, missing) = self.events_on(place, zone, &dates);
        let without_event = self.days(zone, &missing);
        if !without_event.intersection(&whole).is_empty() {
            reasons.push("names a sun event that does not happen on the day".to_owned());
        }
        // A day also hangs on the day before it. Neither may be one that misses a sun event: the
        // crate would guess there, and stops the program where an offset leads too far.
        let evaluated: Vec<Date> = dates
            .windows(2)
            .filter_map(|pair| match pair {
                [before, date] if !missing.contains(before) && !missing.contains(date) => {
                    Some(*date)
                }
                _ => None,
            })
            .collect();
        let roundings = if self.events.is_empty() { 1 } else { 2 };
        let mut sure: Option<Spans> = None;
        let mut perhaps = without_event;
        let mut commented = Spans::default();
        for holidays in self.holiday_patterns(&dates) {
            let mut active = Spans::default();
            for late in (0..roundings).map(|rounding| rounding == 1) {
                let context = Context::default()
                    .with_holidays(holidays.clone())
                    .with_locale(Events {
                        of: Arc::clone(&events),
                        late,
                    });
                let hours = self.expression.clone().with_context(context);
                let run = run(&hours, &evaluated, zone, &mut notes);
                active = active.union(&run.active);
                commented = commented.union(&run.unknown);
            }
            perhaps = perhaps.union(&active);
            sure = Some(match sure {
                Some(so_far) => so_far.intersection(&active),
                None => active,
            });
        }
        let sure = sure.unwrap_or_default().minus(&self.days(zone, &missing));
        if self.has_holidays() && !perhaps.minus(&sure).intersection(&whole).is_empty() {
            reasons.push("hangs on holidays, and no calendar of them is kept".to_owned());
        }
        if !commented.minus(&sure).intersection(&whole).is_empty() {
            reasons.push("says unknown, or has a comment that may be a condition".to_owned());
        }
        notes.retain(|note: &ClockNote| from <= note.taken_as && note.taken_as <= to);
        let active = sure.intersection(&whole);
        Activity {
            undetermined: perhaps
                .union(&commented)
                .intersection(&whole)
                .minus(&active),
            active,
            reasons,
            notes,
        }
    }

    /// The instants of whole days and of the night after them, which may belong to them.
    fn days(&self, zone: &TimeZone, dates: &[Date]) -> Spans {
        Spans::of(dates.iter().filter_map(|date| {
            let (from, _) = local_day(zone, *date)?;
            let (_, to) = local_day(zone, date.tomorrow().ok()?)?;
            Some(Span { from, to })
        }))
    }

    /// The sun events of each day that can be placed on it, and the days on which one that the
    /// text names cannot.
    fn events_on(&self, place: LonLat, zone: &TimeZone, dates: &[Date]) -> (Arc<ByDay>, Vec<Date>) {
        let mut found = ByDay::new();
        let mut missing = Vec::new();
        if self.events.is_empty() {
            return (Arc::new(found), missing);
        }
        for date in dates {
            let Some(day) = naive(*date) else { continue };
            for event in [
                TimeEvent::Dawn,
                TimeEvent::Sunrise,
                TimeEvent::Sunset,
                TimeEvent::Dusk,
            ] {
                if let Some(minutes) = event_minutes(place, zone, *date, event) {
                    found.insert((day, event), minutes);
                }
            }
        }
        self.end_with_the_next_day(&mut found);
        // Both roundings, moved by the offset, must stay in the day: the crate has no other.
        for date in dates {
            let Some(day) = naive(*date) else { continue };
            let is_placed = |named: &VariableTime| {
                found.get(&(day, named.event)).is_some_and(|minutes| {
                    minutes.iter().all(|minute| {
                        (0..MINUTES_A_DAY).contains(&(i64::from(*minute) + i64::from(named.offset)))
                    })
                })
            };
            if !self.events.iter().all(is_placed) {
                missing.push(*date);
            }
        }
        (Arc::new(found), missing)
    }

    /// A span that runs over midnight ends with the event of the next day, while the crate takes
    /// that of the day on which it begins: the later of the two is put there.
    fn end_with_the_next_day(&self, found: &mut ByDay) {
        let minute = |found: &ByDay, day: NaiveDate, time: RuleTime| match time {
            RuleTime::Fixed(time) => Some(i64::from(time.mins_from_midnight())),
            RuleTime::Variable(time) => found
                .get(&(day, time.event))
                .map(|minutes| i64::from(minutes[1]) + i64::from(time.offset)),
        };
        let days: Vec<NaiveDate> = found.keys().map(|(day, _)| *day).collect();
        let mut later = Vec::new();
        for day in days {
            for (start, end) in &self.to_events {
                let runs_over =
                    minute(found, day, *start) >= minute(found, day, RuleTime::Variable(*end));
                let next = day
                    .succ_opt()
                    .and_then(|next| found.get(&(next, end.event)))
                    .map(|minutes| minutes[1]);
                if let (true, Some(next)) = (runs_over, next) {
                    later.push(((day, end.event), next));
                }
            }
        }
        for (key, next) in later {
            if let Some(minutes) = found.get_mut(&key) {
                minutes[1] = minutes[1].max(next);
            }
        }
    }

    /// Which days might be holidays: none, all, every even one, every odd one, for each kind that
    /// the text names. A state hangs on no more than a day and the day before it, so these four
    /// meet every case.
    fn holiday_patterns(&self, dates: &[Date]) -> Vec<ContextHolidays> {
        let calendars = |is_named: bool| -> Vec<Arc<CompactCalendar>> {
            let patterns: &[fn(i32) -> bool] = if is_named {
                &[|_| false, |_| true, |day| day % 2 == 0, |day| day % 2 != 0]
            } else {
                &[|_| false]
            };
            patterns
                .iter()
                .map(|is_holiday| Arc::new(calendar(dates, *is_holiday)))
                .collect()
        };
        let schools = calendars(self.has_school_holidays);
        calendars(self.has_public_holidays)
            .iter()
            .flat_map(|public| {
                schools
                    .iter()
                    .map(|school| ContextHolidays::new(Arc::clone(public), Arc::clone(school)))
            })
            .collect()
    }
}

/// Minutes in a day.
const MINUTES_A_DAY: i64 = 24 * 60;

/// The minutes of the day on which a sun event falls, rounded down and up.
type ByDay = HashMap<(NaiveDate, TimeEvent), [u16; 2]>;

/// Where the crate takes its sun events from.
#[derive(Clone, Debug)]
struct Events {
    of: Arc<ByDay>,
    late: bool,
}

impl Localize for Events {
    type DateTime = NaiveDateTime;

    fn naive(&self, at: NaiveDateTime) -> NaiveDateTime {
        at
    }

    fn datetime(&self, naive: NaiveDateTime) -> NaiveDateTime {
        naive
    }

    fn event_time(&self, date: NaiveDate, event: TimeEvent) -> Option<NaiveTime> {
        // Days without the event are not asked for; noon would keep the crate from guessing a
        // season.
        let minute = self
            .of
            .get(&(date, event))
            .map_or(12 * 60, |minutes| minutes[usize::from(self.late)]);
        NaiveTime::from_num_seconds_from_midnight_opt(u32::from(minute) * 60, 0)
    }
}

fn event_minutes(place: LonLat, zone: &TimeZone, date: Date, event: TimeEvent) -> Option<[u16; 2]> {
    let (from, to) = local_day(zone, date)?;
    let horizon = match event {
        TimeEvent::Dawn | TimeEvent::Dusk => Horizon::CivilTwilight,
        TimeEvent::Sunrise | TimeEvent::Sunset => Horizon::Sunrise,
    };
    let course = course(place, from, to, horizon)?;
    let at = match event {
        TimeEvent::Dawn | TimeEvent::Sunrise => course.rise(),
        TimeEvent::Sunset | TimeEvent::Dusk => course.set(),
    }?;
    let local = zone.to_datetime(at);
    let down = u16::try_from(local.hour()).ok()? * 60 + u16::try_from(local.minute()).ok()?;
    let is_whole = local.second() == 0 && local.subsec_nanosecond() == 0;
    let up = down + u16::from(!is_whole);
    (i64::from(up) < MINUTES_A_DAY).then_some([down, up])
}

struct Run {
    active: Spans,
    unknown: Spans,
}

/// One evaluation, day by day.
fn run(
    hours: &OpeningHours<Events>,
    dates: &[Date],
    zone: &TimeZone,
    notes: &mut Vec<ClockNote>,
) -> Run {
    // Spells on the clock, joined over midnight before any is looked up in the zone.
    let mut spells: Vec<(DateTime, DateTime, bool)> = Vec::new();
    for date in dates {
        let Some(day) = naive(*date) else { continue };
        for range in hours.schedule_at(day) {
            let is_sure = range.kind == RuleKind::Open && range.comment.is_empty();
            let is_off = range.kind == RuleKind::Closed && range.comment.is_empty();
            let (Some(start), Some(end)) = (
                at_minute(*date, range.range.start.mins_from_midnight()),
                at_minute(*date, range.range.end.mins_from_midnight()),
            ) else {
                continue;
            };
            if is_off || start >= end {
                continue;
            }
            match spells.last_mut() {
                Some((_, last_end, kind)) if *last_end == start && *kind == is_sure => {
                    *last_end = end;
                }
                _ => spells.push((start, end, is_sure)),
            }
        }
    }
    let mut of =
        |wanted: bool| {
            Spans::of(spells.iter().filter(|spell| spell.2 == wanted).filter_map(
                |(start, end, _)| {
                    let (from, note_from) = instant(zone, *start, Edge::Start)?;
                    let (to, note_to) = instant(zone, *end, Edge::End)?;
                    for note in [note_from, note_to].into_iter().flatten() {
                        if !notes.contains(&note) {
                            notes.push(note);
                        }
                    }
                    Some(Span { from, to })
                },
            ))
        };
    Run {
        active: of(true),
        unknown: of(false),
    }
}

fn at_minute(date: Date, minute: u16) -> Option<DateTime> {
    if i64::from(minute) == MINUTES_A_DAY {
        return Some(date.tomorrow().ok()?.at(0, 0, 0, 0));
    }
    let hour = i8::try_from(minute / 60).ok()?;
    let time = Time::new(hour, i8::try_from(minute % 60).ok()?, 0, 0).ok()?;
    Some(date.to_datetime(time))
}

/// The local dates of a stretch of time, two more before it and one after.
fn dates_around(zone: &TimeZone, from: Timestamp, to: Timestamp) -> Option<Vec<Date>> {
    let first = zone
        .to_datetime(from)
        .date()
        .yesterday()
        .ok()?
        .yesterday()
        .ok()?;
    let last = zone.to_datetime(to).date().tomorrow().ok()?;
    Some(
        first
            .series(jiff::Span::new().days(1))
            .take_while(|date| *date <= last)
            .collect(),
    )
}

fn calendar(dates: &[Date], is_holiday: fn(i32) -> bool) -> CompactCalendar {
    let mut calendar = CompactCalendar::default();
    let (Some(first), Some(last)) = (
        dates.first().copied().and_then(naive),
        dates.last().copied().and_then(naive),
    ) else {
        return calendar;
    };
    let around = chrono::Duration::days(HOLIDAY_DAYS_AROUND);
    let (Some(mut day), Some(last)) = (
        first.checked_sub_signed(around),
        last.checked_add_signed(around),
    ) else {
        return calendar;
    };
    while day <= last {
        if is_holiday(day.num_days_from_ce()) {
            calendar.insert(day);
        }
        let Some(next) = day.succ_opt() else { break };
        day = next;
    }
    calendar
}

fn naive(date: Date) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(
        i32::from(date.year()),
        u32::from(date.month().unsigned_abs()),
        u32::from(date.day().unsigned_abs()),
    )
}

/// Whether the text has `2000-2200`: the syntax takes it for years, publications mean times.
fn has_times_without_colon(text: &str) -> bool {
    let characters: Vec<char> = text.chars().filter(|c| *c != ' ').collect();
    characters.windows(9).enumerate().any(|(at, nine)| {
        let is_digit = |c: Option<&char>| c.is_some_and(char::is_ascii_digit);
        nine.iter().enumerate().all(|(i, c)| {
            if i == 4 {
                matches!(c, '-' | '\u{2013}')
            } else {
                c.is_ascii_digit()
            }
        }) && !is_digit(characters.get(at + 9))
            && !(at > 0 && is_digit(characters.get(at - 1)))
    })
}
