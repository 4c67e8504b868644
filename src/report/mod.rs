//! Words: the terminal page, the listings and the JSON form, all from values found elsewhere.
//!
//! One of the two places where numbers become words and marks (the other is [`crate::figure`]).
//! Nothing is computed here but rounding to the safe side and the sums that show it.

pub mod aerodromes;
pub mod airspace;
pub mod budget;
pub mod ceiling;
pub mod ceiling_map;
pub mod clearance;
pub mod hours;
#[cfg(feature = "gdal")]
pub mod inspect;
pub mod json;
pub mod number;
pub mod page;
pub mod plan_points;
#[cfg(feature = "gdal")]
pub mod prepare;
pub mod profiles;
pub mod runways;
pub mod schedule;
pub mod screening;
mod section;
pub mod shielding;
pub mod structures;
pub mod surfaces;
pub mod text;
pub mod zones;
