//! The allowed ceiling over a whole region: a raster and its bands.
//!
//! A region is cut into tiles; each is laid out in a plane of its own, by the same fields as one site,
//! and every cell is given the certified lower end of the minimum over all of it. A cell that is not
//! certainly covered everywhere is undetermined: without data, never 0. Tiles are answered in
//! parallel and written in their order, so that the number of threads changes no byte; no more of the
//! map is held than some tiles. Not here: sites (see [`crate::assess`]).

pub mod bands;
pub mod grid;
mod polygons;
mod raster;
mod tile;

use std::path::{Path, PathBuf};

use geo::MultiPolygon;
use rayon::prelude::*;

use crate::answer::{CAUTION, CeilingMapAnswer, NotAssessed, Tally};
use crate::assess::{self, Question};
use crate::error::{Error, Result};
use crate::profile::Term;
use crate::read::Layers;
use crate::units::Metres;

use grid::{Grid, Part, counted_on};
use raster::{Pair, Raster};
use tile::{NO_DATA, Tile, UNDETERMINED, Values};

/// The most cells of a tile on each side.
const TILE_CELLS: usize = 128;

/// The widest tile: a plane is good to a hundredth of a millimetre in a reach of 100 m that far out.
const TILE_WIDTH: Metres = Metres::of(5_000.0);

/// How many tiles are held at a time. Only memory depends on it.
const TILES_AT_A_TIME: usize = 64;

/// The name of the raster.
const RASTER: &str = "ceiling.tif";

/// What a map is made of.
#[derive(Clone, Debug)]
pub struct Commission {
    /// What is asked at every place; its area is the region.
    pub question: Question,
    /// How wide and high a cell is.
    pub cell: Metres,
    /// How high a band is.
    pub step: Metres,
    /// Whether bands are written as FlatGeobuf too.
    pub flatgeobuf: bool,
}

/// A vertical reference in names of bands and properties.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Vertical {
    suffix: &'static str,
    words: &'static str,
}

const ABOVE_GROUND: Vertical = Vertical {
    suffix: "agl",
    words: "above ground",
};

const AMSL: Vertical = Vertical {
    suffix: "amsl",
    words: "above mean sea level",
};

/// Maps the ceiling over a region into a folder, which must be there.
///
/// # Errors
/// When a tile cannot be answered or a file cannot be written; nothing is left in the folder then.
pub fn map(commission: &Commission, layers: &Layers, folder: &Path) -> Result<CeilingMapAnswer> {
    let question = &commission.question;
    let region = counted_on(&question.area.polygons);
    let grid = Grid::over(&region, commission.cell)?;
    let has_amsl = layers.terrain.is_some() || question.site_elevation.is_some();
    let verticals: &[Vertical] = if has_amsl {
        &[ABOVE_GROUND, AMSL]
    } else {
        &[ABOVE_GROUND]
    };
    refuse_another_map(folder, verticals, commission.flatgeobuf)?;
    let mut answer = about(commission, layers, &grid, has_amsl);
    let unwritable = |why: std::io::Error| {
        Error::new(
            format!("cannot be written ({why})"),
            "check the folder, its permissions and the space left",
        )
        .in_file(folder)
    };
    let making = tempfile::Builder::new()
        .prefix(".eaves-")
        .tempdir_in(folder)
        .map_err(unwritable)?;
    let pairs: Vec<Pair> = verticals
        .iter()
        .map(|vertical| Pair {
            ceiling: format!("ceiling_m_{}", vertical.suffix),
            term: format!("governing_term_{}", vertical.suffix),
        })
        .collect();
    let mut raster = Raster::create(&making.path().join("filling.tif"), &grid, &pairs)?;
    fill(&mut raster, commission, layers, &grid, &region, &mut answer)?;
    let about = labels(&answer);
    raster.describe(&about)?;

    let mut names = vec![RASTER.to_owned()];
    for (pair, vertical) in verticals.iter().enumerate() {
        let stem = format!("bands-{}", vertical.suffix);
        let name = format!("{stem}.geojson");
        let bands = polygons::Bands {
            raster: &raster,
            grid: &grid,
            pair,
            suffix: vertical.suffix,
            step: commission.step.m(),
            about: &about,
        };
        bands
            .write(&making.path().join(&name))
            .map_err(|why| why.in_file(folder.join(&name)))?;
        if commission.flatgeobuf {
            let copy = format!("{stem}.fgb");
            polygons::copy_as_flatgeobuf(&making.path().join(&name), &making.path().join(&copy))
                .map_err(|why| why.in_file(folder.join(&copy)))?;
            names.push(copy);
        }
        names.push(name);
    }
    raster.finish(&making.path().join(RASTER))?;
    for name in names {
        let path = folder.join(&name);
        std::fs::rename(making.path().join(&name), &path).map_err(unwritable)?;
        answer.files.push(path);
    }
    Ok(answer)
}

