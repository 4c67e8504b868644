//! The `eaves` command: arguments, the run they ask for, and its exit code.

use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;

use eaves::answer::Assessment;
use eaves::cli::{self, NoCommand};
use eaves::error::{Error, Result};
use eaves::profile::Profile;
use eaves::report::text::harmless;
use eaves::request::{AssessRequest, Request};
use eaves::run::{self, Engine, Exit};

fn main() -> ExitCode {
    let mut out = io::stdout().lock();
    let exit = match cli::parse(std::env::args_os()) {
        Ok(typed) => {
            let today = jiff::tz::TimeZone::UTC
                .to_datetime(jiff::Timestamp::now())
                .date();
            Request::resolve(typed, today)
                .and_then(|request| run::run(&request, &Unwired, &mut out))
                .unwrap_or_else(|error| refuse(&error.to_string()))
        }
        Err(NoCommand::Told(text)) => run::print(&mut out, &text)
            .map(|()| Exit::Answered)
            .unwrap_or_else(|error| refuse(&error.to_string())),
        Err(NoCommand::Refused(why)) => refuse(&why),
    };
    ExitCode::from(exit.code())
}

/// Says on standard error why nothing could run.
fn refuse(why: &str) -> Exit {
    // With no standard error left there is nobody to tell; the exit code still tells.
    let _ = writeln!(io::stderr(), "eaves: {}", harmless(why));
    Exit::CouldNotRun
}

/// The engine of this build, which has no reader, no search and no figure yet and says so.
struct Unwired;

impl Unwired {
    fn refusal<T>() -> Result<T> {
        Err(Error::new(
            "this build of eaves cannot compute anything yet",
            "use a later build",
        ))
    }
}

impl Engine for Unwired {
    fn assess(&self, _: &AssessRequest) -> Result<Assessment> {
        Self::refusal()
    }

    fn svg(&self, _: &Assessment) -> Result<String> {
        Self::refusal()
    }

    fn png(&self, _: &str) -> Result<Vec<u8>> {
        Self::refusal()
    }

    fn inspect(&self, _: &Path, _: bool) -> Result<(String, bool)> {
        Self::refusal()
    }

    fn profiles(&self) -> Result<Vec<Profile>> {
        Self::refusal()
    }

    fn demo(&self) -> &'static [(&'static str, &'static [u8])] {
        &[]
    }
}
