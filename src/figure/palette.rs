//! The colours, pens and text sizes of a figure.
//!
//! Each kind of mark differs from the others in tone, and in dash, hatch or weight too, so that a
//! grey copy can still be read. Not here: the shapes of symbols (see [`super::symbol`]).

use super::scene::{Colour, Dash, Pen};

/// Size of notes, ticks, and labels of lesser things: the least that is printed, units.
pub const SMALL: f64 = 12.4;
/// Size of labels.
pub const LABEL: f64 = 13.2;
/// Size of headings of blocks.
pub const HEADING: f64 = 14.4;

/// The paper.
pub const PAPER: Colour = Colour(0xff, 0xff, 0xff);
/// Text and frames.
pub const INK: Colour = Colour(0x1b, 0x1e, 0x24);
/// Secondary text.
pub const SOFT_INK: Colour = Colour(0x4a, 0x50, 0x5a);
/// Rules between blocks, crosses of the graticule.
pub const RULE: Colour = Colour(0xa9, 0xb0, 0xb8);
/// The operating area.
pub const AREA: Colour = Colour(0x0f, 0x3d, 0x6e);
/// The inside of the operating area.
pub const AREA_TINT: Colour = Colour(0xdb, 0xe8, 0xf3);
/// The inside of the usable area.
pub const USABLE_TINT: Colour = Colour(0xc3, 0xda, 0xee);
/// Electrical clearance bands.
pub const CLEARANCE: Colour = Colour(0x7d, 0x2a, 0x63);
/// The inside of electrical clearance bands.
pub const CLEARANCE_TINT: Colour = Colour(0xf1, 0xdc, 0xea);
/// Points of the plan.
pub const PLAN: Colour = Colour(0x12, 0x16, 0x1c);
/// Bands of the ceiling, the lowest first: each lighter than the one before, in grey too.
pub const CEILING_TONES: [Colour; 5] = [
    Colour(0x8d, 0xbb, 0xc6),
    Colour(0xaa, 0xce, 0xcd),
    Colour(0xc6, 0xdf, 0xd2),
    Colour(0xe0, 0xed, 0xd9),
    Colour(0xf6, 0xf7, 0xe6),
];
/// Heights of contours.
pub const CONTOUR: Colour = Colour(0x1f, 0x4c, 0x55);
/// The uncovered part.
pub const UNCOVERED: Colour = Colour(0xa8, 0x3a, 0x00);
/// The inside of the uncovered part.
pub const UNCOVERED_TINT: Colour = Colour(0xff, 0xe3, 0xc9);
/// The place that governs.
pub const GOVERNS: Colour = Colour(0x9e, 0x0f, 0x2c);
/// The lowest shielding obstacle and its reach.
pub const SHIELD: Colour = Colour(0x00, 0x5f, 0x56);
/// The inside of the reach.
pub const SHIELD_TINT: Colour = Colour(0xdd, 0xf0, 0xe9);
/// Power lines and supports.
pub const LINE: Colour = Colour(0x2b, 0x2f, 0x36);
/// Structures.
pub const STRUCTURE: Colour = Colour(0x5d, 0x4a, 0x37);
/// The inside of structures.
pub const STRUCTURE_TINT: Colour = Colour(0xe2, 0xd8, 0xcb);
/// Obstacles that are not shields.
pub const NOT_SHIELD: Colour = Colour(0x7b, 0x75, 0x6d);
/// The inside of a runway that is wide on the sheet.
pub const RUNWAY_TINT: Colour = Colour(0xd6, 0xcf, 0xe8);
/// Aerodromes.
pub const AERODROME: Colour = Colour(0x45, 0x2f, 0x86);
/// Distance rings.
pub const RING: Colour = Colour(0x4f, 0x62, 0x75);
/// Airspace volumes.
pub const AIRSPACE: Colour = Colour(0x66, 0x52, 0x00);
/// Obstacle limitation surfaces.
pub const SURFACE: Colour = Colour(0x00, 0x6b, 0x9c);
/// Zones of the profile.
pub const ZONE: Colour = Colour(0x7c, 0x1d, 0x5e);

