//! Separates the parts of a region that are joined only by a hairline.
//!
//! In: a region, mm. Out: its connected parts. Parts joined by a strip narrower than [`HAIR`] or by a point are
//! separate. A difference has such strips wherever its operands share an edge: the corners that a cutter leaves then
//! form one ring around the outline.
//!
//! Every edge is cut at the vertices within a hair ([`HAIR`]) of it. Two pieces that run back and forth between the
//! same vertices cancel. At each vertex the remaining pieces are linked, so that each ring encloses the material to its
//! left and nothing more. If the pieces do not balance, the plain parts are returned. The result is for measuring
//! only: ends may lie a hair apart.

use crate::geom::index::BoxTree;
use crate::geom::index::inside::parts;
use crate::geom::shape::trig::atan2;
use crate::geom::shape::{Point, Rect, Region, Ring, Segment, Vec2};
use crate::tolerance::{HAIR, IN_LINE, LOOK_AHEAD};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// The connected parts of `region`, separated.
#[must_use]
pub fn parted(region: &Region) -> Vec<Region> {
    let nodes = Nodes::from_region(region);
    let mut pieces = cut(region, &nodes);
    let all = pieces.len();
    cancel(&mut pieces);
    if pieces.len() == all && !meets_itself(&pieces, nodes.points.len()) {
        return parts(region);
    }
    match linked(&pieces, nodes.points.len()) {
        Some(rings) => parts(&Region::new(rings)),
        None => parts(region),
    }
}

/// Vertices; those within a hair of one another are merged.
struct Nodes {
    points: Vec<Point>,
    /// The node of the start of each edge, in the region's order.
    of_start: Vec<usize>,
}

impl Nodes {
    /// A start without an earlier node within a hair becomes a node. Each other start gets its nearest node, of equals
    /// the first.
    fn from_region(region: &Region) -> Nodes {
        let starts: Vec<Point> = region.segments().map(Segment::start).collect();
        let tree = BoxTree::new(starts.iter().enumerate().map(|(i, &p)| (Rect::from_points(p, p), i)));
        let mut points = Vec::new();
        // The node that a start became.
        let mut node: Vec<Option<usize>> = vec![None; starts.len()];
        let nearest = |node: &[Option<usize>], p: Point| {
            tree.by_distance(p).take_while(|n| n.0 <= HAIR * HAIR).find_map(|(_, &i)| node[i])
        };
        for (i, p) in starts.iter().enumerate() {
            if nearest(&node, *p).is_none() {
                node[i] = Some(points.len());
                points.push(*p);
            }
        }
        // A node made later may be nearer.
        let of_start = starts.iter().map(|p| nearest(&node, *p).unwrap_or_default()).collect();
        Nodes { points, of_start }
    }
}

/// A piece of an edge between two nodes.
#[derive(Clone, Copy)]
struct EdgePiece {
    from: usize,
    to: usize,
    segment: Segment,
}

fn cut(region: &Region, nodes: &Nodes) -> Vec<EdgePiece> {
    let mut pieces = Vec::new();
    let mut before = 0;
    let ends = region.rings.iter().flat_map(|ring| {
        let (first, n) = (before, ring.segments.len());
        before += n;
        // An edge ends where the next one starts.
        (0..n).map(move |i| (first + i, first + (i + 1) % n))
    });
    let beside = beside(region, nodes);
    for (s, (start, end)) in region.segments().zip(ends) {
        let (from, to) = (nodes.of_start[start], nodes.of_start[end]);
        let length = s.length();
        let mut stops: Vec<(f64, usize)> = beside[start]
            .iter()
            .filter(|&&n| n != from && n != to)
            .map(|&n| (along(s, nodes.points[n]), n))
            .filter(|&(t, _)| t * length > 0.0 && (1.0 - t) * length > 0.0)
            .collect();
        stops.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let ends = stops.into_iter().chain([(1.0, to)]);
        let (mut t0, mut n0) = (0.0, from);
        for (t, n) in ends {
            // A piece that stays within one node has negligible length.
            if n != n0 || (t - t0) * length > 4.0 * HAIR {
                let segment = if t0 == 0.0 && t == 1.0 { *s } else { s.part(t0, t) };
                pieces.push(EdgePiece { from: n0, to: n, segment });
            }
            (t0, n0) = (t, n);
        }
    }
    pieces
}

/// For each edge, the nodes within a hair of it.
fn beside(region: &Region, nodes: &Nodes) -> Vec<Vec<usize>> {
    let tree = BoxTree::of_edges(region.segments().copied());
    let mut found = vec![Vec::new(); region.segments().count()];
    for (n, p) in nodes.points.iter().enumerate() {
        tree.any_within(*p, HAIR, |i, _| {
            found[i].push(n);
            false
        });
    }
    found
}

/// The fraction of `s`, 0 to 1, at its point nearest to `p`.
fn along(s: &Segment, p: Point) -> f64 {
    let q = s.nearest(p).1;
    match s {
        Segment::Line(l) => {
            let v = l.end - l.start;
            ((q - l.start).dot(v) / v.hypot2()).clamp(0.0, 1.0)
        }
        Segment::Arc(a) => {
            let (u, v) = (a.start - a.center, q - a.center);
            let turned = atan2(u.cross(v), u.dot(v));
            let turned = if a.ccw { turned } else { -turned };
            (turned.rem_euclid(TAU) / a.sweep()).clamp(0.0, 1.0)
        }
    }
}

