//! Rule profiles: what a rule allows, as a field expression kept as cited data.
//!
//! The only place where law meets geometry. A profile is TOML: the built-in ones lie under
//! `layers/profiles/` and are compiled in, any other is read from a path ([`load`]). Not here: the
//! fields themselves (see [`crate::field`]) or where an area lies (see [`crate::assess`]).

mod read;
mod twilight;
pub mod zone;

pub use read::{
    HIGHEST_M, LONGEST_REACH_M, MOST_RINGS, MOST_SHAPES, MOST_TERMS, MOST_ZONES, NESTING, built_in,
    load, parse,
};

pub use twilight::{MOST_TWILIGHT_MIN, RuleTwilight};

use serde::{Deserialize, Serialize};

use crate::units::Metres;

/// From what a rule measures the distance to an aerodrome.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reference {
    /// Aerodrome reference point.
    ReferencePoint,
    /// The nearest runway end.
    RunwayEnd,
    /// The movement area.
    MovementArea,
    /// The aerodrome boundary.
    Boundary,
}

impl Reference {
    /// All references, in the order of reports.
    pub const ALL: [Self; 4] = [
        Self::ReferencePoint,
        Self::RunwayEnd,
        Self::MovementArea,
        Self::Boundary,
    ];

    /// The field's term: `reference point`, `runway end`, `movement area`, `boundary`.
    #[must_use]
    pub const fn term(self) -> &'static str {
        match self {
            Self::ReferencePoint => "reference point",
            Self::RunwayEnd => "runway end",
            Self::MovementArea => "movement area",
            Self::Boundary => "boundary",
        }
    }
}

/// How well a value of a profile is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Read in a copy of the cited source.
    Seen,
    /// Recalled; confirm before relying on it.
    FromMemory,
    /// Common practice; no source.
    CommonPractice,
}

impl Mark {
    /// The mark in words: `seen`, `from memory`, `common practice`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice",
        }
    }
}

/// A value of a profile with its unit, citation, edition and mark.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quantity {
    /// What it is in the profile: `shield.reach`, `cap.height`.
    pub key: String,
    /// The value in the unit of its source.
    pub value: f64,
    /// That unit: `m`, `ft`, `km`, `NM`.
    pub unit: String,
    /// The value in metres.
    pub value_m: Metres,
    /// Instrument and clause.
    pub citation: String,
    /// Edition or date of the instrument as read.
    pub edition: String,
    /// How well it is known.
    pub mark: Mark,
}

impl Quantity {
    /// Value and unit as the profile writes them: `3 NM`, `400 ft`.
    #[must_use]
    pub fn label(&self) -> String {
        format!("{} {}", self.value, self.unit)
    }

    /// The same quantity with a value that the user puts in its place.
    fn varied(&self, value_m: Metres) -> Self {
        Self {
            key: self.key.clone(),
            value: value_m.m(),
            unit: "m".to_owned(),
            value_m,
            citation: "varied by the user".to_owned(),
            edition: "not stated".to_owned(),
            mark: Mark::CommonPractice,
        }
    }
}

/// A distance ring about an aerodrome.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ring {
    /// Its radius.
    pub radius: Quantity,
    /// What it is measured from.
    pub about: Reference,
}

/// A rule on height: an expression over cited leaves.
#[expect(
    clippy::large_enum_variant,
    reason = "a profile holds a handful of terms, and boxes would only clutter their matching"
)]
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Term {
    /// The lowest of several limits applies.
    Lowest(Vec<Self>),
    /// The highest of several limits applies: a rule that raises a cap near a structure.
    Highest(Vec<Self>),
    /// A height above ground.
    Cap {
        /// Its title in reports.
        title: String,
        /// The height allowed above ground.
        height: Quantity,
    },
    /// The trusted top of the best shield in reach, less a margin; nothing out of reach.
    Shield {
        /// Its title in reports.
        title: String,
        /// Horizontal reach, its edge included. A rule that says 'less than' excludes that edge: a
        /// line without breadth, named in the profile's conditions.
        reach: Quantity,
        /// Taken off the trusted top; negative where the rule adds to it.
        margin: Quantity,
        /// Only obstacles taller than this above ground count, if the rule says so; one of exactly
        /// this height does not.
        taller_than: Option<Quantity>,
    },
    /// The floors of airspace volumes over the area: airspace limits the ceiling.
    Airspace {
        /// Its title in reports.
        title: String,
        /// Only volumes of these kinds (`CTR`, `R`) and those without a kind; all where empty. The
        /// case of letters does not matter.
        kinds: Vec<String>,
    },
}

