//! A rule profile's expression compiled into fields, one per vertical reference.

use crate::field::Field;
use crate::field::cap::{CapAboveGround, CapAmsl};
use crate::field::combine::{Highest, Lowest};
use crate::field::floor::{FloorVolume, Floors, Vertical};
use crate::field::ground::Ground;
use crate::field::shield::{Piece, Shields, ShieldsAboveGround};
use crate::plan::Plan;
use crate::profile::{Quantity, Term};

use super::airspace::Overhead;
use super::obstacles::Nearby;

/// An expression with its shields laid out.
pub struct Expression<'a> {
    term: &'a Term,
    /// The leaves in the order of the profile; a [`crate::field::Governor`] names them by number.
    pub leaves: Vec<Leaf<'a>>,
}

/// One leaf of an expression.
pub struct Leaf<'a> {
    /// Its title.
    pub title: &'a str,
    /// What it is.
    pub kind: LeafKind<'a>,
}

/// What a leaf is.
pub enum LeafKind<'a> {
    /// A height above ground.
    Cap(&'a Quantity),
    /// Shields.
    Shield {
        /// The rule's reach.
        reach: &'a Quantity,
        /// The rule's margin.
        margin: &'a Quantity,
        /// The shields; members are indices into the nearby obstacles.
        shields: Shields,
        /// How many obstacles they are.
        shields_in_reach: usize,
    },
    /// Floors of airspace volumes.
    Airspace(AirspaceLeaf),
}

/// The floors that an airspace term limits the ceiling by.
#[derive(Default)]
pub struct AirspaceLeaf {
    /// The volumes.
    pub volumes: Vec<FloorVolume>,
    /// Their titles with their lower limits, likewise.
    pub titles: Vec<String>,
}

impl<'a> Expression<'a> {
    /// Lays out the shields of each shield term. `slack` is taken off every reach.
    pub fn compile(
        term: &'a Term,
        nearby: &Nearby,
        plan: &Plan,
        slack: f64,
        overhead: Option<&Overhead<'_>>,
    ) -> Self {
        let leaves = term
            .leaves()
            .into_iter()
            .enumerate()
            .filter_map(|(number, leaf)| match leaf {
                Term::Cap { title, height } => Some(Leaf {
                    title,
                    kind: LeafKind::Cap(height),
                }),
                Term::Shield {
                    title,
                    reach,
                    margin,
                    taller_than,
                } => {
                    let (pieces, shields_in_reach) =
                        pieces(nearby, plan, reach, margin, taller_than.as_ref(), slack);
                    Some(Leaf {
                        title,
                        kind: LeafKind::Shield {
                            reach,
                            margin,
                            shields: Shields::new(number, pieces),
                            shields_in_reach,
                        },
                    })
                }
                Term::Airspace { title, kinds } => Some(Leaf {
                    title,
                    kind: LeafKind::Airspace(
                        overhead
                            .map_or_else(AirspaceLeaf::default, |overhead| overhead.floors(kinds)),
                    ),
                }),
                Term::Lowest(_) | Term::Highest(_) => None,
            })
            .collect();
        Self { term, leaves }
    }

    /// The number of its shield term, where that is the only leaf that changes over level ground.
    pub fn only_shield(&self) -> Option<usize> {
        let mut only = None;
        for (number, leaf) in self.leaves.iter().enumerate() {
            match leaf.kind {
                LeafKind::Cap(_) => {}
                LeafKind::Shield { .. } if only.is_none() => only = Some(number),
                LeafKind::Shield { .. } | LeafKind::Airspace(_) => return None,
            }
        }
        only
    }

    /// The value of the expression for a value of each leaf, and the leaf that sets it.
    pub fn of_leaves(&self, value: &dyn Fn(usize) -> f64) -> (f64, usize) {
        of_term(self.term, &mut 0, value)
    }

    /// The field AMSL.
    pub fn amsl<'b>(&'b self, ground: &'b Ground) -> Box<dyn Field + 'b> {
        self.field(self.term, &mut 0, ground, true)
    }

    /// The field above ground.
    pub fn above_ground<'b>(&'b self, ground: &'b Ground) -> Box<dyn Field + 'b> {
        self.field(self.term, &mut 0, ground, false)
    }

