//! The ceiling sampled over the area: squares for figures, and for what a reader points at.
//!
//! Not here: how it is sampled (see [`crate::assess`]). It is no part of the JSON form; what needs
//! it (a figure's tint, a page that answers at a pointer) writes its own.

use super::BudgetLine;

/// The ceiling over the squares of a grid. Lengths are whole centimetres, so that what is written
/// from it stays small and rounds the same way everywhere.
#[derive(Clone, Debug, PartialEq)]
pub struct CeilingGrid {
    /// The side of a square, metres.
    pub side_m: f64,
    /// The western edge of the first square, metres east of the middle of the area.
    pub west_m: f64,
    /// Its southern edge, metres north of the middle of the area.
    pub south_m: f64,
    /// How many squares from west to east.
    pub columns: usize,
    /// How many from south to north.
    pub rows: usize,
    /// The squares, row by row from the south-west.
    pub squares: Vec<Square>,
    /// What governs, by the number in [`KnownSquare::governs`].
    pub governors: Vec<GridGovernor>,
}

/// Something that sets the ceiling in some squares.
#[derive(Clone, Debug, PartialEq)]
pub struct GridGovernor {
    /// Its title: of an obstacle, a volume of airspace, or a term of the profile.
    pub title: String,
    /// The lines of its height budget that are the same wherever it governs: down to its margin.
    pub budget: Vec<BudgetLine>,
}

/// The ceiling over one square.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Square {
    /// No point of the square is in the area.
    Outside,
    /// At some point of the square the ceiling may be undetermined.
    Undetermined,
    /// The ceiling is known all over the square.
    Known(KnownSquare),
}

/// What holds all over one square.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KnownSquare {
    /// No point of the area in the square has a lower ceiling above ground, centimetres, rounded down.
    pub above_ground_cm: i32,
    /// The same AMSL; none on assumed flat ground.
    pub amsl_cm: Option<i32>,
    /// The highest ground in the square, its accuracy not added, centimetres AMSL, rounded up; none
    /// on assumed flat ground.
    pub ground_cm: Option<i32>,
    /// Which of [`CeilingGrid::governors`] sets the ceiling at the middle of the square.
    pub governs: Option<u16>,
}

impl CeilingGrid {
    /// The square at a column from the west and a row from the south.
    #[must_use]
    pub fn square(&self, column: usize, row: usize) -> Square {
        let is_inside = column < self.columns && row < self.rows;
        let square = self.squares.get(row * self.columns + column);
        square
            .copied()
            .filter(|_| is_inside)
            .unwrap_or(Square::Outside)
    }
}
