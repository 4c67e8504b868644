//! The wished window against hours of control: who is active when, what is left, and its light.
//!
//! Everything that the layers state near the site counts: control is active where anyone's is, and
//! a spell is outside controlled hours only where everyone is known to be off.

use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::Question;
use crate::aerodrome::PublishedHours;
use crate::airspace::answer::{AirspaceAnswer, InHeight, InPlan, VolumeAnswer};
use crate::answer::AerodromeAnswer;
use crate::frame::LonLat;
use crate::hours::answer::{
    ControlAnswer, ControlState, DayAnswer, HoursAnswer, LightAnswer, SpanAnswer, SpellAnswer,
    SpellState, Totals, WindowAnswer,
};
use crate::hours::clock::{
    self, Moment, changes, local_day, local_minute, minute_down, minute_up, zone_name,
};
use crate::hours::spans::{Span, Spans};
use crate::hours::{Activity, Schedule, light};
use crate::profile::RuleTwilight;
use crate::site::FeatureRef;
use crate::sun::{Course, Horizon, course};

/// Something whose hours of control count: an aerodrome, its tower, or a volume of airspace.
#[derive(Clone, Debug)]
pub struct Controller {
    /// What it is.
    pub title: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Where its sun rises.
    pub place: LonLat,
    /// Whether it is controlled at all, if the data say.
    pub controlled: Option<bool>,
    /// Its hours as written.
    pub hours: PublishedHours,
}

impl Controller {
    fn of_aerodrome(aerodrome: &AerodromeAnswer, site: LonLat) -> Self {
        Self {
            title: aerodrome.title.clone(),
            source: aerodrome.source.clone(),
            place: aerodrome.record.reference_point.unwrap_or(site),
            controlled: aerodrome.record.controlled,
            hours: aerodrome.record.hours.clone(),
        }
    }

    /// The tower, where its hours are stated apart. It counts beside the aerodrome: control may be
    /// active without the tower, and the tower without what else is called control.
    fn of_tower(aerodrome: &AerodromeAnswer, site: LonLat) -> Option<Self> {
        let hours = &aerodrome.record.hours;
        let aerodrome = Self::of_aerodrome(aerodrome, site);
        Some(Self {
            title: format!("{}, tower", aerodrome.title),
            controlled: Some(true),
            hours: PublishedHours {
                control: Some(hours.tower.clone()?),
                zone: hours.zone.clone(),
                ..PublishedHours::default()
            },
            ..aerodrome
        })
    }

    fn of_volume(volume: &VolumeAnswer, site: LonLat) -> Self {
        Self {
            title: volume.title.clone(),
            source: volume.source.clone(),
            place: site,
            controlled: Some(true),
            hours: PublishedHours {
                control: volume.hours.clone(),
                zone: volume.record.zone.clone(),
                ..PublishedHours::default()
            },
        }
    }

    /// The schedule, or that there is no control, or why neither is known.
    fn schedule(&self) -> Result<Option<Schedule>, String> {
        match (&self.hours.control, self.controlled) {
            (Some(text), _) => Schedule::parse(text, self.hours.zone.as_deref()).map(Some),
            (None, Some(false)) => Ok(None),
            (None, Some(true)) => Err("its hours of control are not given".to_owned()),
            (None, None) => Err("whether it is controlled is not given".to_owned()),
        }
    }
}

/// Whether the operating volume may reach a volume of airspace.
fn is_reached(volume: &VolumeAnswer) -> bool {
    volume.in_plan != InPlan::Outside && volume.in_height != Some(InHeight::No)
}

/// One controller over the period.
struct Controlled {
    answer: ControlAnswer,
    activity: Activity,
    zone: Option<TimeZone>,
}

/// The answer to the wished window; none where none was asked.
pub fn answer(
    question: &Question,
    site: LonLat,
    aerodromes: &[AerodromeAnswer],
    airspace: Option<&AirspaceAnswer>,
) -> Option<HoursAnswer> {
    let controllers: Vec<Controller> = aerodromes
        .iter()
        .flat_map(|aerodrome| {
            let tower = Controller::of_tower(aerodrome, site);
            std::iter::once(Controller::of_aerodrome(aerodrome, site)).chain(tower)
        })
        .chain(
            airspace
                .into_iter()
                .flat_map(|airspace| &airspace.volumes)
                .filter(|volume| is_reached(volume))
                .map(|volume| Controller::of_volume(volume, site)),
        )
        .collect();
    of_controllers(question, site, &controllers)
}

