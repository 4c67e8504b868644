//! Golden images of what every figure has: labels, key, legend, title block, scale, north, paper.

use eaves::answer::{Assessment, VariationAnswer};
use eaves::figure::scene::{MarkKind, Rect};
use eaves::figure::{FigureKind, FigureOptions, Scene, resolve};
use eaves::sheet::{Orientation, Paper, Sheet};

use crate::figure::main_map;
use crate::{figure_busy, figure_cases as cases, golden};

fn site(assessment: &Assessment) -> Scene {
    resolve(assessment, FigureKind::Site, &FigureOptions::default()).unwrap()
}

/// The column of blocks of an A4 landscape sheet.
fn column(scene: &Scene) -> Rect {
    let (panel, _) = main_map(scene);
    let sheet = scene.outline();
    Rect::new(
        panel.right + 12.0,
        panel.top - 8.0,
        sheet.right - 30.0,
        sheet.bottom - 90.0,
    )
}

fn top(part: Rect, share: f64) -> Rect {
    Rect {
        bottom: part.top + share * part.height(),
        ..part
    }
}

#[test]
fn the_title_block() {
    let options = FigureOptions {
        title: Some("Conductor survey at Wattle Creek".into()),
        number: Some("3".into()),
        version: Some("B, 2026-11-25".into()),
        applicant: Some("An applicant with a name that takes two lines, and an address".into()),
        ..FigureOptions::default()
    };
    let scene = resolve(&cases::district(), FigureKind::Site, &options).unwrap();
    golden::picture("title-block", &scene, top(column(&scene), 0.24), 1.0);
}

#[test]
fn the_head_of_the_sheet() {
    let scene = site(&cases::district());
    let part = Rect::new(30.0, 30.0, scene.outline().right - 30.0, 108.0);
    golden::picture("head", &scene, part, 0.6);
}

#[test]
fn the_legend() {
    let scene = site(&cases::district());
    let part = column(&scene);
    let part = Rect::new(part.left, part.top + 120.0, part.right, part.top + 400.0);
    golden::picture("legend", &scene, part, 1.0);
}

fn strip(scene: &Scene) -> Rect {
    let (panel, _) = main_map(scene);
    Rect::new(
        panel.left - 20.0,
        panel.bottom - 12.0,
        panel.right,
        panel.bottom + 100.0,
    )
}

#[test]
fn scale_bars_and_north() {
    let scene = site(&cases::district());
    golden::picture("scale-and-north-east", &scene, strip(&scene), 0.7);
    let scene = site(&cases::on_the_aerodrome());
    golden::picture("scale-and-north-west", &scene, strip(&scene), 0.7);
}

#[test]
fn a_variation_that_is_not_known() {
    let mut assessment = cases::tiny();
    assessment.variation = VariationAnswer::Unknown {
        why: "2031-01-01 is after the last year of WMM2025".into(),
    };
    let scene = site(&assessment);
    golden::picture("north-unknown", &scene, strip(&scene), 0.7);
}

#[test]
fn the_graticule_across_the_antimeridian() {
    let scene = site(&cases::corridor());
    let (panel, _) = main_map(&scene);
    let part = Rect::new(
        panel.left - 24.0,
        panel.bottom - 190.0,
        panel.right,
        panel.bottom + 22.0,
    );
    golden::picture("graticule", &scene, part, 0.6);
}

#[test]
fn crowded_labels_and_their_key() {
    let (_, assessment) = figure_busy::adversarial().remove(1);
    let scene = site(&assessment);
    let (panel, map) = main_map(&scene);
    let part = Rect::new(
        panel.left,
        map.middle.y - 190.0,
        panel.left + 560.0,
        map.middle.y + 190.0,
    );
    golden::picture("labels-crowded", &scene, part, 0.8);
    golden::picture("key", &scene, column(&scene), 0.6);
}

#[test]
fn labels_at_one_place() {
    let (_, assessment) = figure_busy::adversarial().remove(0);
    let scene = site(&assessment);
    let (_, map) = main_map(&scene);
    golden::picture(
        "labels-at-one-place",
        &scene,
        Rect::around(map.middle, 230.0),
        0.8,
    );
}

#[test]
fn a_label_keeps_off_the_place_that_governs() {
    let scene = site(&cases::district());
    let governs = scene
        .labels
        .iter()
        .find(|label| label.kind == MarkKind::Governs)
        .unwrap();
    golden::picture(
        "label-governs",
        &scene,
        Rect::around(governs.frame.middle(), 190.0),
        0.9,
    );
}

#[test]
fn the_papers() {
    for (name, paper, orientation) in [
        ("paper-a4-portrait", Paper::A4, Orientation::Portrait),
        ("paper-a3-landscape", Paper::A3, Orientation::Landscape),
        (
            "paper-letter-landscape",
            Paper::Letter,
            Orientation::Landscape,
        ),
    ] {
        let options = FigureOptions {
            sheet: Sheet { paper, orientation },
            ..FigureOptions::default()
        };
        let scene = resolve(&cases::determined(), FigureKind::Site, &options).unwrap();
        golden::picture(name, &scene, scene.outline(), 0.25);
    }
}

#[test]
fn what_is_drawn_of_a_site_and_its_surroundings() {
    let assessment = cases::district();
    golden::scene("district-site", &site(&assessment));
    let location = resolve(&assessment, FigureKind::Location, &FigureOptions::default());
    golden::scene("district-location", &location.unwrap());
}
