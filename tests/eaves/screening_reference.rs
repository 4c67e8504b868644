//! Rows of the 240 candidate sites of New Zealand beside pyproj and shapely
//! (`tests/reference/make_screening.py`).

use std::path::{Path, PathBuf};

use eaves::answer::ZoneState;
use eaves::batch::{CeilingOf, Common, Sensitivity, Settings, Site, answer};
use eaves::profile;
use eaves::read::{ReadOptions, layers, operating_area};
use eaves::units::Metres;
use serde_json::{Value, json};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn data(name: &str) -> PathBuf {
    root().join("tests/data/real/new-zealand").join(name)
}

/// The aerodromes as they are; the lines with the height and sag that the reference assumes.
fn write_layers(folder: &Path) {
    std::fs::copy(
        data("aerodromes.geojson"),
        folder.join("aerodromes.geojson"),
    )
    .unwrap();
    let text = std::fs::read_to_string(data("power_lines.geojson")).unwrap();
    let mut lines: Value = serde_json::from_str(&text).unwrap();
    for feature in lines["features"].as_array_mut().unwrap() {
        feature["properties"]["height_m"] = json!(40);
    }
    std::fs::write(folder.join("power-lines.geojson"), lines.to_string()).unwrap();
    std::fs::write(
        folder.join("layers.toml"),
        "[power-lines]\nvertices_are_supports = true\nsag = { share_of_span = 0.02 }\n",
    )
    .unwrap();
}

#[test]
fn the_rows_of_240_real_candidates_are_those_of_pyproj_and_shapely() {
    let folder = tempfile::tempdir().unwrap();
    write_layers(folder.path());
    // One ring of 3 NM about the reference point; reach 100 m, margin 10 m, cap 120 m.
    let profile = root().join("benches/region/profile.toml");
    let settings = Settings {
        profile: profile::load(profile.to_str().unwrap()).unwrap(),
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::of(18_520.0),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        sensitivity: Sensitivity::default(),
    };
    let common = Common::new(
        settings,
        layers(folder.path(), &ReadOptions::default()).unwrap(),
    );
    let text = std::fs::read_to_string(root().join("tests/reference/screening.json")).unwrap();
    let reference: Value = serde_json::from_str(&text).unwrap();
    let sites = reference["sites"].as_object().unwrap();
    assert_eq!(sites.len(), 240);
    let (mut near, mut rings, mut whole, mut part) = (0, [0; 3], 0, 0);
    for (id, expected) in sites {
        let read = operating_area(&data("candidate_sites.geojson"), Some(id.as_str())).unwrap();
        let site = Site {
            id: id.clone(),
            area: read.area,
            has_cautions: false,
            wish: None,
        };
        let row = answer(&site, &common);
        assert_eq!(row.error, None, "{id}");
        let number = |value: &Value| value.as_f64().unwrap();
        let area = number(&expected["area_m2"]);
        assert!(
            (row.area_m2.unwrap() / area - 1.0).abs() < 1e-5,
            "{id}: area"
        );

        // The nearest aerodrome, its distance and bearing.
        let aerodromes: Vec<(&String, [f64; 3])> = expected["aerodromes"]
            .as_object()
            .unwrap()
            .iter()
            .map(|(ident, it)| (ident, [0, 1, 2].map(|k| number(&it[k]))))
            .filter(|(_, [distance, ..])| *distance <= 18_520.0)
            .collect();
        let nearest = aerodromes
            .iter()
            .min_by(|(_, a), (_, b)| a[0].total_cmp(&b[0]));
        match (row.aerodrome, nearest) {
            (None, None) => {}
            (Some(found), Some((ident, [distance, bearing, _]))) => {
                let title = common.aerodrome_title(found.aerodrome).unwrap();
                assert!(title.contains(ident.as_str()), "{id}: {title} for {ident}");
                assert!(
                    (found.distance_m.m() - distance).abs() < 0.01,
                    "{id}: {ident}"
                );
                if *distance > 1.0 {
                    let turn =
                        (found.bearing_true_deg.unwrap().degrees() - bearing + 540.0) % 360.0;
                    // 1 cm across the line of sight, and the step of the reference's search.
                    let least = 0.001 + (0.02 / distance).atan().to_degrees();
                    assert!((turn - 180.0).abs() < least, "{id}: bearing from {ident}");
                }
                near += 1;
            }
            (found, nearest) => panic!("{id}: {found:?} for {nearest:?}"),
        }

        // The ring of 3 NM that lies worst.
        let worst = aerodromes
            .iter()
            .map(|(_, [distance, _, farthest])| {
                let state = if *farthest <= 5_556.0 {
                    ZoneState::Inside
                } else if *distance <= 5_556.0 {
                    ZoneState::Straddles
                } else {
                    ZoneState::Outside
                };
                (state, distance - 5_556.0)
            })
            .min_by(|a, b| {
                let rank = |state| match state {
                    ZoneState::Inside => 0,
                    ZoneState::Straddles => 1,
                    _ => 2,
                };
                rank(a.0).cmp(&rank(b.0)).then(a.1.total_cmp(&b.1))
            });
        match (row.proximity, worst) {
            (None, None) => {}
            (Some(found), Some((state, margin))) => {
                assert_eq!(found.state, state, "{id}");
                assert!(
                    (found.margin_m.unwrap().m() - margin).abs() < 0.01,
                    "{id}: margin"
                );
                rings[match state {
                    ZoneState::Inside => 0,
                    ZoneState::Straddles => 1,
                    _ => 2,
                }] += 1;
            }
            (found, worst) => panic!("{id}: {found:?} for {worst:?}"),
        }

        // Cover and the lowest shielding level, between circles inside and outside.
        let case = &row.cases[0];
        let share = case.covered_share.unwrap();
        let [low, high] = [0, 1].map(|k| number(&expected["covered_share"][k]));
        assert!(share <= high + 2e-6, "{id}: covered {share} above {high}");
        assert!(share >= low - 5e-4, "{id}: covered {share} below {low}");
        let ceiling = case.ceiling.map(|it| (it.of, it.above_ground.value_m));
        let levels = [0, 1].map(|k| expected["lowest_top_m"][k].as_f64().map(|top| top - 10.0));
        match (ceiling, levels) {
            (None, [_, None]) => {}
            (Some((of, value)), [Some(least), most]) => {
                assert!(
                    most.is_none_or(|most| value <= most + 0.001),
                    "{id}: {value} above {levels:?}"
                );
                assert!(value >= least - 0.15, "{id}: {value} below {levels:?}");
                if of == CeilingOf::Whole {
                    whole += 1;
                    assert!(high > 1.0 - 1e-9, "{id}: not covered");
                } else {
                    part += 1;
                    assert!(low < 1.0 - 1e-9, "{id}: covered");
                }
            }
            (ceiling, levels) => panic!("{id}: {ceiling:?} for {levels:?}"),
        }
    }
    // Every kind of answer occurs.
    assert!(
        near > 100 && whole >= 2 && part > 100,
        "{near} {whole} {part}"
    );
    assert!(rings.iter().all(|count| *count > 0), "{rings:?}");
}
