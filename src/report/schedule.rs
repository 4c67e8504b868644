//! The coordinate schedule: every vertex of the area with its letter.

use crate::answer::Assessment;
use crate::schedule::Ring;

use super::number::{decimal, grouped};
use super::text::Page;

/// How many vertices are printed; all are in the JSON.
const MOST_VERTICES: usize = 200;

/// Writes the COORDINATES section.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let rings = &assessment.schedule;
    let total: usize = rings.iter().map(|ring| ring.vertices.len()).sum();
    page.section(&format!(
        "COORDINATES of the operating area, WGS 84: {} vertices",
        grouped(total as f64, 0)
    ));
    page.prose(
        2,
        "Letters are those of the site figure. Seconds to 0.01\" (0.3 m), degrees to 7 places (1 cm). \
         Outlines run clockwise from their northernmost vertex, holes the other way.",
    );
    let letters = rings
        .iter()
        .flat_map(|ring| &ring.vertices)
        .map(|vertex| vertex.letter.len())
        .max()
        .unwrap_or(1);
    let mut room = MOST_VERTICES;
    for ring in rings {
        if rings.len() > 1 {
            page.line(2, &heading(ring));
        }
        for vertex in ring.vertices.iter().take(room) {
            let text = format!(
                "{} {}  {}",
                vertex.latitude_dms,
                vertex.longitude_dms,
                decimal(vertex.place)
            );
            // Columns: wrapping would tear them apart, and the width is known to fit.
            page.columns(&format!("    {:letters$}  {text}", vertex.letter));
        }
        room = room.saturating_sub(ring.vertices.len());
    }
    if total > MOST_VERTICES {
        let rest = grouped((total - MOST_VERTICES) as f64, 0);
        page.line(2, &format!("and {rest} more, in the JSON"));
    }
}

/// Which ring it is, in words.
#[must_use]
pub fn heading(ring: &Ring) -> String {
    match ring.hole {
        None => format!("part {}", ring.part),
        Some(hole) => format!("part {}, hole {hole}", ring.part),
    }
}
