//! 14 CFR 77.19 and 77.23: their cells, and the surfaces they make of runways and heliports; military
//! airports (77.21) in [`military`], heights of structures (77.9, 77.17) in [`standards`].
//!
//! Where the text leaves something open the limit is kept: the 5 000 ft of the transitional surface
//! beside a precision approach are taken wherever that approach lies above the horizontal surface.
//! Without approach directions, the approach surface of a heliport is taken in every direction.

pub mod military;
pub mod standards;

use super::answer::SurfaceKind;
use super::outline::{about_discs, hull};
use super::ribbon::{Ribbon, Until};
use super::runway_line::{LineEnd, RunwayLine};
use super::table::Grid;
use super::{Laid, placing_slack};
use crate::aerodrome::{Aerodrome, ApproachType};
use crate::error::Result;
use crate::field::surface::{Bowl, Patch};
use crate::frame::{LocalFrame, Xy};
use crate::plan::{lay_out_polygon, xy};
use crate::units::Metres;
use military::Military;
use standards::Standards;

/// The classes of 77.19, in the order of the columns.
const CLASSES: [&str; 6] = [
    "utility_visual",
    "utility_non_precision",
    "visual",
    "non_precision_above_3_4_mile",
    "non_precision_to_3_4_mile",
    "precision",
];

/// The cells of 77.19, 77.21 and 77.23, and of 77.9 and 77.17, resolved to metres and ratios.
#[derive(Clone, Debug, PartialEq)]
pub struct Part77 {
    /// 77.19, one for each of the six classes.
    pub airport: Vec<AirportColumn>,
    /// 77.23: civil, then military.
    pub heliport: Vec<HeliportColumn>,
    /// 77.21.
    pub military: Military,
    /// 77.9 and 77.17.
    pub standards: Standards,
}

/// One class of 77.19; lengths and full widths in metres, slopes in metres a metre.
#[derive(Clone, Debug, PartialEq)]
pub struct AirportColumn {
    /// The class.
    pub class: String,
    /// Full width of the primary surface, which is that of the inner edge of the approach surface.
    pub primary_width: f64,
    /// How far the primary surface reaches beyond the end of a hard surface.
    pub beyond_end: f64,
    /// Height and radius of the horizontal surface.
    pub horizontal: (f64, f64),
    /// Slope and run of the conical surface.
    pub conical: (f64, f64),
    /// Full width of the approach surface at its outer end.
    pub outer_width: f64,
    /// Length and slope of each section of the approach surface.
    pub sections: Vec<(f64, f64)>,
    /// Slope of the transitional surface.
    pub transitional: f64,
    /// Its run beside the approach surface beyond the conical surface.
    pub beyond_conical: Option<f64>,
}

/// One column of 77.23.
#[derive(Clone, Debug, PartialEq)]
pub struct HeliportColumn {
    /// Length of the approach surface.
    pub length: f64,
    /// Its full width at its outer end.
    pub outer_width: f64,
    /// Its slope.
    pub slope: f64,
    /// Slope of the transitional surface.
    pub transitional: f64,
    /// How far that reaches from the centreline.
    pub from_centreline: f64,
}

