//! Wires that a cut crosses, or that come within its corridor.

use super::Standing;
use super::line::Cut;
use super::tops::{SpanTops, span_tops};
use crate::answer::{ALONG_WITHIN_DEG, WireAnswer, WirePoint};
use crate::frame::Xy;
use crate::obstacle::Sag;
use crate::units::Metres;
use crate::wire::HangingWire;

/// In how many parts a span that runs along the cut is laid out.
const PARTS: usize = 64;

/// Crossings nearer to each other are one, metres: where a span bends on the cut.
const SAME_CROSSING_M: f64 = 0.001;

/// A cut with its corridor.
pub struct Corridor<'a> {
    pub cut: &'a Cut,
    pub half_width: f64,
}

/// The spans in or across the corridor, in the order of the cut.
pub fn answers(standing: &[Standing], corridor: &Corridor) -> Vec<WireAnswer> {
    let mut answers: Vec<WireAnswer> = standing
        .iter()
        .filter_map(|standing| one(standing, corridor))
        .collect();
    let first = |wire: &WireAnswer| wire.points.first().map_or(0.0, |point| point.at_m.m());
    answers.sort_by(|a, b| first(a).total_cmp(&first(b)));
    answers
}

fn one(standing: &Standing, corridor: &Corridor) -> Option<WireAnswer> {
    let record = &standing.placed.record;
    let span = record.span.as_ref()?;
    let chain = Chain::of(standing, span.length.m())?;
    let crossings = chain.crossings(corridor.cut);
    let nearest = chain.nearest(corridor.cut)?;
    if crossings.is_empty() && (nearest.0 > corridor.half_width || !chain.shows(corridor, nearest))
    {
        return None;
    }
    let wire = Wire::of(standing, span.length.m(), span.sag);
    let points = if crossings.is_empty() {
        vec![wire.point(corridor.cut, &chain, nearest.1)]
    } else {
        crossings
            .iter()
            .map(|(at, along)| WirePoint {
                at_m: Metres::of(*at),
                offset_m: Metres::ZERO,
                ..wire.point(corridor.cut, &chain, *along)
            })
            .collect()
    };
    let along = if chain.runs_along(corridor.cut, nearest.1) {
        chain
            .within(corridor)
            .into_iter()
            .map(|along| wire.point(corridor.cut, &chain, along))
            .collect()
    } else {
        Vec::new()
    };
    Some(WireAnswer {
        title: record.title(),
        source: record.source.clone(),
        span_index: span.index,
        is_estimate: wire.tops.as_ref().is_ok_and(|tops| tops.is_estimate),
        governs: standing.governs,
        points,
        along,
        sag_m: wire.drop().map(Metres::of),
        not_known: wire.not_known,
    })
}

/// A span laid out in the plane.
struct Chain {
    /// Its points, with their distance along the span.
    points: Vec<(f64, Xy)>,
}

impl Chain {
    /// None for a span of no length.
    fn of(standing: &Standing, length: f64) -> Option<Self> {
        let mut points: Vec<(f64, Xy)> = Vec::new();
        for set in standing.placed.sets() {
            for corner in set.corners() {
                match points.last() {
                    Some((_, last)) if last == corner => {}
                    Some((along, last)) => points.push((along + last.distance(*corner), *corner)),
                    None => points.push((0.0, *corner)),
                }
            }
        }
        let whole = points.last().map_or(0.0, |point| point.0);
        // Written so that NaN fails.
        if !(whole > 0.0 && length > 0.0) {
            return None;
        }
        // The plane stretches it a little.
        for point in &mut points {
            point.0 *= length / whole;
        }
        Some(Self { points })
    }

