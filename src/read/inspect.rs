//! What a folder of layers holds and what is wrong with it, layer by layer, as data.
//!
//! Not here: the wording of the page that shows it (see [`crate::report`]).

use std::collections::BTreeMap;
use std::path::Path;

use geo::CoordsIter;
use serde::Serialize;

use super::declaration::Declaration;
use super::feature::Feature;
use super::folder::{Folder, LayerKind};
use super::height::LengthUnit;
use super::layer::{VectorLayer, Wanted};
use super::mapping::Declarations;
use super::raster::TerrainFile;
use super::reading::layers;
use super::{Obstacles, ReadOptions};
use crate::answer::NotAssessed;
use crate::error::{Caution, Cautions, Result};
use crate::frame::longitude_step;
use crate::obstacle::Obstacle;
use crate::plan_point::PlanPoint;

/// What a folder of layers holds.
#[derive(Clone, Debug, Serialize)]
pub struct Inspection {
    /// The folder, as given.
    pub folder: String,
    /// Whether the folder has a `layers.toml`.
    pub has_declarations: bool,
    /// The layers, in the order of reports.
    pub layers: Vec<LayerInspection>,
    /// Every defect: file, features, what is wrong, and its effect.
    pub defects: Vec<Caution>,
    /// What an assessment from this folder would leave out.
    pub not_assessed: Vec<NotAssessed>,
    /// Files that are no layer by name, not read.
    pub not_recognised: Vec<String>,
    /// Files that could not be read, with the error in full.
    pub errors: Vec<String>,
}

/// What one file of a layer holds.
#[derive(Clone, Debug, Serialize)]
pub struct LayerInspection {
    /// Which layer: `power-lines`.
    pub layer: String,
    /// Its file name.
    pub file: String,
    /// How many features the file holds; for a raster, how many cells.
    pub features: usize,
    /// How many features of each geometry type; `none` for those without geometry.
    pub geometries: BTreeMap<String, usize>,
    /// How many records of each kind came of it: `span`, `support`, `building`, `silo`.
    pub kinds: BTreeMap<String, usize>,
    /// Its coordinate reference system and what was done about it.
    pub crs: String,
    /// Its extent in WGS 84 degrees; none when it holds no position.
    pub extent: Option<Extent>,
    /// The unit of heights that carry none: `m` or `ft`.
    pub height_unit: &'static str,
    /// How many records have a usable height, for obstacle layers.
    pub with_height: Option<usize>,
    /// Date of the data, if declared.
    pub date: Option<String>,
    /// Source and licence of the data, if declared.
    pub source: Option<String>,
}

/// A box in degrees; it crosses the antimeridian when west > east.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extent {
    /// Western longitude.
    pub west_deg: f64,
    /// Southern latitude.
    pub south_deg: f64,
    /// Eastern longitude.
    pub east_deg: f64,
    /// Northern latitude.
    pub north_deg: f64,
}

/// Looks through a folder of layers: every file, every defect.
///
/// A file that cannot be read is an entry of [`Inspection::errors`], and the others are still looked
/// at.
///
/// # Errors
/// A folder that cannot be listed, or a fault in its `layers.toml`.
pub fn inspect(folder: &Path) -> Result<Inspection> {
    let declarations = Declarations::read(folder)?;
    let files = Folder::read(folder, &declarations)?;
    let mut inspection = Inspection {
        folder: folder.display().to_string(),
        has_declarations: folder.join(super::mapping::FILE_NAME).is_file(),
        layers: Vec::new(),
        defects: Vec::new(),
        not_assessed: Vec::new(),
        not_recognised: files.not_recognised.clone(),
        errors: Vec::new(),
    };
    for (kind, sources) in &files.layers {
        for source in sources {
            let declaration = kind.declaration(&declarations);
            let outcome = if *kind == LayerKind::Terrain {
                TerrainFile::open_source(source, declaration)
                    .map(|terrain| of_terrain(&terrain, declaration))
            } else {
                VectorLayer::read(source, declaration, Wanted::default())
                    .map(|layer| of_vector(*kind, &layer, declaration))
            };
            match outcome {
                Ok(layer) => inspection.layers.push(layer),
                Err(error) => inspection.errors.push(error.to_string()),
            }
        }
    }
    if !inspection.errors.is_empty() {
        return Ok(inspection);
    }
    match layers(folder, &ReadOptions::default()) {
        Ok(read) => {
            let mut defects = read.cautions;
            defects.extend(missing_heights(read.obstacles.iter()));
            inspection.defects = defects.into_vec();
            inspection.not_assessed = read.not_assessed;
            for layer in &mut inspection.layers {
                count_records(layer, &read.obstacles);
                count_points(layer, &read.plan);
            }
        }
        Err(error) => inspection.errors.push(error.to_string()),
    }
    Ok(inspection)
}

