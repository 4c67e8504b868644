//! Ways along a border: straight lines and arcs, and where they cross others.

use std::f64::consts::{PI, TAU};

use smallvec::SmallVec;

use super::rim::Rim;
use crate::frame::Xy;

/// Widens where a crossing is looked for beyond rounding, metres.
pub const NEAR_M: f64 = 1e-9;

/// The same as a share.
const NEAR_SHARE: f64 = 1e-9;

/// Where something is cut, as shares of its length.
pub type Cuts = SmallVec<[f64; 16]>;

/// A part of a border, from share 0 to share 1 of its length.
pub trait Border {
    fn at(&self, share: f64) -> Xy;

    fn length(&self) -> f64;

    /// The area that the way between two shares sweeps about the origin, to the left.
    fn swept(&self, first: f64, last: f64) -> f64;

    /// A disc that holds the way between two shares.
    fn circle(&self, first: f64, last: f64) -> (Xy, f64);

    /// Whether all of that way lies in a reach; if unsure, false.
    fn lies_in(&self, rim: &Rim, first: f64, last: f64) -> bool;

    /// Whether a point of it, which is no crossing, lies in a reach; where the rims run along one another
    /// the earlier is held to be the outer one.
    fn lies_within(&self, point: Xy, rim: &Rim, is_earlier: bool) -> bool;

    fn cut_by_line(&self, line: &Line, cuts: &mut Cuts);

    /// Adds where it crosses the circle about a corner of a rim, and touches that.
    fn cut_by_circle(&self, centre: Xy, radius: f64, is_on: impl Fn(Xy) -> bool, cuts: &mut Cuts);

    /// Adds where it crosses a rim.
    fn cut_by_rim(&self, rim: &Rim, cuts: &mut Cuts) {
        for edge in rim.edges.iter().flatten() {
            self.cut_by_line(&edge.beside, cuts);
        }
        for (number, corner) in rim.piece.shape.corners().iter().enumerate() {
            let is_on = |point: Xy| rim.is_on_arc(number, *corner, point, NEAR_M);
            self.cut_by_circle(*corner, rim.reach(), is_on, cuts);
        }
    }
}

/// A straight way.
#[derive(Clone, Copy)]
pub struct Line {
    pub from: Xy,
    pub to: Xy,
}

impl Border for Line {
    #[inline]
    fn at(&self, share: f64) -> Xy {
        self.from.towards(self.to, share)
    }

    fn length(&self) -> f64 {
        self.from.distance(self.to)
    }

    fn swept(&self, first: f64, last: f64) -> f64 {
        let whole = (self.from.x * self.to.y - self.from.y * self.to.x) / 2.0;
        whole * (last - first)
    }

    fn circle(&self, first: f64, last: f64) -> (Xy, f64) {
        let middle = self.at((first + last) / 2.0);
        (middle, middle.distance(self.at(last)))
    }

    fn lies_in(&self, rim: &Rim, first: f64, last: f64) -> bool {
        rim.holds(self.at(first)) && rim.holds(self.at(last))
    }

    #[inline]
    fn lies_within(&self, point: Xy, rim: &Rim, _: bool) -> bool {
        rim.holds(point)
    }

    #[inline]
    fn cut_by_line(&self, line: &Line, cuts: &mut Cuts) {
        let (x, y) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let (u, v) = (line.to.x - line.from.x, line.to.y - line.from.y);
        let turn = x * v - y * u;
        if turn == 0.0 {
            return;
        }
        let (a, b) = (line.from.x - self.from.x, line.from.y - self.from.y);
        let share = (a * v - b * u) / turn;
        let other = (a * y - b * x) / turn;
        if (-NEAR_SHARE..=1.0 + NEAR_SHARE).contains(&other) {
            cuts.push(share);
        }
    }

    fn cut_by_circle(&self, centre: Xy, radius: f64, is_on: impl Fn(Xy) -> bool, cuts: &mut Cuts) {
        let (x, y) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let (a, b) = (self.from.x - centre.x, self.from.y - centre.y);
        let length = x * x + y * y;
        let half = a * x + b * y;
        let root = half * half - length * (a * a + b * b - radius * radius);
        // A line that touches it may miss it by rounding.
        if length <= 0.0 || root < -NEAR_SHARE * length * radius * radius {
            return;
        }
        let root = root.max(0.0).sqrt();
        for share in [(-half - root) / length, (-half + root) / length] {
            if (0.0..=1.0).contains(&share) && is_on(self.at(share)) {
                cuts.push(share);
            }
        }
    }
}

/// The lines that touch an arc at its ends are followed up to this half of its sweep.
const SHORT_ARC: f64 = 1.0;

/// A way about a corner of a set, anticlockwise.
#[derive(Clone, Copy)]
pub struct Arc<'a> {
    /// The rim that it is a part of, and the number of the corner.
    pub of: (&'a Rim<'a>, usize),
    pub centre: Xy,
    pub radius: f64,
    pub start: f64,
    pub sweep: f64,
}

