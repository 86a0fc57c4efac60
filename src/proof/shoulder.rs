//! Simulates the steps of a shouldered piece, turns the inlay over, and fits it into the board.
//!
//! In: panels, openings and steps, mm. Out: the gap of plug and shoulder as put together. Board and inlay are each
//! routed in the frame of their own marks. Faces and edges come from the steps; nothing else of the plan is used. Then
//! the inlay is turned over, left over right. It is laid in with the middle of the shoulder's outline on its
//! counterpart, directly or rotated by a half turn: whichever fits better. So a wrong face or edge shows as a misfit.
//!
//! The sums are those of the router (see [`super`]); the gap along the joint comes from points at most [`super::STEP`]
//! mm apart. With files ([`prove_files`]), their openings are first compared with the outlines. Errors: a step without
//! its panel or opening, a missing step, and an opening in which nothing can be cut.

use super::{
    Beside, Edged, FaceFile, Fit, Measured, Plan, ProofError, STEP, Shapes, Wanted, compare, inlay_cut, joint,
    readback, recess_cut, worst_of_stretches,
};
use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::farthest::Counts;
use crate::geom::{Affine, Certified, GeomError, Point, Region};
use crate::template::clearing::OFF_PLUG;
use crate::template::hand::{Purpose, Step, Work, on_work};
use crate::template::{Opening, Panel};
use crate::tolerance::{WIDE_GAP, WIDTH_SLACK};

