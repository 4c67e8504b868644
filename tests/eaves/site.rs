//! Whole sites in memory: the height budget, rule boundaries and aerodrome rings, by `assess`.

use eaves::aerodrome::{Aerodrome, AerodromeKind, Runway, RunwayEnd};
use eaves::answer::{Assessment, BudgetStep, Undetermined, WishState, ZoneState};
use eaves::assess::{Question, assess};
use eaves::error::Cautions;
use eaves::frame::{LocalFrame, LonLat, Xy};
use eaves::obstacle::{
    HeightBasis, Obstacle, ObstacleKind, Permanence, Sag, Shape, SpanDetail, SpanEnd, Top,
    VerticalReference,
};
use eaves::profile;
use eaves::read::{Layers, Obstacles};
use eaves::site::FeatureRef;
use eaves::units::{Altitude, Height, Metres};

use crate::cover::area;

pub fn origin() -> LonLat {
    LonLat::new(149.9, -30.4).unwrap()
}

fn source(feature: &str) -> FeatureRef {
    FeatureRef {
        file: "test.geojson".into(),
        feature: feature.into(),
    }
}

pub fn place(x: f64, y: f64) -> LonLat {
    LocalFrame::about(origin()).to_place(Xy::new(x, y))
}

fn top(value_m: f64) -> Option<Top> {
    Some(Top {
        value_m,
        reference: VerticalReference::AboveGround,
        basis: HeightBasis::Stated,
    })
}

pub fn mast(x: f64, y: f64, height: f64, accuracy: f64) -> Obstacle {
    Obstacle {
        source: source(&format!("mast {x} {y}")),
        name: None,
        kind: ObstacleKind::Structure("mast".into()),
        shape: Shape::Point(place(x, y)),
        top: top(height),
        permanence: Permanence::Permanent,
        horizontal_accuracy: Metres::ZERO,
        vertical_accuracy: Metres::of(accuracy),
        span: None,
    }
}

pub fn span(
    from: (f64, f64),
    to: (f64, f64),
    height: f64,
    sag: Option<Sag>,
    accuracy: f64,
) -> Obstacle {
    let end = || SpanEnd {
        top: top(height),
        support: None,
    };
    Obstacle {
        source: source("line"),
        name: Some("Test line".into()),
        kind: ObstacleKind::Span,
        shape: Shape::Chain(vec![place(from.0, from.1), place(to.0, to.1)]),
        top: None,
        permanence: Permanence::Permanent,
        horizontal_accuracy: Metres::ZERO,
        vertical_accuracy: Metres::of(accuracy),
        span: Some(Box::new(SpanDetail {
            ends: [end(), end()],
            sag,
            length: Metres::of((to.0 - from.0).hypot(to.1 - from.1)),
            clearance: None,
            wire_offset: None,
            voltage_v: Some(330_000.0),
            index: 0,
        })),
    }
}

pub fn question(rings: &[Vec<(f64, f64)>], profile: &str) -> Question {
    Question {
        area: area(origin(), rings),
        area_cautions: Cautions::default(),
        profile: profile::load(profile).unwrap(),
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(10.0),
        wish: None,
        window: None,
        site_elevation: Some(Altitude::of(300.0)),
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        surfaces: None,
        line_clearance: None,
        sample_ceiling: false,
        shielding_planes: None,
        obstacle_accuracy: None,
        section: None,
    }
}

pub fn layers(aerodromes: Vec<Aerodrome>, obstacles: Vec<Obstacle>) -> Layers {
    Layers {
        aerodromes,
        obstacles: Obstacles::new(obstacles),
        airspace: None,
        plan: Vec::new(),
        terrain: None,
        summaries: Vec::new(),
        cautions: Cautions::default(),
        not_assessed: Vec::new(),
    }
}

pub fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Vec<(f64, f64)> {
    vec![
        (x, y),
        (x + width, y),
        (x + width, y + height),
        (x, y + height),
        (x, y),
    ]
}

