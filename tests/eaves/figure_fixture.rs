//! Assessments made up for tests of the figure: an invented site in inland New South Wales.
//!
//! The numbers are plausible but computed by nobody; only what the figure does with them is tested.

use eaves::aerodrome::{Aerodrome, AerodromeKind, Runway, RunwayEnd};
use eaves::answer::*;
use eaves::frame::{LocalFrame, LonLat, Xy, geodesic};
use eaves::obstacle::{ObstacleKind, Shape};
use eaves::profile::{Mark, Profile, Quantity, Reference, Term};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::{Altitude, Bearing, Height, Metres};
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// A plane to lay a site out in.
pub struct Ground {
    pub frame: LocalFrame,
}

impl Ground {
    pub fn at(lon: f64, lat: f64) -> Self {
        Self {
            frame: LocalFrame::about(LonLat::new(lon, lat).unwrap()),
        }
    }

    pub fn place(&self, x: f64, y: f64) -> LonLat {
        self.frame.to_place(Xy::new(x, y))
    }

    pub fn ring(&self, corners: &[(f64, f64)]) -> LineString<f64> {
        corners
            .iter()
            .chain(corners.first())
            .map(|(x, y)| {
                let place = self.place(*x, *y);
                Coord {
                    x: place.lon(),
                    y: place.lat(),
                }
            })
            .collect()
    }

    pub fn polygon(&self, corners: &[(f64, f64)]) -> Polygon<f64> {
        Polygon::new(self.ring(corners), vec![])
    }
}

pub fn feature(file: &str, id: &str) -> FeatureRef {
    FeatureRef {
        file: file.into(),
        feature: id.into(),
    }
}

pub fn quantity(key: &str, value: f64) -> Quantity {
    Quantity {
        key: key.into(),
        value,
        unit: "m".into(),
        value_m: Metres::of(value),
        citation: "common practice".into(),
        edition: String::new(),
        mark: Mark::CommonPractice,
    }
}

/// An assessment of an area with nothing around it.
pub fn bare(name: &str, polygons: MultiPolygon<f64>) -> Assessment {
    let record = OperatingArea {
        source: feature("area.geojson", "#1"),
        name: name.into(),
        polygons: polygons.clone(),
    };
    let middle = record.frame().origin();
    Assessment {
        format: FORMAT,
        caution: CAUTION,
        version: "0.1.0",
        date: "2026-11-25".into(),
        area: AreaAnswer {
            name: name.into(),
            source: record.source.clone(),
            middle,
            area_m2: 20_000.0,
            perimeter_m: Metres::of(900.0),
            outline: polygons,
            record,
        },
        profile: ProfileAnswer {
            name: "plain".into(),
            title: "Plain shielding rule (common practice)".into(),
            values: vec![],
            conditions: vec![],
            record: Profile {
                name: "plain".into(),
                title: "Plain".into(),
                rings: vec![],
                reference: Reference::ReferencePoint,
                expression: Term::Cap {
                    title: "cap".into(),
                    height: quantity("cap.height", 120.0),
                },
                conditions: vec![],
            },
        },
        variation: VariationAnswer::Known {
            declination_deg: 11.27,
            uncertainty_deg: 0.34,
            model: "WMM2025",
            date: "2026-11-25".into(),
        },
        ground: GroundAnswer {
            source: GroundSource::AssumedFlat,
            accuracy_m: Metres::ZERO,
            accuracy_is_stated: false,
            lowest_m_amsl: None,
            highest_m_amsl: None,
            unknown_share: 0.0,
        },
        search_radius_m: Metres::of(20_000.0),
        aerodromes: vec![],
        shielding: vec![],
        ceiling: CeilingAnswer {
            whole: None,
            determined_part: None,
            undetermined: vec![Undetermined::NoShield],
            conditions: vec![],
        },
        wish: None,
        not_assessed: vec![],
        cautions: vec![],
        layers: vec![],
        obstacles: vec![],
        surroundings: vec![],
    }
}

