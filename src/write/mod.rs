//! The files for the machine, and how files are stored in a folder.
//!
//! In: one face of a panel with its certified openings. Out: the bytes of a DXF or SVG file in that face's frame: mm,
//! origin at the bottom left corner of the face that is up. And files in a folder, all of them or none. Also plain
//! drawings of outlines ([`outlines`]). Errors ([`WriteError`]): geometry off the panel, and numbers that are not
//! finite.

pub mod dxf;
pub mod outlines;
mod sheet;
pub mod store;
pub mod svg;

use crate::text::NotFinite;
use crate::units::{INCH, Unit};

/// Unit of the numbers in a written file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileUnit {
    Mm,
    Inch,
}

impl FileUnit {
    /// Converts millimetres to the file's unit.
    fn of(self, mm: f64) -> f64 {
        match self {
            FileUnit::Mm => mm,
            FileUnit::Inch => mm / INCH,
        }
    }

    /// The same unit, for the readers.
    #[must_use]
    pub fn unit(self) -> Unit {
        match self {
            FileUnit::Mm => Unit::MM,
            FileUnit::Inch => Unit::INCH,
        }
    }

    /// As written after a number.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            FileUnit::Mm => "mm",
            FileUnit::Inch => "in",
        }
    }
}

/// Why a face could not become a file. All of these are faults of earlier stages, not of the drawing.
#[derive(Debug, thiserror::Error, Clone, PartialEq)]
pub enum WriteError {
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    #[error("the panel has no size: {width} × {height} mm")]
    NoPanel { width: f64, height: f64 },
    #[error("{opening} extends {past:.3} mm past the panel's edge; use a larger panel (--panel)")]
    OffPanel { opening: String, past: f64 },
    #[error("{opening} has an outline that does not close")]
    Open { opening: String },
    #[error("{opening} is empty")]
    Empty { opening: String },
}
