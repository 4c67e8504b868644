//! Magnetic variation against the official test values of WMM2025 (NOAA NCEI; `tests/data/wmm2025`).

use eaves::frame::LonLat;
use eaves::units::Metres;
use eaves::variation::variation;
use jiff::civil::{Date, date};

/// What single precision adds to a value that is otherwise that of the model, degrees: the
/// largest difference measured from the unrounded published X and Y is 0.00005.
const SINGLE_PRECISION_DEG: f64 = 0.0002;

struct Row {
    year: f64,
    height_km: f64,
    lat: f64,
    lon: f64,
    declination_deg: f64,
    h_nt: f64,
    x_nt: f64,
    y_nt: f64,
    yearly_change_deg: f64,
}

impl Row {
    fn place(&self) -> LonLat {
        LonLat::new(self.lon, self.lat).unwrap()
    }

    /// The first day of the year, or 2 July, whose start is within 12 hours of mid-year.
    fn date(&self) -> Date {
        let year = self.year.floor() as i16;
        if self.year.fract() == 0.0 {
            date(year, 1, 1)
        } else {
            date(year, 7, 2)
        }
    }

    /// The change of declination from the day that was asked for to the row's decimal year.
    fn change_deg(&self) -> f64 {
        let days = f64::from(self.date().day_of_year() - 1);
        let of_year = days / f64::from(self.date().days_in_year());
        (self.year.fract() - of_year) * self.yearly_change_deg
    }
}

fn rows() -> Vec<Row> {
    let rows: Vec<Row> = include_str!("../data/wmm2025/WMM2025_TestValues.txt")
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .map(|line| {
            let field: Vec<f64> = line
                .split_whitespace()
                .map(|f| f.parse().unwrap())
                .collect();
            Row {
                year: field[0],
                height_km: field[1],
                lat: field[2],
                lon: field[3],
                declination_deg: field[4],
                h_nt: field[6],
                x_nt: field[7],
                y_nt: field[8],
                yearly_change_deg: field[11],
            }
        })
        .collect();
    assert_eq!(rows.len(), 100);
    rows
}

fn difference(a: f64, b: f64) -> f64 {
    ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs()
}

#[test]
fn declinations_are_those_of_the_official_test_values() {
    let mut refused = 0;
    let mut worst = 0f64;
    for row in rows() {
        let found = variation(row.place(), Metres::of(row.height_km * 1000.0), row.date());
        // Blackout zone: H below 2 000 nT (WMM2025 technical report, section 1.8).
        if row.h_nt < 2000.0 {
            refused += 1;
            assert_eq!(
                found.unwrap_err(),
                "the place is in the blackout zone of a magnetic pole, where WMM2025 gives no \
                 dependable variation"
            );
            continue;
        }
        let found = found.unwrap();
        let there = found.declination_deg + row.change_deg();
        // 0.005 degrees is the rounding of the published value.
        assert!(
            difference(there, row.declination_deg) <= 0.005 + SINGLE_PRECISION_DEG,
            "{} {} {}: {there}, published {}",
            row.year,
            row.lat,
            row.lon,
            row.declination_deg
        );
        let unrounded = row.y_nt.atan2(row.x_nt).to_degrees();
        worst = worst.max(difference(there, unrounded));
        // Error model of WMM2025: sqrt(0.26^2 + (5417 / H)^2) degrees.
        let sigma = 0.26f64.hypot(5417.0 / row.h_nt);
        assert!((found.uncertainty_deg - sigma).abs() < 1e-3 * sigma);
        assert_eq!(found.model, "WMM2025");
    }
    assert_eq!(refused, 2);
    assert!(worst <= SINGLE_PRECISION_DEG, "{worst}");
}

