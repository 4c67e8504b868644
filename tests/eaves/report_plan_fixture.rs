//! Plan points, electrical clearance and usable area by hand, for the pages of the report.
//!
//! The take-off height is the contrast of the report fixture carried on: ceiling 340.5 m AMSL, ground
//! 303.2 m at the most, its accuracy 0: 37.3 m.

use eaves::answer::*;
use eaves::clearance::ClearanceTable;
use eaves::plan_point::Role;
use eaves::units::{Altitude, Bearing, Metres};
use geo::{MultiPolygon, polygon};

use crate::report_fixture::{budget, feature, place};

pub fn points() -> Vec<PlanPointAnswer> {
    let point = |name: Option<&str>, roles: &[Role], id: &str| PlanPointAnswer {
        title: format!("{} point {}", roles[0], name.unwrap_or(id)),
        name: name.map(Into::into),
        roles: roles.to_vec(),
        source: feature("plan.geojson", id),
        position: place(150.2105, -30.2095),
        is_in_area: true,
        distance_m: Metres::ZERO,
        farthest_m: Metres::of(411.03),
        is_in_clearance_band: Some(false),
        from_aerodrome: Some(PointBearing {
            aerodrome: "SYN1 Soffit".into(),
            distance_m: Metres::of(5_430.9),
            bearing_true_deg: Bearing::new(61.4).ok(),
            bearing_magnetic_deg: Bearing::new(50.2).ok(),
        }),
        ground: Some(GroundAtPoint {
            lowest_m_amsl: Altitude::of(302.91),
            highest_m_amsl: Altitude::of(303.2),
        }),
        above_take_off: None,
    };
    vec![
        PlanPointAnswer {
            above_take_off: Some(HeightAbovePoint::Known {
                height_m: 37.3,
                holds_in_whole_area: false,
                budget: budget(&[
                    ("ceiling AMSL", BudgetStep::From, 340.5, "as certified"),
                    (
                        "ground at the point",
                        BudgetStep::Less,
                        303.2,
                        "terrain.tif",
                    ),
                    ("ground accuracy", BudgetStep::Less, 0.0, "none stated"),
                    ("height above the point", BudgetStep::Gives, 37.3, ""),
                ]),
            }),
            ..point(Some("Gate"), &[Role::TakeOff, Role::Landing], "1")
        },
        PlanPointAnswer {
            is_in_area: false,
            distance_m: Metres::of(12.7),
            ground: None,
            above_take_off: Some(HeightAbovePoint::Undetermined {
                why: "the ground at the point is unknown".into(),
            }),
            ..point(None, &[Role::TakeOff], "2")
        },
        PlanPointAnswer {
            is_in_clearance_band: Some(true),
            from_aerodrome: None,
            ..point(Some("Trees"), &[Role::Emergency], "3")
        },
        PlanPointAnswer {
            is_in_clearance_band: None,
            ..point(Some("Ute"), &[Role::Crew], "4")
        },
    ]
}

pub fn clearance() -> ClearanceAnswer {
    let line = |title: &str, id: &str, volts: Option<f64>| LineClearanceAnswer {
        title: title.into(),
        source: feature("power-lines.geojson", id),
        spans: 3,
        voltage_v: volts,
        distance_m: Metres::ZERO,
        clearance_m: Some(Metres::from_feet(20.0)),
        from: "29 CFR 1926.1408, Table A: up to 350 kV: 20 ft".into(),
        wire_offset_m: Some(Metres::of(7.5)),
        horizontal_accuracy_m: Metres::of(2.0),
        half_width_m: Some(Metres::of(20.0 * 0.3048 + 7.5 + 2.0)),
    };
    ClearanceAnswer {
        state: ClearanceState::Undetermined {
            why: "no distance is stated for 1 span near the area".into(),
        },
        table: ClearanceTable::load("cfr1926-1408").ok(),
        lines: vec![
            line("Ridge 330 kV", "way/1", Some(330_000.0)),
            LineClearanceAnswer {
                spans: 1,
                distance_m: Metres::of(61.28),
                clearance_m: None,
                from: "not stated".into(),
                wire_offset_m: None,
                half_width_m: None,
                ..line("way/2", "way/2", None)
            },
        ],
        band: MultiPolygon::new(vec![polygon![
            (x: 150.209, y: -30.212), (x: 150.2092, y: -30.212), (x: 150.2092, y: -30.208),
        ]]),
        band_m2: 1_234.5,
    }
}

pub fn usable() -> UsableAnswer {
    UsableAnswer::Determined {
        polygons: MultiPolygon::new(vec![polygon![
            (x: 150.21, y: -30.212), (x: 150.211, y: -30.212), (x: 150.211, y: -30.208),
        ]]),
        area_m2: 98_765.4,
        share: 0.876_54,
        scraps: 1,
    }
}
