//! Geometry of a runway on the ellipsoid: its ends, threshold, mid-point and extended centrelines.
//!
//! Everything comes from the positions of the two ends by geodesic (Karney, through
//! [`crate::frame`]); a bearing that the data state is used only where one end has no position, and
//! a designator never. Outbound means away from the runway along its extended centreline; left and
//! right are those of an observer at the end who looks outbound. Offsets are taken at the foot of the
//! perpendicular geodesic: along-track from the end (positive beyond it, negative towards and past
//! the other end), across to the right. Accuracy: 1 mm within 100 km, tested against closed forms on
//! the equator and a meridian and against pyproj.
//!
//! Not here: which zones lie along a centreline (see [`crate::zone`]) or what a rule asks.

use crate::aerodrome::Runway;
use crate::frame::{LonLat, destination, geodesic};
use crate::units::{Bearing, Metres};

/// Ends closer together than this give no direction, metres: the last digit of positions that are
/// published to 1/100 second is 0.3 m.
const LEAST_LENGTH_M: f64 = 10.0;

/// How far a stated bearing may be off, degrees: half of the last digit of a bearing in whole
/// degrees, for the data do not say how it was rounded.
pub const STATED_BEARING_ACCURACY_DEG: f64 = 0.5;

/// The foot of a perpendicular is found to this, metres.
const FOOT_M: f64 = 1e-7;

/// No more steps than this to the foot; each gains the square of distance over Earth radius.
const MOST_STEPS: usize = 24;

/// Where the direction of an extended centreline comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DirectionFrom {
    /// The positions of both ends.
    Ends,
    /// A stated true bearing, as one end has no position.
    StatedBearing,
}

/// The extended centreline beyond one end of a runway.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outbound {
    /// The runway end.
    pub end: LonLat,
    /// The true bearing outbound at the end.
    pub bearing: Bearing,
    /// Where that comes from.
    pub direction_from: DirectionFrom,
    /// The threshold at this end: inward of the end by as much as it is displaced.
    pub threshold: LonLat,
    /// By how much it is displaced; 0 where the data state nothing.
    pub displaced: Metres,
}

/// Where a place lies to an extended centreline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offsets {
    /// Along-track distance beyond the end; negative short of it.
    pub along: Metres,
    /// Distance right of the centreline, looking outbound; negative left of it.
    pub across: Metres,
}

/// The extended centreline beyond the end number `end` (0 or 1) of a runway; none where that end has
/// no position, or nothing gives a direction.
#[must_use]
pub fn outbound(runway: &Runway, end: usize) -> Option<Outbound> {
    let [low, high] = &runway.ends;
    let (here, other) = if end == 0 { (low, high) } else { (high, low) };
    let place = here.position?;
    let from_ends = other
        .position
        .map(|other| geodesic(other, place))
        .filter(|line| line.distance.m() >= LEAST_LENGTH_M)
        .map(|line| line.bearing_onward);
    let stated = || {
        here.true_bearing
            .and_then(|take_off| Bearing::new(take_off.degrees() + 180.0).ok())
            .or(other.true_bearing)
    };
    let (bearing, direction_from) = match from_ends {
        Some(bearing) => (bearing, DirectionFrom::Ends),
        None => (stated()?, DirectionFrom::StatedBearing),
    };
    let displaced = here
        .displaced_threshold
        .map_or(Metres::ZERO, |it| it.max(Metres::ZERO));
    let mut line = Outbound {
        end: place,
        bearing,
        direction_from,
        threshold: place,
        displaced,
    };
    line.threshold = line.station(-displaced).0;
    Some(line)
}

/// The distance between the two ends; none where one has no position, or they all but coincide.
#[must_use]
pub fn length(runway: &Runway) -> Option<Metres> {
    let [low, high] = &runway.ends;
    let length = geodesic(low.position?, high.position?).distance;
    (length.m() >= LEAST_LENGTH_M).then_some(length)
}

/// The mid-point of the geodesic between the two ends; none without both.
#[must_use]
pub fn midpoint(runway: &Runway) -> Option<LonLat> {
    let half = Metres::of(length(runway)?.m() / 2.0);
    let [low, high] = &runway.ends;
    let line = geodesic(low.position?, high.position?);
    Some(destination(low.position?, line.bearing_from, half))
}

/// The places along the centreline from end to end, no farther apart than `apart`; none without both
/// ends.
#[must_use]
pub fn centreline(runway: &Runway, apart: Metres) -> Option<Vec<LonLat>> {
    let length = length(runway)?.m();
    let [low, high] = &runway.ends;
    let (from, to) = (low.position?, high.position?);
    let bearing = geodesic(from, to).bearing_from;
    let parts = (length / apart.m().max(1.0)).ceil().clamp(1.0, 1_000.0);
    let mut places: Vec<LonLat> = (0..parts as usize)
        .map(|k| destination(from, bearing, Metres::of(length * k as f64 / parts)))
        .collect();
    places.push(to);
    Some(places)
}

impl Outbound {
    /// The place at an along-track distance on the centreline, and the outbound bearing there.
    fn station(&self, along: Metres) -> (LonLat, Bearing) {
        if along.m() == 0.0 {
            return (self.end, self.bearing);
        }
        let place = destination(self.end, self.bearing, along);
        let onward = geodesic(self.end, place).bearing_onward;
        let turned = if along.m() < 0.0 { 180.0 } else { 0.0 };
        (
            place,
            Bearing::new(onward.degrees() + turned).unwrap_or(self.bearing),
        )
    }

    /// The place at given offsets.
    #[must_use]
    pub fn place(&self, offsets: Offsets) -> LonLat {
        let (foot, bearing) = self.station(offsets.along);
        if offsets.across.m() == 0.0 {
            return foot;
        }
        let right = Bearing::new(bearing.degrees() + 90.0).unwrap_or(bearing);
        destination(foot, right, offsets.across)
    }

    /// The offsets of a place.
    #[must_use]
    pub fn offsets(&self, place: LonLat) -> Offsets {
        let mut along = 0.0;
        let mut across = 0.0;
        for _ in 0..MOST_STEPS {
            let (foot, bearing) = self.station(Metres::of(along));
            let line = geodesic(foot, place);
            let (sine, cosine) = (line.bearing_from.degrees() - bearing.degrees())
                .to_radians()
                .sin_cos();
            let step = line.distance.m() * cosine;
            across = line.distance.m() * sine;
            along += step;
            if step.abs() < FOOT_M {
                break;
            }
        }
        Offsets {
            along: Metres::of(along),
            across: Metres::of(across),
        }
    }

    /// The least and greatest offsets among some places; none for no place.
    #[must_use]
    pub fn range(&self, places: &[LonLat]) -> Option<(Offsets, Offsets)> {
        places
            .iter()
            .map(|place| self.offsets(*place))
            .fold(None, |range, at| {
                let (least, most) = range.unwrap_or((at, at));
                Some((
                    Offsets {
                        along: least.along.min(at.along),
                        across: least.across.min(at.across),
                    },
                    Offsets {
                        along: most.along.max(at.along),
                        across: most.across.max(at.across),
                    },
                ))
            })
    }
}
