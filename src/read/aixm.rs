//! AIXM 5.1 and 5.1.1 airspace to features with our attributes.
//!
//! Read as far as plain polygons, circles and arcs go (see [`super::gml`]): each volume of a BASE or
//! UNION component of the baseline or snapshot becomes one feature. The rest is named and skipped,
//! never guessed: corridors, outlines borrowed from other features, other time slices. A component
//! that takes something away (SUBTR, INTERS) is left out, which leaves the volume larger.
//! Encoding: AIXM 5.1.1 and "Use of GML for aviation data" (OGC 12-028r1; from memory).
//! Not here: what the attributes mean (see [`super::airspace`]).

use std::path::Path;

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
    let mut layer = VectorLayer::gathered(path, total, &Crs::wgs84(), outcomes);
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
    pub features: Vec<Feature>,
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
    let mut parsed = Parsed::default();
    let mut number = 0;
    let mut stack = vec![(document.root_element(), 1)];
    while let Some((node, depth)) = stack.pop() {
        if depth > DEEPEST {
            return Err(Error::new(
                format!("nests elements deeper than {DEEPEST}"),
                "export it again",
            ));
        }
        if is_aixm_element(node, "Airspace") {
            number += 1;
            airspace(node, number, &mut parsed);
            continue;
        }
        // In the order of the file, for the stack takes the last first.
        let children: Vec<_> = elements(node).map(|child| (child, depth + 1)).collect();
        stack.extend(children.into_iter().rev());
    }
    if number == 0 {
        return Err(Error::new(
            "holds no AIXM 5.1 airspace",
            "give an AIXM 5.1 or 5.1.1 message, or another format",
        ));
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

fn airspace(node: Node<'_, '_>, number: usize, parsed: &mut Parsed) {
    let id = node
        .attributes()
        .find(|attribute| attribute.name() == "id")
        .map_or_else(|| format!("#{number}"), |id| id.value().to_owned());
    let slices: Vec<_> = elements(node)
        .filter(|child| is_aixm_element(*child, "timeSlice"))
        .flat_map(elements)
        .filter(|child| is_aixm_element(*child, "AirspaceTimeSlice"))
        .collect();
    let (lasting, others): (Vec<_>, Vec<_>) = slices.into_iter().partition(|slice| {
        matches!(
            text(*slice, "interpretation").as_deref(),
            Some("BASELINE" | "SNAPSHOT")
        )
    });
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
        components(slice, &id, parsed);
    }
}

fn components(slice: Node<'_, '_>, id: &str, parsed: &mut Parsed) {
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
                if child(slice, "activation").is_some() {
                    parsed.notes.push((
                        label.clone(),
                        "has an activation, which is not read".to_owned(),
                        "it is taken as active at all times",
                    ));
                }
                parsed.features.push(Feature::new(
                    label,
                    parsed.features.len(),
                    attributes(slice, volume, outline.within_m),
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

fn attributes(slice: Node<'_, '_>, volume: Node<'_, '_>, within_m: f64) -> JsonObject {
    let mut properties = JsonObject::new();
    let mut put = |key: &str, value: Option<String>| {
        if let Some(value) = value {
            properties.insert(key.to_owned(), Value::String(value));
        }
    };
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
        // A unit that is not understood makes it unclear, which a caution then says.
        let unit = accuracy.attribute("uom").unwrap_or("without unit");
        let text = format!("{value} {}", unit.to_lowercase());
        properties.insert("horizontal_accuracy_m".to_owned(), Value::String(text));
    }
    properties
}
