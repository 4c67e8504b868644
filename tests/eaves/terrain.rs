//! Ceilings over terrain, by `assess` on rasters written here, beside an independent brute force:
//! zero optimistic answers, and no answer lower than the tolerance allows.
//!
//! The brute force shares no code with the fields: it interpolates the raster from longitude and
//! latitude, measures every shield by Karney geodesics (`geographiclib-rs`), and takes the least
//! over points of the area chosen in longitude and latitude.

use eaves::answer::{Assessment, CeilingValue, Stopped};
use eaves::assess::{Question, assess};
use eaves::field::ground::{Grid, Ground};
use eaves::frame::{LocalFrame, LonLat, Xy};
use eaves::obstacle::{Obstacle, ObstacleKind, Shape, Top, VerticalReference};
use eaves::plan::COVER_ERROR_M;
use eaves::read::raster::TerrainFile;
use eaves::units::Metres;
use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::cover::{Numbers, area};
use crate::site::{layers, mast, question, rectangle, span};

/// A raster in degrees, turned about its middle if `turn` is not 0.
struct Terrain {
    columns: usize,
    rows: usize,
    nodes: Vec<f32>,
    transform: [f64; 6],
}

const NO_DATA: f32 = -9999.0;

impl Terrain {
    /// Cells of about `size` metres around a place, heights by column and row.
    fn about(
        place: (f64, f64),
        size: f64,
        count: usize,
        turn_deg: f64,
        height: impl FnMut(usize, usize) -> f32,
    ) -> Self {
        let dy = size / 111_320.0;
        let dx = dy / place.1.to_radians().cos();
        let (sine, cosine) = turn_deg.to_radians().sin_cos();
        let half = count as f64 / 2.0;
        let (a, b, d, e) = (dx * cosine, dx * sine, dy * sine, -dy * cosine);
        let transform = [
            place.0 - half * a - half * b,
            a,
            b,
            place.1 - half * d - half * e,
            d,
            e,
        ];
        let mut height = height;
        let mut nodes = Vec::with_capacity(count * count);
        for row in 0..count {
            for column in 0..count {
                nodes.push(height(column, row));
            }
        }
        Self {
            columns: count,
            rows: count,
            nodes,
            transform,
        }
    }

    fn write(&self, path: &std::path::Path) {
        let driver = gdal::DriverManager::get_driver_by_name("GTiff").unwrap();
        let mut dataset = driver
            .create_with_band_type::<f32, _>(path, self.columns, self.rows, 1)
            .unwrap();
        dataset.set_geo_transform(&self.transform).unwrap();
        dataset
            .set_spatial_ref(&gdal::spatial_ref::SpatialRef::from_epsg(4326).unwrap())
            .unwrap();
        let mut band = dataset.rasterband(1).unwrap();
        band.set_no_data_value(Some(f64::from(NO_DATA))).unwrap();
        let mut values = gdal::raster::Buffer::new((self.columns, self.rows), self.nodes.clone());
        band.write((0, 0), (self.columns, self.rows), &mut values)
            .unwrap();
    }

    /// Bilinear between cell centres; none outside them or beside a node without data.
    fn at(&self, (lon, lat): (f64, f64)) -> Option<f64> {
        let [x0, a, b, y0, d, e] = self.transform;
        let turns = ((x0 - lon) / 360.0).round() * 360.0;
        let (x, y) = (lon + turns - x0, lat - y0);
        let det = a * e - b * d;
        let (c, r) = ((e * x - b * y) / det - 0.5, (a * y - d * x) / det - 0.5);
        if !(c >= 0.0 && r >= 0.0 && c <= (self.columns - 1) as f64 && r <= (self.rows - 1) as f64)
        {
            return None;
        }
        let (i, j) = (
            (c as usize).min(self.columns - 2),
            (r as usize).min(self.rows - 2),
        );
        let node = |i: usize, j: usize| {
            let value = self.nodes[j * self.columns + i];
            (value != NO_DATA).then_some(f64::from(value))
        };
        let (u, v) = (c - i as f64, r - j as f64);
        Some(
            (1.0 - v) * ((1.0 - u) * node(i, j)? + u * node(i + 1, j)?)
                + v * ((1.0 - u) * node(i, j + 1)? + u * node(i + 1, j + 1)?),
        )
    }
}

