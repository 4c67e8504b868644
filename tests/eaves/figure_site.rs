//! What the site figure shows: lettered vertices, plan points, electrical clearance, usable area and
//! bands of the ceiling; scenes tested, and golden images of one subject each.

use eaves::answer::{Assessment, HeightAbovePoint};
use eaves::assess::{LineClearance, Question, assess};
use eaves::figure::scene::{Ink, MarkKind, Point, Rect};
use eaves::figure::{FigureKind, FigureOptions, Scene, resolve};
use eaves::frame::{LocalFrame, Xy};
use eaves::obstacle::{Obstacle, Sag};
use eaves::plan_point::{PlanPoint, Role};
use eaves::read::ReadOptions;
use eaves::site::FeatureRef;
use eaves::units::{Altitude, Metres};

use crate::ceiling_grid::allowed;
use crate::cover::area;
use crate::figure::main_map;
use crate::golden;
use crate::site::{layers, mast, origin, place, question, rectangle, span};

fn point(name: &str, x: f64, y: f64, roles: &[Role]) -> PlanPoint {
    PlanPoint {
        source: FeatureRef {
            file: "plan.geojson".into(),
            feature: name.into(),
        },
        name: Some(name.into()),
        roles: roles.to_vec(),
        place: place(x, y),
        horizontal_accuracy: Metres::ZERO,
    }
}

fn line(from: (f64, f64), to: (f64, f64)) -> Obstacle {
    span(from, to, 60.0, Some(Sag::Metres(5.0)), 2.0)
}

/// A block under a line, with a mast, all kinds of points, and a band of 12 m.
fn site(rings: &[Vec<(f64, f64)>], change: impl FnOnce(&mut Question)) -> Assessment {
    let mut ask = question(rings, "plain");
    ask.line_clearance = Some(LineClearance::Distance(Metres::of(12.0)));
    ask.sample_ceiling = true;
    change(&mut ask);
    let mut all = layers(
        vec![],
        vec![
            line((-300.0, 0.0), (300.0, 0.0)),
            mast(20.0, 150.0, 45.0, 0.0),
        ],
    );
    all.plan = vec![
        point("Gate", -40.0, 40.0, &[Role::TakeOff, Role::Landing]),
        point("Hill", 60.0, 50.0, &[Role::TakeOff]),
        point("Yard", 10.0, 75.0, &[Role::Landing]),
        point("Creek", -90.0, 60.0, &[Role::Emergency]),
        point("Ute", 95.0, 30.0, &[Role::Crew]),
    ];
    assess(&ask, &all).unwrap()
}

fn block() -> Assessment {
    site(&[rectangle(-60.0, -30.0, 140.0, 160.0)], |_| {})
}

fn drawn(assessment: &Assessment, ceiling: bool) -> Scene {
    let options = FigureOptions {
        ceiling,
        ..FigureOptions::default()
    };
    resolve(assessment, FigureKind::Site, &options).unwrap()
}

fn demo(ceiling: bool) -> Scene {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let area = eaves::read::operating_area(&folder.join("area.geojson"), None).unwrap();
    let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    ask.area = area.area;
    ask.site_elevation = None;
    ask.sample_ceiling = ceiling;
    let table = eaves::clearance::ClearanceTable::load("cfr1926-1408").unwrap();
    ask.line_clearance = Some(LineClearance::Table(table));
    let all = eaves::read::layers(&folder, &ReadOptions::default()).unwrap();
    drawn(&assess(&ask, &all).unwrap(), ceiling)
}

/// Where a point of the test's plane lies on the sheet.
fn on_sheet(scene: &Scene, assessment: &Assessment, x: f64, y: f64) -> Point {
    let (_, map) = main_map(scene);
    let at = LocalFrame::about(assessment.area.middle).to_plane(place(x, y));
    Point::new(
        map.middle.x + at.x * map.units_per_metre,
        map.middle.y - at.y * map.units_per_metre,
    )
}

fn texts(scene: &Scene, kind: MarkKind) -> Vec<String> {
    scene
        .labels
        .iter()
        .filter(|label| label.kind == kind && label.number.is_none())
        .map(|label| {
            let lines: Vec<&str> = label.lines.iter().map(|it| it.text.as_str()).collect();
            lines.join(" ").replace('\u{a0}', " ")
        })
        .collect()
}

