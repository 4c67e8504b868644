//! What a folder of rows was made from: inputs by their contents, settings by their values.
//!
//! Written as [`RECORD`] before the first row, so that a run is only taken up, and parts are only
//! joined, where everything that decides a number is the same. Not here: how files are compared byte
//! by byte; a fingerprint of 128 bits stands for each (XXH3, which finds accidents and not forgery).

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use twox_hash::XxHash3_128;

use crate::error::{Error, Result};

/// The name of the file.
pub const RECORD: &str = "run.json";

/// The form of the record; raised when one of its values changes its meaning.
pub const FORMAT: &str = "eaves-screen-run/1";

/// How much of a file is read at a time, bytes.
const BUFFER_BYTES: usize = 1 << 18;

/// One input file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Input {
    /// Its name.
    pub file: String,
    /// Its length, bytes.
    pub bytes: u64,
    /// The XXH3 hash of its contents, 128 bits in hexadecimal digits.
    pub xxh3_128: String,
}

/// What a folder of rows was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunRecord {
    /// [`FORMAT`].
    pub format: String,
    /// The version of eaves.
    pub version: String,
    /// The file of sites.
    pub sites: Input,
    /// The files of the layers folder, by name.
    pub layers: Vec<Input>,
    /// Every setting that decides a number, as on the command line.
    pub settings: BTreeMap<String, String>,
    /// The part, as `2/5`; none for all.
    pub part: Option<String>,
    /// The number of the first row, counted from 1.
    pub first_row: u64,
    /// How many rows there are when it is finished.
    pub rows: u64,
    /// The names of the columns.
    pub columns: Vec<String>,
}

impl RunRecord {
    /// The record of a folder; none where there is none.
    ///
    /// # Errors
    /// A record that cannot be read or is damaged.
    pub fn of(folder: &Path) -> Result<Option<Self>> {
        let path = folder.join(RECORD);
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(why)
                if matches!(
                    why.kind(),
                    std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory
                ) =>
            {
                return Ok(None);
            }
            Err(why) => {
                return Err(
                    Error::new(format!("cannot be read ({why})"), "choose another folder")
                        .in_file(path),
                );
            }
        };
        serde_json::from_str(&text).map(Some).map_err(|why| {
            Error::new(
                format!("is not the record of a screening of this version ({why})"),
                "choose another folder, or delete this one",
            )
            .in_file(path)
        })
    }

    /// What differs from another record, in words; nothing where rows of both go together. Parts are
    /// not compared.
    #[must_use]
    pub fn differences(&self, before: &Self) -> Vec<String> {
        let mut found = Vec::new();
        if self.format != before.format || self.version != before.version {
            found.push(format!(
                "eaves is version {}, was {}",
                self.version, before.version
            ));
        }
        if self.sites.xxh3_128 != before.sites.xxh3_128 {
            found.push(format!("the sites of {} changed", self.sites.file));
        }
        let by_name = |inputs: &[Input]| -> BTreeMap<String, String> {
            inputs
                .iter()
                .map(|it| (it.file.clone(), it.xxh3_128.clone()))
                .collect()
        };
        let layers = |name: &str, was: Option<&String>, is: Option<&String>| match (was, is) {
            (Some(_), None) => Some(format!("the layer file {name} has gone")),
            (None, Some(_)) => Some(format!("the layer file {name} is new")),
            _ => Some(format!("the layer file {name} changed")),
        };
        compare(
            &by_name(&before.layers),
            &by_name(&self.layers),
            layers,
            &mut found,
        );
        let settings = |name: &str, was: Option<&String>, is: Option<&String>| {
            let or_none =
                |value: Option<&String>| value.map_or("not given", String::as_str).to_owned();
            // The hash of a profile says nothing to a reader.
            if name == PROFILE_VALUES {
                return Some("the rule profile changed".to_owned());
            }
            Some(format!("{name} is {}, was {}", or_none(is), or_none(was)))
        };
        compare(&before.settings, &self.settings, settings, &mut found);
        if found.is_empty() && self.columns != before.columns {
            found.push("the columns differ".to_owned());
        }
        found
    }

    /// The record as text.
    ///
    /// # Errors
    /// None that memory does not give.
    pub fn text(&self) -> Result<String> {
        crate::report::json::indented(self)
    }
}

/// The setting that holds the hash of a profile's values.
pub const PROFILE_VALUES: &str = "profile values";

type Pairs = BTreeMap<String, String>;

fn compare(
    was: &Pairs,
    is: &Pairs,
    words: impl Fn(&str, Option<&String>, Option<&String>) -> Option<String>,
    found: &mut Vec<String>,
) {
    let names: std::collections::BTreeSet<&String> = was.keys().chain(is.keys()).collect();
    for name in names {
        if was.get(name) != is.get(name) {
            found.extend(words(name, was.get(name), is.get(name)));
        }
    }
}

/// The fingerprint of a text.
#[must_use]
pub fn fingerprint(text: &str) -> String {
    format!("{:032x}", XxHash3_128::oneshot(text.as_bytes()))
}

/// A file as an input.
///
/// # Errors
/// A file that cannot be read.
pub fn input(path: &Path) -> Result<Input> {
    let failed = |why: std::io::Error| {
        Error::new(
            format!("cannot be read ({why})"),
            "check that it may be read",
        )
        .in_file(path)
    };
    let mut file = File::open(path).map_err(failed)?;
    let mut hasher = XxHash3_128::new();
    let mut buffer = vec![0; BUFFER_BYTES];
    let mut bytes = 0;
    loop {
        let count = file.read(&mut buffer).map_err(failed)?;
        if count == 0 {
            break;
        }
        bytes += count as u64;
        hasher.write(buffer.get(..count).unwrap_or_default());
    }
    Ok(Input {
        file: crate::read::layer::file_name(path),
        bytes,
        xxh3_128: format!("{:032x}", hasher.finish_128()),
    })
}

/// The files of a folder of layers as inputs, by name; hidden files are left out.
///
/// # Errors
/// A folder or file that cannot be read.
pub fn inputs(folder: &Path) -> Result<Vec<Input>> {
    let entries = std::fs::read_dir(folder).and_then(|entries| {
        entries
            .map(|entry| entry.map(|entry| entry.path()))
            .collect::<std::io::Result<Vec<PathBuf>>>()
    });
    let mut paths = entries.map_err(|why| {
        Error::new(
            format!("cannot be listed ({why})"),
            "check that it may be read",
        )
        .in_file(folder)
    })?;
    paths.retain(|path| path.is_file() && !crate::read::layer::file_name(path).starts_with('.'));
    paths.sort();
    paths.iter().map(|path| input(path)).collect()
}
