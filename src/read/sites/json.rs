//! Sites from GeoJSON: a collection (RFC 7946), one feature a line, or a sequence of records (RFC
//! 8142), told apart by their beginning.
//!
//! Not here: other formats.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use super::properties::{self, Named};
use super::split::{Found, RECORD_SEPARATOR, Source};
use super::{RawSite, SiteOptions, Sites};
use crate::error::{Error, Result};
use crate::read::crs::Crs;
use crate::read::feature::Feature;
use crate::read::positions::Positions;
use crate::read::properties::{Member, Properties, Value};
use crate::read::scan::Scanner;
use crate::read::{geojson as layer, shape};

/// How much of a file is held at a time, bytes.
const BUFFER_BYTES: usize = 1 << 18;

/// How features follow one another in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Framing {
    /// In the array `features` of one object.
    Collection,
    /// One feature, or one geometry, is all.
    Single,
    /// One to a line.
    Lines,
    /// After record separators.
    Records,
}

type Input = Source<BufReader<File>>;

fn open(path: &Path) -> Result<Input> {
    let file = File::open(path).map_err(|why| {
        Error::new(
            format!("cannot be read ({why})"),
            "check that it may be read",
        )
    })?;
    Source::new(BufReader::with_capacity(BUFFER_BYTES, file))
}

/// How the features of a file follow one another, and the coordinate reference system that it
/// declares before them.
///
/// # Errors
/// A file that is not GeoJSON by its beginning.
pub fn framing(path: &Path, extension: &str) -> Result<(Framing, Option<String>)> {
    let mut source = open(path)?;
    match source.peek_past_space()? {
        None => return Err(Error::new("is empty", "export it again")),
        Some(RECORD_SEPARATOR) => return Ok((Framing::Records, None)),
        Some(_) if !matches!(extension, "geojson" | "json") => return Ok((Framing::Lines, None)),
        Some(b'{') => {}
        Some(_) => return Err(not_geojson("the top level is not an object")),
    }
    let mut top = Top::default();
    if top.members_before_features(&mut source)? {
        return Ok((Framing::Collection, top.crs()?));
    }
    // One object without features: alone, or the first of many lines.
    let kind = top.kind.as_deref().unwrap_or_default();
    if source.peek_past_space()?.is_some() {
        return match kind {
            "Feature" => Ok((Framing::Lines, None)),
            _ => Err(not_geojson(
                "something follows the first object, which is no feature",
            )),
        };
    }
    match top.kind.as_deref() {
        Some("FeatureCollection") => Err(not_geojson("the FeatureCollection has no \"features\"")),
        Some(kind) if kind == "Feature" || shape::GEOMETRY_TYPES.contains(&kind) => {
            Ok((Framing::Single, top.crs()?))
        }
        Some(other) => Err(not_geojson(&format!("its type is \"{other}\""))),
        None => Err(not_geojson("the top level has no \"type\"")),
    }
}

fn not_geojson(why: &str) -> Error {
    Error::new(
        format!("is not GeoJSON: {why}"),
        "export it as a GeoJSON FeatureCollection, or one feature a line",
    )
}

/// The members of the top level, as far as they were read.
#[derive(Default)]
struct Top {
    kind: Option<String>,
    crs: Option<Vec<u8>>,
    text: Vec<u8>,
}

impl Top {
    /// Reads from the opening brace up to the first feature; false when the object ends before.
    fn members_before_features(&mut self, source: &mut Input) -> Result<bool> {
        source.expect(b'{')?;
        if source.peek_past_space()? == Some(b'}') {
            source.consume(1);
            return Ok(false);
        }
        self.members(source, true)
    }

