//! What one table of `layers.toml` declares about one layer.
//!
//! Not here: the file as a whole (see [`crate::read::mapping`]), and what is done with a declaration.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::height::LengthUnit;
use crate::error::{Error, Result};
use crate::obstacle::{Permanence, Sag, VerticalReference};
use crate::units::Metres;

/// The unit of a `voltage` column.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
pub enum VoltageUnit {
    /// Volts; numbers below 1000 are then taken as unclear unless the unit is declared.
    #[default]
    V,
    /// Kilovolts.
    #[serde(rename = "kV")]
    Kilovolt,
}

/// What the height of a power line means.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LineHeight {
    /// The top of its supports.
    #[default]
    SupportTop,
    /// The lowest point of its top wire: sag is already off.
    LowestWire,
}

/// A date in `layers.toml`: a TOML date or text.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(untagged)]
enum Date {
    Toml(toml::value::Datetime),
    Text(String),
}

/// What one table of `layers.toml` declares about one layer.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Declaration {
    /// The file to read for this layer, whatever its name.
    pub file: Option<String>,
    /// The table inside the file, where a format holds several.
    pub table: Option<String>,
    /// Coordinate reference system; overrides what the file says.
    pub crs: Option<String>,
    /// Unit of heights and elevations that do not carry one.
    pub height_unit: Option<LengthUnit>,
    /// Unit of voltages.
    pub voltage_unit: Option<VoltageUnit>,
    /// What heights are counted from: `above_ground` or `mean_sea_level`.
    vertical_reference: Option<Reference>,
    /// What the height of a line means: `support_top` or `lowest_wire`.
    pub line_height_is: Option<LineHeight>,
    /// Positions are within this of the stated ones.
    pub horizontal_accuracy_m: Option<f64>,
    /// Heights are within this of the stated ones.
    pub vertical_accuracy_m: Option<f64>,
    clearance_m: Option<f64>,
    wire_offset_m: Option<f64>,
    date: Option<Date>,
    source: Option<String>,
    licence: Option<String>,
    attribution: Option<String>,
    permanence: Option<Stay>,
    /// Whether each vertex of a line is a support.
    pub vertices_are_supports: Option<bool>,
    sag: Option<SagTable>,
    /// Our attribute name to the file's attribute name.
    pub attributes: BTreeMap<String, String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Reference {
    AboveGround,
    MeanSeaLevel,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Stay {
    Permanent,
    Temporary,
    Unknown,
}

#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct SagTable {
    metres: Option<f64>,
    share_of_span: Option<f64>,
    weight_per_m: Option<f64>,
    horizontal_tension: Option<f64>,
}

impl Declaration {
    /// What heights are counted from, if declared.
    #[must_use]
    pub fn vertical_reference(&self) -> Option<VerticalReference> {
        self.vertical_reference.map(|reference| match reference {
            Reference::AboveGround => VerticalReference::AboveGround,
            Reference::MeanSeaLevel => VerticalReference::MeanSeaLevel,
        })
    }

    /// Whether the layer's objects stay, if declared.
    #[must_use]
    pub fn permanence(&self) -> Option<Permanence> {
        self.permanence.map(|stay| match stay {
            Stay::Permanent => Permanence::Permanent,
            Stay::Temporary => Permanence::Temporary,
            Stay::Unknown => Permanence::Unknown,
        })
    }

    /// Date of the data as text, if declared.
    #[must_use]
    pub fn date(&self) -> Option<String> {
        self.date.as_ref().map(|date| match date {
            Date::Toml(date) => date.to_string(),
            Date::Text(text) => text.clone(),
        })
    }

    /// Source, attribution and licence in one line, if any is declared.
    #[must_use]
    pub fn source(&self) -> Option<String> {
        let parts = [&self.source, &self.attribution, &self.licence]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect::<Vec<_>>();
        (!parts.is_empty()).then(|| parts.join("; "))
    }

    /// The sag of the layer's spans, if declared.
    #[must_use]
    pub fn sag(&self) -> Option<Sag> {
        if self.line_height_is == Some(LineHeight::LowestWire) {
            return Some(Sag::Included);
        }
        match self.sag? {
            SagTable {
                metres: Some(metres),
                ..
            } => Some(Sag::Metres(metres)),
            SagTable {
                share_of_span: Some(share),
                ..
            } => Some(Sag::ShareOfSpan(share)),
            SagTable {
                weight_per_m: Some(weight_per_m),
                horizontal_tension: Some(horizontal_tension),
                ..
            } => Some(Sag::Wire {
                weight_per_m,
                horizontal_tension,
            }),
            _ => None,
        }
    }

