//! The page of a map of the ceiling.

use super::number::grouped;
use super::page::{caution_words, not_assessed_words};
use super::text::{Page, harmless};
use crate::answer::{CAUTION, CeilingMapAnswer, Tally};

/// Column in which values begin.
const COLUMN: usize = 16;

/// The page.
#[must_use]
pub fn page(map: &CeilingMapAnswer) -> String {
    let mut page = Page::default();
    page.line(0, &format!("CEILING MAP of {}", harmless(&map.region)));
    page.prose(0, CAUTION);
    page.gap();
    let mut labelled = |label: &str, text: &str| page.labelled(0, label, COLUMN, text);
    labelled(
        "Profile",
        &format!("{}. {}", map.profile, map.profile_caution),
    );
    labelled("Date", &map.date);
    labelled(
        "Cells",
        &format!(
            "{} columns, {} rows, {} m or a little less each way at the middle",
            grouped(map.columns as f64, 0),
            grouped(map.rows as f64, 0),
            map.cell_m.m()
        ),
    );
    labelled("Ground", &harmless(&map.ground));
    labelled("Above ground", &tally(&map.above_ground));
    match &map.amsl {
        Some(amsl) => labelled("AMSL", &tally(amsl)),
        None => labelled("AMSL", "not assessed: the ground has no elevation"),
    }
    let terms: Vec<String> = (1..)
        .zip(&map.terms)
        .map(|(number, title)| format!("{number} {title}"))
        .collect();
    labelled("Terms", &format!("{}; 0 undetermined", terms.join(", ")));
    page.gap();
    page.prose(
        0,
        &format!(
            "The value of a cell is certified for all of it: the ceiling is nowhere in it lower. \
             It is at most {} m below the lowest ceiling in the cell, where the search could tell. \
             A cell that is not wholly covered is undetermined and has no data.",
            map.tolerance_m.m_up(3) + 0.01
        ),
    );
    if !map.conditions.is_empty() {
        page.section("CONDITIONS");
        for condition in &map.conditions {
            page.point(0, condition);
        }
    }
    page.section("NOT ASSESSED");
    for entry in &map.not_assessed {
        page.point(0, &not_assessed_words(entry));
    }
    if !map.cautions.is_empty() {
        page.section("CAUTIONS");
        for caution in &map.cautions {
            page.point(0, &caution_words(caution));
        }
    }
    page.gap();
    for file in &map.files {
        page.line(
            0,
            &format!("Wrote {}", harmless(&file.display().to_string())),
        );
    }
    page.into_text()
}

fn tally(tally: &Tally) -> String {
    let cells = tally.determined + tally.undetermined;
    let range = match (tally.lowest_m, tally.highest_m) {
        (Some(low), Some(high)) => {
            format!(", from {} m to {} m", grouped(low, 1), grouped(high, 1))
        }
        _ => String::new(),
    };
    format!(
        "{} of {} cells have a ceiling{range}",
        grouped(tally.determined as f64, 0),
        grouped(cells as f64, 0)
    )
}
