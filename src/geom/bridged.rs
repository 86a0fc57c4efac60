//! Fewer corners for an offset: pockets of a dense outline that a disc of the offset's radius does not feel are bridged.
//!
//! In: a region, the signed distance d, mm. Out: edges whose offset is that of the region to within [`BRIDGE`]; for the
//! operation only, the certificate goes by the region itself.
//!
//! For growing, a corner that points inward is left out where the line between its neighbours is short: that adds the
//! triangle, so what is grown is no less. All ends of such lines are corners of the region; a point at |d| from a line of
//! length c is at most `√(d² + c²/4)`, that is |d| + c²/(8|d|), from one of them, so it is no more either than the
//! offset by that. For shrinking the same from the other side, with corners that point outward. The lines may cross
//! others: by positive winding a triangle that is added, or taken off, is just that. Arcs and long edges stay.

use super::{Point, Region, Ring, Segment};
use crate::tolerance::BRIDGE;
use std::borrow::Cow;

/// Where so many edges on a ring are shorter than a bridge, it is worth it.
const MANY: usize = 512;

/// The edges that do for the offset of `s` by `d`.
pub(super) fn bridged(s: &Region, d: f64) -> Cow<'_, Region> {
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
    // Corners of the run of lines that is being gone along.
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
    // A pocket that closes to nothing leaves a corner twice.
    out.extend(run.windows(2).filter(|w| w[0] != w[1]).map(|w| Segment::line(w[0], w[1])));
    run.clear();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::edges::{EdgeIndex, sampled};
    use crate::geom::trig::unit;
    use std::f64::consts::TAU;

    /// A disc with small teeth: no point of the bridged edge lies on the wrong side by more than a bridge's pocket is deep,
    /// and from |d| away nearest distances are the same to within the bound.
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
