//! All checks in one test binary.

mod profile;
mod units;
