//! Latitude and longitude in degrees, minutes and seconds.
//!
//! To the nearest 0.01" (0.3 m on the ground), or any other step of seconds. Not here: where they
//! are printed.

use crate::frame::LonLat;

/// A latitude to 0.01": `30°12'34.56"S`.
#[must_use]
pub fn latitude(place: LonLat) -> String {
    sexagesimal(place.lat(), 2, 'N', 'S')
}

/// A longitude to 0.01": `150°47'59.99"E`.
#[must_use]
pub fn longitude(place: LonLat) -> String {
    sexagesimal(place.lon(), 3, 'E', 'W')
}

/// Whole degrees, whole minutes and seconds of the size of an angle, the seconds rounded to some
/// decimals: one count first, so that 59.999" carries into the minutes.
#[must_use]
pub fn parts(degrees: f64, decimals: u8) -> (f64, f64, f64) {
    let scale = 10f64.powi(i32::from(decimals));
    let units = (degrees.abs() * 3_600.0 * scale).round();
    let whole = (units / (3_600.0 * scale)).floor();
    let rest = units - whole * 3_600.0 * scale;
    let minutes = (rest / (60.0 * scale)).floor();
    (whole, minutes, (rest - minutes * 60.0 * scale) / scale)
}

fn sexagesimal(degrees: f64, width: usize, positive: char, negative: char) -> String {
    let (whole, minutes, seconds) = parts(degrees, 2);
    let is_zero = whole == 0.0 && minutes == 0.0 && seconds == 0.0;
    let side = if degrees < 0.0 && !is_zero {
        negative
    } else {
        positive
    };
    format!("{whole:0width$.0}°{minutes:02.0}'{seconds:05.2}\"{side}")
}
