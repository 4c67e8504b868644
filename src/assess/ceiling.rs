//! The allowed ceiling of a site in both vertical references, with the budget that governs each.

use super::Question;
use super::budget::Budget;
use super::cover::Cover;
use super::expression::{Expression, LeafKind};
use super::ground::SiteGround;
use super::obstacles::{Nearby, Placed, TrustedTop};
use crate::answer::{
    CeilingAnswer, CeilingPair, CeilingValue, GridGovernor, GroundSource, Stopped, Undetermined,
};
use crate::field::floor::Floor;
use crate::field::{Field, Governor};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::profile::{Mark, Quantity};
use crate::search::{self, Certificate, Limits, Scope, Stop};

/// The vertical reference of a ceiling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Vertical {
    Amsl,
    AboveGround,
}

/// A site asked for its ceiling.
pub struct Asked<'a> {
    pub expression: &'a Expression<'a>,
    pub nearby: &'a Nearby,
    pub plan: &'a Plan,
    pub ground: &'a SiteGround,
    pub limits: Limits,
}

/// A certified ceiling in numbers.
#[derive(Clone, Copy, Debug)]
pub struct FoundValue {
    vertical: Vertical,
    /// The certificate.
    pub found: Certificate,
    /// The leaf that governs.
    pub leaf: usize,
    /// The member of that leaf, if it has members.
    pub member: Option<usize>,
    /// What is reported: whole centimetres, not above the certified bound nor its budget.
    pub value_m: f64,
}

/// A ceiling in both vertical references, in numbers.
#[derive(Clone, Copy, Debug)]
pub struct FoundPair {
    /// AMSL; none on assumed flat ground.
    pub amsl: Option<FoundValue>,
    /// Above ground.
    pub above_ground: FoundValue,
}

/// The ceiling in numbers.
#[derive(Clone, Copy, Debug)]
pub struct FoundCeiling {
    /// Of the whole area; none when it is undetermined in some part.
    pub whole: Option<FoundPair>,
    /// Of the part where it is determined, when that is not the whole area.
    pub determined_part: Option<FoundPair>,
}

impl FoundCeiling {
    /// Where the ceiling AMSL has this level, set by this leaf, if it has.
    pub fn place_of_level(&self, leaf: usize, level: f64) -> Option<Xy> {
        let pair = self.whole.or(self.determined_part)?;
        pair.amsl
            .filter(|value| value.leaf == leaf && value.found.attained == level)
            .map(|value| value.found.place)
    }
}

/// The ceiling in words.
pub fn answer(
    question: &Question,
    asked: &Asked,
    ceiling: &FoundCeiling,
    covers: &[Cover],
    has_airspace: bool,
) -> CeilingAnswer {
    let in_words =
        |pair: &Option<FoundPair>| pair.as_ref().and_then(|pair| asked.pair_in_words(pair));
    let whole = in_words(&ceiling.whole);
    let determined_part = in_words(&ceiling.determined_part);
    let undetermined = if whole.is_some() {
        Vec::new()
    } else {
        asked.reasons(covers)
    };
    let mut conditions = question.profile.conditions.clone();
    if asked.ground.source == GroundSource::AssumedFlat {
        conditions.push(
            "Flat ground is assumed; state the site elevation or add terrain to be certain."
                .to_owned(),
        );
    }
    let limits_by_airspace =
        (asked.expression.leaves.iter()).any(|leaf| matches!(leaf.kind, LeafKind::Airspace(_)));
    if limits_by_airspace && !has_airspace {
        conditions.push(
            "There is no airspace layer, so no floor of airspace limits the ceiling here."
                .to_owned(),
        );
    }
    let reach = question.profile.widest_reach().m();
    let estimates = asked.nearby.placed.iter().any(|placed| {
        placed.is_within(reach, asked.plan)
            && placed
                .trusted
                .as_ref()
                .is_ok_and(|trusted| trusted.is_estimate)
    });
    if estimates {
        conditions.push(
            "Heights of lines marked ESTIMATE come from the voltage class, not from data."
                .to_owned(),
        );
    }
    CeilingAnswer {
        whole,
        determined_part,
        undetermined,
        conditions,
    }
}

