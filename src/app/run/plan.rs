//! Works out the pieces of a part, and checks drawing, outlines and tools.
//!
//! In: a part. Out: its tools and its pieces with their openings, and the findings before anything is laid out. An
//! outline of which nothing is left has only findings. Errors: [`AppError`] for a drawing without outlines.

use super::super::{AppError, Job, Kind};
use super::equip::{Around, Equipped, equipped};
use super::outlines::Part;
use super::tools::{self, PLUG};
use super::work::{Worked, closed_gaps, uncertified, worked};
use super::{choose, scale};
use crate::budget::Budget;
use crate::check::registry::{self, DrawingSeen, OF_DRAWING, OF_SHOULDERS, ShoulderOrdered};
use crate::check::{Code, Finding, Severity, bush_depth, ledge, numbered, source};
use crate::drawing::outline::{Outline, Outlines};
use crate::drawing::{Drawing, RemarkKind};
use crate::job::asides::{PairChoice, Suggestion};
use crate::kit::{Bush, Passage, Tools, passage};
use crate::panel::shoulder::Shouldered;
use crate::template::Piece;
use crate::template::clearing::{self, Clearing};

/// A part of the run, worked out and checked.
pub(super) struct Planned {
    pub name: Option<String>,
    pub drawing: Drawing,
    /// The job with its tools; of a shouldered part, with those of the shoulder.
    pub job: Job,
    pub groups: Vec<Group>,
    /// The waste around a plug, if no error blocks the part.
    pub clearing: Option<Clearing>,
    /// What other tools would do.
    pub suggestion: Option<Suggestion>,
    pub findings: Vec<Finding>,
}

/// Outlines that share their tools.
pub(super) struct Group {
    pub outlines: Vec<Outline>,
    pub tools: Tools,
    pub pair: Option<PairChoice>,
    pub round: Around,
    pub worked: Worked,
}

impl Planned {
    /// Plug and shoulder, if both can be made.
    pub fn shouldered(&self) -> Option<Shouldered<'_>> {
        let [plug, shoulder] = self.groups.as_slice() else { return None };
        Some(Shouldered { plug: plug.worked.pieces.first()?, shoulder: shoulder.worked.pieces.first()? })
    }

    /// The pieces of all groups.
    pub fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.groups.iter().flat_map(|g| &g.worked.pieces)
    }

    pub fn blocked(&self) -> bool {
        self.findings.iter().any(Finding::blocks)
    }
}

/// Works out a part.
///
/// # Errors
/// [`AppError`] for a drawing without outlines, and a kit without a matching pair.
pub(super) fn planned(part: Part, job: &Job, budget: &Budget) -> Result<Planned, AppError> {
    let (mut groups, mut findings, mut own) = (Vec::new(), Vec::new(), job.clone());
    for (place, outlines) in part.groups.into_iter().enumerate() {
        let equipped = equipped(&outlines.outlines, place, job, budget)?;
        let (group, found) = group(&part.drawing, outlines, &equipped, budget)?;
        groups.push(group);
        findings.extend(found);
        own = equipped.job;
    }
    let of_groups: Vec<(usize, Tools)> = groups.iter().map(|g| g.tools).enumerate().collect();
    findings.extend(tools::findings(&of_groups, &own));
    let suggestion = match groups.as_slice() {
        [g] if job.suggest && job.kind == Kind::Flush => choose::suggestion(&g.outlines, &part.drawing, &own, budget)?,
        _ => None,
    };
    let (name, drawing, clearing) = (part.name, part.drawing, None);
    let mut planned = Planned { name, drawing, job: own, groups, clearing, suggestion, findings };
    if job.kind.shouldered() {
        planned.findings.extend(joined(&planned));
        planned.clearing = cleared(&mut planned, budget)?;
    }
    planned.findings = numbered(planned.findings, &job.accept);
    Ok(planned)
}