/// The outline of an airspace volume.
pub const AIRSPACE_PEN: Pen = Pen::dashed(AIRSPACE, 1.8, Dash::Short);
/// The outline of the volume with the lowest floor that the operating volume reaches.
pub const AIRSPACE_GOVERNS_PEN: Pen = Pen::dashed(AIRSPACE, 3.4, Dash::Short);
/// The outline of an obstacle limitation surface.
pub const SURFACE_PEN: Pen = Pen::dashed(SURFACE, 1.3, Dash::LongShort);
/// The outline of the obstacle limitation surface that governs.
pub const SURFACE_GOVERNS_PEN: Pen = Pen::dashed(SURFACE, 2.8, Dash::LongShort);
/// The outline of the operating area.
pub const AREA_PEN: Pen = Pen::solid(AREA, 2.4);
/// The hatch of the operating area.
pub const AREA_HATCH: Pen = Pen::solid(Colour(0x8f, 0xae, 0xcb), 0.8);
/// The edge of the usable area.
pub const USABLE_PEN: Pen = Pen::solid(AREA, 1.1);
/// The edge of an electrical clearance band.
pub const CLEARANCE_PEN: Pen = Pen::dashed(CLEARANCE, 1.5, Dash::LongShort);
/// The hatch of an electrical clearance band, across that of the area.
pub const CLEARANCE_HATCH: Pen = Pen::solid(Colour(0xb0, 0x77, 0x9f), 0.8);
/// Contours of the ceiling.
pub const CONTOUR_PEN: Pen = Pen::solid(CONTOUR, 0.9);
/// The outline of the uncovered part.
pub const UNCOVERED_PEN: Pen = Pen::dashed(UNCOVERED, 2.0, Dash::Short);
/// The cross-hatch of the uncovered part.
pub const UNCOVERED_HATCH: Pen = Pen::solid(UNCOVERED, 1.0);
/// The cross-hatch of an undetermined stretch of a section, which is large.
pub const UNDETERMINED_HATCH: Pen = Pen::solid(Colour(0xdc, 0xa0, 0x75), 0.8);
/// The edge of the reach.
pub const REACH_PEN: Pen = Pen::dashed(SHIELD, 1.6, Dash::DashDot);
/// A distance ring.
pub const RING_PEN: Pen = Pen::dashed(RING, 1.3, Dash::Long);
/// A zone that the area stays outside of.
pub const ZONE_PEN: Pen = Pen::dashed(ZONE, 1.7, Dash::DashDotDot);
/// A zone that the area reaches into, or may.
pub const ZONE_GOVERNS_PEN: Pen = Pen::dashed(ZONE, 3.0, Dash::DashDotDot);
/// An extended centreline.
pub const CENTRELINE_PEN: Pen = Pen::dashed(AERODROME, 1.5, Dash::Dots);
/// The edge of a runway that is wide on the sheet.
pub const RUNWAY_PEN: Pen = Pen::solid(AERODROME, 1.4);
/// The shortest line to an aerodrome.
pub const DISTANCE_PEN: Pen = Pen::solid(AERODROME, 1.3);
/// Leader lines.
pub const LEADER_PEN: Pen = Pen::solid(SOFT_INK, 0.8);
/// The pale edge of a leader line on a hatch.
pub const LEADER_EDGE_PEN: Pen = Pen::solid(PAPER, 3.0);
/// Radius of the dot at the end of a leader line on a hatch.
pub const LEADER_DOT: f64 = 1.8;
/// Frames of panels.
pub const FRAME_PEN: Pen = Pen::solid(INK, 1.4);
/// Thin rules.
pub const RULE_PEN: Pen = Pen::solid(RULE, 0.8);

/// The ground of a section.
pub const GROUND: Colour = Colour(0x4a, 0x3c, 0x2c);
/// What lies below it.
pub const GROUND_TINT: Colour = Colour(0xee, 0xe8, 0xdd);
/// The line of the ground.
pub const GROUND_PEN: Pen = Pen::solid(GROUND, 2.6);
/// The hatch below the ground.
pub const GROUND_HATCH: Pen = Pen::solid(Colour(0xb3, 0xa6, 0x93), 0.8);
/// What the ground is known within.
pub const GROUND_ACCURACY_PEN: Pen = Pen::dashed(GROUND, 0.8, Dash::Short);
/// A stretch whose ground is not known.
pub const GROUND_UNKNOWN_PEN: Pen = Pen::dashed(UNCOVERED, 1.6, Dash::Short);
/// The edge of the area on a section.
pub const AREA_EDGE_PEN: Pen = Pen::dashed(AREA, 1.2, Dash::DashDot);
/// The allowed ceiling on a section.
pub const CEILING_PEN: Pen = Pen::solid(GOVERNS, 3.2);
/// The certified ceiling of the whole area on a section.
pub const CERTIFIED_PEN: Pen = Pen::dashed(GOVERNS, 1.5, Dash::Long);
/// The wished height on a section.
pub const WISH_PEN: Pen = Pen::dashed(AREA, 1.8, Dash::Long);
/// The line of the section on a map.
pub const SECTION_PEN: Pen = Pen::dashed(INK, 1.6, Dash::LongShort);
/// A bend of the cut.
pub const BEND_PEN: Pen = Pen::dashed(SOFT_INK, 0.9, Dash::DashDot);
