//! Whether a mistake with the hand of a shouldered piece would show.
//!
//! In: plug and shoulder as made, mm. Out: their common mirror axis, if they have one. A shouldered inlay is cut with its
//! plug up and then turned over into the board, so it must be cut as the mirror image. With a common axis the piece is
//! its own mirror image.
//!
//! An axis is accepted only if reflection maps the edges onto themselves within [`FINDING_DEPTH`]. A missed axis causes
//! one note too many, never one too few. No errors. The rule follows from the reflections alone: plane geometry.

use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Point, Region, Segment, Vec2, trig};
use crate::tolerance::{FINDING_DEPTH, ROUNDING};

/// Greatest spacing of sampled points along an edge, mm.
const STEP: f64 = 0.1;

/// A common mirror axis of both regions, as a point and a direction; `None` if none is found.
#[must_use]
pub fn common_axis(plug: &Region, shoulder: &Region) -> Option<(Point, Vec2)> {
    let (a, b) = (AreaMoments::from_region(plug)?, AreaMoments::from_region(shoulder)?);
    let apart = b.centroid - a.centroid;
    let directions: Vec<Vec2> = if apart.hypot() > FINDING_DEPTH {
        vec![apart / apart.hypot()]
    } else if a.is_disc(plug) {
        b.directions(shoulder)
    } else {
        a.directions(plug)
    };
    // A common axis passes through both centroids.
    directions.into_iter().map(|d| (b.centroid, d)).find(|&(p, d)| mirrors(shoulder, p, d) && mirrors(plug, p, d))
}

/// Whether reflection in the line maps the region onto itself.
fn mirrors(region: &Region, on: Point, direction: Vec2) -> bool {
    let index = EdgeIndex::new(region);
    sampled(region, STEP).all(|p| {
        let v = p - on;
        let reflected = on + direction * (2.0 * v.dot(direction)) - v;
        index.nearest(reflected).is_some_and(|n| n.distance <= FINDING_DEPTH)
    })
}

/// First and second moments of a region's area.
struct AreaMoments {
    centroid: Point,
    /// ∫x², ∫xy, ∫y² about the centroid, over the area.
    second: [f64; 3],
}

impl AreaMoments {
    /// From the polygon through points [`STEP`] mm apart (Green's theorem).
    fn from_region(region: &Region) -> Option<AreaMoments> {
        let origin = region.bounds()?.center();
        let (mut area, mut first, mut second) = (0.0, Vec2::ZERO, [0.0; 3]);
        for ring in &region.rings {
            let points: Vec<Vec2> = sampled(&Region::new(vec![ring.clone()]), STEP).map(|p| p - origin).collect();
            for (i, p) in points.iter().enumerate() {
                let q = points[(i + 1) % points.len()];
                let w = p.cross(q);
                area += w / 2.0;
                first += (*p + q) * (w / 6.0);
                second[0] += w * (p.x * p.x + p.x * q.x + q.x * q.x) / 12.0;
                second[1] += w * (2.0 * p.x * p.y + p.x * q.y + q.x * p.y + 2.0 * q.x * q.y) / 24.0;
                second[2] += w * (p.y * p.y + p.y * q.y + q.y * q.y) / 12.0;
            }
        }
        if area.abs() < ROUNDING {
            return None;
        }
        let c = first / area;
        let [xx, xy, yy] = second.map(|m| m / area);
        Some(AreaMoments { centroid: origin + c, second: [xx - c.x * c.x, xy - c.x * c.y, yy - c.y * c.y] })
    }

    fn is_disc(&self, region: &Region) -> bool {
        let far = |p: Point| (p - self.centroid).hypot();
        let (least, most) =
            sampled(region, STEP).map(far).fold((f64::INFINITY, 0.0_f64), |(l, m), d| (l.min(d), m.max(d)));
        most - least <= FINDING_DEPTH
    }

    /// Candidate directions of an axis: the principal axes of the area, and bisectors between points farthest from the
    /// centroid. An axis maps farthest points to farthest points, so one of them is paired with each.
    fn directions(&self, region: &Region) -> Vec<Vec2> {
        let [xx, xy, yy] = self.second;
        let principal = trig::angle(Vec2::new(xx - yy, 2.0 * xy)) / 2.0;
        let mut all = vec![trig::unit(principal), trig::left(trig::unit(principal))];
        let extreme: Vec<Vec2> = region.segments().flat_map(|s| self.extremes(s)).collect();
        let most = extreme.iter().map(|v| v.hypot()).fold(0.0, f64::max);
        let far: Vec<f64> = extreme.into_iter().filter(|v| v.hypot() > most - FINDING_DEPTH).map(trig::angle).collect();
        if let Some(first) = far.first() {
            all.extend(far.iter().map(|other| trig::unit((first + other) / 2.0)));
        }
        all
    }

    /// Relative to the centroid: the start of an edge, and an arc's farthest point.
    fn extremes(&self, s: &Segment) -> Vec<Vec2> {
        let mut all = vec![s.start() - self.centroid];
        if let Segment::Arc(a) = s {
            let out = a.center - self.centroid;
            if out.hypot() > FINDING_DEPTH && a.spans(out) {
                all.push(out + out / out.hypot() * a.radius);
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Affine, Ring};

    fn polygon(points: &[(f64, f64)]) -> Region {
        Region::new(vec![Ring::polygon(&points.iter().map(|&p| Point::from(p)).collect::<Vec<_>>())])
    }

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Region {
        polygon(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    }

    fn disc(x: f64, y: f64, r: f64) -> Region {
        Region::new(vec![Ring::circle(Point::new(x, y), r)])
    }

    #[test]
    fn each_has_an_axis_and_the_pair_has_none() {
        let shoulder = rectangle(0.0, 0.0, 80.0, 50.0);
        assert!(common_axis(&rectangle(10.0, 8.0, 20.0, 20.0), &shoulder).is_none());
        // Half way up there is an axis again, along the rectangle.
        let (_, d) = common_axis(&rectangle(10.0, 15.0, 20.0, 20.0), &shoulder).unwrap();
        assert!(d.y.abs() < 1e-9, "{d:?}");
    }

    #[test]
    fn any_direction_and_any_number() {
        assert!(common_axis(&disc(3.0, 4.0, 15.0), &disc(10.0, -2.0, 30.0)).is_some());
        assert!(common_axis(&disc(0.0, 0.0, 15.0), &rectangle(-20.0, -20.0, 40.0, 40.0)).is_some());
        // A square turned by 0.3 in a disc, off its centre along a diagonal and beside it.
        let turned = |m: Affine| rectangle(-10.0, -10.0, 20.0, 20.0).under_similarity(m);
        let square = turned(Affine::rotate(0.3));
        let on = trig::unit(0.3 + std::f64::consts::FRAC_PI_4) * 5.0;
        let beside = trig::unit(0.5) * 5.0;
        assert!(common_axis(&square, &disc(on.x, on.y, 30.0)).is_some());
        assert!(common_axis(&square, &disc(beside.x, beside.y, 30.0)).is_none());
    }

    #[test]
    fn a_parallelogram_turns_but_has_no_axis() {
        let skew = polygon(&[(-30.0, -10.0), (20.0, -10.0), (30.0, 10.0), (-20.0, 10.0)]);
        assert!(common_axis(&disc(0.0, 0.0, 5.0), &skew).is_none());
    }
}
