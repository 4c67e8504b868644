//! Sunrise, sunset and civil twilight at a place, and the spells in which the sun is up.
//!
//! The position of the sun is that of the Solar Position Algorithm (Reda and Andreas, NREL
//! TP-560-34302, 2008; doi:10.1016/j.solener.2003.12.003), from the crate `solar-positioning`.
//! Sunrise and sunset are when the middle of the sun stands 0.8333 degrees below the geometric
//! horizon (34 minutes of refraction and 16 of the sun's radius); civil twilight reaches to
//! 6 degrees below it. Instants agree with the published values of NREL to within 5 s; refraction
//! on a day, hills around a site and the height of the eye move what is seen by minutes.
//!
//! Not here: local time (see [`crate::hours`]), and twilight that a rule counts in minutes.

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;
use solar_positioning::{Horizon as Model, HorizonState, Location, SolarEvents, delta_t};

use crate::frame::LonLat;

/// How far below the horizon the sun is when something begins or ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Horizon {
    /// Sunrise and sunset: 0.8333 degrees.
    Sunrise,
    /// Civil dawn and dusk: 6 degrees.
    CivilTwilight,
}

impl Horizon {
    const fn model(self) -> Model {
        match self {
            Self::Sunrise => Model::SunriseSunset,
            Self::CivilTwilight => Model::CivilTwilight,
        }
    }
}

/// What the sun does at one horizon between two instants, usually those of a local day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum Course {
    /// It rises above the horizon, sets below it, or both.
    Crosses {
        /// The first rise, if there is one.
        rise: Option<Timestamp>,
        /// The last set, if there is one.
        set: Option<Timestamp>,
    },
    /// It stays above all the time: polar day, or a night of twilight.
    StaysAbove,
    /// It stays below all the time: polar night.
    StaysBelow,
}

impl Course {
    /// The rise, if there is one.
    #[must_use]
    pub const fn rise(self) -> Option<Timestamp> {
        match self {
            Self::Crosses { rise, .. } => rise,
            _ => None,
        }
    }

    /// The set, if there is one.
    #[must_use]
    pub const fn set(self) -> Option<Timestamp> {
        match self {
            Self::Crosses { set, .. } => set,
            _ => None,
        }
    }
}

/// The course of the sun from `from` to before `to`; none outside the years -2000 to 6000 or when
/// `to` is not after `from`.
#[must_use]
pub fn course(place: LonLat, from: Timestamp, to: Timestamp, horizon: Horizon) -> Option<Course> {
    let events = events(place, from, to, horizon)?;
    if events.rises.is_empty() && events.sets.is_empty() {
        return Some(if events.is_up_at_start {
            Course::StaysAbove
        } else {
            Course::StaysBelow
        });
    }
    Some(Course::Crosses {
        rise: events.rises.first().copied(),
        set: events.sets.last().copied(),
    })
}

/// The spells from `from` to `to` in which the sun is above a horizon, in order and apart.
///
/// None where [`course`] has none.
#[must_use]
pub fn spells_above(
    place: LonLat,
    from: Timestamp,
    to: Timestamp,
    horizon: Horizon,
) -> Option<Vec<(Timestamp, Timestamp)>> {
    let events = events(place, from, to, horizon)?;
    let mut changes: Vec<(Timestamp, bool)> = events
        .rises
        .iter()
        .map(|at| (*at, true))
        .chain(events.sets.iter().map(|at| (*at, false)))
        .collect();
    changes.sort_unstable();
    let mut spells = Vec::new();
    let mut up_since = events.is_up_at_start.then_some(from);
    for (at, is_up) in changes {
        match (up_since, is_up) {
            (None, true) => up_since = Some(at),
            (Some(since), false) => {
                spells.push((since, at));
                up_since = None;
            }
            _ => {}
        }
    }
    spells.extend(up_since.map(|since| (since, to)));
    Some(spells)
}

struct Events {
    is_up_at_start: bool,
    rises: Vec<Timestamp>,
    sets: Vec<Timestamp>,
}

fn events(place: LonLat, from: Timestamp, to: Timestamp, horizon: Horizon) -> Option<Events> {
    if to <= from {
        return None;
    }
    let day = jiff::tz::TimeZone::UTC.to_datetime(from).date();
    // TT minus UT; the polynomial is within seconds, which moves a sunrise by less than 0.01 s.
    let delta_t =
        delta_t::estimate_from_date(i32::from(day.year()), u32::from(day.month().unsigned_abs()))
            .ok()?;
    let found = SolarEvents::new()
        .for_interval_from_julian(
            julian_day(from),
            julian_day(to),
            Location {
                latitude: place.lat(),
                longitude: place.lon(),
            },
            delta_t,
            horizon.model(),
        )
        .ok()?;
    let instants = |days: &[f64]| {
        days.iter()
            .map(|day| instant(*day))
            .collect::<Option<Vec<_>>>()
    };
    let sets = instants(&found.sets)?;
    let rises = instants(&found.rises)?;
    let is_up_at_start = match found.state_at_start {
        HorizonState::Above => true,
        HorizonState::Below => false,
        // On the horizon: it was up if the next thing that it does is to set.
        HorizonState::OnHorizon => match (rises.first(), sets.first()) {
            (Some(rise), Some(set)) => set < rise,
            (None, Some(_)) => true,
            _ => false,
        },
    };
    Some(Events {
        is_up_at_start,
        rises,
        sets,
    })
}

/// The Julian day of 1970-01-01T00:00Z.
const UNIX_EPOCH_JD: f64 = 2_440_587.5;

/// Seconds in a day.
const DAY_S: f64 = 86_400.0;

fn julian_day(at: Timestamp) -> f64 {
    UNIX_EPOCH_JD + at.as_second() as f64 / DAY_S
}

/// The instant of a Julian day, to the nearest millisecond.
fn instant(julian_day: f64) -> Option<Timestamp> {
    let seconds = (julian_day - UNIX_EPOCH_JD) * DAY_S;
    let since = SignedDuration::try_from_secs_f64((seconds * 1000.0).round() / 1000.0).ok()?;
    Timestamp::from_duration(since).ok()
}
