//! Proves a part from the bytes of its files, and checks the router on its panels.
//!
//! In: a part with its panels and files. Out: the fits, and all findings of the part.

use super::super::files::Machine;
use super::super::{AppError, Job, Out, Task};
use super::Prover;
use super::layout::Laid;
use super::plan::Planned;
use super::riding::{self, Riding};
use super::tools::PLUG;
use crate::budget::Budget;
use crate::check::registry::{self, FitsSeen, OF_FITS};
use crate::check::{Finding, account, numbered};
use crate::geom::GeomError;
use crate::proof::{Beside, FaceFile, Fit, InHand, Plan, PlugInShoulder, ProofError, Slot, Wanted};
use crate::template::Piece;
use crate::threads::{both, each};
use crate::write::dxf::Release;
use std::collections::BTreeSet;

/// A part with its proof.
pub(super) struct Proved {
    pub laid: Laid,
    pub fits: Vec<Fit>,
    pub riding: Riding,
    /// All findings of the part, numbered.
    pub findings: Vec<Finding>,
}

/// Proves a part.
///
/// # Errors
/// [`AppError`] for a failed proof.
pub(super) fn proved(laid: Laid, prover: Prover, budget: &Budget) -> Result<Proved, AppError> {
    let job = &laid.planned.job;
    let (fits, riding) = both(
        || fits(&laid, prover, budget),
        || riding::ridden(&laid.template, &laid.steps, &|o| laid.wood_under_centre(o), job, budget),
    );
    let (fits, mut riding) = (fits?, riding?);
    let mut findings = laid.planned.findings.clone();
    findings.append(&mut riding.findings);
    findings.extend(of_fits(&fits, &laid.planned, &findings));
    findings.extend(accounted(&laid.planned, &fits, &findings));
    let findings = numbered(findings, &job.accept);
    Ok(Proved { laid, fits, riding, findings })
}

/// The fits, simulated from the bytes of the files and from what is in hand.
fn fits(laid: &Laid, prover: Prover, budget: &Budget) -> Result<Vec<Fit>, AppError> {
    let job = &laid.planned.job;
    let needs_no_file = job.kind.start().is_some() && job.tools.one_opening;
    if laid.blocked || (laid.template.openings.is_empty() && !needs_no_file) {
        return Ok(Vec::new());
    }
    match prover(&proof_plan(laid, needs_no_file), &face_files(&laid.files), &mut Beside::default(), budget) {
        Err(ProofError::Geom(GeomError::Stopped(s))) => Err(s.into()),
        other => Ok(other?),
    }
}

/// The input of the proof, without the shapes of the openings.
fn proof_plan(laid: &Laid, needs_no_file: bool) -> Plan {
    let (job, t) = (&laid.planned.job, &laid.template);
    // An outline that fits no panel has an error and no opening to route.
    let opened: BTreeSet<usize> = t.openings.iter().map(|o| o.outline).collect();
    let has = |p: &&Piece| needs_no_file || opened.contains(&p.outline);
    let wanted =
        |p: &Piece| Wanted { number: p.outline, drawn: p.drawn.clone(), made: p.made.clone(), gap: p.tools.gap };
    let unitless = match &job.task {
        Task::Make(Out { release: Release::R12, unit, .. }) => Some(unit.unit()),
        _ => None,
    };
    let tools = &job.tools;
    let in_hand = |start| InHand { start, recess: tools.recess, inlay: tools.inlay, one_opening: tools.one_opening };
    Plan {
        outlines: laid.planned.pieces().filter(has).map(wanted).collect(),
        closed: job.corners.outside_radius(tools).is_some(),
        flatten: job.flatten,
        saved: false,
        unitless,
        panels: t.panels.clone(),
        slots: t.openings.iter().map(Slot::from).collect(),
        steps: laid.steps.clone(),
        in_hand: job.kind.start().map(in_hand),
        shouldered: laid
            .planned
            .shouldered()
            .filter(|_| job.kind.shouldered())
            .map(|s| PlugInShoulder { plug: s.plug.outline, shoulder: s.shoulder.outline }),
    }
}

fn face_files(files: &[Machine]) -> Vec<FaceFile<'_>> {
    files.iter().map(|f| FaceFile { name: &f.name, bytes: &f.bytes, panel: f.panel, face: f.faces[0] }).collect()
}

/// Findings on the fits. `before`: earlier findings, to which a misfit may belong.
fn of_fits(fits: &[Fit], planned: &Planned, before: &[Finding]) -> Vec<Finding> {
    let plug = planned.groups.get(PLUG).filter(|_| planned.job.kind.shouldered());
    let seen = FitsSeen {
        fits,
        corners: planned.job.corners,
        measured: planned.groups.iter().all(|g| g.tools.measured),
        gap: planned.job.tools.gap,
        plug: plug.map(|g| (g.outlines.first().map_or(0, |o| o.number), g.tools.gap)),
        before,
    };
    registry::all(OF_FITS, &seen)
}

/// Findings on differences between drawing and pieces that no other finding explains. For something in hand, the pieces
/// are compared with the outline that follows from it. In a debug build a finding whose region is as drawn fails an
/// assertion.
fn accounted(planned: &Planned, fits: &[Fit], findings: &[Finding]) -> Vec<Finding> {
    let unexplained = |p: &Piece| {
        let held = held(p, &planned.job);
        debug_assert!(
            account::idle(&held, fits, findings).is_empty(),
            "findings without a difference: {:?}",
            account::idle(&held, fits, findings).iter().map(|f| (f.code, f.at, f.off)).collect::<Vec<_>>()
        );
        account::unexplained(&held, fits, findings)
    };
    each(planned.pieces().collect(), unexplained).into_iter().flatten().collect()
}

fn held<'a>(p: &'a Piece, job: &Job) -> account::Held<'a> {
    let drawn = if job.kind.start().is_some() { &p.made } else { &p.drawn };
    account::Held { outline: p.outline, drawn, made: &p.made, cut: &p.cut, flatten: job.flatten.unwrap_or(0.0) }
}
