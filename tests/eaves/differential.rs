//! eaves beside shapely and pyproj: every case of `tests/reference`, by the rule of its README.
//!
//! The answers to compare with were found without eaves; how is told in `tests/reference/README.md`.
//! A conservative answer may lie below the lower end of an interval; one above the upper end is
//! optimistic, and none may be.

use eaves::answer::Assessment;
use eaves::assess::assess;
use eaves::distance::{Measured, Target};
use eaves::field::Field;
use eaves::field::shield::{Piece, Shields};
use eaves::frame::{LocalFrame, LonLat, geodesic};
use eaves::obstacle::{
    HeightBasis, Obstacle, ObstacleKind, Permanence, Shape, Top, VerticalReference,
};
use eaves::plan::{LAYOUT_ERROR_M, Plan, convex_pieces};
use eaves::search::{Limits, Scope, lowest};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::Metres;
use geo::{MultiPolygon, Polygon};
use serde_json::Value;

use crate::site::{layers, question, rectangle};

pub fn cases(text: &str) -> Vec<Value> {
    let file: Value = serde_json::from_str(text).unwrap();
    file["cases"].as_array().unwrap().clone()
}

pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// The interval of an answer; none where it is null.
pub fn interval(value: &Value) -> Option<(f64, f64)> {
    value
        .as_array()
        .map(|ends| (number(&ends[0]), number(&ends[1])))
}

fn place(value: &Value) -> LonLat {
    LonLat::new(number(&value[0]), number(&value[1])).unwrap()
}

fn geometry(value: &Value) -> geo::Geometry<f64> {
    let geometry: geojson::Geometry = serde_json::from_value(value.clone()).unwrap();
    geometry.try_into().unwrap()
}

/// The area of a case as a user gives it: through a file.
pub fn area(case: &Value) -> OperatingArea {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("area.geojson");
    std::fs::write(&path, case["area"].to_string()).unwrap();
    let read = eaves::read::operating_area(&path, None);
    read.unwrap_or_else(|error| panic!("{}: {error}", case["id"]))
        .area
}

fn shape(value: &Value) -> Shape {
    match geometry(value) {
        geo::Geometry::Point(point) => Shape::Point(LonLat::wrapped(point.x(), point.y())),
        geo::Geometry::LineString(line) => {
            Shape::Chain(line.coords().map(|c| LonLat::wrapped(c.x, c.y)).collect())
        }
        geo::Geometry::Polygon(outline) => Shape::Outline(outline),
        other => panic!("{other:?}"),
    }
}

/// The shields of a case as records on one level, tops above ground.
pub fn obstacles(case: &Value) -> Vec<Obstacle> {
    case["shields"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(number, shield)| Obstacle {
            source: FeatureRef {
                file: "reference".into(),
                feature: format!("#{}", number + 1).into(),
            },
            name: None,
            kind: ObstacleKind::Structure("mast".into()),
            shape: shape(&shield["geometry"]),
            top: Some(Top {
                value_m: shield["top_m"].as_f64().unwrap(),
                reference: VerticalReference::AboveGround,
                basis: HeightBasis::Stated,
            }),
            permanence: Permanence::Permanent,
            horizontal_accuracy: Metres::ZERO,
            vertical_accuracy: Metres::ZERO,
            span: None,
        })
        .collect()
}

/// Rounding of a sum of triangles, as a share.
const ROUNDING: f64 = 1e-9;

/// How a set of answers compares, for the record.
#[derive(Debug, Default)]
struct Tally {
    cases: usize,
    covered: usize,
    uncovered: usize,
    not_told: usize,
    most_share_given_away: f64,
}

/// Compares cover, share and bottleneck with the reference; panics on an optimistic one.
fn compare(
    case: &Value,
    is_wholly_covered: bool,
    covered_share: f64,
    uncovered_m2: f64,
    lowest_top: Option<f64>,
    tally: &mut Tally,
) {
    let (id, answer) = (&case["id"], &case["answer"]);
    let (share_low, share_high) = interval(&answer["covered_share"]).unwrap();
    assert!(
        covered_share <= share_high + ROUNDING,
        "{id}: share {covered_share} above {share_high}"
    );
    let (least_uncovered, _) = interval(&answer["uncovered_m2"]).unwrap();
    assert!(
        uncovered_m2 >= least_uncovered - 1e-6,
        "{id}: uncovered {uncovered_m2} m2 below {least_uncovered}"
    );
    match answer["is_wholly_covered"].as_bool() {
        Some(false) => {
            assert!(!is_wholly_covered, "{id}: cover claimed");
            tally.uncovered += 1;
        }
        Some(true) => {
            assert!(is_wholly_covered, "{id}: cover not found");
            tally.covered += 1;
        }
        None => tally.not_told += 1,
    }
    // Reaches are drawn 1 cm short: a strip of that width along their outline is given away.
    tally.most_share_given_away = tally.most_share_given_away.max(share_low - covered_share);
    match (interval(&answer["lowest_shielding_top_m"]), lowest_top) {
        (Some((_, high)), Some(top)) => {
            assert!(top <= high + 1e-9, "{id}: {top} above {high}");
        }
        (None, Some(top)) => panic!("{id}: {top} where nothing is covered"),
        (Some(_), None) => assert!(share_high < 1e-6, "{id}: no lowest shielding obstacle"),
        (None, None) => {}
    }
    tally.cases += 1;
}

