//! What the script of the page needs to answer at a point: the ceiling grid, what governs, and where
//! the maps lie in the drawings.
//!
//! Not here: the grid itself, which is sampled and checked in [`crate::assess`].

use serde::Serialize;

use super::Drawing;
use crate::answer::{Assessment, BudgetStep, CeilingGrid, GridGovernor, Square};
use crate::error::Result;
use crate::figure;
use crate::figure::scene::{PanelName, Plane};
use crate::frame::{LocalFrame, Xy};
use crate::report::budget::{printed, sign};
use crate::report::json::indented;
use crate::report::number::{grouped, metres};
use crate::report::text::harmless;

/// Parts of the grid's side between the corners whose places are given. Between them a place is taken
/// from the four around it: within 1 mm on an area of 1 km, within 1 m on one of 100 km.
const LATTICE_STEPS: usize = 32;

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Data {
    grid: Option<Grid>,
    governors: Vec<Governor>,
    maps: std::collections::BTreeMap<String, Vec<Map>>,
    ground_accuracy: String,
    no_grid: &'static str,
    hint: &'static str,
    square_note: String,
}

#[derive(Serialize)]
struct Governor {
    title: String,
    budget: Vec<Step>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Step {
    label: String,
    amount: String,
    note: String,
    is_sum: bool,
}

/// A map in a drawing: where the middle of the area lies, the scale, and the panel that it shows in.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Map {
    x: f64,
    y: f64,
    units_per_metre: f64,
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
    is_main: bool,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Grid {
    side: f64,
    west: f64,
    south: f64,
    columns: usize,
    rows: usize,
    /// Runs of 0 outside, 1 undetermined, 2 known.
    state: Vec<Option<i32>>,
    above_ground: Vec<Option<i32>>,
    amsl: Vec<Option<i32>>,
    ground: Vec<Option<i32>>,
    governs: Vec<Option<i32>>,
    places: Lattice,
}

#[derive(Serialize)]
struct Lattice {
    steps: usize,
    /// Longitude and latitude, row by row from the south-west.
    corners: Vec<[f64; 2]>,
}

/// The data as JSON that is harmless inside a script element.
pub fn data(assessment: &Assessment, drawings: &[Drawing]) -> Result<String> {
    let grid = assessment.ceiling_grid.as_ref();
    let accuracy = &assessment.ground;
    let data = Data {
        grid: grid.map(|it| Grid::of(it, assessment)),
        governors: grid.map_or_else(Vec::new, |grid| {
            grid.governors.iter().map(governor).collect()
        }),
        maps: drawings.iter().filter_map(maps).collect(),
        ground_accuracy: if accuracy.accuracy_is_stated {
            metres(accuracy.accuracy_m.m_up(1), 1)
        } else {
            "not stated".to_owned()
        },
        no_grid: "The ceiling was not sampled over the area.",
        hint: "Point at the operating area, tap it, or press P in the drawing.",
        square_note: grid.map_or_else(String::new, |grid| {
            format!(
                "What is said holds all over a square of {} about the point; rounded down. At its \
                 edges the whole area's ceiling counts.",
                metres((grid.side_m * 10.0).ceil() / 10.0, 1)
            )
        }),
    };
    Ok(indented(&data)?.replace('<', "\\u003c").replace(['\n'], ""))
}

fn governor(governor: &GridGovernor) -> Governor {
    let budget = printed(&governor.budget).into_iter().map(|line| Step {
        label: format!("{} {}", sign(line.step), harmless(&line.label)),
        amount: format!("{}\u{a0}m", grouped(line.hundredths as f64 / 100.0, 2)),
        note: harmless(&line.note),
        is_sum: line.step == BudgetStep::Gives,
    });
    Governor {
        title: harmless(&governor.title),
        budget: budget.collect(),
    }
}

fn maps(drawing: &Drawing) -> Option<(String, Vec<Map>)> {
    let scene = drawing.scene.as_ref().ok()?;
    let maps = scene.panels.iter().filter_map(|panel| {
        let Plane::Map(map) = panel.plane else {
            return None;
        };
        let scale = figure::SVG_UNITS;
        Some(Map {
            x: map.middle.x * scale,
            y: map.middle.y * scale,
            units_per_metre: map.units_per_metre * scale,
            left: panel.rect.left * scale,
            top: panel.rect.top * scale,
            right: panel.rect.right * scale,
            bottom: panel.rect.bottom * scale,
            is_main: panel.name != PanelName::Inset,
        })
    });
    // An inset lies on top of the main map, so it is asked first.
    let (main, insets): (Vec<Map>, Vec<Map>) = maps.partition(|map| map.is_main);
    let id = format!("sheet-{}", drawing.kind.name());
    Some((id, insets.into_iter().chain(main).collect()))
}

impl Grid {
    fn of(grid: &CeilingGrid, assessment: &Assessment) -> Self {
        let plane = |value: fn(&Square) -> Option<i32>| runs(grid.squares.iter().map(value));
        let frame = LocalFrame::about(assessment.area.middle);
        let (width, height) = (
            grid.side_m * grid.columns as f64,
            grid.side_m * grid.rows as f64,
        );
        let share = |step: usize| step as f64 / LATTICE_STEPS as f64;
        let corners = (0..=LATTICE_STEPS)
            .flat_map(|row| (0..=LATTICE_STEPS).map(move |column| (column, row)))
            .map(|(column, row)| {
                let place = frame.to_place(Xy::new(
                    grid.west_m + width * share(column),
                    grid.south_m + height * share(row),
                ));
                [place.lon(), place.lat()].map(|degrees| (degrees * 1e9).round() / 1e9)
            })
            .collect();
        Self {
            side: grid.side_m,
            west: grid.west_m,
            south: grid.south_m,
            columns: grid.columns,
            rows: grid.rows,
            state: plane(|square| {
                Some(match square {
                    Square::Outside => 0,
                    Square::Undetermined => 1,
                    Square::Known(_) => 2,
                })
            }),
            above_ground: plane(|square| known(square).map(|it| it.above_ground_cm)),
            amsl: plane(|square| known(square)?.amsl_cm),
            ground: plane(|square| known(square)?.ground_cm),
            governs: plane(|square| known(square)?.governs.map(i32::from)),
            places: Lattice {
                steps: LATTICE_STEPS,
                corners,
            },
        }
    }
}

const fn known(square: &Square) -> Option<&crate::answer::KnownSquare> {
    match square {
        Square::Known(known) => Some(known),
        Square::Outside | Square::Undetermined => None,
    }
}

/// Values as runs: value, how many, value, how many, ...
fn runs(values: impl Iterator<Item = Option<i32>>) -> Vec<Option<i32>> {
    let mut runs: Vec<(Option<i32>, i32)> = Vec::new();
    for value in values {
        match runs.last_mut() {
            Some((last, count)) if *last == value => *count += 1,
            _ => runs.push((value, 1)),
        }
    }
    runs.into_iter()
        .flat_map(|(value, count)| [value, Some(count)])
        .collect()
}
