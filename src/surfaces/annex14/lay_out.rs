//! The surfaces that the tables of Annex 14 make of the runways of an aerodrome.
//!
//! Not here: the cells of the tables (see [`super`]).

use super::{Annex14, ApproachColumn};
use crate::aerodrome::Aerodrome;
use crate::field::convex::Convex;
use crate::field::surface::{Bowl, Patch};
use crate::frame::{LocalFrame, Xy};
use crate::surfaces::answer::SurfaceKind;
use crate::surfaces::outline::about_discs;
use crate::surfaces::ribbon::{Ribbon, Until};
use crate::surfaces::runway_line::{LineEnd, RunwayLine};
use crate::surfaces::{Laid, placing_slack};
use crate::units::Metres;

/// Lays out every surface of the runways of an aerodrome.
pub fn lay_out(
    cells: &Annex14,
    aerodrome: &Aerodrome,
    lines: &[RunwayLine],
    frame: &LocalFrame,
    laid: &mut Laid,
) {
    let datum = lines
        .iter()
        .flat_map(|line| line.ends.iter().map(|end| end.elevation))
        .chain(aerodrome.elevation.map(|elevation| elevation.m()))
        .fold(f64::INFINITY, f64::min);
    if lines.is_empty() || !datum.is_finite() {
        if laid.missing.is_empty() {
            laid.missing
                .push("it has no runway in the layers".to_owned());
        }
        return;
    }
    let of_runways: Vec<OfRunway> = lines
        .iter()
        .map(|line| OfRunway::new(cells, line, datum))
        .collect();
    for of_runway in &of_runways {
        of_runway.lay_out(laid);
    }
    lay_out_about(cells, aerodrome, &of_runways, datum, frame, laid);
}

/// What is said where the code number is not given.
fn code_missing(line: &RunwayLine) -> Option<String> {
    line.classification.code_number.is_none().then(|| {
        format!(
            "code number of runway {} not given: the lowest of all code numbers is taken",
            line.designator
        )
    })
}

/// A runway with the columns that each of its ends can be in.
struct OfRunway<'a> {
    cells: &'a Annex14,
    line: &'a RunwayLine,
    columns: [Vec<&'a ApproachColumn>; 2],
    /// Level of the inner horizontal surface, metres AMSL.
    inner_horizontal: f64,
    assumed: Vec<String>,
}

impl<'a> OfRunway<'a> {
    fn new(cells: &'a Annex14, line: &'a RunwayLine, datum: f64) -> Self {
        let code = line.classification.code_number;
        let columns = [0, 1].map(|end| {
            let approach = line
                .ends
                .get(end)
                .and_then(|end: &LineEnd| end.classification.approach);
            cells.candidates(code, approach)
        });
        let mut assumed = line.assumed.clone();
        assumed.extend(code_missing(line));
        for end in &line.ends {
            if let (Some(code), Some(approach)) = (code, end.classification.approach)
                && !cells.has_column(code, approach)
            {
                assumed.push(format!(
                    "the table has no column for code number {code} with {} at runway end {}: the \
                     lowest of that kind is taken",
                    approach.word(),
                    end.designator
                ));
            }
            if end.classification.approach.is_none() {
                assumed.push(format!(
                    "kind of approach to runway end {} not given: the lowest of all kinds is taken",
                    end.designator
                ));
            }
        }
        let height = columns
            .iter()
            .flatten()
            .map(|column| column.inner_horizontal.0)
            .fold(f64::INFINITY, f64::min);
        Self {
            cells,
            line,
            columns,
            inner_horizontal: datum + height,
            assumed,
        }
    }

