//! The operating area: one valid polygon or multipolygon from a GeoJSON file.
//!
//! Every defect that would change what the area covers is an error that names the place. Not here:
//! what is asked of the area (see [`crate::assess`]).

use std::path::Path;

use geo::algorithm::validation::InvalidMultiPolygon;
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::orient::Direction;
use geo::{
    Area, Coord, Geometry, Line, LineString, MapCoords, MultiPolygon, Orient, Polygon, Validation,
};

use super::crs::Crs;
use super::feature::Feature;
use super::geojson;
use super::layer::file_name;
use crate::error::{Caution, Cautions, Error, Result};
use crate::frame::{HIGHEST_SITE_LATITUDE_DEG, LonLat, distance, longitude_step};
use crate::site::{FeatureRef, OperatingArea};

/// The widest operating area, metres from corner to corner of its box: beyond it the local plane
/// is no longer good to a millimetre in a hundred metres, and no single flight is that wide.
pub const WIDEST_AREA_M: f64 = 100_000.0;

/// The widest region, metres from corner to corner of its box: a large country.
const WIDEST_REGION_M: f64 = 5_000_000.0;

/// Below this a polygon has no area: a square of one centimetre, square metres.
const LEAST_AREA_M2: f64 = 1e-4;

/// Square metres in a square degree at the equator, rounded up; only for [`LEAST_AREA_M2`].
const SQUARE_METRES_PER_SQUARE_DEGREE: f64 = 1.24e10;

/// No degree is longer anywhere on the ellipsoid, metres: its greatest radius of curvature,
/// a ⁄ √(1 − e²) = 6 399 594 m (NIMA TR8350.2), times π ⁄ 180, rounded up.
const GREATEST_DEGREE_M: f64 = 111_695.0;

/// How many feature ids an error lists.
const LISTED_FEATURES: usize = 20;

/// What is wrong with an outline, for those who count such things; the error beside it says it in
/// words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AreaFault {
    /// There is no geometry, or an empty one.
    NoGeometry,
    /// The geometry is of a kind that is no area.
    Kind,
    /// A point has no radius, or a line no width.
    NoSize,
    /// It comes too near a pole.
    NearPole,
    /// It is wider than [`WIDEST_AREA_M`].
    TooWide,
    /// Its rings cross or touch themselves or one another, or have no area.
    Invalid,
}

/// An outline that was refused: the fault, and the error that says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub AreaFault, pub Error);

type Outlined<T> = std::result::Result<T, Refused>;

/// An operating area with what is to be known about its file.
#[derive(Clone, Debug)]
pub struct AreaFile {
    /// The area.
    pub area: OperatingArea,
    /// Defects that were put right, and assumptions.
    pub cautions: Cautions,
}

/// Reads the operating area from a GeoJSON file: its only feature, or the one with the id (or else
/// the name) `feature`.
///
/// Polygons come out closed and simple, exteriors anticlockwise, in WGS 84 longitude and latitude;
/// winding order is put right (RFC 7946 section 3.1.6 asks readers to accept either).
///
/// # Errors
/// A file that cannot be read or is not GeoJSON; several features and none chosen; a geometry that
/// is not a valid area, with the place of the defect; an area within one degree of a pole, or more
/// than 100 km across.
pub fn operating_area(path: &Path, feature: Option<&str>) -> Result<AreaFile> {
    read(path, feature, WIDEST_AREA_M).map_err(|error| error.in_file(path))
}

/// Reads a region from a GeoJSON file: as [`operating_area`], but as wide as a region may be, because
/// it is cut into patches before it is laid out.
///
/// # Errors
/// As [`operating_area`], and a region more than 5 000 km across.
pub fn region(path: &Path, feature: Option<&str>) -> Result<AreaFile> {
    read(path, feature, WIDEST_REGION_M).map_err(|error| error.in_file(path))
}

