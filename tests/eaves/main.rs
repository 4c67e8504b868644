//! The tests of eaves, in one binary.
mod figure;
mod figure_busy;
mod figure_cases;
mod figure_fixture;
