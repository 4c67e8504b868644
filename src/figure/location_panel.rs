//! The location figure: the aerodromes around the area, their rings, and the shortest distances.
//!
//! Not here: the rings of the site figure (see [`super::site_panel`]).

use super::font::Font;
use super::palette as p;
use super::panel::{Panel, along, extent};
use super::place::Wanted;
use super::scene::{Dash, Ink, MarkKind, PanelName, Pen, Point, Rect, Scene};
use super::view::{Bounds, View, pieces, places, rings};
use super::{FigureOptions, symbol, words};
use crate::aerodrome::Runway;
use crate::answer::{AerodromeAnswer, Assessment};
use crate::frame::{LocalFrame, LonLat, destination, geodesic};
use crate::units::Metres;

/// The surroundings are never drawn larger than 1 : this.
const LARGEST_SCALE: f64 = 25_000.0;
/// No more aerodromes than this are shown.
const MOST_AERODROMES: usize = 12;
/// Rings are drawn about this many, nearest first.
const MOST_WITH_RINGS: usize = 3;
/// The distances of this many are labelled even where that costs room, nearest first.
const MOST_ESSENTIAL: usize = 8;
/// Aerodromes farther than this many times the nearest are left to the report, unless within
/// [`ALWAYS_WITHIN_M`].
const FARTHER_THAN_NEAREST: f64 = 3.0;
/// Aerodromes within this are shown whatever the nearest, metres.
const ALWAYS_WITHIN_M: f64 = 10_000.0;
/// Centrelines are carried on so far beyond runway ends: a help for the eye, no rule.
const CENTRELINE_BEYOND: Metres = Metres::of(10_000.0);
/// A designator stands so far beyond its runway end, sheet units.
const DESIGNATOR_BEYOND: f64 = 9.0;
/// Runways are drawn to scale, but no thinner than this, sheet units.
const THINNEST_RUNWAY: f64 = 2.6;
/// A runway wider than this on the sheet is an outline, sheet units.
const WIDE_RUNWAY: f64 = 6.0;
/// The area is ringed when smaller than this on the sheet, sheet units.
const SMALL: f64 = 9.0;

/// The aerodromes of the panel: the nearest, and others not much farther.
fn shown(assessment: &Assessment) -> Vec<&AerodromeAnswer> {
    let distance = |a: &&AerodromeAnswer| a.nearest().map(|d| d.distance_m.m());
    let nearest = assessment
        .aerodromes
        .iter()
        .filter_map(|a| distance(&a))
        .fold(f64::INFINITY, f64::min);
    let limit = (nearest * FARTHER_THAN_NEAREST).max(ALWAYS_WITHIN_M);
    assessment
        .aerodromes
        .iter()
        .filter(|a| distance(a).is_some_and(|d| d <= limit))
        .take(MOST_AERODROMES)
        .collect()
}

/// The view of the location panel: the area, and the aerodromes shown.
pub fn view(assessment: &Assessment, frame: LocalFrame, rect: Rect) -> View {
    let area = assessment
        .area
        .record
        .rings()
        .flat_map(|ring| pieces(&ring));
    let aerodromes = shown(assessment).into_iter().flat_map(|aerodrome| {
        let witness = aerodrome.nearest().map(|d| d.from);
        let record = &aerodrome.record;
        record
            .reference_point
            .into_iter()
            .chain(witness)
            .chain(super::rings::runway_ends(record))
            .collect::<Vec<_>>()
    });
    let all = area.chain(aerodromes).map(|place| frame.to_plane(place));
    let bounds = Bounds::of(all).unwrap_or(Bounds {
        low: Default::default(),
        high: Default::default(),
    });
    let around = (bounds.diagonal() * 0.22).max(300.0);
    View::fit(frame, bounds.grown(around), rect, LARGEST_SCALE)
}

