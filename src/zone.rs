//! Zones of a rule placed about an aerodrome: from what the data give to regions of the plane.
//!
//! A zone that cannot be placed as the rule states it is replaced by a larger one that contains it, or
//! a smaller one that it contains, and the answer says so; where neither can be had it is missing,
//! never guessed. Regions are true to the ellipsoid within [`Placed::accuracy_m`], which callers
//! widen them by. Not here: how an area lies to a zone (see [`crate::assess`]).

pub mod applies;
pub mod outline;

use crate::aerodrome::{Aerodrome, Runway};
use crate::distance::Target;
use crate::field::convex::Convex;
use crate::field::zone::Region;
use crate::frame::{LocalFrame, LonLat};
use crate::plan::{LAYOUT_ERROR_M, outline_pieces};
use crate::profile::Reference;
use crate::profile::zone::{CentrelineStart, DiscCentre, OnCentreline, ZoneShape};
use crate::runway::{
    DirectionFrom, Offsets, Outbound, STATED_BEARING_ACCURACY_DEG, centreline, midpoint, outbound,
};
use crate::units::{Altitude, Metres};

/// Centrelines are cut into pieces no longer than this, metres: a geodesic piece then lies within
/// 0.1 mm of the straight line of the plane up to 150 km from its origin
/// ([`plane_sagitta_m`]).
const CENTRELINE_PIECE: Metres = Metres::of(500.0);

/// The square of the smallest radius of curvature of the ellipsoid, rounded down, square metres.
const CURVATURE_SQUARE_M2: f64 = 4.0e13;

/// What a zone was placed by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Basis {
    /// What the rule states.
    Stated,
    /// Something that makes it larger: what, and why.
    Larger(String),
    /// Something that makes it smaller: what, and why.
    Smaller(String),
}

/// The rising lower limit of a zone on an extended centreline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// The extended centreline.
    pub outbound: Outbound,
    /// Where it starts to rise, along-track from the runway end, metres.
    pub starts_at_m: f64,
    /// Elevation there: that of the runway end.
    pub elevation: Option<Altitude>,
    /// Rise to a metre.
    pub rise: f64,
}

impl Slope {
    /// The height of the limit at an along-track distance from the runway end; the elevation of the
    /// end short of where it starts. None where that elevation is not given.
    #[must_use]
    pub fn at(&self, along: Metres) -> Option<Altitude> {
        let beyond = (along.m() - self.starts_at_m).max(0.0);
        Some(self.elevation? + Metres::of(beyond * self.rise))
    }
}

/// A zone laid out in the plane.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The region.
    pub region: Region,
    /// How far its edge may lie from the true one, metres.
    pub accuracy_m: f64,
    /// What it was placed by.
    pub basis: Basis,
    /// The reference and radius when it is all within a radius of places or polygons, for distances by
    /// geodesic.
    pub about: Option<(Target, Metres)>,
    /// Its lower limit, when it rises.
    pub slope: Option<Slope>,
}

/// One zone of a rule at one aerodrome: the whole, or that of one runway or runway end.
#[derive(Clone, Debug)]
pub struct Part {
    /// Which runway or runway end.
    pub name: Option<String>,
    /// The zone, or what is not given.
    pub placed: Result<Placed, String>,
}

/// The zones that a shape makes at an aerodrome: one for each runway of a capsule, for each runway
/// end of a shape on the centreline, and one in all otherwise. `radius` is how far the area in
/// question reaches from the origin of the plane.
#[must_use]
pub fn parts(
    shape: &ZoneShape,
    aerodrome: &Aerodrome,
    frame: &LocalFrame,
    radius: Metres,
) -> Vec<Part> {
    let site = Site {
        aerodrome,
        frame,
        radius: radius.m(),
    };
    let parts: Vec<Part> = match shape {
        ZoneShape::Capsule { radius } => aerodrome
            .runways
            .iter()
            .map(|runway| Part {
                name: Some(format!("runway {}", runway_name(runway))),
                placed: site.capsule(runway, radius.value_m),
            })
            .collect(),
        ZoneShape::Rectangle(shape) | ZoneShape::Splay(shape) => aerodrome
            .runways
            .iter()
            .flat_map(|runway| {
                [0, 1].map(|end| Part {
                    name: Some(format!("beyond {}", end_name(runway, end))),
                    placed: site.on_centreline(runway, end, shape),
                })
            })
            .collect(),
        other => {
            return vec![Part {
                name: None,
                placed: site.place(other),
            }];
        }
    };
    if parts.is_empty() {
        return vec![Part {
            name: None,
            placed: Err("no runway is given".into()),
        }];
    }
    parts
}

