//! Sites where a careless answer would be optimistic or wrong, each through files as a user has them.

use std::path::{Path, PathBuf};

use eaves::answer::Assessment;
use eaves::assess::assess;
use eaves::distance::{Measured, Target};
use eaves::frame::{LocalFrame, LonLat, Xy, distance};
use eaves::obstacle::Sag;
use eaves::plan::{LAYOUT_ERROR_M, Plan, cut_short, lay_out_chain};
use eaves::read::{self, ReadOptions, window_about};
use eaves::units::Metres;
use serde_json::{Value, json};

use crate::site::{question, rectangle};

/// A folder of layers about a place, from plane coordinates.
struct Folder {
    folder: tempfile::TempDir,
    frame: LocalFrame,
}

impl Folder {
    fn about(lon: f64, lat: f64) -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            frame: LocalFrame::about(LonLat::new(lon, lat).unwrap()),
        }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn place(&self, (x, y): (f64, f64)) -> Value {
        let place = self.frame.to_place(Xy::new(x, y));
        json!([place.lon(), place.lat()])
    }

    fn places(&self, points: &[(f64, f64)]) -> Value {
        points.iter().map(|&point| self.place(point)).collect()
    }

    fn line(&self, properties: Value, points: &[(f64, f64)]) -> Value {
        let geometry = json!({"type": "LineString", "coordinates": self.places(points)});
        json!({"type": "Feature", "properties": properties, "geometry": geometry})
    }

    fn point(&self, properties: Value, point: (f64, f64)) -> Value {
        let geometry = json!({"type": "Point", "coordinates": self.place(point)});
        json!({"type": "Feature", "properties": properties, "geometry": geometry})
    }

    fn outline(&self, properties: Value, ring: &[(f64, f64)]) -> Value {
        let geometry = json!({"type": "Polygon", "coordinates": [self.places(ring)]});
        json!({"type": "Feature", "properties": properties, "geometry": geometry})
    }

    fn write(&self, name: &str, features: Vec<Value>) -> PathBuf {
        let path = self.path().join(name);
        let collection = json!({"type": "FeatureCollection", "features": features});
        std::fs::write(&path, collection.to_string()).unwrap();
        path
    }

    fn declare(&self, text: &str) {
        std::fs::write(self.path().join("layers.toml"), text).unwrap();
    }

    /// The plain assessment of the area, its only feature, level at 300 m AMSL.
    fn assess(&self, area: Value) -> Assessment {
        let outside = tempfile::tempdir().unwrap();
        let path = outside.path().join("area.geojson");
        std::fs::write(&path, area.to_string()).unwrap();
        let area = read::operating_area(&path, None).unwrap();
        let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
        ask.area = area.area;
        ask.area_cautions = area.cautions;
        let around = ask.profile.widest_reach() + eaves::assess::DRAWN_AROUND;
        let options = ReadOptions {
            near: Some(window_about(&ask.area, around).into()),
            assumed_sag: Some(Sag::ShareOfSpan(0.02)),
            estimate_line_heights: false,
        };
        assess(&ask, &read::layers(self.path(), &options).unwrap()).unwrap()
    }
}

fn why_not(assessment: &Assessment, is: impl Fn(&eaves::answer::ObstacleAnswer) -> bool) -> String {
    assessment
        .obstacles
        .iter()
        .find(|obstacle| is(obstacle))
        .unwrap_or_else(|| panic!("no such obstacle in reach"))
        .not_a_shield
        .clone()
        .unwrap_or_else(|| "it is a shield".to_owned())
}

fn is_span(obstacle: &eaves::answer::ObstacleAnswer) -> bool {
    obstacle.span_index.is_some()
}

/// A span longer than any that is built has supports which the data leave out, and hangs lower than
/// its ends tell: the caution says that it is no shield, and it is none.
#[test]
fn a_span_with_supports_left_out_is_no_shield() {
    let folder = Folder::about(149.9, -30.4);
    let line = folder.line(
        json!({"power": "line", "height": "60", "voltage": "330000"}),
        &[(-15_000.0, 0.0), (15_000.0, 0.0)],
    );
    folder.write("power_lines.geojson", vec![line]);
    folder.declare("[power-lines]\nvertices_are_supports = true\n");
    let assessment = folder.assess(folder.outline(json!({}), &rectangle(-20.0, 5.0, 40.0, 20.0)));
    let said = assessment
        .cautions
        .iter()
        .find(|caution| caution.defect.contains("longer than 1500 m"))
        .unwrap();
    assert_eq!(said.effect, "that span is not a shield");
    assert_eq!(
        why_not(&assessment, is_span),
        "its ends are farther apart than spans are built"
    );
    assert_eq!(assessment.shielding[0].shields_in_reach, 0);
    assert!(assessment.ceiling.whole.is_none() && assessment.ceiling.determined_part.is_none());
}

