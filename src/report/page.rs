//! The terminal page of one assessment: what can be read out on the phone, the answer first.
//!
//! Not here: finding any of it (see [`crate::assess`]). Sections have their own files beside this.

use crate::answer::{
    Assessment, GroundSource, LayerAnswer, NotAssessed, ProfileAnswer, VariationAnswer,
};
use crate::error::Caution;
use crate::profile::{Mark, Quantity};

use super::number::{NO_BREAK, count, grouped, metres, place, share_up};
use super::text::{Page, harmless};
use super::{
    aerodromes, airspace, ceiling, clearance, hours, plan_points, runways, schedule, section,
    shielding, structures, surfaces, zones,
};

/// Column of the values in the header and the lists.
const VALUE: usize = 12;

/// The page of an assessment, at most 72 columns wide, each line ended.
///
/// Distances, altitudes and heights are rounded down; every name from outside is made harmless.
#[must_use]
pub fn page(assessment: &Assessment) -> String {
    let mut page = Page::default();
    write_header(&mut page, assessment);
    ceiling::write(&mut page, assessment);
    plan_points::write(&mut page, assessment);
    shielding::write(&mut page, assessment);
    clearance::write(&mut page, assessment);
    aerodromes::write(&mut page, assessment);
    runways::write(&mut page, assessment);
    zones::write(&mut page, assessment);
    airspace::write(&mut page, assessment);
    surfaces::write(&mut page, assessment);
    structures::write(&mut page, assessment);
    section::write(&mut page, assessment);
    hours::write(&mut page, assessment);
    schedule::write(&mut page, assessment);
    write_not_assessed(&mut page, &assessment.not_assessed);
    write_cautions(&mut page, &assessment.cautions);
    write_rule_values(&mut page, &assessment.profile);
    write_layers(&mut page, &assessment.layers);
    page.section("CAUTION");
    page.prose(0, assessment.caution);
    page.into_text()
}

fn write_header(page: &mut Page, assessment: &Assessment) {
    page.line(
        0,
        &format!("EAVES {} · one operating area", assessment.version),
    );
    let area = &assessment.area;
    let source = format!("{} {}", area.source.file, area.source.feature);
    page.labelled(0, "Area", VALUE, &harmless(&area.name));
    page.labelled(0, "", VALUE, &format!("read in {}", harmless(&source)));
    let size = format!(
        "{}² ({}{NO_BREAK}ha), perimeter {}",
        metres(area.area_m2.floor(), 0),
        grouped((area.area_m2 / 100.0).floor() / 100.0, 2),
        metres(area.perimeter_m.m_down(0), 0)
    );
    page.labelled(0, "Size", VALUE, &size);
    page.labelled(0, "Middle", VALUE, &place(area.middle));
    let profile = &assessment.profile;
    let rules = format!("{}: {}", harmless(&profile.name), harmless(&profile.title));
    page.labelled(0, "Profile", VALUE, &rules);
    page.labelled(0, "Date", VALUE, &harmless(&assessment.date));
    page.labelled(0, "Datum", VALUE, "WGS 84; AMSL above mean sea level");
    page.labelled(0, "Ground", VALUE, &ground(assessment));
    page.labelled(0, "Variation", VALUE, &variation(&assessment.variation));
}

fn ground(assessment: &Assessment) -> String {
    let ground = &assessment.ground;
    let mut text = match &ground.source {
        GroundSource::Terrain { file } => format!("terrain {}", harmless(file)),
        GroundSource::Stated { elevation_m_amsl } => format!(
            "stated, {} AMSL for the whole site",
            metres(elevation_m_amsl.m_down(1), 1)
        ),
        GroundSource::AssumedFlat => "ASSUMED FLAT: no elevation is known".into(),
    };
    if let (GroundSource::Terrain { .. }, Some(lowest), Some(highest)) =
        (&ground.source, ground.lowest_m_amsl, ground.highest_m_amsl)
    {
        text.push_str(&format!(
            ", {} to {} AMSL",
            metres(lowest.m_down(1), 1),
            metres(highest.m_up(1), 1)
        ));
    }
    if ground.accuracy_is_stated {
        text.push_str(&format!(
            "; accuracy {}",
            metres(ground.accuracy_m.m_up(1), 1)
        ));
    } else {
        text.push_str("; accuracy not stated");
    }
    if ground.unknown_share > 0.0 {
        text.push_str(&format!(
            "; no data under {} of the area",
            share_up(ground.unknown_share)
        ));
    }
    text
}

fn variation(variation: &VariationAnswer) -> String {
    match variation {
        VariationAnswer::Known {
            declination_deg,
            uncertainty_deg,
            model,
            date,
        } => {
            let side = if *declination_deg < 0.0 { 'W' } else { 'E' };
            format!(
                "{:.1}°{side} ± {:.1}° ({model}, {})",
                declination_deg.abs(),
                (uncertainty_deg * 10.0).ceil() / 10.0,
                harmless(date)
            )
        }
        VariationAnswer::Unknown { why } => format!("not known: {}", harmless(why)),
    }
}

