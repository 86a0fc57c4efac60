//! Width between opposite sides of a part too narrow for a tool.
//!
//! In: the outline's edges along a part, all edges of the outline, the tool's radius, mm. Out: the least width, mm,
//! from discs that touch two sides; `None` if no two sides are opposite. No errors.

use crate::geom::index::edges::EdgeIndex;
use crate::geom::shape::trig::{acos, atan2, left, right};
use crate::geom::shape::{Segment, Vec2};
use crate::tolerance::{FINEST_WIDTH, OPPOSITE, ROUNDING};
use std::f64::consts::{PI, TAU};

/// Whether any two edges may be opposite sides, judged by their directions in steps of 10°.
pub(super) fn may_face(edges: &[Segment]) -> bool {
    const STEPS: usize = 36;
    // Less than [`OPPOSITE`], by two steps.
    const APART: usize = 13;
    let mut taken = [false; STEPS];
    for s in edges {
        let sweep = if let Segment::Arc(a) = s { a.sweep() } else { 0.0 };
        let ends = [s.tangent_at_start(), s.tangent_at_end()];
        if sweep > PI / 6.0 {
            return true;
        }
        let middle = s.part(0.25, 0.75).tangent_at_start();
        for t in [ends[0], middle, ends[1]] {
            let turned = atan2(t.y, t.x).rem_euclid(TAU) / TAU;
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
            let step = (turned * STEPS as f64) as usize % STEPS;
            taken[step] = true;
        }
    }
    (0..STEPS).any(|i| taken[i] && (APART..=STEPS - APART).any(|k| taken[(i + k) % STEPS]))
}

/// Least width between opposite sides: twice the least radius of the discs that touch one of `edges` and, nearly
/// opposite, another edge.
pub(super) fn width(edges: &[Segment], drawn: &EdgeIndex, tool: f64) -> Option<f64> {
    let at = |s: &Segment, t: f64, least: f64| across(s, t, drawn, tool, least);
    let mut least: Option<(f64, &Segment, f64, f64)> = None;
    for s in edges {
        let parts = (s.length() / FINEST_WIDTH).clamp(2.0, 16.0).floor();
        let mut k = 1.0;
        while k < parts {
            let t = k / parts;
            if let Some(w) = at(s, t, least.map_or(f64::INFINITY, |l| l.0)) {
                least = Some((w, s, t, 1.0 / parts));
            }
            k += 1.0;
        }
    }
    let (mut width, s, mut t, mut step) = least?;
    for _ in 0..24 {
        step /= 2.0;
        for u in [t - step, t + step] {
            if (0.0..=1.0).contains(&u)
                && let Some(w) = at(s, u, width)
            {
                (width, t) = (w, u);
            }
        }
    }
    Some(width)
}

/// Diameter of the largest empty disc that touches `s` at `t` from the part's side. `None` unless it is less than
/// `least` and the disc touches another edge opposite. The disc shrinks to the point nearest to its centre until it is
/// empty. (After Ma, Bae and Choi, "3D medial axis point approximation using nearest neighbors and the normal field",
/// 2012.)
fn across(s: &Segment, t: f64, drawn: &EdgeIndex, tool: f64, least: f64) -> Option<f64> {
    let p = s.at(t);
    let ahead = match s {
        Segment::Line(l) => l.end - l.start,
        Segment::Arc(a) if a.ccw => left(p - a.center),
        Segment::Arc(a) => right(p - a.center),
    };
    // The part lies to the left of its own ring, whichever side of S that is.
    let into = left(ahead).normalize();
    // Discs tangent to `s` at one point are nested. If the disc of the least width so far is empty, this point has no
    // smaller width.
    let mut radius = (tool * 1.5).min(least / 2.0);
    let mut other = None;
    for _ in 0..64 {
        let Some(q) = drawn.nearer(p + into * radius, radius * (1.0 - ROUNDING) - ROUNDING) else { break };
        let v = q - p;
        let shrunk = v.hypot2() / (2.0 * v.dot(into));
        if !(shrunk > 0.0 && shrunk < radius) {
            break;
        }
        (radius, other) = (shrunk, Some(q));
    }
    let center = p + into * radius;
    let (a, b): (Vec2, Vec2) = (p - center, other? - center);
    let apart = acos((a.dot(b) / (a.hypot() * b.hypot())).clamp(-1.0, 1.0));
    (apart >= OPPOSITE).then_some(2.0 * radius)
}
