//! Maps of the ceiling: never above the truth anywhere in a cell, the same as one site's answer, and
//! files that other programs read.

use std::path::{Path, PathBuf};

use eaves::assess::{DRAWN_AROUND, Question, assess};
use eaves::cli;
use eaves::error::{Cautions, Result};
use eaves::frame::{LonLat, distance};
use eaves::profile;
use eaves::read::{self, ReadOptions, window_about};
use eaves::request::Request;
use eaves::run::{Exit, run};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::Metres;
use gdal::vector::LayerAccess;
use gdal::{Dataset, Metadata};
use geo::{Contains, Coord, MultiPolygon, Polygon, Rect, Validation};
use geojson::{FeatureCollection, GeometryValue};
use jiff::civil::date;

use crate::cover::Numbers;

const NO_DATA: f32 = -9_999.0;

/// Maps with some options and gives the exit and the page.
fn mapped(options: &[&str]) -> Result<(Exit, String)> {
    let arguments = ["eaves", "ceiling-map"].iter().chain(options);
    let request = Request::resolve(cli::parse(arguments).unwrap(), date(2026, 7, 1))?;
    let mut page = Vec::new();
    let exit = run(&request, &mut page)?;
    Ok((exit, String::from_utf8(page).unwrap()))
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn demo_layers() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers")
}

/// A map read back with the gdal crate.
struct Raster {
    west: f64,
    north: f64,
    step: [f64; 2],
    columns: usize,
    rows: usize,
    bands: Vec<Vec<f32>>,
}

impl Raster {
    fn open(path: &Path) -> Self {
        let dataset = Dataset::open(path).unwrap();
        assert_eq!(dataset.spatial_ref().unwrap().auth_code().unwrap(), 4326);
        let [west, step_lon, _, north, _, step_lat] = dataset.geo_transform().unwrap();
        let (columns, rows) = dataset.raster_size();
        let bands = dataset
            .rasterbands()
            .map(|band| {
                let band = band.unwrap();
                assert_eq!(band.no_data_value(), Some(f64::from(NO_DATA)));
                band.read_band_as::<f32>().unwrap().data().to_vec()
            })
            .collect();
        Self {
            west,
            north,
            step: [step_lon, -step_lat],
            columns,
            rows,
            bands,
        }
    }

    /// A point of a cell: (0, 0) is its north-west corner, (1, 1) the south-east one.
    fn point(&self, cell: (usize, usize), [east, south]: [f64; 2]) -> Coord<f64> {
        Coord {
            x: self.west + (cell.0 as f64 + east) * self.step[0],
            y: self.north - (cell.1 as f64 + south) * self.step[1],
        }
    }

    fn cells(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        (0..self.rows).flat_map(|row| (0..self.columns).map(move |column| (column, row)))
    }

    /// The value of a band, none without data.
    fn value(&self, band: usize, (column, row): (usize, usize)) -> Option<f64> {
        let value = self.bands[band][row * self.columns + column];
        (value != NO_DATA).then(|| f64::from(value))
    }

    fn area(&self, cell: (usize, usize)) -> OperatingArea {
        let rectangle = Rect::new(self.point(cell, [0.0, 0.0]), self.point(cell, [1.0, 1.0]));
        OperatingArea {
            source: FeatureRef {
                file: "cell".into(),
                feature: "cell".into(),
            },
            name: "cell".into(),
            polygons: MultiPolygon::new(vec![rectangle.to_polygon()]),
        }
    }
}

/// Masts of known position and height on flat ground, and their layer.
struct Masts(Vec<(Coord<f64>, f64)>);

/// What the layers of [`Masts`] declare.
const ACCURACY_M: [f64; 2] = [2.0, 1.0];

impl Masts {
    /// Scattered over a square of so many metres about 150° E, 31° S.
    fn scattered(count: usize, width: f64, seed: u64) -> Self {
        let mut random = Numbers(seed);
        let degree = 111_000.0;
        Self(
            (0..count)
                .map(|_| {
                    let at = Coord {
                        x: 150.0 + (random.next() - 0.5) * width / (degree * 0.857),
                        y: -31.0 + (random.next() - 0.5) * width / degree,
                    };
                    (at, (150.0 * random.next() + 12.0).round())
                })
                .collect(),
        )
    }

