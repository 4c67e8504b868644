//! When an AIXM airspace is active: its activations as a text in the `opening_hours` syntax.
//!
//! Read are activations that are ACTIVE over the whole height, by time sheets in UTC: any day or one
//! day of the week, from a time, sunrise or sunset to another. Without a time sheet, and without a
//! reason for that, an activation holds all the time. Between the stated times nothing is known,
//! unless an INACTIVE activation says that it is off whenever it is not active. Whatever else there
//! is (NOTAM, work days, holidays, seasons, daylight saving, offsets from the sun) leaves the hours
//! undetermined and is named. Elements: AIXM 5.1.1 `AirspaceActivation` and `Timesheet`, as the
//! fictitious Donlon data set uses them (seen); without a time sheet: from memory.

use std::collections::BTreeSet;

use roxmltree::Node;

use super::{elements, is_aixm_element, text};

/// What a time slice says of the hours of its airspace.
#[derive(Debug, PartialEq, Eq)]
pub enum Hours {
    /// It has no activation.
    NotGiven,
    /// A text, on the clock of UTC.
    Given(String),
    /// Something that is not read, as a phrase.
    NotRead(String),
}

/// Days of AIXM and of the syntax.
const DAYS: [(&str, &str); 8] = [
    ("ANY", ""),
    ("MON", "Mo "),
    ("TUE", "Tu "),
    ("WED", "We "),
    ("THU", "Th "),
    ("FRI", "Fr "),
    ("SAT", "Sa "),
    ("SUN", "Su "),
];

/// Any day from midnight to midnight.
const ALL_THE_TIME: &str = "00:00-24:00";

/// Beyond this longitude the sun's day is another one than that of UTC for hours of every day,
/// degrees: on which date a sunrise falls is then not clear enough for a named day.
const SUN_DAY_WITHIN_DEG: f64 = 45.0;

/// The hours of a time slice whose outline reaches so far east or west of Greenwich.
pub fn hours(slice: Node<'_, '_>, from_greenwich_deg: f64) -> Hours {
    let activations: Vec<_> = elements(slice)
        .filter(|child| is_aixm_element(*child, "activation"))
        .flat_map(elements)
        .collect();
    if activations.is_empty() {
        return Hours::NotGiven;
    }
    match read(&activations, from_greenwich_deg) {
        Ok(text) => Hours::Given(text),
        Err(why) => Hours::NotRead(why),
    }
}

fn read(activations: &[Node<'_, '_>], from_greenwich_deg: f64) -> Result<String, String> {
    let mut active = BTreeSet::new();
    let mut off_but_for: Option<BTreeSet<String>> = None;
    for activation in activations {
        match text(*activation, "status").as_deref() {
            Some("ACTIVE" | "IN_USE") => {
                if is_of_a_part(*activation) {
                    return Err("has an activation of a part of its height".to_owned());
                }
                let sheets = sheets(*activation);
                if sheets.is_empty() {
                    no_reason_without_times(*activation)?;
                    return Ok("H24".to_owned());
                }
                for sheet in sheets {
                    if is_excluded(sheet) {
                        return Err("has times excluded from its activation".to_owned());
                    }
                    active.insert(period(sheet, from_greenwich_deg)?);
                }
            }
            Some("INACTIVE") => {
                if let Ok(excluded) = off_outside(*activation, from_greenwich_deg) {
                    off_but_for = Some(excluded);
                }
            }
            Some(status) => {
                no_reason_without_times(*activation)?;
                return Err(format!("has an activation with the status \"{status}\""));
            }
            None => return Err("has an activation without a status".to_owned()),
        }
    }
    if active.is_empty() {
        return Err("has no activation that is active".to_owned());
    }
    if active.contains(ALL_THE_TIME) {
        return Ok("H24".to_owned());
    }
    let times: Vec<String> = active.iter().cloned().collect();
    let times = times.join(", ");
    Ok(if off_but_for.as_ref() == Some(&active) {
        times
    } else {
        format!("24/7 unknown, {times}")
    })
}

/// The time sheets of an activation.
fn sheets<'a, 'i>(activation: Node<'a, 'i>) -> Vec<Node<'a, 'i>> {
    elements(activation)
        .filter(|child| is_aixm_element(*child, "timeInterval"))
        .flat_map(elements)
        .collect()
}

