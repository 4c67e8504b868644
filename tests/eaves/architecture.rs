//! The direction of imports, the one place of each heavy crate, and the length of files.
//!
//! Imports run one way: `units <- frame <- field <- search`; records know only units and frame;
//! report and figure sit above the answer and never compute it; the command line is on top.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// What each module of the library may import from the others; a module absent here fails the
/// test, so that its place is decided when it is added.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("error", &[]),
    ("frame", &["units"]),
    // Fields and the search never know what a rule, a runway or a file is.
    ("field", &["units", "frame"]),
    ("search", &["units", "frame", "field"]),
    ("wire", &["units", "frame", "site", "obstacle"]),
    ("variation", &["units", "frame", "error"]),
    // Paper and kinds of figure: plain values.
    ("sheet", &[]),
    // Records.
    ("site", &["units", "frame"]),
    ("cut", &["units", "frame"]),
    ("obstacle", &["units", "frame", "site"]),
    ("aerodrome", &["units", "frame", "site"]),
    ("airspace", &["units", "frame", "site"]),
    ("plan_point", &["units", "frame", "site"]),
    // Digits as words.
    ("digits", &[]),
    // Vertices of the area with their letters.
    ("dms", &["frame"]),
    ("schedule", &["dms", "frame", "site"]),
    // The sun at a place, and hours on the clock there.
    ("sun", &["units", "frame"]),
    ("hours", &["units", "frame", "site", "sun", "profile"]),
    ("window", &["units", "frame", "site"]),
    // Records laid out in the plane as pieces of fields, and distances measured there.
    (
        "plan",
        &["units", "frame", "error", "site", "obstacle", "field"],
    ),
    (
        "distance",
        &[
            "units",
            "frame",
            "error",
            "site",
            "aerodrome",
            "field",
            "search",
            "plan",
        ],
    ),
    ("runway", &["units", "frame", "site", "aerodrome"]),
    ("profile", &["units", "error", "aerodrome"]),
    ("clearance", &["units", "error", "profile"]),
    // Rules laid out about an aerodrome as pieces of the plane.
    (
        "zone",
        &[
            "units",
            "frame",
            "site",
            "aerodrome",
            "field",
            "search",
            "plan",
            "distance",
            "profile",
            "runway",
        ],
    ),
    (
        "surfaces",
        &[
            "units",
            "frame",
            "error",
            "site",
            "aerodrome",
            "field",
            "plan",
            "profile",
        ],
    ),
    ("answer", RECORDS_AND_RULES),
    (
        "read",
        &[
            "units",
            "frame",
            "error",
            "site",
            "obstacle",
            "aerodrome",
            "airspace",
            "plan_point",
            "window",
            "answer",
        ],
    ),
    // A folder of layers written again.
    ("prepare", &["error", "read"]),
    ("assess", BELOW_ASSESS),
    (
        "batch",
        &[
            "units",
            "frame",
            "error",
            "site",
            "aerodrome",
            "obstacle",
            "profile",
            "answer",
            "read",
            "plan",
            "distance",
            "search",
            "variation",
            "assess",
        ],
    ),
    (
        "region",
        &[
            "units", "frame", "error", "site", "field", "search", "plan", "profile", "answer",
            "read", "assess",
        ],
    ),
    // Words and marks: from answers, never from fields, searches or files.
    ("report", REPORTED),
    ("figure", REPORTED),
    ("html", PAGED),
    // The command line.
    ("cli", &["units", "obstacle", "sheet", "cut"]),
    (
        "request",
        &["units", "error", "obstacle", "hours", "cli", "sheet", "cut"],
    ),
    ("demo", &[]),
    // Many sites: files in, a folder of rows out.
    ("corridor", &["units", "frame", "plan"]),
    (
        "screen",
        &[
            "units", "frame", "error", "site", "obstacle", "profile", "answer", "read", "corridor",
            "assess", "batch", "report", "figure", "request", "cli", "sheet",
        ],
    ),
    ("run", ON_TOP),
];