fn ceiling_above_ground(assessment: &Assessment) -> f64 {
    assessment
        .ceiling
        .whole
        .as_ref()
        .expect("a determined ceiling")
        .above_ground
        .value_m
}

/// The worked contrast of the height budget (common practice, no source): supports 60 m, span
/// 420 m, margin 10 m. Support top alone: 50 m (164 ft, never 165). Earth wire sag 6.5 m: 43.5 m.
/// Area 4 m above the base: 39.5 m. Obstacle accuracy 3 m: 36.5 m.
#[test]
fn the_height_budget_line_by_line() {
    let strip = [rectangle(-100.0, 5.0, 200.0, 40.0)];
    let ends = ((-210.0, 0.0), (210.0, 0.0));
    let with = |sag, accuracy| {
        layers(
            vec![],
            vec![span(ends.0, ends.1, 60.0, Some(sag), accuracy)],
        )
    };
    let plain = question(&strip, "plain");

    let support_top = assess(&plain, &with(Sag::Included, 0.0)).unwrap();
    assert_eq!(ceiling_above_ground(&support_top), 50.0);
    assert_eq!(Height::of(50.0).ft_down(), 164.0);

    let sag = assess(&plain, &with(Sag::Metres(6.5), 0.0)).unwrap();
    assert_eq!(ceiling_above_ground(&sag), 43.5);
    let pair = sag.ceiling.whole.as_ref().unwrap();
    assert_eq!(pair.amsl.as_ref().unwrap().value_m, 343.5);
    let lines: Vec<(&str, f64)> = pair
        .above_ground
        .budget
        .iter()
        .map(|line| (line.label.as_str(), line.value_m))
        .collect();
    assert_eq!(
        lines,
        [
            ("support top", 360.0),
            ("sag", 6.5),
            ("obstacle accuracy", 0.0),
            ("ground accuracy at its base", 0.0),
            ("trusted top", 353.5),
            ("margin", 10.0),
            ("ceiling AMSL here", 343.5),
            ("highest ground under it", 300.0),
            ("ground accuracy", 0.0),
            ("ceiling above ground", 43.5),
        ]
    );

    // The ground of the area 4 m above the base of the line: the line's tops are given AMSL.
    let raised = |accuracy| {
        let mut line = span(ends.0, ends.1, 356.0, Some(Sag::Metres(6.5)), accuracy);
        for end in &mut line.span.as_mut().unwrap().ends {
            end.top.as_mut().unwrap().reference = VerticalReference::MeanSeaLevel;
        }
        layers(vec![], vec![line])
    };
    let higher = assess(&plain, &raised(0.0)).unwrap();
    assert_eq!(ceiling_above_ground(&higher), 39.5);
    let inaccurate = assess(&plain, &raised(3.0)).unwrap();
    assert_eq!(ceiling_above_ground(&inaccurate), 36.5);
}

/// Printed budget lines add up to the last digit, whatever the values.
#[test]
fn budgets_add_up() {
    let strip = [rectangle(-60.0, 5.0, 120.0, 40.0)];
    for (height, sag, accuracy) in [
        (60.123, 6.543_21, 0.777),
        (33.333_3, 1.0 / 3.0, 0.1),
        (47.0, 0.005, 2.999_9),
    ] {
        let mut ask = question(&strip, "plain");
        ask.site_elevation = Some(Altitude::of(271.828));
        ask.ground_accuracy = Some(Metres::of(0.314));
        let line = span(
            (-210.0, 0.0),
            (210.0, 0.0),
            height,
            Some(Sag::Metres(sag)),
            accuracy,
        );
        let assessment = assess(&ask, &layers(vec![], vec![line])).unwrap();
        let pair = assessment.ceiling.whole.unwrap();
        for value in [pair.amsl.unwrap(), pair.above_ground] {
            let mut sum = 0i64;
            let cents = |metres: f64| (metres * 100.0).round() as i64;
            for line in &value.budget {
                match line.step {
                    BudgetStep::From => sum = cents(line.value_m),
                    BudgetStep::Less => sum -= cents(line.value_m),
                    BudgetStep::Plus => sum += cents(line.value_m),
                    BudgetStep::Gives => assert_eq!(sum, cents(line.value_m), "{}", line.label),
                }
            }
            assert_eq!(sum, cents(value.value_m));
            assert!(value.value_m <= value.attained_m);
        }
    }
}

