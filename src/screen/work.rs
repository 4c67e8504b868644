//! Sites in the order of their file through all threads: one reads, all work, results come in order.
//!
//! No more than a few batches are held at a time. Threads are those of the process, which live as long
//! as it does: each keeps conversions of coordinates, and a thread that ended beside the process would
//! take them down while the process takes down their library. Not here: what the work is.

use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, sync_channel};
use std::time::{Duration, Instant};

use rayon::prelude::*;

use crate::error::{Error, Result};
use crate::read::sites::{RawSite, SiteFile};

/// How many batches wait between the reader and the workers.
const BATCHES_WAITING: usize = 2;

/// A batch is about so long to work on: short enough that little is lost when the run is stopped,
/// long enough that the threads seldom wait for one another.
const BATCH_TIME: Duration = Duration::from_millis(200);

/// How many sites the first batch holds, and how many any holds at most.
const FIRST_BATCH: usize = 64;
const LARGEST_BATCH: usize = 8_192;

/// No batch takes more sites once their text is so long, bytes.
const BATCH_BYTES: usize = 8 << 20;

/// How many sites one thread takes at a time.
pub const AT_A_TIME: usize = 16;

/// Whether to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Go {
    /// On to the next batch.
    On,
    /// Stop here; the run was asked to.
    Stop,
}

/// What the file holds behind the sites.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Behind {
    /// A coordinate reference system declared behind the sites.
    pub late_crs: Option<String>,
}

/// A site and its place in the file, counted from 0.
pub type Numbered = (u64, RawSite);

enum Message {
    Batch(Vec<Numbered>),
    End(Behind),
    Failed(Error),
}

/// Gives the sites of `range` to `work` in runs of at most [`AT_A_TIME`], in any thread, and what it
/// makes of them to `take`, in order. None when `take` stopped the run before the end.
///
/// # Errors
/// A file that cannot be read to its end, and whatever `take` fails with.
pub fn in_order<T: Send>(
    file: &SiteFile,
    range: Range<u64>,
    work: impl Fn(Vec<Numbered>) -> T + Sync,
    mut take: impl FnMut(u64, Vec<T>) -> Result<Go>,
) -> Result<Option<Behind>> {
    let size = AtomicUsize::new(FIRST_BATCH);
    std::thread::scope(|scope| {
        let (sender, receiver) = sync_channel(BATCHES_WAITING);
        let size = &size;
        let reader = scope.spawn(move || {
            // A closed channel means that nobody listens any more.
            let _ = match read(file, &range, size, |batch| {
                sender.send(Message::Batch(batch)).is_ok()
            }) {
                Ok(behind) => sender.send(Message::End(behind)),
                Err(error) => sender.send(Message::Failed(error)),
            };
        });
        let ended = give(&receiver, size, &work, &mut take);
        // Nobody listens any more, so the reader ends; what the file's library keeps for its thread is
        // gone when it is joined, and not later.
        drop(receiver);
        match reader.join() {
            Ok(()) => ended,
            Err(_) => Err(reader_is_gone()),
        }
    })
}

fn give<T: Send>(
    receiver: &Receiver<Message>,
    size: &AtomicUsize,
    work: &(impl Fn(Vec<Numbered>) -> T + Sync),
    take: &mut impl FnMut(u64, Vec<T>) -> Result<Go>,
) -> Result<Option<Behind>> {
    for message in receiver {
        let batch = match message {
            Message::Batch(batch) => batch,
            Message::End(behind) => return Ok(Some(behind)),
            Message::Failed(error) => return Err(error),
        };
        let begun = Instant::now();
        let count = batch.len();
        let done: Vec<T> = runs(batch).into_par_iter().map(work).collect();
        resize(size, count, begun.elapsed());
        if take(count as u64, done)? == Go::Stop {
            return Ok(None);
        }
    }
    Err(reader_is_gone())
}

fn reader_is_gone() -> Error {
    Error::new(
        "the thread that reads sites came to an end",
        "report this defect with the input files",
    )
}

/// Lets batches become as large as [`BATCH_TIME`] allows.
fn resize(size: &AtomicUsize, count: usize, time: Duration) {
    let now = size.load(Ordering::Relaxed);
    if time < BATCH_TIME / 2 && count >= now {
        size.store((now * 2).min(LARGEST_BATCH), Ordering::Relaxed);
    } else if time > BATCH_TIME * 2 {
        size.store((now / 2).max(AT_A_TIME), Ordering::Relaxed);
    }
}

fn runs(batch: Vec<Numbered>) -> Vec<Vec<Numbered>> {
    let mut runs = Vec::with_capacity(batch.len() / AT_A_TIME + 1);
    let mut sites = batch.into_iter().peekable();
    while sites.peek().is_some() {
        runs.push(sites.by_ref().take(AT_A_TIME).collect());
    }
    runs
}

fn read(
    file: &SiteFile,
    range: &Range<u64>,
    size: &AtomicUsize,
    mut send: impl FnMut(Vec<Numbered>) -> bool,
) -> Result<Behind> {
    let in_file = |error: Error| error.in_file(file.path());
    let mut sites = file.sites()?;
    let mut batch = Vec::new();
    let mut bytes = 0;
    for index in 0..range.end {
        let Some(raw) = sites.next().map_err(in_file)? else {
            break;
        };
        if index < range.start {
            continue;
        }
        bytes += raw.weight();
        batch.push((index, raw));
        if batch.len() >= size.load(Ordering::Relaxed) || bytes > BATCH_BYTES {
            bytes = 0;
            if !send(std::mem::take(&mut batch)) {
                return Ok(Behind::default());
            }
        }
    }
    if !batch.is_empty() && !send(batch) {
        return Ok(Behind::default());
    }
    Ok(Behind {
        late_crs: sites.late_crs().map(str::to_owned),
    })
}
