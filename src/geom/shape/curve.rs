//! The curves of a drawing, before they become lines and arcs.
//!
//! Any frame, any unit, y up or down: `ccw` and positive sweeps run from +x towards +y, whichever way the page shows
//! them.

use super::trig::{self, left};
use super::{Arc, Line, Segment};
use crate::tolerance::{HALF_TURN, ROUNDING_SHARE};
use kurbo::{Affine, CubicBez, ParamCurveExtrema, Point, QuadBez, Rect, Vec2};
use std::f64::consts::{PI, TAU};

/// One curve of a drawing, in the frame in which it was written, with the exact numbers of its element.
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

/// Part of an ellipse: the points `center + cos(t)·major + sin(t)·minor`, with t from `from` over `sweep` (signed; at
/// most a full turn). The two axis vectors need not be perpendicular, so any affine image has this form too. The ends
/// are stored because the neighbours share them.
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

    /// The image under any affine map. Under a similarity an arc stays an arc; under any other map it becomes part of
    /// an ellipse.
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

    /// Axis-parallel bounding box.
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

    /// A whole ellipse with axes along x and y, as two halves that start at its +x end and run towards +y. True arcs if
    /// the radii (positive) are equal.
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

/// The scale of `m`, if it is a similarity (rotation, mirror, uniform scale, translation) with a scale above 0.
fn similarity(m: Affine) -> Option<f64> {
    let [a, b, c, d, ..] = m.as_coeffs();
    let (x, y) = (Vec2::new(a, b), Vec2::new(c, d));
    let size = x.hypot2().max(y.hypot2());
    let even = (x.hypot2() - y.hypot2()).abs() <= ROUNDING_SHARE * size && x.dot(y).abs() <= ROUNDING_SHARE * size;
    (even && size > 0.0).then(|| m.determinant().abs().sqrt())
}

impl EllipticArc {
    /// The same arc, in the form that is closed under affine maps.
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

    /// The arc that an SVG path writes as `A`, in SVG's frame: radii, rotation of the x axis in radians, the two flags,
    /// and both ends. `sweep` runs from +x towards +y. Radii that are too small are scaled up. A zero radius gives a
    /// line, equal radii a true arc, and coincident ends `None`.
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
        // B.2.4 step 1: half the chord, from end to start, in the axes' frame.
        let half = (start - end) / 2.0;
        let h = Vec2::new(half.dot(x_axis), half.dot(y_axis));
        // B.2.5: radii that are too small grow until the ends are half a turn apart.
        let lambda = (h.x / rx).powi(2) + (h.y / ry).powi(2);
        if lambda > 1.0 {
            rx *= lambda.sqrt();
            ry *= lambda.sqrt();
        }
        // Step 2, on the unit circle: the centre lies perpendicular to the chord.
        let u = Vec2::new(h.x / rx, h.y / ry);
        let l2 = u.hypot2();
        let k = if lambda >= 1.0 { 0.0 } else { ((1.0 - l2) / l2).max(0.0).sqrt() };
        let k = if large == sweep { -k } else { k };
        let c = Vec2::new(k * u.y, -k * u.x);
        let center = start.midpoint(end) + x_axis * (c.x * rx) + y_axis * (c.y * ry);
        // Steps 3 and 4: start angle and sweep.
        let from = trig::angle(u - c);
        let turn = trig::positive(trig::angle(-u - c) - from);
        let sweep = match (lambda >= 1.0, sweep) {
            (true, true) => PI,
            (true, false) => -PI,
            (false, true) => turn,
            (false, false) => turn - TAU,
        };
        // With very large radii the two ends coincide numerically: the flags then distinguish a short arc from a whole
        // ellipse.
        if !large && sweep.abs() > PI + HALF_TURN {
            return Some(Curve::Line(Line { start, end }));
        }
        let sweep = if large && sweep.abs() < PI - HALF_TURN { sweep.signum() * TAU } else { sweep };
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::fit;
    use crate::tolerance::CURVE_FIT;

    fn length(c: &Curve) -> f64 {
        let mut out = Vec::new();
        // Finer than drawings are read: the published lengths have six decimals.
        fit::fit(c, 1e-5, &mut out);
        out.iter().map(Segment::length).sum()
    }