/// The same for any list of controllers.
fn of_controllers(
    question: &Question,
    site: LonLat,
    controllers: &[Controller],
) -> Option<HoursAnswer> {
    let wish = question.window.as_ref()?;
    let rule_twilight = question.profile.twilight.as_ref();
    let laid_out = wish.laid_out(site, question.date);
    let whole = Spans::of(laid_out.windows.iter().copied());
    let from = whole.iter().map(|span| span.from).min();
    let to = whole.iter().map(|span| span.to).max();
    let bounds = from.zip(to);
    let controlled: Vec<Controlled> = controllers
        .iter()
        .map(|controller| over(controller, bounds, &whole))
        .collect();
    let windows: Vec<WindowAnswer> = laid_out
        .windows
        .iter()
        .map(|window| WindowAnswer {
            from: Moment::of(wish.zone(), window.from),
            to: Moment::of(wish.zone(), window.to),
            spells: spells(*window, &controlled, site, wish.zone()),
        })
        .collect();
    let mut dates: Vec<Date> = laid_out
        .windows
        .iter()
        .map(|window| wish.zone().to_datetime(window.from).date())
        .collect();
    dates.dedup();
    let mut zones = vec![wish.zone().clone()];
    for zone in controlled.iter().filter_map(|one| one.zone.as_ref()) {
        if !zones.contains(zone) {
            zones.push(zone.clone());
        }
    }
    let mut clock_notes = laid_out.notes;
    for note in controlled.iter().flat_map(|one| &one.activity.notes) {
        if !clock_notes.contains(note) {
            clock_notes.push(note.clone());
        }
    }
    Some(HoursAnswer {
        window: wish.text().to_owned(),
        zone: wish.zone_name(),
        zone_data: clock::database(),
        first: question.date.to_string(),
        day_count: wish.days(),
        days: dates
            .into_iter()
            .map(|date| day(site, wish.zone(), date, rule_twilight))
            .collect(),
        totals: totals(&windows, &laid_out.windows),
        windows,
        rule_twilight: rule_twilight.cloned(),
        wish_reasons: laid_out.reasons,
        clock_changes: wish
            .period(question.date)
            .map_or_else(Vec::new, |(from, to)| {
                zones
                    .iter()
                    .flat_map(|zone| changes(zone, from, to))
                    .collect()
            }),
        clock_notes,
        controls: controlled.into_iter().map(|one| one.answer).collect(),
    })
}

fn over(
    controller: &Controller,
    bounds: Option<(Timestamp, Timestamp)>,
    windows: &Spans,
) -> Controlled {
    let schedule = controller.schedule();
    let activity = match (&schedule, bounds) {
        (_, None) | (Ok(None), _) => Activity::default(),
        (Ok(Some(schedule)), Some((from, to))) => schedule.activity(controller.place, from, to),
        (Err(why), Some(_)) => Activity::undetermined(windows.clone(), why.as_str()),
    };
    let state = match &schedule {
        Ok(None) => ControlState::NotControlled,
        _ if activity.reasons.is_empty() => ControlState::Scheduled,
        _ => ControlState::Undetermined {
            reasons: activity.reasons.clone(),
        },
    };
    let zone = schedule
        .ok()
        .flatten()
        .and_then(|schedule| schedule.zone().cloned());
    Controlled {
        answer: ControlAnswer {
            title: controller.title.clone(),
            source: controller.source.clone(),
            control_hours: controller.hours.control.clone(),
            hours: controller.hours.operation.clone(),
            zone: zone
                .as_ref()
                .map(zone_name)
                .or_else(|| controller.hours.zone.clone()),
            state,
        },
        activity,
        zone,
    }
}

