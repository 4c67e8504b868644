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
use super::{ceiling, clearance};
use crate::answer::Assessment;
use crate::schedule::Vertex;

/// Vertices are marked by squares that no label may hide up to this many, by dots beyond.
const MOST_VERTICES: usize = 150;
/// Radius of such a dot, sheet units.
const DOT: f64 = 1.6;
/// Neighbours closer together than this share a label, sheet units.
const LETTERS_APART: f64 = 22.0;
/// Where there would be more labels than this, neighbours farther apart share one too.
const MOST_LETTERS: usize = 120;
/// A label is tried at so many of the vertices that it names.
const MOST_ANCHORS: usize = 8;
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
pub fn edge(panel: &mut Panel, assessment: &Assessment) {
    let record = &assessment.area.record;
    for polygon in &record.polygons {
        for ring in rings(polygon) {
            panel.chain(MarkKind::Area, &ring, p::AREA_PEN);
        }
    }
    let rings: Vec<Vec<(Point, &Vertex)>> = assessment
        .schedule
        .iter()
        .map(|ring| {
            let vertices = ring.vertices.iter();
            vertices
                .map(|vertex| (panel.view.place(vertex.place), vertex))
                .collect()
        })
        .collect();
    let vertices = || rings.iter().flatten();
    let box_ = extent(vertices().map(|(at, _)| *at));
    if let Some(box_) = box_.filter(|box_| box_.width().max(box_.height()) < SMALL) {
        let all: Vec<&Vertex> = vertices().map(|(_, vertex)| *vertex).collect();
        small(panel, box_.middle(), &all);
        return;
    }
    let is_few = vertices().count() <= MOST_VERTICES;
    for (at, _) in vertices() {
        if is_few {
            mark(panel, *at);
        } else {
            panel.ink(MarkKind::Area, Ink::Disc(*at, DOT, p::AREA));
        }
    }
    letters(panel, &rings);
}

fn mark(panel: &mut Panel, at: Point) {
    let mut ring = Rect::around(at, VERTEX).corners().to_vec();
    ring.extend(ring.first().copied());
    panel.ink(MarkKind::Area, Ink::Fill(vec![ring.clone()], p::PAPER, 1.0));
    panel.ink(MarkKind::Area, Ink::Line(ring, Pen::solid(p::AREA, 1.2)));
    panel.keep_clear(at, 3.4);
}

/// Asks for the letters of all vertices: neighbours too close to be told apart share a label.
fn letters(panel: &mut Panel, rings: &[Vec<(Point, &Vertex)>]) {
    let mut apart = LETTERS_APART;
    let mut runs = runs_within(rings, apart);
    while runs.len() > MOST_LETTERS.max(rings.len()) {
        apart *= 1.5;
        runs = runs_within(rings, apart);
    }
    let is_essential = runs.len() <= MOST_ESSENTIAL;
    for (rank, run) in runs.iter().enumerate() {
        let rank = u32::try_from(rank).unwrap_or(u32::MAX / 4).min(100_000);
        // Few letters come before all but the place that governs; many give way to names.
        let priority = if is_essential { 3 } else { 500_000 + rank };
        let vertices: Vec<&Vertex> = run.iter().map(|(_, vertex)| *vertex).collect();
        let anchors = run.iter().map(|(at, _)| *at).take(MOST_ANCHORS).collect();
        let text = vec![range(&vertices)];
        let mut label = Wanted::new(MarkKind::Area, text, anchors, priority);
        label.in_key = named(&vertices);
        label.strong = true;
        label.clear = VERTEX + 1.0;
        label.colour = p::AREA;
        label.essential = is_essential;
        panel.want(label);
    }
}

/// Runs of neighbours on a ring that lie closer to the first of their run than a distance.
fn runs_within<'a>(
    rings: &'a [Vec<(Point, &'a Vertex)>],
    apart: f64,
) -> Vec<&'a [(Point, &'a Vertex)]> {
    let mut runs = Vec::new();
    for ring in rings {
        let mut rest = ring.as_slice();
        while let Some((first, _)) = rest.first() {
            let is_near = |(at, _): &(Point, &Vertex)| at.distance(*first) < apart;
            let count = rest.iter().take_while(|it| is_near(it)).count().max(1);
            let (run, after) = rest.split_at(count);
            runs.push(run);
            rest = after;
        }
    }
    runs
}

/// The letters of neighbours: `C`, `C, D` or `C\u{2013}F`.
fn range(vertices: &[&Vertex]) -> String {
    match vertices {
        [] => String::new(),
        [one] => one.letter.clone(),
        [one, other] => format!("{}, {}", one.letter, other.letter),
        [first, .., last] => format!("{}\u{2013}{}", first.letter, last.letter),
    }
}

/// The same with what they are: `vertex C`, `vertices C, D`.
fn named(vertices: &[&Vertex]) -> String {
    let noun = if vertices.len() == 1 {
        "vertex"
    } else {
        "vertices"
    };
    format!("{noun} {}", range(vertices))
}

/// A ring about an area that is hardly a dot.
fn small(panel: &mut Panel, at: Point, vertices: &[&Vertex]) {
    let ink = Ink::Circle(at, SMALL, p::AREA_PEN);
    panel.symbol(MarkKind::Area, at, vec![ink], SMALL);
    let text = vec!["operating area".to_owned(), named(vertices)];
    let mut label = Wanted::new(MarkKind::Area, text, vec![at], 3);
    label.essential = true;
    label.clear = SMALL;
    label.colour = p::AREA;
    panel.want(label);
}
