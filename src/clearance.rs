//! Tables of electrical clearance by voltage, as cited data.
//!
//! TOML under `layers/clearances/`, compiled in. Not here: which line has which voltage, and where
//! the band lies (see [`crate::assess`]).

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::profile::Mark;
use crate::units::{METRES_PER_FOOT, Metres};

/// The built-in tables: name and text.
pub const BUILT_IN: [(&str, &str); 1] = [(
    "cfr1926-1408",
    include_str!("../layers/clearances/cfr1926-1408.toml"),
)];

/// A greater clearance is a slip of the unit, metres.
const MOST_CLEARANCE_M: f64 = 100.0;

/// A table of clearances.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClearanceTable {
    /// Its name, as given to `--line-clearance`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Instrument and table.
    pub citation: String,
    /// Edition of the instrument as read.
    pub edition: String,
    /// How well it is known.
    pub mark: Mark,
    /// What the table is not.
    pub caution: String,
    /// Its rows, lowest voltage first.
    pub rows: Vec<ClearanceRow>,
}

/// One row of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClearanceRow {
    /// It holds up to this voltage, this voltage included, and above that of the row before.
    pub up_to_v: f64,
    /// The distance to keep.
    pub distance_m: Metres,
    /// The row as printed: `up to 50 kV: 10 ft`.
    pub label: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTable {
    title: String,
    citation: String,
    edition: String,
    mark: Mark,
    caution: String,
    rows: Vec<RawRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRow {
    up_to_kv: f64,
    distance: f64,
    unit: Unit,
}

#[derive(Clone, Copy, Deserialize)]
enum Unit {
    #[serde(rename = "m")]
    Metre,
    #[serde(rename = "ft")]
    Foot,
}

impl ClearanceTable {
    /// A built-in table.
    ///
    /// # Errors
    /// A name that is not one of [`BUILT_IN`]; as for [`Self::parse`].
    pub fn load(name: &str) -> Result<Self> {
        let Some((name, text)) = BUILT_IN.iter().find(|(known, _)| *known == name) else {
            return Err(Error::new(
                format!("there is no table of clearances \"{name}\""),
                format!("use one of {}", BUILT_IN.map(|(name, _)| name).join(", ")),
            ));
        };
        Self::parse(name, text)
    }

    /// A table from TOML text.
    ///
    /// # Errors
    /// TOML that cannot be parsed, an unknown or missing key, no row, voltages that do not rise,
    /// distances that do not grow with the voltage or lie beyond 0 to 100 m.
    pub fn parse(name: &str, text: &str) -> Result<Self> {
        let refused = |cause: String| {
            Error::new(cause, "correct the table").in_file(format!("layers/clearances/{name}.toml"))
        };
        let raw: RawTable =
            toml::from_str(text).map_err(|why| refused(why.message().replace('\n', ", ")))?;
        let mut rows: Vec<ClearanceRow> = Vec::new();
        for row in raw.rows {
            let (metres, unit) = match row.unit {
                Unit::Metre => (row.distance, "m"),
                Unit::Foot => (row.distance * METRES_PER_FOOT, "ft"),
            };
            let last = rows
                .last()
                .map_or((0.0, 0.0), |last| (last.up_to_v, last.distance_m.m()));
            let volts = row.up_to_kv * 1000.0;
            if !(volts > last.0 && volts.is_finite()) {
                return Err(refused("key rows: voltages do not rise".to_owned()));
            }
            if !(metres > 0.0 && metres >= last.1 && metres <= MOST_CLEARANCE_M) {
                return Err(refused(
                    "key rows: a distance is not above 0 and at most 100 m, or is below that of a \
                     lower voltage"
                        .to_owned(),
                ));
            }
            rows.push(ClearanceRow {
                up_to_v: volts,
                distance_m: Metres::of(metres),
                label: format!("up to {} kV: {} {unit}", row.up_to_kv, row.distance),
            });
        }
        if rows.is_empty() {
            return Err(refused("key rows: there is none".to_owned()));
        }
        Ok(Self {
            name: name.to_owned(),
            title: raw.title,
            citation: raw.citation,
            edition: raw.edition,
            mark: raw.mark,
            caution: raw.caution,
            rows,
        })
    }

    /// The row for a voltage; none above the last row.
    #[must_use]
    pub fn row(&self, volts: f64) -> Option<&ClearanceRow> {
        self.rows.iter().find(|row| volts <= row.up_to_v)
    }

    /// The row of the greatest distance, for a line of unknown voltage.
    #[must_use]
    pub fn widest(&self) -> Option<&ClearanceRow> {
        self.rows.last()
    }
}