/// Why there is no proof.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShoulderProofError {
    #[error("no step cuts the line of outline {outline} on the {piece}")]
    Missing { outline: usize, piece: &'static str },
    #[error("{0} is missing, but a step needs it")]
    NoSuch(String),
    #[error("nothing can be cut through {0}")]
    NothingCut(String),
    #[error("clearing through {opening} with the {bush} mm bush comes nearer than {OFF_PLUG} mm to the plug")]
    CutsPlug { opening: String, bush: f64 },
    #[error(transparent)]
    Files(#[from] ProofError),
    #[error(transparent)]
    Geom(#[from] GeomError),
}

/// Further input of the proof from files: the steps with faces and edges, and the gap of each outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    pub steps: Vec<Step>,
    /// Number of the outline, and how much smaller than its recess the inlay is there, per side, mm.
    pub plug: (usize, f64),
    pub shoulder: (usize, f64),
}

impl Piece {
    /// The steps that cut a line, in the form of the plan.
    #[must_use]
    pub fn lines(&self) -> Vec<super::Step> {
        let line = |s: &Step| super::Step {
            work: s.work,
            panel: s.panel,
            face_up: s.face_up,
            opening: s.opening.clone(),
            pair: s.pair,
        };
        self.steps.iter().filter(|s| s.purpose == Purpose::Line).map(line).collect()
    }
}

/// As [`prove`], from the files. Compares each opening of a line, and its cut, with the outline as made. Checks that no
/// clearing comes too near to the plug. Then puts board and inlay together.
///
/// # Errors
/// [`ShoulderProofError`].
pub fn prove_files(
    plan: &Plan,
    piece: &Piece,
    files: &[FaceFile],
    reported: &mut Beside,
    budget: &Budget,
) -> Result<[Fit; 2], ShoulderProofError> {
    let mut first = None;
    for shapes in readback::openings(plan, files, reported, budget)? {
        let fits = prove_shapes(plan, piece, &shapes, budget)?;
        first = first.or(Some(fits));
    }
    first.ok_or_else(|| ShoulderProofError::NoSuch("an opening in the files".to_owned()))
}

/// The same with the openings already read.
fn prove_shapes(plan: &Plan, piece: &Piece, shapes: &Shapes, budget: &Budget) -> Result<[Fit; 2], ShoulderProofError> {
    let mut openings: Vec<Opening> = Vec::new();
    for slot in &plan.slots {
        let shape = shapes.get(&slot.id).ok_or_else(|| ShoulderProofError::NoSuch(slot.id.clone()))?;
        openings.push(Opening {
            id: slot.id.clone(),
            outline: slot.outline,
            duty: slot.duty,
            panel: slot.panel,
            face: slot.face,
            offset: 0.0,
            region: shape.moved(slot.place.inverse()),
            place: slot.place,
        });
    }
    let of = |outline: usize| {
        let found = plan.outlines.iter().find(|o| o.number == outline);
        found.ok_or_else(|| ShoulderProofError::NoSuch(format!("outline {outline}")))
    };
    let opening = |s: &Step| {
        let found = openings.iter().find(|o| o.id == s.opening);
        found.ok_or_else(|| ShoulderProofError::NoSuch(s.opening.clone()))
    };
    for s in piece.steps.iter().filter(|s| s.purpose == Purpose::Line) {
        let gap = if s.outline == piece.plug.0 { piece.plug.1 } else { piece.shoulder.1 };
        as_worked_out(s, opening(s)?, of(s.outline)?, &Plan { gap, ..plan.clone() }, budget)?;
    }
    let line = |s: &&Step| s.purpose == Purpose::Line && s.work == Work::Inlay && s.outline == piece.plug.0;
    if let Some(line) = piece.steps.iter().find(line) {
        let plug = inlay_cut(&opening(line)?.region, line.pair, budget)?;
        for s in piece.steps.iter().filter(|s| s.purpose == Purpose::Clearing && s.work == Work::Inlay) {
            let kept = inlay_cut(&opening(s)?.region, s.pair, budget)?;
            let least = EdgeIndex::new(&kept);
            let off =
                |p| least.nearest(p).map_or(f64::NEG_INFINITY, |n| if n.inside { n.distance } else { -n.distance });
            let near = sampled(&plug, STEP).map(off).fold(f64::INFINITY, f64::min);
            if near < OFF_PLUG - plan.allowed() {
                return Err(ShoulderProofError::CutsPlug { opening: s.opening.clone(), bush: s.pair.bush });
            }
        }
    }
    let drawn = |n| of(n).map(|o| (n, &*o.drawn));
    prove(drawn(piece.plug.0)?, drawn(piece.shoulder.0)?, &piece.steps, &plan.panels, &openings, budget)
}

/// Compares an opening of a line, and its cut, with the outline as made; `plan` has the outline's own gap.
fn as_worked_out(s: &Step, o: &Opening, of: &Wanted, plan: &Plan, budget: &Budget) -> Result<(), ShoulderProofError> {
    let (radius, r) = (s.pair.bush_radius(), s.pair.cutter_radius());
    let offset = if s.work == Work::Board { radius - r } else { radius + r - plan.gap };
    compare::opening(&Edged::new(&o.region), &Edged::new(&of.made), offset, &o.id, plan, budget)?;
    match s.work {
        Work::Board => {
            let cut = recess_cut(&o.region, s.pair, budget)?;
            compare::recess(&Edged::new(&cut), of, s.pair, plan, budget)?;
        }
        Work::Inlay => {
            let cut = inlay_cut(&o.region, s.pair, budget)?;
            compare::inlay(&Edged::new(&cut), of, s.pair, plan, budget)?;
        }
    }
    Ok(())
}

/// What one step leaves or removes, in the frame of the marks.
struct Cut {
    region: Certified<Region>,
    /// Maps the drawing to this frame.
    place: Affine,
}

/// Puts board and inlay together and returns the fits of plug and shoulder. `plug` and `shoulder`: number and region as
/// drawn.
///
/// # Errors
/// [`ShoulderProofError`].
pub fn prove(
    plug: (usize, &Region),
    shoulder: (usize, &Region),
    steps: &[Step],
    panels: &[Panel],
    openings: &[Opening],
    budget: &Budget,
) -> Result<[Fit; 2], ShoulderProofError> {
    let cut = |work, outline| cut(work, outline, steps, panels, openings, budget);
    let board = [cut(Work::Board, plug.0)?, cut(Work::Board, shoulder.0)?];
    let inlay = [cut(Work::Inlay, plug.0)?, cut(Work::Inlay, shoulder.0)?];
    let over = Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
    // Use the outline, not the cuts: with corners kept, the two cuts differ in size.
    let middle = shoulder.1.bounds().map_or(Point::ORIGIN, |b| b.center());
    let mut best: Option<[Fit; 2]> = None;
    for half in [Affine::IDENTITY, Affine::new([-1.0, 0.0, 0.0, -1.0, 0.0, 0.0])] {
        let turned = inlay.each_ref().map(|c| c.region.moved(half * over));
        let lay = Affine::translate(board[1].place * middle - half * over * inlay[1].place * middle);
        let laid = turned.map(|r| r.moved(lay));
        let one = |i: usize, outline: (usize, &Region)| fit(outline, &board[i], &laid[i], budget);
        let fits = [one(0, plug)?, one(1, shoulder)?];
        if best.as_ref().is_none_or(|b| worst(&fits) > worst(b)) {
            best = Some(fits);
        }
    }
    best.ok_or_else(|| ShoulderProofError::NothingCut(format!("the openings of outline {}", shoulder.0)))
}

fn worst(fits: &[Fit; 2]) -> f64 {
    fits[0].gap_min.mm.min(fits[1].gap_min.mm)
}

fn cut(
    work: Work,
    outline: usize,
    steps: &[Step],
    panels: &[Panel],
    openings: &[Opening],
    budget: &Budget,
) -> Result<Cut, ShoulderProofError> {
    let piece = work.name();
    let line = |s: &&Step| s.work == work && s.outline == outline && s.purpose == Purpose::Line;
    let step = steps.iter().find(line).ok_or(ShoulderProofError::Missing { outline, piece })?;
    let none = |what: String| ShoulderProofError::NoSuch(what);
    let panel = panels.iter().find(|p| p.number == step.panel).ok_or_else(|| none(format!("panel {}", step.panel)))?;
    let opening = openings.iter().find(|o| o.id == step.opening && o.panel == step.panel);
    let opening = opening.ok_or_else(|| none(format!("{} on panel {}", step.opening, step.panel)))?;
    let place = on_work(panel, opening, step.face_up, step.corner);
    let on = opening.region.moved(place);
    let region = match work {
        Work::Board => recess_cut(&on, step.pair, budget)?,
        Work::Inlay => inlay_cut(&on, step.pair, budget)?,
    };
    if region.is_empty() {
        return Err(ShoulderProofError::NothingCut(step.opening.clone()));
    }
    Ok(Cut { region, place })
}

/// Measured in the drawing frame; sizes along the edges of the board's panel.
fn fit(
    (outline, drawn): (usize, &Region),
    board: &Cut,
    laid: &Region,
    budget: &Budget,
) -> Result<Fit, ShoulderProofError> {
    let back = board.place.inverse();
    let (recess, inlay) = (board.region.under_similarity(back), laid.under_similarity(back));
    let (recess, inlay) = (Edged::new(&recess), Edged::new(&inlay));
    let (tight, wide) = (inlay.signed(&recess, budget)?, recess.away(&inlay, budget)?);
    let nothing = || ShoulderProofError::NothingCut(format!("the openings of outline {outline}"));
    let gap_min = inlay.least_gap(&recess).ok_or_else(nothing)?;
    let gap_max = recess.farthest(&inlay, Counts::Outside).ok_or_else(nothing)?;
    let too_large: Vec<Measured> = tight.iter().map(|m| Measured { mm: -m.mm, at: m.at }).collect();
    let binds = worst_of_stretches(&too_large, WIDTH_SLACK);
    let drawn = Edged::new(drawn);
    let off = |piece: &Edged| Ok::<f64, GeomError>(piece.apart(&drawn, budget)?.map_or(0.0, |m| m.mm));
    Ok(Fit {
        outline,
        recess_size: size(&board.region),
        inlay_size: size(laid),
        recess_area: board.region.area(),
        inlay_area: laid.area(),
        gap_min,
        gap_max,
        recess_off: off(&recess)?,
        inlay_off: off(&inlay)?,
        // Not compared with the outline as made here.
        recess_off_made: f64::NAN,
        inlay_off_made: f64::NAN,
        binds: binds.into_iter().map(|m| Measured { mm: -m.mm, at: m.at }).collect(),
        gapes: worst_of_stretches(&wide, WIDE_GAP + WIDTH_SLACK),
        joint: joint::joint(&recess, &inlay, &tight, &wide),
    })
}

fn size(r: &Region) -> (f64, f64) {
    r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()))
}
