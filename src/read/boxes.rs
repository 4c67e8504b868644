//! The box of a GeoJSON feature from its text, without building its geometry.
//!
//! Not here: whether the geometry is valid (see [`crate::read::shape`]).

use std::borrow::Cow;
use std::fmt;

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

use super::feature::Bounds;

/// What a glance at a feature tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boxed {
    /// The box of its geometry in the file's own coordinates.
    pub bounds: Bounds,
    /// Whether its geometry says that it is one line or several.
    pub is_line: bool,
}

/// The box of a feature's geometry; none where it has no geometry or one that cannot be read, which
/// a full parse then explains.
#[must_use]
pub fn bounds(feature: &str) -> Option<Boxed> {
    let boxed: BoxedFeature = serde_json::from_str(feature).ok()?;
    boxed
        .geometry
        .map(|geometry| geometry.0)
        .filter(|boxed| boxed.bounds.is_finite())
}

#[derive(Deserialize)]
struct BoxedFeature {
    #[serde(default)]
    geometry: Option<BoxedGeometry>,
}

struct BoxedGeometry(Boxed);

impl<'de> Deserialize<'de> for BoxedGeometry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        let mut boxed = Boxed {
            bounds: Bounds::EMPTY,
            is_line: false,
        };
        GeometryBounds(&mut boxed).deserialize(deserializer)?;
        Ok(Self(boxed))
    }
}

struct GeometryBounds<'b>(&'b mut Boxed);

impl<'de> DeserializeSeed<'de> for GeometryBounds<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(
        self,
        deserializer: D,
    ) -> std::result::Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for GeometryBounds<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a geometry")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> std::result::Result<(), A::Error> {
        while let Some(key) = members.next_key::<Cow<'de, str>>()? {
            match key.as_ref() {
                "coordinates" => {
                    members.next_value_seed(Coordinates(&mut self.0.bounds))?;
                }
                "geometries" => members.next_value_seed(Geometries(&mut *self.0))?,
                "type" => {
                    let kind = members.next_value::<Cow<'de, str>>()?;
                    self.0.is_line = kind.ends_with("LineString");
                }
                _ => {
                    members.next_value::<IgnoredAny>()?;
                }
            }
        }
        Ok(())
    }
}

struct Geometries<'b>(&'b mut Boxed);

impl<'de> DeserializeSeed<'de> for Geometries<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(
        self,
        deserializer: D,
    ) -> std::result::Result<(), D::Error> {
        deserializer.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Geometries<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of geometries")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut elements: A) -> std::result::Result<(), A::Error> {
        while elements
            .next_element_seed(GeometryBounds(&mut *self.0))?
            .is_some()
        {}
        Ok(())
    }
}

/// Visits coordinates of any depth; a position is an array that starts with two numbers.
struct Coordinates<'b>(&'b mut Bounds);

impl<'de> DeserializeSeed<'de> for Coordinates<'_> {
    type Value = Option<f64>;

    fn deserialize<D: Deserializer<'de>>(
        self,
        deserializer: D,
    ) -> std::result::Result<Option<f64>, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Coordinates<'_> {
    type Value = Option<f64>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number or an array")
    }

    fn visit_f64<E>(self, number: f64) -> std::result::Result<Option<f64>, E> {
        Ok(Some(number))
    }

    #[expect(clippy::cast_precision_loss, reason = "a coordinate, not a count")]
    fn visit_i64<E>(self, number: i64) -> std::result::Result<Option<f64>, E> {
        Ok(Some(number as f64))
    }

    #[expect(clippy::cast_precision_loss, reason = "a coordinate, not a count")]
    fn visit_u64<E>(self, number: u64) -> std::result::Result<Option<f64>, E> {
        Ok(Some(number as f64))
    }

    fn visit_seq<A: SeqAccess<'de>>(
        self,
        mut elements: A,
    ) -> std::result::Result<Option<f64>, A::Error> {
        let mut position = [f64::NAN; 2];
        let mut count = 0;
        while let Some(element) = elements.next_element_seed(Coordinates(&mut *self.0))? {
            if let (Some(number), Some(slot)) = (element, position.get_mut(count)) {
                *slot = number;
            }
            count += 1;
        }
        if position.iter().all(|number| number.is_finite()) {
            self.0.add(position[0], position[1]);
        }
        Ok(None)
    }
}
