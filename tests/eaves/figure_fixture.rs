//! Pieces of assessments made up for tests of the figure.
//!
//! The numbers are plausible but computed by nobody; only what the figure does with them is tested.

use eaves::aerodrome::{Aerodrome, AerodromeKind, Runway, RunwayEnd};
use eaves::answer::*;
use eaves::frame::{LocalFrame, LonLat, Xy, geodesic};
use eaves::obstacle::{ObstacleKind, Shape};
use eaves::profile::{Mark, Profile, Quantity, Reference, Term};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::{Altitude, Height, Metres};
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// A plane to lay a site out in.
pub struct Ground {
    pub frame: LocalFrame,
}

impl Ground {
    pub fn at(lon: f64, lat: f64) -> Self {
        Self {
            frame: LocalFrame::about(LonLat::new(lon, lat).unwrap()),
        }
    }

    pub fn place(&self, x: f64, y: f64) -> LonLat {
        self.frame.to_place(Xy::new(x, y))
    }

    pub fn ring(&self, corners: &[(f64, f64)]) -> LineString<f64> {
        corners
            .iter()
            .chain(corners.first())
            .map(|(x, y)| {
                let place = self.place(*x, *y);
                Coord {
                    x: place.lon(),
                    y: place.lat(),
                }
            })
            .collect()
    }

    pub fn polygon(&self, corners: &[(f64, f64)]) -> Polygon<f64> {
        Polygon::new(self.ring(corners), vec![])
    }
}

pub fn feature(file: &str, id: &str) -> FeatureRef {
    FeatureRef {
        file: file.into(),
        feature: id.into(),
    }
}

pub fn quantity(key: &str, value: f64) -> Quantity {
    Quantity {
        key: key.into(),
        value,
        unit: "m".into(),
        value_m: Metres::of(value),
        citation: "common practice".into(),
        edition: String::new(),
        mark: Mark::CommonPractice,
    }
}

/// No power line near the area.
pub fn no_line() -> ClearanceAnswer {
    ClearanceAnswer {
        state: ClearanceState::NoLine,
        table: None,
        lines: vec![],
        band: MultiPolygon::new(vec![]),
        band_m2: 0.0,
    }
}

/// An assessment of an area with nothing around it.
pub fn bare(name: &str, polygons: MultiPolygon<f64>) -> Assessment {
    let record = OperatingArea {
        source: feature("area.geojson", "#1"),
        name: name.into(),
        polygons: polygons.clone(),
    };
    let middle = record.frame().origin();
    Assessment {
        format: FORMAT,
        caution: CAUTION,
        version: "0.1.0",
        schedule: eaves::schedule::of(&record),
        date: "2026-11-25".into(),
        area: AreaAnswer {
            name: name.into(),
            source: record.source.clone(),
            middle,
            area_m2: 20_000.0,
            perimeter_m: Metres::of(900.0),
            outline: polygons,
            record,
        },
        profile: ProfileAnswer {
            caution: "An aid, never legal advice.".into(),
            name: "plain".into(),
            title: "Plain shielding rule (common practice)".into(),
            values: vec![],
            conditions: vec![],
            record: Profile {
                twilight: None,
                caution: "An aid, never legal advice.".into(),
                name: "plain".into(),
                title: "Plain".into(),
                rings: vec![],
                zones: vec![],
                reference: Reference::ReferencePoint,
                expression: Term::Cap {
                    title: "cap".into(),
                    height: quantity("cap.height", 120.0),
                },
                conditions: vec![],
            },
        },
        variation: VariationAnswer::Known {
            declination_deg: 11.27,
            uncertainty_deg: 0.34,
            model: "WMM2025",
            date: "2026-11-25".into(),
        },
        ground: GroundAnswer {
            source: GroundSource::AssumedFlat,
            accuracy_m: Metres::ZERO,
            accuracy_is_stated: false,
            lowest_m_amsl: None,
            highest_m_amsl: None,
            unknown_share: 0.0,
        },
        search_radius_m: Metres::of(20_000.0),
        tolerance_m: Metres::of(0.1),
        aerodromes: vec![],
        runways: vec![],
        zones: vec![],
        shielding: vec![],
        ceiling: CeilingAnswer {
            whole: None,
            determined_part: None,
            undetermined: vec![Undetermined::NoShield],
            conditions: vec![],
        },
        plan: vec![],
        clearance: no_line(),
        usable: UsableAnswer::Undetermined { why: vec![] },
        ceiling_grid: None,
        wish: None,
        hours: None,
        airspace: None,
        surfaces: None,
        section: None,
        not_assessed: vec![],
        cautions: vec![],
        layers: vec![],
        obstacles: vec![],
        farther_aerodromes: vec![],
        surroundings: vec![],
    }
}

