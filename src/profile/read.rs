//! TOML text to a checked [`Profile`], with errors that name the file and the key.
//!
//! Not here: what a profile means (see [`super`]) or the text of the built-in ones
//! (`layers/profiles/`).

mod zones;

use std::fs::File;
use std::io::Read;
use std::path::Path;

use serde::Deserialize;

use super::{Mark, Profile, Quantity, Reference, Ring, Term};
use crate::error::{Error, Result};
use crate::units::Metres;

/// The longest reach of a shield that a profile may state, metres. Our own limit: the local plane
/// about a site is exact enough within it, and no rule seen reaches a tenth as far.
pub const LONGEST_REACH_M: f64 = 5_000.0;

/// The greatest height, margin or ring radius that a profile may state, metres. Our own limit,
/// against slips in the unit.
pub const HIGHEST_M: f64 = 100_000.0;

/// How deep `lowest` and `highest` may nest. Our own limit.
pub const NESTING: usize = 8;

/// How many terms one profile may have. Our own limit.
pub const MOST_TERMS: usize = 64;

/// How many rings one profile may have. Our own limit.
pub const MOST_RINGS: usize = 32;

pub use zones::{MOST_SHAPES, MOST_ZONES};

/// The most bytes of a profile file. Our own limit; the built-in ones are below 5 000.
const MOST_BYTES: u64 = 1_000_000;

/// The most characters of one text in a profile. Our own limit.
const MOST_CHARACTERS: usize = 2_000;

/// Names and titles of the built-in profiles, in the order of their files.
const BUILT_IN: [(&str, &str); 7] = [
    ("plain", "Plain shielding, common practice"),
    ("australia", "Australia"),
    ("canada", "Canada"),
    ("european-union", "European Union, open category"),
    ("new-zealand", "New Zealand, shielded operation"),
    ("united-kingdom", "United Kingdom"),
    ("united-states", "United States, 14 CFR Part 107"),
];

/// Name and title of each built-in profile.
#[must_use]
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &BUILT_IN
}

fn built_in_text(name: &str) -> Option<&'static str> {
    Some(match name {
        "plain" => include_str!("../../layers/profiles/plain.toml"),
        "australia" => include_str!("../../layers/profiles/australia.toml"),
        "canada" => include_str!("../../layers/profiles/canada.toml"),
        "european-union" => include_str!("../../layers/profiles/european-union.toml"),
        "new-zealand" => include_str!("../../layers/profiles/new-zealand.toml"),
        "united-kingdom" => include_str!("../../layers/profiles/united-kingdom.toml"),
        "united-states" => include_str!("../../layers/profiles/united-states.toml"),
        _ => return None,
    })
}

/// A built-in profile by its name, or the profile in a file.
///
/// A name of [`built_in`] is that profile even where a file has the same name (write `./plain` for
/// the file); anything else that ends in `.toml` or holds a path separator is a path. The profile
/// is then named as it was asked for.
///
/// # Errors
/// An unknown name, with the known ones and the nearest by spelling; a file that cannot be read;
/// and all that [`parse`] refuses.
pub fn load(name_or_path: &str) -> Result<Profile> {
    if let Some(text) = built_in_text(name_or_path) {
        let file = format!("layers/profiles/{name_or_path}.toml");
        return parse(name_or_path, file, text);
    }
    let is_path = name_or_path.contains(std::path::is_separator)
        || Path::new(name_or_path)
            .extension()
            .is_some_and(|extension| extension.eq_ignore_ascii_case("toml"));
    if is_path {
        parse(name_or_path, name_or_path, &file_text(name_or_path)?)
    } else {
        Err(unknown_name(name_or_path))
    }
}

fn unknown_name(name: &str) -> Error {
    let known: Vec<&str> = BUILT_IN.iter().map(|(known, _)| *known).collect();
    let nearest = known
        .iter()
        .map(|known| (strsim::normalized_damerau_levenshtein(name, known), *known))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(likeness, _)| *likeness >= 0.5)
        .map(|(_, known)| format!("did you mean {known}? "))
        .unwrap_or_default();
    Error::new(
        format!("there is no rule profile named {name:?}"),
        format!(
            "{nearest}known are {}; a file is given by a path that ends in .toml",
            known.join(", ")
        ),
    )
}

fn file_text(path: &str) -> Result<String> {
    let refused =
        |cause: String, remedy: &str| Err(Error::new(cause, remedy.to_owned()).in_file(path));
    if Path::new(path).is_dir() {
        return refused(
            "is a folder, not a rule profile".to_owned(),
            "name a TOML file",
        );
    }
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    if let Err(why) = read {
        return refused(
            format!("the rule profile cannot be read: {why}"),
            "check the path, or name a built-in profile",
        );
    }
    if bytes.len() as u64 > MOST_BYTES {
        return refused(
            format!("is longer than {MOST_BYTES} bytes"),
            "name a rule profile in TOML",
        );
    }
    String::from_utf8(bytes).or_else(|_| {
        refused(
            "is not UTF-8 text".to_owned(),
            "save the rule profile as UTF-8",
        )
    })
}

