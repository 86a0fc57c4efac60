//! Whether every edge of a result lies where it must, by exact distances.

use super::refuse;
use crate::budget::Budget;
use crate::geom::distance::between;
use crate::geom::{GeomError, Region, Segment};
use crate::tolerance::CERTIFIED_DISTANCE as TOL;
use kurbo::{Point, Rect};
use rstar::{AABB, PointDistance, RTree, RTreeObject, SelectionFunction};

/// An edge of the source, in the tree.
pub(super) struct Edge(pub(super) Segment);

impl RTreeObject for Edge {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        aabb(self.0.bounds())
    }
}

impl PointDistance for Edge {
    fn distance_2(&self, p: &[f64; 2]) -> f64 {
        let d = self.0.nearest(Point::new(p[0], p[1])).0;
        d * d
    }
}

fn aabb(b: Rect) -> AABB<[f64; 2]> {
    AABB::from_corners([b.x0, b.y0], [b.x1, b.y1])
}

/// The edges of the source, ready to be asked for those near a place.
pub(super) fn tree<'a>(source: impl Iterator<Item = &'a Segment>) -> RTree<Edge> {
    RTree::bulk_load(source.copied().map(Edge).collect())
}

/// Every point of every edge of `result` at |d| from the source's edges, and on the side that the sign of `d` says.
pub(super) fn at_distance(tree: &RTree<Edge>, d: f64, result: &Region, budget: &Budget) -> Result<(), GeomError> {
    for (i, g) in result.segments().enumerate() {
        if i % 256 == 0 {
            budget.check()?;
        }
        none_nearer(tree, g, d.abs())?;
        if !within(tree, g, d.abs() + TOL, 0) {
            return Err(refuse(g.at(0.5), "an edge farther from the outline than the distance"));
        }
        right_side(tree, g, d)?;
    }
    Ok(())
}

/// Every point of every edge of `result` on one of the given edges.
pub(super) fn on_edges<'a>(
    source: impl Iterator<Item = &'a Segment>,
    result: &Region,
    budget: &Budget,
) -> Result<(), GeomError> {
    let tree = tree(source);
    for (i, g) in result.segments().enumerate() {
        if i % 256 == 0 {
            budget.check()?;
        }
        if !within(&tree, g, TOL, 0) {
            return Err(refuse(g.at(0.5), "an edge that no operand has"));
        }
    }
    Ok(())
}

/// Edges whose boxes come nearer to a box than a distance.
struct Near {
    to: AABB<[f64; 2]>,
    than: f64,
}

impl Near {
    fn reaches(&self, e: &AABB<[f64; 2]>) -> bool {
        let gap = |i: usize| {
            let (a, b) = (self.to.lower()[i] - e.upper()[i], e.lower()[i] - self.to.upper()[i]);
            a.max(b).max(0.0)
        };
        gap(0).powi(2) + gap(1).powi(2) < self.than * self.than
    }
}

impl SelectionFunction<Edge> for Near {
    fn should_unpack_parent(&self, e: &AABB<[f64; 2]>) -> bool {
        self.reaches(e)
    }
    fn should_unpack_leaf(&self, leaf: &Edge) -> bool {
        self.reaches(&leaf.envelope())
    }
}

/// No edge of the source nearer to `g` than `d` less the tolerance. Long edges are looked at in pieces, whose boxes
/// say more.
fn none_nearer(tree: &RTree<Edge>, g: &Segment, d: f64) -> Result<(), GeomError> {
    let limit = d - TOL;
    if limit <= 0.0 {
        return Ok(());
    }
    for piece in pieces(g, d / 3.0) {
        let near = Near { to: aabb(piece.bounds()), than: limit };
        for e in tree.locate_with_selection_function(near) {
            if between(&piece, &e.0) < limit {
                return Err(refuse(piece.at(0.5), "an edge nearer to the outline than the distance"));
            }
        }
    }
    Ok(())
}

fn pieces(g: &Segment, longest: f64) -> Vec<Segment> {
    let most = if let Segment::Arc(a) = g { longest.min(a.radius * 0.5).max(1e-3) } else { longest };
    // Bounded by 1e7 mm over a thousandth.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let n = (g.length() / most).ceil().clamp(1.0, 4096.0) as usize;
    #[allow(clippy::cast_precision_loss)]
    let at = |k: usize| k as f64 / n as f64;
    (0..n).map(|k| if n == 1 { *g } else { g.part(at(k), at(k + 1)) }).collect()
}

/// Whether every point of `g` has an edge of the source within `reach`.
fn within(tree: &RTree<Edge>, g: &Segment, reach: f64, depth: u32) -> bool {
    let m = g.at(0.5);
    let mut any = false;
    for e in tree.locate_within_distance([m.x, m.y], reach * reach) {
        any = true;
        if wholly_within(g, &e.0, reach) {
            return true;
        }
    }
    if !any || depth > 40 {
        return false;
    }
    // Distance changes no faster than along the edge.
    let least = tree.nearest_neighbor_iter([m.x, m.y]).next().map_or(f64::INFINITY, |e| e.0.nearest(m).0);
    if least + g.length() / 2.0 <= reach {
        return true;
    }
    within(tree, &g.part(0.0, 0.5), reach, depth + 1) && within(tree, &g.part(0.5, 1.0), reach, depth + 1)
}

/// Whether every point of `g` lies within `reach` of the edge `e`, by closed forms: sufficient, not necessary.
fn wholly_within(g: &Segment, e: &Segment, reach: f64) -> bool {
    let ends = e.nearest(g.start()).0.max(e.nearest(g.end()).0);
    if ends > reach {
        return false;
    }
    match (g, e) {
        // The distance from a convex set is convex along a line.
        (Segment::Line(_), Segment::Line(_)) => true,
        // Round an end of the edge, or beside an arc with the same centre.
        (Segment::Arc(a), _) => {
            let round = |p: Point| (a.center - p).hypot() + a.radius <= reach;
            let parallel = match e {
                Segment::Arc(b) => {
                    let faces = [0.0, 0.25, 0.5, 0.75, 1.0].iter().all(|&t| b.spans(a.at(t) - b.center));
                    faces
                        && (a.sweep() < 3.0 || b.sweep() > a.sweep())
                        && (a.radius - b.radius).abs() + (a.center - b.center).hypot() <= reach
                }
                Segment::Line(_) => false,
            };
            round(e.start()) || round(e.end()) || parallel
        }
        (Segment::Line(_), Segment::Arc(_)) => false,
    }
}

/// The middle of `g` on the right side of the nearest edge, and `g` running the right way round. Outside lies to the
/// right of every edge.
fn right_side(tree: &RTree<Edge>, g: &Segment, d: f64) -> Result<(), GeomError> {
    let m = g.at(0.5);
    let Some(nearest) = tree.nearest_neighbor_iter([m.x, m.y]).next() else { return Ok(()) };
    let q = nearest.0.nearest(m).1;
    let from_source = m - q;
    let h = from_source.hypot();
    if h < TOL || g.length() < TOL {
        return Ok(());
    }
    let travel = g.part(0.4, 0.6);
    let t = travel.end() - travel.start();
    // Grown: the result's outside points away from the source. Shrunk: towards it.
    let side = crate::geom::trig::right(t).dot(from_source) * d.signum();
    if side <= 0.0 {
        return Err(refuse(m, "an edge that runs the wrong way round"));
    }
    Ok(())
}
