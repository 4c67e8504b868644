//! Estimated heights of line supports by voltage class: only where the user asks for them.
//!
//! The table is data (`layers/line-height-estimates.toml`), from memory, at the low end of each
//! band. Not here: anything stated by a layer.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::obstacle::{HeightBasis, Top, VerticalReference};

const TABLE: &str = include_str!("../../layers/line-height-estimates.toml");

#[derive(Deserialize)]
struct Table {
    class: Vec<Class>,
}

#[derive(Deserialize)]
struct Class {
    at_least_v: f64,
    height_m: f64,
}

static CLASSES: LazyLock<Vec<Class>> = LazyLock::new(|| {
    toml::from_str::<Table>(TABLE)
        .map(|table| table.class)
        .unwrap_or_default()
});

/// The estimated top of the supports of a line of this voltage, above ground.
#[must_use]
pub fn support_top(voltage_v: f64) -> Option<Top> {
    CLASSES
        .iter()
        .filter(|class| voltage_v >= class.at_least_v)
        .map(|class| class.height_m)
        .max_by(f64::total_cmp)
        .map(|value_m| Top {
            value_m,
            reference: VerticalReference::AboveGround,
            basis: HeightBasis::Estimate,
        })
}