/// Every vertex has the letter of the schedule beside it.
#[test]
fn letters_match_the_schedule() {
    let with_hole = [
        rectangle(-60.0, -30.0, 140.0, 160.0),
        rectangle(0.0, 60.0, 40.0, 30.0).into_iter().rev().collect(),
    ];
    let assessment = site(&with_hole, |_| {});
    let scene = drawn(&assessment, false);
    let vertices: Vec<_> = assessment
        .schedule
        .iter()
        .flat_map(|ring| &ring.vertices)
        .collect();
    assert_eq!(vertices.len(), 8);
    let (_, map) = main_map(&scene);
    for vertex in vertices {
        let at = LocalFrame::about(assessment.area.middle).to_plane(vertex.place);
        let at = Point::new(
            map.middle.x + at.x * map.units_per_metre,
            map.middle.y - at.y * map.units_per_metre,
        );
        let nearest = scene
            .labels
            .iter()
            .filter(|label| label.kind == MarkKind::Area && label.lines[0].text.len() == 1)
            .min_by(|a, b| {
                let gap = |rect: &Rect| rect.nearest(at).distance(at);
                gap(&a.frame).total_cmp(&gap(&b.frame))
            })
            .unwrap();
        assert_eq!(nearest.lines[0].text, vertex.letter);
        assert!(
            nearest.frame.nearest(at).distance(at) < 20.0,
            "{}",
            vertex.letter
        );
    }
}

/// Each take-off point is labelled with the height of the answer.
#[test]
fn take_off_points_say_what_is_allowed_above_them() {
    let assessment = block();
    let scene = drawn(&assessment, false);
    let all = texts(&scene, MarkKind::PlanPoint);
    for point in &assessment.plan {
        let name = point.name.as_ref().unwrap();
        let label = all.iter().find(|text| text.starts_with(name.as_str()));
        let Some(HeightAbovePoint::Known { height_m, .. }) = point.above_take_off else {
            continue;
        };
        let label = label.unwrap_or_else(|| panic!("{name} is not labelled: {all:?}"));
        assert!(
            label.contains(&format!("at most {height_m:.1} m")),
            "{label}"
        );
    }
    // One symbol each, in view or not labelled as such.
    let discs = scene.marks.iter().filter(|mark| {
        mark.kind == MarkKind::PlanPoint && matches!(mark.ink, Ink::Disc(_, r, _) if r > 9.0)
    });
    assert_eq!(discs.count(), assessment.plan.len());
}

#[test]
fn the_legend_has_what_is_in_use_and_ten_lines_at_most() {
    let scene = demo(true);
    assert!(scene.legend.len() <= 10, "{:?}", scene.legend);
    for word in [
        "usable area",
        "Electrical clearance",
        "Take-off",
        "Ceiling above ground",
    ] {
        assert!(
            scene.legend.iter().any(|text| text.contains(word)),
            "{word}: {:?}",
            scene.legend
        );
    }
    let bare = drawn(&crate::figure_cases::tiny(), true);
    assert!(!bare.legend.iter().any(|text| text.contains("learance")));
}

fn is_inside(rings: &[Vec<Point>], at: Point) -> bool {
    let mut inside = false;
    for ring in rings {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            if (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
            {
                inside = !inside;
            }
        }
    }
    inside
}

/// At points all over the area: a tint promises no more than a brute force allows there, none lies
/// where the ceiling is undetermined, and nearly all of the rest is tinted.
#[test]
fn bands_of_the_ceiling_promise_no_more_than_is_allowed() {
    for rings in [
        vec![rectangle(-60.0, -30.0, 140.0, 260.0)],
        vec![vec![
            (0.0, 20.0),
            (90.0, 60.0),
            (30.0, 200.0),
            (-40.0, 120.0),
            (0.0, 20.0),
        ]],
    ] {
        let assessment = site(&rings, |_| {});
        let scene = drawn(&assessment, true);
        let mut tones = Vec::new();
        let mut fills: Vec<(usize, &Vec<Vec<Point>>)> = Vec::new();
        for mark in &scene.marks {
            if let (MarkKind::Ceiling, Ink::Fill(rings, tone, _)) = (mark.kind, &mark.ink) {
                if !tones.contains(tone) {
                    tones.push(*tone);
                }
                fills.push((tones.len() - 1, rings));
            }
        }
        let text = scene
            .legend
            .iter()
            .find(|text| text.contains("Ceiling above ground"))
            .unwrap();
        let heights: Vec<f64> = text
            .split("): ")
            .nth(1)
            .unwrap()
            .trim_end_matches(" m")
            .split(", ")
            .map(|it| it.parse().unwrap())
            .collect();
        assert_eq!(heights.len(), tones.len(), "{text}");
        let frame = LocalFrame::about(origin());
        let plan = eaves::plan::Plan::of(&area(origin(), &rings)).unwrap();
        let (mut known, mut tinted) = (0, 0);
        for (column, row) in (0..90).flat_map(|c| (0..130).map(move |r| (c, r))) {
            let (x, y) = (
                -70.0 + 1.9 * f64::from(column),
                -40.0 + 2.1 * f64::from(row),
            );
            let in_plan = plan.frame().to_plane(frame.to_place(Xy::new(x, y)));
            let corner = geo::Coord {
                x: in_plan.x,
                y: in_plan.y,
            };
            if !geo::Contains::contains(plan.polygons(), &corner) {
                continue;
            }
            let at = on_sheet(&scene, &assessment, x, y);
            let promised = fills
                .iter()
                .filter(|(_, rings)| is_inside(rings, at))
                .map(|(tone, _)| heights[*tone])
                .fold(f64::NEG_INFINITY, f64::max);
            let truth = allowed(x, y);
            known += usize::from(truth.is_some());
            tinted += usize::from(promised.is_finite());
            assert!(
                promised <= truth.unwrap_or(f64::NEG_INFINITY) + 1e-9,
                "{promised} at {x}, {y}: {truth:?}"
            );
        }
        assert!(tinted as f64 > 0.93 * known as f64, "{tinted} of {known}");
    }
}

