//! The curves that drawings hold, before they become lines and arcs.

use super::{Arc, Line};
use kurbo::{CubicBez, Point, QuadBez};

/// One curve of a drawing, in whatever frame it was written; carries the exact numbers of its element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    Line(Line),
    /// A true circular arc, less than a full turn.
    Arc(Arc),
    /// Part of an ellipse.
    Ellipse(EllipticArc),
    Quad(QuadBez),
    Cubic(CubicBez),
}

/// Part of an ellipse: the points `center + cos(t)·major + sin(t)·minor`, t from `from` over `sweep` (signed; at most a
/// full turn). The two axis vectors need not be at right angles, so any affine image is again of this form. Ends are
/// given, because they are what the neighbours share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EllipticArc {
    pub start: Point,
    pub end: Point,
    pub center: Point,
    pub major: kurbo::Vec2,
    pub minor: kurbo::Vec2,
    /// Parameter of the start, radians.
    pub from: f64,
    /// Parameter range, radians; positive runs from `major` towards `minor`.
    pub sweep: f64,
}
