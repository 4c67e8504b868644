//! How much of what penetrates a surface is below the shielding planes of permanent obstacles.
//!
//! A point is shielded when, for every runway of the aerodrome, some obstacle's planes are there at
//! or above the top of the operating volume. Estimated heights shield nothing.

use super::obstacles::Nearby;
use crate::aerodrome::Aerodrome;
use crate::field::convex::Convex;
use crate::field::ground::Ground;
use crate::field::shielding_plane::ShieldingPlanes;
use crate::field::surface::Surface;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::search;
use crate::surfaces::answer::{PlanesAnswer, ShieldedShare};
use crate::surfaces::placing_slack;
use crate::surfaces::runway_line::RunwayLine;
use crate::surfaces::shielding_planes::ShieldingRule;

/// How closely the shares are found, as a share of the area.
const TOLERANCE: f64 = 1e-3;

/// How many cells a share may take.
const MOST_CELLS: usize = 40_000;

/// How many planes may be asked over all cells: many obstacles get fewer cells, and a share that is
/// farther from the true one, on the side that shields less.
const MOST_PLANES_ASKED: usize = 20_000_000;

/// Where a surface and the top of the volume differ by less there is no penetration, metres.
const LEAST_PENETRATION_M: f64 = 1e-6;

/// The top of the operating volume.
#[derive(Clone, Copy)]
pub enum Top<'a> {
    /// Metres AMSL.
    Amsl(f64),
    /// Metres above the highest that the ground can be.
    AboveGround(f64, &'a Ground),
}

impl Top<'_> {
    /// Least and greatest over a cell; none where the ground may be unknown.
    fn over(&self, cell: &Cell) -> Option<(f64, f64)> {
        match self {
            Self::Amsl(level) => Some((*level, *level)),
            Self::AboveGround(height, ground) => {
                let range = ground.over(cell).filter(|range| !range.has_unknown)?;
                let above = height + ground.accuracy();
                Some((range.low + above, range.high + above))
            }
        }
    }
}

/// The obstacles that may shield near an area.
pub struct Shields<'a> {
    rule: &'a ShieldingRule,
    nearby: &'a Nearby,
    plan: &'a Plan,
    slack: f64,
}

impl<'a> Shields<'a> {
    pub fn new(rule: &'a ShieldingRule, nearby: &'a Nearby, plan: &'a Plan) -> Self {
        Self {
            rule,
            nearby,
            plan,
            slack: placing_slack(plan.radius() + rule.reach),
        }
    }

    /// The obstacles within reach of the area with a trusted top that is stated: leaf, level.
    fn tops(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let placed = self.nearby.placed.iter().enumerate();
        placed.filter_map(|(leaf, placed)| {
            let top = placed.trusted.as_ref().ok()?;
            let is_near = placed.is_within(self.rule.reach.m(), self.plan);
            (is_near && !top.is_estimate).then_some((leaf, top.level))
        })
    }

    pub fn answer(&self) -> PlanesAnswer {
        PlanesAnswer {
            title: self.rule.title.clone(),
            citation: self.rule.citation.clone(),
            edition: self.rule.edition.clone(),
            mark: self.rule.mark,
            caution: self.rule.caution.clone(),
            slope_towards_runway: self.rule.slope,
            reach_along_m: self.rule.reach,
            reach_along_source: self.rule.reach_source.clone(),
            obstacles: self.tops().count(),
        }
    }

    /// The planes towards each runway of an aerodrome; none without a runway, or when one that is
    /// not closed cannot be laid out, for the direction to it is unknown.
    pub fn towards(&self, aerodrome: &Aerodrome, plan: &Plan) -> Option<Planes> {
        let mut runways = Vec::new();
        for runway in aerodrome.runways.iter().filter(|runway| !runway.closed) {
            let line = RunwayLine::of(runway, aerodrome, plan.frame()).ok()?;
            let planes = self.tops().flat_map(|(leaf, top)| {
                let placed = self.nearby.placed.get(leaf);
                let spread = self.slack
                    + placed.map_or(0.0, |it| it.record.horizontal_accuracy.m().max(0.0));
                let sets = placed.map_or(&[][..], |it| it.sets());
                // The obstacle as a whole too: it is connected, so no width is missing between its
                // pieces, and a straight span has no seams.
                let corners: Vec<Xy> = sets.iter().flat_map(Convex::corners).copied().collect();
                let whole = Convex::hull(&corners);
                std::iter::once(&whole)
                    .chain(sets)
                    .filter_map(|set| self.rule.planes_of_piece(leaf, set, top, spread, &line))
                    .collect::<Vec<_>>()
            });
            runways.push(planes.collect());
        }
        (!runways.is_empty()).then_some(Planes { runways })
    }
}

/// The planes towards each runway of an aerodrome: the least over runways of the greatest over
/// obstacles.
pub struct Planes {
    runways: Vec<Vec<ShieldingPlanes>>,
}

impl Planes {
    /// Bounds on what the cell is shielded to.
    fn over(&self, cell: &Cell) -> (f64, f64) {
        let one = |planes: &Vec<ShieldingPlanes>| {
            let nothing = (f64::NEG_INFINITY, f64::NEG_INFINITY);
            planes.iter().fold(nothing, |(low, high), it| {
                let bounds = it.over(cell);
                (low.max(bounds.low), high.max(bounds.high))
            })
        };
        let everything = (f64::INFINITY, f64::INFINITY);
        let runways = self.runways.iter().map(one);
        runways.fold(everything, |all, it| (all.0.min(it.0), all.1.min(it.1)))
    }

    /// How much of the area is above a surface and at or below the planes, and how much is above
    /// both.
    pub fn shares(&self, surface: &Surface, top: Top, plan: &Plan) -> ShieldedShare {
        let count: usize = self.runways.iter().map(Vec::len).sum();
        let budget = (MOST_PLANES_ASKED / count.max(1)).clamp(1, MOST_CELLS);
        let share = |wanted| {
            let asked = Asked {
                planes: self,
                surface,
                top,
                wanted,
            };
            search::share_at_or_above(&asked, plan.cells(), 0.0, TOLERANCE, budget).at_least
        };
        ShieldedShare {
            share: share(Wanted::PenetratedAndShielded),
            unshielded_share: 1.0 - share(Wanted::ClearOrShielded),
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Wanted {
    PenetratedAndShielded,
    ClearOrShielded,
}

/// At or above 0 where what is wanted holds; undetermined where the ground is unknown.
struct Asked<'a> {
    planes: &'a Planes,
    surface: &'a Surface,
    top: Top<'a>,
    wanted: Wanted,
}

impl Field for Asked<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.over(&Cell::new([point; 3])).low
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let Some((low, high)) = self.top.over(cell) else {
            return Enclosure::between(f64::NEG_INFINITY, f64::INFINITY);
        };
        let surface = self.surface.over(cell);
        let (least, most) = self.planes.over(cell);
        match self.wanted {
            Wanted::PenetratedAndShielded => Enclosure::between(
                (low - surface.high - LEAST_PENETRATION_M).min(least - high),
                (high - surface.low - LEAST_PENETRATION_M).min(most - low),
            ),
            Wanted::ClearOrShielded => {
                Enclosure::between(surface.low.max(least) - high, surface.high.max(most) - low)
            }
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.surface.governor(point)
    }
}
