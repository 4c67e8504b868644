//! Random small cases with a brute force that shares no code with eaves: what the ceiling is at points
//! of an area, written out from the rule.
//!
//! A case is an area of 40 m to 300 m with a few masts, buildings and spans about it, on flat ground or
//! on terrain. Cases stand two kilometres apart, so that none sees the shields of another.

/// Reach and margin of the rule, and its cap: metres.
pub const RULE: (f64, f64, f64) = (100.0, 10.0, 120.0);
/// Horizontal and vertical accuracy that the layers of obstacles state, metres.
pub const ACCURACY: (f64, f64) = (1.5, 0.7);
/// Vertical accuracy of the terrain, metres.
pub const TERRAIN_ACCURACY: f64 = 0.4;
/// The sag of spans, as a share of their length.
pub const SAG: f64 = 0.025;
/// Degrees between cases.
pub const APART_DEG: f64 = 0.02;
/// South-west corner of the first case, degrees.
pub const CORNER: [f64; 2] = [140.0, -36.0];
/// How many cases stand in a row.
pub const IN_A_ROW: usize = 100;
/// Cells of the terrain in a degree.
pub const NODES_PER_DEG: f64 = 100.0;

/// WGS 84: semi-major axis, metres, and first eccentricity squared (NIMA TR8350.2).
const ELLIPSOID: (f64, f64) = (6_378_137.0, 0.006_694_379_990_14);

/// A longitude and a latitude, degrees.
pub type Place = [f64; 2];
/// Metres east and north of the middle of a case.
type Metric = [f64; 2];

/// Numbers from a seed: xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift
/// generators, scrambled", doi:10.1145/2845077; constants from memory).
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u64) -> Self {
        let mut draws = Self(seed.wrapping_mul(0x2545_f491_4f6c_dd1d) | 1);
        for _ in 0..8 {
            draws.share();
        }
        draws
    }

    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

/// What a shield is in plan.
#[derive(Clone, Copy, PartialEq)]
pub enum Plan {
    Mast,
    Span,
    Building,
}

/// A shield.
pub struct Shield {
    pub plan: Plan,
    pub places: Vec<Place>,
    pub height: f64,
}

/// An area with the shields about it.
pub struct Case {
    pub middle: Place,
    pub area: Vec<Place>,
    pub shields: Vec<Shield>,
}

impl Case {
    /// Case number `number` of a seed.
    pub fn draw(seed: u64, number: usize) -> Self {
        let mut draws = Draws::new(seed ^ ((number as u64 + 1) << 20));
        let middle = [
            CORNER[0] + APART_DEG * ((number % IN_A_ROW) as f64 + 0.5),
            CORNER[1] + APART_DEG * ((number / IN_A_ROW) as f64 + 0.5),
        ];
        let size = draws.between(20.0, 150.0);
        let corners = 3 + (draws.share() * 6.0) as usize;
        let turn = draws.share();
        let area = (0..corners)
            .map(|corner| {
                let part = (corner as f64 + draws.between(0.1, 0.9)) / corners as f64 + turn;
                let (sine, cosine) = (part * std::f64::consts::TAU).sin_cos();
                let out = size * draws.between(0.3, 1.0);
                place(middle, [out * cosine, out * sine])
            })
            .collect();
        let shields = (0..1 + (draws.share() * 6.0) as usize)
            .map(|_| shield(middle, size + 40.0, &mut draws))
            .collect();
        Self {
            middle,
            area,
            shields,
        }
    }
}

fn shield(middle: Place, within: f64, draws: &mut Draws) -> Shield {
    let at = [
        draws.between(-within, within),
        draws.between(-within, within),
    ];
    let turn = draws.between(0.0, std::f64::consts::TAU);
    let along = |length: f64, across: f64| {
        let (sine, cosine) = turn.sin_cos();
        place(
            middle,
            [
                at[0] + length * cosine - across * sine,
                at[1] + length * sine + across * cosine,
            ],
        )
    };
    let kind = draws.share();
    // Heights in steps, so that shields of one level meet.
    let height = draws.between(3.0, 35.0).round() * 4.0;
    if kind < 0.4 {
        return Shield {
            plan: Plan::Mast,
            places: vec![along(0.0, 0.0)],
            height,
        };
    }
    if kind < 0.7 {
        let length = draws.between(60.0, 400.0);
        let back = draws.between(0.0, length);
        return Shield {
            plan: Plan::Span,
            places: vec![along(-back, 0.0), along(length - back, 0.0)],
            height,
        };
    }
    let (long, wide) = (draws.between(10.0, 60.0), draws.between(8.0, 30.0));
    let mut places = vec![along(0.0, 0.0), along(long, 0.0), along(long, wide)];
    if draws.share() < 0.5 {
        // An L.
        places.push(along(long / 2.0, wide));
        places.push(along(long / 2.0, wide * 2.0));
        places.push(along(0.0, wide * 2.0));
    } else {
        places.push(along(0.0, wide));
    }
    Shield {
        plan: Plan::Building,
        places,
        height,
    }
}

