//! Checks edge by edge that nothing of an offset is missing or doubled, without a second engine.
//!
//! Every point of the true boundary lies at the distance |d| from the source, on the normal at its nearest point. So it
//! lies on the offset curve of a source edge or on a circle around a corner. Each of these candidates is followed from
//! end to end. Every stretch must pass one of two tests. Either a source edge is clearly nearer than |d|; then the
//! stretch is not on the true boundary. Or the stretch runs along an edge of the result, the same way round.
//!
//! The module `edges` proves the converse: each edge of the result is at |d| and on the correct side. So the two
//! boundaries agree within the tolerance. Moreover no edge of the result may have another beside it that runs the same
//! way. Then the boundary is traversed once, and the winding number changes by one exactly where it should.
//!
//! All comparisons are closed-form upper bounds on stretches, halved where the bounds do not suffice; nothing is
//! sampled. In: source, d, result, local frame, mm. Out: settled or not. If not (slivers, ties, necks of zero width),
//! the independent engine decides; nothing passes in doubt.

use crate::budget::Budget;
use crate::geom::index::BoxTree;
use crate::geom::index::inside::Within;
use crate::geom::shape::trig::{atan2, cos, right};
use crate::geom::shape::{Arc, GeomError, Region, Segment};
use crate::threads::{each, first_of};
use crate::tolerance::{
    CERTIFIED_DISTANCE as TOL, CLEARLY_NEARER, CUSP, CUSP_OF_LINES, FLAT_ARC, NEARER, NEARLY_HALF, NO_STRETCH,
    ROUNDING, SAME_WITHIN_SLACK, SHORTEST_HALF, TIP,
};
use kurbo::{Point, Vec2};
use std::f64::consts::PI;
use std::ops::{ControlFlow, Range};

/// The search gives up a stretch after this many halvings: even ten kilometres would then be shorter than
/// [`SHORTEST_HALF`]. (An arc with a distant centre may have coincident ends after halving. It then reads as a full
/// turn, never short.)
const DEEPEST: u32 = 40;

/// Number of source edges per task.
const AT_ONCE: usize = 2048;

/// Number of source edges remembered.
const LATELY: usize = 4;

/// The result of following the candidates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::geom) struct Complete {
    /// The result is the offset.
    pub settled: bool,
    /// True: with a radius smaller by up to half the slack, the edges stay within [`SAME_WITHIN_SLACK`] of these. No
    /// limb or gap then depends on the last digit.
    pub clear: bool,
}

const OPEN: Complete = Complete { settled: false, clear: false };

pub(super) fn offset(
    source: &Region,
    tree: &BoxTree<Segment>,
    d: f64,
    result: &Region,
    budget: &Budget,
) -> Result<Complete, GeomError> {
    let ours = Ours::new(result);
    if !ours.each_once() {
        return Ok(OPEN);
    }
    let within = Within::new(source);
    let walk = || Follower {
        source: tree,
        within: &within,
        outside: d > 0.0,
        ours: &ours,
        reach: d.abs(),
        last: Vec::with_capacity(LATELY),
        clear: true,
    };
    let stretches = source.rings.iter().flat_map(|ring| {
        let n = ring.segments.len();
        (0..n).step_by(AT_ONCE).map(move |from| (&ring.segments, from..(from + AT_ONCE).min(n)))
    });
    let all = each(stretches.collect(), |(edges, stretch)| walk().along(edges, stretch, d, budget));
    let mut whole = Complete { settled: true, clear: true };
    for one in all {
        let one = one?;
        whole = Complete { settled: whole.settled && one.settled, clear: whole.clear && one.clear };
    }
    Ok(whole)
}

