//! The place that governs the ceiling with its shield, and heights over the extremes of the ground.

use super::Asked;
use super::line::Cut;
use super::sample::Sampled;
use crate::answer::{
    CeilingValue, CertifiedLevel, Extreme, GoverningAnswer, GoverningShield, HeightOverGround,
    LevelRun,
};
use crate::assess::expression::LeafKind;
use crate::assess::obstacles::Placed;
use crate::field::Cell;
use crate::field::ground::Elevation;
use crate::frame::{Xy, distance};
use crate::search::{self, Limits, Scope};
use crate::units::{Height, Metres};

/// The place that governs the certified ceiling, in the datum of the section.
pub struct Governing<'a> {
    /// Where it is in the plane.
    pub point: Xy,
    /// The shield there, when the term that governs is a shield.
    pub shield: Option<Shield<'a>>,
    value: &'a CeilingValue,
}

/// The shield that governs.
pub struct Shield<'a> {
    /// The obstacle.
    pub placed: &'a Placed,
    reach: Metres,
    margin: Metres,
    trusted_top: f64,
}

impl<'a> Governing<'a> {
    /// None where the ceiling is determined nowhere.
    pub fn of(asked: &Asked<'a>) -> Option<Self> {
        let pair = asked.ceiling.whole.as_ref();
        let pair = pair.or(asked.ceiling.determined_part.as_ref())?;
        let value = if asked.ground.is_amsl() {
            pair.amsl.as_ref()?
        } else {
            &pair.above_ground
        };
        let point = asked.plan.frame().to_plane(value.governs_at);
        Some(Self {
            point,
            shield: shield(asked, value, point),
            value,
        })
    }

    /// Seen from the cut.
    pub fn answer(&self, asked: &Asked, cut: &Cut) -> GoverningAnswer {
        let seen = cut.see(self.point);
        GoverningAnswer {
            place: self.value.governs_at,
            at_m: Metres::of(seen.at),
            offset_m: Metres::of(seen.offset),
            term: self.value.governs.clone(),
            shield: self
                .shield
                .as_ref()
                .map(|shield| self.shield_answer(asked, cut, shield)),
            budget: self.value.budget.clone(),
        }
    }

    fn shield_answer(&self, asked: &Asked, cut: &Cut, shield: &Shield) -> GoverningShield {
        let nearest = shield.placed.nearest_to(self.point);
        let seen = cut.see(nearest);
        let place = asked.plan.frame().to_place(nearest);
        let record = &shield.placed.record;
        GoverningShield {
            title: record.title(),
            source: record.source.clone(),
            span_index: record.span.as_ref().map(|span| span.index),
            place,
            at_m: Metres::of(seen.at),
            offset_m: Metres::of(seen.offset),
            distance_m: distance(self.value.governs_at, place),
            reach_m: shield.reach,
            trusted_top_m: shield.trusted_top,
            margin_m: shield.margin,
            is_estimate: (shield.placed.trusted.as_ref()).is_ok_and(|top| top.is_estimate),
        }
    }
}

/// The shield that a ceiling names, by its title; of several with one title the one nearest to the
/// place that governs.
fn shield<'a>(asked: &Asked<'a>, value: &CeilingValue, point: Xy) -> Option<Shield<'a>> {
    let title = value.shield.as_ref()?;
    let placed = asked
        .nearby
        .placed
        .iter()
        .filter(|placed| placed.trusted.is_ok() && placed.record.title() == *title)
        .min_by(|a, b| {
            let away = |placed: &Placed| placed.nearest_to(point).distance(point);
            away(a).total_cmp(&away(b))
        })?;
    let leaf = asked
        .expression
        .leaves
        .iter()
        .find(|leaf| leaf.title == value.governs)?;
    let LeafKind::Shield { reach, margin, .. } = &leaf.kind else {
        return None;
    };
    Some(Shield {
        placed,
        reach: reach.value_m,
        margin: margin.value_m,
        trusted_top: placed.trusted.as_ref().ok()?.level,
    })
}

/// How high the certified ceiling is above the highest and the lowest ground that the cut passes
/// within the area where the ceiling is determined.
pub fn heights(
    asked: &Asked,
    cut: &Cut,
    positions: &[f64],
    ceiling: &Sampled,
    certified: Option<CertifiedLevel>,
) -> Vec<HeightOverGround> {
    let Some(certified) = certified else {
        return Vec::new();
    };
    let cells: Vec<Cell> = ceiling
        .runs
        .iter()
        .flat_map(|run| cells(cut, positions, run))
        .collect();
    let ground = &asked.ground.ground;
    [Extreme::Highest, Extreme::Lowest]
        .into_iter()
        .filter_map(|extreme| {
            let elevation = Elevation {
                ground,
                upside_down: extreme == Extreme::Highest,
            };
            let limits = Limits::within(asked.question.tolerance.m());
            let found = search::lowest(&elevation, &cells, Scope::WhereDetermined, limits)?;
            // Of the highest ground its bound, of the lowest what it can be at most at that place.
            let level = match extreme {
                Extreme::Highest => ground.accuracy() - found.lower,
                Extreme::Lowest => ground.highest_at(found.place)?,
            };
            found.attained.is_finite().then(|| HeightOverGround {
                ground: extreme,
                at_m: Metres::of(cut.see(found.place).at),
                ground_m: level,
                height_m_agl: Height::of(certified.level_m - level),
            })
        })
        .collect()
}

/// A run of the ceiling as cells without area, one for each station.
fn cells(cut: &Cut, positions: &[f64], run: &LevelRun) -> Vec<Cell> {
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return Vec::new();
    };
    let within = positions
        .iter()
        .copied()
        .filter(|at| (first.at_m..last.at_m).contains(at));
    let points: Vec<Xy> = std::iter::once(first.at_m)
        .chain(within)
        .chain([last.at_m])
        .map(|at| cut.point(at))
        .collect();
    points
        .windows(2)
        .filter_map(|pair| match pair {
            &[from, to] => Some(Cell::new([from, to, to])),
            _ => None,
        })
        .collect()
}
