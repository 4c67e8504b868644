//! The outlines of airspace volumes with their limits as stated: all on the location panel, the one
//! that governs on the site panel too, drawn heavier and marked.
//!
//! Not here: whether the area is inside one (see [`crate::airspace::answer::VolumeAnswer`]).

use super::palette as p;
use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::{MarkKind, Point};
use super::view::rings;
use crate::airspace::answer::{InHeight, InPlan, VolumeAnswer};
use crate::answer::Assessment;

/// No more volumes than this are drawn: the one that governs first, then those over the area, then
/// the nearest.
const MOST_VOLUMES: usize = 12;

/// The volumes, those that govern first.
fn ranked(assessment: &Assessment) -> Vec<&VolumeAnswer> {
    let mut ranked: Vec<&VolumeAnswer> = assessment
        .airspace
        .iter()
        .flat_map(|it| &it.volumes)
        .collect();
    ranked.sort_by_key(|volume| !volume.governs);
    ranked
}

/// Draws the volumes whose outline crosses the panel.
pub fn add(panel: &mut Panel, assessment: &Assessment) {
    for (rank, volume) in ranked(assessment)
        .into_iter()
        .take(MOST_VOLUMES)
        .enumerate()
    {
        let governs = volume.governs;
        let parts = outline(panel, volume);
        let pen = if governs {
            p::AIRSPACE_GOVERNS_PEN
        } else {
            p::AIRSPACE_PEN
        };
        panel.lines(MarkKind::Airspace, &parts, pen);
        // Every other place than the labels of rings try first.
        let shares: Vec<f64> = (0..16)
            .map(|k| f64::from(k * 5 % 16) / 16.0 + 0.03)
            .collect();
        let mut label = Wanted::new(
            MarkKind::Airspace,
            words(volume, governs),
            along(&parts, &shares),
            if governs { 23 } else { 30 } + rank as u32,
        );
        label.size = p::SMALL;
        label.clear = 1.0;
        label.strong = governs;
        label.colour = p::AIRSPACE;
        // What the operating volume reaches, or may reach, is looked a place for everywhere.
        label.essential = matches!(
            volume.in_height,
            Some(InHeight::Yes | InHeight::Undetermined)
        );
        panel.want(label);
    }
}

/// Says what of the airspace asked for is on no panel.
pub fn note_what_is_left_out(panel: &Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let Some(airspace) = &assessment.airspace else {
        notes.push("Airspace: the folder has no airspace layer".to_owned());
        return;
    };
    let beyond = airspace.volumes.len().saturating_sub(MOST_VOLUMES);
    if beyond > 0 {
        notes.push(format!(
            "{beyond} airspace volumes, all but the {MOST_VOLUMES} that lie over the area or nearest"
        ));
    }
    let unseen: Vec<String> = airspace
        .volumes
        .iter()
        .filter(|volume| volume.in_plan != InPlan::Outside && outline(panel, volume).is_empty())
        .map(name)
        .collect();
    if let [first, rest @ ..] = unseen.as_slice() {
        let more = match rest.len() {
            0 => String::new(),
            count => format!(" and {count} more"),
        };
        notes.push(format!(
            "Over the area, their outlines beyond the panel: {first}{more}"
        ));
    }
}

/// Says how many volumes the operating volume reaches, or may, where none is drawn.
pub fn note_what_was_not_asked_for(assessment: &Assessment, notes: &mut Vec<String>) {
    let volumes = assessment.airspace.iter().flat_map(|it| &it.volumes);
    let reached = volumes
        .filter(|volume| {
            matches!(
                volume.in_height,
                Some(InHeight::Yes | InHeight::Undetermined)
            )
        })
        .count();
    if reached > 0 {
        let what = if reached == 1 { "volume" } else { "volumes" };
        notes.push(format!(
            "Airspace, not asked for: {reached} {what} that the operation reaches, or may"
        ));
    }
}

/// The visible parts of the outline of a volume.
fn outline(panel: &Panel, volume: &VolumeAnswer) -> Vec<Vec<Point>> {
    let rings = volume.record.polygons.iter().flat_map(rings);
    rings
        .flat_map(|ring| panel.view.chain(&ring))
        .filter(|part| panel.shows_any_of(part))
        .collect()
}

/// Designator or title, cut.
fn name(volume: &VolumeAnswer) -> String {
    let name = volume.ident.as_ref().unwrap_or(&volume.title);
    name.chars().take(24).collect()
}

/// Designator and class, limits, and the answer in height where the area is in it in plan.
fn words(volume: &VolumeAnswer, governs: bool) -> Vec<String> {
    let name = name(volume);
    let mut lines = vec![
        match &volume.class {
            Some(class) => format!("{name}, class {class}"),
            None => name,
        },
        format!("{} to {}", volume.lower.stated, volume.upper.stated),
    ];
    match volume.in_height {
        Some(InHeight::Yes) if governs => lines.push("governs: lowest floor reached".to_owned()),
        Some(InHeight::Yes) => lines.push("reached by the operating volume".to_owned()),
        Some(InHeight::Undetermined) => lines.push("in height UNDETERMINED".to_owned()),
        Some(InHeight::No) => lines.push("above or below the operating volume".to_owned()),
        None => {}
    }
    lines
}
