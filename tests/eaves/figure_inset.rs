//! The inset of the location figure: where it lies, what it says of its scale, what it holds.

use std::path::Path;

use eaves::answer::Assessment;
use eaves::assess::assess;
use eaves::figure::scene::{Ink, MarkKind, PanelName, Point, Rect};
use eaves::figure::{FigureKind, FigureOptions, Scene, resolve};
use eaves::frame::{LocalFrame, LonLat, Xy, destination, distance};
use eaves::read;
use eaves::sheet::{Orientation, Paper, Sheet};
use eaves::units::{Bearing, Metres};

use crate::figure::{all_text, assert_labels_are_placed_well, main_map};
use crate::site::{question, rectangle};
use crate::{figure_cases, golden};

/// The district with six aerodromes farther out, 20 km to 120 km away.
fn district() -> Assessment {
    let mut assessment = figure_cases::district();
    let middle = assessment.area.middle;
    assessment.farther_aerodromes = (1..=6)
        .map(|k| {
            let bearing = Bearing::new(f64::from(k) * 57.0).unwrap();
            let place = destination(middle, bearing, Metres::of(20_000.0 * f64::from(k)));
            (format!("FAR{k}"), place)
        })
        .collect();
    assessment
}

fn location(assessment: &Assessment, sheet: Sheet) -> Scene {
    let options = FigureOptions {
        sheet,
        ..FigureOptions::default()
    };
    resolve(assessment, FigureKind::Location, &options).unwrap()
}

fn sheets() -> impl Iterator<Item = Sheet> {
    Paper::ALL.into_iter().flat_map(|paper| {
        Orientation::ALL
            .into_iter()
            .map(move |orientation| Sheet { paper, orientation })
    })
}

#[test]
fn only_a_location_figure_has_one() {
    let site = resolve(&district(), FigureKind::Site, &FigureOptions::default()).unwrap();
    assert!(site.panel(PanelName::Inset).is_none());
    let scene = location(&district(), Sheet::default());
    assert!(scene.panel(PanelName::Inset).is_some());
}

/// Beside the map, on every paper: no mark of the sheet's text or of the map lies in it.
#[test]
fn it_covers_nothing() {
    for (name, mut assessment) in figure_cases::all() {
        assessment.farther_aerodromes = district().farther_aerodromes;
        for sheet in sheets() {
            let scene = location(&assessment, sheet);
            assert_labels_are_placed_well(name, &scene);
            let inset = scene.panel(PanelName::Inset).unwrap().rect;
            assert!(scene.outline().holds(&inset), "{name}");
            assert!(!inset.overlaps(&main_map(&scene).0), "{name}");
            for mark in scene.marks.iter().filter(|mark| mark.panel.is_none()) {
                if let Ink::Text(text) = &mark.ink {
                    assert!(!inset.contains(text.at), "{name}: {}", text.text);
                }
            }
        }
    }
}

/// The outline in it is that of the map beside it: its corners are the corners of the map, taken to
/// metres by the one scale and back by the other; and it is wide enough to be seen.
#[test]
fn the_outline_is_that_of_the_map() {
    for sheet in sheets() {
        let scene = location(&district(), sheet);
        let (rect, main) = main_map(&scene);
        let inset = scene.map(PanelName::Inset).unwrap();
        let wanted = rect.corners().map(|corner| {
            Point::new(
                inset.middle.x
                    + (corner.x - main.middle.x) / main.units_per_metre * inset.units_per_metre,
                inset.middle.y
                    + (corner.y - main.middle.y) / main.units_per_metre * inset.units_per_metre,
            )
        });
        let drawn = scene
            .marks
            .iter()
            .find_map(|mark| match (mark.kind, mark.panel, &mark.ink) {
                (MarkKind::Extent, Some(PanelName::Inset), Ink::Line(points, _)) => Some(points),
                _ => None,
            })
            .unwrap();
        for corner in wanted {
            assert!(drawn.iter().any(|it| it.distance(corner) < 0.01));
        }
        assert!(wanted[0].distance(wanted[2]) > 15.0);
        let within = scene.panel(PanelName::Inset).unwrap().rect;
        assert!(wanted.iter().all(|it| within.contains(*it)));
    }
}

