//! Obstacle limitation surfaces as fields: planes over convex footprints, and bowls about a convex
//! outline.
//!
//! Values are metres AMSL; `+∞` outside the footprint, whose edge belongs to it. Bounds are exact: a
//! plane is linear, so over a cell clipped to the footprint it is least and greatest at a corner;
//! a bowl rises with the distance from a convex set, which is greatest at a corner of the cell and
//! least at the separation. A `slack` covers the ways in which the plane is not the ellipsoid: the
//! footprint grows by it and the level drops by what the slope makes of it, so that a limit is kept.

use crate::field::convex::Convex;
use crate::field::ground::Ground;
use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// Footprints are at least this much larger than stated, metres: a micrometre covers the rounding
/// of a clipped corner and is far below the millimetre of distances.
const LEAST_SLACK_M: f64 = 1e-6;

/// A footprint smaller than this is no surface, square metres.
const LEAST_FOOTPRINT_M2: f64 = 1e-6;

/// The line `n · p + c = 0`, n of length 1 pointing inside.
#[derive(Clone, Copy, Debug, PartialEq)]
struct HalfPlane {
    normal: Xy,
    offset: f64,
}

impl HalfPlane {
    fn depth(&self, point: Xy) -> f64 {
        self.normal.x * point.x + self.normal.y * point.y + self.offset
    }
}

/// The part of a convex polygon that is no less deep than `least` in a half-plane.
fn clipped(corners: &[Xy], half: &HalfPlane, least: f64) -> Vec<Xy> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    let next = corners.iter().cycle().skip(1);
    for (&from, &to) in corners.iter().zip(next) {
        let (a, b) = (half.depth(from) - least, half.depth(to) - least);
        if a >= 0.0 {
            kept.push(from);
        }
        if (a >= 0.0) != (b >= 0.0) {
            kept.push(from.towards(to, (a / (a - b)).clamp(0.0, 1.0)));
        }
    }
    kept
}

/// A plane over a convex footprint.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    corners: Vec<Xy>,
    edges: Vec<HalfPlane>,
    anchor: Xy,
    level: f64,
    gradient: Xy,
    slack: f64,
    centre: Xy,
    radius: f64,
}

impl Sheet {
    /// The plane that has `level` (metres AMSL) at `anchor` and rises by `gradient` (metres a metre,
    /// east and north) over the convex polygon with these corners, in either order.
    ///
    /// None for a footprint of no area.
    #[must_use]
    pub fn new(
        mut corners: Vec<Xy>,
        anchor: Xy,
        level: f64,
        gradient: Xy,
        slack: f64,
    ) -> Option<Self> {
        corners.dedup_by(|a, b| a.distance(*b) < LEAST_SLACK_M);
        while corners.len() > 1
            && corners
                .first()
                .zip(corners.last())
                .is_some_and(|(first, last)| first.distance(*last) < LEAST_SLACK_M)
        {
            corners.pop();
        }
        let first = *corners.first()?;
        let next = || corners.iter().cycle().skip(1);
        let double_area: f64 = corners
            .iter()
            .zip(next())
            .map(|(a, b)| (a.x - first.x) * (b.y - first.y) - (b.x - first.x) * (a.y - first.y))
            .sum();
        // Written so that NaN fails.
        if !(double_area.abs() > 2.0 * LEAST_FOOTPRINT_M2 && level.is_finite()) {
            return None;
        }
        if double_area < 0.0 {
            corners.reverse();
        }
        let edges = corners
            .iter()
            .zip(corners.iter().cycle().skip(1))
            .map(|(from, to)| {
                let length = from.distance(*to);
                let normal = Xy::new((from.y - to.y) / length, (to.x - from.x) / length);
                HalfPlane {
                    normal,
                    offset: -(normal.x * from.x + normal.y * from.y),
                }
            })
            .collect();
        let count = corners.len() as f64;
        let centre = Xy::new(
            corners.iter().map(|corner| corner.x).sum::<f64>() / count,
            corners.iter().map(|corner| corner.y).sum::<f64>() / count,
        );
        let radius = corners
            .iter()
            .map(|corner| corner.distance(centre))
            .fold(0.0, f64::max);
        let slack = slack.max(LEAST_SLACK_M);
        Some(Self {
            corners,
            edges,
            anchor,
            level: level - slack * gradient.x.hypot(gradient.y),
            gradient,
            slack,
            centre,
            radius,
        })
    }

