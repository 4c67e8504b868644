//! How a site lies to the zones of the profile: at every aerodrome listed, and at every other whose
//! zone the area may reach into.

use geo::{BooleanOps, LineString, MultiPolygon, Polygon};

use super::Question;
use super::aerodromes::{AERODROME_EXTENT_M, some_place};
use crate::aerodrome::Aerodrome;
use crate::answer::{
    AerodromeAnswer, CeilingAnswer, GroundAnswer, ZoneAnswer, ZoneApplies, ZoneBasis, ZoneState,
};
use crate::distance::{Measured, plane_area_m2};
use crate::field::convex::Convex;
use crate::field::zone::{Region, Turned};
use crate::frame::{LocalFrame, LonLat};
use crate::plan::Plan;
use crate::profile::zone::ZoneRule;
use crate::search::{self, Limits, Scope};
use crate::units::{Altitude, Height, Metres};
use crate::zone::applies::{Applies, applies};
use crate::zone::{Basis, Part, Placed, outline, parts};

/// How close signed distances are searched, metres.
const SEARCH_TOLERANCE_M: f64 = 0.001;

/// How close the share inside is searched, a share of the area, and how many cells it may take.
const SHARE_TOLERANCE: f64 = 2e-4;
/// See [`SHARE_TOLERANCE`].
const SHARE_CELLS: usize = 40_000;

/// Edges of polygons are cut to this before they become longitudes and latitudes, metres: they then
/// lie within 1 mm of the straight line of the plane below 80 degrees of latitude.
const EDGE_M: f64 = 60.0;

/// How far the offered part stays off the zone besides, metres: more than edges are off.
const OFFER_GAP_M: f64 = 0.01;

/// What is asked about zones at one site.
pub struct Asked<'a> {
    pub question: &'a Question,
    pub measured: &'a Measured<'a>,
    pub plan: &'a Plan,
    /// The corners that decide offsets.
    pub corners: &'a [LonLat],
}

pub fn answer(
    asked: &Asked<'_>,
    listed: &[AerodromeAnswer],
    aerodromes: &[Aerodrome],
) -> Vec<ZoneAnswer> {
    let rules = &asked.question.profile.zones;
    let mut answers: Vec<ZoneAnswer> = listed
        .iter()
        .flat_map(|aerodrome| about(asked, rules, &aerodrome.record))
        .collect();
    let widest = rules
        .iter()
        .map(|rule| rule.shape.extent_m())
        .fold(0.0, f64::max);
    let near_enough = Metres::of(widest + AERODROME_EXTENT_M) + asked.plan.radius();
    let frame = asked.plan.frame();
    let others = aerodromes.iter().filter(|aerodrome| {
        !listed
            .iter()
            .any(|answer| answer.record.source == aerodrome.source)
            && some_place(aerodrome).is_some_and(|place| frame.is_within(place, near_enough))
    });
    answers.extend(
        others
            .flat_map(|aerodrome| about(asked, rules, aerodrome))
            .filter(|answer| matches!(answer.state, ZoneState::Inside | ZoneState::Straddles)),
    );
    answers
}

/// Compares where zones begin with the ceiling and the wished height.
///
/// A ceiling is the same AMSL all over the area, and so is taken the top of a wished volume: above the
/// highest ground. Both gaps count from there to the lowest that a zone begins at, so neither is
/// more than the true one.
pub fn compare_heights(
    zones: &mut [ZoneAnswer],
    ceiling: &CeilingAnswer,
    wish: Option<Height>,
    ground: &GroundAnswer,
) {
    let ceiling = ceiling
        .whole
        .as_ref()
        .and_then(|pair| Some(Altitude::of(pair.amsl.as_ref()?.value_m)));
    let highest = ground
        .highest_m_amsl
        .filter(|_| ground.unknown_share == 0.0)
        .map(|highest| highest + ground.accuracy_m);
    let wished = highest
        .zip(wish)
        .map(|(highest, wish)| highest + Metres::of(wish.m()));
    for zone in zones.iter_mut().filter(|zone| zone.may_reach_in()) {
        let gap = |top: Option<Altitude>| {
            zone.floor_m_amsl
                .zip(top)
                .map(|(floor, top)| Metres::of(floor.m() - top.m()))
        };
        (zone.ceiling_gap_m, zone.wish_gap_m) = (gap(ceiling), gap(wished));
    }
}

