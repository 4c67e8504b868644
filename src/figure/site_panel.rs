//! The site figure: the area, what stands around it, what shields it, and where the ceiling governs.
//!
//! Not here: obstacles in detail (see [`super::obstacles`]).

use super::font::Font;
use super::palette as p;
use super::panel::{Panel, along, extent};
use super::place::Wanted;
use super::scene::{Ink, MarkKind, PanelName, Point, Rect, Scene};
use super::view::{Bounds, View, pieces, rings};
use super::{
    FigureOptions, airspace, area, ceiling, clearance, governing, obstacles, plan_points, reach,
    section, surfaces, symbol, words, zones,
};
use crate::answer::{AerodromeAnswer, Assessment, RingAnswer, ShieldingAnswer};
use crate::frame::LocalFrame;

/// The site is never drawn larger than 1 : this.
const LARGEST_SCALE: f64 = 500.0;
/// The distance lines of this many aerodromes run over the site panel.
const MOST_DISTANCE_LINES: usize = 3;
/// Aerodromes are looked for on the site panel up to this many, nearest first.
const MOST_AERODROMES: usize = 6;
/// Distance rings on the site panel are drawn up to this many, closest to the area first.
const MOST_RINGS: usize = 6;
/// Labels keep off uncovered parts that take less than one of so many parts of the panel.
const SMALL_PART: f64 = 20.0;
/// An uncovered part smaller than this on the sheet gets a ring around it, sheet units.
const SMALL: f64 = 16.0;

/// The view of the site: the area and, around it, as much of the reach as tells.
pub fn view(assessment: &Assessment, frame: LocalFrame, rect: Rect) -> View {
    let area = &assessment.area.record;
    let points = area
        .rings()
        .flat_map(|ring| pieces(&ring))
        .map(|place| frame.to_plane(place));
    let bounds = Bounds::of(points).unwrap_or(Bounds {
        low: Default::default(),
        high: Default::default(),
    });
    let across = bounds.diagonal();
    let around = assessment
        .shielding
        .iter()
        .map(|answer| {
            let gap = answer
                .lowest_shielding
                .as_ref()
                .map_or(0.0, |shield| shield.distance_m.m());
            let wanted = (across * 0.5).max(gap + 0.2 * answer.reach_m.m()).max(30.0);
            (answer.reach_m.m() * 1.08).min(wanted)
        })
        .fold(0.0, f64::max);
    View::fit(
        frame,
        bounds.grown(around.max(across * 0.15).max(8.0)),
        rect,
        LARGEST_SCALE,
    )
}

/// Draws the site panel; returns how many labels were left out.
pub fn add(
    scene: &mut Scene,
    assessment: &Assessment,
    view: View,
    options: &FigureOptions,
    font: &Font,
    notes: &mut Vec<String>,
) -> usize {
    let mut panel = Panel::on_background(PanelName::Site, view, scene, font, options, notes);
    let shield = governing::shielding(assessment);
    let reaches = reach_rings(&view, shield);
    let cut: Vec<Vec<Point>> = reaches
        .iter()
        .map(|ring| view.cut_ring(ring.clone()))
        .filter(|ring| ring.len() > 2)
        .collect();
    if !cut.is_empty() {
        panel.ink(MarkKind::Reach, Ink::Fill(cut, p::SHIELD_TINT, 0.75));
    }
    let bands = if options.ceiling {
        ceiling::bands(assessment)
    } else {
        Vec::new()
    };
    area::inside(&mut panel, assessment, &bands);
    uncovered(&mut panel, assessment);
    clearance::band(&mut panel, assessment);
    ceiling::contours(&mut panel, &bands);
    clearance::usable(&mut panel, assessment);
    area::edge(&mut panel, assessment);
    draw_reach(&mut panel, &reaches, shield);
    for aerodrome in assessment.aerodromes.iter().take(MOST_AERODROMES) {
        aerodrome_itself(&mut panel, aerodrome);
    }
    aerodrome_rings(&mut panel, &assessment.aerodromes, notes);
    on_request(&mut panel, assessment, options, notes);
    distance_lines(&mut panel, &assessment.aerodromes);
    obstacles::add(&mut panel, assessment, notes);
    plan_points::add(&mut panel, assessment);
    section::on_site::add(&mut panel, assessment);
    governing::add(&mut panel, assessment);
    panel.finish()
}

