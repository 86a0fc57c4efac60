//! Why an operation has no result: no certified result, invalid input, or a run that was stopped.

use crate::budget::Stopped;
use kurbo::Point;

/// The reason.
#[derive(Debug, thiserror::Error, Clone, PartialEq)]
pub enum GeomError {
    /// No engine's result passed the certificate. `at` is the place of the failure, in the frame of the input.
    #[error("the geometry could not be certified near ({:.3}, {:.3}): {why}", at.x, at.y)]
    Uncertified { at: Point, why: &'static str },
    #[error("a coordinate is not a finite number")]
    NotFinite,
    #[error("a coordinate is beyond {} mm", crate::tolerance::LARGEST_COORDINATE)]
    TooFar,
    /// A ring that does not close, or a negative distance: an error of the caller.
    #[error("not a region: {0}")]
    NotARegion(&'static str),
    #[error(transparent)]
    Stopped(#[from] Stopped),
}
