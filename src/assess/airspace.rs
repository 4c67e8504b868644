//! Which airspace volumes lie over a site, in plan and in height, and how low their floors are.
//!
//! In doubt a volume is over the site: its outline is taken at its widest, its floor at its lowest,
//! its top at its highest, and it is taken as active at all times.

use super::Question;
use super::expression::AirspaceLeaf;
use super::ground::SiteGround;
use super::outline::outline;
use crate::airspace::answer::{
    AirspaceAnswer, FloorAnswer, InHeight, InPlan, OperatingTop, VolumeAnswer, mark_governing,
};
use crate::airspace::isa::{PLAUSIBLE_QNH, altitude_at};
use crate::airspace::{Level as LimitLevel, Volume};
use crate::answer::CeilingAnswer;
use crate::field::Field;
use crate::field::boundary::{Boundary, SignedDistance};
use crate::field::cap::{CapAboveGround, CapAmsl};
use crate::field::combine::Inside;
use crate::field::floor::{Floor, FloorVolume};
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

/// The volumes of the layers laid out about a site.
pub struct Overhead<'a> {
    site: Site<'a>,
    /// None without an airspace layer.
    placed: Option<Vec<Placed<'a>>>,
    volumes: usize,
}

/// A volume with its outline near the site.
struct Placed<'a> {
    record: &'a Volume,
    boundary: Boundary,
}

impl<'a> Overhead<'a> {
    /// Lays out the volumes that come within the search radius of the area.
    pub fn of(
        question: &'a Question,
        volumes: Option<&'a [Volume]>,
        plan: &'a Plan,
        ground: &'a SiteGround,
    ) -> Self {
        let placed = volumes.map(|volumes| {
            volumes
                .iter()
                .filter_map(|record| {
                    let searched = searched(question, record);
                    let boundary = outline(
                        plan,
                        &record.polygons,
                        window_about(&question.area, searched),
                        searched,
                        record.horizontal_accuracy,
                    )?;
                    Some(Placed { record, boundary })
                })
                .collect()
        });
        Self {
            site: Site {
                question,
                plan,
                ground,
                top: OperatingTop::Undetermined,
                qnh: question.qnh.map_or(PLAUSIBLE_QNH, |stated| [stated; 2]),
            },
            placed,
            volumes: volumes.map_or(0, <[Volume]>::len),
        }
    }

    /// The floors, at their lowest, of the volumes of some kinds (all for none) that may lie over
    /// the area. A volume that does not state its kind is of every kind.
    pub fn floors(&self, kinds: &[String]) -> AirspaceLeaf {
        let mut leaf = AirspaceLeaf {
            volumes: Vec::new(),
            titles: Vec::new(),
        };
        for placed in self.placed.iter().flatten() {
            let is_of_kind = kinds.is_empty()
                || placed.record.kind.as_ref().is_none_or(|kind| {
                    kinds.iter().any(|wanted| wanted.eq_ignore_ascii_case(kind))
                });
            let is_over = || {
                let boundary = &placed.boundary;
                self.site
                    .plan
                    .cells()
                    .iter()
                    .any(|cell| boundary.over(cell).low <= 0.0)
            };
            if !is_of_kind || !is_over() || self.site.ends_below_ground(&placed.record.upper.level)
            {
                continue;
            }
            leaf.volumes.push(FloorVolume {
                boundary: placed.boundary.clone(),
                floor: self.floor(placed),
            });
            leaf.titles.push(format!(
                "{} ({})",
                placed.record.title(),
                placed.record.lower.stated
            ));
        }
        leaf
    }

    /// The floor of a volume at its lowest.
    fn floor(&self, placed: &Placed) -> Floor {
        let [low, _] = self.site.qnh;
        match floor_level(&placed.record.lower.level, low) {
            Some(FloorLevel::AboveGround(height)) => Floor::AboveGround(height),
            Some(FloorLevel::Amsl(altitude)) if self.site.ground.is_amsl() => Floor::Amsl(altitude),
            Some(FloorLevel::Amsl(_)) | None => Floor::Undetermined,
        }
    }

    /// The volumes within the search radius that do not end below the ground, with their titles,
    /// their lower limits as stated and their floors at their lowest.
    pub fn every_floor(&self) -> Vec<(String, String, FloorVolume)> {
        self.placed
            .iter()
            .flatten()
            .filter(|placed| !self.site.ends_below_ground(&placed.record.upper.level))
            .map(|placed| {
                let volume = FloorVolume {
                    boundary: placed.boundary.clone(),
                    floor: self.floor(placed),
                };
                let lower = placed.record.lower.stated.clone();
                (placed.record.title(), lower, volume)
            })
            .collect()
    }

    /// The answer; none without an airspace layer.
    pub fn answer(&self, ceiling: &CeilingAnswer) -> Option<AirspaceAnswer> {
        let site = Site {
            top: operating_top(self.site.question, ceiling),
            ..self.site
        };
        let mut answers: Vec<VolumeAnswer> = self
            .placed
            .as_ref()?
            .iter()
            .filter_map(|placed| site.volume(placed.record, &placed.boundary))
            .collect();
        answers.sort_by(|a, b| {
            order(a)
                .0
                .cmp(&order(b).0)
                .then(order(a).1.total_cmp(&order(b).1))
                .then_with(|| a.title.cmp(&b.title))
        });
        mark_governing(&mut answers);
        Some(AirspaceAnswer {
            search_radius_m: site.question.search_radius,
            qnh_hpa: site.question.qnh,
            qnh_range_hpa: site.qnh,
            top: site.top,
            farther: self.volumes - answers.len(),
            volumes: answers,
        })
    }
}

/// What answers are ordered by: those over the area first, the lowest floor first; then by distance.
fn order(answer: &VolumeAnswer) -> (u8, f64) {
    match answer.in_plan {
        InPlan::Outside => (1, answer.margin_m.m()),
        InPlan::Inside | InPlan::Straddles => (
            0,
            answer
                .floor
                .and_then(|floor| floor.lowest_m_agl)
                .map_or(f64::NEG_INFINITY, Height::m),
        ),
    }
}

/// How far around the area an outline is laid out: what it may be wider by widens the search.
fn searched(question: &Question, volume: &Volume) -> Metres {
    question.search_radius + volume.horizontal_accuracy + Metres::of(1.0)
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

#[derive(Clone, Copy)]
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
    fn volume(&self, volume: &Volume, boundary: &Boundary) -> Option<VolumeAnswer> {
        let reach = self.question.search_radius;
        let lowest = |upside_down: bool| {
            let field = SignedDistance {
                boundary,
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
        let stretch = LocalFrame::stretch(self.plan.radius() + searched(self.question, volume));
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
            share_inside: self.share_inside(boundary, in_plan),
            in_height: None,
            why: String::new(),
            floor: None,
            governs: false,
            record: volume.clone(),
        };
        if in_plan != InPlan::Outside {
            self.height(volume, boundary, &mut answer);
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
