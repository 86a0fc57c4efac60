//! One edge of an outline: a straight line or a circular arc, in mm.

use crate::geom::shape::trig::{self, angle, left, positive, right};
use crate::tolerance::ROUNDING;
use kurbo::{Affine, Point, Rect, Vec2};
use std::f64::consts::TAU;

/// A straight edge from `start` to `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    pub start: Point,
    pub end: Point,
}

/// A circular edge from `start` to `end` around `center`. It sweeps more than 0 and less than a full turn; a circle
/// needs two of them. Both ends lie on the circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    pub start: Point,
    pub end: Point,
    pub center: Point,
    pub radius: f64,
    /// Anticlockwise, with y up.
    pub ccw: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    Line(Line),
    Arc(Arc),
}

impl Arc {
    /// The arc from `start` to `end` with the given bulge: the tangent of a quarter of the sweep, positive for
    /// anticlockwise. `None` if the bulge is 0 or not finite, or if the ends are one point.
    #[must_use]
    pub fn from_bulge(start: Point, end: Point, bulge: f64) -> Option<Arc> {
        let chord = end - start;
        let c = chord.hypot();
        if bulge == 0.0 || !bulge.is_finite() || c == 0.0 || !c.is_finite() {
            return None;
        }
        let radius = c * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        // Signed distance of the centre from the chord, positive to its left.
        let h = c * (1.0 - bulge * bulge) / (4.0 * bulge);
        let center = start.midpoint(end) + left(chord) * (h / c);
        Some(Arc { start, end, center, radius, ccw: bulge > 0.0 })
    }

    /// Angle swept, radians, positive and less than a full turn.
    #[must_use]
    pub fn sweep(&self) -> f64 {
        let a = angle(self.start - self.center);
        let b = angle(self.end - self.center);
        let s = positive(if self.ccw { b - a } else { a - b });
        if s == 0.0 { TAU } else { s }
    }

    /// The arc with its centre moved so that both ends lie on its circle; for ends that miss the circle slightly. The
    /// radius stays. The centre stays on the side that fits a sweep of about `sweep` radians. On half circles that
    /// would move the centre much farther than the ends are off; there the radius changes instead.
    #[must_use]
    pub fn through_its_ends(self, sweep: f64) -> Arc {
        let off = |p: Point| ((p - self.center).hypot() - self.radius).abs();
        let out = off(self.start).max(off(self.end));
        let chord = self.end - self.start;
        let half = chord.hypot() / 2.0;
        if out <= ROUNDING || half == 0.0 {
            return self;
        }
        let (middle, across) = (self.start.midpoint(self.end), left(chord / (2.0 * half)));
        let to_left = if (sweep < std::f64::consts::PI) == self.ccw { 1.0 } else { -1.0 };
        let h = (self.radius * self.radius - half * half).max(0.0).sqrt();
        let center = middle + across * (h * to_left);
        if half <= self.radius && (center - self.center).hypot() <= 10.0 * out {
            return Arc { center, ..self };
        }
        let center = middle + across * (self.center - middle).dot(across);
        Arc { center, radius: (self.start - center).hypot(), ..self }
    }

    /// Angle of the start as seen from the centre, radians.
    #[must_use]
    pub fn start_angle(&self) -> f64 {
        angle(self.start - self.center)
    }

    /// Whether the direction `v` from the centre lies within the arc's sweep (ends included).
    #[must_use]
    pub fn spans(&self, v: Vec2) -> bool {
        let (mut from, mut to) = (self.start - self.center, self.end - self.center);
        if !self.ccw {
            std::mem::swap(&mut from, &mut to);
        }
        // Up to half a turn: left of one end and right of the other. Beyond: not in the gap.
        let turn = from.cross(to);
        if turn > 0.0 || (turn == 0.0 && from.dot(to) < 0.0) {
            from.cross(v) >= 0.0 && v.cross(to) >= 0.0
        } else {
            !(to.cross(v) > 0.0 && v.cross(from) > 0.0)
        }
    }

    /// Tangent of a quarter of the sweep, positive for anticlockwise.
    #[must_use]
    pub fn bulge(&self) -> f64 {
        let b = trig::tan(self.sweep() / 4.0);
        if self.ccw { b } else { -b }
    }