/// A profile from TOML text; `file` is what errors call it.
///
/// # Errors
/// TOML that cannot be parsed, an unknown, missing or doubled key, an unknown unit, reference or
/// mark; a value that is not finite; a reach outside 0 (excluded) to [`LONGEST_REACH_M`]; a cap or
/// ring radius outside 0 (excluded) to [`HIGHEST_M`]; a margin beyond [`HIGHEST_M`] either way; a
/// `taller_than` below 0; a measure of a zone outside 0 (excluded) to [`HIGHEST_M`]; an empty text;
/// and more than [`NESTING`], [`MOST_TERMS`], [`MOST_RINGS`], [`MOST_ZONES`], [`MOST_SHAPES`].
pub fn parse(name: &str, file: impl AsRef<Path>, text: &str) -> Result<Profile> {
    let file = file.as_ref();
    let raw: RawProfile = toml::from_str(text).map_err(|why| {
        let line = why
            .span()
            .and_then(|span| text.get(..span.start))
            .map_or(0, |before| before.matches('\n').count())
            + 1;
        Error::new(
            format!("line {line}: {}", why.message().replace('\n', ", ")),
            "correct the rule profile after layers/schema/profile.json",
        )
        .in_file(file)
    })?;
    checked(name, raw).map_err(|error| error.in_file(file))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawProfile {
    title: String,
    caution: String,
    reference: Reference,
    conditions: Vec<String>,
    rings: Vec<RawRing>,
    #[serde(default)]
    zones: Vec<zones::RawZone>,
    height: RawTerm,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRing {
    about: Reference,
    radius: RawQuantity,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum RawTerm {
    Lowest(Vec<Self>),
    Highest(Vec<Self>),
    Cap(RawCap),
    Shield(RawShield),
    Airspace(RawAirspace),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAirspace {
    title: String,
    kinds: Option<Vec<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCap {
    title: String,
    height: RawQuantity,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawShield {
    title: String,
    reach: RawQuantity,
    margin: RawQuantity,
    taller_than: Option<RawQuantity>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawQuantity {
    value: f64,
    unit: Unit,
    citation: String,
    edition: String,
    mark: Mark,
}

#[derive(Clone, Copy, Deserialize)]
enum Unit {
    #[serde(rename = "m")]
    Metre,
    #[serde(rename = "ft")]
    Foot,
    #[serde(rename = "km")]
    Kilometre,
    #[serde(rename = "NM")]
    NauticalMile,
}

impl Unit {
    const fn symbol(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Foot => "ft",
            Self::Kilometre => "km",
            Self::NauticalMile => "NM",
        }
    }

    const fn metres(self, value: f64) -> Metres {
        match self {
            Self::Metre => Metres::of(value),
            Self::Foot => Metres::from_feet(value),
            Self::Kilometre => Metres::from_kilometres(value),
            Self::NauticalMile => Metres::from_nautical_miles(value),
        }
    }
}

fn wrong(key: &str, cause: impl std::fmt::Display, remedy: impl Into<String>) -> Error {
    Error::new(format!("key {key}: {cause}"), remedy)
}

fn checked(name: &str, raw: RawProfile) -> Result<Profile> {
    if raw.rings.len() > MOST_RINGS {
        return Err(wrong(
            "rings",
            format!("{} rings are too many", raw.rings.len()),
            format!("state at most {MOST_RINGS}"),
        ));
    }
    let mut rings = Vec::new();
    for (index, ring) in raw.rings.into_iter().enumerate() {
        let key = format!("rings[{index}].radius");
        rings.push(Ring {
            radius: quantity(&key, "ring.radius", ring.radius, Range::Above(HIGHEST_M))?,
            about: ring.about,
        });
    }
    rings.sort_by(|a, b| a.radius.value_m.m().total_cmp(&b.radius.value_m.m()));
    let conditions = raw.conditions.into_iter().enumerate();
    Ok(Profile {
        name: name.to_owned(),
        title: words("title", raw.title)?,
        rings,
        zones: zones::zones(raw.zones)?,
        reference: raw.reference,
        expression: term("height", raw.height, 1, &mut 0)?,
        conditions: conditions
            .map(|(index, text)| words(&format!("conditions[{index}]"), text))
            .collect::<Result<_>>()?,
        caution: words("caution", raw.caution)?,
    })
}

fn term(key: &str, raw: RawTerm, depth: usize, count: &mut usize) -> Result<Term> {
    *count += 1;
    if depth > NESTING {
        return Err(wrong(
            key,
            "lowest and highest are nested too deep",
            format!("nest at most {NESTING} deep"),
        ));
    }
    if *count > MOST_TERMS {
        return Err(wrong(
            key,
            "the profile has too many terms",
            format!("state at most {MOST_TERMS}"),
        ));
    }
    match raw {
        RawTerm::Lowest(raw) => {
            several(&format!("{key}.lowest"), raw, depth, count).map(Term::Lowest)
        }
        RawTerm::Highest(raw) => {
            several(&format!("{key}.highest"), raw, depth, count).map(Term::Highest)
        }
        RawTerm::Cap(raw) => {
            let key = format!("{key}.cap");
            Ok(Term::Cap {
                title: words(&format!("{key}.title"), raw.title)?,
                height: quantity(
                    &format!("{key}.height"),
                    "cap.height",
                    raw.height,
                    Range::Above(HIGHEST_M),
                )?,
            })
        }
        RawTerm::Shield(raw) => shield(&format!("{key}.shield"), raw),
        RawTerm::Airspace(raw) => airspace(&format!("{key}.airspace"), raw),
    }
}

fn several(key: &str, raw: Vec<RawTerm>, depth: usize, count: &mut usize) -> Result<Vec<Term>> {
    if raw.is_empty() {
        return Err(wrong(key, "is an empty list", "state at least one term"));
    }
    raw.into_iter()
        .enumerate()
        .map(|(index, raw)| term(&format!("{key}[{index}]"), raw, depth + 1, count))
        .collect()
}

fn shield(key: &str, raw: RawShield) -> Result<Term> {
    let value = |field: &str, raw, range| {
        quantity(
            &format!("{key}.{field}"),
            &format!("shield.{field}"),
            raw,
            range,
        )
    };
    Ok(Term::Shield {
        title: words(&format!("{key}.title"), raw.title)?,
        reach: value("reach", raw.reach, Range::Above(LONGEST_REACH_M))?,
        margin: value("margin", raw.margin, Range::EitherSign(HIGHEST_M))?,
        taller_than: raw
            .taller_than
            .map(|raw| value("taller_than", raw, Range::From(HIGHEST_M)))
            .transpose()?,
    })
}

fn airspace(key: &str, raw: RawAirspace) -> Result<Term> {
    let kinds = raw.kinds.unwrap_or_default();
    if kinds.len() > MOST_TERMS {
        return Err(wrong(
            &format!("{key}.kinds"),
            format!("{} kinds are too many", kinds.len()),
            format!("state at most {MOST_TERMS}"),
        ));
    }
    Ok(Term::Airspace {
        title: words(&format!("{key}.title"), raw.title)?,
        kinds: kinds
            .into_iter()
            .enumerate()
            .map(|(index, kind)| words(&format!("{key}.kinds[{index}]"), kind))
            .collect::<Result<_>>()?,
    })
}

/// What a quantity may be, metres.
#[derive(Clone, Copy)]
enum Range {
    /// Above 0, up to the limit.
    Above(f64),
    /// From 0, up to the limit.
    From(f64),
    /// Either sign, up to the limit.
    EitherSign(f64),
}

fn quantity(key: &str, short_key: &str, raw: RawQuantity, range: Range) -> Result<Quantity> {
    let symbol = raw.unit.symbol();
    let label = format!("{} {symbol}", raw.value);
    if !raw.value.is_finite() {
        return Err(wrong(
            &format!("{key}.value"),
            format!("{} is not a finite number", raw.value),
            "state a number",
        ));
    }
    let value_m = raw.unit.metres(raw.value);
    let m = value_m.m();
    let (is_in, allowed) = match range {
        Range::Above(limit) => (m > 0.0 && m <= limit, format!("above 0, at most {limit} m")),
        Range::From(limit) => (m >= 0.0 && m <= limit, format!("from 0 to {limit} m")),
        Range::EitherSign(limit) => (m.abs() <= limit, format!("from -{limit} to {limit} m")),
    };
    if !is_in {
        return Err(wrong(
            &format!("{key}.value"),
            format!("{label} is out of range"),
            format!("state a value {allowed}"),
        ));
    }
    Ok(Quantity {
        key: short_key.to_owned(),
        value: raw.value,
        unit: symbol.to_owned(),
        value_m,
        citation: words(&format!("{key}.citation"), raw.citation)?,
        edition: words(&format!("{key}.edition"), raw.edition)?,
        mark: raw.mark,
    })
}

/// A text as it was written, refused when it is empty, too long, or could not be printed on a line.
fn words(key: &str, text: String) -> Result<String> {
    if text.trim().is_empty() {
        Err(wrong(key, "is empty", "state it, or write \"not stated\""))
    } else if text.chars().count() > MOST_CHARACTERS {
        Err(wrong(
            key,
            format!("is longer than {MOST_CHARACTERS} characters"),
            "shorten it",
        ))
    } else if text.chars().any(char::is_control) {
        Err(wrong(
            key,
            "holds a line break or another control character",
            "write it on one line",
        ))
    } else {
        Ok(text)
    }
}