/// Nothing is tinted unless it was asked for and sampled.
#[test]
fn bands_are_drawn_on_request_only() {
    assert!(!drawn(&block(), false).shows(MarkKind::Ceiling));
    let mut unsampled = block();
    unsampled.ceiling_grid = None;
    assert!(!drawn(&unsampled, true).shows(MarkKind::Ceiling));
}

/// A part of the sheet about a point of the test's plane.
fn about(scene: &Scene, assessment: &Assessment, (x, y): (f64, f64), half: f64) -> Rect {
    Rect::around(on_sheet(scene, assessment, x, y), half)
}

#[test]
fn golden_lettered_vertices_with_a_hole() {
    let rings = [
        rectangle(-60.0, -30.0, 140.0, 160.0),
        rectangle(0.0, 60.0, 40.0, 30.0).into_iter().rev().collect(),
    ];
    let assessment = site(&rings, |ask| ask.line_clearance = None);
    let scene = drawn(&assessment, false);
    let part = about(&scene, &assessment, (20.0, 90.0), 200.0);
    golden::picture("site-letters", &scene, part, 0.8);
}

#[test]
fn golden_plan_points() {
    let assessment = block();
    let scene = drawn(&assessment, false);
    let part = about(&scene, &assessment, (0.0, 55.0), 260.0);
    golden::picture("site-plan-points", &scene, part, 0.8);
}

#[test]
fn golden_take_off_undetermined() {
    let assessment = site(&[rectangle(-60.0, 20.0, 140.0, 60.0)], |ask| {
        ask.site_elevation = None;
    });
    let scene = drawn(&assessment, false);
    let part = about(&scene, &assessment, (10.0, 50.0), 230.0);
    golden::picture("site-take-off-undetermined", &scene, part, 0.8);
}

#[test]
fn golden_clearance_and_usable_area() {
    let assessment = site(&[rectangle(-60.0, -60.0, 140.0, 120.0)], |_| {});
    let scene = drawn(&assessment, false);
    let part = about(&scene, &assessment, (10.0, 0.0), 260.0);
    golden::picture("site-clearance", &scene, part, 0.8);
}

#[test]
fn golden_ceiling_bands_on_level_ground() {
    let assessment = site(&[rectangle(-60.0, 20.0, 140.0, 220.0)], |_| {});
    let scene = drawn(&assessment, true);
    let part = about(&scene, &assessment, (10.0, 130.0), 300.0);
    golden::picture("site-ceiling", &scene, part, 0.7);
}

/// What is turned off for a kind of figure makes no difference to it, so that one drawing serves.
#[test]
fn bands_of_the_ceiling_are_of_the_site_figure_only() {
    let assessment = block();
    let all = FigureOptions {
        ceiling: true,
        ..FigureOptions::default()
    };
    let scene = |kind, options: &FigureOptions| resolve(&assessment, kind, options).unwrap();
    let location = FigureKind::Location;
    assert_ne!(all.of_kind(location), all);
    assert_eq!(
        scene(location, &all),
        scene(location, &all.of_kind(location))
    );
    let site = FigureKind::Site;
    assert_eq!(all.of_kind(site), all);
    assert_ne!(scene(site, &all), scene(site, &FigureOptions::default()));
}

#[test]
fn golden_ceiling_bands_of_one_height() {
    let assessment = site(&[rectangle(-60.0, 20.0, 140.0, 60.0)], |ask| {
        ask.site_elevation = Some(Altitude::of(100.0));
    });
    let scene = drawn(&assessment, true);
    let part = about(&scene, &assessment, (10.0, 50.0), 230.0);
    golden::picture("site-ceiling-one", &scene, part, 0.8);
}

