//! How long reading takes: a large district, near one site and as a whole.
//!
//! `cargo bench --bench read -- --once FOLDER` reads the district once in a cold process, for
//! `/usr/bin/time -v`; it is written to FOLDER first if it is not there.

#![allow(clippy::print_stdout)]

mod large_layers;

use std::path::{Path, PathBuf};
use std::time::Instant;

use criterion::Criterion;
use eaves::read::{ReadOptions, Window, layers};

/// About 10 km by 10 km in the middle of the district.
const NEAR: Window = Window {
    west: 149.95,
    south: -30.55,
    east: 150.05,
    north: -30.45,
};

fn read(folder: &Path, window: Option<Window>) -> usize {
    let options = ReadOptions {
        near: window.map(Into::into),
        ..ReadOptions::default()
    };
    layers(folder, &options).map_or(0, |layers| layers.obstacles.records().len())
}

fn once(folder: &Path, window: Option<Window>) {
    let start = Instant::now();
    let count = read(folder, window);
    println!(
        "{count} obstacles in {:.3} s",
        start.elapsed().as_secs_f64()
    );
}

fn main() -> std::io::Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let folder = arguments
        .iter()
        .skip_while(|argument| !argument.starts_with("--once"))
        .nth(1)
        .map(PathBuf::from);
    if let Some(folder) = folder {
        large_layers::write(&folder)?;
        let whole = arguments.iter().any(|argument| argument == "--once-whole");
        once(&folder, (!whole).then_some(NEAR));
        return Ok(());
    }
    let folder = std::env::temp_dir().join("eaves-large-layers");
    large_layers::write(&folder)?;
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    criterion.bench_function(
        "read 100 k spans and 400 k structures near a site",
        |bench| {
            bench.iter(|| read(&folder, Some(NEAR)));
        },
    );
    criterion.bench_function("read 100 k spans and 400 k structures, all", |bench| {
        bench.iter(|| read(&folder, None));
    });
    criterion.final_summary();
    Ok(())
}