fn about(asked: &Asked<'_>, rules: &[ZoneRule], aerodrome: &Aerodrome) -> Vec<ZoneAnswer> {
    rules
        .iter()
        .enumerate()
        .flat_map(|(index, rule)| match applies(rule, aerodrome) {
            Applies::No(why) => vec![not_here(rule, index, aerodrome, why)],
            Applies::Yes => placed(asked, rule, index, aerodrome, &ZoneApplies::Yes),
            Applies::Unknown(why) => {
                placed(asked, rule, index, aerodrome, &ZoneApplies::Unknown { why })
            }
        })
        .collect()
}

/// An answer with nothing in it.
fn blank(rule: &ZoneRule, index: usize, aerodrome: &Aerodrome) -> ZoneAnswer {
    let top_m_amsl = rule
        .top
        .as_ref()
        .zip(aerodrome.elevation)
        .map(|(top, elevation)| elevation + top.value_m);
    ZoneAnswer {
        title: rule.title.clone(),
        rule: index,
        aerodrome: aerodrome.title(),
        ident: aerodrome.ident.clone(),
        part: None,
        applies: ZoneApplies::Yes,
        state: ZoneState::Undetermined,
        basis: ZoneBasis::Stated,
        margin_m: None,
        farthest_margin_m: None,
        share_inside: None,
        outside: MultiPolygon::new(Vec::new()),
        outside_m2: 0.0,
        widened_m: Metres::ZERO,
        floor_m_amsl: None,
        from_surface: true,
        ceiling_gap_m: None,
        wish_gap_m: None,
        top: rule.top.as_ref().map(crate::profile::Quantity::label),
        top_m_amsl,
        conditions: rule.conditions.clone(),
        outline: MultiPolygon::new(Vec::new()),
    }
}

fn not_here(rule: &ZoneRule, index: usize, aerodrome: &Aerodrome, why: String) -> ZoneAnswer {
    ZoneAnswer {
        applies: ZoneApplies::No { why: why.clone() },
        basis: ZoneBasis::None { why },
        ..blank(rule, index, aerodrome)
    }
}

fn placed(
    asked: &Asked<'_>,
    rule: &ZoneRule,
    index: usize,
    aerodrome: &Aerodrome,
    applies: &ZoneApplies,
) -> Vec<ZoneAnswer> {
    let plan = asked.plan;
    parts(&rule.shape, aerodrome, plan.frame(), plan.radius())
        .into_iter()
        .map(|Part { name, placed }| {
            let blank = ZoneAnswer {
                part: name,
                applies: applies.clone(),
                ..blank(rule, index, aerodrome)
            };
            match placed {
                Ok(placed) => judged(asked, &placed, blank),
                Err(why) => ZoneAnswer {
                    basis: ZoneBasis::None { why },
                    ..blank
                },
            }
        })
        .collect()
}

/// What holds of a zone of a rule at an aerodrome wherever the area is.
#[derive(Clone, Copy, Debug)]
pub struct Facts {
    /// Whether the data say that the rule has it here.
    pub surely_applies: bool,
    /// No point of it is farther than this from `place`, metres; −∞ where it cannot be placed.
    pub reach_m: f64,
    /// Whether some part of it is undetermined for an area far from it.
    pub is_far_undetermined: bool,
    /// Whether that is so because a smaller zone stands in.
    pub is_far_approximate: bool,
}

/// How much farther than laid out a zone is taken to reach, metres and as a share: more than its
/// accuracy and the plane's stretch change with the place it is laid out from.
const REACH_SLACK: (f64, f64) = (50.0, 0.001);

