//! The obstacles near a site, each with its trusted top or the reason why it has none.

use geo::{Area, Polygon};

use crate::answer::ObstacleAnswer;
use crate::field::Cell;
use crate::field::convex::Convex;
use crate::field::ground::GroundRange;
use crate::frame::{LonLat, Xy};
use crate::obstacle::{
    HeightBasis, Obstacle, Permanence, Shape, SpanDetail, Top, VerticalReference,
};
use crate::plan::{Plan, convex_pieces, lay_out_polygon};
use crate::read::lines::LONGEST_PLAUSIBLE_SPAN_M;
use crate::units::{Altitude, Height, Metres};
use crate::wire::drop_below_lower_support;

use super::ground::SiteGround;

/// Obstacles near a site, nearest first.
pub struct Nearby<'a> {
    /// The obstacles.
    pub placed: Vec<Placed<'a>>,
}

/// One obstacle in the plane.
pub struct Placed<'a> {
    /// The record.
    pub record: &'a Obstacle,
    /// Its convex pieces.
    pub sets: Vec<Convex>,
    /// Distance of its stated position from the area, metres.
    pub distance: f64,
    /// Vertical accuracy that is taken off its top, metres.
    pub accuracy: f64,
    /// Its trusted top, or why it cannot shield.
    pub trusted: Result<TrustedTop, String>,
}

/// The lowest credible top of an obstacle, with the sum that led to it. Metres AMSL, or above the
/// assumed flat ground.
#[derive(Clone, Debug, PartialEq)]
pub struct TrustedTop {
    /// The top that the data state; of a span, that of its lower support.
    pub stated: f64,
    /// In words, what `stated` is made of.
    pub stated_note: String,
    /// How far the lowest point of the wire is below it.
    pub sag: Option<(f64, String)>,
    /// Vertical accuracy of the obstacle.
    pub accuracy: f64,
    /// Accuracy of the ground that the stated height stands on; 0 for heights given AMSL.
    pub base_accuracy: f64,
    /// `stated` less all of these.
    pub level: f64,
    /// Height of the trusted top above the obstacle's own base.
    pub above_base: f64,
    /// Whether the height is an estimate.
    pub is_estimate: bool,
}

impl<'a> Nearby<'a> {
    /// Lays out the obstacles and finds their trusted tops; none is taken to be known better
    /// vertically than `least_accuracy`.
    pub fn of(
        records: &[&'a Obstacle],
        plan: &Plan,
        ground: &SiteGround,
        least_accuracy: Metres,
    ) -> Self {
        let mut placed: Vec<Placed<'a>> = records
            .iter()
            .map(|record| {
                let sets = convex_pieces(plan.frame(), &record.shape);
                let distance = sets
                    .iter()
                    .map(|set| plan.distance_to(set))
                    .fold(f64::INFINITY, f64::min);
                let accuracy = record.vertical_accuracy.max(least_accuracy).m().max(0.0);
                Placed {
                    record,
                    accuracy,
                    trusted: trusted_top(record, &sets, plan, ground, accuracy),
                    sets,
                    distance,
                }
            })
            .collect();
        // Stable: equal distances stay in the order of the layers.
        placed.sort_by(|a, b| a.distance.total_cmp(&b.distance));
        Self { placed }
    }

    /// Answers for the obstacles within `reach` of the area, and for those beyond.
    pub fn answers(
        &self,
        ground: &SiteGround,
        reach: Metres,
    ) -> (Vec<ObstacleAnswer>, Vec<ObstacleAnswer>) {
        let (near, far): (Vec<&Placed>, Vec<&Placed>) = self
            .placed
            .iter()
            .partition(|placed| placed.distance <= reach.m());
        let answer = |list: Vec<&Placed>| {
            list.into_iter()
                .map(|placed| placed.answer(ground))
                .collect()
        };
        (answer(near), answer(far))
    }
}

impl Placed<'_> {
    /// The point of the obstacle nearest to a point of the plane.
    pub fn nearest_to(&self, point: Xy) -> Xy {
        self.sets
            .iter()
            .map(|set| set.nearest(point))
            .min_by(|a, b| a.distance(point).total_cmp(&b.distance(point)))
            .unwrap_or(point)
    }

