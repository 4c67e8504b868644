//! One run over the layers of a folder: files to records, cautions and what was not assessed.
//!
//! Not here: how one file is read (see [`crate::read::layer`]) or one feature understood
//! (see [`crate::read::structures`], [`crate::read::lines`], [`crate::read::aerodromes`]).

use std::path::Path;

use super::aerodromes::Aerodromes;
use super::attributes::{Attributes, Stated, Unstated};
use super::declaration::Declaration;
use super::draft::{Class, Plan};
use super::feature::Feature;
use super::folder::{Folder, LayerKind};
use super::index;
use super::layer::{VectorLayer, Wanted};
use super::lines::{self, LineOptions};
use super::mapping::Declarations;
use super::packed::Packed;
use super::raster::TerrainFile;
use super::supports::{Support, Supports};
use super::{
    Layers, Mask, Obstacles, ReadOptions, airspace, elsewhere, plan_points, runways, structures,
    supports,
};
use crate::aerodrome::Aerodrome;
use crate::airspace::Volume;
use crate::answer::{LayerAnswer, NotAssessed};
use crate::error::{Caution, Cautions, Error, Result};
use crate::obstacle::VerticalReference;
use crate::plan_point::PlanPoint;

/// How much wider than the window supports are read, degrees: lines that touch the window have
/// spans that end outside it, by no more than the longest plausible span (1500 m; 0.03 degrees of
/// latitude are 3.3 km, and of longitude as much up to 60 degrees of latitude).
const SUPPORT_MARGIN_DEG: f64 = 0.03;

/// How many ids of features an entry of what was not assessed names.
const NAMED_FEATURES: usize = 20;

/// Reads the layers of a folder.
///
/// A layer that is not there is an entry of [`Layers::not_assessed`], not an error.
///
/// # Errors
/// A folder without any layer; a `layers.toml` with a fault; a file that cannot be read or whose
/// coordinate reference system is unknown.
pub fn layers(folder: &Path, options: &ReadOptions) -> Result<Layers> {
    let declarations = Declarations::read(folder)?;
    let files = Folder::read(folder, &declarations)?;
    if files.layers.is_empty() {
        return Err(Error::new(
            "holds no layer",
            "put aerodromes, runways, power-lines, structures or terrain files there",
        )
        .in_file(folder));
    }
    elsewhere::look_ahead(&files, &declarations)?;
    let mut reading = Reading::new(&declarations, &files, options);
    let aerodromes = reading.aerodromes()?;
    let mut beside = Reading::new(&declarations, &files, options);
    let (lines, structures) = if reading.is_little() {
        (reading.lines(), beside.structures())
    } else {
        // Lines are cut one after the other, and structures do not wait for them.
        rayon::join(|| reading.lines(), || beside.structures())
    };
    let mut obstacles = lines?;
    obstacles.append(structures?);
    reading.add(beside);
    let airspace = reading.airspace()?;
    let plan = reading.plan()?;
    let terrain = reading.terrain()?;
    reading.note_absent();
    reading.note_heights(&obstacles);
    Ok(Layers {
        aerodromes,
        obstacles: Obstacles::packed(obstacles),
        airspace,
        plan,
        terrain,
        summaries: reading.summaries,
        cautions: reading.cautions,
        not_assessed: reading.not_assessed,
    })
}

struct Reading<'a> {
    declarations: &'a Declarations,
    files: &'a Folder,
    options: &'a ReadOptions,
    summaries: Vec<LayerAnswer>,
    cautions: Cautions,
    not_assessed: Vec<NotAssessed>,
}

impl<'a> Reading<'a> {
    fn new(declarations: &'a Declarations, files: &'a Folder, options: &'a ReadOptions) -> Self {
        Self {
            declarations,
            files,
            options,
            summaries: Vec::new(),
            cautions: Cautions::default(),
            not_assessed: Vec::new(),
        }
    }

    /// Whether so little is read of lines and structures that a thread would take longer to start: what
    /// an index finds in one window.
    fn is_little(&self) -> bool {
        let kinds = [
            LayerKind::PowerLines,
            LayerKind::PowerSupports,
            LayerKind::Structures,
        ];
        let near = self.options.near.as_ref();
        near.is_some_and(|near| near.only_window().is_some())
            && kinds
                .iter()
                .flat_map(|kind| self.files.files(*kind))
                .all(|source| source.vector().is_some())
    }

