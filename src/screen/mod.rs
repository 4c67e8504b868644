//! Many candidate sites at once: a file of sites in, a folder of rows with their summary out.
//!
//! Rows are answered by [`crate::batch`], in the order of the file, and written as they come, so that
//! a run may end at any moment and be taken up again by the same command. Everything else in the
//! folder is made from the finished rows. Not here: what a row says (see [`crate::batch`]), reading
//! files (see [`crate::read`]), and words (see [`crate::report::screening`]).

pub mod columns;
mod figures;
mod folder;
pub mod formats;
mod join;
pub mod log;
pub mod progress;
pub mod record;
mod settings;
pub mod site;
pub mod sorted;
mod summary;
mod survey;
pub mod table;
mod work;

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use self::columns::{Columns, Status};
use self::formats::Source;
use self::log::{Expected, ROWS, RowLog};
use self::progress::Progress;
use self::record::RunRecord;
use self::settings::Resolved;
use self::site::site;
use self::survey::{Survey, Wanted, survey};
use self::work::{Go, Numbered, in_order};
use crate::batch::{Common, answer};
use crate::error::{Error, Result};
use crate::read::sites::SiteFile;
use crate::read::{self, Layers};
use crate::request::outputs::{Prepared, put_in_place};
use crate::request::screen::{Part, ScreenRequest};

/// The name of the summary as text.
pub const SUMMARY_TEXT: &str = "summary.txt";

/// The name of the summary as JSON.
pub const SUMMARY_JSON: &str = "summary.json";

/// How a screening ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// Every question about every site was answered.
    Answered,
    /// Some sites were not answered, or with something undecided.
    Undecided,
    /// The run was asked to stop before the end; the same command goes on.
    Stopped,
}

/// Screens the sites of a file into a folder, and gives the page that tells of it.
///
/// When `stop` becomes true the run ends as soon as the rows at hand are written.
///
/// # Errors
/// Whatever stops the run. Rows that were written stand, and the same command goes on with them.
pub fn screen(
    request: &ScreenRequest,
    progress: &Progress,
    stop: &AtomicBool,
) -> Result<(Ended, String)> {
    let run = Run {
        request,
        progress,
        stop,
    };
    let ended = run.all();
    progress.clear();
    ended
}

/// A screening under way.
struct Run<'a> {
    request: &'a ScreenRequest,
    progress: &'a Progress,
    stop: &'a AtomicBool,
}