pub fn obstacle(
    title: &str,
    kind: ObstacleKind,
    id: &str,
    span: Option<usize>,
    top: Option<f64>,
    shape: Shape,
) -> ObstacleAnswer {
    ObstacleAnswer {
        title: title.into(),
        kind,
        source: feature("layer.geojson", id),
        span_index: span,
        distance_m: Metres::of(40.0),
        top_m_agl: top.map(Height::of),
        top_m_amsl: top.map(|t| Altitude::of(t + 312.4)),
        trusted_top_m_amsl: top.map(|t| Altitude::of(t + 312.4 - 7.5)),
        trusted_top_m_agl: top.map(|t| Height::of(t - 7.5)),
        not_a_shield: top.is_none().then(|| "has no height".into()),
        is_estimate: false,
        shape,
    }
}

pub fn ceiling_value(value_m: f64, at: LonLat, shield: Option<&str>) -> CeilingValue {
    CeilingValue {
        value_m,
        attained_m: value_m + 0.05,
        stopped: Stopped::Tolerance,
        cells: 100,
        governs_at: at,
        governs: "shielding".into(),
        shield: shield.map(Into::into),
        budget: vec![],
    }
}

pub fn rings(distance_m: f64, across_m: f64) -> Vec<RingAnswer> {
    [1.0, 2.0, 3.0, 5.0]
        .into_iter()
        .map(|nm| {
            let radius = nm * 1852.0;
            let (near, far) = (distance_m - radius, distance_m + across_m - radius);
            RingAnswer {
                radius_m: Metres::of(radius),
                label: format!("{nm} NM"),
                about: Reference::ReferencePoint,
                measured_from: Some(Reference::ReferencePoint),
                is_substitute: false,
                state: if far <= 0.0 {
                    ZoneState::Inside
                } else if near <= 0.0 {
                    ZoneState::Straddles
                } else {
                    ZoneState::Outside
                },
                margin_m: Some(Metres::of(near)),
                farthest_margin_m: Some(Metres::of(far)),
                share_inside: None,
            }
        })
        .collect()
}

/// An aerodrome with its nearest distance measured from a runway end to `to`.
pub fn aerodrome(
    ident: &str,
    name: &str,
    kind: AerodromeKind,
    at: LonLat,
    runways: &[(&str, f64, f64)],
    to: LonLat,
    across_m: f64,
) -> AerodromeAnswer {
    let local = Ground {
        frame: LocalFrame::about(at),
    };
    let source = feature("aerodromes.geojson", ident);
    let end = |designator: &str, bearing: f64, half: f64| RunwayEnd {
        designator: Some(designator.into()),
        position: Some(local.place(
            half * bearing.to_radians().sin(),
            half * bearing.to_radians().cos(),
        )),
        elevation: None,
        true_bearing: None,
        displaced_threshold: None,
    };
    let runways: Vec<Runway> = runways
        .iter()
        .map(|(designator, bearing, length)| {
            let (low, high) = designator.split_once('/').unwrap();
            Runway {
                source: source.clone(),
                designator: (*designator).into(),
                ends: [
                    end(low, bearing + 180.0, length / 2.0),
                    end(high, *bearing, length / 2.0),
                ],
                length: Some(Metres::of(*length)),
                width: None,
                closed: false,
            }
        })
        .collect();
    let distance = |from: LonLat, part: Option<String>| {
        let line = geodesic(from, to);
        DistanceAnswer {
            distance_m: line.distance,
            distance_nm: line.distance.nm(),
            farthest_m: Metres::of(line.distance.m() + across_m),
            bearing_true_deg: Some(line.bearing_from),
            bearing_magnetic_deg: Some(line.bearing_from.magnetic(11.27)),
            from,
            to,
            part,
        }
    };
    let nearest_end = runways
        .iter()
        .flat_map(|r| &r.ends)
        .filter_map(|e| Some((e.position?, e.designator.clone())))
        .min_by(|a, b| {
            let d = |p: LonLat| geodesic(p, to).distance.m();
            d(a.0).total_cmp(&d(b.0))
        });
    let from_point = distance(at, None);
    let rings = rings(from_point.distance_m.m(), across_m);
    AerodromeAnswer {
        title: format!("{ident} {name}"),
        ident: Some(ident.into()),
        kind,
        source: source.clone(),
        references: vec![
            ReferenceAnswer {
                reference: Reference::ReferencePoint,
                distance: Some(from_point),
            },
            ReferenceAnswer {
                reference: Reference::RunwayEnd,
                distance: nearest_end.map(|(place, part)| distance(place, part)),
            },
            ReferenceAnswer {
                reference: Reference::MovementArea,
                distance: None,
            },
            ReferenceAnswer {
                reference: Reference::Boundary,
                distance: None,
            },
        ],
        rings,
        record: Aerodrome {
            source,
            ident: Some(ident.into()),
            name: name.into(),
            kind,
            reference_point: Some(at),
            elevation: None,
            controlled: None,
            runways,
            movement_area: None,
            boundary: None,
        },
    }
}

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
    let _ = Bearing::NORTH;
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
    ]
}

