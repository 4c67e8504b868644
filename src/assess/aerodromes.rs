//! Where a site lies to each aerodrome: every reference that the data give, and the profile's rings.

use std::collections::BTreeSet;

use geo::{Coord, CoordsIter};

use super::Question;
use crate::aerodrome::Aerodrome;
use crate::answer::{AerodromeAnswer, DistanceAnswer, ReferenceAnswer, RingAnswer, ZoneState};
use crate::distance::{Measured, Target};
use crate::frame::LonLat;
use crate::plan::Plan;
use crate::profile::{Reference, Ring};
use crate::units::Metres;

/// No part of an aerodrome is farther than this from any of its references: larger than any
/// aerodrome, it only decides which are looked at closely.
pub const AERODROME_EXTENT_M: f64 = 30_000.0;

/// No aerodrome farther than this is kept for a figure.
const FARTHEST_SHOWN: Metres = Metres::of(500_000.0);

pub fn answer(
    question: &Question,
    aerodromes: &[Aerodrome],
    measured: &Measured,
    plan: &Plan,
    declination: Option<f64>,
) -> Vec<AerodromeAnswer> {
    let mut answers: Vec<AerodromeAnswer> = aerodromes
        .iter()
        .filter(|aerodrome| {
            let extent = Metres::of(AERODROME_EXTENT_M);
            let near_enough = question.search_radius + plan.radius() + extent;
            some_place(aerodrome).is_some_and(|place| plan.frame().is_within(place, near_enough))
        })
        .map(|aerodrome| one(question, aerodrome, measured, declination))
        .filter(|answer| {
            answer
                .nearest()
                .is_some_and(|nearest| nearest.distance_m <= question.search_radius)
        })
        .collect();
    answers.sort_by(|a, b| {
        let near = |answer: &AerodromeAnswer| {
            answer
                .nearest()
                .map_or(f64::INFINITY, |nearest| nearest.distance_m.m())
        };
        near(a)
            .total_cmp(&near(b))
            .then_with(|| a.title.cmp(&b.title))
    });
    answers
}

/// Names and places of the aerodromes that are not answered, as far as a map can show them; nearest
/// first by the straight way through the Earth, which needs no geodesic.
pub fn farther(
    aerodromes: &[Aerodrome],
    answered: &[AerodromeAnswer],
    plan: &Plan,
) -> Vec<(String, LonLat)> {
    let known: BTreeSet<(&str, &str)> = answered
        .iter()
        .map(|answer| source(&answer.record))
        .collect();
    let mut found: Vec<(f64, String, LonLat)> = aerodromes
        .iter()
        .filter(|aerodrome| !known.contains(&source(aerodrome)))
        .filter_map(|aerodrome| {
            let place = some_place(aerodrome)?;
            let (away, _) = plan.frame().rough_distance(place);
            let is_shown = plan.frame().is_within(place, FARTHEST_SHOWN);
            let name = || aerodrome.ident.clone().unwrap_or_else(|| aerodrome.title());
            is_shown.then(|| (away, name(), place))
        })
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    found
        .into_iter()
        .map(|(_, name, place)| (name, place))
        .collect()
}

/// Where an aerodrome was read.
fn source(aerodrome: &Aerodrome) -> (&str, &str) {
    (&aerodrome.source.file, &aerodrome.source.feature)
}

fn one(
    question: &Question,
    aerodrome: &Aerodrome,
    measured: &Measured,
    declination: Option<f64>,
) -> AerodromeAnswer {
    let references = Reference::ALL
        .into_iter()
        .map(|reference| ReferenceAnswer {
            reference,
            distance: target(aerodrome, reference)
                .and_then(|target| distance_from(&target, measured, declination)),
        })
        .collect();
    let mut rings: Vec<RingAnswer> = question
        .profile
        .rings
        .iter()
        .map(|ring| ring_answer(ring, aerodrome, measured))
        .collect();
    rings.sort_by(|a, b| a.radius_m.m().total_cmp(&b.radius_m.m()));
    AerodromeAnswer {
        title: aerodrome.title(),
        ident: aerodrome.ident.clone(),
        kind: aerodrome.kind,
        source: aerodrome.source.clone(),
        references,
        rings,
        record: aerodrome.clone(),
    }
}

