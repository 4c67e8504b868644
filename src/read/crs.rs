//! Coordinate reference systems: any declared system to WGS 84 longitude and latitude, and back.
//!
//! Axis order is always x first (easting or longitude), as GeoJSON has it. Not here: heights (only plan
//! coordinates are converted), and the conversion of other systems than WGS 84 (see
//! `crate::read::conversion`).

use super::conversion::Conversion;
use crate::error::Result;
use crate::frame::LonLat;
use crate::units::Metres;

/// Names of WGS 84 in files; x is the longitude in all of them, as RFC 7946 appendix B has it.
const WGS84_NAMES: [&str; 6] = [
    "EPSG:4326",
    "OGC:CRS84",
    "urn:ogc:def:crs:EPSG::4326",
    "urn:ogc:def:crs:OGC:1.3:CRS84",
    "urn:ogc:def:crs:OGC::CRS84",
    "http://www.opengis.net/def/crs/OGC/1.3/CRS84",
];

/// A declared coordinate reference system and how it is brought to WGS 84.
#[derive(Clone, Debug, PartialEq)]
pub struct Crs {
    declared: String,
    /// None when the coordinates already are WGS 84.
    conversion: Option<Conversion>,
}

/// What PROJ did at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Operation {
    /// In words, for [`crate::answer::LayerAnswer::crs`].
    pub description: String,
    /// The accuracy that the database states for it, metres; 0 for a mere change of coordinates.
    pub accuracy: Metres,
    /// Whether a change of datum left the coordinates as they were.
    pub is_null: bool,
}

impl Crs {
    /// WGS 84 longitude and latitude, as RFC 7946 section 4 has it.
    #[must_use]
    pub fn wgs84() -> Self {
        Self {
            declared: "WGS 84".to_owned(),
            conversion: None,
        }
    }

    /// From a definition: `EPSG:7855`, `urn:ogc:def:crs:EPSG::7844`,
    /// `urn:ogc:def:crs:OGC:1.3:CRS84`, or WKT.
    ///
    /// GDA94 goes through GDA2020 by the national seven-parameter transformation (EPSG:8048), and
    /// GDA2020 is taken as WGS 84; so the two differ by about 1.8 m, as they should.
    ///
    /// # Errors
    /// A definition that PROJ does not know, a system without plan coordinates, or one for which
    /// the database has no transformation to WGS 84. Built without PROJ: any other than WGS 84.
    pub fn declared(definition: &str) -> Result<Self> {
        let definition = definition.trim();
        if WGS84_NAMES.contains(&definition) {
            return Ok(Self::wgs84());
        }
        let (declared, conversion) = Conversion::declared(definition)?;
        Ok(Self {
            declared,
            conversion,
        })
    }

    /// The system as it was declared: its name and code.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.declared
    }

    /// Whether coordinates are WGS 84 longitude and latitude already.
    #[must_use]
    pub const fn is_wgs84(&self) -> bool {
        self.conversion.is_none()
    }

    /// A position of this system in WGS 84 longitude and latitude, degrees; none where the
    /// operation is not defined.
    #[must_use]
    pub fn to_lon_lat(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        match &self.conversion {
            None => Some((x, y)),
            Some(conversion) => conversion.to_lon_lat(x, y),
        }
    }

    /// A place in this system's coordinates, x first; none where the operation is not defined.
    #[must_use]
    pub fn from_lon_lat(&self, place: LonLat) -> Option<(f64, f64)> {
        match &self.conversion {
            None => Some((place.lon(), place.lat())),
            Some(conversion) => conversion.position_of(place),
        }
    }

    /// What is done at a position of this system, and how well.
    ///
    /// # Errors
    /// When PROJ only has a ballpark operation there: one that leaves out the change of datum.
    pub fn operation_at(&self, x: f64, y: f64) -> Result<Operation> {
        match &self.conversion {
            None => Ok(Operation {
                description: "used as it is".to_owned(),
                accuracy: Metres::ZERO,
                is_null: false,
            }),
            Some(conversion) => conversion.operation_at(&self.declared, x, y),
        }
    }
}
