//! The summary of a screening, gathered from its finished rows in one pass of bounded memory.
//!
//! It depends on the rows and on what was read alone, so an interrupted run and joined parts give the
//! same as one run. Not here: words (see [`crate::report::screening`]).

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::fs::File;
use std::path::Path;

use super::columns::{BETWEEN_CODES, Columns, Kind, Status};
use super::table::plain;
use crate::answer::{Cause, Closest, RankedRow, Ranking, ReasonCount, RowRef, WishCount};
use crate::batch::Reason;
use crate::error::{Error, Result};

/// How many rows a list of the summary names, where no number was asked for.
pub const LISTED: usize = 10;

/// How many rows are named for a reason.
const NAMED: usize = 5;

/// What is ranked, and how.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RankBy {
    /// The column.
    pub column: String,
    /// Whether the highest value comes first.
    pub highest_first: bool,
    /// How many rows are kept.
    pub rows: usize,
}

/// Counts and lists over all rows.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// How many rows there are, by [`Status::ALL`].
    pub by_status: [u64; 3],
    /// See [`crate::answer::ScreeningSummary::wishes`].
    pub wishes: Vec<WishCount>,
    /// See [`crate::answer::ScreeningSummary::reasons`].
    pub reasons: Vec<ReasonCount>,
    /// See [`crate::answer::ScreeningSummary::ranking`].
    pub ranking: Ranking,
    /// See [`crate::answer::ScreeningSummary::closest`].
    pub closest: Vec<Closest>,
    /// See [`crate::answer::ScreeningSummary::causes`].
    pub causes: Vec<Cause>,
}

/// The records of a finished file of rows, one after the other; `has_header` where its first line
/// names the columns.
///
/// # Errors
/// A file that cannot be opened.
pub fn records(path: &Path, has_header: bool) -> Result<csv::Reader<File>> {
    let file = File::open(path).map_err(|why| unreadable(path, &why))?;
    Ok(csv::ReaderBuilder::new()
        .has_headers(has_header)
        .buffer_capacity(1 << 18)
        .from_reader(file))
}

/// That a finished file of rows cannot be read.
pub fn unreadable(path: &Path, why: &impl std::fmt::Display) -> Error {
    Error::new(
        format!("cannot be read ({why})"),
        "it is not as it was written: delete the folder and begin again",
    )
    .in_file(path)
}

/// Gathers the summary from the finished file of all rows.
///
/// # Errors
/// A file that cannot be read, or a column to rank by that is not there or holds no numbers.
pub fn gather(path: &Path, columns: &Columns, rank: &RankBy) -> Result<Gathered> {
    let mut gathering = Gathering::of(columns, rank)?;
    let mut rows = records(path, true)?;
    let mut record = csv::StringRecord::new();
    while rows
        .read_record(&mut record)
        .map_err(|why| unreadable(path, &why))?
    {
        gathering.add(&record);
    }
    Ok(gathering.end(rank))
}

/// How many rows of a finished file there are, by [`Status::ALL`].
///
/// # Errors
/// A file that cannot be read.
pub fn by_status(
    path: &Path,
    has_header: bool,
    columns: &Columns,
) -> Result<[u64; Status::ALL.len()]> {
    let place = columns.place("status").unwrap_or_default();
    let mut counts = [0; Status::ALL.len()];
    let mut rows = records(path, has_header)?;
    let mut record = csv::ByteRecord::new();
    while rows
        .read_byte_record(&mut record)
        .map_err(|why| unreadable(path, &why))?
    {
        for (known, count) in Status::ALL.iter().zip(&mut counts) {
            *count += u64::from(record.get(place) == Some(known.code().as_bytes()));
        }
    }
    Ok(counts)
}