/// Draws the location panel; returns how many labels were left out.
pub fn add(
    scene: &mut Scene,
    assessment: &Assessment,
    view: View,
    site: &View,
    options: &FigureOptions,
    font: &Font,
    notes: &mut Vec<String>,
) -> usize {
    let mut panel = Panel::on_background(PanelName::Location, view, scene, font, options, notes);
    let aerodromes = shown(assessment);
    for (rank, aerodrome) in aerodromes.iter().take(MOST_WITH_RINGS).enumerate() {
        draw_rings(&mut panel, aerodrome, rank);
    }
    super::site_panel::on_request(&mut panel, assessment, options, notes);
    area(&mut panel, assessment);
    site_extent(&mut panel, site);
    for (rank, aerodrome) in aerodromes.iter().enumerate() {
        for runway in aerodrome.record.runways.iter().filter(|it| !it.closed) {
            draw_beyond_ends(&mut panel, runway, rank);
        }
        draw_aerodrome(&mut panel, aerodrome);
        draw_distance(&mut panel, aerodrome, rank);
    }
    let unknown = aerodromes
        .iter()
        .flat_map(|aerodrome| &aerodrome.rings)
        .filter(|ring| ring.measured_from.is_none())
        .count();
    if unknown > 0 {
        let rings = if unknown == 1 { "ring" } else { "rings" };
        notes.push(format!(
            "{unknown} distance {rings} from a reference that the data do not give"
        ));
    }
    let without_rings = aerodromes
        .iter()
        .skip(MOST_WITH_RINGS)
        .filter(|a| !a.rings.is_empty())
        .count();
    if without_rings > 0 {
        notes.push(format!(
            "Rings about {without_rings} of the aerodromes shown, all but the {MOST_WITH_RINGS} nearest"
        ));
    }
    let beyond = assessment.aerodromes.len() - aerodromes.len();
    if beyond > 0 {
        notes.push(format!(
            "{beyond} of {} aerodromes within {:.0} km: farther out, or without a position",
            assessment.aerodromes.len(),
            assessment.search_radius_m.m() / 1000.0
        ));
    }
    if assessment.aerodromes.is_empty() {
        let text = vec![
            "no aerodrome in the data".to_owned(),
            format!("within {:.0} km", assessment.search_radius_m.m() / 1000.0),
        ];
        let rect = panel.view.rect;
        let above = Point::new(rect.middle().x, rect.top + rect.height() / 6.0);
        let mut label = Wanted::new(MarkKind::Aerodrome, text, vec![above], 1);
        label.clear = 0.0;
        label.essential = true;
        panel.want(label);
    }
    panel.finish()
}

fn draw_rings(panel: &mut Panel, aerodrome: &AerodromeAnswer, rank: usize) {
    for (index, ring) in aerodrome.rings.iter().enumerate() {
        let mut parts = Vec::new();
        for line in super::rings::lines(&panel.view.frame, aerodrome, ring) {
            parts.extend(panel.plane_ring(MarkKind::Ring, &line, p::RING_PEN));
        }
        let shares: Vec<f64> = (0..16).map(|k| f64::from(k * 7 % 16) / 16.0).collect();
        let mut label = Wanted::new(
            MarkKind::Ring,
            super::rings::words(aerodrome, ring),
            along(&parts, &shares),
            100 + 10 * rank as u32 + index as u32,
        );
        label.size = p::SMALL;
        label.clear = 1.0;
        label.colour = p::RING;
        panel.want(label);
    }
}

fn area(panel: &mut Panel, assessment: &Assessment) {
    let mut corners: Vec<Point> = Vec::new();
    for polygon in &assessment.area.record.polygons {
        let cut = panel.view.rings(polygon);
        panel.ink(MarkKind::Area, Ink::Fill(cut.clone(), p::AREA, 0.85));
        corners.extend(cut.iter().flatten());
        for ring in rings(polygon) {
            let parts = panel.view.chain(&ring);
            panel.lines(MarkKind::Area, &parts, Pen::solid(p::AREA, 1.2));
        }
    }
    let Some(box_) = extent(corners.iter().copied()) else {
        return;
    };
    let half = box_.width().max(box_.height()) / 2.0;
    let at = box_.middle();
    let mut inks = Vec::new();
    if half < SMALL {
        inks.push(Ink::Circle(at, SMALL, p::AREA_PEN));
    }
    panel.symbol(MarkKind::Area, at, inks, half.max(SMALL));
    let text = vec!["operating area".to_owned()];
    let mut label = Wanted::new(MarkKind::Area, text, vec![at], 20);
    label.strong = true;
    label.colour = p::AREA;
    label.clear = half.clamp(SMALL, 40.0);
    panel.want(label);
}

