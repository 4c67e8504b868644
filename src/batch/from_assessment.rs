//! A row from the assessment of its site: every number is taken over, none is made here.

use crate::answer::{
    AerodromeAnswer, Assessment, CeilingPair, CeilingValue, GroundSource, Stopped, Undetermined,
    VariationAnswer, ZoneApplies, ZoneBasis, ZoneState,
};
use crate::profile::Reference;
use crate::units::Metres;

use super::Site;
use super::common::Common;
use super::reason::{Reason, Reasons};
use super::row::{
    CaseAnswer, Ceiling, CeilingOf, CeilingPart, NearestAerodrome, Proximity, ProximityOf, Row,
    Wish,
};

/// Adds the answer of one case; the first one also fills what the cases share.
pub fn add(row: &mut Option<Row>, site: &Site, common: &Common, assessment: &Assessment) {
    let row = row.get_or_insert_with(|| shared(site, common, assessment));
    row.cases.push(case(common, assessment));
}

fn shared(site: &Site, common: &Common, assessment: &Assessment) -> Row {
    let mut reasons = Reasons::NONE;
    reasons.add_if(site.has_cautions, Reason::SiteCaution);
    reasons.add_if(
        matches!(assessment.variation, VariationAnswer::Unknown { .. }),
        Reason::VariationUnknown,
    );
    reasons.add_if(
        assessment.ground.source == GroundSource::AssumedFlat,
        Reason::FlatGroundAssumed,
    );
    reasons.add_if(!common.profile().conditions.is_empty(), Reason::Conditions);
    let aerodrome = assessment
        .aerodromes
        .first()
        .and_then(|answer| nearest(common, answer));
    reasons.add_if(aerodrome.is_none(), Reason::NoAerodromeInRadius);
    reasons.add_if(
        aerodrome.is_some_and(|found| found.reference != common.profile().reference),
        Reason::ReferenceSubstituted,
    );
    let mut worst: Option<Proximity> = None;
    let mut ask = |next: Proximity| {
        if worst.is_none_or(|known| order(&next) < order(&known)) {
            worst = Some(next);
        }
    };
    for answer in &assessment.aerodromes {
        let Some(aerodrome) = number_of(common, answer) else {
            continue;
        };
        for ring in &answer.rings {
            reasons.add_if(ring.is_substitute, Reason::RingSubstituted);
            reasons.add_if(
                ring.state == ZoneState::Undetermined,
                Reason::ZoneUndetermined,
            );
            let number = (common.profile().rings.iter())
                .position(|it| it.about == ring.about && it.radius.value_m == ring.radius_m);
            if let Some(number) = number {
                ask(Proximity {
                    of: ProximityOf::Ring(number),
                    aerodrome,
                    state: ring.state,
                    margin_m: ring.margin_m,
                });
            }
        }
    }
    for zone in assessment.zones.iter().filter(|zone| zone.may_apply()) {
        reasons.add_if(
            zone.state == ZoneState::Undetermined,
            Reason::ZoneUndetermined,
        );
        if zone.may_reach_in() {
            let is_unknown = matches!(zone.applies, ZoneApplies::Unknown { .. });
            reasons.add_if(is_unknown, Reason::ZoneMayApply);
            let is_other = matches!(
                zone.basis,
                ZoneBasis::Larger { .. } | ZoneBasis::Smaller { .. }
            );
            reasons.add_if(is_other, Reason::ZoneApproximate);
        }
        let aerodrome = common
            .layers()
            .aerodromes
            .iter()
            .position(|it| it.ident == zone.ident && it.title() == zone.aerodrome);
        if let Some(aerodrome) = aerodrome {
            ask(Proximity {
                of: ProximityOf::Zone(zone.rule),
                aerodrome,
                state: zone.state,
                margin_m: zone.margin_m,
            });
        }
    }
    Row {
        id: site.id.clone(),
        error: None,
        middle: Some(assessment.area.middle),
        area_m2: Some(assessment.area.area_m2),
        aerodrome,
        proximity: worst,
        cases: Vec::with_capacity(common.cases().len()),
        reasons,
    }
}

/// What worse is ordered by: the state, then the margin.
fn order(proximity: &Proximity) -> (u8, f64) {
    let state = match proximity.state {
        ZoneState::Inside => 0,
        ZoneState::Straddles => 1,
        ZoneState::Undetermined => 2,
        ZoneState::Outside => 3,
    };
    (state, proximity.margin_m.map_or(f64::INFINITY, Metres::m))
}

