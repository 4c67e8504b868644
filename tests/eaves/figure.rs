//! Figures.

use eaves::figure::{self, FigureOptions};

use crate::figure_fixture as fixture;

#[test]
fn district_is_drawn() {
    let assessment = fixture::district();
    let svg = figure::svg(&assessment, &FigureOptions::default()).unwrap();
    let png = figure::png(&svg).unwrap();
    if let Some(folder) = std::env::var_os("EAVES_FIGURES") {
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join("district.svg"), &svg).unwrap();
        std::fs::write(folder.join("district.png"), &png).unwrap();
    }
}
