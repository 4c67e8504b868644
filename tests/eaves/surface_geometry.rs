//! Surfaces beside an evaluation of their definitions on the ellipsoid that shares no code with
//! them: along-track and cross-track distances by geodesics, formulae written out again.

use eaves::aerodrome::{
    Aerodrome, AerodromeKind, ApproachType, EndClassification, Runway, RunwayClassification,
    RunwayEnd,
};
use eaves::field::Field;
use eaves::frame::{LocalFrame, LonLat, destination, distance, geodesic};
use eaves::profile::Mark;
use eaves::site::FeatureRef;
use eaves::surfaces::answer::SurfaceKind;
use eaves::surfaces::runway_line::RunwayLine;
use eaves::surfaces::shielding_planes::ShieldingRule;
use eaves::surfaces::table::load;
use eaves::surfaces::{Laid, SiteSurface, of_aerodrome};
use eaves::units::{Altitude, Bearing, Metres};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

const FT: f64 = 0.3048;
const LENGTH: f64 = 2800.0;
const DISPLACED: f64 = 300.0;
const LOW_ELEVATION: f64 = 50.0;
const HIGH_ELEVATION: f64 = 64.0;
const AERODROME_ELEVATION: f64 = 66.0;

fn source(feature: &str) -> FeatureRef {
    FeatureRef {
        file: "test".into(),
        feature: feature.into(),
    }
}

fn low_end() -> LonLat {
    LonLat::new(12.3, 47.8).unwrap()
}

fn bearing() -> Bearing {
    Bearing::new(73.0).unwrap()
}

fn high_end() -> LonLat {
    destination(low_end(), bearing(), Metres::of(LENGTH))
}

/// A runway of 2 800 m that rises from 50 to 64 m, its low threshold displaced by 300 m.
pub fn aerodrome(approach: Option<ApproachType>, code: Option<u8>) -> Aerodrome {
    let end = |designator: &str, position, elevation, displaced| RunwayEnd {
        designator: Some(designator.into()),
        position: Some(position),
        elevation: Some(Altitude::of(elevation)),
        true_bearing: None,
        displaced_threshold: Some(Metres::of(displaced)),
        classification: EndClassification {
            approach,
            clearway: Some(Metres::ZERO),
        },
    };
    Aerodrome {
        source: source("aerodrome"),
        ident: Some("XTST".into()),
        name: "Test".into(),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(destination(low_end(), bearing(), Metres::of(1500.0))),
        elevation: Some(Altitude::of(AERODROME_ELEVATION)),
        controlled: None,
        military: None,
        hours: Default::default(),
        runways: vec![Runway {
            source: source("runway"),
            designator: "07/25".into(),
            ends: [
                end("07", low_end(), LOW_ELEVATION, DISPLACED),
                end("25", high_end(), HIGH_ELEVATION, 0.0),
            ],
            length: None,
            width: None,
            closed: false,
            classification: RunwayClassification {
                code_number: code,
                code_letter: Some('C'),
                is_utility: Some(false),
                is_paved: Some(true),
            },
        }],
        movement_area: None,
        boundary: None,
    }
}

/// Metres along the centreline from the low end, and to the left of it: the foot of the
/// perpendicular geodesic, by iteration.
fn along_and_left(place: LonLat) -> (f64, f64) {
    let mut along = 0.0;
    let mut left = 0.0;
    for _ in 0..6 {
        let back = Bearing::new(bearing().degrees() + 180.0).unwrap();
        let foot = if along >= 0.0 {
            destination(low_end(), bearing(), Metres::of(along))
        } else {
            destination(low_end(), back, Metres::of(-along))
        };
        let heading = if along > 1.0 {
            geodesic(low_end(), foot).bearing_onward.degrees()
        } else if along < -1.0 {
            geodesic(foot, low_end()).bearing_from.degrees()
        } else {
            bearing().degrees()
        };
        let line = geodesic(foot, place);
        let turn = (line.bearing_from.degrees() - heading).to_radians();
        along += line.distance.m() * turn.cos();
        left = -line.distance.m() * turn.sin();
    }
    (along, left)
}

