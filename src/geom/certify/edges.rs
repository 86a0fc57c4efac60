//! Checks by exact distances that every edge of a result lies in its place.

use super::refuse;
use crate::budget::Budget;
use crate::geom::index::inside::Within;
use crate::geom::index::{BoxTree, Nearest};
use crate::geom::shape::distance::between;
use crate::geom::shape::trig::right;
use crate::geom::shape::{Arc, GeomError, Region, Segment};
use crate::threads::first_of;
use crate::tolerance::{CERTIFIED_DISTANCE as TOL, NEARLY_HALF, OVERLAY_CHORD, SHORTEST_PIECE};
use kurbo::Point;
use std::f64::consts::TAU;
use std::ops::ControlFlow;

/// From this depth of subdivision on, all edges within reach are tried, not only the nearest.
const LOOK_ROUND: u32 = 5;
/// Down to this depth, cuts are made where a nearby edge ends; deeper, only at the middle.
const FACING: u32 = 12;
/// At this depth an edge counts as too far: it is then shorter than the rounding error.
const DEEPEST: u32 = 40;
/// Edges of a ring that are tried for a nearest point inside an edge of the source.
const PROBES: usize = 8;

/// Every point of every edge of `result` is at |d| from the source's edges, on the side given by the sign of `d`.
pub(super) fn at_distance(
    tree: &BoxTree<Segment>,
    source: &Region,
    d: f64,
    result: &Region,
    budget: &Budget,
) -> Result<(), GeomError> {
    let one = |g: &Segment| {
        none_nearer(tree, g, d.abs())?;
        let (m, reach) = (g.at(0.5), d.abs() + TOL);
        let nearest = tree.nearer(m, reach);
        // Usually the edge nearest to the middle is within reach of the whole edge.
        if !nearest.is_some_and(|n| wholly_within(g, &n.edge, reach)) && !within(tree, g, reach, 0) {
            return Err(refuse(m, "an edge lies too far from the outline"));
        }
        right_side(m, nearest, g, d)
    };
    each_edge(result, one, budget)?;
    beside(tree, source, d, result)
}

/// Every ring of the result lies outside the source if `d` is positive, else inside. No point of it is on the source's
/// edges, so one point shows the side of a whole ring. Does nothing where `d` is within the error of [`Within`].
fn beside(tree: &BoxTree<Segment>, source: &Region, d: f64, result: &Region) -> Result<(), GeomError> {
    if d.abs() <= 2.0 * OVERLAY_CHORD {
        return Ok(());
    }
    let within = Within::new(source);
    for ring in &result.rings {
        let middles = || ring.segments.iter().map(|g| g.at(0.5));
        // Where the nearest point is no end of its edge, the edge's normal shows the side.
        let by_normal = middles().take(PROBES).find_map(|m| {
            let n = tree.nearer(m, d.abs() + TOL)?;
            let inner = [n.edge.start(), n.edge.end()].iter().all(|e| (*e - n.at).hypot() > TOL);
            inner.then(|| (m, right(n.edge.tangent_at(n.at)).dot(m - n.at) > 0.0))
        });
        let shown = by_normal.or_else(|| middles().next().map(|m| (m, !within.contains(m))));
        if let Some((m, outside)) = shown
            && outside != (d > 0.0)
        {
            return Err(refuse(m, "a ring lies on the wrong side of the outline"));
        }
    }
    Ok(())
}

/// Runs a check on every edge of the result. The first refusal is returned.
fn each_edge(
    result: &Region,
    one: impl Fn(&Segment) -> Result<(), GeomError> + Send + Sync,
    budget: &Budget,
) -> Result<(), GeomError> {
    let stopped = |i: usize| if i.is_multiple_of(256) { budget.check().err() } else { None };
    let refused = |i: usize, g: &Segment| stopped(i).map(GeomError::from).or_else(|| one(g).err());
    let all = result.rings.iter().find_map(|ring| first_of(&ring.segments, refused));
    all.map_or(Ok(()), Err)
}

/// Every point of every edge of `result` lies on one of the given edges.
pub(super) fn on_edges<'a>(
    source: impl Iterator<Item = &'a Segment>,
    result: &Region,
    budget: &Budget,
) -> Result<(), GeomError> {
    let tree = BoxTree::of_edges(source.copied());
    let one = |g: &Segment| {
        if within(&tree, g, TOL, 0) {
            Ok(())
        } else {
            Err(refuse(g.at(0.5), "an edge of the result is not in the input"))
        }
    };
    each_edge(result, one, budget)
}

