//! The synthetic region as files.

use std::fs::File;
use std::io::{BufWriter, Result, Write};
use std::path::Path;

use super::draw::{Place, Region, Structure};

/// What the layers declare.
const DECLARED: &str = r#"# What the layers of the synthetic region declare.

[aerodromes]
horizontal_accuracy_m = 0.0
source = "synthetic"

[power-lines]
horizontal_accuracy_m = 1.0
vertical_accuracy_m = 0.5
vertices_are_supports = true
sag = { share_of_span = 0.02 }
source = "synthetic"

[structures]
horizontal_accuracy_m = 2.0
vertical_accuracy_m = 1.0
source = "synthetic"
"#;

/// Writes the sites and the layers into a folder.
pub fn region(folder: &Path, region: &Region) -> Result<()> {
    let layers = folder.join("layers");
    std::fs::create_dir_all(&layers)?;
    std::fs::write(layers.join("layers.toml"), DECLARED)?;
    collection(
        &layers.join("aerodromes.geojson"),
        0..region.aerodromes,
        |out, number| {
            let (at, elevation_ft, kind) = region.aerodrome(number);
            feature(
                out,
                &format!("A{number:04}"),
                &format!(
                    r#""ident":"A{number:04}","name":"Invented Field {number}","type":"{kind}","elevation_ft":{elevation_ft}"#
                ),
            )?;
            point(out, at)
        },
    )?;
    collection(
        &layers.join("power-lines.geojson"),
        0..region.lines(),
        |out, number| {
            let line = region.line(number);
            let mut properties = format!(
                r#""power":"line","operator":"Invented Grid","voltage":"{}""#,
                line.voltage
            );
            if let Some(height) = line.height_m {
                properties.push_str(&format!(r#","height_m":{height:.1}"#));
            }
            feature(out, &format!("way/{number}"), &properties)?;
            write!(out, r#"{{"type":"LineString","coordinates":["#)?;
            places(out, &line.places)?;
            write!(out, "]}}}}")
        },
    )?;
    let near = region.sites * region.near;
    collection(
        &layers.join("structures.geojson"),
        0..region.structures + near,
        |out, number| {
            let structure = match number.checked_sub(region.structures) {
                None => region.structure(number),
                Some(near) => region.near(near / region.near, near % region.near),
            };
            one_structure(out, number, &structure)
        },
    )?;
    collection(
        &folder.join("sites.geojson"),
        0..region.sites,
        |out, number| {
            feature(
                out,
                &format!("site-{number:06}"),
                &format!(r#""name":"Invented site {number}""#),
            )?;
            polygon(out, &region.site(number))
        },
    )
}

fn collection(
    path: &Path,
    numbers: std::ops::Range<u32>,
    mut one: impl FnMut(&mut BufWriter<File>, u32) -> Result<()>,
) -> Result<()> {
    let mut out = BufWriter::with_capacity(1 << 20, File::create(path)?);
    writeln!(out, r#"{{"type":"FeatureCollection","features":["#)?;
    for number in numbers.clone() {
        one(&mut out, number)?;
        writeln!(out, "{}", if number + 1 < numbers.end { "," } else { "" })?;
    }
    writeln!(out, "]}}")?;
    out.flush()?;
    println!("{} features in {}", numbers.len(), path.display());
    Ok(())
}

/// The head of a feature, up to its geometry.
fn feature(out: &mut impl Write, id: &str, properties: &str) -> Result<()> {
    write!(
        out,
        r#"{{"type":"Feature","id":"{id}","properties":{{{properties}}},"geometry":"#
    )
}

fn one_structure(out: &mut impl Write, number: u32, structure: &Structure) -> Result<()> {
    let mut properties = match structure.kind {
        "building" => format!(
            r#""building":"yes","addr:street":"Invented Road","addr:housenumber":"{}""#,
            number % 400
        ),
        kind => format!(r#""kind":"{kind}""#),
    };
    if let Some(height) = structure.height_m {
        properties.push_str(&format!(r#","height":"{height:.1}""#));
    }
    feature(out, &format!("way/{}", 1_000_000 + number), &properties)?;
    match structure.places.as_slice() {
        [only] => point(out, *only),
        corners => polygon(out, corners),
    }
}

fn point(out: &mut impl Write, (lon, lat): Place) -> Result<()> {
    write!(
        out,
        r#"{{"type":"Point","coordinates":[{lon:.7},{lat:.7}]}}}}"#
    )
}

fn polygon(out: &mut impl Write, corners: &[Place]) -> Result<()> {
    write!(out, r#"{{"type":"Polygon","coordinates":[["#)?;
    places(out, corners)?;
    if let Some(first) = corners.first() {
        write!(out, ",")?;
        places(out, &[*first])?;
    }
    write!(out, "]]}}}}")
}

fn places(out: &mut impl Write, places: &[Place]) -> Result<()> {
    for (number, (lon, lat)) in places.iter().enumerate() {
        let comma = if number == 0 { "" } else { "," };
        write!(out, "{comma}[{lon:.7},{lat:.7}]")?;
    }
    Ok(())
}
