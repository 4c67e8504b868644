//! Points and rectangles of the sheet.
//!
//! Not here: places on the ground (see [`crate::frame`]).

/// A point of the sheet: units right (x) and down (y) of its top left corner.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Units right of the left edge.
    pub x: f64,
    /// Units below the top edge.
    pub y: f64,
}

impl Point {
    /// A point from its coordinates.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The distance to another point, sheet units.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    pub(in crate::figure) fn shifted(self, dx: f64, dy: f64) -> Self {
        Self::new(self.x + dx, self.y + dy)
    }

    pub(in crate::figure) fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

/// An upright rectangle of the sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rect {
    /// Its left edge.
    pub left: f64,
    /// Its top edge.
    pub top: f64,
    /// Its right edge.
    pub right: f64,
    /// Its bottom edge.
    pub bottom: f64,
}

impl Rect {
    /// A rectangle from its edges.
    #[must_use]
    pub const fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self {
            left,
            top,
            right,
            bottom,
        }
    }

    /// The square of half-width `reach` about a point.
    #[must_use]
    pub fn around(centre: Point, reach: f64) -> Self {
        Self::new(
            centre.x - reach,
            centre.y - reach,
            centre.x + reach,
            centre.y + reach,
        )
    }

    /// Its width.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Its height.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Its middle.
    #[must_use]
    pub fn middle(&self) -> Point {
        Point::new(
            f64::midpoint(self.left, self.right),
            f64::midpoint(self.top, self.bottom),
        )
    }

    /// Its corners, from the top left clockwise.
    #[must_use]
    pub const fn corners(&self) -> [Point; 4] {
        [
            Point::new(self.left, self.top),
            Point::new(self.right, self.top),
            Point::new(self.right, self.bottom),
            Point::new(self.left, self.bottom),
        ]
    }

    /// The same rectangle with every edge moved outwards (inwards when negative).
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        Self::new(
            self.left - by,
            self.top - by,
            self.right + by,
            self.bottom + by,
        )
    }

    /// Whether a point lies in it, edges included.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        (self.left..=self.right).contains(&point.x) && (self.top..=self.bottom).contains(&point.y)
    }

    /// Whether another rectangle lies wholly in it.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        other.left >= self.left
            && other.right <= self.right
            && other.top >= self.top
            && other.bottom <= self.bottom
    }

    /// Whether it shares more than an edge with another rectangle.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// The point of the rectangle nearest to a point.
    #[must_use]
    pub fn nearest(&self, point: Point) -> Point {
        Point::new(
            point.x.min(self.right).max(self.left),
            point.y.min(self.bottom).max(self.top),
        )
    }
}
