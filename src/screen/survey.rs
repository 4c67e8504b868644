//! The first pass over a file of sites: how many there are, near which places obstacles are wanted,
//! which identifiers are repeated.
//!
//! Not here: answers.

use std::ops::Range;

use super::site::{Sizes, window};
use super::sorted::{Identifiers, Repeated};
use super::work::{Go, Numbered, in_order};
use crate::error::Result;
use crate::read::sites::SiteFile;
use crate::read::{Mask, Window};
use crate::units::Metres;

/// How many repeated identifiers are kept by number.
const REPEATED_KEPT: usize = 20;

/// What the first pass found.
#[derive(Debug)]
pub struct Survey {
    /// The file, with the coordinate reference system that it turned out to have.
    pub file: SiteFile,
    /// How many sites it holds.
    pub sites: u64,
    /// Where obstacles are wanted for the sites of the part.
    pub near: Mask,
    /// Sites that repeat the identifier of one before them.
    pub repeated: Repeated,
}

/// What is asked of the first pass.
pub struct Wanted<'a> {
    /// What stands in where a site states no size.
    pub sizes: Sizes,
    /// How far from a site obstacles matter.
    pub reach: Metres,
    /// The sites that will be answered, once the number of all is known.
    pub part: &'a dyn Fn(u64) -> Range<u64>,
    /// Told how many sites were seen so far; whether to go on.
    pub seen: &'a dyn Fn(u64) -> Go,
}

/// Goes through a file once; through a file whose coordinate reference system stands behind its
/// sites, or of which only a part will be answered, twice. None when it was stopped.
///
/// # Errors
/// A file that cannot be read to its end.
pub fn survey(file: SiteFile, wanted: &Wanted<'_>) -> Result<Option<Survey>> {
    let Some((first, late)) = pass(&file, wanted, 0..u64::MAX)? else {
        return Ok(None);
    };
    let part = (wanted.part)(first.sites);
    if late.is_none() && part == (0..first.sites) {
        return Ok(Some(Survey {
            file,
            sites: first.sites,
            near: first.near,
            repeated: first.ids.repeated(REPEATED_KEPT)?,
        }));
    }
    let file = match late {
        Some(definition) => file.with_crs(&definition)?,
        None => file,
    };
    let Some((near, _)) = pass(&file, wanted, part)? else {
        return Ok(None);
    };
    Ok(Some(Survey {
        file,
        sites: first.sites,
        near: near.near,
        repeated: first.ids.repeated(REPEATED_KEPT)?,
    }))
}

#[derive(Default)]
struct Pass {
    sites: u64,
    near: Mask,
    ids: Identifiers,
}

fn pass(
    file: &SiteFile,
    wanted: &Wanted<'_>,
    range: Range<u64>,
) -> Result<Option<(Pass, Option<String>)>> {
    let mut pass = Pass::default();
    let (sizes, reach) = (wanted.sizes, wanted.reach);
    let look = |sites: Vec<Numbered>| -> Vec<(u64, Option<Window>)> {
        (sites.into_iter())
            .map(|(index, raw)| match file.site(index, raw) {
                Ok(read) => (Identifiers::hash(&read.id), window(&read, sizes, reach)),
                Err(defect) => (Identifiers::hash(&defect.id), None),
            })
            .collect()
    };
    let behind = in_order(file, range, look, |_, found| {
        for (hash, window) in found.into_iter().flatten() {
            pass.sites += 1;
            pass.ids.add(hash, pass.sites)?;
            if let Some(window) = window {
                pass.near.add(window);
            }
        }
        Ok((wanted.seen)(pass.sites))
    })?;
    Ok(behind.map(|behind| (pass, behind.late_crs)))
}
