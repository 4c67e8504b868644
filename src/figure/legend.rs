//! The legend: a sample and a line of text for each kind of mark in use, ten at most.
//!
//! Not here: the marks themselves.

use super::blocks::{BASELINE, Block, LINE, Row, small};
use super::font::Font;
use super::palette as p;
use super::scene::{Dash, Ink, MarkKind, Pen, Point, Rect, Scene};
use super::view::hatch;
use super::{ceiling, governing, section, symbol, words};
use crate::aerodrome::AerodromeKind;
use crate::answer::Assessment;
use crate::plan_point::Role;
use crate::sheet::FigureKind;

const SAMPLE_WIDTH: f64 = 46.0;
/// Height of a sample.
const SAMPLE_HEIGHT: f64 = 15.0;
/// Space between two entries.
const BETWEEN: f64 = 3.6;

/// No legend has more entries than this: beyond it, like ones share a line.
const MOST_ENTRIES: usize = 10;

/// The legend of a scene as a block; its texts are told to the scene.
pub fn block(scene: &mut Scene, assessment: &Assessment, width: f64, font: &Font) -> Block {
    let frame = Rect::new(0.0, 0.0, SAMPLE_WIDTH, SAMPLE_HEIGHT);
    let entries = match scene.kind {
        FigureKind::Section => section::legend::entries(scene, frame),
        FigureKind::Site | FigureKind::Location => on_maps(scene, assessment, frame),
    };
    let mut block = Block::new("Legend", MarkKind::Legend);
    let left = SAMPLE_WIDTH + 12.0;
    for (sample, text) in entries {
        let lines = font.wrapped(&text, p::SMALL, false, width - left);
        let height = (LINE * lines.len() as f64).max(SAMPLE_HEIGHT);
        let top = (height - SAMPLE_HEIGHT) / 2.0;
        let mut inks: Vec<Ink> = sample.iter().map(|ink| ink.moved(0.0, top)).collect();
        for (row, line) in lines.into_iter().enumerate() {
            let at = Point::new(left, BASELINE + LINE * row as f64);
            inks.push(small(at, line, false, p::INK));
        }
        block.rows.push(Row {
            height: height + BETWEEN,
            inks,
        });
        scene.legend.push(text);
    }
    block
}

/// The entries of a map that are in use: samples drawn into `frame`, and texts.
fn on_maps(scene: &Scene, assessment: &Assessment, frame: Rect) -> Vec<(Vec<Ink>, String)> {
    let mut entries: Vec<(Sample, String)> = entries(scene, assessment)
        .into_iter()
        .filter(|(_, kinds, _)| kinds.iter().any(|kind| scene.shows(*kind)))
        .map(|(sample, _, text)| (sample, text))
        .collect();
    share_lines(&mut entries);
    entries
        .into_iter()
        .map(|(sample, text)| (sample.inks(frame), text))
        .collect()
}

