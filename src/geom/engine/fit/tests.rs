//! Distances both ways, joints and counts, measured independently of the fitter.

use super::*;
use crate::tolerance::{CURVE_FIT, SHORTEST_FITTED, TANGENT};
use kurbo::QuadBez;
use proptest::prelude::*;

fn fitted(curve: &Curve) -> Vec<Segment> {
    let mut out = Vec::new();
    fit(curve, CURVE_FIT, &mut out);
    out
}

fn eval(curve: &Curve, t: f64) -> Point {
    match curve {
        Curve::Line(l) => l.start.lerp(l.end, t),
        Curve::Arc(a) => a.at(t),
        Curve::Ellipse(e) => e.at(t),
        Curve::Quad(q) => q.eval(t),
        Curve::Cubic(c) => c.eval(t),
    }
}

fn cubic(p: [(f64, f64); 4]) -> Curve {
    Curve::Cubic(CubicBez::new(p[0], p[1], p[2], p[3]))
}

/// Distance of `p` from the curve: the nearest of many samples, then a search around it and its rivals.
fn distance_from_curve(curve: &Curve, samples: &[Point], p: Point) -> f64 {
    let n = samples.len() - 1;
    let d = |i: usize| (samples[i] - p).hypot();
    let mut best = f64::INFINITY;
    for i in 0..=n {
        if (i > 0 && d(i - 1) < d(i)) || (i < n && d(i + 1) < d(i)) {
            continue;
        }
        let (mut low, mut high) = (i.saturating_sub(1) as f64 / n as f64, (i + 1).min(n) as f64 / n as f64);
        for _ in 0..60 {
            let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if (eval(curve, a) - p).hypot() < (eval(curve, b) - p).hypot() { high = b } else { low = a }
        }
        best = best.min(d(i)).min((eval(curve, 0.5 * (low + high)) - p).hypot());
    }
    best
}

/// Both ways, densely, independently of the fitter.
fn check(curve: &Curve, out: &[Segment], tolerance: f64) {
    assert_eq!(out.first().map(Segment::start), Some(curve.start()), "{curve:?}");
    assert_eq!(out.last().map(Segment::end), Some(curve.end()), "{curve:?}");
    for w in out.windows(2) {
        assert_eq!(w[0].end(), w[1].start(), "{curve:?}");
    }
    for s in out {
        assert!(s.is_finite() && s.length() > 0.0, "{s:?} of {curve:?}");
        if let Segment::Arc(a) = s {
            for end in [a.start, a.end] {
                let off = ((end - a.center).hypot() - a.radius).abs();
                // Arcs too small to see need only be as accurate as the digits of their position.
                let digits = 1e-15 * (1.0 + end.to_vec2().hypot());
                assert!(off <= (1e-9 * a.radius).max(digits), "{off:e} of {a:?} of {curve:?}");
            }
        }
    }
    let samples: Vec<Point> = (0..=1200).map(|i| eval(curve, f64::from(i) / 1200.0)).collect();
    for p in &samples {
        let d = out.iter().map(|s| s.nearest(*p).0).fold(f64::INFINITY, f64::min);
        assert!(d <= tolerance, "curve {d} off at {p:?}: {curve:?}");
    }
    for s in out {
        for k in 0..=12 {
            let d = distance_from_curve(curve, &samples, s.at(f64::from(k) / 12.0));
            assert!(d <= tolerance, "{s:?} is {d} off: {curve:?}");
        }
    }
}

/// Greatest angle between the end of an edge and the start of the next.
fn kink(out: &[Segment]) -> f64 {
    out.windows(2)
        .map(|w| {
            let (a, b) = (w[0].tangent_at_end(), w[1].tangent_at_start());
            trig::atan2(a.cross(b), a.dot(b)).abs()
        })
        .fold(0.0, f64::max)
}

fn quarter(r: f64) -> Curve {
    let k = 4.0 * (2f64.sqrt() - 1.0) / 3.0 * r;
    cubic([(r, 0.0), (r, k), (k, r), (0.0, r)])
}

