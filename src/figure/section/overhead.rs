//! What lies over a section: obstacle limitation surfaces and floors of airspace.

use super::plot::Plot;
use super::words;
use crate::answer::{LevelRun, SectionAnswer};
use crate::figure::options::FigureOptions;
use crate::figure::palette as p;
use crate::figure::panel::{Canvas, along};
use crate::figure::place::Wanted;
use crate::figure::scene::{Colour, MarkKind, Pen, Point};
use crate::figure::view::clip_segment;

/// Draws what was asked for; what is above the figure is noted.
pub fn add(
    canvas: &mut Canvas,
    plot: &Plot,
    section: &SectionAnswer,
    options: &FigureOptions,
    notes: &mut Vec<String>,
) {
    let mut above = Vec::new();
    // Surfaces are sampled only when a table was chosen, and then they are wanted.
    for surface in &section.surfaces {
        let part = surface
            .part
            .as_ref()
            .map_or(String::new(), |part| format!(" {part}"));
        let title = format!("{} {}{part}", surface.aerodrome, surface.kind.term());
        let drawn = draw(
            canvas,
            plot,
            &surface.runs,
            MarkKind::Surface,
            p::SURFACE_PEN,
        );
        finish(
            canvas,
            drawn,
            title,
            (MarkKind::Surface, p::SURFACE),
            &mut above,
        );
    }
    for floor in section.floors.iter().filter(|_| options.airspace) {
        let title = format!("floor of {}, {}", floor.title, floor.lower);
        if floor.runs.is_empty() {
            notes.push(format!(
                "the floor of {}: its level is not known",
                floor.title
            ));
            continue;
        }
        let drawn = draw(
            canvas,
            plot,
            &floor.runs,
            MarkKind::Airspace,
            p::AIRSPACE_PEN,
        );
        finish(
            canvas,
            drawn,
            title,
            (MarkKind::Airspace, p::AIRSPACE),
            &mut above,
        );
    }
    if !options.airspace && !section.floors.is_empty() {
        let floors = section.floors.len();
        notes.push(format!(
            "floors of airspace over it: {floors} (--draw airspace)"
        ));
    }
    if !above.is_empty() {
        let more = above.len().saturating_sub(4);
        let mut named: Vec<String> = above.into_iter().take(4).collect();
        if more > 0 {
            named.push(format!("{more} more"));
        }
        notes.push(format!("beyond its range of levels: {}", named.join("; ")));
    }
}

/// The parts of some runs that are in the plot, drawn.
fn draw(
    canvas: &mut Canvas,
    plot: &Plot,
    runs: &[LevelRun],
    kind: MarkKind,
    pen: Pen,
) -> Vec<Vec<Point>> {
    let mut parts: Vec<Vec<Point>> = Vec::new();
    for run in runs {
        let points = plot.run(run);
        for pair in points.windows(2) {
            let &[a, b] = pair else { continue };
            let Some((a, b)) = clip_segment(a, b, &plot.rect) else {
                continue;
            };
            match parts.last_mut() {
                Some(part) if part.last().is_some_and(|last| last.distance(a) < 1e-6) => {
                    part.push(b);
                }
                _ => parts.push(vec![a, b]),
            }
        }
    }
    canvas.lines(kind, &parts, pen);
    parts
}

fn finish(
    canvas: &mut Canvas,
    parts: Vec<Vec<Point>>,
    title: String,
    (kind, colour): (MarkKind, Colour),
    above: &mut Vec<String>,
) {
    if parts.is_empty() {
        above.push(title);
        return;
    }
    let at = along(&parts, &[0.86, 0.14, 0.7, 0.3, 0.5, 0.95, 0.05]);
    let mut label = Wanted::new(kind, vec![title], at, 80);
    label.size = p::SMALL;
    label.colour = colour;
    label.clear = 2.0;
    canvas.want(label);
}

/// The wished height above ground.
pub fn wish(canvas: &mut Canvas, plot: &Plot, section: &SectionAnswer) {
    let Some(wish) = section.wish_m_agl else {
        return;
    };
    let mut parts: Vec<Vec<Point>> = Vec::new();
    for stretch in &section.in_area {
        let mut part = Vec::new();
        for station in &section.stations {
            let at = station.at_m.m();
            let is_inside = (stretch.from_m.m()..=stretch.to_m.m()).contains(&at);
            match station.ground_high_m.filter(|_| is_inside) {
                Some(ground) => part.push(plot.at(at, ground + wish.m())),
                None => parts.push(std::mem::take(&mut part)),
            }
        }
        parts.push(part);
    }
    parts.retain(|part| part.len() > 1);
    canvas.lines(MarkKind::Wish, &parts, p::WISH_PEN);
    let text = vec![format!("wished {} above ground", words::lowest(wish.m()))];
    let mut label = Wanted::new(MarkKind::Wish, text, along(&parts, &[0.2, 0.8, 0.5]), 45);
    label.colour = p::AREA;
    label.clear = 2.0;
    canvas.want(label);
}
