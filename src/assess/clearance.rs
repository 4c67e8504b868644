//! The electrical clearance band about power lines, and the area that is left to use.
//!
//! The band is everything within a distance of a line in its widest position: as drawn, grown by the
//! clearance, the offset of its outermost wire and its horizontal accuracy. It is drawn about the true
//! outline, larger by at most [`crate::plan::DRAWN_REACH_ERROR_M`] and a millimetre. Swing of the wires in wind is
//! not in it. The usable area is the area less the band and less the part where the ceiling is
//! undetermined or not above ground; it is never more than the true one. Both are of the plan: the height of the wires is
//! not looked at.

use geo::{BooleanOps, MultiPolygon, Polygon};

use super::obstacles::{Nearby, Placed};
use crate::answer::{
    CeilingAnswer, CeilingGrid, ClearanceAnswer, ClearanceState, LineClearanceAnswer,
    ShieldingAnswer, Square, Undetermined, UsableAnswer,
};
use crate::clearance::ClearanceTable;
use crate::distance::plane_area_m2;
use crate::error::Result;
use crate::frame::LocalFrame;
use crate::obstacle::SpanDetail;
use crate::plan::{LAYOUT_ERROR_M, Plan, around, lay_out_polygon};
use crate::units::Metres;

/// What is asked of all lines beside what the data state of each.
#[derive(Clone, Debug, PartialEq)]
pub enum LineClearance {
    /// The least distance to keep from every line.
    Distance(Metres),
    /// The distance for its voltage; for a line of unknown voltage that of the widest row.
    Table(ClearanceTable),
}

/// Lines farther from the area than this have no part in it, whatever their clearance, offset and
/// accuracy: the greatest that each of them can be stated as, metres.
const NO_PART_BEYOND_M: f64 = 1_150.0;

/// Bands are drawn of lines within this distance of the area, metres; how far the figure looks.
const DRAWN_WITHIN_M: f64 = 300.0;

/// What is added to a band beyond its true width: covers the grid that unions are computed on.
const GRID_SLACK_M: f64 = 0.001;

/// A smaller part of the usable area is no use, square metres.
const SCRAP_M2: f64 = 1.0;

/// The band in the plane, and the answer.
pub struct Band {
    pub answer: ClearanceAnswer,
    /// None when it is not known everywhere.
    pub plane: Option<MultiPolygon<f64>>,
}

/// The distance to keep from one span, and where it comes from.
struct Kept {
    clearance: Metres,
    from: String,
}

pub fn band(asked: Option<&LineClearance>, nearby: &Nearby, plan: &Plan, has_layer: bool) -> Band {
    let mut lines: Vec<LineClearanceAnswer> = Vec::new();
    let mut bands: Vec<Polygon<f64>> = Vec::new();
    let mut unknown = 0;
    let spans = nearby
        .nearest_first(plan)
        .into_iter()
        .filter_map(|placed| Some((placed, placed.record.span.as_ref()?)))
        .map(|(placed, span)| (placed, span, placed.distance(plan)))
        .take_while(|(_, _, distance)| *distance <= NO_PART_BEYOND_M);
    for (placed, span, distance) in spans {
        let kept = kept(asked, span);
        let accuracy = placed.record.horizontal_accuracy.max(Metres::ZERO);
        let half_width = kept
            .as_ref()
            .map(|kept| kept.clearance + span.wire_offset.unwrap_or(Metres::ZERO) + accuracy);
        let reaches = |width: Metres| distance <= width.m() + DRAWN_WITHIN_M;
        match half_width {
            None if distance <= widest_possible(span, accuracy) => unknown += 1,
            Some(width) if reaches(width) => {
                let width = drawn_width(width, distance, plan);
                bands.extend(placed.sets().iter().map(|set| around(set, width)));
            }
            _ => continue,
        }
        note(
            &mut lines,
            (placed, distance),
            span,
            kept,
            accuracy,
            half_width,
        );
    }
    let plane = match bands.is_empty() {
        true => MultiPolygon::new(Vec::new()),
        false => geo::unary_union(bands.iter()),
    };
    let state = if !has_layer {
        ClearanceState::Undetermined {
            why: "there is no power-lines layer".to_owned(),
        }
    } else if unknown > 0 {
        ClearanceState::Undetermined {
            why: format!(
                "no distance is stated for {unknown} {} near the area: state clearance_m in the \
                 layer or layers.toml, or give --line-clearance",
                if unknown == 1 { "span" } else { "spans" }
            ),
        }
    } else if lines.is_empty() {
        ClearanceState::NoLine
    } else {
        ClearanceState::Everywhere
    };
    let band_m2 = plane_area_m2(&plane.intersection(plan.polygons()));
    let is_known = !matches!(state, ClearanceState::Undetermined { .. });
    Band {
        answer: ClearanceAnswer {
            state,
            table: match asked {
                Some(LineClearance::Table(table)) => Some(table.clone()),
                _ => None,
            },
            lines,
            band: plan.to_places(&plane),
            band_m2: band_m2.min(plan.area_m2()),
        },
        plane: is_known.then_some(plane),
    }
}