/// A `timeInterval` that is nil for a reason is not one that holds all the time.
fn no_reason_without_times(activation: Node<'_, '_>) -> Result<(), String> {
    let reason = elements(activation)
        .filter(|child| is_aixm_element(*child, "timeInterval"))
        .flat_map(|interval| interval.attributes())
        .find(|attribute| attribute.name() == "nilReason");
    match reason.map(|reason| reason.value()) {
        None => Ok(()),
        Some("other:NOTAM") => Err("is activated by NOTAM".to_owned()),
        Some(other) => {
            let reason: String = other.chars().take(40).collect();
            Err(format!("has an activation without times ({reason})"))
        }
    }
}

fn is_of_a_part(activation: Node<'_, '_>) -> bool {
    elements(activation)
        .filter(|child| is_aixm_element(*child, "levels"))
        .flat_map(elements)
        .any(|layer| {
            let is = |name: &str, coded: &str| text(layer, name).is_none_or(|it| it == coded);
            !(is("lowerLimit", "FLOOR") && is("upperLimit", "CEILING"))
        })
}

fn is_excluded(sheet: Node<'_, '_>) -> bool {
    text(sheet, "excluded").is_some_and(|it| it != "NO")
}

/// The times outside which an INACTIVE activation says that it is off.
fn off_outside(
    activation: Node<'_, '_>,
    from_greenwich_deg: f64,
) -> Result<BTreeSet<String>, String> {
    let mut excluded = BTreeSet::new();
    let mut is_always = false;
    if is_of_a_part(activation) {
        return Err("is of a part of its height".to_owned());
    }
    for sheet in sheets(activation) {
        let period = period(sheet, from_greenwich_deg)?;
        if is_excluded(sheet) {
            excluded.insert(period);
        } else {
            is_always |= period == ALL_THE_TIME;
        }
    }
    if is_always {
        Ok(excluded)
    } else {
        Err("does not say all the time".to_owned())
    }
}

/// One time sheet: `Sa 06:00-sunset`.
fn period(sheet: Node<'_, '_>, from_greenwich_deg: f64) -> Result<String, String> {
    let of = |name: &str| text(sheet, name);
    if of("timeReference").as_deref() != Some("UTC") {
        return Err("has times that are not in UTC".to_owned());
    }
    match (of("startDate").as_deref(), of("endDate").as_deref()) {
        (None, None) | (Some("01-01"), Some("31-12")) => {}
        _ => return Err("has times for a part of the year".to_owned()),
    }
    if of("daylightSavingAdjust").is_some_and(|it| it != "NO") {
        return Err("has times that move with daylight saving".to_owned());
    }
    let day = of("day").unwrap_or_else(|| "ANY".to_owned());
    if of("dayTil").is_some_and(|until| until != day) {
        return Err("has times over several days".to_owned());
    }
    let written = DAYS
        .iter()
        .find(|(name, _)| *name == day)
        .map(|(_, written)| *written)
        .ok_or_else(|| {
            let day: String = day.chars().take(20).collect();
            format!("has times on \"{day}\"")
        })?;
    let (start, end) = (point(sheet, "start")?, point(sheet, "end")?);
    let end = if end == "00:00" { "24:00".into() } else { end };
    let has_sun = [&start, &end].iter().any(|it| it.starts_with("sun"));
    if has_sun && !written.is_empty() && from_greenwich_deg > SUN_DAY_WITHIN_DEG {
        return Err("has times of the sun on a day of UTC, far from Greenwich".to_owned());
    }
    Ok(format!("{written}{start}-{end}"))
}

/// A start or an end: a time on the clock or an event of the sun.
fn point(sheet: Node<'_, '_>, side: &str) -> Result<String, String> {
    let of = |name: &str| text(sheet, &format!("{side}{name}"));
    if of("TimeRelativeEvent").is_some_and(|it| it.parse() != Ok(0.0)) {
        return Err("has times counted from an event of the sun".to_owned());
    }
    match (of("Time"), of("Event").as_deref()) {
        (Some(time), None) if is_time(&time) => Ok(time),
        (None, Some("SR")) => Ok("sunrise".to_owned()),
        (None, Some("SS")) => Ok("sunset".to_owned()),
        (Some(_), Some(_)) => Err("has the earlier or later of two times".to_owned()),
        _ => Err(format!("has a time sheet whose {side} is not read")),
    }
}

/// Whether a text is a time from 00:00 to 24:00.
fn is_time(text: &str) -> bool {
    let Some((hours, minutes)) = text.split_once(':') else {
        return false;
    };
    let number = |part: &str| -> Option<u16> {
        let is_two = part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse().ok().filter(|_| is_two)
    };
    match (number(hours), number(minutes)) {
        (Some(hours), Some(minutes)) => minutes < 60 && (hours < 24 || (hours, minutes) == (24, 0)),
        _ => false,
    }
}