impl Part77 {
    /// From the parts of a table file.
    ///
    /// # Errors
    /// A missing or misfit row or cell, or columns that are not the six classes.
    pub(super) fn read<'a>(grid: impl Fn(&'static str) -> Result<Grid<'a>>) -> Result<Self> {
        let (airport, heliport) = (&grid("airport")?, &grid("heliport")?);
        let names: Vec<&str> = airport
            .columns()
            .iter()
            .map(|it| it.name.as_str())
            .collect();
        if names != CLASSES {
            return Err(airport.wrong("columns", "are not the six classes in their order"));
        }
        Ok(Self {
            airport: (0..airport.columns().len())
                .map(|column| airport_column(airport, column))
                .collect::<Result<_>>()?,
            heliport: (0..heliport.columns().len())
                .map(|column| {
                    Ok(HeliportColumn {
                        length: heliport.length("approach_length", column)?,
                        outer_width: heliport.length("approach_outer_width", column)?,
                        slope: heliport.ratio("approach_slope", column)?,
                        transitional: heliport.ratio("transitional_slope", column)?,
                        from_centreline: heliport.length("transitional_from_centreline", column)?,
                    })
                })
                .collect::<Result<_>>()?,
            military: Military::read(&grid("military")?)?,
            standards: Standards::read(
                &grid("structure")?,
                &grid("notice")?,
                &grid("near_airport")?,
                &grid("traverse_way")?,
            )?,
        })
    }

    /// The columns of 77.23 that a heliport can be in: both where the data do not say.
    fn heliport_columns(&self, is_military: Option<bool>) -> &[HeliportColumn] {
        match is_military {
            None => &self.heliport,
            Some(is_military) => {
                let at = usize::from(is_military);
                self.heliport.get(at..=at).unwrap_or(&self.heliport)
            }
        }
    }

    /// The classes that a runway end can be in.
    fn candidates(
        &self,
        is_utility: Option<bool>,
        approach: Option<ApproachType>,
    ) -> Vec<&AirportColumn> {
        self.airport
            .iter()
            .filter(|column| {
                let class = column.class.as_str();
                let is_precision = class == "precision";
                let fits_size = is_precision
                    || is_utility.is_none_or(|utility| utility == class.starts_with("utility"));
                let fits_approach = approach.is_none_or(|approach| match approach {
                    ApproachType::NonInstrument => class.ends_with("visual"),
                    ApproachType::NonPrecision => class.contains("non_precision"),
                    ApproachType::Precision1 | ApproachType::Precision23 => is_precision,
                });
                fits_size && fits_approach
            })
            .collect()
    }
}

fn airport_column(grid: &Grid, column: usize) -> Result<AirportColumn> {
    let length = |row: &str| grid.length(row, column);
    let ratio = |row: &str| grid.ratio(row, column);
    let mut sections = vec![(
        length("approach_first_length")?,
        ratio("approach_first_slope")?,
    )];
    if let Some(second) = grid.length_if_any("approach_second_length", column)? {
        sections.push((second, ratio("approach_second_slope")?));
    }
    Ok(AirportColumn {
        class: grid
            .columns()
            .get(column)
            .map(|head| head.name.clone())
            .unwrap_or_default(),
        primary_width: length("primary_width")?,
        beyond_end: length("primary_beyond_end")?,
        horizontal: (length("horizontal_height")?, length("horizontal_radius")?),
        conical: (ratio("conical_slope")?, length("conical_run")?),
        outer_width: length("approach_outer_width")?,
        sections,
        transitional: ratio("transitional_slope")?,
        beyond_conical: grid.length_if_any("transitional_beyond_conical", column)?,
    })
}

impl AirportColumn {
    /// The sections of the approach surface from an inner edge of full width `inner_width`.
    #[must_use]
    pub fn ribbons(&self, origin: Xy, along: Xy, level: f64, inner_width: f64) -> Vec<Ribbon> {
        let total: f64 = self.sections.iter().map(|(length, _)| length).sum();
        let divergence = (self.outer_width - inner_width).max(0.0) / 2.0 / total;
        let mut next = Ribbon {
            origin,
            along,
            length: 0.0,
            half_width: inner_width / 2.0,
            divergence,
            level,
            slope: 0.0,
        };
        self.sections
            .iter()
            .map(|(length, slope)| {
                next = next.then(*length, divergence, *slope);
                next
            })
            .collect()
    }
}

/// A runway with the classes that each of its ends can be in.
struct OfRunway<'a> {
    line: &'a RunwayLine,
    columns: [Vec<&'a AirportColumn>; 2],
    assumed: Vec<String>,
}

