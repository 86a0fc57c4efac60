//! Simplifies dense traces: runs of short lines become longer lines or arcs.
//!
//! In: a ring, a tolerance in mm. Out: a ring through some of its corners. Every dropped corner, and every line
//! between, lies within the tolerance of the line or arc that replaces it. The run goes forward along it all the way.
//! So each point of either ring lies within the tolerance of the other. A point farther than that from the edge stays
//! inside or outside. All this is verified in closed form before an edge is accepted. Arcs stay as they are.
//!
//! The narrowing cone is from Imai and Iri (Polygonal approximations of a curve, 1988). An arc through two given
//! corners is parametrised by the tangent of half its sweep. Each corner between them allows a range of it; the middle
//! of the common range is tried.

use crate::geom::shape::{Arc, Line, Point, Region, Ring, Segment, Vec2, chords, trig};
use std::f64::consts::PI;

/// An arc is used if it replaces at least this many times the lines that one line does ...
const WORTH: usize = 2;
/// ... and at least this many lines: an arc fits any three or four noisy points.
const FEWEST: usize = 6;

/// The ring with lines joined within `tolerance` mm.
#[must_use]
pub fn simplified(ring: &Ring, tolerance: f64) -> Ring {
    let mut out: Vec<Segment> = Vec::new();
    let mut run: Vec<Point> = Vec::new();
    for s in &ring.segments {
        match s {
            Segment::Line(l) => {
                if run.is_empty() {
                    run.push(l.start);
                }
                run.push(l.end);
            }
            Segment::Arc(_) => {
                joined(&std::mem::take(&mut run), tolerance, &mut out);
                out.push(*s);
            }
        }
    }
    joined(&run, tolerance, &mut out);
    if out.len() > 2 { Ring::new(out) } else { ring.clone() }
}

/// Regions with at most this many edges are returned unchanged.
const FEW: usize = 64;

/// The region with few edges, each point of either within `tolerance` mm of the other. For questions that tolerate this
/// error; rings may touch, so not for operations.
#[must_use]
pub fn rough(region: &Region, tolerance: f64) -> Region {
    if region.segments().count() <= FEW {
        return region.clone();
    }
    let straight = chords::straight(region, tolerance / 2.0);
    Region::new(straight.rings.iter().map(|r| simplified(r, tolerance / 2.0)).collect())
}

fn joined(run: &[Point], tolerance: f64, out: &mut Vec<Segment>) {
    let mut i = 0;
    while i + 1 < run.len() {
        let j = reach(run, i, tolerance);
        if let Some((end, arc)) = arc_from(run, i, (j - i) * WORTH, tolerance) {
            out.push(Segment::Arc(arc));
            i = end;
            continue;
        }
        let line = Segment::line(run[i], run[j]);
        // May fail by rounding; then keep the corners.
        if run[i..=j].iter().all(|p| line.nearest(*p).0 <= tolerance) {
            out.push(line);
        } else {
            out.extend(run[i..=j].windows(2).map(|w| Segment::Line(Line { start: w[0], end: w[1] })));
        }
        i = j;
    }
}

/// The arc from corner `i` that replaces the most lines (at least `least`), and the corner where it ends.
fn arc_from(run: &[Point], i: usize, least: usize, tolerance: f64) -> Option<(usize, Arc)> {
    longest(i, run.len() - 1, least.max(FEWEST), |end| arc_over(&run[i..=end], tolerance))
}

/// The farthest end up to `last` for which `over` succeeds, at least `least` beyond `from`. Searched by doubling, then
/// by bisection between the last success and the first failure.
pub(in crate::geom) fn longest<T>(
    from: usize,
    last: usize,
    least: usize,
    over: impl Fn(usize) -> Option<T>,
) -> Option<(usize, T)> {
    let mut end = from + least;
    if end > last {
        return None;
    }
    let mut best: Option<(usize, T)> = None;
    let mut beyond = loop {
        match over(end) {
            Some(one) => best = Some((end, one)),
            None => break end,
        }
        if end == last {
            return best;
        }
        end = (from + 2 * (end - from)).min(last);
    };
    let mut holds = best.as_ref()?.0;
    while beyond - holds > 1 {
        let middle = usize::midpoint(holds, beyond);
        match over(middle) {
            Some(one) => (holds, best) = (middle, Some((middle, one))),
            None => beyond = middle,
        }
    }
    best
}