    fn at(c: &Curve, t: f64) -> Point {
        match c {
            Curve::Ellipse(e) => e.at(t),
            Curve::Arc(a) => a.at(t),
            _ => panic!("{c:?}"),
        }
    }

    /// W3C SVG 1.1 appendix F.6, SVG 2 appendix B.2: endpoint to centre; radii too small are scaled up. The numbers
    /// are computed from the formulas there.
    #[test]
    fn svg_arcs_by_their_ends() {
        let svg = |s: (f64, f64), r: (f64, f64), turn: f64, large, sweep, e: (f64, f64)| {
            EllipticArc::from_svg(s.into(), r.into(), turn.to_radians(), large, sweep, e.into())
        };
        let Some(Curve::Arc(a)) = svg((0.0, 0.0), (50.0, 50.0), 0.0, false, true, (60.0, 0.0)) else { panic!() };
        assert!((a.center - Point::new(30.0, 40.0)).hypot() < 1e-12 && a.ccw, "{a:?}");
        assert!((length(&Curve::Arc(a)) - 64.350_111).abs() < 1e-6);
        let Some(Curve::Arc(a)) = svg((0.0, 0.0), (10.0, 10.0), 0.0, false, true, (60.0, 0.0)) else { panic!() };
        assert_eq!(a.radius, 30.0);
        assert!((length(&Curve::Arc(a)) - 94.247_780).abs() < 1e-6);
        let c = svg((10.0, 20.0), (30.0, 15.0), 25.0, false, true, (60.0, 45.0)).unwrap();
        let Curve::Ellipse(e) = c else { panic!("{c:?}") };
        assert!((e.center - Point::new(32.182_836, 37.144_917)).hypot() < 1e-6, "{e:?}");
        assert!((length(&c) - 60.864_696).abs() < 2e-5, "{}", length(&c));
        assert_eq!(svg((1.0, 2.0), (3.0, 4.0), 0.0, true, true, (1.0, 2.0)), None);
        assert!(matches!(svg((1.0, 2.0), (0.0, 4.0), 0.0, true, true, (3.0, 2.0)), Some(Curve::Line(_))));
    }

    /// By the definition of the flags (same source). Of the four arcs two sweep more than half a turn, and two run from
    /// +x to +y. All pass through both ends.
    #[test]
    fn svg_flags_choose_one_of_four() {
        let (start, end) = (Point::new(10.0, 20.0), Point::new(40.0, 31.0));
        for radii in [Vec2::new(30.0, 18.0), Vec2::new(25.0, 25.0), Vec2::new(5.0, 3.0), Vec2::new(-30.0, 18.0)] {
            for (large, sweep) in [(false, false), (false, true), (true, false), (true, true)] {
                let e = match EllipticArc::from_svg(start, radii, 0.4, large, sweep, end).unwrap() {
                    Curve::Ellipse(e) => e,
                    Curve::Arc(a) => EllipticArc::from_arc(&a),
                    other => panic!("{other:?}"),
                };
                assert!((e.at_angle(e.from) - start).hypot() < 1e-11, "{e:?}");
                assert!((e.at_angle(e.from + e.sweep) - end).hypot() < 1e-11, "{e:?}");
                assert_eq!(e.sweep > 0.0, sweep);
                if radii.x.abs() > 10.0 {
                    assert_eq!(e.sweep.abs() > PI, large, "{e:?}");
                } else {
                    assert!((e.sweep.abs() - PI).abs() < 1e-9);
                }
            }
        }
        let far = EllipticArc::from_svg(start, Vec2::new(1e20, 2e20), 0.0, false, false, end).unwrap();
        assert!(far.is_finite() && length(&far) < 32.0, "{far:?}");
    }

