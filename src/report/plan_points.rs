//! The points of the plan: the height to type into the aircraft, where each point lies.

use crate::answer::{Assessment, HeightAbovePoint, PlanPointAnswer};
use crate::units::{Height, Metres};

use super::budget;
use super::number::{NO_BREAK, bearings, count, decimal, dms, height, metres, nautical_miles};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 18;

/// Writes the PLAN section; nothing without points.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let points = &assessment.plan;
    if points.is_empty() {
        return;
    }
    page.section(&format!("PLAN: {}", count(points.len(), "point")));
    page.prose(
        2,
        "An aircraft counts its height from where it took off. The allowed height above a take-off \
         point is the ceiling AMSL less the highest that the ground there can be, rounded down.",
    );
    for point in points {
        write_point(page, point);
    }
    // Budgets of several points differ in the ground alone, so the first stands for all.
    let shown = points.iter().find_map(|point| match &point.above_take_off {
        Some(HeightAbovePoint::Known { budget, .. }) => Some((point, budget)),
        _ => None,
    });
    if let Some((point, lines)) = shown {
        let heading = format!("Height budget, {}", harmless(&point.title));
        budget::write(page, &heading, lines);
    }
}

/// The allowed height above a take-off point in words.
#[must_use]
pub fn above_take_off(answer: &HeightAbovePoint) -> String {
    match answer {
        HeightAbovePoint::Known {
            height_m,
            holds_in_whole_area,
            ..
        } => {
            let mut text = if *height_m > 0.0 {
                format!("{} above this point", height(Height::of(*height_m)))
            } else {
                "NONE: the point is no lower than the ceiling".to_owned()
            };
            if !holds_in_whole_area {
                text.push_str("; only where the ceiling is determined");
            }
            text
        }
        HeightAbovePoint::Undetermined { why } => format!("UNDETERMINED: {}", harmless(why)),
    }
}

fn write_point(page: &mut Page, point: &PlanPointAnswer) {
    page.line(2, &harmless(&point.title));
    if let Some(answer) = &point.above_take_off {
        page.labelled(4, "ALLOWED", VALUE, &above_take_off(answer));
    }
    page.labelled(4, "position", VALUE, &dms(point.position));
    page.labelled(4, "", VALUE, &decimal(point.position));
    let lies = if point.is_in_area {
        "inside".to_owned()
    } else {
        format!("{} outside", metres(point.distance_m.m_down(0), 0))
    };
    let farthest = metres(point.farthest_m.m_up(0), 0);
    let text = format!("{lies}; farthest point of the area {farthest} away");
    page.labelled(4, "area", VALUE, &text);
    if let Some(is_in_band) = point.is_in_clearance_band {
        let text = if is_in_band {
            "IN the electrical clearance band"
        } else {
            "outside the electrical clearance band"
        };
        page.labelled(4, "power lines", VALUE, text);
    }
    let ground = match point.ground {
        Some(ground) => {
            let (low, high) = (
                ground.lowest_m_amsl.m_down(1),
                ground.highest_m_amsl.m_up(1),
            );
            if high - low > 0.1 + 1e-9 {
                format!("{low:.1} to {} AMSL", metres(high, 1))
            } else {
                format!("{} AMSL", metres(high, 1))
            }
        }
        None => "elevation not known".to_owned(),
    };
    page.labelled(4, "ground", VALUE, &ground);
    if let Some(seen) = &point.from_aerodrome {
        let distance = Metres::of(seen.distance_m.m());
        let text = format!(
            "{}{NO_BREAK}({}) {} from the reference point of {}",
            metres(distance.m_down(0), 0),
            nautical_miles(distance),
            bearings(seen.bearing_true_deg, seen.bearing_magnetic_deg),
            harmless(&seen.aerodrome)
        );
        page.labelled(4, "aerodrome", VALUE, &text);
    }
    let source = format!("{} {}", point.source.file, point.source.feature);
    page.labelled(4, "read in", VALUE, &harmless(&source));
}