fn group(
    drawing: &Drawing,
    found: Outlines,
    equipped: &Equipped,
    budget: &Budget,
) -> Result<(Group, Vec<Finding>), AppError> {
    let job = &equipped.job;
    let (worked, mut findings) = worked(&found.outlines, equipped.round.sized, job, budget)?;
    findings.extend(checked(drawing, &found, &worked.pieces, &findings, job, budget)?);
    // What exists already cannot be drawn larger.
    if job.kind.start().is_none() {
        findings = numbered(findings, &job.accept);
        scale::tried(&mut findings, &found.outlines, drawing, job, budget)?;
    }
    let (pair, round) = (equipped.pair, equipped.round);
    Ok((Group { outlines: found.outlines, tools: job.tools, pair, round, worked }, findings))
}

/// Findings on the drawing and its outlines.
fn checked(
    drawing: &Drawing,
    found: &Outlines,
    pieces: &[Piece],
    earlier: &[Finding],
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    let nothing = found.outlines.is_empty();
    let reported = !found.troubles.is_empty() || drawing.remarks.iter().any(|r| is_open(&r.kind));
    if nothing && (!reported || job.accept.contains(&Code::OpenLine)) {
        let flat = found.flat.iter().map(|f| format!("; {} encloses nothing", source::named(&f.source))).collect();
        return Err(AppError::NoOutline { path: job.drawing.clone(), flat });
    }
    let seen = DrawingSeen { drawing, outlines: found, cutter: job.tools.recess.cutter };
    let mut findings = registry::all(OF_DRAWING, &seen);
    findings.extend(closed_gaps(pieces, earlier, job, budget)?);
    Ok(findings)
}

fn is_open(kind: &RemarkKind) -> bool {
    matches!(kind, RemarkKind::OpenLine { .. } | RemarkKind::Branching)
}

/// Findings on plug and shoulder together.
fn joined(planned: &Planned) -> Vec<Finding> {
    let (Kind::Shouldered(order), Some(plug)) = (&planned.job.kind, planned.groups.get(PLUG)) else {
        return Vec::new();
    };
    let seen = ShoulderOrdered {
        both: planned.shouldered(),
        depths: &planned.job.depths,
        plug: plug.outlines.first().map_or(0, |o| o.number),
        plug_tools: &plug.tools,
        plug_gap: order.plug_gap,
    };
    registry::all(OF_SHOULDERS, &seen)
}

/// The waste on the inlay, cleared with the available bushes. `None` if an error blocks the part.
fn cleared(planned: &mut Planned, budget: &Budget) -> Result<Option<Clearing>, AppError> {
    let job = &planned.job;
    let blocked = numbered(planned.findings.clone(), &job.accept).iter().any(Finding::blocks);
    let Some(both) = planned.shouldered().filter(|_| !blocked) else { return Ok(None) };
    // A plug outside its shoulder has no template, even if the error is accepted.
    if ledge::ledge(both).is_some_and(|f| f.severity == Severity::Error) {
        return Ok(None);
    }
    let one = both.one_panel(job.panel.turn);
    let opening = |p: &Piece| if one { p.recess.clone() } else { p.inlay.clone() };
    let cleared = clearing::inlay(
        (&opening(both.plug), both.plug.tools.inlay),
        (&opening(both.shoulder), both.shoulder.tools.inlay),
        &bushes(both, job),
        budget,
    );
    let cleared = cleared.and_then(|c| match job.flatten {
        Some(tolerance) => c.flattened(tolerance, budget),
        None => Ok(c),
    });
    match cleared {
        Ok(clearing) => Ok(Some(clearing)),
        Err(e) => {
            planned.findings.push(uncertified(e)?);
            Ok(None)
        }
    }
}

/// The available bushes that the plug's cutter passes through.
fn bushes(both: Shouldered, job: &Job) -> Vec<f64> {
    let cutter = job.kit.cutter(both.plug.tools.inlay_called.cutter);
    let passes = |b: &&Bush| cutter.is_none_or(|c| passage(b, c) != Passage::No);
    let own = both.own_bushes();
    // A bush that would ride on the work is not available.
    let stays_off = |b: &&Bush| bush_depth::rides(&job.kit, b.outside, job.router).is_none();
    job.kit.bushes.iter().filter(passes).filter(stays_off).map(Bush::true_size).chain(own).collect()
}