fn metres(from: (f64, f64), to: (f64, f64)) -> f64 {
    Geodesic::wgs84().inverse(from.1, from.0, to.1, to.0)
}

/// The least geodesic distance to a segment that is straight in longitude and latitude: seven
/// nets, each finer than the last.
fn metres_to_segment(p: (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    // The short way across the antimeridian.
    let east = to.0 + ((from.0 - to.0) / 360.0).round() * 360.0;
    let at = |share: f64| {
        (
            from.0 + share * (east - from.0),
            from.1 + share * (to.1 - from.1),
        )
    };
    let (mut best, mut at_best, mut step) = (f64::INFINITY, 0.5f64, 0.125);
    for _ in 0..7 {
        let middle = at_best;
        for k in -4..=4 {
            let share = (middle + step * f64::from(k)).clamp(0.0, 1.0);
            let found = metres(p, at(share));
            if found < best {
                (best, at_best) = (found, share);
            }
        }
        step /= 4.0;
    }
    best
}

const MARGIN: f64 = 10.0;
const REACH: f64 = 100.0;
const CAP: f64 = 120.0;

/// A shield of the brute force, one place or two, with what it allows AMSL.
struct Shield {
    ends: Vec<(f64, f64)>,
    level: f64,
}

struct Truth<'a> {
    terrain: &'a Terrain,
    accuracy: f64,
    /// The highest first.
    shields: Vec<Shield>,
}

/// Ceilings at a point: AMSL and above ground, none where undetermined.
type Ceilings = Option<(f64, f64)>;

impl Truth<'_> {
    fn new<'a>(terrain: &'a Terrain, accuracy: f64, obstacles: &[Obstacle]) -> Truth<'a> {
        let pair = |place: &LonLat| (place.lon(), place.lat());
        let mut shields: Vec<Shield> = obstacles
            .iter()
            .filter_map(|obstacle| {
                let top = |place: (f64, f64), top: Top| match top.reference {
                    // A top that may lie below its own ground is no shield.
                    VerticalReference::MeanSeaLevel => terrain
                        .at(place)
                        .filter(|base| {
                            top.value_m - obstacle.vertical_accuracy.m() > base + accuracy
                        })
                        .map(|_| top.value_m),
                    VerticalReference::AboveGround => {
                        terrain.at(place).map(|base| base + top.value_m - accuracy)
                    }
                };
                let (ends, level) = match (&obstacle.shape, &obstacle.span) {
                    (Shape::Point(place), _) => {
                        (vec![pair(place)], top(pair(place), obstacle.top?)?)
                    }
                    (Shape::Chain(places), Some(span)) => {
                        let ends: Vec<(f64, f64)> = places.iter().map(pair).collect();
                        let a = top(ends[0], span.ends[0].top?)?;
                        let b = top(ends[1], span.ends[1].top?)?;
                        (ends, a.min(b))
                    }
                    _ => return None,
                };
                Some(Shield {
                    ends,
                    level: level - obstacle.vertical_accuracy.m() - MARGIN,
                })
            })
            .collect();
        shields.sort_by(|a, b| b.level.total_cmp(&a.level));
        Truth {
            terrain,
            accuracy,
            shields,
        }
    }

    fn at(&self, p: (f64, f64)) -> Ceilings {
        let ground = self.terrain.at(p)?;
        let shield = self
            .shields
            .iter()
            .find(|shield| match shield.ends.as_slice() {
                [only] => metres(p, *only) <= REACH,
                [from, to] => metres_to_segment(p, *from, *to) <= REACH,
                _ => false,
            })?;
        Some((
            shield.level.min(ground - self.accuracy + CAP),
            (shield.level - ground - self.accuracy).min(CAP),
        ))
    }
}