    /// Adds what was noted behind.
    fn add(&mut self, behind: Self) {
        self.summaries.extend(behind.summaries);
        self.cautions.extend(behind.cautions);
        self.not_assessed.extend(behind.not_assessed);
    }

    /// Reads the files of one layer.
    fn files_of(&self, kind: LayerKind, wanted: Wanted<'_>) -> Result<Vec<VectorLayer>> {
        let declaration = kind.declaration(self.declarations);
        let paths = self.files.files(kind).iter();
        paths
            .map(|path| VectorLayer::read(path, declaration, wanted))
            .collect()
    }

    /// Notes what a file is and what of it could not be read.
    fn note(&mut self, kind: LayerKind, layer: &mut VectorLayer) {
        let declaration = kind.declaration(self.declarations);
        self.summaries.push(layer.answer(kind.name(), declaration));
        self.cautions.extend(std::mem::take(&mut layer.cautions));
        if !layer.unreadable.is_empty() {
            self.not_assessed.push(NotAssessed {
                what: format!("features of {}", kind.name()),
                why: format!("cannot be read from {}; see the cautions", layer.file),
                count: layer.unreadable.len(),
                features: layer
                    .unreadable
                    .iter()
                    .take(NAMED_FEATURES)
                    .cloned()
                    .collect(),
            });
        }
    }

    /// Reads the files of one layer, noting what they are and what of them could not be read.
    fn read(&mut self, kind: LayerKind, wanted: Wanted<'_>) -> Result<Vec<VectorLayer>> {
        let mut layers = self.files_of(kind, wanted)?;
        for layer in &mut layers {
            self.note(kind, layer);
        }
        Ok(layers)
    }

    fn aerodromes(&mut self) -> Result<Vec<Aerodrome>> {
        let all = Wanted::default();
        let mut aerodromes = Aerodromes::default();
        for layer in self.read(LayerKind::Aerodromes, all)? {
            aerodromes.add(&layer, &self.declarations.aerodromes, &mut self.cautions);
        }
        for layer in self.read(LayerKind::Runways, all)? {
            runways::add(
                &mut aerodromes,
                &layer,
                &self.declarations.runways,
                &mut self.cautions,
            );
        }
        Ok(aerodromes.into_records())
    }

    fn lines(&mut self) -> Result<Packed> {
        let near = self.options.near.as_ref();
        let of_lines = near.map(Mask::of_lines);
        let wanted = Wanted {
            near: of_lines.as_deref(),
            besides: None,
        };
        let mut lines = self.files_of(LayerKind::PowerLines, wanted)?;
        let vertices = supports::mask_about(
            lines
                .iter()
                // Where all is near, nothing is wanted besides.
                .filter(|_| near.is_some())
                .flat_map(|layer| &layer.features)
                .filter_map(|feature| feature.geometry.as_ref()),
        );
        let wanted = Wanted {
            besides: Some(&vertices),
            ..wanted
        };
        self.add_points_beyond(&mut lines, wanted)?;
        let wider = near
            .and_then(Mask::only_window)
            .map(|window| Mask::from(window.widened(SUPPORT_MARGIN_DEG)));
        let supports = self.files_of(
            LayerKind::PowerSupports,
            Wanted {
                near: wider.as_ref().or(near),
                besides: Some(&vertices),
            },
        )?;
        let mut records = Vec::new();
        for mut layer in supports {
            self.note(LayerKind::PowerSupports, &mut layer);
            let attributes = attributes(&self.declarations.power_supports, &layer);
            let mut unstated = Unstated::default();
            for feature in &layer.features {
                let supports = support_records(feature, &attributes, &mut self.cautions);
                if feature.is_near {
                    let has_top = supports.iter().any(|it| it.obstacle.top.is_some());
                    unstated.note(&attributes, feature, has_top);
                }
                records.extend(supports);
            }
            unstated.caution(&attributes, &mut self.cautions);
        }
        for layer in &mut lines {
            self.note(LayerKind::PowerLines, layer);
            let attributes = attributes(&self.declarations.power_lines, layer);
            for feature in layer.features.iter().filter(|f| structures::is_support(f)) {
                records.extend(support_records(feature, &attributes, &mut self.cautions));
            }
            layer.features.retain(|feature| feature.is_near);
        }
        let mut supports = Supports::new(records);
        let options = LineOptions {
            assumed_sag: self.options.assumed_sag,
            estimate_heights: self.options.estimate_line_heights,
        };
        let mut spans = Packed::default();
        let is_near = |plan: Plan<'_>| near.is_none_or(|near| near.touches(&index::bounds(plan)));
        for layer in &lines {
            let attributes = attributes(&self.declarations.power_lines, layer);
            let mut unstated = Unstated::default();
            for feature in &layer.features {
                let mut has_top = false;
                if !structures::is_support(feature) {
                    lines::spans(
                        feature,
                        &attributes,
                        &mut supports,
                        options,
                        &mut self.cautions,
                        |draft| {
                            has_top |= draft.top.is_some();
                            if is_near(draft.plan) {
                                spans.push(&draft);
                            }
                        },
                    );
                }
                unstated.note(&attributes, feature, has_top);
            }
            unstated.caution(&attributes, &mut self.cautions);
        }
        let supports = supports.into_records();
        spans.extend(supports.filter(|support| is_near(Plan::from(&support.shape))));
        Ok(spans)
    }

