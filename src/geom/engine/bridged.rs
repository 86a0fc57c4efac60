//! Simplifies a dense outline before an offset: bridges pockets that a disc of the offset's radius cannot enter.
//!
//! In: a region, the signed distance d, mm. Out: edges whose offset equals that of the region within [`BRIDGE`]. They
//! serve the operation only; the certificate uses the region itself.
//!
//! For growing, a concave corner is dropped if the line between its neighbours is short. That adds the triangle, so
//! the offset does not lose. Both ends of the line are corners of the region. A point at |d| from a line of length c
//! lies within `√(d² + c²/4)`, about |d| + c²/(8|d|), of one of them. So the offset gains no more than c²/(8|d|). For
//! shrinking, convex corners are dropped in the same way. The lines may cross other edges: under positive winding a
//! triangle is added, or removed, all the same. Arcs and long edges stay.

use crate::geom::shape::{Point, Region, Ring, Segment};
use crate::tolerance::BRIDGE;
use std::borrow::Cow;

/// Bridging pays if a ring has at least this many edges shorter than half a bridge.
const MANY: usize = 512;

/// Edges that have the same offset by `d` as `s`.
pub(in crate::geom) fn bridged(s: &Region, d: f64) -> Cow<'_, Region> {
    let longest = (8.0 * d.abs() * BRIDGE).sqrt();
    let short = |r: &Ring| {
        r.segments.iter().filter(|s| matches!(s, Segment::Line(l) if (l.end - l.start).hypot() < longest / 2.0)).count()
    };
    if s.rings.iter().all(|r| short(r) < MANY) {
        return Cow::Borrowed(s);
    }
    let rings = s.rings.iter().map(|r| if short(r) < MANY { r.clone() } else { ring(r, d, longest) });
    Cow::Owned(Region::new(rings.collect()))
}

fn ring(ring: &Ring, d: f64, longest: f64) -> Ring {
    let mut out: Vec<Segment> = Vec::new();
    // Corners of the current run of lines.
    let mut run: Vec<Point> = Vec::new();
    for s in &ring.segments {
        let Segment::Line(l) = s else {
            end_run(&mut run, &mut out);
            out.push(*s);
            continue;
        };
        if run.is_empty() {
            run.push(l.start);
        }
        let to = l.end;
        while let [.., a, b] = run[..] {
            let turn = (b - a).cross(to - b);
            if turn * d > 0.0 || (to - a).hypot() > longest {
                break;
            }
            run.pop();
        }
        run.push(to);
    }
    end_run(&mut run, &mut out);
    if out.len() < 3 { ring.clone() } else { Ring::new(out) }
}

fn end_run(run: &mut Vec<Point>, out: &mut Vec<Segment>) {
    // A pocket that closes completely leaves a corner twice.
    out.extend(run.windows(2).filter(|w| w[0] != w[1]).map(|w| Segment::line(w[0], w[1])));
    run.clear();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::edges::{EdgeIndex, sampled};
    use crate::geom::trig::unit;
    use std::f64::consts::TAU;

    /// A disc with small teeth: no point of the bridged edge lies on the wrong side by more than the depth of a bridged
    /// pocket. From |d| away the nearest distances agree within the bound.
    #[test]
    fn from_the_offset_away_it_looks_the_same() {
        let n = 12_000u32;
        let at = |k: u32| (unit(TAU * f64::from(k) / f64::from(n)) * (30.0 + f64::from(k * 7 % 5) * 0.01)).to_point();
        let s = Region::new(vec![Ring::polygon(&(0..n).map(at).collect::<Vec<_>>())]);
        for d in [7.0, -3.5] {
            let b = bridged(&s, d);
            assert!(b.rings[0].segments.len() < 8000, "{}", b.rings[0].segments.len());
            assert!((b.area() - s.area()) * d > 0.0);
            let (all, few) = (EdgeIndex::new(&s), EdgeIndex::new(&b));
            let ring = Region::new(vec![Ring::circle(Point::ORIGIN, 30.02 + d)]);
            for p in sampled(&ring, 0.05) {
                let (x, y) = (all.nearest(p).unwrap().distance, few.nearest(p).unwrap().distance);
                assert!(y <= x + 1e-12 && x - y <= BRIDGE, "{x} {y}");
            }
        }
    }

    #[test]
    fn what_is_not_dense_stays() {
        let s = Region::new(vec![Ring::circle(Point::ORIGIN, 30.0)]);
        assert!(matches!(bridged(&s, 5.0), Cow::Borrowed(_)));
    }
}
