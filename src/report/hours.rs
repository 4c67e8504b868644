//! Hours: the wished windows, who is in control when, what is outside controlled hours, sun and
//! civil twilight beside it.

use crate::answer::Assessment;
use crate::hours::answer::{
    ControlAnswer, ControlState, DayAnswer, HoursAnswer, LightAnswer, SpanAnswer, SpellAnswer,
    SpellState, WindowAnswer,
};
use crate::hours::clock::{ClockChange, ClockNote, Matter, notam_utc};

use super::number::{NO_BREAK, count};
use super::text::{Page, harmless};

/// Column of what is said of a controller.
const CONTROL: usize = 14;

/// The most windows that a page lists; the JSON has them all.
const MOST_WINDOWS: usize = 60;

/// A local day with a repeated hour, minutes.
const LONGEST_DAY_MIN: i64 = 25 * 60;

/// Writes the HOURS section, if a window was asked.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let Some(hours) = &assessment.hours else {
        return;
    };
    page.section(&format!(
        "HOURS: {}, {}, {} from {}",
        harmless(&hours.window),
        harmless(&hours.zone),
        count(usize::from(hours.day_count), "day"),
        harmless(&hours.first)
    ));
    page.prose(
        2,
        &format!(
            "Control as the layers state it; a NOTAM can change it. Time zones of tzdata {}.",
            harmless(hours.zone_data)
        ),
    );
    page.prose(
        2,
        "Light is for the middle of the \
         area: the sun 0.8333° below the horizon at sunrise and sunset, 6° at civil dawn and dusk. \
         A rule may count twilight in minutes instead.",
    );
    if let Some(rule) = &hours.rule_twilight {
        page.prose(
            2,
            &format!(
                "The profile counts twilight as {} min before sunrise and after sunset ({}; {}; {}).",
                rule.minutes,
                harmless(&rule.citation),
                harmless(&rule.edition),
                rule.mark.words()
            ),
        );
    }
    for control in &hours.controls {
        write_control(page, control);
    }
    for reason in &hours.wish_reasons {
        page.point(2, &format!("UNDETERMINED: the wish {}", harmless(reason)));
    }
    write_clocks(page, hours);
    write_totals(page, hours);
    for window in hours.windows.iter().take(MOST_WINDOWS) {
        write_window(page, window, hours);
    }
    if hours.windows.is_empty() {
        page.line(2, "No window falls in the period.");
    }
    let more = hours.windows.len().saturating_sub(MOST_WINDOWS);
    if more > 0 {
        page.line(
            2,
            &format!("and {} in the JSON", count(more, "more window")),
        );
    }
}

fn write_control(page: &mut Page, control: &ControlAnswer) {
    page.line(2, &harmless(&control.title));
    let zone = control
        .zone
        .as_deref()
        .map_or_else(String::new, |zone| format!(", {}", harmless(zone)));
    let written = control.control_hours.as_deref().map_or_else(
        || "hours not given".to_owned(),
        |text| format!("\"{}\"{zone}", harmless(text)),
    );
    let text = match &control.state {
        ControlState::NotControlled => "none, as the layers state".to_owned(),
        ControlState::Scheduled => written,
        ControlState::Undetermined { reasons } => {
            let why: Vec<String> = reasons.iter().map(|why| harmless(why)).collect();
            format!(
                "{written}; UNDETERMINED in part or whole: {}",
                why.join("; ")
            )
        }
    };
    page.labelled(4, "control", CONTROL, &text);
    if let Some(hours) = &control.hours {
        let text = format!("\"{}\"{zone}, as written; not used here", harmless(hours));
        page.labelled(4, "aerodrome", CONTROL, &text);
    }
}

fn write_clocks(page: &mut Page, hours: &HoursAnswer) {
    for change in &hours.clock_changes {
        page.point(2, &change_words(change));
    }
    for note in &hours.clock_notes {
        page.point(2, &note_words(note));
    }
}

fn change_words(change: &ClockChange) -> String {
    let way = if change.local_after < change.local_before {
        "back"
    } else {
        "forward"
    };
    format!(
        "Clocks go {way} in {}: at {} to {}, then UTC{} (UTC {})",
        harmless(&change.zone),
        spaced(&change.local_before),
        spaced(&change.local_after),
        change.offset_after,
        notam_utc(change.utc)
    )
}

fn note_words(note: &ClockNote) -> String {
    let local = spaced(&note.local);
    let zone = harmless(&note.zone);
    let taken = notam_utc(note.taken_as);
    match &note.matter {
        Matter::OccursTwice { first, second } => format!(
            "{local} in {zone} occurs twice, UTC {} and {}: taken as {taken}, so that the spell is \
             the longer one",
            notam_utc(*first),
            notam_utc(*second)
        ),
        Matter::DoesNotExist { .. } => format!(
            "{local} in {zone} does not exist, as clocks skip it: taken as the change itself, UTC \
             {taken}"
        ),
    }
}

