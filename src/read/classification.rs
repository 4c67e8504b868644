//! What decides the obstacle limitation surfaces of a runway: code number and letter, kind of
//! approach, clearway.
//!
//! What is missing or unclear stays unknown, and the strictest is taken for it later. Not here: the
//! surfaces (see [`crate::surfaces`]).

use super::aerodromes::length;
use super::declaration::Declaration;
use super::feature::Feature;
use crate::aerodrome::{ApproachType, EndClassification, RunwayClassification};
use crate::error::Cautions;

/// The effect of an attribute that is unclear.
const UNKNOWN: &str = "it is taken as not given: surfaces are bracketed by the strictest";

/// The attributes of one runway feature.
pub struct Attributes<'a> {
    pub feature: &'a Feature<'a>,
    pub declaration: &'a Declaration,
    pub file: &'a str,
}

impl Attributes<'_> {
    /// Kind of approach and clearway of the end `le` or `he`.
    pub fn end(&self, side: &str, cautions: &mut Cautions) -> EndClassification {
        let ours = format!("{side}_approach");
        let approach = self.text(&ours).and_then(|stated| {
            let word = stated.trim().to_lowercase().replace(['-', ' '], "_");
            let known = ApproachType::ALL
                .into_iter()
                .find(|approach| approach.word() == word);
            if known.is_none() {
                self.unclear("a kind of approach that is unclear", cautions);
            }
            known
        });
        EndClassification {
            approach,
            clearway: length(self.feature, self.declaration, &format!("{side}_clearway"))
                .filter(|length| length.m() >= 0.0),
        }
    }

    /// Code number and letter, utility runway, hard surface.
    pub fn runway(&self, cautions: &mut Cautions) -> RunwayClassification {
        let code_number = self.text("code_number").and_then(|stated| {
            let number = stated.trim().parse::<f64>().ok();
            let known = [1_u8, 2, 3, 4]
                .into_iter()
                .find(|code| number == Some(f64::from(*code)));
            if known.is_none() {
                self.unclear("a code number that is not 1, 2, 3 or 4", cautions);
            }
            known
        });
        let code_letter = self.text("code_letter").and_then(|stated| {
            let letter = stated.trim().to_uppercase();
            let known = ('A'..='F').find(|known| letter == known.to_string());
            if known.is_none() {
                self.unclear("a code letter that is not A to F", cautions);
            }
            known
        });
        RunwayClassification {
            code_number,
            code_letter,
            is_utility: self.feature.flag(&[self.column("utility")]),
            is_paved: self.feature.flag(&[self.column("paved")]),
        }
    }

    /// The file's name for one of our attributes.
    fn column<'b>(&'b self, ours: &'b str) -> &'b str {
        self.declaration
            .attributes
            .get(ours)
            .map_or(ours, String::as_str)
    }

    fn text(&self, ours: &str) -> Option<String> {
        self.feature.text(&[self.column(ours)])
    }

    fn unclear(&self, defect: &str, cautions: &mut Cautions) {
        let defect = format!("has {defect}");
        cautions.feature(self.file, &self.feature.label, &defect, UNKNOWN);
    }
}