/// The two rows that [`variation`] refuses, through the crate that it uses: their values would
/// have been right too.
#[test]
fn the_refused_rows_are_refused_for_the_zone_and_not_for_a_wrong_value() {
    use world_magnetic_model::uom::si::{angle::degree, f32::*, length::kilometer};
    for row in rows().iter().filter(|row| row.h_nt < 2000.0) {
        let day = world_magnetic_model::time::Date::from_ordinal_date(
            i32::from(row.date().year()),
            row.date().day_of_year() as u16,
        );
        let field = world_magnetic_model::GeomagneticField::new(
            Length::new::<kilometer>(row.height_km as f32),
            Angle::new::<degree>(row.lat as f32),
            Angle::new::<degree>(row.lon as f32),
            day.unwrap(),
        );
        let there = f64::from(field.unwrap().declination().get::<degree>()) + row.change_deg();
        assert!(difference(there, row.declination_deg) <= 0.005 + SINGLE_PRECISION_DEG);
    }
}

#[test]
fn the_model_is_refused_outside_its_years() {
    let sydney = LonLat::new(151.2, -33.9).unwrap();
    let ask = |day| variation(sydney, Metres::ZERO, day);
    for (day, words) in [
        (date(2024, 12, 31), "2024-12-31"),
        (date(2030, 1, 1), "2030-01-01"),
        (date(1999, 6, 1), "1999-06-01"),
        (Date::MIN, "-009999-01-01"),
        (Date::MAX, "9999-12-31"),
    ] {
        assert_eq!(
            ask(day).unwrap_err(),
            format!("WMM2025 holds from 2025-01-01 to 2029-12-31, not on {words}")
        );
    }
    // Both ends are years of the model, and the field changes slowly between them: the published
    // rate nearest in place (row 2025.5, 37 S 140 E) is below 0.1 degrees a year.
    let first = ask(date(2025, 1, 1)).unwrap().declination_deg;
    let last = ask(date(2029, 12, 31)).unwrap().declination_deg;
    assert!((first - last).abs() < 0.5 && first > 0.0, "{first} {last}");
    assert!(ask(date(2028, 2, 29)).is_ok());
}

#[test]
fn elevation_is_bounded_and_matters_little() {
    let place = LonLat::new(150.0, -30.5).unwrap();
    let ask = |metres| variation(place, Metres::of(metres), date(2026, 11, 25));
    assert!(
        ask(-1001.0)
            .unwrap_err()
            .starts_with("WMM2025 gives no value: height above WGS 84")
    );
    assert!(ask(850_001.0).is_err());
    assert!(ask(f64::NAN).is_err());
    // An elevation above mean sea level may stand for the height above the ellipsoid, which
    // differs by about 100 m at most: measured wherever H is above 6 000 nT, that is, where the
    // uncertainty is below hypot(0.26, 5417 / 6000).
    let mut compared = 0;
    for lat in (-80..=80).step_by(10) {
        for lon in (-180..180).step_by(10) {
            let place = LonLat::new(f64::from(lon), f64::from(lat)).unwrap();
            let ask = |metres| variation(place, Metres::of(metres), date(2027, 7, 2));
            if let (Ok(low), Ok(high)) = (ask(0.0), ask(100.0))
                && low.uncertainty_deg < 0.26f64.hypot(5417.0 / 6000.0)
            {
                compared += 1;
                let change = difference(low.declination_deg, high.declination_deg);
                assert!(change < 0.003, "{lon} {lat}: {change}");
            }
        }
    }
    assert!(compared > 500, "{compared}");
}

#[test]
fn poles_and_the_antimeridian_are_answered_or_refused() {
    let ask = |lon, lat| {
        variation(
            LonLat::new(lon, lat).unwrap(),
            Metres::ZERO,
            date(2027, 1, 1),
        )
        .map(|found| found.declination_deg)
    };
    let (east, west) = (ask(180.0, -33.0).unwrap(), ask(-180.0, -33.0).unwrap());
    assert!((east - west).abs() < SINGLE_PRECISION_DEG);
    for lat in [90.0, -90.0] {
        if let Ok(found) = ask(0.0, lat) {
            assert!(found.abs() <= 180.0);
        }
    }
}
