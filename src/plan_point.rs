//! Points of a flight plan: where the aircraft takes off, lands, may come down, and the crew stands.
//!
//! A record keeps what was stated. Not here: what the ceiling is above a point (see
//! [`crate::assess`]).

use std::fmt;

use serde::Serialize;

use crate::frame::LonLat;
use crate::site::FeatureRef;
use crate::units::Metres;

/// What a point is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// The take-off point: heights that an aircraft shows are usually counted from it.
    TakeOff,
    /// The landing point.
    Landing,
    /// A place to come down on in an emergency.
    Emergency,
    /// Where the crew stands: the remote pilot or an observer.
    Crew,
}

impl Role {
    /// All roles, in the order of reports.
    pub const ALL: [Self; 4] = [Self::TakeOff, Self::Landing, Self::Emergency, Self::Crew];

    /// The word for it: `take-off`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::TakeOff => "take-off",
            Self::Landing => "landing",
            Self::Emergency => "emergency",
            Self::Crew => "crew",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One point of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanPoint {
    /// Where it was read.
    pub source: FeatureRef,
    /// Its name in the data.
    pub name: Option<String>,
    /// What it is for: at least one role, in the order of [`Role::ALL`], none twice.
    pub roles: Vec<Role>,
    /// Where it is.
    pub place: LonLat,
    /// Its position is within this of the stated one (0 when not stated).
    pub horizontal_accuracy: Metres,
}

impl PlanPoint {
    /// Whether it has a role.
    #[must_use]
    pub fn is(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// A short title: `take-off and landing point "Gate"`, `crew point #2`.
    #[must_use]
    pub fn title(&self) -> String {
        let words: Vec<&str> = self.roles.iter().map(|role| role.word()).collect();
        let roles = words.join(" and ");
        match &self.name {
            Some(name) => format!("{roles} point \"{name}\""),
            None => format!("{roles} point {}", self.source.feature),
        }
    }
}
