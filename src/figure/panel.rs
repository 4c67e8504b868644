//! A panel under construction: marks go to the scene, and what labels must keep off is noted.
//!
//! Not here: what the panels show.

use std::ops::{Deref, DerefMut};

use super::font::Font;
use super::options::FigureOptions;
use super::place::{Ground, Wanted};
use super::scene::{Ink, Label, MarkKind, PanelFrame, PanelName, Pen, Plane, Point, Rect, Scene};
use super::view::{View, clip_segment, hatch, meets};
use super::{backdrop, graticule};
use crate::frame::{LonLat, Xy};

/// Lines this far apart stand for the inside of what labels keep off, sheet units.
const INSIDE_STEP: f64 = 8.0;
/// What each of them costs.
const INSIDE_WEIGHT: f64 = 1.4;

/// A panel under construction, of any plane: all that needs points of the sheet only.
pub struct Canvas<'a> {
    pub name: PanelName,
    pub rect: Rect,
    pub font: &'a Font,
    scene: &'a mut Scene,
    ground: Ground,
    wanted: Vec<Wanted>,
    hatched: Vec<(Point, Point)>,
}

impl<'a> Canvas<'a> {
    /// An empty panel, told to the scene.
    pub fn new(frame: PanelFrame, scene: &'a mut Scene, font: &'a Font) -> Self {
        scene.add_panel(frame);
        Self {
            name: frame.name,
            rect: frame.rect,
            font,
            scene,
            ground: Ground::new(frame.name, frame.rect),
            wanted: Vec::new(),
            hatched: Vec::new(),
        }
    }

    /// Adds a mark without telling the labels.
    pub fn ink(&mut self, kind: MarkKind, ink: Ink) {
        self.scene.mark(kind, Some(self.name), ink);
    }

    /// Draws chains of points, and has labels keep off them as far as their kind deserves.
    pub fn lines(&mut self, kind: MarkKind, parts: &[Vec<Point>], pen: Pen) {
        for part in parts {
            let weight = weight(kind);
            if weight > 0.0 {
                self.ground.chain(part, weight);
            }
            self.ink(kind, Ink::Line(part.clone(), pen));
        }
    }

    /// Hatches rings.
    pub fn hatch(
        &mut self,
        kind: MarkKind,
        rings: &[Vec<Point>],
        angle: f64,
        apart: f64,
        pen: Pen,
    ) {
        for (from, to) in hatch(rings, angle, apart) {
            self.ink(kind, Ink::Line(vec![from, to], pen));
        }
    }

    /// Draws a symbol and has labels keep off it where they can.
    pub fn symbol(&mut self, kind: MarkKind, at: Point, inks: Vec<Ink>, radius: f64) {
        if !self.shows(at) {
            return;
        }
        for ink in inks {
            self.ink(kind, ink);
        }
        self.ground.symbol(Rect::around(at, radius));
    }

    /// Has labels keep off a part of the panel where they can.
    pub fn avoid(&mut self, rect: Rect) {
        self.ground.symbol(rect);
    }

    /// Has labels keep off the inside of rings where they can: what is hatched there is hard to
    /// read on.
    pub fn avoid_inside(&mut self, rings: &[Vec<Point>]) {
        for (from, to) in hatch(rings, 0.0, INSIDE_STEP) {
            self.ground.chain(&[from, to], INSIDE_WEIGHT);
        }
        self.hatched_inside(rings);
    }

    /// Has labels on the inside of rings, which is hatched, stand on a plate.
    pub fn hatched_inside(&mut self, rings: &[Vec<Point>]) {
        self.hatched.extend(hatch(rings, 0.0, INSIDE_STEP));
    }

    /// Keeps labels off a place altogether.
    pub fn keep_clear(&mut self, at: Point, radius: f64) {
        let rect = Rect::around(at, radius);
        self.ground.forbid(rect);
        self.scene.kept_clear.push(rect);
    }

    /// Whether a point of the sheet is in this panel.
    pub fn shows(&self, at: Point) -> bool {
        at.is_finite() && self.rect.contains(at)
    }

    /// Whether any piece of a chain crosses this panel itself, not only its overhang.
    pub fn shows_any_of(&self, chain: &[Point]) -> bool {
        chain
            .iter()
            .zip(chain.iter().skip(1))
            .any(|(a, b)| clip_segment(*a, *b, &self.rect).is_some())
    }

    /// Asks for a label; its lines are wrapped to its widest.
    pub fn want(&mut self, mut label: Wanted) {
        let mut lines = Vec::new();
        let mut in_key = Vec::new();
        for (index, line) in label.lines.iter().enumerate() {
            let bold = label.strong && index == 0;
            let line = self.font.drawable(line);
            lines.extend(self.font.balanced(&line, label.size, bold, label.widest));
            if bold {
                label.bold_lines = lines.len();
            }
            in_key.push(line);
        }
        label.lines = lines;
        in_key.retain(|line| !line.is_empty());
        if label.in_key.is_empty() {
            label.in_key = in_key.join(", ");
        }
        if !label.lines.is_empty() {
            self.wanted.push(label);
        }
    }

