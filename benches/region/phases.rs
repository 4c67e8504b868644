//! How long the phases of a screening take in one process: reading and indexing everything, then
//! answering sites that are in memory already. One line of JSON.
//!
//! `cargo run --release --example screening-phases -- SITES LAYERS PROFILE THREADS [FIRST SITES]`

#![allow(clippy::print_stdout, reason = "a program to be run by hand")]

use std::path::Path;
use std::time::Instant;

use eaves::batch::{Common, Sensitivity, Settings, Site, answer};
use eaves::profile;
use eaves::read::{ReadOptions, layers};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::Metres;
use geo::{MultiPolygon, Polygon};
use geojson::FeatureCollection;
use rayon::prelude::*;

type Failure = Box<dyn std::error::Error + Send + Sync>;

fn sites(path: &str, first: usize) -> Result<Vec<Site>, Failure> {
    let collection: FeatureCollection = std::fs::read_to_string(path)?.parse()?;
    collection
        .features
        .into_iter()
        .take(first)
        .map(|feature| {
            let polygon = feature.geometry.ok_or("a site without geometry")?;
            let id = match feature.id {
                Some(geojson::feature::Id::String(id)) => id,
                _ => return Err("a site without id".into()),
            };
            Ok(Site {
                area: OperatingArea {
                    source: FeatureRef {
                        file: "sites.geojson".into(),
                        feature: id.as_str().into(),
                    },
                    name: id.clone(),
                    polygons: MultiPolygon::new(vec![Polygon::try_from(polygon)?]),
                },
                id,
                has_cautions: false,
                wish: None,
            })
        })
        .collect()
}

fn main() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [sites_path, layers_path, profile_path, threads, ..] = arguments.as_slice() else {
        return Err("SITES LAYERS PROFILE THREADS [FIRST SITES]".into());
    };
    let first = arguments
        .get(4)
        .map_or(Ok(usize::MAX), |text| text.parse())?;
    let sites = sites(sites_path, first)?;
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads.parse()?)
        .build()?;
    let settings = Settings {
        profile: profile::load(profile_path)?,
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(10.0),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        sensitivity: Sensitivity::default(),
    };
    pool.install(|| {
        let start = Instant::now();
        let read = layers(Path::new(layers_path), &ReadOptions::default())?;
        let obstacles = read.obstacles.len();
        let common = Common::new(settings, read);
        let load_and_index_s = start.elapsed().as_secs_f64();
        let start = Instant::now();
        let decided = sites
            .par_iter()
            .filter(|site| answer(site, &common).is_decided())
            .count();
        println!(
            r#"{{"obstacles":{obstacles},"load_and_index_s":{load_and_index_s},"sites":{},"screening_s":{},"decided":{decided}}}"#,
            sites.len(),
            start.elapsed().as_secs_f64()
        );
        Ok(())
    })
}
