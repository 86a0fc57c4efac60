//! Places the balloons of the marks on a frame around the drawing. No two overlap, and leaders seldom cross.
//!
//! In: the marked points and the drawing's bounding box, mm on the page. Out: one slot of the frame for each point, no
//! slot twice. Slots are farther apart than a balloon is wide. Exchanging the balloons of two crossing leaders shortens
//! the leaders, so a search for short leaders uncrosses them. The search ends at a local minimum: no single move or
//! exchange lowers the cost. Among equal costs, the order of the points decides.

use super::glyph::{REACH, RING};
use crate::geom::{Point, Rect, Vec2};

/// Distance of the balloons' centres from the drawing's bounding box, mm.
pub(super) const OFF: f64 = 8.0;
/// Least distance of two balloons' centres, mm.
pub(super) const APART: f64 = 2.0 * REACH + 0.4;
/// Cost of two crossing leaders, and of a leader over another mark's balloon or ring, in mm of leader.
const CROSSING: f64 = 80.0;
const OVER_BALLOON: f64 = 60.0;
const OVER_RING: f64 = 6.0;
/// Most rounds of the search: a guard against an endless loop.
const ROUNDS: usize = 200;

/// The centre of each point's balloon.
pub(super) fn placed(points: &[Point], drawn: Rect) -> Vec<Point> {
    let mut frame = drawn.inflate(OFF, OFF);
    let mut slots = slots(frame);
    while slots.len() < points.len() {
        frame = frame.inflate(APART, APART);
        slots = self::slots(frame);
    }
    let mut at = first(points, &slots);
    let mut taken = vec![false; slots.len()];
    at.iter().for_each(|s| taken[*s] = true);
    for _ in 0..ROUNDS {
        if !bettered(points, &slots, &mut at, &mut taken) {
            break;
        }
    }
    at.into_iter().map(|s| slots[s]).collect()
}

/// The slots of a frame, spread evenly along each side.
fn slots(frame: Rect) -> Vec<Point> {
    let (nx, ny) = ((frame.width() / APART).floor().max(1.0), (frame.height() / APART).floor().max(1.0));
    let mut out = Vec::new();
    for i in 0..=nx as usize {
        let x = frame.x0 + frame.width() * i as f64 / nx;
        out.extend([Point::new(x, frame.y0), Point::new(x, frame.y1)]);
    }
    for j in 1..ny as usize {
        let y = frame.y0 + frame.height() * j as f64 / ny;
        out.extend([Point::new(frame.x0, y), Point::new(frame.x1, y)]);
    }
    out
}

/// The start of the search: each point, in order, takes the nearest free slot.
fn first(points: &[Point], slots: &[Point]) -> Vec<usize> {
    let mut free: Vec<usize> = (0..slots.len()).collect();
    let mut at = Vec::new();
    for p in points {
        let far = |s: &usize| (slots[*s] - *p).hypot2();
        if let Some(k) = (0..free.len()).min_by(|a, b| far(&free[*a]).total_cmp(&far(&free[*b]))) {
            at.push(free.swap_remove(k));
        }
    }
    at
}

/// Makes every move and exchange that lowers the cost. Returns whether it made any.
fn bettered(points: &[Point], slots: &[Point], at: &mut [usize], taken: &mut [bool]) -> bool {
    let cost = |at: &[usize], i: usize| -> f64 {
        let others = (0..at.len()).filter(|j| *j != i);
        let own = (slots[at[i]] - points[i]).hypot();
        own + others.map(|j| between((points[i], slots[at[i]]), (points[j], slots[at[j]]))).sum::<f64>()
    };
    let mut gained = false;
    for i in 0..at.len() {
        let mut own = cost(at, i);
        for s in 0..slots.len() {
            let old = at[i];
            if s == old {
                continue;
            }
            // The length of its leader is a lower bound of a balloon's cost.
            let length = |n: usize, s: usize| (slots[s] - points[n]).hypot();
            if !taken[s] {
                if length(i, s) >= own {
                    continue;
                }
                at[i] = s;
                let after = cost(at, i);
                if after < own - 1e-6 {
                    (taken[old], taken[s], gained) = (false, true, true);
                    own = after;
                } else {
                    at[i] = old;
                }
                continue;
            }
            let Some(k) = at.iter().position(|a| *a == s) else { continue };
            let both = |at: &[usize]| {
                let line = |n: usize| (points[n], slots[at[n]]);
                // The cost between the two counts once.
                cost(at, i) + cost(at, k) - between(line(i), line(k))
            };
            let before = both(at);
            if length(i, s) + length(k, old) >= before {
                continue;
            }
            at.swap(i, k);
            if both(at) < before - 1e-6 {
                gained = true;
                own = cost(at, i);
            } else {
                at.swap(i, k);
            }
        }
    }
    gained
}

