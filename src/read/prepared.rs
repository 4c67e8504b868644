//! `prepared.toml`: what a folder that was prepared holds, and under which names it was known before.
//!
//! The layers themselves are FlatGeobuf and GeoTIFF, readable without it; it keeps what those have no
//! place for, so that an answer from prepared layers has the same words. Not here: preparing
//! (see [`crate::prepare`]).

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::folder::LayerKind;
use super::layer::file_name;
use crate::error::{Error, Result};

/// The name of the file.
pub const FILE_NAME: &str = "prepared.toml";

/// The layout of the file that this version of eaves writes and reads.
pub const VERSION: u32 = 1;

/// What a prepared folder holds.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// [`VERSION`].
    pub version: u32,
    /// Names of files of the folder before that are no layer by name.
    pub not_recognised: Vec<String>,
    /// Each file, in the order of the layers and of their files.
    #[serde(default, rename = "file")]
    pub files: Vec<Entry>,
}

/// One file of a layer.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Its layer: `power-lines`.
    pub layer: String,
    /// Its name before: `power_lines.geojson`.
    pub original: String,
    /// Its name now: `power_lines.fgb`.
    pub name: String,
    /// What FlatGeobuf needs besides; none for a raster, and for a file that was copied.
    #[serde(flatten)]
    pub vector: Option<Vector>,
}

/// What a FlatGeobuf file needs besides.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, Serialize)]
pub struct Vector {
    /// How many features there are, with those of the rest.
    pub features: usize,
    /// A GeoJSON file of the features without geometry or with a defect, as they were.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest: Option<String>,
    /// The column of the place of a feature in the file before, counted from 1.
    pub number_column: String,
    /// The column of the id of a feature.
    pub id_column: String,
    /// The coordinate reference system that the file said; WGS 84 as GeoJSON has it where it is absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crs: Option<String>,
    /// What is said of the system where none is declared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crs_words: Option<String>,
}

/// A file of a layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Where it is.
    pub path: PathBuf,
    /// What is known of it where it was prepared.
    pub prepared: Option<Entry>,
}

impl Source {
    /// A file as it is.
    #[must_use]
    pub const fn plain(path: PathBuf) -> Self {
        Self {
            path,
            prepared: None,
        }
    }

    /// The name that answers give it.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.prepared {
            Some(entry) => entry.original.clone(),
            None => file_name(&self.path),
        }
    }

    /// What is known of it as FlatGeobuf.
    #[must_use]
    pub fn vector(&self) -> Option<&Vector> {
        self.prepared.as_ref()?.vector.as_ref()
    }
}

impl Manifest {
    /// Reads the file of a folder; none where there is none.
    ///
    /// # Errors
    /// A file that cannot be read, is not TOML, was written by another version, or names what is no
    /// layer or is not there.
    pub fn read(folder: &Path) -> Result<Option<Self>> {
        let path = folder.join(FILE_NAME);
        let fault = |cause: String| {
            Error::new(cause, "prepare the layers again: eaves prepare").in_file(&path)
        };
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error)
                if matches!(
                    error.kind(),
                    std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory
                ) =>
            {
                return Ok(None);
            }
            Err(error) => return Err(fault(format!("cannot be read ({error})"))),
        };
        let manifest: Self =
            toml::from_str(&text).map_err(|error| fault(error.message().replace('\n', " ")))?;
        if manifest.version != VERSION {
            return Err(fault(format!(
                "has version {}, not {VERSION}",
                manifest.version
            )));
        }
        for entry in &manifest.files {
            if kind_of(entry).is_none() {
                return Err(fault(format!("\"{}\" is no layer", entry.layer)));
            }
            for name in entry.names() {
                if Path::new(name).components().count() != 1 || !folder.join(name).is_file() {
                    return Err(fault(format!("names \"{name}\", which is not there")));
                }
            }
        }
        Ok(Some(manifest))
    }

    /// The files of each layer, in the order of [`LayerKind::ALL`].
    #[must_use]
    pub fn layers(&self, folder: &Path) -> Vec<(LayerKind, Vec<Source>)> {
        LayerKind::ALL
            .into_iter()
            .map(|kind| {
                let sources = self
                    .files
                    .iter()
                    .filter(|entry| kind_of(entry) == Some(kind))
                    .map(|entry| Source {
                        path: folder.join(&entry.name),
                        prepared: Some(entry.clone()),
                    })
                    .collect::<Vec<_>>();
                (kind, sources)
            })
            .filter(|(_, sources)| !sources.is_empty())
            .collect()
    }
}

impl Entry {
    /// The names of its files.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let rest = self
            .vector
            .as_ref()
            .and_then(|vector| vector.rest.as_deref());
        std::iter::once(self.name.as_str()).chain(rest)
    }
}

fn kind_of(entry: &Entry) -> Option<LayerKind> {
    LayerKind::ALL
        .into_iter()
        .find(|kind| kind.name() == entry.layer)
}
