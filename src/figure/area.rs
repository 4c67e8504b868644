//! The operating area on the site figure: tints, hatch, outline and lettered vertices.
//!
//! Letters are those of the coordinate schedule. Not here: what takes part of the area away (see
//! [`super::clearance`]) and bands of the ceiling (see [`super::ceiling`]).

use super::ceiling::Band;
use super::palette as p;
use super::panel::{Panel, extent};
use super::place::Wanted;
use super::scene::{Ink, MarkKind, Pen, Point, Rect};
use super::view::rings;
use super::{ceiling, clearance, words};
use crate::answer::Assessment;
use crate::schedule::Vertex;

/// Vertices are marked one by one up to this many.
const MOST_VERTICES: usize = 150;
/// Letters are kept this far from the last one on the ring, sheet units: closer ones cannot be told
/// apart.
const LETTERS_APART: f64 = 22.0;
/// Letters up to this many are found a place wherever there is one.
const MOST_ESSENTIAL: usize = 30;
/// An area smaller than this on the sheet gets a ring around it, sheet units.
const SMALL: f64 = 16.0;
/// Half the side of the square that marks a vertex.
const VERTEX: f64 = 2.6;

/// The tints of the area, from below: its own, the usable area or the bands of the ceiling, and
/// the hatch.
pub fn inside(panel: &mut Panel, assessment: &Assessment, bands: &[Band]) {
    let polygons = &assessment.area.record.polygons;
    let (tint, opacity) = if bands.is_empty() {
        (p::AREA_TINT, 0.7)
    } else {
        (p::PAPER, 1.0)
    };
    for polygon in polygons {
        let cut = panel.view.rings(polygon);
        panel.ink(MarkKind::Area, Ink::Fill(cut, tint, opacity));
    }
    if bands.is_empty() {
        clearance::tint_usable(panel, assessment);
    } else {
        ceiling::tint(panel, bands);
    }
    let apart = if bands.is_empty() { 10.0 } else { 20.0 };
    for polygon in polygons {
        let cut = panel.view.rings(polygon);
        panel.hatch(MarkKind::Area, &cut, 45.0, apart, p::AREA_HATCH);
    }
}

/// The outline with its vertices and their letters.
pub fn edge(panel: &mut Panel, assessment: &Assessment, notes: &mut Vec<String>) {
    let record = &assessment.area.record;
    for polygon in &record.polygons {
        for ring in rings(polygon) {
            panel.chain(MarkKind::Area, &ring, p::AREA_PEN);
        }
    }
    let vertices: Vec<(Point, &Vertex)> = assessment
        .schedule
        .iter()
        .flat_map(|ring| &ring.vertices)
        .map(|vertex| (panel.view.place(vertex.place), vertex))
        .collect();
    let box_ = extent(vertices.iter().map(|(at, _)| *at));
    if let Some(box_) = box_.filter(|box_| box_.width().max(box_.height()) < SMALL) {
        small(panel, box_.middle());
        notes.push("Letters of the vertices, which lie too close together: see the report".into());
        return;
    }
    if vertices.len() <= MOST_VERTICES {
        for (at, _) in &vertices {
            mark(panel, *at);
        }
    }
    letters(panel, &vertices, notes);
}

fn mark(panel: &mut Panel, at: Point) {
    let mut ring = Rect::around(at, VERTEX).corners().to_vec();
    ring.extend(ring.first().copied());
    panel.ink(MarkKind::Area, Ink::Fill(vec![ring.clone()], p::PAPER, 1.0));
    panel.ink(MarkKind::Area, Ink::Line(ring, Pen::solid(p::AREA, 1.2)));
    panel.keep_clear(at, 3.4);
}

/// Asks for the letters of vertices in view that can be told apart.
fn letters(panel: &mut Panel, vertices: &[(Point, &Vertex)], notes: &mut Vec<String>) {
    let in_view: Vec<&(Point, &Vertex)> =
        vertices.iter().filter(|(at, _)| panel.shows(*at)).collect();
    let mut lettered: Vec<&(Point, &Vertex)> = Vec::new();
    for vertex in &in_view {
        let is_apart = lettered
            .iter()
            .all(|(at, _)| at.distance(vertex.0) >= LETTERS_APART);
        if is_apart {
            lettered.push(vertex);
        }
    }
    let is_essential = lettered.len() <= MOST_ESSENTIAL;
    for (rank, (at, vertex)) in lettered.iter().enumerate() {
        let rank = u32::try_from(rank).unwrap_or(u32::MAX / 4).min(100_000);
        // Few letters come before all but the place that governs; many give way to names.
        let priority = if is_essential { 3 } else { 500_000 + rank };
        let text = vec![vertex.letter.clone()];
        let mut label = Wanted::new(MarkKind::Area, text, vec![*at], priority);
        label.in_key = format!("vertex {}", vertex.letter);
        label.strong = true;
        label.clear = VERTEX + 1.0;
        label.colour = p::AREA;
        label.essential = is_essential;
        panel.want(label);
    }
    let left = in_view.len() - lettered.len();
    if left > 0 {
        notes.push(format!(
            "Letters of {} {} too close to others: the report has all",
            words::grouped(left as f64),
            if left == 1 { "vertex" } else { "vertices" }
        ));
    }
}

/// A ring about an area that is hardly a dot.
fn small(panel: &mut Panel, at: Point) {
    let ink = Ink::Circle(at, SMALL, p::AREA_PEN);
    panel.symbol(MarkKind::Area, at, vec![ink], SMALL);
    let text = vec!["operating area".to_owned()];
    let mut label = Wanted::new(MarkKind::Area, text, vec![at], 15);
    label.clear = SMALL;
    label.colour = p::AREA;
    panel.want(label);
}