/// A line whose accuracy is given in words that mean nothing is no shield.
#[test]
fn a_span_of_unclear_accuracy_is_no_shield() {
    let folder = Folder::about(149.9, -30.4);
    let line = folder.line(
        json!({"power": "line", "height": "60", "vertical_accuracy_m": "good"}),
        &[(-150.0, 0.0), (150.0, 0.0)],
    );
    folder.write("power_lines.geojson", vec![line]);
    folder.declare("[power-lines]\nvertices_are_supports = true\n");
    let assessment = folder.assess(folder.outline(json!({}), &rectangle(-20.0, 5.0, 40.0, 20.0)));
    assert_eq!(assessment.shielding[0].shields_in_reach, 0);
    assert!(assessment.ceiling.whole.is_none());
    assert_eq!(why_not(&assessment, is_span), "a support has no height");
}

/// The top of a span is no better known than the tops of the supports that carry it.
#[test]
fn a_span_is_as_inaccurate_as_its_supports() {
    let folder = Folder::about(149.9, -30.4);
    let ends = [(-150.0, 0.0), (150.0, 0.0)];
    folder.write(
        "power_lines.geojson",
        vec![folder.line(json!({"power": "line"}), &ends)],
    );
    let tower = |end| folder.point(json!({"power": "tower", "height": "60"}), end);
    folder.write("power_supports.geojson", ends.map(tower).to_vec());
    let area = || folder.outline(json!({}), &rectangle(-20.0, 5.0, 40.0, 20.0));
    let ceiling = |assessment: &Assessment| {
        assessment
            .ceiling
            .whole
            .as_ref()
            .unwrap()
            .above_ground
            .value_m
    };
    // 60 m less 2 % of 300 m less the margin of 10 m.
    assert_eq!(ceiling(&folder.assess(area())), 44.0);
    folder.declare("[power-supports]\nvertical_accuracy_m = 3.0\n");
    assert_eq!(ceiling(&folder.assess(area())), 41.0);
    folder.declare(
        "[power-supports]\nvertical_accuracy_m = 3.0\n[power-lines]\nvertical_accuracy_m = 5.0\n",
    );
    assert_eq!(ceiling(&folder.assess(area())), 39.0);
    // Supports that may go carry nothing that stays.
    folder.declare("[power-supports]\npermanence = \"temporary\"\n");
    let temporary = folder.assess(area());
    assert_eq!(why_not(&temporary, is_span), "not permanent");
    assert!(temporary.ceiling.whole.is_none());
}

/// Lines and their towers in one file, the towers outside what is read: the bends of the line near
/// the site are still not supports.
#[test]
fn bends_stay_bends_when_the_towers_are_far_away() {
    let folder = Folder::about(149.9, -30.4);
    let ends = [(-4_000.0, 0.0), (4_000.0, 0.0)];
    let line = folder.line(
        json!({"power": "line", "height": "60"}),
        &[ends[0], (-100.0, 0.0), (100.0, 0.0), ends[1]],
    );
    let tower = |end| folder.point(json!({"power": "tower"}), end);
    folder.write(
        "power_lines.geojson",
        vec![line, tower(ends[0]), tower(ends[1])],
    );
    let assessment = folder.assess(folder.outline(json!({}), &rectangle(-20.0, 5.0, 40.0, 20.0)));
    assert_eq!(assessment.shielding[0].shields_in_reach, 0);
    assert!(assessment.ceiling.whole.is_none());
}

