//! One feature of a vector layer as read: label, properties and geometry in WGS 84.
//!
//! The same for every reader. Not here: what its properties mean (see [`crate::read`]).

use std::borrow::Cow;

use super::properties::{Properties, Value};
use crate::units::Metres;

/// One feature of a vector layer.
#[derive(Clone, Debug)]
pub struct Feature<'a> {
    /// Its id as text, or `#3` for the third feature of a file without ids.
    pub label: Cow<'a, str>,
    /// Whether it touches what is near; false where it was wanted besides.
    pub is_near: bool,
    /// What the change of datum at its place adds to the horizontal accuracy.
    pub datum_accuracy: Metres,
    /// Its properties.
    pub properties: Properties<'a>,
    /// Its geometry in WGS 84 longitude (x) and latitude (y), degrees; none where it has none.
    pub geometry: Option<geo::Geometry<f64>>,
}

impl<'a> Feature<'a> {
    /// A feature that is near, in WGS 84 from the start.
    #[must_use]
    pub fn new(
        label: impl Into<Cow<'a, str>>,
        properties: impl Into<Properties<'a>>,
        geometry: Option<geo::Geometry<f64>>,
    ) -> Self {
        Self {
            label: label.into(),
            is_near: true,
            datum_accuracy: Metres::ZERO,
            properties: properties.into(),
            geometry,
        }
    }

    /// The same without the text that it came from.
    #[must_use]
    pub fn into_owned(self) -> Feature<'static> {
        Feature {
            label: Cow::Owned(self.label.into_owned()),
            is_near: self.is_near,
            datum_accuracy: self.datum_accuracy,
            properties: self.properties.into_owned(),
            geometry: self.geometry,
        }
    }

    /// The first property of these names that is there and not null, whatever the case of letters.
    #[must_use]
    pub fn property(&self, names: &[&str]) -> Option<Value<'_>> {
        names.iter().find_map(|name| {
            self.properties
                .named(name)
                .filter(|value| *value != Value::Null)
        })
    }

    /// A property as text: text itself trimmed, numbers and booleans written out; none when empty.
    #[must_use]
    pub fn words(&self, names: &[&str]) -> Option<Cow<'_, str>> {
        self.property(names)?.text()
    }

    /// The same, owned.
    #[must_use]
    pub fn text(&self, names: &[&str]) -> Option<String> {
        self.words(names).map(Cow::into_owned)
    }

    /// A property as a finite number, also where it is written as text.
    #[must_use]
    pub fn number(&self, names: &[&str]) -> Option<f64> {
        let number = match self.property(names)? {
            Value::Number(number) => number.as_f64()?,
            Value::Text(text) => text.trim().parse().ok()?,
            _ => return None,
        };
        number.is_finite().then_some(number)
    }

    /// A property as yes or no: booleans, 1 and 0, yes and no.
    #[must_use]
    pub fn flag(&self, names: &[&str]) -> Option<bool> {
        match self.words(names)?.to_lowercase().as_str() {
            "true" | "yes" | "y" | "1" | "t" => Some(true),
            "false" | "no" | "n" | "0" | "f" => Some(false),
            _ => None,
        }
    }
}

/// The label of a feature: its id, else its `@id` property, else its place in the file from 1.
#[must_use]
pub fn label(id: Option<&geojson::feature::Id>, at_id: Option<&str>, index: usize) -> String {
    match (id, at_id) {
        (Some(geojson::feature::Id::String(text)), _) => text.clone(),
        (Some(geojson::feature::Id::Number(number)), _) => number.to_string(),
        (None, Some(text)) => text.to_owned(),
        (None, None) => format!("#{}", index + 1),
    }
}

/// A box in the coordinates of a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Least x.
    pub west: f64,
    /// Least y.
    pub south: f64,
    /// Greatest x.
    pub east: f64,
    /// Greatest y.
    pub north: f64,
}

impl Bounds {
    /// The box of nothing.
    pub const EMPTY: Self = Self {
        west: f64::INFINITY,
        south: f64::INFINITY,
        east: f64::NEG_INFINITY,
        north: f64::NEG_INFINITY,
    };

    /// Widens the box to hold a position.
    pub fn add(&mut self, x: f64, y: f64) {
        self.west = self.west.min(x);
        self.south = self.south.min(y);
        self.east = self.east.max(x);
        self.north = self.north.max(y);
    }

    /// The same box, wider on each side by a share of its longer side.
    #[must_use]
    pub fn padded(&self, share: f64) -> Self {
        let padding = share * (self.east - self.west).max(self.north - self.south);
        Self {
            west: self.west - padding,
            south: self.south - padding,
            east: self.east + padding,
            north: self.north + padding,
        }
    }

    /// Whether it holds anything, and only finite numbers.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.west <= self.east
            && self.south <= self.north
            && [self.west, self.south, self.east, self.north]
                .iter()
                .all(|value| value.is_finite())
    }
}
