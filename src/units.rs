//! Lengths, altitudes, heights and bearings as types, and every conversion between their units.
//!
//! Not here: anything that needs terrain (an [`Altitude`] never becomes a [`Height`] by itself)
//! or a place on the ellipsoid (see [`crate::frame`]).
//!
//! Values printed for a person are rounded to the safe side: distances, altitudes and heights
//! down, radii up. `50 m` is `164 ft`, never `165`.

use std::fmt;
use std::ops::{Add, Neg, Sub};

use serde::Serialize;

/// The international foot in metres, exact (ICAO Annex 5, Table 3-3; from memory).
pub const METRES_PER_FOOT: f64 = 0.3048;

/// The international nautical mile in metres, exact (BIPM SI Brochure, 9th edition, Table 8; from memory).
pub const METRES_PER_NAUTICAL_MILE: f64 = 1852.0;

/// Slack that keeps a value which is a whole number but for floating-point noise from being
/// rounded one whole step to the safe side: 1 nanometre, ten thousand times below the
/// finest accuracy claimed anywhere (0.01 mm).
const ROUNDING_NOISE_M: f64 = 1e-9;

/// A value that a type refuses, with the reason.
#[derive(Clone, Debug, PartialEq)]
pub struct InvalidValue {
    /// The value as it was given.
    pub value: f64,
    /// Why it was refused, as a phrase: "is not a finite number".
    pub reason: &'static str,
}

impl fmt::Display for InvalidValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.reason)
    }
}

impl std::error::Error for InvalidValue {}

fn finite(value: f64) -> Result<f64, InvalidValue> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(InvalidValue {
            value,
            reason: "is not a finite number",
        })
    }
}

macro_rules! length_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// From a finite number of metres.
            ///
            /// # Errors
            /// [`InvalidValue`] for NaN and infinities.
            pub fn new(metres: f64) -> Result<Self, InvalidValue> {
                finite(metres).map(Self)
            }

            /// From a number of metres known to be finite; NaN and infinities are clamped to the
            /// largest finite magnitude, so that no such value can be NaN.
            #[must_use]
            pub const fn of(metres: f64) -> Self {
                if metres.is_nan() || metres == f64::NEG_INFINITY {
                    Self(f64::MIN)
                } else if metres == f64::INFINITY {
                    Self(f64::MAX)
                } else {
                    Self(metres)
                }
            }

            /// From international feet.
            #[must_use]
            pub const fn from_feet(feet: f64) -> Self {
                Self::of(feet * METRES_PER_FOOT)
            }

            /// The value in metres.
            #[must_use]
            pub const fn m(self) -> f64 {
                self.0
            }

            /// The value in international feet.
            #[must_use]
            pub const fn ft(self) -> f64 {
                self.0 / METRES_PER_FOOT
            }

            /// Metres rounded down to `decimals` places.
            #[must_use]
            pub fn m_down(self, decimals: i32) -> f64 {
                floor_to(self.0, decimals)
            }

            /// Metres rounded up to `decimals` places.
            #[must_use]
            pub fn m_up(self, decimals: i32) -> f64 {
                0.0 - floor_to(-self.0, decimals)
            }

            /// Whole feet, rounded down: 50 m is 164 ft.
            #[must_use]
            pub fn ft_down(self) -> f64 {
                ((self.0 + ROUNDING_NOISE_M) / METRES_PER_FOOT).floor()
            }

            /// Whole feet, rounded up: 50 m is 165 ft.
            #[must_use]
            pub fn ft_up(self) -> f64 {
                ((self.0 - ROUNDING_NOISE_M) / METRES_PER_FOOT).ceil() + 0.0
            }
        }
    };
}

/// Rounded down to `decimals` places; never minus zero (adding 0 turns it into 0), and unchanged
/// where the value is so great that scaling would overflow.
fn floor_to(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    let scaled = (value + ROUNDING_NOISE_M) * scale;
    if scaled.is_finite() {
        scaled.floor() / scale + 0.0
    } else {
        value
    }
}

length_type! {
    /// A length, distance or difference of heights in metres; finite, of either sign.
    Metres
}
length_type! {
    /// An elevation or altitude in metres above mean sea level (AMSL); finite.
    Altitude
}
length_type! {
    /// A height in metres above the ground at the same place (AGL); finite.
    Height
}

impl Metres {
    /// No length.
    pub const ZERO: Self = Self(0.0);

