//! Bands of the allowed ceiling above ground as a tint with contours.
//!
//! Drawn from the sampled squares of the assessment by marching squares (the `contour` crate). Every
//! square first takes the least of its neighbours, so that what lies between two of their middles is
//! never drawn above what both allow: a band may be too small by two squares, and is never too large.
//! A square whose ceiling may be undetermined is in no band.

use std::collections::BTreeSet;

use contour::ContourBuilder;
use geo::{BooleanOps, MultiLineString, MultiPolygon};

use super::palette as p;
use super::panel::{Panel, along};
use super::place::Wanted;
use super::scene::{Colour, Ink, MarkKind, Point};
use super::{reach, words};
use crate::answer::{Assessment, CeilingGrid, Square, Undetermined};
use crate::frame::{LocalFrame, Xy};

/// The widths that bands are chosen from, times a power of ten.
const STEPS: [f64; 3] = [1.0, 2.0, 5.0];

/// No more bands than tones.
const MOST_BANDS: usize = p::CEILING_TONES.len();

/// Contours closer than this run together, sheet units.
const TOGETHER: f64 = 12.0;

/// What a square without a known ceiling counts as: below every band.
const NOTHING: f64 = -1.0e6;

/// Where the ceiling is at least some height.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// That height, metres above ground.
    pub at_least_m: f64,
    /// Polygons of the plane about the middle of the area.
    pub polygons: MultiPolygon<f64>,
    /// Its edge inside the area.
    pub contours: MultiLineString<f64>,
    /// Its tone: the lower the ceiling, the darker.
    pub tone: Colour,
}

/// The bands of an assessment, lowest first; none when the ceiling was not sampled.
pub fn bands(assessment: &Assessment) -> Vec<Band> {
    let Some(grid) = &assessment.ceiling_grid else {
        return Vec::new();
    };
    let frame = LocalFrame::about(assessment.area.middle);
    let area: MultiPolygon<f64> = assessment
        .area
        .record
        .polygons
        .iter()
        .map(|polygon| reach::on_plane(&frame, polygon))
        .collect();
    let thresholds = thresholds(assessment, grid);
    let values = values(grid);
    // One square more on each side, so that no contour runs along the edge of the grid.
    let builder = ContourBuilder::new(grid.columns + 2, grid.rows + 2, true)
        .x_origin(grid.west_m - grid.side_m)
        .y_origin(grid.south_m - grid.side_m)
        .x_step(grid.side_m)
        .y_step(grid.side_m);
    let (Ok(contours), Ok(lines)) = (
        builder.contours(&values, &thresholds),
        builder.lines(&values, &thresholds),
    ) else {
        return Vec::new();
    };
    let tones = tones(thresholds.len());
    let mut bands: Vec<Band> = contours
        .into_iter()
        .zip(lines)
        .zip(tones)
        .map(|((contour, line), tone)| {
            let (polygons, at_least_m) = contour.into_inner();
            let (edge, _) = line.into_inner();
            Band {
                at_least_m,
                polygons: polygons.intersection(&area),
                contours: area.clip(&edge, false),
                tone: *tone,
            }
        })
        .collect();
    if let (Some(lowest), Some(known)) = (bands.first_mut(), known_part(assessment, &frame, &area))
    {
        lowest.polygons = known;
    }
    bands
}

/// The part of the area whose ceiling is known to be at least the certified one: all of it, or all
/// but the uncovered part. None where something else leaves the ceiling undetermined.
fn known_part(
    assessment: &Assessment,
    frame: &LocalFrame,
    area: &MultiPolygon<f64>,
) -> Option<MultiPolygon<f64>> {
    let is_by_cover = |reason: &Undetermined| {
        matches!(
            reason,
            Undetermined::Uncovered { .. } | Undetermined::NoShield
        )
    };
    if !assessment.ceiling.undetermined.iter().all(is_by_cover) {
        return None;
    }
    let mut known = area.clone();
    if !assessment.ceiling.undetermined.is_empty() {
        for rule in &assessment.shielding {
            let uncovered: MultiPolygon<f64> = rule
                .uncovered
                .iter()
                .map(|polygon| reach::on_plane(frame, polygon))
                .collect();
            known = known.difference(&uncovered);
        }
    }
    Some(known)
}

/// The heights at which bands begin: round ones, the first not above the least ceiling, and none
/// whose band would hold no square.
fn thresholds(assessment: &Assessment, grid: &CeilingGrid) -> Vec<f64> {
    let ceiling = &assessment.ceiling;
    let certified = ceiling.whole.as_ref().or(ceiling.determined_part.as_ref());
    let known: Vec<f64> = grid
        .squares
        .iter()
        .filter_map(|square| match square {
            Square::Known(known) => Some(f64::from(known.above_ground_cm) / 100.0),
            _ => None,
        })
        .chain(certified.map(|pair| pair.above_ground.value_m))
        .collect();
    (0..6)
        .flat_map(|power| STEPS.map(|step| step * 10f64.powi(power)))
        .map(|step| {
            let begun: BTreeSet<i64> = known.iter().map(|it| (it / step).floor() as i64).collect();
            (step, begun)
        })
        .find(|(_, begun)| begun.len() <= MOST_BANDS)
        .map(|(step, begun)| begun.into_iter().map(|it| it as f64 * step).collect())
        .unwrap_or_default()
}

