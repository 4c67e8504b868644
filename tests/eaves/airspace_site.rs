//! Airspace volumes over a site: against dense sampling, shapely on the demo, and by hand.

use eaves::airspace::answer::{AirspaceAnswer, InHeight, InPlan, OperatingTop, VolumeAnswer};
use eaves::airspace::limit::Stated;
use eaves::airspace::{End, Limit, Volume};
use eaves::answer::Undetermined;
use eaves::assess::{Question, assess};
use eaves::field::boundary::{Boundary, Part, Ring, SignedDistance};
use eaves::field::combine::{Side, Zone};
use eaves::field::floor::{Floor, FloorVolume, Floors, Vertical};
use eaves::field::ground::Ground;
use eaves::field::level::{Level, LevelAboveGround};
use eaves::field::{Cell, Field};
use eaves::frame::{LonLat, Xy};
use eaves::read::{ReadOptions, layers, operating_area};
use eaves::site::FeatureRef;
use eaves::units::{Altitude, Height, Metres, Pressure};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;

use crate::site::{self, place, question, rectangle};

fn limit(end: End, text: &str) -> Limit {
    Limit::read(
        end,
        Stated {
            value: Some(text),
            ..Stated::default()
        },
    )
}

fn ring(corners: &[(f64, f64)]) -> LineString<f64> {
    let mut ring: Vec<Coord<f64>> = corners
        .iter()
        .map(|(x, y)| {
            let at = place(*x, *y);
            Coord {
                x: at.lon(),
                y: at.lat(),
            }
        })
        .collect();
    ring.push(ring[0]);
    LineString(ring)
}

fn volume(rings: &[Vec<(f64, f64)>], lower: &str, upper: &str) -> Volume {
    let polygon = Polygon::new(
        ring(&rings[0]),
        rings[1..].iter().map(|it| ring(it)).collect(),
    );
    of(MultiPolygon(vec![polygon]), lower, upper)
}

fn of(polygons: MultiPolygon<f64>, lower: &str, upper: &str) -> Volume {
    Volume {
        source: FeatureRef {
            file: "airspace.geojson".into(),
            feature: "v".into(),
        },
        ident: None,
        name: None,
        class: None,
        kind: None,
        authority: None,
        hours: None,
        zone: None,
        polygons,
        horizontal_accuracy: Metres::ZERO,
        lower: limit(End::Lower, lower),
        upper: limit(End::Upper, upper),
    }
}

fn asked(question: &Question, volumes: Vec<Volume>) -> AirspaceAnswer {
    let mut layers = site::layers(vec![], vec![]);
    layers.airspace = Some(volumes);
    assess(question, &layers).unwrap().airspace.unwrap()
}

fn one(question: &Question, volume: Volume) -> VolumeAnswer {
    let mut answer = asked(question, vec![volume]);
    assert_eq!(answer.volumes.len(), 1);
    answer.volumes.remove(0)
}

/// A site of 400 m by 300 m about the origin, with a wished height.
fn wishing(height_m: f64) -> Question {
    let mut question = question(&[rectangle(-200.0, -150.0, 400.0, 300.0)], "plain");
    question.wish = Some(Height::of(height_m));
    question
}

fn everywhere(lower: &str, upper: &str) -> Volume {
    volume(&[rectangle(-3000.0, -3000.0, 6000.0, 6000.0)], lower, upper)
}

/// 400 ft above ground over ground at 120 m AMSL is 241.92 m AMSL, 793.70 ft (exact arithmetic).
#[test]
fn a_floor_above_ground_in_both_references() {
    let mut question = wishing(100.0);
    question.site_elevation = Some(Altitude::of(120.0));
    let answer = one(&question, everywhere("400 ft SFC", "UNL"));
    let floor = answer.floor.unwrap();
    assert!((floor.lowest_m_agl.unwrap().m() - 121.92).abs() < 1e-9);
    assert!((floor.lowest_m_amsl.unwrap().m() - 241.92).abs() < 1e-9);
    assert!((floor.lowest_m_amsl.unwrap().ft() - 793.70).abs() < 0.005);
    assert_eq!(answer.in_height, Some(InHeight::No));
    question.wish = Some(Height::of(121.92));
    assert_eq!(
        one(&question, everywhere("400 ft SFC", "UNL")).in_height,
        Some(InHeight::Yes)
    );
}

