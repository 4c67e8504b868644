//! Section figures: golden images of small cuts, one subject each, and what every one of them keeps.

use eaves::answer::Assessment;
use eaves::assess::assess;
use eaves::cut::SectionCut;
use eaves::figure::scene::{Ink, MarkKind, PanelName, Plane, Rect};
use eaves::figure::{FigureKind, FigureOptions, Scene, resolve};
use eaves::frame::LonLat;
use eaves::sheet::{LEAST_TEXT, Orientation, Paper, Sheet};

use crate::golden;
use crate::section::demo_assessment;
use crate::section_cases as cases;

fn scene(assessment: &Assessment) -> Scene {
    let options = FigureOptions {
        airspace: true,
        ..FigureOptions::default()
    };
    resolve(assessment, FigureKind::Section, &options).unwrap()
}

fn plot(scene: &Scene) -> Rect {
    scene.panel(PanelName::Section).unwrap().rect
}

fn demo(from: (f64, f64), to: (f64, f64)) -> Assessment {
    let place = |(lon, lat)| LonLat::new(lon, lat).unwrap();
    demo_assessment(SectionCut::Between(place(from), place(to)))
}

/// One subject each.
fn subjects() -> Vec<(&'static str, Assessment)> {
    let site = |(ask, layers): (eaves::assess::Question, eaves::read::Layers)| {
        assess(&ask, &layers).unwrap()
    };
    vec![
        (
            "governing",
            site(cases::beside_a_line(SectionCut::Governing)),
        ),
        (
            "sag-in-projection",
            site(cases::beside_a_line(cases::between(
                (-250.0, 20.0),
                (250.0, 20.0),
            ))),
        ),
        ("unknown-heights", site(cases::of_unknown_heights())),
        ("undetermined", site(cases::covered_in_part())),
        ("steps", site(cases::of_two_masts())),
        ("flat-ground", site(cases::on_flat_ground())),
        ("bend", site(cases::along_a_bend())),
        ("gaps", demo((149.6590, -30.8400), (149.6900, -30.8200))),
        ("demo", demo_assessment(SectionCut::Governing)),
        ("aerodrome", demo_assessment(SectionCut::Aerodrome(None))),
    ]
}

#[test]
fn sections_of_one_subject_each() {
    for (name, assessment) in subjects() {
        let scene = scene(&assessment);
        golden::picture(
            &format!("section-{name}"),
            &scene,
            plot(&scene).grown(58.0),
            0.6,
        );
    }
}

#[test]
fn the_legend_and_scales_of_a_section() {
    let scene = scene(&demo_assessment(SectionCut::Governing));
    golden::picture("section-sheet", &scene, scene.outline(), 0.4);
}

/// No two labels overlap, none is clipped or hides the place that governs, no text is below 7 pt, the
/// exaggeration is stated, the legend has ten entries at most and only what is in use.
#[test]
fn every_section_keeps_to_the_rules_of_a_figure() {
    for (name, assessment) in subjects() {
        for paper in [Paper::A4, Paper::A3] {
            let options = FigureOptions {
                sheet: Sheet {
                    paper,
                    orientation: Orientation::Portrait,
                },
                airspace: true,
                ..FigureOptions::default()
            };
            let portrait = resolve(&assessment, FigureKind::Section, &options).unwrap();
            for scene in [scene(&assessment), portrait] {
                rules(name, &scene);
            }
        }
    }
}

fn rules(name: &str, scene: &Scene) {
    let rect = plot(scene);
    for (index, label) in scene.labels.iter().enumerate() {
        assert!(rect.holds(&label.frame), "{name}: {:?}", label.lines);
        for other in &scene.labels[index + 1..] {
            assert!(
                !label.frame.overlaps(&other.frame),
                "{name}: {:?} on {:?}",
                label.lines,
                other.lines
            );
        }
        for clear in &scene.kept_clear {
            assert!(!label.frame.overlaps(clear), "{name}: {:?}", label.lines);
        }
    }
    let texts: Vec<(f64, String)> = scene
        .pieces()
        .filter_map(|piece| match piece.ink.as_ref() {
            Ink::Text(text) => Some((text.size, text.text.clone())),
            _ => None,
        })
        .collect();
    assert!(texts.iter().all(|(size, _)| *size >= LEAST_TEXT), "{name}");
    assert!(
        texts
            .iter()
            .any(|(_, text)| text.contains("ertical exaggeration")),
        "{name}: no exaggeration is stated"
    );
    assert!(
        scene.legend.len() <= 10 && !scene.legend.is_empty(),
        "{name}"
    );
    let has_wish = scene.legend.iter().any(|text| text.contains("Wished"));
    assert_eq!(has_wish, scene.shows(MarkKind::Wish), "{name}");
}

/// The demo cut from the field's own numbers: what the axes put at a level is the level.
#[test]
fn the_axes_of_a_section_are_to_scale() {
    let assessment = demo_assessment(SectionCut::Governing);
    let scene = scene(&assessment);
    let section = assessment.section.as_ref().unwrap();
    let panel = scene.panel(PanelName::Section).unwrap();
    let Plane::Section(axes) = panel.plane else {
        panic!("not a section")
    };
    let length = section.length_m.m();
    assert!((panel.rect.width() - length * axes.units_per_metre_along).abs() < 1e-6);
    // A sheet unit is 0.2 mm, so 1 : n is 5000 / n units to a metre.
    let ratio = 5000.0 / axes.units_per_metre_along;
    assert!((ratio - ratio.round()).abs() < 1e-6, "1 : {ratio}");
    for ratio in [ratio, 5000.0 / axes.units_per_metre_up] {
        // Digits of ISO 5455 (1, 2, 5) and those that maps are printed at between them.
        let digits = format!("{ratio:.3}");
        let lead = digits.trim_end_matches('0').trim_end_matches('.');
        let lead = lead.trim_end_matches('0');
        assert!(
            ["1", "125", "15", "2", "25", "3", "4", "5", "75"].contains(&lead),
            "1 : {ratio}"
        );
    }
    let certified = section.certified.unwrap().level_m;
    let y = axes.origin.y - certified * axes.units_per_metre_up;
    let drawn = scene
        .marks
        .iter()
        .filter(|mark| mark.kind == MarkKind::CeilingLine)
        .find_map(|mark| match &mark.ink {
            Ink::Line(points, _) => points.first().map(|point| point.y),
            _ => None,
        })
        .unwrap();
    // The ceiling at each place is not below the certified one: not lower on the sheet.
    assert!(drawn <= y + 1e-6, "{drawn} {y}");
}

#[test]
fn the_site_figure_has_the_line_of_the_section() {
    let assessment = demo_assessment(SectionCut::Governing);
    let site = resolve(&assessment, FigureKind::Site, &FigureOptions::default()).unwrap();
    assert!(site.shows(MarkKind::SectionLine));
    let letters: Vec<&str> = site
        .marks
        .iter()
        .filter(|mark| mark.kind == MarkKind::SectionLine)
        .filter_map(|mark| match &mark.ink {
            Ink::Text(text) => Some(text.text.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(letters, ["S", "S\u{2032}"]);
}