    /// Point at the fraction `t` (0 to 1) of the sweep.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        if t <= 0.0 {
            return self.start;
        }
        if t >= 1.0 {
            return self.end;
        }
        if t == 0.5 {
            return self.middle();
        }
        self.turned(self.turn(), t)
    }

    /// Angle of the start and the sweep, radians; the sweep is negative for clockwise.
    fn turn(&self) -> (f64, f64) {
        let s = self.sweep();
        (self.start_angle(), if self.ccw { s } else { -s })
    }

    fn turned(&self, (from, sweep): (f64, f64), t: f64) -> Point {
        self.center + trig::unit(from + sweep * t) * self.radius
    }

    /// The midpoint, on the bisector of the ends; computed without angles.
    fn middle(&self) -> Point {
        let (u, v) = (self.start - self.center, self.end - self.center);
        // Coincident ends mean a full turn, as everywhere in this type.
        let half_or_less = if self.ccw { u.cross(v) > 0.0 } else { u.cross(v) < 0.0 };
        // Two vectors point to the midpoint; the longer one is the more accurate.
        let towards = match (u.dot(v) > 0.0, half_or_less) {
            (true, true) => u + v,
            (true, false) => -(u + v),
            (false, _) if self.ccw => right(v - u),
            (false, _) => left(v - u),
        };
        let length = towards.hypot();
        if length > 0.0 { self.center + towards * (self.radius / length) } else { self.start }
    }
}

impl Segment {
    #[must_use]
    pub fn line(start: Point, end: Point) -> Segment {
        Segment::Line(Line { start, end })
    }

    /// A line if the bulge is 0, else the arc (see [`Arc::from_bulge`]).
    #[must_use]
    pub fn from_bulge(start: Point, end: Point, bulge: f64) -> Segment {
        Arc::from_bulge(start, end, bulge).map_or(Segment::line(start, end), Segment::Arc)
    }

    #[must_use]
    pub fn start(&self) -> Point {
        match self {
            Segment::Line(l) => l.start,
            Segment::Arc(a) => a.start,
        }
    }

    #[must_use]
    pub fn end(&self) -> Point {
        match self {
            Segment::Line(l) => l.end,
            Segment::Arc(a) => a.end,
        }
    }

