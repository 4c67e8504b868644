//! The lowest point of a span's top wire, from its supports and its sag.
//!
//! The wire hangs as a catenary z = C cosh((x − x₀) ⁄ C), C = H ⁄ w (horizontal tension over weight
//! per metre). A sag given as a length is the greatest drop of a level span of the same length; C
//! follows from it. Supports of unequal tops move the lowest point towards the lower one, and a
//! steep span has its lowest point at that support.
//!
//! For shielding the sag must be that of the hottest wire; eaves takes what the data state.
//! Reference: the level-span and inclined-span formulae of overhead line practice; tested against
//! printed textbook examples and published conductor tables.

use crate::obstacle::Sag;

/// Why no lowest point can be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSag {
    /// The stated sag is negative, not a number, or so great that no wire hangs so.
    Impossible,
}

/// How far the lowest point of the wire is below the *lower* of its two supports, metres, ≥ 0.
///
/// `span_m` is the horizontal distance between the supports, `rise_m` the difference of their tops.
///
/// # Errors
/// [`NoSag::Impossible`] when the sag is negative, not finite, or more than half the span.
pub fn drop_below_lower_support(span_m: f64, rise_m: f64, sag: Sag) -> Result<f64, NoSag> {
    let rise = rise_m.abs();
    let level_sag = match sag {
        Sag::Included => return Ok(0.0),
        Sag::Metres(metres) => metres,
        Sag::ShareOfSpan(share) => share * span_m,
        Sag::Wire {
            weight_per_m,
            horizontal_tension,
        } => {
            let constant = horizontal_tension / weight_per_m;
            if !(weight_per_m > 0.0 && constant.is_finite() && constant > 0.0) {
                return Err(NoSag::Impossible);
            }
            level_drop(span_m, constant)
        }
    };
    // Written so that NaN is impossible too.
    if !(level_sag >= 0.0 && level_sag <= span_m / 2.0 && rise.is_finite()) {
        return Err(NoSag::Impossible);
    }
    if level_sag == 0.0 {
        return Ok(0.0);
    }
    if rise == 0.0 {
        return Ok(level_sag);
    }
    let constant = catenary_constant(span_m, level_sag);
    let towards_lower = lowest_from_lower_support(span_m, rise, constant);
    if towards_lower <= 0.0 {
        return Ok(0.0);
    }
    Ok(constant * ((towards_lower / constant).cosh() - 1.0))
}

/// Where the lowest point of the (possibly extended) wire is, metres from the lower support towards
/// the higher one; negative when the wire rises all the way.
#[must_use]
pub fn lowest_from_lower_support(span_m: f64, rise_m: f64, constant_m: f64) -> f64 {
    let half = span_m / 2.0;
    half - constant_m * (rise_m / (2.0 * constant_m * (half / constant_m).sinh())).asinh()
}

/// The sag of a level span of a catenary, metres.
#[must_use]
pub fn level_drop(span_m: f64, constant_m: f64) -> f64 {
    constant_m * ((span_m / (2.0 * constant_m)).cosh() - 1.0)
}

/// The catenary constant of a level span with a sag, by bisection between bounds that hold it: the
/// parabola's constant S² ⁄ 8D is below the catenary's, and the two differ by less than D.
fn catenary_constant(span_m: f64, sag_m: f64) -> f64 {
    let parabola = span_m * span_m / (8.0 * sag_m);
    let (mut low, mut high) = (parabola * 0.5, parabola + sag_m);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if level_drop(span_m, middle) > sag_m {
            low = middle;
        } else {
            high = middle;
        }
    }
    // The smaller constant hangs lower: pessimistic.
    low
}
