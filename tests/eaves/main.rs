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
mod cover;
mod demo_layers;
mod field;
mod figure;
mod figure_busy;
mod figure_cases;
mod figure_fixture;
mod frame;
mod profile;
mod profile_refusals;
mod reference;
mod report;
mod report_fixture;
mod request;
mod run;
mod runway;
mod runway_layers;
mod site;
mod units;
mod variation;
mod window;
mod wire;
mod zone;
mod zone_rules;