/// A window cut wherever the state of anyone's control changes.
fn spells(
    window: Span,
    controlled: &[Controlled],
    site: LonLat,
    zone: &TimeZone,
) -> Vec<SpellAnswer> {
    let all = |pick: fn(&Activity) -> &Spans| {
        controlled
            .iter()
            .flat_map(move |one| pick(&one.activity).iter())
    };
    let mut cuts: Vec<Timestamp> = all(|activity| &activity.active)
        .chain(all(|activity| &activity.undetermined))
        .flat_map(|span| [span.from, span.to])
        .filter(|at| window.from < *at && *at < window.to)
        .chain([window.from, window.to])
        .collect();
    cuts.sort_unstable();
    cuts.dedup();
    let sun = light(site, window.from, window.to, Horizon::Sunrise).unwrap_or_default();
    let civil = light(site, window.from, window.to, Horizon::CivilTwilight).unwrap_or_default();
    cuts.windows(2)
        .filter_map(|pair| match pair {
            [from, to] => Some(Span {
                from: *from,
                to: *to,
            }),
            _ => None,
        })
        .map(|span| {
            let who = |pick: fn(&Activity) -> &Spans| -> Vec<String> {
                controlled
                    .iter()
                    .filter(|one| pick(&one.activity).contains(span.from))
                    .map(|one| one.answer.title.clone())
                    .collect()
            };
            let active = who(|activity| &activity.active);
            let unknown = who(|activity| &activity.undetermined);
            let (state, by) = match (active.is_empty(), unknown.is_empty()) {
                (false, _) => (SpellState::ControlActive, active),
                (true, false) => (SpellState::Undetermined, unknown),
                // Nobody is listed: that nobody is active says nothing then.
                (true, true) if controlled.is_empty() => (SpellState::Undetermined, Vec::new()),
                (true, true) => (SpellState::OutsideControl, Vec::new()),
            };
            let lit = |light: &Spans| -> Vec<SpanAnswer> {
                light
                    .intersection(&Spans::one(span.from, span.to))
                    .iter()
                    .map(|lit| SpanAnswer {
                        from: Moment::of(zone, lit.from),
                        to: Moment::of(zone, lit.to),
                    })
                    .collect()
            };
            SpellAnswer {
                from: Moment::of(zone, span.from),
                to: Moment::of(zone, span.to),
                minutes: span.minutes(),
                state,
                by,
                daylight: lit(&sun),
                civil_light: lit(&civil),
            }
        })
        .collect()
}

fn totals(windows: &[WindowAnswer], laid_out: &[Span]) -> Totals {
    let minutes = |state: SpellState, of: &dyn Fn(&SpellAnswer) -> i64| -> i64 {
        windows
            .iter()
            .flat_map(|window| &window.spells)
            .filter(|spell| spell.state == state)
            .map(of)
            .sum()
    };
    let lit = |spans: &[SpanAnswer]| -> i64 {
        spans
            .iter()
            .map(|span| span.to.utc.duration_since(span.from.utc).as_mins())
            .sum()
    };
    Totals {
        window_min: laid_out.iter().map(|window| window.minutes()).sum(),
        control_active_min: minutes(SpellState::ControlActive, &|spell| spell.minutes),
        outside_control_min: minutes(SpellState::OutsideControl, &|spell| spell.minutes),
        outside_control_daylight_min: minutes(SpellState::OutsideControl, &|spell| {
            lit(&spell.daylight)
        }),
        outside_control_civil_light_min: minutes(SpellState::OutsideControl, &|spell| {
            lit(&spell.civil_light)
        }),
        undetermined_min: minutes(SpellState::Undetermined, &|spell| spell.minutes),
    }
}

fn day(
    site: LonLat,
    zone: &TimeZone,
    date: Date,
    rule_twilight: Option<&RuleTwilight>,
) -> DayAnswer {
    let course = |horizon: Horizon| {
        let (from, to) = local_day(zone, date)?;
        course(site, from, to, horizon)
    };
    let by_rule = |rule: &RuleTwilight| -> Option<Course> {
        let minutes = SignedDuration::from_mins(i64::from(rule.minutes));
        match course(Horizon::Sunrise)? {
            Course::Crosses { rise, set } => Some(Course::Crosses {
                rise: rise.and_then(|at| at.checked_sub(minutes).ok()),
                set: set.and_then(|at| at.checked_add(minutes).ok()),
            }),
            Course::StaysAbove | Course::StaysBelow => None,
        }
    };
    DayAnswer {
        rule_twilight: rule_twilight
            .and_then(by_rule)
            .map(|course| light_answer(Some(course), zone)),
        date: date.to_string(),
        weekday: weekday(date),
        sun: light_answer(course(Horizon::Sunrise), zone),
        civil_twilight: light_answer(course(Horizon::CivilTwilight), zone),
    }
}

fn weekday(date: Date) -> &'static str {
    match date.weekday() {
        Weekday::Monday => "Mo",
        Weekday::Tuesday => "Tu",
        Weekday::Wednesday => "We",
        Weekday::Thursday => "Th",
        Weekday::Friday => "Fr",
        Weekday::Saturday => "Sa",
        Weekday::Sunday => "Su",
    }
}

fn light_answer(course: Option<Course>, zone: &TimeZone) -> LightAnswer {
    match course {
        None => LightAnswer::Unknown,
        Some(Course::StaysAbove) => LightAnswer::StaysAbove,
        Some(Course::StaysBelow) => LightAnswer::StaysBelow,
        Some(Course::Crosses { rise, set }) => LightAnswer::Crosses {
            rise: rise.map(clock::whole_second),
            set: set.map(clock::whole_second),
            rise_local: rise.map(|at| local_minute(zone, minute_up(at))),
            set_local: set.map(|at| local_minute(zone, minute_down(at))),
        },
    }
}
