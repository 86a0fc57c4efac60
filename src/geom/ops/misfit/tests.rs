//! Misfits compared with closed forms.

use super::*;
use crate::geom::ops::enclosed;
use crate::geom::shape::{Arc, FillRule};
use std::f64::consts::PI;

fn region(points: &[(f64, f64)]) -> Certified<Region> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    enclosed(&[Ring::polygon(&points)], FillRule::NonZero, &Budget::unlimited()).unwrap()
}

fn not_reached(s: &Certified<Region>, r: f64) -> Vec<Misfit> {
    unreached(s, r, 0.02, &Budget::unlimited()).unwrap().parts
}

/// A tool of radius t in a corner of interior angle θ, drawn with radius ρ. By elementary geometry the shortfall is
/// `(t − ρ)(1/sin(θ/2) − 1)`, and the area `(t² − ρ²)(cot(θ/2) − (π − θ)/2)`. Here ρ = 0.
#[test]
fn corners_of_known_angles() {
    for degrees in [36.0f64, 60.0, 90.0, 120.0] {
        let half = degrees.to_radians() / 2.0;
        // An isosceles triangle with the angle at the origin; its other corners are ignored.
        let (x, y) = (60.0 * cos(half), 60.0 * crate::geom::trig::sin(half));
        let found = not_reached(&region(&[(0.0, 0.0), (x, -y), (x, y)]), 3.0);
        assert_eq!(found.len(), 3, "{degrees}");
        let m = found.iter().min_by(|a, b| a.at.x.total_cmp(&b.at.x)).unwrap();
        assert!(m.is_corner() && m.radius == 0.0 && m.at.to_vec2().hypot() < 1e-6, "{m:?}");
        let k = 1.0 / crate::geom::trig::sin(half) - 1.0;
        assert!((m.depth - 3.0 * k).abs() < 1e-6, "{degrees}: {}", m.depth);
        let area = 9.0 * (1.0 / crate::geom::trig::tan(half) - (PI - 2.0 * half) / 2.0);
        assert!((m.area - area).abs() < 1e-5, "{degrees}: {} {area}", m.area);
    }
}

fn rounded(w: f64, h: f64, r: f64) -> Certified<Region> {
    let p = Point::new;
    let corners = [(w - r, r, w - r, 0.0, w, r), (w - r, h - r, w, h - r, w - r, h)];
    let corners: Vec<_> = corners
        .into_iter()
        .chain([(r, h - r, r, h, 0.0, h - r), (r, r, 0.0, r, r, 0.0)])
        .map(|(cx, cy, sx, sy, ex, ey)| Arc {
            center: p(cx, cy),
            start: p(sx, sy),
            end: p(ex, ey),
            radius: r,
            ccw: true,
        })
        .collect();
    let mut ring = Vec::new();
    for (i, a) in corners.iter().enumerate() {
        ring.push(Segment::Arc(*a));
        ring.push(Segment::line(a.end, corners[(i + 1) % 4].start));
    }
    enclosed(&[Ring::new(ring)], FillRule::NonZero, &Budget::unlimited()).unwrap()
}

#[test]
fn a_fillet_is_measured_on_its_arc() {
    let found = not_reached(&rounded(60.0, 40.0, 2.0), 3.0);
    assert_eq!(found.len(), 4);
    for m in &found {
        assert!(m.is_corner() && (m.radius - 2.0).abs() < 1e-9, "{m:?}");
        assert!((m.depth - 0.414_213_562).abs() < 1e-6);
    }
    assert!(not_reached(&rounded(60.0, 40.0, 3.0), 3.0).is_empty());
}

#[test]
fn a_circle_of_a_hundred_sides_has_no_misfit() {
    let points: Vec<(f64, f64)> =
        (0..100).map(|k| crate::geom::trig::unit(f64::from(k) * PI / 50.0) * 30.0).map(|v| (v.x, v.y)).collect();
    assert!(not_reached(&region(&points), 3.0).is_empty());
}

#[test]
fn arms_and_necks_are_measured() {
    // A limb 5 wide on a block.
    let limb = region(&[
        (0.0, -20.0),
        (40.0, -20.0),
        (40.0, 20.0),
        (0.0, 20.0),
        (0.0, 2.5),
        (-15.0, 2.5),
        (-15.0, -2.5),
        (0.0, -2.5),
    ]);
    let found: Vec<Misfit> = not_reached(&limb, 3.0).into_iter().filter(|m| !m.is_corner()).collect();
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].stretches, 1);
    assert!((found[0].width.unwrap() - 5.0).abs() < 1e-6, "{:?}", found[0].width);
    // Two blocks with a neck 4 wide between them.
    let neck = region(&[
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 13.0),
        (45.0, 13.0),
        (45.0, 0.0),
        (75.0, 0.0),
        (75.0, 30.0),
        (45.0, 30.0),
        (45.0, 17.0),
        (30.0, 17.0),
        (30.0, 30.0),
        (0.0, 30.0),
    ]);
    let found: Vec<Misfit> = not_reached(&neck, 3.0).into_iter().filter(|m| !m.is_corner()).collect();
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].stretches, 2);
    assert!((found[0].width.unwrap() - 4.0).abs() < 1e-6, "{:?}", found[0].width);
    // The gap between the blocks is 15 wide: closed by 8, kept by 7.
    let gaps = |o| filled(&neck, o, 0.02, &Budget::unlimited()).unwrap().parts;
    assert!(gaps(7.0).iter().all(Misfit::is_corner));
    let closed: Vec<Misfit> = gaps(8.0).into_iter().filter(|m| !m.is_corner()).collect();
    assert_eq!(closed.len(), 2);
    assert!(closed.iter().all(|m| (m.width.unwrap() - 15.0).abs() < 1e-6), "{closed:?}");
}

