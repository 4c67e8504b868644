//! Many sites against each alone: every number of a row is the one that the assessment states.
//!
//! The expected row is taken from the public `Assessment` here; `batch` never makes one.

use std::path::{Path, PathBuf};

use eaves::aerodrome::{Aerodrome, AerodromeKind, PublishedHours};
use eaves::answer::{
    Assessment, CeilingPair, CeilingValue, GroundSource, Stopped, Undetermined, VariationAnswer,
    ZoneAnswer, ZoneApplies, ZoneBasis, ZoneState,
};
use eaves::assess::{Question, assess};
use eaves::batch::{
    Case, CeilingOf, CeilingPart, Common, NotScreened, ProximityOf, Reason, Reasons, Row,
    Sensitivity, Settings, Site, answer,
};
use eaves::error::Cautions;
use eaves::obstacle::Sag;
use eaves::profile::{self, Profile, Reference};
use eaves::read::{self, Layers, ReadOptions};
use eaves::units::{Altitude, Height, Metres};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use rayon::prelude::*;
use serde_json::Value;

use crate::cover::{Numbers, area};
use crate::real_data::folder;
use crate::site::{layers, mast, origin, place, rectangle, span};

fn settings(profile: &str) -> Settings {
    Settings {
        profile: profile::load(profile).unwrap(),
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(10.0),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        sensitivity: Sensitivity::default(),
    }
}

fn site(id: &str, area: eaves::site::OperatingArea) -> Site {
    Site {
        id: id.to_owned(),
        area,
        has_cautions: false,
        wish: None,
    }
}

/// The question of one site alone, in one case.
fn question(site: &Site, common: &Common, case: Case) -> Question {
    let settings = common.settings();
    Question {
        area: site.area.clone(),
        area_cautions: Cautions::default(),
        profile: settings.profile.varied(case.reach, case.margin),
        date: settings.date,
        search_radius: settings.search_radius,
        wish: site.wish.or(case.wish),
        window: None,
        site_elevation: settings.site_elevation,
        ground_accuracy: settings.ground_accuracy,
        tolerance: settings.tolerance,
        qnh: settings.qnh,
        surfaces: None,
        line_clearance: None,
        sample_ceiling: false,
        section: None,
        shielding_planes: None,
        obstacle_accuracy: case.obstacle_accuracy,
    }
}

/// Checks a row against the assessments of its site alone, one for each case.
fn check(site: &Site, common: &Common) -> Row {
    let row = answer(site, common);
    assert_eq!(row.id, site.id);
    assert_eq!(row.error, None, "{}", row.id);
    assert_eq!(row.cases.len(), common.cases().len());
    for (number, case) in common.cases().iter().enumerate() {
        let alone = assess(&question(site, common, *case), common.layers()).unwrap();
        if number == 0 {
            check_shared(&row, &alone, common);
        }
        check_case(&row, number, &alone, common);
    }
    row
}

fn check_shared(row: &Row, alone: &Assessment, common: &Common) {
    let id = &row.id;
    assert_eq!(row.middle, Some(alone.area.middle), "{id}");
    assert_eq!(row.area_m2, Some(alone.area.area_m2), "{id}");
    let profile = common.profile();
    match (&row.aerodrome, alone.aerodromes.first()) {
        (None, None) => assert!(row.reasons.has(Reason::NoAerodromeInRadius), "{id}"),
        (Some(found), Some(first)) => {
            let record = &common.layers().aerodromes[found.aerodrome];
            assert_eq!(record.source, first.source, "{id}");
            let (reference, distance) = std::iter::once(profile.reference)
                .chain(Reference::ALL)
                .find_map(|it| Some((it, first.from_reference(it)?)))
                .unwrap();
            assert_eq!(found.reference, reference, "{id}");
            assert_eq!(found.distance_m, distance.distance_m, "{id}");
            assert_eq!(found.bearing_true_deg, distance.bearing_true_deg, "{id}");
            assert_eq!(
                found.bearing_magnetic_deg, distance.bearing_magnetic_deg,
                "{id}"
            );
            assert_eq!(
                row.reasons.has(Reason::ReferenceSubstituted),
                reference != profile.reference
            );
        }
        other => panic!("{id}: {other:?}"),
    }
    let (worst, reasons) = proximity(alone, profile);
    let found = row.proximity.map(|it| (it.of, it.state, it.margin_m));
    assert_eq!(found, worst, "{id}");
    for reason in [
        Reason::RingSubstituted,
        Reason::ZoneUndetermined,
        Reason::ZoneMayApply,
        Reason::ZoneApproximate,
    ] {
        assert_eq!(
            row.reasons.has(reason),
            reasons.has(reason),
            "{id} {reason:?}"
        );
    }
    assert_eq!(
        row.reasons.has(Reason::VariationUnknown),
        matches!(alone.variation, VariationAnswer::Unknown { .. })
    );
    assert_eq!(
        row.reasons.has(Reason::FlatGroundAssumed),
        alone.ground.source == GroundSource::AssumedFlat
    );
}

