//! Rows of the published tables that say where a surface begins and which one there is, on surfaces laid
//! out about a runway: what the cells alone do not show. Every expected number is worked out by hand
//! from the row beside it.

use eaves::aerodrome::{Aerodrome, AerodromeKind, ApproachType};
use eaves::field::Field;
use eaves::frame::{LocalFrame, Xy};
use eaves::surfaces::answer::SurfaceKind;
use eaves::surfaces::table::load;
use eaves::surfaces::{Laid, of_aerodrome};
use eaves::units::{Altitude, Metres};

use crate::site::{origin, place};
use crate::surface_answers::aerodrome;

const FT: f64 = 0.3048;
/// The level of the runway of [`aerodrome`].
const LEVEL: f64 = 330.0;

/// The airport of `surface_answers`, its one runway from the origin east to `length`, changed.
fn laid(table: &str, length: f64, change: impl Fn(&mut Aerodrome)) -> Laid {
    let mut airport = aerodrome();
    airport.military = Some(false);
    airport.runways[0].ends[1].position = Some(place(length, 0.0));
    change(&mut airport);
    of_aerodrome(
        &load(table).unwrap(),
        &airport,
        &LocalFrame::about(origin()),
    )
}

fn classified(airport: &mut Aerodrome, code: u8, approach: ApproachType) {
    airport.runways[0].classification.code_number = Some(code);
    for end in &mut airport.runways[0].ends {
        end.classification.approach = Some(approach);
    }
}

/// Metres above the runway at a place; infinite where the surface is not, none where there is none.
fn above(laid: &Laid, kind: SurfaceKind, part: Option<&str>, x: f64, y: f64) -> Option<f64> {
    let site = laid
        .surfaces
        .iter()
        .find(|it| it.kind == kind && it.part.as_deref() == part)?;
    Some(site.surface.at(Xy::new(x, y)) - LEVEL)
}

/// Where a surface begins along the centreline: nothing half a metre before it, and itself half a metre
/// beyond.
#[track_caller]
fn begins(laid: &Laid, kind: SurfaceKind, part: &str, x: f64, outward: f64) {
    let at = |offset: f64| above(laid, kind, Some(part), x + offset * outward, 0.0).unwrap();
    assert!(at(-0.5).is_infinite(), "{kind:?} {part} before {x}");
    assert!(at(0.5).abs() < 0.1, "{kind:?} {part} at {x}: {}", at(0.5));
}

/// Table 4-1, balked landing surface: 1 800 m beyond the threshold or the end of the runway, whichever
/// is less, for code number 3 and 4; the end of the strip, 60 m beyond the runway, for 1 and 2.
#[test]
fn a_balked_landing_surface_begins_where_the_row_says() {
    for (code, length, begins_at) in [
        (4, 2000.0, 1800.0),
        (3, 1500.0, 1500.0),
        (2, 1000.0, 1060.0),
        (1, 700.0, 760.0),
    ] {
        let laid = laid("annex14-2018", length, |it| {
            classified(it, code, ApproachType::Precision1);
        });
        begins(&laid, SurfaceKind::BalkedLanding, "09", begins_at, 1.0);
        begins(
            &laid,
            SurfaceKind::BalkedLanding,
            "27",
            length - begins_at,
            -1.0,
        );
        // 3.33 % and 4 %: 100 m farther it is 3.33 m and 4 m up.
        let rise = if code > 2 { 3.33 } else { 4.0 };
        let at = above(
            &laid,
            SurfaceKind::BalkedLanding,
            Some("09"),
            begins_at + 100.0,
            0.0,
        )
        .unwrap();
        assert!((at - rise).abs() < 0.01, "{code}: {at}");
    }
    // Non-precision approaches have none, and no inner approach or inner transitional surface.
    let laid = laid("annex14-2018", 2000.0, |_| ());
    for kind in [
        SurfaceKind::BalkedLanding,
        SurfaceKind::InnerApproach,
        SurfaceKind::InnerTransitional,
    ] {
        assert!(laid.surfaces.iter().all(|it| it.kind != kind), "{kind:?}");
    }
}

/// Table 4-2: 30 m (code number 1) or 60 m beyond the runway end, or at the end of the clearway where
/// that is longer.
#[test]
fn a_take_off_climb_surface_begins_beyond_the_clearway() {
    for (code, clearway, begins_at) in [
        (1, 0.0, 30.0),
        (1, 45.0, 45.0),
        (2, 0.0, 60.0),
        (4, 0.0, 60.0),
        (4, 30.0, 60.0),
        (4, 300.0, 300.0),
    ] {
        let laid = laid("annex14-2018", 2000.0, |it| {
            classified(it, code, ApproachType::NonInstrument);
            it.runways[0].ends[1].classification.clearway = Some(Metres::of(clearway));
        });
        begins(
            &laid,
            SurfaceKind::TakeOffClimb,
            "27",
            2000.0 + begins_at,
            1.0,
        );
    }
}

