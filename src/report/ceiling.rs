//! The ceiling and the wish: the answer first, then what governs, where, and the height budgets.

use crate::answer::{
    Assessment, CeilingAnswer, CeilingPair, CeilingValue, Stopped, Undetermined, WishAnswer,
    WishChange, WishState,
};
use crate::units::{Altitude, Height, Metres};

use super::budget;
use super::number::{
    NO_BREAK, altitude, height, metres, partial_share_down, place, share_down, share_up,
};
use super::text::{Page, harmless};

/// The ceiling in the first lines of a page.
pub struct Summary<'a> {
    /// `CEILING 39.5 m (129 ft) above ground · ...`, or that it is undetermined.
    pub heading: String,
    /// Why it is undetermined, each reason apart; none when it is determined.
    pub undetermined: Vec<String>,
    /// What the value holds for, with the value when it is not in the heading.
    pub of_what: String,
    /// The ceiling that is summed up, of the whole area or of the determined part.
    pub pair: Option<&'a CeilingPair>,
}

impl<'a> Summary<'a> {
    /// Sums up a ceiling.
    #[must_use]
    pub fn of(ceiling: &'a CeilingAnswer) -> Self {
        if let (Some(whole), true) = (&ceiling.whole, ceiling.undetermined.is_empty()) {
            return Self {
                heading: format!("CEILING {}", both(whole)),
                undetermined: Vec::new(),
                of_what: "for the whole operating area".to_owned(),
                pair: Some(whole),
            };
        }
        let mut undetermined: Vec<String> = ceiling.undetermined.iter().map(why).collect();
        if undetermined.is_empty() {
            undetermined.push("no value was found".to_owned());
        }
        Self {
            heading: "CEILING UNDETERMINED for the whole operating area".to_owned(),
            undetermined,
            of_what: ceiling.determined_part.as_ref().map_or_else(
                || "No part of the area has a determined ceiling.".to_owned(),
                |part| format!("Where it is determined: {}", both(part)),
            ),
            pair: ceiling.determined_part.as_ref(),
        }
    }
}

/// Writes the CEILING section.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let ceiling = &assessment.ceiling;
    let is_whole = ceiling.undetermined.is_empty();
    let summary = Summary::of(ceiling);
    page.section(&summary.heading);
    for why in &summary.undetermined {
        page.point(2, why);
    }
    page.line(2, &summary.of_what);
    let pair = summary.pair;
    if pair.is_some_and(|pair| pair.above_ground.value_m <= 0.0) {
        page.line(
            2,
            "That is not above the ground: where it governs, this rule leaves no height at all.",
        );
    }
    if !ceiling.conditions.is_empty() {
        page.line(2, "It depends on what eaves cannot check:");
        for condition in &ceiling.conditions {
            page.point(2, &harmless(condition));
        }
    }
    if let Some(pair) = pair {
        governs(page, pair, assessment.tolerance_m);
        if let Some(amsl) = &pair.amsl {
            budget::write(page, "Height budget, metres AMSL", &amsl.budget);
        }
        budget::write(
            page,
            "Height budget, metres above ground",
            &pair.above_ground.budget,
        );
    }
    if let Some(wish) = &assessment.wish {
        write_wish(page, wish, is_whole);
    }
}

/// `39.5 m (129 ft) above ground · 351.2 m (1 152 ft) AMSL`.
fn both(pair: &CeilingPair) -> String {
    let above_ground = height(Height::of(pair.above_ground.value_m));
    match &pair.amsl {
        Some(amsl) => format!(
            "{above_ground} above ground · {} AMSL",
            altitude(Altitude::of(amsl.value_m))
        ),
        None => {
            format!("{above_ground} above ground · AMSL undetermined: ground elevation not known")
        }
    }
}

fn governs(page: &mut Page, pair: &CeilingPair, tolerance: Metres) {
    let shared = pair.amsl.as_ref().is_some_and(|amsl| {
        let ground = &pair.above_ground;
        (amsl.governs_at, &amsl.governs, &amsl.shield)
            == (ground.governs_at, &ground.governs, &ground.shield)
    });
    let label = if shared {
        "Governs both"
    } else {
        "Governs above ground"
    };
    write_governs(page, label, &pair.above_ground);
    if let (Some(amsl), false) = (&pair.amsl, shared) {
        write_governs(page, "Governs AMSL", amsl);
    }
    certified(page, "above ground", &pair.above_ground, tolerance);
    if let Some(amsl) = &pair.amsl {
        certified(page, "AMSL", amsl, tolerance);
    }
}

