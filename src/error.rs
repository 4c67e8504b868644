//! The one error type (what stops a run) and the caution (a defect in data that travels with the result).
//!
//! Not here: the wording of reports; an error prints itself in one or two lines, a caution is
//! rendered by [`crate::report`].

use std::fmt;
use std::path::{Path, PathBuf};

use serde::Serialize;

/// What stopped a run: which file, which feature in it, why, and what to do.
///
/// Prints as `FILE: feature FEATURE: CAUSE; REMEDY`, leaving out what does not apply.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    path: Option<PathBuf>,
    feature: Option<String>,
    cause: String,
    remedy: String,
}

impl Error {
    /// An error with its cause and what the user can do about it.
    pub fn new(cause: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            path: None,
            feature: None,
            cause: cause.into(),
            remedy: remedy.into(),
        }
    }

    /// The same error, in a file or folder.
    #[must_use]
    pub fn in_file(mut self, path: impl AsRef<Path>) -> Self {
        self.path = Some(path.as_ref().to_path_buf());
        self
    }

    /// The same error, in a file or folder unless it names one already.
    #[must_use]
    pub fn or_in_file(self, path: impl AsRef<Path>) -> Self {
        if self.path.is_some() {
            return self;
        }
        self.in_file(path)
    }

    /// The same error, at a feature (its id, or `#3` for the third without one).
    #[must_use]
    pub fn at_feature(mut self, feature: impl Into<String>) -> Self {
        self.feature = Some(feature.into());
        self
    }

    /// Why the run stopped, without file, feature and remedy.
    #[must_use]
    pub fn cause(&self) -> &str {
        &self.cause
    }

    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> &str {
        &self.remedy
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(path) = &self.path {
            write!(f, "{}: ", path.display())?;
        }
        if let Some(feature) = &self.feature {
            write!(f, "feature {feature}: ")?;
        }
        write!(f, "{}; {}", self.cause, self.remedy)
    }
}

impl std::error::Error for Error {}

/// The first line of a message.
#[must_use]
pub fn first_line(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default().trim();
    if line.is_empty() {
        "no reason given".to_owned()
    } else {
        line.to_owned()
    }
}

/// The result of everything that can stop a run.
pub type Result<T> = std::result::Result<T, Error>;

/// A defect in data, or an assumption made for want of data, with its effect on the answer.
///
/// Equal cautions about many features of one file are gathered in one value with a count.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// The file concerned, as the user named it or found in the layers folder; empty for the run.
    pub file: String,
    /// Up to [`Caution::NAMED_FEATURES`] features concerned, by id, or `#3` for the third.
    pub features: Vec<String>,
    /// How many features are concerned; 0 when it is about the file or the run.
    pub count: usize,
    /// What is wrong or was assumed: "has no height".
    pub defect: String,
    /// What it means for the answer: "not a shield; counted as an obstacle of unknown height".
    pub effect: String,
}

impl Caution {
    /// How many features a gathered caution names before it only counts.
    pub const NAMED_FEATURES: usize = 5;

    /// A caution about a whole file, or about the run when `file` is empty.
    pub fn about(
        file: impl Into<String>,
        defect: impl Into<String>,
        effect: impl Into<String>,
    ) -> Self {
        Self {
            file: file.into(),
            features: Vec::new(),
            count: 0,
            defect: defect.into(),
            effect: effect.into(),
        }
    }
}

/// Cautions under construction: equal defects of one file are gathered as they arrive.
#[derive(Clone, Debug, Default)]
pub struct Cautions {
    list: Vec<Caution>,
}

impl Cautions {
    /// Adds a caution about a file or the run; one already there is not repeated.
    pub fn add(&mut self, caution: Caution) {
        if let Some(known) = self.same(&caution.file, &caution.defect, &caution.effect) {
            known.count += caution.count;
            let room = Caution::NAMED_FEATURES.saturating_sub(known.features.len());
            known
                .features
                .extend(caution.features.into_iter().take(room));
        } else {
            self.list.push(caution);
        }
    }

    /// Adds a caution about one feature of a file.
    pub fn feature(&mut self, file: &str, feature: &str, defect: &str, effect: &str) {
        if let Some(known) = self.same(file, defect, effect) {
            known.count += 1;
            if known.features.len() < Caution::NAMED_FEATURES {
                known.features.push(feature.to_owned());
            }
        } else {
            self.list.push(Caution {
                features: vec![feature.to_owned()],
                count: 1,
                ..Caution::about(file, defect, effect)
            });
        }
    }

    /// Adds all cautions of another list, gathering equal ones.
    pub fn extend(&mut self, other: Self) {
        for caution in other.list {
            self.add(caution);
        }
    }

    /// The cautions in the order of their first appearance.
    #[must_use]
    pub fn into_vec(self) -> Vec<Caution> {
        self.list
    }

    /// The cautions so far.
    #[must_use]
    pub fn as_slice(&self) -> &[Caution] {
        &self.list
    }

    fn same(&mut self, file: &str, defect: &str, effect: &str) -> Option<&mut Caution> {
        self.list
            .iter_mut()
            .find(|known| known.file == file && known.defect == defect && known.effect == effect)
    }
}
