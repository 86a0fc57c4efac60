//! Compares the simulated result with the expected one, which is computed by another route.
//!
//! In: an opening, or a piece as cut, and the outline as it will be made; drawing frame, mm. Out: nothing, or a
//! [`ProofError`] with the greatest difference and its place.
//!
//! An opening: every point of its edge must lie at the distance o outside the outline S (closed forms, no offset is
//! computed). The pieces: let `T = S ⊕ o`, `C = T ⊖ R`, `K = C ⊕ r` and `P = T ⊖ (R + r)`. It follows that
//! `K = open_r(close_o(S))` and `P = close_o(S) ⊖ gap` (Serra 1982; Soille 2003). If corners were eased or squared, S
//! is closed already. Then K is an opening of S and P is S shrunk by the gap; neither uses an opening of the template.
//! With corners kept, the closing is computed first, through `S ⊕ o`.
//!
//! Edges are compared both ways, from points [`super::STEP`] apart. If they differ by more than allowed, a sandwich
//! test decides. The cut must lie between the results for a tool radius larger and smaller by the allowance. (At the
//! point of a sharp corner, a tiny change of the offset is magnified along the bisector.)

use super::{Edged, Plan, ProofError, Wanted};
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Point, Region, close, grow, open, shrink};
use crate::kit::Pair;
use crate::tolerance::CERTIFIED_DISTANCE;

/// Every point of the edge of `opening` (in the drawing frame) must lie `offset` mm outside the outline as made.
pub(super) fn opening(
    opening: &Edged,
    made: &Edged,
    offset: f64,
    what: &str,
    plan: &Plan,
    budget: &Budget,
) -> Result<(), ProofError> {
    let mut worst: Option<(f64, Point)> = None;
    let mut walk = made.index.walk();
    for &p in &opening.points {
        plan.check(budget)?;
        let Some(near) = walk.nearest(p) else { continue };
        let outside = if near.inside { -near.distance } else { near.distance };
        let off = (outside - offset).abs();
        if worst.is_none_or(|w| off > w.0) {
            worst = Some((off, p));
        }
    }
    match worst {
        Some((mm, at)) if mm > plan.allowed() => Err(differs(what, mm, at, plan)),
        _ => Ok(()),
    }
}

/// The recess as cut must equal the one computed from the outline.
pub(super) fn recess(cut: &Edged, of: &Wanted, pair: Pair, plan: &Plan, budget: &Budget) -> Result<(), ProofError> {
    let (r, slack) = (pair.cutter_radius(), plan.allowed());
    let base = closed(of, (pair.bush - pair.cutter) / 2.0, plan, budget)?;
    let worked_out = open(&base, r, budget)?;
    let between = || {
        let inner = grow(&shrink(&base, r + slack, budget)?, r, budget)?;
        let outer = if r > slack { grow(&shrink(&base, r - slack, budget)?, r, budget)? } else { base.clone() };
        Ok((inner, outer))
    };
    held(cut, &worked_out, between, &format!("the recess of outline {}", of.number), plan, budget)
}

/// The inlay as cut must equal the one computed from the outline.
pub(super) fn inlay(cut: &Edged, of: &Wanted, pair: Pair, plan: &Plan, budget: &Budget) -> Result<(), ProofError> {
    let (gap, slack) = (of.gap, plan.allowed());
    let base = closed(of, (pair.bush + pair.cutter) / 2.0 - gap, plan, budget)?;
    let less = |d: f64| match d {
        d if d > 0.0 => shrink(&base, d, budget),
        d if d < 0.0 => grow(&base, -d, budget),
        _ => Ok(base.clone()),
    };
    let worked_out = less(gap)?;
    let between = || Ok((less(gap + slack)?, less(gap - slack)?));
    held(cut, &worked_out, between, &format!("the inlay of outline {}", of.number), plan, budget)
}

fn closed(of: &Wanted, offset: f64, plan: &Plan, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    if plan.closed { Ok(of.made.clone()) } else { close(&of.made, offset, budget) }
}

fn held(
    cut: &Edged,
    worked_out: &Certified<Region>,
    between: impl Fn() -> Result<(Certified<Region>, Certified<Region>), GeomError>,
    what: &str,
    plan: &Plan,
    budget: &Budget,
) -> Result<(), ProofError> {
    let wanted = Edged::new(worked_out);
    let Some(off) = cut.apart(&wanted, budget)? else {
        return Err(ProofError::Nothing { what: what.to_owned() });
    };
    if off.mm <= plan.allowed() {
        return Ok(());
    }
    let (inner, outer) = between()?;
    let (inner, outer) = (Edged::new(&inner), Edged::new(&outer));
    let inside = |small: &Edged, large: &Edged| {
        small
            .points
            .iter()
            .all(|&p| large.index.nearest(p).is_some_and(|n| n.inside || n.distance <= CERTIFIED_DISTANCE))
    };
    let outside = |large: &Edged, small: &Edged| {
        large
            .points
            .iter()
            .all(|&p| small.index.nearest(p).is_none_or(|n| !n.inside || n.distance <= CERTIFIED_DISTANCE))
    };
    let same_parts = cut.region.rings.len() == worked_out.rings.len();
    if same_parts && inside(&inner, cut) && inside(cut, &outer) && outside(cut, &inner) && outside(&outer, cut) {
        return Ok(());
    }
    Err(differs(what, off.mm, off.at, plan))
}

fn differs(what: &str, mm: f64, at: Point, plan: &Plan) -> ProofError {
    ProofError::Differs { what: what.to_owned(), mm, at, allowed: plan.allowed() }
}
