//! Where a section is cut: the places that its line goes through.

use super::line::SHORTEST_CUT_M;
use super::{Asked, Governing};
use crate::answer::{AerodromeAnswer, DistanceAnswer, SectionLandmark};
use crate::cut::SectionCut;
use crate::error::{Error, Result};
use crate::frame::{LonLat, Xy, distance};
use crate::plan::Plan;
use crate::units::Metres;

/// A cut goes on beyond what it is made for by this share of its length...
const BEYOND_SHARE: f64 = 0.12;
/// ... but by no less and no more than this, metres.
const BEYOND_M: std::ops::RangeInclusive<f64> = 30.0..=400.0;

/// No cut is longer than this on either side of the area, metres.
pub const LONGEST_SIDE_M: f64 = 30_000.0;

/// Spans of a line that a section is cut along are taken up to this far from the area, metres.
const ALONG_BEYOND_M: f64 = 300.0;

/// Where no place governs the cut leads to an aerodrome up to this far off, metres: beyond, the site
/// would be a hair on paper.
const NEAR_AERODROME_M: f64 = 2_000.0;

/// Places nearer than this give no direction, metres.
const SAME_PLACE_M: f64 = 1.0;

/// A chosen cut.
pub struct Chosen {
    /// The places that it goes through.
    pub places: Vec<LonLat>,
    /// What it is cut along, in words.
    pub words: String,
    /// Why it is not cut as asked for.
    pub notes: Vec<String>,
    /// What it leads to, by place.
    pub landmarks: Vec<(String, LonLat)>,
}

/// Chooses the places.
///
/// # Errors
/// When the aerodrome or the feature is not among what was read, or the cut has no length.
pub fn choose(asked: &Asked, cut: &SectionCut, governs: Option<&Governing>) -> Result<Chosen> {
    match cut {
        SectionCut::Governing => governing(asked, governs),
        SectionCut::Aerodrome(name) => {
            let aerodrome = aerodrome(asked, name.as_deref())?;
            towards(asked, aerodrome)
        }
        SectionCut::Along(feature) => along(asked, feature),
        SectionCut::Between(from, to) => between(asked, *from, *to),
    }
}

fn governing(asked: &Asked, governs: Option<&Governing>) -> Result<Chosen> {
    let Some(governs) = governs else {
        let why = "no place governs, for the ceiling is undetermined or nothing limits it";
        let near = asked.aerodromes.first().filter(|aerodrome| {
            aerodrome
                .nearest()
                .is_some_and(|it| it.distance_m.m() <= NEAR_AERODROME_M)
        });
        let mut chosen = match near {
            Some(nearest) => towards(asked, nearest)?,
            None => through_middle(asked),
        };
        chosen.notes.push(why.to_owned());
        return Ok(chosen);
    };
    let place = governs.point;
    let (through, direction, words) = match &governs.shield {
        Some(shield) => {
            let at = shield.placed.nearest_to(place);
            let direction = match direction(place, at) {
                Some(direction) => direction,
                // On or under the shield itself: across it.
                None => shield
                    .placed
                    .sets()
                    .iter()
                    .filter_map(|set| match set.corners() {
                        [from, to] => direction_across(*from, *to),
                        _ => None,
                    })
                    .next()
                    .unwrap_or_else(|| widest(asked.plan, place)),
            };
            let words = "through the place that governs and its shield";
            (vec![place, at], direction, words)
        }
        None => (
            vec![place],
            widest(asked.plan, place),
            "through the place that governs",
        ),
    };
    Ok(Chosen {
        places: straight(asked.plan, place, direction, &through),
        words: words.to_owned(),
        notes: Vec::new(),
        landmarks: Vec::new(),
    })
}

fn through_middle(asked: &Asked) -> Chosen {
    let middle = Xy::default();
    Chosen {
        places: straight(asked.plan, middle, widest(asked.plan, middle), &[]),
        words: "through the middle of the area".to_owned(),
        notes: Vec::new(),
        landmarks: Vec::new(),
    }
}

fn aerodrome<'a>(asked: &'a Asked, name: Option<&str>) -> Result<&'a AerodromeAnswer> {
    let found = match name {
        None => asked.aerodromes.first(),
        Some(name) => asked.aerodromes.iter().find(|aerodrome| {
            let record = &aerodrome.record;
            [record.ident.as_ref(), Some(&record.name)]
                .into_iter()
                .flatten()
                .any(|known| known.eq_ignore_ascii_case(name))
        }),
    };
    let which = name.map_or_else(|| "an aerodrome".to_owned(), |name| format!("{name:?}"));
    found.ok_or_else(|| {
        Error::new(
            format!("--section: {which} is not within the search radius"),
            "give the location indicator or name of an aerodrome that the report lists, or raise \
             --search-radius",
        )
    })
}

