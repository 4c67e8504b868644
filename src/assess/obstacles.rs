//! The obstacles near a site, each with its trusted top or the reason why it has none.

use std::borrow::Cow;
use std::cell::OnceCell;

use crate::answer::ObstacleAnswer;
use crate::field::Cell;
use crate::field::convex::Convex;
use crate::field::ground::GroundRange;
use crate::frame::{LocalFrame, LonLat, Xy};
use crate::obstacle::{
    HeightBasis, Obstacle, Permanence, Shape, SpanDetail, Top, VerticalReference,
};
use crate::plan::{LAYOUT_ERROR_M, LaidOut, Plan, Sets, convex_pieces};
use crate::read::lines::LONGEST_PLAUSIBLE_SPAN_M;
use crate::units::{Altitude, Height, Metres};
use crate::wire::drop_below_lower_support;

use super::ground::SiteGround;

/// Obstacles near a site, in the order of the layers.
#[derive(Debug, Default)]
pub struct Nearby {
    /// The obstacles.
    pub placed: Vec<Placed>,
}

/// One obstacle in the plane.
#[derive(Debug)]
pub struct Placed {
    /// The record.
    pub record: Obstacle,
    /// Its number in the layers.
    pub number: usize,
    /// Its plan shape, laid out for what it covers.
    for_cover: LaidOut,
    /// The origin of the plane.
    origin: LonLat,
    /// The same laid out for measuring, once it was asked for where that differs.
    sets: OnceCell<Box<Sets>>,
    /// A distance that its stated position is no nearer to the area than, metres.
    least: f64,
    /// Bounds on the distance of its shape from the area, both as laid out for what is covered, once
    /// they were asked for.
    bounds: OnceCell<(f64, f64)>,
    /// That distance, likewise.
    for_cover_distance: OnceCell<f64>,
    /// The distance of its stated position, once it was asked for.
    distance: OnceCell<f64>,
    /// Vertical accuracy that is taken off its top, metres.
    pub accuracy: f64,
    /// Its trusted top, or why it cannot shield.
    pub trusted: Result<TrustedTop, NotAShield>,
}

/// The lowest credible top of an obstacle, with the sum that led to it. Metres AMSL, or above the
/// assumed flat ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrustedTop {
    /// The top that the data state; of a span, that of its lower support.
    pub stated: f64,
    /// What `stated` is counted from.
    counted: Counted,
    /// Which end of a span it is.
    end: Option<usize>,
    /// How far the lowest point of the wire is below it.
    pub sag: Option<f64>,
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

/// A top that the data state, counted from where it counts from.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Counted {
    top: Top,
    /// AMSL, or above flat ground.
    level: f64,
    /// Above its base.
    above_base: f64,
    /// The lowest ground at the base.
    base_low: f64,
    /// Accuracy of that ground.
    accuracy: f64,
}

/// Why an obstacle cannot shield.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotAShield {
    NotPermanent,
    MayNotBePermanent,
    CrossesItself,
    NoHeight,
    NotALine,
    NoPlaces,
    TooLong,
    SagNotStated,
    SupportWithoutHeight,
    SagImpossible,
    GroundUnknown,
    TopWithoutElevation,
    NotAboveBase,
}

impl NotAShield {
    /// The reason in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotPermanent => "not permanent",
            Self::MayNotBePermanent => "not known to be permanent",
            Self::CrossesItself => "its outline crosses itself",
            Self::NoHeight => "has no height",
            Self::NotALine => "its shape is not a line",
            Self::NoPlaces => "its shape has no places",
            Self::TooLong => "its ends are farther apart than spans are built",
            Self::SagNotStated => "its sag is not stated",
            Self::SupportWithoutHeight => "a support has no height",
            Self::SagImpossible => "its sag is impossible for its length",
            Self::GroundUnknown => "the ground at its base is unknown",
            Self::TopWithoutElevation => "its top is given AMSL and the ground has no elevation",
            Self::NotAboveBase => "its trusted top is not above its own base",
        }
    }
}

impl Nearby {
    /// Lays out obstacles, each with its number in the layers, and finds their trusted tops; none is
    /// taken to be known better vertically than `least_accuracy`.
    pub fn of(
        records: impl IntoIterator<Item = (usize, Obstacle)>,
        plan: &Plan,
        ground: &SiteGround,
        least_accuracy: Metres,
    ) -> Self {
        let mut nearby = Self::laid_out(records, plan);
        nearby.trust(plan, ground, least_accuracy);
        nearby
    }

