//! The ground of a site: terrain, a stated elevation, or flat ground with the assumption said.

use super::{DRAWN_AROUND, Question};
use crate::answer::{GroundAnswer, GroundSource, NotAssessed};
use crate::error::Result;
use crate::field::cap::{CapAboveGround, CapAmsl};
use crate::field::ground::{Elevation, Grid, Ground};
use crate::frame::{LonLat, Xy};
use crate::plan::Plan;
use crate::read::Layers;
use crate::search::{self, Limits, Scope};
use crate::units::{Altitude, Metres};

/// The ground with its origin.
pub struct SiteGround {
    /// The ground; level at 0 when flat ground is assumed.
    pub ground: Ground,
    /// Where it comes from.
    pub source: GroundSource,
    accuracy_is_stated: bool,
}

impl SiteGround {
    pub fn of(
        question: &Question,
        layers: &Layers,
        plan: &Plan,
        widest_reach: Metres,
        not_assessed: &mut Vec<NotAssessed>,
    ) -> Result<Self> {
        let accuracy_of = |stated: Option<Metres>| {
            let stated = question.ground_accuracy.or(stated);
            (stated.unwrap_or(Metres::ZERO).m(), stated.is_some())
        };
        if let Some(elevation) = question.site_elevation {
            let (accuracy, accuracy_is_stated) = accuracy_of(None);
            return Ok(Self {
                ground: Ground::level(elevation.m(), accuracy),
                source: GroundSource::Stated {
                    elevation_m_amsl: elevation,
                },
                accuracy_is_stated,
            });
        }
        let mut missing = |why: String| {
            not_assessed.push(NotAssessed {
                what: "terrain".to_owned(),
                why,
                count: 0,
                features: Vec::new(),
            });
        };
        if let Some(terrain) = &layers.terrain {
            let (accuracy, accuracy_is_stated) = accuracy_of(terrain.accuracy());
            let radius = plan.radius() + widest_reach + DRAWN_AROUND;
            let mut window = terrain.window(plan.frame(), radius)?;
            let frame = *plan.frame();
            let file = terrain.file().to_owned();
            let grid = Grid::new(
                window.columns,
                window.rows,
                std::mem::take(&mut window.elevation_m),
                radius.m(),
                |point: Xy| {
                    let place: LonLat = frame.to_place(point);
                    window.pixel_of(place)
                },
            );
            if grid.is_none() {
                missing(format!("{file} has no data here"));
            }
            return Ok(Self {
                ground: grid.map_or_else(Ground::unknown, |grid| Ground::grid(grid, accuracy)),
                source: GroundSource::Terrain { file },
                accuracy_is_stated,
            });
        }
        if !not_assessed_already(layers) {
            missing("no terrain layer in the folder and no site elevation given".to_owned());
        }
        let (accuracy, accuracy_is_stated) = accuracy_of(None);
        Ok(Self {
            ground: Ground::level(0.0, accuracy),
            source: GroundSource::AssumedFlat,
            accuracy_is_stated,
        })
    }

    /// Whether elevations of this ground are AMSL.
    pub fn is_amsl(&self) -> bool {
        self.source != GroundSource::AssumedFlat
    }

    /// Where it comes from, for a note.
    pub fn note(&self) -> String {
        match &self.source {
            GroundSource::Terrain { file } => file.clone(),
            GroundSource::Stated { .. } => "site elevation as stated".to_owned(),
            GroundSource::AssumedFlat => "flat ground assumed".to_owned(),
        }
    }

    /// Where its accuracy comes from, for a note.
    pub fn accuracy_note(&self) -> &'static str {
        if self.ground.accuracy() == 0.0 {
            "none stated"
        } else {
            "as stated"
        }
    }

    /// The elevation at the middle of the area, for the magnetic model; 0 when unknown.
    pub fn middle_elevation(&self) -> Metres {
        Metres::of(
            self.ground
                .known_at(Xy::default())
                .map_or(0.0, |range| range.high),
        )
    }

    /// The ground as an answer, with its certified extremes under the area.
    pub fn answer(&self, plan: &Plan, tolerance: Metres) -> GroundAnswer {
        let least = |upside_down: bool| {
            let field = Elevation {
                ground: &self.ground,
                upside_down,
            };
            search::lowest(
                &field,
                plan.cells(),
                Scope::WhereDetermined,
                Limits::within(tolerance.m()),
            )
            .map(|found| found.lower)
            .filter(|_| self.is_amsl())
        };
        GroundAnswer {
            source: self.source.clone(),
            accuracy_m: Metres::of(self.ground.accuracy()),
            accuracy_is_stated: self.accuracy_is_stated,
            lowest_m_amsl: least(false).map(Altitude::of),
            highest_m_amsl: least(true).map(|found| Altitude::of(-found)),
            unknown_share: self.unknown_share(plan),
        }
    }

    /// Share of the area where the ground is unknown, never below the true one.
    pub fn unknown_share(&self, plan: &Plan) -> f64 {
        if self.source == GroundSource::AssumedFlat {
            return 0.0;
        }
        let known = CapAmsl {
            cap: CapAboveGround {
                leaf: 0,
                height: 0.0,
            },
            ground: &self.ground,
        };
        // Any difference of the bounds will do, but for an infinite one.
        let all = search::lowest(
            &known,
            plan.cells(),
            Scope::Everywhere,
            Limits::within(f64::MAX),
        );
        if all.is_some_and(|found| found.lower > f64::NEG_INFINITY) {
            return 0.0;
        }
        let share = search::share_at_or_above(&known, plan.cells(), f64::MIN, 1e-3, 60_000);
        1.0 - share.at_least
    }
}

fn not_assessed_already(layers: &Layers) -> bool {
    layers
        .not_assessed
        .iter()
        .any(|entry| entry.what == "terrain")
}
