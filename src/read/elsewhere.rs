//! What this program refuses to read because it is built without GDAL and PROJ: noted once, for whoever
//! started the run to hand it over to the program that has both.
//!
//! A refusal is an error like any other, and whoever gets it may gather it, word it anew or lose it. So
//! the first one is noted beside that, and a run that has noted one leaves nothing ([`Refused::none`]).
//! Built with GDAL and PROJ nothing is ever noted. Not here: what is refused one by one
//! (`read/without_gdal.rs`), and the hand-over (`src/lean.rs`).

use std::path::Path;
use std::sync::OnceLock;

use super::aixm;
use super::crs::Crs;
use super::folder::{Folder, LayerKind};
use super::layer::is_geojson;
use super::mapping::Declarations;
use super::stream::Stream;
use crate::error::{Error, Result};

/// What was refused in this process.
pub static REFUSED: Refused = Refused::nothing_yet();

/// The first thing that was refused.
#[derive(Debug)]
pub struct Refused(OnceLock<Error>);

impl Refused {
    /// Nothing refused so far.
    #[must_use]
    pub const fn nothing_yet() -> Self {
        Self(OnceLock::new())
    }

    /// Notes a refusal and gives it back; what was noted first stays.
    pub fn note(&self, error: Error) -> Error {
        let _ = self.0.set(error.clone());
        error
    }

    /// What was refused first.
    #[must_use]
    pub fn first(&self) -> Option<&Error> {
        self.0.get()
    }

    /// Nothing was refused.
    ///
    /// # Errors
    /// What was refused first.
    pub fn none(&self) -> Result<()> {
        self.first().map_or(Ok(()), |error| Err(error.clone()))
    }
}

/// That something needs GDAL or PROJ.
#[must_use]
pub fn needs(what: &str) -> Error {
    Error::new(
        format!("{what}, which this program is built without"),
        "put the program eaves beside it",
    )
}

/// Refuses a folder with a layer that needs GDAL or PROJ before any layer is read, so that a run that is
/// handed over has lost little time. Built with both it refuses nothing.
///
/// # Errors
/// The first such layer.
pub fn look_ahead(folder: &Folder, declarations: &Declarations) -> Result<()> {
    if cfg!(feature = "gdal") {
        return Ok(());
    }
    for (kind, sources) in &folder.layers {
        let declared = kind.declaration(declarations).crs.as_ref();
        for source in sources {
            let path = source.path.as_path();
            let vector = source.vector();
            if *kind == LayerKind::Terrain {
                return Err(refuse("terrain is read with GDAL", path));
            }
            if vector.is_none() && !is_geojson(path) && !aixm::is_aixm(path) {
                return Err(refuse("its format is read with GDAL", path));
            }
            let system = declared
                .or(vector.and_then(|vector| vector.crs.as_ref()))
                .cloned()
                .or_else(|| named_first(path));
            if let Some(definition) = system {
                Crs::declared(&definition).map_err(|error| error.in_file(path))?;
            }
        }
    }
    Ok(())
}

/// The system that a GeoJSON file names before its features.
fn named_first(path: &Path) -> Option<String> {
    if !is_geojson(path) {
        return None;
    }
    Stream::open(path)?.crs()
}

/// A refusal to read a file, noted.
pub fn refuse(what: &str, path: &Path) -> Error {
    REFUSED.note(needs(what).in_file(path))
}
