//! The legend of a section figure: what is in use, ten entries at most.

use crate::figure::palette as p;
use crate::figure::scene::{Colour, Dash, Ink, MarkKind, Pen, Point, Rect, Scene};
use crate::figure::symbol;
use crate::figure::view::hatch;

/// No legend has more entries.
const MOST_ENTRIES: usize = 10;

/// An entry: the marks that call for it, its text, and what draws its sample into a frame.
type Entry = (&'static [MarkKind], &'static str, fn(Rect) -> Vec<Ink>);

/// Each possible entry, in order.
const ENTRIES: [Entry; 13] = [
    (
        &[MarkKind::CeilingLine],
        "Allowed ceiling in the area; dashes: the least of the whole area",
        ceiling,
    ),
    (
        &[MarkKind::Governs],
        "Place that governs the ceiling",
        governs,
    ),
    (
        &[MarkKind::Reach, MarkKind::Dimension],
        "Trusted top of its shield; arrows: dimensions",
        trusted,
    ),
    (
        &[MarkKind::Area],
        "Operating area, from the ground to the ceiling",
        area,
    ),
    (&[MarkKind::Uncovered], "Ceiling undetermined", undetermined),
    (
        &[MarkKind::Ground],
        "Ground; thin: what it is known within",
        ground,
    ),
    (
        &[MarkKind::GroundUnknown],
        "Ground not known: no data",
        ground_unknown,
    ),
    (
        &[MarkKind::Span, MarkKind::LowestShield],
        "Wire, lowest to highest credible; open: projected",
        wire,
    ),
    (
        &[MarkKind::Support, MarkKind::Structure],
        "Support, structure; dashed: projected",
        structure,
    ),
    (
        &[MarkKind::NotShield],
        "Grey: not a shield; ?: height unknown",
        not_shield,
    ),
    (&[MarkKind::Wish], "Wished height above ground", wish),
    (&[MarkKind::Surface], "Obstacle limitation surface", surface),
    (&[MarkKind::Airspace], "Floor of airspace", airspace),
];

/// Entries that share a line where there are too many.
const SHARED: [(MarkKind, MarkKind, Entry); 3] = [
    (
        MarkKind::Surface,
        MarkKind::Airspace,
        (
            &[],
            "Obstacle limitation surface; below: floor of airspace",
            surface_and_airspace,
        ),
    ),
    (
        MarkKind::Ground,
        MarkKind::GroundUnknown,
        (
            &[],
            "Ground; bracket: not known, no data",
            ground_and_unknown,
        ),
    ),
    (
        MarkKind::Support,
        MarkKind::NotShield,
        (
            &[],
            "Support, structure; dashed: projected; grey: not a shield; ?: height unknown",
            structures,
        ),
    ),
];

/// The entries in use: samples drawn into `frame`, and texts.
pub fn entries(scene: &Scene, frame: Rect) -> Vec<(Vec<Ink>, String)> {
    let mut used: Vec<Entry> = ENTRIES
        .into_iter()
        .filter(|(kinds, _, _)| kinds.iter().any(|kind| scene.shows(*kind)))
        .collect();
    for (first, second, both) in SHARED {
        if used.len() <= MOST_ENTRIES {
            break;
        }
        let at = |kind: MarkKind| used.iter().position(|(kinds, _, _)| kinds.contains(&kind));
        if let (Some(one), Some(other)) = (at(first), at(second))
            && let Some(entry) = used.get_mut(one)
        {
            *entry = both;
            used.remove(other);
        }
    }
    used.into_iter()
        .map(|(_, text, sample)| (sample(frame), text.to_owned()))
        .collect()
}

fn across(frame: Rect, down: f64, pen: Pen) -> Ink {
    let y = frame.middle().y + down;
    Ink::Line(
        vec![Point::new(frame.left, y), Point::new(frame.right, y)],
        pen,
    )
}

fn filled(frame: Rect, tint: Colour) -> Ink {
    Ink::Fill(vec![frame.corners().to_vec()], tint, 1.0)
}

fn hatched(frame: Rect, angles: &[f64], apart: f64, pen: Pen) -> Vec<Ink> {
    let ring = [frame.corners().to_vec()];
    angles
        .iter()
        .flat_map(|angle| hatch(&ring, *angle, apart))
        .map(|(from, to)| Ink::Line(vec![from, to], pen))
        .collect()
}

fn ceiling(frame: Rect) -> Vec<Ink> {
    vec![
        across(frame, -3.5, p::CEILING_PEN),
        across(frame, 4.0, p::CERTIFIED_PEN),
    ]
}

fn governs(frame: Rect) -> Vec<Ink> {
    symbol::governs_small(frame.middle())
}

fn trusted(frame: Rect) -> Vec<Ink> {
    let mut inks = vec![across(frame, -4.0, p::REACH_PEN)];
    let y = frame.middle().y + 4.0;
    let ends = [Point::new(frame.left, y), Point::new(frame.right, y)];
    inks.push(Ink::Line(ends.to_vec(), Pen::solid(p::SHIELD, 1.2)));
    inks.extend(symbol::arrow_head(ends[0], ends[1], 7.0, p::SHIELD));
    inks.extend(symbol::arrow_head(ends[1], ends[0], 7.0, p::SHIELD));
    inks
}