/// The cost between two marks, each a point and its balloon.
fn between(a: (Point, Point), b: (Point, Point)) -> f64 {
    let mut cost = 0.0;
    if cross(a, b) {
        cost += CROSSING;
    }
    for (one, other) in [(a, b), (b, a)] {
        if distance(one, other.1) < REACH + 0.3 {
            cost += OVER_BALLOON;
        }
        // For marks at one place this cannot be avoided.
        if (one.0 - other.0).hypot() > 2.0 * RING && distance(one, other.0) < RING + 0.2 {
            cost += OVER_RING;
        }
    }
    cost
}

/// Whether two lines cross. Lines with a common start do not cross.
pub(super) fn cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side = |l: (Point, Point), p: Point| (l.1 - l.0).cross(p - l.0);
    let split = |l: (Point, Point), m: (Point, Point)| side(l, m.0) * side(l, m.1) < -1e-9;
    split(a, b) && split(b, a)
}

/// Distance of `p` from the line between two points.
fn distance(l: (Point, Point), p: Point) -> f64 {
    let (v, w): (Vec2, Vec2) = (l.1 - l.0, p - l.0);
    let t = if v.hypot2() > 0.0 { (v.dot(w) / v.hypot2()).clamp(0.0, 1.0) } else { 0.0 };
    (w - v * t).hypot()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn leaders_to_the_corners_of_a_box_are_short_and_do_not_cross() {
        let b = Rect::new(0.0, 0.0, 100.0, 60.0);
        let points = [(100.0, 60.0), (0.0, 0.0), (100.0, 0.0), (0.0, 60.0)].map(Point::from);
        for (p, at) in points.iter().zip(placed(&points, b)) {
            assert!((at - *p).hypot() < 1.5 * OFF, "{p} {at}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

        /// For any places: each has a balloon, all lie outside the box, and no two overlap.
        #[test]
        fn balloons_do_not_overlap(
            w in 1.0..160.0f64, h in 1.0..120.0f64,
            places in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 0..=30),
        ) {
            let b = Rect::new(10.0, 20.0, 10.0 + w, 20.0 + h);
            let points: Vec<Point> = places.iter().map(|p| Point::new(10.0 + p.0 * w, 20.0 + p.1 * h)).collect();
            let at = placed(&points, b);
            prop_assert_eq!(at.len(), points.len());
            for (i, a) in at.iter().enumerate() {
                prop_assert!(!b.inflate(REACH, REACH).contains(*a), "{a} is over the drawing");
                for c in &at[..i] {
                    prop_assert!((*a - *c).hypot() >= 2.0 * REACH, "{a} and {c} overlap");
                }
            }
        }

        /// For places along the edge, such as corners, no leaders cross.
        #[test]
        fn leaders_of_few_places_do_not_cross(places in prop::collection::vec(0.0..360.0f64, 1..9)) {
            let middle = Point::new(80.0, 60.0);
            let on = |a: &f64| middle + crate::geom::trig::unit(a.to_radians()) * 45.0;
            let points: Vec<Point> = places.iter().map(on).collect();
            let at = placed(&points, Rect::from_center_size(middle, (90.0, 90.0)));
            for i in 0..at.len() {
                for j in 0..i {
                    prop_assert!(!cross((points[i], at[i]), (points[j], at[j])));
                }
            }
        }
    }
}