/// No edge of the source is nearer to `g` than `d` minus the tolerance. Long edges are checked in pieces, whose
/// bounding boxes are tighter.
fn none_nearer(tree: &BoxTree<Segment>, g: &Segment, d: f64) -> Result<(), GeomError> {
    let limit = d - TOL;
    if limit <= 0.0 {
        return Ok(());
    }
    for piece in pieces(g, d / 3.0) {
        let nearer = tree.visit(piece.bounds(), limit, |_, e| {
            if between(&piece, e) < limit { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        if nearer.is_some() {
            return Err(refuse(piece.at(0.5), "an edge lies too near to the outline"));
        }
    }
    Ok(())
}

fn pieces(g: &Segment, longest: f64) -> Vec<Segment> {
    let most = if let Segment::Arc(a) = g { longest.min(a.radius * 0.5).max(SHORTEST_PIECE) } else { longest };
    // Bounded: 1e7 mm over a thousandth.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let n = (g.length() / most).ceil().clamp(1.0, 4096.0) as usize;
    #[allow(clippy::cast_precision_loss)]
    let at = |k: usize| k as f64 / n as f64;
    if n == 1 {
        return vec![*g];
    }
    let point = g.placed();
    (0..n).map(|k| g.between(point(at(k)), point(at(k + 1)))).collect()
}

/// Whether every point of `g` has a source edge within `reach`.
fn within(tree: &BoxTree<Segment>, g: &Segment, reach: f64, depth: u32) -> bool {
    let m = g.at(0.5);
    let Some(n) = tree.nearer(m, reach) else { return false };
    // The distance changes no faster than the point moves along the edge.
    if wholly_within(g, &n.edge, reach) || n.distance + g.length() / 2.0 <= reach {
        return true;
    }
    // Another edge may lie as near and be within reach of all of `g`; halving usually settles this sooner.
    if depth >= LOOK_ROUND && tree.any_within(m, reach, |_, e| wholly_within(g, e, reach)) {
        return true;
    }
    if depth > DEEPEST {
        return false;
    }
    let cut = if depth < FACING { facing_end(g, &n.edge) } else { None }.unwrap_or(m);
    within(tree, &g.between(g.start(), cut), reach, depth + 1)
        && within(tree, &g.between(cut, g.end()), reach, depth + 1)
}

/// The point of an arc that faces an end of the arc `e`. Beyond it another edge is nearest.
fn facing_end(g: &Segment, e: &Segment) -> Option<Point> {
    let (Segment::Arc(a), Segment::Arc(b)) = (g, e) else { return None };
    // Closer to its own end the cut would gain nothing.
    let least = a.radius * a.sweep() / 64.0;
    [b.start, b.end].into_iter().find_map(|end| {
        let v = end - b.center;
        let p = a.center + v * (a.radius / v.hypot());
        let off = (p - a.start).hypot().min((p - a.end).hypot());
        (a.spans(v) && off > least).then_some(p)
    })
}

/// Whether every point of `g` lies within `reach` of the edge `e`, in closed form: sufficient, not necessary.
fn wholly_within(g: &Segment, e: &Segment, reach: f64) -> bool {
    let ends = e.nearest(g.start()).0.max(e.nearest(g.end()).0);
    if ends > reach {
        return false;
    }
    match (g, e) {
        // The distance from a convex set is convex along a line.
        (Segment::Line(_), Segment::Line(_)) => true,
        // Around an end of the edge, or beside an arc with the same centre.
        (Segment::Arc(a), _) => {
            let round = |p: Point| (a.center - p).hypot() + a.radius <= reach;
            let parallel = match e {
                Segment::Arc(b) => {
                    (a.radius - b.radius).abs() + (a.center - b.center).hypot() <= reach && faces(a, b, reach)
                }
                Segment::Line(_) => false,
            };
            round(e.start()) || round(e.end()) || parallel
        }
        (Segment::Line(_), Segment::Arc(_)) => false,
    }
}

/// Whether every point of the arc `a` faces the arc `b`, or lies within `reach` of the end that `a` extends beyond.
/// The distance from that end grows monotonically towards the end of `a`.
fn faces(a: &Arc, b: &Arc, reach: f64) -> bool {
    let (sweep, gap) = (a.sweep(), TAU - b.sweep());
    // The rest of the circle must not fit between two tested points, which are a quarter of the sweep apart. With such
    // close centres that quarter is less than a third of the sweep as seen from the centre of `b`.
    let near = (a.center - b.center).hypot() <= a.radius / 8.0;
    let seen = b.start == b.end || (near && gap >= sweep / 3.0);
    if !seen || (sweep >= NEARLY_HALF && b.sweep() <= sweep) {
        return false;
    }
    let whole = Segment::Arc(*a);
    let at = whole.placed();
    let spanned = |p: Point| b.spans(p - b.center);
    let (first, last) = if a.ccw == b.ccw { (b.start, b.end) } else { (b.end, b.start) };
    let runs_out = |p: Point, end: Point| spanned(p) || (p - end).hypot() <= reach;
    [0.25, 0.5, 0.75].iter().all(|&t| spanned(at(t))) && runs_out(a.start, first) && runs_out(a.end, last)
}

/// `g` runs the right way round, as its middle `m` and the nearest edge show: outside is to the right of every edge.
/// The side of a whole ring is tested by [`beside`].
fn right_side(m: Point, nearest: Option<Nearest>, g: &Segment, d: f64) -> Result<(), GeomError> {
    let Some(nearest) = nearest else { return Ok(()) };
    let from_source = m - nearest.at;
    let h = from_source.hypot();
    if h < TOL || g.length() < TOL {
        return Ok(());
    }
    // Grown: the outward normal of the result points away from the source. Shrunk: towards it.
    let side = right(g.tangent_at(m)).dot(from_source) * d.signum();
    if side <= 0.0 {
        return Err(refuse(m, "an edge runs the wrong way round"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::trig::unit;

    fn arc(radius: f64, from: f64, sweep: f64) -> Segment {
        let at = |angle: f64| Point::ORIGIN + unit(angle) * radius;
        let (start, end) = (at(from), at(from + sweep));
        Segment::Arc(Arc { start, end, center: Point::ORIGIN, radius, ccw: true })
    }

    #[test]
    fn an_arc_beside_an_arc() {
        let (long, reach) = (arc(10.0, 0.0, 2.0), 1.0 + TOL);
        for (from, sweep, near) in
            [(0.0, 2.0, true), (0.5, 1.0, true), (-1e-3, 2.0, true), (-0.3, 2.0, false), (0.5, 2.0, false)]
        {
            let g = arc(11.0, from, sweep);
            assert_eq!(wholly_within(&g, &long, reach), near, "{from} {sweep}");
            assert_eq!(wholly_within(&g.reversed(), &long, reach), near, "{from} {sweep}, the other way");
        }
        // A full circle except for a gap of 0.3 radians: it is noticed wherever it lies.
        let open = arc(10.0, 0.0, TAU - 0.3);
        for i in 0..60 {
            let from = f64::from(i) * 0.1;
            for sweep in [0.2, 1.0, 2.9] {
                let over = from + sweep > TAU - 0.3 + 0.05;
                assert!(!(over && wholly_within(&arc(11.0, from, sweep), &open, reach)), "{from} {sweep}");
            }
        }
    }

    /// Three quarters of a circle and more: no half of a full circle beside it is within reach, wherever the gap lies.
    #[test]
    fn a_gap_between_the_points_that_are_looked_at_is_seen() {
        for k in 0..64 {
            let from = f64::from(k) * TAU / 64.0;
            for gap in [TAU / 16.0, TAU / 8.0, TAU / 6.0] {
                let open = arc(10.0, from, TAU - gap);
                let inside = |half: f64| {
                    (0..=200).any(|i| {
                        let angle = half + f64::from(i) / 200.0 * TAU / 2.0;
                        open.nearest(Point::ORIGIN + unit(angle) * 11.0).0 > 1.0 + 2.0 * TOL
                    })
                };
                for half in [0.0, TAU / 2.0] {
                    let near = wholly_within(&arc(11.0, half, TAU / 2.0), &open, 1.0 + TOL);
                    assert!(!(near && inside(half)), "{from} {gap} {half}");
                }
            }
        }
    }

    #[test]
    fn a_cut_faces_the_end_of_the_edge() {
        let cut = facing_end(&arc(11.0, -0.5, 2.0), &arc(10.0, 0.0, 2.0)).unwrap();
        assert!((cut - Point::new(11.0, 0.0)).hypot() < 1e-12, "{cut:?}");
        assert!(facing_end(&arc(11.0, 1e-6, 1.0), &arc(10.0, 0.0, 2.0)).is_none());
    }
}