/// Points of an area in longitude and latitude: vertices, points along edges, and random ones
/// inside by counting crossings. Longitudes run on across the antimeridian.
fn points(question: &Question, numbers: &mut Numbers, count: usize) -> Vec<(f64, f64)> {
    let rings: Vec<Vec<(f64, f64)>> = question
        .area
        .polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| {
            let first = ring.0[0].x;
            ring.coords()
                .map(|c| (c.x + ((first - c.x) / 360.0).round() * 360.0, c.y))
                .collect()
        })
        .collect();
    let mut found = Vec::new();
    for ring in &rings {
        for pair in ring.windows(2) {
            for k in 0..12 {
                let share = f64::from(k) / 12.0;
                found.push((
                    pair[0].0 + share * (pair[1].0 - pair[0].0),
                    pair[0].1 + share * (pair[1].1 - pair[0].1),
                ));
            }
        }
    }
    let all = || rings.iter().flatten();
    let west = all().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let east = all().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    let south = all().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let north = all().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    for _ in 0..count {
        let (x, y) = (numbers.between(west, east), numbers.between(south, north));
        let crossings = rings
            .iter()
            .flat_map(|ring| ring.windows(2))
            .filter(|pair| {
                let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
                (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)
            })
            .count();
        if crossings % 2 == 1 {
            found.push((x, y));
        }
    }
    found
}

/// Whole centimetres: each line of a budget is rounded, at most eight of them.
const CENTIMETRES: f64 = 0.08;

/// Floating-point noise of elevations in single precision and of shares of a grid cell, metres.
const NOISE: f64 = 1e-6;

struct Seen {
    decided: usize,
    in_part: usize,
    nowhere: usize,
    by_tolerance: usize,
}

fn compare(
    question: &Question,
    answer: &Assessment,
    truth: &Truth,
    numbers: &mut Numbers,
    case: &str,
    seen: &mut Seen,
) {
    let mut least: Ceilings = None;
    let mut undetermined = 0;
    for point in points(question, numbers, 1_000) {
        match (truth.at(point), least) {
            (None, _) => undetermined += 1,
            (Some((amsl, above)), Some(known)) => {
                least = Some((known.0.min(amsl), known.1.min(above)));
            }
            (some, None) => least = some,
        }
    }
    let pair = match (&answer.ceiling.whole, &answer.ceiling.determined_part) {
        (Some(pair), _) => {
            assert_eq!(
                undetermined, 0,
                "{case}: a ceiling where none is determined"
            );
            seen.decided += 1;
            pair
        }
        (None, Some(pair)) => {
            assert!(!answer.ceiling.undetermined.is_empty(), "{case}: no reason");
            seen.in_part += 1;
            pair
        }
        (None, None) => {
            // A determined point may still be met on the very edge of a reach.
            assert!(least.is_none(), "{case}: no answer, but {least:?}");
            seen.nowhere += 1;
            return;
        }
    };
    let amsl = pair.amsl.as_ref().expect("terrain gives AMSL");
    if let Some((least_amsl, least_above)) = least {
        for (value, least) in [(amsl, least_amsl), (&pair.above_ground, least_above)] {
            assert!(
                value.value_m <= least + NOISE,
                "{case}: optimistic, {} above {least}",
                value.value_m
            );
        }
    }
    let near = |value: &CeilingValue, of: fn((f64, f64)) -> f64| {
        // The place may lie on the edge of a reach, where the brute force falls on the other side.
        let frame = LocalFrame::about(value.governs_at);
        // The reaches of the answer are shorter by what the edges of area and shield lie astray.
        let around = [0.002, 0.002 + 2.0 * COVER_ERROR_M];
        let true_least = (0..32)
            .map(|k| {
                let (angle, out) = (
                    std::f64::consts::TAU * f64::from(k) / 16.0,
                    around[k as usize / 16],
                );
                frame.to_place(Xy::new(out * angle.cos(), out * angle.sin()))
            })
            .chain([value.governs_at])
            .filter_map(|place| truth.at((place.lon(), place.lat())))
            .map(of)
            .fold(f64::INFINITY, f64::min);
        // Close to a pole the bound on where a base lies on the raster is decimetres.
        let closeness = if value.governs_at.lat().abs() > 86.0 {
            0.1
        } else {
            0.01
        };
        assert!(
            (-closeness..=0.01).contains(&(value.attained_m - true_least)),
            "{case}: said to be attained {}, is {true_least}",
            value.attained_m
        );
        if value.stopped == Stopped::Tolerance {
            assert!(
                value.value_m >= value.attained_m - question.tolerance.m() - CENTIMETRES,
                "{case}: {} is needlessly below {}",
                value.value_m,
                value.attained_m
            );
        }
        usize::from(value.stopped == Stopped::Tolerance)
    };
    seen.by_tolerance += near(amsl, |both| both.0) + near(&pair.above_ground, |both| both.1);
}