const NONE: f64 = f64::INFINITY;

/// The distance to the segment from `-beyond` to `LENGTH + beyond` of the centreline, by geodesic.
fn from_strip(place: LonLat, x: f64, t: f64, beyond: f64) -> f64 {
    if (-beyond..=LENGTH + beyond).contains(&x) {
        return t.abs();
    }
    let back = Bearing::new(bearing().degrees() + 180.0).unwrap();
    let end = if x < 0.0 {
        destination(low_end(), back, Metres::of(beyond))
    } else {
        destination(low_end(), bearing(), Metres::of(LENGTH + beyond))
    };
    distance(end, place).m()
}

fn centreline(x: f64) -> f64 {
    LOW_ELEVATION + (HIGH_ELEVATION - LOW_ELEVATION) * (x / LENGTH).clamp(0.0, 1.0)
}

/// A precision approach of category I, code number 4, 8th edition; each footprint grown by `g`.
fn annex14(surface: &SiteSurface, place: LonLat, g: f64) -> f64 {
    let (x, t) = along_and_left(place);
    let t = t.abs();
    let top = LOW_ELEVATION + 45.0;
    let inside = |value: f64, from: f64, to: f64| value >= from - g && value <= to + g;
    let is_low = surface.part.as_deref() == Some("07");
    // The threshold of 07 lies at 300 m, so its elevation is 51.5 m.
    let approach = |is_low: bool| {
        let (s, base) = if is_low {
            (240.0 - x, 51.5)
        } else {
            (x - 2860.0, HIGH_ELEVATION)
        };
        let rise = 0.02 * s.clamp(0.0, 3000.0) + 0.025 * (s - 3000.0).clamp(0.0, 3600.0);
        (s, base + rise, 140.0 + 0.15 * s)
    };
    let flank = |s: f64, length: f64, level: f64, half: f64, slope: f64| {
        let z = level + slope * (t - half);
        if inside(s, 0.0, length) && t >= half - g && z <= top + g {
            z
        } else {
            NONE
        }
    };
    // Landing on 07: from 240 m to the balked landing edge at 2 100 m; on 25: from 2 860 to 1 000 m.
    let balked = |is_low: bool| {
        let (edge, b) = if is_low {
            (2100.0, x - 2100.0)
        } else {
            (1000.0, 1000.0 - x)
        };
        let base = centreline(edge);
        (b, base + 0.0333 * b, 60.0 + 0.1 * b, (top - base) / 0.0333)
    };
    match surface.kind {
        SurfaceKind::RunwayStrip => {
            if inside(x, -60.0, 2860.0) && t <= 140.0 + g {
                centreline(x)
            } else {
                NONE
            }
        }
        SurfaceKind::Approach => {
            let (s, level, half) = approach(is_low);
            if inside(s, 0.0, 15_000.0) && t <= half + g {
                level
            } else {
                NONE
            }
        }
        SurfaceKind::Transitional => {
            let strip = flank(x + 60.0, 2920.0, centreline(x), 140.0, 0.143);
            [true, false].into_iter().fold(strip, |least, is_low| {
                let (s, level, half) = approach(is_low);
                least.min(flank(s, 15_000.0, level, half, 0.143))
            })
        }
        SurfaceKind::InnerApproach => {
            let (s, level, _) = approach(is_low);
            if inside(s, 0.0, 900.0) && t <= 60.0 + g {
                level
            } else {
                NONE
            }
        }
        SurfaceKind::InnerTransitional => [true, false].into_iter().fold(NONE, |least, is_low| {
            let (s, level, _) = approach(is_low);
            let strip = if is_low {
                (x - 240.0, 1860.0)
            } else {
                (2860.0 - x, 1860.0)
            };
            let (b, z, half, length) = balked(is_low);
            least
                .min(flank(s, 900.0, level, 60.0, 0.333))
                .min(flank(strip.0, strip.1, centreline(x), 60.0, 0.333))
                .min(flank(b, length, z, half, 0.333))
        }),
        SurfaceKind::BalkedLanding => {
            let (b, z, half, length) = balked(is_low);
            if inside(b, 0.0, length) && t <= half + g {
                z
            } else {
                NONE
            }
        }
        SurfaceKind::TakeOffClimb => {
            let (s, base) = if is_low {
                (-60.0 - x, LOW_ELEVATION)
            } else {
                (x - 2860.0, HIGH_ELEVATION)
            };
            let half = (90.0 + 0.125 * s).min(900.0);
            if inside(s, 0.0, 15_000.0) && t <= half + g {
                base + 0.02 * s
            } else {
                NONE
            }
        }
        SurfaceKind::InnerHorizontal => {
            if from_strip(place, x, t, 60.0) <= 4000.0 + g {
                top
            } else {
                NONE
            }
        }
        SurfaceKind::Conical => {
            let out = from_strip(place, x, t, 60.0);
            if inside(out, 4000.0, 6000.0) {
                top + 0.05 * (out - 4000.0)
            } else {
                NONE
            }
        }
        SurfaceKind::OuterHorizontal => {
            let centre = destination(low_end(), bearing(), Metres::of(1500.0));
            let out = distance(centre, place).m();
            if out <= 15_000.0 + g {
                AERODROME_ELEVATION + 150.0
            } else {
                NONE
            }
        }
        SurfaceKind::Primary | SurfaceKind::Horizontal => panic!("not in Annex 14"),
    }
}

