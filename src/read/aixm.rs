//! AIXM 5.1 and 5.1.1 airspace to features with our attributes.
//!
//! Read as far as plain polygons, circles and arcs go (see [`super::gml`]): each volume of a BASE or
//! UNION component of the baseline or snapshot becomes one feature, with its hours (`timesheet`)
//! and authority (`authority`) where the file holds them. The rest is named and skipped, never
//! guessed: corridors, outlines borrowed from other features, other time slices. A component that
//! takes something away (SUBTR, INTERS) is left out, which leaves the volume larger.
//! Encoding: AIXM 5.1.1 and "Use of GML for aviation data" (OGC 12-028r1; from memory).
//! Not here: what the attributes mean (see [`super::airspace`]).

mod authority;
mod timesheet;

use std::path::Path;

use authority::Authorities;
use geo::BoundingRect;

use geojson::JsonObject;
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;

use super::airspace::OUTLINE_WITHIN;
use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::Feature;
use super::gml;
use super::layer::VectorLayer;
use crate::error::{Error, Result};
use crate::units::{METRES_PER_FOOT, METRES_PER_NAUTICAL_MILE};
use timesheet::Hours;

/// The namespace of AIXM; 5.1.1 has `.1` after it.
const AIXM: &str = "http://www.aixm.aero/schema/5.1";

/// The most bytes of a file: larger ones would not fit in memory as a tree.
const MOST_BYTES: u64 = 512 * 1024 * 1024;

/// The most nodes of a tree.
const MOST_NODES: u32 = 40_000_000;

/// The deepest that elements may nest; AIXM itself stays below 30.
const DEEPEST: usize = 200;

/// What a component that takes something away comes to.
const TAKEN_WHOLE: &str = "the volume is taken without it, which is larger";

/// Whether the extension is one of AIXM's.
#[must_use]
pub fn is_aixm(path: &Path) -> bool {
    path.extension().is_some_and(|extension| {
        extension.eq_ignore_ascii_case("xml") || extension.eq_ignore_ascii_case("aixm")
    })
}

/// Reads the airspace of an AIXM file.
///
/// # Errors
/// A file that cannot be read, is larger than 512 MB, is not XML, or holds no AIXM 5.1 airspace.
pub fn read(path: &Path, declaration: &Declaration) -> Result<VectorLayer> {
    if declaration.crs.is_some() {
        return Err(Error::new(
            "is AIXM, which says its coordinate reference system itself",
            "take crs out of [airspace] in layers.toml",
        ));
    }
    let size = std::fs::metadata(path).map_or(0, |metadata| metadata.len());
    if size > MOST_BYTES {
        return Err(Error::new(
            format!("is {size} bytes, more than {MOST_BYTES}"),
            "take the airspace around the sites out of it first",
        ));
    }
    let text = std::fs::read_to_string(path).map_err(|error| {
        Error::new(
            format!("cannot be read ({error})"),
            "check that it may be read and is UTF-8",
        )
    })?;
    let parsed = features(&text)?;
    let total = parsed.features.len() + parsed.defects.len();
    let outcomes = parsed.features.into_iter().map(Ok).collect();
    let mut layer = VectorLayer::gathered(path, total, &Crs::wgs84(), outcomes)?;
    for (label, defect) in parsed.defects {
        layer.cautions.feature(
            &layer.file,
            &label,
            &defect,
            "the volume is left out; it may lie over the area",
        );
        layer.unreadable.push(label);
    }
    for (label, defect, effect) in parsed.notes {
        layer.cautions.feature(&layer.file, &label, &defect, effect);
    }
    layer.crs = "WGS 84 (AIXM; arcs and geodesics drawn within 0.5 m)".to_owned();
    Ok(layer)
}