fn number_of(common: &Common, answer: &AerodromeAnswer) -> Option<usize> {
    (common.layers().aerodromes.iter()).position(|aerodrome| aerodrome.source == answer.source)
}

fn nearest(common: &Common, answer: &AerodromeAnswer) -> Option<NearestAerodrome> {
    let (reference, distance) = std::iter::once(common.profile().reference)
        .chain(Reference::ALL)
        .find_map(|reference| Some((reference, answer.from_reference(reference)?)))?;
    Some(NearestAerodrome {
        aerodrome: number_of(common, answer)?,
        reference,
        distance_m: distance.distance_m,
        bearing_true_deg: distance.bearing_true_deg,
        bearing_magnetic_deg: distance.bearing_magnetic_deg,
    })
}

fn case(common: &Common, assessment: &Assessment) -> CaseAnswer {
    let mut reasons = Reasons::NONE;
    for why in &assessment.ceiling.undetermined {
        reasons.add(match why {
            Undetermined::Uncovered { .. } => Reason::Uncovered,
            Undetermined::NoShield => Reason::NoShield,
            Undetermined::GroundUnknown { .. } => Reason::GroundUnknown,
            Undetermined::FloorUnknown { .. } => Reason::FloorUnknown,
            Undetermined::NotCertified => Reason::NotCertified,
        });
    }
    let of_obstacles = assessment.obstacles.iter();
    for obstacle in of_obstacles {
        reasons.add_if(obstacle.not_a_shield.is_some(), Reason::UnusableObstacles);
        let is_shield = obstacle.not_a_shield.is_none();
        reasons.add_if(is_shield && obstacle.is_estimate, Reason::EstimatedHeight);
    }
    let ceiling = match (
        &assessment.ceiling.whole,
        &assessment.ceiling.determined_part,
    ) {
        (Some(pair), _) => Some(part(common, assessment, CeilingOf::Whole, pair)),
        (None, Some(pair)) => Some(part(common, assessment, CeilingOf::DeterminedPart, pair)),
        (None, None) => None,
    };
    let values = [
        &assessment.ceiling.whole,
        &assessment.ceiling.determined_part,
    ]
    .into_iter()
    .flatten()
    .flat_map(|pair| std::iter::once(&pair.above_ground).chain(&pair.amsl));
    for value in values {
        reasons.add_if(value.stopped != Stopped::Tolerance, Reason::StoppedShort);
    }
    let is_low = ceiling.is_some_and(|part| part.above_ground.value_m <= 0.0);
    reasons.add_if(is_low, Reason::CeilingNotAboveGround);
    CaseAnswer {
        shields_in_reach: (assessment.shielding.first()).map_or(0, |rule| rule.shields_in_reach),
        not_shields_in_reach: (assessment.shielding.first())
            .map_or(0, |rule| rule.not_shields_in_reach),
        covered_share: assessment
            .shielding
            .iter()
            .map(|rule| rule.covered_share)
            .reduce(f64::min),
        is_undetermined: assessment.ceiling.whole.is_none(),
        ceiling,
        wish: assessment.wish.as_ref().map(|wish| Wish {
            height_m_agl: wish.height_m_agl,
            state: wish.state,
            share_allowed: wish.share_allowed,
        }),
        reasons,
    }
}

fn part(
    common: &Common,
    assessment: &Assessment,
    of: CeilingOf,
    pair: &CeilingPair,
) -> CeilingPart {
    CeilingPart {
        of,
        above_ground: value(common, assessment, &pair.above_ground),
        amsl: (pair.amsl.as_ref()).map(|found| value(common, assessment, found)),
    }
}

fn value(common: &Common, assessment: &Assessment, found: &CeilingValue) -> Ceiling {
    let leaves = common.profile().expression.leaves().len();
    let term = (0..leaves)
        .find(|term| common.term_title(*term) == Some(&found.governs))
        .unwrap_or(leaves);
    let shield = found.shield.as_ref().and_then(|title| {
        let answer = (assessment.obstacles.iter()).find(|obstacle| obstacle.title == *title)?;
        (common.layers().obstacles.records().iter())
            .position(|record| record.source == answer.source && record.title() == *title)
    });
    Ceiling {
        value_m: found.value_m,
        term,
        shield,
        governs_at: found.governs_at,
    }
}
