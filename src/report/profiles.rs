//! The listing of rule profiles: the expression of each, and every value with its citation.

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
