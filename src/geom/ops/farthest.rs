//! The greatest distance of some edges from others, within a stated accuracy.
//!
//! In: edges to measure from, an [`EdgeIndex`] to measure to; mm. Out: the farthest place and its distance, at most
//! [`FARTHEST_ACCURACY`] too small. No errors.
//!
//! Branch and bound: an edge is halved until no part can exceed the best known distance by more than that. Two bounds
//! hold for a part from a to b. The distance changes no faster than the point moves. And apart from the sagitta of the
//! arcs, no point of the part lies farther from one target edge than its ends do.

use crate::geom::index::edges::{EdgeIndex, Near};
use crate::geom::shape::trig::{angle, positive};
use crate::geom::shape::{Arc, Point, Segment};
use crate::tolerance::{FARTHEST_ACCURACY, ROUNDING, SHORTEST_SEARCHED};
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::{PI, TAU};

/// A distance and its place, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Far {
    pub at: Point,
    pub mm: f64,
}

/// Which points count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// The distance to the nearest edge counts, on either side of it.
    BothSides,
    /// Only points outside the region bounded by the edges count; points inside count as 0.
    Outside,
}

/// The point of `from` farthest from the edges of `to`. Of equally distant points, the leftmost; of these, the lowest.
/// `None` if either side has no edges, or if nothing is farther than `least` mm.
pub fn farthest<'a>(
    from: impl IntoIterator<Item = &'a Segment>,
    to: &EdgeIndex,
    counts: Counts,
    least: f64,
) -> Option<Far> {
    search(from, to, counts, least)?.0
}

/// The same, and how often a part was halved.
fn search<'a>(
    from: impl IntoIterator<Item = &'a Segment>,
    to: &EdgeIndex,
    counts: Counts,
    least: f64,
) -> Option<(Option<Far>, usize)> {
    let mut walk = to.walk();
    let mut halved = 0;
    let mut ask = |at: Point| walk.nearest_edge(at).map(|(near, edge)| Asked { at, near, edge });
    let mut best: Option<Far> = None;
    let mut open = BinaryHeap::new();
    for (order, s) in from.into_iter().enumerate() {
        let (a, b) = (ask(s.start())?, ask(s.end())?);
        for end in [&a, &b] {
            keep(&mut best, end, counts);
        }
        let bound = bound(s, &a, &b, counts);
        open.push(QueuedEdge { bound, order, segment: *s, a, b });
    }
    while let Some(part) = open.pop() {
        let enough = best.map_or(least, |b| b.mm.max(least));
        // The bounds come in descending order.
        if part.bound <= enough + FARTHEST_ACCURACY {
            break;
        }
        if part.segment.length() < SHORTEST_SEARCHED {
            continue;
        }
        halved += 1;
        let middle = ask(part.segment.at(0.5))?;
        keep(&mut best, &middle, counts);
        for (t0, t1, a, b) in [(0.0, 0.5, part.a, middle), (0.5, 1.0, middle, part.b)] {
            let segment = part.segment.part(t0, t1);
            let bound = bound(&segment, &a, &b, counts);
            if bound > best.map_or(least, |b| b.mm.max(least)) + FARTHEST_ACCURACY {
                open.push(QueuedEdge { bound, order: part.order, segment, a, b });
            }
        }
    }
    Some((best.filter(|b| b.mm >= least), halved))
}

/// A point with its nearest edge.
#[derive(Clone, Copy)]
struct Asked {
    at: Point,
    near: Near,
    edge: Segment,
}

impl Asked {
    /// The value to maximise: negative for points inside if only the outside counts.
    fn value(&self, counts: Counts) -> f64 {
        if counts == Counts::Outside && self.near.inside { -self.near.distance } else { self.near.distance }
    }
}

struct QueuedEdge {
    bound: f64,
    order: usize,
    segment: Segment,
    a: Asked,
    b: Asked,
}

impl Ord for QueuedEdge {
    fn cmp(&self, other: &QueuedEdge) -> Ordering {
        self.bound.total_cmp(&other.bound).then(other.order.cmp(&self.order))
    }
}