    /// Length along the edge, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Segment::Line(l) => (l.end - l.start).hypot(),
            Segment::Arc(a) => a.radius * a.sweep(),
        }
    }

    /// Point at the fraction `t` (0 to 1) of the length.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match self {
            Segment::Line(l) => l.start.lerp(l.end, t),
            Segment::Arc(a) => a.at(t),
        }
    }

    /// As [`Segment::at`], for many points of one edge: the common terms are computed once.
    pub fn placed(&self) -> impl Fn(f64) -> Point {
        let s = *self;
        let turn = if let Segment::Arc(a) = s { a.turn() } else { (0.0, 0.0) };
        move |t| match s {
            Segment::Arc(a) if t > 0.0 && t < 1.0 && t != 0.5 => a.turned(turn, t),
            _ => s.at(t),
        }
    }

    /// The part between the fractions `t0` < `t1`.
    #[must_use]
    pub fn part(&self, t0: f64, t1: f64) -> Segment {
        self.between(self.at(t0), self.at(t1))
    }

    /// The part between two points of the edge, `start` first along it.
    #[must_use]
    pub fn between(&self, start: Point, end: Point) -> Segment {
        match *self {
            Segment::Line(_) => Segment::line(start, end),
            Segment::Arc(a) => Segment::Arc(Arc { start, end, ..a }),
        }
    }

    /// Unit tangent at the start, in the direction of travel. Zero for an edge without length.
    #[must_use]
    pub fn tangent_at_start(&self) -> Vec2 {
        self.tangent_at(self.start())
    }

    /// Unit tangent at the end, in the direction of travel.
    #[must_use]
    pub fn tangent_at_end(&self) -> Vec2 {
        self.tangent_at(self.end())
    }

    /// Unit tangent at a point of the edge, in the direction of travel. Zero for an edge without length.
    #[must_use]
    pub fn tangent_at(&self, p: Point) -> Vec2 {
        let v = match self {
            Segment::Line(l) => l.end - l.start,
            Segment::Arc(a) if a.ccw => left(p - a.center),
            Segment::Arc(a) => right(p - a.center),
        };
        let n = v.hypot();
        if n > 0.0 { v / n } else { Vec2::ZERO }
    }

    #[must_use]
    pub fn reversed(&self) -> Segment {
        match *self {
            Segment::Line(l) => Segment::line(l.end, l.start),
            Segment::Arc(a) => Segment::Arc(Arc { start: a.end, end: a.start, ccw: !a.ccw, ..a }),
        }
    }

    /// Moved by `v`.
    #[must_use]
    pub fn translated(&self, v: Vec2) -> Segment {
        match *self {
            Segment::Line(l) => Segment::line(l.start + v, l.end + v),
            Segment::Arc(a) => Segment::Arc(Arc { start: a.start + v, end: a.end + v, center: a.center + v, ..a }),
        }
    }

    /// The image under a similarity (rotation, mirror, uniform scale, translation): lines stay lines and arcs stay
    /// arcs. Use [`super::Curve`] for any other transform.
    #[must_use]
    pub fn under_similarity(&self, m: Affine) -> Segment {
        let det = m.determinant();
        match *self {
            Segment::Line(l) => Segment::line(m * l.start, m * l.end),
            Segment::Arc(a) => Segment::Arc(Arc {
                start: m * a.start,
                end: m * a.end,
                center: m * a.center,
                radius: a.radius * det.abs().sqrt(),
                ccw: a.ccw == (det > 0.0),
            }),
        }
    }

    /// Axis-parallel bounding box.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let mut r = Rect::from_points(self.start(), self.end());
        if let Segment::Arc(a) = self {
            for v in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-1.0, 0.0), Vec2::new(0.0, -1.0)] {
                if a.spans(v) {
                    r = r.union_pt(a.center + v * a.radius);
                }
            }
        }
        r
    }

    /// Contribution of this edge to the area of its ring (Green's formula about `origin`), mm².
    #[must_use]
    pub fn area_share(&self, origin: Point) -> f64 {
        let (p, q) = (self.start() - origin, self.end() - origin);
        let triangle = p.cross(q) / 2.0;
        match self {
            Segment::Line(_) => triangle,
            Segment::Arc(a) => {
                let s = a.sweep();
                let piece = a.radius * a.radius * (s - trig::sin(s)) / 2.0;
                triangle + if a.ccw { piece } else { -piece }
            }
        }
    }

    /// Distance of `p` from the edge, mm, and the nearest point of the edge.
    #[must_use]
    pub fn nearest(&self, p: Point) -> (f64, Point) {
        match self {
            Segment::Line(l) => {
                let v = l.end - l.start;
                let n2 = v.hypot2();
                let t = if n2 > 0.0 { ((p - l.start).dot(v) / n2).clamp(0.0, 1.0) } else { 0.0 };
                let q = l.start + v * t;
                ((p - q).hypot(), q)
            }
            Segment::Arc(a) => {
                let v = p - a.center;
                let n = v.hypot();
                if n > 0.0 && a.spans(v) {
                    let q = a.center + v * (a.radius / n);
                    return ((n - a.radius).abs(), q);
                }
                let (ds, de) = ((p - a.start).hypot(), (p - a.end).hypot());
                if ds <= de { (ds, a.start) } else { (de, a.end) }
            }
        }
    }

    /// Whether all numbers are finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        let ends = self.start().is_finite() && self.end().is_finite();
        match self {
            Segment::Line(_) => ends,
            Segment::Arc(a) => ends && a.center.is_finite() && a.radius.is_finite(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Compared with the angles, for all sweeps in both directions. Coincident ends mean a full turn.
    #[test]
    fn the_middle_of_an_arc_is_half_its_sweep_on() {
        let (center, radius) = (Point::new(120.0, -40.0), 7.0);
        let on = |angle: f64| center + trig::unit(angle) * radius;
        for from in [0.0, 0.3, 2.0, 4.0] {
            for sweep in [1e-4, 0.5, PI / 2.0, 3.0, PI, 3.3, 5.0, 6.2, TAU] {
                for (ccw, sign) in [(true, 1.0), (false, -1.0)] {
                    let end = if sweep == TAU { on(from) } else { on(from + sign * sweep) };
                    let arc = Arc { start: on(from), end, center, radius, ccw };
                    let wanted = on(from + sign * sweep / 2.0);
                    assert!((arc.at(0.5) - wanted).hypot() < 1e-9, "{from} {sweep} {ccw}: {:?}", arc.at(0.5));
                }
            }
        }
    }

    /// On a half circle the centre must not run off if an end lies slightly off the circle.
    #[test]
    fn ends_beside_a_half_circle_hardly_move_it() {
        let r = 87.0;
        let arc =
            Arc { start: Point::new(r, 0.0), end: Point::new(-r, 0.0), center: Point::ORIGIN, radius: r, ccw: true };
        for (dx, dy) in [(2e-6, 0.0), (-2e-6, 0.0), (0.0, 2e-6), (2e-6, -2e-6)] {
            let beside = Arc { end: arc.end + Vec2::new(dx, dy), ..arc }.through_its_ends(PI);
            assert!(beside.center.to_vec2().hypot() < 2e-5 && (beside.radius - r).abs() < 4e-6, "{beside:?}");
            for p in [beside.start, beside.end] {
                assert!(((p - beside.center).hypot() - beside.radius).abs() < 1e-9, "{beside:?}");
            }
        }
    }
}
