//! All checks in one test binary.

mod cover;
mod field;
mod frame;
mod profile;
mod site;
mod units;
mod variation;
mod wire;
