//! The files of the demo, compiled in, so that it runs from any folder.
//!
//! What they hold and how they were made: `demo-layers/README.md`.

/// One site of the demo: file names and contents.
#[derive(Clone, Copy, Debug)]
pub struct DemoSite {
    /// What it is called.
    pub name: &'static str,
    /// The operating area.
    pub area: (&'static str, &'static [u8]),
    /// The layers folder.
    pub layers: &'static [(&'static str, &'static [u8])],
}

/// The first site: an area along a power line that turns.
pub const UNDER_THE_LINE: DemoSite = DemoSite {
    name: "line",
    area: (
        "area.geojson",
        include_bytes!("../demo-layers/area.geojson"),
    ),
    layers: &[
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
    ],
};

/// The second site: an area on the extended centreline of a runway.
pub const RUNWAY_END: DemoSite = DemoSite {
    name: "runway-end",
    area: (
        "area.geojson",
        include_bytes!("../demo-layers/runway-end/area.geojson"),
    ),
    layers: &[
        (
            "aerodromes.geojson",
            include_bytes!("../demo-layers/runway-end/aerodromes.geojson"),
        ),
        (
            "runways.geojson",
            include_bytes!("../demo-layers/runway-end/runways.geojson"),
        ),
        (
            "power-lines.geojson",
            include_bytes!("../demo-layers/runway-end/power-lines.geojson"),
        ),
        (
            "power-supports.geojson",
            include_bytes!("../demo-layers/runway-end/power-supports.geojson"),
        ),
        (
            "structures.geojson",
            include_bytes!("../demo-layers/runway-end/structures.geojson"),
        ),
        (
            "airspace.xml",
            include_bytes!("../demo-layers/runway-end/airspace.xml"),
        ),
        (
            "layers.toml",
            include_bytes!("../demo-layers/runway-end/layers.toml"),
        ),
    ],
};