/// By the parts: plan, pieces, shield field and search.
#[test]
fn bottleneck_cover_agrees_with_shapely() {
    let mut tally = Tally::default();
    let mut below = 0;
    for case in &cases(include_str!("../reference/coverage.json")) {
        let id = &case["id"];
        let area = area(case);
        let plan = Plan::of(&area).unwrap();
        let answer = &case["answer"];
        let area_m2 = number(&answer["area_m2"]);
        assert!(
            (plan.area_m2() - area_m2).abs() <= 1e-5 * area_m2 + 1e-4,
            "{id}: {} {area_m2}",
            plan.area_m2()
        );
        let reach = number(&case["reach_m"]);
        let out = plan.radius() + Metres::of(reach);
        let slack = 2.0 * LAYOUT_ERROR_M + reach * LocalFrame::stretch(out);
        let pieces: Vec<Piece> = obstacles(case)
            .iter()
            .enumerate()
            .flat_map(|(member, shield)| {
                let level = shield.top.unwrap().value_m;
                convex_pieces(plan.frame(), &shield.shape)
                    .into_iter()
                    .map(move |shape| Piece {
                        shape,
                        reach: reach - slack,
                        level,
                        member,
                    })
            })
            .collect();
        let shields = Shields::new(0, pieces);
        let found = |scope| lowest(&shields, plan.cells(), scope, Limits::within(0.001)).unwrap();
        let whole = found(Scope::Everywhere);
        let part = lowest(
            &shields,
            plan.cells(),
            Scope::WhereDetermined,
            Limits::within(0.001),
        )
        .filter(|part| part.attained.is_finite());
        let is_wholly_covered = whole.lower.is_finite();
        let uncovered_m2 = if is_wholly_covered {
            0.0
        } else {
            eaves::distance::plane_area_m2(&plan.uncovered(shields.pieces()))
        };
        let top = part.map(|part| part.lower);
        if let (Some(top), Some((low, _))) = (top, interval(&answer["lowest_shielding_top_m"]))
            && top < low - 1e-9
        {
            below += 1;
        }
        if let Some(part) = part {
            assert!(shields.at(part.place) >= part.lower, "{id}");
        }
        compare(
            case,
            is_wholly_covered,
            1.0 - uncovered_m2 / plan.area_m2(),
            uncovered_m2,
            top,
            &mut tally,
        );
    }
    println!("coverage by the parts: {tally:?}, {below} below the lower end");
    assert_eq!(tally.cases, 65);
}

/// The plain profile with the reach of the case.
fn asked(case: &Value) -> Assessment {
    let mut ask = question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain");
    ask.area = area(case);
    set_reach(&mut ask.profile.expression, number(&case["reach_m"]));
    assess(&ask, &layers(vec![], obstacles(case))).unwrap()
}

fn set_reach(term: &mut eaves::profile::Term, metres: f64) {
    use eaves::profile::Term;
    match term {
        Term::Lowest(terms) | Term::Highest(terms) => {
            for term in terms {
                set_reach(term, metres);
            }
        }
        Term::Shield { reach, .. } => reach.value_m = Metres::of(metres),
        Term::Cap { .. } | Term::Airspace { .. } => {}
    }
}