/// Ground at 300 m AMSL, by hand. 1 500 ft are 457.2 m; FL015 is at 457.2 m for 1013.25 hPa and
/// 829 ft (252.7 m) lower for 983.25 hPa.
#[test]
fn height_by_hand() {
    use InHeight::{No, Undetermined, Yes};
    for (wish, lower, upper, qnh, expected) in [
        (50.0, "GND", "UNL", None, Yes),
        (50.0, "1500 ft AMSL", "UNL", None, No),
        (157.0, "1500 ft AMSL", "UNL", None, No),
        (158.0, "1500 ft AMSL", "UNL", None, Yes),
        // A volume that ends at 274.3 m AMSL is under this ground.
        (50.0, "GND", "900 ft AMSL", None, No),
        (50.0, "GND", "1000 ft AMSL", None, Yes),
        (120.0, "FL015", "UNL", None, Undetermined),
        (120.0, "FL015", "UNL", Some(1013.25), No),
        (120.0, "FL015", "UNL", Some(983.25), Yes),
        (120.0, "FL100", "UNL", None, No),
        (1200.0, "FL015", "UNL", None, Yes),
        (50.0, "100 m W84", "UNL", None, Undetermined),
        (50.0, "BY NOTAM", "UNL", None, Undetermined),
        (50.0, "", "UNL", None, Undetermined),
        (50.0, "2000 ft AMSL", "1500 ft AMSL", None, Undetermined),
        // Without a clear upper limit it has none.
        (50.0, "GND", "BY NOTAM", None, Yes),
    ] {
        let mut question = wishing(wish);
        question.qnh = qnh.map(Pressure::of);
        let answer = one(&question, everywhere(lower, upper));
        assert_eq!(answer.in_plan, InPlan::Inside);
        assert_eq!(
            answer.in_height,
            Some(expected),
            "{wish} {lower} {upper} {qnh:?}: {}",
            answer.why
        );
        assert!(!answer.why.is_empty());
    }
}

#[test]
fn flight_levels_over_the_range_of_pressures() {
    let floor = |qnh: Option<f64>| {
        let mut question = wishing(50.0);
        question.qnh = qnh.map(Pressure::of);
        one(&question, everywhere("FL100", "UNL")).floor.unwrap()
    };
    // 9 171 ft: computed with the standard atmosphere by another implementation.
    let stated = floor(Some(983.25));
    assert!((stated.lowest_m_amsl.unwrap().ft() - 9_171.0).abs() <= 0.5);
    assert!(stated.lowest_at_highest_qnh_m_amsl.is_none());
    let range = floor(None);
    let (low, high) = (
        range.lowest_m_amsl.unwrap(),
        range.lowest_at_highest_qnh_m_amsl.unwrap(),
    );
    assert!(low < stated.lowest_m_amsl.unwrap() && high.ft() > 10_454.0);
}

/// The volume with the lowest floor of those that a wish of 50 m over ground at 300 m reaches governs: 100 ft
/// above ground (30.48 m), not 1 100 ft AMSL (35.28 m), and not what begins at 200 ft (60.96 m).
#[test]
fn the_lowest_floor_that_is_reached_governs() {
    let governs = |lower: &[&str]| -> Vec<bool> {
        let volumes = lower.iter().map(|lower| everywhere(lower, "UNL")).collect();
        let mut found = asked(&wishing(50.0), volumes).volumes;
        found.sort_by_key(|it| lower.iter().position(|lower| it.lower.stated == *lower));
        found.iter().map(|it| it.governs).collect()
    };
    assert_eq!(
        governs(&["1100 ft AMSL", "100 ft AGL", "200 ft AGL"]),
        [false, true, false]
    );
    assert_eq!(governs(&["200 ft AGL"]), [false]);
    assert_eq!(governs(&["GND", "100 ft AGL"]), [true, false]);
}

/// Nothing known AMSL: what needs the ground is undetermined, what does not is answered.
#[test]
fn without_an_elevation() {
    let mut question = wishing(50.0);
    question.site_elevation = None;
    let amsl = one(&question, everywhere("5000 ft AMSL", "UNL"));
    assert_eq!(amsl.in_height, Some(InHeight::Undetermined));
    assert_eq!(amsl.floor.unwrap().lowest_m_agl, None);
    assert!((amsl.floor.unwrap().lowest_m_amsl.unwrap().ft() - 5000.0).abs() < 1e-9);
    let surface = one(&question, everywhere("500 ft SFC", "900 ft AMSL"));
    assert_eq!(surface.in_height, Some(InHeight::No));
    assert_eq!(surface.floor.unwrap().lowest_m_amsl, None);
}