fn shapes(case: usize, numbers: &mut Numbers) -> Vec<Vec<(f64, f64)>> {
    let size = numbers.between(30.0, 260.0);
    match case % 4 {
        0 => vec![vec![
            (0.0, 0.0),
            (size, 0.0),
            (size, size * 0.3),
            (size * 0.3, size * 0.3),
            (size * 0.3, size),
            (0.0, size),
            (0.0, 0.0),
        ]],
        1 => {
            let mut hole = rectangle(-size / 6.0, -size / 6.0, size / 3.0, size / 3.0);
            hole.reverse();
            vec![rectangle(-size / 2.0, -size / 2.0, size, size), hole]
        }
        2 => vec![rectangle(
            -size,
            -0.05,
            2.0 * size,
            numbers.between(0.02, 1.0),
        )],
        _ => vec![rectangle(-size / 2.0, -size / 3.0, size, size * 0.6)],
    }
}

/// Moves an obstacle of the site fixtures, which stand about another place.
fn moved(mut obstacle: Obstacle, origin: LonLat) -> Obstacle {
    let from = LocalFrame::about(crate::site::origin());
    let to = LocalFrame::about(origin);
    let place = |place: LonLat| to.to_place(from.to_plane(place));
    obstacle.shape = match obstacle.shape {
        Shape::Point(at) => Shape::Point(place(at)),
        Shape::Chain(places) => Shape::Chain(places.into_iter().map(place).collect()),
        outline @ Shape::Outline(_) => outline,
    };
    obstacle
}

fn obstacles(origin: LonLat, ground: f64, numbers: &mut Numbers) -> Vec<Obstacle> {
    let count = 1 + (numbers.next() * 8.0) as usize;
    let mut list: Vec<Obstacle> = (0..count)
        .map(|_| {
            let (x, y) = (
                numbers.between(-150.0, 150.0),
                numbers.between(-150.0, 150.0),
            );
            let height = numbers.between(15.0, 160.0).round();
            if numbers.next() < 0.5 {
                let (dx, dy) = (
                    numbers.between(-250.0, 250.0),
                    numbers.between(-250.0, 250.0),
                );
                span(
                    (x, y),
                    (x + dx, y + dy),
                    height,
                    Some(eaves::obstacle::Sag::Included),
                    0.3,
                )
            } else {
                mast(x, y, height, 0.5)
            }
        })
        .map(|obstacle| moved(obstacle, origin))
        .collect();
    // Often something tall that covers all, and some tops stated AMSL.
    if numbers.next() < 0.7 {
        for x in [-140.0, 0.0, 140.0] {
            list.push(moved(
                span(
                    (x, -400.0),
                    (x, 400.0),
                    70.0,
                    Some(eaves::obstacle::Sag::Included),
                    0.0,
                ),
                origin,
            ));
        }
    }
    for obstacle in &mut list {
        if obstacle.kind != ObstacleKind::Span && numbers.next() < 0.4 {
            obstacle.top = obstacle.top.map(|top| Top {
                value_m: ground + top.value_m,
                reference: VerticalReference::MeanSeaLevel,
                ..top
            });
        }
    }
    list
}

