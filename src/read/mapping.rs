//! `layers.toml`: what the user declares about the layers of a folder.
//!
//! Unknown tables, keys and attributes are errors, so that a misspelt accuracy is not left out in
//! silence. The keys are documented in `layers/README.md`. Not here: what one table may hold (see
//! [`crate::read::declaration`]).

use std::path::Path;

use serde::Deserialize;

use super::declaration::Declaration;
use crate::error::{Error, Result};

/// The name of the file that declares layers.
pub const FILE_NAME: &str = "layers.toml";

/// What `layers.toml` declares, by layer.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub struct Declarations {
    /// `[aerodromes]`
    pub aerodromes: Declaration,
    /// `[runways]`
    pub runways: Declaration,
    /// `[power-lines]`
    #[serde(alias = "power_lines")]
    pub power_lines: Declaration,
    /// `[power-supports]`
    #[serde(alias = "power_supports")]
    pub power_supports: Declaration,
    /// `[structures]`
    pub structures: Declaration,
    /// `[airspace]`
    pub airspace: Declaration,
    /// `[plan]`
    pub plan: Declaration,
    /// `[terrain]`
    pub terrain: Declaration,
}

/// Our attributes of an aerodrome.
const AERODROME_ATTRIBUTES: &[&str] = &[
    "ident",
    "name",
    "type",
    "elevation",
    "controlled",
    "military",
    "hours",
    "control_hours",
    "tower_hours",
    "tz",
    "part",
    "aerodrome",
];
/// Our attributes of a runway.
const RUNWAY_ATTRIBUTES: &[&str] = &[
    "aerodrome",
    "length",
    "width",
    "closed",
    "le_ident",
    "he_ident",
    "le_elevation",
    "he_elevation",
    "le_bearing_deg",
    "he_bearing_deg",
    "le_displaced_threshold",
    "he_displaced_threshold",
    "le_approach",
    "he_approach",
    "le_clearway",
    "he_clearway",
    "code_number",
    "code_letter",
    "utility",
    "paved",
    "le_latitude_deg",
    "le_longitude_deg",
    "he_latitude_deg",
    "he_longitude_deg",
    "runway",
    "end",
    "elevation",
    "bearing_deg",
    "displaced_threshold",
];
/// Our attributes of an obstacle.
const OBSTACLE_ATTRIBUTES: &[&str] = &[
    "name",
    "kind",
    "height",
    "voltage",
    "permanence",
    "horizontal_accuracy",
    "vertical_accuracy",
    "sag",
    "clearance",
    "wire_offset",
];

/// Our attributes of an airspace volume.
const AIRSPACE_ATTRIBUTES: &[&str] = &[
    "ident",
    "name",
    "class",
    "kind",
    "authority",
    "hours",
    "tz",
    "lower_limit",
    "lower_unit",
    "lower_reference",
    "upper_limit",
    "upper_unit",
    "upper_reference",
    "horizontal_accuracy",
    "geoid_separation",
];

/// Our attributes of a point of the plan.
const PLAN_ATTRIBUTES: &[&str] = &["name", "role", "horizontal_accuracy"];

impl Declarations {
    /// Reads `layers.toml` of a folder; nothing is declared where there is none.
    ///
    /// # Errors
    /// When it cannot be read, is not TOML, or holds a key that eaves does not know.
    pub fn read(folder: &Path) -> Result<Self> {
        let path = folder.join(FILE_NAME);
        match std::fs::read_to_string(&path) {
            Ok(text) => Self::parse(&text).map_err(|error| error.in_file(&path)),
            // A folder that is none is named by what looks for its layers next.
            Err(error)
                if matches!(
                    error.kind(),
                    std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory
                ) =>
            {
                Ok(Self::default())
            }
            Err(error) => Err(Error::new(
                format!("cannot be read ({error})"),
                "save it as UTF-8 text and check that it may be read",
            )
            .in_file(&path)),
        }
    }

    /// From the text of a `layers.toml`.
    ///
    /// # Errors
    /// As for [`Self::read`]; the error names the line and the keys allowed there.
    pub fn parse(text: &str) -> Result<Self> {
        let declarations: Self = toml::from_str(text).map_err(|error| {
            let line = error
                .span()
                .and_then(|span| text.get(..span.start))
                .map_or(1, |before| before.matches('\n').count() + 1);
            Error::new(
                format!("line {line}: {}", error.message().replace('\n', " ")),
                "see layers/README.md for the keys",
            )
        })?;
        for (layer, declaration, attributes) in [
            ("aerodromes", &declarations.aerodromes, AERODROME_ATTRIBUTES),
            ("runways", &declarations.runways, RUNWAY_ATTRIBUTES),
            (
                "power-lines",
                &declarations.power_lines,
                OBSTACLE_ATTRIBUTES,
            ),
            (
                "power-supports",
                &declarations.power_supports,
                OBSTACLE_ATTRIBUTES,
            ),
            ("structures", &declarations.structures, OBSTACLE_ATTRIBUTES),
            ("airspace", &declarations.airspace, AIRSPACE_ATTRIBUTES),
            ("plan", &declarations.plan, PLAN_ATTRIBUTES),
            ("terrain", &declarations.terrain, &[]),
        ] {
            declaration.check(layer, attributes)?;
        }
        Ok(declarations)
    }
}
