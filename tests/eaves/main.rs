//! All checks in one test binary.

mod demo_layers;
mod frame;
mod profile;
mod reference;
mod units;
mod variation;
