//! GeoJSON (RFC 7946) text to features, fast: split first, then parse what is near.
//!
//! The file is read once and checked to be JSON while its features are split into slices of text;
//! their boxes are found without allocating ([`crate::read::boxes`]), and only a feature whose box
//! touches the window is parsed whole, by the `geojson` crate. Not here: what features mean (see
//! [`crate::read`]).

use std::borrow::Cow;
use std::path::Path;

use geojson::JsonObject;
use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::value::RawValue;

use super::feature::{Feature, label};
use super::positions::Positions;
use super::properties::{Member, Properties, Value, within_quotes};
use super::scan::Glance;
use super::shape;
use crate::error::{Error, Result};
use crate::read::crs::Crs;

/// The text of a file, checked to be UTF-8 and not empty, without its byte order mark.
///
/// # Errors
/// A missing file, a folder, an empty file, or an encoding other than UTF-8.
pub fn text(path: &Path) -> Result<String> {
    let fault = |cause: String, remedy: &str| Err(Error::new(cause, remedy).in_file(path));
    match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return fault("does not exist".to_owned(), "check the path");
        }
        Ok(metadata) if metadata.is_dir() => {
            return fault(
                "is a folder, not a file".to_owned(),
                "name the file inside it",
            );
        }
        _ => {}
    }
    let bytes = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            return fault(
                format!("cannot be read ({error})"),
                "check that it may be read",
            );
        }
    };
    let looks_like_utf16 = matches!(
        bytes.get(..2),
        Some([0xFF, 0xFE] | [0xFE, 0xFF] | [0, 1..=255] | [1..=255, 0])
    );
    if looks_like_utf16 {
        return fault("is UTF-16 text".to_owned(), "save it as UTF-8");
    }
    let mut text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let byte = error.as_bytes().get(at).copied().unwrap_or_default();
            return fault(
                format!("is not UTF-8 text (byte 0x{byte:02X} at offset {at})"),
                "save it as UTF-8",
            );
        }
    };
    if text.starts_with('\u{FEFF}') {
        text.drain(..'\u{FEFF}'.len_utf8());
    }
    if text.trim_start().is_empty() {
        return fault("is empty".to_owned(), "export it again");
    }
    Ok(text)
}

/// A GeoJSON document split into the text of its features.
#[derive(Debug)]
pub struct Document<'a> {
    /// The text of each feature, in the order of the file.
    pub features: Vec<Cow<'a, str>>,
    /// The coordinate reference system of the legacy `crs` member, if there is one.
    pub crs: Option<String>,
}

#[derive(Deserialize)]
struct Top<'a> {
    #[serde(rename = "type", borrow)]
    kind: Option<Cow<'a, str>>,
    #[serde(borrow, default)]
    features: Option<Vec<&'a RawValue>>,
    #[serde(borrow, default)]
    crs: Option<&'a RawValue>,
}

/// Splits the text of a document into features, and checks that all of it is JSON.
///
/// # Errors
/// Text that is not JSON (with line and column), or not GeoJSON.
pub fn document(text: &str) -> Result<Document<'_>> {
    let not_geojson = |why: &str| {
        Error::new(
            format!("is not GeoJSON: {why}"),
            "export it as a GeoJSON FeatureCollection",
        )
    };
    if !text.trim_start().starts_with('{') {
        // Also keeps serde from taking a top-level array for the members in order.
        return match serde_json::from_str::<IgnoredAny>(text) {
            Err(error) => Err(json_error(text, &error)),
            Ok(_) => Err(not_geojson("the top level is not an object")),
        };
    }
    let top: Top<'_> = serde_json::from_str(text).map_err(|error| json_error(text, &error))?;
    let features = match (top.kind.as_deref(), top.features) {
        (Some("FeatureCollection"), Some(features)) => features
            .into_iter()
            .map(|feature| Cow::Borrowed(feature.get()))
            .collect(),
        (Some("FeatureCollection"), None) => {
            return Err(not_geojson("the FeatureCollection has no \"features\""));
        }
        (Some("Feature"), _) => vec![Cow::Borrowed(text.trim())],
        (Some(geometry), _) if shape::GEOMETRY_TYPES.contains(&geometry) => vec![Cow::Owned(
            format!(r#"{{"type":"Feature","properties":{{}},"geometry":{text}}}"#),
        )],
        (Some(other), _) => {
            return Err(not_geojson(&format!("its type is \"{other}\"")));
        }
        (None, _) => return Err(not_geojson("the top level has no \"type\"")),
    };
    let crs = match top.crs {
        Some(member) => legacy_crs(member.get())?,
        None => None,
    };
    Ok(Document { features, crs })
}

