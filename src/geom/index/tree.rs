//! A packed tree of bounding boxes, built once.
//!
//! In: items with their boxes, mm. Out: the items whose boxes meet a box, or the items nearest to a point. Boxes are
//! sorted along a Hilbert curve and packed eight to a node (after Kamel and Faloutsos, "On packing R-trees", 1993).
//! Equally near items come in the order in which they were given, whatever the internal order. No errors.

use super::hilbert::along_hilbert;
use crate::geom::shape::{Point, Rect, Segment};
use crate::tolerance::ROUNDING_SHARE;
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;
use std::ops::ControlFlow;

/// Boxes per node: fewer make the tree deeper, more make each visit longer.
pub(super) const FAN: usize = 8;
/// Capacity of the stack: seven siblings per level.
const DEEP: usize = 8 * FAN;

/// Items indexed by their boxes.
#[derive(Clone, Debug)]
pub struct BoxTree<T> {
    /// In the order of the leaves.
    items: Vec<T>,
    /// The number of each of them, as given, from 0.
    pub(super) given: Vec<u32>,
    /// From the boxes of the items up to a single box.
    pub(super) levels: Vec<Vec<Rect>>,
}

impl<T> BoxTree<T> {
    #[must_use]
    pub fn new(items: impl IntoIterator<Item = (Rect, T)>) -> BoxTree<T> {
        let (boxes, items): (Vec<Rect>, Vec<T>) = items.into_iter().unzip();
        let order = along_hilbert(&boxes);
        let mut items: Vec<Option<T>> = items.into_iter().map(Some).collect();
        let sorted = order.iter().filter_map(|&i| items[i].take()).collect();
        #[allow(clippy::cast_possible_truncation)]
        let given = order.iter().map(|&i| i as u32).collect();
        BoxTree::packed(sorted, given, order.iter().map(|&i| boxes[i]).collect())
    }

    /// The same for items that follow each other closely, such as the edges of a ring. They are packed as given, which
    /// saves the sorting.
    #[must_use]
    pub(super) fn in_order(items: Vec<T>, bounds: impl Fn(&T) -> Rect) -> BoxTree<T> {
        let boxes = items.iter().map(bounds).collect();
        #[allow(clippy::cast_possible_truncation)]
        let given = (0..items.len() as u32).collect();
        BoxTree::packed(items, given, boxes)
    }

    fn packed(items: Vec<T>, given: Vec<u32>, boxes: Vec<Rect>) -> BoxTree<T> {
        let mut levels = vec![boxes];
        while levels[levels.len() - 1].len() > 1 {
            let below = &levels[levels.len() - 1];
            let above = below.chunks(FAN).filter_map(|c| c.iter().copied().reduce(|a, b| a.union(b))).collect();
            levels.push(above);
        }
        BoxTree { items, given, levels }
    }

    /// The items whose boxes meet `around`, with their numbers, in the order of these.
    #[must_use]
    pub fn meeting(&self, around: Rect) -> Vec<(usize, &T)> {
        let mut all: Vec<(u32, usize)> = Vec::new();
        let _: Option<()> = self.leaves(around, 0.0, |leaf| {
            all.push((self.given[leaf], leaf));
            ControlFlow::Continue(())
        });
        all.sort_unstable();
        all.into_iter().map(|(given, leaf)| (given as usize, &self.items[leaf])).collect()
    }

    /// The items whose boxes hold `p`, edges included, as [`BoxTree::meeting`].
    #[must_use]
    pub fn at(&self, p: Point) -> Vec<(usize, &T)> {
        self.meeting(Rect::from_points(p, p))
    }

    /// Visits the items whose boxes come within `by` mm of `around`, in no fixed order, until `visit` breaks.
    pub fn visit<B>(&self, around: Rect, by: f64, mut visit: impl FnMut(usize, &T) -> ControlFlow<B>) -> Option<B> {
        self.leaves(around, by, |leaf| visit(self.given[leaf] as usize, &self.items[leaf]))
    }

    fn leaves<B>(&self, around: Rect, by: f64, mut visit: impl FnMut(usize) -> ControlFlow<B>) -> Option<B> {
        let limit = by * by;
        let mut stack = [(0u32, 0u32); DEEP];
        let mut depth = 0;
        if let Some(root) = self.root() {
            stack[0] = root;
            depth = 1;
        }
        while depth > 0 {
            depth -= 1;
            let (level, node) = stack[depth];
            let boxes = &self.levels[level as usize];
            if between(&around, &boxes[node as usize]) > limit {
                continue;
            }
            if level == 0 {
                if let ControlFlow::Break(b) = visit(node as usize) {
                    return Some(b);
                }
                continue;
            }
            for (k, b) in self.children(level, node) {
                if between(&around, b) <= limit {
                    stack[depth] = (level - 1, k);
                    depth += 1;
                }
            }
        }
        None
    }

