//! Eight bytes of text at a time: how many are digits, or plain text, and what number they make.
//!
//! Not here: what the text means.

const ONES: u64 = u64::MAX / 255;
const HIGHS: u64 = ONES << 7;

/// How many of eight bytes come before the first that is a quote, a backslash or a control character.
///
/// A byte below n has its high bit set in x − n·(01…01) and not in x (Warren, Hacker's Delight,
/// section 6-1, from memory); a borrow can only mark bytes above one that is marked rightly.
#[inline]
#[must_use]
pub const fn plain(eight: u64) -> usize {
    let quote = eight ^ (ONES * b'"' as u64);
    let backslash = eight ^ (ONES * b'\\' as u64);
    let low = eight.wrapping_sub(ONES * 0x20) & !eight;
    let is_quote = quote.wrapping_sub(ONES) & !quote;
    let is_backslash = backslash.wrapping_sub(ONES) & !backslash;
    let marked = (low | is_quote | is_backslash) & HIGHS;
    (marked.trailing_zeros() / 8) as usize
}

/// How many of eight bytes come before the first that is no digit.
///
/// The high half of a digit is 3, and still is with 6 added to it; a carry can only reach bytes above
/// one that is no digit.
#[inline]
#[must_use]
pub const fn digits(eight: u64) -> usize {
    const HALVES: u64 = ONES * 0xF0;
    const THREES: u64 = ONES * 0x30;
    let below = (eight & HALVES) ^ THREES;
    let above = (eight.wrapping_add(ONES * 6) & HALVES) ^ THREES;
    ((below | above).trailing_zeros() / 8) as usize
}

/// The number that the first `count` of eight bytes make, which are digits; `count` is 1 to 8.
///
/// Neighbours are joined three times: digits to pairs, pairs to fours, fours to eight.
#[inline]
#[must_use]
pub const fn number(eight: u64, count: usize) -> u64 {
    // The last digit goes to the highest byte, and noughts before the first.
    let digits = (eight << (64 - 8 * count)) & (ONES * 0x0F);
    let pairs = (digits.wrapping_mul(10 * 256 + 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 * 65_536 + 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    fours.wrapping_mul((10_000 << 32) + 1) >> 32
}