/// The circles around the corner between two edges that may carry the offset; at a cusp, both ways round.
fn fans(before: &Segment, after: &Segment, d: f64) -> [Option<Segment>; 2] {
    let (t, u) = (before.tangent_at_end(), after.tangent_at_start());
    let center = after.start();
    let (start, end) = (center + right(t) * d, center + right(u) * d);
    let turn = atan2(t.cross(u), t.dot(u));
    let lines = matches!((before, after), (Segment::Line(_), Segment::Line(_)));
    let cusp = turn.abs() > PI - if lines { CUSP_OF_LINES } else { CUSP };
    if (end - start).hypot() < NO_STRETCH && !cusp {
        return [None, None];
    }
    let fan = |ccw| Segment::Arc(Arc { start, end, center, radius: d.abs(), ccw });
    if cusp {
        // In two halves, so that a sweep of nearly a full turn does not read as none.
        let middle = center + t * d.abs();
        let half = |start, end| Segment::Arc(Arc { start, end, center, radius: d.abs(), ccw: d > 0.0 });
        return [Some(half(start, middle)), Some(half(middle, end))];
    }
    // Outside is to the right. Growing opens a fan where the outline turns left; shrinking, where it turns right.
    [(turn * d > 0.0).then(|| fan(d > 0.0)), None]
}

/// The edges of the result.
struct Ours {
    edges: Vec<Segment>,
    /// Index of the ring, index within the ring, and the ring's number of edges.
    place: Vec<(usize, usize, usize)>,
    /// Whether the corners at start and end turn by more than a right angle.
    sharp: Vec<(bool, bool)>,
    tree: BoxTree<Segment>,
}

impl Ours {
    fn new(result: &Region) -> Ours {
        let edges: Vec<Segment> = result.segments().copied().collect();
        let place = result.rings.iter().enumerate().flat_map(|(r, ring)| {
            let n = ring.segments.len();
            (0..n).map(move |i| (r, i, n))
        });
        let turns = |a: &Segment, b: &Segment| a.tangent_at_end().dot(b.tangent_at_start()) < 0.0;
        let sharp = result.rings.iter().flat_map(|ring| {
            let s = &ring.segments;
            let n = s.len();
            (0..n).map(move |i| (turns(&s[(i + n - 1) % n], &s[i]), turns(&s[i], &s[(i + 1) % n])))
        });
        let (sharp, place, tree) = (sharp.collect(), place.collect(), BoxTree::of_edges(edges.iter().copied()));
        Ours { edges, place, sharp, tree }
    }

    /// Whether `holds` is true for an edge whose bounding box comes within `by` of the box.
    fn any_near(&self, b: kurbo::Rect, by: f64, mut holds: impl FnMut(usize, &Segment) -> bool) -> bool {
        let found =
            self.tree.visit(b, by, |i, g| if holds(i, g) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) });
        found.is_some()
    }

    /// No edge has another beside its middle that runs the same way.
    fn each_once(&self) -> bool {
        let twice = |i: usize, g: &Segment| {
            let m = g.at(0.5);
            let along = g.tangent_at(m);
            let box_of = kurbo::Rect::from_points(m, m);
            let beside = self.any_near(box_of, 2.0 * TOL, |k, other| {
                k != i && !self.follows(i, k, g) && {
                    let (off, q) = other.nearest(m);
                    off <= 2.0 * TOL && other.tangent_at(q).dot(along) > 0.0
                }
            });
            beside.then_some(())
        };
        first_of(&self.edges, twice).is_none()
    }

    /// Whether `k` follows `i` so closely along the ring that it must lie near it. (A ring of only such short edges is
    /// too small to count.)
    fn follows(&self, i: usize, k: usize, g: &Segment) -> bool {
        let ((r, a, n), (s, b, _)) = (self.place[i], self.place[k]);
        let apart = a.abs_diff(b).min(n - a.abs_diff(b).min(n));
        r == s && apart <= 4 && g.length() < 8.0 * TOL
    }
}

/// The parts of the result near a candidate.
#[derive(Default)]
struct Vicinity {
    edges: Vec<Segment>,
    corners: Vec<Point>,
    /// Sharp corners, each with an edge that meets there.
    tips: Vec<(Point, Segment)>,
}