    /// Reads members up to `features` or the closing brace.
    fn members(&mut self, source: &mut Input, stop_at_features: bool) -> Result<bool> {
        loop {
            if source.peek_past_space()? != Some(b'"') {
                let found = source.peek()?;
                return Err(source.unexpected(found, '"'));
            }
            source.value(&mut self.text)?;
            let name: String = serde_json::from_slice(&self.text).unwrap_or_default();
            source.expect(b':')?;
            let next = source.peek_past_space()?;
            match (name.as_str(), next) {
                ("features", Some(b'[')) if stop_at_features => {
                    source.consume(1);
                    return Ok(true);
                }
                ("features", _) => {
                    return Err(not_geojson("\"features\" is not one array"));
                }
                _ => {}
            }
            source.value(&mut self.text)?;
            match name.as_str() {
                "type" => self.kind = serde_json::from_slice(&self.text).ok(),
                "crs" => self.crs = Some(self.text.clone()),
                _ => {}
            }
            match source.peek_past_space()? {
                Some(b',') => source.consume(1),
                Some(b'}') => {
                    source.consume(1);
                    return Ok(false);
                }
                found => return Err(source.unexpected(found, '}')),
            }
        }
    }

    /// Reads what follows the features: other members, the closing brace, and nothing else.
    fn rest(&mut self, source: &mut Input) -> Result<()> {
        match source.peek_past_space()? {
            Some(b',') => {
                source.consume(1);
                self.members(source, false)?;
            }
            Some(b'}') => source.consume(1),
            found => return Err(source.unexpected(found, '}')),
        }
        if source.peek_past_space()?.is_some() {
            return Err(Error::new(
                format!("goes on behind its last brace (byte {})", source.offset()),
                "export it as one FeatureCollection",
            ));
        }
        match self.kind.as_deref() {
            Some("FeatureCollection") => Ok(()),
            Some(other) => Err(not_geojson(&format!("its type is \"{other}\""))),
            None => Err(not_geojson("the top level has no \"type\"")),
        }
    }

    fn crs(&self) -> Result<Option<String>> {
        match &self.crs {
            Some(member) => layer::legacy_crs(&String::from_utf8_lossy(member)),
            None => Ok(None),
        }
    }
}

/// The features of a file.
///
/// # Errors
/// A file that cannot be opened.
pub fn sites(path: &Path, framing: Framing) -> Result<Box<dyn Sites>> {
    let mut source = open(path)?;
    Ok(match framing {
        Framing::Collection => {
            let mut top = Top::default();
            top.members_before_features(&mut source)?;
            Box::new(Collection {
                source,
                late: None,
                has_crs: top.crs.is_some(),
                top,
                state: State::First,
            })
        }
        Framing::Single => Box::new(Single {
            source: Some(source),
        }),
        Framing::Lines => Box::new(Pieces {
            source,
            stop: b'\n',
        }),
        Framing::Records => Box::new(Pieces {
            source,
            stop: RECORD_SEPARATOR,
        }),
    })
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    First,
    Later,
    End,
}

struct Collection {
    source: Input,
    top: Top,
    state: State,
    has_crs: bool,
    late: Option<String>,
}

impl Sites for Collection {
    fn next(&mut self) -> Result<Option<RawSite>> {
        let at = match self.state {
            State::End => return Ok(None),
            State::First => self.source.peek_past_space()?,
            State::Later => match self.source.peek_past_space()? {
                Some(b',') => {
                    self.source.consume(1);
                    // A comma before the closing bracket is no JSON, and nothing is lost by it.
                    self.source.peek_past_space()?
                }
                Some(b']') => Some(b']'),
                found => return Err(self.source.unexpected(found, ',')),
            },
        };
        if at == Some(b']') {
            self.source.consume(1);
            self.state = State::End;
            self.top.rest(&mut self.source)?;
            if !self.has_crs {
                self.late = self.top.crs()?;
            }
            return Ok(None);
        }
        self.state = State::Later;
        let before = self.source.offset();
        let mut text = Vec::new();
        let found = self.source.value(&mut text)?;
        if self.source.offset() == before {
            let byte = self.source.peek()?;
            return Err(self.source.unexpected(byte, '{'));
        }
        Ok(Some(raw(found, text)))
    }

    fn late_crs(&self) -> Option<&str> {
        self.late.as_deref()
    }
}

struct Single {
    source: Option<Input>,
}

impl Sites for Single {
    fn next(&mut self) -> Result<Option<RawSite>> {
        let Some(mut source) = self.source.take() else {
            return Ok(None);
        };
        source.peek_past_space()?;
        let mut text = Vec::new();
        let found = source.value(&mut text)?;
        Ok(Some(raw(found, text)))
    }
}

