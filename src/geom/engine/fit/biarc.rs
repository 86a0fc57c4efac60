//! A line, an arc or two tangent arcs between two points with given directions, and their distance from a curve.
//!
//! The distance is measured at points of the curve against [`FIT_SHARE`] of the tolerance. A few points come first: they
//! expose most misfits and their size. Then come [`SAMPLES`] points. The curve and the arcs share both ends, and at
//! every sample the curve's direction is compared with the arc's. So the foot of the normal covers the arcs completely,
//! and the distance holds for the arcs' points too. This argument needs radii well above the tolerance; for smaller
//! radii the arcs' points are measured as well.

use super::curve::FittedCurve;
use crate::geom::shape::{Arc, Segment, trig};
use crate::tolerance::{FIT_SHARE, FLATTEST_FITTED, ROUNDEST_BULGE, TANGENT};
use kurbo::{Point, Vec2};

/// Number of points at which a stretch of the curve is measured before it is accepted.
const SAMPLES: usize = 32;
/// Number of points of the preliminary test.
const FEW: usize = 8;
/// A point of the curve and a unit direction there.
#[derive(Clone, Copy)]
pub(super) struct Knot {
    pub t: f64,
    pub point: Point,
    pub way: Vec2,
}

/// One piece of the result: up to `end` (relative to the curve's start), with the given bulge; 0 is a line.
#[derive(Clone, Copy)]
pub(super) struct Bit {
    pub end: Point,
    pub bulge: f64,
}

/// One piece, or two tangent pieces.
#[derive(Clone, Copy)]
pub(super) struct Bits {
    bits: [Bit; 2],
    /// Common direction of the two pieces at their joint; `None` for one piece.
    joint_way: Option<Vec2>,
}

impl Bits {
    fn single(end: Point, bulge: f64) -> Bits {
        Bits { bits: [Bit { end, bulge }; 2], joint_way: None }
    }

    /// A chord without tangency.
    pub(super) fn chord(end: Point) -> Bits {
        Bits::single(end, 0.0)
    }

    pub(super) fn as_slice(&self) -> &[Bit] {
        if self.joint_way.is_some() { &self.bits } else { &self.bits[..1] }
    }

    /// A curve from `from` to `to` in their directions. A line or one arc is used if its directions fit within a share
    /// of [`TANGENT`], else two arcs with equal tangent lengths. `None` if an arc would reach half a turn.
    pub(super) fn between(from: &Knot, to: &Knot) -> Option<Bits> {
        let v = to.point - from.point;
        let (t0, t1) = (from.way, to.way);
        if v == Vec2::ZERO {
            return None;
        }
        // Tangents of half the angle between direction and chord at either end. On an arc both equal its bulge.
        let (b0, b1) = (half_turn(t0, v), half_turn(v, t1));
        // Bulges this close differ by a quarter of TANGENT in direction, which leaves an eighth at either end.
        if (b0 - b1).abs() <= 0.125 * TANGENT {
            return ready(from.point, Bit { end: to.point, bulge: 0.5 * (b0 + b1) })
                .map(|b| Bits::single(b.end, b.bulge));
        }
        // d² · 2(1 − t0·t1) + 2d · v·(t0 + t1) − v·v = 0, the positive root in a form without cancellation.
        let (a, b, c) = ((t0 - t1).hypot2(), v.dot(t0 + t1), v.hypot2());
        let root = (b * b + a * c).sqrt();
        let d = if b >= 0.0 { c / (b + root) } else { (root - b) / a };
        if !d.is_finite() || d <= 0.0 {
            return None;
        }
        let joint = from.point.midpoint(to.point) + (t0 - t1) * (0.5 * d);
        let first = ready(from.point, Bit { end: joint, bulge: half_turn(t0, joint - from.point) })?;
        let second = ready(joint, Bit { end: to.point, bulge: half_turn(to.point - joint, t1) })?;
        Some(Bits { bits: [first, second], joint_way: Some(v - (t0 + t1) * d) })
    }

