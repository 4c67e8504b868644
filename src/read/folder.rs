//! Which files of a folder are layers: found by name, read by extension.
//!
//! Not here: what is in them (see [`crate::read`]).

use std::path::{Path, PathBuf};

use super::declaration::Declaration;
use super::layer::file_name;
use super::mapping::{Declarations, FILE_NAME};
use super::prepared::{Manifest, Source};
use crate::error::{Error, Result};

/// A layer that eaves knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LayerKind {
    /// Aerodromes and heliports.
    Aerodromes,
    /// Runways.
    Runways,
    /// Power lines.
    PowerLines,
    /// The supports of power lines.
    PowerSupports,
    /// Buildings and other structures.
    Structures,
    /// Airspace volumes.
    Airspace,
    /// Points of the flight plan.
    Plan,
    /// A terrain raster.
    Terrain,
}

impl LayerKind {
    /// All layers, in the order of reports.
    pub const ALL: [Self; 8] = [
        Self::Aerodromes,
        Self::Runways,
        Self::PowerLines,
        Self::PowerSupports,
        Self::Structures,
        Self::Airspace,
        Self::Plan,
        Self::Terrain,
    ];

    /// Its name: `power-lines`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Aerodromes => "aerodromes",
            Self::Runways => "runways",
            Self::PowerLines => "power-lines",
            Self::PowerSupports => "power-supports",
            Self::Structures => "structures",
            Self::Airspace => "airspace",
            Self::Plan => "plan",
            Self::Terrain => "terrain",
        }
    }

    /// File names without extension that mean this layer; `_`, `-` and the case of letters alike.
    const fn file_names(self) -> &'static [&'static str] {
        match self {
            Self::Aerodromes => &["aerodromes"],
            Self::Runways => &["runways"],
            Self::PowerLines => &["power-lines"],
            Self::PowerSupports => &["power-supports", "supports"],
            Self::Structures => &["structures", "obstacles", "buildings"],
            Self::Airspace => &["airspace"],
            Self::Plan => &["plan"],
            Self::Terrain => &["terrain", "dem", "dtm", "elevation"],
        }
    }

    /// What `layers.toml` declares about it.
    #[must_use]
    pub const fn declaration(self, declarations: &Declarations) -> &Declaration {
        match self {
            Self::Aerodromes => &declarations.aerodromes,
            Self::Runways => &declarations.runways,
            Self::PowerLines => &declarations.power_lines,
            Self::PowerSupports => &declarations.power_supports,
            Self::Structures => &declarations.structures,
            Self::Airspace => &declarations.airspace,
            Self::Plan => &declarations.plan,
            Self::Terrain => &declarations.terrain,
        }
    }
}

/// Extensions of vector formats that are read.
const VECTOR_EXTENSIONS: [&str; 7] = ["geojson", "json", "shp", "gpkg", "fgb", "kml", "csv"];
/// Extensions of airspace in AIXM, besides.
const AIXM_EXTENSIONS: [&str; 2] = ["xml", "aixm"];
/// Extensions of raster formats that are read.
const RASTER_EXTENSIONS: [&str; 2] = ["tif", "tiff"];
/// Files beside layers that say nothing by themselves.
const COMPANIONS: [&str; 16] = [
    "md", "txt", "toml", "shx", "dbf", "prj", "cpg", "qix", "sbn", "sbx", "xml", "tfw", "ovr",
    "wld", "vrt", "csvt",
];

/// The layer files of a folder, and the files that are not layers.
#[derive(Clone, Debug, Default)]
pub struct Folder {
    /// Each layer with its files, in the order of [`LayerKind::ALL`].
    pub layers: Vec<(LayerKind, Vec<Source>)>,
    /// File names that were not recognised, sorted.
    pub not_recognised: Vec<String>,
}