    /// Lays out obstacles; none is trusted yet.
    pub fn laid_out(records: impl IntoIterator<Item = (usize, Obstacle)>, plan: &Plan) -> Self {
        let records = records.into_iter();
        let mut placed = Vec::with_capacity(records.size_hint().1.unwrap_or_default());
        placed.extend(records.map(|(number, record)| {
            let for_cover = plan.lay_out_for_cover(&record.shape);
            let leasts = for_cover.sets.iter().map(|set| plan.least_to(set));
            Placed {
                accuracy: record.vertical_accuracy.m().max(0.0),
                record,
                number,
                least: leasts.fold(f64::INFINITY, f64::min) - for_cover.error_m,
                for_cover,
                origin: plan.frame().origin(),
                sets: OnceCell::new(),
                bounds: OnceCell::new(),
                for_cover_distance: OnceCell::new(),
                distance: OnceCell::new(),
                trusted: Err(NotAShield::GroundUnknown),
            }
        }));
        Self { placed }
    }

    /// Finds the trusted tops on a ground.
    pub fn trust(&mut self, plan: &Plan, ground: &SiteGround, least_accuracy: Metres) {
        for placed in &mut self.placed {
            let accuracy = placed.record.vertical_accuracy.max(least_accuracy);
            placed.accuracy = accuracy.m().max(0.0);
            placed.trusted = placed.trusted_top(plan, ground);
        }
    }

    /// The obstacles, nearest first, equal distances in the order of the layers.
    pub fn nearest_first(&self, plan: &Plan) -> Vec<&Placed> {
        let mut sorted: Vec<&Placed> = self.placed.iter().collect();
        sorted.sort_by(|a, b| a.distance(plan).total_cmp(&b.distance(plan)));
        sorted
    }

    /// Answers for the obstacles within `reach` of the area, and for those beyond.
    pub fn answers(
        &self,
        plan: &Plan,
        ground: &SiteGround,
        reach: Metres,
    ) -> (Vec<ObstacleAnswer>, Vec<ObstacleAnswer>) {
        let (near, far): (Vec<&Placed>, Vec<&Placed>) = self
            .nearest_first(plan)
            .into_iter()
            .partition(|placed| placed.is_within(reach.m(), plan));
        let answer = |list: Vec<&Placed>| {
            list.into_iter()
                .map(|placed| placed.answer(plan, ground))
                .collect()
        };
        (answer(near), answer(far))
    }
}

impl Placed {
    /// Its convex pieces, laid out within [`LAYOUT_ERROR_M`].
    pub fn sets(&self) -> &Sets {
        if self.for_cover.error_m <= LAYOUT_ERROR_M {
            return &self.for_cover.sets;
        }
        self.sets.get_or_init(|| {
            let frame = LocalFrame::about(self.origin);
            Box::new(convex_pieces(&frame, &self.record.shape))
        })
    }

    /// Its convex pieces, laid out for what it covers.
    pub fn for_cover(&self) -> &Sets {
        &self.for_cover.sets
    }

    /// How far the edges of those may lie from its own, metres.
    pub const fn layout_error_m(&self) -> f64 {
        self.for_cover.error_m
    }

    /// The point of the obstacle nearest to a point of the plane.
    pub fn nearest_to(&self, point: Xy) -> Xy {
        self.sets()
            .iter()
            .map(|set| set.nearest(point))
            .min_by(|a, b| a.distance(point).total_cmp(&b.distance(point)))
            .unwrap_or(point)
    }

    /// Distance of its stated position from the area, metres.
    pub fn distance(&self, plan: &Plan) -> f64 {
        *self.distance.get_or_init(|| {
            self.sets()
                .iter()
                .map(|set| plan.distance_to(set))
                .fold(f64::INFINITY, f64::min)
        })
    }

    /// Whether that distance is no more than `reach`; measured only where its bounds leave a doubt.
    pub fn is_within(&self, reach: f64, plan: &Plan) -> bool {
        if self.least > reach {
            return false;
        }
        let error = self.for_cover.error_m + plan.for_cover().error_m();
        self.covers_within(reach - error, plan)
            || (self.covers_within(reach + error, plan) && self.distance(plan) <= reach)
    }

