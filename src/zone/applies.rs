//! Whether a rule has a zone at an aerodrome, by what the data say of it.
//!
//! Not here: where the zone lies.

use crate::aerodrome::{Aerodrome, AerodromeKind, Runway};
use crate::profile::zone::ZoneRule;
use crate::runway::length;
use crate::units::Metres;

/// Stated and measured lengths that differ by more than this contradict each other, metres: two ends
/// published to a tenth of a second, with room.
const LENGTH_DISAGREEMENT_M: f64 = 10.0;

/// Whether a zone applies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Applies {
    /// By all that the data say.
    Yes,
    /// The data do not say enough: what is lacking.
    Unknown(String),
    /// It does not: why.
    No(String),
}

/// The longest runways of an aerodrome.
#[derive(Clone, Debug)]
pub struct Longest<'a> {
    /// Their length: as stated, else between the ends.
    pub length: Metres,
    /// The runways of that length.
    pub runways: Vec<&'a Runway>,
}

/// The longest runways that are not marked closed.
///
/// # Errors
/// What is not given: any runway, or the length of one.
pub fn longest_runways(aerodrome: &Aerodrome) -> Result<Longest<'_>, String> {
    let open: Vec<&Runway> = aerodrome.runways.iter().filter(|it| !it.closed).collect();
    if open.is_empty() {
        return Err(if aerodrome.runways.is_empty() {
            "no runway is given".into()
        } else {
            "every runway is marked closed in the data".into()
        });
    }
    let lengths =
        open.iter()
            .map(|runway| {
                runway.length.or_else(|| length(runway)).ok_or_else(|| {
                    format!("the length of runway {} is not given", runway.designator)
                })
            })
            .collect::<Result<Vec<Metres>, String>>()?;
    let longest = lengths.iter().copied().fold(Metres::ZERO, Metres::max);
    let runways = open
        .into_iter()
        .zip(&lengths)
        .filter(|(_, length)| **length >= longest)
        .map(|(runway, _)| runway)
        .collect();
    Ok(Longest {
        length: longest,
        runways,
    })
}

/// Whether a rule has its zone at an aerodrome.
#[must_use]
pub fn applies(rule: &ZoneRule, aerodrome: &Aerodrome) -> Applies {
    let answers = [
        kind(rule, aerodrome),
        controlled(rule, aerodrome),
        longest(rule, aerodrome),
    ];
    let mut unknown = None;
    for answer in answers {
        match answer {
            Applies::No(why) => return Applies::No(why),
            Applies::Unknown(why) => unknown = unknown.or(Some(why)),
            Applies::Yes => {}
        }
    }
    unknown.map_or(Applies::Yes, Applies::Unknown)
}

fn kind(rule: &ZoneRule, aerodrome: &Aerodrome) -> Applies {
    match aerodrome.kind {
        kind if rule.kinds.contains(&kind) => Applies::Yes,
        AerodromeKind::Closed => {
            Applies::Unknown("the aerodrome is marked closed in the data".into())
        }
        _ if rule.kinds.is_empty() => Applies::Yes,
        AerodromeKind::Other => {
            Applies::Unknown("the data do not say what kind of aerodrome it is".into())
        }
        AerodromeKind::Aerodrome => Applies::No("it is an aerodrome with runways".into()),
        AerodromeKind::Heliport => Applies::No("it is a heliport".into()),
        AerodromeKind::WaterAerodrome => Applies::No("it is a water aerodrome".into()),
    }
}

fn controlled(rule: &ZoneRule, aerodrome: &Aerodrome) -> Applies {
    match (rule.controlled, aerodrome.controlled) {
        (None, _) => Applies::Yes,
        (Some(_), None) => {
            Applies::Unknown("the data do not say whether the aerodrome is controlled".into())
        }
        (Some(wanted), Some(found)) if wanted == found => Applies::Yes,
        (Some(true), _) => Applies::No("the aerodrome is not controlled".into()),
        (Some(false), _) => Applies::No("the aerodrome is controlled".into()),
    }
}

fn longest(rule: &ZoneRule, aerodrome: &Aerodrome) -> Applies {
    if rule.longest_runway_at_most.is_none() && rule.longest_runway_above.is_none() {
        return Applies::Yes;
    }
    let longest = match longest_runways(aerodrome) {
        Ok(longest) => longest,
        Err(why) => return Applies::Unknown(why),
    };
    let meets = |length: Metres| {
        let at_most = rule.longest_runway_at_most.as_ref();
        let above = rule.longest_runway_above.as_ref();
        at_most.is_none_or(|limit| length <= limit.value_m)
            && above.is_none_or(|limit| length > limit.value_m)
    };
    let contradicts = longest.runways.iter().find_map(|runway| {
        let (stated, measured) = (runway.length?, length(runway)?);
        let apart = (stated.m() - measured.m()).abs();
        (apart > LENGTH_DISAGREEMENT_M && meets(stated) != meets(measured)).then(|| {
            format!(
                "runway {} is stated {:.0} m long, its ends are {:.0} m apart",
                runway.designator,
                stated.m(),
                measured.m()
            )
        })
    });
    match contradicts {
        Some(why) => Applies::Unknown(why),
        None if meets(longest.length) => Applies::Yes,
        None => Applies::No(format!(
            "the longest runway is {:.0} m long",
            longest.length.m()
        )),
    }
}