    /// Declared electrical clearance of power lines.
    #[must_use]
    pub fn clearance(&self) -> Option<Metres> {
        self.clearance_m.map(Metres::of)
    }

    /// Declared distance of the outermost wire from the line as drawn.
    #[must_use]
    pub fn wire_offset(&self) -> Option<Metres> {
        self.wire_offset_m.map(Metres::of)
    }

    /// Declared horizontal accuracy.
    #[must_use]
    pub fn horizontal_accuracy(&self) -> Option<Metres> {
        self.horizontal_accuracy_m.map(Metres::of)
    }

    /// Declared vertical accuracy.
    #[must_use]
    pub fn vertical_accuracy(&self) -> Option<Metres> {
        self.vertical_accuracy_m.map(Metres::of)
    }

    /// Whether the values of the table are possible, and its attributes among those of its layer.
    ///
    /// # Errors
    /// The first key at fault, with what to do about it.
    pub fn check(&self, layer: &str, attributes: &[&str]) -> Result<()> {
        let fault = |key: &str, cause: String, remedy: &str| {
            Err(Error::new(cause, remedy).at_feature(format!("[{layer}] {key}")))
        };
        for (key, value) in [
            ("horizontal_accuracy_m", self.horizontal_accuracy_m),
            ("vertical_accuracy_m", self.vertical_accuracy_m),
        ] {
            if value.is_some_and(|value| !(0.0..=MOST_ACCURACY_M).contains(&value)) {
                return fault(
                    key,
                    "is not between 0 and 1000 metres".to_owned(),
                    "give it in metres",
                );
            }
        }
        for (key, value, most) in [
            ("clearance_m", self.clearance_m, MOST_CLEARANCE_M),
            ("wire_offset_m", self.wire_offset_m, MOST_WIRE_OFFSET_M),
        ] {
            let Some(value) = value else {
                continue;
            };
            if layer != "power-lines" {
                return fault(
                    key,
                    "says nothing of this layer".to_owned(),
                    "declare it in [power-lines]",
                );
            }
            if !(0.0..=most).contains(&value) {
                return fault(
                    key,
                    format!("is not between 0 and {most} metres"),
                    "give it in metres",
                );
            }
        }
        if let Some(sag) = self.sag {
            let given = [
                sag.metres.is_some(),
                sag.share_of_span.is_some(),
                sag.weight_per_m.is_some() || sag.horizontal_tension.is_some(),
            ];
            if given.iter().filter(|given| **given).count() != 1
                || sag.weight_per_m.is_some() != sag.horizontal_tension.is_some()
            {
                return fault(
                    "sag",
                    "does not say one thing".to_owned(),
                    "give metres, or share_of_span, or weight_per_m with horizontal_tension",
                );
            }
            if self.line_height_is == Some(LineHeight::LowestWire) {
                return fault(
                    "sag",
                    "contradicts line_height_is = \"lowest_wire\"".to_owned(),
                    "leave one of the two out",
                );
            }
            let bad = [sag.metres, sag.weight_per_m]
                .into_iter()
                .flatten()
                .any(|value| !(0.0..1e6).contains(&value))
                || sag
                    .share_of_span
                    .is_some_and(|share| !(0.0..1.0).contains(&share))
                || sag
                    .horizontal_tension
                    .is_some_and(|tension| !(tension > 0.0 && tension.is_finite()));
            if bad {
                return fault(
                    "sag",
                    "is out of range".to_owned(),
                    "give positive numbers, a share of span as 0.03 for 3 %",
                );
            }
        }
        for ours in self.attributes.keys() {
            if !attributes.contains(&ours.as_str()) {
                return fault(
                    "attributes",
                    format!("\"{ours}\" is not an attribute of this layer"),
                    &format!("use one of {}", attributes.join(", ")),
                );
            }
        }
        Ok(())
    }
}

/// A greater electrical clearance is a slip: the widest row of the tables kept is 13.7 m.
pub const MOST_CLEARANCE_M: f64 = 100.0;

/// No line is wider than twice this, metres (from memory: 1150 kV lines measure some 50 m across).
pub const MOST_WIRE_OFFSET_M: f64 = 50.0;

/// More than any survey or map is wrong by; a larger number is a slip of the unit.
const MOST_ACCURACY_M: f64 = 1000.0;
