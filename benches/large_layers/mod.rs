//! A large synthetic district as raw GeoJSON: 100 000 spans and 400 000 structures, seeded, so that
//! every run reads the same bytes.
//!
//! Everything is invented; the place is inland northern New South Wales.

use std::fs::File;
use std::io::{BufWriter, Result, Write};
use std::path::Path;

/// Lines of the district.
pub const LINES: u32 = 5_000;
/// Spans of each line.
pub const SPANS: u32 = 20;
/// Structures of the district.
pub const STRUCTURES: u32 = 400_000;
/// South-west corner and size of the district, degrees.
pub const DISTRICT: [f64; 4] = [149.0, -31.5, 2.0, 2.0];

/// A linear congruential generator (Knuth's MMIX constants, from memory): enough to scatter things.
struct Scatter(u64);

impl Scatter {
    fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from((self.0 >> 33) as u32) / f64::from(1_u32 << 31)
    }
}

/// Writes the layers of the district, unless they are there.
pub fn write(folder: &Path) -> Result<()> {
    std::fs::create_dir_all(folder)?;
    let mut scatter = Scatter(2025);
    let [west, south, width, height] = DISTRICT;
    let lines = folder.join("power_lines.geojson");
    if !lines.exists() {
        let mut out = BufWriter::new(File::create(lines)?);
        writeln!(out, r#"{{"type":"FeatureCollection","features":["#)?;
        for line in 0..LINES {
            let mut lon = west + width * scatter.share();
            let mut lat = south + height * scatter.share();
            let comma = if line == 0 { "" } else { "," };
            write!(
                out,
                r#"{comma}{{"type":"Feature","id":"way/{line}","properties":{{"power":"line","voltage":"132000","cables":"3","height_m":{:.1}}},"geometry":{{"type":"LineString","coordinates":["#,
                20.0 + 30.0 * scatter.share()
            )?;
            for vertex in 0..=SPANS {
                let comma = if vertex == 0 { "" } else { "," };
                write!(out, "{comma}[{lon:.7},{lat:.7}]")?;
                lon += 0.004 * (scatter.share() - 0.3);
                lat += 0.004 * (scatter.share() - 0.5);
            }
            writeln!(out, "]}}}}")?;
        }
        writeln!(out, "]}}")?;
    }
    let structures = folder.join("structures.geojson");
    if !structures.exists() {
        let mut out = BufWriter::new(File::create(structures)?);
        writeln!(out, r#"{{"type":"FeatureCollection","features":["#)?;
        for structure in 0..STRUCTURES {
            let lon = west + width * scatter.share();
            let lat = south + height * scatter.share();
            let (dx, dy) = (
                0.0001 + 0.0002 * scatter.share(),
                0.0001 + 0.0002 * scatter.share(),
            );
            let comma = if structure == 0 { "" } else { "," };
            writeln!(
                out,
                r#"{comma}{{"type":"Feature","id":"way/{}","properties":{{"building":"yes","addr:street":"Invented Road","addr:housenumber":"{}","height":"{:.1} m"}},"geometry":{{"type":"Polygon","coordinates":[[[{lon:.7},{lat:.7}],[{:.7},{lat:.7}],[{:.7},{:.7}],[{lon:.7},{:.7}],[{lon:.7},{lat:.7}]]]}}}}"#,
                100_000 + structure,
                structure % 400,
                3.0 + 20.0 * scatter.share(),
                lon + dx,
                lon + dx,
                lat + dy,
                lat + dy,
            )?;
        }
        writeln!(out, "]}}")?;
    }
    Ok(())
}
