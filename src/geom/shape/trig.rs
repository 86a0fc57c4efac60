//! Trigonometry with the same bits on every machine. The platform's own functions differ in the last digit.

pub use libm::{acos, asin, atan, atan2, cbrt, cos, sin, tan};

use kurbo::{Point, Vec2};
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

/// Positive if `p` lies to the left of the line from `a` to `b`, 0 on it. The sign is exact (Shewchuk, "Adaptive
/// precision floating-point arithmetic", 1997, by `robust`).
#[must_use]
pub fn side(a: Point, b: Point, p: Point) -> f64 {
    let coord = |p: Point| robust::Coord { x: p.x, y: p.y };
    robust::orient2d(coord(a), coord(b), coord(p))
}