/// Each possible entry: its sample, the marks that call for it, its text.
fn entries(scene: &Scene, assessment: &Assessment) -> Vec<(Sample, Vec<MarkKind>, String)> {
    use MarkKind as K;
    // With bands of the ceiling in its place the usable area has an edge and no tint.
    let has_bands = scene.shows(K::Ceiling);
    let area = if has_bands && scene.shows(K::Usable) {
        "Operating area, its vertices by letter; thin lines within: usable area"
    } else {
        "Operating area, its vertices by letter"
    };
    let reach = governing::shielding(assessment).map_or_else(String::new, |answer| {
        format!(", {}\u{A0}m", words::grouped(answer.reach_m.m_down(0)))
    });
    let uncovered = "Part out of reach of every shield: ceiling undetermined";
    let area = match scene.kind {
        FigureKind::Location => (Sample::AreaFilled, vec![K::Area], "Operating area".into()),
        FigureKind::Site | FigureKind::Section => (Sample::Area, vec![K::Area], area.into()),
    };
    vec![
        area,
        (
            Sample::Usable,
            if has_bands { vec![] } else { vec![K::Usable] },
            "Usable area".into(),
        ),
        (
            Sample::Ceiling(ceiling::count(assessment)),
            vec![K::Ceiling],
            ceiling::legend(assessment),
        ),
        (
            Sample::Clearance,
            vec![K::Clearance],
            "Electrical clearance band about a power line".into(),
        ),
        (
            Sample::PlanPoint,
            vec![K::PlanPoint],
            "Take-off, landing, emergency and crew point".into(),
        ),
        (Sample::Uncovered, vec![K::Uncovered], uncovered.into()),
        (
            Sample::Governs,
            vec![K::Governs],
            "Place that governs the ceiling".into(),
        ),
        (
            Sample::Shield,
            vec![K::LowestShield],
            format!("Lowest shielding obstacle and its reach{reach}"),
        ),
        (
            Sample::Line,
            vec![K::Span, K::Support],
            "Power line: span, support with its stated top".into(),
        ),
        (
            Sample::Structure,
            vec![K::Structure],
            "Structure that can shield".into(),
        ),
        (
            Sample::NotShield,
            vec![K::NotShield],
            "Obstacle that is not a shield (its label or the report says why)".into(),
        ),
        (
            Sample::Estimate,
            vec![K::Estimate],
            "Dots: the height is an ESTIMATE".into(),
        ),
        (
            Sample::Ring,
            vec![K::Ring],
            "Distance ring: value and reference on the line".into(),
        ),
        (
            Sample::Zone,
            vec![K::Zone],
            "Zone of the profile; heavy: the area reaches in".into(),
        ),
        (
            Sample::Airspace,
            vec![K::Airspace],
            "Airspace volume, limits as stated; heavy: governs".into(),
        ),
        (
            Sample::Surface,
            vec![K::Surface],
            "Obstacle limitation surface; heavy: governs".into(),
        ),
        (
            Sample::Aerodrome,
            vec![K::Aerodrome, K::DistanceLine],
            if scene.kind == FigureKind::Location {
                "Aerodrome reference point, runway; dots: extended centreline; arrow: shortest distance"
            } else {
                "Aerodrome reference point, runway; arrow: shortest distance"
            }
            .into(),
        ),
    ]
}