    /// Places the labels that were asked for and that have an anchor in the panel, as numbers of the
    /// key where there is no room for their text; returns how many got not even that.
    pub fn finish(mut self) -> usize {
        let bounds = self.rect;
        self.wanted
            .retain(|label| label.anchors.iter().any(|at| bounds.contains(*at)));
        let used = self.scene.key.len();
        let placed = self.ground.place(self.wanted, self.font, used);
        let hatched = self.hatched;
        self.scene
            .labels
            .extend(placed.labels.into_iter().map(|label| Label {
                on_hatch: hatched.iter().any(|(a, b)| meets(*a, *b, &label.frame)),
                ..label
            }));
        self.scene.key.extend(placed.key);
        placed.left_out
    }
}

/// A map under construction: a [`Canvas`] with a view of the plane.
pub struct Panel<'a> {
    pub view: View,
    canvas: Canvas<'a>,
}

impl<'a> Deref for Panel<'a> {
    type Target = Canvas<'a>;

    fn deref(&self) -> &Self::Target {
        &self.canvas
    }
}

impl DerefMut for Panel<'_> {
    fn deref_mut(&mut self) -> &mut Self::Target {
        &mut self.canvas
    }
}

impl<'a> Panel<'a> {
    /// An empty panel with a view, told to the scene.
    pub fn new(name: PanelName, view: View, scene: &'a mut Scene, font: &'a Font) -> Self {
        let frame = PanelFrame {
            name,
            rect: view.rect,
            plane: Plane::Map(view.map()),
        };
        let canvas = Canvas::new(frame, scene, font);
        Self { view, canvas }
    }

    /// An empty map with its background, if there is one, under its graticule.
    pub fn on_background(
        name: PanelName,
        view: View,
        scene: &'a mut Scene,
        font: &'a Font,
        options: &FigureOptions,
        notes: &mut Vec<String>,
    ) -> Self {
        let mut panel = Self::new(name, view, scene, font);
        if let Some(background) = options.background.as_deref() {
            backdrop::add(&mut panel, background, notes);
        }
        graticule::add(panel.canvas.scene, name, &view, font);
        panel
    }

    /// Draws a chain of places; returns its visible parts.
    pub fn chain(&mut self, kind: MarkKind, places: &[LonLat], pen: Pen) -> Vec<Vec<Point>> {
        let parts = self.view.chain(places);
        self.lines(kind, &parts, pen);
        parts
    }

    /// The visible parts of a closed chain of the plane.
    pub fn visible(&self, ring: &[Xy]) -> Vec<Vec<Point>> {
        let mut points: Vec<Point> = ring.iter().map(|p| self.view.on_sheet(*p)).collect();
        if points.first() != points.last() {
            points.extend(points.first().copied());
        }
        self.view.clipped(&points)
    }

    /// Draws a closed chain of the plane; returns its visible parts.
    pub fn plane_ring(&mut self, kind: MarkKind, ring: &[Xy], pen: Pen) -> Vec<Vec<Point>> {
        let parts = self.visible(ring);
        self.lines(kind, &parts, pen);
        parts
    }

    /// See [`Canvas::finish`].
    pub fn finish(self) -> usize {
        self.canvas.finish()
    }
}

/// What a label on a line of this kind costs, beside a gap of 11 sheet units, which costs 1.
fn weight(kind: MarkKind) -> f64 {
    match kind {
        MarkKind::Aerodrome => 4.0,
        // What the answer rests on is hidden last.
        MarkKind::LowestShield => 9.0,
        MarkKind::Span | MarkKind::Estimate => 3.5,
        MarkKind::Area | MarkKind::Uncovered | MarkKind::CeilingLine => 3.0,
        MarkKind::Clearance => 1.6,
        MarkKind::Ceiling | MarkKind::Usable => 0.8,
        MarkKind::Structure | MarkKind::NotShield | MarkKind::DistanceLine => 2.4,
        MarkKind::Ring
        | MarkKind::Zone
        | MarkKind::Airspace
        | MarkKind::Surface
        | MarkKind::Reach
        | MarkKind::Ground
        | MarkKind::Dimension
        | MarkKind::Wish
        | MarkKind::SectionLine
        | MarkKind::Extent => 1.6,
        _ => 0.0,
    }
}

/// Points along the longest of some chains at shares of its length.
pub fn along(parts: &[Vec<Point>], shares: &[f64]) -> Vec<Point> {
    let length = |part: &Vec<Point>| -> f64 {
        part.iter()
            .zip(part.iter().skip(1))
            .map(|(a, b)| a.distance(*b))
            .sum()
    };
    let Some(longest) = parts.iter().max_by(|a, b| length(a).total_cmp(&length(b))) else {
        return Vec::new();
    };
    let whole = length(longest);
    shares
        .iter()
        .filter_map(|share| {
            let mut left = share * whole;
            for (a, b) in longest.iter().zip(longest.iter().skip(1)) {
                let piece = a.distance(*b);
                if left <= piece && piece > 0.0 {
                    let t = left / piece;
                    return Some(Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)));
                }
                left -= piece;
            }
            longest.last().copied()
        })
        .collect()
}

/// The bounds of points on the sheet.
pub fn extent(points: impl IntoIterator<Item = Point>) -> Option<Rect> {
    points
        .into_iter()
        .filter(|p| p.is_finite())
        .fold(None, |extent: Option<Rect>, p| {
            let e = extent.unwrap_or(Rect::new(p.x, p.y, p.x, p.y));
            Some(Rect::new(
                e.left.min(p.x),
                e.top.min(p.y),
                e.right.max(p.x),
                e.bottom.max(p.y),
            ))
        })
}