/// Zones, airspace and surfaces, where they were asked for, on either map.
pub fn on_request(
    panel: &mut Panel,
    assessment: &Assessment,
    options: &FigureOptions,
    notes: &mut Vec<String>,
) {
    if options.zones {
        zones::add(panel, assessment, notes);
    }
    if options.airspace {
        airspace::add(panel, assessment);
        airspace::note_what_is_left_out(panel, assessment, notes);
    } else {
        airspace::note_what_was_not_asked_for(assessment, notes);
    }
    if options.surfaces {
        surfaces::add(panel, assessment, notes);
        surfaces::note_what_is_left_out(panel, assessment, notes);
    }
}

/// The edge of the reach on the sheet, closed.
fn reach_rings(view: &View, shield: Option<&ShieldingAnswer>) -> Vec<Vec<Point>> {
    let Some((answer, lowest)) = shield.and_then(|s| Some((s, s.lowest_shielding.as_ref()?)))
    else {
        return Vec::new();
    };
    let polygons = reach::around_shape(&view.frame, &lowest.shape, answer.reach_m);
    reach::plane_rings(&polygons)
        .map(|ring| ring.into_iter().map(|p| view.on_sheet(p)).collect())
        .collect()
}

fn draw_reach(panel: &mut Panel, rings: &[Vec<Point>], shield: Option<&ShieldingAnswer>) {
    let parts: Vec<Vec<Point>> = rings
        .iter()
        .flat_map(|ring| panel.view.clipped(ring))
        .collect();
    panel.lines(MarkKind::Reach, &parts, p::REACH_PEN);
    if let Some(answer) = shield {
        let text = format!("reach {} m", words::grouped(answer.reach_m.m_down(0)));
        let mut label = Wanted::new(
            MarkKind::Reach,
            vec![text],
            along(&parts, &[0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95]),
            300,
        );
        label.colour = p::SHIELD;
        panel.want(label);
    }
}

/// The uncovered part of each shield rule, with its share in words; nothing where the ceiling does
/// not depend on cover (a rule that only raises a cap near a structure).
fn uncovered(panel: &mut Panel, assessment: &Assessment) {
    if !governing::is_undetermined_by_cover(assessment) {
        return;
    }
    for answer in &assessment.shielding {
        let mut largest: Option<(f64, Point)> = None;
        for polygon in &answer.uncovered {
            let cut = panel.view.rings(polygon);
            let Some(box_) = extent(cut.iter().flatten().copied()) else {
                continue;
            };
            panel.ink(
                MarkKind::Uncovered,
                Ink::Fill(cut.clone(), p::UNCOVERED_TINT, 0.9),
            );
            for angle in [20.0, 110.0] {
                panel.hatch(MarkKind::Uncovered, &cut, angle, 6.5, p::UNCOVERED_HATCH);
            }
            panel.avoid_inside(&cut);
            for ring in rings(polygon) {
                panel.chain(MarkKind::Uncovered, &ring, p::UNCOVERED_PEN);
            }
            let size = box_.width() * box_.height();
            if size < panel.view.rect.width() * panel.view.rect.height() / SMALL_PART {
                panel.avoid(box_);
            }
            if largest.is_none_or(|(known, _)| size > known) {
                largest = Some((size, box_.middle()));
            }
            if box_.width().max(box_.height()) < SMALL {
                let ink = Ink::Circle(box_.middle(), SMALL, p::UNCOVERED_PEN);
                panel.ink(MarkKind::Uncovered, ink);
            }
        }
        if let Some((_, at)) = largest {
            let share = if assessment.area.area_m2 > 0.0 {
                answer.uncovered_m2 / assessment.area.area_m2
            } else {
                1.0
            };
            let lines = vec![
                "UNDETERMINED".to_owned(),
                "no shield within reach here:".to_owned(),
                format!(
                    "{} of the area, {}",
                    words::share_up(share),
                    words::square_metres_up(answer.uncovered_m2)
                ),
            ];
            let mut label = Wanted::new(MarkKind::Uncovered, lines, vec![at], 10);
            label.strong = true;
            label.clear = 8.0;
            label.colour = p::UNCOVERED;
            label.essential = true;
            panel.want(label);
        }
    }
}

