//! Terrain rasters: made here with GDAL, and an extract of SRTM.

use std::path::{Path, PathBuf};

use eaves::frame::{LocalFrame, LonLat};
use eaves::read::mapping::Declarations;
use eaves::read::operating_area;
use eaves::read::raster::TerrainFile;
use eaves::units::Metres;
use gdal::DriverManager;
use gdal::raster::Buffer;
use gdal::spatial_ref::SpatialRef;

struct Raster {
    folder: tempfile::TempDir,
}

impl Raster {
    fn path(&self) -> PathBuf {
        self.folder.path().join("dem.tif")
    }

    fn error(&self, toml: &str) -> String {
        let declarations = Declarations::parse(toml).unwrap();
        TerrainFile::open_declared(&self.path(), &declarations.terrain)
            .unwrap_err()
            .to_string()
            .replace(&format!("{}: ", self.path().display()), "")
    }
}

/// A 5 by 4 raster whose cell (c, r) holds 100 + 10 c + r.
fn raster(
    crs: Option<&str>,
    transform: [f64; 6],
    change: impl FnOnce(&mut gdal::raster::RasterBand<'_>),
) -> Raster {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("dem.tif");
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let mut dataset = driver
        .create_with_band_type::<f32, _>(&path, 5, 4, 1)
        .unwrap();
    if let Some(crs) = crs {
        dataset
            .set_spatial_ref(&SpatialRef::from_definition(crs).unwrap())
            .unwrap();
    }
    dataset.set_geo_transform(&transform).unwrap();
    let mut band = dataset.rasterband(1).unwrap();
    let values = (0..4)
        .flat_map(|r| (0..5).map(move |c| (100 + 10 * c + r) as f32))
        .collect();
    band.write((0, 0), (5, 4), &mut Buffer::new((5, 4), values))
        .unwrap();
    change(&mut band);
    dataset.close().unwrap();
    Raster { folder }
}

const DEGREES: [f64; 6] = [150.0, 0.01, 0.0, -31.0, 0.0, -0.01];

fn frame(lon: f64, lat: f64) -> LocalFrame {
    LocalFrame::about(LonLat::new(lon, lat).unwrap())
}

#[test]
fn nodes_are_cell_centres() {
    let made = raster(Some("EPSG:4326"), DEGREES, |_| ());
    let terrain = TerrainFile::open(&made.path()).unwrap();
    assert_eq!(terrain.file(), "dem.tif");
    assert_eq!(terrain.accuracy(), None);
    let window = terrain
        .window(&frame(150.025, -31.02), Metres::of(5_000.0))
        .unwrap();
    assert_eq!((window.columns, window.rows), (5, 4));
    let (column, row) = window
        .pixel_of(LonLat::new(150.025, -31.015).unwrap())
        .unwrap();
    assert!(
        (column - 2.0).abs() < 1e-9 && (row - 1.0).abs() < 1e-9,
        "{column}, {row}"
    );
    assert_eq!(window.elevation_m[5 + 2], 121.0);
    let (column, row) = window.pixel_of(LonLat::new(150.0, -31.0).unwrap()).unwrap();
    assert!((column + 0.5).abs() < 1e-9 && (row + 0.5).abs() < 1e-9);
}

#[test]
fn a_window_is_cut_out_and_empty_where_the_raster_does_not_reach() {
    let fine = [150.0, 0.0001, 0.0, -31.0, 0.0, -0.0001];
    let made = raster(Some("EPSG:4326"), fine, |_| ());
    let terrain = TerrainFile::open(&made.path()).unwrap();
    let window = terrain
        .window(&frame(150.0099, -31.0002), Metres::of(10.0))
        .unwrap();
    assert!(window.is_empty());
    assert_eq!(window.pixel_of(LonLat::new(150.0, -31.0).unwrap()), None);
    let window = terrain
        .window(&frame(150.000_49, -31.000_25), Metres::of(1.0))
        .unwrap();
    assert!(window.columns > 0 && window.elevation_m.len() == window.columns * window.rows);
    let (column, row) = window
        .pixel_of(LonLat::new(150.000_45, -31.000_25).unwrap())
        .unwrap();
    let index = row.round() as usize * window.columns + column.round() as usize;
    assert_eq!(window.elevation_m[index], 142.0);
}

#[test]
fn no_data_is_nan_and_never_zero() {
    let made = raster(Some("EPSG:4326"), DEGREES, |band| {
        band.set_no_data_value(Some(121.0)).unwrap();
    });
    let window = TerrainFile::open(&made.path())
        .unwrap()
        .window(&frame(150.025, -31.02), Metres::of(5_000.0))
        .unwrap();
    assert!(window.elevation_m[7].is_nan());
    assert_eq!(
        window
            .elevation_m
            .iter()
            .filter(|value| value.is_nan())
            .count(),
        1
    );
}

#[test]
fn scale_offset_and_feet_are_honoured() {
    let scaled = raster(Some("EPSG:4326"), DEGREES, |band| {
        band.set_scale(0.5).unwrap();
        band.set_offset(10.0).unwrap();
    });
    let value = |made: &Raster, toml: &str| {
        let declarations = Declarations::parse(toml).unwrap();
        TerrainFile::open_declared(&made.path(), &declarations.terrain)
            .unwrap()
            .window(&frame(150.025, -31.02), Metres::of(5_000.0))
            .unwrap()
            .elevation_m[0]
    };
    assert_eq!(value(&scaled, ""), 60.0);
    let plain = raster(Some("EPSG:4326"), DEGREES, |_| ());
    // 100 ft are 30.48 m, exact.
    assert_eq!(value(&plain, "[terrain]\nheight_unit = \"ft\""), 30.48);
    assert_eq!(value(&plain, "[terrain]\nvertical_accuracy_m = 5"), 100.0);
}

/// The raster's own system: MGA2020 zone 55 around Flinders Peak (GDA2020 Technical Manual through
/// GeodePy: E 273741.2966 N 5796489.7769).
#[test]
fn projected_rasters_are_found_through_their_system() {
    let transform = [273_700.0, 20.0, 0.0, 5_796_530.0, 0.0, -20.0];
    let made = raster(Some("EPSG:7855"), transform, |_| ());
    let terrain = TerrainFile::open(&made.path()).unwrap();
    let peak = LonLat::new(144.424_867_888_888_88, -37.951_033_416_666_67).unwrap();
    let window = terrain
        .window(&LocalFrame::about(peak), Metres::of(200.0))
        .unwrap();
    let (column, row) = window.pixel_of(peak).unwrap();
    assert!(
        (column - ((273_741.296_6 - 273_700.0) / 20.0 - 0.5)).abs() < 1e-5,
        "{column}"
    );
    assert!(
        (row - ((5_796_530.0 - 5_796_489.776_9) / 20.0 - 0.5)).abs() < 1e-5,
        "{row}"
    );
}

#[test]
fn a_raster_from_0_to_360_serves_western_longitudes() {
    let made = raster(
        Some("EPSG:4326"),
        [210.0, 0.01, 0.0, -31.0, 0.0, -0.01],
        |_| (),
    );
    let terrain = TerrainFile::open(&made.path()).unwrap();
    let window = terrain
        .window(&frame(-149.975, -31.02), Metres::of(500.0))
        .unwrap();
    let (column, _) = window
        .pixel_of(LonLat::new(-149.975, -31.02).unwrap())
        .unwrap();
    let index = column.round() as usize;
    assert_eq!(window.elevation_m[index] as i32 / 10 * 10, 120);
}

#[test]
fn rotated_rasters_are_handled() {
    // Turned by 90 degrees: columns run north, rows run east.
    let made = raster(
        Some("EPSG:4326"),
        [150.0, 0.0, 0.01, -31.0, 0.01, 0.0],
        |_| (),
    );
    let window = TerrainFile::open(&made.path())
        .unwrap()
        .window(&frame(150.02, -30.975), Metres::of(5_000.0))
        .unwrap();
    let (column, row) = window
        .pixel_of(LonLat::new(150.015, -30.975).unwrap())
        .unwrap();
    assert!(
        (column - 2.0).abs() < 1e-9 && (row - 1.0).abs() < 1e-9,
        "{column}, {row}"
    );
}

#[test]
fn what_cannot_be_ground_is_refused() {
    let plain = raster(Some("EPSG:4326"), DEGREES, |_| ());
    assert_eq!(
        plain.error("[terrain]\nvertical_reference = \"above_ground\""),
        "is declared to be above ground; a terrain raster is the ground: its elevations must be \
         above mean sea level"
    );
    assert_eq!(
        raster(None, DEGREES, |_| ()).error(""),
        "does not say its coordinate reference system; declare crs in layers.toml"
    );
    assert_eq!(
        raster(Some("EPSG:4979"), DEGREES, |_| ()).error(""),
        "has heights above the ellipsoid (WGS 84), not above mean sea level; convert them with a \
         geoid model"
    );
    let two = tempfile::tempdir().unwrap();
    let path = two.path().join("dem.tif");
    DriverManager::get_driver_by_name("GTiff")
        .unwrap()
        .create_with_band_type::<f32, _>(&path, 5, 4, 2)
        .unwrap()
        .close()
        .unwrap();
    assert_eq!(
        Raster { folder: two }.error(""),
        "has 2 bands; export one band of elevations"
    );
    let text = tempfile::tempdir().unwrap();
    std::fs::write(text.path().join("dem.tif"), "not a raster").unwrap();
    let message = Raster { folder: text }.error("");
    assert!(
        message.starts_with("cannot be opened as its extension says ("),
        "{message}"
    );
    let missing = Raster {
        folder: tempfile::tempdir().unwrap(),
    };
    assert_eq!(missing.error(""), "does not exist; check the path");
    std::fs::write(missing.path(), "").unwrap();
    assert_eq!(missing.error(""), "is empty; export it again");
}

#[test]
fn a_truncated_raster_is_an_error_and_not_a_hole() {
    let made = raster(Some("EPSG:4326"), DEGREES, |_| ());
    let bytes = std::fs::read(made.path()).unwrap();
    for keep in [bytes.len() / 2, bytes.len() - 40] {
        std::fs::write(made.path(), &bytes[..keep]).unwrap();
        let outcome = TerrainFile::open(&made.path())
            .and_then(|terrain| terrain.window(&frame(150.025, -31.02), Metres::of(5_000.0)));
        assert!(
            outcome.is_err(),
            "{keep} bytes of {} were read",
            bytes.len()
        );
    }
}

/// `reference.json` of the real case, found with another library: the outline way/181903443 touches
/// 8 cells, 854 m to 886 m.
#[test]
fn srtm_cells_under_a_real_outline_are_those_of_the_reference() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/andorra");
    let area = operating_area(&folder.join("operating_area.geojson"), None)
        .unwrap()
        .area;
    let terrain = TerrainFile::open(&folder.join("dem.tif")).unwrap();
    let window = terrain.window(&area.frame(), Metres::of(500.0)).unwrap();
    let mut touched = std::collections::BTreeSet::new();
    // Every point of the edge, close enough that no cell of 3 arc seconds is stepped over.
    for ring in area.rings() {
        for pair in ring.windows(2) {
            for step in 0..=200 {
                let place = pair[0].towards(pair[1], f64::from(step) / 200.0);
                let (column, row) = window.pixel_of(place).unwrap();
                touched.insert((column.round() as usize, row.round() as usize));
            }
        }
    }
    let elevations: Vec<f32> = touched
        .iter()
        .map(|(column, row)| window.elevation_m[row * window.columns + column])
        .collect();
    assert_eq!(elevations.len(), 8);
    assert_eq!(
        elevations.iter().copied().fold(f32::INFINITY, f32::min),
        854.0
    );
    assert_eq!(elevations.iter().copied().fold(0.0, f32::max), 886.0);
}

/// Compound systems: NAVD88 height (EPSG:5703) is in metres, NAVD88 height (ftUS) (EPSG:6360) in US
/// survey feet of 1200/3937 m, and Australian Height Datum (EPSG:5711) in metres.
#[test]
fn vertical_systems_give_the_unit() {
    for (crs, metres) in [
        ("EPSG:4326+5703", 100.0),
        ("EPSG:6318+6360", 30.480_06),
        ("EPSG:7844+5711", 100.0),
        ("EPSG:4283+5711", 100.0),
    ] {
        let made = raster(Some(crs), DEGREES, |_| ());
        let terrain = TerrainFile::open(&made.path()).unwrap();
        let window = terrain
            .window(&frame(150.025, -31.02), Metres::of(5_000.0))
            .unwrap();
        assert!(
            (window.elevation_m[0] - metres).abs() < 1e-4,
            "{crs}: {}",
            window.elevation_m[0]
        );
        let (column, row) = window
            .pixel_of(LonLat::new(150.025, -31.015).unwrap())
            .unwrap();
        assert!(
            (column - 2.0).abs() < 2e-3 && (row - 1.0).abs() < 2e-3,
            "{crs}: {column}, {row}"
        );
    }
}