/// Radial error 2.725300e-4·r of the cubic with κ = 4(√2−1)/3: A. Riškus, Information Technology and Control
/// 35(4), 2006. Within 0.0025 up to r = 9.17 mm, so r 8 is one arc and r 50 is not.
#[test]
fn a_quarter_circle_by_kappa() {
    let small = quarter(8.0);
    let out = fitted(&small);
    let [Segment::Arc(a)] = out[..] else { panic!("{out:?}") };
    assert!((a.radius - 8.0).abs() < 1e-9 && a.center.to_vec2().hypot() < 1e-9 && a.ccw, "{a:?}");
    check(&small, &out, CURVE_FIT);
    let error = (0..=1000).map(|i| eval(&quarter(50.0), f64::from(i) / 1000.0).to_vec2().hypot() - 50.0);
    assert!((error.fold(0.0, f64::max) - 0.013_626_5).abs() < 1e-6);
    let out = fitted(&quarter(50.0));
    assert!((2..=10).contains(&out.len()), "{}", out.len());
    assert!(kink(&out) <= TANGENT);
    check(&quarter(50.0), &out, CURVE_FIT);
}

#[test]
fn awkward_curves_are_followed() {
    let all = [
        ("cusp", cubic([(0.0, 0.0), (40.0, 30.0), (0.0, 30.0), (40.0, 0.0)])),
        ("loop", cubic([(0.0, 0.0), (80.0, 40.0), (-40.0, 40.0), (40.0, 0.0)])),
        ("almost a cusp", cubic([(0.0, 0.0), (40.0, 30.0), (0.001, 30.0), (40.0, 0.0)])),
        ("tiny loop", cubic([(0.0, 0.0), (40.0, 30.0), (-0.01, 30.0), (40.0, 0.0)])),
        ("first handle of no length", cubic([(0.0, 0.0), (0.0, 0.0), (10.0, 30.0), (40.0, 0.0)])),
        ("last handle of no length", cubic([(0.0, 0.0), (10.0, 30.0), (40.0, 0.0), (40.0, 0.0)])),
        ("closed drop", cubic([(0.0, 0.0), (40.0, 30.0), (-40.0, 30.0), (0.0, 0.0)])),
        ("closed thin drop", cubic([(0.0, 0.0), (0.001, 30.0), (-0.001, 30.0), (0.0, 0.0)])),
        ("almost straight to and fro", cubic([(0.0, 0.0), (40.0, 0.001), (-30.0, 0.0), (10.0, 0.0)])),
        ("S", cubic([(0.0, 0.0), (60.0, 0.0), (-20.0, 40.0), (40.0, 40.0)])),
        ("tiny", cubic([(0.0, 0.0), (0.001, 0.0), (0.001, 0.001), (0.0, 0.001)])),
        ("far out", cubic([(1e6, 1e6), (1e6 + 40.0, 1e6), (1e6 + 40.0, 1e6 + 30.0), (1e6, 1e6 + 30.0)])),
        ("huge", cubic([(0.0, 0.0), (4000.0, 100.0), (3000.0, 5000.0), (-2000.0, 2000.0)])),
        ("quad", Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 50.0), (60.0, 0.0)))),
        ("sharp quad", Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 0.01), (0.0, 0.02)))),
    ];
    for (name, c) in all {
        let out = fitted(&c);
        println!("{name}: {} pieces, kink {:e}", out.len(), kink(&out));
        check(&c, &out, CURVE_FIT);
    }
}

#[test]
fn collinear_control_points_run_to_and_fro() {
    let out = fitted(&cubic([(0.0, 0.0), (40.0, 0.0), (-30.0, 0.0), (10.0, 0.0)]));
    assert_eq!(out.len(), 3);
    check(&cubic([(0.0, 0.0), (40.0, 0.0), (-30.0, 0.0), (10.0, 0.0)]), &out, CURVE_FIT);
    assert_eq!(fitted(&cubic([(0.0, 0.0), (3.0, 4.0), (6.0, 8.0), (9.0, 12.0)])).len(), 1);
    let back = Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 0.0), (0.0, 0.0)));
    let ends: Vec<Point> = fitted(&back).iter().map(Segment::end).collect();
    assert_eq!(ends, [Point::new(15.0, 0.0), Point::ZERO]);
}

