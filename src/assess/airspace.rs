//! Which airspace volumes lie over a site, in plan and in height, and how low their floors are.
//!
//! In doubt a volume is over the site: its outline is taken at its widest, its floor at its lowest,
//! its top at its highest, and it is taken as active at all times.

use super::Question;
use super::ground::SiteGround;
use super::outline::outline;
use crate::airspace::answer::{
    AirspaceAnswer, FloorAnswer, InHeight, InPlan, OperatingTop, VolumeAnswer,
};
use crate::airspace::isa::{PLAUSIBLE_QNH, altitude_at};
use crate::airspace::{Level as LimitLevel, Volume};
use crate::answer::CeilingAnswer;
use crate::field::Field;
use crate::field::boundary::{Boundary, SignedDistance};
use crate::field::cap::{CapAboveGround, CapAmsl};
use crate::field::combine::Inside;
use crate::field::level::{Level, LevelAboveGround};
use crate::frame::{LocalFrame, Xy};
use crate::plan::Plan;
use crate::read::window_about;
use crate::search::{self, Limits, Scope};
use crate::units::{Altitude, Height, Metres, Pressure};

/// How closely distances from an outline are searched, metres.
const DISTANCE_TOLERANCE_M: f64 = 0.01;

/// How many cells a search about one outline may look at.
const CELLS: usize = 20_000;

/// How near the share inside an outline is found, where [`CELLS`] allow it.
const SHARE_TOLERANCE: f64 = 1e-3;

/// A search about one outline.
const fn limits(tolerance: f64) -> Limits {
    Limits {
        tolerance,
        resolution: search::RESOLUTION_M,
        cells: CELLS,
    }
}

/// The volumes within the search radius.
pub fn answer(
    question: &Question,
    volumes: &[Volume],
    plan: &Plan,
    ground: &SiteGround,
    ceiling: &CeilingAnswer,
) -> AirspaceAnswer {
    let site = Site {
        question,
        plan,
        ground,
        top: operating_top(question, ceiling),
        qnh: question.qnh.map_or(PLAUSIBLE_QNH, |stated| [stated; 2]),
    };
    let mut answers: Vec<VolumeAnswer> = volumes
        .iter()
        .filter_map(|volume| site.volume(volume))
        .collect();
    let farther = volumes.len() - answers.len();
    answers.sort_by(|a, b| {
        let key = |answer: &VolumeAnswer| match answer.in_plan {
            InPlan::Outside => (1, answer.margin_m.m()),
            InPlan::Inside | InPlan::Straddles => (
                0,
                answer
                    .floor
                    .and_then(|floor| floor.lowest_m_agl)
                    .map_or(f64::NEG_INFINITY, Height::m),
            ),
        };
        let (a_key, b_key) = (key(a), key(b));
        a_key
            .0
            .cmp(&b_key.0)
            .then(a_key.1.total_cmp(&b_key.1))
            .then_with(|| a.title.cmp(&b.title))
    });
    AirspaceAnswer {
        search_radius_m: question.search_radius,
        qnh_hpa: question.qnh,
        qnh_range_hpa: site.qnh,
        top: site.top,
        volumes: answers,
        farther,
    }
}

fn operating_top(question: &Question, ceiling: &CeilingAnswer) -> OperatingTop {
    if let Some(height) = question.wish {
        return OperatingTop::Wish {
            height_m_agl: height,
        };
    }
    match ceiling.whole.as_ref().or(ceiling.determined_part.as_ref()) {
        Some(pair) => OperatingTop::Ceiling {
            height_m_agl: Height::of(pair.above_ground.value_m),
            altitude_m_amsl: pair.amsl.as_ref().map(|value| Altitude::of(value.value_m)),
        },
        None => OperatingTop::Undetermined,
    }
}

struct Site<'a> {
    question: &'a Question,
    plan: &'a Plan,
    ground: &'a SiteGround,
    top: OperatingTop,
    qnh: [Pressure; 2],
}

