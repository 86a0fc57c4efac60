//! Turns splines (NURBS) into Bézier curves.
//!
//! In: degree, knots, control points and weights of SPLINE in the published DXF Reference. Out: one curve per knot
//! span. Degrees 1 to 3 without weights stay exact. Others become cubics, measured within
//! [`tolerance::SPLINE_CUBIC`] at seven parameters each. Source: de Boor's algorithm in its blossom form (Farin, *Curves
//! and Surfaces for CAGD*, from memory).

use crate::geom::{Affine, Curve, Line, Point, Vec2};
use crate::tolerance;
use kurbo::{CubicBez, QuadBez};

/// Highest degree. Drawings use no higher one, and the cost grows with its cube.
const HIGHEST_DEGREE: usize = 25;

/// Most halvings of a piece. It is within tolerance long before, unless its weights are extreme.
const DEEPEST: u32 = 16;

#[derive(Clone, Debug)]
pub struct Spline {
    pub degree: usize,
    pub knots: Vec<f64>,
    pub points: Vec<[f64; 3]>,
    /// One for each control point, or empty.
    pub weights: Vec<f64>,
    /// True if this program made the spline from fit points.
    pub through: bool,
}

/// A point with its weight: (x·w, y·w, w).
type Weighted = [f64; 3];

impl Spline {
    /// Checks the numbers and makes a spline.
    ///
    /// # Errors
    /// A message if the numbers make no spline.
    pub fn new(degree: usize, knots: Vec<f64>, points: Vec<[f64; 3]>, weights: Vec<f64>) -> Result<Spline, String> {
        if !(1..=HIGHEST_DEGREE).contains(&degree) {
            return Err(format!("its degree is not 1 to {HIGHEST_DEGREE}"));
        }
        if points.len() <= degree || knots.len() != points.len() + degree + 1 {
            return Err("its numbers of knots and control points do not match".to_owned());
        }
        if knots.windows(2).any(|k| k[0] > k[1]) || knots[degree] >= knots[points.len()] {
            return Err("its knots do not increase".to_owned());
        }
        if !weights.is_empty() && (weights.len() != points.len() || weights.iter().any(|&w| w <= 0.0)) {
            return Err("not every control point has a positive weight".to_owned());
        }
        Ok(Spline { degree, knots, points, weights, through: false })
    }

    /// True if the weights differ.
    fn rational(&self) -> bool {
        self.weights.windows(2).any(|w| w[0] != w[1])
    }

    /// The curve under `m`, one piece per knot span, each starting where the previous one ends. `m` gives the frame and
    /// the unit, mm.
    ///
    /// # Errors
    /// A message if a piece cannot be approximated.
    pub fn curves(&self, m: Affine) -> Result<Vec<Curve>, String> {
        let points: Vec<Weighted> = (self.points.iter().enumerate())
            .map(|(i, p)| {
                let q = m * Point::new(p[0], p[1]);
                let w = if self.rational() { self.weights[i] } else { 1.0 };
                [q.x * w, q.y * w, w]
            })
            .collect();
        let mut out: Vec<Curve> = Vec::new();
        let mut from: Option<Point> = None;
        for i in self.degree..self.points.len() {
            let (a, b) = (self.knots[i], self.knots[i + 1]);
            if a >= b {
                continue;
            }
            let mut piece: Vec<Weighted> = (0..=self.degree).map(|j| self.blossom(&points, i, a, b, j)).collect();
            // Neighbours share one exact point, despite rounding. A jump at a full knot stays and is reported.
            if let Some(f) = from
                && (f - plain(piece[0])).hypot() < tolerance::SAME_POINT
            {
                let w = piece[0][2];
                piece[0] = [f.x * w, f.y * w, w];
            }
            self.piece(&piece, from, &mut out)?;
            from = out.last().map(Curve::end);
        }
        Ok(out)
    }

