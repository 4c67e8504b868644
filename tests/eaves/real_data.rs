//! Real open data, unchanged, beside geometry measured with pyproj and shapely (`tests/data/real`).

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use eaves::answer::{Assessment, GroundSource, ObstacleAnswer, Undetermined};
use eaves::assess::{DRAWN_AROUND, Question, assess};
use eaves::frame::{LonLat, distance};
use eaves::obstacle::{Obstacle, ObstacleKind, Sag, Shape};
use eaves::profile::{self, Reference};
use eaves::read::{self, Layers, ReadOptions, window_about};
use eaves::units::Metres;
use geo::{BoundingRect, Contains, Coord};
use geographiclib_rs::{Geodesic, PolygonArea, Winding};
use serde_json::Value;

use crate::cover::Numbers;

/// The folders of real data.
pub const FOLDERS: [&str; 3] = ["krems", "andorra", "new-zealand"];

/// A folder of real data.
pub fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/real")
        .join(name)
}

/// The reference of each operating polygon of a folder: its id and what was measured.
pub fn references(name: &str) -> Vec<(String, Value)> {
    let text = std::fs::read_to_string(folder(name).join("reference.json")).unwrap();
    let file: Value = serde_json::from_str(&text).unwrap();
    let polygons = file["polygons"].as_array().unwrap();
    polygons
        .iter()
        .map(|polygon| {
            let id = polygon["operating_polygon"].as_str().unwrap();
            (id.to_owned(), polygon.clone())
        })
        .collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

/// The site of one polygon, aerodromes searched within `radius`.
fn ask(name: &str, id: &str, radius: f64) -> (Question, ReadOptions) {
    let file = folder(name).join("operating_area.geojson");
    let area = read::operating_area(&file, Some(id)).unwrap();
    let profile = profile::load("plain").unwrap();
    let around = profile.widest_reach() + DRAWN_AROUND;
    let options = ReadOptions {
        near: Some(window_about(&area.area, around).into()),
        assumed_sag: None,
        estimate_line_heights: false,
    };
    let question = Question {
        qnh: None,
        surfaces: None,
        line_clearance: None,
        sample_ceiling: false,
        shielding_planes: None,
        obstacle_accuracy: None,
        section: None,
        area: area.area,
        area_cautions: area.cautions,
        profile,
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::of(radius),
        wish: None,
        window: None,
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
    };
    (question, options)
}

/// Every polygon of every folder, with its reference and its assessment.
fn each(mut check: impl FnMut(&str, &Value, &Assessment, &Layers)) -> usize {
    let mut sites = 0;
    for name in FOLDERS {
        for (id, reference) in references(name) {
            let farthest = list(&reference["aerodromes"])
                .iter()
                .map(|aerodrome| number(&aerodrome["nearest_m"]))
                .fold(0.0, f64::max);
            let (question, options) = ask(name, &id, farthest + 1.0);
            let layers = read::layers(&folder(name), &options).unwrap();
            let assessment = assess(&question, &layers).unwrap();
            check(&format!("{name} {id}"), &reference, &assessment, &layers);
            sites += 1;
        }
    }
    sites
}

/// Distances to aerodrome reference points within 0.1 m, bearings within their rounding.
#[test]
fn aerodromes_are_as_far_as_measured() {
    let (mut compared, mut runways, mut worst) = (0, 0, 0f64);
    let sites = each(|site, reference, assessment, _| {
        for expected in list(&reference["aerodromes"]) {
            let ident = expected["ident"].as_str().unwrap();
            let found = assessment
                .aerodromes
                .iter()
                .find(|aerodrome| aerodrome.ident.as_deref() == Some(ident))
                .unwrap_or_else(|| panic!("{site}: no {ident}"));
            let point = found.from_reference(Reference::ReferencePoint).unwrap();
            let off = (point.distance_m.m() - number(&expected["nearest_m"])).abs();
            assert!(
                off <= 0.1,
                "{site} {ident}: nearest {}",
                point.distance_m.m()
            );
            worst = worst.max(off);
            let off = (point.distance_nm - number(&expected["nearest_nm"])).abs();
            assert!(off <= 0.000_1, "{site} {ident}: {} NM", point.distance_nm);
            let farthest = point.farthest_m.m();
            let off = (farthest - number(&expected["farthest_m"])).abs();
            assert!(off <= 0.1, "{site} {ident}: farthest {farthest}");
            let bearing = point.bearing_true_deg.unwrap().degrees();
            let expected_bearing = number(&expected["bearing_true_from_arp_to_nearest_deg"]);
            let apart = (bearing - expected_bearing).abs();
            assert!(
                apart.min(360.0 - apart) <= 0.02,
                "{site} {ident}: {bearing}"
            );
            compared += 1;
            let Some(expected) = expected.get("runways").map(list) else {
                continue;
            };
            // A runway end is on the centreline, and one of the two is no farther along it from
            // its nearest point than half its length.
            let Some(end) = found.from_reference(Reference::RunwayEnd) else {
                continue;
            };
            let nearest = expected
                .iter()
                .map(|runway| number(&runway["nearest_m_to_centreline"]))
                .fold(f64::INFINITY, f64::min);
            let length = found
                .record
                .runways
                .iter()
                .filter_map(|runway| {
                    let [a, b] = &runway.ends;
                    Some(distance(a.position?, b.position?).m())
                })
                .fold(0.0, f64::max);
            let end = end.distance_m.m();
            assert!(end >= nearest - 0.1, "{site} {ident}: {end} {nearest}");
            assert!(
                end <= nearest + length / 2.0 + 0.1,
                "{site} {ident}: {end} {nearest}"
            );
            runways += 1;
        }
        // Nearest first, whichever reference is the nearest.
        let order: Vec<f64> = assessment
            .aerodromes
            .iter()
            .map(|aerodrome| aerodrome.nearest().unwrap().distance_m.m())
            .collect();
        assert!(order.is_sorted(), "{site}");
    });
    println!("{sites} sites, {compared} aerodromes, worst {worst:.3} m; {runways} with runways");
    assert!(sites == 11 && compared > 200 && runways > 30);
}

/// The reference's area has geodesic edges; `PolygonArea` of geographiclib has the same, and with
/// edges cut short it has ours.
#[test]
fn areas_and_perimeters_are_as_measured() {
    let geodesic = Geodesic::wgs84();
    let measured = |assessment: &Assessment, parts: u32| -> (f64, f64) {
        let (mut perimeter, mut area) = (0.0, 0.0);
        for (index, ring) in assessment.area.record.rings().enumerate() {
            let mut polygon = PolygonArea::new(&geodesic, Winding::CounterClockwise);
            for ends in ring.windows(2) {
                for part in 0..parts {
                    let place = ends[0].towards(ends[1], f64::from(part) / f64::from(parts));
                    polygon.add_point(place.lat(), place.lon());
                }
            }
            let (ring_perimeter, ring_area, _) = polygon.compute(true);
            perimeter += ring_perimeter;
            area += if index == 0 {
                ring_area
            } else {
                -ring_area.abs()
            };
        }
        (perimeter, area)
    };
    each(|site, reference, assessment, _| {
        let area = &assessment.area;
        let (perimeter, square) = measured(assessment, 200);
        assert!((area.perimeter_m.m() - perimeter).abs() < 1e-3, "{site}");
        assert!(
            (area.area_m2 - square).abs() < 1e-6 * square,
            "{site}: {} {square}",
            area.area_m2
        );
        let (perimeter, square) = measured(assessment, 1);
        assert!(
            (number(&reference["perimeter_m"]) - perimeter).abs() < 0.01,
            "{site}"
        );
        assert!(
            (number(&reference["area_m2"]) - square).abs() < 0.2,
            "{site}: {} {square}",
            number(&reference["area_m2"])
        );
    });
}

fn all(assessment: &Assessment) -> impl Iterator<Item = &ObstacleAnswer> {
    assessment.obstacles.iter().chain(&assessment.surroundings)
}

/// Distances to lines and structures within 0.1 m, and every structure within 500 m counted.
#[test]
fn obstacles_are_as_far_as_measured() {
    let (mut lines, mut crossing, mut structures) = (0, 0, 0);
    each(|site, reference, assessment, _| {
        for expected in list(&reference["power_lines_within_3km"]) {
            let id = expected["id"].as_str().unwrap();
            let truth = number(&expected["nearest_m"]);
            let nearest = all(assessment)
                .filter(|obstacle| {
                    obstacle.kind == ObstacleKind::Span && obstacle.source.feature == id
                })
                .map(|obstacle| obstacle.distance_m.m())
                .min_by(f64::total_cmp);
            let Some(nearest) = nearest else {
                assert!(truth > 2_500.0, "{site}: no {id}");
                continue;
            };
            assert!(
                (nearest - truth).abs() <= 0.1,
                "{site} {id}: {nearest} {truth}"
            );
            if expected["crosses_or_inside"].as_bool().unwrap() {
                assert_eq!(nearest, 0.0, "{site} {id}");
                crossing += 1;
            }
            lines += 1;
        }
        let mut by_feature: BTreeMap<&str, f64> = BTreeMap::new();
        for obstacle in all(assessment) {
            if matches!(obstacle.kind, ObstacleKind::Span | ObstacleKind::Support) {
                continue;
            }
            let feature = obstacle.source.feature.split(" part ").next().unwrap();
            let least = by_feature.entry(feature).or_insert(f64::INFINITY);
            *least = least.min(obstacle.distance_m.m());
        }
        let within = by_feature
            .values()
            .filter(|distance| **distance <= 500.0)
            .count();
        let expected = reference["structures_within_500m"].as_u64().unwrap() as usize;
        let on_the_edge = by_feature
            .values()
            .filter(|distance| (**distance - 500.0).abs() < 0.1)
            .count();
        assert!(
            within.abs_diff(expected) <= on_the_edge,
            "{site}: {within} {expected}"
        );
        for structure in list(&reference["nearest_structures"]) {
            let id = structure["id"].as_str().unwrap();
            let off = by_feature[id] - number(&structure["nearest_m"]);
            assert!(off.abs() <= 0.1, "{site} {id}: {}", by_feature[id]);
            structures += 1;
        }
    });
    println!("{lines} lines ({crossing} crossing), {structures} structures");
    assert!(lines >= 30 && crossing >= 6 && structures >= 30);
}

/// The ground under an area lies between the extremes of the cells that it touches.
#[test]
fn terrain_is_as_measured() {
    let mut compared = 0;
    each(|site, reference, assessment, _| {
        let ground = &assessment.ground;
        let Some(cells) = reference.get("terrain_m") else {
            assert_eq!(ground.source, GroundSource::AssumedFlat, "{site}");
            assert!(ground.lowest_m_amsl.is_none() && ground.highest_m_amsl.is_none());
            return;
        };
        let low = ground.lowest_m_amsl.unwrap().m();
        let high = ground.highest_m_amsl.unwrap().m();
        let (least, most) = (number(&cells["min"]), number(&cells["max"]));
        println!("{site}: {low:.2} to {high:.2} m AMSL in {least} to {most}");
        // Certified bounds may be wider than the ground by the tolerance of 0.1 m.
        assert!(
            low >= least - 0.1 && high <= most + 0.1,
            "{site}: {low} {high}"
        );
        assert!(low < high);
        assert_eq!(ground.unknown_share, 0.0);
        compared += 1;
    });
    assert_eq!(compared, 3);
}

/// No height is known, so nothing shields and nothing is decided, and it is said why.
#[test]
fn unknown_heights_stay_unknown() {
    each(|site, _, assessment, layers| {
        assert!(!assessment.is_decided(), "{site}");
        let ceiling = &assessment.ceiling;
        assert!(
            ceiling.whole.is_none() && ceiling.determined_part.is_none(),
            "{site}"
        );
        assert!(
            ceiling.undetermined.contains(&Undetermined::NoShield),
            "{site}"
        );
        let shielding = &assessment.shielding[0];
        assert_eq!(shielding.shields_in_reach, 0, "{site}");
        assert!(shielding.lowest_shielding.is_none() && shielding.lowest_in_reach.is_none());
        assert_eq!(shielding.covered_share, 0.0, "{site}");
        assert!(
            (shielding.uncovered_m2 - assessment.area.area_m2).abs()
                < 1e-4 * assessment.area.area_m2
        );
        for obstacle in all(assessment) {
            assert!(obstacle.not_a_shield.is_some(), "{site} {}", obstacle.title);
            assert!(obstacle.top_m_agl.is_none() && obstacle.trusted_top_m_agl.is_none());
        }
        let counted: usize = assessment
            .not_assessed
            .iter()
            .filter(|entry| entry.what.starts_with("heights of "))
            .map(|entry| entry.count)
            .sum();
        assert_eq!(counted, layers.obstacles.len(), "{site}");
    });
}

/// Straight in longitude and latitude, by geodesics from `place` to 1 m pieces.
fn nearest_on(place: LonLat, shape: &Shape) -> f64 {
    match shape {
        Shape::Point(at) => distance(place, *at).m(),
        Shape::Chain(places) => places
            .windows(2)
            // A segment whose end is farther than its length and the reach is out of reach.
            .filter(|ends| distance(place, ends[0]).m() <= distance(ends[0], ends[1]).m() + 200.0)
            .flat_map(|ends| {
                let parts = distance(ends[0], ends[1]).m().ceil().max(1.0);
                (0..=parts as usize).map(move |k| ends[0].towards(ends[1], k as f64 / parts))
            })
            .map(|at| distance(place, at).m())
            .fold(f64::INFINITY, f64::min),
        Shape::Outline(_) => f64::INFINITY,
    }
}

/// Heights that the preparer assumed, with a sag of 3 % of the span declared in `layers.toml`:
/// cover, trusted tops and ceiling beside a brute force over places by geodesics.
#[test]
fn assumed_heights_with_a_declared_sag() {
    let temporary = tempfile::tempdir().unwrap();
    for file in [
        "aerodromes.geojson",
        "runways.geojson",
        "power_supports.geojson",
    ] {
        std::fs::copy(folder("krems").join(file), temporary.path().join(file)).unwrap();
    }
    std::fs::copy(
        folder("krems").join("power_lines_assumed.geojson"),
        temporary.path().join("lines-of-the-preparer.geojson"),
    )
    .unwrap();
    std::fs::write(
        temporary.path().join("layers.toml"),
        "[power-lines]\nfile = \"lines-of-the-preparer.geojson\"\nsag = { share_of_span = 0.03 }\n",
    )
    .unwrap();
    let mut numbers = Numbers(20_260_701);
    let mut with_cover = 0;
    for (id, _) in references("krems") {
        let (mut question, options) = ask("krems", &id, 10_000.0);
        question.site_elevation = Some(eaves::units::Altitude::of(190.0));
        let layers = read::layers(temporary.path(), &options).unwrap();
        let records: Vec<Obstacle> = layers.obstacles.iter().collect();
        // Height 30 m, less 3 % of the length between the supports (equal tops, level ground).
        let shields: Vec<(&Shape, f64)> = records
            .iter()
            .filter_map(|record| {
                let Some(span) = &record.span else {
                    return Some((&record.shape, record.top?.value_m));
                };
                assert_eq!(span.sag, Some(Sag::ShareOfSpan(0.03)));
                let Shape::Chain(places) = &record.shape else {
                    panic!()
                };
                let length: f64 = places
                    .windows(2)
                    .map(|ends| distance(ends[0], ends[1]).m())
                    .sum();
                let [a, b] = &span.ends;
                Some((
                    &record.shape,
                    a.top?.value_m.min(b.top?.value_m) - 0.03 * length,
                ))
            })
            .collect();
        let assessment = assess(&question, &layers).unwrap();
        let shielding = &assessment.shielding[0];
        let extent = question.area.polygons.bounding_rect().unwrap();
        let (mut inside, mut covered, mut least) = (0, 0, f64::INFINITY);
        while inside < 600 {
            let at = Coord {
                x: numbers.between(extent.min().x, extent.max().x),
                y: numbers.between(extent.min().y, extent.max().y),
            };
            if !question.area.polygons.contains(&at) {
                continue;
            }
            inside += 1;
            let place = LonLat::wrapped(at.x, at.y);
            let best = shields
                .iter()
                .filter(|(shape, _)| nearest_on(place, shape) <= 100.0)
                .map(|(_, top)| *top)
                .fold(f64::NEG_INFINITY, f64::max);
            if best.is_finite() {
                covered += 1;
                least = least.min(best);
            }
        }
        let share = f64::from(covered) / f64::from(inside);
        // Four standard deviations of a share of 600 places.
        assert!(
            (shielding.covered_share - share).abs() < 4.0 * (0.25 / 600f64).sqrt(),
            "{id}: {} {share}",
            shielding.covered_share
        );
        let Some(lowest) = &shielding.lowest_shielding else {
            assert_eq!(covered, 0, "{id}");
            continue;
        };
        with_cover += 1;
        let top = lowest.trusted_top_m_agl.m();
        println!(
            "{id}: covered {:.4} ({share:.4}), lowest {top:.3} ({least:.3})",
            shielding.covered_share
        );
        assert!(top <= least + 0.001, "{id}: {top} {least}");
        let part = assessment.ceiling.determined_part.as_ref().unwrap();
        assert!(part.above_ground.value_m <= least - 10.0 + 0.001, "{id}");
        assert!(
            part.amsl.as_ref().unwrap().value_m <= 190.0 + least - 10.0 + 0.001,
            "{id}"
        );
        // The top named is one that a shield has, to 1 mm.
        assert!(
            shields.iter().any(|(_, known)| (known - top).abs() < 0.001),
            "{id}: {top}"
        );
    }
    assert!(with_cover >= 2);
}
