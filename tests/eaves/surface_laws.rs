//! The four laws of a field, asked of surfaces, shielding planes and heights of structures; penetration
//! polygons and least heights beside dense sampling.

use eaves::field::convex::Convex;
use eaves::field::ground::{Grid, Ground};
use eaves::field::shielding_plane::ShieldingPlanes;
use eaves::field::surface::{Bowl, Patch, Sheet, Surface, SurfaceAboveGround};
use eaves::field::{Cell, Field};
use eaves::frame::Xy;
use eaves::search::{self, Limits, Scope};
use eaves::surfaces::outline::{about_discs, footprint, part_below};
use eaves::surfaces::part77::standards::higher_of;
use geo::{Coord, Intersects};
use proptest::prelude::*;

use crate::field::{cell, convex, ground, keeps_the_laws, point, shrinks_at};
use crate::surface_tables::part77;

fn sheet() -> impl Strategy<Value = Option<Patch>> {
    let gradient = (-0.5..0.5f64, -0.5..0.5f64);
    (
        (point(), point(), point()),
        gradient,
        0.0..300.0f64,
        0.0..0.3f64,
    )
        .prop_map(|((a, b, c), (gx, gy), level, slack)| {
            Sheet::new(vec![a, b, c], a, level, Xy::new(gx, gy), slack).map(Patch::Sheet)
        })
}

fn bowl() -> impl Strategy<Value = Option<Patch>> {
    let radii = (0.0..150.0f64, 0.0..200.0f64);
    (convex(), radii, 0.0..300.0f64, 0.0..0.5f64, 0.0..0.3f64).prop_map(
        |(outline, (inner, run), level, slope, slack)| {
            Bowl::new(outline, (inner, inner + run), level, slope, slack).map(Patch::Bowl)
        },
    )
}

