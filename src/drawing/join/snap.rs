//! Moves the ends of an edge by small amounts.

use crate::geom::{Arc, Point, Segment, trig};
use crate::tolerance::SAME_POINT;
use std::f64::consts::PI;

/// Moves the ends of the edge to `start` and `end`, if given. A line stays a line. An arc passes through its old
/// midpoint, shifted by the mean of both end shifts, so no point moves much farther than the ends. An arc of more than
/// a half turn is split into two, because nearby ends determine its centre poorly. Shifts up to [`SAME_POINT`] leave
/// the circle unchanged.
pub fn with_ends(s: &Segment, start: Option<Point>, end: Option<Point>) -> Vec<Segment> {
    if start.is_none() && end.is_none() {
        return vec![*s];
    }
    let (p, q) = (start.unwrap_or(s.start()), end.unwrap_or(s.end()));
    let a = match s {
        Segment::Line(_) => return vec![Segment::line(p, q)],
        Segment::Arc(a) => a,
    };
    let (dp, dq) = (p - a.start, q - a.end);
    if dp.hypot().max(dq.hypot()) <= SAME_POINT {
        return vec![Segment::Arc(Arc { start: p, end: q, ..*a })];
    }
    if a.sweep() > PI * 1.01 {
        let m = a.at(0.5);
        let first = Arc { end: m, ..*a };
        let second = Arc { start: m, ..*a };
        return vec![through(p, first.at(0.5) + dp / 2.0, m, a), through(m, second.at(0.5) + dq / 2.0, q, a)];
    }
    vec![through(p, a.at(0.5) + (dp + dq) / 2.0, q, a)]
}

/// The arc through three points, turning like `like`. Returns a line if the points do not bend in that direction, as
/// for an arc no larger than the shifts.
fn through(p: Point, m: Point, q: Point, like: &Arc) -> Segment {
    let (u, v) = (m - p, q - p);
    let twice = u.cross(v);
    let bends = twice != 0.0 && (twice > 0.0) == like.ccw;
    // The circumcentre, relative to p.
    let center = p + trig::right((v * u.hypot2() - u * v.hypot2()) / (2.0 * twice));
    let radius = ((center - p).hypot() + (center - q).hypot()) / 2.0;
    if !bends || !radius.is_finite() || radius > 1e9 {
        return Segment::line(p, q);
    }
    Segment::Arc(Arc { start: p, end: q, center, radius, ccw: like.ccw })
}
