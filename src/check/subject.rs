//! What the checks of one outline look at.

use crate::geom::{Certified, Region, Ring};
use crate::kit::Tools;
use crate::template::ease::Corners;

/// One outline, as drawn and with its inside corners eased.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Of the outline.
    pub number: usize,
    pub drawn: &'a Certified<Region>,
    pub opened: &'a Certified<Region>,
    pub corners: Corners,
    pub tools: &'a Tools,
}

pub(super) fn island_count(r: &Region) -> usize {
    r.rings.iter().filter(|r| r.area() > 0.0).count()
}

pub(super) fn holes(r: &Region) -> impl Iterator<Item = &Ring> {
    r.rings.iter().filter(|r| r.area() < 0.0)
}
