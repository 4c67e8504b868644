//! Electrical clearance of power lines, and what is left of the area to use.

use crate::answer::{
    Assessment, ClearanceAnswer, ClearanceState, LineClearanceAnswer, UsableAnswer,
};
use crate::clearance::ClearanceTable;
use crate::profile::Mark;
use crate::units::Metres;

use super::number::{NO_BREAK, count, grouped, metres, partial_share_down, share_down, share_up};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 18;

/// How many lines are written out, nearest first; the rest is counted.
const LINES_NAMED: usize = 12;

/// Writes the ELECTRICAL CLEARANCE and USABLE AREA sections.
pub fn write(page: &mut Page, assessment: &Assessment) {
    write_band(page, &assessment.clearance, assessment.area.area_m2);
    write_usable(page, &assessment.usable);
}

fn write_band(page: &mut Page, answer: &ClearanceAnswer, area_m2: f64) {
    match &answer.state {
        ClearanceState::NoLine => {
            page.section("ELECTRICAL CLEARANCE: no power line near the area");
            return;
        }
        ClearanceState::Everywhere => page.section(&format!(
            "ELECTRICAL CLEARANCE about {}",
            count(answer.lines.len(), "power line")
        )),
        ClearanceState::Undetermined { why } => {
            page.section("ELECTRICAL CLEARANCE UNDETERMINED");
            page.prose(2, &harmless(why));
        }
    }
    if let Some(table) = &answer.table {
        write_table(page, table);
    }
    for line in answer.lines.iter().take(LINES_NAMED) {
        write_line(page, line);
    }
    if answer.lines.len() > LINES_NAMED {
        let rest = count(answer.lines.len() - LINES_NAMED, "more line");
        page.line(2, &format!("and {rest}, in the JSON"));
    }
    if answer.lines.iter().any(|line| line.half_width_m.is_some()) {
        page.prose(
            2,
            &format!(
                "The bands take {} of the area, {}². They are of the plan: the height of the wires \
                 is not looked at, and their swing in wind is not in them.",
                share_up(answer.band_m2 / area_m2),
                metres(answer.band_m2.ceil(), 0)
            ),
        );
    }
}

fn write_table(page: &mut Page, table: &ClearanceTable) {
    let mark = match table.mark {
        Mark::Seen => "seen in a copy",
        Mark::FromMemory => "FROM MEMORY, confirm before relying on it",
        Mark::CommonPractice => "COMMON PRACTICE, no source",
    };
    let edition = match table.edition.as_str() {
        "" | "not stated" => "edition not stated".to_owned(),
        edition => harmless(edition),
    };
    page.line(
        2,
        &format!(
            "{}: {}; {edition}; {mark}",
            harmless(&table.name),
            harmless(&table.citation)
        ),
    );
    page.prose(4, &harmless(&table.caution));
}

fn write_line(page: &mut Page, line: &LineClearanceAnswer) {
    let voltage = line.voltage_v.map_or_else(
        || "voltage not known".to_owned(),
        |volts| {
            format!(
                "{}{NO_BREAK}kV",
                grouped(volts / 1000.0, usize::from(volts % 1000.0 > 0.0))
            )
        },
    );
    page.line(
        2,
        &format!(
            "{} · {voltage} · {} near",
            harmless(&line.title),
            count(line.spans, "span")
        ),
    );
    let up = |length: Metres| metres(length.m_up(1), 1);
    let distance = if line.distance_m.m() <= 0.0 {
        "0 m: crosses or touches the operating area".to_owned()
    } else {
        format!(
            "{} from the nearest edge",
            metres(line.distance_m.m_down(1), 1)
        )
    };
    page.labelled(4, "distance", VALUE, &distance);
    let (Some(clearance), Some(half_width)) = (line.clearance_m, line.half_width_m) else {
        page.labelled(4, "clearance", VALUE, "NOT STATED: no band is drawn");
        return;
    };
    let text = format!("{} ({})", up(clearance), harmless(&line.from));
    page.labelled(4, "clearance", VALUE, &text);
    let offset = line.wire_offset_m.map_or_else(
        || "outer wires not stated, 0 m taken".to_owned(),
        |offset| format!("{} to the outer wire", up(offset)),
    );
    let text = format!(
        "{} to each side of the line as drawn: clearance, {offset}, {} accuracy",
        up(half_width),
        up(line.horizontal_accuracy_m)
    );
    page.labelled(4, "band", VALUE, &text);
}

/// How much of an area is usable, in words.
#[must_use]
pub fn usable_words(area_m2: f64, share: f64) -> String {
    let share = if share > 0.0 && share < 1.0 {
        partial_share_down(share)
    } else {
        share_down(share)
    };
    format!("{}², {share} of the area", metres(area_m2.floor(), 0))
}

fn write_usable(page: &mut Page, usable: &UsableAnswer) {
    match usable {
        UsableAnswer::Undetermined { why } => {
            page.section("USABLE AREA UNDETERMINED");
            for reason in why {
                page.point(2, &harmless(reason));
            }
        }
        UsableAnswer::Determined {
            polygons,
            area_m2,
            share,
            scraps,
        } => {
            page.section(&format!("USABLE AREA {}", usable_words(*area_m2, *share)));
            let mut text = format!(
                "The area less the electrical clearance bands and less the part where the ceiling \
                 is undetermined or leaves no height: {} (polygons in the JSON).",
                count(polygons.0.len(), "part")
            );
            if *scraps > 0 {
                text.push_str(&format!(" {} below 1 m² left out.", count(*scraps, "part")));
            }
            page.prose(2, &text);
        }
    }
}