fn runway_name(runway: &Runway) -> String {
    let closed = if runway.closed {
        " (marked closed in the data)"
    } else {
        ""
    };
    format!("{}{closed}", runway.designator)
}

/// `end 09`, or `the low end of 09/27` for an end without a designator.
fn end_name(runway: &Runway, end: usize) -> String {
    let found = runway.ends.get(end).and_then(|end| end.designator.as_ref());
    let closed = if runway.closed {
        " (marked closed in the data)"
    } else {
        ""
    };
    match (found, end) {
        (Some(designator), _) => format!("end {designator}{closed}"),
        (None, 0) => format!("the first end of {}{closed}", runway.designator),
        (None, _) => format!("the second end of {}{closed}", runway.designator),
    }
}

/// How far a geodesic of `length` metres within `out` metres of the origin can lie from the straight
/// line of the azimuthal equidistant plane between its ends, metres.
///
/// On a sphere of radius R the plane bends a geodesic by at most 2r ⁄ 3R² to a metre, so its sagitta is
/// at most L² r ⁄ 12R²; doubled for the ellipsoid. Tested against Karney geodesics.
fn plane_sagitta_m(length: f64, out: f64) -> f64 {
    length * length * out / (6.0 * CURVATURE_SQUARE_M2)
}

struct Site<'a> {
    aerodrome: &'a Aerodrome,
    frame: &'a LocalFrame,
    radius: f64,
}

