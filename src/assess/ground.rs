//! The ground of a site: terrain, a stated elevation, or flat ground with the assumption said.

use super::DRAWN_AROUND;
use crate::answer::{GroundAnswer, GroundSource, NotAssessed};
use crate::error::Result;
use crate::field::cap::{CapAboveGround, CapAmsl};
use crate::field::ground::{Elevation, Grid, Ground};
use crate::frame::{LonLat, Xy};
use crate::plan::Plan;
use crate::read::Layers;
use crate::read::raster::TerrainFile;
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

/// Why a site has no terrain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// The terrain does not reach it.
    NotHere {
        /// The file.
        file: String,
    },
    /// There is none, and no elevation was stated.
    NoLayer,
}

impl Missing {
    /// The note of what was not assessed; none where reading the layers left one.
    pub fn note(self, layers: &Layers) -> Option<NotAssessed> {
        let why = match self {
            Self::NotHere { file } => format!("{file} has no data at the site"),
            Self::NoLayer if (layers.not_assessed.iter()).any(|entry| entry.what == TERRAIN) => {
                return None;
            }
            Self::NoLayer => {
                "no terrain layer in the folder and no site elevation given".to_owned()
            }
        };
        Some(NotAssessed {
            what: TERRAIN.to_owned(),
            why,
            count: 0,
            features: Vec::new(),
        })
    }
}

/// What a note about missing terrain is about.
const TERRAIN: &str = "terrain";

impl SiteGround {
    /// The ground of a site: what was stated for it, else the terrain within the widest reach and what
    /// is drawn around, else flat.
    pub fn of(
        site_elevation: Option<Altitude>,
        ground_accuracy: Option<Metres>,
        terrain: Option<&TerrainFile>,
        plan: &Plan,
        widest_reach: Metres,
    ) -> Result<(Self, Option<Missing>)> {
        let accuracy_of = |stated: Option<Metres>| {
            let stated = ground_accuracy.or(stated);
            (stated.unwrap_or(Metres::ZERO).m(), stated.is_some())
        };
        if let Some(elevation) = site_elevation {
            let (accuracy, accuracy_is_stated) = accuracy_of(None);
            let ground = Self {
                ground: Ground::level(elevation.m(), accuracy),
                source: GroundSource::Stated {
                    elevation_m_amsl: elevation,
                },
                accuracy_is_stated,
            };
            return Ok((ground, None));
        }
        if let Some(terrain) = terrain {
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
            let missing = grid
                .is_none()
                .then(|| Missing::NotHere { file: file.clone() });
            let ground = Self {
                ground: grid.map_or_else(Ground::unknown, |grid| Ground::grid(grid, accuracy)),
                source: GroundSource::Terrain { file },
                accuracy_is_stated,
            };
            return Ok((ground, missing));
        }
        let (accuracy, accuracy_is_stated) = accuracy_of(None);
        let ground = Self {
            ground: Ground::level(0.0, accuracy),
            source: GroundSource::AssumedFlat,
            accuracy_is_stated,
        };
        Ok((ground, Some(Missing::NoLayer)))
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
        if self.ground.level_elevation().is_some() {
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
