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

fn sexagesimal(degrees: f64, width: usize, positive: char, negative: char) -> String {
    // One count of hundredths of a second first, so that 59.999" carries into the minutes.
    let hundredths = (degrees.abs() * 360_000.0).round();
    let side = if degrees < 0.0 && hundredths > 0.0 {
        negative
    } else {
        positive
    };
    let whole = (hundredths / 360_000.0).floor();
    let minutes = ((hundredths - whole * 360_000.0) / 6_000.0).floor();
    let seconds = (hundredths - whole * 360_000.0 - minutes * 6_000.0) / 100.0;
    format!("{whole:0width$.0}°{minutes:02.0}'{seconds:05.2}\"{side}")
}
