//! Numbers and places as the words of a figure, rounded to the safe side.
//!
//! Not here: any value that is not already in the assessment.

use crate::answer::{CeilingPair, DistanceAnswer, ObstacleAnswer};
use crate::digits::{self, MINUS, NO_BREAK as BLANK};
use crate::dms;
use crate::frame::LonLat;
use crate::units::{Altitude, Height, Metres};

/// A whole number with its digits in groups of three: `5 945`.
pub fn grouped(whole: f64) -> String {
    number(whole, 0)
}

/// A number with decimals in the same way; a hyphen stands for the minus sign, which the shipped font
/// lacks.
pub fn number(value: f64, decimals: usize) -> String {
    digits::grouped(value, decimals).replace(MINUS, "-")
}

fn metres_and_feet(m_down: f64, ft_down: f64) -> String {
    format!(
        "{}{BLANK}m / {}{BLANK}ft",
        number(m_down, 1),
        grouped(ft_down)
    )
}

/// A height: metres to one decimal and whole feet, both rounded down, `AGL`.
pub fn height(height: Height) -> String {
    format!(
        "{}{BLANK}AGL",
        metres_and_feet(height.m_down(1), height.ft_down())
    )
}

/// An altitude: metres to one decimal and whole feet, both rounded down, `AMSL`.
pub fn altitude(altitude: Altitude) -> String {
    format!(
        "{}{BLANK}AMSL",
        metres_and_feet(altitude.m_down(1), altitude.ft_down())
    )
}

/// A height above a take-off point: `35.3 m / 115 ft`, both rounded down.
pub fn above_point(height_m: f64) -> String {
    let height = Height::of(height_m);
    metres_and_feet(height.m_down(1), height.ft_down())
}

/// A ceiling in the references that it has: above ground first.
pub fn ceiling(pair: &CeilingPair) -> Vec<String> {
    let above_ground = height(Height::of(pair.above_ground.value_m));
    let amsl = pair
        .amsl
        .as_ref()
        .map(|value| altitude(Altitude::of(value.value_m)));
    std::iter::once(above_ground).chain(amsl).collect()
}

/// A distance, both units rounded down: `3.21 NM / 5 945 m`.
pub fn distance(distance: Metres) -> String {
    format!(
        "{:.2}{BLANK}NM / {}{BLANK}m",
        distance.nm_down(2),
        grouped(distance.m_down(0))
    )
}

/// The bearing from the aerodrome: `214°T / 203°M`, or true alone; nothing where there is none.
pub fn bearing(answer: &DistanceAnswer) -> Option<String> {
    let bearing = answer.bearing_true_deg?.three_digits();
    Some(match answer.bearing_magnetic_deg {
        Some(magnetic) => format!("{bearing}°T / {}°M", magnetic.three_digits()),
        None => format!("{bearing}°T"),
    })
}

/// A share of the area as a percentage rounded up, never 0 for more than nothing: `3.3 %`.
pub fn share_up(share: f64) -> String {
    let tenths = (share.clamp(0.0, 1.0) * 1000.0 - 1e-9).ceil().max(0.0);
    format!("{:.1}{BLANK}%", tenths / 10.0)
}

/// A share of the area as a percentage rounded down, never 100 for less than all: `77.4 %`.
pub fn share_down(share: f64) -> String {
    let tenths = (share.clamp(0.0, 1.0) * 1000.0 + 1e-9).floor();
    format!("{:.1}{BLANK}%", tenths / 10.0)
}

/// An area in square metres, rounded down.
pub fn square_metres_down(area_m2: f64) -> String {
    format!("{}{BLANK}m²", grouped((area_m2 + 1e-9).floor().max(0.0)))
}

/// An area in square metres, rounded up.
pub fn square_metres_up(area_m2: f64) -> String {
    format!("{}{BLANK}m²", grouped((area_m2 - 1e-9).ceil().max(0.0)))
}

/// The top of an obstacle in the reference that is known, `None` when its height is unknown.
pub fn top(obstacle: &ObstacleAnswer) -> Option<String> {
    obstacle
        .top_m_agl
        .map(height)
        .or_else(|| obstacle.top_m_amsl.map(altitude))
}

/// The trusted top of an obstacle above its own base, if it can shield.
pub fn trusted_top(obstacle: &ObstacleAnswer) -> Option<String> {
    obstacle
        .trusted_top_m_agl
        .map(height)
        .or_else(|| obstacle.trusted_top_m_amsl.map(altitude))
}

/// Degrees, minutes and seconds of an angle, with as many decimals of a second as a step needs.
fn sexagesimal(degrees: f64, step_arcsec: f64) -> String {
    let decimals: u8 = match step_arcsec {
        step if step >= 1.0 => 0,
        step if step >= 0.1 => 1,
        _ => 2,
    };
    let (whole, minutes, seconds) = dms::parts(degrees, decimals);
    let width = if decimals == 0 {
        2
    } else {
        usize::from(decimals) + 3
    };
    let text = format!("{whole:.0}°{minutes:02.0}′");
    if step_arcsec >= 60.0 {
        text
    } else {
        format!("{text}{seconds:0width$.*}″", usize::from(decimals))
    }
}

/// A longitude: `151°12′30″E`.
pub fn longitude(degrees: f64, step_arcsec: f64) -> String {
    let turned = (degrees + 180.0).rem_euclid(360.0) - 180.0;
    let side = if turned < 0.0 { "W" } else { "E" };
    format!("{}{side}", sexagesimal(turned, step_arcsec))
}

/// A latitude: `29°46′30″S`.
pub fn latitude(degrees: f64, step_arcsec: f64) -> String {
    let side = if degrees < 0.0 { "S" } else { "N" };
    format!("{}{side}", sexagesimal(degrees, step_arcsec))
}

/// A place to a tenth of an arc second.
pub fn place(place: LonLat) -> String {
    format!(
        "{} {}",
        latitude(place.lat(), 0.1),
        longitude(place.lon(), 0.1)
    )
}

/// A length of a scale bar without needless zeros: `0.05 NM`, `100 m`, `20 km`.
pub fn round_length(value: f64, unit: &str) -> String {
    if value >= 1.0 {
        return format!("{}{BLANK}{unit}", grouped(value));
    }
    let text = format!("{value:.6}");
    format!("{}{BLANK}{unit}", text.trim_end_matches('0'))
}