fn write_governs(page: &mut Page, label: &str, value: &CeilingValue) {
    let what = match &value.shield {
        Some(shield) => format!("{} ({})", harmless(shield), harmless(&value.governs)),
        None => harmless(&value.governs),
    };
    page.line(2, &format!("{label}: {what}"));
    page.line(4, &format!("at {}", place(value.governs_at)));
}

fn certified(page: &mut Page, reference: &str, value: &CeilingValue, tolerance: Metres) {
    let stopped = match value.stopped {
        Stopped::Tolerance => format!("its tolerance of {}{NO_BREAK}m", tolerance.m()),
        Stopped::Resolution => "its finest cells; not certified closer than this".to_owned(),
        Stopped::Budget => "its budget of cells; not certified closer than this".to_owned(),
    };
    page.line(
        2,
        &format!(
            "Certified {reference}: least value between {} and {}; search stopped at {stopped}.",
            metres(Metres::of(value.value_m).m_down(2), 2),
            metres(Metres::of(value.attained_m).m_up(2), 2),
        ),
    );
}

fn why(reason: &Undetermined) -> String {
    match reason {
        Undetermined::Uncovered {
            uncovered_m2,
            share,
        } => format!(
            "{} of the area ({}²) is out of reach of every shield",
            share_up(*share),
            metres(uncovered_m2.ceil(), 0)
        ),
        Undetermined::NoShield => "no obstacle within reach can be a shield".into(),
        Undetermined::GroundUnknown { share } => format!(
            "the terrain has no data under {} of the area",
            share_up(*share)
        ),
        Undetermined::FloorUnknown { volumes } => format!(
            "the floor of airspace is not known: {}",
            harmless(&volumes.join(", "))
        ),
        Undetermined::NotCertified => {
            "the search stopped before it could certify a bound that is of use".into()
        }
    }
}

fn write_wish(page: &mut Page, wish: &WishAnswer, is_whole: bool) {
    let answer = match wish.state {
        WishState::Everywhere => "within the ceiling everywhere",
        WishState::InPart => "within the ceiling in part only",
        WishState::Nowhere => "within the ceiling nowhere",
        WishState::Undetermined => "UNDETERMINED",
    };
    page.section(&format!(
        "WISH {} above ground: {answer}",
        height(wish.height_m_agl)
    ));
    match wish.state {
        WishState::InPart => page.line(
            2,
            &format!(
                "{} of the area is certified to have a ceiling at or above it.",
                partial_share_down(wish.share_allowed)
            ),
        ),
        WishState::Undetermined if wish.share_allowed > 0.0 => page.line(
            2,
            &format!(
                "{} of the area is certified to have a ceiling at or above it; the rest cannot \
                 be told.",
                partial_share_down(wish.share_allowed)
            ),
        ),
        WishState::Undetermined if !is_whole => {
            page.prose(
                2,
                "The ceiling is undetermined in some part, as said above.",
            );
        }
        _ => {}
    }
    if let Some(short) = wish.short_by_m {
        page.line(
            2,
            &format!(
                "The ceiling of the whole area is {} below it.",
                metres(short.m_up(1), 1)
            ),
        );
    }
    if !wish.changes.is_empty() {
        page.line(2, "What would have to change, any one of:");
    }
    for change in &wish.changes {
        page.point(2, &change_words(change));
    }
}

fn change_words(change: &WishChange) -> String {
    match change {
        WishChange::FlyLower { ceiling_m_agl } => {
            format!("stay at or below {} above ground", height(*ceiling_m_agl))
        }
        WishChange::ReduceArea { share_left } => format!(
            "leave out the part with a lower ceiling: {} of the area remains",
            share_down(*share_left)
        ),
        WishChange::BetterData { up_to_m } => format!(
            "better data: accuracies take {} off the governing shield",
            metres(up_to_m.m_down(1), 1)
        ),
        WishChange::OtherPermission { governs } => format!(
            "another permission than this rule gives ({} governs)",
            harmless(governs)
        ),
    }
}