    fn write(&self, folder: &Path) {
        std::fs::create_dir_all(folder).unwrap();
        let features: Vec<String> = self
            .0
            .iter()
            .map(|(at, height)| {
                format!(
                    r#"{{"type":"Feature","properties":{{"kind":"mast","height":{height}}},"geometry":{{"type":"Point","coordinates":[{},{}]}}}}"#,
                    at.x, at.y
                )
            })
            .collect();
        let features = features.join(",");
        let collection = format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#);
        std::fs::write(folder.join("structures.geojson"), collection).unwrap();
        let [horizontal, vertical] = ACCURACY_M;
        let declared = format!(
            "[structures]\nhorizontal_accuracy_m = {horizontal:.1}\nvertical_accuracy_m = {vertical:.1}\n"
        );
        std::fs::write(folder.join("layers.toml"), declared).unwrap();
    }

    /// The ceiling at a point by the profile "plain" (reach 100 m, margin 10 m, cap 120 m), written out
    /// on the ellipsoid; `slack` is added to the reach.
    fn ceiling(&self, at: Coord<f64>, slack: f64) -> Option<f64> {
        let place = |at: Coord<f64>| LonLat::new(at.x, at.y).unwrap();
        self.0
            .iter()
            .filter(|(mast, _)| {
                (mast.y - at.y).abs() < 0.001
                    && (mast.x - at.x).abs() < 0.0012
                    && distance(place(*mast), place(at)).m() <= 100.0 - ACCURACY_M[0] + slack
            })
            .map(|(_, height)| (height - ACCURACY_M[1] - 10.0).min(120.0))
            .reduce(f64::max)
    }
}

const LATTICE: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// 3 km at 20 m: more than one tile each way, so that seams are crossed.
#[test]
fn no_point_of_a_cell_has_a_lower_ceiling_than_the_cell() {
    let folder = tempfile::tempdir().unwrap();
    let (layers, out) = (folder.path().join("layers"), folder.path().join("out"));
    let masts = Masts::scattered(400, 3_000.0, 11);
    masts.write(&layers);
    let (exit, page) = mapped(&[
        "--bbox",
        "149.984,-31.014,150.016,-30.986",
        "--layers",
        text(&layers),
        "--out",
        text(&out),
        "--cell",
        "20m",
    ])
    .unwrap();
    assert_eq!(exit, Exit::Undecided);
    assert!(
        page.contains("not assessed: the ground has no elevation"),
        "{page}"
    );
    let map = Raster::open(&out.join("ceiling.tif"));
    assert!(map.columns > 128 && map.rows > 128 && map.bands.len() == 2);
    let (mut determined, mut capped) = (0, 0);
    for cell in map.cells().step_by(3) {
        let lattice = |slack| {
            LATTICE
                .iter()
                .flat_map(|east| LATTICE.map(|south| [*east, south]))
                .map(|share| masts.ceiling(map.point(cell, share), slack))
                .collect::<Option<Vec<f64>>>()
                .and_then(|values| values.into_iter().reduce(f64::min))
        };
        match map.value(0, cell) {
            Some(value) => {
                let least = lattice(0.0).expect("a cell with a ceiling is covered");
                assert!(value <= least, "{cell:?}: {value} above {least}");
                // A shield may allow exactly the cap.
                let term = map.value(1, cell).unwrap();
                assert!(
                    term == 1.0 || (term == 2.0 && value == 120.0),
                    "{cell:?}: {term}"
                );
                determined += 1;
                capped += usize::from(term == 2.0);
            }
            None => {
                assert_eq!(map.value(1, cell), Some(0.0));
                // Undetermined with reason: with reaches 3 m shorter some lattice point is out of all
                // of them (the lattice is 5 m wide).
                assert_eq!(lattice(-3.6), None, "{cell:?}");
            }
        }
    }
    assert!(determined > 2_500 && capped > 100, "{determined} {capped}");
}

