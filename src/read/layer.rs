//! One vector file to features near a window, by whichever reader its extension asks for.
//!
//! Not here: which files a folder holds (see [`crate::read::folder`]) or what features mean.

use std::path::Path;

use super::crs::Crs;
use super::declaration::Declaration;
use super::feature::Feature;
use super::filter::{Choice, Filter};
use super::prepared::{Source, Vector};
use super::stream::{Raw, Step, Stream, Taken};
use super::{Mask, aixm, boxes, flatgeobuf, geojson, vector};
use crate::answer::LayerAnswer;
use crate::error::{Caution, Cautions, Error, Result};
use crate::frame::LonLat;
use crate::units::Metres;
use geo::CoordsIter;

/// The features of one file that are near the window.
#[derive(Debug)]
pub struct VectorLayer {
    /// The file name.
    pub file: String,
    /// How many features the file holds.
    pub total: usize,
    /// Those that are wanted, and those without geometry; in the order of the file.
    pub features: Vec<Feature<'static>>,
    /// Whether any that is not wanted may be something else than a line.
    pub leaves_out_points: bool,
    /// The coordinate reference system and what was done about it, in words.
    pub crs: String,
    /// Labels of features near the window that could not be read.
    pub unreadable: Vec<String>,
    /// Defects found while reading.
    pub cautions: Cautions,
}

/// What to take from a file.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wanted<'a> {
    /// Only features whose box touches it; all without one.
    pub near: Option<&'a Mask>,
    /// Features that touch this are taken as well, and marked as not near.
    pub besides: Option<&'a Mask>,
}

impl VectorLayer {
    /// Reads a file: GeoJSON natively, AIXM as XML, other formats through GDAL.
    ///
    /// # Errors
    /// A file that cannot be read, is not what its extension says, or whose coordinate reference
    /// system is unknown.
    pub fn read(source: &Source, declaration: &Declaration, wanted: Wanted<'_>) -> Result<Self> {
        let path = source.path.as_path();
        if is_geojson(path) || source.vector().is_some() {
            let (mut layer, runs) = Self::read_each(
                source,
                declaration,
                wanted,
                Vec::new,
                |run: &mut Vec<_>, feature| run.push(feature.into_owned()),
                Vec::shrink_to_fit,
            )?;
            layer.features = runs.into_iter().flatten().collect();
            Ok(layer)
        } else if aixm::is_aixm(path) {
            aixm::read(path, declaration).map_err(|error| error.in_file(path))
        } else {
            vector::read(path, declaration, wanted).map_err(|error| error.in_file(path))
        }
    }