/// A site with many lines, masts and aerodromes at random; `number` gives values from 0 to 1.
pub fn busy(number: &mut dyn FnMut() -> f64) -> Assessment {
    let mut between = |low: f64, high: f64| low + (high - low) * number();
    let g = Ground::at(between(-180.0, 180.0), between(-70.0, 70.0));
    let size = between(20.0, 900.0);
    let area = g.polygon(&[
        (-size, -size * 0.4),
        (size * 0.7, -size),
        (size, size * 0.5),
        (-size * 0.2, size),
    ]);
    let mut a = bare("Busy", MultiPolygon::new(vec![area]));
    let count = between(20.0, 140.0) as usize;
    for index in 0..count {
        let (x, y) = (between(-1.6, 1.6) * size, between(-1.6, 1.6) * size);
        let id = format!("m{index}");
        let title = format!("mast \"Number {index} of many\"");
        let kind = ObstacleKind::Structure("mast".into());
        let top = (between(0.0, 1.0) > 0.2).then(|| between(9.0, 90.0));
        a.obstacles.push(obstacle(
            &title,
            kind,
            &id,
            None,
            top,
            Shape::Point(g.place(x, y)),
        ));
    }
    for line in 0..4 {
        let (mut x, mut y) = (-1.8 * size, between(-1.0, 1.0) * size);
        for span in 0..10 {
            let (nx, ny) = (x + 0.4 * size, y + between(-0.2, 0.2) * size);
            let chain = vec![g.place(x, y), g.place(nx, ny)];
            let title = format!("span {} of line way/{line}", span + 1);
            let top = Some(between(20.0, 60.0));
            let id = format!("way/{line}");
            a.obstacles.push(obstacle(
                &title,
                ObstacleKind::Span,
                &id,
                Some(span),
                top,
                Shape::Chain(chain),
            ));
            a.obstacles.push(obstacle(
                "support",
                ObstacleKind::Support,
                &format!("{line}-{span}"),
                None,
                top,
                Shape::Point(g.place(x, y)),
            ));
            (x, y) = (nx, ny);
        }
    }
    let governs = (between(-0.2, 0.6) * size, between(-0.3, 0.4) * size);
    let at = g.place(governs.0, governs.1);
    let other = g.place(governs.0 + between(0.0, 0.1) * size, governs.1);
    a.ceiling.undetermined.clear();
    a.ceiling.whole = Some(CeilingPair {
        amsl: Some(ceiling_value(
            410.0,
            other,
            Some("mast \"Number 1 of many\""),
        )),
        above_ground: ceiling_value(30.0, at, Some("mast \"Number 1 of many\"")),
    });
    for index in 0..6 {
        let (x, y) = (between(-9e3, 9e3), between(-9e3, 9e3));
        a.aerodromes.push(aerodrome(
            &format!("X{index}"),
            "Field",
            AerodromeKind::Aerodrome,
            g.place(x, y),
            &[("09/27", 90.0, 900.0)],
            g.place(0.0, 0.0),
            size,
        ));
    }
    a
}