impl Term {
    /// The leaves (caps, shields and airspace) in the order of the profile.
    #[must_use]
    pub fn leaves(&self) -> Vec<&Self> {
        match self {
            Self::Lowest(terms) | Self::Highest(terms) => {
                terms.iter().flat_map(Self::leaves).collect()
            }
            Self::Cap { .. } | Self::Shield { .. } | Self::Airspace { .. } => vec![self],
        }
    }

    /// The same term with another reach and another margin in every shield term.
    fn varied(&self, new_reach: Option<Metres>, new_margin: Option<Metres>) -> Self {
        let all = |terms: &[Self]| {
            (terms.iter())
                .map(|term| term.varied(new_reach, new_margin))
                .collect()
        };
        match self {
            Self::Lowest(terms) => Self::Lowest(all(terms)),
            Self::Highest(terms) => Self::Highest(all(terms)),
            Self::Shield {
                title,
                reach,
                margin,
                taller_than,
            } => Self::Shield {
                title: title.clone(),
                reach: new_reach.map_or_else(|| reach.clone(), |value| reach.varied(value)),
                margin: new_margin.map_or_else(|| margin.clone(), |value| margin.varied(value)),
                taller_than: taller_than.clone(),
            },
            Self::Cap { .. } | Self::Airspace { .. } => self.clone(),
        }
    }

    /// The cited values of a leaf; none for `lowest` and `highest`.
    fn quantities(&self) -> Vec<&Quantity> {
        match self {
            Self::Lowest(_) | Self::Highest(_) | Self::Airspace { .. } => Vec::new(),
            Self::Cap { height, .. } => vec![height],
            Self::Shield {
                reach,
                margin,
                taller_than,
                ..
            } => [Some(reach), Some(margin), taller_than.as_ref()]
                .into_iter()
                .flatten()
                .collect(),
        }
    }
}

/// A rule profile.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Profile {
    /// Its name, as given to `--profile`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The rings it asks about, smallest first.
    pub rings: Vec<Ring>,
    /// The zones it asks about, in its order.
    pub zones: Vec<zone::ZoneRule>,
    /// The reference the rule uses.
    pub reference: Reference,
    /// The rule on height.
    pub expression: Term,
    /// Twilight as the rule counts it, if it counts it in minutes.
    pub twilight: Option<RuleTwilight>,
    /// Conditions that eaves cannot check, in words.
    pub conditions: Vec<String>,
    /// What the profile is not: the caution that goes with every answer from it.
    pub caution: String,
}

impl Profile {
    /// Every cited value: those of the rule on height first, then the radii of the rings, then
    /// those of the zones.
    #[must_use]
    pub fn quantities(&self) -> Vec<&Quantity> {
        self.expression
            .leaves()
            .into_iter()
            .flat_map(Term::quantities)
            .chain(self.rings.iter().map(|ring| &ring.radius))
            .chain(self.zones.iter().flat_map(zone::ZoneRule::quantities))
            .collect()
    }

    /// The same profile with another reach and another margin in every shield term. Values put in
    /// carry no citation of the rule.
    #[must_use]
    pub fn varied(&self, reach: Option<Metres>, margin: Option<Metres>) -> Self {
        Self {
            expression: self.expression.varied(reach, margin),
            ..self.clone()
        }
    }

    /// The widest reach of its shield terms; 0 when it has none.
    #[must_use]
    pub fn widest_reach(&self) -> Metres {
        self.expression
            .leaves()
            .into_iter()
            .fold(Metres::ZERO, |widest, leaf| match leaf {
                Term::Shield { reach, .. } => widest.max(reach.value_m),
                _ => widest,
            })
    }
}
