//! The algebra of fields: `Lowest`, `Highest` and `Inside` a zone.
//!
//! Enclosures combine by the same operations as values, so a combination keeps the four laws when
//! its parts do.

use crate::field::{Cell, Enclosure, Field, Governor};
use crate::frame::Xy;

/// The least of several limits: all of them apply. `+∞` for none.
pub struct Lowest<'a>(pub Vec<Box<dyn Field + 'a>>);

impl Field for Lowest<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.0
            .iter()
            .map(|field| field.at(point))
            .fold(f64::INFINITY, f64::min)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let mut all = Enclosure::exactly(f64::INFINITY);
        for field in &self.0 {
            let one = field.over(cell);
            all.low = all.low.min(one.low);
            all.determined_low = all.determined_low.min(one.determined_low);
            all.high = all.high.min(one.high);
        }
        if all.high == f64::NEG_INFINITY {
            Enclosure::UNDETERMINED
        } else {
            all
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        chosen(&self.0, point, |best, value| value < best)
    }
}

/// The greatest of several limits: the best of them serves. `−∞` for none.
pub struct Highest<'a>(pub Vec<Box<dyn Field + 'a>>);

impl Field for Highest<'_> {
    fn at(&self, point: Xy) -> f64 {
        self.0
            .iter()
            .map(|field| field.at(point))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        let mut all = Enclosure::UNDETERMINED;
        for field in &self.0 {
            let one = field.over(cell);
            all.low = all.low.max(one.low);
            all.determined_low = all.determined_low.min(one.determined_low);
            all.high = all.high.max(one.high);
        }
        // Where one part is determined all over the cell, the value is nowhere below it.
        if all.low > f64::NEG_INFINITY {
            all.determined_low = all.low;
        }
        all
    }

    fn governor(&self, point: Xy) -> Governor {
        chosen(&self.0, point, |best, value| value > best)
    }
}

/// The first of the fields whose value at the point is best.
fn chosen(
    fields: &[Box<dyn Field + '_>],
    point: Xy,
    better: impl Fn(f64, f64) -> bool,
) -> Governor {
    let mut best: Option<(f64, &dyn Field)> = None;
    for field in fields {
        let value = field.at(point);
        if best.is_none_or(|(known, _)| better(known, value)) {
            best = Some((value, field.as_ref()));
        }
    }
    best.map_or(
        Governor {
            leaf: usize::MAX,
            member: None,
        },
        |(_, field)| field.governor(point),
    )
}

/// How a cell lies to a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Every point of the cell is in the zone.
    Inside,
    /// No point of the cell is in it.
    Outside,
    /// Some points may be in it and some may not.
    Unsure,
}

/// A region of the plane that a limit can be confined to. `Unsure` is always a correct answer.
pub trait Zone: Send + Sync {
    /// Whether a point is in the zone, its edge included.
    fn holds(&self, point: Xy) -> bool;

    /// How a cell lies to it.
    fn side(&self, cell: &Cell) -> Side;
}

/// A limit that applies inside a zone only; `+∞` outside. In doubt the limit is kept.
pub struct Inside<'a> {
    /// The zone.
    pub zone: Box<dyn Zone + 'a>,
    /// The limit inside it.
    pub field: Box<dyn Field + 'a>,
}

impl Field for Inside<'_> {
    fn at(&self, point: Xy) -> f64 {
        if self.zone.holds(point) {
            self.field.at(point)
        } else {
            f64::INFINITY
        }
    }

    fn over(&self, cell: &Cell) -> Enclosure {
        match self.zone.side(cell) {
            Side::Outside => Enclosure::exactly(f64::INFINITY),
            Side::Inside => self.field.over(cell),
            Side::Unsure => Enclosure {
                high: f64::INFINITY,
                ..self.field.over(cell)
            },
        }
    }

    fn governor(&self, point: Xy) -> Governor {
        self.field.governor(point)
    }
}
