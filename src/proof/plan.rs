//! The input of the proof: the steps in the workshop, the panels, and the expected result of each outline.
//!
//! In: openings by name, place and duty; steps with bush and cutter; mm. The plan contains no shape of an opening:
//! shapes come from the files alone.

use crate::budget::Budget;
use crate::geom::{Affine, Certified, Region};
use crate::kit::Pair;
use crate::panel::steps::{Purpose, Step, Work};
use crate::panel::template::at_its_number;
use crate::panel::{Opening, Panel, Setup};
use crate::template::Duty;
use crate::template::start::Start;
use crate::units::Unit;
use std::collections::BTreeMap;

use super::ProofError;

/// An opening without its shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    pub id: String,
    pub outline: usize,
    pub duty: Duty,
    pub panel: u32,
    pub face: u8,
    /// Maps the drawing frame to the frame of the face that is up.
    pub place: Affine,
    /// Its area as stated in the document, mm²; only to distinguish clearing openings.
    pub area: Option<f64>,
}

impl From<&Opening> for Slot {
    fn from(o: &Opening) -> Slot {
        let (outline, duty, panel, face, place) = (o.outline, o.duty, o.panel, o.face, o.place);
        Slot { id: o.id.clone(), outline, duty, panel, face, place, area: None }
    }
}

/// An outline, in the drawing frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    pub number: usize,
    pub drawn: Certified<Region>,
    /// As it will be made, with corners eased or not.
    pub made: Certified<Region>,
    /// The inlay is smaller than the recess by this, per side, mm.
    pub gap: f64,
}

/// An existing piece or opening, which is in no file, and the pairs of the job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InHand {
    pub start: Start,
    pub recess: Pair,
    /// For the inlay; for a part, the pair that runs around it.
    pub inlay: Pair,
    /// The pairs match: the existing opening serves both pieces.
    pub one_opening: bool,
}

/// The input of the proof.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    pub outlines: Vec<Wanted>,
    /// Outside corners of `made` are already rounded for both offsets, so closing changes nothing.
    pub closed: bool,
    /// Arcs of the openings are replaced by chords within this, mm.
    pub flatten: Option<f64>,
    /// Another program may have saved the files since: see `readback`.
    pub saved: bool,
    /// The unit of DXF files that do not state one (release 12).
    pub unitless: Option<Unit>,
    pub panels: Vec<Panel>,
    /// In the order in which this program writes them.
    pub slots: Vec<Slot>,
    pub steps: Vec<Step>,
    /// The outlines as drawn are those of an existing thing.
    pub in_hand: Option<InHand>,
    /// The inlay is turned over into the board.
    pub shouldered: Option<PlugInShoulder>,
}

/// The outlines of a plug with a shoulder, by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlugInShoulder {
    pub plug: usize,
    pub shoulder: usize,
}

/// A file for the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaceFile<'a> {
    pub name: &'a str,
    pub bytes: &'a [u8],
    pub panel: u32,
    /// The face from which it is cut.
    pub face: u8,
}

impl Plan {
    pub(super) fn panel(&self, number: u32) -> Result<&Panel, ProofError> {
        let of = |p: &&Panel| p.number == number;
        self.panels.iter().find(of).ok_or(ProofError::NoSuchPanel { panel: number })
    }

    /// The expected contents of a file of this panel and face, in order; in one set-up, the openings of both faces.
    pub(super) fn on(&self, panel: &Panel, face: u8) -> Vec<&Slot> {
        let both = panel.setup == Setup::One;
        self.slots.iter().filter(|s| s.panel == panel.number && (both || s.face == face)).collect()
    }

    pub(super) fn slot(&self, id: &str) -> Result<&Slot, ProofError> {
        at_its_number(&self.slots, id, |s| &s.id).ok_or_else(|| ProofError::NoSuchOpening { id: id.to_owned() })
    }

    /// Allowed difference between a cut and the expected one, mm.
    #[must_use]
    pub fn allowed(&self) -> f64 {
        crate::tolerance::PROVED + self.flatten.unwrap_or(0.0)
    }

    /// The steps that cut a line with their openings, by outline and wood.
    pub(super) fn by_outline(&self) -> Result<Steps<'_>, ProofError> {
        let mut steps = BTreeMap::new();
        for step in self.steps.iter().filter(|s| s.purpose == Purpose::Line) {
            let slot = self.slot(&step.opening)?;
            steps.entry((slot.outline, step.work.name())).or_insert((step, slot));
        }
        Ok(Steps { by_outline: steps, any_face: self.shouldered.is_some() })
    }

    /// Distance of the opening from its outline, given by its step, mm; `None` for an opening that clears waste.
    #[must_use]
    pub fn offset(&self, slot: &Slot) -> Option<f64> {
        let line = |s: &&Step| s.purpose == Purpose::Line && s.opening == slot.id;
        let step = self.steps.iter().find(line)?;
        Some(offset(step, self.outlines.iter().find(|o| o.number == slot.outline)?.gap))
    }

    pub(super) fn check(&self, budget: &Budget) -> Result<(), ProofError> {
        budget.check().map_err(|s| ProofError::Geom(s.into()))
    }
}

/// Distance of an opening from its outline, mm: `R − r` for the recess, `R + r − gap` for the inlay.
pub(super) fn offset(step: &Step, gap: f64) -> f64 {
    let (bush, cutter) = (step.pair.bush_radius(), step.pair.cutter_radius());
    match step.work {
        Work::Board => bush - cutter,
        Work::Inlay => bush + cutter - gap,
    }
}

/// The first step that cuts the line of an outline into each wood, and its opening.
pub(super) struct Steps<'a> {
    by_outline: BTreeMap<(usize, &'static str), (&'a Step, &'a Slot)>,
    /// A shouldered inlay may use an opening with its other face up.
    any_face: bool,
}

impl Steps<'_> {
    /// The step of `outline` and `work`; an error if its face differs from the opening's and must not.
    pub(super) fn line(&self, outline: usize, work: Work) -> Result<(&Step, &Slot), ProofError> {
        let missing = ProofError::Missing { outline, missing: work.name() };
        let (step, slot) = *self.by_outline.get(&(outline, work.name())).ok_or(missing)?;
        if step.panel != slot.panel || (!self.any_face && step.face_up != slot.face) {
            return Err(ProofError::OtherFace { id: slot.id.clone() });
        }
        Ok((step, slot))
    }
}
