//! Magnetic variation (declination) by the World Magnetic Model 2025.
//!
//! Not here: turning a true bearing into a magnetic one (see [`crate::units::Bearing::magnetic`]).

use jiff::civil::Date;
use world_magnetic_model::uom::si::angle::degree;
use world_magnetic_model::uom::si::f32::{Angle, Length};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::{GeomagneticField, WarningZone, time};

use crate::frame::LonLat;
use crate::units::Metres;

/// The model's name in answers.
pub const MODEL: &str = "WMM2025";

/// The first year of the model: it holds from 1 January 2025.
const FIRST_YEAR: i16 = 2025;

/// The year in which the model has ended: it holds to 31 December 2029.
const END_YEAR: i16 = 2030;

/// The magnetic variation at a place on a date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variation {
    /// Declination in degrees, east positive: true = magnetic + declination.
    pub declination_deg: f64,
    /// One standard deviation of the model's declination, degrees; it leaves out local disturbance.
    pub uncertainty_deg: f64,
    /// [`MODEL`].
    pub model: &'static str,
}

/// The magnetic variation at a place on a date by WMM2025.
///
/// `elevation` is taken as the height above the ellipsoid; an elevation above mean sea level will
/// do, since 100 m change the declination by less than 0.003 degrees where H is above 6 000 nT.
/// Accuracy: within 0.005 degrees of the published test values. The model itself is less
/// certain: `uncertainty_deg` is √(0.26² + (5417 ⁄ H)²) for a horizontal intensity H in nT.
///
/// Reference: The US/UK World Magnetic Model for 2025-2030, NOAA NCEI and British Geological
/// Survey, doi:10.25923/prbc-s316; blackout zone (H below 2 000 nT) from its section 1.8.
///
/// # Errors
/// Why there is no variation, as a phrase: the date is outside 2025-01-01 to 2029-12-31, the place
/// is in the blackout zone of a magnetic pole, or the elevation is outside -1 to 850 km.
pub fn variation(place: LonLat, elevation: Metres, date: Date) -> Result<Variation, String> {
    if !(FIRST_YEAR..END_YEAR).contains(&date.year()) {
        return Err(format!(
            "{MODEL} holds from 2025-01-01 to 2029-12-31, not on {date}"
        ));
    }
    let day =
        time::Date::from_ordinal_date(i32::from(date.year()), date.day_of_year().unsigned_abs())
            .map_err(|why| format!("the date {date} has no day of the year: {why}"))?;
    let field = GeomagneticField::new(
        Length::new::<meter>(elevation.m() as f32),
        Angle::new::<degree>(place.lat() as f32),
        Angle::new::<degree>(place.lon() as f32),
        day,
    )
    .map_err(|why| format!("{MODEL} gives no value: {why}"))?;
    if field.declination_warning() == Some(WarningZone::BlackoutZone) {
        return Err(format!(
            "the place is in the blackout zone of a magnetic pole, where {MODEL} gives no \
             dependable variation"
        ));
    }
    let declination_deg = f64::from(field.declination().get::<degree>());
    let uncertainty_deg = f64::from(field.declination_uncertainty().get::<degree>());
    if declination_deg.is_finite() && uncertainty_deg.is_finite() {
        Ok(Variation {
            declination_deg,
            uncertainty_deg,
            model: MODEL,
        })
    } else {
        Err(format!("{MODEL} gives no finite value here"))
    }
}
