//! Every command of the program with GDAL and PROJ carried out, by its own part each.
//!
//! Not here: one assessment and what it leaves (see [`crate::run`]).

use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;

use super::{Exit, assessed, ceiling_map, demo, print, profiles};
use crate::error::{Error, Result};
use crate::prepare;
use crate::read;
use crate::report;
use crate::request::Request;
use crate::request::screen::ScreenRequest;
use crate::screen::{self, Ended, progress::Progress};

/// Carries out a request and prints to `out`.
///
/// # Errors
/// Whatever stops the run; nothing has been written then, or what was is whole.
pub fn run(request: &Request, out: &mut dyn Write) -> Result<Exit> {
    match request {
        Request::Assess(request) => assessed(request, out),
        Request::Screen(request) => screened(request, out),
        Request::CeilingMap(request) => ceiling_map::run(request, out),
        Request::Inspect { layers, json } => inspect(layers, *json, out),
        Request::Prepare {
            layers,
            out: folder,
        } => {
            let done = prepare::prepare(layers, folder)?;
            print(out, &report::prepare::page(folder, &done))?;
            Ok(Exit::Answered)
        }
        Request::Demo { out: folder } => demo::run(folder.as_deref(), out),
        Request::Profiles => profiles(out),
    }
}

/// Screens many sites, until the end or until the process is asked to stop.
fn screened(request: &ScreenRequest, out: &mut dyn Write) -> Result<Exit> {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM] {
        // Asked a second time, it stops at once; whole rows stand all the same.
        flag::register_conditional_shutdown(
            signal,
            i32::from(Exit::CouldNotRun.code()),
            Arc::clone(&stop),
        )
        .and_then(|_| flag::register(signal, Arc::clone(&stop)))
        .map_err(|why| {
            Error::new(
                format!("the request to stop cannot be listened for ({why})"),
                "report it with the system that it happened on",
            )
        })?;
    }
    if let Some(threads) = request.threads {
        // Where the threads of the process were started already, they stay as many as they are.
        let _ = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build_global();
    }
    let progress = Progress::on_standard_error(request.quiet);
    let (ended, page) = screen::screen(request, &progress, &stop)?;
    print(out, &page)?;
    Ok(match ended {
        Ended::Answered => Exit::Answered,
        Ended::Undecided => Exit::Undecided,
        Ended::Stopped => Exit::CouldNotRun,
    })
}

/// Looks through a folder of layers; a defect or an unreadable file makes it undecided.
fn inspect(layers: &Path, json: bool, out: &mut dyn Write) -> Result<Exit> {
    let inspection = read::inspect(layers)?;
    let text = if json {
        report::json::indented(&inspection)?
    } else {
        report::inspect::page(&inspection)
    };
    print(out, &text)?;
    Ok(
        if inspection.defects.is_empty() && inspection.errors.is_empty() {
            Exit::Answered
        } else {
            Exit::Undecided
        },
    )
}

/// That a place cannot be written.
pub(super) fn no_room(path: &Path, why: &std::io::Error) -> Error {
    Error::new(
        format!("cannot be written ({why})"),
        "check the folder, its permissions and the space left",
    )
    .in_file(path)
}
