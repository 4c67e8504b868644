//! The closed lists of codes in a row: reasons, and what a screening does not assess.
//!
//! A code never changes its meaning; new ones are added at the end.

/// Something that a row says about its site besides numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Reason {
    /// The site could not be answered; the row holds the cause.
    NotAnswered,
    /// Reading the site left cautions.
    SiteCaution,
    /// No aerodrome of the layers is within the search radius.
    NoAerodromeInRadius,
    /// The data do not give the reference that the rule uses; the distance is from another.
    ReferenceSubstituted,
    /// The magnetic variation is not known, so no bearing is magnetic.
    VariationUnknown,
    /// A ring was measured from another reference than the rule's: that does not answer the rule.
    RingSubstituted,
    /// A ring or zone that may reach the site could not be placed.
    ZoneUndetermined,
    /// A zone stands in that is larger or smaller than the rule's, as the data do not give its place.
    ZoneApproximate,
    /// The data do not say whether a rule has its zone at an aerodrome; it is answered as if it did.
    ZoneMayApply,
    /// No obstacle in reach can shield.
    NoShield,
    /// Part of the area is out of reach of every shield.
    Uncovered,
    /// The terrain has no data under part of the area.
    GroundUnknown,
    /// The floor of airspace over part of the area is not known, and the profile limits by it.
    FloorUnknown,
    /// The search stopped before it could certify a bound that is of use.
    NotCertified,
    /// A ceiling stands that was not certified to the tolerance.
    StoppedShort,
    /// Obstacles in reach could not serve as shields.
    UnusableObstacles,
    /// A height in reach is an estimate from the voltage class.
    EstimatedHeight,
    /// Flat ground is assumed; nothing is answered AMSL.
    FlatGroundAssumed,
    /// The rule has conditions that eaves cannot check.
    Conditions,
    /// The certified ceiling is at or below the ground.
    CeilingNotAboveGround,
    /// The site could not be read: not JSON, a position that is none, a size that is unclear.
    SiteUnreadable,
    /// The site has no geometry.
    SiteWithoutGeometry,
    /// Its geometry is of a kind that makes no area.
    SiteIsNoArea,
    /// It is a point without a radius, or a line without a width.
    SiteWithoutSize,
    /// It comes too near a pole.
    SiteNearPole,
    /// It is too wide for one operating area.
    SiteTooWide,
    /// Its outline crosses or touches itself, or has no area.
    SiteOutlineInvalid,
}

impl Reason {
    /// All reasons, in the order of their numbers.
    pub const ALL: [Self; 27] = [
        Self::NotAnswered,
        Self::SiteCaution,
        Self::NoAerodromeInRadius,
        Self::ReferenceSubstituted,
        Self::VariationUnknown,
        Self::RingSubstituted,
        Self::ZoneUndetermined,
        Self::ZoneApproximate,
        Self::ZoneMayApply,
        Self::NoShield,
        Self::Uncovered,
        Self::GroundUnknown,
        Self::FloorUnknown,
        Self::NotCertified,
        Self::StoppedShort,
        Self::UnusableObstacles,
        Self::EstimatedHeight,
        Self::FlatGroundAssumed,
        Self::Conditions,
        Self::CeilingNotAboveGround,
        Self::SiteUnreadable,
        Self::SiteWithoutGeometry,
        Self::SiteIsNoArea,
        Self::SiteWithoutSize,
        Self::SiteNearPole,
        Self::SiteTooWide,
        Self::SiteOutlineInvalid,
    ];