    fn all_columns(&self) -> impl Iterator<Item = &&'a ApproachColumn> {
        self.columns.iter().flatten()
    }

    /// Half the width of the strip: the longest inner edge of either end.
    fn strip_half_width(&self) -> f64 {
        self.all_columns()
            .map(|column| column.inner_edge / 2.0)
            .fold(0.0, f64::max)
    }

    /// How far the strip reaches beyond the runway ends.
    fn strip_beyond(&self) -> f64 {
        self.all_columns()
            .map(|column| column.distance)
            .fold(0.0, f64::max)
    }

    /// The width of an obstacle free zone by code letter; the wider where it is not given.
    fn by_letter(&self, (width, code_f): (f64, Option<f64>)) -> f64 {
        match self.line.classification.code_letter {
            Some(letter) if letter != 'F' => width,
            _ => code_f.unwrap_or(width).max(width),
        }
    }

    fn lay_out(&self, laid: &mut Laid) {
        let line = self.line;
        let slack = line.slack;
        let top = Until::Level(self.inner_horizontal);
        let strip = line.strip(
            -self.strip_beyond(),
            line.length + self.strip_beyond(),
            self.strip_half_width(),
        );
        let least_slope = self
            .all_columns()
            .map(|column| column.transitional)
            .fold(f64::INFINITY, f64::min);
        let mut transitional: Vec<Patch> = strip
            .iter()
            .flat_map(|ribbon| ribbon.flanks(least_slope, top, slack))
            .collect();
        let mut inner_transitional = Vec::new();
        let runway = Some(line.designator.as_str());
        let decks = |ribbons: &[Ribbon]| ribbons.iter().filter_map(|it| it.deck(slack)).collect();
        laid.push(
            SurfaceKind::RunwayStrip,
            runway,
            &line.source,
            decks(&strip),
            &self.assumed,
        );
        for (index, (end, outward)) in line.ends_outward().into_iter().enumerate() {
            let threshold = line.elevation(line.from_low(index, end.displaced));
            let mut approach = Vec::new();
            let mut inner_approach = Vec::new();
            let mut balked = Vec::new();
            for column in self.columns.get(index).into_iter().flatten() {
                let inner_edge = line.point(line.from_low(index, end.displaced - column.distance));
                for ribbon in column.ribbons(inner_edge, outward, threshold) {
                    approach.extend(ribbon.deck(slack));
                    transitional.extend(ribbon.flanks(column.transitional, top, slack));
                }
                let (Some(inner), Some(balked_landing)) =
                    (column.inner_approach, column.balked_landing)
                else {
                    continue;
                };
                let half_width = self.by_letter(inner.width) / 2.0;
                let ribbon = Ribbon {
                    origin: line.point(line.from_low(index, end.displaced - inner.distance)),
                    along: outward,
                    length: inner.length,
                    half_width,
                    divergence: 0.0,
                    level: threshold,
                    slope: inner.slope,
                };
                inner_approach.extend(ribbon.deck(slack));
                inner_transitional.extend(ribbon.flanks(inner.transitional, top, slack));
                let start = balked_landing
                    .distance
                    .map_or(line.length + self.strip_beyond(), |distance| {
                        (end.displaced + distance).min(line.length)
                    });
                let edge = self.by_letter(balked_landing.inner_edge) / 2.0;
                for ribbon in line.strip(
                    line.from_low(index, end.displaced - inner.distance),
                    line.from_low(index, start),
                    half_width.max(edge),
                ) {
                    inner_transitional.extend(ribbon.flanks(inner.transitional, top, slack));
                }
                let level = line.elevation(line.from_low(index, start));
                let ribbon = Ribbon {
                    origin: line.point(line.from_low(index, start)),
                    along: Xy::new(-outward.x, -outward.y),
                    length: ((self.inner_horizontal - level) / balked_landing.slope).max(0.0),
                    half_width: edge,
                    divergence: balked_landing.divergence,
                    level,
                    slope: balked_landing.slope,
                };
                balked.extend(ribbon.deck(slack));
                inner_transitional.extend(ribbon.flanks(inner.transitional, top, slack));
            }
            let part = Some(end.designator.as_str());
            let mut of_letter = self.assumed.clone();
            if line.classification.code_letter.is_none() {
                of_letter.push(format!(
                    "code letter of runway {} not given: the widths of letter F are taken",
                    line.designator
                ));
            }
            for (kind, patches, assumed) in [
                (SurfaceKind::Approach, approach, &self.assumed),
                (SurfaceKind::InnerApproach, inner_approach, &of_letter),
                (SurfaceKind::BalkedLanding, balked, &of_letter),
            ] {
                laid.push(kind, part, &line.source, patches, assumed);
            }
            self.take_off_climb(end.designator.as_str(), index, outward, laid);
        }
        laid.push(
            SurfaceKind::Transitional,
            runway,
            &line.source,
            transitional,
            &self.assumed,
        );
        laid.push(
            SurfaceKind::InnerTransitional,
            runway,
            &line.source,
            inner_transitional,
            &self.assumed,
        );
    }

    /// The take-off climb surface beyond an end, for take-off towards it.
    fn take_off_climb(&self, part: &str, index: usize, outward: Xy, laid: &mut Laid) {
        let line = self.line;
        let Some(end) = line.ends.get(index) else {
            return;
        };
        let clearway = end.classification.clearway;
        let code = line.classification.code_number;
        let patches: Vec<Patch> = self
            .cells
            .take_off
            .iter()
            .filter(|column| code.is_none_or(|code| column.codes.contains(&code)))
            .flat_map(|column| {
                let beyond = column.distance.max(clearway.map_or(0.0, Metres::m));
                let origin = line.point(line.from_low(index, -beyond));
                column.ribbons(origin, outward, end.elevation, true)
            })
            .filter_map(|ribbon| ribbon.deck(line.slack))
            .collect();
        let mut assumed = line.assumed.clone();
        assumed.extend(code_missing(line));
        if clearway.is_none() {
            assumed.push(format!(
                "clearway beyond runway end {part} not given: none is taken; with one the surface \
                 is lower"
            ));
        }
        assumed.push("departure tracks are not given: the width of turning tracks is taken".into());
        laid.push(
            SurfaceKind::TakeOffClimb,
            Some(part),
            &line.source,
            patches,
            &assumed,
        );
    }
}

