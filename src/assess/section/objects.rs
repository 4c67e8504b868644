//! Supports and structures that a cut meets or that stand within its corridor.

use super::Standing;
use super::line::Cut;
use super::tops::{base, credible_tops};
use super::wires::Corridor;
use crate::answer::SectionObject;
use crate::frame::Xy;
use crate::obstacle::{HeightBasis, Shape};
use crate::units::Metres;

/// A point no farther than this from the cut is met by it, metres.
const MET_WITHIN_M: f64 = 0.5;

/// The objects in the order of the cut.
pub fn answers(standing: &[Standing], corridor: &Corridor) -> Vec<SectionObject> {
    let mut answers: Vec<SectionObject> = standing
        .iter()
        .filter(|standing| standing.placed.record.span.is_none())
        .filter_map(|standing| one(standing, corridor))
        .collect();
    answers.sort_by(|a, b| a.from_m.m().total_cmp(&b.from_m.m()));
    answers
}

fn one(standing: &Standing, corridor: &Corridor) -> Option<SectionObject> {
    let placed = standing.placed;
    let record = &placed.record;
    let cut = corridor.cut;
    let (away, nearest) = placed
        .sets()
        .iter()
        .filter_map(|set| cut.nearest_of(set))
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let met = extent_met(standing, cut);
    let is_point = matches!(record.shape, Shape::Point(_));
    let is_cut = met.is_some() || (is_point && away <= MET_WITHIN_M);
    let seen = cut.see(nearest);
    let is_beside = away <= corridor.half_width && !seen.is_beyond;
    if !is_cut && !is_beside {
        return None;
    }
    let (from, to) = met.unwrap_or_else(|| extent_beside(standing, cut));
    let tops = credible_tops(placed, standing.ground);
    Some(SectionObject {
        title: record.title(),
        kind: record.kind.clone(),
        source: record.source.clone(),
        from_m: Metres::of(from),
        to_m: Metres::of(to),
        offset_m: Metres::of(if is_cut { 0.0 } else { seen.offset }),
        is_cut,
        base_low_m: base(placed, standing.ground).map(|range| range.low),
        top_low_m: tops.as_ref().ok().map(|tops| tops.0),
        top_high_m: tops.as_ref().ok().map(|tops| tops.1),
        not_known: tops.err().unwrap_or_default(),
        is_estimate: record
            .top
            .is_some_and(|top| top.basis == HeightBasis::Estimate),
        can_shield: placed.trusted.is_ok(),
        governs: standing.governs,
    })
}

/// From where to where the cut runs in an object.
fn extent_met(standing: &Standing, cut: &Cut) -> Option<(f64, f64)> {
    standing
        .placed
        .sets()
        .iter()
        .filter_map(|set| cut.inside(set))
        .reduce(|all, one| (all.0.min(one.0), all.1.max(one.1)))
}

/// The extent of an object projected onto the cut.
fn extent_beside(standing: &Standing, cut: &Cut) -> (f64, f64) {
    let corners = standing.placed.sets().iter().flat_map(|set| set.corners());
    corners
        .map(|corner: &Xy| cut.see(*corner).at)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), at| {
            (from.min(at), to.max(at))
        })
}
