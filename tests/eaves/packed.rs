//! Packed records against the records themselves.

use eaves::frame::LonLat;
use eaves::obstacle::{
    HeightBasis, Obstacle, ObstacleKind, Permanence, Sag, Shape, SpanDetail, SpanEnd, Top,
    VerticalReference,
};
use eaves::read::Obstacles;
use eaves::read::draft::{Class, Draft};
use eaves::read::packed::Packed;
use eaves::site::FeatureRef;
use eaves::units::Metres;
use geo::{LineString, Polygon};
use proptest::prelude::*;

fn text() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), "[a-zé/0-9]{0,12}"]
}

fn source() -> impl Strategy<Value = FeatureRef> {
    (
        prop_oneof![Just("a.geojson"), Just("b.fgb"), Just("")],
        text(),
    )
        .prop_map(|(file, feature)| FeatureRef {
            file: file.into(),
            feature: feature.into(),
        })
}

fn place() -> impl Strategy<Value = LonLat> {
    (-180.0..180.0, -80.0..80.0).prop_map(|(lon, lat)| LonLat::wrapped(lon, lat))
}

fn top() -> impl Strategy<Value = Option<Top>> {
    proptest::option::of((-50.0..500.0, any::<bool>(), any::<bool>()).prop_map(
        |(value_m, is_agl, is_stated)| Top {
            value_m,
            reference: if is_agl {
                VerticalReference::AboveGround
            } else {
                VerticalReference::MeanSeaLevel
            },
            basis: if is_stated {
                HeightBasis::Stated
            } else {
                HeightBasis::Estimate
            },
        },
    ))
}

fn shape() -> impl Strategy<Value = Shape> {
    let ring =
        || proptest::collection::vec((-190.0..190.0, -80.0..80.0), 0..6).prop_map(LineString::from);
    prop_oneof![
        place().prop_map(Shape::Point),
        proptest::collection::vec(place(), 0..4).prop_map(Shape::Chain),
        (ring(), proptest::collection::vec(ring(), 0..2))
            .prop_map(|(outer, holes)| Shape::Outline(Polygon::new(outer, holes))),
    ]
}

fn sag() -> impl Strategy<Value = Option<Sag>> {
    prop_oneof![
        Just(None),
        Just(Some(Sag::Included)),
        (0.0..9.0).prop_map(|sag| Some(Sag::Metres(sag))),
        (0.0..0.1).prop_map(|share| Some(Sag::ShareOfSpan(share))),
        (1.0..9.0).prop_map(|weight_per_m| Some(Sag::Wire {
            weight_per_m,
            horizontal_tension: 9_000.0
        })),
    ]
}

fn detail() -> impl Strategy<Value = SpanDetail> {
    let end = || {
        (top(), proptest::option::of(source())).prop_map(|(top, support)| SpanEnd { top, support })
    };
    let metres = || proptest::option::of((0.0..20.0).prop_map(Metres::of));
    (
        [end(), end()],
        sag(),
        0.0..900.0,
        metres(),
        metres(),
        proptest::option::of(1e3..1e6),
        0..9_usize,
    )
        .prop_map(
            |(ends, sag, length, clearance, wire_offset, voltage_v, index)| SpanDetail {
                ends,
                sag,
                length: Metres::of(length),
                clearance,
                wire_offset,
                voltage_v,
                index,
            },
        )
}

/// Any record, those too that no layer gives: a span that is a point, a mast that is a chain.
fn record() -> impl Strategy<Value = Obstacle> {
    let kind = prop_oneof![
        Just(ObstacleKind::Span),
        Just(ObstacleKind::Support),
        Just(ObstacleKind::Building),
        text().prop_map(|words| ObstacleKind::Structure(words.into())),
    ];
    let permanence = prop_oneof![
        Just(Permanence::Permanent),
        Just(Permanence::Temporary),
        Just(Permanence::Unknown),
    ];
    let accuracy = || prop_oneof![Just(0.0), Just(-0.0), 0.0..30.0].prop_map(Metres::of);
    (
        source(),
        proptest::option::of(text()),
        kind,
        shape(),
        top(),
        permanence,
        (accuracy(), accuracy()),
        proptest::option::of(detail()),
    )
        .prop_map(
            |(source, name, kind, shape, top, permanence, accuracies, span)| Obstacle {
                source,
                name,
                kind,
                shape,
                top,
                permanence,
                horizontal_accuracy: accuracies.0,
                vertical_accuracy: accuracies.1,
                span: span.map(Box::new),
            },
        )
}

proptest! {
    #[test]
    fn a_record_comes_out_as_it_went_in(
        first in proptest::collection::vec(record(), 0..20),
        second in proptest::collection::vec(record(), 0..20),
    ) {
        let mut packed: Packed = first.iter().cloned().collect();
        packed.append(second.iter().cloned().collect());
        let all: Vec<Obstacle> = first.into_iter().chain(second).collect();
        prop_assert_eq!(packed.len(), all.len());
        // Debug output tells −0 from 0, which `==` does not.
        let shown = |records: &[Obstacle]| format!("{records:?}");
        prop_assert_eq!(shown(&packed.iter().collect::<Vec<_>>()), shown(&all));
        for (number, record) in all.iter().enumerate() {
            prop_assert_eq!(packed.get(number), Some(record.clone()));
        }
        prop_assert_eq!(packed.get(all.len()), None);
        let tops = all.iter().map(|record| (record.top, Class::of(&record.kind)));
        prop_assert_eq!(packed.tops().collect::<Vec<_>>(), tops.collect::<Vec<_>>());
    }
}

fn mast(number: usize) -> Obstacle {
    Obstacle {
        source: FeatureRef {
            file: "structures.geojson".into(),
            feature: format!("mast {number}").into(),
        },
        name: number.is_multiple_of(3).then(|| format!("Mast {number}")),
        // More kinds and accuracies than can be numbered.
        kind: ObstacleKind::Structure(format!("kind {number}").into()),
        shape: Shape::Point(LonLat::wrapped(number as f64 / 1_000.0, 0.0)),
        top: None,
        permanence: Permanence::Permanent,
        horizontal_accuracy: Metres::of(number as f64),
        vertical_accuracy: Metres::ZERO,
        span: None,
    }
}

/// Beyond the length of a piece, one by one and in runs that end anywhere.
#[test]
fn many_records_come_out_in_order() {
    let mut packed = Packed::default();
    let mut number = 0;
    for run in [40_000, 1, 0, 70_000, 30] {
        packed.append((number..number + run).map(mast).collect());
        number += run;
        packed.push(&Draft::of(&mast(number)));
        number += 1;
    }
    assert_eq!(packed.len(), number);
    assert!(
        packed
            .iter()
            .enumerate()
            .all(|(at, record)| record == mast(at))
    );
    let obstacles = Obstacles::packed(packed);
    for number in [
        0,
        39_999,
        40_000,
        40_001,
        40_002,
        72_768,
        110_003,
        number - 1,
    ] {
        assert_eq!(obstacles.get(number), Some(mast(number)), "{number}");
    }
}