impl Arc<'_> {
    fn cut_at_angle(&self, angle: f64, cuts: &mut Cuts) {
        if self.sweep > 0.0 {
            cuts.push((angle - self.start).rem_euclid(TAU) / self.sweep);
        }
    }

    fn cut_at(&self, point: Xy, cuts: &mut Cuts) {
        let (rim, number) = self.of;
        if rim.is_on_arc(number, self.centre, point, NEAR_M) {
            let angle = (point.y - self.centre.y).atan2(point.x - self.centre.x);
            self.cut_at_angle(angle, cuts);
        }
    }

    /// The corner of a rim that it goes about too.
    fn shared_corner(&self, rim: &Rim) -> Option<usize> {
        let mut corners = rim.piece.shape.corners().iter();
        corners.position(|corner| *corner == self.centre)
    }
}

impl Border for Arc<'_> {
    #[inline]
    fn at(&self, share: f64) -> Xy {
        let (sine, cosine) = (self.start + share * self.sweep).sin_cos();
        Xy::new(
            self.centre.x + self.radius * cosine,
            self.centre.y + self.radius * sine,
        )
    }

    fn length(&self) -> f64 {
        self.radius * self.sweep
    }

    fn swept(&self, first: f64, last: f64) -> f64 {
        let (from, to) = (self.at(first), self.at(last));
        let turned = self.radius * self.radius * self.sweep * (last - first);
        let moved = self.centre.x * (to.y - from.y) - self.centre.y * (to.x - from.x);
        (turned + moved) / 2.0
    }

    fn circle(&self, first: f64, last: f64) -> (Xy, f64) {
        let middle = self.at((first + last) / 2.0);
        // Of more than half a turn the opposite point is the farthest.
        let is_long = (last - first) * self.sweep > PI;
        let spread = match is_long {
            true => 2.0 * self.radius,
            false => middle.distance(self.at(last)),
        };
        (middle, spread)
    }

    /// A short arc lies in a convex set when its ends do and where the lines that touch it there meet.
    fn lies_in(&self, rim: &Rim, first: f64, last: f64) -> bool {
        if rim.reach() > self.radius && self.shared_corner(rim).is_some() {
            return true;
        }
        let half = (last - first) * self.sweep / 2.0;
        if half > SHORT_ARC || !rim.holds(self.at(first)) || !rim.holds(self.at(last)) {
            return false;
        }
        let middle = self.at((first + last) / 2.0);
        rim.holds(self.centre.towards(middle, 1.0 / half.cos()))
    }

    #[inline]
    fn lies_within(&self, point: Xy, rim: &Rim, is_earlier: bool) -> bool {
        match self.shared_corner(rim) {
            Some(number) if rim.reach() == self.radius => {
                is_earlier || !rim.is_on_arc(number, self.centre, point, 0.0)
            }
            _ => rim.holds(point),
        }
    }

    #[inline]
    fn cut_by_line(&self, line: &Line, cuts: &mut Cuts) {
        let (x, y) = (line.to.x - line.from.x, line.to.y - line.from.y);
        let (a, b) = (line.from.x - self.centre.x, line.from.y - self.centre.y);
        let length = x * x + y * y;
        let half = a * x + b * y;
        let root = half * half - length * (a * a + b * b - self.radius * self.radius);
        if length <= 0.0 || root < -NEAR_SHARE * length * self.radius * self.radius {
            return;
        }
        let root = root.max(0.0).sqrt();
        for share in [(-half - root) / length, (-half + root) / length] {
            if (-NEAR_SHARE..=1.0 + NEAR_SHARE).contains(&share) {
                self.cut_at(line.at(share), cuts);
            }
        }
    }

    fn cut_by_circle(&self, centre: Xy, radius: f64, is_on: impl Fn(Xy) -> bool, cuts: &mut Cuts) {
        let (x, y) = (centre.x - self.centre.x, centre.y - self.centre.y);
        let apart = x * x + y * y;
        if apart == 0.0 {
            return;
        }
        // The foot of the points that both circles have, on the way between their centres.
        let own = self.radius * self.radius;
        let foot = (apart + own - radius * radius) / (2.0 * apart);
        let beside = own / apart - foot * foot;
        if beside < -NEAR_SHARE {
            return;
        }
        let beside = beside.max(0.0).sqrt();
        for aside in [-beside, beside] {
            let point = Xy::new(
                self.centre.x + foot * x - aside * y,
                self.centre.y + foot * y + aside * x,
            );
            if is_on(point) {
                self.cut_at(point, cuts);
            }
        }
    }

    fn cut_by_rim(&self, rim: &Rim, cuts: &mut Cuts) {
        for edge in rim.edges.iter().flatten() {
            self.cut_by_line(&edge.beside, cuts);
        }
        for (number, corner) in rim.piece.shape.corners().iter().enumerate() {
            if *corner == self.centre {
                // The other's arc ends where its lines begin.
                let [before, after] = rim.about(number);
                let ends = before.map(|it| it.beside.to).into_iter();
                for end in ends.chain(after.map(|it| it.beside.from)) {
                    self.cut_at(end, cuts);
                }
                continue;
            }
            let is_on = |point: Xy| rim.is_on_arc(number, *corner, point, NEAR_M);
            self.cut_by_circle(*corner, rim.reach(), is_on, cuts);
        }
    }
}
