//! What a screening costs a site once layers are read: sites, lines and buildings of the synthetic
//! region at the density of its large size, and of the dense one, in memory. One thread.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench")]
#![allow(dead_code, reason = "the drawings serve the generator too")]

#[path = "region/draw.rs"]
mod draw;

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use draw::{Place, Region, Structure};
use eaves::aerodrome::{Aerodrome, AerodromeKind, PublishedHours};
use eaves::batch::{Common, Sensitivity, Settings, Site, answer};
use eaves::error::Cautions;
use eaves::frame::{LonLat, distance};
use eaves::obstacle::{
    HeightBasis, Obstacle, ObstacleKind, Permanence, Sag, Shape, SpanDetail, SpanEnd, Top,
    VerticalReference,
};
use eaves::profile;
use eaves::read::{Layers, Obstacles};
use eaves::site::{FeatureRef, OperatingArea};
use eaves::units::{Altitude, Height, Metres};
use geo::{Coord, LineString, MultiPolygon, Polygon};

fn at((lon, lat): Place) -> LonLat {
    LonLat::wrapped(lon, lat)
}

fn polygon(corners: &[Place]) -> Polygon<f64> {
    let ring: LineString<f64> = corners
        .iter()
        .map(|(x, y)| Coord { x: *x, y: *y })
        .collect();
    Polygon::new(ring, Vec::new())
}

fn source(feature: String) -> FeatureRef {
    FeatureRef {
        file: "synthetic".into(),
        feature: feature.into(),
    }
}

fn top(value_m: f64) -> Top {
    Top {
        value_m,
        reference: VerticalReference::AboveGround,
        basis: HeightBasis::Stated,
    }
}

fn spans(region: &Region, number: u32) -> impl Iterator<Item = Obstacle> {
    let line = region.line(number);
    let end = move || SpanEnd {
        top: line.height_m.map(top),
        support: None,
    };
    let places: Vec<LonLat> = line.places.into_iter().map(at).collect();
    (1..places.len()).map(move |index| {
        let (from, to) = (places[index - 1], places[index]);
        Obstacle {
            source: source(format!("way/{number}")),
            name: None,
            kind: ObstacleKind::Span,
            shape: Shape::Chain(vec![from, to]),
            top: None,
            permanence: Permanence::Permanent,
            horizontal_accuracy: Metres::of(1.0),
            vertical_accuracy: Metres::of(0.5),
            span: Some(Box::new(SpanDetail {
                ends: [end(), end()],
                sag: Some(Sag::ShareOfSpan(0.02)),
                length: distance(from, to),
                voltage_v: None,
                clearance: None,
                wire_offset: None,
                index: index - 1,
            })),
        }
    })
}

fn structure(number: u32, drawn: &Structure) -> Obstacle {
    Obstacle {
        source: source(format!("way/{}", 1_000_000 + number)),
        name: None,
        kind: ObstacleKind::Structure(drawn.kind.into()),
        shape: match drawn.places.as_slice() {
            [only] => Shape::Point(at(*only)),
            corners => Shape::Outline(polygon(corners)),
        },
        top: drawn.height_m.map(top),
        permanence: if drawn.kind == "crane" {
            Permanence::Temporary
        } else {
            Permanence::Permanent
        },
        horizontal_accuracy: Metres::of(2.0),
        vertical_accuracy: Metres::of(1.0),
        span: None,
    }
}

fn aerodrome(region: &Region, number: u32) -> Aerodrome {
    let (place, elevation_ft, _) = region.aerodrome(number);
    Aerodrome {
        source: source(format!("A{number:04}")),
        ident: Some(format!("A{number:04}")),
        name: format!("Invented Field {number}"),
        kind: AerodromeKind::Aerodrome,
        reference_point: Some(at(place)),
        elevation: Some(Altitude::from_feet(elevation_ft)),
        controlled: None,
        military: None,
        hours: PublishedHours::default(),
        runways: Vec::new(),
        movement_area: None,
        boundary: None,
    }
}

fn common(region: &Region, wishes: Vec<Height>) -> Common {
    let mut obstacles: Vec<Obstacle> = (0..region.lines())
        .flat_map(|number| spans(region, number))
        .collect();
    obstacles.extend((0..region.structures).map(|it| structure(it, &region.structure(it))));
    for site in 0..region.sites {
        obstacles.extend((0..region.near).map(|it| structure(it, &region.near(site, it))));
    }
    let layers = Layers {
        aerodromes: (0..region.aerodromes)
            .map(|it| aerodrome(region, it))
            .collect(),
        obstacles: Obstacles::new(obstacles),
        airspace: None,
        plan: Vec::new(),
        terrain: None,
        summaries: Vec::new(),
        cautions: Cautions::default(),
        not_assessed: Vec::new(),
    };
    let settings = Settings {
        profile: profile::load("plain").unwrap(),
        date: jiff::civil::date(2026, 7, 1),
        search_radius: Metres::from_nautical_miles(10.0),
        site_elevation: None,
        ground_accuracy: None,
        tolerance: Metres::of(0.1),
        qnh: None,
        sensitivity: Sensitivity {
            wishes,
            ..Sensitivity::default()
        },
    };
    Common::new(settings, layers)
}

fn sites(region: &Region) -> Vec<Site> {
    (0..region.sites)
        .map(|number| Site {
            id: format!("site-{number:06}"),
            area: OperatingArea {
                source: source(number.to_string()),
                name: String::new(),
                polygons: MultiPolygon::new(vec![polygon(&region.site(number))]),
            },
            has_cautions: false,
            wish: None,
        })
        .collect()
}

fn screening(c: &mut Criterion) {
    // A hundredth of the large region's land.
    let sparse = Region {
        extent_km: 80.0,
        sites: 2_000,
        spans: 5_000,
        structures: 20_000,
        aerodromes: 30,
        ..Region::LARGE
    };
    let dense = Region {
        extent_km: 40.0,
        sites: 80,
        spans: 800,
        structures: 0,
        aerodromes: 3,
        near: 400,
        ..Region::LARGE
    };
    let cases = [
        ("a site of the region", &sparse, Vec::new()),
        (
            "a site of the region, 15 m wished",
            &sparse,
            vec![Height::of(15.0)],
        ),
        ("a crowded site", &dense, Vec::new()),
    ];
    for (name, region, wishes) in cases {
        let (common, sites) = (common(region, wishes), sites(region));
        let mut group = c.benchmark_group("screening");
        group.throughput(Throughput::Elements(sites.len() as u64));
        group.sample_size(10);
        group.bench_function(name, |b| {
            b.iter(|| {
                for site in &sites {
                    black_box(answer(site, &common));
                }
            });
        });
        group.finish();
    }
}

criterion_group!(benches, screening);
criterion_main!(benches);
