//! Rule profiles: numbers against their clauses, and form against the schema.

use std::path::{Path, PathBuf};

use eaves::profile::{Mark, Profile, Quantity, Reference, Term, built_in, load, parse};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("layers")
}

pub fn text_of(name: &str) -> String {
    std::fs::read_to_string(folder().join("profiles").join(format!("{name}.toml"))).unwrap()
}

pub fn schema() -> jsonschema::Validator {
    let text = std::fs::read_to_string(folder().join("schema/profile.json")).unwrap();
    jsonschema::validator_for(&serde_json::from_str(&text).unwrap()).unwrap()
}

pub fn as_json(toml_text: &str) -> serde_json::Value {
    serde_json::to_value(toml::from_str::<toml::Table>(toml_text).unwrap()).unwrap()
}

/// `plain` with one piece of its text replaced.
pub fn changed(from: &str, to: &str) -> String {
    let text = text_of("plain");
    assert!(text.contains(from), "{from:?} is not in plain.toml");
    text.replacen(from, to, 1)
}

fn values(quantities: &[&Quantity]) -> Vec<(String, f64, String, f64, Mark)> {
    quantities
        .iter()
        .map(|q| {
            (
                q.key.clone(),
                q.value,
                q.unit.clone(),
                q.value_m.m(),
                q.mark,
            )
        })
        .collect()
}