/// Removes pairs of pieces that run back and forth along each other.
fn cancel(pieces: &mut Vec<EdgePiece>) {
    let mut between: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (i, p) in pieces.iter().enumerate() {
        between.entry((p.from, p.to)).or_default().push(i);
    }
    let mut gone = vec![false; pieces.len()];
    for i in 0..pieces.len() {
        let p = pieces[i];
        if gone[i] || p.from == p.to {
            continue;
        }
        let middle = p.segment.at(0.5);
        let back = between.get(&(p.to, p.from)).into_iter().flatten().copied();
        let twin = back.filter(|&j| !gone[j]).find(|&j| pieces[j].segment.nearest(middle).0 <= HAIR);
        if let Some(j) = twin {
            (gone[i], gone[j]) = (true, true);
        }
    }
    let mut i = 0;
    pieces.retain(|_| {
        i += 1;
        !gone[i - 1]
    });
}

fn meets_itself(pieces: &[EdgePiece], nodes: usize) -> bool {
    let mut leave = vec![0; nodes];
    pieces.iter().any(|p| {
        leave[p.from] += 1;
        leave[p.from] > 1
    })
}

/// Links the pieces to rings; `None` if some node has more pieces arriving than leaving.
fn linked(pieces: &[EdgePiece], nodes: usize) -> Option<Vec<Ring>> {
    let mut leaving: Vec<Vec<usize>> = vec![Vec::new(); nodes];
    for (i, p) in pieces.iter().enumerate() {
        leaving[p.from].push(i);
    }
    let mut next = vec![0; pieces.len()];
    for (i, p) in pieces.iter().enumerate() {
        let free = &mut leaving[p.to];
        let back = ahead(&p.segment.reversed());
        let best = (0..free.len()).min_by(|&a, &b| {
            let turn = |k: usize| clockwise(back, ahead(&pieces[free[k]].segment));
            turn(a).total_cmp(&turn(b)).then(free[a].cmp(&free[b]))
        })?;
        next[i] = free.remove(best);
    }
    let mut seen = vec![false; pieces.len()];
    let mut rings = Vec::new();
    for start in 0..pieces.len() {
        let (mut i, mut ring) = (start, Vec::new());
        while !seen[i] {
            seen[i] = true;
            ring.push(pieces[i].segment);
            i = next[i];
        }
        if !ring.is_empty() {
            rings.push(Ring::new(ring));
        }
    }
    Some(rings)
}

/// Direction from the start of `s` to a point slightly along it.
fn ahead(s: &Segment) -> Vec2 {
    let t = (LOOK_AHEAD / s.length().max(LOOK_AHEAD)).min(0.5);
    s.at(t) - s.start()
}

/// Clockwise angle from `a` to `b`, radians. Along it lies the material to the left of a piece that arrives along `-a`.
fn clockwise(a: Vec2, b: Vec2) -> f64 {
    let turn = (-atan2(a.cross(b), a.dot(b))).rem_euclid(TAU);
    if turn > TAU - IN_LINE { 0.0 } else { turn }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Arc;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    /// What a cutter of radius 3 leaves in the two lower corners of a block 20 wide, joined by a strip of zero width.
    #[test]
    fn corners_on_one_edge_are_two() {
        let left =
            Segment::Arc(Arc { center: p(3.0, 3.0), start: p(3.0, 0.0), end: p(0.0, 3.0), radius: 3.0, ccw: false });
        let right =
            Segment::Arc(Arc { center: p(17.0, 3.0), start: p(20.0, 3.0), end: p(17.0, 0.0), radius: 3.0, ccw: false });
        for hair in [0.0, 1e-7, 2e-4] {
            let line = |a: Point, b: Point| Segment::line(a, b);
            let ring = Ring::new(vec![
                line(p(0.0, 3.0), p(0.0, -hair)),
                line(p(0.0, -hair), p(20.0, -hair)),
                line(p(20.0, -hair), p(20.0, 3.0)),
                right,
                line(p(17.0, 0.0), p(3.0, 0.0)),
                left,
            ]);
            let found = parted(&Region::new(vec![ring]));
            assert_eq!(found.len(), 2, "{hair}");
            let area = 9.0 - 9.0 * std::f64::consts::PI / 4.0;
            for f in &found {
                assert!((f.area() - area).abs() < 20.0 * hair + 1e-9, "{hair}: {} {area}", f.area());
            }
        }
    }

    /// A rim that touches itself everywhere except in four corners: outer ring and hole share most of their length.
    #[test]
    fn a_rim_that_is_four_corners() {
        let outer = Ring::polygon(&[p(0.0, 0.0), p(20.0, 0.0), p(20.0, 10.0), p(0.0, 10.0)]);
        let cut =
            [(3.0, 0.0), (17.0, 0.0), (20.0, 3.0), (20.0, 7.0), (17.0, 10.0), (3.0, 10.0), (0.0, 7.0), (0.0, 3.0)];
        let hole = Ring::polygon(&cut.map(|(x, y)| p(x, y))).reversed();
        let found = parted(&Region::new(vec![outer, hole]));
        assert_eq!(found.len(), 4);
        assert!(found.iter().all(|f| (f.area() - 4.5).abs() < 1e-12));
    }

    #[test]
    fn squares_that_meet_in_a_point_are_two() {
        let eight =
            [(0.0, 0.0), (5.0, 0.0), (5.0, 5.0), (10.0, 5.0), (10.0, 10.0), (5.0, 10.0), (5.0, 5.0), (0.0, 5.0)];
        let found = parted(&Region::new(vec![Ring::polygon(&eight.map(|(x, y)| p(x, y)))]));
        assert_eq!(found.len(), 2);
        assert!(found.iter().all(|f| (f.area() - 25.0).abs() < 1e-12));
    }

    #[test]
    fn what_hangs_together_stays_as_it_is() {
        let bar = Region::new(vec![Ring::polygon(&[p(0.0, 0.0), p(9.0, 0.0), p(9.0, 0.5), p(0.0, 0.5)])]);
        assert_eq!(parted(&bar), vec![bar.clone()]);
    }
}