    /// The item nearest to `p` among those nearer than `most` mm: its number and what `measure` says of it. `measure`
    /// gives an item's distance, mm, which is never less than that of its box.
    pub fn nearest_by<A: Copy>(
        &self,
        p: Point,
        most: f64,
        measure: impl Fn(&T) -> (f64, A),
    ) -> Option<(usize, f64, A)> {
        let mut best: Option<(f64, u32, A)> = None;
        let mut limit = most * most;
        let mut stack = [(0.0f64, 0u32, 0u32); DEEP];
        let mut depth = 0;
        if let Some((level, node)) = self.root() {
            stack[0] = (apart(p, &self.levels[level as usize][0]), level, node);
            depth = 1;
        }
        // Depth first, nearest box first, so that the first items found bound the rest.
        while depth > 0 {
            depth -= 1;
            let (off, level, node) = stack[depth];
            if off > limit {
                continue;
            }
            if level == 0 {
                let leaf = node as usize;
                let (distance, at) = measure(&self.items[leaf]);
                let given = self.given[leaf];
                if distance < most && best.is_none_or(|b| (distance, given) < (b.0, b.1)) {
                    best = Some((distance, given, at));
                    // A margin for rounding between a box and its item.
                    limit = distance * distance * (1.0 + ROUNDING_SHARE);
                }
                continue;
            }
            let from = depth;
            for (k, b) in self.children(level, node) {
                let off = apart(p, b);
                if off <= limit {
                    // The nearest last, so that it is popped first.
                    let mut at = depth;
                    while at > from && stack[at - 1].0 < off {
                        stack[at] = stack[at - 1];
                        at -= 1;
                    }
                    stack[at] = (off, level - 1, k);
                    depth += 1;
                }
            }
        }
        best.map(|(distance, given, at)| (given as usize, distance, at))
    }

    /// All items by the distance of their boxes from `p`, nearest first: squared distance, mm², and item. A best-first
    /// search (Hjaltason and Samet, "Distance browsing in spatial databases", 1999).
    pub fn by_distance(&self, p: Point) -> impl Iterator<Item = (f64, &T)> {
        let open = move |level: u32, node: u32| {
            let b = &self.levels[level as usize][node as usize];
            // Nodes come before items, so that equally near items come in their order.
            let number = if level == 0 { Some(self.given[node as usize]) } else { None };
            Reverse(Open { off: apart(p, b), number, level, node })
        };
        let mut heap: BinaryHeap<_> = self.root().into_iter().map(|(level, node)| open(level, node)).collect();
        std::iter::from_fn(move || {
            while let Some(Reverse(o)) = heap.pop() {
                if o.level == 0 {
                    return Some((o.off, &self.items[o.node as usize]));
                }
                heap.extend(self.children(o.level, o.node).map(|(k, _)| open(o.level - 1, k)));
            }
            None
        })
    }

    /// Level and node of the root; `None` without items.
    #[allow(clippy::cast_possible_truncation)]
    fn root(&self) -> Option<(u32, u32)> {
        (!self.items.is_empty()).then_some((self.levels.len() as u32 - 1, 0))
    }

    /// The nodes below a node, with their boxes.
    #[allow(clippy::cast_possible_truncation)]
    fn children(&self, level: u32, node: u32) -> impl Iterator<Item = (u32, &Rect)> {
        let below = &self.levels[level as usize - 1];
        let first = node as usize * FAN;
        below[first..(first + FAN).min(below.len())].iter().zip(first as u32..).map(|(b, k)| (k, b))
    }
}

/// A node or an item that the search has yet to open.
struct Open {
    off: f64,
    number: Option<u32>,
    level: u32,
    node: u32,
}

impl Ord for Open {
    fn cmp(&self, other: &Open) -> Ordering {
        self.off.total_cmp(&other.off).then(self.number.cmp(&other.number))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Open) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Open) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Open {}

/// An edge and its distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::geom) struct Nearest {
    /// The number of the edge, as given.
    pub index: usize,
    pub edge: Segment,
    /// mm.
    pub distance: f64,
    /// Its point nearest to the query point.
    pub at: Point,
}

