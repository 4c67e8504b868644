//! The operating area: one polygon or multipolygon that a flight is proposed for.
//!
//! Not here: what lies around it, and what it is asked (see [`crate::assess`]).

use geo::{MultiPolygon, Polygon};
use smol_str::SmolStr;

use crate::frame::{LocalFrame, LonLat};

/// Where a record came from: a file of the layers folder and a feature in it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub struct FeatureRef {
    /// The file name, as found (`power_lines.geojson`).
    pub file: SmolStr,
    /// The feature's id as text, or `#3` for the third feature of a file without ids.
    pub feature: SmolStr,
}

/// One proposed operating area in WGS 84 longitude (x) and latitude (y), degrees.
///
/// Valid when built by [`crate::read`]: rings closed and simple, exteriors anticlockwise, holes
/// inside their exterior, no overlap between parts, no vertex twice. An area that crosses the
/// antimeridian keeps its longitudes in −180..=180; edges are taken the short way round.
#[derive(Clone, Debug, PartialEq)]
pub struct OperatingArea {
    /// Where it was read.
    pub source: FeatureRef,
    /// Its name in the file, or the feature id.
    pub name: String,
    /// Its polygons.
    pub polygons: MultiPolygon<f64>,
}

impl OperatingArea {
    /// The local plane about the middle of the area's bounding box.
    #[must_use]
    pub fn frame(&self) -> LocalFrame {
        LocalFrame::about(middle(&self.polygons))
    }

    /// Every ring (exteriors and holes) as places, closed (the first place again at the end).
    pub fn rings(&self) -> impl Iterator<Item = Vec<LonLat>> + '_ {
        self.polygons.iter().flat_map(polygon_rings)
    }
}

fn polygon_rings(polygon: &Polygon<f64>) -> impl Iterator<Item = Vec<LonLat>> + '_ {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(|ring| ring.coords().map(|c| LonLat::wrapped(c.x, c.y)).collect())
}

/// The middle of the bounding box, with longitudes unwrapped about the first vertex.
fn middle(polygons: &MultiPolygon<f64>) -> LonLat {
    let mut places = polygons
        .iter()
        .flat_map(|polygon| polygon.exterior().coords());
    let Some(first) = places.next() else {
        return LonLat::wrapped(0.0, 0.0);
    };
    let (mut west, mut east, mut south, mut north) = (0f64, 0f64, first.y, first.y);
    for place in places {
        let step = crate::frame::longitude_step(first.x, place.x);
        west = west.min(step);
        east = east.max(step);
        south = south.min(place.y);
        north = north.max(place.y);
    }
    LonLat::wrapped(first.x + (west + east) / 2.0, (south + north) / 2.0)
}
