//! Whole assessments made up for tests of the figure: an invented site in inland New South Wales, a
//! town, a corridor across the antimeridian, areas of a few metres, and random busy sites.

use eaves::aerodrome::AerodromeKind;
use eaves::answer::*;
use eaves::obstacle::{ObstacleKind, Shape};
use eaves::profile::Reference;
use eaves::units::{Altitude, Height, Metres};
use geo::{MultiPolygon, Polygon};

use crate::figure_fixture::{Ground, aerodrome, bare, ceiling_value, obstacle};

/// The full scene: an L-shaped area with a hole under a line of four spans, a crane, a silo,
/// buildings, two aerodromes with rings, one uncovered corner.
pub fn district() -> Assessment {
    let g = Ground::at(150.842_31, -29.774_55);
    let outer = [
        (-150.0, -120.0),
        (160.0, -120.0),
        (160.0, -20.0),
        (0.0, -10.0),
        (0.0, 130.0),
        (-150.0, 130.0),
    ];
    let hole = [(-110.0, 60.0), (-110.0, 90.0), (-75.0, 90.0), (-75.0, 60.0)];
    let area = Polygon::new(g.ring(&outer), vec![g.ring(&hole)]);
    let mut a = bare(
        "Wattle Creek conductor survey, block 4",
        MultiPolygon::new(vec![area]),
    );
    a.area.area_m2 = 52_300.0;
    a.ground = GroundAnswer {
        source: GroundSource::Terrain {
            file: "terrain.tif".into(),
        },
        accuracy_m: Metres::of(2.0),
        accuracy_is_stated: true,
        lowest_m_amsl: Some(Altitude::of(309.2)),
        highest_m_amsl: Some(Altitude::of(316.8)),
        unknown_share: 0.0,
    };
    let supports = [
        (-420.0, 70.0),
        (-210.0, 40.0),
        (-20.0, 10.0),
        (190.0, -18.0),
        (400.0, -44.0),
    ];
    let tops = [58.0f64, 60.0, 60.0, 55.5, 57.0];
    for (index, pair) in supports.windows(2).enumerate() {
        let chain = pair.iter().map(|(x, y)| g.place(*x, *y)).collect();
        let title = format!("span {} of line \"Ridge 330 kV\"", index + 1);
        let top = tops[index].min(tops[index + 1]);
        let mut span = obstacle(
            &title,
            ObstacleKind::Span,
            "line/1",
            Some(index),
            Some(top),
            Shape::Chain(chain),
        );
        span.is_estimate = false;
        a.obstacles.push(span);
    }
    for (index, (x, y)) in supports.iter().enumerate() {
        a.obstacles.push(obstacle(
            &format!("support \"R{}\"", 40 + index),
            ObstacleKind::Support,
            &format!("support/{index}"),
            None,
            Some(tops[index]),
            Shape::Point(g.place(*x, *y)),
        ));
    }
    let low = [
        (-260.0, -230.0),
        (-90.0, -190.0),
        (90.0, -180.0),
        (330.0, -210.0),
    ];
    for (index, pair) in low.windows(2).enumerate() {
        let chain = pair.iter().map(|(x, y)| g.place(*x, *y)).collect();
        let mut span = obstacle(
            &format!("span {} of line \"Creek 66 kV\"", index + 1),
            ObstacleKind::Span,
            "line/2",
            Some(index),
            Some(21.0),
            Shape::Chain(chain),
        );
        span.is_estimate = true;
        a.obstacles.push(span);
    }
    let mut crane = obstacle(
        "tower crane \"Depot\"",
        ObstacleKind::Structure("tower crane".into()),
        "crane/1",
        None,
        Some(45.0),
        Shape::Point(g.place(205.0, 80.0)),
    );
    crane.not_a_shield = Some("temporary".into());
    crane.trusted_top_m_agl = None;
    crane.trusted_top_m_amsl = None;
    a.obstacles.push(crane);
    a.obstacles.push(obstacle(
        "silo \"North bin\"",
        ObstacleKind::Structure("silo".into()),
        "silo/1",
        None,
        Some(38.2),
        Shape::Outline(g.polygon(&[(30.0, 60.0), (48.0, 56.0), (54.0, 72.0), (36.0, 78.0)])),
    ));
    for index in 0..7 {
        let x = 230.0 + 22.0 * f64::from(index % 4);
        let y = -95.0 - 26.0 * f64::from(index / 4);
        a.surroundings.push(obstacle(
            &format!("building way/{index}"),
            ObstacleKind::Building,
            &format!("way/{index}"),
            None,
            None,
            Shape::Outline(g.polygon(&[
                (x, y),
                (x + 14.0, y),
                (x + 14.0, y + 12.0),
                (x, y + 12.0),
            ])),
        ));
    }
    let governs = g.place(-150.0, -52.0);
    let shield = a.obstacles[1].clone();
    let uncovered = [
        (108.0, -120.0),
        (160.0, -120.0),
        (160.0, -96.0),
        (126.0, -100.0),
    ];
    a.shielding = vec![ShieldingAnswer {
        rule: "shielding".into(),
        term: 0,
        reach_m: Metres::of(100.0),
        margin_m: Metres::of(10.0),
        shields_in_reach: 6,
        not_shields_in_reach: 3,
        lowest_shielding: Some(ShieldAnswer {
            title: shield.title.clone(),
            kind: shield.kind.clone(),
            source: shield.source.clone(),
            span_index: shield.span_index,
            position: g.place(-150.0, 30.0),
            distance_m: Metres::ZERO,
            trusted_top_m_amsl: shield.trusted_top_m_amsl,
            trusted_top_m_agl: shield.trusted_top_m_agl.unwrap(),
            is_estimate: false,
            shape: shield.shape.clone(),
        }),
        governs_at: Some(g.place(-150.0, -66.0)),
        lowest_in_reach: None,
        covered_share: 0.967,
        is_wholly_covered: false,
        uncovered: MultiPolygon::new(vec![g.polygon(&uncovered)]),
        uncovered_m2: 986.0,
    }];
    a.ceiling = CeilingAnswer {
        whole: None,
        determined_part: Some(CeilingPair {
            amsl: Some(ceiling_value(
                351.93,
                g.place(-150.0, -66.0),
                Some(&shield.title),
            )),
            above_ground: ceiling_value(38.149, governs, Some(&shield.title)),
        }),
        undetermined: vec![Undetermined::Uncovered {
            uncovered_m2: 986.0,
            share: 0.0189,
        }],
        conditions: vec![],
    };
    let to_north = g.place(-150.0, 130.0);
    let to_east = g.place(160.0, -20.0);
    a.aerodromes = vec![
        aerodrome(
            "YWTC",
            "Wattle Creek Hospital",
            AerodromeKind::Heliport,
            g.place(2600.0, 900.0),
            &[],
            to_east,
            330.0,
        ),
        aerodrome(
            "YBNG",
            "Bingara Downs",
            AerodromeKind::Aerodrome,
            g.place(-3300.0, 4300.0),
            &[("09/27", 92.0, 1500.0), ("15/33", 151.0, 1100.0)],
            to_north,
            330.0,
        ),
    ];
    a.layers = [
        ("aerodromes", "aerodromes.geojson"),
        ("runways", "runways.geojson"),
        ("power-lines", "power_lines.geojson"),
        ("structures", "structures.geojson"),
        ("terrain", "terrain.tif"),
    ]
    .map(|(layer, file)| LayerAnswer {
        layer: layer.into(),
        file: file.into(),
        features: 12,
        crs: "OGC:CRS84".into(),
        date: Some("2026-05-01".into()),
        source: Some("synthetic, made for the demonstration".into()),
    })
    .to_vec();
    a
}

