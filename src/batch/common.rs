//! What all sites of a screening share.

use crate::profile::{Profile, Term};
use crate::read::Layers;

use super::reason::Reason;
use super::row::ProximityOf;
use super::settings::{Case, Settings};

/// The settings and layers of a screening, indexed once and read by every thread.
#[derive(Debug)]
pub struct Common {
    settings: Settings,
    cases: Vec<Case>,
    layers: Layers,
}

impl Common {
    /// Indexes the layers. They may have been read through a mask; it must hold every site grown by
    /// [`Common::obstacle_reach`].
    #[must_use]
    pub fn new(settings: Settings, layers: Layers) -> Self {
        Self {
            cases: settings.sensitivity.cases(),
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
        Some(self.layers.obstacles.records().get(obstacle)?.title())
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
}