impl Asked<'_> {
    /// The ceiling, given the cover of each shield term.
    pub fn find(&self, covers: &[Cover]) -> FoundCeiling {
        let whole = self.pair(Scope::Everywhere, covers);
        FoundCeiling {
            whole,
            determined_part: match whole {
                Some(_) => None,
                None => self.pair(Scope::WhereDetermined, covers),
            },
        }
    }

    fn pair(&self, scope: Scope, covers: &[Cover]) -> Option<FoundPair> {
        let above_ground = self.value(Vertical::AboveGround, scope, covers)?;
        let amsl = if self.ground.is_amsl() {
            Some(self.value(Vertical::Amsl, scope, covers)?)
        } else {
            None
        };
        Some(FoundPair { amsl, above_ground })
    }

    fn value(&self, vertical: Vertical, scope: Scope, covers: &[Cover]) -> Option<FoundValue> {
        let (found, leaf, member) = match (self.over_level_ground(), covers) {
            (Some((shield, ground)), [cover]) if cover.leaf == shield => {
                self.by_cover(vertical, scope, cover, ground)?
            }
            _ => self.by_search(vertical, scope)?,
        };
        if !found.lower.is_finite() || !found.attained.is_finite() {
            return None;
        }
        let value = FoundValue {
            vertical,
            found,
            leaf,
            member,
            value_m: 0.0,
        };
        let (value_m, _) = self.budget(&value, Budget::in_numbers())?;
        Some(FoundValue { value_m, ..value })
    }

    fn by_search(
        &self,
        vertical: Vertical,
        scope: Scope,
    ) -> Option<(Certificate, usize, Option<usize>)> {
        let field: Box<dyn Field> = match vertical {
            Vertical::Amsl => self.expression.amsl(&self.ground.ground),
            Vertical::AboveGround => self.expression.above_ground(&self.ground.ground),
        };
        let found = search::lowest(field.as_ref(), self.plan.cells(), scope, self.limits)?;
        let governor = field.governor(found.place);
        Some((found, governor.leaf, governor.member))
    }

    /// The only shield term, and the elevation of the ground, where the ground is level and nothing
    /// else changes over the area: the ceiling then follows from the cover.
    pub fn over_level_ground(&self) -> Option<(usize, f64)> {
        Some((
            self.expression.only_shield()?,
            self.ground.ground.level_elevation()?,
        ))
    }

    /// The value above level ground for a level of the only shield term, and the leaf that sets it.
    pub fn above_level_ground(&self, shield: usize, level: f64, ground: f64) -> (f64, usize) {
        let highest = ground + self.ground.ground.accuracy();
        self.expression.of_leaves(&|leaf| {
            if leaf == shield {
                level - highest
            } else {
                self.cap(leaf)
            }
        })
    }

    fn amsl_over_level_ground(&self, shield: usize, level: f64, ground: f64) -> (f64, usize) {
        let lowest = ground - self.ground.ground.accuracy();
        self.expression.of_leaves(&|leaf| {
            if leaf == shield {
                level
            } else {
                lowest + self.cap(leaf)
            }
        })
    }

    fn cap(&self, leaf: usize) -> f64 {
        match self.expression.leaves.get(leaf).map(|leaf| &leaf.kind) {
            Some(LeafKind::Cap(height)) => height.value_m.m(),
            // Cannot be: it is asked of caps alone. Nothing allowed is the conservative reading.
            _ => f64::NEG_INFINITY,
        }
    }

    /// Minimum, maximum and adding a constant keep the order of values, so the least value of the
    /// expression is its value for the least level of the shields.
    fn by_cover(
        &self,
        vertical: Vertical,
        scope: Scope,
        cover: &Cover,
        ground: f64,
    ) -> Option<(Certificate, usize, Option<usize>)> {
        let of_level = |level: f64| match vertical {
            Vertical::AboveGround => self.above_level_ground(cover.leaf, level, ground),
            Vertical::Amsl => self.amsl_over_level_ground(cover.leaf, level, ground),
        };
        let level = match scope {
            Scope::Everywhere => cover.whole?,
            Scope::WhereDetermined => cover.completed?,
        };
        let (attained, leaf) = of_level(level.attained);
        let found = Certificate {
            lower: of_level(level.lower).0,
            attained,
            ..level
        };
        let member = match self.expression.leaves.get(leaf).map(|leaf| &leaf.kind) {
            Some(LeafKind::Shield { shields, .. }) => shields.governor(level.place).member,
            _ => None,
        };
        Some((found, leaf, member))
    }

    /// The budget of a ceiling: its sum, and its lines where the budget keeps them.
    fn budget(
        &self,
        value: &FoundValue,
        budget: Budget,
    ) -> Option<(f64, Vec<crate::answer::BudgetLine>)> {
        let (vertical, place) = (value.vertical, value.found.place);
        let leaf = self.expression.leaves.get(value.leaf)?;
        let budget = match &leaf.kind {
            LeafKind::Cap(height) => self.cap_budget(budget, vertical, height, place),
            LeafKind::Airspace(airspace) => {
                let floor = airspace.volumes.get(value.member?)?.floor;
                let title = airspace.titles.get(value.member?)?;
                self.floor_budget(budget, vertical, floor, title, place)
            }
            LeafKind::Shield { margin, .. } => {
                let placed = self.nearby.placed.get(value.member?)?;
                let trusted = placed.trusted.as_ref().ok()?;
                self.shield_budget(budget, vertical, (placed, trusted), margin, place)
            }
        };
        let label = match vertical {
            Vertical::Amsl => "ceiling AMSL",
            Vertical::AboveGround => "ceiling above ground",
        };
        Some(budget.close(label, value.found.lower))
    }

    fn pair_in_words(&self, pair: &FoundPair) -> Option<CeilingPair> {
        Some(CeilingPair {
            amsl: match &pair.amsl {
                Some(value) => Some(self.in_words(value)?),
                None => None,
            },
            above_ground: self.in_words(&pair.above_ground)?,
        })
    }

    fn in_words(&self, value: &FoundValue) -> Option<CeilingValue> {
        let leaf = self.expression.leaves.get(value.leaf)?;
        let (value_m, budget) = self.budget(value, Budget::in_words())?;
        let shield = match leaf.kind {
            LeafKind::Shield { .. } => self.nearby.placed.get(value.member?),
            LeafKind::Cap(_) | LeafKind::Airspace(_) => None,
        };
        Some(CeilingValue {
            value_m,
            attained_m: value.found.attained,
            stopped: stopped(&value.found),
            cells: value.found.cells,
            governs_at: self.plan.frame().to_place(value.found.place),
            governs: leaf.title.to_owned(),
            shield: shield.map(|placed| placed.record.title()),
            budget,
        })
    }

    fn shield_budget(
        &self,
        budget: Budget,
        vertical: Vertical,
        (placed, trusted): (&Placed, &TrustedTop),
        margin: &Quantity,
        place: Xy,
    ) -> Budget {
        let mut budget = shield_lines(budget, (placed, trusted), margin, self.ground);
        if vertical == Vertical::AboveGround {
            budget.gives(ceiling_here(self.ground), String::new);
            self.take_ground_off(&mut budget, place);
        }
        budget
    }

    fn cap_budget(
        &self,
        mut budget: Budget,
        vertical: Vertical,
        height: &Quantity,
        place: Xy,
    ) -> Budget {
        match vertical {
            Vertical::AboveGround => budget.from("cap", height.value_m.m(), || cited(height)),
            Vertical::Amsl => {
                self.start_from_ground(&mut budget, place);
                budget.less("cap", -height.value_m.m(), || cited(height));
            }
        }
        budget
    }

    fn floor_budget(
        &self,
        mut budget: Budget,
        vertical: Vertical,
        floor: Floor,
        title: &str,
        place: Xy,
    ) -> Budget {
        match (vertical, floor) {
            (Vertical::AboveGround, Floor::AboveGround(height)) => {
                budget.from("floor of airspace", height, || title.to_owned());
            }
            (Vertical::Amsl, Floor::AboveGround(height)) => {
                self.start_from_ground(&mut budget, place);
                budget.less("floor of airspace", -height, || title.to_owned());
            }
            (_, Floor::Amsl(altitude)) => {
                budget.from("floor of airspace AMSL", altitude, || title.to_owned());
                if vertical == Vertical::AboveGround {
                    self.take_ground_off(&mut budget, place);
                }
            }
            (_, Floor::Undetermined) => {}
        }
        budget
    }

    /// Starts a sum from the lowest that the ground may be at a place.
    fn start_from_ground(&self, budget: &mut Budget, place: Xy) {
        let ground = self.ground.ground.known_at(place);
        budget.from(
            "ground here",
            ground.map_or(f64::NAN, |range| range.low),
            || self.ground.note(),
        );
        self.take_ground_accuracy_off(budget);
    }

    fn take_ground_off(&self, budget: &mut Budget, place: Xy) {
        let ground = self.ground.ground.known_at(place);
        budget.less(
            "highest ground under it",
            ground.map_or(f64::NAN, |range| range.high),
            || self.ground.note(),
        );
        self.take_ground_accuracy_off(budget);
    }

    fn take_ground_accuracy_off(&self, budget: &mut Budget) {
        budget.less("ground accuracy", self.ground.ground.accuracy(), || {
            self.ground.accuracy_note().to_owned()
        });
    }

    /// Why the ceiling of the whole area is undetermined.
    pub fn reasons(&self, covers: &[Cover]) -> Vec<Undetermined> {
        let mut reasons = Vec::new();
        let unknown = self.ground.unknown_share(self.plan);
        if unknown > 0.0 {
            reasons.push(Undetermined::GroundUnknown { share: unknown });
        }
        for rule in covers.iter().filter(|rule| !rule.is_wholly_covered) {
            reasons.push(if rule.shields_in_reach == 0 {
                Undetermined::NoShield
            } else {
                Undetermined::Uncovered {
                    uncovered_m2: rule.uncovered_m2,
                    share: 1.0 - rule.covered_share,
                }
            });
        }
        let unknown: Vec<String> = self
            .expression
            .leaves
            .iter()
            .filter_map(|leaf| match &leaf.kind {
                LeafKind::Airspace(airspace) => Some(airspace),
                _ => None,
            })
            .flat_map(|airspace| airspace.volumes.iter().zip(&airspace.titles))
            .filter(|(volume, _)| volume.floor == Floor::Undetermined)
            .map(|(_, title)| title.clone())
            .collect();
        if !unknown.is_empty() {
            reasons.push(Undetermined::FloorUnknown { volumes: unknown });
        }
        if reasons.is_empty() {
            reasons.push(Undetermined::NotCertified);
        }
        reasons
    }
}

