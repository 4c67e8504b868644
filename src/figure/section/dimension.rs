//! Dimension lines of a section: what is measured between two points of the sheet, and in words.
//!
//! Not here: which lengths are dimensioned (see [`super::governs`]).

use crate::figure::palette as p;
use crate::figure::panel::Canvas;
use crate::figure::place::Wanted;
use crate::figure::scene::{Colour, Ink, MarkKind, Pen, Point};
use crate::figure::symbol;

/// Size of an arrow head.
const HEAD: f64 = 8.0;
/// A dimension shorter than this has its arrows outside.
const SHORT: f64 = 22.0;
/// How far an extension line goes past the dimension line.
const PAST: f64 = 4.0;

/// A length to be dimensioned.
pub struct Dimension {
    /// One end of the dimension line.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// The points that are measured; thin lines lead from them to the ends.
    pub measured: [Point; 2],
    /// The words, line by line.
    pub words: Vec<String>,
    /// The colour of all of it.
    pub colour: Colour,
    /// Smaller is placed earlier.
    pub priority: u32,
}

impl Dimension {
    /// Draws it and asks for its label.
    pub fn draw(self, canvas: &mut Canvas) {
        let (from, to) = (self.from, self.to);
        let length = from.distance(to);
        if !(from.is_finite() && to.is_finite()) {
            return;
        }
        let thin = Pen::solid(self.colour, 0.9);
        for (end, measured) in [(from, self.measured[0]), (to, self.measured[1])] {
            let gap = end.distance(measured);
            if gap > 1.0 {
                let (x, y) = ((end.x - measured.x) / gap, (end.y - measured.y) / gap);
                let past = end.shifted(x * PAST, y * PAST);
                canvas.ink(MarkKind::Dimension, Ink::Line(vec![measured, past], thin));
            }
        }
        let pen = Pen::solid(self.colour, 1.2);
        let mut anchors = vec![self.share(0.5), self.share(0.35), self.share(0.65)];
        if length >= SHORT {
            canvas.lines(MarkKind::Dimension, &[vec![from, to]], pen);
            arrow(canvas, to, from, self.colour);
            arrow(canvas, from, to, self.colour);
        } else if length > 0.5 {
            // Arrows from outside, pointing at each other.
            let (x, y) = ((to.x - from.x) / length, (to.y - from.y) / length);
            let out = HEAD * 1.9;
            let outer = [
                from.shifted(-x * out, -y * out),
                to.shifted(x * out, y * out),
            ];
            canvas.lines(MarkKind::Dimension, &[outer.to_vec()], pen);
            arrow(canvas, outer[0], from, self.colour);
            arrow(canvas, outer[1], to, self.colour);
            anchors.extend(outer);
        } else {
            // Nothing to measure at this scale: a point says where.
            canvas.ink(MarkKind::Dimension, Ink::Disc(from, 2.2, self.colour));
        }
        let mut label = Wanted::new(MarkKind::Dimension, self.words, anchors, self.priority);
        label.colour = self.colour;
        label.clear = 4.0;
        label.size = p::LABEL;
        label.essential = true;
        canvas.want(label);
    }

    fn share(&self, share: f64) -> Point {
        Point::new(
            self.from.x + share * (self.to.x - self.from.x),
            self.from.y + share * (self.to.y - self.from.y),
        )
    }
}

fn arrow(canvas: &mut Canvas, tail: Point, tip: Point, colour: Colour) {
    if let Some(ink) = symbol::arrow_head(tail, tip, HEAD, colour) {
        canvas.ink(MarkKind::Dimension, ink);
    }
}