    /// Adds to files of lines those of their points that may be supports of the lines read.
    fn add_points_beyond(&self, lines: &mut [VectorLayer], wanted: Wanted<'_>) -> Result<()> {
        let paths = self.files.files(LayerKind::PowerLines);
        for (layer, path) in lines.iter_mut().zip(paths) {
            if !layer.leaves_out_points {
                continue;
            }
            let mut again = VectorLayer::read(path, &self.declarations.power_lines, wanted)?;
            again
                .features
                .retain(|feature| feature.is_near || structures::is_support(feature));
            *layer = again;
        }
        Ok(())
    }

    fn structures(&mut self) -> Result<Packed> {
        #[derive(Default)]
        struct Run {
            obstacles: Packed,
            unstated: Unstated,
            cautions: Cautions,
        }
        let options = self.options;
        let wanted = Wanted {
            near: options.near.as_ref(),
            besides: None,
        };
        let declaration = &self.declarations.structures;
        let mut all = Packed::default();
        for source in self.files.files(LayerKind::Structures) {
            let file = source.name();
            let attributes = Attributes {
                declaration,
                file: &file,
            };
            let (mut layer, runs) = VectorLayer::read_each(
                source,
                declaration,
                wanted,
                Run::default,
                |run, feature| {
                    let mut has_top = false;
                    structures::structures(&feature, &attributes, &mut run.cautions, |draft| {
                        has_top |= draft.top.is_some();
                        run.obstacles.push(&draft);
                    });
                    run.unstated.note(&attributes, &feature, has_top);
                },
                |run| run.obstacles.shrink(),
            )?;
            self.note(LayerKind::Structures, &mut layer);
            let mut unstated = Unstated::default();
            for run in runs {
                all.append(run.obstacles);
                unstated.add(run.unstated);
                self.cautions.extend(run.cautions);
            }
            unstated.caution(&attributes, &mut self.cautions);
        }
        Ok(all)
    }

    fn airspace(&mut self) -> Result<Option<Vec<Volume>>> {
        let all = Wanted::default();
        let mut volumes = Vec::new();
        for layer in self.read(LayerKind::Airspace, all)? {
            let declaration = &self.declarations.airspace;
            let read = airspace::volumes(&layer, declaration, &mut self.cautions);
            if read.len() < layer.features.len() {
                self.not_assessed.push(NotAssessed {
                    what: "airspace volumes".to_owned(),
                    why: format!("no usable outline in {}; see the cautions", layer.file),
                    count: layer.features.len() - read.len(),
                    features: Vec::new(),
                });
            }
            volumes.extend(read);
        }
        Ok((!self.files.files(LayerKind::Airspace).is_empty()).then_some(volumes))
    }

    fn plan(&mut self) -> Result<Vec<PlanPoint>> {
        let all = Wanted::default();
        let mut points = Vec::new();
        for layer in self.read(LayerKind::Plan, all)? {
            points.extend(plan_points::points(
                &layer,
                &self.declarations.plan,
                &mut self.cautions,
            ));
        }
        Ok(points)
    }

