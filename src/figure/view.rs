//! From places to points of a panel: the plane of a panel, its window and its scale.
//!
//! Everything is drawn in the azimuthal equidistant plane about the middle of the area, so that
//! the antimeridian is a line like any other. Not here: what is drawn.

use geo::{LineString, Polygon};

use super::scene::{Map, Point, Rect};
use crate::frame::{LocalFrame, LonLat, Xy, distance};
use crate::sheet::UNIT_MM;

/// Edges are straight in longitude and latitude; pieces no longer than this differ from the
/// straight line of the plane by less than 1 m below 85 degrees of latitude
/// ([`crate::frame::sagitta_bound`]), and by 0.1 m below 45 degrees.
const LONGEST_PIECE_M: f64 = 1500.0;
/// No edge is cut into more pieces than this.
const MOST_PIECES: f64 = 300.0;
/// How far lines are kept beyond the edge of a panel, sheet units; the panel clips the rest.
const OVERHANG: f64 = 6.0;

/// Units of the sheet to a metre of it.
const UNITS_PER_METRE: f64 = 1000.0 / UNIT_MM;
/// The numbers that scales are chosen from, times a power of ten: those of ISO 5455 (1, 2 and 5)
/// and what maps are printed at between them (common practice, no source).
const DENOMINATORS: [f64; 9] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5];

/// The least standard denominator that is not below a number.
pub fn standard_denominator(needed: f64) -> f64 {
    let power = 10f64.powf(needed.log10().floor());
    DENOMINATORS
        .into_iter()
        .chain([10.0])
        .map(|digit| digit * power)
        // What rounding has put above a standard scale still is that scale.
        .find(|denominator| *denominator >= needed * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// The bounds of points of a plane, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub low: Xy,
    pub high: Xy,
}

impl Bounds {
    /// The bounds of points; none without a finite point.
    pub fn of(points: impl IntoIterator<Item = Xy>) -> Option<Self> {
        points
            .into_iter()
            .filter(|p| p.x.is_finite() && p.y.is_finite())
            .fold(None, |bounds: Option<Self>, p| {
                let b = bounds.unwrap_or(Self { low: p, high: p });
                Some(Self {
                    low: Xy::new(b.low.x.min(p.x), b.low.y.min(p.y)),
                    high: Xy::new(b.high.x.max(p.x), b.high.y.max(p.y)),
                })
            })
    }

    pub fn grown(self, by: f64) -> Self {
        Self {
            low: Xy::new(self.low.x - by, self.low.y - by),
            high: Xy::new(self.high.x + by, self.high.y + by),
        }
    }

    pub fn diagonal(self) -> f64 {
        self.low.distance(self.high)
    }
}

/// A window of a plane on a panel.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// The plane.
    pub frame: LocalFrame,
    /// The panel on the sheet.
    pub rect: Rect,
    /// Sheet units to a metre.
    pub scale: f64,
    middle: Xy,
}

impl View {
    /// The largest standard scale, not above 1 : `largest`, at which the bounds fit a panel.
    pub fn fit(frame: LocalFrame, bounds: Bounds, rect: Rect, largest: f64) -> Self {
        let width = (bounds.high.x - bounds.low.x).max(0.01);
        let height = (bounds.high.y - bounds.low.y).max(0.01);
        let needed = UNITS_PER_METRE * (width / rect.width()).max(height / rect.height());
        Self {
            frame,
            rect,
            scale: UNITS_PER_METRE / standard_denominator(needed.max(largest)),
            middle: bounds.low.towards(bounds.high, 0.5),
        }
    }

    /// The number N of its scale 1 : N.
    pub fn denominator(&self) -> f64 {
        UNITS_PER_METRE / self.scale
    }

    /// The point of the sheet for a point of the plane.
    pub fn on_sheet(&self, at: Xy) -> Point {
        let centre = self.rect.middle();
        Point::new(
            centre.x + (at.x - self.middle.x) * self.scale,
            centre.y - (at.y - self.middle.y) * self.scale,
        )
    }

    /// The point of the sheet for a place.
    pub fn place(&self, place: LonLat) -> Point {
        self.on_sheet(self.frame.to_plane(place))
    }

    /// Scale and place of the plane on the sheet.
    pub fn map(&self) -> Map {
        Map {
            middle: self.on_sheet(Xy::new(0.0, 0.0)),
            units_per_metre: self.scale,
        }
    }

    /// The place shown at a point of the sheet.
    pub fn place_at(&self, point: Point) -> LonLat {
        let centre = self.rect.middle();
        self.frame.to_place(Xy::new(
            self.middle.x + (point.x - centre.x) / self.scale,
            self.middle.y - (point.y - centre.y) / self.scale,
        ))
    }

    /// The corners of the panel in the plane.
    pub fn window(&self) -> Bounds {
        let half = Xy::new(
            self.rect.width() / 2.0 / self.scale,
            self.rect.height() / 2.0 / self.scale,
        );
        Bounds {
            low: Xy::new(self.middle.x - half.x, self.middle.y - half.y),
            high: Xy::new(self.middle.x + half.x, self.middle.y + half.y),
        }
    }

    /// A chain of places as chains of points within the panel.
    pub fn chain(&self, places: &[LonLat]) -> Vec<Vec<Point>> {
        let points: Vec<Point> = pieces(places).into_iter().map(|p| self.place(p)).collect();
        self.clipped(&points)
    }

    /// Rings of places as closed rings of points, cut to the panel.
    pub fn rings(&self, polygon: &Polygon<f64>) -> Vec<Vec<Point>> {
        rings(polygon)
            .map(|ring| self.cut_ring(pieces(&ring).into_iter().map(|p| self.place(p)).collect()))
            .filter(|ring| ring.len() > 2)
            .collect()
    }

