//! What the attributes of an obstacle say: height, accuracy, permanence, voltage, sag.
//!
//! Understands OpenStreetMap tags, our own names, and the names that `layers.toml` gives. What is
//! unclear becomes a caution and never a shield. Not here: shapes and spans.

use std::borrow::Cow;

use super::declaration::{Declaration, MOST_CLEARANCE_M, MOST_WIRE_OFFSET_M, VoltageUnit};
use super::feature::Feature;
use super::height::{self, LengthUnit, Reading};
use crate::error::{Caution, Cautions};
use crate::obstacle::{HeightBasis, Permanence, Sag, Top, VerticalReference};
use crate::units::Metres;

/// No structure is taller: the tallest is 828 m (from memory), so a larger number is a slip.
const TALLEST_STRUCTURE_M: f64 = 1000.0;
/// Altitudes of tops on this Earth, metres AMSL, with room to spare (from memory).
const ALTITUDES_M: std::ops::RangeInclusive<f64> = -500.0..=10_000.0;
/// Two heights of one object that differ by more contradict one another; 0.5 m is a rounded foot.
const AGREEMENT_M: f64 = 0.5;
/// Below this a voltage without a unit may be kilovolts.
const LEAST_CLEAR_VOLTAGE_V: f64 = 1000.0;
/// No line carries more; a larger number is not a voltage (from memory: 1150 kV).
const HIGHEST_VOLTAGE_V: f64 = 2_000_000.0;

/// The effect of a height that cannot be used.
pub const NOT_A_SHIELD: &str = "not a shield; counted as an obstacle of unknown height";

/// What a feature says about its top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stated {
    /// Nothing.
    Missing,
    /// Something unclear, which a caution names.
    Unclear,
    /// A top.
    Top(Top),
}

impl Stated {
    /// The top, if one is stated clearly.
    #[must_use]
    pub const fn top(self) -> Option<Top> {
        match self {
            Self::Top(top) => Some(top),
            Self::Missing | Self::Unclear => None,
        }
    }
}

/// Reads attributes as one layer's declaration has them.
#[derive(Clone, Copy, Debug)]
pub struct Attributes<'a> {
    /// The layer's declaration.
    pub declaration: &'a Declaration,
    /// The layer's file name, for cautions.
    pub file: &'a str,
}

