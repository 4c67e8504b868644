//! All checks in one test binary; one module for each part of eaves.
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
mod command_line;
mod cover;
mod demo_layers;
mod differential;
mod field;
mod figure;
mod figure_fixture;
mod frame;
mod hard_cases;
mod no_panic;
mod profile;
mod profile_refusals;
mod real_data;
mod reference;
mod report;
mod report_fixture;
mod request;
mod run;
mod site;
mod units;
mod variation;
mod window;
mod wire;
