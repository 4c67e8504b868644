//! All checks in one test binary; one module for each part of eaves.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod cover;
mod field;
mod frame;
mod profile;
mod site;
mod units;
mod variation;
mod wire;
