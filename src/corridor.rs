//! The operating area about a point or along a line: a disc of a radius, a corridor of a width.
//!
//! Both are polygons that *hold* the true disc or corridor: no point nearer than the radius, or than
//! half the width, is left out. They exceed it by at most [`excess`]. Not here: where radius and width
//! come from (see [`crate::read`]).

use geo::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{BoundingRect, Coord, LineString, MultiLineString, MultiPolygon, Polygon};

use crate::frame::{LocalFrame, LonLat, circumscribed_ring, longitude_step};
use crate::plan::{cut_within, xy};
use crate::units::Metres;

/// How much wider than true a disc or corridor may be drawn, as a share of its radius or half width.
const EXCESS_SHARE: f64 = 0.005;

/// And no more than this, metres: about what the positions of obstacles are known to.
const MOST_EXCESS_M: f64 = 1.0;

/// How far an edge may lie from the one that it stands for, metres: on the way into the plane, and
/// on the way back. A finer one cuts long lines into needless pieces.
const BOW_M: f64 = 0.005;

/// What a corridor is widened by for both bows, and for the grid of whole numbers that the union of
/// its pieces is found on (2⁻³⁰ of its width, 0.1 mm on 100 km), metres.
const CORRIDOR_SLACK_M: f64 = 0.02;

/// How far a disc or corridor of this radius or half width may exceed the true one, metres; a
/// corridor by 2 cm more.
#[must_use]
pub fn excess(radius: Metres) -> Metres {
    Metres::of((radius.m() * EXCESS_SHARE).min(MOST_EXCESS_M))
}

/// The disc of a radius about a place.
#[must_use]
pub fn disc(centre: LonLat, radius: Metres) -> MultiPolygon<f64> {
    let mut ring: Vec<Coord<f64>> = circumscribed_ring(centre, radius, excess(radius))
        .into_iter()
        .map(coord)
        .collect();
    ring.extend(ring.first().copied());
    MultiPolygon(vec![Polygon::new(LineString(ring), Vec::new())])
}

/// All places within half the width of some lines, ends rounded; the union of discs for lines of one
/// place.
///
/// Lines are straight in longitude and latitude, as in RFC 7946 section 3.1.1. Meant for lines that
/// stay within a hundred kilometres and 89 degrees of latitude, which whoever checks the area refuses
/// beyond.
#[must_use]
pub fn corridor(lines: &[Vec<LonLat>], width: Metres) -> MultiPolygon<f64> {
    let Some(frame) = frame_about(lines) else {
        return MultiPolygon(Vec::new());
    };
    let laid_out = MultiLineString(
        lines
            .iter()
            .map(|line| {
                cut_within(line, Metres::of(BOW_M))
                    .into_iter()
                    .map(|place| frame.to_plane(place))
                    .map(|point| Coord {
                        x: point.x,
                        y: point.y,
                    })
                    .collect::<LineString<f64>>()
            })
            .collect(),
    );
    let half = width.m() / 2.0;
    let reach = laid_out
        .bounding_rect()
        .map_or(0.0, |extent| extent.width().hypot(extent.height()))
        + half;
    // The plane lengthens distances, by no more than its stretch.
    let true_half = half * (1.0 + LocalFrame::stretch(Metres::of(reach))) + CORRIDOR_SLACK_M;
    // A round corner of the buffer is a chain of chords, each of less than two steps: its middle lies
    // inwards by the cosine of a step.
    let excess_share = excess(Metres::of(half)).m() / half;
    let step = (1.0 / (1.0 + excess_share)).acos();
    let style = BufferStyle::new(true_half / step.cos())
        .line_join(LineJoin::Round(step))
        .line_cap(LineCap::Round(step));
    let around = laid_out.buffer_with_style(style);
    MultiPolygon(
        around
            .into_iter()
            .map(|polygon| {
                let (exterior, holes) = polygon.into_inner();
                Polygon::new(
                    back(&frame, &exterior),
                    holes.iter().map(|hole| back(&frame, hole)).collect(),
                )
            })
            .collect(),
    )
}

/// The plane about the middle of the box of some lines.
fn frame_about(lines: &[Vec<LonLat>]) -> Option<LocalFrame> {
    let first = *lines.iter().flatten().next()?;
    let counted = MultiLineString(
        lines
            .iter()
            .map(|line| {
                line.iter()
                    .map(|place| Coord {
                        x: longitude_step(first.lon(), place.lon()),
                        y: place.lat(),
                    })
                    .collect::<LineString<f64>>()
            })
            .collect(),
    );
    let middle = counted.bounding_rect()?.center();
    Some(LocalFrame::about(LonLat::wrapped(
        first.lon() + middle.x,
        middle.y,
    )))
}

/// A ring of the plane in longitude and latitude, its long edges cut so that each stays within
/// [`BOW_M`] of the edge that it stands for.
fn back(frame: &LocalFrame, ring: &LineString<f64>) -> LineString<f64> {
    let corners: Vec<LonLat> = ring.coords().map(|c| frame.to_place(xy(*c))).collect();
    let mut places: Vec<Coord<f64>> = corners.first().copied().map(coord).into_iter().collect();
    for (edge, ends) in ring.lines().zip(corners.windows(2)) {
        let parts = cut_within(ends, Metres::of(BOW_M)).len().saturating_sub(1);
        places.extend((1..parts).map(|k| {
            let share = k as f64 / parts as f64;
            let point = xy(edge.start).towards(xy(edge.end), share);
            coord(frame.to_place(point))
        }));
        places.extend(ends.last().copied().map(coord));
    }
    LineString(places)
}

fn coord(place: LonLat) -> Coord<f64> {
    Coord {
        x: place.lon(),
        y: place.lat(),
    }
}
