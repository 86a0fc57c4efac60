//! The choice of the cuts of a curve.
//!
//! Each cut is guessed from the previous one: a biarc's misfit grows with the cube of its span. The rest is divided
//! evenly by that guess, so that no tiny piece remains at the end. The misfit of a failed guess gives the next guess.

use super::biarc::{Bits, Knot, unit};
use super::curve::{CurveForm, FittedCurve};
use crate::geom::shape::{Segment, trig};
use crate::tolerance::{
    ACROSS, INVISIBLE_TURN, LEAST_MISFIT, SHORTEST_FITTED, SHORTEST_SPAN, SLOW, STOP, TINY_STRETCH,
};
use kurbo::{Point, Vec2, common::solve_cubic};

impl FittedCurve {
    /// Point and direction of travel just after `t`, or just before it. At a cusp the two differ.
    fn knot(&self, t: f64, after: bool) -> Knot {
        let [d1, d2, d3] = self.derivatives(t);
        let small = STOP * self.top_speed;
        let way = if d1.hypot() > small && !self.is_cusp(d1, d2, t) {
            d1
        } else if d2.hypot() > small {
            if after { d2 } else { -d2 }
        } else {
            d3
        };
        Knot { t, point: self.at(t), way: unit(way) }
    }

    /// Whether a cubic nearly stops within its span and reverses within less than is visible. Where the speed is least,
    /// d1 is perpendicular to d2, and the radius there is d1²/|d2|.
    fn is_cusp(&self, d1: Vec2, d2: Vec2, t: f64) -> bool {
        let inside = matches!(self.shape, CurveForm::Cubic(_)) && t > 0.0 && t < 1.0;
        inside
            && d1.hypot2() <= INVISIBLE_TURN * self.tolerance * d2.hypot()
            && d1.dot(d2).abs() <= ACROSS * d1.hypot() * d2.hypot()
    }

    /// Parameters where a cubic stops or nearly stops: its cusps, and turns too tight to be visible.
    pub(super) fn stops(&self) -> Vec<f64> {
        let CurveForm::Cubic([a, b, c]) = &self.shape else { return Vec::new() };
        let (a, b, c) = (*a, 2.0 * *b, 3.0 * *c);
        // The speed is least where the square of a + bt + ct² is. It is rarely small: skip the roots otherwise.
        let least = |t: f64| (a + (b + c * t) * t).hypot() < SLOW * self.top_speed;
        if !self.may_stop() {
            return Vec::new();
        }
        let roots = solve_cubic(a.dot(b), 2.0 * a.dot(c) + b.hypot2(), 3.0 * b.dot(c), 2.0 * c.hypot2());
        let mut stops: Vec<f64> = roots.into_iter().filter(|t| t.is_finite() && least(*t)).collect();
        tidy(&mut stops);
        stops
    }

    /// Whether a cubic turns far enough to stop: it cannot while its velocity stays in one half plane, well away from
    /// zero.
    fn may_stop(&self) -> bool {
        let CurveForm::Cubic([a, b, c]) = &self.shape else { return false };
        // The velocity's control points; the velocity lies within their hull.
        let hull = [*a, *a + *b, *a + 2.0 * *b + 3.0 * *c];
        let axis = unit(hull[0] + hull[1] + hull[2]);
        hull.iter().any(|v| v.dot(axis) < SLOW * self.top_speed)
    }

    /// Fits the whole curve, cut at `cuts`, in the frame of the drawing with exact ends.
    pub(super) fn follow(&self, cuts: &[f64], out: &mut Vec<Segment>) {
        let first = out.len();
        let mut start = self.origin;
        let mut push = |bits: &Bits| {
            for bit in bits.as_slice() {
                let end = self.origin + bit.end.to_vec2();
                if end != start {
                    out.push(Segment::from_bulge(start, end, bit.bulge));
                    start = end;
                }
            }
        };
        let mut from = 0.0;
        let last = self.at(1.0);
        for &to in cuts {
            // A cut close to the curve's ends or to the previous cut makes tiny pieces.
            let p = self.at(to);
            if [self.at(from), Point::ZERO, last].iter().all(|q| (p - *q).hypot() > SHORTEST_FITTED) {
                self.span(from, to, &mut push);
                from = to;
            }
        }
        self.span(from, 1.0, &mut push);
        // The sum about the origin may differ in the last digit.
        if let Some(s) = out[first..].last_mut()
            && s.end() != self.end
        {
            let bulge = match s {
                Segment::Arc(a) => a.bulge(),
                Segment::Line(_) => 0.0,
            };
            *s = Segment::from_bulge(s.start(), self.end, bulge);
        }
    }

    fn span(&self, from: f64, to: f64, push: &mut impl FnMut(&Bits)) {
        let mut knot = self.knot(from, true);
        let last = self.knot(to, false);
        let mut guess = to - from;
        while knot.t < to {
            let (next, bits, share) = self.longest(&knot, &last, guess);
            if let Some(bits) = bits {
                push(&bits);
            }
            guess = (next.t - knot.t) * growth(share).min(2.0);
            knot = next;
        }
    }

    /// A long stretch from `knot`, about `guess`, that one line, arc or biarc follows. Returns its end, the pieces
    /// (`None` if it has no length) and the misfit as a share of the allowance.
    fn longest(&self, knot: &Knot, last: &Knot, guess: f64) -> (Knot, Option<Bits>, f64) {
        let rest = last.t - knot.t;
        let count = |guess: f64| (rest / guess - 0.02).ceil().max(1.0);
        let mut n = count(guess);
        let mut best: Option<(Knot, Bits, f64)> = None;
        loop {
            let next = if n <= 1.0 { *last } else { self.knot(knot.t + rest / n, false) };
            let tried = match Bits::between(knot, &next) {
                Some(bits) => bits.measure(self, knot, &next).map(|share| (bits, share)),
                None => Err(f64::INFINITY),
            };
            match (tried, best) {
                // One attempt to use fewer pieces.
                (Ok((bits, share)), None) if n > 1.0 && count(rest / n * growth(share)) < n => {
                    best = Some((next, bits, share));
                    n = count(rest / n * growth(share));
                }
                (Ok((bits, share)), _) => return (next, Some(bits), share),
                (Err(_), Some((next, bits, share))) => return (next, Some(bits), share),
                (Err(share), None) => {
                    let reach = (1..=8)
                        .map(|i| (self.at(knot.t + (next.t - knot.t) * f64::from(i) / 8.0) - knot.point).hypot());
                    // At a cusp, a stretch that is tiny compared with the tolerance: any chord is as close as an arc.
                    if rest / n < SHORTEST_SPAN || reach.fold(0.0, f64::max) <= TINY_STRETCH * self.tolerance {
                        let bits = (next.point != knot.point).then(|| Bits::chord(next.point));
                        return (next, bits, 1.0);
                    }
                    n = count(rest / n * growth(share).clamp(0.1, 0.8)).max(n * 1.2);
                }
            }
        }
    }
}

/// Factor by which to lengthen a stretch with this share of misfit, to reach nine tenths of the allowance.
fn growth(share: f64) -> f64 {
    if share == f64::INFINITY { 0.5 } else { trig::cbrt(0.9 / share.max(LEAST_MISFIT)) }
}

/// Sorted, strictly inside 0 to 1, without duplicates.
pub(super) fn tidy(cuts: &mut Vec<f64>) {
    cuts.retain(|t| *t > SHORTEST_SPAN && *t < 1.0 - SHORTEST_SPAN);
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < SHORTEST_SPAN);
}