#[test]
fn each_built_in_profile_is_a_file_that_its_schema_accepts() {
    let schema = schema();
    let mut files: Vec<String> = std::fs::read_dir(folder().join("profiles"))
        .unwrap()
        .map(|entry| {
            entry
                .unwrap()
                .path()
                .file_stem()
                .unwrap()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    files.sort();
    let mut names: Vec<&str> = built_in().iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    assert_eq!(files, names);
    for (name, title) in built_in() {
        let text = text_of(name);
        if let Err(why) = schema.validate(&as_json(&text)) {
            panic!("{name}: {why} at {}", why.instance_path());
        }
        let profile = load(name).unwrap();
        assert_eq!(
            profile,
            parse(name, "x", &text).unwrap(),
            "{name} as compiled in"
        );
        assert_eq!(
            (profile.name.as_str(), profile.title.as_str()),
            (*name, *title)
        );
        assert!(profile.caution.contains("never legal advice"), "{name}");
        // Only the authority says so of a flight or a site.
        for word in ["safe ", "approved", "compliant", "cleared"] {
            assert!(!text.contains(word), "{name}: {word}");
        }
        assert!(
            profile.conditions.is_empty() == (*name == "plain"),
            "only the plain profile depends on nothing that is not checked"
        );
    }
}

/// Every value of every profile, against the clause it cites. The third column is exact
/// arithmetic: 1 ft = 0.3048 m, 1 NM = 1 852 m.
#[test]
fn values_are_those_of_the_cited_clauses() {
    use Mark::{CommonPractice, FromMemory, Seen};
    type Row = (&'static str, f64, &'static str, f64, Mark);
    let rings = |mark| -> [Row; 4] {
        [
            ("ring.radius", 1.0, "NM", 1852.0, mark),
            ("ring.radius", 2.0, "NM", 3704.0, mark),
            ("ring.radius", 3.0, "NM", 5556.0, mark),
            ("ring.radius", 5.0, "NM", 9260.0, mark),
        ]
    };
    let with = |own: &[Row], rings: &[Row]| [own, rings].concat();
    let table: [(&str, Vec<Row>); 7] = [
        // Common practice, no source.
        (
            "plain",
            with(
                &[
                    ("shield.reach", 100.0, "m", 100.0, CommonPractice),
                    ("shield.margin", 10.0, "m", 10.0, CommonPractice),
                    ("cap.height", 120.0, "m", 120.0, CommonPractice),
                ],
                &with(
                    &rings(CommonPractice),
                    &[
                        ("zone.length", 6.0, "km", 6000.0, CommonPractice),
                        ("zone.inner_width", 150.0, "m", 150.0, CommonPractice),
                        ("zone.outer_width", 1950.0, "m", 1950.0, CommonPractice),
                        ("zone.rise", 120.0, "m", 120.0, CommonPractice),
                        ("zone.radius", 5.0, "km", 5000.0, CommonPractice),
                    ],
                ),
            ),
        ),
        // CASR 1998 reg. 101.085: 400 ft above ground. Regs 101.075 and 101.080 with the Part 101
        // Manual of Standards, chapter 4: 3 NM from the movement area of a controlled aerodrome (of
        // others from memory). Shielding: no source.
        (
            "australia",
            vec![
                ("shield.reach", 100.0, "m", 100.0, CommonPractice),
                ("shield.margin", 10.0, "m", 10.0, CommonPractice),
                ("cap.height", 400.0, "ft", 121.92, Seen),
                ("ring.radius", 3.0, "NM", 5556.0, Seen),
                ("zone.distance", 3.0, "NM", 5556.0, Seen),
                ("zone.distance", 3.0, "NM", 5556.0, FromMemory),
            ],
        ),
        // Part 101 rule 101.7: within 100 m of and below the top of an object. 101.207: 120 m.
        // 101.205: 4 km from every aerodrome.
        (
            "new-zealand",
            vec![
                ("shield.reach", 100.0, "m", 100.0, Seen),
                ("shield.margin", 0.0, "m", 0.0, Seen),
                ("cap.height", 120.0, "m", 120.0, Seen),
                ("ring.radius", 4.0, "km", 4000.0, Seen),
                ("zone.distance", 4.0, "km", 4000.0, Seen),
            ],
        ),
        // Air Navigation Order 2016 art. 94A: 400 ft. Art. 5: 2 NM, or 2.5 NM for a longest runway
        // above 1 850 m, to 2 000 ft above the aerodrome. Art. 94B with SI 2019/261: 5 km by 1 km
        // (secondary source), 1 km beyond the boundary (from memory).
        (
            "united-kingdom",
            vec![
                ("cap.height", 400.0, "ft", 121.92, Seen),
                ("ring.radius", 2.0, "NM", 3704.0, Seen),
                ("ring.radius", 2.5, "NM", 4630.0, Seen),
                ("zone.radius", 2.0, "NM", 3704.0, Seen),
                ("zone.longest_runway_at_most", 1850.0, "m", 1850.0, Seen),
                ("zone.top", 2000.0, "ft", 609.6, Seen),
                ("zone.radius", 2.5, "NM", 4630.0, Seen),
                ("zone.longest_runway_above", 1850.0, "m", 1850.0, Seen),
                ("zone.top", 2000.0, "ft", 609.6, Seen),
                ("zone.length", 5.0, "km", 5000.0, Seen),
                ("zone.width", 1.0, "km", 1000.0, Seen),
                ("zone.top", 2000.0, "ft", 609.6, FromMemory),
                ("zone.distance", 1.0, "km", 1000.0, FromMemory),
                ("zone.top", 2000.0, "ft", 609.6, FromMemory),
            ],
        ),
        // Regulation (EU) 2019/947 UAS.OPEN.010(2): 120 m. (3): within 50 m of an artificial
        // obstacle taller than 105 m, up to 15 m above it.
        (
            "european-union",
            with(
                &[
                    ("cap.height", 120.0, "m", 120.0, Seen),
                    ("shield.reach", 50.0, "m", 50.0, Seen),
                    ("shield.margin", -15.0, "m", -15.0, Seen),
                    ("shield.taller_than", 105.0, "m", 105.0, Seen),
                ],
                &rings(CommonPractice),
            ),
        ),
        // 14 CFR 107.51(b): 400 ft above ground unless within a 400 ft radius of a structure, and
        // then 400 ft above its uppermost limit.
        (
            "united-states",
            with(
                &[
                    ("cap.height", 400.0, "ft", 121.92, Seen),
                    ("shield.reach", 400.0, "ft", 121.92, Seen),
                    ("shield.margin", -400.0, "ft", -121.92, Seen),
                ],
                &rings(CommonPractice),
            ),
        ),
        // Canadian Aviation Regulations 901.25(1), 2019 text: 400 ft, or 100 ft above a structure
        // less than 200 ft away. 901.47(2): 3 NM from an airport, 1 NM from a heliport.
        (
            "canada",
            vec![
                ("cap.height", 400.0, "ft", 121.92, Seen),
                ("shield.reach", 200.0, "ft", 60.96, Seen),
                ("shield.margin", -100.0, "ft", -30.48, Seen),
                ("ring.radius", 1.0, "NM", 1852.0, Seen),
                ("ring.radius", 3.0, "NM", 5556.0, Seen),
                ("zone.radius", 3.0, "NM", 5556.0, Seen),
                ("zone.radius", 1.0, "NM", 1852.0, Seen),
            ],
        ),
    ];
    for (name, rows) in table {
        let profile = load(name).unwrap();
        let found = values(&profile.quantities());
        assert_eq!(found.len(), rows.len(), "{name}: {found:?}");
        for (found, row) in found.iter().zip(rows) {
            assert_eq!(
                (found.0.as_str(), found.1, found.2.as_str(), found.4),
                (row.0, row.1, row.2, row.4),
                "{name}"
            );
            assert!(
                (found.3 - row.3).abs() < 1e-9,
                "{name} {}: {} m",
                row.0,
                found.3
            );
        }
    }
}

#[test]
fn each_expression_has_the_shape_of_its_rule() {
    let shape = |profile: &Profile| match &profile.expression {
        Term::Lowest(terms) => format!("lowest of {}", terms.len()),
        Term::Highest(terms) => format!("highest of {}", terms.len()),
        Term::Cap { .. } => "cap".to_owned(),
        Term::Shield { .. } => "shield".to_owned(),
        Term::Airspace { .. } => "airspace".to_owned(),
    };
    // A shield that limits (shielded operation) stands in `lowest`; one that raises a cap (S4, S6,
    // S7: near a structure) stands in `highest`. References: design of the national rings.
    for (name, expected, reference, reach) in [
        ("plain", "lowest of 2", Reference::ReferencePoint, 100.0),
        ("australia", "lowest of 2", Reference::MovementArea, 100.0),
        ("new-zealand", "lowest of 2", Reference::Boundary, 100.0),
        ("united-kingdom", "cap", Reference::ReferencePoint, 0.0),
        (
            "european-union",
            "highest of 2",
            Reference::ReferencePoint,
            50.0,
        ),
        (
            "united-states",
            "highest of 2",
            Reference::ReferencePoint,
            121.92,
        ),
        ("canada", "highest of 2", Reference::ReferencePoint, 60.96),
    ] {
        let profile = load(name).unwrap();
        assert_eq!(shape(&profile), expected, "{name}");
        assert_eq!(profile.reference, reference, "{name}");
        assert!((profile.widest_reach().m() - reach).abs() < 1e-9, "{name}");
        assert!(
            profile.rings.iter().all(|ring| ring.about == reference),
            "{name}"
        );
    }
}

/// The height above flat ground that a rule allows at a place `away` from the one obstacle, metres,
/// by the plain words of [`Term`]; none where it allows nothing.
fn allowed(term: &Term, top: f64, away: f64) -> Option<f64> {
    match term {
        Term::Lowest(terms) => terms
            .iter()
            .map(|term| allowed(term, top, away))
            .try_fold(f64::MAX, |least, value| value.map(|value| least.min(value))),
        Term::Highest(terms) => terms
            .iter()
            .filter_map(|term| allowed(term, top, away))
            .reduce(f64::max),
        Term::Cap { height, .. } => Some(height.value_m.m()),
        // No built-in profile has one, and nothing lies over flat ground here.
        Term::Airspace { .. } => Some(f64::MAX),
        Term::Shield {
            reach,
            margin,
            taller_than,
            ..
        } => {
            let counts = taller_than
                .as_ref()
                .is_none_or(|least| top > least.value_m.m());
            (away <= reach.value_m.m() && counts).then_some(top - margin.value_m.m())
        }
    }
}

#[test]
fn each_rule_gives_the_heights_of_its_published_examples() {
    let ft = 0.3048;
    #[rustfmt::skip]
    let rows = [
        // Plain: 60 m less the margin within 100 m, edge included (common practice, no source).
        ("plain", 60.0, 100.0, Some(50.0)),
        ("plain", 60.0, 100.1, None),
        ("plain", 200.0, 0.0, Some(120.0)),
        // Rule 101.7: within 100 m of an object of 42.0 m, below its top.
        ("new-zealand", 42.0, 99.9, Some(42.0)),
        ("new-zealand", 42.0, 100.0, Some(42.0)),
        ("new-zealand", 42.0, 100.1, None),
        ("new-zealand", 150.0, 10.0, Some(120.0)),
        // UAS.OPEN.010(3): 104.9, 105.0, 105.1 and 130 m within 50 m: 120, 120, 120.1 and 145 m.
        ("european-union", 104.9, 50.0, Some(120.0)),
        ("european-union", 105.0, 50.0, Some(120.0)),
        ("european-union", 105.1, 50.0, Some(120.1)),
        ("european-union", 130.0, 50.0, Some(145.0)),
        ("european-union", 130.0, 50.1, Some(120.0)),
        // 14 CFR 107.51(b): a crane of 275 ft, 675 ft within 400 ft of it; 400 ft elsewhere.
        ("united-states", 275.0 * ft, 400.0 * ft, Some(675.0 * ft)),
        ("united-states", 275.0 * ft, 400.1 * ft, Some(400.0 * ft)),
        // 901.25(1): 100 ft above a structure less than 200 ft away; 400 ft if that is more.
        ("canada", 350.0 * ft, 199.9 * ft, Some(450.0 * ft)),
        ("canada", 350.0 * ft, 200.1 * ft, Some(400.0 * ft)),
        ("canada", 250.0 * ft, 10.0 * ft, Some(400.0 * ft)),
        // The 400 ft of art. 94A are not raised near a tall structure.
        ("united-kingdom", 300.0, 0.0, Some(121.92)),
        // Common practice under the 400 ft of reg. 101.085.
        ("australia", 60.0, 100.0, Some(50.0)),
        ("australia", 300.0, 0.0, Some(121.92)),
    ];
    for (name, top, away, expected) in rows {
        let found = allowed(&load(name).unwrap().expression, top, away);
        match (found, expected) {
            (Some(found), Some(expected)) => {
                assert!(
                    (found - expected).abs() < 1e-9,
                    "{name} {top} {away}: {found}"
                );
            }
            (found, expected) => assert_eq!(found, expected, "{name} {top} {away}"),
        }
    }
}

#[test]
fn a_ring_is_labelled_as_the_profile_writes_it_and_rings_are_sorted() {
    let labels = |profile: &Profile| -> Vec<String> {
        profile
            .rings
            .iter()
            .map(|ring| ring.radius.label())
            .collect()
    };
    assert_eq!(labels(&load("united-kingdom").unwrap()), ["2 NM", "2.5 NM"]);
    let swapped = changed("value = 1\n", "value = 4\n");
    let profile = parse("own", "own.toml", &swapped).unwrap();
    assert_eq!(labels(&profile), ["2 NM", "3 NM", "4 NM", "5 NM"]);
}

#[test]
fn a_profile_is_read_from_a_path_and_named_by_it() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("own.toml");
    std::fs::write(&path, changed("value = 100\n", "value = 80\n")).unwrap();
    let given = path.to_str().unwrap();
    let profile = load(given).unwrap();
    assert_eq!(profile.name, given);
    assert!((profile.widest_reach().m() - 80.0).abs() < 1e-12);
}