/// An arc of less than a half turn from the first to the last of `points` that follows them within the tolerance.
fn arc_over(points: &[Point], tolerance: f64) -> Option<Arc> {
    let (&a, &b) = (points.first()?, points.last()?);
    let chord = b - a;
    let across = trig::right(chord) / chord.hypot().max(f64::MIN_POSITIVE);
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for &p in &points[1..points.len() - 1] {
        low = low.max(half_sweep(a, b, p - across * tolerance)?);
        high = high.min(half_sweep(a, b, p + across * tolerance)?);
        if low > high {
            return None;
        }
    }
    // The middle of the range; without a two-sided range there is no arc.
    let tangent = if low.is_finite() && high.is_finite() { f64::midpoint(low, high) } else { return None };
    let arc = Arc::from_bulge(a, b, tangent / (1.0 + tangent.hypot(1.0)))?;
    follows(points, &arc, tolerance).then_some(arc)
}

/// Tangent of half the sweep of the arc from `a` to `b` through `p`, positive for anticlockwise. It follows from the
/// angle under which `p` sees the chord. `None` from a half turn on.
pub(in crate::geom) fn half_sweep(a: Point, b: Point, p: Point) -> Option<f64> {
    let (u, v) = (a - p, b - p);
    let along = u.dot(v);
    (along < 0.0).then(|| -u.cross(v) / -along)
}

/// Whether the arc and the lines through `points` lie within the tolerance of each other and run the same way.
fn follows(points: &[Point], arc: &Arc, tolerance: f64) -> bool {
    if arc.sweep() >= PI {
        return false;
    }
    let off = |p: Point| ((p - arc.center).hypot() - arc.radius).abs() <= tolerance;
    points.windows(2).all(|w| {
        let (u, v) = (w[0] - arc.center, w[1] - arc.center);
        let forward = u.cross(v) * if arc.ccw { 1.0 } else { -1.0 } > 0.0 && u.dot(v) > 0.0;
        // Along a line the distance from the centre is least at the foot and greatest at an end.
        forward && off(w[1]) && off(Segment::line(w[0], w[1]).nearest(arc.center).1)
    })
}