    /// From nautical miles: 3 NM is 5 556 m.
    #[must_use]
    pub const fn from_nautical_miles(nautical_miles: f64) -> Self {
        Self::of(nautical_miles * METRES_PER_NAUTICAL_MILE)
    }

    /// From kilometres: 4 km is 4 000 m.
    #[must_use]
    pub const fn from_kilometres(kilometres: f64) -> Self {
        Self::of(kilometres * 1000.0)
    }

    /// The value in nautical miles.
    #[must_use]
    pub const fn nm(self) -> f64 {
        self.0 / METRES_PER_NAUTICAL_MILE
    }

    /// Nautical miles rounded down to `decimals` places.
    #[must_use]
    pub fn nm_down(self, decimals: i32) -> f64 {
        let scale = 10f64.powi(decimals);
        ((self.0 + ROUNDING_NOISE_M) / METRES_PER_NAUTICAL_MILE * scale).floor() / scale + 0.0
    }

    /// The smaller of two lengths.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }

    /// The greater of two lengths.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }
}

impl Add for Metres {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::of(self.0 + other.0)
    }
}

impl Sub for Metres {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::of(self.0 - other.0)
    }
}

impl Neg for Metres {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Add<Metres> for Altitude {
    type Output = Self;
    fn add(self, other: Metres) -> Self {
        Self::of(self.0 + other.0)
    }
}

impl Sub<Metres> for Altitude {
    type Output = Self;
    fn sub(self, other: Metres) -> Self {
        Self::of(self.0 - other.0)
    }
}

impl Sub for Altitude {
    type Output = Metres;
    fn sub(self, other: Self) -> Metres {
        Metres::of(self.0 - other.0)
    }
}

impl Altitude {
    /// The altitude that is `height` above ground of elevation `ground`.
    #[must_use]
    pub fn on(ground: Self, height: Height) -> Self {
        Self::of(ground.0 + height.0)
    }

    /// The height of this altitude above ground of elevation `ground`.
    #[must_use]
    pub fn above(self, ground: Self) -> Height {
        Height::of(self.0 - ground.0)
    }
}

/// A pressure in hectopascals, above 0 and finite.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Pressure(f64);

impl Pressure {
    /// From hectopascals.
    ///
    /// # Errors
    /// [`InvalidValue`] for NaN, infinities, 0 and less.
    pub fn new(hectopascals: f64) -> Result<Self, InvalidValue> {
        if finite(hectopascals)? > 0.0 {
            Ok(Self(hectopascals))
        } else {
            Err(InvalidValue {
                value: hectopascals,
                reason: "is not above 0",
            })
        }
    }

    /// From hectopascals known to be above 0; anything else becomes the least number that is.
    #[must_use]
    pub const fn of(hectopascals: f64) -> Self {
        if hectopascals > 0.0 && hectopascals < f64::INFINITY {
            Self(hectopascals)
        } else {
            Self(f64::MIN_POSITIVE)
        }
    }

    /// The value in hectopascals.
    #[must_use]
    pub const fn hpa(self) -> f64 {
        self.0
    }
}

/// A direction in degrees clockwise from north, 0 ≤ value < 360; true or magnetic as its name says.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Bearing(f64);

impl Bearing {
    /// North, 0 degrees.
    pub const NORTH: Self = Self(0.0);

    /// From any finite number of degrees, brought into 0..360.
    ///
    /// # Errors
    /// [`InvalidValue`] for NaN and infinities.
    pub fn new(degrees: f64) -> Result<Self, InvalidValue> {
        let wrapped = finite(degrees)?.rem_euclid(360.0);
        Ok(Self(if wrapped >= 360.0 { 0.0 } else { wrapped }))
    }

    /// The value in degrees.
    #[must_use]
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// The magnetic bearing of this true bearing, for a variation in degrees, east positive
    /// (true = magnetic + variation).
    #[must_use]
    pub fn magnetic(self, variation_deg_east: f64) -> Self {
        Self::new(self.0 - variation_deg_east).unwrap_or(self)
    }

    /// Three digits to the nearest degree, north as `360` (aviation usage): `087`, `360`.
    #[must_use]
    pub fn three_digits(self) -> String {
        let rounded = self.0.round();
        let shown = if rounded <= 0.0 { 360.0 } else { rounded };
        format!("{shown:03.0}")
    }
}