impl Site<'_> {
    fn place(&self, shape: &ZoneShape) -> Result<Placed, String> {
        match shape {
            ZoneShape::Disc { about, radius } => self.disc(*about, radius.value_m),
            ZoneShape::Buffer { of, distance } => self.buffer(*of, distance.value_m),
            ZoneShape::Capsule { radius } => self.all(
                self.aerodrome
                    .runways
                    .iter()
                    .map(|runway| self.capsule(runway, radius.value_m)),
            ),
            ZoneShape::Rectangle(shape) | ZoneShape::Splay(shape) => self.all(
                self.aerodrome
                    .runways
                    .iter()
                    .flat_map(|runway| [0, 1].map(|end| self.on_centreline(runway, end, shape))),
            ),
            ZoneShape::Union(shapes) => self.all(shapes.iter().map(|shape| self.place(shape))),
            ZoneShape::Difference { of, less } => difference(self.place(of)?, self.place(less)),
        }
    }

    /// The union of what could be placed.
    fn all(&self, parts: impl Iterator<Item = Result<Placed, String>>) -> Result<Placed, String> {
        let (mut regions, mut accuracy, mut larger, mut smaller) = (Vec::new(), 0f64, None, None);
        for part in parts {
            match part {
                Ok(placed) => {
                    regions.push(placed.region);
                    accuracy = accuracy.max(placed.accuracy_m);
                    match placed.basis {
                        Basis::Stated => {}
                        Basis::Larger(why) => larger = larger.or(Some(why)),
                        Basis::Smaller(why) => smaller = smaller.or(Some(why)),
                    }
                }
                Err(why) => smaller = smaller.or(Some(format!("{why}; left out"))),
            }
        }
        let basis = match (regions.is_empty(), larger, smaller) {
            (true, _, Some(why)) => return Err(why),
            (true, _, None) => return Err("no runway is given".into()),
            (_, Some(one), Some(other)) => return Err(format!("{one}; {other}")),
            (_, Some(why), None) => Basis::Larger(why),
            (_, None, Some(why)) => Basis::Smaller(why),
            (_, None, None) => Basis::Stated,
        };
        Ok(Placed {
            region: Region::Union(regions),
            accuracy_m: accuracy,
            basis,
            about: None,
            slope: None,
        })
    }

    fn disc(&self, about: DiscCentre, radius: Metres) -> Result<Placed, String> {
        let centres = match about {
            DiscCentre::ReferencePoint => vec![
                self.aerodrome
                    .reference_point
                    .ok_or("the reference point is not given")?,
            ],
            DiscCentre::LongestRunwayMidpoint => applies::longest_runways(self.aerodrome)?
                .runways
                .iter()
                .map(|runway| {
                    midpoint(runway).ok_or_else(|| {
                        format!("the ends of runway {} are not given", runway.designator)
                    })
                })
                .collect::<Result<_, _>>()?,
        };
        Ok(self.about_places(centres, radius))
    }

    fn about_places(&self, places: Vec<LonLat>, radius: Metres) -> Placed {
        let sets = places
            .iter()
            .map(|place| Convex::point(self.frame.to_plane(*place)))
            .collect();
        let about = places.into_iter().map(|place| (place, None)).collect();
        Placed {
            about: Some((Target::Places(about), radius)),
            ..self.within(sets, radius, Basis::Stated)
        }
    }

    fn within(&self, sets: Vec<Convex>, radius: Metres, basis: Basis) -> Placed {
        let region = Region::Buffer {
            sets,
            reach: radius.m(),
        };
        let stretch = LocalFrame::stretch(Metres::of(self.out(&region)));
        Placed {
            accuracy_m: 2.0 * LAYOUT_ERROR_M + radius.m() * stretch,
            region,
            basis,
            about: None,
            slope: None,
        }
    }

    /// How far anything in question lies from the origin of the plane, metres.
    fn out(&self, region: &Region) -> f64 {
        region
            .sets()
            .into_iter()
            .flat_map(Convex::corners)
            .map(|corner| corner.x.hypot(corner.y))
            .fold(self.radius, f64::max)
    }

    fn buffer(&self, of: Reference, distance: Metres) -> Result<Placed, String> {
        let aerodrome = self.aerodrome;
        let polygons = |area: &geo::MultiPolygon<f64>, basis| {
            let sets = area
                .iter()
                .flat_map(|polygon| outline_pieces(self.frame, polygon))
                .collect();
            Placed {
                about: Some((Target::Polygons(area.clone()), distance)),
                ..self.within(sets, distance, basis)
            }
        };
        match of {
            Reference::ReferencePoint => {
                let place = aerodrome
                    .reference_point
                    .ok_or("the reference point is not given")?;
                Ok(self.about_places(vec![place], distance))
            }
            Reference::RunwayEnd => {
                let ends = || aerodrome.runways.iter().flat_map(|runway| &runway.ends);
                let places: Vec<LonLat> = ends().filter_map(|end| end.position).collect();
                let missing = ends().count() - places.len();
                if places.is_empty() {
                    return Err("no runway end is given".into());
                }
                let mut placed = self.about_places(places, distance);
                if missing > 0 {
                    placed.basis =
                        Basis::Smaller(format!("{missing} runway ends are not given"));
                }
                Ok(placed)
            }
            Reference::MovementArea => match (&aerodrome.movement_area, &aerodrome.boundary) {
                (Some(area), _) => Ok(polygons(area, Basis::Stated)),
                (None, Some(boundary)) => Ok(polygons(
                    boundary,
                    Basis::Larger(
                        "measured from the boundary, as the movement area is not given".into(),
                    ),
                )),
                (None, None) => self.inner(
                    false,
                    distance,
                    "measured from the runway centrelines, as the movement area is not given",
                    "neither the movement area nor any runway is given",
                ),
            },
            Reference::Boundary => match &aerodrome.boundary {
                Some(boundary) => Ok(polygons(boundary, Basis::Stated)),
                None => self.inner(
                    true,
                    distance,
                    "measured from the reference point, runways and movement area that are given, as \
                     the boundary is not",
                    "nothing that the boundary encloses is given",
                ),
            },
        }
    }

    /// All within a distance of what a movement area or a boundary must hold: the runways, and for the
    /// boundary the movement area and the reference point too. That a reference point lies within
    /// the boundary is common practice (ICAO Annex 14 2.2 puts it near the geometric centre; from
    /// memory).
    fn inner(
        &self,
        is_boundary: bool,
        distance: Metres,
        why: &str,
        missing: &str,
    ) -> Result<Placed, String> {
        let mut sets: Vec<Convex> = self
            .aerodrome
            .runways
            .iter()
            .filter_map(|runway| self.centreline_sets(runway))
            .flatten()
            .collect();
        if is_boundary {
            let place = self.aerodrome.reference_point;
            sets.extend(place.map(|place| Convex::point(self.frame.to_plane(place))));
            for polygon in self.aerodrome.movement_area.iter().flatten() {
                sets.extend(outline_pieces(self.frame, polygon));
            }
        }
        if sets.is_empty() {
            return Err(missing.into());
        }
        Ok(self.within(sets, distance, Basis::Smaller(why.into())))
    }

    fn centreline_sets(&self, runway: &Runway) -> Option<Vec<Convex>> {
        let chain: Vec<_> = centreline(runway, CENTRELINE_PIECE)?
            .into_iter()
            .map(|place| self.frame.to_plane(place))
            .collect();
        Some(chain.windows(2).map(Convex::hull).collect())
    }

    fn capsule(&self, runway: &Runway, radius: Metres) -> Result<Placed, String> {
        let sets = self
            .centreline_sets(runway)
            .ok_or_else(|| format!("the ends of runway {} are not given", runway.designator))?;
        let mut placed = self.within(sets, radius, Basis::Stated);
        placed.accuracy_m += plane_sagitta_m(CENTRELINE_PIECE.m(), self.out(&placed.region));
        Ok(placed)
    }

    fn on_centreline(
        &self,
        runway: &Runway,
        end: usize,
        shape: &OnCentreline,
    ) -> Result<Placed, String> {
        let line = outbound(runway, end).ok_or_else(|| {
            format!(
                "position or direction of {} not given",
                end_name(runway, end)
            )
        })?;
        let gap = shape.gap.as_ref().map_or(0.0, |gap| gap.value_m.m());
        let from = gap
            - match shape.from {
                CentrelineStart::Threshold => line.displaced.m(),
                CentrelineStart::RunwayEnd => 0.0,
            };
        let length = shape.length.value_m.m();
        let halves = [&shape.inner_width, &shape.outer_width].map(|width| width.value_m.m() / 2.0);
        let corners: Vec<_> = [(from, halves[0]), (from + length, halves[1])]
            .into_iter()
            .flat_map(|(along, half)| [(along, half), (along, -half)])
            .map(|(along, across)| {
                self.frame.to_plane(line.place(Offsets {
                    along: Metres::of(along),
                    across: Metres::of(across),
                }))
            })
            .collect();
        let region = Region::Polygon(Convex::hull(&corners));
        let (out, widest) = (self.out(&region), halves[0].max(halves[1]));
        // Its long edges are neither straight in the plane nor geodesics: they keep their distance
        // from one, which bends them by no more than that distance over the square of the radius.
        let bend = plane_sagitta_m(length, out + 2.0 * widest) + plane_sagitta_m(2.0 * widest, out);
        let turned = match line.direction_from {
            DirectionFrom::Ends => 0.0,
            DirectionFrom::StatedBearing => {
                (from.abs() + length).hypot(widest) * STATED_BEARING_ACCURACY_DEG.to_radians().tan()
            }
        };
        let rise = shape.rise.as_ref().map(|rise| rise.value_m.m() / length);
        Ok(Placed {
            region,
            accuracy_m: 2.0 * LAYOUT_ERROR_M + bend + turned,
            basis: Basis::Stated,
            about: None,
            slope: rise.map(|rise| Slope {
                outbound: line,
                starts_at_m: from,
                elevation: runway.ends.get(end).and_then(|end| end.elevation),
                rise,
            }),
        })
    }
}

/// One region without another. What is taken away and cannot be placed stays, which makes it larger.
fn difference(of: Placed, less: Result<Placed, String>) -> Result<Placed, String> {
    let less = match less {
        Ok(less) => less,
        Err(why) => {
            let why = format!("{why}; nothing is taken away for it");
            return match of.basis {
                Basis::Smaller(other) => Err(format!("{other}; {why}")),
                _ => Ok(Placed {
                    basis: Basis::Larger(why),
                    about: None,
                    slope: None,
                    ..of
                }),
            };
        }
    };
    let basis = match (of.basis, less.basis) {
        (basis, Basis::Stated) => basis,
        (Basis::Stated | Basis::Larger(_), Basis::Smaller(why)) => Basis::Larger(why),
        (Basis::Stated | Basis::Smaller(_), Basis::Larger(why)) => Basis::Smaller(why),
        (Basis::Larger(one), Basis::Larger(other))
        | (Basis::Smaller(one), Basis::Smaller(other)) => {
            return Err(format!("{one}; {other}"));
        }
    };
    Ok(Placed {
        region: Region::Difference(Box::new(of.region), Box::new(less.region)),
        accuracy_m: of.accuracy_m.max(less.accuracy_m),
        basis,
        about: None,
        slope: None,
    })
}
