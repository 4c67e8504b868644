//! Heights of structures: what would need notice, what would be an obstruction.

use crate::answer::Assessment;
use crate::surfaces::answer::{Purpose, StandardAnswer};
use crate::units::Height;

use super::number::{height, metres, place};
use super::text::{Page, harmless};

/// Column of the values of the whole.
const WHOLE: usize = 19;

/// Column of the values of one standard.
const VALUE: usize = 16;

/// Writes the section; nothing where the table has no such standards.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let Some((surfaces, structures)) = assessment
        .surfaces
        .as_ref()
        .and_then(|surfaces| Some((surfaces, surfaces.structures.as_ref()?)))
    else {
        return;
    };
    page.section(&format!(
        "STRUCTURES in the area: {}",
        harmless(&surfaces.title)
    ));
    page.prose(
        2,
        "Greatest height above ground of what stands (a mast, a crane, a tether) that each standard \
         lets pass anywhere in the area, rounded down. A flight is no structure. Which airports a \
         section covers is not in the data: all that are not closed are taken.",
    );
    page.labelled(2, "without notice", WHOLE, &words(structures.notice_m_agl));
    page.labelled(
        2,
        "no obstruction",
        WHOLE,
        &words(structures.obstruction_m_agl),
    );
    for way in &structures.traverse_ways {
        let text = format!(
            "{} less: {} without notice, {} no obstruction",
            metres(way.added_m.m_up(1), 1),
            words(way.notice_m_agl),
            words(way.obstruction_m_agl)
        );
        page.point(4, &format!("{}: {text}", harmless(&way.kind)));
    }
    page.prose(4, &harmless(&structures.traverse_source));
    for standard in &structures.standards {
        write_standard(page, standard);
    }
    page.prose(
        2,
        "Not assessed: 77.17(a)(3) and (4) (terminal and en-route obstacle clearance), exemptions of \
         77.9(e), and notice on request.",
    );
}

fn write_standard(page: &mut Page, standard: &StandardAnswer) {
    let purpose = match standard.purpose {
        Purpose::Notice => "notice",
        Purpose::Obstruction => "obstruction",
    };
    let about = standard
        .aerodrome
        .as_ref()
        .map_or_else(|| "any ground".to_owned(), |it| harmless(it));
    page.line(2, &format!("{about} · {purpose}"));
    page.labelled(4, "up to", VALUE, &words(standard.height_m_agl));
    if let Some(at) = standard.at {
        page.labelled(4, "least at", VALUE, &place(at));
    }
    page.labelled(4, "by", VALUE, &harmless(&standard.source));
    for assumed in &standard.assumed {
        page.labelled(4, "assumed", VALUE, &harmless(assumed));
    }
}

fn words(value: Option<Height>) -> String {
    match value {
        None => "UNDETERMINED".to_owned(),
        Some(value) if value.m() <= 0.0 => "no height at all".to_owned(),
        Some(value) => height(value),
    }
}