/// Terrain: elevations at nodes, bilinear between them; flat at 0 without nodes.
#[derive(Clone, Default)]
pub struct Terrain {
    pub columns: usize,
    pub rows: usize,
    /// Row by row from the north.
    pub nodes: Vec<f32>,
}

impl Terrain {
    /// Random elevations under the first `cases` cases: slopes of up to a quarter.
    pub fn draw(seed: u64, cases: usize) -> Self {
        let mut draws = Draws::new(seed ^ 0x7e44);
        let columns = (IN_A_ROW as f64 * APART_DEG * NODES_PER_DEG) as usize + 21;
        let height_deg = (cases.div_ceil(IN_A_ROW)) as f64 * APART_DEG;
        let rows = (height_deg * NODES_PER_DEG) as usize + 21;
        let steep = draws.between(20.0, 250.0);
        Self {
            columns,
            rows,
            nodes: (0..columns * rows)
                .map(|_| (100.0 + draws.between(0.0, steep)) as f32)
                .collect(),
        }
    }

    /// The place of node (0, 0), ten nodes north-west of the cases.
    pub fn first_node(&self) -> Place {
        [
            CORNER[0] - 10.0 / NODES_PER_DEG,
            CORNER[1] + (self.rows as f64 - 11.0) / NODES_PER_DEG,
        ]
    }

    fn at(&self, place: Place) -> f64 {
        if self.nodes.is_empty() {
            return 0.0;
        }
        let first = self.first_node();
        let x = (place[0] - first[0]) * NODES_PER_DEG;
        let y = (first[1] - place[1]) * NODES_PER_DEG;
        let (column, row) = (x.floor(), y.floor());
        let (u, v) = (x - column, y - row);
        let node = |east: usize, south: usize| {
            let at = (row as usize + south) * self.columns + column as usize + east;
            f64::from(self.nodes[at])
        };
        (node(0, 0) * (1.0 - u) + node(1, 0) * u) * (1.0 - v)
            + (node(0, 1) * (1.0 - u) + node(1, 1) * u) * v
    }

    fn accuracy(&self) -> f64 {
        if self.nodes.is_empty() {
            0.0
        } else {
            TERRAIN_ACCURACY
        }
    }
}

/// Metres in a radian of latitude and of longitude at a latitude.
fn radii(lat: f64) -> (f64, f64) {
    let (a, e2) = ELLIPSOID;
    let (sine, cosine) = lat.to_radians().sin_cos();
    let w2 = 1.0 - e2 * sine * sine;
    (a * (1.0 - e2) / w2.powf(1.5), a / w2.sqrt() * cosine)
}

fn place(middle: Place, at: Metric) -> Place {
    let (north, east) = radii(middle[1]);
    [
        middle[0] + (at[0] / east).to_degrees(),
        middle[1] + (at[1] / north).to_degrees(),
    ]
}

/// The same turned round: straight lines stay straight.
fn laid_out(middle: Place, at: Place) -> Metric {
    let (north, east) = radii(middle[1]);
    [
        (at[0] - middle[0]).to_radians() * east,
        (at[1] - middle[1]).to_radians() * north,
    ]
}

/// A place seen from another, metres: good to a millimetre over the 200 m that matter.
fn seen(from: Place, at: Place) -> Metric {
    let (north, east) = radii((from[1] + at[1]) / 2.0);
    [
        (at[0] - from[0]).to_radians() * east,
        (at[1] - from[1]).to_radians() * north,
    ]
}

/// Into how many pieces a span is cut.
const PIECES: usize = 8;

