//! What the checks of one outline look at.

use crate::geom::{Certified, Region, Ring};
use crate::kit::Tools;
use crate::template::ease::{AsCut, Corners};

/// One outline as drawn, and what is made of it.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Of the outline.
    pub number: usize,
    pub drawn: &'a Certified<Region>,
    /// The pieces as they come out.
    pub cut: &'a AsCut,
    pub corners: Corners,
    pub tools: &'a Tools,
    /// A piece farther off the drawing than this is an error, mm; none where nothing was asked for.
    pub within: Option<f64>,
}

impl Subject<'_> {
    /// Radius below which an inside corner does not come out as drawn, mm: the cutter's, with its margin where corners
    /// are eased.
    #[must_use]
    pub fn inside_radius(&self) -> f64 {
        self.corners.inside_radius(self.tools).unwrap_or_else(|| self.tools.recess.cutter_radius())
    }

    /// The same of outside corners: the larger offset, with its margin where corners are eased.
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
