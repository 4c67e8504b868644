//! Flight levels and altitudes in the standard atmosphere.
//!
//! A flight level is a surface of constant pressure, stated as the altitude that an altimeter set to
//! 1013.25 hPa shows there. An altimeter set to QNH shows that less the altitude at which the
//! standard atmosphere (ISO 2533, ICAO Doc 7488; constants from memory) has the pressure QNH.
//! Not here: temperature. In air colder than standard the true altitude of a flight level is lower,
//! by about 4 % for every 10 °C (from memory), and every answer that rests on this says so.

use crate::units::{Altitude, Metres, Pressure};

/// Pressure at mean sea level in the standard atmosphere, hectopascals.
pub const STANDARD_HPA: f64 = 1013.25;

/// Temperature at mean sea level ⁄ lapse rate, metres: 288.15 K ⁄ 0.0065 K/m.
const SCALE_M: f64 = 288.15 / 0.0065;

/// Gas constant of air × lapse rate ⁄ standard gravity.
const EXPONENT: f64 = 287.052_87 * 0.0065 / 9.806_65;

/// The lowest and the highest QNH taken for plausible where none is stated (from memory: the
/// records at sea level are about 870 and 1084 hPa, in the eye of a typhoon and in a Siberian
/// winter).
pub const PLAUSIBLE_QNH: [Pressure; 2] = [Pressure::of(950.0), Pressure::of(1050.0)];

/// The altitude at which the standard atmosphere has a pressure, valid below 11 km.
///
/// 983.25 hPa: 829 ft; 1030 hPa: −454 ft.
#[must_use]
pub fn pressure_altitude(pressure: Pressure) -> Metres {
    Metres::of(SCALE_M * (1.0 - (pressure.hpa() / STANDARD_HPA).powf(EXPONENT)))
}

/// The altitude AMSL of a level of constant pressure (its altitude at 1013.25 hPa) for a QNH.
///
/// Flight level 100 (10 000 ft) is at 9 171 ft for 983.25 hPa and at 10 272 ft for 1023.25 hPa.
#[must_use]
pub fn altitude_at(level: Metres, qnh: Pressure) -> Altitude {
    Altitude::of(level.m() - pressure_altitude(qnh).m())
}
