//! GML 3.2 surfaces of aviation data to polygons in longitude and latitude.
//!
//! Read: `posList` and `pos` in LinearRing, LineStringSegment, LineString, Geodesic and
//! GeodesicString; CircleByCenterPoint and ArcByCenterPoint by radius and angles; Arc, ArcString and
//! Circle by three positions (`arc`). Axis order by
//! `srsName`: EPSG 4326 is latitude, longitude, with angles clockwise from north; CRS84 is
//! longitude, latitude, with angles anticlockwise from east. An arc runs from its start angle to its
//! end angle, so that a greater end angle means clockwise in EPSG 4326 (ISO 19107 bearings, as the
//! EUROCONTROL AIXM coding guidelines explain them under "Arc by Centre Point"; seen). Anything else
//! is an error that names it, never a guess.
//!
//! Arcs and geodesics become chains whose true curve is within [`Outline::within_m`] of them: chords
//! of an arc leave it by at most 0.2 m, edges that are straight in longitude and latitude leave the
//! chord by at most 0.2 m more. Who grows the outline by that has a volume that is larger by less
//! than 1 m, and never smaller.

mod arc;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use roxmltree::Node;

use crate::frame::{
    HIGHEST_SITE_LATITUDE_DEG, LonLat, destination, distance, geodesic, longest_segment,
};
use crate::units::{METRES_PER_FOOT, METRES_PER_NAUTICAL_MILE, Metres};

const GML: &str = "http://www.opengis.net/gml/3.2";

/// How far a chord may leave its arc, and an edge its chord.
const CHORD_ERROR: Metres = Metres::of(0.2);

/// What both come to, with room, metres.
const CURVE_WITHIN_M: f64 = 0.5;

/// Ends that should meet may be this far apart, metres, or this share of the radius of an arc there:
/// published positions are rounded to a second of arc (30 m), radii to a tenth of a nautical mile
/// (185 m). A wider gap is a mistake in the data.
const WIDEST_GAP_M: f64 = 300.0;
const WIDEST_GAP_SHARE: f64 = 0.02;

/// The greatest radius, metres: more is a slip of the unit.
const GREATEST_RADIUS_M: f64 = 2_000_000.0;

/// An outline has no more positions than this once arcs are drawn.
const MOST_POSITIONS: usize = 2_000_000;

/// Polygons with how well they stand for the true outline.
#[derive(Clone, Debug)]
pub struct Outline {
    /// The polygons, rings closed.
    pub polygons: MultiPolygon<f64>,
    /// The true outline is within this of them, metres; 0 where all edges are as stated.
    pub within_m: f64,
}

/// The order of coordinates, and what angles are counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Axes {
    /// Latitude first; angles clockwise from north.
    LatLon,
    /// Longitude first; angles anticlockwise from east.
    LonLat,
}

/// One piece of a ring.
struct Piece {
    places: Vec<LonLat>,
    /// The radius, when it is an arc.
    radius_m: Option<f64>,
    is_curved: bool,
}

/// The polygons of a `Surface`, `ElevatedSurface` or `Polygon`.
///
/// # Errors
/// What is there that is not read, or what is wrong, as a phrase.
pub fn outline(surface: Node<'_, '_>) -> Result<Outline, String> {
    let mut patches = Vec::new();
    match surface.tag_name().name() {
        "Polygon" => patches.push(surface),
        "Surface" | "ElevatedSurface" => {
            let holder = gml_child(surface, "patches").ok_or("has a surface without patches")?;
            for patch in elements(holder) {
                match patch.tag_name().name() {
                    "PolygonPatch" => patches.push(patch),
                    other => return Err(not_read(other)),
                }
            }
        }
        other => return Err(not_read(other)),
    }
    let mut within_m = 0f64;
    let mut polygons = Vec::new();
    for patch in patches {
        let exterior = gml_child(patch, "exterior").ok_or("has a patch without an exterior")?;
        let exterior = ring(exterior, &mut within_m)?;
        let holes = elements(patch)
            .filter(|child| child.tag_name().name() == "interior")
            .map(|hole| ring(hole, &mut within_m))
            .collect::<Result<Vec<_>, _>>()?;
        polygons.push(Polygon::new(exterior, holes));
    }
    if polygons.is_empty() {
        return Err("has an empty surface".to_owned());
    }
    Ok(Outline {
        polygons: MultiPolygon(polygons),
        within_m,
    })
}

