//! The input of the checks on one outline.

use crate::geom::{Certified, Region, Ring};
use crate::kit::Tools;
use crate::template::ease::{AsCut, Corners};

/// One outline as drawn, with its pieces.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Number of the outline.
    pub number: usize,
    pub drawn: &'a Certified<Region>,
    /// The pieces as cut.
    pub cut: &'a AsCut,
    pub corners: Corners,
    pub tools: &'a Tools,
    /// Largest distance of a piece from the drawing, mm. Beyond it is an error. `None` without `--within`.
    pub within: Option<f64>,
}

impl Subject<'_> {
    /// Inside corners below this radius differ from the drawing, mm. It is the cutter's radius, with the margin if
    /// corners are eased.
    #[must_use]
    pub fn inside_radius(&self) -> f64 {
        self.corners.inside_radius(self.tools).unwrap_or_else(|| self.tools.recess.cutter_radius())
    }

    /// Outside corners below this radius differ from the drawing, mm. It is the larger offset, with the margin if
    /// corners are eased.
    #[must_use]
    pub fn outside_radius(&self) -> f64 {
        self.corners.outside_radius(self.tools).unwrap_or_else(|| self.tools.largest_offset())
    }
}

pub(super) fn island_count(r: &Region) -> usize {
    r.rings.iter().filter(|r| r.area() > 0.0).count()
}

pub(super) fn holes(r: &Region) -> impl Iterator<Item = &Ring> {
    r.rings.iter().filter(|r| r.area() < 0.0)
}
