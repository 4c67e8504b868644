//! The positions of one geometry as they were written, and its type.
//!
//! Not here: geometries (see [`crate::read::shape`]).

use super::feature::Bounds;

/// The types of geometries with coordinates of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// `Point`
    Point,
    /// `MultiPoint`
    MultiPoint,
    /// `LineString`
    LineString,
    /// `MultiLineString`
    MultiLineString,
    /// `Polygon`
    Polygon,
    /// `MultiPolygon`
    MultiPolygon,
}

impl Kind {
    /// From the text of a `type`, with its quotes.
    #[must_use]
    pub fn of(text: &[u8]) -> Option<Self> {
        Some(match text {
            b"\"Point\"" => Self::Point,
            b"\"MultiPoint\"" => Self::MultiPoint,
            b"\"LineString\"" => Self::LineString,
            b"\"MultiLineString\"" => Self::MultiLineString,
            b"\"Polygon\"" => Self::Polygon,
            b"\"MultiPolygon\"" => Self::MultiPolygon,
            _ => return None,
        })
    }

    /// How many arrays lie around the numbers of a position.
    #[must_use]
    pub const fn depth(self) -> usize {
        match self {
            Self::Point => 1,
            Self::MultiPoint | Self::LineString => 2,
            Self::Polygon | Self::MultiLineString => 3,
            Self::MultiPolygon => 4,
        }
    }
}

/// The positions of one geometry as they were written.
#[derive(Clone, Debug, Default)]
pub struct Positions {
    /// The first two numbers of each position.
    pub flat: Vec<[f64; 2]>,
    /// Where each ring or line ends in `flat`.
    pub lines: Vec<usize>,
    /// Where each polygon ends in `lines`.
    pub polygons: Vec<usize>,
    /// How deep the positions lie; 0 before the first.
    pub depth: usize,
    /// Whether there is something that no position is.
    pub is_odd: bool,
}

impl Positions {
    /// Empties the buffer.
    pub fn clear(&mut self) {
        self.flat.clear();
        self.lines.clear();
        self.polygons.clear();
        self.depth = 0;
        self.is_odd = false;
    }

    /// The box of all; none where there is none, or a number is not finite.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds> {
        let mut bounds = Bounds::EMPTY;
        for &[x, y] in &self.flat {
            bounds.add(x, y);
        }
        bounds.is_finite().then_some(bounds)
    }
}