impl Vicinity {
    /// Whether all of `c` runs along the result.
    fn holds(&self, c: &Segment) -> bool {
        self.corners.iter().any(|v| farthest_from_point(c, *v) <= TOL)
            || self.edges.iter().any(|g| runs_along(c, g, TOL))
            || self.tips.iter().any(|(v, g)| {
                farthest_from_point(c, *v) <= TIP && (runs_along(c, g, TOL) || runs_along(&c.reversed(), g, TOL))
            })
    }

    /// Whether `p` lies near the result, regardless of direction.
    fn reaches(&self, p: Point) -> bool {
        self.corners.iter().any(|v| (*v - p).hypot() <= TOL) || self.edges.iter().any(|g| g.nearest(p).0 <= TOL)
    }
}

/// State while following the candidates.
struct Follower<'a> {
    source: &'a BoxTree<Segment>,
    within: &'a Within<'a>,
    /// The true boundary lies outside the source, not inside.
    outside: bool,
    ours: &'a Ours,
    /// |d|.
    reach: f64,
    /// The source edges that were nearest recently, latest first: one of them is usually nearest again.
    last: Vec<Segment>,
    clear: bool,
}

impl Follower<'_> {
    /// Follows the candidates of a range of edges of a ring.
    fn along(
        mut self,
        edges: &[Segment],
        stretch: Range<usize>,
        d: f64,
        budget: &Budget,
    ) -> Result<Complete, GeomError> {
        for i in stretch {
            if i % 256 == 0 {
                budget.check()?;
            }
            let (s, after) = (&edges[i], &edges[(i + 1) % edges.len()]);
            let (parallel, [fan, other]) = (self.parallel(s, d), fans(s, after, d));
            for c in [parallel, fan, other].into_iter().flatten() {
                if !self.candidate(&c) {
                    return Ok(OPEN);
                }
            }
        }
        Ok(Complete { settled: true, clear: self.clear })
    }

    /// The offset curve of a source edge. An arc whose radius is smaller than an inward offset has none that counts.
    /// All points at |d| beyond its centre have the rest of the arc nearer.
    fn parallel(&mut self, s: &Segment, d: f64) -> Option<Segment> {
        let moved = |p: Point, t: Vec2| p + right(t) * d;
        let (start, end) = (moved(s.start(), s.tangent_at_start()), moved(s.end(), s.tangent_at_end()));
        match s {
            Segment::Line(_) => Some(Segment::line(start, end)),
            Segment::Arc(a) => {
                let radius = if a.ccw { a.radius + d } else { a.radius - d };
                if radius <= 0.0 {
                    self.clear &= radius < -CLEARLY_NEARER;
                    return None;
                }
                let swept = radius * a.sweep() > NO_STRETCH;
                swept.then_some(Segment::Arc(Arc { start, end, radius, ..*a }))
            }
        }
    }

    fn candidate(&mut self, c: &Segment) -> bool {
        if self.has_nearer(c, CLEARLY_NEARER) {
            return true;
        }
        // Cut at the corners of the result on it: each piece between lies wholly on the result or not at all.
        let mut cuts = vec![0.0, 1.0];
        let mut near = Vicinity::default();
        self.ours.any_near(c.bounds(), TOL, |i, g| {
            near.edges.push(*g);
            for (v, sharp) in [(g.start(), self.ours.sharp[i].0), (g.end(), self.ours.sharp[i].1)] {
                if c.nearest(v).0 < 2.0 * TOL {
                    cuts.push(fraction(c, v));
                    near.corners.push(v);
                }
                if sharp {
                    near.tips.push((v, *g));
                }
            }
            false
        });
        if near.holds(c) {
            return true;
        }
        if let Segment::Arc(a) = c
            && a.sweep() > 1.0
        {
            cuts.extend((1..8).map(|k| f64::from(k) / 8.0));
        }
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        // Closer cuts count as one: so short an arc could not be distinguished from a full turn.
        let length = c.length();
        cuts.windows(2)
            .filter(|w| (w[1] - w[0]) * length > NO_STRETCH)
            .all(|w| self.stretch(&c.part(w[0], w[1]), &near, 0))
    }

    fn stretch(&mut self, c: &Segment, near: &Vicinity, depth: u32) -> bool {
        if self.has_nearer(c, CLEARLY_NEARER) {
            return true;
        }
        if near.holds(c) {
            return true;
        }
        let m = c.at(0.5);
        // Its own source edge is at |d|.
        let Some(nearest) = self.source.nearer(m, self.reach + TOL) else { return false };
        self.remember(nearest.edge);
        if self.has_nearer(c, CLEARLY_NEARER) {
            return true;
        }
        if self.has_nearer(c, NEARER) {
            self.clear = self.clear && self.is_same(c, &near.corners);
            return true;
        }
        // Halving cannot help if the middle is on the true boundary but not on the result.
        let missed = nearest.distance > self.reach - NEARER && !near.reaches(m);
        // Except on the wrong side of the source, where there is no true boundary. (At a cusp both fans are tested.) No
        // source edge is near enough for `c` to change sides.
        let short = c.length() < self.reach;
        if missed && short && self.within.contains(m) == self.outside {
            return true;
        }
        if missed && short || c.length() < SHORTEST_HALF || depth >= DEEPEST {
            return false;
        }
        self.stretch(&c.part(0.0, 0.5), near, depth + 1) && self.stretch(&c.part(0.5, 1.0), near, depth + 1)
    }

    fn remember(&mut self, e: Segment) {
        match self.last.iter().position(|l| *l == e) {
            Some(i) => self.last[..=i].rotate_right(1),
            None => {
                self.last.truncate(LATELY - 1);
                self.last.insert(0, e);
            }
        }
    }

    /// Whether one of the recent source edges is nearer than |d| minus `by` to all of `c`.
    fn has_nearer(&mut self, c: &Segment, by: f64) -> bool {
        let limit = self.reach - by;
        let nearer = self.last.iter().position(|e| farthest(c, e) < limit);
        if let Some(i) = nearer {
            self.last[..=i].rotate_right(1);
        }
        nearer.is_some()
    }

    /// Whether all of `c` lies so near to the result that a slightly smaller radius would not change it.
    fn is_same(&self, c: &Segment, corners: &[Point]) -> bool {
        corners.iter().any(|v| farthest_from_point(c, *v) <= SAME_WITHIN_SLACK) || {
            let (m, reach) = (c.at(0.5), SAME_WITHIN_SLACK - c.length() / 2.0);
            reach > 0.0 && self.ours.tree.any_within(m, reach, |_, _| true)
        }
    }
}

