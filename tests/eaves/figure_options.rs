//! What a figure shows when asked: airspace and obstacle limitation surfaces, and which governs.

use eaves::answer::Assessment;
use eaves::figure::scene::{Dash, Ink, MarkKind, Pen, Point};
use eaves::figure::{FigureOptions, Scene};
use eaves::frame::LocalFrame;
use eaves::surfaces::answer::{GapFrom, SurfaceAnswer, SurfaceKind, SurfacesAnswer};
use eaves::units::{Altitude, Metres};
use geo::{MultiPolygon, Polygon};

use crate::figure::{assert_labels_are_placed_well, main_map, maps};
use crate::figure_cases;
use crate::figure_fixture::{Ground, feature};
use crate::report_fixture;

/// Everything that can be asked for.
fn all() -> FigureOptions {
    FigureOptions {
        zones: true,
        airspace: true,
        surfaces: true,
        ..FigureOptions::default()
    }
}

/// The maps of an assessment, far and near, with everything.
fn both(assessment: &Assessment) -> [Scene; 2] {
    maps(assessment, &all())
}

fn surface(kind: SurfaceKind, lowest_m: f64, gap_m: f64, shape: Polygon<f64>) -> SurfaceAnswer {
    let middle = Ground::at(0.0, 0.0).place(0.0, 0.0);
    SurfaceAnswer {
        aerodrome: "LOXN Wiener Neustadt".into(),
        kind,
        part: Some("runway end 27".into()),
        source: feature("runways.geojson", "1"),
        lowest_m_amsl: Altitude::of(lowest_m),
        lowest_attained_m_amsl: Altitude::of(lowest_m),
        lowest_at: middle,
        share_under: 1.0,
        gap_m: Some(Metres::of(gap_m)),
        gap_at: Some(middle),
        governs: kind == SurfaceKind::Approach,
        penetration: None,
        footprint: Some(MultiPolygon::new(vec![shape])),
        assumed: vec![],
    }
}

/// The tiny area under three surfaces: one whose edge crosses both panels, one whose edge crosses
/// the location panel, one whose edge crosses neither.
fn under_surfaces() -> Assessment {
    let g = Ground::at(0.0, 0.0);
    let box_ =
        |low: f64, high: f64| g.polygon(&[(low, low), (high, low), (high, high), (low, high)]);
    let mut a = figure_cases::tiny();
    a.surfaces = Some(SurfacesAnswer {
        shielding_planes: None,
        structures: None,
        table: "annex14-2018".into(),
        title: "Annex 14".into(),
        edition: "8".into(),
        caution: String::new(),
        unconfirmed: vec![],
        from: GapFrom::Ceiling {
            ceiling_m_amsl: Altitude::of(300.0),
        },
        surfaces: vec![
            surface(SurfaceKind::Approach, 345.67, 45.6, box_(-5.0, 40_000.0)),
            surface(SurfaceKind::Conical, 360.0, 60.0, box_(-200.0, 200.0)),
            surface(SurfaceKind::OuterHorizontal, 400.0, 100.0, box_(-9e3, 9e3)),
        ],
    });
    a
}

fn lines(scene: &Scene, kind: MarkKind) -> Vec<(&[Point], Pen)> {
    scene
        .marks
        .iter()
        .filter(|mark| mark.kind == kind && mark.panel.is_some())
        .filter_map(|mark| match &mark.ink {
            Ink::Line(points, pen) => Some((points.as_slice(), *pen)),
            _ => None,
        })
        .collect()
}

fn text(scene: &Scene, kind: MarkKind) -> Vec<String> {
    scene
        .labels
        .iter()
        .filter(|label| label.kind == kind)
        .flat_map(|label| &label.lines)
        .map(|line| line.text.replace('\u{A0}', " "))
        .collect()
}

#[test]
fn nothing_is_drawn_that_was_not_asked_for() {
    for scene in maps(&under_surfaces(), &FigureOptions::default()) {
        assert!(!scene.shows(MarkKind::Surface));
    }
    for scene in maps(&report_fixture::straddling(), &FigureOptions::default()) {
        assert!(!scene.shows(MarkKind::Airspace));
        let said = |note: &String| note.starts_with("Airspace, not asked for: 4 volumes");
        assert!(scene.notes.iter().any(said), "{:?}", scene.notes);
    }
}

#[test]
fn what_was_asked_for_and_is_not_known_is_noted() {
    for scene in both(&figure_cases::tiny()) {
        for start in ["Airspace: ", "Obstacle limitation surfaces: "] {
            assert!(
                scene.notes.iter().any(|note| note.starts_with(start)),
                "{:?}",
                scene.notes
            );
        }
    }
}

