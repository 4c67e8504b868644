//! The height budget, line by line, so that the printed numbers add up to the last digit.
//!
//! Each amount is rounded to the safe side by itself: what is started from, added or left, down;
//! what is taken off, up. Where that leaves a difference to a printed sum, a line of its own
//! shows it.

use crate::answer::{BudgetLine, BudgetStep};
use crate::units::Metres;

use super::number::{MINUS, NO_BREAK, grouped};
use super::text::{Page, harmless};

/// Columns of the label, and where the note begins.
const LABEL: usize = 30;
const NOTE: usize = 48;

/// The label of the line that makes up for rounding.
const ROUNDING: &str = "rounding";

/// One printed line of a budget, in hundredths of a metre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrintedLine {
    /// What it is.
    pub label: String,
    /// What it does to the sum.
    pub step: BudgetStep,
    /// The printed amount in hundredths of a metre.
    pub hundredths: i64,
    /// Where the amount comes from.
    pub note: String,
}

/// The lines as printed: their amounts add up exactly.
#[must_use]
pub fn printed(lines: &[BudgetLine]) -> Vec<PrintedLine> {
    let mut shown: Vec<PrintedLine> = Vec::with_capacity(lines.len() + 1);
    let mut sum = None;
    for line in lines {
        let value = Metres::of(line.value_m);
        let hundredths = match line.step {
            BudgetStep::Less => hundredths_of(value.m_up(2)),
            BudgetStep::From | BudgetStep::Plus | BudgetStep::Gives => {
                hundredths_of(value.m_down(2))
            }
        };
        sum = Some(match (line.step, sum) {
            (BudgetStep::From, _) | (_, None) => hundredths,
            (BudgetStep::Less, Some(sum)) => hundredths.saturating_neg().saturating_add(sum),
            (BudgetStep::Plus, Some(sum)) => hundredths.saturating_add(sum),
            (BudgetStep::Gives, Some(sum)) => {
                if hundredths != sum {
                    shown.push(rounding(hundredths.saturating_sub(sum)));
                }
                hundredths
            }
        });
        shown.push(PrintedLine {
            label: line.label.clone(),
            step: line.step,
            hundredths,
            note: line.note.clone(),
        });
    }
    shown
}

fn rounding(difference: i64) -> PrintedLine {
    PrintedLine {
        label: ROUNDING.into(),
        step: if difference < 0 {
            BudgetStep::Less
        } else {
            BudgetStep::Plus
        },
        hundredths: difference.saturating_abs(),
        note: String::new(),
    }
}

/// A number of metres that is whole in hundredths, as hundredths; a number too large for it is clamped.
fn hundredths_of(metres: f64) -> i64 {
    (metres * 100.0).round() as i64
}

/// The sign in front of a line; a blank where the sum starts.
#[must_use]
pub const fn sign(step: BudgetStep) -> char {
    match step {
        BudgetStep::From => ' ',
        BudgetStep::Less => MINUS,
        BudgetStep::Plus => '+',
        BudgetStep::Gives => '=',
    }
}

/// Writes a budget under its heading.
pub fn write(page: &mut Page, heading: &str, lines: &[BudgetLine]) {
    page.line(2, heading);
    for line in printed(lines) {
        let sign = sign(line.step);
        let label = harmless(&line.label).replace(' ', &NO_BREAK.to_string());
        let amount = grouped(line.hundredths as f64 / 100.0, 2);
        let padded = if label.chars().count() > LABEL {
            page.line(4, &format!("{sign}{NO_BREAK}{}", harmless(&line.label)));
            format!("{0:>1$}", "", LABEL + 2)
        } else {
            format!("{sign}{NO_BREAK}{label:LABEL$}")
        };
        let start = format!("{padded}{amount:>9}{NO_BREAK}m").replace(' ', &NO_BREAK.to_string());
        page.labelled(4, &start, NOTE, &harmless(&line.note));
    }
}
