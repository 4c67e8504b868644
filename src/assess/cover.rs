//! How far the shields of one rule cover an area, and up to which level, in numbers.

use super::expression::{Expression, LeafKind};
use super::obstacles::Nearby;
use crate::field::Field;
use crate::field::borders::Left;
use crate::field::convex::Convex;
use crate::field::covered::covered;
use crate::field::shield::{Piece, Shields};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::search::{self, Certificate, Limits, Scope, Stop};
use crate::units::Metres;

/// How near the bottleneck level is found, metres: levels of different shields that differ by less
/// are not told apart.
const LEVEL_TOLERANCE_M: f64 = 0.001;

/// How many of the lowest shields are tried at the point of the area nearest to them.
const LOWEST_TRIED: usize = 3;

/// The cover of one shield term.
#[derive(Clone, Copy, Debug)]
pub struct Cover {
    /// The number of the term among the leaves of the expression.
    pub leaf: usize,
    /// The search over the whole area.
    pub whole: Option<Certificate>,
    /// The least level where there is one: of the whole area, or of its covered part.
    pub completed: Option<Certificate>,
    /// Whether every point is certified to be within reach of a shield.
    pub is_wholly_covered: bool,
    /// Share of the area within reach, 0 to 1, never above the true share; 1 only when certified.
    pub covered_share: f64,
    /// The area out of reach, square metres, never less than the truth.
    pub uncovered_m2: f64,
    /// Whether a closer layout might cover all of the area: what is uncovered may be but the strips by
    /// which reaches are taken shorter.
    pub is_tight: bool,
    /// How many obstacles in reach can shield.
    pub shields_in_reach: usize,
    /// How many obstacles in reach cannot.
    pub not_shields_in_reach: usize,
}

/// The cover of each shield term of an expression.
pub fn covers(expression: &Expression, nearby: &Nearby, plan: &Plan) -> Vec<Cover> {
    expression
        .leaves
        .iter()
        .enumerate()
        .filter_map(|(leaf, it)| match &it.kind {
            LeafKind::Cap(_) | LeafKind::Airspace(_) => None,
            LeafKind::Shield {
                reach,
                shields,
                shields_in_reach,
                ..
            } => Some(one(
                leaf,
                reach.value_m,
                shields,
                *shields_in_reach,
                nearby,
                plan,
            )),
        })
        .collect()
}

fn one(
    leaf: usize,
    reach: Metres,
    shields: &Shields,
    shields_in_reach: usize,
    nearby: &Nearby,
    plan: &Plan,
) -> Cover {
    let limits = Limits::within(LEVEL_TOLERANCE_M);
    let whole = search::lowest(shields, plan.for_cover().cells(), Scope::Everywhere, limits);
    let is_wholly_covered = whole.is_some_and(|found| found.lower.is_finite());
    let completed = if is_wholly_covered {
        whole
    } else {
        lowest_where_covered(shields, plan, limits)
    };
    let (uncovered_m2, is_tight) = if is_wholly_covered {
        (0.0, false)
    } else {
        let area = plan.for_cover();
        let within = covered(area.sides(), area.cells(), shields.pieces(), |_| true);
        let without = plan.area_m2() - (within.at_least_m2 - area.astray_m2());
        let is_tight = match within.left {
            Some(left) => is_gap_narrow(left, shields, nearby, plan),
            None => without <= strips_m2(shields, nearby, plan),
        };
        (without.max(SPECK_M2), is_tight && !plan.is_close())
    };
    let objects_in_reach = nearby
        .placed
        .iter()
        .filter(|placed| placed.is_within(reach.m(), plan))
        .count();
    Cover {
        is_tight,
        leaf,
        whole,
        completed,
        is_wholly_covered,
        covered_share: (1.0 - uncovered_m2 / plan.area_m2()).clamp(0.0, MOST_UNCERTAIN_SHARE),
        uncovered_m2,
        shields_in_reach,
        not_shields_in_reach: objects_in_reach.saturating_sub(shields_in_reach),
    }
    .certain()
}