type Worst = Option<(ProximityOf, ZoneState, Option<Metres>)>;

/// The worst ring or zone of an assessment, by the order that `Proximity` states.
fn proximity(alone: &Assessment, profile: &Profile) -> (Worst, Reasons) {
    let mut reasons = Reasons::NONE;
    let mut all: Vec<(ProximityOf, ZoneState, Option<Metres>)> = Vec::new();
    for aerodrome in &alone.aerodromes {
        for ring in &aerodrome.rings {
            reasons.add_if(ring.is_substitute, Reason::RingSubstituted);
            reasons.add_if(
                ring.state == ZoneState::Undetermined,
                Reason::ZoneUndetermined,
            );
            let number = profile
                .rings
                .iter()
                .position(|it| it.about == ring.about && it.radius.value_m == ring.radius_m)
                .unwrap();
            all.push((ProximityOf::Ring(number), ring.state, ring.margin_m));
        }
    }
    for zone in alone.zones.iter().filter(|zone| zone.may_apply()) {
        reasons.add_if(
            zone.state == ZoneState::Undetermined,
            Reason::ZoneUndetermined,
        );
        if ZoneAnswer::may_reach_in(zone) {
            reasons.add_if(
                matches!(zone.applies, ZoneApplies::Unknown { .. }),
                Reason::ZoneMayApply,
            );
            reasons.add_if(
                matches!(
                    zone.basis,
                    ZoneBasis::Larger { .. } | ZoneBasis::Smaller { .. }
                ),
                Reason::ZoneApproximate,
            );
        }
        all.push((ProximityOf::Zone(zone.rule), zone.state, zone.margin_m));
    }
    let order = |(of, state, margin): &(ProximityOf, ZoneState, Option<Metres>)| {
        let state = match state {
            ZoneState::Inside => 0,
            ZoneState::Straddles => 1,
            ZoneState::Outside => 2,
            ZoneState::Undetermined => 3,
        };
        let (kind, number) = match of {
            ProximityOf::Ring(number) => (0, *number),
            ProximityOf::Zone(number) => (1, *number),
        };
        (state, margin.map_or(f64::INFINITY, Metres::m), kind, number)
    };
    let worst = all
        .into_iter()
        .min_by(|a, b| order(a).partial_cmp(&order(b)).unwrap());
    (worst, reasons)
}

fn check_case(row: &Row, number: usize, alone: &Assessment, common: &Common) {
    let (id, found) = (&row.id, &row.cases[number]);
    let first = alone.shielding.first();
    assert_eq!(
        found.shields_in_reach,
        first.map_or(0, |it| it.shields_in_reach),
        "{id}"
    );
    assert_eq!(
        found.not_shields_in_reach,
        first.map_or(0, |it| it.not_shields_in_reach),
        "{id}"
    );
    let shares = alone.shielding.iter().map(|rule| rule.covered_share);
    assert_eq!(found.covered_share, shares.reduce(f64::min), "{id}");
    assert_eq!(found.is_undetermined, alone.ceiling.whole.is_none(), "{id}");
    match (
        &found.ceiling,
        &alone.ceiling.whole,
        &alone.ceiling.determined_part,
    ) {
        (None, None, None) => {}
        (Some(part), Some(pair), _) if part.of == CeilingOf::Whole => {
            check_pair(id, part, pair, common);
        }
        (Some(part), None, Some(pair)) if part.of == CeilingOf::DeterminedPart => {
            check_pair(id, part, pair, common);
        }
        other => panic!("{id}: {other:?}"),
    }
    let wish = alone
        .wish
        .as_ref()
        .map(|wish| (wish.height_m_agl, wish.state, wish.share_allowed));
    let found_wish = found
        .wish
        .map(|wish| (wish.height_m_agl, wish.state, wish.share_allowed));
    assert_eq!(found_wish, wish, "{id}");
    assert_eq!(found.reasons, case_reasons(alone), "{id}");
}