    /// The same of its shape and the area as they are laid out for what is covered.
    pub fn covers_within(&self, reach: f64, plan: &Plan) -> bool {
        if let Some(distance) = self.for_cover_distance.get() {
            return *distance <= reach;
        }
        let (low, high) = self.bounds(plan);
        high <= reach
            || (low <= reach
                && (self.has_corner_within(reach, plan) || self.for_cover_distance(plan) <= reach))
    }

    fn for_cover_distance(&self, plan: &Plan) -> f64 {
        *self.for_cover_distance.get_or_init(|| {
            let sets = self.for_cover.sets.iter();
            sets.map(|set| plan.for_cover().distance_to(set))
                .fold(f64::INFINITY, f64::min)
        })
    }

    fn bounds(&self, plan: &Plan) -> (f64, f64) {
        *self.bounds.get_or_init(|| {
            let area = plan.for_cover();
            let bounds = self.for_cover.sets.iter().map(|set| area.bounds_to(set));
            bounds.fold((f64::INFINITY, f64::INFINITY), |(low, high), set| {
                (low.min(set.0), high.min(set.1))
            })
        })
    }

    /// Whether a corner of its is surely so near, which is sooner seen than the distance.
    fn has_corner_within(&self, reach: f64, plan: &Plan) -> bool {
        let mut corners = self.for_cover.sets.iter().flat_map(Convex::corners);
        let area = plan.for_cover();
        corners.any(|at| area.bounds_to_point(*at).1 <= reach)
    }

    /// Its trusted top, or why it cannot shield.
    fn trusted_top(&self, plan: &Plan, ground: &SiteGround) -> Result<TrustedTop, NotAShield> {
        let record = &self.record;
        match record.permanence {
            Permanence::Permanent => {}
            Permanence::Temporary => return Err(NotAShield::NotPermanent),
            Permanence::Unknown => return Err(NotAShield::MayNotBePermanent),
        }
        if !self.for_cover.is_made_up {
            return Err(NotAShield::CrossesItself);
        }
        let accuracy = self.accuracy;
        let spread = record.horizontal_accuracy.m().max(0.0);
        let trusted = match &record.span {
            Some(span) => span_top(record, span, plan, ground, (spread, accuracy))?,
            None => {
                let top = record.top.ok_or(NotAShield::NoHeight)?;
                let base = lowest_base(
                    &self.for_cover.sets,
                    spread + self.for_cover.error_m,
                    ground,
                );
                let counted = Counted::from(top, base, ground)?;
                TrustedTop {
                    stated: counted.level,
                    counted,
                    end: None,
                    sag: None,
                    accuracy,
                    base_accuracy: counted.accuracy,
                    level: counted.level - accuracy - counted.accuracy,
                    above_base: counted.above_base - accuracy,
                    is_estimate: top.basis == HeightBasis::Estimate,
                }
            }
        };
        if trusted.level.is_finite() && trusted.above_base > 0.0 {
            Ok(trusted)
        } else {
            Err(NotAShield::NotAboveBase)
        }
    }

