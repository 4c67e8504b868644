//! How a section lies on the sheet: its scales, its exaggeration, and what range of levels it shows.
//!
//! Not here: what is drawn (see the modules beside this).

use crate::answer::{LevelRun, SectionAnswer};
use crate::figure::scene::{Axes, Point, Rect};
use crate::figure::view::standard_denominator;
use crate::sheet::UNIT_MM;

/// The vertical exaggerations that are chosen from, as far as the vertical scale is a standard one too.
const EXAGGERATIONS: [f64; 23] = [
    1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0,
    50.0, 60.0, 80.0, 100.0, 150.0, 200.0,
];

/// Room below the lowest and above the highest level, units.
const BELOW: f64 = 52.0;
/// See [`BELOW`]: room for the labels of what is highest.
const ABOVE: f64 = 76.0;

/// A section shows no less than this range of levels, metres: flat ground and nothing on it is not
/// exaggerated into hills.
const LEAST_SPAN_M: f64 = 40.0;

/// No section is drawn larger than 1 : this along its line.
const LARGEST_SCALE: f64 = 100.0;

/// What lies over the site is shown up to this many times the height of everything else.
const OVERHEAD_SHARE: f64 = 1.2;

/// A section on the sheet.
#[derive(Clone, Copy, Debug)]
pub struct Plot {
    /// The part of the sheet that it fills: its ends are the ends of the cut.
    pub rect: Rect,
    /// The scale along the cut is 1 : this.
    pub denominator: f64,
    /// How many times the vertical scale is larger.
    pub exaggeration: f64,
    /// Levels above this are not shown.
    pub high_m: f64,
    /// The level at the bottom edge.
    pub low_m: f64,
    units_per_metre_along: f64,
    units_per_metre_up: f64,
}

impl Plot {
    /// Fits a section into a part of the sheet; none when it has no length.
    pub fn of(section: &SectionAnswer, room: Rect) -> Option<Self> {
        let length = section.length_m.m();
        let (low, high) = range(section);
        // Written so that NaN fails.
        if !(length > 0.0 && high >= low && room.width() > 0.0) {
            return None;
        }
        let height = (room.height() - BELOW - ABOVE).max(1.0);
        let span = (high - low).max(LEAST_SPAN_M);
        let unit = |denominator: f64| 1000.0 / UNIT_MM / denominator;
        let needed = (length / room.width() / unit(1.0).recip())
            .max(span / height / unit(1.0).recip())
            .max(LARGEST_SCALE);
        let denominator = standard_denominator(needed);
        let along = unit(denominator);
        let exaggeration = EXAGGERATIONS
            .into_iter()
            .rev()
            .find(|times| {
                let up = denominator / times;
                span * along * times <= height && (standard_denominator(up) - up).abs() < 1e-6 * up
            })
            .unwrap_or(1.0);
        let up = along * exaggeration;
        let width = length * along;
        let middle = room.middle().x;
        let rect = Rect::new(
            middle - width / 2.0,
            room.top,
            middle + width / 2.0,
            room.bottom,
        );
        // What is left over is shared out below and above.
        let spare = height - span * up;
        let low_m = low - (BELOW + spare * 0.35) / up;
        Some(Self {
            rect,
            denominator,
            exaggeration,
            low_m,
            high_m: low_m + rect.height() / up,
            units_per_metre_along: along,
            units_per_metre_up: up,
        })
    }

    /// The point of the sheet at a distance along the cut and a level.
    pub fn at(&self, at_m: f64, level_m: f64) -> Point {
        Point::new(
            self.rect.left + at_m * self.units_per_metre_along,
            self.rect.bottom - (level_m - self.low_m) * self.units_per_metre_up,
        )
    }

    /// Metres to a unit along the cut.
    pub fn metres_along(&self, units: f64) -> f64 {
        units / self.units_per_metre_along
    }

    /// Metres to a unit upwards.
    pub fn metres_up(&self, units: f64) -> f64 {
        units / self.units_per_metre_up
    }

    /// A run of levels on the sheet.
    pub fn run(&self, run: &LevelRun) -> Vec<Point> {
        run.iter()
            .map(|point| self.at(point.at_m, point.level_m))
            .collect()
    }

    /// The scale of the vertical axis is 1 : this.
    pub fn vertical_denominator(&self) -> f64 {
        self.denominator / self.exaggeration
    }

    /// What the scene is told of it.
    pub fn axes(&self) -> Axes {
        Axes {
            origin: self.at(0.0, 0.0),
            units_per_metre_along: self.units_per_metre_along,
            units_per_metre_up: self.units_per_metre_up,
        }
    }
}

/// The lowest and the highest level to be shown.
fn range(section: &SectionAnswer) -> (f64, f64) {
    let ground = section
        .stations
        .iter()
        .flat_map(|station| [station.ground_low_m, station.ground_high_m])
        .flatten();
    let ceiling = section.ceiling.iter().flatten().map(|point| point.level_m);
    let shield = section.governs.iter().flat_map(|governs| {
        let start = governs.budget.first().map(|line| line.value_m);
        let top = governs.shield.as_ref().map(|shield| shield.trusted_top_m);
        start.into_iter().chain(top)
    });
    let wires = section
        .wires
        .iter()
        .flat_map(|wire| wire.points.iter().chain(&wire.along))
        .flat_map(|point| [point.low_m, point.high_m])
        .flatten();
    let objects = section
        .objects
        .iter()
        .flat_map(|object| [object.base_low_m, object.top_low_m, object.top_high_m])
        .flatten();
    let wish = section.wish_m_agl.into_iter().flat_map(|wish| {
        let grounds = section.stations.iter().filter_map(|it| it.ground_high_m);
        grounds
            .map(move |ground| ground + wish.m())
            .collect::<Vec<f64>>()
    });
    let certified = section.certified.iter().map(|it| it.level_m);
    let (low, high) = ground
        .chain(ceiling)
        .chain(shield)
        .chain(wires)
        .chain(objects)
        .chain(wish)
        .chain(certified)
        .filter(|level| level.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), level| {
            (low.min(level), high.max(level))
        });
    if low > high {
        return (0.0, 1.0);
    }
    // Surfaces and floors that are not far above the rest.
    let reach = high + (high - low).max(10.0) * OVERHEAD_SHARE;
    let overhead = section
        .surfaces
        .iter()
        .flat_map(|surface| &surface.runs)
        .chain(section.floors.iter().flat_map(|floor| &floor.runs))
        .filter_map(|run| run.iter().map(|point| point.level_m).reduce(f64::min))
        .filter(|level| *level <= reach)
        .fold(high, f64::max);
    (low, overhead)
}
