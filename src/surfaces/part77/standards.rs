//! 14 CFR 77.9 and 77.17: heights of structures that need notice, or are obstructions.
//!
//! They are standards for what stands (a building, a crane, a mast, a tether), not for a flight.
//! Where the data leave something open the lower height is kept: a runway of unknown length counts as
//! a long one, the lowest end of a runway is the level that a slope starts from, and a runway of
//! unknown width is as wide as the widest primary surface of 77.19. Which airports and heliports the
//! sections cover (77.9(d): those in public use, military ones, those with instrument approaches) is
//! not in the data: all that are not closed are taken.
//! Not here: how an area lies to them (see [`crate::assess`]).

use super::Part77;
use crate::aerodrome::{Aerodrome, AerodromeKind};
use crate::error::Result;
use crate::field::combine::Highest;
use crate::field::convex::Convex;
use crate::field::ground::Ground;
use crate::field::surface::{Bowl, Patch, Surface, SurfaceAboveGround};
use crate::frame::{LocalFrame, distance};
use crate::plan::{lay_out_polygon, xy};
use crate::surfaces::answer::Purpose;
use crate::surfaces::outline::hull;
use crate::surfaces::placing_slack;
use crate::surfaces::runway_line::RunwayLine;
use crate::surfaces::table::Grid;
use crate::units::{METRES_PER_NAUTICAL_MILE, Metres};

/// The cells of 77.9 and 77.17, resolved to metres and ratios, with the source of each.
#[derive(Clone, Debug, PartialEq)]
pub struct Standards {
    /// Height above ground that needs notice (77.9(a)), and that is an obstruction (77.17(a)(1)).
    pub above_ground: [f64; 2],
    /// Where those are from.
    pub above_ground_source: String,
    /// Slopes and runs of 77.9(b): airports with a long runway, others, heliports.
    pub notice: [(f64, f64); 3],
    /// Where those are from.
    pub notice_source: String,
    /// A longest runway above this is a long one (77.9(b)(1)).
    pub notice_long_runway: f64,
    /// 77.17(a)(2).
    pub near_airport: NearAirport,
    /// What is added to the height of a traverse way (77.9(c), 77.17(b)): its kind, metres.
    pub traverse_ways: Vec<(String, f64)>,
    /// Where those are from.
    pub traverse_source: String,
}

/// The cells of 77.17(a)(2).
#[derive(Clone, Debug, PartialEq)]
pub struct NearAirport {
    /// Airports whose longest runway is above this have it.
    pub longest_runway_above: f64,
    /// Within this of the reference point the height is `height`.
    pub radius: f64,
    /// The height there.
    pub height: f64,
    /// By how much it rises from there, metres a metre.
    pub slope: f64,
    /// The greatest height.
    pub greatest: f64,
    /// Where they are from.
    pub source: String,
}

/// One standard at a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Standard {
    /// What it decides.
    pub purpose: Purpose,
    /// Section of the instrument, and where it was read.
    pub source: String,
    /// The aerodrome; none for a height above any ground.
    pub aerodrome: Option<String>,
    /// The height.
    pub limit: StructureLimit,
    /// What was taken for want of data.
    pub assumed: Vec<String>,
}

/// The greatest height of a structure that a standard lets pass.
#[derive(Clone, Debug, PartialEq)]
pub enum StructureLimit {
    /// The same above any ground, metres.
    AboveGround(f64),
    /// Up to a surface, metres AMSL.
    Surface(Surface),
    /// Above ground or AMSL, whichever is higher.
    HigherOf {
        /// Levels above ground, metres.
        above_ground: Surface,
        /// Levels AMSL, metres.
        amsl: Surface,
    },
}

/// Levels above ground or levels AMSL, whichever is higher at each point, as heights above the highest
/// that the ground can be. Where the ground is unknown those above ground stand alone, the lower.
#[must_use]
pub fn higher_of<'a>(
    above_ground: &'a Surface,
    amsl: &'a Surface,
    ground: &'a Ground,
) -> Highest<'a> {
    let by_level = SurfaceAboveGround {
        surface: amsl,
        ground,
    };
    Highest(vec![Box::new(above_ground.clone()), Box::new(by_level)])
}