/// Table 4-1: an approach surface begins 30 m (code number 1, non-instrument) or 60 m before the
/// threshold, and is gone beyond its total length.
#[test]
fn an_approach_surface_is_as_long_as_its_row() {
    for (code, approach, from, length, top) in [
        (1, ApproachType::NonInstrument, 30.0, 1600.0, 80.0),
        (2, ApproachType::NonInstrument, 60.0, 2500.0, 100.0),
        (3, ApproachType::NonInstrument, 60.0, 3000.0, 99.9),
        (4, ApproachType::NonInstrument, 60.0, 3000.0, 75.0),
        (2, ApproachType::NonPrecision, 60.0, 2500.0, 83.25),
        (4, ApproachType::NonPrecision, 60.0, 15_000.0, 150.0),
        (2, ApproachType::Precision1, 60.0, 15_000.0, 435.0),
        (4, ApproachType::Precision1, 60.0, 15_000.0, 150.0),
        (3, ApproachType::Precision23, 60.0, 15_000.0, 150.0),
    ] {
        for table in ["annex14-2018", "annex14-2004"] {
            let laid = laid(table, 2000.0, |it| classified(it, code, approach));
            begins(&laid, SurfaceKind::Approach, "27", 2000.0 + from, 1.0);
            let at = |s: f64| {
                above(
                    &laid,
                    SurfaceKind::Approach,
                    Some("27"),
                    2000.0 + from + s,
                    0.0,
                )
                .unwrap()
            };
            // The plane is that of a site at the origin, far from these ends: metres are kept to its accuracy.
            assert!(
                (at(length - 3.0) - top).abs() < 0.25,
                "{code} {approach:?}: {}",
                at(length - 3.0)
            );
            assert!(at(length + 3.0).is_infinite(), "{code} {approach:?}");
        }
    }
}

/// ICAO Doc 9137 Part 6 (training slides): the outer horizontal surface is that of code number 3 and 4.
/// Its objects are those of more than 30 m above ground, which is not looked at: the limit is kept.
#[test]
fn only_long_runways_have_an_outer_horizontal_surface() {
    for code in 1..=4 {
        let laid = laid("annex14-2018", 2000.0, |it| {
            classified(it, code, ApproachType::NonInstrument);
        });
        let at = above(&laid, SurfaceKind::OuterHorizontal, None, 1000.0, 14_000.0);
        assert_eq!(at.is_some(), code >= 3, "{code}");
        assert!(at.is_none_or(|at| (at - 150.0).abs() < 1e-6), "{at:?}");
    }
}

/// 14 CFR 77.19(a): the radius is the same at both ends, the highest of the two; an arc of 5 000 ft that
/// lies wholly inside the tangents of arcs of 10 000 ft is disregarded.
#[test]
fn arcs_of_the_horizontal_surface() {
    let with = |change: &dyn Fn(&mut Aerodrome)| {
        laid("cfr77", 2000.0, |it| {
            it.runways[0].classification.is_utility = Some(false);
            it.runways[0].classification.is_paved = Some(true);
            it.runways[0].ends[0].classification.approach = Some(ApproachType::NonInstrument);
            change(it);
        })
    };
    let horizontal =
        |laid: &Laid, x: f64, y: f64| above(laid, SurfaceKind::Horizontal, None, x, y).unwrap();
    let one = with(&|_| ());
    // The visual end has the 10 000 ft of the other: beyond 200 ft of primary surface.
    for (end, outward) in [(-200.0 * FT, -1.0), (2000.0 + 200.0 * FT, 1.0)] {
        assert!(horizontal(&one, end + outward * (10_000.0 * FT - 1.0), 0.0).is_finite());
        assert!(horizontal(&one, end + outward * (10_000.0 * FT + 1.0), 0.0).is_infinite());
    }
    assert!(horizontal(&one, 1000.0, 10_000.0 * FT - 1.0).is_finite());
    assert!(horizontal(&one, 1000.0, 10_000.0 * FT + 1.0).is_infinite());
    // A visual runway of 600 m across the middle: its arcs end 5 000 + 200 ft and 300 m from the centre.
    let two = with(&|it| {
        let mut other = it.runways[0].clone();
        other.designator = "18/36".into();
        for (end, y) in other.ends.iter_mut().zip([300.0, -300.0]) {
            end.position = Some(place(1000.0, y));
            end.classification.approach = Some(ApproachType::NonInstrument);
        }
        it.runways.push(other);
    });
    for turn in 0..72 {
        let (sine, cosine) = f64::from(5 * turn).to_radians().sin_cos();
        for away in [2500.0, 3040.0, 3055.0, 4000.0, 4200.0] {
            let (x, y) = (1000.0 + away * cosine, away * sine);
            assert_eq!(
                horizontal(&one, x, y).is_finite(),
                horizontal(&two, x, y).is_finite(),
                "{turn} {away}"
            );
        }
    }
}

