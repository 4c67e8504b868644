//! Aerodromes layer to records: reference points, boundaries and movement areas.
//!
//! Areas are joined to their aerodrome by identifier, else by what contains what. Not here: runways
//! (see [`crate::read::runways`]).

use std::collections::HashMap;

use geo::{
    Contains, Coord, CoordsIter, Geometry, LineString, MapCoords, MultiPolygon, Point, Polygon,
};

use super::declaration::Declaration;
use super::feature::Feature;
use super::height::{self, LengthUnit, Reading};
use super::layer::VectorLayer;
use crate::aerodrome::{Aerodrome, AerodromeKind, PublishedHours};
use crate::error::Cautions;
use crate::frame::{LonLat, distance, longitude_step};
use crate::site::FeatureRef;
use crate::units::{Altitude, Metres};

/// What a feature of the layer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    /// The aerodrome, by its reference point.
    ReferencePoint,
    /// The aerodrome, by its outline.
    Outline,
    /// The boundary of an aerodrome given elsewhere.
    Boundary,
    /// A movement area of an aerodrome given elsewhere.
    MovementArea,
    /// A helipad outline: a movement area, or a heliport of its own.
    Helipad,
    /// A runway line: belongs in the runways layer.
    RunwayLine,
}

/// All aerodromes of the layers read, under construction.
#[derive(Debug, Default)]
pub struct Aerodromes {
    records: Vec<Aerodrome>,
    by_ident: HashMap<String, usize>,
}

impl Aerodromes {
    /// Adds the features of an aerodromes layer.
    pub fn add(&mut self, layer: &VectorLayer, declaration: &Declaration, cautions: &mut Cautions) {
        let reader = Reader { layer, declaration };
        let parts = layer
            .features
            .iter()
            .map(|feature| (reader.part(feature), feature))
            .collect::<Vec<_>>();
        let order = [
            Part::ReferencePoint,
            Part::Outline,
            Part::Boundary,
            Part::MovementArea,
            Part::Helipad,
            Part::RunwayLine,
        ];
        for wanted in order {
            for (part, feature) in &parts {
                if *part == wanted {
                    self.add_part(wanted, feature, &reader, cautions);
                }
            }
        }
    }

    fn add_part(
        &mut self,
        part: Part,
        feature: &Feature,
        reader: &Reader<'_>,
        cautions: &mut Cautions,
    ) {
        let file = reader.layer.file.as_str();
        let mut left_out = |defect: &str| {
            cautions.feature(file, &feature.label, defect, "the feature is left out");
        };
        match (part, areas(feature)) {
            (Part::RunwayLine, _) => left_out("is a runway line in the aerodromes layer"),
            (Part::ReferencePoint, _) => match reader.record(feature, cautions) {
                Some(record) => self.push(record, cautions),
                None => cautions.feature(
                    file,
                    &feature.label,
                    "has no geometry that gives a reference point",
                    "the feature is left out",
                ),
            },
            (_, None) => left_out("is not a polygon"),
            (_, Some(area)) if is_too_wide(&area) => {
                left_out("is more than 60 km across, wider than any aerodrome");
            }
            (Part::Outline, Some(area)) => match self.owner(feature, reader, &area, true) {
                Some(record) => extend(&mut record.boundary, area),
                None => {
                    if let Some(mut record) = reader.record(feature, cautions) {
                        record.boundary = Some(area);
                        self.push(record, cautions);
                    }
                }
            },
            (Part::Helipad, Some(area)) => match self.owner(feature, reader, &area, false) {
                Some(record) => extend(&mut record.movement_area, area),
                None => {
                    if let Some(mut record) = reader.record(feature, cautions) {
                        record.kind = AerodromeKind::Heliport;
                        record.movement_area = Some(area);
                        self.push(record, cautions);
                    }
                }
            },
            (Part::Boundary, Some(area)) => match self.owner(feature, reader, &area, true) {
                Some(record) => extend(&mut record.boundary, area),
                None => left_out("is a boundary of no aerodrome in the layer"),
            },
            (Part::MovementArea, Some(area)) => match self.owner(feature, reader, &area, false) {
                Some(record) => extend(&mut record.movement_area, area),
                None => left_out("is a movement area of no aerodrome in the layer"),
            },
        }
    }

    /// The aerodrome that an area belongs to: by identifier, else the only one whose reference point
    /// the boundary contains, or whose boundary contains the movement area.
    fn owner(
        &mut self,
        feature: &Feature,
        reader: &Reader<'_>,
        area: &MultiPolygon<f64>,
        is_boundary: bool,
    ) -> Option<&mut Aerodrome> {
        let named = reader
            .text(feature, "aerodrome", &["aerodrome", "airport_ident"])
            .or_else(|| reader.ident(feature));
        if let Some(index) = named.and_then(|ident| self.by_ident.get(&ident).copied()) {
            return self.records.get_mut(index);
        }
        let mut candidates = self
            .records
            .iter()
            .enumerate()
            .filter(|(_, record)| {
                if is_boundary {
                    record
                        .reference_point
                        .is_some_and(|place| contains(area, place))
                } else {
                    record.boundary.as_ref().is_some_and(|boundary| {
                        first_corner(area).is_some_and(|place| contains(boundary, place))
                    })
                }
            })
            .map(|(index, record)| (index, record.kind))
            .collect::<Vec<_>>();
        if candidates.len() > 1 {
            // Heliports lie inside the boundary of an aerodrome; the boundary is the aerodrome's.
            candidates.retain(|(_, kind)| *kind == AerodromeKind::Aerodrome);
        }
        match candidates.as_slice() {
            [(index, _)] => self.records.get_mut(*index),
            _ => None,
        }
    }

