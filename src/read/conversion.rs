//! How coordinates of a declared system become WGS 84 longitude and latitude, and back.
//!
//! Operations come from PROJ's database through the `proj` crate; the definition is first checked
//! through GDAL, which reports a bad one without printing. Not here: the system as readers hold it, and
//! WGS 84 itself, which needs neither (see [`crate::read::crs`]).

use std::cell::RefCell;
use std::rc::Rc;

use gdal::spatial_ref::SpatialRef;
use proj::Proj;

use super::crs::Operation;
use super::messages;
use crate::error::{Error, Result};
use crate::frame::LonLat;
use crate::units::Metres;

const WGS84: &str = "EPSG:4326";
const GDA2020: &str = "EPSG:7844";

/// How coordinates of a declared system are brought to WGS 84: source and target for PROJ.
#[derive(Clone, Debug, PartialEq)]
pub struct Conversion {
    source: String,
    target: &'static str,
}

thread_local! {
    // PROJ objects belong to one thread, so each thread builds its own on first use. A run has a
    // handful of them, which are found faster by looking along a list than by hashing their names.
    static TRANSFORMATIONS: RefCell<Vec<(String, String, Rc<Proj>)>> = const { RefCell::new(Vec::new()) };
}

impl Conversion {
    /// The name of a declared system, and its conversion; none where its coordinates already are
    /// WGS 84 longitude and latitude.
    ///
    /// # Errors
    /// See [`Crs::declared`](super::crs::Crs::declared).
    pub fn declared(definition: &str) -> Result<(String, Option<Self>)> {
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
            return Ok((declared, None));
        }
        let source = code.unwrap_or_else(|| definition.to_owned());
        // The place is of no matter here: it only makes PROJ choose and name an operation.
        let named = samples(&reference, &source)
            .into_iter()
            .find_map(|(x, y)| describe(&source, WGS84, x, y).map(|found| (x, y, found.0)));
        let Some((x, y, words)) = named else {
            return Err(Error::new(
                format!("{declared} cannot be converted to WGS 84"),
                "convert the file to WGS 84 with a known transformation",
            ));
        };
        let target = if words.contains("GDA94 to WGS 84") {
            GDA2020
        } else {
            WGS84
        };
        let conversion = Self { source, target };
        conversion.operation_at(&declared, x, y)?;
        Ok((declared, Some(conversion)))
    }

    /// A position in WGS 84 longitude and latitude, degrees; none where the operation is not defined.
    #[must_use]
    pub fn to_lon_lat(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        convert(&self.source, self.target, x, y)
    }

    /// A place in the system's coordinates, x first; none where the operation is not defined.
    #[must_use]
    pub fn position_of(&self, place: LonLat) -> Option<(f64, f64)> {
        convert(self.target, &self.source, place.lon(), place.lat())
    }

    /// What is done at a position of the system `declared`, and how well.
    ///
    /// # Errors
    /// When PROJ only has a ballpark operation there: one that leaves out the change of datum.
    pub fn operation_at(&self, declared: &str, x: f64, y: f64) -> Result<Operation> {
        let refused = |why: String| {
            Error::new(
                format!("{declared} {why}"),
                "convert the file to WGS 84 with a known transformation",
            )
        };
        let (words, accuracy, definition) = describe(&self.source, self.target, x, y)
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
        if self.target == GDA2020 {
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