pub(super) fn write_not_assessed(page: &mut Page, list: &[NotAssessed]) {
    page.section("NOT ASSESSED");
    page.line(2, "Anything that this page does not name; and:");
    for entry in list {
        page.point(2, &not_assessed_words(entry));
    }
}

/// Something not assessed in words: what, why, how many features and which.
#[must_use]
pub fn not_assessed_words(entry: &NotAssessed) -> String {
    let which = features(entry.count, &entry.features);
    format!("{}: {}{which}", harmless(&entry.what), harmless(&entry.why))
}

pub(super) fn write_cautions(page: &mut Page, list: &[Caution]) {
    page.section(&format!("CAUTIONS ({})", list.len()));
    if list.is_empty() {
        page.line(2, "No defect was found in the layers.");
    }
    for caution in list {
        page.point(2, &caution_words(caution));
    }
}

/// A caution in words: file, defect, how many features and which, effect.
#[must_use]
pub fn caution_words(caution: &Caution) -> String {
    let file = if caution.file.is_empty() {
        String::new()
    } else {
        format!("{}: ", harmless(&caution.file))
    };
    format!(
        "{file}{}{}; {}",
        harmless(&caution.defect),
        features(caution.count, &caution.features),
        harmless(&caution.effect)
    )
}

/// ` (12 features: a, b and 10 more)`, or nothing when it is not about features.
fn features(total: usize, named: &[String]) -> String {
    if total == 0 && named.is_empty() {
        return String::new();
    }
    let total = total.max(named.len());
    let names: Vec<String> = named
        .iter()
        .take(Caution::NAMED_FEATURES)
        .map(|name| harmless(name))
        .collect();
    let mut text = format!(" ({}", count(total, "feature"));
    if !names.is_empty() {
        text.push_str(": ");
        text.push_str(&names.join(", "));
        if total > names.len() {
            let rest = grouped((total - names.len()) as f64, 0);
            text.push_str(&format!(" and {rest} more"));
        }
    }
    text.push(')');
    text
}

fn write_rule_values(page: &mut Page, profile: &ProfileAnswer) {
    page.section("RULE VALUES");
    write_quantities(page, 2, &profile.values.iter().collect::<Vec<_>>());
    page.prose(2, &harmless(&profile.caution));
}

/// Writes values of a profile as a list; those with one source stand together.
pub fn write_quantities(page: &mut Page, indent: usize, values: &[&Quantity]) {
    let mut rest = values;
    while let Some(first) = rest.first() {
        let source = source_words(first);
        let together = rest
            .iter()
            .take_while(|value| source_words(value) == source)
            .count();
        let (group, others) = rest.split_at(together);
        let amounts: Vec<String> = group
            .iter()
            .map(|value| {
                let amount = format!("{} {} {}", value.key, value.value, value.unit);
                harmless(&amount).replace(' ', &NO_BREAK.to_string())
            })
            .collect();
        page.point(indent, &format!("{}: {source}", amounts.join(", ")));
        rest = others;
    }
}

/// Where a value comes from in words: how well it is known, citation and edition.
#[must_use]
pub fn source_words(quantity: &Quantity) -> String {
    let citation = harmless(quantity.citation.trim());
    let edition = match quantity.edition.trim() {
        "" | "not stated" => "edition not stated".to_owned(),
        edition => harmless(edition),
    };
    match quantity.mark {
        Mark::Seen => format!("{citation}; {edition}; seen in a copy"),
        Mark::FromMemory => {
            format!("FROM MEMORY, confirm before relying on it; {citation}; {edition}")
        }
        Mark::CommonPractice => {
            let more = citation
                .strip_prefix("common practice, no source")
                .unwrap_or(&citation)
                .trim_start_matches([';', ',', ' ']);
            let gap = if more.is_empty() { "" } else { "; " };
            format!("COMMON PRACTICE, no source{gap}{more}")
        }
    }
}

pub(super) fn write_layers(page: &mut Page, layers: &[LayerAnswer]) {
    page.section("LAYERS AND SOURCES");
    if layers.is_empty() {
        page.line(2, "none");
    }
    for layer in layers {
        let optional = |value: &Option<String>, what: &str| match value {
            Some(value) => harmless(value),
            None => format!("{what} not stated"),
        };
        // A raster has no features, and 0 would read as an empty layer.
        let features = match layer.layer.as_str() {
            "terrain" => "raster".to_owned(),
            _ => count(layer.features, "feature"),
        };
        let text = format!(
            "{}, {features}; {}; {}; {}",
            harmless(&layer.file),
            harmless(&layer.crs),
            optional(&layer.date, "date"),
            optional(&layer.source, "source")
        );
        page.point(2, &format!("{}: {text}", harmless(&layer.layer)));
    }
}
