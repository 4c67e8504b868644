//! A vertical section: what a cut along a line meets, from the same fields and records as the answer.
//!
//! The ceiling is sampled from the compiled expression and refused where a sample contradicts the
//! certificate; the ground is the terrain itself, with gaps where it is unknown. Not here: how a
//! section is drawn.

mod choose;
mod governs;
mod ground;
mod line;
mod objects;
mod overhead;
mod sample;
mod tops;
mod wires;

use geo::{Coord, Intersects};

use super::Question;
use super::airspace::Overhead;
use super::expression::Expression;
use super::ground::SiteGround;
use super::obstacles::{Nearby, Placed};
use crate::answer::{
    AerodromeAnswer, CeilingAnswer, CertifiedLevel, LegAnswer, SectionAnswer, SectionDatum, Stretch,
};
use crate::cut::SectionCut;
use crate::error::{Error, Result};
use crate::plan::Plan;
use crate::read::Layers;
use crate::units::Metres;

use governs::Governing;
use ground::CutGround;
use line::Cut;
use sample::Sampled;

/// A section has no more stations than about this.
const STATIONS: f64 = 300.0;

/// The distances between stations that are chosen from, metres.
const STEPS_M: [f64; 10] = [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0];

/// How far inside the area the ceiling is sampled at its edge, metres: the resolution of distances.
const INSIDE_M: f64 = 0.001;

/// How wide the corridor is to either side unless stated, metres (common practice, no source: about
/// the width of a right of way).
pub const USUAL_CORRIDOR: Metres = Metres::of(50.0);

/// A section that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionWish {
    /// What it is cut along.
    pub cut: SectionCut,
    /// What is no farther than this to either side is projected onto it.
    pub corridor: Metres,
}

impl SectionWish {
    /// How far around the area layers must be read for it, for aerodromes within `search_radius`.
    #[must_use]
    pub fn reads_around(&self, area: &crate::site::OperatingArea, search_radius: Metres) -> Metres {
        let farthest = match &self.cut {
            SectionCut::Governing => Metres::ZERO,
            SectionCut::Aerodrome(_) | SectionCut::Along(_) => search_radius,
            SectionCut::Between(from, to) => {
                let origin = area.frame().origin();
                let away = |place| crate::frame::distance(origin, place);
                away(*from).max(away(*to))
            }
        };
        farthest.min(Metres::of(choose::LONGEST_SIDE_M)) + self.corridor
    }
}

/// What a section is made from.
pub struct Asked<'a> {
    pub question: &'a Question,
    pub layers: &'a Layers,
    pub plan: &'a Plan,
    pub ground: &'a SiteGround,
    pub nearby: &'a Nearby,
    pub expression: &'a Expression<'a>,
    pub overhead: &'a Overhead<'a>,
    pub ceiling: &'a CeilingAnswer,
    pub aerodromes: &'a [AerodromeAnswer],
    /// Magnetic declination at the site, degrees, if known.
    pub declination: Option<f64>,
}

/// An obstacle with the ground that its levels stand on.
pub struct Standing<'a> {
    placed: &'a Placed,
    ground: &'a SiteGround,
    governs: bool,
}

