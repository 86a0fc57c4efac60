//! Nearest-edge queries: how far points and regions lie from the edges of a region.
//!
//! In: a region, mm. Out: distances to its exact edges (lines and arcs, not chords), through a tree of boxes, accurate
//! to rounding. No errors; an empty region has no nearest edge.

use super::{BoxTree, Nearest};
use crate::geom::shape::distance::{between, nearest_place};
use crate::geom::shape::trig::left;
use crate::geom::shape::{Point, Region, Ring, Segment, Vec2};
use crate::tolerance::{AT_CORNER, ROUNDING};
use std::ops::ControlFlow;

/// The edges of a region, indexed for nearest-edge queries.
pub struct EdgeIndex {
    tree: BoxTree<Segment>,
    neighbours: Vec<Neighbours>,
}

/// The tangents of the adjacent edges where they meet an edge.
struct Neighbours {
    /// Unit tangent of the previous edge, at this edge's start.
    before: Vec2,
    /// Unit tangent of the next edge, at this edge's end.
    after: Vec2,
}

/// The answer of a query.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// mm, never negative.
    pub distance: f64,
    /// Nearest point on the edges.
    pub at: Point,
    /// Whether the query point lies on the material's side of that edge.
    pub inside: bool,
}

impl EdgeIndex {
    #[must_use]
    pub fn new(region: &Region) -> EdgeIndex {
        let neighbours = region.rings.iter().flat_map(neighbours).collect();
        EdgeIndex { tree: BoxTree::of_edges(region.segments().copied()), neighbours }
    }

    /// The nearest edge to `p`, and the side of it on which `p` lies; `None` for a region without edges.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Option<Near> {
        Some(self.near(p, &self.tree.nearest(p)?))
    }

    fn near(&self, p: Point, n: &Nearest) -> Near {
        Near { distance: n.distance, at: n.at, inside: self.neighbours[n.index].is_left(&n.edge, p, n.at) }
    }

    /// For a sequence of points, each near the previous one: the same answers, faster.
    #[must_use]
    pub fn walk(&self) -> EdgeWalk<'_> {
        EdgeWalk { index: self, last: None }
    }

    /// The nearest point of the edges, if they lie nearer to `p` than `most` mm.
    #[must_use]
    pub fn nearer(&self, p: Point, most: f64) -> Option<Point> {
        self.tree.nearer(p, most).map(|n| n.at)
    }
}

/// Queries an [`EdgeIndex`] along a line.
pub struct EdgeWalk<'a> {
    index: &'a EdgeIndex,
    /// The previous point, and its distance from the edges.
    last: Option<(Point, f64)>,
}

impl EdgeWalk<'_> {
    /// As [`EdgeIndex::nearest`].
    pub fn nearest(&mut self, p: Point) -> Option<Near> {
        Some(self.nearest_edge(p)?.0)
    }

    /// The same with the edge itself.
    pub fn nearest_edge(&mut self, p: Point) -> Option<(Near, Segment)> {
        // The distance changes no faster than the point moves.
        let most = self.last.map_or(f64::INFINITY, |(q, d)| (d + (p - q).hypot()) * (1.0 + ROUNDING) + ROUNDING);
        let n = self.index.tree.nearer(p, most)?;
        self.last = Some((p, n.distance));
        Some((self.index.near(p, &n), n.edge))
    }
}

impl Neighbours {
    /// Whether `p`, nearest to `edge` at `q`, lies to its left: on the side of the material.
    fn is_left(&self, edge: &Segment, p: Point, q: Point) -> bool {
        let v = p - q;
        let side = |t: Vec2| t.cross(v) >= 0.0;
        // At a corner both edges decide: inside a convex corner means left of both, inside a concave one left of
        // either.
        let corner = |a: Vec2, b: Vec2| if a.cross(b) >= 0.0 { side(a) && side(b) } else { side(a) || side(b) };
        if (q - edge.start()).hypot() < AT_CORNER {
            return corner(self.before, edge.tangent_at_start());
        }
        if (q - edge.end()).hypot() < AT_CORNER {
            return corner(edge.tangent_at_end(), self.after);
        }
        match edge {
            Segment::Line(l) => side(l.end - l.start),
            Segment::Arc(a) => side(if a.ccw { left(q - a.center) } else { -left(q - a.center) }),
        }
    }
}

