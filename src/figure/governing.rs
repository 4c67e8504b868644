//! The place that governs the ceiling, and which shielding answer is drawn as the governing one.
//!
//! Not here: how the place was found (see [`crate::answer::CeilingValue`]).

use super::palette as p;
use super::panel::{Panel, extent};
use super::place::Wanted;
use super::scene::{MarkKind, Point, Rect};
use super::{symbol, words};
use crate::answer::{Assessment, CeilingPair, CeilingValue, ShieldingAnswer, Undetermined};
use crate::units::{Altitude, Height};

/// Radius of the symbol and the room around it that no label may enter.
const CLEAR: f64 = 13.0;
/// Places closer than this on the sheet are one place, sheet units.
const SAME_PLACE: f64 = 8.0;
/// Its label is wrapped to this width, sheet units: narrow, so that it finds room close by.
const WIDEST: f64 = 215.0;

/// The ceiling that the figure states: of the whole area, or of the part where it is determined.
pub fn ceiling(assessment: &Assessment) -> Option<&CeilingPair> {
    let ceiling = &assessment.ceiling;
    ceiling.whole.as_ref().or(ceiling.determined_part.as_ref())
}

/// The shielding answer whose lowest shielding obstacle and reach are drawn: the one that governs
/// the ceiling, or else the first that has one.
pub fn shielding(assessment: &Assessment) -> Option<&ShieldingAnswer> {
    let governs = ceiling(assessment).map(|pair| pair.above_ground.governs.as_str());
    let with_shield = || {
        assessment
            .shielding
            .iter()
            .filter(|answer| answer.lowest_shielding.is_some())
    };
    with_shield()
        .find(|answer| governs == Some(answer.rule.as_str()))
        .or_else(|| with_shield().next())
}

/// Whether the ceiling is undetermined because shields do not cover the area.
pub fn is_undetermined_by_cover(assessment: &Assessment) -> bool {
    assessment.ceiling.undetermined.iter().any(|reason| {
        matches!(
            reason,
            Undetermined::Uncovered { .. } | Undetermined::NoShield
        )
    })
}

/// Whether a height that the ceiling rests on is an estimate.
pub fn rests_on_estimate(assessment: &Assessment, value: &CeilingValue) -> bool {
    let Some(title) = &value.shield else {
        return false;
    };
    let shields = assessment
        .shielding
        .iter()
        .filter_map(|answer| answer.lowest_shielding.as_ref())
        .any(|shield| shield.is_estimate && shield.title == *title);
    shields
        || assessment
            .obstacles
            .iter()
            .any(|obstacle| obstacle.is_estimate && obstacle.title == *title)
}

/// Draws the places that govern, with the ceiling, and says where nothing is determined.
pub fn add(panel: &mut Panel, assessment: &Assessment) {
    let mut known: Vec<Point> = Vec::new();
    if let Some(pair) = ceiling(assessment) {
        let is_part = assessment.ceiling.whole.is_none();
        let part = is_part.then(|| "of the covered part".to_owned());
        let above_ground = words::height(Height::of(pair.above_ground.value_m));
        let here = panel.view.place(pair.above_ground.governs_at);
        let mut lines = vec![format!("ceiling {above_ground}")];
        if let Some(amsl) = &pair.amsl {
            let there = panel.view.place(amsl.governs_at);
            let altitude = words::altitude(Altitude::of(amsl.value_m));
            if here.distance(there) <= SAME_PLACE {
                lines.push(altitude);
            } else {
                let mut text = vec![format!("ceiling {altitude}")];
                text.extend(part.clone());
                mark(panel, assessment, there, text, amsl);
                known.push(there);
            }
        }
        lines.extend(part);
        mark(panel, assessment, here, lines, &pair.above_ground);
        known.push(here);
    }
    let covered_last = shielding(assessment).and_then(|answer| answer.governs_at);
    let covered_last = covered_last
        .map(|place| panel.view.place(place))
        .filter(|at| known.iter().all(|other| other.distance(*at) > CLEAR) && panel.shows(*at));
    if let Some(at) = covered_last {
        panel.symbol(MarkKind::LowestShield, at, symbol::last_covered(at), 6.0);
        let text = vec!["last place to be covered".to_owned()];
        let mut label = Wanted::new(MarkKind::LowestShield, text, vec![at], 45);
        label.clear = 6.0;
        label.size = p::SMALL;
        panel.want(label);
    }
    without_a_place(panel, assessment);
}

fn mark(
    panel: &mut Panel,
    assessment: &Assessment,
    at: Point,
    mut lines: Vec<String>,
    value: &CeilingValue,
) {
    if !panel.shows(at) {
        return;
    }
    let by = value.shield.as_ref().unwrap_or(&value.governs);
    lines.push(format!("governed by {by}"));
    if rests_on_estimate(assessment, value) {
        lines.push("ESTIMATE".to_owned());
    }
    panel.symbol(MarkKind::Governs, at, symbol::governs(at), CLEAR);
    panel.keep_clear(at, CLEAR);
    let mut label = Wanted::new(MarkKind::Governs, lines, vec![at], 0);
    label.strong = true;
    label.clear = CLEAR + 3.0;
    label.widest = WIDEST;
    label.colour = p::GOVERNS;
    label.essential = true;
    panel.want(label);
}

/// `UNDETERMINED` in the middle of the area for reasons that have no part of it to point at.
fn without_a_place(panel: &mut Panel, assessment: &Assessment) {
    let drawn = assessment
        .shielding
        .iter()
        .any(|answer| !answer.uncovered.0.is_empty());
    let reasons: Vec<String> = assessment
        .ceiling
        .undetermined
        .iter()
        .filter_map(|reason| match reason {
            Undetermined::Uncovered { share, .. } if !drawn => Some(format!(
                "{} of the area is out of reach",
                words::share_up(*share)
            )),
            Undetermined::NoShield if !drawn => Some("no obstacle in reach can shield".to_owned()),
            Undetermined::GroundUnknown { share } => Some(format!(
                "no terrain data under {} of the area",
                words::share_up(*share)
            )),
            Undetermined::FloorUnknown { .. } => {
                Some("a floor of airspace is not known".to_owned())
            }
            Undetermined::NotCertified => Some("no useful bound could be certified".to_owned()),
            Undetermined::Uncovered { .. } | Undetermined::NoShield => None,
        })
        .collect();
    if reasons.is_empty() {
        return;
    }
    let mut lines = vec!["UNDETERMINED".to_owned()];
    lines.extend(reasons);
    let mut parts: Vec<Rect> = assessment
        .area
        .record
        .polygons
        .iter()
        .filter_map(|polygon| extent(panel.view.rings(polygon).into_iter().flatten()))
        .collect();
    parts.sort_by(|a, b| (b.width() * b.height()).total_cmp(&(a.width() * a.height())));
    let mut anchors: Vec<Point> = parts.iter().map(Rect::middle).collect();
    anchors.push(panel.view.rect.middle());
    let mut label = Wanted::new(MarkKind::Uncovered, lines, anchors, 5);
    label.strong = true;
    label.colour = p::UNCOVERED;
    label.essential = true;
    label.clear = 0.0;
    panel.want(label);
}
