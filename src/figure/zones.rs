//! Zones of the profile on either panel: outline by dash, title on the line, those that the area
//! reaches into drawn heavier and marked.
//!
//! Not here: whether the area is in one (see [`crate::answer::ZoneAnswer`]).

use super::palette as p;
use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::MarkKind;
use super::view::rings;
use crate::answer::{Assessment, ZoneAnswer, ZoneApplies, ZoneBasis, ZoneState};
use crate::frame::Xy;

/// No more zones than this are drawn on one panel, those that govern first.
const MOST_ZONES: usize = 10;

/// Characters of a title on the line.
const MOST_CHARACTERS: usize = 40;

/// Where labels are tried along an outline, shares of its visible length.
const SHARES: [f64; 9] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.28, 0.72];

/// Draws the zones whose edge crosses the panel.
pub fn add(panel: &mut Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let mut zones: Vec<&ZoneAnswer> = assessment
        .zones
        .iter()
        .filter(|zone| zone.may_apply() && !zone.outline.0.is_empty())
        .collect();
    zones.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    let frame = panel.view.frame;
    let (mut drawn, mut left_out) = (0, 0);
    for zone in zones {
        let lines: Vec<Vec<Xy>> = zone
            .outline
            .iter()
            .flat_map(rings)
            .map(|ring| {
                ring.into_iter()
                    .map(|place| frame.to_plane(place))
                    .collect()
            })
            .collect();
        if lines.iter().all(|line| panel.visible(line).is_empty()) {
            continue;
        }
        if drawn == MOST_ZONES {
            left_out += 1;
            continue;
        }
        let governs = zone.may_reach_in();
        let pen = if governs {
            p::ZONE_GOVERNS_PEN
        } else {
            p::ZONE_PEN
        };
        let mut parts = Vec::new();
        for line in &lines {
            parts.extend(panel.plane_ring(MarkKind::Zone, line, pen));
        }
        let mut label = Wanted::new(
            MarkKind::Zone,
            words(zone),
            along(&parts, &SHARES),
            if governs { 25 } else { 120 } + drawn as u32,
        );
        label.size = p::SMALL;
        label.clear = 1.0;
        label.strong = governs;
        label.essential = governs;
        label.colour = p::ZONE;
        panel.want(label);
        drawn += 1;
    }
    if left_out > 0 {
        let zones = if left_out == 1 { "zone" } else { "zones" };
        notes.push(format!(
            "{left_out} {zones}, farther from the area than those drawn"
        ));
    }
}

/// The order of drawing: zones that the area reaches into first, then by distance from it.
fn rank(zone: &ZoneAnswer) -> f64 {
    match zone.margin_m {
        Some(margin) => margin.m(),
        None => f64::MIN,
    }
}

/// Title and whose it is, then how the area lies to it when it governs.
fn words(zone: &ZoneAnswer) -> Vec<String> {
    let short = |text: &str| text.chars().take(MOST_CHARACTERS).collect::<String>();
    let whose = zone.ident.as_ref().unwrap_or(&zone.aerodrome);
    let mut whose = short(whose);
    if let Some(part) = &zone.part {
        whose.push_str(&format!(", {}", short(part)));
    }
    let mut lines = vec![short(&zone.title), whose];
    if zone.may_reach_in() {
        let state = match zone.state {
            ZoneState::Inside => "the area is inside",
            ZoneState::Straddles => "the area straddles it",
            _ => "UNDETERMINED for the area",
        };
        let doubt = match (&zone.applies, &zone.basis) {
            (ZoneApplies::Unknown { .. }, _) => ", if it applies",
            (_, ZoneBasis::Larger { .. }) => " (drawn larger)",
            (_, ZoneBasis::Smaller { .. }) => " (drawn smaller)",
            _ => "",
        };
        lines.push(format!("{state}{doubt}"));
    }
    lines
}
