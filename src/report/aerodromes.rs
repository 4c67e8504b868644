//! Aerodromes: distance and bearing from each reference with its witness points, and the rings.

use crate::aerodrome::AerodromeKind;
use crate::answer::{AerodromeAnswer, Assessment, DistanceAnswer, RingAnswer, ZoneState};

use super::number::{
    NOT_GIVEN, bearings, margin, metres, nautical_miles, partial_share_up, place, share_up,
};
use super::text::{Page, harmless};

/// Column of the distances.
const DISTANCE: usize = 21;

/// Column of the state of a ring.
const STATE: usize = 33;

/// Writes the AERODROMES section.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let radius = assessment.search_radius_m;
    page.section(&format!(
        "AERODROMES within {} ({}): {}",
        metres(radius.m_down(0), 0),
        nautical_miles(radius),
        assessment.aerodromes.len()
    ));
    if assessment.aerodromes.is_empty() {
        page.prose(
            2,
            "None in the layers that were read. That does not say that there is none.",
        );
        return;
    }
    page.prose(
        2,
        "Distances from the aerodrome to the nearest point of the area, rounded down; bearings \
         from the aerodrome.",
    );
    for aerodrome in &assessment.aerodromes {
        write_aerodrome(page, aerodrome);
    }
}

fn write_aerodrome(page: &mut Page, aerodrome: &AerodromeAnswer) {
    page.line(
        2,
        &format!("{} · {}", harmless(&aerodrome.title), kind(aerodrome.kind)),
    );
    for answer in &aerodrome.references {
        let term = answer.reference.term();
        match &answer.distance {
            Some(distance) => write_distance(page, term, distance),
            None => page.labelled(4, term, DISTANCE, NOT_GIVEN),
        }
    }
    if !aerodrome.rings.is_empty() {
        page.labelled(4, "rings", STATE, "state, margin, share of the area inside");
    }
    for ring in &aerodrome.rings {
        write_ring(page, ring);
    }
}

fn write_distance(page: &mut Page, term: &str, distance: &DistanceAnswer) {
    let mut text = format!(
        "{}  {}  ",
        nautical_miles(distance.distance_m),
        metres(distance.distance_m.m_down(0), 0)
    )
    .replace("  ", "\u{a0}\u{a0}");
    if distance.distance_m.m() <= 0.0 {
        text = "0 m: the area reaches it".into();
    } else {
        text.push_str(&bearings(
            distance.bearing_true_deg,
            distance.bearing_magnetic_deg,
        ));
    }
    if let Some(part) = &distance.part {
        let what = if term == "runway end" { "end " } else { "" };
        text.push_str(&format!(", {what}{}", harmless(part)));
    }
    page.labelled(4, term, DISTANCE, &text);
    page.labelled(6, "from", 11, &place(distance.from));
    page.labelled(6, "to", 11, &place(distance.to));
}

fn write_ring(page: &mut Page, ring: &RingAnswer) {
    let label = format!("{} about {}", harmless(&ring.label), ring.about.term());
    let mut text = state(ring.state).to_owned();
    if let Some(by) = ring.margin_m {
        text.push_str(&format!(", {}", margin(by)));
    }
    if let Some(share) = ring.share_inside {
        let share = match ring.state {
            ZoneState::Straddles => partial_share_up(share),
            _ => share_up(share),
        };
        text.push_str(&format!(", {share}"));
    }
    page.labelled(6, &label, STATE, &text);
    match (ring.measured_from, ring.is_substitute) {
        (Some(from), true) => page.line(
            8,
            &format!(
                "measured from the {}, as the {} is not given: this does not answer the rule",
                from.term(),
                ring.about.term()
            ),
        ),
        (None, _) => page.line(8, &format!("the {} is not given", ring.about.term())),
        _ => {}
    }
}

/// The words for how an area lies to a ring.
#[must_use]
pub const fn state(state: ZoneState) -> &'static str {
    match state {
        ZoneState::Inside => "inside",
        ZoneState::Straddles => "straddles",
        ZoneState::Outside => "outside",
        ZoneState::Undetermined => "UNDETERMINED",
    }
}

const fn kind(kind: AerodromeKind) -> &'static str {
    match kind {
        AerodromeKind::Aerodrome => "aerodrome",
        AerodromeKind::Heliport => "heliport",
        AerodromeKind::WaterAerodrome => "water aerodrome",
        AerodromeKind::Other => "other place of departure, or kind not given",
        AerodromeKind::Closed => "marked closed in the data",
    }
}