    /// Reads a file as [`Self::read`] does, but makes something of each run of its features as it
    /// goes, so that the features of a large file are never held at once: each run starts with
    /// `start`, `each` adds one feature to it, and `end` is given it when it is whole. Runs are in the order of the file; the layer is
    /// returned without features.
    ///
    /// # Errors
    /// As for [`Self::read`].
    pub fn read_each<A: Send>(
        source: &Source,
        declaration: &Declaration,
        wanted: Wanted<'_>,
        start: impl Fn() -> A + Sync,
        each: impl Fn(&mut A, Feature<'_>) + Sync,
        end: impl Fn(&mut A) + Sync,
    ) -> Result<(Self, Vec<A>)> {
        let path = source.path.as_path();
        if let Some(vector) = source.vector() {
            return read_prepared(source, vector, declaration, wanted, start, each)
                .map_err(|error| error.in_file(path));
        }
        if is_geojson(path) {
            return read_geojson(path, declaration, wanted, start, each, end)
                .map_err(|error| error.in_file(path));
        }
        let mut layer = Self::read(source, declaration, wanted)?;
        let mut run = start();
        for feature in std::mem::take(&mut layer.features) {
            each(&mut run, feature);
        }
        Ok((layer, vec![run]))
    }

    fn new(file: String, total: usize, crs: &Crs) -> Self {
        Self {
            file,
            total,
            features: Vec::new(),
            leaves_out_points: false,
            crs: crs.name().to_owned(),
            unreadable: Vec::new(),
            cautions: Cautions::default(),
        }
    }

    /// Gathers parsed features and the defects of the others, and notes what PROJ does at every
    /// feature.
    ///
    /// # Errors
    /// A ballpark operation, see [`Crs::operation_at`].
    pub fn gathered(
        path: &Path,
        total: usize,
        crs: &Crs,
        parsed: Vec<Outcome<'static>>,
    ) -> Result<Self> {
        let mut layer = Self::new(file_name(path), total, crs);
        let mut operations = Operations::NONE;
        for outcome in parsed {
            match outcome {
                Ok(mut feature) => {
                    operations.note(&mut feature, crs)?;
                    layer.features.push(feature);
                }
                Err(defect) => layer.leave_out(defect),
            }
        }
        operations.tell(crs, &mut layer);
        Ok(layer)
    }

    fn leave_out(&mut self, (label, defect): (String, String)) {
        self.cautions
            .feature(&self.file, &label, &defect, "the feature is left out");
        self.unreadable.push(label);
    }

    /// What the layer is in an answer.
    #[must_use]
    pub fn answer(&self, layer: &str, declaration: &Declaration) -> LayerAnswer {
        LayerAnswer {
            layer: layer.to_owned(),
            file: self.file.clone(),
            features: self.total,
            crs: self.crs.clone(),
            date: declaration.date(),
            source: declaration.source(),
        }
    }
}

/// What is said of GeoJSON that names no system (RFC 7946 section 4).
pub const GEOJSON_CRS: &str = "WGS 84 (GeoJSON, none declared)";

/// A feature, or the label of one that cannot be read and what is wrong with it.
pub type Outcome<'a> = std::result::Result<Feature<'a>, (String, String)>;

/// Something made of a run of features, and what was noted on the way.
struct Run<A> {
    made: A,
    defects: Vec<(String, String)>,
    operations: Result<Operations>,
}

impl<A> Run<A> {
    fn new(made: A) -> Self {
        Self {
            made,
            defects: Vec::new(),
            operations: Ok(Operations::NONE),
        }
    }

    fn add(&mut self, outcome: Outcome<'_>, crs: &Crs, each: impl Fn(&mut A, Feature<'_>)) {
        match outcome {
            Ok(mut feature) => {
                if let Ok(operations) = &mut self.operations
                    && let Err(error) = operations.note(&mut feature, crs)
                {
                    self.operations = Err(error);
                }
                each(&mut self.made, feature);
            }
            Err(defect) => self.defects.push(defect),
        }
    }
}

fn read_geojson<A: Send>(
    path: &Path,
    declaration: &Declaration,
    wanted: Wanted<'_>,
    start: impl Fn() -> A + Sync,
    each: impl Fn(&mut A, Feature<'_>) + Sync,
    end: impl Fn(&mut A) + Sync,
) -> Result<(VectorLayer, Vec<A>)> {
    let declared = declaration.crs.as_ref();
    let crs_of = |named: Option<&String>| match declared.or(named) {
        Some(definition) => Crs::declared(definition),
        None => Ok(Crs::wgs84()),
    };
    let start = || Run::new(start());
    let each_feature = each;
    let mut taken = None;
    // The system may be named after the features: the file is then read again with it.
    let mut known: Option<Option<String>> = None;
    while let Some(stream) = Stream::open(path) {
        let named = known.clone().unwrap_or_else(|| stream.crs());
        let crs = crs_of(named.as_ref())?;
        let filter = Filter::new(wanted, &crs);
        let each = |run: &mut Run<A>, raw: Raw<'_>| {
            let Some(outcome) = outcome(&raw, &crs) else {
                return Step::NeedsIndex;
            };
            if let Some(outcome) = raw.choice.of(outcome) {
                run.add(outcome, &crs, &each_feature);
            }
            Step::Taken
        };
        let found = stream.take(&filter, start, each, |run| end(&mut run.made));
        match found {
            Some(found) if found.crs != named && declared.is_none() && known.is_none() => {
                known = Some(found.crs);
            }
            found => {
                taken = found.map(|found| (found, crs));
                break;
            }
        }
    }
    let (taken, crs) = match taken {
        Some(taken) => taken,
        None => {
            let text = geojson::text(path)?;
            let document = geojson::document(&text)?;
            let crs = crs_of(document.crs.as_ref())?;
            let filter = Filter::new(wanted, &crs);
            (whole(document, &filter, &crs, start, &each_feature), crs)
        }
    };
    let words = declared
        .is_none()
        .then_some(GEOJSON_CRS)
        .filter(|_| taken.crs.is_none());
    told(file_name(path), taken, &crs, words)
}