/// Without a wish the certified ceiling is the top; an undetermined one leaves the height open,
/// except where a volume begins at the ground.
#[test]
fn the_top_of_the_operating_volume() {
    let mut question = question(&[rectangle(-20.0, -20.0, 40.0, 40.0)], "plain");
    let mut layers = site::layers(vec![], vec![site::mast(0.0, 0.0, 60.0, 0.0)]);
    layers.airspace = Some(vec![
        everywhere("49 m SFC", "UNL"),
        everywhere("51 m SFC", "UNL"),
    ]);
    let covered = assess(&question, &layers).unwrap().airspace.unwrap();
    // 60 m less the margin of 10 m of the profile.
    assert_eq!(
        covered.top,
        OperatingTop::Ceiling {
            height_m_agl: Height::of(50.0),
            altitude_m_amsl: Some(Altitude::of(350.0)),
        }
    );
    let states: Vec<_> = covered.volumes.iter().map(|it| it.in_height).collect();
    assert_eq!(states, [Some(InHeight::Yes), Some(InHeight::No)]);
    question.profile.conditions.clear();
    let answer = asked(
        &question,
        vec![everywhere("GND", "UNL"), everywhere("51 m SFC", "UNL")],
    );
    assert_eq!(answer.top, OperatingTop::Undetermined);
    let states: Vec<_> = answer.volumes.iter().map(|it| it.in_height).collect();
    assert_eq!(states, [Some(InHeight::Yes), Some(InHeight::Undetermined)]);
    assert!(!answer.is_decided());
}

#[test]
fn far_wide_and_hollow_volumes() {
    let question = wishing(50.0);
    let far = volume(&[rectangle(40_000.0, 0.0, 1000.0, 1000.0)], "GND", "UNL");
    let answer = asked(&question, vec![far]);
    assert_eq!((answer.volumes.len(), answer.farther), (0, 1));
    // 15 km away, to the millimetre by the plane about the site (distances from its origin are
    // exact; the site reaches 200 m towards it).
    let near = volume(&[rectangle(15_200.0, -200.0, 1000.0, 400.0)], "GND", "UNL");
    let answer = one(&question, near);
    assert_eq!(answer.in_plan, InPlan::Outside);
    assert!(
        answer.margin_m.m() <= 15_000.0 && answer.margin_m.m() > 14_999.9,
        "{:?}",
        answer.margin_m
    );
    assert_eq!((answer.in_height, answer.share_inside), (None, 0.0));
    // A country: degrees wide, its edges far beyond the search.
    let country = |west: f64, east: f64| {
        let corners = [
            (west, -40.0),
            (east, -40.0),
            (east, -20.0),
            (west, -20.0),
            (west, -40.0),
        ];
        let ring: LineString<f64> = corners.into_iter().collect();
        of(MultiPolygon(vec![Polygon::new(ring, vec![])]), "GND", "UNL")
    };
    let answer = one(&question, country(120.0, 170.0));
    assert_eq!(answer.in_plan, InPlan::Inside);
    assert!(answer.margin_is_at_least && answer.margin_m.m() < -18_000.0);
    // Inside the hole, and straddling its edge.
    let hollow = |hole: Vec<(f64, f64)>| {
        let outer = rectangle(-3000.0, -3000.0, 6000.0, 6000.0);
        volume(&[outer, hole], "GND", "UNL")
    };
    let inside = one(
        &question,
        hollow(rectangle(-1000.0, -1000.0, 2000.0, 2000.0)),
    );
    assert_eq!(inside.in_plan, InPlan::Outside);
    assert!((inside.margin_m.m() - 800.0).abs() < 0.1);
    let across = one(&question, hollow(rectangle(0.0, -1000.0, 2000.0, 2000.0)));
    assert_eq!(across.in_plan, InPlan::Straddles);
    assert!(across.share_inside >= 0.5 && across.share_inside < 0.501);
    assert!(
        (across.margin_m.m() + 200.0).abs() < 0.1
            && (across.farthest_margin_m.m() - 200.0).abs() < 0.1
    );
}

