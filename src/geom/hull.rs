//! How deep a point lies within what holds it up: its distance from the edge of a convex hull.
//!
//! In: points, mm; any number, in any order, also doubled ones. Out: the distance from the edge of their convex hull,
//! negative outside. Whether the point is inside is asked of the hull as a whole (`geo`): side by side it cannot be told,
//! since a hull may have sides so short that their direction is noise. Refuses nothing; no points hold nothing up.

use super::Point;
use geo::{Contains, ConvexHull, Coord, MultiPoint, Polygon};

/// Distance of `at` from the edge of the convex hull of `points`: positive inside, 0 or less outside; negative infinity
/// without points.
#[must_use]
pub fn depth(points: &[Point], at: Point) -> f64 {
    let coord = |p: &Point| Coord { x: p.x, y: p.y };
    // Seen from the point, so that no digits are lost far from the origin.
    let seen: Vec<Point> = points.iter().map(|p| (*p - at).to_point()).collect();
    let hull: Polygon<f64> = MultiPoint::from(seen.iter().map(coord).collect::<Vec<_>>()).convex_hull();
    let corners = &hull.exterior().0;
    let sides = corners.windows(2).map(|s| from_origin(s[0], s[1]));
    let near = sides.fold(f64::INFINITY, f64::min);
    if near.is_infinite() {
        return f64::NEG_INFINITY;
    }
    if hull.contains(&Coord { x: 0.0, y: 0.0 }) { near } else { -near }
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
}