    fn answer(&self, plan: &Plan, ground: &SiteGround) -> ObstacleAnswer {
        let top = shown_top(&self.record);
        let base = self
            .for_cover
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
            distance_m: Metres::of(self.distance(plan)),
            top_m_agl,
            top_m_amsl,
            trusted_top_m_amsl: trusted
                .filter(|_| ground.is_amsl())
                .map(|top| Altitude::of(top.level)),
            trusted_top_m_agl: trusted.map(|top| Height::of(top.above_base)),
            not_a_shield: (self.trusted.as_ref().err()).map(|why| why.words().to_owned()),
            is_estimate: top.is_some_and(|top| top.basis == HeightBasis::Estimate),
            shape: self.record.shape.clone(),
        }
    }

    /// In words, what the stated top of a trusted obstacle is made of.
    pub fn stated_note(&self, trusted: &TrustedTop, ground: &SiteGround) -> String {
        let note = trusted.counted.note(ground);
        match (&self.record.span, trusted.end) {
            (Some(span), Some(end)) => {
                let support = span.ends.get(end).and_then(|end| end.support.as_ref());
                let support: Cow<'_, str> = match support {
                    Some(support) => Cow::Borrowed(&support.feature),
                    None => Cow::Borrowed("its lower end"),
                };
                format!("{note}, at {support}")
            }
            _ => note,
        }
    }

    /// In words, what the sag comes from.
    pub fn sag_note(&self) -> String {
        (self.record.span.as_deref()).map_or_else(String::new, sag_note)
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

/// The trusted top of a span: the lowest point of its top wire.
fn span_top(
    record: &Obstacle,
    span: &SpanDetail,
    plan: &Plan,
    ground: &SiteGround,
    (spread, accuracy): (f64, f64),
) -> Result<TrustedTop, NotAShield> {
    let Shape::Chain(places) = &record.shape else {
        return Err(NotAShield::NotALine);
    };
    let (Some(first), Some(last)) = (places.first(), places.last()) else {
        return Err(NotAShield::NoPlaces);
    };
    if span.length.m() > LONGEST_PLAUSIBLE_SPAN_M || span.length.m().is_nan() {
        return Err(NotAShield::TooLong);
    }
    let sag = span.sag.ok_or(NotAShield::SagNotStated)?;
    let end = |place: &LonLat, top: Option<Top>| {
        let top = top.ok_or(NotAShield::SupportWithoutHeight)?;
        let base = match ground.ground.level_elevation() {
            Some(elevation) => Some(GroundRange::level(elevation)),
            None => ground_within(plan.frame().to_plane(*place), spread, ground),
        };
        Counted::from(top, base, ground)
    };
    let a = end(first, span.ends[0].top)?;
    let b = end(last, span.ends[1].top)?;
    let (lower, end) = if a.level <= b.level { (a, 0) } else { (b, 1) };
    let drop = drop_below_lower_support(span.length.m(), a.level - b.level, sag)
        .map_err(|_| NotAShield::SagImpossible)?;
    let base_accuracy = a.accuracy.max(b.accuracy);
    let is_estimate = |top: Top| top.basis == HeightBasis::Estimate;
    Ok(TrustedTop {
        stated: lower.level,
        counted: lower,
        end: Some(end),
        sag: Some(drop),
        accuracy,
        base_accuracy,
        level: lower.level - drop - accuracy - base_accuracy,
        above_base: lower.above_base - drop - accuracy,
        is_estimate: is_estimate(a.top) || is_estimate(b.top),
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

impl Counted {
    fn from(top: Top, base: Option<GroundRange>, ground: &SiteGround) -> Result<Self, NotAShield> {
        let base = base.ok_or(NotAShield::GroundUnknown)?;
        let accuracy = ground.ground.accuracy();
        match top.reference {
            VerticalReference::AboveGround => Ok(Self {
                top,
                level: base.low + top.value_m,
                above_base: top.value_m,
                base_low: base.low,
                accuracy,
            }),
            VerticalReference::MeanSeaLevel if ground.is_amsl() => Ok(Self {
                top,
                level: top.value_m,
                above_base: top.value_m - (base.high + accuracy),
                base_low: base.low,
                accuracy: 0.0,
            }),
            VerticalReference::MeanSeaLevel => Err(NotAShield::TopWithoutElevation),
        }
    }

    fn note(&self, ground: &SiteGround) -> String {
        let value_m = self.top.value_m;
        let estimate = match self.top.basis {
            HeightBasis::Stated => "",
            HeightBasis::Estimate => "ESTIMATE, ",
        };
        match self.top.reference {
            VerticalReference::AboveGround if ground.is_amsl() => format!(
                "{estimate}{value_m} m on ground at {:.2} m AMSL",
                Altitude::of(self.base_low).m_down(2)
            ),
            VerticalReference::AboveGround => format!("{estimate}{value_m} m above ground"),
            VerticalReference::MeanSeaLevel => format!("{estimate}{value_m} m AMSL"),
        }
    }
}

/// The ground under an obstacle that stands within `spread` of its stated position.
pub fn lowest_base(sets: &[Convex], spread: f64, ground: &SiteGround) -> Option<GroundRange> {
    if let Some(elevation) = ground.ground.level_elevation() {
        return Some(GroundRange::level(elevation));
    }
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