/// RFC 7946 section 3.1.9: a geometry that crosses the antimeridian is cut in two there. The two
/// parts are one site, and answered like the same area drawn across.
#[test]
fn an_area_cut_at_the_antimeridian_is_one_area() {
    for lat in [-17.0, 70.0] {
        let folder = Folder::about(180.0, lat);
        let (west, east, low, high) = (179.999, -179.999, lat - 0.0005, lat + 0.0005);
        let cut = json!({"type": "MultiPolygon", "coordinates": [
            [[[west, low], [180.0, low], [180.0, high], [west, high], [west, low]]],
            [[[-180.0, low], [east, low], [east, high], [-180.0, high], [-180.0, low]]],
        ]});
        let across = json!({"type": "Polygon", "coordinates": [
            [[west, low], [east, low], [east, high], [west, high], [west, low]],
        ]});
        folder.write(
            "structures.geojson",
            vec![folder.point(json!({"man_made": "mast", "height": "50"}), (10.0, 0.0))],
        );
        let [cut, across] = [cut, across].map(|area| folder.assess(area));
        let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-3, "{a} {b} at {lat}");
        same(cut.area.area_m2, across.area.area_m2);
        same(cut.area.perimeter_m.m(), across.area.perimeter_m.m());
        same(
            cut.shielding[0].covered_share,
            across.shielding[0].covered_share,
        );
        same(
            cut.shielding[0].uncovered_m2,
            across.shielding[0].uncovered_m2,
        );
        assert_eq!(cut.shielding[0].shields_in_reach, 1);
        let part = |assessment: &Assessment| {
            let pair = assessment.ceiling.whole.clone();
            let pair = pair.or(assessment.ceiling.determined_part.clone()).unwrap();
            pair.above_ground.value_m
        };
        assert_eq!(part(&cut), 40.0);
        assert_eq!(part(&cut), part(&across));
    }
}

/// An outline that crosses itself bounds nothing certain: it may not lend its height to ground
/// beside it.
#[test]
fn a_building_that_crosses_itself_is_no_shield() {
    let folder = Folder::about(149.9, -30.4);
    let bow_tie = [
        (0.0, 0.0),
        (60.0, 60.0),
        (60.0, 0.0),
        (0.0, 60.0),
        (0.0, 0.0),
    ];
    let sound = [
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 60.0),
        (0.0, 60.0),
        (0.0, 0.0),
    ];
    let area = || folder.outline(json!({}), &rectangle(10.0, -20.0, 20.0, 10.0));
    let with = |ring: &[(f64, f64)]| {
        let building = folder.outline(json!({"building": "yes", "height": "30"}), ring);
        folder.write("structures.geojson", vec![building]);
        folder.assess(area())
    };
    assert!(with(&sound).ceiling.whole.is_some());
    let crossed = with(&bow_tie);
    assert_eq!(why_not(&crossed, |_| true), "its outline crosses itself");
    assert!(crossed.ceiling.whole.is_none());
}

/// The same structure twice in the data changes nothing.
#[test]
fn duplicate_features_change_nothing() {
    let folder = Folder::about(149.9, -30.4);
    let mast = || folder.point(json!({"man_made": "mast", "height": "50"}), (0.0, 0.0));
    let area = || folder.outline(json!({}), &rectangle(-80.0, -20.0, 200.0, 40.0));
    folder.write("structures.geojson", vec![mast()]);
    let once = folder.assess(area());
    folder.write("structures.geojson", vec![mast(), mast(), mast()]);
    let thrice = folder.assess(area());
    assert_eq!(
        once.shielding[0].covered_share,
        thrice.shielding[0].covered_share
    );
    let part = |assessment: &Assessment| {
        let part = assessment.ceiling.determined_part.clone().unwrap();
        (part.above_ground.value_m, part.amsl.unwrap().value_m)
    };
    assert_eq!(part(&once), part(&thrice));
}

