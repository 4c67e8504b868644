//! Where the points of the plan lie, and the allowed height above each take-off point.
//!
//! An aircraft counts its height from where it took off. The height above that point at which it is
//! at the ceiling AMSL is the ceiling less the elevation of the point, and the highest that the
//! ground there can be is taken. Not here: reading the points.

use geo::{Coord, Intersects, MultiPolygon};

use super::DRAWN_AROUND;
use super::budget::Budget;
use super::ground::SiteGround;
use super::obstacles::ground_within;
use crate::answer::{
    AerodromeAnswer, CeilingAnswer, GroundAtPoint, GroundSource, HeightAbovePoint, NotAssessed,
    PlanPointAnswer, PointBearing,
};
use crate::distance::{Measured, Target};
use crate::error::{Caution, Cautions};
use crate::frame::{Xy, geodesic};
use crate::plan::Plan;
use crate::plan_point::{PlanPoint, Role};
use crate::search;
use crate::units::{Altitude, Metres};

/// What the points are asked with.
pub struct Asked<'a> {
    pub plan: &'a Plan,
    pub measured: &'a Measured<'a>,
    pub ground: &'a SiteGround,
    pub ceiling: &'a CeilingAnswer,
    pub aerodromes: &'a [AerodromeAnswer],
    pub declination: Option<f64>,
    /// The electrical clearance band in the plane; none when it is not known.
    pub band: Option<&'a MultiPolygon<f64>>,
}

/// The points near the area, in the order of the file.
pub fn answer(
    asked: &Asked,
    points: &[PlanPoint],
    cautions: &mut Cautions,
    not_assessed: &mut Vec<NotAssessed>,
) -> Vec<PlanPointAnswer> {
    let farthest_asked = asked.plan.radius() + DRAWN_AROUND;
    let (near, far): (Vec<&PlanPoint>, Vec<&PlanPoint>) = points.iter().partition(|point| {
        let line = geodesic(asked.plan.frame().origin(), point.place);
        line.distance <= farthest_asked
    });
    if !far.is_empty() {
        not_assessed.push(NotAssessed {
            what: "points of the plan".to_owned(),
            why: format!(
                "more than {} m from the area: taken as points of another site",
                DRAWN_AROUND.m()
            ),
            count: far.len(),
            features: far
                .iter()
                .take(Caution::NAMED_FEATURES)
                .map(|point| point.source.feature.to_string())
                .collect(),
        });
    }
    if !points.is_empty() && !near.iter().any(|point| point.is(Role::TakeOff)) {
        not_assessed.push(NotAssessed {
            what: "height above the take-off point".to_owned(),
            why: "the plan has no take-off point near the area".to_owned(),
            count: 0,
            features: Vec::new(),
        });
    }
    let answers: Vec<PlanPointAnswer> = near.iter().map(|point| one(asked, point)).collect();
    for answer in &answers {
        caution(answer, cautions);
    }
    answers
}

fn one(asked: &Asked, point: &PlanPoint) -> PlanPointAnswer {
    let at = asked.plan.frame().to_plane(point.place);
    let corner = Coord { x: at.x, y: at.y };
    let target = Target::Places(vec![(point.place, None)]);
    let distance = asked
        .measured
        .nearest(&target)
        .map_or(Metres::ZERO, |nearest| nearest.distance);
    // The edge belongs to the area, as closely as distances are stated.
    let is_in_area = distance.m() <= search::RESOLUTION_M;
    PlanPointAnswer {
        title: point.title(),
        name: point.name.clone(),
        roles: point.roles.clone(),
        source: point.source.clone(),
        position: point.place,
        is_in_area,
        distance_m: if is_in_area { Metres::ZERO } else { distance },
        farthest_m: asked.measured.farthest(&target).unwrap_or(Metres::ZERO),
        is_in_clearance_band: asked.band.map(|band| band.intersects(&corner)),
        from_aerodrome: from_aerodrome(asked, point),
        ground: ground_at(asked, at, point.horizontal_accuracy),
        above_take_off: point
            .is(Role::TakeOff)
            .then(|| above_take_off(asked, at, point.horizontal_accuracy)),
    }
}