/// Refuses a folder with bands that would stay from another map and be taken for this one's.
fn refuse_another_map(folder: &Path, verticals: &[Vertical], flatgeobuf: bool) -> Result<()> {
    for vertical in [ABOVE_GROUND, AMSL] {
        for (extension, is_written) in [("geojson", true), ("fgb", flatgeobuf)] {
            let name = format!("bands-{}.{extension}", vertical.suffix);
            if folder.join(&name).exists() && !(is_written && verticals.contains(&vertical)) {
                return Err(Error::new(
                    format!("holds {name} of another map, which this one would not replace"),
                    "give --out a folder of its own",
                )
                .in_file(folder));
            }
        }
    }
    Ok(())
}

/// Answers every tile and writes it, in the order of the grid.
fn fill(
    raster: &mut Raster,
    commission: &Commission,
    layers: &Layers,
    grid: &Grid,
    region: &MultiPolygon<f64>,
    answer: &mut CeilingMapAnswer,
) -> Result<()> {
    let widest = (TILE_WIDTH.m() / commission.cell.m()).floor() as usize;
    let parts: Vec<Part> = grid.parts(widest.clamp(1, TILE_CELLS)).collect();
    for some in parts.chunks(TILES_AT_A_TIME) {
        let tiles: Vec<Tile> = some
            .par_iter()
            .map(|part| tile::answer(&commission.question, layers, grid, region, *part))
            .collect::<Result<_>>()?;
        for tile in tiles {
            let Values { ceiling, term } = &tile.above_ground;
            raster.write(&tile.part, [ceiling, term], 0)?;
            count(&mut answer.above_ground, &tile.above_ground);
            if let Some(tally) = &mut answer.amsl {
                let Values { ceiling, term } = &tile.amsl;
                raster.write(&tile.part, [ceiling, term], 1)?;
                count(tally, &tile.amsl);
            }
            gather(&mut answer.not_assessed, tile.not_assessed);
        }
    }
    Ok(())
}

/// Adds what a tile could not assess, each kind once.
fn gather(known: &mut Vec<NotAssessed>, of_tile: Vec<NotAssessed>) {
    for mut entry in of_tile {
        entry.why.push_str(" in some tiles of the map");
        if !known.contains(&entry) {
            known.push(entry);
        }
    }
}

fn count(tally: &mut Tally, values: &Values) {
    for (ceiling, term) in values.ceiling.iter().zip(&values.term) {
        if *term == NO_DATA {
            continue;
        }
        if *term == UNDETERMINED {
            tally.undetermined += 1;
            continue;
        }
        tally.determined += 1;
        let metres = f64::from(*ceiling);
        tally.lowest_m = Some(tally.lowest_m.map_or(metres, |least| least.min(metres)));
        tally.highest_m = Some(tally.highest_m.map_or(metres, |most| most.max(metres)));
    }
}

