//! Airspace layer to records: outlines with limits, class, authority and hours.
//!
//! The same for every format; AIXM comes here as features with our attributes (see
//! [`crate::read::aixm`]). What is missing or unclear is a caution, and makes a volume larger or its
//! height undetermined, never smaller.

use geo::{BoundingRect, Coord, Geometry, LineString, MultiPolygon, Polygon};

use super::declaration::Declaration;
use super::feature::Feature;
use super::height::{self, LengthUnit, Reading};
use super::layer::VectorLayer;
use crate::airspace::limit::Stated;
use crate::airspace::{End, Limit, Volume};
use crate::error::Cautions;
use crate::frame::longitude_step;
use crate::site::FeatureRef;
use crate::units::Metres;

/// The effect of a feature that is no volume.
const LEFT_OUT: &str = "the feature is left out; it may lie over the area";

/// The attribute that says how far the true outline may be from its edges as drawn, metres; it comes
/// on top of the accuracy of positions.
pub const OUTLINE_WITHIN: &str = "outline_within_m";

/// The geoid is nowhere farther from the ellipsoid than this, metres (from memory: −107 to +86 m).
const MOST_SEPARATION_M: f64 = 120.0;

/// The volumes of a layer.
pub fn volumes(
    layer: &VectorLayer,
    declaration: &Declaration,
    cautions: &mut Cautions,
) -> Vec<Volume> {
    let reader = Reader { layer, declaration };
    layer
        .features
        .iter()
        .filter_map(|feature| match reader.outline(feature) {
            Ok(polygons) => Some(reader.volume(feature, polygons, cautions)),
            Err(defect) => {
                cautions.feature(&layer.file, &feature.label, defect, LEFT_OUT);
                None
            }
        })
        .collect()
}

struct Reader<'a> {
    layer: &'a VectorLayer,
    declaration: &'a Declaration,
}

