//! Obstacle limitation surfaces over the area, on either panel: the outline of each footprint with
//! its name and how low it is over the area, the one that governs drawn heavier and marked.
//!
//! Not here: how low a surface is, or which governs (see [`crate::surfaces::answer::SurfaceAnswer`]).

use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::{MarkKind, Point};
use super::view::rings;
use super::{palette as p, words};
use crate::answer::Assessment;
use crate::surfaces::answer::{SurfaceAnswer, SurfaceKind};

/// No more surfaces than this are drawn on one panel, least gap first.
const MOST_SURFACES: usize = 10;

/// Characters of a name on the line.
const MOST_CHARACTERS: usize = 24;

/// Where labels are tried along an outline, shares of its visible length.
const SHARES: [f64; 11] = [
    0.46, 0.3, 0.6, 0.16, 0.75, 0.08, 0.9, 0.38, 0.68, 0.23, 0.83,
];

/// Draws the surfaces whose edge crosses the panel.
pub fn add(panel: &mut Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let all = assessment.surfaces.iter().flat_map(|it| &it.surfaces);
    let mut seen: Vec<(&SurfaceAnswer, Vec<Vec<Point>>)> = all
        .map(|surface| (surface, edge(panel, surface)))
        .filter(|(_, parts)| !parts.is_empty())
        .collect();
    let left_out = seen.len().saturating_sub(MOST_SURFACES);
    seen.truncate(MOST_SURFACES);
    // The one that governs comes first in the answer and is drawn last, on top.
    for (rank, (surface, parts)) in seen.iter().enumerate().rev() {
        let pen = if surface.governs {
            p::SURFACE_GOVERNS_PEN
        } else {
            p::SURFACE_PEN
        };
        panel.lines(MarkKind::Surface, parts, pen);
        let mut label = Wanted::new(
            MarkKind::Surface,
            label(assessment, surface),
            along(parts, &SHARES),
            if surface.governs { 24 } else { 110 } + rank as u32,
        );
        label.size = p::SMALL;
        label.clear = 1.0;
        label.strong = surface.governs;
        label.essential = surface.governs;
        label.colour = p::SURFACE;
        panel.want(label);
    }
    if left_out > 0 {
        let surfaces = if left_out == 1 { "surface" } else { "surfaces" };
        notes.push(format!(
            "{left_out} obstacle limitation {surfaces}, less low than those drawn"
        ));
    }
}

/// Says why surfaces that were asked for are on no panel.
pub fn note_what_is_left_out(panel: &Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let Some(answer) = &assessment.surfaces else {
        notes.push("Obstacle limitation surfaces: no table was chosen".to_owned());
        return;
    };
    let beyond: Vec<&str> = answer
        .surfaces
        .iter()
        .filter(|surface| edge(panel, surface).is_empty())
        .map(|surface| surface.kind.term())
        .collect();
    if let [first, rest @ ..] = beyond.as_slice() {
        let more = match rest.len() {
            0 => String::new(),
            count => format!(" and {count} more"),
        };
        notes.push(format!(
            "Over the area, their edges beyond the panel: {first} surface{more}"
        ));
    }
}

/// The visible parts of the outline of a surface.
fn edge(panel: &Panel, surface: &SurfaceAnswer) -> Vec<Vec<Point>> {
    surface
        .footprint
        .iter()
        .flatten()
        .flat_map(rings)
        .flat_map(|ring| panel.view.chain(&ring))
        .filter(|part| panel.shows_any_of(part))
        .collect()
}

/// Its name, whose it is, and how low it is over the area.
fn label(assessment: &Assessment, surface: &SurfaceAnswer) -> Vec<String> {
    let ident = assessment
        .aerodromes
        .iter()
        .find(|aerodrome| aerodrome.title == surface.aerodrome)
        .and_then(|aerodrome| aerodrome.record.ident.as_ref());
    let whose = ident.unwrap_or(&surface.aerodrome);
    let mut whose: String = whose.chars().take(MOST_CHARACTERS).collect();
    if let Some(part) = &surface.part {
        whose.push(' ');
        whose.extend(part.chars().take(MOST_CHARACTERS));
    }
    let noun = match surface.kind {
        SurfaceKind::RunwayStrip => "",
        _ => " surface",
    };
    let mut lines = vec![format!("{}{noun}, {whose}", surface.kind.term())];
    if surface.governs {
        lines.push("governs: least gap".to_owned());
    }
    lines.push(format!(
        "lowest here {}",
        words::altitude(surface.lowest_m_amsl)
    ));
    lines
}