/// Terrain, lines with sag, supports and buildings: the demo.
#[test]
fn a_cell_is_what_assess_says_of_it() {
    let out = tempfile::tempdir().unwrap();
    let layers = demo_layers();
    mapped(&[
        "--bbox",
        "149.664,-30.840,149.676,-30.830",
        "--layers",
        text(&layers),
        "--out",
        text(out.path()),
        "--cell",
        "30m",
    ])
    .unwrap();
    let map = Raster::open(&out.path().join("ceiling.tif"));
    let profile = profile::load("plain").unwrap();
    let around = profile.widest_reach() + DRAWN_AROUND;
    let whole = map.area((map.columns / 2, map.rows / 2));
    let records = read::layers(
        &layers,
        &ReadOptions {
            near: Some(window_about(&whole, around + Metres::of(2_000.0)).into()),
            ..ReadOptions::default()
        },
    )
    .unwrap();
    let mut both = 0;
    for cell in map.cells().step_by(7) {
        let question = Question {
            area: map.area(cell),
            area_cautions: Cautions::default(),
            profile: profile.clone(),
            date: date(2026, 7, 1),
            search_radius: Metres::of(1.0),
            wish: None,
            window: None,
            site_elevation: None,
            ground_accuracy: None,
            tolerance: Metres::of(0.1),
            qnh: None,
            line_clearance: None,
            sample_ceiling: false,
            surfaces: None,
            shielding_planes: None,
            obstacle_accuracy: None,
            section: None,
        };
        let alone = assess(&question, &records).unwrap().ceiling.whole;
        let Some(alone) = alone else {
            assert_eq!(map.value(0, cell), None, "{cell:?}");
            continue;
        };
        let pairs = [(0, Some(alone.above_ground)), (2, alone.amsl)];
        for (band, ceiling) in pairs {
            let (ceiling, value) = (ceiling.unwrap(), map.value(band, cell).unwrap());
            // Both are within the tolerance of the true minimum, and a budget is cut to whole
            // centimetres line by line. A tile's plane places the terrain to a decimetre of height.
            assert!(value <= ceiling.attained_m + 1e-6, "{cell:?}: {value}");
            assert!(
                (value - ceiling.value_m).abs() <= 0.25,
                "{cell:?}: {value} {}",
                ceiling.value_m
            );
            both += 1;
        }
    }
    assert!(both > 60, "{both}");
}

#[test]
fn the_number_of_threads_changes_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let layers = demo_layers();
    let maps = ["1", "2"].map(|threads| {
        let out = folder.path().join(threads);
        mapped(&[
            "--bbox",
            "149.65,-30.85,149.69,-30.82",
            "--layers",
            text(&layers),
            "--out",
            text(&out),
            "--threads",
            threads,
            "--cell",
            "15m",
        ])
        .unwrap();
        ["ceiling.tif", "bands-agl.geojson", "bands-amsl.geojson"]
            .map(|name| std::fs::read(out.join(name)).unwrap())
    });
    assert!(maps[0] == maps[1]);
    assert!(std::fs::read_dir(folder.path().join("1")).unwrap().count() == 3);
}

