//! Figures of the sites that rank first.
//!
//! Each is assessed alone, over layers read near it, so its figure is the one that `eaves assess`
//! draws. Not here: which sites rank first.

use std::path::PathBuf;

use super::log::unwritten;
use super::settings::Resolved;
use super::site::site;
use super::survey::Survey;
use super::work::{Go, Numbered, in_order};
use crate::assess::{DRAWN_AROUND, Question, assess};
use crate::batch::Site;
use crate::cli::Drawn;
use crate::error::{Cautions, Error, Result};
use crate::figure::{self, FigureOptions};
use crate::read::{self, Mask, window_about};
use crate::request::outputs::{FigureFormat, FigureOutput, Prepared, put_in_place};
use crate::request::screen::ScreenRequest;
use crate::sheet::FigureKind;

/// The folder of figures, in the output folder.
const FOLDER: &str = "figures";

/// How many characters of an identifier stand in the name of a file.
const MOST_CHARACTERS: usize = 60;

/// Draws the figure of each of some rows, in their order.
///
/// # Errors
/// A site that cannot be assessed, or a figure that cannot be drawn or written.
pub fn draw(
    request: &ScreenRequest,
    resolved: &Resolved,
    surveyed: &Survey,
    rows: &[u64],
) -> Result<Vec<PathBuf>> {
    let folder = request.out.join(FOLDER);
    std::fs::create_dir_all(&folder).map_err(|why| unwritten(&folder, &why))?;
    let sites = sites(resolved, surveyed, rows)?;
    let around = resolved.reach + DRAWN_AROUND;
    let near: Mask = sites
        .iter()
        .map(|(_, site)| window_about(&site.area, around))
        .collect();
    let layers = read::layers(&request.layers, &resolved.read_options(near))?;
    let options = FigureOptions {
        zones: request.draw.contains(&Drawn::Zones),
        airspace: request.draw.contains(&Drawn::Airspace),
        ..FigureOptions::default()
    };
    let settings = &resolved.settings;
    let case = settings
        .sensitivity
        .cases()
        .first()
        .copied()
        .unwrap_or_default();
    let mut written = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        let Some((_, site)) = sites.iter().find(|(number, _)| number == row) else {
            continue;
        };
        let question = Question {
            area: site.area.clone(),
            area_cautions: Cautions::default(),
            profile: case.profile(&settings.profile),
            date: settings.date,
            search_radius: settings.search_radius,
            wish: site.wish.or(case.wish),
            window: None,
            site_elevation: settings.site_elevation,
            ground_accuracy: settings.ground_accuracy,
            tolerance: settings.tolerance,
            qnh: settings.qnh,
            surfaces: None,
            line_clearance: None,
            sample_ceiling: false,
            section: None,
            shielding_planes: None,
            obstacle_accuracy: case.obstacle_accuracy,
        };
        let at = |error: Error| error.at_feature(&site.id);
        let scene = assess(&question, &layers)
            .and_then(|assessment| figure::resolve(&assessment, FigureKind::Site, &options))
            .map_err(at)?;
        let name = format!("{:03}-{}.png", index + 1, file_name(&site.id));
        let output = FigureOutput {
            kind: FigureKind::Site,
            path: folder.join(name),
            format: FigureFormat::Png,
        };
        let dpi = options.checked_dpi()?;
        let files = scene
            .sheets()
            .enumerate()
            .map(|(sheet, scene)| {
                Ok(Prepared {
                    path: output.sheet(sheet + 1),
                    bytes: figure::png(scene, dpi).map_err(at)?,
                })
            })
            .collect::<Result<Vec<_>>>()?;
        put_in_place(&files)?;
        written.extend(files.into_iter().map(|file| file.path));
    }
    Ok(written)
}

/// The sites of some rows with their numbers, in the order of the file.
fn sites(resolved: &Resolved, surveyed: &Survey, rows: &[u64]) -> Result<Vec<(u64, Site)>> {
    let last = rows.iter().copied().max().unwrap_or_default();
    let mut found = Vec::new();
    let wanted = |sites: Vec<Numbered>| -> Vec<(u64, Site)> {
        sites
            .into_iter()
            .filter(|(index, _)| rows.contains(&(index + 1)))
            .filter_map(|(index, raw)| {
                let named = site(&surveyed.file, index, raw, resolved.sizes).ok()?;
                Some((index + 1, named.site))
            })
            .collect()
    };
    in_order(&surveyed.file, 0..last, wanted, |_, sites| {
        found.extend(sites.into_iter().flatten());
        Ok(Go::On)
    })?;
    Ok(found)
}

/// An identifier as part of the name of a file, on any system: letters, digits, `-` and `_`.
fn file_name(id: &str) -> String {
    id.chars()
        .take(MOST_CHARACTERS)
        .map(|c| {
            if c.is_alphanumeric() || c == '-' {
                c
            } else {
                '_'
            }
        })
        .collect()
}
