//! Curves to lines and arcs.
//!
//! In: one finite [`Curve`] and a tolerance in mm. Out: a chain of lines and circular arcs with exactly the curve's
//! ends. Each point of either lies within the tolerance of the other.
//!
//! Method: biarcs on the curve's tangents at points of it, about as long as the tolerance allows (D. S. Meek and D. J.
//! Walton, "Approximating smooth planar curves by arc splines", Journal of Computational and Applied Mathematics 59,
//! 1995, from memory). Curves are cut at cusps, where two arcs need not be tangent. At all other joints the directions
//! agree within [`TANGENT`](crate::tolerance::TANGENT). `path` chooses the cuts; `biarc` fills the spans between them
//! and measures the fit.

mod biarc;
mod curve;
mod path;
#[cfg(test)]
mod tests;

use crate::geom::shape::{Arc, Curve, EllipticArc, Line, Segment, trig};
use crate::tolerance::{LARGEST_COORDINATE, ROUNDING, ROUNDING_SHARE, SHORTEST_FITTED, STRAIGHT_RUN};
use curve::{CurveForm, FittedCurve};
use kurbo::{CubicBez, ParamCurve, Point, Vec2};
use path::tidy;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Lines and arcs that follow `curve` within `tolerance` mm, appended to `out`. The first starts and the last ends
/// exactly where the curve does; each starts exactly where the previous one ends. None has length 0: a curve that is
/// one point gives nothing. A curve that runs back on itself gives lines that do.
///
/// Where the curve is smooth, the pieces are tangent to each other and, at its ends, to the curve. The directions agree
/// within [`TANGENT`](crate::tolerance::TANGENT), as far as the digits of the coordinates allow. Three things become
/// lines: curves with control points within 1e-7 mm of a straight line, curves smaller than [`SHORTEST_FITTED`], and
/// pieces flatter than [`FLATTEST_FITTED`](crate::tolerance::FLATTEST_FITTED). Turns with a radius below a fiftieth of
/// `tolerance` count as cusps.
///
/// Curves with numbers that are not finite, or a hundred times beyond [`LARGEST_COORDINATE`], give nothing: the reader
/// must refuse them first. `tolerance` must be positive.
pub fn fit(curve: &Curve, tolerance: f64, out: &mut Vec<Segment>) {
    if !curve.is_finite() || tolerance.is_nan() || tolerance <= 0.0 || too_far(curve) {
        return;
    }
    match *curve {
        Curve::Line(l) => push_line(l.start, l.end, out),
        Curve::Arc(a) => fit_arc(a, out),
        Curve::Ellipse(e) => fit_ellipse(&e, tolerance, out),
        Curve::Quad(q) => fit_cubic(q.raise(), tolerance, out),
        Curve::Cubic(c) => fit_cubic(c, tolerance, out),
    }
}

fn too_far(curve: &Curve) -> bool {
    let b = curve.bounds();
    [b.x0, b.y0, b.x1, b.y1].iter().any(|v| v.is_nan() || v.abs() > 100.0 * LARGEST_COORDINATE)
}

fn push_line(start: Point, end: Point, out: &mut Vec<Segment>) {
    if start != end {
        out.push(Segment::Line(Line { start, end }));
    }
}

/// Lines through `points`, without those of length 0.
fn push_lines(points: &[Point], out: &mut Vec<Segment>) {
    for w in points.windows(2) {
        push_line(w[0], w[1], out);
    }
}

fn fit_arc(a: Arc, out: &mut Vec<Segment>) {
    if a.radius <= 0.0 {
        push_line(a.start, a.end, out);
    } else if a.start == a.end {
        let middle = a.center - (a.start - a.center);
        out.push(Segment::Arc(Arc { end: middle, ..a }));
        out.push(Segment::Arc(Arc { start: middle, ..a }));
    } else {
        out.push(Segment::Arc(a));
    }
}

/// The radius of the circle given by the axes, if they are equal in length and perpendicular within 1e-9.
fn circle_radius(e: &EllipticArc) -> Option<f64> {
    let (a, b) = (e.major.hypot(), e.minor.hypot());
    let round = a > 0.0 && (a - b).abs() <= ROUNDING * a && e.major.dot(e.minor).abs() <= ROUNDING * a * a;
    round.then_some(0.5 * (a + b))
}

