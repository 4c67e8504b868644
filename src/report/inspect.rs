//! The page that shows what a layers folder holds and what is wrong with it.

use std::collections::BTreeMap;

use super::number::grouped;
use super::page::{caution_words, not_assessed_words};
use super::text::{Page, harmless};
use crate::read::inspect::{Inspection, LayerInspection};

/// Column in which the values of a layer begin.
const COLUMN: usize = 14;

/// The page of an inspection.
#[must_use]
pub fn page(inspection: &Inspection) -> String {
    let mut page = Page::default();
    page.line(0, &format!("LAYERS in {}", harmless(&inspection.folder)));
    page.line(
        0,
        if inspection.has_declarations {
            "Declarations: layers.toml"
        } else {
            "Declarations: none (no layers.toml); accuracies, dates and sources are not stated"
        },
    );
    for layer in &inspection.layers {
        write_layer(&mut page, layer);
    }
    if !inspection.errors.is_empty() {
        page.section("FILES THAT COULD NOT BE READ");
        for error in &inspection.errors {
            page.point(0, &harmless(error));
        }
    }
    page.section("DEFECTS AND ASSUMPTIONS");
    if inspection.defects.is_empty() {
        page.line(0, "None found.");
    }
    for defect in &inspection.defects {
        page.point(0, &caution_words(defect));
    }
    page.section("NOT ASSESSED WITH THESE LAYERS");
    if inspection.not_assessed.is_empty() && inspection.not_recognised.is_empty() {
        page.line(0, "Nothing to say.");
    }
    for entry in &inspection.not_assessed {
        page.point(0, &not_assessed_words(entry));
    }
    for file in &inspection.not_recognised {
        page.point(
            0,
            &format!("{}: no layer by its name, not read", harmless(file)),
        );
    }
    page.into_text()
}

fn write_layer(page: &mut Page, layer: &LayerInspection) {
    page.section(&format!(
        "{} ({})",
        layer.layer.to_uppercase(),
        harmless(&layer.file)
    ));
    let noun = if layer.layer == "terrain" {
        "cells"
    } else {
        "features"
    };
    let mut row = |label: &str, value: &str| page.labelled(2, label, COLUMN, value);
    row(noun, &grouped(layer.features as f64, 0));
    if !layer.geometries.is_empty() {
        row("geometry", &counted(&layer.geometries));
    }
    if !layer.kinds.is_empty() {
        row("kinds", &counted(&layer.kinds));
    }
    if let Some(count) = layer.with_height {
        let of: usize = layer.kinds.values().sum();
        row("with height", &format!("{count} of {of}"));
    }
    row("CRS", &harmless(&layer.crs));
    if let Some(extent) = &layer.extent {
        row(
            "extent",
            &format!(
                "longitude {:.5} to {:.5}, latitude {:.5} to {:.5} degrees",
                extent.west_deg, extent.east_deg, extent.south_deg, extent.north_deg
            ),
        );
    }
    row("height unit", layer.height_unit);
    row(
        "date",
        &layer
            .date
            .as_deref()
            .map_or("not stated".to_owned(), harmless),
    );
    row(
        "source",
        &layer
            .source
            .as_deref()
            .map_or("not stated".to_owned(), harmless),
    );
}

fn counted(counts: &BTreeMap<String, usize>) -> String {
    counts
        .iter()
        .map(|(kind, count)| format!("{count} {}", harmless(kind)))
        .collect::<Vec<_>>()
        .join(", ")
}
