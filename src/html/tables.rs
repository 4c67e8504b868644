//! The tables of the page, from the same values and words as the report.
//!
//! Not here: any value that is not in the [`Assessment`].

use super::markup::{Column, Markup, Row};
use crate::answer::{
    Assessment, BudgetStep, CeilingValue, ClearanceState, ObstacleAnswer, ShieldAnswer,
    ShieldingAnswer, UsableAnswer, ZoneApplies, ZoneState,
};
use crate::report::budget::printed;
use crate::report::number::{
    NOT_GIVEN, altitude, bearings, decimal, dms, grouped, height, margin, metres, nautical_miles,
    partial_share_up, place, share_down, share_up,
};
use crate::report::page::{caution_words, not_assessed_words, source_words};
use crate::report::{aerodromes, airspace, budget, clearance, plan_points, schedule, zones};
use crate::units::Metres;

use Column::{Number, Words};

/// Every table with the list of contents before them.
pub fn all(page: &mut Markup, assessment: &Assessment) {
    page.raw("<nav aria-label=\"Tables\"><ul>\n");
    for (id, title, _) in sections(assessment) {
        page.raw(&format!("<li><a href=\"#{id}\">{title}</a></li>\n"));
    }
    page.raw("</ul></nav>\n");
    for (id, title, write) in sections(assessment) {
        page.raw(&format!("<h3 id=\"{id}\">{title}</h3>\n"));
        write(page, assessment);
    }
}

type Write = fn(&mut Markup, &Assessment);

/// The sections that have something to say: id, title, writer.
fn sections(assessment: &Assessment) -> Vec<(&'static str, &'static str, Write)> {
    let all: [(&str, &str, bool, Write); 13] = [
        ("budgets", "Ceiling", true, budgets),
        ("plan", "Plan", !assessment.plan.is_empty(), plan),
        ("shielding", "Shielding", true, shielding),
        (
            "clearance",
            "Power lines and usable area",
            true,
            clearance_and_usable,
        ),
        ("aerodromes", "Aerodromes", true, write_aerodromes),
        ("zones", "Zones", !assessment.zones.is_empty(), write_zones),
        (
            "airspace",
            "Airspace",
            assessment.airspace.is_some(),
            write_airspace,
        ),
        (
            "surfaces",
            "Limitation surfaces",
            assessment.surfaces.is_some(),
            surfaces,
        ),
        (
            "obstacles",
            "Obstacles in reach",
            !assessment.obstacles.is_empty(),
            obstacles,
        ),
        ("coordinates", "Coordinates", true, coordinates),
        ("open", "Not assessed and cautions", true, open),
        ("values", "Rule values", true, values),
        ("layers", "Layers and sources", true, layers),
    ];
    all.into_iter()
        .filter(|(_, _, is_there, _)| *is_there)
        .map(|(id, title, _, write)| (id, title, write))
        .collect()
}

fn budgets(page: &mut Markup, assessment: &Assessment) {
    let ceiling = &assessment.ceiling;
    let Some(pair) = ceiling.whole.as_ref().or(ceiling.determined_part.as_ref()) else {
        page.element("p", "No part of the area has a determined ceiling.");
        return;
    };
    let of = if ceiling.whole.is_some() {
        "the whole area"
    } else {
        "the part where it is determined"
    };
    for (reference, value) in [
        ("AMSL", pair.amsl.as_ref()),
        ("above ground", Some(&pair.above_ground)),
    ] {
        if let Some(value) = value {
            one_budget(page, &format!("Height budget {reference}, {of}"), value);
        }
    }
    page.list(ceiling.conditions.iter().cloned());
}

fn one_budget(page: &mut Markup, caption: &str, value: &CeilingValue) {
    let rows: Vec<Row> = printed(&value.budget)
        .into_iter()
        .map(|line| Row {
            is_sum: line.step == BudgetStep::Gives,
            cells: vec![
                format!("{} {}", budget::sign(line.step), line.label),
                metres(line.hundredths as f64 / 100.0, 2),
                line.note,
            ],
        })
        .collect();
    page.table(
        caption,
        &[Words("line"), Number("amount"), Words("from")],
        &rows,
    );
    let what = value.shield.as_ref().unwrap_or(&value.governs);
    page.note(
        "soft",
        &format!("Governed by {what} at {}", place(value.governs_at)),
    );
}

