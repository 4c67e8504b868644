//! GeoJSON geometries to `geo` geometries in WGS 84, every position checked.
//!
//! Not here: whether a polygon is valid as an operating area (see [`crate::read::area`]).

use geo::{
    Coord, Geometry, LineString, MapCoords, MultiLineString, MultiPoint, MultiPolygon, Point,
    Polygon,
};
use geojson::{GeometryValue, Position};
use serde_json::Value;

use super::crs::Crs;
use super::positions::{Kind, Positions};
use crate::frame::LonLat;

/// The geometry types of RFC 7946 section 1.4.
pub const GEOMETRY_TYPES: [&str; 7] = [
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
    "GeometryCollection",
];

/// Longitudes may run past the antimeridian, but not by more than a turn.
const WIDEST_LONGITUDE_DEG: f64 = 360.0;

/// A geometry in WGS 84, with longitudes brought into −180..=180.
///
/// # Errors
/// What is wrong with a position, as a phrase.
pub fn to_geo(value: &GeometryValue, crs: &Crs) -> Result<Geometry<f64>, String> {
    Ok(match value {
        GeometryValue::Point { coordinates } => {
            Geometry::Point(Point(coordinate(coordinates, crs)?))
        }
        GeometryValue::MultiPoint { coordinates } => Geometry::MultiPoint(MultiPoint(
            coordinates
                .iter()
                .map(|position| coordinate(position, crs).map(Point))
                .collect::<Result<_, _>>()?,
        )),
        GeometryValue::LineString { coordinates } => Geometry::LineString(line(coordinates, crs)?),
        GeometryValue::MultiLineString { coordinates } => {
            Geometry::MultiLineString(MultiLineString(
                coordinates
                    .iter()
                    .map(|part| line(part, crs))
                    .collect::<Result<_, _>>()?,
            ))
        }
        GeometryValue::Polygon { coordinates } => Geometry::Polygon(rings(coordinates, crs)?),
        GeometryValue::MultiPolygon { coordinates } => Geometry::MultiPolygon(MultiPolygon(
            coordinates
                .iter()
                .map(|part| rings(part, crs))
                .collect::<Result<_, _>>()?,
        )),
        GeometryValue::GeometryCollection { geometries } => {
            Geometry::GeometryCollection(geo::GeometryCollection(
                geometries
                    .iter()
                    .map(|part| to_geo(&part.value, crs))
                    .collect::<Result<_, _>>()?,
            ))
        }
    })
}

/// The same from scanned positions.
///
/// # Errors
/// What is wrong with a position or a ring, as a phrase.
pub fn from_positions(
    kind: Kind,
    positions: &Positions,
    crs: &Crs,
) -> Result<Geometry<f64>, String> {
    let Positions {
        flat,
        lines,
        polygons,
        ..
    } = positions;
    let points = || {
        flat.iter()
            .map(|&[x, y]| place(x, y, crs).map(Point))
            .collect::<Result<Vec<_>, _>>()
    };
    Ok(match kind {
        Kind::Point => match flat.as_slice() {
            &[[x, y]] => Geometry::Point(Point(place(x, y, crs)?)),
            _ => return Err("a point has several positions".to_owned()),
        },
        Kind::MultiPoint => Geometry::MultiPoint(MultiPoint(points()?)),
        Kind::LineString => Geometry::LineString(line(flat, crs)?),
        Kind::MultiLineString => Geometry::MultiLineString(MultiLineString(
            parts(flat, lines, 0)
                .map(|part| line(part, crs))
                .collect::<Result<_, _>>()?,
        )),
        Kind::Polygon => Geometry::Polygon(polygon(parts(flat, lines, 0), crs)?),
        Kind::MultiPolygon => {
            let mut first = 0;
            Geometry::MultiPolygon(MultiPolygon(
                parts(lines, polygons, 0)
                    .map(|ends| {
                        let start = first;
                        first = ends.last().copied().unwrap_or(first);
                        polygon(parts(flat, ends, start), crs)
                    })
                    .collect::<Result<_, _>>()?,
            ))
        }
    })
}

/// A list cut where each part ends, from `start`.
fn parts<'a, T>(list: &'a [T], ends: &'a [usize], start: usize) -> impl Iterator<Item = &'a [T]> {
    let mut start = start;
    ends.iter().map(move |&end| {
        let part = list.get(start..end).unwrap_or_default();
        start = end;
        part
    })
}

/// A position as it was written: its first two numbers.
trait Written {
    fn x_y(&self) -> Option<[f64; 2]>;
}

impl Written for Position {
    fn x_y(&self) -> Option<[f64; 2]> {
        self.as_slice().first_chunk().copied()
    }
}

impl Written for [f64; 2] {
    fn x_y(&self) -> Option<[f64; 2]> {
        Some(*self)
    }
}

