//! Sets of time: spells in order and apart, each from an instant up to, and without, another.

use jiff::Timestamp;

/// From an instant up to, and without, another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// Its first instant.
    pub from: Timestamp,
    /// The first instant after it.
    pub to: Timestamp,
}

impl Span {
    /// How long it is, whole minutes, rounded down.
    #[must_use]
    pub fn minutes(self) -> i64 {
        self.to.duration_since(self.from).as_mins()
    }
}

/// A set of time: spans in order, none empty, none touching the next.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spans(Vec<Span>);

impl Spans {
    /// One span, or nothing when it would be empty.
    #[must_use]
    pub fn one(from: Timestamp, to: Timestamp) -> Self {
        Self::of([Span { from, to }])
    }

    /// The union of spans in any order.
    #[must_use]
    pub fn of(spans: impl IntoIterator<Item = Span>) -> Self {
        let mut all: Vec<Span> = spans
            .into_iter()
            .filter(|span| span.from < span.to)
            .collect();
        all.sort_unstable();
        let mut joined: Vec<Span> = Vec::with_capacity(all.len());
        for span in all {
            match joined.last_mut() {
                Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
                _ => joined.push(span),
            }
        }
        Self(joined)
    }

    /// What is in either.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        Self::of(self.0.iter().chain(&other.0).copied())
    }

    /// What is in both.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        Self::of(self.0.iter().flat_map(|a| {
            other.0.iter().map(|b| Span {
                from: a.from.max(b.from),
                to: a.to.min(b.to),
            })
        }))
    }

    /// What is in this and not in the other.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        let mut left = Vec::new();
        for span in &self.0 {
            let mut from = span.from;
            for taken in &other.0 {
                if taken.to <= from || taken.from >= span.to {
                    continue;
                }
                left.push(Span {
                    from,
                    to: taken.from,
                });
                from = taken.to;
            }
            left.push(Span { from, to: span.to });
        }
        Self::of(left)
    }

    /// The spans in order.
    pub fn iter(&self) -> impl Iterator<Item = Span> + '_ {
        self.0.iter().copied()
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether an instant is in it.
    #[must_use]
    pub fn contains(&self, at: Timestamp) -> bool {
        self.0.iter().any(|span| span.from <= at && at < span.to)
    }

    /// How long it is altogether, whole minutes, each span rounded down.
    #[must_use]
    pub fn minutes(&self) -> i64 {
        self.0.iter().map(|span| span.minutes()).sum()
    }
}