/// A bow-tie winds around both its halves: all of it is taken.
#[test]
fn an_outline_that_crosses_itself_keeps_both_halves() {
    let bow_tie = vec![
        (-900.0, -900.0),
        (900.0, 900.0),
        (900.0, -900.0),
        (-900.0, 900.0),
    ];
    let answer = one(&wishing(50.0), volume(&[bow_tie], "GND", "UNL"));
    assert_eq!(answer.in_plan, InPlan::Straddles);
    // By hand: the triangles |y| < |x| of a rectangle 400 by 300: 2 (200² − 50²) = 75 000 of
    // 120 000 m²; at |x| < 150 the height is 2 |x|, beyond it is 300: 2 (150² + 50 × 300).
    let share = 2.0 * (150.0 * 150.0 + 50.0 * 300.0) / 120_000.0;
    assert!(
        answer.share_inside >= share - 1e-6 && answer.share_inside < share + 0.0025,
        "{} for {share}",
        answer.share_inside
    );
}

/// On the antimeridian, and with an outline written past it.
#[test]
fn across_the_antimeridian() {
    let origin = LonLat::new(180.0, -17.0).unwrap();
    let mut question = wishing(50.0);
    question.area = crate::cover::area(origin, &[rectangle(-200.0, -150.0, 400.0, 300.0)]);
    for (west, east) in [(179.9, -179.9), (179.9, 180.0), (-180.0, -179.9)] {
        let corners = [
            (west, -17.1),
            (east, -17.1),
            (east, -16.9),
            (west, -16.9),
            (west, -17.1),
        ];
        let ring: LineString<f64> = corners.into_iter().collect();
        let answer = one(
            &question,
            of(MultiPolygon(vec![Polygon::new(ring, vec![])]), "GND", "UNL"),
        );
        let expected = if west * east < 0.0 {
            InPlan::Inside
        } else {
            InPlan::Straddles
        };
        assert_eq!(answer.in_plan, expected, "{west} {east}");
    }
}

/// The demo, measured with pyproj and shapely (demo-layers/make.py): the control zone is 570.3 m
/// away; the control area holds all of the site; the danger area holds 4.90 % of it, 5.03 % grown by
/// the metre that its positions are known within, and the site reaches 75.0 m into it.
#[test]
fn the_demo_as_shapely_measures_it() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let read = layers(&folder, &ReadOptions::default()).unwrap();
    let mut question = wishing(40.0);
    question.area = operating_area(&folder.join("area.geojson"), None)
        .unwrap()
        .area;
    question.site_elevation = None;
    let airspace = assess(&question, &read).unwrap().airspace.unwrap();
    let of = |ident: &str| {
        airspace
            .volumes
            .iter()
            .find(|it| it.ident.as_deref() == Some(ident))
            .unwrap()
    };
    let zone = of("SYN CTR");
    assert_eq!(zone.in_plan, InPlan::Outside);
    assert!(
        zone.margin_m.m() <= 569.34 && zone.margin_m.m() > 569.3,
        "{:?}",
        zone.margin_m
    );
    let step = of("SYN CTA 1");
    assert_eq!(
        (step.in_plan, step.in_height),
        (InPlan::Inside, Some(InHeight::No))
    );
    // 1 300 ft are 60.91 m above the highest ground of the area (rasterio, on a net and at corners),
    // which is known within 1 m; found within the tolerance of 0.1 m, never above.
    let floor = step.floor.unwrap().lowest_m_agl.unwrap().m();
    assert!(floor <= 59.915 && floor > 59.80, "{floor}");
    // The farthest in, 1 197.1 m, is a corner; the least far in is 570.3 m from the zone's edge.
    assert!(
        (step.margin_m.m() + 1_198.15).abs() < 0.1,
        "{:?}",
        step.margin_m
    );
    assert!(
        (step.farthest_margin_m.m() + 571.34).abs() < 0.1,
        "{:?}",
        step.farthest_margin_m
    );
    let danger = of("SYN D1");
    assert_eq!(
        (danger.in_plan, danger.in_height),
        (InPlan::Straddles, Some(InHeight::Yes))
    );
    assert!(danger.share_inside >= 0.0503 && danger.share_inside < 0.0514);
    assert!((danger.margin_m.m() + 76.0).abs() < 0.1);
    assert!((of("SYN R9").margin_m.m() - 9_751.8).abs() < 0.1);
}

/// A cap of 120 m that airspace limits, for volumes of the kind R and those without a kind.
const LIMITED: &str = r#"
title = "Limited by airspace"
caution = "A test."
reference = "reference_point"
conditions = []
rings = []
[[height.lowest]]
[height.lowest.cap]
title = "cap"
height = { value = 120, unit = "m", citation = "test", edition = "test", mark = "common_practice" }
[[height.lowest]]
[height.lowest.airspace]
title = "floors of airspace"
kinds = ["r"]
"#;

