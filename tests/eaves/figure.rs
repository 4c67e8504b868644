//! Figures.

use eaves::answer::Assessment;
use eaves::figure::{self, FigureOptions};

use crate::figure_fixture as fixture;

/// Draws, and keeps the files when a folder is named, for looking at.
fn drawn(name: &str, assessment: &Assessment) -> Vec<u8> {
    let svg = figure::svg(assessment, &FigureOptions::default()).unwrap();
    let png = figure::png(&svg).unwrap();
    if let Some(folder) = std::env::var_os("EAVES_FIGURES") {
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join(format!("{name}.svg")), &svg).unwrap();
        std::fs::write(folder.join(format!("{name}.png")), &png).unwrap();
    }
    png
}

#[test]
fn every_fixture_is_drawn() {
    for (name, assessment) in fixture::all() {
        drawn(name, &assessment);
    }
}
