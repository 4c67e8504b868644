//! Regions of the plane against an independent brute force, and zones placed about runways against
//! offsets laid out with pyproj.

use eaves::aerodrome::{Aerodrome, AerodromeKind, Runway};
use eaves::field::combine::{Side, Zone};
use eaves::field::convex::Convex;
use eaves::field::zone::{Region, Turned};
use eaves::field::{Cell, Field};
use eaves::frame::{LocalFrame, LonLat, Xy, distance};
use eaves::profile::zone::ZoneShape;
use eaves::profile::{Profile, parse};
use eaves::runway::centreline;
use eaves::search::share_at_or_above;
use eaves::site::FeatureRef;
use eaves::units::Metres;
use eaves::zone::{Basis, Placed, outline, parts};
use geo::{Area, BooleanOps, Contains, Coord, MultiPolygon, polygon};
use proptest::prelude::*;
use serde_json::Value;

use crate::cover::Numbers;
use crate::field::{cell, convex, keeps_the_laws, point, shrinks_at};
use crate::runway::runway;

fn leaf() -> impl Strategy<Value = Region> {
    prop_oneof![
        (prop::collection::vec(convex(), 0..4), 0.0..200.0f64)
            .prop_map(|(sets, reach)| Region::Buffer { sets, reach }),
        prop::collection::vec(point(), 3..7)
            .prop_map(|corners| Region::Polygon(Convex::hull(&corners))),
    ]
}

fn region() -> impl Strategy<Value = Region> {
    leaf().prop_recursive(3, 12, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..3).prop_map(Region::Union),
            (inner.clone(), inner.clone())
                .prop_map(|(of, less)| Region::Difference(Box::new(of), Box::new(less))),
            (inner, -20.0..20.0f64).prop_map(|(region, by)| Region::Widened(Box::new(region), by)),
        ]
    })
}

/// A region without anything to measure from is nowhere; its measure is infinite, and laws on
/// differences of infinities say nothing.
fn is_finite(region: &Region) -> bool {
    region.signed(Xy::new(1.0, 2.0)).is_finite()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_region_keeps_the_laws_of_a_field(region in region(), cell in cell(), at in point()) {
        prop_assume!(is_finite(&region));
        keeps_the_laws(&region, cell, 3);
        keeps_the_laws(&Turned(&region), cell, 2);
        shrinks_at(&region, at);
    }

    /// `side` is never wrong: no sampled point of a cell said to be outside is held, none of a cell
    /// said to be inside is not.
    #[test]
    fn a_side_is_never_wrong(region in region(), cell in cell()) {
        let [a, b, c] = *cell.corners();
        let side = region.side(&cell);
        for k in 0..60 {
            let (s, t) = (f64::from(k % 10) / 9.0, f64::from(k / 10) / 5.0);
            let at = a.towards(b, s).towards(c, t);
            match side {
                // The rounding of a point of the cell may put it a nanometre out of it.
                Side::Inside => prop_assert!(region.signed(at) <= 1e-9),
                Side::Outside => prop_assert!(region.signed(at) > -1e-9),
                Side::Unsure => {}
            }
        }
    }

    /// The measure changes by no more than the way moved, so it never overstates a distance.
    #[test]
    fn the_measure_changes_by_no_more_than_the_way(region in region(), a in point(), b in point()) {
        prop_assume!(is_finite(&region));
        prop_assert!((region.signed(a) - region.signed(b)).abs() <= a.distance(b) + 1e-9);
    }
}

/// Membership by plain formulae that share nothing with the library.
fn is_in(region: &Region, p: Xy) -> bool {
    match region {
        Region::Buffer { sets, reach } => sets.iter().any(|set| away(set, p) <= *reach),
        Region::Polygon(set) => away(set, p) == 0.0,
        Region::Union(parts) => parts.iter().any(|part| is_in(part, p)),
        Region::Difference(of, less) => is_in(of, p) && !is_in(less, p),
        Region::Widened(..) => unreachable!("not drawn here"),
    }
}

/// The distance of a point from a convex set: 0 when it turns the same way about every edge.
fn away(set: &Convex, p: Xy) -> f64 {
    let corners = set.corners();
    let count = corners.len();
    let turns: Vec<f64> = (0..count)
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % count]);
            (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
        })
        .collect();
    if count > 2 && turns.iter().all(|turn| *turn > 0.0) {
        return 0.0;
    }
    (0..count)
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % count]);
            let (dx, dy) = (b.x - a.x, b.y - a.y);
            let long = dx * dx + dy * dy;
            let t = if long > 0.0 {
                (((p.x - a.x) * dx + (p.y - a.y) * dy) / long).clamp(0.0, 1.0)
            } else {
                0.0
            };
            ((p.x - a.x - t * dx).powi(2) + (p.y - a.y - t * dy).powi(2)).sqrt()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Random unions and differences of discs, capsules and polygons over a square: membership, the share
