//! Closed rings, finite numbers, true arcs, and no doubled edge.

use super::refuse;
use crate::geom::index::BoxTree;
use crate::geom::shape::{GeomError, Region, Segment};
use crate::threads::first_of;
use crate::tolerance::{ON_CIRCLE, TWICE, TWICE_SHARE};

/// Fractions of the length, beside the middle, at which an edge is tested.
const ASIDE: [f64; 2] = [0.49, 0.51];

pub(super) fn check(result: &Region) -> Result<(), GeomError> {
    check_rings(result)?;
    no_edge_twice(result)
}

pub(super) fn check_rings(result: &Region) -> Result<(), GeomError> {
    for ring in &result.rings {
        let n = ring.segments.len();
        let first = ring.segments.first().ok_or(GeomError::NotARegion("a ring has no edges"))?;
        if n < 2 {
            return Err(refuse(first.start(), "a ring has only one edge"));
        }
        for (i, s) in ring.segments.iter().enumerate() {
            if !s.is_finite() {
                return Err(GeomError::NotFinite);
            }
            if s.end() != ring.segments[(i + 1) % n].start() {
                return Err(refuse(s.end(), "a ring does not close"));
            }
            if s.start() == s.end() {
                return Err(refuse(s.end(), "an edge has no length"));
            }
            if let Segment::Arc(a) = s {
                let off = |p: kurbo::Point| ((p - a.center).hypot() - a.radius).abs();
                if off(a.start).max(off(a.end)) > ON_CIRCLE || a.radius <= 0.0 {
                    return Err(refuse(a.start, "the ends of an arc are not on its circle"));
                }
            }
        }
    }
    Ok(())
}

fn no_edge_twice(result: &Region) -> Result<(), GeomError> {
    let all: Vec<&Segment> = result.segments().collect();
    let tree = BoxTree::of_edges(result.segments().copied());
    let twice = |i: usize, s: &&Segment| {
        // At a cusp neighbours are tangent, so test away from the ends.
        let touch = TWICE.min(s.length() * TWICE_SHARE);
        let on = |t: f64| -> Vec<usize> {
            let m = s.at(t);
            let mut others = Vec::new();
            tree.any_within(m, touch, |j, _| {
                if j != i {
                    others.push(j);
                }
                false
            });
            others
        };
        // Where a corner of another ring only touches this edge, the contact is a point, not a stretch.
        let middle = on(0.5);
        let there = !middle.is_empty() && ASIDE.iter().flat_map(|&t| on(t)).any(|j| middle.contains(&j));
        there.then(|| refuse(s.at(0.5), "an edge is doubled"))
    };
    first_of(&all, twice).map_or(Ok(()), Err)
}