/// New Zealand CAR Part 101, shielded operation (101.7): within 100 m of the object. Areas reach to
/// 99.9 m and to 100.1 m; the first is covered, the second is not.
#[test]
fn reach_boundary_of_an_area() {
    // A beam as wide as the area, so that its far edge is `far` away all along.
    let beam = span((-1.0, 0.0), (1.0, 0.0), 42.0, Some(Sag::Included), 0.0);
    for (far, covered) in [(99.9, true), (99.999, true), (100.1, false)] {
        let strip = [rectangle(-1.0, far - 10.0, 2.0, 10.0)];
        let assessment = assess(
            &question(&strip, "new-zealand"),
            &layers(vec![], vec![beam.clone()]),
        )
        .unwrap();
        let shielding = &assessment.shielding[0];
        assert_eq!(shielding.is_wholly_covered, covered, "{far}");
        if covered {
            assert_eq!(ceiling_above_ground(&assessment), 42.0);
        } else {
            assert!(assessment.ceiling.whole.is_none());
            assert!(shielding.uncovered_m2 > 0.0 && shielding.covered_share < 1.0);
            assert!(matches!(
                assessment.ceiling.undetermined[0],
                Undetermined::Uncovered { .. }
            ));
            let part = assessment.ceiling.determined_part.as_ref().unwrap();
            assert_eq!(part.above_ground.value_m, 42.0);
        }
    }
}

/// EU 2019/947 UAS.OPEN.010(2)-(3), as summarised for STS-02: 120 m; within 50 m of an obstacle
/// taller than 105 m, 15 m above it. 104.9 / 105.0 / 105.1 / 130 m give 120 / 120 / 120.1 / 145 m.
/// (A course page that adds "accounting for a total height of 120 m" is wrong.)
#[test]
fn european_obstacle_taller_than_105_m() {
    let near = [rectangle(-20.0, -20.0, 40.0, 40.0)];
    for (height, ceiling) in [
        (104.9, 120.0),
        (105.0, 120.0),
        (105.1, 120.1),
        (130.0, 145.0),
    ] {
        let assessment = assess(
            &question(&near, "european-union"),
            &layers(vec![], vec![mast(0.0, 0.0, height, 0.0)]),
        )
        .unwrap();
        assert_eq!(ceiling_above_ground(&assessment), ceiling, "{height}");
    }
    // Beyond 50 m horizontally the cap holds.
    let far = [rectangle(50.1, -1.0, 10.0, 2.0)];
    let assessment = assess(
        &question(&far, "european-union"),
        &layers(vec![], vec![mast(0.0, 0.0, 130.0, 0.0)]),
    )
    .unwrap();
    assert_eq!(ceiling_above_ground(&assessment), 120.0);
}

/// 14 CFR 107.51(b): within a 400-ft radius of a structure, 400 ft above its uppermost limit. The
/// quoted example: a 275-ft crane gives 675 ft above ground. (Here a permanent mast.)
#[test]
fn american_structure_raises_the_limit() {
    const FT: f64 = 0.3048;
    let near = [rectangle(-40.0, -40.0, 80.0, 80.0)];
    let assessment = assess(
        &question(&near, "united-states"),
        &layers(vec![], vec![mast(0.0, 0.0, 275.0 * FT, 0.0)]),
    )
    .unwrap();
    let ceiling = ceiling_above_ground(&assessment);
    assert!(
        ceiling <= 675.0 * FT && ceiling > 675.0 * FT - 0.02,
        "{ceiling}"
    );
    // An area that leaves the radius has the cap of 400 ft.
    let out = [rectangle(0.0, -1.0, 400.0 * FT + 1.0, 2.0)];
    let assessment = assess(
        &question(&out, "united-states"),
        &layers(vec![], vec![mast(0.0, 0.0, 275.0 * FT, 0.0)]),
    )
    .unwrap();
    let ceiling = ceiling_above_ground(&assessment);
    assert!(
        ceiling <= 400.0 * FT && ceiling > 400.0 * FT - 0.02,
        "{ceiling}"
    );
}

