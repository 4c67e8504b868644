//! What was prepared, as text.
//!
//! Not here: preparing (see [`crate::prepare`]).

use std::path::Path;

use super::text::harmless;
use crate::prepare::{Done, How};

/// The page that tells what was done with each file.
#[must_use]
pub fn page(out: &Path, done: &[Done]) -> String {
    let mut page = String::new();
    for one in done {
        let entry = &one.entry;
        let how = match (one.how, &entry.vector) {
            (How::FlatGeobuf { rest: 0 }, Some(vector)) => {
                format!("FlatGeobuf, {} features", vector.features)
            }
            (How::FlatGeobuf { rest }, Some(vector)) => format!(
                "FlatGeobuf, {} features; {rest} without a usable geometry stay GeoJSON in {}",
                vector.features - rest,
                vector.rest.as_deref().unwrap_or_default()
            ),
            (How::GeoTiff, _) => "tiled GeoTIFF with overviews".to_owned(),
            (How::FlatGeobuf { .. } | How::Copied, _) => "copied as it was".to_owned(),
        };
        let [before, after] = one.bytes.map(kilobytes);
        page.push_str(&format!(
            "{}: {} -> {}: {how} ({before} kB -> {after} kB)\n",
            entry.layer,
            harmless(&entry.original),
            harmless(&entry.name),
        ));
    }
    page.push_str(&format!(
        "Wrote {}; use it in place of the folder that it was prepared from\n",
        harmless(&out.display().to_string())
    ));
    page
}

/// Kilobytes, rounded up.
const fn kilobytes(bytes: u64) -> u64 {
    bytes.div_ceil(1000)
}