    fn terrain(&mut self) -> Result<Option<TerrainFile>> {
        let Some(source) = self.files.files(LayerKind::Terrain).first() else {
            return Ok(None);
        };
        let terrain = TerrainFile::open_source(source, &self.declarations.terrain)?;
        if terrain.accuracy().is_none() {
            self.cautions.add(Caution::about(
                terrain.file(),
                "does not state its vertical accuracy",
                "nothing is taken off for it; declare vertical_accuracy_m in layers.toml",
            ));
        }
        self.summaries.push(terrain.answer());
        Ok(Some(terrain))
    }

    /// Says which layers are absent, and which files were not read.
    fn note_absent(&mut self) {
        for kind in LayerKind::ALL {
            let is_there = !self.files.files(kind).is_empty();
            let why = match (kind, is_there) {
                (LayerKind::PowerSupports, _) | (_, true) => continue,
                (LayerKind::Runways, false)
                    if self.files.files(LayerKind::Aerodromes).is_empty() =>
                {
                    continue;
                }
                (_, false) => "no such layer in the folder",
            };
            let what = match kind {
                LayerKind::Plan => "plan: heights above take-off points".to_owned(),
                _ => kind.name().to_owned(),
            };
            self.not_assessed.push(NotAssessed {
                what,
                why: why.to_owned(),
                count: 0,
                features: Vec::new(),
            });
        }
        if !self.files.not_recognised.is_empty() {
            self.not_assessed.push(NotAssessed {
                what: "files that are no layer by name".to_owned(),
                why: format!("not read: {}", self.files.not_recognised.join(", ")),
                count: 0,
                features: Vec::new(),
            });
        }
    }

    /// Says how many obstacles near the window have no height.
    fn note_heights(&mut self, obstacles: &Packed) {
        let mut groups = [
            ("heights of spans", 0, Vec::new()),
            ("heights of supports", 0, Vec::new()),
            ("heights of structures", 0, Vec::new()),
        ];
        let mut is_amsl = false;
        for (number, (top, class)) in obstacles.tops().enumerate() {
            if let Some(top) = top {
                is_amsl |= top.reference == VerticalReference::MeanSeaLevel;
                continue;
            }
            let group = match class {
                Class::Span => 0,
                Class::Support => 1,
                Class::Structure => 2,
            };
            let (_, count, features) = &mut groups[group];
            *count += 1;
            if features.len() < NAMED_FEATURES
                && let Some(obstacle) = obstacles.get(number)
                && features.last().map(String::as_str) != Some(obstacle.source.feature.as_str())
            {
                features.push(obstacle.source.feature.to_string());
            }
        }
        for (what, count, features) in groups {
            if count > 0 {
                self.not_assessed.push(NotAssessed {
                    what: what.to_owned(),
                    why: "no height, or an unclear one; none of them is a shield".to_owned(),
                    count,
                    features,
                });
            }
        }
        if is_amsl && self.files.files(LayerKind::Terrain).is_empty() {
            self.cautions.add(Caution::about(
                "",
                "some tops are given above mean sea level and there is no terrain layer",
                "their height above ground needs a stated site elevation",
            ));
        }
    }
}

fn attributes<'a>(declaration: &'a Declaration, layer: &'a VectorLayer) -> Attributes<'a> {
    Attributes {
        declaration,
        file: &layer.file,
    }
}

fn support_records(
    feature: &Feature,
    attributes: &Attributes<'_>,
    cautions: &mut Cautions,
) -> Vec<Support> {
    let mut ignored = Cautions::default();
    let mut of_others = Cautions::default();
    let cautions = if feature.is_near {
        cautions
    } else {
        &mut of_others
    };
    let is_unclear = attributes.top(feature, &mut ignored) == Stated::Unclear
        || attributes.accuracy(feature, &mut ignored).is_none();
    structures::supports(feature, attributes, cautions)
        .into_iter()
        .map(|obstacle| Support {
            own_top: obstacle.top,
            own_accuracy: [obstacle.horizontal_accuracy, obstacle.vertical_accuracy],
            obstacle,
            is_unclear,
        })
        .collect()
}