/// From the reference that the profile's first ring uses, else from the nearest, to the area.
fn towards(asked: &Asked, aerodrome: &AerodromeAnswer) -> Result<Chosen> {
    let by_rule = aerodrome.rings.iter().find_map(|ring| {
        aerodrome
            .from_reference(ring.measured_from?)
            .zip(ring.measured_from)
    });
    let nearest = || {
        aerodrome
            .references
            .iter()
            .filter_map(|it| Some((it.distance.as_ref()?, it.reference)))
            .min_by(|a, b| a.0.distance_m.m().total_cmp(&b.0.distance_m.m()))
    };
    let Some((distance, reference)) = by_rule.or_else(nearest) else {
        return Err(Error::new(
            format!("--section: {} has no known position", aerodrome.title),
            "choose another cut",
        ));
    };
    let DistanceAnswer { from, to, part, .. } = distance;
    let frame = asked.plan.frame();
    let reference_at = frame.to_plane(*from);
    let nearest = frame.to_plane(*to);
    let direction = direction(reference_at, nearest)
        .or_else(|| direction(reference_at, Xy::default()))
        .unwrap_or_else(|| widest(asked.plan, reference_at));
    let mut notes = Vec::new();
    let away = reference_at.distance(nearest);
    let mut must = vec![nearest];
    if away <= LONGEST_SIDE_M {
        must.push(reference_at);
    } else {
        must.push(nearest.towards(reference_at, LONGEST_SIDE_M / away));
        notes.push(format!(
            "cut off {} km from the area, before the aerodrome",
            LONGEST_SIDE_M / 1000.0
        ));
    }
    let part = part
        .as_deref()
        .map_or(String::new(), |part| format!(" {part}"));
    let title = format!("{}, {}{part}", aerodrome.title, reference.term());
    Ok(Chosen {
        places: straight(asked.plan, nearest, direction, &must),
        words: format!("from {title} through the nearest place of the area"),
        notes,
        landmarks: vec![(title, *from)],
    })
}

fn between(asked: &Asked, from: LonLat, to: LonLat) -> Result<Chosen> {
    if distance(from, to).m() < SHORTEST_CUT_M {
        return Err(Error::new(
            "--section: its two places are less than a metre apart",
            "give two places on either side of the site",
        ));
    }
    let origin = asked.plan.frame().origin();
    let farthest = LONGEST_SIDE_M + asked.plan.radius().m();
    if [from, to]
        .iter()
        .any(|place| distance(origin, *place).m() > farthest)
    {
        return Err(Error::new(
            format!(
                "--section: a place is more than {} km from the area",
                LONGEST_SIDE_M / 1000.0
            ),
            "check that latitude comes first, LAT,LON/LAT,LON, and stay near the area",
        ));
    }
    Ok(Chosen {
        places: vec![from, to],
        words: "between two given places".to_owned(),
        notes: Vec::new(),
        landmarks: Vec::new(),
    })
}

fn along(asked: &Asked, feature: &str) -> Result<Chosen> {
    if let Some(chosen) = along_runway(asked, feature) {
        return Ok(chosen);
    }
    let mut spans: Vec<_> = asked
        .nearby
        .placed
        .iter()
        .filter(|placed| placed.record.source.feature == feature)
        .filter_map(|placed| Some((placed, placed.record.span.as_ref()?, placed.record.chain()?)))
        .filter(|(placed, _, _)| placed.is_within(ALONG_BEYOND_M, asked.plan))
        .collect();
    spans.sort_by_key(|(_, span, _)| span.index);
    // A line in several parts: the run of spans, end to end, that comes nearest to the area.
    let mut chains: Vec<(f64, Vec<LonLat>)> = Vec::new();
    for (placed, _, places) in &spans {
        match chains.last_mut() {
            Some((nearest, chain)) if chain.last() == places.first() => {
                chain.extend(places.iter().skip(1));
                *nearest = nearest.min(placed.distance(asked.plan));
            }
            _ => chains.push((placed.distance(asked.plan), places.to_vec())),
        }
    }
    let nearest = chains.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, places)) = nearest else {
        return Err(Error::new(
            format!(
                "--section: no power line within {ALONG_BEYOND_M} m of the area and no runway has the id {feature:?}"
            ),
            "give the id of the feature as its layer has it, such as along=way/42",
        ));
    };
    Ok(Chosen {
        places,
        words: format!("along {feature}"),
        notes: Vec::new(),
        landmarks: Vec::new(),
    })
}

