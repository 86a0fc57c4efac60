//! Tails of no width: an edge out, and back along itself.
//!
//! Drawings have them, and differences of regions that share an edge. They enclose nothing, but an edge that is there
//! twice is no edge of a region. In: the edges of a ring. Out: the same without tails. What is left is certified by
//! whoever asked.

use super::{Arc, Segment};
use kurbo::Point;

/// Edges this near to each other are one, mm: some steps of the grid and what tangent ends are out by.
const SAME_EDGE: f64 = 1e-5;

/// The edges of a ring without tails of no width.
pub(super) fn without_tails(mut edges: Vec<Segment>) -> Vec<Segment> {
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
            let i = i % edges.len();
            edges.remove(i);
        }
        // What comes before the cut may fold onto it now.
        i = (i + edges.len() - 1) % edges.len();
    }
    edges
}

/// Of an edge and the next that runs back along it, what is left of the longer; `None` inside where nothing is.
fn folded(a: &Segment, b: &Segment) -> Option<Option<Segment>> {
    if a.tangent_at_end().dot(b.tangent_at_start()) > -0.99 {
        return None;
    }
    let a_longer = a.length() >= b.length();
    let (long, short) = if a_longer { (a, b) } else { (b, a) };
    if [0.0, 0.5, 1.0].iter().any(|&t| long.nearest(short.at(t)).0 > SAME_EDGE) {
        return None;
    }
    let rest = if a_longer { ending_at(a, b.end()) } else { ending_at(&b.reversed(), a.start()).reversed() };
    Some((rest.length() > SAME_EDGE).then_some(rest))
}

fn ending_at(s: &Segment, end: Point) -> Segment {
    match *s {
        Segment::Line(l) => Segment::line(l.start, end),
        Segment::Arc(a) => Segment::Arc(Arc { end, ..a }),
    }
}
