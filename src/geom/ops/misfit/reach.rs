//! Whether a smaller tool reaches into a corner, shown by a free position of the tool.
//!
//! In: a corner's part with the outline's edges along it, the outline, a radius; mm. Out: whether a free position was
//! found from which no point of the corner is farther than allowed. A yes is certain: the position is compared with
//! every edge of the outline. A no is not certain.

use super::Misfit;
use crate::geom::index::edges::EdgeIndex;
use crate::geom::shape::{Point, Segment, Vec2};
use crate::tolerance::{REACH, ROUNDING, ROUNDING_SHARE, TOUCH};

/// Steps of Newton's method, which doubles the digits with each.
const STEPS: usize = 24;
impl Misfit {
    /// The largest radius, up to `most` mm, for which a tool provably leaves this corner short by at most `least` mm.
    /// `drawn`: the outline's edges. `lost`: the corner loses wood; else it gains wood. `None` if no such radius is
    /// found.
    #[must_use]
    pub fn reached_by(&self, drawn: &EdgeIndex, lost: bool, most: f64, least: f64) -> Option<f64> {
        let corner = CornerSides::from_misfit(self, drawn, lost)?;
        let start = most.min(self.largest_radius(least));
        if start <= 0.0 {
            return None;
        }
        if corner.reached(start, least) {
            return Some(start);
        }
        // Bisect between a radius that reaches the corner and a larger radius that fails.
        let mut does = [0.8, 0.6, 0.4, 0.2, 0.1, 0.02]
            .map(|k| self.radius + k * (start - self.radius))
            .into_iter()
            .find(|&t| corner.reached(t, least))?;
        let mut does_not = start;
        while does_not - does > REACH {
            let t = (does + does_not) / 2.0;
            if corner.reached(t, least) { does = t } else { does_not = t }
        }
        Some(does)
    }
}

/// The two sides of a corner, from its deepest point outward.
struct CornerSides<'a> {
    sides: [Vec<Segment>; 2],
    points: Vec<Point>,
    tip: Point,
    drawn: &'a EdgeIndex,
    lost: bool,
}

impl CornerSides<'_> {
    fn from_misfit<'a>(m: &Misfit, drawn: &'a EdgeIndex, lost: bool) -> Option<CornerSides<'a>> {
        let near = |s: &Segment| s.nearest(m.at).0;
        let k = (0..m.outline.len()).min_by(|&i, &j| near(&m.outline[i]).total_cmp(&near(&m.outline[j])))?;
        let (mut before, mut after) = (m.outline[..=k].to_vec(), m.outline[k..].to_vec());
        // An edge that ends at the tip belongs to one side only.
        let ends = [m.outline[k].start(), m.outline[k].end()].map(|p| (p - m.at).hypot());
        if ends[1] < TOUCH {
            after.remove(0);
        } else if ends[0] < TOUCH {
            before.pop();
        } else if let (Some(b), Some(a)) = (before.last_mut(), after.first_mut()) {
            let cut = m.outline[k];
            (*b, *a) = (cut.between(cut.start(), m.at), cut.between(m.at, cut.end()));
        }
        if before.is_empty() || after.is_empty() {
            return None;
        }
        let points = m.outline.iter().flat_map(|s| [0.0, 0.25, 0.5, 0.75, 1.0].map(|t| s.at(t))).chain([m.at]);
        Some(CornerSides { sides: [before, after], points: points.collect(), tip: m.at, drawn, lost })
    }

    /// Whether a tool of radius `t` has a free position that reaches the corner. All points of the corner's edges must
    /// lie within `least` of the tool or outside the sector between its contacts. Outside the sector the tool follows
    /// the sides.
    fn reached(&self, t: f64, least: f64) -> bool {
        let Some(center) = self.place(t) else { return false };
        let Some(n) = self.drawn.nearest(center) else { return false };
        let free = n.distance >= t - TOUCH && n.inside == self.lost;
        // Beyond the touching points the tool follows the sides on its way out of the corner.
        let touches = self.sides.each_ref().map(|s| nearest(s, center).1);
        let between = |p: Point| {
            let (u, v, w) = (touches[0] - center, touches[1] - center, p - center);
            let turn = u.cross(v);
            if turn >= 0.0 { u.cross(w) >= 0.0 && w.cross(v) >= 0.0 } else { u.cross(w) <= 0.0 && w.cross(v) <= 0.0 }
        };
        free && self.points.iter().chain([&self.tip]).all(|&p| (p - center).hypot() <= t + least + TOUCH || !between(p))
    }

    /// The position where a tool of radius `t` touches both sides.
    fn place(&self, t: f64) -> Option<Point> {
        // Into the part: away from the tip, between the far ends of the sides.
        let far = [self.sides[0].first()?.start(), self.sides[1].last()?.end()];
        let into = (far[0] - self.tip).normalize() + (far[1] - self.tip).normalize();
        let mut c = self.tip + if into.hypot() > ROUNDING { into.normalize() * t } else { return None };
        for _ in 0..STEPS {
            let [(d, p), (e, q)] = self.sides.each_ref().map(|s| nearest(s, c));
            let (m, n) = (unit(c - p)?, unit(c - q)?);
            let det = m.cross(n);
            if det.abs() < ROUNDING {
                return None;
            }
            let (a, b) = (t - d, t - e);
            let step = Vec2::new(a * n.y - b * m.y, m.x * b - n.x * a) / det;
            // No step longer than the tool's radius.
            let length = step.hypot();
            c += if length > t { step * (t / length) } else { step };
            if length < TOUCH / 10.0 {
                return Some(c);
            }
        }
        None
    }
}

fn nearest(side: &[Segment], p: Point) -> (f64, Point) {
    let all = side.iter().map(|s| s.nearest(p));
    all.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::INFINITY, p))
}

fn unit(v: Vec2) -> Option<Vec2> {
    let n = v.hypot();
    (n > ROUNDING_SHARE).then(|| v / n)
}