/// Checks that rows can be ranked by a column.
///
/// # Errors
/// A column that is not there or holds no numbers; the error names those that do.
pub fn check_rank(columns: &Columns, column: &str) -> Result<usize> {
    let numbers = || {
        columns
            .list()
            .iter()
            .filter(|column| column.kind != Kind::Text)
            .map(|column| column.name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let place = columns.place(column);
    match place.and_then(|place| Some((place, columns.list().get(place)?.kind))) {
        Some((place, Kind::Integer | Kind::Number(_))) => Ok(place),
        Some((_, Kind::Text)) => Err(Error::new(
            format!("--rank: the column \"{column}\" holds no numbers"),
            format!("rank by one of {}", numbers()),
        )),
        None => Err(Error::new(
            format!("--rank: there is no column \"{column}\""),
            format!("rank by one of {}", numbers()),
        )),
    }
}

/// A threshold and the columns that give the distance from it.
struct Threshold {
    title: String,
    measure: String,
    unit: Option<&'static str>,
    value: usize,
    less: Less,
    top: Top,
}

/// What is taken off a value to get its distance from the threshold.
#[derive(Clone, Copy)]
enum Less {
    Nothing,
    Column(usize),
    /// The distance from 1 decides, the value itself is shown; 1 is no case.
    One,
}

struct Gathering {
    places: Places,
    by_status: [u64; 3],
    wishes: Vec<(usize, WishCount)>,
    reasons: Vec<(u64, Vec<RowRef>)>,
    ranked: u64,
    rank: Top,
    thresholds: Vec<Threshold>,
    causes: BTreeMap<String, Cause>,
}

struct Places {
    row: usize,
    id: usize,
    name: usize,
    status: usize,
    error: usize,
    reasons: usize,
    rank: usize,
    /// What the ceiling that is ranked by holds for, where one is.
    ceiling_of: Option<usize>,
}

impl Gathering {
    fn of(columns: &Columns, rank: &RankBy) -> Result<Self> {
        let place = |name: &str| {
            columns.place(name).ok_or_else(|| {
                Error::new(
                    format!("there is no column \"{name}\""),
                    "report this defect",
                )
            })
        };
        let mut thresholds = vec![Threshold {
            title: "edge of a ring or zone".to_owned(),
            measure: "zone_margin_m".to_owned(),
            unit: Some("m"),
            value: place("zone_margin_m")?,
            less: Less::Nothing,
            top: Top::new(LISTED, Order::LeastMagnitude),
        }];
        let mut wishes = Vec::new();
        for (of_ceiling, of_wishes) in columns.suffixes() {
            let share = format!("covered_share{of_ceiling}");
            thresholds.push(Threshold {
                title: format!("wholly covered{}", in_case(&of_ceiling)),
                measure: share.clone(),
                unit: None,
                value: place(&share)?,
                less: Less::One,
                top: Top::new(LISTED, Order::Highest),
            });
            let ceiling = format!("ceiling_m_agl{of_ceiling}");
            for of_wish in of_wishes {
                let height = format!("wished_height_m_agl{of_wish}");
                thresholds.push(Threshold {
                    title: format!("wished height{}", in_case(&of_wish)),
                    measure: format!("{ceiling} - {height}"),
                    unit: Some("m"),
                    value: place(&ceiling)?,
                    less: Less::Column(place(&height)?),
                    top: Top::new(LISTED, Order::LeastMagnitude),
                });
                let column = format!("wish{of_wish}");
                wishes.push((
                    place(&column)?,
                    WishCount {
                        column,
                        everywhere: 0,
                        in_part: 0,
                        nowhere: 0,
                        undetermined: 0,
                    },
                ));
            }
        }
        Ok(Self {
            places: Places {
                row: place("row")?,
                id: place("id")?,
                name: place("name")?,
                status: place("status")?,
                error: place("error")?,
                reasons: place("reasons")?,
                rank: check_rank(columns, &rank.column)?,
                ceiling_of: ["ceiling_m_agl", "ceiling_m_amsl"].iter().find_map(|base| {
                    let suffix = rank.column.strip_prefix(base)?;
                    columns.place(&format!("ceiling_of{suffix}"))
                }),
            },
            by_status: [0; 3],
            wishes,
            reasons: vec![(0, Vec::new()); Reason::ALL.len()],
            ranked: 0,
            rank: Top::new(
                rank.rows,
                if rank.highest_first {
                    Order::Highest
                } else {
                    Order::Lowest
                },
            ),
            thresholds,
            causes: BTreeMap::new(),
        })
    }

    fn add(&mut self, record: &csv::StringRecord) {
        let cell = |place: usize| record.get(place).unwrap_or_default();
        let number = |place: usize| cell(place).parse::<f64>().ok();
        let places = &self.places;
        let row = RowRef {
            row: cell(places.row).parse().unwrap_or_default(),
            id: plain(cell(places.id)).to_owned(),
        };
        let status = cell(places.status);
        for (known, count) in Status::ALL.iter().zip(&mut self.by_status) {
            *count += u64::from(known.code() == status);
        }
        for (place, count) in &mut self.wishes {
            match cell(*place) {
                "everywhere" => count.everywhere += 1,
                "in_part" => count.in_part += 1,
                "nowhere" => count.nowhere += 1,
                "undetermined" => count.undetermined += 1,
                _ => {}
            }
        }
        let codes = || cell(places.reasons).split(BETWEEN_CODES);
        for code in codes() {
            let known = Reason::ALL.iter().position(|reason| reason.code() == code);
            if let Some((count, first)) = known.and_then(|index| self.reasons.get_mut(index)) {
                *count += 1;
                if first.len() < NAMED {
                    first.push(row.clone());
                }
            }
        }
        if status == Status::NotAnswered.code() {
            // The reasons begin with the one that says so; the one behind it says why.
            let code = codes().nth(1).unwrap_or(Reason::NotAnswered.code());
            let cause = self.causes.entry(code.to_owned()).or_insert_with(|| Cause {
                code: code.to_owned(),
                rows: 0,
                first: Vec::new(),
            });
            cause.rows += 1;
            if cause.first.len() < NAMED {
                let error = plain(cell(places.error)).to_owned();
                cause.first.push((row.clone(), error));
            }
        }
        let named = || {
            Some(plain(cell(places.name)))
                .filter(|name| !name.is_empty())
                .map(str::to_owned)
        };
        let ranked = |value: f64| RankedRow {
            row: row.clone(),
            name: named(),
            value,
            ceiling_of: None,
        };
        if let Some(value) = number(places.rank) {
            self.ranked += 1;
            let of = places.ceiling_of.map(cell).filter(|of| !of.is_empty());
            let class = u8::from(of.is_some_and(|of| of != "whole"));
            self.rank.offer(class, value, |value| RankedRow {
                ceiling_of: of.map(str::to_owned),
                ..ranked(value)
            });
        }
        for threshold in &mut self.thresholds {
            let distance = match (number(threshold.value), threshold.less) {
                (Some(value), Less::Nothing) => Some(value),
                (Some(value), Less::Column(column)) => number(column).map(|less| value - less),
                (Some(value), Less::One) if value < 1.0 => Some(value),
                _ => None,
            };
            if let Some(distance) = distance {
                // The difference of two numbers of centimetres has noise behind them.
                let rounded = (distance * 1e6).round() / 1e6;
                threshold.top.offer(0, rounded, ranked);
            }
        }
    }

    fn end(self, rank: &RankBy) -> Gathered {
        let mut reasons: Vec<ReasonCount> = Reason::ALL
            .iter()
            .zip(self.reasons)
            .filter(|(_, (count, _))| *count > 0)
            .map(|(reason, (rows, first))| ReasonCount {
                code: reason.code(),
                words: reason.words(),
                rows,
                first,
            })
            .collect();
        reasons.sort_by_key(|reason| std::cmp::Reverse(reason.rows));
        Gathered {
            by_status: self.by_status,
            wishes: self.wishes.into_iter().map(|(_, count)| count).collect(),
            reasons,
            ranking: Ranking {
                column: rank.column.clone(),
                highest_first: rank.highest_first,
                ranked: self.ranked,
                first: self.rank.into_rows(),
            },
            closest: self
                .thresholds
                .into_iter()
                .filter(|threshold| !threshold.top.rows.is_empty())
                .map(|threshold| Closest {
                    threshold: threshold.title,
                    measure: threshold.measure,
                    unit: threshold.unit,
                    rows: threshold.top.into_rows(),
                })
                .collect(),
            causes: self.causes.into_values().collect(),
        }
    }
}

/// What varies in a case, from what follows the names of its columns: `, reach 50m, margin 0m`.
fn in_case(suffix: &str) -> String {
    suffix.replace("__", ", ").replace('_', " ")
}

#[derive(Clone, Copy)]
enum Order {
    Highest,
    Lowest,
    LeastMagnitude,
}

impl Order {
    fn compare(self, a: f64, b: f64) -> Ordering {
        match self {
            Self::Highest => b.total_cmp(&a),
            Self::Lowest => a.total_cmp(&b),
            Self::LeastMagnitude => a.abs().total_cmp(&b.abs()),
        }
    }
}

/// The first rows of an order; of equal ones, those that came first.
struct Top {
    most: usize,
    order: Order,
    /// Rows with their class: all of a lower one come first.
    rows: Vec<(u8, RankedRow)>,
}

impl Top {
    const fn new(most: usize, order: Order) -> Self {
        Self {
            most,
            order,
            rows: Vec::new(),
        }
    }

    fn offer(&mut self, class: u8, value: f64, row: impl Fn(f64) -> RankedRow) {
        let place = self.rows.partition_point(|(known, before)| {
            let order = known
                .cmp(&class)
                .then_with(|| self.order.compare(before.value, value));
            order != Ordering::Greater
        });
        if place < self.most {
            self.rows.truncate(self.most.saturating_sub(1));
            self.rows.insert(place, (class, row(value)));
        }
    }

    fn into_rows(self) -> Vec<RankedRow> {
        self.rows.into_iter().map(|(_, row)| row).collect()
    }
}