/// What governs at a place, with the lines of its budget that do not depend on the place.
pub fn governor(
    governor: Governor,
    expression: &Expression,
    nearby: &Nearby,
    ground: &SiteGround,
) -> Option<GridGovernor> {
    let leaf = expression.leaves.get(governor.leaf)?;
    let (title, budget) = match &leaf.kind {
        LeafKind::Cap(height) => {
            let mut budget = Budget::in_words();
            budget.from("cap above ground", height.value_m.m(), || cited(height));
            (leaf.title.to_owned(), budget)
        }
        LeafKind::Airspace(airspace) => {
            let member = governor.member?;
            let title = airspace.titles.get(member)?;
            let mut budget = Budget::in_words();
            match airspace.volumes.get(member)?.floor {
                Floor::AboveGround(height) => {
                    budget.from("floor of airspace above ground", height, || title.clone());
                }
                Floor::Amsl(altitude) => {
                    budget.from("floor of airspace AMSL", altitude, || title.clone());
                }
                Floor::Undetermined => {}
            }
            (title.clone(), budget)
        }
        LeafKind::Shield { margin, .. } => {
            let placed = nearby.placed.get(governor.member?)?;
            let trusted = placed.trusted.as_ref().ok()?;
            let mut budget = shield_lines(Budget::in_words(), (placed, trusted), margin, ground);
            budget.gives(ceiling_here(ground), String::new);
            (placed.record.title(), budget)
        }
    };
    Some(GridGovernor {
        title,
        budget: budget.into_lines(),
    })
}

