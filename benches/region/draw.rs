//! What stands where in the synthetic region, drawn from a seed and the number of each thing.

/// Middle of the region, degrees.
const MIDDLE: (f64, f64) = (148.0, -31.5);
/// Metres in a degree of latitude, near enough to scatter things.
const DEGREE_M: f64 = 111_000.0;
/// Square kilometres of land to a town.
const LAND_OF_A_TOWN_KM2: f64 = 800.0;
/// Spans of a line.
pub const LINE: u32 = 10;

/// How much of everything there is.
#[derive(Clone, Copy)]
pub struct Region {
    pub seed: u64,
    pub extent_km: f64,
    pub sites: u32,
    pub spans: u32,
    pub structures: u32,
    pub aerodromes: u32,
    /// Structures drawn about each site besides.
    pub near: u32,
}

impl Region {
    pub const LARGE: Self = Self {
        seed: 2026,
        extent_km: 800.0,
        sites: 200_000,
        spans: 500_000,
        structures: 2_000_000,
        aerodromes: 3_000,
        near: 0,
    };

    pub fn of_size(name: &str) -> Option<Self> {
        let large = Self::LARGE;
        match name {
            "large" => Some(large),
            "medium" => Some(Self {
                sites: 20_000,
                spans: 100_000,
                structures: 400_000,
                ..large
            }),
            "small" => Some(Self {
                extent_km: 80.0,
                sites: 2_000,
                spans: 5_000,
                structures: 20_000,
                aerodromes: 30,
                ..large
            }),
            "dense" => Some(Self {
                extent_km: 200.0,
                sites: 2_000,
                spans: 20_000,
                structures: 0,
                aerodromes: 60,
                near: 400,
                ..large
            }),
            _ => None,
        }
    }

    pub fn lines(&self) -> u32 {
        self.spans.div_ceil(LINE)
    }
}

/// Kinds of things, so that equal numbers of different kinds draw differently.
#[derive(Clone, Copy)]
enum Kind {
    Town = 1,
    Line,
    Structure,
    Aerodrome,
    Site,
    Near,
}

/// Numbers drawn for one thing: splitmix64 (Steele, Lea and Flood 2014, doi:10.1145/2714064.2660195;
/// constants from memory).
pub struct Drawing(u64);

impl Drawing {
    fn new(region: &Region, kind: Kind, number: u32) -> Self {
        let mut drawing = Self(
            region
                .seed
                .wrapping_mul(0x9e37_79b9_7f4a_7c15)
                .wrapping_add((kind as u64) << 56)
                .wrapping_add(u64::from(number) << 16),
        );
        drawing.next();
        drawing
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 up to and without 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub fn below(&mut self, count: u32) -> u32 {
        (self.share() * f64::from(count)) as u32
    }

    /// About 0 with a standard deviation near 1: three shares (Irwin and Hall).
    fn bell(&mut self) -> f64 {
        (self.share() + self.share() + self.share() - 1.5) * 2.0
    }
}

/// A longitude and a latitude.
pub type Place = (f64, f64);

fn moved(from: Place, east_m: f64, north_m: f64) -> Place {
    let lat = from.1 + north_m / DEGREE_M;
    (
        from.0 + east_m / (DEGREE_M * from.1.to_radians().cos()),
        lat,
    )
}

/// A structure: a footprint or a point, with what the file says of it.
pub struct Structure {
    /// Corners of a footprint; one place for a point.
    pub places: Vec<Place>,
    pub height_m: Option<f64>,
    pub kind: &'static str,
}

/// One line of spans with its supports at the vertices.
pub struct Line {
    pub places: Vec<Place>,
    pub height_m: Option<f64>,
    pub voltage: u32,
}

impl Region {
    fn anywhere(&self, drawing: &mut Drawing) -> Place {
        let half = self.extent_km * 500.0;
        let (east, north) = (drawing.between(-half, half), drawing.between(-half, half));
        let (_, lat) = moved(MIDDLE, 0.0, north);
        moved((MIDDLE.0, lat), east, 0.0)
    }

    /// A place in one of the towns: thick in the middle, thin at the edge.
    fn in_a_town(&self, drawing: &mut Drawing) -> Place {
        let towns = (self.extent_km.powi(2) / LAND_OF_A_TOWN_KM2).ceil() as u32;
        let mut town = Drawing::new(self, Kind::Town, drawing.below(towns));
        let middle = self.anywhere(&mut town);
        let spread = town.between(400.0, 2_000.0);
        moved(middle, spread * drawing.bell(), spread * drawing.bell())
    }