    #[test]
    fn images_of_points_are_points_of_images() {
        let arc = Arc::from_bulge(Point::new(0.0, 0.0), Point::new(60.0, 0.0), 1.0 / 3.0).unwrap();
        let maps = [
            (Affine::translate((5.0, 6.0)) * Affine::rotate(0.7) * Affine::scale(2.5), true),
            (Affine::FLIP_Y, true),
            (Affine::scale_non_uniform(-1.0, -1.0), true),
            (Affine::scale_non_uniform(1.0, 3.0), false),
            (Affine::skew(0.3, 0.0), false),
            (Affine::new([1.0, 0.0, 0.0, 0.0, 0.0, 0.0]), false),
        ];
        for (m, round) in maps {
            let image = Curve::Arc(arc).under(m);
            assert_eq!(matches!(image, Curve::Arc(_)), round, "{m:?}");
            let twice = Curve::Ellipse(EllipticArc::from_arc(&arc)).under(m);
            for t in [0.0, 0.2, 0.5, 0.9, 1.0] {
                assert!((at(&image, t) - m * arc.at(t)).hypot() < 1e-11, "{m:?}");
                assert!((at(&twice, t) - m * arc.at(t)).hypot() < 1e-11, "{m:?}");
            }
        }
        let Curve::Arc(big) = Curve::Arc(arc).under(Affine::rotate(0.7) * Affine::scale(2.0)) else { panic!() };
        assert!((big.radius - 100.0).abs() < 1e-12);
        let cubic = Curve::Cubic(CubicBez::new((0.0, 0.0), (1.0, 2.0), (3.0, 4.0), (5.0, 0.0)));
        assert_eq!(cubic.under(Affine::translate((1.0, 1.0))).end(), Point::new(6.0, 1.0));
    }

    /// The box of a rotated ellipse: half its width is √(a²cos² + b²sin²), from the support function.
    #[test]
    fn boxes_are_tight() {
        let (a, b, turn) = (30.0_f64, 12.0_f64, 0.6_f64);
        let m = Affine::translate((7.0, -3.0)) * Affine::rotate(turn);
        let all = Curve::ellipse(Point::ORIGIN, a, b).iter().map(|c| c.under(m).bounds()).reduce(|p, q| p.union(q));
        let (w, h) = ((a * turn.cos()).hypot(b * turn.sin()), (a * turn.sin()).hypot(b * turn.cos()));
        let want = Rect::new(7.0 - w, -3.0 - h, 7.0 + w, -3.0 + h);
        let all = all.unwrap();
        for (got, want) in [(all.x0, want.x0), (all.y0, want.y0), (all.x1, want.x1), (all.y1, want.y1)] {
            assert!((got - want).abs() < 1e-12, "{all:?} {want:?}");
        }
        let quarter = EllipticArc::from_svg(
            Point::new(30.0, 0.0),
            Vec2::new(30.0, 12.0),
            0.0,
            false,
            true,
            Point::new(0.0, 12.0),
        );
        assert_eq!(quarter.unwrap().bounds(), Rect::new(0.0, 0.0, 30.0, 12.0));
        let hump = Curve::Quad(QuadBez::new((0.0, 0.0), (5.0, 10.0), (10.0, 0.0)));
        assert_eq!(hump.bounds(), Rect::new(0.0, 0.0, 10.0, 5.0));
    }

    #[test]
    fn whole_ellipses_close() {
        for (rx, ry) in [(30.0, 12.0), (8.0, 8.0)] {
            let halves = Curve::ellipse(Point::new(1.0, 2.0), rx, ry);
            assert_eq!(halves[0].start(), Point::new(1.0 + rx, 2.0));
            assert_eq!(halves[0].end(), halves[1].start());
            assert_eq!(halves[1].end(), halves[0].start());
            assert_eq!(matches!(halves[0], Curve::Arc(_)), rx == ry);
            assert!((at(&halves[0], 0.5) - Point::new(1.0, 2.0 + ry)).hypot() < 1e-12);
            let mut out = Vec::new();
            halves.iter().for_each(|c| fit::fit(c, CURVE_FIT, &mut out));
            let area: f64 = out.iter().map(|s| s.area_share(Point::ORIGIN)).sum();
            assert!((area - PI * rx * ry).abs() < 0.5 * CURVE_FIT * TAU * rx, "{area}");
        }
    }

    #[test]
    fn numbers_that_are_none_are_seen() {
        let Curve::Ellipse(e) = Curve::ellipse(Point::ORIGIN, 3.0, 2.0)[0] else { panic!() };
        assert!(Curve::Ellipse(e).is_finite());
        assert!(!Curve::Ellipse(EllipticArc { sweep: f64::INFINITY, ..e }).is_finite());
        assert!(!Curve::Quad(QuadBez::new((0.0, 0.0), (f64::NAN, 1.0), (2.0, 0.0))).is_finite());
    }
}
