//! What an assessment says of surfaces: gaps, penetrations, words and JSON.

use std::path::Path;

use eaves::aerodrome::{
    Aerodrome, AerodromeKind, ApproachType, EndClassification, Runway, RunwayClassification,
    RunwayEnd,
};
use eaves::answer::Assessment;
use eaves::assess::assess;
use eaves::obstacle::{HeightBasis, Obstacle, Permanence, Sag};
use eaves::read::ReadOptions;
use eaves::report::{json, page};
use eaves::site::FeatureRef;
use eaves::surfaces::answer::{GapFrom, ShieldedShare, SurfaceAnswer, SurfaceKind};
use eaves::surfaces::shielding_planes::ShieldingRule;
use eaves::surfaces::table::load;
use eaves::units::{Altitude, Height, Metres};

use crate::read_lines::folder;
use crate::site::{layers, mast, place, question, rectangle, span};

/// A runway from (0, 0) to (2 000, 0) east, level at 330 m; code number 4, non-precision approaches.
pub fn aerodrome() -> Aerodrome {
    let source = |feature: &str| FeatureRef {
        file: "test".into(),
        feature: feature.into(),
    };
    let end = |x: f64, designator: &str| RunwayEnd {
        designator: Some(designator.into()),
        position: Some(place(x, 0.0)),
        elevation: Some(Altitude::of(330.0)),
        true_bearing: None,
        displaced_threshold: None,
        classification: EndClassification {
            approach: Some(ApproachType::NonPrecision),
            clearway: Some(Metres::ZERO),
        },
    };
    Aerodrome {
        source: source("aerodrome"),
        ident: Some("XTST".into()),
        name: "Test".into(),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(place(1000.0, 0.0)),
        elevation: Some(Altitude::of(330.0)),
        controlled: None,
        military: None,
        hours: Default::default(),
        runways: vec![Runway {
            source: source("runway"),
            designator: "09/27".into(),
            ends: [end(0.0, "09"), end(2000.0, "27")],
            length: None,
            width: None,
            closed: false,
            classification: RunwayClassification {
                code_number: Some(4),
                ..RunwayClassification::default()
            },
        }],
        movement_area: None,
        boundary: None,
    }
}

/// An area whose ceiling is 300 m + 400 ft = 421.92 m AMSL everywhere (14 CFR 107.51(b)).
fn at(
    x: f64,
    y: f64,
    width: f64,
    height: f64,
    change: impl Fn(&mut eaves::assess::Question),
) -> Assessment {
    let mut question = question(&[rectangle(x, y, width, height)], "united-states");
    question.surfaces = Some(load("annex14-2018").unwrap());
    change(&mut question);
    assess(&question, &layers(vec![aerodrome()], vec![])).unwrap()
}

fn surface(assessment: &Assessment, kind: SurfaceKind) -> &SurfaceAnswer {
    let all = &assessment.surfaces.as_ref().unwrap().surfaces;
    all.iter().find(|it| it.kind == kind).unwrap_or_else(|| {
        panic!(
            "{kind:?} in {:?}",
            all.iter().map(|it| it.kind).collect::<Vec<_>>()
        )
    })
}

fn kinds(assessment: &Assessment) -> Vec<SurfaceKind> {
    let all = &assessment.surfaces.as_ref().unwrap().surfaces;
    all.iter().map(|it| it.kind).collect()
}

/// Beside the runway at 2 000 to 2 400 m: wholly under the inner horizontal surface, 45 m above
/// 330 m (Table 4-1), so the ceiling is 46.92 m above it; the outer horizontal is 150 m above 330 m.
#[test]
fn a_ceiling_above_the_inner_horizontal_surface() {
    let assessment = at(800.0, 2000.0, 300.0, 400.0, |_| ());
    assert_eq!(
        kinds(&assessment),
        [SurfaceKind::InnerHorizontal, SurfaceKind::OuterHorizontal]
    );
    let inner = surface(&assessment, SurfaceKind::InnerHorizontal);
    assert!(inner.governs && !surface(&assessment, SurfaceKind::OuterHorizontal).governs);
    assert!((inner.lowest_m_amsl.m() - 375.0).abs() < 1e-6);
    assert!((inner.gap_m.unwrap().m() - (375.0 - 421.92)).abs() < 1e-6);
    assert_eq!(inner.share_under, 1.0);
    let penetration = inner.penetration.as_ref().unwrap();
    assert_eq!(penetration.share, 1.0);
    assert!(penetration.part.is_some());
    let outer = surface(&assessment, SurfaceKind::OuterHorizontal);
    assert!((outer.gap_m.unwrap().m() - (480.0 - 421.92)).abs() < 1e-6);
    assert!(outer.penetration.is_none());
}

