//! An assessment built by hand: every kind of answer once, its numbers chosen to be checked by eye.
//!
//! The height budget is the worked contrast that the project gives (common practice, no source):
//! support top 60 m, earth wire sag 6.5 m, obstacle accuracy 3 m, margin 10 m, ground 4 m above the
//! base: 36.5 m above ground; the base lies at 300 m AMSL.

use eaves::aerodrome::{Aerodrome, AerodromeKind};
use eaves::answer::*;
use eaves::error::Caution;
use eaves::frame::LonLat;
use eaves::obstacle::{ObstacleKind, Shape};
use eaves::profile::{Mark, Profile, Quantity, Reference, Ring, Term};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::{Altitude, Bearing, Height, Metres};
use geo::{GeodesicArea, MultiPolygon, polygon};

pub fn place(lon: f64, lat: f64) -> LonLat {
    LonLat::new(lon, lat).unwrap()
}

pub fn feature(file: &str, feature: &str) -> FeatureRef {
    FeatureRef {
        file: file.into(),
        feature: feature.into(),
    }
}

fn quantity(key: &str, value: f64, unit: &str, value_m: f64, mark: Mark) -> Quantity {
    Quantity {
        key: key.into(),
        value,
        unit: unit.into(),
        value_m: Metres::of(value_m),
        citation: "common practice, no source".into(),
        edition: String::new(),
        mark,
    }
}

/// The profile that the fixture was answered with.
pub fn profile() -> Profile {
    let reach = quantity("shield.reach", 100.0, "m", 100.0, Mark::CommonPractice);
    let margin = quantity("shield.margin", 10.0, "m", 10.0, Mark::CommonPractice);
    let cap = quantity("cap.height", 120.0, "m", 120.0, Mark::FromMemory);
    let ring = |nm: f64, about| Ring {
        radius: quantity("rings.radius", nm, "NM", nm * 1852.0, Mark::Seen),
        about,
    };
    Profile {
        twilight: None,
        caution: "An aid, never legal advice.".into(),
        name: "plain".into(),
        title: "Plain shielding practice".into(),
        rings: vec![
            ring(1.0, Reference::ReferencePoint),
            ring(3.0, Reference::MovementArea),
        ],
        zones: vec![],
        reference: Reference::ReferencePoint,
        expression: Term::Lowest(vec![
            Term::Cap {
                title: "general cap".into(),
                height: cap,
            },
            Term::Highest(vec![Term::Shield {
                title: "shielding".into(),
                reach,
                margin,
                taller_than: Some(quantity(
                    "shield.taller_than",
                    105.0,
                    "m",
                    105.0,
                    Mark::Seen,
                )),
            }]),
        ]),
        conditions: vec!["The obstacle owner agrees in writing.".into()],
    }
}

pub fn budget(rows: &[(&str, BudgetStep, f64, &str)]) -> Vec<BudgetLine> {
    rows.iter()
        .map(|(label, step, value_m, note)| BudgetLine {
            label: (*label).into(),
            step: *step,
            value_m: *value_m,
            note: (*note).into(),
        })
        .collect()
}

/// The ceiling of the worked contrast.
pub fn pair() -> CeilingPair {
    use BudgetStep::{From, Gives, Less};
    let value = |value_m: f64, budget| CeilingValue {
        value_m,
        attained_m: value_m + 0.04,
        stopped: Stopped::Tolerance,
        cells: 120,
        governs_at: place(150.2096, -30.2096),
        governs: "shielding".into(),
        shield: Some("span 3 of line \"Ridge 330 kV\"".into()),
        budget,
    };
    let stated = "structures.geojson";
    CeilingPair {
        amsl: Some(value(
            340.5,
            budget(&[
                (
                    "support top AMSL",
                    From,
                    360.0,
                    "power-supports.geojson T12",
                ),
                ("sag at the lowest point", Less, 6.5, "layers.toml"),
                ("obstacle accuracy", Less, 3.0, "layers.toml"),
                ("margin", Less, 10.0, "common practice, no source"),
                ("ceiling AMSL", Gives, 340.5, ""),
            ]),
        )),
        above_ground: value(
            36.5,
            budget(&[
                (
                    "support top AMSL",
                    From,
                    360.0,
                    "power-supports.geojson T12",
                ),
                ("sag at the lowest point", Less, 6.5, "layers.toml"),
                ("obstacle accuracy", Less, 3.0, stated),
                ("margin", Less, 10.0, "common practice, no source"),
                ("ground at the governing place", Less, 304.0, "terrain.tif"),
                ("ceiling above ground", Gives, 36.5, ""),
            ]),
        ),
    }
}