impl Attributes<'_> {
    /// The value of one of our attributes as text: from the name that `layers.toml` gives, or else
    /// from `defaults`.
    #[must_use]
    pub fn text<'b>(
        &self,
        feature: &'b Feature<'_>,
        ours: &str,
        defaults: &[&str],
    ) -> Option<Cow<'b, str>> {
        match self.declaration.attributes.get(ours) {
            Some(theirs) => feature.words(&[theirs]),
            None => feature.words(defaults),
        }
    }

    /// The stated top; what is unclear becomes a caution, what is missing does not.
    pub fn top(&self, feature: &Feature, cautions: &mut Cautions) -> Stated {
        let reference = self
            .declaration
            .vertical_reference()
            .unwrap_or(VerticalReference::AboveGround);
        let unit = self.declaration.height_unit.unwrap_or_default();
        let ours = [
            ("height_m", LengthUnit::Metre, reference),
            ("height_ft", LengthUnit::Foot, reference),
            ("height", unit, reference),
            (
                "top_m_amsl",
                LengthUnit::Metre,
                VerticalReference::MeanSeaLevel,
            ),
            (
                "top_ft_amsl",
                LengthUnit::Foot,
                VerticalReference::MeanSeaLevel,
            ),
        ];
        let theirs = self
            .declaration
            .attributes
            .get("height")
            .map(|theirs| [(theirs.as_str(), unit, reference)]);
        let sources = match &theirs {
            Some(theirs) => theirs.as_slice(),
            None => &ours,
        };
        let mut unclear = |defect: String| {
            cautions.feature(self.file, &feature.label, &defect, NOT_A_SHIELD);
            Stated::Unclear
        };
        let mut stated: Option<Top> = None;
        for &(name, unit, reference) in sources {
            let Some(value) = feature.property(&[name]) else {
                continue;
            };
            let value_m = match height::reading(value, unit) {
                Reading::Missing => continue,
                Reading::Unclear(why) => return unclear(format!("has a height that {why}")),
                Reading::Metres(metres) => metres,
            };
            if let Some(why) = implausible(value_m, reference) {
                return unclear(format!("has a height that {why}"));
            }
            let top = Top {
                value_m,
                reference,
                basis: HeightBasis::Stated,
            };
            match stated {
                Some(first)
                    if first.reference == reference
                        && (first.value_m - value_m).abs() > AGREEMENT_M =>
                {
                    return unclear("has two heights that contradict one another".to_owned());
                }
                // Of two that agree the lower is the trusted one.
                Some(first) if first.reference == reference && value_m < first.value_m => {
                    stated = Some(top);
                }
                Some(_) => {}
                None => stated = Some(top),
            }
        }
        match stated {
            Some(top) => Stated::Top(top),
            None if feature.property(&["est_height"]).is_some() => {
                unclear("has an estimated height only (est_height)".to_owned())
            }
            None => Stated::Missing,
        }
    }

    /// Horizontal and vertical accuracy, or none when the feature states one that is unclear.
    pub fn accuracy(&self, feature: &Feature, cautions: &mut Cautions) -> Option<[Metres; 2]> {
        let declared = [
            (
                "horizontal_accuracy",
                "horizontal_accuracy_m",
                self.declaration.horizontal_accuracy(),
            ),
            (
                "vertical_accuracy",
                "vertical_accuracy_m",
                self.declaration.vertical_accuracy(),
            ),
        ];
        let mut both = [Metres::ZERO; 2];
        for (slot, (ours, default, layer)) in both.iter_mut().zip(declared) {
            let theirs = self
                .declaration
                .attributes
                .get(ours)
                .map_or(default, String::as_str);
            *slot = match feature.property(&[theirs]) {
                None => layer.unwrap_or(Metres::ZERO),
                Some(value) => match height::reading(value, LengthUnit::Metre) {
                    Reading::Missing => layer.unwrap_or(Metres::ZERO),
                    Reading::Metres(metres) if metres >= 0.0 => Metres::of(metres),
                    _ => {
                        cautions.feature(
                            self.file,
                            &feature.label,
                            &format!("has a {} that is unclear", ours.replace('_', " ")),
                            NOT_A_SHIELD,
                        );
                        return None;
                    }
                },
            };
        }
        let [horizontal, vertical] = both;
        Some([horizontal + feature.datum_accuracy, vertical])
    }

    /// Whether the object stays, where the feature itself or the declaration says so.
    #[must_use]
    pub fn permanence(&self, feature: &Feature) -> Option<Permanence> {
        let stated = self
            .text(feature, "permanence", &["permanence"])
            .map(|words| match words.to_lowercase().as_str() {
                "permanent" | "yes" | "true" => Permanence::Permanent,
                "temporary" | "no" | "false" => Permanence::Temporary,
                _ => Permanence::Unknown,
            });
        let temporary = (feature.flag(&["temporary"]) == Some(true)
            || feature.words(&["building"]).as_deref() == Some("construction")
            || feature.property(&["construction"]).is_some())
        .then_some(Permanence::Temporary);
        temporary
            .or(stated)
            .or_else(|| self.declaration.permanence())
    }

    /// The highest voltage in volts; lists as `110000;20000` are understood.
    pub fn voltage(&self, feature: &Feature, cautions: &mut Cautions) -> Option<f64> {
        let (text, unit) = match self.declaration.attributes.get("voltage") {
            Some(theirs) => (feature.text(&[theirs])?, self.declaration.voltage_unit),
            None => match feature.text(&["voltage_kv"]) {
                Some(text) => (text, Some(VoltageUnit::Kilovolt)),
                None => match feature.text(&["voltage_v"]) {
                    Some(text) => (text, Some(VoltageUnit::V)),
                    None => (feature.text(&["voltage"])?, self.declaration.voltage_unit),
                },
            },
        };
        let highest = text
            .split([';', ','])
            .filter_map(|part| volts(part, unit))
            .max_by(f64::total_cmp);
        if highest.is_none() {
            cautions.feature(
                self.file,
                &feature.label,
                "has a voltage that is unclear (below 1000 without a declared unit, or no number)",
                "its voltage is left out",
            );
        }
        highest
    }

    /// The sag that the feature states, or the layer.
    #[must_use]
    pub fn sag(&self, feature: &Feature) -> Option<Sag> {
        let in_metres = self
            .declaration
            .attributes
            .get("sag")
            .map_or("sag_m", String::as_str);
        if let Some(metres) = feature.number(&[in_metres]).filter(|sag| *sag >= 0.0) {
            return Some(Sag::Metres(metres));
        }
        if let Some(share) = feature
            .number(&["sag_share_of_span"])
            .filter(|s| (0.0..1.0).contains(s))
        {
            return Some(Sag::ShareOfSpan(share));
        }
        self.declaration.sag()
    }

    /// The electrical clearance that the feature states, or the layer.
    pub fn clearance(&self, feature: &Feature, cautions: &mut Cautions) -> Option<Metres> {
        let stated = self.lateral(feature, "clearance", MOST_CLEARANCE_M, cautions);
        stated.or(self.declaration.clearance())
    }

    /// How far the outermost wire is from the line as drawn, as the feature or the layer states.
    pub fn wire_offset(&self, feature: &Feature, cautions: &mut Cautions) -> Option<Metres> {
        let stated = self.lateral(feature, "wire_offset", MOST_WIRE_OFFSET_M, cautions);
        stated.or(self.declaration.wire_offset())
    }

    fn lateral(
        &self,
        feature: &Feature,
        ours: &str,
        most: f64,
        cautions: &mut Cautions,
    ) -> Option<Metres> {
        let default = format!("{ours}_m");
        let theirs = self.declaration.attributes.get(ours).unwrap_or(&default);
        match height::reading(feature.property(&[theirs])?, LengthUnit::Metre) {
            Reading::Missing => None,
            Reading::Metres(metres) if (0.0..=most).contains(&metres) => Some(Metres::of(metres)),
            _ => {
                cautions.feature(
                    self.file,
                    &feature.label,
                    &format!("has a {} that is unclear", ours.replace('_', " ")),
                    "it is left out; what the layer or the request states is taken",
                );
                None
            }
        }
    }

    /// The name that one of our attributes has in the file.
    fn column<'b>(&'b self, ours: &str, default: &'b str) -> &'b str {
        self.declaration
            .attributes
            .get(ours)
            .map_or(default, String::as_str)
    }
}

