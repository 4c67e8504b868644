//! The points of the plan on the site figure, with the height allowed above take-off points.
//!
//! Not here: the shapes of their symbols (see [`super::symbol`]).

use super::palette as p;
use super::panel::Panel;
use super::place::Wanted;
use super::scene::MarkKind;
use super::{symbol, words};
use crate::answer::{Assessment, HeightAbovePoint, PlanPointAnswer};
use crate::plan_point::Role;

/// Radius that labels keep off a symbol, sheet units.
const CLEAR: f64 = 10.0;

/// Draws all points in view and asks for their labels.
pub fn add(panel: &mut Panel, assessment: &Assessment) {
    for (rank, point) in assessment.plan.iter().enumerate() {
        let at = panel.view.place(point.position);
        panel.symbol(
            MarkKind::PlanPoint,
            at,
            symbol::plan_point(at, &point.roles),
            CLEAR,
        );
        let take_off = point.roles.contains(&Role::TakeOff);
        let priority = if take_off { 12 } else { 60 };
        let rank = u32::try_from(rank).unwrap_or(1_000).min(1_000);
        let mut label = Wanted::new(MarkKind::PlanPoint, lines(point), vec![at], priority + rank);
        label.size = p::SMALL;
        label.clear = CLEAR;
        label.strong = take_off;
        label.colour = p::PLAN;
        panel.want(label);
    }
}

/// `Gate: take-off, landing`, and what is allowed above it.
fn lines(point: &PlanPointAnswer) -> Vec<String> {
    let roles: Vec<&str> = point.roles.iter().map(|role| role.word()).collect();
    let roles = roles.join(", ");
    let mut lines = vec![match &point.name {
        Some(name) => format!("{name}: {roles}"),
        None => roles,
    }];
    match &point.above_take_off {
        Some(HeightAbovePoint::Known {
            height_m,
            holds_in_whole_area,
            ..
        }) => {
            lines.push(if *height_m > 0.0 {
                format!("at most {} above it", words::above_point(*height_m))
            } else {
                "no height above it is allowed".to_owned()
            });
            if !holds_in_whole_area {
                lines.push("in the covered part only".to_owned());
            }
        }
        Some(HeightAbovePoint::Undetermined { .. }) => {
            lines.push("height above it UNDETERMINED".to_owned());
        }
        None => {}
    }
    lines
}