/// The layout by GDAL's own mark; overviews hold the least ceiling of what they stand for.
#[test]
fn the_raster_is_cloud_optimized_and_no_overview_is_higher_than_its_cells() {
    let folder = tempfile::tempdir().unwrap();
    let (layers, out) = (folder.path().join("layers"), folder.path().join("out"));
    Masts::scattered(3_000, 3_000.0, 5).write(&layers);
    mapped(&[
        "--bbox",
        "149.985,-31.002,150.015,-30.998",
        "--layers",
        text(&layers),
        "--out",
        text(&out),
        "--cell",
        "4m",
    ])
    .unwrap();
    let dataset = Dataset::open(out.join("ceiling.tif")).unwrap();
    let layout = dataset.metadata_item("LAYOUT", "IMAGE_STRUCTURE");
    assert_eq!(layout.as_deref(), Some("COG"));
    for (name, part) in [
        ("CAUTION", "Not for navigation"),
        ("VERTICAL_REFERENCE", "above ground"),
        (
            "GOVERNING_TERMS",
            "0 undetermined; 1 Shielding; 2 Height above ground",
        ),
        ("NOT_ASSESSED", "NOTAM"),
        ("UNITS", "metres"),
    ] {
        let text = dataset.metadata_item(name, "").unwrap();
        assert!(text.contains(part), "{name}: {text}");
    }
    let band = dataset.rasterband(1).unwrap();
    assert_eq!(band.overview_count().unwrap(), 1);
    let full = band.read_band_as::<f32>().unwrap();
    let coarse = band.overview(0).unwrap().read_band_as::<f32>().unwrap();
    let (columns, rows) = full.shape();
    assert_eq!(coarse.shape(), (columns.div_ceil(2), rows.div_ceil(2)));
    let mut known = 0;
    for row in 0..coarse.shape().1 {
        for column in 0..coarse.shape().0 {
            let four: Vec<f32> = [(0, 0), (1, 0), (0, 1), (1, 1)]
                .map(|(east, south)| (column * 2 + east, row * 2 + south))
                .into_iter()
                .filter(|(column, row)| *column < columns && *row < rows)
                .map(|(column, row)| full.data()[row * columns + column])
                .collect();
            let least = four.iter().copied().reduce(f32::min).unwrap();
            let expected = if four.contains(&NO_DATA) {
                NO_DATA
            } else {
                least
            };
            assert_eq!(coarse.data()[row * coarse.shape().0 + column], expected);
            known += usize::from(expected != NO_DATA);
        }
    }
    assert!(known > 2_000, "{known}");
}

#[test]
fn bands_cover_the_cells_of_the_raster() {
    let folder = tempfile::tempdir().unwrap();
    let (layers, out) = (folder.path().join("layers"), folder.path().join("out"));
    Masts::scattered(60, 1_000.0, 3).write(&layers);
    mapped(&[
        "--bbox",
        "149.993,-31.006,150.007,-30.994",
        "--layers",
        text(&layers),
        "--out",
        text(&out),
        "--cell",
        "15m",
        "--step",
        "25m",
        "--flatgeobuf",
    ])
    .unwrap();
    let map = Raster::open(&out.join("ceiling.tif"));
    let bands: FeatureCollection = std::fs::read_to_string(out.join("bands-agl.geojson"))
        .unwrap()
        .parse()
        .unwrap();
    let copy = Dataset::open(out.join("bands-agl.fgb")).unwrap();
    let layer = copy.layer(0).unwrap();
    assert_eq!(layer.feature_count() as usize, bands.features.len());
    let about = &bands.foreign_members.as_ref().unwrap()["about"];
    assert!(
        about["caution"]
            .as_str()
            .unwrap()
            .contains("Not for navigation")
    );
    let bands: Vec<(f64, f64, Polygon<f64>)> = bands
        .features
        .iter()
        .map(|feature| {
            let number = |name: &str| feature.property(name).unwrap().as_f64().unwrap();
            let geometry = &feature.geometry.as_ref().unwrap().value;
            assert!(matches!(geometry, GeometryValue::Polygon { .. }));
            let polygon = Polygon::<f64>::try_from(geometry).unwrap();
            assert!(polygon.is_valid(), "{:?}", polygon.validation_errors());
            let low = number("ceiling_at_least_m_agl");
            assert_eq!(low + 25.0, number("ceiling_below_m_agl"));
            (low, number("cells"), polygon)
        })
        .collect();
    let mut counted = 0.0;
    for cell in map.cells() {
        let centre = geo::Point(map.point(cell, [0.5, 0.5]));
        let over: Vec<f64> = bands
            .iter()
            .filter(|(_, _, polygon)| polygon.contains(&centre))
            .map(|(low, _, _)| *low)
            .collect();
        let expected: Vec<f64> = map
            .value(0, cell)
            .map(|value| (value / 25.0).floor() * 25.0)
            .into_iter()
            .collect();
        assert_eq!(over, expected, "{cell:?}");
        counted += expected.len() as f64;
    }
    assert_eq!(
        bands.iter().map(|(_, cells, _)| cells).sum::<f64>(),
        counted
    );
    assert!(
        bands.len() > 20 && counted > 1_000.0,
        "{} {counted}",
        bands.len()
    );
}

