//! Airspace: volumes over and near the area, in plan and in height, with the floor of each.

use crate::airspace::answer::{
    AirspaceAnswer, FloorAnswer, InHeight, InPlan, OperatingTop, VolumeAnswer,
};
use crate::airspace::{Level, Limit};
use crate::answer::Assessment;

use super::number::{
    NO_BREAK, altitude, count, height, margin, metres, nautical_miles, partial_share_up, place,
    share_up,
};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 18;

/// Writes the AIRSPACE section; nothing when the folder has no airspace layer.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let Some(airspace) = &assessment.airspace else {
        return;
    };
    page.section(&format!(
        "AIRSPACE within {} ({}): {}",
        metres(airspace.search_radius_m.m_down(0), 0),
        nautical_miles(airspace.search_radius_m),
        airspace.volumes.len()
    ));
    page.prose(2, &operating(airspace.top));
    if uses_pressure(airspace) {
        page.prose(2, &pressure(airspace));
    }
    if airspace.volumes.is_empty() {
        page.prose(
            2,
            "None in the layers that were read. That does not say that there is none.",
        );
    }
    for volume in &airspace.volumes {
        write_volume(page, volume);
    }
    if airspace.farther > 0 {
        let text = format!("{} farther away.", count(airspace.farther, "volume"));
        page.prose(2, &text);
    }
}

fn operating(top: OperatingTop) -> String {
    let text = match top {
        OperatingTop::Wish { height_m_agl } => {
            format!("the wished {} above ground", height(height_m_agl))
        }
        OperatingTop::Ceiling {
            height_m_agl,
            altitude_m_amsl,
        } => {
            let mut text = format!(
                "the certified ceiling, {} above ground",
                height(height_m_agl)
            );
            if let Some(top) = altitude_m_amsl {
                text.push_str(&format!(" or {} AMSL", altitude(top)));
            }
            text
        }
        OperatingTop::Undetermined => "a height that is undetermined".into(),
    };
    format!("Operating volume: from the ground to {text}.")
}

fn uses_pressure(airspace: &AirspaceAnswer) -> bool {
    airspace.volumes.iter().any(|volume| {
        [&volume.lower, &volume.upper]
            .iter()
            .any(|limit| matches!(limit.level, Level::Pressure { .. }))
    })
}

fn pressure(airspace: &AirspaceAnswer) -> String {
    let [low, high] = airspace.qnh_range_hpa;
    let at = match airspace.qnh_hpa {
        Some(qnh) => format!("for QNH {}{NO_BREAK}hPa, as stated", qnh.hpa()),
        None => format!(
            "for any QNH from {} to {}{NO_BREAK}hPa, as none was stated",
            low.hpa(),
            high.hpa()
        ),
    };
    format!(
        "Flight levels {at}, in the standard atmosphere. In colder air they are lower, by about \
         4{NO_BREAK}% for every 10{NO_BREAK}°C (from memory)."
    )
}

fn write_volume(page: &mut Page, volume: &VolumeAnswer) {
    let mut title = harmless(&volume.title);
    let class = volume.class.as_ref().map(|class| format!("class {class}"));
    for part in [volume.kind.as_ref(), class.as_ref()].into_iter().flatten() {
        title.push_str(&format!(" · {}", harmless(part)));
    }
    if volume.governs {
        title.push_str(" · governs");
    }
    page.line(2, &title);
    page.labelled(4, "limits", VALUE, &limits(volume));
    page.labelled(4, "in plan", VALUE, &in_plan(volume));
    if let Some(state) = volume.in_height {
        let text = format!("{}: {}", in_height(state), harmless(&volume.why));
        page.labelled(4, "in height", VALUE, &text);
    }
    if let Some(floor) = &volume.floor {
        write_floor(page, floor);
    }
    if volume.in_plan != InPlan::Outside {
        let hours = match (&volume.hours, &volume.record.zone) {
            (Some(hours), Some(zone)) => format!("{}, {}; ", harmless(hours), harmless(zone)),
            (Some(hours), None) => format!("{}; ", harmless(hours)),
            (None, _) => "not stated; ".into(),
        };
        let text = format!("{hours}taken as active at all times here");
        page.labelled(4, "hours", VALUE, &text);
        if let Some(authority) = &volume.authority {
            page.labelled(4, "authority", VALUE, &harmless(authority));
        }
    }
    let source = format!("{} {}", volume.source.file, volume.source.feature);
    page.labelled(4, "read in", VALUE, &harmless(&source));
}

/// Both limits of a volume as stated.
#[must_use]
pub fn limits(volume: &VolumeAnswer) -> String {
    format!("{} to {}", limit(&volume.lower), limit(&volume.upper))
}

/// A limit as stated, with what makes it undetermined.
fn limit(limit: &Limit) -> String {
    let stated = harmless(&limit.stated);
    match (&limit.level, limit.defect()) {
        (_, Some("is not given")) => "not given".into(),
        (_, Some(why)) => format!("\"{stated}\" (UNDETERMINED: {})", harmless(why)),
        (Level::Ellipsoid { .. }, None) => {
            format!("{stated} (UNDETERMINED: separation of the geoid not stated)")
        }
        _ => stated,
    }
}

/// How an area lies to a volume in plan, in words.
#[must_use]
pub fn in_plan(volume: &VolumeAnswer) -> String {
    let bound = if volume.margin_is_at_least {
        " or more"
    } else {
        ""
    };
    let by = margin(volume.margin_m);
    match volume.in_plan {
        InPlan::Outside => format!("outside; margin {by}"),
        InPlan::Inside => format!(
            "inside; margin {by}{bound}; {} of the area inside",
            share_up(volume.share_inside)
        ),
        InPlan::Straddles => {
            format!(
                "straddles; margin {by}{bound}; {} of the area inside",
                partial_share_up(volume.share_inside)
            )
        }
    }
}

/// The words for whether the operating volume reaches a volume in height.
#[must_use]
pub const fn in_height(state: InHeight) -> &'static str {
    match state {
        InHeight::Yes => "YES",
        InHeight::No => "no",
        InHeight::Undetermined => "UNDETERMINED",
    }
}

fn write_floor(page: &mut Page, floor: &FloorAnswer) {
    let mut parts = Vec::new();
    if let Some(lowest) = floor.lowest_m_agl {
        parts.push(format!("{} above ground", height(lowest)));
    }
    if let Some(lowest) = floor.lowest_m_amsl {
        let mut text = format!("{} AMSL", altitude(lowest));
        if let Some(other) = floor.lowest_at_highest_qnh_m_amsl {
            text.push_str(&format!(
                " ({} at the highest QNH)",
                altitude(other).replace(" (", ", ").replace(')', "")
            ));
        }
        parts.push(text);
    }
    if parts.is_empty() {
        parts.push("not known: it needs the elevation of the ground".into());
    }
    page.labelled(4, "lowest floor", VALUE, &parts.join("; "));
    page.labelled(6, "at", VALUE, &place(floor.lowest_at));
}