/// Accuracies that neither the layer nor some of its features state, where any has a height.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unstated {
    horizontal: bool,
    vertical: bool,
    any_height: bool,
}

impl Unstated {
    /// Notes one feature, and whether any record that came of it has a top.
    pub fn note(&mut self, attributes: &Attributes<'_>, feature: &Feature, has_top: bool) {
        let is_unstated = |ours: &str, default: &str| {
            feature
                .property(&[attributes.column(ours, default)])
                .is_none()
        };
        self.horizontal |= attributes.declaration.horizontal_accuracy_m.is_none()
            && is_unstated("horizontal_accuracy", "horizontal_accuracy_m");
        self.vertical |= attributes.declaration.vertical_accuracy_m.is_none()
            && is_unstated("vertical_accuracy", "vertical_accuracy_m");
        self.any_height |= has_top;
    }

    /// Adds what was noted of other features.
    pub fn add(&mut self, other: Self) {
        self.horizontal |= other.horizontal;
        self.vertical |= other.vertical;
        self.any_height |= other.any_height;
    }

    /// The caution about them, if any is due.
    pub fn caution(self, attributes: &Attributes<'_>, cautions: &mut Cautions) {
        if !self.any_height {
            return;
        }
        let (what, keys) = match (self.horizontal, self.vertical) {
            (true, true) => (
                "horizontal and vertical accuracy",
                "horizontal_accuracy_m and vertical_accuracy_m",
            ),
            (true, false) => ("horizontal accuracy", "horizontal_accuracy_m"),
            (false, true) => ("vertical accuracy", "vertical_accuracy_m"),
            (false, false) => return,
        };
        cautions.add(Caution::about(
            attributes.file,
            format!("does not state its {what}"),
            format!("nothing is taken off for it; declare {keys} in layers.toml"),
        ));
    }
}

fn implausible(value_m: f64, reference: VerticalReference) -> Option<&'static str> {
    match reference {
        VerticalReference::AboveGround if value_m <= 0.0 => Some("is not above 0"),
        VerticalReference::AboveGround if value_m > TALLEST_STRUCTURE_M => {
            Some("is more than 1000 m, taller than any structure")
        }
        VerticalReference::MeanSeaLevel if !ALTITUDES_M.contains(&value_m) => {
            Some("is no altitude of a top on Earth")
        }
        _ => None,
    }
}

fn volts(part: &str, unit: Option<VoltageUnit>) -> Option<f64> {
    let part = part.trim().to_lowercase();
    let (number, scale) = if let Some(number) = part.strip_suffix("kv") {
        (number, 1000.0)
    } else if let Some(number) = part.strip_suffix('v') {
        (number, 1.0)
    } else {
        match unit {
            Some(VoltageUnit::Kilovolt) => (part.as_str(), 1000.0),
            Some(VoltageUnit::V) => (part.as_str(), 1.0),
            None => {
                let number: f64 = part.parse().ok()?;
                return (LEAST_CLEAR_VOLTAGE_V..=HIGHEST_VOLTAGE_V)
                    .contains(&number)
                    .then_some(number);
            }
        }
    };
    let number: f64 = number.trim().parse().ok()?;
    let volts = number * scale;
    (volts > 0.0 && volts <= HIGHEST_VOLTAGE_V).then_some(volts)
}
