//! One site of a file as an operating area: a polygon as it is, a point with its radius, a line with
//! its width.
//!
//! Not here: reading files (see [`crate::read::sites`]), and answers (see [`crate::batch`]).

use geo::{CoordsIter, Geometry, LineString, MultiPolygon};
use smol_str::SmolStr;

use crate::batch::{Reason, Row, Site};
use crate::corridor::{corridor, disc, excess};
use crate::error::{Cautions, Error};
use crate::frame::LonLat;
use crate::read::area::{AreaFault, Refused, outline, type_name};
use crate::read::sites::{RawSite, ReadSite, SiteDefect, SiteFile};
use crate::read::{Window, window_about};
use crate::site::{FeatureRef, OperatingArea};
use crate::units::Metres;

/// What stands in where a site states no size.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sizes {
    /// The radius about a point.
    pub radius: Option<Metres>,
    /// The width along a line.
    pub width: Option<Metres>,
}

/// A site that became an area.
#[derive(Clone, Debug)]
pub struct Named {
    /// The site.
    pub site: Site,
    /// Its name, if the file gives one.
    pub name: Option<String>,
}

/// A site that did not: its identifier, its name, and what is wrong.
#[derive(Clone, Debug)]
pub struct Bad {
    /// Its identifier.
    pub id: String,
    /// Its name, if the file gives one.
    pub name: Option<String>,
    /// The code of what is wrong.
    pub reason: Reason,
    /// What is wrong, and what to do.
    pub error: Error,
}

impl Bad {
    /// The row of the site.
    #[must_use]
    pub fn row(&self) -> Row {
        let mut row = Row::unanswered(&self.id, &self.error);
        row.reasons.add(self.reason);
        row
    }
}

impl From<SiteDefect> for Bad {
    fn from(defect: SiteDefect) -> Self {
        Self {
            id: defect.id,
            name: None,
            reason: Reason::SiteUnreadable,
            error: Error::new(defect.why, "correct the site and export it again"),
        }
    }
}

/// A site of a file as an area; `index` is its place in the file, counted from 0.
///
/// # Errors
/// What is wrong with it.
pub fn site(file: &SiteFile, index: u64, raw: RawSite, sizes: Sizes) -> Result<Named, Box<Bad>> {
    let read = file
        .site(index, raw)
        .map_err(|defect| Box::new(Bad::from(defect)))?;
    let mut cautions = Cautions::default();
    let area = area(&read, sizes)
        .and_then(|polygons| outline(&polygons, file.file(), &read.id, &mut cautions));
    match area {
        Ok(polygons) => Ok(Named {
            site: Site {
                area: OperatingArea {
                    source: FeatureRef {
                        file: file.file().into(),
                        feature: read.id.as_str().into(),
                    },
                    name: read.name.clone().unwrap_or_else(|| read.id.clone()),
                    polygons,
                },
                id: read.id,
                has_cautions: !cautions.as_slice().is_empty(),
                wish: read.wish,
            },
            name: read.name,
        }),
        Err(Refused(fault, error)) => Err(Box::new(Bad {
            id: read.id,
            name: read.name,
            reason: reason(fault),
            error,
        })),
    }
}

const fn reason(fault: AreaFault) -> Reason {
    match fault {
        AreaFault::NoGeometry => Reason::SiteWithoutGeometry,
        AreaFault::Kind => Reason::SiteIsNoArea,
        AreaFault::NoSize => Reason::SiteWithoutSize,
        AreaFault::NearPole => Reason::SiteNearPole,
        AreaFault::TooWide => Reason::SiteTooWide,
        AreaFault::Invalid => Reason::SiteOutlineInvalid,
    }
}

/// The polygons of a site, not yet checked.
fn area(read: &ReadSite, sizes: Sizes) -> Result<MultiPolygon<f64>, Refused> {
    let refused = |fault, why: String, remedy: &str| Err(Refused(fault, Error::new(why, remedy)));
    let Some(geometry) = &read.geometry else {
        return refused(
            AreaFault::NoGeometry,
            "has no geometry".to_owned(),
            "draw the site",
        );
    };
    if geometry.coords_iter().next().is_none() {
        return refused(
            AreaFault::NoGeometry,
            "has an empty geometry".to_owned(),
            "draw the site",
        );
    }
    let radius = read.radius.or(sizes.radius);
    let width = read.width.or(sizes.width);
    match (geometry, radius, width) {
        (Geometry::Polygon(polygon), _, _) => Ok(MultiPolygon(vec![polygon.clone()])),
        (Geometry::MultiPolygon(polygons), _, _) => Ok(polygons.clone()),
        (Geometry::Point(point), Some(radius), _) => {
            Ok(disc(LonLat::wrapped(point.x(), point.y()), radius))
        }
        (Geometry::MultiPoint(points), Some(radius), _) => match points.0.as_slice() {
            [point] => Ok(disc(LonLat::wrapped(point.x(), point.y()), radius)),
            points => {
                let places: Vec<Vec<LonLat>> = points
                    .iter()
                    .map(|point| vec![LonLat::wrapped(point.x(), point.y())])
                    .collect();
                Ok(corridor(&places, radius + radius))
            }
        },
        (Geometry::LineString(line), _, Some(width)) => Ok(corridor(&[places(line)], width)),
        (Geometry::MultiLineString(lines), _, Some(width)) => {
            let lines: Vec<Vec<LonLat>> = lines.iter().map(places).collect();
            Ok(corridor(&lines, width))
        }
        (Geometry::Point(_) | Geometry::MultiPoint(_), None, _) => refused(
            AreaFault::NoSize,
            "is a point without a radius".to_owned(),
            "give it a radius_m, or all of them one with --radius",
        ),
        (Geometry::LineString(_) | Geometry::MultiLineString(_), _, None) => refused(
            AreaFault::NoSize,
            "is a line without a width".to_owned(),
            "give it a width_m, or all of them one with --width",
        ),
        (other, _, _) => refused(
            AreaFault::Kind,
            format!("is a {}", type_name(other)),
            "make it a point, a line or an outline",
        ),
    }
}

fn places(line: &LineString<f64>) -> Vec<LonLat> {
    line.coords().map(|c| LonLat::wrapped(c.x, c.y)).collect()
}

/// The box that holds every place within `distance` of a site; none of a site that has no geometry.
/// A site that turns out to be no area may have one all the same.
#[must_use]
pub fn window(read: &ReadSite, sizes: Sizes, distance: Metres) -> Option<Window> {
    let geometry = read.geometry.as_ref()?;
    let ring: LineString<f64> = geometry.coords_iter().collect();
    ring.0.first()?;
    let size = match geometry {
        Geometry::Point(_) | Geometry::MultiPoint(_) => read.radius.or(sizes.radius),
        Geometry::LineString(_) | Geometry::MultiLineString(_) => read
            .width
            .or(sizes.width)
            .map(|width| Metres::of(width.m() / 2.0)),
        _ => Some(Metres::ZERO),
    }?;
    // The area about a point or line is a little wider than the true one, corners of a disc twice.
    let grown = distance + size + excess(size) + excess(size) + Metres::of(1.0);
    let stand_in = OperatingArea {
        source: FeatureRef {
            file: SmolStr::default(),
            feature: SmolStr::default(),
        },
        name: String::new(),
        polygons: MultiPolygon(vec![geo::Polygon::new(ring, Vec::new())]),
    };
    Some(window_about(&stand_in, grown))
}
