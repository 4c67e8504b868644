//! The files of the demo, compiled in, so that it runs from any folder.
//!
//! What they hold and how they were made: `demo-layers/README.md`.

/// The operating area: its file name and contents.
pub const AREA: (&str, &[u8]) = (
    "area.geojson",
    include_bytes!("../demo-layers/area.geojson"),
);

/// The layers folder: file names and contents.
pub const LAYERS: [(&str, &[u8]); 9] = [
    (
        "aerodromes.geojson",
        include_bytes!("../demo-layers/aerodromes.geojson"),
    ),
    (
        "runways.geojson",
        include_bytes!("../demo-layers/runways.geojson"),
    ),
    (
        "power-lines.geojson",
        include_bytes!("../demo-layers/power-lines.geojson"),
    ),
    (
        "power-supports.geojson",
        include_bytes!("../demo-layers/power-supports.geojson"),
    ),
    (
        "structures.geojson",
        include_bytes!("../demo-layers/structures.geojson"),
    ),
    (
        "airspace.geojson",
        include_bytes!("../demo-layers/airspace.geojson"),
    ),
    (
        "plan.geojson",
        include_bytes!("../demo-layers/plan.geojson"),
    ),
    ("terrain.tif", include_bytes!("../demo-layers/terrain.tif")),
    ("layers.toml", include_bytes!("../demo-layers/layers.toml")),
];
