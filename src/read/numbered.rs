//! Values that many records share, each with a number.
//!
//! Not here: what shares them (see [`crate::read::packed`]).

use std::collections::HashMap;

/// Values that many records share, by number.
#[derive(Clone, Debug)]
pub struct Numbered<T> {
    values: Vec<T>,
    numbers: HashMap<T, u16>,
    /// The number asked for last, which is often asked for again.
    last: u16,
}

impl<T> Default for Numbered<T> {
    fn default() -> Self {
        Self {
            values: Vec::new(),
            numbers: HashMap::new(),
            last: 0,
        }
    }
}

impl<T: Clone + Eq + std::hash::Hash> Numbered<T> {
    /// The number of a value; none when there is no number left for it.
    pub fn number<Q>(&mut self, value: &Q, own: impl Fn(&Q) -> T) -> Option<u16>
    where
        Q: ?Sized + Eq + std::hash::Hash,
        T: std::borrow::Borrow<Q>,
    {
        if (self.value(self.last)).is_some_and(|known| known.borrow() == value) {
            return Some(self.last);
        }
        let number = match self.numbers.get(value) {
            Some(number) => *number,
            None => {
                let number = u16::try_from(self.values.len()).ok()?;
                self.values.push(own(value));
                self.numbers.insert(own(value), number);
                number
            }
        };
        self.last = number;
        Some(number)
    }

    /// The value of a number.
    pub fn value(&self, number: u16) -> Option<&T> {
        self.values.get(usize::from(number))
    }
}