/// By hand: ground at 300 m AMSL; 1 200 ft are 365.76 m, so 65.76 m above ground, and the ceiling of
/// the whole area is that of the part inside.
#[test]
fn airspace_limits_the_ceiling_where_the_profile_says_so() {
    let asked = |volumes: Option<Vec<Volume>>| {
        let mut question = question(&[rectangle(-200.0, -150.0, 400.0, 300.0)], "plain");
        question.profile = eaves::profile::parse("limited", "limited.toml", LIMITED).unwrap();
        let mut layers = site::layers(vec![], vec![]);
        layers.airspace = volumes;
        assess(&question, &layers).unwrap()
    };
    let half = |lower: &str, kind: Option<&str>| {
        let mut volume = volume(&[rectangle(0.0, -1000.0, 2000.0, 2000.0)], lower, "UNL");
        volume.kind = kind.map(str::to_owned);
        volume
    };
    for (volume, above_ground, amsl, governs) in [
        (
            half("1200 ft AMSL", Some("R")),
            65.76,
            365.76,
            "floors of airspace",
        ),
        (
            half("1200 ft AMSL", None),
            65.76,
            365.76,
            "floors of airspace",
        ),
        (
            half("200 ft SFC", Some("R")),
            60.96,
            360.96,
            "floors of airspace",
        ),
        (half("1200 ft AMSL", Some("CTR")), 120.0, 420.0, "cap"),
        (half("2000 ft AMSL", Some("R")), 120.0, 420.0, "cap"),
    ] {
        let ceiling = asked(Some(vec![volume])).ceiling;
        assert!(ceiling.conditions.is_empty());
        let pair = ceiling.whole.unwrap();
        assert!(
            (pair.above_ground.value_m - above_ground).abs() < 0.011,
            "{:?}",
            pair.above_ground
        );
        assert!(
            (pair.amsl.as_ref().unwrap().value_m - amsl).abs() < 0.011,
            "{:?}",
            pair.amsl
        );
        assert_eq!(pair.above_ground.governs, governs);
        assert_eq!(
            pair.above_ground.budget.last().unwrap().value_m,
            pair.above_ground.value_m
        );
    }
    // A floor that is not known leaves the ceiling undetermined there, and only there.
    let unknown = asked(Some(vec![half("BY NOTAM", Some("R"))])).ceiling;
    assert!(unknown.whole.is_none());
    assert_eq!(unknown.determined_part.unwrap().above_ground.value_m, 120.0);
    assert!(matches!(
        unknown.undetermined.as_slice(),
        [Undetermined::FloorUnknown { volumes }] if volumes.len() == 1
    ));
    // Without a layer the condition says so.
    let absent = asked(None).ceiling;
    assert!(absent.conditions[0].contains("no airspace layer"));
    assert_eq!(absent.whole.unwrap().above_ground.value_m, 120.0);
}

fn star() -> impl Strategy<Value = Vec<(f64, f64)>> {
    (
        prop::collection::vec(30.0..600.0f64, 3..12),
        -500.0..500.0f64,
        -400.0..400.0f64,
    )
        .prop_map(|(radii, x, y)| {
            let count = radii.len() as f64;
            radii
                .iter()
                .enumerate()
                .map(|(k, radius)| {
                    let angle = std::f64::consts::TAU * k as f64 / count;
                    (x + radius * angle.cos(), y + radius * angle.sin())
                })
                .collect()
        })
}