/// The places of features in the file that they came from, counted from 1: the member
/// `feature_numbers` of a collection that was prepared.
///
/// # Errors
/// When it is not there, or does not have `count` numbers.
pub fn feature_numbers(text: &str, count: usize) -> Result<Vec<usize>> {
    #[derive(Deserialize)]
    struct Numbers {
        #[serde(default)]
        feature_numbers: Vec<usize>,
    }
    let numbers: Numbers = serde_json::from_str(text).map_err(|error| json_error(text, &error))?;
    if numbers.feature_numbers.len() == count {
        Ok(numbers.feature_numbers)
    } else {
        Err(Error::new(
            "does not number its features",
            "prepare the layers again: eaves prepare",
        ))
    }
}

/// The name in a legacy `crs` member (GeoJSON 2008, section 3).
///
/// # Errors
/// A member without a name.
pub fn legacy_crs(member: &str) -> Result<Option<String>> {
    let value: serde_json::Value =
        serde_json::from_str(member).map_err(|error| json_error(member, &error))?;
    if value.is_null() {
        return Ok(None);
    }
    match value
        .pointer("/properties/name")
        .and_then(|name| name.as_str())
    {
        Some(name) => Ok(Some(name.to_owned())),
        None => Err(Error::new(
            "its \"crs\" member has no name",
            "name the system as EPSG:..., or declare crs in layers.toml",
        )),
    }
}

/// An error of the JSON parser in our words, with line and column.
#[must_use]
pub fn json_error(text: &str, error: &serde_json::Error) -> Error {
    let place = format!("line {}, column {}", error.line(), error.column());
    let message = error.to_string();
    let words = message
        .split(" at line ")
        .next()
        .unwrap_or_default()
        .to_owned();
    if words.contains("recursion limit") {
        return Error::new(
            format!("is nested too deeply ({place})"),
            "GeoJSON needs no more than ten levels: export it again",
        );
    }
    // A number that is cut short at the end of the text is a fault of its syntax to the parser.
    let is_at_end = text.lines().count() <= error.line()
        && text
            .lines()
            .next_back()
            .is_some_and(|last| last.len() <= error.column());
    let is_cut_short = is_at_end && words == "invalid number";
    match error.classify() {
        _ if is_cut_short => truncated(&place),
        serde_json::error::Category::Eof => truncated(&place),
        serde_json::error::Category::Data => Error::new(
            format!("is not GeoJSON: {words} ({place})"),
            "export it as a GeoJSON FeatureCollection",
        ),
        serde_json::error::Category::Syntax | serde_json::error::Category::Io => {
            let line = text
                .lines()
                .nth(error.line().saturating_sub(1))
                .unwrap_or_default();
            let near = line
                .get(error.column().saturating_sub(2)..)
                .unwrap_or_default();
            let is_nan = ["NaN", "nan", "Infinity", "-Infinity", "inf"]
                .iter()
                .any(|word| {
                    near.starts_with(word) || near.get(1..).is_some_and(|n| n.starts_with(word))
                });
            if is_nan {
                return Error::new(
                    format!("has NaN or Infinity, which JSON does not allow ({place})"),
                    "remove or repair that feature",
                );
            }
            Error::new(
                format!("is not JSON: {words} ({place})"),
                "export it as GeoJSON again",
            )
        }
    }
}

