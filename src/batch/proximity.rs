//! The nearest aerodrome of a site, and the ring or zone of the profile that lies worst.
//!
//! Bounds in the plane say which aerodromes may matter; what is reported of them is found by the same
//! functions as for one site alone.

use crate::answer::ZoneState;
use crate::assess::aerodromes::AERODROME_EXTENT_M;
use crate::assess::zones;
use crate::distance::{Measured, Nearest};
use crate::frame::distance;
use crate::plan::Plan;
use crate::profile::Reference;
use crate::read::window_about;
use crate::units::{Bearing, Metres};

use super::Site;
use super::aerodromes::{Indexed, Span};
use super::common::Common;
use super::reason::{Reason, Reasons};
use super::row::{NearestAerodrome, Proximity, ProximityOf};

/// What is found about aerodromes.
#[derive(Default)]
pub struct Near {
    pub aerodrome: Option<NearestAerodrome>,
    pub worst: Option<Proximity>,
    pub reasons: Reasons,
}

/// An aerodrome that may matter, with what was measured so far.
struct Candidate<'a> {
    indexed: &'a Indexed,
    /// Bounds on the distance of its nearest part from the area, metres, and whether they are as close as
    /// the plane has them.
    bounds: (f64, f64),
    is_close: bool,
    /// The distance from each reference, once it was asked for.
    measured: [Option<Option<Nearest>>; Reference::ALL.len()],
}

impl<'a> Candidate<'a> {
    fn of(indexed: &'a Indexed, plan: &Plan) -> Self {
        let (low, high) = plan.frame().rough_distance(indexed.place);
        let radius = plan.radius().m();
        Self {
            indexed,
            bounds: (low - radius - indexed.extent_m, high + radius),
            is_close: false,
            measured: Default::default(),
        }
    }

    /// The bounds as the plane has them, where those at hand leave something open.
    fn close(&mut self, measured: Measured, is_open: impl Fn((f64, f64)) -> bool) -> (f64, f64) {
        if !self.is_close && is_open(self.bounds) {
            let (low, high) = measured.bounds([self.indexed.place]);
            self.bounds = (low - self.indexed.extent_m, high);
            self.is_close = true;
        }
        self.bounds
    }

    fn measured_from(&mut self, reference: usize, measured: Measured) -> Option<&Nearest> {
        let known = self.measured.get_mut(reference)?;
        let target = self.indexed.targets.get(reference)?;
        known
            .get_or_insert_with(|| measured.nearest(target.as_ref()?))
            .as_ref()
    }

    /// The distance from the nearest of its references.
    fn nearest(&mut self, measured: Measured) -> f64 {
        (0..Reference::ALL.len())
            .filter_map(|reference| Some(self.measured_from(reference, measured)?.distance.m()))
            .fold(f64::INFINITY, f64::min)
    }
}

pub fn of(
    site: &Site,
    common: &Common,
    plan: &Plan,
    measured: Measured,
    declination: Option<f64>,
) -> Near {
    let index = common.aerodromes();
    let radius = common.settings().search_radius.m();
    let window = window_about(&site.area, Metres::of(index.searched_m()));
    let mut listed: Vec<Candidate> = Vec::new();
    let mut others: Vec<Candidate> = Vec::new();
    for indexed in index.near(window) {
        let mut candidate = Candidate::of(indexed, plan);
        let far = radius + plan.radius().m() + AERODROME_EXTENT_M;
        let is_looked_at = indexed.extent_m < AERODROME_EXTENT_M / 2.0
            || distance(plan.frame().origin(), indexed.place).m() <= far;
        let is_listed = is_looked_at && {
            let (low, high) =
                candidate.close(measured, |(low, high)| low <= radius && high > radius);
            low <= radius && (high <= radius || candidate.nearest(measured) <= radius)
        };
        if is_listed {
            listed.push(candidate);
        } else {
            others.push(candidate);
        }
    }
    let mut found = Near {
        aerodrome: nearest(&mut listed, common, measured, declination),
        ..Near::default()
    };
    found.note(common);
    let mut asking = Asking {
        common,
        plan,
        measured,
        found,
    };
    // The nearest first: what is far is then seldom worse.
    listed.sort_by(|a, b| a.bounds.0.total_cmp(&b.bounds.0));
    for candidate in &mut listed {
        asking.rings(candidate);
    }
    for candidate in &mut listed {
        asking.zones(candidate, true);
    }
    for candidate in &mut others {
        asking.zones(candidate, false);
    }
    asking.found
}

