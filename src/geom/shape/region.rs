//! A region of the plane: any number of connected parts and holes.

use super::{Ring, Segment};
use kurbo::{Affine, Point, Rect, Vec2};

/// A region bounded by rings that neither cross nor overlap: anticlockwise rings bound material, clockwise rings bound
/// holes. Rings may touch at points. A bare `Region` does not guarantee this; [`Certified`](crate::geom::Certified)
/// does.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    pub rings: Vec<Ring>,
}

impl Region {
    #[must_use]
    pub fn new(rings: Vec<Ring>) -> Region {
        Region { rings }
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// All edges of all rings.
    pub fn segments(&self) -> impl Iterator<Item = &Segment> {
        self.rings.iter().flat_map(|r| r.segments.iter())
    }

    /// Area, mm², without the holes.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.rings.iter().map(Ring::area).sum()
    }

    /// Length of all rings, mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.rings.iter().map(Ring::perimeter).sum()
    }

    #[must_use]
    pub fn bounds(&self) -> Option<Rect> {
        self.rings.iter().filter_map(Ring::bounds).reduce(|a, b| a.union(b))
    }

    #[must_use]
    pub fn translated(&self, v: Vec2) -> Region {
        Region::new(self.rings.iter().map(|r| r.translated(v)).collect())
    }

    /// The image under a similarity (rotation, mirror, uniform scale, translation).
    #[must_use]
    pub fn under_similarity(&self, m: Affine) -> Region {
        Region::new(self.rings.iter().map(|r| r.under_similarity(m)).collect())
    }

    /// Distance of `p` from the nearest edge, mm, and the nearest point of it; `None` for an empty region.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Option<(f64, Point)> {
        self.segments().map(|s| s.nearest(p)).min_by(|a, b| a.0.total_cmp(&b.0))
    }
}