fn shield(title: &str, source: FeatureRef, span_index: Option<usize>) -> ShieldAnswer {
    let position = place(150.2090001, -30.2090001);
    ShieldAnswer {
        title: title.into(),
        kind: ObstacleKind::Span,
        source,
        span_index,
        position,
        distance_m: Metres::of(12.79),
        trusted_top_m_amsl: Some(Altitude::of(350.5)),
        trusted_top_m_agl: Height::of(50.5),
        is_estimate: false,
        shape: Shape::Point(position),
    }
}

fn aerodrome(ident: &str, name: &str) -> AerodromeAnswer {
    let record = Aerodrome {
        source: feature("aerodromes.geojson", ident),
        ident: Some(ident.into()),
        name: name.into(),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(place(150.25, -30.17)),
        elevation: None,
        controlled: None,
        military: None,
        hours: Default::default(),
        runways: Vec::new(),
        movement_area: None,
        boundary: None,
    };
    let distance = |metres: f64, part: Option<&str>| DistanceAnswer {
        distance_m: Metres::of(metres),
        distance_nm: metres / 1852.0,
        farthest_m: Metres::of(metres + 600.0),
        bearing_true_deg: Some(Bearing::new(213.6).unwrap()),
        bearing_magnetic_deg: Some(Bearing::new(202.7).unwrap()),
        from: place(150.25, -30.17),
        to: place(150.21, -30.208),
        part: part.map(str::to_owned),
    };
    AerodromeAnswer {
        title: record.title(),
        ident: record.ident.clone(),
        kind: record.kind,
        source: record.source.clone(),
        references: vec![
            ReferenceAnswer {
                reference: Reference::ReferencePoint,
                distance: Some(distance(5503.9, None)),
            },
            ReferenceAnswer {
                reference: Reference::RunwayEnd,
                distance: Some(distance(5190.2, Some("09"))),
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
        rings: vec![
            ring(
                1.0,
                Reference::ReferencePoint,
                Some(Reference::ReferencePoint),
                ZoneState::Outside,
                3651.9,
                0.0,
            ),
            ring(
                3.0,
                Reference::ReferencePoint,
                Some(Reference::ReferencePoint),
                ZoneState::Straddles,
                -52.1,
                0.0004,
            ),
            ring(
                3.0,
                Reference::MovementArea,
                Some(Reference::RunwayEnd),
                ZoneState::Straddles,
                -365.8,
                0.9999,
            ),
            ring(
                5.0,
                Reference::ReferencePoint,
                Some(Reference::ReferencePoint),
                ZoneState::Inside,
                -3756.1,
                1.0,
            ),
            RingAnswer {
                margin_m: None,
                farthest_margin_m: None,
                share_inside: None,
                ..ring(
                    5.0,
                    Reference::Boundary,
                    None,
                    ZoneState::Undetermined,
                    0.0,
                    0.0,
                )
            },
        ],
        record,
    }
}

fn ring(
    nm: f64,
    about: Reference,
    measured_from: Option<Reference>,
    state: ZoneState,
    margin: f64,
    share: f64,
) -> RingAnswer {
    RingAnswer {
        radius_m: Metres::from_nautical_miles(nm),
        label: format!("{nm} NM"),
        about,
        measured_from,
        is_substitute: measured_from.is_some_and(|from| from != about),
        state,
        margin_m: Some(Metres::of(margin)),
        farthest_margin_m: Some(Metres::of(margin + 600.0)),
        share_inside: Some(share),
    }
}

/// The L-shaped area.
pub fn area() -> OperatingArea {
    let outline = polygon![
        (x: 150.208, y: -30.212), (x: 150.212, y: -30.212), (x: 150.212, y: -30.211),
        (x: 150.209, y: -30.211), (x: 150.209, y: -30.208), (x: 150.208, y: -30.208),
    ];
    OperatingArea {
        source: feature("area.geojson", "survey-1"),
        name: "L-shaped survey block".into(),
        polygons: MultiPolygon::new(vec![outline]),
    }
}

/// Everything, with an uncovered corner: the ceiling of the whole area is undetermined.
pub fn straddling() -> Assessment {
    let record = area();
    let area_m2 = record.polygons.geodesic_area_unsigned();
    let corner = polygon![
        (x: 150.2115, y: -30.212), (x: 150.212, y: -30.212), (x: 150.212, y: -30.2117),
    ];
    let obstacle = ObstacleAnswer {
        title: "tower crane \"Yard\"".into(),
        kind: ObstacleKind::Structure("crane".into()),
        source: feature("structures.geojson", "7"),
        span_index: None,
        distance_m: Metres::of(40.0),
        top_m_agl: Some(Height::of(70.0)),
        top_m_amsl: Some(Altitude::of(371.0)),
        trusted_top_m_amsl: None,
        trusted_top_m_agl: None,
        not_a_shield: Some("not permanent".into()),
        is_estimate: false,
        shape: Shape::Point(place(150.2, -30.2)),
    };
    Assessment {
        format: FORMAT,
        caution: CAUTION,
        version: "0.1.0",
        schedule: eaves::schedule::of(&record),
        date: "2026-07-01".into(),
        area: AreaAnswer {
            name: record.name.clone(),
            source: record.source.clone(),
            middle: place(150.21, -30.21),
            area_m2,
            perimeter_m: Metres::of(1_912.6),
            outline: record.polygons.clone(),
            record,
        },
        profile: ProfileAnswer {
            caution: "An aid, never legal advice.".into(),
            name: "plain".into(),
            title: "Plain shielding practice".into(),
            values: vec![
                quantity("shield.reach", 100.0, "m", 100.0, Mark::CommonPractice),
                quantity("cap.height", 120.0, "m", 120.0, Mark::FromMemory),
            ],
            conditions: vec!["The obstacle owner agrees in writing.".into()],
            record: profile(),
        },
        variation: VariationAnswer::Known {
            declination_deg: 10.93,
            uncertainty_deg: 0.31,
            model: "WMM2025",
            date: "2026-07-01".into(),
        },
        ground: GroundAnswer {
            source: GroundSource::Terrain {
                file: "terrain.tif".into(),
            },
            accuracy_m: Metres::of(1.0),
            accuracy_is_stated: true,
            lowest_m_amsl: Some(Altitude::of(299.87)),
            highest_m_amsl: Some(Altitude::of(304.01)),
            unknown_share: 0.0,
        },
        search_radius_m: Metres::from_nautical_miles(10.0),
        tolerance_m: Metres::of(0.1),
        aerodromes: vec![aerodrome("ZZEV", "Evandale East")],
        runways: vec![],
        zones: vec![],
        shielding: vec![ShieldingAnswer {
            rule: "shielding".into(),
            term: 0,
            reach_m: Metres::of(100.0),
            margin_m: Metres::of(10.0),
            shields_in_reach: 9,
            not_shields_in_reach: 1,
            lowest_shielding: Some(shield(
                "span 3 of line \"Ridge 330 kV\"",
                feature("power-lines.geojson", "ridge"),
                Some(2),
            )),
            governs_at: Some(place(150.2096, -30.2096)),
            lowest_in_reach: Some(ShieldAnswer {
                kind: ObstacleKind::Structure("silo".into()),
                trusted_top_m_agl: Height::of(29.96),
                trusted_top_m_amsl: None,
                is_estimate: true,
                distance_m: Metres::ZERO,
                ..shield(
                    "silo \"North bin\"",
                    feature("structures.geojson", "3"),
                    None,
                )
            }),
            covered_share: 0.98749,
            is_wholly_covered: false,
            uncovered: MultiPolygon::new(vec![corner]),
            uncovered_m2: 800.4,
        }],
        ceiling: CeilingAnswer {
            whole: None,
            determined_part: Some(pair()),
            undetermined: vec![Undetermined::Uncovered {
                uncovered_m2: 800.4,
                share: 0.01251,
            }],
            conditions: vec!["The obstacle owner agrees in writing.".into()],
        },
        surfaces: None,
        plan: crate::report_plan_fixture::points(),
        clearance: crate::report_plan_fixture::clearance(),
        usable: crate::report_plan_fixture::usable(),
        ceiling_grid: None,
        wish: Some(WishAnswer {
            height_m_agl: Height::of(50.0),
            state: WishState::InPart,
            share_allowed: 0.42,
            short_by_m: None,
            changes: vec![
                WishChange::FlyLower {
                    ceiling_m_agl: Height::of(36.5),
                },
                WishChange::ReduceArea { share_left: 0.42 },
                WishChange::BetterData {
                    up_to_m: Metres::of(3.0),
                },
                WishChange::OtherPermission {
                    governs: "shielding".into(),
                },
            ],
        }),
        hours: None,
        airspace: Some(crate::airspace::answered()),
        section: None,
        not_assessed: vec![
            NotAssessed {
                what: "airspace".into(),
                why: "no airspace layer in the folder".into(),
                count: 0,
                features: Vec::new(),
            },
            NotAssessed {
                what: "heights of structures".into(),
                why: "no height in the data: not shields, still obstacles".into(),
                count: 1,
                features: vec!["shed/4".into()],
            },
        ],
        cautions: vec![
            Caution {
                file: "structures.geojson".into(),
                features: ["a", "b", "c", "d", "e"].map(str::to_owned).to_vec(),
                count: 1_204,
                defect: "has no height".into(),
                effect: "not a shield; counted as an obstacle of unknown height".into(),
            },
            Caution::about(
                "",
                "sag assumed to be 2 % of the span",
                "taken off the top wire",
            ),
        ],
        layers: vec![LayerAnswer {
            layer: "power-lines".into(),
            file: "power-lines.geojson".into(),
            features: 2,
            crs: "WGS 84 as RFC 7946 says".into(),
            date: Some("2026-03-01".into()),
            source: None,
        }],
        obstacles: vec![obstacle],
        farther_aerodromes: Vec::new(),
        surroundings: Vec::new(),
    }
}

/// The same site wholly covered, with nothing conditional: every question is answered.
pub fn decided() -> Assessment {
    let mut assessment = straddling();
    assessment.ceiling = CeilingAnswer {
        whole: Some(pair()),
        determined_part: None,
        undetermined: Vec::new(),
        conditions: Vec::new(),
    };
    assessment.profile.conditions.clear();
    assessment.plan.remove(1);
    assessment.clearance.state = ClearanceState::Everywhere;
    assessment.clearance.lines.pop();
    assessment.wish.as_mut().unwrap().short_by_m = Some(Metres::of(13.5));
    for rule in &mut assessment.shielding {
        rule.is_wholly_covered = true;
        rule.covered_share = 1.0;
        rule.uncovered = MultiPolygon::new(Vec::new());
        rule.uncovered_m2 = 0.0;
        rule.lowest_in_reach = rule.lowest_shielding.clone();
    }
    assessment.airspace.as_mut().unwrap().volumes.truncate(1);
    for aerodrome in &mut assessment.aerodromes {
        aerodrome
            .rings
            .retain(|ring| !ring.is_substitute && ring.state != ZoneState::Undetermined);
    }
    assessment
}

/// Next to nothing known: flat ground, no variation, no aerodrome, no shield.
pub fn bare() -> Assessment {
    let mut assessment = straddling();
    assessment.variation = VariationAnswer::Unknown {
        why: "2031-01-01 is outside the years of WMM2025".into(),
    };
    assessment.ground = GroundAnswer {
        source: GroundSource::AssumedFlat,
        accuracy_m: Metres::ZERO,
        accuracy_is_stated: false,
        lowest_m_amsl: None,
        highest_m_amsl: None,
        unknown_share: 0.0,
    };
    assessment.aerodromes.clear();
    assessment.plan.clear();
    assessment.clearance = crate::figure_fixture::no_line();
    assessment.usable = UsableAnswer::Undetermined {
        why: vec!["the ground is unknown under part of the area".into()],
    };
    assessment.wish = None;
    assessment.airspace = None;
    assessment.cautions.clear();
    assessment.layers.clear();
    for rule in &mut assessment.shielding {
        rule.lowest_shielding = None;
        rule.lowest_in_reach = None;
        rule.governs_at = None;
        rule.shields_in_reach = 0;
        rule.covered_share = 0.0;
        rule.uncovered = area().polygons;
        rule.uncovered_m2 = assessment.area.area_m2;
    }
    assessment.ceiling = CeilingAnswer {
        whole: None,
        determined_part: None,
        undetermined: vec![Undetermined::NoShield],
        conditions: Vec::new(),
    };
    assessment
}