fn truncated(place: &str) -> Error {
    Error::new(
        format!("ends too early ({place}): it is truncated"),
        "export or copy it again",
    )
}

/// Parses one feature whole, its geometry brought to WGS 84; `index` is its place in the file,
/// counted from 0.
///
/// # Errors
/// The feature's label and what is wrong with it, as a phrase.
pub fn feature(
    raw: &str,
    index: usize,
    crs: &Crs,
) -> std::result::Result<Feature<'static>, (String, String)> {
    let parsed: geojson::Feature = match serde_json::from_str(raw) {
        Ok(feature) => feature,
        Err(error) => return Err(fault(raw, index, &error)),
    };
    let properties = parsed.properties.unwrap_or_default();
    let label = label(parsed.id.as_ref(), at_id(&properties), index);
    let geometry = match parsed.geometry {
        None => None,
        Some(geometry) => match shape::to_geo(&geometry.value, crs) {
            Ok(geometry) => Some(geometry),
            Err(defect) => return Err((label, defect)),
        },
    };
    Ok(Feature::new(label, properties, geometry))
}

fn at_id(properties: &JsonObject) -> Option<&str> {
    properties.get("@id")?.as_str()
}

/// Parses a feature whose text was scanned, its geometry from the positions found there; none where
/// only [`feature`] can judge it, or its place in the file is its label and not known yet. The two
/// give the same.
#[must_use]
pub fn scanned<'a>(
    glance: &Glance<'a>,
    members: &'a [Member<'a>],
    positions: &Positions,
    index: Option<usize>,
    crs: &Crs,
) -> Option<Feature<'a>> {
    if glance.is_odd {
        return None;
    }
    let properties = Properties::new(members);
    let label = match glance.id {
        Some(id) => written_id(id)?,
        None => match properties.exactly("@id") {
            Some(Value::Text(text)) => Cow::Owned(text.into_owned()),
            _ => Cow::Owned(label(None, None, index?)),
        },
    };
    let geometry = match glance.kind {
        Some(kind) => Some(shape::from_positions(kind, positions, crs).ok()?),
        None => None,
    };
    Some(Feature::new(label, properties, geometry))
}

/// An id from its text; none where it is neither text nor a number.
fn written_id(text: &str) -> Option<Cow<'_, str>> {
    let plain = within_quotes(text).filter(|text| !text.as_bytes().contains(&b'\\'));
    if let Some(plain) = plain {
        return Some(Cow::Borrowed(plain));
    }
    let id = serde_json::from_str(text).ok()?;
    Some(Cow::Owned(label(Some(&id), None, 0)))
}

/// What is wrong with a feature that the `geojson` crate refuses.
fn fault(raw: &str, index: usize, error: &serde_json::Error) -> (String, String) {
    let Ok(value) = serde_json::from_str::<serde_json::Value>(raw) else {
        let label = format!("#{}", index + 1);
        return (label, json_error(raw, error).cause().to_owned());
    };
    let no_properties = JsonObject::new();
    let properties = value.get("properties").and_then(|p| p.as_object());
    let id = value.get("id").and_then(|id| match id {
        serde_json::Value::String(text) => Some(geojson::feature::Id::String(text.clone())),
        serde_json::Value::Number(number) => Some(geojson::feature::Id::Number(number.clone())),
        _ => None,
    });
    let at_id = at_id(properties.unwrap_or(&no_properties));
    let label = label(id.as_ref(), at_id, index);
    (label, feature_fault(&value, error))
}

/// What is wrong with a feature that is JSON and that the `geojson` crate refuses, as a phrase.
#[must_use]
pub fn feature_fault(feature: &serde_json::Value, error: &serde_json::Error) -> String {
    let words = error.to_string();
    let words = words.split(" at line ").next().unwrap_or_default();
    match feature.pointer("/geometry") {
        Some(geometry) => shape::fault(geometry).unwrap_or_else(|| words.to_owned()),
        None => words.to_owned(),
    }
}