fn read(path: &Path, chosen: Option<&str>, widest_m: f64) -> Result<AreaFile> {
    let text = geojson::text(path)?;
    let document = geojson::document(&text)?;
    let mut cautions = Cautions::default();
    let file = file_name(path);
    let crs = match &document.crs {
        Some(definition) => Crs::declared(definition)?,
        None => Crs::wgs84(),
    };
    let outcomes = document
        .features
        .iter()
        .enumerate()
        .map(|(index, raw)| geojson::feature(raw, index, &crs))
        .collect::<Vec<_>>();
    let feature = choose(&outcomes, chosen)?;
    let feature = feature.map_err(|(label, defect)| {
        Error::new(defect, "correct the outline and export it again").at_feature(label)
    })?;
    if !crs.is_wgs84() {
        note_crs(&crs, feature, &file, &mut cautions)?;
    }
    let polygons = polygons_of(feature)
        .and_then(|polygons| within(&polygons, widest_m, &file, &feature.label, &mut cautions))
        .map_err(|refused| refused.1.at_feature(feature.label.as_ref()))?;
    Ok(AreaFile {
        area: OperatingArea {
            name: feature
                .text(&["name"])
                .unwrap_or_else(|| feature.label.to_string()),
            source: FeatureRef {
                file: file.into(),
                feature: feature.label.as_ref().into(),
            },
            polygons,
        },
        cautions,
    })
}

type Outcome = std::result::Result<Feature<'static>, (String, String)>;
type Chosen<'a> = std::result::Result<&'a Feature<'static>, (String, String)>;

fn choose<'a>(outcomes: &'a [Outcome], chosen: Option<&str>) -> Result<Chosen<'a>> {
    let label = |outcome: &'a Outcome| match outcome {
        Ok(feature) => feature.label.as_ref(),
        Err((label, _)) => label.as_str(),
    };
    let listed = || {
        let mut ids = outcomes
            .iter()
            .take(LISTED_FEATURES)
            .map(label)
            .collect::<Vec<_>>()
            .join(", ");
        if outcomes.len() > LISTED_FEATURES {
            ids.push_str(", ...");
        }
        ids
    };
    let found = match (chosen, outcomes) {
        (_, []) => return Err(Error::new("holds no feature", "export the area again")),
        (None, [only]) => only,
        (None, _) => {
            return Err(Error::new(
                format!("holds {} features: {}", outcomes.len(), listed()),
                "choose one with --feature ID",
            ));
        }
        (Some(id), _) => {
            let is_named = |outcome: &&Outcome| {
                outcome
                    .as_ref()
                    .is_ok_and(|feature| feature.words(&["name"]).as_deref() == Some(id))
            };
            let mut matching = outcomes
                .iter()
                .filter(|outcome| label(outcome) == id)
                .collect::<Vec<_>>();
            if matching.is_empty() {
                matching = outcomes.iter().filter(is_named).collect();
            }
            match *matching.as_slice() {
                [only] => only,
                [] => {
                    return Err(Error::new(
                        format!("has no feature \"{id}\" but {}", listed()),
                        "choose one of these with --feature ID",
                    ));
                }
                _ => {
                    return Err(Error::new(
                        format!("has {} features \"{id}\"", matching.len()),
                        "give each feature an id of its own",
                    ));
                }
            }
        }
    };
    Ok(found.as_ref().map_err(Clone::clone))
}

fn note_crs(crs: &Crs, feature: &Feature, file: &str, cautions: &mut Cautions) -> Result<()> {
    use geo::CoordsIter;
    let place = feature
        .geometry
        .as_ref()
        .and_then(|geometry| geometry.coords_iter().next())
        .and_then(|c| crs.from_lon_lat(LonLat::wrapped(c.x, c.y)));
    if let Some((x, y)) = place {
        let operation = crs.operation_at(x, y)?;
        cautions.add(Caution::about(
            file,
            format!("is in {}", crs.name()),
            format!(
                "converted to WGS 84 ({}), accurate to {} m, which nothing is taken off for",
                operation.description,
                operation.accuracy.m_up(2)
            ),
        ));
    }
    Ok(())
}

/// The polygons of a feature.
fn polygons_of(feature: &Feature) -> Outlined<MultiPolygon<f64>> {
    match &feature.geometry {
        Some(Geometry::Polygon(polygon)) => Ok(MultiPolygon(vec![polygon.clone()])),
        Some(Geometry::MultiPolygon(polygons)) => Ok(polygons.clone()),
        Some(other) => Err(refused(
            AreaFault::Kind,
            format!("is a {}, not a Polygon or MultiPolygon", type_name(other)),
            "draw the operating area as an outline",
        )),
        None => Err(refused(
            AreaFault::NoGeometry,
            "has no geometry",
            "draw the operating area",
        )),
    }
}

/// The polygons of an operating area checked and put in order: closed, simple, exteriors
/// anticlockwise.
///
/// # Errors
/// [`Refused`], without file and feature.
pub fn outline(
    polygons: &MultiPolygon<f64>,
    file: &str,
    label: &str,
    cautions: &mut Cautions,
) -> Outlined<MultiPolygon<f64>> {
    within(polygons, WIDEST_AREA_M, file, label, cautions)
}