/// The district with its ceiling determined over the whole area.
pub fn determined() -> Assessment {
    let mut a = district();
    a.ceiling.whole = a.ceiling.determined_part.take();
    a.ceiling.undetermined.clear();
    if let Some(shielding) = a.shielding.first_mut() {
        shielding.uncovered = MultiPolygon::new(vec![]);
        shielding.uncovered_m2 = 0.0;
        shielding.is_wholly_covered = true;
    }
    if let Some(pair) = &mut a.ceiling.whole {
        let place = pair.above_ground.governs_at;
        if let Some(amsl) = &mut pair.amsl {
            amsl.governs_at = place;
        }
    }
    a
}

/// Hundreds of structures without heights and lines without tops, as in town; no variation.
pub fn town() -> Assessment {
    let g = Ground::at(15.6, 48.41);
    let area = g.polygon(&[
        (-120.0, -90.0),
        (130.0, -70.0),
        (110.0, 100.0),
        (-100.0, 80.0),
    ]);
    let mut a = bare("Hospital grounds", MultiPolygon::new(vec![area]));
    for index in 0..391 {
        let (column, row) = (f64::from(index % 23), f64::from(index / 23));
        let (x, y) = (column * 38.0 - 420.0, row * 36.0 - 300.0);
        let corners = [
            (x, y),
            (x + 20.0, y + 3.0),
            (x + 18.0, y + 15.0),
            (x - 2.0, y + 12.0),
        ];
        let title = format!("building way/{index}");
        let shape = Shape::Outline(g.polygon(&corners));
        let id = format!("way/{index}");
        a.obstacles.push(obstacle(
            &title,
            ObstacleKind::Building,
            &id,
            None,
            None,
            shape,
        ));
    }
    for index in 0..12 {
        let x = f64::from(index) * 90.0 - 500.0;
        let chain = vec![g.place(x, x * 0.2), g.place(x + 90.0, (x + 90.0) * 0.2)];
        a.obstacles.push(obstacle(
            &format!("span {} of line way/9", index + 1),
            ObstacleKind::Span,
            "way/9",
            Some(index as usize),
            None,
            Shape::Chain(chain.clone()),
        ));
        a.obstacles.push(obstacle(
            &format!("support node/{index}"),
            ObstacleKind::Support,
            &format!("node/{index}"),
            None,
            None,
            Shape::Point(chain[0]),
        ));
    }
    a.variation = VariationAnswer::Unknown {
        why: "2031-01-01 is after the last year of WMM2025".into(),
    };
    a.aerodromes = vec![
        aerodrome(
            "LOGK",
            "Universitätsklinikum Krems",
            AerodromeKind::Heliport,
            g.place(270.0, 60.0),
            &[],
            g.place(130.0, 20.0),
            260.0,
        ),
        aerodrome(
            "LOAG",
            "Krems-Langenlois",
            AerodromeKind::Aerodrome,
            g.place(3100.0, 3300.0),
            &[("11/29", 112.0, 1000.0)],
            g.place(110.0, 100.0),
            260.0,
        ),
    ];
    a
}

