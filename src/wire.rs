//! The top wire of a span from its supports and its sag: its lowest point, and its level anywhere.
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
    let level_sag = level_sag(span_m, rise, sag)?;
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

/// The sag of a level span as long as this one; 0 where the stated height is that of the lowest wire.
fn level_sag(span_m: f64, rise_m: f64, sag: Sag) -> Result<f64, NoSag> {
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
    if level_sag >= 0.0 && level_sag <= span_m / 2.0 && rise_m.is_finite() {
        Ok(level_sag)
    } else {
        Err(NoSag::Impossible)
    }
}

/// The top wire of a span between two supports: its level at every place.
///
/// The same catenary as in [`drop_below_lower_support`], so its least level is the lower top less
/// that drop. Where the stated heights are those of the lowest wire ([`Sag::Included`]) it is the
/// level line at the lower of them. Tested against catenaries solved independently
/// (`tests/reference/make_section.py`): 1 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HangingWire {
    span_m: f64,
    first_top_m: f64,
    last_top_m: f64,
    /// The catenary constant and where its lowest point is from the first support; none for a
    /// straight wire.
    catenary: Option<(f64, f64)>,
}

impl HangingWire {
    /// The wire of a span between supports with these tops, by its stated sag.
    ///
    /// # Errors
    /// [`NoSag::Impossible`] as in [`drop_below_lower_support`].
    pub fn new(span_m: f64, first_top_m: f64, last_top_m: f64, sag: Sag) -> Result<Self, NoSag> {
        let rise = (last_top_m - first_top_m).abs();
        let level_sag = level_sag(span_m, rise, sag)?;
        let lower = first_top_m.min(last_top_m);
        let straight = |first_top_m, last_top_m| Self {
            span_m,
            first_top_m,
            last_top_m,
            catenary: None,
        };
        if sag == Sag::Included {
            return Ok(straight(lower, lower));
        }
        if level_sag == 0.0 {
            return Ok(straight(first_top_m, last_top_m));
        }
        let constant = catenary_constant(span_m, level_sag);
        let from_lower = lowest_from_lower_support(span_m, rise, constant);
        let lowest = if first_top_m <= last_top_m {
            from_lower
        } else {
            span_m - from_lower
        };
        Ok(Self {
            catenary: Some((constant, lowest)),
            ..straight(first_top_m, last_top_m)
        })
    }

    /// Its lowest level, metres.
    #[must_use]
    pub fn lowest(&self) -> f64 {
        let lowest_at = self.catenary.map_or(0.0, |(_, lowest)| lowest);
        self.at(lowest_at)
            .min(self.at(0.0))
            .min(self.at(self.span_m))
    }

    /// Its level at a distance from the first support along the span, metres; beyond a support, the
    /// level there.
    #[must_use]
    pub fn at(&self, from_first_m: f64) -> f64 {
        let along = from_first_m.clamp(0.0, self.span_m.max(0.0));
        let Some((constant, lowest)) = self.catenary else {
            let share = if self.span_m > 0.0 {
                along / self.span_m
            } else {
                0.0
            };
            return self.first_top_m + share * (self.last_top_m - self.first_top_m);
        };
        // cosh u - cosh v = 2 sinh((u + v) / 2) sinh((u - v) / 2), which does not cancel.
        let (u, v) = ((along - lowest) / constant, -lowest / constant);
        self.first_top_m + 2.0 * constant * f64::midpoint(u, v).sinh() * ((u - v) / 2.0).sinh()
    }
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
