//! Matches each polygon of the second engine with one ring of a result.
//!
//! Every vertex of a polygon must lie on the ring, and the ends and middle of every edge of the ring on the polygon. The
//! polygon's chords deviate by [`crate::tolerance::INDEPENDENT_CHORD`]. `true` means that the two agree. `false` means
//! that this test cannot decide.

use crate::geom::index::BoxTree;
use crate::geom::shape::{Region, Ring, Segment};
use crate::threads::first_of;
use crate::tolerance::{AGREE_RADIUS, GRID};
use clipper2_rust::{Path64, Paths64};
use kurbo::Point;

pub(super) fn ring_by_ring(reference: &Paths64, result: &Region) -> bool {
    if reference.len() != result.rings.len() {
        return false;
    }
    let tree = BoxTree::of_edges(result.segments().copied());
    let ring_of: Vec<usize> =
        result.rings.iter().enumerate().flat_map(|(i, r)| std::iter::repeat_n(i, r.segments.len())).collect();
    let mut taken = vec![false; result.rings.len()];
    for path in reference {
        let points: Vec<Point> = path.iter().map(|p| point(p.x, p.y)).collect();
        let Some(ring) = partner(&tree, &ring_of, &points) else { return false };
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

/// The ring within [`AGREE_RADIUS`] of all points.
fn partner(tree: &BoxTree<Segment>, ring_of: &[usize], points: &[Point]) -> Option<usize> {
    let on = |p: &Point, ring: usize| tree.any_within(*p, AGREE_RADIUS, |i, _| ring_of[i] == ring);
    let mut first: Option<usize> = None;
    tree.any_within(*points.first()?, AGREE_RADIUS, |i, _| {
        first = Some(first.map_or(ring_of[i], |f| f.min(ring_of[i])));
        false
    });
    let ring = first?;
    first_of(points, |_, p| (!on(p, ring)).then_some(())).is_none().then_some(ring)
}

/// Whether the ring lies on the polygon too, encloses the same area, and has the same orientation.
fn same(path: &Path64, points: &[Point], ring: &Ring) -> bool {
    let area = polygon_area(points);
    if (area - ring.area()).abs() > AGREE_RADIUS * ring.perimeter() {
        return false;
    }
    let n = path.len();
    let tree = BoxTree::of_edges((0..n).map(|i| Segment::line(points[i], points[(i + 1) % n])));
    let on = |p: Point| tree.any_within(p, AGREE_RADIUS, |_, _| true);
    first_of(&ring.segments, |_, s| (!(on(s.start()) && on(s.at(0.5)))).then_some(())).is_none()
}

fn polygon_area(points: &[Point]) -> f64 {
    let Some(&o) = points.first() else { return 0.0 };
    points.windows(2).map(|w| (w[0] - o).cross(w[1] - o) / 2.0).sum()
}