    fn answer(&self, ground: &SiteGround) -> ObstacleAnswer {
        let top = shown_top(self.record);
        let base = self
            .sets
            .first()
            .and_then(|set| set.corners().first())
            .and_then(|corner| ground_within(*corner, 0.0, ground));
        let (top_m_agl, top_m_amsl) = match top {
            None => (None, None),
            Some(top) => match top.reference {
                VerticalReference::AboveGround => (
                    Some(Height::of(top.value_m)),
                    base.filter(|_| ground.is_amsl())
                        .map(|base| Altitude::of(base.low + top.value_m)),
                ),
                VerticalReference::MeanSeaLevel => (
                    base.filter(|_| ground.is_amsl())
                        .map(|base| Height::of(top.value_m - base.high)),
                    Some(Altitude::of(top.value_m)),
                ),
            },
        };
        let trusted = self.trusted.as_ref().ok();
        ObstacleAnswer {
            title: self.record.title(),
            kind: self.record.kind.clone(),
            source: self.record.source.clone(),
            span_index: self.record.span.as_ref().map(|span| span.index),
            distance_m: Metres::of(self.distance),
            top_m_agl,
            top_m_amsl,
            trusted_top_m_amsl: trusted
                .filter(|_| ground.is_amsl())
                .map(|top| Altitude::of(top.level)),
            trusted_top_m_agl: trusted.map(|top| Height::of(top.above_base)),
            not_a_shield: self.trusted.as_ref().err().cloned(),
            is_estimate: top.is_some_and(|top| top.basis == HeightBasis::Estimate),
            shape: self.record.shape.clone(),
        }
    }
}

/// The top to show for an obstacle: of a span, the lower of its supports.
fn shown_top(record: &Obstacle) -> Option<Top> {
    match &record.span {
        None => record.top,
        Some(span) => {
            let [a, b] = &span.ends;
            match (a.top, b.top) {
                (Some(a), Some(b)) => Some(if a.value_m <= b.value_m { a } else { b }),
                _ => None,
            }
        }
    }
}

/// The trusted top of an obstacle, or why it cannot shield.
fn trusted_top(
    record: &Obstacle,
    sets: &[Convex],
    plan: &Plan,
    ground: &SiteGround,
    accuracy: f64,
) -> Result<TrustedTop, String> {
    match record.permanence {
        Permanence::Permanent => {}
        Permanence::Temporary => return Err("not permanent".to_owned()),
        Permanence::Unknown => return Err("not known to be permanent".to_owned()),
    }
    if let Shape::Outline(outline) = &record.shape
        && !is_made_up_of(outline, sets, plan)
    {
        return Err("its outline crosses itself".to_owned());
    }
    let spread = record.horizontal_accuracy.m().max(0.0);
    let trusted = match &record.span {
        Some(span) => span_top(record, span, plan, ground, (spread, accuracy))?,
        None => {
            let top = record.top.ok_or("has no height")?;
            let base = lowest_base(sets, spread, ground);
            let (stated, base_height, base_accuracy, stated_note) =
                counted_from(top, base, ground)?;
            TrustedTop {
                stated,
                stated_note,
                sag: None,
                accuracy,
                base_accuracy,
                level: stated - accuracy - base_accuracy,
                above_base: base_height - accuracy,
                is_estimate: top.basis == HeightBasis::Estimate,
            }
        }
    };
    if trusted.level.is_finite() && trusted.above_base > 0.0 {
        Ok(trusted)
    } else {
        Err("its trusted top is not above its own base".to_owned())
    }
}

/// Whether the pieces of an outline make up its area and no more, which those of an outline that
/// crosses itself do not.
fn is_made_up_of(outline: &Polygon<f64>, sets: &[Convex], plan: &Plan) -> bool {
    let whole = lay_out_polygon(plan.frame(), outline).unsigned_area();
    let areas: Option<Vec<f64>> = sets
        .iter()
        .map(|set| <[Xy; 3]>::try_from(set.corners()).ok())
        .map(|corners| corners.map(|corners| Cell::new(corners).area()))
        .collect();
    areas.is_some_and(|areas| {
        (areas.iter().sum::<f64>() - whole).abs() <= AREA_ROUNDING * (1.0 + whole)
    })
}

/// Rounding of the area of an outline, square metres and share.
const AREA_ROUNDING: f64 = 1e-6;