/// By the whole: an assessment of each case, what it prints as shielding and ceiling.
#[test]
fn whole_assessments_agree_with_shapely() {
    let mut tally = Tally::default();
    let (mut ceilings, mut part_ceilings) = (0, 0);
    for case in &cases(include_str!("../reference/coverage.json")) {
        let id = &case["id"];
        let assessment = asked(case);
        let shielding = &assessment.shielding[0];
        let top = shielding
            .lowest_shielding
            .as_ref()
            .map(|shield| shield.trusted_top_m_agl.m());
        compare(
            case,
            shielding.is_wholly_covered,
            shielding.covered_share,
            shielding.uncovered_m2,
            top,
            &mut tally,
        );
        assert_eq!(
            shielding.covered_share == 1.0,
            shielding.is_wholly_covered,
            "{id}"
        );
        assert_eq!(
            assessment.ceiling.whole.is_some(),
            shielding.is_wholly_covered,
            "{id}"
        );
        // Plain: 10 m below the top, and no more than 120 m; the ground is level at 300 m.
        let margin = shielding.margin_m.m();
        if let Some((_, high)) = interval(&case["answer"]["lowest_shielding_top_m"]) {
            let most = (high - margin).min(120.0);
            let pairs = [
                &assessment.ceiling.whole,
                &assessment.ceiling.determined_part,
            ];
            for pair in pairs.into_iter().flatten() {
                assert!(pair.above_ground.value_m <= most + 1e-9, "{id}");
                let amsl = pair.amsl.as_ref().unwrap().value_m;
                assert!(amsl <= 300.0 + most + 1e-9, "{id}");
            }
            ceilings += usize::from(assessment.ceiling.whole.is_some());
            part_ceilings += usize::from(assessment.ceiling.determined_part.is_some());
        } else {
            assert!(assessment.ceiling.determined_part.is_none(), "{id}");
        }
    }
    println!(
        "coverage by whole assessments: {tally:?}, {ceilings} ceilings, {part_ceilings} of a part"
    );
    assert_eq!(tally.cases, 65);
    assert!(ceilings >= 10 && part_ceilings >= 10);
}

#[test]
fn distances_agree_with_pyproj() {
    let (mut compared, mut overlaps, mut bearings, mut farthests) = (0, 0, 0, 0);
    let (mut worst, mut worst_bearing, mut most_over) = (0f64, 0f64, 0f64);
    for case in &cases(include_str!("../reference/distances.json")) {
        let (id, answer) = (&case["id"], &case["answer"]);
        let area = area(case);
        let plan = Plan::of(&area).unwrap();
        let measured = Measured::new(&plan);
        let (target, is_point) = match geometry(&case["reference"]) {
            geo::Geometry::Point(point) => (
                Target::Places(vec![(LonLat::wrapped(point.x(), point.y()), None)]),
                true,
            ),
            geo::Geometry::Polygon(polygon) => {
                (Target::Polygons(MultiPolygon::new(vec![polygon])), false)
            }
            // A line is a polygon without width: nothing in eaves is measured from a line, so its
            // two sides stand for it.
            geo::Geometry::LineString(line) => {
                let mut ring = line.clone();
                ring.0.extend(line.0.iter().rev().skip(1).copied());
                let polygon = Polygon::new(ring, Vec::new());
                (Target::Polygons(MultiPolygon::new(vec![polygon])), false)
            }
            other => panic!("{other:?}"),
        };
        let nearest = measured.nearest(&target).unwrap();
        let truth = number(&answer["nearest_m"]);
        let off = nearest.distance.m() - truth;
        worst = worst.max(off.abs());
        assert!(off.abs() <= 0.001, "{id}: {} {truth}", nearest.distance.m());
        if answer["overlap"].as_bool().unwrap() {
            assert_eq!(nearest.distance, Metres::ZERO, "{id}");
            overlaps += 1;
        } else {
            // The witnesses are that far apart.
            let line = geodesic(nearest.from, nearest.to);
            assert!((line.distance - nearest.distance).m().abs() < 1e-6, "{id}");
        }
        if let Some(bearing) = answer["bearing_deg"].as_f64().filter(|_| is_point) {
            let line = geodesic(place(&answer["from"]), nearest.to);
            let apart = (line.bearing_from.degrees() - bearing).abs();
            let apart = apart.min(360.0 - apart);
            // A millimetre across the line of sight, or the rounding of the reference.
            let allowed = (0.001 / truth).to_degrees() + 1e-5;
            // Along an edge the nearest place is flat: 1 um of distance is (2 um d)^(1/2) sideways.
            let flat = ((2e-4 * truth).sqrt() / truth).to_degrees();
            assert!(apart <= allowed.max(flat), "{id}: {apart}");
            worst_bearing = worst_bearing.max(apart);
            bearings += 1;
        }
        if let Some(truth) = answer["farthest_m"].as_f64() {
            let farthest = measured.farthest(&target).unwrap().m();
            // The reference is rounded to a micrometre.
            assert!(farthest >= truth - 2e-6, "{id}: {farthest} {truth}");
            assert!(farthest <= truth + 0.002, "{id}: {farthest} {truth}");
            most_over = most_over.max(farthest - truth);
            farthests += 1;
        }
        compared += 1;
    }
    println!(
        "distances: {compared} cases ({overlaps} overlapping), worst {worst:.6} m; {bearings} \
         bearings, worst {worst_bearing:.7} degrees; {farthests} farthest, at most {most_over:.6} m over"
    );
    assert_eq!(compared, 62);
    assert!(overlaps >= 3 && bearings >= 18 && farthests >= 18);
}
