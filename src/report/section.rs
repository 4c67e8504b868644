//! The vertical section in words: what it is cut along, what it meets, and what it does not show.

use crate::answer::{
    Assessment, Extreme, SectionAnswer, SectionDatum, Stretch, WireAnswer, WirePoint,
};
use crate::units::{Altitude, Height, Metres};

use super::number::{altitude, bearings, count, height, metres, place};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 12;

/// Writes the section; nothing when none was wanted.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let Some(section) = &assessment.section else {
        return;
    };
    page.section(&format!("SECTION A-A', {}", harmless(&section.cut)));
    write_line(page, section);
    write_heights(page, section);
    for wire in &section.wires {
        write_wire(page, section, wire);
    }
    if !section.undetermined.is_empty() {
        let text = stretches(&section.undetermined);
        page.labelled(2, "no ceiling", VALUE, &format!("UNDETERMINED {text}"));
    }
    if !section.ground_unknown.is_empty() {
        let text = stretches(&section.ground_unknown);
        page.labelled(2, "no ground", VALUE, &format!("not known {text}"));
    }
    for note in &section.notes {
        page.point(2, &harmless(note));
    }
    let beside = format!(
        "A section shows its own line and no other: what stands within {} to either side is projected \
         onto it and may be nearer to the area than it looks, and what is farther off is not on it. \
         Its figure is exaggerated in height as stated there. It replaces no ceiling: that holds for \
         every place of the area.",
        metres(section.corridor_m.m_up(0), 0)
    );
    page.prose(2, &beside);
}

fn write_line(page: &mut Page, section: &SectionAnswer) {
    page.labelled(2, "A", VALUE, &place(section.from));
    page.labelled(2, "A'", VALUE, &place(section.to));
    let length = metres(section.length_m.m_down(1), 1);
    let line = match section.legs.as_slice() {
        [leg] => format!(
            "{length} on {}",
            bearings(Some(leg.bearing_true_deg), leg.bearing_magnetic_deg)
        ),
        legs => format!("{length} in {}", count(legs.len(), "leg")),
    };
    page.labelled(2, "length", VALUE, &line);
    let meets = if section.in_area.is_empty() {
        "nowhere".to_owned()
    } else {
        stretches(&section.in_area)
    };
    page.labelled(2, "in the area", VALUE + 2, &meets);
}

fn write_heights(page: &mut Page, section: &SectionAnswer) {
    let Some(certified) = section.certified else {
        page.labelled(2, "ceiling", VALUE, "UNDETERMINED");
        return;
    };
    let of = if certified.is_of_whole_area {
        "of the whole area"
    } else {
        "of the part where it is determined"
    };
    let text = format!("{} {of}", level(section.datum, certified.level_m));
    page.labelled(2, "ceiling", VALUE, &text);
    for over in &section.heights {
        let which = match over.ground {
            Extreme::Highest => "highest",
            Extreme::Lowest => "lowest",
        };
        let text = format!(
            "that is {} above the {which} ground of the cut within it, at {}",
            height(over.height_m_agl),
            metres(over.at_m.m_down(0), 0)
        );
        page.labelled(2, "", VALUE, &text);
    }
}

fn write_wire(page: &mut Page, section: &SectionAnswer, wire: &WireAnswer) {
    page.labelled(2, "wire", VALUE, &harmless(&wire.title));
    for point in &wire.points {
        let how = if point.offset_m == Metres::ZERO {
            "crossed".to_owned()
        } else {
            let side = if point.offset_m.m() > 0.0 {
                "right"
            } else {
                "left"
            };
            let away = Metres::of(point.offset_m.m().abs());
            format!("{} to the {side}", metres(away.m_down(0), 0))
        };
        let text = format!(
            "{how} at {}: {}",
            metres(point.at_m.m_down(0), 0),
            levels(section.datum, point)
        );
        page.labelled(4, "", VALUE, &text);
    }
    if !wire.not_known.is_empty() {
        page.labelled(4, "", VALUE, &harmless(&wire.not_known));
    }
}

/// The lowest and the highest credible level of a wire.
fn levels(datum: SectionDatum, point: &WirePoint) -> String {
    match (point.low_m, point.high_m) {
        (None, None) => "height UNKNOWN".to_owned(),
        (Some(low), None) => format!("not below {}", level(datum, low)),
        (None, Some(high)) => format!("not above {}, lowest UNKNOWN", level_up(datum, high)),
        (Some(low), Some(high)) => {
            format!("{} to {}", level(datum, low), level_up(datum, high))
        }
    }
}

/// A level rounded down, with what it is counted from.
fn level(datum: SectionDatum, metres: f64) -> String {
    match datum {
        SectionDatum::MeanSeaLevel => format!("{} AMSL", altitude(Altitude::of(metres))),
        SectionDatum::AssumedFlatGround => {
            format!("{} above assumed flat ground", height(Height::of(metres)))
        }
    }
}

/// A level rounded up.
fn level_up(datum: SectionDatum, value: f64) -> String {
    let up = metres(Metres::of(value).m_up(1), 1);
    match datum {
        SectionDatum::MeanSeaLevel => format!("{up} AMSL"),
        SectionDatum::AssumedFlatGround => format!("{up} above assumed flat ground"),
    }
}

/// `from 12 m to 340 m, from 400 m to 412 m`; outwards to whole metres.
fn stretches(stretches: &[Stretch]) -> String {
    let words: Vec<String> = stretches
        .iter()
        .map(|stretch| {
            format!(
                "from {} to {}",
                metres(stretch.from_m.m_down(0), 0),
                metres(stretch.to_m.m_up(0), 0)
            )
        })
        .collect();
    words.join(", ")
}