/// The surfaces about the whole aerodrome: inner horizontal, conical, outer horizontal.
fn lay_out_about(
    cells: &Annex14,
    aerodrome: &Aerodrome,
    runways: &[OfRunway],
    datum: f64,
    frame: &LocalFrame,
    laid: &mut Laid,
) {
    let slack = runways.iter().map(|it| it.line.slack).fold(0.0, f64::max);
    let mut assumed: Vec<String> = Vec::new();
    for runway in runways {
        assumed.extend(runway.assumed.iter().cloned());
    }
    let discs: Vec<(Xy, f64)> = runways
        .iter()
        .flat_map(|runway| {
            let radius = runway
                .all_columns()
                .map(|column| column.inner_horizontal.1)
                .fold(0.0, f64::max);
            let beyond = runway.strip_beyond();
            [-beyond, runway.line.length + beyond].map(|s| (runway.line.point(s), radius))
        })
        .collect();
    let level = runways
        .iter()
        .map(|runway| runway.inner_horizontal)
        .fold(f64::INFINITY, f64::min);
    let columns = || runways.iter().flat_map(OfRunway::all_columns);
    let slope = columns()
        .map(|it| it.conical.0)
        .fold(f64::INFINITY, f64::min);
    let height = columns().map(|it| it.conical.1).fold(0.0, f64::max);
    if let Some((outline, radius)) = about_discs(&discs) {
        let floor = Bowl::new(outline.clone(), (0.0, radius), level, 0.0, slack);
        let rise = Bowl::new(
            outline,
            (radius, radius + height / slope),
            level,
            slope,
            slack,
        );
        for (kind, bowl) in [
            (SurfaceKind::InnerHorizontal, floor),
            (SurfaceKind::Conical, rise),
        ] {
            let patches = bowl.map(Patch::Bowl).into_iter().collect();
            laid.push(kind, None, &aerodrome.source, patches, &assumed);
        }
    }
    let (codes, radius, height) = &cells.outer_horizontal;
    let mut assumed: Vec<String> = runways
        .iter()
        .filter_map(|runway| code_missing(runway.line))
        .collect();
    if aerodrome.elevation.is_none() {
        assumed.push("aerodrome elevation not given: the lowest runway end is taken".to_owned());
    }
    let may_have_outer = runways.iter().any(|runway| {
        runway
            .line
            .classification
            .code_number
            .is_none_or(|code| codes.contains(&code))
    });
    if may_have_outer {
        let Some(place) = aerodrome.reference_point else {
            laid.missing
                .push("outer horizontal: the reference point is not given".to_owned());
            return;
        };
        let centre = frame.to_plane(place);
        let slack = placing_slack(Metres::of(centre.x.hypot(centre.y)));
        let base = aerodrome.elevation.map_or(datum, |elevation| elevation.m());
        let bowl = Bowl::new(
            Convex::point(centre),
            (0.0, *radius),
            base + height,
            0.0,
            slack,
        );
        let patches = bowl.map(Patch::Bowl).into_iter().collect();
        laid.push(
            SurfaceKind::OuterHorizontal,
            None,
            &aerodrome.source,
            patches,
            &assumed,
        );
    }
}
