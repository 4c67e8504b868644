//! The aerodromes of the layers, indexed, each with what does not depend on the site.

use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use crate::aerodrome::Aerodrome;
use crate::assess::aerodromes::{some_place, targets};
use crate::assess::zones;
use crate::distance::Target;
use crate::frame::{LonLat, distance};
use crate::profile::{Profile, Reference};
use crate::read::Window;
use crate::units::Metres;

use super::reason::{Reason, Reasons};

/// One aerodrome.
#[derive(Debug)]
pub struct Indexed {
    /// Its number in the layers.
    pub number: usize,
    /// Some place of it.
    pub place: LonLat,
    /// No part of it is farther from that place, metres.
    pub extent_m: f64,
    /// Its references, in the order of [`Reference::ALL`].
    pub targets: [Option<Target>; Reference::ALL.len()],
    /// For each ring of the profile the number of the reference it is measured from, if there is one.
    pub rings: Vec<Option<usize>>,
    /// The zones of the profile that it has, or may have.
    pub zones: Vec<Span>,
}

/// How far a zone spans, and what holds of it wherever the site is.
#[derive(Clone, Copy, Debug)]
pub struct Span {
    /// The number of the zone in the profile.
    pub rule: usize,
    /// No point of it is farther than this from the aerodrome's place, metres; −∞ where it has none.
    pub reach_m: f64,
    /// Whether the data say that the rule has this zone here.
    pub surely_applies: bool,
    /// Reasons that it gives a site far from it.
    pub far: Reasons,
    /// Whether some part of it is undetermined for a site far from it.
    pub is_far_undetermined: bool,
}

/// All aerodromes.
#[derive(Debug)]
pub struct Aerodromes {
    indexed: Vec<Indexed>,
    places: RTree<GeomWithData<[f64; 2], usize>>,
    searched_m: f64,
}

impl Aerodromes {
    /// Indexes aerodromes for a profile and a search radius.
    pub fn new(aerodromes: &[Aerodrome], profile: &Profile, search_radius: Metres) -> Self {
        let indexed: Vec<Indexed> = aerodromes
            .iter()
            .enumerate()
            .filter_map(|(number, aerodrome)| Indexed::of(number, aerodrome, profile))
            .collect();
        let widest = indexed
            .iter()
            .flat_map(|it| &it.zones)
            .map(|zone| zone.reach_m)
            .fold(search_radius.m(), f64::max);
        let largest = indexed.iter().map(|it| it.extent_m).fold(0.0, f64::max);
        let places = indexed
            .iter()
            .enumerate()
            .map(|(at, it)| GeomWithData::new([it.place.lon(), it.place.lat()], at))
            .collect();
        Self {
            places: RTree::bulk_load(places),
            // A metre for the plane's own error.
            searched_m: widest + largest + 1.0,
            indexed,
        }
    }

    /// How far around a site aerodromes may matter, metres.
    pub const fn searched_m(&self) -> f64 {
        self.searched_m
    }

    /// The aerodromes whose place is in a window.
    pub fn near(&self, window: Window) -> impl Iterator<Item = &Indexed> {
        window
            .longitudes()
            .into_iter()
            .flat_map(move |(west, east)| {
                let window = AABB::from_corners([west, window.south], [east, window.north]);
                self.places.locate_in_envelope(&window)
            })
            .filter_map(|found| self.indexed.get(found.data))
    }
}

impl Indexed {
    fn of(number: usize, aerodrome: &Aerodrome, profile: &Profile) -> Option<Self> {
        let place = some_place(aerodrome)?;
        let targets = targets(aerodrome);
        let extent_m = targets
            .iter()
            .flatten()
            .flat_map(Target::corners)
            .map(|corner| distance(place, corner).m())
            .fold(0.0, f64::max);
        let rings = profile
            .rings
            .iter()
            .map(|ring| {
                std::iter::once(ring.about)
                    .chain(Reference::ALL)
                    .filter_map(|reference| Reference::ALL.iter().position(|it| *it == reference))
                    .find(|reference| targets.get(*reference).is_some_and(Option::is_some))
            })
            .collect();
        let zones = profile
            .zones
            .iter()
            .enumerate()
            .filter_map(|(rule, zone)| {
                let facts = zones::facts(zone, aerodrome, place)?;
                let mut far = Reasons::NONE;
                far.add_if(facts.is_far_undetermined, Reason::ZoneUndetermined);
                far.add_if(
                    facts.is_far_undetermined && !facts.surely_applies,
                    Reason::ZoneMayApply,
                );
                far.add_if(facts.is_far_approximate, Reason::ZoneApproximate);
                Some(Span {
                    rule,
                    reach_m: facts.reach_m,
                    surely_applies: facts.surely_applies,
                    far,
                    is_far_undetermined: facts.is_far_undetermined,
                })
            })
            .collect();
        Some(Self {
            number,
            place,
            extent_m,
            targets,
            rings,
            zones,
        })
    }
}
