//! The lines of distance rings, from the reference that each was measured from.
//!
//! Not here: whether the area is inside one (see [`crate::answer::RingAnswer`]).

use super::reach;
use crate::aerodrome::Aerodrome;
use crate::answer::{AerodromeAnswer, RingAnswer};
use crate::frame::{LocalFrame, LonLat, Xy, circumscribed_ring};
use crate::profile::Reference;
use crate::units::Metres;

/// A ring about a point exceeds the geodesic circle by at most this.
const RING_EXCESS: Metres = Metres::of(0.1);

/// The closed lines of a ring in the plane; empty when its reference is not given.
///
/// About a reference point they contain the geodesic circle and exceed it by at most 0.1 m; about
/// runway ends and outlines by at most 0.013 % of the radius.
pub fn lines(frame: &LocalFrame, aerodrome: &AerodromeAnswer, ring: &RingAnswer) -> Vec<Vec<Xy>> {
    let record = &aerodrome.record;
    let polygons = match ring.measured_from {
        None => return Vec::new(),
        Some(Reference::ReferencePoint) => {
            return record
                .reference_point
                .map(|place| circle(frame, place, ring.radius_m))
                .into_iter()
                .collect();
        }
        Some(Reference::RunwayEnd) => match runway_ends(record).as_slice() {
            [] => return Vec::new(),
            [only] => return vec![circle(frame, *only, ring.radius_m)],
            ends => reach::around_places(frame, ends, ring.radius_m),
        },
        Some(Reference::MovementArea) => match &record.movement_area {
            Some(area) => reach::around_polygons(frame, area, ring.radius_m),
            None => return Vec::new(),
        },
        Some(Reference::Boundary) => match &record.boundary {
            Some(area) => reach::around_polygons(frame, area, ring.radius_m),
            None => return Vec::new(),
        },
    };
    reach::plane_rings(&polygons).collect()
}

/// Value, aerodrome and reference of a ring in two lines: `3 NM YABC`, `from reference point`, with
/// the reason for a substitute.
pub fn words(aerodrome: &AerodromeAnswer, ring: &RingAnswer) -> Vec<String> {
    let whose = aerodrome.ident.as_ref().unwrap_or(&aerodrome.title);
    let short: String = whose.chars().take(24).collect();
    let from = match ring.measured_from {
        Some(from) if ring.is_substitute => {
            format!("from {} ({} not given)", from.term(), ring.about.term())
        }
        _ => format!("from {}", ring.about.term()),
    };
    vec![format!("{} {short}", ring.label), from]
}

/// The runway ends whose position is given.
pub fn runway_ends(record: &Aerodrome) -> Vec<LonLat> {
    record
        .runways
        .iter()
        .flat_map(|runway| &runway.ends)
        .filter_map(|end| end.position)
        .collect()
}

fn circle(frame: &LocalFrame, centre: LonLat, radius: Metres) -> Vec<Xy> {
    if radius.m() <= 0.0 || radius.m() > 2_000_000.0 {
        return Vec::new();
    }
    circumscribed_ring(centre, radius, RING_EXCESS)
        .into_iter()
        .map(|place| frame.to_plane(place))
        .collect()
}
