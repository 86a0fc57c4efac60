//! The curves that drawings hold, before they become lines and arcs.
//!
//! Any frame, any unit, y either way: `ccw` and positive sweeps mean from +x towards +y, whichever way the page has
//! them.

use super::trig::{self, left};
use super::{Arc, Line, Segment};
use kurbo::{Affine, CubicBez, ParamCurveExtrema, Point, QuadBez, Rect, Vec2};
use std::f64::consts::{PI, TAU};

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

impl Curve {
    #[must_use]
    pub fn start(&self) -> Point {
        match self {
            Curve::Line(l) => l.start,
            Curve::Arc(a) => a.start,
            Curve::Ellipse(e) => e.start,
            Curve::Quad(q) => q.p0,
            Curve::Cubic(c) => c.p0,
        }
    }

    #[must_use]
    pub fn end(&self) -> Point {
        match self {
            Curve::Line(l) => l.end,
            Curve::Arc(a) => a.end,
            Curve::Ellipse(e) => e.end,
            Curve::Quad(q) => q.p2,
            Curve::Cubic(c) => c.p3,
        }
    }

    /// Whether all numbers are finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        match self {
            Curve::Line(l) => Segment::Line(*l).is_finite(),
            Curve::Arc(a) => Segment::Arc(*a).is_finite(),
            Curve::Ellipse(e) => {
                [e.start, e.end, e.center].iter().all(|p| p.is_finite())
                    && e.major.is_finite()
                    && e.minor.is_finite()
                    && e.from.is_finite()
                    && e.sweep.is_finite()
            }
            Curve::Quad(q) => q.is_finite(),
            Curve::Cubic(c) => c.is_finite(),
        }
    }

    /// The image under any affine map. An arc under a similarity stays an arc; under any other map it is part of an
    /// ellipse.
    #[must_use]
    pub fn under(&self, m: Affine) -> Curve {
        match *self {
            Curve::Line(l) => Curve::Line(Line { start: m * l.start, end: m * l.end }),
            Curve::Quad(q) => Curve::Quad(m * q),
            Curve::Cubic(c) => Curve::Cubic(m * c),
            Curve::Ellipse(e) => Curve::Ellipse(e.under(m)),
            Curve::Arc(a) => match similarity(m) {
                Some(scale) => Curve::Arc(Arc {
                    start: m * a.start,
                    end: m * a.end,
                    center: m * a.center,
                    radius: a.radius * scale,
                    ccw: a.ccw == (m.determinant() > 0.0),
                }),
                None => Curve::Ellipse(EllipticArc::from_arc(&a).under(m)),
            },
        }
    }

    /// Smallest box with sides along x and y.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        match self {
            Curve::Line(l) => Segment::Line(*l).bounds(),
            Curve::Arc(a) => Segment::Arc(*a).bounds(),
            Curve::Ellipse(e) => e.bounds(),
            Curve::Quad(q) => q.bounding_box(),
            Curve::Cubic(c) => c.bounding_box(),
        }
    }

    /// A whole ellipse with axes along x and y, as two halves, from its +x end towards +y; true arcs where the radii
    /// (positive) are equal.
    #[must_use]
    pub fn ellipse(center: Point, rx: f64, ry: f64) -> Vec<Curve> {
        let (east, west) = (center + Vec2::new(rx, 0.0), center - Vec2::new(rx, 0.0));
        let half = |start, end, from| {
            if rx == ry {
                return Curve::Arc(Arc { start, end, center, radius: rx, ccw: true });
            }
            let (major, minor) = (Vec2::new(rx, 0.0), Vec2::new(0.0, ry));
            Curve::Ellipse(EllipticArc { start, end, center, major, minor, from, sweep: PI })
        };
        vec![half(east, west, 0.0), half(west, east, PI)]
    }
}

/// The scale of `m` if it is a similarity (turn, mirror, even scale, shift) and does not collapse everything.
fn similarity(m: Affine) -> Option<f64> {
    let [a, b, c, d, ..] = m.as_coeffs();
    let (x, y) = (Vec2::new(a, b), Vec2::new(c, d));
    let size = x.hypot2().max(y.hypot2());
    let even = (x.hypot2() - y.hypot2()).abs() <= 1e-12 * size && x.dot(y).abs() <= 1e-12 * size;
    (even && size > 0.0).then(|| m.determinant().abs().sqrt())
}

impl EllipticArc {
    /// The same arc, in the form that stands any affine map.
    #[must_use]
    pub fn from_arc(a: &Arc) -> EllipticArc {
        EllipticArc {
            start: a.start,
            end: a.end,
            center: a.center,
            major: Vec2::new(a.radius, 0.0),
            minor: Vec2::new(0.0, a.radius),
            from: a.start_angle(),
            sweep: if a.ccw { a.sweep() } else { -a.sweep() },
        }
    }

