//! A box of longitudes and latitudes that may cross the antimeridian.
//!
//! Not here: boxes in a file's own coordinates (see [`crate::read::layer::Filter`]).

use super::feature::Bounds;

/// A box of longitudes and latitudes in degrees; it crosses the antimeridian when west > east.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Western longitude.
    pub west: f64,
    /// Southern latitude.
    pub south: f64,
    /// Eastern longitude.
    pub east: f64,
    /// Northern latitude.
    pub north: f64,
}

impl Window {
    /// Its width in degrees of longitude, eastwards from its west edge.
    #[must_use]
    pub fn width(&self) -> f64 {
        if self.west <= self.east {
            (self.east - self.west).min(360.0)
        } else {
            (self.east - self.west).rem_euclid(360.0)
        }
    }

    /// Its ranges of longitude within −180..=180, west first: two when it crosses the antimeridian.
    #[must_use]
    pub fn longitudes(&self) -> Vec<(f64, f64)> {
        let width = self.width();
        if width >= 360.0 {
            return vec![(-180.0, 180.0)];
        }
        let west = (self.west + 180.0).rem_euclid(360.0) - 180.0;
        let east = west + width;
        if east <= 180.0 {
            vec![(west, east)]
        } else {
            vec![(west, 180.0), (-180.0, east - 360.0)]
        }
    }

    /// Whether a box in degrees touches it, whatever turn its longitudes are on. A box wider than
    /// half a turn is taken for one that crosses the antimeridian, and touches every longitude.
    #[must_use]
    pub fn touches(&self, bounds: &Bounds) -> bool {
        if bounds.south > self.north || bounds.north < self.south {
            return false;
        }
        let width = bounds.east - bounds.west;
        if width > 180.0 {
            return true;
        }
        let ahead = (bounds.west - self.west).rem_euclid(360.0);
        ahead <= self.width() || ahead + width >= 360.0
    }

    /// The same window, wider on each side.
    #[must_use]
    pub fn widened(&self, degrees: f64) -> Self {
        let is_all_round = self.width() + 2.0 * degrees >= 360.0;
        let turned = |lon: f64| (lon + 180.0).rem_euclid(360.0) - 180.0;
        Self {
            west: if is_all_round {
                -180.0
            } else {
                turned(self.west - degrees)
            },
            south: self.south - degrees,
            east: if is_all_round {
                180.0
            } else {
                turned(self.east + degrees)
            },
            north: self.north + degrees,
        }
    }
}
