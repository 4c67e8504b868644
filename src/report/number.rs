//! Numbers, shares and places as words: rounded to the safe side, grouped, with their unit.
//!
//! Not here: conversions between units (see [`crate::units`]). Spaces inside a quantity are
//! no-break spaces, which [`super::text::Page`] turns into plain ones after it has wrapped lines.

pub use crate::digits::{MINUS, NO_BREAK, grouped};
use crate::dms;
use crate::frame::LonLat;
use crate::units::{Altitude, Bearing, Height, Metres};

/// Words for a value that the data do not give.
pub const NOT_GIVEN: &str = "not given";

/// Metres and feet, both rounded down: `39.5 m (129 ft)`; 50 m is 164 ft.
#[must_use]
pub fn height(height: Height) -> String {
    metres_and_feet(height.m_down(1), height.ft_down())
}

/// Metres and feet, both rounded down: `351.2 m (1 152 ft)`.
#[must_use]
pub fn altitude(altitude: Altitude) -> String {
    metres_and_feet(altitude.m_down(1), altitude.ft_down())
}

fn metres_and_feet(metres: f64, feet: f64) -> String {
    format!(
        "{}{NO_BREAK}m ({}{NO_BREAK}ft)",
        grouped(metres, 1),
        grouped(feet, 0)
    )
}

/// A number of metres with its unit.
#[must_use]
pub fn metres(value: f64, decimals: usize) -> String {
    format!("{}{NO_BREAK}m", grouped(value, decimals))
}

/// A distance in nautical miles, rounded down: `2.97 NM`.
#[must_use]
pub fn nautical_miles(distance: Metres) -> String {
    format!("{}{NO_BREAK}NM", grouped(distance.nm_down(2), 2))
}

/// A signed margin in whole metres, rounded down, its sign always shown: `+312 m`, `−53 m`.
#[must_use]
pub fn margin(margin: Metres) -> String {
    let rounded = margin.m_down(0);
    let sign = if rounded > 0.0 { "+" } else { "" };
    format!("{sign}{}", metres(rounded, 0))
}

/// A share of 0 to 1 in per cent, rounded down; `0 %` and `100 %` only for 0 and 1 themselves.
#[must_use]
pub fn share_down(share: f64) -> String {
    percent(share, (share * 1_000.0 + SHARE_NOISE).floor() / 10.0)
}

/// A share of 0 to 1 in per cent, rounded up; `0 %` and `100 %` only for 0 and 1 themselves.
#[must_use]
pub fn share_up(share: f64) -> String {
    percent(share, (share * 1_000.0 - SHARE_NOISE).ceil() / 10.0)
}

/// A share that is known to be neither nothing nor all, rounded down: never `0 %` or `100 %`.
#[must_use]
pub fn partial_share_down(share: f64) -> String {
    share_down(share.clamp(LEAST_PART, 1.0 - LEAST_PART))
}

/// A share that is known to be neither nothing nor all, rounded up: never `0 %` or `100 %`.
#[must_use]
pub fn partial_share_up(share: f64) -> String {
    share_up(share.clamp(LEAST_PART, 1.0 - LEAST_PART))
}

/// Slack, in tenths of a per cent, that keeps 0.37 from being printed as 36.9 %.
const SHARE_NOISE: f64 = 1e-9;

/// A share that no longer prints as nothing.
const LEAST_PART: f64 = 1e-12;

fn percent(share: f64, rounded: f64) -> String {
    if share.is_nan() {
        return "undetermined".into();
    }
    if share <= 0.0 {
        return format!("0{NO_BREAK}%");
    }
    if share >= 1.0 {
        return format!("100{NO_BREAK}%");
    }
    if share < 0.001 - SHARE_NOISE {
        return format!("<0.1{NO_BREAK}%");
    }
    if share > 0.999 + SHARE_NOISE {
        return format!(">99.9{NO_BREAK}%");
    }
    format!("{rounded:.1}{NO_BREAK}%")
}

/// A place in degrees, minutes and seconds to 0.01" (0.3 m): `30°12'34.56"S 150°47'59.99"E`.
#[must_use]
pub fn dms(place: LonLat) -> String {
    format!(
        "{}{NO_BREAK}{}",
        dms::latitude(place),
        dms::longitude(place)
    )
}

/// A place in decimal degrees, latitude first, to 7 places (1 cm), with ASCII signs for copying:
/// `-30.2096000, 150.7999972`.
#[must_use]
pub fn decimal(place: LonLat) -> String {
    // Adding 0 turns the negative zero of "-0.0000000" into 0.
    let seven = |degrees: f64| (degrees * 1e7).round() / 1e7 + 0.0;
    format!(
        "{:.7},{NO_BREAK}{:.7}",
        seven(place.lat()),
        seven(place.lon())
    )
}

/// A place both ways.
#[must_use]
pub fn place(place: LonLat) -> String {
    format!("{} ({})", dms(place), decimal(place))
}

/// A true and a magnetic bearing in three digits: `214°T 203°M`.
#[must_use]
pub fn bearings(true_bearing: Option<Bearing>, magnetic: Option<Bearing>) -> String {
    let shown = |bearing: Option<Bearing>, north: char| {
        bearing.map_or(format!("---°{north}"), |it| {
            format!("{}°{north}", it.three_digits())
        })
    };
    format!(
        "{}{NO_BREAK}{}",
        shown(true_bearing, 'T'),
        shown(magnetic, 'M')
    )
}

/// A count with its noun: `1 feature`, `12 features`.
#[must_use]
pub fn count(count: usize, noun: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{}{NO_BREAK}{noun}{plural}", grouped(count as f64, 0))
}
