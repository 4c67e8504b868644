//! The output folder: new, or that of the same screening.
//!
//! Not here: what is written into it.

use std::path::Path;

use super::log::unwritten;
use super::record::{RECORD, RunRecord};
use crate::error::{Error, Result};
use crate::report::text::harmless;
use crate::request::outputs::{Prepared, put_in_place};

/// How many names and differences a refusal lists.
const LISTED: usize = 5;

/// Makes the folder where there is none; false where an earlier run of the same screening has noted in
/// it what it is for.
///
/// # Errors
/// A folder with other files, or of another screening; a file in its place; no permission.
pub fn prepare(folder: &Path, record: &RunRecord) -> Result<bool> {
    match std::fs::metadata(folder) {
        Ok(found) if !found.is_dir() => {
            return Err(Error::new("is a file", "--out needs a folder").in_file(folder));
        }
        Ok(_) => {}
        Err(_) => std::fs::create_dir_all(folder).map_err(|why| unwritten(folder, &why))?,
    }
    let Some(before) = RunRecord::of(folder)? else {
        refuse_other_files(folder)?;
        return Ok(true);
    };
    let mut differences = record.differences(&before);
    if record.part != before.part {
        let words = |part: &Option<String>| {
            part.clone()
                .map_or("all rows".into(), |it| format!("part {it}"))
        };
        differences.push(format!(
            "{} asked for, was {}",
            words(&record.part),
            words(&before.part)
        ));
    }
    if differences.is_empty() {
        return Ok(false);
    }
    Err(Error::new(
        format!("holds another screening: {}", listed(&differences, "; ")),
        "put it back as it was to go on, or choose another folder",
    )
    .in_file(folder))
}

/// Notes in a folder what it is for.
///
/// # Errors
/// No permission or no room.
pub fn note(folder: &Path, record: &RunRecord) -> Result<()> {
    put_in_place(&[Prepared {
        path: folder.join(RECORD),
        bytes: record.text()?.into_bytes(),
    }])
}

fn refuse_other_files(folder: &Path) -> Result<()> {
    let names = std::fs::read_dir(folder)
        .and_then(|entries| {
            entries
                .map(|entry| entry.map(|entry| entry.file_name().to_string_lossy().into_owned()))
                .collect::<std::io::Result<Vec<_>>>()
        })
        .map_err(|why| {
            Error::new(
                format!("cannot be listed ({why})"),
                "check that it may be read",
            )
            .in_file(folder)
        })?;
    // What a killed run left beside the record that it had not put in place yet.
    let mut names: Vec<String> = names
        .into_iter()
        .filter(|name| !name.starts_with(".eaves-"))
        .map(|name| harmless(&name))
        .collect();
    names.sort();
    if names.is_empty() {
        return Ok(());
    }
    Err(Error::new(
        format!("holds other files: {}", listed(&names, ", ")),
        "choose a new or empty folder",
    )
    .in_file(folder))
}

fn listed(words: &[String], between: &str) -> String {
    let mut text = words
        .iter()
        .take(LISTED)
        .cloned()
        .collect::<Vec<_>>()
        .join(between);
    if words.len() > LISTED {
        text.push_str(&format!("{between}and {} more", words.len() - LISTED));
    }
    text
}
