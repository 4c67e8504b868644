//! How far points and convex sets lie from an area, by the area's sides alone.
//!
//! Not here: how the sides are laid out.

use smallvec::SmallVec;

use crate::field::convex::{Convex, is_east_of, nearest_on_segment};
use crate::frame::Xy;

/// Covers the rounding of a bound, metres; sides that it lets through are measured exactly.
const SLACK_M: f64 = 1e-9;

/// Whether a point is within some sides, and how far it lies from the nearest, metres. Where that is no
/// more than rounding it may be taken for either.
pub fn place_within(sides: impl Iterator<Item = [Xy; 2]>, point: Xy) -> (bool, f64) {
    let (mut is_inside, mut least) = (false, f64::INFINITY);
    for [from, to] in sides {
        let near = nearest_on_segment(from, to, point);
        let (x, y) = (near.x - point.x, near.y - point.y);
        least = least.min(x * x + y * y);
        // Holes and parts of the area alike change the side.
        is_inside ^= is_east_of(from, to, point);
    }
    (is_inside, least.sqrt())
}

/// Least distance of a convex set from the area within some sides, metres; 0 when they touch.
///
/// A set of which the middle is not in the area touches it where it touches a side. No point of it is
/// nearer to a side than its middle by more than it spreads, so most sides need no closer look.
pub fn apart(sides: impl Iterator<Item = [Xy; 2]> + Clone, set: &Convex) -> f64 {
    let (middle, spread) = set.circle();
    let mut ways: SmallVec<[f64; 64]> = SmallVec::new();
    let mut is_inside = false;
    let mut nearest: Option<(f64, [Xy; 2])> = None;
    for side in sides.clone() {
        let [from, to] = side;
        let way = nearest_on_segment(from, to, middle).distance(middle);
        ways.push(way);
        if nearest.is_none_or(|(least, _)| way < least) {
            nearest = Some((way, side));
        }
        is_inside ^= is_east_of(from, to, middle);
    }
    let Some((_, [from, to])) = nearest else {
        return f64::INFINITY;
    };
    if is_inside {
        return 0.0;
    }
    let mut least = set.distance_to_segment(from, to);
    for ([from, to], way) in sides.zip(ways) {
        if least <= 0.0 {
            break;
        }
        if way - spread - SLACK_M < least {
            least = least.min(set.distance_to_segment(from, to));
        }
    }
    least
}
