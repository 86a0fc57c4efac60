//! Makes a spline through fit points, where the file gives nothing else.
//!
//! In: fit points, whether the curve is closed, and its end directions if given. Out: a [`Spline`], the cubic
//! interpolant with a continuous second derivative. Its parameters are the chord lengths. An end without a direction
//! has no curvature. The format does not define the curve between fit points; most programs draw this one. Source: de
//! Boor, *A Practical Guide to Splines*, cubic spline interpolation (from memory).

use super::entity::P3;
use super::spline::Spline;

/// Interpolates the points.
///
/// # Errors
/// A message if there are too few points, or their distances are out of range.
pub fn through(points: &[P3], closed: bool, start: Option<P3>, end: Option<P3>) -> Result<Spline, String> {
    let mut p: Vec<P3> = Vec::with_capacity(points.len() + 1);
    for q in points {
        if p.last() != Some(q) {
            p.push(*q);
        }
    }
    if closed && p.len() > 1 && p.first() != p.last() {
        p.push(p[0]);
    }
    if p.len() < 2 {
        return Err("it has fewer than two fit points".to_owned());
    }
    let h: Vec<f64> = p.windows(2).map(|w| length(sub(w[1], w[0]))).collect();
    if h.iter().any(|h| !(h.is_finite() && *h > 0.0)) {
        return Err("the distances of its fit points are out of range".to_owned());
    }
    let slopes = if closed && p.len() > 3 { periodic(&p, &h) } else { ended(&p, &h, start, end) };
    let made = Spline::new(3, knots(&h), control(&p, &h, &slopes), Vec::new())?;
    Ok(Spline { through: true, ..made })
}

/// Knots of a spline that is a sequence of Bézier curves.
fn knots(h: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; 4];
    let mut t = 0.0;
    for h in h {
        t += h;
        out.extend([t; 3]);
    }
    out.push(t);
    out
}

fn control(p: &[P3], h: &[f64], slopes: &[P3]) -> Vec<P3> {
    let mut out = vec![p[0]];
    for (i, &h) in h.iter().enumerate() {
        out.push(add(p[i], mul(slopes[i], h / 3.0)));
        out.push(sub(p[i + 1], mul(slopes[i + 1], h / 3.0)));
        out.push(p[i + 1]);
    }
    out
}

/// Slopes of an open curve, with given or free ends.
fn ended(p: &[P3], h: &[f64], start: Option<P3>, end: Option<P3>) -> Vec<P3> {
    let n = p.len();
    let chord = |i: usize| mul(sub(p[i + 1], p[i]), 1.0 / h[i]);
    // Matrix rows: below, on and above the diagonal, and the right side.
    let (mut a, mut b, mut c, mut d) = (vec![0.0; n], vec![2.0; n], vec![0.0; n], vec![[0.0; 3]; n]);
    let unit = |v: P3| Some(length(v)).filter(|l| *l > 0.0 && l.is_finite()).map(|l| mul(v, 1.0 / l));
    match start.and_then(unit) {
        Some(t) => (b[0], d[0]) = (1.0, t),
        None => (c[0], d[0]) = (1.0, mul(chord(0), 3.0)),
    }
    for i in 1..n - 1 {
        (a[i], b[i], c[i]) = (h[i], 2.0 * (h[i - 1] + h[i]), h[i - 1]);
        d[i] = mul(add(mul(chord(i - 1), h[i]), mul(chord(i), h[i - 1])), 3.0);
    }
    match end.and_then(unit) {
        Some(t) => (b[n - 1], d[n - 1]) = (1.0, t),
        None => (a[n - 1], d[n - 1]) = (1.0, mul(chord(n - 2), 3.0)),
    }
    solve(&a, &b, &c, &d)
}