/// The extent of the site figure, when it can be told from the area.
fn site_extent(panel: &mut Panel, site: &View) {
    let window = site.window();
    let corners = [
        (window.low.x, window.low.y),
        (window.high.x, window.low.y),
        (window.high.x, window.high.y),
        (window.low.x, window.high.y),
        (window.low.x, window.low.y),
    ]
    .map(|(x, y)| panel.view.on_sheet(crate::frame::Xy::new(x, y)));
    let Some(box_) = extent(corners) else {
        return;
    };
    if box_.width() < 24.0 || !panel.view.rect.holds(&box_) {
        return;
    }
    let pen = Pen::dashed(p::SOFT_INK, 0.9, Dash::Short);
    panel.lines(MarkKind::Extent, &[corners.to_vec()], pen);
    let anchor = Point::new(box_.right, box_.bottom);
    let mut label = Wanted::new(
        MarkKind::Extent,
        vec!["site figure".into()],
        vec![anchor, Point::new(box_.left, box_.top)],
        300,
    );
    label.size = p::SMALL;
    label.colour = p::SOFT_INK;
    label.clear = 1.0;
    panel.want(label);
}

/// Outlines, runways and reference point of an aerodrome, on either panel.
pub fn draw_aerodrome(panel: &mut Panel, aerodrome: &AerodromeAnswer) {
    let record = &aerodrome.record;
    for outline in [&record.boundary, &record.movement_area]
        .into_iter()
        .flatten()
    {
        for polygon in outline {
            if panel.name == PanelName::Location {
                let cut = panel.view.rings(polygon);
                panel.ink(MarkKind::Aerodrome, Ink::Fill(cut, p::AERODROME, 0.12));
            }
            let ring = places(polygon.exterior());
            panel.chain(MarkKind::Aerodrome, &ring, Pen::solid(p::AERODROME, 0.8));
        }
    }
    for runway in &record.runways {
        let [low, high] = &runway.ends;
        let ends: Option<[LonLat; 2]> = low.position.zip(high.position).map(Into::into);
        if let Some(ends) = ends {
            draw_runway(panel, runway, ends);
        }
    }
    if let Some(place) = record.reference_point {
        let at = panel.view.place(place);
        panel.symbol(
            MarkKind::Aerodrome,
            at,
            symbol::aerodrome(at, aerodrome.kind),
            10.0,
        );
    }
}

/// A runway to scale: a line, or where it is wide on the sheet an outline, so that it does not weigh
/// more than what is asked about.
fn draw_runway(panel: &mut Panel, runway: &Runway, ends: [LonLat; 2]) {
    let dash = if runway.closed {
        Dash::Short
    } else {
        Dash::Solid
    };
    let width = runway.width.map_or(0.0, |it| it.m() * panel.view.scale);
    let [from, to] = ends.map(|place| panel.view.place(place));
    let length = from.distance(to);
    if width < WIDE_RUNWAY || length <= 0.0 {
        let pen = Pen::dashed(p::AERODROME, width.max(THINNEST_RUNWAY), dash);
        panel.chain(MarkKind::Aerodrome, &ends, pen);
        return;
    }
    let half = width / 2.0 / length;
    let (x, y) = ((from.y - to.y) * half, (to.x - from.x) * half);
    let ring = vec![
        from.shifted(x, y),
        to.shifted(x, y),
        to.shifted(-x, -y),
        from.shifted(-x, -y),
        from.shifted(x, y),
    ];
    let inside = panel.view.cut_ring(ring.clone());
    if !runway.closed {
        panel.ink(
            MarkKind::Aerodrome,
            Ink::Fill(vec![inside], p::RUNWAY_TINT, 1.0),
        );
    }
    let parts = panel.view.clipped(&ring);
    panel.lines(
        MarkKind::Aerodrome,
        &parts,
        Pen {
            dash,
            ..p::RUNWAY_PEN
        },
    );
}

