//! The files for the machine, and how files are stored in a folder.
//!
//! In: one face of a panel with its certified openings. Out: the bytes of a DXF or SVG file in that face's frame: mm,
//! origin at the bottom left corner of the face that is up. And files in a folder, all of them or none. Also plain
//! drawings of outlines ([`outlines`]). Errors ([`WriteError`]): a number that is not finite, a panel without a size,
//! and an opening that is empty, does not close, or extends past the panel's edge.

pub mod dxf;
pub mod outlines;
mod sheet;
pub mod store;
pub mod svg;

use crate::text::NotFinite;
pub use crate::units::FileUnit;

/// Why a face cannot become a file. Earlier stages rule these out. If one occurs, the program is at fault, and the
/// message of [`WriteError::OffPanel`] names a way around it.
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
