//! The coordinate schedule of an operating area: a letter for every vertex.
//!
//! Figure, report and data letter vertices by this one list. Rings come part by part, the outline
//! before its holes. An outline runs clockwise from its northernmost vertex and a hole anticlockwise
//! (of several as far north the westernmost): the order in which lateral limits are published
//! (common practice, no source). Letters go on through all rings: A to Z, AA, AB, ...

use serde::Serialize;

use crate::dms;
use crate::frame::{LonLat, longitude_step};
use crate::site::OperatingArea;

/// One ring of the area with its lettered vertices.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ring {
    /// Which polygon of the area, counted from 1.
    pub part: usize,
    /// Which hole of it, counted from 1; none for its outline.
    pub hole: Option<usize>,
    /// Its vertices, the first not repeated.
    pub vertices: Vec<Vertex>,
}

/// One vertex.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Vertex {
    /// Its letter.
    pub letter: String,
    /// Where it is, decimal degrees.
    #[serde(flatten)]
    pub place: LonLat,
    /// Its latitude in degrees, minutes and seconds to 0.01" (0.3 m).
    pub latitude_dms: String,
    /// Its longitude likewise.
    pub longitude_dms: String,
}

/// The schedule of an area.
#[must_use]
pub fn of(area: &OperatingArea) -> Vec<Ring> {
    let mut number = 0;
    let mut rings = Vec::new();
    for (part, polygon) in area.polygons.iter().enumerate() {
        let all = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        for (ring, line) in all.enumerate() {
            let mut places: Vec<LonLat> = line
                .coords()
                .map(|corner| LonLat::wrapped(corner.x, corner.y))
                .collect();
            if places.len() > 1 && places.first() == places.last() {
                places.pop();
            }
            if is_clockwise(&places) != (ring == 0) {
                places.reverse();
            }
            start_in_the_north(&mut places);
            let vertices = places
                .into_iter()
                .map(|place| {
                    number += 1;
                    Vertex {
                        letter: letter(number - 1),
                        place,
                        latitude_dms: dms::latitude(place),
                        longitude_dms: dms::longitude(place),
                    }
                })
                .collect();
            rings.push(Ring {
                part: part + 1,
                hole: (ring > 0).then_some(ring),
                vertices,
            });
        }
    }
    rings
}

/// The letter of a vertex, counted from 0: A, ..., Z, AA, AB, ..., AZ, BA, ...
#[must_use]
pub fn letter(number: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = number + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    letters.iter().rev().collect()
}

/// By the sign of the area in longitude and latitude, longitudes counted from the first vertex.
fn is_clockwise(places: &[LonLat]) -> bool {
    let Some(first) = places.first() else {
        return true;
    };
    let at = |place: &LonLat| {
        (
            longitude_step(first.lon(), place.lon()),
            place.lat() - first.lat(),
        )
    };
    let next = places.iter().cycle().skip(1);
    let twice: f64 = places
        .iter()
        .zip(next)
        .map(|(from, to)| {
            let ((x0, y0), (x1, y1)) = (at(from), at(to));
            x0 * y1 - x1 * y0
        })
        .sum();
    twice < 0.0
}

fn start_in_the_north(places: &mut [LonLat]) {
    let Some(first) = places.first().copied() else {
        return;
    };
    let west = |place: &LonLat| longitude_step(first.lon(), place.lon());
    let start = places
        .iter()
        .enumerate()
        .max_by(|(_, a), (_, b)| {
            a.lat()
                .total_cmp(&b.lat())
                .then(west(b).total_cmp(&west(a)))
        })
        .map_or(0, |(start, _)| start);
    places.rotate_left(start);
}