/// The answer before any cell is counted.
fn about(
    commission: &Commission,
    layers: &Layers,
    grid: &Grid,
    has_amsl: bool,
) -> CeilingMapAnswer {
    let question = &commission.question;
    let mut not_assessed = layers.not_assessed.clone();
    not_assessed.push(NotAssessed {
        what: "aerodromes, zones, obstacle limitation surfaces, hours".to_owned(),
        why: "a map holds the height terms of the profile alone; ask `eaves assess` about a site"
            .to_owned(),
        count: 0,
        features: Vec::new(),
    });
    not_assessed.push(assess::never_assessed());
    let mut cautions = question.area_cautions.clone();
    cautions.extend(layers.cautions.clone());
    if !has_amsl {
        cautions.add(assess::flat_ground());
    }
    CeilingMapAnswer {
        region: question.area.name.clone(),
        date: question.date.to_string(),
        profile: question.profile.title.clone(),
        profile_caution: question.profile.caution.clone(),
        conditions: question.profile.conditions.clone(),
        terms: question
            .profile
            .expression
            .leaves()
            .into_iter()
            .map(|leaf| match leaf {
                Term::Cap { title, .. }
                | Term::Shield { title, .. }
                | Term::Airspace { title, .. } => title.clone(),
                Term::Lowest(_) | Term::Highest(_) => String::new(),
            })
            .collect(),
        columns: grid.columns,
        rows: grid.rows,
        cell_deg: [grid.step_lon, grid.step_lat],
        cell_m: commission.cell,
        step_m: commission.step,
        tolerance_m: question.tolerance,
        ground: match (&question.site_elevation, &layers.terrain) {
            (Some(_), _) => "one stated elevation".to_owned(),
            (None, Some(terrain)) => terrain.file().to_owned(),
            (None, None) => "flat ground assumed".to_owned(),
        },
        above_ground: Tally::default(),
        amsl: has_amsl.then(Tally::default),
        not_assessed,
        cautions: cautions.into_vec(),
        files: Vec::<PathBuf>::new(),
    }
}

/// What the files say of themselves.
fn labels(answer: &CeilingMapAnswer) -> Vec<(&'static str, String)> {
    let terms: Vec<String> = std::iter::once("0 undetermined".to_owned())
        .chain(
            (1..)
                .zip(&answer.terms)
                .map(|(number, title)| format!("{number} {title}")),
        )
        .collect();
    let not_assessed: Vec<String> = answer
        .not_assessed
        .iter()
        .map(|entry| format!("{} ({})", entry.what, entry.why))
        .collect();
    let mut references = format!("{}: heights over {}", ABOVE_GROUND.words, answer.ground);
    if answer.amsl.is_some() {
        references.push_str(&format!("; {}: as {} has it", AMSL.words, answer.ground));
    }
    vec![
        ("TITLE", format!("Allowed ceiling over {}", answer.region)),
        ("CAUTION", CAUTION.to_owned()),
        (
            "MEANING",
            "The value of a cell is a certified lower bound of the ceiling over the whole cell, \
             rounded down. No data: undetermined, or not asked; never 0."
                .to_owned(),
        ),
        ("UNITS", "metres".to_owned()),
        ("HORIZONTAL_DATUM", "WGS 84, EPSG:4326".to_owned()),
        ("VERTICAL_REFERENCE", references),
        ("GOVERNING_TERMS", terms.join("; ")),
        ("PROFILE", answer.profile.clone()),
        ("PROFILE_CAUTION", answer.profile_caution.clone()),
        ("CONDITIONS", answer.conditions.join(" ")),
        ("SEARCH_TOLERANCE_M", answer.tolerance_m.m().to_string()),
        ("NOT_ASSESSED", not_assessed.join("; ")),
        ("DATE", answer.date.clone()),
        ("SOFTWARE", format!("eaves {}", env!("CARGO_PKG_VERSION"))),
    ]
}