/// The tones of so many bands, the lowest first: few bands take those in the middle.
pub fn tones(count: usize) -> &'static [Colour] {
    let count = count.min(MOST_BANDS);
    let first = (MOST_BANDS - count) / 2;
    p::CEILING_TONES.get(first..first + count).unwrap_or(&[])
}

/// How many bands an assessment has.
pub fn count(assessment: &Assessment) -> usize {
    let grid = assessment.ceiling_grid.as_ref();
    grid.map_or(0, |grid| thresholds(assessment, grid).len())
}

/// The value of every square and of a frame of squares about them, row by row from the south-west:
/// the least of the squares about it that touch the area.
fn values(grid: &CeilingGrid) -> Vec<f64> {
    let (columns, rows) = (grid.columns + 2, grid.rows + 2);
    let value = |column: usize, row: usize| match (column.checked_sub(1), row.checked_sub(1)) {
        (Some(column), Some(row)) => match grid.square(column, row) {
            Square::Known(known) => Some(f64::from(known.above_ground_cm) / 100.0),
            Square::Undetermined => Some(NOTHING),
            Square::Outside => None,
        },
        _ => None,
    };
    let mut all = Vec::with_capacity(columns * rows);
    for row in 0..rows {
        for column in 0..columns {
            let about = (row.saturating_sub(1)..=row + 1)
                .flat_map(|r| (column.saturating_sub(1)..=column + 1).map(move |c| (c, r)));
            let least = about
                .filter_map(|(c, r)| value(c, r))
                .fold(f64::INFINITY, f64::min);
            all.push(if least.is_finite() { least } else { NOTHING });
        }
    }
    all
}

/// Fills the bands, each over the lower ones.
pub fn tint(panel: &mut Panel, bands: &[Band]) {
    for band in bands {
        for polygon in &band.polygons {
            let rings: Vec<Vec<Point>> = std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(|ring| {
                    let points = ring
                        .coords()
                        .map(|c| panel.view.on_sheet(Xy::new(c.x, c.y)));
                    panel.view.cut_ring(points.collect())
                })
                .filter(|ring| ring.len() > 2)
                .collect();
            panel.ink(MarkKind::Ceiling, Ink::Fill(rings, band.tone, 1.0));
        }
    }
}

/// Draws the contours between bands with their heights; the lowest band has none. Where contours run
/// together the highest is named.
pub fn contours(panel: &mut Panel, bands: &[Band]) {
    let mut higher: Vec<Point> = Vec::new();
    for (rank, band) in bands.iter().skip(1).rev().enumerate() {
        let mut parts: Vec<Vec<Point>> = Vec::new();
        for line in &band.contours {
            let points: Vec<Point> = line
                .coords()
                .map(|c| panel.view.on_sheet(Xy::new(c.x, c.y)))
                .collect();
            parts.extend(panel.view.clipped(&points));
        }
        panel.lines(MarkKind::Ceiling, &parts, p::CONTOUR_PEN);
        let mut anchors = along(&parts, &[0.5, 0.3, 0.7, 0.15, 0.85]);
        anchors.retain(|at| higher.iter().all(|other| other.distance(*at) > TOGETHER));
        higher.extend(parts.into_iter().flatten());
        let rank = u32::try_from(rank).unwrap_or(0);
        let text = vec![format!("{} m", words::grouped(band.at_least_m))];
        let mut label = Wanted::new(MarkKind::Ceiling, text, anchors, 250 + rank);
        label.size = p::SMALL;
        label.colour = p::CONTOUR;
        label.clear = 0.0;
        panel.want(label);
    }
}

/// How the bands were found, where they are shown.
pub fn note(assessment: &Assessment, is_shown: bool) -> Option<String> {
    let grid = assessment.ceiling_grid.as_ref().filter(|_| is_shown)?;
    Some(format!(
        "Ceiling bands hold the least of squares of {:.1}\u{a0}m and of those beside them",
        grid.side_m
    ))
}

/// What the legend says of the bands: `Ceiling above ground, at least (dark to light): 30, 35 m`.
pub fn legend(assessment: &Assessment) -> String {
    let heights: Vec<String> = assessment
        .ceiling_grid
        .iter()
        .flat_map(|grid| thresholds(assessment, grid))
        .map(words::grouped)
        .collect();
    format!(
        "Ceiling above ground, at least (dark to light): {} m",
        heights.join(", ")
    )
}