/// A precision approach to both ends, hard surface: 14 CFR 77.19.
fn part77(surface: &SiteSurface, place: LonLat, g: f64) -> f64 {
    let (x, t) = along_and_left(place);
    let (x, t) = (x / FT, t.abs() / FT);
    let (g, length) = (g / FT, LENGTH / FT);
    let top = AERODROME_ELEVATION / FT + 150.0;
    let inside = |value: f64, from: f64, to: f64| value >= from - g && value <= to + g;
    let approach = |is_low: bool| {
        let (s, base) = if is_low {
            (-200.0 - x, LOW_ELEVATION / FT)
        } else {
            (x - length - 200.0, HIGH_ELEVATION / FT)
        };
        let rise = s.clamp(0.0, 10_000.0) / 50.0 + (s - 10_000.0).max(0.0) / 40.0;
        (s, base + rise, 500.0 + 0.15 * s)
    };
    let out = from_strip(place, x * FT, t * FT, 200.0 * FT) / FT;
    let z = match surface.kind {
        SurfaceKind::Primary => {
            let is_on = inside(x, -200.0, length + 200.0) && t <= 500.0 + g;
            if is_on { centreline(x * FT) / FT } else { NONE }
        }
        SurfaceKind::Horizontal => {
            if out <= 10_000.0 + g {
                top
            } else {
                NONE
            }
        }
        SurfaceKind::Conical => {
            if inside(out, 10_000.0, 14_000.0) {
                top + (out - 10_000.0) / 20.0
            } else {
                NONE
            }
        }
        SurfaceKind::Approach => {
            let (s, level, half) = approach(surface.part.as_deref() == Some("07"));
            if inside(s, 0.0, 50_000.0) && t <= half + g {
                level
            } else {
                NONE
            }
        }
        SurfaceKind::Transitional => {
            let beside = centreline(x * FT) / FT + (t - 500.0) / 7.0;
            let is_on = inside(x, -200.0, length + 200.0) && t >= 500.0 - g && beside <= top + g;
            let strip = if is_on { beside } else { NONE };
            [true, false].into_iter().fold(strip, |least, is_low| {
                let (s, level, half) = approach(is_low);
                let z = level + (t - half) / 7.0;
                let is_on = inside(s, 0.0, 50_000.0)
                    && t >= half - g
                    && if level < top - g {
                        z <= top + g
                    } else {
                        t <= half + 5000.0 + g || z <= top + g
                    };
                if is_on { least.min(z) } else { least }
            })
        }
        other => panic!("{other:?} is not in Part 77"),
    };
    z * FT
}

