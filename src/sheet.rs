//! The sheet that a figure is drawn on: its kind, its paper, and its unit.
//!
//! Plain values that the command line, a request and a figure share. Not here: how a sheet is
//! divided (see [`crate::figure`]).

/// Millimetres to one unit of a sheet.
pub const UNIT_MM: f64 = 0.2;

/// The smallest size of text on a sheet, units: 7 pt of 25.4 ⁄ 72 mm, when printed at full size.
pub const LEAST_TEXT: f64 = 12.35;

/// The resolution of a picture unless another is asked for, dots per inch.
pub const USUAL_DPI: u32 = 300;

/// What a figure shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FigureKind {
    /// The area and the aerodromes around it.
    Location,
    /// The area, what stands around it, and where the ceiling governs.
    Site,
    /// A vertical cut.
    Section,
}

impl FigureKind {
    /// Every kind, from far to near.
    pub const ALL: [Self; 3] = [Self::Location, Self::Site, Self::Section];

    /// Its name on the command line and in file names.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Location => "location",
            Self::Site => "site",
            Self::Section => "section",
        }
    }

    /// The kind of a name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

/// A size of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4, 210 mm by 297 mm.
    #[default]
    A4,
    /// ISO 216 A3, 297 mm by 420 mm.
    A3,
    /// ANSI/ASME Y14.1 A, 215.9 mm by 279.4 mm (8 ½ by 11 inches).
    Letter,
}

impl Paper {
    /// Every size.
    pub const ALL: [Self; 3] = [Self::A4, Self::A3, Self::Letter];

    /// Its name on the command line.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::A3 => "a3",
            Self::Letter => "letter",
        }
    }

    /// The size of a name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|paper| paper.name() == name)
    }

    /// Its shorter and its longer side, millimetres.
    const fn sides_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::A3 => (297.0, 420.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// Which way a sheet is turned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Orientation {
    /// The longer side lies.
    #[default]
    Landscape,
    /// The longer side stands.
    Portrait,
}

impl Orientation {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Landscape, Self::Portrait];

    /// Its name on the command line.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Landscape => "landscape",
            Self::Portrait => "portrait",
        }
    }

    /// The orientation of a name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|turn| turn.name() == name)
    }
}

/// A sheet of paper, turned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Its size.
    pub paper: Paper,
    /// Which way it is turned.
    pub orientation: Orientation,
}

impl Sheet {
    /// Its width and height, millimetres.
    #[must_use]
    pub const fn size_mm(self) -> (f64, f64) {
        let (short, long) = self.paper.sides_mm();
        match self.orientation {
            Orientation::Landscape => (long, short),
            Orientation::Portrait => (short, long),
        }
    }

    /// Its width and height in units of [`UNIT_MM`].
    #[must_use]
    pub fn size_units(self) -> (f64, f64) {
        let (width, height) = self.size_mm();
        (width / UNIT_MM, height / UNIT_MM)
    }

    /// Its width and height in whole pixels at a resolution in dots per inch of 25.4 mm.
    #[must_use]
    pub fn size_px(self, dpi: u32) -> (u32, u32) {
        let (width, height) = self.size_mm();
        let px = |mm: f64| (mm / 25.4 * f64::from(dpi)).round() as u32;
        (px(width), px(height))
    }
}
