//! How long reading takes: a large district, near one site and as a whole, as GeoJSON and prepared.
//!
//! `cargo bench --bench read -- --once FOLDER` reads a folder of layers once in a cold process, for
//! `/usr/bin/time -v`: near one place (`--at LON,LAT`), near the sites of a GeoJSON file grown by
//! 2600 m (`--sites FILE`), or all (`--whole`).

#![allow(clippy::print_stdout)]

mod large_layers;

use std::io::{Error, Result};
use std::path::{Path, PathBuf};
use std::time::Instant;

use criterion::Criterion;
use eaves::prepare::prepare;
use eaves::read::stream::{Raw, Step, Stream};
use eaves::read::{Mask, ReadOptions, Window, boxes, filter::Filter, layers};
use eaves::units::Metres;

/// About 10 km by 10 km in the middle of the district.
const NEAR: Window = Window {
    west: 149.95,
    south: -30.55,
    east: 150.05,
    north: -30.45,
};

/// How far about a site layers are wanted: 100 m of reach and 2500 m for a figure.
const AROUND_M: f64 = 2_600.0;

fn read(folder: &Path, near: Option<Mask>) -> usize {
    let options = ReadOptions {
        near,
        ..ReadOptions::default()
    };
    layers(folder, &options).map_or(0, |layers| layers.obstacles.len())
}

/// The windows of the sites of a file.
fn mask(sites: &Path, around: Metres) -> Option<Mask> {
    let each = |windows: &mut Vec<Window>, raw: Raw<'_>| {
        if let Some(found) = boxes::bounds(raw.text) {
            let window = Window {
                west: found.bounds.west,
                south: found.bounds.south,
                east: found.bounds.east,
                north: found.bounds.north,
            };
            windows.push(window.grown(around));
        }
        Step::Taken
    };
    let taken = Stream::open(sites)?.take(&Filter::all(), Vec::new, each, |_| {})?;
    Some(taken.runs.into_iter().flatten().collect())
}

fn once(folder: &Path, arguments: &[String]) -> Result<()> {
    let after = |name: &str| {
        arguments
            .iter()
            .position(|argument| argument == name)
            .and_then(|at| arguments.get(at + 1))
    };
    let metres = after("--around").map_or(Ok(AROUND_M), |text| text.parse());
    let around = Metres::of(metres.map_err(Error::other)?);
    let start = Instant::now();
    let near = if let Some(sites) = after("--sites") {
        mask(Path::new(sites), around)
    } else if arguments.iter().any(|argument| argument == "--whole") {
        None
    } else {
        let place: Vec<f64> = after("--at")
            .map_or("150,-30.5", String::as_str)
            .split(',')
            .filter_map(|number| number.parse().ok())
            .collect();
        let &[lon, lat] = place.as_slice() else {
            return Err(Error::other("--at needs LON,LAT"));
        };
        let window = Window {
            west: lon,
            south: lat,
            east: lon,
            north: lat,
        };
        Some(window.grown(around).into())
    };
    println!("mask in {:.3} s", start.elapsed().as_secs_f64());
    let count = read(folder, near);
    println!(
        "{count} obstacles in {:.3} s",
        start.elapsed().as_secs_f64()
    );
    Ok(())
}

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let folder = arguments
        .iter()
        .skip_while(|argument| *argument != "--once")
        .nth(1)
        .map(PathBuf::from);
    if let Some(folder) = folder {
        return once(&folder, &arguments);
    }
    let folder = std::env::temp_dir().join("eaves-large-layers");
    large_layers::write(&folder)?;
    let prepared = std::env::temp_dir().join("eaves-large-layers-prepared");
    prepare(&folder, &prepared).map_err(|error| Error::other(error.to_string()))?;
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    for (how, folder) in [("GeoJSON", &folder), ("prepared", &prepared)] {
        criterion.bench_function(
            &format!("read 100 k spans and 400 k structures near a site, {how}"),
            |bench| bench.iter(|| read(folder, Some(NEAR.into()))),
        );
        criterion.bench_function(
            &format!("read 100 k spans and 400 k structures, all, {how}"),
            |bench| bench.iter(|| read(folder, None)),
        );
    }
    criterion.final_summary();
    Ok(())
}