    /// Its code in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::NotAnswered => "not_answered",
            Self::SiteCaution => "site_caution",
            Self::NoAerodromeInRadius => "no_aerodrome_in_radius",
            Self::ReferenceSubstituted => "reference_substituted",
            Self::VariationUnknown => "variation_unknown",
            Self::RingSubstituted => "ring_substituted",
            Self::ZoneUndetermined => "zone_undetermined",
            Self::ZoneApproximate => "zone_approximate",
            Self::ZoneMayApply => "zone_may_apply",
            Self::NoShield => "no_shield",
            Self::Uncovered => "uncovered",
            Self::GroundUnknown => "ground_unknown",
            Self::FloorUnknown => "floor_unknown",
            Self::NotCertified => "not_certified",
            Self::StoppedShort => "stopped_short",
            Self::UnusableObstacles => "unusable_obstacles",
            Self::EstimatedHeight => "estimated_height",
            Self::FlatGroundAssumed => "flat_ground_assumed",
            Self::Conditions => "conditions",
            Self::CeilingNotAboveGround => "ceiling_not_above_ground",
            Self::SiteUnreadable => "site_unreadable",
            Self::SiteWithoutGeometry => "site_without_geometry",
            Self::SiteIsNoArea => "site_is_no_area",
            Self::SiteWithoutSize => "site_without_size",
            Self::SiteNearPole => "site_near_pole",
            Self::SiteTooWide => "site_too_wide",
            Self::SiteOutlineInvalid => "site_outline_invalid",
        }
    }

    /// What it means, in a sentence without a full stop.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotAnswered => "the site could not be answered; see its error",
            Self::SiteCaution => "reading the site left cautions",
            Self::NoAerodromeInRadius => "no aerodrome of the layers is within the search radius",
            Self::ReferenceSubstituted => {
                "the data do not give the reference that the rule uses; the distance is from another"
            }
            Self::VariationUnknown => "the magnetic variation is not known",
            Self::RingSubstituted => {
                "a ring was measured from another reference than the rule's, which does not answer \
                 the rule"
            }
            Self::ZoneUndetermined => "a ring or zone that may reach the site could not be placed",
            Self::ZoneApproximate => {
                "a larger or smaller zone stands in for that of the rule, whose place is not given"
            }
            Self::ZoneMayApply => {
                "the data do not say whether the rule has its zone here; answered as if it did"
            }
            Self::NoShield => "no obstacle in reach can shield",
            Self::Uncovered => "part of the area is out of reach of every shield",
            Self::GroundUnknown => "the terrain has no data under part of the area",
            Self::FloorUnknown => "the floor of airspace over part of the area is not known",
            Self::NotCertified => "no ceiling could be certified",
            Self::StoppedShort => "a ceiling stands that was not certified to the tolerance",
            Self::UnusableObstacles => "obstacles in reach could not serve as shields",
            Self::EstimatedHeight => "a height in reach is an estimate from the voltage class",
            Self::FlatGroundAssumed => "flat ground is assumed; nothing is answered AMSL",
            Self::Conditions => "the rule has conditions that eaves cannot check",
            Self::CeilingNotAboveGround => "the certified ceiling is at or below the ground",
            Self::SiteUnreadable => "the site could not be read",
            Self::SiteWithoutGeometry => "the site has no geometry",
            Self::SiteIsNoArea => "the geometry of the site makes no area",
            Self::SiteWithoutSize => {
                "the site is a point without a radius, or a line without a width"
            }
            Self::SiteNearPole => "the site comes too near a pole",
            Self::SiteTooWide => "the site is too wide for one operating area",
            Self::SiteOutlineInvalid => {
                "the outline of the site crosses or touches itself, or has no area"
            }
        }
    }
}

/// A set of reasons.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Reasons(u32);

impl Reasons {
    /// None.
    pub const NONE: Self = Self(0);

    /// Adds one.
    pub const fn add(&mut self, reason: Reason) {
        self.0 |= 1 << reason as u8;
    }

    /// Adds one where something holds.
    pub const fn add_if(&mut self, holds: bool, reason: Reason) {
        if holds {
            self.add(reason);
        }
    }

    /// Whether one is in it.
    #[must_use]
    pub const fn has(self, reason: Reason) -> bool {
        self.0 & (1 << reason as u8) != 0
    }

    /// Those of either set.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether it is empty.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Its reasons, in the order of [`Reason::ALL`].
    pub fn iter(self) -> impl Iterator<Item = Reason> {
        Reason::ALL
            .into_iter()
            .filter(move |reason| self.has(*reason))
    }
}

impl FromIterator<Reason> for Reasons {
    fn from_iter<I: IntoIterator<Item = Reason>>(reasons: I) -> Self {
        let mut set = Self::NONE;
        for reason in reasons {
            set.add(reason);
        }
        set
    }
}

/// What a screening does not assess at any site, whatever the layers hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotScreened {
    /// Airspace volumes over the site, unless the profile limits by them.
    Airspace,
    /// Obstacle limitation surfaces.
    Surfaces,
    /// Hours of control.
    Hours,
    /// Where the site lies to runways and their extended centrelines.
    Runways,
    /// NOTAM, temporary restrictions, weather, people and property on the ground.
    NoData,
}

impl NotScreened {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Airspace,
        Self::Surfaces,
        Self::Hours,
        Self::Runways,
        Self::NoData,
    ];

    /// Its code in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Airspace => "airspace",
            Self::Surfaces => "surfaces",
            Self::Hours => "hours",
            Self::Runways => "runways",
            Self::NoData => "notam_weather_people",
        }
    }

    /// What it is, and why it is not assessed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Airspace => {
                "airspace volumes over the site: a screening asks them only where the profile \
                 limits the ceiling by them; assess the site alone"
            }
            Self::Surfaces => "obstacle limitation surfaces: assess the site alone",
            Self::Hours => "hours of control: assess the site alone",
            Self::Runways => "where the site lies to extended centrelines: assess the site alone",
            Self::NoData => {
                "NOTAM, temporary restrictions, weather, people and property on the ground: eaves \
                 has no data on them"
            }
        }
    }
}