/// Distance of a segment from the origin.
fn segment_distance(a: Metric, b: Metric) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length2 = dx * dx + dy * dy;
    let t = if length2 > 0.0 {
        (-(a[0] * dx + a[1] * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (a[0] + t * dx).hypot(a[1] + t * dy)
}

/// Whether a ring holds the origin (crossing number).
fn holds_origin(ring: &[Metric]) -> bool {
    let mut inside = false;
    for (k, b) in ring.iter().enumerate() {
        let a = ring[(k + ring.len() - 1) % ring.len()];
        if (a[1] > 0.0) != (b[1] > 0.0) && a[0] + (b[0] - a[0]) * -a[1] / (b[1] - a[1]) > 0.0 {
            inside = !inside;
        }
    }
    inside
}

impl Shield {
    /// It, and the supports at the ends of a span.
    fn with_supports(&self) -> Vec<Self> {
        let one = |plan, places: &[Place]| Self {
            plan,
            places: places.to_vec(),
            height: self.height,
        };
        let mut all = vec![one(self.plan, &self.places)];
        if self.plan == Plan::Span {
            all.extend(self.places.chunks(1).map(|end| one(Plan::Mast, end)));
        }
        all
    }

    /// Distance from a place.
    fn distance(&self, from: Place) -> f64 {
        let corners: Vec<Metric> = self.places.iter().map(|at| seen(from, *at)).collect();
        match self.plan {
            Plan::Mast => corners[0][0].hypot(corners[0][1]),
            // Straight in longitude and latitude: bent by millimetres when seen whole.
            Plan::Span => (0..PIECES)
                .map(|k| {
                    let at = |step: usize| {
                        let t = step as f64 / PIECES as f64;
                        let [a, b] = [self.places[0], self.places[1]];
                        seen(from, [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])])
                    };
                    segment_distance(at(k), at(k + 1))
                })
                .fold(f64::INFINITY, f64::min),
            Plan::Building if holds_origin(&corners) => 0.0,
            Plan::Building => (0..corners.len())
                .map(|k| segment_distance(corners[k], corners[(k + 1) % corners.len()]))
                .fold(f64::INFINITY, f64::min),
        }
    }

    /// The level that it allows, metres AMSL (above flat ground without terrain): its trusted top less
    /// the margin.
    fn level(&self, terrain: &Terrain) -> f64 {
        let base = |at: &Place| {
            let out = ACCURACY.0;
            [
                [0.0, 0.0],
                [out, out],
                [out, -out],
                [-out, out],
                [-out, -out],
            ]
            .into_iter()
            .map(|moved| terrain.at(place(*at, moved)))
            .fold(f64::INFINITY, f64::min)
        };
        let taken_off = ACCURACY.1 + terrain.accuracy() + RULE.1;
        if self.plan != Plan::Span {
            let lowest = self.places.iter().map(base).fold(f64::INFINITY, f64::min);
            return lowest + self.height - taken_off;
        }
        let tops = [
            base(&self.places[0]) + self.height,
            base(&self.places[1]) + self.height,
        ];
        let across = seen(self.places[0], self.places[1]);
        let length = across[0].hypot(across[1]);
        tops[0].min(tops[1]) - drop(length, (tops[0] - tops[1]).abs()) - taken_off
    }
}