    pub fn line(&self, number: u32) -> Line {
        let mut drawing = Drawing::new(self, Kind::Line, number);
        let mut place = if drawing.share() < 0.5 {
            self.in_a_town(&mut drawing)
        } else {
            self.anywhere(&mut drawing)
        };
        let mut heading = drawing.between(0.0, std::f64::consts::TAU);
        let spans = LINE.min(self.spans - number * LINE);
        let mut places = vec![place];
        for _ in 0..spans {
            heading += drawing.between(-0.2, 0.2);
            let length = drawing.between(220.0, 420.0);
            place = moved(place, length * heading.sin(), length * heading.cos());
            places.push(place);
        }
        Line {
            places,
            height_m: (drawing.share() < 0.95).then(|| drawing.between(20.0, 60.0)),
            voltage: [66_000, 110_000, 132_000, 220_000][drawing.below(4) as usize],
        }
    }

    pub fn structure(&self, number: u32) -> Structure {
        let mut drawing = Drawing::new(self, Kind::Structure, number);
        let at = if drawing.share() < 0.7 {
            self.in_a_town(&mut drawing)
        } else {
            self.anywhere(&mut drawing)
        };
        structure_at(at, &mut drawing)
    }

    /// One of the structures drawn about a site.
    pub fn near(&self, site: u32, number: u32) -> Structure {
        let mut drawing = Drawing::new(self, Kind::Near, site * self.near + number);
        let (middle, size) = self.site_middle(&mut Drawing::new(self, Kind::Site, site));
        let out = size / 2.0 + 60.0;
        let (east, north) = (drawing.between(-out, out), drawing.between(-out, out));
        structure_at(moved(middle, east, north), &mut drawing)
    }

    pub fn aerodrome(&self, number: u32) -> (Place, f64, &'static str) {
        let mut drawing = Drawing::new(self, Kind::Aerodrome, number);
        let at = self.anywhere(&mut drawing);
        let kind = if drawing.share() < 0.25 {
            "heliport"
        } else {
            "small_airport"
        };
        (at, drawing.between(20.0, 3_000.0).round(), kind)
    }

    /// Middle and width of a site, metres: by a line, in a town, or anywhere.
    fn site_middle(&self, drawing: &mut Drawing) -> (Place, f64) {
        let where_to = drawing.share();
        let middle = if where_to < 0.4 && self.spans > 0 {
            let line = self.line(drawing.below(self.lines()));
            let vertex = drawing.below(line.places.len() as u32) as usize;
            let (east, north) = (drawing.between(-60.0, 60.0), drawing.between(-60.0, 60.0));
            line.places
                .get(vertex)
                .map_or(MIDDLE, |place| moved(*place, east, north))
        } else if where_to < 0.8 {
            self.in_a_town(drawing)
        } else {
            self.anywhere(drawing)
        };
        (middle, 50.0 * 12.0_f64.powf(drawing.share()))
    }

    /// The corners of a site: 5 to 12, star-shaped about its middle, 50 m to 600 m across.
    pub fn site(&self, number: u32) -> Vec<Place> {
        let mut drawing = Drawing::new(self, Kind::Site, number);
        let (middle, size) = self.site_middle(&mut drawing);
        let corners = 5 + drawing.below(8);
        (0..corners)
            .map(|corner| {
                let turn = (f64::from(corner) + drawing.between(-0.3, 0.3)) / f64::from(corners);
                let (sine, cosine) = (turn * std::f64::consts::TAU).sin_cos();
                let out = size / 2.0 * drawing.between(0.6, 1.0);
                moved(middle, out * cosine, out * sine)
            })
            .collect()
    }
}

fn structure_at(at: Place, drawing: &mut Drawing) -> Structure {
    if drawing.share() < 0.15 {
        let kinds = [
            ("mast", 25.0, 70.0),
            ("chimney", 20.0, 60.0),
            ("silo", 12.0, 40.0),
            ("water_tower", 15.0, 45.0),
            ("crane", 20.0, 70.0),
        ];
        let (kind, low, high) = kinds[drawing.below(5) as usize];
        return Structure {
            places: vec![at],
            height_m: (drawing.share() < 0.9).then(|| drawing.between(low, high)),
            kind,
        };
    }
    let (length, width) = (drawing.between(8.0, 40.0), drawing.between(6.0, 20.0));
    let (sine, cosine) = drawing.between(0.0, std::f64::consts::PI).sin_cos();
    let corner = |along: f64, across: f64| {
        let (east, north) = (
            along * cosine - across * sine,
            along * sine + across * cosine,
        );
        moved(at, east, north)
    };
    Structure {
        places: vec![
            corner(0.0, 0.0),
            corner(length, 0.0),
            corner(length, width),
            corner(0.0, width),
        ],
        height_m: (drawing.share() < 0.9)
            .then(|| drawing.between(3.0, 12.0) + 20.0 * drawing.share().powi(4)),
        kind: "building",
    }
}
