//! What lies over a cut: obstacle limitation surfaces and floors of airspace.

use super::Asked;
use super::line::Cut;
use super::sample::Sampled;
use crate::answer::{SectionFloor, SectionSurface};
use crate::assess::aerodromes::{AERODROME_EXTENT_M, some_place};
use crate::field::Field;
use crate::field::floor::{Floors, Vertical};
use crate::frame::LonLat;
use crate::read::feature::Bounds;
use crate::read::window_about;
use crate::surfaces::{FARTHEST_REACH, of_aerodrome};
use crate::units::Metres;

/// The surfaces over the cut, when a table was chosen.
pub fn surfaces(
    asked: &Asked,
    cut: &Cut,
    positions: &[f64],
    notes: &mut Vec<String>,
) -> Vec<SectionSurface> {
    let Some(table) = &asked.question.surfaces else {
        return Vec::new();
    };
    if !asked.ground.is_amsl() {
        notes.push(
            "obstacle limitation surfaces are AMSL and not shown on assumed flat ground".to_owned(),
        );
        return Vec::new();
    }
    let within = FARTHEST_REACH + Metres::of(cut.farthest() + AERODROME_EXTENT_M);
    let frame = asked.plan.frame();
    let mut answers = Vec::new();
    for aerodrome in &asked.layers.aerodromes {
        let is_near = some_place(aerodrome).is_some_and(|place| frame.is_within(place, within));
        if !is_near {
            continue;
        }
        for surface in of_aerodrome(table, aerodrome, frame).surfaces {
            let mut sampled = Sampled::default();
            sampled.add(positions, &|at| surface.surface.at(cut.point(at)));
            if !sampled.runs.is_empty() {
                answers.push(SectionSurface {
                    aerodrome: aerodrome.title(),
                    kind: surface.kind,
                    part: surface.part,
                    runs: sampled.runs,
                });
            }
        }
    }
    answers
}

/// The floors of airspace volumes over the cut, within the search radius of the area.
pub fn floors(asked: &Asked, cut: &Cut, positions: &[f64]) -> Vec<SectionFloor> {
    // Outlines are laid out within the search radius only.
    let window = window_about(&asked.question.area, asked.question.search_radius);
    let is_told = |place: LonLat| {
        window.touches(&Bounds {
            west: place.lon(),
            south: place.lat(),
            east: place.lon(),
            north: place.lat(),
        })
    };
    asked
        .overhead
        .every_floor()
        .into_iter()
        .filter_map(|(title, lower, volume)| {
            let field = Floors {
                leaf: 0,
                volumes: std::slice::from_ref(&volume),
                ground: &asked.ground.ground,
                vertical: Vertical::Amsl,
            };
            let mut sampled = Sampled::default();
            sampled.add(positions, &|at| {
                if is_told(cut.place(at)) {
                    field.at(cut.point(at))
                } else {
                    f64::INFINITY
                }
            });
            let is_over = !sampled.runs.is_empty() || !sampled.unknown.is_empty();
            is_over.then_some(SectionFloor {
                title,
                lower,
                runs: sampled.runs,
                not_known: sampled.unknown,
            })
        })
        .collect()
}