fn write_totals(page: &mut Page, hours: &HoursAnswer) {
    let totals = &hours.totals;
    page.line(
        2,
        &format!(
            "{} of {} in {}:",
            count(hours.windows.len(), "window"),
            length(totals.window_min),
            count(hours.days.len(), "day")
        ),
    );
    page.point(
        4,
        &format!(
            "outside controlled hours {}, of it in daylight {}, in daylight or civil twilight {}",
            length(totals.outside_control_min),
            length(totals.outside_control_daylight_min),
            length(totals.outside_control_civil_light_min)
        ),
    );
    page.point(
        4,
        &format!("control active {}", length(totals.control_active_min)),
    );
    page.point(
        4,
        &format!("UNDETERMINED {}", length(totals.undetermined_min)),
    );
}

fn write_window(page: &mut Page, window: &WindowAnswer, hours: &HoursAnswer) {
    let date = date_of(&window.from.local);
    if let Some(day) = hours.days.iter().find(|day| day.date == date) {
        let is_first = hours
            .windows
            .iter()
            .find(|other| date_of(&other.from.local) == date)
            .is_some_and(|other| other == window);
        if is_first {
            page.line(2, &day_words(day));
        }
    }
    for spell in &window.spells {
        write_spell(page, spell);
    }
}

fn day_words(day: &DayAnswer) -> String {
    format!(
        "{} {}: sun {}, civil twilight {}{}",
        day.weekday,
        harmless(&day.date),
        light_words(&day.sun),
        light_words(&day.civil_twilight),
        day.rule_twilight
            .as_ref()
            .map_or_else(String::new, |light| format!(
                ", by the rule {}",
                light_words(light)
            ))
    )
}

fn light_words(light: &LightAnswer) -> String {
    let time = |local: &Option<String>| {
        local
            .as_deref()
            .map_or("none", |local| time_of(local))
            .to_owned()
    };
    match light {
        LightAnswer::Crosses {
            rise_local,
            set_local,
            ..
        } => format!("{} to {}", time(rise_local), time(set_local)),
        LightAnswer::StaysAbove => "all day".to_owned(),
        LightAnswer::StaysBelow => "none all day".to_owned(),
        LightAnswer::Unknown => "not known".to_owned(),
    }
    .replace(' ', &NO_BREAK.to_string())
}

fn write_spell(page: &mut Page, spell: &SpellAnswer) {
    let by: Vec<String> = spell.by.iter().map(|by| harmless(by)).collect();
    let state = match spell.state {
        SpellState::ControlActive => format!("control active: {}", by.join(", ")),
        SpellState::Undetermined if by.is_empty() => {
            "UNDETERMINED: the layers have nobody whose hours could count".to_owned()
        }
        SpellState::Undetermined => format!("UNDETERMINED: {}", by.join(", ")),
        SpellState::OutsideControl => format!(
            "outside controlled hours; daylight {}, civil light {}",
            lit(&spell.daylight, spell),
            lit(&spell.civil_light, spell)
        ),
    };
    let date = date_of(&spell.from.local);
    let is_midnight = time_of(&spell.to.local) == "00:00" && spell.minutes <= LONGEST_DAY_MIN;
    let ends = if is_midnight {
        "24:00".to_owned()
    } else if date_of(&spell.to.local) == date {
        time_of(&spell.to.local).to_owned()
    } else {
        format!("{} {}", date_of(&spell.to.local), time_of(&spell.to.local))
    };
    page.labelled(
        4,
        &format!("{}-{ends}", time_of(&spell.from.local)),
        16,
        &format!(
            "{state}; UTC {} to {}",
            notam_utc(spell.from.utc),
            notam_utc(spell.to.utc)
        ),
    );
}

/// Parts of a spell in words: `all`, `none`, or the times.
fn lit(parts: &[SpanAnswer], spell: &SpellAnswer) -> String {
    match parts {
        [] => "none".to_owned(),
        [whole] if whole.from == spell.from && whole.to == spell.to => "all".to_owned(),
        parts => parts
            .iter()
            .map(|part| format!("{}-{}", time_of(&part.from.local), time_of(&part.to.local)))
            .collect::<Vec<_>>()
            .join(" and "),
    }
}

/// Whole minutes as hours and minutes: `26 h 30 min`.
fn length(minutes: i64) -> String {
    let (hours, rest) = (minutes / 60, minutes % 60);
    match (hours, rest) {
        (0, rest) => format!("{rest}{NO_BREAK}min"),
        (hours, 0) => format!("{hours}{NO_BREAK}h"),
        (hours, rest) => format!("{hours}{NO_BREAK}h{NO_BREAK}{rest}{NO_BREAK}min"),
    }
}

/// The date of `YYYY-MM-DDThh:mm`.
fn date_of(local: &str) -> &str {
    local.split_once('T').map_or(local, |(date, _)| date)
}

/// The time of `YYYY-MM-DDThh:mm` with or without an offset.
fn time_of(local: &str) -> &str {
    let time = local.split_once('T').map_or(local, |(_, time)| time);
    time.get(..5).unwrap_or(time)
}

fn spaced(local: &str) -> String {
    format!("{}{NO_BREAK}{}", date_of(local), time_of(local))
}