fn plan(page: &mut Markup, assessment: &Assessment) {
    let rows: Vec<Row> = assessment
        .plan
        .iter()
        .map(|point| {
            Row::of([
                point.title.clone(),
                point
                    .above_take_off
                    .as_ref()
                    .map_or_else(String::new, plan_points::above_take_off),
                place(point.position),
                if point.is_in_area {
                    "inside".to_owned()
                } else {
                    format!("{} outside", metres(point.distance_m.m_down(0), 0))
                },
            ])
        })
        .collect();
    page.table(
        "Points of the plan",
        &[
            Words("point"),
            Words("allowed height above it"),
            Words("position"),
            Words("the area"),
        ],
        &rows,
    );
}

fn clearance_and_usable(page: &mut Markup, assessment: &Assessment) {
    let clearance = &assessment.clearance;
    match &clearance.state {
        ClearanceState::Everywhere => {}
        ClearanceState::NoLine => page.element("p", "No power line near the area in the layers."),
        ClearanceState::Undetermined { why } => {
            page.element("p", &format!("Electrical clearance UNDETERMINED: {why}"));
        }
    }
    let or_not = |value: Option<Metres>| {
        value.map_or_else(|| "not stated".to_owned(), |it| metres(it.m_up(1), 1))
    };
    let rows: Vec<Row> = clearance
        .lines
        .iter()
        .map(|line| {
            Row::of([
                line.title.clone(),
                metres(line.distance_m.m_down(1), 1),
                or_not(line.clearance_m),
                or_not(line.half_width_m),
                line.from.clone(),
            ])
        })
        .collect();
    page.table(
        "Electrical clearance",
        &[
            Words("line"),
            Number("distance"),
            Number("clearance"),
            Number("half width of the band"),
            Words("from"),
        ],
        &rows,
    );
    match &assessment.usable {
        UsableAnswer::Determined { area_m2, share, .. } => page.element(
            "p",
            &format!("Usable area: {}", clearance::usable_words(*area_m2, *share)),
        ),
        UsableAnswer::Undetermined { why } => {
            page.element("p", "Usable area UNDETERMINED:");
            page.list(why.iter().cloned());
        }
    }
}

fn coordinates(page: &mut Markup, assessment: &Assessment) {
    for ring in &assessment.schedule {
        let rows: Vec<Row> = ring
            .vertices
            .iter()
            .map(|vertex| {
                Row::of([
                    vertex.letter.clone(),
                    vertex.latitude_dms.clone(),
                    vertex.longitude_dms.clone(),
                    decimal(vertex.place),
                ])
            })
            .collect();
        page.table(
            &format!("Vertices, WGS 84, {}", schedule::heading(ring)),
            &[
                Words("vertex"),
                Words("latitude"),
                Words("longitude"),
                Words("decimal degrees"),
            ],
            &rows,
        );
    }
}

fn shielding(page: &mut Markup, assessment: &Assessment) {
    for rule in &assessment.shielding {
        page.table(
            &format!(
                "Rule \"{}\": reach {}, margin {}",
                rule.rule,
                metres(rule.reach_m.m_down(1), 1),
                metres(rule.margin_m.m_up(1), 1)
            ),
            &[Words(""), Words("")],
            &rule_rows(rule),
        );
    }
    if assessment.shielding.is_empty() {
        page.element("p", "The profile has no shielding rule.");
    }
}

fn rule_rows(rule: &ShieldingAnswer) -> Vec<Row> {
    let pair = |name: &str, value: String| Row::of([name.to_owned(), value]);
    let mut rows = vec![pair("covered, certified", share_down(rule.covered_share))];
    if !rule.is_wholly_covered {
        rows.push(pair(
            "uncovered: UNDETERMINED there",
            format!(
                "{} of the area, {}²",
                share_up(1.0 - rule.covered_share),
                metres(rule.uncovered_m2.ceil(), 0)
            ),
        ));
    }
    if let Some(shield) = &rule.lowest_shielding {
        rows.push(pair("lowest shielding obstacle", shield.title.clone()));
        rows.push(pair("its trusted top", trusted(shield)));
        rows.push(pair(
            "its position and distance",
            format!(
                "{}, {} from the area",
                dms(shield.position),
                metres(shield.distance_m.m_down(1), 1)
            ),
        ));
    }
    if let Some(at) = rule.governs_at {
        rows.push(pair("last place to be covered", place(at)));
    }
    rows.push(pair(
        "obstacles in reach",
        format!(
            "{} that can shield, {} that cannot",
            grouped(rule.shields_in_reach as f64, 0),
            grouped(rule.not_shields_in_reach as f64, 0)
        ),
    ));
    rows
}