/// A layer from what was taken of a file, and what was made of it; `words` are said of WGS 84.
fn told<A>(
    file: String,
    taken: Taken<Run<A>>,
    crs: &Crs,
    words: Option<&str>,
) -> Result<(VectorLayer, Vec<A>)> {
    let mut layer = VectorLayer::new(file, taken.total, crs);
    layer.leaves_out_points = taken.leaves_out_points;
    let mut operations = Operations::NONE;
    let mut made = Vec::with_capacity(taken.runs.len());
    for run in taken.runs {
        run.defects
            .into_iter()
            .for_each(|defect| layer.leave_out(defect));
        operations.add(run.operations?);
        made.push(run.made);
    }
    operations.tell(crs, &mut layer);
    if let Some(words) = words.filter(|_| crs.is_wgs84()) {
        layer.crs = words.to_owned();
    }
    Ok((layer, made))
}

/// Up to so many features of a prepared file are held until all were read, and make one run in the order
/// of the file that they come from; of more each makes a run of its own at once.
const HELD_FEATURES: usize = 8_192;

/// A feature of a prepared file on its way into a run.
enum Decoded<A> {
    Feature(Choice, Outcome<'static>),
    Run(Run<A>),
}

/// Reads what was prepared: FlatGeobuf, and the rest that stayed GeoJSON.
fn read_prepared<A: Send>(
    source: &Source,
    vector: &Vector,
    declaration: &Declaration,
    wanted: Wanted<'_>,
    start: impl Fn() -> A + Sync,
    each: impl Fn(&mut A, Feature<'_>) + Sync,
) -> Result<(VectorLayer, Vec<A>)> {
    let crs = match declaration.crs.as_ref().or(vector.crs.as_ref()) {
        Some(definition) => Crs::declared(definition)?,
        None => Crs::wgs84(),
    };
    let filter = Filter::new(wanted, &crs);
    let add = |run: &mut Run<A>, choice: Choice, outcome: Outcome<'static>| {
        if let Some(outcome) = choice.of(outcome) {
            run.add(outcome, &crs, &each);
        }
    };
    let taken = |count: usize, choice: Choice, outcome: Outcome<'static>| {
        if count <= HELD_FEATURES {
            return Decoded::Feature(choice, outcome);
        }
        let mut run = Run::new(start());
        add(&mut run, choice, outcome);
        Decoded::Run(run)
    };
    let mut found = flatgeobuf::read(&source.path, vector, &filter, &crs, taken)?;
    if let Some(rest) = &vector.rest {
        let path = source.path.with_file_name(rest);
        let text = geojson::text(&path)?;
        let document = geojson::document(&text)?;
        let numbers = geojson::feature_numbers(&text, document.features.len())
            .map_err(|error| error.in_file(&path))?;
        found.total += document.features.len();
        for (raw, number) in document.features.iter().zip(numbers) {
            let boxed = boxes::bounds(raw);
            let choice = boxed.map_or(Choice::Near, |boxed| filter.choice(&boxed.bounds));
            found.leaves_out |= choice == Choice::LeftOut;
            let index = number.saturating_sub(1);
            let outcome = geojson::feature(raw, index, &crs);
            found.made.push((index, Decoded::Feature(choice, outcome)));
        }
    }
    if found.total != vector.features {
        return Err(Error::new(
            format!(
                "holds {} features and was prepared with {}",
                found.total, vector.features
            ),
            "prepare the layers again: eaves prepare",
        ));
    }
    found.made.sort_by_key(|(index, _)| *index);
    let mut runs = Vec::new();
    let mut last: Option<Run<A>> = None;
    for (_, decoded) in found.made {
        match decoded {
            Decoded::Feature(choice, outcome) => {
                let run = last.get_or_insert_with(|| Run::new(start()));
                add(run, choice, outcome);
            }
            Decoded::Run(run) => {
                runs.extend(last.take());
                runs.push(run);
            }
        }
    }
    runs.extend(last);
    let taken = Taken {
        runs,
        total: found.total,
        leaves_out_points: found.leaves_out,
        crs: None,
    };
    let words = vector
        .crs_words
        .as_deref()
        .filter(|_| declaration.crs.is_none() && vector.crs.is_none());
    told(source.name(), taken, &crs, words)
}