fn line<P: Written>(positions: &[P], crs: &Crs) -> Result<LineString<f64>, String> {
    let mut places = Vec::with_capacity(positions.len());
    for position in positions {
        places.push(coordinate(position, crs)?);
    }
    Ok(LineString(places))
}

fn polygon<'a, P: Written + 'a>(
    mut rings: impl Iterator<Item = &'a [P]>,
    crs: &Crs,
) -> Result<Polygon<f64>, String> {
    let Some(exterior) = rings.next() else {
        return Err("a polygon has no ring".to_owned());
    };
    let exterior = ring(exterior, crs)?;
    let holes = rings
        .map(|hole| ring(hole, crs))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Polygon::new(exterior, holes))
}

fn rings(rings: &[Vec<Position>], crs: &Crs) -> Result<Polygon<f64>, String> {
    polygon(rings.iter().map(Vec::as_slice), crs)
}

/// RFC 7946 section 3.1.6: a ring is closed and has four or more positions.
fn ring<P: Written>(positions: &[P], crs: &Crs) -> Result<LineString<f64>, String> {
    if positions.len() < 4 {
        return Err(format!(
            "a ring has {} positions, not four or more",
            positions.len()
        ));
    }
    let ends = (positions.first(), positions.last());
    if let (Some(first), Some(last)) = ends
        && first.x_y() != last.x_y()
    {
        return Err("a ring is not closed: its last position is not its first".to_owned());
    }
    line(positions, crs)
}

fn coordinate<P: Written>(position: &P, crs: &Crs) -> Result<Coord<f64>, String> {
    match position.x_y() {
        Some([x, y]) => place(x, y, crs),
        None => Err("a position has fewer than two numbers".to_owned()),
    }
}

/// A geometry in a file's coordinates brought to WGS 84, with longitudes in −180..=180.
///
/// # Errors
/// What is wrong with a position, as a phrase.
pub fn in_wgs84(geometry: &Geometry<f64>, crs: &Crs) -> Result<Geometry<f64>, String> {
    geometry.try_map_coords(|c| place(c.x, c.y, crs))
}

/// A position in a file's coordinates brought to WGS 84 longitude and latitude, degrees.
///
/// # Errors
/// What is wrong with it, as a phrase.
#[inline]
pub fn place(x: f64, y: f64, crs: &Crs) -> Result<Coord<f64>, String> {
    if !(x.is_finite() && y.is_finite()) {
        return Err("a coordinate is not a finite number".to_owned());
    }
    let Some((lon, lat)) = crs.to_lon_lat(x, y) else {
        return Err(format!(
            "the position {x}, {y} cannot be converted from {} to WGS 84",
            crs.name()
        ));
    };
    if lat.abs() > 90.0 {
        let advice = if lon.abs() <= 90.0 && lat.abs() <= 180.0 {
            ": longitude and latitude seem swapped"
        } else {
            ": the coordinates are not degrees"
        };
        return Err(format!(
            "the latitude {} is beyond 90 degrees{advice}",
            shown(lat)
        ));
    }
    if lon.abs() > WIDEST_LONGITUDE_DEG {
        return Err(format!(
            "the longitude {} is beyond 360 degrees: the coordinates are not degrees",
            shown(lon)
        ));
    }
    let place = LonLat::wrapped(lon, lat);
    Ok(Coord {
        x: place.lon(),
        y: place.lat(),
    })
}

/// A coordinate as it was written, unless that takes a line of zeros.
fn shown(coordinate: f64) -> String {
    if coordinate.abs() < 1e9 {
        coordinate.to_string()
    } else {
        format!("{coordinate:e}")
    }
}

/// What is wrong with a geometry that is JSON but not GeoJSON, if it can be told.
#[must_use]
pub fn fault(geometry: &Value) -> Option<String> {
    let kind = geometry.get("type").and_then(Value::as_str);
    match kind {
        None => return Some("its geometry has no \"type\"".to_owned()),
        Some(kind) if !GEOMETRY_TYPES.contains(&kind) => {
            return Some(format!("\"{kind}\" is not a GeoJSON geometry type"));
        }
        Some(_) => {}
    }
    match geometry.get("coordinates") {
        None => Some("its geometry has no \"coordinates\"".to_owned()),
        Some(coordinates) => coordinate_fault(coordinates),
    }
}

fn coordinate_fault(value: &Value) -> Option<String> {
    match value {
        Value::Array(elements) => elements.iter().find_map(coordinate_fault),
        Value::Null => Some("a coordinate is null, not a number".to_owned()),
        Value::String(_) => Some("a coordinate is text, not a number".to_owned()),
        Value::Bool(_) | Value::Object(_) => Some("a coordinate is not a number".to_owned()),
        Value::Number(_) => None,
    }
}