    fn push(&mut self, record: Aerodrome, cautions: &mut Cautions) {
        if let Some(ident) = &record.ident {
            if self.by_ident.contains_key(ident) {
                cautions.feature(
                    &record.source.file,
                    &record.source.feature,
                    &format!("has the identifier {ident}, which another aerodrome has too"),
                    "both are kept; runways and areas are joined to the first",
                );
            } else {
                self.by_ident.insert(ident.clone(), self.records.len());
            }
        }
        self.records.push(record);
    }

    /// The aerodrome with this identifier.
    pub fn with_ident(&mut self, ident: &str) -> Option<&mut Aerodrome> {
        let index = *self.by_ident.get(ident)?;
        self.records.get_mut(index)
    }

    /// The records, in the order of the files.
    #[must_use]
    pub fn into_records(self) -> Vec<Aerodrome> {
        self.records
    }
}

struct Reader<'a> {
    layer: &'a VectorLayer,
    declaration: &'a Declaration,
}

impl Reader<'_> {
    fn text(&self, feature: &Feature, ours: &str, defaults: &[&str]) -> Option<String> {
        match self.declaration.attributes.get(ours) {
            Some(theirs) => feature.text(&[theirs]),
            None => feature.text(defaults),
        }
    }

    fn ident(&self, feature: &Feature) -> Option<String> {
        self.text(feature, "ident", &["ident", "icao"])
            .filter(|ident| ident.chars().any(char::is_alphanumeric))
    }

    fn part(&self, feature: &Feature) -> Part {
        let is_area = areas(feature).is_some();
        let is_line = matches!(
            feature.geometry,
            Some(Geometry::LineString(_) | Geometry::MultiLineString(_))
        );
        let part = self.text(feature, "part", &["part", "role"]);
        match part
            .map(|part| part.to_lowercase().replace([' ', '-'], "_"))
            .as_deref()
        {
            Some("boundary") => return Part::Boundary,
            Some("movement_area" | "runway" | "taxiway" | "apron") => return Part::MovementArea,
            Some("reference_point" | "arp") => return Part::ReferencePoint,
            _ => {}
        }
        match feature.text(&["aeroway"]).as_deref() {
            Some("runway" | "taxiway" | "apron" | "stopway") if is_area => Part::MovementArea,
            Some("runway" | "taxiway" | "stopway") if is_line => Part::RunwayLine,
            Some("helipad") if is_area => Part::Helipad,
            _ if is_area => Part::Outline,
            _ => Part::ReferencePoint,
        }
    }

    /// The record of an aerodrome; none when its geometry is neither a point nor an area.
    fn record(&self, feature: &Feature, cautions: &mut Cautions) -> Option<Aerodrome> {
        let reference_point = match &feature.geometry {
            Some(Geometry::Point(point)) => Some(LonLat::wrapped(point.x(), point.y())),
            Some(Geometry::MultiPoint(points)) if points.0.len() == 1 => points
                .0
                .first()
                .map(|point| LonLat::wrapped(point.x(), point.y())),
            _ if areas(feature).is_some() => None,
            _ => return None,
        };
        let ident = self.ident(feature);
        let name = self
            .text(feature, "name", &["name"])
            .or_else(|| ident.clone())
            .unwrap_or_else(|| feature.label.to_string());
        Some(Aerodrome {
            source: FeatureRef {
                file: self.layer.file.as_str().into(),
                feature: feature.label.as_ref().into(),
            },
            ident,
            name,
            kind: self.kind(feature),
            reference_point,
            elevation: self.elevation(feature, cautions),
            controlled: match self.declaration.attributes.get("controlled") {
                Some(theirs) => feature.flag(&[theirs]),
                None => feature.flag(&["controlled"]),
            },
            military: self.is_military(feature),
            hours: PublishedHours {
                operation: self.text(feature, "hours", &["hours", "opening_hours"]),
                control: self.text(feature, "control_hours", &["control_hours"]),
                tower: self.text(feature, "tower_hours", &["tower_hours"]),
                zone: self.text(feature, "tz", &["tz", "timezone"]),
            },
            runways: Vec::new(),
            movement_area: None,
            boundary: None,
        })
    }

    /// A flag, or the word that OpenStreetMap has for a military airfield.
    fn is_military(&self, feature: &Feature) -> Option<bool> {
        let theirs = self.declaration.attributes.get("military");
        let names = [theirs.map_or("military", String::as_str)];
        feature
            .flag(&names)
            .or_else(|| (feature.text(&names)?.eq_ignore_ascii_case("airfield")).then_some(true))
    }

    fn kind(&self, feature: &Feature) -> AerodromeKind {
        let stated = self
            .text(feature, "type", &["type"])
            .map(|kind| kind.to_lowercase());
        match stated.as_deref() {
            Some(
                "small_airport" | "medium_airport" | "large_airport" | "aerodrome" | "airport",
            ) => {
                return AerodromeKind::Aerodrome;
            }
            Some("heliport" | "helipad") => return AerodromeKind::Heliport,
            Some("seaplane_base" | "water_aerodrome") => return AerodromeKind::WaterAerodrome,
            Some("closed") => return AerodromeKind::Closed,
            Some("balloonport" | "gliderport" | "ultralight_park") => return AerodromeKind::Other,
            _ => {}
        }
        match feature.text(&["aeroway"]).as_deref() {
            Some("aerodrome") => AerodromeKind::Aerodrome,
            Some("heliport" | "helipad") => AerodromeKind::Heliport,
            _ => AerodromeKind::Other,
        }
    }

    fn elevation(&self, feature: &Feature, cautions: &mut Cautions) -> Option<Altitude> {
        let unit = self.declaration.height_unit.unwrap_or_default();
        let sources = match self.declaration.attributes.get("elevation") {
            Some(theirs) => vec![(theirs.as_str(), unit)],
            None => vec![
                ("elevation_ft", LengthUnit::Foot),
                ("elevation_m", LengthUnit::Metre),
                ("elevation", unit),
                ("ele", LengthUnit::Metre),
            ],
        };
        for (name, unit) in sources {
            match feature
                .property(&[name])
                .map(|value| height::reading(value, unit))
            {
                None | Some(Reading::Missing) => {}
                Some(Reading::Metres(metres)) => return Some(Altitude::of(metres)),
                Some(Reading::Unclear(why)) => {
                    cautions.feature(
                        &self.layer.file,
                        &feature.label,
                        &format!("has an elevation that {why}"),
                        "the elevation is left out",
                    );
                    return None;
                }
            }
        }
        None
    }
}

