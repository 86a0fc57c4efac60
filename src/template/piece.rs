//! One outline of a job with both its openings.

use super::ease::AsCut;
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, outset};
use crate::kit::Tools;
use crate::names::names;
use crate::threads::both;

/// The piece that an opening serves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duty {
    Recess,
    Inlay,
    Both,
    Clearing,
}

names!(
    Duty, "it has an opening of an unknown duty";
    Recess = "recess", Inlay = "inlay", Both = "both", Clearing = "clearing"
);

/// One outline of the job. All regions in the drawing frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: Certified<Region>,
    /// As it will be made, with corners eased or not.
    pub made: Certified<Region>,
    /// The pieces as cut, computed from `made`.
    pub cut: AsCut,
    /// The tools and the gap of both pieces.
    pub tools: Tools,
    /// Opening for the recess, `made ⊕ (R − r)`.
    pub recess: Certified<Region>,
    /// Opening for the inlay, `made ⊕ (R + r − gap)`.
    pub inlay: Certified<Region>,
}

impl Piece {
    /// Computes both openings.
    ///
    /// # Errors
    /// As [`outset`].
    pub fn new(
        outline: usize,
        drawn: &Certified<Region>,
        made: Certified<Region>,
        cut: AsCut,
        tools: &Tools,
        budget: &Budget,
    ) -> Result<Piece, GeomError> {
        // A gap of exactly twice the offset is made as drawn.
        let (recess, inlay) =
            both(|| outset(&made, tools.recess_offset(), budget), || outset(&made, tools.inlay_offset(), budget));
        let (recess, inlay) = (recess?.region, inlay?.region);
        Ok(Piece { outline, drawn: drawn.clone(), made, cut, tools: *tools, recess, inlay })
    }
}
