//! A packed tree of bounding boxes, built once, for nearest-edge queries without a heap.
//!
//! In: edges, mm. Out: indices of edges, in their input order. Boxes are sorted along a Hilbert curve and packed eight
//! to a node (after Kamel and Faloutsos, "On packing R-trees", 1993). A query goes depth first, nearest box first, so
//! that the first edges found bound the rest. Of equally near edges the one with the lowest index is returned,
//! whatever the internal order. Distances are to the exact edges, lines and arcs. No errors.

use super::{Point, Rect, Segment};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::ops::ControlFlow;

/// Boxes per node: fewer make the tree deeper, more make each visit longer.
const FAN: usize = 8;
/// Cells per side of the grid for the Hilbert order, as a power of two.
const ORDER: u32 = 16;
/// Capacity of the stack: seven siblings per level.
const DEEP: usize = 8 * FAN;

/// Edges indexed for queries.
#[derive(Clone, Debug)]
pub(super) struct Packed {
    /// In the order of the leaves.
    edges: Vec<Segment>,
    /// The input index of each of them.
    given: Vec<u32>,
    /// From the boxes of the edges up to a single box.
    levels: Vec<Vec<Rect>>,
}

/// An edge and its distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Nearest {
    /// The input index.
    pub index: usize,
    pub edge: Segment,
    /// mm.
    pub distance: f64,
    /// Its point nearest to the query point.
    pub at: Point,
}

impl Packed {
    pub(super) fn new(edges: impl IntoIterator<Item = Segment>) -> Packed {
        let edges: Vec<Segment> = edges.into_iter().collect();
        let boxes: Vec<Rect> = edges.iter().map(Segment::bounds).collect();
        #[allow(clippy::cast_possible_truncation)]
        let given: Vec<u32> = along_hilbert(&boxes).into_iter().map(|i| i as u32).collect();
        let mut levels = vec![given.iter().map(|&i| boxes[i as usize]).collect::<Vec<_>>()];
        while levels[levels.len() - 1].len() > 1 {
            let below = &levels[levels.len() - 1];
            let above = below.chunks(FAN).filter_map(|c| c.iter().copied().reduce(|a, b| a.union(b))).collect();
            levels.push(above);
        }
        Packed { edges: given.iter().map(|&i| edges[i as usize]).collect(), given, levels }
    }

    /// The edge nearest to `p`; `None` if there are no edges.
    pub(super) fn nearest(&self, p: Point) -> Option<Nearest> {
        self.nearer(p, f64::INFINITY)
    }

    /// The edge nearest to `p` among those nearer than `most` mm.
    pub(super) fn nearer(&self, p: Point, most: f64) -> Option<Nearest> {
        let mut best: Option<(f64, u32, usize, Point)> = None;
        let mut limit = most * most;
        let mut stack = [(0.0f64, 0u32, 0u32); DEEP];
        let mut depth = 0;
        let top = self.levels.len() - 1;
        if !self.levels[top].is_empty() {
            #[allow(clippy::cast_possible_truncation)]
            let root = (apart(p, &self.levels[top][0]), top as u32, 0);
            stack[0] = root;
            depth = 1;
        }
        while depth > 0 {
            depth -= 1;
            let (off, level, node) = stack[depth];
            if off > limit {
                continue;
            }
            if level == 0 {
                let leaf = node as usize;
                let (distance, at) = self.edges[leaf].nearest(p);
                let given = self.given[leaf];
                let better = best.is_none_or(|b| (distance, given) < (b.0, b.1)) && distance < most;
                if better {
                    best = Some((distance, given, leaf, at));
                    // A margin for rounding between a box and its edge.
                    limit = distance * distance * (1.0 + 1e-12);
                }
                continue;
            }
            let from = depth;
            let below = &self.levels[level as usize - 1];
            let first = node as usize * FAN;
            for (k, b) in below.iter().enumerate().skip(first).take(FAN) {
                let off = apart(p, b);
                if off <= limit {
                    // The nearest last, so that it is popped first.
                    let mut at = depth;
                    while at > from && stack[at - 1].0 < off {
                        stack[at] = stack[at - 1];
                        at -= 1;
                    }
                    #[allow(clippy::cast_possible_truncation)]
                    let child = (off, level - 1, k as u32);
                    stack[at] = child;
                    depth += 1;
                }
            }
        }
        best.map(|(distance, given, leaf, at)| Nearest { index: given as usize, edge: self.edges[leaf], distance, at })
    }