/// Whether what is out of reach may be no more than strips along its own borders, as wide as reaches are
/// taken shorter for the layout of edges. Each point of it is then no farther from its borders, so there is
/// no more of it than their length times that width, but for corners; twice as much is allowed for.
fn is_gap_narrow(left: Left, shields: &Shields, nearby: &Nearby, plan: &Plan) -> bool {
    let widths = (shields.pieces().iter()).map(|piece| strip_m(piece, nearby, plan));
    left.area_m2 <= SPECK_M2 + 2.0 * left.border_m * widths.fold(0.0, f64::max)
}

/// The strips along the rims of all reaches by which they are taken shorter for the layout of edges,
/// square metres, twice over.
fn strips_m2(shields: &Shields, nearby: &Nearby, plan: &Plan) -> f64 {
    let strip = |piece: &Piece| {
        let (_, spread) = piece.shape.circle();
        let round = std::f64::consts::TAU * (spread + piece.reach);
        2.0 * strip_m(piece, nearby, plan) * round
    };
    SPECK_M2 + shields.pieces().iter().map(strip).sum::<f64>()
}

/// How much shorter the reach of a piece is taken for the layout of edges, metres.
fn strip_m(piece: &Piece, nearby: &Nearby, plan: &Plan) -> f64 {
    let placed = nearby.placed.get(piece.member);
    plan.for_cover().error_m() + placed.map_or(0.0, |it| it.layout_error_m())
}

impl Cover {
    fn certain(self) -> Self {
        Self {
            covered_share: if self.is_wholly_covered {
                1.0
            } else {
                self.covered_share
            },
            ..self
        }
    }
}

/// The least uncovered area that is stated where coverage could not be certified, square metres: a
/// square of the size at which cells are no longer split.
const SPECK_M2: f64 = search::RESOLUTION_M * search::RESOLUTION_M;

/// The greatest covered share that is stated where coverage could not be certified.
const MOST_UNCERTAIN_SHARE: f64 = 1.0 - 1e-12;

/// The least level over the covered part; none where nothing is covered.
///
/// No shield that comes within its reach of the area is lower than the lowest, so where one of the
/// lowest sets the level at the point nearest to it nothing needs to be searched.
fn lowest_where_covered(shields: &Shields, plan: &Plan, limits: Limits) -> Option<Certificate> {
    let lowest = shields.pieces().last()?;
    for piece in shields.pieces().iter().rev().take(LOWEST_TRIED) {
        if piece.level - lowest.level > limits.tolerance {
            break;
        }
        let place = nearest_point_of_area(plan, &piece.shape);
        let level = shields.at(place);
        if level.is_finite() && level - lowest.level <= limits.tolerance {
            return Some(Certificate {
                lower: lowest.level,
                attained: level,
                place,
                in_doubt: None,
                stop: Stop::Tolerance,
                cells: 0,
            });
        }
    }
    search::lowest(
        shields,
        plan.for_cover().cells(),
        Scope::WhereDetermined,
        limits,
    )
    .filter(|found| found.attained.is_finite())
}

/// A point of the area near to a set: its corner inside, or the point of an edge of the area that is
/// nearest to one of its corners or is a corner nearest to it.
fn nearest_point_of_area(plan: &Plan, set: &Convex) -> Xy {
    let mut best = (f64::INFINITY, Xy::default());
    let mut offer = |point: Xy| {
        let distance = set.distance(point);
        if distance < best.0 {
            best = (distance, point);
        }
    };
    for cell in plan.for_cover().cells() {
        let triangle = Convex::triangle(*cell.corners());
        for corner in set.corners() {
            offer(triangle.nearest(*corner));
        }
        for corner in cell.corners() {
            offer(*corner);
        }
    }
    best.1
}