impl Near {
    fn note(&mut self, common: &Common) {
        match self.aerodrome {
            None => self.reasons.add(Reason::NoAerodromeInRadius),
            Some(found) => self.reasons.add_if(
                found.reference != common.profile().reference,
                Reason::ReferenceSubstituted,
            ),
        }
    }

    fn offer(&mut self, next: Proximity) {
        if self.worst.is_none_or(|known| order(&next) < order(&known)) {
            self.worst = Some(next);
        }
    }

    /// Whether a ring or zone that the area lies outside of, by at least so many metres, is surely
    /// not the worst.
    fn is_worse_than_outside(&self, margin: f64) -> bool {
        self.worst.is_some_and(|worst| match worst.state {
            ZoneState::Inside | ZoneState::Straddles => true,
            ZoneState::Outside => worst.margin_m.is_some_and(|known| known.m() < margin),
            ZoneState::Undetermined => false,
        })
    }
}

/// What worse is ordered by.
fn order(proximity: &Proximity) -> (u8, f64, u8, usize, usize) {
    let state = match proximity.state {
        ZoneState::Inside => 0,
        ZoneState::Straddles => 1,
        ZoneState::Outside => 2,
        ZoneState::Undetermined => 3,
    };
    let margin = proximity.margin_m.map_or(f64::INFINITY, Metres::m);
    let (kind, number) = match proximity.of {
        ProximityOf::Ring(number) => (0, number),
        ProximityOf::Zone(number) => (1, number),
    };
    (state, margin, kind, number, proximity.aerodrome)
}

/// The nearest of the aerodromes listed; of equal ones the first by title.
fn nearest(
    listed: &mut [Candidate],
    common: &Common,
    measured: Measured,
    declination: Option<f64>,
) -> Option<NearestAerodrome> {
    let most = |listed: &[Candidate]| {
        (listed.iter().map(|candidate| candidate.bounds.1)).fold(f64::INFINITY, f64::min)
    };
    let within = most(listed);
    let is_near = |candidate: &&mut Candidate| candidate.bounds.0 <= within;
    if listed.iter_mut().filter(is_near).count() > 1 {
        for candidate in listed.iter_mut().filter(is_near) {
            candidate.close(measured, |_| true);
        }
    }
    let within = most(listed);
    let mut best: Option<(f64, usize)> = None;
    let is_before = |a: usize, b: usize| {
        let title = |number: usize| common.aerodrome_title(number);
        title(a).cmp(&title(b)).then(a.cmp(&b)).is_lt()
    };
    let number_at = |listed: &[Candidate], at: usize| listed.get(at).map(|it| it.indexed.number);
    let single = listed
        .iter()
        .filter(|candidate| candidate.bounds.0 <= within)
        .count()
        == 1;
    for at in 0..listed.len() {
        let Some(candidate) = listed.get_mut(at) else {
            continue;
        };
        if candidate.bounds.0 > within {
            continue;
        }
        // Alone it is the nearest, whatever its distance.
        let next = if single {
            0.0
        } else {
            candidate.nearest(measured)
        };
        let is_nearer = match best {
            None => true,
            Some((known, _)) if next != known => next < known,
            Some((_, other)) => match (number_at(listed, at), number_at(listed, other)) {
                (Some(one), Some(other)) => is_before(one, other),
                _ => false,
            },
        };
        if is_nearer {
            best = Some((next, at));
        }
    }
    let candidate = listed.get_mut(best?.1)?;
    let rule = common.profile().reference;
    let number = std::iter::once(rule)
        .chain(Reference::ALL)
        .filter_map(|reference| Reference::ALL.iter().position(|it| *it == reference))
        .find(|number| candidate.measured_from(*number, measured).is_some())?;
    let aerodrome = candidate.indexed.number;
    let found = candidate.measured_from(number, measured)?;
    Some(NearestAerodrome {
        aerodrome,
        reference: *Reference::ALL.get(number)?,
        distance_m: found.distance,
        bearing_true_deg: found.bearing,
        bearing_magnetic_deg: found
            .bearing
            .zip(declination)
            .map(|(bearing, declination): (Bearing, f64)| bearing.magnetic(declination)),
    })
}