    /// Point at the fraction `t` (0 to 1) of the parameter range; the ends exactly as given.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        if t <= 0.0 {
            return self.start;
        }
        if t >= 1.0 {
            return self.end;
        }
        self.at_angle(self.from + self.sweep * t)
    }

    fn at_angle(&self, a: f64) -> Point {
        self.center + trig::cos(a) * self.major + trig::sin(a) * self.minor
    }

    fn under(&self, m: Affine) -> EllipticArc {
        let turn = |v: Vec2| {
            let [a, b, c, d, ..] = m.as_coeffs();
            Vec2::new(a * v.x + c * v.y, b * v.x + d * v.y)
        };
        EllipticArc {
            start: m * self.start,
            end: m * self.end,
            center: m * self.center,
            major: turn(self.major),
            minor: turn(self.minor),
            ..*self
        }
    }

    fn bounds(&self) -> Rect {
        let mut r = Rect::from_points(self.start, self.end);
        for a in [trig::atan2(self.minor.x, self.major.x), trig::atan2(self.minor.y, self.major.y)] {
            for a in [a, a + PI] {
                let ahead = trig::positive(if self.sweep > 0.0 { a - self.from } else { self.from - a });
                if ahead <= self.sweep.abs() {
                    r = r.union_pt(self.at_angle(a));
                }
            }
        }
        r
    }

    /// The arc that an SVG path writes as `A`: radii, turn of the x axis in radians, the two flags, and both ends, in
    /// SVG's frame (`sweep` runs from +x towards +y). Radii too small are scaled up; a zero radius gives a line, equal
    /// ones a true arc, and ends that are one point nothing.
    ///
    /// Source: W3C SVG 2 appendix B.2 (SVG 1.1 appendix F.6).
    #[must_use]
    pub fn from_svg(start: Point, radii: Vec2, x_rotation: f64, large: bool, sweep: bool, end: Point) -> Option<Curve> {
        if start == end {
            return None;
        }
        let (mut rx, mut ry) = (radii.x.abs(), radii.y.abs());
        if rx == 0.0 || ry == 0.0 {
            return Some(Curve::Line(Line { start, end }));
        }
        if rx == ry {
            return Some(Curve::Arc(round_from_svg(start, rx, large, sweep, end)));
        }
        let x_axis = trig::unit(x_rotation);
        let y_axis = left(x_axis);
        // B.2.4 step 1: half the chord, from end to start, along the axes.
        let half = (start - end) / 2.0;
        let h = Vec2::new(half.dot(x_axis), half.dot(y_axis));
        // B.2.5: radii too small grow until the ends are half a turn apart.
        let lambda = (h.x / rx).powi(2) + (h.y / ry).powi(2);
        if lambda > 1.0 {
            rx *= lambda.sqrt();
            ry *= lambda.sqrt();
        }
        // Step 2, on the unit circle: the centre lies at right angles to the chord.
        let u = Vec2::new(h.x / rx, h.y / ry);
        let l2 = u.hypot2();
        let k = if lambda >= 1.0 { 0.0 } else { ((1.0 - l2) / l2).max(0.0).sqrt() };
        let k = if large == sweep { -k } else { k };
        let c = Vec2::new(k * u.y, -k * u.x);
        let center = start.midpoint(end) + x_axis * (c.x * rx) + y_axis * (c.y * ry);
        // Steps 3 and 4: where it starts, how far it goes.
        let from = trig::angle(u - c);
        let turn = trig::positive(trig::angle(-u - c) - from);
        let sweep = match (lambda >= 1.0, sweep) {
            (true, true) => PI,
            (true, false) => -PI,
            (false, true) => turn,
            (false, false) => turn - TAU,
        };
        // Radii so large that the two ends look like one: what the flags say tells a short arc from a whole ellipse.
        if !large && sweep.abs() > PI + 1e-6 {
            return Some(Curve::Line(Line { start, end }));
        }
        let sweep = if large && sweep.abs() < PI - 1e-6 { sweep.signum() * TAU } else { sweep };
        let (major, minor) = (x_axis * rx, y_axis * ry);
        Some(Curve::Ellipse(EllipticArc { start, end, center, major, minor, from, sweep }))
    }
}

fn round_from_svg(start: Point, radius: f64, large: bool, sweep: bool, end: Point) -> Arc {
    let chord = end - start;
    let half = chord.hypot() / 2.0;
    let radius = radius.max(half);
    let h = ((radius - half) * (radius + half)).max(0.0).sqrt();
    let side = if large == sweep { -h } else { h };
    let center = start.midpoint(end) + left(chord) * (side / chord.hypot());
    Arc { start, end, center, radius, ccw: sweep }
}