/// The widest of what is stated of the line and what is asked of all.
fn kept(asked: Option<&LineClearance>, span: &SpanDetail) -> Option<Kept> {
    let stated = span.clearance.map(|clearance| Kept {
        clearance,
        from: "stated by the layer".to_owned(),
    });
    let of_all = match asked {
        None => None,
        Some(LineClearance::Distance(clearance)) => Some(Kept {
            clearance: *clearance,
            from: "--line-clearance".to_owned(),
        }),
        Some(LineClearance::Table(table)) => match span.voltage_v {
            Some(volts) => table.row(volts).map(|row| Kept {
                clearance: row.distance_m,
                from: format!("{}: {}", table.citation, row.label),
            }),
            None => table.widest().map(|row| Kept {
                clearance: row.distance_m,
                from: format!(
                    "{}: the widest, {}, as the voltage is not known",
                    table.citation, row.label
                ),
            }),
        },
    };
    match (stated, of_all) {
        (Some(stated), Some(of_all)) if of_all.clearance > stated.clearance => Some(of_all),
        (stated, of_all) => stated.or(of_all),
    }
}

/// How far the band of a line of unknown clearance may reach.
fn widest_possible(span: &SpanDetail, accuracy: Metres) -> f64 {
    MOST_CLEARANCE_M + span.wire_offset.unwrap_or(Metres::ZERO).m() + accuracy.m()
}

/// No clearance is stated wider, metres (the readers refuse it).
const MOST_CLEARANCE_M: f64 = 100.0;

/// The width that is drawn: the plane stretches distances, and edges are laid out within a tolerance.
fn drawn_width(width: Metres, distance: f64, plan: &Plan) -> f64 {
    let out = plan.radius() + Metres::of(distance.max(DRAWN_WITHIN_M)) + width;
    width.m() * (1.0 + LocalFrame::stretch(out)) + 2.0 * LAYOUT_ERROR_M + GRID_SLACK_M
}

/// Adds a span to the answer of its line; lines come nearest first, as their spans do.
fn note(
    lines: &mut Vec<LineClearanceAnswer>,
    (placed, distance): (&Placed, f64),
    span: &SpanDetail,
    kept: Option<Kept>,
    accuracy: Metres,
    half_width: Option<Metres>,
) {
    let source = &placed.record.source;
    if let Some(line) = lines.iter_mut().find(|line| line.source == *source) {
        line.spans += 1;
        // Accuracies differ from span to span where supports state their own: the widest is told.
        line.horizontal_accuracy_m = line.horizontal_accuracy_m.max(accuracy);
        line.half_width_m = line.half_width_m.zip(half_width).map(|(a, b)| a.max(b));
        return;
    }
    let (clearance_m, from) = match kept {
        Some(kept) => (Some(kept.clearance), kept.from),
        None => (None, "not stated".to_owned()),
    };
    lines.push(LineClearanceAnswer {
        title: placed
            .record
            .name
            .clone()
            .unwrap_or_else(|| source.feature.to_string()),
        source: source.clone(),
        spans: 1,
        voltage_v: span.voltage_v,
        distance_m: Metres::of(distance),
        clearance_m,
        from,
        wire_offset_m: span.wire_offset,
        horizontal_accuracy_m: accuracy,
        half_width_m: half_width,
    });
}