    /// The corners of the footprint, anticlockwise, without the slack.
    #[must_use]
    pub fn corners(&self) -> &[Xy] {
        &self.corners
    }

    /// The corners of the part of the footprint (slack included) where the plane is below `level`.
    #[must_use]
    pub fn part_below(&self, level: f64) -> Vec<Xy> {
        // Each corner moves out to where its two edges, moved out, meet.
        let mut part = self.grown();
        let steepness = self.gradient.x.hypot(self.gradient.y);
        if steepness > 0.0 {
            let normal = Xy::new(-self.gradient.x / steepness, -self.gradient.y / steepness);
            let offset = (level - self.level) / steepness
                - (normal.x * self.anchor.x + normal.y * self.anchor.y);
            part = clipped(&part, &HalfPlane { normal, offset }, 0.0);
        } else if level <= self.level {
            part.clear();
        }
        part
    }

    /// A polygon that holds every point no more than the slack outside an edge.
    fn grown(&self) -> Vec<Xy> {
        let far = self.radius * 2.0 + self.slack * 4.0 + 1.0;
        let box_about = [(-far, -far), (far, -far), (far, far), (-far, far)];
        let start = box_about
            .iter()
            .map(|(x, y)| Xy::new(self.centre.x + x, self.centre.y + y))
            .collect::<Vec<_>>();
        self.edges
            .iter()
            .fold(start, |part, edge| clipped(&part, edge, -self.slack))
    }

    fn level_at(&self, point: Xy) -> f64 {
        self.level
            + self.gradient.x * (point.x - self.anchor.x)
            + self.gradient.y * (point.y - self.anchor.y)
    }

    fn holds(&self, point: Xy) -> bool {
        self.edges
            .iter()
            .all(|edge| edge.depth(point) >= -self.slack)
    }

    fn at(&self, point: Xy) -> f64 {
        if self.holds(point) {
            self.level_at(point)
        } else {
            f64::INFINITY
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let nowhere = Enclosure::exactly(f64::INFINITY);
        if cell.centre().distance(self.centre) > cell.radius() + self.radius * 2.0 + 1.0 {
            return nowhere;
        }
        // Twice the slack, so that what `holds` a point never loses its cell to rounding.
        let part = self
            .edges
            .iter()
            .fold(cell.corners().to_vec(), |part, edge| {
                clipped(&part, edge, -2.0 * self.slack)
            });
        if part.is_empty() {
            return nowhere;
        }
        let levels = part.iter().map(|corner| self.level_at(*corner));
        let low = levels.clone().fold(f64::INFINITY, f64::min);
        let is_inside = cell
            .corners()
            .iter()
            .all(|corner| self.edges.iter().all(|edge| edge.depth(*corner) >= 0.0));
        let high = if is_inside {
            levels.fold(f64::NEG_INFINITY, f64::max)
        } else {
            f64::INFINITY
        };
        Enclosure::between(low, high)
    }
}

/// A level floor about a convex outline, or a rise with the distance from it: the inner
/// horizontal, the conical and the outer horizontal surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Bowl {
    outline: Convex,
    inner: f64,
    outer: f64,
    level: f64,
    slope: f64,
    slack: f64,
}

impl Bowl {
    /// The field that has `level` (metres AMSL) at `inner` metres from a convex set and rises by
    /// `slope` from there to `outer`; both edges belong to it.
    #[must_use]
    pub fn new(
        outline: Convex,
        (inner, outer): (f64, f64),
        level: f64,
        slope: f64,
        slack: f64,
    ) -> Option<Self> {
        let slack = slack.max(LEAST_SLACK_M);
        // Written so that NaN fails.
        (inner >= 0.0 && outer >= inner && level.is_finite() && slope >= 0.0).then_some(Self {
            outline,
            inner,
            outer,
            level: level - slope * slack,
            slope,
            slack,
        })
    }

    /// The convex set that distances are measured from.
    #[must_use]
    pub const fn outline(&self) -> &Convex {
        &self.outline
    }

