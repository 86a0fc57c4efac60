//! The greatest distance of some edges from others, within a stated accuracy.
//!
//! In: edges to measure from, an [`EdgeIndex`] to measure to; mm. Out: the place that lies farthest off and how far, no more
//! than [`ACCURACY`] short of the truth. Branch and bound: an edge is halved until no part of it can hold a distance greater by
//! that much than the best known. Two bounds hold for a part from a to b: distance changes no faster than one moves; and no
//! point of it lies farther from one target edge than its ends do, but for what the arcs rise over their chords. Refuses
//! nothing.

use super::edges::{EdgeIndex, Near};
use super::trig::{angle, positive};
use super::{Arc, Point, Segment};
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::{PI, TAU};

/// How much less than the greatest distance may be reported, mm: a fifth of what figures for people promise.
pub const ACCURACY: f64 = 0.001;
/// Parts shorter than this are not halved again, mm: no distance within one differs by more.
const SHORTEST: f64 = 1e-4;

/// A distance and where, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Far {
    pub at: Point,
    pub mm: f64,
}

/// What counts as a distance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// Distance to the nearest edge, whichever side the point lies on.
    BothSides,
    /// Distance for points outside the region that the edges bound; points inside count nothing.
    Outside,
}

/// The point of `from` that lies farthest from the edges of `to`; of points equally far the leftmost, of these the lowest.
/// `None` without edges on either side, and where nothing is farther than `least` mm.
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
        open.push(Part { bound, order, segment: *s, a, b });
    }
    while let Some(part) = open.pop() {
        let enough = best.map_or(least, |b| b.mm.max(least));
        // The bounds come in falling order.
        if part.bound <= enough + ACCURACY {
            break;
        }
        if part.segment.length() < SHORTEST {
            continue;
        }
        halved += 1;
        let middle = ask(part.segment.at(0.5))?;
        keep(&mut best, &middle, counts);
        for (t0, t1, a, b) in [(0.0, 0.5, part.a, middle), (0.5, 1.0, middle, part.b)] {
            let segment = part.segment.part(t0, t1);
            let bound = bound(&segment, &a, &b, counts);
            if bound > best.map_or(least, |b| b.mm.max(least)) + ACCURACY {
                open.push(Part { bound, order: part.order, segment, a, b });
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
    /// Greater the farther out: below 0 inside where only the outside counts.
    fn value(&self, counts: Counts) -> f64 {
        if counts == Counts::Outside && self.near.inside { -self.near.distance } else { self.near.distance }
    }
}

struct Part {
    bound: f64,
    order: usize,
    segment: Segment,
    a: Asked,
    b: Asked,
}

impl Ord for Part {
    fn cmp(&self, other: &Part) -> Ordering {
        self.bound.total_cmp(&other.bound).then(other.order.cmp(&self.order))
    }
}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Part) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Part {
    fn eq(&self, other: &Part) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Part {}

fn keep(best: &mut Option<Far>, asked: &Asked, counts: Counts) {
    let (mm, at) = (asked.value(counts).max(0.0), asked.at);
    let better = |b: &Far| mm.total_cmp(&b.mm).then(b.at.x.total_cmp(&at.x)).then(b.at.y.total_cmp(&at.y)).is_gt();
    if best.as_ref().is_none_or(better) {
        *best = Some(Far { at, mm });
    }
}

/// No point of `s`, which runs from `a` to `b`, counts more than this.
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

/// The bound for a part of an arc that runs along an arc of nearly the same centre and faces it with both ends, which lie `ends`
/// off at most: from the target's centre no point of the part is nearer or farther than its radius by more than the centres
/// are apart.
fn concentric(s: &Segment, target: &Segment, ends: f64) -> Option<f64> {
    let (Segment::Arc(s), Segment::Arc(t)) = (s, target) else { return None };
    let apart = (s.center - t.center).hypot();
    if apart > s.radius / 10.0 || s.sweep() > 0.75 * PI || !half_at_most(t, s.start, s.end) {
        return None;
    }
    let both = [s.start, s.end].iter().all(|&p| t.spans(p - t.center));
    both.then(|| ends.max((s.radius - t.radius).abs() + apart))
}

/// How far the part of an edge between two of its points lies off their chord: 0 for a line. Without a bound where that part
/// is more than half a turn.
fn rise(s: &Segment, p: Point, q: Point) -> f64 {
    let Segment::Arc(a) = s else { return 0.0 };
    if !half_at_most(a, p, q) {
        return f64::INFINITY;
    }
    let half = (q - p).hypot() / 2.0;
    a.radius - (a.radius * a.radius - half * half).max(0.0).sqrt()
}

/// Whether the arc's own part between two of its points is half a turn at most.
fn half_at_most(a: &Arc, p: Point, q: Point) -> bool {
    let sweep = a.sweep();
    if sweep <= PI + 1e-9 {
        return true;
    }
    let from = a.start_angle();
    let along = |p: Point| {
        let turned = angle(p - a.center) - from;
        // A point at the very start may come out as a whole turn on.
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

    /// A corner of a square lies (√2 − 1)r beyond the circle within it: elementary geometry.
    #[test]
    fn corners_and_middles() {
        let circle = Region::new(vec![Ring::circle(Point::ORIGIN, 10.0)]);
        let beyond = 10.0 * (2f64.sqrt() - 1.0);
        for counts in [Counts::BothSides, Counts::Outside] {
            let f = far(&rect(10.0, 10.0), &circle, counts);
            assert!((f.mm - beyond).abs() < 1e-9 && f.at == Point::new(-10.0, -10.0), "{f:?}");
        }
        // From within: the middle of an edge of the circle's square inside lies r(1 − √½) from the circle.
        let inner = rect(10.0 / 2f64.sqrt(), 10.0 / 2f64.sqrt());
        let f = far(&inner, &circle, Counts::BothSides);
        assert!((f.mm - 10.0 * (1.0 - 0.5f64.sqrt())).abs() < ACCURACY, "{f:?}");
        assert_eq!(far(&inner, &circle, Counts::Outside).mm, 0.0);
    }

    /// The greatest distance lies between points of any fixed spacing: a needle seen from a long edge.
    #[test]
    fn a_greatest_distance_between_samples_is_found() {
        let p = Point::new;
        // A dip 0.3 wide and 0.5 deep at x = 33.35, on an edge 100 long; measured from its straight neighbour.
        let dip = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 9.0), p(33.5, 9.0), p(33.35, 8.5), p(33.2, 9.0), p(0.0, 9.0)];
        let dipped = Region::new(vec![Ring::polygon(&dip)]);
        let plain = Region::new(vec![Ring::polygon(&[p(0.0, 0.0), p(100.0, 0.0), p(100.0, 9.0), p(0.0, 9.0)])]);
        let f = far(&plain, &dipped, Counts::BothSides);
        // The middle of the dip's mouth lies 0.15 sin(atan(0.5/0.15)) from its sides.
        let expected = 0.15 * 0.5 / 0.15f64.hypot(0.5);
        assert!((f.mm - expected).abs() < ACCURACY, "{f:?} {expected}");
        assert!((far(&dipped, &plain, Counts::BothSides).mm - 0.5).abs() < 1e-12);
    }

    /// A part of a circle against the rest of it: its middle lies half the chord's arc from either end, though both ends lie on
    /// an edge of the same circle.
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
        assert!((f.mm - 2.0).abs() < ACCURACY && f.at.x.abs() < 0.1, "{f:?}");
    }

    /// Arcs of nearly a whole turn, one in the other, are settled in few steps: the distance is the same all along.
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
        // The ends of the chord lie a little farther from the other chord than 1.
        assert!((far.unwrap().mm - 1.0).abs() < 0.2 && halved < 60, "{far:?} {halved}");
    }

    #[test]
    fn parallels_are_settled_at_once_and_less_is_not_told() {
        let f = far(&rect(10.0, 10.0), &rect(9.0, 9.0), Counts::BothSides);
        assert!((f.mm - 2f64.sqrt()).abs() < 1e-12, "{f:?}");
        let index = EdgeIndex::new(&rect(9.0, 9.0));
        assert!(farthest(rect(9.5, 9.5).segments(), &index, Counts::BothSides, 1.0).is_none());
        assert!(
            farthest(rect(9.5, 9.5).segments(), &EdgeIndex::new(&Region::default()), Counts::Outside, 0.0).is_none()
        );
    }
}
