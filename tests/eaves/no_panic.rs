//! Mutated input ends in an answer or an error, never in a panic.
//!
//! The demo's files with bytes flipped, cut short, spliced into one another, and numbers replaced by
//! what no one expects. A panic fails the test by itself; what is asked besides is that an error is
//! one or two lines, and an answer conservative in form.

use std::path::Path;

use eaves::answer::Assessment;
use eaves::assess::{DRAWN_AROUND, Question, assess};
use eaves::error::{Error, Result};
use eaves::obstacle::Sag;
use eaves::profile;
use eaves::read::{self, ReadOptions, window_about};
use eaves::units::{Height, Metres};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};

/// The text files of the demo; the first is the area.
const FILES: [(&str, &str); 7] = [
    (
        "area.geojson",
        include_str!("../../demo-layers/area.geojson"),
    ),
    (
        "aerodromes.geojson",
        include_str!("../../demo-layers/aerodromes.geojson"),
    ),
    (
        "runways.geojson",
        include_str!("../../demo-layers/runways.geojson"),
    ),
    (
        "power-lines.geojson",
        include_str!("../../demo-layers/power-lines.geojson"),
    ),
    (
        "power-supports.geojson",
        include_str!("../../demo-layers/power-supports.geojson"),
    ),
    (
        "structures.geojson",
        include_str!("../../demo-layers/structures.geojson"),
    ),
    ("layers.toml", include_str!("../../demo-layers/layers.toml")),
];

/// The terrain of the demo.
const TERRAIN: &[u8] = include_bytes!("../../demo-layers/terrain.tif");

/// What a number or a word may be replaced by.
const ODDITIES: [&str; 22] = [
    "1e308",
    "-1e308",
    "1e999",
    "NaN",
    "Infinity",
    "-0.0",
    "0",
    "-1",
    "1e-320",
    "90",
    "-90",
    "180",
    "-180",
    "180.0000001",
    "360",
    "89.9999",
    "99999999999999999999",
    "null",
    "\"12 m\"",
    "[]",
    "{\"a\":[[[]]]}",
    "\"\\ud800\"",
];

/// One change to a text.
#[derive(Clone, Debug)]
enum Change {
    /// Bytes at places (as shares of the length) are flipped.
    Flip(Vec<(f64, u8)>),
    /// Only a share of it is left.
    CutShort(f64),
    /// The part from a share on is that of another of the files.
    Splice(f64, usize, f64),
    /// The number nearest to each share is replaced by an oddity.
    Numbers(Vec<(f64, usize)>),
    /// The number nearest to each share is changed by a factor and a little.
    Nudge(Vec<(f64, f64)>),
}

fn change() -> impl Strategy<Value = Change> {
    let share = 0.0..1.0f64;
    prop_oneof![
        1 => prop::collection::vec((share.clone(), any::<u8>()), 1..4).prop_map(Change::Flip),
        1 => share.clone().prop_map(Change::CutShort),
        1 => (share.clone(), 0..FILES.len(), share.clone())
            .prop_map(|(at, other, from)| Change::Splice(at, other, from)),
        4 => prop::collection::vec((share.clone(), 0..ODDITIES.len()), 1..3)
            .prop_map(Change::Numbers),
        5 => prop::collection::vec((share, prop_oneof![Just(-1.0), Just(0.0), 0.99..1.01f64, 0.1..10.0f64]), 1..5)
            .prop_map(Change::Nudge),
    ]
}

/// Start and length of every number in a text.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut start = None;
    for (at, c) in text.char_indices() {
        match (start, c.is_ascii_digit() || matches!(c, '.' | '-')) {
            (None, true) => start = Some(at),
            (Some(from), false) => {
                found.push((from, at - from));
                start = None;
            }
            _ => {}
        }
    }
    found
}

/// The text with some of its numbers written anew.
fn rewritten(text: &str, picks: impl Iterator<Item = (f64, String)>, old: bool) -> Vec<u8> {
    let places = numbers(text);
    let mut chosen: Vec<(usize, usize, String)> = picks
        .filter_map(|(share, new)| {
            let (at, length) = *places.get((share * places.len() as f64) as usize)?;
            let new = match text[at..at + length].parse::<f64>() {
                Ok(number) if old => (number * new.parse::<f64>().ok()?).to_string(),
                _ => new,
            };
            Some((at, length, new))
        })
        .collect();
    chosen.sort_by_key(|(at, _, _)| std::cmp::Reverse(*at));
    chosen.dedup_by_key(|(at, _, _)| *at);
    let mut text = text.to_owned();
    for (at, length, new) in chosen {
        text.replace_range(at..at + length, &new);
    }
    text.into_bytes()
}

fn changed(text: &str, change: &Change) -> Vec<u8> {
    let at = |share: f64, length: usize| ((share * length as f64) as usize).min(length - 1);
    let bytes = text.as_bytes();
    match change {
        Change::Flip(flips) => {
            let mut bytes = bytes.to_vec();
            for (share, with) in flips {
                let place = at(*share, bytes.len());
                bytes[place] ^= with;
            }
            bytes
        }
        Change::CutShort(share) => bytes[..at(*share, bytes.len())].to_vec(),
        Change::Splice(share, other, from) => {
            let other = FILES[*other].1.as_bytes();
            [
                &bytes[..at(*share, bytes.len())],
                &other[at(*from, other.len())..],
            ]
            .concat()
        }
        Change::Numbers(picks) => rewritten(
            text,
            picks
                .iter()
                .map(|(share, odd)| (*share, ODDITIES[*odd].to_owned())),
            false,
        ),
        Change::Nudge(picks) => rewritten(
            text,
            picks
                .iter()
                .map(|(share, factor)| (*share, factor.to_string())),
            true,
        ),
    }
}

