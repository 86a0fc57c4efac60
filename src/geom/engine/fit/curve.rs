//! A curve in a local frame: its points and derivatives.

use super::at_angle;
use crate::geom::shape::{EllipticArc, trig};
use kurbo::{CubicBez, Point, Vec2};
use std::f64::consts::FRAC_PI_2;

pub(super) enum CurveForm {
    /// At t: (`[0]` + (`[1]` + `[2]` t) t) t.
    Cubic([Vec2; 3]),
    Ellipse(EllipticArc),
}

impl CurveForm {
    pub(super) fn cubic(c: &CubicBez) -> CurveForm {
        let (a, b, d) = (c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2);
        CurveForm::Cubic([3.0 * a, 3.0 * (b - a), d - 2.0 * b + a])
    }
}

/// A curve over t from 0 to 1, in coordinates relative to its start, so that no digits are spent on its position.
pub(super) struct FittedCurve {
    pub(super) shape: CurveForm,
    /// Exact start and end in the frame of the drawing.
    pub(super) origin: Point,
    pub(super) end: Point,
    /// Upper bound of the speed, mm per unit of parameter.
    pub(super) top_speed: f64,
    /// Greatest distance, mm.
    pub(super) tolerance: f64,
}

impl FittedCurve {
    pub(super) fn new(shape: CurveForm, origin: Point, end: Point, top_speed: f64, tolerance: f64) -> FittedCurve {
        FittedCurve { shape, origin, end, top_speed, tolerance }
    }

    pub(super) fn at(&self, t: f64) -> Point {
        if t <= 0.0 {
            return Point::ZERO;
        }
        if t >= 1.0 {
            return (self.end - self.origin).to_point();
        }
        match &self.shape {
            CurveForm::Cubic([a, b, c]) => ((*a + (*b + *c * t) * t) * t).to_point(),
            CurveForm::Ellipse(e) => (at_angle(e, e.from + e.sweep * t) - self.origin).to_point(),
        }
    }

    /// The point and the first derivative.
    pub(super) fn at_with_velocity(&self, t: f64) -> (Point, Vec2) {
        match &self.shape {
            CurveForm::Cubic([a, b, c]) => {
                (((*a + (*b + *c * t) * t) * t).to_point(), *a + (2.0 * *b + 3.0 * *c * t) * t)
            }
            CurveForm::Ellipse(e) => {
                let (sin, cos) = (trig::sin(e.from + e.sweep * t), trig::cos(e.from + e.sweep * t));
                let p = e.center + cos * e.major + sin * e.minor;
                ((p - self.origin).to_point(), e.sweep * (cos * e.minor - sin * e.major))
            }
        }
    }

    /// First, second and third derivative.
    pub(super) fn derivatives(&self, t: f64) -> [Vec2; 3] {
        match &self.shape {
            CurveForm::Cubic([a, b, c]) => [*a + (2.0 * *b + 3.0 * *c * t) * t, 2.0 * *b + 6.0 * *c * t, 6.0 * *c],
            CurveForm::Ellipse(e) => {
                let v = at_angle(e, e.from + e.sweep * t) - e.center;
                let w = at_angle(e, e.from + e.sweep * t + FRAC_PI_2) - e.center;
                [e.sweep * w, -e.sweep.powi(2) * v, -e.sweep.powi(3) * w]
            }
        }
    }
}
