//! Files that a run leaves: checked before it starts, and put in place whole or not at all.
//!
//! Not here: what is in them (see [`crate::report`] and [`crate::figure`]).

use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::TempPath;

use crate::cli::figure::WantedFigure;
use crate::error::{Error, Result};
use crate::sheet::FigureKind;

/// How a figure is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureFormat {
    /// Portable Network Graphics.
    Png,
    /// Scalable Vector Graphics.
    Svg,
    /// Portable Document Format.
    Pdf,
}

/// A figure that was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FigureOutput {
    /// What it shows.
    pub kind: FigureKind,
    /// Where it goes.
    pub path: PathBuf,
    /// The format of its file name.
    pub format: FigureFormat,
}

impl FigureOutput {
    /// Where a sheet goes, counted from 1: the first where it was asked for, the others beside it,
    /// `site-2.png` beside `site.png`.
    #[must_use]
    pub fn sheet(&self, number: usize) -> PathBuf {
        if number < 2 {
            return self.path.clone();
        }
        let part = |it: Option<&std::ffi::OsStr>| it.unwrap_or_default().to_os_string();
        let mut name = part(self.path.file_stem());
        name.push(format!("-{number}."));
        name.push(part(self.path.extension()));
        self.path.with_file_name(name)
    }
}

/// The figures and the JSON that were asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outputs {
    /// Figures in the order given.
    pub figures: Vec<FigureOutput>,
    /// The JSON file.
    pub json: Option<PathBuf>,
    /// The HTML file.
    pub html: Option<PathBuf>,
}

/// A file in memory, ready to be put in place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prepared {
    /// Where it goes.
    pub path: PathBuf,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// What the first bytes of a JSON file written by eaves hold.
const OWN_JSON: &str = "\"eaves-assessment/";

/// How much of an existing JSON file is looked at for [`OWN_JSON`], bytes.
const OWN_JSON_WITHIN: u64 = 200;

impl Outputs {
    /// Checks the files asked for.
    ///
    /// # Errors
    /// An [`Error`] when a figure is neither `.png`, `.svg` nor `.pdf`, a folder to write into is missing,
    /// a path is something other than a file, or one path is given twice.
    pub fn resolve(
        figures: &[WantedFigure],
        json: Option<&Path>,
        html: Option<&Path>,
    ) -> Result<Self> {
        let outputs = Self {
            figures: figures
                .iter()
                .map(|wanted| {
                    Ok(FigureOutput {
                        kind: wanted.kind,
                        path: wanted.path.clone(),
                        format: figure_format(&wanted.path)?,
                    })
                })
                .collect::<Result<_>>()?,
            json: json.map(Path::to_path_buf),
            html: html.map(Path::to_path_buf),
        };
        let mut seen = Vec::new();
        for path in outputs.paths() {
            let place = place_of(path)?;
            if seen.contains(&place) {
                return Err(
                    Error::new("is given for two outputs", "give each its own file").in_file(path),
                );
            }
            seen.push(place);
        }
        Ok(outputs)
    }

    /// Checks that no output would replace an input: one of `files`, or a file of `layers` that
    /// eaves did not write.
    ///
    /// # Errors
    /// An [`Error`] that names the output.
    pub fn spare_inputs(&self, files: &[&Path], layers: &Path) -> Result<()> {
        let layers = layers.canonicalize().ok();
        for path in self.paths() {
            let Ok(existing) = path.canonicalize() else {
                continue;
            };
            let is_input = files
                .iter()
                .any(|file| file.canonicalize().is_ok_and(|file| file == existing));
            let is_figure = self.figures.iter().any(|figure| figure.path == path);
            let is_layer = layers.as_ref().is_some_and(|layers| {
                existing.starts_with(layers) && !is_figure && !is_own_json(&existing)
            });
            if is_input || is_layer {
                let cause = if is_input {
                    "is an input of this run and would be replaced"
                } else {
                    "lies in the layers folder, was not written by eaves, and would be replaced"
                };
                return Err(Error::new(cause, "write to another file").in_file(path));
            }
        }
        Ok(())
    }

    /// Every path, figures first.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        self.figures
            .iter()
            .map(|figure| figure.path.as_path())
            .chain(self.json.as_deref())
            .chain(self.html.as_deref())
    }
}

