//! Backgrounds: where their pixels end up, what is transparent, what is refused.
//!
//! The files are made here by GDAL; where a pixel must be comes from its own corner coordinates,
//! brought to the plane by Karney's geodesics through [`LocalFrame`].

use std::path::{Path, PathBuf};
use std::sync::Arc;

use eaves::figure::scene::{Ink, MarkKind};
use eaves::figure::{FigureKind, FigureOptions, background_window, resolve};
use eaves::frame::{LocalFrame, LonLat, Xy};
use eaves::read::{Background, BackgroundWindow, background};
use gdal::DriverManager;
use gdal::raster::{Buffer, ColorInterpretation};
use gdal::spatial_ref::SpatialRef;

use crate::{figure_cases, golden};

/// A GeoTIFF of 8-bit bands of 60 by 40 cells of 0.0005 degrees about 15.6 E 48.4 N.
fn file(folder: &Path, bands: &[&dyn Fn(usize, usize) -> u8]) -> PathBuf {
    let path = folder.join("background.tif");
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let mut made = driver
        .create_with_band_type::<u8, _>(&path, 60, 40, bands.len())
        .unwrap();
    made.set_geo_transform(&[15.585, 0.0005, 0.0, 48.41, 0.0, -0.0005])
        .unwrap();
    made.set_spatial_ref(&SpatialRef::from_epsg(4326).unwrap())
        .unwrap();
    for (index, value) in bands.iter().enumerate() {
        let mut band = made.rasterband(index + 1).unwrap();
        let values = (0..40 * 60).map(|k| value(k % 60, k / 60)).collect();
        band.write((0, 0), (60, 40), &mut Buffer::new((60, 40), values))
            .unwrap();
        if index == 3 {
            band.set_color_interpretation(ColorInterpretation::AlphaBand)
                .unwrap();
        }
    }
    path
}

fn window(half_m: f64, px: u32) -> BackgroundWindow {
    BackgroundWindow {
        frame: LocalFrame::about(LonLat::new(15.6, 48.4).unwrap()),
        low: Xy::new(-half_m, -half_m),
        high: Xy::new(half_m, half_m),
        width_px: px,
        height_px: px,
    }
}

fn pixel(of: &Background, column: usize, row: usize) -> [u8; 4] {
    let at = 4 * (row * of.width_px as usize + column);
    of.rgba[at..at + 4].try_into().unwrap()
}

/// One red cell among blue ones: its pixels are those whose places lie in the cell.
#[test]
fn a_cell_lies_where_its_corners_are() {
    let folder = tempfile::tempdir().unwrap();
    let is_marked = |c: usize, r: usize| (c, r) == (33, 17);
    let path = file(
        folder.path(),
        &[
            &|c, r| if is_marked(c, r) { 255 } else { 0 },
            &|_, _| 0,
            &|c, r| if is_marked(c, r) { 0 } else { 255 },
        ],
    );
    let window = window(300.0, 400);
    let made = background(&path, &window).unwrap();
    assert_eq!(made.file, "background.tif");
    let (mut red, mut wrong) = (0, 0);
    for row in 0..400 {
        for column in 0..400 {
            let place = window.frame.to_place(Xy::new(
                -300.0 + 1.5 * (column as f64 + 0.5),
                300.0 - 1.5 * (row as f64 + 0.5),
            ));
            let cell = (
                (place.lon() - 15.585) / 0.0005,
                (48.41 - place.lat()) / 0.0005,
            );
            let [r, _, b, opacity] = pixel(&made, column, row);
            assert_eq!(opacity, 255);
            let inside = (33.0..34.0).contains(&cell.0) && (17.0..18.0).contains(&cell.1);
            red += usize::from(r > b);
            // Colours are linear between centres of cells, so the edge is where both are half.
            let near_edge =
                (cell.0 - cell.0.round()).abs() < 0.1 || (cell.1 - cell.1.round()).abs() < 0.1;
            let near_corner = (cell.0 - 33.5).abs() + (cell.1 - 17.5).abs() > 0.4;
            wrong += usize::from((r > b) != inside && !near_edge && !(inside && near_corner));
        }
    }
    assert_eq!(wrong, 0);
    assert!(red > 100, "{red}");
}

/// The file reaches 1.1 km about the middle: beyond, and where its fourth band says so, nothing.
#[test]
fn what_has_no_data_is_transparent() {
    let folder = tempfile::tempdir().unwrap();
    let opaque = |c: usize, _: usize| if c < 30 { 255 } else { 0 };
    let path = file(
        folder.path(),
        &[&|_, _| 40, &|_, _| 120, &|_, _| 200, &opaque],
    );
    let made = background(&path, &window(3_000.0, 300)).unwrap();
    assert!(made.reaches());
    assert_eq!(pixel(&made, 140, 150), [40, 120, 200, 255]);
    assert_eq!(pixel(&made, 160, 150)[3], 0);
    assert_eq!(pixel(&made, 5, 5)[3], 0);
    let grey = file(folder.path(), &[&|_, _| 99]);
    let made = background(&grey, &window(100.0, 20)).unwrap();
    assert_eq!(pixel(&made, 10, 10), [99, 99, 99, 255]);
    let mut elsewhere = window(100.0, 20);
    elsewhere.frame = LocalFrame::about(LonLat::new(-70.0, 10.0).unwrap());
    assert!(!background(&grey, &elsewhere).unwrap().reaches());
}

