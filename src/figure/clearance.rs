//! The electrical clearance band and the usable area on the site figure.

use geo::{Area, InteriorPoint};

use super::palette as p;
use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::{Ink, MarkKind, Point};
use super::view::rings;
use super::words;
use crate::answer::{Assessment, LineClearanceAnswer, UsableAnswer};
use crate::frame::LonLat;
use crate::obstacle::Shape;
use crate::units::Metres;

/// The bands of this many lines are labelled, nearest first.
const MOST_LABELLED: usize = 3;

/// Tints the usable area; drawn under the hatch of the area.
pub fn tint_usable(panel: &mut Panel, assessment: &Assessment) {
    let UsableAnswer::Determined { polygons, .. } = &assessment.usable else {
        return;
    };
    for polygon in polygons {
        let cut = panel.view.rings(polygon);
        panel.ink(MarkKind::Usable, Ink::Fill(cut, p::USABLE_TINT, 1.0));
    }
}

/// Draws the edge of the usable area and says how large it is.
pub fn usable(panel: &mut Panel, assessment: &Assessment) {
    let UsableAnswer::Determined {
        polygons,
        area_m2,
        share,
        ..
    } = &assessment.usable
    else {
        return;
    };
    let mut parts: Vec<(f64, Point)> = Vec::new();
    for polygon in polygons {
        for ring in rings(polygon) {
            panel.chain(MarkKind::Usable, &ring, p::USABLE_PEN);
        }
        if let Some(point) = polygon.interior_point() {
            let place = LonLat::wrapped(point.x(), point.y());
            parts.push((polygon.unsigned_area(), panel.view.place(place)));
        }
    }
    parts.sort_by(|a, b| b.0.total_cmp(&a.0));
    let anchors: Vec<Point> = parts.into_iter().map(|(_, at)| at).take(4).collect();
    let parts = match polygons.0.len() {
        1 => String::new(),
        count => format!(" in {count} parts"),
    };
    let lines = vec![
        "usable area".to_owned(),
        format!(
            "{}, {}{parts}",
            words::square_metres_down(*area_m2),
            words::share_down(*share)
        ),
    ];
    let mut label = Wanted::new(MarkKind::Usable, lines, anchors, 90);
    label.colour = p::AREA;
    label.size = p::SMALL;
    panel.want(label);
}

/// Draws the band of all lines and labels it line by line.
pub fn band(panel: &mut Panel, assessment: &Assessment) {
    let clearance = &assessment.clearance;
    let mut edges: Vec<Vec<Point>> = Vec::new();
    for polygon in &clearance.band {
        let cut = panel.view.rings(polygon);
        panel.ink(
            MarkKind::Clearance,
            Ink::Fill(cut.clone(), p::CLEARANCE_TINT, 0.55),
        );
        panel.hatch(MarkKind::Clearance, &cut, 135.0, 7.0, p::CLEARANCE_HATCH);
        for ring in rings(polygon) {
            edges.extend(panel.chain(MarkKind::Clearance, &ring, p::CLEARANCE_PEN));
        }
    }
    let labelled = clearance
        .lines
        .iter()
        .filter(|line| line.half_width_m.is_some())
        .take(MOST_LABELLED);
    for (rank, line) in labelled.enumerate() {
        let Some(text) = words_of(line) else { continue };
        let anchors = anchors(panel, assessment, line, &edges);
        let rank = u32::try_from(rank).unwrap_or(0);
        let mut label = Wanted::new(MarkKind::Clearance, text, anchors, 110 + rank);
        label.colour = p::CLEARANCE;
        label.size = p::SMALL;
        panel.want(label);
    }
}

fn words_of(line: &LineClearanceAnswer) -> Option<Vec<String>> {
    let up = |length: Metres| format!("{:.1} m", length.m_up(1));
    Some(vec![
        format!(
            "electrical clearance band {} each side",
            up(line.half_width_m?)
        ),
        format!("{} from the wires of {}", up(line.clearance_m?), line.title),
    ])
}

/// Points on the edge of the band that belong to a line: those nearest to it.
fn anchors(
    panel: &Panel,
    assessment: &Assessment,
    line: &LineClearanceAnswer,
    edges: &[Vec<Point>],
) -> Vec<Point> {
    let Some(half_width) = line.half_width_m else {
        return Vec::new();
    };
    let spans: Vec<Vec<Point>> = assessment
        .obstacles
        .iter()
        .chain(&assessment.surroundings)
        .filter(|obstacle| obstacle.source == line.source)
        .filter_map(|obstacle| match &obstacle.shape {
            Shape::Chain(chain) => Some(panel.view.chain(chain)),
            _ => None,
        })
        .flatten()
        .collect();
    let reach = half_width.m() * panel.view.scale * 1.1 + 1.0;
    let near = |at: &Point| {
        spans
            .iter()
            .flat_map(|span| span.iter().zip(span.iter().skip(1)))
            .any(|(a, b)| distance_to_segment(*at, *a, *b) <= reach)
    };
    let shares = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9];
    edges
        .iter()
        .flat_map(|edge| along(std::slice::from_ref(edge), &shares))
        .filter(|at| panel.shows(*at) && near(at))
        .take(12)
        .collect()
}

fn distance_to_segment(at: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let squared = dx * dx + dy * dy;
    let share = if squared > 0.0 {
        (((at.x - a.x) * dx + (at.y - a.y) * dy) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    at.distance(a.shifted(share * dx, share * dy))
}
