//! Power lines to spans: each line is cut at its supports.
//!
//! Where a supports layer matches vertices of the line, those are the cuts and the other vertices
//! are bends. Where it matches none, every vertex is taken for a support, with a caution. Not here:
//! sag and trusted tops (see [`crate::field`]).

use std::borrow::Cow;

use geo::{Geometry, LineString};

use super::attributes::{Attributes, Stated};
use super::draft::{Draft, Plan};
use super::estimates;
use super::feature::Feature;
use super::supports::{Found, Supports};
use crate::error::Cautions;
use crate::frame::{LonLat, distance};
use crate::obstacle::{HeightBasis, ObstacleKind, Permanence, Sag, SpanDetail, SpanEnd, Top};
use crate::units::Metres;

/// Overland spans are shorter (river crossings apart; from memory), so a longer one has supports
/// that the data do not show, and hangs lower than its ends tell.
pub const LONGEST_PLAUSIBLE_SPAN_M: f64 = 1500.0;

/// What is asked of all lines.
#[derive(Clone, Copy, Debug, Default)]
pub struct LineOptions {
    /// The sag of spans for which none is stated.
    pub assumed_sag: Option<Sag>,
    /// Whether heights that are missing are estimated from the voltage class.
    pub estimate_heights: bool,
}

/// Takes the spans of one feature of a power-lines layer, and a support for each vertex that is taken
/// for one without a feature of its own. Raises the known tops of `supports` that carry the line.
pub fn spans(
    feature: &Feature,
    attributes: &Attributes<'_>,
    supports: &mut Supports,
    options: LineOptions,
    cautions: &mut Cautions,
    mut take: impl FnMut(Draft<'_>),
) {
    if is_underground(feature) {
        cautions.feature(
            attributes.file,
            &feature.label,
            "is a cable below ground or water",
            "not an obstacle",
        );
        return;
    }
    let parts: Vec<&LineString<f64>> = match &feature.geometry {
        Some(Geometry::LineString(line)) => vec![line],
        Some(Geometry::MultiLineString(lines)) => lines.iter().collect(),
        other => {
            let defect = if other.is_none() {
                "has no geometry"
            } else {
                "is not a line"
            };
            cautions.feature(
                attributes.file,
                &feature.label,
                defect,
                "the feature is left out",
            );
            return;
        }
    };
    let mut line = Line::new(feature, attributes, options, cautions);
    let several = parts.len() > 1;
    let parts = parts
        .into_iter()
        .enumerate()
        .map(|(part, places)| {
            let places = places_of(places);
            Part {
                prefix: if several {
                    format!("{} part {}", feature.label, part + 1)
                } else {
                    feature.label.to_string()
                },
                found: places.iter().map(|place| supports.at(*place)).collect(),
                places,
            }
        })
        .collect::<Vec<_>>();
    let any_found = parts
        .iter()
        .any(|part| part.found.iter().any(Option::is_some));
    line.cuts_at_all_vertices = match attributes.declaration.vertices_are_supports {
        Some(declared) => declared,
        None => !any_found,
    };
    line.note(
        attributes.declaration.vertices_are_supports.is_none() && !any_found,
        "has no support on any of its vertices",
        "each vertex is taken for a support; declare vertices_are_supports in layers.toml",
    );
    line.note(
        line.assumes_sag,
        "does not state its sag",
        "the sag that was asked for is assumed; declare sag in layers.toml",
    );
    for part in &parts {
        line.cut(part, supports, &mut take);
    }
    for (defect, effect) in line.notes {
        cautions.feature(attributes.file, &feature.label, defect, effect);
    }
}

/// One part of a line: its places, and the supports found there.
struct Part {
    prefix: String,
    places: Vec<LonLat>,
    found: Vec<Option<Found>>,
}

fn is_underground(feature: &Feature) -> bool {
    let location = feature.words(&["location"]);
    let is_cable = feature.words(&["power"]).as_deref() == Some("cable");
    match location.as_deref() {
        Some("underground" | "underwater") => true,
        Some("overhead" | "overground") => false,
        _ => is_cable,
    }
}

/// The places of a line without repeated ones.
fn places_of(line: &LineString<f64>) -> Vec<LonLat> {
    let mut places = line
        .coords()
        .map(|c| LonLat::wrapped(c.x, c.y))
        .collect::<Vec<_>>();
    places.dedup();
    places
}

/// A vertex at which a line is cut.
struct Cut {
    vertex: usize,
    end: SpanEnd,
    /// Horizontal and vertical accuracy of the support there.
    accuracy: [Metres; 2],
    /// Whether the support stays.
    permanence: Permanence,
}

struct Line<'a> {
    feature: &'a Feature<'a>,
    attributes: &'a Attributes<'a>,
    name: Option<Cow<'a, str>>,
    top: Stated,
    accuracy: Option<[Metres; 2]>,
    permanence: Permanence,
    voltage_v: Option<f64>,
    clearance: Option<Metres>,
    wire_offset: Option<Metres>,
    sag: Option<Sag>,
    assumes_sag: bool,
    estimate: Option<Top>,
    next_index: usize,
    cuts_at_all_vertices: bool,
    /// Defects of this line, each once, with their effect.
    notes: Vec<(&'static str, &'static str)>,
}