fn surface() -> impl Strategy<Value = Surface> {
    prop::collection::vec(prop_oneof![sheet(), bowl()], 0..5).prop_map(|patches| Surface {
        patches: patches.into_iter().flatten().collect(),
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn surfaces_keep_the_laws(surface in surface(), cell in cell()) {
        keeps_the_laws(&surface, cell, 7);
    }

    #[test]
    fn surfaces_above_ground_keep_the_laws(surface in surface(), ground in ground(), cell in cell()) {
        keeps_the_laws(&SurfaceAboveGround { surface: &surface, ground: &ground }, cell, 6);
    }

    #[test]
    fn surfaces_shrink_inside_their_footprint(at in point(), gx in -0.5..0.5f64, outline in convex()) {
        let around = [(-9.0, -9.0), (9.0, -9.0), (9.0, 9.0), (-9.0, 9.0)]
            .map(|(x, y)| Xy::new(at.x + x, at.y + y));
        let sheet = Sheet::new(around.to_vec(), at, 50.0, Xy::new(gx, 0.3), 0.0).map(Patch::Sheet);
        shrinks_at(&Surface { patches: sheet.into_iter().collect() }, at);
        let bowl = Bowl::new(outline, (0.0, 2000.0), 50.0, 0.4, 0.0).map(Patch::Bowl);
        shrinks_at(&Surface { patches: bowl.into_iter().collect() }, at);
    }

    /// Away from the edge of 3 NM and from the end of the rise, for the highest of both shrinks too.
    #[test]
    fn the_higher_of_ground_and_airport_shrinks(at in point(), elevation in -100.0..400.0f64, away in 6_200.0..10_000.0f64) {
        let near = part77().standards.near_airport;
        let airport = Convex::point(Xy::new(-away, 0.0));
        let (above_ground, amsl) = (near.about(&airport, 0.0, 0.0), near.about(&airport, elevation, 0.0));
        shrinks_at(&higher_of(&above_ground, &amsl, &Ground::level(90.0, 1.0)), at);
    }

    #[test]
    fn shielding_planes_keep_the_laws(
        (position, runway) in (point(), point()),
        sizes in (0.0..90.0f64, 0.0..400.0f64),
        cell in cell(),
    ) {
        if let Some(planes) = ShieldingPlanes::new(0, position, runway, 50.0, 0.1, sizes) {
            keeps_the_laws(&planes, cell, 7);
        }
    }

    /// 77.17(a)(2) in whole: the higher of 200 ft and more above ground and above the airport, with the
    /// reference point where any of its parts may lie over the cell.
    #[test]
    fn the_higher_of_ground_and_airport_keeps_the_laws(
        (away, elevation, slack) in (0.0..11_600.0f64, -100.0..400.0f64, 0.0..0.3f64),
        ground in ground(),
        cell in cell(),
    ) {
        let near = part77().standards.near_airport;
        let airport = Convex::point(Xy::new(-away, 0.0));
        let (above_ground, amsl) = (near.about(&airport, 0.0, slack), near.about(&airport, elevation, slack));
        keeps_the_laws(&higher_of(&above_ground, &amsl, &ground), cell, 6);
    }

    /// The same over sloping ground beside a dense brute force by the words of the section, with feet
    /// and nautical miles written out: the least found is never above the least of the samples, and
    /// below it by no more than the tolerance and what the heights change between two samples.
    #[test]
    fn the_least_height_near_an_airport_is_that_of_a_dense_net(
        (away, elevation) in (4_500.0..11_600.0f64, -60.0..260.0f64),
        (slope_x, slope_y) in (-0.15..0.15f64, -0.15..0.15f64),
        (west, south) in (-350.0..0.0f64, -350.0..0.0f64),
    ) {
        let level = move |p: Xy| 100.0 + slope_x * p.x + slope_y * p.y;
        // 30 by 30 nodes, 40 m apart, the middle at the origin; on a plane their interpolation is exact.
        let node = |k: usize| Xy::new((k % 30) as f64 * 40.0 - 580.0, 580.0 - (k / 30) as f64 * 40.0);
        let nodes: Vec<f32> = (0..900).map(|k| level(node(k)) as f32).collect();
        let grid = Grid::new(30, 30, nodes, 560.0, |p| Some(((p.x + 580.0) / 40.0, (580.0 - p.y) / 40.0)));
        let ground = Ground::grid(grid.unwrap(), 0.0);
        let near = part77().standards.near_airport;
        let airport = Xy::new(-away, 0.0);
        let point = Convex::point(airport);
        let (above_ground, amsl) = (near.about(&point, 0.0, 0.0), near.about(&point, elevation, 0.0));
        let field = higher_of(&above_ground, &amsl, &ground);
        let corner = |x: f64, y: f64| Xy::new(west + x, south + y);
        let cells = [
            Cell::new([corner(0.0, 0.0), corner(350.0, 0.0), corner(0.0, 350.0)]),
            Cell::new([corner(350.0, 350.0), corner(350.0, 0.0), corner(0.0, 350.0)]),
        ];
        let found = search::lowest(&field, &cells, Scope::Everywhere, Limits::within(0.05)).unwrap();
        let mut sampled = f64::INFINITY;
        for k in 0..=140 {
            for m in 0..=140 {
                let p = corner(f64::from(k) * 2.5, f64::from(m) * 2.5);
                let miles = (p.x - airport.x).hypot(p.y - airport.y) / 1852.0;
                let feet = 200.0 + 100.0 * (miles - 3.0).max(0.0);
                if feet <= 499.0 {
                    let height = feet * 0.3048;
                    sampled = sampled.min(height.max(elevation + height - level(p)));
                }
            }
        }
        prop_assert!(found.lower <= sampled + 1e-3, "{} above {sampled}", found.lower);
        // 2.5 m apart: slopes of 0.15 twice and of 100 ft in a nautical mile over 1.8 m, and where the
        // standard ends inside the net its far edge lies between two samples.
        prop_assert!(
            sampled.is_infinite() || found.lower >= sampled - 0.05 - 1.8 * (0.22 + 0.017) - 0.1,
            "{} far below {sampled}", found.lower
        );
    }

    /// The part below a level: wherever the surface is below it, the polygons are; and where they
    /// are, the surface is below it within the error of an arc.
    #[test]
    fn the_part_below_a_level_is_never_too_small(surface in surface(), level in 0.0..400.0f64, probes in prop::collection::vec(point(), 60)) {
        let part = part_below(&surface, level);
        let whole = part_below(&surface, f64::INFINITY);
        let drawn = footprint(&surface);
        for probe in probes {
            let coord = Coord { x: probe.x, y: probe.y };
            let value = surface.at(probe);
            if value < level - 1e-6 {
                prop_assert!(part.intersects(&coord), "{value} below {level} at {probe:?}");
            }
            prop_assert!(!value.is_finite() || whole.intersects(&coord), "footprint at {probe:?}");
            prop_assert!(!value.is_finite() || drawn.intersects(&coord), "drawn at {probe:?}");
            if part.intersects(&coord) {
                // Half a metre around: slack of 0.3 m, grown by the corner of a sharp footprint.
                let near = Cell::new([(-0.5, -0.5), (1.0, 0.0), (0.0, 1.0)].map(|(x, y)| Xy::new(probe.x + x, probe.y + y)));
                prop_assert!(surface.over(&near).low < level + 0.5 || is_sharp(&surface), "{value} not below {level} at {probe:?}");
            }
        }
    }

    /// Arcs about the ends of primary surfaces joined by tangents: the distance to the outline beside
    /// the least distance to any disc between two of them, by dense sampling.
    #[test]
    fn discs_are_joined_by_tangents(a in point(), b in point(), radii in (50.0..200.0f64, 50.0..200.0f64), probe in point()) {
        let (outline, reach) = about_discs(&[(a, radii.0), (b, radii.1)]).unwrap();
        // Between two discs the hull is the union of the discs whose centre and radius are between.
        let sampled = (0..=2000)
            .map(|k| {
                let share = f64::from(k) / 2000.0;
                let radius = radii.0 + share * (radii.1 - radii.0);
                a.towards(b, share).distance(probe) - radius
            })
            .fold(f64::INFINITY, f64::min);
        let exact = outline.distance(probe) - reach;
        if sampled > 0.0 {
            prop_assert!(exact <= sampled + 1e-6, "{exact} {sampled}");
            prop_assert!(exact >= sampled - 0.06 - a.distance(b) / 2000.0, "{exact} {sampled}");
        } else {
            prop_assert!(exact <= 1e-6);
        }
    }
}

/// Whether a footprint has a corner so sharp that growing it by the slack moves the corner far.
fn is_sharp(surface: &Surface) -> bool {
    surface.patches.iter().any(|patch| match patch {
        Patch::Sheet(sheet) => {
            let corners = sheet.corners();
            (0..corners.len()).any(|k| {
                let at = |i: usize| corners[(k + i) % corners.len()];
                let (u, v) = (
                    (at(0).x - at(1).x, at(0).y - at(1).y),
                    (at(2).x - at(1).x, at(2).y - at(1).y),
                );
                let turn = (u.0 * v.1 - u.1 * v.0).atan2(u.0 * v.0 + u.1 * v.1).abs();
                turn < 1.5
            })
        }
        Patch::Bowl(_) => false,
    })
}

/// Shielding planes of ICAO Doc 9137 Part 6 (from memory): top 50 m, 200 m towards the runway at
/// 10 %: 30 m; away from the runway 50 m; nothing beside the obstacle.
#[test]
fn the_shielding_plane_falls_towards_the_runway() {
    let planes = ShieldingPlanes::new(
        3,
        Xy::new(0.0, 0.0),
        Xy::new(0.0, -900.0),
        50.0,
        0.10,
        (20.0, 500.0),
    )
    .unwrap();
    assert!((planes.at(Xy::new(0.0, -200.0)) - 30.0).abs() < 1e-9);
    assert!((planes.at(Xy::new(10.0, 200.0)) - 50.0).abs() < 1e-9);
    assert!((planes.at(Xy::new(20.0, -500.0)) - 0.0).abs() < 1e-9);
    assert_eq!(planes.at(Xy::new(20.1, -200.0)), f64::NEG_INFINITY);
    assert_eq!(planes.at(Xy::new(0.0, 500.1)), f64::NEG_INFINITY);
    assert_eq!(planes.governor(Xy::new(0.0, 0.0)).leaf, 3);
    let on_runway = ShieldingPlanes::new(
        0,
        Xy::new(1.0, 1.0),
        Xy::new(1.0, 1.0),
        5.0,
        0.1,
        (1.0, 1.0),
    );
    assert!(on_runway.is_none());
}

/// Radii that differ by less than the error of an arc: the outline is still not inside the discs.
#[test]
fn nearly_equal_discs_are_held() {
    let (a, b) = (Xy::new(-156.6, 0.0), Xy::new(0.0, 0.0));
    let (outline, reach) = about_discs(&[(a, 102.8127), (b, 102.8051)]).unwrap();
    for turn in 0..360 {
        let (sine, cosine) = f64::from(turn).to_radians().sin_cos();
        for (centre, radius) in [(a, 102.8127), (b, 102.8051)] {
            let edge = Xy::new(centre.x + radius * cosine, centre.y + radius * sine);
            assert!(outline.distance(edge) <= reach + 1e-9, "{turn}");
        }
    }
}

/// A footprint's edge belongs to it, and lines that are no area make no surface.
#[test]
fn edges_belong_and_needles_do_not() {
    let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Xy::new(x, y));
    let sheet = Sheet::new(square.to_vec(), square[0], 7.0, Xy::new(0.0, 0.0), 0.0).unwrap();
    let surface = Surface {
        patches: vec![Patch::Sheet(sheet)],
    };
    assert_eq!(surface.at(Xy::new(10.0, 5.0)), 7.0);
    assert_eq!(surface.at(Xy::new(10.01, 5.0)), f64::INFINITY);
    let line = vec![square[0], square[1], square[0]];
    assert!(Sheet::new(line, square[0], 7.0, Xy::new(0.0, 0.0), 0.0).is_none());
    let level = f64::NAN;
    assert!(Sheet::new(square.to_vec(), square[0], level, Xy::new(0.0, 0.0), 0.0).is_none());
}
