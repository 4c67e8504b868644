//! Which obstacle limitation surfaces lie over an area, and how far its ceiling is below them.

use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};

use super::Question;
use super::aerodromes::some_place;
use super::ground::SiteGround;
use super::obstacles::Nearby;
use super::shielding_planes::{Planes, Shields, Top};
use super::structures::Heights;
use crate::aerodrome::{Aerodrome, AerodromeKind};
use crate::answer::{CeilingAnswer, NotAssessed};
use crate::field::surface::{Surface, SurfaceAboveGround};
use crate::field::{Cell, Field};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::search::{self, Limits, Scope};
use crate::surfaces::answer::{GapFrom, Penetration, ShieldedShare, SurfaceAnswer, SurfacesAnswer};
use crate::surfaces::outline::{footprint, part_below};
use crate::surfaces::part77::standards;
use crate::surfaces::table::Cells;
use crate::surfaces::{FARTHEST_REACH, SiteSurface, of_aerodrome};
use crate::units::{Altitude, Height, Metres};

/// No runway end is farther than this from the place that an aerodrome is looked for at: larger
/// than any aerodrome, it only decides which are looked at closely.
const AERODROME_EXTENT_M: f64 = 10_000.0;

/// What an edge may move when polygons are intersected, metres: they are snapped to a grid of some
/// 0.01 mm over 40 km; ten times that is added to every share.
const SNAPPED_M: f64 = 1e-4;

/// How closely the share above a surface is found where the gap is counted from a height above
/// ground, and how many cells that may take.
const SHARE_SEARCH: (f64, usize) = (1e-3, 20_000);

/// The same for the polygon that is drawn of it, which takes time for every cell.
const PART_SEARCH: (f64, usize) = (1e-2, 4_000);

/// Why a structure above a surface is an obstruction.
const OBSTRUCTION_BY_SURFACE: &str =
    "14 CFR 77.17(a)(5), by the surfaces of 77.19, 77.21 and 77.23 (from memory)";

/// What the names of the rows of 77.21 begin with.
const MILITARY_ROWS: &str = "military.";

/// What [`NotAssessed`] calls this part of an answer.
const WHAT: &str = "obstacle limitation surfaces";

pub fn answer(
    question: &Question,
    aerodromes: &[Aerodrome],
    plan: &Plan,
    ground: &SiteGround,
    ceiling: &CeilingAnswer,
    nearby: &Nearby,
    not_assessed: &mut Vec<NotAssessed>,
) -> Option<SurfacesAnswer> {
    let mut missing = |what: String, why: String| {
        not_assessed.push(NotAssessed {
            what,
            why,
            count: 0,
            features: Vec::new(),
        });
    };
    let Some(table) = &question.surfaces else {
        missing(
            WHAT.to_owned(),
            "no table was chosen (--surfaces)".to_owned(),
        );
        return None;
    };
    let shields = question
        .shielding_planes
        .as_ref()
        .map(|rule| Shields::new(rule, nearby, plan));
    let asked = Asked {
        plan,
        ground,
        from: gap_from(question, ground, ceiling),
        limits: Limits::within(question.tolerance.m()),
    };
    let within = FARTHEST_REACH + plan.radius() + Metres::of(AERODROME_EXTENT_M);
    let mut surfaces = Vec::new();
    let mut for_structures = Vec::new();
    let mut laid_out: Vec<(String, SiteSurface)> = Vec::new();
    let mut some_military = false;
    for aerodrome in aerodromes {
        let is_near =
            some_place(aerodrome).is_some_and(|place| plan.frame().is_within(place, within));
        if !is_near {
            continue;
        }
        some_military |= is_military_airport(aerodrome);
        let laid = of_aerodrome(table, aerodrome, plan.frame());
        for why in laid.missing {
            missing(format!("{WHAT} of {}", aerodrome.title()), why);
        }
        let planes = shields
            .as_ref()
            .and_then(|shields| shields.towards(aerodrome, plan));
        let over = laid
            .surfaces
            .iter()
            .filter_map(|surface| asked.one(&aerodrome.title(), surface, planes.as_ref()));
        surfaces.extend(over);
        if let Cells::Part77(cells) = &table.cells {
            let (found, why) = standards::of_aerodrome(cells, aerodrome, plan.frame());
            for_structures.extend(found);
            for why in why {
                missing(
                    format!("heights of structures near {}", aerodrome.title()),
                    why,
                );
            }
            let titled = |surface| (aerodrome.title(), surface);
            laid_out.extend(laid.surfaces.into_iter().map(titled));
        }
    }
    // The governing one first: least gap, then lowest, then in the order of the tables.
    let rank = |it: &SurfaceAnswer| {
        let gap = it.gap_m.map_or(f64::INFINITY, Metres::m);
        (gap, it.lowest_m_amsl.m())
    };
    surfaces.sort_by(|a, b| {
        let (a_rank, b_rank) = (rank(a), rank(b));
        a_rank
            .0
            .total_cmp(&b_rank.0)
            .then(a_rank.1.total_cmp(&b_rank.1))
            .then(a.kind.cmp(&b.kind))
    });
    if let Some(first) = surfaces.first_mut() {
        first.governs = first.gap_m.is_some();
    }
    let structures = match &table.cells {
        Cells::Annex14(_) => None,
        Cells::Part77(cells) => {
            let heights = Heights {
                plan,
                ground,
                limits: asked.limits,
            };
            Some(heights.answer(
                &cells.standards,
                for_structures,
                &laid_out,
                OBSTRUCTION_BY_SURFACE,
            ))
        }
    };
    Some(SurfacesAnswer {
        structures,
        table: table.name.clone(),
        title: table.title.clone(),
        edition: table.edition.clone(),
        caution: table.caution.clone(),
        unconfirmed: table
            .unconfirmed
            .iter()
            .filter(|it| some_military || !it.row.starts_with(MILITARY_ROWS))
            .cloned()
            .collect(),
        from: asked.from,
        shielding_planes: shields.as_ref().map(Shields::answer),
        surfaces,
    })
}

