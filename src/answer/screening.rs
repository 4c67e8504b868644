//! The [`ScreeningSummary`]: what many sites were answered, counted and ranked, as data.
//!
//! Not here: how it is gathered (see [`crate::screen`]) or worded (see [`crate::report`]).

use serde::Serialize;

use super::{LayerAnswer, NotAssessed};
use crate::error::Caution;

/// The version of the JSON form of [`ScreeningSummary`]; raised when a key changes its meaning.
pub const SUMMARY_FORMAT: &str = "eaves-screen-summary/1";

/// What many sites were answered.
#[derive(Clone, Debug, Serialize)]
pub struct ScreeningSummary {
    /// [`SUMMARY_FORMAT`].
    pub format: &'static str,
    /// [`crate::answer::CAUTION`].
    pub caution: &'static str,
    /// Version of eaves.
    pub version: &'static str,
    /// The date the answers hold for, `YYYY-MM-DD`.
    pub date: String,
    /// The rule profile.
    pub profile: SummaryProfile,
    /// The file of sites.
    pub sites_file: String,
    /// The coordinate reference system of that file.
    pub sites_crs: String,
    /// Settings that decide numbers, as on the command line.
    pub settings: Vec<(String, String)>,
    /// How many rows there are.
    pub rows: u64,
    /// Rows with every question answered.
    pub answered: u64,
    /// Rows with something undecided or conditional.
    pub undecided: u64,
    /// Rows of sites that could not be answered.
    pub not_answered: u64,
    /// How often each answer to each wished height was given.
    pub wishes: Vec<WishCount>,
    /// How many rows carry each reason, the most frequent first.
    pub reasons: Vec<ReasonCount>,
    /// The rows by the key that was asked for.
    pub ranking: Ranking,
    /// For each threshold, the rows that come closest to it.
    pub closest: Vec<Closest>,
    /// Sites that could not be answered, by what is wrong.
    pub causes: Vec<Cause>,
    /// Identifiers that occur more than once.
    pub repeated: RepeatedIds,
    /// What was not assessed, and why.
    pub not_assessed: Vec<NotAssessed>,
    /// Defects in the layers and assumptions made, with their effect.
    pub cautions: Vec<Caution>,
    /// The layers that were read.
    pub layers: Vec<LayerAnswer>,
}

/// The rule profile of a screening.
#[derive(Clone, Debug, Serialize)]
pub struct SummaryProfile {
    /// Its name, as given to `--profile`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What the profile is not.
    pub caution: String,
}

/// How the sites answer one wished height.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WishCount {
    /// The column that holds the answers.
    pub column: String,
    /// Allowed everywhere on the site.
    pub everywhere: u64,
    /// Allowed on part of it.
    pub in_part: u64,
    /// Allowed nowhere on it.
    pub nowhere: u64,
    /// Undetermined.
    pub undetermined: u64,
}

/// How many rows carry a reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReasonCount {
    /// Its code.
    pub code: &'static str,
    /// What it means.
    pub words: &'static str,
    /// How many rows carry it.
    pub rows: u64,
    /// The first of them.
    pub first: Vec<RowRef>,
}

/// One row by its number and the identifier of its site.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RowRef {
    /// Its number, counted from 1.
    pub row: u64,
    /// The identifier.
    pub id: String,
}

/// The rows ranked by a column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ranking {
    /// The column.
    pub column: String,
    /// Whether the highest value comes first.
    pub highest_first: bool,
    /// How many rows have a value to rank by.
    pub ranked: u64,
    /// The first rows; equal values in the order of the file. By a ceiling, those of a whole site
    /// come before those of the covered part of one.
    pub first: Vec<RankedRow>,
}

/// A row with the value that it was chosen for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RankedRow {
    /// Which row.
    #[serde(flatten)]
    pub row: RowRef,
    /// Its name, if it has one.
    pub name: Option<String>,
    /// The value, rounded as in the row.
    pub value: f64,
    /// What the ceiling of the row holds for: `whole`, `determined_part`, or none without one.
    pub ceiling_of: Option<String>,
}

/// The rows closest to a threshold.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closest {
    /// The threshold: "edge of a zone".
    pub threshold: String,
    /// What is shown of each row, as columns.
    pub measure: String,
    /// The unit of the value: `m`, or none for a share.
    pub unit: Option<&'static str>,
    /// The rows, the closest first.
    pub rows: Vec<RankedRow>,
}

/// Sites that could not be answered for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cause {
    /// The code of the reason.
    pub code: String,
    /// How many.
    pub rows: u64,
    /// The first of them, with their error.
    pub first: Vec<(RowRef, String)>,
}

/// Identifiers that occur more than once.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct RepeatedIds {
    /// How many sites repeat the identifier of one before them.
    pub rows: u64,
    /// The first of them: the number of the row, and that of the first row with the identifier.
    pub first: Vec<(u64, u64)>,
}