    /// A ring of points cut to the panel and its overhang.
    pub fn cut_ring(&self, ring: Vec<Point>) -> Vec<Point> {
        cut_ring(ring, &self.rect.grown(OVERHANG))
    }

    /// A chain of points as the parts of it within the panel and its overhang.
    pub fn clipped(&self, points: &[Point]) -> Vec<Vec<Point>> {
        let window = self.rect.grown(OVERHANG);
        let mut parts: Vec<Vec<Point>> = Vec::new();
        for (from, to) in points.iter().zip(points.iter().skip(1)) {
            let Some((a, b)) = clip_segment(*from, *to, &window) else {
                continue;
            };
            match parts.last_mut() {
                Some(part) if part.last() == Some(&a) => part.push(b),
                _ => parts.push(vec![a, b]),
            }
        }
        parts
    }
}

/// A ring or chain of longitudes and latitudes as places.
pub fn places(ring: &LineString<f64>) -> Vec<LonLat> {
    ring.coords()
        .filter(|c| c.x.is_finite() && c.y.is_finite())
        .map(|c| LonLat::wrapped(c.x, c.y))
        .collect()
}

/// The exterior and the holes of a polygon as closed chains of places.
pub fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = Vec<LonLat>> + '_ {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(places)
}

/// A chain with its long edges cut, so that each piece is straight in the plane too.
pub fn pieces(chain: &[LonLat]) -> Vec<LonLat> {
    let mut cut: Vec<LonLat> = chain.first().copied().into_iter().collect();
    for (from, to) in chain.iter().zip(chain.iter().skip(1)) {
        let steps = (distance(*from, *to).m() / LONGEST_PIECE_M)
            .ceil()
            .clamp(1.0, MOST_PIECES);
        for step in 1..steps as usize {
            cut.push(from.towards(*to, step as f64 / steps));
        }
        cut.push(*to);
    }
    cut
}

/// The part of a segment in a rectangle (Liang and Barsky, ACM Trans. Graph. 3, 1984; from memory).
pub fn clip_segment(from: Point, to: Point, window: &Rect) -> Option<(Point, Point)> {
    if !from.is_finite() || !to.is_finite() {
        return None;
    }
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let (mut enter, mut leave) = (0f64, 1f64);
    for (step, room) in [
        (-dx, from.x - window.left),
        (dx, window.right - from.x),
        (-dy, from.y - window.top),
        (dy, window.bottom - from.y),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let along = |share: f64| {
        if share == 0.0 {
            from
        } else if share == 1.0 {
            to
        } else {
            Point::new(from.x + share * dx, from.y + share * dy)
        }
    };
    (enter <= leave).then(|| (along(enter), along(leave)))
}

/// A ring cut to a rectangle (Sutherland and Hodgman, Comm. ACM 17, 1974; from memory).
fn cut_ring(ring: Vec<Point>, window: &Rect) -> Vec<Point> {
    let sides: [fn(Point, &Rect) -> f64; 4] = [
        |p, w| p.x - w.left,
        |p, w| w.right - p.x,
        |p, w| p.y - w.top,
        |p, w| w.bottom - p.y,
    ];
    let mut kept: Vec<Point> = ring.into_iter().filter(|p| p.is_finite()).collect();
    for room in sides {
        let mut next = Vec::with_capacity(kept.len());
        let shifted = kept.iter().cycle().skip(1);
        for (from, to) in kept.iter().zip(shifted) {
            let (a, b) = (room(*from, window), room(*to, window));
            if a >= 0.0 {
                next.push(*from);
            }
            if (a >= 0.0) != (b >= 0.0) {
                let share = a / (a - b);
                next.push(Point::new(
                    from.x + share * (to.x - from.x),
                    from.y + share * (to.y - from.y),
                ));
            }
        }
        kept = next;
    }
    kept
}

/// Whether a segment meets a rectangle.
pub fn meets(from: Point, to: Point, rect: &Rect) -> bool {
    clip_segment(from, to, rect).is_some()
}

/// Parallel lines at an angle (degrees, anticlockwise from the right) over the inside of rings by
/// the even–odd rule, `apart` sheet units from one another.
pub fn hatch(rings: &[Vec<Point>], angle_deg: f64, apart: f64) -> Vec<(Point, Point)> {
    let (sine, cosine) = angle_deg.to_radians().sin_cos();
    let turned = |p: Point| Point::new(p.x * cosine - p.y * sine, p.x * sine + p.y * cosine);
    let back = |p: Point| Point::new(p.x * cosine + p.y * sine, p.y * cosine - p.x * sine);
    let rings: Vec<Vec<Point>> = rings
        .iter()
        .map(|ring| ring.iter().copied().map(turned).collect())
        .collect();
    let heights = || rings.iter().flatten().map(|p: &Point| p.y);
    let low = heights().fold(f64::INFINITY, f64::min);
    let high = heights().fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high.is_finite()) || apart <= 0.0 {
        return Vec::new();
    }
    let first = (low / apart).ceil() as i64;
    let last = (high / apart).floor() as i64;
    let mut lines = Vec::new();
    for row in first..=last {
        // Half a thousandth off the grid, so that no line runs through a vertex placed on it.
        let y = row as f64 * apart + 0.000_5;
        let mut crossings: Vec<f64> = rings
            .iter()
            .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
            .filter(|(a, b)| (a.y > y) != (b.y > y))
            .map(|(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            if let [from, to] = pair {
                lines.push((back(Point::new(*from, y)), back(Point::new(*to, y))));
            }
        }
    }
    lines
}
