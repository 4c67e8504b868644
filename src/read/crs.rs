//! Coordinate reference systems: any declared system to WGS 84 longitude and latitude, and back.
//!
//! Operations come from PROJ's database through the `proj` crate; the definition is first checked
//! through GDAL, which reports a bad one without printing. Axis order is always x first (easting or
//! longitude), as GeoJSON has it. Not here: heights (only plan coordinates are converted).

use std::cell::RefCell;
use std::rc::Rc;

use gdal::spatial_ref::SpatialRef;
use proj::Proj;

use super::messages;
use crate::error::{Error, Result};
use crate::frame::LonLat;
use crate::units::Metres;

const WGS84: &str = "EPSG:4326";
const GDA2020: &str = "EPSG:7844";
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
    /// Source and target for PROJ; none when the coordinates already are WGS 84.
    operation: Option<(String, &'static str)>,
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

thread_local! {
    // PROJ objects belong to one thread, so each thread builds its own on first use. A run has a
    // handful of them, which are found faster by looking along a list than by hashing their names.
    static TRANSFORMATIONS: RefCell<Vec<(String, String, Rc<Proj>)>> = const { RefCell::new(Vec::new()) };
}

impl Crs {
    /// WGS 84 longitude and latitude, as RFC 7946 section 4 has it.
    #[must_use]
    pub fn wgs84() -> Self {
        Self {
            declared: "WGS 84".to_owned(),
            operation: None,
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
    /// the database has no transformation to WGS 84.
    pub fn declared(definition: &str) -> Result<Self> {
        let definition = definition.trim();
        if WGS84_NAMES.contains(&definition) {
            return Ok(Self::wgs84());
        }
        messages::silence();
        let reference = SpatialRef::from_definition(definition).map_err(|_| {
            Error::new(
                format!("\"{definition}\" is not a coordinate reference system that PROJ knows"),
                "give an EPSG code such as EPSG:7844, or convert the file to WGS 84",
            )
        })?;
        if !(reference.is_geographic() || reference.is_projected()) {
            return Err(Error::new(
                format!("\"{definition}\" has no longitude and latitude or easting and northing"),
                "declare the horizontal coordinate reference system of the file",
            ));
        }
        let name = reference.name().unwrap_or_else(|| definition.to_owned());
        let code = code_of(&reference);
        let declared = match &code {
            Some(code) if *code != name => format!("{name} ({code})"),
            _ => name,
        };
        if matches!(
            code.as_deref(),
            Some("EPSG:4326" | "OGC:CRS84" | "EPSG:4979")
        ) {
            return Ok(Self {
                declared,
                operation: None,
            });
        }
        let source = code.unwrap_or_else(|| definition.to_owned());
        let mut crs = Self {
            declared,
            operation: Some((source.clone(), WGS84)),
        };
        // The place is of no matter here: it only makes PROJ choose and name an operation.
        let named = samples(&reference, &source)
            .into_iter()
            .find_map(|(x, y)| describe(&source, WGS84, x, y).map(|found| (x, y, found.0)));
        let Some((x, y, words)) = named else {
            return Err(Error::new(
                format!("{} cannot be converted to WGS 84", crs.declared),
                "convert the file to WGS 84 with a known transformation",
            ));
        };
        if words.contains("GDA94 to WGS 84") {
            crs.operation = Some((source, GDA2020));
        }
        crs.operation_at(x, y)?;
        Ok(crs)
    }

    /// The system as it was declared: its name and code.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.declared
    }

    /// Whether coordinates are WGS 84 longitude and latitude already.
    #[must_use]
    pub const fn is_wgs84(&self) -> bool {
        self.operation.is_none()
    }

    /// A position of this system in WGS 84 longitude and latitude, degrees; none where the
    /// operation is not defined.
    #[must_use]
    pub fn to_lon_lat(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        match &self.operation {
            None => Some((x, y)),
            Some((source, target)) => convert(source, target, x, y),
        }
    }

    /// A place in this system's coordinates, x first; none where the operation is not defined.
    #[must_use]
    pub fn from_lon_lat(&self, place: LonLat) -> Option<(f64, f64)> {
        match &self.operation {
            None => Some((place.lon(), place.lat())),
            Some((source, target)) => convert(target, source, place.lon(), place.lat()),
        }
    }

    /// What is done at a position of this system, and how well.
    ///
    /// # Errors
    /// When PROJ only has a ballpark operation there: one that leaves out the change of datum.
    pub fn operation_at(&self, x: f64, y: f64) -> Result<Operation> {
        let Some((source, target)) = &self.operation else {
            return Ok(Operation {
                description: "used as it is".to_owned(),
                accuracy: Metres::ZERO,
                is_null: false,
            });
        };
        let refused = |why: String| {
            Error::new(
                format!("{} {why}", self.declared),
                "convert the file to WGS 84 with a known transformation",
            )
        };
        let (words, accuracy, definition) = describe(source, target, x, y)
            .ok_or_else(|| refused("cannot be converted to WGS 84".to_owned()))?;
        if words.contains("allpark") || accuracy < 0.0 {
            return Err(refused(
                "has no known transformation to WGS 84, only a ballpark one".to_owned(),
            ));
        }
        let steps = words
            .split(" + ")
            .filter(|step| !step.starts_with("axis order change"))
            .collect::<Vec<_>>()
            .join(" + ");
        let is_null = definition.contains("noop")
            || (words.contains(" to WGS 84")
                && !definition.contains("helmert")
                && !definition.contains("grids="));
        if *target == GDA2020 {
            let onward = describe(GDA2020, WGS84, 133.9, -23.7).map_or(0.0, |(_, m, _)| m.max(0.0));
            return Ok(Operation {
                description: format!("{steps}; GDA2020 taken as WGS 84"),
                accuracy: Metres::of(accuracy + onward),
                is_null: true,
            });
        }
        Ok(Operation {
            description: if steps.is_empty() { words } else { steps },
            accuracy: Metres::of(accuracy),
            is_null: is_null && accuracy > 0.0,
        })
    }
}

fn code_of(reference: &SpatialRef) -> Option<String> {
    let authority = reference.auth_name()?;
    let code = reference.auth_code().ok()?;
    Some(format!("{authority}:{code}"))
}

/// Positions at which the system ought to be defined, in its own coordinates: the middle of its area
/// of use, its projection centre, and its origin.
fn samples(reference: &SpatialRef, source: &str) -> Vec<(f64, f64)> {
    let mut places = Vec::new();
    if let Some(area) = reference.area_of_use() {
        let turn = if area.east_lon_degree < area.west_lon_degree {
            360.0
        } else {
            0.0
        };
        places.push((
            (area.west_lon_degree + area.east_lon_degree + turn) / 2.0,
            (area.south_lat_degree + area.north_lat_degree) / 2.0,
        ));
    }
    if reference.is_geographic() {
        places.push((0.0, 0.0));
        return places;
    }
    let parameter = |names: [&str; 2]| {
        names
            .iter()
            .find_map(|name| reference.get_proj_param(name).ok().flatten())
            .unwrap_or(0.0)
    };
    places.push((
        parameter(["central_meridian", "longitude_of_center"]),
        parameter(["latitude_of_origin", "latitude_of_center"]),
    ));
    let mut positions = places
        .into_iter()
        .filter_map(|(lon, lat)| convert(WGS84, source, lon, lat))
        .collect::<Vec<_>>();
    positions.push((0.0, 0.0));
    positions
}

fn transformation(source: &str, target: &str) -> Option<Rc<Proj>> {
    TRANSFORMATIONS.with_borrow_mut(|known| {
        let found = known
            .iter()
            .find(|(from, to, _)| from == source && to == target);
        if let Some((_, _, proj)) = found {
            return Some(Rc::clone(proj));
        }
        let proj = Rc::new(Proj::new_known_crs(source, target, None).ok()?);
        known.push((source.to_owned(), target.to_owned(), Rc::clone(&proj)));
        Some(proj)
    })
}

fn convert(source: &str, target: &str, x: f64, y: f64) -> Option<(f64, f64)> {
    let (x, y) = transformation(source, target)?.convert((x, y)).ok()?;
    (x.is_finite() && y.is_finite()).then_some((x, y))
}

fn describe(source: &str, target: &str, x: f64, y: f64) -> Option<(String, f64, String)> {
    let proj = transformation(source, target)?;
    // PROJ names the operation that it used last.
    let _: (f64, f64) = proj.convert((x, y)).ok()?;
    let info = proj.proj_info();
    Some((
        info.description.unwrap_or_default(),
        info.accuracy,
        info.definition.unwrap_or_default(),
    ))
}