/// The budget of a shield down to its margin: the same at every place it reaches.
fn shield_lines(
    mut budget: Budget,
    (placed, trusted): (&Placed, &TrustedTop),
    margin: &Quantity,
    ground: &SiteGround,
) -> Budget {
    let start = if trusted.sag.is_some() {
        "support top"
    } else {
        "top"
    };
    budget.from(start, trusted.stated, || {
        placed.stated_note(trusted, ground)
    });
    if let Some(sag) = trusted.sag {
        budget.less("sag", sag, || placed.sag_note());
    }
    budget.less("obstacle accuracy", trusted.accuracy, || {
        accuracy_note(placed, trusted).to_owned()
    });
    budget.less("ground accuracy at its base", trusted.base_accuracy, || {
        ground.accuracy_note().to_owned()
    });
    budget.gives("trusted top", String::new);
    budget.less("margin", margin.value_m.m(), || cited(margin));
    budget
}

/// What a ceiling is called before the ground is taken off it.
fn ceiling_here(ground: &SiteGround) -> &'static str {
    if ground.is_amsl() {
        "ceiling AMSL here"
    } else {
        "ceiling above the assumed ground"
    }
}

fn accuracy_note(placed: &Placed, trusted: &TrustedTop) -> &'static str {
    if trusted.accuracy == 0.0 {
        "none stated"
    } else if trusted.accuracy > placed.record.vertical_accuracy.m() {
        "no better was to be taken"
    } else {
        "as stated by the layer"
    }
}

/// Citation, edition and mark of a value, for a note.
fn cited(quantity: &Quantity) -> String {
    match quantity.mark {
        Mark::CommonPractice => quantity.mark.words().to_owned(),
        Mark::Seen | Mark::FromMemory => {
            format!("{} ({})", quantity.citation, quantity.mark.words())
        }
    }
}

fn stopped(found: &Certificate) -> Stopped {
    match found.stop {
        Stop::Tolerance => Stopped::Tolerance,
        Stop::Resolution => Stopped::Resolution,
        Stop::Budget => Stopped::Budget,
    }
}
