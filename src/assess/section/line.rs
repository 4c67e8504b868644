//! A cut laid out in the plane about the site: positions along it, and what is nearest to it.
//!
//! Its legs are geodesics; in the plane they are laid out in pieces so short that each is straight
//! there within [`crate::plan::LAYOUT_ERROR_M`].

use crate::field::convex::{Convex, nearest_on_segment};
use crate::frame::{GeodesicLine, LocalFrame, LonLat, Xy, destination, geodesic};
use crate::units::Metres;

/// No piece is longer, metres: a geodesic that passes the origin of the plane at 30 km is straight
/// there to 0.06 mm over this length (it bends by about L² r ⁄ 12 R²).
const LONGEST_PIECE_M: f64 = 1_000.0;

/// A cut shorter than this shows nothing, metres.
pub const SHORTEST_CUT_M: f64 = 1.0;

/// A cut through some places.
pub struct Cut {
    frame: LocalFrame,
    legs: Vec<Leg>,
    pieces: Vec<Piece>,
}

/// One leg.
#[derive(Clone, Copy)]
pub struct Leg {
    /// Where it begins, metres from the first end.
    pub at: f64,
    /// Where it begins.
    pub from: LonLat,
    /// Its geodesic.
    pub line: GeodesicLine,
}

/// A straight piece in the plane.
#[derive(Clone, Copy)]
pub struct Piece {
    /// Where it begins, metres from the first end.
    pub at: f64,
    /// Its length along the cut.
    pub length: f64,
    /// Its ends.
    pub from: Xy,
    /// See `from`.
    pub to: Xy,
}

impl Piece {
    /// Position along the cut of a share of the piece.
    fn position(&self, share: f64) -> f64 {
        self.at + share.clamp(0.0, 1.0) * self.length
    }
}

/// A place seen from the cut.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// Where along the cut it is nearest, metres from the first end.
    pub at: f64,
    /// How far to the right it lies, negative to the left, metres.
    pub offset: f64,
    /// Whether it is nearest to an end of the cut and lies beyond it.
    pub is_beyond: bool,
}

impl Cut {
    /// The cut through these places in order; none when it is shorter than [`SHORTEST_CUT_M`].
    pub fn through(frame: LocalFrame, places: &[LonLat]) -> Option<Self> {
        let (mut legs, mut pieces) = (Vec::new(), Vec::new());
        let mut at = 0.0;
        for pair in places.windows(2) {
            let &[from, to] = pair else { continue };
            let line = geodesic(from, to);
            let length = line.distance.m();
            if length.is_nan() || length <= 0.0 {
                continue;
            }
            let parts = (length / LONGEST_PIECE_M).ceil().max(1.0) as usize;
            let point = |k: usize| {
                let along = length * k as f64 / parts as f64;
                frame.to_plane(destination(from, line.bearing_from, Metres::of(along)))
            };
            let mut last = point(0);
            for k in 1..=parts {
                let next = point(k);
                let step = length / parts as f64;
                pieces.push(Piece {
                    at: at + step * (k - 1) as f64,
                    length: step,
                    from: last,
                    to: next,
                });
                last = next;
            }
            legs.push(Leg { at, from, line });
            at += length;
        }
        (at >= SHORTEST_CUT_M).then_some(Self {
            frame,
            legs,
            pieces,
        })
    }

    /// Its length, metres.
    pub fn length(&self) -> f64 {
        self.legs
            .last()
            .map_or(0.0, |leg| leg.at + leg.line.distance.m())
    }

    /// Its legs in order.
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// Its pieces in order.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The place at a distance from the first end.
    pub fn place(&self, at: f64) -> LonLat {
        let leg = self
            .legs
            .iter()
            .rev()
            .find(|leg| leg.at <= at)
            .or(self.legs.first());
        leg.map_or(self.frame.origin(), |leg| {
            destination(leg.from, leg.line.bearing_from, Metres::of(at - leg.at))
        })
    }

    /// The point of the plane at a distance from the first end.
    pub fn point(&self, at: f64) -> Xy {
        self.frame.to_plane(self.place(at))
    }

    /// The farthest that it goes from the origin of the plane, metres.
    pub fn farthest(&self) -> f64 {
        self.pieces
            .iter()
            .flat_map(|piece| [piece.from, piece.to])
            .map(|point| point.x.hypot(point.y))
            .fold(0.0, f64::max)
    }

    /// A point of the plane seen from the cut.
    pub fn see(&self, point: Xy) -> Seen {
        let mut best: Option<(f64, Seen)> = None;
        for piece in &self.pieces {
            let foot = nearest_on_segment(piece.from, piece.to, point);
            let away = foot.distance(point);
            if best.is_some_and(|(least, _)| away >= least) {
                continue;
            }
            let whole = piece.from.distance(piece.to);
            let share = if whole > 0.0 {
                piece.from.distance(foot) / whole
            } else {
                0.0
            };
            let at = piece.position(share);
            let is_at_end = at <= 0.0 || at >= self.length();
            best = Some((
                away,
                Seen {
                    at,
                    offset: -side(piece, point).signum() * away,
                    is_beyond: is_at_end && self.is_beyond(point),
                },
            ));
        }
        best.map_or(
            Seen {
                at: 0.0,
                offset: 0.0,
                is_beyond: true,
            },
            |(_, seen)| seen,
        )
    }