/// The farthest corner that a line from corner `i` reaches while it passes all corners between within the tolerance,
/// going forward.
fn reach(run: &[Point], i: usize, tolerance: f64) -> usize {
    let mut best = i + 1;
    let mut cone: Option<(Vec2, Vec2)> = None;
    for j in i + 1..run.len() {
        let v = run[j] - run[i];
        let h = v.hypot();
        if h <= tolerance {
            continue;
        }
        let forward = (run[j] - run[j - 1]).dot(v) > 0.0;
        let seen = cone.is_none_or(|(right, left)| right.cross(v) >= 0.0 && v.cross(left) >= 0.0 && right.dot(v) > 0.0);
        if !forward || !seen {
            break;
        }
        best = j;
        let sine = tolerance / h;
        let cosine = (1.0 - sine * sine).sqrt();
        let turned = |s: f64| Vec2::new(v.x * cosine - v.y * s, v.x * s + v.y * cosine);
        let (mut right, mut left) = (turned(-sine), turned(sine));
        if let Some((r, l)) = cone {
            right = if r.cross(right) > 0.0 { right } else { r };
            left = if left.cross(l) > 0.0 { left } else { l };
        }
        cone = Some((right, left));
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::edges::{EdgeIndex, sampled};
    use crate::geom::trig::unit;
    use std::f64::consts::TAU;

    fn apart(a: &Ring, b: &Ring) -> f64 {
        let (a, b) = (Region::new(vec![a.clone()]), Region::new(vec![b.clone()]));
        let off = |from: &Region, to: &Region| {
            let index = EdgeIndex::new(to);
            sampled(from, 0.5).filter_map(|p| index.nearest(p)).map(|n| n.distance).fold(0.0, f64::max)
        };
        off(&a, &b).max(off(&b, &a))
    }

    #[test]
    fn a_finely_traced_circle_becomes_few_arcs() {
        let (n, r, tolerance) = (100_000u32, 50.0, 0.002);
        let ring = Ring::polygon(
            &(0..n).map(|k| (unit(TAU * f64::from(k) / f64::from(n)) * r).to_point()).collect::<Vec<_>>(),
        );
        let few = simplified(&ring, tolerance);
        assert!(few.segments.len() < 8, "{}", few.segments.len());
        assert!(apart(&ring, &few) <= tolerance * 1.000_001);
        // The remainder at the end may be a line.
        for s in &few.segments[..few.segments.len() - 1] {
            assert!(matches!(s, Segment::Arc(a) if (a.radius - r).abs() < 0.01), "{s:?}");
        }
    }

    /// A scroll that bends both ways: within the tolerance, with two dozen arcs.
    #[test]
    fn a_finely_traced_scroll_becomes_few_arcs() {
        let n = 20_000u32;
        let at = |k: u32| {
            let t = TAU * f64::from(k) / f64::from(n);
            let r = 100.0 + 18.0 * crate::geom::trig::cos(3.0 * t) + 6.0 * crate::geom::trig::cos(7.0 * t + 1.0);
            (unit(t) * r).to_point()
        };
        let ring = Ring::polygon(&(0..n).map(at).collect::<Vec<_>>());
        let few = simplified(&ring, 0.002);
        assert!(few.segments.len() < 120, "{}", few.segments.len());
        assert!(apart(&ring, &few) <= 0.002 * 1.000_001, "{}", apart(&ring, &few));
        for w in few.segments.windows(2) {
            assert_eq!(w[0].end(), w[1].start());
        }
    }

    /// The corners of a coarse polygon are not rounded off, and a step does not become an arc.
    #[test]
    fn what_was_drawn_with_corners_keeps_them() {
        let coarse: Vec<Point> = (0..60u32).map(|k| (unit(TAU * f64::from(k) / 60.0) * 20.0).to_point()).collect();
        assert_eq!(simplified(&Ring::polygon(&coarse), 0.002), Ring::polygon(&coarse));
        let p = Point::new;
        let step = [p(0.0, 0.0), p(0.5, 0.0), p(0.5, 0.5), p(1.0, 0.5), p(1.0, 9.0), p(0.0, 9.0)];
        assert_eq!(simplified(&Ring::polygon(&step), 0.002), Ring::polygon(&step));
    }

    #[test]
    fn corners_stay_and_points_on_a_side_go() {
        let p = Point::new;
        let side = |a: Point, b: Point| (0..10).map(move |k| a.lerp(b, f64::from(k) / 10.0));
        let c = [p(0.0, 0.0), p(40.0, 0.0), p(40.0, 30.0), p(0.0, 30.0)];
        let points: Vec<Point> = (0..4).flat_map(|i| side(c[i], c[(i + 1) % 4])).collect();
        assert_eq!(simplified(&Ring::polygon(&points), 0.002), Ring::polygon(&c));
    }

    /// A zigzag with teeth smaller and larger than the tolerance.
    #[test]
    fn a_saw_goes_only_if_its_teeth_are_small_enough() {
        let saw = |tooth: f64| {
            let mut points: Vec<Point> =
                (0..200).map(|k| Point::new(f64::from(k) * 0.1, if k % 2 == 0 { 0.0 } else { tooth })).collect();
            points.extend([Point::new(20.0, 10.0), Point::new(0.0, 10.0)]);
            Ring::polygon(&points)
        };
        let (fine, coarse) = (saw(0.001), saw(0.01));
        assert!(simplified(&fine, 0.002).segments.len() < 10);
        assert_eq!(simplified(&coarse, 0.002), coarse);
        assert!(apart(&fine, &simplified(&fine, 0.002)) <= 0.002);
    }

    #[test]
    fn arcs_are_left_alone() {
        let ring = Ring::circle(Point::new(3.0, 4.0), 5.0);
        assert_eq!(simplified(&ring, 0.002), ring);
    }
}