impl Folder {
    /// Looks through a folder.
    ///
    /// # Errors
    /// A folder that does not exist, is a file, or cannot be listed; a declared file that is not
    /// there; a folder or a broken link where a layer's file should be; two files of one name for
    /// one layer; a `prepared.toml` with a fault.
    pub fn read(folder: &Path, declarations: &Declarations) -> Result<Self> {
        let fault = |cause: String, remedy: &str| Error::new(cause, remedy).in_file(folder);
        if !folder.exists() {
            return Err(fault(
                "does not exist".to_owned(),
                "give the folder that holds the layers",
            ));
        }
        if !folder.is_dir() {
            return Err(fault(
                "is a file, not a folder".to_owned(),
                "give the folder that holds the layers",
            ));
        }
        if let Some(manifest) = Manifest::read(folder)? {
            return Ok(Self {
                layers: manifest.layers(folder),
                not_recognised: manifest.not_recognised,
            });
        }
        let mut paths = std::fs::read_dir(folder)
            .and_then(|entries| {
                entries
                    .map(|entry| entry.map(|entry| entry.path()))
                    .collect::<std::io::Result<Vec<_>>>()
            })
            .map_err(|error| {
                fault(
                    format!("cannot be listed ({error})"),
                    "check that it may be read",
                )
            })?;
        paths.retain(|path| !file_name(path).starts_with('.'));
        paths.sort();
        refuse_what_is_no_file(&paths)?;
        paths.retain(|path| path.is_file());
        let mut found = Self::default();
        let mut used = Vec::new();
        for kind in LayerKind::ALL {
            let files = match &kind.declaration(declarations).file {
                Some(name) => {
                    let path = folder.join(name);
                    if !path.is_file() {
                        return Err(Error::new(
                            format!("[{}] names \"{name}\", which is not there", kind.name()),
                            "correct file, or put the file beside layers.toml",
                        )
                        .in_file(folder.join(FILE_NAME)));
                    }
                    vec![path]
                }
                None => paths
                    .iter()
                    .filter(|path| is_layer(path, kind))
                    .cloned()
                    .collect(),
            };
            refuse_twins(&files, kind, folder)?;
            used.extend(files.iter().cloned());
            if !files.is_empty() {
                let sources = files.into_iter().map(Source::plain).collect();
                found.layers.push((kind, sources));
            }
        }
        found.not_recognised = paths
            .iter()
            .filter(|path| !used.contains(path) && !is_companion(path))
            .map(|path| file_name(path))
            .collect();
        Ok(found)
    }

    /// The files of one layer.
    #[must_use]
    pub fn files(&self, kind: LayerKind) -> &[Source] {
        self.layers
            .iter()
            .find(|(known, _)| *known == kind)
            .map_or(&[], |(_, files)| files.as_slice())
    }
}

fn extension(path: &Path) -> String {
    path.extension()
        .map(|extension| extension.to_string_lossy().to_lowercase())
        .unwrap_or_default()
}

fn stem(path: &Path) -> String {
    path.file_stem()
        .map(|stem| stem.to_string_lossy().to_lowercase().replace('_', "-"))
        .unwrap_or_default()
}

fn is_layer(path: &Path, kind: LayerKind) -> bool {
    let extensions: &[&str] = match kind {
        LayerKind::Terrain => &RASTER_EXTENSIONS,
        _ => &VECTOR_EXTENSIONS,
    };
    let extension = extension(path);
    (extensions.contains(&extension.as_str())
        || (kind == LayerKind::Airspace && AIXM_EXTENSIONS.contains(&extension.as_str())))
        && kind.file_names().contains(&stem(path).as_str())
}

fn is_companion(path: &Path) -> bool {
    COMPANIONS.contains(&extension(path).as_str())
}

/// A folder, a broken link or a pipe with the name of a layer is not passed over as if the layer were
/// absent.
fn refuse_what_is_no_file(paths: &[PathBuf]) -> Result<()> {
    let named = |path: &Path| {
        LayerKind::ALL
            .into_iter()
            .find(|kind| is_layer(path, *kind))
    };
    match paths.iter().find_map(|path| {
        named(path)
            .filter(|_| !path.is_file())
            .map(|kind| (path, kind))
    }) {
        Some((path, kind)) => Err(Error::new(
            format!(
                "has the name of the {} layer but is not a file",
                kind.name()
            ),
            "put the file there, or rename what is",
        )
        .in_file(path)),
        None => Ok(()),
    }
}

/// Two files of one name would be read twice, and two terrains cannot both be the ground.
fn refuse_twins(files: &[PathBuf], kind: LayerKind, folder: &Path) -> Result<()> {
    let twins = files.windows(2).find_map(|pair| match pair {
        [a, b] if kind == LayerKind::Terrain || stem(a) == stem(b) => Some((a, b)),
        _ => None,
    });
    match twins {
        Some((a, b)) => Err(Error::new(
            format!(
                "{} and {} are both the {} layer",
                file_name(a),
                file_name(b),
                kind.name()
            ),
            format!(
                "remove one, or name one in layers.toml: [{}] file = \"...\"",
                kind.name()
            ),
        )
        .in_file(folder)),
        None => Ok(()),
    }
}