/// The trusted top of a span: the lowest point of its top wire.
fn span_top(
    record: &Obstacle,
    span: &SpanDetail,
    plan: &Plan,
    ground: &SiteGround,
    (spread, accuracy): (f64, f64),
) -> Result<TrustedTop, String> {
    let Shape::Chain(places) = &record.shape else {
        return Err("its shape is not a line".to_owned());
    };
    let (Some(first), Some(last)) = (places.first(), places.last()) else {
        return Err("its shape has no places".to_owned());
    };
    if span.length.m() > LONGEST_PLAUSIBLE_SPAN_M || span.length.m().is_nan() {
        return Err("its ends are farther apart than spans are built".to_owned());
    }
    let sag = span.sag.ok_or("its sag is not stated")?;
    let end = |place: &LonLat, top: Option<Top>| {
        let top = top.ok_or("a support has no height")?;
        let base = ground_within(plan.frame().to_plane(*place), spread, ground);
        counted_from(top, base, ground).map(|counted| (counted, top.basis))
    };
    let (a, a_basis) = end(first, span.ends[0].top)?;
    let (b, b_basis) = end(last, span.ends[1].top)?;
    let (lower, which) = if a.0 <= b.0 { (&a, 0) } else { (&b, 1) };
    let drop = drop_below_lower_support(span.length.m(), a.0 - b.0, sag)
        .map_err(|_| "its sag is impossible for its length".to_owned())?;
    let (stated, base_height, _, note) = lower.clone();
    let base_accuracy = a.2.max(b.2);
    let support = span.ends[which].support.as_ref().map_or_else(
        || "its lower end".to_owned(),
        |support| support.feature.clone(),
    );
    Ok(TrustedTop {
        stated,
        stated_note: format!("{note}, at {support}"),
        sag: Some((drop, sag_note(span))),
        accuracy,
        base_accuracy,
        level: stated - drop - accuracy - base_accuracy,
        above_base: base_height - drop - accuracy,
        is_estimate: a_basis == HeightBasis::Estimate || b_basis == HeightBasis::Estimate,
    })
}

fn sag_note(span: &SpanDetail) -> String {
    use crate::obstacle::Sag;
    let length = span.length.m_down(0);
    match span.sag {
        Some(Sag::Included) => "the stated height is that of the lowest wire point".to_owned(),
        Some(Sag::Metres(metres)) => format!("{metres} m on a level span, span {length} m"),
        Some(Sag::ShareOfSpan(share)) => {
            let percent = (share * 1e6).round() / 1e4;
            format!("{percent} % of the span of {length} m")
        }
        Some(Sag::Wire {
            weight_per_m,
            horizontal_tension,
        }) => format!(
            "from {weight_per_m} per metre and tension {horizontal_tension}, span {length} m"
        ),
        None => "not stated".to_owned(),
    }
}

/// A top as (AMSL or above flat ground, height above its base, accuracy of that base, in words).
type Counted = (f64, f64, f64, String);

fn counted_from(
    top: Top,
    base: Option<GroundRange>,
    ground: &SiteGround,
) -> Result<Counted, String> {
    let base = base.ok_or("the ground at its base is unknown")?;
    let accuracy = ground.ground.accuracy();
    let estimate = match top.basis {
        HeightBasis::Stated => "",
        HeightBasis::Estimate => "ESTIMATE, ",
    };
    match top.reference {
        VerticalReference::AboveGround => {
            let note = if ground.is_amsl() {
                format!(
                    "{estimate}{} m on ground at {:.2} m AMSL",
                    top.value_m,
                    Altitude::of(base.low).m_down(2)
                )
            } else {
                format!("{estimate}{} m above ground", top.value_m)
            };
            Ok((base.low + top.value_m, top.value_m, accuracy, note))
        }
        VerticalReference::MeanSeaLevel if ground.is_amsl() => Ok((
            top.value_m,
            top.value_m - (base.high + accuracy),
            0.0,
            format!("{estimate}{} m AMSL", top.value_m),
        )),
        VerticalReference::MeanSeaLevel => {
            Err("its top is given AMSL and the ground has no elevation".to_owned())
        }
    }
}

/// The ground under an obstacle that stands within `spread` of its stated position.
pub fn lowest_base(sets: &[Convex], spread: f64, ground: &SiteGround) -> Option<GroundRange> {
    let corners = || sets.iter().flat_map(Convex::corners);
    let first = *corners().next()?;
    let (mut low, mut high) = (first, first);
    for corner in corners() {
        low = Xy::new(low.x.min(corner.x), low.y.min(corner.y));
        high = Xy::new(high.x.max(corner.x), high.y.max(corner.y));
    }
    box_range(
        Xy::new(low.x - spread, low.y - spread),
        Xy::new(high.x + spread, high.y + spread),
        ground,
    )
}

/// The ground within `spread` metres of a point; none when it is unknown anywhere there.
pub fn ground_within(point: Xy, spread: f64, ground: &SiteGround) -> Option<GroundRange> {
    box_range(
        Xy::new(point.x - spread, point.y - spread),
        Xy::new(point.x + spread, point.y + spread),
        ground,
    )
}

/// The range of the ground in a box; none when it is unknown anywhere in it.
fn box_range(low: Xy, high: Xy, ground: &SiteGround) -> Option<GroundRange> {
    let (east, north) = (Xy::new(high.x, low.y), Xy::new(low.x, high.y));
    let one = ground.ground.over(&Cell::new([low, east, high]))?;
    let other = ground.ground.over(&Cell::new([low, north, high]))?;
    (!one.has_unknown && !other.has_unknown).then(|| GroundRange {
        low: one.low.min(other.low),
        high: one.high.max(other.high),
        has_unknown: false,
    })
}