fn check_pair(id: &str, part: &CeilingPart, pair: &CeilingPair, common: &Common) {
    let one = |found: &eaves::batch::Ceiling, alone: &CeilingValue| {
        assert_eq!(found.value_m, alone.value_m, "{id}");
        assert_eq!(common.term_title(found.term), Some(&*alone.governs), "{id}");
        let shield = found.shield.and_then(|it| common.obstacle_title(it));
        assert_eq!(shield, alone.shield, "{id}");
        assert_eq!(found.governs_at, alone.governs_at, "{id}");
    };
    one(&part.above_ground, &pair.above_ground);
    assert_eq!(part.amsl.is_some(), pair.amsl.is_some(), "{id}");
    if let (Some(found), Some(alone)) = (&part.amsl, &pair.amsl) {
        one(found, alone);
    }
}

fn case_reasons(alone: &Assessment) -> Reasons {
    let mut reasons = Reasons::NONE;
    for why in &alone.ceiling.undetermined {
        reasons.add(match why {
            Undetermined::Uncovered { .. } => Reason::Uncovered,
            Undetermined::NoShield => Reason::NoShield,
            Undetermined::GroundUnknown { .. } => Reason::GroundUnknown,
            Undetermined::FloorUnknown { .. } => Reason::FloorUnknown,
            Undetermined::NotCertified => Reason::NotCertified,
        });
    }
    for obstacle in &alone.obstacles {
        reasons.add_if(obstacle.not_a_shield.is_some(), Reason::UnusableObstacles);
    }
    let conditions = &alone.ceiling.conditions;
    reasons.add_if(
        conditions.iter().any(|it| it.contains("ESTIMATE")),
        Reason::EstimatedHeight,
    );
    let ceiling = (alone.ceiling.whole.as_ref()).or(alone.ceiling.determined_part.as_ref());
    if let Some(pair) = ceiling {
        let values = std::iter::once(&pair.above_ground).chain(&pair.amsl);
        for value in values {
            reasons.add_if(value.stopped != Stopped::Tolerance, Reason::StoppedShort);
        }
        reasons.add_if(
            pair.above_ground.value_m <= 0.0,
            Reason::CeilingNotAboveGround,
        );
    }
    reasons
}

/// The candidate sites of a folder of real data.
fn candidates(name: &str) -> Vec<Site> {
    let path = folder(name).join("candidate_sites.geojson");
    let text = std::fs::read_to_string(&path).unwrap();
    let file: Value = serde_json::from_str(&text).unwrap();
    let ids = file["features"].as_array().unwrap().iter();
    ids.map(|feature| {
        let id = feature["id"].as_str().unwrap();
        let read = read::operating_area(&path, Some(id)).unwrap();
        site(id, read.area)
    })
    .collect()
}

fn real_layers(folder: &Path) -> Layers {
    let options = ReadOptions {
        estimate_line_heights: true,
        assumed_sag: Some(Sag::ShareOfSpan(0.03)),
        ..ReadOptions::default()
    };
    read::layers(folder, &options).unwrap()
}

/// The 240 candidates of New Zealand and those of Krems, each alone and screened; the profile of the
/// country has a ring about the boundary, which no aerodrome gives.
#[test]
fn real_candidates_are_answered_as_alone() {
    for (name, profile, count) in [("new-zealand", "new-zealand", 240), ("krems", "plain", 1)] {
        let mut settings = settings(profile);
        settings.site_elevation = (name == "krems").then(|| Altitude::of(200.0));
        settings.sensitivity.wishes = vec![Height::of(40.0)];
        let common = Common::new(settings, real_layers(&folder(name)));
        let sites = candidates(name);
        assert!(sites.len() >= count, "{name}: {}", sites.len());
        let rows: Vec<Row> = sites.par_iter().map(|site| check(site, &common)).collect();
        let near = rows.iter().filter(|row| row.aerodrome.is_some()).count();
        assert!(near > sites.len() / 10, "{name}: {near} near an aerodrome");
    }
}