/// Has like entries share a line until no more than [`MOST_ENTRIES`] are left.
fn share_lines(entries: &mut Vec<(Sample, String)>) {
    for (first, second, both, text) in [
        (
            Sample::Area,
            Sample::Usable,
            Sample::AreaAndUsable,
            "Operating area, its vertices by letter; darker: usable area",
        ),
        (
            Sample::Structure,
            Sample::NotShield,
            Sample::Structures,
            "Structure that can shield; grey or open: obstacle that is not a shield",
        ),
        (
            Sample::Line,
            Sample::Estimate,
            Sample::LineAndEstimate,
            "Power line: span, support with its top; dots: ESTIMATE",
        ),
        (
            Sample::Ring,
            Sample::Zone,
            Sample::RingAndZone,
            "Distance ring; below: zone of the profile, heavy: the area reaches in",
        ),
        (
            Sample::Airspace,
            Sample::Surface,
            Sample::AirspaceAndSurface,
            "Airspace volume; below: limitation surface; heavy: governs",
        ),
        (
            Sample::Ring,
            Sample::Aerodrome,
            Sample::AerodromeAndRing,
            "Distance ring; below: aerodrome, shortest distance to it",
        ),
        (
            Sample::RingAndZone,
            Sample::Aerodrome,
            Sample::AerodromeAndRing,
            "Distance ring (dash and dots: zone); below: aerodrome, shortest distance to it",
        ),
        (
            Sample::Governs,
            Sample::Shield,
            Sample::GovernsAndShield,
            "Place that governs; lowest shielding obstacle and its reach",
        ),
    ] {
        if entries.len() <= MOST_ENTRIES {
            return;
        }
        let at = |sample| entries.iter().position(|(one, _)| *one == sample);
        if let (Some(one), Some(other)) = (at(first), at(second))
            && let Some(entry) = entries.get_mut(one)
        {
            *entry = (both, text.to_owned());
            entries.remove(other);
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Sample {
    Area,
    AreaFilled,
    Usable,
    AreaAndUsable,
    /// So many bands.
    Ceiling(usize),
    Clearance,
    PlanPoint,
    RingAndZone,
    AerodromeAndRing,
    GovernsAndShield,
    Uncovered,
    Governs,
    Shield,
    Line,
    Structure,
    NotShield,
    Estimate,
    Ring,
    Zone,
    Airspace,
    Surface,
    AirspaceAndSurface,
    Structures,
    LineAndEstimate,
    Aerodrome,
}

impl Sample {
    fn inks(self, frame: Rect) -> Vec<Ink> {
        let middle = frame.middle();
        let across = |pen: Pen| {
            Ink::Line(
                vec![
                    Point::new(frame.left, middle.y),
                    Point::new(frame.right, middle.y),
                ],
                pen,
            )
        };
        match self {
            Self::Area => swatch(frame, p::AREA_TINT, p::AREA_HATCH, &[45.0], p::AREA_PEN),
            Self::AreaFilled => vec![
                Ink::Fill(vec![corners(frame)], p::AREA, 0.85),
                closed(frame, Pen::solid(p::AREA, 1.2)),
            ],
            Self::Usable => {
                let mut inks = swatch(frame, p::USABLE_TINT, p::AREA_HATCH, &[45.0], p::USABLE_PEN);
                if let Some(Ink::Fill(_, _, opacity)) = inks.first_mut() {
                    *opacity = 1.0;
                }
                inks
            }
            Self::AreaAndUsable => {
                let half = Rect {
                    left: middle.x,
                    ..frame
                };
                let mut inks = vec![
                    Ink::Fill(vec![corners(frame)], p::AREA_TINT, 0.7),
                    Ink::Fill(vec![corners(half)], p::USABLE_TINT, 1.0),
                ];
                let hatch = hatch(&[corners(frame)], 45.0, 6.0).into_iter();
                inks.extend(hatch.map(|(a, b)| Ink::Line(vec![a, b], p::AREA_HATCH)));
                inks.push(closed(half, p::USABLE_PEN));
                inks.push(closed(frame, p::AREA_PEN));
                inks
            }
            Self::Ceiling(count) => {
                let step = frame.width() / count.max(1) as f64;
                let mut inks: Vec<Ink> = ceiling::tones(count)
                    .iter()
                    .enumerate()
                    .map(|(number, tone)| {
                        let left = frame.left + step * number as f64;
                        let part = Rect {
                            left,
                            right: left + step,
                            ..frame
                        };
                        Ink::Fill(vec![corners(part)], *tone, 1.0)
                    })
                    .collect();
                inks.push(closed(frame, p::CONTOUR_PEN));
                inks
            }
            Self::Clearance => swatch(
                frame,
                p::CLEARANCE_TINT,
                p::CLEARANCE_HATCH,
                &[135.0],
                p::CLEARANCE_PEN,
            ),
            Self::PlanPoint => [Role::TakeOff, Role::Landing, Role::Emergency, Role::Crew]
                .iter()
                .enumerate()
                .flat_map(|(number, role)| {
                    let at = Point::new(frame.left + 5.0 + 12.0 * number as f64, middle.y);
                    symbol::plan_point(at, &[*role])
                        .into_iter()
                        .map(move |ink| shrunk(ink, at, 0.62))
                })
                .collect(),
            Self::AerodromeAndRing => {
                let above = Rect {
                    bottom: middle.y,
                    ..frame
                };
                let below = Rect {
                    top: middle.y,
                    bottom: frame.bottom + 3.0,
                    ..frame
                };
                let y = above.middle().y;
                let ends = vec![Point::new(frame.left, y), Point::new(frame.right, y)];
                let mut inks = vec![Ink::Line(ends, p::RING_PEN)];
                inks.extend(
                    Self::Aerodrome
                        .inks(below)
                        .into_iter()
                        .map(|ink| shrunk(ink, below.middle(), 0.8)),
                );
                inks
            }
            Self::GovernsAndShield => {
                let left = Rect {
                    right: frame.left + 16.0,
                    ..frame
                };
                let right = Rect {
                    left: frame.left + 19.0,
                    ..frame
                };
                let mut inks = Self::Shield.inks(right);
                inks.extend(
                    symbol::governs(left.middle())
                        .into_iter()
                        .map(|ink| shrunk(ink, left.middle(), 0.58)),
                );
                inks
            }
            Self::RingAndZone => pair_of(frame, p::RING_PEN, p::ZONE_GOVERNS_PEN),
            Self::Uncovered => swatch(
                frame,
                p::UNCOVERED_TINT,
                p::UNCOVERED_HATCH,
                &[20.0, 110.0],
                p::UNCOVERED_PEN,
            ),
            Self::Governs => symbol::governs(middle)
                .into_iter()
                .map(|ink| shrunk(ink, middle, 0.68))
                .collect(),
            Self::Shield => {
                let mut inks = vec![Ink::Fill(vec![corners(frame)], p::SHIELD_TINT, 0.75)];
                inks.push(across(Pen::solid(
                    super::scene::Colour(0x6f, 0xc2, 0xae),
                    6.0,
                )));
                inks.push(across(Pen::solid(p::LINE, 2.2)));
                inks.push(closed(frame, p::REACH_PEN));
                inks
            }
            Self::Line => {
                let mut inks = vec![across(Pen::solid(p::LINE, 2.2))];
                inks.extend(symbol::support(middle, p::LINE, 1.0));
                inks
            }
            Self::Structure => {
                let half = Rect::new(frame.left, frame.top, middle.x - 3.0, frame.bottom);
                let mut inks = vec![Ink::Fill(vec![corners(half)], p::STRUCTURE_TINT, 0.9)];
                inks.push(closed(half, Pen::solid(p::STRUCTURE, 1.6)));
                let at = Point::new(frame.right - 9.0, frame.bottom - 3.0);
                inks.extend(symbol::obstacle(at, p::LINE, true));
                inks
            }
            Self::NotShield => {
                let half = Rect::new(frame.left, frame.top, frame.left + 12.0, frame.bottom);
                let mut inks = vec![Ink::Fill(vec![corners(half)], p::RULE, 0.3)];
                let pen = Pen::dashed(p::NOT_SHIELD, 1.4, Dash::Short);
                inks.push(closed(half, Pen::dashed(p::NOT_SHIELD, 0.9, Dash::Solid)));
                let at = Point::new(frame.left + 21.5, frame.bottom - 3.0);
                inks.extend(symbol::obstacle(at, p::LINE, false));
                let from = Point::new(frame.left + 31.0, frame.bottom - 3.0);
                let to = Point::new(frame.right + 3.0, frame.top + 3.0);
                inks.push(Ink::Line(vec![from, to], pen));
                inks
            }
            Self::Estimate => vec![across(Pen::dashed(p::LINE, 3.0, Dash::Dots))],
            Self::Ring => vec![across(p::RING_PEN)],
            Self::Zone => vec![across(p::ZONE_GOVERNS_PEN)],
            Self::Airspace => vec![across(p::AIRSPACE_PEN)],
            Self::Surface => vec![across(p::SURFACE_PEN)],
            Self::AirspaceAndSurface => pair_of(frame, p::AIRSPACE_PEN, p::SURFACE_PEN),
            Self::Structures => {
                let box_ = |from: f64, to: f64| {
                    Rect::new(frame.left + from, frame.top, frame.left + to, frame.bottom)
                };
                let (can, cannot) = (box_(0.0, 10.0), box_(26.0, 36.0));
                let low = frame.bottom - 3.0;
                let mut inks = vec![
                    Ink::Fill(vec![corners(can)], p::STRUCTURE_TINT, 0.9),
                    closed(can, Pen::solid(p::STRUCTURE, 1.6)),
                    Ink::Fill(vec![corners(cannot)], p::RULE, 0.3),
                    closed(cannot, Pen::solid(p::NOT_SHIELD, 0.9)),
                ];
                inks.extend(symbol::obstacle(
                    Point::new(frame.left + 17.0, low),
                    p::LINE,
                    true,
                ));
                inks.extend(symbol::obstacle(
                    Point::new(frame.right - 3.0, low),
                    p::LINE,
                    false,
                ));
                inks
            }
            Self::LineAndEstimate => {
                let end = Point::new(frame.right, middle.y);
                let start = Point::new(frame.left, middle.y);
                let mut inks = vec![Ink::Line(vec![start, middle], Pen::solid(p::LINE, 2.2))];
                inks.push(Ink::Line(
                    vec![middle, end],
                    Pen::dashed(p::LINE, 3.0, Dash::Dots),
                ));
                inks.extend(symbol::support(start.shifted(11.0, 0.0), p::LINE, 1.0));
                inks
            }
            Self::Aerodrome => {
                let at = Point::new(frame.left + 9.0, middle.y);
                let mut inks = vec![Ink::Line(
                    vec![at.shifted(-7.0, 5.0), at.shifted(8.0, -6.0)],
                    Pen::solid(p::AERODROME, 3.4),
                )];
                inks.extend(
                    symbol::aerodrome(at, AerodromeKind::Aerodrome)
                        .into_iter()
                        .map(|ink| shrunk(ink, at, 0.8)),
                );
                let (from, to) = (at.shifted(13.0, 0.0), Point::new(frame.right, middle.y));
                inks.push(Ink::Line(vec![from, to], p::DISTANCE_PEN));
                inks.extend(symbol::arrow_head(from, to, 8.0, p::AERODROME));
                inks
            }
        }
    }
}

/// Two lines, one below the other.
fn pair_of(frame: Rect, above: Pen, below: Pen) -> Vec<Ink> {
    let y = frame.middle().y;
    [(y - 3.8, above), (y + 3.8, below)]
        .into_iter()
        .map(|(y, pen)| {
            let ends = vec![Point::new(frame.left, y), Point::new(frame.right, y)];
            Ink::Line(ends, pen)
        })
        .collect()
}

fn corners(frame: Rect) -> Vec<Point> {
    vec![
        Point::new(frame.left, frame.top),
        Point::new(frame.right, frame.top),
        Point::new(frame.right, frame.bottom),
        Point::new(frame.left, frame.bottom),
    ]
}

fn closed(frame: Rect, pen: Pen) -> Ink {
    let mut points = corners(frame);
    points.extend(points.first().copied());
    Ink::Line(points, pen)
}

fn swatch(
    frame: Rect,
    tint: super::scene::Colour,
    lines: Pen,
    angles: &[f64],
    edge: Pen,
) -> Vec<Ink> {
    let rings = vec![corners(frame)];
    let mut inks = vec![Ink::Fill(rings.clone(), tint, 0.8)];
    for angle in angles {
        inks.extend(
            hatch(&rings, *angle, 6.0)
                .into_iter()
                .map(|(a, b)| Ink::Line(vec![a, b], lines)),
        );
    }
    inks.push(closed(frame, edge));
    inks
}

fn shrunk(ink: Ink, about: Point, share: f64) -> Ink {
    let scaled = |p: Point| {
        Point::new(
            about.x + (p.x - about.x) * share,
            about.y + (p.y - about.y) * share,
        )
    };
    match ink {
        Ink::Line(points, pen) => Ink::Line(points.into_iter().map(scaled).collect(), pen),
        Ink::Fill(rings, colour, opacity) => Ink::Fill(
            rings
                .into_iter()
                .map(|ring| ring.into_iter().map(scaled).collect())
                .collect(),
            colour,
            opacity,
        ),
        Ink::Disc(at, radius, colour) => Ink::Disc(scaled(at), radius * share, colour),
        Ink::Circle(at, radius, pen) => Ink::Circle(scaled(at), radius * share, pen),
        // No sample is made of these.
        Ink::Text(_) | Ink::Picture(..) => ink,
    }
}