/// The facts about a zone; none where the rule has none at the aerodrome.
pub fn facts(rule: &ZoneRule, aerodrome: &Aerodrome, place: LonLat) -> Option<Facts> {
    let mut facts = Facts {
        surely_applies: match applies(rule, aerodrome) {
            Applies::No(_) => return None,
            Applies::Yes => true,
            Applies::Unknown(_) => false,
        },
        reach_m: f64::NEG_INFINITY,
        is_far_undetermined: false,
        is_far_approximate: false,
    };
    let frame = LocalFrame::about(place);
    for Part { placed, .. } in parts(&rule.shape, aerodrome, &frame, Metres::ZERO) {
        match placed {
            Ok(placed) if placed.region.reach().is_finite() => {
                let reach = placed.region.reach() + placed.accuracy_m;
                let reach = reach + REACH_SLACK.0 + reach * REACH_SLACK.1;
                facts.reach_m = facts.reach_m.max(reach);
                let is_smaller = matches!(placed.basis, Basis::Smaller(_));
                facts.is_far_undetermined |= is_smaller;
                facts.is_far_approximate |= is_smaller;
            }
            Ok(_) | Err(_) => facts.is_far_undetermined = true,
        }
    }
    Some(facts)
}

/// How an area lies to a part of a zone, in numbers.
#[derive(Clone, Copy, Debug)]
pub struct Judged {
    pub state: ZoneState,
    pub margin_m: Option<Metres>,
    /// Whether a larger or smaller zone stands in.
    pub is_approximate: bool,
}

/// How an area lies to each part of a zone that applies or may apply.
pub fn states(
    rule: &ZoneRule,
    aerodrome: &Aerodrome,
    plan: &Plan,
    measured: Measured<'_>,
) -> Vec<Judged> {
    let undetermined = Judged {
        state: ZoneState::Undetermined,
        margin_m: None,
        is_approximate: false,
    };
    parts(&rule.shape, aerodrome, plan.frame(), plan.radius())
        .into_iter()
        .map(|Part { placed, .. }| {
            let Ok(placed) = placed else {
                return undetermined;
            };
            let Some((nearest, farthest)) = margins(plan, measured, &placed, &widened(&placed))
            else {
                return undetermined;
            };
            let found = Judged {
                state: state(nearest, farthest),
                margin_m: Some(nearest),
                is_approximate: placed.basis != Basis::Stated,
            };
            match (&placed.basis, found.state) {
                // As in an answer in words.
                (Basis::Smaller(_), ZoneState::Outside) => Judged {
                    is_approximate: true,
                    ..undetermined
                },
                (Basis::Smaller(_), ZoneState::Straddles) => Judged {
                    margin_m: None,
                    ..found
                },
                _ => found,
            }
        })
        .collect()
}

fn widened(placed: &Placed) -> Region {
    Region::Widened(Box::new(placed.region.clone()), placed.accuracy_m)
}

fn state(nearest: Metres, farthest: Metres) -> ZoneState {
    if nearest.m() > 0.0 {
        ZoneState::Outside
    } else if farthest.m() <= 0.0 {
        ZoneState::Inside
    } else {
        ZoneState::Straddles
    }
}