#[test]
fn points_and_bad_numbers_give_nothing() {
    assert!(fitted(&cubic([(3.0, 4.0); 4])).is_empty());
    assert!(fitted(&Curve::Line(Line { start: Point::ZERO, end: Point::ZERO })).is_empty());
    assert!(fitted(&cubic([(0.0, 0.0), (f64::NAN, 0.0), (1.0, 1.0), (2.0, 0.0)])).is_empty());
    assert!(fitted(&cubic([(0.0, 0.0), (1e300, 0.0), (1.0, 1.0), (2.0, 0.0)])).is_empty());
    let mut out = Vec::new();
    fit(&quarter(5.0), 0.0, &mut out);
    assert!(out.is_empty());
}

#[test]
fn ellipses() {
    for c in Curve::ellipse(Point::new(3.0, -7.0), 60.0, 25.0) {
        let out = fitted(&c);
        assert!(out.len() <= 38, "{}", out.len());
        assert!(kink(&out) <= TANGENT);
        check(&c, &out, CURVE_FIT);
    }
    let whole = |minor: Vec2| {
        let (start, major) = (Point::new(20.0, 0.0), Vec2::new(20.0, 0.0));
        Curve::Ellipse(EllipticArc { start, end: start, center: Point::ZERO, major, minor, from: 0.0, sweep: TAU })
    };
    let out = fitted(&whole(Vec2::new(0.0, 20.0)));
    assert!(matches!(out[..], [Segment::Arc(_), Segment::Arc(_)]), "{out:?}");
    check(&whole(Vec2::new(0.0, 20.0)), &out, CURVE_FIT);
    // Skewed axes, a thin ellipse, and a completely flat one.
    for minor in [Vec2::new(12.0, 9.0), Vec2::new(0.0, 0.01), Vec2::new(0.0, 0.0), Vec2::new(8.0, 0.0)] {
        check(&whole(minor), &fitted(&whole(minor)), CURVE_FIT);
    }
}

#[test]
fn few_arcs_and_no_kinks() {
    // Ordinary curves of a drawing, 20 to 100 mm, by a fixed rule (golden ratio steps).
    let mut x = 0.3;
    let mut next = move |size: f64| {
        x = (x + 0.618_033_988_749_895_f64) % 1.0;
        x * size
    };
    let (mut pieces, mut worst) = (0, 0.0_f64);
    for _ in 0..100 {
        let (l, h0, h1) = (20.0 + next(80.0), 3.0 + next(30.0), 3.0 + next(30.0));
        let (a, b) = (next(2.4) - 1.2, next(2.4) - 1.2);
        let (p0, p3) = (Point::ZERO, Point::new(l, 0.0));
        let c = Curve::Cubic(CubicBez::new(p0, p0 + trig::unit(a) * h0, p3 - trig::unit(b) * h1, p3));
        let out = fitted(&c);
        pieces += out.len();
        worst = worst.max(kink(&out));
        for (way, edge) in [(a, out[0].tangent_at_start()), (b, out[out.len() - 1].tangent_at_end())] {
            assert!(trig::unit(way).cross(edge).abs() <= TANGENT, "{c:?}");
        }
    }
    println!("{pieces} pieces of 100 cubics, kink {worst:e}");
    // 22 each: what biarcs on the curve's own tangents need for 20 to 100 mm within 0.0025 mm.
    assert!(pieces < 2250, "{pieces}");
    assert!(worst <= TANGENT, "{worst}");
}

/// Tangent at every joint and to the curve at its ends, and no tiny pieces.
fn check_smooth(curve: &Curve, out: &[Segment]) {
    assert!(kink(out) <= TANGENT, "{:e} {curve:?}", kink(out));
    for s in out {
        assert!(s.length() >= SHORTEST_FITTED, "{} mm: {s:?} of {curve:?}", s.length());
    }
}

