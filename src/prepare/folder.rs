//! The folder that is written: made beside its place and put there whole, or not at all.
//!
//! Not here: what is in it.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::error::{Error, Result};
use crate::read::layer::file_name;
use crate::read::mapping;
use crate::read::prepared::{FILE_NAME, Manifest};

/// A folder under construction.
#[derive(Debug)]
pub struct Target {
    place: PathBuf,
    /// A folder beside the place, on the same file system, gone when this is dropped.
    beside: TempDir,
}

/// What stands at the head of the manifest.
const HEAD: &str =
    "# Written by `eaves prepare`; do not edit. The layers are FlatGeobuf and GeoTIFF.\n\n";

impl Target {
    /// A folder to be put at `out`.
    ///
    /// # Errors
    /// When `out` is a file, lies within `layers` or around it, holds what was not prepared, or
    /// cannot be written.
    pub fn new(layers: &Path, out: &Path) -> Result<Self> {
        let fault = |cause: &str, remedy: &str| Err(Error::new(cause, remedy).in_file(out));
        if out.exists() && !out.is_dir() {
            return fault("is a file", "--out needs a folder");
        }
        let name = out.components().next_back();
        if !matches!(name, Some(std::path::Component::Normal(_))) {
            return fault("is no folder of its own", "name a new folder with --out");
        }
        let parent = match out.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
            _ => PathBuf::from("."),
        };
        fs::create_dir_all(&parent).map_err(|why| not_written(&parent, &why))?;
        let whole = |path: &Path| fs::canonicalize(path).map_err(|why| not_written(path, &why));
        let place = whole(&parent)?.join(file_name(out));
        let layers = whole(layers)?;
        if place.starts_with(&layers) || layers.starts_with(&place) {
            return fault(
                "lies within the layers, or they within it",
                "name a folder beside them with --out",
            );
        }
        if place.is_dir() {
            refuse_what_is_not_ours(&place, out)?;
        }
        let beside = tempfile::Builder::new()
            .prefix(".eaves-prepare-")
            .tempdir_in(&parent)
            .map_err(|why| not_written(&parent, &why))?;
        let target = Self { place, beside };
        fs::create_dir(target.made()).map_err(|why| not_written(out, &why))?;
        Ok(target)
    }

    fn made(&self) -> PathBuf {
        self.beside.path().join("made")
    }

    /// Where a file of the folder is while it is made.
    #[must_use]
    pub fn path(&self, name: &str) -> PathBuf {
        self.made().join(name)
    }

    /// Copies a file as it is.
    ///
    /// # Errors
    /// When it cannot be read or written.
    pub fn copy(&self, from: &Path, name: &str) -> Result<()> {
        fs::copy(from, self.path(name))
            .map(|_| ())
            .map_err(|why| not_written(from, &why))
    }

    /// Writes a file of the folder.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, name: &str, text: &str) -> Result<()> {
        fs::write(self.path(name), text).map_err(|why| not_written(&self.place.join(name), &why))
    }

    /// Writes the manifest and puts the folder in place.
    ///
    /// # Errors
    /// When that cannot be done; what was there before is there still.
    pub fn finish(self, manifest: &Manifest) -> Result<()> {
        let text = toml::to_string(manifest)
            .map_err(|why| Error::new(why.to_string(), "report it").in_file(&self.place))?;
        self.write(FILE_NAME, &format!("{HEAD}{text}"))?;
        let before = self.beside.path().join("before");
        let had_one = self.place.is_dir();
        if had_one {
            fs::rename(&self.place, &before).map_err(|why| not_written(&self.place, &why))?;
        }
        if let Err(why) = fs::rename(self.made(), &self.place) {
            if had_one {
                fs::rename(&before, &self.place).map_err(|why| not_written(&self.place, &why))?;
            }
            return Err(not_written(&self.place, &why));
        }
        Ok(())
    }
}

/// A folder is replaced only where every file in it was prepared.
fn refuse_what_is_not_ours(place: &Path, out: &Path) -> Result<()> {
    let names = fs::read_dir(place)
        .and_then(|entries| {
            entries
                .map(|entry| entry.map(|entry| entry.file_name().to_string_lossy().into_owned()))
                .collect::<std::io::Result<Vec<_>>>()
        })
        .map_err(|why| not_written(out, &why))?;
    let manifest = Manifest::read(place)?;
    let is_ours = |name: &String| match &manifest {
        None => false,
        Some(manifest) => {
            let mut ours = manifest.files.iter().flat_map(|entry| entry.names());
            name == FILE_NAME || name == mapping::FILE_NAME || ours.any(|it| it == name)
        }
    };
    match names.iter().filter(|name| !is_ours(name)).min() {
        Some(name) => Err(Error::new(
            format!("holds {name}, which eaves prepare did not write"),
            "name a new folder with --out, or empty that one yourself",
        )
        .in_file(out)),
        None => Ok(()),
    }
}

/// A path that cannot be read or written.
pub fn not_written(path: &Path, why: &std::io::Error) -> Error {
    Error::new(
        format!("cannot be written ({why})"),
        "check the folder, its permissions and the space left",
    )
    .in_file(path)
}