/// How far a wire hangs below its lower support: the catenary of the level span's sag, moved sideways
/// until its ends differ by the rise; both by bisection.
fn drop(length: f64, rise: f64) -> f64 {
    let bisect = |mut low: f64, mut high: f64, is_low: &dyn Fn(f64) -> bool| {
        for _ in 0..200 {
            let middle = (low + high) / 2.0;
            if is_low(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low + high) / 2.0
    };
    let sag = SAG * length;
    let hang = |c: f64, x: f64| c * ((x / c).cosh() - 1.0);
    // A greater constant hangs less.
    let constant = bisect(length / 4.0, length * 1e4, &|c| hang(c, length / 2.0) > sag);
    let rise_at = |lower: f64| hang(constant, length + lower) - hang(constant, lower);
    // `lower` is where the lower support stands, the lowest point of the wire being at 0.
    let lower = bisect(-length / 2.0, 0.0, &|lower| rise_at(lower) < rise);
    if rise_at(0.0) <= rise {
        0.0
    } else {
        hang(constant, lower)
    }
}

/// What the brute force says of a point.
#[derive(Clone, Copy)]
pub struct Point {
    /// Above ground and AMSL; none where no shield reaches.
    pub ceiling: Option<[f64; 2]>,
}

impl Case {
    /// The ceiling at points of the area, reaches longer by `slack`: no point of the area has less than
    /// the true minimum, so an answer above the least of these is optimistic.
    pub fn points(&self, terrain: &Terrain, slack: f64) -> Vec<Point> {
        let shields: Vec<Shield> = self
            .shields
            .iter()
            .flat_map(Shield::with_supports)
            .collect();
        let levels: Vec<f64> = shields.iter().map(|it| it.level(terrain)).collect();
        self.asked()
            .into_iter()
            .map(|at| {
                let ground = terrain.at(at);
                let best = shields
                    .iter()
                    .zip(&levels)
                    .filter(|(shield, _)| shield.distance(at) <= RULE.0 - ACCURACY.0 + slack)
                    .map(|(_, level)| *level)
                    .reduce(f64::max);
                let ceiling = best.map(|level| {
                    let accuracy = terrain.accuracy();
                    [
                        (level - ground - accuracy).min(RULE.2),
                        level.min(ground - accuracy + RULE.2),
                    ]
                });
                Point { ceiling }
            })
            .collect()
    }

    /// A lattice, corners and edges, and where reaches cross one another or an edge, with points a few
    /// millimetres about those.
    fn asked(&self) -> Vec<Place> {
        let ring: Vec<Metric> = self
            .area
            .iter()
            .map(|at| laid_out(self.middle, *at))
            .collect();
        let edges = || (0..ring.len()).map(|k| (ring[k], ring[(k + 1) % ring.len()]));
        let mut points: Vec<Metric> = Vec::new();
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for corner in &ring {
            for axis in 0..2 {
                low[axis] = low[axis].min(corner[axis]);
                high[axis] = high[axis].max(corner[axis]);
            }
        }
        for k in 0..=12 {
            for l in 0..=12 {
                let share = |axis: usize, step: i32| {
                    low[axis] + (high[axis] - low[axis]) * f64::from(step) / 12.0
                };
                points.push([share(0, k), share(1, l)]);
            }
        }
        for (a, b) in edges() {
            for k in 0..8 {
                let t = f64::from(k) / 8.0;
                points.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
            }
        }
        let reach = RULE.0 - ACCURACY.0;
        let circles: Vec<Metric> = self
            .shields
            .iter()
            .flat_map(|it| it.places.iter().map(|at| laid_out(self.middle, *at)))
            .collect();
        let mut about = |at: Metric| {
            points.push(at);
            for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                points.push([at[0] + 0.004 * dx, at[1] + 0.004 * dy]);
            }
        };
        for (k, one) in circles.iter().enumerate() {
            for other in &circles[k + 1..] {
                let (dx, dy) = (other[0] - one[0], other[1] - one[1]);
                let half = dx.hypot(dy) / 2.0;
                if half > 0.0 && half < reach {
                    let out = (reach * reach - half * half).sqrt() / (2.0 * half);
                    let middle = [(one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0];
                    about([middle[0] - dy * out, middle[1] + dx * out]);
                    about([middle[0] + dy * out, middle[1] - dx * out]);
                }
            }
            for (a, b) in edges() {
                let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
                let (fx, fy) = (a[0] - one[0], a[1] - one[1]);
                let (p, q, r) = (
                    dx * dx + dy * dy,
                    fx * dx + fy * dy,
                    fx * fx + fy * fy - reach * reach,
                );
                let under = q * q - p * r;
                if under > 0.0 && p > 0.0 {
                    for t in [(-q - under.sqrt()) / p, (-q + under.sqrt()) / p] {
                        if (0.0..=1.0).contains(&t) {
                            about([a[0] + t * dx, a[1] + t * dy]);
                        }
                    }
                }
            }
        }
        points
            .into_iter()
            .filter(|at| {
                let moved: Vec<Metric> =
                    ring.iter().map(|c| [c[0] - at[0], c[1] - at[1]]).collect();
                holds_origin(&moved)
            })
            .map(|at| place(self.middle, at))
            .chain(self.area.iter().copied())
            .collect()
    }
}
