//! Ring by ring: whether the polygons of the second engine and the rings of a result are the same, one for one.
//!
//! Sampled at every vertex of the polygons (their chords are [`crate::tolerance::INDEPENDENT_CHORD`] flat) and at the
//! ends and middles of the result's edges. `false` says only that this way did not settle it.

use crate::geom::{Region, Ring, Segment};
use crate::tolerance::{AGREE_RADIUS, GRID};
use clipper2_rust::{Path64, Paths64};
use kurbo::Point;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, PointDistance, RTree, RTreeObject};

pub(super) fn ring_by_ring(reference: &Paths64, result: &Region) -> bool {
    if reference.len() != result.rings.len() {
        return false;
    }
    let tree = RTree::bulk_load(
        result.rings.iter().enumerate().flat_map(|(i, r)| r.segments.iter().map(move |s| Edge::new(*s, i))).collect(),
    );
    let mut taken = vec![false; result.rings.len()];
    for path in reference {
        let points: Vec<Point> = path.iter().map(|p| point(p.x, p.y)).collect();
        let Some(ring) = partner(&tree, &points) else { return false };
        if std::mem::replace(&mut taken[ring], true) || !same(path, &points, &result.rings[ring]) {
            return false;
        }
    }
    true
}

#[allow(clippy::cast_precision_loss)]
fn point(x: i64, y: i64) -> Point {
    Point::new(x as f64 * GRID, y as f64 * GRID)
}

/// The one ring on which all the points lie.
fn partner(tree: &RTree<Edge>, points: &[Point]) -> Option<usize> {
    let reach = AGREE_RADIUS * AGREE_RADIUS;
    let on = |p: &Point, ring: usize| tree.locate_within_distance([p.x, p.y], reach).any(|e| e.ring() == ring);
    let first = points.first()?;
    let ring = tree.locate_within_distance([first.x, first.y], reach).map(Edge::ring).min()?;
    points.iter().all(|p| on(p, ring)).then_some(ring)
}

/// Whether the ring lies on the polygon too, and encloses as much, the same way round.
fn same(path: &Path64, points: &[Point], ring: &Ring) -> bool {
    let area = polygon_area(points);
    if (area - ring.area()).abs() > AGREE_RADIUS * ring.perimeter() {
        return false;
    }
    let n = path.len();
    let sides = (0..n).map(|i| Edge::new(Segment::line(points[i], points[(i + 1) % n]), 0)).collect();
    let tree = RTree::bulk_load(sides);
    let reach = AGREE_RADIUS * AGREE_RADIUS;
    let on = |p: Point| tree.locate_within_distance([p.x, p.y], reach).next().is_some();
    ring.segments.iter().all(|s| on(s.start()) && on(s.at(0.5)))
}

fn polygon_area(points: &[Point]) -> f64 {
    let Some(&o) = points.first() else { return 0.0 };
    points.windows(2).map(|w| (w[0] - o).cross(w[1] - o) / 2.0).sum()
}

/// An edge in a tree, with the ring it belongs to.
struct Edge(GeomWithData<Rectangle<[f64; 2]>, (Segment, usize)>);

impl Edge {
    fn new(s: Segment, ring: usize) -> Edge {
        let b = s.bounds();
        Edge(GeomWithData::new(AABB::from_corners([b.x0, b.y0], [b.x1, b.y1]).into(), (s, ring)))
    }

    fn ring(&self) -> usize {
        self.0.data.1
    }
}

impl RTreeObject for Edge {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.0.envelope()
    }
}

impl PointDistance for Edge {
    fn distance_2(&self, p: &[f64; 2]) -> f64 {
        let d = self.0.data.0.nearest(Point::new(p[0], p[1])).0;
        d * d
    }
    fn distance_2_if_less_or_equal(&self, p: &[f64; 2], most: f64) -> Option<f64> {
        // The box first: it is cheap, and most edges are far away.
        if self.envelope().distance_2(p) > most {
            return None;
        }
        let d2 = self.distance_2(p);
        (d2 <= most).then_some(d2)
    }
}