/// Puts files in place: all are written beside their places first, then each is renamed; what stood
/// there is set aside until all are in place.
///
/// An existing file is replaced. Where writing or renaming fails nothing has changed and nothing is
/// left over.
///
/// # Errors
/// An [`Error`] that names the file that could not be written.
pub fn put_in_place(files: &[Prepared]) -> Result<()> {
    let failed = |path: &Path, why: &std::io::Error| {
        Error::new(
            format!("cannot be written ({why})"),
            "check the folder, its permissions and the space left",
        )
        .in_file(path)
    };
    let mut written = Vec::new();
    for file in files {
        let temporary = beside(&file.path)
            .and_then(|mut temporary| {
                temporary.write_all(&file.bytes)?;
                temporary.as_file().sync_all()?;
                Ok(temporary)
            })
            .map_err(|why| failed(&file.path, &why))?;
        written.push((temporary, &file.path));
    }
    let mut placed: Vec<(&Path, Option<TempPath>)> = Vec::new();
    for (temporary, path) in written {
        let outcome = set_aside(path).and_then(|before| {
            placed.push((path, before));
            temporary.persist(path).map_err(|why| why.error)
        });
        if let Err(why) = outcome {
            take_back(placed);
            return Err(failed(path, &why));
        }
    }
    Ok(())
}

/// Moves an existing file out of the way; it goes for good when what is returned is dropped.
fn set_aside(path: &Path) -> std::io::Result<Option<TempPath>> {
    let is_file = |found: std::fs::Metadata| found.is_file() || found.is_symlink();
    if !std::fs::symlink_metadata(path).is_ok_and(is_file) {
        return Ok(None);
    }
    let aside = beside(path)?.into_temp_path();
    std::fs::rename(path, &aside)?;
    Ok(Some(aside))
}

/// Puts back what was set aside, and takes away what stands where nothing stood.
fn take_back(placed: Vec<(&Path, Option<TempPath>)>) {
    for (path, before) in placed.into_iter().rev() {
        // The failure that led here is what is told; another adds nothing to it.
        let _ = match before {
            Some(before) => before.persist(path).map_err(|why| why.error),
            None => std::fs::remove_file(path),
        };
    }
}

/// A temporary file in the folder of `path`, removed unless it is renamed; readable by others as
/// far as the process's mask lets them, like any file that a program makes.
fn beside(path: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".eaves-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder_of(path))
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// The canonical folder and the file name of an output.
fn place_of(path: &Path) -> Result<PathBuf> {
    let Some(name) = path.file_name() else {
        return Err(Error::new("is not the name of a file", "give a file to write").in_file(path));
    };
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => {
            return Err(Error::new("is a folder", "give a file to write").in_file(path));
        }
        Ok(found) if !found.is_file() => {
            return Err(
                Error::new("is not an ordinary file", "give an ordinary file to write")
                    .in_file(path),
            );
        }
        _ => {}
    }
    let folder = folder_of(path);
    match folder.canonicalize() {
        Ok(folder) if folder.is_dir() => Ok(folder.join(name)),
        Ok(_) => Err(Error::new("is not a folder", "give a folder to write into").in_file(folder)),
        Err(_) => {
            Err(Error::new("is a folder that does not exist", "make it first").in_file(folder))
        }
    }
}

fn figure_format(path: &Path) -> Result<FigureFormat> {
    let extension = path.extension().and_then(|extension| extension.to_str());
    match extension.map(str::to_ascii_lowercase).as_deref() {
        Some("png") => Ok(FigureFormat::Png),
        Some("svg") => Ok(FigureFormat::Svg),
        Some("pdf") => Ok(FigureFormat::Pdf),
        _ => Err(Error::new(
            "is not a kind of figure that eaves draws",
            "end the name of --figure in .png, .svg or .pdf",
        )
        .in_file(path)),
    }
}

fn is_own_json(path: &Path) -> bool {
    use std::io::Read;
    let mut start = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(OWN_JSON_WITHIN).read_to_end(&mut start))
        .is_ok_and(|_| String::from_utf8_lossy(&start).contains(OWN_JSON))
}
