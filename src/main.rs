//! The `eaves` command: arguments, the run they ask for, and its exit code.

use std::io;
use std::process::ExitCode;

use eaves::cli::{self, NoCommand};
use eaves::request::Request;
use eaves::run::{self, refuse};

fn main() -> ExitCode {
    let mut out = io::stdout().lock();
    let exit = match cli::parse(std::env::args_os()) {
        Ok(typed) => Request::resolve(typed, run::today())
            .and_then(|request| run::run(&request, &mut out))
            .unwrap_or_else(|error| refuse(&error.to_string())),
        Err(NoCommand::Told(text)) => run::told(&text, &mut out),
        Err(NoCommand::Refused(why)) => refuse(&why),
    };
    ExitCode::from(exit.code())
}