/// Even-odd by a ray to the east, and the distance from the nearest edge: no code of eaves.
fn by_hand(ring: &[(f64, f64)], x: f64, y: f64) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        if (a.1 > y) != (b.1 > y) && x < a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0) {
            inside = !inside;
        }
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let t = (((x - a.0) * dx + (y - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
        nearest = nearest.min((x - a.0 - t * dx).hypot(y - a.1 - t * dy));
    }
    if inside { -nearest } else { nearest }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Against 121 by 91 samples of the site. Edges of up to 1.2 km, straight in the plane here and
    /// in longitude and latitude there, differ by at most 0.02 m (their sagitta).
    #[test]
    fn in_plan_as_sampled(outline in star()) {
        let answer = asked(&wishing(50.0), vec![volume(std::slice::from_ref(&outline), "GND", "UNL")]);
        let answer = answer.volumes.first().unwrap().clone();
        let (mut inside, mut least, mut most, mut all) = (0, f64::INFINITY, f64::NEG_INFINITY, 0);
        for i in 0..=120 {
            for j in 0..=90 {
                let (x, y) = (-200.0 + f64::from(i) / 0.3, -150.0 + f64::from(j) / 0.3);
                let signed = by_hand(&outline, x, y);
                least = least.min(signed);
                most = most.max(signed);
                all += 1;
                inside += i32::from(signed <= 0.0);
            }
        }
        // Samples are 3.34 m apart: none is farther than 2.36 m from any point.
        let near = 0.1;
        prop_assert!(answer.margin_m.m() <= least + near && answer.margin_m.m() >= least - 2.36 - near);
        prop_assert!(answer.farthest_margin_m.m() >= most - near && answer.farthest_margin_m.m() <= most + 2.36 + near);
        let sampled = f64::from(inside) / f64::from(all);
        prop_assert!((answer.share_inside - sampled).abs() < 0.03, "{} {sampled}", answer.share_inside);
        match answer.in_plan {
            InPlan::Inside => prop_assert!(most <= near),
            InPlan::Outside => prop_assert!(least >= -near),
            InPlan::Straddles => prop_assert!(least <= 2.36 + near && most >= -2.36 - near),
        }
    }

    /// The laws of a field: enclosure and nesting, for the signed distance and for a level above
    /// ground; and a zone is sure only of what it holds.
    #[test]
    fn boundary_keeps_the_laws(
        outline in star(),
        corners in prop::array::uniform3((-700.0..700.0f64, -700.0..700.0f64)),
        beyond in 50.0..2000.0f64,
    ) {
        let points: Vec<Xy> = outline.iter().map(|(x, y)| Xy::new(*x, *y)).collect();
        let edges = points.iter().zip(points.iter().cycle().skip(1)).map(|(a, b)| (*a, *b, true)).collect();
        let part = Part { exterior: Ring { edges }, holes: vec![] };
        let boundary = Boundary::new(vec![part.clone()], 0.5, beyond);
        let ground = Ground::level(300.0, 2.0);
        let level = LevelAboveGround { level: Level { leaf: 0, altitude: 400.0 }, ground: &ground };
        let volumes: Vec<FloorVolume> = [Floor::AboveGround(60.0), Floor::Amsl(380.0), Floor::Undetermined]
            .into_iter()
            .zip([0.5, -40.0, -80.0])
            .map(|(floor, grown)| FloorVolume {
                boundary: Boundary::new(vec![part.clone()], grown, beyond),
                floor,
            })
            .collect();
        let floors = |count: usize, vertical| Floors {
            leaf: 0,
            volumes: &volumes[..count],
            ground: &ground,
            vertical,
        };
        let (amsl, above_ground) = (floors(2, Vertical::Amsl), floors(3, Vertical::AboveGround));
        let fields: [&dyn Field; 5] = [
            &amsl,
            &above_ground,
            &SignedDistance { boundary: &boundary, upside_down: false },
            &SignedDistance { boundary: &boundary, upside_down: true },
            &level,
        ];
        let cell = Cell::new(corners.map(|(x, y)| Xy::new(x, y)));
        for field in fields {
            let mut cells = vec![cell];
            for _ in 0..5 {
                let mut next = Vec::new();
                for cell in &cells {
                    let bounds = field.over(cell);
                    prop_assert!(bounds.low <= bounds.determined_low);
                    for half in cell.halves().0 {
                        let inner = field.over(&half);
                        prop_assert!(inner.low >= bounds.low - 1e-9 && inner.high <= bounds.high + 1e-9);
                        for point in half.corners().iter().chain([&half.centre()]) {
                            let value = field.at(*point);
                            prop_assert!(value == f64::NEG_INFINITY || value >= bounds.determined_low - 1e-9);
                            prop_assert!(value >= bounds.low - 1e-9 && value <= bounds.high + 1e-9);
                        }
                        next.push(half);
                    }
                }
                cells = next;
            }
            for cell in cells.iter().take(4) {
                let zone: &Boundary = &boundary;
                match (&zone).side(cell) {
                    Side::Inside => prop_assert!((&zone).holds(cell.centre())),
                    Side::Outside => prop_assert!(!(&zone).holds(cell.centre())),
                    Side::Unsure => {}
                }
            }
        }
        // By hand, grown by half a metre and told up to `beyond`.
        for point in cell.corners() {
            let signed = by_hand(&outline, point.x, point.y);
            let told = signed.clamp(-beyond, beyond) - 0.5;
            prop_assert!((boundary.signed_distance(*point) - told).abs() < 1e-6);
        }
    }
}
