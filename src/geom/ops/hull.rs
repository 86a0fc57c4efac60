//! How far a point lies inside its support: its distance from the edge of a convex hull.
//!
//! In: points, mm; any number, in any order, repeated or not. Out: the distance from the edge of their convex hull,
//! negative outside. Containment is tested against the whole hull (`geo`), not side by side: a hull may have sides so
//! short that their direction is noise. No errors; without points there is no support.
//!
//! [`in_disc`] treats support by arcs of a disc's rim around its centre. No point lies farther out than the arcs. So
//! only points beyond the chords between the arcs can be further corners of the hull: few, usually none.

use crate::geom::shape::{Point, Vec2, trig};
use crate::tolerance::ON_CHORD;
use geo::{Contains, ConvexHull, Coord, MultiPoint, Polygon};
use std::f64::consts::TAU;

/// Distance of `at` from the edge of the convex hull of `points`, mm: positive inside, 0 or less outside. Negative
/// infinity without points.
#[must_use]
pub fn depth(points: &[Point], at: Point) -> f64 {
    // Coordinates relative to the point, so that no digits are lost far from the origin.
    let seen: Vec<Coord<f64>> = points.iter().map(|p| coord(*p - at)).collect();
    let hull = hull_of(seen);
    let near = hull.exterior().lines().map(|s| from_origin(s.start, s.end)).fold(f64::INFINITY, f64::min);
    if near.is_infinite() {
        return f64::NEG_INFINITY;
    }
    if hull.contains(&Coord { x: 0.0, y: 0.0 }) { near } else { -near }
}

/// Distance of a disc's centre from the edge of the convex hull of rim arcs and inner points. It is positive inside, 0
/// or less outside, and negative infinity without any.
///
/// `rim`: arcs as (start, end) angles, radians, start ≤ end, sorted. They share at most end points, and the last ends
/// before the first repeats. An arc without length is a point. `inner`: points relative to the centre, within `radius`
/// mm of it.
#[must_use]
pub fn in_disc(rim: &[(f64, f64)], radius: f64, inner: &[Vec2]) -> f64 {
    let Some(first) = rim.first() else {
        return depth(&inner.iter().map(|v| v.to_point()).collect::<Vec<_>>(), Point::ORIGIN);
    };
    let next = rim[1..].iter().map(|arc| arc.0).chain([first.0 + TAU]);
    let gaps = rim.iter().map(|arc| arc.1).zip(next).filter(|(from, to)| to > from);
    gaps.map(|gap| across(gap, radius, inner)).fold(radius, f64::min)
}

/// The same for the part of the hull that closes one gap in the rim.
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
    // The chord itself lies inside the hull of the arcs.
    let is_chord = |s: &geo::Line<f64>| ends.contains(&s.start) && ends.contains(&s.end);
    let sides = hull.exterior().lines().filter(|s| !is_chord(s));
    let near = sides.map(|s| from_origin(s.start, s.end)).fold(f64::INFINITY, f64::min);
    // A centre on the chord lies inside: the hull of the arcs goes on beyond it.
    if chord >= -ON_CHORD || hull.contains(&Coord { x: 0.0, y: 0.0 }) { near } else { -near }
}

fn coord(v: Vec2) -> Coord<f64> {
    Coord { x: v.x, y: v.y }
}

fn hull_of(points: Vec<Coord<f64>>) -> Polygon<f64> {
    MultiPoint::from(points).convex_hull()
}

/// Distance of the origin from the side from `a` to `b`, which may coincide.
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
        // A concave corner is no corner of the hull.
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
        // The same on a circle far from the origin, with each point repeated slightly off itself.
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
        /// Compared with the hull of all points, those of the rim a five-hundredth of a turn apart.
        #[test]
        fn arcs_of_a_rim_are_as_good_as_all_their_points(
            cuts in proptest::collection::vec((0.0..1.0f64, 0.0..1.0f64), 1..5),
            inner in proptest::collection::vec((0.0..TAU, 0.0..1.0f64), 0..9),
        ) {
            // Each cut is a place for an arc and the share of its room that the arc takes, sometimes none.
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

    /// Arcs over half the rim, and a point at 90° beyond their chord, which goes through the centre: the nearest sides lead
    /// from the point to the ends of the arcs, at 75/√2.
    #[test]
    fn a_centre_on_the_chord_lies_inside() {
        use std::f64::consts::PI;
        for turn in [0.0, 0.3, 1.0, 2.214_297_435_588_181] {
            let half = [(turn, turn + PI)];
            let beyond = [trig::unit(turn - PI / 2.0) * 75.0];
            let found = in_disc(&half, 75.0, &beyond);
            assert!((found - 75.0 / 2f64.sqrt()).abs() < 1e-6, "{turn}: {found}");
        }
    }
}
