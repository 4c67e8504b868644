//! Cases answered by eaves and looked at by the brute force.

use std::fmt::Write as _;
use std::path::Path;

use eaves::batch::{CeilingOf, Common, Sensitivity, Settings, Site, answer};
use eaves::profile;
use eaves::read::{ReadOptions, layers};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::Metres;
use gdal::DriverManager;
use gdal::raster::Buffer;
use gdal::spatial_ref::SpatialRef;
use geo::{Coord, MultiPolygon, Polygon};
use rayon::prelude::*;

use super::case::{ACCURACY, Case, NODES_PER_DEG, Plan, SAG, TERRAIN_ACCURACY, Terrain};

/// How much longer the reaches of the brute force are: it is good to a millimetre.
const SLACK_M: f64 = 0.001;
/// An answer is optimistic when it is above a point's ceiling by more than rounding.
const ROUNDING_M: f64 = 1e-6;
/// With reaches so much shorter every point of an area must be out of doubt covered for an undetermined
/// answer to count as pessimistic.
const DOUBT_M: f64 = -0.01;

/// What came of some cases.
#[derive(Clone, Copy, Debug, Default)]
pub struct Count {
    /// How many were looked at.
    pub cases: u64,
    /// Points at which the brute force looked.
    pub points: u64,
    /// With a ceiling for the whole area.
    pub whole: u64,
    /// With a ceiling for the covered part.
    pub part: u64,
    /// Above the ceiling at some point: must be 0.
    pub optimistic: u64,
    /// Undetermined although every point looked at is covered out of doubt.
    pub doubtful: u64,
    /// Whole ceilings more than 0.15 m below the least point.
    pub low: u64,
    /// The most that a whole ceiling is below the least point, metres.
    pub lowest_m: f64,
}

impl Count {
    pub fn with(mut self, other: Self) -> Self {
        self.cases += other.cases;
        self.points += other.points;
        self.whole += other.whole;
        self.part += other.part;
        self.optimistic += other.optimistic;
        self.doubtful += other.doubtful;
        self.low += other.low;
        self.lowest_m = self.lowest_m.max(other.lowest_m);
        self
    }
}

/// Draws `count` cases of a seed, on terrain or flat ground, writes their layers into a folder, and
/// compares.
///
/// # Errors
/// What stops reading or writing.
pub fn compare(
    folder: &Path,
    seed: u64,
    count: usize,
    on_terrain: bool,
) -> Result<Count, Box<dyn std::error::Error>> {
    let cases: Vec<Case> = (0..count).map(|number| Case::draw(seed, number)).collect();
    let terrain = if on_terrain {
        Terrain::draw(seed, count)
    } else {
        Terrain::default()
    };
    write(folder, &cases, &terrain)?;
    let settings = Settings {
        profile: profile::load("plain")?,
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::of(1.0),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        sensitivity: Sensitivity::default(),
    };
    let common = Common::new(settings, layers(folder, &ReadOptions::default())?);
    Ok(cases
        .par_iter()
        .map(|case| one(case, &terrain, &common))
        .reduce(Count::default, Count::with))
}