fn run(case: usize, place: (f64, f64), terrain: &Terrain, numbers: &mut Numbers, seen: &mut Seen) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("terrain.tif");
    terrain.write(&path);
    let origin = LonLat::new(place.0, place.1).unwrap();
    let ground = terrain.at(place).unwrap_or(0.0);
    let obstacles = obstacles(origin, ground, numbers);
    let accuracy = if case.is_multiple_of(3) { 0.0 } else { 0.7 };
    let question = Question {
        area: area(origin, &shapes(case, numbers)),
        site_elevation: None,
        ground_accuracy: Some(Metres::of(accuracy)),
        ..question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain")
    };
    let truth = Truth::new(terrain, accuracy, &obstacles);
    let mut layers = layers(Vec::new(), obstacles);
    layers.terrain = Some(TerrainFile::open(&path).unwrap());
    let answer = assess(&question, &layers).unwrap();
    compare(
        &question,
        &answer,
        &truth,
        numbers,
        &format!("case {case} at {place:?}"),
        seen,
    );
}

#[test]
fn ceilings_over_terrain_are_never_above_the_brute_force() {
    let mut numbers = Numbers(85);
    let mut seen = Seen {
        decided: 0,
        in_part: 0,
        nowhere: 0,
        by_tolerance: 0,
    };
    let places = [
        (10.0, 0.0),
        (149.9, -45.0),
        (-3.2, 45.0),
        (25.0, 70.0),
        (-100.0, 85.0),
        (180.0, -17.0),
        (12.0, 88.5),
    ];
    for case in 0..84 {
        let place = places[case % places.len()];
        let size = [5.0, 30.0, 90.0, 1_000.0][(case / 7) % 4];
        let count = ((900.0 / size) as usize).clamp(8, 120) + 2 * (case % 2);
        let turn = if case % 5 == 0 { 30.0 } else { 0.0 };
        let base = numbers.between(-60.0, 900.0);
        // Flat, a slope of 45 degrees, rough, rough with holes.
        let kind = case % 4;
        let hole = (numbers.next() * 14.0) as usize;
        let terrain = Terrain::about(place, size, count, turn, |column, row| {
            let height = match kind {
                0 => base,
                1 => base + size * column as f64,
                _ => base + numbers.between(-0.3, 0.3) * size.min(60.0),
            };
            let is_hole = kind == 3
                && case % 8 == 3
                && column.abs_diff(count / 2 + hole) <= 1
                && row.abs_diff(count / 2) <= 2;
            if is_hole { NO_DATA } else { height as f32 }
        });
        run(case, place, &terrain, &mut numbers, &mut seen);
    }
    println!(
        "{} decided, {} in part, {} nowhere, {} searches ended within the tolerance",
        seen.decided, seen.in_part, seen.nowhere, seen.by_tolerance
    );
    assert!(seen.decided >= 15 && seen.in_part >= 15 && seen.by_tolerance >= 60);
}

/// A node that is not a number of metres is unknown ground, never ground infinitely low, over which
/// a ceiling above ground would be infinitely high.
#[test]
fn infinite_elevations_are_unknown() {
    for bad in [f32::INFINITY, f32::NEG_INFINITY, f32::NAN] {
        let mut nodes = vec![100.0; 25];
        nodes[12] = bad;
        let grid = Grid::new(5, 5, nodes, 100.0, |p| {
            Some((2.0 + p.x / 10.0, 2.0 - p.y / 10.0))
        });
        let ground = Ground::grid(grid.unwrap(), 0.0);
        for (x, y) in [(0.0, 0.0), (5.0, 3.0), (-9.0, 0.0)] {
            assert_eq!(ground.known_at(Xy::new(x, y)), None, "{bad} at {x}, {y}");
        }
        assert!(ground.known_at(Xy::new(15.0, 15.0)).is_some());
    }
}

fn asked(place: (f64, f64), rings: &[Vec<(f64, f64)>], terrain: &Terrain) -> Assessment {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("terrain.tif");
    terrain.write(&path);
    let origin = LonLat::new(place.0, place.1).unwrap();
    let question = Question {
        area: area(origin, rings),
        site_elevation: None,
        ..question(&[rectangle(0.0, 0.0, 1.0, 1.0)], "plain")
    };
    let mut layers = layers(Vec::new(), vec![moved(mast(-80.0, 0.0, 50.0, 0.0), origin)]);
    layers.terrain = Some(TerrainFile::open(&path).unwrap());
    assess(&question, &layers).unwrap()
}

