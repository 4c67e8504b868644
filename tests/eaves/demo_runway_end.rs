//! The second demo site beside what `demo-layers/runway-end/make.py` measures of its files with pyproj and
//! shapely: geodesic offsets, buffers, formulae of the sections written out, hours minute by minute.

use std::path::Path;

use eaves::answer::{Assessment, ZoneState};
use eaves::assess::assess;
use eaves::hours::window::WishedWindow;
use eaves::read::{ReadOptions, layers, operating_area};
use eaves::surfaces::answer::{Purpose, SurfaceAnswer, SurfaceKind};
use eaves::surfaces::shielding_planes::ShieldingRule;
use eaves::surfaces::table::load;
use eaves::units::{Altitude, Height, Metres};

use crate::site::{question, rectangle};

fn answered() -> Assessment {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers/runway-end");
    let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    ask.area = operating_area(&folder.join("area.geojson"), None)
        .unwrap()
        .area;
    ask.date = jiff::civil::date(2026, 10, 30);
    ask.surfaces = Some(load("cfr77").unwrap());
    ask.shielding_planes = Some(ShieldingRule::built_in().unwrap());
    ask.wish = Some(Height::of(30.0));
    ask.site_elevation = Some(Altitude::of(1402.0));
    ask.ground_accuracy = Some(Metres::of(1.0));
    ask.tolerance = Metres::of(0.1);
    let window = WishedWindow::new("Fr-Su 06:00-10:00", "America/Los_Angeles", 4);
    ask.window = Some(window.unwrap());
    assess(&ask, &layers(&folder, &ReadOptions::default()).unwrap()).unwrap()
}

/// At or below what was measured, by no more than `within`.
#[track_caller]
fn not_above(found: f64, measured: f64, within: f64) {
    assert!(
        found <= measured + 0.006 && found >= measured - within,
        "{found}, measured {measured}"
    );
}

#[test]
fn the_second_demo_site_is_as_measured() {
    let site = answered();
    let whole = site.ceiling.whole.as_ref().unwrap();
    not_above(whole.amsl.as_ref().unwrap().value_m, 1441.24, 0.1);

    // The sloped zone that the area reaches into: 72.15 % of it, from 1 420.35 m AMSL.
    let zone = site
        .zones
        .iter()
        .find(|it| it.title.contains("Approach") && it.part.as_deref() == Some("beyond end 26"))
        .unwrap();
    assert_eq!(zone.state, ZoneState::Straddles);
    let share = zone.share_inside.unwrap();
    assert!((0.7215 - 5e-5..0.7225).contains(&share), "{share}");
    not_above(zone.floor_m_amsl.unwrap().m(), 1420.35, 0.05);
    not_above(-zone.ceiling_gap_m.unwrap().m() - 0.1, 20.89, 0.2);
    not_above(-zone.wish_gap_m.unwrap().m() - 0.1, 12.65, 0.2);

    // 14 CFR 77.19 and 77.21.
    let surfaces = site.surfaces.as_ref().unwrap();
    let surface = |kind: SurfaceKind, owner: &str| -> &SurfaceAnswer {
        surfaces
            .surfaces
            .iter()
            .find(|it| it.kind == kind && it.aerodrome.starts_with(owner))
            .unwrap()
    };
    let approach = surface(SurfaceKind::Approach, "SYN3");
    not_above(approach.lowest_m_amsl.m(), 1428.15, 0.1);
    not_above(approach.gap_m.unwrap().m(), -13.08, 0.15);
    let pierced = approach.penetration.as_ref().unwrap();
    assert!(
        (0.95207 - 5e-6..0.955).contains(&pierced.share),
        "{}",
        pierced.share
    );
    let horizontal = surface(SurfaceKind::Horizontal, "SYN3");
    not_above(horizontal.lowest_m_amsl.m(), 1445.67, 0.05);
    let conical = surface(SurfaceKind::Conical, "SYN4");
    not_above(conical.lowest_m_amsl.m(), 1499.06, 0.05);
    assert!(
        surfaces
            .unconfirmed
            .iter()
            .any(|it| it.row.starts_with("military."))
    );

    // Shielding planes as placed: 86.36 % of the area; the obstacles may stand elsewhere by 2 m.
    let shielded = pierced.shielded.unwrap();
    assert!((0.84..=0.8636).contains(&shielded.share), "{shielded:?}");
    let open = 0.95207 - 0.8636;
    assert!(
        (open..open + 0.02).contains(&shielded.unshielded_share),
        "{shielded:?}"
    );

    // Heights of structures.
    let structures = surfaces.structures.as_ref().unwrap();
    let least = |purpose: Purpose, section: &str, owner: &str| {
        structures
            .standards
            .iter()
            .find(|it| {
                it.purpose == purpose
                    && it.source.contains(section)
                    && it
                        .aerodrome
                        .as_deref()
                        .is_some_and(|it| it.starts_with(owner))
            })
            .and_then(|it| it.height_m_agl)
            .unwrap()
            .m()
    };
    not_above(least(Purpose::Notice, "77.9(b)", "SYN3"), 3.42, 0.12);
    not_above(least(Purpose::Notice, "77.9(b)", "SYN4"), 38.42, 0.12);
    not_above(
        least(Purpose::Obstruction, "77.17(a)(2)", "SYN3"),
        60.96,
        0.12,
    );
    not_above(
        least(Purpose::Obstruction, "77.17(a)(2)", "SYN4"),
        67.96,
        0.12,
    );
}