fn trusted(shield: &ShieldAnswer) -> String {
    let mut text = format!("{} above its base", height(shield.trusted_top_m_agl));
    if let Some(amsl) = shield.trusted_top_m_amsl {
        text.push_str(&format!(" · {} AMSL", altitude(amsl)));
    }
    if shield.is_estimate {
        text.push_str(" · ESTIMATE");
    }
    text
}

fn write_aerodromes(page: &mut Markup, assessment: &Assessment) {
    if assessment.aerodromes.is_empty() {
        page.element(
            "p",
            "None in the layers that were read. That does not say that there is none.",
        );
    }
    for aerodrome in &assessment.aerodromes {
        let rows: Vec<Row> = aerodrome
            .references
            .iter()
            .map(|answer| match &answer.distance {
                None => Row::of([
                    answer.reference.term().to_owned(),
                    String::new(),
                    String::new(),
                    NOT_GIVEN.to_owned(),
                ]),
                Some(found) => Row::of([
                    answer.reference.term().to_owned(),
                    nautical_miles(found.distance_m),
                    metres(found.distance_m.m_down(0), 0),
                    bearings(found.bearing_true_deg, found.bearing_magnetic_deg),
                ]),
            })
            .collect();
        page.table(
            &aerodrome.title,
            &[
                Words("from"),
                Number("distance"),
                Number("distance"),
                Words("bearing from it"),
            ],
            &rows,
        );
        let rings: Vec<Row> = aerodrome
            .rings
            .iter()
            .map(|ring| {
                Row::of([
                    format!("{} about {}", ring.label, ring.about.term()),
                    aerodromes::state(ring.state).to_owned()
                        + if ring.is_substitute {
                            ", of a substitute: does not answer the rule"
                        } else {
                            ""
                        },
                    ring.margin_m.map_or_else(String::new, margin),
                    ring.share_inside
                        .map_or_else(String::new, |share| match ring.state {
                            ZoneState::Straddles => partial_share_up(share),
                            _ => share_up(share),
                        }),
                ])
            })
            .collect();
        page.table(
            "Rings",
            &[
                Words("ring"),
                Words("the area is"),
                Number("margin"),
                Number("share inside"),
            ],
            &rings,
        );
    }
}

fn write_zones(page: &mut Markup, assessment: &Assessment) {
    let rows: Vec<Row> = assessment
        .zones
        .iter()
        .map(|zone| {
            let part = zone
                .part
                .as_ref()
                .map_or_else(String::new, |part| format!(", {part}"));
            let answer = match &zone.applies {
                ZoneApplies::No { why } => format!("does not apply, {why}"),
                ZoneApplies::Yes => zones::answer(zone),
                ZoneApplies::Unknown { why } => {
                    format!("{}; MAY APPLY: {why}", zones::answer(zone))
                }
            };
            Row::of([
                format!("{}{part}", zone.title),
                zone.aerodrome.clone(),
                answer,
            ])
        })
        .collect();
    page.table(
        "Zones of the profile",
        &[Words("zone"), Words("aerodrome"), Words("the area is")],
        &rows,
    );
}