/// A region that is no box: what is outside is not asked, what touches it is.
#[test]
fn cells_outside_the_region_are_without_any_answer() {
    let folder = tempfile::tempdir().unwrap();
    let (layers, out) = (folder.path().join("layers"), folder.path().join("out"));
    Masts::scattered(200, 1_000.0, 9).write(&layers);
    let region = folder.path().join("region.geojson");
    let outline = [
        [149.995, -31.004],
        [150.004, -31.003],
        [149.997, -30.996],
        [149.995, -31.004],
    ];
    std::fs::write(
        &region,
        format!(r#"{{"type":"Polygon","coordinates":[{outline:?}]}}"#),
    )
    .unwrap();
    mapped(&[
        text(&region),
        "--layers",
        text(&layers),
        "--out",
        text(&out),
        "--cell",
        "10m",
    ])
    .unwrap();
    let map = Raster::open(&out.join("ceiling.tif"));
    let region = Polygon::new(
        outline.map(|[x, y]| Coord { x, y }).to_vec().into(),
        Vec::new(),
    );
    let mut counts = [0, 0];
    for cell in map.cells() {
        let rectangle = Rect::new(map.point(cell, [0.0, 0.0]), map.point(cell, [1.0, 1.0]));
        let is_asked = map.value(1, cell).is_some();
        assert_eq!(
            is_asked,
            geo::Intersects::intersects(&region, &rectangle),
            "{cell:?}"
        );
        assert!(is_asked || map.value(0, cell).is_none());
        counts[usize::from(is_asked)] += 1;
    }
    assert!(counts[0] > 2_000 && counts[1] > 2_000, "{counts:?}");
}

#[test]
fn what_cannot_be_mapped_is_refused_and_nothing_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let (layers, out) = (folder.path().join("layers"), folder.path().join("out"));
    Masts::scattered(1, 10.0, 1).write(&layers);
    let refused = |options: &[&str]| mapped(options).unwrap_err().to_string();
    let (layers, out) = (text(&layers), text(&out));
    let boxed = ["--bbox", "149,-32,151,-30", "--layers", layers];
    let with = |more: &[&'static str]| {
        let mut all = boxed.to_vec();
        all.extend(more);
        all
    };
    let mut all = with(&["--cell", "1m", "--out"]);
    all.push(out);
    assert!(refused(&all).contains("choose larger cells with --cell"));
    // Bands AMSL that flat ground would leave behind.
    let kept = folder.path().join("kept");
    std::fs::create_dir(&kept).unwrap();
    std::fs::write(kept.join("bands-amsl.geojson"), "").unwrap();
    let mut all = with(&["--cell", "1km", "--out"]);
    all.push(text(&kept));
    assert!(refused(&all).contains("bands-amsl.geojson of another map"));
    let mut all = with(&["--out"]);
    all.push(layers);
    assert!(refused(&all).contains("is the folder of layers"));
    assert!(
        refused(&[
            "--bbox",
            "149,-89.5,149.1,-89.4",
            "--layers",
            layers,
            "--out",
            out
        ])
        .contains("so near a pole")
    );
    let typed = |options: &[&str]| {
        let all = ["eaves", "ceiling-map", "--layers", layers, "--out", out];
        cli::parse(all.iter().chain(options)).unwrap_err()
    };
    for (options, part) in [
        (&["--bbox", "149,-32,151"][..], "four numbers"),
        (&["--bbox", "149,-30,151,-32"][..], "has no extent"),
        (&["--bbox", "149,-95,151,-32"][..], "latitude"),
        (
            &["--bbox", "149,-32,151,-30", "a.geojson"][..],
            "cannot be used with",
        ),
        (
            &["--bbox", "149,-32,151,-30", "--cell", "0.1m"][..],
            "0.5 m",
        ),
        (&[][..], "REGION"),
    ] {
        let cli::NoCommand::Refused(said) = typed(options) else {
            panic!("{options:?}");
        };
        assert!(said.contains(part), "{said}");
    }
    assert!(!Path::new(out).exists() || std::fs::read_dir(out).unwrap().next().is_none());
}