/// Terrain with voids: the ground is laid out about each site.
#[test]
fn sites_on_terrain_are_answered_as_alone() {
    let mut settings = settings("plain");
    settings.sensitivity = Sensitivity {
        reaches: vec![Metres::of(100.0), Metres::of(400.0)],
        wishes: vec![Height::of(30.0)],
        ..Sensitivity::default()
    };
    let common = Common::new(settings, real_layers(&folder("andorra")));
    for site in &candidates("andorra") {
        check(site, &common);
    }
}

/// The demo's layers under every built-in profile.
#[test]
fn the_demo_is_answered_as_alone() {
    let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let read = read::operating_area(&demo.join("area.geojson"), None).unwrap();
    for (name, _) in profile::built_in() {
        let mut settings = settings(name);
        settings.qnh = eaves::units::Pressure::new(1013.0).ok();
        let layers = read::layers(&demo, &ReadOptions::default()).unwrap();
        let common = Common::new(settings, layers);
        let row = check(
            &Site {
                wish: Some(Height::of(40.0)),
                ..site("demo", read.area.clone())
            },
            &common,
        );
        assert!(row.aerodrome.is_some(), "{name}");
    }
}

/// A district with many masts and spans of a few heights (so that levels tie), and aerodromes whose
/// rings cross it.
fn district(numbers: &mut Numbers, obstacles: usize) -> Layers {
    let mut all = Vec::new();
    for number in 0..obstacles {
        let at = (
            numbers.between(-900.0, 900.0),
            numbers.between(-900.0, 900.0),
        );
        let height = 15.0 + (number % 7) as f64 * 5.0;
        if number % 3 == 0 {
            let to = (
                at.0 + numbers.between(-200.0, 200.0),
                at.1 + numbers.between(-200.0, 200.0),
            );
            let sag = (number % 5 != 0).then_some(Sag::ShareOfSpan(0.02));
            all.push(span(at, to, height, sag, 0.5));
        } else {
            all.push(mast(at.0, at.1, height, 0.5));
        }
    }
    let aerodromes = [(5_200.0, 300.0), (-1_700.0, -1_200.0), (9_000.0, 9_000.0)]
        .iter()
        .enumerate()
        .map(|(number, (x, y))| field(number, *x, *y))
        .collect();
    layers(aerodromes, all)
}

fn field(number: usize, x: f64, y: f64) -> Aerodrome {
    let boundary = Polygon::new(
        rectangle(x - 300.0, y - 200.0, 600.0, 400.0)
            .into_iter()
            .map(|(x, y)| {
                let at = place(x, y);
                Coord {
                    x: at.lon(),
                    y: at.lat(),
                }
            })
            .collect::<LineString<f64>>(),
        Vec::new(),
    );
    Aerodrome {
        source: eaves::site::FeatureRef {
            file: "aerodromes.geojson".into(),
            feature: format!("#{number}").into(),
        },
        ident: Some(format!("X{number}")),
        name: format!("Field {number}"),
        kind: if number == 1 {
            AerodromeKind::Heliport
        } else {
            AerodromeKind::Aerodrome
        },
        reference_point: (number != 2).then(|| place(x, y)),
        elevation: None,
        controlled: (number == 0).then_some(true),
        military: None,
        hours: PublishedHours::default(),
        runways: Vec::new(),
        movement_area: None,
        boundary: (number != 1).then(|| MultiPolygon::new(vec![boundary])),
    }
}

fn random_sites(numbers: &mut Numbers, count: usize) -> Vec<Site> {
    (0..count)
        .map(|number| {
            let (x, y) = (
                numbers.between(-700.0, 700.0),
                numbers.between(-700.0, 700.0),
            );
            let corners = 5 + number % 8;
            let size = numbers.between(20.0, 300.0);
            let mut ring: Vec<(f64, f64)> = (0..corners)
                .map(|corner| {
                    let turn = std::f64::consts::TAU * corner as f64 / corners as f64;
                    let out = size * numbers.between(0.6, 1.0);
                    (x + out * turn.cos(), y + out * turn.sin())
                })
                .collect();
            ring.extend(ring.first().copied());
            site(&format!("site {number}"), area(origin(), &[ring]))
        })
        .collect()
}

