//! Tables of obstacle limitation surfaces: TOML as the instrument prints it, checked cell by cell.
//!
//! One file for each edition of an instrument under `layers/surfaces/`, compiled in. Not here: what
//! the cells mean on the ground (see [`super::annex14`] and [`super::part77`]).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::annex14::Annex14;
use super::part77::Part77;
use crate::aerodrome::ApproachType;
use crate::error::{Error, Result};
use crate::profile::Mark;
use crate::units::{METRES_PER_FOOT, METRES_PER_NAUTICAL_MILE};

/// Names of the built-in tables.
pub const BUILT_IN: [&str; 3] = ["annex14-2018", "annex14-2004", "cfr77"];

fn built_in_text(name: &str) -> Option<&'static str> {
    Some(match name {
        "annex14-2018" => include_str!("../../layers/surfaces/annex14-2018.toml"),
        "annex14-2004" => include_str!("../../layers/surfaces/annex14-2004.toml"),
        "cfr77" => include_str!("../../layers/surfaces/cfr77.toml"),
        _ => return None,
    })
}

/// One edition of one instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Its name, as given to `--surfaces`.
    pub name: String,
    /// The instrument.
    pub title: String,
    /// Its edition.
    pub edition: String,
    /// What the table is not.
    pub caution: String,
    /// The cells.
    pub cells: Cells,
    /// The rows that were not read in a copy of the instrument or a transposition of it.
    pub unconfirmed: Vec<Unconfirmed>,
}

/// A row that is from memory or common practice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Unconfirmed {
    /// The row: `approach.inner_approach_width_code_f`.
    pub row: String,
    /// How well it is known.
    pub mark: Mark,
    /// Where it comes from.
    pub source: String,
}

/// The cells of a table, resolved to metres and ratios.
#[derive(Clone, Debug, PartialEq)]
pub enum Cells {
    /// ICAO Annex 14 Volume I, Tables 4-1 and 4-2.
    Annex14(Annex14),
    /// 14 CFR 77.19, 77.21 and 77.23, with 77.9 and 77.17. Boxed, for it is the largest.
    Part77(Box<Part77>),
}

/// A built-in table by its name.
///
/// # Errors
/// An unknown name, with the known ones.
pub fn load(name: &str) -> Result<Table> {
    match built_in_text(name) {
        Some(text) => parse(name, text),
        None => Err(Error::new(
            format!("there is no table of surfaces named {name:?}"),
            format!("known are {}", BUILT_IN.join(", ")),
        )),
    }
}

/// A table from TOML text.
///
/// # Errors
/// TOML that cannot be parsed, an unknown or missing key or row, a row whose cells are not as many
/// as the columns, an empty cell where a number is needed, a number that is not above 0, a unit that
/// does not fit the row, or section lengths that do not add up to the total.
pub fn parse(name: &str, text: &str) -> Result<Table> {
    let file = format!("layers/surfaces/{name}.toml");
    let raw: RawTable = toml::from_str(text).map_err(|why| {
        Error::new(
            why.message().replace('\n', ", "),
            "correct the table after layers/schema/surfaces.json",
        )
        .in_file(&file)
    })?;
    checked(name, raw).map_err(|why| why.in_file(&file))
}

