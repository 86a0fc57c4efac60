//! How deep a point lies within what holds it up: its distance from the edge of a convex hull.
//!
//! In: points, mm; any number, in any order, also doubled ones. Out: the distance from the edge of their convex hull,
//! negative outside. Whether the point is inside is asked of the hull as a whole (`geo`): side by side it cannot be told,
//! since a hull may have sides so short that their direction is noise. Refuses nothing; no points hold nothing up.
//!
//! Where arcs of a disc's rim hold up its centre ([`in_disc`]) nothing lies farther out than they do, so only what lies
//! beyond the chords from arc to arc can be a corner of the hull besides: there are few such points, mostly none.

use super::{Point, Vec2, trig};
use geo::{Contains, ConvexHull, Coord, MultiPoint, Polygon};
use std::f64::consts::{PI, TAU};

/// Points that lie no farther beyond a chord are on it, mm.
const ON_CHORD: f64 = 1e-9;

/// Distance of `at` from the edge of the convex hull of `points`: positive inside, 0 or less outside; negative infinity
/// without points.
#[must_use]
pub fn depth(points: &[Point], at: Point) -> f64 {
    // Seen from the point, so that no digits are lost far from the origin.
    let seen: Vec<Coord<f64>> = points.iter().map(|p| coord(*p - at)).collect();
    let hull = hull_of(seen);
    let near = hull.exterior().lines().map(|s| from_origin(s.start, s.end)).fold(f64::INFINITY, f64::min);
    if near.is_infinite() {
        return f64::NEG_INFINITY;
    }
    if hull.contains(&Coord { x: 0.0, y: 0.0 }) { near } else { -near }
}

/// Distance of the centre of a disc from the edge of the convex hull of arcs of its rim and of points in it: positive
/// inside, 0 or less outside; negative infinity without any. `rim`: arcs from one angle on to another not less, radians,
/// sorted, no two with more in common than an end, the last before the first come round again; of no length they are
/// points. `inner`: seen from the centre, no farther from it than `radius` mm.
#[must_use]
pub fn in_disc(rim: &[(f64, f64)], radius: f64, inner: &[Vec2]) -> f64 {
    let Some(first) = rim.first() else {
        return depth(&inner.iter().map(|v| v.to_point()).collect::<Vec<_>>(), Point::ORIGIN);
    };
    let next = rim[1..].iter().map(|arc| arc.0).chain([first.0 + TAU]);
    let gaps = rim.iter().map(|arc| arc.1).zip(next).filter(|(from, to)| to > from);
    gaps.map(|gap| across(gap, radius, inner)).fold(radius, f64::min)
}

/// The same for what closes one gap in the rim.
fn across((from, to): (f64, f64), radius: f64, inner: &[Vec2]) -> f64 {
    let (middle, half) = (trig::unit(f64::midpoint(from, to)), (to - from) / 2.0);
    let chord = radius * trig::cos(half);
    let mut beyond: Vec<Coord<f64>> =
        inner.iter().filter(|v| v.dot(middle) > chord + ON_CHORD).map(|v| coord(*v)).collect();
    if beyond.is_empty() {
        return chord;
    }
    let ends = [from, to].map(|angle| coord(trig::unit(angle) * radius));
    beyond.extend(ends);
    let hull = hull_of(beyond);
    // The chord itself lies inside of what the arcs hold up.
    let is_chord = |s: &geo::Line<f64>| ends.contains(&s.start) && ends.contains(&s.end);
    let sides = hull.exterior().lines().filter(|s| !is_chord(s));
    let near = sides.map(|s| from_origin(s.start, s.end)).fold(f64::INFINITY, f64::min);
    if half < PI / 2.0 || hull.contains(&Coord { x: 0.0, y: 0.0 }) { near } else { -near }
}

fn coord(v: Vec2) -> Coord<f64> {
    Coord { x: v.x, y: v.y }
}

fn hull_of(points: Vec<Coord<f64>>) -> Polygon<f64> {
    MultiPoint::from(points).convex_hull()
}

