//! Digits of a number in groups of three, for whoever prints one.
//!
//! Not here: rounding to the safe side (see [`crate::units`]) and units of measure.

/// The space inside a quantity, where no line may break.
pub const NO_BREAK: char = '\u{a0}';

/// The minus sign.
pub const MINUS: char = '\u{2212}';

/// A number with its thousands apart: `1 152`, `−53`, `39.5`.
#[must_use]
pub fn grouped(value: f64, decimals: usize) -> String {
    let digits = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits.as_str(), None),
    };
    let mut text = String::new();
    if value < 0.0 && digits.bytes().any(|digit| (b'1'..=b'9').contains(&digit)) {
        text.push(MINUS);
    }
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            text.push(NO_BREAK);
        }
        text.push(digit);
    }
    if let Some(fraction) = fraction {
        text.push('.');
        text.push_str(fraction);
    }
    text
}
