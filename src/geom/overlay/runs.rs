//! Runs of chords that stand for one carrier, and how they become edges again.
//!
//! In: the chords of a loop as the overlay gives them, mm, local frame. Out: edges whose ends lie where exact carriers meet.
//! Nothing here is trusted either: see the module above.

use super::Carrier;
use crate::geom::{Arc, Ring, Segment, trig};
use crate::tolerance::{CRUMB, GRID, OVERLAY_CHORD};
use kurbo::{Point, Vec2};

/// Signed area and length of the loop of chords.
pub(super) fn measure(runs: &[Run]) -> (f64, f64) {
    let (mut area, mut length) = (0.0, 0.0);
    let Some(o) = runs.first().map(|r| r.points[0]) else { return (0.0, 0.0) };
    for w in runs.iter().flat_map(|r| r.points.windows(2)) {
        area += (w[0] - o).cross(w[1] - o) / 2.0;
        length += (w[1] - w[0]).hypot();
    }
    (area, length)
}

/// Chords in a row that stand for one carrier.
pub(super) struct Run {
    pub(super) carrier: Carrier,
    pub(super) points: Vec<Point>,
}

impl Run {
    fn start(&self) -> Point {
        self.points[0]
    }

    fn end(&self) -> Point {
        self.points[self.points.len() - 1]
    }

    /// Too short to be meant. A construction side may show for as long as chords are out: where two edges lean in
    /// towards each other by less than a chord leans from its arc, their chords part although their arcs cross.
    pub(super) fn is_crumb(&self) -> bool {
        let longest = if matches!(self.carrier, Carrier::Inner) { 2.0 * OVERLAY_CHORD } else { CRUMB };
        self.length() < longest
    }

    fn length(&self) -> f64 {
        self.points.windows(2).map(|w| (w[1] - w[0]).hypot()).sum()
    }

    /// Whether from `a` to `b` it still runs the way it did, its sweep changed by no more than its ends were moved.
    fn keeps(&self, a: Point, b: Point) -> bool {
        let Carrier::Circle(c, r) = self.carrier else { return (b - a).dot(self.end() - self.start()) > 0.0 };
        let was = self.turned(c);
        let ccw = was > 0.0;
        let now = if a == b { 0.0 } else { Arc { start: a, end: b, center: c, radius: r, ccw }.sweep() };
        let moved = (a - self.start()).hypot() + (b - self.end()).hypot();
        (now - was.abs()).abs() * r <= 2.0 * moved + 10.0 * GRID
    }

    /// Whether each of its points lies as near to the carrier of a neighbour as chords are out.
    fn stood_for(&self, before: &Run, after: &Run) -> bool {
        let off = |r: &Run, p: Point| {
            if matches!(r.carrier, Carrier::Inner) { f64::INFINITY } else { r.carrier.distance(p).0.abs() }
        };
        self.points.iter().all(|&p| off(before, p).min(off(after, p)) <= 2.0 * OVERLAY_CHORD)
    }

    /// Angle swept round `c`, signed, from the chords.
    fn turned(&self, c: Point) -> f64 {
        self.points.windows(2).map(|w| trig::atan2((w[0] - c).cross(w[1] - c), (w[0] - c).dot(w[1] - c))).sum()
    }

    pub(super) fn whole_circle(&self) -> Option<Ring> {
        let Carrier::Circle(c, r) = self.carrier else { return None };
        let ring = Ring::circle(c, r);
        Some(if self.turned(c) > 0.0 { ring } else { ring.reversed() })
    }

    /// The exact edge between the given ends; `None` where it has no length.
    pub(super) fn edge(&self, start: Point, end: Point) -> Option<Segment> {
        if (end - start).hypot() == 0.0 {
            return None;
        }
        let Carrier::Circle(center, radius) = self.carrier else { return Some(Segment::line(start, end)) };
        let turned = self.turned(center);
        let ccw = turned > 0.0;
        // Near tangents the ends were settled beside the circle.
        let arc = Arc { start, end, center, radius, ccw }.through_its_ends(turned.abs());
        // An arc this flat and short is a line to any machine, and its centre is badly known.
        let flat = arc.sweep() * (end - start).hypot() / 8.0 < GRID && turned.abs() < 1.0;
        // So is one no larger than a crumb, whose ends may lie on its centre.
        let crumb = arc.radius < CRUMB;
        Some(if flat || crumb { Segment::line(start, end) } else { Segment::Arc(arc) })
    }
}