/// The section.
///
/// # Errors
/// When the cut cannot be laid out as wished, or the sampled ceiling contradicts its certificate.
pub fn answer(asked: &Asked, wish: &SectionWish) -> Result<SectionAnswer> {
    let governing = Governing::of(asked);
    let chosen = choose::choose(asked, &wish.cut, governing.as_ref())?;
    let cut = Cut::through(*asked.plan.frame(), &chosen.places).ok_or_else(|| {
        Error::new(
            "--section: the cut is shorter than a metre",
            "choose another cut",
        )
    })?;
    let mut notes = chosen.notes.clone();
    let far_ground = ground::beyond_site(asked, &cut, wish.corridor, &mut notes);
    let far = far_ground.as_ref().map(|far| {
        let records = ground::records_beyond_site(asked, &cut, wish.corridor);
        let least = asked.question.obstacle_accuracy.unwrap_or(Metres::ZERO);
        (far, Nearby::of(records, asked.plan, far, least))
    });
    let wide = CutGround {
        near: asked.ground,
        far: far_ground.as_ref(),
    };
    let (step, mut positions) = stations(&cut);
    let ground_unknown = wide.unknown(&cut, &positions);
    // Up to where the ground is known it is shown.
    positions.extend(
        ground_unknown
            .iter()
            .flat_map(|gap| [gap.from_m.m(), gap.to_m.m()]),
    );
    in_order(&mut positions);
    let in_area = in_area(&cut, asked.plan);
    if in_area.is_empty() {
        notes.push("the cut does not meet the operating area".to_owned());
    }
    let certified = certified(asked);
    let ceiling = sampled_ceiling(asked, &cut, &positions, &in_area, certified)?;
    let standing = standing(asked, far.as_ref(), governing.as_ref());
    let geometry = wires::Corridor {
        cut: &cut,
        half_width: wish.corridor.m(),
    };
    Ok(SectionAnswer {
        cut: chosen.words.clone(),
        datum: if asked.ground.is_amsl() {
            SectionDatum::MeanSeaLevel
        } else {
            SectionDatum::AssumedFlatGround
        },
        from: cut.place(0.0),
        to: cut.place(cut.length()),
        length_m: Metres::of(cut.length()),
        legs: legs(&cut, asked.declination),
        corridor_m: wish.corridor,
        step_m: Metres::of(step),
        stations: wide.stations(&cut, &positions),
        ground_unknown,
        ground_accuracy_m: Metres::of(asked.ground.ground.accuracy()),
        heights: governs::heights(asked, &cut, &positions, &ceiling, certified),
        in_area,
        ceiling: ceiling.runs,
        undetermined: ceiling.unknown,
        certified,
        governs: governing.map(|governing| governing.answer(asked, &cut)),
        wish_m_agl: asked.question.wish,
        wires: wires::answers(&standing, &geometry),
        objects: objects::answers(&standing, &geometry),
        surfaces: overhead::surfaces(asked, &cut, &positions, &mut notes),
        floors: overhead::floors(asked, &cut, &positions),
        landmarks: choose::landmarks(asked, &chosen, &cut),
        notes,
    })
}

/// The distance between stations, and their positions: every step, every bend and both ends.
fn stations(cut: &Cut) -> (f64, Vec<f64>) {
    let length = cut.length();
    let step = STEPS_M
        .into_iter()
        .find(|step| length / step <= STATIONS)
        .unwrap_or(length / STATIONS);
    let count = (length / step).floor() as usize;
    let mut positions: Vec<f64> = (0..=count).map(|k| step * k as f64).collect();
    positions.extend(cut.legs().iter().map(|leg| leg.at));
    positions.push(length);
    in_order(&mut positions);
    (step, positions)
}

fn in_order(positions: &mut Vec<f64>) {
    positions.sort_by(f64::total_cmp);
    positions.dedup();
}

fn legs(cut: &Cut, declination: Option<f64>) -> Vec<LegAnswer> {
    cut.legs()
        .iter()
        .map(|leg| LegAnswer {
            at_m: Metres::of(leg.at),
            from: leg.from,
            bearing_true_deg: leg.line.bearing_from,
            bearing_magnetic_deg: declination
                .map(|declination| leg.line.bearing_from.magnetic(declination)),
            bearing_onward_true_deg: leg.line.bearing_onward,
        })
        .collect()
}