/// inside, and the part outside, each against 10 000 points.
#[test]
fn membership_share_and_the_part_outside_against_brute_force() {
    let mut numbers = Numbers(31);
    let mut straddled = 0;
    for _ in 0..60 {
        let mut at = |reach: f64| {
            Xy::new(
                numbers.between(-reach, reach),
                numbers.between(-reach, reach),
            )
        };
        let (a, b, c, d, e) = (at(300.0), at(300.0), at(300.0), at(300.0), at(200.0));
        let hull = Convex::hull(&[at(250.0), at(250.0), at(250.0), at(250.0)]);
        let buffer = |sets: Vec<Convex>, reach| Region::Buffer { sets, reach };
        let region = Region::Difference(
            Box::new(Region::Union(vec![
                buffer(vec![Convex::hull(&[a, b])], numbers.between(20.0, 90.0)),
                Region::Polygon(hull),
                buffer(vec![Convex::hull(&[c]), Convex::hull(&[d])], 60.0),
            ])),
            Box::new(buffer(
                vec![Convex::hull(&[e])],
                numbers.between(10.0, 120.0),
            )),
        );
        let square = [
            Cell::new([
                Xy::new(-200.0, -200.0),
                Xy::new(200.0, -200.0),
                Xy::new(200.0, 200.0),
            ]),
            Cell::new([
                Xy::new(-200.0, -200.0),
                Xy::new(200.0, 200.0),
                Xy::new(-200.0, 200.0),
            ]),
        ];
        let area = MultiPolygon::new(vec![polygon![
            (x: -200.0, y: -200.0), (x: 200.0, y: -200.0), (x: 200.0, y: 200.0), (x: -200.0, y: 200.0)
        ]]);
        let outside = area.difference(&outline::outer(&region, 0.0));
        let mut inside = 0;
        for i in 0..100 {
            for j in 0..100 {
                let p = Xy::new(-198.0 + 4.0 * f64::from(i), -198.0 + 4.0 * f64::from(j));
                let truth = is_in(&region, p);
                if region.signed(p).abs() > 1e-9 {
                    assert_eq!(region.holds(p), truth, "{p:?} of {region:?}");
                }
                inside += usize::from(truth);
                let offered = outside.contains(&Coord { x: p.x, y: p.y });
                assert!(!(offered && truth), "{p:?} is offered, but in {region:?}");
                // Nothing much is kept back either: 5 cm, and a little for the grid.
                if region.signed(p) > outline::OUTLINE_EXCESS_M + 0.03 {
                    assert!(offered, "{p:?} of {region:?}");
                }
            }
        }
        let share = share_at_or_above(&Turned(&region), &square, 0.0, 2e-4, 40_000);
        let truth = inside as f64 / 10_000.0;
        assert!(share.at_most >= truth - 0.01, "{share:?} below {truth}");
        assert!(share.at_least <= truth + 0.01, "{share:?} above {truth}");
        let offered = outside.unsigned_area() / 160_000.0;
        assert!(offered <= 1.0 - share.at_least + 1e-9);
        straddled += usize::from(offered > 0.01 && truth > 0.01);
    }
    assert!(straddled > 40, "only {straddled} cases say anything");
}

#[test]
fn nothing_is_in_an_empty_region() {
    let empty = Region::Buffer {
        sets: vec![],
        reach: 100.0,
    };
    let cell = Cell::new([Xy::default(), Xy::new(1.0, 0.0), Xy::new(0.0, 1.0)]);
    assert_eq!(empty.side(&cell), Side::Outside);
    assert!(!empty.holds(Xy::default()));
    assert_eq!(empty.over(&cell).low, f64::INFINITY);
    assert!(outline::outer(&empty, 1.0).0.is_empty());
}

/// A profile whose one zone has this shape.
pub fn with_shape(shape: &str) -> Profile {
    let plain = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/profiles/plain.toml"),
    )
    .unwrap();
    let (before, _) = plain.split_once("# Where aircraft come").unwrap();
    let text = format!("{before}\n[[zones]]\ntitle = \"Own zone\"\n{shape}");
    parse("own", "own.toml", &text).unwrap()
}

/// A quantity in TOML.
pub fn quantity(key: &str, value: f64, unit: &str) -> String {
    format!(
        "{key} = {{ value = {value}, unit = \"{unit}\", citation = \"common practice, no source\", \
         edition = \"not stated\", mark = \"common_practice\" }}\n"
    )
}

