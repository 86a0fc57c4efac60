//! The files for the machine, and how files get into a folder.
//!
//! In: one face of a panel with its certified openings. Out: the bytes of a DXF or SVG file in that face's frame
//! (mm, origin at the bottom left corner of the face that is up), and files in a folder, all of them or none.
//! Also plain drawings of outlines ([`outlines`]). Refuses what does not lie on the panel or is not made of numbers ([`WriteError`]).

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
    /// Millimetres to the file's unit.
    fn of(self, mm: f64) -> f64 {
        match self {
            FileUnit::Mm => mm,
            FileUnit::Inch => mm / INCH,
        }
    }

    /// The same for the readers.
    #[must_use]
    pub fn unit(self) -> Unit {
        match self {
            FileUnit::Mm => Unit::MM,
            FileUnit::Inch => Unit::INCH,
        }
    }

    /// As it is written after a number.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            FileUnit::Mm => "mm",
            FileUnit::Inch => "in",
        }
    }
}

/// No file could be made of a face. All of these are faults of what came before, not of the drawing.
#[derive(Debug, thiserror::Error, Clone, PartialEq)]
pub enum WriteError {
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    #[error("the panel has no size: {width} × {height} mm")]
    NoPanel { width: f64, height: f64 },
    #[error("{opening} does not lie on the panel: {past:.3} mm past its edge; a larger panel is needed (--panel)")]
    OffPanel { opening: String, past: f64 },
    #[error("{opening} has an outline that does not close")]
    Open { opening: String },
    #[error("{opening} is empty")]
    Empty { opening: String },
}
