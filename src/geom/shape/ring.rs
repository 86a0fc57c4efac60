//! A closed chain of edges.

use super::{Arc, Segment};
use crate::tolerance::ROUNDING;
use kurbo::{Affine, Point, Rect, Vec2};

/// The rule by which rings enclose an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    NonZero,
    EvenOdd,
}

/// A closed chain of edges. Each edge starts where the previous one ends; the first starts where the last ends.
/// Anticlockwise (positive area) around material, clockwise around a hole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ring {
    pub segments: Vec<Segment>,
}

impl Ring {
    #[must_use]
    pub fn new(segments: Vec<Segment>) -> Ring {
        Ring { segments }
    }

    /// A closed polygon through `points`.
    #[must_use]
    pub fn polygon(points: &[Point]) -> Ring {
        let n = points.len();
        Ring::new((0..n).map(|i| Segment::line(points[i], points[(i + 1) % n])).collect())
    }

    /// A circle as two half arcs, anticlockwise.
    #[must_use]
    pub fn circle(center: Point, radius: f64) -> Ring {
        let (e, w) = (center + Vec2::new(radius, 0.0), center - Vec2::new(radius, 0.0));
        let half = |start, end| Segment::Arc(Arc { start, end, center, radius, ccw: true });
        Ring::new(vec![half(e, w), half(w, e)])
    }

    /// Signed area, mm²: positive for an anticlockwise ring.
    #[must_use]
    pub fn area(&self) -> f64 {
        let Some(first) = self.segments.first() else { return 0.0 };
        let o = first.start();
        self.segments.iter().map(|s| s.area_share(o)).sum()
    }

    /// Length of the whole ring, mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.segments.iter().map(Segment::length).sum()
    }

    /// Axis-parallel bounding box; `None` for an empty ring.
    #[must_use]
    pub fn bounds(&self) -> Option<Rect> {
        self.segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b))
    }

    #[must_use]
    pub fn reversed(&self) -> Ring {
        Ring::new(self.segments.iter().rev().map(Segment::reversed).collect())
    }

    #[must_use]
    pub fn translated(&self, v: Vec2) -> Ring {
        Ring::new(self.segments.iter().map(|s| s.translated(v)).collect())
    }

    /// The image under a similarity. A mirror would turn an anticlockwise ring clockwise, so the chain is then
    /// reversed: a ring around material stays one.
    #[must_use]
    pub fn under_similarity(&self, m: Affine) -> Ring {
        let ring = Ring::new(self.segments.iter().map(|s| s.under_similarity(m)).collect());
        if m.determinant() < 0.0 { ring.reversed() } else { ring }
    }

    /// The circle that this ring is, if all its edges are arcs of one circle.
    #[must_use]
    pub fn as_circle(&self) -> Option<(Point, f64)> {
        let Some(Segment::Arc(first)) = self.segments.first() else { return None };
        let same = |s: &Segment| match s {
            Segment::Arc(a) => {
                (a.center - first.center).hypot() < ROUNDING
                    && (a.radius - first.radius).abs() < ROUNDING
                    && a.ccw == first.ccw
            }
            Segment::Line(_) => false,
        };
        self.segments.iter().all(same).then_some((first.center, first.radius))
    }
}
