//! The outline of an airspace volume laid out in the plane about a site.
//!
//! Volumes may be as wide as a country. Their rings are cut off at a box of longitudes and latitudes
//! around the site first (edges are straight in these, so the cut is exact and keeps what winds
//! around a point of the box), then laid out like everything else.

use geo::{LineString, MultiPolygon, Polygon};

use crate::field::boundary::{Boundary, Part, Ring};
use crate::frame::{LonLat, Xy, distance, longest_segment, longitude_step};
use crate::plan::Plan;
use crate::read::Window;
use crate::units::Metres;

/// How far a laid-out edge may lie from the edge that is straight in longitude and latitude,
/// metres; regions are grown by it.
const LAYOUT_ERROR: Metres = Metres::of(0.005);

/// A box in degrees; longitudes counted from the origin of the plane.
#[derive(Clone, Copy)]
struct Box4 {
    west: f64,
    south: f64,
    east: f64,
    north: f64,
}

/// A corner of a ring with what the edge that leads to the next one is.
type Corner = (f64, f64, bool);

/// The outline within a window around the site, grown by `accuracy`; none where the whole volume is
/// outside the window.
///
/// The window holds every place within `reach` of the area.
pub fn outline(
    plan: &Plan,
    polygons: &MultiPolygon<f64>,
    window: Window,
    reach: Metres,
    accuracy: Metres,
) -> Option<Boundary> {
    let origin = plan.frame().origin();
    let all_round = window.width() >= 360.0;
    let west = longitude_step(origin.lon(), window.west);
    // Seen from the origin the window begins in the west.
    let west = if west > 0.0 { west - 360.0 } else { west };
    let cut = Box4 {
        west: if all_round { -180.0 } else { west },
        east: if all_round {
            180.0
        } else {
            west + window.width()
        },
        south: window.south,
        north: window.north,
    };
    let mut parts = Vec::new();
    for polygon in polygons {
        // A wide polygon may reach the site from either side.
        for turn in [-360.0, 0.0, 360.0] {
            parts.extend(part(plan, polygon, turn, cut));
        }
    }
    if parts.is_empty() {
        return None;
    }
    let stretch = crate::frame::LocalFrame::stretch(plan.radius() + reach);
    let beyond = reach.m() * (1.0 - stretch);
    Some(Boundary::new(
        parts,
        accuracy.m() + LAYOUT_ERROR.m(),
        beyond,
    ))
}

fn part(plan: &Plan, polygon: &Polygon<f64>, turn: f64, cut: Box4) -> Option<Part> {
    let laid_out = |ring: &LineString<f64>| {
        let corners = cut_off(unwrapped(plan.frame().origin().lon(), ring, turn), cut);
        (corners.len() >= 3).then(|| lay_out(plan, &corners))
    };
    Some(Part {
        exterior: laid_out(polygon.exterior())?,
        holes: polygon.interiors().iter().filter_map(laid_out).collect(),
    })
}

/// The corners of a ring, its last (the first again) left out, longitudes counted from `origin` and
/// running on from corner to corner the short way round.
fn unwrapped(origin: f64, ring: &LineString<f64>, turn: f64) -> Vec<Corner> {
    let mut corners: Vec<Corner> = Vec::with_capacity(ring.0.len());
    let mut last: Option<(f64, f64)> = None;
    for corner in &ring.0 {
        let x = match last {
            None => longitude_step(origin, corner.x) + turn,
            Some((counted, stated)) => counted + longitude_step(stated, corner.x),
        };
        last = Some((x, corner.x));
        corners.push((x, corner.y, true));
    }
    if corners.len() > 1 {
        corners.pop();
    }
    corners
}

/// A ring cut off at a box, side by side (I. Sutherland and G. Hodgman, "Reentrant polygon
/// clipping", 1974). Edges along the box close it and are no outline.
fn cut_off(corners: Vec<Corner>, cut: Box4) -> Vec<Corner> {
    let sides: [(bool, f64, f64); 4] = [
        (true, cut.west, 1.0),
        (true, cut.east, -1.0),
        (false, cut.south, 1.0),
        (false, cut.north, -1.0),
    ];
    let mut ring = corners;
    for (is_x, limit, sign) in sides {
        let along = |corner: &Corner| if is_x { corner.0 } else { corner.1 };
        let inside = |corner: &Corner| (along(corner) - limit) * sign >= 0.0;
        let mut kept: Vec<Corner> = Vec::with_capacity(ring.len() + 4);
        for (here, next) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let crossing = |is_outline: bool| {
                let share = (limit - along(here)) / (along(next) - along(here));
                let other = |a: f64, b: f64| a + share * (b - a);
                if is_x {
                    (limit, other(here.1, next.1), is_outline)
                } else {
                    (other(here.0, next.0), limit, is_outline)
                }
            };
            match (inside(here), inside(next)) {
                (true, true) => kept.push(*here),
                // Out: the rest of this edge is cut off, and what follows runs along the box.
                (true, false) => {
                    kept.push(*here);
                    kept.push(crossing(false));
                }
                (false, true) => kept.push(crossing(here.2)),
                (false, false) => {}
            }
        }
        ring = kept;
    }
    ring
}

/// A ring in the plane, its edges cut so short that they are straight there.
fn lay_out(plan: &Plan, corners: &[Corner]) -> Ring {
    let frame = plan.frame();
    let origin = frame.origin().lon();
    let at = |lon: f64, lat: f64| LonLat::wrapped(origin + lon, lat);
    let mut edges = Vec::new();
    for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let latitude = from.1.abs().max(to.1.abs());
        let longest = longest_segment(LAYOUT_ERROR, latitude).m();
        let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        // By the middle, for an edge across half the Earth.
        let length = distance(at(from.0, from.1), at(middle.0, middle.1)).m()
            + distance(at(middle.0, middle.1), at(to.0, to.1)).m();
        let count = (length / longest).ceil().clamp(1.0, MOST_PIECES);
        let place = |k: f64| -> Xy {
            let share = k / count;
            frame.to_plane(at(
                from.0 + share * (to.0 - from.0),
                from.1 + share * (to.1 - from.1),
            ))
        };
        let mut last = place(0.0);
        for k in 1..=count as usize {
            let next = place(k as f64);
            edges.push((last, next, from.2));
            last = next;
        }
    }
    Ring { edges }
}

/// An edge is cut into no more pieces than this: within the widest search (500 km) none needs more.
const MOST_PIECES: f64 = 100_000.0;