impl<'a> OfRunway<'a> {
    fn new(cells: &'a Part77, line: &'a RunwayLine) -> Self {
        let is_utility = line.classification.is_utility;
        let columns = [0, 1].map(|end| {
            let approach = line
                .ends
                .get(end)
                .and_then(|end: &LineEnd| end.classification.approach);
            cells.candidates(is_utility, approach)
        });
        let mut assumed = line.assumed.clone();
        if is_utility.is_none() {
            assumed.push(format!(
                "whether runway {} is a utility runway is not given: the lowest is taken",
                line.designator
            ));
        }
        for end in &line.ends {
            match end.classification.approach {
                None => assumed.push(format!(
                    "kind of approach to runway end {} not given: the lowest of all is taken",
                    end.designator
                )),
                Some(ApproachType::NonPrecision) if is_utility != Some(true) => {
                    assumed.push(format!(
                        "visibility minimum at runway end {} not given: 3/4 statute mile is taken",
                        end.designator
                    ));
                }
                Some(_) => {}
            }
        }
        Self {
            line,
            columns,
            assumed,
        }
    }

    fn greatest(&self, of: impl Fn(&AirportColumn) -> f64) -> f64 {
        self.columns
            .iter()
            .flatten()
            .map(|column| of(column))
            .fold(0.0, f64::max)
    }

    /// How far the primary surface reaches beyond the ends.
    fn beyond_end(&self) -> f64 {
        match self.line.classification.is_paved {
            Some(false) => 0.0,
            _ => self.greatest(|column| column.beyond_end),
        }
    }

    fn lay_out(&self, horizontal: f64, laid: &mut Laid) {
        let line = self.line;
        let width = self.greatest(|column| column.primary_width);
        let beyond = self.beyond_end();
        let strip = line.strip(-beyond, line.length + beyond, width / 2.0);
        let slope = self
            .columns
            .iter()
            .flatten()
            .map(|column| column.transitional)
            .fold(f64::INFINITY, f64::min);
        let runway = Some(line.designator.as_str());
        let primary = strip.iter().filter_map(|it| it.deck(line.slack)).collect();
        laid.push(
            SurfaceKind::Primary,
            runway,
            &line.source,
            primary,
            &self.assumed,
        );
        let until = Until::Level(horizontal);
        let mut transitional: Vec<Patch> = strip
            .iter()
            .flat_map(|ribbon| ribbon.flanks(slope, until, line.slack))
            .collect();
        for (index, (end, outward)) in line.ends_outward().into_iter().enumerate() {
            let origin = line.point(line.from_low(index, -beyond));
            let mut approach = Vec::new();
            for column in self.columns.get(index).into_iter().flatten() {
                for ribbon in column.ribbons(origin, outward, end.elevation, width) {
                    approach.extend(ribbon.deck(line.slack));
                    transitional.extend(ribbon.flanks(column.transitional, until, line.slack));
                    if let Some(run) = column.beyond_conical {
                        let above = if ribbon.level >= horizontal {
                            Some(0.0)
                        } else {
                            ribbon.reaches(horizontal)
                        };
                        transitional.extend(above.into_iter().flat_map(|from| {
                            ribbon.between(from, ribbon.length).flanks(
                                column.transitional,
                                Until::FromEdge(run),
                                line.slack,
                            )
                        }));
                    }
                }
            }
            let part = Some(end.designator.as_str());
            laid.push(
                SurfaceKind::Approach,
                part,
                &line.source,
                approach,
                &self.assumed,
            );
        }
        laid.push(
            SurfaceKind::Transitional,
            runway,
            &line.source,
            transitional,
            &self.assumed,
        );
    }
}

