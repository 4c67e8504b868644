//! Where a site lies to the runways of the aerodromes listed: beyond which end, how far beside.

use geo::ConvexHull;

use crate::aerodrome::Runway;
use crate::answer::{AerodromeAnswer, OutboundAnswer, RunwayAnswer, RunwayEndAnswer};
use crate::field::convex::Convex;
use crate::frame::{LocalFrame, LonLat};
use crate::plan::{Plan, cut_short, xy};
use crate::runway::{DirectionFrom, centreline, length, midpoint, outbound};
use crate::site::OperatingArea;
use crate::units::Metres;

/// An area with more corners than this is asked by the corners of its convex hull, where offsets, all
/// but linear across an area, are greatest.
const MOST_CORNERS: usize = 400;

/// Centrelines are cut into pieces no longer than this for their distance.
const PIECE: Metres = Metres::of(500.0);

/// The corners of an area that decide its offsets, edges cut short.
pub fn corners(area: &OperatingArea, plan: &Plan) -> Vec<LonLat> {
    let corners: Vec<LonLat> = area.rings().flat_map(|ring| cut_short(&ring)).collect();
    if corners.len() <= MOST_CORNERS {
        return corners;
    }
    plan.polygons()
        .convex_hull()
        .exterior()
        .coords()
        .map(|corner| plan.frame().to_place(xy(*corner)))
        .collect()
}

pub fn answer(
    aerodromes: &[AerodromeAnswer],
    corners: &[LonLat],
    plan: &Plan,
    declination: Option<f64>,
) -> Vec<RunwayAnswer> {
    aerodromes
        .iter()
        .flat_map(|aerodrome| {
            aerodrome
                .record
                .runways
                .iter()
                .map(|runway| one(&aerodrome.title, runway, corners, plan, declination))
        })
        .collect()
}

fn one(
    aerodrome: &str,
    runway: &Runway,
    corners: &[LonLat],
    plan: &Plan,
    declination: Option<f64>,
) -> RunwayAnswer {
    let ends = [0, 1].into_iter().zip(&runway.ends).map(|(number, end)| {
        let outbound = outbound(runway, number).and_then(|line| {
            let (least, most) = line.range(corners)?;
            Some(OutboundAnswer {
                end: line.end,
                elevation_m_amsl: end.elevation,
                threshold: line.threshold,
                displaced_m: line.displaced,
                bearing_true_deg: line.bearing,
                bearing_magnetic_deg: declination.map(|it| line.bearing.magnetic(it)),
                bearing_is_stated: line.direction_from == DirectionFrom::StatedBearing,
                along_least_m: least.along,
                along_most_m: most.along,
                right_least_m: least.across,
                right_most_m: most.across,
            })
        });
        RunwayEndAnswer {
            designator: end.designator.clone(),
            outbound,
        }
    });
    RunwayAnswer {
        aerodrome: aerodrome.to_owned(),
        designator: runway.designator.clone(),
        closed: runway.closed,
        length_m: length(runway),
        stated_length_m: runway.length,
        width_m: runway.width,
        midpoint: midpoint(runway),
        centreline_m: centreline(runway, PIECE).map(|line| from_centreline(&line, plan)),
        ends: ends.collect(),
    }
}

/// The distance of the area from a centreline; the most that the plane stretches it is taken off.
fn from_centreline(line: &[LonLat], plan: &Plan) -> Metres {
    let chain: Vec<_> = line
        .iter()
        .map(|place| plan.frame().to_plane(*place))
        .collect();
    let out = chain
        .iter()
        .map(|point| point.x.hypot(point.y))
        .fold(plan.radius().m(), f64::max);
    let nearest = chain
        .windows(2)
        .map(|pair| plan.distance_to(&Convex::hull(pair)))
        .fold(f64::INFINITY, f64::min);
    Metres::of((nearest / (1.0 + LocalFrame::stretch(Metres::of(out))) - PLACING_M).max(0.0))
}

/// What a piece of a centreline and the edges of the area may lie beside their true place, metres.
const PLACING_M: f64 = 0.001;