/// The AIXM file: a circle of 4 NM and a sector of 9 NM about the reference point, which the area is
/// 1 784.9 m to 2 066.5 m away from on 83.15° to 95.56°; the corridor is named as not read.
#[test]
fn the_airspace_of_the_second_demo_site_is_as_measured() {
    let site = answered();
    let volumes = &site.airspace.as_ref().unwrap().volumes;
    assert_eq!(volumes.len(), 2);
    // Inside by 4 NM less the farthest corner; arcs are drawn within 0.5 m and grown by it, and by the
    // metre of accuracy.
    let zone = &volumes[0];
    assert_eq!(zone.authority.as_deref(), Some("Corbel Tower (OTHER)"));
    let reached = -zone.margin_m.m() - (7408.0 - 1784.9);
    assert!((0.0..2.6).contains(&reached), "{reached}");
    assert!(volumes.iter().all(|it| it.share_inside == 1.0));
    assert!(site.not_assessed.iter().any(|it| it.features == ["SYN-T9"]));
}

/// Minute by minute on the clock of the zone database of Python: 210 of 720 minutes outside control, and 30
/// in which the tower alone is active; the control zone of 15:00 to 03:00 UTC begins at 08:00 on Friday
/// and Saturday and at 07:00 on Sunday, after the clocks have changed.
#[test]
fn the_hours_of_the_second_demo_site_are_as_counted() {
    let hours = answered().hours.unwrap();
    assert_eq!(
        (hours.totals.window_min, hours.totals.outside_control_min),
        (720, 210)
    );
    assert_eq!(hours.totals.undetermined_min, 0);
    let spells: Vec<(String, usize)> = hours
        .windows
        .iter()
        .flat_map(|window| &window.spells)
        .map(|spell| (spell.from.local[8..16].to_owned(), spell.by.len()))
        .collect();
    let expected = [
        ("30T06:00", 0),
        ("30T06:30", 1),
        ("30T07:00", 2),
        ("30T08:00", 4),
        ("31T06:00", 0),
        ("31T08:00", 1),
        ("31T09:00", 2),
        ("01T06:00", 0),
        ("01T07:00", 1),
        ("01T09:00", 2),
    ];
    assert_eq!(spells.len(), expected.len(), "{spells:?}");
    for (found, (from, by)) in spells.iter().zip(expected) {
        assert_eq!((found.0.as_str(), found.1), (from, by));
    }
    let alone = &hours.windows[0].spells[1];
    assert_eq!(
        (alone.by.as_slice(), alone.minutes),
        (&["SYN3 Corbel Municipal Airport, tower".to_owned()][..], 30)
    );
    assert_eq!(hours.clock_changes.len(), 1);
}
