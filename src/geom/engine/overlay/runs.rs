//! Runs of chords that replace one carrier, and their conversion back to exact edges.
//!
//! In: the chords of a loop from the overlay, mm, local frame. Out: edges that end where exact carriers intersect.
//! Nothing here is trusted either: see the parent module.

use super::Carrier;
use crate::geom::shape::{Arc, Ring, Segment, trig};
use crate::tolerance::{
    CONVERGED, CRUMB, GRID, LONGEST_STEP, NEARLY_ROUND, OVERLAY_CHORD, PARALLEL, ROUNDING, SAME_CARRIER, STRAYED,
};
use kurbo::{Point, Vec2};

/// Signed area and length of the loop of chords.
pub(super) fn measure(runs: &[ChordRun]) -> (f64, f64) {
    let (mut area, mut length) = (0.0, 0.0);
    let Some(o) = runs.first().map(|r| r.points[0]) else { return (0.0, 0.0) };
    for w in runs.iter().flat_map(|r| r.points.windows(2)) {
        area += (w[0] - o).cross(w[1] - o) / 2.0;
        length += (w[1] - w[0]).hypot();
    }
    (area, length)
}

/// Consecutive chords that replace one carrier.
pub(super) struct ChordRun {
    pub(super) carrier: Carrier,
    pub(super) points: Vec<Point>,
}

impl ChordRun {
    fn start(&self) -> Point {
        self.points[0]
    }

    fn end(&self) -> Point {
        self.points[self.points.len() - 1]
    }

    /// Whether the run is too short to be intended. A construction side may appear over the length of a chord error. It
    /// does where two edges converge at a smaller angle than that between chord and arc: their chords then part
    /// although their arcs cross.
    pub(super) fn is_crumb(&self) -> bool {
        let longest = if matches!(self.carrier, Carrier::Inner) { 2.0 * OVERLAY_CHORD } else { CRUMB };
        self.length() < longest
    }

    fn length(&self) -> f64 {
        self.points.windows(2).map(|w| (w[1] - w[0]).hypot()).sum()
    }

    /// Whether the run keeps its direction between `a` and `b`, and its sweep changes no more than its ends move.
    fn keeps(&self, a: Point, b: Point) -> bool {
        let Carrier::Circle(c, r) = self.carrier else { return (b - a).dot(self.end() - self.start()) > 0.0 };
        let was = self.turned(c);
        let ccw = was > 0.0;
        let now = if a == b { 0.0 } else { Arc { start: a, end: b, center: c, radius: r, ccw }.sweep() };
        let moved = (a - self.start()).hypot() + (b - self.end()).hypot();
        (now - was.abs()).abs() * r <= 2.0 * moved + 10.0 * GRID
    }

    /// Whether each of its points lies within the chord error of a neighbour's carrier.
    fn stood_for(&self, before: &ChordRun, after: &ChordRun) -> bool {
        let off = |r: &ChordRun, p: Point| {
            if matches!(r.carrier, Carrier::Inner) { f64::INFINITY } else { r.carrier.distance(p).0.abs() }
        };
        self.points.iter().all(|&p| off(before, p).min(off(after, p)) <= 2.0 * OVERLAY_CHORD)
    }

    /// Signed angle swept around `c`, summed over the chords.
    fn turned(&self, c: Point) -> f64 {
        self.points.windows(2).map(|w| trig::atan2((w[0] - c).cross(w[1] - c), (w[0] - c).dot(w[1] - c))).sum()
    }

    pub(super) fn whole_circle(&self) -> Option<Ring> {
        let Carrier::Circle(c, r) = self.carrier else { return None };
        let ring = Ring::circle(c, r);
        Some(if self.turned(c) > 0.0 { ring } else { ring.reversed() })
    }

