//! Airspace limits and flight levels against the AIXM code lists and the standard atmosphere.

use eaves::airspace::answer::*;
use eaves::airspace::isa::{altitude_at, pressure_altitude};
use eaves::airspace::limit::Stated;
use eaves::airspace::{End, Level, Limit, Volume};
use eaves::cli::pressure::qnh;
use eaves::frame::LonLat;
use eaves::site::FeatureRef;
use eaves::units::{Altitude, Height, Metres, Pressure};
use geo::{MultiPolygon, polygon};
use proptest::prelude::*;

fn read(end: End, value: &str, unit: &str, reference: &str) -> Level {
    let stated = Stated {
        value: Some(value),
        unit: Some(unit),
        reference: Some(reference),
        geoid_separation: None,
    };
    Limit::read(end, stated).level
}

fn lower(text: &str) -> Level {
    read(End::Lower, text, "", "")
}

fn feet(level: &Level) -> f64 {
    match level {
        Level::AboveGround { height_m } => height_m.ft(),
        Level::Amsl { altitude_m } => altitude_m.ft(),
        Level::Pressure { altitude_at_1013_m } => altitude_at_1013_m.ft(),
        Level::Ellipsoid { height_m } => height_m.ft(),
        other => panic!("{other:?} has no value"),
    }
}

fn kind(level: &Level) -> &'static str {
    match level {
        Level::Ground => "ground",
        Level::Unlimited => "unlimited",
        Level::AboveGround { .. } => "SFC",
        Level::Amsl { .. } => "MSL",
        Level::Pressure { .. } => "STD",
        Level::Ellipsoid { .. } => "W84",
        Level::Undetermined { .. } => "undetermined",
    }
}

/// The pairs that AIXM 5.1.1 prints for CodeVerticalReference and UomDistanceVertical (EUROCONTROL
/// coding pages). For STD they print "FT, SM", which surely means FL, SM: FL and FT are accepted.
#[test]
fn units_and_references_pair_as_in_aixm() {
    for (reference, unit, expected) in [
        ("SFC", "FT", "SFC"),
        ("SFC", "M", "SFC"),
        ("MSL", "FT", "MSL"),
        ("MSL", "M", "MSL"),
        ("W84", "FT", "W84"),
        ("W84", "M", "W84"),
        ("STD", "FL", "STD"),
        ("STD", "FT", "STD"),
        ("STD", "M", "undetermined"),
        ("STD", "SM", "undetermined"),
        ("SFC", "FL", "undetermined"),
        ("MSL", "FL", "undetermined"),
        ("W84", "FL", "undetermined"),
        ("OTHER", "FT", "undetermined"),
        ("MSL", "OTHER", "undetermined"),
        ("MSL", "", "undetermined"),
        ("", "FT", "undetermined"),
        ("", "FL", "STD"),
    ] {
        for end in [End::Lower, End::Upper] {
            let level = read(end, "100", unit, reference);
            assert_eq!(kind(&level), expected, "{unit} {reference}");
        }
    }
    // FL100 is 10 000 ft at 1013.25 hPa, by definition; the foot is exact.
    assert!((feet(&read(End::Lower, "100", "FL", "STD")) - 10_000.0).abs() < 1e-9);
    assert!((feet(&read(End::Lower, "100", "FT", "MSL")) - 100.0).abs() < 1e-9);
    let metres = read(End::Lower, "120", "M", "MSL");
    assert_eq!(
        metres,
        Level::Amsl {
            altitude_m: Altitude::of(120.0)
        }
    );
}

/// The coded values of ValDistanceVertical: GND and UNL stand alone, and a reference beside them is
/// ignored; FLOOR and CEILING refer to other volumes.
#[test]
fn coded_values_ignore_what_is_beside_them() {
    for reference in ["", "SFC", "MSL", "STD", "nonsense"] {
        assert_eq!(read(End::Lower, "GND", "FT", reference), Level::Ground);
        assert_eq!(read(End::Upper, "UNL", "FT", reference), Level::Unlimited);
        for (end, value) in [
            (End::Lower, "FLOOR"),
            (End::Upper, "CEILING"),
            (End::Lower, "UNL"),
            (End::Upper, "GND"),
        ] {
            let level = read(end, value, "OTHER", reference);
            assert_eq!(kind(&level), "undetermined", "{value}");
        }
    }
}