impl Reader<'_> {
    /// The value of one of our attributes: from the name that `layers.toml` gives, or else from
    /// `defaults`.
    fn text(&self, feature: &Feature, ours: &str, defaults: &[&str]) -> Option<String> {
        match self.declaration.attributes.get(ours) {
            Some(theirs) => feature.text(&[theirs]),
            None => feature.text(defaults),
        }
    }

    fn outline(&self, feature: &Feature) -> Result<MultiPolygon<f64>, &'static str> {
        let polygons = match &feature.geometry {
            Some(Geometry::Polygon(polygon)) => MultiPolygon(vec![polygon.clone()]),
            Some(Geometry::MultiPolygon(polygons)) => polygons.clone(),
            Some(_) => return Err("is no polygon"),
            None => return Err("has no outline"),
        };
        let is_flat = |polygon: &Polygon<f64>| {
            polygon.exterior().0.len() < 4
                || polygon
                    .bounding_rect()
                    .is_none_or(|rect| rect.width() <= 0.0 || rect.height() <= 0.0)
        };
        if polygons
            .iter()
            .any(|polygon| goes_round_a_pole(polygon.exterior()))
        {
            return Err("has an outline that goes round a pole");
        }
        if polygons.0.is_empty() || polygons.iter().any(is_flat) {
            return Err("has an outline without an area");
        }
        Ok(polygons)
    }

    fn volume(
        &self,
        feature: &Feature,
        polygons: MultiPolygon<f64>,
        cautions: &mut Cautions,
    ) -> Volume {
        let file = self.layer.file.as_str();
        let separation = self.separation(feature, cautions);
        let lower = self.limit(feature, End::Lower, separation);
        let upper = self.limit(feature, End::Upper, separation);
        for (limit, what, effect) in [
            (
                &lower,
                "a lower",
                "whether the area reaches it in height is undetermined",
            ),
            (&upper, "an upper", "it is taken as having no upper limit"),
        ] {
            if let Some(why) = limit.defect() {
                let defect = format!("has {what} limit that {why}");
                cautions.feature(file, &feature.label, &defect, effect);
            }
        }
        Volume {
            source: FeatureRef {
                file: file.into(),
                feature: feature.label.as_ref().into(),
            },
            ident: self.text(feature, "ident", &["ident", "designator", "id"]),
            name: self.text(feature, "name", &["name"]),
            class: self.text(feature, "class", &["class"]),
            kind: self.text(feature, "kind", &["kind", "type"]),
            authority: self.text(feature, "authority", &["authority", "controlled_by"]),
            hours: self.text(feature, "hours", &["hours", "opening_hours"]),
            zone: self.text(feature, "tz", &["tz", "timezone"]),
            polygons,
            horizontal_accuracy: self.accuracy(feature, cautions),
            lower,
            upper,
        }
    }

    fn limit(&self, feature: &Feature, end: End, separation: Option<Metres>) -> Limit {
        let side = match end {
            End::Lower => "lower",
            End::Upper => "upper",
        };
        let part = |what: &str, other: &str| {
            self.text(
                feature,
                &format!("{side}_{what}"),
                &[&format!("{side}_{what}"), &format!("{side}_{other}")],
            )
        };
        let value = part("limit", "limit");
        let unit = part("unit", "uom").or_else(|| {
            let is_bare = value
                .as_deref()
                .is_some_and(|value| value.parse::<f64>().is_ok());
            let declared = self.declaration.height_unit.filter(|_| is_bare)?;
            Some(
                match declared {
                    LengthUnit::Metre => "M",
                    LengthUnit::Foot => "FT",
                }
                .to_owned(),
            )
        });
        let reference = part("reference", "ref");
        Limit::read(
            end,
            Stated {
                value: value.as_deref(),
                unit: unit.as_deref(),
                reference: reference.as_deref(),
                geoid_separation: separation,
            },
        )
    }

    /// How far the geoid is above the ellipsoid, where the feature says so.
    fn separation(&self, feature: &Feature, cautions: &mut Cautions) -> Option<Metres> {
        match self.metres(feature, "geoid_separation") {
            Reading::Missing => None,
            Reading::Metres(metres) if metres.abs() <= MOST_SEPARATION_M => {
                Some(Metres::of(metres))
            }
            _ => {
                cautions.feature(
                    &self.layer.file,
                    &feature.label,
                    "has a geoid separation that is unclear",
                    "it is left out",
                );
                None
            }
        }
    }

    fn accuracy(&self, feature: &Feature, cautions: &mut Cautions) -> Metres {
        let declared = self
            .declaration
            .horizontal_accuracy()
            .unwrap_or(Metres::ZERO);
        let stated = match self.metres(feature, "horizontal_accuracy") {
            Reading::Missing => declared,
            Reading::Metres(metres) if (0.0..=MOST_ACCURACY_M).contains(&metres) => {
                Metres::of(metres)
            }
            _ => {
                cautions.feature(
                    &self.layer.file,
                    &feature.label,
                    "has a horizontal accuracy that is unclear",
                    "that of the layer is taken",
                );
                declared
            }
        };
        let drawn = feature
            .number(&[OUTLINE_WITHIN])
            .filter(|metres| (0.0..=MOST_ACCURACY_M).contains(metres));
        stated + feature.datum_accuracy + Metres::of(drawn.unwrap_or(0.0))
    }

    fn metres(&self, feature: &Feature, ours: &str) -> Reading {
        let default = format!("{ours}_m");
        let theirs = self
            .declaration
            .attributes
            .get(ours)
            .map_or(default.as_str(), String::as_str);
        feature
            .property(&[theirs])
            .map_or(Reading::Missing, |value| {
                height::reading(value, LengthUnit::Metre)
            })
    }
}

/// A larger number is a slip of the unit, metres.
const MOST_ACCURACY_M: f64 = 10_000.0;

/// Whether the longitudes of a ring, run on the short way round, do not come back to their start.
fn goes_round_a_pole(ring: &LineString<f64>) -> bool {
    let turned: f64 = ring
        .0
        .windows(2)
        .map(|pair| match pair {
            [Coord { x: from, .. }, Coord { x: to, .. }] => longitude_step(*from, *to),
            _ => 0.0,
        })
        .sum();
    turned.abs() > 180.0
}