/// Compares every surface with its definition at a place, as a site there would see it.
fn compare(
    laid: &Laid,
    frame: &LocalFrame,
    place: LonLat,
    oracle: fn(&SiteSurface, LonLat, f64) -> f64,
    seen: &mut [usize],
) {
    for (index, site) in laid.surfaces.iter().enumerate() {
        let value = site.surface.at(frame.to_plane(place));
        let exact = oracle(site, place, 0.0);
        let what = || {
            format!(
                "{:?} {:?} at {place:?}: {value}, by definition {exact}",
                site.kind, site.part
            )
        };
        if exact.is_finite() {
            // Never above the definition, and at most 10 cm below it.
            assert!(value <= exact + 1e-4, "optimistic: {}", what());
            assert!(value >= exact - 0.1, "too low: {}", what());
            seen[index] += 1;
        } else if value.is_finite() {
            // A limit may be kept a little outside the footprint, no farther than half a metre.
            assert!(oracle(site, place, 0.5).is_finite(), "too wide: {}", what());
        }
    }
}

/// Places near the runway and far out along the centreline: metres along and across.
fn places() -> impl Strategy<Value = (f64, f64)> {
    prop_oneof![
        (-1500.0..4300.0f64, -700.0..700.0f64),
        (-7000.0..10_000.0f64, -6500.0..6500.0f64),
        (-16_500.0..19_000.0f64, -5500.0..5500.0f64),
        (-16_500.0..19_000.0f64, -16_000.0..16_000.0f64),
    ]
}

fn place_at(x: f64, t: f64) -> LonLat {
    let turn = bearing().degrees() - t.atan2(x).to_degrees();
    destination(
        low_end(),
        Bearing::new(turn).unwrap(),
        Metres::of(x.hypot(t)),
    )
}

fn against(table: &str, oracle: fn(&SiteSurface, LonLat, f64) -> f64) {
    use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
    let table = load(table).unwrap();
    let mut aerodrome = aerodrome(Some(ApproachType::Precision1), Some(4));
    // A civil one: without this, what may be military surfaces is named as missing.
    aerodrome.military = Some(false);
    let mut runner = TestRunner::new_with_rng(
        Config::default(),
        TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]),
    );
    let mut seen = Vec::new();
    for _ in 0..3500 {
        let (x, t) = places().new_tree(&mut runner).unwrap().current();
        // The plane is that of a site within a kilometre.
        let frame = LocalFrame::about(place_at(x + 400.0, t - 300.0));
        let laid = of_aerodrome(&table, &aerodrome, &frame);
        assert!(laid.missing.is_empty());
        seen.resize(laid.surfaces.len(), 0);
        for (dx, dt) in [(0.0, 0.0), (37.0, 11.0), (-120.0, 260.0), (610.0, -75.0)] {
            compare(&laid, &frame, place_at(x + dx, t + dt), oracle, &mut seen);
        }
    }
    assert!(seen.iter().all(|count| *count >= 20), "{seen:?}");
}

#[test]
fn annex_14_surfaces_are_their_definitions_on_the_ellipsoid() {
    against("annex14-2018", annex14);
}

#[test]
fn part_77_surfaces_are_their_definitions_on_the_ellipsoid() {
    against("cfr77", part77);
}

fn surface<'a>(laid: &'a Laid, kind: SurfaceKind, part: Option<&str>) -> &'a SiteSurface {
    laid.surfaces
        .iter()
        .find(|it| it.kind == kind && it.part.as_deref() == part)
        .unwrap_or_else(|| panic!("{kind:?} {part:?}"))
}

/// Widths of the table are full widths: half of 280 m (8th edition) and of 300 m lie on each side.
#[test]
fn widths_are_full_widths() {
    for (table, half) in [("annex14-2018", 140.0), ("annex14-2004", 150.0)] {
        let aerodrome = aerodrome(Some(ApproachType::Precision1), Some(4));
        let frame = LocalFrame::about(low_end());
        let laid = of_aerodrome(&load(table).unwrap(), &aerodrome, &frame);
        let approach = surface(&laid, SurfaceKind::Approach, Some("25"));
        for side in [-1.0, 1.0] {
            let at = |t: f64| {
                approach
                    .surface
                    .at(frame.to_plane(place_at(2860.01, side * t)))
            };
            assert!(
                at(half - 0.1).is_finite() && at(half + 0.1).is_infinite(),
                "{table}"
            );
        }
    }
}