/// Slopes of a closed curve whose first and last points are equal.
fn periodic(p: &[P3], h: &[f64]) -> Vec<P3> {
    let n = p.len() - 1;
    let chord = |i: usize| mul(sub(p[i + 1], p[i]), 1.0 / h[i]);
    let (mut a, mut b, mut c, mut d) = (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![[0.0; 3]; n]);
    for i in 0..n {
        let before = (i + n - 1) % n;
        (a[i], b[i], c[i]) = (h[i], 2.0 * (h[before] + h[i]), h[before]);
        d[i] = mul(add(mul(chord(before), h[i]), mul(chord(i), h[before])), 3.0);
    }
    // The Sherman–Morrison formula handles the corners of the matrix.
    let (low, high) = (c[n - 1], a[0]);
    let gamma = -b[0];
    b[0] -= gamma;
    b[n - 1] -= low * high / gamma;
    let mut u = vec![[0.0; 3]; n];
    u[0] = [gamma; 3];
    u[n - 1] = [low; 3];
    let (x, z) = (solve(&a, &b, &c, &d), solve(&a, &b, &c, &u));
    let mut out: Vec<P3> = (0..n)
        .map(|i| {
            std::array::from_fn(|k| {
                let f = (x[0][k] + high * x[n - 1][k] / gamma) / (1.0 + z[0][k] + high * z[n - 1][k] / gamma);
                x[i][k] - f * z[i][k]
            })
        })
        .collect();
    out.push(out[0]);
    out
}

/// Solves a tridiagonal, diagonally dominant system.
fn solve(a: &[f64], b: &[f64], c: &[f64], d: &[P3]) -> Vec<P3> {
    let n = b.len();
    let (mut up, mut out) = (vec![0.0; n], vec![[0.0; 3]; n]);
    for i in 0..n {
        let (before, below) = if i == 0 { ([0.0; 3], 0.0) } else { (out[i - 1], a[i]) };
        let pivot = b[i] - below * if i == 0 { 0.0 } else { up[i - 1] };
        up[i] = c[i] / pivot;
        out[i] = mul(sub(d[i], mul(before, below)), 1.0 / pivot);
    }
    for i in (0..n.saturating_sub(1)).rev() {
        out[i] = sub(out[i], mul(out[i + 1], up[i]));
    }
    out
}

fn add(a: P3, b: P3) -> P3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

fn sub(a: P3, b: P3) -> P3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn mul(a: P3, f: f64) -> P3 {
    [a[0] * f, a[1] * f, a[2] * f]
}

fn length(a: P3) -> f64 {
    a[0].hypot(a[1]).hypot(a[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Interpolating points on a straight line gives x = t, y = 0.
    #[test]
    fn a_straight_row_stays_straight() {
        let s = through(&[[0.0; 3], [1.0, 0.0, 0.0], [4.0, 0.0, 0.0]], false, None, None).unwrap();
        assert_eq!(s.knots, [0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 4.0, 4.0, 4.0, 4.0]);
        let x: Vec<f64> = s.points.iter().map(|p| p[0]).collect();
        let want = [0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0, 2.0, 3.0, 4.0];
        assert!(x.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-12), "{x:?}");
    }

    /// Second derivatives agree at inner points, including the closing point of a closed curve.
    #[test]
    fn the_bend_is_continuous() {
        let p: Vec<P3> = [[0.0, 0.0], [30.0, 5.0], [40.0, 30.0], [10.0, 35.0], [-5.0, 20.0]]
            .iter()
            .map(|&[x, y]| [x, y, 0.0])
            .collect();
        for closed in [false, true] {
            let s = through(&p, closed, None, None).unwrap();
            let spans = (s.points.len() - 1) / 3;
            let h: Vec<f64> = (0..spans).map(|i| s.knots[3 * i + 4] - s.knots[3 * i + 3]).collect();
            let bend = |i: usize, at_end: bool| -> P3 {
                let q = &s.points[3 * i..3 * i + 4];
                let (a, b, c) = if at_end { (q[1], q[2], q[3]) } else { (q[0], q[1], q[2]) };
                mul(add(sub(a, mul(b, 2.0)), c), 6.0 / (h[i] * h[i]))
            };
            for i in 0..spans - usize::from(!closed) {
                let off = length(sub(bend(i, true), bend((i + 1) % spans, false)));
                assert!(off < 1e-9, "{closed} {i}: {off}");
            }
            if !closed {
                assert!(length(bend(0, false)) < 1e-9 && length(bend(spans - 1, true)) < 1e-9);
            }
        }
    }

    #[test]
    fn directions_at_the_ends_are_kept() {
        let p = [[0.0; 3], [10.0, 0.0, 0.0], [20.0, 5.0, 0.0]];
        let s = through(&p, false, Some([0.0, 2.0, 0.0]), Some([3.0, 0.0, 0.0])).unwrap();
        assert!(s.points[1][0].abs() < 1e-12 && s.points[1][1] > 0.0);
        assert!((s.points[5][1] - 5.0).abs() < 1e-12);
    }

    #[test]
    fn one_point_is_no_curve() {
        assert!(through(&[[1.0; 3], [1.0; 3]], true, None, None).is_err());
    }
}