#[test]
fn limits_written_as_text() {
    for (text, expected, value_ft) in [
        ("2000 ft AMSL", "MSL", 2000.0),
        ("2000FT MSL", "MSL", 2000.0),
        ("2000ft amsl", "MSL", 2000.0),
        ("1500FT AGL", "SFC", 1500.0),
        ("1500 ft SFC", "SFC", 1500.0),
        ("FL100", "STD", 10_000.0),
        ("FL 065", "STD", 6_500.0),
        ("fl195", "STD", 19_500.0),
        ("0 ft AGL", "SFC", 0.0),
        ("-50 ft MSL", "MSL", -50.0),
        ("304.8 m AMSL", "MSL", 1000.0),
        ("5000 ft STD", "STD", 5000.0),
        ("5000 ft W84", "W84", 5000.0),
    ] {
        let level = lower(text);
        assert_eq!(kind(&level), expected, "{text}");
        assert!((feet(&level) - value_ft).abs() < 1e-9, "{text}");
    }
    for text in ["SFC", "GND", "gnd", " Surface "] {
        assert_eq!(lower(text), Level::Ground, "{text}");
    }
    // What could be read in more than one way is never read at all.
    for text in [
        "2000",
        "2000 ft",
        "2,000 ft AMSL",
        "2 000 ft AMSL",
        "2000 ft AMSL or 1500 ft AGL",
        "ft AMSL",
        "FL",
        "FL100 MSL",
        "FL100 AMSL",
        "100 m STD",
        "-5 ft AGL",
        "1e3 ft AMSL",
        "inf ft AMSL",
        "NaN ft AMSL",
        "500000 ft AMSL",
        "BY NOTAM",
        "2000 fathoms AMSL",
        "2000 ft AAL",
        "2000 ft m AMSL",
    ] {
        assert_eq!(kind(&lower(text)), "undetermined", "{text}");
    }
    let missing = Limit::read(End::Lower, Stated::default());
    assert_eq!(missing.defect(), Some("is not given"));
}

/// h = H + N: 100 m above the ellipsoid where the geoid is 30 m above it is 70 m AMSL.
#[test]
fn heights_above_the_ellipsoid_need_the_separation() {
    let stated = Stated {
        value: Some("100 m W84"),
        geoid_separation: Some(Metres::of(30.0)),
        ..Stated::default()
    };
    assert_eq!(
        Limit::read(End::Lower, stated).level,
        Level::Amsl {
            altitude_m: Altitude::of(70.0)
        }
    );
}

/// Computed with the standard atmosphere by another implementation, to the foot: the altitude of
/// the surface of 1013.25 hPa for a QNH, and the altitude of FL100.
#[test]
fn flight_levels_by_the_standard_atmosphere() {
    for (hpa, surface_ft, fl100_ft) in [
        (983.25, -829.0, 9_171.0),
        (1003.25, -274.0, 9_726.0),
        (1013.25, 0.0, 10_000.0),
        (1023.25, 272.0, 10_272.0),
        (1030.0, 454.0, 10_454.0),
    ] {
        let qnh = Pressure::of(hpa);
        assert!(
            (-pressure_altitude(qnh).ft() - surface_ft).abs() <= 0.5,
            "{hpa}"
        );
        let level = altitude_at(Metres::from_feet(10_000.0), qnh);
        assert!(
            (level.ft() - fl100_ft).abs() <= 0.5,
            "{hpa}: {}",
            level.ft()
        );
    }
    // 27.3 ft for 1 hPa near sea level, likewise.
    let step = pressure_altitude(Pressure::of(1012.25)).ft()
        - pressure_altitude(Pressure::of(1013.25)).ft();
    assert!((step - 27.3).abs() < 0.05);
}

#[test]
fn a_qnh_is_typed_with_its_unit() {
    assert_eq!(qnh("1013hPa").unwrap().hpa(), 1013.0);
    assert_eq!(qnh("1013.25 hPa").unwrap().hpa(), 1013.25);
    // 29.92 inHg is the altimeter setting of the standard atmosphere to two decimals.
    assert!((qnh("29.92inHg").unwrap().hpa() - 1013.25).abs() < 0.1);
    for text in [
        "", "1013", "hPa", "29.92hPa", "1013inHg", "1013 ft", "-1013hPa", "NaNhPa", "1.0.1hPa",
    ] {
        assert!(qnh(text).is_err(), "{text}");
    }
}

#[test]
fn a_qnh_reaches_the_request() {
    let typed = |extra: &[&str]| {
        let words = ["eaves", "assess", "a.geojson", "--layers", "l"];
        eaves::cli::parse(words.iter().chain(extra)).map(|cli| match cli.command {
            eaves::cli::Command::Assess(it) => it.qnh,
            other => panic!("{other:?}"),
        })
    };
    assert_eq!(typed(&[]).unwrap(), None);
    assert_eq!(
        typed(&["--qnh", "1003hPa"]).unwrap(),
        Some(Pressure::of(1003.0))
    );
    assert!(typed(&["--qnh", "1003"]).is_err());
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(Pressure::new(wrong).is_err());
        assert!(Pressure::of(wrong).hpa() > 0.0);
    }
}

proptest! {
    /// Any text at all gives a limit, and only what is finite.
    #[test]
    fn no_limit_panics(value in ".{0,40}", unit in "(FT|M|FL|SM|.{0,4})", reference in "(SFC|MSL|STD|W84|.{0,4})") {
        for end in [End::Lower, End::Upper] {
            let level = read(end, &value, &unit, &reference);
            if !matches!(level, Level::Ground | Level::Unlimited | Level::Undetermined { .. }) {
                prop_assert!(feet(&level).is_finite());
            }
        }
    }
}