/// Beyond each end of a runway: its designator, and the extended centreline.
fn draw_beyond_ends(panel: &mut Panel, runway: &Runway, rank: usize) {
    let [Some(low), Some(high)] = [0, 1].map(|end: usize| runway.ends[end].position) else {
        return;
    };
    for (end, from, to) in [(0, high, low), (1, low, high)] {
        let line = geodesic(from, to);
        if line.distance.m() <= 0.0 {
            continue;
        }
        let beyond = destination(to, line.bearing_onward, CENTRELINE_BEYOND);
        panel.chain(MarkKind::Aerodrome, &[to, beyond], p::CENTRELINE_PEN);
        // A runway that is a dot on the sheet has no room for names at its ends.
        let [at, inner] = [to, from].map(|place| panel.view.place(place));
        let length = at.distance(inner);
        let Some(name) = runway.ends[end].designator.clone() else {
            continue;
        };
        if length < 3.0 * DESIGNATOR_BEYOND || !panel.shows(at) {
            continue;
        }
        let share = DESIGNATOR_BEYOND / length;
        let anchor = at.shifted((at.x - inner.x) * share, (at.y - inner.y) * share);
        let mut label = Wanted::new(
            MarkKind::Aerodrome,
            vec![name],
            vec![anchor],
            40 + rank as u32,
        );
        label.size = p::SMALL;
        label.colour = p::AERODROME;
        label.clear = 1.0;
        panel.want(label);
    }
}

/// The shortest line from the aerodrome to the area, with its distance and bearings.
fn draw_distance(panel: &mut Panel, aerodrome: &AerodromeAnswer, rank: usize) {
    let Some((reference, answer)) = aerodrome
        .references
        .iter()
        .filter_map(|r| Some((r.reference, r.distance.as_ref()?)))
        .min_by(|a, b| a.1.distance_m.m().total_cmp(&b.1.distance_m.m()))
    else {
        return;
    };
    let title = aerodrome.title.clone();
    let from_what = match &answer.part {
        Some(part) => format!("from {} {part}", reference.term()),
        None => format!("from {}", reference.term()),
    };
    let mut lines = vec![title, words::distance(answer.distance_m)];
    if answer.distance_m.m() <= 0.0 {
        lines = vec![lines.swap_remove(0), "0 m: the area is on it".to_owned()];
    } else if let Some(bearing) = words::bearing(answer) {
        lines.push(bearing);
    }
    lines.push(from_what);
    let line = [answer.from, answer.to].map(|place| panel.view.place(place));
    let parts = panel.view.clipped(&line);
    panel.lines(MarkKind::DistanceLine, &parts, p::DISTANCE_PEN);
    let [from, to] = line;
    let inks: Vec<Ink> = symbol::arrow_head(from, to, 9.0, p::AERODROME)
        .into_iter()
        .collect();
    for ink in inks {
        panel.ink(MarkKind::DistanceLine, ink);
    }
    let mut anchors: Vec<Point> = aerodrome
        .record
        .reference_point
        .map(|place| panel.view.place(place))
        .into_iter()
        .collect();
    anchors.push(from);
    anchors.extend([0.2, 0.4].map(|share| {
        Point::new(
            from.x + share * (to.x - from.x),
            from.y + share * (to.y - from.y),
        )
    }));
    let mut label = Wanted::new(MarkKind::DistanceLine, lines, anchors, 10 + rank as u32);
    label.size = p::LABEL;
    label.strong = true;
    label.clear = 9.0;
    label.colour = p::AERODROME;
    label.anchor_cost = 1.5;
    label.essential = rank < MOST_ESSENTIAL;
    panel.want(label);
}
