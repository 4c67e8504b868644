//! Whether a wished height above ground is allowed, where, and what would have to change.

use super::ceiling::{Asked, FoundCeiling};
use super::expression::LeafKind;
use crate::answer::{BudgetStep, CeilingAnswer, CeilingValue, WishAnswer, WishChange, WishState};
use crate::field::covered::covered;
use crate::search::{self, Share};
use crate::units::{Height, Metres};

/// How near the share of the area is found.
const SHARE_TOLERANCE: f64 = 5e-4;

/// How many cells the share may cost.
const SHARE_CELLS: usize = 60_000;

/// The answer in numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundWish {
    pub state: WishState,
    /// Share of the area certified to allow it.
    pub share_allowed: f64,
}

/// Whether a height is allowed, and in how much of the area.
pub fn find(wish: Height, ceiling: &FoundCeiling, asked: &Asked) -> FoundWish {
    let whole = ceiling.whole.as_ref().map(|pair| &pair.above_ground);
    if whole.is_some_and(|value| value.value_m >= wish.m()) {
        return FoundWish {
            state: WishState::Everywhere,
            share_allowed: 1.0,
        };
    }
    let share = share_allowed(wish, asked);
    let is_known = whole.is_some() || ceiling.determined_part.is_some();
    let state = if share.at_least > 0.0 {
        WishState::InPart
    } else if is_known && share.at_most <= SHARE_TOLERANCE {
        WishState::Nowhere
    } else {
        WishState::Undetermined
    };
    FoundWish {
        state,
        share_allowed: share.at_least,
    }
}

fn share_allowed(wish: Height, asked: &Asked) -> Share {
    let by_search = || {
        search::share_at_or_above(
            asked.expression.above_ground(&asked.ground.ground).as_ref(),
            asked.plan.cells(),
            wish.m(),
            SHARE_TOLERANCE,
            SHARE_CELLS,
        )
    };
    let Some((shield, ground)) = asked.over_level_ground() else {
        return by_search();
    };
    let Some(LeafKind::Shield { shields, .. }) =
        asked.expression.leaves.get(shield).map(|leaf| &leaf.kind)
    else {
        return by_search();
    };
    let allowed_with = |level: f64| asked.above_level_ground(shield, level, ground).0 >= wish.m();
    let all = |share: f64| Share {
        at_least: share,
        at_most: share,
    };
    if allowed_with(f64::NEG_INFINITY) {
        return all(1.0);
    }
    let area = asked.plan.for_cover();
    let found = covered(area.sides(), area.cells(), shields.pieces(), |piece| {
        allowed_with(piece.level)
    });
    let share = |area: f64| (area / asked.plan.area_m2()).clamp(0.0, 1.0);
    let astray = area.astray_m2();
    Share {
        at_least: share(found.at_least_m2 - astray),
        at_most: share(found.at_most_m2 + astray),
    }
}

/// The answer in words.
pub fn answer(wish: Height, found: FoundWish, ceiling: &CeilingAnswer) -> WishAnswer {
    let whole = ceiling.whole.as_ref().map(|pair| &pair.above_ground);
    if found.state == WishState::Everywhere {
        return WishAnswer {
            height_m_agl: wish,
            state: found.state,
            share_allowed: found.share_allowed,
            short_by_m: None,
            changes: Vec::new(),
        };
    }
    let governing = whole.or(ceiling
        .determined_part
        .as_ref()
        .map(|pair| &pair.above_ground));
    WishAnswer {
        height_m_agl: wish,
        state: found.state,
        share_allowed: found.share_allowed,
        short_by_m: whole.map(|value| Metres::of(wish.m() - value.value_m)),
        changes: changes(wish, whole, governing, found.share_allowed),
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