    /// Visits the edges whose boxes come within `by` mm of `around`, in no fixed order, until `visit` breaks.
    pub(super) fn near<B>(
        &self,
        around: Rect,
        by: f64,
        mut visit: impl FnMut(usize, &Segment) -> ControlFlow<B>,
    ) -> Option<B> {
        let limit = by * by;
        let top = self.levels.len() - 1;
        let mut stack = [(0u32, 0u32); DEEP];
        let mut depth = usize::from(!self.levels[top].is_empty());
        #[allow(clippy::cast_possible_truncation)]
        let root = (top as u32, 0);
        stack[0] = root;
        while depth > 0 {
            depth -= 1;
            let (level, node) = stack[depth];
            let boxes = &self.levels[level as usize];
            if between(&around, &boxes[node as usize]) > limit {
                continue;
            }
            if level == 0 {
                let leaf = node as usize;
                if let ControlFlow::Break(b) = visit(self.given[leaf] as usize, &self.edges[leaf]) {
                    return Some(b);
                }
                continue;
            }
            let below = &self.levels[level as usize - 1];
            let first = node as usize * FAN;
            for (k, b) in below.iter().enumerate().skip(first).take(FAN) {
                if between(&around, b) <= limit {
                    #[allow(clippy::cast_possible_truncation)]
                    let child = (level - 1, k as u32);
                    stack[depth] = child;
                    depth += 1;
                }
            }
        }
        None
    }

