//! Text around the panels: title and ceiling, data and sources, notes, the caution.
//!
//! Not here: the legend (see [`super::legend`]) and what stands in the panels.

use super::font::Font;
use super::layout::Layout;
use super::legend::heading;
use super::palette as p;
use super::scene::{Anchor, Colour, Ink, MarkKind, Pen, Point, Rect, Scene, Text};
use super::{governing, words};
use crate::answer::{Assessment, GroundSource};

const DATA_SIZE: f64 = 11.0;
const DATA_ROW: f64 = 14.6;

fn put(
    scene: &mut Scene,
    at: Point,
    text: &str,
    size: f64,
    bold: bool,
    colour: Colour,
    anchor: Anchor,
) {
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Text(Text {
            at,
            text: text.to_owned(),
            size,
            bold,
            colour,
            anchor,
            upwards: false,
            halo: false,
        }),
    );
}

/// Adds the title on the left and the ceiling on the right of the head of the sheet.
pub fn title(
    scene: &mut Scene,
    layout: &Layout,
    assessment: &Assessment,
    wished: &str,
    font: &Font,
) {
    let part = layout.title;
    let (lines, colour) = headline(assessment);
    let widest = lines
        .iter()
        .enumerate()
        .map(|(row, line)| font.width(line, headline_size(row), row == 0))
        .fold(0.0, f64::max);
    let room = (part.width() - widest - 40.0).max(200.0);
    let name = font.cut(&font.drawable(wished), 27.0, true, room);
    put(
        scene,
        Point::new(part.left, part.top + 28.0),
        &name,
        27.0,
        true,
        p::INK,
        Anchor::Start,
    );
    let profile = font.drawable(&format!("Rule profile: {}", assessment.profile.title));
    let profile = font.cut(&profile, 14.0, false, room);
    put(
        scene,
        Point::new(part.left, part.top + 51.0),
        &profile,
        14.0,
        false,
        p::SOFT_INK,
        Anchor::Start,
    );
    let mut y = part.top + 25.0;
    for (row, line) in lines.iter().enumerate() {
        let at = Point::new(part.right, y);
        let tone = if row == 0 { colour } else { p::INK };
        put(
            scene,
            at,
            line,
            headline_size(row),
            row == 0,
            tone,
            Anchor::End,
        );
        y += 22.0;
    }
    let rule = vec![
        Point::new(part.left, part.bottom + 3.0),
        Point::new(part.right, part.bottom + 3.0),
    ];
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Line(rule, Pen::solid(p::INK, 2.2)),
    );
}

fn headline_size(row: usize) -> f64 {
    if row == 0 { 23.0 } else { 14.0 }
}

/// The ceiling in one line, and what holds or governs it in another.
fn headline(assessment: &Assessment) -> (Vec<String>, Colour) {
    let ceiling = &assessment.ceiling;
    let estimate = if scene_rests_on_estimate(assessment) {
        ", rests on an ESTIMATE"
    } else {
        ""
    };
    match (&ceiling.whole, &ceiling.determined_part) {
        (Some(pair), _) => (
            vec![
                format!("Ceiling {}", words::ceiling(pair).join("  ·  ")),
                format!("over the whole area, under this profile{estimate}"),
            ],
            p::INK,
        ),
        (None, Some(pair)) => (
            vec![
                "Ceiling UNDETERMINED for the whole area".to_owned(),
                format!(
                    "covered part: {}{estimate}",
                    words::ceiling(pair).join("  ·  ")
                ),
            ],
            p::UNCOVERED,
        ),
        (None, None) => (
            vec![
                "Ceiling UNDETERMINED".to_owned(),
                "no part of the area has a determined ceiling".to_owned(),
            ],
            p::UNCOVERED,
        ),
    }
}

fn scene_rests_on_estimate(assessment: &Assessment) -> bool {
    governing::ceiling(assessment)
        .is_some_and(|pair| governing::rests_on_estimate(assessment, &pair.above_ground))
}