/// A corridor of 20 km with 60 spans, 30 aerodromes at all distances.
pub fn corridor() -> Assessment {
    let g = Ground::at(-179.99, -16.8);
    let area = g.polygon(&[
        (-10_000.0, -60.0),
        (10_000.0, 1940.0),
        (10_000.0, 2060.0),
        (-10_000.0, 60.0),
    ]);
    let mut a = bare(
        "Corridor across the antimeridian",
        MultiPolygon::new(vec![area]),
    );
    for index in 0..60usize {
        let x = index as f64 * 330.0 - 9_900.0;
        let chain = vec![
            g.place(x, x * 0.1 + 1000.0),
            g.place(x + 330.0, (x + 330.0) * 0.1 + 1000.0),
        ];
        let title = format!("span {} of line \"Coast\"", index + 1);
        a.obstacles.push(obstacle(
            &title,
            ObstacleKind::Span,
            "coast",
            Some(index),
            Some(40.0),
            Shape::Chain(chain.clone()),
        ));
        a.obstacles.push(obstacle(
            "support",
            ObstacleKind::Support,
            &format!("s{index}"),
            None,
            Some(47.5),
            Shape::Point(chain[0]),
        ));
    }
    for index in 0..30 {
        let turn = f64::from(index) * 2.4;
        let far = 2500.0 + 1500.0 * f64::from(index);
        let at = g.place(far * turn.cos(), far * turn.sin());
        a.aerodromes.push(aerodrome(
            &format!("X{index:02}"),
            "Airstrip",
            AerodromeKind::Other,
            at,
            &[("06/24", 60.0, 800.0)],
            g.place(0.0, 1000.0),
            20_000.0,
        ));
    }
    a.aerodromes.sort_by(|x, y| {
        let d = |a: &AerodromeAnswer| a.nearest().unwrap().distance_m.m();
        d(x).total_cmp(&d(y))
    });
    a.ceiling.undetermined = vec![];
    a.ceiling.whole = Some(CeilingPair {
        amsl: None,
        above_ground: ceiling_value(
            22.5,
            g.place(3000.0, 1300.0),
            Some("span 40 of line \"Coast\""),
        ),
    });
    a
}

/// An area of 5 m with nothing around it.
pub fn tiny() -> Assessment {
    let g = Ground::at(0.0, 0.0);
    let area = g.polygon(&[(-2.5, -2.5), (2.5, -2.5), (2.5, 2.5), (-2.5, 2.5)]);
    let mut a = bare("Mast base", MultiPolygon::new(vec![area]));
    a.area.area_m2 = 25.0;
    a
}