/// Surfaces are the same on both sides of the centreline.
#[test]
fn surfaces_are_symmetrical() {
    let aerodrome = aerodrome(None, None);
    let frame = LocalFrame::about(low_end());
    for table in ["annex14-2018", "cfr77"] {
        let laid = of_aerodrome(&load(table).unwrap(), &aerodrome, &frame);
        for site in &laid.surfaces {
            for (x, t) in [
                (500.0, 333.0),
                (-3000.0, 411.0),
                (4000.0, 90.0),
                (1200.0, 4700.0),
            ] {
                let [left, right] =
                    [t, -t].map(|t| site.surface.at(frame.to_plane(place_at(x, t))));
                assert!(
                    left == right || (left - right).abs() < 1e-6,
                    "{table} {:?}",
                    site.kind
                );
            }
        }
    }
}

/// What is not given is bracketed: no choice of code number and kind of approach is lower anywhere.
#[test]
fn unknown_classifications_are_bracketed_by_the_strictest() {
    let frame = LocalFrame::about(place_at(2000.0, 1500.0));
    for table in ["annex14-2018", "annex14-2004", "cfr77"] {
        let table = load(table).unwrap();
        let open = of_aerodrome(&table, &aerodrome(None, None), &frame);
        assert!(
            open.surfaces
                .iter()
                .all(|it| !it.assumed.is_empty() || it.part.is_none())
        );
        for code in 1..=4 {
            for approach in ApproachType::ALL {
                let known = of_aerodrome(&table, &aerodrome(Some(approach), Some(code)), &frame);
                for site in &known.surfaces {
                    // Under a wider inner horizontal surface the conical surface starts farther
                    // out: the two count together.
                    let together: Vec<&SiteSurface> = open
                        .surfaces
                        .iter()
                        .filter(|it| it.part == site.part)
                        .filter(|it| {
                            it.kind == site.kind || is_about(it.kind) && is_about(site.kind)
                        })
                        .collect();
                    assert!(!together.is_empty());
                    for k in 0..400 {
                        let (x, t) = (
                            f64::from(k % 40) * 350.0 - 6000.0,
                            f64::from(k / 40) * 300.0,
                        );
                        let point = frame.to_plane(place_at(x, t));
                        let value = site.surface.at(point);
                        let low = together
                            .iter()
                            .map(|it| it.surface.at(point))
                            .fold(f64::INFINITY, f64::min);
                        assert!(
                            low <= value + 1e-9,
                            "{:?} {code} {approach:?}: {low} {value}",
                            site.kind
                        );
                    }
                }
            }
        }
    }
}

/// Whether a surface lies about the whole aerodrome and starts where another ends.
fn is_about(kind: SurfaceKind) -> bool {
    matches!(
        kind,
        SurfaceKind::InnerHorizontal | SurfaceKind::Horizontal | SurfaceKind::Conical
    )
}

/// A change to an aerodrome, and what is said of it.
type Case<'a> = (&'a dyn Fn(&mut Aerodrome), &'a str);

/// Missing elevations, positions and closed runways are named and never filled in.
#[test]
fn what_cannot_be_laid_out_is_named() {
    let table = load("annex14-2018").unwrap();
    let frame = LocalFrame::about(low_end());
    let changed = |change: &dyn Fn(&mut Aerodrome)| {
        let mut aerodrome = aerodrome(Some(ApproachType::NonPrecision), Some(3));
        change(&mut aerodrome);
        of_aerodrome(&table, &aerodrome, &frame)
    };
    let nothing: [Case; 5] = [
        (&|it| it.runways[0].closed = true, "marked closed"),
        (
            &|it| it.runways[0].ends[1].position = None,
            "positions of its two ends",
        ),
        (&|it| it.runways.clear(), "no runway"),
        (&|it| it.kind = AerodromeKind::Heliport, "heliports"),
        (
            &|it| {
                it.elevation = None;
                it.runways[0]
                    .ends
                    .iter_mut()
                    .for_each(|end| end.elevation = None);
            },
            "elevation",
        ),
    ];
    for (change, said) in nothing {
        let laid = changed(change);
        assert!(laid.surfaces.is_empty(), "{said}");
        assert!(
            laid.missing.iter().any(|why| why.contains(said)),
            "{:?}",
            laid.missing
        );
    }
    let laid = changed(&|it| it.reference_point = None);
    assert!(
        laid.missing
            .iter()
            .any(|why| why.contains("outer horizontal"))
    );
    // One elevation missing: the lowest known is taken, and said.
    let laid = changed(&|it| it.runways[0].ends[1].elevation = None);
    let strip = surface(&laid, SurfaceKind::RunwayStrip, Some("07/25"));
    assert!(
        strip
            .assumed
            .iter()
            .any(|why| why.contains("elevation of runway end 25"))
    );
    let level = strip.surface.at(frame.to_plane(place_at(2700.0, 0.0)));
    assert!((level - LOW_ELEVATION).abs() < 1e-3);
}

