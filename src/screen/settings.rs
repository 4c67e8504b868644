//! The request of a screening resolved: what is asked of every site, and how it is written down.
//!
//! Not here: arguments as typed (see [`crate::cli`]).

use std::collections::BTreeMap;

use super::columns::Columns;
use super::formats::Format;
use super::record::{PROFILE_VALUES, RunRecord, fingerprint};
use super::site::Sizes;
use super::summary::{Gathered, LISTED, RankBy, check_rank};
use super::survey::Survey;
use crate::answer::{
    CAUTION, NotAssessed, RepeatedIds, SUMMARY_FORMAT, ScreeningSummary, SummaryProfile,
};
use crate::batch::{Common, NotScreened, Sensitivity, Settings};
use crate::cli::screen::RowFormat;
use crate::error::{Error, Result};
use crate::obstacle::Sag;
use crate::profile::load;
use crate::read::sites::SiteOptions;
use crate::read::{Mask, ReadOptions};
use crate::request::screen::ScreenRequest;
use crate::units::{Height, Metres};

/// A request with everything that it refers to.
pub struct Resolved {
    /// What is asked of every site.
    pub settings: Settings,
    /// What the user says about the file of sites.
    pub site_options: SiteOptions,
    /// What stands in where a site states no size.
    pub sizes: Sizes,
    /// How far from a site obstacles matter.
    pub reach: Metres,
    /// The formats besides separated values.
    pub formats: Vec<Format>,
    assumed_sag: Option<Sag>,
    estimate_line_heights: bool,
    rank: Option<String>,
    rows: usize,
    shown: Vec<(String, String)>,
}

/// What stands in where a site states no size.
#[must_use]
pub const fn sizes(request: &ScreenRequest) -> Sizes {
    Sizes {
        radius: request.radius,
        width: request.width,
    }
}

impl Resolved {
    /// Resolves a request. A screening that is taken up, and one that parts are joined to, keeps its
    /// date where none is given.
    ///
    /// # Errors
    /// A profile that cannot be loaded, or a record that cannot be read.
    pub fn of(request: &ScreenRequest) -> Result<Self> {
        let date = match request.date {
            Some(date) => date,
            None => {
                let record = match request.join.first() {
                    Some(part) => RunRecord::of(part)?,
                    None => RunRecord::of(&request.out)?,
                };
                record
                    .and_then(|record| record.settings.get("--date")?.parse().ok())
                    .unwrap_or(request.today)
            }
        };
        let profile = load(&request.profile)?;
        let sensitivity = Sensitivity {
            reaches: request.reaches.clone(),
            margins: request.margins.clone(),
            obstacle_accuracies: request.obstacle_accuracies.clone(),
            wishes: request.wishes.clone(),
        };
        let reach = sensitivity
            .cases()
            .iter()
            .map(|case| case.profile(&profile).widest_reach())
            .fold(Metres::ZERO, Metres::max);
        let mut resolved = Self {
            settings: Settings {
                profile,
                date,
                search_radius: request.search_radius,
                site_elevation: request.site_elevation,
                ground_accuracy: request.ground_accuracy,
                tolerance: request.tolerance,
                qnh: request.qnh,
                sensitivity,
            },
            site_options: SiteOptions {
                id: request.id.clone(),
                longitude: request.longitude.clone(),
                latitude: request.latitude.clone(),
                crs: request.crs.clone(),
                table: request.table.clone(),
            },
            sizes: sizes(request),
            reach,
            formats: request
                .formats
                .iter()
                .filter_map(|it| format(*it))
                .collect(),
            assumed_sag: request.assumed_sag,
            estimate_line_heights: request.estimate_line_heights,
            rank: request.rank.clone(),
            rows: request.top.max(request.figures),
            shown: Vec::new(),
        };
        resolved.shown = resolved
            .fingerprint(request)
            .into_iter()
            .filter(|(name, _)| !matches!(name.as_str(), PROFILE_VALUES | "--profile" | "--date"))
            .collect();
        Ok(resolved)
    }

    /// How layers are read.
    #[must_use]
    pub fn read_options(&self, near: Mask) -> ReadOptions {
        ReadOptions {
            near: Some(near),
            assumed_sag: self.assumed_sag,
            estimate_line_heights: self.estimate_line_heights,
        }
    }

    /// What the rows are ranked by: the ceiling above ground, the highest first, where nothing else
    /// is asked for.
    ///
    /// # Errors
    /// A column that is not there or holds no numbers.
    pub fn rank(&self, columns: &Columns) -> Result<RankBy> {
        let asked = self.rank.as_deref();
        let (column, order) = match asked.map(|asked| asked.split_once(':').unwrap_or((asked, "")))
        {
            Some((column, order)) => (column.to_owned(), order),
            None => {
                let first = columns
                    .suffixes()
                    .next()
                    .map(|(suffix, _)| suffix)
                    .unwrap_or_default();
                (format!("ceiling_m_agl{first}"), "")
            }
        };
        let highest_first = match order {
            "" | "highest" => true,
            "lowest" => false,
            other => {
                return Err(Error::new(
                    format!("--rank: \"{other}\" is no order"),
                    "write COLUMN:highest or COLUMN:lowest",
                ));
            }
        };
        check_rank(columns, &column)?;
        Ok(RankBy {
            column,
            highest_first,
            rows: if self.rows == 0 { LISTED } else { self.rows },
        })
    }