/// Adds data, sources and notes below the legend.
pub fn data(scene: &mut Scene, part: Rect, assessment: &Assessment, font: &Font) {
    let notes = scene.notes.clone();
    let note_lines: Vec<String> = notes
        .iter()
        .flat_map(|note| font.wrapped(&font.drawable(note), DATA_SIZE, false, part.width() - 10.0))
        .collect();
    let notes_height = if note_lines.is_empty() {
        0.0
    } else {
        22.0 + DATA_ROW * note_lines.len() as f64
    };
    heading(scene, Point::new(part.left, part.top + 12.0), "Data");
    let first = part.top + 28.0;
    let room = (part.bottom - notes_height - first + DATA_ROW).max(0.0);
    let rows = (room / DATA_ROW).floor() as usize;
    let lines = fitted(data_lines(assessment), rows, part.width(), font);
    let mut y = first;
    for line in &lines {
        put(
            scene,
            Point::new(part.left, y),
            line,
            DATA_SIZE,
            false,
            p::INK,
            Anchor::Start,
        );
        y += DATA_ROW;
    }
    if note_lines.is_empty() {
        return;
    }
    y += 8.0;
    heading(scene, Point::new(part.left, y), "Left out of this figure");
    for line in &note_lines {
        y += DATA_ROW;
        put(
            scene,
            Point::new(part.left, y),
            line,
            DATA_SIZE,
            false,
            p::INK,
            Anchor::Start,
        );
    }
}

/// Wrapped lines, as many as there are rows; the last says how many layers had no room.
fn fitted(entries: Vec<String>, rows: usize, width: f64, font: &Font) -> Vec<String> {
    let mut lines = Vec::new();
    let count = entries.len();
    for (index, entry) in entries.into_iter().enumerate() {
        let mut wrapped = font.wrapped(&font.drawable(&entry), DATA_SIZE, false, width);
        let last = index + 1 == count;
        if lines.len() + wrapped.len() + usize::from(!last) > rows {
            lines.push(format!("{} more entries are in the report", count - index));
            break;
        }
        lines.append(&mut wrapped);
    }
    lines
}

fn data_lines(assessment: &Assessment) -> Vec<String> {
    let ground = match &assessment.ground.source {
        GroundSource::Terrain { file } => format!("terrain from {file}"),
        GroundSource::Stated { elevation_m_amsl } => {
            format!("stated elevation {}", words::altitude(*elevation_m_amsl))
        }
        GroundSource::AssumedFlat => "assumed flat; heights above ground only".to_owned(),
    };
    let accuracy = if assessment.ground.accuracy_is_stated {
        format!(
            ", within {:.1}\u{A0}m",
            assessment.ground.accuracy_m.m_up(1)
        )
    } else {
        ", accuracy not stated".to_owned()
    };
    let mut lines = vec![
        format!(
            "Date {}   ·   eaves {}",
            assessment.date, assessment.version
        ),
        "Datum WGS 84   ·   AGL above ground, AMSL above mean sea level".to_owned(),
        format!(
            "Projection azimuthal equidistant about {}",
            words::place(assessment.area.middle)
        ),
        "Bearings from the aerodrome, T true, M magnetic".to_owned(),
        "Heights, ceilings and distances are rounded down".to_owned(),
        format!("Ground: {ground}{accuracy}"),
    ];
    for layer in &assessment.layers {
        let date = layer.date.as_deref().unwrap_or("date not stated");
        let source = layer.source.as_deref().unwrap_or("source not stated");
        lines.push(format!("{}: {}, {date}, {source}", layer.layer, layer.file));
    }
    lines
}

/// Adds the caution, whole, at the foot of the sheet.
pub fn caution(scene: &mut Scene, part: Rect, assessment: &Assessment, font: &Font) {
    let frame = vec![
        Point::new(part.left, part.top),
        Point::new(part.right, part.top),
        Point::new(part.right, part.bottom),
        Point::new(part.left, part.bottom),
        Point::new(part.left, part.top),
    ];
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Line(frame, Pen::solid(p::INK, 1.0)),
    );
    let tag = "NOT FOR NAVIGATION";
    let middle = part.middle().y;
    put(
        scene,
        Point::new(part.left + 12.0, middle + 5.0),
        tag,
        14.0,
        true,
        p::INK,
        Anchor::Start,
    );
    let left = part.left + 12.0 + font.width(tag, 14.0, true) + 18.0;
    let room = part.right - left - 12.0;
    let mut size = 12.5;
    let mut lines = font.wrapped(assessment.caution, size, false, room);
    while lines.len() > 2 && size > 6.0 {
        size -= 0.5;
        lines = font.wrapped(assessment.caution, size, false, room);
    }
    let first = middle + size * 0.36 - size * 0.65 * (lines.len() as f64 - 1.0);
    for (row, line) in lines.iter().enumerate() {
        let at = Point::new(left, first + size * 1.3 * row as f64);
        put(scene, at, line, size, false, p::INK, Anchor::Start);
    }
}