/// 14 CFR 77.19(c): without a hard surface the primary surface ends with the runway, and no clearway
/// or displaced threshold moves it.
#[test]
fn an_unpaved_primary_surface_ends_with_the_runway() {
    let frame = LocalFrame::about(low_end());
    for (is_paved, beyond) in [(Some(true), 200.0), (None, 200.0), (Some(false), 0.0)] {
        let mut aerodrome = aerodrome(Some(ApproachType::NonInstrument), Some(2));
        aerodrome.runways[0].classification.is_paved = is_paved;
        let laid = of_aerodrome(&load("cfr77").unwrap(), &aerodrome, &frame);
        let primary = surface(&laid, SurfaceKind::Primary, Some("07/25"));
        let at = |x: f64| primary.surface.at(frame.to_plane(place_at(x, 0.0)));
        assert!(at(-beyond * FT + 0.1).is_finite() && at(-beyond * FT - 0.1).is_infinite());
    }
}

/// 14 CFR 77.23: 8:1 civil and 10:1 military from the edge of the primary surface to 4 000 ft. The
/// data say neither which nor the directions, so 10:1 is taken in every direction.
#[test]
fn heliport_surfaces_rise_from_the_movement_area() {
    use geo::{LineString, MultiPolygon, Polygon};
    let mut heliport = aerodrome(None, None);
    heliport.kind = AerodromeKind::Heliport;
    heliport.runways.clear();
    let table = load("cfr77").unwrap();
    let frame = LocalFrame::about(low_end());
    let laid = of_aerodrome(&table, &heliport, &frame);
    assert!(
        laid.missing.iter().any(|why| why.contains("size")),
        "{:?}",
        laid.missing
    );
    // A square of 30 m about the low end.
    let ring: LineString<f64> = [(-15.0, -15.0), (15.0, -15.0), (15.0, 15.0), (-15.0, 15.0)]
        .into_iter()
        .map(|(x, y)| {
            let place = frame.to_place(eaves::frame::Xy::new(x, y));
            (place.lon(), place.lat())
        })
        .collect();
    heliport.movement_area = Some(MultiPolygon(vec![Polygon::new(ring, vec![])]));
    let laid = of_aerodrome(&table, &heliport, &frame);
    let at = |kind, x: f64| {
        surface(&laid, kind, None)
            .surface
            .at(eaves::frame::Xy::new(x, 0.0))
    };
    assert!((at(SurfaceKind::Primary, 14.9) - AERODROME_ELEVATION).abs() < 1e-3);
    assert!(at(SurfaceKind::Primary, 15.1).is_infinite());
    let end = 15.0 + 4000.0 * FT;
    let reached = at(SurfaceKind::Approach, end - 0.001);
    assert!(
        (reached - AERODROME_ELEVATION - 400.0 * FT).abs() < 1e-2,
        "{reached}"
    );
    assert!(at(SurfaceKind::Approach, end + 0.1).is_infinite());
}