/// What cannot be a shield never is: no height, not permanent, sag unknown, position uncertain.
#[test]
fn doubtful_obstacles_are_dropped() {
    let strip = [rectangle(-20.0, 5.0, 40.0, 20.0)];
    let mut no_height = mast(0.0, 0.0, 40.0, 0.0);
    no_height.top = None;
    let mut crane = mast(0.0, 0.0, 80.0, 0.0);
    crane.permanence = Permanence::Temporary;
    let mut vague = mast(0.0, 0.0, 80.0, 0.0);
    vague.horizontal_accuracy = Metres::of(90.0);
    let slack = span((-100.0, 0.0), (100.0, 0.0), 60.0, None, 0.0);
    let inaccurate = mast(0.0, 0.0, 2.0, 3.0);
    for obstacle in [no_height, crane, vague, slack, inaccurate] {
        let assessment =
            assess(&question(&strip, "plain"), &layers(vec![], vec![obstacle])).unwrap();
        assert!(assessment.ceiling.whole.is_none());
        assert!(
            assessment.ceiling.determined_part.is_none()
                || assessment.shielding[0].covered_share < 1.0
        );
        assert!(!assessment.is_decided());
    }
}

#[test]
fn wished_heights() {
    // A mast of 60 m serves the west, one of 40 m the east.
    let strip = [rectangle(-90.0, -5.0, 180.0, 10.0)];
    let shields = || {
        layers(
            vec![],
            vec![mast(-60.0, 0.0, 60.0, 0.0), mast(60.0, 0.0, 40.0, 0.0)],
        )
    };
    let ask = |height: f64| {
        let mut ask = question(&strip, "plain");
        ask.wish = Some(Height::of(height));
        assess(&ask, &shields()).unwrap().wish.unwrap()
    };
    assert_eq!(ask(30.0).state, WishState::Everywhere);
    let part = ask(45.0);
    assert_eq!(part.state, WishState::InPart);
    // West of the disc of 100 m about x = -60: x < 40 less the bulge, so a share of about 130/180.
    assert!(part.share_allowed > 0.715 && part.share_allowed < 130.0 / 180.0);
    assert_eq!(part.short_by_m, Some(Metres::of(15.0)));
    assert_eq!(ask(55.0).state, WishState::Nowhere);
    let mut nothing = question(&strip, "plain");
    nothing.wish = Some(Height::of(20.0));
    let nothing = assess(&nothing, &layers(vec![], vec![])).unwrap();
    assert_eq!(nothing.wish.unwrap().state, WishState::Undetermined);
    assert_eq!(nothing.ceiling.undetermined, [Undetermined::NoShield]);
}

fn aerodrome_at(x: f64, y: f64) -> Aerodrome {
    let end = |x: f64, y: f64, name: &str| RunwayEnd {
        designator: Some(name.into()),
        position: Some(place(x, y)),
        elevation: None,
        true_bearing: None,
        displaced_threshold: None,
        classification: Default::default(),
    };
    Aerodrome {
        source: source("aerodrome"),
        ident: Some("XTST".into()),
        name: "Test".into(),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(place(x, y)),
        elevation: None,
        controlled: None,
        military: None,
        hours: Default::default(),
        runways: vec![Runway {
            source: source("runway"),
            designator: "09/27".into(),
            ends: [end(x - 600.0, y, "09"), end(x + 600.0, y, "27")],
            length: None,
            width: None,
            closed: false,
            classification: Default::default(),
        }],
        movement_area: None,
        boundary: None,
    }
}