/// Lays out every surface of the runways of an airport: those of 77.21 where the data say that it is
/// military, else those of 77.19.
pub(super) fn lay_out(
    cells: &Part77,
    aerodrome: &Aerodrome,
    lines: &[RunwayLine],
    frame: &LocalFrame,
    laid: &mut Laid,
) {
    match aerodrome.military {
        Some(true) => return cells.military.lay_out(aerodrome, lines, frame, laid),
        Some(false) => {}
        None => laid.missing.push(TAKEN_AS_CIVIL.to_owned()),
    }
    let runways: Vec<OfRunway> = lines
        .iter()
        .map(|line| OfRunway::new(cells, line))
        .collect();
    let mut assumed: Vec<String> = runways.iter().flat_map(|it| it.assumed.clone()).collect();
    let Some(elevation) = established_elevation(aerodrome, lines, &mut assumed, laid) else {
        return;
    };
    let height = runways
        .iter()
        .flat_map(|it| it.columns.iter().flatten())
        .map(|column| column.horizontal.0)
        .fold(f64::INFINITY, f64::min);
    let level = elevation + height;
    for runway in &runways {
        runway.lay_out(level, laid);
    }
    let discs: Vec<(Xy, f64)> = runways
        .iter()
        .flat_map(|runway| {
            let radius = runway.greatest(|column| column.horizontal.1);
            let beyond = runway.beyond_end();
            [-beyond, runway.line.length + beyond].map(|s| (runway.line.point(s), radius))
        })
        .collect();
    let columns = || runways.iter().flat_map(|it| it.columns.iter().flatten());
    let slope = columns()
        .map(|it| it.conical.0)
        .fold(f64::INFINITY, f64::min);
    let run = columns().map(|it| it.conical.1).fold(0.0, f64::max);
    let slack = hull_slack(aerodrome, lines, frame);
    if let Some((outline, radius)) = about_discs(&discs) {
        let floor = Bowl::new(outline.clone(), (0.0, radius), level, 0.0, slack);
        let rise = Bowl::new(outline, (radius, radius + run), level, slope, slack);
        for (kind, bowl) in [
            (SurfaceKind::Horizontal, floor),
            (SurfaceKind::Conical, rise),
        ] {
            let patches = bowl.map(Patch::Bowl).into_iter().collect();
            laid.push(kind, None, &aerodrome.source, patches, &assumed);
        }
    }
}

/// The established airport elevation, which is the highest point of the landing area; without it the
/// lowest runway end is the pessimistic stand-in. None without a runway.
fn established_elevation(
    aerodrome: &Aerodrome,
    lines: &[RunwayLine],
    assumed: &mut Vec<String>,
    laid: &mut Laid,
) -> Option<f64> {
    if lines.is_empty() {
        if laid.missing.is_empty() {
            laid.missing
                .push("it has no runway in the layers".to_owned());
        }
        return None;
    }
    Some(aerodrome.elevation.map_or_else(
        || {
            assumed.push("airport elevation not given: the lowest runway end is taken".to_owned());
            lines
                .iter()
                .flat_map(|line| line.ends.iter().map(|end| end.elevation))
                .fold(f64::INFINITY, f64::min)
        },
        |elevation| elevation.m(),
    ))
}

/// What a surface about all runways of an aerodrome may lie beside its true place.
fn hull_slack(aerodrome: &Aerodrome, lines: &[RunwayLine], frame: &LocalFrame) -> f64 {
    lines
        .iter()
        .map(|line| line.slack)
        .fold(placing_slack(about(aerodrome, frame)), f64::max)
}

/// How far the reference point is from the origin of the plane.
fn about(aerodrome: &Aerodrome, frame: &LocalFrame) -> Metres {
    aerodrome.reference_point.map_or(Metres::ZERO, |place| {
        let point = frame.to_plane(place);
        Metres::of(point.x.hypot(point.y))
    })
}

/// What is said of an airport that may be military.
const TAKEN_AS_CIVIL: &str = "whether it is a military airport is not given: it is taken as a civil \
                              one, and surfaces of 77.21 are not laid out";

/// What is said of a heliport that may be military.
const CIVIL_OR_MILITARY: &str =
    "whether the heliport is civil or military is not given: the lower slope, military, is taken";