/// The least of a floor over the part of the area inside an outline.
#[derive(Clone, Copy)]
struct Least {
    value: f64,
    place: Xy,
    /// Whether it is the least of all that part; if not, the ground is unknown somewhere.
    is_everywhere: bool,
}

impl Site<'_> {
    /// The answer about one volume; none when it is beyond the search radius.
    fn volume(&self, volume: &Volume) -> Option<VolumeAnswer> {
        let reach = self.question.search_radius;
        // What the outline may be wider by also widens the search.
        let searched = reach + volume.horizontal_accuracy + Metres::of(1.0);
        let window = window_about(&self.question.area, searched);
        let boundary = outline(
            self.plan,
            &volume.polygons,
            window,
            searched,
            volume.horizontal_accuracy,
        )?;
        let lowest = |upside_down: bool| {
            let field = SignedDistance {
                boundary: &boundary,
                upside_down,
            };
            search::lowest(
                &field,
                self.plan.cells(),
                Scope::Everywhere,
                limits(DISTANCE_TOLERANCE_M),
            )
        };
        let nearest = lowest(false)?.lower;
        if nearest > reach.m() {
            return None;
        }
        let farthest = -lowest(true)?.lower;
        let in_plan = if nearest > 0.0 {
            InPlan::Outside
        } else if farthest <= 0.0 {
            InPlan::Inside
        } else {
            InPlan::Straddles
        };
        let told = boundary.beyond() - boundary.grown();
        let stretch = LocalFrame::stretch(self.plan.radius() + searched);
        let mut answer = VolumeAnswer {
            title: volume.title(),
            ident: volume.ident.clone(),
            class: volume.class.clone(),
            kind: volume.kind.clone(),
            authority: volume.authority.clone(),
            hours: volume.hours.clone(),
            source: volume.source.clone(),
            lower: volume.lower.clone(),
            upper: volume.upper.clone(),
            in_plan,
            // The plane only stretches distances, so a positive one is made smaller.
            margin_m: Metres::of(nearest - nearest.max(0.0) * stretch),
            farthest_margin_m: Metres::of(farthest),
            margin_is_at_least: -nearest >= told || farthest.abs() >= told,
            share_inside: self.share_inside(&boundary, in_plan),
            in_height: None,
            why: String::new(),
            floor: None,
            record: volume.clone(),
        };
        if in_plan != InPlan::Outside {
            self.height(volume, &boundary, &mut answer);
        }
        Some(answer)
    }

    fn share_inside(&self, boundary: &Boundary, in_plan: InPlan) -> f64 {
        match in_plan {
            InPlan::Inside => 1.0,
            InPlan::Outside => 0.0,
            InPlan::Straddles => {
                let inwards = SignedDistance {
                    boundary,
                    upside_down: true,
                };
                search::share_at_or_above(&inwards, self.plan.cells(), 0.0, SHARE_TOLERANCE, CELLS)
                    .at_most
            }
        }
    }

    fn height(&self, volume: &Volume, boundary: &Boundary, answer: &mut VolumeAnswer) {
        let [low, high] = self.qnh;
        let above_ground = self.floor_above_ground(&volume.lower.level, boundary, low);
        let amsl = self.floor_amsl(&volume.lower.level, boundary, low);
        if let Some(lowest) = above_ground.or(amsl) {
            let varies = matches!(volume.lower.level, LimitLevel::Pressure { .. })
                && self.question.qnh.is_none();
            answer.floor = Some(FloorAnswer {
                lowest_m_amsl: whole(amsl).map(Altitude::of),
                lowest_at_highest_qnh_m_amsl: varies
                    .then(|| whole(self.floor_amsl(&volume.lower.level, boundary, high)))
                    .flatten()
                    .map(Altitude::of),
                lowest_m_agl: whole(above_ground).map(Height::of),
                lowest_at: self.plan.frame().to_place(lowest.place),
            });
        }
        let (state, why) = self.in_height(volume, boundary, above_ground, amsl);
        answer.in_height = Some(state);
        answer.why = why;
    }

    fn in_height(
        &self,
        volume: &Volume,
        boundary: &Boundary,
        above_ground: Option<Least>,
        amsl: Option<Least>,
    ) -> (InHeight, String) {
        let undetermined = |why: &str| (InHeight::Undetermined, why.to_owned());
        if self.ends_below_ground(&volume.upper.level) {
            return (
                InHeight::No,
                "its upper limit is below the ground".to_owned(),
            );
        }
        match &volume.lower.level {
            LimitLevel::Undetermined { why } => {
                return undetermined(&format!("its lower limit {why}"));
            }
            LimitLevel::Ellipsoid { .. } => {
                return undetermined(
                    "its lower limit is above the ellipsoid, and the height of the geoid above \
                     that is not stated",
                );
            }
            LimitLevel::Unlimited => return undetermined("its lower limit is not clear"),
            LimitLevel::Ground => {
                return (InHeight::Yes, "it begins at the ground".to_owned());
            }
            LimitLevel::AboveGround { .. }
            | LimitLevel::Amsl { .. }
            | LimitLevel::Pressure { .. } => {}
        }
        if let Some(reason) = contradiction(volume) {
            return undetermined(reason);
        }
        let Some(floor) = above_ground else {
            return undetermined("its floor is AMSL, and no elevation of the ground is known");
        };
        let (height, altitude) = match self.top {
            OperatingTop::Wish { height_m_agl } => (height_m_agl.m(), None),
            OperatingTop::Ceiling {
                height_m_agl,
                altitude_m_amsl,
            } => (height_m_agl.m(), altitude_m_amsl.map(Altitude::m)),
            OperatingTop::Undetermined if floor.value <= 0.0 => {
                return (
                    InHeight::Yes,
                    "its floor is at or below the ground".to_owned(),
                );
            }
            OperatingTop::Undetermined => {
                return undetermined("the ceiling is undetermined and no height was wished for");
            }
        };
        let reaches = |floor: Least, amsl: Option<Least>| {
            floor.value <= height
                || altitude
                    .zip(amsl)
                    .is_some_and(|(top, floor)| floor.value <= top)
        };
        if !reaches(floor, amsl) {
            return if floor.is_everywhere && amsl.is_none_or(|floor| floor.is_everywhere) {
                (
                    InHeight::No,
                    "its floor is above the operating volume".to_owned(),
                )
            } else {
                undetermined("the ground is unknown under part of the area")
            };
        }
        // At the highest pressure a flight level is highest.
        let [low, high] = self.qnh;
        let at_highest = self
            .floor_above_ground(&volume.lower.level, boundary, high)
            .is_some_and(|floor| {
                reaches(floor, self.floor_amsl(&volume.lower.level, boundary, high))
            });
        if at_highest {
            (
                InHeight::Yes,
                "its floor is not above the operating volume".to_owned(),
            )
        } else {
            undetermined(&format!(
                "it depends on the QNH, here anything from {} to {} hPa; state one",
                low.hpa(),
                high.hpa()
            ))
        }
    }

    /// The floor above ground over the part of the area inside the outline; none where the limit or
    /// the ground that it needs is not known.
    fn floor_above_ground(
        &self,
        level: &LimitLevel,
        boundary: &Boundary,
        qnh: Pressure,
    ) -> Option<Least> {
        let field: Box<dyn Field> = match floor_level(level, qnh)? {
            FloorLevel::AboveGround(height) => Box::new(CapAboveGround { leaf: 0, height }),
            FloorLevel::Amsl(altitude) if self.ground.is_amsl() => Box::new(LevelAboveGround {
                level: Level { leaf: 0, altitude },
                ground: &self.ground.ground,
            }),
            FloorLevel::Amsl(_) => return None,
        };
        self.least(field, boundary)
    }

    /// The floor AMSL, likewise.
    fn floor_amsl(&self, level: &LimitLevel, boundary: &Boundary, qnh: Pressure) -> Option<Least> {
        let field: Box<dyn Field> = match floor_level(level, qnh)? {
            FloorLevel::AboveGround(height) if self.ground.is_amsl() => Box::new(CapAmsl {
                cap: CapAboveGround { leaf: 0, height },
                ground: &self.ground.ground,
            }),
            FloorLevel::AboveGround(_) => return None,
            FloorLevel::Amsl(altitude) => Box::new(Level { leaf: 0, altitude }),
        };
        self.least(field, boundary)
    }

    fn least<'b>(&'b self, field: Box<dyn Field + 'b>, boundary: &'b Boundary) -> Option<Least> {
        let confined = Inside {
            zone: Box::new(boundary),
            field,
        };
        let search = |scope| {
            search::lowest(
                &confined,
                self.plan.cells(),
                scope,
                limits(self.question.tolerance.m()),
            )
            .filter(|found| found.lower.is_finite())
        };
        let (found, is_everywhere) = match search(Scope::Everywhere) {
            Some(found) => (found, true),
            None => (search(Scope::WhereDetermined)?, false),
        };
        Some(Least {
            value: found.lower,
            place: found.place,
            is_everywhere,
        })
    }

    /// Whether the top of a volume is certainly below all ground of the area.
    fn ends_below_ground(&self, upper: &LimitLevel) -> bool {
        let [_, high] = self.qnh;
        let Some(FloorLevel::Amsl(top)) = floor_level(upper, high) else {
            return false;
        };
        if self.ground.unknown_share(self.plan) > 0.0 {
            return false;
        }
        self.ground
            .answer(self.plan, self.question.tolerance)
            .lowest_m_amsl
            .is_some_and(|lowest| top < lowest.m() - self.ground.ground.accuracy())
    }
}