/// The same for what may be wider than an operating area.
fn within(
    polygons: &MultiPolygon<f64>,
    widest_m: f64,
    file: &str,
    label: &str,
    cautions: &mut Cautions,
) -> Outlined<MultiPolygon<f64>> {
    let Some(first) = polygons
        .0
        .first()
        .and_then(|polygon| polygon.exterior().0.first())
        .copied()
    else {
        return Err(refused(
            AreaFault::NoGeometry,
            "has an empty geometry",
            "draw the operating area",
        ));
    };
    // Longitudes are counted from the first vertex, so that the antimeridian is not in the way.
    let counted = polygons.map_coords(|c| Coord {
        x: longitude_step(first.x, c.x),
        y: c.y,
    });
    let back = |c: Coord<f64>| LonLat::wrapped(first.x + c.x, c.y);
    check_extent(&counted, widest_m, back)?;
    if polygons.iter().any(crosses_antimeridian) {
        cautions.feature(
            file,
            label,
            "has an edge that changes longitude by more than 180 degrees",
            "it is taken the short way round, across the antimeridian",
        );
    }
    let counted = MultiPolygon(
        counted
            .into_iter()
            .map(|polygon| {
                let (exterior, holes) = polygon.into_inner();
                Polygon::new(
                    without_repeats(exterior),
                    holes.into_iter().map(without_repeats).collect(),
                )
            })
            .collect::<Vec<_>>(),
    );
    check_rings(&counted, back)?;
    let mut faults = faults_of(&counted);
    let counted = if touch_along_edges(&faults) {
        cautions.feature(
            file,
            label,
            "has parts that touch along an edge, as a site cut at the antimeridian has",
            "they are joined",
        );
        let joined = geo::unary_union(counted.iter());
        check_rings(&joined, back)?;
        faults = faults_of(&joined);
        joined
    } else {
        counted
    };
    if let Some(fault) = faults.first() {
        return Err(refused(
            AreaFault::Invalid,
            format!("is not a valid area: {fault}"),
            "keep holes inside their outline and parts apart",
        ));
    }
    Ok(counted.orient(Direction::Default).map_coords(|c| {
        let place = back(c);
        Coord {
            x: place.lon(),
            y: place.lat(),
        }
    }))
}

/// What is wrong with polygons of which each ring is simple and has an area ([`check_rings`]): with one of
/// finite coordinates and without holes nothing is.
fn faults_of(polygons: &MultiPolygon<f64>) -> Vec<InvalidMultiPolygon> {
    let is_finite = |c: &Coord<f64>| c.x.is_finite() && c.y.is_finite();
    match polygons.0.as_slice() {
        [only] if only.interiors().is_empty() && only.exterior().coords().all(is_finite) => {
            Vec::new()
        }
        _ => polygons.validation_errors(),
    }
}

/// Whether all that is wrong with a multipolygon is that parts share an edge. RFC 7946 section
/// 3.1.9 has a site that crosses the antimeridian cut so.
fn touch_along_edges(faults: &[InvalidMultiPolygon]) -> bool {
    let is_touch = |fault| matches!(fault, &InvalidMultiPolygon::ElementsTouchOnALine(_, _));
    !faults.is_empty() && faults.iter().all(is_touch)
}

fn check_rings(
    polygons: &MultiPolygon<f64>,
    back: impl Fn(Coord<f64>) -> LonLat + Copy,
) -> Outlined<()> {
    polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .try_for_each(|ring| check_ring(ring, back))
}

fn refused(fault: AreaFault, cause: impl Into<String>, remedy: &str) -> Refused {
    Refused(fault, Error::new(cause, remedy))
}

/// The name of a geometry's type.
#[must_use]
pub const fn type_name(geometry: &Geometry<f64>) -> &'static str {
    match geometry {
        Geometry::Point(_) => "Point",
        Geometry::MultiPoint(_) => "MultiPoint",
        Geometry::LineString(_) => "LineString",
        Geometry::MultiLineString(_) => "MultiLineString",
        _ => "GeometryCollection",
    }
}

fn crosses_antimeridian(polygon: &Polygon<f64>) -> bool {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .flat_map(LineString::lines)
        .any(|edge| (edge.end.x - edge.start.x).abs() > 180.0)
}

fn without_repeats(mut ring: LineString<f64>) -> LineString<f64> {
    ring.0.dedup();
    ring
}