/// The tiny area beside a mast that shields it from 95 m.
pub fn tiny_by_a_mast() -> Assessment {
    let mut a = tiny();
    a.area.name = "אזור <b>&amp; \u{7} 東京 𝔐 \u{202E}desrever\u{0} ]]> Žďár Þórshöfn".into();
    let g = Ground::at(0.0, 0.0);
    let mast = obstacle(
        "mast \"Tower <1>\"",
        ObstacleKind::Structure("mast".into()),
        "m",
        None,
        Some(80.0),
        Shape::Point(g.place(95.0, 20.0)),
    );
    a.shielding = vec![ShieldingAnswer {
        rule: "shielding".into(),
        term: 0,
        reach_m: Metres::of(100.0),
        margin_m: Metres::of(10.0),
        shields_in_reach: 1,
        not_shields_in_reach: 0,
        lowest_shielding: Some(ShieldAnswer {
            title: mast.title.clone(),
            kind: mast.kind.clone(),
            source: mast.source.clone(),
            span_index: None,
            position: g.place(95.0, 20.0),
            distance_m: Metres::of(94.0),
            trusted_top_m_amsl: None,
            trusted_top_m_agl: Height::of(72.5),
            is_estimate: true,
            shape: mast.shape.clone(),
        }),
        governs_at: Some(g.place(-2.5, -2.5)),
        lowest_in_reach: None,
        covered_share: 1.0,
        is_wholly_covered: true,
        uncovered: MultiPolygon::new(vec![]),
        uncovered_m2: 0.0,
    }];
    a.ceiling.undetermined.clear();
    a.ceiling.whole = Some(CeilingPair {
        amsl: None,
        above_ground: ceiling_value(62.5, g.place(-2.5, -2.5), Some(&mast.title)),
    });
    a.obstacles = vec![ObstacleAnswer {
        is_estimate: true,
        ..mast
    }];
    a
}

/// All fixtures by name.
pub fn all() -> Vec<(&'static str, Assessment)> {
    vec![
        ("district", district()),
        ("determined", determined()),
        ("town", town()),
        ("corridor", corridor()),
        ("tiny", tiny()),
        ("tiny-by-a-mast", tiny_by_a_mast()),
        ("on-the-aerodrome", on_the_aerodrome()),
    ]
}

/// Two parts of an area, one on an aerodrome with an outline; rings from the boundary, and one from
/// a substitute; a westerly variation; all layers with long sources.
pub fn on_the_aerodrome() -> Assessment {
    let g = Ground::at(-71.02, 42.36);
    let parts = vec![
        g.polygon(&[(-40.0, -60.0), (60.0, -80.0), (90.0, 20.0), (0.0, 40.0)]),
        g.polygon(&[(150.0, 60.0), (240.0, 50.0), (230.0, 120.0)]),
    ];
    let mut a = bare("Apron lights", MultiPolygon::new(parts));
    a.variation = VariationAnswer::Known {
        declination_deg: -14.04,
        uncertainty_deg: 0.37,
        model: "WMM2025",
        date: "2026-11-25".into(),
    };
    let at = g.place(500.0, 100.0);
    let mut home = aerodrome(
        "KXYZ",
        "Harbour Field",
        AerodromeKind::Aerodrome,
        at,
        &[("04/22", 42.0, 2400.0), ("09/27", 93.0, 1800.0)],
        g.place(60.0, -20.0),
        300.0,
    );
    let boundary = [
        (-300.0, -900.0),
        (1400.0, -900.0),
        (1500.0, 1100.0),
        (-200.0, 1000.0),
    ];
    home.record.boundary = Some(MultiPolygon::new(vec![g.polygon(&boundary)]));
    home.references[3].distance = Some(DistanceAnswer {
        distance_m: Metres::ZERO,
        distance_nm: 0.0,
        farthest_m: Metres::ZERO,
        bearing_true_deg: None,
        bearing_magnetic_deg: None,
        from: g.place(0.0, 0.0),
        to: g.place(0.0, 0.0),
        part: None,
    });
    for (ring, from) in home.rings.iter_mut().zip([
        Some(Reference::Boundary),
        Some(Reference::RunwayEnd),
        Some(Reference::ReferencePoint),
        None,
    ]) {
        ring.about = Reference::Boundary;
        ring.measured_from = from;
        ring.is_substitute = from.is_some() && from != Some(Reference::Boundary);
    }
    let mut closed = aerodrome(
        "KOLD",
        "Old Field",
        AerodromeKind::Closed,
        g.place(-2500.0, -1800.0),
        &[("18/36", 178.0, 900.0)],
        g.place(-40.0, -60.0),
        300.0,
    );
    closed.record.runways[0].closed = true;
    let mut unplaced = closed.clone();
    unplaced.title = "NOWHERE".into();
    unplaced.record.reference_point = None;
    unplaced.record.runways.clear();
    for reference in &mut unplaced.references {
        reference.distance = None;
    }
    a.aerodromes = vec![home, closed, unplaced];
    a.layers = (0..12)
        .map(|index| LayerAnswer {
            layer: "structures".into(),
            file: format!("structures_{index}.geojson"),
            features: 12,
            crs: "OGC:CRS84".into(),
            date: None,
            source: Some(
                "a source with a very long statement of its licence and of its owners".into(),
            ),
        })
        .collect();
    a
}