/// What of an aerodrome lies on the site panel, and its name at the reference point.
fn aerodrome_itself(panel: &mut Panel, aerodrome: &AerodromeAnswer) {
    super::location_panel::draw_aerodrome(panel, aerodrome);
    if let Some(place) = aerodrome.record.reference_point {
        let at = panel.view.place(place);
        let text = vec![aerodrome.title.clone(), "reference point".to_owned()];
        let mut label = Wanted::new(MarkKind::Aerodrome, text, vec![at], 32);
        label.colour = p::AERODROME;
        label.size = p::SMALL;
        label.clear = 10.0;
        panel.want(label);
    }
}

/// Rings that run through the area or close by it, closest first.
fn aerodrome_rings(panel: &mut Panel, aerodromes: &[AerodromeAnswer], notes: &mut Vec<String>) {
    let far = panel.view.window().diagonal();
    let mut near: Vec<(f64, &AerodromeAnswer, &RingAnswer)> = aerodromes
        .iter()
        .flat_map(|aerodrome| aerodrome.rings.iter().map(move |ring| (aerodrome, ring)))
        .filter_map(|(aerodrome, ring)| {
            let (inner, outer) = (ring.margin_m?.m(), ring.farthest_margin_m?.m());
            let apart = inner.max(-outer).max(0.0);
            (apart < far).then_some((apart, aerodrome, ring))
        })
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut drawn = 0;
    let mut left_out = 0;
    for (rank, (_, aerodrome, ring)) in near.into_iter().enumerate() {
        let lines = super::rings::lines(&panel.view.frame, aerodrome, ring);
        if lines.iter().all(|line| panel.visible(line).is_empty()) {
            continue;
        }
        if drawn == MOST_RINGS {
            left_out += 1;
            continue;
        }
        drawn += 1;
        let mut parts = Vec::new();
        for line in lines {
            parts.extend(panel.plane_ring(MarkKind::Ring, &line, p::RING_PEN));
        }
        let mut label = Wanted::new(
            MarkKind::Ring,
            super::rings::words(aerodrome, ring),
            along(&parts, &[0.12, 0.88, 0.25, 0.75, 0.5, 0.4, 0.6]),
            30 + rank as u32,
        );
        label.size = p::SMALL;
        label.colour = p::RING;
        panel.want(label);
    }
    if left_out > 0 {
        let rings = if left_out == 1 { "ring" } else { "rings" };
        notes.push(format!(
            "{left_out} distance {rings}, farther from the area than those drawn"
        ));
    }
}

/// The shortest lines to the nearest aerodromes, from the area to the edge of the panel.
fn distance_lines(panel: &mut Panel, aerodromes: &[AerodromeAnswer]) {
    for (rank, aerodrome) in aerodromes.iter().take(MOST_DISTANCE_LINES).enumerate() {
        let Some(answer) = aerodrome.nearest() else {
            continue;
        };
        let line = [answer.to, answer.from].map(|place| panel.view.place(place));
        let parts = panel.view.clipped(&line);
        panel.lines(MarkKind::DistanceLine, &parts, p::DISTANCE_PEN);
        let [from, to] = line;
        panel.symbol(
            MarkKind::DistanceLine,
            from,
            vec![Ink::Disc(from, 3.2, p::AERODROME)],
            4.0,
        );
        let inside = panel.view.rect.grown(-10.0);
        if let Some((_, edge)) = super::view::clip_segment(from, to, &inside) {
            let mut inks = Vec::new();
            inks.extend(symbol::arrow_head(from, edge, 12.0, p::AERODROME));
            panel.symbol(MarkKind::DistanceLine, edge, inks, 8.0);
            let text = if answer.distance_m.m() > 0.0 {
                vec![
                    format!("to {}", aerodrome.title),
                    words::distance(answer.distance_m),
                ]
            } else {
                vec![aerodrome.title.clone(), "0 m: the area is on it".to_owned()]
            };
            let anchors = [0.9, 0.75, 0.6, 0.45, 0.3]
                .map(|share| {
                    Point::new(
                        from.x + share * (edge.x - from.x),
                        from.y + share * (edge.y - from.y),
                    )
                })
                .to_vec();
            let mut label = Wanted::new(MarkKind::DistanceLine, text, anchors, 35 + rank as u32);
            label.colour = p::AERODROME;
            label.size = p::SMALL;
            panel.want(label);
        }
    }
}