/// Lays out the surfaces of a heliport: along its runways where the layers give any, else in every
/// direction about its movement area.
pub(super) fn lay_out_heliport(
    cells: &Part77,
    aerodrome: &Aerodrome,
    lines: &[RunwayLine],
    frame: &LocalFrame,
    laid: &mut Laid,
) {
    if lines.is_empty() {
        lay_out_all_round(cells, aerodrome, frame, laid);
        return;
    }
    for (line, runway) in lines.iter().filter_map(|line| {
        let record = aerodrome
            .runways
            .iter()
            .find(|runway| runway.source == line.source)?;
        Some((line, record))
    }) {
        let Some(width) = runway.width.filter(|width| width.m() > 0.0) else {
            laid.missing.push(format!(
                "runway {}: its width is not given",
                line.designator
            ));
            continue;
        };
        let mut assumed = line.assumed.clone();
        if aerodrome.military.is_none() {
            assumed.push(CIVIL_OR_MILITARY.to_owned());
        }
        let part = Some(line.designator.as_str());
        let primary = line.strip(0.0, line.length, width.m() / 2.0);
        let decks = primary
            .iter()
            .filter_map(|it| it.deck(line.slack))
            .collect();
        laid.push(SurfaceKind::Primary, part, &line.source, decks, &assumed);
        let mut transitional = Vec::new();
        let columns = cells.heliport_columns(aerodrome.military);
        for column in columns {
            let until = Until::FromCentreline(column.from_centreline);
            for ribbon in &primary {
                transitional.extend(ribbon.flanks(column.transitional, until, line.slack));
            }
        }
        for (end, outward) in line.ends_outward() {
            let mut approach = Vec::new();
            for column in columns {
                let ribbon = column.ribbon(end.position, outward, end.elevation, width.m());
                let until = Until::FromCentreline(column.from_centreline);
                approach.extend(ribbon.deck(line.slack));
                transitional.extend(ribbon.flanks(column.transitional, until, line.slack));
            }
            let part = Some(end.designator.as_str());
            laid.push(
                SurfaceKind::Approach,
                part,
                &line.source,
                approach,
                &assumed,
            );
        }
        laid.push(
            SurfaceKind::Transitional,
            part,
            &line.source,
            transitional,
            &assumed,
        );
    }
}

impl HeliportColumn {
    /// The approach surface from an inner edge of full width `inner_width`.
    #[must_use]
    pub fn ribbon(&self, origin: Xy, along: Xy, level: f64, inner_width: f64) -> Ribbon {
        Ribbon {
            origin,
            along,
            length: self.length,
            half_width: inner_width / 2.0,
            divergence: (self.outer_width - inner_width).max(0.0) / 2.0 / self.length,
            level,
            slope: self.slope,
        }
    }
}

fn lay_out_all_round(cells: &Part77, aerodrome: &Aerodrome, frame: &LocalFrame, laid: &mut Laid) {
    let Some(elevation) = aerodrome.elevation else {
        laid.missing.push("its elevation is not given".to_owned());
        return;
    };
    let Some(area) = &aerodrome.movement_area else {
        laid.missing
            .push("the size of its take-off and landing area is not given".to_owned());
        return;
    };
    let corners: Vec<Xy> = area
        .iter()
        .flat_map(|polygon| {
            let laid_out = lay_out_polygon(frame, polygon);
            laid_out
                .exterior()
                .coords()
                .copied()
                .map(xy)
                .collect::<Vec<_>>()
        })
        .collect();
    let away = corners
        .iter()
        .map(|it| it.x.hypot(it.y))
        .fold(0.0, f64::max);
    let slack = placing_slack(Metres::of(away));
    let outline = hull(&corners);
    let primary = Bowl::new(outline.clone(), (0.0, 0.0), elevation.m(), 0.0, slack);
    let columns = cells.heliport_columns(aerodrome.military);
    let approach = columns.iter().filter_map(|column| {
        let reach = (0.0, column.length);
        Bowl::new(outline.clone(), reach, elevation.m(), column.slope, slack).map(Patch::Bowl)
    });
    let mut assumed =
        vec!["the movement area is taken as the take-off and landing area".to_owned()];
    let primary = primary.map(Patch::Bowl).into_iter().collect();
    laid.push(
        SurfaceKind::Primary,
        None,
        &aerodrome.source,
        primary,
        &assumed,
    );
    if aerodrome.military.is_none() {
        assumed.push(CIVIL_OR_MILITARY.to_owned());
    }
    assumed.push(
        "approach directions are not given: the approach surface is taken in every direction, where \
         it lies below the transitional surface"
            .to_owned(),
    );
    laid.push(
        SurfaceKind::Approach,
        None,
        &aerodrome.source,
        approach.collect(),
        &assumed,
    );
}
