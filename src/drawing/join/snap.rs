//! An edge with its ends moved a little.

use crate::geom::{Arc, Point, Segment, trig};
use crate::tolerance::SAME_POINT;
use std::f64::consts::PI;

/// The edge from `start` to `end`, where these are given. A line stays one. An arc goes through its old middle, moved by
/// the mean of both shifts, so no point of it moves much farther than its ends; one of more than a half turn becomes
/// two, because close ends tell too little of where the circle lies. Shifts below [`SAME_POINT`] leave the circle as it
/// is.
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

/// The arc through three points, in the sense of `like`; a line where they make none in that sense (an arc not larger
/// than the shifts).
fn through(p: Point, m: Point, q: Point, like: &Arc) -> Segment {
    let (u, v) = (m - p, q - p);
    let twice = u.cross(v);
    let bends = twice != 0.0 && (twice > 0.0) == like.ccw;
    // The circumcentre, seen from p.
    let center = p + trig::right((v * u.hypot2() - u * v.hypot2()) / (2.0 * twice));
    let radius = ((center - p).hypot() + (center - q).hypot()) / 2.0;
    if !bends || !radius.is_finite() || radius > 1e9 {
        return Segment::line(p, q);
    }
    Segment::Arc(Arc { start: p, end: q, center, radius, ccw: like.ccw })
}
