//! The answer to a wished height above ground.
//!
//! Not here: how it is found (see [`crate::assess`]).

use serde::Serialize;

use crate::units::{Height, Metres};

/// The answer to a wished height above ground.
#[derive(Clone, Debug, Serialize)]
pub struct WishAnswer {
    /// The wished height.
    pub height_m_agl: Height,
    /// Whether the area allows it.
    pub state: WishState,
    /// Share of the area certified to allow it, 0 to 1, never above the true share.
    pub share_allowed: f64,
    /// How far the certified ceiling of the whole area is below the wish; none when it is not, or
    /// when it is undetermined.
    pub short_by_m: Option<Metres>,
    /// What would have to change.
    pub changes: Vec<WishChange>,
}

/// Whether the area allows a wished height.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WishState {
    /// The ceiling is at or above the wish everywhere.
    Everywhere,
    /// In part of the area only.
    InPart,
    /// Nowhere.
    Nowhere,
    /// Cannot be told.
    Undetermined,
}

/// Something that would have to change for a wished height.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "change", rename_all = "snake_case")]
pub enum WishChange {
    /// Fly no higher than the ceiling.
    FlyLower {
        /// The certified ceiling above ground.
        ceiling_m_agl: Height,
    },
    /// Leave out the part that does not allow it.
    ReduceArea {
        /// Share of the area that remains.
        share_left: f64,
    },
    /// Bring better data: accuracies and sag stated in the layers take this much off the governing
    /// shield.
    BetterData {
        /// The sum of the accuracy lines of the budget.
        up_to_m: Metres,
    },
    /// Another permission than this rule gives.
    OtherPermission {
        /// The term that governs.
        governs: String,
    },
}
