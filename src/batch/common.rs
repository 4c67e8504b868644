//! What all sites of a screening share.

use crate::assess::Question;
use crate::error::Cautions;
use crate::profile::{Profile, Term};
use crate::read::Layers;
use crate::units::Metres;

use super::Site;
use super::aerodromes::Aerodromes;
use super::reason::{Reason, Reasons};
use super::row::ProximityOf;
use super::settings::{Case, Settings};

/// The settings and layers of a screening, indexed once and read by every thread.
#[derive(Debug)]
pub struct Common {
    settings: Settings,
    cases: Vec<Case>,
    /// The profile of each case.
    profiles: Vec<Profile>,
    layers: Layers,
    aerodromes: Aerodromes,
    /// Whether each leaf of the profile's expression is a shield term.
    shields: Vec<bool>,
    limits_by_airspace: bool,
    /// How far from a site an obstacle may shield in some case.
    obstacle_reach: Metres,
    reasons: Reasons,
}

impl Common {
    /// Indexes the layers. They may have been read through a mask; it must hold every site grown by
    /// [`Settings::obstacle_reach`].
    #[must_use]
    pub fn new(settings: Settings, layers: Layers) -> Self {
        let cases = settings.sensitivity.cases();
        let leaves = settings.profile.expression.leaves();
        let is_shield = |leaf: &&Term| matches!(leaf, Term::Shield { .. });
        let is_airspace = |leaf: &&Term| matches!(leaf, Term::Airspace { .. });
        let mut reasons = Reasons::NONE;
        reasons.add_if(
            settings.site_elevation.is_none() && layers.terrain.is_none(),
            Reason::FlatGroundAssumed,
        );
        reasons.add_if(!settings.profile.conditions.is_empty(), Reason::Conditions);
        Self {
            profiles: cases
                .iter()
                .map(|case| case.profile(&settings.profile))
                .collect(),
            aerodromes: Aerodromes::new(
                &layers.aerodromes,
                &settings.profile,
                settings.search_radius,
            ),
            shields: leaves.iter().map(is_shield).collect(),
            limits_by_airspace: leaves.iter().any(is_airspace),
            obstacle_reach: settings.obstacle_reach(),
            reasons,
            cases,
            settings,
            layers,
        }
    }

    /// What is asked.
    #[must_use]
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The cases that each row answers, at least one.
    #[must_use]
    pub fn cases(&self) -> &[Case] {
        &self.cases
    }

    /// The layers.
    #[must_use]
    pub const fn layers(&self) -> &Layers {
        &self.layers
    }

    /// The profile, nothing varied.
    #[must_use]
    pub const fn profile(&self) -> &Profile {
        &self.settings.profile
    }

    /// The title of an aerodrome.
    #[must_use]
    pub fn aerodrome_title(&self, aerodrome: usize) -> Option<String> {
        Some(self.layers.aerodromes.get(aerodrome)?.title())
    }

    /// The identifier of an aerodrome, if the data give one.
    #[must_use]
    pub fn aerodrome_ident(&self, aerodrome: usize) -> Option<&str> {
        self.layers.aerodromes.get(aerodrome)?.ident.as_deref()
    }

    /// The title of an obstacle.
    #[must_use]
    pub fn obstacle_title(&self, obstacle: usize) -> Option<String> {
        Some(self.layers.obstacles.get(obstacle)?.title())
    }

    /// The title of a term of the profile.
    #[must_use]
    pub fn term_title(&self, term: usize) -> Option<&str> {
        match self.profile().expression.leaves().get(term)? {
            Term::Cap { title, .. } | Term::Shield { title, .. } | Term::Airspace { title, .. } => {
                Some(title)
            }
            Term::Lowest(_) | Term::Highest(_) => None,
        }
    }

    /// The title of a ring (its radius as the profile writes it) or a zone.
    #[must_use]
    pub fn proximity_title(&self, of: ProximityOf) -> Option<String> {
        match of {
            ProximityOf::Ring(ring) => Some(self.profile().rings.get(ring)?.radius.label()),
            ProximityOf::Zone(zone) => Some(self.profile().zones.get(zone)?.title.clone()),
        }
    }

    /// Reasons in words, for those who read a code for the first time.
    #[must_use]
    pub fn legend() -> [(&'static str, &'static str); Reason::ALL.len()] {
        Reason::ALL.map(|reason| (reason.code(), reason.words()))
    }

    pub(super) const fn aerodromes(&self) -> &Aerodromes {
        &self.aerodromes
    }

    /// Reasons that hold for every site.
    pub(super) const fn reasons(&self) -> Reasons {
        self.reasons
    }

    /// The profile of a case.
    pub(super) fn profile_of(&self, case: usize) -> &Profile {
        self.profiles.get(case).unwrap_or(&self.settings.profile)
    }

    pub(super) const fn has_terrain(&self) -> bool {
        self.layers.terrain.is_some() && self.settings.site_elevation.is_none()
    }

    pub(super) fn is_shield(&self, term: usize) -> bool {
        self.shields.get(term).copied().unwrap_or(false)
    }

    /// How far from a site an obstacle may shield in some case.
    pub(super) const fn obstacle_reach(&self) -> Metres {
        self.obstacle_reach
    }

    /// The question of one site in one case, which the floors of airspace need; none where the profile
    /// does not limit by them.
    pub(super) fn question_of_airspace(&self, site: &Site, case: usize) -> Option<Question> {
        self.limits_by_airspace.then(|| Question {
            area: site.area.clone(),
            area_cautions: Cautions::default(),
            profile: self.profile_of(case).clone(),
            date: self.settings.date,
            search_radius: self.settings.search_radius,
            wish: None,
            window: None,
            site_elevation: self.settings.site_elevation,
            ground_accuracy: self.settings.ground_accuracy,
            tolerance: self.settings.tolerance,
            qnh: self.settings.qnh,
            surfaces: None,
            line_clearance: None,
            sample_ceiling: false,
            section: None,
            shielding_planes: None,
            obstacle_accuracy: None,
        })
    }
}
