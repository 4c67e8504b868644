//! 14 CFR 77.21: the surfaces of military airports.
//!
//! Where the text leaves something open the limit is kept: the transitional surface beside the
//! approach is taken up to the level of the outer horizontal surface everywhere, and the clear zones
//! are a part of the primary surface, level with the runway end.

use super::{established_elevation, hull_slack};
use crate::aerodrome::Aerodrome;
use crate::error::Result;
use crate::field::surface::{Bowl, Patch};
use crate::frame::LocalFrame;
use crate::surfaces::Laid;
use crate::surfaces::answer::SurfaceKind;
use crate::surfaces::outline::about_discs;
use crate::surfaces::ribbon::{Ribbon, Until};
use crate::surfaces::runway_line::RunwayLine;
use crate::surfaces::table::Grid;

/// The cells of 77.21; lengths and full widths in metres, slopes in metres a metre.
#[derive(Clone, Debug, PartialEq)]
pub struct Military {
    /// Height and radius of the inner horizontal surface.
    pub inner_horizontal: (f64, f64),
    /// Slope and run of the conical surface.
    pub conical: (f64, f64),
    /// Height and run of the outer horizontal surface.
    pub outer_horizontal: (f64, f64),
    /// Full width of the primary surface.
    pub primary_width: f64,
    /// Length of the clear zone beyond each end.
    pub clear_zone: f64,
    /// Where the approach clearance surface begins, beyond the end.
    pub approach_beyond_end: f64,
    /// Slope of the approach clearance surface, up to the height of the outer horizontal surface.
    pub approach_slope: f64,
    /// Its length, the horizontal part included.
    pub approach_length: f64,
    /// Its full width at its outer end.
    pub approach_outer_width: f64,
    /// Slope of the transitional surface.
    pub transitional: f64,
}

impl Military {
    pub(super) fn read(grid: &Grid) -> Result<Self> {
        let length = |row: &str| grid.length(row, 0);
        let ratio = |row: &str| grid.ratio(row, 0);
        Ok(Self {
            inner_horizontal: (
                length("inner_horizontal_height")?,
                length("inner_horizontal_radius")?,
            ),
            conical: (ratio("conical_slope")?, length("conical_run")?),
            outer_horizontal: (
                length("outer_horizontal_height")?,
                length("outer_horizontal_run")?,
            ),
            primary_width: length("primary_width")?,
            clear_zone: length("clear_zone_length")?,
            approach_beyond_end: length("approach_beyond_end")?,
            approach_slope: ratio("approach_slope")?,
            approach_length: length("approach_length")?,
            approach_outer_width: length("approach_outer_width")?,
            transitional: ratio("transitional_slope")?,
        })
    }

    /// The approach clearance surface from its inner edge at `level`: sloped up to `top`, then level.
    #[must_use]
    pub fn approach(
        &self,
        origin: crate::frame::Xy,
        along: crate::frame::Xy,
        level: f64,
        top: f64,
    ) -> [Ribbon; 2] {
        let run = ((top - level) / self.approach_slope).clamp(0.0, self.approach_length);
        let divergence =
            (self.approach_outer_width - self.primary_width).max(0.0) / 2.0 / self.approach_length;
        let sloped = Ribbon {
            origin,
            along,
            length: run,
            half_width: self.primary_width / 2.0,
            divergence,
            level,
            slope: self.approach_slope,
        };
        [
            sloped,
            sloped.then(self.approach_length - run, divergence, 0.0),
        ]
    }

    pub(super) fn lay_out(
        &self,
        aerodrome: &Aerodrome,
        lines: &[RunwayLine],
        frame: &LocalFrame,
        laid: &mut Laid,
    ) {
        let mut assumed: Vec<String> = lines.iter().flat_map(|it| it.assumed.clone()).collect();
        let Some(elevation) = established_elevation(aerodrome, lines, &mut assumed, laid) else {
            return;
        };
        let inner = elevation + self.inner_horizontal.0;
        let top = elevation + self.outer_horizontal.0;
        for line in lines {
            self.lay_out_runway(line, (inner, top), laid);
        }
        let ends: Vec<_> = lines
            .iter()
            .flat_map(|line| [0.0, line.length].map(|s| (line.point(s), self.inner_horizontal.1)))
            .collect();
        let slack = hull_slack(aerodrome, lines, frame);
        let Some((outline, radius)) = about_discs(&ends) else {
            return;
        };
        let beyond = radius + self.conical.1;
        let bowl = |reach: (f64, f64), level: f64, slope: f64| {
            Bowl::new(outline.clone(), reach, level, slope, slack).map(Patch::Bowl)
        };
        for (kind, patch) in [
            (
                SurfaceKind::InnerHorizontal,
                bowl((0.0, radius), inner, 0.0),
            ),
            (
                SurfaceKind::Conical,
                bowl((radius, beyond), inner, self.conical.0),
            ),
            (
                SurfaceKind::OuterHorizontal,
                bowl((beyond, beyond + self.outer_horizontal.1), top, 0.0),
            ),
        ] {
            let patches = patch.into_iter().collect();
            laid.push(kind, None, &aerodrome.source, patches, &assumed);
        }
    }

    fn lay_out_runway(&self, line: &RunwayLine, (inner, top): (f64, f64), laid: &mut Laid) {
        let half_width = self.primary_width / 2.0;
        let strip = |beyond: f64| line.strip(-beyond, line.length + beyond, half_width);
        let decks = strip(self.clear_zone)
            .iter()
            .filter_map(|it| it.deck(line.slack))
            .collect();
        let part = Some(line.designator.as_str());
        laid.push(
            SurfaceKind::Primary,
            part,
            &line.source,
            decks,
            &line.assumed,
        );
        let mut transitional: Vec<Patch> = strip(self.approach_beyond_end)
            .iter()
            .flat_map(|it| it.flanks(self.transitional, Until::Level(inner), line.slack))
            .collect();
        for (index, (end, outward)) in line.ends_outward().into_iter().enumerate() {
            let origin = line.point(line.from_low(index, -self.approach_beyond_end));
            let ribbons = self.approach(origin, outward, end.elevation, top);
            let decks = ribbons
                .iter()
                .filter_map(|it| it.deck(line.slack))
                .collect();
            transitional.extend(ribbons.iter().flat_map(|ribbon| {
                ribbon.flanks(self.transitional, Until::Level(top), line.slack)
            }));
            let part = Some(end.designator.as_str());
            laid.push(
                SurfaceKind::Approach,
                part,
                &line.source,
                decks,
                &line.assumed,
            );
        }
        laid.push(
            SurfaceKind::Transitional,
            part,
            &line.source,
            transitional,
            &line.assumed,
        );
    }
}