fn distance_from(
    target: &Target,
    measured: &Measured,
    declination: Option<f64>,
) -> Option<DistanceAnswer> {
    let nearest = measured.nearest(target)?;
    let part = match (target, nearest.place) {
        (Target::Places(places), Some(number)) => {
            places.get(number).and_then(|(_, name)| name.clone())
        }
        _ => None,
    };
    Some(DistanceAnswer {
        distance_m: nearest.distance,
        distance_nm: nearest.distance.nm(),
        farthest_m: measured.farthest(target)?,
        bearing_true_deg: nearest.bearing,
        bearing_magnetic_deg: nearest
            .bearing
            .zip(declination)
            .map(|(bearing, declination)| bearing.magnetic(declination)),
        from: nearest.from,
        to: nearest.to,
        part,
    })
}

/// The ring about the reference that the rule uses; where the data do not give it, about the first
/// reference that they do, and said so.
fn ring_answer(ring: &Ring, aerodrome: &Aerodrome, measured: &Measured) -> RingAnswer {
    let radius = ring.radius.value_m;
    let found = std::iter::once(ring.about)
        .chain(Reference::ALL)
        .find_map(|reference| {
            let target = target(aerodrome, reference)?;
            let nearest = measured.nearest(&target)?.distance;
            let farthest = measured.farthest(&target)?;
            Some((reference, target, nearest, farthest))
        });
    let Some((reference, target, nearest, farthest)) = found else {
        return RingAnswer {
            radius_m: radius,
            label: ring.radius.label(),
            about: ring.about,
            measured_from: None,
            is_substitute: false,
            state: ZoneState::Undetermined,
            margin_m: None,
            farthest_margin_m: None,
            share_inside: None,
        };
    };
    let (state, share) = if nearest > radius {
        (ZoneState::Outside, 0.0)
    } else if farthest <= radius {
        (ZoneState::Inside, 1.0)
    } else {
        (ZoneState::Straddles, measured.share_within(&target, radius))
    };
    RingAnswer {
        radius_m: radius,
        label: ring.radius.label(),
        about: ring.about,
        measured_from: Some(reference),
        is_substitute: reference != ring.about,
        state,
        margin_m: Some(nearest - radius),
        farthest_margin_m: Some(farthest - radius),
        share_inside: Some(share),
    }
}

/// The references of an aerodrome that the data give, in the order of [`Reference::ALL`].
pub fn targets(aerodrome: &Aerodrome) -> [Option<Target>; Reference::ALL.len()] {
    Reference::ALL.map(|reference| target(aerodrome, reference))
}

/// What a reference of an aerodrome is, if the data give it.
fn target(aerodrome: &Aerodrome, reference: Reference) -> Option<Target> {
    match reference {
        Reference::ReferencePoint => aerodrome
            .reference_point
            .map(|place| Target::Places(vec![(place, None)])),
        Reference::RunwayEnd => {
            let ends: Vec<(LonLat, Option<String>)> = aerodrome
                .runways
                .iter()
                .flat_map(|runway| &runway.ends)
                .filter_map(|end| end.position.map(|place| (place, end.designator.clone())))
                .collect();
            (!ends.is_empty()).then_some(Target::Places(ends))
        }
        Reference::MovementArea => aerodrome.movement_area.clone().map(Target::Polygons),
        Reference::Boundary => aerodrome.boundary.clone().map(Target::Polygons),
    }
}

/// Any place of an aerodrome.
pub fn some_place(aerodrome: &Aerodrome) -> Option<LonLat> {
    let polygons = || {
        [&aerodrome.movement_area, &aerodrome.boundary]
            .into_iter()
            .flatten()
            .flat_map(|polygons| polygons.coords_iter())
            .map(|Coord { x, y }| LonLat::wrapped(x, y))
    };
    aerodrome
        .reference_point
        .or_else(|| {
            aerodrome
                .runways
                .iter()
                .flat_map(|runway| &runway.ends)
                .find_map(|end| end.position)
        })
        .or_else(|| polygons().next())
}
