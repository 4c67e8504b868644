//! Whether a wished height above ground is allowed, where, and what would have to change.

use super::expression::Expression;
use super::ground::SiteGround;
use crate::answer::{BudgetStep, CeilingAnswer, CeilingValue, WishAnswer, WishChange, WishState};
use crate::plan::Plan;
use crate::search;
use crate::units::{Height, Metres};

/// How near the share of the area is found.
const SHARE_TOLERANCE: f64 = 5e-4;

/// How many cells the share may cost.
const SHARE_CELLS: usize = 60_000;

pub fn answer(
    wish: Height,
    ceiling: &CeilingAnswer,
    expression: &Expression,
    plan: &Plan,
    ground: &SiteGround,
) -> WishAnswer {
    let whole = ceiling.whole.as_ref().map(|pair| &pair.above_ground);
    if whole.is_some_and(|value| value.value_m >= wish.m()) {
        return WishAnswer {
            height_m_agl: wish,
            state: WishState::Everywhere,
            share_allowed: 1.0,
            short_by_m: None,
            changes: Vec::new(),
        };
    }
    let field = expression.above_ground(&ground.ground);
    let share = search::share_at_or_above(
        field.as_ref(),
        plan.cells(),
        wish.m(),
        SHARE_TOLERANCE,
        SHARE_CELLS,
    );
    let governing = whole.or(ceiling
        .determined_part
        .as_ref()
        .map(|pair| &pair.above_ground));
    let state = if share.at_least > 0.0 {
        WishState::InPart
    } else if governing.is_some() && share.at_most <= SHARE_TOLERANCE {
        WishState::Nowhere
    } else {
        WishState::Undetermined
    };
    WishAnswer {
        height_m_agl: wish,
        state,
        share_allowed: share.at_least,
        short_by_m: whole.map(|value| Metres::of(wish.m() - value.value_m)),
        changes: changes(wish, whole, governing, share.at_least),
    }
}

fn changes(
    wish: Height,
    whole: Option<&CeilingValue>,
    governing: Option<&CeilingValue>,
    share_left: f64,
) -> Vec<WishChange> {
    let mut changes = Vec::new();
    if let Some(value) = whole.filter(|value| value.value_m > 0.0) {
        changes.push(WishChange::FlyLower {
            ceiling_m_agl: Height::of(value.value_m),
        });
    }
    if share_left > 0.0 {
        changes.push(WishChange::ReduceArea { share_left });
    }
    if let Some(value) = governing {
        let accuracies: f64 = value
            .budget
            .iter()
            .filter(|line| line.step == BudgetStep::Less && line.label.contains("accuracy"))
            .map(|line| line.value_m)
            .sum();
        if accuracies > 0.0 && value.value_m < wish.m() {
            changes.push(WishChange::BetterData {
                up_to_m: Metres::of(accuracies),
            });
        }
        changes.push(WishChange::OtherPermission {
            governs: value.governs.clone(),
        });
    }
    changes
}
