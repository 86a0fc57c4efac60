//! Trigonometry with the same bits on every machine. The platform's own functions differ in the last digit.

pub use libm::{acos, asin, atan, atan2, cbrt, cos, sin, tan};

use geo::{Coord, GeoNum, Kernel, Orientation};
use kurbo::{Point, Vec2};
use std::cmp::Ordering;
use std::f64::consts::TAU;

/// Unit vector at `angle` radians, anticlockwise from +x.
#[must_use]
pub fn unit(angle: f64) -> Vec2 {
    Vec2::new(cos(angle), sin(angle))
}

/// Angle of `v` in radians, −π to π, anticlockwise from +x.
#[must_use]
pub fn angle(v: Vec2) -> f64 {
    atan2(v.y, v.x)
}

/// `angle` reduced to 0 ≤ a < 2π.
#[must_use]
pub fn positive(angle: f64) -> f64 {
    let a = angle - TAU * (angle / TAU).floor();
    if (0.0..TAU).contains(&a) { a } else { 0.0 }
}

/// `v` turned a quarter turn anticlockwise.
#[must_use]
pub fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// `v` turned a quarter turn clockwise.
#[must_use]
pub fn right(v: Vec2) -> Vec2 {
    Vec2::new(v.y, -v.x)
}

/// Whether `p` lies left of the line from `a` to `b` (`Greater`), right of it (`Less`) or on it. Exact (Shewchuk, "Adaptive
/// precision floating-point arithmetic", 1997, by `geo`).
#[must_use]
pub fn side(a: Point, b: Point, p: Point) -> Ordering {
    let coord = |p: Point| Coord { x: p.x, y: p.y };
    match <f64 as GeoNum>::Ker::orient2d(coord(a), coord(b), coord(p)) {
        Orientation::CounterClockwise => Ordering::Greater,
        Orientation::Clockwise => Ordering::Less,
        Orientation::Collinear => Ordering::Equal,
    }
}