/// Across the conical surface: 375 m + 5 % beyond 4 000 m reaches 421.92 m at 4 938.4 m, so of an
/// area from 4 738.4 to 5 138.4 m half is below the ceiling. 5 % x 738.4 m: lowest 411.92 m.
#[test]
fn part_of_an_area_reaches_through_the_conical_surface() {
    let assessment = at(800.0, 4738.4, 300.0, 400.0, |_| ());
    let conical = surface(&assessment, SurfaceKind::Conical);
    assert!((conical.lowest_m_amsl.m() - 411.92).abs() < 0.01);
    assert!(
        (conical.gap_m.unwrap().m() + 10.0).abs() < 0.01,
        "{:?}",
        conical.gap_m
    );
    let penetration = conical.penetration.as_ref().unwrap();
    assert!((penetration.share - 0.5).abs() < 1e-3 && penetration.share >= 0.5 - 1e-6);
    let edge = place(950.0, 4938.4).lat();
    let part = penetration.part.as_ref().unwrap();
    let northmost = part
        .iter()
        .flat_map(|polygon| polygon.exterior().coords())
        .map(|corner| corner.y)
        .fold(f64::NEG_INFINITY, f64::max);
    // A millionth of a degree of latitude is 0.11 m.
    assert!((northmost - edge).abs() < 2e-6, "{northmost} {edge}");
    // The whole conical surface: between stadia of 4 000 and 6 000 m about a strip of 2 120 m.
    let footprint = conical.footprint.as_ref().unwrap();
    let area = geo::GeodesicArea::geodesic_area_unsigned(footprint);
    let stadium = |radius: f64| std::f64::consts::PI * radius * radius + 2.0 * radius * 2120.0;
    let ring = stadium(6000.0) - stadium(4000.0);
    assert!(area > ring - 200.0 && area < ring * 1.002, "{area} {ring}");
    // The outer edge, at 6 000 m: straddled, then left.
    let straddles = at(800.0, 5900.0, 300.0, 400.0, |_| ());
    let share = surface(&straddles, SurfaceKind::Conical).share_under;
    assert!(
        (share - 0.25).abs() < 1e-3 && share >= 0.25 - 1e-6,
        "{share}"
    );
    let beyond = at(800.0, 6001.0, 300.0, 400.0, |_| ());
    assert_eq!(kinds(&beyond), [SurfaceKind::OuterHorizontal]);
}

/// On the extended centreline, from 3 000 to 3 400 m beyond end 27: the approach surface starts
/// 60 m beyond and has risen 2 % x 2 940 m = 58.8 m; the take-off climb surface as much.
#[test]
fn an_area_under_approach_and_take_off_climb() {
    let assessment = at(5000.0, -50.0, 400.0, 100.0, |_| ());
    for kind in [SurfaceKind::Approach, SurfaceKind::TakeOffClimb] {
        let found = surface(&assessment, kind);
        assert_eq!(found.part.as_deref(), Some("27"));
        let lowest = found.lowest_m_amsl.m();
        assert!(
            lowest <= 388.8 + 1e-6 && lowest > 388.8 - 0.05,
            "{kind:?} {lowest}"
        );
    }
    let take_off = surface(&assessment, SurfaceKind::TakeOffClimb);
    assert!(
        take_off
            .assumed
            .iter()
            .any(|it| it.contains("departure tracks"))
    );
    // Least gap first.
    let gaps: Vec<f64> = assessment
        .surfaces
        .as_ref()
        .unwrap()
        .surfaces
        .iter()
        .map(|it| it.gap_m.unwrap().m())
        .collect();
    assert!(gaps.is_sorted(), "{gaps:?}");
}

/// Where the ceiling is undetermined the gap is counted from the wish, else it is undetermined.
#[test]
fn gaps_without_a_ceiling() {
    let plain = |wish: Option<f64>| {
        at(800.0, 2000.0, 300.0, 400.0, |question| {
            question.profile = eaves::profile::load("plain").unwrap();
            question.wish = wish.map(Height::of);
            question.ground_accuracy = Some(Metres::of(1.0));
        })
    };
    let wished = plain(Some(80.0));
    let answer = wished.surfaces.as_ref().unwrap();
    assert_eq!(
        answer.from,
        GapFrom::Wish {
            height_m_agl: Height::of(80.0)
        }
    );
    // 375 m less 300 m of ground less 1 m of accuracy less 80 m.
    let inner = surface(&wished, SurfaceKind::InnerHorizontal);
    assert!((inner.gap_m.unwrap().m() + 6.0).abs() < 1e-6);
    assert!((inner.penetration.as_ref().unwrap().share - 1.0).abs() < 1e-9);
    // Over level ground the part is the cut itself: all of the area of 300 m by 400 m.
    let part = inner.penetration.as_ref().unwrap().part.as_ref().unwrap();
    let size = geo::GeodesicArea::geodesic_area_unsigned(part);
    assert!((size - 120_000.0).abs() < 1.0, "{size}");
    let open = plain(None);
    assert_eq!(open.surfaces.as_ref().unwrap().from, GapFrom::Nothing);
    assert!(surface(&open, SurfaceKind::InnerHorizontal).gap_m.is_none());
    let text = page::page(&open);
    assert!(text.contains("UNDETERMINED"), "{text}");
}

