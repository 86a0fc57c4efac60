//! Removes tails: edges that run out and back along themselves and enclose no area.
//!
//! Drawings contain them, and so do differences of regions that share an edge. A region may have no doubled edge. In:
//! the edges of a ring. Out: the edges without tails. The caller certifies the result.

use crate::geom::shape::{Arc, Segment};
use crate::tolerance::{FOLDED_BACK, SAME_EDGE};
use kurbo::Point;

pub(in crate::geom) fn without_tails(mut edges: Vec<Segment>) -> Vec<Segment> {
    let mut i = 0;
    let mut unchanged = 0;
    while edges.len() > 2 && unchanged < edges.len() {
        let n = edges.len();
        let (a, b) = (edges[i % n], edges[(i + 1) % n]);
        let Some(rest) = folded(&a, &b) else {
            i += 1;
            unchanged += 1;
            continue;
        };
        unchanged = 0;
        let (p, q) = (i % n, (i + 1) % n);
        edges[p] = rest.unwrap_or(a);
        edges.remove(q);
        i = if q < p { p - 1 } else { p };
        if rest.is_none() {
            let gone = edges.remove(i % edges.len());
            // The next edge may start up to [`SAME_EDGE`] off the end of the previous one.
            let next = i % edges.len();
            edges[next] = starting_at(&edges[next], gone.start());
        }
        // The edge before may run back along its new neighbour.
        i = (i + edges.len() - 1) % edges.len();
    }
    edges
}

/// If `b` runs back along `a`: the rest of the longer edge, or `Some(None)` if nothing remains. Otherwise `None`.
fn folded(a: &Segment, b: &Segment) -> Option<Option<Segment>> {
    if a.tangent_at_end().dot(b.tangent_at_start()) > FOLDED_BACK {
        return None;
    }
    let a_longer = a.length() >= b.length();
    let (long, short) = if a_longer { (a, b) } else { (b, a) };
    if [0.0, 0.5, 1.0].iter().any(|&t| long.nearest(short.at(t)).0 > SAME_EDGE) {
        return None;
    }
    let rest = if a_longer { ending_at(a, b.end()) } else { ending_at(&b.reversed(), a.start()).reversed() };
    // An arc cut just behind its start would become nearly a full circle, and longer than before.
    Some((rest.length() > SAME_EDGE && rest.length() < long.length()).then_some(rest))
}

fn ending_at(s: &Segment, end: Point) -> Segment {
    match *s {
        Segment::Line(l) => Segment::line(l.start, end),
        // The other edge's end may lie up to [`SAME_EDGE`] off this circle.
        Segment::Arc(a) => {
            let cut = Arc { end, ..a };
            Segment::Arc(cut.through_its_ends(cut.sweep()))
        }
    }
}

fn starting_at(s: &Segment, start: Point) -> Segment {
    ending_at(&s.reversed(), start).reversed()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;

    /// A tail that returns to a point slightly off its start: the rest of the ring closes.
    #[test]
    fn a_ring_without_its_tail_closes() {
        let p = Point::new;
        let corners =
            [p(0.0, 0.0), p(9.0, 0.0), p(9.0, 9.0), p(4.0, 9.0), p(4.0, 15.0), p(4.0, 9.000_006), p(0.0, 9.0)];
        let left = without_tails(Ring::polygon(&corners).segments);
        assert_eq!(left.len(), 5, "{left:?}");
        for (i, s) in left.iter().enumerate() {
            assert_eq!(s.end(), left[(i + 1) % left.len()].start(), "{left:?}");
        }
    }

    /// An arc that returns to a point slightly off its circle: both ends of the rest lie on the circle of the rest.
    #[test]
    fn the_rest_of_an_arc_has_its_ends_on_its_circle() {
        let ring = Ring::circle(Point::ORIGIN, 10.0);
        let Segment::Arc(half) = ring.segments[0] else { panic!("a circle has arcs") };
        let quarter = Segment::Arc(half).part(0.0, 0.5);
        let (from, to) = (quarter.start(), quarter.at(0.4) + kurbo::Vec2::new(4e-6, 4e-6));
        let Segment::Arc(a) = quarter else { panic!("a part of an arc is one") };
        let back = Segment::Arc(Arc { start: a.end, end: to, ccw: !a.ccw, ..a }.through_its_ends(0.9));
        let aside = Segment::line(to, Point::new(30.0, 30.0));
        let home = Segment::line(Point::new(30.0, 30.0), from);
        let left = without_tails(vec![quarter, back, aside, home]);
        assert_eq!(left.len(), 3, "{left:?}");
        let Segment::Arc(rest) = left[0] else { panic!("{left:?}") };
        for p in [rest.start, rest.end] {
            assert!(((p - rest.center).hypot() - rest.radius).abs() < 1e-9, "{rest:?}");
        }
        assert!((rest.center - Point::ORIGIN).hypot() < 1e-4 && rest.end == to, "{rest:?}");
    }
}