impl<'a> Line<'a> {
    fn new(
        feature: &'a Feature<'a>,
        attributes: &'a Attributes<'a>,
        options: LineOptions,
        cautions: &mut Cautions,
    ) -> Self {
        let voltage_v = attributes.voltage(feature, cautions);
        let accuracy = attributes.accuracy(feature, cautions);
        let top = attributes.top(feature, cautions);
        let estimate = voltage_v
            .filter(|_| options.estimate_heights)
            .and_then(estimates::support_top);
        Self {
            feature,
            attributes,
            name: attributes.text(feature, "name", &["name", "line_name"]),
            top,
            accuracy,
            permanence: attributes
                .permanence(feature)
                .unwrap_or(Permanence::Permanent),
            voltage_v,
            clearance: attributes.clearance(feature, cautions),
            wire_offset: attributes.wire_offset(feature, cautions),
            sag: attributes.sag(feature).or(options.assumed_sag),
            assumes_sag: attributes.sag(feature).is_none() && options.assumed_sag.is_some(),
            estimate,
            next_index: 0,
            cuts_at_all_vertices: false,
            notes: Vec::new(),
        }
    }

    /// The top that the line lends to a support without one of its own.
    fn lent_top(&self) -> Option<Top> {
        self.accuracy?;
        match self.top {
            Stated::Top(top) => Some(top),
            Stated::Missing => self.estimate,
            Stated::Unclear => None,
        }
    }

    /// Horizontal and vertical accuracy; that of the datum alone where the line's is unclear.
    fn known_accuracy(&self) -> [Metres; 2] {
        self.accuracy
            .unwrap_or([self.feature.datum_accuracy, Metres::ZERO])
    }

    fn note(&mut self, applies: bool, defect: &'static str, effect: &'static str) {
        if applies && !self.notes.contains(&(defect, effect)) {
            self.notes.push((defect, effect));
        }
    }