/// A fill value that the raster does not declare (−32 768 is usual for SRTM) is no ground: taken
/// for a pit, it would raise the ceiling above ground by 33 km.
#[test]
fn an_elevation_that_no_land_has_is_unknown() {
    for fill in [-32_768.0, -501.0, 9_001.0, 1e30] {
        let terrain = Terrain::about((149.9, -30.4), 30.0, 40, 0.0, |column, _| {
            if column >= 20 { fill } else { 300.0 }
        });
        let answer = asked(
            (149.9, -30.4),
            &[rectangle(-40.0, -20.0, 60.0, 40.0)],
            &terrain,
        );
        assert!(answer.ceiling.whole.is_none(), "{fill}");
        assert!(answer.ground.unknown_share > 0.3);
        let part = answer.ceiling.determined_part.unwrap();
        assert_eq!(part.above_ground.value_m, 40.0);
    }
}

/// A hole beside the area, which coarse bounds take in, leaves no share of it unknown.
#[test]
fn ground_known_all_over_the_area_has_no_unknown_share() {
    let terrain = Terrain::about((149.9, -30.4), 5.0, 200, 0.0, |column, row| {
        if column.abs_diff(105) <= 1 && row.abs_diff(100) <= 1 {
            NO_DATA
        } else {
            300.0
        }
    });
    let answer = asked(
        (149.9, -30.4),
        &[rectangle(-70.0, -30.0, 82.0, 60.0)],
        &terrain,
    );
    assert!(answer.ceiling.whole.is_some());
    assert_eq!(answer.ground.unknown_share, 0.0);
}

/// Ground that rises 1 m in 30 m east, a wish of 75 m, the inner horizontal surface at 375 m AMSL: the
/// part above it lies east of some line, and holds every point that brute force finds above it.
#[test]
fn a_penetration_over_terrain_is_drawn_and_never_too_small() {
    use eaves::surfaces::answer::SurfaceKind;
    use geo::{Area, Intersects};

    let terrain = Terrain::about((149.9, -30.4), 30.0, 40, 0.0, |column, _| {
        280.0 + column as f32
    });
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("terrain.tif");
    terrain.write(&path);
    let question = Question {
        site_elevation: None,
        ground_accuracy: Some(Metres::ZERO),
        wish: Some(eaves::units::Height::of(75.0)),
        surfaces: Some(eaves::surfaces::table::load("annex14-2018").unwrap()),
        ..question(&[rectangle(-300.0, 100.0, 600.0, 300.0)], "plain")
    };
    let mut layers = layers(vec![crate::surface_answers::aerodrome()], Vec::new());
    layers.terrain = Some(TerrainFile::open(&path).unwrap());
    let answer = assess(&question, &layers).unwrap();
    let all = answer.surfaces.unwrap().surfaces;
    let inner = all
        .iter()
        .find(|it| it.kind == SurfaceKind::InnerHorizontal)
        .unwrap();
    let penetration = inner.penetration.as_ref().unwrap();
    let part = penetration.part.as_ref().unwrap();
    let whole = &answer.area.outline;
    let (mut above, mut count) = (0, 0);
    for i in 0..120 {
        for j in 0..60 {
            let (x, y) = (-297.5 + 5.0 * f64::from(i), 102.5 + 5.0 * f64::from(j));
            let at = crate::site::place(x, y);
            count += 1;
            if terrain.at((at.lon(), at.lat())).unwrap() + 75.0 > 375.0 {
                above += 1;
                let point = geo::Point::new(at.lon(), at.lat());
                assert!(part.intersects(&point), "{x} {y}");
            }
        }
    }
    let truth = f64::from(above) / f64::from(count);
    let share = part.unsigned_area() / whole.unsigned_area();
    assert!((0.4..0.55).contains(&truth), "{truth}");
    assert!(
        share > truth - 0.005 && share < truth + 0.02,
        "{share} {truth}"
    );
    assert!((penetration.share - truth).abs() < 0.01);
}