/// 14 CFR 77.19(d)(1): utility visual ends 1 250 ft wide, so 615 ft off the centreline at its end is
/// below it, which the 1 200 ft of a statute of Michigan would leave out; widths are full widths.
#[test]
fn the_outer_width_is_that_of_the_section() {
    let laid = laid("cfr77", 900.0, |it| {
        classified(it, 1, ApproachType::NonInstrument);
        it.runways[0].classification.is_utility = Some(true);
        it.runways[0].classification.is_paved = Some(true);
    });
    let at = |s: f64, t: f64| {
        let x = 900.0 + (200.0 + s) * FT;
        above(&laid, SurfaceKind::Approach, Some("27"), x, t * FT).unwrap()
    };
    for side in [-1.0, 1.0] {
        assert!(at(4990.0, side * 615.0).is_finite() && at(4990.0, side * 630.0).is_infinite());
        assert!(at(10.0, side * 120.0).is_finite() && at(10.0, side * 130.0).is_infinite());
    }
    // 20:1: 250 ft after 5 000 ft; no longer.
    assert!((at(4990.0, 0.0) / FT - 249.5).abs() < 0.1);
    assert!(at(5005.0, 0.0).is_infinite());
}

/// 14 CFR 77.23 along a runway record of 100 m by 20 m: approach as wide as the primary surface, 8:1 to
/// 4 000 ft, where it is 500 ft wide and 500 ft up; transitional 2:1 to 250 ft from the centreline.
#[test]
fn a_heliport_with_directions_has_its_surfaces_along_them() {
    let laid = laid("cfr77", 100.0, |it| {
        it.kind = AerodromeKind::Heliport;
        it.elevation = Some(Altitude::of(LEVEL));
        it.runways[0].width = Some(Metres::of(20.0));
    });
    let at = |kind, part, x: f64, y: f64| above(&laid, kind, Some(part), x, y).unwrap();
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 0.1, "{found} {expected}");
    near(at(SurfaceKind::Primary, "09/27", 50.0, 9.9), 0.0);
    assert!(at(SurfaceKind::Primary, "09/27", 50.0, 10.5).is_infinite());
    let approach = |s: f64, t: f64| at(SurfaceKind::Approach, "27", 100.0 + s, t);
    assert!(approach(0.5, 9.5).is_finite() && approach(0.5, 10.8).is_infinite());
    near(approach(800.0, 0.0), 100.0);
    near(approach(4000.0 * FT - 0.5, 0.0), 500.0 * FT);
    assert!(approach(4000.0 * FT - 0.5, 249.0 * FT).is_finite());
    assert!(approach(4000.0 * FT - 0.5, 252.0 * FT).is_infinite());
    assert!(approach(4000.0 * FT + 1.0, 0.0).is_infinite());
    let beside = |t: f64| at(SurfaceKind::Transitional, "09/27", 50.0, t);
    near(beside(50.0), 20.0);
    near(beside(-250.0 * FT + 0.5), (250.0 * FT - 0.5 - 10.0) / 2.0);
    assert!(beside(250.0 * FT + 1.0).is_infinite());
}

/// 14.3 % is not 1 in 7: 300 m from the edge of the strip, where both are near the top, they differ by
/// 4 cm, and a code number 2 with a category I approach has 14.3 %, not the 20 % of a public table.
#[test]
fn the_slope_of_a_transitional_surface_is_that_of_the_row() {
    for (code, approach, percent, half) in [
        (4, ApproachType::NonPrecision, 14.3, 140.0),
        (2, ApproachType::Precision1, 14.3, 70.0),
        (2, ApproachType::NonInstrument, 20.0, 40.0),
    ] {
        let laid = laid("annex14-2018", 2000.0, |it| classified(it, code, approach));
        let at = above(
            &laid,
            SurfaceKind::Transitional,
            Some("09/27"),
            1000.0,
            half + 200.0,
        )
        .unwrap();
        assert!(
            (at - 2.0 * percent).abs() < 0.01,
            "{code} {approach:?}: {at}"
        );
    }
}