/// The nearest reference point by distance from this point.
fn from_aerodrome(asked: &Asked, point: &PlanPoint) -> Option<PointBearing> {
    let seen_from = |answer: &AerodromeAnswer| {
        let line = geodesic(answer.record.reference_point?, point.place);
        let bearing = (line.distance.m() > 0.0).then_some(line.bearing_from);
        Some(PointBearing {
            aerodrome: answer.title.clone(),
            distance_m: line.distance,
            bearing_true_deg: bearing,
            bearing_magnetic_deg: bearing
                .zip(asked.declination)
                .map(|(bearing, declination)| bearing.magnetic(declination)),
        })
    };
    asked
        .aerodromes
        .iter()
        .filter_map(seen_from)
        .min_by(|a, b| a.distance_m.m().total_cmp(&b.distance_m.m()))
}

fn ground_at(asked: &Asked, at: Xy, spread: Metres) -> Option<GroundAtPoint> {
    ground_within(at, spread.m().max(0.0), asked.ground)
        .filter(|_| asked.ground.is_amsl())
        .map(|range| GroundAtPoint {
            lowest_m_amsl: Altitude::of(range.low),
            highest_m_amsl: Altitude::of(range.high),
        })
}

fn above_take_off(asked: &Asked, at: Xy, spread: Metres) -> HeightAbovePoint {
    let undetermined = |why: &str| HeightAbovePoint::Undetermined {
        why: why.to_owned(),
    };
    if asked.ground.source == GroundSource::AssumedFlat {
        return undetermined("no elevation is known: add terrain or state the site elevation");
    }
    let whole = asked.ceiling.whole.as_ref();
    let pair = whole.or(asked.ceiling.determined_part.as_ref());
    let Some(ceiling) = pair.and_then(|pair| pair.amsl.as_ref()) else {
        return undetermined("the ceiling is undetermined everywhere");
    };
    let Some(ground) = ground_at(asked, at, spread) else {
        return undetermined("the ground at the point is unknown");
    };
    let mut budget = Budget::in_words();
    budget.from("ceiling AMSL", ceiling.value_m, || {
        "as certified".to_owned()
    });
    budget.less("ground at the point", ground.highest_m_amsl.m(), || {
        if spread > Metres::ZERO {
            format!(
                "{}, highest within {} m",
                asked.ground.note(),
                spread.m_up(1)
            )
        } else {
            asked.ground.note()
        }
    });
    budget.less("ground accuracy", asked.ground.ground.accuracy(), || {
        asked.ground.accuracy_note().to_owned()
    });
    let (height_m, budget) = budget.close("height above the point", f64::INFINITY);
    HeightAbovePoint::Known {
        height_m,
        holds_in_whole_area: whole.is_some(),
        budget,
    }
}

/// What a remote pilot must know of a point before relying on it.
fn caution(answer: &PlanPointAnswer, cautions: &mut Cautions) {
    let mut say = |defect: &str, effect: &str| {
        cautions.feature(&answer.source.file, &answer.source.feature, defect, effect);
    };
    let is = |role: Role| answer.roles.contains(&role);
    // Crews stand where they see the area from, and a place to come down on in an emergency may
    // well lie outside it; an aircraft that takes off or lands outside flies there as a matter of
    // course.
    for role in [Role::TakeOff, Role::Landing] {
        if is(role) && !answer.is_in_area {
            say(
                &format!("has the role {role} and lies outside the operating area"),
                "the way between it and the area is not assessed",
            );
        }
    }
    for role in [Role::TakeOff, Role::Landing, Role::Emergency] {
        if is(role) && answer.is_in_clearance_band == Some(true) {
            say(
                &format!("has the role {role} and lies in the electrical clearance band"),
                "an aircraft there is nearer to the wires than their clearance",
            );
        }
    }
    if let Some(HeightAbovePoint::Known { height_m, .. }) = answer.above_take_off
        && height_m <= 0.0
    {
        say(
            "has the role take-off and is no lower than the ceiling",
            "no height above it is allowed",
        );
    }
}
