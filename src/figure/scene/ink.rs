//! What marks are made of: lines, fills, circles, text and pictures, and how they are drawn.
//!
//! Not here: what they stand for (see [`super::MarkKind`]).

use std::sync::Arc;

use super::{Point, Rect};

/// A colour, red, green and blue from 0 to 255.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// How a line is broken, so that lines differ without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long dashes: distance rings.
    Long,
    /// Short dashes: obstacles that are not shields.
    Short,
    /// Dots: estimated heights.
    Dots,
    /// Dash and dot: the reach of a shield.
    DashDot,
    /// Dash and two dots: zones.
    DashDotDot,
    /// A very long dash and a short one: obstacle limitation surfaces.
    LongShort,
}

impl Dash {
    /// Lengths of strokes and gaps in turn, sheet units; nothing for an unbroken line.
    pub(in crate::figure) const fn pattern(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Long => &[13.0, 5.0],
            Self::Short => &[6.0, 3.5],
            Self::Dots => &[0.1, 4.0],
            Self::DashDot => &[11.0, 4.0, 2.0, 4.0],
            Self::DashDotDot => &[15.0, 3.5, 1.5, 3.5, 1.5, 3.5],
            Self::LongShort => &[30.0, 4.0, 7.0, 4.0],
        }
    }

    /// Whether its strokes have round ends.
    pub(in crate::figure) const fn is_round(self) -> bool {
        matches!(self, Self::Solid | Self::Dots)
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub colour: Colour,
    /// Its width in sheet units.
    pub width: f64,
    /// How it is broken.
    pub dash: Dash,
}

impl Pen {
    pub(in crate::figure) const fn solid(colour: Colour, width: f64) -> Self {
        Self {
            colour,
            width,
            dash: Dash::Solid,
        }
    }

    pub(in crate::figure) const fn dashed(colour: Colour, width: f64, dash: Dash) -> Self {
        Self {
            colour,
            width,
            dash,
        }
    }
}

/// On which side of its point a text lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The text starts at the point.
    Start,
    /// The point is in the middle of the text.
    Middle,
    /// The text ends at the point.
    End,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where its baseline starts, is halved or ends.
    pub at: Point,
    /// The text itself: printable, and drawn by the shipped font.
    pub text: String,
    /// Size of the letter em in sheet units.
    pub size: f64,
    /// Bold or regular.
    pub bold: bool,
    /// Its colour.
    pub colour: Colour,
    /// Which part of it is at the point.
    pub anchor: Anchor,
    /// Reads upwards instead of to the right.
    pub upwards: bool,
    /// Has a white outline, so that it reads on top of lines.
    pub halo: bool,
}

/// What a mark is made of.
#[derive(Clone, Debug, PartialEq)]
pub enum Ink {
    /// An open or closed chain of points.
    Line(Vec<Point>, Pen),
    /// The inside of rings by the even–odd rule, with an opacity from 0 to 1.
    Fill(Vec<Vec<Point>>, Colour, f64),
    /// A filled circle.
    Disc(Point, f64, Colour),
    /// The outline of a circle.
    Circle(Point, f64, Pen),
    /// A line of text.
    Text(Text),
    /// A picture that fills a rectangle.
    Picture(Rect, Arc<Picture>),
}

/// A picture in memory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Its width in pixels.
    pub width_px: u32,
    /// Its height in pixels.
    pub height_px: u32,
    /// Red, green, blue and opacity of each pixel, row by row from the top; colours are not
    /// multiplied by the opacity.
    pub rgba: Vec<u8>,
}

impl Ink {
    /// The same, moved on the sheet.
    pub(in crate::figure) fn moved(&self, dx: f64, dy: f64) -> Self {
        let all = |points: &[Point]| points.iter().map(|p| p.shifted(dx, dy)).collect();
        match self {
            Self::Line(points, pen) => Self::Line(all(points), *pen),
            Self::Fill(rings, colour, opacity) => {
                Self::Fill(rings.iter().map(|r| all(r)).collect(), *colour, *opacity)
            }
            Self::Disc(at, radius, colour) => Self::Disc(at.shifted(dx, dy), *radius, *colour),
            Self::Circle(at, radius, pen) => Self::Circle(at.shifted(dx, dy), *radius, *pen),
            Self::Text(text) => Self::Text(Text {
                at: text.at.shifted(dx, dy),
                ..text.clone()
            }),
            Self::Picture(rect, picture) => {
                let moved = Rect::new(
                    rect.left + dx,
                    rect.top + dy,
                    rect.right + dx,
                    rect.bottom + dy,
                );
                Self::Picture(moved, Arc::clone(picture))
            }
        }
    }
}
