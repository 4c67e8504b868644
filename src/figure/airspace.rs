//! The outlines of airspace volumes on the location panel, with their limits as stated.
//!
//! Not here: whether the area is inside one (see [`crate::airspace::answer::VolumeAnswer`]).

use super::palette as p;
use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::MarkKind;
use super::view::rings;
use crate::airspace::answer::{InHeight, VolumeAnswer};
use crate::answer::Assessment;

/// No more volumes than this are drawn: those over the area first, then the nearest.
const MOST_VOLUMES: usize = 12;

/// Draws the volumes; says in a note how many are left out.
pub fn draw(panel: &mut Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let Some(airspace) = &assessment.airspace else {
        return;
    };
    for (rank, volume) in airspace.volumes.iter().take(MOST_VOLUMES).enumerate() {
        let mut parts = Vec::new();
        for ring in volume.record.polygons.iter().flat_map(rings) {
            parts.extend(panel.chain(MarkKind::Airspace, &ring, p::AIRSPACE_PEN));
        }
        // Every other place than the labels of rings try first.
        let shares: Vec<f64> = (0..16)
            .map(|k| f64::from(k * 5 % 16) / 16.0 + 0.03)
            .collect();
        let mut label = Wanted::new(
            MarkKind::Airspace,
            words(volume),
            along(&parts, &shares),
            30 + rank as u32,
        );
        label.size = 10.0;
        label.clear = 1.0;
        label.colour = p::AIRSPACE;
        // What the operating volume reaches, or may reach, is looked a place for everywhere.
        label.essential = matches!(
            volume.in_height,
            Some(InHeight::Yes | InHeight::Undetermined)
        );
        panel.want(label);
    }
    let beyond = airspace.volumes.len().saturating_sub(MOST_VOLUMES);
    if beyond > 0 {
        notes.push(format!(
            "{beyond} airspace volumes, all but the {MOST_VOLUMES} that lie over the area or nearest"
        ));
    }
}

/// Designator and class, limits, and the answer in height where the area is in it in plan.
fn words(volume: &VolumeAnswer) -> Vec<String> {
    let name = volume.ident.as_ref().unwrap_or(&volume.title);
    let short: String = name.chars().take(24).collect();
    let mut lines = vec![
        match &volume.class {
            Some(class) => format!("{short}, class {class}"),
            None => short,
        },
        format!("{} to {}", volume.lower.stated, volume.upper.stated),
    ];
    match volume.in_height {
        Some(InHeight::Yes) => lines.push("reached by the operating volume".to_owned()),
        Some(InHeight::Undetermined) => lines.push("in height UNDETERMINED".to_owned()),
        Some(InHeight::No) => lines.push("above or below the operating volume".to_owned()),
        None => {}
    }
    lines
}
