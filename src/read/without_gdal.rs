//! What stands in for the readers that need GDAL or PROJ in a program that is built without: each refuses,
//! and notes that it did (see [`super::elsewhere`]).
//!
//! What only such a reader could make cannot be made here, so nothing that is asked of it can answer: its
//! types hold a value that does not exist. Not here: any reading.

use std::convert::Infallible;

/// Coordinate reference systems other than WGS 84.
pub mod conversion {
    use super::Infallible;
    use crate::error::Result;
    use crate::frame::LonLat;
    use crate::read::crs::Operation;
    use crate::read::elsewhere::{REFUSED, needs};

    /// A conversion to WGS 84; there is none.
    #[derive(Clone, Debug, PartialEq)]
    pub struct Conversion(Infallible);

    impl Conversion {
        /// Refuses.
        ///
        /// # Errors
        /// Always.
        pub fn declared(definition: &str) -> Result<(String, Option<Self>)> {
            let what = format!("\"{definition}\" is converted to WGS 84 with PROJ");
            Err(REFUSED.note(needs(&what)))
        }

        pub fn to_lon_lat(&self, _: f64, _: f64) -> Option<(f64, f64)> {
            match self.0 {}
        }

        pub fn position_of(&self, _: LonLat) -> Option<(f64, f64)> {
            match self.0 {}
        }

        pub fn operation_at(&self, _: &str, _: f64, _: f64) -> Result<Operation> {
            match self.0 {}
        }
    }
}

/// Vector formats other than GeoJSON, AIXM and what was prepared.
pub mod vector {
    use std::path::Path;

    use crate::error::Result;
    use crate::read::declaration::Declaration;
    use crate::read::elsewhere::refuse;
    use crate::read::layer::{VectorLayer, Wanted};

    /// Refuses.
    ///
    /// # Errors
    /// Always.
    pub fn read(path: &Path, _: &Declaration, _: Wanted<'_>) -> Result<VectorLayer> {
        Err(refuse("its format is read with GDAL", path))
    }
}

/// Terrain.
pub mod raster {
    use super::Infallible;
    use crate::answer::LayerAnswer;
    use crate::error::Result;
    use crate::frame::{LocalFrame, LonLat};
    use crate::read::declaration::Declaration;
    use crate::read::elsewhere::refuse;
    use crate::read::prepared::Source;
    use crate::units::Metres;

    /// A terrain raster; there is none.
    #[derive(Clone, Debug)]
    pub struct TerrainFile(Infallible);

    /// Elevations around a site; there are none.
    #[derive(Clone, Debug)]
    pub struct TerrainWindow {
        /// How many columns of nodes.
        pub columns: usize,
        /// How many rows of nodes.
        pub rows: usize,
        /// Elevations AMSL in metres.
        pub elevation_m: Vec<f32>,
        never: Infallible,
    }

    impl TerrainFile {
        /// Refuses.
        ///
        /// # Errors
        /// Always.
        pub fn open_source(source: &Source, _: &Declaration) -> Result<Self> {
            Err(refuse("terrain is read with GDAL", &source.path))
        }

        /// The file name.
        #[must_use]
        pub fn file(&self) -> &str {
            match self.0 {}
        }

        /// Its elevations are within this, if declared.
        #[must_use]
        pub fn accuracy(&self) -> Option<Metres> {
            match self.0 {}
        }

        /// What it is in an answer.
        #[must_use]
        pub fn answer(&self) -> LayerAnswer {
            match self.0 {}
        }

        /// The elevations about a place.
        ///
        /// # Errors
        /// There is no such raster.
        pub fn window(&self, _: &LocalFrame, _: Metres) -> Result<TerrainWindow> {
            match self.0 {}
        }
    }

    impl TerrainWindow {
        /// The pixel coordinates of a place.
        #[must_use]
        pub fn pixel_of(&self, _: LonLat) -> Option<(f64, f64)> {
            match self.never {}
        }
    }
}

/// Background pictures.
pub mod geotiff {
    use std::path::Path;

    use crate::error::Result;
    use crate::read::background::{Background, BackgroundWindow};
    use crate::read::elsewhere::refuse;

    /// Refuses.
    ///
    /// # Errors
    /// Always.
    pub fn background(path: &Path, _: &BackgroundWindow) -> Result<Background> {
        Err(refuse("a background is read with GDAL", path))
    }
}
