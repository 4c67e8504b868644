//! What each shield rule of the profile says about a site: the bottleneck cover and what it leaves.

use geo::MultiPolygon;

use super::ceiling::FoundCeiling;
use super::cover::Cover;
use super::expression::{Expression, LeafKind};
use super::ground::SiteGround;
use super::obstacles::{Nearby, Placed};
use crate::answer::{ShieldAnswer, ShieldingAnswer};
use crate::distance::plane_area_m2;
use crate::field::shield::Shields;
use crate::field::{Cell, Field};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::search::{self, Certificate};
use crate::units::{Altitude, Height, Metres};

/// Of several places where the same level governs, the one that the ceiling names is named here too.
pub fn answer(
    covers: &[Cover],
    ceiling: &FoundCeiling,
    expression: &Expression,
    nearby: &Nearby,
    plan: &Plan,
    ground: &SiteGround,
) -> Vec<ShieldingAnswer> {
    covers
        .iter()
        .filter_map(|cover| {
            let named = |found: &Certificate| ceiling.place_of_level(cover.leaf, found.attained);
            let completed = cover.completed.map(|found| Certificate {
                place: named(&found).unwrap_or(found.place),
                ..found
            });
            let cover = Cover {
                completed,
                ..*cover
            };
            one(&cover, expression, nearby, plan, ground)
        })
        .collect()
}

fn one(
    cover: &Cover,
    expression: &Expression,
    nearby: &Nearby,
    plan: &Plan,
    ground: &SiteGround,
) -> Option<ShieldingAnswer> {
    let leaf = expression.leaves.get(cover.leaf)?;
    let LeafKind::Shield {
        reach,
        margin,
        shields,
        ..
    } = &leaf.kind
    else {
        return None;
    };
    let uncovered = if cover.is_wholly_covered {
        MultiPolygon::new(Vec::new())
    } else {
        uncovered(plan, shields, cover.whole)
    };
    let governing = cover.completed.and_then(|found| {
        let (member, place) = governing(shields, &found)?;
        Some((nearby.placed.get(member)?, place))
    });
    let lowest = (shields.pieces().iter())
        .filter_map(|piece| nearby.placed.get(piece.member))
        .min_by(|a, b| {
            level(a)
                .total_cmp(&level(b))
                .then(a.distance(plan).total_cmp(&b.distance(plan)))
        });
    Some(ShieldingAnswer {
        rule: leaf.title.to_owned(),
        term: cover.leaf,
        reach_m: reach.value_m,
        margin_m: margin.value_m,
        shields_in_reach: cover.shields_in_reach,
        not_shields_in_reach: cover.not_shields_in_reach,
        lowest_shielding: governing
            .and_then(|(placed, place)| shield(placed, placed.nearest_to(place), plan, ground)),
        governs_at: governing.map(|(_, place)| plan.frame().to_place(place)),
        lowest_in_reach: lowest.and_then(|placed| {
            let towards = nearest_point_of_area(plan, placed);
            shield(placed, placed.nearest_to(towards), plan, ground)
        }),
        covered_share: cover.covered_share,
        is_wholly_covered: cover.is_wholly_covered,
        uncovered: plan.to_places(&uncovered),
        uncovered_m2: cover.uncovered_m2,
    })
}

/// The shield that governs and the place where it does: the one found, or, where the search
/// stopped short of the tolerance, the one that the certified level comes from.
fn governing(shields: &Shields, found: &Certificate) -> Option<(usize, Xy)> {
    let doubtful = found.in_doubt.and_then(|cell| {
        let (centre, radius) = (cell.centre(), cell.radius());
        let piece = shields.pieces().iter().find(|piece| {
            piece.level == found.lower && piece.shape.may_reach(&cell, centre, radius, piece.reach)
        })?;
        Some((piece.member, centre))
    });
    doubtful.or_else(|| Some((shields.governor(found.place).member?, found.place)))
}

/// The uncovered part; where the drawn reaches leave none although coverage could not be
/// certified, the cell in doubt or a speck about the uncovered point stands for it.
fn uncovered(plan: &Plan, shields: &Shields, whole: Option<Certificate>) -> MultiPolygon<f64> {
    let drawn = plan.uncovered(shields.pieces());
    if plane_area_m2(&drawn) > 0.0 {
        return drawn;
    }
    let speck = |at: Xy| {
        Cell::new([
            Xy::new(at.x - search::RESOLUTION_M, at.y - search::RESOLUTION_M),
            Xy::new(at.x + search::RESOLUTION_M, at.y - search::RESOLUTION_M),
            Xy::new(at.x, at.y + search::RESOLUTION_M),
        ])
    };
    let doubtful = whole.map(|found| {
        let cell = found.in_doubt.unwrap_or_else(|| speck(found.place));
        let ring: geo::LineString<f64> = cell
            .corners()
            .iter()
            .map(|corner| geo::Coord {
                x: corner.x,
                y: corner.y,
            })
            .collect();
        geo::Polygon::new(ring, Vec::new())
    });
    MultiPolygon::new(doubtful.into_iter().collect())
}

fn level(placed: &Placed) -> f64 {
    placed
        .trusted
        .as_ref()
        .map_or(f64::INFINITY, |trusted| trusted.level)
}

/// The point of the area's edge nearest to an obstacle (the obstacle's own point when inside).
fn nearest_point_of_area(plan: &Plan, placed: &Placed) -> Xy {
    plan.cells()
        .iter()
        .map(|cell| {
            let centre = cell.centre();
            let mut at = placed.nearest_to(centre);
            // Alternating projections between two convex sets converge to the nearest pair.
            let triangle = crate::field::convex::Convex::triangle(*cell.corners());
            for _ in 0..20 {
                at = placed.nearest_to(triangle.nearest(at));
            }
            triangle.nearest(at)
        })
        .min_by(|a, b| {
            let gap = |point: &Xy| placed.nearest_to(*point).distance(*point);
            gap(a).total_cmp(&gap(b))
        })
        .unwrap_or_default()
}

fn shield(placed: &Placed, position: Xy, plan: &Plan, ground: &SiteGround) -> Option<ShieldAnswer> {
    let trusted = placed.trusted.as_ref().ok()?;
    Some(ShieldAnswer {
        title: placed.record.title(),
        kind: placed.record.kind.clone(),
        source: placed.record.source.clone(),
        span_index: placed.record.span.as_ref().map(|span| span.index),
        position: plan.frame().to_place(position),
        distance_m: Metres::of(placed.distance(plan)),
        trusted_top_m_amsl: ground.is_amsl().then(|| Altitude::of(trusted.level)),
        trusted_top_m_agl: Height::of(trusted.above_base),
        is_estimate: trusted.is_estimate,
        shape: placed.record.shape.clone(),
    })
}