/// Takes what the filter wants from a document that is held whole.
fn whole<A>(
    document: geojson::Document<'_>,
    filter: &Filter<'_>,
    crs: &Crs,
    start: impl Fn() -> Run<A>,
    each: impl Fn(&mut A, Feature<'_>),
) -> Taken<Run<A>> {
    let mut run = start();
    let mut leaves_out_points = false;
    for (index, raw) in document.features.iter().enumerate() {
        let found = boxes::bounds(raw);
        let choice = found.map_or(Choice::Near, |found| filter.choice(&found.bounds));
        if choice == Choice::LeftOut {
            leaves_out_points |= found.is_some_and(|found| !found.is_line);
        } else if let Some(outcome) = choice.of(geojson::feature(raw, index, crs)) {
            run.add(outcome, crs, &each);
        }
    }
    Taken {
        runs: vec![run],
        total: document.features.len(),
        leaves_out_points,
        crs: document.crs,
    }
}

/// Parses a feature: from its scan where that is plain, or else whole; none where its place in the
/// file is needed for that and not known yet.
fn outcome<'a>(raw: &Raw<'a>, crs: &Crs) -> Option<Outcome<'a>> {
    geojson::scanned(&raw.glance, raw.members, raw.positions, raw.index, crs)
        .map(Ok)
        .or_else(|| Some(geojson::feature(raw.text, raw.index?, crs)))
}

/// What PROJ does at the features of a layer.
#[derive(Debug)]
struct Operations {
    words: Vec<String>,
    is_null: bool,
    accuracy: Metres,
}

impl Operations {
    const NONE: Self = Self {
        words: Vec::new(),
        is_null: false,
        accuracy: Metres::ZERO,
    };

    /// Notes what is done at a feature, and refuses ballpark operations.
    fn note(&mut self, feature: &mut Feature, crs: &Crs) -> Result<()> {
        if crs.is_wgs84() {
            return Ok(());
        }
        let Some((x, y)) = first_place(feature).and_then(|place| crs.from_lon_lat(place)) else {
            return Ok(());
        };
        let operation = crs.operation_at(x, y)?;
        feature.datum_accuracy = operation.accuracy;
        self.add(Self {
            words: vec![operation.description],
            is_null: operation.is_null,
            accuracy: operation.accuracy,
        });
        Ok(())
    }

    fn add(&mut self, other: Self) {
        self.accuracy = self.accuracy.max(other.accuracy);
        self.is_null |= other.is_null;
        for words in other.words {
            if !self.words.contains(&words) {
                self.words.push(words);
            }
        }
    }

    /// Tells the layer, in words.
    fn tell(self, crs: &Crs, layer: &mut VectorLayer) {
        if self.words.is_empty() {
            return;
        }
        let accuracy = self.accuracy;
        layer.crs = format!(
            "{}: {}, accurate to {} m",
            crs.name(),
            self.words.join(" or "),
            accuracy.m_up(2)
        );
        if accuracy > Metres::ZERO {
            layer
                .crs
                .push_str(", which is added to the horizontal accuracy of obstacles");
        }
        if self.is_null {
            layer.cautions.add(Caution::about(
                &layer.file,
                format!("is in {}, which is taken as WGS 84 unchanged", crs.name()),
                format!(
                    "its positions are within {} m, which is added to the horizontal accuracy of \
                     obstacles",
                    accuracy.m_up(2)
                ),
            ));
        }
    }
}

/// Whether the extension is one of GeoJSON's.
#[must_use]
pub fn is_geojson(path: &Path) -> bool {
    path.extension().is_some_and(|extension| {
        extension.eq_ignore_ascii_case("geojson") || extension.eq_ignore_ascii_case("json")
    })
}

/// The name of a file without its folder.
#[must_use]
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

fn first_place(feature: &Feature) -> Option<LonLat> {
    let coordinate = feature.geometry.as_ref()?.coords_iter().next()?;
    Some(LonLat::wrapped(coordinate.x, coordinate.y))
}