impl Standards {
    pub(super) fn read(
        structure: &Grid,
        notice: &Grid,
        near: &Grid,
        traverse: &Grid,
    ) -> Result<Self> {
        let sloped = |column: usize| {
            Ok((
                notice.ratio("slope", column)?,
                notice.length("run", column)?,
            ))
        };
        Ok(Self {
            above_ground: [
                structure.length("above_ground", 0)?,
                structure.length("above_ground", 1)?,
            ],
            above_ground_source: structure.source("above_ground")?,
            notice: [sloped(0)?, sloped(1)?, sloped(2)?],
            notice_source: notice.source("slope")?,
            notice_long_runway: notice.length("longest_runway_above", 0)?,
            near_airport: NearAirport {
                longest_runway_above: near.length("longest_runway_above", 0)?,
                radius: near.length("radius", 0)?,
                height: near.length("height", 0)?,
                slope: near.length("more_each_nautical_mile", 0)? / METRES_PER_NAUTICAL_MILE,
                greatest: near.length("greatest_height", 0)?,
                source: near.source("height")?,
            },
            traverse_ways: traverse
                .columns()
                .iter()
                .enumerate()
                .map(|(column, head)| {
                    Ok((head.name.clone(), traverse.length("added_height", column)?))
                })
                .collect::<Result<_>>()?,
            traverse_source: traverse.source("added_height")?,
        })
    }

    /// Those that hold above any ground.
    #[must_use]
    pub fn anywhere(&self) -> Vec<Standard> {
        [Purpose::Notice, Purpose::Obstruction]
            .into_iter()
            .zip(self.above_ground)
            .map(|(purpose, height)| Standard {
                purpose,
                source: self.above_ground_source.clone(),
                aerodrome: None,
                limit: StructureLimit::AboveGround(height),
                assumed: Vec::new(),
            })
            .collect()
    }
}

impl NearAirport {
    /// A level at the reference point, the same within the radius, rising beyond it to the greatest
    /// height; nothing beyond that.
    #[must_use]
    pub fn about(&self, point: &Convex, elevation: f64, slack: f64) -> Surface {
        let level = elevation + self.height;
        let run = (self.greatest - self.height) / self.slope;
        let rise = (self.radius, self.radius + run);
        Surface {
            patches: [((0.0, self.radius), 0.0), (rise, self.slope)]
                .into_iter()
                .filter_map(|(reach, slope)| {
                    Bowl::new(point.clone(), reach, level, slope, slack).map(Patch::Bowl)
                })
                .collect(),
        }
    }
}

/// The longest runway of an airport, metres, by the longer of what is stated and measured; and whether
/// some runway has neither.
fn longest_runway(aerodrome: &Aerodrome) -> (f64, bool) {
    let lengths = aerodrome
        .runways
        .iter()
        .filter(|runway| !runway.closed)
        .map(|runway| {
            let [low, high] = &runway.ends;
            let measured = low
                .position
                .zip(high.position)
                .map(|(from, to)| distance(from, to).m());
            let stated = runway.length.map(Metres::m);
            [measured, stated].into_iter().flatten().reduce(f64::max)
        });
    let longest = lengths.clone().flatten().fold(0.0, f64::max);
    (longest, lengths.clone().any(|it| it.is_none()))
}

/// The standards about one aerodrome, and why some are missing.
#[must_use]
pub fn of_aerodrome(
    cells: &Part77,
    aerodrome: &Aerodrome,
    frame: &LocalFrame,
) -> (Vec<Standard>, Vec<String>) {
    let mut found = Vec::new();
    let mut missing = Vec::new();
    if aerodrome.kind == AerodromeKind::Closed {
        return (found, missing);
    }
    let mut assumed = Vec::new();
    let (longest, some_unknown) = longest_runway(aerodrome);
    let is_long = |above: f64| longest > above || some_unknown || longest == 0.0;
    if aerodrome.kind != AerodromeKind::Heliport
        && (some_unknown || longest == 0.0)
        && longest <= cells.standards.notice_long_runway
    {
        assumed.push("length of the longest runway not known: a long one is taken".to_owned());
    }
    let standard = |purpose, source: &str, limit, assumed: &[String]| Standard {
        purpose,
        source: source.to_owned(),
        aerodrome: Some(aerodrome.title()),
        limit,
        assumed: assumed.to_vec(),
    };
    match notice(
        cells,
        aerodrome,
        is_long(cells.standards.notice_long_runway),
        frame,
    ) {
        Ok((surface, more)) => {
            let all: Vec<String> = assumed.iter().cloned().chain(more).collect();
            found.push(standard(
                Purpose::Notice,
                &cells.standards.notice_source,
                StructureLimit::Surface(surface),
                &all,
            ));
        }
        Err(why) => missing.extend(why),
    }
    let near = &cells.standards.near_airport;
    if aerodrome.kind != AerodromeKind::Heliport && is_long(near.longest_runway_above) {
        match aerodrome.reference_point {
            None => missing.push("77.17(a)(2): its reference point is not given".to_owned()),
            Some(place) => {
                let at = frame.to_plane(place);
                let slack = placing_slack(Metres::of(at.x.hypot(at.y)));
                let point = Convex::point(at);
                let above_ground = near.about(&point, 0.0, slack);
                let limit = match aerodrome.elevation {
                    Some(elevation) => StructureLimit::HigherOf {
                        above_ground,
                        amsl: near.about(&point, elevation.m(), slack),
                    },
                    None => {
                        assumed.push(
                            "airport elevation not given: the height is taken above ground"
                                .to_owned(),
                        );
                        StructureLimit::HigherOf {
                            above_ground,
                            amsl: Surface::default(),
                        }
                    }
                };
                found.push(standard(
                    Purpose::Obstruction,
                    &near.source,
                    limit,
                    &assumed,
                ));
            }
        }
    }
    (found, missing)
}