fn neighbours(ring: &Ring) -> Vec<Neighbours> {
    let s = &ring.segments;
    let n = s.len();
    let neighbour = |i: usize, step: usize| &s[(i + step) % n];
    (0..n)
        .map(|i| Neighbours { before: neighbour(i, n - 1).tangent_at_end(), after: neighbour(i, 1).tangent_at_start() })
        .collect()
}

/// Points along all edges of `region`: the start of each edge, its middle, and points between. Neighbours are no
/// farther apart than `step` mm. The end of an edge is the start of the next.
pub fn sampled(region: &Region, step: f64) -> impl Iterator<Item = Point> {
    region.segments().flat_map(move |s| {
        let n = pieces(s, step);
        let at = s.placed();
        (0..n).map(move |i| at(f64::from(i) / f64::from(n)))
    })
}

fn pieces(s: &Segment, step: f64) -> u32 {
    // An even number, so that the middle is one of the points.
    2 * (s.length() / (2.0 * step)).ceil().clamp(1.0, 32_768.0) as u32
}

/// Minimum distance between the edges of `a` and those of `b`, mm, if it is less than `most`. Also its place on `a`,
/// within a thousandth of the edge there.
#[must_use]
pub fn least_distance(a: &Region, b: &Region, most: f64) -> Option<(f64, Point)> {
    let tree = BoxTree::of_edges(b.segments().copied());
    let mut best: Option<(f64, usize, usize, Segment, Segment)> = None;
    for (i, s) in a.segments().enumerate() {
        let reach = best.map_or(most, |b| b.0);
        let _: Option<()> = tree.visit(s.bounds(), reach, |k, e| {
            let d = between(s, e);
            // Of equal pairs the first wins, so the order of the visits does not matter.
            if d < most && best.is_none_or(|b| (d, i, k) < (b.0, b.1, b.2)) {
                best = Some((d, i, k, *s, *e));
            }
            ControlFlow::Continue(())
        });
    }
    best.map(|(d, .., s, e)| (d, nearest_place(&s, &e)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        let p = |x, y| Point::new(x, y);
        Region::new(vec![Ring::polygon(&[p(x0, y0), p(x1, y0), p(x1, y1), p(x0, y1)])])
    }

    #[test]
    fn tells_inside_from_outside_at_edges_and_corners() {
        let index = EdgeIndex::new(&rect(0.0, 0.0, 10.0, 10.0));
        for (x, y, d, inside) in [(5.0, 1.0, 1.0, true), (5.0, -1.0, 1.0, false), (-3.0, -4.0, 5.0, false)] {
            let n = index.nearest(Point::new(x, y)).unwrap();
            assert!((n.distance - d).abs() < 1e-12 && n.inside == inside, "{x} {y}: {n:?}");
        }
    }

    #[test]
    fn tells_the_side_at_a_corner_that_points_inwards() {
        // An L: the corner at (5, 5) is concave, so everything left of either edge is inside.
        let p = Point::new;
        let l = Region::new(vec![Ring::polygon(&[
            p(0.0, 0.0),
            p(10.0, 0.0),
            p(10.0, 5.0),
            p(5.0, 5.0),
            p(5.0, 10.0),
            p(0.0, 10.0),
        ])]);
        let index = EdgeIndex::new(&l);
        assert!(index.nearest(p(4.5, 4.5)).unwrap().inside);
        assert!(!index.nearest(p(5.5, 5.5)).unwrap().inside);
    }

    #[test]
    fn finds_the_least_distance_between_edges() {
        let circle = Region::new(vec![Ring::circle(Point::new(20.0, 3.3), 4.0)]);
        let (d, at) = least_distance(&circle, &rect(0.0, 0.0, 10.0, 10.0), 7.0).unwrap();
        assert!((d - 6.0).abs() < 1e-9, "{d}");
        assert!((at - Point::new(16.0, 3.3)).hypot() < 1e-4, "{at:?}");
        assert!(least_distance(&circle, &rect(0.0, 0.0, 10.0, 10.0), 5.9).is_none());
        assert!(least_distance(&circle, &rect(0.0, 0.0, 17.0, 10.0), 1.0).unwrap().0 == 0.0);
        assert!(least_distance(&circle, &Region::default(), 1e9).is_none());
    }
}