/// A category II or III approach on a runway of code number 2 has no column in Table 4-1.
#[test]
fn a_combination_without_a_column_is_said() {
    let frame = LocalFrame::about(low_end());
    let table = load("annex14-2018").unwrap();
    let laid = of_aerodrome(
        &table,
        &aerodrome(Some(ApproachType::Precision23), Some(2)),
        &frame,
    );
    let approach = surface(&laid, SurfaceKind::Approach, Some("25"));
    assert!(
        approach.assumed.iter().any(|it| it.contains("no column")),
        "{:?}",
        approach.assumed
    );
    let usual = aerodrome(Some(ApproachType::NonPrecision), Some(2));
    let laid = of_aerodrome(&table, &usual, &frame);
    let approach = surface(&laid, SurfaceKind::Approach, Some("25"));
    assert!(approach.assumed.is_empty(), "{:?}", approach.assumed);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Nonsense in the data makes no panic and no value that is not a number.
    #[test]
    fn nonsense_is_survived(
        places in ((-180.0..180.0f64, -90.0..90.0f64), (-180.0..180.0f64, -90.0..90.0f64)),
        near in any::<bool>(),
        numbers in (-1e5..1e5f64, -1e5..1e5f64, -1e4..1e7f64, -1e4..1e7f64),
        code in 0u8..9,
    ) {
        let mut it = aerodrome(None, Some(code));
        let low = LonLat::new(places.0.0, places.0.1).unwrap();
        let high = if near {
            destination(low, Bearing::new(numbers.0).unwrap(), Metres::of(numbers.1.abs() % 9.0 + 9.0))
        } else {
            LonLat::new(places.1.0, places.1.1).unwrap()
        };
        let [first, second] = &mut it.runways[0].ends;
        (first.position, second.position) = (Some(low), Some(high));
        first.elevation = Some(Altitude::of(numbers.0));
        second.elevation = Some(Altitude::of(f64::INFINITY));
        first.displaced_threshold = Some(Metres::of(numbers.2));
        second.classification.clearway = Some(Metres::of(numbers.3));
        let frame = LocalFrame::about(low);
        for table in ["annex14-2018", "cfr77"] {
            for site in of_aerodrome(&load(table).unwrap(), &it, &frame).surfaces {
                let value = site.surface.at(eaves::frame::Xy::new(100.0, 30.0));
                prop_assert!(!value.is_nan(), "{:?}", site.kind);
            }
        }
    }
}

/// ICAO Doc 9137 Part 6, chapter 2 (from memory): a top of 50 m, 200 m towards the runway: 30 m;
/// away from it 50 m. The obstacle stands 700 m left of the middle of the runway.
#[test]
fn shielding_planes_fall_towards_the_runway_by_the_rule() {
    let rule = ShieldingRule::built_in().unwrap();
    assert_eq!((rule.slope, rule.mark), (0.10, Mark::FromMemory));
    let aerodrome = aerodrome(None, None);
    let frame = LocalFrame::about(low_end());
    let line = RunwayLine::of(&aerodrome.runways[0], &aerodrome, &frame).unwrap();
    let at = |x: f64, t: f64| frame.to_plane(place_at(x, t));
    let obstacle = at(1400.0, 700.0);
    let planes = rule
        .planes(0, obstacle, 50.0, &line, (25.0, 600.0))
        .unwrap();
    assert!((planes.at(at(1400.0, 500.0)) - 30.0).abs() < 1e-3);
    assert!((planes.at(at(1400.0, 900.0)) - 50.0).abs() < 1e-9);
    assert!((planes.at(at(1424.0, 700.0)) - 50.0).abs() < 1e-2);
    assert_eq!(planes.at(at(1426.0, 600.0)), f64::NEG_INFINITY);
    assert!(
        rule.planes(0, line.point(90.0), 50.0, &line, (25.0, 600.0))
            .is_none()
    );
    let text = include_str!("../../layers/surfaces/shielding-planes.toml");
    for (from, to) in [
        ("value = 10", "value = 0"),
        ("value = 150", "value = 1500"),
        ("\"%\"", "\"m\""),
        ("title", "tittle"),
    ] {
        let error = ShieldingRule::parse(&text.replacen(from, to, 1)).unwrap_err();
        assert!(
            error.to_string().contains("shielding-planes.toml"),
            "{error}"
        );
    }
}
