//! The lowest and the highest credible top of an obstacle, whether it can shield or not.
//!
//! Lowest: the base at its lowest, less the accuracies, as for a trusted top. Highest: the base at
//! its highest within the horizontal accuracy, and the accuracies added, for avoidance.

use crate::assess::ground::SiteGround;
use crate::assess::obstacles::{Placed, ground_within, lowest_base};
use crate::field::ground::GroundRange;
use crate::obstacle::{HeightBasis, Top, VerticalReference};
use crate::read::lines::LONGEST_PLAUSIBLE_SPAN_M;

/// The credible tops of both supports of a span, as its top wire hangs from them.
pub struct SpanTops {
    /// The lowest, at the first and the last support.
    pub low: [f64; 2],
    /// The highest.
    pub high: [f64; 2],
    /// Whether one of them is an estimate.
    pub is_estimate: bool,
}

/// A top between two levels, with the accuracy of the ground that it stands on.
struct Level {
    low: f64,
    high: f64,
    ground_accuracy: f64,
}

/// The tops of a span, or why they are not known.
pub fn span_tops(placed: &Placed, ground: &SiteGround) -> Result<SpanTops, String> {
    let record = &placed.record;
    let span = record.span.as_ref().ok_or("it is not a span")?;
    if span.length.m() > LONGEST_PLAUSIBLE_SPAN_M {
        return Err("its ends are farther apart than spans are built".to_owned());
    }
    let first = placed.sets().first().and_then(|set| set.corners().first());
    let last = placed.sets().last().and_then(|set| set.corners().last());
    let (Some(first), Some(last)) = (first, last) else {
        return Err("its shape has no places".to_owned());
    };
    let [first_end, last_end] = &span.ends;
    let (Some(first_top), Some(last_top)) = (first_end.top, last_end.top) else {
        return Err("a support has no height".to_owned());
    };
    let spread = record.horizontal_accuracy.m().max(0.0);
    let a = level(first_top, ground_within(*first, spread, ground), ground)?;
    let b = level(last_top, ground_within(*last, spread, ground), ground)?;
    // As for a trusted top: no better known than the worse of both supports.
    let accuracy = placed.accuracy + a.ground_accuracy.max(b.ground_accuracy);
    Ok(SpanTops {
        low: [a.low - accuracy, b.low - accuracy],
        high: [a.high + accuracy, b.high + accuracy],
        is_estimate: [first_top, last_top]
            .iter()
            .any(|top| top.basis == HeightBasis::Estimate),
    })
}

/// The lowest and the highest top of an obstacle that is no span, or why they are not known.
pub fn credible_tops(placed: &Placed, ground: &SiteGround) -> Result<(f64, f64), String> {
    let top = placed.record.top.ok_or("has no height")?;
    let level = level(top, base(placed, ground), ground)?;
    let accuracy = placed.accuracy + level.ground_accuracy;
    Ok((level.low - accuracy, level.high + accuracy))
}

/// The ground at the base of an obstacle; none when it is unknown.
pub fn base(placed: &Placed, ground: &SiteGround) -> Option<GroundRange> {
    let spread = placed.record.horizontal_accuracy.m().max(0.0);
    lowest_base(placed.sets(), spread, ground)
}

fn level(top: Top, base: Option<GroundRange>, ground: &SiteGround) -> Result<Level, String> {
    match top.reference {
        VerticalReference::AboveGround => {
            let base = base.ok_or("the ground at its base is unknown")?;
            Ok(Level {
                low: base.low + top.value_m,
                high: base.high + top.value_m,
                ground_accuracy: ground.ground.accuracy(),
            })
        }
        VerticalReference::MeanSeaLevel if ground.is_amsl() => Ok(Level {
            low: top.value_m,
            high: top.value_m,
            ground_accuracy: 0.0,
        }),
        VerticalReference::MeanSeaLevel => {
            Err("its top is given AMSL and the ground has no elevation".to_owned())
        }
    }
}
