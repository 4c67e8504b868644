//! Units: exact conversions, and rounding to the safe side.

use eaves::units::{Altitude, Bearing, Height, Metres};

/// 1 ft = 0.3048 m (ICAO Annex 5), 1 NM = 1 852 m (SI Brochure, 9th edition): both from memory, exact.
#[test]
fn conversions_are_exact() {
    for (metres, exact) in [
        (Metres::from_nautical_miles(3.0), 5556.0),
        (Metres::from_nautical_miles(2.5), 4630.0),
        (Metres::from_kilometres(4.0), 4000.0),
        (Metres::from_feet(1000.0), 304.8),
        (Metres::from_feet(-100.0), -30.48),
        // 400 ft, 200 ft, 100 ft are 121.92, 60.96, 30.48 m.
        (Metres::from_feet(400.0), 121.92),
        (Metres::from_feet(200.0), 60.96),
    ] {
        assert!((metres.m() - exact).abs() < 1e-12, "{metres:?} {exact}");
    }
    assert!((Metres::of(5556.0).nm() - 3.0).abs() < 1e-15);
    // 400 ft above ground over ground of 120 m AMSL is 241.92 m AMSL, 793.70 ft.
    let altitude = Altitude::on(Altitude::of(120.0), Height::from_feet(400.0));
    assert!((altitude.m() - 241.92).abs() < 1e-12);
    assert!((altitude.ft() - 793.70).abs() < 0.005);
    assert!((altitude.above(Altitude::of(120.0)).ft() - 400.0).abs() < 1e-9);
}

/// 50 m are 164.04 ft: down 164, never 165. Common practice, no source: limits down, radii up.
#[test]
fn limits_round_down_and_radii_up() {
    for (metres, down, up) in [
        (50.0, 164.0, 165.0),
        (120.0, 393.0, 394.0),
        (121.92, 400.0, 400.0),
        (60.96, 200.0, 200.0),
        (30.48, 100.0, 100.0),
        (0.0, 0.0, 0.0),
        (0.1, 0.0, 1.0),
        (-0.1, -1.0, 0.0),
        (-50.0, -165.0, -164.0),
        (-30.48, -100.0, -100.0),
    ] {
        let (height, length) = (Height::of(metres), Metres::of(metres));
        assert_eq!((height.ft_down(), length.ft_up()), (down, up), "{metres} m");
        assert_eq!((length.ft_down(), height.ft_up()), (down, up), "{metres} m");
    }
    for (metres, decimals, down, up) in [
        (43.549, 1, 43.5, 43.6),
        (43.5, 1, 43.5, 43.5),
        (-43.549, 1, -43.6, -43.5),
        (-0.04, 1, -0.1, 0.0),
        (0.04, 1, 0.0, 0.1),
        (1234.5, 0, 1234.0, 1235.0),
        (1255.0, -1, 1250.0, 1260.0),
    ] {
        let length = Metres::of(metres);
        assert_eq!(
            (length.m_down(decimals), length.m_up(decimals)),
            (down, up),
            "{metres} m to {decimals} decimals"
        );
    }
    assert_eq!(Metres::of(5556.0).nm_down(2), 3.0);
    assert_eq!(Metres::of(5555.99).nm_down(2), 2.99);
    assert_eq!(Metres::from_nautical_miles(3.0).nm_down(3), 3.0);
    assert_eq!(Metres::of(-0.5).nm_down(2), -0.01);
    assert_eq!(
        format!("{:.1}", Metres::of(-0.04).m_up(1)),
        "0.0",
        "no minus zero is printed"
    );
    assert_eq!(
        format!("{:.0}", Metres::of(-0.1).ft_up()),
        "0",
        "no minus zero is printed"
    );
    assert_eq!(
        format!("{:.2}", Metres::of(-1e-12).nm_down(2)),
        "0.00",
        "no minus zero is printed"
    );
}

/// A whole number of any unit, reached by arithmetic, is not rounded a step away; and rounding
/// never goes to the optimistic side by more than a nanometre.
#[test]
fn noise_does_not_cost_a_step_and_rounding_never_flatters() {
    for feet in -2000..=20_000 {
        let length = Metres::from_feet(f64::from(feet));
        assert_eq!(
            (length.ft_down(), length.ft_up()),
            (f64::from(feet), f64::from(feet))
        );
    }
    for tenth in -20_000..=20_000 {
        let value = f64::from(tenth) / 10.0;
        let length = Metres::of(value - 10.0) + Metres::of(10.0);
        assert_eq!((length.m_down(1), length.m_up(1)), (value, value));
        let odd = Metres::of(value * 0.377_13);
        assert!(odd.m_down(1) <= odd.m() + 1e-9 && odd.m() - odd.m_down(1) < 0.1 + 1e-9);
        assert!(odd.m_up(1) >= odd.m() - 1e-9 && odd.m_up(1) - odd.m() < 0.1 + 1e-9);
        assert!(odd.ft_down() * 0.3048 <= odd.m() + 2e-9);
        assert!(odd.ft_up() * 0.3048 >= odd.m() - 2e-9);
        assert!(odd.nm_down(2) * 1852.0 <= odd.m() + 2e-9);
    }
}

#[test]
fn what_is_not_finite_is_refused_or_clamped() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(Metres::new(bad).is_err() && Height::new(bad).is_err());
        assert!(Altitude::new(bad).is_err() && Bearing::new(bad).is_err());
        assert!(Metres::of(bad).m().is_finite());
    }
    assert_eq!(
        Metres::new(f64::NAN).unwrap_err().to_string(),
        "NaN is not a finite number"
    );
    assert!(
        (Metres::of(f64::MAX) + Metres::of(f64::MAX))
            .m()
            .is_finite()
    );
    // A ceiling that is not a number must not look high.
    assert!(Altitude::of(f64::NAN).m() < -1e300);
    for huge in [Metres::of(f64::MAX), Metres::of(f64::MIN)] {
        assert_eq!((huge.m_down(1), huge.m_up(1)), (huge.m(), huge.m()));
        assert!(!huge.ft_down().is_nan() && !huge.nm_down(2).is_nan());
    }
}

/// Magnetic = true − variation, east positive (WMM2025 report: true = magnetic + D); north is
/// spoken 360 (aviation usage; no source).
#[test]
fn bearings_wrap_and_are_spoken_with_three_digits() {
    let bearing = |degrees| Bearing::new(degrees).unwrap();
    assert_eq!(bearing(5.0).magnetic(12.5).degrees(), 352.5);
    assert_eq!(bearing(355.0).magnetic(-12.5).degrees(), 7.5);
    for (degrees, said) in [
        (0.0, "360"),
        (0.4, "360"),
        (0.5, "001"),
        (87.4, "087"),
        (359.4, "359"),
        (359.6, "360"),
        (-90.0, "270"),
        (725.0, "005"),
        (-1e-20, "360"),
    ] {
        assert_eq!(bearing(degrees).three_digits(), said, "{degrees}");
        assert!((0.0..360.0).contains(&bearing(degrees).degrees()));
    }
}