/// 3 NM is 5 556 m by definition, not 5.5 km: the state turns there, and the margin is signed.
#[test]
fn rings_turn_at_their_radius() {
    for (gap, state) in [
        (-200.0, ZoneState::Inside),
        (-50.0, ZoneState::Straddles),
        (0.05, ZoneState::Outside),
    ] {
        // The area is 100 m long, its near edge at 5 556 m + gap from the reference point.
        let near = 5_556.0 + gap;
        let strip = [rectangle(-near - 100.0, -1.0, 100.0, 2.0)];
        let assessment = assess(
            &question(&strip, "plain"),
            &layers(vec![aerodrome_at(0.0, 0.0)], vec![]),
        )
        .unwrap();
        let aerodrome = &assessment.aerodromes[0];
        let ring = aerodrome
            .rings
            .iter()
            .find(|ring| ring.label == "3 NM")
            .unwrap();
        assert_eq!(ring.state, state, "{gap}");
        let margin = ring.margin_m.unwrap().m();
        assert!((margin - gap).abs() < 0.001, "{margin} {gap}");
        let share = ring.share_inside.unwrap();
        match state {
            ZoneState::Inside => assert_eq!(share, 1.0),
            ZoneState::Outside => assert_eq!(share, 0.0),
            _ => assert!((share - 0.5).abs() < 0.001, "{share}"),
        }
        // Seen from the aerodrome the area is due west, and nearer to the end of runway 09.
        let end = aerodrome
            .from_reference(eaves::profile::Reference::RunwayEnd)
            .unwrap();
        assert_eq!(end.part.as_deref(), Some("09"));
        assert!((end.distance_m.m() - (near - 600.0)).abs() < 0.001);
        let bearing = end.bearing_true_deg.unwrap();
        assert_eq!(bearing.three_digits(), "270");
        // Magnetic variation is some 11 degrees east there.
        assert_eq!(end.bearing_magnetic_deg.unwrap().three_digits(), "259");
        assert!(
            aerodrome
                .from_reference(eaves::profile::Reference::Boundary)
                .is_none()
        );
    }
}

/// A ring about a reference that the data do not give is measured from another, and says so: that
/// does not answer the rule.
#[test]
fn a_substitute_reference_is_named_and_leaves_the_question_open() {
    let strip = [rectangle(-7_000.0, -1.0, 100.0, 2.0)];
    let assessment = assess(
        &question(&strip, "australia"),
        &layers(vec![aerodrome_at(0.0, 0.0)], vec![]),
    )
    .unwrap();
    let ring = &assessment.aerodromes[0].rings[0];
    assert_eq!(ring.about, eaves::profile::Reference::MovementArea);
    assert_eq!(
        ring.measured_from,
        Some(eaves::profile::Reference::ReferencePoint)
    );
    assert!(ring.is_substitute);
    assert!(!assessment.is_decided());
}

/// Two reaches that overlap by less than the search can tell apart leave the level of a low mast
/// beneath them standing: the obstacle named is the one that the certified ceiling comes from.
#[test]
fn a_search_that_stops_short_names_the_lower_shield() {
    let line = |x: f64| span((x, -200.0), (x, 200.0), 60.0, Some(Sag::Included), 0.0);
    let all = layers(
        vec![],
        vec![line(-99.9997), line(99.9997), mast(0.0, 0.0, 20.0, 0.0)],
    );
    let answer = assess(
        &question(&[rectangle(-20.3, -20.1, 41.7, 40.0)], "plain"),
        &all,
    )
    .unwrap();
    assert_eq!(ceiling_above_ground(&answer), 10.0);
    let named = answer.shielding[0].lowest_shielding.as_ref().unwrap();
    assert_eq!(named.trusted_top_m_agl, Height::of(20.0), "{}", named.title);
}

/// No accuracy, however absurd, overflows the budget.
#[test]
fn an_absurd_accuracy_is_answered() {
    for accuracy in [1e15, 1e17, 1e300, f64::MAX] {
        let question = Question {
            ground_accuracy: Some(Metres::of(accuracy)),
            ..question(&[rectangle(-20.0, -20.0, 40.0, 40.0)], "plain")
        };
        let answer = assess(&question, &layers(vec![], vec![mast(0.0, 0.0, 20.0, 0.0)])).unwrap();
        for pair in answer.ceiling.whole.iter() {
            assert!(pair.above_ground.value_m < 0.0);
        }
    }
}