    /// Every setting that decides a number, as on the command line.
    #[must_use]
    pub fn fingerprint(&self, request: &ScreenRequest) -> BTreeMap<String, String> {
        let settings = &self.settings;
        let mut all = BTreeMap::new();
        let mut set = |name: &str, value: Option<String>| {
            if let Some(value) = value {
                all.insert(name.to_owned(), value);
            }
        };
        set("--profile", Some(request.profile.clone()));
        set(
            PROFILE_VALUES,
            Some(fingerprint(&format!("{:?}", settings.profile))),
        );
        set("--date", Some(settings.date.to_string()));
        set("--search-radius", Some(metres(settings.search_radius)));
        set("--tolerance", Some(metres(settings.tolerance)));
        set(
            "--site-elevation",
            settings.site_elevation.map(|it| format!("{}m", it.m())),
        );
        set("--ground-accuracy", settings.ground_accuracy.map(metres));
        set("--qnh", settings.qnh.map(|it| format!("{}hPa", it.hpa())));
        set(
            "--sag",
            self.assumed_sag.map(|sag| match sag {
                Sag::ShareOfSpan(share) => format!("{}%", share * 100.0),
                Sag::Metres(metres) => format!("{metres}m"),
                other => format!("{other:?}"),
            }),
        );
        set(
            "--estimate-line-heights",
            self.estimate_line_heights.then(|| "yes".to_owned()),
        );
        let varied = &settings.sensitivity;
        set("--reach", list(&varied.reaches, |it| metres(*it)));
        set("--margin", list(&varied.margins, |it| metres(*it)));
        set(
            "--obstacle-accuracy",
            list(&varied.obstacle_accuracies, |it| metres(*it)),
        );
        set(
            "--height",
            list(&varied.wishes, |it: &Height| format!("{}m", it.m())),
        );
        set("--radius", self.sizes.radius.map(metres));
        set("--width", self.sizes.width.map(metres));
        set("--id", self.site_options.id.clone());
        set("--longitude", self.site_options.longitude.clone());
        set("--latitude", self.site_options.latitude.clone());
        set("--crs", self.site_options.crs.clone());
        set("--table", self.site_options.table.clone());
        all
    }

    /// The summary of finished rows.
    #[must_use]
    pub fn summary(
        &self,
        gathered: Gathered,
        common: &Common,
        surveyed: &Survey,
    ) -> ScreeningSummary {
        let layers = common.layers();
        let [answered, undecided, not_answered] = gathered.by_status;
        let mut not_assessed = layers.not_assessed.clone();
        // What the columns never hold stands here once; layers have said what else is missing.
        not_assessed.extend(NotScreened::ALL.iter().map(|it| {
            let (what, why) = it.words().split_once(": ").unwrap_or((it.words(), ""));
            NotAssessed {
                what: what.to_owned(),
                why: why.to_owned(),
                count: 0,
                features: Vec::new(),
            }
        }));
        ScreeningSummary {
            format: SUMMARY_FORMAT,
            caution: CAUTION,
            version: env!("CARGO_PKG_VERSION"),
            date: self.settings.date.to_string(),
            profile: SummaryProfile {
                name: self.settings.profile.name.clone(),
                title: self.settings.profile.title.clone(),
                caution: self.settings.profile.caution.clone(),
            },
            sites_file: surveyed.file.file().to_owned(),
            sites_crs: surveyed.file.crs().name().to_owned(),
            settings: self.shown.clone(),
            rows: gathered.by_status.iter().sum(),
            answered,
            undecided,
            not_answered,
            wishes: gathered.wishes,
            reasons: gathered.reasons,
            ranking: gathered.ranking,
            closest: gathered.closest,
            causes: gathered.causes,
            repeated: RepeatedIds {
                rows: surveyed.repeated.count,
                first: surveyed.repeated.first.clone(),
            },
            not_assessed,
            cautions: layers.cautions.as_slice().to_vec(),
            layers: layers.summaries.clone(),
        }
    }
}

const fn format(format: RowFormat) -> Option<Format> {
    match format {
        RowFormat::Csv => None,
        RowFormat::Geojson => Some(Format::GeoJson),
        RowFormat::Gpkg => Some(Format::GeoPackage),
        RowFormat::Fgb => Some(Format::FlatGeobuf),
        RowFormat::Parquet => Some(Format::Parquet),
    }
}

fn metres(length: Metres) -> String {
    format!("{}m", length.m())
}

fn list<T>(values: &[T], words: impl Fn(&T) -> String) -> Option<String> {
    (!values.is_empty()).then(|| values.iter().map(words).collect::<Vec<_>>().join(","))
}
