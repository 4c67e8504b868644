//! All checks in one test binary.

mod frame;
mod profile;
mod units;
mod variation;
