//! All tests in one binary.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr
)]

mod architecture;
mod cli;
mod report;
mod report_fixture;
mod request;
mod run;
mod window;