fn area(frame: Rect) -> Vec<Ink> {
    let mut inks = vec![filled(frame, p::AREA_TINT)];
    let foot = vec![
        Point::new(frame.left, frame.bottom),
        Point::new(frame.right, frame.bottom),
    ];
    inks.push(Ink::Line(foot, Pen::solid(p::AREA, 4.0)));
    for x in [frame.left, frame.right] {
        let edge = vec![Point::new(x, frame.top), Point::new(x, frame.bottom)];
        inks.push(Ink::Line(edge, p::AREA_EDGE_PEN));
    }
    inks
}

fn undetermined(frame: Rect) -> Vec<Ink> {
    let mut inks = vec![filled(frame, p::UNCOVERED_TINT)];
    inks.extend(hatched(frame, &[20.0, 110.0], 7.0, p::UNDETERMINED_HATCH));
    inks
}

/// The part of a frame below its upper third.
fn below(frame: Rect) -> Rect {
    Rect {
        top: frame.top + frame.height() / 3.0,
        ..frame
    }
}

fn ground(frame: Rect) -> Vec<Ink> {
    let part = below(frame);
    let mut inks = vec![filled(part, p::GROUND_TINT)];
    inks.extend(hatched(part, &[45.0], 8.0, p::GROUND_HATCH));
    let edge = vec![
        Point::new(part.left, part.top),
        Point::new(part.right, part.top),
    ];
    inks.push(Ink::Line(edge, p::GROUND_PEN));
    let over = vec![
        Point::new(frame.left, frame.top),
        Point::new(frame.right, frame.top),
    ];
    inks.push(Ink::Line(over, p::GROUND_ACCURACY_PEN));
    inks
}

fn ground_unknown(frame: Rect) -> Vec<Ink> {
    let [a, b, c, d] = frame.corners();
    vec![Ink::Line(vec![d, a, b, c], p::GROUND_UNKNOWN_PEN)]
}

fn ground_and_unknown(frame: Rect) -> Vec<Ink> {
    let half =
        |from: f64, to: f64| Rect::new(frame.left + from, frame.top, frame.left + to, frame.bottom);
    let mut inks = ground(half(0.0, 24.0));
    inks.extend(ground_unknown(half(30.0, 46.0)));
    inks
}

fn wire(frame: Rect) -> Vec<Ink> {
    let at = Point::new(frame.left + 9.0, frame.bottom - 5.0);
    let high = Point::new(at.x, frame.top);
    let open = Point::new(frame.right - 10.0, frame.middle().y);
    vec![
        Ink::Line(vec![at, high], Pen::solid(p::LINE, 0.9)),
        Ink::Line(
            vec![high.shifted(-3.5, 0.0), high.shifted(3.5, 0.0)],
            Pen::solid(p::LINE, 0.9),
        ),
        Ink::Disc(at, 5.0, p::LINE),
        Ink::Circle(open, 4.4, Pen::solid(p::LINE, 1.4)),
    ]
}

/// A mast from the foot of a frame, so far from its left edge.
fn mast(frame: Rect, right: f64, pen: Pen) -> Vec<Ink> {
    let foot = Point::new(frame.left + right, frame.bottom);
    let top = Point::new(foot.x, frame.top);
    let bar = vec![top.shifted(-5.0, 0.0), top.shifted(5.0, 0.0)];
    vec![
        Ink::Line(vec![foot, top], pen),
        Ink::Line(
            bar,
            Pen {
                dash: Dash::Solid,
                ..pen
            },
        ),
    ]
}

fn structure(frame: Rect) -> Vec<Ink> {
    let mut inks = mast(frame, 9.0, Pen::solid(p::LINE, 2.4));
    inks.extend(mast(frame, 34.0, Pen::dashed(p::LINE, 1.4, Dash::Short)));
    inks
}

fn not_shield(frame: Rect) -> Vec<Ink> {
    let mut inks = mast(frame, 9.0, Pen::solid(p::NOT_SHIELD, 2.4));
    inks.push(question(Point::new(frame.left + 34.0, frame.bottom - 2.0)));
    inks
}

fn structures(frame: Rect) -> Vec<Ink> {
    let mut inks = mast(frame, 6.0, Pen::solid(p::LINE, 2.4));
    inks.extend(mast(frame, 18.0, Pen::dashed(p::LINE, 1.4, Dash::Short)));
    inks.extend(mast(frame, 30.0, Pen::solid(p::NOT_SHIELD, 2.4)));
    inks.push(question(Point::new(frame.left + 41.0, frame.bottom - 2.0)));
    inks
}

fn question(at: Point) -> Ink {
    Ink::Text(crate::figure::scene::Text {
        at,
        text: "?".to_owned(),
        size: p::LABEL,
        bold: true,
        colour: p::NOT_SHIELD,
        anchor: crate::figure::scene::Anchor::Middle,
        upwards: false,
        halo: false,
    })
}

fn wish(frame: Rect) -> Vec<Ink> {
    vec![across(frame, 0.0, p::WISH_PEN)]
}

fn surface(frame: Rect) -> Vec<Ink> {
    vec![across(frame, 0.0, p::SURFACE_PEN)]
}

fn airspace(frame: Rect) -> Vec<Ink> {
    vec![across(frame, 0.0, p::AIRSPACE_PEN)]
}

fn surface_and_airspace(frame: Rect) -> Vec<Ink> {
    vec![
        across(frame, -3.8, p::SURFACE_PEN),
        across(frame, 3.8, p::AIRSPACE_PEN),
    ]
}