    /// Whether an edge within `by` mm of `p` satisfies `holds`.
    pub(super) fn any_within(&self, p: Point, by: f64, mut holds: impl FnMut(usize, &Segment) -> bool) -> bool {
        let found = self.near(Rect::from_points(p, p), by, |i, s| {
            let yes = s.nearest(p).0 <= by && holds(i, s);
            if yes { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        found.is_some()
    }
}

/// Squared distance of a point from a box.
fn apart(p: Point, b: &Rect) -> f64 {
    let x = (b.x0 - p.x).max(p.x - b.x1).max(0.0);
    let y = (b.y0 - p.y).max(p.y - b.y1).max(0.0);
    x * x + y * y
}

/// Squared distance between two boxes.
fn between(a: &Rect, b: &Rect) -> f64 {
    let x = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
    let y = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
    x * x + y * y
}

/// Indices of the boxes in the order of their centres along a Hilbert curve: neighbours usually follow each other.
#[must_use]
pub fn along_hilbert(boxes: &[Rect]) -> Vec<usize> {
    let all = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or_default();
    let mut keyed: Vec<(u64, usize)> = boxes.iter().map(|b| hilbert(b.center(), all)).zip(0..).collect();
    keyed.sort_unstable();
    keyed.into_iter().map(|k| k.1).collect()
}

/// The pairs of overlapping boxes, lower index first, sorted; found through a tree. `None` entries have no pairs.
#[must_use]
pub fn overlapping(boxes: &[Option<Rect>]) -> Vec<(usize, usize)> {
    let boxed = |(i, b): (usize, &Option<Rect>)| {
        let b = (*b)?;
        Some(GeomWithData::new(Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]), i))
    };
    let tree = RTree::bulk_load(boxes.iter().enumerate().filter_map(boxed).collect());
    let mut pairs = Vec::new();
    for (i, b) in boxes.iter().enumerate() {
        let Some(b) = b else { continue };
        let near = tree.locate_in_envelope_intersecting(AABB::from_corners([b.x0, b.y0], [b.x1, b.y1]));
        let others = near.map(|o| o.data).filter(|&j| j > i && boxes[j].is_some_and(|o| b.overlaps(o)));
        pairs.extend(others.map(|j| (i, j)));
    }
    pairs.sort_unstable();
    pairs
}

/// Position of a point along the Hilbert curve that fills `all`.
fn hilbert(p: Point, all: Rect) -> u64 {
    let side = all.width().max(all.height());
    let cells = f64::from(1u32 << ORDER) - 1.0;
    // Clamped. Without any extent all points are in one cell.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let cell = |v: f64| if side > 0.0 { (v / side * cells).clamp(0.0, cells) as u32 } else { 0 };
    let (mut x, mut y) = (cell(p.x - all.x0), cell(p.y - all.y0));
    let mut along = 0u64;
    let mut s = 1u32 << (ORDER - 1);
    while s > 0 {
        let (rx, ry) = (u32::from(x & s > 0), u32::from(y & s > 0));
        along += u64::from(s) * u64::from(s) * u64::from((3 * rx) ^ ry);
        if ry == 0 {
            if rx == 1 {
                (x, y) = ((1 << ORDER) - 1 - x, (1 << ORDER) - 1 - y);
            }
            std::mem::swap(&mut x, &mut y);
        }
        s >>= 1;
    }
    along
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Arc;
    use proptest::prelude::*;

    fn edges(seeds: &[(f64, f64, f64, f64, f64)]) -> Vec<Segment> {
        let edge = |&(x, y, dx, dy, bulge): &(f64, f64, f64, f64, f64)| {
            let (a, b) = (Point::new(x, y), Point::new(x + dx, y + dy));
            Arc::from_bulge(a, b, bulge).map_or(Segment::line(a, b), Segment::Arc)
        };
        seeds.iter().map(edge).collect()
    }

    proptest! {
        /// Compared with a linear search.
        #[test]
        fn the_nearest_is_the_nearest(
            seeds in prop::collection::vec((-50.0..50.0f64, -50.0..50.0f64, -9.0..9.0f64, -9.0..9.0f64, -1.0..1.0f64), 1..300),
            x in -80.0..80.0f64, y in -80.0..80.0f64, most in 0.0..40.0f64,
        ) {
            let (edges, p) = (edges(&seeds), Point::new(x, y));
            let tree = Packed::new(edges.iter().copied());
            let all = || edges.iter().map(|s| s.nearest(p).0).enumerate();
            let least = all().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
            let found = tree.nearest(p).unwrap();
            prop_assert_eq!((found.index, found.distance), least);
            prop_assert_eq!(tree.nearer(p, most).map(|n| n.index), (least.1 < most).then_some(least.0));
            let mut near: Vec<usize> = Vec::new();
            tree.any_within(p, most, |i, _| { near.push(i); false });
            near.sort_unstable();
            prop_assert_eq!(near, all().filter(|e| e.1 <= most).map(|e| e.0).collect::<Vec<_>>());
        }
    }

    proptest! {
        /// Compared with a test of each pair.
        #[test]
        fn boxes_that_overlap_are_found(
            seeds in prop::collection::vec((-50.0..50.0f64, -50.0..50.0f64, 0.0..20.0f64, 0.0..20.0f64), 0..60),
        ) {
            let boxes: Vec<Option<Rect>> =
                seeds.iter().map(|&(x, y, w, h)| (w > 0.5).then(|| Rect::new(x, y, x + w, y + h))).collect();
            let all = (0..boxes.len()).flat_map(|i| (i + 1..boxes.len()).map(move |j| (i, j)));
            let both = |&(i, j): &(usize, usize)| boxes[i].zip(boxes[j]).is_some_and(|(a, b)| a.overlaps(b));
            prop_assert_eq!(overlapping(&boxes), all.filter(both).collect::<Vec<_>>());
        }
    }

    #[test]
    fn of_equals_the_first_given() {
        let edge = Segment::line(Point::new(0.0, 0.0), Point::new(1.0, 0.0));
        let tree = Packed::new((0..100).map(|_| edge));
        assert_eq!(tree.nearest(Point::new(0.5, 3.0)).unwrap().index, 0);
        assert!(Packed::new([]).nearest(Point::ZERO).is_none());
        assert!(!Packed::new([]).any_within(Point::ZERO, 1e9, |_, _| true));
    }
}