fn write_airspace(page: &mut Markup, assessment: &Assessment) {
    let Some(answer) = &assessment.airspace else {
        return;
    };
    let rows: Vec<Row> = answer
        .volumes
        .iter()
        .map(|volume| {
            Row::of([
                volume.title.clone(),
                airspace::limits(volume),
                airspace::in_plan(volume),
                volume
                    .in_height
                    .map_or_else(String::new, |it| airspace::in_height(it).to_owned()),
                volume.floor.as_ref().map_or_else(String::new, |floor| {
                    let agl = floor
                        .lowest_m_agl
                        .map(|it| format!("{} above ground", height(it)));
                    let amsl = floor
                        .lowest_m_amsl
                        .map(|it| format!("{} AMSL", altitude(it)));
                    [agl, amsl]
                        .into_iter()
                        .flatten()
                        .collect::<Vec<_>>()
                        .join(" · ")
                }),
            ])
        })
        .collect();
    page.table(
        "Volumes",
        &[
            Words("volume"),
            Words("limits"),
            Words("in plan"),
            Words("in height"),
            Words("lowest floor"),
        ],
        &rows,
    );
}

fn surfaces(page: &mut Markup, assessment: &Assessment) {
    let Some(answer) = &assessment.surfaces else {
        return;
    };
    let rows: Vec<Row> = answer
        .surfaces
        .iter()
        .map(|surface| {
            let part = surface
                .part
                .as_ref()
                .map_or_else(String::new, |part| format!(", {part}"));
            Row::of([
                format!("{} · {}{part}", surface.aerodrome, surface.kind.term()),
                share_up(surface.share_under),
                format!("{} AMSL", altitude(surface.lowest_m_amsl)),
                surface
                    .gap_m
                    .map_or_else(|| "undetermined".to_owned(), margin),
            ])
        })
        .collect();
    page.table(
        &answer.title,
        &[
            Words("surface"),
            Number("share of the area"),
            Number("lowest"),
            Number("gap"),
        ],
        &rows,
    );
    page.note("soft", &answer.caution);
}

fn obstacles(page: &mut Markup, assessment: &Assessment) {
    let rows: Vec<Row> = assessment.obstacles.iter().map(obstacle).collect();
    page.table(
        "Nearest first as the report lists them",
        &[
            Words("obstacle"),
            Number("distance"),
            Number("stated top"),
            Number("trusted top"),
            Words("as a shield"),
        ],
        &rows,
    );
}

fn obstacle(obstacle: &ObstacleAnswer) -> Row {
    let estimate = if obstacle.is_estimate {
        "ESTIMATE"
    } else {
        "can shield"
    };
    Row::of([
        obstacle.title.clone(),
        metres(obstacle.distance_m.m_down(1), 1),
        obstacle
            .top_m_agl
            .map_or_else(|| "height unknown".to_owned(), height),
        obstacle.trusted_top_m_agl.map_or_else(String::new, height),
        obstacle
            .not_a_shield
            .as_ref()
            .map_or_else(|| estimate.to_owned(), |why| format!("no: {why}")),
    ])
}

fn open(page: &mut Markup, assessment: &Assessment) {
    page.element(
        "p",
        "Not assessed: anything that this page does not name; and:",
    );
    page.list(assessment.not_assessed.iter().map(not_assessed_words));
    if assessment.cautions.is_empty() {
        page.element("p", "No defect was found in the layers.");
    } else {
        page.element("p", "Cautions:");
        page.list(assessment.cautions.iter().map(caution_words));
    }
}

fn values(page: &mut Markup, assessment: &Assessment) {
    let rows: Vec<Row> = assessment
        .profile
        .values
        .iter()
        .map(|value| {
            Row::of([
                value.key.clone(),
                format!("{} {}", value.value, value.unit),
                source_words(value),
            ])
        })
        .collect();
    page.table(
        &assessment.profile.title,
        &[Words("value"), Number("amount"), Words("source")],
        &rows,
    );
    page.note("soft", &assessment.profile.caution);
}

fn layers(page: &mut Markup, assessment: &Assessment) {
    let or = |value: &Option<String>| value.clone().unwrap_or_else(|| "not stated".to_owned());
    let rows: Vec<Row> = assessment
        .layers
        .iter()
        .map(|layer| {
            Row::of([
                layer.layer.clone(),
                layer.file.clone(),
                or(&layer.date),
                or(&layer.source),
                layer.crs.clone(),
            ])
        })
        .collect();
    page.table(
        "Layers that were read",
        &[
            Words("layer"),
            Words("file"),
            Words("date"),
            Words("source"),
            Words("reference system"),
        ],
        &rows,
    );
}