pub fn obstacle(
    title: &str,
    kind: ObstacleKind,
    id: &str,
    span: Option<usize>,
    top: Option<f64>,
    shape: Shape,
) -> ObstacleAnswer {
    ObstacleAnswer {
        title: title.into(),
        kind,
        source: feature("layer.geojson", id),
        span_index: span,
        distance_m: Metres::of(40.0),
        top_m_agl: top.map(Height::of),
        top_m_amsl: top.map(|t| Altitude::of(t + 312.4)),
        trusted_top_m_amsl: top.map(|t| Altitude::of(t + 312.4 - 7.5)),
        trusted_top_m_agl: top.map(|t| Height::of(t - 7.5)),
        not_a_shield: top.is_none().then(|| "has no height".into()),
        is_estimate: false,
        shape,
    }
}

pub fn ceiling_value(value_m: f64, at: LonLat, shield: Option<&str>) -> CeilingValue {
    CeilingValue {
        value_m,
        attained_m: value_m + 0.05,
        stopped: Stopped::Tolerance,
        cells: 100,
        governs_at: at,
        governs: "shielding".into(),
        shield: shield.map(Into::into),
        budget: vec![],
    }
}

pub fn rings(distance_m: f64, across_m: f64) -> Vec<RingAnswer> {
    [1.0, 2.0, 3.0, 5.0]
        .into_iter()
        .map(|nm| {
            let radius = nm * 1852.0;
            let (near, far) = (distance_m - radius, distance_m + across_m - radius);
            RingAnswer {
                radius_m: Metres::of(radius),
                label: format!("{nm} NM"),
                about: Reference::ReferencePoint,
                measured_from: Some(Reference::ReferencePoint),
                is_substitute: false,
                state: if far <= 0.0 {
                    ZoneState::Inside
                } else if near <= 0.0 {
                    ZoneState::Straddles
                } else {
                    ZoneState::Outside
                },
                margin_m: Some(Metres::of(near)),
                farthest_margin_m: Some(Metres::of(far)),
                share_inside: None,
            }
        })
        .collect()
}

/// An aerodrome with its nearest distance measured from a runway end to `to`.
pub fn aerodrome(
    ident: &str,
    name: &str,
    kind: AerodromeKind,
    at: LonLat,
    runways: &[(&str, f64, f64)],
    to: LonLat,
    across_m: f64,
) -> AerodromeAnswer {
    let local = Ground {
        frame: LocalFrame::about(at),
    };
    let source = feature("aerodromes.geojson", ident);
    let end = |designator: &str, bearing: f64, half: f64| RunwayEnd {
        designator: Some(designator.into()),
        position: Some(local.place(
            half * bearing.to_radians().sin(),
            half * bearing.to_radians().cos(),
        )),
        elevation: None,
        true_bearing: None,
        displaced_threshold: None,
        classification: Default::default(),
    };
    let runways: Vec<Runway> = runways
        .iter()
        .map(|(designator, bearing, length)| {
            let (low, high) = designator.split_once('/').unwrap();
            Runway {
                source: source.clone(),
                designator: (*designator).into(),
                ends: [
                    end(low, bearing + 180.0, length / 2.0),
                    end(high, *bearing, length / 2.0),
                ],
                length: Some(Metres::of(*length)),
                width: None,
                closed: false,
                classification: Default::default(),
            }
        })
        .collect();
    let distance = |from: LonLat, part: Option<String>| {
        let line = geodesic(from, to);
        DistanceAnswer {
            distance_m: line.distance,
            distance_nm: line.distance.nm(),
            farthest_m: Metres::of(line.distance.m() + across_m),
            bearing_true_deg: Some(line.bearing_from),
            bearing_magnetic_deg: Some(line.bearing_from.magnetic(11.27)),
            from,
            to,
            part,
        }
    };
    let nearest_end = runways
        .iter()
        .flat_map(|r| &r.ends)
        .filter_map(|e| Some((e.position?, e.designator.clone())))
        .min_by(|a, b| {
            let d = |p: LonLat| geodesic(p, to).distance.m();
            d(a.0).total_cmp(&d(b.0))
        });
    let from_point = distance(at, None);
    let rings = rings(from_point.distance_m.m(), across_m);
    AerodromeAnswer {
        title: format!("{ident} {name}"),
        ident: Some(ident.into()),
        kind,
        source: source.clone(),
        references: vec![
            ReferenceAnswer {
                reference: Reference::ReferencePoint,
                distance: Some(from_point),
            },
            ReferenceAnswer {
                reference: Reference::RunwayEnd,
                distance: nearest_end.map(|(place, part)| distance(place, part)),
            },
            ReferenceAnswer {
                reference: Reference::MovementArea,
                distance: None,
            },
            ReferenceAnswer {
                reference: Reference::Boundary,
                distance: None,
            },
        ],
        rings,
        record: Aerodrome {
            source,
            ident: Some(ident.into()),
            name: name.into(),
            kind,
            reference_point: Some(at),
            elevation: None,
            controlled: None,
            military: None,
            hours: Default::default(),
            runways,
            movement_area: None,
            boundary: None,
        },
    }
}
