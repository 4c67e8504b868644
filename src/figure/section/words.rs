//! Levels, lengths and bearings of a section in words, rounded to the safe side.

use crate::answer::{LegAnswer, SectionDatum};
pub use crate::digits::NO_BREAK as BLANK;
use crate::figure::words::{altitude, grouped, height, number};
use crate::units::{Altitude, Height, Metres};

/// A level rounded down, in metres and feet, with what it is counted from.
pub fn level(datum: SectionDatum, level_m: f64) -> String {
    match datum {
        SectionDatum::MeanSeaLevel => altitude(Altitude::of(level_m)),
        // Above the assumed ground, which is said once and large.
        SectionDatum::AssumedFlatGround => height(Height::of(level_m)),
    }
}

/// A level in metres to a decimal, rounded down.
pub fn lowest(level_m: f64) -> String {
    decimal(Metres::of(level_m).m_down(1))
}

/// A level in metres to a decimal, rounded up.
pub fn highest(level_m: f64) -> String {
    decimal(Metres::of(level_m).m_up(1))
}

/// Two levels, the lower rounded down and the higher up; one where they are the same.
pub fn between(low_m: f64, high_m: f64) -> String {
    let (low, high) = (lowest(low_m), highest(high_m));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// Metres with a decimal and their unit.
fn decimal(metres: f64) -> String {
    format!("{}{BLANK}m", number(metres, 1))
}

/// What is taken off a height: metres to the centimetre, as in the height budget.
pub fn amount(metres: f64) -> String {
    format!("{metres:.2}{BLANK}m")
}

/// A distance in whole metres, rounded down.
pub fn distance(metres: Metres) -> String {
    format!("{}{BLANK}m", grouped(metres.m_down(0)))
}

/// How far to a side something lies: `12 m to the right`.
pub fn aside(offset: Metres) -> String {
    let side = if offset.m() < 0.0 { "left" } else { "right" };
    format!("{} to the {side}", distance(Metres::of(offset.m().abs())))
}

/// The bearing of a leg: `065°T / 053°M`.
pub fn bearing(leg: &LegAnswer) -> String {
    let true_bearing = leg.bearing_true_deg.three_digits();
    match leg.bearing_magnetic_deg {
        Some(magnetic) => format!("{true_bearing}°T / {}°M", magnetic.three_digits()),
        None => format!("{true_bearing}°T"),
    }
}
