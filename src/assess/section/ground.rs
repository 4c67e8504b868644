//! The ground along a cut, and the obstacles on it: those of the site, and farther out where the cut
//! goes beyond what the site looks at.

use std::collections::HashSet;

use super::Asked;
use super::line::Cut;
use crate::answer::{StationAnswer, Stretch};
use crate::assess::DRAWN_AROUND;
use crate::assess::ground::SiteGround;
use crate::field::Cell;
use crate::field::ground::GroundRange;
use crate::frame::{Xy, longitude_step};
use crate::obstacle::Obstacle;
use crate::read::Window;
use crate::units::Metres;

/// Stretches of unknown ground are found to this share of the distance between stations.
const UNKNOWN_WITHIN_SHARE: f64 = 1.0 / 16.0;

/// Degrees for a metre of latitude, rounded up; it only decides which obstacles are looked at.
const DEGREES_PER_METRE: f64 = 1.0 / 110_000.0;

/// The ground along a cut.
#[derive(Clone, Copy)]
pub struct CutGround<'a> {
    /// The ground of the site.
    pub near: &'a SiteGround,
    /// That out to the ends of the cut, where it goes beyond the site's.
    pub far: Option<&'a SiteGround>,
}

/// How far from the middle of the area the site looks at ground and obstacles, metres.
fn site_radius(asked: &Asked) -> f64 {
    (asked.plan.radius() + asked.question.profile.widest_reach() + DRAWN_AROUND).m()
}

/// The ground out to the ends of a cut that goes beyond the site; none where it does not, or where
/// the terrain is too large to be read so far, which the notes say.
pub fn beyond_site(
    asked: &Asked,
    cut: &Cut,
    corridor: Metres,
    notes: &mut Vec<String>,
) -> Option<SiteGround> {
    let reach = cut.farthest() + corridor.m();
    if reach <= site_radius(asked) {
        return None;
    }
    let around = Metres::of(reach) - asked.plan.radius() - DRAWN_AROUND;
    match SiteGround::of(
        asked.question.site_elevation,
        asked.question.ground_accuracy,
        asked.layers.terrain.as_ref(),
        asked.plan,
        around,
    ) {
        // What is missing was said of the site.
        Ok((ground, _)) => Some(ground),
        Err(why) => {
            notes.push(format!(
                "ground and obstacles farther than {:.0} m from the middle of the area are not \
                 shown: {}",
                site_radius(asked),
                why.cause()
            ));
            None
        }
    }
}

/// The obstacles about a cut that are not among those of the site.
pub fn records_beyond_site(
    asked: &Asked<'_>,
    cut: &Cut,
    corridor: Metres,
) -> Vec<(usize, Obstacle)> {
    let known: HashSet<usize> = asked.nearby.placed.iter().map(|it| it.number).collect();
    asked
        .layers
        .obstacles
        .numbered_near(window(asked, cut, corridor))
        .filter(|(number, _)| !known.contains(number))
        .collect()
}

/// The box of longitudes and latitudes that holds a cut and its corridor.
fn window(asked: &Asked, cut: &Cut, corridor: Metres) -> Window {
    let origin = asked.plan.frame().origin();
    let (mut west, mut east) = (0f64, 0f64);
    let (mut south, mut north) = (origin.lat(), origin.lat());
    let ends = cut.pieces().iter().map(|piece| piece.at);
    for at in ends.chain([cut.length()]) {
        let place = cut.place(at);
        let step = longitude_step(origin.lon(), place.lon());
        (west, east) = (west.min(step), east.max(step));
        (south, north) = (south.min(place.lat()), north.max(place.lat()));
    }
    let highest = south.abs().max(north.abs()).to_radians().cos().max(0.01);
    Window {
        west: origin.lon() + west,
        south,
        east: origin.lon() + east,
        north,
    }
    .widened((corridor.m() + 1.0) * DEGREES_PER_METRE / highest)
}

impl CutGround<'_> {
    fn at(&self, point: Xy) -> Option<GroundRange> {
        let far = || self.far.and_then(|far| far.ground.known_at(point));
        self.near.ground.known_at(point).or_else(far)
    }

    /// Whether the ground may be unknown somewhere between two points.
    fn may_be_unknown(&self, from: Xy, to: Xy) -> bool {
        let cell = Cell::new([from, to, to]);
        let is_known = |ground: &SiteGround| {
            ground
                .ground
                .over(&cell)
                .is_some_and(|range| !range.has_unknown)
        };
        !is_known(self.near) && !self.far.is_some_and(is_known)
    }

    /// The ground at every position.
    pub fn stations(&self, cut: &Cut, positions: &[f64]) -> Vec<StationAnswer> {
        positions
            .iter()
            .map(|&at| {
                let ground = self.at(cut.point(at));
                StationAnswer {
                    at_m: Metres::of(at),
                    place: cut.place(at),
                    ground_low_m: ground.map(|range| range.low),
                    ground_high_m: ground.map(|range| range.high),
                }
            })
            .collect()
    }

    /// Where the ground may be unknown, never shorter than it is.
    pub fn unknown(&self, cut: &Cut, positions: &[f64]) -> Vec<Stretch> {
        let mut stretches: Vec<Stretch> = Vec::new();
        let mut add = |from: f64, to: f64| match stretches.last_mut() {
            Some(last) if last.to_m.m() >= from => last.to_m = Metres::of(to),
            _ => stretches.push(Stretch {
                from_m: Metres::of(from),
                to_m: Metres::of(to),
            }),
        };
        for pair in positions.windows(2) {
            let &[from, to] = pair else { continue };
            let least = (to - from) * UNKNOWN_WITHIN_SHARE;
            // First in, first out would do as well; taken from the end, stretches come in order.
            let mut left = vec![(from, to)];
            while let Some((from, to)) = left.pop() {
                if !self.may_be_unknown(cut.point(from), cut.point(to)) {
                    continue;
                }
                if to - from <= least {
                    add(from, to);
                } else {
                    let middle = f64::midpoint(from, to);
                    left.push((middle, to));
                    left.push((from, middle));
                }
            }
        }
        stretches
    }
}