fn volume(ident: &str) -> Volume {
    Volume {
        source: FeatureRef {
            file: "airspace.geojson".into(),
            feature: ident.into(),
        },
        ident: Some(ident.into()),
        name: Some("Invented zone".into()),
        class: Some("D".into()),
        kind: Some("CTR".into()),
        authority: Some("Invented Tower".into()),
        hours: Some("H24".into()),
        zone: None,
        polygons: MultiPolygon(vec![polygon![
            (x: 150.2, y: -30.22), (x: 150.212, y: -30.22), (x: 150.212, y: -30.2), (x: 150.2, y: -30.2),
        ]]),
        horizontal_accuracy: Metres::ZERO,
        lower: Limit::read(
            End::Lower,
            Stated {
                value: Some("GND"),
                ..Stated::default()
            },
        ),
        upper: Limit::read(
            End::Upper,
            Stated {
                value: Some("2500 ft AMSL"),
                ..Stated::default()
            },
        ),
    }
}

/// Answers of every kind, for pages and schemas.
pub fn answered() -> AirspaceAnswer {
    let one = |ident: &str, lower: &str, in_plan, in_height, why: &str, floor| {
        let record = volume(ident);
        VolumeAnswer {
            title: record.title(),
            ident: record.ident.clone(),
            class: record.class.clone(),
            kind: record.kind.clone(),
            authority: record.authority.clone(),
            hours: record.hours.clone(),
            source: record.source.clone(),
            lower: Limit::read(
                End::Lower,
                Stated {
                    value: Some(lower),
                    ..Stated::default()
                },
            ),
            upper: record.upper.clone(),
            in_plan,
            margin_m: Metres::of(if in_plan == InPlan::Outside {
                570.3
            } else {
                -75.1
            }),
            farthest_margin_m: Metres::of(1_197.2),
            margin_is_at_least: false,
            share_inside: match in_plan {
                InPlan::Inside => 1.0,
                InPlan::Straddles => 0.0503,
                InPlan::Outside => 0.0,
            },
            in_height,
            why: why.into(),
            floor,
            governs: false,
            record,
        }
    };
    let floor = |agl: Option<f64>, amsl: Option<f64>, high: Option<f64>| {
        Some(FloorAnswer {
            lowest_m_amsl: amsl.map(Altitude::of),
            lowest_at_highest_qnh_m_amsl: high.map(Altitude::of),
            lowest_m_agl: agl.map(Height::of),
            lowest_at: LonLat::new(150.21, -30.21).unwrap(),
        })
    };
    let mut volumes = vec![
        one(
            "ZZ1",
            "GND",
            InPlan::Straddles,
            Some(InHeight::Yes),
            "it begins at the ground",
            floor(Some(0.0), Some(299.0), None),
        ),
        one(
            "ZZ2",
            "FL015",
            InPlan::Inside,
            Some(InHeight::Undetermined),
            "it depends on the QNH",
            floor(Some(-230.0), Some(74.0), Some(906.0)),
        ),
        one(
            "ZZ3",
            "1000 ft W84",
            InPlan::Inside,
            Some(InHeight::Undetermined),
            "the geoid is not stated",
            None,
        ),
        one(
            "ZZ4",
            "BY NOTAM",
            InPlan::Inside,
            Some(InHeight::Undetermined),
            "its lower limit is not clear",
            None,
        ),
        one("ZZ5", "1500 ft AGL", InPlan::Outside, None, "", None),
    ];
    mark_governing(&mut volumes);
    AirspaceAnswer {
        search_radius_m: Metres::from_nautical_miles(10.0),
        qnh_hpa: None,
        qnh_range_hpa: [Pressure::of(950.0), Pressure::of(1050.0)],
        top: OperatingTop::Wish {
            height_m_agl: Height::of(50.0),
        },
        volumes,
        farther: 3,
    }
}

/// Outlines and limits are drawn on the location panel, and the legend says what they are.
#[test]
fn volumes_are_on_the_figure() {
    let scene = eaves::figure::resolve(
        &crate::report_fixture::straddling(),
        eaves::figure::FigureKind::Location,
        &eaves::figure::FigureOptions {
            airspace: true,
            ..Default::default()
        },
    )
    .unwrap();
    assert!(scene.shows(eaves::figure::scene::MarkKind::Airspace));
    assert!(
        scene
            .legend
            .iter()
            .any(|line| line.starts_with("Airspace volume"))
    );
    let labels: Vec<&str> = scene
        .labels
        .iter()
        .flat_map(|label| &label.lines)
        .map(|line| line.text.as_str())
        .collect();
    assert!(labels.contains(&"GND to 2500 ft AMSL"), "{labels:?}");
    assert!(
        labels.contains(&"governs: lowest floor reached"),
        "{labels:?}"
    );
}
