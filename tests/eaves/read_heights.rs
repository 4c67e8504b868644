//! Heights as people write them.

use eaves::read::height::{LengthUnit, Reading, reading};
use serde_json::{Value, json};

fn metres(value: &Value, unit: LengthUnit) -> f64 {
    match reading(value, unit) {
        Reading::Metres(metres) => metres,
        other => panic!("{value} reads as {other:?}"),
    }
}

/// Expected values by hand: 1 ft is 0.3048 m exactly (ICAO Annex 5, Table 3-3; from memory), and
/// OpenStreetMap's default unit of `height` is the metre, with feet as 12' 6" (OSM wiki, "Key:height"
/// and "Map features/Units"; from memory).
#[test]
fn clear_heights_become_metres() {
    for (value, unit, expected_m) in [
        (json!(60), LengthUnit::Metre, 60.0),
        (json!(60.5), LengthUnit::Metre, 60.5),
        (json!(200), LengthUnit::Foot, 60.96),
        (json!("60"), LengthUnit::Metre, 60.0),
        (json!("200"), LengthUnit::Foot, 60.96),
        (json!("60 m"), LengthUnit::Foot, 60.0),
        (json!("60m"), LengthUnit::Metre, 60.0),
        (json!("60.5 metres"), LengthUnit::Metre, 60.5),
        (json!("60 Meters"), LengthUnit::Metre, 60.0),
        (json!("60,5"), LengthUnit::Metre, 60.5),
        (json!("60,50 m"), LengthUnit::Metre, 60.5),
        (json!("  60 "), LengthUnit::Metre, 60.0),
        (json!("200ft"), LengthUnit::Metre, 60.96),
        (json!("200 FT"), LengthUnit::Metre, 60.96),
        (json!("200 feet"), LengthUnit::Metre, 60.96),
        (json!("1 foot"), LengthUnit::Metre, 0.3048),
        (json!("200'"), LengthUnit::Metre, 60.96),
        (json!("196' 10\""), LengthUnit::Metre, 59.9948),
        (json!("196'10\""), LengthUnit::Metre, 59.9948),
        (json!("196 ft 10 in"), LengthUnit::Metre, 59.9948),
        (json!("196\u{2032}10\u{2033}"), LengthUnit::Metre, 59.9948),
        (json!("-3.5 m"), LengthUnit::Metre, -3.5),
    ] {
        let found = metres(&value, unit);
        assert!(
            (found - expected_m).abs() < 1e-9,
            "{value}: {found} m, not {expected_m} m"
        );
    }
}

#[test]
fn unclear_heights_say_why() {
    const NOT_ONE: &str = "is not one number with a known unit";
    for (text, why) in [
        ("20-30", NOT_ONE),
        ("20;30", NOT_ONE),
        ("20 m;30 m", NOT_ONE),
        ("~20", NOT_ONE),
        ("ca. 20", NOT_ONE),
        (">20", NOT_ONE),
        ("20 cm", NOT_ONE),
        ("20 fathoms", NOT_ONE),
        ("1.234.5", NOT_ONE),
        ("1,234.5", NOT_ONE),
        (".5", NOT_ONE),
        ("60.", NOT_ONE),
        ("5'13\"", NOT_ONE),
        ("NaN", NOT_ONE),
        ("inf", NOT_ONE),
        ("tall", NOT_ONE),
        ("\u{6f22}", NOT_ONE),
        ("--5", NOT_ONE),
        ("1,234", "has a comma that may mark thousands or decimals"),
        (
            "1,234 ft",
            "has a comma that may mark thousands or decimals",
        ),
    ] {
        assert_eq!(
            reading(&json!(text), LengthUnit::Metre),
            Reading::Unclear(why),
            "{text}"
        );
    }
    let huge = "9".repeat(400);
    assert_eq!(
        reading(&json!(huge), LengthUnit::Metre),
        Reading::Unclear("is not a finite number")
    );
    assert_eq!(
        reading(&json!([20]), LengthUnit::Metre),
        Reading::Unclear("is neither a number nor text")
    );
}

#[test]
fn nothing_is_missing_and_not_zero() {
    for value in [json!(null), json!(""), json!("  ")] {
        assert_eq!(reading(&value, LengthUnit::Metre), Reading::Missing);
    }
}

proptest::proptest! {
    /// Whatever the text, a reading is one of the three, and metres are finite.
    #[test]
    fn any_text_is_read_without_panic(text in "\\PC*") {
        if let Reading::Metres(metres) = reading(&Value::String(text), LengthUnit::Foot) {
            proptest::prop_assert!(metres.is_finite());
        }
    }
}
