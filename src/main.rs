//! The `eaves` command: arguments, the run they ask for, and its exit code.

use std::io::{self, Write};
use std::process::ExitCode;

use eaves::cli::{self, NoCommand};
use eaves::report::text::harmless;
use eaves::request::Request;
use eaves::run::{self, Exit};

fn main() -> ExitCode {
    let mut out = io::stdout().lock();
    let exit = match cli::parse(std::env::args_os()) {
        Ok(typed) => {
            let today = jiff::tz::TimeZone::UTC
                .to_datetime(jiff::Timestamp::now())
                .date();
            Request::resolve(typed, today)
                .and_then(|request| run::run(&request, &mut out))
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