/// A building whose outline crosses itself shields from its edges only: a triangle cut from it may
/// lie outside it.
#[test]
fn an_outline_that_crosses_itself_is_its_edges() {
    let corner = |x: f64, y: f64| {
        let at = place(x, y);
        geo::Coord {
            x: at.lon(),
            y: at.lat(),
        }
    };
    let frame = LocalFrame::about(origin());
    for corners in [
        vec![
            (0.0, 0.0),
            (40.0, 30.0),
            (40.0, 0.0),
            (0.0, 30.0),
            (0.0, 0.0),
        ],
        vec![
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 10.0),
            (10.0, 10.0),
            (10.0, -20.0),
            (0.0, -20.0),
            (0.0, 0.0),
        ],
        vec![(0.0, 0.0), (40.0, 0.0), (0.0, 0.0)],
    ] {
        let ring: geo::LineString<f64> = corners.iter().map(|&(x, y)| corner(x, y)).collect();
        let outline = geo::Polygon::new(ring, vec![]);
        let pieces = eaves::plan::outline_pieces(&frame, &outline);
        assert!(!pieces.is_empty());
        for piece in &pieces {
            for pair in piece.corners().windows(2) {
                let middle = pair[0].towards(pair[1], 0.5);
                // Every side of every piece lies on an edge of the outline.
                let off = corners
                    .windows(2)
                    .map(|edge| {
                        let (from, to) =
                            (Xy::new(edge[0].0, edge[0].1), Xy::new(edge[1].0, edge[1].1));
                        eaves::field::convex::nearest_on_segment(from, to, middle).distance(middle)
                    })
                    .fold(f64::INFINITY, f64::min);
                assert!(off < 1e-3, "{middle:?} is {off} m off");
            }
        }
    }
}

/// The farthest distance from several runway ends: never below the Karney distance from the
/// farther corner, and within 0.1 m of it at 30 km.
#[test]
fn the_farthest_distance_from_runway_ends_is_close_at_thirty_kilometres() {
    use eaves::distance::{Measured, Target};
    let area = area(origin(), &[rectangle(-500.0, -500.0, 1_000.0, 1_000.0)]);
    let plan = eaves::plan::Plan::of(&area).unwrap();
    let measured = Measured::new(&plan);
    let (near, far) = (place(30_000.0, 0.0), place(32_000.0, 100.0));
    let ends = Target::Places(vec![(near, None), (far, None)]);
    let found = measured.farthest(&ends).unwrap().m();
    let true_farthest = [(-500.0, -500.0), (-500.0, 500.0)]
        .map(|(x, y)| eaves::frame::distance(near, place(x, y)).m())
        .into_iter()
        .fold(0.0, f64::max);
    assert!(found >= true_farthest, "{found} {true_farthest}");
    assert!(found - true_farthest < 0.002, "{found} {true_farthest}");
}

/// Terrain that is given and does not reach the site leaves the ground unknown: that is not the
/// same as no terrain, where flat ground is assumed and said.
#[test]
fn terrain_elsewhere_leaves_the_ground_unknown() {
    let data = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers/terrain.tif");
    let mut with = layers(vec![], vec![mast(0.0, 0.0, 40.0, 0.0)]);
    with.terrain = Some(eaves::read::raster::TerrainFile::open(&data).unwrap());
    let mut ask = question(&[rectangle(-5.0, -5.0, 10.0, 10.0)], "plain");
    ask.site_elevation = None;
    let assessment = assess(&ask, &with).unwrap();
    assert!(assessment.ceiling.whole.is_none() && assessment.ceiling.determined_part.is_none());
    assert!(
        assessment
            .ceiling
            .undetermined
            .iter()
            .any(|reason| matches!(reason, Undetermined::GroundUnknown { share } if *share == 1.0))
    );
    assert_eq!(assessment.ground.highest_m_amsl, None);
}