impl PartialOrd for QueuedEdge {
    fn partial_cmp(&self, other: &QueuedEdge) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for QueuedEdge {
    fn eq(&self, other: &QueuedEdge) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for QueuedEdge {}

fn keep(best: &mut Option<Far>, asked: &Asked, counts: Counts) {
    let (mm, at) = (asked.value(counts).max(0.0), asked.at);
    let better = |b: &Far| mm.total_cmp(&b.mm).then(b.at.x.total_cmp(&at.x)).then(b.at.y.total_cmp(&at.y)).is_gt();
    if best.as_ref().is_none_or(better) {
        *best = Some(Far { at, mm });
    }
}

/// An upper bound of the value at any point of `s`, which runs from `a` to `b`.
fn bound(s: &Segment, a: &Asked, b: &Asked, counts: Counts) -> f64 {
    let by_moving = (a.value(counts) + b.value(counts) + s.length()) / 2.0;
    let rise = rise(s, s.start(), s.end());
    let by_edge = [(&a.edge, a.near.distance, a.near.at, b), (&b.edge, b.near.distance, b.near.at, a)].map(
        |(edge, here, foot, other)| {
            let (there, other_foot) = edge.nearest(other.at);
            let chords = here.max(there) + rise + self::rise(edge, foot, other_foot);
            concentric(s, edge, here.max(there)).map_or(chords, |b| b.min(chords))
        },
    );
    by_moving.min(by_edge[0]).min(by_edge[1])
}

/// The bound for a part of an arc beside a nearly concentric arc that both its ends face. The ends lie at most `ends`
/// from it. Seen from the target's centre, the part's points deviate from its radius by at most the distance of the
/// two centres.
fn concentric(s: &Segment, target: &Segment, ends: f64) -> Option<f64> {
    let (Segment::Arc(s), Segment::Arc(t)) = (s, target) else { return None };
    let apart = (s.center - t.center).hypot();
    if apart > s.radius / 10.0 || s.sweep() > 0.75 * PI || !half_at_most(t, s.start, s.end) {
        return None;
    }
    let both = [s.start, s.end].iter().all(|&p| t.spans(p - t.center));
    both.then(|| ends.max((s.radius - t.radius).abs() + apart))
}

/// Sagitta of the part of an edge between two of its points: 0 for a line, infinite if the part exceeds half a turn.
fn rise(s: &Segment, p: Point, q: Point) -> f64 {
    let Segment::Arc(a) = s else { return 0.0 };
    if !half_at_most(a, p, q) {
        return f64::INFINITY;
    }
    let half = (q - p).hypot() / 2.0;
    a.radius - (a.radius * a.radius - half * half).max(0.0).sqrt()
}

/// Whether the arc's own part between two of its points is at most half a turn.
fn half_at_most(a: &Arc, p: Point, q: Point) -> bool {
    let sweep = a.sweep();
    if sweep <= PI + ROUNDING {
        return true;
    }
    let from = a.start_angle();
    let along = |p: Point| {
        let turned = angle(p - a.center) - from;
        // Rounding may place a point at the very start a full turn on.
        let turned = positive(if a.ccw { turned } else { -turned });
        if turned > sweep { if turned - sweep < TAU - turned { sweep } else { 0.0 } } else { turned }
    };
    (along(p) - along(q)).abs() <= PI
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Region, Ring};

    fn rect(x: f64, y: f64) -> Region {
        let p = Point::new;
        Region::new(vec![Ring::polygon(&[p(-x, -y), p(x, -y), p(x, y), p(-x, y)])])
    }

    fn far(from: &Region, to: &Region, counts: Counts) -> Far {
        farthest(from.segments(), &EdgeIndex::new(to), counts, 0.0).unwrap()
    }

    /// A corner of a square lies (√2 − 1)r beyond its inscribed circle: elementary geometry.
    #[test]
    fn corners_and_middles() {
        let circle = Region::new(vec![Ring::circle(Point::ORIGIN, 10.0)]);
        let beyond = 10.0 * (2f64.sqrt() - 1.0);
        for counts in [Counts::BothSides, Counts::Outside] {
            let f = far(&rect(10.0, 10.0), &circle, counts);
            assert!((f.mm - beyond).abs() < 1e-9 && f.at == Point::new(-10.0, -10.0), "{f:?}");
        }
        // From inside: the middle of an edge of the inscribed square lies r(1 − √½) from the circle.
        let inner = rect(10.0 / 2f64.sqrt(), 10.0 / 2f64.sqrt());
        let f = far(&inner, &circle, Counts::BothSides);
        assert!((f.mm - 10.0 * (1.0 - 0.5f64.sqrt())).abs() < FARTHEST_ACCURACY, "{f:?}");
        assert_eq!(far(&inner, &circle, Counts::Outside).mm, 0.0);
    }

    /// The greatest distance may lie between samples of any fixed spacing: a narrow dip in a long edge.
    #[test]
    fn a_greatest_distance_between_samples_is_found() {
        let p = Point::new;
        // A dip 0.3 wide and 0.5 deep at x = 33.35 in an edge 100 long, measured from its straight counterpart.
        let dip = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 9.0), p(33.5, 9.0), p(33.35, 8.5), p(33.2, 9.0), p(0.0, 9.0)];
        let dipped = Region::new(vec![Ring::polygon(&dip)]);
        let plain = Region::new(vec![Ring::polygon(&[p(0.0, 0.0), p(100.0, 0.0), p(100.0, 9.0), p(0.0, 9.0)])]);
        let f = far(&plain, &dipped, Counts::BothSides);
        // The middle of the dip's mouth lies 0.15 sin(atan(0.5/0.15)) from its sides.
        let expected = 0.15 * 0.5 / 0.15f64.hypot(0.5);
        assert!((f.mm - expected).abs() < FARTHEST_ACCURACY, "{f:?} {expected}");
        assert!((far(&dipped, &plain, Counts::BothSides).mm - 0.5).abs() < 1e-12);
    }

    /// A part of a circle against the rest of it. Both its ends lie on an edge of the same circle, yet its middle is
    /// half the gap away.
    #[test]
    fn a_gap_in_an_arc_is_seen_from_within() {
        let p = Point::new;
        let (a, b) = (p(6.0, 8.0), p(-6.0, 8.0));
        let gap = Segment::Arc(crate::geom::Arc { start: a, end: b, center: Point::ORIGIN, radius: 10.0, ccw: true });
        let rest =
            |start, end| Segment::Arc(crate::geom::Arc { start, end, center: Point::ORIGIN, radius: 10.0, ccw: true });
        let open =
            Region::new(vec![Ring::new(vec![rest(b, p(0.0, -10.0)), rest(p(0.0, -10.0), a), Segment::line(a, b)])]);
        let f = farthest([&gap], &EdgeIndex::new(&open), Counts::BothSides, 0.0).unwrap();
        assert!((f.mm - 2.0).abs() < FARTHEST_ACCURACY && f.at.x.abs() < 0.1, "{f:?}");
    }

    /// Two nested arcs of nearly a full turn are settled in few steps: their distance is constant.
    #[test]
    fn long_arcs_beside_each_other_take_no_search() {
        let long = |r: f64| {
            let arc = Segment::Arc(Arc {
                start: Point::new(r, 0.0),
                end: Point::new(0.6 * r, -0.8 * r),
                center: Point::ORIGIN,
                radius: r,
                ccw: true,
            });
            Region::new(vec![Ring::new(vec![arc, Segment::line(arc.end(), arc.start())])])
        };
        let (from, to) = (long(50.0), EdgeIndex::new(&long(49.0)));
        let (far, halved) = search(from.segments(), &to, Counts::BothSides, 0.0).unwrap();
        // The ends of the chord lie slightly farther from the other chord than 1.
        assert!((far.unwrap().mm - 1.0).abs() < 0.2 && halved < 60, "{far:?} {halved}");
    }

    #[test]
    fn parallels_are_settled_at_once_and_small_distances_are_dropped() {
        let f = far(&rect(10.0, 10.0), &rect(9.0, 9.0), Counts::BothSides);
        assert!((f.mm - 2f64.sqrt()).abs() < 1e-12, "{f:?}");
        let index = EdgeIndex::new(&rect(9.0, 9.0));
        assert!(farthest(rect(9.5, 9.5).segments(), &index, Counts::BothSides, 1.0).is_none());
        assert!(
            farthest(rect(9.5, 9.5).segments(), &EdgeIndex::new(&Region::default()), Counts::Outside, 0.0).is_none()
        );
    }
}