/// Where two carriers in a row meet, near the grid point that they share: Newton's method on their signed distances;
/// near a tangent the least move that fits both.
fn meet(before: &Run, after: &Run) -> Point {
    // A crumb may have been taken out between the two: start midway.
    let from = before.end().midpoint(after.start());
    if let Some(p) = before.carrier.touches(&after.carrier)
        && (p - from).hypot() < 10.0 * GRID
    {
        return p;
    }
    let mut p = from;
    for _ in 0..30 {
        let (f, m) = before.carrier.distance(p);
        let (g, n) = after.carrier.distance(p);
        let det = m.cross(n);
        let step = if det.abs() > 1e-7 {
            Vec2::new(f * n.y - g * m.y, g * m.x - f * n.x) / -det
        } else {
            (m * f + n * g) * -0.5
        };
        let size = step.hypot();
        // Newton runs off where the carriers only nearly touch: no step longer than what chords can be out.
        let limit = 0.25;
        p += if size > limit { step * (limit / size) } else { step };
        if size < 1e-13 {
            break;
        }
    }
    let (f, g) = (before.carrier.distance(p).0.abs(), after.carrier.distance(p).0.abs());
    let missed = f.max(g) > 1e-9;
    let strayed = (p - from).hypot();
    // Chords are out by their sagitta across; along a near tangent that can be much more, but never past a crossing
    // of circles that the grid did not see. What strays farther, or did not converge, stays where the grid had it.
    if !p.is_finite() || strayed > 1.0 || (missed && strayed > 2.0 * OVERLAY_CHORD) { from } else { p }
}

/// Where each run meets the one before. Chords show carriers that the true edge does not have, by less than chords are out:
/// the exact carriers of their neighbours meet before they come to them, so that such a run would be gone through
/// backwards. It is taken out where its neighbours stand for it as well.
pub(super) fn corners(runs: &mut Vec<Run>) -> Vec<Point> {
    let n = runs.len();
    let mut ends: Vec<Point> = (0..n).map(|i| meet(&runs[(i + n - 1) % n], &runs[i])).collect();
    let (mut i, mut unchanged) = (0, 0);
    // Of two none can stand for both ends of the other: without it the first would be all there is.
    while unchanged < runs.len() && runs.len() > 2 {
        let n = runs.len();
        i %= n;
        let (before, after) = ((i + n - 1) % n, (i + 1) % n);
        if runs[i].keeps(ends[i], ends[after]) || !runs[i].stood_for(&runs[before], &runs[after]) {
            (i, unchanged) = (i + 1, unchanged + 1);
            continue;
        }
        runs.remove(i);
        ends.remove(i);
        let n = runs.len();
        i %= n;
        ends[i] = meet(&runs[(i + n - 1) % n], &runs[i]);
        // The one before may go backwards now.
        i = (i + n - 1) % n;
        unchanged = 0;
    }
    ends
}

/// Ends that would turn a run round, or change an arc's sweep out of all proportion, are put back to the grid's.
pub(super) fn settle(runs: &[Run], mut ends: Vec<Point>) -> Vec<Point> {
    let n = runs.len();
    for _ in 0..3 {
        let mut put_back = false;
        for i in 0..n {
            let (run, a, b) = (&runs[i], ends[i], ends[(i + 1) % n]);
            let at_grid = a == grid_corner(runs, i) && b == grid_corner(runs, (i + 1) % n);
            if !run.keeps(a, b) && !at_grid {
                ends[i] = grid_corner(runs, i);
                ends[(i + 1) % n] = grid_corner(runs, (i + 1) % n);
                put_back = true;
            }
        }
        if !put_back {
            break;
        }
    }
    ends
}

fn grid_corner(runs: &[Run], i: usize) -> Point {
    let n = runs.len();
    runs[(i + n - 1) % n].end().midpoint(runs[i].start())
}

/// Neighbours on one carrier as one edge.
pub(super) fn merged(segments: Vec<Segment>) -> Vec<Segment> {
    let mut out: Vec<Segment> = Vec::with_capacity(segments.len());
    for s in segments {
        match out.last().and_then(|last| joined(last, &s)) {
            Some(one) => {
                out.pop();
                out.push(one);
            }
            None => out.push(s),
        }
    }
    while out.len() > 2 {
        let Some(one) = joined(&out[out.len() - 1], &out[0]) else { break };
        out.pop();
        out[0] = one;
    }
    out
}

fn joined(a: &Segment, b: &Segment) -> Option<Segment> {
    const SAME: f64 = 1e-8;
    match (a, b) {
        (Segment::Line(l), Segment::Line(m)) => {
            let whole = Segment::line(l.start, m.end);
            let runs_on = (l.end - l.start).dot(m.end - m.start) > 0.0;
            (runs_on && whole.nearest(l.end).0 < SAME).then_some(whole)
        }
        (Segment::Arc(p), Segment::Arc(q)) => {
            let same = p.ccw == q.ccw && (p.center - q.center).hypot() < SAME && (p.radius - q.radius).abs() < SAME;
            let short = p.sweep() + q.sweep() < std::f64::consts::TAU - 1e-3;
            (same && short).then_some(Segment::Arc(Arc { end: q.end, ..*p }))
        }
        _ => None,
    }
}
