//! The answer about hours, as data: who is in control when, the wished windows, sun and twilight.

use jiff::Timestamp;
use serde::Serialize;

use super::clock::{ClockChange, ClockNote, Moment};
use crate::profile::RuleTwilight;
use crate::site::FeatureRef;

/// For a wished window: when control is active and when it is not, day by day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HoursAnswer {
    /// The wished window as given.
    pub window: String,
    /// The time zone that it is in.
    pub zone: String,
    /// Release of the time zone database: `2026f`.
    pub zone_data: &'static str,
    /// The first local date, `YYYY-MM-DD`.
    pub first: String,
    /// How many local dates from it on.
    pub day_count: u16,
    /// Each whose hours of control count, in the order of the aerodromes.
    pub controls: Vec<ControlAnswer>,
    /// The sun on each local date on which a window begins.
    pub days: Vec<DayAnswer>,
    /// The windows in order.
    pub windows: Vec<WindowAnswer>,
    /// Why part of the wish could not be laid out; empty where all could.
    pub wish_reasons: Vec<String>,
    /// Time in the windows, whole minutes.
    pub totals: Totals,
    /// Twilight as the rule profile counts it, if it counts it in minutes.
    pub rule_twilight: Option<RuleTwilight>,
    /// Changes of clocks in the period, in the zones concerned.
    pub clock_changes: Vec<ClockChange>,
    /// Times that a change of clocks skips or repeats, and what they were taken for.
    pub clock_notes: Vec<ClockNote>,
}

impl HoursAnswer {
    /// Whether every part of every window is either in or outside controlled hours.
    #[must_use]
    pub const fn is_decided(&self) -> bool {
        self.totals.undetermined_min == 0 && self.wish_reasons.is_empty()
    }
}

/// Something whose hours of control count.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ControlAnswer {
    /// What it is: `SYN1 Soffit Downs Aerodrome`, or `SYN1 Soffit Downs Aerodrome, tower` where the
    /// hours of the tower are stated apart.
    pub title: String,
    /// Where it was read.
    pub source: FeatureRef,
    /// Its hours of control, or of the tower, as written.
    pub control_hours: Option<String>,
    /// The hours of the aerodrome itself as written; they decide nothing here.
    pub hours: Option<String>,
    /// The time zone of its hours.
    pub zone: Option<String>,
    /// What is known of it.
    #[serde(flatten)]
    pub state: ControlState,
}

/// What is known of hours of control.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum ControlState {
    /// Hours that were read.
    Scheduled,
    /// The data say that there is no control.
    NotControlled,
    /// Undetermined in the period, wholly or in part.
    Undetermined {
        /// Why, each reason once.
        reasons: Vec<String>,
    },
}

/// The sun on one local date.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayAnswer {
    /// The date, `YYYY-MM-DD`.
    pub date: String,
    /// Its day of the week: `Mo`, `Tu`, ...
    pub weekday: &'static str,
    /// Sunrise and sunset.
    pub sun: LightAnswer,
    /// Civil dawn and dusk: the middle of the sun 6 degrees below the horizon.
    pub civil_twilight: LightAnswer,
    /// From its beginning to its end as the rule counts it; none where the rule does not, and where
    /// the sun neither rises nor sets.
    pub rule_twilight: Option<LightAnswer>,
}

/// What the sun does at a horizon on one local date.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum LightAnswer {
    /// It crosses the horizon; to the second.
    Crosses {
        /// The first time upwards.
        rise: Option<Timestamp>,
        /// The last time downwards.
        set: Option<Timestamp>,
        /// `rise` on the clock, the minute rounded up.
        rise_local: Option<String>,
        /// `set` on the clock, the minute rounded down.
        set_local: Option<String>,
    },
    /// Above it all day.
    StaysAbove,
    /// Below it all day.
    StaysBelow,
    /// Outside the years of the model.
    Unknown,
}

/// One wished window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WindowAnswer {
    /// Its beginning.
    pub from: Moment,
    /// Its end.
    pub to: Moment,
    /// The spells that it consists of, in order.
    pub spells: Vec<SpellAnswer>,
}

/// Part of a window in which nothing about control changes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpellAnswer {
    /// Its beginning.
    pub from: Moment,
    /// Its end.
    pub to: Moment,
    /// Its length, minutes.
    pub minutes: i64,
    /// What control does.
    pub state: SpellState,
    /// Titles of those that are active, or that leave it undetermined.
    pub by: Vec<String>,
    /// The parts with the sun up.
    pub daylight: Vec<SpanAnswer>,
    /// The parts in daylight or civil twilight.
    pub civil_light: Vec<SpanAnswer>,
}

/// What control does in a spell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SpellState {
    /// Control is active.
    ControlActive,
    /// No control is active that the layers state.
    OutsideControl,
    /// Not known whether control is active.
    Undetermined,
}

/// From an instant up to another.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpanAnswer {
    /// Its beginning.
    pub from: Moment,
    /// Its end.
    pub to: Moment,
}

/// Time in the windows, whole minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// In all windows.
    pub window_min: i64,
    /// With control active.
    pub control_active_min: i64,
    /// Outside controlled hours.
    pub outside_control_min: i64,
    /// Outside controlled hours with the sun up.
    pub outside_control_daylight_min: i64,
    /// Outside controlled hours in daylight or civil twilight.
    pub outside_control_civil_light_min: i64,
    /// Undetermined.
    pub undetermined_min: i64,
}
