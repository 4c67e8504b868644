//! Text around the panel: head, title block, data and sources, notes, the caution.
//!
//! Not here: the legend (see [`super::legend`]) and what stands in the panel.

use super::blocks::{BASELINE, Block, LINE, Room, Row, draw, small};
use super::font::Font;
use super::options::FigureOptions;
use super::palette as p;
use super::scene::{Anchor, Colour, Ink, MarkKind, Pen, Plane, Point, Rect, Scene, Text};
use super::{ceiling, governing, legend, words};
use crate::answer::{Assessment, GroundSource};
use crate::sheet::FigureKind;
use crate::units::METRES_PER_NAUTICAL_MILE;

const TITLE_SIZE: f64 = 26.0;
/// A long title is drawn smaller, but not below this; then it is cut.
const LEAST_TITLE_SIZE: f64 = 17.0;
const HEADLINE_SIZE: f64 = 20.0;
const SUBTITLE_SIZE: f64 = 14.4;
/// Width of the left part of the title block.
const TERM_WIDTH: f64 = 84.0;
const KEY_HEADING: &str = "Key to numbers";
/// Width of the numbers of the key.
const NUMBER_WIDTH: f64 = 28.0;

fn put(
    scene: &mut Scene,
    at: Point,
    text: &str,
    (size, bold): (f64, bool),
    colour: Colour,
    anchor: Anchor,
) {
    let text = Text {
        at,
        text: text.to_owned(),
        size,
        bold,
        colour,
        anchor,
        upwards: false,
        halo: false,
    };
    scene.mark(MarkKind::Sheet, None, Ink::Text(text));
}

/// Adds the title on the left and the ceiling on the right of the head of a sheet; sheets of a key
/// say which of how many they are.
pub fn head(
    scene: &mut Scene,
    part: Rect,
    assessment: &Assessment,
    sheet: Option<(usize, usize)>,
    font: &Font,
) {
    let (lines, colour) = headline(assessment);
    let style = |row: usize| match row {
        0 => (HEADLINE_SIZE, true),
        _ => (SUBTITLE_SIZE, false),
    };
    let widest = lines
        .iter()
        .enumerate()
        .map(|(row, line)| font.width(line, style(row).0, style(row).1))
        .fold(0.0, f64::max);
    let room = (part.width() - widest - 40.0).max(200.0);
    let title = font.drawable(&scene.title);
    let share = room / font.width(&title, TITLE_SIZE, true).max(1.0);
    let size = (TITLE_SIZE * share).clamp(LEAST_TITLE_SIZE, TITLE_SIZE);
    let title = font.cut(&title, size, true, room);
    let at = Point::new(part.left, part.top + 24.0);
    put(scene, at, &title, (size, true), p::INK, Anchor::Start);
    let what = match scene.kind {
        FigureKind::Location => "Location figure",
        FigureKind::Site => "Site figure",
        FigureKind::Section => "Section figure",
    };
    let sheet = sheet.map_or_else(String::new, |(number, count)| {
        format!(", key to numbers   ·   sheet {number} of {count}")
    });
    let subtitle = font.drawable(&format!("{what}{sheet}   ·   {}", assessment.profile.title));
    let subtitle = font.cut(&subtitle, SUBTITLE_SIZE, false, room);
    put(
        scene,
        Point::new(part.left, part.top + 48.0),
        &subtitle,
        (SUBTITLE_SIZE, false),
        p::SOFT_INK,
        Anchor::Start,
    );
    for (row, line) in lines.iter().enumerate() {
        let at = Point::new(part.right, part.top + 23.0 + 25.0 * row as f64);
        let tone = if row == 0 { colour } else { p::INK };
        put(scene, at, line, style(row), tone, Anchor::End);
    }
    let rule = vec![
        Point::new(part.left, part.bottom),
        Point::new(part.right, part.bottom),
    ];
    scene.mark(
        MarkKind::Sheet,
        None,
        Ink::Line(rule, Pen::solid(p::INK, 2.0)),
    );
}