fn one(case: &Case, terrain: &Terrain, common: &Common) -> Count {
    let ring = case.area.iter().map(|[x, y]| Coord { x: *x, y: *y });
    let site = Site {
        id: "case".into(),
        area: OperatingArea {
            source: FeatureRef {
                file: "case".into(),
                feature: "case".into(),
            },
            name: "case".into(),
            polygons: MultiPolygon::new(vec![Polygon::new(ring.collect(), Vec::new())]),
        },
        has_cautions: false,
        wish: None,
    };
    let row = answer(&site, common);
    let points = case.points(terrain, SLACK_M);
    let mut count = Count {
        cases: 1,
        points: points.len() as u64,
        ..Count::default()
    };
    let ceiling = row.cases.first().and_then(|case| case.ceiling);
    let Some(ceiling) = ceiling else {
        let covered = case.points(terrain, DOUBT_M);
        count.doubtful += u64::from(covered.iter().any(|point| point.ceiling.is_some()));
        // An error is no answer, and none may be.
        count.optimistic += u64::from(row.error.is_some());
        return count;
    };
    let values = [
        Some(ceiling.above_ground.value_m),
        ceiling.amsl.map(|value| value.value_m),
    ];
    let is_whole = ceiling.of == CeilingOf::Whole;
    let looked_at = if is_whole {
        count.whole += 1;
        points
    } else {
        count.part += 1;
        let certain = case.points(terrain, DOUBT_M);
        count.doubtful += u64::from(certain.iter().all(|point| point.ceiling.is_some()));
        // Covered out of doubt; but what allows there may be a shield that only just reaches.
        points
            .into_iter()
            .zip(certain)
            .filter(|(_, certain)| certain.ceiling.is_some())
            .map(|(point, _)| point)
            .collect()
    };
    let is_above = looked_at.iter().any(|point| match point.ceiling {
        None => true,
        Some(least) => values
            .iter()
            .zip(least)
            .any(|(value, least)| value.is_some_and(|value| value > least + ROUNDING_M)),
    });
    if is_above {
        println!(
            "optimistic: {} at {:?}: {row:?}",
            if is_whole { "whole" } else { "part" },
            case.middle
        );
    }
    count.optimistic += u64::from(is_above);
    if is_whole {
        let least = looked_at
            .iter()
            .filter_map(|point| point.ceiling)
            .map(|[above_ground, _]| above_ground)
            .fold(f64::INFINITY, f64::min);
        let below = least - ceiling.above_ground.value_m;
        count.low += u64::from(below > 0.15);
        count.lowest_m = below.max(0.0);
    }
    count
}

/// The layers of some cases.
fn write(
    folder: &Path,
    cases: &[Case],
    terrain: &Terrain,
) -> Result<(), Box<dyn std::error::Error>> {
    std::fs::create_dir_all(folder)?;
    let (mut structures, mut lines) = (String::new(), String::new());
    for shield in cases.iter().flat_map(|case| &case.shields) {
        let mut ring = shield.places.clone();
        let (kind, text) = match shield.plan {
            Plan::Mast => (
                r#""kind":"mast""#,
                format!(r#""Point","coordinates":{:?}"#, ring[0]),
            ),
            Plan::Span => ("", format!(r#""LineString","coordinates":{ring:?}"#)),
            Plan::Building => {
                ring.push(ring[0]);
                (
                    r#""building":"yes""#,
                    format!(r#""Polygon","coordinates":[{ring:?}]"#),
                )
            }
        };
        let (layer, kind) = match shield.plan {
            Plan::Span => (&mut lines, r#""power":"line""#),
            Plan::Mast | Plan::Building => (&mut structures, kind),
        };
        let comma = if layer.is_empty() { "" } else { "," };
        write!(
            layer,
            r#"{comma}{{"type":"Feature","properties":{{{kind},"height":{}}},"geometry":{{"type":{text}}}}}"#,
            shield.height
        )?;
    }
    for (name, features) in [("structures", structures), ("power-lines", lines)] {
        let text = format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#);
        std::fs::write(folder.join(format!("{name}.geojson")), text)?;
    }
    let (horizontal, vertical) = ACCURACY;
    let accuracy =
        format!("horizontal_accuracy_m = {horizontal}\nvertical_accuracy_m = {vertical}\n");
    std::fs::write(
        folder.join("layers.toml"),
        format!(
            "[structures]\n{accuracy}[power-lines]\n{accuracy}vertices_are_supports = true\nsag = \
             {{ share_of_span = {SAG} }}\n[terrain]\nvertical_accuracy_m = {TERRAIN_ACCURACY}\n"
        ),
    )?;
    let path = folder.join("terrain.tif");
    if terrain.nodes.is_empty() {
        if path.exists() {
            std::fs::remove_file(path)?;
        }
        return Ok(());
    }
    let mut raster = DriverManager::get_driver_by_name("GTiff")?.create_with_band_type::<f32, _>(
        &path,
        terrain.columns,
        terrain.rows,
        1,
    )?;
    raster.set_spatial_ref(&SpatialRef::from_epsg(4326)?)?;
    let [west, north] = terrain.first_node();
    let step = 1.0 / NODES_PER_DEG;
    // Nodes are the middles of cells.
    raster.set_geo_transform(&[west - step / 2.0, step, 0.0, north + step / 2.0, 0.0, -step])?;
    let size = (terrain.columns, terrain.rows);
    raster
        .rasterband(1)?
        .write((0, 0), size, &mut Buffer::new(size, terrain.nodes.clone()))?;
    raster.flush_cache()?;
    Ok(())
}
