//! The height budget: how a certified ceiling comes about, line by line, in whole centimetres.
//!
//! What the sum starts from is rounded down and what is taken off is rounded up, so the printed
//! lines add up to the last digit and the sum is never above the certified bound. Where only the sum
//! is asked for, no line is written.

use crate::answer::{BudgetLine, BudgetStep};

/// A budget being summed.
#[derive(Clone, Debug)]
pub struct Budget {
    /// None where only the sum is asked for.
    lines: Option<Vec<BudgetLine>>,
    centimetres: i64,
}

/// Keeps a value that is a whole centimetre but for floating-point noise from moving a whole step.
const NOISE_CM: f64 = 1e-7;

fn centimetres_down(metres: f64) -> i64 {
    (metres * 100.0 + NOISE_CM).floor() as i64
}

fn centimetres_up(metres: f64) -> i64 {
    centimetres_down(-metres).saturating_neg()
}

impl Budget {
    /// One that keeps its lines.
    pub const fn in_words() -> Self {
        Self {
            lines: Some(Vec::new()),
            centimetres: 0,
        }
    }

    /// One that only sums.
    pub const fn in_numbers() -> Self {
        Self {
            lines: None,
            centimetres: 0,
        }
    }

    /// Starts the sum.
    pub fn from(&mut self, label: &str, metres: f64, note: impl FnOnce() -> String) {
        self.centimetres = centimetres_down(metres);
        self.line(label, BudgetStep::From, self.centimetres, note);
    }

    /// Takes an amount off; a line of 0 is kept, for the reader asks whether it was thought of. A
    /// negative amount is added, as the rule has it.
    pub fn less(&mut self, label: &str, metres: f64, note: impl FnOnce() -> String) {
        if metres < 0.0 {
            let amount = centimetres_down(-metres);
            self.centimetres = self.centimetres.saturating_add(amount);
            self.line(label, BudgetStep::Plus, amount, note);
        } else {
            let amount = centimetres_up(metres);
            self.centimetres = self.centimetres.saturating_sub(amount);
            self.line(label, BudgetStep::Less, amount, note);
        }
    }

    /// States the sum so far.
    pub fn gives(&mut self, label: &str, note: impl FnOnce() -> String) {
        self.line(label, BudgetStep::Gives, self.centimetres, note);
    }

    /// Ends with the ceiling, brought down to the certified bound if the sum is above it.
    pub fn close(mut self, label: &str, certified: f64) -> (f64, Vec<BudgetLine>) {
        let certified = centimetres_down(certified);
        if self.centimetres > certified {
            let amount = self.centimetres.saturating_sub(certified);
            self.centimetres = certified;
            self.line("not certified closer", BudgetStep::Less, amount, || {
                "what the search leaves open".to_owned()
            });
        }
        self.gives(label, String::new);
        (
            self.centimetres as f64 / 100.0,
            self.lines.unwrap_or_default(),
        )
    }

    /// The lines so far, without an end.
    pub fn into_lines(self) -> Vec<BudgetLine> {
        self.lines.unwrap_or_default()
    }

    fn line(
        &mut self,
        label: &str,
        step: BudgetStep,
        centimetres: i64,
        note: impl FnOnce() -> String,
    ) {
        if let Some(lines) = &mut self.lines {
            lines.push(BudgetLine {
                label: label.to_owned(),
                step,
                value_m: centimetres as f64 / 100.0,
                note: note(),
            });
        }
    }
}