fn of_terrain(terrain: &TerrainFile, declaration: &Declaration) -> LayerInspection {
    let answer = terrain.answer();
    let (columns, rows) = terrain.size();
    LayerInspection {
        layer: answer.layer,
        file: answer.file,
        features: columns.saturating_mul(rows),
        geometries: BTreeMap::new(),
        kinds: BTreeMap::new(),
        crs: answer.crs,
        extent: terrain.extent(),
        height_unit: terrain.unit(),
        with_height: None,
        date: declaration.date(),
        source: declaration.source(),
    }
}

fn of_vector(kind: LayerKind, layer: &VectorLayer, declaration: &Declaration) -> LayerInspection {
    let answer = layer.answer(kind.name(), declaration);
    let mut geometries = BTreeMap::new();
    for feature in &layer.features {
        *geometries.entry(geometry_type(feature)).or_insert(0) += 1;
    }
    if !layer.unreadable.is_empty() {
        geometries.insert("unreadable".to_owned(), layer.unreadable.len());
    }
    LayerInspection {
        layer: answer.layer,
        file: answer.file,
        features: answer.features,
        geometries,
        kinds: BTreeMap::new(),
        crs: answer.crs,
        extent: extent(&layer.features),
        height_unit: match declaration.height_unit.unwrap_or_default() {
            LengthUnit::Metre => "m",
            LengthUnit::Foot => "ft",
        },
        with_height: None,
        date: answer.date,
        source: answer.source,
    }
}

fn geometry_type(feature: &Feature) -> String {
    match &feature.geometry {
        None => "none",
        Some(geo::Geometry::Point(_)) => "Point",
        Some(geo::Geometry::MultiPoint(_)) => "MultiPoint",
        Some(geo::Geometry::LineString(_)) => "LineString",
        Some(geo::Geometry::MultiLineString(_)) => "MultiLineString",
        Some(geo::Geometry::Polygon(_)) => "Polygon",
        Some(geo::Geometry::MultiPolygon(_)) => "MultiPolygon",
        Some(_) => "GeometryCollection",
    }
    .to_owned()
}

/// The box of all positions, with longitudes counted from the first one, the short way round.
fn extent(features: &[Feature]) -> Option<Extent> {
    let mut positions = features
        .iter()
        .filter_map(|feature| feature.geometry.as_ref())
        .flat_map(|geometry| geometry.coords_iter());
    let first = positions.next()?;
    let (mut west, mut east, mut south, mut north) = (0.0_f64, 0.0_f64, first.y, first.y);
    for position in positions {
        let step = longitude_step(first.x, position.x);
        west = west.min(step);
        east = east.max(step);
        south = south.min(position.y);
        north = north.max(position.y);
    }
    let turned = |step: f64| crate::frame::LonLat::wrapped(first.x + step, 0.0).lon();
    Some(Extent {
        west_deg: turned(west),
        south_deg: south,
        east_deg: turned(east),
        north_deg: north,
    })
}

fn count_records(layer: &mut LayerInspection, obstacles: &Obstacles) {
    if !["power-lines", "power-supports", "structures"].contains(&layer.layer.as_str()) {
        return;
    }
    let mut with_height = 0;
    for obstacle in obstacles.iter().filter(|it| it.source.file == layer.file) {
        *layer.kinds.entry(kind_name(&obstacle)).or_insert(0) += 1;
        with_height += usize::from(obstacle.top.is_some());
    }
    layer.with_height = Some(with_height);
}

/// Of a point with several roles, each is counted.
fn count_points(layer: &mut LayerInspection, points: &[PlanPoint]) {
    let of_file = points
        .iter()
        .filter(|point| point.source.file == layer.file);
    for role in of_file.flat_map(|point| &point.roles) {
        *layer.kinds.entry(role.to_string()).or_insert(0) += 1;
    }
}

fn kind_name(obstacle: &Obstacle) -> String {
    use crate::obstacle::ObstacleKind as Kind;
    match &obstacle.kind {
        Kind::Span => "span".to_owned(),
        Kind::Support => "support".to_owned(),
        Kind::Building => "building".to_owned(),
        Kind::Structure(words) => words.to_string(),
    }
}

/// One caution for each file with obstacles that have no usable height.
fn missing_heights(obstacles: impl Iterator<Item = Obstacle>) -> Cautions {
    let mut cautions = Cautions::default();
    let mut last = None;
    for obstacle in obstacles.filter(|obstacle| obstacle.top.is_none()) {
        // The spans of one line share its feature, and count as one.
        if last.as_ref() == Some(&obstacle.source) {
            continue;
        }
        cautions.feature(
            &obstacle.source.file,
            &obstacle.source.feature,
            "has no usable height",
            super::attributes::NOT_A_SHIELD,
        );
        last = Some(obstacle.source);
    }
    cautions
}
