//! Which features of a file are wanted, by their boxes in the file's own coordinates.
//!
//! When unsure a feature is wanted. Not here: the boxes of features (see [`crate::read::boxes`]).

use super::crs::Crs;
use super::feature::{Bounds, Feature};
use super::layer::Wanted;
use super::{Mask, Window};
use crate::frame::{LonLat, longitude_step};

/// What is done with a feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// It touches what is near.
    Near,
    /// It is wanted besides.
    Besides,
    /// It is not wanted.
    LeftOut,
}

impl Choice {
    /// A feature marked with the choice; defects are of no interest where it is not near.
    pub fn of<D>(self, outcome: Result<Feature<'_>, D>) -> Option<Result<Feature<'_>, D>> {
        match self {
            Self::Near => Some(outcome),
            Self::Besides => outcome.ok().map(|feature| {
                Ok(Feature {
                    is_near: false,
                    ..feature
                })
            }),
            Self::LeftOut => None,
        }
    }
}

/// What is wanted, in the coordinates of a file.
#[derive(Debug)]
pub struct Filter<'a> {
    near: Area<'a>,
    besides: Option<Area<'a>>,
}

impl<'a> Filter<'a> {
    /// Everything.
    #[must_use]
    pub const fn all() -> Self {
        Self {
            near: Area::All,
            besides: None,
        }
    }

    /// What is wanted of a file in `crs`.
    #[must_use]
    pub fn new(wanted: Wanted<'a>, crs: &'a Crs) -> Self {
        Self {
            near: wanted.near.map_or(Area::All, |mask| Area::of(mask, crs)),
            besides: wanted.besides.map(|mask| Area::of(mask, crs)),
        }
    }

    /// Whether every feature is wanted, wherever it is.
    #[must_use]
    pub const fn wants_all(&self) -> bool {
        matches!(self.near, Area::All)
    }

    /// What is done with a feature that has this box in the file's coordinates.
    #[must_use]
    pub fn choice(&self, bounds: &Bounds) -> Choice {
        if self.near.touches(bounds) {
            Choice::Near
        } else if self
            .besides
            .as_ref()
            .is_some_and(|area| area.touches(bounds))
        {
            Choice::Besides
        } else {
            Choice::LeftOut
        }
    }
}

/// A mask in the coordinates of a file.
#[derive(Debug)]
enum Area<'a> {
    /// Everything.
    All,
    /// Longitudes and latitudes as they are.
    Degrees(&'a Mask),
    /// A plain box in projected coordinates.
    Plane(Bounds),
    /// Boxes are brought to degrees one by one.
    Converted(&'a Mask, &'a Crs),
}

/// How many points of each side of a box are converted to find its box in another system.
const POINTS_A_SIDE: u32 = 32;
/// The same for the boxes of features, which are small beside the globe.
const POINTS_A_FEATURE_SIDE: u32 = 4;
/// How much wider than those points the box is made, as a share of its size, for what lies between
/// them.
const PADDING: f64 = 0.05;

impl<'a> Area<'a> {
    fn of(mask: &'a Mask, crs: &'a Crs) -> Self {
        if crs.is_wgs84() {
            return Self::Degrees(mask);
        }
        match mask.only_window() {
            Some(window) => in_plane(window, crs).map_or(Self::All, Self::Plane),
            None => Self::Converted(mask, crs),
        }
    }

    fn touches(&self, bounds: &Bounds) -> bool {
        match self {
            Self::All => true,
            Self::Degrees(mask) => mask.touches(bounds),
            Self::Plane(plane) => {
                bounds.west <= plane.east
                    && bounds.east >= plane.west
                    && bounds.south <= plane.north
                    && bounds.north >= plane.south
            }
            Self::Converted(mask, crs) => {
                in_degrees(bounds, crs).is_none_or(|bounds| mask.touches(&bounds))
            }
        }
    }
}

/// Points along the sides of a box.
fn sides(
    west: f64,
    south: f64,
    width: f64,
    height: f64,
    points: u32,
) -> impl Iterator<Item = (f64, f64)> {
    (0..=points).flat_map(move |step| {
        let share = f64::from(step) / f64::from(points);
        let (x, y) = (west + share * width, south + share * height);
        [
            (x, south),
            (x, south + height),
            (west, y),
            (west + width, y),
        ]
    })
}

/// A window in projected coordinates; none where it cannot be converted.
fn in_plane(window: Window, crs: &Crs) -> Option<Bounds> {
    let mut bounds = Bounds::EMPTY;
    let height = window.north - window.south;
    for (lon, lat) in sides(
        window.west,
        window.south,
        window.width(),
        height,
        POINTS_A_SIDE,
    ) {
        let (x, y) = crs.from_lon_lat(LonLat::wrapped(lon, lat))?;
        bounds.add(x, y);
    }
    Some(bounds.padded(PADDING))
}

/// A box of projected coordinates in degrees, its longitudes on one turn; none where it cannot be
/// converted.
fn in_degrees(plane: &Bounds, crs: &Crs) -> Option<Bounds> {
    let mut bounds = Bounds::EMPTY;
    let mut first = None;
    let (width, height) = (plane.east - plane.west, plane.north - plane.south);
    for (x, y) in sides(
        plane.west,
        plane.south,
        width,
        height,
        POINTS_A_FEATURE_SIDE,
    ) {
        let (lon, lat) = crs.to_lon_lat(x, y)?;
        let from = *first.get_or_insert(lon);
        bounds.add(from + longitude_step(from, lon), lat);
    }
    if bounds.east - bounds.west > 90.0 {
        // It may go round a pole, which none of its sides shows.
        return None;
    }
    Some(bounds.padded(PADDING))
}
