//! A folder of layers written once in an indexed form, so that little of it is read for one site.
//!
//! Vector layers become FlatGeobuf with a packed R-tree, terrain a tiled GeoTIFF with overviews;
//! `layers.toml` goes along as it is. Answers from the prepared folder are those from the folder
//! before, to the last byte. Not here: reading what was prepared (see
//! [`crate::read::prepared`] and [`crate::read::flatgeobuf`]).

mod columns;
mod folder;
mod vector;

use std::path::Path;

use crate::error::{Error, Result};
use crate::read::aixm;
use crate::read::folder::{Folder, LayerKind};
use crate::read::layer::file_name;
use crate::read::mapping::{self, Declarations};
use crate::read::prepared::{Entry, Manifest, VERSION};
use crate::read::raster;

/// What was done with one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Done {
    /// What the manifest says of it.
    pub entry: Entry,
    /// How it was written.
    pub how: How,
    /// Bytes before and after.
    pub bytes: [u64; 2],
}

/// How a file was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// As FlatGeobuf, with so many features in the rest beside it.
    FlatGeobuf {
        /// Features without geometry or with a defect, which stay GeoJSON.
        rest: usize,
    },
    /// As a tiled GeoTIFF with overviews.
    GeoTiff,
    /// As it was.
    Copied,
}

/// Prepares a folder of layers into another one, which is made or replaced whole.
///
/// # Errors
/// Layers that cannot be read; a folder to write that is a file, holds what was not prepared, or lies
/// within the layers. Nothing is changed then.
pub fn prepare(layers: &Path, out: &Path) -> Result<Vec<Done>> {
    let declarations = Declarations::read(layers)?;
    if Manifest::read(layers)?.is_some() {
        return Err(Error::new(
            "is prepared already",
            "give the folder that it was prepared from",
        )
        .in_file(layers));
    }
    let found = Folder::read(layers, &declarations)?;
    if found.layers.is_empty() {
        return Err(Error::new(
            "holds no layer",
            "put aerodromes, runways, power-lines, structures or terrain files there",
        )
        .in_file(layers));
    }
    let target = folder::Target::new(layers, out)?;
    let mut done: Vec<Done> = Vec::new();
    for (kind, sources) in &found.layers {
        let declaration = kind.declaration(&declarations);
        for source in sources {
            let path = source.path.as_path();
            let original = file_name(path);
            let is_taken = |name: &str| {
                name == mapping::FILE_NAME
                    || name == crate::read::prepared::FILE_NAME
                    || done
                        .iter()
                        .any(|one| one.entry.names().any(|it| it == name))
            };
            let entry = |name: String| Entry {
                layer: kind.name().to_owned(),
                original: original.clone(),
                name,
                vector: None,
            };
            let (entry, how) = if *kind == LayerKind::Terrain {
                let entry = entry(free(&original, &is_taken));
                raster::copy_tiled(path, &target.path(&entry.name))
                    .map_err(|error| error.in_file(path))?;
                (entry, How::GeoTiff)
            } else if aixm::is_aixm(path) {
                let entry = entry(free(&original, &is_taken));
                target.copy(path, &entry.name)?;
                (entry, How::Copied)
            } else {
                let stem = path.file_stem().map_or_else(
                    || original.clone(),
                    |stem| stem.to_string_lossy().into_owned(),
                );
                let name = free(&format!("{stem}.fgb"), &is_taken);
                let rest = free(&format!("{stem}.rest.geojson"), &is_taken);
                let names = vector::Names {
                    layer: kind.name(),
                    name: &name,
                    rest: &rest,
                };
                let (vector, rest) = vector::write(path, declaration, names, &target)?;
                let entry = Entry {
                    vector: Some(vector),
                    ..entry(name)
                };
                (entry, How::FlatGeobuf { rest })
            };
            let after = entry.names().map(|name| size(&target.path(name))).sum();
            done.push(Done {
                bytes: [size(path), after],
                entry,
                how,
            });
        }
    }
    let declared = layers.join(mapping::FILE_NAME);
    if declared.is_file() {
        target.copy(&declared, mapping::FILE_NAME)?;
    }
    let manifest = Manifest {
        version: VERSION,
        not_recognised: found.not_recognised,
        files: done.iter().map(|done| done.entry.clone()).collect(),
    };
    target.finish(&manifest)?;
    Ok(done)
}

/// The name, or the name with a number before its extension where it is taken.
fn free(name: &str, is_taken: &dyn Fn(&str) -> bool) -> String {
    let (stem, extension) = name.split_once('.').unwrap_or((name, ""));
    std::iter::once(name.to_owned())
        .chain((2_u32..).map(|number| format!("{stem}-{number}.{extension}")))
        .find(|name| !is_taken(name))
        .unwrap_or_default()
}

fn size(path: &Path) -> u64 {
    path.metadata().map_or(0, |about| about.len())
}
