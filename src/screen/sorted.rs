//! Which identifiers of a file occur more than once, however many there are.
//!
//! Identifiers are compared by a hash of 64 bits. Runs of pairs are sorted in memory and laid aside in
//! temporary files, then merged, so that memory does not depend on how many sites there are. Two
//! different identifiers have the same hash with a chance of 3 in 10 million among 10 million sites
//! (n² / 2⁶⁵), and are then said to be one. Not here: what is done about them.

use std::collections::BinaryHeap;
use std::collections::hash_map::DefaultHasher;
use std::fs::File;
use std::hash::{Hash, Hasher};
use std::io::{BufReader, BufWriter, Read, Seek, Write};

use crate::error::{Error, Result};

/// How many identifiers are sorted in memory: 16 MB.
const IN_MEMORY: usize = 1 << 20;

/// How much of each run is held while they are merged, bytes.
const MERGE_BUFFER: usize = 1 << 16;

/// The hash of an identifier and the number of the site.
type Pair = (u64, u64);

/// Identifiers as they come.
#[derive(Default)]
pub struct Identifiers {
    pairs: Vec<Pair>,
    runs: Vec<File>,
    most: Option<usize>,
}

impl Identifiers {
    /// Sorts `most` identifiers in memory and lays more aside.
    #[must_use]
    pub fn with_room_for(most: usize) -> Self {
        Self {
            most: Some(most),
            ..Self::default()
        }
    }

    /// The hash of an identifier.
    #[must_use]
    pub fn hash(id: &str) -> u64 {
        let mut hasher = DefaultHasher::new();
        id.hash(&mut hasher);
        hasher.finish()
    }

    /// Adds the hash of the identifier of the site with a number.
    ///
    /// # Errors
    /// No room for temporary files.
    pub fn add(&mut self, hash: u64, number: u64) -> Result<()> {
        self.pairs.push((hash, number));
        if self.pairs.len() < self.most.unwrap_or(IN_MEMORY) {
            return Ok(());
        }
        self.pairs.sort_unstable();
        let run = lay_aside(&self.pairs).map_err(|why| no_room(&why))?;
        self.pairs.clear();
        self.runs.push(run);
        Ok(())
    }

    /// The numbers of the sites whose identifier another site has before them, with the number of
    /// the first that has it: how many there are, and the first `most` of them by number.
    ///
    /// # Errors
    /// Temporary files that cannot be read.
    pub fn repeated(mut self, most: usize) -> Result<Repeated> {
        self.pairs.sort_unstable();
        let mut runs: Vec<Box<dyn Iterator<Item = std::io::Result<Pair>>>> =
            vec![Box::new(self.pairs.into_iter().map(Ok))];
        for run in self.runs {
            let reader = BufReader::with_capacity(MERGE_BUFFER, run);
            runs.push(Box::new(Pairs(reader)));
        }
        merge(runs, most).map_err(|why| no_room(&why))
    }
}

/// Sites that repeat an identifier.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Repeated {
    /// How many there are.
    pub count: u64,
    /// The first of them: their number and that of the first site with the same identifier.
    pub first: Vec<(u64, u64)>,
}

fn merge(
    mut runs: Vec<Box<dyn Iterator<Item = std::io::Result<Pair>>>>,
    most: usize,
) -> std::io::Result<Repeated> {
    let mut heap = BinaryHeap::new();
    for (index, run) in runs.iter_mut().enumerate() {
        if let Some(pair) = run.next() {
            heap.push(std::cmp::Reverse((pair?, index)));
        }
    }
    let mut found = Repeated::default();
    // The greatest number on top, to be thrown out when there are too many.
    let mut kept: BinaryHeap<(u64, u64)> = BinaryHeap::new();
    let mut before: Option<Pair> = None;
    while let Some(std::cmp::Reverse(((hash, number), index))) = heap.pop() {
        match before {
            Some((same, first)) if same == hash => {
                found.count += 1;
                kept.push((number, first));
                if kept.len() > most {
                    kept.pop();
                }
            }
            _ => before = Some((hash, number)),
        }
        if let Some(pair) = runs.get_mut(index).and_then(Iterator::next) {
            heap.push(std::cmp::Reverse((pair?, index)));
        }
    }
    found.first = kept.into_sorted_vec();
    Ok(found)
}

fn lay_aside(pairs: &[Pair]) -> std::io::Result<File> {
    let mut writer = BufWriter::new(tempfile::tempfile()?);
    for (hash, number) in pairs {
        writer.write_all(&hash.to_le_bytes())?;
        writer.write_all(&number.to_le_bytes())?;
    }
    let mut file = writer.into_inner().map_err(|why| why.into_error())?;
    file.rewind()?;
    Ok(file)
}

struct Pairs(BufReader<File>);

impl Iterator for Pairs {
    type Item = std::io::Result<Pair>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut bytes = [0; 16];
        match self.0.read_exact(&mut bytes) {
            Ok(()) => {
                let both = u128::from_le_bytes(bytes);
                Some(Ok((both as u64, (both >> 64) as u64)))
            }
            Err(why) if why.kind() == std::io::ErrorKind::UnexpectedEof => None,
            Err(why) => Some(Err(why)),
        }
    }
}

fn no_room(why: &std::io::Error) -> Error {
    Error::new(
        format!("temporary files for the identifiers cannot be used ({why})"),
        "make room in the temporary folder, or set TMPDIR",
    )
    .in_file(std::env::temp_dir())
}