/// Writes the demo into a folder with one file changed.
fn lay_out(folder: &Path, file: usize, bytes: &[u8]) {
    let layers = folder.join("layers");
    if !layers.exists() {
        std::fs::create_dir(&layers).unwrap();
    }
    for (index, (name, text)) in FILES.iter().enumerate() {
        let path = if index == 0 {
            folder.join(name)
        } else {
            layers.join(name)
        };
        let bytes = if index == file {
            bytes
        } else {
            text.as_bytes()
        };
        std::fs::write(path, bytes).unwrap();
    }
}

/// The whole way, as the command goes it.
fn answered(folder: &Path, profile: &str) -> Result<Assessment> {
    let area = read::operating_area(&folder.join("area.geojson"), None)?;
    let profile = profile::load(profile)?;
    let around = profile.widest_reach() + DRAWN_AROUND;
    let options = ReadOptions {
        near: Some(window_about(&area.area, around).into()),
        assumed_sag: Some(Sag::ShareOfSpan(0.03)),
        estimate_line_heights: true,
    };
    let layers = read::layers(&folder.join("layers"), &options)?;
    let question = Question {
        qnh: None,
        surfaces: None,
        line_clearance: None,
        sample_ceiling: false,
        shielding_planes: None,
        obstacle_accuracy: None,
        section: None,
        area: area.area,
        area_cautions: area.cautions,
        profile,
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(10.0),
        wish: Some(Height::of(50.0)),
        window: None,
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
    };
    assess(&question, &layers)
}

/// Says why a case is wrong, if it is.
fn judge(outcome: &Result<Assessment>) -> std::result::Result<(), TestCaseError> {
    match outcome {
        Err(error) => {
            let said: String = Error::to_string(error);
            prop_assert!(said.contains("; "), "no remedy: {said}");
            prop_assert!(!error.cause().is_empty() && !error.remedy().is_empty());
        }
        Ok(assessment) => {
            // Whatever the page and the JSON are asked, they answer.
            let page = eaves::report::page::page(assessment);
            prop_assert!(!page.contains("NaN") && !page.contains("inf m"), "{page}");
            let json = eaves::report::json::json(assessment);
            prop_assert!(json.is_ok(), "{:?}", json.err());
            for rule in &assessment.shielding {
                prop_assert!((0.0..=1.0).contains(&rule.covered_share));
                prop_assert!(rule.is_wholly_covered || rule.covered_share < 1.0);
            }
            if let Some(pair) = &assessment.ceiling.whole {
                prop_assert!(pair.above_ground.value_m <= pair.above_ground.attained_m);
            }
        }
    }
    Ok(())
}

#[test]
fn mutated_files_never_panic() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("layers")).unwrap();
    std::fs::write(folder.path().join("layers/terrain.tif"), TERRAIN).unwrap();
    let mut runner = TestRunner::new(Config {
        cases: 250,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_701),
        ..Config::default()
    });
    let (answers_seen, errors_seen) = (&std::cell::Cell::new(0), &std::cell::Cell::new(0));
    runner
        .run(
            &(
                0..FILES.len(),
                change(),
                prop::sample::select(vec!["plain", "european-union", "united-states"]),
            ),
            |(file, change, profile)| {
                lay_out(folder.path(), file, &changed(FILES[file].1, &change));
                let outcome = answered(folder.path(), profile);
                let seen = if outcome.is_ok() {
                    answers_seen
                } else {
                    errors_seen
                };
                seen.set(seen.get() + 1);
                judge(&outcome)
            },
        )
        .unwrap();
    let (answers, errors) = (answers_seen.get(), errors_seen.get());
    println!("{answers} answers, {errors} errors");
    assert!(answers >= 50 && errors >= 50);
}

#[test]
fn mutated_terrain_never_panics() {
    let folder = tempfile::tempdir().unwrap();
    lay_out(folder.path(), usize::MAX, &[]);
    let mut runner = TestRunner::new(Config {
        cases: 60,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_702),
        ..Config::default()
    });
    // The header and the tags are at the two ends of a GeoTIFF; that is where most flips go.
    let place = prop_oneof![0.0..0.05f64, 0.9..1.0f64, 0.0..1.0f64];
    runner
        .run(
            &(
                prop::collection::vec((place, any::<u8>()), 1..6),
                0.2..1.5f64,
            ),
            |(flips, left)| {
                let mut bytes = TERRAIN.to_vec();
                for (share, with) in flips {
                    let at = ((share * bytes.len() as f64) as usize).min(bytes.len() - 1);
                    bytes[at] ^= with;
                }
                bytes.truncate((left * bytes.len() as f64) as usize);
                std::fs::write(folder.path().join("layers/terrain.tif"), bytes).unwrap();
                judge(&answered(folder.path(), "plain"))
            },
        )
        .unwrap();
}