#[test]
fn golden_ceiling_bands_over_terrain() {
    let scene = demo(true);
    let (panel, _) = main_map(&scene);
    golden::picture("site-demo-ceiling", &scene, panel, 0.55);
}

#[test]
fn golden_the_demo() {
    let scene = demo(false);
    let (panel, _) = main_map(&scene);
    golden::picture("site-demo", &scene, panel, 0.55);
}

/// The place of each letter of the schedule in it.
fn order(assessment: &Assessment) -> Vec<String> {
    let rings = assessment.schedule.iter();
    rings
        .flat_map(|ring| &ring.vertices)
        .map(|vertex| vertex.letter.clone())
        .collect()
}

/// Each letter of the schedule is on the figure, alone, in a pair or within a range of neighbours, or
/// in its key; the label of a range starts at a vertex of the range or has a leader line from one.
fn assert_every_vertex_is_named(assessment: &Assessment, scene: &Scene) {
    let order = order(assessment);
    let number = |letter: &str| order.iter().position(|it| it == letter);
    let mut named = vec![0; order.len()];
    let labels = scene.labels.iter().filter(|it| it.kind == MarkKind::Area);
    let on_map = labels.filter(|it| it.number.is_none());
    let on_map = on_map.flat_map(|it| it.lines.iter().map(|line| line.text.clone()));
    let in_key = scene.key.iter().map(|entry| entry.text.clone());
    for text in on_map.chain(in_key) {
        let text = text.replace("vertices ", "").replace("vertex ", "");
        if let Some((first, last)) = text.split_once('\u{2013}') {
            let (Some(first), Some(last)) = (number(first), number(last)) else {
                continue;
            };
            named[first..=last].iter_mut().for_each(|it| *it += 1);
        } else {
            for letter in text.split(", ").filter_map(number) {
                named[letter] += 1;
            }
        }
    }
    for (letter, times) in order.iter().zip(named) {
        assert_eq!(times, 1, "{letter}");
    }
    assert!(!scene.notes.iter().any(|note| note.contains("vert")));
}

/// Vertices a metre apart, five in a knot, a ring of 240, an area of a few metres, two hundred parts.
#[test]
fn every_vertex_can_be_found() {
    let near = vec![
        (-60.0, -30.0),
        (80.0, -30.0),
        (80.0, 60.0),
        (79.5, 60.5),
        (79.0, 60.8),
        (78.6, 61.2),
        (78.0, 61.4),
        (-60.0, 61.0),
        (-60.5, 60.2),
        (-60.0, -30.0),
    ];
    let small = rectangle(0.0, 0.0, 2.0, 1.0);
    let parts: Vec<_> = (0..200)
        .map(|k| {
            let (x, y) = (f64::from(k % 20) * 12.0, f64::from(k / 20) * 12.0);
            rectangle(x - 120.0, y - 60.0, 5.0, 5.0)
        })
        .collect();
    let spiral: Vec<(f64, f64)> = (0..=900)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k % 900) / 900.0;
            (10.0 + 70.0 * angle.cos(), 30.0 + 50.0 * angle.sin())
        })
        .collect();
    for rings in [vec![near], vec![small], vec![spiral]] {
        let assessment = site(&rings, |ask| ask.line_clearance = None);
        assert_every_vertex_is_named(&assessment, &drawn(&assessment, false));
    }
    let mut assessment = site(&parts[..1], |ask| ask.line_clearance = None);
    let polygons = |ring: &Vec<(f64, f64)>| area(origin(), std::slice::from_ref(ring)).polygons;
    assessment.area.record.polygons = parts.iter().flat_map(polygons).collect();
    assessment.schedule = eaves::schedule::of(&assessment.area.record);
    assert_every_vertex_is_named(&assessment, &drawn(&assessment, false));
}

#[test]
fn golden_crowded_vertices() {
    let ring: Vec<(f64, f64)> = (0..=240)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k % 240) / 240.0;
            let radius = 60.0 + 6.0 * (9.0 * angle).sin();
            (10.0 + radius * angle.cos(), 30.0 + radius * angle.sin())
        })
        .collect();
    let assessment = site(&[ring], |ask| ask.line_clearance = None);
    let scene = drawn(&assessment, false);
    assert_every_vertex_is_named(&assessment, &scene);
    let part = about(&scene, &assessment, (10.0, 30.0), 260.0);
    golden::picture("site-letters-crowded", &scene, part, 0.8);
}

#[test]
fn golden_the_site_legend() {
    let scene = demo(true);
    let (panel, _) = main_map(&scene);
    let sheet = scene.outline();
    let part = Rect::new(
        panel.right + 12.0,
        panel.top + 100.0,
        sheet.right - 30.0,
        panel.top + 460.0,
    );
    golden::picture("site-legend", &scene, part, 0.9);
}