    fn length(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.0)
    }

    /// The point at a distance from the first support.
    fn at(&self, along: f64) -> Xy {
        let next = self.points.iter().position(|point| point.0 >= along);
        let next = next.unwrap_or(self.points.len() - 1).max(1);
        match self.points.get(next - 1..=next) {
            Some(&[(from, a), (to, b)]) if to > from => a.towards(b, (along - from) / (to - from)),
            _ => self.points.first().map_or(Xy::default(), |point| point.1),
        }
    }

    fn segments(&self) -> impl Iterator<Item = ((f64, Xy), (f64, Xy))> + '_ {
        self.points.windows(2).filter_map(|pair| match pair {
            &[from, to] => Some((from, to)),
            _ => None,
        })
    }

    /// Positions along the cut and along the span.
    fn crossings(&self, cut: &Cut) -> Vec<(f64, f64)> {
        let mut found: Vec<(f64, f64)> = self
            .segments()
            .flat_map(|(from, to)| {
                cut.crossings(from.1, to.1)
                    .into_iter()
                    .map(move |(at, share)| (at, from.0 + share * (to.0 - from.0)))
            })
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.dedup_by(|a, b| (a.0 - b.0).abs() < SAME_CROSSING_M);
        found
    }

    /// Distance from the cut, and where along the span it is least.
    fn nearest(&self, cut: &Cut) -> Option<(f64, f64)> {
        self.segments()
            .filter_map(|(from, to)| {
                let set = crate::field::convex::Convex::segment(from.1, to.1);
                let (away, on_set) = cut.nearest_of(&set)?;
                let share = from.1.distance(on_set) / from.1.distance(to.1);
                Some((away, from.0 + share * (to.0 - from.0)))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Whether its nearest place is beside the cut, not beyond an end of it.
    fn shows(&self, corridor: &Corridor, nearest: (f64, f64)) -> bool {
        !corridor.cut.see(self.at(nearest.1)).is_beyond
    }

    fn runs_along(&self, cut: &Cut, along: f64) -> bool {
        let (before, after) = (
            self.at((along - 1.0).max(0.0)),
            self.at((along + 1.0).min(self.length())),
        );
        let direction = (after.x - before.x, after.y - before.y);
        cut.angle_to(self.at(along), direction) <= ALONG_WITHIN_DEG
    }

    /// The longest run of distances along the span that lie in the corridor.
    fn within(&self, corridor: &Corridor) -> Vec<f64> {
        let mut longest: Vec<f64> = Vec::new();
        let mut run: Vec<f64> = Vec::new();
        for k in 0..=PARTS {
            let along = self.length() * k as f64 / PARTS as f64;
            let seen = corridor.cut.see(self.at(along));
            if seen.is_beyond || seen.offset.abs() > corridor.half_width {
                run.clear();
            } else {
                run.push(along);
            }
            if run.len() > longest.len() {
                longest.clone_from(&run);
            }
        }
        if longest.len() < 2 {
            longest.clear();
        }
        longest
    }
}

/// The levels of the top wire of a span.
struct Wire {
    length: f64,
    tops: Result<SpanTops, String>,
    low: Option<HangingWire>,
    high: Option<HangingWire>,
    not_known: String,
}

impl Wire {
    fn of(standing: &Standing, length: f64, sag: Option<Sag>) -> Self {
        let tops = span_tops(standing.placed, standing.ground);
        let mut not_known = Vec::new();
        let mut low = None;
        let mut high = None;
        match &tops {
            Err(why) => not_known.push(why.clone()),
            Ok(tops) => {
                match sag.map(|sag| HangingWire::new(length, tops.low[0], tops.low[1], sag)) {
                    None => not_known.push("its sag is not stated".to_owned()),
                    Some(Err(_)) => {
                        not_known.push("its sag is impossible for its length".to_owned());
                    }
                    Some(Ok(wire)) => low = Some(wire),
                }
                if sag == Some(Sag::Included) {
                    not_known.push(
                        "its stated height is that of the lowest wire; how high its supports are \
                         is not known"
                            .to_owned(),
                    );
                } else {
                    high =
                        HangingWire::new(length, tops.high[0], tops.high[1], Sag::Metres(0.0)).ok();
                }
            }
        }
        Self {
            length,
            tops,
            low,
            high,
            not_known: not_known.join("; "),
        }
    }

    /// How far its lowest point is below its lower support.
    fn drop(&self) -> Option<f64> {
        let wire = self.low.as_ref()?;
        Some(wire.at(0.0).min(wire.at(self.length)) - wire.lowest())
    }

    fn point(&self, cut: &Cut, chain: &Chain, along: f64) -> WirePoint {
        let seen = cut.see(chain.at(along));
        let level = |wire: &Option<HangingWire>| wire.as_ref().map(|wire| wire.at(along));
        WirePoint {
            at_m: Metres::of(seen.at),
            offset_m: Metres::of(seen.offset),
            from_support_m: Metres::of(along),
            low_m: level(&self.low),
            high_m: level(&self.high),
        }
    }
}