    /// Leaves are numbered in the order in which the profile lists them, here and in
    /// [`Term::leaves`].
    fn field<'b>(
        &'b self,
        term: &Term,
        next: &mut usize,
        ground: &'b Ground,
        amsl: bool,
    ) -> Box<dyn Field + 'b> {
        match term {
            Term::Lowest(terms) => Box::new(Lowest(
                terms
                    .iter()
                    .map(|term| self.field(term, next, ground, amsl))
                    .collect(),
            )),
            Term::Highest(terms) => Box::new(Highest(
                terms
                    .iter()
                    .map(|term| self.field(term, next, ground, amsl))
                    .collect(),
            )),
            Term::Cap { height, .. } => {
                let cap = CapAboveGround {
                    leaf: *next,
                    height: height.value_m.m(),
                };
                *next += 1;
                if amsl {
                    Box::new(CapAmsl { cap, ground })
                } else {
                    Box::new(cap)
                }
            }
            Term::Airspace { .. } => {
                let number = *next;
                *next += 1;
                match self.leaves.get(number).map(|leaf| &leaf.kind) {
                    Some(LeafKind::Airspace(airspace)) => Box::new(Floors {
                        leaf: number,
                        volumes: &airspace.volumes,
                        ground,
                        vertical: if amsl {
                            Vertical::Amsl
                        } else {
                            Vertical::AboveGround
                        },
                    }),
                    // As below.
                    _ => Box::new(Highest(Vec::new())),
                }
            }
            Term::Shield { .. } => {
                let number = *next;
                *next += 1;
                match self.leaves.get(number).map(|leaf| &leaf.kind) {
                    Some(LeafKind::Shield { shields, .. }) if amsl => Box::new(Borrowed(shields)),
                    Some(LeafKind::Shield { shields, .. }) => {
                        Box::new(ShieldsAboveGround { shields, ground })
                    }
                    // Cannot be: both walks are in the same order. Nothing allowed is the
                    // conservative reading.
                    _ => Box::new(Highest(Vec::new())),
                }
            }
        }
    }
}

/// Chooses as [`Lowest`] and [`Highest`] do: the first of the best.
fn of_term(term: &Term, next: &mut usize, value: &dyn Fn(usize) -> f64) -> (f64, usize) {
    let (terms, nothing, better): (_, _, fn(f64, f64) -> bool) = match term {
        Term::Lowest(terms) => (terms, f64::INFINITY, |best, value| value < best),
        Term::Highest(terms) => (terms, f64::NEG_INFINITY, |best, value| value > best),
        Term::Cap { .. } | Term::Shield { .. } | Term::Airspace { .. } => {
            let number = *next;
            *next += 1;
            return (value(number), number);
        }
    };
    let mut best: Option<(f64, usize)> = None;
    for term in terms {
        let found = of_term(term, next, value);
        if best.is_none_or(|(known, _)| better(known, found.0)) {
            best = Some(found);
        }
    }
    best.unwrap_or((nothing, usize::MAX))
}

/// A field borrowed as a field.
struct Borrowed<'a, F>(&'a F);

impl<F: Field> Field for Borrowed<'_, F> {
    fn at(&self, point: crate::frame::Xy) -> f64 {
        self.0.at(point)
    }

    fn over(&self, cell: &crate::field::Cell) -> crate::field::Enclosure {
        self.0.over(cell)
    }

    fn governor(&self, point: crate::frame::Xy) -> crate::field::Governor {
        self.0.governor(point)
    }
}

/// The pieces of the shields of a term, highest level first, and how many obstacles they are of.
fn pieces(
    nearby: &Nearby,
    plan: &Plan,
    reach: &Quantity,
    margin: &Quantity,
    taller_than: Option<&Quantity>,
    slack: f64,
) -> (Vec<Piece>, usize) {
    let mut shields = Vec::with_capacity(nearby.placed.len());
    for (member, placed) in nearby.placed.iter().enumerate() {
        let Ok(trusted) = &placed.trusted else {
            continue;
        };
        if taller_than.is_some_and(|least| trusted.above_base <= least.value_m.m()) {
            continue;
        }
        // Tightest position: the obstacle may stand farther away by its horizontal accuracy, and its
        // edges by how they are laid out.
        let spread = placed.record.horizontal_accuracy.m().max(0.0) + placed.layout_error_m();
        let reach = reach.value_m.m() - spread - slack;
        if reach < 0.0 || placed.for_cover().is_empty() || !placed.covers_within(reach, plan) {
            continue;
        }
        shields.push((trusted.level - margin.value_m.m(), reach, member, placed));
    }
    // Pieces are large, so they are made in the order that they are wanted in.
    shields.sort_by(|one, other| other.0.total_cmp(&one.0));
    let sets = shields.iter().map(|(_, _, _, placed)| placed.for_cover());
    let mut pieces = Vec::with_capacity(sets.map(|sets| sets.len()).sum());
    for (level, reach, member, placed) in &shields {
        pieces.extend(placed.for_cover().iter().map(|set| Piece {
            shape: set.clone(),
            reach: *reach,
            level: *level,
            member: *member,
        }));
    }
    (pieces, shields.len())
}
