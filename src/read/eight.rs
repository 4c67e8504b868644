//! Text eight bytes at a time: how much of it is plain, and the plain numbers in it.
//!
//! Not here: what the text means, and numbers that are not plain (see [`crate::read::scan`]).

/// Powers of ten that are exact in a double.
pub const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// The first of them as whole numbers.
const WHOLE_POWERS: [u64; 9] = [
    1,
    10,
    100,
    1_000,
    10_000,
    100_000,
    1_000_000,
    10_000_000,
    100_000_000,
];

const ONES: u64 = u64::MAX / 255;
const HIGHS: u64 = ONES << 7;

/// How many of eight bytes come before the first that is a quote, a backslash or a control character.
///
/// A byte below n has its high bit set in x − n·(01…01) and not in x (Warren, Hacker's Delight,
/// section 6-1, from memory); a borrow can only mark bytes above one that is marked rightly.
#[inline]
const fn plain(eight: u64) -> usize {
    let quote = eight ^ (ONES * b'"' as u64);
    let backslash = eight ^ (ONES * b'\\' as u64);
    let low = eight.wrapping_sub(ONES * 0x20) & !eight;
    let is_quote = quote.wrapping_sub(ONES) & !quote;
    let is_backslash = backslash.wrapping_sub(ONES) & !backslash;
    let marked = (low | is_quote | is_backslash) & HIGHS;
    (marked.trailing_zeros() / 8) as usize
}

/// How many bytes of a text come before the first that is a quote, a backslash or a control character,
/// as far as eight at a time tell.
#[inline]
#[must_use]
pub fn plain_length(text: &[u8]) -> usize {
    let mut length = 0;
    while let Some(eight) = text.get(length..).and_then(|rest| rest.first_chunk::<8>()) {
        let count = plain(u64::from_le_bytes(*eight));
        length += count;
        if count < 8 {
            break;
        }
    }
    length
}

/// How many of eight bytes come before the first that is no digit.
///
/// The high half of a digit is 3, and still is with 6 added to it; a carry can only reach bytes above
/// one that is no digit.
#[inline]
const fn digits(eight: u64) -> usize {
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
const fn number(eight: u64, count: usize) -> u64 {
    // The last digit goes to the highest byte, and noughts before the first.
    let digits = (eight << (64 - 8 * count)) & (ONES * 0x0F);
    let pairs = (digits.wrapping_mul(10 * 256 + 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 * 65_536 + 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    fours.wrapping_mul((10_000 << 32) + 1) >> 32
}

/// Two plain numbers in brackets at a place of a text, and where they end.
#[inline(always)]
#[must_use]
pub fn pair(text: &[u8], at: usize) -> Option<([f64; 2], usize)> {
    let is = |byte: u8, at: usize| (text.get(at) == Some(&byte)).then_some(at + 1);
    let (x, at) = plain_number(text, is(b'[', at)?)?;
    let (y, at) = plain_number(text, is(b',', at)?)?;
    Some(([x, y], is(b']', at)?))
}

/// A number at a place of a text, and where it ends: up to seven digits, and up to eight more behind a
/// point, so that it is exact. None where it is longer, or something else.
#[inline(always)]
fn plain_number(text: &[u8], at: usize) -> Option<(f64, usize)> {
    let eight_at = |at: usize| Some(u64::from_le_bytes(*text.get(at..)?.first_chunk()?));
    let is_negative = text.get(at) == Some(&b'-');
    let mut at = at + usize::from(is_negative);
    let eight = eight_at(at)?;
    let count = digits(eight);
    let starts_with_zero = eight & 0xFF == u64::from(b'0');
    if count == 0 || count == 8 || (starts_with_zero && count > 1) {
        return None;
    }
    let mut magnitude = number(eight, count);
    let mut power = 1.0;
    at += count;
    if (eight >> (8 * count)) & 0xFF == u64::from(b'.') {
        at += 1;
        let eight = eight_at(at)?;
        let count = digits(eight);
        if count == 0 {
            return None;
        }
        power = *POWERS.get(count)?;
        magnitude = magnitude * WHOLE_POWERS.get(count)? + number(eight, count);
        at += count;
    }
    // Both are exact, so their quotient is rounded once (Clinger 1990).
    #[expect(clippy::cast_precision_loss, reason = "15 digits are exact")]
    let magnitude = magnitude as f64 / power;
    Some((if is_negative { -magnitude } else { magnitude }, at))
}