const RECORDS_AND_RULES: &[&str] = &[
    "hours",
    "units",
    "frame",
    "error",
    "site",
    "obstacle",
    "aerodrome",
    "airspace",
    "profile",
    "clearance",
    "plan_point",
    "schedule",
    "surfaces",
];

const REPORTED: &[&str] = &[
    "hours",
    "units",
    "frame",
    "error",
    "site",
    "obstacle",
    "aerodrome",
    "airspace",
    "profile",
    "answer",
    "read",
    "clearance",
    "digits",
    "dms",
    "plan_point",
    "schedule",
    "surfaces",
    "sheet",
    "prepare",
];

/// A page joins drawings with the words of the report.
const PAGED: &[&str] = &[
    "units", "frame", "error", "answer", "report", "figure", "sheet",
];

const BELOW_ASSESS: &[&str] = &[
    "hours",
    "cut",
    "sun",
    "units",
    "frame",
    "error",
    "site",
    "obstacle",
    "aerodrome",
    "airspace",
    "profile",
    "answer",
    "read",
    "field",
    "search",
    "plan",
    "wire",
    "distance",
    "variation",
    "window",
    "runway",
    "zone",
    "clearance",
    "plan_point",
    "schedule",
    "surfaces",
];

const ON_TOP: &[&str] = &[
    "hours",
    "cut",
    "units",
    "frame",
    "error",
    "site",
    "obstacle",
    "profile",
    "answer",
    "read",
    "window",
    "assess",
    "batch",
    "html",
    "region",
    "report",
    "figure",
    "request",
    "cli",
    "demo",
    "clearance",
    "surfaces",
    "sheet",
    "prepare",
    "screen",
];

/// The modules that may import a heavy crate.
///
/// `answer` uses geojson to write two geometries of the JSON form; everything that reads GeoJSON
/// is in `read`.
const HEAVY: &[(&str, &[&str])] = &[
    ("clap", &["cli"]),
    ("geojson", &["read", "prepare", "answer"]),
    // `screen` writes its rows as GeoPackage and FlatGeobuf, `region` its raster.
    ("gdal", &["read", "screen", "region"]),
    ("flatgeobuf", &["read", "prepare"]),
    ("csv", &["read", "screen"]),
    ("parquet", &["screen"]),
    ("twox_hash", &["screen"]),
    ("signal_hook", &["run"]),
    ("proj", &["read"]),
    ("proj_sys", &["read"]),
    ("plotters", &["figure"]),
    ("contour", &["figure"]),
    ("tiny_skia", &["figure"]),
    ("png", &["figure"]),
    ("pdf_writer", &["figure"]),
    ("subsetter", &["figure"]),
    ("roxmltree", &["read"]),
    ("world_magnetic_model", &["variation"]),
    ("opening_hours", &["hours"]),
    ("chrono", &["hours"]),
    ("solar_positioning", &["sun"]),
];

/// The longest a file may be, in lines.
const LONGEST: usize = 600;

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|it| it == "rs") {
            found.push(path);
        }
    }
}

/// Each source file of the library: its top module, its path and its text without comments.
fn library() -> Vec<(String, PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    sources(&root, &mut found);
    found.sort();
    found
        .into_iter()
        .map(|path| {
            let inside = path.strip_prefix(&root).unwrap().to_path_buf();
            let first = inside
                .components()
                .next()
                .unwrap()
                .as_os_str()
                .to_str()
                .unwrap();
            let module = first.trim_end_matches(".rs").to_owned();
            let text = std::fs::read_to_string(&path).unwrap();
            let code: Vec<&str> = text
                .lines()
                .map(|line| line.split("//").next().unwrap_or(""))
                .collect();
            (module, inside, code.join("\n"))
        })
        .collect()
}

