//! What the proof is told: the steps in the workshop, the panels, and what each outline should come out as.
//!
//! In: openings by name, place and duty; steps with bush and cutter; mm. No shape of an opening is in it: those come
//! from the files alone.

use crate::budget::Budget;
use crate::geom::{Affine, Certified, Region};
use crate::kit::{Pair, Tools};
use crate::template::openings::at_its_number;
use crate::template::start::Start;
use crate::template::{Duty, Opening, Panel, Setup};
use crate::units::Unit;
use std::collections::BTreeMap;

use super::ProofError;

/// Which piece of wood lies under the template.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mate {
    Board,
    Inlay,
}

impl Mate {
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Mate::Board => "board",
            Mate::Inlay => "inlay",
        }
    }
}

/// One time the template is set on a piece by its bottom and left edges and the router run round an opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub mate: Mate,
    pub panel: u32,
    pub face_up: u8,
    /// Of the opening.
    pub opening: String,
    pub pair: Pair,
}

/// The steps of a flush job: the board's first, then the inlay's.
#[must_use]
pub fn steps(openings: &[Opening], tools: &Tools) -> Vec<Step> {
    let of = |mate: Mate, own: Duty, pair: Pair| {
        openings.iter().filter(move |o| o.duty == own || o.duty == Duty::Both).map(move |o| Step {
            mate,
            panel: o.panel,
            face_up: o.face,
            opening: o.id.clone(),
            pair,
        })
    };
    of(Mate::Board, Duty::Recess, tools.recess).chain(of(Mate::Inlay, Duty::Inlay, tools.inlay)).collect()
}

/// An opening, all but its shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    pub id: String,
    pub outline: usize,
    pub duty: Duty,
    pub panel: u32,
    pub face: u8,
    /// Takes the drawing frame to the frame of the face that is up.
    pub place: Affine,
    /// Its area as the document states it, mm²: only to tell clearings apart.
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
    /// As it will be made: corners eased or not.
    pub made: Certified<Region>,
}

/// What is in hand already, so that no file holds it, and the pairs of the job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InHand {
    pub start: Start,
    pub recess: Pair,
    /// For the inlay; of a part the pair that runs round it.
    pub inlay: Pair,
    /// The pairs match: the opening in hand serves both pieces.
    pub one_opening: bool,
}

/// All that the proof is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    pub outlines: Vec<Wanted>,
    /// How much smaller than the recess the inlay is made, per side, mm.
    pub gap: f64,
    /// Outside corners of `made` are rounded for both offsets already: closing changes nothing.
    pub closed: bool,
    /// Arcs of the openings are chords within this of them, mm.
    pub flatten: Option<f64>,
    /// The files may have been saved by another program since: see `readback`.
    pub saved: bool,
    /// The unit of DXF files that do not state one (release 12).
    pub unitless: Option<Unit>,
    pub panels: Vec<Panel>,
    /// In the order in which this program writes them.
    pub slots: Vec<Slot>,
    pub steps: Vec<Step>,
    /// The outlines as drawn are those of something in hand.
    pub in_hand: Option<InHand>,
}

/// A file for the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaceFile<'a> {
    pub name: &'a str,
    pub bytes: &'a [u8],
    pub panel: u32,
    /// The face that it is cut from.
    pub face: u8,
}

impl Plan {
    pub(super) fn panel(&self, number: u32) -> Result<&Panel, ProofError> {
        let of = |p: &&Panel| p.number == number;
        self.panels.iter().find(of).ok_or(ProofError::NoSuchPanel { panel: number })
    }

    /// What a file of this panel and face should hold, in order: in one set-up the openings of both faces.
    pub(super) fn on(&self, panel: &Panel, face: u8) -> Vec<&Slot> {
        let both = panel.setup == Setup::One;
        self.slots.iter().filter(|s| s.panel == panel.number && (both || s.face == face)).collect()
    }

    pub(super) fn slot(&self, id: &str) -> Result<&Slot, ProofError> {
        at_its_number(&self.slots, id, |s| &s.id).ok_or_else(|| ProofError::NoSuchOpening { id: id.to_owned() })
    }

    /// How far a cut may lie off what is worked out, mm.
    #[must_use]
    pub fn allowed(&self) -> f64 {
        crate::tolerance::PROVED + self.flatten.unwrap_or(0.0)
    }

    /// The steps with their openings, by outline and wood.
    pub(super) fn by_outline(&self) -> Result<Steps<'_>, ProofError> {
        let mut steps = BTreeMap::new();
        for step in &self.steps {
            let slot = self.slot(&step.opening)?;
            steps.entry((slot.outline, step.mate.name())).or_insert((step, slot));
        }
        Ok(Steps(steps))
    }

    /// How far the opening lies outside its outline, by the step that it is for, mm.
    #[must_use]
    pub fn offset(&self, slot: &Slot) -> Option<f64> {
        self.steps.iter().find(|s| s.opening == slot.id).map(|s| self.offset_of(s))
    }

    /// `R − r` for the recess, `R + r − gap` for the inlay, mm.
    pub(super) fn offset_of(&self, step: &Step) -> f64 {
        let (bush, cutter) = (step.pair.bush_radius(), step.pair.cutter_radius());
        match step.mate {
            Mate::Board => bush - cutter,
            Mate::Inlay => bush + cutter - self.gap,
        }
    }

    pub(super) fn check(&self, budget: &Budget) -> Result<(), ProofError> {
        budget.check().map_err(|s| ProofError::Geom(s.into()))
    }
}

/// The first step that cuts the line of an outline into a wood, and its opening.
pub(super) struct Steps<'a>(BTreeMap<(usize, &'static str), (&'a Step, &'a Slot)>);

impl Steps<'_> {
    /// That of `outline` and `wood`; refused where its face is another than the opening's.
    pub(super) fn of(&self, outline: usize, mate: Mate) -> Result<(&Step, &Slot), ProofError> {
        let missing = ProofError::Missing { outline, missing: mate.name() };
        let (step, slot) = *self.0.get(&(outline, mate.name())).ok_or(missing)?;
        if (step.panel, step.face_up) != (slot.panel, slot.face) {
            return Err(ProofError::OtherFace { id: slot.id.clone() });
        }
        Ok((step, slot))
    }
}
