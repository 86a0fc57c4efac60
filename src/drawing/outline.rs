//! Shapes to outlines: which closed loops are regions, which lie inside which.

use super::Source;
use crate::geom::{Certified, Point, Region};

/// One outline: a region of one island (its holes with it), ready for the operations.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// From 1, in file order.
    pub number: usize,
    pub region: Certified<Region>,
    pub source: Source,
}

/// What stands in the way of one outline a region.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// An unfilled loop crosses itself, or the edges of two shapes cross, here.
    Crossing { at: Point, outlines: Vec<Source> },
    /// The geometry could not be certified here.
    Uncertified { at: Point, source: Source },
}

/// The outlines of a drawing and what is wrong with them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outlines {
    pub outlines: Vec<Outline>,
    pub troubles: Vec<Trouble>,
}
