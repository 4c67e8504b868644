//! Obstacle limitation surfaces over the area: how low, how much of it, and the gap to the ceiling.

use crate::answer::Assessment;
use crate::surfaces::answer::{GapFrom, Penetration, PlanesAnswer, SurfaceAnswer, SurfacesAnswer};
use crate::units::Metres;

use super::number::{MINUS, altitude, count, grouped, height, metres, place, share_down, share_up};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 14;

/// Writes the section; nothing when no table was chosen, which NOT ASSESSED says.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let Some(answer) = &assessment.surfaces else {
        return;
    };
    let heading = format!(
        "OBSTACLE LIMITATION SURFACES over the area: {}",
        answer.surfaces.len()
    );
    page.section(&heading);
    let table = format!(
        "{}: {}; {}",
        harmless(&answer.table),
        harmless(&answer.title),
        harmless(&answer.edition)
    );
    page.line(2, &table);
    if answer.surfaces.is_empty() {
        page.prose(
            2,
            "None of the surfaces that could be laid out lies over the area. That does not say \
             that there is none.",
        );
    } else {
        page.prose(2, &counted_from(answer));
    }
    for surface in &answer.surfaces {
        write_surface(page, surface, answer.shielding_planes.is_some());
    }
    write_assumed(page, answer);
    if let Some(planes) = &answer.shielding_planes {
        write_planes(page, planes);
    }
    for row in &answer.unconfirmed {
        let words = row.mark.words().to_uppercase();
        let text = format!("{words}: {}; {}", harmless(&row.row), harmless(&row.source));
        page.point(2, &text);
    }
    page.prose(2, &harmless(&answer.caution));
}

fn counted_from(answer: &SurfacesAnswer) -> String {
    let from = match answer.from {
        GapFrom::Ceiling { ceiling_m_amsl } => {
            format!("the ceiling, {} AMSL,", altitude(ceiling_m_amsl))
        }
        GapFrom::Wish { height_m_agl } => format!(
            "the wished height of {} above ground, as the ceiling is undetermined,",
            height(height_m_agl)
        ),
        GapFrom::Nothing => {
            return "Gaps are UNDETERMINED: neither a ceiling AMSL nor a wished height with known \
                    ground."
                .to_owned();
        }
    };
    format!(
        "Gaps are vertical, from {from} up to the surface, rounded down; {MINUS} where it lies \
         above the surface. Least gap first: that one governs."
    )
}

fn write_surface(page: &mut Page, surface: &SurfaceAnswer, by_planes: bool) {
    let part = surface
        .part
        .as_ref()
        .map_or(String::new(), |part| format!(" {}", harmless(part)));
    let mark = if surface.governs { " · governs" } else { "" };
    let title = format!(
        "{} · {}{part}{mark}",
        harmless(&surface.aerodrome),
        surface.kind.term()
    );
    page.line(2, &title);
    page.labelled(
        4,
        "over",
        VALUE,
        &format!("{} of the area", share_up(surface.share_under)),
    );
    let lowest = format!("{} AMSL", altitude(surface.lowest_m_amsl));
    page.labelled(4, "lowest", VALUE, &lowest);
    page.labelled(6, "at", VALUE, &place(surface.lowest_at));
    match surface.gap_m {
        None => page.labelled(4, "gap", VALUE, "UNDETERMINED"),
        Some(gap) => page.labelled(4, "gap", VALUE, &signed(gap)),
    }
    if let Some(at) = surface.gap_at.filter(|at| *at != surface.lowest_at) {
        page.labelled(6, "at", VALUE, &place(at));
    }
    if let Some(penetration) = &surface.penetration {
        let text = format!("the surface in {} of the area", share_up(penetration.share));
        page.labelled(4, "above", VALUE, &text);
        if by_planes {
            page.labelled(4, "shielded", VALUE, &shielded(penetration));
        }
    }
    if !surface.assumed.is_empty() {
        page.labelled(4, "assumed", VALUE, "data are missing, see below");
    }
}

/// How much of a penetration is below the shielding planes.
fn shielded(penetration: &Penetration) -> String {
    match &penetration.shielded {
        None => "UNDETERMINED: the place of a runway is not known".to_owned(),
        Some(found) => format!(
            "at least {} of the area is above the surface and below the shielding planes; up to \
             {} is above both",
            share_down(found.share),
            share_up(found.unshielded_share)
        ),
    }
}

/// The rule of shielding planes, with its mark.
fn write_planes(page: &mut Page, planes: &PlanesAnswer) {
    let percent = (planes.slope_towards_runway * 1e4).round() / 1e2;
    let text = format!(
        "{}: {}: level behind an obstacle, falling {percent} % towards each runway, no wider than \
         the obstacle, {} to either side along ({}); {} within that of the area. {}; {}. {}",
        planes.mark.words().to_uppercase(),
        harmless(&planes.title),
        metres(planes.reach_along_m.m(), 0),
        harmless(&planes.reach_along_source),
        count(planes.obstacles, "obstacle"),
        harmless(&planes.citation),
        harmless(&planes.edition),
        harmless(&planes.caution)
    );
    page.point(2, &text);
}

/// A gap in metres, rounded down to the decimetre, its sign always shown.
fn signed(gap: Metres) -> String {
    let rounded = gap.m_down(1);
    let sign = if rounded > 0.0 { "+" } else { "" };
    format!(
        "{sign}{} ({} ft)",
        metres(rounded, 1),
        grouped(gap.ft_down(), 0)
    )
}

/// What was taken for want of data, each once.
fn write_assumed(page: &mut Page, answer: &SurfacesAnswer) {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    for surface in &answer.surfaces {
        for assumed in &surface.assumed {
            let one = (surface.aerodrome.as_str(), assumed.as_str());
            if !seen.contains(&one) {
                seen.push(one);
            }
        }
    }
    if !seen.is_empty() {
        page.line(2, "Taken for want of data:");
    }
    for (aerodrome, assumed) in seen {
        page.point(
            2,
            &format!("{}: {}", harmless(aerodrome), harmless(assumed)),
        );
    }
}
