//! The hanging wire against textbook examples and conductor tables (checks of overhead line practice).

use eaves::obstacle::Sag;
use eaves::wire::{drop_below_lower_support, level_drop, lowest_from_lower_support};

/// Printed result of a how-to page: span 500 m, 1 kg/m, 10 000 kg: parabola w S² ⁄ 8 H = 3.125 m.
/// The catenary is lower by S²D ⁄ … of the fourth order: 0.1 mm here.
#[test]
fn sag_from_weight_and_tension() {
    let wire = Sag::Wire {
        weight_per_m: 1.0,
        horizontal_tension: 10_000.0,
    };
    let sag = drop_below_lower_support(500.0, 0.0, wire).unwrap();
    assert!((sag - 3.125).abs() < 0.001, "{sag}");
    assert!(sag >= 3.125, "the catenary hangs below the parabola");
}

/// Chakrabarti, Soni, Gupta and Bhatnagar, Power System Engineering, 2nd edition, part II, example
/// 5.2: span 250 m, supports 10 m apart in height, conductor of radius 1 cm (3.141 593 cm²), weight
/// 2.5 kg/m with wind 1.2 kg/m (resultant 2.773 085), 4300 kg/cm² with a factor of safety of 3:
/// lowest point 60.05 m from the lower support (printed; the example uses the parabola).
#[test]
fn lowest_point_of_an_inclined_span() {
    let weight = 2.5f64.hypot(1.2);
    let tension = 4300.0 / 3.0 * std::f64::consts::PI;
    let constant = tension / weight;
    let at = lowest_from_lower_support(250.0, 10.0, constant);
    // The catenary and the parabola part by a few centimetres here.
    assert!((at - 60.05).abs() < 0.15, "{at}");
}

/// 795 kcmil 26/7 ACSR "Drake", 1.094 lb/ft, 6300 lb: catenary sags of 600, 1000 and 2000 ft spans
/// (overhead conductor handbook example; data from memory, values computed): 7.816, 21.720,
/// 87.044 ft.
#[test]
fn catenary_of_a_known_conductor() {
    let constant = 6300.0 / 1.094;
    for (span, sag) in [(600.0, 7.816), (1000.0, 21.720), (2000.0, 87.044)] {
        let found = level_drop(span, constant);
        assert!((found - sag).abs() < 0.0006, "{span}: {found}");
    }
}

/// A stated sag is the drop of a level span; unequal supports are never lower than a wire hung
/// from the lower support alone, and a steep span has its lowest point at the lower support.
#[test]
fn stated_sag_and_unequal_supports() {
    let sag = |rise| drop_below_lower_support(420.0, rise, Sag::Metres(6.5)).unwrap();
    assert_eq!(sag(0.0), 6.5);
    let mut last = 6.5;
    for rise in [0.5, 2.0, 5.0, 10.0, 20.0, 25.0] {
        let drop = sag(rise);
        assert!(drop < last && drop == sag(-rise));
        // The parabola: (4D − h)² ⁄ 16 D below the lower support; the catenary agrees within 1 %.
        let parabola = (26.0f64 - rise).powi(2) / (16.0 * 6.5);
        assert!(
            (drop - parabola).abs() < 0.01 * 6.5,
            "{rise}: {drop} {parabola}"
        );
        last = drop;
    }
    assert_eq!(sag(40.0), 0.0);
    assert_eq!(
        drop_below_lower_support(420.0, 0.0, Sag::ShareOfSpan(0.02)).unwrap(),
        8.4
    );
    assert_eq!(
        drop_below_lower_support(420.0, 3.0, Sag::Included).unwrap(),
        0.0
    );
}

#[test]
fn impossible_sags_are_refused() {
    for sag in [
        Sag::Metres(-1.0),
        Sag::Metres(f64::NAN),
        Sag::Metres(211.0),
        Sag::ShareOfSpan(0.6),
        Sag::ShareOfSpan(f64::INFINITY),
        Sag::Wire {
            weight_per_m: 0.0,
            horizontal_tension: 1.0,
        },
        Sag::Wire {
            weight_per_m: 1.0,
            horizontal_tension: -5.0,
        },
        Sag::Wire {
            weight_per_m: 1.0,
            horizontal_tension: 20.0,
        },
    ] {
        assert!(
            drop_below_lower_support(420.0, 0.0, sag).is_err(),
            "{sag:?}"
        );
    }
}
