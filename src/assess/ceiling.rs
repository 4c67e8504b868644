//! The allowed ceiling of a site in both vertical references, with the budget that governs each.

use super::Question;
use super::budget::Budget;
use super::expression::{Expression, LeafKind};
use super::ground::SiteGround;
use super::obstacles::{Nearby, TrustedTop};
use crate::answer::{
    CeilingAnswer, CeilingPair, CeilingValue, GridGovernor, GroundSource, ShieldingAnswer, Stopped,
    Undetermined,
};
use crate::field::floor::Floor;
use crate::field::{Field, Governor};
use crate::frame::Xy;
use crate::plan::Plan;
use crate::profile::{Mark, Quantity};
use crate::search::{self, Certificate, Limits, Scope, Stop};

/// The vertical reference of a ceiling.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Vertical {
    Amsl,
    AboveGround,
}

struct Ceiling<'a> {
    expression: &'a Expression<'a>,
    nearby: &'a Nearby<'a>,
    plan: &'a Plan,
    ground: &'a SiteGround,
    limits: Limits,
}

pub fn answer(
    question: &Question,
    expression: &Expression,
    nearby: &Nearby,
    plan: &Plan,
    ground: &SiteGround,
    shielding: &[ShieldingAnswer],
    has_airspace: bool,
) -> CeilingAnswer {
    let ceiling = Ceiling {
        expression,
        nearby,
        plan,
        ground,
        limits: Limits::within(question.tolerance.m()),
    };
    let whole = ceiling.pair(Scope::Everywhere);
    let (determined_part, undetermined) = if whole.is_some() {
        (None, Vec::new())
    } else {
        (
            ceiling.pair(Scope::WhereDetermined),
            ceiling.reasons(shielding),
        )
    };
    let mut conditions = question.profile.conditions.clone();
    if ground.source == GroundSource::AssumedFlat {
        conditions.push(
            "Flat ground is assumed; state the site elevation or add terrain to be certain."
                .to_owned(),
        );
    }
    let limits_by_airspace =
        (expression.leaves.iter()).any(|leaf| matches!(leaf.kind, LeafKind::Airspace(_)));
    if limits_by_airspace && !has_airspace {
        conditions.push(
            "There is no airspace layer, so no floor of airspace limits the ceiling here."
                .to_owned(),
        );
    }
    let reach = question.profile.widest_reach().m();
    let estimates = nearby.placed.iter().any(|placed| {
        placed.distance <= reach
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

impl Ceiling<'_> {
    fn pair(&self, scope: Scope) -> Option<CeilingPair> {
        let above_ground = self.value(Vertical::AboveGround, scope)?;
        let amsl = if self.ground.is_amsl() {
            Some(self.value(Vertical::Amsl, scope)?)
        } else {
            None
        };
        Some(CeilingPair { amsl, above_ground })
    }

    fn value(&self, vertical: Vertical, scope: Scope) -> Option<CeilingValue> {
        let field: Box<dyn Field> = match vertical {
            Vertical::Amsl => self.expression.amsl(&self.ground.ground),
            Vertical::AboveGround => self.expression.above_ground(&self.ground.ground),
        };
        let found = search::lowest(field.as_ref(), self.plan.cells(), scope, self.limits)?;
        if !found.lower.is_finite() || !found.attained.is_finite() {
            return None;
        }
        let governor = field.governor(found.place);
        let leaf = self.expression.leaves.get(governor.leaf)?;
        let (budget, shield) = match &leaf.kind {
            LeafKind::Cap(height) => (self.cap_budget(vertical, height, found.place), None),
            LeafKind::Airspace(airspace) => {
                let member = governor.member?;
                let floor = airspace.volumes.get(member)?.floor;
                let title = airspace.titles.get(member)?;
                (self.floor_budget(vertical, floor, title, found.place), None)
            }
            LeafKind::Shield { margin, .. } => {
                let placed = self.nearby.placed.get(governor.member?)?;
                let trusted = placed.trusted.as_ref().ok()?;
                (
                    self.shield_budget(vertical, trusted, margin, found.place),
                    Some(placed.record.title()),
                )
            }
        };
        let label = match vertical {
            Vertical::Amsl => "ceiling AMSL",
            Vertical::AboveGround => "ceiling above ground",
        };
        let (value_m, budget) = budget.close(label, found.lower);
        Some(CeilingValue {
            value_m,
            attained_m: found.attained,
            stopped: stopped(&found),
            cells: found.cells,
            governs_at: self.plan.frame().to_place(found.place),
            governs: leaf.title.to_owned(),
            shield,
            budget,
        })
    }

    fn shield_budget(
        &self,
        vertical: Vertical,
        trusted: &TrustedTop,
        margin: &Quantity,
        place: Xy,
    ) -> Budget {
        let mut budget = shield_lines(trusted, margin, self.ground);
        if vertical == Vertical::AboveGround {
            budget.gives(ceiling_here(self.ground), "");
            self.take_ground_off(&mut budget, place);
        }
        budget
    }

    fn cap_budget(&self, vertical: Vertical, height: &Quantity, place: Xy) -> Budget {
        let mut budget = Budget::default();
        match vertical {
            Vertical::AboveGround => budget.from("cap", height.value_m.m(), cited(height)),
            Vertical::Amsl => {
                self.start_from_ground(&mut budget, place);
                budget.less("cap", -height.value_m.m(), cited(height));
            }
        }
        budget
    }

    fn floor_budget(&self, vertical: Vertical, floor: Floor, title: &str, place: Xy) -> Budget {
        let mut budget = Budget::default();
        match (vertical, floor) {
            (Vertical::AboveGround, Floor::AboveGround(height)) => {
                budget.from("floor of airspace", height, title);
            }
            (Vertical::Amsl, Floor::AboveGround(height)) => {
                self.start_from_ground(&mut budget, place);
                budget.less("floor of airspace", -height, title);
            }
            (_, Floor::Amsl(altitude)) => {
                budget.from("floor of airspace AMSL", altitude, title);
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
            self.ground.note(),
        );
        self.take_ground_accuracy_off(budget);
    }

    fn take_ground_off(&self, budget: &mut Budget, place: Xy) {
        let ground = self.ground.ground.known_at(place);
        budget.less(
            "highest ground under it",
            ground.map_or(f64::NAN, |range| range.high),
            self.ground.note(),
        );
        self.take_ground_accuracy_off(budget);
    }

    fn take_ground_accuracy_off(&self, budget: &mut Budget) {
        budget.less(
            "ground accuracy",
            self.ground.ground.accuracy(),
            self.ground.accuracy_note(),
        );
    }

    /// Why the ceiling of the whole area is undetermined.
    fn reasons(&self, shielding: &[ShieldingAnswer]) -> Vec<Undetermined> {
        let mut reasons = Vec::new();
        let unknown = self.ground.unknown_share(self.plan);
        if unknown > 0.0 {
            reasons.push(Undetermined::GroundUnknown { share: unknown });
        }
        for rule in shielding.iter().filter(|rule| !rule.is_wholly_covered) {
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
            let mut budget = Budget::default();
            budget.from("cap above ground", height.value_m.m(), cited(height));
            (leaf.title.to_owned(), budget)
        }
        LeafKind::Airspace(airspace) => {
            let member = governor.member?;
            let title = airspace.titles.get(member)?;
            let mut budget = Budget::default();
            match airspace.volumes.get(member)?.floor {
                Floor::AboveGround(height) => {
                    budget.from("floor of airspace above ground", height, title.clone());
                }
                Floor::Amsl(altitude) => {
                    budget.from("floor of airspace AMSL", altitude, title.clone());
                }
                Floor::Undetermined => {}
            }
            (title.clone(), budget)
        }
        LeafKind::Shield { margin, .. } => {
            let placed = nearby.placed.get(governor.member?)?;
            let mut budget = shield_lines(placed.trusted.as_ref().ok()?, margin, ground);
            budget.gives(ceiling_here(ground), "");
            (placed.record.title(), budget)
        }
    };
    Some(GridGovernor {
        title,
        budget: budget.into_lines(),
    })
}

/// The budget of a shield down to its margin: the same at every place it reaches.
fn shield_lines(trusted: &TrustedTop, margin: &Quantity, ground: &SiteGround) -> Budget {
    let mut budget = Budget::default();
    let start = if trusted.sag.is_some() {
        "support top"
    } else {
        "top"
    };
    budget.from(start, trusted.stated, trusted.stated_note.clone());
    if let Some((sag, note)) = &trusted.sag {
        budget.less("sag", *sag, note.clone());
    }
    budget.less(
        "obstacle accuracy",
        trusted.accuracy,
        if trusted.accuracy == 0.0 {
            "none stated"
        } else {
            "as stated by the layer"
        },
    );
    budget.less(
        "ground accuracy at its base",
        trusted.base_accuracy,
        ground.accuracy_note(),
    );
    budget.gives("trusted top", "");
    budget.less("margin", margin.value_m.m(), cited(margin));
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
