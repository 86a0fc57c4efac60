//! Jobs that start from an existing piece or opening.
//!
//! In: the outline as drawn (`drawn`, the existing piece) and as it will be made (`made`). Out: a [`Fit`], as for any
//! other job. What a file describes is read back, simulated and compared as usual. The existing thing is in no
//! file: it is assumed to be as drawn, which the proof cannot check.

use super::plan::{InHand, Step, Steps};
use super::{Edged, Fit, Plan, ProofError, Shapes, Wanted, compare, inlay_cut, put_together, recess_cut};
use crate::budget::Budget;
use crate::geom::{Certified, Region, grow};
use crate::template::hand::Work;
use crate::template::start::Start;

/// Fits the two pieces of an outline together.
pub(super) fn fit(
    of: &Wanted,
    hand: &InHand,
    plan: &Plan,
    on: (&Shapes, &Steps),
    budget: &Budget,
) -> Result<Fit, ProofError> {
    let cut = |work| opening(of, work, plan, on, budget);
    let recess_through = |t: &Certified<Region>| {
        let recess = recess_cut(t, hand.recess, budget)?;
        if recess.is_empty() {
            return Err(ProofError::NothingCut { outline: of.number });
        }
        compare::recess(&Edged::new(&recess), of, hand.recess, plan, budget)?;
        Ok(recess)
    };
    let inlay_through = |t: &Certified<Region>| {
        let inlay = inlay_cut(t, hand.inlay, budget)?;
        if inlay.is_empty() {
            return Err(ProofError::NothingCut { outline: of.number });
        }
        compare::inlay(&Edged::new(&inlay), of, hand.inlay, plan, budget)?;
        Ok(inlay)
    };
    let (recess, inlay) = match (hand.start, hand.one_opening) {
        (Start::Part, true) => {
            let round = hand.inlay.bush_radius() + hand.inlay.cutter_radius();
            (recess_through(&grow(&of.drawn, round, budget)?)?, of.drawn.clone())
        }
        (Start::Part, false) => (recess_through(&cut(Work::Board)?)?, of.drawn.clone()),
        (Start::Template, true) => (recess_through(&of.drawn)?, inlay_through(&of.drawn)?),
        (Start::Template, false) => (recess_through(&of.drawn)?, inlay_through(&cut(Work::Inlay)?)?),
        (Start::Recess, _) => (of.drawn.clone(), inlay_through(&cut(Work::Inlay)?)?),
    };
    let (drawn, made) = (Edged::new(&of.drawn), Edged::new(&of.made));
    put_together(of.number, &Edged::new(&recess), &Edged::new(&inlay), &drawn, &made, budget)
}

/// The opening cut for `work`, from the files, in the drawing frame.
fn opening(
    of: &Wanted,
    work: Work,
    plan: &Plan,
    (shapes, steps): (&Shapes, &Steps),
    budget: &Budget,
) -> Result<Certified<Region>, ProofError> {
    let (step, slot): (&Step, _) = steps.of(of.number, work)?;
    let on_face = shapes.get(&slot.id).ok_or_else(|| ProofError::NoSuchOpening { id: slot.id.clone() })?;
    let shape = on_face.moved(slot.place.inverse());
    compare::opening(&Edged::new(&shape), &Edged::new(&of.made), plan.offset_of(step), &slot.id, plan, budget)?;
    Ok(shape)
}
