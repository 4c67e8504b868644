//! A panel under construction: marks go to the scene, and what labels must keep off is noted.
//!
//! Not here: what the site and location panels show.

use super::font::Font;
use super::place::{Ground, Wanted};
use super::scene::{Ink, MarkKind, PanelName, Pen, Point, Rect, Scene};
use super::view::{View, clip_segment, hatch};
use crate::frame::{LonLat, Xy};

/// More labels than this are not tried in one panel; the rest count as left out.
const MOST_LABELS: usize = 260;

/// Lines of labels are cut to this width, sheet units.
const WIDEST_LABEL: f64 = 330.0;

/// A panel under construction.
pub struct Panel<'a> {
    pub name: PanelName,
    pub view: View,
    pub font: &'a Font,
    scene: &'a mut Scene,
    ground: Ground,
    wanted: Vec<Wanted>,
}

impl<'a> Panel<'a> {
    /// An empty panel with a view.
    pub fn new(name: PanelName, view: View, scene: &'a mut Scene, font: &'a Font) -> Self {
        Self {
            name,
            view,
            font,
            scene,
            ground: Ground::new(name, view.rect),
            wanted: Vec::new(),
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

    /// Keeps labels off a place altogether.
    pub fn keep_clear(&mut self, at: Point, radius: f64) {
        let rect = Rect::around(at, radius);
        self.ground.forbid(rect);
        self.scene.kept_clear.push(rect);
    }

    /// Whether a point of the sheet is in this panel.
    pub fn shows(&self, at: Point) -> bool {
        at.is_finite() && self.view.rect.contains(at)
    }

    /// Whether any piece of a chain crosses this panel itself, not only its overhang.
    pub fn shows_any_of(&self, chain: &[Point]) -> bool {
        chain
            .iter()
            .zip(chain.iter().skip(1))
            .any(|(a, b)| clip_segment(*a, *b, &self.view.rect).is_some())
    }

    /// Asks for a label.
    pub fn want(&mut self, mut label: Wanted) {
        label.lines = label
            .lines
            .iter()
            .map(|line| self.font.drawable(line))
            .map(|line| self.font.cut(&line, label.size, label.strong, WIDEST_LABEL))
            .filter(|line| !line.is_empty())
            .collect();
        if !label.lines.is_empty() {
            self.wanted.push(label);
        }
    }

    /// Places the labels that were asked for and that have an anchor in the panel; returns how many
    /// were left out.
    pub fn finish(mut self) -> usize {
        let bounds = self.view.rect;
        self.wanted
            .retain(|label| label.anchors.iter().any(|at| bounds.contains(*at)));
        self.wanted.sort_by_key(|label| label.priority);
        let beyond = self.wanted.len().saturating_sub(MOST_LABELS);
        self.wanted.truncate(MOST_LABELS);
        let (labels, left_out) = self.ground.place(self.wanted, self.font);
        self.scene.labels.extend(labels);
        left_out + beyond
    }
}

/// What a label on a line of this kind costs, beside a gap of 11 sheet units, which costs 1.
fn weight(kind: MarkKind) -> f64 {
    match kind {
        MarkKind::Aerodrome => 4.0,
        MarkKind::Span | MarkKind::Estimate | MarkKind::LowestShield => 3.5,
        MarkKind::Area | MarkKind::Uncovered => 3.0,
        MarkKind::Structure | MarkKind::NotShield | MarkKind::DistanceLine => 2.4,
        MarkKind::Ring
        | MarkKind::Zone
        | MarkKind::Airspace
        | MarkKind::Surface
        | MarkKind::Reach
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
