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

/// One printed line of a budget, in tenths of a metre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrintedLine {
    /// What it is.
    pub label: String,
    /// What it does to the sum.
    pub step: BudgetStep,
    /// The printed amount in tenths of a metre.
    pub tenths: i64,
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
        let tenths = match line.step {
            BudgetStep::Less => tenths_of(value.m_up(1)),
            BudgetStep::From | BudgetStep::Plus | BudgetStep::Gives => tenths_of(value.m_down(1)),
        };
        sum = Some(match (line.step, sum) {
            (BudgetStep::From, _) | (_, None) => tenths,
            (BudgetStep::Less, Some(sum)) => tenths.saturating_neg().saturating_add(sum),
            (BudgetStep::Plus, Some(sum)) => tenths.saturating_add(sum),
            (BudgetStep::Gives, Some(sum)) => {
                if tenths != sum {
                    shown.push(rounding(tenths.saturating_sub(sum)));
                }
                tenths
            }
        });
        shown.push(PrintedLine {
            label: line.label.clone(),
            step: line.step,
            tenths,
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
        tenths: difference.saturating_abs(),
        note: String::new(),
    }
}

/// A number of metres that is whole in tenths, as tenths; a number too large for it is clamped.
fn tenths_of(metres: f64) -> i64 {
    (metres * 10.0).round() as i64
}

/// Writes a budget under its heading.
pub fn write(page: &mut Page, heading: &str, lines: &[BudgetLine]) {
    page.line(2, heading);
    for line in printed(lines) {
        let sign = match line.step {
            BudgetStep::From => ' ',
            BudgetStep::Less => MINUS,
            BudgetStep::Plus => '+',
            BudgetStep::Gives => '=',
        };
        let label = harmless(&line.label).replace(' ', &NO_BREAK.to_string());
        let amount = grouped(line.tenths as f64 / 10.0, 1);
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