/// A cutter leaves four separate corners of a rectangle, not a rim, however the rectangle is turned.
#[test]
fn corners_that_share_their_sides_are_distinguished() {
    for degrees in [0.0f64, 17.0, 45.0] {
        let v = crate::geom::trig::unit(degrees.to_radians());
        let at = |x: f64, y: f64| (x * v.x - y * v.y, x * v.y + y * v.x);
        let s = region(&[at(0.0, 0.0), at(8.25, 0.0), at(8.25, 12.37), at(0.0, 12.37)]);
        let found = not_reached(&s, 3.0);
        assert_eq!(found.len(), 4, "{degrees}");
        assert!(found.iter().all(|m| m.is_corner() && (m.depth - 1.242_640_7).abs() < 1e-6), "{found:?}");
    }
}

/// Small steps along a slope are corners, single or combined, not necks: the cutter passes beside them.
#[test]
fn steps_are_corners() {
    let mut points = vec![(60.0, -10.0), (60.0, 30.0), (-20.0, 30.0), (-20.0, 0.0)];
    points
        .extend((0..40).flat_map(|k| [(f64::from(k), -0.25 * f64::from(k)), (f64::from(k + 1), -0.25 * f64::from(k))]));
    let found = not_reached(&region(&points), 3.5);
    assert!(found.len() > 20 && found.iter().all(|m| m.is_corner() && m.turn < 2.0), "{found:?}");
}

/// A limb slightly narrower than the cutter, only in its middle: two thin strips with straight sides, and no corner.
#[test]
fn the_sides_of_a_waist_are_no_corners() {
    let p = Point::new;
    let side = Segment::from_bulge(p(7.98, -40.0), p(7.98, 40.0), -0.02);
    let lines = [(7.98, 40.0), (30.0, 60.0), (-30.0, 60.0), (0.0, 40.0), (0.0, -40.0), (-30.0, -60.0), (30.0, -60.0)];
    let mut ring = vec![side];
    let corners: Vec<Point> = lines.iter().map(|&(x, y)| p(x, y)).chain([p(7.98, -40.0)]).collect();
    ring.extend(corners.windows(2).map(|w| Segment::line(w[0], w[1])));
    let s = enclosed(&[Ring::new(ring)], FillRule::NonZero, &Budget::unlimited()).unwrap();
    let waist: Vec<Misfit> = not_reached(&s, 4.0).into_iter().filter(|m| m.at.y.abs() < 35.0).collect();
    assert!(!waist.is_empty() && waist.iter().all(|m| !m.is_corner() && m.width.unwrap() < 8.0), "{waist:?}");
}

/// A bow-tie's corners in closed form, from the angles 74.054604° and 211.890792°. With a cutter of radius 3 an inside
/// corner is short by 1.981771 mm (3.610638 mm²). With the offset o = 7 an outside corner is short by 0.280110 mm
/// (0.363317 mm²).
#[test]
fn bow_tie_corners() {
    let s = region(&[(-35.0, -18.0), (0.0, -8.0), (35.0, -18.0), (35.0, 18.0), (0.0, 8.0), (-35.0, 18.0)]);
    let inside = not_reached(&s, 3.0);
    assert_eq!(inside.len(), 4);
    for m in &inside {
        assert!(m.is_corner() && (m.depth - 1.981_771).abs() < 1e-6 && (m.area - 3.610_638).abs() < 1e-5, "{m:?}");
    }
    let outside = filled(&s, 7.0, 0.02, &Budget::unlimited()).unwrap().parts;
    assert_eq!(outside.len(), 2);
    for m in &outside {
        assert!(m.is_corner() && (m.depth - 0.280_110).abs() < 1e-6 && (m.area - 0.363_317).abs() < 1e-5, "{m:?}");
    }
}

/// The mouth of an open ring, 4 mm wide between two round ends, is filled at any offset.
#[test]
fn a_mouth_between_round_ends_is_a_gap() {
    let p = Point::new;
    let arc = |s: Point, e: Point, r: f64, ccw: bool, large: bool| {
        let half = (e - s).hypot() / 2.0;
        let bulge = crate::geom::trig::tan(crate::geom::trig::acos((1.0 - (half / r).powi(2)).sqrt()) / 2.0);
        let bulge = if large { 1.0 / bulge } else { bulge };
        Segment::from_bulge(s, e, if ccw { bulge } else { -bulge })
    };
    let [a, b, c, d] = [p(143.0007, 99.6596), p(143.0007, 120.3404), p(129.2598, 117.6596), p(129.2598, 102.3404)];
    // Anticlockwise around the wood: the outer edge from the lower end of the mouth to the upper one, then back inside.
    let ring = vec![
        arc(b, a, 54.0, true, true),
        arc(a, d, 7.0, true, false),
        arc(d, c, 40.0, false, true),
        arc(c, b, 7.0, true, false),
    ];
    let s = enclosed(&[Ring::new(ring)], FillRule::NonZero, &Budget::unlimited()).unwrap();
    for o in [3.0, 4.0, 7.0, 7.95, 12.95, 13.95] {
        let found = filled(&s, o, 0.02, &Budget::unlimited()).unwrap();
        assert_eq!(found.parts.len(), 1, "{o}");
        let m = &found.parts[0];
        assert!(m.stretches == 2 && (m.width.unwrap() - 4.0307).abs() < 1e-3 && m.depth > 1.0, "{o}: {m:?}");
    }
}