/// Distances are to the exact edges, lines and arcs.
impl BoxTree<Segment> {
    pub(in crate::geom) fn of_edges(edges: impl IntoIterator<Item = Segment>) -> BoxTree<Segment> {
        BoxTree::new(edges.into_iter().map(|s| (s.bounds(), s)))
    }

    /// The edge nearest to `p`; `None` if there are no edges.
    pub(in crate::geom) fn nearest(&self, p: Point) -> Option<Nearest> {
        self.nearer(p, f64::INFINITY)
    }

    /// The edge nearest to `p` among those nearer than `most` mm.
    pub(in crate::geom) fn nearer(&self, p: Point, most: f64) -> Option<Nearest> {
        let measure = |s: &Segment| {
            let (distance, at) = s.nearest(p);
            (distance, (*s, at))
        };
        self.nearest_by(p, most, measure).map(|(index, distance, (edge, at))| Nearest { index, edge, distance, at })
    }

    /// Whether an edge within `by` mm of `p` satisfies `holds`.
    pub(in crate::geom) fn any_within(
        &self,
        p: Point,
        by: f64,
        mut holds: impl FnMut(usize, &Segment) -> bool,
    ) -> bool {
        let found = self.visit(Rect::from_points(p, p), by, |i, s| {
            let yes = s.nearest(p).0 <= by && holds(i, s);
            if yes { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        found.is_some()
    }
}

/// Squared distance of a point from a box.
pub(super) fn apart(p: Point, b: &Rect) -> f64 {
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
        /// Compared with a linear search, sorted along the curve and packed as given.
        #[test]
        fn the_nearest_is_the_nearest(
            seeds in prop::collection::vec((-50.0..50.0f64, -50.0..50.0f64, -9.0..9.0f64, -9.0..9.0f64, -1.0..1.0f64), 1..300),
            x in -80.0..80.0f64, y in -80.0..80.0f64, most in 0.0..40.0f64,
        ) {
            let (edges, p) = (edges(&seeds), Point::new(x, y));
            let all = || edges.iter().map(|s| s.nearest(p).0).enumerate();
            let least = all().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
            for tree in [BoxTree::of_edges(edges.iter().copied()), BoxTree::in_order(edges.clone(), Segment::bounds)] {
                let found = tree.nearest(p).unwrap();
                prop_assert_eq!((found.index, found.distance), least);
                prop_assert_eq!(tree.nearer(p, most).map(|n| n.index), (least.1 < most).then_some(least.0));
                let mut near: Vec<usize> = Vec::new();
                tree.any_within(p, most, |i, _| { near.push(i); false });
                near.sort_unstable();
                prop_assert_eq!(near, all().filter(|e| e.1 <= most).map(|e| e.0).collect::<Vec<_>>());
            }
        }

        /// On a coarse raster many points are equally near.
        #[test]
        fn points_come_by_distance_and_number(
            seeds in prop::collection::vec((0..9i8, 0..9i8), 0..200), x in 0..9i8, y in 0..9i8,
        ) {
            let point = |&(x, y): &(i8, i8)| Point::new(f64::from(x), f64::from(y));
            let items = seeds.iter().map(point).enumerate();
            let tree = BoxTree::new(items.map(|(i, p)| (Rect::from_points(p, p), i)));
            let p = point(&(x, y));
            let mut wanted: Vec<(f64, usize)> = seeds.iter().map(|s| (point(s) - p).hypot2()).zip(0..).collect();
            wanted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            prop_assert_eq!(tree.by_distance(p).map(|(d, i)| (d, *i)).collect::<Vec<_>>(), wanted.clone());
            let near = Rect::from_points(p, p).inflate(2.0, 2.0);
            let held: Vec<usize> = (0..seeds.len()).filter(|&i| near.overlaps(Rect::from_points(point(&seeds[i]), point(&seeds[i])))).collect();
            prop_assert_eq!(tree.meeting(near).iter().map(|i| i.0).collect::<Vec<_>>(), held);
        }
    }

    #[test]
    fn of_equals_the_first_given() {
        let edge = Segment::line(Point::new(0.0, 0.0), Point::new(1.0, 0.0));
        let tree = BoxTree::of_edges((0..100).map(|_| edge));
        assert_eq!(tree.nearest(Point::new(0.5, 3.0)).unwrap().index, 0);
        let none = BoxTree::of_edges([]);
        assert!(none.nearest(Point::ZERO).is_none());
        assert!(!none.any_within(Point::ZERO, 1e9, |_, _| true));
        assert!(none.meeting(Rect::new(-1e9, -1e9, 1e9, 1e9)).is_empty());
        assert!(none.by_distance(Point::ZERO).next().is_none());
    }
}