fn not_read(element: &str) -> String {
    format!("has a {element} in its outline, which is not read")
}

fn elements<'a, 'i>(node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> {
    node.children().filter(Node::is_element)
}

fn gml_child<'a, 'i>(node: Node<'a, 'i>, name: &str) -> Option<Node<'a, 'i>> {
    elements(node)
        .find(|child| child.tag_name().name() == name && child.tag_name().namespace() == Some(GML))
}

/// The ring of an `exterior` or `interior`, closed.
fn ring(holder: Node<'_, '_>, within_m: &mut f64) -> Result<LineString<f64>, String> {
    let ring = elements(holder).next().ok_or("has an empty ring")?;
    let mut pieces = Vec::new();
    match ring.tag_name().name() {
        "LinearRing" => pieces.push(straight(ring)?),
        "Ring" => {
            for member in elements(ring) {
                if has_reference(member) {
                    return Err(
                        "borrows a curve from another feature, which is not read".to_owned()
                    );
                }
                let curve = elements(member).next().ok_or("has an empty curve")?;
                pieces.extend(curve_pieces(curve)?);
            }
        }
        other => return Err(not_read(other)),
    }
    joined(&pieces, within_m)
}

fn has_reference(node: Node<'_, '_>) -> bool {
    node.attributes()
        .any(|attribute| attribute.name() == "href")
}

fn curve_pieces(curve: Node<'_, '_>) -> Result<Vec<Piece>, String> {
    match curve.tag_name().name() {
        "LineString" => Ok(vec![straight(curve)?]),
        "Curve" => {
            let segments = gml_child(curve, "segments").ok_or("has a curve without segments")?;
            elements(segments).map(segment).collect()
        }
        other => Err(not_read(other)),
    }
}

fn segment(segment: Node<'_, '_>) -> Result<Piece, String> {
    match segment.tag_name().name() {
        "LineStringSegment" => straight(segment),
        "Geodesic" | "GeodesicString" => geodesics(segment),
        "ArcByCenterPoint" => arc::by_centre(segment, false),
        "CircleByCenterPoint" => arc::by_centre(segment, true),
        "Arc" | "ArcString" => arc::through_positions(segment),
        "Circle" => arc::circle_through_positions(segment),
        other => Err(not_read(other)),
    }
}

fn straight(node: Node<'_, '_>) -> Result<Piece, String> {
    Ok(Piece {
        places: positions(node)?,
        radius_m: None,
        is_curved: false,
    })
}

/// Geodesics drawn as edges that are straight in longitude and latitude.
fn geodesics(node: Node<'_, '_>) -> Result<Piece, String> {
    let stated = positions(node)?;
    let mut places: Vec<LonLat> = stated.first().copied().into_iter().collect();
    for pair in stated.windows(2) {
        let &[from, to] = pair else { continue };
        let line = geodesic(from, to);
        let length = line.distance.m();
        // A geodesic may reach farther north than its ends; 100 km are less than a degree.
        let highest = from.lat().abs().max(to.lat().abs()) + length / 100_000.0;
        let count = piece_count(length, highest)?;
        places.extend((1..count).map(|k| {
            let share = k as f64 / count as f64;
            destination(from, line.bearing_from, Metres::of(share * length))
        }));
        places.push(to);
        if places.len() > MOST_POSITIONS {
            return Err("has too long an outline".to_owned());
        }
    }
    Ok(Piece {
        places,
        radius_m: None,
        is_curved: true,
    })
}

/// How many edges a length is cut into.
fn piece_count(length_m: f64, highest_latitude_deg: f64) -> Result<usize, String> {
    if highest_latitude_deg >= HIGHEST_SITE_LATITUDE_DEG {
        return Err("has a curve too near a pole".to_owned());
    }
    let longest = longest_segment(CHORD_ERROR, highest_latitude_deg).m();
    let count = (length_m / longest).ceil().max(1.0);
    if count > MOST_POSITIONS as f64 {
        return Err("has too long an outline".to_owned());
    }
    Ok(count as usize)
}

fn radius(node: Node<'_, '_>) -> Result<f64, String> {
    let radius = gml_child(node, "radius").ok_or("has an arc without a radius")?;
    let unit = radius.attribute("uom").unwrap_or_default();
    let metres = match unit {
        "m" | "M" => 1.0,
        "km" | "KM" => 1000.0,
        "[nmi_i]" | "NM" => METRES_PER_NAUTICAL_MILE,
        "[ft_i]" | "ft" | "FT" => METRES_PER_FOOT,
        _ => {
            return Err(format!(
                "has a radius in \"{unit}\", which is not understood"
            ));
        }
    };
    let value = number(radius)? * metres;
    if value > 0.0 && value <= GREATEST_RADIUS_M {
        Ok(value)
    } else {
        Err("has a radius that is no distance on Earth".to_owned())
    }
}

fn angle(node: Node<'_, '_>, name: &str) -> Result<f64, String> {
    let angle = gml_child(node, name).ok_or_else(|| format!("has an arc without a {name}"))?;
    match angle.attribute("uom") {
        Some("deg") => {}
        other => {
            let unit = other.unwrap_or_default();
            return Err(format!("has an angle in \"{unit}\", not in deg"));
        }
    }
    let value = number(angle)?;
    if value.abs() <= 720.0 {
        Ok(value)
    } else {
        Err(format!("has a {name} beyond two turns"))
    }
}

fn number(node: Node<'_, '_>) -> Result<f64, String> {
    let text = node.text().unwrap_or_default().trim();
    text.parse()
        .ok()
        .filter(|value: &f64| value.is_finite())
        .ok_or_else(|| format!("has \"{}\" where a number is due", short(text)))
}

fn short(text: &str) -> String {
    text.chars().take(40).collect()
}

/// The axes by the nearest `srsName`: on the element itself or below it, else above it.
fn axes(node: Node<'_, '_>) -> Result<Axes, String> {
    let mut inner = node
        .descendants()
        .filter_map(|node| node.attribute("srsName"));
    let name = match inner.next() {
        Some(name) if inner.all(|other| other == name) => name,
        Some(_) => return Err("mixes coordinate reference systems in one curve".to_owned()),
        None => node
            .ancestors()
            .find_map(|node| node.attribute("srsName"))
            .ok_or("does not say its coordinate reference system")?,
    };
    match name {
        "urn:ogc:def:crs:EPSG::4326" | "http://www.opengis.net/def/crs/EPSG/0/4326" => {
            Ok(Axes::LatLon)
        }
        "urn:ogc:def:crs:OGC:1.3:CRS84"
        | "urn:ogc:def:crs:OGC::CRS84"
        | "http://www.opengis.net/def/crs/OGC/1.3/CRS84" => Ok(Axes::LonLat),
        other => Err(format!(
            "is in the coordinate reference system \"{}\", whose axes are not known",
            short(other)
        )),
    }
}

/// The positions of a curve, or the centre of an arc.
fn positions(node: Node<'_, '_>) -> Result<Vec<LonLat>, String> {
    let axes = axes(node)?;
    let mut numbers: Vec<f64> = Vec::new();
    for child in elements(node) {
        let holder = match child.tag_name().name() {
            "pos" | "posList" => child,
            "pointProperty" => {
                if has_reference(child) {
                    return Err(
                        "borrows a point from another feature, which is not read".to_owned()
                    );
                }
                elements(child)
                    .next()
                    .and_then(|point| gml_child(point, "pos"))
                    .ok_or("has a point without a position")?
            }
            "coordinates" | "pointRep" => return Err(not_read(child.tag_name().name())),
            _ => continue,
        };
        if holder
            .attribute("srsDimension")
            .is_some_and(|dimension| dimension.trim() != "2")
        {
            return Err("has positions of other than two numbers".to_owned());
        }
        for word in holder.text().unwrap_or_default().split_ascii_whitespace() {
            let value: f64 = word
                .parse()
                .ok()
                .filter(|value: &f64| value.is_finite())
                .ok_or_else(|| format!("has \"{}\" where a number is due", short(word)))?;
            numbers.push(value);
        }
    }
    if !numbers.len().is_multiple_of(2) {
        return Err("has positions of other than two numbers".to_owned());
    }
    if numbers.len() / 2 > MOST_POSITIONS {
        return Err("has too long an outline".to_owned());
    }
    numbers
        .chunks_exact(2)
        .map(|pair| {
            let (first, second) = match pair {
                [first, second] => (*first, *second),
                _ => return Err("has positions of other than two numbers".to_owned()),
            };
            let (lon, lat) = match axes {
                Axes::LatLon => (second, first),
                Axes::LonLat => (first, second),
            };
            LonLat::new(lon, lat).map_err(|refused| format!("has a position where {refused}"))
        })
        .collect()
}

/// The pieces of a ring as one closed line. Ends that do not quite meet are joined, and by how much
/// they miss is added to what the outline is known within.
fn joined(pieces: &[Piece], within_m: &mut f64) -> Result<LineString<f64>, String> {
    let mut places: Vec<LonLat> = Vec::new();
    let radius = |index: usize| pieces.get(index).and_then(|piece| piece.radius_m);
    let mut widest = 0f64;
    let mut meet = |from: LonLat, to: LonLat, radii: [Option<f64>; 2]| -> Result<bool, String> {
        let gap = distance(from, to).m();
        let greatest = radii.into_iter().flatten().fold(0f64, f64::max);
        if gap > WIDEST_GAP_M.max(greatest * WIDEST_GAP_SHARE) {
            return Err(format!(
                "has an outline with a gap of {gap:.0} m near {:.6}, {:.6} (longitude, latitude)",
                from.lon(),
                from.lat()
            ));
        }
        widest = widest.max(gap);
        Ok(gap > 0.0)
    };
    for (index, piece) in pieces.iter().enumerate() {
        let Some(first) = piece.places.first() else {
            return Err("has a curve without positions".to_owned());
        };
        let mut skip = 0;
        if let Some(last) = places.last() {
            let before = index.checked_sub(1).and_then(radius);
            if !meet(*last, *first, [before, radius(index)])? {
                skip = 1;
            }
        }
        places.extend(piece.places.iter().skip(skip));
        if places.len() > MOST_POSITIONS {
            return Err("has too long an outline".to_owned());
        }
    }
    let (Some(first), Some(last)) = (places.first().copied(), places.last().copied()) else {
        return Err("has an empty ring".to_owned());
    };
    let end_radius = pieces.len().checked_sub(1).and_then(radius);
    meet(last, first, [end_radius, radius(0)])?;
    if last != first {
        places.push(first);
    }
    if places.len() < 4 {
        return Err("has a ring of fewer than three corners".to_owned());
    }
    if pieces.iter().any(|piece| piece.is_curved) {
        *within_m = within_m.max(CURVE_WITHIN_M + widest);
    } else {
        *within_m = within_m.max(widest);
    }
    Ok(places
        .into_iter()
        .map(|place| Coord {
            x: place.lon(),
            y: place.lat(),
        })
        .collect())
}