/// What is left of the area to use. Where the ceiling leaves no height above ground, or is undetermined
/// for another reason than cover, the squares of `sampled` that do not certainly have one are
/// taken off.
pub fn usable(
    band: &Band,
    plan: &Plan,
    ceiling: &CeilingAnswer,
    shielding: &[ShieldingAnswer],
    sampled: impl FnOnce() -> Result<CeilingGrid>,
) -> Result<UsableAnswer> {
    let taken = match (&band.answer.state, &band.plane) {
        (ClearanceState::Undetermined { why }, _) => {
            let why = vec![format!("electrical clearance: {why}")];
            return Ok(UsableAnswer::Undetermined { why });
        }
        (_, None) => MultiPolygon::new(Vec::new()),
        (_, Some(plane)) => plane.clone(),
    };
    let mut left = plan.polygons().clone();
    let is_undetermined = !ceiling.undetermined.is_empty();
    for rule in shielding
        .iter()
        .filter(|rule| is_undetermined && !rule.is_wholly_covered)
    {
        let uncovered: MultiPolygon<f64> = rule
            .uncovered
            .iter()
            .map(|part| lay_out_polygon(plan.frame(), part))
            .collect();
        left = left.difference(&uncovered);
    }
    if !is_above_ground_wherever_covered(ceiling) {
        left = left.difference(&without_height(&sampled()?));
    }
    left = left.difference(&taken);
    let parts = left.0.len();
    let kept: MultiPolygon<f64> = left
        .into_iter()
        .filter(|part| geo::Area::unsigned_area(part) >= SCRAP_M2)
        .collect();
    let area_m2 = plane_area_m2(&kept);
    Ok(UsableAnswer::Determined {
        share: (area_m2 / plan.area_m2()).clamp(0.0, 1.0),
        area_m2,
        scraps: parts - kept.0.len(),
        polygons: plan.to_places(&kept),
    })
}

/// Whether the ceiling is certified to be above ground in all of the area that is not uncovered.
fn is_above_ground_wherever_covered(ceiling: &CeilingAnswer) -> bool {
    let pair = ceiling.whole.as_ref().or(ceiling.determined_part.as_ref());
    let is_by_cover = ceiling.undetermined.iter().all(|reason| {
        matches!(
            reason,
            Undetermined::Uncovered { .. } | Undetermined::NoShield
        )
    });
    // Nothing is left of an area that is uncovered all over.
    is_by_cover && pair.is_none_or(|pair| pair.above_ground.value_m > 0.0)
}

/// The squares that may have no ceiling above ground, those side by side in a row as one polygon.
fn without_height(grid: &CeilingGrid) -> MultiPolygon<f64> {
    let is_without = |square: Square| match square {
        Square::Outside => false,
        Square::Undetermined => true,
        Square::Known(known) => known.above_ground_cm <= 0,
    };
    let mut runs: Vec<Polygon<f64>> = Vec::new();
    for row in 0..grid.rows {
        let mut column = 0;
        while column < grid.columns {
            let first = column;
            while column < grid.columns && is_without(grid.square(column, row)) {
                column += 1;
            }
            if column > first {
                let (c0, c1, r) = (first as f64, column as f64, row as f64);
                let rect = geo::Rect::new(
                    (
                        grid.west_m + grid.side_m * c0,
                        grid.south_m + grid.side_m * r,
                    ),
                    (
                        grid.west_m + grid.side_m * c1,
                        grid.south_m + grid.side_m * (r + 1.0),
                    ),
                );
                runs.push(rect.to_polygon());
            }
            column += 1;
        }
    }
    match runs.is_empty() {
        true => MultiPolygon::new(Vec::new()),
        false => geo::unary_union(runs.iter()),
    }
}
