//! The `eaves-lean` command: `eaves` without GDAL and PROJ, and so without the 40 ms that linking with
//! them takes before anything runs.
//!
//! It answers `assess` from layers that need neither. Everything else it hands over, before it has
//! written or printed anything, to the `eaves` in the same folder: the same arguments in the same
//! process, so output and exit code are those of `eaves`. Not here: what needs GDAL or PROJ (see
//! [`eaves::read::elsewhere`]).

use std::ffi::OsString;
use std::io;
use std::iter::once;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command as Process, ExitCode};

use eaves::cli::{self, AssessArgs, Cli, Command, NoCommand};
use eaves::error::Error;
use eaves::read::elsewhere::{REFUSED, needs};
use eaves::read::{mapping, prepared};
use eaves::request::Request;
use eaves::run::{self, Exit, refuse};

/// The program that is handed over to, beside this one.
const WHOLE: &str = "eaves";

fn main() -> ExitCode {
    let mut out = io::stdout().lock();
    // Under its name, so that help and errors read the same.
    let exit = match cli::parse(once(OsString::from(WHOLE)).chain(arguments())) {
        Ok(typed) => carried_out(typed, &mut out),
        Err(NoCommand::Told(text)) => run::told(&text, &mut out),
        Err(NoCommand::Refused(why)) => refuse(&why),
    };
    ExitCode::from(exit.code())
}

fn arguments() -> impl Iterator<Item = OsString> {
    std::env::args_os().skip(1)
}

fn carried_out(typed: Cli, out: &mut dyn io::Write) -> Exit {
    if let Some(why) = at_once(&typed.command) {
        return hand_over(&why);
    }
    let ended = Request::resolve(typed, run::today()).and_then(|request| match request {
        Request::Assess(request) => run::assessed(&request, out),
        Request::Profiles => run::profiles(out),
        _ => Err(REFUSED.note(needs("this command uses GDAL and PROJ"))),
    });
    // Whatever became of a refusal on the way, it decides: nothing was written or printed then.
    match (REFUSED.first(), ended) {
        // The same with the file that it is about.
        (Some(why), Err(error)) if error.cause() == why.cause() => hand_over(&error),
        (Some(why), _) => hand_over(why),
        (None, ended) => ended.unwrap_or_else(|error| refuse(&error.to_string())),
    }
}

/// Why a command is handed over as it stands, if it is.
fn at_once(command: &Command) -> Option<Error> {
    match command {
        Command::Profiles => None,
        Command::Assess(typed) => match &typed.sheet.background {
            Some(background) => Some(needs("a background is read with GDAL").in_file(background)),
            None => inputs(typed).into_iter().find_map(given_once),
        },
        _ => Some(needs("this command uses GDAL and PROJ")),
    }
}

/// The files that an assessment reads whatever they are; layers are read from ordinary files only.
fn inputs(typed: &AssessArgs) -> [PathBuf; 4] {
    [
        typed.area.clone(),
        PathBuf::from(&typed.profile),
        typed.layers.join(mapping::FILE_NAME),
        typed.layers.join(prepared::FILE_NAME),
    ]
}

/// What a pipe gives is gone once it was read, so it is left to the program that may need it.
fn given_once(path: PathBuf) -> Option<Error> {
    let is_ordinary = |found: std::fs::Metadata| found.is_file() || found.is_dir();
    match std::fs::metadata(&path).map(is_ordinary) {
        Ok(false) => Some(needs("it can be read only once, and may need GDAL").in_file(path)),
        _ => None,
    }
}

/// Becomes the whole program; returns only where that cannot be.
fn hand_over(why: &Error) -> Exit {
    let (place, failure) = match whole() {
        Ok(place) => {
            let failure = Process::new(&place).args(arguments()).exec();
            (place, failure.to_string())
        }
        Err(failed) => failed,
    };
    refuse(&format!(
        "{why} ({} cannot be started: {failure})",
        place.display()
    ))
}

/// Where the whole program is; else where it was looked for, and why that is none.
fn whole() -> Result<PathBuf, (PathBuf, String)> {
    let missing = |why: io::Error| (PathBuf::from(WHOLE), why.to_string());
    let this = std::env::current_exe()
        .and_then(std::fs::canonicalize)
        .map_err(missing)?;
    let place = this.parent().unwrap_or(Path::new(".")).join(WHOLE);
    match place.canonicalize() {
        Ok(found) if found == this => Err((place, "it is this program".to_owned())),
        Ok(_) => Ok(place),
        Err(why) => Err((place, why.to_string())),
    }
}