/// The fraction of `c` at its point nearest to `v`.
fn fraction(c: &Segment, v: Point) -> f64 {
    let q = c.nearest(v).1;
    match c {
        Segment::Line(l) => {
            let along = l.end - l.start;
            ((q - l.start).dot(along) / along.hypot2().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
        }
        Segment::Arc(a) => {
            let (u, w) = (a.start - a.center, q - a.center);
            let turned = atan2(u.cross(w), u.dot(w)) * if a.ccw { 1.0 } else { -1.0 };
            let turned = if turned < -ROUNDING { turned + 2.0 * PI } else { turned };
            (turned / a.sweep()).clamp(0.0, 1.0)
        }
    }
}

/// Greatest distance of a point of `c` from `p`.
fn farthest_from_point(c: &Segment, p: Point) -> f64 {
    let ends = (c.start() - p).hypot().max((c.end() - p).hypot());
    match c {
        Segment::Line(_) => ends,
        Segment::Arc(a) => {
            let v = a.center - p;
            if a.spans(v) { v.hypot() + a.radius } else { ends }
        }
    }
}

/// An upper bound of the distance of the points of `c` from the edge `e`.
fn farthest(c: &Segment, e: &Segment) -> f64 {
    let near = |p: Point| e.nearest(p).0;
    match (c, e) {
        // The distance from a convex set is convex: greatest at the corners of a hull.
        (Segment::Line(l), Segment::Line(_)) => near(l.start).max(near(l.end)),
        (Segment::Arc(a), Segment::Line(_)) if flat(a) => near(a.start).max(near(a.end)).max(near(apex(a))),
        (_, Segment::Arc(b)) => {
            let round = farthest_from_point(c, b.start).min(farthest_from_point(c, b.end));
            let beside = if faces(c, b) { off_circle(c, b) } else { f64::INFINITY };
            round.min(beside).min(near(c.at(0.5)) + c.length() / 2.0)
        }
        _ => near(c.at(0.5)) + c.length() / 2.0,
    }
}

fn flat(a: &Arc) -> bool {
    a.sweep() < FLAT_ARC
}

/// The intersection of the tangents at the ends of a flat arc.
fn apex(a: &Arc) -> Point {
    let half = (a.start - a.center) + (a.end - a.center);
    // |half| = 2 r cos(s/2), and the apex is at r / cos(s/2).
    a.center + half * (2.0 * a.radius * a.radius / half.hypot2())
}

/// Whether all of `c` lies within the angle of the arc `b`.
fn faces(c: &Segment, b: &Arc) -> bool {
    let short = b.sweep() <= NEARLY_HALF && !matches!(c, Segment::Arc(a) if a.sweep() > FLAT_ARC);
    let spans = |p: Point| b.spans(p - b.center);
    short && spans(c.start()) && spans(c.end()) && (!matches!(c, Segment::Arc(_)) || bulges_within(c, b))
}

/// For an arc within an angle of less than a half turn: a flat arc lies in the hull of its ends and its apex.
fn bulges_within(c: &Segment, b: &Arc) -> bool {
    let Segment::Arc(a) = c else { return true };
    // About the same centre the ends suffice, and the apex lies on the bisector.
    flat(a) && b.spans(apex(a) - b.center)
}

/// Greatest distance of a point of `c` from the circle of `b`.
fn off_circle(c: &Segment, b: &Arc) -> f64 {
    let out = |p: Point| ((p - b.center).hypot() - b.radius).abs();
    let ends = out(c.start()).max(out(c.end()));
    match c {
        // The distance from the centre is convex along a line: greatest at an end, least at the foot.
        Segment::Line(_) => ends.max(out(c.nearest(b.center).1)),
        Segment::Arc(a) => {
            let v = a.center - b.center;
            if v.hypot() < ROUNDING {
                return (a.radius - b.radius).abs() + v.hypot();
            }
            [v, -v]
                .into_iter()
                .filter(|u| a.spans(*u))
                .fold(ends, |m, u| m.max(out(a.center + u * (a.radius / u.hypot()))))
        }
    }
}

/// Whether all of `c` lies within `reach` of `g` and runs the same way.
fn runs_along(c: &Segment, g: &Segment, reach: f64) -> bool {
    let m = c.at(0.5);
    let (off, q) = g.nearest(m);
    if off > reach || g.tangent_at(q).dot(c.tangent_at(m)) <= 0.0 {
        return false;
    }
    let ends = g.nearest(c.start()).0.max(g.nearest(c.end()).0);
    if ends > reach {
        return false;
    }
    match (c, g) {
        (Segment::Line(_), Segment::Line(_)) => true,
        (Segment::Arc(a), Segment::Line(_)) => {
            let sagitta = a.radius * (1.0 - cos((a.sweep() / 2.0).min(PI)));
            ends + sagitta <= reach
        }
        (_, Segment::Arc(b)) => {
            // Ends and middle are beside g, and c is too short to contain the gap of g between them.
            let gap = (2.0 * PI - b.sweep()) * b.radius;
            c.length() < gap && off_circle(c, b) <= reach
        }
    }
}