struct Asking<'a> {
    common: &'a Common,
    plan: &'a Plan,
    measured: Measured<'a>,
    found: Near,
}

impl Asking<'_> {
    fn rings(&mut self, candidate: &mut Candidate) {
        let aerodrome = candidate.indexed.number;
        for (number, ring) in self.common.profile().rings.iter().enumerate() {
            let of = ProximityOf::Ring(number);
            let Some(reference) = candidate.indexed.rings.get(number).copied().flatten() else {
                self.found.reasons.add(Reason::ZoneUndetermined);
                self.found.offer(Proximity {
                    of,
                    aerodrome,
                    state: ZoneState::Undetermined,
                    margin_m: None,
                });
                continue;
            };
            self.found.reasons.add_if(
                Reference::ALL.get(reference) != Some(&ring.about),
                Reason::RingSubstituted,
            );
            let radius = ring.radius.value_m;
            let found = &self.found;
            let surely = |(low, _): (f64, f64)| {
                let least = low - radius.m();
                least > 0.0 && found.is_worse_than_outside(least)
            };
            if surely(candidate.close(self.measured, |bounds| !surely(bounds))) {
                continue;
            }
            let Some(nearest) = candidate
                .measured_from(reference, self.measured)
                .map(|found| found.distance)
            else {
                continue;
            };
            let target = candidate.indexed.targets.get(reference);
            let state = if nearest > radius {
                ZoneState::Outside
            } else if target
                .and_then(Option::as_ref)
                .is_some_and(|target| self.measured.is_all_within(target, nearest, radius))
            {
                ZoneState::Inside
            } else {
                ZoneState::Straddles
            };
            self.found.offer(Proximity {
                of,
                aerodrome,
                state,
                margin_m: Some(nearest - radius),
            });
        }
    }

    /// The zones about an aerodrome whose parts are no nearer than so many metres. Of one that is not
    /// listed only those that the area reaches into count.
    fn zones(&mut self, candidate: &mut Candidate, is_listed: bool) {
        let indexed = candidate.indexed;
        for Span {
            rule,
            far,
            is_far_undetermined,
            reach_m,
            surely_applies,
        } in &indexed.zones
        {
            let Some(zone) = self.common.profile().zones.get(*rule) else {
                continue;
            };
            let of = ProximityOf::Zone(*rule);
            let aerodrome = indexed.number;
            let (nearest, _) = candidate.close(self.measured, |(low, _)| low <= *reach_m);
            let least = nearest - reach_m;
            if least > 0.0 {
                if !is_listed {
                    continue;
                }
                self.found.reasons = self.found.reasons.and(*far);
                if *is_far_undetermined {
                    self.found.offer(Proximity {
                        of,
                        aerodrome,
                        state: ZoneState::Undetermined,
                        margin_m: None,
                    });
                }
                if *reach_m == f64::NEG_INFINITY || self.found.is_worse_than_outside(least) {
                    continue;
                }
                // Closer bounds may show it to be no worse, too.
                let (nearest, _) = candidate.close(self.measured, |_| true);
                if self.found.is_worse_than_outside(nearest - reach_m) {
                    continue;
                }
            }
            let Some(record) = self.common.layers().aerodromes.get(aerodrome) else {
                continue;
            };
            for judged in zones::states(zone, record, self.plan, self.measured) {
                let reaches_in = matches!(judged.state, ZoneState::Inside | ZoneState::Straddles);
                if !is_listed && !reaches_in {
                    continue;
                }
                self.found.reasons.add_if(
                    judged.state == ZoneState::Undetermined,
                    Reason::ZoneUndetermined,
                );
                if judged.state != ZoneState::Outside {
                    self.found
                        .reasons
                        .add_if(!surely_applies, Reason::ZoneMayApply);
                    self.found
                        .reasons
                        .add_if(judged.is_approximate, Reason::ZoneApproximate);
                }
                self.found.offer(Proximity {
                    of,
                    aerodrome,
                    state: judged.state,
                    margin_m: judged.margin_m,
                });
            }
        }
    }
}
