//! Simulates the cuts of one outline and compares each with the expected one.
//!
//! In: the shapes of the openings as read from the files, and the plan; mm. Out: recess and inlay as cut, in the drawing
//! frame, and the place of each on its wood. An existing part, template or recess is in no file: it is assumed to be as
//! drawn, which the proof cannot check. Errors: [`ProofError`].

use super::plan::{InHand, Slot, Steps, offset};
use super::{Edged, Plan, ProofError, STEP, Shapes, Wanted, compare};
use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Affine, Certified, GeomError, Region, grow, inset, shrink};
use crate::kit::Pair;
use crate::panel::steps::{Purpose, Step, Work};
use crate::template::clearing::OFF_PLUG;
use crate::template::start::Start;
use crate::threads::both;

/// What the board loses through opening `t`: `(T ⊖ R) ⊕ r`. The bush passes a neck of exactly its own width.
///
/// # Errors
/// As the operations.
pub fn recess_cut(t: &Certified<Region>, pair: Pair, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let way = inset(t, pair.bush_radius(), budget)?;
    // The slack that was kept for a neck is not added again.
    let kept = pair.bush_radius() - way.radius;
    grow(&way.region, pair.cutter_radius() - kept, budget)
}

/// What remains inside the kerf cut through opening `t`: `T ⊖ (R + r)`.
///
/// # Errors
/// As the operations.
pub fn inlay_cut(t: &Certified<Region>, pair: Pair, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    shrink(t, pair.bush_radius() + pair.cutter_radius(), budget)
}

/// Both pieces of an outline as cut, in the drawing frame.
pub(super) struct Cuts<'a> {
    pub outline: &'a Wanted,
    pub recess: Edged<'static>,
    pub inlay: Edged<'static>,
    /// Maps the drawing frame to the frame of the board, and to that of the inlay's wood.
    pub board: Affine,
    pub wood: Affine,
}

/// The simulation of one set of shapes.
pub(super) struct Workshop<'a> {
    pub plan: &'a Plan,
    pub shapes: &'a Shapes,
    pub steps: Steps<'a>,
    /// Compare openings and cuts with the outline as made. Without that, a wrong plan shows in the fit alone.
    pub compared: bool,
    pub budget: &'a Budget,
}

impl Workshop<'_> {
    /// Both cuts of an outline.
    pub fn cuts<'o>(&self, outline: &'o Wanted) -> Result<Cuts<'o>, ProofError> {
        if let Some(hand) = &self.plan.in_hand {
            let (recess, inlay) = self.in_hand(outline, hand)?;
            return Ok(Cuts { outline, recess, inlay, board: Affine::IDENTITY, wood: Affine::IDENTITY });
        }
        let (first, first_slot) = self.steps.line(outline.number, Work::Board)?;
        let (second, second_slot) = self.steps.line(outline.number, Work::Inlay)?;
        let (board, wood) = (self.on_work(first, first_slot)?, self.on_work(second, second_slot)?);
        if self.plan.shouldered.is_none() && board != wood {
            return Err(ProofError::Places { outline: outline.number });
        }
        let (recess, inlay) = both(
            || self.recess(&self.opening(outline, first, first_slot)?, first.pair, outline),
            || self.inlay(&self.opening(outline, second, second_slot)?, second.pair, outline),
        );
        Ok(Cuts { outline, recess: recess?, inlay: inlay?, board, wood })
    }

    /// Recess and inlay where one of them, or the opening of one, exists already.
    fn in_hand(&self, of: &Wanted, hand: &InHand) -> Result<(Edged<'static>, Edged<'static>), ProofError> {
        let cut = |work| {
            let (step, slot) = self.steps.line(of.number, work)?;
            self.opening(of, step, slot)
        };
        let recess = |t: &Certified<Region>| self.recess(t, hand.recess, of);
        let inlay = |t: &Certified<Region>| self.inlay(t, hand.inlay, of);
        let drawn = || Edged::owned(Region::clone(&of.drawn));
        Ok(match (hand.start, hand.one_opening) {
            (Start::Part, true) => {
                let round = hand.inlay.bush_radius() + hand.inlay.cutter_radius();
                (recess(&grow(&of.drawn, round, self.budget)?)?, drawn())
            }
            (Start::Part, false) => (recess(&cut(Work::Board)?)?, drawn()),
            (Start::Template, true) => (recess(&of.drawn)?, inlay(&of.drawn)?),
            (Start::Template, false) => (recess(&of.drawn)?, inlay(&cut(Work::Inlay)?)?),
            (Start::Recess, _) => (drawn(), inlay(&cut(Work::Inlay)?)?),
        })
    }

    fn on_work(&self, step: &Step, slot: &Slot) -> Result<Affine, ProofError> {
        Ok(step.on_work(self.plan.panel(slot.panel)?, slot.face, slot.place))
    }

    /// An opening in the drawing frame. Every point of its edge must lie at the offset from the outline as made.
    fn opening(&self, of: &Wanted, step: &Step, slot: &Slot) -> Result<Certified<Region>, ProofError> {
        let shape = self.shape(slot)?;
        if self.compared {
            let (t, made) = (Edged::new(&shape), Edged::new(&of.made));
            compare::opening(&t, &made, offset(step, of.gap), &slot.id, self.plan, self.budget)?;
        }
        Ok(shape)
    }

    fn shape(&self, slot: &Slot) -> Result<Certified<Region>, ProofError> {
        let on_face = self.shapes.get(&slot.id).ok_or_else(|| ProofError::NoSuchOpening { id: slot.id.clone() })?;
        Ok(on_face.moved(slot.place.inverse()))
    }

    fn recess(&self, t: &Certified<Region>, pair: Pair, of: &Wanted) -> Result<Edged<'static>, ProofError> {
        let cut = cut_through(of, recess_cut(t, pair, self.budget)?)?;
        if self.compared {
            compare::recess(&cut, of, pair, self.plan, self.budget)?;
        }
        Ok(cut)
    }

    fn inlay(&self, t: &Certified<Region>, pair: Pair, of: &Wanted) -> Result<Edged<'static>, ProofError> {
        let cut = cut_through(of, inlay_cut(t, pair, self.budget)?)?;
        if self.compared {
            compare::inlay(&cut, of, pair, self.plan, self.budget)?;
        }
        Ok(cut)
    }

    /// No step that clears waste may come nearer to the plug than [`OFF_PLUG`].
    pub fn clearing_keeps_off(&self, plug: &Cuts) -> Result<(), ProofError> {
        for step in self.plan.steps.iter().filter(|s| s.purpose == Purpose::Clearing && s.work == Work::Inlay) {
            let kept = inlay_cut(&self.shape(self.plan.slot(&step.opening)?)?, step.pair, self.budget)?;
            let kept = EdgeIndex::new(&kept);
            let within =
                |p| kept.nearest(p).map_or(f64::NEG_INFINITY, |n| if n.inside { n.distance } else { -n.distance });
            let least = sampled(&plug.inlay.region, STEP).map(within).fold(f64::INFINITY, f64::min);
            if least < OFF_PLUG - self.plan.allowed() {
                return Err(ProofError::CutsPlug { opening: step.opening.clone(), bush: step.pair.bush });
            }
        }
        Ok(())
    }
}

/// The cut with its edges indexed; an error if nothing is cut.
fn cut_through(of: &Wanted, cut: Certified<Region>) -> Result<Edged<'static>, ProofError> {
    if cut.is_empty() {
        return Err(ProofError::NothingCut { outline: of.number });
    }
    Ok(Edged::owned(cut.into_inner()))
}
