//! The scene: everything a figure shows, resolved to marks and labels on the sheet before any of
//! it is drawn.
//!
//! Not here: what goes into it (the panels) or how it becomes SVG.

use std::fmt;

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

    pub(super) fn shifted(self, dx: f64, dy: f64) -> Self {
        Self::new(self.x + dx, self.y + dy)
    }

    pub(super) fn is_finite(self) -> bool {
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
    pub(super) const fn solid(colour: Colour, width: f64) -> Self {
        Self {
            colour,
            width,
            dash: Dash::Solid,
        }
    }

    pub(super) const fn dashed(colour: Colour, width: f64, dash: Dash) -> Self {
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
}

/// What a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkKind {
    /// Paper, frames, tick marks and their labels, text outside the panels.
    Sheet,
    /// Crosses of the graticule.
    Graticule,
    /// The operating area.
    Area,
    /// The part of the area that no shield reaches.
    Uncovered,
    /// The place that governs the ceiling.
    Governs,
    /// The lowest shielding obstacle.
    LowestShield,
    /// Its reach.
    Reach,
    /// Spans of power lines.
    Span,
    /// Supports of power lines.
    Support,
    /// Buildings and other structures that can shield.
    Structure,
    /// Obstacles that cannot shield, structures of unknown height among them.
    NotShield,
    /// Obstacles whose height is an estimate.
    Estimate,
    /// Distance rings.
    Ring,
    /// Zones of the profile.
    Zone,
    /// Airspace volumes.
    Airspace,
    /// Obstacle limitation surfaces.
    Surface,
    /// Aerodromes: reference point, runways, outlines.
    Aerodrome,
    /// The shortest line between an aerodrome and the area.
    DistanceLine,
    /// The extent of the site panel on the location panel.
    Extent,
    /// Scale bar and north arrow.
    Scale,
    /// Samples in the legend.
    Legend,
}

/// One of the two maps of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PanelName {
    /// The large map of the site.
    Site,
    /// The small map of the aerodromes around it.
    Location,
}

impl fmt::Display for PanelName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Site => "site",
            Self::Location => "location",
        })
    }
}

/// How a panel maps the local plane about the middle of the area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Map {
    /// The panel on the sheet.
    pub rect: Rect,
    /// Where the middle of the area lies on the sheet, in the panel or not.
    pub middle: Point,
    /// Sheet units to a metre; north is up.
    pub units_per_metre: f64,
}

/// One mark of the scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it stands for.
    pub kind: MarkKind,
    /// The panel that clips it; none outside the panels.
    pub panel: Option<PanelName>,
    /// What it is made of.
    pub ink: Ink,
}

/// A placed label.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The panel it lies in.
    pub panel: PanelName,
    /// What it names.
    pub kind: MarkKind,
    /// Its lines.
    pub lines: Vec<Text>,
    /// The box that holds all of them.
    pub frame: Rect,
    /// The leader line from the thing it names, when it was moved away from it.
    pub leader: Option<(Point, Point)>,
}

/// A figure, resolved: what will be drawn, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Width of the sheet in sheet units.
    pub width: f64,
    /// Height of the sheet in sheet units.
    pub height: f64,
    /// Pixels to a sheet unit.
    pub pixels_per_unit: f64,
    /// The site panel.
    pub site: Map,
    /// The location panel.
    pub location: Map,
    /// The marks, in the order of drawing.
    pub marks: Vec<Mark>,
    /// The labels of both panels; drawn above the marks.
    pub labels: Vec<Label>,
    /// Places that no label may cover: where a ceiling governs.
    pub kept_clear: Vec<Rect>,
    /// Text of the legend entries.
    pub legend: Vec<String>,
    /// What the figure leaves out, and other notes, as printed on it.
    pub notes: Vec<String>,
    /// How many labels did not fit.
    pub labels_left_out: usize,
}

impl Scene {
    pub(super) fn mark(&mut self, kind: MarkKind, panel: Option<PanelName>, ink: Ink) {
        self.marks.push(Mark { kind, panel, ink });
    }

    /// Whether any mark of this kind is in use.
    #[must_use]
    pub fn shows(&self, kind: MarkKind) -> bool {
        self.marks.iter().any(|mark| mark.kind == kind)
    }
}