    /// Whether these pieces and the curve from `from` to `to` lie within [`FIT_SHARE`] of the tolerance of each other and
    /// run the same way. Both `Ok` and `Err` hold the greatest distance seen as a share of that allowance; infinite if
    /// the failure has another cause.
    pub(super) fn measure(&self, path: &FittedCurve, from: &Knot, to: &Knot) -> Result<f64, f64> {
        let allowed = FIT_SHARE * path.tolerance;
        let middle = self.bits[0];
        let first = Circle::new(from.point, middle);
        let second = Circle::new(middle.end, self.bits[1]);
        let of = |p: Point| match self.joint_way {
            Some(way) if (p - middle.end).dot(way) > 0.0 => &second,
            _ => &first,
        };
        let at = |i: usize, n: usize| from.t + (to.t - from.t) * (i as f64 / n as f64);
        let mut worst = 0.0_f64;
        for i in 1..FEW {
            let p = path.at(at(i, FEW));
            worst = worst.max(of(p).off(p));
        }
        if worst > allowed {
            return Err(worst / allowed);
        }
        let mut points = [from.point; SAMPLES + 1];
        for (i, point) in points.iter_mut().enumerate().take(SAMPLES).skip(1) {
            let (p, velocity) = path.at_with_velocity(at(i, SAMPLES));
            *point = p;
            let (d, way) = of(p).nearest(p);
            if d > allowed {
                return Err(d / allowed);
            }
            worst = worst.max(d);
            // In a turn too tight to see, and where the curve nearly stops, its direction is meaningless.
            let near = (p - from.point).hypot2().min((p - to.point).hypot2()) < (0.1 * path.tolerance).powi(2);
            if !near && way.dot(velocity) < 0.5 * velocity.hypot() {
                return Err(f64::INFINITY);
            }
        }
        points[SAMPLES] = to.point;
        let mut start = from.point;
        for bit in self.as_slice() {
            let piece = Segment::from_bulge(start, bit.end, bit.bulge);
            start = bit.end;
            let tight = matches!(piece, Segment::Arc(a) if a.radius < 4.0 * path.tolerance);
            if tight && (1..8).any(|k| off_chords(&points, piece.at(f64::from(k) / 8.0)) > allowed) {
                return Err(f64::INFINITY);
            }
        }
        if worst.is_nan() { Err(f64::INFINITY) } else { Ok(worst / allowed) }
    }
}

/// `bit` with an arc too flat for the digits replaced by a line; `None` if it has no length or is too round.
fn ready(start: Point, bit: Bit) -> Option<Bit> {
    let c = (bit.end - start).hypot();
    if c == 0.0 || bit.bulge.is_nan() || bit.bulge.abs() > ROUNDEST_BULGE {
        return None;
    }
    let flat = c > 4.0 * bit.bulge.abs() * FLATTEST_FITTED;
    Some(Bit { end: bit.end, bulge: if flat { 0.0 } else { bit.bulge } })
}

/// Distance of `p` from the chords through `points`.
fn off_chords(points: &[Point], p: Point) -> f64 {
    points.windows(2).map(|w| Segment::line(w[0], w[1]).nearest(p).0).fold(f64::INFINITY, f64::min)
}

/// A piece prepared for measuring without trigonometry.
enum Circle {
    Line { start: Point, end: Point, way: Vec2 },
    Arc(Arc),
}

impl Circle {
    fn new(start: Point, bit: Bit) -> Circle {
        match Arc::from_bulge(start, bit.end, bit.bulge) {
            Some(arc) => Circle::Arc(arc),
            None => Circle::Line { start, end: bit.end, way: unit(bit.end - start) },
        }
    }

    /// Distance of `p` from the whole circle or line.
    fn off(&self, p: Point) -> f64 {
        match self {
            Circle::Line { start, way, .. } => (p - *start).cross(*way).abs(),
            Circle::Arc(a) => ((p - a.center).hypot() - a.radius).abs(),
        }
    }

    /// Distance of `p` from the piece, and the piece's direction there.
    fn nearest(&self, p: Point) -> (f64, Vec2) {
        match self {
            Circle::Line { start, end, way } => (Segment::line(*start, *end).nearest(p).0, *way),
            Circle::Arc(a) => {
                let (v, from, to) = (p - a.center, a.start - a.center, a.end - a.center);
                let turn = if a.ccw { 1.0 } else { -1.0 };
                let n = v.hypot();
                let (d, out) = if n > 0.0 && turn * from.cross(v) >= 0.0 && turn * v.cross(to) >= 0.0 {
                    ((n - a.radius).abs(), v / n)
                } else {
                    let (ds, de) = ((p - a.start).hypot(), (p - a.end).hypot());
                    if ds <= de { (ds, from / a.radius) } else { (de, to / a.radius) }
                };
                (d, trig::left(out) * turn)
            }
        }
    }
}

pub(super) fn unit(v: Vec2) -> Vec2 {
    let n = v.hypot();
    if n > 0.0 { v / n } else { Vec2::ZERO }
}

/// Tangent of half the angle from `a` to `b`, positive for anticlockwise; infinite for opposite directions.
fn half_turn(a: Vec2, b: Vec2) -> f64 {
    let (cross, dot) = (a.cross(b), a.dot(b));
    let n = (a.hypot2() * b.hypot2()).sqrt();
    // Use the form without cancellation.
    if dot >= 0.0 { cross / (n + dot) } else { (n - dot) / cross }
}
