//! The supports of power lines: found by place, so that lines can be cut at them.
//!
//! Not here: how a feature becomes a support (see [`crate::read::structures`]).

use std::collections::HashSet;

use geo::{CoordsIter, Geometry};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use super::{Mask, Window};
use crate::frame::{LonLat, distance};
use crate::obstacle::{Obstacle, Permanence, Shape, Top};
use crate::site::FeatureRef;
use crate::units::Metres;

/// How far a support may lie from a vertex of its line and still be that vertex: lines and their
/// supports share coordinates in OpenStreetMap, and come from one survey elsewhere, so 2 m only has
/// to bridge rounding (common practice, no source).
pub const MATCH_DISTANCE_M: f64 = 2.0;

/// Metres in a degree of latitude, rounded down so that a box in degrees is never too small: the
/// least is 110 574 m at the equator.
const LEAST_METRES_PER_DEGREE: f64 = 110_574.0;

/// All supports, by place.
#[derive(Debug, Default)]
pub struct Supports {
    tree: RTree<GeomWithData<[f64; 2], usize>>,
    records: Vec<Support>,
    vertices: HashSet<(u64, u64, Option<u64>)>,
}

/// A support with a record.
#[derive(Clone, Debug)]
pub struct Support {
    /// Its record.
    pub obstacle: Obstacle,
    /// Horizontal and vertical accuracy that the data state for the support itself.
    pub own_accuracy: [Metres; 2],
    /// The top that the data state for the support itself.
    pub own_top: Option<Top>,
    /// Whether the data say something about its height that is unclear: no line lends it one then.
    pub is_unclear: bool,
}

/// A support that was found at a vertex.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    record: usize,
}

impl Supports {
    /// From the records of supports, in the order of the files.
    #[must_use]
    pub fn new(records: Vec<Support>) -> Self {
        let entries = records
            .iter()
            .enumerate()
            .filter_map(|(index, support)| match support.obstacle.shape {
                Shape::Point(place) => Some(GeomWithData::new([place.lon(), place.lat()], index)),
                _ => None,
            })
            .collect();
        Self {
            tree: RTree::bulk_load(entries),
            records,
            vertices: HashSet::new(),
        }
    }

    /// The support nearest to a vertex, within [`MATCH_DISTANCE_M`].
    #[must_use]
    pub fn at(&self, place: LonLat) -> Option<Found> {
        if self.records.is_empty() {
            return None;
        }
        self.tree
            .locate_in_envelope(&envelope_about(place))
            .filter_map(|entry| {
                let [lon, lat] = *entry.geom();
                let metres = distance(place, LonLat::wrapped(lon, lat)).m();
                (metres <= MATCH_DISTANCE_M).then_some((metres, entry.data))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .map(|(_, record)| Found { record })
    }

    /// Gives a support without a height the one that its line states, no better than the line's
    /// accuracy; the lowest if several do.
    pub fn lend(&mut self, found: &Found, top: Option<Top>, line_accuracy: [Metres; 2]) {
        let Some(support) = self.records.get_mut(found.record) else {
            return;
        };
        if support.is_unclear || support.own_top.is_some() {
            return;
        }
        let lower = match (support.obstacle.top, top) {
            (Some(known), Some(new)) if known.reference != new.reference => Some(known),
            (Some(known), Some(new)) if known.value_m <= new.value_m => Some(known),
            (known, new) => new.or(known),
        };
        support.obstacle.top = lower;
        if lower.is_some() {
            let obstacle = &mut support.obstacle;
            let [horizontal, vertical] = line_accuracy;
            obstacle.horizontal_accuracy = obstacle.horizontal_accuracy.max(horizontal);
            obstacle.vertical_accuracy = obstacle.vertical_accuracy.max(vertical);
        }
    }

    /// The top of a support: its own, else what the line lends.
    #[must_use]
    pub fn top_of(&self, found: &Found, lent: Option<Top>) -> Option<Top> {
        match self.records.get(found.record) {
            Some(support) if support.is_unclear => None,
            Some(support) => support.own_top.or(lent),
            None => lent,
        }
    }

    /// Horizontal and vertical accuracy of a support as the data state them for itself: what other
    /// lines lend it is no matter of a span.
    #[must_use]
    pub fn accuracy_of(&self, found: &Found) -> [Metres; 2] {
        self.records
            .get(found.record)
            .map_or([Metres::ZERO; 2], |support| support.own_accuracy)
    }

    /// Whether a support stays.
    #[must_use]
    pub fn permanence_of(&self, found: &Found) -> Permanence {
        self.records
            .get(found.record)
            .map_or(Permanence::Permanent, |support| support.obstacle.permanence)
    }

    /// The feature of a support.
    #[must_use]
    pub fn source_of(&self, found: &Found) -> Option<FeatureRef> {
        let support = self.records.get(found.record)?;
        Some(support.obstacle.source.clone())
    }

    /// Whether no vertex with this place and top was seen before; remembers it.
    pub fn is_new_vertex(&mut self, place: LonLat, top: Option<Top>) -> bool {
        self.vertices.insert((
            place.lon().to_bits(),
            place.lat().to_bits(),
            top.map(|top| top.value_m.to_bits()),
        ))
    }

    /// The records, with what lines lent them.
    pub fn into_records(self) -> impl Iterator<Item = Obstacle> {
        self.records.into_iter().map(|support| support.obstacle)
    }
}

/// Where supports of lines can be: about each of their vertices.
pub fn mask_about<'a>(lines: impl IntoIterator<Item = &'a Geometry<f64>>) -> Mask {
    lines
        .into_iter()
        .filter(|geometry| {
            matches!(
                geometry,
                Geometry::LineString(_) | Geometry::MultiLineString(_)
            )
        })
        .flat_map(CoordsIter::coords_iter)
        .map(|vertex| Window {
            west: vertex.x,
            south: vertex.y,
            east: vertex.x,
            north: vertex.y,
        })
        .collect()
}

/// A box in degrees about a place, no smaller than [`MATCH_DISTANCE_M`].
fn envelope_about(place: LonLat) -> AABB<[f64; 2]> {
    let north = MATCH_DISTANCE_M / LEAST_METRES_PER_DEGREE;
    let east = north / place.lat().to_radians().cos().max(1e-6);
    AABB::from_corners(
        [place.lon() - east, place.lat() - north],
        [place.lon() + east, place.lat() + north],
    )
}
