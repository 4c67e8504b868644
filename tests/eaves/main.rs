//! All checks in one test binary.

mod demo_layers;
mod frame;
mod profile;
mod profile_refusals;
mod reference;
mod units;
mod variation;
