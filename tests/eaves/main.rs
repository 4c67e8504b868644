//! All checks in one test binary; one module for each part of eaves.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr
)]

mod cover;
mod demo_layers;
mod field;
mod frame;
mod profile;
mod reference;
mod site;
mod units;
mod variation;
mod wire;
