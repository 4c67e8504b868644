//! How far a long run is: one line that is written over on a terminal, plain lines now and then
//! elsewhere.
//!
//! Not here: results.

use std::cell::RefCell;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use crate::report::number::{self, NO_BREAK};

/// How often the line on a terminal is written over.
const ON_TERMINAL: Duration = Duration::from_millis(200);

/// How often a plain line is written.
const ELSEWHERE: Duration = Duration::from_secs(10);

/// What clears a line of a terminal: back to its beginning, erase to its end (ECMA-48, EL).
const CLEAR: &str = "\r\u{1b}[K";

/// Progress on one stream.
pub struct Progress {
    state: RefCell<State>,
    is_terminal: bool,
    is_quiet: bool,
}

struct State {
    out: Box<dyn Write>,
    last: Option<Instant>,
    is_line_open: bool,
    begun: Instant,
    before: u64,
}

impl Progress {
    /// On standard error; nothing at all when quiet.
    #[must_use]
    pub fn on_standard_error(is_quiet: bool) -> Self {
        let out = std::io::stderr();
        let is_terminal = out.is_terminal();
        Self::on(Box::new(out), is_terminal, is_quiet)
    }

    /// On any stream.
    #[must_use]
    pub fn on(out: Box<dyn Write>, is_terminal: bool, is_quiet: bool) -> Self {
        Self {
            state: RefCell::new(State {
                out,
                last: None,
                is_line_open: false,
                begun: Instant::now(),
                before: 0,
            }),
            is_terminal,
            is_quiet,
        }
    }

    /// Begins something that counts; `before` of it was done in an earlier run.
    pub fn begin(&self, before: u64) {
        let mut state = self.state.borrow_mut();
        state.begun = Instant::now();
        state.before = before;
        // The first plain line comes after a while, so that a short run has none.
        state.last = (!self.is_terminal).then(Instant::now);
    }

    /// Says how far it is, if it is time to.
    pub fn at(&self, what: &str, done: u64, of: Option<u64>) {
        let mut state = self.state.borrow_mut();
        let every = if self.is_terminal {
            ON_TERMINAL
        } else {
            ELSEWHERE
        };
        if self.is_quiet || state.last.is_some_and(|last| last.elapsed() < every) {
            return;
        }
        state.last = Some(Instant::now());
        let line = line(what, done, of, state.before, state.begun.elapsed());
        if self.is_terminal {
            // Nobody is left to be told that nobody is left.
            let _ = write!(state.out, "{CLEAR}{line}");
            let _ = state.out.flush();
            state.is_line_open = true;
        } else {
            let _ = writeln!(state.out, "eaves: {line}");
        }
    }

    /// Says what is being done that does not count, where it will be written over.
    pub fn say_once(&self, what: &str) {
        let mut state = self.state.borrow_mut();
        if self.is_terminal && !self.is_quiet {
            let _ = write!(state.out, "{CLEAR}{what}");
            let _ = state.out.flush();
            state.is_line_open = true;
        }
    }

    /// Says something for good.
    pub fn say(&self, text: &str) {
        self.clear();
        if !self.is_quiet {
            let mut state = self.state.borrow_mut();
            let _ = writeln!(state.out, "eaves: {text}");
        }
    }

    /// Takes the open line away.
    pub fn clear(&self) {
        let mut state = self.state.borrow_mut();
        if state.is_line_open {
            let _ = write!(state.out, "{CLEAR}");
            let _ = state.out.flush();
            state.is_line_open = false;
        }
    }
}

/// `screening: 12 400 of 200 000 sites (6.2 %), 8 450 a second, 22 s left`.
#[must_use]
pub fn line(what: &str, done: u64, of: Option<u64>, before: u64, elapsed: Duration) -> String {
    let seconds = elapsed.as_secs_f64();
    let rate = done.saturating_sub(before) as f64 / seconds.max(1e-3);
    let rate_text = if rate >= 100.0 {
        grouped(rate.round() as u64)
    } else {
        format!("{rate:.1}")
    };
    let Some(of) = of else {
        return format!("{what}: {} sites, {rate_text} a second", grouped(done));
    };
    let share = done as f64 / (of as f64).max(1.0) * 100.0;
    let left = if rate > 0.0 {
        format!(", {} left", duration(of.saturating_sub(done) as f64 / rate))
    } else {
        String::new()
    };
    format!(
        "{what}: {} of {} sites ({share:.1} %), {rate_text} a second{left}",
        grouped(done),
        grouped(of)
    )
}

fn grouped(count: u64) -> String {
    number::grouped(count as f64, 0).replace(NO_BREAK, " ")
}

/// A time in its two greatest units: `45 s`, `12 min 5 s`, `3 h 20 min`, `2 d 4 h`.
#[must_use]
pub fn duration(seconds: f64) -> String {
    let seconds = seconds.clamp(0.0, 1e12).ceil() as u64;
    let (minutes, hours, days) = (seconds / 60, seconds / 3_600, seconds / 86_400);
    match (days, hours, minutes) {
        (0, 0, 0) => format!("{seconds} s"),
        (0, 0, _) => format!("{minutes} min {} s", seconds % 60),
        (0, _, _) => format!("{hours} h {} min", minutes % 60),
        _ => format!("{days} d {} h", hours % 24),
    }
}
