//! Runways: where the area lies to each end, along and beside the extended centreline.

use crate::answer::{Assessment, OutboundAnswer, RunwayAnswer, RunwayEndAnswer};
use crate::units::Metres;

use super::number::{NOT_GIVEN, altitude, bearings, metres};
use super::text::{Page, harmless};

/// Column of what is said of an end.
const END: usize = 16;

/// Writes the RUNWAYS section; nothing where no aerodrome listed has a runway in the data.
pub fn write(page: &mut Page, assessment: &Assessment) {
    if assessment.runways.is_empty() {
        return;
    }
    page.section(&format!("RUNWAYS: {}", assessment.runways.len()));
    page.prose(
        2,
        "From each end, looking outbound along the extended centreline: how far beyond the end the \
         area lies, and how far left or right. Ranges hold all of the area.",
    );
    let mut aerodrome = None;
    for runway in &assessment.runways {
        if aerodrome != Some(&runway.aerodrome) {
            page.line(2, &harmless(&runway.aerodrome));
            aerodrome = Some(&runway.aerodrome);
        }
        write_runway(page, runway);
    }
}

fn write_runway(page: &mut Page, runway: &RunwayAnswer) {
    let mut text = format!("runway {}", harmless(&runway.designator));
    if runway.closed {
        text.push_str(" (marked closed in the data)");
    }
    match (runway.length_m, runway.stated_length_m) {
        (Some(length), _) => {
            text.push_str(&format!(
                ", {} between its ends",
                metres(length.m_down(0), 0)
            ));
        }
        (None, Some(length)) => {
            text.push_str(&format!(", stated {} long", metres(length.m_down(0), 0)));
        }
        (None, None) => {}
    }
    if let Some(width) = runway.width_m {
        text.push_str(&format!(", {} wide", metres(width.m_down(0), 0)));
    }
    if let Some(away) = runway.centreline_m {
        let away = metres(away.m_down(0), 0);
        text.push_str(&format!("; the area is {away} from its centreline"));
    }
    page.line(4, &text);
    for end in &runway.ends {
        write_end(page, runway, end);
    }
}

fn write_end(page: &mut Page, runway: &RunwayAnswer, end: &RunwayEndAnswer) {
    let label = end
        .designator
        .as_ref()
        .map_or_else(|| "end".to_owned(), |it| format!("end {}", harmless(it)));
    match &end.outbound {
        Some(outbound) => page.labelled(6, &label, END, &words(runway, outbound)),
        None => page.labelled(6, &label, END, NOT_GIVEN),
    }
}

fn words(runway: &RunwayAnswer, out: &OutboundAnswer) -> String {
    let along = if out.along_most_m.m() < 0.0 {
        let past = runway
            .length_m
            .is_some_and(|length| out.along_most_m.m() < -length.m());
        let behind = if past {
            "behind the other end"
        } else {
            "abeam"
        };
        format!(
            "{} to {} short of the end, {behind}",
            metres((-out.along_most_m).m_down(0), 0),
            metres((-out.along_least_m).m_up(0), 0)
        )
    } else if out.along_least_m.m() < 0.0 {
        format!(
            "from {} short of the end to {} beyond it",
            metres((-out.along_least_m).m_up(0), 0),
            metres(out.along_most_m.m_up(0), 0)
        )
    } else {
        format!(
            "{} to {} beyond the end",
            metres(out.along_least_m.m_down(0), 0),
            metres(out.along_most_m.m_up(0), 0)
        )
    };
    let mut text = format!(
        "outbound {}: {along}, {}",
        bearings(Some(out.bearing_true_deg), out.bearing_magnetic_deg),
        beside(out.right_least_m, out.right_most_m)
    );
    if out.bearing_is_stated {
        text.push_str("; the bearing is as stated, for one end has no position");
    }
    if out.displaced_m.m() > 0.0 {
        let by = metres(out.displaced_m.m_up(0), 0);
        text.push_str(&format!("; threshold displaced {by}"));
    }
    if let Some(elevation) = out.elevation_m_amsl {
        text.push_str(&format!("; elevation {} AMSL", altitude(elevation)));
    }
    text
}

/// `20 m left to 300 m right`: rounded outwards.
fn beside(least: Metres, most: Metres) -> String {
    let (left, right) = ((-least).m(), most.m());
    if right <= 0.0 {
        format!(
            "{} to {} left",
            metres((-most).m_down(0), 0),
            metres((-least).m_up(0), 0)
        )
    } else if left <= 0.0 {
        format!(
            "{} to {} right",
            metres(least.m_down(0), 0),
            metres(most.m_up(0), 0)
        )
    } else {
        format!(
            "from {} left to {} right",
            metres((-least).m_up(0), 0),
            metres(most.m_up(0), 0)
        )
    }
}
