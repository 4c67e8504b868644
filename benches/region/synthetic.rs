//! A seeded synthetic region: candidate sites and the layers they are screened against, as plain
//! GeoJSON. Everything is invented; the place is inland New South Wales and its surroundings.
//!
//! Needs nothing but the standard library. Equal arguments give equal bytes. Half of the lines begin
//! in towns, where most of the structures stand; of the sites two in five lie by a line, two in five in
//! a town. One structure in ten has no height, one line in twenty has none, and some are cranes.
//!
//! `cargo run --release --example synthetic-region -- FOLDER --size large`

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a program to be run by hand"
)]

mod draw;
mod write;

use std::path::PathBuf;
use std::process::ExitCode;

use draw::Region;

const USAGE: &str = "\
usage: synthetic-region FOLDER [--size large|medium|small|dense] [--seed N] [--extent-km KM]
       [--sites N] [--spans N] [--structures N] [--aerodromes N] [--near N]

writes FOLDER/sites.geojson and FOLDER/layers/{aerodromes,power-lines,structures}.geojson with
layers.toml. Sizes:
  large   800 km wide, 200 000 sites, 500 000 spans, 2 000 000 structures, 3 000 aerodromes
  medium  as large, with a tenth of the sites and a fifth of the obstacles
  small   80 km wide, 2 000 sites, 5 000 spans, 20 000 structures, 30 aerodromes
  dense   200 km wide, 2 000 sites with hundreds of obstacles within reach each
--near N draws N structures about each site besides (dense: 400).";

fn main() -> ExitCode {
    match asked(std::env::args().skip(1)) {
        Ok((folder, region)) => match write::region(&folder, &region) {
            Ok(()) => ExitCode::SUCCESS,
            Err(why) => {
                eprintln!("{}: {why}", folder.display());
                ExitCode::from(2)
            }
        },
        Err(why) => {
            eprintln!("{why}\n{USAGE}");
            ExitCode::from(2)
        }
    }
}

fn asked(mut arguments: impl Iterator<Item = String>) -> Result<(PathBuf, Region), String> {
    let mut folder = None;
    let mut region = Region::LARGE;
    while let Some(argument) = arguments.next() {
        let Some(option) = argument.strip_prefix("--") else {
            if folder.replace(PathBuf::from(&argument)).is_some() {
                return Err(format!("{argument}: one folder is enough"));
            }
            continue;
        };
        let value = arguments
            .next()
            .ok_or_else(|| format!("--{option} needs a value"))?;
        let number = || {
            value
                .replace('_', "")
                .parse::<u32>()
                .map_err(|why| format!("--{option} {value}: {why}"))
        };
        match option {
            "size" => {
                region = Region {
                    seed: region.seed,
                    ..Region::of_size(&value).ok_or_else(|| format!("no size {value}"))?
                };
            }
            "seed" => region.seed = u64::from(number()?),
            "extent-km" => {
                region.extent_km = value
                    .parse()
                    .ok()
                    .filter(|km| (1.0..=1_500.0).contains(km))
                    .ok_or_else(|| format!("--extent-km {value}: not from 1 to 1500"))?;
            }
            "sites" => region.sites = number()?,
            "spans" => region.spans = number()?,
            "structures" => region.structures = number()?,
            "aerodromes" => region.aerodromes = number()?,
            "near" => region.near = number()?,
            _ => return Err(format!("no option --{option}")),
        }
    }
    folder
        .map(|folder| (folder, region))
        .ok_or_else(|| "no folder".to_owned())
}
