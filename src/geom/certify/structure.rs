//! Closed, finite, true, and no edge there twice.

use super::refuse;
use crate::geom::{GeomError, Region, Segment};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

/// Ends of an arc lie on its circle within this, mm.
const ON_CIRCLE: f64 = 1e-6;
/// The middle of an edge lying this near to another edge means that the edge is there twice, mm. Walls between limbs
/// kept by the slack are a thousand times as wide.
const TWICE: f64 = 1e-6;

pub(super) fn check(result: &Region) -> Result<(), GeomError> {
    check_rings(result)?;
    no_edge_twice(result)
}

pub(super) fn check_rings(result: &Region) -> Result<(), GeomError> {
    for ring in &result.rings {
        let n = ring.segments.len();
        let first = ring.segments.first().ok_or(GeomError::NotARegion("a ring without edges"))?;
        if n < 2 {
            return Err(refuse(first.start(), "a ring of one edge"));
        }
        for (i, s) in ring.segments.iter().enumerate() {
            if !s.is_finite() {
                return Err(GeomError::NotFinite);
            }
            if s.end() != ring.segments[(i + 1) % n].start() {
                return Err(refuse(s.end(), "a ring does not close"));
            }
            if s.start() == s.end() {
                return Err(refuse(s.end(), "an edge without length"));
            }
            if let Segment::Arc(a) = s {
                let off = |p: kurbo::Point| ((p - a.center).hypot() - a.radius).abs();
                if off(a.start).max(off(a.end)) > ON_CIRCLE || a.radius <= 0.0 {
                    return Err(refuse(a.start, "an arc whose ends are not on its circle"));
                }
            }
        }
    }
    Ok(())
}

fn no_edge_twice(result: &Region) -> Result<(), GeomError> {
    type Item = GeomWithData<rstar::primitives::Rectangle<[f64; 2]>, usize>;
    let all: Vec<&Segment> = result.segments().collect();
    let boxes = all.iter().enumerate().map(|(i, s)| {
        let b = s.bounds();
        Item::new(AABB::from_corners([b.x0, b.y0], [b.x1, b.y1]).into(), i)
    });
    let tree = RTree::bulk_load(boxes.collect());
    for (i, s) in all.iter().enumerate() {
        let m = s.at(0.5);
        // Cusps: neighbours are tangent to each other, but the middle of an edge has left its neighbour by then.
        let touch = TWICE.min(s.length() * 1e-3);
        let near = AABB::from_corners([m.x - touch, m.y - touch], [m.x + touch, m.y + touch]);
        for item in tree.locate_in_envelope_intersecting(near) {
            if item.data != i && all[item.data].nearest(m).0 < touch {
                return Err(refuse(m, "an edge is there twice"));
            }
        }
    }
    Ok(())
}