pub fn bare(reference_point: Option<LonLat>, runways: Vec<Runway>) -> Aerodrome {
    Aerodrome {
        source: FeatureRef {
            file: "aerodromes.geojson".into(),
            feature: "ZZZZ".into(),
        },
        ident: Some("ZZZZ".into()),
        name: "Made up".into(),
        kind: AerodromeKind::Aerodrome,
        reference_point,
        elevation: None,
        controlled: None,
        military: None,
        hours: Default::default(),
        runways,
        movement_area: None,
        boundary: None,
    }
}

fn place(value: &Value) -> LonLat {
    LonLat::new(value[0].as_f64().unwrap(), value[1].as_f64().unwrap()).unwrap()
}

fn placed(shape: &ZoneShape, aerodrome: &Aerodrome, frame: &LocalFrame, part: usize) -> Placed {
    parts(shape, aerodrome, frame, Metres::of(2_000.0))
        .swap_remove(part)
        .placed
        .unwrap()
}

/// A rectangle 5 km long and 1 km wide beyond a runway end, placed in planes whose origin is up to
/// 40 km away, against the offsets of `tests/reference/runways.json`: the measure is the distance to
/// the nearest edge within the stated accuracy, which is at most 2 cm.
#[test]
fn a_rectangle_is_where_the_offsets_say() {
    let rectangle = with_shape(&format!(
        "[zones.shape.rectangle]\nfrom = \"runway_end\"\n{}{}",
        quantity("length", 5.0, "km"),
        quantity("width", 1.0, "km")
    ));
    let file: Value = serde_json::from_str(include_str!("../reference/runways.json")).unwrap();
    let mut near_an_edge = 0;
    for case in file["cases"].as_array().unwrap() {
        let runway = runway(
            "01/19",
            Some(place(&case["other"])),
            Some(place(&case["end"])),
        );
        let frame = LocalFrame::about(place(&case["origin"]));
        let zone = placed(
            &rectangle.zones[0].shape,
            &bare(None, vec![runway]),
            &frame,
            1,
        );
        assert!(zone.accuracy_m < 0.02, "{}", zone.accuracy_m);
        for it in case["places"].as_array().unwrap() {
            let (along, right) = (
                it["along_m"].as_f64().unwrap(),
                it["right_m"].as_f64().unwrap(),
            );
            let beyond = Xy::new((-along).max(along - 5_000.0), right.abs() - 500.0);
            let expected = if beyond.x <= 0.0 && beyond.y <= 0.0 {
                beyond.x.max(beyond.y)
            } else {
                beyond.x.max(0.0).hypot(beyond.y.max(0.0))
            };
            let found = zone.region.signed(frame.to_plane(place(&it["place"])));
            // Far from the edge the plane stretches the distance besides.
            let allowed = zone.accuracy_m + 1e-5 * expected.abs();
            assert!(
                (found - expected).abs() <= allowed,
                "{}: {found} instead of {expected}, allowed {allowed}",
                case["id"]
            );
            near_an_edge += usize::from(expected.abs() < 0.5);
        }
    }
    assert!(near_an_edge > 200);
}

/// A capsule is all within a geodesic distance of the centreline, sampled every metre.
#[test]
fn a_capsule_is_all_within_a_distance_of_the_centreline() {
    let capsule = with_shape(&format!(
        "[zones.shape.capsule]\n{}",
        quantity("radius", 3.0, "NM")
    ));
    let mut numbers = Numbers(5);
    for (lon, lat) in [(149.6, -30.9), (20.0, 60.0), (179.99, 66.5)] {
        let frame = LocalFrame::about(LonLat::new(lon, lat).unwrap());
        let low = frame.to_place(Xy::new(9_000.0, -4_000.0));
        let high = frame.to_place(Xy::new(11_500.0, -3_000.0));
        let strip = runway("06/24", Some(low), Some(high));
        let line = centreline(&strip, Metres::of(1.0)).unwrap();
        let zone = placed(&capsule.zones[0].shape, &bare(None, vec![strip]), &frame, 0);
        assert_eq!(zone.basis, Basis::Stated);
        assert!(zone.accuracy_m < 0.02);
        for _ in 0..6 {
            let at = Xy::new(
                numbers.between(0.0, 8_000.0),
                numbers.between(-9_000.0, 3_000.0),
            );
            let from = frame.to_place(at);
            let truth = line
                .iter()
                .map(|it| distance(*it, from).m())
                .fold(f64::INFINITY, f64::min);
            let found = zone.region.signed(at) + 5_556.0;
            // Samples a metre apart overstate the least distance by at most 0.5² ⁄ 2d.
            assert!((found - truth).abs() < zone.accuracy_m + 0.13 / truth + 1e-5 * truth);
        }
    }
}
