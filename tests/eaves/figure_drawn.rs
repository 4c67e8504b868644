//! What `--draw` adds to a figure, on the demo: zones, surfaces and airspace, each only when asked,
//! with labels that keep apart.

use eaves::assess::{DRAWN_AROUND, Question, assess};
use eaves::figure::scene::MarkKind;
use eaves::figure::{self, FigureOptions};
use eaves::read::{self, ReadOptions, window_about};
use eaves::surfaces::table;
use eaves::units::Height;

use crate::figure::assert_labels_are_placed_well;
use crate::site::{question, rectangle};

#[test]
fn zones_surfaces_and_airspace_are_drawn_when_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in eaves::demo::LAYERS {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let outside = tempfile::tempdir().unwrap();
    let path = outside.path().join(eaves::demo::AREA.0);
    std::fs::write(&path, eaves::demo::AREA.1).unwrap();
    let area = read::operating_area(&path, None).unwrap().area;
    let plain = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    let options = ReadOptions {
        window: Some(window_about(
            &area,
            plain.profile.widest_reach() + DRAWN_AROUND,
        )),
        ..ReadOptions::default()
    };
    let layers = read::layers(folder.path(), &options).unwrap();
    let asked = Question {
        area,
        site_elevation: None,
        wish: Some(Height::of(40.0)),
        surfaces: Some(table::load("annex14-2018").unwrap()),
        ..plain
    };
    let assessment = assess(&asked, &layers).unwrap();
    let kinds = [MarkKind::Zone, MarkKind::Surface, MarkKind::Airspace];
    for choice in 0..8u8 {
        let wanted = [choice & 1 != 0, choice & 2 != 0, choice & 4 != 0];
        let scene = figure::resolve(
            &assessment,
            &FigureOptions {
                zones: wanted[0],
                surfaces: wanted[1],
                airspace: wanted[2],
                ..FigureOptions::default()
            },
        )
        .unwrap();
        assert_labels_are_placed_well(&format!("demo {choice}"), &scene);
        for (kind, wanted) in kinds.into_iter().zip(wanted) {
            let is_drawn = scene.marks.iter().any(|mark| mark.kind == kind);
            assert_eq!(is_drawn, wanted, "{kind:?} of {choice}");
        }
        let governs = scene.labels.iter().any(|label| {
            label.kind == MarkKind::Surface
                && label.lines.iter().any(|line| line.text.contains("governs"))
        });
        assert!(!governs || wanted[1]);
    }
}