/// Random crowded districts, level ground stated and assumed, every profile in turn, and lists of
/// reach, margin, accuracy and wish.
#[test]
fn crowded_districts_are_answered_as_alone() {
    let mut numbers = Numbers(5);
    let names: Vec<&str> = profile::built_in().iter().map(|(name, _)| *name).collect();
    let (mut whole, mut part, mut none) = (0, 0, 0);
    for round in 0..14 {
        let mut settings = settings(names[round % names.len()]);
        settings.site_elevation = (round % 2 == 0).then(|| Altitude::of(310.0));
        settings.ground_accuracy = (round % 3 == 0).then(|| Metres::of(1.5));
        settings.sensitivity = Sensitivity {
            reaches: vec![Metres::of(100.0), Metres::of(60.0)],
            margins: vec![Metres::of(0.0), Metres::of(5.0)],
            obstacle_accuracies: vec![Metres::of(0.0), Metres::of(3.0)],
            wishes: vec![Height::of(12.0), Height::of(25.0)],
        };
        let common = Common::new(settings, district(&mut numbers, [20, 120, 700][round % 3]));
        let sites = random_sites(&mut numbers, 6);
        let rows: Vec<Row> = sites.par_iter().map(|site| check(site, &common)).collect();
        for case in rows.iter().flat_map(|row| &row.cases) {
            match case.ceiling.map(|part| part.of) {
                Some(CeilingOf::Whole) => whole += 1,
                Some(CeilingOf::DeterminedPart) => part += 1,
                None => none += 1,
            }
        }
    }
    assert!(
        whole > 100 && part > 100 && none > 0,
        "{whole} {part} {none}"
    );
}

/// A site that cannot be laid out is a row with its cause, and the next is answered.
#[test]
fn a_bad_site_is_a_row_with_its_reason() {
    let common = Common::new(
        settings("plain"),
        layers(vec![], vec![mast(0.0, 0.0, 40.0, 0.0)]),
    );
    let flat = [(0.0, 0.0); 4];
    let bad = site("bad", area(origin(), &[flat.to_vec()]));
    let good = site("good", area(origin(), &[rectangle(0.0, 0.0, 20.0, 20.0)]));
    let rows: Vec<Row> = [&bad, &good, &bad].map(|site| answer(site, &common)).into();
    assert!(rows[0].error.as_ref().unwrap().contains("triangles"));
    assert!(rows[0].reasons.has(Reason::NotAnswered) && rows[0].cases.is_empty());
    assert!(!rows[0].is_decided());
    assert_eq!(rows[0], rows[2]);
    assert_eq!(rows[1].error, None);
    assert_eq!(rows[1].cases.len(), 1);
}

/// One thread and two, and any order: the same rows.
#[test]
fn threads_and_order_change_nothing() {
    let mut numbers = Numbers(11);
    let common = Common::new(settings("plain"), district(&mut numbers, 150));
    let sites = random_sites(&mut numbers, 40);
    let one: Vec<Row> = sites.iter().map(|site| answer(site, &common)).collect();
    let two: Vec<Row> = rayon::ThreadPoolBuilder::new()
        .num_threads(2)
        .build()
        .unwrap()
        .install(|| sites.par_iter().map(|site| answer(site, &common)).collect());
    assert_eq!(one, two);
    let mut back: Vec<Row> = sites
        .iter()
        .rev()
        .map(|site| answer(site, &common))
        .collect();
    back.reverse();
    assert_eq!(one, back);
}

/// Codes are distinct, snake case, and numbered as listed.
#[test]
fn codes_are_closed_lists() {
    let mut codes: Vec<&str> = Reason::ALL.iter().map(|reason| reason.code()).collect();
    codes.extend(NotScreened::ALL.iter().map(|it| it.code()));
    for code in &codes {
        assert!(
            code.chars().all(|c| c.is_ascii_lowercase() || c == '_'),
            "{code}"
        );
    }
    let count = codes.len();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), count);
    for (number, reason) in Reason::ALL.into_iter().enumerate() {
        assert_eq!(reason as usize, number);
        let alone: Reasons = [reason].into_iter().collect();
        assert_eq!(alone.iter().collect::<Vec<_>>(), [reason]);
    }
}