/// The scale and the width that it states, against its map and a Karney geodesic along its middle.
#[test]
fn it_states_its_scale_and_width() {
    let assessment = district();
    let scene = location(&assessment, Sheet::default());
    let rect = scene.panel(PanelName::Inset).unwrap().rect;
    let map = scene.map(PanelName::Inset).unwrap();
    let frame = LocalFrame::about(assessment.area.middle);
    let place = |x: f64| {
        frame.to_place(Xy::new(
            (x - map.middle.x) / map.units_per_metre,
            (map.middle.y - rect.middle().y) / map.units_per_metre,
        ))
    };
    let width = distance(place(rect.left), place(rect.right)).m() / 1000.0;
    let text = all_text(&scene);
    let stated = text.iter().find(|it| it.ends_with("km wide")).unwrap();
    let (scale, wide) = stated.split_once(", ").unwrap();
    let digits = |text: &str| -> f64 {
        let digits: String = text.chars().filter(char::is_ascii_digit).collect();
        digits.parse().unwrap()
    };
    let denominator = digits(scale.split_once(':').unwrap().1);
    assert!((5000.0 / map.units_per_metre / denominator - 1.0).abs() < 1e-9);
    assert!((digits(wide) - width).abs() <= 1.0, "{stated} {width}");
}

/// Every aerodrome that lies in it has its symbol there, those near and those farther out.
#[test]
fn aerodromes_of_the_layers_are_in_it() {
    let assessment = district();
    let scene = location(&assessment, Sheet::default());
    let rect: Rect = scene.panel(PanelName::Inset).unwrap().rect;
    let map = scene.map(PanelName::Inset).unwrap();
    let frame = LocalFrame::about(assessment.area.middle);
    let near = assessment
        .aerodromes
        .iter()
        .filter_map(|it| it.record.reference_point);
    let far = assessment
        .farther_aerodromes
        .iter()
        .map(|(_, place)| *place);
    let mut seen = 0;
    for place in near.chain(far) {
        let at = frame.to_plane(place);
        let at = Point::new(
            map.middle.x + at.x * map.units_per_metre,
            map.middle.y - at.y * map.units_per_metre,
        );
        if !rect.contains(at) {
            continue;
        }
        seen += 1;
        let is_symbol = scene
            .marks
            .iter()
            .any(|mark| match (mark.kind, mark.panel, &mark.ink) {
                (MarkKind::Aerodrome, Some(PanelName::Inset), Ink::Circle(centre, _, _)) => {
                    centre.distance(at) < 0.01
                }
                _ => false,
            });
        assert!(is_symbol, "{place:?}");
    }
    assert!(seen >= 4, "{seen}");
}

/// Of the demo's two aerodromes one is 1.53 NM and one 2.35 NM away: with a radius of 2 NM the second
/// is farther out, and no aerodrome is in both lists.
#[test]
fn aerodromes_beyond_the_search_radius_are_kept_for_it() {
    let assessed = |radius_nm: f64| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
        let mut asked = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
        asked.area = read::operating_area(&folder.join("area.geojson"), None)
            .unwrap()
            .area;
        asked.search_radius = Metres::from_nautical_miles(radius_nm);
        let layers = read::layers(&folder, &read::ReadOptions::default()).unwrap();
        assess(&asked, &layers).unwrap()
    };
    let near = assessed(2.0);
    assert_eq!(near.aerodromes.len(), 1);
    let names: Vec<&str> = near
        .farther_aerodromes
        .iter()
        .map(|it| it.0.as_str())
        .collect();
    assert_eq!(names, ["SYN1"]);
    let place: LonLat = near.farther_aerodromes[0].1;
    let all = assessed(10.0);
    assert!(all.farther_aerodromes.is_empty());
    let known = all
        .aerodromes
        .iter()
        .find(|it| it.ident.as_deref() == Some("SYN1"));
    assert_eq!(known.unwrap().record.reference_point, Some(place));
}

#[test]
fn golden_the_inset() {
    let scene = location(&district(), Sheet::default());
    let rect = scene.panel(PanelName::Inset).unwrap().rect;
    let part = Rect::new(
        rect.left - 26.0,
        rect.top - 30.0,
        rect.right + 8.0,
        rect.bottom + 22.0,
    );
    golden::picture("inset", &scene, part, 1.0);
}