    fn cut(&mut self, part: &Part, supports: &mut Supports, take: &mut impl FnMut(Draft<'_>)) {
        let places = &part.places;
        if places.len() < 2 {
            self.note(
                true,
                "has a line of fewer than two places",
                "that line is left out",
            );
            return;
        }
        let last = places.len() - 1;
        let mut new = Vec::new();
        let mut cuts = Vec::with_capacity(places.len());
        for (vertex, (place, matched)) in places.iter().zip(&part.found).enumerate() {
            self.note(
                self.estimate.is_some() && self.top == Stated::Missing,
                "has no height; heights of its supports are an ESTIMATE from its voltage",
                "marked ESTIMATE; not a statement of the data",
            );
            let (mut accuracy, mut permanence) = ([Metres::ZERO; 2], Permanence::Permanent);
            let end = match matched {
                Some(support) => {
                    supports.lend(support, self.lent_top(), self.known_accuracy());
                    accuracy = supports.accuracy_of(support);
                    permanence = supports.permanence_of(support);
                    SpanEnd {
                        top: supports.top_of(support, self.lent_top()),
                        support: supports.source_of(support),
                    }
                }
                None if self.cuts_at_all_vertices => {
                    // Unless an equal one is there already from another line.
                    if supports.is_new_vertex(*place, self.lent_top()) {
                        new.push((vertex, *place));
                    }
                    SpanEnd {
                        top: self.lent_top(),
                        support: None,
                    }
                }
                // The line ends, or the data do, where no support is given: nothing holds the wire
                // at the height of a support here.
                None if vertex == 0 || vertex == last => {
                    self.note(
                        self.lent_top().is_some(),
                        "ends where no support is given",
                        "its span there is not a shield",
                    );
                    SpanEnd {
                        top: None,
                        support: None,
                    }
                }
                None => continue,
            };
            cuts.push(Cut {
                vertex,
                end,
                accuracy,
                permanence,
            });
        }
        for ends in cuts.windows(2) {
            if let [from, to] = ends
                && let Some(chain) = places.get(from.vertex..=to.vertex)
            {
                self.span(chain, [from, to], take);
            }
        }
        let mut label = String::new();
        for (vertex, place) in new {
            label.clear();
            label.push_str(&part.prefix);
            label.push_str(" vertex ");
            label.push_str(&(vertex + 1).to_string());
            take(self.support(&label, place));
        }
    }

    /// A span is no better known than its line, nor than either support, and stays no longer.
    fn span(&mut self, chain: &[LonLat], cuts: [&Cut; 2], take: &mut impl FnMut(Draft<'_>)) {
        let mut ends = cuts.map(|cut| cut.end.clone());
        let length = chain
            .windows(2)
            .filter_map(|pair| match pair {
                [a, b] => Some(distance(*a, *b)),
                _ => None,
            })
            .fold(Metres::ZERO, |sum, step| sum + step);
        let mut top = lower(ends[0].top, ends[1].top);
        if length.m() > LONGEST_PLAUSIBLE_SPAN_M {
            self.note(
                true,
                "has a span longer than 1500 m, so supports are missing from the data",
                "that span is not a shield",
            );
            top = None;
        }
        if self.accuracy.is_none() {
            top = None;
            for end in &mut ends {
                end.top = None;
            }
        }
        let [horizontal_accuracy, vertical_accuracy] =
            cuts.iter().fold(self.known_accuracy(), |[h, v], cut| {
                [h.max(cut.accuracy[0]), v.max(cut.accuracy[1])]
            });
        let permanence = cuts
            .iter()
            .map(|cut| cut.permanence)
            .find(|permanence| *permanence != Permanence::Permanent)
            .filter(|_| self.permanence == Permanence::Permanent)
            .unwrap_or(self.permanence);
        let index = self.next_index;
        self.next_index += 1;
        take(Draft {
            source: (self.attributes.file, &self.feature.label),
            name: self.name.as_deref(),
            kind: &ObstacleKind::Span,
            plan: Plan::Chain(chain),
            top,
            permanence,
            horizontal_accuracy,
            vertical_accuracy,
            span: Some(&SpanDetail {
                ends,
                sag: self.sag,
                length,
                clearance: self.clearance,
                wire_offset: self.wire_offset,
                voltage_v: self.voltage_v,
                index,
            }),
        });
    }

    /// A support at a vertex.
    fn support<'b>(&self, label: &'b str, place: LonLat) -> Draft<'b>
    where
        'a: 'b,
    {
        let [horizontal_accuracy, vertical_accuracy] = self.known_accuracy();
        Draft {
            source: (self.attributes.file, label),
            name: None,
            kind: &ObstacleKind::Support,
            plan: Plan::Point(place),
            top: self.lent_top(),
            permanence: self.permanence,
            horizontal_accuracy,
            vertical_accuracy,
            span: None,
        }
    }
}

/// The lower of two tops; none when one is unknown or they are counted from different things.
fn lower(a: Option<Top>, b: Option<Top>) -> Option<Top> {
    let (a, b) = (a?, b?);
    if a.reference != b.reference {
        return None;
    }
    let basis = if a.basis == HeightBasis::Estimate || b.basis == HeightBasis::Estimate {
        HeightBasis::Estimate
    } else {
        HeightBasis::Stated
    };
    Some(Top {
        value_m: a.value_m.min(b.value_m),
        basis,
        ..a
    })
}