/// How the area lies to one placed zone.
fn judged(asked: &Asked<'_>, placed: &Placed, blank: ZoneAnswer) -> ZoneAnswer {
    let plan = asked.plan;
    let widened = widened(placed);
    let found = margins(plan, *asked.measured, placed, &widened);
    let Some((nearest, farthest)) = found else {
        return ZoneAnswer {
            basis: ZoneBasis::None {
                why: "it has no extent".into(),
            },
            ..blank
        };
    };
    let state = state(nearest, farthest);
    let zone = outline::outer(&widened, OFFER_GAP_M);
    let outside = match (state, &placed.basis) {
        (ZoneState::Straddles, Basis::Stated | Basis::Larger(_)) => {
            plan.polygons().difference(&zone)
        }
        _ => MultiPolygon::new(Vec::new()),
    };
    let floor = placed.slope.as_ref().and_then(|slope| {
        let (least, _) = slope.outbound.range(asked.corners)?;
        slope.at(least.along)
    });
    let answer = ZoneAnswer {
        state,
        basis: match &placed.basis {
            Basis::Stated => ZoneBasis::Stated,
            Basis::Larger(why) => ZoneBasis::Larger { why: why.clone() },
            Basis::Smaller(why) => ZoneBasis::Smaller { why: why.clone() },
        },
        margin_m: Some(nearest),
        farthest_margin_m: Some(farthest),
        share_inside: Some(match state {
            ZoneState::Outside => 0.0,
            ZoneState::Inside => 1.0,
            _ => share(asked, placed, &widened),
        }),
        outside_m2: plane_area_m2(&outside),
        outside: plan.to_places(&cut_edges(&outside)),
        widened_m: Metres::of(placed.accuracy_m),
        floor_m_amsl: floor,
        from_surface: placed.slope.is_none(),
        outline: plan.to_places(&cut_edges(&zone)),
        ..blank
    };
    match (&placed.basis, state) {
        // Outside of a smaller zone says nothing of the zone of the rule.
        (Basis::Smaller(_), ZoneState::Outside) => ZoneAnswer {
            state: ZoneState::Undetermined,
            margin_m: None,
            farthest_margin_m: None,
            share_inside: None,
            ..answer
        },
        (Basis::Smaller(_), ZoneState::Straddles) => ZoneAnswer {
            margin_m: None,
            farthest_margin_m: None,
            share_inside: None,
            ..answer
        },
        _ => answer,
    }
}

/// The least and the greatest signed distance of the area from the edge of a zone.
fn margins(
    plan: &Plan,
    measured: Measured<'_>,
    placed: &Placed,
    widened: &Region,
) -> Option<(Metres, Metres)> {
    if let Some((target, radius)) = &placed.about {
        let nearest = measured.nearest(target)?.distance;
        let farthest = measured.farthest(target)?;
        return Some((nearest - *radius, farthest - *radius));
    }
    let limits = Limits::within(SEARCH_TOLERANCE_M);
    let cells = plan.cells();
    let least = search::lowest(widened, cells, Scope::Everywhere, limits)?.lower;
    let most = -search::lowest(&Turned(widened), cells, Scope::Everywhere, limits)?.lower;
    if !least.is_finite() || !most.is_finite() {
        return None;
    }
    // Away from the zone the plane stretches the distance to it besides.
    let out = widened
        .sets()
        .into_iter()
        .flat_map(Convex::corners)
        .map(|corner| corner.x.hypot(corner.y))
        .fold(plan.radius().m(), f64::max);
    let stretch = LocalFrame::stretch(Metres::of(out));
    Some((
        Metres::of(least - least.max(0.0) * stretch),
        Metres::of(most),
    ))
}

fn share(asked: &Asked<'_>, placed: &Placed, widened: &Region) -> f64 {
    match &placed.about {
        Some((target, radius)) => asked.measured.share_within(target, *radius),
        None => {
            search::share_at_or_above(
                &Turned(widened),
                asked.plan.cells(),
                0.0,
                SHARE_TOLERANCE,
                SHARE_CELLS,
            )
            .at_most
        }
    }
}

/// The same polygons with their edges cut into pieces of at most [`EDGE_M`].
fn cut_edges(polygons: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let ring = |ring: &LineString<f64>| -> LineString<f64> {
        ring.lines()
            .flat_map(|line| {
                let length = line.dx().hypot(line.dy());
                let parts = (length / EDGE_M).ceil().clamp(1.0, 10_000.0);
                (0..parts as usize).map(move |k| line.start + line.delta() * (k as f64 / parts))
            })
            .chain(ring.0.last().copied())
            .collect()
    };
    polygons
        .iter()
        .map(|polygon| {
            Polygon::new(
                ring(polygon.exterior()),
                polygon.interiors().iter().map(ring).collect(),
            )
        })
        .collect()
}
