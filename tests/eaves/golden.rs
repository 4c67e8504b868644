//! Golden images and golden scenes: what a small part of a figure looks like, one subject each.
//!
//! `EAVES_ACCEPT=1 cargo test` accepts new ones. A failure leaves a difference image in the folder
//! that it names: what was kept, what was made, and where they differ in red. Pixels are compared
//! exactly, on the platform that the goldens were made on (x86-64); text is drawn with the shipped
//! font. To add one: resolve a small scene, and call [`picture`] with a part of its sheet.

use std::path::{Path, PathBuf};

use eaves::figure::scene::{Ink, Picture, Rect};
use eaves::figure::{self, Scene};
use serde_json::{Value, json};

/// Whether new goldens are accepted.
fn accepts() -> bool {
    std::env::var_os("EAVES_ACCEPT").is_some_and(|word| word == "1")
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/figure")
}

/// Compares a part of a scene, at `px_per_unit` pixels to a unit of the sheet, with
/// `tests/golden/figure/NAME.png`.
pub fn picture(name: &str, scene: &Scene, part: Rect, px_per_unit: f64) {
    let size = (
        (part.width() * px_per_unit).round() as u32,
        (part.height() * px_per_unit).round() as u32,
    );
    let made = figure::picture(scene, part, size).unwrap();
    let path = folder().join(format!("{name}.png"));
    if accepts() {
        std::fs::create_dir_all(folder()).unwrap();
        std::fs::write(&path, small_file(&made)).unwrap();
    }
    let kept = std::fs::read(&path).map(|bytes| decoded(&bytes));
    let Ok(kept) = kept else {
        panic!("{} is missing; EAVES_ACCEPT=1 makes it", path.display());
    };
    if kept == made {
        return;
    }
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-difference.png"));
    std::fs::write(&out, small_file(&difference(&kept, &made))).unwrap();
    panic!(
        "{} is not as kept: kept, made and difference are in {}; EAVES_ACCEPT=1 accepts it",
        path.display(),
        out.display()
    );
}

/// A picture as a PNG that is small rather than quick to make; opaque.
fn small_file(picture: &Picture) -> Vec<u8> {
    let rgb: Vec<u8> = picture
        .rgba
        .chunks_exact(4)
        .flat_map(|it| [it[0], it[1], it[2]])
        .collect();
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, picture.width_px, picture.height_px);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::High);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&rgb).unwrap();
    writer.finish().unwrap();
    file
}

fn decoded(bytes: &[u8]) -> Picture {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut rgb).unwrap();
    assert_eq!(info.color_type, png::ColorType::Rgb);
    Picture {
        width_px: info.width,
        height_px: info.height,
        rgba: rgb
            .chunks_exact(3)
            .flat_map(|it| [it[0], it[1], it[2], 255])
            .collect(),
    }
}

/// Two pictures and their difference below one another.
fn difference(kept: &Picture, made: &Picture) -> Picture {
    let width = kept.width_px.max(made.width_px);
    let height = kept.height_px.max(made.height_px);
    let pixel = |of: &Picture, x: u32, y: u32| {
        if x >= of.width_px || y >= of.height_px {
            return [128, 128, 128, 255];
        }
        let at = 4 * (y * of.width_px + x) as usize;
        [of.rgba[at], of.rgba[at + 1], of.rgba[at + 2], 255]
    };
    let mut rgba = Vec::new();
    for part in 0..3 {
        for y in 0..height {
            for x in 0..width {
                let (a, b) = (pixel(kept, x, y), pixel(made, x, y));
                rgba.extend(match part {
                    0 => a,
                    1 => b,
                    _ if a != b => [224, 0, 0, 255],
                    _ => a.map(|v| 255 - (255 - v) / 4),
                });
            }
        }
    }
    Picture {
        width_px: width,
        height_px: 3 * height,
        rgba,
    }
}

/// Compares what a scene shows, without its lines and fills, with `tests/golden/figure/NAME.json`.
pub fn scene(name: &str, scene: &Scene) {
    let made = format!("{:#}\n", summary(scene));
    let path = folder().join(format!("{name}.json"));
    if accepts() {
        std::fs::create_dir_all(folder()).unwrap();
        std::fs::write(&path, &made).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let what = format!("{}; EAVES_ACCEPT=1 accepts it", path.display());
    crate::report::same_text(&made, &kept, &what);
}

/// Panels, how many marks there are of each kind, labels with their place in whole units, texts.
fn summary(scene: &Scene) -> Value {
    let plain = |text: &str| text.replace('\u{A0}', " ");
    let mut marks = std::collections::BTreeMap::new();
    let mut texts = Vec::new();
    for mark in &scene.marks {
        *marks.entry(mark.kind.name()).or_insert(0) += 1;
        if let Ink::Text(text) = &mark.ink {
            texts.push(plain(&text.text));
        }
    }
    let labels: Vec<Value> = scene
        .labels
        .iter()
        .map(|label| {
            let lines: Vec<String> = label.lines.iter().map(|it| plain(&it.text)).collect();
            json!({
                "kind": label.kind.name(),
                "at": [label.frame.left.round(), label.frame.top.round()],
                "lines": lines,
                "leader": label.leader.is_some(),
            })
        })
        .collect();
    let panels: Vec<Value> = scene
        .panels
        .iter()
        .map(|panel| {
            let rect = panel.rect;
            let edges = [rect.left, rect.top, rect.right, rect.bottom].map(f64::round);
            json!({
                "name": panel.name.to_string(),
                "rect": edges,
                "scale": scene.map(panel.name).map(|map| (5000.0 / map.units_per_metre).round()),
            })
        })
        .collect();
    json!({
        "kind": scene.kind.name(),
        "title": scene.title,
        "panels": panels,
        "marks": marks,
        "labels": labels,
        "legend": scene.legend,
        "key": scene.key.iter().map(|it| format!("{} {}", it.number, plain(&it.text))).collect::<Vec<_>>(),
        "notes": scene.notes,
        "texts": texts,
    })
}
