//! How an area lies to the zones of the profile about each aerodrome.
//!
//! Not here: where such a zone lies (see [`crate::zone`]).

use geo::MultiPolygon;
use serde::Serialize;

use super::{ZoneState, as_geojson};
use crate::units::{Altitude, Metres};

/// One zone of the profile about one aerodrome, runway or runway end.
#[derive(Clone, Debug, Serialize)]
pub struct ZoneAnswer {
    /// The zone's title in the profile.
    pub title: String,
    /// Index of the zone in the profile.
    pub rule: usize,
    /// Title of the aerodrome.
    pub aerodrome: String,
    /// Identifier of the aerodrome.
    pub ident: Option<String>,
    /// Which runway, or beyond which runway end; none when the zone is about the aerodrome.
    pub part: Option<String>,
    /// Whether the rule has this zone here.
    pub applies: ZoneApplies,
    /// Inside, straddles or outside the zone that `basis` names.
    pub state: ZoneState,
    /// Which zone was answered.
    pub basis: ZoneBasis,
    /// The least signed distance of a point of the area from the edge of the zone: negative by how far
    /// the area reaches in, positive by how far it stays outside; never more than the truth. Of a
    /// distance from a reference it is that distance less the radius, so that it counts from the
    /// reference inside too.
    pub margin_m: Option<Metres>,
    /// The greatest signed distance of a point of the area: negative when all of it is inside.
    pub farthest_margin_m: Option<Metres>,
    /// Share of the area inside, 0 to 1, never below the true share.
    pub share_inside: Option<f64>,
    /// The part of the area that is outside, when it straddles: to this it could be cut. It holds no
    /// point of the zone; empty where nothing is certain.
    #[serde(serialize_with = "as_geojson")]
    pub outside: MultiPolygon<f64>,
    /// Its area, square metres.
    pub outside_m2: f64,
    /// By how much the zone was widened for what its place is not known to, metres.
    pub widened_m: Metres,
    /// The least altitude at which the zone begins over the area, where it rises from a runway end and
    /// the elevation of that end is given; never more than the truth.
    pub floor_m_amsl: Option<Altitude>,
    /// Whether the zone begins at the surface; otherwise at `floor_m_amsl`.
    pub from_surface: bool,
    /// The least vertical gap from the certified ceiling of the whole area up to `floor_m_amsl`, never
    /// above the true one: negative where the ceiling may be in the zone. None where either is not
    /// known, or the area does not reach into the zone.
    pub ceiling_gap_m: Option<Metres>,
    /// The same from the top of the operating volume at the wished height above the highest ground.
    pub wish_gap_m: Option<Metres>,
    /// The top as the profile states it, above aerodrome elevation; none when it states none.
    pub top: Option<String>,
    /// The top AMSL; none without one, or when the aerodrome elevation is not given.
    pub top_m_amsl: Option<Altitude>,
    /// Conditions of the rule that eaves cannot check, in words.
    pub conditions: Vec<String>,
    /// The zone itself in longitude and latitude, containing the true one, for figures.
    #[serde(skip)]
    pub outline: MultiPolygon<f64>,
}

/// Whether a rule has a zone at an aerodrome.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "answer", rename_all = "snake_case")]
pub enum ZoneApplies {
    /// By all that the data say.
    Yes,
    /// The data do not say enough; it is answered as if it did.
    Unknown {
        /// What they do not say.
        why: String,
    },
    /// It does not.
    No {
        /// Why not.
        why: String,
    },
}

/// Which zone was answered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "zone", rename_all = "snake_case")]
pub enum ZoneBasis {
    /// The zone of the rule.
    Stated,
    /// A larger one that contains it, as the data do not give its reference: outside is certain,
    /// inside and straddles are not.
    Larger {
        /// What was taken for what.
        why: String,
    },
    /// A smaller one that it contains: inside is certain, and so is that the area reaches in.
    Smaller {
        /// What was taken for what.
        why: String,
    },
    /// None: the data give nothing to place it by, or the rule has no zone here.
    None {
        /// What is not given.
        why: String,
    },
}

impl ZoneAnswer {
    /// Whether the rule has, or may have, this zone here.
    #[must_use]
    pub const fn may_apply(&self) -> bool {
        !matches!(self.applies, ZoneApplies::No { .. })
    }

    /// Whether the area reaches into the zone, or may.
    #[must_use]
    pub const fn may_reach_in(&self) -> bool {
        self.may_apply() && !matches!(self.state, ZoneState::Outside)
    }

    /// Whether the answer leaves nothing open.
    #[must_use]
    pub const fn is_decided(&self) -> bool {
        match (&self.applies, self.state, &self.basis) {
            (ZoneApplies::No { .. }, _, _) => true,
            (_, ZoneState::Undetermined, _) => false,
            (_, ZoneState::Outside, _) => true,
            (ZoneApplies::Unknown { .. }, _, _) => false,
            (_, ZoneState::Inside, ZoneBasis::Smaller { .. }) => true,
            (_, _, ZoneBasis::Stated) => true,
            _ => false,
        }
    }
}
