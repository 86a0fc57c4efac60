//! Reduces the edges of a result that follows a dense outline: runs of short edges become one line or arc each.
//!
//! In: a region, mm. Out: a region through some of its corners, each point of either within [`THIN`] of the other.
//! This is verified in closed form before an edge is accepted. It applies only to rings with very many short edges. The
//! output is certified afterwards like any other result.

use super::simplify::{half_sweep, longest};
use crate::geom::shape::{Arc, Point, Region, Ring, Segment, Vec2, trig};
use crate::tolerance::THIN;
use std::f64::consts::FRAC_PI_2;

/// Rings with fewer edges stay as they are.
const MANY: usize = 2048;
/// Least number of edges that one edge must replace, and the least factor by which a ring must shrink.
const WORTH: usize = 4;

/// The region with fewer edges, if it has very many.
pub(in crate::geom) fn thinned(region: Region) -> Region {
    if region.rings.iter().all(|r| r.segments.len() < MANY) {
        return region;
    }
    Region::new(region.rings.into_iter().map(|r| if r.segments.len() < MANY { r } else { ring(r) }).collect())
}

fn ring(ring: Ring) -> Ring {
    let all = &ring.segments;
    let mut out = Vec::new();
    let mut i = 0;
    while i < all.len() {
        match longest(i, all.len(), WORTH, |j| one_over(&all[i..j], THIN)) {
            Some((j, one)) => {
                out.push(one);
                i = j;
            }
            None => {
                out.push(all[i]);
                i += 1;
            }
        }
    }
    if out.len() > 2 && out.len() * WORTH <= all.len() { Ring::new(out) } else { ring }
}

/// The line or arc from the first edge's start to the last one's end that follows them all within the tolerance.
fn one_over(edges: &[Segment], tolerance: f64) -> Option<Segment> {
    let (a, b) = (edges.first()?.start(), edges.last()?.end());
    let chord = b - a;
    let length = chord.hypot();
    let across = trig::right(chord) / length.max(f64::MIN_POSITIVE);
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for s in &edges[1..] {
        let p = s.start();
        low = low.max(half_sweep(a, b, p - across * tolerance)?);
        high = high.min(half_sweep(a, b, p + across * tolerance)?);
        if low > high {
            return None;
        }
    }
    // Straight, if the range allows it.
    let tangent = if low <= 0.0 && high >= 0.0 { 0.0 } else { f64::midpoint(low, high) };
    let one = Segment::from_bulge(a, b, tangent / (1.0 + tangent.hypot(1.0)));
    edges.iter().all(|s| follows(s, &one, tolerance)).then_some(one)
}

/// Whether all of `s` lies within the tolerance of the line or circle of `one` and runs forward along it.
fn follows(s: &Segment, one: &Segment, tolerance: f64) -> bool {
    let ends = [(s.start(), s.tangent_at_start()), (s.end(), s.tangent_at_end())];
    let forward = ends.iter().all(|&(p, t)| {
        let along = match one {
            Segment::Line(l) => l.end - l.start,
            Segment::Arc(a) if a.ccw => trig::left(p - a.center),
            Segment::Arc(a) => trig::right(p - a.center),
        };
        // Within 60°, so an edge that turns by less than a right angle runs forward all the way.
        t.dot(along) > 0.5 * along.hypot()
    });
    let off = |p: Point| match one {
        Segment::Line(l) => {
            let v = l.end - l.start;
            (v.cross(p - l.start) / v.hypot()).abs()
        }
        Segment::Arc(a) => ((p - a.center).hypot() - a.radius).abs(),
    };
    let ends = off(s.start()).max(off(s.end()));
    let farthest = match (s, one) {
        (Segment::Line(_), Segment::Line(_)) => ends,
        (Segment::Line(_), Segment::Arc(a)) => ends.max(off(s.nearest(a.center).1)),
        (Segment::Arc(a), _) if a.sweep() >= FRAC_PI_2 => return false,
        // An arc deviates from its chord by at most its sagitta.
        (Segment::Arc(a), Segment::Line(_)) => ends + rise(a),
        // The farthest point from the other circle lies on the line through both centres.
        (Segment::Arc(a), Segment::Arc(b)) => {
            let v = a.center - b.center;
            let h = v.hypot();
            let on = |u: Vec2| if h > 0.0 && a.spans(u) { off(a.center + u * (a.radius / h)) } else { 0.0 };
            ends.max(on(v)).max(on(-v))
        }
    };
    forward && farthest <= tolerance
}

fn rise(a: &Arc) -> f64 {
    let half = (a.end - a.start).hypot() / 2.0;
    a.radius - (a.radius * a.radius - half * half).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::edges::{EdgeIndex, sampled};
    use crate::geom::trig::unit;
    use std::f64::consts::TAU;

    fn apart(a: &Region, b: &Region) -> f64 {
        let off = |from: &Region, to: &Region| {
            let index = EdgeIndex::new(to);
            sampled(from, 0.01).filter_map(|p| index.nearest(p)).map(|n| n.distance).fold(0.0, f64::max)
        };
        off(a, b).max(off(b, a))
    }

    /// Scallops of a bush that rolls along fine steps: small arcs, each around a corner of the steps.
    fn scallops(n: u32) -> Region {
        let at = |k: u32| (unit(TAU * f64::from(k) / f64::from(n)) * 40.0).to_point();
        let arc = |k: u32| Segment::from_bulge(at(k), at(k + 1), 0.002);
        let mut segments: Vec<Segment> = (0..n).map(arc).collect();
        let first = segments[0].start();
        if let Some(Segment::Arc(a)) = segments.last_mut() {
            a.end = first;
        }
        Region::new(vec![Ring::new(segments)])
    }

    #[test]
    fn scallops_become_few_arcs() {
        let many = scallops(20_000);
        let few = thinned(many.clone());
        assert!(few.rings[0].segments.len() < 40, "{}", few.rings[0].segments.len());
        assert!(apart(&many, &few) <= THIN, "{}", apart(&many, &few));
        let ends = |w: &[Segment]| w[0].end() == w[1].start();
        assert!(few.rings[0].segments.windows(2).all(ends));
    }

    #[test]
    fn corners_stay() {
        let p = Point::new;
        let side = |a: Point, b: Point| (0..900).map(move |k| a.lerp(b, f64::from(k) / 900.0));
        let c = [p(0.0, 0.0), p(40.0, 0.0), p(40.0, 30.0), p(0.0, 30.0)];
        let fine: Vec<Point> = (0..4).flat_map(|i| side(c[i], c[(i + 1) % 4])).collect();
        let few = thinned(Region::new(vec![Ring::polygon(&fine)]));
        assert_eq!(few.rings[0].segments.len(), 4);
        assert!(few.segments().all(|s| c.contains(&s.start())));
    }
}
