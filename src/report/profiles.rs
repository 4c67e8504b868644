//! The listing of rule profiles: the expression of each, and every value with its citation.

use crate::aerodrome::AerodromeKind;
use crate::profile::zone::{CentrelineStart, DiscCentre, OnCentreline, ZoneRule, ZoneShape};
use crate::profile::{Profile, Quantity, Term};

use super::number::NO_BREAK;
use super::page::write_quantities;
use super::text::{Page, harmless};

/// What every listing of rules ends with.
const CAUTION: &str = "A profile is an aid and never legal advice. The current text of the rule, \
the aviation authority and licensed practice decide.";

/// The listing of profiles, at most 72 columns wide, each line ended.
#[must_use]
pub fn listing(profiles: &[Profile]) -> String {
    let mut page = Page::default();
    for profile in profiles {
        page.section(&format!(
            "{}: {}",
            harmless(&profile.name),
            harmless(&profile.title)
        ));
        page.line(
            2,
            &format!("Distances count from the {}.", profile.reference.term()),
        );
        page.line(2, "The ceiling is:");
        write_term(&mut page, &profile.expression, 4);
        if !profile.rings.is_empty() {
            page.line(2, "Rings:");
        }
        for ring in &profile.rings {
            page.point(
                4,
                &format!("{} about the {}", amount(&ring.radius), ring.about.term()),
            );
        }
        if !profile.zones.is_empty() {
            page.line(2, "Zones:");
        }
        for zone in &profile.zones {
            page.point(4, &zone_words(zone));
        }
        page.line(2, "Values:");
        write_quantities(&mut page, 4, &profile.quantities());
        if !profile.conditions.is_empty() {
            page.line(2, "Conditions that eaves cannot check:");
        }
        for condition in &profile.conditions {
            page.point(4, &harmless(condition));
        }
        page.prose(2, &harmless(&profile.caution));
    }
    page.gap();
    page.prose(0, CAUTION);
    page.into_text()
}

/// A zone in words: title, where it applies, shape, top.
fn zone_words(zone: &ZoneRule) -> String {
    let mut text = format!("{}: {}", harmless(&zone.title), shape_words(&zone.shape));
    if let Some(top) = &zone.top {
        text.push_str(&format!(", to {} above aerodrome elevation", amount(top)));
    }
    let mut only: Vec<String> = Vec::new();
    if !zone.kinds.is_empty() {
        let kinds: Vec<&str> = zone.kinds.iter().map(|kind| kind_word(*kind)).collect();
        only.push(format!("of kind {}", kinds.join(" or ")));
    }
    match zone.controlled {
        Some(true) => only.push("with control".into()),
        Some(false) => only.push("without control".into()),
        None => {}
    }
    if let Some(limit) = &zone.longest_runway_at_most {
        only.push(format!(
            "with a longest runway of at most {}",
            amount(limit)
        ));
    }
    if let Some(limit) = &zone.longest_runway_above {
        only.push(format!("with a longest runway above {}", amount(limit)));
    }
    if !only.is_empty() {
        text.push_str(&format!("; only at aerodromes {}", only.join(", ")));
    }
    text
}

const fn kind_word(kind: AerodromeKind) -> &'static str {
    match kind {
        AerodromeKind::Aerodrome => "aerodrome",
        AerodromeKind::Heliport => "heliport",
        AerodromeKind::WaterAerodrome => "water aerodrome",
        AerodromeKind::Other => "other",
        AerodromeKind::Closed => "closed",
    }
}

fn shape_words(shape: &ZoneShape) -> String {
    let on_centreline = |what: &str, shape: &OnCentreline| {
        let from = match shape.from {
            CentrelineStart::Threshold => "threshold",
            CentrelineStart::RunwayEnd => "runway end",
        };
        let gap = shape
            .gap
            .as_ref()
            .map_or_else(String::new, |gap| format!("{} beyond ", amount(gap)));
        let width = if shape.inner_width == shape.outer_width {
            format!("{} wide", amount(&shape.inner_width))
        } else {
            format!(
                "from {} to {} wide",
                amount(&shape.inner_width),
                amount(&shape.outer_width)
            )
        };
        let rise = shape
            .rise
            .as_ref()
            .map_or_else(String::new, |rise| format!(", rising {}", amount(rise)));
        format!(
            "{what} on each extended centreline from {gap}the {from}, {} long, {width}{rise}",
            amount(&shape.length)
        )
    };
    match shape {
        ZoneShape::Disc { about, radius } => {
            let about = match about {
                DiscCentre::ReferencePoint => "reference point",
                DiscCentre::LongestRunwayMidpoint => "mid-point of the longest runway",
            };
            format!("within {} of the {about}", amount(radius))
        }
        ZoneShape::Capsule { radius } => {
            format!("within {} of each runway centreline", amount(radius))
        }
        ZoneShape::Buffer { of, distance } => {
            format!("within {} of the {}", amount(distance), of.term())
        }
        ZoneShape::Rectangle(shape) => on_centreline("rectangle", shape),
        ZoneShape::Splay(shape) => on_centreline("splay", shape),
        ZoneShape::Union(parts) => {
            let parts: Vec<String> = parts.iter().map(shape_words).collect();
            format!("any of ({})", parts.join("; "))
        }
        ZoneShape::Difference { of, less } => {
            format!("({}) without ({})", shape_words(of), shape_words(less))
        }
    }
}

fn write_term(page: &mut Page, term: &Term, indent: usize) {
    match term {
        Term::Lowest(terms) => write_terms(page, "the lowest of", terms, indent),
        Term::Highest(terms) => write_terms(page, "the highest of", terms, indent),
        Term::Cap { title, height } => {
            let text = format!("{}: {} above ground", harmless(title), amount(height));
            page.point(indent, &text);
        }
        Term::Airspace { title, kinds } => {
            let of = if kinds.is_empty() {
                "airspace volumes".to_owned()
            } else {
                format!("airspace volumes of kind {}", harmless(&kinds.join(", ")))
            };
            page.point(indent, &format!("{}: the floors of {of}", harmless(title)));
        }
        Term::Shield {
            title,
            reach,
            margin,
            taller_than,
        } => {
            let only = taller_than.as_ref().map_or(String::new(), |least| {
                format!(", only obstacles taller than {}", amount(least))
            });
            let step = if margin.value < 0.0 {
                format!("plus {}{NO_BREAK}{}", -margin.value, harmless(&margin.unit))
            } else {
                format!("less {}", amount(margin))
            };
            let text = format!(
                "{}: trusted top of the best shield within {}, {step}{only}",
                harmless(title),
                amount(reach)
            );
            page.point(indent, &text);
        }
    }
}

fn write_terms(page: &mut Page, words: &str, terms: &[Term], indent: usize) {
    page.point(indent, words);
    for term in terms {
        write_term(page, term, indent + 2);
    }
}

fn amount(quantity: &Quantity) -> String {
    format!("{}{NO_BREAK}{}", quantity.value, harmless(&quantity.unit))
}