/// What the figure says at its head, and in which colour.
fn headline(assessment: &Assessment) -> (Vec<String>, Colour) {
    let ceiling = &assessment.ceiling;
    let estimate = if rests_on_estimate(assessment) {
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

fn rests_on_estimate(assessment: &Assessment) -> bool {
    governing::ceiling(assessment)
        .is_some_and(|pair| governing::rests_on_estimate(assessment, &pair.above_ground))
}

/// Adds title block, legend, data, notes and key, or where the key is; returns what there was room
/// for.
pub fn blocks(
    scene: &mut Scene,
    columns: &[Rect],
    assessment: &Assessment,
    options: &FigureOptions,
    font: &Font,
) -> Room {
    let width = narrowest(columns);
    let mut data = Block::new("Data", MarkKind::Sheet);
    data.gives_way = Some("More of this is in the report");
    for line in data_lines(assessment, scene.shows(MarkKind::Ceiling))
        .into_iter()
        .chain(credit(scene, options))
    {
        data.paragraph(&line, width, font);
    }
    let mut notes = Block::new("Left out of this figure", MarkKind::Sheet);
    for note in &scene.notes {
        notes.paragraph(note, width, font);
    }
    let blocks = vec![
        title_block(scene, assessment, options, width, font),
        legend::block(scene, assessment, width, font),
        data,
        notes,
        if scene.key_sheets.is_empty() {
            key(scene, width, font)
        } else {
            key_elsewhere(scene, width, font)
        },
    ];
    draw(scene, columns, blocks)
}

/// Adds the title block and the key to a sheet that has nothing else; returns for how many of its
/// entries there is room.
pub fn key_blocks(
    scene: &mut Scene,
    columns: &[Rect],
    assessment: &Assessment,
    options: &FigureOptions,
    font: &Font,
) -> usize {
    let width = narrowest(columns);
    let blocks = vec![
        title_block(scene, assessment, options, width, font),
        key(scene, width, font),
    ];
    draw(scene, columns, blocks).rows_of_last
}

fn narrowest(columns: &[Rect]) -> f64 {
    columns
        .iter()
        .map(Rect::width)
        .fold(f64::INFINITY, f64::min)
}

/// Where the key is that this sheet has no room for.
fn key_elsewhere(scene: &Scene, width: f64, font: &Font) -> Block {
    let mut block = Block::new(KEY_HEADING, MarkKind::Sheet);
    let last = scene.key_sheets.len() + 1;
    let sheets = match last {
        2 => "sheet 2".to_owned(),
        3 => "sheets 2 and 3".to_owned(),
        _ => format!("sheets 2 to {last}"),
    };
    let text = format!("1 to {}: on {sheets} of this figure", scene.key.len());
    block.paragraph(&text, width, font);
    block
}

/// The texts of the numbers that stand at features.
fn key(scene: &Scene, width: f64, font: &Font) -> Block {
    let mut block = Block::new(KEY_HEADING, MarkKind::Sheet);
    block.splits = true;
    for entry in &scene.key {
        let room = width - NUMBER_WIDTH;
        let lines = font.wrapped(&font.drawable(&entry.text), p::SMALL, false, room);
        let mut inks = vec![small(
            Point::new(0.0, BASELINE),
            entry.number.to_string(),
            true,
            p::INK,
        )];
        let height = LINE * lines.len() as f64;
        for (row, line) in lines.into_iter().enumerate() {
            let at = Point::new(NUMBER_WIDTH, BASELINE + LINE * row as f64);
            inks.push(small(at, line, false, p::INK));
        }
        block.rows.push(Row { height, inks });
    }
    block
}

/// What the figure is, whose, and when.
fn title_block(
    scene: &Scene,
    assessment: &Assessment,
    options: &FigureOptions,
    width: f64,
    font: &Font,
) -> Block {
    let mut block = Block::new("This figure", MarkKind::Sheet);
    let mut add = |term: &str, value: Option<String>| {
        let Some(value) = value else { return };
        let lines = font.wrapped(&font.drawable(&value), p::SMALL, false, width - TERM_WIDTH);
        for (row, line) in lines.into_iter().enumerate() {
            let mut inks = vec![small(Point::new(TERM_WIDTH, BASELINE), line, false, p::INK)];
            if row == 0 {
                let at = Point::new(0.0, BASELINE);
                inks.push(small(at, term.to_owned(), false, p::SOFT_INK));
            }
            block.rows.push(Row { height: LINE, inks });
        }
    };
    add("Number", options.number.clone());
    add("Version", options.version.clone());
    add("Applicant", options.applicant.clone());
    add("Site", Some(assessment.area.name.clone()));
    add("Scale", scale(scene));
    add(
        "Date",
        Some(format!("{}, eaves {}", assessment.date, assessment.version)),
    );
    add("Data dates", data_dates(assessment));
    block
}

/// The scale of the panel and the paper that it holds on.
fn scale(scene: &Scene) -> Option<String> {
    let paper = match scene.sheet.paper {
        crate::sheet::Paper::Letter => "Letter".to_owned(),
        paper => paper.name().to_uppercase(),
    };
    let ratio = |units_per_metre: f64| {
        let denominator = (1000.0 / crate::sheet::UNIT_MM / units_per_metre).round();
        format!("1\u{A0}:\u{A0}{}", words::grouped(denominator))
    };
    let scale = match scene.panels.first()?.plane {
        Plane::Map(map) => ratio(map.units_per_metre),
        Plane::Section(axes) => format!(
            "{} along, {} up,",
            ratio(axes.units_per_metre_along),
            ratio(axes.units_per_metre_up)
        ),
    };
    Some(format!("{scale} printed on {paper}"))
}

/// The dates of the layers: one, or the first and the last, and how many state none.
fn data_dates(assessment: &Assessment) -> Option<String> {
    let mut dates: Vec<&str> = assessment
        .layers
        .iter()
        .filter_map(|layer| layer.date.as_deref())
        .collect();
    dates.sort_unstable();
    let unknown = assessment.layers.len() - dates.len();
    let known = match (dates.first(), dates.last()) {
        (Some(first), Some(last)) if first == last => Some((*first).to_owned()),
        (Some(first), Some(last)) => Some(format!("{first} to {last}")),
        _ => None,
    };
    match (known, unknown) {
        (known, 0) => known,
        (Some(known), 1) => Some(format!("{known}; 1 layer states none")),
        (Some(known), count) => Some(format!("{known}; {count} layers state none")),
        (None, _) => Some("not stated".to_owned()),
    }
}

fn data_lines(assessment: &Assessment, shows_ceiling: bool) -> Vec<String> {
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
        "Datum WGS 84. AGL above ground, AMSL above mean sea level".to_owned(),
        format!(
            "Projection azimuthal equidistant about {}",
            words::place(assessment.area.middle)
        ),
        "Bearings from the aerodrome, T true, M magnetic".to_owned(),
        "Heights, ceilings and distances are rounded down".to_owned(),
        format!(
            "1\u{A0}NM = {}\u{A0}m",
            words::grouped(METRES_PER_NAUTICAL_MILE)
        ),
        format!("Ground: {ground}{accuracy}"),
    ];
    lines.extend(ceiling::note(assessment, shows_ceiling));
    // Layers of one source and date share a line.
    let mut sources: Vec<(String, Vec<&str>)> = Vec::new();
    for layer in &assessment.layers {
        let date = layer.date.as_deref().unwrap_or("date not stated");
        let source = layer.source.as_deref().unwrap_or("source not stated");
        let said = format!("{date}, {source}");
        match sources.iter_mut().find(|(known, _)| *known == said) {
            Some((_, files)) => files.push(&layer.file),
            None => sources.push((said, vec![&layer.file])),
        }
    }
    lines.extend(
        sources
            .into_iter()
            .map(|(said, files)| format!("{}: {said}", files.join(", "))),
    );
    lines
}

/// Whose the background is, when there is one on the map, and how it was made 8-bit.
fn credit(scene: &Scene, options: &FigureOptions) -> Option<String> {
    let background = options.background.as_ref()?;
    let whose = options
        .background_credit
        .as_ref()
        .or(background.credit.as_ref())
        .map_or("source not stated", String::as_str);
    let stretch = background.stretch.map_or_else(String::new, |(low, high)| {
        format!("; its 16-bit values {low} to {high} are drawn from black to white")
    });
    scene
        .shows(MarkKind::Background)
        .then(|| format!("Background: {}, {whose}{stretch}", background.file))
}

/// Adds the caution, whole, at the foot of the sheet.
pub fn caution(scene: &mut Scene, part: Rect, assessment: &Assessment, font: &Font) {
    let frame = Ink::Line(super::outline(part), Pen::solid(p::INK, 1.0));
    scene.mark(MarkKind::Sheet, None, frame);
    let tag = "NOT FOR NAVIGATION";
    let middle = part.middle().y;
    let at = Point::new(part.left + 12.0, middle + 5.0);
    put(scene, at, tag, (p::HEADING, true), p::INK, Anchor::Start);
    let left = part.left + 12.0 + font.width(tag, p::HEADING, true) + 18.0;
    let lines = font.balanced(
        assessment.caution,
        p::SMALL,
        false,
        part.right - left - 12.0,
    );
    let first = middle + p::SMALL * 0.36 - LINE * 0.5 * (lines.len() as f64 - 1.0);
    for (row, line) in lines.iter().enumerate() {
        let at = Point::new(left, first + LINE * row as f64);
        put(scene, at, line, (p::SMALL, false), p::INK, Anchor::Start);
    }
}