/// A length of a runway or a threshold: from the mapped attribute in the declared unit, or from
/// `{base}_m` or `{base}_ft`.
#[must_use]
pub fn length(feature: &Feature, declaration: &Declaration, ours: &str) -> Option<Metres> {
    let number =
        |name: &str, unit: LengthUnit| match height::reading(feature.property(&[name])?, unit) {
            Reading::Metres(metres) => Some(Metres::of(metres)),
            Reading::Missing | Reading::Unclear(_) => None,
        };
    match declaration.attributes.get(ours) {
        Some(theirs) => number(theirs, declaration.height_unit.unwrap_or_default()),
        None => number(&format!("{ours}_m"), LengthUnit::Metre)
            .or_else(|| number(&format!("{ours}_ft"), LengthUnit::Foot)),
    }
}

/// The polygons of a feature, if it is an area.
#[must_use]
pub fn areas(feature: &Feature) -> Option<MultiPolygon<f64>> {
    match &feature.geometry {
        Some(Geometry::Polygon(polygon)) => Some(MultiPolygon(vec![polygon.clone()])),
        Some(Geometry::MultiPolygon(polygons)) if !polygons.0.is_empty() => Some(polygons.clone()),
        Some(Geometry::LineString(line)) if line.0.len() >= 4 && line.is_closed() => {
            Some(MultiPolygon(vec![Polygon::new(
                line.clone(),
                Vec::<LineString<f64>>::new(),
            )]))
        }
        _ => None,
    }
}

/// The widest extent of an aerodrome's outline, metres, with room: the largest aerodromes are some
/// 30 km across (from memory). A wider one has a slip in a coordinate, and would be cut into more
/// pieces than can be measured.
const WIDEST_AERODROME_M: f64 = 60_000.0;

/// Whether polygons are wider than any aerodrome.
#[must_use]
pub fn is_too_wide(area: &MultiPolygon<f64>) -> bool {
    let Some(first) = first_corner(area) else {
        return false;
    };
    area.coords_iter()
        .any(|corner| distance(first, LonLat::wrapped(corner.x, corner.y)).m() > WIDEST_AERODROME_M)
}

/// Adds polygons to those already there.
pub fn extend(slot: &mut Option<MultiPolygon<f64>>, area: MultiPolygon<f64>) {
    match slot {
        Some(known) => known.0.extend(area.0),
        None => *slot = Some(area),
    }
}

fn first_corner(area: &MultiPolygon<f64>) -> Option<LonLat> {
    let corner = area.0.first()?.exterior().coords().next()?;
    Some(LonLat::wrapped(corner.x, corner.y))
}

/// Whether polygons contain a place, longitudes taken the short way from it.
fn contains(area: &MultiPolygon<f64>, place: LonLat) -> bool {
    area.map_coords(|corner| Coord {
        x: longitude_step(place.lon(), corner.x),
        y: corner.y,
    })
    .contains(&Point::new(0.0, place.lat()))
}