    /// From where to where, metres from the outline and slack included, the field is below `level`;
    /// none where it nowhere is.
    #[must_use]
    pub fn radii_below(&self, level: f64) -> Option<(f64, f64)> {
        if level <= self.level {
            return None;
        }
        let outer = self.outer + self.slack;
        let rise = level - self.level;
        let reached = if self.slope > 0.0 {
            (self.inner + rise / self.slope).min(outer)
        } else {
            outer
        };
        Some(((self.inner - self.slack).max(0.0), reached))
    }

    fn level_at(&self, distance: f64) -> f64 {
        self.level + self.slope * (distance - self.inner).max(0.0)
    }

    fn at(&self, point: Xy) -> f64 {
        let distance = self.outline.distance(point);
        if distance >= self.inner - self.slack && distance <= self.outer + self.slack {
            self.level_at(distance)
        } else {
            f64::INFINITY
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let nowhere = Enclosure::exactly(f64::INFINITY);
        let far = self.outer + 2.0 * self.slack;
        if !self
            .outline
            .may_reach(cell, cell.centre(), cell.radius(), far)
        {
            return nowhere;
        }
        let farthest = cell
            .corners()
            .iter()
            .map(|corner| self.outline.distance(*corner))
            .fold(0.0, f64::max);
        if farthest < self.inner - 2.0 * self.slack {
            return nowhere;
        }
        let nearest = self.outline.separation(cell).min(farthest);
        let is_inside = nearest >= self.inner && farthest <= self.outer;
        let high = if is_inside {
            self.level_at(farthest)
        } else {
            f64::INFINITY
        };
        Enclosure::between(self.level_at(nearest), high)
    }
}

/// One patch of a surface.
#[derive(Clone, Debug, PartialEq)]
pub enum Patch {
    /// A plane over a convex footprint.
    Sheet(Sheet),
    /// A floor or a rise about a convex outline.
    Bowl(Bowl),
}

/// One obstacle limitation surface: the lowest of its patches; `+∞` beside all of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Surface {
    /// Its patches: sections of an approach, both sides of a transitional surface, or, where the
    /// data leave a choice, the patches of every choice.
    pub patches: Vec<Patch>,
}

impl Field for Surface {
    fn at(&self, point: Xy) -> f64 {
        self.patches
            .iter()
            .map(|patch| patch_at(patch, point))
            .fold(f64::INFINITY, f64::min)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let mut all = Enclosure::exactly(f64::INFINITY);
        for patch in &self.patches {
            let one = match patch {
                Patch::Sheet(sheet) => sheet.over(cell),
                Patch::Bowl(bowl) => bowl.over(cell),
            };
            all.low = all.low.min(one.low);
            all.determined_low = all.determined_low.min(one.determined_low);
            all.high = all.high.min(one.high);
        }
        all
    }

    fn governor(&self, point: Xy) -> Governor {
        let member = self
            .patches
            .iter()
            .map(|patch| patch_at(patch, point))
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(index, _)| index);
        Governor { leaf: 0, member }
    }
}

fn patch_at(patch: &Patch, point: Xy) -> f64 {
    match patch {
        Patch::Sheet(sheet) => sheet.at(point),
        Patch::Bowl(bowl) => bowl.at(point),
    }
}

/// A surface brought above ground: its level less the ground and its accuracy; undetermined where
/// it applies and the ground is unknown.
#[derive(Clone, Debug)]
pub struct SurfaceAboveGround<'a> {
    /// The surface, levels AMSL.
    pub surface: &'a Surface,
    /// The ground.
    pub ground: &'a Ground,
}

impl Field for SurfaceAboveGround<'_> {
    fn at(&self, point: Xy) -> f64 {
        let level = self.surface.at(point);
        if level == f64::INFINITY {
            return level;
        }
        self.ground
            .highest_at(point)
            .map_or(f64::NEG_INFINITY, |ground| level - ground)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let level = self.surface.over(cell);
        if level.low == f64::INFINITY {
            return level;
        }
        let Some(ground) = self.ground.over(cell) else {
            return Enclosure {
                high: if level.high == f64::INFINITY {
                    f64::INFINITY
                } else {
                    f64::NEG_INFINITY
                },
                ..Enclosure::UNDETERMINED
            };
        };
        let accuracy = self.ground.accuracy();
        let bounds = Enclosure::between(
            level.low - (ground.high + accuracy),
            level.high - (ground.low + accuracy),
        );
        if ground.has_unknown {
            bounds.or_undetermined()
        } else {
            bounds
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.surface.governor(point)
    }
}