impl Run<'_> {
    fn all(&self) -> Result<(Ended, String)> {
        let request = self.request;
        let resolved = Resolved::of(request)?;
        let columns = Columns::of(&resolved.settings.sensitivity.cases());
        let rank = resolved.rank(&columns)?;
        let file = SiteFile::open(&request.sites, &resolved.site_options)?;
        // Fingerprints are taken while the sites are looked through.
        let (inputs, surveyed) = std::thread::scope(|scope| {
            let inputs = scope.spawn(|| {
                let layers = record::inputs(&request.layers)?;
                Ok::<_, Error>((record::input(&request.sites)?, layers))
            });
            let surveyed = self.survey(file, &resolved);
            (inputs.join(), surveyed)
        });
        let Some(surveyed) = surveyed? else {
            return Ok(self.stopped(0, None));
        };
        let (sites, layer_files) = inputs.unwrap_or_else(|_| {
            Err(Error::new(
                "the inputs could not be fingerprinted",
                "report this defect with the input files",
            ))
        })?;
        if surveyed.sites == 0 {
            return Err(Error::new("holds no site", "export it again").in_file(&request.sites));
        }
        let part = part_of(request.part, surveyed.sites);
        let record = RunRecord {
            format: record::FORMAT.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            sites,
            layers: layer_files,
            settings: resolved.fingerprint(request),
            part: request.part.map(|part| part.to_string()),
            first_row: part.start + 1,
            rows: part.end - part.start,
            columns: columns.names(),
        };
        let finished = request.out.join(ROWS);
        // Before the folder is made: what is refused leaves nothing behind.
        let parts = if finished.is_file() {
            Vec::new()
        } else {
            join::ordered(&request.join, &record)?
        };
        let is_new = folder::prepare(&request.out, &record)?;
        self.progress.say_once("reading layers");
        let layers = self.layers(&resolved, &surveyed)?;
        let common = Common::new(resolved.settings.clone(), layers);
        if is_new {
            folder::note(&request.out, &record)?;
        }
        if finished.is_file() {
            self.progress
                .say(&format!("all rows are in {} already", finished.display()));
        } else if request.join.is_empty() {
            let done = self.rows(&columns, &common, &surveyed.file, &part, is_new)?;
            if let Some(done) = done {
                return Ok(self.stopped(done, Some(part.end - part.start)));
            }
        } else {
            join::join(&parts, &request.out, &record, &columns)?;
        }
        if let Some(part) = request.part {
            return self.part_done(part, &record, &columns, &finished);
        }
        self.derive(&resolved, &columns, &common, &surveyed, &rank, &finished)
    }

    fn go(&self) -> Go {
        if self.stop.load(Ordering::Relaxed) {
            Go::Stop
        } else {
            Go::On
        }
    }

    fn stopped(&self, done: u64, of: Option<u64>) -> (Ended, String) {
        let page = match of {
            Some(of) => format!(
                "Stopped after {done} of {of} rows. They stand in {}; the same command goes on \
                 from here.\n",
                crate::report::text::harmless(&self.request.out.display().to_string())
            ),
            None => "Stopped before the first row. The same command begins again.\n".to_owned(),
        };
        (Ended::Stopped, page)
    }

    fn survey(&self, file: SiteFile, resolved: &Resolved) -> Result<Option<Survey>> {
        self.progress.begin(0);
        let part = |sites| part_of(self.request.part, sites);
        let seen = |sites| {
            self.progress.at("looking through sites", sites, None);
            self.go()
        };
        let wanted = Wanted {
            sizes: resolved.sizes,
            reach: resolved.reach,
            part: &part,
            seen: &seen,
        };
        survey(file, &wanted)
    }

    fn layers(&self, resolved: &Resolved, surveyed: &Survey) -> Result<Layers> {
        let options = resolved.read_options(surveyed.near.clone());
        read::layers(&self.request.layers, &options)
    }

    /// Answers the rows of a part that are missing; how many stand when it was stopped.
    fn rows(
        &self,
        columns: &Columns,
        common: &Common,
        file: &SiteFile,
        part: &Range<u64>,
        is_new: bool,
    ) -> Result<Option<u64>> {
        let mut header = table::Writer::default();
        header.header(columns.list())?;
        let header = header.into_bytes()?;
        let expected = Expected {
            // With the first row, so that parts without rows before it do not repeat it.
            header: (part.start == 0 && part.end > 0).then_some(&header),
            columns: columns.list().len(),
            first: part.start + 1,
            rows: part.end - part.start,
        };
        let (mut log, standing) = RowLog::open(&self.request.out, &expected)?;
        if !is_new {
            self.progress.say(&format!(
                "going on after {standing} of {} rows",
                expected.rows
            ));
        }
        self.progress.begin(standing);
        let sizes = settings::sizes(self.request);
        let work = |sites: Vec<Numbered>| -> Result<Vec<u8>> {
            let mut text = table::Writer::default();
            for (index, raw) in sites {
                let (row, name) = match site(file, index, raw, sizes) {
                    Ok(named) => (answer(&named.site, common), named.name),
                    Err(bad) => (bad.row(), bad.name),
                };
                let cells = columns.cells(index + 1, name.as_deref(), &row, common);
                text.row(columns.list(), &cells)?;
            }
            text.into_bytes()
        };
        let mut done = standing;
        let range = part.start + standing..part.end;
        let ended = in_order(file, range, work, |count, texts| {
            let texts = texts.into_iter().collect::<Result<Vec<_>>>()?;
            log.append(&texts.concat())?;
            done += count;
            self.progress.at("screening", done, Some(expected.rows));
            Ok(self.go())
        })?;
        if ended.is_none() && done < expected.rows {
            return Ok(Some(done));
        }
        if done != expected.rows {
            return Err(Error::new(
                format!(
                    "held {} sites and now ends after {}",
                    part.end,
                    part.start + done
                ),
                "do not change it while it is being screened",
            )
            .in_file(&self.request.sites));
        }
        log.finish()?;
        Ok(None)
    }

    /// What is left of a part: its rows, which are joined later.
    fn part_done(
        &self,
        part: Part,
        record: &RunRecord,
        columns: &Columns,
        finished: &Path,
    ) -> Result<(Ended, String)> {
        let counts = summary::by_status(finished, part.index == 1, columns)?;
        let page = format!(
            "Part {} of {}: rows {} to {} in {}: {} answered, {} undecided, {} not answered.\n\
             Join the parts with the same command, --join PART... in place of --part: other \
             formats, the summary and figures are made then.\n{}\n",
            part.index,
            part.of,
            record.first_row,
            record.first_row + record.rows - 1,
            crate::report::text::harmless(&finished.display().to_string()),
            counts[0],
            counts[1],
            counts[2],
            crate::answer::CAUTION,
        );
        Ok((ended(counts), page))
    }

    /// Makes everything that is made from finished rows.
    fn derive(
        &self,
        resolved: &Resolved,
        columns: &Columns,
        common: &Common,
        surveyed: &Survey,
        rank: &summary::RankBy,
        finished: &Path,
    ) -> Result<(Ended, String)> {
        let out = &self.request.out;
        let gathered = summary::gather(finished, columns, rank)?;
        let counts = gathered.by_status;
        let summary = resolved.summary(gathered, common, surveyed);
        let page = crate::report::screening::page(&summary);
        let mut written: Vec<PathBuf> = vec![finished.to_path_buf()];
        let texts = [
            Prepared {
                path: out.join(SUMMARY_TEXT),
                bytes: page.clone().into_bytes(),
            },
            Prepared {
                path: out.join(SUMMARY_JSON),
                bytes: crate::report::json::indented(&summary)?.into_bytes(),
            },
        ];
        put_in_place(&texts)?;
        written.extend(texts.into_iter().map(|text| text.path));
        let source = Source {
            rows: finished,
            columns: columns.list(),
            sites: &surveyed.file,
            sizes: resolved.sizes,
            date: resolved.settings.date.to_string(),
        };
        for format in &resolved.formats {
            self.progress.begin(0);
            let what = format!("writing {}", format.file_name());
            let seen = |rows| {
                self.progress.at(&what, rows, Some(surveyed.sites));
                self.go()
            };
            match formats::write(*format, out, &source, &seen)? {
                Some(path) => written.push(path),
                None => return Ok(self.stopped(surveyed.sites, Some(surveyed.sites))),
            }
        }
        if self.request.figures > 0 {
            let wanted: Vec<u64> = summary
                .ranking
                .first
                .iter()
                .take(self.request.figures)
                .map(|row| row.row.row)
                .collect();
            written.extend(figures::draw(self.request, resolved, surveyed, &wanted)?);
        }
        let mut page = page;
        page.push('\n');
        for path in written {
            let path = crate::report::text::harmless(&path.display().to_string());
            page.push_str(&format!("Wrote {path}\n"));
        }
        Ok((ended(counts), page))
    }
}

fn ended(counts: [u64; Status::ALL.len()]) -> Ended {
    match counts {
        [_, 0, 0] => Ended::Answered,
        _ => Ended::Undecided,
    }
}

/// The sites of a part, counted from 0: parts follow one another without gap or overlap, and differ
/// by one site at most.
fn part_of(part: Option<Part>, sites: u64) -> Range<u64> {
    let Some(Part { index, of }) = part else {
        return 0..sites;
    };
    let cut = |parts: u64| {
        let place = u128::from(sites) * u128::from(parts) / u128::from(of.max(1));
        u64::try_from(place).unwrap_or(sites)
    };
    cut(index - 1)..cut(index)
}