fn check_extent(
    polygons: &MultiPolygon<f64>,
    widest_m: f64,
    back: impl Fn(Coord<f64>) -> LonLat,
) -> Outlined<()> {
    use geo::BoundingRect;
    let Some(extent) = polygons.bounding_rect() else {
        return Err(refused(
            AreaFault::NoGeometry,
            "has an empty geometry",
            "draw the operating area",
        ));
    };
    let highest = extent.min().y.abs().max(extent.max().y.abs());
    if highest > HIGHEST_SITE_LATITUDE_DEG {
        return Err(refused(
            AreaFault::NearPole,
            format!("reaches the latitude {highest}, beyond {HIGHEST_SITE_LATITUDE_DEG} degrees"),
            "eaves does not answer so near a pole",
        ));
    }
    if extent.width().hypot(extent.height()) * GREATEST_DEGREE_M <= widest_m.min(WIDEST_AREA_M) {
        return Ok(());
    }
    let across = distance(back(extent.min()), back(extent.max())).m();
    if across > widest_m || extent.width() > 90.0 {
        return Err(refused(
            AreaFault::TooWide,
            format!(
                "is {:.0} km across, more than {:.0} km",
                across / 1000.0,
                widest_m / 1000.0
            ),
            "check its coordinates, or split it",
        ));
    }
    Ok(())
}

/// A ring of counted longitudes: simple, with an area, no vertex twice.
fn check_ring(ring: &LineString<f64>, back: impl Fn(Coord<f64>) -> LonLat) -> Outlined<()> {
    let shown = |c: Coord<f64>| {
        let place = back(c);
        format!(
            "{:.6}, {:.6} (longitude, latitude)",
            place.lon(),
            place.lat()
        )
    };
    let edges = ring.lines().collect::<Vec<_>>();
    let meetings = meetings(&edges);
    if let Some((_, place)) = meetings
        .iter()
        .find(|(meeting, _)| *meeting == Meeting::Crossing)
    {
        return Err(refused(
            AreaFault::Invalid,
            format!("the outline crosses itself near {}", shown(*place)),
            "draw its vertices in order around the area",
        ));
    }
    let square_degrees = Polygon::new(ring.clone(), Vec::new()).unsigned_area();
    let shrink = ring.0.first().map_or(1.0, |c| c.y.to_radians().cos());
    if edges.len() < 3 || square_degrees * shrink * SQUARE_METRES_PER_SQUARE_DEGREE < LEAST_AREA_M2
    {
        return Err(refused(
            AreaFault::Invalid,
            "a ring has no area",
            "draw at least three vertices that are not on one line",
        ));
    }
    if let Some((_, place)) = meetings.first() {
        return Err(refused(
            AreaFault::Invalid,
            format!("the outline touches itself near {}", shown(*place)),
            "remove the spike, or split the area there",
        ));
    }
    Ok(())
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Meeting {
    Crossing,
    Touch,
}

/// Where edges of a ring meet other than at the vertex between neighbours.
///
/// Edges are taken in the order of their least x, and each is compared only with those that begin
/// before it ends.
fn meetings(edges: &[Line<f64>]) -> Vec<(Meeting, Coord<f64>)> {
    let west = |edge: &Line<f64>| edge.start.x.min(edge.end.x);
    let east = |edge: &Line<f64>| edge.start.x.max(edge.end.x);
    let mut order = edges.iter().enumerate().collect::<Vec<_>>();
    order.sort_by(|a, b| west(a.1).total_cmp(&west(b.1)));
    let mut found = Vec::new();
    for (position, (i, edge)) in order.iter().enumerate() {
        let rest = order.get(position + 1..).unwrap_or_default();
        for (j, other) in rest
            .iter()
            .take_while(|(_, other)| west(other) <= east(edge))
        {
            let are_neighbours = i.abs_diff(*j) == 1 || i.abs_diff(*j) == edges.len() - 1;
            match line_intersection(**edge, **other) {
                Some(LineIntersection::SinglePoint {
                    intersection,
                    is_proper: true,
                }) => {
                    found.push((Meeting::Crossing, intersection));
                }
                Some(LineIntersection::SinglePoint { intersection, .. }) if !are_neighbours => {
                    found.push((Meeting::Touch, intersection));
                }
                Some(LineIntersection::Collinear { intersection }) => {
                    found.push((Meeting::Touch, intersection.start));
                }
                _ => {}
            }
        }
    }
    found
}
