//! The files of a figure beside what other programs make of them: resvg of the SVG, Poppler
//! (through GDAL) of the PDF.

use std::path::Path;

use eaves::answer::Assessment;
use eaves::figure::scene::Picture;
use eaves::figure::{self, FigureKind, FigureOptions, Scene};
use eaves::sheet::{Orientation, Paper, Sheet};
use gdal::{Dataset, DatasetOptions};
use resvg::{tiny_skia, usvg};

use crate::figure_cases as cases;

/// Resolution of the comparison, dots per inch.
const DPI: u32 = 75;
/// The side of the parts that are compared, pixels.
const PART: usize = 8;

fn scenes() -> Vec<(String, Scene)> {
    let cases: [(&str, Assessment); 2] = [("district", cases::district()), ("town", cases::town())];
    let mut scenes = Vec::new();
    for (name, assessment) in cases {
        for kind in [FigureKind::Location, FigureKind::Site] {
            let scene = figure::resolve(&assessment, kind, &FigureOptions::default()).unwrap();
            scenes.push((format!("{name} {}", kind.name()), scene));
        }
    }
    let portrait = FigureOptions {
        sheet: Sheet {
            paper: Paper::Letter,
            orientation: Orientation::Portrait,
        },
        ..FigureOptions::default()
    };
    let scene = figure::resolve(&cases::corridor(), FigureKind::Site, &portrait).unwrap();
    scenes.push(("corridor portrait".into(), scene));
    scenes
}

fn ours(scene: &Scene) -> Picture {
    figure::picture(scene, scene.outline(), scene.sheet.size_px(DPI)).unwrap()
}

/// Fails where a part of two pictures differs by more than `most` of 255 on average.
fn assert_alike(name: &str, ours: &Picture, theirs: &Picture, most: f64) {
    let (width, height) = (ours.width_px as usize, ours.height_px as usize);
    assert_eq!(
        (width, height),
        (theirs.width_px as usize, theirs.height_px as usize),
        "{name}"
    );
    let mean = |of: &Picture, left: usize, top: usize| {
        let mut sum = 0u32;
        for y in top..top + PART {
            for x in left..left + PART {
                let at = 4 * (y * width + x);
                sum += of.rgba[at..at + 3]
                    .iter()
                    .map(|v| u32::from(*v))
                    .sum::<u32>();
            }
        }
        f64::from(sum) / (3 * PART * PART) as f64
    };
    for top in (0..height - PART).step_by(PART) {
        for left in (0..width - PART).step_by(PART) {
            let (a, b) = (mean(ours, left, top), mean(theirs, left, top));
            assert!((a - b).abs() < most, "{name} at {left}, {top}: {a} {b}");
        }
    }
}

#[test]
fn the_png_is_what_resvg_makes_of_the_svg() {
    let mut options = usvg::Options::default();
    for weight in ["Regular", "Bold"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join(format!("src/figure/font/NotoSans-{weight}.ttf"));
        options
            .fontdb_mut()
            .load_font_data(std::fs::read(path).unwrap());
    }
    for (name, scene) in scenes() {
        let ours = ours(&scene);
        let tree = usvg::Tree::from_str(&figure::svg(&scene).unwrap(), &options).unwrap();
        let mut pixels = tiny_skia::Pixmap::new(ours.width_px, ours.height_px).unwrap();
        let scale = tiny_skia::Transform::from_scale(
            ours.width_px as f32 / tree.size().width(),
            ours.height_px as f32 / tree.size().height(),
        );
        resvg::render(&tree, scale, &mut pixels.as_mut());
        let theirs = Picture {
            width_px: ours.width_px,
            height_px: ours.height_px,
            rgba: pixels.take(),
        };
        assert_alike(&name, &ours, &theirs, 40.0);
    }
}

/// The sheets of a key are further pages: Poppler finds each, and a page more is not there.
#[test]
fn a_pdf_has_a_page_for_each_sheet() {
    let assessment = crate::figure_busy::even();
    let options = FigureOptions::default();
    let scene = figure::resolve(&assessment, FigureKind::Site, &options).unwrap();
    let sheets = scene.sheets().count();
    assert!(sheets > 1);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("figure.pdf");
    std::fs::write(&path, figure::pdf(&scene).unwrap()).unwrap();
    let page = |number: usize| {
        let name = format!("PDF:{number}:{}", path.display());
        Dataset::open(name).is_ok()
    };
    assert!((1..=sheets).all(page));
    assert!(!page(sheets + 1));
}

#[test]
fn the_png_is_what_poppler_makes_of_the_pdf() {
    let folder = tempfile::tempdir().unwrap();
    for (name, scene) in scenes() {
        let ours = ours(&scene);
        let path = folder.path().join("figure.pdf");
        let bytes = figure::pdf(&scene).unwrap();
        for part in ["/FontFile2", "/ToUnicode", "/Identity-H"] {
            assert!(
                bytes.windows(part.len()).any(|it| it == part.as_bytes()),
                "{part}"
            );
        }
        for part in ["/CreationDate", "/ModDate", "/ID"] {
            assert!(
                !bytes.windows(part.len()).any(|it| it == part.as_bytes()),
                "{part}"
            );
        }
        std::fs::write(&path, bytes).unwrap();
        let dpi = format!("DPI={DPI}");
        let opened = Dataset::open_ex(
            &path,
            DatasetOptions {
                allowed_drivers: Some(&["PDF"]),
                open_options: Some(&[&dpi]),
                ..DatasetOptions::default()
            },
        )
        .unwrap();
        let (width, height) = (ours.width_px as usize, ours.height_px as usize);
        let (w, h) = opened.raster_size();
        assert!(w.abs_diff(width) <= 1 && h.abs_diff(height) <= 1, "{w} {h}");
        let bands: Vec<Vec<u8>> = (1..=3)
            .map(|band| {
                let band = opened.rasterband(band).unwrap();
                let read = band.read_as::<u8>((0, 0), (w, h), (width, height), None);
                read.unwrap().data().to_vec()
            })
            .collect();
        let theirs = Picture {
            width_px: ours.width_px,
            height_px: ours.height_px,
            rgba: (0..width * height)
                .flat_map(|k| [bands[0][k], bands[1][k], bands[2][k], 255])
                .collect(),
        };
        assert_alike(&name, &ours, &theirs, 60.0);
    }
}
