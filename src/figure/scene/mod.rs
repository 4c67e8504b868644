//! The scene: everything a figure shows, resolved to marks and labels on the sheet before any of
//! it is drawn.
//!
//! Not here: what goes into it (the panels) or how it becomes SVG.

mod ink;
mod point;

pub use ink::{Anchor, Colour, Dash, Ink, Pen, Picture, Text};
pub use point::{Point, Rect};

use std::borrow::Cow;
use std::fmt;

use super::palette;
use crate::sheet::{FigureKind, Sheet};

/// What a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkKind {
    /// A background picture.
    Background,
    /// Paper, frames, tick marks and their labels, text outside the panels.
    Sheet,
    /// Crosses of the graticule.
    Graticule,
    /// The operating area.
    Area,
    /// Bands of the ceiling above ground, and their contours.
    Ceiling,
    /// The usable area.
    Usable,
    /// The electrical clearance bands about power lines.
    Clearance,
    /// Points of the plan.
    PlanPoint,
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
    /// The ground of a section.
    Ground,
    /// A stretch of a section whose ground is not known.
    GroundUnknown,
    /// The allowed ceiling on a section.
    CeilingLine,
    /// Dimension lines of a section.
    Dimension,
    /// The wished height on a section.
    Wish,
    /// The line of the section on a map, its ends and bends.
    SectionLine,
    /// Scale bar and north arrow.
    Scale,
    /// Samples in the legend.
    Legend,
}

impl MarkKind {
    /// What it is called among the layers that a reader may switch off; none for what must never be
    /// hidden: the area, where it is undetermined, where the ceiling governs, and the sheet itself.
    #[must_use]
    pub const fn layer(self) -> Option<&'static str> {
        Some(match self {
            Self::Sheet
            | Self::Area
            | Self::Uncovered
            | Self::Governs
            | Self::Ground
            | Self::GroundUnknown
            | Self::CeilingLine
            | Self::Scale
            | Self::Legend => return None,
            Self::Background => "background picture",
            Self::Graticule => "graticule",
            Self::Ceiling => "ceiling bands",
            Self::Usable => "usable area",
            Self::Clearance => "electrical clearance",
            Self::PlanPoint => "points of the plan",
            Self::LowestShield => "lowest shielding obstacle",
            Self::Reach => "reach of the shield",
            Self::Span => "spans of power lines",
            Self::Support => "supports of power lines",
            Self::Structure => "structures",
            Self::NotShield => "obstacles that are no shield",
            Self::Estimate => "estimated heights",
            Self::Ring => "distance rings",
            Self::Zone => "zones",
            Self::Airspace => "airspace",
            Self::Surface => "limitation surfaces",
            Self::Aerodrome => "aerodromes",
            Self::DistanceLine => "shortest distances",
            Self::Extent => "extent of the other drawing",
            Self::Dimension => "dimensions of the section",
            Self::Wish => "wished height",
            Self::SectionLine => "line of the section",
        })
    }

    /// Its name in files: the class of its group in SVG, as in the JSON of a scene.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Background => "background",
            Self::Sheet => "sheet",
            Self::Graticule => "graticule",
            Self::Area => "area",
            Self::Ceiling => "ceiling",
            Self::Usable => "usable",
            Self::Clearance => "clearance",
            Self::PlanPoint => "plan-point",
            Self::Uncovered => "uncovered",
            Self::Governs => "governs",
            Self::LowestShield => "lowest-shield",
            Self::Reach => "reach",
            Self::Span => "span",
            Self::Support => "support",
            Self::Structure => "structure",
            Self::NotShield => "not-shield",
            Self::Estimate => "estimate",
            Self::Ring => "ring",
            Self::Zone => "zone",
            Self::Airspace => "airspace",
            Self::Surface => "surface",
            Self::Aerodrome => "aerodrome",
            Self::DistanceLine => "distance-line",
            Self::Extent => "extent",
            Self::Ground => "ground",
            Self::GroundUnknown => "ground-unknown",
            Self::CeilingLine => "ceiling-line",
            Self::Dimension => "dimension",
            Self::Wish => "wish",
            Self::SectionLine => "section-line",
            Self::Scale => "scale",
            Self::Legend => "legend",
        }
    }
}

/// A panel of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PanelName {
    /// The map of the site.
    Site,
    /// The map of the aerodromes around it.
    Location,
    /// A small map that locates the large one.
    Inset,
    /// The vertical cut.
    Section,
}

impl fmt::Display for PanelName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Site => "site",
            Self::Location => "location",
            Self::Inset => "inset",
            Self::Section => "section",
        })
    }
}

/// How a map shows the local plane about the middle of the area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Map {
    /// Where the middle of the area lies on the sheet, in the panel or not.
    pub middle: Point,
    /// Sheet units to a metre; north is up.
    pub units_per_metre: f64,
}

/// How a section shows distances along its line and altitudes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axes {
    /// Where the start of the line lies on the sheet at 0 m AMSL, in the panel or not.
    pub origin: Point,
    /// Sheet units to a metre along the line, to the right.
    pub units_per_metre_along: f64,
    /// Sheet units to a metre of altitude, upwards.
    pub units_per_metre_up: f64,
}

/// What the points of a panel stand for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Plane {
    /// A map.
    Map(Map),
    /// A vertical cut.
    Section(Axes),
}

/// A panel: a part of the sheet that clips what is drawn in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelFrame {
    /// Which panel it is.
    pub name: PanelName,
    /// Its place on the sheet.
    pub rect: Rect,
    /// What its points stand for.
    pub plane: Plane,
}