/// A long segment that only crosses what is read is measured where it passes: straight in longitude
/// and latitude (RFC 7946 section 3.1.1), by Karney geodesics along the segment itself.
#[test]
fn a_segment_of_30_km_is_measured_where_it_passes() {
    for lat in [0.0, -43.5, 70.0] {
        let folder = Folder::about(170.0, lat);
        let [a, b] = [(-15_000.0, 1_000.0), (14_000.0, -700.0)];
        folder.write(
            "power_lines.geojson",
            vec![folder.line(json!({"power": "line"}), &[a, b])],
        );
        let area = folder.outline(json!({}), &rectangle(-20.0, 300.0, 40.0, 20.0));
        let corners: Vec<LonLat> = area["geometry"]["coordinates"][0]
            .as_array()
            .unwrap()
            .iter()
            .map(|corner| {
                LonLat::new(corner[0].as_f64().unwrap(), corner[1].as_f64().unwrap()).unwrap()
            })
            .collect();
        let assessment = folder.assess(area);
        let all = assessment.obstacles.iter().chain(&assessment.surroundings);
        let span = all.filter(|obstacle| is_span(obstacle)).collect::<Vec<_>>();
        assert_eq!(span.len(), 1);
        let (a, b) = (
            folder.frame.to_place(Xy::new(a.0, a.1)),
            folder.frame.to_place(Xy::new(b.0, b.1)),
        );
        let truth = corners
            .iter()
            .flat_map(|corner| (0..=300_000).map(move |k| (corner, f64::from(k) / 300_000.0)))
            .filter(|(_, share)| (0.45..0.58).contains(share))
            .map(|(corner, share)| distance(*corner, a.towards(b, share)).m())
            .fold(f64::INFINITY, f64::min);
        let found = span[0].distance_m.m();
        assert!((found - truth).abs() < 0.002, "{found} {truth} at {lat}");
    }
}

/// Laid-out pieces are straight in the plane as closely as stated, also near the equator, where
/// parallels are geodesics but geodesics off the origin are not straight in the plane.
#[test]
fn laid_out_pieces_keep_their_error() {
    for (lat, off) in [
        (0.0, 0.0),
        (0.0, 5_000.0),
        (0.001, 40_000.0),
        (-12.0, 5_000.0),
        (70.0, 20_000.0),
    ] {
        let origin = LonLat::new(20.0, lat).unwrap();
        let frame = LocalFrame::about(origin);
        let line = [
            frame.to_place(Xy::new(-30_000.0, off)),
            frame.to_place(Xy::new(30_000.0, off + 10.0)),
        ];
        let places = cut_short(&line);
        let points = lay_out_chain(&frame, &line);
        assert_eq!(places.len(), points.len());
        for (ends, chord) in places.windows(2).zip(points.windows(2)) {
            for share in [0.25, 0.5, 0.75] {
                let true_point = frame.to_plane(ends[0].towards(ends[1], share));
                let (dx, dy) = (chord[1].x - chord[0].x, chord[1].y - chord[0].y);
                let across = ((true_point.x - chord[0].x) * dy - (true_point.y - chord[0].y) * dx)
                    / dx.hypot(dy);
                assert!(
                    across.abs() <= LAYOUT_ERROR_M,
                    "{across} at {lat}, {off} m off"
                );
            }
        }
    }
    // Along the equator itself.
    let frame = LocalFrame::about(LonLat::new(20.0, 0.1).unwrap());
    let line = [
        LonLat::new(19.8, 0.0).unwrap(),
        LonLat::new(20.2, 0.0).unwrap(),
    ];
    let points = lay_out_chain(&frame, &line);
    let middle = frame.to_plane(LonLat::new(20.0, 0.0).unwrap());
    let nearest = points
        .windows(2)
        .map(|ends| {
            eaves::field::convex::nearest_on_segment(ends[0], ends[1], middle).distance(middle)
        })
        .fold(f64::INFINITY, f64::min);
    assert!(nearest <= LAYOUT_ERROR_M, "{nearest}");
}

/// The farthest place from the nearer of two runway ends 18 km away, where one end is the nearer
/// of all the area: the farthest corner by geodesic, and at most 2 mm more.
#[test]
fn farthest_from_two_runway_ends() {
    let ask = question(&[rectangle(-300.0, -200.0, 600.0, 400.0)], "plain");
    let plan = Plan::of(&ask.area).unwrap();
    let measured = Measured::new(&plan);
    for out in [1_000.0, 9_000.0, 18_000.0, 40_000.0] {
        let end = |x: f64| plan.frame().to_place(Xy::new(x, 700.0));
        let (near, far) = (end(out), end(out + 1_500.0));
        let target = Target::Places(vec![(near, None), (far, None)]);
        let truth = ask
            .area
            .rings()
            .flatten()
            .map(|corner| distance(near, corner))
            .fold(Metres::ZERO, Metres::max)
            .m();
        let found = measured.farthest(&target).unwrap().m();
        assert!(
            found >= truth - 1e-6 && found <= truth + 0.002,
            "{found} {truth}"
        );
    }
}
