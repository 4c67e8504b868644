//! Parts of one screening put together: their rows, one file after the other.
//!
//! Not here: what is made of them then.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use super::columns::Columns;
use super::log::{Expected, PARTIAL, ROWS, RowLog, unwritten};
use super::record::{RECORD, RunRecord};
use super::summary::unreadable;
use super::table;
use crate::error::{Error, Result};

/// Puts the rows of all parts, which are [`ordered`], into a folder, as one run would have written
/// them.
///
/// # Errors
/// Rows that do not follow one another; files that cannot be read or written.
pub fn join(parts: &[&PathBuf], out: &Path, record: &RunRecord, columns: &Columns) -> Result<()> {
    let partial = out.join(PARTIAL);
    let mut joined = File::create(&partial).map_err(|why| unwritten(&partial, &why))?;
    for part in parts {
        let path = part.join(ROWS);
        let file = File::open(&path).map_err(|why| unreadable(&path, &why))?;
        std::io::copy(&mut BufReader::with_capacity(1 << 20, file), &mut joined)
            .map_err(|why| unwritten(&partial, &why))?;
    }
    drop(joined);
    let mut header = table::Writer::default();
    header.header(columns.list())?;
    let header = header.into_bytes()?;
    let expected = Expected {
        header: Some(&header),
        columns: columns.list().len(),
        first: 1,
        rows: record.rows,
    };
    let (log, rows) = RowLog::open(out, &expected)?;
    if rows != record.rows {
        return Err(Error::new(
            format!("the parts hold {rows} of {} rows in order", record.rows),
            "a part is not as it was written: run it again",
        )
        .in_file(out));
    }
    log.finish()?;
    Ok(())
}

/// The folders of all parts, in the order of their rows.
///
/// # Errors
/// A part that is missing, given twice, not finished, or of another screening.
pub fn ordered<'a>(parts: &'a [PathBuf], record: &RunRecord) -> Result<Vec<&'a PathBuf>> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    let mut found: Vec<(u64, RunRecord, &PathBuf)> = Vec::new();
    for folder in parts {
        let Some(part) = RunRecord::of(folder)? else {
            return Err(Error::new(
                format!("has no {RECORD}"),
                "give the folders that --part runs wrote",
            )
            .in_file(folder));
        };
        let differences = record.differences(&part);
        if let Some(difference) = differences.first() {
            return Err(Error::new(
                format!("is a part of another screening: {difference}"),
                "join with the sites, layers and settings that the parts were run with",
            )
            .in_file(folder));
        }
        if part.part.is_none() {
            return Err(
                Error::new("holds all rows, not a part", "nothing is to be joined").in_file(folder),
            );
        }
        if !folder.join(ROWS).is_file() {
            return Err(Error::new(
                format!("is not finished: it has no {ROWS}"),
                "run the part to its end with the same command",
            )
            .in_file(folder));
        }
        found.push((part.first_row, part, folder));
    }
    // A part without rows stands before the one that begins with the same row.
    found.sort_by_key(|(first, part, _)| (*first, part.rows));
    let mut next = 1;
    for (first, part, folder) in &found {
        if *first != next {
            let cause = if *first > next {
                format!("the part with row {next} is missing")
            } else {
                format!("row {first} is in two parts")
            };
            return Err(Error::new(cause, "give every part once").in_file(folder));
        }
        next = first + part.rows;
    }
    if next != record.rows + 1 {
        return Err(Error::new(
            format!("the part with row {next} is missing"),
            "give every part once",
        ));
    }
    Ok(found.into_iter().map(|(_, _, folder)| folder).collect())
}