    /// The blossom of span `i` with `j` arguments `b` and the others `a`: control point `j` of its Bézier form.
    fn blossom(&self, points: &[Weighted], i: usize, a: f64, b: f64, j: usize) -> Weighted {
        let p = self.degree;
        let mut d: Vec<Weighted> = points[i - p..=i].to_vec();
        for r in 1..=p {
            let t = if r <= j { b } else { a };
            for k in (r..=p).rev() {
                let (lo, hi) = (self.knots[k + i - p], self.knots[k + 1 + i - r]);
                let f = (t - lo) / (hi - lo);
                d[k] = mix(d[k - 1], d[k], f);
            }
        }
        d[p]
    }

    fn piece(&self, piece: &[Weighted], from: Option<Point>, out: &mut Vec<Curve>) -> Result<(), String> {
        let start = match from {
            Some(f) if (f - plain(piece[0])).hypot() < tolerance::SAME_POINT => f,
            Some(_) => return Err("it has a jump".to_owned()),
            None => plain(piece[0]),
        };
        let q = |i: usize| plain(piece[i]);
        match (self.degree, self.rational()) {
            (1, _) => out.push(Curve::Line(Line { start, end: q(1) })),
            (2, false) => out.push(Curve::Quad(QuadBez::new(start, q(1), q(2)))),
            (3, false) => out.push(Curve::Cubic(CubicBez::new(start, q(1), q(2), q(3)))),
            _ => cubics(piece, start, DEEPEST, out)?,
        }
        Ok(())
    }
}

fn mix(a: Weighted, b: Weighted, t: f64) -> Weighted {
    [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t]
}

fn plain(w: Weighted) -> Point {
    Point::new(w[0] / w[2], w[1] / w[2])
}

/// The two halves of a Bézier curve cut at `t` (de Casteljau).
fn cut(piece: &[Weighted], t: f64) -> (Vec<Weighted>, Vec<Weighted>) {
    let mut d = piece.to_vec();
    let (mut lower, mut upper) = (vec![d[0]], vec![d[d.len() - 1]]);
    for r in 1..piece.len() {
        for k in 0..piece.len() - r {
            d[k] = mix(d[k], d[k + 1], t);
        }
        lower.push(d[0]);
        upper.push(d[piece.len() - 1 - r]);
    }
    upper.reverse();
    (lower, upper)
}

/// Cubics with the same ends and end tangents as the (rational) Bézier curve, halved until within tolerance. The
/// distance is measured at seven equally spaced parameters. At each it is at least the true distance, but the greatest
/// may lie between them.
fn cubics(piece: &[Weighted], start: Point, deeper: u32, out: &mut Vec<Curve>) -> Result<(), String> {
    let n = piece.len() - 1;
    let stop = plain(piece[n]);
    #[allow(clippy::cast_precision_loss)]
    let degree = n as f64;
    // Derivatives of a rational Bézier curve at its ends.
    let v0: Vec2 = (plain(piece[1]) - plain(piece[0])) * (degree * piece[1][2] / piece[0][2]);
    let v1: Vec2 = (stop - plain(piece[n - 1])) * (degree * piece[n - 1][2] / piece[n][2]);
    let cubic = CubicBez::new(start, start + v0 / 3.0, stop - v1 / 3.0, stop);
    let off = (1..8).map(|i| f64::from(i) / 8.0).map(|t| {
        let on = plain(cut(piece, t).0[n]);
        (on - kurbo::ParamCurve::eval(&cubic, t)).hypot()
    });
    let worst = off.fold(0.0, f64::max);
    if worst <= tolerance::SPLINE_CUBIC {
        out.push(Curve::Cubic(cubic));
        return Ok(());
    }
    if deeper == 0 || !worst.is_finite() {
        return Err("its curve cannot be approximated".to_owned());
    }
    let (lower, upper) = cut(piece, 0.5);
    let middle = plain(lower[n]);
    cubics(&lower, start, deeper - 1, out)?;
    cubics(&upper, middle, deeper - 1, out)
}