fn checked(name: &str, raw: RawTable) -> Result<Table> {
    let mut unconfirmed = Vec::new();
    let grids = [
        ("approach", &raw.approach),
        ("take_off", &raw.take_off),
        ("outer_horizontal", &raw.outer_horizontal),
        ("airport", &raw.airport),
        ("heliport", &raw.heliport),
        ("military", &raw.military),
        ("structure", &raw.structure),
        ("notice", &raw.notice),
        ("near_airport", &raw.near_airport),
        ("traverse_way", &raw.traverse_way),
    ];
    for (key, grid) in &grids {
        for (row, content) in grid.iter().flat_map(|grid| &grid.rows) {
            let at = format!("{key}.{row}");
            if grid
                .as_ref()
                .is_some_and(|grid| grid.columns.len() != content.values.len())
            {
                return Err(wrong(&at, "does not have one cell for each column"));
            }
            if content.mark != Mark::Seen {
                unconfirmed.push(Unconfirmed {
                    row: at,
                    mark: content.mark,
                    source: content.source.clone(),
                });
            }
        }
    }
    let grid = |key: &'static str| {
        grids
            .iter()
            .find(|(known, _)| *known == key)
            .and_then(|(_, grid)| grid.as_ref())
            .map(|grid| Grid { key, raw: grid })
            .ok_or_else(|| wrong(key, "is missing"))
    };
    let cells = match raw.kind {
        Kind::Annex14 => Cells::Annex14(Annex14::read(
            &grid("approach")?,
            &grid("take_off")?,
            &grid("outer_horizontal")?,
        )?),
        Kind::Part77 => Cells::Part77(Box::new(Part77::read(grid)?)),
    };
    Ok(Table {
        name: name.to_owned(),
        title: raw.title,
        edition: raw.edition,
        caution: raw.caution,
        cells,
        unconfirmed,
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTable {
    kind: Kind,
    title: String,
    edition: String,
    caution: String,
    approach: Option<RawGrid>,
    take_off: Option<RawGrid>,
    outer_horizontal: Option<RawGrid>,
    airport: Option<RawGrid>,
    heliport: Option<RawGrid>,
    military: Option<RawGrid>,
    structure: Option<RawGrid>,
    notice: Option<RawGrid>,
    near_airport: Option<RawGrid>,
    traverse_way: Option<RawGrid>,
}

#[derive(Clone, Copy, Deserialize)]
enum Kind {
    #[serde(rename = "annex_14")]
    Annex14,
    #[serde(rename = "part_77")]
    Part77,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawGrid {
    #[serde(rename = "section")]
    _section: String,
    columns: Vec<RawColumn>,
    rows: BTreeMap<String, RawRow>,
}

/// The head of a column.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RawColumn {
    /// Its name in the table.
    pub name: String,
    /// The kind of approach it is for.
    pub approach: Option<ApproachType>,
    /// The code numbers it is for.
    #[serde(default)]
    pub code_numbers: Vec<u8>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRow {
    unit: Unit,
    values: Vec<RawCell>,
    source: String,
    mark: Mark,
}

#[derive(Clone, Copy, PartialEq, Eq, Deserialize)]
enum Unit {
    #[serde(rename = "m")]
    Metre,
    #[serde(rename = "ft")]
    Foot,
    #[serde(rename = "NM")]
    NauticalMile,
    #[serde(rename = "%")]
    Percent,
    #[serde(rename = "1:")]
    OneIn,
}

#[derive(Clone, Deserialize)]
#[serde(untagged)]
enum RawCell {
    Number(f64),
    Text(String),
}

/// One part of a table, asked cell by cell.
pub struct Grid<'a> {
    key: &'static str,
    raw: &'a RawGrid,
}

impl Grid<'_> {
    /// The heads of its columns.
    pub fn columns(&self) -> &[RawColumn] {
        &self.raw.columns
    }

    /// A length in metres.
    pub fn length(&self, row: &str, column: usize) -> Result<f64> {
        self.length_if_any(row, column)?
            .ok_or_else(|| self.empty(row, column))
    }

    /// A length in metres; none for an empty cell.
    pub fn length_if_any(&self, row: &str, column: usize) -> Result<Option<f64>> {
        let (unit, value) = self.cell(row, column)?;
        match (unit, value) {
            (_, None) => Ok(None),
            (Unit::Metre, Some(value)) => Ok(Some(value)),
            (Unit::Foot, Some(value)) => Ok(Some(value * METRES_PER_FOOT)),
            (Unit::NauticalMile, Some(value)) => Ok(Some(value * METRES_PER_NAUTICAL_MILE)),
            _ => Err(self.wrong(row, "is a length; its unit is m, ft or NM")),
        }
    }

    /// Where a row comes from.
    pub fn source(&self, row: &str) -> Result<String> {
        Ok(self.row(row)?.source.clone())
    }

    /// A slope or divergence, metres a metre.
    pub fn ratio(&self, row: &str, column: usize) -> Result<f64> {
        self.ratio_if_any(row, column)?
            .ok_or_else(|| self.empty(row, column))
    }

    /// A slope or divergence; none for an empty cell.
    pub fn ratio_if_any(&self, row: &str, column: usize) -> Result<Option<f64>> {
        let (unit, value) = self.cell(row, column)?;
        match (unit, value) {
            (_, None) => Ok(None),
            (Unit::Percent, Some(value)) => Ok(Some(value / 100.0)),
            (Unit::OneIn, Some(value)) => Ok(Some(1.0 / value)),
            _ => Err(self.wrong(row, "is a slope; its unit is % or 1:")),
        }
    }

    /// Whether a cell says `end of strip`.
    pub fn is_end_of_strip(&self, row: &str, column: usize) -> Result<bool> {
        let content = self.row(row)?;
        Ok(matches!(content.values.get(column), Some(RawCell::Text(text)) if text == END_OF_STRIP))
    }

    fn row(&self, row: &str) -> Result<&RawRow> {
        self.raw
            .rows
            .get(row)
            .ok_or_else(|| self.wrong(row, "is missing"))
    }

    fn cell(&self, row: &str, column: usize) -> Result<(Unit, Option<f64>)> {
        let content = self.row(row)?;
        let value = match content.values.get(column) {
            Some(RawCell::Number(number)) if *number > 0.0 && number.is_finite() => Some(*number),
            Some(RawCell::Text(text)) if text == "-" || text == END_OF_STRIP => None,
            _ => {
                return Err(
                    self.wrong(row, "has a cell that is neither a number above 0 nor \"-\"")
                );
            }
        };
        Ok((content.unit, value))
    }

    fn empty(&self, row: &str, column: usize) -> Error {
        let name = self
            .raw
            .columns
            .get(column)
            .map_or("", |it| it.name.as_str());
        self.wrong(row, &format!("has no value for {name}"))
    }

    /// An error about a row.
    pub fn wrong(&self, row: &str, cause: &str) -> Error {
        wrong(&format!("{}.{row}", self.key), cause)
    }
}

const END_OF_STRIP: &str = "end of strip";

fn wrong(key: &str, cause: &str) -> Error {
    Error::new(
        format!("key {key}: {cause}"),
        "correct the table after layers/schema/surfaces.json",
    )
}
