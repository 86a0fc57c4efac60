//! Minimum distance between two edges, in closed form.

use super::trig::right;
use super::{Arc, Line, Segment};
use crate::tolerance::ROUNDING_SHARE;
use kurbo::{Point, Vec2};

/// Minimum distance between `a` and `b`, mm; 0 where they meet.
///
/// The minimum lies at an end of one edge, where the joining line is perpendicular to both, or at a crossing. Each of
/// these candidates is tried.
#[must_use]
pub fn between(a: &Segment, b: &Segment) -> f64 {
    let mut least = f64::INFINITY;
    for (s, t) in [(a, b), (b, a)] {
        least = least.min(t.nearest(s.start()).0).min(t.nearest(s.end()).0);
    }
    let inner = match (a, b) {
        (Segment::Line(l), Segment::Line(m)) => lines(l, m),
        (Segment::Line(l), Segment::Arc(c)) | (Segment::Arc(c), Segment::Line(l)) => line_arc(l, c),
        (Segment::Arc(c), Segment::Arc(e)) => arcs(c, e),
    };
    least.min(inner)
}

/// 0 if the lines cross, else infinite: the ends decide then.
fn lines(l: &Line, m: &Line) -> f64 {
    let (u, v, w) = (l.end - l.start, m.end - m.start, m.start - l.start);
    let det = u.cross(v);
    if det == 0.0 {
        return f64::INFINITY;
    }
    let (s, t) = (w.cross(v) / det, w.cross(u) / det);
    if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) { 0.0 } else { f64::INFINITY }
}

fn line_arc(l: &Line, c: &Arc) -> f64 {
    let v = l.end - l.start;
    let n2 = v.hypot2();
    if n2 == 0.0 {
        return f64::INFINITY;
    }
    let foot_t = (c.center - l.start).dot(v) / n2;
    let foot = l.start + v * foot_t;
    let to_foot = foot - c.center;
    let h = to_foot.hypot();
    if h >= c.radius {
        let faces = (0.0..=1.0).contains(&foot_t) && c.spans(to_foot);
        return if faces { h - c.radius } else { f64::INFINITY };
    }
    let half = ((c.radius * c.radius - h * h) / n2).sqrt();
    let crosses = |t: f64| (0.0..=1.0).contains(&t) && c.spans(l.start + v * t - c.center);
    if crosses(foot_t - half) || crosses(foot_t + half) {
        return 0.0;
    }
    // Inside the circle without crossing the arc: the arc's point nearest to the foot may face it.
    let away = if h > 0.0 { to_foot } else { right(v) };
    let faces = |u: Vec2| (0.0..=1.0).contains(&foot_t) && c.spans(u);
    [away, -away].into_iter().filter(|&u| faces(u)).map(|u| nearest_on_ray(c, foot, u)).fold(f64::INFINITY, f64::min)
}

fn nearest_on_ray(c: &Arc, p: Point, u: Vec2) -> f64 {
    let n = u.hypot();
    if n == 0.0 { f64::INFINITY } else { (c.center + u * (c.radius / n) - p).hypot() }
}

fn arcs(c: &Arc, e: &Arc) -> f64 {
    let v = e.center - c.center;
    let h = v.hypot();
    if h < ROUNDING_SHARE {
        // Concentric: the gap is constant where the sweeps overlap, and there an end of one arc faces the other.
        return f64::INFINITY;
    }
    let u = v / h;
    // Crossings of the two circles.
    let x = (h * h + c.radius * c.radius - e.radius * e.radius) / (2.0 * h);
    let y2 = c.radius * c.radius - x * x;
    if y2 >= 0.0 {
        let (m, w) = (c.center + u * x, right(u) * y2.sqrt());
        for p in [m + w, m - w] {
            if c.spans(p - c.center) && e.spans(p - e.center) {
                return 0.0;
            }
        }
    }
    let mut least = f64::INFINITY;
    for s in [u, -u] {
        for t in [u, -u] {
            if c.spans(s) && e.spans(t) {
                least = least.min(((c.center + s * c.radius) - (e.center + t * e.radius)).hypot());
            }
        }
    }
    least
}

/// A place where two edges are nearest to each other, within a thousandth of their length. For messages, not for a
/// verdict.
#[must_use]
pub fn nearest_place(a: &Segment, b: &Segment) -> Point {
    let (mut from, mut to) = (0.0, 1.0);
    let away = |t: f64| b.nearest(a.at(t)).0;
    // Narrow by tenths: the distance along an edge has few minima.
    for _ in 0..6 {
        let step = (to - from) / 10.0;
        let best = (0..=10).map(|k| from + f64::from(k) * step).min_by(|&s, &t| away(s).total_cmp(&away(t)));
        let t = best.unwrap_or(from);
        (from, to) = ((t - step).max(0.0), (t + step).min(1.0));
    }
    a.at((from + to) / 2.0)
}