/// What an AIXM text holds.
#[derive(Debug, Default)]
pub struct Parsed {
    /// The volumes that could be read.
    pub features: Vec<Feature<'static>>,
    /// Those that could not: label and reason.
    pub defects: Vec<(String, String)>,
    /// What was left out of those that could: label, what, effect.
    pub notes: Vec<(String, String, &'static str)>,
}

/// The airspace volumes of an AIXM text.
///
/// # Errors
/// Text that is not XML, nests deeper than 200 elements, or holds no AIXM 5.1 airspace.
pub fn features(text: &str) -> Result<Parsed> {
    let options = ParsingOptions {
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, options).map_err(|error| {
        Error::new(
            format!("is not XML that can be read ({error})"),
            "export it again; a document type declaration is not read",
        )
    })?;
    let mut airspaces = Vec::new();
    let mut authorities = Authorities::default();
    let mut stack = vec![(document.root_element(), 1)];
    while let Some((node, depth)) = stack.pop() {
        if depth > DEEPEST {
            return Err(Error::new(
                format!("nests elements deeper than {DEEPEST}"),
                "export it again",
            ));
        }
        if is_aixm_element(node, "Airspace") {
            airspaces.push(node);
            continue;
        }
        authorities.take(node);
        // In the order of the file, for the stack takes the last first.
        let children: Vec<_> = elements(node).map(|child| (child, depth + 1)).collect();
        stack.extend(children.into_iter().rev());
    }
    if airspaces.is_empty() {
        return Err(Error::new(
            "holds no AIXM 5.1 airspace",
            "give an AIXM 5.1 or 5.1.1 message, or another format",
        ));
    }
    let mut parsed = Parsed::default();
    for (index, node) in airspaces.into_iter().enumerate() {
        let authority = authorities.of(node);
        airspace(node, index + 1, authority.as_deref(), &mut parsed);
    }
    Ok(parsed)
}

fn is_aixm_element(node: Node<'_, '_>, name: &str) -> bool {
    node.is_element()
        && node.tag_name().name() == name
        && node.tag_name().namespace().is_some_and(|namespace| {
            namespace == AIXM || namespace == "http://www.aixm.aero/schema/5.1.1"
        })
}

fn elements<'a, 'i>(node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> {
    node.children().filter(Node::is_element)
}

fn child<'a, 'i>(node: Node<'a, 'i>, name: &str) -> Option<Node<'a, 'i>> {
    elements(node).find(|child| is_aixm_element(*child, name))
}

/// The text of a child; none where it is empty or nil.
fn text(node: Node<'_, '_>, name: &str) -> Option<String> {
    let text = child(node, name)?.text()?.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

/// What other features may refer to a feature by: its `gml:id`, and its `gml:identifier`.
fn identifiers(node: Node<'_, '_>) -> Vec<String> {
    let identifier = elements(node)
        .find(|child| child.tag_name().name() == "identifier")
        .and_then(|identifier| identifier.text());
    gml_id(node)
        .into_iter()
        .chain(identifier)
        .map(|id| id.trim().to_owned())
        .filter(|id| !id.is_empty())
        .collect()
}

fn gml_id<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    node.attributes()
        .find(|attribute| attribute.name() == "id")
        .map(|id| id.value())
}

/// Whether a time slice holds for good, as far as it says: a baseline or a snapshot.
fn is_lasting(slice: Node<'_, '_>) -> bool {
    matches!(
        text(slice, "interpretation").as_deref(),
        Some("BASELINE" | "SNAPSHOT")
    )
}

fn airspace(node: Node<'_, '_>, number: usize, authority: Option<&str>, parsed: &mut Parsed) {
    let id = gml_id(node).map_or_else(|| format!("#{number}"), str::to_owned);
    let slices: Vec<_> = elements(node)
        .filter(|child| is_aixm_element(*child, "timeSlice"))
        .flat_map(elements)
        .filter(|child| is_aixm_element(*child, "AirspaceTimeSlice"))
        .collect();
    let (lasting, others): (Vec<_>, Vec<_>) =
        slices.into_iter().partition(|slice| is_lasting(*slice));
    if !others.is_empty() {
        parsed.notes.push((
            id.clone(),
            "has a time slice that is neither baseline nor snapshot".to_owned(),
            "that time slice is not read",
        ));
    }
    if lasting.len() > 1 {
        parsed.notes.push((
            id.clone(),
            "has several baselines".to_owned(),
            "all of them are taken, whatever their dates",
        ));
    }
    if lasting.is_empty() {
        parsed
            .defects
            .push((id, "has no baseline and no snapshot".to_owned()));
        return;
    }
    for slice in lasting {
        components(slice, &id, authority, parsed);
    }
}

fn components(slice: Node<'_, '_>, id: &str, authority: Option<&str>, parsed: &mut Parsed) {
    let components: Vec<_> = elements(slice)
        .filter(|child| is_aixm_element(*child, "geometryComponent"))
        .flat_map(elements)
        .collect();
    let first = parsed.features.len() + parsed.defects.len();
    let several = components.len() > 1;
    for (index, component) in components.into_iter().enumerate() {
        let label = if several {
            format!("{id} part {}", index + 1)
        } else {
            id.to_owned()
        };
        match text(component, "operation").as_deref() {
            None | Some("BASE" | "UNION") => {}
            Some(operation @ ("SUBTR" | "INTERS")) => {
                parsed.notes.push((
                    label,
                    format!("takes part of another away ({operation})"),
                    TAKEN_WHOLE,
                ));
                continue;
            }
            Some(other) => {
                let defect = format!("has the operation \"{other}\", which is not read");
                parsed.defects.push((label, defect));
                continue;
            }
        }
        let volume = child(component, "theAirspaceVolume")
            .and_then(|holder| child(holder, "AirspaceVolume"));
        match volume
            .ok_or_else(|| "has no volume".to_owned())
            .and_then(|volume| {
                let outline = outline(volume)?;
                Ok((volume, outline))
            }) {
            Ok((volume, outline)) => {
                let mut properties = attributes(slice, volume, outline.within_m);
                put(&mut properties, "authority", authority.map(str::to_owned));
                let from_greenwich = outline
                    .polygons
                    .bounding_rect()
                    .map_or(180.0, |rect| rect.min().x.abs().max(rect.max().x.abs()));
                match timesheet::hours(slice, from_greenwich) {
                    Hours::NotGiven => {}
                    Hours::Given(text) => {
                        put(&mut properties, "hours", Some(text));
                        put(&mut properties, "tz", Some("UTC".to_owned()));
                    }
                    Hours::NotRead(why) => parsed.notes.push((
                        label.clone(),
                        why,
                        "its hours are undetermined, and it is taken as active at all times",
                    )),
                }
                parsed.features.push(Feature::new(
                    label,
                    properties,
                    Some(geo::Geometry::MultiPolygon(outline.polygons)),
                ));
            }
            Err(defect) => parsed.defects.push((label, defect)),
        }
    }
    if parsed.features.len() + parsed.defects.len() == first {
        parsed
            .defects
            .push((id.to_owned(), "has no volume of its own".to_owned()));
    }
}

/// The outline of an `AirspaceVolume`.
fn outline(volume: Node<'_, '_>) -> std::result::Result<gml::Outline, String> {
    for (name, what) in [
        ("centreline", "is a corridor along a centreline"),
        ("contributorAirspace", "has the outline of another airspace"),
    ] {
        if child(volume, name).is_some() {
            return Err(format!("{what}, which is not read"));
        }
    }
    let surface = child(volume, "horizontalProjection")
        .and_then(|holder| elements(holder).next())
        .ok_or("has no outline")?;
    gml::outline(surface)
}

/// Adds an attribute that is given.
fn put(properties: &mut JsonObject, key: &str, value: Option<String>) {
    if let Some(value) = value {
        properties.insert(key.to_owned(), Value::String(value));
    }
}

/// How many metres a unit of horizontal distance is (AIXM 5.1.1 `UomDistanceType`; from memory).
fn metres_in(unit: &str) -> Option<f64> {
    Some(match unit {
        "M" => 1.0,
        "KM" => 1000.0,
        "CM" => 0.01,
        "NM" => METRES_PER_NAUTICAL_MILE,
        "FT" => METRES_PER_FOOT,
        _ => return None,
    })
}

fn attributes(slice: Node<'_, '_>, volume: Node<'_, '_>, within_m: f64) -> JsonObject {
    let mut properties = JsonObject::new();
    let mut put = |key: &str, value: Option<String>| put(&mut properties, key, value);
    put("ident", text(slice, "designator"));
    put("name", text(slice, "name"));
    put("kind", text(slice, "type"));
    let class = child(slice, "class")
        .and_then(|holder| child(holder, "AirspaceLayerClass"))
        .and_then(|class| text(class, "classification"));
    put("class", class);
    for (side, additional) in [("lower", "minimumLimit"), ("upper", "maximumLimit")] {
        let limit = child(volume, &format!("{side}Limit"));
        let unit = limit
            .and_then(|limit| limit.attribute("uom"))
            .map(str::to_owned);
        let value = text(volume, &format!("{side}Limit"));
        // A second limit, of which the higher or the lower holds: which one is not the same
        // everywhere, so neither is taken.
        let value = match text(volume, additional) {
            Some(other) => Some(format!("{} or {other}", value.unwrap_or_default())),
            None => value,
        };
        put(&format!("{side}_limit"), value);
        put(&format!("{side}_unit"), unit);
        put(
            &format!("{side}_reference"),
            text(volume, &format!("{side}LimitReference")),
        );
    }
    if let Some(within) = serde_json::Number::from_f64(within_m) {
        properties.insert(OUTLINE_WITHIN.to_owned(), Value::Number(within));
    }
    let accuracy = child(volume, "horizontalProjection")
        .and_then(|holder| elements(holder).next())
        .and_then(|surface| child(surface, "horizontalAccuracy"));
    if let Some(accuracy) = accuracy
        && let Some(value) = accuracy
            .text()
            .map(str::trim)
            .filter(|text| !text.is_empty())
    {
        let unit = accuracy.attribute("uom").unwrap_or("without unit");
        let text = match (value.parse::<f64>(), metres_in(unit)) {
            (Ok(value), Some(metres)) => format!("{} m", value * metres),
            // What is not understood is unclear, which a caution then says.
            _ => format!("{value} {}", unit.to_lowercase()),
        };
        properties.insert("horizontal_accuracy_m".to_owned(), Value::String(text));
    }
    properties
}