fn fit_ellipse(e: &EllipticArc, tolerance: f64, out: &mut Vec<Segment>) {
    if e.sweep == 0.0 {
        return push_line(e.start, e.end, out);
    }
    if let Some(radius) = circle_radius(e) {
        return fit_round(e, radius, out);
    }
    // Principal axes: the directions of greatest and least distance from the centre, a quarter turn apart.
    let vertex = 0.5 * trig::atan2(2.0 * e.major.dot(e.minor), e.major.hypot2() - e.minor.hypot2());
    let long = at_angle(e, vertex) - e.center;
    let short = at_angle(e, vertex + FRAC_PI_2) - e.center;
    let flat = short.hypot() <= STRAIGHT_RUN;
    let mut cuts: Vec<f64> = (-8..=8)
        .map(|k| vertex + FRAC_PI_2 * f64::from(k))
        .flat_map(|a| [a, a + TAU * ((e.from - a) / TAU).round()])
        .filter(|a| !flat || (at_angle(e, *a) - e.center).dot(long).abs() > 0.5 * long.hypot2())
        .map(|a| (a - e.from) / e.sweep)
        .filter(|t| *t > 0.0 && *t < 1.0)
        .collect();
    tidy(&mut cuts);
    if flat {
        let mut points = vec![e.start];
        points.extend(cuts.iter().map(|t| at_angle(e, e.from + e.sweep * t)));
        points.push(e.end);
        return push_lines(&points, out);
    }
    let path = FittedCurve::new(CurveForm::Ellipse(*e), e.start, e.end, e.sweep.abs() * long.hypot(), tolerance);
    // A biarc is tried on at most the quarter between two vertices.
    path.follow(&cuts, out);
}

fn fit_round(e: &EllipticArc, radius: f64, out: &mut Vec<Segment>) {
    let ccw = (e.major.cross(e.minor) > 0.0) == (e.sweep > 0.0);
    let off = |p: Point| ((p - e.center).hypot() - radius).abs() > ROUNDING * radius;
    if e.start == e.end && e.sweep.abs() < PI {
        // The sweep is too small for the digits of its ends.
    } else if e.start == e.end || e.sweep.abs() >= TAU - ROUNDING {
        let middle = at_angle(e, e.from + 0.5 * e.sweep);
        out.push(Segment::Arc(Arc { start: e.start, end: middle, center: e.center, radius, ccw }));
        out.push(Segment::Arc(Arc { start: middle, end: e.end, center: e.center, radius, ccw }));
    } else if off(e.start) || off(e.end) {
        // The neighbours share the ends, so the ends stay and the centre moves.
        let b = trig::tan(0.25 * e.sweep.abs());
        out.push(Segment::from_bulge(e.start, e.end, if ccw { b } else { -b }));
    } else {
        out.push(Segment::Arc(Arc { start: e.start, end: e.end, center: e.center, radius, ccw }));
    }
}

fn at_angle(e: &EllipticArc, a: f64) -> Point {
    e.center + trig::cos(a) * e.major + trig::sin(a) * e.minor
}

fn fit_cubic(c: CubicBez, tolerance: f64, out: &mut Vec<Segment>) {
    let far = [c.p1, c.p2, c.p3].into_iter().map(|p| p - c.p0).max_by(|a, b| a.hypot2().total_cmp(&b.hypot2()));
    let Some(far) = far.filter(|v| v.hypot() > 0.0) else { return };
    if far.hypot() <= SHORTEST_FITTED.min(0.1 * tolerance) {
        return push_lines(&[c.p0, c.p3], out);
    }
    let along = far / far.hypot();
    let off = [c.p1, c.p2, c.p3].into_iter().map(|p| (p - c.p0).cross(along).abs()).fold(0.0, f64::max);
    if off <= STRAIGHT_RUN.max(ROUNDING_SHARE * far.hypot()) {
        return fit_straight(&c, along, out);
    }
    let top_speed = 3.0 * [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2].into_iter().map(Vec2::hypot).fold(0.0, f64::max);
    let path = FittedCurve::new(CurveForm::cubic(&c), c.p0, c.p3, top_speed, tolerance);
    path.follow(&path.stops(), out);
}

/// All control points lie on one line: back and forth along it.
fn fit_straight(c: &CubicBez, along: Vec2, out: &mut Vec<Segment>) {
    let [d0, d1, d2] = [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2].map(|v| v.dot(along));
    let turns = kurbo::common::solve_quadratic(d0, 2.0 * (d1 - d0), d0 - 2.0 * d1 + d2);
    let mut cuts: Vec<f64> = turns.into_iter().filter(|t| *t > 0.0 && *t < 1.0).collect();
    cuts.sort_by(f64::total_cmp);
    // A double root is a stop, not a reversal: drop the point if the run continues the same way.
    let mut points = vec![c.p0];
    points.extend(cuts.iter().map(|t| c.eval(*t)));
    points.push(c.p3);
    points.dedup();
    let mut i = 1;
    while i + 1 < points.len() {
        if (points[i] - points[i - 1]).dot(points[i + 1] - points[i]) > 0.0 {
            points.remove(i);
        } else {
            i += 1;
        }
    }
    push_lines(&points, out);
}