/// A piece of a drawing, in the order of drawing.
#[derive(Clone, Debug)]
pub struct Piece<'a> {
    /// What it stands for.
    pub kind: MarkKind,
    /// The panel that clips it.
    pub panel: Option<PanelName>,
    /// Whether it belongs to a label.
    pub is_label: bool,
    /// What it is made of.
    pub ink: Cow<'a, Ink>,
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
    /// The number in the key, when that is what stands here.
    pub number: Option<usize>,
    /// Whether it lies on a hatch, which an outline of its letters would not keep back.
    pub on_hatch: bool,
}

/// An entry of the numbered key: the text of a label that found no place at its feature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyEntry {
    /// The number that stands at the feature.
    pub number: usize,
    /// The text.
    pub text: String,
}

/// A figure, resolved: what will be drawn, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// What it shows.
    pub kind: FigureKind,
    /// The paper.
    pub sheet: Sheet,
    /// Its title.
    pub title: String,
    /// Its panels.
    pub panels: Vec<PanelFrame>,
    /// The marks, in the order of drawing.
    pub marks: Vec<Mark>,
    /// The labels of the panels; drawn above the marks.
    pub labels: Vec<Label>,
    /// Places that no label may cover: where a ceiling governs, vertices of the area.
    pub kept_clear: Vec<Rect>,
    /// Text of the legend entries.
    pub legend: Vec<String>,
    /// The numbered key, by number.
    pub key: Vec<KeyEntry>,
    /// The sheets that the key is printed on when it is too long for this one: none of them has a
    /// panel, and each has its own part of the key.
    pub key_sheets: Vec<Scene>,
    /// What the figure leaves out, and other notes, as printed on it.
    pub notes: Vec<String>,
}

impl Scene {
    /// A sheet with nothing on it.
    #[must_use]
    pub const fn empty(kind: FigureKind, sheet: Sheet, title: String) -> Self {
        Self {
            kind,
            sheet,
            title,
            panels: Vec::new(),
            marks: Vec::new(),
            labels: Vec::new(),
            kept_clear: Vec::new(),
            legend: Vec::new(),
            key: Vec::new(),
            key_sheets: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// This sheet and those that its key goes on to.
    pub fn sheets(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(&self.key_sheets)
    }

    /// The sheet in units of [`crate::sheet::UNIT_MM`].
    #[must_use]
    pub fn outline(&self) -> Rect {
        let (width, height) = self.sheet.size_units();
        Rect::new(0.0, 0.0, width, height)
    }

    /// The panel of a name.
    #[must_use]
    pub fn panel(&self, name: PanelName) -> Option<&PanelFrame> {
        self.panels.iter().find(|panel| panel.name == name)
    }

    /// The map that a panel shows.
    #[must_use]
    pub fn map(&self, name: PanelName) -> Option<Map> {
        match self.panel(name)?.plane {
            Plane::Map(map) => Some(map),
            Plane::Section(_) => None,
        }
    }

    /// Adds a panel with its frame.
    pub(in crate::figure) fn add_panel(&mut self, panel: PanelFrame) {
        self.panels.push(panel);
    }

    pub(in crate::figure) fn mark(&mut self, kind: MarkKind, panel: Option<PanelName>, ink: Ink) {
        self.marks.push(Mark { kind, panel, ink });
    }

    /// Everything that is drawn, in order: the marks, then the leader lines, plates and texts of
    /// the labels.
    pub fn pieces(&self) -> impl Iterator<Item = Piece<'_>> {
        let marks = self.marks.iter().map(|mark| Piece {
            kind: mark.kind,
            panel: mark.panel,
            is_label: false,
            ink: Cow::Borrowed(&mark.ink),
        });
        let of = |label: &Label, ink: Ink| Piece {
            kind: label.kind,
            panel: Some(label.panel),
            is_label: true,
            ink: Cow::Owned(ink),
        };
        let leaders = self.labels.iter().flat_map(move |label| {
            let inks = label.leader.map(|(from, to)| leader(label.kind, from, to));
            let inks = inks.into_iter().flatten();
            inks.map(move |ink| of(label, ink))
        });
        let has_plate = |label: &&Label| label.on_hatch || label.number.is_some();
        let plates = self.labels.iter().filter(has_plate).map(move |label| {
            let ring = label.frame.corners().to_vec();
            of(label, Ink::Fill(vec![ring], palette::PAPER, 0.88))
        });
        let boxes = self.labels.iter().filter_map(move |label| {
            label.number?;
            let mut ring = label.frame.corners().to_vec();
            ring.extend(ring.first().copied());
            let colour = label.lines.first()?.colour;
            Some(of(label, Ink::Line(ring, Pen::solid(colour, 0.9))))
        });
        let texts = self.labels.iter().flat_map(move |label| {
            let lines = label.lines.iter();
            lines.map(move |line| of(label, Ink::Text(line.clone())))
        });
        marks.chain(leaders).chain(plates).chain(boxes).chain(texts)
    }

    /// Whether any mark of this kind is in use.
    #[must_use]
    pub fn shows(&self, kind: MarkKind) -> bool {
        self.marks.iter().any(|mark| mark.kind == kind)
    }
}

/// A leader line; one that ends on a hatch has a pale edge and a dot where it ends.
fn leader(kind: MarkKind, from: Point, to: Point) -> Vec<Ink> {
    let line = |pen| Ink::Line(vec![from, to], pen);
    match kind {
        MarkKind::Uncovered | MarkKind::Usable | MarkKind::Clearance => vec![
            line(palette::LEADER_EDGE_PEN),
            line(palette::LEADER_PEN),
            Ink::Disc(from, palette::LEADER_DOT, palette::SOFT_INK),
        ],
        _ => vec![line(palette::LEADER_PEN)],
    }
}
