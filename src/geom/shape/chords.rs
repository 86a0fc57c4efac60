//! Points along an edge, spaced so closely that the chords between them can replace it.

use super::trig::{acos, positive, unit};
use super::{Region, Ring, Segment};
use kurbo::Point;
use std::f64::consts::TAU;

/// Number of chords that replace a full circle of `radius` within `sagitta`. A multiple of four, so that the circle
/// keeps its extremes.
pub(in crate::geom) fn per_turn(radius: f64, sagitta: f64) -> usize {
    if radius <= sagitta {
        return 4;
    }
    let step = 2.0 * acos(1.0 - sagitta / radius);
    // Bounded: radius is at most 1e7 and sagitta at least 1e-4.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let n = (TAU / step).ceil() as usize;
    n.max(4).div_ceil(4) * 4
}

/// The points of `s`, including its ends. Arcs of one circle share their inner points, whatever their ends: these lie
/// at whole multiples of a step, counted from +x. `radius` is the greatest radius to serve: the arc's own, or that of
/// its offset curve.
pub(in crate::geom) fn points(s: &Segment, radius: f64, sagitta: f64, out: &mut Vec<Point>) {
    out.clear();
    out.push(s.start());
    if let Segment::Arc(a) = s {
        for angle in inner_angles(a.start_angle(), a.sweep(), a.ccw, per_turn(radius, sagitta)) {
            out.push(a.center + unit(angle) * a.radius);
        }
    }
    out.push(s.end());
}

/// The region with its arcs replaced by chords within `sagitta` of them.
pub(in crate::geom) fn straight(region: &Region, sagitta: f64) -> Region {
    let mut inner = Vec::new();
    let mut ring = |r: &Ring| {
        let mut out = Vec::with_capacity(r.segments.len());
        for s in &r.segments {
            let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
            points(s, radius, sagitta, &mut inner);
            out.extend(inner.windows(2).map(|w| Segment::line(w[0], w[1])));
        }
        Ring::new(out)
    };
    Region::new(region.rings.iter().map(&mut ring).collect())
}

/// The whole multiples of a full turn over `n` strictly within the sweep, in its direction.
pub(in crate::geom) fn inner_angles(from: f64, sweep: f64, ccw: bool, n: usize) -> impl Iterator<Item = f64> {
    #[allow(clippy::cast_precision_loss)]
    let step = TAU / n as f64;
    let a = positive(from);
    // Keep clear of the ends: a chord shorter than a hundredth of a step is useless.
    let near = step * 0.01;
    #[allow(clippy::cast_possible_truncation)]
    let first = if ccw { ((a + near) / step).ceil() as i64 } else { ((a - near) / step).floor() as i64 };
    (0..)
        .map(move |k| {
            #[allow(clippy::cast_precision_loss)]
            let angle = (if ccw { first + k } else { first - k }) as f64 * step;
            angle
        })
        .take_while(move |angle| (angle - a).abs() < sweep - near)
}