/// A limit as a height above ground or an altitude, metres.
#[derive(Clone, Copy)]
enum FloorLevel {
    AboveGround(f64),
    Amsl(f64),
}

fn floor_level(level: &LimitLevel, qnh: Pressure) -> Option<FloorLevel> {
    Some(match level {
        LimitLevel::Ground => FloorLevel::AboveGround(0.0),
        LimitLevel::AboveGround { height_m } => FloorLevel::AboveGround(height_m.m()),
        LimitLevel::Amsl { altitude_m } => FloorLevel::Amsl(altitude_m.m()),
        LimitLevel::Pressure { altitude_at_1013_m } => {
            FloorLevel::Amsl(altitude_at(*altitude_at_1013_m, qnh).m())
        }
        LimitLevel::Unlimited | LimitLevel::Ellipsoid { .. } | LimitLevel::Undetermined { .. } => {
            return None;
        }
    })
}

/// The least, where it is that of the whole part.
fn whole(least: Option<Least>) -> Option<f64> {
    least
        .filter(|least| least.is_everywhere)
        .map(|least| least.value)
}

/// Whether the limits of a volume contradict one another: both in one reference, the lower above
/// the upper.
fn contradiction(volume: &Volume) -> Option<&'static str> {
    let standard = PLAUSIBLE_QNH[0];
    let is_pressure = |level: &LimitLevel| matches!(level, LimitLevel::Pressure { .. });
    let (lower, upper) = (&volume.lower.level, &volume.upper.level);
    if is_pressure(lower) != is_pressure(upper) {
        return None;
    }
    match (floor_level(lower, standard)?, floor_level(upper, standard)?) {
        (FloorLevel::Amsl(low), FloorLevel::Amsl(high))
        | (FloorLevel::AboveGround(low), FloorLevel::AboveGround(high))
            if low > high =>
        {
            Some("its lower limit is above its upper limit")
        }
        _ => None,
    }
}
