//! The page of a screening: how many sites were answered, which come first, which are close to a
//! threshold, which were not answered and why.
//!
//! Not here: counting (see [`crate::screen`]).

use crate::answer::{Closest, RankedRow, Ranking, ReasonCount, RowRef, ScreeningSummary};

use super::number::{NO_BREAK, count, grouped, share_down};
use super::page::{write_cautions, write_layers, write_not_assessed};
use super::text::{Page, harmless};

/// Column of the values in the header.
const VALUE: usize = 16;

/// How many rows of a threshold the page shows; the JSON form has more.
const SHOWN_CLOSEST: usize = 5;

/// The page of a summary, at most 72 columns wide, each line ended.
#[must_use]
pub fn page(summary: &ScreeningSummary) -> String {
    let mut page = Page::default();
    page.line(
        0,
        &format!("EAVES {} · screening of many sites", summary.version),
    );
    page.labelled(0, "Sites", VALUE, &sites(summary));
    let rules = format!(
        "{}: {}",
        harmless(&summary.profile.name),
        harmless(&summary.profile.title)
    );
    page.labelled(0, "Profile", VALUE, &rules);
    page.labelled(0, "", VALUE, &harmless(&summary.profile.caution));
    page.labelled(0, "Date", VALUE, &harmless(&summary.date));
    let settings: Vec<String> = summary
        .settings
        .iter()
        .map(|(name, value)| format!("{name}{NO_BREAK}{value}"))
        .collect();
    page.labelled(0, "Settings", VALUE, &harmless(&settings.join(", ")));
    write_counts(&mut page, summary);
    write_reasons(&mut page, &summary.reasons);
    write_ranking(&mut page, &summary.ranking);
    write_closest(&mut page, &summary.closest);
    write_causes(&mut page, summary);
    write_not_assessed(&mut page, &summary.not_assessed);
    write_cautions(&mut page, &summary.cautions);
    write_layers(&mut page, &summary.layers);
    page.section("CAUTION");
    page.prose(0, summary.caution);
    page.into_text()
}

fn sites(summary: &ScreeningSummary) -> String {
    format!(
        "{}, {} ({})",
        number(summary.rows, "site"),
        harmless(&summary.sites_file),
        harmless(&summary.sites_crs)
    )
}

/// A count with its noun; counts of rows are no `usize`.
fn number(rows: u64, noun: &str) -> String {
    count(usize::try_from(rows).unwrap_or(usize::MAX), noun)
}

fn share(rows: u64, of: u64) -> String {
    format!(
        "{}{NO_BREAK}%",
        grouped(rows as f64 * 100.0 / (of as f64).max(1.0), 1)
    )
}

fn write_counts(page: &mut Page, summary: &ScreeningSummary) {
    page.section("ANSWERS");
    for (words, rows) in [
        ("answered", summary.answered),
        ("answered, with something undecided", summary.undecided),
        ("not answered", summary.not_answered),
    ] {
        let text = format!(
            "{} ({})",
            grouped(rows as f64, 0),
            share(rows, summary.rows)
        );
        page.labelled(2, words, 40, &text);
    }
    for wish in &summary.wishes {
        page.line(2, &format!("{}:", harmless(&wish.column)));
        for (words, rows) in [
            ("allowed everywhere on the site", wish.everywhere),
            ("on part of it", wish.in_part),
            ("nowhere on it", wish.nowhere),
            ("undetermined", wish.undetermined),
        ] {
            page.labelled(4, words, 40, &grouped(rows as f64, 0));
        }
    }
    if summary.repeated.rows > 0 {
        let first: Vec<String> = summary
            .repeated
            .first
            .iter()
            .map(|(row, first)| format!("row{NO_BREAK}{row} as row{NO_BREAK}{first}"))
            .collect();
        let text = format!(
            "{} the identifier of a site before: {}{}",
            match summary.repeated.rows {
                1 => "1 site repeats".to_owned(),
                rows => format!("{} sites repeat", grouped(rows as f64, 0)),
            },
            first.join(", "),
            and_more(summary.repeated.rows, first.len())
        );
        page.line(2, &text);
    }
}

fn and_more(all: u64, named: usize) -> String {
    match all.saturating_sub(named as u64) {
        0 => String::new(),
        rest => format!(" and {} more", grouped(rest as f64, 0)),
    }
}

fn write_reasons(page: &mut Page, reasons: &[ReasonCount]) {
    page.section("REASONS (one row may carry several)");
    if reasons.is_empty() {
        page.line(2, "none");
    }
    for reason in reasons {
        let text = format!(
            "{}{NO_BREAK}x {}: {}",
            grouped(reason.rows as f64, 0),
            reason.code,
            reason.words
        );
        page.point(2, &text);
    }
}

fn write_ranking(page: &mut Page, ranking: &Ranking) {
    let order = if ranking.highest_first {
        "highest"
    } else {
        "lowest"
    };
    page.section(&format!("RANKING by {}, {order} first", ranking.column));
    if ranking.first.iter().any(|row| row.ceiling_of.is_some()) {
        page.line(
            2,
            "Sites with a ceiling for all of their area come before others.",
        );
    }
    if ranking.first.is_empty() {
        page.line(2, "no row has a value");
    }
    for (index, row) in ranking.first.iter().enumerate() {
        page.line(2, &format!("{:>3}. {}", index + 1, ranked(row)));
    }
    let rest = ranking.ranked.saturating_sub(ranking.first.len() as u64);
    if rest > 0 {
        page.line(
            2,
            &format!("and {} more with a value", grouped(rest as f64, 0)),
        );
    }
}

/// `12.34  cand-004 (row 5)`.
fn ranked(row: &RankedRow) -> String {
    let of_part = match row.ceiling_of.as_deref() {
        Some("determined_part") => ", covered part only",
        _ => "",
    };
    format!("{}  {}{of_part}", value(row.value), row_words(&row.row))
}

fn value(value: f64) -> String {
    grouped(value, if value.fract() == 0.0 { 0 } else { 2 })
}

fn row_words(row: &RowRef) -> String {
    format!("{} (row{NO_BREAK}{})", harmless(&row.id), row.row)
}

fn write_closest(page: &mut Page, closest: &[Closest]) {
    page.section("CLOSEST TO A THRESHOLD");
    if closest.is_empty() {
        page.line(2, "no row has a distance from one");
    }
    for threshold in closest {
        page.line(
            2,
            &format!("{} ({}):", threshold.threshold, threshold.measure),
        );
        for row in threshold.rows.iter().take(SHOWN_CLOSEST) {
            let distance = match threshold.unit {
                Some(unit) => {
                    let sign = if row.value > 0.0 { "+" } else { "" };
                    format!("{sign}{}{NO_BREAK}{unit}", grouped(row.value, 2))
                }
                None => share_down(row.value),
            };
            page.point(4, &format!("{distance}  {}", row_words(&row.row)));
        }
    }
}

fn write_causes(page: &mut Page, summary: &ScreeningSummary) {
    page.section(&format!(
        "SITES NOT ANSWERED ({})",
        grouped(summary.not_answered as f64, 0)
    ));
    if summary.causes.is_empty() {
        page.line(2, "none");
    }
    for cause in &summary.causes {
        page.line(
            2,
            &format!("{} {}:", number(cause.rows, "site"), cause.code),
        );
        for (row, error) in &cause.first {
            page.point(4, &format!("{}: {}", row_words(row), harmless(error)));
        }
        let rest = and_more(cause.rows, cause.first.len());
        if !rest.is_empty() {
            page.line(4, rest.trim_start());
        }
    }
}