/// A ramp from 1000 to 3390 by tens, 16-bit: its second and ninety-eighth hundredth are drawn black
/// and white, by hand 1000 + 0.02 · 2390 ≈ 1050 and 3340 (whole columns), and between them in proportion.
#[test]
fn sixteen_bits_are_stretched_to_eight_as_stated() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.tif");
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let mut made = driver
        .create_with_band_type::<u16, _>(&path, 240, 40, 1)
        .unwrap();
    made.set_geo_transform(&[15.588, 0.0001, 0.0, 48.41, 0.0, -0.0005])
        .unwrap();
    made.set_spatial_ref(&SpatialRef::from_epsg(4326).unwrap())
        .unwrap();
    let values = (0..40 * 240).map(|k| 1_000 + 10 * (k % 240)).collect();
    made.rasterband(1)
        .unwrap()
        .write((0, 0), (240, 40), &mut Buffer::new((240, 40), values))
        .unwrap();
    drop(made);
    let window = window(2_000.0, 800);
    let made = background(&path, &window).unwrap();
    let (low, high) = made.stretch.unwrap();
    assert!((1_040..=1_060).contains(&low), "{low}");
    assert!((3_330..=3_350).contains(&high), "{high}");
    let mut last = 0;
    for column in (100..700).step_by(20) {
        let metres = -2_000.0 + 5.0 * (f64::from(column) + 0.5);
        let place = window.frame.to_place(Xy::new(metres, 0.0));
        let cell = (place.lon() - 15.588) / 0.0001;
        let [grey, g, b, opacity] = pixel(&made, column as usize, 400);
        if opacity == 0 {
            continue;
        }
        assert!(grey == g && grey == b && grey >= last);
        last = grey;
        let value = 1_000.0 + 10.0 * (cell - 0.5);
        let share = (value - f64::from(low)) / f64::from(high - low);
        let wanted = 255.0 * share.clamp(0.0, 1.0);
        assert!((f64::from(grey) - wanted).abs() < 3.0, "{grey} {wanted}");
    }
    assert!(last > 200, "{last}");
    let eight = file(folder.path(), &[&|_, _| 99]);
    assert_eq!(background(&eight, &window).unwrap().stretch, None);
}

#[test]
fn a_file_that_is_no_background_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let window = window(100.0, 20);
    let one = |_: usize, _: usize| 1;
    let path = file(folder.path(), &[&one, &one, &one, &one, &one]);
    let refusal = |path: &Path| background(path, &window).unwrap_err().to_string();
    assert!(refusal(&path).ends_with(
        "background.tif: has 5 bands; export the background as grey or red, green, blue"
    ));
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let said = refusal(&data.join("terrain.tif"));
    assert!(said.contains("8 or 16 bits a band, unsigned"), "{said}");
    refusal(&data.join("area.geojson"));
    refusal(&data.join("none.tif"));
}

/// Under everything else, faded, and credited.
#[test]
fn a_background_is_drawn_faintly_below_the_map() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(
        folder.path(),
        &[
            &|c, r| if (c / 2 + r / 2) % 2 == 0 { 30 } else { 180 },
            &|c, _| (c * 4) as u8,
            &|_, r| (r * 6) as u8,
        ],
    );
    let mut assessment = figure_cases::town();
    assessment.obstacles.truncate(40);
    let mut options = FigureOptions {
        background_credit: Some("somebody's pictures, 2026".into()),
        ..FigureOptions::default()
    };
    let window = background_window(&assessment, FigureKind::Site, &options).unwrap();
    options.background = Some(Arc::new(background(&path, &window).unwrap()));
    let scene = resolve(&assessment, FigureKind::Site, &options).unwrap();
    let place = |kind| {
        scene
            .marks
            .iter()
            .position(|mark| mark.kind == kind)
            .unwrap()
    };
    assert!(place(MarkKind::Background) < place(MarkKind::Graticule));
    assert!(place(MarkKind::Background) < place(MarkKind::Area));
    let darkest = scene.marks.iter().find_map(|mark| match &mark.ink {
        Ink::Picture(_, picture) => {
            let opaque = picture.rgba.chunks_exact(4).filter(|it| it[3] == 255);
            opaque.map(|it| it[0]).min()
        }
        _ => None,
    });
    // 30 is faded to 255 + 0.4 (30 - 255) = 165.
    assert_eq!(darkest, Some(165));
    let text = crate::figure::all_text(&scene).join(" ");
    assert!(
        text.contains("Background: background.tif, somebody's pictures, 2026"),
        "{text}"
    );
    let panel = scene.panels[0].rect;
    golden::picture("background", &scene, panel, 0.35);
    let svg = eaves::figure::svg(&scene).unwrap();
    assert!(svg.contains("data:image/png;base64,"));
    assert!(eaves::figure::pdf(&scene).unwrap().len() > 10_000);
}
