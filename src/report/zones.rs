//! Zones of the profile: inside, straddles or outside, by how much, and the part left outside.

use crate::answer::{Assessment, ZoneAnswer, ZoneApplies, ZoneBasis, ZoneState};

use crate::units::Metres;

use super::aerodromes::state;
use super::number::{NO_BREAK, altitude, grouped, margin, metres, partial_share_up, share_up};
use super::text::{Page, harmless};

/// Column of the answers.
const ANSWER: usize = 16;

/// Writes the ZONES section; nothing where the profile has no zone.
pub fn write(page: &mut Page, assessment: &Assessment) {
    if assessment.profile.record.zones.is_empty() {
        return;
    }
    let reached = assessment
        .zones
        .iter()
        .filter(|zone| zone.may_reach_in())
        .count();
    page.section(&format!(
        "ZONES of the profile: {reached} of {} that the area reaches into, or may",
        assessment.zones.len()
    ));
    if assessment.zones.is_empty() {
        page.prose(
            2,
            "No aerodrome in the layers that were read has one near the area.",
        );
        return;
    }
    page.prose(
        2,
        "Margin: how far the area stays outside (+) or reaches in (\u{2212}), rounded down.",
    );
    let mut aerodrome = None;
    for zone in &assessment.zones {
        if aerodrome != Some(&zone.aerodrome) {
            page.line(2, &harmless(&zone.aerodrome));
            aerodrome = Some(&zone.aerodrome);
        }
        write_zone(page, zone);
    }
}

fn write_zone(page: &mut Page, zone: &ZoneAnswer) {
    let mut title = harmless(&zone.title);
    if let Some(part) = &zone.part {
        title.push_str(&format!(", {}", harmless(part)));
    }
    if let ZoneApplies::No { why } = &zone.applies {
        page.line(4, &format!("{title}: does not apply, {}", harmless(why)));
        return;
    }
    page.line(4, &title);
    page.labelled(6, "area", ANSWER, &answer(zone));
    if let ZoneApplies::Unknown { why } = &zone.applies {
        let text = format!("MAY APPLY: {}; answered as if it did", harmless(why));
        page.labelled(6, "", ANSWER, &text);
    }
    match &zone.basis {
        ZoneBasis::Stated => {}
        ZoneBasis::Larger { why } => {
            let certain = match zone.state {
                ZoneState::Outside => "a larger zone, so outside is certain",
                _ => "a larger zone: this does not answer the rule",
            };
            page.labelled(6, "", ANSWER, &format!("{}; {certain}", harmless(why)));
        }
        ZoneBasis::Smaller { why } => {
            let certain = match zone.state {
                ZoneState::Undetermined => "a smaller zone, which the area is outside of",
                ZoneState::Inside => "a smaller zone, so inside is certain",
                _ => "a smaller zone: at least this much is inside",
            };
            page.labelled(6, "", ANSWER, &format!("{}; {certain}", harmless(why)));
        }
        ZoneBasis::None { why } => page.labelled(6, "", ANSWER, &harmless(why)),
    }
    if !zone.may_reach_in() {
        return;
    }
    if let Some(extent) = heights(zone) {
        page.labelled(6, "heights", ANSWER, &extent);
    }
    if !zone.from_surface && zone.floor_m_amsl.is_some() {
        let text = compared("the ceiling", zone.ceiling_gap_m);
        page.labelled(6, "", ANSWER, &text);
        if let Some(gap) = zone.wish_gap_m {
            page.labelled(6, "", ANSWER, &compared("the wished height", Some(gap)));
        }
    }
    if zone.state == ZoneState::Straddles && !zone.outside.0.is_empty() {
        let parts = match zone.outside.0.len() {
            1 => "one piece".to_owned(),
            many => format!("{many} pieces"),
        };
        let text = format!(
            "{}{NO_BREAK}m² of the area in {parts} (polygons in the JSON)",
            grouped(zone.outside_m2.floor(), 0)
        );
        page.labelled(6, "outside", ANSWER, &text);
    }
    for condition in &zone.conditions {
        page.labelled(6, "", ANSWER, &harmless(condition));
    }
}

/// How an area lies to a zone, in words.
#[must_use]
pub fn answer(zone: &ZoneAnswer) -> String {
    let mut text = state(zone.state).to_owned();
    if let Some(by) = zone.margin_m {
        text.push_str(&format!(", {}", margin(by)));
    }
    if let Some(share) = zone.share_inside
        && zone.may_reach_in()
    {
        let share = match zone.state {
            ZoneState::Straddles => partial_share_up(share),
            _ => share_up(share),
        };
        text.push_str(&format!(", {share} of the area inside"));
    }
    text
}

/// How a height lies to where a zone begins.
fn compared(what: &str, gap: Option<Metres>) -> String {
    match gap {
        None => format!("whether {what} stays below that is UNDETERMINED"),
        Some(gap) if gap.m() > 0.0 => {
            format!(
                "{what} stays at least {} below that",
                metres(gap.m_down(1), 1)
            )
        }
        Some(gap) => format!(
            "{what} is up to {} above that: it MAY REACH IN",
            metres((-gap).m_up(1), 1)
        ),
    }
}

/// From where to where it reaches in height; none where nothing is said of it.
fn heights(zone: &ZoneAnswer) -> Option<String> {
    let from = if zone.from_surface {
        "from the surface".to_owned()
    } else {
        match zone.floor_m_amsl {
            Some(floor) => format!(
                "begins no lower than {} AMSL over the area",
                altitude(floor)
            ),
            None => {
                "rises from the runway end, whose elevation is not given: taken from the surface"
                    .to_owned()
            }
        }
    };
    match (&zone.top, zone.top_m_amsl, zone.from_surface) {
        (None, _, true) => None,
        (None, _, false) => Some(from),
        (Some(top), Some(amsl), _) => Some(format!(
            "{from} to {} above aerodrome elevation, {} ({}{NO_BREAK}ft) AMSL",
            harmless(top),
            metres(amsl.m_up(1), 1),
            grouped(amsl.ft_up(), 0)
        )),
        (Some(top), None, _) => Some(format!(
            "{from} to {} above aerodrome elevation, which is not given",
            harmless(top)
        )),
    }
}