/// Where the cut runs in the area, its outline included.
fn in_area(cut: &Cut, plan: &Plan) -> Vec<Stretch> {
    let mut at: Vec<f64> = vec![0.0, cut.length()];
    for (from, to) in plan.edges() {
        at.extend(cut.crossings(from, to).into_iter().map(|hit| hit.0));
    }
    at.sort_by(f64::total_cmp);
    let mut stretches: Vec<Stretch> = Vec::new();
    for pair in at.windows(2) {
        let &[from, to] = pair else { continue };
        let middle = cut.point(f64::midpoint(from, to));
        let is_inside = plan.polygons().intersects(&Coord {
            x: middle.x,
            y: middle.y,
        });
        if !is_inside || to - from <= 2.0 * INSIDE_M {
            continue;
        }
        match stretches.last_mut() {
            Some(last) if from - last.to_m.m() <= 2.0 * INSIDE_M => last.to_m = Metres::of(to),
            _ => stretches.push(Stretch {
                from_m: Metres::of(from),
                to_m: Metres::of(to),
            }),
        }
    }
    stretches
}

/// The certified ceiling in the datum of the section.
fn certified(asked: &Asked) -> Option<CertifiedLevel> {
    let pair = asked.ceiling.whole.as_ref();
    let is_of_whole_area = pair.is_some();
    let pair = pair.or(asked.ceiling.determined_part.as_ref())?;
    let value = if asked.ground.is_amsl() {
        pair.amsl.as_ref()?
    } else {
        &pair.above_ground
    };
    Some(CertifiedLevel {
        level_m: value.value_m,
        is_of_whole_area,
    })
}

/// The ceiling where the cut runs in the area, from the compiled expression.
///
/// # Errors
/// Where it is below the certified ceiling, or undetermined though the whole area is certified.
fn sampled_ceiling(
    asked: &Asked,
    cut: &Cut,
    positions: &[f64],
    in_area: &[Stretch],
    certified: Option<CertifiedLevel>,
) -> Result<Sampled> {
    let field = asked.expression.amsl(&asked.ground.ground);
    let mut sampled = Sampled::default();
    for stretch in in_area {
        let (from, to) = (stretch.from_m.m() + INSIDE_M, stretch.to_m.m() - INSIDE_M);
        let within = positions
            .iter()
            .copied()
            .filter(|at| (from..to).contains(at));
        let mut at: Vec<f64> = std::iter::once(from).chain(within).collect();
        at.push(to);
        at.dedup();
        sampled.add(&at, &|at| field.at(cut.point(at)));
    }
    let Some(certified) = certified else {
        return Ok(sampled);
    };
    let points = || sampled.runs.iter().flatten();
    let below = points().find(|point| point.level_m < certified.level_m);
    let gap = sampled
        .unknown
        .first()
        .filter(|_| certified.is_of_whole_area);
    let refused = |at: f64, what: &str| {
        Err(Error::new(
            format!("the ceiling sampled {at:.2} m along the section {what}"),
            "the section is refused; report it with the area and the layers",
        ))
    };
    match (below, gap) {
        (Some(point), _) => refused(point.at_m, "is below the certified ceiling"),
        (None, Some(gap)) => refused(
            gap.from_m.m(),
            "is undetermined, though that of the whole area is certified",
        ),
        (None, None) => Ok(sampled),
    }
}

/// The obstacles near the site, and those farther out along the cut.
fn standing<'a>(
    asked: &Asked<'a>,
    far: Option<&'a (&'a SiteGround, Nearby)>,
    governing: Option<&Governing>,
) -> Vec<Standing<'a>> {
    let shield = governing
        .and_then(|governing| governing.shield.as_ref())
        .map(|shield| shield.placed);
    let near = asked.nearby.placed.iter().map(|placed| Standing {
        placed,
        ground: asked.ground,
        governs: shield.is_some_and(|shield| std::ptr::eq(shield, placed)),
    });
    let far = far.into_iter().flat_map(|(ground, nearby)| {
        nearby.placed.iter().map(|placed| Standing {
            placed,
            ground,
            governs: false,
        })
    });
    near.chain(far).collect()
}
