//! The answer about one site of many, as plain numbers.
//!
//! Aerodromes, obstacles, terms, rings and zones are named by their numbers in the layers and the
//! profile; [`super::Common`] gives their titles when words are asked for.

use crate::answer::{WishState, ZoneState};
use crate::error::Error;
use crate::frame::LonLat;
use crate::profile::Reference;
use crate::units::{Altitude, Bearing, Height, Metres};

use super::reason::{Reason, Reasons};

/// The answer about one site.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The site's identifier.
    pub id: String,
    /// Why the site could not be answered: everything below is then empty.
    pub error: Option<String>,
    /// Middle of the area's bounding box.
    pub middle: Option<LonLat>,
    /// Its area on the ellipsoid, square metres.
    pub area_m2: Option<f64>,
    /// The nearest aerodrome, by the nearest reference that the data give of each.
    pub aerodrome: Option<NearestAerodrome>,
    /// The ring or zone of the profile that lies worst: see [`Proximity`].
    pub proximity: Option<Proximity>,
    /// One answer on shielding, ceiling and wish for each case, in the order of
    /// [`super::Common::cases`].
    pub cases: Vec<CaseAnswer>,
    /// Reasons that hold in every case.
    pub reasons: Reasons,
}

impl Row {
    /// The row of a site that could not be read or answered.
    #[must_use]
    pub fn unanswered(id: &str, error: &Error) -> Self {
        Self {
            id: id.to_owned(),
            error: Some(error.to_string()),
            middle: None,
            area_m2: None,
            aerodrome: None,
            proximity: None,
            cases: Vec::new(),
            reasons: [Reason::NotAnswered].into_iter().collect(),
        }
    }

    /// Whether every question was answered without something undecided or conditional.
    #[must_use]
    pub fn is_decided(&self) -> bool {
        let open = [
            Reason::NotAnswered,
            Reason::RingSubstituted,
            Reason::ZoneUndetermined,
            Reason::ZoneApproximate,
            Reason::ZoneMayApply,
            Reason::Conditions,
            Reason::FlatGroundAssumed,
        ];
        !open.into_iter().any(|reason| self.reasons.has(reason))
            && self.cases.iter().all(|case| {
                !case.is_undetermined
                    && !case.reasons.has(Reason::EstimatedHeight)
                    && case
                        .wish
                        .is_none_or(|wish| wish.state != WishState::Undetermined)
            })
    }
}

/// The nearest aerodrome and the distance from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearestAerodrome {
    /// Its number in [`crate::read::Layers::aerodromes`].
    pub aerodrome: usize,
    /// The reference that the distance is from: the rule's, else the first that the data give.
    pub reference: Reference,
    /// Geodesic distance from that reference to the nearest point of the area; 0 when they overlap.
    pub distance_m: Metres,
    /// True bearing at the aerodrome towards the area; none when they overlap.
    pub bearing_true_deg: Option<Bearing>,
    /// The same, magnetic; none where the variation is not known.
    pub bearing_magnetic_deg: Option<Bearing>,
}

/// How the area lies to the ring or zone of the profile that lies worst.
///
/// Worst is inside, then straddles, then outside; of equal states the least margin, then rings before
/// zones, then the first of the profile, then the first aerodrome of the layers. One that is
/// undetermined comes last, and [`Reason::ZoneUndetermined`] says that there is one. Rings of
/// aerodromes within the search radius and zones that apply or may apply are asked; none without one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proximity {
    /// Which ring or zone.
    pub of: ProximityOf,
    /// The number of its aerodrome in [`crate::read::Layers::aerodromes`].
    pub aerodrome: usize,
    /// Inside, straddles, outside or undetermined.
    pub state: ZoneState,
    /// The least signed distance of the area from its edge: negative by how far the area reaches in,
    /// positive by how far it stays out; none when undetermined.
    pub margin_m: Option<Metres>,
}

/// A ring or a zone of the profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProximityOf {
    /// A ring, by its number in [`crate::profile::Profile::rings`].
    Ring(usize),
    /// A zone, by its number in [`crate::profile::Profile::zones`].
    Zone(usize),
}

/// Shielding, ceiling and wish in one case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaseAnswer {
    /// How many obstacles in reach of the first shield term can shield; 0 without such a term.
    pub shields_in_reach: usize,
    /// How many obstacles in reach cannot.
    pub not_shields_in_reach: usize,
    /// Share of the area within reach of a shield, 0 to 1, never above the true share; 1 only when
    /// coverage is certified. Of several shield terms the least; none without one.
    pub covered_share: Option<f64>,
    /// Whether the ceiling of the whole area is undetermined.
    pub is_undetermined: bool,
    /// The ceiling of the whole area; where that is undetermined, of the part where it is not.
    pub ceiling: Option<CeilingPart>,
    /// The answer to the wished height, if one was given.
    pub wish: Option<Wish>,
    /// Reasons that hold in this case.
    pub reasons: Reasons,
}

/// A ceiling and what of the area it is the ceiling of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CeilingPart {
    /// The whole area or the covered part.
    pub of: CeilingOf,
    /// The ceiling above ground.
    pub above_ground: Ceiling,
    /// The ceiling AMSL; none on assumed flat ground.
    pub amsl: Option<Ceiling>,
}

impl CeilingPart {
    /// The ceiling above ground.
    #[must_use]
    pub const fn height(&self) -> Height {
        Height::of(self.above_ground.value_m)
    }

    /// The ceiling AMSL.
    #[must_use]
    pub fn altitude(&self) -> Option<Altitude> {
        self.amsl.map(|ceiling| Altitude::of(ceiling.value_m))
    }
}

/// What of an area a ceiling holds for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CeilingOf {
    /// All of it.
    Whole,
    /// The part where it is determined.
    DeterminedPart,
}

/// One certified ceiling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ceiling {
    /// The certified lower bound in metres, AMSL or above ground as its field says, rounded down to
    /// the centimetre.
    pub value_m: f64,
    /// The term that governs, by its number among the leaves of the profile's expression.
    pub term: usize,
    /// The obstacle that governs, when the term is a shield: its number in
    /// [`crate::read::Obstacles::get`].
    pub shield: Option<usize>,
    /// Where it governs.
    pub governs_at: LonLat,
}

/// The answer to a wished height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// The wished height.
    pub height_m_agl: Height,
    /// Whether the area allows it.
    pub state: WishState,
    /// Share of the area certified to allow it, 0 to 1, never above the true share.
    pub share_allowed: f64,
}
