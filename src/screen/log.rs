//! The file of rows: written row after row, taken up again after any interruption, whole when done.
//!
//! While rows are missing it is called [`PARTIAL`]; when the last one is there it becomes [`ROWS`] in
//! one step. A row ends in a line end and in the same words as every other, so one that was cut short
//! is told from a whole one and cut off. Not here: what rows say.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::columns::CAUTION;
use crate::error::{Error, Result};

/// The name of the finished file.
pub const ROWS: &str = "rows.csv";

/// The name of the file while rows are missing.
pub const PARTIAL: &str = "rows.csv.partial";

/// How often what was written is forced to the disk, so that a power cut costs no more than that.
const TO_DISK_EVERY: Duration = Duration::from_secs(10);

/// How much is read at a time, bytes.
const BUFFER_BYTES: usize = 1 << 18;

/// A file of rows being written.
#[derive(Debug)]
pub struct RowLog {
    file: File,
    path: PathBuf,
    to_disk: Instant,
}

/// What rows a file must hold.
#[derive(Clone, Copy, Debug)]
pub struct Expected<'a> {
    /// The first line with the names of the columns, where the file has one.
    pub header: Option<&'a [u8]>,
    /// How many columns a row has.
    pub columns: usize,
    /// The number of the first row.
    pub first: u64,
    /// How many rows there are when it is finished.
    pub rows: u64,
}

impl RowLog {
    /// Opens the unfinished file of a folder, or begins one, and says how many of its rows stand.
    /// Whatever follows the last whole row is cut off.
    ///
    /// # Errors
    /// A file that another run writes, or that cannot be read or written.
    pub fn open(folder: &Path, expected: &Expected<'_>) -> Result<(Self, u64)> {
        let path = folder.join(PARTIAL);
        let failed = |why: &std::io::Error| unwritten(&path, why);
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(|why| failed(&why))?;
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => {
                return Err(Error::new(
                    "is being written by another run",
                    "wait for it, or choose another folder",
                )
                .in_file(&path));
            }
            // A file system without locks: nothing is lost by going on.
            Ok(()) | Err(TryLockError::Error(_)) => {}
        }
        let (rows, end) = standing(&file, expected).map_err(|why| failed(&why))?;
        file.set_len(end).map_err(|why| failed(&why))?;
        file.seek(SeekFrom::End(0)).map_err(|why| failed(&why))?;
        let mut log = Self {
            file,
            path,
            to_disk: Instant::now(),
        };
        if end == 0
            && let Some(header) = expected.header
        {
            log.append(header)?;
        }
        Ok((log, rows))
    }

    /// Appends whole rows.
    ///
    /// # Errors
    /// No room, or a folder that has gone. Whole rows stand; the rest is cut off when the run is
    /// taken up again.
    pub fn append(&mut self, rows: &[u8]) -> Result<()> {
        let written = self.file.write_all(rows).and_then(|()| {
            if self.to_disk.elapsed() < TO_DISK_EVERY {
                return Ok(());
            }
            self.to_disk = Instant::now();
            self.file.sync_data()
        });
        written.map_err(|why| unwritten(&self.path, &why))
    }

    /// Gives the file its final name.
    ///
    /// # Errors
    /// See [`Self::append`].
    pub fn finish(self) -> Result<PathBuf> {
        let finished = self.path.with_file_name(ROWS);
        self.file
            .sync_all()
            .and_then(|()| std::fs::rename(&self.path, &finished))
            .map_err(|why| unwritten(&finished, &why))?;
        Ok(finished)
    }
}

/// That a file of rows could not be written.
pub fn unwritten(path: &Path, why: &std::io::Error) -> Error {
    Error::new(
        format!("cannot be written ({why})"),
        "check the folder, its permissions and the space left; the same command goes on from here",
    )
    .in_file(path)
}

/// How many whole rows stand at the beginning of a file, and where the last one ends.
fn standing(file: &File, expected: &Expected<'_>) -> std::io::Result<(u64, u64)> {
    let mut reader = BufReader::with_capacity(BUFFER_BYTES, file);
    let mut start = 0;
    if let Some(header) = expected.header {
        let mut found = vec![0; header.len()];
        if reader.read_exact(&mut found).is_err() || found != header {
            return Ok((0, 0));
        }
        start = header.len() as u64;
    }
    let length = file.metadata()?.len();
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .buffer_capacity(BUFFER_BYTES)
        .from_reader(reader);
    let mut record = csv::ByteRecord::new();
    let (mut count, mut end) = (0, start);
    while count < expected.rows && rows.read_byte_record(&mut record)? {
        let number = expected.first + count;
        let is_row = record.len() == expected.columns
            && record.get(0) == Some(number.to_string().as_bytes())
            && record.iter().next_back() == Some(CAUTION.as_bytes());
        let at = start + rows.position().byte();
        // At the end of the file a row may lack its line end.
        if !is_row || (at == length && !ends_a_line(file, length)?) {
            break;
        }
        count += 1;
        end = at;
    }
    Ok((count, end))
}

fn ends_a_line(mut file: &File, length: u64) -> std::io::Result<bool> {
    let before = file.stream_position()?;
    file.seek(SeekFrom::Start(length.saturating_sub(1)))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    file.seek(SeekFrom::Start(before))?;
    Ok(last == [b'\n'])
}