/// Distance of the origin from the side from `a` to `b`, which may be one point.
fn from_origin(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let (vx, vy) = (b.x - a.x, b.y - a.y);
    let square = vx * vx + vy * vy;
    let t = if square > 0.0 { (-(a.x * vx + a.y * vy) / square).clamp(0.0, 1.0) } else { 0.0 };
    (a.x + t * vx).hypot(a.y + t * vy)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(all: &[(f64, f64)]) -> Vec<Point> {
        all.iter().map(|&p| p.into()).collect()
    }

    const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];

    #[test]
    fn inside_is_positive_and_outside_negative() {
        for (x, y, d) in [(5.0, 5.0, 5.0), (2.0, 5.0, 2.0), (-3.0, 5.0, -3.0), (13.0, 14.0, -5.0), (10.0, 4.0, 0.0)] {
            let found = depth(&points(&SQUARE), Point::new(x, y));
            assert!((found - d).abs() < 1e-12, "{x} {y}: {found}");
        }
        // A corner that points inwards is no corner of the hull.
        let notched = [&SQUARE[..], &[(5.0, 1.0)]].concat();
        assert!((depth(&points(&notched), Point::new(5.0, 9.0)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn doubled_points_and_sides_without_a_direction_change_nothing() {
        let at = Point::new(4.0, 5.0);
        let mut many = points(&SQUARE);
        for p in points(&SQUARE) {
            for (dx, dy) in [(0.0, 0.0), (1e-14, 0.0), (0.0, -1e-14), (-3e-15, 2e-15), (1e-13, 1e-13)] {
                many.push(Point::new(p.x + dx, p.y + dy));
            }
        }
        assert!((depth(&many, at) - 4.0).abs() < 1e-9, "{}", depth(&many, at));
        // The same on a circle, far off, with each point there again a hair beside itself.
        let round = |k: u32, off: f64| {
            let u = crate::geom::trig::unit(f64::from(k) * std::f64::consts::TAU / 360.0);
            Point::new(500.0, 300.0) + u * (75.0 + off)
        };
        let circle: Vec<Point> = (0..360).flat_map(|k| [round(k, 0.0), round(k, 0.0), round(k, 1e-14)]).collect();
        for (x, d) in [(500.0, 75.0), (540.0, 35.0), (570.0, 5.0), (580.0, -5.0)] {
            let found = depth(&circle, Point::new(x, 300.0));
            assert!((found - d).abs() < 0.005, "{x}: {found}");
        }
    }

    #[test]
    fn few_points_hold_nothing_up() {
        assert!(depth(&[], Point::ORIGIN) == f64::NEG_INFINITY);
        let one = points(&[(3.0, 4.0)]);
        assert!((depth(&one, Point::ORIGIN) + 5.0).abs() < 1e-12);
        let two = points(&[(-3.0, 4.0), (3.0, 4.0)]);
        assert!((depth(&two, Point::ORIGIN) + 4.0).abs() < 1e-12);
        let line = points(&[(-3.0, 0.0), (1.0, 0.0), (3.0, 0.0), (3.0, 0.0)]);
        assert!(depth(&line, Point::ORIGIN).abs() < 1e-12);
    }

    proptest::proptest! {
        /// Against the hull of all points, those of the rim a five-hundredth of a turn apart.
        #[test]
        fn arcs_of_a_rim_are_as_good_as_all_their_points(
            cuts in proptest::collection::vec((0.0..1.0f64, 0.0..1.0f64), 1..5),
            inner in proptest::collection::vec((0.0..TAU, 0.0..1.0f64), 0..9),
        ) {
            // Each cut a place for an arc, and how much of its room the arc takes: at times none.
            let mut starts: Vec<f64> = cuts.iter().map(|c| c.0 * TAU).collect();
            starts.sort_by(f64::total_cmp);
            let room = |i: usize| starts.get(i + 1).copied().unwrap_or(starts[0] + TAU) - starts[i];
            let rim: Vec<(f64, f64)> =
                starts.iter().enumerate().map(|(i, &a)| (a, a + room(i) * (cuts[i].1 - 0.3).max(0.0))).collect();
            let inner: Vec<Vec2> = inner.iter().map(|&(a, r)| trig::unit(a) * (75.0 * r.sqrt())).collect();
            let mut all = inner.clone();
            for &(a, b) in &rim {
                all.extend((0..=500).map(|k| trig::unit(a + (b - a) * f64::from(k) / 500.0) * 75.0));
            }
            let slow = depth(&all.iter().map(|v| v.to_point()).collect::<Vec<_>>(), Point::ORIGIN);
            let fast = in_disc(&rim, 75.0, &inner);
            proptest::prop_assert!((fast - slow).abs() < 0.005, "{fast}, of all points {slow}");
        }
    }
}
