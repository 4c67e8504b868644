//! The rim of a reach: lines beside the edges of a convex set, and arcs about its corners.

use std::f64::consts::{PI, TAU};

use smallvec::SmallVec;

use super::ways::{Arc, Line, NEAR_M};
use crate::field::convex::along;
use crate::field::shield::Piece;
use crate::frame::Xy;

/// A piece with what is asked of it again and again.
pub struct Rim<'a> {
    /// Which of the rims it is; the earlier counts where two run along one another.
    pub number: usize,
    pub piece: &'a Piece,
    middle: Xy,
    /// No point of the shape is farther from its middle.
    spread: f64,
    /// For each corner its edge to the next, if it has a length.
    pub edges: SmallVec<[Option<Edge>; 4]>,
}

/// An edge of a convex set, the set on its left.
#[derive(Clone, Copy)]
pub struct Edge {
    from: Xy,
    to: Xy,
    length: f64,
    /// The line beside it at the reach.
    pub beside: Line,
}

/// A part of the rim of a reach.
pub enum Part<'a> {
    Line(Line),
    Arc(Arc<'a>),
}

impl<'a> Rim<'a> {
    pub fn of(number: usize, piece: &'a Piece) -> Self {
        let (middle, spread) = piece.shape.circle();
        let corners = piece.shape.corners();
        let count = corners.len();
        let edge = |number: usize| {
            let from = corners.get(number).copied()?;
            let to = corners.get((number + 1) % count).copied()?;
            let length = from.distance(to);
            (length > 0.0).then(|| {
                let out = piece.reach / length;
                let (x, y) = ((to.y - from.y) * out, (from.x - to.x) * out);
                let beside = Line {
                    from: Xy::new(from.x + x, from.y + y),
                    to: Xy::new(to.x + x, to.y + y),
                };
                Edge {
                    from,
                    to,
                    length,
                    beside,
                }
            })
        };
        Self {
            number,
            piece,
            middle,
            spread,
            edges: (0..count).map(edge).collect(),
        }
    }

    pub const fn reach(&self) -> f64 {
        self.piece.reach
    }

    #[inline]
    pub fn holds(&self, point: Xy) -> bool {
        self.piece.shape.is_within(point, self.piece.reach)
    }

    /// Whether its reach may come to that of another; by the circles about both.
    #[inline]
    pub fn may_meet(&self, other: &Self) -> bool {
        let out = self.spread + self.reach() + other.spread + other.reach();
        self.middle.distance(other.middle) <= out + 2.0 * NEAR_M
    }

    /// Whether it holds all of a disc, or none of it; none if neither is certain.
    #[inline]
    pub fn holds_disc(&self, middle: Xy, radius: f64) -> Option<bool> {
        let reach = self.reach();
        let is_all = |distance: f64| distance + radius + NEAR_M <= reach;
        let is_none = |distance: f64| distance - radius - NEAR_M > reach;
        let from_middle = self.middle.distance(middle);
        if is_none(from_middle - self.spread) {
            return Some(false);
        }
        if is_all(from_middle) {
            return Some(true);
        }
        let distance = self.piece.shape.distance(middle);
        match (is_all(distance), is_none(distance)) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        }
    }

    /// The edges with a length that meet at a corner: the one before and its own.
    #[inline]
    pub fn about(&self, number: usize) -> [Option<&Edge>; 2] {
        let count = self.edges.len();
        let before = (1..=count)
            .filter_map(|back| self.edges.get((number + count - back) % count)?.as_ref())
            .next();
        let own = (0..count)
            .filter_map(|on| self.edges.get((number + on) % count)?.as_ref())
            .next();
        [before, own]
    }

    /// The arc about a corner; none where the corner is the next one again.
    fn arc(&self, number: usize) -> Option<Arc<'_>> {
        let centre = self.piece.shape.corners().get(number).copied()?;
        let radius = self.piece.reach;
        let [Some(before), Some(after)] = self.about(number) else {
            // A single point.
            return (number == 0).then_some(Arc {
                of: (self, number),
                centre,
                radius,
                start: 0.0,
                sweep: TAU,
            });
        };
        self.edges.get(number)?.as_ref()?;
        let out = |edge: &Edge| (edge.from.x - edge.to.x).atan2(edge.to.y - edge.from.y);
        let start = out(before);
        let sweep = (out(after) - start).rem_euclid(TAU);
        // A convex set turns by no more than half a turn; what is more is nothing, rounded down.
        (sweep < PI + 1e-6).then_some(Arc {
            of: (self, number),
            centre,
            radius,
            start,
            sweep,
        })
    }

    pub fn parts(&self) -> impl Iterator<Item = Part<'_>> + '_ {
        let lines = self.edges.iter().flatten();
        let arcs = (0..self.edges.len()).filter_map(|number| self.arc(number));
        lines
            .map(|edge| Part::Line(edge.beside))
            .chain(arcs.map(Part::Arc))
    }

    /// Whether a point about a corner, at the reach from it, lies on the arc about it, or nearly so.
    #[inline]
    pub fn is_on_arc(&self, number: usize, centre: Xy, point: Xy, near_m: f64) -> bool {
        let is_behind = |edge: Option<&Edge>, other: fn(&Edge) -> Xy| {
            edge.is_none_or(|edge| along(centre, other(edge), point) <= near_m * edge.length)
        };
        let [before, after] = self.about(number);
        is_behind(before, |edge| edge.from) && is_behind(after, |edge| edge.to)
    }
}
