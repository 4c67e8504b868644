//! The line of the section on a map, with the letters of its ends.

use super::axes::{ENDS, lettered};
use crate::answer::Assessment;
use crate::figure::palette as p;
use crate::figure::panel::Panel;
use crate::figure::scene::{MarkKind, Point};
use crate::figure::view::clip_segment;
use crate::frame::LonLat;

/// How far inside the edge of the map a letter stands, where the cut leaves the map.
const INSIDE: f64 = 18.0;

/// How far beyond the end of the cut it stands, where there is room for that.
const BEYOND: f64 = 12.0;

/// Draws the line of the section; nothing when none was cut.
pub fn add(panel: &mut Panel, assessment: &Assessment) {
    let Some(section) = &assessment.section else {
        return;
    };
    let mut places: Vec<LonLat> = section.legs.iter().map(|leg| leg.from).collect();
    places.push(section.to);
    panel.chain(MarkKind::SectionLine, &places, p::SECTION_PEN);
    let points: Vec<Point> = places
        .iter()
        .map(|place| panel.view.place(*place))
        .collect();
    let backwards: Vec<Point> = points.iter().rev().copied().collect();
    for (letter, chain) in ENDS.into_iter().zip([points, backwards]) {
        if let Some(at) = first_shown(panel, &chain) {
            let inks = lettered(at, letter);
            panel.symbol(MarkKind::SectionLine, at, inks, 13.0);
            panel.keep_clear(at, 13.0);
        }
    }
}

/// A point before the first end of a chain, or the first point of it that is well inside the map.
fn first_shown(panel: &Panel, chain: &[Point]) -> Option<Point> {
    let inside = panel.rect.grown(-INSIDE);
    chain.windows(2).find_map(|pair| match pair {
        &[a, b] => {
            let (from, to) = clip_segment(a, b, &inside)?;
            let share = BEYOND / from.distance(to).max(BEYOND);
            let beyond = from.shifted((from.x - to.x) * share, (from.y - to.y) * share);
            let is_end = from.distance(a) < 1e-6 && inside.contains(beyond);
            Some(if is_end { beyond } else { from })
        }
        _ => None,
    })
}
