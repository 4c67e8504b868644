//! Hours of control: when something is active, by a published text, a place and a clock.
//!
//! A text is in the open `opening_hours` syntax (`Mo-Fr 07:00-19:00; Sa 08:00-12:00`), or one of
//! the abbreviations of ICAO Doc 8400: H24 (all the time), HJ (sunrise to sunset), HN (sunset to
//! sunrise). HO, HS and HX (as required, as scheduled, no set hours) and whatever else cannot be
//! read are undetermined; nothing is guessed.
//! Pessimistic: of two instants that a time on the clock can mean, something begins at the earlier
//! and ends at the later one; times of the sun are taken to the whole minute the same way.
//!
//! Not here: which hours matter for a site (see [`crate::assess`]), and wording.

pub mod answer;
pub mod clock;
mod rules;
pub mod spans;
pub mod window;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::frame::LonLat;
use crate::sun::{Horizon, spells_above};

use clock::{ClockNote, Edge, minute_down, minute_up};
use rules::Rules;
use spans::{Span, Spans};

/// When something is active, as far as its text says.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    text: String,
    zone: Option<TimeZone>,
    kind: Kind,
}

#[derive(Clone, Debug, PartialEq)]
enum Kind {
    Always,
    Day,
    Night,
    Rules(Box<Rules>),
    Unknown(&'static str),
}

/// When something is active between two instants, and when that is undetermined.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Activity {
    /// Active.
    pub active: Spans,
    /// Nobody can say from the text; apart from `active`.
    pub undetermined: Spans,
    /// Why something is undetermined, each once: `the text ...`.
    pub reasons: Vec<String>,
    /// Times on the clock that a change of clocks skips or repeats.
    pub notes: Vec<ClockNote>,
}

impl Activity {
    /// Undetermined throughout.
    #[must_use]
    pub fn undetermined(spans: Spans, why: impl Into<String>) -> Self {
        Self {
            undetermined: spans,
            reasons: vec![why.into()],
            ..Self::default()
        }
    }
}

impl Schedule {
    /// Reads a text with the time zone that it is in: a name of the IANA tz database, `UTC` too.
    ///
    /// The zone may be missing for `H24`, `24/7`, `HJ` and `HN`, which need none.
    ///
    /// # Errors
    /// Why the text or the zone cannot be read, to follow `the text` or `the time zone` and its
    /// quotation: an answer is undetermined then. `HO`, `HS` and `HX` are no errors: they are read,
    /// and are undetermined all the time.
    pub fn parse(text: &str, zone: Option<&str>) -> Result<Self, String> {
        let text = text.trim();
        let zone = match zone.map(str::trim).filter(|name| !name.is_empty()) {
            Some(name) => {
                Some(clock::zone(name).map_err(|why| format!("time zone {name:?} {why}"))?)
            }
            None => None,
        };
        let kind = match text.to_ascii_uppercase().as_str() {
            "" => return Err("hours are an empty text".to_owned()),
            "H24" | "24/7" => Kind::Always,
            "HJ" | "SR-SS" => Kind::Day,
            "HN" | "SS-SR" => Kind::Night,
            "HO" => Kind::Unknown("HO: as operational requirements demand"),
            "HS" => Kind::Unknown("HS: during scheduled operations"),
            "HX" => Kind::Unknown("HX: no specific working hours"),
            _ => {
                let rules =
                    Rules::read(text).map_err(|why| format!("hours {text:?}: the text {why}"))?;
                if zone.is_none() {
                    return Err(format!(
                        "hours {text:?}: the time zone is not given, so the clock is not known"
                    ));
                }
                Kind::Rules(Box::new(rules))
            }
        };
        Ok(Self {
            text: text.to_owned(),
            zone,
            kind,
        })
    }

    /// The text as given.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The time zone, if one was given.
    #[must_use]
    pub const fn zone(&self) -> Option<&TimeZone> {
        self.zone.as_ref()
    }

    /// Whether the text names public or school holidays, of which no calendar is kept.
    #[must_use]
    pub fn has_holidays(&self) -> bool {
        matches!(&self.kind, Kind::Rules(rules) if rules.has_holidays())
    }

    /// When it is active from one instant to another, for sun events at `place`.
    #[must_use]
    pub fn activity(&self, place: LonLat, from: Timestamp, to: Timestamp) -> Activity {
        let whole = Spans::one(from, to);
        if whole.is_empty() {
            return Activity::default();
        }
        let active = |active: Spans| Activity {
            active,
            ..Activity::default()
        };
        match (&self.kind, &self.zone) {
            (Kind::Always, _) => active(whole),
            (Kind::Unknown(why), _) => Activity::undetermined(whole, *why),
            (Kind::Rules(rules), Some(zone)) => rules.activity(place, zone, from, to),
            (Kind::Rules(_), None) => Activity::undetermined(whole, "the time zone is not given"),
            (Kind::Day | Kind::Night, _) => {
                let Some(day) = up(place, from, to, Horizon::Sunrise, Edge::Start) else {
                    return Activity::undetermined(whole, "the sun is not known then");
                };
                if self.kind == Kind::Day {
                    return active(day);
                }
                // Night begins a minute early and ends a minute late too.
                match up(place, from, to, Horizon::Sunrise, Edge::End) {
                    Some(least_day) => active(whole.minus(&least_day)),
                    None => Activity::undetermined(whole, "the sun is not known then"),
                }
            }
        }
    }
}

/// When the sun is above a horizon, to whole minutes inside it: the least that can be relied on.
#[must_use]
pub fn light(place: LonLat, from: Timestamp, to: Timestamp, horizon: Horizon) -> Option<Spans> {
    up(place, from, to, horizon, Edge::End)
}

/// When the sun is above a horizon, to whole minutes: outwards ([`Edge::Start`]) or inwards.
fn up(
    place: LonLat,
    from: Timestamp,
    to: Timestamp,
    horizon: Horizon,
    towards: Edge,
) -> Option<Spans> {
    let spells = spells_above(place, from, to, horizon)?;
    Some(
        Spans::of(spells.into_iter().map(|(rise, set)| match towards {
            Edge::Start => Span {
                from: minute_down(rise),
                to: minute_up(set),
            },
            Edge::End => Span {
                from: minute_up(rise),
                to: minute_down(set),
            },
        }))
        .intersection(&Spans::one(from, to)),
    )
}
