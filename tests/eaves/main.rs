//! The tests of eaves, in one binary.
mod figure;
mod figure_fixture;
