//! Shielding: the lowest shielding obstacle, what is covered, and the parts that are not.

use geo::{GeodesicArea, InteriorPoint, MapCoords, MultiPolygon, Polygon};

use crate::answer::{Assessment, ShieldAnswer, ShieldingAnswer};
use crate::frame::{LonLat, longitude_step};
use crate::obstacle::ObstacleKind;

use super::number::{
    altitude, count, decimal, dms, height, metres, partial_share_down, place, share_up,
};
use super::text::{Page, harmless};

/// Column of the values.
const VALUE: usize = 18;

/// How many uncovered parts are listed by place; the rest is counted.
const PARTS_NAMED: usize = 6;

/// Writes one SHIELDING section for each shield rule.
pub fn write(page: &mut Page, assessment: &Assessment) {
    let rules = &assessment.shielding;
    let outside = if assessment.ceiling.undetermined.is_empty() {
        "this rule gives nothing there"
    } else {
        "the ceiling is UNDETERMINED there"
    };
    if rules.is_empty() {
        page.section("SHIELDING");
        page.line(2, "The profile has no shielding rule.");
    }
    for rule in rules {
        write_rule(page, rule, outside);
    }
}

fn write_rule(page: &mut Page, rule: &ShieldingAnswer, outside: &str) {
    let margin = rule.margin_m.m();
    let margin = if margin < 0.0 {
        format!("{} added to the top", metres((-rule.margin_m).m_down(1), 1))
    } else {
        format!("margin {}", metres(rule.margin_m.m_up(1), 1))
    };
    page.section(&format!(
        "SHIELDING, rule \"{}\": reach {}, {margin}",
        harmless(&rule.rule),
        metres(rule.reach_m.m_down(1), 1)
    ));
    match &rule.lowest_shielding {
        Some(shield) => {
            write_shield(page, "Lowest shielding obstacle", shield);
            if let Some(at) = rule.governs_at {
                page.labelled(4, "last covered", VALUE, &place(at));
            }
        }
        None => page.line(2, "No lowest shielding obstacle: nothing is covered."),
    }
    write_cover(page, rule, outside);
    write_lowest_in_reach(page, rule);
}

fn write_shield(page: &mut Page, heading: &str, shield: &ShieldAnswer) {
    page.line(2, &format!("{heading}: {}", harmless(&shield.title)));
    page.labelled(4, "kind", VALUE, &kind(&shield.kind));
    page.labelled(
        4,
        "read in",
        VALUE,
        &harmless(&format!("{} {}", shield.source.file, shield.source.feature)),
    );
    let mut top = format!("{} above its base", height(shield.trusted_top_m_agl));
    if let Some(amsl) = shield.trusted_top_m_amsl {
        top.push_str(&format!(" · {} AMSL", altitude(amsl)));
    }
    if shield.is_estimate {
        top.push_str(" · ESTIMATE");
    }
    page.labelled(4, "trusted top", VALUE, &top);
    let distance = if shield.distance_m.m() <= 0.0 {
        "0 m: in or on the operating area".to_owned()
    } else {
        format!(
            "{} from the nearest edge",
            metres(shield.distance_m.m_down(1), 1)
        )
    };
    page.labelled(4, "distance", VALUE, &distance);
    page.labelled(4, "position", VALUE, &dms(shield.position));
    page.labelled(4, "", VALUE, &decimal(shield.position));
}

fn write_cover(page: &mut Page, rule: &ShieldingAnswer, outside: &str) {
    let shields = format!(
        "{} in reach; {} in reach cannot shield",
        count(rule.shields_in_reach, "shield"),
        count(rule.not_shields_in_reach, "other obstacle")
    );
    page.labelled(2, "Obstacles", VALUE, &shields);
    if rule.is_wholly_covered {
        page.labelled(2, "Covered", VALUE, "100 % of the area, certified");
        return;
    }
    let (covered, uncovered) = if rule.lowest_shielding.is_none() {
        ("nothing".to_owned(), "all".to_owned())
    } else {
        (
            format!(
                "{} of the area, certified",
                partial_share_down(rule.covered_share)
            ),
            format!("{} of the area", share_up(1.0 - rule.covered_share)),
        )
    };
    page.labelled(2, "Covered", VALUE, &covered);
    let parts = parts(&rule.uncovered);
    let uncovered = format!(
        "{uncovered}, {}², in {}; {outside}",
        metres(rule.uncovered_m2.ceil(), 0),
        count(parts.len(), "part")
    );
    page.labelled(2, "Uncovered", VALUE, &uncovered);
    for (i, (m2, at)) in parts.iter().take(PARTS_NAMED).enumerate() {
        let text = format!("{}² about {}", metres(m2.ceil(), 0), place(*at));
        page.labelled(4, &format!("part {}", i + 1), VALUE, &text);
    }
    if parts.len() > PARTS_NAMED {
        let rest = format!("{} more, smaller", parts.len() - PARTS_NAMED);
        page.labelled(4, "parts", VALUE, &rest);
    }
}

fn write_lowest_in_reach(page: &mut Page, rule: &ShieldingAnswer) {
    let Some(lowest) = &rule.lowest_in_reach else {
        return;
    };
    let is_same = rule.lowest_shielding.as_ref().is_some_and(|shield| {
        (&shield.source, shield.span_index) == (&lowest.source, lowest.span_index)
    });
    if !is_same {
        write_shield(page, "Plain lowest object in reach", lowest);
        page.prose(
            4,
            "This is another question: it does not set the ceiling, because taller \
             shields cover what it covers.",
        );
    }
}

/// What an obstacle is, in words.
fn kind(kind: &ObstacleKind) -> String {
    match kind {
        ObstacleKind::Span => "span of a power line".into(),
        ObstacleKind::Support => "support of a power line".into(),
        ObstacleKind::Building => "building".into(),
        ObstacleKind::Structure(words) => harmless(words),
    }
}

/// Area in square metres and a place inside for each part, the largest first.
fn parts(uncovered: &MultiPolygon<f64>) -> Vec<(f64, LonLat)> {
    let mut parts: Vec<(f64, LonLat)> = uncovered
        .iter()
        .filter_map(|part| Some((part.geodesic_area_unsigned(), place_inside(part)?)))
        .collect();
    parts.sort_by(|a, b| b.0.total_cmp(&a.0));
    parts
}

/// A place inside a polygon, its longitudes taken the short way round from its first vertex.
fn place_inside(part: &Polygon<f64>) -> Option<LonLat> {
    let first = part.exterior().coords().next()?.x;
    let level = part.map_coords(|c| geo::Coord {
        x: first + longitude_step(first, c.x),
        y: c.y,
    });
    let point = level.interior_point()?;
    Some(LonLat::wrapped(point.x(), point.y()))
}