struct Pieces {
    source: Input,
    stop: u8,
}

impl Sites for Pieces {
    fn next(&mut self) -> Result<Option<RawSite>> {
        loop {
            let mut text = Vec::new();
            let Some(found) = self.source.up_to(self.stop, &mut text)? else {
                return Ok(None);
            };
            if found == Found::TooLong || !text.trim_ascii().is_empty() {
                return Ok(Some(raw(found, text)));
            }
        }
    }
}

fn raw(found: Found, text: Vec<u8>) -> RawSite {
    match found {
        Found::Whole => RawSite::Text(text),
        Found::TooLong => RawSite::Broken(None, "is longer than 64 MiB".to_owned()),
    }
}

/// One feature from its text, its geometry brought to WGS 84; `members` is room for its properties.
///
/// # Errors
/// Its identifier, if it has one, and what is wrong with it, as a phrase.
pub fn feature<'a, 'b: 'a>(
    text: &'b [u8],
    members: &'a mut Vec<Member<'b>>,
    crs: &Crs,
    options: &SiteOptions,
) -> std::result::Result<Named<'a>, (Option<String>, String)> {
    let Ok(text) = std::str::from_utf8(text) else {
        return Err((None, "is not UTF-8 text".to_owned()));
    };
    let text = text.trim_matches([' ', '\t', '\r', '\n', '\u{1E}']);
    let named = options.id.as_deref();
    if let Some(found) = scanned(text, members, crs, named) {
        return Ok(found);
    }
    let parsed: geojson::Feature = match serde_json::from_str(text) {
        Ok(feature) => feature,
        Err(error) => return bare_geometry(text, crs).ok_or_else(|| fault(text, named, &error)),
    };
    let properties = Properties::from(parsed.properties.unwrap_or_default());
    let own = parsed.id.map(|id| match id {
        geojson::feature::Id::String(text) => Value::Text(text.into()),
        geojson::feature::Id::Number(number) => Value::Number(number),
    });
    let id = properties::id(&properties, own, named);
    let geometry = match parsed.geometry {
        None => None,
        Some(geometry) => match shape::to_geo(&geometry.value, crs) {
            Ok(geometry) => Some(geometry),
            Err(defect) => return Err((id, defect)),
        },
    };
    Ok(Named {
        feature: Feature::new("", properties, geometry),
        id,
    })
}

/// A feature from one scan of its text; none where only the plain parser can judge it.
fn scanned<'a, 'b: 'a>(
    text: &'b str,
    members: &'a mut Vec<Member<'b>>,
    crs: &Crs,
    named: Option<&str>,
) -> Option<Named<'a>> {
    let mut positions = Positions::default();
    let mut scanner = Scanner::new(text, 0);
    let glance = scanner.feature(&mut positions, members).ok()?;
    if scanner.at() < text.len() {
        return None;
    }
    let feature = layer::scanned(&glance, members, &positions, Some(0), crs)?;
    let own = glance.id.map(|_| Value::Text(feature.label.clone()));
    Some(Named {
        id: properties::id(&feature.properties, own, named),
        feature,
    })
}

/// A geometry that stands where a feature does.
fn bare_geometry(text: &str, crs: &Crs) -> Option<Named<'static>> {
    let geometry: geojson::Geometry = serde_json::from_str(text).ok()?;
    let geometry = shape::to_geo(&geometry.value, crs).ok()?;
    Some(Named {
        id: None,
        feature: Feature::new("", Properties::default(), Some(geometry)),
    })
}

/// What is wrong with a feature that the `geojson` crate refuses.
fn fault(text: &str, named: Option<&str>, error: &serde_json::Error) -> (Option<String>, String) {
    let Ok(value) = serde_json::from_str::<serde_json::Value>(text) else {
        return (None, layer::json_error(text, error).cause().to_owned());
    };
    let properties = value.get("properties").and_then(|it| it.as_object());
    let properties = Properties::from(properties.cloned().unwrap_or_default());
    let id = properties::id(&properties, value.get("id").map(Value::from), named);
    (id, layer::feature_fault(&value, error))
}
