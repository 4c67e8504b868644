//! The plan layer: what is read and what is refused, and the height above the take-off point.

use eaves::answer::{Assessment, HeightAbovePoint};
use eaves::assess::{LineClearance, assess};
use eaves::plan_point::{PlanPoint, Role};
use eaves::read::{Layers, ReadOptions};
use eaves::site::FeatureRef;
use eaves::units::{Altitude, Metres};

use crate::read_lines::folder;
use crate::site::{layers, place, question, rectangle, span};

fn read(features: &str) -> Layers {
    let text = format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#);
    let folder = folder(&[("plan.geojson", &text)]);
    eaves::read::layers(folder.path(), &ReadOptions::default()).unwrap()
}

fn feature(properties: &str, geometry: &str) -> String {
    format!(r#"{{"type":"Feature","properties":{properties},"geometry":{geometry}}}"#)
}

const POINT: &str = r#"{"type":"Point","coordinates":[150.0,-31.0]}"#;

#[test]
fn roles_are_read_as_people_write_them() {
    for (written, roles) in [
        (r#""take_off""#, vec![Role::TakeOff]),
        (r#""Take-Off""#, vec![Role::TakeOff]),
        (r#"" takeoff ""#, vec![Role::TakeOff]),
        (r#""landing; take off""#, vec![Role::TakeOff, Role::Landing]),
        (
            r#""crew+emergency,crew""#,
            vec![Role::Emergency, Role::Crew],
        ),
    ] {
        let layers = read(&feature(
            &format!(r#"{{"role":{written},"name":"Gate"}}"#),
            POINT,
        ));
        assert_eq!(layers.plan[0].roles, roles, "{written}");
        assert_eq!(layers.plan[0].name.as_deref(), Some("Gate"));
        assert!(layers.cautions.as_slice().is_empty(), "{written}");
    }
}

#[test]
fn several_points_of_one_feature_are_several() {
    let points = r#"{"type":"MultiPoint","coordinates":[[150.0,-31.0],[150.001,-31.0]]}"#;
    let layers = read(&feature(r#"{"role":"emergency"}"#, points));
    assert_eq!(layers.plan.len(), 2);
    assert_eq!(layers.plan[1].place.lon(), 150.001);
}

/// Nonsense is left out with one clear caution, and what is right beside it stays.
#[test]
fn nonsense_is_refused_with_a_caution() {
    let line = r#"{"type":"LineString","coordinates":[[150.0,-31.0],[150.1,-31.0]]}"#;
    for (properties, geometry, defect) in [
        (
            r#"{"role":"picnic"}"#,
            POINT,
            "has a role that is not one of take-off, landing, emergency, crew",
        ),
        (
            r#"{"role":"landing;picnic"}"#,
            POINT,
            "has a role that is not one of take-off, landing, emergency, crew",
        ),
        (
            r#"{"role":7}"#,
            POINT,
            "has a role that is not one of take-off, landing, emergency, crew",
        ),
        (
            "{}",
            POINT,
            "states no role (take-off, landing, emergency, crew)",
        ),
        (r#"{"role":"landing"}"#, line, "is not a point"),
        (r#"{"role":"landing"}"#, "null", "has no position"),
    ] {
        let both = [
            feature(properties, geometry),
            feature(r#"{"role":"crew"}"#, POINT),
        ];
        let layers = read(&both.join(","));
        assert_eq!(layers.plan.len(), 1, "{properties}");
        let cautions = layers.cautions.as_slice();
        assert_eq!(cautions.len(), 1, "{cautions:?}");
        assert_eq!(cautions[0].defect, defect);
        assert_eq!(cautions[0].effect, "the point is left out");
        assert_eq!(cautions[0].features, ["#1"]);
    }
    let layers = read(&feature(
        r#"{"role":"crew","horizontal_accuracy_m":-3}"#,
        POINT,
    ));
    assert_eq!(layers.plan[0].horizontal_accuracy, Metres::ZERO);
    assert_eq!(
        layers.cautions.as_slice()[0].defect,
        "has a horizontal accuracy that is unclear"
    );
}

#[test]
fn layers_toml_maps_attributes_and_states_the_accuracy() {
    let text = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        feature(r#"{"USE":"crew","LABEL":"Ute"}"#, POINT)
    );
    let toml =
        "[plan]\nhorizontal_accuracy_m = 4\n[plan.attributes]\nrole = \"USE\"\nname = \"LABEL\"\n";
    let folder = folder(&[("Plan.geojson", &text), ("layers.toml", toml)]);
    let layers = eaves::read::layers(folder.path(), &ReadOptions::default()).unwrap();
    assert_eq!(layers.plan[0].name.as_deref(), Some("Ute"));
    assert_eq!(layers.plan[0].horizontal_accuracy, Metres::of(4.0));
    let inspected = eaves::read::inspect(folder.path()).unwrap();
    assert_eq!(inspected.layers[0].layer, "plan");
    assert_eq!(inspected.layers[0].kinds.get("crew"), Some(&1));
    for (key, remedy) in [
        ("clearance_m = 5", "declare it in [power-lines]"),
        ("role = \"crew\"", "see layers/README.md for the keys"),
    ] {
        let toml = format!("[plan]\n{key}\n");
        let refused = eaves::read::mapping::Declarations::parse(&toml).unwrap_err();
        assert!(refused.to_string().ends_with(remedy), "{refused}");
    }
}

fn point(x: f64, y: f64, roles: &[Role]) -> PlanPoint {
    PlanPoint {
        source: FeatureRef {
            file: "plan.geojson".into(),
            feature: format!("{x},{y}").into(),
        },
        name: None,
        roles: roles.to_vec(),
        place: place(x, y),
        horizontal_accuracy: Metres::ZERO,
    }
}

/// A field of 100 m by 60 m under a line of 60 m with 5 m of sag, on level ground.
fn site(points: Vec<PlanPoint>, change: impl FnOnce(&mut eaves::assess::Question)) -> Assessment {
    let mut question = question(&[rectangle(0.0, 10.0, 100.0, 60.0)], "plain");
    change(&mut question);
    let line = span(
        (-100.0, 0.0),
        (200.0, 0.0),
        60.0,
        Some(eaves::obstacle::Sag::Metres(5.0)),
        2.0,
    );
    let mut layers = layers(vec![], vec![line]);
    layers.plan = points;
    assess(&question, &layers).unwrap()
}

fn known(assessment: &Assessment, number: usize) -> (f64, bool) {
    match assessment.plan[number].above_take_off.as_ref().unwrap() {
        HeightAbovePoint::Known {
            height_m,
            holds_in_whole_area,
            budget,
        } => {
            assert_eq!(budget.last().unwrap().value_m, *height_m);
            (*height_m, *holds_in_whole_area)
        }
        HeightAbovePoint::Undetermined { why } => panic!("{why}"),
    }
}

/// By hand: wire 60 − 5 − 2 (accuracy), less 10 (margin) is 43 m above level ground at 300 m. The
/// accuracy of the ground comes off three times: at the base of the line, under the aircraft's own
/// ceiling not (it is AMSL), and at the take-off point: 43 − 1.5 − 1.5.
#[test]
fn the_height_is_the_ceiling_less_the_ground_at_the_point() {
    let here = || vec![point(50.0, 30.0, &[Role::TakeOff])];
    let plain = site(here(), |_| {});
    assert_eq!(known(&plain, 0), (43.0, true));
    assert!(plain.plan[0].is_in_area);
    assert_eq!(plain.plan[0].distance_m, Metres::ZERO);
    // The farthest corner: (100, 70) and (0, 70) are as far: 50, 40.
    let farthest = plain.plan[0].farthest_m.m();
    assert!((farthest - 50f64.hypot(40.0)).abs() < 0.01, "{farthest}");
    let doubtful = site(here(), |question| {
        question.ground_accuracy = Some(Metres::of(1.5));
    });
    assert_eq!(known(&doubtful, 0), (40.0, true));
    let below_the_sea = site(here(), |question| {
        question.site_elevation = Some(Altitude::of(-3.5));
    });
    assert_eq!(known(&below_the_sea, 0), (43.0, true));
}

#[test]
fn flat_ground_leaves_it_undetermined() {
    let assessment = site(vec![point(50.0, 30.0, &[Role::TakeOff])], |question| {
        question.site_elevation = None;
    });
    assert!(matches!(
        assessment.plan[0].above_take_off,
        Some(HeightAbovePoint::Undetermined { .. })
    ));
    assert!(!assessment.is_decided());
}

/// The part out of reach leaves the height to hold in the determined part only.
#[test]
fn an_uncovered_part_is_said() {
    let assessment = site(vec![point(50.0, 30.0, &[Role::TakeOff])], |question| {
        question.area =
            crate::cover::area(crate::site::origin(), &[rectangle(0.0, 10.0, 100.0, 130.0)]);
    });
    assert_eq!(known(&assessment, 0), (43.0, false));
}

fn defects(assessment: &Assessment) -> Vec<&str> {
    let of_plan = |caution: &&eaves::error::Caution| caution.file == "plan.geojson";
    let told = assessment.cautions.iter().filter(of_plan);
    told.map(|caution| caution.defect.as_str()).collect()
}

#[test]
fn what_a_remote_pilot_must_know_is_a_caution() {
    let outside = site(
        vec![
            point(50.0, 100.0, &[Role::TakeOff, Role::Landing]),
            point(50.0, 101.0, &[Role::Emergency]),
            point(50.0, 102.0, &[Role::Crew]),
            point(50.0, 10.0, &[Role::Landing]),
        ],
        |_| {},
    );
    assert_eq!(
        defects(&outside),
        [
            "has the role take-off and lies outside the operating area",
            "has the role landing and lies outside the operating area",
        ]
    );
    let distance = outside.plan[0].distance_m.m();
    assert!((distance - 30.0).abs() < 1e-3, "{distance}");
    assert!(outside.plan[3].is_in_area, "the edge belongs to the area");
    // Not known: no clearance is stated.
    assert_eq!(outside.plan[0].is_in_clearance_band, None);
    let in_band = site(
        vec![
            point(50.0, 14.9, &[Role::TakeOff]),
            point(50.0, 15.1, &[Role::TakeOff]),
            point(50.0, 5.0, &[Role::Emergency]),
            point(50.0, 5.0, &[Role::Crew]),
        ],
        |question| {
            question.line_clearance = Some(LineClearance::Distance(Metres::of(15.0)));
        },
    );
    assert_eq!(
        defects(&in_band),
        [
            "has the role take-off and lies in the electrical clearance band",
            "has the role emergency and lies in the electrical clearance band",
        ]
    );
    assert_eq!(in_band.plan[1].is_in_clearance_band, Some(false));
}

#[test]
fn points_of_another_site_are_counted_and_left_out() {
    let assessment = site(
        vec![
            point(9_000.0, 0.0, &[Role::TakeOff]),
            point(50.0, 30.0, &[Role::Landing]),
        ],
        |_| {},
    );
    assert_eq!(assessment.plan.len(), 1);
    let told = |what: &str| {
        assessment
            .not_assessed
            .iter()
            .find(|it| it.what == what)
            .unwrap()
    };
    assert_eq!(told("points of the plan").count, 1);
    assert_eq!(
        told("height above the take-off point").why,
        "the plan has no take-off point near the area"
    );
}

/// The demo as pyproj, shapely and rasterio measure it (demo-layers/README.md): ground and ceiling of
/// the take-off points, distances of the others, bands and usable area.
#[test]
fn the_demo_is_as_measured() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let area = eaves::read::operating_area(&folder.join("area.geojson"), None).unwrap();
    let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    ask.area = area.area;
    ask.site_elevation = None;
    let table = eaves::clearance::ClearanceTable::load("cfr1926-1408").unwrap();
    ask.line_clearance = Some(LineClearance::Table(table));
    let layers = eaves::read::layers(&folder, &ReadOptions::default()).unwrap();
    let assessment = assess(&ask, &layers).unwrap();
    // Highest ground within 3 m, ceiling above it, distance from the area, farthest, from SYN1.
    let measured = [
        (334.34, Some(35.41), 0.0, 520.9, 5_720.3),
        (330.80, Some(38.94), 0.0, 516.4, 5_311.7),
        (334.09, None, 55.0, 542.6, 5_713.4),
        (334.45, None, 0.0, 535.3, 5_735.0),
        (329.71, None, 22.0, 599.7, 5_227.6),
    ];
    assert_eq!(assessment.plan.len(), measured.len());
    for (number, (point, expected)) in assessment.plan.iter().zip(measured).enumerate() {
        let (ground, above, away, farthest, aerodrome) = expected;
        let title = &point.title;
        let highest = point.ground.unwrap().highest_m_amsl.m();
        assert!((highest - ground).abs() < 0.02, "{title}: ground {highest}");
        if let Some(above) = above {
            // Never more than measured; less by the tolerance of the ceiling and whole centimetres.
            let (told, is_whole) = known(&assessment, number);
            assert!(!is_whole);
            assert!(told <= above && told > above - 0.15, "{title}: {told}");
        }
        assert!((point.distance_m.m() - away).abs() < 0.06, "{title}");
        assert!((point.farthest_m.m() - farthest).abs() < 0.06, "{title}");
        let seen = point.from_aerodrome.as_ref().unwrap();
        assert!(seen.aerodrome.starts_with("SYN"), "{title}");
        if seen.aerodrome.starts_with("SYN1") {
            assert!((seen.distance_m.m() - aerodrome).abs() < 0.06, "{title}");
        }
        assert_eq!(point.is_in_clearance_band, Some(false), "{title}");
    }
    let widths: Vec<f64> = assessment
        .clearance
        .lines
        .iter()
        .map(|line| line.half_width_m.unwrap().m())
        .collect();
    assert!((widths[0] - 17.096).abs() < 1e-9 && (widths[1] - 8.072).abs() < 1e-9);
    let band = assessment.clearance.band_m2;
    assert!((26_064.2..26_090.0).contains(&band), "{band}");
    let eaves::answer::UsableAnswer::Determined {
        area_m2, polygons, ..
    } = &assessment.usable
    else {
        panic!("{:?}", assessment.usable);
    };
    assert!(*area_m2 <= 94_758.7 && *area_m2 > 94_730.0, "{area_m2}");
    assert_eq!(polygons.0.len(), 4);
}