    /// The exact edge between the given ends; `None` if it has no length.
    pub(super) fn edge(&self, start: Point, end: Point) -> Option<Segment> {
        if (end - start).hypot() == 0.0 {
            return None;
        }
        let Carrier::Circle(center, radius) = self.carrier else { return Some(Segment::line(start, end)) };
        let turned = self.turned(center);
        let ccw = turned > 0.0;
        // Near a tangency, settled ends may lie off the circle.
        let arc = Arc { start, end, center, radius, ccw }.through_its_ends(turned.abs());
        // An arc this flat and short is a line to any machine, and its centre is inaccurate.
        let flat = arc.sweep() * (end - start).hypot() / 8.0 < GRID && turned.abs() < 1.0;
        // The same holds for an arc no larger than a crumb, whose ends may coincide with its centre.
        let crumb = arc.radius < CRUMB;
        Some(if flat || crumb { Segment::line(start, end) } else { Segment::Arc(arc) })
    }
}

/// Intersection of two consecutive carriers near their common grid point, by Newton's method on the signed distances.
/// Near a tangency: the smallest move that fits both.
fn meet(before: &ChordRun, after: &ChordRun) -> Point {
    // A crumb between the two may have been removed: start midway.
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
        let step = if det.abs() > PARALLEL {
            Vec2::new(f * n.y - g * m.y, g * m.x - f * n.x) / -det
        } else {
            (m * f + n * g) * -0.5
        };
        let size = step.hypot();
        // Newton's method diverges where the carriers only nearly touch.
        p += if size > LONGEST_STEP { step * (LONGEST_STEP / size) } else { step };
        if size < CONVERGED {
            break;
        }
    }
    let (f, g) = (before.carrier.distance(p).0.abs(), after.carrier.distance(p).0.abs());
    let missed = f.max(g) > ROUNDING;
    let strayed = (p - from).hypot();
    // Across the carriers the chord error is their sagitta. Along a near tangency it can be much larger, but never
    // passes a crossing of circles that the grid missed. A point that strays farther or does not converge stays on the
    // grid.
    if !p.is_finite() || strayed > STRAYED || (missed && strayed > 2.0 * OVERLAY_CHORD) { from } else { p }
}

/// The intersection of each run with the previous one. Within the chord error, chords show carriers that the exact
/// boundary lacks. There the exact carriers of the neighbours meet first, and the run between would go backwards. It
/// is removed if its neighbours' carriers cover its points.
pub(super) fn corners(runs: &mut Vec<ChordRun>) -> Vec<Point> {
    let n = runs.len();
    let mut ends: Vec<Point> = (0..n).map(|i| meet(&runs[(i + n - 1) % n], &runs[i])).collect();
    let (mut i, mut unchanged) = (0, 0);
    // With only two runs neither can cover both ends of the other; removal would leave one run.
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
        // The previous run may go backwards after this.
        i = (i + n - 1) % n;
        unchanged = 0;
    }
    ends
}

/// Ends that would reverse a run, or change an arc's sweep too much, return to the grid's place.
pub(super) fn settle(runs: &[ChordRun], mut ends: Vec<Point>) -> Vec<Point> {
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

fn grid_corner(runs: &[ChordRun], i: usize) -> Point {
    let n = runs.len();
    runs[(i + n - 1) % n].end().midpoint(runs[i].start())
}

/// Joins consecutive edges on one carrier.
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
    match (a, b) {
        (Segment::Line(l), Segment::Line(m)) => {
            let whole = Segment::line(l.start, m.end);
            let runs_on = (l.end - l.start).dot(m.end - m.start) > 0.0;
            (runs_on && whole.nearest(l.end).0 < SAME_CARRIER).then_some(whole)
        }
        (Segment::Arc(p), Segment::Arc(q)) => {
            let same = p.ccw == q.ccw
                && (p.center - q.center).hypot() < SAME_CARRIER
                && (p.radius - q.radius).abs() < SAME_CARRIER;
            let short = p.sweep() + q.sweep() < std::f64::consts::TAU - NEARLY_ROUND;
            (same && short).then_some(Segment::Arc(Arc { end: q.end, ..*p }))
        }
        _ => None,
    }
}