/// Whether the data say that an aerodrome is one of those of 77.21. Where they do not say, none of its
/// rows are used, and that is not assessed.
fn is_military_airport(aerodrome: &Aerodrome) -> bool {
    aerodrome.military == Some(true)
        && !matches!(
            aerodrome.kind,
            AerodromeKind::Heliport | AerodromeKind::Closed
        )
}

/// The certified ceiling of the whole area AMSL; where it is undetermined, the wish.
fn gap_from(question: &Question, ground: &SiteGround, ceiling: &CeilingAnswer) -> GapFrom {
    let amsl = ceiling.whole.as_ref().and_then(|pair| pair.amsl.as_ref());
    match (amsl, question.wish) {
        (Some(value), _) => GapFrom::Ceiling {
            ceiling_m_amsl: Altitude::of(value.value_m),
        },
        (None, Some(height_m_agl)) if ground.is_amsl() => GapFrom::Wish { height_m_agl },
        _ => GapFrom::Nothing,
    }
}

struct Asked<'a> {
    plan: &'a Plan,
    ground: &'a SiteGround,
    from: GapFrom,
    limits: Limits,
}

impl Asked<'_> {
    /// The answer about one surface; none when it lies over no part of the area.
    fn one(
        &self,
        aerodrome: &str,
        site: &SiteSurface,
        planes: Option<&Planes>,
    ) -> Option<SurfaceAnswer> {
        let surface = &site.surface;
        let cells = self.plan.cells();
        let lowest = search::lowest(surface, cells, Scope::Everywhere, self.limits)?;
        if !lowest.lower.is_finite() {
            return None;
        }
        let attained = if lowest.attained.is_finite() {
            lowest.attained
        } else {
            lowest.lower
        };
        let share_under =
            self.share_below(surface, f64::INFINITY, &self.part(surface, f64::INFINITY));
        let (gap, gap_at) = match self.from {
            GapFrom::Ceiling { ceiling_m_amsl } => {
                (Some(lowest.lower - ceiling_m_amsl.m()), Some(lowest.place))
            }
            GapFrom::Wish { height_m_agl } => self.above_ground(site, height_m_agl),
            GapFrom::Nothing => (None, None),
        };
        let penetration = gap
            .filter(|gap| *gap < 0.0)
            .and_then(|_| self.penetration(site, planes));
        Some(SurfaceAnswer {
            aerodrome: aerodrome.to_owned(),
            kind: site.kind,
            part: site.part.clone(),
            source: site.source.clone(),
            lowest_m_amsl: Altitude::of(lowest.lower),
            lowest_attained_m_amsl: Altitude::of(attained),
            lowest_at: self.plan.frame().to_place(lowest.place),
            share_under,
            gap_m: gap.map(Metres::of),
            gap_at: gap_at.map(|place| self.plan.frame().to_place(place)),
            governs: false,
            penetration,
            footprint: Some(self.plan.to_places(&footprint(surface))),
            assumed: site.assumed.clone(),
        })
    }

    /// Where the volume is above a surface; none where that is no area.
    fn penetration(&self, site: &SiteSurface, planes: Option<&Planes>) -> Option<Penetration> {
        let surface = &site.surface;
        let ground = &self.ground.ground;
        let top = match self.from {
            GapFrom::Ceiling { ceiling_m_amsl } => Top::Amsl(ceiling_m_amsl.m()),
            GapFrom::Wish { height_m_agl } => ground
                .highest_if_level()
                .map_or(Top::AboveGround(height_m_agl.m(), ground), |elevation| {
                    Top::Amsl(elevation + height_m_agl.m())
                }),
            GapFrom::Nothing => return None,
        };
        let (share, part) = match top {
            Top::Amsl(level) => {
                let part = self.part(surface, level);
                (self.share_below(surface, level, &part), part)
            }
            Top::AboveGround(height, _) => {
                let height = Height::of(height);
                (
                    self.share_above(site, height),
                    self.part_above(site, height),
                )
            }
        };
        let shielded = planes.map(|planes| {
            let found = planes.shares(surface, top, self.plan);
            ShieldedShare {
                share: found.share.min(share),
                unshielded_share: found.unshielded_share.min(share),
            }
        });
        (part.unsigned_area() > 0.0).then(|| Penetration {
            share,
            part: Some(self.plan.to_places(&part)),
            shielded,
        })
    }

    /// The part of the area in which a wished height above terrain may be above a surface, made of
    /// cells: never less than the true part.
    fn part_above(&self, site: &SiteSurface, wish: Height) -> MultiPolygon<f64> {
        let field = SurfaceAboveGround {
            surface: &site.surface,
            ground: &self.ground.ground,
        };
        let (tolerance, budget) = PART_SEARCH;
        let cells = search::cells_below(&field, self.plan.cells(), wish.m(), tolerance, budget);
        let triangles: Vec<Polygon<f64>> = cells.iter().map(triangle).collect();
        geo::unary_union(triangles.iter()).intersection(&self.part(&site.surface, f64::INFINITY))
    }

    /// The part of the area in which a surface is below a level.
    fn part(&self, surface: &Surface, level: f64) -> MultiPolygon<f64> {
        self.plan
            .polygons()
            .intersection(&part_below(surface, level))
    }

    /// The share of the area that such a part is, never below the true share; 1 where that is
    /// certain.
    fn share_below(&self, surface: &Surface, level: f64, part: &MultiPolygon<f64>) -> f64 {
        let is_all = |cell: &Cell| surface.over(cell).high < level;
        if self.plan.cells().iter().all(is_all) {
            return 1.0;
        }
        let edges: f64 = part
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .flat_map(|ring| ring.lines())
            .map(|edge| edge.dx().hypot(edge.dy()))
            .sum();
        let most = part.unsigned_area() + SNAPPED_M * edges;
        (most / self.plan.area_m2()).clamp(0.0, 1.0)
    }

    /// The least gap above a wished height above ground; none where the ground is unknown.
    fn above_ground(&self, site: &SiteSurface, wish: Height) -> (Option<f64>, Option<Xy>) {
        let field = SurfaceAboveGround {
            surface: &site.surface,
            ground: &self.ground.ground,
        };
        let cells = self.plan.cells();
        match search::lowest(&field, cells, Scope::Everywhere, self.limits) {
            Some(found) if found.lower.is_finite() => {
                (Some(found.lower - wish.m()), Some(found.place))
            }
            _ => (None, None),
        }
    }

    fn share_above(&self, site: &SiteSurface, wish: Height) -> f64 {
        let field = SurfaceAboveGround {
            surface: &site.surface,
            ground: &self.ground.ground,
        };
        let (tolerance, budget) = SHARE_SEARCH;
        let below =
            search::share_at_or_above(&field, self.plan.cells(), wish.m(), tolerance, budget);
        1.0 - below.at_least
    }
}

/// A cell as a polygon.
fn triangle(cell: &Cell) -> Polygon<f64> {
    let ring: LineString<f64> = cell
        .corners()
        .iter()
        .map(|corner| Coord {
            x: corner.x,
            y: corner.y,
        })
        .collect();
    Polygon::new(ring, Vec::new())
}