    /// Whether a point lies behind the first end or beyond the last one.
    fn is_beyond(&self, point: Xy) -> bool {
        let behind = |end: Xy, inwards: Xy| {
            (point.x - end.x) * (inwards.x - end.x) + (point.y - end.y) * (inwards.y - end.y) < 0.0
        };
        let starts = self
            .pieces
            .first()
            .is_some_and(|piece| behind(piece.from, piece.to));
        let ends = self
            .pieces
            .last()
            .is_some_and(|piece| behind(piece.to, piece.from));
        starts || ends
    }

    /// The point of a convex set that is nearest to the cut, with its distance.
    pub fn nearest_of(&self, set: &Convex) -> Option<(f64, Xy)> {
        let mut best: Option<(f64, Xy)> = None;
        for piece in &self.pieces {
            // Two convex sets that are apart are nearest at a corner of one of them.
            let from_set = set
                .corners()
                .iter()
                .map(|corner| (nearest_on_segment(piece.from, piece.to, *corner), *corner));
            let from_cut = [piece.from, piece.to].map(|end| (end, set.nearest(end)));
            for (on_cut, on_set) in from_set.chain(from_cut) {
                let away = on_cut.distance(on_set);
                if best.is_none_or(|(least, _)| away < least) {
                    best = Some((away, on_set));
                }
            }
        }
        best
    }

    /// Where the cut crosses a segment: position along the cut, and share of the segment.
    pub fn crossings(&self, from: Xy, to: Xy) -> Vec<(f64, f64)> {
        self.pieces
            .iter()
            .filter_map(|piece| {
                let (share, of_segment) = crossing((piece.from, piece.to), (from, to))?;
                Some((piece.position(share), of_segment))
            })
            .collect()
    }

    /// Where the cut runs in a convex set with these corners: from, to; none where it does not.
    pub fn inside(&self, set: &Convex) -> Option<(f64, f64)> {
        let corners = set.corners();
        let mut hits = Vec::new();
        for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            hits.extend(self.crossings(*from, *to).into_iter().map(|hit| hit.0));
        }
        for (at, end) in [
            (0.0, self.pieces.first().map(|piece| piece.from)),
            (self.length(), self.pieces.last().map(|piece| piece.to)),
        ] {
            if end.is_some_and(|end| set.distance(end) == 0.0) {
                hits.push(at);
            }
        }
        let from = hits.iter().copied().reduce(f64::min)?;
        let to = hits.iter().copied().reduce(f64::max)?;
        Some((from, to))
    }

    /// The angle between the cut where a point is nearest and a direction, 0 to 90 degrees.
    pub fn angle_to(&self, point: Xy, (dx, dy): (f64, f64)) -> f64 {
        let at = self.see(point).at;
        let piece = self.pieces.iter().rev().find(|piece| piece.at <= at);
        let Some(piece) = piece.or(self.pieces.first()) else {
            return 90.0;
        };
        let (cx, cy) = (piece.to.x - piece.from.x, piece.to.y - piece.from.y);
        let (cross, dot) = (cx * dy - cy * dx, cx * dx + cy * dy);
        cross.abs().atan2(dot.abs()).to_degrees()
    }
}

/// Twice the area of the triangle of a piece and a point: positive to its left.
fn side(piece: &Piece, point: Xy) -> f64 {
    (piece.to.x - piece.from.x) * (point.y - piece.from.y)
        - (piece.to.y - piece.from.y) * (point.x - piece.from.x)
}

/// Where two segments cross, as shares of both; none where they are parallel or apart.
pub fn crossing((a, b): (Xy, Xy), (c, d): (Xy, Xy)) -> Option<(f64, f64)> {
    let (rx, ry) = (b.x - a.x, b.y - a.y);
    let (sx, sy) = (d.x - c.x, d.y - c.y);
    let turn = rx * sy - ry * sx;
    let (qx, qy) = (c.x - a.x, c.y - a.y);
    let (of_first, of_second) = ((qx * sy - qy * sx) / turn, (qx * ry - qy * rx) / turn);
    // NaN and infinities of parallel segments fail.
    let is_share = |share: f64| (-TOUCH..=1.0 + TOUCH).contains(&share);
    (is_share(of_first) && is_share(of_second))
        .then(|| (of_first.clamp(0.0, 1.0), of_second.clamp(0.0, 1.0)))
}

/// Rounding of a share, so that a segment that ends on another is not missed.
const TOUCH: f64 = 1e-12;