/// The extended centreline of a runway, as far as the area lies along it.
fn along_runway(asked: &Asked, feature: &str) -> Option<Chosen> {
    let runway = asked
        .aerodromes
        .iter()
        .flat_map(|aerodrome| &aerodrome.record.runways)
        .find(|runway| runway.source.feature == feature)?;
    let frame = asked.plan.frame();
    let ends: Vec<(String, LonLat)> = runway
        .ends
        .iter()
        .filter_map(|end| {
            let designator = end.designator.as_deref().unwrap_or("?");
            Some((format!("runway end {designator}"), end.position?))
        })
        .collect();
    let [first, last] = ends.as_slice() else {
        return None;
    };
    let (first, last) = (frame.to_plane(first.1), frame.to_plane(last.1));
    let direction = direction(first, last)?;
    let feet = asked.plan.edges().map(|(corner, _)| {
        let along = (corner.x - first.x) * direction.x + (corner.y - first.y) * direction.y;
        let along = along.clamp(-LONGEST_SIDE_M, LONGEST_SIDE_M);
        Xy::new(first.x + along * direction.x, first.y + along * direction.y)
    });
    let must: Vec<Xy> = feet.chain([first, last]).collect();
    Some(Chosen {
        places: straight(asked.plan, first, direction, &must),
        words: format!(
            "along the extended centreline of runway {}",
            runway.designator
        ),
        notes: Vec::new(),
        landmarks: ends,
    })
}

/// Both ends of the line through a point, west end first, that holds the points that it must and
/// every place of the area on it, and goes on a little beyond them.
fn straight(plan: &Plan, through: Xy, direction: Xy, must: &[Xy]) -> Vec<LonLat> {
    let direction = if direction.x < 0.0 || (direction.x == 0.0 && direction.y > 0.0) {
        Xy::new(-direction.x, -direction.y)
    } else {
        direction
    };
    let along =
        |point: &Xy| (point.x - through.x) * direction.x + (point.y - through.y) * direction.y;
    let across =
        |point: &Xy| (point.y - through.y) * direction.x - (point.x - through.x) * direction.y;
    let on_area = plan.edges().filter_map(|(from, to)| {
        let (a, b) = (across(&from), across(&to));
        ((a >= 0.0) != (b >= 0.0)).then(|| along(&from.towards(to, a / (a - b))))
    });
    let (low, high) = must
        .iter()
        .map(along)
        .chain(on_area)
        .fold((0f64, 0f64), |(low, high), at| (low.min(at), high.max(at)));
    let beyond = ((high - low) * BEYOND_SHARE).clamp(*BEYOND_M.start(), *BEYOND_M.end());
    [low - beyond, high + beyond]
        .map(|at| {
            plan.frame().to_place(Xy::new(
                through.x + at * direction.x,
                through.y + at * direction.y,
            ))
        })
        .to_vec()
}

/// The direction from one point to another; none when they are too near.
fn direction(from: Xy, to: Xy) -> Option<Xy> {
    let away = from.distance(to);
    (away >= SAME_PLACE_M).then(|| Xy::new((to.x - from.x) / away, (to.y - from.y) / away))
}

fn direction_across(from: Xy, to: Xy) -> Option<Xy> {
    direction(from, to).map(|along| Xy::new(-along.y, along.x))
}

/// From a point to the farthest corner of the area; east where there is none.
fn widest(plan: &Plan, from: Xy) -> Xy {
    plan.edges()
        .map(|(corner, _)| corner)
        .max_by(|a, b| a.distance(from).total_cmp(&b.distance(from)))
        .and_then(|corner| direction(from, corner))
        .unwrap_or(Xy::new(1.0, 0.0))
}

/// What a cut leads to, seen from it.
pub fn landmarks(asked: &Asked, chosen: &Chosen, cut: &super::line::Cut) -> Vec<SectionLandmark> {
    chosen
        .landmarks
        .iter()
        .filter_map(|(title, place)| {
            let seen = cut.see(asked.plan.frame().to_plane(*place));
            (!seen.is_beyond).then(|| SectionLandmark {
                title: title.clone(),
                at_m: Metres::of(seen.at),
                offset_m: Metres::of(seen.offset),
            })
        })
        .collect()
}