/// A line 200 m into the area of [`at`] and wider than it, its wires 90 m above ground at 300 m, a
/// wish of 80 m (top 380 m AMSL, above the inner horizontal surface at 375 m), other runways.
fn beside_a_line(others: Vec<Runway>, obstacles: Vec<Obstacle>) -> Assessment {
    let mut question = question(&[rectangle(800.0, 2000.0, 300.0, 400.0)], "plain");
    question.surfaces = Some(load("annex14-2018").unwrap());
    question.wish = Some(Height::of(80.0));
    question.shielding_planes = Some(ShieldingRule::built_in().unwrap());
    let mut aerodrome = aerodrome();
    aerodrome.runways.extend(others);
    assess(&question, &layers(vec![aerodrome], obstacles)).unwrap()
}

fn line() -> Obstacle {
    span(
        (700.0, 2200.0),
        (1200.0, 2200.0),
        90.0,
        Some(Sag::Included),
        0.0,
    )
}

fn shielded(assessment: &Assessment) -> Option<ShieldedShare> {
    let inner = surface(assessment, SurfaceKind::InnerHorizontal);
    inner.penetration.as_ref().unwrap().shielded
}

/// ICAO Doc 9137 Part 6, chapter 2 (from memory): level away from the runway, 10 % down towards it;
/// the reach of 150 m is this program's own. 390 m is at or above 380 m up to 150 m behind the line
/// (y = 2 350 m) and 100 m towards the runway (y = 2 100 m): 250 of 400 m of the area.
#[test]
fn a_line_shields_what_lies_below_its_planes() {
    let found = beside_a_line(Vec::new(), vec![line()]);
    let answer = found.surfaces.as_ref().unwrap();
    assert!(matches!(answer.from, GapFrom::Wish { .. }));
    let rule = answer.shielding_planes.as_ref().unwrap();
    assert_eq!((rule.obstacles, rule.reach_along_m.m()), (1, 150.0));
    let shares = shielded(&found).unwrap();
    assert!(shares.share <= 0.625 && shares.share > 0.62, "{shares:?}");
    let unshielded = shares.unshielded_share;
    assert!((0.375..0.38).contains(&unshielded), "{shares:?}");
    let text = page::page(&found);
    let squeezed = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "is above the surface and below the shielding planes; up to 37.",
        "FROM MEMORY: Aerodrome shielding planes: level behind an obstacle, falling 10 % towards \
         each runway",
        "ICAO Doc 9137 (Airport Services Manual) Part 6, chapter 2",
    ] {
        assert!(squeezed.contains(said), "{said}\n{text}");
    }
    // The surface that is not penetrated has no shares.
    assert!(
        surface(&found, SurfaceKind::OuterHorizontal)
            .penetration
            .is_none()
    );
    keeps_its_form(&found);
}

/// Nothing is shielded by a mast, which has no width, an estimate, or a crane; and not where a second
/// runway, whose direction the line points in, would need planes of its own.
#[test]
fn what_does_not_shield_by_planes() {
    let estimate = {
        let mut line = line();
        for end in &mut line.span.as_mut().unwrap().ends {
            end.top.as_mut().unwrap().basis = HeightBasis::Estimate;
        }
        line
    };
    let crane = Obstacle {
        permanence: Permanence::Temporary,
        ..line()
    };
    let mast = mast(950.0, 2200.0, 90.0, 0.0);
    let runway = |closed: bool, ends: [Option<(f64, f64)>; 2]| {
        let mut runway = aerodrome().runways.remove(0);
        runway.designator = "18/36".into();
        runway.closed = closed;
        for (end, at) in runway.ends.iter_mut().zip(ends) {
            end.position = at.map(|(x, y)| place(x, y));
        }
        runway
    };
    let west = |closed| runway(closed, [Some((-3000.0, 1200.0)), Some((-3000.0, 3200.0))]);
    for (others, obstacle) in [
        (vec![], estimate),
        (vec![], crane),
        (vec![], mast),
        (vec![west(false)], line()),
    ] {
        let shares = shielded(&beside_a_line(others, vec![obstacle])).unwrap();
        assert_eq!((shares.share, shares.unshielded_share), (0.0, 1.0));
    }
    let closed = beside_a_line(vec![west(true)], vec![line()]);
    assert!(shielded(&closed).unwrap().share > 0.6);
    let nowhere = beside_a_line(vec![runway(false, [None, None])], vec![line()]);
    assert!(shielded(&nowhere).is_none());
    assert!(page::page(&nowhere).contains("UNDETERMINED: the place of a runway"));
    keeps_its_form(&nowhere);
}

