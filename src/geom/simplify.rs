//! Dense traces with fewer edges: runs of short lines become longer lines.
//!
//! In: a ring, a tolerance in mm. Out: a ring through some of its corners. Every corner left out lies within the
//! tolerance of the line that stands for it, and the run goes forward along that line all the way; so each point of
//! either ring lies within the tolerance of the other, and a point farther than that from the edge stays inside or
//! outside. Each left-out corner is measured again before a line is taken. Arcs stay as they are.
//!
//! The cone that narrows with each corner is after Imai and Iri (Polygonal approximations of a curve, 1988).

use super::{Line, Point, Ring, Segment, Vec2};

/// The ring with lines joined within `tolerance` mm.
#[must_use]
pub fn simplified(ring: &Ring, tolerance: f64) -> Ring {
    let mut out: Vec<Segment> = Vec::new();
    let mut run: Vec<Point> = Vec::new();
    for s in &ring.segments {
        match s {
            Segment::Line(l) => {
                if run.is_empty() {
                    run.push(l.start);
                }
                run.push(l.end);
            }
            Segment::Arc(_) => {
                lines(&std::mem::take(&mut run), tolerance, &mut out);
                out.push(*s);
            }
        }
    }
    lines(&run, tolerance, &mut out);
    if out.len() > 2 { Ring::new(out) } else { ring.clone() }
}

fn lines(run: &[Point], tolerance: f64, out: &mut Vec<Segment>) {
    let mut i = 0;
    while i + 1 < run.len() {
        let j = reach(run, i, tolerance);
        let line = Segment::line(run[i], run[j]);
        // Rounding at most: then the corners are kept.
        if run[i..=j].iter().all(|p| line.nearest(*p).0 <= tolerance) {
            out.push(line);
        } else {
            out.extend(run[i..=j].windows(2).map(|w| Segment::Line(Line { start: w[0], end: w[1] })));
        }
        i = j;
    }
}

/// The farthest corner to which a line from corner `i` passes all between within the tolerance, going forward.
fn reach(run: &[Point], i: usize, tolerance: f64) -> usize {
    let mut best = i + 1;
    let mut cone: Option<(Vec2, Vec2)> = None;
    for j in i + 1..run.len() {
        let v = run[j] - run[i];
        let h = v.hypot();
        if h <= tolerance {
            continue;
        }
        let forward = (run[j] - run[j - 1]).dot(v) > 0.0;
        let seen = cone.is_none_or(|(right, left)| right.cross(v) >= 0.0 && v.cross(left) >= 0.0 && right.dot(v) > 0.0);
        if !forward || !seen {
            break;
        }
        best = j;
        let sine = tolerance / h;
        let cosine = (1.0 - sine * sine).sqrt();
        let turned = |s: f64| Vec2::new(v.x * cosine - v.y * s, v.x * s + v.y * cosine);
        let (mut right, mut left) = (turned(-sine), turned(sine));
        if let Some((r, l)) = cone {
            right = if r.cross(right) > 0.0 { right } else { r };
            left = if left.cross(l) > 0.0 { left } else { l };
        }
        cone = Some((right, left));
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Region;
    use crate::geom::edges::{EdgeIndex, sampled};
    use crate::geom::trig::unit;
    use std::f64::consts::TAU;

    fn apart(a: &Ring, b: &Ring) -> f64 {
        let (a, b) = (Region::new(vec![a.clone()]), Region::new(vec![b.clone()]));
        let off = |from: &Region, to: &Region| {
            let index = EdgeIndex::new(to);
            sampled(from, 0.5).filter_map(|p| index.nearest(p)).map(|n| n.distance).fold(0.0, f64::max)
        };
        off(&a, &b).max(off(&b, &a))
    }

    /// A chord of sagitta s spans 2·acos(1 − s/r); corners lie on the circle and a line may pass up to the tolerance
    /// outside or inside them, so a line spans at most twice the square root of two of that.
    #[test]
    fn a_finely_traced_circle_becomes_few_lines() {
        let (n, r, tolerance) = (100_000u32, 50.0, 0.002);
        let ring = Ring::polygon(
            &(0..n).map(|k| (unit(TAU * f64::from(k) / f64::from(n)) * r).to_point()).collect::<Vec<_>>(),
        );
        let few = simplified(&ring, tolerance);
        let chords = TAU / (2.0 * crate::geom::trig::acos(1.0 - tolerance / r));
        #[allow(clippy::cast_precision_loss)]
        let count = few.segments.len() as f64;
        assert!(count <= chords + 2.0 && count > chords / 3.0, "{count} lines, {chords} chords");
        assert!(apart(&ring, &few) <= tolerance * 1.000_001);
    }

    #[test]
    fn corners_stay_and_points_on_a_side_go() {
        let p = Point::new;
        let side = |a: Point, b: Point| (0..10).map(move |k| a.lerp(b, f64::from(k) / 10.0));
        let c = [p(0.0, 0.0), p(40.0, 0.0), p(40.0, 30.0), p(0.0, 30.0)];
        let points: Vec<Point> = (0..4).flat_map(|i| side(c[i], c[(i + 1) % 4])).collect();
        assert_eq!(simplified(&Ring::polygon(&points), 0.002), Ring::polygon(&c));
    }

    /// To and fro by less and by more than the tolerance.
    #[test]
    fn a_saw_goes_only_if_its_teeth_are_small_enough() {
        let saw = |tooth: f64| {
            let mut points: Vec<Point> =
                (0..200).map(|k| Point::new(f64::from(k) * 0.1, if k % 2 == 0 { 0.0 } else { tooth })).collect();
            points.extend([Point::new(20.0, 10.0), Point::new(0.0, 10.0)]);
            Ring::polygon(&points)
        };
        let (fine, coarse) = (saw(0.001), saw(0.01));
        assert!(simplified(&fine, 0.002).segments.len() < 10);
        assert_eq!(simplified(&coarse, 0.002), coarse);
        assert!(apart(&fine, &simplified(&fine, 0.002)) <= 0.002);
    }

    #[test]
    fn arcs_are_left_alone() {
        let ring = Ring::circle(Point::new(3.0, 4.0), 5.0);
        assert_eq!(simplified(&ring, 0.002), ring);
    }
}
