//! A map of the ceiling carried out.

use std::io::Write;

use geo::{LineString, MultiPolygon, Polygon};

use super::commands::no_room;
use super::{Exit, print};
use crate::assess::{DRAWN_AROUND, Question};
use crate::error::{Cautions, Error, Result};
use crate::frame::HIGHEST_SITE_LATITUDE_DEG;
use crate::profile::load;
use crate::read::{self, AreaFile, ReadOptions, window_about};
use crate::region::{self, Commission};
use crate::report;
use crate::request::ceiling_map::{CeilingMapRequest, Region};
use crate::site::{FeatureRef, OperatingArea};
use crate::units::Metres;

/// Reads what a map needs, makes it and prints its page.
///
/// # Errors
/// Whatever stops it; no file of the map has been put in place then.
pub fn run(request: &CeilingMapRequest, out: &mut dyn Write) -> Result<Exit> {
    let profile = load(&request.profile)?;
    let region = match &request.region {
        Region::File(path, feature) => read::region(path, feature.as_deref())?,
        Region::Box(bounds) => boxed(*bounds)?,
    };
    let layers = read::layers(
        &request.layers,
        &ReadOptions {
            near: Some(window_about(&region.area, profile.widest_reach() + DRAWN_AROUND).into()),
            assumed_sag: request.assumed_sag,
            estimate_line_heights: request.estimate_line_heights,
        },
    )?;
    let commission = Commission {
        question: Question {
            area: region.area,
            area_cautions: region.cautions,
            profile,
            date: request.date,
            // Nothing but volumes is looked for by it, and a tile asks for those over it alone.
            search_radius: Metres::ZERO,
            wish: None,
            window: None,
            site_elevation: request.site_elevation,
            ground_accuracy: request.ground_accuracy,
            tolerance: request.tolerance,
            qnh: request.qnh,
            line_clearance: None,
            sample_ceiling: false,
            surfaces: None,
            shielding_planes: None,
            obstacle_accuracy: None,
            section: None,
        },
        cell: request.cell,
        step: request.step,
        flatgeobuf: request.flatgeobuf,
    };
    std::fs::create_dir_all(&request.out).map_err(|why| no_room(&request.out, &why))?;
    let map =
        threads(request.threads)?.install(|| region::map(&commission, &layers, &request.out))?;
    print(out, &report::ceiling_map::page(&map))?;
    let is_decided = map.above_ground.undetermined == 0
        && map.amsl.as_ref().is_some_and(|amsl| amsl.undetermined == 0);
    Ok(if is_decided {
        Exit::Answered
    } else {
        Exit::Undecided
    })
}

fn threads(count: Option<usize>) -> Result<rayon::ThreadPool> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(count.unwrap_or(0))
        .build()
        .map_err(|why| {
            Error::new(
                format!("threads cannot be started ({why})"),
                "ask for fewer with --threads",
            )
        })
}

/// A box as a region.
fn boxed([west, south, east, north]: [f64; 4]) -> Result<AreaFile> {
    let highest = south.abs().max(north.abs());
    if highest > HIGHEST_SITE_LATITUDE_DEG {
        return Err(Error::new(
            format!(
                "--bbox reaches the latitude {highest}, beyond {HIGHEST_SITE_LATITUDE_DEG} degrees"
            ),
            "eaves does not answer so near a pole",
        ));
    }
    let width = (east - west).rem_euclid(360.0);
    if width > WIDEST_BOX_DEG {
        return Err(Error::new(
            format!("--bbox is {width} degrees wide"),
            "write west,south,east,north, and map a part of it at a time",
        ));
    }
    let ring: LineString<f64> = [
        (west, south),
        (east, south),
        (east, north),
        (west, north),
        (west, south),
    ]
    .into_iter()
    .collect();
    let name = format!("the box {west}, {south}, {east}, {north}");
    Ok(AreaFile {
        area: OperatingArea {
            source: FeatureRef {
                file: "--bbox".into(),
                feature: name.as_str().into(),
            },
            name,
            polygons: MultiPolygon::new(vec![Polygon::new(ring, Vec::new())]),
        },
        cautions: Cautions::default(),
    })
}

/// The widest box, degrees: edges are taken the short way round, and a region's file is held to the
/// same.
const WIDEST_BOX_DEG: f64 = 90.0;