/// Directions at the ends from the control points, not from the fitter.
#[test]
fn smooth_curves_have_no_kinks() {
    let all = [
        [(0.0, 0.0), (80.0, 40.0), (-40.0, 40.0), (40.0, 0.0)],
        [(0.0, 0.0), (60.0, 0.0), (-20.0, 40.0), (40.0, 40.0)],
        [(0.0, 0.0), (40.0, 30.0), (-40.0, 30.0), (0.0, 0.0)],
        [(0.0, 0.0), (30.0, 0.5), (60.0, -0.5), (90.0, 0.001)],
        [(1003.0, 2001.0), (1003.4, 2001.1), (1004.2, 2000.7), (1004.0, 2003.3)],
        [(8.0, 15.0), (4.134, 15.0), (1.0, 11.866), (1.0, 8.0)],
        // An inflection next to the end.
        [(0.0, 0.0), (10.0, 0.0), (20.0, 0.000_5), (30.0, 10.0)],
        // Turns of 0.01 and 0.000 2 mm radius.
        [(0.0, 0.0), (40.0, 30.0), (1.0, 30.0), (40.0, 0.0)],
        [(0.0, 0.0), (30.0, 0.08), (30.0, 0.08), (0.0, 0.16)],
    ];
    for p in all {
        let c = cubic(p);
        let out = fitted(&c);
        check(&c, &out, CURVE_FIT);
        check_smooth(&c, &out);
        let p = p.map(Point::from);
        for (way, edge) in
            [(p[1] - p[0], out[0].tangent_at_start()), (p[3] - p[2], out[out.len() - 1].tangent_at_end())]
        {
            assert!(way.cross(edge).abs() <= TANGENT * way.hypot() && way.dot(edge) > 0.0, "{c:?}");
        }
    }
}

/// Curves smaller than the shortest piece become one line.
#[test]
fn specks_are_lines() {
    let c = cubic([(0.0, 0.0), (0.000_02, 0.0), (0.000_05, 0.000_02), (0.000_05, 0.000_05)]);
    assert!(matches!(fitted(&c)[..], [Segment::Line(_)]));
}

fn point() -> impl Strategy<Value = (f64, f64)> {
    (-50.0..50.0, -50.0..50.0)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn any_cubic_is_followed(p in [point(), point(), point(), point()]) {
        let c = cubic(p);
        let out = fitted(&c);
        check(&c, &out, CURVE_FIT);
        prop_assert!(out.len() <= 60, "{}", out.len());
        // If it never slows down, no turn is too tight to see.
        let step = |i: u32| (eval(&c, f64::from(i + 1) / 1000.0) - eval(&c, f64::from(i) / 1000.0)).hypot();
        if (0..1000).all(|i| step(i) > 0.005) {
            check_smooth(&c, &out);
        }
    }

    /// Points of a coarse grid: coincident and collinear ones come often.
    #[test]
    fn any_coarse_cubic_is_followed(p in [(0..3, 0..3), (0..3, 0..3), (0..3, 0..3), (0..3, 0..3)]) {
        let c = cubic(p.map(|(x, y)| (10.0 * f64::from(x), 10.0 * f64::from(y))));
        let out = fitted(&c);
        if out.is_empty() {
            prop_assert!(p.iter().all(|q| *q == p[0]));
        } else {
            check(&c, &out, CURVE_FIT);
        }
    }

    #[test]
    fn any_elliptic_arc_is_followed(m in point(), n in point(), from in -6.0..6.0, sweep in -6.2..6.2) {
        let mut e = EllipticArc {
            start: Point::ZERO, end: Point::ZERO, center: Point::new(5.0, 6.0),
            major: m.into(), minor: n.into(), from, sweep,
        };
        e.start = at_angle(&e, from);
        e.end = at_angle(&e, from + sweep);
        check(&Curve::Ellipse(e), &fitted(&Curve::Ellipse(e)), CURVE_FIT);
    }
}