/// The modules named after `crate::` in code, alone or at the first level of braces.
fn imports(code: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(group) = rest.strip_prefix('{') {
            let mut depth = 1;
            let mut word = String::new();
            let mut is_path_start = true;
            for c in group.chars() {
                match c {
                    '{' => depth += 1,
                    '}' => depth -= 1,
                    _ if c.is_alphanumeric() || c == '_' => {
                        if depth == 1 && is_path_start {
                            word.push(c);
                        }
                        continue;
                    }
                    _ => {}
                }
                if !word.is_empty() {
                    found.insert(std::mem::take(&mut word));
                }
                is_path_start = match c {
                    ',' | '{' => depth == 1,
                    ':' | '}' => false,
                    _ => is_path_start,
                };
                if depth == 0 {
                    break;
                }
            }
        } else {
            found.insert(
                rest.chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect(),
            );
        }
    }
    found
}

/// Whether code names a crate in a path: `name::` that no word or path leads into.
fn names_crate(code: &str, name: &str) -> bool {
    code.match_indices(&format!("{name}::"))
        .any(|(at, _)| !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':'))
}

#[test]
fn imports_run_one_way() {
    let allowed: BTreeMap<&str, &[&str]> = MAY_IMPORT.iter().copied().collect();
    for (module, file, code) in library() {
        // The library's table of contents, and the two programs above it.
        if ["lib", "main", "lean"].contains(&module.as_str()) {
            continue;
        }
        let Some(may) = allowed.get(module.as_str()) else {
            panic!(
                "{}: decide in this test what the new module may import",
                file.display()
            );
        };
        for import in imports(&code) {
            assert!(
                import == module || may.contains(&import.as_str()),
                "{} imports {import}, which {module} may not",
                file.display()
            );
        }
    }
}

/// The table itself has no circle: no module may import one that may, in the end, import it.
#[test]
fn the_directions_have_no_circle() {
    let allowed: BTreeMap<&str, &[&str]> = MAY_IMPORT.iter().copied().collect();
    for &(module, may) in MAY_IMPORT {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut open: Vec<&str> = may.to_vec();
        while let Some(next) = open.pop() {
            assert_ne!(next, module, "{module} may import itself through others");
            if seen.insert(next) {
                open.extend(allowed[next]);
            }
        }
    }
}

#[test]
fn heavy_crates_stay_in_their_place() {
    for (module, file, code) in library() {
        for (name, places) in HEAVY {
            assert!(
                !names_crate(&code, name) || places.contains(&module.as_str()),
                "{} uses {name}, which belongs in {places:?}",
                file.display()
            );
        }
    }
}

#[test]
fn files_stay_short() {
    let mut lengths = Vec::new();
    for (_, file, code) in library() {
        let lines = code.lines().count();
        assert!(lines <= LONGEST, "{} has {lines} lines", file.display());
        lengths.push(lines);
    }
    lengths.sort_unstable();
    assert!(lengths[lengths.len() / 2] < 200, "median of {lengths:?}");
}

// The scanner finds what it must find; were it blind, the tests above could not fail.
#[test]
fn the_scanner_sees_imports() {
    let code =
        "use crate::{units::{Metres, field}, frame, error::Result};\nlet x = crate::read::f();";
    let expected = ["error", "frame", "read", "units"].map(str::to_owned);
    assert_eq!(imports(code), BTreeSet::from(expected));
    assert!(names_crate("use gdal::Dataset;", "gdal"));
    assert!(names_crate("fn f(x: &clap::Error)", "clap"));
    assert!(!names_crate("crate::read::geojson::f()", "geojson"));
    assert!(!names_crate("my_proj::f()", "proj"));
    let used = |name: &str, module: &str| {
        library()
            .iter()
            .any(|(it, _, code)| it == module && names_crate(code, name))
    };
    assert!(used("clap", "cli") && used("geojson", "answer"));
    assert!(
        library()
            .iter()
            .any(|(_, _, code)| imports(code).contains("units"))
    );
}