/// The surface of 77.9(b) about an aerodrome, with what was taken.
fn notice(
    cells: &Part77,
    aerodrome: &Aerodrome,
    is_long: bool,
    frame: &LocalFrame,
) -> std::result::Result<(Surface, Vec<String>), Vec<String>> {
    let [long, short, heliport] = cells.standards.notice;
    let is_heliport = aerodrome.kind == AerodromeKind::Heliport;
    let (slope, run) = match (is_heliport, is_long) {
        (true, _) => heliport,
        (false, true) => long,
        (false, false) => short,
    };
    let widest = cells
        .airport
        .iter()
        .map(|column| column.primary_width)
        .fold(0.0, f64::max);
    let mut assumed = Vec::new();
    let mut missing = Vec::new();
    let mut patches = Vec::new();
    for runway in aerodrome.runways.iter().filter(|runway| !runway.closed) {
        let line = match RunwayLine::of(runway, aerodrome, frame) {
            Ok(line) => line,
            Err(why) => {
                missing.push(format!("77.9(b), runway {}: {why}", runway.designator));
                continue;
            }
        };
        assumed.extend(line.assumed.iter().cloned());
        let width = runway.width.map(Metres::m).filter(|width| *width > 0.0);
        if width.is_none() {
            assumed.push(format!(
                "width of runway {} not given: that of the widest primary surface is taken",
                line.designator
            ));
        }
        let corners: Vec<_> = line
            .strip(0.0, line.length, width.unwrap_or(widest) / 2.0)
            .iter()
            .flat_map(|it| {
                [(0.0, 1.0), (0.0, -1.0), (it.length, 1.0), (it.length, -1.0)]
                    .map(|(s, side)| it.point(s, side * it.half_width))
            })
            .collect();
        let lowest = line
            .ends
            .iter()
            .map(|end| end.elevation)
            .fold(f64::INFINITY, f64::min);
        patches.extend(Bowl::new(
            hull(&corners),
            (0.0, run),
            lowest,
            slope,
            line.slack,
        ));
    }
    if is_heliport
        && let (Some(area), Some(elevation)) = (&aerodrome.movement_area, aerodrome.elevation)
    {
        assumed.push("the movement area is taken as the landing and take-off area".to_owned());
        for polygon in area {
            let corners: Vec<_> = lay_out_polygon(frame, polygon)
                .exterior()
                .coords()
                .copied()
                .map(xy)
                .collect();
            let away = corners
                .iter()
                .map(|it| it.x.hypot(it.y))
                .fold(0.0, f64::max);
            let slack = placing_slack(Metres::of(away));
            let reach = (0.0, run);
            patches.extend(Bowl::new(
                hull(&corners),
                reach,
                elevation.m(),
                slope,
                slack,
            ));
        }
    }
    if patches.is_empty() {
        if missing.is_empty() {
            missing.push(
                "77.9(b): the data give no runway, and no landing area with an elevation"
                    .to_owned(),
            );
        }
        return Err(missing);
    }
    let surface = Surface {
        patches: patches.into_iter().map(Patch::Bowl).collect(),
    };
    // A runway that could not be laid out may be nearer: what is left does not answer for it.
    if missing.is_empty() {
        Ok((surface, assumed))
    } else {
        assumed.extend(missing.into_iter().map(|why| format!("left out: {why}")));
        Ok((surface, assumed))
    }
}