#[test]
fn without_a_table_surfaces_are_not_assessed() {
    let assessment = at(800.0, 2000.0, 300.0, 400.0, |question| {
        question.surfaces = None
    });
    assert!(assessment.surfaces.is_none());
    let text = page::page(&assessment);
    let squeezed = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(squeezed.contains("obstacle limitation surfaces: no table was chosen (--surfaces)"));
}

#[test]
fn the_section_and_the_json_keep_their_form() {
    for assessment in [
        at(800.0, 4738.4, 300.0, 400.0, |_| ()),
        at(5000.0, -50.0, 400.0, 100.0, |_| ()),
        at(800.0, 2000.0, 300.0, 400.0, |question| {
            question.surfaces = Some(load("cfr77").unwrap());
        }),
        at(300.0, -20.0, 1800.0, 40.0, |_| ()),
    ] {
        keeps_its_form(&assessment);
        let value: serde_json::Value =
            serde_json::from_str(&json::json(&assessment).unwrap()).unwrap();
        assert!(!value["surfaces"]["surfaces"].as_array().unwrap().is_empty());
    }
}

fn keeps_its_form(assessment: &Assessment) {
    let text = page::page(assessment);
    assert!(
        text.lines().all(|line| line.chars().count() <= 72),
        "{text}"
    );
    assert!(text.contains("OBSTACLE LIMITATION SURFACES over the area: "));
    assert!(text.contains("governs"), "{text}");
    for word in ["safe", "approved", "compliant", "cleared"] {
        assert!(!text.to_lowercase().contains(word), "{word}");
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/schema/assessment.json");
    let schema: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let value: serde_json::Value = serde_json::from_str(&json::json(assessment).unwrap()).unwrap();
    if let Err(why) = validator.validate(&value) {
        panic!("{why} at {}", why.instance_path());
    }
}

#[test]
fn classifications_are_read_from_the_runways_layer() {
    let read = |attributes: &str| {
        let folder = folder(&[
            (
                "aerodromes.geojson",
                r#"{"type":"FeatureCollection","features":[{"type":"Feature","id":"f","properties":{"ident":"YXXX","type":"small_airport","name":"Invented"},"geometry":{"type":"Point","coordinates":[150,-31]}}]}"#,
            ),
            (
                "runways.geojson",
                &format!(
                    r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","id":"r","properties":{{"airport_ident":"YXXX"{attributes}}},"geometry":{{"type":"LineString","coordinates":[[150,-31],[150.01,-31]]}}}}]}}"#
                ),
            ),
        ]);
        eaves::read::layers(folder.path(), &ReadOptions::default()).unwrap()
    };
    let known = read(
        r#","code_number":3,"code_letter":"c","le_approach":"Non-precision","he_approach":"precision_2_3","he_clearway_ft":1000,"utility":0,"paved":"yes""#,
    );
    let runway = &known.aerodromes[0].runways[0];
    assert_eq!(
        runway.classification,
        RunwayClassification {
            code_number: Some(3),
            code_letter: Some('C'),
            is_utility: Some(false),
            is_paved: Some(true),
        }
    );
    assert_eq!(
        runway.ends[0].classification.approach,
        Some(ApproachType::NonPrecision)
    );
    assert_eq!(
        runway.ends[1].classification.approach,
        Some(ApproachType::Precision23)
    );
    assert!((runway.ends[1].classification.clearway.unwrap().m() - 304.8).abs() < 1e-9);
    assert_eq!(runway.ends[0].classification.clearway, None);
    let unclear =
        read(r#","code_number":5,"code_letter":"Z","le_approach":"ILS","he_clearway_m":-4"#);
    let runway = &unclear.aerodromes[0].runways[0];
    assert_eq!(runway.classification, RunwayClassification::default());
    assert_eq!(runway.ends[0].classification, EndClassification::default());
    assert_eq!(runway.ends[1].classification, EndClassification::default());
    let cautions: Vec<&str> = unclear
        .cautions
        .as_slice()
        .iter()
        .map(|it| it.defect.as_str())
        .collect();
    for said in ["code number", "code letter", "kind of approach"] {
        assert!(cautions.iter().any(|it| it.contains(said)), "{cautions:?}");
    }
}