/// 345.67 m is 345.6 m rounded down and 1 134 ft, as 1 ft is 0.3048 m by definition.
#[test]
fn surfaces_lie_where_their_footprints_do_and_the_one_that_governs_is_marked() {
    let assessment = under_surfaces();
    let frame = LocalFrame::about(assessment.area.middle);
    let g = Ground::at(0.0, 0.0);
    let scenes = both(&assessment);
    for scene in &scenes {
        let (_, map) = main_map(scene);
        let drawn = lines(scene, MarkKind::Surface);
        assert!(drawn.iter().all(|(_, pen)| pen.dash == Dash::LongShort));
        let heavy: Vec<_> = drawn.iter().filter(|(_, pen)| pen.width > 2.0).collect();
        assert!(!heavy.is_empty());
        let corner = frame.to_plane(g.place(-5.0, -5.0));
        let corner = Point::new(
            map.middle.x + corner.x * map.units_per_metre,
            map.middle.y - corner.y * map.units_per_metre,
        );
        let found = heavy
            .iter()
            .any(|(points, _)| points.iter().any(|at| at.distance(corner) < 0.01));
        assert!(found, "no corner at {corner:?}");
        let said = text(scene, MarkKind::Surface);
        let governing = "approach surface, LOXN Wiener Neustadt runway end 27 governs: least gap lowest \
                         here 345.6 m / 1 134 ft AMSL";
        assert!(said.join(" ").starts_with(governing), "{said:?}");
        assert_eq!(
            said.iter().filter(|line| line.contains("governs")).count(),
            1
        );
        assert_labels_are_placed_well("under surfaces", scene);
    }
    let light = scenes.each_ref().map(|scene| {
        let drawn = lines(scene, MarkKind::Surface);
        drawn.iter().filter(|(_, pen)| pen.width < 2.0).count()
    });
    assert!(light[0] > 0, "{light:?}");
    assert_eq!(light[1], 0);
    for (scene, beyond) in scenes.iter().zip([
        "Over the area, their edges beyond the panel: outer horizontal surface",
        "Over the area, their edges beyond the panel: conical surface and 1 more",
    ]) {
        assert!(
            scene.notes.iter().any(|note| note == beyond),
            "{:?}",
            scene.notes
        );
    }
}

#[test]
fn no_surface_governs_where_gaps_are_undetermined() {
    let mut assessment = under_surfaces();
    for surface in &mut assessment.surfaces.as_mut().unwrap().surfaces {
        surface.gap_m = None;
        surface.governs = false;
    }
    let [scene, _] = both(&assessment);
    let drawn = lines(&scene, MarkKind::Surface);
    assert!(!drawn.is_empty() && drawn.iter().all(|(_, pen)| pen.width < 2.0));
}

/// With airspace and surfaces in use the busiest legend still has ten entries, and each kind is in it.
#[test]
fn the_legend_shares_lines_rather_than_grow() {
    for (name, mut assessment) in figure_cases::all() {
        assessment.airspace = report_fixture::straddling().airspace;
        let middle = assessment.area.middle;
        let g = Ground::at(middle.lon(), middle.lat());
        let shape = g.polygon(&[(-9.0, -9.0), (30_000.0, -9.0), (30_000.0, 9.0), (-9.0, 9.0)]);
        let mut surfaces = under_surfaces().surfaces;
        for surface in &mut surfaces.as_mut().unwrap().surfaces {
            surface.footprint = Some(MultiPolygon::new(vec![shape.clone()]));
        }
        assessment.surfaces = surfaces;
        for volume in &mut assessment.airspace.as_mut().unwrap().volumes {
            volume.record.polygons = MultiPolygon::new(vec![shape.clone()]);
        }
        for scene in both(&assessment) {
            assert!(scene.legend.len() <= 10, "{name}: {:?}", scene.legend);
            let legend = scene.legend.join(" ").to_lowercase();
            assert!(legend.contains("airspace volume"), "{name}: {legend}");
            assert!(legend.contains("limitation surface"), "{name}: {legend}");
            assert_labels_are_placed_well(name, &scene);
            let drawn = lines(&scene, MarkKind::Airspace);
            assert!(drawn.iter().any(|(_, pen)| pen.width > 3.0), "{name}");
            let governing = text(&scene, MarkKind::Airspace);
            let marked = governing.iter().filter(|line| line.starts_with("governs"));
            assert_eq!(marked.count(), 1, "{name}: {governing:?}");
        }
    }
}
