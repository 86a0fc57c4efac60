//! Whether every edge of a result lies where it must, by exact distances.

use super::refuse;
use crate::budget::Budget;
use crate::geom::distance::between;
use crate::geom::packed::{Nearest, Packed};
use crate::geom::trig::right;
use crate::geom::{GeomError, Region, Segment};
use crate::tolerance::CERTIFIED_DISTANCE as TOL;
use kurbo::Point;
use std::ops::ControlFlow;

/// Halvings after which all edges within reach are looked at, not the nearest only.
const LOOK_ROUND: u32 = 5;
/// Halvings after which an edge counts as too far: it is shorter than rounding then.
const DEEPEST: u32 = 40;

/// Every point of every edge of `result` at |d| from the source's edges, and on the side that the sign of `d` says.
pub(super) fn at_distance(tree: &Packed, d: f64, result: &Region, budget: &Budget) -> Result<(), GeomError> {
    for (i, g) in result.segments().enumerate() {
        if i % 256 == 0 {
            budget.check()?;
        }
        none_nearer(tree, g, d.abs())?;
        let (m, reach) = (g.at(0.5), d.abs() + TOL);
        let nearest = tree.nearer(m, reach);
        // Mostly the edge nearest to the middle is near to all of it.
        if !nearest.is_some_and(|n| wholly_within(g, &n.edge, reach)) && !within(tree, g, reach, 0) {
            return Err(refuse(m, "an edge farther from the outline than the distance"));
        }
        right_side(m, nearest, g, d)?;
    }
    Ok(())
}

/// Every point of every edge of `result` on one of the given edges.
pub(super) fn on_edges<'a>(
    source: impl Iterator<Item = &'a Segment>,
    result: &Region,
    budget: &Budget,
) -> Result<(), GeomError> {
    let tree = Packed::new(source.copied());
    for (i, g) in result.segments().enumerate() {
        if i % 256 == 0 {
            budget.check()?;
        }
        if !within(&tree, g, TOL, 0) {
            return Err(refuse(g.at(0.5), "an edge that no operand has"));
        }
    }
    Ok(())
}

/// No edge of the source nearer to `g` than `d` less the tolerance. Long edges are looked at in pieces, whose boxes
/// say more.
fn none_nearer(tree: &Packed, g: &Segment, d: f64) -> Result<(), GeomError> {
    let limit = d - TOL;
    if limit <= 0.0 {
        return Ok(());
    }
    for piece in pieces(g, d / 3.0) {
        let nearer = tree.near(piece.bounds(), limit, |_, e| {
            if between(&piece, e) < limit { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        if nearer.is_some() {
            return Err(refuse(piece.at(0.5), "an edge nearer to the outline than the distance"));
        }
    }
    Ok(())
}

fn pieces(g: &Segment, longest: f64) -> Vec<Segment> {
    let most = if let Segment::Arc(a) = g { longest.min(a.radius * 0.5).max(1e-3) } else { longest };
    // Bounded by 1e7 mm over a thousandth.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let n = (g.length() / most).ceil().clamp(1.0, 4096.0) as usize;
    #[allow(clippy::cast_precision_loss)]
    let at = |k: usize| k as f64 / n as f64;
    if n == 1 {
        return vec![*g];
    }
    let point = g.placed();
    (0..n).map(|k| g.between(point(at(k)), point(at(k + 1)))).collect()
}

/// Whether every point of `g` has an edge of the source within `reach`.
fn within(tree: &Packed, g: &Segment, reach: f64, depth: u32) -> bool {
    let m = g.at(0.5);
    let Some(n) = tree.nearer(m, reach) else { return false };
    // Distance changes no faster than along the edge.
    if wholly_within(g, &n.edge, reach) || n.distance + g.length() / 2.0 <= reach {
        return true;
    }
    // Another edge may be as near, and near to all of it; halves mostly find that out sooner.
    if depth >= LOOK_ROUND && tree.any_within(m, reach, |_, e| wholly_within(g, e, reach)) {
        return true;
    }
    if depth > DEEPEST {
        return false;
    }
    within(tree, &g.part(0.0, 0.5), reach, depth + 1) && within(tree, &g.part(0.5, 1.0), reach, depth + 1)
}

/// Whether every point of `g` lies within `reach` of the edge `e`, by closed forms: sufficient, not necessary.
fn wholly_within(g: &Segment, e: &Segment, reach: f64) -> bool {
    let ends = e.nearest(g.start()).0.max(e.nearest(g.end()).0);
    if ends > reach {
        return false;
    }
    match (g, e) {
        // The distance from a convex set is convex along a line.
        (Segment::Line(_), Segment::Line(_)) => true,
        // Round an end of the edge, or beside an arc with the same centre.
        (Segment::Arc(a), _) => {
            let round = |p: Point| (a.center - p).hypot() + a.radius <= reach;
            let parallel = match e {
                Segment::Arc(b) => {
                    let faces = [0.0, 0.25, 0.5, 0.75, 1.0].iter().all(|&t| b.spans(a.at(t) - b.center));
                    faces
                        && (a.sweep() < 3.0 || b.sweep() > a.sweep())
                        && (a.radius - b.radius).abs() + (a.center - b.center).hypot() <= reach
                }
                Segment::Line(_) => false,
            };
            round(e.start()) || round(e.end()) || parallel
        }
        (Segment::Line(_), Segment::Arc(_)) => false,
    }
}

/// The middle `m` of `g` on the right side of the nearest edge, and `g` running the right way round. Outside lies to the
/// right of every edge.
fn right_side(m: Point, nearest: Option<Nearest>, g: &Segment, d: f64) -> Result<(), GeomError> {
    let Some(nearest) = nearest else { return Ok(()) };
    let from_source = m - nearest.at;
    let h = from_source.hypot();
    if h < TOL || g.length() < TOL {
        return Ok(());
    }
    // Grown: the result's outside points away from the source. Shrunk: towards it.
    let side = right(g.tangent_at(m)).dot(from_source) * d.signum();
    if side <= 0.0 {
        return Err(refuse(m, "an edge that runs the wrong way round"));
    }
    Ok(())
}
